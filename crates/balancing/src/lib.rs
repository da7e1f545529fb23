//! A job and its journal understood as a set-up of the ventilator.
//!
//! [`Day::new`] reads the entries of a journal in their order: what ran, how the dampers stood, what
//! was read and what was struck out; values become SI numbers as the station's instrument shows
//! them. What cannot be understood stays where it is and is told in a [`Remark`]. [`Standing::of`]
//! says what is known and what to do next, [`revisit`] what a later visit reads again.
//!
//! The crate does no I/O and asks no clock.

mod bare;
pub mod checklist;
pub mod combustion;
mod day;
pub mod entries;
mod gauge;
pub mod record;
mod remark;
pub mod revisit;
mod sheet;
mod standing;
mod value;
pub mod words;
mod written;

pub use bare::{Completed, INDOORS, OUTDOORS, complete_temperature};
pub use day::{Day, Taken, temperature};
pub use gauge::{Gauge, Reached};
pub use remark::{Remark, calibrations, photos};
pub use sheet::{Sheet, key, state_object};
pub use standing::{Standing, Wanted, Year};
pub use value::{Understood, angle, turned, understand};
pub use written::{continued, written_day};
