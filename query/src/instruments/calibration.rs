//! Which channels are out by a steady amount against another of the same quantity, with the evidence.
//!
//! Senders of one quantity are set against each other, speed through the water against speed over the ground, and
//! heading against course; what counts as steady is [`leadsman_ingest::instrument::calibration`]'s. Nothing is
//! corrected by it.

use std::collections::HashMap;

use leadsman_index::{ChannelRow, Store};
use leadsman_ingest::instrument::calibration::{Comparison, compare, compare_over_ground};
use leadsman_ingest::instrument::{Minute, Quantity, Reference};
use serde::Serialize;

use super::answers::references;
use crate::error::Error;

/// Days of minutes, up to the last, that channels are compared over.
const DAYS_COMPARED: i64 = 30;
/// Minutes of a channel that are compared at most, spread evenly over those days: enough to tell, and quick to read.
const MINUTES_COMPARED: i64 = 6_000;

/// A steady offset between two channels, with its evidence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Calibration {
    /// What both measure.
    pub quantity: &'static str,
    /// The unit of the offset.
    pub unit: &'static str,
    /// The channel that is ahead where the offset is positive: sender and instance.
    pub first: String,
    /// The channel that it is compared with.
    pub second: String,
    /// First less second.
    pub offset: f64,
    /// Median distance of a minute from that.
    pub spread: f64,
    /// What the first shows for 1 of the second, for speeds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub factor: Option<f64>,
    /// Minutes that both have.
    pub minutes: usize,
    /// Pairs of opposite headings that it was found on, where one of the two is over the ground.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub opposite_pairs: Option<usize>,
}

/// Compares the channels that measure the same, and those through the water with those over the ground.
pub async fn calibrate(store: &Store) -> Result<Vec<Calibration>, Error> {
    let rows = store.channels().await?;
    let sent: Vec<&ChannelRow> = rows
        .iter()
        .filter(|row| row.channel.source != "computed" && worth_comparing(row.channel.quantity))
        .collect();
    let mut series = Series::new(store, &sent);
    let mut found = Vec::new();
    for (n, &a) in sent.iter().enumerate() {
        for &b in &sent[n + 1..] {
            let of = |row: &ChannelRow| {
                (row.channel.quantity, row.channel.reference, row.channel.instance.clone())
            };
            if of(a) == of(b) && a.first <= b.last && b.first <= a.last {
                let second = series.again(b).await?;
                let comparison = compare(series.of(a).await?, &second);
                found.extend(steady(a, b, comparison));
            }
        }
    }
    let Some(heading) = best(&sent, Quantity::Heading) else { return Ok(found) };
    let pairs = [
        (Quantity::BoatSpeed, Quantity::SpeedOverGround, false),
        (Quantity::Heading, Quantity::CourseOverGround, true),
    ];
    for (through, over, same_north) in pairs {
        let (Some(a), Some(b)) = (best(&sent, through), best(&sent, over)) else { continue };
        // A magnetic heading differs from a true course by the variation, which is nobody's error.
        if same_north && a.channel.reference != b.channel.reference {
            continue;
        }
        let (first, second) = (series.again(a).await?, series.again(b).await?);
        let comparison = compare_over_ground(&first, &second, series.of(heading).await?);
        found.extend(steady(a, b, comparison));
    }
    Ok(found)
}

/// The channels' minutes, each read once.
struct Series<'a> {
    store: &'a Store,
    first: i64,
    end: i64,
    every: i64,
    read: HashMap<i64, Vec<Minute>>,
}

impl<'a> Series<'a> {
    fn new(store: &'a Store, rows: &[&ChannelRow]) -> Self {
        let last = rows.iter().map(|row| row.last).max().unwrap_or(0);
        let first = rows.iter().map(|row| row.first).min().unwrap_or(0).max(last - DAYS_COMPARED * 24 * 60);
        // By what the fullest channel holds, as a season has more minutes without the boat's instruments than with.
        let fullest = rows.iter().map(|row| row.minutes as i64).max().unwrap_or(0).min(last - first + 1);
        Self { store, first, end: last + 1, every: (fullest / MINUTES_COMPARED).max(1), read: HashMap::new() }
    }

    async fn of(&mut self, row: &ChannelRow) -> Result<&[Minute], Error> {
        if !self.read.contains_key(&row.key) {
            let minutes = self.store.minutes_apart(row, self.first, self.end, self.every).await?;
            self.read.insert(row.key, minutes);
        }
        Ok(self.read.get(&row.key).map_or(&[], Vec::as_slice))
    }

    async fn again(&mut self, row: &ChannelRow) -> Result<Vec<Minute>, Error> {
        Ok(self.of(row).await?.to_vec())
    }
}

/// The channel of a quantity that answers by its reference, the fullest of several.
fn best<'a>(sent: &[&'a ChannelRow], quantity: Quantity) -> Option<&'a ChannelRow> {
    let rank = |row: &ChannelRow| {
        references(quantity).iter().position(|&reference| reference == row.channel.reference)
    };
    sent.iter()
        .copied()
        .filter(|row| row.channel.quantity == quantity && row.channel.reference != Reference::Compass)
        .min_by_key(|row| (rank(row).unwrap_or(usize::MAX), std::cmp::Reverse(row.samples)))
}

/// Positions, distances run and the like differ between senders without either being out.
fn worth_comparing(quantity: Quantity) -> bool {
    matches!(quantity.unit(), "kn" | "deg" | "degC" | "hPa" | "V" | "m")
        && !matches!(
            quantity,
            Quantity::Latitude
                | Quantity::Longitude
                | Quantity::Altitude
                | Quantity::WaypointLatitude
                | Quantity::WaypointLongitude
                | Quantity::WaypointBearing
        )
}

fn steady(a: &ChannelRow, b: &ChannelRow, comparison: Option<Comparison>) -> Option<Calibration> {
    let comparison = comparison.filter(|comparison| comparison.doubt.is_none())?;
    let rounded = |value: f64| (value * 1000.0).round() / 1000.0;
    Some(Calibration {
        quantity: a.channel.quantity.name(),
        unit: a.channel.quantity.unit(),
        first: named(a),
        second: named(b),
        offset: rounded(comparison.offset),
        spread: rounded(comparison.spread),
        factor: comparison.factor.map(rounded),
        minutes: comparison.minutes,
        opposite_pairs: comparison.opposite_pairs,
    })
}

/// A channel as it is called where several are told apart: quantity, reference, sender, instance.
fn named(row: &ChannelRow) -> String {
    let channel = &row.channel;
    [channel.quantity.name(), channel.reference.name(), &channel.source, &channel.instance]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}
