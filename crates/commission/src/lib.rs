//! The set-up day: readings become flows in every mode, advice on the dampers, and proof.
//!
//! A [`SetUp`] holds the house and the plan, the stations and instruments, the positions of the
//! dampers and every reading. [`estimate()`] tells what the readings say about the house: flows with
//! 95 % intervals in every mode, also in modes that were not measured, what was learnt, and which
//! readings do not fit and why. [`advise`] says which damper to turn next, by the reading to aim for;
//! the work ends when rate and balance are met with the probability that was asked for.
//! [`compare`](drift::compare) sets a revisit against the day of the set-up, and
//! [`study()`](study::study) plays many random set-up days against the usual habit.
//!
//! The crate does no I/O and asks no clock; the feature `parallel` spreads the study over threads
//! without changing its result.

pub mod advice;
mod belief;
pub mod device;
pub mod doubt;
pub mod drift;
pub mod error;
pub mod estimate;
pub mod faults;
pub mod goal;
pub mod instrument;
pub mod laplace;
mod linear;
pub mod mixture;
mod network;
pub mod orifice;
pub mod outlook;
pub mod setup;
pub mod study;
pub mod traverse;
mod words;

pub use advice::{Advice, Verdict, advise};
pub use error::Error;
pub use estimate::{Estimate, Interval, estimate, estimate_from};
pub use faults::Faults;
pub use goal::Goal;
pub use network::{DUCT_LOG_DEVIATION, Flows, Kind, Unknown};
pub use setup::{Damped, Place, Port, Position, Reading, SetUp, State, Station, Stream};
