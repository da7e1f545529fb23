//! Insulated round duct: how warm its surface is, whether it sweats, what its air gains or loses.
//!
//! A duct that carries cold outdoor or exhaust air through a warm house sweats where its outer
//! surface is colder than the dew point of the room. [`surface()`] solves the heat balance of a
//! [`InsulatedDuct`] with a [`Stream`] inside, [`condensation`] compares it with the room,
//! [`needed_resistance`] turns the question around, and [`temperature_after`] follows the air along
//! the duct. Density and dew point come from the crate `air`, so every answer holds at altitude.
//!
//! SI throughout: metres, °C, kg/s, Pa, m²·K/W. A nominal R-value is that of the flat blanket, as it
//! is printed on the jacket; see [`InsulatedDuct::true_resistance`].

mod duct;
mod error;
pub mod film;
mod surface;

pub use duct::{FIBRE_CONDUCTIVITY, FOIL, InsulatedDuct, PLAIN, R_VALUE};
pub use error::Error;
pub use surface::{
    Condensation, MOST_RESISTANCE, Stream, Surface, condensation, flat_resistance,
    needed_resistance, surface, temperature_after,
};
