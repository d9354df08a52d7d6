//! The service worker: only where the page is served over TLS do browsers take one. It lets the page open without
//! network, as it was last seen, and keeps nothing but the two screens that are wanted then.

use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::assets;

/// Gives it out, with the addresses of the assets that it keeps.
pub async fn give() -> Response {
    let assets = ["page.css", "page.js", "mark.svg"].map(assets::address);
    let list = serde_json::to_string(&assets).unwrap_or_default();
    let text = include_str!("assets/worker.js").replace("[/* assets */]", &list);
    let headers =
        [(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")];
    (headers, text).into_response()
}
