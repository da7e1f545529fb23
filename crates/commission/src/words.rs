//! Numbers in sentences, in one system of units with the other beside it.

use crate::setup::{Place, SetUp};
use house::model::Mode;
use units::text::true_minus;
use units::{Length, Pressure, Quantity, System, VolumeFlow, both};

/// Writes numbers in a system first.
#[derive(Clone, Copy)]
pub(crate) struct Words {
    pub system: System,
}

impl Words {
    pub fn pressure(self, pascals: f64) -> String {
        true_minus(both(Pressure::from_si(pascals), self.system))
    }

    pub fn flow(self, cubic_metres_per_second: f64) -> String {
        true_minus(both(
            VolumeFlow::from_si(cubic_metres_per_second),
            self.system,
        ))
    }

    pub fn length(self, metres: f64) -> String {
        both(Length::from_si(metres), self.system)
    }

    /// With what the blower does, in a house that has one: ` with the blower in low`.
    pub fn with_blower(set_up: &SetUp, mode: Mode) -> String {
        match (set_up.job().air_handler.is_some(), mode) {
            (false, _) => String::new(),
            (true, Mode::Off) => " with the blower off".into(),
            (true, mode) => format!(" with the blower in {}", mode.name()),
        }
    }

    /// What an instrument shows at a place.
    pub fn shown(self, set_up: &SetUp, place: Place, value: f64) -> String {
        if set_up.shows_flow(place) {
            self.flow(value)
        } else {
            self.pressure(value)
        }
    }
}

/// A part as people say it: `87 %`.
pub(crate) fn percent(part: f64) -> String {
    if part > 0.995 {
        "more than 99 %".into()
    } else {
        format!("{:.0} %", 100.0 * part)
    }
}
