//! From a survey to plans whose flows are predicted before a hole is cut.
//!
//! [`search::search`] forms every combination of unit, spot, layout, taps, duct diameter, terminals
//! and interlock that a survey allows, solves each in every operating case, sets its dampers,
//! discards what breaks a hard rule and ranks the rest. [`flows::flows`] says everything about one
//! plan: flows, balance, pressures, age of air, short circuit, bands from the survey's uncertainty
//! and the measurement that would shrink them most.
//!
//! The physics is one pressure network ([`installation`]) of house, forced-air ducts and ventilator
//! whose ducts are inferred from the plenum pressures that the contractor read
//! ([`existing_ducts`]). Flows are mass flows (kg/s) inside; they are shown as volume at standard
//! density (1.204 kg/m³). The crate does no I/O and asks no clock; the feature `parallel` spreads
//! the search over threads without changing its result.

pub mod account;
pub mod balance;
pub mod candidate;
pub mod case;
pub mod comparison;
pub mod condensation;
pub mod duct_runs;
pub mod effect;
pub mod existing_ducts;
pub mod explanation;
pub mod finding;
pub mod flows;
pub mod infiltration;
pub mod inputs;
pub mod installation;
pub mod local_exhaust;
pub mod merit;
pub mod rate;
pub mod rules;
pub mod safety;
pub mod search;
pub mod side_effects;
pub mod sound;
pub mod standing;
pub mod usual;
pub mod walls;

pub use candidate::Plan;
pub use case::{CaseFlows, OperatingCase, Wind};
pub use flows::{FlowsReport, flows};
pub use search::{Search, search, search_while};
