//! The passage's budget: every line with its figures, where they come from, and what is missing to know it.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use super::frame::{self, Look, words_at};
use super::page::Page;
use super::trouble::Trouble;
use crate::boat::home_notes;
use crate::error::Error;
use crate::reckon::budget::{self, Inputs, Line};
use crate::reckon::notes::Notes;

/// Words that are shown behind one input.
const WORDS: usize = 3;

/// The screen.
pub async fn show(State(page): State<Arc<Page>>, look: Look) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let notes = match &known.store {
        Some(store) => home_notes(store, known.day, page.setting.zone.value).await?,
        None => Notes::default(),
    };
    let mut inputs = Inputs::default();
    let taken = notes.budget(&mut inputs);
    let budget = budget::budget(&inputs).map_err(|error| Error::wrong_use(error.to_string()))?;
    let body = html! {
        h1 { "What the passage takes" }
        @for line in &budget.lines { (self::line(line)) }
        @if !taken.is_empty() {
            h2 { "From the notes" }
            dl.figures {
                @for one in &taken { dt { (frame::capital(&one.input.replace('-', " "))) } dd {
                    (one.value) " " span.origin { (one.from) }
                    @for said in one.said.iter().rev().take(WORDS) { p { (words_at(&said.hash, said.span, &said.quote)) } }
                    @if one.said.len() > WORDS { p.origin { "and " (one.said.len() - WORDS) " before these" } }
                } }
            }
        }
        p.caution { (frame::capital(budget.caution)) }
    };
    Ok(frame::page(&look, "Budget", "/", body))
}

/// A line of a budget.
pub fn line(line: &Line) -> Markup {
    html! {
        section.budget {
            h2 { (frame::capital(line.name)) }
            @if !line.figures.is_empty() {
                dl.figures {
                    @for figure in &line.figures { dt { (frame::capital(&figure.name)) } dd { (figure.text()) } }
                }
                @if !line.from.is_empty() { p.origin { "From " (line.from.join("; ")) } }
            }
            // How the command line takes what is missing is nothing to a page.
            @for remark in &line.remarks { p { (frame::capital(remark.split(": give --").next().unwrap_or(remark))) } }
            @if !line.missing.is_empty() {
                p.origin {
                    @if line.figures.is_empty() { "Missing: " } @else { "To know it better: " }
                    (line.missing.iter().map(|missing| plain(&missing.what)).collect::<Vec<_>>().join("; "))
                }
            }
        }
    }
}

/// What is missing, without how the command line takes it ("What the heater held, as DIFFERENCE=RATE; repeat").
fn plain(what: &str) -> String {
    let what = what.split(';').next().unwrap_or_default().split(", as ").next().unwrap_or_default();
    what.split(" as NAME=").next().unwrap_or_default().to_lowercase()
}
