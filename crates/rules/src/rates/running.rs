//! What a system that does not run all day has to bring while it runs.

use units::System;

use super::exposure::{
    Averaging, Exposure, Schedule, effectiveness_2007, exposure, needed_running, run_time_factor,
};
use super::words::{Words, percent};
use super::{Dwelling, Rate};

/// A published way to judge ventilation that does not run all day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// Mean relative exposure of at most 1 (ASHRAE 62.2 from 2016 on, appendix C; from memory).
    RelativeExposure,
    /// The mean flow of any three hours reaches the rate (ASHRAE 62.2 from 2013 on; from memory).
    ThreeHours,
    /// The table of effectiveness (ASHRAE 62.2-2007; from memory).
    Effectiveness,
    /// The run-time factor of every four hours (IRC table M1505.4.3(2); read in the source).
    RunTimeFactor,
}

impl Method {
    /// All methods.
    pub const ALL: [Self; 4] = [
        Self::RelativeExposure,
        Self::ThreeHours,
        Self::Effectiveness,
        Self::RunTimeFactor,
    ];

    /// The words for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::RelativeExposure => "relative exposure",
            Self::ThreeHours => "mean of any three hours",
            Self::Effectiveness => "effectiveness by share of running",
            Self::RunTimeFactor => "run-time factor of any four hours",
        }
    }

    /// Whose it is, and how well it is known.
    pub fn source(self) -> &'static str {
        match self {
            Self::RelativeExposure => {
                "ASHRAE 62.2, from 2016 on, normative appendix C (from memory)"
            }
            Self::ThreeHours => "ASHRAE 62.2, from 2013 on (from memory)",
            Self::Effectiveness => "ASHRAE 62.2, 2007 (from memory)",
            Self::RunTimeFactor => "IRC table M1505.4.3(2), 2021 and 2024 (read in the source)",
        }
    }

    /// The method of a rate rule; `None` if none is known for it.
    pub fn of(rule: &str) -> Option<Self> {
        match rule {
            "62.2-2010 rate" => Some(Self::Effectiveness),
            "62.2-2013 rate" => Some(Self::ThreeHours),
            "62.2-2016 rate" | "62.2-2019 rate" => Some(Self::RelativeExposure),
            "IRC rate by table" | "IRC rate by equation" | "Washington rate" => {
                Some(Self::RunTimeFactor)
            }
            _ => None,
        }
    }
}

/// What one method asks of a schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct WhileRunning {
    /// The method.
    pub method: Method,
    /// Outdoor air that the ventilator has to bring while it runs (m³/s); `None` if no flow makes
    /// up for the pauses.
    pub flow: Option<f64>,
    /// How it came about.
    pub words: String,
    /// Relative exposure at that flow, for that method.
    pub exposure: Option<Exposure>,
}

/// What a method asks of a ventilator that keeps a rate by a schedule.
///
/// The relative exposure counts infiltration in every hour, as far as the rate gave credit for it,
/// and takes the larger flow of its two ways of averaging, since the text is not at hand.
pub fn while_running(
    method: Method,
    rate: &Rate,
    dwelling: &Dwelling,
    schedule: &Schedule,
    system: System,
) -> WhileRunning {
    let words = Words(system);
    let divided = |share: f64, flow: f64| (share > 1e-9).then(|| flow / share);
    let mut at_flow = None;
    let (flow, text) = match method {
        Method::RelativeExposure => {
            let leaks = rate.credit.unwrap_or(0.0).min(rate.total);
            let by = |averaging| {
                needed_running(schedule, leaks, rate.total, dwelling.volume(), averaging)
                    .map(|all| (all - leaks).max(0.0))
            };
            match (by(Averaging::Exact), by(Averaging::Ends)) {
                (Some(exact), Some(ends)) => {
                    let flow = exact.max(ends);
                    at_flow = exposure(
                        schedule,
                        flow + leaks,
                        leaks,
                        rate.total,
                        dwelling.volume(),
                    );
                    let text = format!(
                        "mean relative exposure 1 with {} if the mean is taken over time, {} if of the values at the ends of the hours; the larger counts",
                        words.flow(exact),
                        words.flow(ends)
                    );
                    (Some(flow), text)
                }
                _ => (
                    None,
                    "the pauses are too long: no flow brings the mean relative exposure down to 1 and its highest to 5".into(),
                ),
            }
        }
        Method::ThreeHours => {
            let share = schedule.least_share(3.0 * 3600.0);
            let flow = divided(share, rate.needed);
            let text = match flow {
                Some(flow) => format!(
                    "it runs at least {} of any three hours: {} ÷ {} = {}",
                    percent(share),
                    words.flow(rate.needed),
                    percent(share),
                    words.flow(flow)
                ),
                None => "there are three hours in which it never runs".into(),
            };
            (flow, text)
        }
        Method::Effectiveness => {
            let (share, effectiveness) = (schedule.share(), effectiveness_2007(schedule));
            let flow = divided(share * effectiveness, rate.needed);
            let text = format!(
                "it runs {} of the day, effectiveness {effectiveness}: {} ÷ ({effectiveness} × {}) = {}",
                percent(share),
                words.flow(rate.needed),
                percent(share),
                flow.map_or_else(|| "no flow".into(), |flow| words.flow(flow))
            );
            (flow, text)
        }
        Method::RunTimeFactor => {
            let share = schedule.least_share(4.0 * 3600.0);
            // Washington asks for two hours in each four.
            let least = if rate.rule.id == "Washington rate" {
                0.5
            } else {
                0.25
            };
            let factor = run_time_factor(share).filter(|_| share >= least - 1e-9);
            let text = match factor {
                Some(factor) => format!(
                    "it runs at least {} of any four hours, factor {factor:.2}: {factor:.2} × {} = {}",
                    percent(share),
                    words.flow(rate.needed),
                    words.flow(factor * rate.needed)
                ),
                None => format!(
                    "it runs only {} of some four hours, but {} is the least that the rule knows",
                    percent(share),
                    percent(least)
                ),
            };
            (factor.map(|factor| factor * rate.needed), text)
        }
    };
    WhileRunning {
        method,
        flow,
        words: text,
        exposure: at_flow,
    }
}
