//! Newton's method on the convex co-content of a network.

use std::error::Error;
use std::fmt;
use std::ops::Range;

use crate::dispatch::{Instructions, dispatched};
use crate::elimination::{Elimination, Slot};
use crate::error::NetworkError;
use crate::kernels;
use crate::law::{Class, Law};
use crate::line_search::LineSearch;
use crate::network::{ElementId, Network, NodeId, check_element};

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

/// After so many steps each one must certainly lower the co-content.
const CAREFUL_AFTER: usize = 25;

/// Bound on the number of lengths tried along one step: after so many the differences are below
/// rounding and any length does.
const MAX_TRIES: u32 = 60;

/// The same in the first steps in which the flows balance, where little more than rounding is left
/// in most networks. What then still moves is searched for with patience.
const BALANCED_TRIES: u32 = 4;
const FIRST_BALANCED: usize = 4;

/// After so many steps in which all flows balance, rounding alone is what still moves pressures.
const MOST_BALANCED: usize = 20;

/// The elements that end in a fixed node are shared out among so many positions of it: adding to
/// one place many times in a row stalls the processor.
const SPREAD: usize = 4;

/// Slots of a kernel come in multiples of this, the rest filled with elements that do nothing.
const PADDING: usize = 4;

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

/// How passes of [`Solver::solve_lagged`] went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LaggedReport {
    /// Number of solves.
    pub passes: usize,
    /// Change of the lagged coefficients in the last pass, as the closure measures it.
    pub change: f64,
    /// Report of the last solve.
    pub last: Report,
}

/// Why [`Solver::solve_lagged`] has no answer.
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
    network: Network,
    instructions: Instructions,
    elimination: Elimination,
    /// Elimination position of each node; fixed nodes come after the last, [`SPREAD`] positions
    /// for each.
    position: Vec<usize>,
    /// Node at each position.
    node_at: Vec<NodeId>,
    /// Pressure (Pa) at each position.
    pressure: Vec<f64>,
    /// No solution to start from yet.
    cold: bool,
    elements: Elements,
    /// Mass flow put in, by position.
    injection: Vec<f64>,
    /// Mass flow out of each position less that put in.
    imbalance: Vec<f64>,
    /// Newton step of the pressure at each position, 0 for fixed nodes.
    step: Vec<f64>,
    /// Conductances and right-hand sides, and one more that takes what joins two fixed nodes.
    values: Vec<f64>,
    factors: Vec<f64>,
    /// The factors belong to the slopes of the present solution.
    factors_current: bool,
}

/// The elements as arrays, ordered by the kernel that computes them.
#[derive(Debug, Clone, Default)]
struct Elements {
    /// Slot of each element.
    slot: Vec<usize>,
    classes: Vec<Class>,
    leaks: Range<usize>,
    resistances: Range<usize>,
    /// The elements of class [`Class::Other`] and the slot of the first.
    others: Vec<ElementId>,
    first_other: usize,
    /// Coefficients by sign of the pressure difference.
    forward: Vec<f64>,
    reverse: Vec<f64>,
    /// Exponent of a leak, linear coefficient of a resistance.
    shape: Vec<f64>,
    /// Density in a resistance.
    density: Vec<f64>,
    /// Pressure difference below which the flow is laminar.
    laminar: Vec<f64>,
    /// Drive, and rise at rest of a fan.
    drive: Vec<f64>,
    /// The straight line from which a solve without a start begins: flow at no pressure
    /// difference, and slope.
    line_flow: Vec<f64>,
    line_slope: Vec<f64>,
    /// Positions of the two ends.
    from: Vec<u32>,
    to: Vec<u32>,
    /// Where the slope is added.
    conductance: Vec<Slot>,
    /// Pressure difference with drive, at the iterate and at the trial point.
    difference: Vec<f64>,
    trial: Vec<f64>,
    /// Newton step of the pressure difference.
    step: Vec<f64>,
    flow: Vec<f64>,
    slope: Vec<f64>,
}

impl Solver {
    /// Checks a network and prepares it.
    ///
    /// # Errors
    /// Everything that [`Network::check`] refuses.
    pub fn new(network: &Network) -> Result<Self, NetworkError> {
        network.check()?;
        let nodes = network.nodes();
        let unknowns: Vec<NodeId> = network
            .node_ids()
            .filter(|node| nodes[node.index()].fixed_pressure.is_none())
            .collect();
        let size = unknowns.len();
        let mut unknown = vec![size; nodes.len()];
        for (at, node) in unknowns.iter().enumerate() {
            unknown[node.index()] = at;
        }
        let edges: Vec<(usize, usize)> = network
            .elements()
            .iter()
            .map(|element| (unknown[element.from.index()], unknown[element.to.index()]))
            .filter(|&(from, to)| from < size && to < size)
            .collect();
        let elimination = Elimination::new(size, &edges, true);
        let mut node_at = unknowns.clone();
        let mut position = vec![0; nodes.len()];
        for (at, node) in unknowns.iter().enumerate() {
            position[node.index()] = elimination.position(at);
            node_at[elimination.position(at)] = *node;
        }
        let mut positions = size;
        for (node, position) in nodes.iter().zip(&mut position) {
            if node.fixed_pressure.is_some() {
                *position = positions;
                positions += SPREAD;
            }
        }
        // Elements that only fill up a kernel join the last position to itself.
        let positions = positions + 1;
        let mut solver = Self {
            instructions: Instructions::detect(),
            position,
            node_at,
            pressure: vec![0.0; positions],
            cold: true,
            elements: Elements::default(),
            injection: vec![0.0; size],
            imbalance: vec![0.0; positions],
            step: vec![0.0; positions],
            values: vec![0.0; elimination.value_count() + 1],
            factors: vec![0.0; elimination.factor_count()],
            factors_current: false,
            elimination,
            network: network.clone(),
        };
        solver.lay_out();
        solver.read_all();
        Ok(solver)
    }

    /// The network with its present values.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Reads all values again from a network of the same nodes and elements; kinds of laws may
    /// differ. The pressures found so far stay as the start of the next solve.
    ///
    /// # Errors
    /// Everything that [`Network::check`] refuses, and another topology; the solver then keeps its
    /// old values.
    pub fn update(&mut self, network: &Network) -> Result<(), NetworkError> {
        let (old, new) = (&self.network, network);
        let same_nodes = old.nodes().len() == new.nodes().len()
            && old
                .nodes()
                .iter()
                .zip(new.nodes())
                .all(|(old, new)| old.fixed_pressure.is_some() == new.fixed_pressure.is_some());
        let same_elements = old.elements().len() == new.elements().len()
            && old
                .elements()
                .iter()
                .zip(new.elements())
                .all(|(old, new)| (old.from, old.to) == (new.from, new.to));
        if !(same_nodes && same_elements) {
            return Err(NetworkError::OtherTopology);
        }
        network.check()?;
        self.network.clone_from(network);
        let classes = &self.elements.classes;
        let fits = |(element, class): (&crate::Element, &Class)| element.law.fits(*class);
        if !self.network.elements().iter().zip(classes).all(fits) {
            self.lay_out();
        }
        self.read_all();
        Ok(())
    }

    /// Sets the drive (Pa) of one element, see [`Network::set_drive`]. A drive that is not finite
    /// makes the next solve fail.
    pub fn set_drive(&mut self, element: ElementId, pascals: f64) {
        self.network.set_drive(element, pascals);
        self.read_element(element);
    }

    /// Replaces the law of one element.
    ///
    /// # Errors
    /// A number of the law that is out of range; the old law then stays. Whether fans now form a
    /// closed loop is checked only by [`new`](Self::new) and [`update`](Self::update).
    pub fn set_law(&mut self, element: ElementId, law: Law) -> Result<(), NetworkError> {
        let old = &self.network.elements()[element.index()];
        let mut changed = crate::Element {
            name: String::new(),
            law,
            ..*old
        };
        if let Err(mut error) = check_element(&changed) {
            if let NetworkError::ElementValue { element, .. } = &mut error {
                element.clone_from(&old.name);
            }
            return Err(error);
        }
        let law = std::mem::replace(&mut changed.law, Law::Shut { conductance: 1.0 });
        let fits = law.fits(self.elements.classes[element.index()]);
        self.network.set_law(element, law);
        if fits {
            self.read_element(element);
        } else {
            self.lay_out();
            self.read_all();
        }
        Ok(())
    }

    /// Sets the mass flow (kg/s) put into a node, see [`Network::set_injection`].
    pub fn set_injection(&mut self, node: NodeId, mass_flow: f64) {
        self.network.set_injection(node, mass_flow);
        if let Some(injection) = self.injection.get_mut(self.position[node.index()]) {
            *injection = mass_flow;
        }
    }

    /// Sets the density (kg/m³) of the air in a node. A density that is not above 0 makes the
    /// next solve fail.
    pub fn set_density(&mut self, node: NodeId, density: f64) {
        self.network.set_density(node, density);
        for id in self.network.element_ids() {
            let element = &self.network.elements()[id.index()];
            if element.from == node || element.to == node {
                self.read_element(id);
            }
        }
    }

    /// Forgets the last solution: the next solve starts from a linearised network.
    pub fn reset(&mut self) {
        self.cold = true;
    }

    /// Starts the next solve from these pressures (Pa), one for each node of the network by
    /// [`NodeId::index`]; those of fixed nodes are not used. A list of another length or with a
    /// number that is not finite counts as [`reset`](Self::reset).
    pub fn set_start(&mut self, pressures: &[f64]) {
        let nodes = self.position.len();
        if pressures.len() == nodes && pressures.iter().all(|pressure| pressure.is_finite()) {
            for (pressure, node) in self.pressure.iter_mut().zip(&self.node_at) {
                *pressure = pressures[node.index()];
            }
            self.cold = false;
        } else {
            self.cold = true;
        }
    }

    /// Solves for the pressures, starting from the last solution if there is one.
    ///
    /// # Errors
    /// [`NotConverged`] if the tolerance is not met after [`MAX_ITERATIONS`] steps. For a network
    /// that [`Network::check`] accepts that is a fault of this solver.
    pub fn solve(&mut self) -> Result<Report, NotConverged> {
        dispatched!(
            self.instructions,
            Solver::newton,
            self,
            &mut Solver => Result<Report, NotConverged>
        )
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
        self.pressure[self.position[node.index()]]
    }

    /// Pressures of all nodes (Pa), by [`NodeId::index`].
    pub fn pressures(&self) -> impl ExactSizeIterator<Item = f64> + '_ {
        self.position
            .iter()
            .map(|&position| self.pressure[position])
    }

    /// Mass flow through an element (kg/s), positive in its direction.
    pub fn mass_flow(&self, element: ElementId) -> f64 {
        self.elements.flow[self.elements.slot[element.index()]]
    }

    /// Slope of the law of an element at the solution (kg/(s·Pa)).
    pub fn slope(&self, element: ElementId) -> f64 {
        self.elements.slope[self.elements.slot[element.index()]]
    }

    /// Pressure difference that drives an element (Pa): `p_from − p_to + drive`.
    pub fn pressure_difference(&self, element: ElementId) -> f64 {
        let own = &self.network.elements()[element.index()];
        let slot = self.elements.slot[element.index()];
        // What the kernel sees includes the rise of a fan.
        self.elements.difference[slot] - (self.elements.drive[slot] - own.drive)
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
        let own = &self.network.elements()[element.index()];
        let (from, to) = (own.from, own.to);
        let size = self.elimination.size();
        if !self.factors_current {
            self.assemble();
            self.elimination
                .solve(&mut self.values, &mut self.factors, &mut self.step[..size]);
            self.factors_current = true;
        }
        self.step.fill(0.0);
        self.step[self.position[from.index()]] -= dmass_dparameter;
        self.step[self.position[to.index()]] += dmass_dparameter;
        self.step[size..].fill(0.0);
        self.elimination
            .resolve(&self.values, &self.factors, &mut self.step[..size]);
        for (out, &position) in out[..self.position.len()].iter_mut().zip(&self.position) {
            *out = self.step[position];
        }
    }

    /// Assigns slots to the elements by class.
    fn lay_out(&mut self) {
        let network = &self.network;
        let elements = &mut self.elements;
        // An element stays where it is as long as its kernel can compute it, so that shutting and
        // opening does not move it to and fro.
        let old = std::mem::take(&mut elements.classes);
        let class = |(at, element): (usize, &crate::Element)| match old.get(at) {
            Some(&old) if element.law.fits(old) => old,
            _ => element.law.class(),
        };
        elements.classes = network.elements().iter().enumerate().map(class).collect();
        let classes = &elements.classes;
        let of_class = |class: Class| {
            let ids = network.element_ids();
            ids.filter(move |id| classes[id.index()] == class)
        };
        let mut slot = vec![0; network.elements().len()];
        let mut next = 0usize;
        let mut place = |class: Class| {
            let start = next;
            for id in of_class(class) {
                slot[id.index()] = next;
                next += 1;
            }
            next = next.next_multiple_of(PADDING);
            start..next
        };
        elements.leaks = place(Class::Leak);
        elements.resistances = place(Class::Resistance);
        elements.first_other = elements.resistances.end;
        let slots = place(Class::Other).end;
        elements.others = of_class(Class::Other).collect();
        elements.slot = slot;
        for array in [
            &mut elements.forward,
            &mut elements.reverse,
            &mut elements.shape,
            &mut elements.density,
            &mut elements.laminar,
            &mut elements.drive,
            &mut elements.line_flow,
            &mut elements.line_slope,
            &mut elements.difference,
            &mut elements.trial,
            &mut elements.step,
            &mut elements.flow,
            &mut elements.slope,
        ] {
            array.clear();
            array.resize(slots, 0.0);
        }
        elements.shape.fill(1.0);
        elements.laminar.fill(1.0);
        let size = self.elimination.size();
        let nowhere = self.elimination.value_count() as Slot;
        let last = self.pressure.len() as u32 - 1;
        elements.from = vec![last; slots];
        elements.to = vec![last; slots];
        elements.conductance = vec![nowhere; slots];
        let position = |node: NodeId, slot: usize| match self.position[node.index()] {
            position if position < size => position,
            position => position + slot % SPREAD,
        };
        for (element, &slot) in network.elements().iter().zip(&elements.slot) {
            let from = position(element.from, slot);
            let to = position(element.to, slot);
            elements.from[slot] = from as u32;
            elements.to[slot] = to as u32;
            elements.conductance[slot] = match (from < size, to < size) {
                (true, true) => self.elimination.between(from, to),
                (true, false) => self.elimination.ground(from),
                (false, true) => self.elimination.ground(to),
                (false, false) => nowhere,
            };
        }
    }

    /// Reads all values from the network.
    fn read_all(&mut self) {
        for (node, &position) in self.network.nodes().iter().zip(&self.position) {
            if let Some(fixed) = node.fixed_pressure {
                self.pressure[position..position + SPREAD].fill(fixed);
            }
        }
        for (injection, node) in self.injection.iter_mut().zip(&self.node_at) {
            *injection = self.network.nodes()[node.index()].injection;
        }
        for element in self.network.element_ids() {
            self.read_element(element);
        }
    }

    fn read_element(&mut self, id: ElementId) {
        let element = &self.network.elements()[id.index()];
        let nodes = self.network.nodes();
        let from = nodes[element.from.index()].density;
        let to = nodes[element.to.index()].density;
        let slot = self.elements.slot[id.index()];
        let mut rise = 0.0;
        if self.elements.leaks.contains(&slot) {
            let leak = element.law.leak(from, to);
            self.elements.forward[slot] = leak.forward;
            self.elements.reverse[slot] = leak.reverse;
            self.elements.shape[slot] = leak.exponent;
            self.elements.laminar[slot] = leak.laminar;
        } else if self.elements.resistances.contains(&slot) {
            let resistance = element.law.resistance();
            self.elements.shape[slot] = resistance.linear;
            self.elements.forward[slot] = resistance.forward;
            self.elements.reverse[slot] = resistance.reverse;
            self.elements.density[slot] = resistance.density;
            self.elements.laminar[slot] = resistance.laminar;
            rise = resistance.rise;
        }
        self.elements.drive[slot] = element.drive + rise;
        let (flow, slope) = element.law.line(from, to);
        self.elements.line_flow[slot] = flow - slope * rise;
        self.elements.line_slope[slot] = slope;
    }

    /// Newton's method with a line search; see the front page of this crate.
    #[inline(always)]
    fn newton(&mut self) -> Result<Report, NotConverged> {
        self.factors_current = false;
        let mut iterations = 0;
        let mut evaluations = 0;
        self.spread();
        if self.cold {
            self.linearise();
            self.find_step();
            self.accept();
            self.try_step(1.0);
            self.advance(1.0);
            iterations = 1;
            self.cold = false;
        }
        self.evaluate();
        evaluations += 1;
        let mut residual = self.residual();
        let mut balanced = 0;
        while iterations < MAX_ITERATIONS {
            self.accept();
            let descent = self.find_step();
            iterations += 1;
            let mut search = LineSearch::new(descent, iterations > CAREFUL_AFTER);
            loop {
                self.try_step(search.length());
                self.evaluate();
                evaluations += 1;
                residual = self.residual();
                let most = if balanced < FIRST_BALANCED && self.balanced(residual) {
                    BALANCED_TRIES
                } else {
                    MAX_TRIES
                };
                if search.accepts(self.directional(), most) {
                    break;
                }
            }
            let full_step = self.advance(search.length());
            if self.balanced(residual) {
                balanced += 1;
                if self.settled(full_step) || balanced == MOST_BALANCED {
                    self.accept();
                    return Ok(self.report(iterations, evaluations, residual));
                }
            }
        }
        let report = self.report(iterations, evaluations, residual);
        self.cold = true;
        Err(NotConverged {
            worst_node: report
                .worst_node
                .map(|node| self.network.nodes()[node.index()].name.clone())
                .unwrap_or_default(),
            report,
        })
    }

    fn report(&self, iterations: usize, evaluations: usize, residual: f64) -> Report {
        let size = self.elimination.size();
        let worst =
            (0..size).max_by(|&a, &b| self.imbalance[a].abs().total_cmp(&self.imbalance[b].abs()));
        Report {
            iterations,
            evaluations,
            residual,
            worst_node: worst.map(|at| self.node_at[at]),
        }
    }

    /// Pressure differences of all elements, as the trial point, from the pressures of the nodes.
    #[inline(always)]
    fn spread(&mut self) {
        let elements = &mut self.elements;
        let ends = elements.from.iter().zip(&elements.to).zip(&elements.drive);
        for (trial, ((&from, &to), drive)) in elements.trial.iter_mut().zip(ends) {
            *trial = self.pressure[from as usize] - self.pressure[to as usize] + drive;
        }
    }

    /// Makes the trial point the iterate.
    #[inline(always)]
    fn accept(&mut self) {
        std::mem::swap(&mut self.elements.difference, &mut self.elements.trial);
    }

    /// Flows, slopes and imbalances of straight lines in place of the laws.
    #[inline(always)]
    fn linearise(&mut self) {
        let elements = &mut self.elements;
        elements.slope.copy_from_slice(&elements.line_slope);
        let lines = elements.line_flow.iter().zip(&elements.line_slope);
        let lines = lines.zip(&elements.trial);
        for (flow, ((at_rest, slope), difference)) in elements.flow.iter_mut().zip(lines) {
            *flow = at_rest + slope * difference;
        }
        self.balance();
    }

    /// Flows, slopes and imbalances at the trial point.
    #[inline(always)]
    fn evaluate(&mut self) {
        let elements = &mut self.elements;
        kernels::leaks(
            &elements.trial[elements.leaks.clone()],
            &elements.forward[elements.leaks.clone()],
            &elements.reverse[elements.leaks.clone()],
            &elements.shape[elements.leaks.clone()],
            &elements.laminar[elements.leaks.clone()],
            &mut elements.flow[elements.leaks.clone()],
            &mut elements.slope[elements.leaks.clone()],
        );
        let range = elements.resistances.clone();
        kernels::resistances(
            &elements.trial[range.clone()],
            &elements.shape[range.clone()],
            &elements.forward[range.clone()],
            &elements.reverse[range.clone()],
            &elements.density[range.clone()],
            &elements.laminar[range.clone()],
            &mut elements.flow[range.clone()],
            &mut elements.slope[range],
        );
        let nodes = self.network.nodes();
        for (id, slot) in elements.others.iter().zip(elements.first_other..) {
            let element = &self.network.elements()[id.index()];
            let (flow, slope) = element.law.mass_flow(
                elements.trial[slot],
                nodes[element.from.index()].density,
                nodes[element.to.index()].density,
            );
            elements.flow[slot] = flow;
            elements.slope[slot] = slope;
        }
        self.balance();
    }

    /// Imbalances of the present flows.
    #[inline(always)]
    fn balance(&mut self) {
        for (imbalance, injection) in self.imbalance.iter_mut().zip(&self.injection) {
            *imbalance = -injection;
        }
        let elements = &self.elements;
        let ends = elements.from.iter().zip(&elements.to);
        for (flow, (&from, &to)) in elements.flow.iter().zip(ends) {
            self.imbalance[from as usize] += flow;
            self.imbalance[to as usize] -= flow;
        }
    }

    /// Conductances and right-hand sides of the Newton step.
    #[inline(always)]
    fn assemble(&mut self) {
        self.values.fill(0.0);
        let elements = &self.elements;
        for (slope, &slot) in elements.slope.iter().zip(&elements.conductance) {
            self.values[slot as usize] += slope;
        }
        for position in 0..self.elimination.size() {
            let slot = self.elimination.right_side(position);
            self.values[slot as usize] = -self.imbalance[position];
        }
    }

    /// Newton step of pressures and pressure differences; returns the slope of the co-content
    /// along it, which is negative.
    #[inline(always)]
    fn find_step(&mut self) -> f64 {
        self.assemble();
        let size = self.elimination.size();
        self.elimination
            .solve(&mut self.values, &mut self.factors, &mut self.step[..size]);
        let elements = &mut self.elements;
        let ends = elements.from.iter().zip(&elements.to);
        for (step, (&from, &to)) in elements.step.iter_mut().zip(ends) {
            *step = self.step[from as usize] - self.step[to as usize];
        }
        self.directional()
    }

    /// Slope of the co-content along the step, from the present imbalances.
    #[inline(always)]
    fn directional(&self) -> f64 {
        let size = self.elimination.size();
        self.step[..size]
            .iter()
            .zip(&self.imbalance[..size])
            .map(|(step, imbalance)| step * imbalance)
            .sum()
    }

    #[inline(always)]
    fn try_step(&mut self, length: f64) {
        let elements = &mut self.elements;
        let pairs = elements.difference.iter().zip(&elements.step);
        for (trial, (difference, step)) in elements.trial.iter_mut().zip(pairs) {
            *trial = difference + length * step;
        }
    }

    /// Moves the pressures along the step; returns the largest change (Pa) of the full step.
    #[inline(always)]
    fn advance(&mut self, length: f64) -> f64 {
        let mut largest: f64 = 0.0;
        let size = self.elimination.size();
        for (pressure, step) in self.pressure[..size].iter_mut().zip(&self.step) {
            *pressure += length * step;
            largest = largest.max(step.abs());
        }
        largest
    }

    /// Largest imbalance; not a number if one of them is not.
    #[inline(always)]
    fn residual(&self) -> f64 {
        let size = self.elimination.size();
        let mut largest = 0.0;
        for imbalance in &self.imbalance[..size] {
            let imbalance = imbalance.abs();
            largest = if imbalance <= largest {
                largest
            } else {
                imbalance
            };
        }
        largest
    }

    #[inline(always)]
    fn balanced(&self, residual: f64) -> bool {
        residual <= RESIDUAL
            || (residual < 1.0 && residual <= RELATIVE_RESIDUAL * self.largest_flow())
    }

    /// Whether the pressures are accurate, given the size of the last step (Pa).
    #[inline(always)]
    fn settled(&mut self, last_step: f64) -> bool {
        let size = self.elimination.size();
        let pressures = self.pressure.iter();
        let highest = pressures.fold(0.0, |highest: f64, pressure| highest.max(pressure.abs()));
        let allowed = PRESSURE_ERROR.max(RELATIVE_PRESSURE_ERROR * highest);
        if last_step <= allowed {
            return true;
        }
        // The next step, by the factors of the last one.
        for (next, imbalance) in self.step[..size].iter_mut().zip(&self.imbalance) {
            *next = -imbalance;
        }
        self.elimination
            .resolve(&self.values, &self.factors, &mut self.step[..size]);
        self.step[..size].iter().all(|next| next.abs() <= allowed)
    }

    fn largest_flow(&self) -> f64 {
        let flows = self.elements.flow.iter();
        flows.fold(0.0, |largest: f64, flow| largest.max(flow.abs()))
    }
}
