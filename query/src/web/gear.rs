//! *Gear*: every piece that the notes name, and one with its story: what it was tried in, how it went, what is open on it.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use leadsman_index::{Asked, StoredTrial};
use leadsman_ingest::Outcome;
use maud::{Markup, html};
use plotters::prelude::*;

use super::frame::{self, Look, origin, outcome, value, words_at};
use super::page::Page;
use super::trend::query;
use super::trouble::Trouble;
use super::{before::day, item};
use crate::export::gear;
use crate::figure;
use crate::words::spaced;

/// Readings of one piece of gear that are listed.
const MOST: usize = 40;

/// Every piece.
pub async fn list(State(page): State<Arc<Page>>, look: Look) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let rows = match &known.store {
        Some(store) => gear(&store.readings(&Asked::default()).await?, &known.trials, &known.list),
        None => Vec::new(),
    };
    let body = html! {
        h1 { "Gear" }
        @if rows.is_empty() { p { "No note names any yet." } }
        ul.rows {
            @for row in &rows {
                li {
                    p { a href={ "/gear/" (query(&row.gear)) } { (frame::capital(&row.gear)) }
                        @if let Some(how) = row.last_outcome.and_then(Outcome::from_name) { " " (outcome(how)) }
                        @if row.open_items > 0 { " " span.badge.care { (row.open_items) " open" } } }
                    p.origin {
                        @match row.last_tried { Some(date) => { "last tried " (day(date)) }, None if row.trials > 0 => "tried, day not known", None => "never tried" }
                        @if row.trials > 1 { ", " (row.trials) " trials" }
                        @if let Some(wind) = row.passed_in_kn { "; passed in up to " (value(Some(wind), Some(wind), "kn")) }
                        @if row.readings > 0 { "; " (figure::count(row.readings, "reading", "readings")) }
                    }
                }
            }
        }
    };
    Ok(frame::page(&look, "Gear", "/more", body))
}

/// One piece.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Path(name): Path<String>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let Some(store) = &known.store else {
        return Err(Trouble::not_found(format!("no note names \"{name}\"")));
    };
    let same = |gear: &str| gear.eq_ignore_ascii_case(&name);
    let trials: Vec<&StoredTrial> = known.trials.iter().filter(|stored| same(&stored.trial.gear)).collect();
    let readings = store.readings(&Asked { gear: vec![name.clone()], ..Asked::default() }).await?;
    let open: Vec<_> = known.list.open.iter().filter(|item| item.gear.as_deref().is_some_and(same)).collect();
    let closed: Vec<_> =
        known.list.closed.iter().filter(|item| item.gear.as_deref().is_some_and(same)).collect();
    if trials.is_empty() && readings.is_empty() && open.is_empty() && closed.is_empty() {
        return Err(Trouble::not_found(format!("no note names \"{name}\"")));
    }
    let need = known.boat.passage().strongest_wind_kn;
    let title = frame::capital(&name);
    let body = html! {
        h1 { (title) }
        @if trials.is_empty() { p { "No note tells of a trial of it." } }
        @else { (envelope(&trials, need)) }
        @if !open.is_empty() {
            h2 { (open.len()) " open" }
            ol.items { @for one in &open { (item::open(one, known.list.on, &look)) } }
        }
        @if !trials.is_empty() {
            h2 { (figure::count(trials.len(), "trial", "trials")) ", latest first" }
            ul.rows { @for stored in trials.iter().rev() { (trial(stored)) } }
        }
        @if !readings.is_empty() {
            h2 { (figure::count(readings.len(), "reading", "readings")) ", latest first" }
            ul.rows {
                @for stored in readings.iter().rev().take(MOST) {
                    @let r = &stored.reading;
                    li {
                        p { a href={ "/trend/" (r.quantity) "?gear=" (query(&name)) } { (frame::quantity(&r.quantity)) } " "
                            (value(r.low, r.high, &r.unit)) " " span.origin { (r.stance) } " "
                            (words_at(&stored.source.to_string(), r.span, &r.quote)) }
                        p { (origin(&stored.name, r.at.map(|moment| moment.at))) }
                    }
                }
            }
            @if readings.len() > MOST { p { "and " (readings.len() - MOST) " before these" } }
        }
        @if !closed.is_empty() {
            h2 { (closed.len()) " closed" }
            ol.items { @for one in &closed { (item::closed(one)) } }
        }
    };
    Ok(frame::page(&look, &title, "/more", body))
}

/// A trial as a row.
pub fn trial(stored: &StoredTrial) -> Markup {
    html! {
        li {
            p { (outcome(stored.trial.outcome)) " " (words_at(&stored.source.to_string(), stored.trial.span, &stored.trial.quote)) }
            @if !stored.conditions.is_empty() {
                p.conditions { "in "
                    @for (n, c) in stored.conditions.iter().enumerate() {
                        @if n > 0 { ", " } (spaced(&c.quantity)) " " (value(c.low, c.high, &c.unit))
                    }
                }
            }
            p { (origin(&stored.name, stored.trial.at.map(|moment| moment.at))) }
        }
    }
}

/// The wind of each trial that tells of it, beside the strongest that the passage expects.
fn envelope(trials: &[&StoredTrial], need: Option<f64>) -> Markup {
    let winds: Vec<(Outcome, f64, f64)> = trials
        .iter()
        .filter_map(|stored| {
            let (low, high) = crate::export::wind_kn(&stored.conditions);
            Some((stored.trial.outcome, low?, high?))
        })
        .collect();
    let passed = winds.iter().filter(|wind| wind.0 == Outcome::Pass).map(|wind| wind.2).reduce(f64::max);
    html! {
        dl.figures {
            dt { "Passed in" }
            dd { @match passed { Some(wind) => { "up to " (value(Some(wind), Some(wind), "kn")) }, None => "no wind that a note tells of" } }
            dt { "Needed in" }
            dd { @match need {
                Some(wind) => { (value(Some(wind), Some(wind), "kn")) ", the strongest that the passage expects" },
                None => a href="/passage" { "not set" },
            } }
        }
        @if let Some(picture) = drawn(&winds, need) {
            figure.plot aria-label="the wind of each trial; the same values are listed below" { (frame::raw(picture)) }
        }
    }
}

const INK: RGBColor = RGBColor(0x11, 0x11, 0x11);
const GRID: RGBColor = RGBColor(0xcc, 0xcc, 0xcc);
const NEED: RGBColor = RGBColor(0xbb, 0x66, 0x00);
/// Colours are names for the style sheet, as in a trend's picture.
fn colour(outcome: Outcome) -> RGBColor {
    match outcome {
        Outcome::Pass => RGBColor(0x11, 0x66, 0x33),
        Outcome::Fail => RGBColor(0xaa, 0x11, 0x00),
        Outcome::Partial | Outcome::Unclear => RGBColor(0x77, 0x44, 0x00),
    }
}

/// A bar a trial, from its least wind to its most; `None` where no trial tells of the wind.
fn drawn(winds: &[(Outcome, f64, f64)], need: Option<f64>) -> Option<String> {
    let most = winds.iter().map(|wind| wind.2).chain(need).reduce(f64::max)?;
    if winds.is_empty() {
        return None;
    }
    let rows = winds.len() as f64;
    let mut picture = String::new();
    {
        let height = 60 + 26 * winds.len() as u32;
        let area = SVGBackend::with_string(&mut picture, (420, height)).into_drawing_area();
        let letters = |colour: RGBColor| ("sans-serif", 15).into_font().color(&colour);
        let mut chart = ChartBuilder::on(&area)
            .margin(8)
            .x_label_area_size(28)
            .y_label_area_size(70)
            .build_cartesian_2d(0.0..(most * 1.12).max(10.0), 0.0..rows)
            .ok()?;
        chart
            .configure_mesh()
            .disable_y_mesh()
            .disable_y_axis()
            .x_labels(6)
            .axis_style(INK)
            .bold_line_style(GRID)
            .light_line_style(TRANSPARENT)
            .x_label_style(letters(INK))
            .x_label_formatter(&|kn| figure::value(*kn, "kn"))
            .draw()
            .ok()?;
        for (n, (outcome, low, high)) in winds.iter().enumerate() {
            let middle = rows - n as f64 - 0.5;
            // A single wind is a bar that can be seen.
            let (low, high) = (low - 0.4, high + 0.4);
            let bar =
                Rectangle::new([(low, middle - 0.28), (high, middle + 0.28)], colour(*outcome).filled());
            chart.draw_series(std::iter::once(bar)).ok()?;
            let (_, y) = chart.backend_coord(&(0.0, middle));
            area.draw(&Text::new(outcome.name(), (8, y - 8), letters(colour(*outcome)))).ok()?;
        }
        if let Some(need) = need {
            let line = PathElement::new(vec![(need, 0.0), (need, rows)], NEED.stroke_width(3));
            chart.draw_series(std::iter::once(line)).ok()?;
        }
        area.present().ok()?;
    }
    Some(picture)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_a_trial_and_a_line_for_what_is_needed() {
        let winds = [(Outcome::Pass, 12.0, 20.0), (Outcome::Fail, 35.0, 35.0)];
        let picture = drawn(&winds, Some(45.0)).expect("two trials");
        assert_eq!(picture.matches("fill=\"#116633\"").count(), 2, "a bar and its word: {picture}");
        assert_eq!(picture.matches("fill=\"#AA1100\"").count(), 2);
        assert!(picture.contains("stroke=\"#BB6600\"") && !picture.contains("style="));
        assert_eq!(drawn(&[], Some(45.0)), None);
    }
}
