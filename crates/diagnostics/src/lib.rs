//! Problems in a file, with line, column and excerpt.
//!
//! A reader of a file never stops at its first mistake: it returns what it could read *and* a
//! [`Problems`] list, in which every [`Problem`] points at the bytes that cause it. The list prints
//! itself for people ([`Problems::render`]) and for programs ([`Problems::to_json`]).
//!
//! ```
//! use diagnostics::{Problem, Problems, Source, Style};
//!
//! let source = Source::from_bytes("job.toml", b"format = 1\naltitude = \"7000\"\n");
//! let mut problems = Problems::new(source);
//! problems.push(
//!     Problem::error("altitude has no unit", 22..28)
//!         .label("a length is asked for")
//!         .help("write 7000 ft or 2130 m"),
//! );
//! assert!(problems.have_errors());
//! assert_eq!(
//!     problems.render(Style::Plain),
//!     "error: altitude has no unit
//!  --> job.toml:2:12
//!   |
//! 2 | altitude = \"7000\"
//!   |            ^^^^^^ a length is asked for
//!   |
//!   = help: write 7000 ft or 2130 m
//! "
//! );
//! ```

mod nearest;
mod problem;
mod render;
mod source;

pub use nearest::nearest;
pub use problem::{Problem, Problems, Severity};
pub use render::Style;
pub use source::{Place, Source};
