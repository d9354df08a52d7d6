//! What the instruments measured over a stretch of time: the mean and the range of a channel.

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use leadsman_index::ChannelRow;
use leadsman_ingest::instrument::{Minute, Quantity};
use serde::Serialize;

use super::minute_at;
use crate::boat::begins;

/// Minutes on either side of a trial's words that belong to its time at least: one talks while one tries, or just after.
pub const MINUTES_AROUND_A_TRIAL: i64 = 5;
/// Conditions said longer before a trial's outcome than this, in minutes, are of the outing and not of its time.
pub const MINUTES_BEFORE_A_TRIAL: i64 = 30;

/// What a trial's conditions are measured in. Common practice, no source.
pub const CONDITIONS: &[Quantity] = &[
    Quantity::TrueWindSpeed,
    Quantity::TrueWindAngle,
    Quantity::ApparentWindSpeed,
    Quantity::ApparentWindAngle,
    Quantity::WindSpeed,
    Quantity::BoatSpeed,
    Quantity::SpeedOverGround,
    Quantity::Heel,
    Quantity::RudderAngle,
    Quantity::WaveHeight,
    Quantity::SeaTemperature,
    Quantity::AirTemperature,
    Quantity::CabinTemperature,
    Quantity::EngineSpeed,
    Quantity::LineLoad,
];

/// A stretch of time by the instruments' clock, in whole minutes since 1970 UTC, `first` up to but not `end`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// First minute.
    pub first: i64,
    /// One past the last minute.
    pub end: i64,
}

impl Window {
    /// All minutes of some days aboard, both included; open where a day is missing.
    pub fn days(since: Option<NaiveDate>, until: Option<NaiveDate>, zone: Tz) -> Self {
        // Far beyond any boat, and far from where sums overflow.
        const EVER: i64 = 1 << 40;
        let minute = |day: NaiveDate| begins(day, zone).timestamp().div_euclid(60);
        let end = until.and_then(|day| day.succ_opt()).map_or(EVER, minute);
        Self { first: since.map_or(-EVER, minute), end }
    }

    /// The minutes that touch the time from one instant to another, both widened by `around` minutes.
    pub fn around(from: DateTime<Utc>, until: DateTime<Utc>, around: i64) -> Self {
        let minute = |at: DateTime<Utc>| at.timestamp().div_euclid(60);
        let wider = TimeDelta::minutes(around);
        Self { first: minute(from - wider), end: minute(until + wider) + 1 }
    }
}

/// What a channel measured over a window.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// What is measured.
    pub quantity: &'static str,
    /// From or against what; empty where that is not open.
    pub reference: &'static str,
    /// The unit of its values.
    pub unit: &'static str,
    /// Mean of all samples; for directions and angles the mean as a vector.
    pub mean: f64,
    /// Least sample. A direction's may lie below 0 where it swung over north.
    pub low: f64,
    /// Greatest sample. A direction's may lie above 360.
    pub high: f64,
    /// Who sent it; `computed` for what was worked out from other channels.
    pub sender: String,
    /// Which of several; empty for the only one.
    pub instance: String,
    /// Minutes with samples.
    pub minutes: usize,
    /// Samples.
    pub samples: u64,
    /// First minute with a sample, by the instruments' clock.
    pub from: DateTime<FixedOffset>,
    /// Last minute with a sample.
    pub until: DateTime<FixedOffset>,
}

impl Measured {
    /// Sums a channel's minutes up; `None` for none.
    pub fn new(row: &ChannelRow, minutes: &[Minute], zone: Tz) -> Option<Self> {
        let (first, last) = (minutes.first()?, minutes.last()?);
        let whole = minutes[1..].iter().fold(*first, |whole, minute| whole.join(*minute));
        let channel = &row.channel;
        let at = |minute: i64| minute_at(minute, zone);
        let rounded = |value: f64| (value * 1000.0).round() / 1000.0;
        Some(Self {
            quantity: channel.quantity.name(),
            reference: channel.reference.name(),
            unit: channel.quantity.unit(),
            mean: rounded(whole.shown_mean()),
            low: rounded(whole.min),
            high: rounded(whole.max),
            sender: channel.source.clone(),
            instance: channel.instance.clone(),
            minutes: minutes.len(),
            samples: minutes.iter().map(|minute| u64::from(minute.count)).sum(),
            from: at(first.minute),
            until: at(last.minute),
        })
    }
}
