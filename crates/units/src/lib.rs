//! Quantities at the edge: parse "70 cfm", print IP or SI.
//!
//! A person types a number with its unit, in either system and in the spelling of the trade; the
//! physics below works in SI as plain `f64`. This crate is the only place where the two meet.
//!
//! ```
//! use units::{Quantity, System, Typed, VolumeFlow};
//!
//! let flow = Typed::<VolumeFlow>::parse("70 cfm ± 5 %").unwrap();
//! assert!((flow.value.si() - 0.033036).abs() < 1e-6); // m³/s
//! assert_eq!(flow.echo(), "70 cfm ± 5 % (33.0 L/s)");
//! assert_eq!(flow.value.show(System::Si), "33.0 L/s");
//!
//! let error = Typed::<VolumeFlow>::parse("70 Pa").unwrap_err();
//! assert_eq!(
//!     error.to_string(),
//!     "\"Pa\" is a unit of pressure, but volume flow is asked for, like 70 cfm, 33 L/s, 120 m3/h"
//! );
//! ```
//!
//! # What is accepted
//!
//! - Units in any case, with or without dots, spaces, superscripts and typographic quotes:
//!   `0.2 inWC`, `0.2 in. w.c.`, `0.2"wc`, `120 m³/h`, `33 l per s`.
//! - Fractions and compounds: `6-1/2 in`, `6½ in`, `10 ft 6 in`, `10'6"`, `1 h 30 min`.
//! - Numbers with a decimal point or a decimal comma, and thousands that cannot be misread
//!   (`1,234.5`, `1.234,5`, `1,234,567`). `1,234` alone is refused with a question, because it is
//!   1234 to one reader and 1.234 to another.
//! - An uncertainty after `±`, `+/-` or `+-`; see [`Uncertainty`].
//!
//! # Conversion constants
//!
//! The factors follow from exact definitions: the international yard and pound (1959), standard
//! gravity 9.80665 m/s², the British thermal unit of the International Table
//! (1055.05585262 J), and the conventional inch of water (25.4 mm of water of 1000 kg/m³ under
//! standard gravity: 249.08891 Pa) and of mercury (3386.389 Pa), all as listed in NIST Special
//! Publication 811 (2008), appendix B.

mod error;
mod number;
mod quantity;
mod spelling;
mod tape;
pub mod text;
mod typed;

pub use error::{Expected, ParseError};
pub use quantity::{
    AirChanges, Angle, Area, Duration, EnergyPrice, Fraction, Length, LengthPrice, Loudness, Mass,
    MassFlow, Money, Power, Pressure, Quantity, SoundLevel, System, Temperature,
    TemperatureDifference, ThermalResistance, TimePrice, Unit, Velocity, Volume, VolumeFlow, both,
};
pub use tape::written_like;
pub use typed::{Typed, Uncertainty};
