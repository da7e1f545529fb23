//! What the functions of this crate refuse.

use std::fmt;

/// A number outside what a formula covers: what it is, what was found and what is accepted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Error {
    /// Name of the quantity with its unit, for instance `diameter (m)`.
    pub quantity: &'static str,
    /// The number that was given.
    pub found: f64,
    /// The accepted range in words.
    pub accepted: &'static str,
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            formatter,
            "{} is {}; accepted: {}",
            self.quantity, self.found, self.accepted
        )
    }
}

impl std::error::Error for Error {}

/// Accepts a number in a range; one that is not a number never passes.
pub(crate) fn require(
    quantity: &'static str,
    found: f64,
    range: std::ops::RangeInclusive<f64>,
    accepted: &'static str,
) -> Result<f64, Error> {
    if range.contains(&found) {
        Ok(found)
    } else {
        Err(Error {
            quantity,
            found,
            accepted,
        })
    }
}
