//! The first page: all jobs with a way to find one, a new one, one brought in.

use axum::extract::multipart::Multipart;
use axum::extract::{Form, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use diagnostics::Source;
use maud::{Markup, html};
use serde::Deserialize;
use store::edit::{Literal, set};
use store::{Head, Key, Kind};

use crate::job::{self, back, failed, know, nowhere, problems};
use crate::layout::{message, plain};
use crate::{App, say};

/// Jobs on a page of the list.
const SHOWN: usize = 50;

/// What part of the list is asked for.
#[derive(Deserialize, Default)]
pub struct Asked {
    /// Words that the name has.
    #[serde(default)]
    q: String,
    /// Page, from 1 on.
    page: Option<usize>,
    /// Those that are put away.
    #[serde(default)]
    away: bool,
}

impl Asked {
    fn matches(&self, job: &Head) -> bool {
        let name = format!("{} {}", job.title, job.key.name()).to_lowercase();
        let mut words = self.q.split_whitespace();
        job.away == self.away && words.all(|word| name.contains(&word.to_lowercase()))
    }

    /// The address of a page of this list.
    fn address(&self, page: usize) -> String {
        let mut address = format!("/?q={}", encoded(&self.q));
        if self.away {
            address += "&away=true";
        }
        if page > 1 {
            address += &format!("&page={page}");
        }
        address
    }
}

/// Text as it may stand in an address.
fn encoded(text: &str) -> String {
    let byte = |byte: u8| {
        if byte.is_ascii_alphanumeric() || b"-_.~".contains(&byte) {
            char::from(byte).to_string()
        } else {
            format!("%{byte:02X}")
        }
    };
    text.bytes().map(byte).collect()
}

/// The list of jobs that was asked for.
fn list(jobs: &[Head], asked: &Asked, zone: &dyn Fn(i64) -> i32) -> Markup {
    let found: Vec<&Head> = jobs.iter().filter(|job| asked.matches(job)).collect();
    let away = jobs.iter().filter(|job| job.away).count();
    let pages = found.len().div_ceil(SHOWN).max(1);
    let page = asked.page.unwrap_or(1).clamp(1, pages);
    let shown = found.iter().skip((page - 1) * SHOWN).take(SHOWN);
    html! {
        @if jobs.len() > 5 || !asked.q.is_empty() {
            form class="find" role="search" action="/" {
                label for="find" { "Find a job by its name" }
                div class="entry" {
                    input id="find" name="q" type="search" value=(asked.q) autocomplete="off";
                    button { "Find" }
                }
                @if asked.away { input type="hidden" name="away" value="true"; }
            }
        }
        @if asked.away { p { "These jobs are put away. Nothing in them is lost. " a href="/" { "The jobs at hand" } } }
        @if found.is_empty() {
            p {
                @if !asked.q.is_empty() { "No job has this name. " a href=(if asked.away { "/?away=true" } else { "/" }) { "All of them" } }
                @else if asked.away { "No job is put away." }
                @else { "There is no job yet." }
            }
        } @else if pages > 1 || !asked.q.is_empty() {
            p class="quiet" { (say::counted(found.len(), "job", "jobs")) ", the one last changed first" @if pages > 1 { "; page " (page) " of " (pages) } "." }
        }
        ul class="joblist" {
            @for job in shown {
                li {
                    a href={ "/jobs/" (job.key.name()) } {
                        @if job.title.is_empty() { (job.key.name()) } @else { (job.title) }
                    }
                    span class="quiet" { "changed " (say::time(job.at, zone(job.at))) }
                }
            }
        }
        @if pages > 1 {
            nav class="neighbours" aria-label="Pages of the list" {
                @if page > 1 { a rel="prev" href=(asked.address(page - 1)) { "‹ Later ones" } } @else { span {} }
                @if page < pages { a rel="next" href=(asked.address(page + 1)) { "Earlier ones ›" } }
            }
        }
        @if !asked.away && away > 0 {
            p { a href="/?away=true" { (say::counted(away, "job is", "jobs are")) " put away" } }
        }
    }
}

/// All jobs.
pub async fn page(State(app): State<App>, Query(asked): Query<Asked>) -> Result<Markup, Response> {
    let store = &app.workspace.store;
    let jobs = store.heads(Kind::Job).await.map_err(|e| failed(&e))?;
    let catalogues = store.heads(Kind::Catalogue).await.map_err(|e| failed(&e))?;
    Ok(plain(
        "Jobs",
        &html! {
            h1 { "Jobs" }
            (list(&jobs, &asked, &*app.workspace.zone))
            div class="pair" {
                section {
                    h2 { "Begin a job" }
                    form method="post" action="/jobs" {
                        label for="new-name" { "Name of the job" }
                        p class="hint" id="new-name-hint" { "For instance the street and the number." }
                        input id="new-name" name="name" required maxlength="200" autocomplete="off" aria-describedby="new-name-hint";
                        fieldset {
                            legend { "What your tools show" }
                            label class="choice" { input type="radio" name="units" value="IP" checked; " feet, cfm, inches of water" }
                            label class="choice" { input type="radio" name="units" value="SI"; " metres, litres a second, pascals" }
                        }
                        fieldset {
                            legend { "Begin with" }
                            label class="choice" { input type="radio" name="with" value="nothing" checked; " an empty survey, question by question" }
                            label class="choice" { input type="radio" name="with" value="example"; " the figures of an example, to be changed" }
                        }
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
    #[serde(default)]
    units: String,
    #[serde(default)]
    with: String,
}

/// Begins a job, empty or from the commented starter.
pub async fn begin(State(app): State<App>, Form(begun): Form<Begun>) -> Response {
    let Some(name) = good_name(&begun.name) else {
        return name_needed();
    };
    let empty = begun.with != "example";
    let starter = if empty {
        house::file::blank()
    } else {
        house::file::starter()
    };
    let mut text = renamed(starter, name);
    if begun.units == "SI" {
        let units = set(&text, &["units".into()], Literal::text("SI"));
        text = units
            .ok()
            .and_then(|splice| splice.apply(&text).ok())
            .unwrap_or(text);
    }
    match job::begin(&app, &Key::from_words(Kind::Job, name), text).await {
        Ok(key) if empty => back(&format!("/jobs/{}/survey/walk", key.name())),
        Ok(key) => back(&format!("/jobs/{}", key.name())),
        Err(error) => failed(&error),
    }
}

/// A name as people give it to a job, if it is one.
pub fn good_name(name: &str) -> Option<&str> {
    let name = name.trim();
    let good = !name.is_empty() && name.len() <= 200 && !name.chars().any(char::is_control);
    good.then_some(name)
}

/// The page that asks for a name.
pub fn name_needed() -> Response {
    let page = message(
        "A name is needed",
        "Give the job a name of up to 200 characters, for instance its street and number.",
    );
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

/// A job's text under another name; as it is where the name cannot be set.
pub fn renamed(text: &str, name: &str) -> String {
    set(text, &["name".into()], Literal::text(name))
        .ok()
        .and_then(|splice| splice.apply(text).ok())
        .unwrap_or_else(|| text.to_owned())
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
