//! A duct run: friction and constant losses in series, between two static pressures.

use crate::error::{Error, require_not_negative, require_positive};
use crate::friction::Friction;
use crate::section::Section;
use crate::tap::{EndLoss, losses_between};

/// Resistance of a run of duct of one size between two *static* pressures.
///
/// `Δp = ½ ρ V² (m f L/D_h + K)` with the friction factor f of [`Friction`], a multiplier m for
/// what makes the duct longer or rougher than it looks (compressed flexible duct), and the sum K
/// of all loss coefficients on the velocity in this duct. K may differ for forward and reverse
/// flow, because an inlet is not an outlet. The pressure drop rises strictly with the flow and is
/// continuously differentiable, at rest too, where friction is laminar; its inverse is exact.
///
/// ```
/// use ducts::{Run, Section};
/// // 15 m of 150 mm galvanised duct, elbows and hoods with a loss of 3 velocity pressures.
/// let run = Run::new(Section::round(0.15)?, 15.0, 0.09e-3)?.with_losses(3.0, 3.0)?;
/// let pressure_drop = run.pressure_drop(0.05, 1.204, 1.814e-5);
/// assert!((pressure_drop - 26.0).abs() < 1.0);
/// let (volume_flow, _) = run.volume_flow(pressure_drop, 1.204, 1.814e-5);
/// assert!((volume_flow - 0.05).abs() < 1e-14);
/// # Ok::<(), ducts::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    section: Section,
    length: f64,
    roughness: f64,
    friction_multiplier: f64,
    loss_forward: f64,
    loss_reverse: f64,
    friction: Friction,
    /// `m L/D_h`.
    length_ratio: f64,
}

impl Run {
    /// A straight duct of `length` (m) and absolute `roughness` (m), without other losses.
    ///
    /// # Errors
    /// Refuses a length that is not above 0, and a roughness outside 0 … 0.05 hydraulic diameters.
    pub fn new(section: Section, length: f64, roughness: f64) -> Result<Self, Error> {
        require_positive("duct length [m]", length)?;
        let friction = Friction::new(roughness / section.hydraulic_diameter())?;
        Ok(Self {
            section,
            length,
            roughness,
            friction_multiplier: 1.0,
            loss_forward: 0.0,
            loss_reverse: 0.0,
            friction,
            length_ratio: length / section.hydraulic_diameter(),
        })
    }

    /// The same run with its friction multiplied, for instance by a
    /// [compression factor](crate::flexible::compression_factor).
    ///
    /// # Errors
    /// Refuses a multiplier that is not above 0.
    pub fn with_friction_multiplier(self, friction_multiplier: f64) -> Result<Self, Error> {
        require_positive("friction multiplier [-]", friction_multiplier)?;
        Ok(Self {
            friction_multiplier,
            length_ratio: friction_multiplier * self.length / self.section.hydraulic_diameter(),
            ..self
        })
    }

    /// The same run with the sums of its loss coefficients (-) in forward and reverse flow, on the
    /// velocity in this duct, counted between the static pressures at its two ends.
    ///
    /// # Errors
    /// Refuses a sum below 0.
    pub fn with_losses(self, loss_forward: f64, loss_reverse: f64) -> Result<Self, Error> {
        require_not_negative("loss coefficient in forward flow [-]", loss_forward)?;
        require_not_negative("loss coefficient in reverse flow [-]", loss_reverse)?;
        Ok(Self {
            loss_forward,
            loss_reverse,
            ..self
        })
    }

    /// The same run with friction and losses multiplied alike, as a crushed or an uncommonly
    /// straight duct has them.
    ///
    /// # Errors
    /// Refuses a factor that is not above 0.
    pub fn with_resistance_factor(self, factor: f64) -> Result<Self, Error> {
        if factor == 1.0 {
            return Ok(self);
        }
        self.with_friction_multiplier(factor * self.friction_multiplier)?
            .with_losses(factor * self.loss_forward, factor * self.loss_reverse)
    }

    /// The same run between two ends, with the sums of the coefficients (-) of its `fittings` in
    /// (forward, reverse) flow between them (see [`tap`](crate::tap) for what an end counts).
    ///
    /// # Errors
    /// Refuses a sum below 0.
    pub fn with_ends(
        self,
        start: EndLoss,
        fittings: (f64, f64),
        finish: EndLoss,
    ) -> Result<Self, Error> {
        let (forward, reverse) = losses_between(start, fittings, finish);
        self.with_losses(forward, reverse)
    }

    /// Cross-section.
    pub fn section(&self) -> Section {
        self.section
    }

    /// Length (m).
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Absolute roughness (m).
    pub fn roughness(&self) -> f64 {
        self.roughness
    }

    /// Multiplier of the friction (-).
    pub fn friction_multiplier(&self) -> f64 {
        self.friction_multiplier
    }

    /// Sum of the loss coefficients in forward flow (-).
    pub fn loss_forward(&self) -> f64 {
        self.loss_forward
    }

    /// Sum of the loss coefficients in reverse flow (-).
    pub fn loss_reverse(&self) -> f64 {
        self.loss_reverse
    }

    /// Reynolds number `V D_h ρ/μ`, without sign.
    pub fn reynolds(&self, volume_flow: f64, density: f64, viscosity: f64) -> f64 {
        volume_flow.abs() / self.flow_scale(density, viscosity)
    }

    /// Pressure drop (Pa) of `volume_flow` (m³/s) at `density` (kg/m³) and dynamic `viscosity`
    /// (Pa·s); both have the sign of the flow.
    pub fn pressure_drop(&self, volume_flow: f64, density: f64, viscosity: f64) -> f64 {
        self.pressure_drop_with_slope(volume_flow, density, viscosity)
            .0
    }

    /// Derivative of the pressure drop by the volume flow (Pa/(m³/s)), always above 0.
    pub fn slope(&self, volume_flow: f64, density: f64, viscosity: f64) -> f64 {
        self.pressure_drop_with_slope(volume_flow, density, viscosity)
            .1
    }

    /// [`pressure_drop`](Self::pressure_drop) and [`slope`](Self::slope) together.
    pub fn pressure_drop_with_slope(
        &self,
        volume_flow: f64,
        density: f64,
        viscosity: f64,
    ) -> (f64, f64) {
        let flow_scale = self.flow_scale(density, viscosity);
        let pressure_scale = self.pressure_scale(density, viscosity);
        let reynolds = volume_flow.abs() / flow_scale;
        let loss = self.loss(volume_flow);
        let (hagen, hagen_slope) = self.friction.hagen(reynolds);
        let drop = self.length_ratio * hagen + 0.5 * loss * reynolds * reynolds;
        let slope = self.length_ratio * hagen_slope + loss * reynolds;
        (
            (pressure_scale * drop).copysign(volume_flow),
            pressure_scale * slope / flow_scale,
        )
    }

    /// Volume flow (m³/s) that a static pressure difference (Pa) drives, and its derivative by
    /// the pressure difference ((m³/s)/Pa). Needs no first guess and is exact to rounding.
    pub fn volume_flow(
        &self,
        pressure_difference: f64,
        density: f64,
        viscosity: f64,
    ) -> (f64, f64) {
        let flow_scale = self.flow_scale(density, viscosity);
        let pressure_scale = self.pressure_scale(density, viscosity);
        let (reynolds, slope) = self.friction.reynolds(
            self.length_ratio,
            self.loss(pressure_difference),
            pressure_difference.abs() / pressure_scale,
        );
        (
            (flow_scale * reynolds).copysign(pressure_difference),
            flow_scale / (pressure_scale * slope),
        )
    }

    fn loss(&self, sign: f64) -> f64 {
        if sign < 0.0 {
            self.loss_reverse
        } else {
            self.loss_forward
        }
    }

    /// Volume flow at a Reynolds number of 1.
    fn flow_scale(&self, density: f64, viscosity: f64) -> f64 {
        self.section.area() * viscosity / (density * self.section.hydraulic_diameter())
    }

    /// `ρ ν²/D_h²`, the pressure that makes Δp dimensionless.
    fn pressure_scale(&self, density: f64, viscosity: f64) -> f64 {
        let momentum = viscosity / self.section.hydraulic_diameter();
        momentum * momentum / density
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const DENSITY: f64 = 1.2;
    const VISCOSITY: f64 = 1.81e-5;

    prop_compose! {
        fn any_run()(
            diameter in 0.05..0.5f64,
            length in 0.05..60.0f64,
            relative_roughness in 0.0..0.05f64,
            multiplier in 0.5..12.0f64,
            forward in prop_oneof![Just(0.0), 0.0..200.0f64],
            reverse in prop_oneof![Just(0.0), 0.0..200.0f64],
        ) -> Run {
            Run::new(Section::round(diameter).unwrap(), length, relative_roughness * diameter)
                .and_then(|run| run.with_friction_multiplier(multiplier))
                .and_then(|run| run.with_losses(forward, reverse))
                .unwrap()
        }
    }

    /// Reynolds numbers of both signs, many of them in the passage to turbulence.
    fn any_reynolds() -> impl Strategy<Value = f64> {
        let size = prop_oneof![
            (-3.0..6.5f64).prop_map(|e| 10f64.powf(e)),
            1900.0..4200.0f64
        ];
        (size, any::<bool>()).prop_map(|(re, reverse)| if reverse { -re } else { re })
    }

    proptest! {
        #[test]
        fn inverse_undoes_forward(run in any_run(), reynolds in any_reynolds()) {
            let flow = reynolds * run.flow_scale(DENSITY, VISCOSITY);
            let (drop, slope) = run.pressure_drop_with_slope(flow, DENSITY, VISCOSITY);
            let (back, back_slope) = run.volume_flow(drop, DENSITY, VISCOSITY);
            prop_assert!((back / flow - 1.0).abs() < 1e-12, "{flow} {back}");
            prop_assert!((back_slope * slope - 1.0).abs() < 1e-7, "{slope} {back_slope}");
        }

        #[test]
        fn rises_without_kink(run in any_run(), reynolds in any_reynolds()) {
            let flow = reynolds * run.flow_scale(DENSITY, VISCOSITY);
            let step = 1e-5 * flow.abs();
            let (drop, slope) = run.pressure_drop_with_slope(flow, DENSITY, VISCOSITY);
            let above = run.pressure_drop(flow + step, DENSITY, VISCOSITY);
            let below = run.pressure_drop(flow - step, DENSITY, VISCOSITY);
            prop_assert!(below < drop && drop < above);
            let difference = (above - below) / (2.0 * step);
            prop_assert!((difference / slope - 1.0).abs() < 1e-4, "{difference} {slope}");
        }
    }

    #[test]
    fn rest_has_the_laminar_slope() {
        let run = Run::new(Section::round(0.1).unwrap(), 10.0, 0.0)
            .and_then(|run| run.with_losses(2.0, 3.0))
            .unwrap();
        let (flow, slope) = run.volume_flow(0.0, DENSITY, VISCOSITY);
        // Hagen and Poiseuille: Q = π D⁴ Δp/(128 μ L).
        let expected = std::f64::consts::PI * 1e-4 / (128.0 * VISCOSITY * 10.0);
        assert_eq!(flow, 0.0);
        assert!((slope / expected - 1.0).abs() < 1e-12);
        assert!((run.slope(0.0, DENSITY, VISCOSITY) * expected - 1.0).abs() < 1e-12);
    }

    #[test]
    fn direction_chooses_the_loss() {
        let run = Run::new(Section::round(0.1).unwrap(), 1e-6, 0.0)
            .and_then(|run| run.with_losses(2.0, 3.0))
            .unwrap();
        let forward = run.pressure_drop(0.05, DENSITY, VISCOSITY);
        let reverse = run.pressure_drop(-0.05, DENSITY, VISCOSITY);
        assert!((reverse / forward + 1.5).abs() < 1e-5);
    }

    #[test]
    fn ends_are_counted_by_direction() {
        let room = EndLoss::still_air(0.5, 1.5).unwrap();
        let run = Run::new(Section::round(0.1).unwrap(), 1.0, 0.0)
            .and_then(|run| run.with_ends(room, (2.0, 3.0), EndLoss::collar()))
            .unwrap();
        assert_eq!((run.loss_forward(), run.loss_reverse()), (3.5, 3.5));
        // Still air at both ends of a plain duct: half a velocity pressure enters, one is lost.
        let plain = EndLoss::still_air(0.5, 1.0).unwrap();
        let run = run.with_ends(plain, (0.0, 0.0), plain).unwrap();
        assert_eq!((run.loss_forward(), run.loss_reverse()), (1.5, 1.5));
    }

    #[test]
    fn refuses_impossible_runs() {
        let section = Section::round(0.1).unwrap();
        assert!(Run::new(section, 0.0, 0.0).is_err());
        assert!(Run::new(section, 1.0, 0.006).is_err());
        let run = Run::new(section, 1.0, 0.0).unwrap();
        assert!(run.with_losses(-0.1, 0.0).is_err());
        assert!(run.with_losses(0.0, f64::NAN).is_err());
        assert!(run.with_friction_multiplier(0.0).is_err());
    }
}
