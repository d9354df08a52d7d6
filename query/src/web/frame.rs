//! What all screens share: the frame around them, how they look, and the small pieces that they are made of.

use std::convert::Infallible;
use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Response};
use chrono::{DateTime, FixedOffset};
use leadsman_ingest::{Outcome, Span, Why};
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::assets;
use super::page::Page;
use crate::figure;
use crate::words;
pub use crate::words::shortened as short;

/// The cookie of a paired device.
pub const DEVICE: &str = "leadsman_device";
/// The cookie of how the page looks.
pub const LIGHT: &str = "leadsman_light";

/// How a page looks on the device that asks, and the token for its forms.
#[derive(Clone, Debug)]
pub struct Look {
    /// `auto`, `day`, `night` or `red`.
    pub light: &'static str,
    /// The anti-forgery token; empty for a device that is not paired and has to be.
    pub token: String,
    /// Whether the page is served over TLS.
    pub secure: bool,
}

/// The ways to look, with their names.
pub const LIGHTS: [(&str, &str); 4] =
    [("auto", "As the device"), ("day", "Day"), ("night", "Night"), ("red", "Red")];

impl Look {
    /// Reads a request's cookies.
    pub fn of(page: &Page, headers: &HeaderMap) -> Self {
        let asked = cookie(headers, LIGHT).unwrap_or_default();
        let light = LIGHTS.iter().map(|light| light.0).find(|light| *light == asked).unwrap_or("auto");
        let device = cookie(headers, DEVICE).unwrap_or_default();
        let known = !page.setting.pairing || page.paired.knows(device);
        let token = if known { page.paired.token(device) } else { String::new() };
        Self { light, token, secure: page.setting.secure }
    }

    /// An address that a form is sent to, with the token.
    pub fn action(&self, path: &str) -> String {
        format!("{path}?token={}", self.token)
    }
}

impl FromRequestParts<Arc<Page>> for Look {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, page: &Arc<Page>) -> Result<Self, Infallible> {
        Ok(Self::of(page, &parts.headers))
    }
}

/// The value of a cookie.
pub fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let lines = headers.get_all(header::COOKIE).into_iter().filter_map(|line| line.to_str().ok());
    let mut pairs = lines.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.find_map(|(key, value)| (key == name).then_some(value))
}

/// The screens that the bar leads to: address, name, sign.
const BAR: [(&str, &str, &str); 5] = [
    ("/", "Before", "M12 3v18M5 12H3a9 9 0 0 0 18 0h-2M9 6a3 3 0 1 1 6 0a3 3 0 0 1-6 0"),
    ("/note", "Note", "M4 20l1-5L16 4l4 4L9 19z"),
    ("/find", "Find", "M10 4a6 6 0 1 1 0 12a6 6 0 0 1 0-12M15 15l6 6"),
    ("/trend", "Trend", "M3 20V4M3 20h18M6 15l4-5l4 3l6-8"),
    ("/more", "More", "M4 7h16M4 12h16M4 17h16"),
];

/// A whole page. `here` is the address in the bar that it belongs to.
pub fn page(look: &Look, title: &str, here: &str, body: Markup) -> Response {
    Html(text(look, title, here, body)).into_response()
}

/// As [`page`], as text.
pub fn text(look: &Look, title: &str, here: &str, body: Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" data-light=(look.light) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · Leadsman" }
                link rel="stylesheet" href=(assets::address("page.css"));
                link rel="icon" href=(assets::address("mark.svg")) type="image/svg+xml";
                script src=(assets::address("page.js")) defer {}
            }
            body data-token=(look.token) {
                a.skip href="#main" { "To the text" }
                header.top {
                    nav.bar aria-label="Screens" {
                        @for (address, name, sign) in BAR {
                            a href=(address) aria-current=[(address == here).then_some("page")] {
                                (icon(sign)) span { (name) }
                            }
                        }
                    }
                }
                p #unsent role="status" hidden {}
                main #main { (body) }
            }
        }
    }
    .into_string()
}

fn icon(path: &str) -> Markup {
    html! {
        svg.icon viewBox="0 0 24 24" aria-hidden="true" focusable="false" { path d=(path) {} }
    }
}

/// The address of a place in a source.
pub fn place(hash: &str, span: Span) -> String {
    format!("/source/{hash}?from={}&to={}#here", span.start, span.end)
}

/// Words of a note, leading to where they stand.
pub fn words_at(hash: &str, span: Span, words: &str) -> Markup {
    html! { a.words href=(place(hash, span)) { "“" (short(words, 240)) "”" } }
}

/// A source's name and a time, small.
pub fn origin(name: &str, at: Option<DateTime<FixedOffset>>) -> Markup {
    html! {
        span.origin {
            (name)
            @if let Some(at) = at { ", " time datetime=(at.to_rfc3339()) { (figure::moment(at)) } }
        }
    }
}

/// Why an item is open, as a badge whose words say what its colour does.
pub fn why(why: Why) -> Markup {
    let class = match why {
        Why::FailedTrial | Why::OutOfLimits | Why::Overdue => "bad",
        Why::InconclusiveTrial | Why::Unproven => "care",
        Why::Task => "plain",
    };
    html! { span.badge.(class) { (words::why(why)) } }
}

/// How a trial went, as a badge.
pub fn outcome(outcome: Outcome) -> Markup {
    let class = match outcome {
        Outcome::Pass => "good",
        Outcome::Partial | Outcome::Unclear => "care",
        Outcome::Fail => "bad",
    };
    html! { span.badge.(class) { (outcome) } }
}

/// A value with its unit, which does not part from it.
pub fn value(low: Option<f64>, high: Option<f64>, unit: &str) -> Markup {
    html! { span.value { (figure::range(low, high, unit).replace(' ', "\u{a0}")) } }
}

/// The first letter made large.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// A quantity's name as a heading has it.
pub fn quantity(name: &str) -> String {
    match name {
        "co_level" => "CO level".to_owned(),
        _ => capital(&words::spaced(name)),
    }
}

/// Markup that was made elsewhere, as it is.
pub fn raw(markup: String) -> Markup {
    PreEscaped(markup)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cookies_are_read_one_by_one() {
        let mut headers = HeaderMap::new();
        headers.insert(header::COOKIE, "a=1; leadsman_light=red;b=2".parse().expect("a header"));
        assert_eq!(cookie(&headers, LIGHT), Some("red"));
        assert_eq!(cookie(&headers, "light"), None);
    }
}
