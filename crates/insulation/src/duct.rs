//! The duct and its jacket.

use crate::error::{Error, require};

/// One R of thermal resistance, 1 h·ft²·°F/Btu, in m²·K/W (NIST SP 811, 2008).
pub const R_VALUE: f64 = 0.176_110_183_7;

/// Conductivity of light glass fibre on flexible duct \[W/(m·K)\]: 0.356 Btu·in/(h·ft²·°F), 0.0513.
///
/// Follows from the R-values of Palmiter and Kruse, *True R-values of round residential ductwork*
/// (ACEEE Summer Study 2006).
pub const FIBRE_CONDUCTIVITY: f64 = 0.356 * 0.144_227_889;

/// Emissivity of a plain plastic jacket, and of bare galvanised steel that has lost its shine.
pub const PLAIN: f64 = 0.9;

/// Emissivity of a bright foil jacket.
pub const FOIL: f64 = 0.1;

/// A round duct in a jacket of one layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InsulatedDuct {
    inner_diameter: f64,
    thickness: f64,
    conductivity: f64,
    emissivity: f64,
}

impl InsulatedDuct {
    /// A duct with an inner diameter \[m\] and a jacket of a nominal resistance \[m²·K/W\] and an
    /// emissivity of its outside.
    ///
    /// The nominal resistance is the one printed on the jacket, that of the flat blanket without
    /// films: its thickness is R·k with k = [`FIBRE_CONDUCTIVITY`]. Zero is a bare duct. The duct's
    /// own wall has no resistance.
    ///
    /// # Errors
    ///
    /// [`Error`] if the diameter is outside 0.05…1 m, the resistance outside 0…10 m²·K/W or the
    /// emissivity outside 0.02…1.
    ///
    /// ```
    /// use insulation::{InsulatedDuct, PLAIN, R_VALUE};
    ///
    /// let duct = InsulatedDuct::new(0.1524, 8.0 * R_VALUE, PLAIN)?;
    /// assert!((duct.true_resistance() / R_VALUE - 5.62).abs() < 0.01);
    /// # Ok::<(), insulation::Error>(())
    /// ```
    pub fn new(
        inner_diameter: f64,
        nominal_resistance: f64,
        emissivity: f64,
    ) -> Result<Self, Error> {
        let nominal = require(
            "nominal resistance (m²·K/W)",
            nominal_resistance,
            0.0..=10.0,
            "0 to 10",
        )?;
        Ok(Self {
            inner_diameter: require(
                "inner diameter (m)",
                inner_diameter,
                0.05..=1.0,
                "0.05 to 1",
            )?,
            thickness: nominal * FIBRE_CONDUCTIVITY,
            conductivity: FIBRE_CONDUCTIVITY,
            emissivity: require("emissivity", emissivity, 0.02..=1.0, "0.02 to 1")?,
        })
    }

    /// The same duct with its blanket pressed together by a part of its thickness, 0 to 0.9.
    ///
    /// The conductivity is held: that of light fibre falls a little when it is pressed, which is
    /// left on the safe side.
    ///
    /// # Errors
    ///
    /// [`Error`] if the part is outside 0…0.9.
    pub fn compressed(self, part: f64) -> Result<Self, Error> {
        let part = require(
            "compressed part of the thickness",
            part,
            0.0..=0.9,
            "0 to 0.9",
        )?;
        Ok(Self {
            thickness: self.thickness * (1.0 - part),
            ..self
        })
    }

    /// Inner diameter \[m\].
    pub fn inner_diameter(&self) -> f64 {
        self.inner_diameter
    }

    /// Thickness of the jacket as installed \[m\].
    pub fn thickness(&self) -> f64 {
        self.thickness
    }

    /// Outer diameter \[m\].
    pub fn outer_diameter(&self) -> f64 {
        self.inner_diameter + 2.0 * self.thickness
    }

    /// Emissivity of the outside.
    pub fn emissivity(&self) -> f64 {
        self.emissivity
    }

    /// Resistance of the jacket around the duct on the duct's inner area \[m²·K/W\], without films:
    /// (D/2) ln(1 + 2 t/D) / k.
    ///
    /// It lies below the nominal resistance, because the outer layers of the blanket have more area
    /// to pass heat. Palmiter and Kruse, *True R-values of round residential ductwork* (ACEEE
    /// Summer Study 2006).
    pub fn true_resistance(&self) -> f64 {
        0.5 * self.inner_diameter * (1.0 + 2.0 * self.thickness / self.inner_diameter).ln()
            / self.conductivity
    }

    /// Resistance of the jacket per length of duct \[m·K/W\]: ln(D_o/D_i) / (2 π k).
    pub(crate) fn resistance_per_length(&self) -> f64 {
        (self.outer_diameter() / self.inner_diameter).ln()
            / (2.0 * std::f64::consts::PI * self.conductivity)
    }
}
