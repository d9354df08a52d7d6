//! What may be wrong: readings, each with its words and the reason, and trials that only the model hears of.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Response;
use leadsman_index::StoredReading;
use maud::{Markup, html};
use serde::Deserialize;

use super::correct;
use super::frame::{self, Look, origin, outcome, value, words_at};
use super::known::Known;
use super::log;
use super::page::Page;
use super::sound::button;
use super::trial;
use super::trouble::Trouble;
use crate::figure;

const A_PAGE: usize = 100;

/// A doubtful reading as a row.
pub fn row(known: &Known, stored: &StoredReading) -> Markup {
    let r = &stored.reading;
    let name = known.doubt_names.get(&(stored.source, r.span));
    html! {
        li {
            p {
                strong { (frame::quantity(&r.quantity)) } " " (value(r.low, r.high, &r.unit)) " "
                (words_at(&stored.source.to_string(), r.span, &r.quote))
            }
            @for doubt in &r.doubts { p.doubt { (frame::capital(doubt)) } }
            @if let Some(then) = known.contradicted.get(&(stored.source, r.span)) {
                p { a.right href=(log::of_measured(then)) { "What the log has" } }
            }
            @if let Some(name) = name { p { a.right href=(correct::address(name)) { "Settle it" } } }
            p { (origin(&stored.name, r.at.map(|moment| moment.at)))
                (button(known, &stored.source.to_string(), r.span)) }
        }
    }
}

/// Which part of the list.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Part {
    from: usize,
}

/// All of them, latest first.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(part): Query<Part>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let total = known.doubts.len();
    let until = part.from.saturating_add(A_PAGE).min(total);
    let body = html! {
        h1 { (figure::count(known.all_doubts(), "doubt", "doubts")) " to settle" }
        @if total > 0 { p { "Numbers that may be wrong. They are kept out of trends until the words are looked at." } }
        ul.rows { @for stored in known.doubts.iter().skip(part.from).take(A_PAGE) { (row(&known, stored)) } }
        p.more {
            @if part.from > 0 {
                a.button href={ "/doubts?from=" (part.from.saturating_sub(A_PAGE)) } { "Before these" }
            }
            @if until < total { a.button href={ "/doubts?from=" (until) } { "After these" } }
        }
        @if until == total { (trials(&known)) }
    };
    Ok(frame::page(&look, "Doubts", "/", body))
}

/// Trials by the sound of the words, latest first.
fn trials(known: &Known) -> Markup {
    let all = known.boat.named_trials();
    let mut unsure: Vec<_> = all.iter().filter(|named| named.trial.judged).collect();
    unsure.sort_by_key(|named| std::cmp::Reverse(named.trial.at.map(|moment| moment.at)));
    html! {
        @if !unsure.is_empty() {
            h2 #trials { (figure::count(unsure.len(), "trial by the sound of it", "trials by the sound of it")) }
            p { "By all of the words these were tried and went so. They prove nothing until you say that it is right." }
            ul.rows {
                @for named in &unsure {
                    @let (hash, tried) = (named.source.to_string(), named.trial);
                    li {
                        p { strong { (frame::capital(&tried.gear)) } " " (outcome(tried.outcome)) " "
                            (words_at(&hash, tried.span, &tried.quote)) }
                        p { a.right href=(trial::address(&named.name)) { "Settle it" } }
                        p { @if let Some(at) = tried.at { span.origin { (figure::moment(at.at)) } }
                            (button(known, &hash, tried.span)) }
                    }
                }
            }
        }
    }
}
