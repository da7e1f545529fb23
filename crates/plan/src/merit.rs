//! What a plan is worth: measured merits, points for each, and the set that nothing beats outright.

use crate::candidate::Plan;
use crate::case::{CaseFlows, blower_modes, called_mode};
use crate::condensation::MARGIN;
use crate::side_effects::SideEffects;
use house::model::{End, Interlock, Job, Mode, Setting};

/// Hours of a year.
const HOURS: f64 = 8760.0;

/// Measured merits of a plan over all operating cases in which it runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Merits {
    /// Least outdoor air delivered to rooms while the ventilator runs (kg/s), averaged over the
    /// running time that the job asks for where the interlock cuts it short.
    pub delivered: f64,
    /// That over the required rate, less one.
    pub excess: f64,
    /// Largest distance of a balance from zero.
    pub balance: f64,
    /// Largest short-circuit fraction.
    pub short_circuit: f64,
    /// Largest external static pressure over the largest certified one.
    pub fan_pressure_used: f64,
    /// Fastest air in the new ducts (m/s), a proxy for noise.
    pub velocity: f64,
    /// Electricity of ventilator and of the blower's added hours in a year (kWh).
    pub electricity: f64,
    /// Part of that for the blower (kWh).
    pub blower_electricity: f64,
    /// Cost of that electricity in a year.
    pub electricity_cost: f64,
    /// Cost of unit and parts.
    pub parts_cost: f64,
    /// What it does beside moving air.
    pub side_effects: SideEffects,
}

/// A criterion by which plans are compared.
#[derive(Debug, Clone, Copy)]
pub struct Criterion {
    /// What is compared, in a few words.
    pub name: &'static str,
    /// Up to here no points are lost.
    pub good: f64,
    /// From here on all points are lost.
    pub bad: f64,
    /// Points to lose.
    pub weight: f64,
    /// The merit that it looks at; smaller is better.
    pub value: fn(&Merits) -> f64,
}

/// The criteria; the points add up to 100. Limits and weights are our own choice, made so that air
/// that flows as promised outweighs everything else.
pub static CRITERIA: [Criterion; 11] = [
    Criterion {
        name: "balance",
        good: 0.02,
        bad: 0.15,
        weight: 22.0,
        value: |m| m.balance,
    },
    Criterion {
        name: "short circuit",
        good: 0.02,
        bad: 0.30,
        weight: 18.0,
        value: |m| m.short_circuit,
    },
    Criterion {
        name: "pressure left for the fan",
        good: 0.50,
        bad: 1.0,
        weight: 8.0,
        value: |m| m.fan_pressure_used,
    },
    Criterion {
        name: "air speed",
        good: 2.5,
        bad: 5.0,
        weight: 5.0,
        value: |m| m.velocity,
    },
    Criterion {
        name: "electricity",
        good: 200.0,
        bad: 2500.0,
        weight: 8.0,
        value: |m| m.electricity,
    },
    Criterion {
        name: "parts",
        good: 0.0,
        bad: 1.0,
        weight: 12.0,
        value: |_| 0.0,
    },
    Criterion {
        name: "more air than needed",
        good: 0.25,
        bad: 1.0,
        weight: 4.0,
        value: |m| m.excess,
    },
    Criterion {
        name: "sound above target",
        good: 0.0,
        bad: 15.0,
        weight: 9.0,
        value: |m| m.side_effects.sound_excess.unwrap_or(0.0),
    },
    Criterion {
        name: "house drawn down",
        good: 0.0,
        bad: 1.0,
        weight: 6.0,
        value: |m| m.side_effects.drawn_down.map_or(0.0, |drawn| drawn.added()),
    },
    Criterion {
        name: "sweating ducts",
        good: 0.0,
        bad: 5.0,
        weight: 4.0,
        value: |m| {
            m.side_effects
                .dew_margin
                .map_or(0.0, |margin| MARGIN - margin)
        },
    },
    Criterion {
        name: "furnace air if recovery fails",
        good: 0.0,
        bad: 10.0,
        weight: 4.0,
        value: |m| {
            let air = m.side_effects.furnace_air;
            air.map_or(0.0, |air| air.least - air.without_recovery)
        },
    },
];

/// Number of [`CRITERIA`].
pub const COUNT: usize = CRITERIA.len();

/// Index of the criterion of cost, which compares with the cheapest plan that works.
pub const PARTS: usize = 5;

/// Points that a plan loses at each criterion.
pub fn lost_points(merits: &Merits, cheapest: f64) -> [f64; COUNT] {
    std::array::from_fn(|index| {
        let criterion = &CRITERIA[index];
        let value = if index == PARTS {
            merits.parts_cost / cheapest.max(1.0) - 1.0
        } else {
            (criterion.value)(merits)
        };
        criterion.weight
            * ((value - criterion.good) / (criterion.bad - criterion.good)).clamp(0.0, 1.0)
    })
}

/// What a plan has at a criterion, from the points that it lost there. For parts that is how far it
/// lies over the cheapest plan, as far as points are lost for it.
pub fn at_criterion(index: usize, merits: &Merits, lost: &[f64; COUNT]) -> f64 {
    let criterion = &CRITERIA[index];
    if index == PARTS {
        criterion.good + lost[PARTS] / criterion.weight * (criterion.bad - criterion.good)
    } else {
        (criterion.value)(merits)
    }
}

/// Points kept at everything but the price, of 100.
pub fn performance(lost: &[f64; COUNT]) -> f64 {
    let others = |of: &dyn Fn(usize) -> f64| {
        (0..COUNT)
            .filter(|&index| index != PARTS)
            .map(of)
            .sum::<f64>()
    };
    100.0 * (1.0 - others(&|index| lost[index]) / others(&|index| CRITERIA[index].weight))
}

/// Whether `a` is at least as good as `b` in everything that matters and better in something:
/// balance, short circuit, sound, electricity and parts.
pub fn dominates(a: &Merits, b: &Merits) -> bool {
    let values = |m: &Merits| {
        [
            m.balance,
            m.short_circuit,
            m.side_effects.sound_excess.unwrap_or(0.0),
            m.electricity,
            m.parts_cost,
        ]
    };
    let (a, b) = (values(a), values(b));
    a.iter().zip(&b).all(|(a, b)| a <= b) && a.iter().zip(&b).any(|(a, b)| a < b)
}

/// Part of the time in which the ventilator runs.
pub fn running_share(job: &Job, interlock: Interlock) -> f64 {
    let asked = job.controls.run_share;
    match interlock {
        Interlock::OnlyWithBlower => asked.min(share_of(job, |mode| {
            matches!(mode, Mode::Heating | Mode::Cooling)
        })),
        _ => asked,
    }
}

/// Part of the running time that the job asks for which an interlock leaves: 1 where the ventilator
/// runs as asked. The required rate holds for the asked running time; a ventilator that runs less
/// has to bring more while it runs.
pub fn share_left(job: &Job, interlock: Interlock) -> f64 {
    (running_share(job, interlock) / job.controls.run_share.max(1e-6)).max(1e-6)
}

fn share_of(job: &Job, of: impl Fn(Mode) -> bool) -> f64 {
    job.air_handler.as_ref().map_or(0.0, |handler| {
        handler
            .modes
            .iter()
            .filter(|mode| of(mode.mode))
            .map(|mode| mode.run_share)
            .sum::<f64>()
            .min(1.0)
    })
}

/// Electricity of the blower's hours that only the ventilator asks for, in a year (kWh).
pub fn added_blower_electricity(job: &Job, interlock: Interlock) -> f64 {
    if interlock != Interlock::VentilatorCallsBlower {
        return 0.0;
    }
    let added = (running_share(job, interlock) - share_of(job, |_| true)).max(0.0);
    let called = called_mode(job);
    let power = job
        .air_handler
        .as_ref()
        .and_then(|handler| handler.modes.iter().find(|mode| mode.mode == called))
        .map_or(0.0, |mode| mode.power.value);
    added * HOURS * power * 1e-3
}

/// Electric power of a unit at a setting and a mean external static pressure, linear between the
/// tested points and held beyond them (W).
pub fn unit_power(job: &Job, plan: &Plan, setting: Setting, pressure: f64) -> f64 {
    let Some(tested) = job.units[plan.unit]
        .settings
        .iter()
        .find(|tested| tested.setting == setting)
    else {
        return 0.0;
    };
    let points = &tested.points;
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return 0.0;
    };
    if pressure <= first.pressure {
        return first.power;
    }
    points
        .windows(2)
        .find(|pair| pressure <= pair[1].pressure)
        .map_or(last.power, |pair| {
            let along = (pressure - pair[0].pressure) / (pair[1].pressure - pair[0].pressure);
            pair[0].power + along * (pair[1].power - pair[0].power)
        })
}

/// A line of the parts list.
#[derive(Debug, Clone, PartialEq)]
pub struct PartLine {
    /// What it is.
    pub item: String,
    /// How many, or how many metres.
    pub quantity: f64,
    /// Whether the quantity is a length in metres.
    pub is_length: bool,
    /// Price of all of them.
    pub price: f64,
}

/// The parts of a plan with their prices.
pub fn parts(job: &Job, plan: &Plan) -> Vec<PartLine> {
    let costs = &job.costs;
    let unit = &job.units[plan.unit];
    let mut lines = Vec::new();
    let mut line = |item: &str, quantity: f64, is_length: bool, each: f64| {
        if quantity > 0.0 {
            lines.push(PartLine {
                item: item.to_owned(),
                quantity,
                is_length,
                price: quantity * each,
            });
        }
    };
    line(&unit.name, 1.0, false, unit.price);
    let mut length = 0.0;
    let mut elbows = 0;
    let ends = plan
        .extract
        .iter()
        .chain(&plan.supply)
        .copied()
        .chain([End::Terminal(plan.intake), End::Terminal(plan.exhaust)]);
    for end in ends {
        if let Some(run) = job.spots[plan.spot].runs.iter().find(|run| run.to == end) {
            length += run.length;
            elbows += run.elbows;
        }
    }
    let per_metre = costs
        .duct
        .iter()
        .min_by(|a, b| {
            (a.0 - plan.diameter)
                .abs()
                .total_cmp(&(b.0 - plan.diameter).abs())
        })
        .map_or(0.0, |&(_, price)| price);
    line("insulated duct", length, true, per_metre);
    let ends = || plan.extract.iter().chain(&plan.supply);
    let taps = ends().filter(|end| matches!(end, End::Tap(_))).count();
    let grilles = ends().filter(|end| matches!(end, End::Grille(_))).count();
    for (one, many, count, each) in [
        (
            "elbow or boot",
            "elbows and boots",
            elbows as usize,
            costs.elbow,
        ),
        (
            "balancing damper",
            "balancing dampers",
            taps + grilles,
            costs.damper,
        ),
        ("collar", "collars", taps, costs.collar),
        ("grille", "grilles", grilles, costs.grille),
    ] {
        line(
            if count == 1 { one } else { many },
            count as f64,
            false,
            each,
        );
    }
    if plan.two_in_one() {
        line("two-in-one wall hood", 1.0, false, costs.two_in_one_hood);
    } else {
        line("wall hoods", 2.0, false, costs.hood);
    }
    if plan.interlock != Interlock::None {
        line("interlock relay and wire", 1.0, false, costs.interlock);
    }
    lines
}

/// Merits of a plan from the flows of every case in which it runs and from its side effects.
/// `required` is in m³/s at standard density.
pub fn merits(
    job: &Job,
    plan: &Plan,
    required: f64,
    cases: &[CaseFlows],
    side_effects: SideEffects,
) -> Merits {
    let share = running_share(job, plan.interlock);
    let left = share_left(job, plan.interlock);
    let least = cases
        .iter()
        .map(|case| case.delivered)
        .fold(f64::INFINITY, f64::min);
    let most = |value: &dyn Fn(&CaseFlows) -> f64| cases.iter().map(value).fold(0.0, f64::max);
    let delivered = if least.is_finite() { least * left } else { 0.0 };
    let pressure = |case: &CaseFlows| {
        case.external_static_pressure
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let mean = |case: &CaseFlows| {
        0.5 * (case.external_static_pressure[0] + case.external_static_pressure[1])
    };
    let power = cases
        .iter()
        .map(|case| unit_power(job, plan, case.case.setting, mean(case)))
        .sum::<f64>()
        / cases.len().max(1) as f64;
    let blower_electricity = added_blower_electricity(job, plan.interlock);
    let electricity = share * HOURS * power * 1e-3 + blower_electricity;
    Merits {
        delivered,
        excess: delivered / (required * air::STANDARD_DENSITY) - 1.0,
        balance: most(&|case| case.balance().abs()),
        short_circuit: most(&|case| case.short_circuit),
        fan_pressure_used: most(&|case| pressure(case) / case.certified_pressure.max(1.0)),
        velocity: most(&CaseFlows::fastest),
        electricity,
        blower_electricity,
        electricity_cost: electricity * job.costs.electricity,
        parts_cost: parts(job, plan).iter().map(|line| line.price).sum(),
        side_effects,
    }
}

/// Whether the house has a mode in which the blower runs.
pub fn has_running_blower(job: &Job) -> bool {
    blower_modes(job).len() > 1
}
