//! A short window at full resolution: every sample of a quantity's channels, read again from their logs.

use chrono::{DateTime, FixedOffset, SecondsFormat, TimeDelta, TimeZone};
use chrono_tz::Tz;
use leadsman_index::{ChannelRow, SAMPLES_MAX, Store};
use serde::{Serialize, Serializer};

use super::rfc3339;
use crate::error::Error;

/// Every sample of some channels over a window.
#[derive(Debug, Serialize)]
pub struct Samples {
    /// When the window begins, by the instruments' clock.
    #[serde(serialize_with = "rfc3339")]
    pub from: DateTime<FixedOffset>,
    /// When it ends; samples at this instant are no longer in it.
    #[serde(serialize_with = "rfc3339")]
    pub until: DateTime<FixedOffset>,
    /// The channels that have samples in it.
    pub channels: Vec<SamplesOf>,
}

/// A channel's samples.
#[derive(Debug, Serialize)]
pub struct SamplesOf {
    /// What is measured.
    pub quantity: &'static str,
    /// From or against what; empty where that is not open.
    pub reference: &'static str,
    /// The unit of its values.
    pub unit: &'static str,
    /// Who sent it; `computed` for what was worked out from other channels.
    pub sender: String,
    /// Which of several; empty for the only one.
    pub instance: String,
    /// Whether there were more than are given.
    pub cut_off: bool,
    /// The samples, by time.
    pub samples: Vec<SampleOf>,
}

/// A sample.
#[derive(Debug, Serialize)]
pub struct SampleOf {
    /// When, by the instruments' clock.
    #[serde(serialize_with = "millis")]
    pub at: DateTime<FixedOffset>,
    /// How much, in the channel's unit.
    pub value: f64,
    /// Where its record begins, in bytes of the log.
    pub offset: u64,
}

fn millis<S: Serializer>(at: &DateTime<FixedOffset>, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(&at.to_rfc3339_opts(SecondsFormat::Millis, true))
}

impl Samples {
    /// Reads the logs of the channels that are `wanted` again, from an instant on for so many minutes. Errors: a log
    /// whose bytes are gone or not the right ones.
    pub async fn ask(
        store: &Store,
        wanted: impl Fn(&ChannelRow) -> bool,
        from: DateTime<FixedOffset>,
        minutes: i64,
        zone: Tz,
    ) -> Result<Self, Error> {
        let until = from + TimeDelta::minutes(minutes);
        let mut channels = Vec::new();
        for row in store.channels().await?.iter().filter(|row| wanted(row)) {
            let found = store.detail(row, from.timestamp_micros(), until.timestamp_micros()).await?;
            if found.is_empty() {
                continue;
            }
            let quantity = row.channel.quantity;
            channels.push(SamplesOf {
                quantity: quantity.name(),
                reference: row.channel.reference.name(),
                unit: quantity.unit(),
                sender: row.channel.source.clone(),
                instance: row.channel.instance.clone(),
                cut_off: found.len() == SAMPLES_MAX,
                samples: found
                    .iter()
                    .map(|sample| SampleOf {
                        at: instant(sample.micros, zone),
                        value: sample.value,
                        offset: sample.offset,
                    })
                    .collect(),
            });
        }
        Ok(Self {
            from: from.with_timezone(&zone).fixed_offset(),
            until: until.with_timezone(&zone).fixed_offset(),
            channels,
        })
    }
}

fn instant(micros: i64, zone: Tz) -> DateTime<FixedOffset> {
    let utc = DateTime::from_timestamp_micros(micros).unwrap_or_default();
    zone.from_utc_datetime(&utc.naive_utc()).fixed_offset()
}
