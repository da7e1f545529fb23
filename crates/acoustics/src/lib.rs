//! Sound of a ventilator: from its fans along ducts, through floors and walls, into rooms.
//!
//! Everything happens in the eight octave bands of a [`Spectrum`]: a source ([`fan_power`],
//! [`from_a_weighted`]), attenuations one after the other ([`duct`]), a room ([`room`]), and the
//! A-weighted level that people compare with a target.
//!
//! Prediction of sound is rough. Most tables here are from memory, as their functions say, and each
//! step has a half-width in decibels (a 90 % band); [`Path`] and [`total`] carry them along.
//!
//! ```
//! use acoustics::{Path, Source, Spectrum, duct, fan_power, room, total};
//!
//! let fan = fan_power(0.050, 125.0)?;
//! let along = duct::flexible(0.1524, 2.743)?.and(&duct::split(0.5)?);
//! let bedroom = room::schultz(1.5, 35.0)?;
//! let path = Path {
//!     level: fan.less(&along).less(&bedroom),
//!     source: Source::Ducts,
//!     source_half_width: 8.0,
//!     path_half_width: 5.0,
//! };
//! let level = total(&[path]);
//! assert!((level.half_width - 9.43).abs() < 0.01);
//! # Ok::<(), acoustics::Error>(())
//! ```
//!
//! SI throughout: metres, m³/s, Pa. Sound power is re 1 pW, sound pressure re 20 µPa.

pub mod duct;
mod error;
mod fan;
pub mod loudness;
mod path;
pub mod room;
mod spectrum;
pub mod velocity;

pub use error::Error;
pub use fan::{
    FAN_POWER_HALF_WIDTH, FORWARD_CURVED, SHAPE_HALF_WIDTH, SPECIFIC_LATER, SPECIFIC_OLDER,
    fan_power, from_a_weighted, off_peak, specific_power, speed_and_density,
};
pub use path::{Level, Path, Source, total};
pub use spectrum::{COUNT, FREQUENCIES, Spectrum, a_weighting, energy_sum, exact_frequency};
