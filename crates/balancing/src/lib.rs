//! A job and its journal understood as a set-up of the ventilator.
//!
//! [`Day::new`] reads the entries of a journal in their order: what ran, how the dampers stood, what
//! was read and what was struck out; values become SI numbers as the station's instrument shows
//! them. What cannot be understood stays where it is and is told as [`Misread`]. [`Standing::of`]
//! says what is known and what to do next.
//!
//! The crate does no I/O and asks no clock.

pub mod checklist;
mod day;
mod standing;
mod value;

pub use day::{Day, Misread, Taken, temperature};
pub use standing::{Standing, Wanted};
pub use value::{Understood, angle, understand};
