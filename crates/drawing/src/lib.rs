//! Technical drawings as SVG text.
//!
//! [`elevation`] draws a wall as a draughtsman would: what is on it, where intake and exhaust may
//! not pierce it and what forbids it, and the points that were chosen with their dimensions.
//! [`section`] draws the house cut open, with its ducts and the air in them. [`measure`] sketches
//! what to measure and where. The
//! crate knows shapes, words and paper; what is allowed and why is handed in.
//!
//! A drawing is one self-contained SVG document. It scales with its view box, follows the light or
//! dark theme of whoever shows it, and no text of it lies on another or on a line of importance:
//! each label is put where it has room ([`labels`]), with a thin leader where that is not beside
//! the thing itself.

pub mod elevation;
pub mod labels;
pub mod measure;
pub mod section;
pub mod svg;
pub mod text;

pub use elevation::{
    Air, Area, Cause, Drawing, Elevation, Grip, Item, Mark, Note, Reach, Span, Symbol,
};
