//! Friction of a straight duct: laminar flow, Colebrook's equation, and a smooth passage between.
//!
//! The Darcy friction factor f gives the pressure drop of a straight duct,
//! `Δp = f (L/D_h) ½ ρ V²` (ASHRAE Handbook, Fundamentals 2021, chapter 21, equation 18).
//!
//! | Reynolds number | law |
//! |---|---|
//! | up to 2000 | f = 64/Re (laminar) |
//! | 2000 … 4000 | f Re² is a cubic of Re that continues both neighbours with value and slope |
//! | from 4000 | Colebrook (same chapter, equation 19): 1/√f = −2 log₁₀(ε/(3.7 D) + 2.51/(Re √f)) |
//!
//! In the passage the real flow switches between the two regimes and no formula is exact. What a
//! network needs there is a pressure drop that rises with the flow and has no kink; f Re², which
//! is the pressure drop made dimensionless, has both properties at every Reynolds number.

use crate::error::{Error, require};

/// Reynolds number at which laminar flow ends.
pub const LAMINAR_LIMIT: f64 = 2000.0;

/// Reynolds number from which Colebrook's equation holds.
pub const TURBULENT_LIMIT: f64 = 4000.0;

/// The roughest duct that Colebrook's equation is used for, as roughness by diameter.
pub const LARGEST_RELATIVE_ROUGHNESS: f64 = 0.05;

/// 2/ln 10, so that `2 log₁₀ y = TWO_BY_LN_10 · ln y`.
const TWO_BY_LN_10: f64 = 2.0 * std::f64::consts::LOG10_E;

/// The friction of a straight duct of one relative roughness at every Reynolds number.
///
/// It is stated as the Hagen number `Hg = ½ f Re²`, the pressure gradient made dimensionless:
/// `Δp = (ρ ν²/D²) (L/D) Hg`. The Hagen number rises strictly with the Reynolds number, is
/// continuously differentiable, and stays finite at rest, where the friction factor does not.
///
/// ```
/// let steel = ducts::friction::Friction::new(0.0006)?;
/// assert!((steel.factor(1000.0) - 0.064).abs() < 1e-15);
/// assert!((steel.factor(1e5) - 0.020727).abs() < 1e-6);
/// # Ok::<(), ducts::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Friction {
    relative_roughness: f64,
    /// Hagen number and its slope where Colebrook's equation begins.
    turbulent_hagen: f64,
    turbulent_slope: f64,
}

impl Friction {
    /// Friction of a duct with `relative_roughness` = roughness by hydraulic diameter (-).
    ///
    /// # Errors
    /// Refuses a relative roughness outside 0 … 0.05.
    pub fn new(relative_roughness: f64) -> Result<Self, Error> {
        require(
            "relative roughness [-]",
            relative_roughness,
            "0 to 0.05",
            (0.0..=LARGEST_RELATIVE_ROUGHNESS).contains(&relative_roughness),
        )?;
        Ok(Self::unchecked(relative_roughness))
    }

    fn unchecked(relative_roughness: f64) -> Self {
        let (turbulent_hagen, turbulent_slope) =
            colebrook_hagen(TURBULENT_LIMIT, relative_roughness);
        Self {
            relative_roughness,
            turbulent_hagen,
            turbulent_slope,
        }
    }

    /// Roughness by hydraulic diameter (-).
    pub fn relative_roughness(&self) -> f64 {
        self.relative_roughness
    }

    /// Darcy friction factor (-) at a Reynolds number above 0 (infinite at 0).
    pub fn factor(&self, reynolds: f64) -> f64 {
        if reynolds <= LAMINAR_LIMIT {
            64.0 / reynolds
        } else {
            2.0 * self.hagen(reynolds).0 / (reynolds * reynolds)
        }
    }

    /// Hagen number `½ f Re²` and its derivative by the Reynolds number, for `reynolds` ≥ 0.
    pub fn hagen(&self, reynolds: f64) -> (f64, f64) {
        if reynolds <= LAMINAR_LIMIT {
            (32.0 * reynolds, 32.0)
        } else if reynolds < TURBULENT_LIMIT {
            self.passage_hagen(reynolds)
        } else {
            colebrook_hagen(reynolds, self.relative_roughness)
        }
    }

    /// Reynolds number at which `length_ratio · Hg + ½ loss · Re² = pressure`, the flow through a
    /// duct with a constant loss coefficient in series, and the derivative of the left side there.
    ///
    /// `length_ratio` = L/D_h > 0, `loss` ≥ 0 and `pressure` ≥ 0 are dimensionless. The laminar
    /// branch is a quadratic; the passage a cubic; the turbulent branch one equation for
    /// x = 1/√f, because with Re = x/w and w = √((length_ratio + loss x²)/(2 pressure))
    /// Colebrook's equation reads x + 2 log₁₀(ε/(3.7 D) + 2.51 w(x)) = 0, where w hardly depends
    /// on x. Accurate to about 1e-14 relative.
    pub(crate) fn reynolds(&self, length_ratio: f64, loss: f64, pressure: f64) -> (f64, f64) {
        let at_limit = |limit: f64, hagen: f64| length_ratio * hagen + 0.5 * loss * limit * limit;
        if pressure <= at_limit(LAMINAR_LIMIT, 32.0 * LAMINAR_LIMIT) {
            let linear = 32.0 * length_ratio;
            let root = (linear * linear + 2.0 * loss * pressure).sqrt();
            (2.0 * pressure / (linear + root), root)
        } else if pressure < at_limit(TURBULENT_LIMIT, self.turbulent_hagen) {
            self.passage_reynolds(length_ratio, loss, pressure)
        } else {
            self.turbulent_reynolds(length_ratio, loss, pressure)
        }
    }

    /// The cubic between the laminar and the turbulent limit. Its end slopes lie between 0.1 and
    /// 1.2 times its mean slope for every roughness up to 0.05, well inside the bound of 3 below
    /// which a cubic with rising ends rises throughout (Fritsch and Carlson 1980).
    fn passage_hagen(&self, reynolds: f64) -> (f64, f64) {
        const WIDTH: f64 = TURBULENT_LIMIT - LAMINAR_LIMIT;
        const START: f64 = 32.0 * LAMINAR_LIMIT;
        let position = (reynolds - LAMINAR_LIMIT) / WIDTH;
        let rise = self.turbulent_hagen - START;
        let first = 32.0 * WIDTH;
        let last = self.turbulent_slope * WIDTH;
        let quadratic = 3.0 * rise - 2.0 * first - last;
        let cubic = first + last - 2.0 * rise;
        (
            START + position * (first + position * (quadratic + position * cubic)),
            (first + position * (2.0 * quadratic + position * 3.0 * cubic)) / WIDTH,
        )
    }

    /// Newton's method kept inside a shrinking bracket.
    fn passage_reynolds(&self, length_ratio: f64, loss: f64, pressure: f64) -> (f64, f64) {
        let (mut low, mut high) = (LAMINAR_LIMIT, TURBULENT_LIMIT);
        let mut reynolds = 0.5 * (low + high);
        let mut slope = 1.0;
        for _ in 0..60 {
            let (hagen, hagen_slope) = self.passage_hagen(reynolds);
            let excess = length_ratio * hagen + 0.5 * loss * reynolds * reynolds - pressure;
            slope = length_ratio * hagen_slope + loss * reynolds;
            if excess > 0.0 {
                high = reynolds;
            } else {
                low = reynolds;
            }
            let newton = reynolds - excess / slope;
            let next = if (low..=high).contains(&newton) {
                newton
            } else {
                0.5 * (low + high)
            };
            let step = (next - reynolds).abs();
            reynolds = next;
            // Newton doubles the digits, so a step of 1e-9 leaves an error near rounding.
            if step <= 1e-9 * reynolds {
                break;
            }
        }
        (reynolds, slope)
    }

    fn turbulent_reynolds(&self, length_ratio: f64, loss: f64, pressure: f64) -> (f64, f64) {
        let rough = self.relative_roughness / 3.7;
        let per_pressure = 0.5 / pressure;
        let loss_per_pressure = loss * per_pressure;
        let scale = |x: f64| ((length_ratio + loss * x * x) * per_pressure).sqrt();
        let x = colebrook_root(rough, |x| {
            let w = scale(x);
            let slope = loss_per_pressure * x / w;
            (w, slope, (loss_per_pressure - slope * slope) / w)
        });
        let reynolds = x / scale(x);
        let (_, hagen_slope) = hagen_of_root(reynolds, rough, x);
        (reynolds, length_ratio * hagen_slope + loss * reynolds)
    }
}

/// Darcy friction factor (-) of a duct with `relative_roughness` = ε/D_h (-) (see the module for
/// the three regimes). `reynolds` above 0; the relative roughness is not checked here, see
/// [`Friction::new`].
///
/// ```
/// use ducts::friction::darcy_friction_factor;
/// assert_eq!(darcy_friction_factor(640.0, 0.0), 0.1);
/// assert!((darcy_friction_factor(30_000.0, 0.0006) - 0.025028).abs() < 1e-6);
/// ```
pub fn darcy_friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    darcy_friction_factor_with_slope(reynolds, relative_roughness).0
}

/// Darcy friction factor (-) and its derivative by the Reynolds number.
pub fn darcy_friction_factor_with_slope(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    if reynolds <= LAMINAR_LIMIT {
        return (64.0 / reynolds, -64.0 / (reynolds * reynolds));
    }
    let (hagen, slope) = if reynolds >= TURBULENT_LIMIT {
        colebrook_hagen(reynolds, relative_roughness)
    } else {
        Friction::unchecked(relative_roughness).passage_hagen(reynolds)
    };
    let square = reynolds * reynolds;
    let factor = 2.0 * hagen / square;
    (factor, 2.0 * (slope / square - factor / reynolds))
}

/// Hagen number and slope by Colebrook's equation.
fn colebrook_hagen(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    let rough = relative_roughness / 3.7;
    let slope = 1.0 / reynolds;
    let x = colebrook_root(rough, |x| (x * slope, slope, 0.0));
    hagen_of_root(reynolds, rough, x)
}

/// Root x = 1/√f of Colebrook's equation `x + 2 log₁₀(rough + 2.51 w(x)) = 0`, where `w` gives
/// w = x/Re and its first two derivatives by x.
///
/// The logarithm varies slowly: one substitution from a mid-range x comes within 0.6 of the root
/// for every Reynolds number up to 1e8, and two steps of Halley, each of which cubes an error that
/// is already small against x, then leave less than rounding.
fn colebrook_root(rough: f64, w: impl Fn(f64) -> (f64, f64, f64)) -> f64 {
    let mut x = -TWO_BY_LN_10 * nearly_ln(rough + 2.51 * w(6.0).0);
    for _ in 0..2 {
        let (value, slope, curvature) = w(x);
        let argument = rough + 2.51 * value;
        let per_argument = 2.51 / argument;
        let ratio = slope * per_argument;
        let excess = x + TWO_BY_LN_10 * argument.ln();
        let first = 1.0 + TWO_BY_LN_10 * ratio;
        let second = TWO_BY_LN_10 * (curvature * per_argument - ratio * ratio);
        x -= excess * first / (first * first - 0.5 * excess * second);
    }
    x
}

/// Natural logarithm of a normal number above 0, within 0.03: the bits of a floating-point number
/// read as an integer are its exponent followed by a linear stand-in for the rest of its logarithm.
fn nearly_ln(value: f64) -> f64 {
    const PER_BIT: f64 = std::f64::consts::LN_2 / (1u64 << 52) as f64;
    const OFFSET: f64 = std::f64::consts::LN_2 * 1022.957;
    value.to_bits() as i64 as f64 * PER_BIT - OFFSET
}

/// Hagen number `½ Re²/x²` at the root x of Colebrook's equation, and its derivative by Re with
/// dx/dRe from the implicit function theorem.
fn hagen_of_root(reynolds: f64, rough: f64, x: f64) -> (f64, f64) {
    let ratio = TWO_BY_LN_10 * 2.51 / (rough * reynolds + 2.51 * x);
    let root_slope = ratio * x / (reynolds * (1.0 + ratio));
    let velocity = reynolds / x;
    (
        0.5 * velocity * velocity,
        velocity * (1.0 - velocity * root_slope) / x,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_reynolds() -> impl Strategy<Value = f64> {
        prop_oneof![
            (-3.0..7.0f64).prop_map(|e| 10f64.powf(e)),
            1900.0..4200.0f64,
        ]
    }

    proptest! {
        #[test]
        fn colebrook_is_satisfied(exponent in 3.6021..8.0f64, rough in 0.0..=0.05f64) {
            let re = 10f64.powf(exponent);
            let f = darcy_friction_factor(re, rough);
            let x = 1.0 / f.sqrt();
            let right = -2.0 * (rough / 3.7 + 2.51 * x / re).log10();
            prop_assert!((x / right - 1.0).abs() < 1e-13, "{x} {right}");
        }

        #[test]
        fn pressure_drop_rises_with_flow(re in any_reynolds(), rough in 0.0..=0.05f64) {
            let friction = Friction::new(rough).unwrap();
            let (low, slope) = friction.hagen(re);
            let (high, _) = friction.hagen(re * (1.0 + 1e-9));
            prop_assert!(high > low);
            prop_assert!(slope > 0.0);
        }

        #[test]
        fn slope_is_the_derivative(re in any_reynolds(), rough in 0.0..=0.05f64) {
            let friction = Friction::new(rough).unwrap();
            let step = 1e-5 * re;
            let difference = (friction.hagen(re + step).0 - friction.hagen(re - step).0) / (2.0 * step);
            let slope = friction.hagen(re).1;
            prop_assert!((difference / slope - 1.0).abs() < 1e-4, "{difference} {slope}");
            let (_, slope) = darcy_friction_factor_with_slope(re, rough);
            let difference = (darcy_friction_factor(re + step, rough)
                - darcy_friction_factor(re - step, rough)) / (2.0 * step);
            let size = darcy_friction_factor(re, rough) / re;
            prop_assert!((difference - slope).abs() < 1e-4 * size, "{difference} {slope}");
        }

        #[test]
        fn limits_join_with_value_and_slope(rough in 0.0..=0.05f64) {
            let friction = Friction::new(rough).unwrap();
            for limit in [LAMINAR_LIMIT, TURBULENT_LIMIT] {
                let (below, slope_below) = friction.hagen(limit.next_down());
                let (above, slope_above) = friction.hagen(limit.next_up());
                prop_assert!((below / above - 1.0).abs() < 1e-12);
                prop_assert!((slope_below / slope_above - 1.0).abs() < 1e-11);
            }
        }

        #[test]
        fn passage_obeys_fritsch_carlson(rough in 0.0..=0.05f64) {
            let friction = Friction::new(rough).unwrap();
            let mean = (friction.turbulent_hagen - 32.0 * LAMINAR_LIMIT)
                / (TURBULENT_LIMIT - LAMINAR_LIMIT);
            prop_assert!(32.0 / mean > 0.1 && friction.turbulent_slope / mean < 1.2);
        }
    }

    #[test]
    fn the_first_guess_is_near() {
        for i in 0..2000 {
            let value = 1e-9 * 1.01f64.powi(i);
            assert!((nearly_ln(value) - value.ln()).abs() < 0.03, "{value}");
        }
    }

    #[test]
    fn refuses_what_colebrook_does_not_cover() {
        for bad in [-1e-9, 0.050_001, f64::NAN, f64::INFINITY] {
            assert!(Friction::new(bad).is_err(), "{bad}");
        }
        assert_eq!(
            Friction::new(0.1).unwrap_err().to_string(),
            "relative roughness [-] is 0.1; accepted: 0 to 0.05"
        );
    }
}
