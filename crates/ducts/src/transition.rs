//! Changes of section. Coefficients are on the velocity in the *smaller* section.

use crate::error::{Error, require};
use crate::loss::{HANDBOOK_SPREAD, Loss, Source};

/// Gradual or sudden contraction with included `angle` (°); 180° is sudden.
///
/// `C = 0.0696 sin(α/2) (1 − β⁵) λ² + (λ − 1)²` with
/// `λ = 1 + 0.622 (α/180)^0.8 (1 − 0.215 β² − 0.785 β⁵)` and β² = `area_ratio` = small by large
/// area (Rennels and Hudson, Pipe Flow, 2012, without the friction of the cone).
///
/// ```
/// let sudden = ducts::transition::contraction(0.5625, 180.0)?;
/// assert!((sudden.coefficient - 0.294).abs() < 5e-4);
/// # Ok::<(), ducts::Error>(())
/// ```
///
/// # Errors
/// Refuses an area ratio outside 0 … 1 and an angle outside 0 … 180°.
pub fn contraction(area_ratio: f64, angle: f64) -> Result<Loss, Error> {
    check(area_ratio, angle)?;
    let half_sine = (0.5 * angle).to_radians().sin();
    let fifth = area_ratio.powf(2.5);
    let jet = 1.0 + 0.622 * (angle / 180.0).powf(0.8) * (1.0 - 0.215 * area_ratio - 0.785 * fifth);
    let coefficient = 0.0696 * half_sine * (1.0 - fifth) * jet * jet + (jet - 1.0) * (jet - 1.0);
    Ok(Loss {
        coefficient,
        log_standard_deviation: HANDBOOK_SPREAD,
        source: Source::published("Rennels and Hudson, Pipe Flow, 2012, conical contraction"),
    })
}

/// Gradual or sudden expansion with included `angle` (°); 180° is sudden.
///
/// `C = 2.6 sin(α/2) (1 − A₁/A₂)²` up to 45° (Crane TP-410), never more than the loss of Borda and
/// Carnot `(1 − A₁/A₂)²`, which it meets at 45°; `area_ratio` = small by large area.
///
/// # Errors
/// Refuses an area ratio outside 0 … 1 and an angle outside 0 … 180°.
pub fn expansion(area_ratio: f64, angle: f64) -> Result<Loss, Error> {
    check(area_ratio, angle)?;
    let share = (2.6 * (0.5 * angle).to_radians().sin()).min(1.0);
    Ok(Loss {
        coefficient: share * (1.0 - area_ratio) * (1.0 - area_ratio),
        log_standard_deviation: HANDBOOK_SPREAD,
        source: Source::published("Crane TP-410, gradual enlargement; Borda and Carnot"),
    })
}

fn check(area_ratio: f64, angle: f64) -> Result<(), Error> {
    require(
        "small by large area of a transition [-]",
        area_ratio,
        "0 to 1",
        (0.0..=1.0).contains(&area_ratio),
    )?;
    require(
        "included angle of a transition [°]",
        angle,
        "0 to 180",
        (0.0..=180.0).contains(&angle),
    )?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn more_change_costs_more(ratio in 0.0..0.98f64, angle in 1.0..179.0f64) {
            for law in [contraction, expansion] {
                let here = law(ratio, angle).unwrap().coefficient;
                prop_assert!(law(ratio + 0.01, angle).unwrap().coefficient < here);
                prop_assert!(law(ratio, angle + 1.0).unwrap().coefficient >= here);
                prop_assert!(here > 0.0);
            }
        }
    }

    #[test]
    fn equal_areas_cost_nothing() {
        assert_eq!(contraction(1.0, 90.0).unwrap().coefficient, 0.0);
        assert_eq!(expansion(1.0, 90.0).unwrap().coefficient, 0.0);
    }

    #[test]
    fn refuses_impossible_shapes() {
        assert!(contraction(1.1, 30.0).is_err());
        assert!(expansion(0.5, 190.0).is_err());
    }
}
