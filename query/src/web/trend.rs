//! *Trend*: which quantities there are, and one of them in time, drawn and listed.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Response;
use chrono::NaiveDate;
use chrono_tz::Tz;
use leadsman_index::Asked;
use leadsman_ingest::{Span, Stance};
use maud::{Markup, html};
use serde::Deserialize;

use super::before::day;
use super::frame::{self, Look, origin, value};
use super::known::Known;
use super::log;
use super::page::Page;
use super::sound::button;
use super::trouble::Trouble;
use crate::boat::begins;
use crate::figure;
use crate::limits::{Limit, Own};
use crate::quantity_word::quantity;
use crate::register::{Register, turns_of};
use crate::trend::ask::{Wish, ask};
use crate::trend::svg::{Band, Size, svg};
use crate::trend::{ChannelTrend, DayOf, Point, Question, Trend};

/// For a phone's screen, and for a desk.
const SIZES: [(&str, Size); 2] = [
    ("narrow", Size { width: 340, height: 250, letters: 15 }),
    ("wide", Size { width: 740, height: 340, letters: 17 }),
];
/// Readings listed below the picture.
const MOST: usize = 60;

/// Every quantity with how often it was observed, and whether the instruments give it.
pub async fn list(State(page): State<Arc<Page>>, look: Look) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let mut counts: BTreeMap<String, (usize, bool)> = BTreeMap::new();
    if let Some(store) = &known.store {
        let asked = Asked { stances: vec![Stance::Observed], ..Asked::default() };
        for stored in store.readings(&asked).await? {
            counts.entry(stored.reading.quantity).or_default().0 += 1;
        }
        for row in store.channels().await? {
            counts.entry(row.channel.quantity.name().to_owned()).or_default().1 = true;
        }
    }
    let body = html! {
        h1 { "Trend" }
        @if counts.is_empty() { p { "No number was observed yet." } }
        ul.ways {
            @for (name, (count, logged)) in &counts {
                li { a href={ "/trend/" (name) } {
                    span { (frame::quantity(name)) }
                    span.count { @if *count > 0 { (count) } @if *count > 0 && *logged { " + " } @if *logged { "log" } }
                } }
            }
        }
    };
    Ok(frame::page(&look, "Trend", "/trend", body))
}

/// What is asked of a quantity.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Of {
    gear: String,
}

/// One quantity.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Path(name): Path<String>,
    Query(of): Query<Of>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let quantity = quantity(&name)?;
    let gear = Some(of.gear.trim()).filter(|gear| !gear.is_empty());
    let wish = Wish {
        name: &quantity.name,
        unit: &quantity.unit,
        gear,
        since: None,
        until: None,
        stances: &[Stance::Observed],
    };
    let (trend, others) = ask(known.store.as_ref(), &wish, page.setting.zone.value).await?;
    let limits: Vec<Point> =
        others.into_iter().filter(|point| point.stance == Stance::Limit && point.doubts.is_empty()).collect();
    let mut gears: BTreeMap<&str, usize> = BTreeMap::new();
    for point in &trend.readings {
        *gears.entry(point.gear.as_deref().unwrap_or_default()).or_default() += 1;
    }
    let turns = trend.question.gear.as_deref().or_else(|| trend.only_gear());
    let turns = turns.map_or_else(Vec::new, |gear| turns_of(&Register::new(&known.boat, known.day), gear));
    let names: Vec<Option<&str>> =
        gears.keys().map(|name| Some(*name).filter(|name| !name.is_empty())).collect();
    let own = Own::new(&known.boat, known.day).of(&quantity.name, &names);
    // The skipper's own stand last, which are drawn whatever the notes say.
    let bands: Vec<Band> = limits.iter().map(Band::from).chain(own.iter().map(Band::from)).collect();
    let link = |point: &Point| frame::place(&point.hash, Span { start: point.start, end: point.end });
    let title = frame::quantity(&quantity.name);
    let body = html! {
        h1 { (title) @if let Some(gear) = &trend.question.gear { ", " (gear) } }
        @if gear.is_some() || gears.len() > 1 {
            p.chips {
                @if gear.is_some() { a.button href={ "/trend/" (quantity.name) } { "All" } }
                @for name in gears.keys().filter(|name| !name.is_empty() && gear.is_none()) {
                    a.button href={ "/trend/" (quantity.name) "?gear=" (query(name)) } { (name) }
                }
            }
        }
        (figures(&trend))
        @for (class, size) in SIZES {
            @if let Some(picture) = svg(&trend, &bands, &turns, size, link) {
                figure.plot.(class) aria-label={ (title) " in time; the same values are listed below" } {
                    (frame::raw(picture))
                }
            }
        }
        @if !turns.is_empty() {
            h2 { "Changes of gear" }
            ul.rows { @for (on, what) in &turns { li { p { (day(*on)) ": " (what) } } } }
        }
        @if !bands.is_empty() {
            h2 { "Limits" }
            ul.rows { @for limit in &own { (own_limit(limit)) } @for limit in limits.iter().rev() { (row(&known, limit, &trend.unit)) } }
        }
        @if !trend.readings.is_empty() {
            h2 { "Readings, latest first" }
            ul.rows { @for point in trend.readings.iter().rev().take(MOST) { (row(&known, point, &trend.unit)) } }
            @if trend.readings.len() > MOST { p { "and " (trend.readings.len() - MOST) " before these" } }
        }
        @for channel in &trend.instruments { (self::channel(channel, &quantity.name, page.setting.zone.value)) }
    };
    Ok(frame::page(&look, &title, "/trend", body))
}

fn figures(trend: &Trend) -> Markup {
    let unit = trend.unit.as_str();
    let one = |number: f64| value(Some(number), Some(number), unit);
    let signed = |v: f64| {
        let sign = if v > 0.0 { "+" } else { "" };
        html! { span.value { (sign) (figure::value(v, unit).replace(' ', "\u{a0}")) } }
    };
    html! {
        @if trend.readings.is_empty() {
            @if trend.instruments.is_empty() { p { "No reading of it was observed." } }
            @else { p { "No note tells of it; the instruments do." } }
        } @else {
            p {
                (figure::count(trend.count, "reading", "readings")) " over "
                (figure::count(trend.span_days.round() as usize, "day", "days"))
                @if trend.left_out > 0 { "; " (trend.left_out) " more not counted" }
            }
            dl.figures {
                @if let Some(first) = trend.first { dt { "First" } dd { (one(first)) } }
                @if let Some(last) = trend.last { dt { "Last" } dd { (one(last)) } }
                @if let Some(median) = trend.median { dt { "Median" } dd { (one(median)) } }
                @if let Some(slope) = &trend.slope {
                    dt { "A week" }
                    dd {
                        (signed(slope.per_week))
                        @if !slope.distinguishable { ", not to be told from none" }
                        p.origin {
                            (format!("{:.0}", slope.confidence * 100.0)) " % interval " (signed(slope.low)) " to " (signed(slope.high))
                            "; Theil–Sen, Mann–Kendall p "
                            @if slope.p < 0.001 { "< 0.001" } @else { "= " (format!("{:.3}", slope.p)) }
                        }
                    }
                }
            }
            @if let Some(because) = &trend.no_slope_because { p { "No trend: " (because) "." } }
        }
    }
}

/// A channel of the instruments by its days, drawn and listed, each leading to its log.
fn channel(channel: &ChannelTrend, quantity: &str, zone: Tz) -> Markup {
    let unit = channel.unit;
    let point = |day: &DayOf| Point {
        at: Some(day.noon()),
        low: Some(day.mean),
        high: Some(day.mean),
        stance: Stance::Observed,
        gear: None,
        source: channel.sender.clone(),
        hash: String::new(),
        start: 0,
        end: 0,
        quote: String::new(),
        doubts: Vec::new(),
    };
    let question = Question { quantity: quantity.to_owned(), ..Question::default() };
    let drawn = Trend {
        slope: channel.slope,
        ..Trend::new(question, unit, channel.days.iter().map(point).collect())
    };
    let address = |day: NaiveDate| {
        let begins = |day: NaiveDate| begins(day, zone).with_timezone(&zone).fixed_offset();
        log::address(quantity, begins(day), begins(day.succ_opt().unwrap_or(day)))
    };
    let link = |point: &Point| point.at.map_or_else(String::new, |at| address(at.date_naive()));
    html! {
        h2 { "By the instruments: " @if !channel.instance.is_empty() { (channel.instance) ", " } (channel.sender) }
        @for (class, size) in SIZES {
            @if let Some(picture) = svg(&drawn, &[], &[], size, link) {
                figure.plot.(class) aria-label="the mean of each day; the same values are listed below" { (frame::raw(picture)) }
            }
        }
        ul.rows {
            @for of in channel.days.iter().rev().take(MOST) {
                li { p {
                    a href=(address(of.day)) { (day(of.day)) } ": mean " (value(Some(of.mean), Some(of.mean), unit))
                    @if of.high > of.low { ", " (value(Some(of.low), Some(of.high), unit)) }
                    " " span.origin { (figure::count(of.samples as usize, "sample", "samples")) }
                } }
            }
        }
        @if channel.days.len() > MOST { p { "and " (channel.days.len() - MOST) " days before these" } }
    }
}

fn own_limit(limit: &Limit) -> Markup {
    html! {
        li {
            p { (value(limit.low, limit.high, &limit.unit)) " " span.badge.plain { "your word" } }
            p.origin {
                @if let Some(gear) = &limit.gear { (gear) " · " }
                (limit.who) @if let Some(at) = limit.at { ", " (day(at.date_naive())) }
                @if limit.disagrees { "; another limit says otherwise" }
            }
        }
    }
}

fn row(known: &Known, point: &Point, unit: &str) -> Markup {
    html! {
        li {
            p {
                (value(point.low, point.high, unit)) " "
                a.words href=(frame::place(&point.hash, Span { start: point.start, end: point.end })) {
                    "“" (frame::short(&point.quote, 160)) "”"
                }
            }
            @for doubt in &point.doubts { p.doubt { (frame::capital(doubt)) } }
            p {
                @if let Some(gear) = &point.gear { span.origin { (gear) " · " } }
                (origin(&point.source, point.at))
                (button(known, &point.hash, Span { start: point.start, end: point.end }))
            }
        }
    }
}

/// A word as it stands in an address.
pub fn query(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'_' | b'.' => out.push(char::from(byte)),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}
