//! Newton's method on the convex co-content, for one network or for several of one topology side by
//! side in the lanes of vectors.
//!
//! All numbers are held per lane, `[f64; L]`. Every lane goes its own way: it has its own step
//! length and stops on its own, so its result does not depend on its neighbours.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes look alike, and turn into vector code, when all are written by index"
)]

use std::ops::Range;

use crate::dispatch::{Instructions, dispatched};
use crate::elimination::{Elimination, Factors, Slot};
use crate::error::NetworkError;
use crate::kernels;
use crate::lanes::lanes;
use crate::law::{Class, Law};
use crate::line_search::LineSearch;
use crate::network::{Element, ElementId, Network, NodeId, check_element};
use crate::report::{
    MAX_ITERATIONS, NotConverged, PRESSURE_ERROR, RELATIVE_PRESSURE_ERROR, RELATIVE_RESIDUAL,
    RESIDUAL, Report,
};

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

/// Slots of a kernel come in multiples of this where vectors run across slots, the rest filled with
/// elements that do nothing.
const PADDING: usize = 4;

/// The state of L networks of one topology.
#[derive(Debug, Clone)]
pub(crate) struct Engine<const L: usize> {
    /// The values of each lane.
    networks: Vec<Network>,
    instructions: Instructions,
    elimination: Elimination,
    /// Elimination position of each node; fixed nodes come after the last, [`SPREAD`] positions
    /// for each.
    position: Vec<usize>,
    /// Node at each position.
    node_at: Vec<NodeId>,
    /// Pressure (Pa) at each position.
    pressure: Vec<[f64; L]>,
    /// No solution to start from yet.
    cold: [bool; L],
    layout: Layout,
    columns: Columns<L>,
    /// Mass flow put in, by position.
    injection: Vec<[f64; L]>,
    /// Mass flow out of each position less that put in.
    imbalance: Vec<[f64; L]>,
    /// Newton step of the pressure at each position, 0 for fixed nodes.
    step: Vec<[f64; L]>,
    /// A solution of the linear system, by position.
    solution: Vec<[f64; L]>,
    /// Conductances and right-hand sides, and one more that takes what joins two fixed nodes.
    values: Vec<[f64; L]>,
    factors: Factors<L>,
    /// The factors belong to the slopes of the present solution.
    factors_current: bool,
    progress: [Progress; L],
}

/// Where each element is computed.
#[derive(Debug, Clone, Default)]
struct Layout {
    /// Slot of each element.
    slot: Vec<usize>,
    class: Vec<Class>,
    leaks: Range<usize>,
    resistances: Range<usize>,
    /// The elements of class [`Class::Other`] and the slot of the first.
    others: Vec<ElementId>,
    first_other: usize,
    /// Positions of the two ends, by slot.
    from: Vec<u32>,
    to: Vec<u32>,
    /// Where the slope is added, by slot.
    conductance: Vec<Slot>,
}

/// Numbers of all slots.
#[derive(Debug, Clone)]
struct Columns<const L: usize> {
    /// Coefficients by sign of the pressure difference.
    forward: Vec<[f64; L]>,
    reverse: Vec<[f64; L]>,
    /// Exponent of a leak, linear coefficient of a resistance.
    shape: Vec<[f64; L]>,
    /// Density in a resistance.
    density: Vec<[f64; L]>,
    /// Pressure difference below which the flow is laminar, and one over it.
    laminar: Vec<[f64; L]>,
    per_laminar: Vec<[f64; L]>,
    /// Drive, and rise at rest of a fan.
    drive: Vec<[f64; L]>,
    /// The straight line from which a solve without a start begins: flow at no pressure
    /// difference, and slope; and whether it is that of the present law.
    line_flow: Vec<[f64; L]>,
    line_slope: Vec<[f64; L]>,
    line_known: Vec<[bool; L]>,
    /// Pressure difference with drive, at the iterate and at the trial point.
    difference: Vec<[f64; L]>,
    trial: Vec<[f64; L]>,
    /// Newton step of the pressure difference.
    step: Vec<[f64; L]>,
    flow: Vec<[f64; L]>,
    slope: Vec<[f64; L]>,
}

impl<const L: usize> Columns<L> {
    fn new(slots: usize) -> Self {
        let zeros = vec![[0.0; L]; slots];
        let ones = vec![[1.0; L]; slots];
        Self {
            forward: zeros.clone(),
            reverse: zeros.clone(),
            shape: ones.clone(),
            density: zeros.clone(),
            laminar: ones.clone(),
            per_laminar: ones,
            drive: zeros.clone(),
            line_flow: zeros.clone(),
            line_slope: zeros.clone(),
            line_known: vec![[false; L]; slots],
            difference: zeros.clone(),
            trial: zeros.clone(),
            step: zeros.clone(),
            flow: zeros.clone(),
            slope: zeros,
        }
    }
}

/// How far a lane has come.
#[derive(Debug, Clone, Copy)]
struct Progress {
    running: bool,
    converged: bool,
    iterations: usize,
    evaluations: usize,
    /// Steps after which the flows balanced.
    balanced: usize,
    residual: f64,
    search: LineSearch,
}

impl Progress {
    fn start(cold: bool) -> Self {
        Self {
            running: true,
            converged: false,
            iterations: usize::from(cold),
            evaluations: 1,
            balanced: 0,
            residual: f64::NAN,
            search: LineSearch::new(0.0, false),
        }
    }
}

impl<const L: usize> Engine<L> {
    /// Checks the network and prepares it for all lanes.
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
        let elimination = Elimination::new(size, &edges, L == 1);
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
        let mut engine = Self {
            networks: vec![network.clone(); L],
            instructions: Instructions::detect(),
            position,
            node_at,
            pressure: vec![[0.0; L]; positions],
            cold: [true; L],
            layout: Layout::default(),
            columns: Columns::new(0),
            injection: vec![[0.0; L]; size],
            imbalance: vec![[0.0; L]; positions],
            step: vec![[0.0; L]; positions],
            solution: vec![[0.0; L]; size],
            values: vec![[0.0; L]; elimination.value_count() + 1],
            factors: elimination.factors(),
            factors_current: false,
            progress: [Progress::start(false); L],
            elimination,
        };
        engine.lay_out();
        Ok(engine)
    }

    /// The values of a lane.
    pub fn network(&self, lane: usize) -> &Network {
        &self.networks[lane]
    }

    /// Reads all values of a lane again.
    pub fn update(&mut self, lane: usize, network: &Network) -> Result<(), NetworkError> {
        let old = &self.networks[lane];
        let fixed = |network: &Network| -> Vec<bool> {
            let nodes = network.nodes().iter();
            nodes.map(|node| node.fixed_pressure.is_some()).collect()
        };
        let ends = |element: &Element| (element.from, element.to);
        let same = old.elements().len() == network.elements().len()
            && fixed(old) == fixed(network)
            && old
                .elements()
                .iter()
                .map(ends)
                .eq(network.elements().iter().map(ends));
        if !same {
            return Err(NetworkError::OtherTopology);
        }
        network.check()?;
        self.networks[lane].clone_from(network);
        let fits = |(element, class): (&Element, &Class)| element.law.fits(*class);
        if network.elements().iter().zip(&self.layout.class).all(fits) {
            self.read_lane(lane);
        } else {
            self.lay_out();
        }
        Ok(())
    }

    pub fn set_drive(&mut self, lane: usize, element: ElementId, pascals: f64) {
        self.networks[lane].set_drive(element, pascals);
        self.read_element(lane, element);
    }

    pub fn set_law(&mut self, lane: usize, id: ElementId, law: Law) -> Result<(), NetworkError> {
        let old = &self.networks[lane].elements()[id.index()];
        check_element(&old.name, &law, old.drive)?;
        let fits = law.fits(self.layout.class[id.index()]);
        self.networks[lane].set_law(id, law);
        if fits {
            self.read_element(lane, id);
        } else {
            self.lay_out();
        }
        Ok(())
    }

    pub fn set_injection(&mut self, lane: usize, node: NodeId, mass_flow: f64) {
        self.networks[lane].set_injection(node, mass_flow);
        if let Some(injection) = self.injection.get_mut(self.position[node.index()]) {
            injection[lane] = mass_flow;
        }
    }

    pub fn set_density(&mut self, lane: usize, node: NodeId, density: f64) {
        self.networks[lane].set_density(node, density);
        for id in self.networks[lane].element_ids() {
            let element = &self.networks[lane].elements()[id.index()];
            if element.from == node || element.to == node {
                self.read_element(lane, id);
            }
        }
    }

    pub fn set_fixed_pressure(&mut self, lane: usize, node: NodeId, pressure: f64) {
        self.networks[lane].set_fixed_pressure(node, pressure);
        self.read_pressures(lane);
    }

    pub fn reset(&mut self, lane: usize) {
        self.cold[lane] = true;
    }

    pub fn set_start(&mut self, lane: usize, pressures: &[f64]) {
        let fits = pressures.len() == self.position.len();
        self.cold[lane] = !(fits && pressures.iter().all(|pressure| pressure.is_finite()));
        if !self.cold[lane] {
            for (pressure, node) in self.pressure.iter_mut().zip(&self.node_at) {
                pressure[lane] = pressures[node.index()];
            }
        }
    }

    pub fn pressure(&self, lane: usize, node: NodeId) -> f64 {
        self.pressure[self.position[node.index()]][lane]
    }

    pub fn mass_flow(&self, lane: usize, element: ElementId) -> f64 {
        self.columns.flow[self.layout.slot[element.index()]][lane]
    }

    pub fn slope(&self, lane: usize, element: ElementId) -> f64 {
        self.columns.slope[self.layout.slot[element.index()]][lane]
    }

    pub fn pressure_difference(&self, lane: usize, element: ElementId) -> f64 {
        let own = &self.networks[lane].elements()[element.index()];
        let slot = self.layout.slot[element.index()];
        // What the kernel sees includes the rise of a fan.
        self.columns.difference[slot][lane] - (self.columns.drive[slot][lane] - own.drive)
    }

    /// Derivatives of the pressures in all lanes, by position in `step`, for a derivative of the
    /// flow of one element.
    fn sensitivity(&mut self, element: ElementId, dmass_dparameter: [f64; L]) {
        let own = &self.networks[0].elements()[element.index()];
        let (from, to) = (own.from, own.to);
        if !self.factors_current {
            self.eliminate();
            self.factors_current = true;
        }
        self.step.fill([0.0; L]);
        for lane in 0..L {
            self.step[self.position[from.index()]][lane] -= dmass_dparameter[lane];
            self.step[self.position[to.index()]][lane] += dmass_dparameter[lane];
        }
        let (unknown, fixed) = self.step.split_at_mut(self.elimination.size());
        fixed.fill([0.0; L]);
        self.elimination
            .resolve(&self.values, &self.factors, unknown);
    }

    /// Derivatives of the pressures of one lane by [`NodeId::index`].
    pub fn pressure_sensitivity(
        &mut self,
        lane: usize,
        element: ElementId,
        dmass_dparameter: f64,
        out: &mut [f64],
    ) {
        self.sensitivity(element, [dmass_dparameter; L]);
        for (out, &position) in out[..self.position.len()].iter_mut().zip(&self.position) {
            *out = self.step[position][lane];
        }
    }

    fn report(&self, lane: usize) -> (Report, bool) {
        let progress = &self.progress[lane];
        let imbalance = |at: usize| self.imbalance[at][lane].abs();
        let worst =
            (0..self.elimination.size()).max_by(|&a, &b| imbalance(a).total_cmp(&imbalance(b)));
        let report = Report {
            iterations: progress.iterations,
            evaluations: progress.evaluations,
            residual: progress.residual,
            worst_node: worst.map(|at| self.node_at[at]),
        };
        (report, progress.converged)
    }

    /// The report of a lane, or what is wrong with it.
    pub fn result(&self, lane: usize) -> Result<Report, NotConverged> {
        match self.report(lane) {
            (report, true) => Ok(report),
            (report, false) => Err(NotConverged {
                report,
                worst_node: report
                    .worst_node
                    .map(|node| self.networks[lane].nodes()[node.index()].name.clone())
                    .unwrap_or_default(),
            }),
        }
    }

    /// Assigns slots to the elements by class and reads all values.
    fn lay_out(&mut self) {
        let network = &self.networks[0];
        let count = network.elements().len();
        // An element stays where it is as long as its kernel can compute it in all lanes, so that
        // shutting and opening does not move it to and fro.
        let old = std::mem::take(&mut self.layout.class);
        let class = |at: usize| {
            let laws = || {
                self.networks
                    .iter()
                    .map(move |network| &network.elements()[at].law)
            };
            let own = laws().find(|law| !matches!(law, Law::Shut { .. }));
            let own = own.map_or(Class::Resistance, Law::class);
            let candidates = old.get(at).copied().into_iter().chain([own]);
            let mut fitting = candidates.filter(|&class| laws().all(|law| law.fits(class)));
            fitting.next().unwrap_or(Class::Other)
        };
        let classes: Vec<Class> = (0..count).map(class).collect();
        let of_class = |class: Class| {
            let ids = network.element_ids();
            let classes = &classes;
            ids.filter(move |id| classes[id.index()] == class)
        };
        let mut slot = vec![0; count];
        let mut next = 0usize;
        let mut place = |class: Class| {
            let start = next;
            for id in of_class(class) {
                slot[id.index()] = next;
                next += 1;
            }
            next = next.next_multiple_of(if L == 1 { PADDING } else { 1 });
            start..next
        };
        let leaks = place(Class::Leak);
        let resistances = place(Class::Resistance);
        let slots = place(Class::Other).end;
        let others = of_class(Class::Other).collect();
        let size = self.elimination.size();
        let nowhere = self.elimination.value_count() as Slot;
        let last = self.pressure.len() as u32 - 1;
        let mut from = vec![last; slots];
        let mut to = vec![last; slots];
        let mut conductance = vec![nowhere; slots];
        let position = |node: NodeId, slot: usize| match self.position[node.index()] {
            position if position < size => position,
            position => position + slot % SPREAD,
        };
        for (element, &slot) in network.elements().iter().zip(&slot) {
            let (a, b) = (position(element.from, slot), position(element.to, slot));
            from[slot] = a as u32;
            to[slot] = b as u32;
            conductance[slot] = match (a < size, b < size) {
                (true, true) => self.elimination.between(a, b),
                (true, false) => self.elimination.ground(a),
                (false, true) => self.elimination.ground(b),
                (false, false) => nowhere,
            };
        }
        self.layout = Layout {
            slot,
            class: classes,
            first_other: resistances.end,
            leaks,
            resistances,
            others,
            from,
            to,
            conductance,
        };
        self.columns = Columns::new(slots);
        for lane in 0..L {
            self.read_lane(lane);
        }
    }

    fn read_lane(&mut self, lane: usize) {
        self.read_pressures(lane);
        let network = &self.networks[lane];
        for (injection, node) in self.injection.iter_mut().zip(&self.node_at) {
            injection[lane] = network.nodes()[node.index()].injection;
        }
        for element in network.element_ids() {
            self.read_element(lane, element);
        }
    }

    fn read_pressures(&mut self, lane: usize) {
        for (node, &position) in self.networks[lane].nodes().iter().zip(&self.position) {
            if let Some(fixed) = node.fixed_pressure {
                for pressure in &mut self.pressure[position..position + SPREAD] {
                    pressure[lane] = fixed;
                }
            }
        }
    }

    fn read_element(&mut self, lane: usize, id: ElementId) {
        let element = &self.networks[lane].elements()[id.index()];
        let nodes = self.networks[lane].nodes();
        let from = nodes[element.from.index()].density;
        let to = nodes[element.to.index()].density;
        let slot = self.layout.slot[id.index()];
        let columns = &mut self.columns;
        let mut rise = 0.0;
        match self.layout.class[id.index()] {
            Class::Leak => {
                let leak = element.law.leak(from, to);
                columns.forward[slot][lane] = leak.forward;
                columns.reverse[slot][lane] = leak.reverse;
                columns.shape[slot][lane] = leak.exponent;
                columns.laminar[slot][lane] = leak.laminar.below;
                columns.per_laminar[slot][lane] = leak.laminar.inverse;
            }
            Class::Resistance => {
                let resistance = element.law.resistance();
                columns.shape[slot][lane] = resistance.linear;
                columns.forward[slot][lane] = resistance.forward;
                columns.reverse[slot][lane] = resistance.reverse;
                columns.density[slot][lane] = resistance.density;
                columns.laminar[slot][lane] = resistance.laminar.below;
                columns.per_laminar[slot][lane] = resistance.laminar.inverse;
                rise = resistance.rise;
            }
            Class::Other => {}
        }
        columns.drive[slot][lane] = element.drive + rise;
        columns.line_known[slot][lane] = false;
    }

    /// Brings the straight lines up to the laws. Few solves begin without a start.
    #[inline(never)]
    fn draw_lines(&mut self) {
        let columns = &mut self.columns;
        for (lane, network) in self.networks.iter().enumerate() {
            let nodes = network.nodes();
            let places = self.layout.slot.iter().zip(&self.layout.class);
            for (element, (&slot, class)) in network.elements().iter().zip(places) {
                if std::mem::replace(&mut columns.line_known[slot][lane], true) {
                    continue;
                }
                let rise = match class {
                    Class::Resistance => element.law.resistance().rise,
                    _ => 0.0,
                };
                let [from, to] = [element.from, element.to].map(|node| nodes[node.index()].density);
                let (flow, slope) = element.law.line(from, to);
                columns.line_flow[slot][lane] = flow - slope * rise;
                columns.line_slope[slot][lane] = slope;
            }
        }
    }

    /// Solves all lanes; [`report`](Self::report) tells how each went.
    pub fn solve(&mut self) {
        dispatched!(self.instructions, Engine::newton, self, L, &mut Engine<L> => ());
    }

    /// Newton's method with a line search; see the front page of this crate.
    #[inline(always)]
    fn newton(&mut self) {
        self.factors_current = false;
        if self.cold.contains(&true) {
            self.begin();
        }
        self.spread();
        self.progress = self.cold.map(Progress::start);
        self.cold = [false; L];
        self.evaluate();
        // Lanes that go on from the point just evaluated.
        let mut accepted = [true; L];
        loop {
            self.accept(&accepted);
            self.find_steps(&accepted);
            self.try_steps();
            self.evaluate();
            self.judge(&mut accepted);
            if !self.progress.iter().any(|progress| progress.running) {
                break;
            }
        }
        self.accept(&accepted);
        for (cold, progress) in self.cold.iter_mut().zip(&self.progress) {
            *cold = !progress.converged;
        }
    }

    /// The trial point: pressure differences of all elements from the pressures of the nodes.
    #[inline(always)]
    fn spread(&mut self) {
        let columns = &mut self.columns;
        let ends = self.layout.from.iter().zip(&self.layout.to);
        let ends = ends.zip(&columns.drive);
        for (trial, ((&from, &to), drive)) in columns.trial.iter_mut().zip(ends) {
            let (from, to) = (&self.pressure[from as usize], &self.pressure[to as usize]);
            *trial = lanes!(lane => from[lane] - to[lane] + drive[lane]);
        }
    }

    /// Moves the lanes without a start to the solution of straight lines in place of the laws.
    #[inline(always)]
    fn begin(&mut self) {
        let size = self.elimination.size();
        for pressure in &mut self.pressure[..size] {
            for lane in 0..L {
                if self.cold[lane] {
                    pressure[lane] = 0.0;
                }
            }
        }
        self.draw_lines();
        self.spread();
        let columns = &mut self.columns;
        columns.slope.copy_from_slice(&columns.line_slope);
        for (slot, flow) in columns.flow.iter_mut().enumerate() {
            let (at_rest, slope) = (&columns.line_flow[slot], &columns.line_slope[slot]);
            let difference = &columns.trial[slot];
            *flow = lanes!(lane => at_rest[lane] + slope[lane] * difference[lane]);
        }
        self.balance();
        self.eliminate();
        for (pressure, solution) in self.pressure.iter_mut().zip(&self.solution) {
            for lane in 0..L {
                if self.cold[lane] {
                    pressure[lane] = solution[lane];
                }
            }
        }
    }

    /// Flows, slopes and imbalances at the trial point.
    #[inline(always)]
    fn evaluate(&mut self) {
        let (layout, columns) = (&self.layout, &mut self.columns);
        let range = layout.leaks.clone();
        kernels::leaks(
            columns.trial[range.clone()].as_flattened(),
            columns.forward[range.clone()].as_flattened(),
            columns.reverse[range.clone()].as_flattened(),
            columns.shape[range.clone()].as_flattened(),
            [
                columns.laminar[range.clone()].as_flattened(),
                columns.per_laminar[range.clone()].as_flattened(),
            ],
            columns.flow[range.clone()].as_flattened_mut(),
            columns.slope[range].as_flattened_mut(),
        );
        let range = layout.resistances.clone();
        kernels::resistances(
            columns.trial[range.clone()].as_flattened(),
            columns.shape[range.clone()].as_flattened(),
            columns.forward[range.clone()].as_flattened(),
            columns.reverse[range.clone()].as_flattened(),
            columns.density[range.clone()].as_flattened(),
            [
                columns.laminar[range.clone()].as_flattened(),
                columns.per_laminar[range.clone()].as_flattened(),
            ],
            columns.flow[range.clone()].as_flattened_mut(),
            columns.slope[range].as_flattened_mut(),
        );
        if !layout.others.is_empty() {
            self.evaluate_others();
        }
        self.balance();
    }

    #[inline(never)]
    fn evaluate_others(&mut self) {
        let columns = &mut self.columns;
        for (id, slot) in self.layout.others.iter().zip(self.layout.first_other..) {
            for (lane, network) in self.networks.iter().enumerate() {
                let element = &network.elements()[id.index()];
                (columns.flow[slot][lane], columns.slope[slot][lane]) = element.law.mass_flow(
                    columns.trial[slot][lane],
                    network.nodes()[element.from.index()].density,
                    network.nodes()[element.to.index()].density,
                );
            }
        }
    }

    /// Imbalances of the present flows.
    #[inline(always)]
    fn balance(&mut self) {
        for (imbalance, injection) in self.imbalance.iter_mut().zip(&self.injection) {
            *imbalance = lanes!(lane => -injection[lane]);
        }
        let ends = self.layout.from.iter().zip(&self.layout.to);
        for (flow, (&from, &to)) in self.columns.flow.iter().zip(ends) {
            let imbalance = &mut self.imbalance[from as usize];
            *imbalance = lanes!(lane => imbalance[lane] + flow[lane]);
            let imbalance = &mut self.imbalance[to as usize];
            *imbalance = lanes!(lane => imbalance[lane] - flow[lane]);
        }
    }

    /// The Newton step of the pressures, as `solution`, from the present slopes and imbalances.
    #[inline(always)]
    fn eliminate(&mut self) {
        self.values.fill([0.0; L]);
        for (slope, &slot) in self.columns.slope.iter().zip(&self.layout.conductance) {
            let value = &mut self.values[slot as usize];
            *value = lanes!(lane => value[lane] + slope[lane]);
        }
        for (position, imbalance) in self.imbalance[..self.elimination.size()].iter().enumerate() {
            let slot = self.elimination.right_side(position);
            self.values[slot as usize] = lanes!(lane => -imbalance[lane]);
        }
        self.elimination
            .solve(&mut self.values, &mut self.factors, &mut self.solution);
    }

    /// Makes the trial point the iterate of the accepted lanes.
    #[inline(always)]
    fn accept(&mut self, accepted: &[bool; L]) {
        let columns = &mut self.columns;
        if *accepted == [true; L] {
            columns.difference.copy_from_slice(&columns.trial);
            return;
        }
        let (take, keep) = (mask(*accepted), mask(accepted.map(|accepted| !accepted)));
        for (difference, trial) in columns.difference.iter_mut().zip(&columns.trial) {
            *difference = lanes!(
                lane => blend(take[lane], trial[lane], keep[lane], difference[lane])
            );
        }
    }

    /// New steps for the accepted lanes that still run; others keep theirs, and those that are
    /// done stand still.
    #[inline(always)]
    fn find_steps(&mut self, accepted: &[bool; L]) {
        // Beside others a lane eliminates anew at every trial point, whatever the others do.
        if L == 1 && !accepted[0] {
            return;
        }
        self.eliminate();
        let mut running = *accepted;
        for (running, progress) in running.iter_mut().zip(&self.progress) {
            *running &= progress.running;
        }
        let (take, keep) = (mask(running), mask(accepted.map(|accepted| !accepted)));
        for (step, solution) in self.step.iter_mut().zip(&self.solution) {
            *step = lanes!(lane => blend(take[lane], solution[lane], keep[lane], step[lane]));
        }
        let ends = self.layout.from.iter().zip(&self.layout.to);
        for (step, (&from, &to)) in self.columns.step.iter_mut().zip(ends) {
            let (from, to) = (&self.step[from as usize], &self.step[to as usize]);
            *step = lanes!(lane => from[lane] - to[lane]);
        }
        let descent = self.directional();
        for lane in 0..L {
            let progress = &mut self.progress[lane];
            if accepted[lane] && progress.running {
                progress.iterations += 1;
                let careful = progress.iterations > CAREFUL_AFTER;
                progress.search = LineSearch::new(descent[lane], careful);
            }
        }
    }

    /// Slope of the co-content along the step, from the present imbalances.
    #[inline(always)]
    fn directional(&self) -> [f64; L] {
        let mut sum = [0.0; L];
        let size = self.elimination.size();
        for (step, imbalance) in self.step[..size].iter().zip(&self.imbalance[..size]) {
            sum = lanes!(lane => sum[lane] + step[lane] * imbalance[lane]);
        }
        sum
    }

    #[inline(always)]
    fn try_steps(&mut self) {
        let lengths = self.lengths();
        let columns = &mut self.columns;
        let pairs = columns.difference.iter().zip(&columns.step);
        for (trial, (difference, step)) in columns.trial.iter_mut().zip(pairs) {
            *trial = lanes!(lane => difference[lane] + lengths[lane] * step[lane]);
        }
    }

    /// Step lengths, 0 where a lane is done.
    #[inline(always)]
    fn lengths(&self) -> [f64; L] {
        let mut lengths = [0.0; L];
        for (length, progress) in lengths.iter_mut().zip(&self.progress) {
            *length = if progress.running {
                progress.search.length()
            } else {
                0.0
            };
        }
        lengths
    }

    /// Judges the trial point of every lane: whether it is accepted as the next iterate, and
    /// whether the lane is done.
    #[inline(always)]
    fn judge(&mut self, accepted: &mut [bool; L]) {
        let residuals = self.residuals();
        let derivatives = self.directional();
        let mut lengths = self.lengths();
        let balanced = self.balanced(&residuals);
        for lane in 0..L {
            let progress = &mut self.progress[lane];
            if !progress.running {
                accepted[lane] = true;
                continue;
            }
            progress.evaluations += 1;
            progress.residual = residuals[lane];
            if progress.residual.is_nan() {
                // A value that is not a number was set; no step mends that.
                progress.running = false;
                accepted[lane] = true;
                continue;
            }
            let most = if balanced[lane] && progress.balanced < FIRST_BALANCED {
                BALANCED_TRIES
            } else {
                MAX_TRIES
            };
            accepted[lane] = progress.search.accepts(derivatives[lane], most);
            if !accepted[lane] {
                lengths[lane] = 0.0;
            }
        }
        self.advance(&lengths);
        let mut finishing = [false; L];
        for lane in 0..L {
            let progress = &mut self.progress[lane];
            if progress.running && accepted[lane] {
                finishing[lane] = balanced[lane];
                progress.balanced += usize::from(balanced[lane]);
                progress.running = progress.iterations < MAX_ITERATIONS;
            }
        }
        if finishing.contains(&true) {
            self.finish(&finishing);
        }
    }

    /// Ends the lanes of those given whose pressures are accurate.
    #[inline(always)]
    fn finish(&mut self, lanes: &[bool; L]) {
        let last_step = largest(&self.step);
        let highest = largest(&self.pressure);
        let allowed = highest.map(|highest| PRESSURE_ERROR.max(RELATIVE_PRESSURE_ERROR * highest));
        // The next step would tell more; it costs some arithmetic.
        let mut error = last_step;
        if (0..L).any(|lane| lanes[lane] && last_step[lane] > allowed[lane]) {
            let next_step = self.next_step();
            error = lanes!(lane => last_step[lane].min(next_step[lane]));
        }
        for lane in 0..L {
            let progress = &mut self.progress[lane];
            if lanes[lane] && (error[lane] <= allowed[lane] || progress.balanced == MOST_BALANCED) {
                progress.converged = true;
                progress.running = false;
            }
        }
    }

    /// Moves the pressures along the steps.
    #[inline(always)]
    fn advance(&mut self, lengths: &[f64; L]) {
        let size = self.elimination.size();
        for (pressure, step) in self.pressure[..size].iter_mut().zip(&self.step) {
            *pressure = lanes!(lane => pressure[lane] + lengths[lane] * step[lane]);
        }
    }

    /// Largest imbalance of each lane; not a number if one of them is not.
    #[inline(always)]
    fn residuals(&self) -> [f64; L] {
        largest(&self.imbalance[..self.elimination.size()])
    }

    /// Whether the imbalances of each lane are within the tolerance.
    #[inline(always)]
    fn balanced(&self, residuals: &[f64; L]) -> [bool; L] {
        let mut balanced = residuals.map(|residual| residual <= RESIDUAL);
        let near = |lane: usize| !balanced[lane] && residuals[lane] < 1.0;
        if (0..L).any(near) {
            let flows = largest(&self.columns.flow);
            for lane in 0..L {
                balanced[lane] |= residuals[lane] <= RELATIVE_RESIDUAL * flows[lane];
            }
        }
        balanced
    }

    /// Size of the next step, by the factors of the last one.
    #[inline(always)]
    fn next_step(&mut self) -> [f64; L] {
        for (next, imbalance) in self.solution.iter_mut().zip(&self.imbalance) {
            *next = lanes!(lane => -imbalance[lane]);
        }
        self.elimination
            .resolve(&self.values, &self.factors, &mut self.solution);
        largest(&self.solution)
    }
}

/// All bits of the lanes that are chosen.
#[inline(always)]
fn mask<const L: usize>(lanes: [bool; L]) -> [u64; L] {
    lanes.map(|chosen| if chosen { u64::MAX } else { 0 })
}

/// One of two numbers, or 0 if neither is chosen; what is not chosen need not be a number.
#[inline(always)]
fn blend(take: u64, a: f64, keep: u64, b: f64) -> f64 {
    f64::from_bits(take & a.to_bits() | keep & b.to_bits())
}

/// Largest size in each lane; not a number if one of the numbers is not.
#[inline(always)]
fn largest<const L: usize>(numbers: &[[f64; L]]) -> [f64; L] {
    let mut largest = [0.0; L];
    for number in numbers {
        largest = lanes!(lane => {
            let (size, largest) = (number[lane].abs(), largest[lane]);
            if size <= largest { largest } else { size }
        });
    }
    largest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Random, any};

    /// Solves with an instruction set and returns all pressures and flows.
    fn solved<const L: usize>(network: &Network, instructions: Instructions) -> Vec<f64> {
        let mut engine = Engine::<L>::new(network).expect("well posed");
        engine.instructions = instructions;
        engine.solve();
        engine.result(L - 1).expect("converges");
        let pressures = engine.pressure.iter().map(|pressure| pressure[L - 1]);
        let flows = engine.columns.flow.iter().map(|flow| flow[L - 1]);
        pressures.chain(flows).collect()
    }

    #[test]
    fn instruction_sets_agree_to_the_last_bit() {
        for seed in 0..500 {
            let network = any(&mut Random(seed));
            let best = Instructions::detect();
            let baseline = Instructions::Baseline;
            assert_eq!(solved::<1>(&network, best), solved::<1>(&network, baseline));
            assert_eq!(solved::<8>(&network, best), solved::<8>(&network, baseline));
        }
    }
}
