//! A Pitot traverse: where to hold the tube, and how to average.
//!
//! The mean velocity is the mean of the velocities, not the velocity of the mean pressure: since
//! `v = √(2 p_v/ρ)`, averaging pressures reads too high wherever the profile is uneven.
//!
//! Places after ISO 3966 (also ASHRAE 111): log-linear and log-Tchebycheff rule for round ducts
//! (log-Tchebycheff radii from memory, the rest as reprinted in several instrument makers' guides),
//! log-Tchebycheff for rectangular ducts with 5 lines across a side below 30 in, 6 up to 36 in and 7
//! above.

use crate::error::{Error, positive};
use air::AirState;

/// Rule for the places along a diameter of a round duct.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Log-linear.
    LogLinear,
    /// Log-Tchebycheff.
    LogTchebycheff,
}

/// Places along one diameter of a round duct as parts of the diameter from the wall, for 6 or 10
/// (log-linear also 8) places.
///
/// # Errors
/// Refuses another number of places.
///
/// ```
/// use commission::traverse::{Rule, round_places};
/// let places = round_places(Rule::LogLinear, 6)?;
/// assert_eq!(places, [0.032, 0.135, 0.321, 0.679, 0.865, 0.968]);
/// # Ok::<(), commission::Error>(())
/// ```
pub fn round_places(rule: Rule, count: usize) -> Result<Vec<f64>, Error> {
    let half: &[f64] = match (rule, count) {
        (Rule::LogLinear, 6) => &[0.032, 0.135, 0.321],
        (Rule::LogLinear, 8) => &[0.021, 0.117, 0.184, 0.345],
        (Rule::LogLinear, 10) => &[0.019, 0.077, 0.153, 0.217, 0.361],
        (Rule::LogTchebycheff, 6) => &[0.032, 0.137, 0.312],
        (Rule::LogTchebycheff, 8) => &[0.024, 0.100, 0.194, 0.334],
        (Rule::LogTchebycheff, 10) => &[0.019, 0.076, 0.155, 0.215, 0.357],
        _ => {
            return Err(Error::refused(
                "number of places along a diameter",
                count as f64,
                "6, 8 or 10",
            ));
        }
    };
    let far = half.iter().rev().map(|place| 1.0 - place);
    Ok(half.iter().copied().chain(far).collect())
}

/// Places across one side (m) of a rectangular duct as parts of the side, log-Tchebycheff: 5 below
/// 30 in, 6 up to 36 in, 7 above.
///
/// # Errors
/// Refuses a side that is not above 0.
pub fn rectangular_places(side: f64) -> Result<Vec<f64>, Error> {
    positive("side of the duct [m]", side)?;
    Ok(if side < 30.0 * 0.0254 {
        vec![0.074, 0.288, 0.500, 0.712, 0.926]
    } else if side <= 36.0 * 0.0254 {
        vec![0.061, 0.235, 0.437, 0.563, 0.765, 0.939]
    } else {
        vec![0.053, 0.203, 0.366, 0.500, 0.634, 0.797, 0.947]
    })
}

/// The result of a traverse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Traverse {
    /// Mean velocity (m/s).
    pub velocity: f64,
    /// Actual volume flow (m³/s).
    pub flow: f64,
    /// Standard deviation of the velocities over their mean: how uneven the air runs.
    pub unevenness: f64,
    /// Places where the velocity pressure came out negative: the air turns back there, the place
    /// is too near a fitting, or the hoses are swapped.
    pub negative: usize,
}

/// Averages velocity pressures (Pa), each taken at a place of equal weight, over a duct of some
/// area (m²). Negative pressures count as flow backwards.
///
/// # Errors
/// Refuses an empty list, pressures that are not finite, and an area that is not above 0.
///
/// ```
/// // Two halves at 4 and 16 Pa: the mean of √ is 3, not √10.
/// let air = commission::device::standard_air();
/// let traverse = commission::traverse::average(&[4.0, 16.0], 0.02, &air)?;
/// let expected = 3.0 * (2.0 / air.density()).sqrt();
/// assert!((traverse.velocity - expected).abs() < 1e-12);
/// # Ok::<(), commission::Error>(())
/// ```
pub fn average(velocity_pressures: &[f64], area: f64, air: &AirState) -> Result<Traverse, Error> {
    positive("area of the duct [m²]", area)?;
    if velocity_pressures.is_empty() {
        return Err(Error(
            "a traverse needs velocity pressures; there are none".into(),
        ));
    }
    if let Some(wrong) = velocity_pressures.iter().find(|value| !value.is_finite()) {
        return Err(Error::refused("velocity pressure [Pa]", *wrong, "a number"));
    }
    let density = air.density();
    let velocities: Vec<f64> = velocity_pressures
        .iter()
        .map(|pressure| (2.0 * pressure.abs() / density).sqrt().copysign(*pressure))
        .collect();
    let count = velocities.len() as f64;
    let velocity = velocities.iter().sum::<f64>() / count;
    let spread = velocities
        .iter()
        .map(|value| (value - velocity) * (value - velocity))
        .sum::<f64>()
        / (count - 1.0).max(1.0);
    Ok(Traverse {
        velocity,
        flow: velocity * area,
        unevenness: spread.sqrt() / velocity.abs().max(1e-9),
        negative: velocity_pressures
            .iter()
            .filter(|value| **value < 0.0)
            .count(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The velocity at a part y of the diameter from the wall by a power law, whose mean over the
    /// round section is `2 n²/((n+1)(2n+1))` of the middle's.
    #[test]
    fn round_places_find_the_mean_of_turbulent_profiles() {
        for rule in [Rule::LogLinear, Rule::LogTchebycheff] {
            for count in [6, 8, 10] {
                for n in [6.0, 7.0, 9.0] {
                    let places = round_places(rule, count).unwrap();
                    assert_eq!(places.len(), count);
                    let mean = places
                        .iter()
                        .map(|y| (2.0 * y.min(1.0 - y)).powf(1.0 / n))
                        .sum::<f64>()
                        / count as f64;
                    let expected = 2.0 * n * n / ((n + 1.0) * (2.0 * n + 1.0));
                    assert!(
                        (mean / expected - 1.0).abs() < 0.006,
                        "{rule:?} {count} n {n}: {mean} for {expected}"
                    );
                }
            }
        }
    }

    /// A power-law profile across both sides, whose mean is `(n/(n+1))²` of the middle's.
    #[test]
    fn rectangular_places_find_the_mean_of_turbulent_profiles() {
        for side in [0.3, 0.8, 1.2] {
            let places = rectangular_places(side).unwrap();
            for n in [6.0, 7.0, 9.0] {
                let mean = places
                    .iter()
                    .map(|y| (2.0 * y.min(1.0 - y)).powf(1.0 / n))
                    .sum::<f64>()
                    / places.len() as f64;
                let expected = n / (n + 1.0);
                assert!(
                    (mean / expected - 1.0).abs() < 0.006,
                    "{side} m, n {n}: {mean} for {expected}"
                );
            }
        }
    }

    /// The sheet: 0.02 inWC is 566.4 fpm at 0.075 lb/ft³ and 111.2 cfm in a 6 in duct; 5 Pa is
    /// 2.887 m/s and 51.0 L/s in 150 mm at 1.2 kg/m³.
    #[test]
    fn a_velocity_pressure_gives_the_velocity_of_the_sheet() {
        for (density, pressure, diameter, velocity, flow) in [
            (
                1.201_385,
                0.02 * 249.089,
                6.0 * 0.0254,
                566.4 * 0.00508,
                111.2 * 0.000_471_947,
            ),
            (1.2, 5.0, 0.150, 2.887, 0.0510),
        ] {
            // Dry air of this density at sea level.
            let temperature = air::STANDARD_PRESSURE / (287.042 * density) - 273.15;
            let air = crate::device::air_at(temperature, 0.0, 0.0).unwrap();
            let area = std::f64::consts::FRAC_PI_4 * diameter * diameter;
            let traverse = average(&[pressure], area, &air).unwrap();
            // 4005 is itself rounded by a thousandth.
            assert!(
                (traverse.velocity / velocity - 1.0).abs() < 1e-3,
                "{traverse:?}"
            );
            assert!((traverse.flow / flow - 1.0).abs() < 1.5e-3, "{traverse:?}");
        }
    }
}
