//! Faults that no survey knows of, and how far surveys can be wrong altogether.
//!
//! The spreads of the survey are those of ordinary work. Now and then something is far off: a screen
//! is blocked, a duct is crushed, a fan is weak, a chart belongs to another unit. Each such fault is
//! an explanation of the readings of its own, with a small chance before any reading and a wide
//! spread of the one number that it alters. Surveys as a whole can be worse than they say: so every
//! explanation comes in several scales of all spreads together.
//!
//! All chances and spreads are from memory, no published source; [`SetUp::suspecting`] takes others.
//!
//! [`SetUp::suspecting`]: crate::SetUp::suspecting

use crate::network::{Kind, Network};
use plan::inputs::Slot;

/// A kind of fault.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fault {
    /// Chance that one such part has it.
    pub chance: f64,
    /// How far off the part then is.
    pub spread: Spread,
    /// Part of these cases in which it is more (more resistance, more flow) and not less.
    pub more: f64,
}

/// Spread of a number that is at fault: one standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Of its logarithm.
    Log(f64),
    /// As a multiple of that of the survey.
    Times(f64),
}

/// Chances and spreads of all faults.
#[derive(Debug, Clone, PartialEq)]
pub struct Faults {
    /// A fan of the unit moves less than its curve: filter, core, a wrong speed.
    pub fan: Fault,
    /// A duct with its hood: crushed, kinked, a blocked screen; seldom one that has come off.
    pub duct: Fault,
    /// A station: dirty taps, a chart of another unit.
    pub station: Fault,
    /// A damper that does not stand where its mark says.
    pub damper: Fault,
    /// The furnace filter: clogged, or not there.
    pub filter: Fault,
    /// Any other number of the survey.
    pub survey: Fault,
    /// Gain of an instrument.
    pub gain: Fault,
    /// Zero of an instrument.
    pub zero: Fault,
    /// How many times farther off than the survey says everything may be, and how often.
    pub scales: [(f64, f64); 3],
}

const fn fault(chance: f64, spread: Spread, more: f64) -> Fault {
    Fault {
        chance,
        spread,
        more,
    }
}

impl Default for Faults {
    fn default() -> Self {
        Self {
            fan: fault(0.04, Spread::Log(0.25), 0.1),
            duct: fault(0.04, Spread::Log(1.2), 0.9),
            station: fault(0.04, Spread::Log(0.20), 0.5),
            damper: fault(0.02, Spread::Log(1.2), 0.5),
            filter: fault(0.02, Spread::Times(4.0), 0.7),
            survey: fault(0.005, Spread::Times(4.0), 0.5),
            gain: fault(0.005, Spread::Times(4.0), 0.5),
            zero: fault(0.02, Spread::Times(10.0), 0.5),
            scales: [(1.0, 0.6), (1.5, 0.3), (2.25, 0.1)],
        }
    }
}

/// A number that may be at fault.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Suspect {
    /// The unknown.
    pub unknown: usize,
    /// Its standard deviation then, in scores of the survey.
    pub width: f64,
    /// How much likelier the fault is than none, before any reading.
    pub odds: f64,
    /// Part of the cases in which it is more.
    pub more: f64,
}

impl Suspect {
    /// How much likelier this side of the survey's number makes the fault than the other would, if
    /// the number is known to lie on the upper side by this probability.
    pub fn side(&self, upper: f64) -> f64 {
        2.0 * (self.more * upper + (1.0 - self.more) * (1.0 - upper))
    }
}

/// A fault is only worth a thought if it is this much wider than the survey's own spread.
const LEAST_WIDTH: f64 = 1.5;

impl Faults {
    fn of(&self, kind: Kind) -> Fault {
        match kind {
            Kind::Survey(Slot::SupplyFan | Slot::ExtractFan) => self.fan,
            Kind::Survey(Slot::Filter) => self.filter,
            Kind::Survey(_) => self.survey,
            Kind::Duct(_) => self.duct,
            Kind::Damper(..) => self.damper,
            Kind::Calibration(_) => self.station,
            Kind::Gain(_) => self.gain,
            Kind::Zero(_) => self.zero,
        }
    }

    /// What may be at fault in a network, without what moves nothing.
    pub(crate) fn suspects(&self, network: &Network) -> Vec<Suspect> {
        network
            .unknowns()
            .iter()
            .enumerate()
            .filter(|(_, unknown)| !network.quiet.contains(&unknown.kind))
            .filter_map(|(k, unknown)| {
                let fault = self.of(unknown.kind);
                let own = match unknown.kind {
                    Kind::Survey(_) => network.relative_deviation(k),
                    _ => unknown.scale,
                };
                let width = match fault.spread {
                    Spread::Log(spread) => spread / own.max(1e-9),
                    Spread::Times(times) => times,
                };
                (width >= LEAST_WIDTH && fault.chance > 0.0).then_some(Suspect {
                    unknown: k,
                    width,
                    odds: fault.chance / (1.0 - fault.chance).max(1e-9),
                    more: fault.more,
                })
            })
            .collect()
    }
}
