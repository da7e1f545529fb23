//! What ducts, elbows, splits and outlets take from the sound that runs along them.
//!
//! All are attenuations in octave bands \[dB\]. The tables are those of the ASHRAE handbooks; where a
//! value is from memory its function says so. At 8000 Hz, for which most tables have no column, a
//! stated part of the value at 4000 Hz is taken.

use std::f64::consts::PI;

use crate::error::{Error, require};
use crate::spectrum::{FREQUENCIES, Spectrum};

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;

/// Speed of sound in air of 20 °C \[m/s\].
pub const SPEED_OF_SOUND: f64 = 343.2;

/// How far a path along ducts may lie off that adds up these tables \[dB\], as a 90 % half-width; from
/// memory.
pub const DUCT_HALF_WIDTH: f64 = 5.0;

fn diameter_in_range(diameter: f64) -> Result<f64, Error> {
    require("diameter (m)", diameter, 0.05..=1.0, "0.05 to 1")
}

fn length_in_range(length: f64) -> Result<f64, Error> {
    require("length (m)", length, 0.0..=200.0, "0 to 200")
}

/// Bare round metal duct of a diameter \[m\] over a length \[m\].
///
/// Per foot 0.03, 0.03, 0.05, 0.05, 0.10, 0.10, 0.10 dB at 63…4000 Hz up to 7 in., and 0.03, 0.03,
/// 0.03, 0.05, 0.07, 0.07, 0.07 dB above, to 15 in. (ASHRAE; from memory); at 8000 Hz as at 4000 Hz.
///
/// # Errors
///
/// [`Error`] if the diameter is outside 0.05…1 m or the length outside 0…200 m.
pub fn bare_round(diameter: f64, length: f64) -> Result<Spectrum, Error> {
    let per_foot = if diameter_in_range(diameter)? <= 7.001 * INCH {
        [0.03, 0.03, 0.05, 0.05, 0.10, 0.10, 0.10, 0.10]
    } else {
        [0.03, 0.03, 0.03, 0.05, 0.07, 0.07, 0.07, 0.07]
    };
    let feet = length_in_range(length)? / FOOT;
    Ok(Spectrum(per_foot).map(|_, loss| loss * feet))
}

/// Round duct with a fibrous liner of 2 in., by its inner diameter \[m\] and length \[m\].
///
/// Per foot from a table for 6, 8 and 10 in. (a sound application guide for laboratory ventilation,
/// 2009, p. 71, which reprints that of ASHRAE), linear between, held beyond. Sound that runs in the
/// duct's wall bounds the total; no more than 40 dB are counted (common practice, no published
/// source).
///
/// # Errors
///
/// As for [`bare_round`].
pub fn lined_round(diameter: f64, length: f64) -> Result<Spectrum, Error> {
    const TABLE: [(f64, [f64; 8]); 3] = [
        (6.0, [0.56, 0.80, 1.37, 2.25, 2.17, 2.31, 2.04, 1.26]),
        (8.0, [0.51, 0.75, 1.33, 2.23, 2.19, 2.17, 1.83, 1.18]),
        (10.0, [0.46, 0.71, 1.29, 2.20, 2.20, 2.04, 1.64, 1.12]),
    ];
    let inches = diameter_in_range(diameter)? / INCH;
    let feet = length_in_range(length)? / FOOT;
    let per_foot = between(&TABLE, inches);
    Ok(Spectrum(per_foot).map(|_, loss| (loss * feet).min(40.0)))
}

/// Insulated flexible duct of an inner diameter \[m\] over a length \[m\].
///
/// Insertion loss of the ASHRAE table for 4, 5, 6, 8 and 10 in. and 3 to 12 ft (from memory; the
/// shorter lengths of 8 and 10 in. and those of 6 in. below 9 ft in proportion), linear between.
/// Beyond 12 ft the loss is held, because the table ends there; at 8000 Hz 0.6 of that at 4000 Hz is
/// taken, as lined duct has it. The duct has to be straight and drawn tight.
///
/// # Errors
///
/// As for [`bare_round`].
///
/// ```
/// let nine_feet = acoustics::duct::flexible(0.1524, 9.0 * 0.3048)?;
/// assert_eq!(nine_feet.0[3], 25.0);
/// # Ok::<(), acoustics::Error>(())
/// ```
pub fn flexible(diameter: f64, length: f64) -> Result<Spectrum, Error> {
    // Diameter (in.), length (ft), 63…4000 Hz.
    const FOUR: &[(f64, [f64; 7])] = &[
        (0.0, [0.0; 7]),
        (3.0, [2.0, 3.0, 3.0, 8.0, 9.0, 11.0, 7.0]),
        (6.0, [3.0, 6.0, 6.0, 16.0, 19.0, 21.0, 14.0]),
        (9.0, [5.0, 8.0, 9.0, 23.0, 28.0, 32.0, 20.0]),
        (12.0, [6.0, 11.0, 12.0, 31.0, 37.0, 42.0, 27.0]),
    ];
    const FIVE: &[(f64, [f64; 7])] = &[
        (0.0, [0.0; 7]),
        (3.0, [2.0, 3.0, 4.0, 8.0, 10.0, 10.0, 7.0]),
        (6.0, [4.0, 6.0, 7.0, 16.0, 19.0, 21.0, 13.0]),
        (9.0, [5.0, 9.0, 11.0, 24.0, 29.0, 31.0, 20.0]),
        (12.0, [7.0, 12.0, 14.0, 32.0, 38.0, 41.0, 26.0]),
    ];
    const SIX: &[(f64, [f64; 7])] = &[
        (0.0, [0.0; 7]),
        (9.0, [6.0, 9.0, 13.0, 25.0, 29.0, 30.0, 20.0]),
        (12.0, [8.0, 12.0, 17.0, 33.0, 38.0, 40.0, 26.0]),
    ];
    const EIGHT: &[(f64, [f64; 7])] = &[
        (0.0, [0.0; 7]),
        (12.0, [8.0, 11.0, 21.0, 33.0, 37.0, 37.0, 24.0]),
    ];
    const TEN: &[(f64, [f64; 7])] = &[
        (0.0, [0.0; 7]),
        (12.0, [8.0, 10.0, 22.0, 32.0, 36.0, 34.0, 21.0]),
    ];
    let inches = diameter_in_range(diameter)? / INCH;
    let feet = length_in_range(length)? / FOOT;
    let rows = [
        (4.0, FOUR),
        (5.0, FIVE),
        (6.0, SIX),
        (8.0, EIGHT),
        (10.0, TEN),
    ]
    .map(|(size, table)| (size, between(table, feet)));
    let loss = between(&rows, inches);
    Ok(Spectrum(std::array::from_fn(|band| {
        loss.get(band).copied().unwrap_or(0.6 * loss[6])
    })))
}

/// Rows by a rising key, linear between, held beyond the ends. The table must not be empty.
fn between<const N: usize>(table: &[(f64, [f64; N])], key: f64) -> [f64; N] {
    let last = table.len() - 1;
    if key <= table[0].0 {
        return table[0].1;
    }
    if key >= table[last].0 {
        return table[last].1;
    }
    let above = table.iter().position(|row| row.0 > key).unwrap_or(last);
    let (low, high) = (&table[above - 1], &table[above]);
    let part = (key - low.0) / (high.0 - low.0);
    std::array::from_fn(|place| low.1[place] + part * (high.1[place] - low.1[place]))
}

/// A round elbow without a liner, by the diameter \[m\]: 0, 1, 2, 3 dB where frequency in kHz times
/// diameter in inches lies below 1.9, 3.8, 7.5 and above (ASHRAE; from memory).
///
/// # Errors
///
/// [`Error`] if the diameter is outside 0.05…1 m.
pub fn round_elbow(diameter: f64) -> Result<Spectrum, Error> {
    elbow(diameter, &[(1.9, 0.0), (3.8, 1.0), (7.5, 2.0)], 3.0)
}

/// A square elbow without liner or vanes, by its width \[m\]: 0, 1, 5, 8, 4, 3 dB where frequency in
/// kHz times width in inches lies below 1.9, 3.8, 7.5, 15, 30 and above (ASHRAE; from memory).
///
/// # Errors
///
/// [`Error`] if the width is outside 0.05…1 m.
pub fn square_elbow(width: f64) -> Result<Spectrum, Error> {
    let steps = [(1.9, 0.0), (3.8, 1.0), (7.5, 5.0), (15.0, 8.0), (30.0, 4.0)];
    elbow(width, &steps, 3.0)
}

fn elbow(width: f64, steps: &[(f64, f64)], beyond: f64) -> Result<Spectrum, Error> {
    let inches = diameter_in_range(width)? / INCH;
    Ok(Spectrum(FREQUENCIES).map(|_, frequency| {
        let number = 1e-3 * frequency * inches;
        steps
            .iter()
            .find(|&&(limit, _)| number < limit)
            .map_or(beyond, |&(_, loss)| loss)
    }))
}

/// What one branch misses of the sound power that reaches a split: −10 lg(A_branch/ΣA), in all bands
/// alike (ASHRAE; from memory). The areas are those of the ducts that the sound can go on into.
///
/// # Errors
///
/// [`Error`] if the share of the branch is outside 0.0001…1.
///
/// ```
/// assert!((acoustics::duct::split(0.5)?.0[0] - 3.01).abs() < 0.01);
/// # Ok::<(), acoustics::Error>(())
/// ```
pub fn split(share: f64) -> Result<Spectrum, Error> {
    let share = require("share of a branch", share, 1e-4..=1.0, "0.0001 to 1")?;
    Ok(Spectrum::flat(-10.0 * share.log10()))
}

/// What is thrown back where ducts change their area, in all bands alike: −10 lg(1 − ρ²) with
/// ρ = (ΣA − A)/(ΣA + A), A before and ΣA after the change \[m²\] (ASHRAE; from memory).
///
/// # Errors
///
/// [`Error`] if an area is outside 0.0001…10 m².
pub fn area_change(before: f64, after: f64) -> Result<Spectrum, Error> {
    let before = require("area (m²)", before, 1e-4..=10.0, "0.0001 to 10")?;
    let after = require("area (m²)", after, 1e-4..=10.0, "0.0001 to 10")?;
    let reflected = (after - before) / (after + before);
    Ok(Spectrum::flat(
        -10.0 * (1.0 - reflected * reflected).log10(),
    ))
}

/// Where a duct ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outlet {
    /// Flush with a wall or ceiling.
    Flush,
    /// In free space, away from walls.
    Free,
}

/// What is thrown back at the open end of a duct, by its diameter \[m\] (√(4 A/π) for another shape):
/// 10 lg\[1 + (a c/(π f D))²\] with a = 0.7 flush and 1.0 free (ASHRAE; from memory).
///
/// Not to be used where flexible duct is fastened right behind the grille.
///
/// # Errors
///
/// [`Error`] if the diameter is outside 0.05…1 m.
pub fn end_reflection(diameter: f64, outlet: Outlet) -> Result<Spectrum, Error> {
    let factor = match outlet {
        Outlet::Flush => 0.7,
        Outlet::Free => 1.0,
    };
    let diameter = diameter_in_range(diameter)?;
    Ok(Spectrum(FREQUENCIES).map(|_, frequency| {
        let number = factor * SPEED_OF_SOUND / (PI * frequency * diameter);
        10.0 * (1.0 + number * number).log10()
    }))
}
