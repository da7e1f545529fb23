//! Components known by their pressure drop: filters, cores, coils, a blower that stands still.

use crate::error::{Error, require, require_not_negative, require_positive};

/// Density (kg/m³) at which pressure drops are rated: the handbook's standard air.
pub const RATED_DENSITY: f64 = 1.204;

/// Dynamic viscosity (Pa·s) at which pressure drops are rated: standard air, 1.506e-5 m²/s.
pub const RATED_VISCOSITY: f64 = 1.204 * 1.506e-5;

/// A resistance `Δp = a (μ/μ₀) Q + b (ρ/ρ₀) Q|Q|`, rated in standard air.
///
/// The linear part is laminar flow through fibres or narrow channels and follows the viscosity, the
/// quadratic part follows the density. Filter media are mostly linear, recovery cores nearly so;
/// coils and idle blowers mostly quadratic (common practice, no published source).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    linear: f64,
    quadratic: f64,
}

impl Resistance {
    /// Resistance with the coefficients a (Pa/(m³/s)) and b (Pa/(m³/s)²).
    ///
    /// # Errors
    /// Refuses a linear coefficient that is not above 0, without which the flow at rest has no
    /// finite slope, and a quadratic one below 0.
    pub fn new(linear: f64, quadratic: f64) -> Result<Self, Error> {
        require_positive("linear resistance [Pa/(m³/s)]", linear)?;
        require_not_negative("quadratic resistance [Pa/(m³/s)²]", quadratic)?;
        Ok(Self { linear, quadratic })
    }

    /// Filter medium of an area (m²) with `Δp = a V + b V²` on its face velocity V (m/s).
    ///
    /// # Errors
    /// As [`new`](Self::new), and refuses an area that is not above 0.
    pub fn media(area: f64, linear: f64, quadratic: f64) -> Result<Self, Error> {
        require_positive("filter face area [m²]", area)?;
        Self::new(linear / area, quadratic / (area * area))
    }

    /// Through one rated point (m³/s, Pa) of which the fraction `linear_share` is linear.
    ///
    /// ```
    /// // A clean filter that drops 40 Pa at 500 L/s, three quarters of it in the fibres.
    /// let filter = ducts::Resistance::through_point(0.5, 40.0, 0.75)?;
    /// assert!((filter.pressure_drop(0.25, 1.204, 1.204 * 1.506e-5) - 17.5).abs() < 1e-12);
    /// # Ok::<(), ducts::Error>(())
    /// ```
    ///
    /// # Errors
    /// Refuses a flow or a pressure that is not above 0 and a share outside 0.001 … 1.
    pub fn through_point(
        volume_flow: f64,
        pressure_drop: f64,
        linear_share: f64,
    ) -> Result<Self, Error> {
        require_positive("rated volume flow [m³/s]", volume_flow)?;
        require_positive("rated pressure drop [Pa]", pressure_drop)?;
        require(
            "linear share of the pressure drop [-]",
            linear_share,
            "0.001 to 1",
            (0.001..=1.0).contains(&linear_share),
        )?;
        Self::new(
            linear_share * pressure_drop / volume_flow,
            (1.0 - linear_share) * pressure_drop / (volume_flow * volume_flow),
        )
    }

    /// Through two rated points (m³/s, Pa), the second at the larger flow.
    ///
    /// # Errors
    /// Refuses points that are not in order, and points that no such resistance passes through:
    /// the pressure must grow at least in proportion to the flow and less than with its square.
    pub fn through_points(first: (f64, f64), second: (f64, f64)) -> Result<Self, Error> {
        require_positive("rated volume flow [m³/s]", first.0)?;
        require_positive("rated pressure drop [Pa]", first.1)?;
        let order = |rule| Error::Order {
            rule,
            first,
            second,
        };
        if !(second.0.is_finite() && second.1.is_finite() && second.0 > first.0) {
            return Err(order("the second point must have the larger flow"));
        }
        let (low, high) = (first.1 / first.0, second.1 / second.0);
        let quadratic = (high - low) / (second.0 - first.0);
        let linear = low - quadratic * first.0;
        if quadratic < 0.0 || linear <= 0.0 {
            return Err(order(
                "the pressure must grow at least with the flow and less than with its square",
            ));
        }
        Self::new(linear, quadratic)
    }

    /// The same component with its whole drop multiplied, for instance 2 for a loaded filter.
    ///
    /// # Errors
    /// Refuses a factor that is not above 0.
    pub fn loaded(self, factor: f64) -> Result<Self, Error> {
        require_positive("loading factor [-]", factor)?;
        Self::new(self.linear * factor, self.quadratic * factor)
    }

    /// Linear coefficient a (Pa/(m³/s)) in standard air.
    pub fn linear(&self) -> f64 {
        self.linear
    }

    /// Quadratic coefficient b (Pa/(m³/s)²) in standard air.
    pub fn quadratic(&self) -> f64 {
        self.quadratic
    }

    /// Pressure drop (Pa) of `volume_flow` (m³/s), with its sign.
    pub fn pressure_drop(&self, volume_flow: f64, density: f64, viscosity: f64) -> f64 {
        let (linear, quadratic) = self.in_air(density, viscosity);
        volume_flow * (linear + quadratic * volume_flow.abs())
    }

    /// Volume flow (m³/s) that a pressure difference (Pa) drives, and its derivative.
    pub fn volume_flow(
        &self,
        pressure_difference: f64,
        density: f64,
        viscosity: f64,
    ) -> (f64, f64) {
        let (linear, quadratic) = self.in_air(density, viscosity);
        odd_quadratic_root(linear, quadratic, pressure_difference)
    }

    fn in_air(&self, density: f64, viscosity: f64) -> (f64, f64) {
        (
            self.linear * viscosity / RATED_VISCOSITY,
            self.quadratic * density / RATED_DENSITY,
        )
    }
}

/// Root y of `a y + b y|y| = value` with its derivative by `value`; a > 0, b ≥ 0. Written so that
/// no digits cancel.
pub(crate) fn odd_quadratic_root(linear: f64, quadratic: f64, value: f64) -> (f64, f64) {
    let root = (linear * linear + 4.0 * quadratic * value.abs()).sqrt();
    (2.0 * value / (linear + root), 1.0 / root)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn flow_undoes_pressure_drop(
            flow in -1.0..1.0f64, linear in 0.1..1e4f64, quadratic in 0.0..1e5f64,
        ) {
            let component = Resistance::new(linear, quadratic).unwrap();
            let drop = component.pressure_drop(flow, 1.1, 1.8e-5);
            let (back, slope) = component.volume_flow(drop, 1.1, 1.8e-5);
            prop_assert!((back - flow).abs() <= 1e-12 * flow.abs());
            prop_assert!(slope > 0.0);
        }

        #[test]
        fn two_points_are_met(
            linear in 0.1..1e3f64, quadratic in 0.1..1e4f64, flow in 0.01..0.5f64,
        ) {
            let drop = |q: f64| linear * q + quadratic * q * q;
            let got = Resistance::through_points((flow, drop(flow)), (2.0 * flow, drop(2.0 * flow)))
                .unwrap();
            prop_assert!((got.linear() / linear - 1.0).abs() < 1e-6);
            prop_assert!((got.quadratic() / quadratic - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn refuses_points_of_no_such_component() {
        assert!(Resistance::through_points((0.1, 10.0), (0.2, 15.0)).is_err());
        assert!(Resistance::through_points((0.1, 10.0), (0.2, 41.0)).is_err());
        assert!(Resistance::through_points((0.1, 10.0), (0.1, 20.0)).is_err());
        assert!(Resistance::through_points((0.1, 10.0), (f64::NAN, 20.0)).is_err());
        assert!(Resistance::through_point(0.1, 10.0, 0.0).is_err());
        assert!(Resistance::media(0.0, 1.0, 1.0).is_err());
    }

    #[test]
    fn media_and_loading() {
        // 20 V + 5 V² at 1.5 m/s through 0.2 m², then twice as much when loaded.
        let clean = Resistance::media(0.2, 20.0, 5.0).unwrap();
        let drop = clean.pressure_drop(0.3, RATED_DENSITY, RATED_VISCOSITY);
        assert!((drop - 41.25).abs() < 1e-12);
        let loaded = clean.loaded(2.0).unwrap();
        assert!((loaded.pressure_drop(0.3, RATED_DENSITY, RATED_VISCOSITY) - 82.5).abs() < 1e-12);
    }
}
