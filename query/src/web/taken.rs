//! What was understood of the notes that were just taken.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Response;
use maud::html;
use serde::Deserialize;

use super::frame::{self, Look};
use super::page::Page;
use super::trouble::Trouble;
use super::{item, source};

/// Sources shown; more were many files at once, whose list is elsewhere.
const MOST: usize = 10;

/// The sources, by their hashes with commas between.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Which {
    sources: String,
}

/// The screen.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(which): Query<Which>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let hashes: Vec<&str> = which.sources.split(',').filter(|hash| !hash.is_empty()).collect();
    let rows = match &known.store {
        Some(store) => store.sources().await?,
        None => Vec::new(),
    };
    let mut notes = Vec::new();
    for (n, hash) in hashes.iter().take(MOST).enumerate() {
        let row = rows.iter().find(|row| row.source.to_string() == *hash);
        if let (Some(row), Some(store)) = (row, &known.store) {
            let prefix = format!("s{n}");
            notes.push((row, source::content(&page, &known, store, row, &prefix, None, None).await?));
        }
    }
    if notes.is_empty() {
        return Err(Trouble::not_found("there is no such note"));
    }
    let list = &known.list;
    let raised = list
        .open
        .iter()
        .filter(|item| item.evidence.iter().any(|words| hashes.contains(&words.source.as_str())));
    let raised: Vec<_> = raised.collect();
    let closed = list.closed.iter().filter(|item| {
        item.closed_in.as_ref().is_some_and(|name| notes.iter().any(|(row, _)| row.name == *name))
    });
    let closed: Vec<_> = closed.collect();
    let body = html! {
        h1 { "Taken" }
        @for (row, content) in &notes {
            section.taken {
                h2 { a href={ "/source/" (row.source) } { (row.name) } }
                (content)
            }
        }
        @if hashes.len() > MOST { p { a href="/sources" { "and " (hashes.len() - MOST) " more" } } }
        @if !closed.is_empty() {
            section { h2 { "Closed by it" } ol.items { @for one in &closed { (item::closed(&known, one)) } } }
        }
        @if !raised.is_empty() {
            section { h2 { "Stands open" } ol.items { @for one in &raised { (item::open(&known, one, &look)) } } }
        }
        p.more { a.button.first href="/note" { "Another note" } a.button href="/" { "Before departure" } }
    };
    Ok(frame::page(&look, "Taken", "/note", body))
}
