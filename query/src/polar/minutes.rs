//! The minutes in which the boat sailed: wind, angle and speed together, those left out that say nothing of sailing.

use leadsman_ingest::instrument::Quantity;
use serde::Serialize;

use crate::error::Error;
use crate::instruments::{Panel, Window};

/// How far the true wind angle may swing within a minute, in degrees: more is a tack, a gybe or a turn.
const SWING_MAX_DEG: f64 = 40.0;
/// An engine that turns faster than this, in rpm, runs.
const ENGINE_RUNS_RPM: f64 = 100.0;
/// Speed through the water, in kn, below which she lies still.
const STILL_KN: f64 = 0.5;
/// Minutes of a day.
const DAY: i64 = 24 * 60;

/// A minute of sailing.
#[derive(Clone, Debug, PartialEq)]
pub struct Sailing {
    /// The minute by the instruments' clock, since 1970 UTC.
    pub minute: i64,
    /// True wind angle off the bow, port negative.
    pub angle_deg: f64,
    /// True wind speed.
    pub wind_kn: f64,
    /// Speed through the water.
    pub speed_kn: f64,
    /// The sails said to be up, where notes say.
    pub sails: Option<String>,
}

/// Minutes with wind and speed that do not count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// The angle swung too far: a tack, a gybe, a turn.
    pub turning: usize,
    /// The engine ran.
    pub engine: usize,
    /// She lay still.
    pub still: usize,
}

/// The minutes of sailing in a window. Which channel answers is settled day by day, as instruments come and go.
pub async fn sailing(panel: &Panel<'_>, window: Window) -> Result<(Vec<Sailing>, LeftOut), Error> {
    let (mut all, mut left_out) = (Vec::new(), LeftOut::default());
    for day in panel.days_of(Quantity::BoatSpeed, window).await? {
        let window = Window { first: window.first.max(day * DAY), end: window.end.min((day + 1) * DAY) };
        let of = |quantity| panel.by_minute(quantity, window);
        let wind = of(Quantity::TrueWindSpeed).await?;
        let angle = of(Quantity::TrueWindAngle).await?;
        if wind.is_empty() || angle.is_empty() {
            continue;
        }
        let speed = of(Quantity::BoatSpeed).await?;
        let engine = of(Quantity::EngineSpeed).await?;
        for (minute, speed) in speed {
            let (Some(wind), Some(angle)) = (wind.get(&minute), angle.get(&minute)) else { continue };
            if engine.get(&minute).is_some_and(|engine| engine.max >= ENGINE_RUNS_RPM) {
                left_out.engine += 1;
            } else if speed.mean < STILL_KN {
                left_out.still += 1;
            } else if angle.max - angle.min > SWING_MAX_DEG {
                left_out.turning += 1;
            } else {
                all.push(Sailing {
                    minute,
                    angle_deg: angle.shown_mean(),
                    wind_kn: wind.mean,
                    speed_kn: speed.mean,
                    sails: None,
                });
            }
        }
    }
    Ok((all, left_out))
}
