//! One module for each command.

pub mod balance;
pub mod check;
pub mod checklist;
pub mod checks;
pub mod flows;
pub mod insulation;
pub mod log;
pub mod network;
pub mod new;
pub mod plan;
pub mod rates;
pub mod record;
pub mod revisit;
pub mod rules;
pub mod safety;
pub mod schema;
pub mod serve;
pub mod sound;
pub mod walls;
