//! Flexible duct: what compression, sag and bends cost.
//!
//! A flexible duct that is not pulled tight folds its liner into the stream, and its loss grows
//! several times. The correction is a factor on the friction of the same installed length at the
//! roughness of the extended duct (0.9 mm).

use crate::error::{Error, require, require_not_negative, require_positive};
use crate::interpolate::{clamped, held_above};
use crate::loss::{HANDBOOK_SPREAD, Loss, Source};

/// How well a flexible duct was stretched when it was hung.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stretch {
    /// Pulled tight: 4 % compression.
    Stretched,
    /// Careful work: 10 %.
    Good,
    /// As found in houses: 15 %, the length to which a released duct relaxes.
    AsFound,
    /// Loose and sagging: 30 %.
    Poor,
}

impl Stretch {
    /// Compression as a fraction of the fully extended length: `(L_FE − L)/L_FE` (-). 4, 15 and
    /// 30 % are the states tested by Abushakra and others 2004; 10 % for good work is common
    /// practice, no published source.
    pub fn compression(self) -> f64 {
        match self {
            Stretch::Stretched => 0.04,
            Stretch::Good => 0.10,
            Stretch::AsFound => 0.15,
            Stretch::Poor => 0.30,
        }
    }
}

/// Standard deviation of the logarithm of the compression in a house (-): a duct called "as found"
/// is easily half or one and a half times as compressed. A judgement, no published source.
pub const COMPRESSION_LOG_STANDARD_DEVIATION: f64 = 0.4;

/// Factor on the friction of a compressed flexible duct,
/// `PDCF = 1 + 0.58 K_c exp(−0.00496 D)` with K_c in percent and D in mm (ASHRAE Fundamentals
/// 2021, chapter 21, equations 22 and 23, after Abushakra and others 2004 and Culp 2011).
///
/// `diameter` (m); `compression` as a fraction. The tests covered 150, 200 and 250 mm up to 45 %
/// compression: **below 150 mm this is an extrapolation** of the published formula.
///
/// ```
/// use ducts::flexible::{Stretch, compression_factor};
/// let factor = compression_factor(0.150, Stretch::AsFound.compression())?;
/// assert!((factor - 5.134).abs() < 5e-4);
/// # Ok::<(), ducts::Error>(())
/// ```
///
/// # Errors
/// Refuses a diameter that is not above 0 and a compression outside 0 … 0.5.
pub fn compression_factor(diameter: f64, compression: f64) -> Result<f64, Error> {
    require_positive("flexible duct diameter [m]", diameter)?;
    require(
        "compression of flexible duct [-]",
        compression,
        "0 to 0.5",
        (0.0..=0.5).contains(&compression),
    )?;
    Ok(1.0 + 58.0 * compression * (-4.96 * diameter).exp())
}

/// Excess length of a duct that sags by `sag` (m) between supports `span` (m) apart, as a fraction
/// of the span: `(8/3)(s/ℓ)²`, the arc of a shallow parabola. It adds to the compression; the arc
/// itself is short (0.5 % for 50 mm in 1.2 m), sag costs because the duct was cut too long.
///
/// # Errors
/// Refuses a span that is not above 0 and a sag outside 0 … a quarter of the span, where the
/// shallow form ends.
pub fn sag_slack(sag: f64, span: f64) -> Result<f64, Error> {
    require_positive("span between supports [m]", span)?;
    require(
        "sag between supports [m]",
        sag,
        "0 to a quarter of the span",
        (0.0..=0.25 * span).contains(&sag),
    )?;
    let ratio = sag / span;
    Ok(8.0 / 3.0 * ratio * ratio)
}

/// Length (m) of the centreline of a bend of `radius` (m) through `angle` (°). It belongs to the
/// length of the run, so that its compression is counted with the rest.
///
/// # Errors
/// Refuses negative values.
pub fn bend_length(radius: f64, angle: f64) -> Result<f64, Error> {
    require_not_negative("bend radius [m]", radius)?;
    require_not_negative("bend angle [°]", angle)?;
    Ok(radius * angle.to_radians())
}

/// Loss of a bend in flexible duct, beyond the friction of its own length (see [`bend_length`]).
///
/// No general published coefficient exists. Judged from the pleated elbow of r/D 1.5 (ASHRAE
/// fitting CD3-5, by diameter), 1.5 times that at r/D 1, linear between and unchanged above 1.5;
/// a tighter bend kinks and is refused. The factor of the angle is that of smooth elbows.
///
/// # Errors
/// Refuses a diameter (m) below 0.1, a radius ratio below 1 and an angle outside 0 … 180°.
pub fn bend_loss(diameter: f64, radius_ratio: f64, angle: f64) -> Result<Loss, Error> {
    require(
        "radius of a flexible bend by its diameter [-]",
        radius_ratio,
        "1 or more (a tighter bend kinks)",
        radius_ratio >= 1.0,
    )?;
    let right_angle = pleated_elbow(diameter)?;
    let tightness = clamped(&[(1.0, 1.5), (1.5, 1.0)], radius_ratio);
    Ok(Loss {
        coefficient: right_angle * tightness * crate::elbow::angle_factor(angle)?,
        log_standard_deviation: 2.0 * HANDBOOK_SPREAD,
        source: Source::from_memory(
            "judged from ASHRAE fitting CD3-5 (pleated elbow); no published flexible bend found",
        ),
    })
}

/// Pleated 90° elbow of r/D 1.5 by diameter (m), ASHRAE fitting CD3-5 (Fundamentals 2009,
/// chapter 21); above the largest diameter of the table the last value holds.
pub(crate) fn pleated_elbow(diameter: f64) -> Result<f64, Error> {
    const TABLE: [(f64, f64); 6] = [
        (0.10, 0.57),
        (0.15, 0.43),
        (0.20, 0.34),
        (0.25, 0.28),
        (0.30, 0.26),
        (0.35, 0.25),
    ];
    held_above(
        "diameter of a pleated or flexible elbow [m]",
        &TABLE,
        diameter,
        "0.1 or more",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn compression_never_helps(diameter in 0.01..1.0f64, compression in 0.0..=0.49f64) {
            let factor = compression_factor(diameter, compression).unwrap();
            prop_assert!(factor >= 1.0);
            prop_assert!(compression_factor(diameter, compression + 0.01).unwrap() > factor);
        }
    }

    #[test]
    fn sag_of_two_inches_in_four_feet() {
        assert!((sag_slack(2.0, 48.0).unwrap() - 0.0046).abs() < 5e-5);
        assert!(sag_slack(0.5, 1.0).is_err());
    }

    #[test]
    fn tight_bends_cost_half_as_much_again_and_kinks_are_refused() {
        let wide = bend_loss(0.15, 1.5, 90.0).unwrap().coefficient;
        let tight = bend_loss(0.15, 1.0, 90.0).unwrap().coefficient;
        assert!((wide - 0.43).abs() < 1e-15);
        assert!((tight / wide - 1.5).abs() < 1e-12);
        assert!(bend_loss(0.15, 0.9, 90.0).is_err());
        assert!(bend_loss(0.08, 1.5, 90.0).is_err());
        assert_eq!(bend_loss(0.15, 3.0, 90.0).unwrap().coefficient, wide);
    }

    #[test]
    fn quarter_circle_length() {
        assert!((bend_length(2.0, 90.0).unwrap() - std::f64::consts::PI).abs() < 1e-15);
    }
}
