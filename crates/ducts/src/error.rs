//! What a constructor of this crate refuses.

use std::fmt;

/// A value that a constructor refused: what it is, what was found and what is accepted.
#[derive(Debug, Clone, PartialEq)]
pub enum Error {
    /// One number lies outside what the formula covers.
    OutOfRange {
        /// Name of the quantity with its unit, for instance `length (m)`.
        quantity: &'static str,
        /// The number that was given.
        found: f64,
        /// The accepted range in words.
        accepted: &'static str,
    },
    /// A list has too few or too many entries.
    Count {
        /// What the list holds.
        quantity: &'static str,
        /// How many entries it has.
        found: usize,
        /// The accepted count in words.
        accepted: &'static str,
    },
    /// Two neighbouring points of a curve are in the wrong order.
    Order {
        /// What must hold between neighbours.
        rule: &'static str,
        /// The earlier point (abscissa, ordinate).
        first: (f64, f64),
        /// The later point (abscissa, ordinate).
        second: (f64, f64),
    },
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Error::OutOfRange {
                quantity,
                found,
                accepted,
            } => write!(formatter, "{quantity} is {found}; accepted: {accepted}"),
            Error::Count {
                quantity,
                found,
                accepted,
            } => write!(formatter, "{found} {quantity}; accepted: {accepted}"),
            Error::Order {
                rule,
                first,
                second,
            } => write!(
                formatter,
                "{rule}, but ({}, {}) is followed by ({}, {})",
                first.0, first.1, second.0, second.1
            ),
        }
    }
}

impl std::error::Error for Error {}

/// Accepts `value` when `accepted_if` holds; a value that is not a number never passes, because
/// every comparison with it is false.
pub(crate) fn require(
    quantity: &'static str,
    value: f64,
    accepted: &'static str,
    accepted_if: bool,
) -> Result<f64, Error> {
    if accepted_if && value.is_finite() {
        Ok(value)
    } else {
        Err(Error::OutOfRange {
            quantity,
            found: value,
            accepted,
        })
    }
}

/// Accepts a finite number above zero.
pub(crate) fn require_positive(quantity: &'static str, value: f64) -> Result<f64, Error> {
    require(quantity, value, "above 0", value > 0.0)
}

/// Accepts a finite number that is zero or more.
pub(crate) fn require_not_negative(quantity: &'static str, value: f64) -> Result<f64, Error> {
    require(quantity, value, "0 or more", value >= 0.0)
}
