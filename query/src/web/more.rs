//! The rest of the screens, and how the page looks on this device.

use std::sync::Arc;

use axum::Form;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use serde::Deserialize;

use super::frame::{self, LIGHT, LIGHTS, Look};
use super::page::Page;
use super::trouble::Trouble;

/// A year, in seconds.
const YEAR: u32 = 31_536_000;

/// Where else there is to go, and the choice of light.
pub async fn show(State(page): State<Arc<Page>>, look: Look) -> Result<Response, Trouble> {
    let known = page.known().await?;
    let body = html! {
        h1 { "More" }
        ul.ways {
            li { a href="/gear" { "Gear" } }
            li { a href="/proved" { "What must be proved" } }
            li { a href="/outings" { "Days out" } }
            li { a href="/sailed" { "Sailed" } }
            li { a href="/polar" { "Polar" } }
            li { a href="/open" { "All open items" } }
            li { a href="/open?closed=yes" { "Closed items" } }
            li { a href="/doubts" { "Doubts to settle" } }
            li { a href="/passage" { "The passage" } }
            li { a href="/budget" { "What the passage takes" } }
            li { a href="/sources" { "All notes and logs" } }
        }
        h2 { "Light" }
        form.lights method="post" action=(look.action("/light")) {
            @for (light, name) in LIGHTS {
                button name="light" value=(light) aria-pressed=(light == look.light) { (name) }
            }
        }
        p.origin {
            (known.list.notes) " notes · " (page.setting.home.display())
        }
    };
    Ok(frame::page(&look, "More", "/more", body))
}

/// The light that is chosen.
#[derive(Debug, Deserialize)]
pub struct Chosen {
    light: String,
}

/// Keeps the light on this device.
pub async fn set(look: Look, Form(chosen): Form<Chosen>) -> Result<Response, Trouble> {
    let Some((light, _)) = LIGHTS.iter().find(|light| light.0 == chosen.light) else {
        return Err(Trouble::wrong(format!("expected auto, day, night or red, found \"{}\"", chosen.light)));
    };
    let secure = if look.secure { "; Secure" } else { "" };
    let cookie = format!("{LIGHT}={light}; Path=/; Max-Age={YEAR}; HttpOnly; SameSite=Strict{secure}");
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/more")).into_response())
}
