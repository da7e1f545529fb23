//! Ends of a run and taps in a moving main: total and static pressure kept apart.
//!
//! Fitting coefficients are losses of *total* pressure, but the nodes of a network are *static*
//! pressures, and a [`Run`](crate::Run) lies between two of them. The velocity pressure
//! q = ½ρV² of the run itself must therefore be counted once where air starts to move and is won
//! back, or lost, where it stops:
//!
//! | end of the run | air enters the run here | air leaves the run here |
//! |---|---|---|
//! | collar: node is the static pressure in this same duct | 0 | 0 |
//! | still air (room, outdoors, wide plenum) | 1 + C_entry | C_exit − 1 |
//! | tap in a main | 1 + C_entry | 0 |
//!
//! Air that enters from still air loses C_entry q of total pressure and another q of static
//! pressure turns into motion. Air that discharges freely loses its q (C_exit = 1): its static
//! pressure is already that of the still air, so that nothing more is lost. The same holds for a
//! jet into a main. The [`EndLoss`] of both ends and the fittings between add up with
//! [`losses_between`].
//!
//! What a tap feels of the speed of the *main* is not a loss but an offset of the pressure at its
//! end, see [`TapEnd`]; and what the main feels of the air that joins or leaves is a change of its
//! own static pressure, see [`MainTap::pressure_change_joining`] and [`MainTap::pressure_change_leaving`]. Both
//! depend on the flow in another element; they are small (12 Pa at 4.5 m/s), so that a network
//! solver may take them from the last pass.
//!
//! A take-off whose total-pressure coefficient C_b on the *branch* velocity is known (from
//! [`junction`](crate::junction)) is the same thing with C_entry = C_b and an end that
//! [faces upstream](TapEnd::FacingUpstream), because its total pressure starts at p + q_main.

use crate::error::{Error, require, require_not_negative};
use crate::section::velocity_pressure;

/// Losses at one end of a run between static pressures (-), on the velocity in the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndLoss {
    /// When air enters the run at this end.
    inflow: f64,
    /// When air leaves the run at this end.
    outflow: f64,
}

impl EndLoss {
    /// The node is the static pressure in this same duct: nothing is gained or lost.
    pub fn collar() -> Self {
        Self {
            inflow: 0.0,
            outflow: 0.0,
        }
    }

    /// The run ends in still air. `entry` and `exit` are coefficients of total pressure on the
    /// velocity in the run, for instance 0.5 and 1 for a plain duct end in a wall.
    ///
    /// # Errors
    /// Refuses an entry loss below 0 and an exit loss below 1. (A diffuser that wins pressure back
    /// is an [expansion](crate::transition::expansion) followed by the exit on its wide end.)
    pub fn still_air(entry: f64, exit: f64) -> Result<Self, Error> {
        require_not_negative("entry loss coefficient [-]", entry)?;
        require("exit loss coefficient [-]", exit, "1 or more", exit >= 1.0)?;
        Ok(Self {
            inflow: 1.0 + entry,
            outflow: exit - 1.0,
        })
    }

    /// The run is tapped into a main whose static pressure is the node. `entry` is the coefficient
    /// when air leaves the main into the run; air that joins the main loses exactly its velocity
    /// pressure.
    ///
    /// # Errors
    /// Refuses an entry loss below 0.
    pub fn main(entry: f64) -> Result<Self, Error> {
        Self::still_air(entry, 1.0)
    }

    /// Loss when air enters the run at this end (-).
    pub fn inflow(&self) -> f64 {
        self.inflow
    }

    /// Loss when air leaves the run at this end (-).
    pub fn outflow(&self) -> f64 {
        self.outflow
    }
}

/// Sums of the losses of a run from `start` to `finish` in (forward, reverse) flow, as
/// [`Run::with_ends`](crate::Run::with_ends) takes them. `fittings` are the sums of the coefficients of
/// elbows, dampers and the like between the ends, in forward and in reverse flow.
///
/// ```
/// use ducts::tap::{EndLoss, losses_between};
/// // From outdoors through a hood and an elbow to the collar of the ventilator.
/// let outdoors = EndLoss::still_air(2.5, 2.0)?;
/// let losses = losses_between(outdoors, (0.25, 0.25), EndLoss::collar());
/// assert_eq!(losses, (1.0 + 2.5 + 0.25, 0.25 + 2.0 - 1.0));
/// # Ok::<(), ducts::Error>(())
/// ```
pub fn losses_between(start: EndLoss, fittings: (f64, f64), finish: EndLoss) -> (f64, f64) {
    (
        start.inflow + fittings.0 + finish.outflow,
        finish.inflow + fittings.1 + start.outflow,
    )
}

/// How the end of a branch stands in the stream of a main.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TapEnd {
    /// Flush with the wall of the main: feels its static pressure.
    Flush,
    /// An elbow whose mouth faces downstream, in its own wake: feels less than static pressure.
    FacingDownstream,
    /// A mouth that faces the stream: feels its total pressure.
    FacingUpstream,
}

/// Suction of the wake behind a mouth that faces downstream, by the velocity pressure of the main
/// (-). From memory.
pub const WAKE_SUCTION: f64 = 0.4;

/// Standard deviation of [`WAKE_SUCTION`] (-). From memory.
pub const WAKE_SUCTION_STANDARD_DEVIATION: f64 = 0.2;

impl TapEnd {
    /// Pressure at the end of the branch above the static pressure of the main, by the velocity
    /// pressure of the main (-): 0 flush, −0.4 facing downstream, +1 facing upstream.
    pub fn offset_coefficient(self) -> f64 {
        match self {
            TapEnd::Flush => 0.0,
            TapEnd::FacingDownstream => -WAKE_SUCTION,
            TapEnd::FacingUpstream => 1.0,
        }
    }

    /// Pressure (Pa) at the end of the branch above the static pressure of the main, whose
    /// velocity (m/s) is that at the tap.
    ///
    /// ```
    /// use ducts::TapEnd;
    /// let offset = TapEnd::FacingUpstream.offset(4.0, 1.2);
    /// assert!((offset - 9.6).abs() < 1e-12);
    /// ```
    pub fn offset(self, main_velocity: f64, density: f64) -> f64 {
        self.offset_coefficient() * velocity_pressure(main_velocity, density)
    }
}

/// The streams at a tap in a main of constant area, all flows in m³/s and not negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MainTap {
    /// Area of the main (m²).
    main_area: f64,
    /// Area of the branch (m²).
    branch_area: f64,
    /// cos θ.
    cosine: f64,
}

impl MainTap {
    /// Tap of a branch in a main (areas in m²). `angle` (°) is that between the jet of a joining
    /// branch and the direction of the main: 0 along it, 90 square, 180 against it.
    ///
    /// # Errors
    /// Refuses an area that is not above 0 and an angle outside 0 … 180°.
    pub fn new(main_area: f64, branch_area: f64, angle: f64) -> Result<Self, Error> {
        crate::error::require_positive("area of the main [m²]", main_area)?;
        crate::error::require_positive("area of the branch [m²]", branch_area)?;
        require(
            "angle of the jet to the main [°]",
            angle,
            "0 to 180",
            (0.0..=180.0).contains(&angle),
        )?;
        Ok(Self {
            main_area,
            branch_area,
            cosine: angle.to_radians().cos(),
        })
    }

    /// Change of static pressure p₂ − p₁ (Pa) along the main where `branch_flow` joins `main_flow`
    /// (before the tap): the momentum balance without wall friction,
    /// `p₂ − p₁ = ρ [V₁² − V₂² + (Q_b/A) V_b cos θ]`.
    ///
    /// ```
    /// use ducts::{MainTap, Section};
    /// let main = Section::round(0.2)?;
    /// let branch = Section::round(0.125)?;
    /// let tap = MainTap::new(main.area(), branch.area(), 45.0)?;
    /// assert!((tap.pressure_change_joining(0.13, 0.05, 1.2) + 13.3434).abs() < 1e-4);
    /// # Ok::<(), ducts::Error>(())
    /// ```
    pub fn pressure_change_joining(&self, main_flow: f64, branch_flow: f64, density: f64) -> f64 {
        let before = main_flow / self.main_area;
        let after = (main_flow + branch_flow) / self.main_area;
        let jet = branch_flow / self.branch_area;
        density
            * (before * before - after * after + branch_flow / self.main_area * jet * self.cosine)
    }

    /// Change of static pressure p₂ − p₁ (Pa) along the main where `branch_flow` leaves `main_flow`
    /// (before the tap): static regain less the loss of the run,
    /// `p₂ − p₁ = ½ρ (V₁² − V₂²) − 0.4 x² ½ρV₁²` with x = Q_b/Q₁ (ASHRAE Fundamentals 2021,
    /// chapter 21, equation 41; run loss of a narrow branch by Levin and Idelchik, as in Crane TP-410). As a momentum balance it
    /// says that the leaving air takes (1 − 0.3 x) V₁ along the main with it. The angle plays no
    /// part.
    pub fn pressure_change_leaving(&self, main_flow: f64, branch_flow: f64, density: f64) -> f64 {
        let before = main_flow / self.main_area;
        let branch = branch_flow / self.main_area;
        let after = before - branch;
        0.5 * density * (before * before - after * after - 0.4 * branch * branch)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_jet_along_the_main_helps_most(
            main in 0.0..0.5f64, branch in 0.001..0.2f64, angle in 0.0..179.0f64,
        ) {
            let tap = |angle| MainTap::new(0.03, 0.012, angle).unwrap();
            let here = tap(angle).pressure_change_joining(main, branch, 1.2);
            prop_assert!(tap(angle + 1.0).pressure_change_joining(main, branch, 1.2) < here);
        }

        #[test]
        fn leaving_air_lets_the_static_pressure_rise_but_not_the_total(
            main in 0.01..0.5f64, share in 0.001..1.0f64,
        ) {
            let tap = MainTap::new(0.03, 0.012, 90.0).unwrap();
            let rise = tap.pressure_change_leaving(main, share * main, 1.2);
            let (before, after) = (main / 0.03, main * (1.0 - share) / 0.03);
            prop_assert!(rise > 0.0);
            prop_assert!(rise < 0.6 * (before * before - after * after));
            // The momentum form: axial speed (1 − 0.3 x) V₁ of the leaving air.
            let axial = (1.0 - 0.3 * share) * before;
            let momentum = 1.2
                * (before * before - after * after - share * before * axial);
            // ρ(V₁² − V₂² − x V₁ V_x) and the energy form agree identically.
            prop_assert!((momentum - rise).abs() < 1e-9 * (1.0 + rise));
        }
    }

    #[test]
    fn ends_follow_the_table_of_the_module() {
        let room = EndLoss::still_air(0.5, 1.0).unwrap();
        let main = EndLoss::main(0.5).unwrap();
        assert_eq!((room.inflow(), room.outflow()), (1.5, 0.0));
        assert_eq!(room, main);
        assert_eq!(
            losses_between(room, (2.0, 3.0), EndLoss::collar()),
            (3.5, 3.0)
        );
        assert_eq!(
            losses_between(EndLoss::collar(), (2.0, 3.0), room),
            (2.0, 4.5)
        );
        assert!(EndLoss::still_air(-0.1, 1.0).is_err());
        assert!(EndLoss::still_air(0.5, 0.9).is_err());
    }

    #[test]
    fn offsets_of_the_reference_values() {
        // Gain over a flush tap at k = 0.4, and over facing upstream (airflow reference sheet).
        for (velocity, gain, over_upstream) in [
            (2.5, 1.5, 5.0),
            (4.0, 3.8, 13.0),
            (4.57, 5.0, 18.0),
            (6.0, 8.6, 30.0),
        ] {
            let wake = TapEnd::FacingDownstream.offset(velocity, 1.2);
            let upstream = TapEnd::FacingUpstream.offset(velocity, 1.2);
            assert!((-wake - gain).abs() < 0.05, "{velocity}");
            assert!((upstream - wake - over_upstream).abs() < 0.5, "{velocity}");
            assert_eq!(TapEnd::Flush.offset(velocity, 1.2), 0.0);
        }
    }

    #[test]
    fn refuses_impossible_taps() {
        assert!(MainTap::new(0.0, 0.1, 90.0).is_err());
        assert!(MainTap::new(0.1, 0.1, 200.0).is_err());
    }
}
