//! Pairing: the code from the terminal, exchanged once for this device's cookie.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Extension, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use serde::Deserialize;

use super::frame::{self, DEVICE, Look};
use super::guard::Ends;
use super::page::Page;
use super::paired::Tried;
use super::trouble::Trouble;
use crate::error::Error;

/// A year, in seconds.
const YEAR: u32 = 31_536_000;

/// The screen that asks for the code.
pub async fn show(State(page): State<Arc<Page>>, look: Look) -> Response {
    if !page.setting.pairing || !look.token.is_empty() {
        return Redirect::to("/").into_response();
    }
    let action = format!("/pair?token={}", page.paired.token(""));
    let body = html! {
        h1 { "Pair this device" }
        p { "The terminal that serves this page shows a code. It is good for one device." }
        form #pair.word method="post" action=(action) {
            label for="code" { "Code" }
            div.line {
                input #code name="code" required autocomplete="off" autocapitalize="none" spellcheck="false"
                    maxlength="20" inputmode="text";
                button.first { "Pair" }
            }
        }
    };
    frame::page(&look, "Pair this device", "", body)
}

/// The code as it was typed.
#[derive(Debug, Deserialize)]
pub struct Code {
    code: String,
}

/// Exchanges the code.
pub async fn take(
    State(page): State<Arc<Page>>,
    Extension(ends): Extension<Ends>,
    Form(given): Form<Code>,
) -> Result<Response, Trouble> {
    let from = ends.peer.ip();
    let refused = |status, why: &str| {
        (page.setting.log)(&format!("refused a pairing code from {from}: {why}"));
        Err(Trouble::new(status, Error::wrong_use(why)))
    };
    if !page.limits.code(from) {
        return refused(StatusCode::TOO_MANY_REQUESTS, "too many codes were tried; wait a minute");
    }
    let cookie = match page.paired.exchange(&given.code, (page.setting.clock)())? {
        Tried::Right(cookie) => cookie,
        Tried::Wrong => return refused(StatusCode::FORBIDDEN, "that is not the code"),
        Tried::Renewed => {
            (page.setting.log)(&format!("too many wrong codes; the code is now {}", page.paired.code()));
            return refused(StatusCode::FORBIDDEN, "that is not the code; the terminal shows a new one");
        }
    };
    (page.setting.log)(&format!("paired {from}; the code for the next device is {}", page.paired.code()));
    let secure = if page.setting.secure { "; Secure" } else { "" };
    let cookie = format!("{DEVICE}={cookie}; Path=/; Max-Age={YEAR}; HttpOnly; SameSite=Strict{secure}");
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
}
