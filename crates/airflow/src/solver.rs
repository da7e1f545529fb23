//! The solver for one network.

use crate::engine::Engine;
use crate::error::NetworkError;
use crate::law::Law;
use crate::network::{ElementId, Network, NodeId};
use crate::report::{LaggedError, LaggedReport, NotConverged, Report};

/// A network prepared for solving, with all the memory that solving needs.
///
/// ```
/// use airflow::{Law, Network, Solver};
/// // An exhaust fan takes 0.06 kg/s from a house with one leak, whose pressure falls to
/// // −(0.06/(ρ C))^(1/n).
/// let mut network = Network::new();
/// let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
/// let house = network.node("house", 1.2);
/// let leak = Law::Leak { coefficient: 0.02, exponent: 0.65 };
/// let leak = network.element("leak", outdoors, house, leak);
/// network.set_injection(house, -0.06);
/// let mut solver = Solver::new(&network)?;
/// let report = solver.solve()?;
/// assert!(report.residual <= 1e-9);
/// assert!((solver.mass_flow(leak) - 0.06).abs() < 1e-9);
/// assert!((solver.pressure(house) + (0.06f64 / 0.024).powf(1.0 / 0.65)).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Solver {
    engine: Engine<1>,
}

impl Solver {
    /// Checks a network and prepares it.
    ///
    /// # Errors
    /// Everything that [`Network::check`] refuses.
    pub fn new(network: &Network) -> Result<Self, NetworkError> {
        Ok(Self {
            engine: Engine::new(network)?,
        })
    }

    /// The network with its present values.
    pub fn network(&self) -> &Network {
        self.engine.network(0)
    }

    /// Reads all values again from a network of the same nodes and elements; kinds of laws may
    /// differ. The pressures found so far stay as the start of the next solve.
    ///
    /// # Errors
    /// Everything that [`Network::check`] refuses, and another topology; the solver then keeps its
    /// old values.
    pub fn update(&mut self, network: &Network) -> Result<(), NetworkError> {
        self.engine.update(0, network)
    }

    /// Sets the drive (Pa) of one element, see [`Network::set_drive`]. A drive that is not finite
    /// makes the next solve fail.
    pub fn set_drive(&mut self, element: ElementId, pascals: f64) {
        self.engine.set_drive(0, element, pascals);
    }

    /// Replaces the law of one element.
    ///
    /// # Errors
    /// A number of the law that is out of range; the old law then stays. Whether fans now form a
    /// closed loop is checked only by [`new`](Self::new) and [`update`](Self::update).
    pub fn set_law(&mut self, element: ElementId, law: Law) -> Result<(), NetworkError> {
        self.engine.set_law(0, element, law)
    }

    /// Sets the mass flow (kg/s) put into a node, see [`Network::set_injection`].
    pub fn set_injection(&mut self, node: NodeId, mass_flow: f64) {
        self.engine.set_injection(0, node, mass_flow);
    }

    /// Sets the density (kg/m³) of the air in a node. A density that is not above 0 makes the
    /// next solve fail.
    pub fn set_density(&mut self, node: NodeId, density: f64) {
        self.engine.set_density(0, node, density);
    }

    /// Sets the pressure (Pa) of a node with a fixed pressure; others stay as they are.
    pub fn set_fixed_pressure(&mut self, node: NodeId, pressure: f64) {
        self.engine.set_fixed_pressure(0, node, pressure);
    }

    /// Forgets the last solution: the next solve starts from a linearised network.
    pub fn reset(&mut self) {
        self.engine.reset(0);
    }

    /// Starts the next solve from these pressures (Pa), one for each node of the network by
    /// [`NodeId::index`]; those of fixed nodes are not used. A list of another length or with a
    /// number that is not finite counts as [`reset`](Self::reset).
    pub fn set_start(&mut self, pressures: &[f64]) {
        self.engine.set_start(0, pressures);
    }

    /// Solves for the pressures, starting from the last solution if there is one, by at least one
    /// step of Newton's method.
    ///
    /// # Errors
    /// [`NotConverged`] if the tolerance is not met after
    /// [`MAX_ITERATIONS`](crate::MAX_ITERATIONS) steps. For a network that [`Network::check`]
    /// accepts that is a fault of this solver.
    pub fn solve(&mut self) -> Result<Report, NotConverged> {
        self.engine.solve();
        self.engine.result(0)
    }

    /// Solves, lets `update` change the laws and drives that follow the flows, and solves again
    /// until the change that `update` returns is at most `tolerance`, in at most `max_passes`
    /// solves. The last solve belongs to the coefficients that the last but one call of `update`
    /// set: they differ from the final ones by no more than `tolerance`.
    ///
    /// # Errors
    /// A failed solve, a refused value, or coefficients that do not settle; the solver then holds
    /// the solution of the last pass.
    pub fn solve_lagged(
        &mut self,
        max_passes: usize,
        tolerance: f64,
        mut update: impl FnMut(&mut Self) -> Result<f64, NetworkError>,
    ) -> Result<LaggedReport, LaggedError> {
        let mut passes = 0;
        loop {
            let last = self.solve()?;
            passes += 1;
            let change = update(self)?;
            let report = LaggedReport {
                passes,
                change,
                last,
            };
            if change <= tolerance {
                return Ok(report);
            }
            if passes >= max_passes {
                return Err(LaggedError::NotSettled(report));
            }
        }
    }

    /// Pressure of a node (Pa).
    pub fn pressure(&self, node: NodeId) -> f64 {
        self.engine.pressure(0, node)
    }

    /// Pressures of all nodes (Pa), by [`NodeId::index`].
    pub fn pressures(&self) -> impl ExactSizeIterator<Item = f64> + '_ {
        let nodes = self.network().node_ids();
        nodes.map(|node| self.engine.pressure(0, node))
    }

    /// Mass flow through an element (kg/s), positive in its direction.
    pub fn mass_flow(&self, element: ElementId) -> f64 {
        self.engine.mass_flow(0, element)
    }

    /// Slope of the law of an element at the solution (kg/(s·Pa)).
    pub fn slope(&self, element: ElementId) -> f64 {
        self.engine.slope(0, element)
    }

    /// Pressure difference that drives an element (Pa): `p_from − p_to + drive`.
    pub fn pressure_difference(&self, element: ElementId) -> f64 {
        self.engine.pressure_difference(0, element)
    }

    /// Derivatives of all pressures (Pa per unit, by [`NodeId::index`], 0 for fixed nodes) by a
    /// parameter of one element, given the derivative of its mass flow by that parameter at a
    /// fixed pressure difference. A drive has the derivative [`slope`](Self::slope).
    ///
    /// Costs one substitution, and one elimination after a new solution.
    ///
    /// # Panics
    /// If `out` is shorter than the number of nodes.
    pub fn pressure_sensitivity(
        &mut self,
        element: ElementId,
        dmass_dparameter: f64,
        out: &mut [f64],
    ) {
        self.engine
            .pressure_sensitivity(0, element, dmass_dparameter, out);
    }
}
