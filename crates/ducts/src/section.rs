//! Cross-sections of ducts, and the round duct that would take their place.

use std::f64::consts::PI;

use crate::error::{Error, require, require_positive};

/// Cross-section of a duct: its area and its hydraulic diameter.
///
/// The pressure drop of any duct is taken with the actual velocity and the hydraulic diameter
/// `D_h = 4 A/P` (ASHRAE Fundamentals 2021, chapter 21, equation 24). The *equivalent* diameter
/// is another thing: the round duct that has the same loss at the same flow and length, used only
/// to swap one size for another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    area: f64,
    hydraulic_diameter: f64,
    equivalent_diameter: f64,
}

impl Section {
    /// Round duct of inner `diameter` (m).
    ///
    /// # Errors
    /// Refuses a diameter that is not above 0.
    pub fn round(diameter: f64) -> Result<Self, Error> {
        require_positive("duct diameter [m]", diameter)?;
        Ok(Self {
            area: 0.25 * PI * diameter * diameter,
            hydraulic_diameter: diameter,
            equivalent_diameter: diameter,
        })
    }

    /// Rectangular duct with inner sides `a` and `b` (m). Equivalent diameter by Huebscher:
    /// `D_e = 1.30 (ab)^0.625/(a+b)^0.25` (ASHRAE Fundamentals 2021, chapter 21, equation 25).
    ///
    /// ```
    /// let section = ducts::Section::rectangular(0.1, 0.2)?;
    /// assert!((section.equivalent_diameter() - 0.152).abs() < 5e-4);
    /// # Ok::<(), ducts::Error>(())
    /// ```
    ///
    /// # Errors
    /// Refuses a side that is not above 0.
    pub fn rectangular(a: f64, b: f64) -> Result<Self, Error> {
        require_positive("side of a rectangular duct [m]", a)?;
        require_positive("side of a rectangular duct [m]", b)?;
        Ok(Self {
            area: a * b,
            hydraulic_diameter: 2.0 * a * b / (a + b),
            equivalent_diameter: 1.30 * (a * b).powf(0.625) / (a + b).powf(0.25),
        })
    }

    /// Flat oval duct with the axes `minor` ≤ `major` (m): two half circles joined by flats.
    /// Equivalent diameter by Heyt and Diaz: `D_e = 1.55 A^0.625/P^0.25` (ASHRAE Fundamentals
    /// 2021, chapter 21, equations 26 to 28).
    ///
    /// ```
    /// let section = ducts::Section::flat_oval(0.070, 0.265)?;
    /// assert!((section.equivalent_diameter() - 0.140).abs() < 5e-4);
    /// # Ok::<(), ducts::Error>(())
    /// ```
    ///
    /// # Errors
    /// Refuses an axis that is not above 0, or a major axis below the minor one.
    pub fn flat_oval(minor: f64, major: f64) -> Result<Self, Error> {
        require_positive("minor axis of a flat oval duct [m]", minor)?;
        require(
            "major axis of a flat oval duct [m]",
            major,
            "at least the minor axis",
            major >= minor,
        )?;
        let area = 0.25 * PI * minor * minor + minor * (major - minor);
        let perimeter = PI * minor + 2.0 * (major - minor);
        Ok(Self {
            area,
            hydraulic_diameter: 4.0 * area / perimeter,
            equivalent_diameter: 1.55 * area.powf(0.625) / perimeter.powf(0.25),
        })
    }

    /// Area (m²).
    pub fn area(&self) -> f64 {
        self.area
    }

    /// Hydraulic diameter `4 A/P` (m).
    pub fn hydraulic_diameter(&self) -> f64 {
        self.hydraulic_diameter
    }

    /// Diameter (m) of the round duct with equal loss at equal flow and length.
    pub fn equivalent_diameter(&self) -> f64 {
        self.equivalent_diameter
    }

    /// Mean velocity (m/s) of `volume_flow` (m³/s).
    pub fn velocity(&self, volume_flow: f64) -> f64 {
        volume_flow / self.area
    }

    /// Velocity pressure ½ρV² (Pa) of `volume_flow` (m³/s) at `density` (kg/m³).
    pub fn velocity_pressure(&self, volume_flow: f64, density: f64) -> f64 {
        velocity_pressure(self.velocity(volume_flow), density)
    }
}

/// Velocity pressure ½ρV² (Pa) at `velocity` (m/s) and `density` (kg/m³).
pub fn velocity_pressure(velocity: f64, density: f64) -> f64 {
    0.5 * density * velocity * velocity
}

/// Velocity (m/s) of a velocity pressure (Pa) at `density` (kg/m³); the sign of the pressure is
/// the sign of the velocity, as a probe that is read both ways gives it.
pub fn velocity(velocity_pressure: f64, density: f64) -> f64 {
    (2.0 * velocity_pressure.abs() / density)
        .sqrt()
        .copysign(velocity_pressure)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_and_a_circle_are_their_own_hydraulic_diameter() {
        assert_eq!(
            Section::rectangular(0.3, 0.3).unwrap().hydraulic_diameter(),
            0.3
        );
        let oval = Section::flat_oval(0.2, 0.2).unwrap();
        let round = Section::round(0.2).unwrap();
        assert!((oval.hydraulic_diameter() - 0.2).abs() < 1e-15);
        assert!((oval.area() - round.area()).abs() < 1e-15);
    }

    #[test]
    fn refuses_impossible_sizes() {
        assert!(Section::round(0.0).is_err());
        assert!(Section::round(f64::NAN).is_err());
        assert!(Section::rectangular(0.1, -0.1).is_err());
        assert!(Section::flat_oval(0.2, 0.1).is_err());
    }

    #[test]
    fn velocity_undoes_velocity_pressure() {
        assert!((velocity(velocity_pressure(4.2, 1.2), 1.2) - 4.2).abs() < 1e-14);
        assert_eq!(velocity(-0.6, 1.2), -1.0);
    }
}
