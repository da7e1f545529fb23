//! Why a plan stands where it does in the ranking, in sentences.

use crate::merit::{CRITERIA, Merits, performance};
use crate::search::{Evaluated, Search};
use house::model::Job;
use units::text::money;
use units::{Quantity, System, Temperature, Velocity};

/// Points below which a difference is not worth a word.
const WORTH_SAYING: f64 = 0.5;

/// Why the plan at `place` of the ranking won or lost: the largest differences in points to the
/// best plan, or for the best plan to the one that follows, with their figures. Empty when there is
/// no such plan.
pub fn why(job: &Job, search: &Search, place: usize, system: System) -> String {
    let Some(plan) = search.ranked.get(place) else {
        return String::new();
    };
    let rival_place = usize::from(place == 0);
    let Some(rival) = search.ranked.get(rival_place) else {
        return "The only plan that meets every rule.".to_owned();
    };
    if place > 0 && rival.balanced && !plan.balanced {
        return format!(
            "Stands behind every plan that stays within {} because {}.",
            percent(search.balance_limit),
            difference(job, 0, &plan.merits, &rival.merits, system)
        );
    }
    let points: Vec<f64> = rival
        .lost
        .iter()
        .zip(&plan.lost)
        .map(|(rival, own)| rival - own)
        .collect();
    let phrases = |sign: f64| {
        let mut places: Vec<usize> = (0..CRITERIA.len())
            .filter(|&index| sign * points[index] >= WORTH_SAYING)
            .collect();
        places.sort_by(|&a, &b| (sign * points[b]).total_cmp(&(sign * points[a])));
        places.truncate(2);
        let phrases: Vec<String> = places
            .into_iter()
            .map(|index| {
                format!(
                    "{} ({:.1})",
                    difference(job, index, &plan.merits, &rival.merits, system),
                    points[index].abs()
                )
            })
            .collect();
        phrases.join(" and ")
    };
    let (better, worse) = (phrases(1.0), phrases(-1.0));
    let apart = (plan.score() - rival.score()).abs();
    let stands = stands(plan, rival, rival_place + 1, apart);
    match (place == 0, better.is_empty(), worse.is_empty()) {
        (_, true, true) => format!("{stands}; nothing sets them apart by half a point."),
        (true, false, true) => format!("{stands}: {better}."),
        (true, false, false) => format!("{stands}: {better}, although {worse}."),
        (true, true, false) => format!("{stands}, although {worse}."),
        (false, true, false) => format!("{stands}: {worse}."),
        (false, false, false) => format!("{stands}: {worse}, although {better}."),
        (false, false, true) => format!("{stands}, although {better}."),
    }
}

/// The plans that no other beats in both price and [`performance`], the cheapest first. Where no
/// part has a price, electricity stands for it. Places of the ranking.
pub fn frontier(search: &Search) -> Vec<usize> {
    let mut places: Vec<usize> = (0..search.ranked.len()).collect();
    let at = |place: usize| {
        let plan = &search.ranked[place];
        (price(&plan.merits), performance(&plan.lost))
    };
    places.sort_by(|&a, &b| {
        let ((cheap, good), (dear, better)) = (at(a), at(b));
        cheap.total_cmp(&dear).then(better.total_cmp(&good))
    });
    let mut best = f64::NEG_INFINITY;
    places.retain(|&place| {
        let (_, performance) = at(place);
        let rises = performance > best;
        best = best.max(performance);
        rises
    });
    places
}

/// What a plan costs: unit and parts, or where they have no price its electricity in a year (kWh).
pub fn price(merits: &Merits) -> f64 {
    if merits.parts_cost > 0.0 {
        merits.parts_cost
    } else {
        merits.electricity
    }
}

fn stands(plan: &Evaluated, rival: &Evaluated, rival_place: usize, apart: f64) -> String {
    let side = if plan.score() >= rival.score() {
        "ahead of"
    } else {
        "behind"
    };
    if apart < 0.05 {
        format!("Level with plan {rival_place}")
    } else {
        format!("{apart:.1} points {side} plan {rival_place}")
    }
}

/// How a plan differs from another in one of [`CRITERIA`].
fn difference(job: &Job, criterion: usize, own: &Merits, other: &Merits, system: System) -> String {
    match criterion {
        0 => format!(
            "its balance strays by up to {} instead of {}",
            percent(own.balance),
            percent(other.balance)
        ),
        1 => format!(
            "{} of the supply air short-circuits instead of {}",
            percent(own.short_circuit),
            percent(other.short_circuit)
        ),
        2 => format!(
            "its ducts ask {} of the unit's certified pressure instead of {}",
            percent(own.fan_pressure_used),
            percent(other.fan_pressure_used)
        ),
        3 => format!(
            "its air moves at {} instead of {}",
            Velocity::from_si(own.velocity).show(system),
            Velocity::from_si(other.velocity).show(system)
        ),
        4 => format!(
            "it takes {:.0} kWh a year instead of {:.0}",
            own.electricity, other.electricity
        ),
        5 => {
            let apart = own.parts_cost - other.parts_cost;
            format!(
                "its parts cost {} {}",
                money(&job.costs.currency, apart.abs()),
                if apart > 0.0 { "more" } else { "less" }
            )
        }
        7 => {
            let excess = |merits: &Merits| merits.side_effects.sound_excess.unwrap_or(0.0);
            format!(
                "its loudest room lies {} instead of {}",
                decibels(excess(own)),
                decibels(excess(other))
            )
        }
        8 => {
            let worst = |merits: &Merits| {
                let drawn = merits.side_effects.drawn_down;
                format!("{:.1} Pa", drawn.map_or(0.0, |drawn| drawn.with_plan))
            };
            format!(
                "in the worst case it draws an appliance's room down by {} instead of {}",
                worst(own),
                worst(other)
            )
        }
        9 => {
            let margin = |merits: &Merits| merits.side_effects.dew_margin.unwrap_or(0.0);
            format!(
                "the surface of its cold ducts stays {:.1} K above the dew point instead of {:.1} K",
                margin(own),
                margin(other)
            )
        }
        10 => {
            let lost = |merits: &Merits| {
                let air = merits.side_effects.furnace_air;
                air.map_or_else(
                    || "no cooler air at all".to_owned(),
                    |air| {
                        format!(
                            "air of {}",
                            Temperature::from_si(air.without_recovery).show(system)
                        )
                    },
                )
            };
            format!(
                "with the recovery lost it gives the furnace {} instead of {}",
                lost(own),
                lost(other)
            )
        }
        _ => format!(
            "it delivers {} more air than needed instead of {}",
            percent(own.excess),
            percent(other.excess)
        ),
    }
}

/// A distance from a target of sound.
fn decibels(excess: f64) -> String {
    let side = if excess > 0.0 { "above" } else { "below" };
    format!("{:.0} dB {side} its target", excess.abs())
}

/// A percentage with the digits that tell two plans apart.
fn percent(part: f64) -> String {
    let digits = usize::from((100.0 * part).abs() < 9.95 && part != 0.0);
    let text = format!("{:.digits$} %", 100.0 * part);
    if text == "0.0 %" {
        "0 %".to_owned()
    } else {
        text
    }
}
