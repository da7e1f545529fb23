//! Friction, flexible duct, fittings, dampers, taps and fan curves.
//!
//! Each item is a formula or a small value of one component of a duct system: no network, no
//! input or output. Quantities are SI: pressure (Pa), volume flow (m³/s), length (m), density
//! (kg/m³), dynamic viscosity (Pa·s); angles are in degrees, as the trade states them.

pub mod error;
pub mod friction;
pub mod run;
pub mod section;

pub use error::Error;
pub use run::Run;
pub use section::Section;
