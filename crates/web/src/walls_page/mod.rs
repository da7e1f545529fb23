//! Where intake and exhaust may pierce the walls, with each wall drawn.

mod board;
mod edits;
mod explain;
mod figure;
mod moving;
mod panel;

pub use explain::{of_house, of_wall};
pub use moving::change;

use axum::extract::{Path, Query, State};
use axum::response::Response;
use house::model::Job;
use maud::{Markup, html};
use plan::walls::{FoundPair, Walls, WallsReport};
use rules::clearances::Stream;
use sheets::slug;
use units::System;
use units::text::capital;

use crate::App;
use crate::assets::script;
use crate::job::{Open, nowhere};
use crate::layout::{of_job, svg};
use crate::needs::blocked;

use board::Asked;
use figure::Figure;

/// The page.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let content = match open.known.job() {
        None => blocked(&open, "Where the walls may be pierced"),
        Some(job) => content(&open, job),
    };
    Ok(of_job(&open, "/walls", "Walls", &content))
}

fn content(open: &Open, job: &Job) -> Markup {
    let system = open.known.system();
    html! {
        h1 { "Where the walls may be pierced" }
        @if job.walls.is_empty() {
            p {
                "No wall is drawn yet. Draw each side of the house that could be pierced: its size, and the windows, doors, meters and vents on it with their distances from its left corner. "
                a href=(open.address("/survey/wall")) { "Draw a wall" } "."
            }
        } @else {
            @match open.known.walls(job) {
                Err(why) => { p { "The walls cannot be used: " (why) ". Look for the wall or the object in the survey." } }
                Ok((walls, report)) => { (told(open, job, walls, report, system)) }
            }
        }
    }
}

fn told(open: &Open, job: &Job, walls: &Walls, report: &WallsReport, system: System) -> Markup {
    let why = |address: &str| {
        html! { " " a class="figure asks" href=(open.address(address)) { "Why" } }
    };
    html! {
        (script("why.js"))
        section {
            h2 { "The best pair of all walls" }
            @match &report.pair {
                Some(pair) => { (pair_words(job, walls, pair, system)) p { (why("/walls/why/pair")) } }
                None => { p { "No pair of intake and exhaust is allowed on any wall." } }
            }
        }
        @if !report.pairs.is_empty() {
            section {
                h2 { "The terminals of the survey" }
                ul class="states" {
                    @for pair in &report.pairs {
                        @let holds = pair.verdict.holds();
                        li class=(if holds { "good" } else { "bad" }) {
                            span class="shape" aria-hidden="true" {}
                            @if pair.intake == pair.exhaust {
                                (capital(&job.terminals[pair.intake].name))
                            } @else {
                                "Intake at " (job.terminals[pair.intake].name) ", exhaust at " (job.terminals[pair.exhaust].name)
                            }
                            @if holds { " keeps every rule that decides." } @else { " is not allowed." }
                        }
                    }
                }
            }
        }
        @for wall in &report.walls {
            @let drawn = &job.walls[wall.wall];
            @let words = walls.sentences(wall, system);
            @let name = slug(&drawn.name, wall.wall);
            section class="wall" id=(name) {
                h2 { a href=(open.address(&format!("/walls/{}", wall.wall + 1))) { (capital(&drawn.name)) } }
                p { a class="button quietly" href=(open.address(&format!("/walls/{}", wall.wall + 1))) { "Place and move things on the " (drawn.name) } }
                a class="sheet" href=(open.address(&format!("/walls/{}", wall.wall + 1))) {
                    img src=(open.address(&format!("/walls/{}.svg?{}", wall.wall + 1, open.head.version)))
                        alt={ "Elevation of the " (drawn.name) ". What it shows is said in words below." }
                        width="900" height="600" loading="lazy";
                }
                dl {
                    @for (title, words, figure) in [
                        ("Intake", &words.intake, Some(Figure::Region(Some(Stream::Intake)))),
                        ("Exhaust", &words.exhaust, Some(Figure::Region(Some(Stream::Exhaust)))),
                        ("Both on this wall", &words.pair, wall.pair.is_some().then_some(Figure::Pair)),
                        ("Two-in-one hood", &words.two_in_one, Some(Figure::Region(None))),
                    ] {
                        dt { (title) }
                        dd { (words) @if let Some(figure) = figure { (why(&format!("/walls/why/{}/{}", wall.wall + 1, figure.key()))) } }
                    }
                }
            }
        }
        p class="quiet" { "The local code and the maker's instructions decide. Before a wall is opened, find what runs in it: power, gas, water." }
    }
}

fn pair_words(job: &Job, walls: &Walls, pair: &FoundPair, system: System) -> Markup {
    html! {
        ul {
            @for (what, place) in [("Intake", pair.intake), ("Exhaust", pair.exhaust)] {
                li { (what) " on the " (job.walls[place.wall].name) ": " (walls.place_words(place, system)) "." }
            }
        }
    }
}

/// One wall: as a drawing of its own, or as a page on which its things are moved.
pub async fn wall(
    State(app): State<App>,
    Path((name, wall)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let index = wall
        .strip_suffix(".svg")
        .unwrap_or(&wall)
        .parse::<usize>()
        .ok()
        .and_then(|number| number.checked_sub(1))
        .ok_or_else(nowhere)?;
    if !wall.ends_with(".svg") {
        return Ok(board::page(&open, index, &asked));
    }
    let job = open.known.job().ok_or_else(nowhere)?;
    let (walls, report) = open.known.walls(job).map_err(|_| nowhere())?;
    let sheet =
        sheets::elevation(job, walls, report, index, open.known.system()).ok_or_else(nowhere)?;
    Ok(svg(sheet.draw().svg))
}
