//! From what is known of a job to drawings.
//!
//! The crate `drawing` knows lines and words, the crate `plan` what is allowed and why; here the one
//! becomes the other, for every surface that shows drawings.

mod elevation;
mod section;

pub use elevation::{Explained, Movable, View, board, elevation, slug};
pub use section::section;
