//! The house in section in one operating case, with its switches and its dampers.

use axum::extract::{Form, Path, Query, State};
use axum::response::{IntoResponse as _, Response};
use drawing::section::{Figure, Format, Section, Stream};
use house::model::{Job, Setting};
use maud::{Markup, PreEscaped, html};
use plan::Plan;
use plan::case::blower_modes;
use plan::flows::{Band, CaseReport, FlowsReport};
use serde::Deserialize;
use store::edit::{EditError, Literal, Step, remove, set};
use units::System;
use units::text::{capital, fixed, signed};

use super::shown::{Asked, Refused, Shown, WEATHERS, angle, settings};
use crate::job::{Open, back, change, failed, nowhere};
use crate::layout::message;
use crate::say::{bare_flow, short_flow};
use crate::{App, Work};

/// What is drawn, and from what.
pub struct Scene<'a> {
    /// The job with its page.
    pub open: &'a Open,
    /// The job.
    pub job: &'a Job,
    /// All about its plan.
    pub report: &'a FlowsReport,
    /// What is asked for.
    pub shown: Shown,
    /// The case with the dampers as they are asked for.
    pub case: CaseReport,
    /// Its bands are still being computed.
    pub pending: bool,
}

impl<'a> Scene<'a> {
    /// Solves what is asked for. Bands are begun with a background; a quick look goes without.
    pub fn new(
        background: Option<&(dyn Fn(Work) + Send + Sync)>,
        open: &'a Open,
        job: &'a Job,
        report: &'a FlowsReport,
        asked: &Asked,
    ) -> Result<Self, Refused> {
        let shown = Shown::new(job, report, asked)?;
        let known = &open.known;
        let banded = known.case_with_bands(shown.case, shown.dampers, background);
        let pending = banded.is_none();
        let case = match banded {
            Some(case) => case,
            None => known
                .case(job, shown.case, shown.dampers)
                .ok_or_else(|| Refused("No plan is chosen yet.".to_owned()))?
                .map_err(|why| {
                    Refused(format!("The flows of this plan cannot be computed: {why}."))
                })?,
        };
        Ok(Self {
            open,
            job,
            report,
            shown,
            case,
            pending,
        })
    }

    /// The plan with the dampers as they are shown.
    pub fn plan(&self) -> Plan {
        let [supply_damper, extract_damper] = self.shown.dampers;
        Plan {
            supply_damper,
            extract_damper,
            ..self.report.plan.clone()
        }
    }

    fn system(&self) -> System {
        self.open.known.system()
    }

    fn section(&self) -> Section {
        let words = self.shown.words();
        sheets::section(self.job, &self.plan(), &self.case, &words, self.system())
    }

    /// Where the figure of a key is explained.
    pub fn why(&self, key: &str) -> String {
        let query = self.shown.query();
        self.open.address(&format!("/flows/why/{key}?{query}"))
    }
}

/// What an address of the drawing alone asks for.
#[derive(Debug, Deserialize)]
pub struct Part {
    version: Option<u64>,
    format: Option<String>,
    /// A lever is being turned: more will be asked for at once.
    quick: Option<String>,
}

/// The drawing with its switches alone, as the script asks for it: of one format, and only of the
/// version that the page shows.
pub async fn part(
    State(app): State<App>,
    Path(name): Path<String>,
    Query(asked): Query<Asked>,
    Query(part): Query<Part>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    if part.version.is_some_and(|seen| seen != open.head.version) {
        return Err(failed(&store::StoreError::Moved {
            now: open.head.version,
        }));
    }
    let formats: &[Format] = match part.format.as_deref() {
        Some("wide") => &[Format::Wide],
        Some("narrow") => &[Format::Narrow],
        None => &[Format::Wide, Format::Narrow],
        Some(_) => return Err(nowhere()),
    };
    let job = open.known.job().ok_or_else(nowhere)?;
    let report = open.known.flows(job).and_then(Result::ok);
    let report = report.ok_or_else(nowhere)?;
    let background = part.quick.is_none().then_some(&*app.workspace.background);
    let scene = Scene::new(background, &open, job, report, &asked)?;
    Ok(house(&scene, formats))
}

/// The house with its switches, its dampers and what follows.
pub fn house(scene: &Scene, formats: &[Format]) -> Markup {
    let section = scene.section();
    let why = |key: &str| scene.why(key);
    html! {
        div id="house" data-version=(scene.open.head.version) data-part=(scene.open.address("/flows/house"))
            data-pending=[scene.pending.then_some("")] {
            (switches(scene))
            div class="besides" {
                figure {
                    @for format in formats {
                        @match format {
                            Format::Wide => div class="sheet across" { (PreEscaped(section.draw_in_page(Format::Wide, &why).svg)) },
                            Format::Narrow => div class="sheet tall" tabindex="0" role="region" aria-label="The drawing" {
                                (PreEscaped(section.draw_in_page(Format::Narrow, &why).svg))
                            },
                        }
                    }
                    figcaption {
                        (capital(&scene.shown.words())) "."
                        (every_figure(scene, &section))
                    }
                }
                aside class="consequences" aria-label="What follows" {
                    (consequences(scene, &section))
                    (dampers(scene))
                }
            }
        }
    }
}

/// The four airs in the order of the ducts of a section.
const AIRS: [&str; 4] = ["Outdoor", "Supply", "Extract", "Exhaust"];

/// Blower mode, ventilator setting and weather. Without script a button shows the chosen case.
fn switches(scene: &Scene) -> Markup {
    let case = scene.shown.case;
    let modes = blower_modes(scene.job);
    let one = |group: &str, value: &str, words: &str, on: bool| {
        html! {
            label { input type="radio" name=(group) value=(value) checked[on]; span { (words) } }
        }
    };
    html! {
        form id="switches" method="get" action=(scene.open.address("/flows")) {
            @if modes.len() > 1 {
                fieldset {
                    legend { "Blower" }
                    @for mode in modes { (one("blower", mode.name(), mode.name(), mode == case.blower)) }
                }
            }
            fieldset {
                legend { "Ventilator" }
                @for setting in settings(scene.job, scene.report) {
                    (one("setting", setting.name(), setting.name(), setting == case.setting))
                }
            }
            fieldset {
                legend { "Weather" }
                @for (season, name, _) in WEATHERS { (one("weather", name, name, season == case.season)) }
            }
            button class="quietly show" { "Show" }
        }
    }
}

/// What follows from the case, in words and figures.
fn consequences(scene: &Scene, section: &Section) -> Markup {
    let flows = &scene.case.flows;
    let system = scene.system();
    let runs = flows.case.setting != Setting::Off;
    let flow_band = |band: Band| {
        band.known().then(|| {
            format!(
                "{}…{}",
                bare_flow(band.low, system),
                bare_flow(band.high, system)
            )
        })
    };
    let balance_band = |band: Band| {
        let end = |end: f64| signed(100.0 * end, 0);
        band.known()
            .then(|| format!("{}…{} %", end(band.low), end(band.high)))
    };
    let entry = |key: &str, name: &str, value: String, band: Option<String>| {
        html! {
            div {
                dt { (name) }
                dd {
                    a class="figure" id=(format!("figure-{key}")) href=(scene.why(key)) { (value) }
                    @if let Some(band) = band { span class="band" { (band) } }
                }
            }
        }
    };
    html! {
        div class="told" aria-live="polite" {
            @for (air, duct) in AIRS.iter().zip(&section.ducts).filter(|(_, duct)| !duct.wrong.is_empty()) {
                p class="alarm" {
                    span class="shape" aria-hidden="true" {}
                    @match duct.wrong.strip_prefix("Runs") {
                        Some(rest) => { (air) " air runs" (rest) },
                        None => (duct.wrong),
                    }
                }
            }
            @if !section.short_circuit.is_empty() {
                p class="alarm" { span class="shape" aria-hidden="true" {} (section.short_circuit) }
            }
            @for note in &section.notes { p { (note) } }
        }
        dl class="figures" {
            @if runs {
                (entry("delivered", "Outdoor air to the rooms", short_flow(flows.delivered, system), flow_band(scene.case.delivered)))
                (entry("balance", "Balance", format!("{} %", signed(100.0 * flows.balance(), 1)), balance_band(scene.case.balance)))
                (entry("short-circuit", "Short circuit", format!("{} %", fixed(100.0 * flows.short_circuit, 0)), None))
            }
            (entry("house-pressure", "House against outdoors", format!("{} Pa", signed(flows.house_pressure(), 1)), None))
        }
        @if scene.pending {
            p class="hint pending" {
                "The band that the survey leaves open is being computed. "
                a href=(scene.open.address(&format!("/flows?{}", scene.shown.query()))) { "Look again" }
            }
        }
    }
}

/// Every figure of the drawing as a table, with what a narrow drawing leaves out.
fn every_figure(scene: &Scene, section: &Section) -> Markup {
    let cell = |key: &str, figure: Option<&Figure>| {
        html! {
            td class="number" {
                @if let Some(figure) = figure {
                    a class="figure" href=(scene.why(key)) { (figure.first) }
                    @if !figure.spread.is_empty() { " " (figure.spread) }
                    @if !figure.second.is_empty() { span class="band" { (figure.second) } }
                }
            }
        }
    };
    let row = |name: &str, flow: Markup, pressure: Markup| {
        html! { tr { th scope="row" { (name) } (flow) (pressure) } }
    };
    let none = || html! { td {} };
    html! {
        details id="every-figure" {
            summary { "Every figure of the drawing" }
            div class="scroll" tabindex="0" role="region" aria-label="Every figure of the drawing" {
                table class="slim" {
                    thead { tr {
                        th scope="col" { "What" }
                        th scope="col" class="number" { "Flow" }
                        th scope="col" class="number" { "Pressure" }
                    } }
                    tbody {
                        @for (stream, duct) in Stream::ALL.into_iter().zip(&section.ducts) {
                            @let air = AIRS[stream as usize];
                            @let key = air.to_lowercase();
                            (row(
                                &format!("{air} air, at the unit"),
                                cell(&format!("flow-{key}"), Some(&duct.flow)),
                                cell(&format!("port-{key}"), Some(&duct.port)),
                            ))
                            @for (place, end) in duct.ends.iter().enumerate().filter(|(_, end)| end.flow.is_some()) {
                                (row(&capital(&end.name), cell(&format!("end-{key}-{place}"), end.flow.as_ref()), none()))
                            }
                        }
                        @if let Some(handler) = &section.handler {
                            (row("Blower", cell("blower", handler.flow.as_ref()), none()))
                            (row("Return plenum", none(), cell("plenum-return", Some(&handler.plenums[0]))))
                            (row("Supply plenum", none(), cell("plenum-supply", Some(&handler.plenums[1]))))
                        }
                        @for (place, zone) in section.zones.iter().enumerate().filter(|(_, zone)| zone.pressure.is_some()) {
                            (row(&capital(&zone.name), none(), cell(&format!("zone-{place}"), zone.pressure.as_ref())))
                        }
                        @for sign in section.signs.iter().filter(|sign| sign.flow.is_some()) {
                            @let zone = section.zones.get(sign.zone).map_or("", |zone| zone.name.as_str());
                            (row(&format!("{}, {zone}", capital(&sign.name)), cell(&sign.key, sign.flow.as_ref()), none()))
                        }
                    }
                }
            }
        }
    }
}

/// The two dampers as numbers, and what can be done with them.
fn dampers(scene: &Scene) -> Markup {
    let [supply, extract] = scene.shown.dampers;
    let field = |name: &str, words: &str, angle: f64| {
        html! {
            div {
                label for=(name) { (words) }
                input id=(name) name=(name) form="switches" type="number" inputmode="decimal" min="0" max="90" step="any" value=(degrees(angle));
                span class="unit" { "°" }
            }
        }
    };
    let hidden = || {
        let query = scene.shown.case_query();
        html! {
            input type="hidden" name="version" value=(scene.open.head.version);
            input type="hidden" name="case" value=(query);
        }
    };
    html! {
        section class="dampers" {
            h2 { "Dampers" }
            p class="hint" { "0° is open, 90° shut. Turn a lever in the drawing, or type an angle." }
            div class="pairwise" {
                (field("supply_damper", "Supply damper", supply))
                (field("extract_damper", "Extract damper", extract))
            }
            @if scene.shown.kept {
                p class="hint" {
                    @if scene.report.dampers_set { "The program has set them so that the modes in which the ventilator runs balance on a mild day." }
                    @else { "They stand as the job says." }
                }
            } @else {
                form method="post" action=(scene.open.address("/flows/dampers")) {
                    (hidden())
                    input type="hidden" name="supply_damper" value=(degrees(supply));
                    input type="hidden" name="extract_damper" value=(degrees(extract));
                    button { "Keep these dampers" }
                }
                p class="hint" {
                    a href=(scene.open.address(&format!("/flows?{}", scene.shown.case_query()))) { "Back to the dampers of the plan" }
                }
            }
            @if !scene.report.dampers_set {
                form method="post" action=(scene.open.address("/flows/dampers")) {
                    (hidden())
                    button class="quietly" { "Let the program set them" }
                }
            }
        }
    }
}

/// An angle without needless decimals.
pub fn degrees(angle: f64) -> String {
    let text = format!("{angle:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Dampers that are kept; without angles the program sets them.
#[derive(Debug, Deserialize)]
pub struct Kept {
    version: u64,
    case: Option<String>,
    supply_damper: Option<String>,
    extract_damper: Option<String>,
}

/// Writes the dampers into the plan of the job, or takes them out.
pub async fn keep(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(kept): Form<Kept>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let key = &open.head.key;
    if kept.version != open.head.version {
        return Err(failed(&store::StoreError::Moved {
            now: open.head.version,
        }));
    }
    let job = open.known.job().ok_or_else(nowhere)?;
    let chosen = job.chosen.as_ref().ok_or_else(nowhere)?;
    let (text, what) = match (&kept.supply_damper, &kept.extract_damper) {
        (None, None) => (
            without_dampers(open.known.text()),
            "dampers left to the program".to_owned(),
        ),
        (supply, extract) => {
            let of = |asked: &Option<String>, now: Option<f64>| {
                angle(asked.as_deref(), now.unwrap_or(0.0))
            };
            let supply = of(supply, chosen.supply_damper)?;
            let extract = of(extract, chosen.extract_damper)?;
            (
                with_dampers(open.known.text(), [supply, extract]),
                format!(
                    "supply damper at {}°, extract damper at {}°",
                    degrees(supply),
                    degrees(extract)
                ),
            )
        }
    };
    let text = text.map_err(|error| {
        let words = format!("{}.", capital(&error.to_string()));
        message("The dampers were not kept", &words).into_response()
    })?;
    change(&app, key, kept.version, what, &text)
        .await
        .map_err(|error| failed(&error))?;
    let case = kept.case.unwrap_or_default();
    let plain = |c: char| c.is_ascii_alphanumeric() || "=&_-".contains(c);
    let case = if case.chars().all(plain) {
        case
    } else {
        String::new()
    };
    Ok(back(&open.address(&format!("/flows?{case}"))))
}

const KEYS: [&str; 2] = ["supply_damper", "extract_damper"];

fn way(key: &str) -> [Step; 2] {
    ["plan".into(), key.into()]
}

fn with_dampers(text: &str, angles: [f64; 2]) -> Result<String, EditError> {
    let mut text = text.to_owned();
    for (key, angle) in KEYS.into_iter().zip(angles) {
        let value = Literal::text(&format!("{}°", degrees(angle)));
        let splice = set(&text, &way(key), value)?;
        text = splice.apply(&text).map_err(|_| EditError::Entangled)?;
    }
    Ok(text)
}

fn without_dampers(text: &str) -> Result<String, EditError> {
    let mut text = text.to_owned();
    for key in KEYS {
        match remove(&text, &way(key)) {
            Ok(splice) => text = splice.apply(&text).map_err(|_| EditError::Entangled)?,
            Err(EditError::NoWay(_)) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(text)
}
