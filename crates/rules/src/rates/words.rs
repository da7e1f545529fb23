//! Numbers as an arithmetic shows them, in one system of units.

use units::System;

use crate::row::{CFM, FOOT};

/// Square foot (m²).
pub(super) const SQUARE_FOOT: f64 = FOOT * FOOT;

/// Writes numbers in one system.
#[derive(Clone, Copy)]
pub(super) struct Words(pub System);

impl Words {
    /// A flow (m³/s) with one decimal.
    pub fn flow(self, flow: f64) -> String {
        match self.0 {
            System::Ip => format!("{:.1} cfm", flow / CFM),
            System::Si => format!("{:.1} L/s", flow * 1e3),
        }
    }

    /// A floor area (m²).
    pub fn area(self, area: f64) -> String {
        match self.0 {
            System::Ip => format!("{:.0} ft²", area / SQUARE_FOOT),
            System::Si => format!("{} m²", (10.0 * area).round() / 10.0),
        }
    }

    /// A height (m).
    pub fn height(self, height: f64) -> String {
        match self.0 {
            System::Ip => format!("{:.1} ft", height / FOOT),
            System::Si => format!("{height:.2} m"),
        }
    }

    /// A flow (m³/s) of a number in the unit of this system.
    pub fn to_si(self, number: f64) -> f64 {
        match self.0 {
            System::Ip => number * CFM,
            System::Si => number * 1e-3,
        }
    }

    /// One of two numbers: of the inch-pound form, of the SI form.
    pub fn form(self, inch_pound: f64, international: f64) -> f64 {
        match self.0 {
            System::Ip => inch_pound,
            System::Si => international,
        }
    }

    /// A floor area (m²) as the number of this system's unit.
    pub fn area_number(self, area: f64) -> f64 {
        self.form(area / SQUARE_FOOT, area)
    }
}

/// A share in whole per cent.
pub(super) fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// `1 room`, `3 rooms`.
pub(super) fn count(number: u32, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}
