//! The coming passage: what is set of it, and the form to set it.

use std::str::FromStr;
use std::sync::Arc;

use axum::Form;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use leadsman_index::{Decision, Passage};
use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{self, Look};
use super::page::Page;
use super::trouble::Trouble;

/// The screen.
pub async fn show(State(page): State<Arc<Page>>, look: Look) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let set = known.boat.passage();
    let day = |day: Option<chrono::NaiveDate>| day.map(|day| day.to_string());
    let number = |value: Option<f64>| value.map(|value| value.to_string());
    let body = html! {
        h1 { "The passage" }
        form.fields method="post" action=(look.action("/passage")) {
            (field("departure", "Departure", "date", "", day(set.departure)))
            (field("back", "Back by", "date", "", day(set.back)))
            (field("days", "Days at sea", "number", "", number(set.days)))
            (field("distance", "Distance", "number", "nmi", number(set.distance_nmi)))
            (field("crew", "People aboard", "number", "", set.crew.map(|crew| crew.to_string())))
            (field("coldest_air", "Coldest air", "number", "°C", number(set.coldest_air_degc)))
            (field("coldest_sea", "Coldest sea", "number", "°C", number(set.coldest_sea_degc)))
            (field("strongest_wind", "Strongest wind", "number", "kn", number(set.strongest_wind_kn)))
            button.first { "Keep it" }
        }
        p.origin { "What is left empty stays as it was." }
    };
    Ok(frame::page(&look, "The passage", "/", body))
}

fn field(name: &str, label: &str, kind: &str, unit: &str, value: Option<String>) -> Markup {
    html! {
        p.field {
            label for=(name) { (label) @if !unit.is_empty() { ", " (unit) } }
            input id=(name) name=(name) type=(kind) step=[(kind == "number").then_some("any")]
                value=[value] autocomplete="off";
        }
    }
}

/// The form as it comes: empty where nothing was given.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Given {
    departure: String,
    back: String,
    days: String,
    distance: String,
    crew: String,
    coldest_air: String,
    coldest_sea: String,
    strongest_wind: String,
}

/// Sets what was given.
pub async fn set(State(page): State<Arc<Page>>, Form(given): Form<Given>) -> Result<Response, Trouble> {
    let passage = Passage {
        departure: read(&given.departure, "a day as departure")?,
        back: read(&given.back, "a day to be back by")?,
        days: within(&given.days, "days at sea", 0.0, 1_000.0)?,
        distance_nmi: within(&given.distance, "a distance in nmi", 0.0, 50_000.0)?,
        crew: within(&given.crew, "people aboard", 1.0, 1_000.0)?.map(|crew| crew.round() as u32),
        coldest_air_degc: within(&given.coldest_air, "the coldest air in °C", -70.0, 50.0)?,
        coldest_sea_degc: within(&given.coldest_sea, "the coldest sea in °C", -3.0, 40.0)?,
        strongest_wind_kn: within(&given.strongest_wind, "the strongest wind in kn", 0.0, 200.0)?,
        ..Passage::default()
    };
    let known = page.known().await?;
    let whole = known.boat.passage().clone().then(&passage);
    if let (Some(departure), Some(back)) = (whole.departure, whole.back)
        && back < departure
    {
        return Err(Trouble::wrong(format!(
            "the boat would be back on {back}, before it leaves on {departure}"
        )));
    }
    if passage != Passage::default() && whole != *known.boat.passage() {
        page.decide(Decision::Passage(passage)).await?;
    }
    Ok(Redirect::to("/").into_response())
}

fn read<T: FromStr>(text: &str, what: &str) -> Result<Option<T>, Trouble> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    text.parse().map(Some).map_err(|_| Trouble::wrong(format!("expected {what}, found \"{text}\"")))
}

fn within(text: &str, what: &str, low: f64, high: f64) -> Result<Option<f64>, Trouble> {
    let value: Option<f64> = read(&text.replace('−', "-"), what)?;
    match value {
        Some(value) if !(low..=high).contains(&value) => {
            Err(Trouble::wrong(format!("expected {what} from {low} to {high}, found {value}")))
        }
        value => Ok(value),
    }
}
