//! What happened to a job: undo, redo, named versions, and what differs between two of them.

use axum::extract::{Form, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};
use serde::Deserialize;
use store::compare::{Line, differences, lines};
use store::{Change, Document, Event};
use units::text::capital;

use crate::App;
use crate::job::{Open, append, back, failed, nowhere};
use crate::layout::{message, of_job};
use crate::say::time;

/// Events that are shown.
const SHOWN: usize = 200;

/// The page.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let events = history(&app, &open).await?;
    let document = Document::replay(&events).map_err(|error| failed(&error.into()))?;
    let version = open.head.version;
    let button = |below: &str, words: &str, what: Option<&str>| {
        html! {
            form method="post" action=(open.address(below)) {
                input type="hidden" name="version" value=(version);
                button disabled[what.is_none()] { (words) }
                @if let Some(what) = what { span class="hint" { (what) } }
            }
        }
    };
    Ok(of_job(
        &open,
        "/history",
        "History",
        &html! {
            h1 { "History" }
            div class="pair" {
                section {
                    h2 { "Take back" }
                    (button("/undo", "Undo", document.undoes()))
                    (button("/redo", "Redo", document.redoes()))
                }
                section {
                    h2 { "Name this version" }
                    form method="post" action=(open.address("/name")) {
                        input type="hidden" name="version" value=(version);
                        label for="version-name" { "Name, for instance “as found”" }
                        input id="version-name" name="name" required maxlength="100" autocomplete="off";
                        button { "Keep the name" }
                    }
                }
            }
            h2 { "Every change, the last first" }
            form method="get" action=(open.address("/history/compare")) {
                div class="scroll" tabindex="0" role="region" aria-label="Every change" {
                    table {
                        thead { tr {
                            th scope="col" class="number" { "Version" }
                            th scope="col" { "What" }
                            th scope="col" { "When" }
                            th scope="col" { "From" }
                            th scope="col" { "To" }
                        } }
                        tbody {
                            @for event in events.iter().rev().take(SHOWN) {
                                @let number = event.version;
                                tr {
                                    td class="number" { (number) }
                                    td { (words(event, &events)) }
                                    td { (time(event.at, (app.workspace.zone)(event.at))) }
                                    td { input type="radio" name="from" value=(number) aria-label={ "from version " (number) } checked[number == version.saturating_sub(1).max(1)]; }
                                    td { input type="radio" name="to" value=(number) aria-label={ "to version " (number) } checked[number == version]; }
                                }
                            }
                        }
                    }
                }
                button { "Compare the two" }
            }
            @if events.len() > SHOWN { p class="quiet" { "And " (events.len() - SHOWN) " older ones." } }
        },
    ))
}

async fn history(app: &App, open: &Open) -> Result<Vec<Event>, Response> {
    let events = app.workspace.store.history(&open.head.key).await;
    events.map_err(|error| failed(&error))
}

fn words(event: &Event, events: &[Event]) -> String {
    let of = |version: u64| {
        let changed = events.iter().find(|event| event.version == version);
        match changed.map(|event| &event.change) {
            Some(Change::Edited { what, .. }) => what.clone(),
            _ => format!("version {version}"),
        }
    };
    capital(&match &event.change {
        Change::Began { .. } => "began".to_owned(),
        Change::Edited { what, .. } => what.clone(),
        Change::Undone { of: version } => format!("taken back: {}", of(*version)),
        Change::Redone { of: version } => format!("made again: {}", of(*version)),
        Change::PutAway => "put away".to_owned(),
        Change::TakenOut => "taken out again".to_owned(),
        Change::Named { name } => format!("named “{name}”"),
        Change::Appended { .. } => "continued".to_owned(),
    })
}

/// Which two versions to compare.
#[derive(Deserialize)]
pub struct Versions {
    from: u64,
    to: u64,
}

/// What differs between two versions.
pub async fn compare(
    State(app): State<App>,
    Path(name): Path<String>,
    Query(versions): Query<Versions>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let events = history(&app, &open).await?;
    let text = |version: u64| {
        let upto = events.iter().take_while(|event| event.version <= version);
        Document::replay(upto).map(|document| document.text().to_owned())
    };
    let known = |version: u64| (1..=open.head.version).contains(&version);
    if !known(versions.from) || !known(versions.to) {
        return Err(nowhere());
    }
    let before = text(versions.from).map_err(|error| failed(&error.into()))?;
    let after = text(versions.to).map_err(|error| failed(&error.into()))?;
    let changed = differences(&before, &after).ok();
    let compared = lines(&before, &after);
    Ok(of_job(
        &open,
        "/history",
        "Two versions",
        &html! {
            h1 { "From version " (versions.from) " to version " (versions.to) }
            @match &changed {
                None => { p { "One of them is not TOML, so only lines can be compared." } }
                Some(changed) if changed.is_empty() => {
                    p { "No value differs." @if before != after { " Only comments, spaces or the order changed." } }
                }
                Some(changed) => {
                    div class="scroll" tabindex="0" role="region" aria-label="Values that differ" {
                        table {
                            thead { tr { th scope="col" { "Value" } th scope="col" { "From" } th scope="col" { "To" } } }
                            tbody {
                                @for difference in changed {
                                    tr {
                                        th scope="row" { (difference.key) }
                                        td { (difference.before.as_deref().unwrap_or("–")) }
                                        td { (difference.after.as_deref().unwrap_or("–")) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
            @if before != after {
                h2 { "Line by line" }
                pre class="lines" tabindex="0" {
                    @for line in near(&compared) {
                        @match line {
                            None => span class="gap" { "⋯\n" },
                            Some(Line::Kept(text)) => { "  " (text) "\n" }
                            Some(Line::Removed(text)) => del { "− " (text) "\n" },
                            Some(Line::Added(text)) => ins { "+ " (text) "\n" },
                        }
                    }
                }
            }
            p { a href=(open.address("/history")) { "Back to the history" } }
        },
    ))
}

/// Lines that changed with two around them; `None` where some are left out.
fn near<'l, 't>(lines: &'l [Line<'t>]) -> Vec<Option<&'l Line<'t>>> {
    const AROUND: usize = 2;
    const MOST: usize = 2000;
    let changed = |line: &Line| !matches!(line, Line::Kept(_));
    let mut shown = Vec::new();
    let mut wanted = vec![false; lines.len()];
    for (place, _) in lines.iter().enumerate().filter(|(_, line)| changed(line)) {
        let end = (place + AROUND + 1).min(lines.len());
        wanted[place.saturating_sub(AROUND)..end].fill(true);
    }
    for (line, wanted) in lines.iter().zip(wanted) {
        if shown.len() >= MOST {
            shown.push(None);
            break;
        }
        if wanted {
            shown.push(Some(line));
        } else if !matches!(shown.last(), Some(None)) {
            shown.push(None);
        }
    }
    shown
}

/// The version that a form was made for.
#[derive(Deserialize)]
pub struct Seen {
    version: u64,
}

/// Takes the last change back.
pub async fn undo(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(seen): Form<Seen>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let done = append(&app, &open.head.key, seen.version, Document::undo).await;
    done.map_err(|error| failed(&error))?;
    Ok(back(&open.address("/history")))
}

/// Makes the change that was last taken back again.
pub async fn redo(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(seen): Form<Seen>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let done = append(&app, &open.head.key, seen.version, Document::redo).await;
    done.map_err(|error| failed(&error))?;
    Ok(back(&open.address("/history")))
}

/// A name for the version as it stands.
#[derive(Deserialize)]
pub struct Name {
    version: u64,
    name: String,
}

/// Names the version as it stands.
pub async fn name(
    State(app): State<App>,
    Path(job): Path<String>,
    Form(asked): Form<Name>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &job).await?;
    let name = asked.name.trim().to_owned();
    if name.is_empty() || name.chars().count() > 100 || name.chars().any(char::is_control) {
        let page = message(
            "A name is needed",
            "Give the version a name of up to 100 characters.",
        );
        return Err((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let named = |_: &Document| Some(Change::Named { name });
    append(&app, &open.head.key, asked.version, named)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&open.address("/history")))
}
