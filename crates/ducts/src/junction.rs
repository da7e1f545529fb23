//! Wyes and tees on a main of constant size, in the general forms of Levin and Idelchik.
//!
//! All coefficients here are losses of *total* pressure on the velocity of the *combined* stream,
//! `Δp_t = C ½ρV_c²`, as functions of x = branch flow by combined flow, the area ratio A_b/A_c and
//! the angle α between branch and main (0° parallel, 90° square). [`on_branch`] moves a coefficient
//! to the velocity in the branch. They may be negative: the faster stream drags the slower along.
//!
//! The forms are the ones also printed in Crane TP-410; a change of the size of the main counts
//! separately as a [transition](crate::transition).

use crate::error::{Error, require};
use crate::interpolate::clamped;

/// Geometry of a junction: branch by main area, and angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Junction {
    area_ratio: f64,
    angle: f64,
}

impl Junction {
    /// Junction with `area_ratio` = A_b/A_c and `angle` (°).
    ///
    /// # Errors
    /// Refuses an area ratio outside 0.01 … 1 and an angle outside 0 … 90°.
    pub fn new(area_ratio: f64, angle: f64) -> Result<Self, Error> {
        require(
            "branch by main area of a junction [-]",
            area_ratio,
            "0.01 to 1",
            (0.01..=1.0).contains(&area_ratio),
        )?;
        require(
            "angle of a junction [°]",
            angle,
            "0 to 90",
            (0.0..=90.0).contains(&angle),
        )?;
        Ok(Self { area_ratio, angle })
    }

    /// Branch by main area A_b/A_c (-).
    pub fn area_ratio(&self) -> f64 {
        self.area_ratio
    }

    /// Angle between branch and main (°).
    pub fn angle(&self) -> f64 {
        self.angle
    }

    /// Main to branch when the stream divides: `A' [1 + r² − 2 r cos α]` with r = V_b/V_c.
    ///
    /// Below 75° A' falls with the flow ratio: the larger of 1.1 − 0.7 x and 0.85 for a branch of up
    /// to 0.35 of the main's area, the larger of 1 − 0.6 x and 0.6 for a larger one. From 75° on A'
    /// is 1 up to r = 0.8 and 0.9 from r = 1 (from memory), with a smooth passage; that a wide square branch may
    /// lose less than this (Crane TP-410 with its factor 0.3 on r²) is left out.
    ///
    /// # Errors
    /// Refuses a flow ratio outside 0 … 1, as all the functions of this type do.
    pub fn diverging_branch(&self, flow_ratio: f64) -> Result<f64, Error> {
        check(flow_ratio)?;
        let velocity = flow_ratio / self.area_ratio;
        let correction = if self.angle >= 75.0 {
            clamped(&[(0.6, 1.0), (0.8, 1.0), (1.0, 0.9), (1.2, 0.9)], velocity)
        } else if self.area_ratio <= 0.35 {
            (1.1 - 0.7 * flow_ratio).max(0.85)
        } else {
            (1.0 - 0.6 * flow_ratio).max(0.6)
        };
        Ok(correction * (1.0 + velocity * velocity - 2.0 * velocity * self.cosine()))
    }

    /// Main through the junction when the stream divides: `0.4 x²` for a branch of up to 0.4 of
    /// the main's area; for a larger one `2 (2x − 1) x²` up to x = ½ and `0.3 (2x − 1) x²` above.
    ///
    /// # Errors
    /// See [`diverging_branch`](Self::diverging_branch).
    pub fn diverging_run(&self, flow_ratio: f64) -> Result<f64, Error> {
        check(flow_ratio)?;
        let factor = if self.area_ratio <= 0.4 {
            0.4
        } else if flow_ratio <= 0.5 {
            2.0 * (2.0 * flow_ratio - 1.0)
        } else {
            0.3 * (2.0 * flow_ratio - 1.0)
        };
        Ok(factor * flow_ratio * flow_ratio)
    }

    /// Branch to main when streams join:
    /// `A [1 + (x A_c/A_b)² − 2 (1 − x)² − 2 x² (A_c/A_b) cos α]`; A = 1 for a branch of up to 0.35
    /// of the main's area, otherwise the larger of 0.9 (1 − x) and 0.55.
    ///
    /// # Errors
    /// See [`diverging_branch`](Self::diverging_branch).
    pub fn converging_branch(&self, flow_ratio: f64) -> Result<f64, Error> {
        check(flow_ratio)?;
        let rest = 1.0 - flow_ratio;
        let velocity = flow_ratio / self.area_ratio;
        let correction = if self.area_ratio <= 0.35 {
            1.0
        } else {
            (0.9 * rest).max(0.55)
        };
        Ok(correction
            * (1.0 + velocity * velocity
                - 2.0 * rest * rest
                - 2.0 * flow_ratio * velocity * self.cosine()))
    }

    /// Main through the junction when streams join: `1 − (1 − x)² − 2 x² (A_c/A_b) cos α` up to
    /// 60°, `1.55 x − x²` at 90°, linear in the angle between.
    ///
    /// # Errors
    /// See [`diverging_branch`](Self::diverging_branch).
    pub fn converging_run(&self, flow_ratio: f64) -> Result<f64, Error> {
        check(flow_ratio)?;
        let oblique = |cosine: f64| {
            flow_ratio * (2.0 - flow_ratio)
                - 2.0 * flow_ratio * flow_ratio / self.area_ratio * cosine
        };
        if self.angle <= 60.0 {
            return Ok(oblique(self.cosine()));
        }
        let square = flow_ratio * (1.55 - flow_ratio);
        let share = (self.angle - 60.0) / 30.0;
        Ok(oblique(0.5) + share * (square - oblique(0.5)))
    }

    fn cosine(&self) -> f64 {
        self.angle.to_radians().cos()
    }
}

/// A take-off from a supply main, by its make. The shape of its loss is that of
/// [`Junction::diverging_branch`]; its size is scaled to the coefficient that ASHRAE prints at one
/// point (branch with 0.2 of the flow through 0.25 of the area: V_b/V_c = 0.8), which shows how
/// much a good fitting saves (Fundamentals 2021, chapter 21, tables 10 and 11).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TakeOff {
    /// 45° wye with conical branch and tapered body (SD5-2).
    ConicalWye,
    /// 45° wye with straight body and reducer (SD5-3).
    StraightWye,
    /// Tee with 45° entry (SD5-12).
    AngledEntryTee,
    /// 45° wye (SD5-1).
    Wye,
    /// 45° wye followed by a 45° elbow, so that the branch leaves squarely (SD5-4).
    WyeWithElbow,
    /// Tee with conical branch (SD5-11).
    ConicalTee,
    /// Tee with conical branch on a tapered body (SD5-10).
    TaperedConicalTee,
    /// Plain 90° tee (SD5-9).
    PlainTee,
}

impl TakeOff {
    /// Every make, best first.
    pub const ALL: [TakeOff; 8] = [
        TakeOff::ConicalWye,
        TakeOff::StraightWye,
        TakeOff::AngledEntryTee,
        TakeOff::Wye,
        TakeOff::WyeWithElbow,
        TakeOff::ConicalTee,
        TakeOff::TaperedConicalTee,
        TakeOff::PlainTee,
    ];

    /// Angle (°) whose form describes the make.
    pub fn angle(self) -> f64 {
        match self {
            TakeOff::ConicalTee | TakeOff::TaperedConicalTee | TakeOff::PlainTee => 90.0,
            _ => 45.0,
        }
    }

    /// The printed coefficient on the *branch* velocity at V_b/V_c = 0.8.
    pub fn printed_branch_loss(self) -> f64 {
        match self {
            TakeOff::ConicalWye => 0.45,
            TakeOff::StraightWye => 0.50,
            TakeOff::AngledEntryTee => 0.64,
            TakeOff::Wye => 0.70,
            TakeOff::WyeWithElbow => 0.74,
            TakeOff::ConicalTee => 0.87,
            TakeOff::TaperedConicalTee => 1.10,
            TakeOff::PlainTee => 1.80,
        }
    }

    /// Main to branch, on the velocity of the combined stream (see [`Junction`]).
    ///
    /// # Errors
    /// Refuses an area ratio outside 0.01 … 1 and a flow ratio outside 0 … 1.
    pub fn branch_loss(self, flow_ratio: f64, area_ratio: f64) -> Result<f64, Error> {
        const PRINTED_VELOCITY_RATIO: f64 = 0.8;
        let printed = self.printed_branch_loss() * PRINTED_VELOCITY_RATIO * PRINTED_VELOCITY_RATIO;
        let general = Junction::new(0.25, self.angle())?.diverging_branch(0.2)?;
        let here = Junction::new(area_ratio, self.angle())?.diverging_branch(flow_ratio)?;
        Ok(printed / general * here)
    }
}

/// Moves a coefficient from the velocity of the combined stream to that of the branch:
/// `C_b = C (V_c/V_b)²` with V_b/V_c = x/(A_b/A_c) (ASHRAE Fundamentals 2021, chapter 21,
/// equation 33).
///
/// # Errors
/// Refuses a velocity ratio V_b/V_c that is not above 0.
pub fn on_branch(coefficient: f64, velocity_ratio: f64) -> Result<f64, Error> {
    require(
        "branch by combined velocity [-]",
        velocity_ratio,
        "above 0",
        velocity_ratio > 0.0,
    )?;
    Ok(coefficient / (velocity_ratio * velocity_ratio))
}

fn check(flow_ratio: f64) -> Result<(), Error> {
    require(
        "branch by combined flow [-]",
        flow_ratio,
        "0 to 1",
        (0.0..=1.0).contains(&flow_ratio),
    )?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn streams_that_divide_never_gain_together(
            x in 0.0..=1.0f64, area in 0.05..=0.4f64, angle in 0.0..=90.0f64,
        ) {
            let junction = Junction::new(area, angle).unwrap();
            let energy = x * junction.diverging_branch(x).unwrap()
                + (1.0 - x) * junction.diverging_run(x).unwrap();
            prop_assert!(energy >= 0.0);
        }

        #[test]
        fn coefficients_are_continuous(
            x in 0.0..0.999f64, area in 0.1..=1.0f64, angle in 0.0..=90.0f64,
        ) {
            let junction = Junction::new(area, angle).unwrap();
            for law in [
                Junction::diverging_branch,
                Junction::diverging_run,
                Junction::converging_branch,
                Junction::converging_run,
            ] {
                let step = law(&junction, x + 1e-6).unwrap() - law(&junction, x).unwrap();
                prop_assert!(step.abs() < 1e-3);
            }
        }
    }

    #[test]
    fn a_take_off_meets_its_printed_value() {
        for make in TakeOff::ALL {
            let on_main = make.branch_loss(0.2, 0.25).unwrap();
            let got = on_branch(on_main, 0.8).unwrap();
            assert!((got - make.printed_branch_loss()).abs() < 1e-12, "{make:?}");
        }
    }

    #[test]
    fn refuses_impossible_junctions() {
        assert!(Junction::new(1.2, 45.0).is_err());
        assert!(Junction::new(0.5, 120.0).is_err());
        let junction = Junction::new(0.5, 45.0).unwrap();
        assert!(junction.converging_run(-0.1).is_err());
        assert!(on_branch(1.0, 0.0).is_err());
    }
}
