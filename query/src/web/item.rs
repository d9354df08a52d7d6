//! An item: as a card in a list, on a screen of its own, and the skipper's word on it.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use chrono::NaiveDate;
use leadsman_ingest::Due;
use leadsman_ingest::matter::Evidence;
use maud::{Markup, html};
use serde::Deserialize;

use super::before::day;
use super::frame::{self, Look, origin, why, words_at};
use super::known::Known;
use super::log;
use super::page::Page;
use super::sound::button;
use super::trouble::Trouble;
use crate::decide::Ask;
use crate::figure;
use crate::open_item::{Closed, Open, around};

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
pub fn open(known: &Known, item: &Open, look: &Look) -> Markup {
    html! {
        li.item id=(item.name) {
            h3 {
                a href={ "/item/" (item.name) } { (called(&item.gear, &item.about)) }
                @for reason in &item.reasons { " " (why(*reason)) }
            }
            @if let Some(latest) = item.evidence.last() { (evidence(known, &item.about, latest)) }
            (log::conditions(&item.measured))
            (due(&item.due))
            (perhaps(known, item, look))
            (standing(item))
            p.settled { "Settled by " (item.settled_by) }
            details {
                summary { "Close it, or see more" }
                @if item.evidence.len() > 1 {
                    @for words in item.evidence.iter().rev().skip(1).take(MORE) { (evidence(known, &item.about, words)) }
                    @if item.evidence.len() > MORE + 1 {
                        p { a href={ "/item/" (item.name) } { "and " (item.evidence.len() - MORE - 1) " before these" } }
                    }
                }
                p { (since(item.opened, known.list.on)) " · " span.name { (item.name) } }
                (close_form(&item.name, look))
            }
        }
    }
}

/// What leaves an item in doubt, with the skipper's word that it stands all the same.
fn perhaps(known: &Known, item: &Open, look: &Look) -> Markup {
    html! {
        @if item.is_doubtful() {
            @if item.unsure { p.doubt { "Perhaps nothing of the kind: the words leave it in doubt" } }
            @if let Some(over) = &item.maybe_over {
                p.doubt { "Perhaps over: " (known.words(&over.name, Some(over.span), &over.quote)) " "
                    (origin(&over.name, over.at)) }
            }
            form.word method="post" action=(look.action(&format!("/item/{}/confirm", item.name))) {
                button { "It stands" }
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

fn evidence(known: &Known, about: &str, words: &Evidence) -> Markup {
    html! {
        blockquote {
            @if let Some(around) = around(about, &words.quote) { p.around { (around) } }
            p { (words_at(&words.source, words.span, &words.quote)) }
            p { (origin(&words.name, words.at)) (button(known, &words.source, words.span)) }
        }
    }
}

pub fn close_form(name: &str, look: &Look) -> Markup {
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

/// The form that says that there is no such matter.
pub fn dismiss_form(name: &str, look: &Look) -> Markup {
    html! {
        form.word method="post" action=(look.action(&format!("/item/{name}/dismiss"))) {
            button { "Nothing of the kind was said" }
        }
    }
}

/// A closed item as a card.
pub fn closed(known: &Known, item: &Closed) -> Markup {
    html! {
        li.item {
            h3 {
                a href={ "/item/" (item.name) } { (called(&item.gear, &item.about)) }
                " " span.badge.good { "closed" }
                @if item.open_again { " " span.badge.care { "open again" } }
            }
            (closing(item))
            @if let Some(first) = item.evidence.first() { (evidence(known, &item.about, first)) }
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
                "date" => "by a new date",
                "judged" => "by what a note says as a whole", _ => "by a note that says so",
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
    let open = list.standing().find(|item| item.name == name);
    let closed: Vec<&Closed> =
        list.closed.iter().chain(&list.dismissed).filter(|item| item.name == name).collect();
    let (gear, about) = match (open, closed.first()) {
        (Some(item), _) => (&item.gear, &item.about),
        (None, Some(item)) => (&item.gear, &item.about),
        (None, None) => return Err(Trouble::not_found(format!("no item is called \"{name}\""))),
    };
    let title = called(gear, about);
    let body = html! {
        h1 { (title) }
        @if let Some(item) = open {
            p { @for reason in &item.reasons { (why(*reason)) " " } (since(item.opened, list.on)) }
            (log::conditions(&item.measured))
            (due(&item.due))
            (perhaps(&known, item, &look))
            p.settled { "Settled by " (item.settled_by) }
            (standing(item))
            (close_form(&item.name, &look))
            @if item.standing.accepted.is_some() || item.standing.put_off_until.is_some() {
                form.word method="post" action=(look.action(&format!("/item/{name}/reopen"))) {
                    button { "Open it again" }
                }
            }
            (other_words(item, &look))
            h2 { "What the notes say" }
            @for one in item.evidence.iter().rev() { (evidence(&known, about, one)) }
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
                @for one in item.evidence.iter().rev() { (evidence(&known, about, one)) }
            }
        }
        p.origin { "Its short name is " span.name { (name) } ": `leadsman close " (name) "` closes it too." }
    };
    Ok(frame::page(&look, &title, "/", body))
}

/// The skipper's word as a form sends it.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Said {
    because: String,
    until: String,
    to: String,
    text: String,
}

/// Keeps the skipper's word on an item: `close`, `reopen`, `accept`, `put-off`, `give`, `note`, `dismiss` or `confirm`.
pub async fn say(
    State(page): State<Arc<Page>>,
    Path((item, what)): Path<(String, String)>,
    Form(said): Form<Said>,
) -> Result<Response, Trouble> {
    for words in [&said.because, &said.to, &said.text] {
        if words.chars().count() > LONGEST_REASON {
            return Err(Trouble::wrong(format!(
                "expected at most {LONGEST_REASON} characters, found {}",
                words.chars().count()
            )));
        }
    }
    let name = item.clone();
    let ask = match what.as_str() {
        "close" => Ask::Close { item, because: said.because },
        "reopen" => Ask::Reopen { item },
        "accept" => Ask::Accept { item, because: said.because },
        "put-off" => {
            let until = said.until.trim().parse().map_err(|_| {
                Trouble::wrong(format!("expected a day to put it off to, found \"{}\"", said.until))
            })?;
            Ask::PutOff { item, until }
        }
        "give" => Ask::Give { item, to: said.to },
        "note" => Ask::Note { item, text: said.text },
        "dismiss" => Ask::Dismiss { name: item },
        "confirm" => Ask::Confirm { name: item },
        other => return Err(Trouble::not_found(format!("nothing is called \"{other}\" here"))),
    };
    let known = page.known().await?;
    page.say(&known, ask).await?;
    let to =
        if matches!(what.as_str(), "close" | "dismiss") { "/".to_owned() } else { format!("/item/{name}") };
    Ok(Redirect::to(&to).into_response())
}

/// What else may be said of an open item than that it is done.
fn other_words(item: &Open, look: &Look) -> Markup {
    let action = |what: &str| look.action(&format!("/item/{}/{what}", item.name));
    let field = |what: &str, label: &str, name: &str, kind: &str, button: &str| {
        html! {
            form.word method="post" action=(action(what)) {
                label for=(what) { (label) }
                div.line {
                    input id=(what) name=(name) type=(kind) required maxlength=[(kind == "text").then_some(LONGEST_REASON)] autocomplete="off";
                    button { (button) }
                }
            }
        }
    };
    html! {
        details {
            summary { "Say something else of it" }
            (field("accept", "Sailing with it as it is, because", "because", "text", "Accept it"))
            (field("put-off", "Not before", "until", "date", "Put it off"))
            (field("give", "Somebody else does it", "to", "text", "Give it"))
            (field("note", "A remark", "text", "text", "Note it"))
            (dismiss_form(&item.name, look))
        }
    }
}

/// What the skipper says of an item so far.
fn standing(item: &Open) -> Markup {
    let said = &item.standing;
    html! {
        @if let Some(because) = &said.accepted { p { span.badge.plain { "accepted" } " “" (because) "”" } }
        @if let Some(until) = said.put_off_until { p { span.badge.plain { "put off" } " until " (day(until)) } }
        @if let Some(to) = &said.given_to { p { span.badge.plain { "given" } " to " (to) } }
        @if let Some(what) = &said.waits_for {
            p { span.badge.plain { "waits" } " for " (what) @if let Some(until) = said.waits_until { ", due " (day(until)) } }
        }
        @if let Some(on) = said.due_on { p.due { "Due by " (day(on)) } }
        @for remark in &said.remarks { p { "“" (remark.text) "” " span.origin { (day(remark.at.date_naive())) } } }
    }
}
