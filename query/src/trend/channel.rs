//! Where an instrument's values go in time: its days, each with its least, mean and greatest, and a trend over their means.

use chrono::{DateTime, FixedOffset, NaiveDate, TimeZone};
use chrono_tz::Tz;
use leadsman_index::ChannelRow;
use leadsman_ingest::instrument::{Minute, Quantity, quantity::Scale};
use serde::Serialize;

use super::{Slope, slope, stats::median};
use crate::boat::begins;
use crate::error::Error;
use crate::instruments::{Panel, is_joint};

/// A channel in time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChannelTrend {
    /// Who sends it.
    pub sender: String,
    /// Which of several; empty for the only one.
    pub instance: String,
    /// From or against what; empty where that is not open.
    pub reference: &'static str,
    /// The unit of its values.
    pub unit: &'static str,
    /// Its days, oldest first; those without samples left out.
    pub days: Vec<DayOf>,
    /// Middle of the days' means; null for a direction.
    pub median: Option<f64>,
    /// Where the days' means go; null where no trend can be claimed.
    pub slope: Option<Slope>,
    /// Why there is no slope.
    pub no_slope_because: Option<&'static str>,
}

/// A channel over one day aboard.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DayOf {
    /// The day.
    pub day: NaiveDate,
    /// Least sample.
    pub low: f64,
    /// Mean of all samples.
    pub mean: f64,
    /// Greatest sample.
    pub high: f64,
    /// Samples.
    pub samples: u64,
}

impl DayOf {
    /// The middle of the day, for a plot.
    pub fn noon(&self) -> DateTime<FixedOffset> {
        let noon = self.day.and_hms_opt(12, 0, 0).unwrap_or_default();
        noon.and_utc().fixed_offset()
    }
}

/// All channels of a quantity in time, those with the most samples first; one that is worked out across logs only where
/// there is no other. `since` and `until` are days, both included.
pub async fn of(
    panel: &Panel<'_>,
    quantity: Quantity,
    (since, until): (Option<NaiveDate>, Option<NaiveDate>),
    zone: Tz,
) -> Result<Vec<ChannelTrend>, Error> {
    let hour = |day: NaiveDate| begins(day, zone).timestamp().div_euclid(3600);
    let first = since.map_or(i64::MIN, hour);
    let end = until.and_then(|day| day.succ_opt()).map_or(i64::MAX, hour);
    let mut rows: Vec<&ChannelRow> = panel.channels(quantity).collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.samples));
    let mut all = Vec::new();
    for row in rows {
        if is_joint(row) && !all.is_empty() {
            continue;
        }
        let hours = panel.hours_of(row, first, end).await?;
        if !hours.is_empty() {
            all.push(ChannelTrend::new(row, &hours, zone));
        }
    }
    Ok(all)
}

impl ChannelTrend {
    fn new(row: &ChannelRow, hours: &[Minute], zone: Tz) -> Self {
        let quantity = row.channel.quantity;
        let day = |hour: &Minute| {
            let at = DateTime::from_timestamp(hour.minute.saturating_mul(3600), 0).unwrap_or_default();
            zone.from_utc_datetime(&at.naive_utc()).date_naive()
        };
        let rounded = |value: f64| (value * 1000.0).round() / 1000.0;
        let days: Vec<DayOf> = hours
            .chunk_by(|a, b| day(a) == day(b))
            .map(|of_day| {
                let whole = of_day[1..].iter().fold(of_day[0], |whole, hour| whole.join(*hour));
                DayOf {
                    day: day(&of_day[0]),
                    low: rounded(whole.min),
                    mean: rounded(whole.shown_mean()),
                    high: rounded(whole.max),
                    samples: of_day.iter().map(|hour| u64::from(hour.count)).sum(),
                }
            })
            .collect();
        let means: Vec<(DateTime<FixedOffset>, f64)> =
            days.iter().map(|day| (day.noon(), day.mean)).collect();
        let round = quantity.scale() != Scale::Linear;
        let (slope, no_slope_because) = match slope(&means, round) {
            Ok(slope) => (Some(slope), None),
            Err(because) => (None, Some(because)),
        };
        let values: Vec<f64> = means.iter().map(|mean| mean.1).collect();
        Self {
            sender: row.channel.source.clone(),
            instance: row.channel.instance.clone(),
            reference: row.channel.reference.name(),
            unit: quantity.unit(),
            median: if round { None } else { median(&values) },
            slope,
            no_slope_because,
            days,
        }
    }
}
