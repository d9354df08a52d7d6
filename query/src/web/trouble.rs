//! What cannot be answered: the error with its hint on a page of its own, or as JSON for the page's script.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use maud::html;

use super::frame::{self, Look};
use super::page::Page;
use crate::error::{Error, Kind};

/// An error as an answer.
#[derive(Clone, Debug)]
pub struct Trouble {
    status: StatusCode,
    error: Arc<Error>,
}

impl Trouble {
    /// An error under a status of its own.
    pub fn new(status: StatusCode, error: Error) -> Self {
        Self { status, error: Arc::new(error) }
    }

    /// Nothing of the kind is here.
    pub fn not_found(what: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, Error::wrong_use(what))
    }

    /// What the request says is no good.
    pub fn wrong(what: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, Error::wrong_use(what))
    }
}

impl From<Error> for Trouble {
    fn from(error: Error) -> Self {
        let status = match error.kind {
            Kind::Use => StatusCode::BAD_REQUEST,
            Kind::Source => StatusCode::UNPROCESSABLE_ENTITY,
            Kind::Home | Kind::Output => StatusCode::SERVICE_UNAVAILABLE,
        };
        Self::new(status, error)
    }
}

impl From<leadsman_index::Error> for Trouble {
    fn from(error: leadsman_index::Error) -> Self {
        Error::from(error).into()
    }
}

/// The error rides on the answer to [`dress`], which knows how the page looks.
impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        (self.status, axum::Extension(self)).into_response()
    }
}

/// Gives errors their page.
pub async fn dress(State(page): State<Arc<Page>>, request: Request, next: Next) -> Response {
    let look = Look::of(&page, request.headers());
    let wants_json =
        request.headers().get(header::ACCEPT).is_some_and(|accept| accept.as_bytes() == b"application/json");
    let asked = format!("{} {}", request.method(), request.uri().path());
    let mut answer = next.run(request).await;
    let Some(Trouble { status, error }) = answer.extensions_mut().remove() else { return answer };
    if status.is_server_error() {
        let causes = error.causes.iter().map(|cause| format!(": {cause}")).collect::<String>();
        (page.setting.log)(&format!("{asked}: {}{causes}", error.message));
    }
    if wants_json {
        let body = serde_json::json!({ "error": error.message, "hint": error.hint }).to_string();
        return (status, [(header::CONTENT_TYPE, "application/json")], body).into_response();
    }
    let body = html! {
        h1 { "That did not work" }
        p.lead { (error.message) }
        @for cause in &error.causes { p { "because: " (cause) } }
        @if let Some(hint) = &error.hint { p { (hint) } }
        p { a.button href="/" { "Before departure" } }
    };
    (status, frame::page(&look, "That did not work", "", body)).into_response()
}

/// No screen has this address.
pub async fn nowhere() -> Trouble {
    Trouble::not_found("there is no such page")
}

/// The address is there, but not for this kind of request.
pub async fn not_so() -> Trouble {
    Trouble::new(StatusCode::METHOD_NOT_ALLOWED, Error::wrong_use("this page is not asked in that way"))
}
