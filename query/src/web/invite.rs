//! What a device that speaks plain HTTP is told where the page is served over TLS: how to get the home's certificate,
//! and the certificate itself. Nothing of the home's notes is here.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Extension, Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::from_fn;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use maud::{DOCTYPE, html};

use super::guard::{self, Ends};
use super::{assets, authority::Authority};

/// What the invitation is made of.
pub struct Invitation {
    /// The certificate for phones, in PEM.
    certificate: String,
    fingerprint: String,
    names: Vec<String>,
}

impl Invitation {
    /// The invitation of an authority whose page also goes by `names`.
    pub fn new(authority: &Authority, names: &[String]) -> Self {
        Self {
            certificate: authority.certificate().to_owned(),
            fingerprint: authority.fingerprint(),
            names: names.to_vec(),
        }
    }
}

/// The few screens of it.
pub fn router(invitation: Arc<Invitation>) -> Router {
    Router::new()
        .route("/a/{name}", get(assets::give))
        .route("/leadsman.crt", get(certificate))
        .fallback(show)
        .layer(from_fn(guard::headers))
        .with_state(invitation)
}

async fn certificate(State(invitation): State<Arc<Invitation>>) -> Response {
    let headers = [
        (header::CONTENT_TYPE, "application/x-x509-ca-cert"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"leadsman.crt\""),
    ];
    (headers, invitation.certificate.clone()).into_response()
}

async fn show(
    State(invitation): State<Arc<Invitation>>,
    Extension(ends): Extension<Ends>,
    request: Request,
) -> Response {
    let Some(host) = guard::own_host(request.headers(), request.uri(), ends.local, &invitation.names) else {
        return StatusCode::MISDIRECTED_REQUEST.into_response();
    };
    let page = html! {
        (DOCTYPE)
        html lang="en" data-light="auto" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Leadsman: the certificate" }
                link rel="stylesheet" href=(assets::address("page.css"));
                link rel="icon" href=(assets::address("mark.svg")) type="image/svg+xml";
            }
            body {
                main #main {
                    h1 { "The boat's own certificate" }
                    p { "This page is served over TLS. Give this device the boat's certificate once; then the page opens \
                         without network, and records by itself." }
                    p.more { a.button.first href="/leadsman.crt" { "Get the certificate" } }
                    h2 { "Android" }
                    p { "Settings, Security, Encryption and credentials, Install a certificate, CA certificate; pick \
                         leadsman.crt." }
                    h2 { "iPhone, iPad" }
                    p { "Open the downloaded profile in Settings and install it; then Settings, General, About, \
                         Certificate Trust Settings, and switch it on." }
                    h2 { "Computers" }
                    p { "Import it under Authorities in the browser's certificate settings." }
                    h2 { "See that it is the boat's" }
                    p { "The device shows this SHA-256 fingerprint, and so does the terminal:" }
                    p.name { (invitation.fingerprint) }
                    p.caution { "The certificate speaks for private addresses and names of a boat's own network only." }
                    p.more { a.button href={ "https://" (host) "/" } { "Open the page" } }
                }
            }
        }
    };
    axum::response::Html(page.into_string()).into_response()
}
