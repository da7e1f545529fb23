//! Elbows.
//!
//! The loss is beyond the friction of the duct, whose length is measured to the corner.

use crate::error::{Error, require, require_positive};
use crate::flexible::pleated_elbow;
use crate::interpolate::{clamped, held_above, within};
use crate::loss::{HANDBOOK_SPREAD, Loss, Source};

/// A 90° elbow; [`Elbow::loss`] applies the angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Elbow {
    /// Die-stamped, centreline radius 1.5 diameters (ASHRAE CD3-1), by diameter.
    DieStamped {
        /// Inner diameter (m), 0.075 or more; from 0.23 the last value holds.
        diameter: f64,
    },
    /// Pleated, centreline radius 1.5 diameters (ASHRAE CD3-5), by diameter.
    Pleated {
        /// Inner diameter (m), 0.1 or more; from 0.35 the last value holds.
        diameter: f64,
    },
    /// Five gores, centreline radius 1.5 diameters (ASHRAE CD3-9), by diameter.
    FiveGore {
        /// Inner diameter (m), 0.075 or more; from 0.38 the last value holds.
        diameter: f64,
    },
    /// Seven gores, centreline radius 2.5 diameters (ASHRAE CD3-10), by diameter.
    SevenGore {
        /// Inner diameter (m), 0.075 or more; from 0.3 the last value holds.
        diameter: f64,
    },
    /// Three, four or five gores, by radius, for ducts of any size (SMACNA).
    Gored {
        /// Number of gores: 3, 4 or 5.
        gores: u8,
        /// Centreline radius by diameter (-), 0.75 or more; from 2 the last value holds.
        radius_ratio: f64,
    },
    /// Smooth round bend, by radius (SMACNA).
    Smooth {
        /// Centreline radius by diameter (-), 0.5 or more; from 2.5 the last value holds.
        radius_ratio: f64,
    },
    /// Bend of semi-rigid plastic tube: taken as a smooth bend, from memory, with a wide spread.
    SemiRigid {
        /// Centreline radius by diameter (-), 0.5 or more; from 2.5 the last value holds.
        radius_ratio: f64,
    },
    /// Round mitred elbow without vanes (SMACNA).
    Mitred,
    /// Rectangular mitred elbow without vanes (SMACNA), by the shape of the duct.
    RectangularMitred {
        /// Height (along the axis of the turn) by width (in the plane of the turn) (-), 0.25 to 8.
        height_by_width: f64,
    },
}

const HANDBOOK: Source = Source::published("ASHRAE Fundamentals 2009, chapter 21, fittings CD3");
const DESIGN_MANUAL: Source =
    Source::published("SMACNA HVAC Systems Duct Design, 4th edition, appendix A");

impl Elbow {
    /// Loss on the velocity in the duct, for a turn through `angle` (°) at a Reynolds number.
    ///
    /// The coefficient of the right angle is multiplied by the [angle factor](angle_factor), which
    /// also reproduces the published 45° tables of the die-stamped and the pleated elbow within
    /// 0.01; a round mitre has its own table by angle. The SMACNA coefficients hold at a Reynolds
    /// number of 1.4e5 and are raised by the [Reynolds factor](reynolds_factor): the manual states
    /// it for the mitred elbow, and here it serves for smooth and gored bends as well, whose losses
    /// grow at low Reynolds numbers in the same way. Pass 1.4e5 or more to leave it out. ASHRAE's
    /// tables by diameter contain the effect already.
    ///
    /// ```
    /// use ducts::Elbow;
    /// let elbow = Elbow::DieStamped { diameter: 0.15 };
    /// assert!((elbow.loss(90.0, 3e4)?.coefficient - 0.14).abs() < 1e-12);
    /// # Ok::<(), ducts::Error>(())
    /// ```
    ///
    /// # Errors
    /// Refuses sizes and radii outside the tables (see the variants), an angle outside 0 … 180°
    /// (0 … 90° for mitres) and a Reynolds number that is not above 0.
    pub fn loss(&self, angle: f64, reynolds: f64) -> Result<Loss, Error> {
        const DIAMETER: &str = "elbow diameter [m]";
        const RADIUS: &str = "elbow radius by diameter [-]";
        require_positive("Reynolds number [-]", reynolds)?;
        let by_angle = |right_angle: f64| Ok(right_angle * angle_factor(angle)?);
        let coefficient =
            match *self {
                Elbow::DieStamped { diameter } => by_angle(held_above(
                    DIAMETER,
                    &DIE_STAMPED,
                    diameter,
                    "0.075 or more",
                )?),
                Elbow::Pleated { diameter } => by_angle(pleated_elbow(diameter)?),
                Elbow::FiveGore { diameter } => {
                    by_angle(held_above(DIAMETER, &FIVE_GORE, diameter, "0.075 or more")?)
                }
                Elbow::SevenGore { diameter } => by_angle(held_above(
                    DIAMETER,
                    &SEVEN_GORE,
                    diameter,
                    "0.075 or more",
                )?),
                Elbow::Gored {
                    gores,
                    radius_ratio,
                } => {
                    let table = match gores {
                        3 => &GORED[0],
                        4 => &GORED[1],
                        5 => &GORED[2],
                        _ => {
                            return Err(Error::Count {
                                quantity: "gores of an elbow",
                                found: usize::from(gores),
                                accepted: "3, 4 or 5",
                            });
                        }
                    };
                    by_angle(
                        held_above(RADIUS, table, radius_ratio, "0.75 or more")?
                            * reynolds_factor(reynolds),
                    )
                }
                Elbow::Smooth { radius_ratio } | Elbow::SemiRigid { radius_ratio } => by_angle(
                    held_above(RADIUS, &SMOOTH, radius_ratio, "0.5 or more")?
                        * reynolds_factor(reynolds),
                ),
                Elbow::Mitred => Ok(within("mitre angle [°]", &MITRED, angle, "0 to 90")?
                    * reynolds_factor(reynolds)),
                Elbow::RectangularMitred { height_by_width } => {
                    require("mitre angle [°]", angle, "0 to 90", angle <= 90.0)?;
                    // The round mitre tells how the loss of a sharp corner grows with its angle.
                    let share = within("mitre angle [°]", &MITRED, angle, "0 to 90")? / 1.2;
                    Ok(share
                        * reynolds_factor(reynolds)
                        * within(
                            "height by width of a rectangular elbow [-]",
                            &RECTANGULAR_MITRED,
                            height_by_width,
                            "0.25 to 8",
                        )?)
                }
            }?;
        let (source, log_standard_deviation) = match self {
            Elbow::SemiRigid { .. } => (
                Source::from_memory("taken as a smooth bend of the same radius"),
                2.0 * HANDBOOK_SPREAD,
            ),
            Elbow::DieStamped { .. }
            | Elbow::Pleated { .. }
            | Elbow::FiveGore { .. }
            | Elbow::SevenGore { .. } => (HANDBOOK, HANDBOOK_SPREAD),
            _ => (DESIGN_MANUAL, HANDBOOK_SPREAD),
        };
        Ok(Loss {
            coefficient,
            log_standard_deviation,
            source,
        })
    }
}

/// Loss of a turn through `angle` (°) by that of a right angle, for smooth bends (SMACNA HVAC
/// Systems Duct Design, 4th edition, appendix A).
///
/// # Errors
/// Refuses an angle outside 0 … 180°.
pub fn angle_factor(angle: f64) -> Result<f64, Error> {
    const TABLE: [(f64, f64); 11] = [
        (0.0, 0.0),
        (20.0, 0.31),
        (30.0, 0.45),
        (45.0, 0.60),
        (60.0, 0.78),
        (75.0, 0.90),
        (90.0, 1.0),
        (110.0, 1.13),
        (130.0, 1.20),
        (150.0, 1.28),
        (180.0, 1.40),
    ];
    within("elbow angle [°]", &TABLE, angle, "0 to 180")
}

/// Factor on the loss of an elbow at a Reynolds number below 1.4e5 (SMACNA HVAC Systems Duct
/// Design, 4th edition, appendix A), interpolated on the logarithm of the Reynolds number; below
/// 1e4 the factor stays at 1.40, above 1.4e5 at 1.
pub fn reynolds_factor(reynolds: f64) -> f64 {
    let table = [
        (1.0, 1.40),
        (2.0, 1.26),
        (3.0, 1.19),
        (4.0, 1.14),
        (6.0, 1.09),
        (8.0, 1.06),
        (10.0, 1.04),
        (14.0, 1.0),
    ]
    .map(|(ten_thousands, factor): (f64, f64)| (ten_thousands.ln(), factor));
    clamped(&table, (1e-4 * reynolds).ln())
}

const DIE_STAMPED: [(f64, f64); 7] = [
    (0.075, 0.30),
    (0.100, 0.21),
    (0.125, 0.16),
    (0.150, 0.14),
    (0.180, 0.12),
    (0.200, 0.11),
    (0.230, 0.11),
];

const FIVE_GORE: [(f64, f64); 5] = [
    (0.075, 0.51),
    (0.150, 0.28),
    (0.230, 0.21),
    (0.300, 0.18),
    (0.380, 0.16),
];

const SEVEN_GORE: [(f64, f64); 4] = [(0.075, 0.16), (0.150, 0.12), (0.230, 0.10), (0.300, 0.08)];

/// Three, four and five gores by radius ratio.
const GORED: [[(f64, f64); 4]; 3] = [
    [(0.75, 0.54), (1.0, 0.42), (1.5, 0.34), (2.0, 0.33)],
    [(0.75, 0.50), (1.0, 0.37), (1.5, 0.27), (2.0, 0.24)],
    [(0.75, 0.46), (1.0, 0.33), (1.5, 0.24), (2.0, 0.19)],
];

const SMOOTH: [(f64, f64); 6] = [
    (0.5, 0.71),
    (0.75, 0.33),
    (1.0, 0.22),
    (1.5, 0.15),
    (2.0, 0.13),
    (2.5, 0.12),
];

const MITRED: [(f64, f64); 7] = [
    (0.0, 0.0),
    (20.0, 0.08),
    (30.0, 0.16),
    (45.0, 0.34),
    (60.0, 0.55),
    (75.0, 0.81),
    (90.0, 1.2),
];

const RECTANGULAR_MITRED: [(f64, f64); 6] = [
    (0.25, 1.3),
    (0.5, 1.3),
    (1.0, 1.2),
    (2.0, 1.1),
    (4.0, 0.92),
    (8.0, 0.83),
];

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn every_kind() -> [Elbow; 9] {
        [
            Elbow::DieStamped { diameter: 0.16 },
            Elbow::Pleated { diameter: 0.16 },
            Elbow::FiveGore { diameter: 0.16 },
            Elbow::SevenGore { diameter: 0.16 },
            Elbow::Gored {
                gores: 3,
                radius_ratio: 1.2,
            },
            Elbow::Smooth { radius_ratio: 1.2 },
            Elbow::SemiRigid { radius_ratio: 1.2 },
            Elbow::Mitred,
            Elbow::RectangularMitred {
                height_by_width: 1.5,
            },
        ]
    }

    proptest! {
        #[test]
        fn a_sharper_turn_costs_more(angle in 0.0..89.0f64, reynolds in 1e3..1e6f64) {
            for elbow in every_kind() {
                let less = elbow.loss(angle, reynolds).unwrap().coefficient;
                let more = elbow.loss(angle + 1.0, reynolds).unwrap().coefficient;
                prop_assert!(less >= 0.0 && more > less, "{elbow:?}");
            }
        }
    }

    #[test]
    fn no_turn_costs_nothing() {
        for elbow in every_kind() {
            assert_eq!(elbow.loss(0.0, 1e5).unwrap().coefficient, 0.0);
        }
    }

    #[test]
    fn refuses_outside_the_tables() {
        assert!(
            Elbow::DieStamped { diameter: 0.07 }
                .loss(90.0, 1e5)
                .is_err()
        );
        assert!(Elbow::DieStamped { diameter: 0.5 }.loss(90.0, 1e5).is_ok());
        assert!(
            Elbow::DieStamped { diameter: f64::NAN }
                .loss(90.0, 1e5)
                .is_err()
        );
        assert!(
            Elbow::Pleated { diameter: f64::NAN }
                .loss(90.0, 1e5)
                .is_err()
        );
        assert!(Elbow::Smooth { radius_ratio: 0.4 }.loss(90.0, 1e5).is_err());
        assert!(Elbow::Mitred.loss(91.0, 1e5).is_err());
        assert!(Elbow::Mitred.loss(90.0, 0.0).is_err());
        let six = Elbow::Gored {
            gores: 6,
            radius_ratio: 1.0,
        };
        assert_eq!(
            six.loss(90.0, 1e5).unwrap_err().to_string(),
            "6 gores of an elbow; accepted: 3, 4 or 5"
        );
    }
}
