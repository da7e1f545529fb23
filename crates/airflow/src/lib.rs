//! Pressure network: elements, solver, transport.

mod dispatch;
mod elimination;
mod error;
mod kernels;
mod law;
mod line_search;
mod network;
mod solver;
pub mod transport;

pub use error::NetworkError;
pub use law::{LAMINAR_FLOW, LAMINAR_PRESSURE, Law};
pub use network::{Element, ElementId, Network, Node, NodeId};
pub use solver::{
    LaggedError, LaggedReport, MAX_ITERATIONS, NotConverged, PRESSURE_ERROR,
    RELATIVE_PRESSURE_ERROR, RELATIVE_RESIDUAL, RESIDUAL, Report, Solver,
};
pub use transport::Transport;
