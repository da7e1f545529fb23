//! The plans that work, ranked, with the reason why each stands where it stands; one is adopted.

use axum::extract::{Form, Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use house::model::{Entry, Job};
use maud::{Markup, html};
use plan::Plan;
use plan::candidate::end_name;
use plan::comparison::why;
use plan::finding::interlock_words;
use plan::search::{Evaluated, Search};
use serde::Deserialize;
use store::edit::{EditError, Literal, Step, remove, set};
use units::{Length, Quantity as _, System, VolumeFlow, both};

use crate::App;
use crate::job::{Open, back, change, failed, nowhere};
use crate::layout::{message, of_job};
use crate::needs::blocked;
use crate::say::{capital, counted, fixed, short_flow, thousands};

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
    open.known.search(&*app.workspace.background);
    let Some(found) = open.known.found() else {
        let (done, total) = open.known.searched();
        let content = html! {
            h1 { "The plans that work" }
            p role="status" {
                "Every combination of unit, place, layout, taps and hoods is being tried"
                @if total > 0 { ": " (thousands(done)) " of " (thousands(total)) " so far" }
                ". The page shows the plans as soon as they are there."
            }
            p { a href=(open.address("/plans")) { "Look again" } }
        };
        let page = of_job(&open, "/plans", title, &content);
        return Ok(([(header::REFRESH, "1")], page).into_response());
    };
    let top = asked.top.unwrap_or(TOP).clamp(1, 200);
    let content = content(&open, job, found, top);
    Ok(of_job(&open, "/plans", title, &content).into_response())
}

fn content(open: &Open, job: &Job, found: &Search, top: usize) -> Markup {
    let system = open.known.system();
    let mut shown: Vec<usize> = (0..top.min(found.ranked.len())).collect();
    shown.extend(found.best_of_each_layout());
    shown.sort_unstable();
    shown.dedup();
    html! {
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
        @if job.chosen.is_some() {
            p { a href=(open.address("/flows")) { "What flows where with the chosen plan" } }
        }
        @if found.ranked.is_empty() { (nothing(open, job, found, system)) }
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

fn plan(open: &Open, job: &Job, found: &Search, place: usize, system: System) -> Markup {
    let evaluated = &found.ranked[place];
    let chosen = job
        .chosen
        .as_ref()
        .is_some_and(|chosen| same(chosen, &evaluated.plan));
    html! {
        li value=(place + 1) class=[chosen.then_some("chosen")] {
            h2 {
                (capital(evaluated.plan.layout.name())) ", " (job.units[evaluated.plan.unit].name)
                @if chosen { span class="tag" { "chosen" } }
                @else if evaluated.pareto { span class="tag" { "beaten by no other" } }
            }
            p { (plan_words(job, &evaluated.plan, system)) }
            (figures(job, evaluated, system))
            p class="why" { (why(job, found, place, system)) }
            @if !chosen {
                form method="post" action=(open.address("/plans/adopt")) {
                    input type="hidden" name="version" value=(open.head.version);
                    input type="hidden" name="place" value=(place + 1);
                    button { "Adopt plan " (place + 1) }
                }
            }
        }
    }
}

fn figures(job: &Job, evaluated: &Evaluated, system: System) -> Markup {
    let merits = &evaluated.merits;
    let percent = |part: f64, digits| format!("{} %", fixed(100.0 * part, digits));
    let price = if merits.parts_cost > 0.0 {
        format!(
            "{}{}",
            job.costs.currency,
            thousands(merits.parts_cost.round() as usize)
        )
    } else {
        "no price".to_owned()
    };
    html! {
        dl class="figures" {
            div { dt { "Outdoor air" } dd { (short_flow(merits.delivered, system)) } }
            div { dt { "Worst balance" } dd { (percent(merits.balance, 1)) } }
            div { dt { "Short circuit" } dd { (percent(merits.short_circuit, 1)) } }
            div { dt { "Fan pressure used" } dd { (percent(merits.fan_pressure_used, 0)) } }
            div { dt { "Electricity a year" } dd { (fixed(merits.electricity, 0)) " kWh" } }
            div { dt { "Unit and parts" } dd { (price) } }
            div { dt { "Points of 100" } dd { (fixed(evaluated.score(), 1)) } }
        }
    }
}

/// The plan in a sentence.
pub fn plan_words(job: &Job, plan: &Plan, system: System) -> String {
    let names = |ends: &[house::model::End]| {
        let names: Vec<&str> = ends.iter().map(|end| end_name(job, *end)).collect();
        names.join(" and ")
    };
    let hoods = if plan.two_in_one() {
        format!(
            "intake and exhaust through {}",
            job.terminals[plan.intake].name
        )
    } else {
        format!(
            "intake at {}, exhaust at {}",
            job.terminals[plan.intake].name, job.terminals[plan.exhaust].name
        )
    };
    let elbow = match plan.entry {
        Entry::Flush => "",
        Entry::FacingDownstream => " by an elbow that faces downstream",
    };
    format!(
        "In the {}, at {}. Extract air from {}, supply air to {}{elbow}; {hoods}; {} ducts; {}.",
        job.spots[plan.spot].name,
        plan.setting.name(),
        names(&plan.extract),
        names(&plan.supply),
        Length::from_si(plan.diameter).show(system),
        interlock_words(plan.interlock),
    )
}

fn nothing(open: &Open, job: &Job, found: &Search, system: System) -> Markup {
    html! {
        section {
            h2 { "No plan is left. What to do" }
            ul { @for words in plan::candidate::missing(job) { li { (words) } } }
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

/// Which plan is adopted.
#[derive(Deserialize)]
pub struct Adopted {
    version: u64,
    place: usize,
}

/// Writes a plan of the ranking into the job.
pub async fn adopt(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(adopted): Form<Adopted>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let key = &open.head.key;
    if adopted.version != open.head.version {
        return Err(failed(&store::StoreError::Moved {
            now: open.head.version,
        }));
    }
    let job = open.known.job().ok_or_else(nowhere)?;
    let Some(found) = open.known.found() else {
        // Forgotten since the page was made: it is searched for again.
        return Ok(back(&open.address("/plans")));
    };
    let place = adopted.place.checked_sub(1);
    let evaluated = place
        .and_then(|place| found.ranked.get(place))
        .ok_or_else(nowhere)?;
    let text = with_plan(open.known.text(), job, &evaluated.plan).map_err(|error| {
        let words = format!("{}.", capital(&error.to_string()));
        message("The plan was not adopted", &words).into_response()
    })?;
    let what = format!("plan {} adopted", adopted.place);
    change(&app, key, adopted.version, what, &text)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&open.address("/flows")))
}

/// The text with a plan in its table `[plan]`; the dampers are left to the program.
pub fn with_plan(text: &str, job: &Job, plan: &Plan) -> Result<String, EditError> {
    let names = |ends: &[house::model::End]| {
        let names: Vec<&str> = ends.iter().map(|end| end_name(job, *end)).collect();
        Literal::texts(names)
    };
    let entry = match plan.entry {
        Entry::Flush => "flush",
        Entry::FacingDownstream => "facing downstream",
    };
    // Millimetres to the third decimal: exactly what was tried, however it was typed.
    let diameter = format!("{} mm", (plan.diameter * 1e6).round() / 1e3);
    let values = [
        ("unit", Literal::text(&job.units[plan.unit].name)),
        ("setting", Literal::text(plan.setting.name())),
        ("spot", Literal::text(&job.spots[plan.spot].name)),
        ("layout", Literal::text(plan.layout.name())),
        ("extract", names(&plan.extract)),
        ("supply", names(&plan.supply)),
        ("entry", Literal::text(entry)),
        ("intake", Literal::text(&job.terminals[plan.intake].name)),
        ("exhaust", Literal::text(&job.terminals[plan.exhaust].name)),
        ("diameter", Literal::text(&diameter)),
        ("interlock", Literal::text(plan.interlock.name())),
    ];
    let way = |key: &str| -> [Step; 2] { ["plan".into(), key.into()] };
    let mut text = text.to_owned();
    for (key, value) in values {
        let splice = set(&text, &way(key), value)?;
        text = splice.apply(&text).map_err(|_| EditError::Entangled)?;
    }
    for key in ["supply_damper", "extract_damper"] {
        match remove(&text, &way(key)) {
            Ok(splice) => text = splice.apply(&text).map_err(|_| EditError::Entangled)?,
            Err(EditError::NoWay(_)) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(text)
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
