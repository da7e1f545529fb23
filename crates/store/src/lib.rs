//! Jobs and their history.
//!
//! A job *is* the text of its file, byte by byte, comments included. Its history is a row of
//! [`Event`]s that is only ever appended to: the text as it began, then one [`Splice`] for each
//! change; undo and redo are appended too, so nothing that once stood in a job is lost.
//! [`Document::replay`] turns the row back into the text at any version. [`edit`] finds the splice
//! that sets a single value and leaves every other byte as it is; [`compare`] tells two texts apart
//! key by key.
//!
//! [`Store`] is where the events lie. Two writers cannot overwrite each other: an event is appended
//! only if the history still ends where its writer believed it does ([`StoreError::Moved`]). The
//! crate does no input or output and asks no clock; [`memory::Memory`] keeps events as long as the
//! program runs, for tests.
//!
//! ```
//! use store::{Change, Document, Event, edit};
//!
//! let began = Event::new(1, 0, Change::Began { text: "bedrooms = 3 # upstairs\n".into() });
//! let mut job = Document::replay([&began])?;
//! let splice = edit::set(job.text(), &["bedrooms".into()], edit::Literal::integer(4))?;
//! let edited = Change::Edited { what: "bedrooms: 4".into(), splice };
//! job.take(&Event::new(2, 60, edited))?;
//! assert_eq!(job.text(), "bedrooms = 4 # upstairs\n");
//!
//! let undone = job.undo().expect("there is a change to undo");
//! job.take(&Event::new(3, 120, undone))?;
//! assert_eq!(job.text(), "bedrooms = 3 # upstairs\n");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod compare;
mod document;
pub mod edit;
mod event;
pub mod memory;
mod splice;
mod store;

pub use document::{Broken, Document};
pub use event::{Change, Event};
pub use splice::{Misfit, Splice};
pub use store::{Answer, Head, Key, Kind, Store, StoreError};
