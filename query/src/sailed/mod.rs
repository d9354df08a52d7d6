//! An outing summed up from the instruments: the answer of `leadsman sailed`.
//!
//! An outing is a run of minutes under way, by speed through the water or over the ground, with stops or silences of an
//! hour at most within it. Distances are the minutes' mean speeds added up; minutes without a speed add nothing and are
//! counted. Nothing is filled in.

mod screen;

use chrono::{DateTime, FixedOffset};
use chrono_tz::Tz;
use leadsman_ingest::instrument::{Minute, Quantity};
use serde::Serialize;

use crate::error::Error;
use crate::instruments::{Measured, Panel, Window, minute_at};
use crate::polar::{self, Cell, Grid, Polar};

pub use screen::show;

/// Speed in kn from which she is under way: a receiver at anchor wanders by less.
const UNDER_WAY_KN: f64 = 1.0;
/// Minutes of stop or silence that do not end an outing.
const STOP_MINUTES: i64 = 60;
/// Minutes before and after the days asked about that an outing on them may reach.
const WIDER_MINUTES: i64 = 3 * 24 * 60;
/// Minutes under way that make an outing.
const LEAST_MINUTES: usize = 10;
/// An engine that turns faster than this, in rpm, runs.
const ENGINE_RUNS_RPM: f64 = 100.0;
/// Days before the last sign of life that the last outing may have begun.
const LONGEST_OUTING_DAYS: i64 = 60;
/// How an outing's speeds are cut: 30° and 5 kn, as one says them; a cell needs five minutes.
const GRID: Grid = Grid { wind_step_kn: 5.0, angle_step_deg: 30.0, least_minutes: 5 };
/// What is summed up with its mean and range.
const WEATHER: &[Quantity] = &[
    Quantity::TrueWindSpeed,
    Quantity::ApparentWindSpeed,
    Quantity::WindDirection,
    Quantity::WaveHeight,
    Quantity::SeaTemperature,
    Quantity::AirTemperature,
    Quantity::Pressure,
    Quantity::Heel,
    Quantity::BoatSpeed,
    Quantity::SpeedOverGround,
];

/// The outings asked about.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Sailed {
    /// They, oldest first.
    pub outings: Vec<Outing>,
}

/// An outing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outing {
    /// First minute under way.
    pub from: DateTime<FixedOffset>,
    /// The end of the last minute under way.
    pub until: DateTime<FixedOffset>,
    /// From the first to the last, in hours.
    pub hours: f64,
    /// Under way, in hours.
    pub under_way_hours: f64,
    /// Through the water, in nmi; null where no log was read.
    pub through_water_nmi: Option<Run>,
    /// Over the ground, in nmi; null where no receiver was.
    pub over_ground_nmi: Option<Run>,
    /// Wind, sea, heel and speeds: mean and range of each.
    pub measured: Vec<Measured>,
    /// Mean of the heel to either side, in degrees.
    pub heel_deg: Option<f64>,
    /// Pressure at the end less that at the beginning, in hPa.
    pub pressure_change_hpa: Option<f64>,
    /// Speeds through the water by true wind angle and speed.
    pub speeds: Vec<Cell>,
    /// Each engine.
    pub engines: Vec<Engine>,
    /// Each battery's or charger's current.
    pub charge: Vec<Charge>,
    /// SHA-256 of the logs that its speeds are from.
    pub logs: Vec<String>,
}

/// A distance run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Run {
    /// Nautical miles.
    pub nmi: f64,
    /// Minutes that it was added up over.
    pub minutes: usize,
    /// Minutes of the outing that have no speed.
    pub minutes_missing: usize,
}

/// An engine's part.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Engine {
    /// Who says so.
    pub sender: String,
    /// Which engine; empty for the only one.
    pub instance: String,
    /// Hours that it ran.
    pub hours: f64,
    /// Whether its own hour meter says so; else its speed was counted.
    pub by_meter: bool,
}

/// What went into or out of something.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Charge {
    /// Who says so.
    pub sender: String,
    /// Of which battery or charger; empty for the only one.
    pub instance: String,
    /// In, in Ah.
    pub in_ah: f64,
    /// Out, in Ah.
    pub out_ah: f64,
    /// Minutes that it was added up over.
    pub minutes: usize,
}

impl Sailed {
    /// The outings that touch a window; with `last`, the last of them alone.
    pub async fn ask(panel: &Panel<'_>, window: Window, last: bool, zone: Tz) -> Result<Self, Error> {
        let mut speeds = Vec::new();
        // Wider than asked, so that an outing over midnight is not cut at it.
        let wider = Window { first: window.first - WIDER_MINUTES, end: window.end + WIDER_MINUTES };
        for quantity in [Quantity::BoatSpeed, Quantity::SpeedOverGround] {
            speeds.extend(panel.all_minutes(quantity, wider).await?);
        }
        let mut runs = runs(speeds);
        runs.retain(|run| run.first < window.end && window.first <= run.last);
        if last {
            runs.drain(..runs.len().saturating_sub(1));
        }
        let mut outings = Vec::new();
        for run in runs {
            outings.push(Outing::of(panel, &run, zone).await?);
        }
        Ok(Self { outings })
    }

    /// The last outing that ended before a minute by the instruments' clock; with none, the last of all.
    pub async fn last(panel: &Panel<'_>, before: Option<i64>, zone: Tz) -> Result<Self, Error> {
        let end = before.or_else(|| Some(panel.last_minute()? + 1)).unwrap_or(0);
        Self::ask(panel, Window { first: end - LONGEST_OUTING_DAYS * 24 * 60, end }, true, zone).await
    }
}

/// Minutes under way that hang together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct UnderWay {
    first: i64,
    last: i64,
    minutes: usize,
}

fn runs(speeds: Vec<Minute>) -> Vec<UnderWay> {
    let mut minutes: Vec<i64> =
        speeds.into_iter().filter(|minute| minute.mean >= UNDER_WAY_KN).map(|minute| minute.minute).collect();
    minutes.sort_unstable();
    minutes.dedup();
    minutes
        .chunk_by(|a, b| b - a <= STOP_MINUTES + 1)
        .filter(|run| run.len() >= LEAST_MINUTES)
        .map(|run| UnderWay { first: run[0], last: run[run.len() - 1], minutes: run.len() })
        .collect()
}

impl Outing {
    async fn of(panel: &Panel<'_>, run: &UnderWay, zone: Tz) -> Result<Self, Error> {
        let window = Window { first: run.first, end: run.last + 1 };
        let at = |minute: i64| minute_at(minute, zone);
        let mut measured = Vec::new();
        for &quantity in WEATHER {
            measured.extend(panel.measured(quantity, window).await?);
        }
        let heel = panel.answering(Quantity::Heel, window).await?;
        let pressure = panel.answering(Quantity::Pressure, window).await?;
        let change = pressure.and_then(|(_, list)| Some(list.last()?.mean - list.first()?.mean));
        let (sailing, left_out) = polar::minutes::sailing(panel, window).await?;
        Ok(Self {
            from: at(window.first),
            until: at(window.end),
            hours: hundredths((window.end - window.first) as f64 / 60.0),
            under_way_hours: hundredths(run.minutes as f64 / 60.0),
            through_water_nmi: distance(panel, Quantity::BoatSpeed, window).await?,
            over_ground_nmi: distance(panel, Quantity::SpeedOverGround, window).await?,
            measured,
            heel_deg: heel.and_then(|(_, list)| mean(list.iter().map(|m| m.mean.abs()))).map(hundredths),
            pressure_change_hpa: change.map(hundredths),
            speeds: Polar::new((None, None), GRID, &sailing, left_out).all.cells,
            engines: engines(panel, window).await?,
            charge: charge(panel, window).await?,
            logs: panel.logs(&[Quantity::BoatSpeed, Quantity::SpeedOverGround], window).await?,
        })
    }
}

fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (count, sum) = values.fold((0, 0.0), |(count, sum), value| (count + 1, sum + value));
    (count > 0).then(|| sum / f64::from(count))
}

async fn distance(panel: &Panel<'_>, quantity: Quantity, window: Window) -> Result<Option<Run>, Error> {
    let Some((_, minutes)) = panel.answering(quantity, window).await? else { return Ok(None) };
    let nmi = hundredths(minutes.iter().map(|minute| minute.mean / 60.0).sum());
    let missing = (window.end - window.first) as usize - minutes.len();
    Ok(Some(Run { nmi, minutes: minutes.len(), minutes_missing: missing }))
}

/// Each engine by its own hour meter, else by the minutes in which it turned.
async fn engines(panel: &Panel<'_>, window: Window) -> Result<Vec<Engine>, Error> {
    let mut engines = Vec::new();
    for (row, list) in panel.each(Quantity::EngineHours, window).await? {
        // An hour meter only ever counts up.
        let (Some(first), Some(last)) = (list.first(), list.last()) else { continue };
        let (sender, instance) = (row.channel.source.clone(), row.channel.instance.clone());
        engines.push(Engine { sender, instance, hours: hundredths(last.max - first.min), by_meter: true });
    }
    for (row, list) in panel.each(Quantity::EngineSpeed, window).await? {
        let (sender, instance) = (row.channel.source.clone(), row.channel.instance.clone());
        if list.is_empty() || engines.iter().any(|engine| engine.instance == instance) {
            continue;
        }
        let ran = list.iter().filter(|minute| minute.max >= ENGINE_RUNS_RPM).count();
        engines.push(Engine { sender, instance, hours: hundredths(ran as f64 / 60.0), by_meter: false });
    }
    Ok(engines)
}

async fn charge(panel: &Panel<'_>, window: Window) -> Result<Vec<Charge>, Error> {
    let mut all = Vec::new();
    for (row, list) in panel.each(Quantity::Current, window).await? {
        if list.is_empty() {
            continue;
        }
        let sum = |sign: f64| list.iter().map(|minute| (minute.mean * sign).max(0.0) / 60.0).sum();
        all.push(Charge {
            sender: row.channel.source.clone(),
            instance: row.channel.instance.clone(),
            in_ah: hundredths(sum(1.0)),
            out_ah: hundredths(sum(-1.0)),
            minutes: list.len(),
        });
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use leadsman_ingest::instrument::ChannelId;

    use super::*;

    fn speed(minute: i64, mean: f64) -> Minute {
        let (channel, quantity) = (ChannelId(0), Quantity::BoatSpeed);
        Minute { channel, quantity, minute, count: 60, min: mean, mean, max: mean, vector: None }
    }

    #[test]
    fn outings_are_parted_by_long_stops() {
        let mut speeds: Vec<Minute> = (0..60).map(|minute| speed(minute, 5.0)).collect();
        // Half an hour at a buoy belongs to the outing, three hours do not.
        speeds.extend((60..90).map(|minute| speed(minute, 0.2)));
        speeds.extend((90..120).map(|minute| speed(minute, 4.0)));
        speeds.extend((300..330).map(|minute| speed(minute, 4.0)));
        // Nine minutes on another mooring are none.
        speeds.extend((900..909).map(|minute| speed(minute, 2.0)));
        let found = runs(speeds);
        assert_eq!(
            found,
            [UnderWay { first: 0, last: 119, minutes: 90 }, UnderWay { first: 300, last: 329, minutes: 30 }]
        );
        assert_eq!(runs(Vec::new()), []);
    }
}
