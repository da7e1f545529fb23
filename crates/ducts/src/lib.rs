//! Friction, flexible duct, fittings, dampers, taps and fan curves.
//!
//! Each item is a formula or a small value of one component of a duct system: no network, no
//! input or output. Quantities are SI: pressure in Pa, volume flow in m³/s, length in m, density
//! in kg/m³, dynamic viscosity in Pa·s; angles are in degrees, as the trade states them.
//!
//! | module | component |
//! |---|---|
//! | [`section`], [`material`] | cross-section and roughness of a duct |
//! | [`friction`], [`run`] | straight duct; a whole run between two static pressures |
//! | [`flexible`] | compression, sag and bends of flexible duct |
//! | [`elbow`], [`transition`], [`junction`], [`terminal`] | fittings, as [`Loss`] coefficients |
//! | [`damper`], [`resistance`] | balancing damper; filters, cores, coils |
//! | [`tap`] | ends of a run and branches at a moving main: total and static pressure |
//! | [`fan`] | fan curves |

pub mod damper;
pub mod elbow;
pub mod error;
pub mod fan;
pub mod flexible;
pub mod friction;
mod interpolate;
pub mod junction;
pub mod loss;
pub mod material;
pub mod resistance;
pub mod run;
pub mod section;
pub mod tap;
pub mod terminal;
pub mod transition;

pub use damper::ButterflyDamper;
pub use elbow::Elbow;
pub use error::Error;
pub use fan::{Ceiling, ConstantFlowFan, Fan, FanCurve, QuadraticFan};
pub use junction::{Junction, TakeOff};
pub use loss::{Confidence, Loss, Source};
pub use material::Material;
pub use resistance::Resistance;
pub use run::Run;
pub use section::Section;
pub use tap::{EndLoss, MainTap, TapEnd};
