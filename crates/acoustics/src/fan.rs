//! Sound power of fans.

use crate::error::{Error, require};
use crate::spectrum::Spectrum;

/// Octave bands of a forward-curved fan against its overall level \[dB\] (Engineering ToolBox, fan
/// sound power; a trade page).
pub const FORWARD_CURVED: Spectrum =
    Spectrum([-2.0, -6.0, -13.0, -18.0, -19.0, -22.0, -25.0, -30.0]);

/// How far a level may lie off that [`fan_power`] gives \[dB\], as a 90 % half-width; from memory.
pub const FAN_POWER_HALF_WIDTH: f64 = 8.0;

/// How far the bands may lie off that [`from_a_weighted`] gives \[dB\]: a shape is assumed.
pub const SHAPE_HALF_WIDTH: f64 = 5.0;

/// Specific levels of a forward-curved fan at 63 to 4000 Hz \[dB re 1 pW at 1 cfm and 1 in. w.c.\], the
/// older set of the ASHRAE handbooks; from memory.
pub const SPECIFIC_OLDER: [f64; 7] = [47.0, 43.0, 39.0, 33.0, 28.0, 25.0, 23.0];

/// The later set of [`SPECIFIC_OLDER`]; from memory.
pub const SPECIFIC_LATER: [f64; 7] = [53.0, 53.0, 43.0, 36.0, 36.0, 31.0, 26.0];

/// Sound power \[dB re 1 pW\] of a forward-curved fan into each of its two ducts, from its flow \[m³/s\]
/// and the pressure that it makes \[Pa\] near its best point.
///
/// L_w = 40 + 10 lg Q + 20 lg p, divided into bands by [`FORWARD_CURVED`] (Engineering ToolBox).
/// Good to [`FAN_POWER_HALF_WIDTH`]: a certified sound power is always better.
///
/// # Errors
///
/// [`Error`] if the flow is outside 0.0001…10 m³/s or the pressure outside 1…2000 Pa.
///
/// ```
/// let fan = acoustics::fan_power(0.050, 125.0)?;
/// assert!((fan.0[0] - 66.9).abs() < 0.05);
/// # Ok::<(), acoustics::Error>(())
/// ```
pub fn fan_power(flow: f64, pressure: f64) -> Result<Spectrum, Error> {
    let flow = require("flow (m³/s)", flow, 1e-4..=10.0, "0.0001 to 10")?;
    let pressure = require("fan pressure (Pa)", pressure, 1.0..=2000.0, "1 to 2000")?;
    let overall = 40.0 + 10.0 * flow.log10() + 20.0 * pressure.log10();
    Ok(FORWARD_CURVED.map(|_, part| part + overall))
}

/// Sound power \[dB re 1 pW\] from specific levels at 63 to 4000 Hz: K + 10 lg Q + 20 lg P with Q in
/// cfm and P in in. w.c. of the flow \[m³/s\] and pressure \[Pa\]. The set says nothing about 8000 Hz,
/// which stays silent; the blade-passage increment is left out.
///
/// # Errors
///
/// As for [`fan_power`].
pub fn specific_power(specific: &[f64; 7], flow: f64, pressure: f64) -> Result<Spectrum, Error> {
    const CUBIC_FOOT_PER_MINUTE: f64 = 0.000_471_947_443_2;
    const INCH_OF_WATER: f64 = 249.088_91;
    let flow = require("flow (m³/s)", flow, 1e-4..=10.0, "0.0001 to 10")?;
    let pressure = require("fan pressure (Pa)", pressure, 1.0..=2000.0, "1 to 2000")?;
    let more =
        10.0 * (flow / CUBIC_FOOT_PER_MINUTE).log10() + 20.0 * (pressure / INCH_OF_WATER).log10();
    Ok(Spectrum(std::array::from_fn(|band| {
        specific
            .get(band)
            .map_or(f64::NEG_INFINITY, |level| level + more)
    })))
}

/// Octave bands of a sound of which only the A-weighted level \[dB(A)\] is known: the shape of a
/// forward-curved fan, moved until it has that level. Good to [`SHAPE_HALF_WIDTH`].
///
/// # Errors
///
/// [`Error`] if the level is outside 0…120 dB(A).
///
/// ```
/// let unit = acoustics::from_a_weighted(44.0)?;
/// assert!((unit.a_weighted() - 44.0).abs() < 1e-9);
/// # Ok::<(), acoustics::Error>(())
/// ```
pub fn from_a_weighted(level: f64) -> Result<Spectrum, Error> {
    let level = require("A-weighted level (dB)", level, 0.0..=120.0, "0 to 120")?;
    let more = level - FORWARD_CURVED.a_weighted();
    Ok(FORWARD_CURVED.map(|_, part| part + more))
}

/// What a fan away from its best point makes more \[dB\], by its efficiency over its best efficiency:
/// 3, 6, 9, 12, 15 dB at 0.85–0.89, 0.75–0.84, 0.65–0.74, 0.55–0.64 and 0.50–0.54, nothing above
/// (a sound application guide for laboratory ventilation, 2009, p. 39). Below 0.50 held at 15 dB.
///
/// # Errors
///
/// [`Error`] if the ratio is outside 0…1.
pub fn off_peak(efficiency_ratio: f64) -> Result<f64, Error> {
    let ratio = require("efficiency ratio", efficiency_ratio, 0.0..=1.0, "0 to 1")?;
    Ok([
        (0.90, 0.0),
        (0.85, 3.0),
        (0.75, 6.0),
        (0.65, 9.0),
        (0.55, 12.0),
    ]
    .into_iter()
    .find(|&(least, _)| ratio >= least)
    .map_or(15.0, |(_, more)| more))
}

/// What speed and density change \[dB\]: 50 lg(N₂/N₁) + 20 lg(ρ₂/ρ₁) (fan laws, AMCA; from memory).
///
/// # Errors
///
/// [`Error`] if a ratio is outside 0.1…10.
pub fn speed_and_density(speed_ratio: f64, density_ratio: f64) -> Result<f64, Error> {
    let speed = require("speed ratio", speed_ratio, 0.1..=10.0, "0.1 to 10")?;
    let density = require("density ratio", density_ratio, 0.1..=10.0, "0.1 to 10")?;
    Ok(50.0 * speed.log10() + 20.0 * density.log10())
}
