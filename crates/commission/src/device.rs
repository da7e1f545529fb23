//! From a pressure to a flow and back: what stands behind the two hoses of a manometer.
//!
//! Every device is a rising law from a pressure difference Δp (Pa) to a volume flow (m³/s). Charts,
//! power laws, probes and boxes are calibrated at a reference density; in other air
//! `Q_actual = Q_indicated √(ρ_ref/ρ)`, because the velocity behind a pressure goes with 1/√ρ
//! (exact for Δp ∝ ρQ²; the sheet's table of altitudes is reproduced in the tests). *Standard* flow
//! is mass flow over 1.204 kg/m³; balance is judged by it.

use crate::error::{Error, positive};
use crate::orifice::Orifice;
use air::{AirState, STANDARD_DENSITY};

/// What turns a pressure difference into a flow.
#[derive(Debug, Clone, PartialEq)]
pub enum Device {
    /// The unit's own chart.
    Chart(Chart),
    /// `Q = K Δpⁿ`.
    PowerLaw(PowerLaw),
    /// A sharp-edged plate in a straight duct.
    Orifice(Orifice),
    /// An averaging probe across a duct.
    AveragingProbe(AveragingProbe),
    /// A box with an opening, held over an exhaust inlet.
    ExhaustBox(ExhaustBox),
    /// The instrument shows the flow itself: powered or passive hood, flow plate with its own
    /// meter, traverse that was averaged.
    Meter(Meter),
}

/// The unit's own chart: pressure differences and flows at a reference density.
///
/// Between two points the flow is a power law of the pressure, so that a chart drawn from
/// `Q = K Δpⁿ` is met exactly; outside it the power law of the nearest pair goes on.
///
/// ```
/// use commission::device::Chart;
/// let chart = Chart::new(&[(25.0, 0.020), (100.0, 0.040)])?;
/// // A square-root law: 0.004 √49.
/// assert!((chart.indicated(49.0) - 0.028).abs() < 1e-12);
/// assert!((chart.pressure(0.028) - 49.0).abs() < 1e-9);
/// # Ok::<(), commission::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// `(ln Δp, ln Q)`.
    points: Vec<(f64, f64)>,
}

impl Chart {
    /// Chart through points (Pa, m³/s), two at least, both rising.
    ///
    /// # Errors
    /// Refuses fewer points, numbers that are not above 0, and points that do not rise.
    pub fn new(points: &[(f64, f64)]) -> Result<Self, Error> {
        if points.len() < 2 {
            return Err(Error(format!(
                "a chart needs two points at least; it has {}",
                points.len()
            )));
        }
        for &(pressure, flow) in points {
            positive("pressure on a chart [Pa]", pressure)?;
            positive("flow on a chart [m³/s]", flow)?;
        }
        for pair in points.windows(2) {
            if pair[1].0 <= pair[0].0 || pair[1].1 <= pair[0].1 {
                return Err(Error(format!(
                    "pressure and flow of a chart must both rise, but ({} Pa, {} m³/s) is followed by ({} Pa, {} m³/s)",
                    pair[0].0, pair[0].1, pair[1].0, pair[1].1
                )));
            }
        }
        let points = points.iter().map(|(p, q)| (p.ln(), q.ln())).collect();
        Ok(Self { points })
    }

    /// Flow that the chart gives (m³/s) for a pressure (Pa), odd in the pressure.
    pub fn indicated(&self, pressure: f64) -> f64 {
        if pressure == 0.0 {
            return 0.0;
        }
        along(&self.points, pressure.abs().ln())
            .exp()
            .copysign(pressure)
    }

    /// Pressure (Pa) at which the chart gives a flow (m³/s).
    pub fn pressure(&self, flow: f64) -> f64 {
        if flow == 0.0 {
            return 0.0;
        }
        let turned: Vec<_> = self.points.iter().map(|&(p, q)| (q, p)).collect();
        along(&turned, flow.abs().ln()).exp().copysign(flow)
    }

    /// Least and greatest pressure of the chart (Pa).
    pub fn range(&self) -> [f64; 2] {
        [
            self.points[0].0.exp(),
            self.points[self.points.len() - 1].0.exp(),
        ]
    }
}

/// Straight lines through rising points, the first and the last continued.
fn along(points: &[(f64, f64)], x: f64) -> f64 {
    let last = points.len() - 2;
    let at = points[1..=last]
        .iter()
        .position(|point| x < point.0)
        .unwrap_or(last);
    let (a, b) = (points[at], points[at + 1]);
    a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
}

/// `Q = K Δpⁿ` at the reference density.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerLaw {
    coefficient: f64,
    exponent: f64,
}

impl PowerLaw {
    /// K (m³/(s·Paⁿ)) and n.
    ///
    /// # Errors
    /// Refuses K that is not above 0 and n outside 0.4 … 1.
    pub fn new(coefficient: f64, exponent: f64) -> Result<Self, Error> {
        positive("coefficient K of a station [m³/(s·Paⁿ)]", coefficient)?;
        if !(0.4..=1.0).contains(&exponent) {
            return Err(Error::refused(
                "exponent n of a station",
                exponent,
                "0.4 to 1; an orifice has 0.5",
            ));
        }
        Ok(Self {
            coefficient,
            exponent,
        })
    }
}

/// An averaging probe: `Q = A C √(2Δp/ρ)`. C is 0.7 to 0.9 by design (from memory); take it from
/// the probe's sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AveragingProbe {
    area: f64,
    factor: f64,
}

impl AveragingProbe {
    /// Area of the duct (m²) and C.
    ///
    /// # Errors
    /// Refuses an area that is not above 0 and C outside 0.3 … 1.2.
    pub fn new(area: f64, factor: f64) -> Result<Self, Error> {
        positive("area of the duct [m²]", area)?;
        if !(0.3..=1.2).contains(&factor) {
            return Err(Error::refused(
                "factor of an averaging probe",
                factor,
                "0.3 to 1.2",
            ));
        }
        Ok(Self { area, factor })
    }
}

/// A box with one opening over an exhaust inlet: `Q[cfm] = 1.07 A[in²] √Δp[Pa]`, best below 8 Pa
/// (formula as a university's energy research centre gives it for the airflow methods of the
/// RESNET standards, chapter 8).
///
/// ```
/// use commission::device::{Device, ExhaustBox};
/// // 36 in² and 3 Pa: 66.7 cfm.
/// let device = Device::ExhaustBox(ExhaustBox::new(36.0 * 0.0254 * 0.0254)?);
/// let air = commission::device::standard_air();
/// assert!((device.flow(3.0, &air) / 0.000_471_947_443 - 66.7).abs() < 0.05);
/// # Ok::<(), commission::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExhaustBox {
    area: f64,
}

/// 1.07 cfm per in² and √Pa in SI [m/(s·√Pa)]; as `C √(2/1.2)` it is C = 0.606.
const BOX_VELOCITY: f64 = 1.07 * 0.000_471_947_443_2 / (0.0254 * 0.0254);

impl ExhaustBox {
    /// Area of the opening (m²).
    ///
    /// # Errors
    /// Refuses an area that is not above 0.
    pub fn new(area: f64) -> Result<Self, Error> {
        positive("opening of the box [m²]", area).map(|area| Self { area })
    }
}

/// An instrument that shows a flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    /// Part of the flow that the instrument itself keeps back by its resistance, 0 to 1; 0 for a
    /// powered hood, whose fan undoes it.
    pub held_back: f64,
    /// The number shown holds at this density (kg/m³) and goes with `√(ρ_ref/ρ)`; absent for an
    /// instrument that corrects by itself or shows actual volume.
    pub reference_density: Option<f64>,
}

impl Meter {
    /// A powered hood: the pressure at the grille is held at zero.
    pub const POWERED_HOOD: Self = Self {
        held_back: 0.0,
        reference_density: Some(STANDARD_DENSITY),
    };

    /// A passive hood that keeps back a part of the flow.
    ///
    /// # Errors
    /// Refuses a part outside 0 … 0.5.
    pub fn passive_hood(held_back: f64) -> Result<Self, Error> {
        if !(0.0..=0.5).contains(&held_back) {
            return Err(Error::refused(
                "part of the flow that the hood keeps back",
                held_back,
                "0 to 0.5",
            ));
        }
        Ok(Self {
            held_back,
            reference_density: Some(STANDARD_DENSITY),
        })
    }

    /// A flow plate in the slot of the filter, from the supply plenum pressure (Pa) with the filter
    /// and with the plate in its place: ducts are quadratic, so the flow with the filter is that
    /// with the plate times `√(p_filter/p_plate)`.
    ///
    /// # Errors
    /// Refuses pressures that are not above 0.
    pub fn flow_plate(with_filter: f64, with_plate: f64) -> Result<Self, Error> {
        positive("supply plenum pressure with the filter [Pa]", with_filter)?;
        positive("supply plenum pressure with the plate [Pa]", with_plate)?;
        Ok(Self {
            held_back: 1.0 - (with_plate / with_filter).sqrt(),
            reference_density: Some(STANDARD_DENSITY),
        })
    }
}

/// Dry air at 20 °C and sea level.
pub fn standard_air() -> AirState {
    // Inside the limits of `AirState` by its own documentation.
    match AirState::from_humidity_ratio(20.0, 0.0, air::STANDARD_PRESSURE) {
        Ok(state) => state,
        Err(error) => unreachable!("standard air: {error}"),
    }
}

/// Air at a station: temperature (°C), relative humidity (0…1), altitude (m).
///
/// # Errors
/// What [`AirState`] refuses.
pub fn air_at(temperature: f64, relative_humidity: f64, altitude: f64) -> Result<AirState, Error> {
    AirState::from_relative_humidity(
        temperature,
        relative_humidity,
        air::standard_pressure(altitude),
    )
    .map_err(|error| Error(error.to_string()))
}

/// Flow at standard density (m³/s) of an actual flow (m³/s) in air of a density.
pub fn standard_flow(actual: f64, density: f64) -> f64 {
    actual * density / STANDARD_DENSITY
}

impl Device {
    /// Whether the instrument shows a flow (m³/s) and not a pressure (Pa).
    pub fn shows_flow(&self) -> bool {
        matches!(self, Self::Meter(_))
    }

    /// Actual volume flow (m³/s) for what the instrument shows: a pressure difference (Pa), or the
    /// flow itself (m³/s) for a [`Meter`]. Odd in the reading.
    pub fn flow(&self, shown: f64, air: &AirState) -> f64 {
        let density = air.density();
        let thin = (STANDARD_DENSITY / density).sqrt();
        let root = |pressure: f64| pressure.abs().sqrt().copysign(pressure);
        match self {
            Self::Chart(chart) => chart.indicated(shown) * thin,
            Self::PowerLaw(law) => {
                law.coefficient * shown.abs().powf(law.exponent).copysign(shown) * thin
            }
            Self::Orifice(orifice) => orifice.flow(shown, air),
            Self::AveragingProbe(probe) => probe.area * probe.factor * root(2.0 * shown / density),
            Self::ExhaustBox(device) => device.area * BOX_VELOCITY * root(shown) * thin,
            Self::Meter(meter) => {
                let corrected = meter
                    .reference_density
                    .map_or(1.0, |reference| (reference / density).sqrt());
                shown * corrected / (1.0 - meter.held_back)
            }
        }
    }

    /// What the instrument shows for an actual flow (m³/s), the inverse of [`flow`](Self::flow).
    pub fn shown(&self, flow: f64, air: &AirState) -> f64 {
        let density = air.density();
        let thin = (STANDARD_DENSITY / density).sqrt();
        match self {
            Self::Chart(chart) => chart.pressure(flow / thin),
            Self::PowerLaw(law) => (flow.abs() / (law.coefficient * thin))
                .powf(1.0 / law.exponent)
                .copysign(flow),
            Self::Orifice(orifice) => orifice.pressure(flow, air),
            Self::AveragingProbe(probe) => {
                let velocity = flow / (probe.area * probe.factor);
                0.5 * density * velocity * velocity.abs()
            }
            Self::ExhaustBox(device) => {
                let root = flow / (device.area * BOX_VELOCITY * thin);
                root * root.abs()
            }
            Self::Meter(meter) => {
                let corrected = meter
                    .reference_density
                    .map_or(1.0, |reference| (reference / density).sqrt());
                flow * (1.0 - meter.held_back) / corrected
            }
        }
    }

    /// Pressures for which the device is made (Pa), if it says so.
    pub fn range(&self) -> Option<[f64; 2]> {
        match self {
            Self::Chart(chart) => Some(chart.range()),
            Self::ExhaustBox(_) => Some([0.5, 8.0]),
            _ => None,
        }
    }

    /// Relative standard deviation of a flow from that of the calibration, the standard deviation
    /// of the pressure (Pa) and the relative one of the density:
    /// `(u_Q/Q)² = u_K² + (n u_Δp/Δp)² + (½ u_ρ/ρ)²` with n the slope d ln Q/d ln Δp.
    pub fn relative_deviation(
        &self,
        shown: f64,
        air: &AirState,
        calibration: f64,
        pressure: f64,
        density: f64,
    ) -> f64 {
        let step = 1e-4;
        let exponent =
            (self.flow(shown * (1.0 + step), air) / self.flow(shown, air)).ln() / (1.0 + step).ln();
        let from_pressure = exponent * pressure / shown;
        (calibration * calibration + from_pressure * from_pressure + 0.25 * density * density)
            .sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn devices() -> [Device; 7] {
        [
            Device::Chart(Chart::new(&[(10.0, 0.01), (30.0, 0.018), (90.0, 0.032)]).unwrap()),
            Device::PowerLaw(PowerLaw::new(0.005, 0.52).unwrap()),
            Device::Orifice(Orifice::new(0.1, 0.15, crate::orifice::Taps::Flange).unwrap()),
            Device::AveragingProbe(AveragingProbe::new(0.018, 0.8).unwrap()),
            Device::ExhaustBox(ExhaustBox::new(0.02).unwrap()),
            Device::Meter(Meter::passive_hood(0.06).unwrap()),
            Device::Meter(Meter::flow_plate(60.0, 52.0).unwrap()),
        ]
    }

    const CFM: f64 = 0.000_471_947_443_2;
    const INWC: f64 = 249.088_91;

    /// ISA at 20 °C dry, the sheet's √(1.2/ρ) at altitudes (computed there by an independent
    /// script), and the sea-level row of temperatures.
    #[test]
    fn thin_air_makes_a_pressure_mean_more_flow() {
        let device = Device::PowerLaw(PowerLaw::new(0.01, 0.5).unwrap());
        let to_sheet = (1.2 / STANDARD_DENSITY).sqrt();
        for (temperature, altitude, expected) in [
            (20.0, 0.0, 0.9983),
            (20.0, 500.0, 1.0285),
            (20.0, 1000.0, 1.0600),
            (20.0, 1609.0, 1.1002),
            (20.0, 2000.0, 1.1271),
            (-20.0, 0.0, 0.9277),
            (0.0, 0.0, 0.9636),
            (40.0, 0.0, 1.0318),
        ] {
            let air = air_at(temperature, 0.0, altitude).unwrap();
            let factor = device.flow(25.0, &air) / 0.05 * to_sheet;
            assert!(
                (factor - expected).abs() < 2e-4,
                "{temperature} °C, {altitude} m: {factor}"
            );
            // Standard flow goes the other way.
            let standard = standard_flow(device.flow(25.0, &air), air.density());
            let expected = 0.05 * (air.density() / STANDARD_DENSITY).sqrt();
            assert!((standard - expected).abs() < 1e-12);
        }
    }

    /// The sheet's example: u_K 4 %, u_Δp = 0.5 Pa ⊕ 1 %.
    #[test]
    fn deviations_add_up_as_in_the_sheet() {
        let device = Device::PowerLaw(PowerLaw::new(0.01, 0.5).unwrap());
        for (pressure, expected) in [(5.0, 6.42), (10.0, 4.74), (25.0, 4.15), (50.0, 4.06)] {
            let deviation = f64::hypot(0.5, 0.01 * pressure);
            let got = device.relative_deviation(pressure, &standard_air(), 0.04, deviation, 0.0);
            assert!(
                (100.0 * got - expected).abs() < 0.005,
                "{pressure} Pa: {got}"
            );
        }
    }

    /// Common practice, no published source: a small unit's stations at its 70 cfm setting.
    #[test]
    fn a_small_unit_at_its_seventy_cfm_setting_is_within_tolerance() {
        // An invented chart of that size, drawn through what the trade reports.
        let chart = Device::Chart(
            Chart::new(&[
                (0.10 * INWC, 46.0 * CFM),
                (0.20 * INWC, 64.0 * CFM),
                (0.30 * INWC, 78.0 * CFM),
            ])
            .unwrap(),
        );
        let extract = chart.flow(0.214 * INWC, &standard_air()) / CFM;
        assert!((65.0..=67.0).contains(&extract), "{extract} cfm");
        for supply in [70.0, 72.0] {
            let balance = (supply - extract) / f64::max(supply, extract);
            assert!(balance.abs() < 0.10, "{balance}");
        }
    }

    proptest! {
        /// More pressure is more flow, without jumps between the points of a chart.
        #[test]
        fn every_device_rises(
            pressure in 0.5..200.0f64,
            temperature in -20.0..40.0f64,
            altitude in 0.0..3000.0f64,
        ) {
            let air = air_at(temperature, 0.3, altitude).unwrap();
            for device in devices() {
                let (low, high) = (device.flow(pressure, &air), device.flow(1.001 * pressure, &air));
                prop_assert!(low > 0.0 && high > low && high < 1.0015 * low, "{device:?}");
                prop_assert!((device.flow(-pressure, &air) + low).abs() <= 1e-12);
                prop_assert!((device.shown(low, &air) / pressure - 1.0).abs() < 1e-6);
            }
        }
    }

    /// Every device is its own inverse and odd.
    #[test]
    fn shown_and_flow_undo_each_other() {
        let air = air_at(5.0, 0.8, 1200.0).unwrap();
        for device in devices() {
            for flow in [-0.03, 0.0, 0.004, 0.03, 0.06] {
                let shown = device.shown(flow, &air);
                assert!(
                    (device.flow(shown, &air) - flow).abs() < 1e-9,
                    "{device:?} at {flow}"
                );
            }
        }
    }
}
