//! Customary units, in which the trade states its defaults and limits, in SI (NIST SP 811, 2008).

/// Foot (m).
pub(super) const FOOT: f64 = 0.3048;

/// Inch (m).
pub(super) const INCH: f64 = FOOT / 12.0;

/// Cubic foot per minute (m³/s).
pub(super) const CFM: f64 = FOOT * FOOT * FOOT / 60.0;

/// Conventional inch of water (Pa).
pub(super) const INCH_OF_WATER: f64 = 249.08891;

/// One R of thermal resistance, ft²·°F·h/Btu (m²·K/W).
pub(super) const R_VALUE: f64 = 0.176_110_183_7;

/// Seconds in an hour.
pub(super) const HOUR: f64 = 3600.0;

/// Degrees Fahrenheit in degrees Celsius.
pub(super) fn fahrenheit(degrees: f64) -> f64 {
    (degrees - 32.0) / 1.8
}
