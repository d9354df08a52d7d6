//! *Find*: past trials, items and words.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Response;
use leadsman_index::Find;
use leadsman_ingest::{Outcome, Span};
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{self, Look, origin, outcome, place};
use super::known::Known;
use super::page::Page;
use super::sound::button;
use super::trouble::Trouble;
use crate::figure;
use crate::find::{Found, Hit, find, shown};
use crate::instruments::Panel;
use crate::words::spaced;

/// How many answers there are on a page.
const MOST: usize = 30;
/// The longest question, in characters.
const LONGEST: usize = 300;

/// What is asked.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    words: String,
    outcome: String,
}

/// The question and its answers.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let words = asked.words.trim();
    let wanted = Outcome::from_name(&asked.outcome);
    let found = if words.chars().any(char::is_alphanumeric) || wanted.is_some() {
        if words.chars().count() > LONGEST {
            return Err(Trouble::wrong(format!("expected a question of at most {LONGEST} characters")));
        }
        let question = Find { outcomes: wanted.into_iter().collect(), limit: MOST, ..Find::default() };
        let known = page.known().await?;
        match known.search().await? {
            Some((store, search)) => {
                let panel = Panel::open(store, page.setting.zone.value).await?;
                Some(find(store, search, &panel, words, question).await?)
            }
            None => Some(Found { asked: words.to_owned(), ..Found::default() }),
        }
    } else {
        None
    };
    let body = html! {
        h1 { "Find" }
        form.find method="get" action="/find" role="search" {
            label for="words" { "Words, gear, a “phrase”" }
            div.line {
                input #words name="words" type="search" value=(words) maxlength=(LONGEST) autocomplete="off"
                    enterkeyhint="search";
                button.first { "Find" }
            }
            fieldset.choice {
                legend { "Trials that went so" }
                @for (value, name) in [("", "any"), ("fail", "fail"), ("partial", "partial"), ("pass", "pass"), ("unclear", "unclear")] {
                    label { input type="radio" name="outcome" value=(value) checked[value == asked.outcome]; span { (name) } }
                }
            }
        }
        @if let Some(found) = &found { (answers(&*page.known().await?, found)) }
    };
    Ok(frame::page(&look, "Find", "/find", body))
}

fn answers(known: &Known, found: &Found) -> Markup {
    html! {
        div role="status" {
            @for (word, meant) in &found.slips {
                p.notice { "“" (word) "” stands nowhere; looked for " (meant.join(", ")) " instead" }
            }
            @for word in &found.unknown { p.notice { "“" (word) "” stands nowhere, nor anything like it" } }
            p { @if found.hits.is_empty() { "Nothing found" }
                @else if found.more { "The best " (found.hits.len()) " answers of more; further words narrow them down" }
                @else { (figure::count(found.hits.len(), "answer", "answers")) ", best first" } }
        }
        ol.items { @for hit in &found.hits { (answer(known, hit)) } }
    }
}

fn answer(known: &Known, hit: &Hit) -> Markup {
    let gear = frame::capital(&hit.gear.join(", "));
    html! {
        li.item {
            h3 {
                @match (hit.kind, hit.outcome) {
                    ("trial", Some(how)) => { (gear) " " (outcome(how)) },
                    ("item", _) => {
                        (if gear.is_empty() { "Item" } else { &gear }) " "
                        @if hit.open == Some(false) { span.badge.good { "closed" } }
                        @else { span.badge.care { "open" } }
                    },
                    _ => "Words",
                }
                @if !hit.complete { " " span.badge.plain { "some of the words" } }
            }
            blockquote { p { a.words href=(place(&hit.hash, Span { start: hit.start, end: hit.end })) { "“" (marked(hit)) "”" } } }
            @if !hit.conditions.is_empty() {
                p.conditions { "in "
                    @for (n, c) in hit.conditions.iter().enumerate() {
                        @if n > 0 { ", " } (spaced(&c.quantity)) " " (frame::value(c.low, c.high, &c.unit))
                    }
                }
            } @else if let Some((low, high)) = hit.wind_kn {
                p.conditions { "in wind of " (frame::value(Some(low), Some(high), "kn")) }
            }
            p { (origin(&hit.source, hit.at)) (button(known, &hit.hash, Span { start: hit.start, end: hit.end })) }
        }
    }
}

/// The words with those that match marked.
fn marked(hit: &Hit) -> Markup {
    html! {
        @for (words, is_match) in shown(hit) { @if is_match { mark { (words) } } @else { (words) } }
    }
}
