//! *Before departure*: how long is left, what is short, what presses most, what is in doubt, what is proved.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{self, Look};
use super::known::Known;
use super::page::Page;
use super::proved::counts;
use super::trend::query;
use super::trouble::Trouble;
use super::{doubts, item};
use crate::figure;

/// Items on the first screen; a phone's screen holds few, and all of them are one tap away.
const MOST: usize = 25;
/// Items on a page of the whole list.
const A_PAGE: usize = 100;
/// Gaps on the first screen, and trials announced.
const GAPS: usize = 8;
/// Doubts on the first screen.
const DOUBTS: usize = 3;

/// The first screen.
pub async fn show(State(page): State<Arc<Page>>, look: Look) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let text = known.first_screen(&look, || first(&known, &look));
    Ok(([(header::CONTENT_TYPE, "text/html; charset=utf-8")], text).into_response())
}

fn first(known: &Known, look: &Look) -> String {
    let list = &known.list;
    let body = html! {
        h1 { "Before departure" }
        (departure(known))
        @if known.list.notes == 0 && known.list.later_notes == 0 {
            section.empty {
                p.lead { "Nothing is known yet." }
                p { a.button.first href="/note" { "Take the first note" } }
            }
        }
        (short(known))
        @if list.notes > 0 {
            section aria-labelledby="open" {
                h2 #open {
                    @match list.open.len() {
                        0 => "Nothing stands open",
                        n if n > MOST => { (n) " open, the most pressing first" },
                        n => { (n) " open, most pressing first" },
                    }
                }
                @if list.open.is_empty() {
                    @if list.perhaps.is_empty() {
                        p { "No note speaks of an open matter. That does not say that the boat is ready." }
                    } @else {
                        p { "What is in doubt waits for your word." }
                    }
                }
                ol.items {
                    @for one in list.open.iter().take(MOST) { (item::open(known, one, look)) }
                }
                p.more {
                    @if list.open.len() > MOST {
                        a.button href="/open" { "All " (list.open.len()) " open" }
                    }
                    @if !list.perhaps.is_empty() { a.button href="/open#perhaps" { (list.perhaps.len()) " perhaps" } }
                    @if !list.put_off.is_empty() { a.button href="/open#put-off" { (list.put_off.len()) " put off" } }
                    @if !list.closed.is_empty() {
                        a.button href="/open?closed=yes" { (list.closed.len()) " closed" }
                    }
                }
            }
            (accepted(known))
            (proved(known))
            (gaps(known))
            (announced(known, look))
            @if known.all_doubts() > 0 {
                section aria-labelledby="doubts" {
                    h2 #doubts { (figure::count(known.all_doubts(), "doubt", "doubts")) " to settle" }
                    ul.rows { @for stored in known.doubts.iter().take(DOUBTS) { (doubts::row(known, stored)) } }
                    @if known.all_doubts() > known.doubts.len().min(DOUBTS) {
                        p.more { a.button href="/doubts" { "All " (known.all_doubts()) " doubts" } }
                    }
                }
            }
        }
        p.caution {
            "Leadsman remembers and computes, it does not decide. Makers', riggers' and surveyors' figures and local \
             rules come first."
        }
    };
    frame::text(look, "Before departure", "/", body)
}

/// Days left, and who says so.
fn departure(known: &Known) -> Markup {
    let list = &known.list;
    let by = |from: &Option<String>| html! { @if let Some(from) = from { span.origin { (from) } } };
    html! {
        div.departure {
            @match (list.voyage.leaves, list.days_left) {
                (Some(leaves), Some(days)) => {
                    p.days { (days_left(days)) }
                    p { @if days < 0 { "Departure was " } @else { "Departure " }
                        strong { (day(leaves)) } " " (by(&list.voyage.leaves_from)) }
                },
                _ => p { "No departure is known. " a href="/passage" { "Set it" } "." },
            }
            @if let Some(back) = list.voyage.back {
                p { "Back by " strong { (day(back)) } " " (by(&list.voyage.back_from)) }
            }
        }
    }
}

fn days_left(days: i64) -> Markup {
    html! {
        @match days {
            0 => span.number { "today" },
            1 => { span.number { "1" } " day left" },
            n if n > 1 => { span.number { (n) } " days left" },
            -1 => { span.number { "1" } " day ago" },
            n => { span.number { (-n) } " days ago" },
        }
    }
}

/// A day with its machine-readable form.
pub fn day(date: NaiveDate) -> Markup {
    html! { time datetime=(date) { (figure::day(date)) } }
}

/// What the skipper sails with as it is: open, and listed apart.
fn accepted(known: &Known) -> Markup {
    let accepted = &known.list.accepted;
    html! {
        @if !accepted.is_empty() {
            section aria-labelledby="accepted" {
                h2 #accepted { (accepted.len()) " accepted: sailing with it as it is" }
                ul.rows { @for one in accepted {
                    li {
                        p { a href={ "/item/" (one.name) } { (item::called(&one.gear, &one.about)) }
                            @for reason in &one.reasons { " " (frame::why(*reason)) } }
                        @if let Some(because) = &one.standing.accepted { p { "“" (because) "”" } }
                    }
                } }
            }
        }
    }
}

/// Gear that will be needed in more than it was ever proved in.
fn gaps(known: &Known) -> Markup {
    html! {
        @if !known.gaps.is_empty() {
            section aria-labelledby="gaps" {
                h2 #gaps { (figure::count(known.gaps.len(), "gap", "gaps")) " between what is proved and what it is needed for" }
                ul.rows { @for gap in known.gaps.iter().take(GAPS) {
                    li {
                        p { a href={ "/gear/" (query(&gap.gear)) } { (frame::capital(&gap.gear)) } " " (gap.summary) }
                        @if !gap.need.quote.is_empty() { p { (known.words(&gap.need.from, gap.need.span, &gap.need.quote)) } }
                    }
                } }
                @if known.gaps.len() > GAPS { p { "and " (known.gaps.len() - GAPS) " more; each gear's own screen tells of it" } }
            }
        }
    }
}

/// Trials that a note announces and none reports.
fn announced(known: &Known, look: &Look) -> Markup {
    html! {
        @if !known.announced.is_empty() {
            section aria-labelledby="announced" {
                h2 #announced { (known.announced.len()) " announced, and no note reports it" }
                ul.rows { @for one in known.announced.iter().take(GAPS) {
                    li {
                        p { strong { (frame::capital(&one.gear)) } " " (known.words(&one.from, Some(one.span), &one.quote)) }
                        p { span.origin { (one.from) @if let Some(on) = one.on { ", " (day(on)) } } }
                        details {
                            summary { "Close it" }
                            (item::close_form(&one.name, look))
                            (item::dismiss_form(&one.name, look))
                        }
                    }
                } }
                @if known.announced.len() > GAPS { p { "and " (known.announced.len() - GAPS) " more" } }
            }
        }
    }
}

/// How what must be proved stands, with what was never tried.
fn proved(known: &Known) -> Markup {
    let never = known.proved.never_tried();
    html! {
        @if !known.proved.entries.is_empty() {
            section aria-labelledby="proved" {
                h2 #proved { "Proved and not" }
                p { (counts(&known.proved)) }
                @if !never.is_empty() {
                    details {
                        summary { (never.len()) " never tried" }
                        ul.rows { @for shown in never { li { p { (frame::capital(&shown.required.what)) } } } }
                    }
                }
                p.more { a.button href="/proved" { "All that must be proved" } a.button href="/outings" { "Days out" } }
            }
        }
    }
}

/// What the passage is short of.
fn short(known: &Known) -> Markup {
    html! {
        @if !known.short.is_empty() {
            section.short aria-labelledby="short" {
                h2 #short { "Short for the passage" }
                dl.figures {
                    @for short in &known.short {
                        dt { (frame::capital(short.what)) @if short.how == "perhaps" { " " span.badge.care { "perhaps" } } }
                        dd {
                            (short.need.name) " " span.value { (short.need.text()) } ", "
                            (short.aboard.name) " " span.value { (short.aboard.text()) }
                        }
                    }
                }
                p { a href="/budget" { "How that was worked out" } }
            }
        }
        @if let Some(why) = &known.short_unknown {
            p.notice { "What the passage is short of is not known: " (why) }
        }
    }
}

/// Which part of the whole list.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Part {
    /// The first item shown, from 0.
    from: usize,
    /// Anything here shows what was closed instead.
    closed: String,
}

/// The whole list, a page at a time.
pub async fn all(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(part): Query<Part>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let list = &known.list;
    let closed = !part.closed.is_empty();
    let total = if closed { list.closed.len() } else { list.open.len() };
    let until = part.from.saturating_add(A_PAGE).min(total);
    let address = |from: usize| format!("/open?from={from}{}", if closed { "&closed=yes" } else { "" });
    let title = if closed { "Closed" } else { "Open" };
    let body = html! {
        h1 { (total) " " @if closed { "closed, latest first" } @else { "open, most pressing first" } }
        p.more {
            @if closed { a.button href="/open" { (list.open.len()) " open" } }
            @else { a.button href="/open?closed=yes" { (list.closed.len()) " closed" } }
        }
        ol.items start=(part.from.saturating_add(1)) {
            @if closed {
                @for one in list.closed.iter().skip(part.from).take(A_PAGE) { (item::closed(&known, one)) }
            } @else {
                @for one in list.open.iter().skip(part.from).take(A_PAGE) { (item::open(&known, one, &look)) }
            }
        }
        @if !closed && until == total {
            @for (title, anchor, aside) in [
                ("Perhaps: what may be nothing, or over by now", "perhaps", &list.perhaps),
                ("Accepted as they are", "accepted", &list.accepted),
                ("Put off", "put-off", &list.put_off),
            ] {
                @if !aside.is_empty() {
                    h2 id=(anchor) { (title) }
                    ol.items { @for one in aside { (item::open(&known, one, &look)) } }
                }
            }
        }
        p.more {
            @if part.from > 0 { a.button href=(address(part.from.saturating_sub(A_PAGE))) { "Before these" } }
            @if until < total { a.button href=(address(until)) { "After these" } }
        }
    };
    Ok(frame::page(&look, title, "/", body))
}
