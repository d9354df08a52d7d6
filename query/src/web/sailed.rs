//! *Sailed*: the last outing summed up from the instruments, or those of some days.

use std::collections::HashMap;
use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Response;
use chrono::NaiveDate;
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{self, Look, value};
use super::log;
use super::page::Page;
use super::polar::{self, Behind};
use super::trouble::Trouble;
use crate::boat::begins;
use crate::figure;
use crate::instruments::{Panel, Window};
use crate::sailed::{Outing, Run, Sailed};

/// Outings on one screen; the latest are shown.
const MOST: usize = 30;

/// Which outings; with nothing, the last.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    since: String,
    until: String,
    /// The last one before this day.
    before: String,
}

/// A day as a form sends it; nothing for none. Errors: another text.
pub fn date(text: &str) -> Result<Option<NaiveDate>, Trouble> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let day =
        text.parse().map_err(|_| Trouble::wrong(format!("expected a day like 2026-10-06, found \"{text}\"")));
    day.map(Some)
}

/// The fields of a form that ask for the days from one on and up to another.
pub fn days_asked(since: &str, until: &str) -> Markup {
    html! {
        p.field { label for="since" { "From" } input #since name="since" type="date" value=(since); }
        p.field { label for="until" { "Up to and with" } input #until name="until" type="date" value=(until); }
    }
}

/// The screen.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let zone = page.setting.zone.value;
    let (since, until, before) = (date(&asked.since)?, date(&asked.until)?, date(&asked.before)?);
    let by_days = since.is_some() || until.is_some();
    let mut found = Sailed::default();
    if let Some(store) = &known.store {
        let panel = Panel::open(store, zone).await?;
        found = if by_days {
            Sailed::ask(&panel, Window::days(since, until, zone), false, zone).await?
        } else {
            let before = before.map(|day| begins(day, zone).timestamp().div_euclid(60));
            Sailed::last(&panel, before, zone).await?
        };
    }
    let mut names: HashMap<String, String> = HashMap::new();
    if let Some(store) = &known.store {
        names.extend(store.sources().await?.into_iter().map(|row| (row.source.to_string(), row.name)));
    }
    let earlier = found.outings.first().map(|outing| outing.from.date_naive());
    let body = html! {
        h1 { "Sailed" }
        @if found.outings.is_empty() {
            @if by_days || before.is_some() { p { "No instrument log has her under way then." } }
            @else { p { "No instrument log has her under way yet." } }
        }
        @for outing in found.outings.iter().rev().take(MOST) { (one(outing, &names)) }
        @if found.outings.len() > MOST { p { "and " (found.outings.len() - MOST) " before these" } }
        p.more {
            @if let Some(day) = earlier { a.button href={ "/sailed?before=" (day) } { "The one before" } }
            @if by_days || before.is_some() { a.button href="/sailed" { "The last one" } }
            a.button href="/polar" { "Polar" }
        }
        form.fields method="get" action="/sailed" {
            (days_asked(&asked.since, &asked.until))
            button { "Sum up" }
        }
        p.caution { "From the minutes that the instruments measured; nothing is filled in." }
    };
    Ok(frame::page(&look, "Sailed", "/more", body))
}

fn one(outing: &Outing, names: &HashMap<String, String>) -> Markup {
    let plain = |number: f64, unit: &str| value(Some(number), Some(number), unit);
    let log_of = |quantity: &str| log::address(quantity, outing.from, outing.until);
    let behind = Behind {
        first: outing.from.timestamp().div_euclid(60),
        end: outing.until.timestamp().div_euclid(60),
        sails: String::new(),
    };
    let until = if outing.from.date_naive() == outing.until.date_naive() {
        outing.until.format("%H:%M").to_string()
    } else {
        figure::moment(outing.until)
    };
    html! {
        section {
            h2 { time datetime=(outing.from.to_rfc3339()) { (figure::moment(outing.from)) } " to "
                time datetime=(outing.until.to_rfc3339()) { (until) } }
            dl.figures {
                dt { "In all" } dd { (plain(outing.hours, "h")) ", " (plain(outing.under_way_hours, "h")) " under way" }
                (distance("Through the water", outing.through_water_nmi.as_ref(), &log_of("boat_speed")))
                (distance("Over the ground", outing.over_ground_nmi.as_ref(), &log_of("speed_over_ground")))
                @for measured in &outing.measured {
                    dt { (frame::quantity(measured.quantity)) } dd { (log::measured(measured)) }
                }
                @if let Some(heel) = outing.heel_deg {
                    dt { "Heel to either side" } dd { a.words href=(log_of("heel")) { (plain(heel, "deg")) } " on average" }
                }
                @if let Some(change) = outing.pressure_change_hpa {
                    dt { "Pressure changed by" } dd { a.words href=(log_of("pressure")) { (plain(change, "hPa")) } }
                }
                @for engine in &outing.engines {
                    @let (of, how) = if engine.by_meter { ("engine_hours", ", by its meter") }
                        else { ("engine_speed", ", by the minutes in which it turned") };
                    dt { "Engine " (engine.instance) }
                    dd { a.words href=(log_of(of)) { (plain(engine.hours, "h")) } (how) }
                }
                @for charge in &outing.charge {
                    dt { (if charge.instance.is_empty() { &charge.sender } else { &charge.instance }) }
                    dd { a.words href=(log_of("current")) { (plain(charge.in_ah, "Ah")) " in, " (plain(charge.out_ah, "Ah")) " out" }
                        ", over " (figure::count(charge.minutes, "minute", "minutes")) }
                }
            }
            @if outing.speeds.iter().any(|cell| cell.median_kn.is_some()) {
                h3 { "Boat speed by true wind" }
                (polar::table(&outing.speeds, &behind))
            }
            p.origin { "From "
                @for (n, log) in outing.logs.iter().enumerate() {
                    @if n > 0 { ", " }
                    a href={ "/source/" (log) } { (names.get(log).map_or("a log", String::as_str)) }
                } }
        }
    }
}

fn distance(how: &str, run: Option<&Run>, log: &str) -> Markup {
    html! {
        @if let Some(run) = run {
            dt { (how) }
            dd { a.words href=(log) { (value(Some(run.nmi), Some(run.nmi), "nmi")) }
                @if run.minutes_missing > 0 {
                    p.origin { (figure::count(run.minutes_missing, "minute", "minutes")) " without a speed are not in it" }
                } }
        }
    }
}
