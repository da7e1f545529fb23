//! The outdoor-air rate that a plan has to meet.

use house::model::{Job, Origin, ZoneKind};
use rules::infiltration::PowerLaw;
use rules::rates::running::{Method, WhileRunning, while_running};
use rules::rates::{Decision, Dwelling, Rate, decide, side_by_side, total_rate};
use units::System;

/// A required rate with its arithmetic in words.
#[derive(Debug, Clone, PartialEq)]
pub struct RequiredRate {
    /// The rate while the ventilator runs (m³/s).
    pub rate: f64,
    /// How it came about.
    pub because: String,
    /// Whose rule it is, and how well it is known.
    pub authority: String,
    /// The rule that decided; absent where the job file gives the rate.
    pub rule: Option<&'static str>,
    /// Infiltration that was counted (m³/s), if the rule gave credit for it.
    pub credit: Option<f64>,
}

/// The job as the rate rules see it; `None` for a leakage that no house has.
pub fn dwelling(job: &Job) -> Option<Dwelling> {
    let building = &job.building;
    let rates = &job.rates;
    let living = || {
        job.zones
            .iter()
            .filter(|zone| zone.kind == ZoneKind::Living)
    };
    let top = living()
        .map(|zone| zone.level + zone.height)
        .reduce(f64::max);
    let bottom = living().map(|zone| zone.level.max(0.0)).reduce(f64::min);
    let height = match (top, bottom) {
        (Some(top), Some(bottom)) if top > bottom => top - bottom,
        _ => building.ceiling_height * building.storeys.max(1.0),
    };
    let leakage = &building.leakage_at_50_pascals;
    Some(Dwelling {
        floor_area: building.floor_area,
        ceiling_height: building.ceiling_height,
        storeys: building.storeys,
        height,
        bedrooms: building.bedrooms,
        people: building.occupants,
        rooms: rates.rooms,
        leakage: PowerLaw::through(leakage.value, 50.0, building.leakage_exponent.value).ok()?,
        leakage_measured: matches!(leakage.origin, Origin::Typed(_)),
        weather_factor: rates.weather_factor,
        exterior_share: rates.exterior_share,
        new_construction: rates.new_construction,
        cap_credit: rates.cap_credit,
        // What is planned here are ventilators with two streams, set to balance.
        balanced: true,
        distributed: rates.distributed,
    })
}

/// The system of units whose form of a rule a job uses.
pub fn form(job: &Job) -> System {
    if job.inch_pound_first {
        System::Ip
    } else {
        System::Si
    }
}

/// Everything about a job's rates.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    /// The job as the rules see it.
    pub dwelling: Dwelling,
    /// Every rule.
    pub all: Vec<Rate>,
    /// The one that holds under the rules of the job.
    pub decision: Decision,
    /// What is asked of a ventilator that runs by the schedule of the job: every chosen rule by its
    /// own method, then the deciding one by the others, for comparison. Empty if it runs all day.
    pub running: Vec<Running>,
}

/// What one rule asks of a ventilator that runs by a schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// The rule.
    pub rule: &'static str,
    /// By its own method, not for comparison.
    pub own: bool,
    /// What is asked.
    pub way: WhileRunning,
}

impl Rates {
    /// The rule that asks for the most while the ventilator runs by its schedule, among those whose
    /// own method is known; first of all one that no flow can keep.
    pub fn strictest_running(&self) -> Option<&Running> {
        let flow = |running: &Running| running.way.flow.unwrap_or(f64::INFINITY);
        self.running
            .iter()
            .filter(|running| running.own)
            .max_by(|one, other| flow(one).total_cmp(&flow(other)))
    }
}

/// All rates of a job. `None` for a house that no rule can be applied to.
pub fn rates(job: &Job) -> Option<Rates> {
    let dwelling = dwelling(job)?;
    let form = form(job);
    let all = side_by_side(&dwelling, form).ok()?;
    let decision = decide(&dwelling, &job.rules, job.rates.variants, form).ok()?;
    let schedule = &job.rates.running.schedule;
    let mut running = Vec::new();
    if schedule.share() < 1.0 - 1e-9 {
        let mut add = |own, rate: &Rate, method| {
            running.push(Running {
                rule: rate.rule.id,
                own,
                way: while_running(method, rate, &dwelling, schedule, form),
            });
        };
        for rate in all
            .iter()
            .filter(|rate| decision.chosen.contains(&rate.rule.id))
        {
            if let Some(method) = Method::of(rate.rule.id) {
                add(true, rate, method);
            }
        }
        let own = Method::of(decision.rate.rule.id);
        for method in Method::ALL {
            if Some(method) != own {
                add(false, &decision.rate, method);
            }
        }
    }
    Some(Rates {
        dwelling,
        all,
        decision,
        running,
    })
}

/// The rate that a job asks for: the contractor's own number, or the rate of the job's rules. Where
/// the ventilator does not run all day, what it has to bring while it runs, by the method of the
/// rule that decides.
pub fn required(job: &Job) -> RequiredRate {
    let building = &job.building;
    if let Some(rate) = building.required_rate {
        return RequiredRate {
            rate,
            because: "typed in the job file".into(),
            authority: "the job file".into(),
            rule: None,
            credit: None,
        };
    }
    let Some(rates) = rates(job) else {
        return RequiredRate {
            rate: total_rate(
                job.rates.variants.edition,
                building.floor_area,
                building.occupants.max(building.bedrooms.max(1) + 1),
                form(job),
            ),
            because: "by floor area and people, without the leakage".into(),
            authority: "ASHRAE 62.2 (from memory; check your edition)".into(),
            rule: None,
            credit: None,
        };
    };
    let of_rate = |rate: &Rate| RequiredRate {
        rate: rate.needed,
        because: rate.in_short(),
        authority: authority(rate),
        rule: Some(rate.rule.id),
        credit: rate.credit,
    };
    let rate = &rates.decision.rate;
    if rates.running.is_empty() {
        return of_rate(rate);
    }
    let Some(running) = rates.strictest_running() else {
        let mut required = of_rate(rate);
        required.because = format!(
            "{}, all the time; no method is known for this rule that would say what running by a schedule asks",
            required.because
        );
        return required;
    };
    let strictest = rates.all.iter().find(|rate| rate.rule.id == running.rule);
    let mut required = of_rate(strictest.unwrap_or(rate));
    let words = &running.way.words;
    match running.way.flow {
        Some(flow) => {
            required.rate = flow;
            required.because = format!("{}; {words}", required.because);
        }
        None => {
            required.because = format!(
                "{}, all the time; the schedule of the job cannot keep it: {words}",
                required.because
            );
        }
    }
    required
}

/// Whose rule a rate is, and how well it is known.
pub fn authority(rate: &Rate) -> String {
    match rate.rule.confidence {
        rules::Confidence::ReadInSource => rate.rule.source(),
        confidence => format!(
            "{} ({}; check your edition)",
            rate.rule.source(),
            confidence.name()
        ),
    }
}
