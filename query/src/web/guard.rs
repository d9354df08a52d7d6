//! What every request passes before a screen sees it: its Host, its pace, whether its device is paired, and, for one
//! that changes something, its Origin and its token.
//!
//! The token stands in the address that a form is sent to, not in the form, so that a request without it is refused
//! before a byte of what it carries is read.

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};

use super::frame::{DEVICE, cookie};
use super::page::Page;
use super::trouble::Trouble;
use crate::error::Error;

/// The two ends of the connection that a request came by.
#[derive(Clone, Copy, Debug)]
pub struct Ends {
    /// The other side.
    pub peer: SocketAddr,
    /// This side.
    pub local: SocketAddr,
}

/// Nothing from elsewhere, nothing inline, nothing framed. The same origin's referrer stays, as a form that is sent
/// without one has the Origin `null`.
const HEADERS: [(&str, &str); 7] = [
    (
        "content-security-policy",
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
         manifest-src 'self'; worker-src 'self'; media-src 'self' blob:; form-action 'self'; base-uri 'none'; \
         frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(), geolocation=(), microphone=(self)"),
];

/// Puts the headers of every answer on it.
pub async fn headers(request: Request, next: Next) -> Response {
    let mut answer = next.run(request).await;
    let headers = answer.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    // Pages are made anew each time, and are nobody's but the device's own.
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("private, no-cache"));
    answer
}

/// Lets a request through, or says why not and writes it in the log.
pub async fn check(State(page): State<Arc<Page>>, request: Request, next: Next) -> Response {
    let ends = request.extensions().get::<Ends>().copied();
    let refused = match ends {
        Some(ends) => look_over(&page, &request, ends),
        None => Some((StatusCode::INTERNAL_SERVER_ERROR, "the connection's ends are not known".to_owned())),
    };
    let Some((status, why)) = refused else { return next.run(request).await };
    let uri = request.uri().path();
    if status == StatusCode::UNAUTHORIZED && request.method() == Method::GET && !is_script(request.headers())
    {
        return Redirect::to("/pair").into_response();
    }
    let from = ends.map_or_else(|| "?".to_owned(), |ends| ends.peer.ip().to_string());
    (page.setting.log)(&format!("refused {} {uri} from {from}: {why}", request.method()));
    let error = Error::wrong_use(why);
    let error = match status {
        StatusCode::UNAUTHORIZED => error.hint("open this page in the browser and pair the device"),
        StatusCode::TOO_MANY_REQUESTS => error.hint("wait a minute, then try again"),
        StatusCode::FORBIDDEN => error.hint("load the page afresh and try again; what was typed is kept"),
        _ => error,
    };
    Trouble::new(status, error).into_response()
}

/// Why a request is refused; `None` lets it through.
fn look_over(page: &Page, request: &Request, ends: Ends) -> Option<(StatusCode, String)> {
    let headers = request.headers();
    let Some(host) = host(headers, request.uri()) else {
        return Some((StatusCode::BAD_REQUEST, "the request names no host".to_owned()));
    };
    if !is_own(&host, ends.local, &page.setting.names) {
        return Some((
            StatusCode::MISDIRECTED_REQUEST,
            format!("expected this machine's own address as the host, found \"{host}\""),
        ));
    }
    let path = request.uri().path();
    let device = cookie(headers, DEVICE).unwrap_or_default();
    // What is needed to pair a device is shown to one that is not.
    let open = path == "/pair" || path.starts_with("/a/") || path == "/favicon.ico";
    if page.setting.pairing && !open && !page.paired.knows(device) {
        return Some((StatusCode::UNAUTHORIZED, "this device is not paired".to_owned()));
    }
    if matches!(*request.method(), Method::GET | Method::HEAD) {
        return None;
    }
    if !page.limits.change(ends.peer.ip()) {
        return Some((StatusCode::TOO_MANY_REQUESTS, "too many changes in too short a time".to_owned()));
    }
    if let Err(why) = from_here(headers, &host, page.setting.secure) {
        return Some((StatusCode::FORBIDDEN, why));
    }
    let token = query(request.uri(), "token").unwrap_or_default();
    // A device whose cookie is no longer good is paired as one that has none.
    let device = if path == "/pair" { "" } else { device };
    if token != page.paired.token(device) {
        return Some((
            StatusCode::FORBIDDEN,
            if token.is_empty() {
                "the token is missing".to_owned()
            } else {
                "the token is not good".to_owned()
            },
        ));
    }
    None
}

/// The host of a request, where it is this machine.
pub fn own_host(headers: &HeaderMap, uri: &Uri, local: SocketAddr, names: &[String]) -> Option<String> {
    host(headers, uri).filter(|host| is_own(host, local, names))
}

fn host(headers: &HeaderMap, uri: &Uri) -> Option<String> {
    let named = headers.get(header::HOST).and_then(|host| host.to_str().ok());
    named.or(uri.authority().map(|authority| authority.as_str())).map(str::to_lowercase)
}

/// Whether a host is this machine: the address that the connection came to, `localhost` on loopback, or a name that
/// the skipper gave. A name that someone else's server points at this machine is none of these.
fn is_own(host: &str, local: SocketAddr, names: &[String]) -> bool {
    let (name, port) = match host.rsplit_once(':') {
        Some((name, port)) if !name.ends_with(':') && !port.ends_with(']') => (name, port.parse().ok()),
        _ => (host, None),
    };
    let name = name.trim_start_matches('[').trim_end_matches(']');
    // The port must fit too: another program's page on this machine is another origin.
    if port.unwrap_or(if local.port() == 443 { 443 } else { 80 }) != local.port() {
        return false;
    }
    match name.parse::<IpAddr>() {
        Ok(address) => address.to_canonical() == local.ip().to_canonical(),
        Err(_) if name == "localhost" => local.ip().to_canonical().is_loopback(),
        Err(_) => names.iter().any(|own| own.eq_ignore_ascii_case(name)),
    }
}

/// Whether a request comes from this page. Errors: the reason why not.
fn from_here(headers: &HeaderMap, host: &str, secure: bool) -> Result<(), String> {
    let own = format!("{}://{host}", if secure { "https" } else { "http" });
    match headers.get(header::ORIGIN).map(|origin| origin.to_str().unwrap_or_default()) {
        Some(origin) if origin.eq_ignore_ascii_case(&own) => Ok(()),
        Some(origin) => Err(format!("expected the origin {own}, found \"{origin}\"")),
        None => match headers.get("sec-fetch-site").map(HeaderValue::as_bytes) {
            Some(b"same-origin") => Ok(()),
            _ => Err("the request does not say which page it comes from".to_owned()),
        },
    }
}

/// Whether the page's own script asks, which wants no other page in answer.
fn is_script(headers: &HeaderMap) -> bool {
    headers.get(header::ACCEPT).is_some_and(|accept| accept.as_bytes() == b"application/json")
}

/// A part of a request's query that has no signs to be decoded.
fn query<'a>(uri: &'a Uri, name: &str) -> Option<&'a str> {
    let mut parts = uri.query()?.split('&').filter_map(|part| part.split_once('='));
    parts.find_map(|(key, value)| (key == name).then_some(value))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_its_own_names_are_answered_to() {
        let local: SocketAddr = "192.168.4.1:7373".parse().expect("an address");
        let names = ["boat.local".to_owned()];
        for own in ["192.168.4.1:7373", "boat.local:7373"] {
            assert!(is_own(own, local, &names), "{own}");
        }
        for other in
            ["192.168.4.1", "192.168.4.2:7373", "evil.example:7373", "localhost:7373", "boat.local", ""]
        {
            assert!(!is_own(other, local, &names), "{other}");
        }
        let six: SocketAddr = "[::1]:7373".parse().expect("an address");
        assert!(is_own("[::1]:7373", six, &[]) && is_own("localhost:7373", six, &[]));
        assert!(!is_own("[::1]", six, &[]));
        let web: SocketAddr = "10.0.0.2:80".parse().expect("an address");
        assert!(is_own("10.0.0.2", web, &[]));
        let mapped: SocketAddr = "[::ffff:127.0.0.1]:7373".parse().expect("an address");
        assert!(is_own("127.0.0.1:7373", mapped, &[]));
    }

    #[test]
    fn another_page_is_no_origin() {
        let check = |name: &'static str, value: &'static str| {
            let mut headers = HeaderMap::new();
            headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
            from_here(&headers, "127.0.0.1:7373", false)
        };
        assert_eq!(check("origin", "http://127.0.0.1:7373"), Ok(()));
        assert_eq!(check("sec-fetch-site", "same-origin"), Ok(()));
        for (name, value) in [
            ("origin", "https://127.0.0.1:7373"),
            ("origin", "http://127.0.0.1:7374"),
            ("origin", "null"),
            ("sec-fetch-site", "cross-site"),
            ("sec-fetch-site", "none"),
            ("accept", "*/*"),
        ] {
            assert!(check(name, value).is_err(), "{name}: {value}");
        }
    }
}
