//! Every number explains itself: a page with what it is, how it comes about, whose rule stands
//! behind it, and what would change it. Where there is script the same is shown in a dialog.

use axum::extract::{Path, Query, State};
use axum::response::Response;
use maud::{Markup, html};
use plan::explanation::{Change, Explanation, of_flows as explain_flow, of_merit, of_rate};
use store::edit::{Step, values};
use units::text::capital;

use crate::App;
use crate::flows_page::{Asked, Scene};
use crate::job::{Open, nowhere};
use crate::layout::of_job;
use crate::say::encoded;

/// A figure of the house drawing.
pub async fn of_flows(
    State(app): State<App>,
    Path((name, figure)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let job = open.known.job().ok_or_else(nowhere)?;
    let report = open.known.flows(job).and_then(Result::ok);
    let report = report.ok_or_else(nowhere)?;
    let scene = Scene::new(Some(&*app.workspace.background), &open, job, report, &asked)?;
    let system = open.known.system();
    let plan = scene.plan();
    let explanation = explain_flow(job, &plan, &scene.case, &figure, system).ok_or_else(nowhere)?;
    let back = open.address(&format!("/flows?{}", scene.shown.query()));
    let case = format!("{}.", capital(&scene.shown.words()));
    Ok(page(
        &open,
        "/plans",
        &explanation,
        Some(&case),
        [&back, "Back to the drawing"],
    ))
}

/// A figure of a ranked plan.
pub async fn of_plan(
    State(app): State<App>,
    Path((name, place, figure)): Path<(String, usize, String)>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let job = open.known.job().ok_or_else(nowhere)?;
    let found = open.known.found().ok_or_else(nowhere)?;
    let place = place.checked_sub(1).ok_or_else(nowhere)?;
    let evaluated = found.ranked.get(place).ok_or_else(nowhere)?;
    let system = open.known.system();
    let explanation = of_merit(job, evaluated, &figure, system).ok_or_else(nowhere)?;
    let words = format!("Plan {}.", place + 1);
    let back = open.address("/plans");
    Ok(page(
        &open,
        "/plans",
        &explanation,
        Some(&words),
        [&back, "Back to the plans"],
    ))
}

/// The rate that the house needs.
pub async fn of_needs(
    State(app): State<App>,
    Path(name): Path<String>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let job = open.known.job().ok_or_else(nowhere)?;
    let decided = open.known.rates(job).map(|rates| &rates.decision.rate);
    let explanation = of_rate(job, decided, open.known.system());
    let back = open.address("/needs");
    Ok(page(
        &open,
        "/needs",
        &explanation,
        None,
        [&back, "Back to the needs"],
    ))
}

/// The page of an explanation.
pub fn page(
    open: &Open,
    here: &str,
    explanation: &Explanation,
    about: Option<&str>,
    [back, words]: [&str; 2],
) -> Markup {
    let content = html! {
        (article(open, explanation, about))
        p { a href=(back) { (words) } }
    };
    of_job(open, here, &explanation.title, &content)
}

fn article(open: &Open, it: &Explanation, about: Option<&str>) -> Markup {
    let inputs = it
        .inputs
        .iter()
        .map(|input| (input, place(open, &input.way)));
    html! {
        article class="why" {
            h1 { (it.title) }
            p class="answer" { strong { (it.value) } }
            @if let Some(about) = about { p class="quiet" { (about) } }
            @for words in it.words.iter().filter(|words| !words.is_empty()) { p { (words) } }
            @if let Some(band) = &it.band { p { (band) } }
            @if !it.formula.is_empty() {
                h2 { "How it comes about" }
                div class="formula" { @for line in &it.formula { p { (line) } } }
            }
            @if !it.inputs.is_empty() {
                h2 { "What went in" }
                table {
                    tbody {
                        @for (input, place) in inputs {
                            tr {
                                th scope="row" {
                                    @match place {
                                        Some(address) => a href=(address) { (capital(&input.name)) },
                                        None => (capital(&input.name)),
                                    }
                                }
                                td { (input.value) span class="band" { (input.known) } }
                            }
                        }
                    }
                }
            }
            @if let Some([demand, whose]) = &it.rule {
                h2 { "The rule" }
                p { (demand) }
                p class="quiet" { "Whose rule: " (whose.trim_end_matches('.')) "." }
            }
            @if !it.change.is_empty() {
                h2 { "What would change it" }
                ul { @for Change { words, way } in &it.change {
                    li {
                        @match place(open, way) {
                            Some(address) => a href=(address) { (words) },
                            None => (words),
                        }
                    }
                } }
            }
        }
    }
}

/// The page for a way through the job file, or for a number of the job's own. Of the survey the page
/// is as far down as the job has something there,
/// as a catalogue may hold the rest.
fn place(open: &Open, way: &str) -> Option<String> {
    if way.is_empty() {
        return None;
    }
    if let Some(rule) = way.strip_prefix("needs/") {
        return Some(open.address(&format!("/needs?rule={}#own", encoded(rule))));
    }
    let steps: Vec<Step> = way
        .split('/')
        .map(|step| match step.parse::<usize>() {
            Ok(number) => Step::Place(number.saturating_sub(1)),
            Err(_) => step.into(),
        })
        .collect();
    let found = values(open.known.text()).ok()?;
    let there = |steps: &[Step]| found.iter().any(|found| found.path.starts_with(steps));
    let elements = steps
        .iter()
        .rposition(|step| matches!(step, Step::Place(_)));
    let below = match elements {
        Some(last) if !there(&steps[..=last]) => way.split('/').next()?,
        _ => way,
    };
    Some(open.address(&format!("/survey/{below}")))
}
