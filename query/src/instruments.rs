//! The boat's instruments: what channels there are, over which time, how often they speak, where they were silent, and
//! which of them are out by a steady amount against another.
//!
//! Nothing is corrected by what is found here: it says what to look at. A log's or a compass's error is for the maker's
//! own procedure to set right.

use std::io;

use chrono::{DateTime, FixedOffset, SecondsFormat, TimeZone};
use chrono_tz::Tz;
use leadsman_index::{ChannelRow, Gap, Store};
use leadsman_ingest::instrument::calibration::{self, Comparison};
use leadsman_ingest::instrument::{Minute, Quantity, Reference};
use serde::{Serialize, Serializer};

use crate::error::Error;
use crate::figure;
use crate::screen::{CARE, FAINT, STRONG, Screen, styled};
use crate::words::spaced;

/// Days of minutes, up to the last, that channels are compared over.
const DAYS_COMPARED: i64 = 30;
/// Gaps of a channel that are shown one by one.
const GAPS_SHOWN: usize = 3;

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

/// A steady offset between two channels, with its evidence.
#[derive(Debug, Serialize)]
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

fn rfc3339<S: Serializer>(at: &DateTime<FixedOffset>, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(&at.to_rfc3339_opts(SecondsFormat::Secs, true))
}

/// A minute's number as an instant in the zone.
fn instant(minute: i64, zone: Tz) -> DateTime<FixedOffset> {
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
        Ok(Self { channels, calibration: calibrate(store, &rows).await? })
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
            first: instant(row.first, zone),
            last: instant(row.last, zone),
            minutes: row.minutes,
            samples: row.samples,
            rate_hz: (row.samples as f64 / (row.minutes.max(1) * 60) as f64 * 1000.0).round() / 1000.0,
            logs: row.logs,
            gaps: gaps
                .iter()
                .map(|gap| GapOf {
                    after: instant(gap.after, zone),
                    until: instant(gap.until, zone),
                    minutes: gap.until - gap.after - 1,
                })
                .collect(),
        }
    }
}

/// Compares the channels that measure the same, and those through the water with those over the ground.
async fn calibrate(store: &Store, rows: &[ChannelRow]) -> Result<Vec<Calibration>, Error> {
    let last = rows.iter().map(|row| row.last).max().unwrap_or(0);
    let first = last - DAYS_COMPARED * 24 * 60;
    let minutes = async |row: &ChannelRow| store.minutes(row, first, last + 1).await;
    let is = |row: &ChannelRow, quantity, reference| {
        row.channel.quantity == quantity && row.channel.reference == reference
    };
    let sent: Vec<&ChannelRow> = rows
        .iter()
        .filter(|row| row.channel.source != "computed" && worth_comparing(row.channel.quantity))
        .collect();
    let mut heading: Option<Vec<Minute>> = None;
    for reference in [Reference::True, Reference::Magnetic, Reference::Unsaid] {
        if let Some(row) = sent.iter().find(|row| is(row, Quantity::Heading, reference)) {
            heading = Some(minutes(row).await?);
            break;
        }
    }
    let mut found = Vec::new();
    for (n, &a) in sent.iter().enumerate() {
        for &b in &sent[n + 1..] {
            if is(b, a.channel.quantity, a.channel.reference) && a.channel.instance == b.channel.instance {
                let comparison = calibration::compare(&minutes(a).await?, &minutes(b).await?);
                found.extend(steady(a, b, comparison));
            }
        }
    }
    let Some(heading) = heading else { return Ok(found) };
    for (through, over, reference) in [
        (Quantity::BoatSpeed, Quantity::SpeedOverGround, (Reference::Water, Reference::Ground)),
        (Quantity::Heading, Quantity::CourseOverGround, (Reference::True, Reference::True)),
    ] {
        let find = |quantity, reference| sent.iter().copied().find(|row| is(row, quantity, reference));
        if let (Some(a), Some(b)) = (find(through, reference.0), find(over, reference.1)) {
            let comparison =
                calibration::compare_over_ground(&minutes(a).await?, &minutes(b).await?, &heading);
            found.extend(steady(a, b, comparison));
        }
    }
    Ok(found)
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
    let named = |row: &ChannelRow| {
        [
            row.channel.quantity.name(),
            row.channel.reference.name(),
            &row.channel.source,
            &row.channel.instance,
        ]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
    };
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

/// Prints the channels, a block a quantity, and the calibration below.
pub fn show(instruments: &Instruments, screen: &mut Screen) -> io::Result<()> {
    if instruments.channels.is_empty() {
        return screen.line("no channels: no instrument log has been dumped yet");
    }
    let same = |a: &ChannelOf, b: &ChannelOf| a.quantity == b.quantity && a.reference == b.reference;
    for block in instruments.channels.chunk_by(same) {
        let of = &block[0];
        let reference = if of.reference.is_empty() { String::new() } else { format!(", {}", of.reference) };
        screen.line(format!(
            "{}{reference} {}",
            styled(STRONG, spaced(of.quantity)),
            styled(FAINT, format!("({})", of.unit))
        ))?;
        for channel in block {
            show_channel(channel, screen)?;
        }
    }
    if !instruments.calibration.is_empty() {
        screen.gap()?;
        screen.line(styled(STRONG, "Calibration"))?;
        for pair in &instruments.calibration {
            let by = figure::value(pair.offset.abs(), pair.unit);
            let side = if pair.offset > 0.0 { "more" } else { "less" };
            let factor =
                pair.factor.map_or_else(String::new, |factor| format!(" (times {})", figure::number(factor)));
            let headings = pair.opposite_pairs.map_or_else(String::new, |pairs| {
                format!(
                    ", on {}",
                    figure::count(pairs, "pair of opposite headings", "pairs of opposite headings")
                )
            });
            let text = format!(
                "{} shows {by} {side}{factor} than {}: {}{headings}, half of them within {}",
                pair.first,
                pair.second,
                figure::count(pair.minutes, "minute", "minutes"),
                figure::value(pair.spread, pair.unit),
            );
            screen.paragraph("  ", "    ", &text)?;
        }
        let caution = "which of the two is out is not told by this; the makers' own procedures set it right";
        screen.paragraph("  ", "  ", &styled(CARE, caution))?;
    }
    Ok(())
}

fn show_channel(channel: &ChannelOf, screen: &mut Screen) -> io::Result<()> {
    let instance = if channel.instance.is_empty() { String::new() } else { format!(" {}", channel.instance) };
    let mut text = format!(
        "{} to {}, {} of samples, {} a second",
        figure::moment(channel.first),
        figure::moment(channel.last),
        figure::count(channel.minutes as usize, "minute", "minutes"),
        figure::number(channel.rate_hz),
    );
    if !channel.gaps.is_empty() {
        let shown: Vec<String> = channel
            .gaps
            .iter()
            .take(GAPS_SHOWN)
            .map(|gap| format!("{} min from {}", gap.minutes, figure::moment(gap.after)))
            .collect();
        let more = if channel.gaps.len() > GAPS_SHOWN { ", …" } else { "" };
        text +=
            &format!("; {}: {}{more}", figure::count(channel.gaps.len(), "gap", "gaps"), shown.join(", "));
    }
    screen.paragraph(&format!("  {}{instance}  ", channel.sender), "      ", &text)
}
