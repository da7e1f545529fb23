//! The solver for several networks of one topology side by side.

use crate::engine::Engine;
use crate::error::NetworkError;
use crate::law::Law;
use crate::network::{ElementId, Network, NodeId};
use crate::report::{NotConverged, Report};

/// Number of networks that a [`BatchSolver`] solves side by side.
pub const LANES: usize = 8;

/// Networks of one topology, such as the operating cases of one plan, solved side by side in the
/// lanes of vector registers.
///
/// Values and kinds of laws may differ from lane to lane, and an element may be open in one and
/// shut in another. Each lane converges on its own and gives the same result whatever the others
/// do. Where all lanes have the same kind of leak, resistance or quadratic fan the arithmetic runs
/// in vectors; ducts and fans by points are computed lane by lane.
///
/// ```
/// use airflow::{BatchSolver, LANES, Law, Network};
/// let mut network = Network::new();
/// let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
/// let house = network.node("house", 1.2);
/// let leak = Law::Leak { coefficient: 0.02, exponent: 0.65 };
/// network.element("leak", outdoors, house, leak);
/// let mut solver = BatchSolver::new(&network)?;
/// for lane in 0..LANES {
///     solver.set_injection(lane, house, -0.01 * lane as f64);
/// }
/// for (lane, report) in solver.solve().into_iter().enumerate() {
///     report?;
///     let expected = -(0.01 * lane as f64 / 0.024).powf(1.0 / 0.65);
///     assert!((solver.pressure(lane, house) - expected).abs() < 1e-6);
/// }
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct BatchSolver {
    engine: Engine<LANES>,
}

impl BatchSolver {
    /// Checks a network and prepares it for all lanes.
    ///
    /// # Errors
    /// Everything that [`Network::check`] refuses.
    pub fn new(network: &Network) -> Result<Self, NetworkError> {
        Ok(Self {
            engine: Engine::new(network)?,
        })
    }

    /// The network of a lane with its present values.
    ///
    /// # Panics
    /// If `lane` is not below [`LANES`]; so do all methods here.
    pub fn network(&self, lane: usize) -> &Network {
        self.engine.network(lane)
    }

    /// Reads all values of a lane from a network of the same nodes and elements, see
    /// [`Solver::update`](crate::Solver::update).
    ///
    /// # Errors
    /// Everything that [`Network::check`] refuses, and another topology; the lane then keeps its
    /// old values.
    pub fn update(&mut self, lane: usize, network: &Network) -> Result<(), NetworkError> {
        self.engine.update(lane, network)
    }

    /// Sets the drive (Pa) of an element in one lane.
    pub fn set_drive(&mut self, lane: usize, element: ElementId, pascals: f64) {
        self.engine.set_drive(lane, element, pascals);
    }

    /// Replaces the law of an element in one lane, see
    /// [`Solver::set_law`](crate::Solver::set_law).
    ///
    /// # Errors
    /// A number of the law that is out of range; the old law then stays.
    pub fn set_law(
        &mut self,
        lane: usize,
        element: ElementId,
        law: Law,
    ) -> Result<(), NetworkError> {
        self.engine.set_law(lane, element, law)
    }

    /// Sets the mass flow (kg/s) put into a node in one lane.
    pub fn set_injection(&mut self, lane: usize, node: NodeId, mass_flow: f64) {
        self.engine.set_injection(lane, node, mass_flow);
    }

    /// Sets the density (kg/m³) of the air in a node in one lane.
    pub fn set_density(&mut self, lane: usize, node: NodeId, density: f64) {
        self.engine.set_density(lane, node, density);
    }

    /// Sets the pressure (Pa) of a node with a fixed pressure in one lane.
    pub fn set_fixed_pressure(&mut self, lane: usize, node: NodeId, pressure: f64) {
        self.engine.set_fixed_pressure(lane, node, pressure);
    }

    /// Forgets the last solution of a lane.
    pub fn reset(&mut self, lane: usize) {
        self.engine.reset(lane);
    }

    /// Starts the next solve of a lane from these pressures, see
    /// [`Solver::set_start`](crate::Solver::set_start).
    pub fn set_start(&mut self, lane: usize, pressures: &[f64]) {
        self.engine.set_start(lane, pressures);
    }

    /// Solves all lanes, each from its last solution if there is one.
    ///
    /// # Errors
    /// Per lane, see [`Solver::solve`](crate::Solver::solve).
    pub fn solve(&mut self) -> [Result<Report, NotConverged>; LANES] {
        self.engine.solve();
        std::array::from_fn(|lane| self.engine.result(lane))
    }

    /// Pressure of a node (Pa) in a lane.
    pub fn pressure(&self, lane: usize, node: NodeId) -> f64 {
        self.engine.pressure(lane, node)
    }

    /// Mass flow through an element (kg/s) in a lane, positive in its direction.
    pub fn mass_flow(&self, lane: usize, element: ElementId) -> f64 {
        self.engine.mass_flow(lane, element)
    }

    /// Pressure difference that drives an element (Pa) in a lane: `p_from − p_to + drive`.
    pub fn pressure_difference(&self, lane: usize, element: ElementId) -> f64 {
        self.engine.pressure_difference(lane, element)
    }
}
