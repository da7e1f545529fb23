//! The survey: as a walk through the house with one question after the other, and as forms made from
//! the same description of tables by which the file is read.

mod answers;
mod cards;
mod change;
mod follows;
mod form;
pub mod walk;
mod way;

use axum::extract::{Path, State};
use axum::response::Response;
use diagnostics::{Problem, Severity};
use maud::{Markup, html};
use store::edit::{Found, Step, values};

use crate::App;
use crate::job::{Open, problems};
use crate::known::Known;
use crate::layout::of_job;
use crate::say::counted;
use way::{GROUPS, TOP, address};

pub use change::{add, applied, no_form, not_kept, remove, save, sent_version, shift};
pub use form::page;

/// All groups with what is given in each.
pub async fn overview(
    State(app): State<App>,
    Path(name): Path<String>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let found = values(open.known.text()).ok();
    let root = house::file::tables();
    Ok(of_job(
        &open,
        "/survey",
        "Survey",
        &html! {
            h1 { "The survey" }
            (walk::progress(&app, &open).await?)
            h2 { "Everything, by subject" }
            p {
                "Some twenty numbers are enough. What is left out is assumed, with its uncertainty, and said where it is asked."
            }
            @match &found {
                None => { p { "The file is not TOML, so it cannot be shown as a form. " a href=(open.address("/file")) { "Mend the text" } "." } }
                Some(found) => {
                    ol class="ledger" {
                        @for (key, title) in GROUPS {
                            @let field = root.fields.iter().find(|field| field.key == *key);
                            @let (given, wrong) = state(&open.known, found, key);
                            li class=(if wrong > 0 { "open" } else if given == "nothing given" { "blocked" } else { "done" }) {
                                a href=(address(&open, &[(*key).into()])) { (title) }
                                span class="words" {
                                    @if wrong > 0 { (counted(wrong, "thing", "things")) " to be mended; " }
                                    (given)
                                    @if field.is_some_and(|field| field.required) && given == "nothing given" { ", but needed" }
                                }
                            }
                        }
                    }
                }
            }
            (problems(&open.known))
        },
    ))
}

/// How much is given in a group, and how many errors stand in it.
fn state(known: &Known, found: &[Found], group: &str) -> (String, usize) {
    let scalar_at_top = |found: &Found| found.path.len() == 1;
    let within = |found: &Found| match group {
        TOP => scalar_at_top(found),
        _ => found.path.len() > 1 && found.path.first() == Some(&group.into()),
    };
    let mine: Vec<&Found> = found.iter().filter(|found| within(found)).collect();
    let elements = mine.iter().filter_map(|found| match found.path.get(1) {
        Some(Step::Place(place)) => Some(place + 1),
        _ => None,
    });
    let given = match (elements.max(), mine.len()) {
        (Some(count), _) => counted(count, "entry", "entries"),
        (None, 0) => "nothing given".to_owned(),
        (None, count) => counted(count, "value given", "values given"),
    };
    let wrong = errors(known)
        .filter(|problem| mine.iter().any(|found| touches(known, problem, found)))
        .count();
    (given, wrong)
}

pub fn errors(known: &Known) -> impl Iterator<Item = &Problem> {
    let list = known.reading.problems.list();
    list.into_iter()
        .filter(|problem| problem.severity == Severity::Error && problem.source == 0)
}

/// Whether a problem stands at a value. The reader drops a byte-order mark, the text keeps it.
pub fn touches(known: &Known, problem: &Problem, found: &Found) -> bool {
    let mark = if known.text().starts_with('\u{feff}') {
        '\u{feff}'.len_utf8()
    } else {
        0
    };
    let (start, end) = (problem.span.start + mark, problem.span.end + mark);
    start < found.span.end && end > found.span.start
}

/// What was typed and is not kept.
type Typed = [(String, String)];
