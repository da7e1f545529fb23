//! Pressure network: elements, solver, transport.

mod dispatch;
mod elimination;
mod error;
mod kernels;
mod law;
mod line_search;
mod network;
mod solver;

pub use error::NetworkError;
pub use law::{LAMINAR_FLOW, LAMINAR_PRESSURE, Law};
pub use network::{Element, ElementId, Network, Node, NodeId};
pub use solver::{
    LAST_STEP, LaggedError, LaggedReport, MAX_ITERATIONS, NotConverged, RELATIVE_RESIDUAL,
    RESIDUAL, Report, Solver,
};
