//! A job that is open: its text, what is known of it, and how it is changed.

use std::sync::Arc;
use units::text::capital;

use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};
use diagnostics::{Problem, Problems, Severity};
use maud::{Markup, html};
use serde::Deserialize;
use store::{Change, Document, Event, Head, Key, Kind, Splice, StoreError, edit};

use crate::App;
use crate::day::Log;
use crate::home::{good_name, name_needed, renamed};
use crate::known::Known;
use crate::layout::{message, of_job};
use crate::steps::steps;

/// A job that is open.
pub struct Open {
    /// Where its history ends.
    pub head: Head,
    /// What is known of its text.
    pub known: Arc<Known>,
    /// The journal of its set-up day.
    pub log: Log,
    /// By how many minutes the clocks of the place are ahead of UTC now.
    pub zone: i32,
}

impl Open {
    /// Opens a job by its name in the address.
    pub async fn job(app: &App, name: &str) -> Result<Self, Response> {
        let key = Key::new(Kind::Job, name).ok_or_else(nowhere)?;
        let (head, text) = app
            .workspace
            .store
            .current(&key)
            .await
            .map_err(|error| failed(&error))?;
        let known = know(app, &text).await;
        app.shelf.remember(name, &known);
        let log = Log::of(app, name).await.map_err(|error| failed(&error))?;
        let zone = (app.workspace.zone)((app.workspace.clock)());
        Ok(Self {
            head,
            known,
            log,
            zone,
        })
    }

    /// Name of the job.
    pub fn name(&self) -> &str {
        if self.head.title.is_empty() {
            self.head.key.name()
        } else {
            &self.head.title
        }
    }

    /// An address below the job's.
    pub fn address(&self, below: &str) -> String {
        format!("/jobs/{}{below}", self.head.key.name())
    }
}

/// What is known of a text, with the catalogue that it names.
pub async fn know(app: &App, text: &str) -> Arc<Known> {
    let catalogue = catalogue(app, text).await;
    app.shelf.known(text, catalogue.as_deref())
}

/// The same of a text that is only tried: it takes the place of none that is kept.
pub async fn try_out(app: &App, text: &str) -> Known {
    let catalogue = catalogue(app, text).await;
    Known::new(text, catalogue.as_deref())
}

async fn catalogue(app: &App, text: &str) -> Option<String> {
    // A file too large to be read is not looked into either.
    if text.len() > diagnostics::Source::LARGEST {
        return None;
    }
    let values = edit::values(text).ok()?;
    let named = values
        .iter()
        .find(|found| found.path == ["catalogue".into()])?;
    let key = Key::new(Kind::Catalogue, &named.value)?;
    let (_, text) = app.workspace.store.current(&key).await.ok()?;
    Some(text)
}

/// Appends a change, if the history still ends where the page that asked for it believed it does.
pub async fn append(
    app: &App,
    key: &Key,
    seen: u64,
    change: impl FnOnce(&Document) -> Option<Change>,
) -> Result<(), StoreError> {
    let events = app.workspace.store.history(key).await?;
    let mut document = Document::replay(&events)?;
    if document.version() != seen {
        return Err(StoreError::Moved {
            now: document.version(),
        });
    }
    let Some(change) = change(&document) else {
        return Ok(());
    };
    let event = Event::new(seen + 1, (app.workspace.clock)(), change);
    document.take(&event)?;
    app.workspace.store.append(key, &event, &document).await
}

/// Replaces the text.
pub async fn change(
    app: &App,
    key: &Key,
    seen: u64,
    what: String,
    text: &str,
) -> Result<(), StoreError> {
    append(app, key, seen, |document| {
        let splice = Splice::between(document.text(), text);
        (!splice.is_empty()).then_some(Change::Edited { what, splice })
    })
    .await
}

/// Begins a history under a name that is free, made from a wish.
pub async fn begin(app: &App, wish: &Key, text: String) -> Result<Key, StoreError> {
    let event = Event::new(1, (app.workspace.clock)(), Change::Began { text });
    let document = Document::replay([&event])?;
    let mut key = wish.clone();
    let mut number = 1;
    loop {
        match app.workspace.store.append(&key, &event, &document).await {
            Err(StoreError::Moved { .. }) if number < 10_000 => {
                number += 1;
                key = wish.numbered(number);
            }
            other => return other.map(|()| key),
        }
    }
}

/// There is nothing at this address.
pub fn nowhere() -> Response {
    let page = message("Not here", "There is nothing at this address.");
    (StatusCode::NOT_FOUND, page).into_response()
}

/// The page for an error of the store.
pub fn failed(error: &StoreError) -> Response {
    let words = format!("{}.", capital(&error.to_string()));
    match error {
        StoreError::Unknown(_) => (StatusCode::NOT_FOUND, message("Not here", &words)),
        StoreError::Moved { .. } => (
            StatusCode::CONFLICT,
            message(
                "Changed in the meantime",
                &format!("{words} Go back, load the page again, and look at what stands there now. Nothing was lost."),
            ),
        ),
        _ => (
            StatusCode::INTERNAL_SERVER_ERROR,
            message("That did not work", &words),
        ),
    }
    .into_response()
}

/// Back to a page after a change.
pub fn back(address: &str) -> Response {
    Redirect::to(address).into_response()
}

/// The first page of a job: its steps.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let job = open.known.job();
    Ok(of_job(
        &open,
        "",
        "Overview",
        &html! {
            h1 { (open.name()) }
            @if let Some(job) = job {
                p class="lead" { (job.building.place) }
            }
            ol class="ledger" {
                @for step in steps(&open) {
                    li class=(step.state.class()) {
                        a href=(open.address(step.address)) { (step.name) }
                        span class="words" { (step.words) }
                    }
                }
            }
            @if job.is_some() {
                p {
                    "Whether the house is safe to ventilate stands under "
                    a href=(open.address("/safety")) { "safety" } "."
                }
            }
            (problems(&open.known))
            (this_job(&open))
        },
    ))
}

/// What can be done with the job as a whole.
fn this_job(open: &Open) -> Markup {
    let version = open.head.version;
    let away = open.head.away;
    html! {
        section class="pair" {
            div {
                h2 { "Copy this job" }
                form method="post" action=(open.address("/copy")) {
                    label for="copy-name" { "Name of the copy" }
                    input id="copy-name" name="name" required maxlength="200" autocomplete="off" value={ (open.name()) ", copy" };
                    button class="quietly" { "Copy" }
                }
            }
            div {
                h2 { @if away { "This job is put away" } @else { "Put this job away" } }
                form method="post" action=(open.address("/away")) {
                    p class="hint" { "The list of jobs leaves it out; nothing in it is deleted." }
                    input type="hidden" name="version" value=(version);
                    button class="quietly" name="way" value=(if away { "out" } else { "away" }) {
                        @if away { "Take it out again" } @else { "Put away" }
                    }
                }
            }
        }
    }
}

/// How a copy is called.
#[derive(Deserialize)]
pub struct Copy {
    name: String,
}

/// Begins a job with the text of this one.
pub async fn copy(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(copy): Form<Copy>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let name = good_name(&copy.name).ok_or_else(name_needed)?;
    let text = renamed(open.known.text(), name);
    let key = begin(&app, &Key::from_words(Kind::Job, name), text).await;
    let key = key.map_err(|error| failed(&error))?;
    Ok(back(&format!("/jobs/{}", key.name())))
}

/// Whether a job is put away or taken out again.
#[derive(Deserialize)]
pub struct Away {
    version: u64,
    way: String,
}

/// Puts a job away, or takes it out again.
pub async fn away(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(asked): Form<Away>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let away = asked.way == "away";
    let change = |document: &Document| {
        (document.away() != away).then_some(if away {
            Change::PutAway
        } else {
            Change::TakenOut
        })
    };
    append(&app, &open.head.key, asked.version, change)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&if away {
        "/".to_owned()
    } else {
        open.address("")
    }))
}

/// What is wrong or doubtful in a text, with the lines where it stands.
pub fn problems(known: &Known) -> Markup {
    list_of(&known.reading.problems)
}

/// The same of any text.
pub fn list_of(problems: &Problems) -> Markup {
    let list = problems.list();
    html! {
        @for (severity, title) in [
            (Severity::Error, "To be mended"),
            (Severity::Warning, "To be looked at"),
        ] {
            @let some: Vec<&&Problem> = list.iter().filter(|p| p.severity == severity).collect();
            @if !some.is_empty() {
                section class="problems" {
                    h2 { (title) }
                    ul {
                        @for problem in some.iter().take(MOST_PROBLEMS) {
                            li { (shown(problems, problem)) }
                        }
                    }
                    @if some.len() > MOST_PROBLEMS {
                        p { "And " (some.len() - MOST_PROBLEMS) " more." }
                    }
                }
            }
        }
    }
}

/// More problems than this are counted, not shown.
const MOST_PROBLEMS: usize = 50;

/// Longest part of a line that is shown (characters).
const LONGEST_LINE: usize = 160;

fn shown(problems: &Problems, problem: &Problem) -> Markup {
    let sources = problems.sources();
    let source = sources.get(problem.source);
    let place = source.map(|source| source.place(problem.span.start));
    let line = source.zip(place).and_then(|(source, place)| {
        let line = source.text().lines().nth(place.line.saturating_sub(1))?;
        Some(line.chars().take(LONGEST_LINE).collect::<String>())
    });
    html! {
        p {
            strong { (problem.title) }
            @if let (Some(source), Some(place)) = (source, place) {
                span class="quiet" { " " (source.name()) ", line " (place.line) }
            }
        }
        @if let Some(line) = line.filter(|line| !line.trim().is_empty()) {
            pre tabindex="0" { code { (line) } }
        }
        @if !problem.label.is_empty() { p { (capital(&problem.label)) "." } }
        @for help in &problem.help { p class="help" { (capital(help)) "." } }
    }
}
