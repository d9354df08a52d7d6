//! *Take a note*: words typed, pasted or dictated. Files come by [`super::upload`].

use std::sync::Arc;

use axum::Form;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use chrono::{DateTime, FixedOffset};
use leadsman_index::{Dump, Outcome, Report};
use maud::html;
use serde::Deserialize;

use super::frame::{self, Look};
use super::page::Page;
use super::trouble::Trouble;
use crate::error::Error;

/// The screen.
pub async fn show(look: Look) -> Response {
    let body = html! {
        h1 { "Take a note" }
        form #words-form.note-form method="post" action=(look.action("/note")) {
            label for="words" { "Say what was measured, what was tried and how it went" }
            textarea #words name="words" rows="9" required autocomplete="off" autocapitalize="sentences" spellcheck="true" {}
            input #written type="hidden" name="written";
            button.first { "Take it" }
        }
        form #files-form.note-form method="post" enctype="multipart/form-data" action=(look.action("/files")) {
            h2 { "Or pick files" }
            label for="files" { "Transcripts, written logs, instrument logs, recordings" }
            input #files name="files" type="file" multiple required;
            button { "Take them" }
            p #progress.origin role="status" {}
        }
        section #recorder hidden {
            h2 { "Or record" }
            p.more { button #record type="button" { "Record" } }
            p #recording.origin role="status" {}
        }
        section #kept hidden aria-labelledby="kept-title" {
            h2 #kept-title { "Kept in this device, not sent yet" }
            ol #kept-list {}
            p.more { button #send type="button" { "Send now" } }
        }
    };
    frame::page(&look, "Take a note", "/note", body)
}

/// A note's words.
#[derive(Debug, Deserialize)]
pub struct Words {
    words: String,
    /// When it was written, by the device's clock; empty where the device does not say.
    #[serde(default)]
    written: String,
}

/// Takes a note.
pub async fn take(
    State(page): State<Arc<Page>>,
    headers: HeaderMap,
    look: Look,
    Form(given): Form<Words>,
) -> Result<Response, Trouble> {
    if given.words.trim().is_empty() {
        return Err(Trouble::wrong("expected the words of a note, found none"));
    }
    let now = page.moment();
    let written = match given.written.trim() {
        "" => now,
        text => DateTime::parse_from_rfc3339(text).map_err(|_| {
            Trouble::wrong(format!(
                "expected the time of writing like {}, found \"{text}\"",
                now.to_rfc3339()
            ))
        })?,
    };
    // A form sends every line's end as two signs, whichever the device has.
    let words = given.words.replace("\r\n", "\n");
    let mut dump = Dump::bytes(name(written), words.into_bytes());
    dump.hints.modified = Some(written.to_utc());
    answer(&headers, &look, page.ingest(vec![dump]).await?)
}

/// The name of a typed note, which says when it was written: a date in its words goes before that.
fn name(written: DateTime<FixedOffset>) -> String {
    written.format("note-%Y-%m-%d-%H%M.txt").to_string()
}

/// What became of dumps: for the script as JSON, for a person the screen of what was understood.
pub fn answer(headers: &HeaderMap, look: &Look, reports: Vec<Report>) -> Result<Response, Trouble> {
    let mut taken = Vec::new();
    let mut refused = Vec::new();
    for report in reports {
        match report.outcome {
            Outcome::Taken { source, .. } | Outcome::AlreadyThere { source, .. } => {
                taken.push(source.to_string())
            }
            Outcome::Refused { error } => refused.push((report.name, Error::from_index(&error))),
        }
    }
    let to = format!("/taken?sources={}", taken.join(","));
    if headers.get(header::ACCEPT).is_some_and(|accept| accept.as_bytes() == b"application/json") {
        let refused: Vec<_> = refused
            .iter()
            .map(|(name, error)| serde_json::json!({ "name": name, "error": error.message, "hint": error.hint }))
            .collect();
        let body = serde_json::json!({ "taken": taken, "refused": refused, "to": to }).to_string();
        return Ok(([(header::CONTENT_TYPE, "application/json")], body).into_response());
    }
    if refused.is_empty() {
        return Ok(Redirect::to(&to).into_response());
    }
    let body = html! {
        h1 { "Not all was taken" }
        ul.rows {
            @for (name, error) in &refused {
                li { p { strong { (name) } ": " (error.message) } @if let Some(hint) = &error.hint { p { (hint) } } }
            }
        }
        @if !taken.is_empty() { p { a.button href=(to) { "What was understood of the others" } } }
        p { a.button href="/note" { "Back to the note" } }
    };
    let page = frame::page(look, "Not all was taken", "/note", body);
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_typed_note_is_named_by_when_it_was_written() {
        let written = DateTime::parse_from_rfc3339("2026-10-06T06:55:30+11:00").expect("a time");
        assert_eq!(name(written), "note-2026-10-06-0655.txt");
    }
}
