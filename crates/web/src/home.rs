//! The first page: all jobs, a new one, one brought in.

use axum::extract::multipart::Multipart;
use axum::extract::{Form, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use diagnostics::Source;
use maud::{Markup, html};
use serde::Deserialize;
use store::edit::{Literal, set};
use store::{Key, Kind};

use crate::job::{self, back, failed, know, nowhere, problems};
use crate::layout::{message, plain};
use crate::{App, say};

/// Jobs that are shown; the others are found by their names.
const SHOWN: usize = 200;

/// All jobs.
pub async fn page(State(app): State<App>) -> Result<Markup, Response> {
    let store = &app.workspace.store;
    let jobs = store.heads(Kind::Job).await.map_err(|e| failed(&e))?;
    let catalogues = store.heads(Kind::Catalogue).await.map_err(|e| failed(&e))?;
    Ok(plain(
        "Jobs",
        &html! {
            h1 { "Jobs" }
            @if jobs.is_empty() { p { "There is no job yet." } }
            ul class="joblist" {
                @for job in jobs.iter().take(SHOWN) {
                    li {
                        a href={ "/jobs/" (job.key.name()) } {
                            @if job.title.is_empty() { (job.key.name()) } @else { (job.title) }
                        }
                        span class="quiet" { (say::time(job.at)) }
                    }
                }
            }
            @if jobs.len() > SHOWN {
                p { "And " (say::thousands(jobs.len() - SHOWN)) " that were not touched for longer." }
            }
            div class="pair" {
                section {
                    h2 { "Begin a job" }
                    form method="post" action="/jobs" {
                        label for="new-name" { "Name of the job" }
                        p class="hint" id="new-name-hint" { "For instance the street and the number." }
                        input id="new-name" name="name" required maxlength="200" autocomplete="off" aria-describedby="new-name-hint";
                        button { "Begin" }
                    }
                }
                section {
                    h2 { "Bring in a file" }
                    form method="post" action="/jobs/import" enctype="multipart/form-data" {
                        label for="import" { "A job file, or a catalogue of units" }
                        input id="import" name="file" type="file" accept=".toml,text/plain" required;
                        button { "Bring in" }
                    }
                    @if !catalogues.is_empty() {
                        p class="hint" {
                            "Catalogues that are here: "
                            @for (index, catalogue) in catalogues.iter().enumerate() {
                                @if index > 0 { ", " }
                                (catalogue.key.name())
                            }
                            ". A file of the same name takes the place of the older one."
                        }
                    }
                }
            }
        },
    ))
}

/// What a new job asks for.
#[derive(Deserialize)]
pub struct Begun {
    name: String,
}

/// Begins a job from the commented starter.
pub async fn begin(State(app): State<App>, Form(begun): Form<Begun>) -> Response {
    let name = begun.name.trim();
    if name.is_empty() || name.len() > 200 || name.chars().any(char::is_control) {
        let page = message(
            "A name is needed",
            "Give the job a name of up to 200 characters, for instance its street and number.",
        );
        return (StatusCode::UNPROCESSABLE_ENTITY, page).into_response();
    }
    let starter = house::file::starter();
    let text = set(starter, &["name".into()], Literal::text(name))
        .ok()
        .and_then(|splice| splice.apply(starter).ok())
        .unwrap_or_else(|| starter.to_owned());
    match job::begin(&app, &Key::from_words(Kind::Job, name), text).await {
        Ok(key) => back(&format!("/jobs/{}", key.name())),
        Err(error) => failed(&error),
    }
}

/// Brings in a file.
pub async fn import(State(app): State<App>, mut form: Multipart) -> Response {
    let mut file = None;
    loop {
        match form.next_field().await {
            Ok(Some(field)) if field.name() == Some("file") => {
                let name = field.file_name().unwrap_or_default().to_owned();
                match field.bytes().await {
                    Ok(bytes) => file = Some((name, bytes)),
                    Err(error) => return refused(error.status(), &error.body_text()),
                }
            }
            Ok(Some(_)) => {}
            Ok(None) => break,
            Err(error) => return refused(error.status(), &error.body_text()),
        }
    }
    let Some((name, bytes)) = file.filter(|(_, bytes)| !bytes.is_empty()) else {
        return refused(
            StatusCode::UNPROCESSABLE_ENTITY,
            "Choose a file that is not empty",
        );
    };
    let text = match std::str::from_utf8(&bytes) {
        Ok(text) if bytes.len() <= Source::LARGEST => text,
        _ => {
            // Not a text of ours: shown with its defects, and not kept.
            let known = app.shelf.known(&String::from_utf8_lossy(&bytes), None);
            let page = plain(
                "This file cannot be used",
                &html! {
                    h1 { "This file cannot be used" }
                    p { "It is not text in UTF-8, or larger than " (Source::LARGEST / 1_000_000) " MB. Nothing was kept." }
                    (problems(&known))
                    p { a href="/" { "All jobs" } }
                },
            );
            return (StatusCode::UNPROCESSABLE_ENTITY, page).into_response();
        }
    };
    let stem = name.rsplit(['/', '\\']).next().unwrap_or_default();
    if is_catalogue(text) {
        return catalogue(&app, stem, text).await;
    }
    let title = store::edit::title(text);
    let wish = if title.is_empty() {
        stem.trim_end_matches(".toml")
    } else {
        &title
    };
    match job::begin(&app, &Key::from_words(Kind::Job, wish), text.to_owned()).await {
        Ok(key) => {
            let errors = know(&app, text).await.reading.problems.have_errors();
            let below = if errors { "/file" } else { "" };
            back(&format!("/jobs/{}{below}", key.name()))
        }
        Err(error) => failed(&error),
    }
}

/// A catalogue has units and no house.
fn is_catalogue(text: &str) -> bool {
    let Ok(values) = store::edit::values(text) else {
        return false;
    };
    let begins = |key: &str| {
        values
            .iter()
            .any(|found| found.path.first() == Some(&key.into()))
    };
    begins("unit") && !begins("house") && !begins("climate")
}

async fn catalogue(app: &App, name: &str, text: &str) -> Response {
    let Some(key) = Key::new(Kind::Catalogue, name) else {
        return refused(
            StatusCode::UNPROCESSABLE_ENTITY,
            "Name the catalogue with small letters, digits, hyphens and dots, as the job names it",
        );
    };
    let kept = match app.workspace.store.current(&key).await {
        Ok((head, _)) => {
            job::change(app, &key, head.version, "brought in again".into(), text).await
        }
        Err(store::StoreError::Unknown(_)) => {
            job::begin(app, &key, text.to_owned()).await.map(|_| ())
        }
        Err(error) => Err(error),
    };
    match kept {
        Ok(()) => back("/"),
        Err(error) => failed(&error),
    }
}

fn refused(status: StatusCode, why: &str) -> Response {
    (
        status,
        message("The file was not brought in", &format!("{why}.")),
    )
        .into_response()
}

/// There is nothing at this address.
pub async fn lost() -> Response {
    nowhere()
}
