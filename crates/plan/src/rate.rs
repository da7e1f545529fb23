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
    /// What each method asks of a ventilator that runs by the schedule of the job to keep that
    /// rate; the first is the method of the deciding rule, if one is known for it. Empty if it
    /// runs all day.
    pub running: Vec<WhileRunning>,
    /// Whether the first of these is the method of the deciding rule.
    pub method_known: bool,
}

/// All rates of a job. `None` for a house that no rule can be applied to.
pub fn rates(job: &Job) -> Option<Rates> {
    let dwelling = dwelling(job)?;
    let form = form(job);
    let all = side_by_side(&dwelling, form).ok()?;
    let decision = decide(&dwelling, &job.rules, job.rates.variants, form).ok()?;
    let schedule = &job.rates.running.schedule;
    let method = Method::of(decision.rate.rule.id);
    let mut running = Vec::new();
    if schedule.share() < 1.0 - 1e-9 {
        let mut methods: Vec<Method> = method.into_iter().collect();
        methods.extend(Method::ALL.into_iter().filter(|one| Some(*one) != method));
        running.extend(
            methods
                .into_iter()
                .map(|method| while_running(method, &decision.rate, &dwelling, schedule, form)),
        );
    }
    Some(Rates {
        dwelling,
        all,
        decision,
        running,
        method_known: method.is_some(),
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
    let rate = &rates.decision.rate;
    let mut required = RequiredRate {
        rate: rate.needed,
        because: rate.in_short(),
        authority: authority(rate),
        rule: Some(rate.rule.id),
        credit: rate.credit,
    };
    match rates.running.first() {
        Some(running) if rates.method_known => match running.flow {
            Some(flow) => {
                required.rate = flow;
                required.because = format!("{}; {}", required.because, running.words);
            }
            None => {
                required.because = format!(
                    "{}, all the time; the schedule of the job cannot keep it: {}",
                    required.because, running.words
                );
            }
        },
        Some(_) => {
            required.because = format!(
                "{}, all the time; no method is known for this rule that would say what running by a schedule asks",
                required.because
            );
        }
        None => {}
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
