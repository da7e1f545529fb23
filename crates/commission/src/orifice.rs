//! A sharp-edged orifice plate in a straight duct, after ISO 5167-2:2003.
//!
//! `q_m = C/√(1 − β⁴) · ε · π/4 d² √(2 Δp ρ)` with the Reader-Harris/Gallagher equation for C and
//! the standard's expansibility ε. Coefficients from memory, checked against the independent
//! implementation of the library `fluids` 1.3.1.

use crate::error::{Error, positive};
use air::AirState;
use std::f64::consts::FRAC_PI_4;

/// Isentropic exponent of air.
const ISENTROPIC: f64 = 1.4;

/// Where the two pressures are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taps {
    /// In the corners at the plate.
    Corner,
    /// One inch before and after it.
    Flange,
    /// One diameter before and half a diameter after it.
    DiameterAndHalf,
}

/// A plate with a bore in a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orifice {
    bore: f64,
    duct: f64,
    taps: Taps,
}

impl Orifice {
    /// Diameter of the bore and of the duct (m).
    ///
    /// # Errors
    /// Refuses what the standard does not cover: bore below 12.5 mm, duct outside 50 … 1000 mm, β
    /// outside 0.1 … 0.75.
    pub fn new(bore: f64, duct: f64, taps: Taps) -> Result<Self, Error> {
        positive("bore of the orifice [m]", bore)?;
        positive("duct of the orifice [m]", duct)?;
        if bore < 0.0125 {
            return Err(Error::refused(
                "bore of the orifice [m]",
                bore,
                "0.0125 or more",
            ));
        }
        if !(0.05..=1.0).contains(&duct) {
            return Err(Error::refused("duct of the orifice [m]", duct, "0.05 to 1"));
        }
        let ratio = bore / duct;
        if !(0.1..=0.75).contains(&ratio) {
            return Err(Error::refused(
                "bore of the orifice over its duct",
                ratio,
                "0.1 to 0.75",
            ));
        }
        Ok(Self { bore, duct, taps })
    }

    /// Discharge coefficient C at the Reynolds number of the duct.
    pub fn discharge(&self, reynolds: f64) -> f64 {
        let beta = self.bore / self.duct;
        let millimetres = 1e3 * self.duct;
        let (before, after) = match self.taps {
            Taps::Corner => (0.0, 0.0),
            Taps::Flange => (25.4 / millimetres, 25.4 / millimetres),
            Taps::DiameterAndHalf => (1.0, 0.47),
        };
        let dam = 2.0 * after / (1.0 - beta);
        let a = (19_000.0 * beta / reynolds).powf(0.8);
        let beta4 = beta.powi(4);
        let mut discharge = 0.5961 + 0.0261 * beta * beta - 0.216 * beta.powi(8)
            + 0.000_521 * (1e6 * beta / reynolds).powf(0.7)
            + (0.0188 + 0.0063 * a) * beta.powf(3.5) * (1e6 / reynolds).powf(0.3)
            + (0.043 + 0.080 * (-10.0 * before).exp() - 0.123 * (-7.0 * before).exp())
                * (1.0 - 0.11 * a)
                * beta4
                / (1.0 - beta4)
            - 0.031 * (dam - 0.8 * dam.powf(1.1)) * beta.powf(1.3);
        if millimetres < 71.12 {
            discharge += 0.011 * (0.75 - beta) * (2.8 - millimetres / 25.4);
        }
        discharge
    }

    /// Expansibility ε at a pressure difference and the absolute pressure before the plate (Pa).
    pub fn expansibility(&self, difference: f64, absolute: f64) -> f64 {
        let beta4 = (self.bore / self.duct).powi(4);
        let ratio = (1.0 - difference / absolute).max(0.1);
        1.0 - (0.351 + 0.256 * beta4 + 0.93 * beta4 * beta4) * (1.0 - ratio.powf(1.0 / ISENTROPIC))
    }

    /// Reynolds number of the duct at a volume flow (m³/s).
    pub fn reynolds(&self, flow: f64, air: &AirState) -> f64 {
        flow.abs() * air.density() / (FRAC_PI_4 * self.duct * air.viscosity())
    }

    /// Whether the standard covers a flow (m³/s): a Reynolds number of 5000 at least, of
    /// 16 000 β² for β above 0.56, and of 170 β² D (in mm) with flange taps.
    pub fn covers(&self, flow: f64, air: &AirState) -> bool {
        let beta = self.bore / self.duct;
        let mut least = 5000.0_f64;
        match self.taps {
            Taps::Flange => least = least.max(170.0 * beta * beta * 1e3 * self.duct),
            _ if beta > 0.56 => least = least.max(16_000.0 * beta * beta),
            _ => {}
        }
        self.reynolds(flow, air) >= least
    }

    /// Actual volume flow before the plate (m³/s) at a pressure difference (Pa). Below the
    /// Reynolds numbers of the standard C is held at its value at 1000.
    pub fn flow(&self, difference: f64, air: &AirState) -> f64 {
        let beta = self.bore / self.duct;
        let density = air.density();
        let size = difference.abs();
        let ideal = FRAC_PI_4 * self.bore * self.bore / (1.0 - beta.powi(4)).sqrt()
            * (2.0 * size / density).sqrt()
            * self.expansibility(size, air.pressure());
        let mut flow = 0.61 * ideal;
        // C hardly depends on the flow: each pass gains two digits and more.
        for _ in 0..50 {
            let next = ideal * self.discharge(self.reynolds(flow, air).max(1e3));
            let change = (next - flow).abs();
            flow = next;
            if change <= 1e-14 * flow {
                break;
            }
        }
        flow.copysign(difference)
    }

    /// Pressure difference (Pa) of a flow (m³/s), the inverse of [`flow`](Self::flow).
    pub fn pressure(&self, flow: f64, air: &AirState) -> f64 {
        let beta = self.bore / self.duct;
        let discharge = self.discharge(self.reynolds(flow, air).max(1e3));
        let area = FRAC_PI_4 * self.bore * self.bore / (1.0 - beta.powi(4)).sqrt();
        let velocity = flow.abs() / (area * discharge);
        let incompressible = 0.5 * air.density() * velocity * velocity;
        let mut pressure = incompressible;
        for _ in 0..50 {
            let expansibility = self.expansibility(pressure, air.pressure());
            let next = incompressible / (expansibility * expansibility);
            let change = (next - pressure).abs();
            pressure = next;
            if change <= 1e-14 * pressure {
                break;
            }
        }
        pressure.copysign(flow)
    }
}
