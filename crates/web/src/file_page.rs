//! The job as the text that it is.

use axum::extract::{Form, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use diagnostics::Source;
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;

use crate::App;
use crate::job::{Open, back, change, failed, problems};
use crate::layout::{message, of_job};

/// The page.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let text = open.known.text();
    Ok(of_job(
        &open,
        "/file",
        "The file",
        &html! {
            h1 { "The file" }
            p {
                "A job is this text. What the other pages change is changed here and nowhere else, and comments stay. "
                a href=(open.address("/file.toml")) download={ (open.head.key.name()) ".toml" } { "Fetch the file" }
            }
            (problems(&open.known))
            form method="post" action=(open.address("/file")) {
                input type="hidden" name="version" value=(open.head.version);
                label for="text" { "The text" }
                // The first line break behind the tag belongs to the tag.
                textarea id="text" name="text" rows="28" spellcheck="false" autocapitalize="off" autocomplete="off" {
                    (PreEscaped("\n")) (text)
                }
                button { "Keep the text" }
            }
        },
    ))
}

/// A text as it was sent.
#[derive(Deserialize)]
pub struct Sent {
    version: u64,
    text: String,
}

/// Keeps the text, mistakes and all: its diagnostics are shown, and undo takes it back.
pub async fn save(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Sent>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    // Browsers send lines with the ends of the old typewriters, whatever they were.
    let text = if open.known.text().contains("\r\n") {
        sent.text
    } else {
        sent.text.replace("\r\n", "\n")
    };
    if text.len() > Source::LARGEST {
        let page = message(
            "The text is too long",
            "A job has a few thousand characters. Nothing was kept.",
        );
        return Err((StatusCode::PAYLOAD_TOO_LARGE, page).into_response());
    }
    change(&app, &open.head.key, sent.version, "the text".into(), &text)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&open.address("/file")))
}

/// The file, byte by byte.
pub async fn export(
    State(app): State<App>,
    Path(name): Path<String>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let disposition = format!("attachment; filename=\"{}.toml\"", open.head.key.name());
    Ok((
        [
            (
                header::CONTENT_TYPE,
                "application/toml; charset=utf-8".to_owned(),
            ),
            (header::CONTENT_DISPOSITION, disposition),
        ],
        open.known.text().to_owned(),
    )
        .into_response())
}
