//! *Proved*: what a boat going far should have proved, and how each entry stands.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use super::before::day;
use super::frame::{self, Look};
use super::known::Known;
use super::page::Page;
use super::trouble::Trouble;
use crate::proved::{Proof, ProvedList, Shown, Status, status_word};

/// The screen.
pub async fn show(State(page): State<Arc<Page>>, look: Look) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let list = &known.proved;
    let body = html! {
        h1 { "What must be proved" }
        p { (counts(list)) }
        @for group in list.entries.chunk_by(|a, b| a.required.group == b.required.group) {
            h2 { (frame::capital(&group[0].required.group)) }
            ul.rows { @for shown in group { (entry(&known, shown)) } }
        }
        p.caution { "The list holds what is common practice or published, each entry with its source. It does not say \
                     that a boat is ready; makers, surveyors and local rules come first." }
    };
    Ok(frame::page(&look, "What must be proved", "/more", body))
}

/// How many entries stand each way, in words.
pub fn counts(list: &ProvedList) -> Markup {
    let of = |status: Status| list.entries.iter().filter(|entry| entry.status == status).count();
    let all = [Status::Proved, Status::Failed, Status::Stale, Status::Unsettled, Status::NeverTried];
    let parts: Vec<(usize, Status)> =
        all.into_iter().map(|status| (of(status), status)).filter(|part| part.0 > 0).collect();
    html! { @for (n, (count, status)) in parts.iter().enumerate() { @if n > 0 { ", " } (count) " " (status_word(*status)) } }
}

/// A status as a badge.
fn badge(status: Status) -> Markup {
    let class = match status {
        Status::Failed => "bad",
        Status::Stale | Status::Unsettled | Status::NeverTried => "care",
        Status::Proved => "good",
        Status::Dismissed => "plain",
    };
    html! { span.badge.(class) { (status_word(status)) } }
}

fn entry(known: &Known, shown: &Shown) -> Markup {
    html! {
        li {
            p { strong { (frame::capital(&shown.required.what)) } " " (badge(shown.status))
                @if !shown.why.is_empty() && shown.why != status_word(shown.status) { " " (shown.why) } }
            @for proof in shown.proofs.iter().take(3) { (self::proof(known, proof)) }
            p.origin { (frame::capital(&shown.required.counts)) }
            p.origin { "Source: " (shown.required.source) }
        }
    }
}

fn proof(known: &Known, proof: &Proof) -> Markup {
    html! {
        p { (frame::capital(&proof.gear)) " " @if !proof.quote.is_empty() { (known.words(&proof.from, proof.span, &proof.quote)) " " }
            span.origin { @if let Some(on) = proof.on { (day(on)) } " " (proof.from)
                @if !proof.conditions.is_empty() { "; in " (proof.conditions) } } }
    }
}
