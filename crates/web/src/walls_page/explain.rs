//! Distances, limits, margins and regions of a wall explain themselves.

use axum::extract::{Path, Query, State};
use axum::response::Response;
use house::model::Job;
use maud::Markup;
use plan::explanation::Explanation;
use plan::walls::{TerminalReport, Walls};
use rules::clearances::Stream;
use serde::Deserialize;
use sheets::Movable;

use crate::App;
use crate::job::{Open, nowhere, try_out};
use crate::known::Known;
use crate::why;

use super::edits::{Target, movable, moved, word};
use super::figure::Figure;

/// What is asked beside the figure.
#[derive(Deserialize, Default)]
pub struct Asked {
    /// The terminal whose region it is.
    #[serde(default)]
    at: String,
    /// The terminal that is the other one of the pair.
    #[serde(default)]
    with: String,
    /// What is moved, as it is tried.
    #[serde(default)]
    moved: String,
    #[serde(default)]
    along: String,
    #[serde(default)]
    up: String,
}

/// A figure of a wall.
pub async fn of_wall(
    State(app): State<App>,
    Path((name, wall, figure)): Path<(String, String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let wall = wall.parse::<usize>().ok();
    let wall = wall
        .and_then(|wall| wall.checked_sub(1))
        .ok_or_else(nowhere)?;
    let figure = Figure::read(&figure).ok_or_else(nowhere)?;
    let tried;
    let known: &Known = if asked.moved.is_empty() {
        &open.known
    } else {
        let job = open.known.job().filter(|job| wall < job.walls.len());
        let job = job.ok_or_else(nowhere)?;
        let thing = movable(&asked.moved).ok_or_else(nowhere)?;
        let target = Target::Typed {
            along: &asked.along,
            up: &asked.up,
        };
        let (text, system) = (open.known.text(), open.known.system());
        let edit = moved(text, job, wall, thing, &target, system).map_err(|_| nowhere())?;
        tried = try_out(&app, &edit.text).await;
        &tried
    };
    let job = known.job().filter(|job| wall < job.walls.len());
    let job = job.ok_or_else(nowhere)?;
    let explanation = explained(known, job, wall, figure, &asked).ok_or_else(nowhere)?;
    let about = (!asked.moved.is_empty()).then_some("As it is tried, not kept yet.");
    let chosen = movable(&asked.moved).or(match figure {
        Figure::Judgement { terminal, .. } => Some(Movable::Terminal(terminal)),
        _ => None,
    });
    let page = format!("/walls/{}", wall + 1);
    let back = open.address(&match chosen {
        Some(thing) => format!("{page}?at={}", word(thing)),
        None => page,
    });
    let back = [back.as_str(), "Back to the wall"];
    Ok(why::page(&open, "/walls", &explanation, about, back))
}

/// The best pair of all walls.
pub async fn of_house(
    State(app): State<App>,
    Path(name): Path<String>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let job = open.known.job().ok_or_else(nowhere)?;
    let (walls, report) = open.known.walls(job).map_err(|_| nowhere())?;
    let pair = report.pair.as_ref().ok_or_else(nowhere)?;
    let title = "The best pair of all walls";
    let explanation = walls.explain_pair(job, title, pair, open.known.system());
    let back = open.address("/walls");
    let back = [back.as_str(), "Back to the walls"];
    Ok(why::page(&open, "/walls", &explanation, None, back))
}

fn explained(
    known: &Known,
    job: &Job,
    wall: usize,
    figure: Figure,
    asked: &Asked,
) -> Option<Explanation> {
    let system = known.system();
    let (walls, _) = known.sited(job).ok()?;
    match figure {
        Figure::Limit(demand) => walls.explain_limit(job, demand, system),
        Figure::Pair => {
            let (walls, report) = known.walls(job).ok()?;
            let found = report.walls.iter().find(|known| known.wall == wall)?;
            let title = format!("The best pair on the {}", job.walls[wall].name);
            Some(walls.explain_pair(job, &title, found.pair.as_ref()?, system))
        }
        Figure::Region(stream) => {
            let what = match stream {
                Some(Stream::Intake) => "an intake",
                Some(Stream::Exhaust) => "an exhaust",
                None => "a two-in-one hood",
            };
            if let Some(Movable::Terminal(index)) = movable(&asked.at) {
                let terminal = job.terminals.get(index)?;
                let regions = walls.regions_of(job, index);
                let wanted = stream.unwrap_or(Stream::Intake);
                let (_, region) = regions.iter().find(|(known, _)| *known == wanted)?;
                let what = format!("{} as {what}", terminal.name);
                let size = plan::walls::opening(terminal);
                return Some(walls.explain_region(job, &what, region, size, None, system));
            }
            let (walls, report) = known.walls(job).ok()?;
            let found = report.walls.iter().find(|known| known.wall == wall)?;
            let (report, size) = match stream {
                Some(Stream::Intake) => (&found.intake, walls.hood),
                Some(Stream::Exhaust) => (&found.exhaust, walls.hood),
                None => (&found.two_in_one, walls.two_in_one_hood),
            };
            let best = report.best.as_ref();
            Some(walls.explain_region(job, what, &report.region, size, best, system))
        }
        Figure::Judgement {
            terminal,
            stream,
            demand,
            against,
        } => {
            let hood = walls.hood_of(job, terminal)?;
            let with = match movable(&asked.with) {
                Some(Movable::Terminal(other)) => Some(other),
                _ => walls.partner(job, terminal),
            };
            let other = with.and_then(|other| walls.hood_of(job, other));
            let report = beside(walls, job, terminal, with, stream)?;
            let verdict = match stream {
                Stream::Intake => report.intake?,
                Stream::Exhaust => report.exhaust?,
            };
            let mut judgements = verdict.judgements.iter();
            let judgement =
                judgements.find(|one| one.demand == demand && one.against == against)?;
            Some(walls.explain_judgement(job, &hood, other.as_ref(), judgement, system))
        }
    }
}

/// Every rule of a terminal beside the one that is asked for.
fn beside(
    walls: &Walls,
    job: &Job,
    terminal: usize,
    with: Option<usize>,
    stream: Stream,
) -> Option<TerminalReport> {
    let own = walls.judged_beside(job, terminal);
    let Some(with) = with.filter(|with| walls.partner(job, terminal) != Some(*with)) else {
        return own;
    };
    let pair = match stream {
        Stream::Intake => walls.judge_terminals(job, terminal, with),
        Stream::Exhaust => walls.judge_terminals(job, with, terminal),
    }?;
    Some(TerminalReport {
        intake: Some(pair.intake),
        exhaust: Some(pair.exhaust),
        ..own?
    })
}
