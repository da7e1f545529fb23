//! What one plan does, in sentences and figures that any surface can show.

use crate::candidate::{Plan, end_names};
use crate::finding::interlock_words;
use crate::merit::{Merits, PartLine};
use house::model::{Entry, Job};
use units::text::{fixed, money, true_minus};
use units::{Length, Quantity, System, Velocity, VolumeFlow};

/// The plan in one sentence.
pub fn plan_words(job: &Job, plan: &Plan, system: System) -> String {
    let terminals = if plan.two_in_one() {
        format!("intake and exhaust at {}", job.terminals[plan.intake].name)
    } else {
        format!(
            "intake at {}, exhaust at {}",
            job.terminals[plan.intake].name, job.terminals[plan.exhaust].name
        )
    };
    format!(
        "{} at {} in {}; {}: extract air from {}, supply air to {}{}; {}; {} ducts; {}; {}.",
        job.units[plan.unit].name,
        plan.setting.name(),
        job.spots[plan.spot].name,
        plan.layout.name(),
        end_names(job, &plan.extract),
        end_names(job, &plan.supply),
        match plan.entry {
            Entry::Flush => "",
            Entry::FacingDownstream => " with an elbow that faces downstream",
        },
        terminals,
        Length::from_si(plan.diameter).show(system),
        interlock_words(plan.interlock),
        dampers(plan),
    )
}

/// The merits of a plan in sentences.
pub fn sentences(
    job: &Job,
    plan: &Plan,
    merits: &Merits,
    parts: &[PartLine],
    system: System,
) -> Vec<String> {
    let currency = &job.costs.currency;
    let percent = |part: f64, digits| fixed(100.0 * part, digits);
    let electricity_cost = if priced(merits.electricity_cost) {
        money(currency, merits.electricity_cost)
    } else {
        "no price in the job file".to_owned()
    };
    let parts_cost = match parts.iter().filter(|line| !priced(line.price)).count() {
        0 => format!(
            "Unit and parts cost {}.",
            money(currency, merits.parts_cost)
        ),
        _ if !priced(merits.parts_cost) => "Unit and parts: no price in the job file.".to_owned(),
        _ => format!(
            "Unit and parts cost {}, without the parts that have no price in the job file.",
            money(currency, merits.parts_cost)
        ),
    };
    let blower = if merits.blower_electricity > 0.0 {
        format!(
            ", {:.0} kWh of it for hours in which the blower runs only because the ventilator calls it",
            merits.blower_electricity
        )
    } else {
        String::new()
    };
    let delivered = VolumeFlow::from_si(merits.delivered / air::STANDARD_DENSITY);
    vec![
        format!(
            "It delivers at least {} of outdoor air while it runs as the job asks: {} % more than is needed.",
            true_minus(delivered.show(system)),
            percent(merits.excess, 0)
        ),
        format!(
            "Supply and exhaust stay within {} % of each other, with {}.",
            percent(merits.balance, 1),
            dampers(plan)
        ),
        format!(
            "At most {} % of the supply air short-circuits into the extract.",
            percent(merits.short_circuit, 1)
        ),
        format!(
            "Its ducts ask at most {} % of the pressure to which the unit is certified; the fastest air moves at {}.",
            percent(merits.fan_pressure_used, 0),
            Velocity::from_si(merits.velocity).show(system),
        ),
        format!(
            "It takes {:.0} kWh of electricity a year, {electricity_cost}{blower}.",
            merits.electricity
        ),
        parts_cost,
    ]
}

/// Where the balancing dampers stand.
pub fn dampers(plan: &Plan) -> String {
    let stream = |angle: f64, words: &str| {
        (angle >= 0.5).then(|| format!("{words} damper turned {}°", fixed(angle, 0)))
    };
    let turned: Vec<String> = [
        stream(plan.supply_damper, "supply"),
        stream(plan.extract_damper, "extract"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if turned.is_empty() {
        "both balancing dampers open".to_owned()
    } else {
        turned.join(", ")
    }
}

/// A value at one of [`crate::merit::CRITERIA`], with its unit.
pub fn at_criterion(index: usize, value: f64, system: System) -> String {
    match index {
        3 => Velocity::from_si(value).show(system),
        4 => format!("{} kWh", fixed(value, 0)),
        7 => format!("{} dB", fixed(value, 0)),
        9 | 10 => degrees(value, system),
        _ => format!("{} %", fixed(100.0 * value, usize::from(index < 2))),
    }
}

/// A difference of temperatures.
pub fn degrees(kelvins: f64, system: System) -> String {
    match system {
        System::Ip => format!("{} °F", fixed(1.8 * kelvins, 1)),
        System::Si => format!("{} K", fixed(kelvins, 1)),
    }
}

/// Whether a sum holds any price: what the job file does not price counts as zero.
pub fn priced(sum: f64) -> bool {
    sum > 0.0
}
