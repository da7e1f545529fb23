//! The flows of the chosen plan, and what they mean.

use axum::extract::{Path, State};
use axum::response::Response;
use drawing::section::Format;
use house::model::{Job, Season, Setting};
use maud::{Markup, html};
use plan::finding::Weight;
use plan::flows::{Band, CaseReport, FlowsReport};
use units::{Quantity as _, System, VolumeFlow};

use crate::App;
use crate::job::{Open, nowhere};
use crate::layout::{of_job, svg};
use crate::needs::blocked;
use crate::plans::plan_words;
use crate::say::{capital, fixed, short_flow, signed};

/// The page of flows.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Markup, Response> {
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
            Some(Ok(report)) => content(&open, job, report),
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

fn content(open: &Open, job: &Job, report: &FlowsReport) -> Markup {
    let system = open.known.system();
    html! {
        h1 { "What flows where" }
        p { (plan_words(job, &report.plan, system)) }
        p {
            @if report.dampers_set { "The dampers are set here so that the modes in which it runs balance on a mild day: " }
            @else { "The dampers stand as the job says: " }
            "supply damper at " (fixed(report.plan.supply_damper, 0)) "°, extract damper at "
            (fixed(report.plan.extract_damper, 0)) "° (0° is open)."
        }
        (house(open, job, report))
        (findings(report))
        (cases(open, report, system))
        @if let Some(measurement) = &report.measurement {
            section {
                h2 { "The one measurement that would tell most" }
                p {
                    (measurement.how) " It would narrow the band of the worst balance from ±"
                    (fixed(100.0 * measurement.now, 1)) " % to ±" (fixed(100.0 * measurement.after, 1)) " %."
                }
            }
        }
        p class="quiet" {
            "Flows are shown as volume of standard air. The band holds nine houses of ten that the survey leaves possible. "
            a href=(open.address("/plans")) { "The other plans" }
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

/// The house in section in the case in which the ventilator spends most of its time.
fn house(open: &Open, job: &Job, report: &FlowsReport) -> Markup {
    let usual = plan::case::usual_mode(job, report.plan.interlock);
    let shown = report.cases.iter().position(|case| {
        let known = case.flows.case;
        Some(known.blower) == usual
            && known.setting == report.plan.setting
            && known.season == Season::Mild
    });
    let shown = shown.unwrap_or(0);
    html! {
        @if let Some(case) = report.cases.get(shown) {
            figure class="section" {
                picture {
                    source media="(max-width: 44rem)" srcset=(drawing_address(open, shown, "narrow"));
                    img src=(drawing_address(open, shown, "wide")) width="1200" height="800"
                        alt={ "The house in section: " (case_words(case)) ". Its flows stand in the table below." };
                }
                figcaption { (capital(&case_words(case))) ". Each case of the table below has its own drawing." }
            }
        }
    }
}

fn drawing_address(open: &Open, case: usize, format: &str) -> String {
    let version = open.head.version;
    open.address(&format!("/flows/{}-{format}.svg?{version}", case + 1))
}

fn case_words(case: &CaseReport) -> String {
    let case = case.flows.case;
    let weather = match case.season {
        Season::Winter => "in winter",
        Season::Mild => "on a mild day",
        Season::Summer => "in summer",
    };
    format!(
        "blower {}, ventilator {}, {weather}",
        case.blower.name(),
        case.setting.name()
    )
}

/// The house in section in one case.
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
    let report = open
        .known
        .flows(job)
        .and_then(Result::ok)
        .ok_or_else(nowhere)?;
    let case = index
        .and_then(|index| report.cases.get(index))
        .ok_or_else(nowhere)?;
    let system = open.known.system();
    let section = sheets::section(job, &report.plan, case, &case_words(case), system);
    Ok(svg(section.draw(format).svg))
}

fn cases(open: &Open, report: &FlowsReport, system: System) -> Markup {
    let shown = report.cases.iter().enumerate().filter(|(_, case)| {
        let setting = case.flows.case.setting;
        setting == report.plan.setting
            || setting == Setting::Off && case.flows.case.season == Season::Mild
    });
    html! {
        section {
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
                    tbody { @for (index, case) in shown { (case_row(open, index, case, system)) } }
                }
            }
        }
    }
}

fn case_row(open: &Open, index: usize, case: &CaseReport, system: System) -> Markup {
    let flows = &case.flows;
    let season = match flows.case.season {
        Season::Winter => "winter",
        Season::Mild => "mild",
        Season::Summer => "summer",
    };
    let runs = flows.case.setting != Setting::Off;
    let band = |band: Band| {
        let end = |end: f64| VolumeFlow::from_si(end / air::STANDARD_DENSITY).show(system);
        let strip = |text: String| text.split(' ').next().unwrap_or_default().replace('-', "−");
        html! { span class="band" { (strip(end(band.low))) "…" (strip(end(band.high))) } }
    };
    html! {
        tr class=[(!case.runs).then_some("idle")] {
            th scope="row" {
                a href=(drawing_address(open, index, "wide")) {
                    (flows.case.blower.name()) ", " (flows.case.setting.name()) ", " (season)
                }
                @if !case.runs && runs { span class="quiet" { " (the interlock prevents it)" } }
            }
            td class="number" { (short_flow(flows.supply, system)) (band(case.supply)) }
            td class="number" { (short_flow(flows.extract, system)) (band(case.extract)) }
            td class="number" { (short_flow(flows.delivered, system)) (band(case.delivered)) }
            td class="number" {
                @if runs {
                    (signed(100.0 * flows.balance(), 1)) " %"
                    span class="band" { (signed(100.0 * case.balance.low, 0)) "…" (signed(100.0 * case.balance.high, 0)) }
                }
            }
            td class="number" { (signed(flows.house_pressure(), 1)) " Pa" }
            td class="number" { @if runs { (fixed(100.0 * flows.short_circuit, 0)) " %" } }
        }
    }
}
