//! An item: as a card in a list, on a screen of its own, and the skipper's word on it.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use chrono::NaiveDate;
use leadsman_index::Decision;
use leadsman_ingest::Due;
use leadsman_ingest::matter::Evidence;
use maud::{Markup, html};
use serde::Deserialize;

use super::before::day;
use super::frame::{self, Look, origin, why, words_at};
use super::page::Page;
use super::trouble::Trouble;
use crate::figure;
use crate::open_item::{Closed, Open, OpenList, around, without_purpose};

/// Characters of an item's own words that stand for its name where no gear does.
const LONGEST_CALL: usize = 60;
/// Pieces of evidence behind the latest one that a card shows; the others stand on the item's own screen.
const MORE: usize = 2;
/// The longest reason that is kept for a closing, in characters.
const LONGEST_REASON: usize = 2_000;

/// What an item is called: its gear, or its own words where it has none.
pub fn called(gear: &Option<String>, about: &str) -> String {
    frame::capital(&gear.clone().unwrap_or_else(|| frame::short(about, LONGEST_CALL)))
}

/// An open item as a card.
pub fn open(item: &Open, on: NaiveDate, look: &Look) -> Markup {
    let about = without_purpose(&item.gear, &item.about);
    html! {
        li.item id=(item.name) {
            h3 {
                a href={ "/item/" (item.name) } { (called(&item.gear, &item.about)) }
                @for reason in &item.reasons { " " (why(*reason)) }
            }
            @if let Some(latest) = item.evidence.last() { (evidence(&about, latest)) }
            (due(&item.due))
            p.settled { "Settled by " (item.settled_by) }
            details {
                summary { "Close it, or see more" }
                @if item.evidence.len() > 1 {
                    @for words in item.evidence.iter().rev().skip(1).take(MORE) { (evidence(&about, words)) }
                    @if item.evidence.len() > MORE + 1 {
                        p { a href={ "/item/" (item.name) } { "and " (item.evidence.len() - MORE - 1) " before these" } }
                    }
                }
                p { (since(item.opened, on)) " · " span.name { (item.name) } }
                (close_form(&item.name, look))
            }
        }
    }
}

fn since(opened: Option<NaiveDate>, on: NaiveDate) -> Markup {
    html! {
        @match opened {
            Some(date) => { "Open since " (day(date)) ", " (figure::days_away(on, date)) },
            None => "The day on which it was raised is not known",
        }
    }
}

fn due(due: &Option<Due>) -> Markup {
    html! {
        @if let Some(due) = due {
            p.due {
                (frame::capital(&due.what)) ": "
                @if due.from == due.until { (day(due.until)) } @else { (day(due.from)) " to " (day(due.until)) }
            }
        }
    }
}

fn evidence(about: &str, words: &Evidence) -> Markup {
    html! {
        blockquote {
            @if let Some(around) = around(about, &words.quote) { p.around { (around) } }
            p { (words_at(&words.source, words.span, &words.quote)) }
            p { (origin(&words.name, words.at)) }
        }
    }
}

fn close_form(name: &str, look: &Look) -> Markup {
    html! {
        form.word method="post" action=(look.action(&format!("/item/{name}/close"))) {
            label for={ "because-" (name) } { "Why it is done" }
            div.line {
                input #{ "because-" (name) } name="because" required maxlength=(LONGEST_REASON) autocomplete="off";
                button.first { "Close it" }
            }
        }
    }
}

/// A closed item as a card.
pub fn closed(item: &Closed) -> Markup {
    let about = without_purpose(&item.gear, &item.about);
    html! {
        li.item {
            h3 {
                a href={ "/item/" (item.name) } { (called(&item.gear, &item.about)) }
                " " span.badge.good { "closed" }
                @if item.open_again { " " span.badge.care { "open again" } }
            }
            (closing(item))
            @if let Some(first) = item.evidence.first() { (evidence(&about, first)) }
        }
    }
}

fn closing(item: &Closed) -> Markup {
    html! {
        p {
            "Closed "
            @if let Some(at) = item.closed { (day(at.date_naive())) " " }
            @match item.closed_by.as_str() {
                "trial" => "by a trial", "ruling" => "by the skipper", "reading" => "by a reading",
                "date" => "by a new date", _ => "by a note that says so",
            }
            ": “" (frame::short(&item.because, 240)) "” "
            @if let Some(name) = &item.closed_in { span.origin { (name) } }
        }
    }
}

/// One item with all that bears on it.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Path(name): Path<String>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let list = &known.list;
    let open = list.open.iter().find(|item| item.name == name);
    let closed: Vec<&Closed> = list.closed.iter().filter(|item| item.name == name).collect();
    let (gear, about) = match (open, closed.first()) {
        (Some(item), _) => (&item.gear, &item.about),
        (None, Some(item)) => (&item.gear, &item.about),
        (None, None) => return Err(Trouble::not_found(format!("no item is called \"{name}\""))),
    };
    let title = called(gear, about);
    let words = without_purpose(gear, about);
    let body = html! {
        h1 { (title) }
        @if let Some(item) = open {
            p { @for reason in &item.reasons { (why(*reason)) " " } (since(item.opened, list.on)) }
            (due(&item.due))
            p.settled { "Settled by " (item.settled_by) }
            (close_form(&item.name, &look))
            h2 { "What the notes say" }
            @for one in item.evidence.iter().rev() { (evidence(&words, one)) }
        }
        @for item in &closed {
            section {
                @if open.is_some() { h2 { "Was closed before" } }
                (closing(item))
                @if open.is_none() {
                    form.word method="post" action=(look.action(&format!("/item/{name}/reopen"))) {
                        button { "Open it again" }
                    }
                }
                @for one in item.evidence.iter().rev() { (evidence(&words, one)) }
            }
        }
        p.origin { "Its short name is " span.name { (name) } ": `leadsman close " (name) "` closes it too." }
    };
    Ok(frame::page(&look, &title, "/", body))
}

/// The reason for a closing.
#[derive(Debug, Deserialize)]
pub struct Reason {
    because: String,
}

/// Closes an item by the skipper's word.
pub async fn close(
    State(page): State<Arc<Page>>,
    Path(name): Path<String>,
    Form(reason): Form<Reason>,
) -> Result<Response, Trouble> {
    let because = reason.because.trim();
    if because.is_empty() || because.chars().count() > LONGEST_REASON {
        return Err(Trouble::wrong(format!(
            "expected a few words on why it is done, found {} characters",
            because.chars().count()
        )));
    }
    let known = page.known().await?;
    standing(&known.list, &name, true)?;
    page.decide(Decision::Close { item: name, because: because.to_owned() }).await?;
    Ok(Redirect::to("/").into_response())
}

/// Opens a closed item again.
pub async fn reopen(State(page): State<Arc<Page>>, Path(name): Path<String>) -> Result<Response, Trouble> {
    let known = page.known().await?;
    standing(&known.list, &name, false)?;
    page.decide(Decision::Reopen { item: name.clone() }).await?;
    Ok(Redirect::to(&format!("/item/{name}")).into_response())
}

/// Errors: no such item; it stands the other way already.
fn standing(list: &OpenList, name: &str, open: bool) -> Result<(), Trouble> {
    let is_open = list.open.iter().any(|item| item.name == name);
    let is_closed = list.closed.iter().any(|item| item.name == name);
    match (is_open, is_closed) {
        (false, false) => Err(Trouble::not_found(format!("no item is called \"{name}\""))),
        (true, _) if !open => Err(Trouble::wrong(format!("{name} stands open already"))),
        (false, true) if open => Err(Trouble::wrong(format!("{name} is closed already"))),
        _ => Ok(()),
    }
}
