//! The log of a set-up day: append-only, chained by hashes, readable by people.
//!
//! A journal is a text file next to the job: one entry a line, each a JSON object, in the order in
//! which things happened. Nothing in it is ever changed: a mistake is struck out by a later entry
//! that names it and says why. Every entry carries the SHA-256 of the line before it, so that
//! [`Journal::read`] says which line was changed afterwards.
//!
//! ```
//! use journal::{Event, Journal, Reading, Stamp};
//!
//! let mut bytes = Vec::new();
//! let stamp = Stamp::new("2026-05-12T09:14:03-05:00", "M. Arne");
//! let reading = Reading {
//!     at: "supply station".into(),
//!     value: "0.214 inWC".into(),
//!     ..Reading::default()
//! };
//! let next = Journal::read(&bytes).next(&stamp, Event::Reading(reading));
//! bytes.extend(next.bytes);
//!
//! let journal = Journal::read(&bytes);
//! assert_eq!(journal.entries().count(), 1);
//! assert!(journal.findings().is_empty());
//! ```
//!
//! What the chain proves: that no line was changed, removed, put in or moved by accident or by
//! hand. Who writes the whole chain anew leaves no trace in it; the hash of the last line, kept
//! elsewhere (in a signed-off record that was handed out), shows that too.
//!
//! The crate does no I/O: it reads bytes, and makes the bytes to be appended.

mod event;
mod finding;
mod read;
pub mod time;

pub use event::{
    BlowerMode, CheckResult, Combustion, DamperTurned, Entry, Event, ItemChecked, Reading, Running,
    SignedOff, Stamp, Stream, StruckOut, Visit,
};
pub use finding::{Finding, Trouble};
pub use read::{Appended, Journal, Line, hash};
