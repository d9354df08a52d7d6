//! A trial: its words, how it went and in what, said and measured; and the skipper's word on it.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use chrono_tz::Tz;
use leadsman_index::Finding;
use leadsman_ingest::matter::finding_name;
use leadsman_ingest::{Outcome, Reading, Trial};
use maud::html;
use serde::Deserialize;

use super::correct::{self, changed, changed_time, keep, local, never_said};
use super::frame::{self, Look, outcome, place, value, words_at};
use super::log;
use super::page::Page;
use super::sound::button;
use super::trouble::Trouble;
use crate::decide::{Amend, NamedTrial};
use crate::figure;
use crate::instruments::Panel;

/// The address of a trial's screen.
pub fn address(name: &str) -> String {
    format!("/trial/{name}")
}

fn gone() -> Trouble {
    Trouble::not_found("there is no such trial any more")
}

/// The screen.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Path(name): Path<String>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let zone = page.setting.zone.value;
    let named = known.boat.named_trials().into_iter().find(|named| named.name == name).ok_or_else(gone)?;
    let NamedTrial { source, trial, .. } = named;
    let hash = source.to_string();
    let said: Vec<Reading> =
        known.boat.trial_at(&hash, trial.span).map(|(_, _, said)| said).unwrap_or_default();
    let measured = match &known.store {
        Some(store) => Panel::open(store, zone).await?.conditions_in(&source, trial, &said).await?,
        None => Vec::new(),
    };
    let title = format!("{} tried", frame::capital(&trial.gear));
    let action = |what: &str| look.action(&format!("/trial/{name}/{what}"));
    let body = html! {
        h1 { (title) " " (outcome(trial.outcome)) }
        blockquote {
            p { (words_at(&hash, trial.span, &trial.quote)) (button(&known, &hash, trial.span)) }
            @if let Some(at) = trial.at { p.origin { (figure::moment(at.at)) } }
        }
        @if !said.is_empty() || trial.night.is_some() || trial.hands.is_some() {
            p.around { "Said to be tried in" }
            dl.figures {
                @for r in &said {
                    dt { (frame::quantity(&r.quantity)) }
                    dd { a.words href=(place(&hash, r.span)) { (value(r.low, r.high, &r.unit)) }
                        " " a.right href=(correct::address(&finding_name(Finding::Reading, &hash, r.span))) { "Put right" } }
                }
                @if let Some(night) = trial.night { dt { "Light" } dd { (if night { "in the dark" } else { "by day" }) } }
                @if let Some(hands) = trial.hands { dt { "Hands" } dd { (hands) } }
            }
        }
        (log::conditions(&measured))
        form method="post" action=(action("confirm")) { button { "It is right so" } }
        h2 { "Put it right" }
        form #right method="post" action=(action("correct")) {
            fieldset.choice {
                legend { "How it went" }
                @for how in [Outcome::Pass, Outcome::Partial, Outcome::Fail, Outcome::Unclear] {
                    label { input type="radio" name="outcome" value=(how.name()) checked[how == trial.outcome]; span { (how) } }
                }
            }
            div.fields {
                p.field { label for="gear" { "Gear" }
                    input #gear name="gear" value=(trial.gear) required autocomplete="off"; }
                p.field { label for="at" { "When" }
                    input #at name="at" type="datetime-local" value=(local(trial.at, zone)); }
            }
            p.more { button.first { "Keep it so" } }
        }
        (never_said("Or it was no trial", &action("dismiss")))
    };
    Ok(frame::page(&look, &title, "/more", body))
}

/// What the trial should be.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Given {
    outcome: String,
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
    let named = known.boat.named_trials().into_iter().find(|named| named.name == name).ok_or_else(gone)?;
    let back = place(&named.source.to_string(), named.trial.span);
    let to = || amend(named.trial, &given, page.setting.zone.value);
    keep(&page, &known, (name, &what), to).await?;
    Ok(Redirect::to(&back).into_response())
}

/// What differs from what was read.
fn amend(trial: &Trial, given: &Given, zone: Tz) -> Result<Amend, Trouble> {
    let how = Outcome::from_name(given.outcome.trim()).ok_or_else(|| {
        Trouble::wrong(format!(
            "expected how it went, pass, partial, fail or unclear, found \"{}\"",
            given.outcome
        ))
    })?;
    Ok(Amend {
        outcome: (how != trial.outcome).then_some(how),
        gear: changed(&given.gear, &trial.gear),
        at: changed_time(&given.at, trial.at, zone),
        ..Amend::default()
    })
}
