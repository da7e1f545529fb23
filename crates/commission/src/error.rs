//! What this crate refuses.

use std::fmt;

/// Why something could not be done, in words that name the value and what is accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Error(pub String);

impl Error {
    pub(crate) fn refused(quantity: &str, found: f64, accepted: &str) -> Self {
        Self(format!("{quantity} is {found}; accepted: {accepted}"))
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Error {}

impl From<plan::installation::CannotBuild> for Error {
    fn from(error: plan::installation::CannotBuild) -> Self {
        Self(error.to_string())
    }
}

impl From<plan::installation::Unsolved> for Error {
    fn from(error: plan::installation::Unsolved) -> Self {
        Self(error.to_string())
    }
}

/// Refuses a number that is not finite and above zero.
pub(crate) fn positive(quantity: &str, found: f64) -> Result<f64, Error> {
    if found.is_finite() && found > 0.0 {
        Ok(found)
    } else {
        Err(Error::refused(quantity, found, "a number above 0"))
    }
}
