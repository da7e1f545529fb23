//! From sound power to sound pressure in rooms, and through what stands between them.

use crate::error::{Error, require};
use crate::spectrum::{FREQUENCIES, Spectrum};

const FOOT: f64 = 0.3048;

/// How far a level in a furnished room may lie off that [`schultz`] gives \[dB\], as a 90 %
/// half-width; from memory.
pub const ROOM_HALF_WIDTH: f64 = 3.0;

/// How far the attenuation of a floor or wall of a house may lie off the assumed one \[dB\], as a 90 %
/// half-width: gaps, doors and flanking decide; from memory.
pub const PARTITION_HALF_WIDTH: f64 = 8.0;

/// Reverberation time of a furnished room \[s\], at which the standards of building acoustics state
/// levels in dwellings (ISO 16032, ISO 12354).
pub const REVERBERATION: f64 = 0.5;

/// What a furnished room takes from the sound power of a source to the sound pressure at a distance
/// \[m\], by its volume \[m³\]: L_w − L_p = 10 lg r + 5 lg V + 3 lg f − 25 in feet (Schultz, ASHRAE
/// Transactions 91 (1985); from memory); in metres the constant is 12.10. Rooms up to 430 m³
/// (15 000 ft³).
///
/// # Errors
///
/// [`Error`] if the distance is outside 0.3…20 m or the volume outside 5…430 m³.
///
/// ```
/// let room = acoustics::room::schultz(5.0 * 0.3048, 1500.0 * 0.3048f64.powi(3))?;
/// assert!((room.0[4] - 6.87).abs() < 0.005);
/// # Ok::<(), acoustics::Error>(())
/// ```
pub fn schultz(distance: f64, volume: f64) -> Result<Spectrum, Error> {
    let distance = require("distance (m)", distance, 0.3..=20.0, "0.3 to 20")? / FOOT;
    let volume = require("room volume (m³)", volume, 5.0..=430.0, "5 to 430")? / FOOT.powi(3);
    Ok(Spectrum(FREQUENCIES).map(|_, frequency| {
        10.0 * distance.log10() + 5.0 * volume.log10() + 3.0 * frequency.log10() - 25.0
    }))
}

/// Absorption area \[m²\] of a furnished room by its volume \[m³\]: 0.161 V/T (Sabine) with
/// [`REVERBERATION`].
pub fn absorption(volume: f64) -> f64 {
    0.161 * volume / REVERBERATION
}

/// Sound reduction index \[dB\] of a joist floor with a plaster-board ceiling below it; from memory,
/// ± [`PARTITION_HALF_WIDTH`].
pub const FLOOR_WITH_CEILING: Spectrum = Spectrum([14.0, 18.0, 26.0, 33.0, 39.0, 43.0, 42.0, 45.0]);

/// The same of a joist floor whose joists are open below; from memory.
pub const OPEN_FLOOR: Spectrum = Spectrum([10.0, 14.0, 19.0, 23.0, 26.0, 30.0, 33.0, 36.0]);

/// The same of a stud wall with a board on each side and a closed door in it; from memory.
pub const WALL_WITH_DOOR: Spectrum = Spectrum([10.0, 13.0, 17.0, 20.0, 22.0, 24.0, 26.0, 28.0]);

/// What lies between the sound power of a source in one room and the sound pressure in the next:
/// R − 10 lg(4/A₁) − 10 lg(S/A₂), diffuse fields on both sides (EN 12354-1, simplified; only the
/// partition of area S \[m²\] is counted, no flanking).
///
/// `source` and `receiving` are the volumes of the rooms \[m³\].
///
/// # Errors
///
/// [`Error`] if a volume is outside 5…2000 m³ or the area outside 0.0001…200 m². An opening is a
/// partition that reduces nothing, of the opening's area.
pub fn through_partition(
    reduction: &Spectrum,
    area: f64,
    source: f64,
    receiving: f64,
) -> Result<Spectrum, Error> {
    let area = require("partition area (m²)", area, 1e-4..=200.0, "0.0001 to 200")?;
    let source = require("room volume (m³)", source, 5.0..=2000.0, "5 to 2000")?;
    let receiving = require("room volume (m³)", receiving, 5.0..=2000.0, "5 to 2000")?;
    let gain =
        10.0 * (4.0 / absorption(source)).log10() + 10.0 * (area / absorption(receiving)).log10();
    Ok(reduction.map(|_, loss| loss - gain))
}
