//! The plans that work, ranked, with the reason why each stands where it stands; one is adopted.

pub mod adopt;
mod chart;
pub mod one;
pub mod table;

use std::sync::Arc;
use units::text::{capital, fixed, thousands};

use axum::extract::{Form, Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use house::model::Job;
use maud::{Markup, html};
use plan::Plan;
use plan::comparison::why;
use plan::search::{Evaluated, Search};
use serde::Deserialize;
use units::{Quantity as _, System, VolumeFlow, both};

pub use plan::account::plan_words;

use crate::App;
use crate::assets::script;
use crate::job::{Open, back};
use crate::layout::of_job;
use crate::needs::blocked;
use crate::say::{counted, short_flow};
use chart::Chart;

/// Plans that are shown at first.
const TOP: usize = 5;

/// How many plans to show.
#[derive(Deserialize)]
pub struct Asked {
    top: Option<usize>,
}

/// The page. While the search runs the browser is told to ask again.
pub async fn page(
    State(app): State<App>,
    Path(name): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let title = "Plans";
    let Some(job) = open.known.job() else {
        let content = blocked(&open, "The plans that work");
        return Ok(of_job(&open, "/plans", title, &content).into_response());
    };
    let Some(found) = found(&app, &open) else {
        return Ok(running(&open));
    };
    let top = asked.top.unwrap_or(TOP).clamp(1, 200);
    let content = content(&open, job, &found, top);
    Ok(of_job(&open, "/plans", title, &content).into_response())
}

/// What a search found; if there was none it is started.
pub fn found(app: &App, open: &Open) -> Option<Arc<Search>> {
    let background = &*app.workspace.background;
    let job = open.head.key.name();
    app.shelf.search(job, &open.known, background);
    open.known.found()
}

/// How far a running search is. The browser is told to ask again.
pub fn running(open: &Open) -> Response {
    let (done, total) = open.known.searched();
    let content = html! {
        h1 { "The plans that work" }
        p role="status" {
            "Every combination of unit, place, layout, taps and hoods is being tried"
            @if total > 0 { ": " (thousands(done)) " of " (thousands(total)) " so far" }
            ". The page shows the plans as soon as they are there."
        }
        @if total > 0 { progress value=(done) max=(total) aria-label="Combinations tried" {} }
        p { a href=(open.address("/plans")) { "Look again" } }
        form method="post" action=(open.address("/plans/stop")) {
            button class="quietly" { "Stop, and show what was found so far" }
        }
    };
    let page = of_job(open, "/plans", "Plans", &content);
    ([(header::REFRESH, "1")], page).into_response()
}

/// What is done with a search.
#[derive(Deserialize)]
pub struct Order {
    #[serde(default)]
    again: bool,
}

/// Stops the search of a job, or begins it anew.
pub async fn stop(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(order): Form<Order>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    if order.again {
        open.known.forget_stopped_search();
    } else {
        open.known.stop_search();
    }
    Ok(back(&open.address("/plans")))
}

/// Place of the chosen plan in the ranking.
fn chosen_place(job: &Job, found: &Search) -> Option<usize> {
    let chosen = job.chosen.as_ref()?;
    found
        .ranked
        .iter()
        .position(|evaluated| same(chosen, &evaluated.plan))
}

fn content(open: &Open, job: &Job, found: &Search, top: usize) -> Markup {
    let system = open.known.system();
    let mut shown: Vec<usize> = (0..top.min(found.ranked.len())).collect();
    shown.extend(found.best_of_each_layout());
    shown.sort_unstable();
    shown.dedup();
    html! {
        (script("why.js"))
        h1 { "The plans that work" }
        p class="answer" {
            strong { (thousands(found.ranked.len())) }
            " of " (thousands(found.combinations)) " combinations meet every rule and bring "
            (both(VolumeFlow::from_si(found.required.rate), system)) " of outdoor air."
        }
        @for drawn in &found.unsafe_as_found {
            div class="caution" { p {
                strong { "Before anything else. " }
                "As found, with every exhaust running, the room of the " (job.appliances[drawn.appliance].name)
                " can be drawn down by " (fixed(drawn.as_found, 1)) " Pa, beyond its " (fixed(drawn.limit, 1))
                " Pa. Have it tested by a qualified person and mended first; the plans below are judged as if nothing had been mended. "
                a href=(open.address("/safety")) { "Safety" } "."
            } }
        }
        @if found.not_looked_at > 0 { (stopped(open, found)) }
        @if job.chosen.is_some() {
            p {
                a href=(open.address("/flows")) { "What flows where with the chosen plan" }
                @if found.not_looked_at == 0 && chosen_place(job, found).is_none() {
                    ", which is not among those below. "
                    @match open.known.forbidden(job) {
                        Some(why) => { (why) }
                        None => { "It meets every rule, but the search would have set it otherwise." }
                    }
                }
            }
        }
        @if found.ranked.is_empty() { (nothing(open, job, found, system)) }
        @if found.ranked.len() > 1 { (compared(open, job, found)) }
        ol class="plans" {
            @for place in shown { (plan(open, job, found, place, system)) }
        }
        @if found.ranked.len() > top {
            p { a href=(open.address(&format!("/plans?top={}", (top * 4).min(200)))) { "Show more of the ranking" } }
        }
        @if !found.discarded.is_empty() && !found.ranked.is_empty() {
            details {
                summary { "What the others fell to" }
                (fallen(job, found, system))
            }
        }
    }
}

fn stopped(open: &Open, found: &Search) -> Markup {
    html! {
        div class="caution" {
            p {
                "The search was stopped: " (counted(found.not_looked_at, "combination was", "combinations were"))
                " not looked at, and the best may be among them."
            }
            form method="post" action=(open.address("/plans/stop")) {
                input type="hidden" name="again" value="true";
                button class="quietly" { "Search all of them" }
            }
        }
    }
}

/// Price against performance, and the way to the table.
fn compared(open: &Open, job: &Job, found: &Search) -> Markup {
    let address = open.address("/plans");
    let chosen = chosen_place(job, found);
    let chart = Chart::new(found, &job.costs.currency, chosen, &address);
    html! {
        figure class="compared" {
            (chart.draw())
            figcaption {
                "Each dot is a plan that meets every rule: further up it works better, further left it costs less. "
                "Along the line no plan is both cheaper and better. "
                a href=(open.address("/plans/table")) { "All plans side by side" }
            }
        }
        details {
            summary { "The plans along the line" }
            div class="scroll" tabindex="0" role="region" aria-label="The plans along the line" {
                table {
                    thead { tr {
                        th scope="col" { "Plan" }
                        th scope="col" class="number" { (chart.measure()) }
                        th scope="col" class="number" { "Points for everything but the price" }
                    } }
                    tbody { @for &place in &chart.frontier {
                        @let plan = &found.ranked[place].plan;
                        tr {
                            th scope="row" {
                                a href=(open.address(&format!("/plans/{}", place + 1))) { "Plan " (place + 1) }
                                ": " (plan.layout.name()) ", " (job.units[plan.unit].name)
                            }
                            td class="number" { (chart.price(place)) }
                            td class="number" { (chart.performance(place)) }
                        }
                    } }
                }
            }
        }
    }
}

fn plan(open: &Open, job: &Job, found: &Search, place: usize, system: System) -> Markup {
    let evaluated = &found.ranked[place];
    let chosen = job
        .chosen
        .as_ref()
        .is_some_and(|chosen| same(chosen, &evaluated.plan));
    html! {
        li value=(place + 1) class=[chosen.then_some("chosen")] {
            h2 {
                a href=(open.address(&format!("/plans/{}", place + 1))) {
                    (capital(evaluated.plan.layout.name())) ", " (job.units[evaluated.plan.unit].name)
                }
                @if chosen { span class="tag" { "chosen" } }
                @else if evaluated.pareto { span class="tag" { "beaten by no other" } }
            }
            p { (plan_words(job, &evaluated.plan, system)) }
            (figures(open, job, evaluated, place, system))
            p class="why" { (why(job, found, place, system)) }
            @if !chosen { (adopt::button(open, found, place)) }
        }
    }
}

fn figures(open: &Open, job: &Job, evaluated: &Evaluated, place: usize, system: System) -> Markup {
    let merits = &evaluated.merits;
    let percent = |part: f64, digits| format!("{} %", fixed(100.0 * part, digits));
    let why = |key: &str| open.address(&format!("/plans/why/{}/{key}", place + 1));
    let figure = |key: &str, name: &str, value: String| {
        html! { div { dt { (name) } dd { a class="figure" href=(why(key)) { (value) } } } }
    };
    html! {
        dl class="figures" {
            (figure("delivered", "Outdoor air", short_flow(merits.delivered, system)))
            (figure("balance", "Worst balance", percent(merits.balance, 1)))
            (figure("short-circuit", "Short circuit", percent(merits.short_circuit, 1)))
            (figure("fan-pressure", "Fan pressure used", percent(merits.fan_pressure_used, 0)))
            (figure("electricity", "Electricity a year", format!("{} kWh", fixed(merits.electricity, 0))))
            (figure("parts", "Unit and parts", table::price(evaluated, job)))
            (figure("points", "Points of 100", fixed(evaluated.score(), 1)))
        }
    }
}

fn nothing(open: &Open, job: &Job, found: &Search, system: System) -> Markup {
    html! {
        section {
            h2 { "No plan is left. What to do" }
            ul { @for missing in plan::candidate::missing(job) { li { (missing.in_words()) } } }
            (fallen(job, found, system))
            p { a href=(open.address("/survey")) { "Go on with the survey" } }
        }
    }
}

fn fallen(job: &Job, found: &Search, system: System) -> Markup {
    html! {
        p { "Each is counted at the first rule that it breaks." }
        ul {
            @for (rule, count) in &found.discarded {
                li {
                    strong { (counted(*count, "combination", "combinations")) ". " }
                    (plan::rules::words(&job.rules, rule, system))
                    @if !rule.remedy.is_empty() { " " (rule.remedy) }
                }
            }
        }
    }
}

/// Whether a chosen plan is this one, dampers apart.
fn same(chosen: &house::model::ChosenPlan, plan: &Plan) -> bool {
    let mut own = Plan::from_chosen(chosen);
    own.supply_damper = plan.supply_damper;
    own.extract_damper = plan.extract_damper;
    let near = (own.diameter - plan.diameter).abs() < 1e-5;
    own.diameter = plan.diameter;
    near && own == *plan
}
