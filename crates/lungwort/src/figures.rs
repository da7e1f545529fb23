//! Numbers as they stand in drawings and tables: one system of units, a true minus, no false zero.

use air::STANDARD_DENSITY;
use plan::flows::Band;
use units::text::{fixed, signed};
use units::{Pressure, Quantity, System, Unit, Velocity, VolumeFlow};

/// Writes figures in a system of units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Figures {
    /// The system.
    pub system: System,
}

impl Figures {
    /// The same for the other system.
    pub fn other(self) -> Self {
        Self {
            system: self.system.other(),
        }
    }

    fn unit<Q: Quantity>(self, inch_pound: &str, international: &str) -> &'static Unit {
        let symbol = match self.system {
            System::Ip => inch_pound,
            System::Si => international,
        };
        let known = Q::units().iter().find(|unit| unit.symbol == symbol);
        known.unwrap_or(&Q::units()[0])
    }

    fn flow_in(self) -> &'static Unit {
        self.unit::<VolumeFlow>("cfm", "L/s")
    }

    fn pressure_in(self) -> &'static Unit {
        self.unit::<Pressure>("inWC", "Pa")
    }

    fn speed_in(self) -> &'static Unit {
        self.unit::<Velocity>("fpm", "m/s")
    }

    /// Unit of a flow.
    pub fn flow_unit(self) -> &'static str {
        self.flow_in().symbol
    }

    /// Unit of a pressure in a duct.
    pub fn pressure_unit(self) -> &'static str {
        self.pressure_in().symbol
    }

    /// Unit of an air speed.
    pub fn speed_unit(self) -> &'static str {
        self.speed_in().symbol
    }

    /// A mass flow (kg/s) as volume flow at standard density, without its unit.
    pub fn flow(self, mass_flow: f64) -> String {
        let unit = self.flow_in();
        fixed(unit.from_si(mass_flow / STANDARD_DENSITY), unit.decimals)
    }

    /// A mass flow (kg/s) as volume flow at standard density.
    pub fn flow_with_unit(self, mass_flow: f64) -> String {
        format!("{} {}", self.flow(mass_flow), self.flow_unit())
    }

    /// A mass flow with its band: `116 (111–122)`.
    pub fn flow_in_band(self, mass_flow: f64, band: Band) -> String {
        let unit = self.flow_in();
        let end = |end: f64| fixed(unit.from_si(end / STANDARD_DENSITY), 0);
        in_band(&self.flow(mass_flow), &end(band.low), &end(band.high))
    }

    /// A pressure (Pa) with its sign, without its unit.
    pub fn pressure(self, pressure: f64) -> String {
        let unit = self.pressure_in();
        signed(unit.from_si(pressure), unit.decimals)
    }

    /// A pressure (Pa) with its sign and unit.
    pub fn pressure_with_unit(self, pressure: f64) -> String {
        format!("{} {}", self.pressure(pressure), self.pressure_unit())
    }

    /// An air speed (m/s) without its unit.
    pub fn speed(self, velocity: f64) -> String {
        let unit = self.speed_in();
        fixed(unit.from_si(velocity), unit.decimals)
    }
}

/// A pressure of the house against outdoors (Pa). Blower-door work has made pascals usual for it in
/// both systems.
pub fn house_pressure(pressure: f64) -> String {
    signed(pressure, 1)
}

/// A part of one in per cent, without the sign of per cent.
pub fn percent(part: f64, decimals: usize) -> String {
    fixed(100.0 * part, decimals)
}

/// A balance with its band in per cent: `−0.4 (−7…+5)`.
pub fn balance_in_band(balance: f64, band: Band) -> String {
    let end = |end: f64| signed(100.0 * end, 0);
    format!(
        "{} ({}…{})",
        signed(100.0 * balance, 1),
        end(band.low),
        end(band.high)
    )
}

fn in_band(number: &str, low: &str, high: &str) -> String {
    let dash = if low.starts_with('−') || high.starts_with('−') {
        "…"
    } else {
        "–"
    };
    format!("{number} ({low}{dash}{high})")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_in_both_systems() {
        let (ip, si) = (
            Figures { system: System::Ip },
            Figures { system: System::Si },
        );
        // 0.05 m³/s of standard air is 106 cfm; an inch of water is 249.089 Pa.
        assert_eq!(ip.flow_with_unit(0.05 * 1.204), "106 cfm");
        assert_eq!(si.flow_with_unit(0.05 * 1.204), "50.0 L/s");
        assert_eq!(ip.pressure_with_unit(-49.8178), "−0.200 inWC");
        assert_eq!(si.pressure_with_unit(49.8178), "+49.8 Pa");
        assert_eq!((ip.speed(3.0), ip.speed_unit()), ("591".to_owned(), "fpm"));
        assert_eq!((si.speed(3.0), si.speed_unit()), ("3.00".to_owned(), "m/s"));
    }

    #[test]
    fn bands() {
        let band = |low, high| Band { low, high };
        let ip = Figures { system: System::Ip };
        let kilograms = |cfm: f64| cfm * 0.3048f64.powi(3) / 60.0 * STANDARD_DENSITY;
        assert_eq!(
            ip.flow_in_band(kilograms(116.0), band(kilograms(111.0), kilograms(122.0))),
            "116 (111–122)"
        );
        assert_eq!(
            ip.flow_in_band(kilograms(-44.0), band(kilograms(-50.0), kilograms(-40.0))),
            "−44 (−50…−40)"
        );
        assert_eq!(balance_in_band(-0.004, band(-0.07, 0.05)), "−0.4 (−7…+5)");
    }
}
