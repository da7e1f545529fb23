//! The steady pressure network of a house: elements, solver, transport.
//!
//! Nodes are places with one pressure: zones, junctions of ducts, plenums, the ports of a
//! ventilator, outdoors on each side of the house. Elements join two nodes by a [`Law`] that gives
//! the mass flow for a pressure difference. [`Solver`] finds the unknown pressures at which the flows
//! of every node balance, [`BatchSolver`] does so for eight networks of one topology side by side,
//! and [`Transport`] tells where the air goes, how old it is and what it carries.
//!
//! # Signs
//! - Flow through an element is positive from `from` to `to`, and is driven by
//!   `Δp = p_from − p_to + drive` (Pa).
//! - A drive is what acts besides the two pressures: wind `C_p ½ρU²` and stack
//!   `(ρ_in − ρ_out) g z` for an opening at height z that leads in from outdoors (with all pressures
//!   referred to z = 0 and the weight of the indoor air taken off), or the static offset of a tap.
//! - A fan blows from `from` to `to`; its pressure rise is `p_to − p_from − drive`.
//! - An injection puts mass into a node from nowhere; a negative one is an exhaust fan.
//!
//! ```
//! use airflow::{Law, Network, Solver};
//! // A house at 20 °C, −10 °C outdoors: leaks at 0.5 m and 5.2 m, and an exhaust fan.
//! let (outside, inside, gravity) = (1.3414, 1.2041, 9.80665);
//! let mut network = Network::new();
//! let outdoors = network.fixed_node("outdoors", 0.0, outside);
//! let house = network.node("house", inside);
//! let leak = Law::Leak { coefficient: 0.016, exponent: 0.65 };
//! let low = network.element("wall", outdoors, house, leak.clone());
//! let high = network.element("ceiling", outdoors, house, leak);
//! network.set_drive(low, (inside - outside) * gravity * 0.5);
//! network.set_drive(high, (inside - outside) * gravity * 5.2);
//! network.set_injection(house, -0.02);
//! let mut solver = Solver::new(&network)?;
//! solver.solve()?;
//! // Cold air enters low, warm air leaves high, and the fan takes the difference.
//! assert!(solver.mass_flow(low) > 0.0 && solver.mass_flow(high) < 0.0);
//! let balance = solver.mass_flow(low) + solver.mass_flow(high) - 0.02;
//! assert!(balance.abs() <= 1e-9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Method
//! Every law rises strictly. So the imbalances of the nodes are the gradient of a strictly convex
//! function of the pressures, the co-content `Φ(p) = Σ ∫ m dΔp − Σ p·injection`, and the network has
//! exactly one solution, its minimum (Collins, Cooper, Helgason, Kennington and LeBlanc, *Solving
//! the pipe network analysis problem using optimization techniques*, Management Science 24, 1978;
//! from memory). Newton's method goes there with the exact Jacobian, which is symmetric and positive
//! definite, and a line search on the derivative of Φ along the step. Most steps are accepted
//! cheaply; after the first 25 only such lengths are that certainly lower Φ, which makes the method
//! converge from any start. A solve without a start begins at the solution of straight lines in
//! place of the laws.
//!
//! The Jacobian is kept as a set of conductances and eliminated by additions and multiplications of
//! positive numbers only, so no spread of the conductances costs digits. The pressure differences of
//! the elements, not only the pressures, are carried from step to step, so that a difference of
//! 1e-12 Pa between two nodes at 100 Pa is still exact.
//!
//! # Guarantees
//! - A solution has an imbalance of at most [`RESIDUAL`] (kg/s), or [`RELATIVE_RESIDUAL`] of the
//!   largest flow where that exceeds 1 kg/s, at every node, by the very flows that are reported.
//!   A further solve takes it down to rounding.
//! - A network that cannot be solved is refused before, with the nodes and elements named:
//!   [`NetworkError`].
//! - Solving allocates nothing, and gives the same bits with every instruction set.
//!
//! # Fans
//!
//! ```
//! use airflow::{Law, Network, Solver};
//! // A fan draws outdoor air through a duct into a house with a leak.
//! let mut network = Network::new();
//! let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
//! let inlet = network.node("fan inlet", 1.2);
//! let house = network.node("house", 1.2);
//! let duct = Law::Quadratic { linear: 0.0, quadratic: 8000.0, density: 1.2 };
//! network.element("duct", outdoors, inlet, duct);
//! let law = Law::QuadraticFan { p0: 180.0, b: 900.0, c: 12_000.0, density: 1.2 };
//! let fan = network.element("fan", inlet, house, law);
//! let leak = Law::Leak { coefficient: 0.02, exponent: 0.65 };
//! network.element("leaks", house, outdoors, leak);
//! let mut solver = Solver::new(&network)?;
//! let report = solver.solve()?;
//! assert!(report.residual <= 1e-9 && report.iterations < 20);
//! let flow = solver.mass_flow(fan) / 1.2;
//! let rise = solver.pressure(house) - solver.pressure(inlet);
//! assert!((rise - (180.0 - 900.0 * flow - 12_000.0 * flow * flow)).abs() < 1e-6);
//! // Twice the resistance, from the last solution.
//! let element = network.element_ids().next().expect("the duct");
//! solver.set_law(element, Law::Quadratic { linear: 0.0, quadratic: 16_000.0, density: 1.2 })?;
//! solver.solve()?;
//! assert!(solver.mass_flow(fan) / 1.2 < flow);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

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
