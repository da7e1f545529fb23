//! The flows of the chosen plan, and what they mean.

mod scene;
mod shown;

use axum::extract::{Path, Query, State};
use axum::response::Response;
use drawing::section::Format;
use house::model::Setting;
use maud::{Markup, html};
use plan::finding::Weight;
use plan::flows::{Band, CaseReport, FlowsReport};
use units::System;
use units::text::{capital, fixed, signed};

use crate::App;
use crate::assets::{script, style};
use crate::job::{Open, nowhere};
use crate::layout::{of_job, svg};
use crate::needs::blocked;
use crate::plans::plan_words;
use crate::say::{bare_flow, short_flow};
pub use scene::{Scene, keep, part};
pub use shown::Asked;
use shown::{WEATHERS, case_query, case_words};

/// The page of flows.
pub async fn page(
    State(app): State<App>,
    Path(name): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let title = "What flows where";
    let content = match open.known.job() {
        None => blocked(&open, title),
        Some(job) => match open.known.flows(job) {
            None => no_plan(&open, title),
            Some(Err(why)) => html! {
                h1 { (title) }
                p { "The flows of this plan cannot be computed: " (why) "." }
            },
            Some(Ok(report)) => {
                let scene =
                    Scene::new(Some(&*app.workspace.background), &open, job, report, &asked)?;
                let banded = open.known.flows_with_bands(&*app.workspace.background);
                content(&scene, banded)
            }
        },
    };
    Ok(of_job(&open, "/plans", title, &content))
}

fn no_plan(open: &Open, title: &str) -> Markup {
    html! {
        h1 { (title) }
        p { "No plan is chosen yet. " a href=(open.address("/plans")) { "Choose a plan" } "." }
    }
}

fn content(scene: &Scene, banded: Option<&FlowsReport>) -> Markup {
    let open = scene.open;
    let system = open.known.system();
    let report = banded.unwrap_or(scene.report);
    html! {
        (style("section.css")) (script("house.js")) (script("why.js"))
        h1 { "What flows where" }
        (scene::house(scene, &[Format::Wide, Format::Narrow]))
        (findings(report))
        (cases(open, report, banded.is_none(), system))
        @if let Some(measurement) = &report.measurement {
            section {
                h2 { "The one measurement that would tell most" }
                p {
                    (capital(measurement.how.trim_end_matches('.'))) ". It would narrow the band of the worst balance from ±"
                    (fixed(100.0 * measurement.now, 1)) " % to ±" (fixed(100.0 * measurement.after, 1)) " %."
                }
            }
        }
        section {
            h2 { "The plan" }
            p { (plan_words(scene.job, &report.plan, system)) }
            p class="quiet" {
                "Flows are shown as volume of standard air. The band holds nine houses of ten that the survey leaves possible. "
                a href=(open.address("/plans")) { "The other plans" }
            }
        }
    }
}

/// What the flows mean, the most serious first.
pub fn findings(report: &FlowsReport) -> Markup {
    html! {
        @for (weight, class, title) in [
            (Weight::NotAllowed, "bad", "Must not stay so"),
            (Weight::Doubtful, "doubtful", "Look at"),
            (Weight::Good, "good", "As it should be"),
        ] {
            @let some: Vec<_> = report.findings.iter().filter(|finding| finding.weight == weight).collect();
            @if !some.is_empty() {
                section {
                    h2 { (title) }
                    ul class="states" {
                        @for finding in some {
                            li class=(class) { span class="shape" aria-hidden="true" {} (finding.text) }
                        }
                    }
                }
            }
        }
    }
}

/// The house in section in one case of the table, as a drawing of its own.
pub async fn drawing(
    State(app): State<App>,
    Path((name, sheet)): Path<(String, String)>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let asked = sheet
        .strip_suffix(".svg")
        .and_then(|sheet| sheet.split_once('-'));
    let (number, format) = asked.ok_or_else(nowhere)?;
    let format = match format {
        "wide" => Format::Wide,
        "narrow" => Format::Narrow,
        _ => return Err(nowhere()),
    };
    let index = number
        .parse::<usize>()
        .ok()
        .and_then(|number| number.checked_sub(1));
    let job = open.known.job().ok_or_else(nowhere)?;
    let report = open.known.flows(job).and_then(Result::ok);
    let report = report.ok_or_else(nowhere)?;
    let banded = open.known.flows_with_bands(&*app.workspace.background);
    let cases = &banded.unwrap_or(report).cases;
    let case = index.and_then(|index| cases.get(index));
    let case = case.ok_or_else(nowhere)?;
    let system = open.known.system();
    let words = case_words(&case.flows.case);
    let section = sheets::section(job, &report.plan, case, &words, system);
    Ok(svg(section.draw(format).svg))
}

fn cases(open: &Open, report: &FlowsReport, pending: bool, system: System) -> Markup {
    let shown = report.cases.iter().filter(|case| {
        let known = case.flows.case;
        known.setting == report.plan.setting
            || known.setting == Setting::Off && known.season == WEATHERS[1].0
    });
    html! {
        section id="cases" data-pending=[pending.then_some("")] {
            h2 { "In each operating case" }
            div class="scroll" tabindex="0" role="region" aria-label="Flows in each operating case" {
                table {
                    thead { tr {
                        th scope="col" { "Blower, ventilator, weather" }
                        th scope="col" class="number supply" { "Supply air" }
                        th scope="col" class="number extract" { "Extract air" }
                        th scope="col" class="number outdoor" { "Outdoor air delivered" }
                        th scope="col" class="number" { "Balance" }
                        th scope="col" class="number" { "House" }
                        th scope="col" class="number" { "Short circuit" }
                    } }
                    tbody { @for case in shown { (case_row(open, case, system)) } }
                }
            }
        }
    }
}

fn case_row(open: &Open, case: &CaseReport, system: System) -> Markup {
    let flows = &case.flows;
    let weather = WEATHERS.iter().find(|one| one.0 == flows.case.season);
    let weather = weather.map_or("", |one| one.1);
    let runs = flows.case.setting != Setting::Off;
    let band = |band: Band| {
        html! {
            @if band.known() { span class="band" { (bare_flow(band.low, system)) "…" (bare_flow(band.high, system)) } }
        }
    };
    html! {
        tr class=[(!case.runs).then_some("idle")] {
            th scope="row" {
                a href=(open.address(&format!("/flows?{}", case_query(&flows.case)))) {
                    (flows.case.blower.name()) ", " (flows.case.setting.name()) ", " (weather)
                }
                @if !case.runs && runs { span class="quiet" { " (the interlock prevents it)" } }
            }
            td class="number" { (short_flow(flows.supply, system)) (band(case.supply)) }
            td class="number" { (short_flow(flows.extract, system)) (band(case.extract)) }
            td class="number" { (short_flow(flows.delivered, system)) (band(case.delivered)) }
            td class="number" {
                @if runs {
                    (signed(100.0 * flows.balance(), 1)) " %"
                    @if case.balance.known() {
                        span class="band" { (signed(100.0 * case.balance.low, 0)) "…" (signed(100.0 * case.balance.high, 0)) }
                    }
                }
            }
            td class="number" { (signed(flows.house_pressure(), 1)) " Pa" }
            td class="number" { @if runs { (fixed(100.0 * flows.short_circuit, 0)) " %" } }
        }
    }
}
