//! *Log*: what the instruments said of one quantity over a stretch of time, down to the lines of the log itself with
//! those highlighted that hold the values. Numbers that come from instruments lead here.
//!
//! A long stretch is listed by the hour, a shorter one by the minute, each leading to the next finer; a few minutes are
//! shown in the words of the log.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Response;
use chrono::{DateTime, FixedOffset, TimeDelta, Utc};
use chrono_tz::Tz;
use leadsman_index::{ChannelRow, Detail, Home, SourceId, SourceRow, Store};
use leadsman_ingest::instrument::{Minute, Quantity};
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{self, Look, value};
use super::page::Page;
use super::trend::query;
use super::trouble::Trouble;
use crate::error::Error;
use crate::figure;
use crate::instruments::{JOINT_FROM, Measured, Panel, Window, is_joint, minute_at};
use crate::moment_word::instant;
use crate::words::spaced;

/// Stretches longer than this are listed by the hour, in minutes.
const BY_MINUTE: i64 = 6 * 60;
/// Stretches no longer than this are shown in the words of the log, in minutes.
const IN_PLACE: i64 = 3;
/// Hours or minutes that one list has.
const ROWS: usize = 400;
/// Lines of a log before the first value and after the last.
const AROUND: usize = 3;
/// Lines of a log on one screen.
const LINES: usize = 300;
/// Bytes of a log that are looked at for them.
const PIECE: usize = 256 << 10;
/// Bytes of a log before the first value that are looked at: more than `AROUND` lines of most.
const BEFORE: u64 = 2 << 10;
/// Characters of a line that are shown; a log of one endless line is still a page.
const LONGEST: usize = 600;

/// The address of what a quantity's instruments said from one instant up to another.
pub fn address(quantity: &str, from: DateTime<FixedOffset>, until: DateTime<FixedOffset>) -> String {
    stretch(quantity, from, until, "")
}

/// As [`address`], of one channel alone.
fn address_of(row: &ChannelRow, from: i64, end: i64, zone: Tz) -> String {
    let of = sent_by(&row.channel.source, &row.channel.instance);
    stretch(row.channel.quantity.name(), minute_at(from, zone), minute_at(end, zone), &of)
}

/// The address of what a number was measured from.
pub fn of_measured(m: &Measured) -> String {
    stretch(m.quantity, m.from, m.until + TimeDelta::minutes(1), &sent_by(&m.sender, &m.instance))
}

fn sent_by(sender: &str, instance: &str) -> String {
    format!("&sender={}&instance={}", query(sender), query(instance))
}

fn stretch(quantity: &str, from: DateTime<FixedOffset>, until: DateTime<FixedOffset>, of: &str) -> String {
    let word = |at: DateTime<FixedOffset>| at.to_utc().format("%Y-%m-%dT%H:%M:%SZ").to_string();
    format!("/log/{quantity}?from={}&until={}{of}#here", word(from), word(until))
}

/// What was measured over a stretch, leading to the log.
pub fn measured(m: &Measured) -> Markup {
    html! {
        a.words href=(of_measured(m)) {
            (value(Some(m.mean), Some(m.mean), m.unit))
            // An angle that went to the other side: its ends are counted from wherever it began, and say nothing.
            @if m.unit == "deg" && m.high - m.low > 180.0 { ", all round" }
            @else if m.high > m.low { ", " (value(Some(m.low), Some(m.high), m.unit)) }
        }
    }
}

/// What was measured over a trial, a line each; nothing for nothing.
pub fn conditions(all: &[Measured]) -> Markup {
    html! {
        @if !all.is_empty() {
            p.around { "Measured then" }
            dl.figures {
                @for one in all { dt { (frame::quantity(one.quantity)) } dd { (measured(one)) } }
            }
        }
    }
}

/// Which stretch, of which channel; with no channel, of all.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    from: String,
    until: String,
    sender: Option<String>,
    instance: Option<String>,
}

/// The screen.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Path(name): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let nothing = || Trouble::not_found(format!("no instrument gave \"{name}\""));
    let known = page.known().await?;
    let zone = page.setting.zone.value;
    let store = known.store.as_ref().ok_or_else(nothing)?;
    let quantity = Quantity::from_name(&name).ok_or_else(nothing)?;
    let panel = Panel::open(store, zone).await?;
    let wanted = |row: &&ChannelRow| {
        let channel = &row.channel;
        asked.sender.as_ref().is_none_or(|sender| *sender == channel.source)
            && asked.instance.as_ref().is_none_or(|instance| *instance == channel.instance)
    };
    let rows: Vec<&ChannelRow> = panel.channels(quantity).filter(wanted).collect();
    let (Some(first), Some(last)) =
        (rows.iter().map(|row| row.first).min(), rows.iter().map(|row| row.last).max())
    else {
        return Err(nothing());
    };
    let at = |text: &str, otherwise: i64| -> Result<i64, Error> {
        match text.trim() {
            "" => Ok(otherwise),
            text => Ok(instant(text, zone)?.timestamp().div_euclid(60)),
        }
    };
    let (from, end) = (at(&asked.from, first)?, at(&asked.until, last + 1)?);
    let end = end.max(from + 1);
    // Which log is which is told only beside its lines.
    let sources = if end - from <= IN_PLACE { store.sources().await? } else { Vec::new() };
    let mut body = Vec::new();
    for row in rows.into_iter().filter(|row| row.first < end && from <= row.last) {
        // What is worked out across logs answers where no other does.
        if is_joint(row) && !body.is_empty() {
            continue;
        }
        let found = if end - from <= IN_PLACE && !is_joint(row) {
            in_place(&page, store, &sources, row, (from, end), zone).await?
        } else if end - from <= BY_MINUTE {
            let minutes = panel.minutes_of(row, Window { first: from, end }).await?;
            sums(row, &minutes, 1, (from, end), zone)
        } else {
            let (first, last) = (from.div_euclid(60), (end - 1).div_euclid(60));
            let hours = panel.hours_of(row, first, last + 1).await?;
            sums(row, &hours, 60, (from, end), zone)
        };
        let found = html! {
            @if is_joint(row) {
                p { "Worked out from the means of each minute of "
                    @for (n, part) in JOINT_FROM.into_iter().enumerate() {
                        @if n > 0 { ", " }
                        a.words href=(address(part.name(), minute_at(from, zone), minute_at(end, zone))) { (spaced(part.name())) }
                    } }
            }
            (found)
        };
        body.push(html! { h2 { (sender(row)) } (found) });
    }
    let title = frame::quantity(quantity.name());
    let wider = (end - from).max(IN_PLACE) * 20;
    let middle = from + (end - from) / 2;
    let body = html! {
        h1 { (title) " by the instruments" }
        p.origin { (figure::moment(minute_at(from, zone))) " to " (figure::moment(minute_at(end, zone))) ", by the instruments’ clock" }
        @if body.is_empty() { p { "They said nothing of it then." } }
        @for part in body { (part) }
        p.more {
            @if from > first || end <= last {
                a.button href=(address(quantity.name(), minute_at((middle - wider / 2).max(first), zone), minute_at((middle + wider / 2).min(last + 1), zone))) { "A longer stretch" }
            }
            a.button href={ "/trend/" (quantity.name()) } { "Trend" }
        }
    };
    Ok(frame::page(&look, &title, "/trend", body))
}

fn sender(row: &ChannelRow) -> String {
    let channel = &row.channel;
    let of = match channel.source.as_str() {
        "computed" => "worked out from other channels".to_owned(),
        sender => format!("sent by {sender}"),
    };
    match channel.instance.as_str() {
        "" => frame::capital(&of),
        instance => format!("{}, {of}", frame::capital(instance)),
    }
}

/// Decimal places with which a number is shown.
fn places(number: f64) -> usize {
    figure::number(number).split_once('.').map_or(0, |(_, places)| places.len())
}

/// Hours or minutes as a table, each leading to what it was summed up from.
fn sums(row: &ChannelRow, list: &[Minute], length: i64, (from, end): (i64, i64), zone: Tz) -> Markup {
    let unit = row.channel.quantity.unit();
    // Numbers under one another have their points under one another.
    let ends = list.iter().flat_map(|sum| [sum.min, sum.shown_mean(), sum.max]);
    let places = ends.map(places).max().unwrap_or(0);
    let one = |number: f64| html! { td { (format!("{number:.places$}").replace('-', "−")) } };
    let suffix = match figure::suffix(unit).trim() {
        "" => String::new(),
        unit => format!(", {unit}").replace(", °", " °"),
    };
    html! {
        div.wide-table tabindex="0" role="region" aria-label="Least, mean and greatest value" {
            table.speeds {
                thead { tr { th scope="col" { "From" } th scope="col" { "Least" (suffix) } th scope="col" { "Mean" (suffix) }
                    th scope="col" { "Greatest" (suffix) } th scope="col" { "Samples" } } }
                tbody { @for sum in list.iter().take(ROWS) {
                    @let begins = sum.minute * length;
                    tr {
                        th scope="row" {
                            // A minute that was worked out across logs stands in none.
                            @if is_joint(row) && length == 1 { (minute_at(begins, zone).format("%-d %b %H:%M")) }
                            @else { a href=(address_of(row, begins.max(from), (begins + length).min(end), zone)) {
                                (minute_at(begins, zone).format("%-d %b %H:%M"))
                            } }
                        }
                        (one(sum.min)) (one(sum.shown_mean())) (one(sum.max)) td { (sum.count) }
                    }
                } }
            }
        }
        @if list.len() > ROWS { p { "and " (list.len() - ROWS) " more: ask for a shorter stretch" } }
    }
}

/// The lines of the logs that hold a channel's values over a few minutes.
async fn in_place(
    page: &Page,
    store: &Store,
    sources: &[SourceRow],
    row: &ChannelRow,
    (from, end): (i64, i64),
    zone: Tz,
) -> Result<Markup, Trouble> {
    const MICROS: i64 = 60_000_000;
    let found = store.detail(row, from.saturating_mul(MICROS), end.saturating_mul(MICROS)).await?;
    let mut by_log: BTreeMap<SourceId, Vec<Detail>> = BTreeMap::new();
    for detail in found {
        by_log.entry(detail.source).or_default().push(detail);
    }
    let mut parts = Vec::new();
    for (source, mut details) in by_log {
        details.sort_by_key(|detail| detail.offset);
        let begins = details[0].offset.saturating_sub(BEFORE);
        let archive = Home::open(&page.setting.home)?.archive();
        let piece = tokio::task::spawn_blocking(move || archive.piece(&source, begins, PIECE));
        let (piece, line) =
            piece.await.map_err(|error| Error::home("a log could not be read").because(&error))??;
        let lines = Lines::new(&piece, begins, line, &details);
        let named = sources.iter().find(|row| row.source == source);
        parts.push(html! {
            @if let Some(named) = named { p.origin { a href={ "/source/" (source) } { (named.name) } } }
            (self::lines(&lines, row, zone))
        });
    }
    Ok(html! {
        @if parts.is_empty() { p { "It said nothing then." } }
        @for part in parts { (part) }
    })
}

fn lines(lines: &Lines<'_>, row: &ChannelRow, zone: Tz) -> Markup {
    let unit = row.channel.quantity.unit();
    let words = |detail: &Detail| {
        let at: DateTime<Utc> = DateTime::from_timestamp_micros(detail.micros).unwrap_or_default();
        format!("{}, {}", figure::value(detail.value, unit), at.with_timezone(&zone).format("%H:%M:%S%.3f"))
    };
    html! {
        div.note.log {
            @for (n, line) in lines.shown.iter().enumerate() {
                p.line {
                    span.n aria-hidden="true" { (line.number) }
                    span {
                        @if line.values.is_empty() { (line.text) }
                        @else {
                            mark.here id=[(lines.first == Some(n)).then_some("here")] { (line.text) }
                            @for detail in &line.values { " " span.value { "→ " (words(detail)) } }
                        }
                    }
                }
            }
        }
        @if lines.left_out > 0 { p { "and " (figure::count(lines.left_out, "value", "values")) " more" } }
    }
}

/// Some lines of a log.
struct Lines<'d> {
    shown: Vec<Line<'d>>,
    /// The first that holds a value.
    first: Option<usize>,
    /// Values that are on no line that is shown.
    left_out: usize,
}

struct Line<'d> {
    number: u64,
    text: String,
    values: Vec<&'d Detail>,
}

impl<'d> Lines<'d> {
    /// Cuts a piece of a log, which begins `begins` bytes into it and on the line `line`, around the values in it, which
    /// are given by their places.
    fn new(piece: &[u8], begins: u64, line: u64, details: &'d [Detail]) -> Self {
        let mut all: Vec<Line<'d>> = Vec::new();
        let mut rest = details.iter().peekable();
        let mut at = begins;
        for (number, raw) in (line..).zip(piece.split_inclusive(|&byte| byte == b'\n')) {
            let end = at + raw.len() as u64;
            let mut values = Vec::new();
            while let Some(detail) = rest.next_if(|detail| detail.offset < end) {
                values.push(detail);
            }
            let text: String = String::from_utf8_lossy(raw).trim_end().chars().take(LONGEST).collect();
            all.push(Line { number, text, values });
            at = end;
        }
        let holds = |line: &Line<'_>| !line.values.is_empty();
        let first = all.iter().position(holds).unwrap_or(0);
        let last = all.iter().rposition(holds).unwrap_or(0);
        // The piece may begin in the middle of a line, which is only shown where a value stands on it.
        let from = first.saturating_sub(AROUND).max(usize::from(begins > 0).min(first));
        let until = (last + 1 + AROUND).min(from + LINES).min(all.len());
        let shown: Vec<Line<'d>> = all.into_iter().take(until).skip(from).collect();
        let values: usize = shown.iter().map(|line| line.values.len()).sum();
        Self { first: shown.iter().position(holds), left_out: details.len() - values, shown }
    }
}

/// What an instrument log holds, as its own screen tells it.
pub async fn held(store: &Store, row: &SourceRow, zone: Tz) -> Result<Markup, Trouble> {
    let channels = store.channels_of(&row.source).await?;
    let size = row.bytes as f64 / 1e6;
    Ok(html! {
        p { "An instrument log of " (figure::number(size)) "\u{a0}MB."
            @if channels.is_empty() { " It holds no value with a time." } }
        @if !channels.is_empty() {
            ul.ways {
                @for channel in &channels {
                    li { a href=(address_of(channel, channel.first, channel.last + 1, zone)) {
                        span { (frame::quantity(channel.channel.quantity.name())) " " span.origin { (sender(channel)) } }
                        span.count { (figure::count(channel.samples as usize, "sample", "samples")) }
                    } }
                }
            }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn detail(offset: u64) -> Detail {
        Detail { micros: 0, value: 1.0, source: SourceId::of(b""), offset }
    }

    #[test]
    fn lines_are_cut_around_the_values() {
        let text: String = (1..=40).map(|n| format!("line {n:02}\n")).collect();
        let details = [detail(8 * 19), detail(8 * 21 + 3)];
        // The piece begins on the tenth line, three bytes into it.
        let begins = 8 * 9 + 3;
        let lines = Lines::new(&text.as_bytes()[begins..], begins as u64, 10, &details);
        let numbers: Vec<u64> = lines.shown.iter().map(|line| line.number).collect();
        assert_eq!(numbers, (17..=25).collect::<Vec<_>>());
        assert_eq!(lines.shown[3].text, "line 20");
        assert_eq!((lines.first, lines.left_out), (Some(3), 0));
        let held: Vec<u64> =
            lines.shown.iter().filter(|line| !line.values.is_empty()).map(|line| line.number).collect();
        assert_eq!(held, [20, 22]);
    }

    #[test]
    fn what_is_beyond_the_piece_is_counted() {
        let details = [detail(0), detail(1_000)];
        let lines = Lines::new(b"one\ntwo\n", 0, 1, &details);
        assert_eq!((lines.shown.len(), lines.first, lines.left_out), (2, Some(0), 1));
        let lines = Lines::new(b"", 0, 1, &details);
        assert_eq!((lines.shown.len(), lines.first, lines.left_out), (0, None, 2));
    }
}
