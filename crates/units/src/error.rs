//! What can be wrong with a typed quantity.

use std::fmt;

/// What a place in the job asks for, for messages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Expected {
    /// Name of the quantity, [`Quantity::NAME`](crate::Quantity::NAME).
    pub quantity: &'static str,
    /// Accepted spellings, [`Quantity::EXAMPLES`](crate::Quantity::EXAMPLES).
    pub examples: &'static str,
}

/// Why a text is not the quantity that is asked for. The message says what was found and what is
/// accepted.
#[derive(Debug, Clone, PartialEq)]
pub enum ParseError {
    /// The text is empty or blank.
    Empty {
        /// What is asked for.
        expected: Expected,
    },
    /// There is no number where one should be, or it is malformed.
    NotANumber {
        /// The text in which a number was sought.
        found: String,
        /// What is asked for.
        expected: Expected,
    },
    /// A comma that may separate thousands or decimals, such as `1,234`.
    AmbiguousComma {
        /// The number as typed.
        found: String,
    },
    /// The number, or the quantity in SI, is beyond ±10¹² (this includes infinity).
    TooLarge {
        /// The number as typed.
        found: String,
        /// What is asked for.
        expected: Expected,
    },
    /// A number without a unit.
    MissingUnit {
        /// The number as typed.
        found: String,
        /// What is asked for.
        expected: Expected,
    },
    /// A unit that no quantity has.
    UnknownUnit {
        /// The unit as typed.
        unit: String,
        /// The accepted spelling nearest to it, if one is near.
        suggestion: Option<&'static str>,
        /// What is asked for.
        expected: Expected,
    },
    /// A unit of another quantity.
    OtherQuantity {
        /// The unit as typed.
        unit: String,
        /// The quantities that have this unit.
        belongs_to: Vec<&'static str>,
        /// What is asked for.
        expected: Expected,
    },
    /// Something follows the quantity that is not part of it.
    TrailingText {
        /// What follows.
        found: String,
        /// What is asked for.
        expected: Expected,
    },
    /// The half-width after `±` is negative, zero, or more than 100 %.
    BadWidth {
        /// The half-width as typed.
        found: String,
    },
    /// A percentage after `±` where the quantity has no natural zero.
    RelativeWidth {
        /// The half-width as typed.
        found: String,
        /// What is asked for.
        expected: Expected,
    },
}

impl fmt::Display for ParseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty { expected } => write!(f, "nothing was typed; {expected}"),
            Self::NotANumber { found, expected } => {
                write!(f, "{} is not a number; {expected}", quoted(found))
            }
            Self::AmbiguousComma { found } => {
                let found = excerpt(found);
                let thousands = found.replace(',', "");
                let decimal = found.replace(',', ".");
                write!(
                    f,
                    "does the comma in \"{found}\" separate thousands or decimals? \
                     Write {thousands} or {decimal}"
                )
            }
            Self::TooLarge { found, expected } => write!(
                f,
                "{} is too large; numbers up to 1e12 are accepted, {expected}",
                quoted(found)
            ),
            Self::MissingUnit { found, expected } => {
                write!(f, "{} has no unit; {expected}", quoted(found))
            }
            Self::UnknownUnit {
                unit,
                suggestion,
                expected,
            } => {
                write!(f, "{} is not a known unit; ", quoted(unit))?;
                if let Some(near) = suggestion {
                    write!(f, "did you mean {near}? ")?;
                }
                write!(f, "{expected}")
            }
            Self::OtherQuantity {
                unit,
                belongs_to,
                expected,
            } => write!(
                f,
                "{} is a unit of {}, but {expected}",
                quoted(unit),
                belongs_to.join(" or ")
            ),
            Self::TrailingText { found, expected } => write!(
                f,
                "{} after the quantity is not understood; {expected}",
                quoted(found)
            ),
            Self::BadWidth { found } => write!(
                f,
                "{} after ± is refused: the half-width is more than 0, and at most 100 % if it is \
                 a share of the value",
                quoted(found)
            ),
            Self::RelativeWidth { found, expected } => write!(
                f,
                "{} after ±: {} has no natural zero, so its uncertainty is given in a unit, not \
                 in per cent",
                quoted(found),
                expected.quantity
            ),
        }
    }
}

impl std::error::Error for ParseError {}

impl fmt::Display for Expected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} is asked for, like {}", self.quantity, self.examples)
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", excerpt(text))
}

/// At most 60 characters, so that a message stays readable whatever was typed.
fn excerpt(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        text.to_owned()
    } else {
        text.chars().take(LONGEST).chain("…".chars()).collect()
    }
}
