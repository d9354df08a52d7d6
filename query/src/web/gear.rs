//! *Gear*: the register of what is aboard, and one piece with its story and its envelope drawn: the wind in which it
//! passed and failed, beside the wind in which it will be needed.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Response;
use leadsman_index::Finding;
use leadsman_ingest::Span;
use leadsman_ingest::matter::finding_name;
use maud::{Markup, html};

use super::before::day;
use super::frame::{self, Look, outcome};
use super::item;
use super::known::Known;
use super::page::Page;
use super::trend::query;
use super::trial;
use super::trouble::Trouble;
use crate::envelope::svg::svg;
use crate::envelope::{Attempt, Envelope, Envelopes, conditions};
use crate::figure;
use crate::gear_word::Wanted;
use crate::instruments::Panel;
use crate::register::{Chapter, ChapterKind, Kept, Register, Story};
use crate::words::spaced;

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
            h2 { (group_word(group[0].group.as_deref())) }
            ul.rows { @for kept in group { (row(kept)) } }
        }
    };
    Ok(frame::page(&look, "Gear", "/more", body))
}

/// A group of gear as a heading has it.
fn group_word(group: Option<&str>) -> String {
    match group {
        Some("fire_gas") => "Fire and gas".to_owned(),
        Some("abandon") => "Leaving the boat".to_owned(),
        Some("overboard") => "Person overboard".to_owned(),
        Some(group) => frame::capital(&spaced(group)),
        None => "Other".to_owned(),
    }
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
    let mut envelopes = Envelopes::new(&known.boat, known.day);
    if let Some(store) = &known.store {
        let panel = Panel::open(store, page.setting.zone.value).await?;
        envelopes.measure(&known.boat, known.day, &panel, Some(&wanted.name)).await?;
    }
    let envelope = envelopes.of(&wanted.name);
    let covers = |gear: &Option<String>| gear.as_deref().is_some_and(|gear| wanted.covers(gear));
    let list = &known.list;
    let open: Vec<_> = list.open.iter().chain(&list.perhaps).filter(|item| covers(&item.gear)).collect();
    let title = frame::capital(&wanted.name);
    let body = html! {
        h1 { (title) }
        @for kept in &story.gear {
            p.origin { @if kept.name != wanted.name { (frame::capital(&kept.name)) ": " } (facts(kept)) }
        }
        @if let Some(envelope) = &envelope { (self::envelope(&known, envelope)) }
        @if !open.is_empty() {
            h2 { (open.len()) " open" }
            ol.items { @for one in &open { (item::open(&known, one, &look)) } }
        }
        h2 { "Its story, latest first" }
        ul.rows { @for chapter in story.chapters.iter().rev().take(MOST) { (self::chapter(&known, chapter)) } }
        @if story.chapters.len() > MOST { p { "and " (story.chapters.len() - MOST) " before these" } }
    };
    Ok(frame::page(&look, &title, "/more", body))
}

/// The address of a trial's own screen, where a chapter is about one.
fn trial_of(known: &Known, chapter: &Chapter) -> Option<String> {
    let span = chapter.span.filter(|_| chapter.kind == ChapterKind::Tried)?;
    trial_at(known, &chapter.from, span)
}

/// The address of the screen of a trial whose words stand in a note.
fn trial_at(known: &Known, note: &str, span: Span) -> Option<String> {
    let source = known.source_of(note, span)?;
    Some(trial::address(&finding_name(Finding::Trial, &source, span)))
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
                @if let Some(address) = trial_of(known, chapter) { " " a.right href=(address) { "Put right" } }
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
        @if let Some(picture) = svg(envelope) {
            figure.plot.envelope aria-label="the wind of each trial beside the wind that is needed; the words are listed below" {
                (frame::raw(picture))
            }
        }
        @if !envelope.needs.is_empty() {
            ul.rows {
                @for need in &envelope.needs {
                    li { p {
                        @if need.covered { span.badge.good { "covered" } } @else { span.badge.care { "gap" } }
                        " needed at " strong { (need.text) } @if !need.covered { ": " (need.gap) }
                        @if need.quote.is_empty() { " " span.origin { (need.from) } }
                        @else { " " (known.words(&need.from, need.span, &need.quote)) }
                    } }
                }
            }
        }
        @let tried: Vec<&Attempt> = envelope.passed.iter().chain(&envelope.failed).collect();
        @if !tried.is_empty() {
            details {
                summary { "In what it was tried" }
                ul.rows { @for attempt in tried {
                    li { p { (outcome(attempt.outcome)) " " (conditions(attempt)) " "
                        (known.words(&attempt.from, Some(attempt.span), &attempt.quote)) }
                        p.origin { @match attempt.on { Some(on) => (day(on)), None => "day not known" } " · " (attempt.from)
                            @if let Some(address) = trial_at(known, &attempt.from, attempt.span) { " · " a.right href=(address) { "The trial" } } } }
                } }
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
