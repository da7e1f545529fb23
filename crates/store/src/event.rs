//! What is written down.

use serde::{Deserialize, Serialize};

use crate::Splice;

/// One line of a history.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// Its place in the history: the first is 1. Clocks lie, this does not.
    pub version: u64,
    /// When it was written, by the clock of the machine (seconds since 1970-01-01T00:00:00Z).
    pub at: i64,
    /// What happened.
    pub change: Change,
}

impl Event {
    /// An event.
    pub fn new(version: u64, at: i64, change: Change) -> Self {
        Self {
            version,
            at,
            change,
        }
    }
}

/// What happened to a text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Change {
    /// It began, or was brought in from a file. Always the first event, and no other.
    Began {
        /// The whole text.
        text: String,
    },
    /// It was changed.
    Edited {
        /// What was changed, for a person.
        what: String,
        /// The change.
        splice: Splice,
    },
    /// A change was taken back.
    Undone {
        /// Version of the event whose change it was.
        of: u64,
    },
    /// A change that had been taken back was made again.
    Redone {
        /// Version of the event whose change it was.
        of: u64,
    },
    /// It was put away: lists leave it out, everything in it stays.
    PutAway,
    /// It was taken out again after it had been put away.
    TakenOut,
    /// The text as it stands got a name.
    Named {
        /// The name.
        name: String,
    },
    /// It grew at its end. This cannot be undone.
    Appended {
        /// What stands behind it now.
        text: String,
    },
}

impl Change {
    /// The change as a line of JSON, to be kept.
    pub fn to_line(&self) -> String {
        // A tree of strings and whole numbers always has a form in JSON.
        serde_json::to_string(self).unwrap_or_default()
    }

    /// A change that was kept.
    ///
    /// # Errors
    ///
    /// What is wrong with the line.
    pub fn from_line(line: &str) -> Result<Self, String> {
        serde_json::from_str(line).map_err(|error| error.to_string())
    }
}
