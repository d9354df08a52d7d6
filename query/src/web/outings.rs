//! *Outings*: the open items placed into days out before departure.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Response;
use maud::{Markup, html};
use serde::Deserialize;

use super::before::day;
use super::frame::{self, Look, value, why};
use super::page::Page;
use super::trouble::Trouble;
use crate::figure;
use crate::outing::{DayOut, Left, MOST_DAYS, Outings, Place};

/// How many days there are, and how long each is; empty for as many as fit.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    days: String,
    hours: String,
}

/// The plan.
pub async fn show(
    State(page): State<Arc<Page>>,
    look: Look,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let days = number(&asked.days, "days", 1.0, f64::from(MOST_DAYS))?.map(|days| days.round() as u32);
    let hours = number(&asked.hours, "hours a day", 1.0, 24.0)?;
    let plan = Outings::new(&known.list, known.boat.decisions(known.day), days, hours);
    let body = html! {
        h1 { "Days out" }
        p { (figure::count(plan.days.len(), "day", "days")) " of " (value(Some(plan.hours_a_day), Some(plan.hours_a_day), "h"))
            @if let Some(leaves) = plan.leaves { "; departure " (day(leaves)) } }
        form.fields method="get" action="/outings" {
            p.field { label for="days" { "Days" } input #days name="days" type="number" min="1" max=(MOST_DAYS) value=(asked.days); }
            p.field { label for="hours" { "Hours a day" } input #hours name="hours" type="number" min="1" max="24" step="any" value=(asked.hours); }
            button { "Place them" }
        }
        @for one in &plan.days { (day_out(one)) }
        (left("Errands ashore, no day out", &plan.errands))
        (left("In no day", &plan.unplaced))
        p.caution { "A day is placed by what items need, not by the forecast. Whether to go is yours." }
    };
    Ok(frame::page(&look, "Days out", "/more", body))
}

fn day_out(one: &DayOut) -> Markup {
    html! {
        section {
            h2 { "Day " (one.number) @if let Some(date) = one.date { ", about " (day(date)) } }
            @if one.steps.is_empty() { p { "Nothing to do" } }
            @else {
                p.conditions {
                    (value(Some(one.hours), Some(one.hours), "h"))
                    @if let Some((least, most)) = one.wind_kn { "; wind " (value(Some(least), Some(most), "kn")) }
                    @if one.hands > 1 { "; " (one.hands) " hands" }
                    @if one.cold { "; the colder the better" }
                    @if one.night { "; into the dark" }
                }
                ul.rows {
                    @for step in &one.steps {
                        li {
                            p { a href={ "/item/" (step.item) } { (frame::capital(&frame::short(&step.about, 120))) }
                                @if let Some(reason) = step.why { " " (why(reason)) } }
                            p.origin { (place(step.needs.place)) @if step.needs.night { ", in the dark" } "; "
                                (value(Some(step.needs.hours), Some(step.needs.hours), "h"))
                                @if !step.provided.is_empty() { "; provided that " (step.provided.join(" and ")) } }
                        }
                    }
                }
            }
        }
    }
}

fn place(place: Place) -> &'static str {
    match place {
        Place::Dock => "At the dock",
        Place::UnderWay => "Under way",
        Place::OpenWater => "In open water",
        Place::Anchor => "At anchor",
    }
}

fn left(name: &str, items: &[Left]) -> Markup {
    html! {
        @if !items.is_empty() {
            h2 { (name) }
            ul.rows { @for item in items {
                li { p { a href={ "/item/" (item.item) } { (frame::capital(&frame::short(&item.about, 120))) } }
                    p.origin { (item.because) } }
            } }
        }
    }
}

fn number(text: &str, what: &str, low: f64, high: f64) -> Result<Option<f64>, Trouble> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let number = text.parse::<f64>().ok().filter(|number| (low..=high).contains(number));
    number
        .map(Some)
        .ok_or_else(|| Trouble::wrong(format!("expected {what} from {low} to {high}, found \"{text}\"")))
}
