//! A source: its words with everything marked that was found in them, the place that was asked for, and what was
//! understood, each with an anchor that its mark leads to.

use std::collections::HashMap;
use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Response;
use leadsman_index::{SourceId, SourceRow, Store, Stored, With};
use leadsman_ingest::{Note, Span, Why, heard, text};
use maud::{Markup, html};
use serde::Deserialize;

use super::before::day;
use super::correct;
use super::frame::{self, Look, outcome, value, why};
use super::known::Known;
use super::marked::Marked;
use super::page::Page;
use super::sound::button;
use super::trouble::Trouble;
use super::{log, trial};
use crate::figure;

/// Lines of a source on one screen.
const A_PAGE: usize = 300;
/// Lines before the place that was asked for.
const BEFORE: usize = 40;
/// Larger texts are told of instead of shown, in bytes.
const LARGEST: u64 = 4 << 20;
/// Sources on a page of the list.
const ROWS: usize = 200;
/// Notices shown of one source.
const NOTICES: usize = 20;

/// A place in a source, in its bytes, or the line to begin with.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Place {
    from: Option<usize>,
    to: Option<usize>,
    line: Option<usize>,
}

/// One source.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Path(hash): Path<String>,
    Query(place): Query<Place>,
) -> Result<Response, Trouble> {
    let missing = || Trouble::not_found("there is no such source");
    let known = page.known().await?;
    let store = known.store.as_ref().ok_or_else(missing)?;
    let source: SourceId = hash.parse().map_err(|_| missing())?;
    let row = store.sources().await?.into_iter().find(|row| row.source == source).ok_or_else(missing)?;
    let here = place.from.zip(place.to).filter(|(from, to)| from <= to).map(|(from, to)| Span::new(from, to));
    let body = html! {
        h1 { (row.name) }
        (facts(&row))
        (content(&page, &known, store, &row, "", here, place.line).await?)
    };
    Ok(frame::page(&look, &row.name, "/more", body))
}

fn facts(row: &SourceRow) -> Markup {
    html! {
        p.origin {
            (row.format)
            @if let Some(at) = row.recorded { " · begins " (figure::moment(at)) }
            " · taken " (day(row.received.date_naive()))
            @if row.state.name() != "live" { " · " span.badge.care { (row.state.name()) } }
            @if let Some(newer) = row.replaced_by { " · " a href={ "/source/" (newer) } { "the newer copy" } }
        }
    }
}

/// A source's words with its findings. `prefix` parts the anchors of several sources on one page.
pub async fn content(
    page: &Page,
    known: &Known,
    store: &Store,
    row: &SourceRow,
    prefix: &str,
    here: Option<Span>,
    line: Option<usize>,
) -> Result<Markup, Trouble> {
    if row.format == leadsman_ingest::sound::FORMAT {
        return Ok(recording(store, row));
    }
    let is_text = [
        "webvtt",
        "subrip",
        "stamped",
        "dated",
        "messages",
        "log",
        "prose",
        "markdown",
        "none",
        heard::FORMAT,
    ]
    .contains(&&*row.format);
    if !is_text {
        return log::held(store, row, page.setting.zone.value).await;
    }
    if row.bytes > LARGEST {
        let size = row.bytes as f64 / 1e6;
        return Ok(
            html! { p { "A text of " (figure::number(size)) "\u{a0}MB, which is more than a page can show." } },
        );
    }
    let Some(Stored { note, .. }) = store.note(&row.source, With::default()).await? else {
        return Ok(html! { p { "Nothing of it is stored any more." } });
    };
    let bytes = match page.bytes(row.source).await {
        Ok(bytes) => bytes,
        Err(error) => return Ok(html! { p.notice { "Its words cannot be shown: " (error.message) } }),
    };
    let decoded = text::decode(&bytes);
    let marked = Marked::new(&decoded, &note, prefix, here);
    let total = marked.lines.len();
    let asked = line.map(|line| line.saturating_sub(1));
    let first = match (asked, marked.line_of_here()) {
        (Some(line), _) => line.min(total.saturating_sub(1)),
        (None, Some(line)) if line >= A_PAGE - BEFORE => line - BEFORE,
        _ => 0,
    };
    let until = (first + A_PAGE).min(total);
    let to_line = |line: usize| format!("/source/{}?line={}", row.source, line + 1);
    Ok(html! {
        @if first > 0 { p.more { a.button href=(to_line(first.saturating_sub(A_PAGE))) { "The lines before" } } }
        div.note lang="en" {
            @for line in &marked.lines[first..until] {
                p.line { span.n aria-hidden="true" { (line.number) } span { (marked.line(line)) } }
            }
        }
        @if until < total { p.more { a.button href=(to_line(until)) { "The lines after" } } }
        (findings(known, row, &note, prefix))
    })
}

/// A recording has no words of its own: what was heard in it is a note beside it.
fn recording(store: &Store, row: &SourceRow) -> Markup {
    html! {
        @match store.record().transcript_of(&row.source) {
            Some((heard, _)) => p { a.button href={ "/source/" (heard) } { "What was heard in it" } },
            None => p { "Nothing was heard in it yet: `leadsman rehear` listens to it, in a build that can." },
        }
    }
}

fn findings(known: &Known, row: &SourceRow, note: &Note, prefix: &str) -> Markup {
    // A source that does not answer has no names to put right.
    let names: HashMap<Span, String> = known
        .boat
        .named_readings()
        .into_iter()
        .filter(|named| named.source == row.source)
        .map(|named| (named.reading.span, named.name))
        .collect();
    let trials: HashMap<Span, String> = known
        .boat
        .named_trials()
        .into_iter()
        .filter(|named| named.source == row.source)
        .map(|named| (named.trial.span, named.name))
        .collect();
    let hash = row.source.to_string();
    let back = |span: Span| frame::place(&hash, span);
    let gear = |gear: &Option<String>| html! { @if let Some(gear) = gear { ", " (gear) } };
    html! {
        @if note.readings.is_empty() && note.trials.is_empty() && note.items.is_empty() {
            p { "No number, no trial and no open matter was understood in it. Its words can be found all the same." }
        }
        @if !note.readings.is_empty() {
            h2 { (figure::count(note.readings.len(), "reading", "readings")) }
            ul.rows {
                @for (n, r) in note.readings.iter().enumerate() {
                    li id={ (prefix) "r" (n) } {
                        p {
                            strong { (frame::quantity(&r.quantity)) } " " (value(r.low, r.high, &r.unit)) " "
                            span.origin { (r.stance) (gear(&r.gear)) } " "
                            a.words href=(back(r.span)) { "“" (r.quote) "”" }
                            @if let Some(name) = names.get(&r.span) { " " a.right href=(correct::address(name)) { "Put right" } }
                            (button(known, &hash, r.span))
                        }
                        @for doubt in &r.doubts { p.doubt { (frame::capital(doubt)) } }
                    }
                }
            }
        }
        @if !note.trials.is_empty() {
            h2 { (figure::count(note.trials.len(), "trial", "trials")) }
            ul.rows {
                @for (n, t) in note.trials.iter().enumerate() {
                    li id={ (prefix) "t" (n) } {
                        p { strong { (frame::capital(&t.gear)) } " " (outcome(t.outcome)) " "
                            a.words href=(back(t.span)) { "“" (frame::short(&t.quote, 240)) "”" }
                            @if let Some(name) = trials.get(&t.span) { " " a.right href=(trial::address(name)) { "Put right" } }
                            (button(known, &hash, t.span)) }
                    }
                }
            }
        }
        @if !note.items.is_empty() {
            h2 { (figure::count(note.items.len(), "matter", "matters")) " raised" }
            ul.rows {
                @for (n, i) in note.items.iter().enumerate() {
                    li id={ (prefix) "i" (n) } {
                        p { strong { (called(&i.gear, i.why)) } " " (why(i.why)) " "
                            a.words href=(back(i.span)) { "“" (frame::short(&i.quote, 240)) "”" }
                            (button(known, &hash, i.span)) }
                    }
                }
            }
        }
        @if !note.closings.is_empty() {
            h2 { "Said to be done" }
            ul.rows {
                @for c in &note.closings {
                    li { p { strong { (frame::capital(c.gear.as_deref().unwrap_or(&c.how))) } " "
                        a.words href=(back(c.span)) { "“" (frame::short(&c.quote, 240)) "”" } } }
                }
            }
        }
        @if !note.notices.is_empty() {
            h2 { (figure::count(note.notices.len(), "line", "lines")) " that could not be used" }
            ul.rows {
                @for notice in note.notices.iter().take(NOTICES) {
                    li {
                        p { @if let Some(line) = notice.line { "Line " (line) ": " } (notice.message) }
                        @if let Some(hint) = &notice.hint { p.origin { (hint) } }
                    }
                }
            }
            @if note.notices.len() > NOTICES { p { "and " (note.notices.len() - NOTICES) " more" } }
        }
    }
}

fn called(gear: &Option<String>, why: Why) -> String {
    frame::capital(gear.as_deref().unwrap_or(match why {
        Why::Task => "task",
        _ => "the boat",
    }))
}

/// Which part of the list.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Part {
    from: usize,
}

/// All sources, latest first.
pub async fn list(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(part): Query<Part>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let mut rows = match &known.store {
        Some(store) => store.sources().await?,
        None => Vec::new(),
    };
    rows.sort_by_key(|row| {
        std::cmp::Reverse((row.recorded.map_or(row.received, |at| at.to_utc()), row.received))
    });
    let until = part.from.saturating_add(ROWS).min(rows.len());
    let body = html! {
        h1 { (figure::count(rows.len(), "note or log", "notes and logs")) }
        ul.rows {
            @for row in rows.iter().skip(part.from).take(ROWS) {
                li { p { a href={ "/source/" (row.source) } { (row.name) } } (facts(row)) }
            }
        }
        p.more {
            @if part.from > 0 {
                a.button href={ "/sources?from=" (part.from.saturating_sub(ROWS)) } { "Later ones" }
            }
            @if until < rows.len() { a.button href={ "/sources?from=" (until) } { "Earlier ones" } }
        }
    };
    Ok(frame::page(&look, "Notes and logs", "/more", body))
}
