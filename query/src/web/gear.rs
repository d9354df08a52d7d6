//! *Gear*: the register of what is aboard, and one piece with its story and its envelope drawn: the wind in which it
//! passed and failed, beside the wind in which it will be needed.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use leadsman_ingest::Outcome;
use maud::{Markup, html};
use plotters::prelude::*;

use super::before::day;
use super::frame::{self, Look, outcome};
use super::item;
use super::known::Known;
use super::page::Page;
use super::trend::query;
use super::trouble::Trouble;
use crate::envelope::{Axis, Envelope, Envelopes};
use crate::figure;
use crate::gear_word::Wanted;
use crate::register::{Chapter, ChapterKind, Kept, Register, Story, turn_word};

/// Chapters of a story that are listed.
const MOST: usize = 80;

/// The register.
pub async fn list(State(page): State<Arc<Page>>, look: Look) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let register = Register::new(&known.boat, known.day);
    let groups = register.gear.chunk_by(|a, b| a.group == b.group);
    let body = html! {
        h1 { "Gear" }
        p.more { a.button href="/proved" { "What must be proved" } a.button href="/outings" { "Days out" } }
        @if register.gear.is_empty() { p { "No note names any yet." } }
        @for group in groups {
            h2 { (frame::capital(group[0].group.as_deref().unwrap_or("other"))) }
            ul.rows { @for kept in group { (row(kept)) } }
        }
    };
    Ok(frame::page(&look, "Gear", "/more", body))
}

fn row(kept: &Kept) -> Markup {
    html! {
        li {
            p { a href={ "/gear/" (query(&kept.name)) } { (frame::capital(&kept.name)) }
                @if let Some(last) = &kept.last_tried { " " (outcome(last.outcome)) } }
            p.origin { (facts(kept)) }
        }
    }
}

fn facts(kept: &Kept) -> Markup {
    html! {
        @match &kept.last_tried {
            Some(last) => {
                "last tried " @match last.on { Some(on) => (day(on)), None => "on a day not known" }
                @if last.renewed_since { ", another since" }
                @if kept.trials > 1 { ", " (kept.trials) " trials" }
            },
            None => "never tried",
        }
        @if let Some(whole) = &kept.part_of { "; part of " (whole) }
        @match kept.aboard {
            Some(true) => @if let Some(since) = kept.since { "; aboard since " (day(since)) },
            Some(false) => "; not aboard",
            None => "; spoken of as something to get or do",
        }
    }
}

/// One piece.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Path(name): Path<String>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let names = match &known.store {
        Some(store) => store.learned().await?.names,
        None => Vec::new(),
    };
    let wanted = Wanted::by_names(&name, &names);
    let register = Register::new(&known.boat, known.day);
    let story = Story::new(&known.boat, &register, &known.list, &wanted, known.day)
        .ok_or_else(|| Trouble::not_found(format!("no note tells of \"{name}\"")))?;
    let envelope = Envelopes::new(&known.boat, known.day).of(&wanted.name);
    let covers = |gear: &Option<String>| gear.as_deref().is_some_and(|gear| wanted.covers(gear));
    let open: Vec<_> = known.list.open.iter().filter(|item| covers(&item.gear)).collect();
    let title = frame::capital(&wanted.name);
    let body = html! {
        h1 { (title) }
        @for kept in &story.gear {
            p.origin { @if kept.name != wanted.name { (frame::capital(&kept.name)) ": " } (facts(kept)) }
        }
        @if let Some(envelope) = &envelope { (self::envelope(&known, envelope)) }
        @if !open.is_empty() {
            h2 { (open.len()) " open" }
            ol.items { @for one in &open { (item::open(one, known.list.on, &look)) } }
        }
        h2 { "Its story, latest first" }
        ul.rows { @for chapter in story.chapters.iter().rev().take(MOST) { (self::chapter(&known, chapter)) } }
        @if story.chapters.len() > MOST { p { "and " (story.chapters.len() - MOST) " before these" } }
    };
    Ok(frame::page(&look, &title, "/more", body))
}

fn chapter(known: &Known, chapter: &Chapter) -> Markup {
    let kind = match chapter.kind {
        ChapterKind::Done => "done",
        ChapterKind::Tried => "tried",
        ChapterKind::Reading => "read",
        ChapterKind::Limit => "limit",
        ChapterKind::Property => "property",
        ChapterKind::Date => "date",
        ChapterKind::Announced => "announced",
        ChapterKind::Opened => "opened",
        ChapterKind::Closed => "closed",
        ChapterKind::Decision => "your word",
    };
    html! {
        li {
            p {
                @match chapter.outcome { Some(how) => (outcome(how)), None => span.badge.plain { (kind) } }
                " " @if let Some(item) = &chapter.item { a href={ "/item/" (item) } { (chapter.text) } } @else { (chapter.text) }
                @if !chapter.quote.is_empty() { " " (known.words(&chapter.from, chapter.span, &chapter.quote)) }
            }
            p.origin {
                @match (chapter.at, chapter.on) {
                    (Some(at), _) => time datetime=(at.to_rfc3339()) { (figure::moment(at)) },
                    (None, Some(on)) => (day(on)),
                    (None, None) => "day not known",
                }
                " · " (chapter.from)
            }
        }
    }
}

fn envelope(known: &Known, envelope: &Envelope) -> Markup {
    html! {
        h2 { "Proved, and needed" }
        p { (frame::capital(&envelope.summary)) "." }
        @if let Some(picture) = drawn(envelope) {
            figure.plot aria-label="the wind of each trial beside the wind that is needed; the words are listed below" {
                (frame::raw(picture))
            }
        }
        @if !envelope.needs.is_empty() {
            ul.rows {
                @for need in &envelope.needs {
                    li { p {
                        @if need.covered { span.badge.good { "covered" } } @else { span.badge.care { (need.gap) } }
                        " needed at " span.value { (need.text) }
                        @if need.quote.is_empty() { " " span.origin { (need.from) } }
                        @else { " " (known.words(&need.from, need.span, &need.quote)) }
                    } }
                }
            }
        }
        @if !envelope.void.is_empty() {
            details {
                summary { (figure::count(envelope.void.len(), "trial counts", "trials count")) " no more" }
                ul.rows { @for attempt in &envelope.void {
                    li { p { (outcome(attempt.outcome)) " " (known.words(&attempt.from, Some(attempt.span), &attempt.quote)) }
                        @if let Some(because) = &attempt.void_because { p.doubt { (frame::capital(because)) } } }
                } }
            }
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

/// A bar a trial up to the wind that it reached, and the band of wind that is needed; `None` where no trial tells of
/// the wind.
fn drawn(envelope: &Envelope) -> Option<String> {
    let trials = envelope.passed.iter().chain(&envelope.failed);
    let winds: Vec<(Outcome, f64)> =
        trials.filter_map(|attempt| Some((attempt.outcome, *attempt.reach.get(&Axis::Wind)?))).collect();
    let need = envelope.needs.iter().filter_map(|need| need.needed.get(&Axis::Wind).copied());
    let need = need.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    bars(&winds, need)
}

fn bars(winds: &[(Outcome, f64)], need: Option<(f64, f64)>) -> Option<String> {
    let most = winds.iter().map(|wind| wind.1).chain(need.map(|need| need.1)).reduce(f64::max)?;
    if winds.is_empty() {
        return None;
    }
    let rows = winds.len() as f64;
    let mut picture = String::new();
    {
        let height = 70 + 28 * winds.len() as u32;
        let area = SVGBackend::with_string(&mut picture, (420, height)).into_drawing_area();
        let letters = |colour: RGBColor| ("sans-serif", 16).into_font().color(&colour);
        let mut chart = ChartBuilder::on(&area)
            .margin(8)
            .margin_top(22)
            .margin_right(20)
            .x_label_area_size(28)
            .y_label_area_size(64)
            .build_cartesian_2d(0.0..(most * 1.1).max(10.0), 0.0..rows)
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
        if let Some((from, until)) = need {
            let band = Rectangle::new([(from, 0.0), (until, rows)], NEED.mix(0.2).filled());
            chart.draw_series(std::iter::once(band)).ok()?;
            let line = PathElement::new(vec![(until, 0.0), (until, rows)], NEED.stroke_width(3));
            chart.draw_series(std::iter::once(line)).ok()?;
            let (x, y) = chart.backend_coord(&(until, rows));
            area.draw(&Text::new("needed", ((x - 58).max(70), y - 18), letters(NEED))).ok()?;
        }
        for (n, (outcome, wind)) in winds.iter().enumerate() {
            let middle = rows - n as f64 - 0.5;
            let bar =
                Rectangle::new([(0.0, middle - 0.28), (*wind, middle + 0.28)], colour(*outcome).filled());
            chart.draw_series(std::iter::once(bar)).ok()?;
            let (_, y) = chart.backend_coord(&(0.0, middle));
            area.draw(&Text::new(outcome.name(), (6, y - 8), letters(colour(*outcome)))).ok()?;
        }
        area.present().ok()?;
    }
    Some(picture)
}

/// What was done with gear, as marks in a trend: the day, and the word for it.
pub fn turns(known: &Known, gear: &str) -> Vec<(chrono::NaiveDate, &'static str)> {
    let register = Register::new(&known.boat, known.day);
    let kept = register.gear.iter().filter(|kept| kept.name.eq_ignore_ascii_case(gear));
    kept.flat_map(|kept| &kept.turns).filter_map(|turn| Some((turn.on?, turn_word(turn.what)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_a_trial_and_a_band_for_what_is_needed() {
        let winds = [(Outcome::Pass, 20.0), (Outcome::Fail, 35.0)];
        let picture = bars(&winds, Some((40.0, 45.0))).expect("two trials");
        assert_eq!(picture.matches("fill=\"#116633\"").count(), 2, "a bar and its word: {picture}");
        assert_eq!(picture.matches("fill=\"#AA1100\"").count(), 2);
        assert!(picture.contains("stroke=\"#BB6600\"") && picture.contains("needed"));
        assert!(!picture.contains("style="));
        assert_eq!(bars(&[], Some((40.0, 45.0))), None);
    }
}
