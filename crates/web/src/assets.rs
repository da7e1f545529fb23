//! Style, script and type, all inside the program.

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};

use crate::layout::message;

struct Asset {
    name: &'static str,
    media: &'static str,
    bytes: &'static [u8],
}

const ASSETS: [Asset; 6] = [
    Asset {
        name: "style.css",
        media: "text/css; charset=utf-8",
        bytes: include_bytes!("../assets/style.css"),
    },
    Asset {
        name: "live.js",
        media: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../assets/live.js"),
    },
    Asset {
        name: "mark.svg",
        media: "image/svg+xml",
        bytes: include_bytes!("../assets/mark.svg"),
    },
    Asset {
        name: "sans-400.woff2",
        media: "font/woff2",
        bytes: include_bytes!("../assets/sans-400.woff2"),
    },
    Asset {
        name: "sans-600.woff2",
        media: "font/woff2",
        bytes: include_bytes!("../assets/sans-600.woff2"),
    },
    Asset {
        name: "sans-licence.txt",
        media: "text/plain; charset=utf-8",
        bytes: include_bytes!("../assets/sans-licence.txt"),
    },
];

/// The address of the style.
pub const STYLE: &str = "/assets/style.css";
/// The address of the script.
pub const SCRIPT: &str = "/assets/live.js";

/// One of them.
pub async fn asset(Path(name): Path<String>) -> Response {
    let Some(asset) = ASSETS.iter().find(|asset| asset.name == name) else {
        return (
            StatusCode::NOT_FOUND,
            message("Not here", "There is no such file in the program."),
        )
            .into_response();
    };
    let age = if asset.media == "font/woff2" {
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
