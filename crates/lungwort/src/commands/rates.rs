//! `lungwort rates JOB`: how much outdoor air the house needs, by every rule side by side, what
//! its kitchens and baths need, and what its leaks bring.

use std::fmt::Write as _;
use std::path::Path;
use units::text::{capital, fixed, signed, true_minus};

use house::model::{Job, Running, ZoneKind};
use plan::candidate::Plan;
use plan::infiltration::{Comparison, Infiltration, infiltration};
use plan::local_exhaust::{LocalExhaust, local_exhaust};
use plan::rate::{RequiredRate, authority, rates, required};
use plan::usual::usual_flows;
use rules::infiltration::Foundation;
use rules::rates::exposure::{Exposure, exposure};
use rules::rates::local::RoomExhaust;
use rules::rates::{Rate, Step};
use rules::{Row, RuleSet};
use serde_json::{Value, json};
use units::{Quantity, System, TemperatureDifference, Typed, VolumeFlow, both};

use crate::command_line::Options;
use crate::commands::flows::{asked_or_chosen, unsolved};
use crate::figures::{Figures, percent};
use crate::job::{self, Usable};
use crate::outcome::{Failure, Outcome, coloured};
use crate::report::{Page, season_name};
use crate::sketch::wind_words;
use crate::text::{WIDTH, cut, item, left, right};

/// Everything that is said.
struct Told {
    required: RequiredRate,
    rates: plan::rate::Rates,
    local: LocalExhaust,
    /// What the plan brings to the rooms, or the flow that was asked about (m³/s), and the relative
    /// exposure that this leaves.
    brought: Option<(f64, Option<Exposure>)>,
    /// Whether it was asked about.
    given: bool,
    infiltration: Option<Comparison>,
}

/// Prints the rates. The answer is no if the ventilator cannot keep its rate by the schedule of the
/// job.
pub fn run(
    path: &Path,
    explain: Option<&str>,
    asked: Option<usize>,
    flow: Option<&str>,
    options: &Options,
) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(path)?;
    let plan = asked_or_chosen(&job, asked, options)?;
    let flow = flow.map(given_flow).transpose()?;
    let Some(told) = told(&job, plan.as_ref(), flow)? else {
        return Err(Failure::message(
            "the rates of this house cannot be computed",
            "look at its floor area, heights and leakage in the job file",
        ));
    };
    let explained = match explain {
        None => vec![&told.rates.decision.rate],
        Some(name) => asked_for(&told.rates.all, name)?,
    };
    let kept = told.required.rule.is_none()
        || told
            .rates
            .strictest_running()
            .is_none_or(|running| running.way.flow.is_some());
    let yes = kept && flow.is_none_or(|flow| flow >= told.required.rate * (1.0 - 1e-9));
    if options.json {
        let mut object = object(&job, &told);
        object["name"] = job.name.clone().into();
        object["problems"] = problems;
        return Ok(Outcome::json(&object, yes));
    }
    let page = Page {
        job: &job,
        figures: Figures {
            system: job::system(&job, options),
        },
        coloured: coloured(),
    };
    Ok(Outcome::new(text(page, plan.as_ref(), &told, &explained), yes).with_notes(notes))
}

/// A flow (m³/s) as it was typed.
fn given_flow(text: &str) -> Result<f64, Failure> {
    match Typed::<VolumeFlow>::parse(text) {
        Ok(typed) if typed.value.si() > 0.0 => Ok(typed.value.si()),
        Ok(_) => Err(Failure::message(
            format!("{text:?} is no flow of a ventilator"),
            "it is above zero",
        )),
        Err(error) => Err(Failure::message(
            error.to_string(),
            "write a flow with its unit, like --flow \"95 cfm\"",
        )),
    }
}

fn told(job: &Job, plan: Option<&Plan>, flow: Option<f64>) -> Result<Option<Told>, Failure> {
    let Some(rates) = rates(job) else {
        return Ok(None);
    };
    let brought = match (flow, plan) {
        (Some(flow), _) => Some(flow),
        (None, Some(plan)) => {
            let flows = usual_flows(job, plan).map_err(unsolved)?;
            let delivered = flows.iter().map(|flows| flows.delivered);
            Some(delivered.fold(f64::INFINITY, f64::min) / air::STANDARD_DENSITY)
        }
        (None, None) => None,
    };
    let brought = brought.map(|flow| {
        let rate = &rates.decision.rate;
        let leaks = rate.credit.unwrap_or(0.0);
        let left = exposure(
            &job.rates.running.schedule,
            flow + leaks,
            leaks,
            rate.total,
            rates.dwelling.volume(),
        );
        (flow, left)
    });
    Ok(Some(Told {
        required: required(job),
        local: local_exhaust(job, plan).map_err(unsolved)?,
        infiltration: infiltration(job).map_err(unsolved)?,
        brought,
        given: flow.is_some(),
        rates,
    }))
}

/// The rates that `--explain` asks for: all of them, or those whose rule has the words in its name.
fn asked_for<'a>(all: &'a [Rate], name: &str) -> Result<Vec<&'a Rate>, Failure> {
    let name = name.trim().to_lowercase();
    let found: Vec<&Rate> = all
        .iter()
        .filter(|rate| name == "all" || rate.rule.id.to_lowercase().contains(&name))
        .collect();
    if found.is_empty() {
        let names: Vec<&str> = all.iter().map(|rate| rate.rule.id).collect();
        return Err(Failure::message(
            format!("there is no rate {name:?}"),
            format!("the rates are {}; or all", names.join(", ")),
        ));
    }
    Ok(found)
}

fn text(page: Page<'_>, plan: Option<&Plan>, told: &Told, explained: &[&Rate]) -> String {
    let job = page.job;
    let system = page.figures.system;
    let mut text = page.heading(&job.name);
    text.push_str(&page.paragraph(&demand(told, system)));
    text.push('\n');
    text.push_str(&page.heading("Rates side by side"));
    text.push_str(&table(page, told));
    for rate in explained {
        text.push('\n');
        text.push_str(&page.heading(&format!("How {} comes about", rate.rule.id)));
        text.push_str(&arithmetic(rate));
    }
    if !told.rates.running.is_empty() {
        text.push('\n');
        text.push_str(&page.heading("Running by the schedule"));
        text.push_str(&schedule(page, told));
    } else if told.given {
        text.push('\n');
        text.push_str(&page.heading("The flow that was asked about"));
        text.push_str(&brought(told, system));
    }
    text.push('\n');
    text.push_str(&page.heading("Exhaust of kitchens and baths"));
    text.push_str(&local(page, plan, told));
    if let Some(comparison) = &told.infiltration {
        text.push('\n');
        text.push_str(&page.heading("Air through the leaks, as the house was found"));
        text.push_str(&leaks(page, comparison));
    }
    text.push('\n');
    text.push_str(&page.paragraph(
        "Figures marked as from memory are to be checked in your copy of the standard; the authority of the place decides. Another rule's arithmetic: lungwort rates JOB --explain NAME, or all.",
    ));
    text
}

/// The answer in one paragraph.
fn demand(told: &Told, system: System) -> String {
    let required = &told.required;
    let rate = both(VolumeFlow::from_si(required.rate), system);
    match required.rule {
        None => format!(
            "{rate} of outdoor air are asked for: {}. The rules below are for comparison.",
            required.because
        ),
        Some(rule) => {
            let when = if told.rates.running.is_empty() {
                "all the time"
            } else {
                "while the ventilator runs"
            };
            let credit = match required.credit {
                Some(_) => " Infiltration is counted.",
                None if rule.starts_with("62.2") => " No infiltration is counted.",
                None => "",
            };
            format!(
                "This house needs {rate} of outdoor air {when}, by the rule {rule}: {}. {}.{credit} Whose rule: {}.",
                told.rates.decision.because,
                capital(&required.because),
                required.authority
            )
        }
    }
}

const RULE: usize = 26;
const NUMBER: usize = 12;

fn table(page: Page<'_>, told: &Told) -> String {
    let figures = page.figures;
    let flow = |flow: f64| {
        let unit = VolumeFlow::units()
            .iter()
            .find(|unit| unit.symbol == figures.flow_unit());
        unit.map_or_else(String::new, |unit| fixed(unit.from_si(flow), 1))
    };
    let unit = figures.flow_unit();
    let mut text = format!(
        "  {}{}{}{}  {}\n  {}{}{}{}\n",
        left("", RULE),
        right("in all", NUMBER),
        right("less leaks", NUMBER),
        right("ventilator", NUMBER),
        "how well known",
        left("rule", RULE),
        right(unit, NUMBER),
        right(unit, NUMBER),
        right(unit, NUMBER),
    );
    let decision = &told.rates.decision;
    for rate in &told.rates.all {
        let mark = if told.required.rule == Some(rate.rule.id) {
            "▶ "
        } else if decision.chosen.contains(&rate.rule.id) {
            "• "
        } else {
            "  "
        };
        let more = if rate.missing.is_empty() {
            ""
        } else {
            "; see what is missing"
        };
        let _ = writeln!(
            text,
            "{mark}{}{}{}{}  {}{}",
            left(&cut(rate.rule.id, RULE), RULE),
            right(&flow(rate.total), NUMBER),
            right(&rate.credit.map_or_else(|| "–".to_owned(), flow), NUMBER),
            right(&flow(rate.needed), NUMBER),
            rate.rule.confidence.name(),
            more
        );
    }
    text.push_str(&item(
        "  ",
        "▶ decides in this job, • is chosen too. In all: outdoor air that the rule wants; less leaks: infiltration that it counts; ventilator: what is left for it, with the rule's factor for the system.",
        WIDTH,
    ));
    text
}

/// The steps, exceptions and gaps of one rate.
fn arithmetic(rate: &Rate) -> String {
    let mut text = String::new();
    for Step { what, formula, .. } in &rate.steps {
        text.push_str(&item(
            "  • ",
            &format!("{}: {formula}", capital(what)),
            WIDTH,
        ));
    }
    for exception in &rate.exceptions {
        text.push_str(&item("  • ", exception, WIDTH));
    }
    for missing in &rate.missing {
        text.push_str(&item("  • ", &format!("Missing. {missing}"), WIDTH));
    }
    for doubt in &rate.doubts {
        text.push_str(&item("  • ", &format!("In doubt. {doubt}"), WIDTH));
    }
    text.push_str(&item(
        "  • ",
        &format!("Whose rule: {}.", authority(rate)),
        WIDTH,
    ));
    if !rate.rule.exception.is_empty() {
        text.push_str(&item(
            "  • ",
            &format!("Except: {}.", rate.rule.exception),
            WIDTH,
        ));
    }
    text
}

/// When the ventilator runs, in words.
fn hours(running: &Running) -> String {
    if running.hours.is_empty() {
        let minutes = 60.0 * running.schedule.share();
        return format!("{} minutes of every hour", fixed(minutes, 0));
    }
    let clock = |time: f64| {
        let minutes = (time / 60.0).round() as u32;
        format!("{}:{:02}", minutes / 60, minutes % 60)
    };
    let spans: Vec<String> = running
        .hours
        .iter()
        .map(|[from, to]| format!("{} to {}", clock(*from), clock(*to)))
        .collect();
    spans.join(", ")
}

fn schedule(page: Page<'_>, told: &Told) -> String {
    let system = page.figures.system;
    let flow = |flow: f64| both(VolumeFlow::from_si(flow), system);
    let running = &page.job.rates.running;
    let mut text = page.paragraph(&format!(
        "The ventilator runs {}, {} % of the day. To keep its rate all the same it has to bring, while it runs:",
        hours(running),
        percent(running.schedule.share(), 0),
    ));
    for plan::rate::Running { rule, own, way } in &told.rates.running {
        let needed = way
            .flow
            .map_or_else(|| "No flow is enough".to_owned(), flow);
        text.push_str(&item(
            "  • ",
            &format!(
                "{needed} by {}, {} the rule {rule}: {}. {}.",
                way.method.name(),
                if *own {
                    "which belongs to"
                } else {
                    "for comparison with"
                },
                way.words,
                way.method.source()
            ),
            WIDTH,
        ));
    }
    if !told.rates.running.iter().any(|running| running.own) {
        text.push_str(&item(
            "  • ",
            "No method is known that belongs to the chosen rules: ask the authority.",
            WIDTH,
        ));
    }
    text.push_str(&brought(told, system));
    text
}

/// What the plan brings, or the flow that was asked about, and whether that passes.
fn brought(told: &Told, system: System) -> String {
    let flow = |flow: f64| both(VolumeFlow::from_si(flow), system);
    let mut text = String::new();
    if let Some((brought, left)) = &told.brought {
        let against = if *brought >= told.required.rate * (1.0 - 1e-9) {
            format!("enough for the {} that are asked", flow(told.required.rate))
        } else {
            format!("less than the {} that are asked", flow(told.required.rate))
        };
        let verdict = match left {
            None => "no outdoor air comes, so the exposure grows without end".to_owned(),
            Some(day) => format!(
                "the mean relative exposure is {} over time and {} by the ends of the hours, the highest {}: it {}",
                fixed(day.mean, 2),
                fixed(day.mean_of_ends, 2),
                fixed(day.peak, 2),
                match (day.passes(), day.passes_by_ends()) {
                    (true, true) => "passes",
                    (false, false) => "does not pass (at most 1, and 5 for the highest)",
                    _ => "passes by one of the two ways of averaging only",
                }
            ),
        };
        text.push_str(&item(
            "  • ",
            &if told.given {
                format!("{} while it runs are {against}; {verdict}.", flow(*brought))
            } else {
                format!(
                    "The plan brings {} while it runs, {against}; {verdict}.",
                    flow(*brought)
                )
            },
            WIDTH,
        ));
    }
    text
}

fn local(page: Page<'_>, plan: Option<&Plan>, told: &Told) -> String {
    let system = page.figures.system;
    let flow = |flow: f64| both(VolumeFlow::from_si(flow), system);
    let local = &told.local;
    let mut text = String::new();
    let mut set: Option<RuleSet> = None;
    for room in &local.rooms {
        if set != Some(room.demand.set) {
            set = Some(room.demand.set);
            text.push_str(&item(
                "  ",
                &format!("By {}:", room.demand.set.name()),
                WIDTH,
            ));
        }
        text.push_str(&item(
            "  • ",
            &local.room_words(page.job, room, system),
            WIDTH,
        ));
    }
    if local.rooms.is_empty() {
        text.push_str(&page.paragraph("The job has no kitchen, bath or toilet."));
    }
    let mut sources: Vec<String> = Vec::new();
    for room in &local.rooms {
        let source = format!("{}: {}", room.demand.room.name(), room.source);
        if !sources.contains(&source) {
            sources.push(source);
        }
    }
    if !sources.is_empty() {
        text.push_str(&item(
            "  • ",
            &format!("Whose rules: {}.", sources.join("; ")),
            WIDTH,
        ));
    }
    if let Some(reason) = &local.not_counted {
        text.push_str(&item("  • ", reason, WIDTH));
    }
    if plan.is_none() {
        text.push_str(&item(
            "  • ",
            "The job file names no plan: only the exhausts of the house are looked at (give a plan with --plan N).",
            WIDTH,
        ));
    }
    if page.job.rates.rooms_assumed {
        text.push_str(&item(
            "  • ",
            "The rooms are a stated default: type [rates.rooms].",
            WIDTH,
        ));
    }
    let by_ashrae = |room: &RoomExhaust| room.demand.set == RuleSet::Ashrae622;
    if local.deficit > 0.0 && local.rooms.iter().any(by_ashrae) {
        text.push_str(&item(
            "  • ",
            &format!(
                "For information: an existing house that leaves this as it is adds {} to the total of ASHRAE 62.2, a quarter of what the exhausts on demand lack (appendix A of 2013, partly from memory).",
                flow(local.deficit)
            ),
            WIDTH,
        ));
    }
    text
}

/// `Bathroom 2 has none: …`.
fn leaks(page: Page<'_>, comparison: &Comparison) -> String {
    let figures = page.figures;
    let system = figures.system;
    let flow = |flow: f64| figures.flow(flow * air::STANDARD_DENSITY);
    let unit = figures.flow_unit();
    let mut text = format!(
        "{}{}{}{}{}{}\n",
        left("weather, indoors less outdoors", 34),
        right(&format!("network {unit}"), 14),
        right("enhanced", 11),
        right("apart", 9),
        right("basic", 9),
        right("apart", 9),
    );
    let apart = |network: f64, model: f64| {
        if model > 0.0 {
            format!("{} %", signed(100.0 * (network / model - 1.0), 0))
        } else {
            String::new()
        }
    };
    for line in &comparison.lines {
        let wind = if line.wind > 0.0 { "windy" } else { "calm" };
        let difference = TemperatureDifference::from_si(line.difference).show(system);
        let _ = writeln!(
            text,
            "{}{}{}{}{}{}",
            left(
                &cut(
                    &format!(
                        "{}, {wind}, {}",
                        season_name(line.season),
                        true_minus(difference)
                    ),
                    34
                ),
                34
            ),
            right(&flow(line.network), 14),
            right(&flow(line.enhanced), 11),
            right(&apart(line.network, line.enhanced), 9),
            right(&flow(line.basic), 9),
            right(&apart(line.network, line.basic), 9),
        );
    }
    for sentence in leak_words(page, comparison) {
        text.push_str(&item("  • ", &sentence, WIDTH));
    }
    text
}

/// What the comparison rests on, and why its three answers differ.
fn leak_words(page: Page<'_>, comparison: &Comparison) -> Vec<String> {
    let job = page.job;
    let system = page.figures.system;
    let [floor, walls, ceiling] = comparison.distribution;
    let mut list = vec![format!(
        "The network is the one by which plans are computed, here with ventilator, blower and exhausts standing; the models are those of ASHRAE Fundamentals 2021, chapter 16 (enhanced: AIM-2; basic: Sherman and Grimsrud). Outdoor air at its own density; wind {} at eaves height, shelter class {}, mean of all directions; {}{}.",
        wind_words(job.climate.wind_speed, system),
        comparison.shelter,
        match comparison.storeys {
            1 => "1 storey".to_owned(),
            storeys => format!("{storeys} storeys"),
        },
        match comparison.foundation {
            Foundation::Slab => "",
            Foundation::Crawlspace => " over a crawlspace",
        }
    )];
    list.push(format!(
        "Why they differ. Distribution: here {} % of the leakage lie in the floor, {} % in walls, {} % in the ceiling, while the basic model has 25, 50, 25, and the enhanced one less in floor and ceiling the more storeys there are.",
        percent(floor, 0),
        percent(walls, 0),
        percent(ceiling, 0)
    ));
    list.push(format!(
        "Exponent: {} here, 0.67 for the coefficients of the enhanced model; the basic model takes the leaks for openings (0.5), which gives more where the pressure is below 4 Pa.",
        fixed(comparison.leakage.exponent(), 2)
    ));
    list.push(
        "Wind: the network gives it to the walls only, the models to floor and ceiling too, so with wind it is lower.".into(),
    );
    if job.zones.iter().any(|zone| zone.kind == ZoneKind::Basement) {
        list.push(
            "Basement: its depth makes the network's stack taller; the models count storeys above grade.".into(),
        );
    }
    if job.zones.iter().any(|zone| zone.kind == ZoneKind::Attic) {
        list.push(
            "Attic: the network has its air 3 K (5 °F) warmer than outdoors, which helps the stack when it is cold and hinders it when it is hot.".into(),
        );
    }
    let outside = |path: &house::model::Path| {
        path.leakage_zone
            .is_none_or(|zone| !job.zones[zone].kind.conditioned())
    };
    if job
        .air_handler
        .as_ref()
        .is_some_and(|handler| outside(&handler.return_path) || outside(&handler.supply_path))
    {
        list.push(
            "Ducts: those that leak outside the rooms are ways of their own in the network; the models have them in the leakage of the house only.".into(),
        );
    }
    if job.building.altitude > 500.0 {
        list.push(
            "Altitude: thin air weighs less, so the network has less stack; the models know sea level only.".into(),
        );
    }
    if let Some(line) = comparison
        .lines
        .iter()
        .find(|line| line.with_flue.is_some())
    {
        list.push(format!(
            "An appliance has an open chimney. The enhanced model gives {} with it and {} without ({}, calm); the network has none of its own, since the blower door measured what was open then.",
            both(VolumeFlow::from_si(line.with_flue.unwrap_or(0.0)), system),
            both(VolumeFlow::from_si(line.enhanced), system),
            season_name(line.season),
        ));
    }
    list.push(
        "A single day of weather is no mean of the year: only the weather factor gives the infiltration that a rule counts.".into(),
    );
    list
}

fn object(job: &Job, told: &Told) -> Value {
    let decision = &told.rates.decision;
    let exposure = |day: &Exposure| {
        json!({
            "mean": day.mean,
            "mean_of_ends": day.mean_of_ends,
            "highest": day.peak,
            "lowest": day.lowest,
            "passes": day.passes(),
            "passes_by_ends": day.passes_by_ends(),
        })
    };
    let running = |plan::rate::Running { rule, own, way }: &plan::rate::Running| {
        json!({
            "rule": rule,
            "own": own,
            "method": way.method.name(),
            "source": way.method.source(),
            "needed_m3_s": way.flow,
            "words": way.words,
            "exposure": way.exposure.as_ref().map(exposure),
        })
    };
    json!({
        "required": crate::objects::required(&told.required),
        "decision": {
            "rule": decision.rate.rule.id,
            "chosen": decision.chosen,
            "because": decision.because,
        },
        "rates": told.rates.all.iter().map(rate_object).collect::<Vec<_>>(),
        "schedule": {
            "share": job.rates.running.schedule.share(),
            "running": told.rates.running.iter().map(running).collect::<Vec<_>>(),
            "brought_m3_s": told.brought.map(|(flow, _)| flow),
            "brought_exposure": told.brought.and_then(|(_, day)| day).as_ref().map(exposure),
        },
        "local_exhaust": {
            "rooms": told.local.rooms.iter().map(|room| room_object(room, &told.local)).collect::<Vec<_>>(),
            "not_counted": told.local.not_counted,
            "existing_house_adds_m3_s": told.local.deficit,
        },
        "infiltration": told.infiltration.as_ref().map(leaks_object),
    })
}

fn rule_object(row: &Row) -> Value {
    json!({
        "rule": row.id,
        "authority": row.authority,
        "edition": row.edition,
        "confidence": row.confidence.name(),
    })
}

fn rate_object(rate: &Rate) -> Value {
    let mut object = rule_object(rate.rule);
    object["total_m3_s"] = rate.total.into();
    object["infiltration_credit_m3_s"] = rate.credit.into();
    object["needed_m3_s"] = rate.needed.into();
    object["steps"] = rate
        .steps
        .iter()
        .map(|step| {
            json!({
                "what": step.what,
                "formula": step.formula,
                "value": step.value,
                "unit": step.unit,
            })
        })
        .collect();
    object["exceptions"] = json!(rate.exceptions);
    object["missing"] = json!(rate.missing);
    object["doubts"] = json!(rate.doubts);
    object
}

fn room_object(room: &RoomExhaust, local: &LocalExhaust) -> Value {
    let by = room.by.and_then(|at| local.extracts.get(at));
    json!({
        "set": room.demand.set.name(),
        "room": room.demand.room.name(),
        "number": room.number,
        "on_demand_m3_s": room.on_demand,
        "continuous_m3_s": room.continuous,
        "by": by.map(|extract| &extract.name),
        "flow_m3_s": by.map(|extract| extract.flow),
        "counts_as_continuous": room.as_continuous,
        "met": room.met,
        "source": room.source,
    })
}

fn leaks_object(comparison: &Comparison) -> Value {
    let [floor, walls, ceiling] = comparison.distribution;
    json!({
        "exponent": comparison.leakage.exponent(),
        "storeys": comparison.storeys,
        "foundation": match comparison.foundation {
            Foundation::Slab => "slab",
            Foundation::Crawlspace => "crawlspace",
        },
        "shelter": comparison.shelter,
        "leakage_in_floor": floor,
        "leakage_in_walls": walls,
        "leakage_in_ceiling": ceiling,
        "weathers": comparison.lines.iter().map(|line: &Infiltration| json!({
            "weather": season_name(line.season),
            "difference_k": line.difference,
            "wind_m_s": line.wind,
            "network_m3_s": line.network,
            "enhanced_m3_s": line.enhanced,
            "enhanced_with_flue_m3_s": line.with_flue,
            "basic_m3_s": line.basic,
        })).collect::<Vec<_>>(),
    })
}
