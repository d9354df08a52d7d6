//! A reading put right: its words, what was understood, and the skipper's word on it.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use chrono_tz::Tz;
use leadsman_ingest::quantity::table;
use leadsman_ingest::{Moment, Reading, Stance};
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{self, Look, place, words_at};
use super::known::Known;
use super::log;
use super::page::Page;
use super::sound::button;
use super::trouble::Trouble;
use crate::decide::{Amend, Ask, At};
use crate::figure;
use crate::instruments::Panel;
use crate::words::spaced;

/// The address of a reading's screen.
pub fn address(name: &str) -> String {
    format!("/reading/{name}")
}

/// A value as a person types it.
fn typed(reading: &Reading) -> String {
    let number = |value: f64| value.to_string();
    let unit = if reading.unit == "1" { "" } else { &reading.unit };
    let value = match (reading.low, reading.high) {
        (Some(low), Some(high)) if low == high => number(low),
        (Some(low), Some(high)) => format!("{} to {}", number(low), number(high)),
        (Some(low), None) => format!("{}..", number(low)),
        (None, Some(high)) => format!("..{}", number(high)),
        (None, None) => String::new(),
    };
    format!("{value} {unit}").trim().to_owned()
}

/// When it was, by the clock aboard, as a form has it.
pub fn local(at: Option<Moment>, zone: Tz) -> String {
    let at = at.map(|moment| moment.at.with_timezone(&zone).format("%Y-%m-%dT%H:%M").to_string());
    at.unwrap_or_default()
}

/// The screen.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Path(name): Path<String>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let named = known.boat.named_readings().into_iter().find(|named| named.name == name);
    let named = named.ok_or_else(|| Trouble::not_found("there is no such reading any more"))?;
    let r = named.reading;
    let against = match &known.store {
        Some(store) => {
            Panel::open(store, page.setting.zone.value).await?.set_against_in(&named.source, r).await?
        }
        None => None,
    };
    let hash = named.source.to_string();
    let title = frame::quantity(&r.quantity);
    let action = |what: &str| look.action(&format!("/reading/{name}/{what}"));
    let body = html! {
        h1 { (title) " " (frame::value(r.low, r.high, &r.unit)) }
        blockquote {
            p { (words_at(&hash, r.span, &r.quote)) (button(&known, &hash, r.span)) }
            p.origin { (r.stance) @if let Some(gear) = &r.gear { ", " (gear) }
                @if let Some(at) = r.at { ", " (figure::moment(at.at)) } }
        }
        @for doubt in &r.doubts { p.doubt { (frame::capital(doubt)) } }
        @if let Some(against) = &against {
            p { "The instruments had " (log::measured(&against.measured)) " then." }
        }
        form method="post" action=(action("confirm")) { button { "It is right so" } }
        h2 { "Put it right" }
        form #right method="post" action=(action("correct")) {
            div.fields {
                p.field { label for="value" { "Value" } input #value name="value" value=(typed(r)) autocomplete="off"; }
                p.field {
                    label for="quantity" { "What it is of" }
                    select #quantity name="quantity" {
                        @for quantity in &table().quantities {
                            option value=(quantity.name) selected[quantity.name == r.quantity] { (spaced(&quantity.name)) }
                        }
                    }
                }
                p.field {
                    label for="stance" { "What is meant" }
                    select #stance name="stance" {
                        @for stance in Stance::ALL {
                            option value=(stance.name()) selected[*stance == r.stance] { (stance.name()) }
                        }
                    }
                }
                p.field { label for="at" { "When" }
                    input #at name="at" type="datetime-local" value=(local(r.at, page.setting.zone.value)); }
                p.field { label for="gear" { "Gear" }
                    input #gear name="gear" value=(r.gear.as_deref().unwrap_or_default()) autocomplete="off"; }
            }
            p.more { button.first { "Keep it so" } }
        }
        (never_said("Or it is no reading", &action("dismiss")))
    };
    Ok(frame::page(&look, &title, "/note", body))
}

/// The end of a screen that puts something right: that it was never said at all.
pub fn never_said(heading: &str, address: &str) -> Markup {
    html! {
        h2 { (heading) }
        form method="post" action=(address) { button { "Nothing of the kind was said" } }
        p.origin { "The note stays as it is; your word goes before what was read." }
    }
}

/// What the reading should be.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Given {
    value: String,
    quantity: String,
    stance: String,
    gear: String,
    at: String,
}

/// Keeps the skipper's word: `correct`, `confirm` or `dismiss`.
pub async fn say(
    State(page): State<Arc<Page>>,
    Path((name, what)): Path<(String, String)>,
    Form(given): Form<Given>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let named = known.boat.named_readings().into_iter().find(|named| named.name == name);
    let named = named.ok_or_else(|| Trouble::not_found("there is no such reading any more"))?;
    let back = place(&named.source.to_string(), named.reading.span);
    let to = || amend(named.reading, &given, page.setting.zone.value);
    keep(&page, &known, (name, &what), to).await?;
    Ok(Redirect::to(&back).into_response())
}

/// Keeps the skipper's word on a reading or a trial: `correct` with what it should be, `confirm` or `dismiss`.
pub async fn keep(
    page: &Page,
    known: &Known,
    (name, what): (String, &str),
    to: impl FnOnce() -> Result<Amend, Trouble>,
) -> Result<(), Trouble> {
    let ask = match what {
        "confirm" => Ask::Confirm { name },
        "dismiss" => Ask::Dismiss { name },
        "correct" => {
            let to = to()?;
            if to == Amend::default() {
                return Err(Trouble::wrong("expected something that differs from what was read"));
            }
            Ask::Correct { name, to }
        }
        other => return Err(Trouble::not_found(format!("nothing is called \"{other}\" here"))),
    };
    page.say(known, ask).await?;
    Ok(())
}

/// A field of a form that says something else than what was read.
pub fn changed(given: &str, was: &str) -> Option<String> {
    (given.trim() != was).then(|| given.trim().to_owned())
}

/// When a form says that it was, where that is not what was read; a form without the field says nothing of the time.
pub fn changed_time(given: &str, was: Option<Moment>, zone: Tz) -> Option<At> {
    changed(given, &local(was, zone)).filter(|text| !text.is_empty()).map(|text| At { text, zone })
}

/// What differs from what was read: the rest stays as it is, whatever is read anew later.
fn amend(reading: &Reading, given: &Given, zone: Tz) -> Result<Amend, Trouble> {
    let stance = Stance::from_name(given.stance.trim()).ok_or_else(|| {
        Trouble::wrong(format!(
            "expected what is meant, like observed or planned, found \"{}\"",
            given.stance
        ))
    })?;
    let mut value = changed(&given.value, &typed(reading));
    let quantity = changed(&given.quantity, &reading.quantity);
    // Another quantity has another unit: the number is said with it.
    if quantity.is_some() && value.is_none() {
        let bare = typed(reading);
        value =
            Some(bare.trim_end_matches(|sign: char| !sign.is_ascii_digit() && sign != '.').trim().to_owned());
    }
    Ok(Amend {
        value,
        quantity,
        stance: (stance != reading.stance).then_some(stance),
        gear: changed(&given.gear, reading.gear.as_deref().unwrap_or_default()),
        outcome: None,
        at: changed_time(&given.at, reading.at, zone),
    })
}
