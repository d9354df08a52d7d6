//! What pages are made with: one style sheet, one script, one mark. All in the program, each under an address that
//! changes with its content, so that a browser never asks twice for the same.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use sha2::{Digest, Sha256};

use super::trouble::Trouble;

/// Name, kind, content.
const ALL: [(&str, &str, &str); 3] = [
    ("page.css", "text/css; charset=utf-8", include_str!("assets/page.css")),
    ("page.js", "text/javascript; charset=utf-8", include_str!("assets/page.js")),
    ("mark.svg", "image/svg+xml", include_str!("assets/mark.svg")),
];

static ADDRESSES: LazyLock<Vec<String>> = LazyLock::new(|| {
    let hashed = |(name, _, content): &(&str, &str, &str)| {
        let hash = Sha256::digest(content.as_bytes());
        let hash: String = hash.iter().take(5).map(|byte| format!("{byte:02x}")).collect();
        format!("{hash}.{name}")
    };
    ALL.iter().map(hashed).collect()
});

/// The address of an asset. One that is not there is an empty address, which a test looks for.
pub fn address(name: &str) -> String {
    let found = ALL.iter().position(|asset| asset.0 == name).and_then(|at| ADDRESSES.get(at));
    found.map_or_else(String::new, |hashed| format!("/a/{hashed}"))
}

/// Gives an asset out.
pub async fn give(Path(name): Path<String>) -> Result<Response, Trouble> {
    let at = ADDRESSES.iter().position(|hashed| *hashed == name);
    let Some((_, kind, content)) = at.and_then(|at| ALL.get(at)) else {
        return Err(Trouble::not_found("there is no such file"));
    };
    let headers =
        [(header::CONTENT_TYPE, *kind), (header::CACHE_CONTROL, "public, max-age=31536000, immutable")];
    Ok((headers, *content).into_response())
}

/// Browsers ask for this by themselves.
pub async fn icon() -> Redirect {
    Redirect::permanent(&address("mark.svg"))
}
