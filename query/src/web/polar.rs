//! *Polar*: what the boat does by true wind angle and speed, drawn and as a table.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Response;
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{self, Look};
use super::page::Page;
use super::sailed::{date, days_asked};
use super::trend::query;
use super::trouble::Trouble;
use crate::figure;
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
            (table(&speeds.cells))
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

/// Cells as a table: a row a band of angle, a column a band of wind. An empty cell is empty.
pub fn table(cells: &[Cell]) -> Markup {
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
                            @for cell in row { (self::cell(cell)) }
                        }
                    }
                }
            }
        }
    }
}

fn cell(cell: &Cell) -> Markup {
    html! {
        @match (cell.median_kn, cell.upper_decile_kn) {
            (Some(median), Some(decile)) => td title=(words(cell)) {
                strong { (format!("{median:.1}")) } " " (format!("{decile:.1}"))
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
