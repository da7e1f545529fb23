//! Style, scripts and type, all inside the program.

use std::sync::LazyLock;

use axum::extract::{Path, RawQuery};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use crate::layout::message;

struct Asset {
    name: &'static str,
    media: &'static str,
    bytes: &'static [u8],
}

const CSS: &str = "text/css; charset=utf-8";
const JAVASCRIPT: &str = "text/javascript; charset=utf-8";
const WOFF2: &str = "font/woff2";

macro_rules! assets {
    ($($name:literal $media:expr;)* made: $($made:literal $made_media:expr, $text:expr;)*) => {
        &[
            $(Asset { name: $name, media: $media, bytes: include_bytes!(concat!("../assets/", $name)) },)*
            $(Asset { name: $made, media: $made_media, bytes: $text.as_bytes() },)*
        ]
    };
}

const ASSETS: &[Asset] = assets! {
    "style.css" CSS;
    "live.js" JAVASCRIPT;
    "day.css" CSS;
    "day.js" JAVASCRIPT;
    "house.js" JAVASCRIPT;
    "why.js" JAVASCRIPT;
    "walls.js" JAVASCRIPT;
    "walls.css" CSS;
    "mark.svg" "image/svg+xml";
    "sans-400.woff2" WOFF2;
    "sans-600.woff2" WOFF2;
    "sans-licence.txt" "text/plain; charset=utf-8";
    made:
    "section.css" CSS, drawing::section::STYLE;
    "elevation.css" CSS, drawing::elevation::STYLE;
};

/// What tells one version of each asset from the next (FNV-1a), in the order of the assets.
static VERSIONS: LazyLock<Vec<String>> = LazyLock::new(|| {
    let version = |asset: &Asset| {
        let hash = asset.bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, &b| {
            (hash ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3)
        });
        format!("{hash:016x}")
    };
    ASSETS.iter().map(version).collect()
});

/// The address of an asset: a browser keeps what it finds there, since other bytes have another
/// address.
pub fn address(name: &str) -> String {
    let place = ASSETS.iter().position(|asset| asset.name == name);
    let version = place.and_then(|place| VERSIONS.get(place));
    debug_assert!(version.is_some(), "{name} is not in the program");
    match version {
        Some(version) => format!("/assets/{name}?{version}"),
        None => format!("/assets/{name}"),
    }
}

/// Loads a script into the page in which this stands.
pub fn script(name: &str) -> Markup {
    html! { script src=(address(name)) defer {} }
}

/// Brings a style into the page in which this stands.
pub fn style(name: &str) -> Markup {
    html! { link rel="stylesheet" href=(address(name)); }
}

/// One of them.
pub async fn asset(Path(name): Path<String>, RawQuery(asked): RawQuery) -> Response {
    let Some(place) = ASSETS.iter().position(|asset| asset.name == name) else {
        return (
            StatusCode::NOT_FOUND,
            message("Not here", "There is no such file in the program."),
        )
            .into_response();
    };
    let asset = &ASSETS[place];
    let kept = asset.media == WOFF2 || asked.as_ref() == VERSIONS.get(place);
    let age = if kept {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    (
        [
            (header::CONTENT_TYPE, asset.media),
            (header::CACHE_CONTROL, age),
        ],
        asset.bytes,
    )
        .into_response()
}
