//! The boat's instruments: what channels there are, over which time, how often they speak, where they were silent, and
//! which of them are out by a steady amount against another.
//!
//! Nothing is corrected by what is found here: it says what to look at. A log's or a compass's error is for the maker's
//! own procedure to set right.

mod answers;
mod calibration;
mod clocks;
mod detail;
mod joint;
mod measured;
mod panel;
mod said;
mod screen;

use chrono::{DateTime, FixedOffset, SecondsFormat, TimeZone};
use chrono_tz::Tz;
use leadsman_index::{ChannelRow, Gap, Store};
use serde::{Serialize, Serializer};

use crate::error::Error;

pub use answers::Answers;
pub use calibration::{Calibration, calibrate};
pub use clocks::{ByHand, ClockDay, Difference};
pub use detail::{SampleOf, Samples, SamplesOf};
pub use joint::{FROM as JOINT_FROM, is_joint};
pub use measured::{Measured, Window};
pub use panel::{Known, Panel};
pub use said::{Against, Verdict, tolerance};
pub use screen::{
    all_measured as show_measured, calibration as show_calibration, clocks as show_clocks,
    measured as measured_words, samples as show_samples, show,
};

/// What the instruments left.
#[derive(Debug, Serialize)]
pub struct Instruments {
    /// Every channel.
    pub channels: Vec<ChannelOf>,
    /// Pairs of channels between which a steady offset lies.
    pub calibration: Vec<Calibration>,
}

/// A channel.
#[derive(Debug, Serialize)]
pub struct ChannelOf {
    /// What is measured.
    pub quantity: &'static str,
    /// From or against what; empty where that is not open.
    pub reference: &'static str,
    /// The unit of its values.
    pub unit: &'static str,
    /// Who sent it.
    pub sender: String,
    /// Which of several; empty for the only one.
    pub instance: String,
    /// First minute with a sample.
    #[serde(serialize_with = "rfc3339")]
    pub first: DateTime<FixedOffset>,
    /// Last minute with a sample.
    #[serde(serialize_with = "rfc3339")]
    pub last: DateTime<FixedOffset>,
    /// Minutes with samples.
    pub minutes: u64,
    /// Samples.
    pub samples: u64,
    /// Samples a second, over the minutes that have any.
    pub rate_hz: f64,
    /// Logs that have it.
    pub logs: u64,
    /// Stretches without samples, longer than was asked for.
    pub gaps: Vec<GapOf>,
}

/// A stretch without samples.
#[derive(Debug, Serialize)]
pub struct GapOf {
    /// The last minute before it.
    #[serde(serialize_with = "rfc3339")]
    pub after: DateTime<FixedOffset>,
    /// The first minute after it.
    #[serde(serialize_with = "rfc3339")]
    pub until: DateTime<FixedOffset>,
    /// Minutes between.
    pub minutes: i64,
}

fn rfc3339<S: Serializer>(at: &DateTime<FixedOffset>, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(&at.to_rfc3339_opts(SecondsFormat::Secs, true))
}

/// A minute's number, since 1970 UTC, as an instant in the zone.
pub fn minute_at(minute: i64, zone: Tz) -> DateTime<FixedOffset> {
    let utc = DateTime::from_timestamp(minute.saturating_mul(60), 0).unwrap_or_default();
    zone.from_utc_datetime(&utc.naive_utc()).fixed_offset()
}

impl Instruments {
    /// Asks the store for all channels; gaps are counted beyond `gap_minutes`.
    pub async fn ask(store: &Store, zone: Tz, gap_minutes: i64) -> Result<Self, Error> {
        let rows = store.channels().await?;
        let mut channels = Vec::new();
        for row in &rows {
            let gaps = store.gaps(row, gap_minutes).await?;
            channels.push(ChannelOf::new(row, &gaps, zone));
        }
        Ok(Self { channels, calibration: calibrate(store).await? })
    }
}

impl ChannelOf {
    fn new(row: &ChannelRow, gaps: &[Gap], zone: Tz) -> Self {
        let quantity = row.channel.quantity;
        Self {
            quantity: quantity.name(),
            reference: row.channel.reference.name(),
            unit: quantity.unit(),
            sender: row.channel.source.clone(),
            instance: row.channel.instance.clone(),
            first: minute_at(row.first, zone),
            last: minute_at(row.last, zone),
            minutes: row.minutes,
            samples: row.samples,
            rate_hz: (row.samples as f64 / (row.minutes.max(1) * 60) as f64 * 1000.0).round() / 1000.0,
            logs: row.logs,
            gaps: gaps
                .iter()
                .map(|gap| GapOf {
                    after: minute_at(gap.after, zone),
                    until: minute_at(gap.until, zone),
                    minutes: gap.until - gap.after - 1,
                })
                .collect(),
        }
    }
}
