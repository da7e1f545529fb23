//! Tolerances, and how a solve went.

use std::error::Error;
use std::fmt;

use crate::error::NetworkError;
use crate::network::NodeId;

/// Largest imbalance (kg/s) of a node in a solution, where no flow exceeds 1 kg/s.
pub const RESIDUAL: f64 = 1e-9;

/// Largest imbalance of a node as a share of the largest flow, where that exceeds 1 kg/s.
pub const RELATIVE_RESIDUAL: f64 = 1e-9;

/// Largest error (Pa) of a pressure in a solution, as the next step of Newton's method estimates
/// it. It matters where all air passes cracks so small that [`RESIDUAL`] says little.
pub const PRESSURE_ERROR: f64 = 1e-7;

/// The same as a share of the largest pressure.
pub const RELATIVE_PRESSURE_ERROR: f64 = 1e-9;

/// Bound on the number of Newton steps.
pub const MAX_ITERATIONS: usize = 400;

/// How a solve went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Report {
    /// Newton steps: each one elimination.
    pub iterations: usize,
    /// Evaluations of all laws; above `iterations + 1` where steps were shortened.
    pub evaluations: usize,
    /// Largest imbalance of a node (kg/s), computed from the flows that the solver reports.
    pub residual: f64,
    /// The node with the largest imbalance; `None` if no pressure is unknown.
    pub worst_node: Option<NodeId>,
}

/// A solve that did not reach its tolerance, with the state it had reached.
#[derive(Debug, Clone, PartialEq)]
pub struct NotConverged {
    /// How far it came.
    pub report: Report,
    /// Name of the node with the largest imbalance.
    pub worst_node: String,
}

impl fmt::Display for NotConverged {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            formatter,
            "the flows do not balance after {} steps: node `{}` is off by {:e} kg/s, allowed is \
             {RESIDUAL:e} kg/s or {RELATIVE_RESIDUAL:e} of the largest flow",
            self.report.iterations, self.worst_node, self.report.residual
        )
    }
}

impl Error for NotConverged {}

/// How passes of [`Solver::solve_lagged`](crate::Solver::solve_lagged) went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LaggedReport {
    /// Number of solves.
    pub passes: usize,
    /// Change of the lagged coefficients in the last pass, as the closure measures it.
    pub change: f64,
    /// Report of the last solve.
    pub last: Report,
}

/// Why [`Solver::solve_lagged`](crate::Solver::solve_lagged) has no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum LaggedError {
    /// A solve between two updates failed.
    NotConverged(NotConverged),
    /// The closure set a value that the network refuses.
    Network(NetworkError),
    /// The coefficients still change after the last pass allowed.
    NotSettled(LaggedReport),
}

impl fmt::Display for LaggedError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotConverged(error) => error.fmt(formatter),
            Self::Network(error) => error.fmt(formatter),
            Self::NotSettled(report) => write!(
                formatter,
                "coefficients that follow the flows have not settled after {} passes: \
                 they still change by {:e}",
                report.passes, report.change
            ),
        }
    }
}

impl Error for LaggedError {}

impl From<NotConverged> for LaggedError {
    fn from(error: NotConverged) -> Self {
        Self::NotConverged(error)
    }
}

impl From<NetworkError> for LaggedError {
    fn from(error: NetworkError) -> Self {
        Self::Network(error)
    }
}
