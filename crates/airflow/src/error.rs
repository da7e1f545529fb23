//! What makes a network ill-posed, and the report of a solve that failed.

use std::error::Error;
use std::fmt;

/// Why a network has no unique solution. Each message names the nodes and elements.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum NetworkError {
    /// These nodes are joined to no node with a fixed pressure.
    Island {
        /// Names of all nodes of the island.
        nodes: Vec<String>,
    },
    /// Air is put into (or taken from) these nodes, and only shut elements lead out.
    TrappedInjection {
        /// Names of all nodes within the shut elements.
        nodes: Vec<String>,
    },
    /// Fans blow round a closed loop in which nothing but their own curves limits the flow.
    FanLoop {
        /// Names of the fans, in the order of the flow.
        fans: Vec<String>,
    },
    /// An element joins a node to itself.
    SelfLoop {
        /// Name of the element.
        element: String,
        /// Name of the node.
        node: String,
    },
    /// An element refers to a node that the network does not have.
    UnknownNode {
        /// Name of the element.
        element: String,
        /// Index that was given.
        index: usize,
        /// Number of nodes in the network.
        nodes: usize,
    },
    /// A number of an element is not finite, out of range or makes its law fall.
    ElementValue {
        /// Name of the element.
        element: String,
        /// What the number is, with its unit.
        quantity: &'static str,
        /// The number found.
        found: f64,
        /// The accepted range in words.
        accepted: &'static str,
    },
    /// A number of a node is not finite or out of range.
    NodeValue {
        /// Name of the node.
        node: String,
        /// What the number is, with its unit.
        quantity: &'static str,
        /// The number found.
        found: f64,
        /// The accepted range in words.
        accepted: &'static str,
    },
    /// A prepared solver was given a network with other nodes or elements.
    OtherTopology,
}

impl fmt::Display for NetworkError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Island { nodes } => write!(
                formatter,
                "nothing joins {} to a node with a fixed pressure: add an opening, \
                 however small, that leads outdoors",
                quoted(nodes)
            ),
            Self::TrappedInjection { nodes } => write!(
                formatter,
                "air is put into or taken from {}, but every way out is shut: \
                 open an element that leads to a fixed pressure",
                quoted(nodes)
            ),
            Self::FanLoop { fans } => write!(
                formatter,
                "{} blow round a closed loop with nothing to limit the flow: \
                 add the resistance of the ducts",
                quoted(fans)
            ),
            Self::SelfLoop { element, node } => write!(
                formatter,
                "element `{element}` joins node `{node}` to itself: give it two different nodes"
            ),
            Self::UnknownNode {
                element,
                index,
                nodes,
            } => write!(
                formatter,
                "element `{element}` refers to node number {index}, but the network has {nodes} \
                 nodes, numbered from 0"
            ),
            Self::ElementValue {
                element,
                quantity,
                found,
                accepted,
            } => write!(
                formatter,
                "element `{element}`: {quantity} is {found}; accepted: {accepted}"
            ),
            Self::NodeValue {
                node,
                quantity,
                found,
                accepted,
            } => write!(
                formatter,
                "node `{node}`: {quantity} is {found}; accepted: {accepted}"
            ),
            Self::OtherTopology => write!(
                formatter,
                "the network has other nodes or elements than the one the solver was made for: \
                 make a new solver"
            ),
        }
    }
}

impl Error for NetworkError {}

fn quoted(names: &[String]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    quoted.join(", ")
}
