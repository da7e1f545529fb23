//! One change of a text.

use std::fmt;

use serde::{Deserialize, Serialize};

/// A change of a text at one place: what stood there, and what stands there now.
///
/// It keeps both, so it can be turned round, and it notices when it is applied to another text than
/// the one that it was made for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Splice {
    /// Byte offset of the place.
    pub at: usize,
    /// What stood there.
    pub removed: String,
    /// What stands there now.
    pub inserted: String,
}

/// A splice does not fit a text: something else stands at its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misfit {
    /// Byte offset of the place.
    pub at: usize,
}

impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "the change does not fit the text: something else stands at byte {}",
            self.at
        )
    }
}

impl std::error::Error for Misfit {}

impl Splice {
    /// The smallest splice that turns one text into another.
    ///
    /// ```
    /// use store::Splice;
    /// let splice = Splice::between("flow = \"70 cfm\"", "flow = \"75 cfm\"");
    /// assert_eq!((splice.at, splice.removed.as_str(), splice.inserted.as_str()), (9, "0", "5"));
    /// ```
    pub fn between(before: &str, after: &str) -> Self {
        let mut start = before
            .bytes()
            .zip(after.bytes())
            .take_while(|(one, other)| one == other)
            .count();
        while !(before.is_char_boundary(start) && after.is_char_boundary(start)) {
            start -= 1;
        }
        let longest = before.len().min(after.len()) - start;
        let mut end = before
            .bytes()
            .rev()
            .zip(after.bytes().rev())
            .take(longest)
            .take_while(|(one, other)| one == other)
            .count();
        while !(before.is_char_boundary(before.len() - end)
            && after.is_char_boundary(after.len() - end))
        {
            end -= 1;
        }
        Self {
            at: start,
            removed: before[start..before.len() - end].to_owned(),
            inserted: after[start..after.len() - end].to_owned(),
        }
    }

    /// The text after the change.
    ///
    /// # Errors
    ///
    /// [`Misfit`] if something else than [`Splice::removed`] stands at the place.
    pub fn apply(&self, text: &str) -> Result<String, Misfit> {
        let misfit = Misfit { at: self.at };
        let (before, rest) = text.split_at_checked(self.at).ok_or(misfit.clone())?;
        let after = rest.strip_prefix(self.removed.as_str()).ok_or(misfit)?;
        Ok([before, &self.inserted, after].concat())
    }

    /// The change that takes this one back.
    #[must_use]
    pub fn inverse(&self) -> Self {
        Self {
            at: self.at,
            removed: self.inserted.clone(),
            inserted: self.removed.clone(),
        }
    }

    /// Whether it changes nothing.
    pub fn is_empty(&self) -> bool {
        self.removed == self.inserted
    }
}
