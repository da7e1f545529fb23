//! What the flows mean, in sentences that a contractor can act on.

use crate::candidate::Plan;
use crate::case::CaseFlows;
use crate::existing_ducts::ExistingDucts;
use crate::flows::CaseReport;
use crate::inputs::Parameters;
use crate::local_exhaust::local_exhaust;
use crate::merit::{self, Merits};
use crate::rate::RequiredRate;
use crate::rules::{self, Rules};
use house::model::{Interlock, Job, Layout, Mode, Season, Setting};
use units::text::{money, true_minus};
use units::{Pressure, Quantity, System, Temperature, VolumeFlow};

/// How a finding is to be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// As it should be.
    Good,
    /// Look at it.
    Doubtful,
    /// Must not stay so.
    NotAllowed,
}

/// One thing that the flows mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How to take it.
    pub weight: Weight,
    /// The sentence.
    pub text: String,
}

/// Short-circuit fraction from which it is said.
const SHORT_CIRCUIT: f64 = 0.10;
/// Angle of a balancing damper from which it is said (°); a judgement, no published source.
const STEEP_DAMPER: f64 = 50.0;
/// Backward flow through an idle ventilator from which it is said (kg/s) (about 5 cfm).
const BACKWARD: f64 = 0.003;
/// Shift of the balance between blower off and on from which it is said.
const SHIFT: f64 = 0.05;

/// Writes flows and pressures in the job's first system.
struct Words {
    system: System,
}

impl Words {
    fn flow(&self, mass_flow: f64) -> String {
        true_minus(VolumeFlow::from_si(mass_flow / air::STANDARD_DENSITY).show(self.system))
    }

    fn pressure(&self, pascals: f64) -> String {
        true_minus(Pressure::from_si(pascals).show(self.system))
    }

    /// A difference of temperatures.
    fn degrees(&self, kelvins: f64) -> String {
        match self.system {
            System::Ip => format!("{:.0} °F", 1.8 * kelvins),
            System::Si => format!("{kelvins:.1} K"),
        }
    }
}

/// How far a room is drawn down: the trade says it in pascals everywhere.
fn pascals(pressure: f64) -> String {
    format!("{pressure:.1} Pa")
}

/// A percentage as people say it.
fn percent(part: f64) -> String {
    format!("{:.0} %", 100.0 * part)
}

/// All findings about a plan, the most serious first, in the job's first system of units.
pub fn findings(
    job: &Job,
    plan: &Plan,
    required: &RequiredRate,
    merits: &Merits,
    cases: &[CaseReport],
) -> Vec<Finding> {
    let system = if job.inch_pound_first {
        System::Ip
    } else {
        System::Si
    };
    findings_in(system, job, plan, required, merits, cases)
}

/// The same in a system of units.
pub fn findings_in(
    system: System,
    job: &Job,
    plan: &Plan,
    required: &RequiredRate,
    merits: &Merits,
    cases: &[CaseReport],
) -> Vec<Finding> {
    let words = Words { system };
    let rules = Rules::new(job);
    let balance_limit = rules.balance_limit();
    let mut list = Vec::new();
    let mut say = |weight, text: String| list.push(Finding { weight, text });
    let at = |blower: Mode, setting: Setting| {
        cases
            .iter()
            .find(|case| {
                let known = case.flows.case;
                known.blower == blower && known.setting == setting && known.season == Season::Mild
            })
            .map(|case| &case.flows)
    };
    let loudest = cases
        .iter()
        .map(|case| case.flows.case.blower)
        .filter(|&mode| mode != Mode::Off)
        .max_by(|a, b| blower_flow(job, *a).total_cmp(&blower_flow(job, *b)));

    let needed = required.rate * air::STANDARD_DENSITY;
    let running: Vec<&CaseReport> = cases
        .iter()
        .filter(|case| case.runs && case.flows.case.setting == plan.setting)
        .collect();
    if running.is_empty() {
        say(
            Weight::NotAllowed,
            "Under this interlock the ventilator never runs.".into(),
        );
    } else if merits.delivered >= needed && words.flow(merits.delivered) == words.flow(needed) {
        say(
            Weight::Good,
            format!(
                "At {} just the required {} of outdoor air reaches the rooms in the weakest blower mode in which the ventilator runs: there is nothing to spare.",
                plan.setting.name(),
                words.flow(needed)
            ),
        );
    } else if merits.delivered >= needed {
        say(
            Weight::Good,
            format!(
                "At {} at least {} of outdoor air reaches the rooms in every blower mode in which the ventilator runs; {} is required.",
                plan.setting.name(),
                words.flow(merits.delivered),
                words.flow(needed)
            ),
        );
    } else {
        say(
            Weight::NotAllowed,
            format!(
                "At {} as little as {} of outdoor air reaches the rooms, but {} is required. Choose a higher setting, larger ducts, another layout or a stronger unit.",
                plan.setting.name(),
                words.flow(merits.delivered),
                words.flow(needed)
            ),
        );
    }
    if !running.is_empty() {
        if merits.balance <= balance_limit {
            say(
                Weight::Good,
                format!(
                    "Supply and exhaust stay within {} of each other in every mode in which the ventilator runs.",
                    percent(merits.balance)
                ),
            );
        } else {
            let worst = running
                .iter()
                .map(|case| &case.flows)
                .max_by(|a, b| a.balance().abs().total_cmp(&b.balance().abs()));
            if let Some(worst) = worst {
                let more = if worst.balance() > 0.0 {
                    "more supply than exhaust"
                } else {
                    "more exhaust than supply"
                };
                say(
                    Weight::Doubtful,
                    format!(
                        "With the blower {} there is {} {more}; within {} is usual.",
                        blower_words(worst.case.blower),
                        percent(worst.balance().abs()),
                        percent(balance_limit)
                    ),
                );
            }
        }
    }
    if let Some(off) = at(Mode::Off, plan.setting) {
        let runs = running
            .iter()
            .any(|case| case.flows.case.blower == Mode::Off);
        if off.short_circuit >= SHORT_CIRCUIT {
            let remedy = if runs {
                "Let the ventilator call the blower, or move the extract."
            } else {
                "The interlock keeps the ventilator from running like this; prove it on the day."
            };
            let much = if off.short_circuit > 0.9 {
                "nearly all the supply air is".to_owned()
            } else {
                format!("{} of the supply air is", percent(off.short_circuit))
            };
            say(
                if runs {
                    Weight::NotAllowed
                } else {
                    Weight::Doubtful
                },
                format!(
                    "With the blower off, {much} drawn straight back out without having passed a room ({}). {remedy}",
                    percent(off.short_circuit)
                ),
            );
        }
        if let Some(on) = loudest.and_then(|mode| at(mode, plan.setting)) {
            blower_effect(&words, plan, off, on, &mut say);
        }
    }
    for case in &running {
        let flows = &case.flows;
        if flows.case.blower != Mode::Off
            && flows.case.season == Season::Mild
            && flows.short_circuit >= SHORT_CIRCUIT
        {
            say(
                Weight::Doubtful,
                format!(
                    "With the blower {} {} of the supply air short-circuits into the extract. Move the taps apart.",
                    blower_words(flows.case.blower),
                    percent(flows.short_circuit)
                ),
            );
        }
    }
    if let Some(idle) = loudest.and_then(|mode| at(mode, Setting::Off)) {
        backward(&words, job, plan, idle, &mut say);
    }
    let beyond = running.iter().find(|case| {
        case.flows
            .external_static_pressure
            .iter()
            .any(|&pressure| pressure > case.flows.certified_pressure)
    });
    if let Some(case) = beyond {
        let pressure = case
            .flows
            .external_static_pressure
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        say(
            Weight::NotAllowed,
            format!(
                "The ducts ask {} of the unit, more than the {} to which it is certified at {}.",
                words.pressure(pressure),
                words.pressure(case.flows.certified_pressure),
                plan.setting.name()
            ),
        );
    }
    disagreements(&words, job, &mut say);
    for (angle, stream) in [
        (plan.supply_damper, "supply"),
        (plan.extract_damper, "extract"),
    ] {
        if angle >= STEEP_DAMPER {
            say(
                Weight::Doubtful,
                format!(
                    "The {stream} damper has to be turned to {angle:.0}°: it throws much of that fan's pressure away, is hard to set and may whistle. See whether the other stream's ducts can be made easier."
                ),
            );
        }
    }
    if let Some(broken) = broken_rule(&rules, plan) {
        say(
            Weight::NotAllowed,
            format!(
                "{} {}",
                rules::words(rules.book(), broken, system),
                broken.remedy
            ),
        );
    }
    side_effects(&words, job, merits, &mut say);
    wet_rooms(job, plan, &mut say);
    let blower = merit::added_blower_electricity(job, plan.interlock);
    if blower > 0.0 {
        say(
            if blower > 1000.0 {
                Weight::Doubtful
            } else {
                Weight::Good
            },
            format!(
                "Calling the blower adds {blower:.0} kWh a year, {}.",
                money(&job.costs.currency, blower * job.costs.electricity)
            ),
        );
    }
    list.sort_by_key(|finding| match finding.weight {
        Weight::NotAllowed => 0,
        Weight::Doubtful => 1,
        Weight::Good => 2,
    });
    list
}

/// Distance between a plenum reading and what the other modes' readings ask for, from which it is
/// said.
const DISAGREEMENT: f64 = 0.15;

/// Modes whose plenum pressures do not fit the ducts that all readings together describe: the
/// ducts' pressure must go with the square of the flow.
fn disagreements(words: &Words, job: &Job, say: &mut impl FnMut(Weight, String)) {
    let Some(handler) = &job.air_handler else {
        return;
    };
    let parameters = Parameters::new(job);
    let inputs = parameters.best();
    let ducts = ExistingDucts::infer(
        job,
        handler,
        inputs,
        air::STANDARD_DENSITY,
        air::viscosity(20.0),
    );
    for (readings, &(flow, _)) in inputs.modes.iter().zip(&ducts.operating_points) {
        let back = flow * (1.0 - inputs.return_leakage);
        let out = flow * (1.0 - inputs.supply_leakage);
        let fitted = [
            -(ducts.return_path.total() * back * back
                + ducts.filter[0] * back
                + ducts.filter[1] * back * back),
            ducts.supply_path.total() * out * out,
        ];
        for ((read, fitted), side) in [readings.return_pressure, readings.supply_pressure]
            .into_iter()
            .zip(fitted)
            .zip(["return", "supply"])
        {
            if let Some(read) = read
                && (read - fitted).abs() > DISAGREEMENT * read.abs().max(fitted.abs())
            {
                say(
                    Weight::Doubtful,
                    format!(
                        "The {side} plenum was read at {} in {}, but the other readings ask for {} at that flow. Read flow and pressure in that mode again.",
                        words.pressure(read),
                        readings.mode.name(),
                        words.pressure(fitted)
                    ),
                );
            }
        }
    }
}

/// What switching the blower on does to the two streams.
fn blower_effect(
    words: &Words,
    plan: &Plan,
    off: &CaseFlows,
    on: &CaseFlows,
    say: &mut impl FnMut(Weight, String),
) {
    let shift = on.balance() - off.balance();
    let word = on.case.blower.name();
    if shift.abs() >= SHIFT {
        say(
            Weight::Doubtful,
            format!(
                "Switching the blower from off to {word} moves supply from {} to {} and exhaust from {} to {}: the balance shifts by {} points.",
                words.flow(off.supply),
                words.flow(on.supply),
                words.flow(off.extract),
                words.flow(on.extract),
                (100.0 * shift.abs()).round()
            ),
        );
    }
    let lost = 1.0 - on.supply / off.supply.max(1e-9);
    if plan.layout == Layout::ReturnToSupply && lost > 0.05 {
        let entry = match plan.entry {
            house::model::Entry::Flush => {
                " An elbow inside the duct that faces downstream would win part of it back."
            }
            house::model::Entry::FacingDownstream => "",
        };
        say(
            Weight::Doubtful,
            format!(
                "The pressure in the supply duct takes {} of the supply flow when the blower runs in {word}.{entry}",
                percent(lost)
            ),
        );
    }
}

/// Air that moves through the standing ventilator.
fn backward(
    words: &Words,
    job: &Job,
    plan: &Plan,
    idle: &CaseFlows,
    say: &mut impl FnMut(Weight, String),
) {
    let word = idle.case.blower.name();
    let unit = &job.units[plan.unit];
    let mut parts = Vec::new();
    if idle.supply > BACKWARD {
        parts.push(format!(
            "{} of outdoor air is drawn in through it",
            words.flow(idle.supply)
        ));
    }
    if idle.supply < -BACKWARD {
        parts.push(format!(
            "{} of house air is pushed backwards out of its intake",
            words.flow(-idle.supply)
        ));
    }
    if idle.extract < -BACKWARD {
        parts.push(format!(
            "{} of outdoor air enters backwards through its exhaust",
            words.flow(-idle.extract)
        ));
    }
    if idle.extract > BACKWARD && plan.layout != Layout::FullyDucted {
        parts.push(format!(
            "{} of house air leaves through its exhaust",
            words.flow(idle.extract)
        ));
    }
    if !parts.is_empty() {
        let remedy = if unit.shuts_when_off {
            "The unit's own damper shuts only the outdoor duct."
        } else {
            "Dampers that shut with the unit stop it."
        };
        say(
            Weight::Doubtful,
            format!(
                "With the ventilator off and the blower in {word}, {}. {remedy}",
                parts.join(" and ")
            ),
        );
    }
}

fn blower_words(mode: Mode) -> String {
    match mode {
        Mode::Off => "off".into(),
        _ => format!("in {}", mode.name()),
    }
}

fn blower_flow(job: &Job, mode: Mode) -> f64 {
    job.air_handler
        .as_ref()
        .and_then(|handler| handler.modes.iter().find(|known| known.mode == mode))
        .map_or(0.0, |known| known.flow.value)
}

/// The first rule of the survey that a plan named in the job file breaks.
fn broken_rule(rules: &Rules<'_>, plan: &Plan) -> Option<&'static ::rules::Row> {
    rules
        .unit_in_spot(plan.unit, plan.spot)
        .or_else(|| rules.joint(plan.spot, plan.layout, &plan.extract, &plan.supply))
        .or_else(|| rules.terminals(plan.spot, plan.intake, plan.exhaust))
        .or_else(|| rules.interlock(plan.layout, plan.interlock))
}

/// Kitchens and baths that are left without the exhaust that the rules ask for.
fn wet_rooms(job: &Job, plan: &Plan, say: &mut impl FnMut(Weight, String)) {
    // Only a plan without a solution fails here, and that is told by its flows.
    let Ok(exhaust) = local_exhaust(job, Some(plan)) else {
        return;
    };
    let mut lacking: Vec<String> = Vec::new();
    for room in exhaust.rooms.iter().filter(|room| !room.met) {
        let name = format!("{} {}", room.demand.room.name(), room.number);
        if !lacking.contains(&name) {
            lacking.push(name);
        }
    }
    if lacking.is_empty() {
        return;
    }
    let from_return = matches!(plan.layout, Layout::ReturnToSupply | Layout::ReturnToReturn);
    let why = if from_return {
        " A ventilator that draws from the return does not count for it (common practice): give it a fan of its own, or choose a layout with an extract grille there."
    } else {
        " Give it a fan of its own, or an extract grille that takes enough."
    };
    say(
        Weight::Doubtful,
        format!(
            "The rules ask for more exhaust than there is in {}.{why}",
            lacking.join(", ")
        ),
    );
}

/// What the plan does beside moving air.
fn side_effects(words: &Words, job: &Job, merits: &Merits, say: &mut impl FnMut(Weight, String)) {
    let effects = &merits.side_effects;
    let temperature = |value: f64| true_minus(Temperature::from_si(value).show(words.system));
    if let Some(drawn) = effects.drawn_down {
        let name = &job.appliances[drawn.appliance].name;
        let (found, with_plan, limit) = (
            pascals(drawn.as_found),
            pascals(drawn.with_plan),
            pascals(drawn.limit),
        );
        if drawn.as_found > drawn.limit {
            say(
                Weight::NotAllowed,
                format!(
                    "Already as found, with every exhaust running, the {name} can be drawn down by {found}, beyond its {limit}; with this plan {with_plan} at worst. Have it tested by a qualified person and mended before any other work."
                ),
            );
        } else if drawn.with_plan > drawn.limit {
            say(
                Weight::NotAllowed,
                format!(
                    "If its supply fan fails while every exhaust runs, this plan draws the {name} down by {with_plan}, beyond its {limit}; as found it is {found}. Choose a sealed appliance, make-up air or less exhaust."
                ),
            );
        }
    }
    if let Some(air) = effects.furnace_air {
        if air.temperature < air.least {
            say(
                Weight::NotAllowed,
                format!(
                    "On the winter design day the furnace gets air of {}, below the {} that it needs. Bring less outdoor air into the return, or recover more of its heat.",
                    temperature(air.temperature),
                    temperature(air.least)
                ),
            );
        } else if air.without_recovery < air.least {
            say(
                Weight::Doubtful,
                format!(
                    "If the recovery fails on the winter design day, the furnace gets air of {}, below the {} that it needs; while the core works it is {}.",
                    temperature(air.without_recovery),
                    temperature(air.least),
                    temperature(air.temperature)
                ),
            );
        }
    }
    if let Some(excess) = effects.sound_excess.filter(|excess| *excess > 0.5) {
        say(
            Weight::Doubtful,
            format!(
                "In its usual mode the loudest room lies about {excess:.0} dB above its target; the estimate is rough. Longer flexible duct at the unit, a lined box or a quieter setting helps."
            ),
        );
    }
    if let Some(margin) = effects
        .dew_margin
        .filter(|margin| *margin < crate::condensation::MARGIN)
    {
        say(
            Weight::Doubtful,
            format!(
                "The ducts of outdoor and exhaust air sweat: with the job's insulation their surface comes {} the dew point. Choose thicker insulation, and seal its jacket.",
                if margin < 0.0 {
                    format!("{} below", words.degrees(-margin))
                } else {
                    format!("within {} of", words.degrees(margin))
                }
            ),
        );
    }
}

/// Words for an interlock in a sentence.
pub fn interlock_words(interlock: Interlock) -> &'static str {
    match interlock {
        Interlock::None => "no interlock",
        Interlock::VentilatorCallsBlower => "the ventilator calls the blower",
        Interlock::OnlyWithBlower => "runs only with the blower",
    }
}
