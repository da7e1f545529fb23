//! Balancing damper: a round butterfly blade.

use crate::error::{Error, require};
use crate::interpolate::MonotoneCubic;

/// Loss coefficient of a shut damper where nothing is known about how well it seals.
pub const TYPICAL_SHUT_LOSS: f64 = 1000.0;

/// Angle (°) from open and coefficient on the duct velocity. Thin round plate: geometric means of
/// the set of Idelchik's Handbook of Hydraulic Resistance (5 to 70°) and of the older ventilation
/// handbooks (0 to 60°), which lie within 8 % of the mean; partly from memory.
const TABLE: [(f64, f64); 9] = [
    (0.0, 0.20),
    (5.0, 0.24),
    (10.0, 0.52),
    (20.0, 1.52),
    (30.0, 4.195),
    (40.0, 10.9),
    (50.0, 30.75),
    (60.0, 112.9),
    (70.0, 751.0),
];

/// A round butterfly damper that leaks when shut.
///
/// The coefficient rises strictly and without kink from open (0°) to shut (90°). The logarithm of
/// the tables' coefficient is interpolated monotonically and continued straight above 70°;
/// `C = (C_table⁻² + C_shut⁻²)^−½` lets it approach the leaking blade. Up to 60° a shut loss of 1000
/// changes the table by less than 1 %.
///
/// ```
/// let damper = ducts::ButterflyDamper::new(1000.0)?;
/// assert!((damper.loss(30.0)? - 4.2).abs() < 0.02);
/// assert!((damper.angle(4.2)? - 30.0).abs() < 0.05);
/// # Ok::<(), ducts::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ButterflyDamper {
    logarithm: MonotoneCubic,
    shut_loss: f64,
}

impl ButterflyDamper {
    /// Damper with `shut_loss`, the coefficient when shut: 500 to 2000 for ordinary dampers.
    ///
    /// # Errors
    /// Refuses a shut loss outside 100 … 1e6.
    pub fn new(shut_loss: f64) -> Result<Self, Error> {
        require(
            "loss coefficient of a shut damper [-]",
            shut_loss,
            "100 to 1000000",
            (100.0..=1e6).contains(&shut_loss),
        )?;
        Ok(Self {
            logarithm: MonotoneCubic::new(&TABLE.map(|(angle, loss)| (angle, loss.ln()))),
            shut_loss,
        })
    }

    /// Loss coefficient on the duct velocity at `angle` (°) from open.
    ///
    /// # Errors
    /// Refuses an angle outside 0 … 90°.
    pub fn loss(&self, angle: f64) -> Result<f64, Error> {
        Ok(self.loss_with_slope(angle)?.0)
    }

    /// Loss coefficient and its derivative by the angle (1/°).
    ///
    /// # Errors
    /// Refuses an angle outside 0 … 90°.
    pub fn loss_with_slope(&self, angle: f64) -> Result<(f64, f64), Error> {
        require(
            "damper angle [°]",
            angle,
            "0 (open) to 90 (shut)",
            (0.0..=90.0).contains(&angle),
        )?;
        Ok(self.unchecked(angle))
    }

    /// Angle (°) at which the damper has a loss coefficient, the inverse of [`loss`](Self::loss).
    ///
    /// # Errors
    /// Refuses a coefficient below that of the open or above that of the shut damper.
    pub fn angle(&self, loss: f64) -> Result<f64, Error> {
        let (open, shut) = (self.unchecked(0.0).0, self.unchecked(90.0).0);
        require(
            "damper loss coefficient [-]",
            loss,
            "from that of the open to that of the shut damper",
            (open..=shut).contains(&loss),
        )?;
        let target = loss.ln();
        let (mut low, mut high) = (0.0, 90.0);
        let mut angle = 45.0;
        for _ in 0..100 {
            let (value, slope) = self.unchecked(angle);
            let excess = value.ln() - target;
            if excess > 0.0 {
                high = angle;
            } else {
                low = angle;
            }
            let newton = angle - excess * value / slope;
            let next = if newton >= low && newton <= high {
                newton
            } else {
                0.5 * (low + high)
            };
            let step = (next - angle).abs();
            angle = next;
            if step <= 1e-13 * (1.0 + angle) {
                break;
            }
        }
        Ok(angle)
    }

    fn unchecked(&self, angle: f64) -> (f64, f64) {
        let [_, (last, last_value, last_slope)] = self.logarithm.ends();
        let (logarithm, slope) = if angle <= last {
            self.logarithm.at(angle)
        } else {
            (last_value + last_slope * (angle - last), last_slope)
        };
        let table = logarithm.exp();
        let share = table / self.shut_loss;
        let under = 1.0 + share * share;
        (table / under.sqrt(), slope * table / (under * under.sqrt()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn closing_costs_more_without_kink(angle in 0.01..89.9f64, shut in 100.0..1e5f64) {
            let damper = ButterflyDamper::new(shut).unwrap();
            let (loss, slope) = damper.loss_with_slope(angle).unwrap();
            let step = 1e-5;
            let above = damper.loss(angle + step).unwrap();
            let below = damper.loss(angle - step).unwrap();
            prop_assert!(below < loss && loss < above);
            let difference = (above - below) / (2.0 * step);
            prop_assert!((difference - slope).abs() < 1e-4 * slope + 1e-6 * loss);
        }

        #[test]
        fn angle_undoes_loss(angle in 0.0..80.0f64, shut in 100.0..1e5f64) {
            let damper = ButterflyDamper::new(shut).unwrap();
            let loss = damper.loss(angle).unwrap();
            let back = damper.angle(loss).unwrap();
            prop_assert!((damper.loss(back).unwrap() / loss - 1.0).abs() < 1e-10);
            // Near open and near shut the coefficient hardly tells the angle.
            if (1.0..60.0).contains(&angle) {
                prop_assert!((back - angle).abs() < 1e-10, "{angle} {back}");
            }
        }
    }

    #[test]
    fn approaches_the_leaking_blade() {
        for shut in [200.0, 1000.0, 5000.0] {
            let damper = ButterflyDamper::new(shut).unwrap();
            let got = damper.loss(90.0).unwrap();
            assert!(got < shut && got > 0.97 * shut, "{got}");
        }
    }

    #[test]
    fn refuses_what_the_blade_cannot_do() {
        let damper = ButterflyDamper::new(TYPICAL_SHUT_LOSS).unwrap();
        assert!(damper.loss(91.0).is_err());
        assert!(damper.angle(0.1).is_err());
        assert!(damper.angle(1001.0).is_err());
        assert!(ButterflyDamper::new(1.0).is_err());
    }
}
