//! One module for each command.

pub mod checks;
pub mod network;
