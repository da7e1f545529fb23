//! Where the air of a solved network goes, how old it is, and what it carries.
//!
//! Every node is well mixed. All questions lead to linear systems whose coefficients are flows, and
//! so positive; they are eliminated without a subtraction (see Grassmann, Taksar and Heyman), so
//! that nearly idle branches do no harm. Flows below [`NEGLIGIBLE`] count as none.

use crate::network::NodeId;
use crate::solver::Solver;

/// Flows up to this (kg/s) are left out: they are what the residual of a solution may be made of.
pub const NEGLIGIBLE: f64 = 1e-12;

/// The mass flows between the nodes of a solved network.
///
/// ```
/// use airflow::{Law, Network, Solver, Transport};
/// // 0.012 kg/s of outdoor air pass a bedroom of 30 m³ and then a bath of 12 m³.
/// let mut network = Network::new();
/// let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
/// let bedroom = network.node("bedroom", 1.2);
/// let bath = network.node("bath", 1.2);
/// let inlet = Law::Leak { coefficient: 0.004, exponent: 0.5 };
/// network.element("inlet", outdoors, bedroom, inlet.clone());
/// network.element("door", bedroom, bath, inlet);
/// network.set_injection(bath, -0.012);
/// let mut solver = Solver::new(&network)?;
/// solver.solve()?;
/// let transport = Transport::new(&solver);
/// let mut volumes = [0.0; 3];
/// volumes[bedroom.index()] = 30.0;
/// volumes[bath.index()] = 12.0;
/// let age = transport.age(&volumes);
/// assert!((age[bedroom.index()] - 3000.0).abs() < 1e-3);
/// assert!((age[bath.index()] - 4200.0).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Transport {
    nodes: usize,
    /// Nodes with a fixed pressure: outdoors.
    outdoors: Vec<bool>,
    density: Vec<f64>,
    /// Mass flow (kg/s) from row to column, never negative.
    flow: Vec<f64>,
    /// Mass flow put into each node from nowhere, and taken away.
    put_in: Vec<f64>,
    taken: Vec<f64>,
}

impl Transport {
    /// The flows of the present solution. Nodes with a fixed pressure are outdoors; air that an
    /// injection puts in counts as outdoor air.
    pub fn new(solver: &Solver) -> Self {
        let network = solver.network();
        let nodes = network.nodes();
        let mut transport = Self {
            nodes: nodes.len(),
            outdoors: nodes
                .iter()
                .map(|node| node.fixed_pressure.is_some())
                .collect(),
            density: nodes.iter().map(|node| node.density).collect(),
            flow: vec![0.0; nodes.len() * nodes.len()],
            put_in: nodes.iter().map(|node| node.injection.max(0.0)).collect(),
            taken: nodes
                .iter()
                .map(|node| (-node.injection).max(0.0))
                .collect(),
        };
        for id in network.element_ids() {
            let element = &network.elements()[id.index()];
            transport.add_flow(element.from, element.to, solver.mass_flow(id));
        }
        transport
    }

    /// Adds a mass flow (kg/s) that the network does not have, such as leakage within a
    /// ventilator; a negative one runs from `to` to `from`. Adding flows that do not balance at
    /// every node makes mass out of nothing: so add closed loops only.
    pub fn add_flow(&mut self, from: NodeId, to: NodeId, mass_flow: f64) {
        let (from, to) = if mass_flow < 0.0 {
            (to, from)
        } else {
            (from, to)
        };
        if mass_flow.abs() > NEGLIGIBLE && from != to {
            self.flow[from.index() * self.nodes + to.index()] += mass_flow.abs();
        }
    }

    /// Adds an exchange of equal mass flows (kg/s) in both directions, as through an open door or
    /// a leaking core.
    pub fn add_exchange(&mut self, a: NodeId, b: NodeId, mass_flow: f64) {
        self.add_flow(a, b, mass_flow.abs());
        self.add_flow(b, a, mass_flow.abs());
    }

    /// Lets a mass flow (kg/s) of two streams `[from, to]` change places, as leakage across the core
    /// of a ventilator does: it leaves each stream and ends where the other ends. Mass is kept at
    /// every node; no more than the smaller of the two streams changes places.
    ///
    /// ```
    /// use airflow::{Law, Network, Solver, Transport};
    /// let mut network = Network::new();
    /// let law = Law::Leak { coefficient: 0.01, exponent: 0.5 };
    /// let outdoors = network.fixed_node("outdoors", 10.0, 1.2);
    /// let drain = network.fixed_node("drain", 0.0, 1.2);
    /// let [a, b, c, d] = ["a", "b", "c", "d"].map(|name| network.node(name, 1.2));
    /// for (from, to) in [(outdoors, a), (a, b), (b, drain), (outdoors, c), (c, d), (d, drain)] {
    ///     network.element("pipe", from, to, law.clone());
    /// }
    /// let mut solver = Solver::new(&network)?;
    /// solver.solve()?;
    /// let mut transport = Transport::new(&solver);
    /// let whole = transport.flow(a, b);
    /// transport.divert([a, b], [c, d], 0.25 * whole);
    /// assert!((transport.flow(a, b) - 0.75 * whole).abs() < 1e-12);
    /// assert!((transport.flow(a, d) - 0.25 * whole).abs() < 1e-12);
    /// assert!((transport.flow(c, b) - 0.25 * whole).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn divert(&mut self, first: [NodeId; 2], second: [NodeId; 2], mass_flow: f64) {
        let least = self
            .flow(first[0], first[1])
            .min(self.flow(second[0], second[1]));
        let part = mass_flow.clamp(0.0, least);
        for [from, to] in [first, second] {
            self.flow[from.index() * self.nodes + to.index()] -= part;
        }
        self.add_flow(first[0], second[1], part);
        self.add_flow(second[0], first[1], part);
    }

    /// Mass flow (kg/s) from one node straight to another.
    pub fn flow(&self, from: NodeId, to: NodeId) -> f64 {
        self.between(from.index(), to.index())
    }

    fn between(&self, from: usize, to: usize) -> f64 {
        self.flow[from * self.nodes + to]
    }

    /// Of the air that leaves `start`, the share that reaches each of the `stops` before any other
    /// stop; by [`NodeId::index`], 0 for nodes that are no stop. Outdoors is always a stop. The sum
    /// is 1 unless an injection takes air away on the way, or no air leaves `start`.
    ///
    /// With the rooms as stops it tells where the air of a supply port arrives first.
    pub fn first_arrival(&self, start: NodeId, stops: &[NodeId]) -> Vec<f64> {
        let start = start.index();
        let out: f64 = (0..self.nodes)
            .map(|to| self.between(start, to))
            .sum::<f64>()
            + self.taken[start];
        let mut begin = vec![0.0; self.nodes];
        if out > 0.0 {
            for (to, begin) in begin.iter_mut().enumerate() {
                *begin = self.between(start, to) / out;
            }
        }
        self.arrival(begin, stops)
    }

    /// The part of the air leaving the port `supply` that comes to the port `extract` without
    /// having passed a room or outdoors.
    pub fn short_circuit(&self, supply: NodeId, extract: NodeId, rooms: &[NodeId]) -> f64 {
        let mut stops = rooms.to_vec();
        stops.push(extract);
        self.first_arrival(supply, &stops)[extract.index()]
    }

    /// Outdoor air (kg/s) that comes to each of the `rooms` without having passed another; by
    /// [`NodeId::index`], 0 for nodes that are no room. For outdoor nodes it is the outdoor air that
    /// leaves again without having passed a room.
    pub fn outdoor_arrival(&self, rooms: &[NodeId]) -> Vec<f64> {
        let mut begin = self.put_in.clone();
        for from in (0..self.nodes).filter(|&from| self.outdoors[from]) {
            for (to, begin) in begin.iter_mut().enumerate() {
                *begin += self.between(from, to);
            }
        }
        self.arrival(begin, rooms)
    }

    /// Follows amounts that begin in each node until they come to a stop.
    fn arrival(&self, begin: Vec<f64>, stops: &[NodeId]) -> Vec<f64> {
        let mut stop = self.outdoors.clone();
        for node in stops {
            stop[node.index()] = true;
        }
        // Nodes from which the air comes to a stop, or is taken away; in others it would circle.
        let leads_on = self.reached(
            |node| stop[node] || self.taken[node] > 0.0,
            |from, to| self.between(to, from),
        );
        let on_the_way = |node: usize| !stop[node] && leads_on[node];
        let passed: Vec<usize> = (0..self.nodes).filter(|&node| on_the_way(node)).collect();
        let ends: Vec<usize> = (0..self.nodes).filter(|&node| !on_the_way(node)).collect();
        let mut system = System::new(&passed, |row, column| self.between(row, column));
        for (outside, &node) in system.outside.iter_mut().zip(&passed) {
            let ending = ends.iter().map(|&end| self.between(node, end));
            *outside = self.taken[node] + ending.sum::<f64>();
        }
        let mut visits: Vec<f64> = passed.iter().map(|&node| begin[node]).collect();
        system.eliminate();
        system.solve_transposed(&mut visits);
        (0..self.nodes)
            .map(|node| {
                let arrives = passed
                    .iter()
                    .zip(&visits)
                    .map(|(&from, visits)| visits * self.between(from, node));
                if stop[node] {
                    begin[node] + arrives.sum::<f64>()
                } else {
                    0.0
                }
            })
            .collect()
    }

    /// Mean age (s) of the air in each node since it came from outdoors, given the volumes (m³) of
    /// the nodes, both by [`NodeId::index`]: `Σ m_in τ_in + V ρ = Σ m_in τ`. Outdoors is 0; a node
    /// that no outdoor air reaches is infinitely old.
    ///
    /// # Panics
    /// If there are fewer volumes than nodes.
    pub fn age(&self, volumes: &[f64]) -> Vec<f64> {
        let content: Vec<f64> = (0..self.nodes)
            .map(|node| volumes[node] * self.density[node])
            .collect();
        let none = vec![0.0; self.nodes];
        let mut age = self.concentration(&none, &content);
        for (age, reached) in age.iter_mut().zip(self.ventilated()) {
            if !reached {
                *age = f64::INFINITY;
            }
        }
        age
    }

    /// Steady concentration in each node, per kg of air, with `sources` per second and the
    /// concentration `outdoors` of the nodes with a fixed pressure, all by [`NodeId::index`]:
    /// `Σ m_in c_in + S = Σ m_in c`. Air put in by an injection carries none. In a node that no
    /// outdoor air reaches, a source fills without end: infinity of its sign, or 0 without one.
    ///
    /// # Panics
    /// If one of the lists is shorter than the number of nodes.
    pub fn concentration(&self, outdoors: &[f64], sources: &[f64]) -> Vec<f64> {
        let ventilated = self.ventilated();
        let inside: Vec<usize> = (0..self.nodes)
            .filter(|&node| !self.outdoors[node] && ventilated[node])
            .collect();
        let mut system = System::new(&inside, |row, column| self.between(column, row));
        let outside = (0..self.nodes).filter(|&node| self.outdoors[node]);
        let outside: Vec<usize> = outside.collect();
        let mut right_side = Vec::with_capacity(inside.len());
        for (at, &node) in inside.iter().enumerate() {
            let enters = outside
                .iter()
                .map(|&from| self.between(from, node))
                .sum::<f64>();
            system.outside[at] = self.put_in[node] + enters;
            let carried = outside
                .iter()
                .map(|&from| self.between(from, node) * outdoors[from]);
            right_side.push(sources[node] + carried.sum::<f64>());
        }
        system.eliminate();
        system.solve(&mut right_side);
        let mut result: Vec<f64> = (0..self.nodes)
            .map(|node| match sources[node] {
                _ if self.outdoors[node] => outdoors[node],
                source if source != 0.0 => f64::INFINITY.copysign(source),
                _ => 0.0,
            })
            .collect();
        for (&node, value) in inside.iter().zip(right_side) {
            result[node] = value;
        }
        result
    }

    /// Nodes that outdoor air reaches.
    fn ventilated(&self) -> Vec<bool> {
        self.reached(
            |node| self.outdoors[node] || self.put_in[node] > 0.0,
            |from, to| self.between(from, to),
        )
    }

    /// Nodes to which a way leads from the first ones, along positive flows.
    fn reached(
        &self,
        first: impl Fn(usize) -> bool,
        flow: impl Fn(usize, usize) -> f64,
    ) -> Vec<bool> {
        let mut reached: Vec<bool> = (0..self.nodes).map(&first).collect();
        let mut waiting: Vec<usize> = (0..self.nodes).filter(|&node| reached[node]).collect();
        while let Some(from) = waiting.pop() {
            for (to, reached) in reached.iter_mut().enumerate() {
                if !*reached && flow(from, to) > 0.0 {
                    *reached = true;
                    waiting.push(to);
                }
            }
        }
        reached
    }
}

/// The system `(outside_i + Σ_j a_ij) x_i − Σ_j a_ij x_j = b_i` with a_ij ≥ 0, in which a way
/// leads from every row to outside.
struct System {
    size: usize,
    /// Row by row; below the diagonal the factors after elimination.
    a: Vec<f64>,
    outside: Vec<f64>,
    pivot: Vec<f64>,
}

impl System {
    fn new(nodes: &[usize], flow: impl Fn(usize, usize) -> f64) -> Self {
        let size = nodes.len();
        let mut a = vec![0.0; size * size];
        for (i, &row) in nodes.iter().enumerate() {
            for (j, &column) in nodes.iter().enumerate() {
                if i != j {
                    a[i * size + j] = flow(row, column);
                }
            }
        }
        Self {
            size,
            a,
            outside: vec![0.0; size],
            pivot: vec![0.0; size],
        }
    }

    fn eliminate(&mut self) {
        let size = self.size;
        for k in 0..size {
            let (above, below) = self.a.split_at_mut((k + 1) * size);
            let row = &above[k * size..];
            let pivot = self.outside[k] + row[k + 1..].iter().sum::<f64>();
            self.pivot[k] = pivot;
            for (i, target) in (k + 1..size).zip(below.chunks_exact_mut(size)) {
                if target[k] == 0.0 {
                    continue;
                }
                let factor = target[k] / pivot;
                target[k] = factor;
                for j in k + 1..size {
                    target[j] += factor * row[j];
                }
                target[i] = 0.0;
                self.outside[i] += factor * self.outside[k];
            }
        }
    }

    /// Replaces the right-hand sides by the solution.
    fn solve(&self, x: &mut [f64]) {
        let size = self.size;
        for i in 0..size {
            let (before, here) = x.split_at_mut(i);
            let factors = &self.a[i * size..];
            here[0] += before
                .iter()
                .zip(factors)
                .map(|(x, factor)| x * factor)
                .sum::<f64>();
        }
        for i in (0..size).rev() {
            let row = &self.a[i * size..(i + 1) * size];
            let sum: f64 = (i + 1..size).map(|j| row[j] * x[j]).sum();
            x[i] = (x[i] + sum) / self.pivot[i];
        }
    }

    /// The same for the transposed system.
    fn solve_transposed(&self, x: &mut [f64]) {
        let size = self.size;
        for i in 0..size {
            x[i] /= self.pivot[i];
            for j in i + 1..size {
                x[j] += self.a[i * size + j] * x[i];
            }
        }
        for i in (0..size).rev() {
            for j in 0..i {
                x[j] += self.a[i * size + j] * x[i];
            }
        }
    }
}
