//! *Polar*: what the boat does by true wind angle and speed, drawn and as a table.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Response;
use chrono::TimeDelta;
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{self, Look, value};
use super::log;
use super::page::Page;
use super::sailed::{date, days_asked};
use super::trend::query;
use super::trouble::Trouble;
use crate::figure;
use crate::instruments::{Window, minute_at};
use crate::polar::svg::{bands, svg, words};
use crate::polar::{self, Best, Cell, Gained, Grid, LeftOut, Polar};
use crate::trend::svg::Size;

/// For a phone's screen, and for a desk; the height follows from the width.
const SIZES: [(&str, Size); 2] = [
    ("narrow", Size { width: 328, height: 0, letters: 14 }),
    ("wide", Size { width: 480, height: 0, letters: 16 }),
];

/// Which minutes; with nothing, all.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    since: String,
    until: String,
    /// Under these sails alone.
    sails: String,
}

/// The screen.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let days = (date(&asked.since)?, date(&asked.until)?);
    let polar = polar::ask(known.store.as_ref(), days, Grid::default(), page.setting.zone.value).await?;
    let under = polar.by_sails.iter().find(|speeds| speeds.sails.as_deref() == Some(asked.sails.trim()));
    let speeds = under.unwrap_or(&polar.all);
    let pictures = SIZES.map(|(class, size)| (class, svg(speeds, size)));
    let drawn = pictures.iter().any(|(_, picture)| picture.is_some());
    let window = Window::days(days.0, days.1, page.setting.zone.value);
    let behind =
        Behind { first: window.first, end: window.end, sails: speeds.sails.clone().unwrap_or_default() };
    let address = |sails: &str| {
        format!("/polar?since={}&until={}&sails={}", query(&asked.since), query(&asked.until), query(sails))
    };
    let body = html! {
        h1 { "Polar" @if let Some(sails) = &speeds.sails { ", " (sails) } }
        (told(&polar, speeds.minutes))
        @if !polar.by_sails.is_empty() {
            p.chips {
                @if under.is_some() { a.button href=(address("")) { "Whatever was set" } }
                @for one in &polar.by_sails {
                    @if let Some(sails) = one.sails.as_deref().filter(|_| one.sails != speeds.sails) {
                        a.button href=(address(sails)) { (sails) }
                    }
                }
            }
        }
        @for (class, picture) in pictures {
            @if let Some(picture) = picture {
                figure.plot.polar.(class) aria-label="boat speed by true wind angle; the same values are in the table below" {
                    (frame::raw(picture))
                }
            }
        }
        @if drawn {
            p.origin { "True wind: "
                @for (n, (letter, (from, to))) in bands(speeds).into_iter().enumerate() {
                    @if n > 0 { ", " } strong { (letter) } " " (figure::number(from)) "–" (figure::number(to)) "\u{a0}kn"
                } }
        }
        @if !speeds.cells.is_empty() {
            h2 { "Boat speed" }
            p.origin { "Median and upper decile in kn, and minutes; a cell with fewer than "
                (figure::count(polar.grid.least_minutes, "minute", "minutes")) " is empty." }
            (table(&speeds.cells, &behind))
            h2 { "Best angles" }
            @if speeds.best.is_empty() { p { "Too few cells to name one." } }
            ul.rows { @for one in &speeds.best { (best(one)) } }
        }
        p.more { a.button href="/sailed" { "The last outing" } a.button href="/sources" { "The logs" } }
        form.fields method="get" action="/polar" {
            (days_asked(&asked.since, &asked.until))
            button { "Show these days" }
        }
    };
    Ok(frame::page(&look, "Polar", "/more", body))
}

fn told(polar: &Polar, minutes: usize) -> Markup {
    let LeftOut { engine, turning, still } = polar.left_out;
    let left_out = [(engine, "with the engine running"), (turning, "while turning"), (still, "lying still")];
    let left_out: Vec<String> =
        left_out.into_iter().filter(|one| one.0 > 0).map(|(count, why)| format!("{count} {why}")).collect();
    html! {
        @if minutes == 0 { p { "No minute has true wind and speed through the water together under sail." } }
        @else { p { "By true wind angle and speed, from " (figure::count(minutes, "minute", "minutes")) " under sail." } }
        @if !left_out.is_empty() { p.origin { "Minutes left out: " (left_out.join(", ")) } }
    }
}

/// The minutes that a table's cells are from: by the instruments' clock, since 1970 UTC, up to but not `end`.
#[derive(Clone, Debug, Deserialize)]
pub struct Behind {
    /// The first.
    pub first: i64,
    /// One past the last.
    pub end: i64,
    /// Under these sails alone; all minutes where empty.
    #[serde(default)]
    pub sails: String,
}

impl Behind {
    fn of(&self, cell: &Cell) -> String {
        let Cell { angle_from, angle_to, wind_from, wind_to, .. } = cell;
        format!(
            "/polar/minutes?first={}&end={}&sails={}&angle_from={angle_from}&angle_to={angle_to}&wind_from={wind_from}&wind_to={wind_to}",
            self.first,
            self.end,
            query(&self.sails)
        )
    }
}

/// Which minutes, and the cell.
#[derive(Debug, Deserialize)]
pub struct OfCell {
    first: i64,
    end: i64,
    #[serde(default)]
    sails: String,
    angle_from: f64,
    angle_to: f64,
    wind_from: f64,
    wind_to: f64,
}

/// Minutes on one screen.
const MOST: usize = 400;

/// The minutes behind one cell, each leading to its log.
pub async fn minutes(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(of): Query<OfCell>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let zone = page.setting.zone.value;
    let window = Window { first: of.first, end: of.end };
    let mut found = match &known.store {
        Some(store) => polar::sailing(store, window, zone).await?.0,
        None => Vec::new(),
    };
    let cell = Cell {
        angle_from: of.angle_from,
        angle_to: of.angle_to,
        wind_from: of.wind_from,
        wind_to: of.wind_to,
        minutes: 0,
        median_kn: None,
        upper_decile_kn: None,
    };
    let sails = of.sails.trim();
    found.retain(|minute| cell.holds(minute) && (sails.is_empty() || minute.sails.as_deref() == Some(sails)));
    let band = |from: f64, to: f64| format!("{}–{}", figure::number(from), figure::number(to));
    let body = html! {
        h1 { (band(of.angle_from, of.angle_to)) "° in " (band(of.wind_from, of.wind_to)) "\u{a0}kn"
            @if !sails.is_empty() { ", " (sails) } }
        p { (figure::count(found.len(), "minute", "minutes")) ", each with its mean values." }
        div.wide-table tabindex="0" role="region" aria-label="Minutes with angle, wind and speed" {
            table.speeds {
                thead { tr { th scope="col" { "Minute" } th scope="col" { "Boat speed" }
                    th scope="col" { "Angle" } th scope="col" { "True wind" } } }
                tbody { @for minute in found.iter().take(MOST) {
                    @let at = minute_at(minute.minute, zone);
                    @let log = |quantity: &str| log::address(quantity, at, at + TimeDelta::minutes(1));
                    @let one = |number: f64, unit: &str| value(Some(number), Some(number), unit);
                    tr {
                        th scope="row" { (at.format("%-d %b %H:%M")) }
                        td { a href=(log("boat_speed")) { (one(minute.speed_kn, "kn")) } }
                        td { a href=(log("true_wind_angle")) { (one(minute.angle_deg, "deg")) } }
                        td { a href=(log("true_wind_speed")) { (one(minute.wind_kn, "kn")) } }
                    }
                } }
            }
        }
        @if found.len() > MOST { p { "and " (found.len() - MOST) " more" } }
        p.more { a.button href="/polar" { "Polar" } }
    };
    Ok(frame::page(&look, "Minutes under sail", "/more", body))
}

/// Cells as a table: a row a band of angle, a column a band of wind. An empty cell is empty; another leads to its minutes.
pub fn table(cells: &[Cell], behind: &Behind) -> Markup {
    let mut winds: Vec<(f64, f64)> = cells.iter().map(|cell| (cell.wind_from, cell.wind_to)).collect();
    winds.sort_by(|a, b| a.0.total_cmp(&b.0));
    winds.dedup();
    let band = |from: f64, to: f64| format!("{}–{}", figure::number(from), figure::number(to));
    html! {
        div.wide-table tabindex="0" role="region" aria-label="Boat speed by true wind angle and speed" {
            table.speeds {
                thead { tr {
                    th scope="col" { "Angle" }
                    @for (from, to) in &winds { th scope="col" { (band(*from, *to)) "\u{a0}kn" } }
                } }
                tbody {
                    @for row in cells.chunk_by(|a, b| a.angle_from == b.angle_from) {
                        tr {
                            th scope="row" { (band(row[0].angle_from, row[0].angle_to)) "°" }
                            @for cell in row { (self::cell(cell, behind)) }
                        }
                    }
                }
            }
        }
    }
}

fn cell(cell: &Cell, behind: &Behind) -> Markup {
    html! {
        @match (cell.median_kn, cell.upper_decile_kn) {
            (Some(median), Some(decile)) => td title=(words(cell)) {
                a href=(behind.of(cell)) { strong { (format!("{median:.1}")) } " " (format!("{decile:.1}")) }
                span.count { (cell.minutes) "\u{a0}min" }
            },
            _ => td {},
        }
    }
}

fn best(best: &Best) -> Markup {
    let side = |gained: &Gained, whither: &str| {
        html! {
            p { (whither) " " span.value { (figure::number(gained.angle_from)) "–" (figure::number(gained.angle_to)) "°" }
                ": " span.value { (figure::number(gained.made_good_kn)) "\u{a0}kn" } " made good at "
                (figure::number(gained.speed_kn)) "\u{a0}kn "
                span.origin { (figure::count(gained.minutes, "minute", "minutes")) } }
        }
    };
    html! {
        li {
            p { strong { "In " (figure::number(best.wind_from)) "–" (figure::number(best.wind_to)) "\u{a0}kn" } }
            @if let Some(gained) = &best.upwind { (side(gained, "To windward")) }
            @if let Some(gained) = &best.downwind { (side(gained, "Downwind")) }
        }
    }
}
