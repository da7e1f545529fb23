//! Pressure network: elements, solver, transport.

mod batch;
mod dispatch;
mod elimination;
mod engine;
mod error;
mod kernels;
mod lanes;
mod law;
mod line_search;
mod network;
mod report;
mod solver;
pub mod transport;

#[cfg(test)]
extern crate self as airflow;
#[cfg(test)]
#[path = "../tests/random/mod.rs"]
mod random;

pub use batch::{BatchSolver, LANES};
pub use error::NetworkError;
pub use law::{LAMINAR_FLOW, LAMINAR_PRESSURE, Law};
pub use network::{Element, ElementId, Network, Node, NodeId};
pub use report::{
    LaggedError, LaggedReport, MAX_ITERATIONS, NotConverged, PRESSURE_ERROR,
    RELATIVE_PRESSURE_ERROR, RELATIVE_RESIDUAL, RESIDUAL, Report,
};
pub use solver::Solver;
pub use transport::Transport;
