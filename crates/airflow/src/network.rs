//! A network as plain data: nodes, elements, their laws, drives and injections.

use crate::error::NetworkError;
use crate::law::{Law, Refused};

/// A node of a [`Network`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub(crate) u32);

impl NodeId {
    /// Position of the node in the order in which the nodes were added.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// An element of a [`Network`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ElementId(pub(crate) u32);

impl ElementId {
    /// Position of the element in the order in which the elements were added.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A node: a place with one pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Name, for messages.
    pub name: String,
    /// The pressure (Pa) of a node with a fixed pressure; `None` where it is unknown.
    pub fixed_pressure: Option<f64>,
    /// Density of the air in the node (kg/m³), carried by the leaks that it feeds.
    pub density: f64,
    /// Mass flow (kg/s) put into the node from nowhere; negative takes air away.
    pub injection: f64,
}

/// An element: a law between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    /// Name, for messages.
    pub name: String,
    /// The node where positive flow enters.
    pub from: NodeId,
    /// The node where positive flow leaves.
    pub to: NodeId,
    /// Mass flow against pressure difference.
    pub law: Law,
    /// Pressure (Pa) added to `p_from − p_to`: stack, wind, the static offset of a tap.
    pub drive: f64,
}

/// A pressure network as plain data. [`Solver::new`](crate::Solver::new) checks it.
///
/// ```
/// use airflow::{Law, Network};
/// let mut network = Network::new();
/// let outdoors = network.fixed_node("outdoors", 0.0, 1.34);
/// let house = network.node("house", 1.20);
/// let leak = network.element(
///     "leaks low in the wall",
///     outdoors,
///     house,
///     Law::Leak { coefficient: 0.016, exponent: 0.65 },
/// );
/// network.set_drive(leak, 3.0); // 3 Pa of wind
/// assert_eq!(network.elements()[leak.index()].drive, 3.0);
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Network {
    nodes: Vec<Node>,
    elements: Vec<Element>,
}

impl Network {
    /// An empty network.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a node whose `pressure` (Pa) is known, such as outdoors.
    pub fn fixed_node(&mut self, name: &str, pressure: f64, density: f64) -> NodeId {
        self.push_node(name, Some(pressure), density)
    }

    /// Adds a node whose pressure is unknown, with the `density` (kg/m³) of its air.
    pub fn node(&mut self, name: &str, density: f64) -> NodeId {
        self.push_node(name, None, density)
    }

    fn push_node(&mut self, name: &str, fixed_pressure: Option<f64>, density: f64) -> NodeId {
        let id = NodeId(self.nodes.len() as u32);
        self.nodes.push(Node {
            name: name.to_owned(),
            fixed_pressure,
            density,
            injection: 0.0,
        });
        id
    }

    /// Adds an element; its flow counts positive from `from` to `to`. Its drive is 0.
    pub fn element(&mut self, name: &str, from: NodeId, to: NodeId, law: Law) -> ElementId {
        let id = ElementId(self.elements.len() as u32);
        self.elements.push(Element {
            name: name.to_owned(),
            from,
            to,
            law,
            drive: 0.0,
        });
        id
    }

    /// Sets the pressure (Pa) that acts in the direction of the element besides `p_from − p_to`.
    ///
    /// # Panics
    /// On an element of another network; so do all setters here.
    pub fn set_drive(&mut self, element: ElementId, pascals: f64) {
        self.elements[element.index()].drive = pascals;
    }

    /// Replaces the law of an element.
    pub fn set_law(&mut self, element: ElementId, law: Law) {
        self.elements[element.index()].law = law;
    }

    /// Sets the mass flow (kg/s) put into a node from nowhere; negative is an exhaust fan.
    pub fn set_injection(&mut self, node: NodeId, mass_flow: f64) {
        self.nodes[node.index()].injection = mass_flow;
    }

    /// Sets the density (kg/m³) of the air in a node.
    pub fn set_density(&mut self, node: NodeId, density: f64) {
        self.nodes[node.index()].density = density;
    }

    /// Sets the pressure (Pa) of a node with a fixed pressure; an unknown pressure stays unknown.
    pub fn set_fixed_pressure(&mut self, node: NodeId, pressure: f64) {
        if let Some(fixed) = &mut self.nodes[node.index()].fixed_pressure {
            *fixed = pressure;
        }
    }

    /// All nodes, by [`NodeId::index`].
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// All elements, by [`ElementId::index`].
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// The identifiers of all nodes.
    pub fn node_ids(&self) -> impl ExactSizeIterator<Item = NodeId> + use<> {
        (0..self.nodes.len() as u32).map(NodeId)
    }

    /// The identifiers of all elements.
    pub fn element_ids(&self) -> impl ExactSizeIterator<Item = ElementId> + use<> {
        (0..self.elements.len() as u32).map(ElementId)
    }

    /// Whether the network has exactly one solution.
    ///
    /// # Errors
    /// The first of: a node or element that does not exist or joins a node to itself; a value
    /// that is not finite, not in its range or makes a law fall; nodes without a way to a fixed
    /// pressure; fans that blow round a closed loop with nothing to limit them.
    pub fn check(&self) -> Result<(), NetworkError> {
        for node in &self.nodes {
            self.check_node(node)?;
        }
        for element in &self.elements {
            self.check_ends(element)?;
            check_element(&element.name, &element.law, element.drive)?;
        }
        self.check_islands()?;
        self.check_fan_loops()
    }

    pub(crate) fn check_node(&self, node: &Node) -> Result<(), NetworkError> {
        let refuse = |quantity, found, accepted| NetworkError::NodeValue {
            node: node.name.clone(),
            quantity,
            found,
            accepted,
        };
        if !(node.density.is_finite() && node.density > 0.0) {
            return Err(refuse("density [kg/m³]", node.density, "above 0"));
        }
        if !node.injection.is_finite() {
            return Err(refuse(
                "injection [kg/s]",
                node.injection,
                "a finite number",
            ));
        }
        match node.fixed_pressure {
            Some(pressure) if !pressure.is_finite() => {
                Err(refuse("fixed pressure [Pa]", pressure, "a finite number"))
            }
            _ => Ok(()),
        }
    }

    fn check_ends(&self, element: &Element) -> Result<(), NetworkError> {
        for end in [element.from, element.to] {
            if end.index() >= self.nodes.len() {
                return Err(NetworkError::UnknownNode {
                    element: element.name.clone(),
                    index: end.index(),
                    nodes: self.nodes.len(),
                });
            }
        }
        if element.from == element.to {
            return Err(NetworkError::SelfLoop {
                element: element.name.clone(),
                node: self.nodes[element.from.index()].name.clone(),
            });
        }
        Ok(())
    }

    /// Every node must reach a fixed pressure, and an injection must do so by more than
    /// shut elements.
    fn check_islands(&self) -> Result<(), NetworkError> {
        let island = |counts: &dyn Fn(&Element) -> bool, start: &dyn Fn(&Node) -> bool| {
            let mut group = Groups::new(self.nodes.len());
            for element in self.elements.iter().filter(|element| counts(element)) {
                group.join(element.from.index(), element.to.index());
            }
            let anchored: Vec<usize> = (0..self.nodes.len())
                .filter(|&node| self.nodes[node].fixed_pressure.is_some())
                .map(|node| group.root(node))
                .collect();
            (0..self.nodes.len())
                .find(|&node| start(&self.nodes[node]) && !anchored.contains(&group.root(node)))
                .map(|node| {
                    let root = group.root(node);
                    (0..self.nodes.len())
                        .filter(|&other| group.root(other) == root)
                        .map(|other| self.nodes[other].name.clone())
                        .collect::<Vec<_>>()
                })
        };
        if let Some(nodes) = island(&|_| true, &|_| true) {
            return Err(NetworkError::Island { nodes });
        }
        let open = |element: &Element| !matches!(element.law, Law::Shut { .. });
        match island(&open, &|node| node.injection != 0.0) {
            Some(nodes) => Err(NetworkError::TrappedInjection { nodes }),
            None => Ok(()),
        }
    }

    /// Looks for a directed cycle among the elements that are fans.
    fn check_fan_loops(&self) -> Result<(), NetworkError> {
        let fans: Vec<&Element> = self
            .elements
            .iter()
            .filter(|element| element.law.is_fan())
            .collect();
        // Peel off fans whose inlet no remaining fan blows into; what is left holds a cycle.
        let mut left = fans;
        loop {
            let before = left.len();
            let fed: Vec<NodeId> = left.iter().map(|fan| fan.to).collect();
            left.retain(|fan| fed.contains(&fan.from));
            if left.len() == before {
                break;
            }
        }
        let Some(first) = left.first() else {
            return Ok(());
        };
        // Walk against the flow until a node repeats.
        let mut path = vec![*first];
        loop {
            let inlet = path[path.len() - 1].from;
            if let Some(start) = path.iter().position(|fan| fan.to == inlet) {
                return Err(NetworkError::FanLoop {
                    fans: path[start..]
                        .iter()
                        .rev()
                        .map(|fan| fan.name.clone())
                        .collect(),
                });
            }
            match left.iter().find(|fan| fan.to == inlet) {
                Some(fan) => path.push(fan),
                None => return Ok(()),
            }
        }
    }
}

pub(crate) fn check_element(name: &str, law: &Law, drive: f64) -> Result<(), NetworkError> {
    let refused = match law.check() {
        Ok(()) if drive.is_finite() => return Ok(()),
        Ok(()) => Refused {
            quantity: "drive [Pa]",
            found: drive,
            accepted: "a finite number",
        },
        Err(refused) => refused,
    };
    Err(NetworkError::ElementValue {
        element: name.to_owned(),
        quantity: refused.quantity,
        found: refused.found,
        accepted: refused.accepted,
    })
}

/// Disjoint groups of nodes.
struct Groups(Vec<usize>);

impl Groups {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn root(&self, mut node: usize) -> usize {
        while self.0[node] != node {
            node = self.0[node];
        }
        node
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b)] = a.min(b);
    }
}
