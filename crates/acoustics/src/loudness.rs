//! Sones, phons and the dB(A) of house fans.

use crate::error::{Error, require};

/// Loudness level \[phon\] of a loudness \[sone\]: 40 + 33.22 lg S; the inverse of [`sones`].
///
/// # Errors
///
/// [`Error`] if the loudness is outside 0.02…1000 sone.
pub fn phons(sones: f64) -> Result<f64, Error> {
    let sones = require("loudness (sone)", sones, 0.02..=1000.0, "0.02 to 1000")?;
    Ok(40.0 + 10.0 * sones.log2())
}

/// Loudness \[sone\] of a loudness level \[phon\]: 2^((P − 40)/10) (ISO 532; from memory). True from
/// 40 phon up; softer sounds are softer still than the formula says.
///
/// # Errors
///
/// [`Error`] if the level is outside 0…140 phon.
///
/// ```
/// assert_eq!(acoustics::loudness::sones(50.0), Ok(2.0));
/// ```
pub fn sones(phons: f64) -> Result<f64, Error> {
    let phons = require("loudness level (phon)", phons, 0.0..=140.0, "0 to 140")?;
    Ok(2f64.powf(0.1 * (phons - 40.0)))
}

/// Sound pressure \[dB(A)\] of a house fan rated in sones: 28 + 33.2 lg S, ± 2 dB (from memory; a trade
/// page has 37.99 at 2, 43.84 at 3, 47.99 at 4 and 51.21 at 5 sone). Not to be relied on below 0.7
/// sone.
///
/// # Errors
///
/// [`Error`] if the rating is outside 0.1…20 sone.
pub fn decibels_of_sones(sones: f64) -> Result<f64, Error> {
    let sones = require("rating (sone)", sones, 0.1..=20.0, "0.1 to 20")?;
    Ok(28.0 + 33.2 * sones.log10())
}
