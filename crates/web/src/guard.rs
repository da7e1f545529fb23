//! What every request has to pass, and what every answer carries.

use axum::extract::{Request, State};
use axum::http::header::{self, HeaderName, HeaderValue};
use axum::http::{HeaderMap, Method, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Redirect, Response};

use crate::layout::message;
use crate::{App, Hosts};

/// Nothing that does not come from this program, no inline script or style, in no frame of others.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; \
    img-src 'self'; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

/// Refuses requests under strange names and those that a page of somebody else makes; sets the
/// headers of safety on every answer.
pub async fn guard(State(app): State<App>, request: Request, next: Next) -> Response {
    let mut answer = match refusal(&app.workspace.hosts, &request) {
        None => match without_slash(request.uri()) {
            Some(address) => Redirect::permanent(&address).into_response(),
            None => next.run(request).await,
        },
        Some((status, words)) => (status, message("Refused", words)).into_response(),
    };
    let headers = answer.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::CACHE_CONTROL, "no-store"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
    ] {
        headers
            .entry(name)
            .or_insert(HeaderValue::from_static(value));
    }
    answer
}

/// The address that is meant by one with slashes at its end. It stays on this server: an address that
/// begins with two slashes would name another.
fn without_slash(uri: &Uri) -> Option<String> {
    let path = uri.path();
    if path == "/" || !path.ends_with('/') {
        return None;
    }
    let path = path.trim_matches('/');
    Some(match uri.query() {
        Some(query) => format!("/{path}?{query}"),
        None => format!("/{path}"),
    })
}

fn refusal(hosts: &Hosts, request: &Request) -> Option<(StatusCode, &'static str)> {
    let asked = asked_host(request.uri(), request.headers());
    if let Hosts::These(known) = hosts {
        let named = asked
            .as_deref()
            .is_some_and(|asked| known.iter().any(|known| known == without_port(asked)));
        if !named {
            return Some((
                StatusCode::MISDIRECTED_REQUEST,
                "This workspace answers only under its own address. Open the link that the program printed.",
            ));
        }
    }
    let reading = matches!(*request.method(), Method::GET | Method::HEAD);
    if !reading && from_elsewhere(request.headers(), asked.as_deref()) {
        return Some((
            StatusCode::FORBIDDEN,
            "The page that sent this belongs to another site. Nothing was changed.",
        ));
    }
    None
}

fn asked_host(uri: &Uri, headers: &HeaderMap) -> Option<String> {
    let host = headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok());
    host.or_else(|| uri.authority().map(|authority| authority.as_str()))
        .map(str::to_ascii_lowercase)
}

/// A host without its port; `[::1]:80` has colons of its own.
fn without_port(host: &str) -> &str {
    match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) => name,
        _ => host,
    }
}

/// Whether a browser says that a page of another origin sent this. A browser says so by
/// `Sec-Fetch-Site`, an older one by `Origin`; what sends neither is no browser, and no page of a
/// stranger can be behind it.
fn from_elsewhere(headers: &HeaderMap, asked: Option<&str>) -> bool {
    let text = |name: &str| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
    if let Some(site) = text("sec-fetch-site") {
        return !matches!(site, "same-origin" | "none");
    }
    match text("origin") {
        None => false,
        Some(origin) => {
            let host = origin.split_once("://").map(|(_, host)| host);
            host.map(str::to_ascii_lowercase).as_deref() != asked
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ports_are_cut_off() {
        for (host, name) in [
            ("localhost:80", "localhost"),
            ("localhost", "localhost"),
            ("127.0.0.1:8037", "127.0.0.1"),
            ("[::1]:80", "[::1]"),
            ("[::1]", "[::1]"),
        ] {
            assert_eq!(without_port(host), name);
        }
    }

    #[test]
    fn slashes_at_the_end() {
        for (address, meant) in [
            ("/", None),
            ("/jobs/a", None),
            ("/jobs/a/?x=/", Some("/jobs/a?x=/")),
            ("/jobs/a//", Some("/jobs/a")),
            ("//elsewhere.example/", Some("/elsewhere.example")),
            ("///", Some("/")),
        ] {
            let uri: Uri = address.parse().expect("an address");
            assert_eq!(without_slash(&uri).as_deref(), meant, "{address}");
        }
    }

    #[test]
    fn senders() {
        // (Sec-Fetch-Site, Origin, from elsewhere)
        let facts = [
            (Some("same-origin"), Some("http://localhost:80"), false),
            (Some("none"), None, false),
            (Some("same-site"), Some("http://localhost:81"), true),
            (Some("cross-site"), None, true),
            (Some("cross-site"), Some("http://localhost:80"), true),
            (None, Some("http://localhost:80"), false),
            (None, Some("http://localhost:81"), true),
            (None, Some("null"), true),
            (None, None, false),
        ];
        for (site, origin, elsewhere) in facts {
            let mut headers = HeaderMap::new();
            for (name, value) in [("sec-fetch-site", site), ("origin", origin)] {
                if let Some(value) = value {
                    headers.insert(name, HeaderValue::from_static(value));
                }
            }
            let found = from_elsewhere(&headers, Some("localhost:80"));
            assert_eq!(found, elsewhere, "{site:?} {origin:?}");
        }
    }
}
