//! Several paths into one room, with how well each is known.

use crate::spectrum::{Spectrum, energy_sum};

/// Where a sound comes from; paths of one source are wrong together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Source {
    /// The casing of the unit.
    Casing,
    /// The unit's fans, heard through ducts.
    Ducts,
}

/// One way on which sound reaches a room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Path {
    /// Sound pressure in the room from this path alone \[dB\].
    pub level: Spectrum,
    /// Where it comes from.
    pub source: Source,
    /// How far the source's level may lie off \[dB\], a 90 % half-width.
    pub source_half_width: f64,
    /// How far the attenuation of the path may lie off \[dB\], a 90 % half-width.
    pub path_half_width: f64,
}

/// A level with how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Best value \[dB(A)\], negative infinity for silence.
    pub level: f64,
    /// Half-width of its 90 % band \[dB\].
    pub half_width: f64,
}

impl Level {
    /// Lower end of the band.
    pub fn low(&self) -> f64 {
        self.level - self.half_width
    }

    /// Upper end of the band.
    pub fn high(&self) -> f64 {
        self.level + self.half_width
    }
}

/// A-weighted level of all paths together, with its band.
///
/// Levels add by energy. Each path carries the weight of its share of the A-weighted energy; a small
/// error of u dB of a path moves the sum by weight·u. Errors of paths are independent, so their
/// squares add; errors of a source are common to all of its paths, so they add before they are
/// squared.
pub fn total(paths: &[Path]) -> Level {
    let levels: Vec<f64> = paths.iter().map(|path| path.level.a_weighted()).collect();
    let level = energy_sum(levels.iter().copied());
    if level == f64::NEG_INFINITY {
        return Level {
            level,
            half_width: 0.0,
        };
    }
    let mut square = 0.0;
    for source in [Source::Casing, Source::Ducts] {
        let mut common = 0.0;
        for (path, own) in paths.iter().zip(&levels) {
            if path.source == source {
                let weight = 10f64.powf(0.1 * (own - level));
                common += weight * path.source_half_width;
                square += (weight * path.path_half_width).powi(2);
            }
        }
        square += common * common;
    }
    Level {
        level,
        half_width: square.sqrt(),
    }
}
