//! From the text of a file to a network.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::ops::Range;

use airflow::{Network, NetworkError, NodeId};
use diagnostics::{Problem, Problems, Source, nearest};
use toml::de::DeTable;
use units::{MassFlow, Pressure, Temperature, VolumeFlow};

use crate::elements;
use crate::table::{Accepted, At, Table};

/// The version of the format that this program reads.
const FORMAT: f64 = 1.0;

/// Dynamic viscosity of air at 20 °C (Pa·s), rounded.
const STANDARD_VISCOSITY: f64 = 1.82e-5;

/// What could be read of a file, and what is wrong in it.
#[derive(Debug)]
pub struct Reading {
    /// The network; absent if there is an error.
    pub file: Option<NetworkFile>,
    /// What is wrong or doubtful.
    pub problems: Problems,
}

/// A network as its file describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct NetworkFile {
    /// What the network is, in the author's words.
    pub title: Option<String>,
    /// Nodes, elements and injections.
    pub network: Network,
    /// What the file leaves out and has been assumed.
    pub assumed: Vec<Assumed>,
}

/// A number that the file leaves out.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumed {
    /// What it is.
    pub what: &'static str,
    /// Its value with its unit.
    pub value: String,
}

/// The properties of air where a node or element does not state its own.
#[derive(Debug)]
pub(crate) struct Air {
    density: Property,
    viscosity: Property,
}

/// One property of the air.
#[derive(Debug)]
struct Property {
    value: f64,
    /// Whether the file states it.
    stated: bool,
    /// Whether anything needed it.
    used: Cell<bool>,
}

impl Property {
    fn read(
        root: &mut Table<'_>,
        key: &'static str,
        unit: &'static str,
        otherwise: f64,
        problems: &mut Problems,
    ) -> Self {
        let stated = root.number_if_any(key, unit, Accepted::Above(0.0), problems);
        Self {
            value: stated.as_ref().map_or(otherwise, |number| number.value),
            stated: stated.is_some(),
            used: Cell::new(false),
        }
    }

    fn get(&self) -> f64 {
        self.used.set(true);
        self.value
    }

    fn is_assumed(&self) -> bool {
        self.used.get() && !self.stated
    }
}

impl Air {
    /// ρ (kg/m³).
    pub fn density(&self) -> f64 {
        self.density.get()
    }

    /// μ (Pa·s).
    pub fn viscosity(&self) -> f64 {
        self.viscosity.get()
    }

    fn assumed(&self) -> Vec<Assumed> {
        let mut assumed = Vec::new();
        if self.density.is_assumed() {
            assumed.push(Assumed {
                what: "density where none is stated",
                value: format!("{} kg/m³", self.density.value),
            });
        }
        if self.viscosity.is_assumed() {
            assumed.push(Assumed {
                what: "viscosity where none is stated",
                value: format!("{:e} Pa·s", self.viscosity.value),
            });
        }
        assumed
    }
}

/// A node that has been read.
pub(crate) struct ReadNode {
    pub id: NodeId,
    pub density: f64,
    span: Range<usize>,
}

/// The nodes by name.
pub(crate) type Nodes = BTreeMap<String, ReadNode>;

/// Reads the text of a network file. Collects all problems; the network is absent if one of them
/// is an error.
pub fn read(source: Source) -> Reading {
    let text = source.text().to_owned();
    let mut problems = Problems::new(source);
    // Bytes that are no text would only cause more problems of the same kind.
    if problems.have_errors() {
        return Reading {
            file: None,
            problems,
        };
    }
    let (root, errors) = DeTable::parse_recoverable(&text);
    for error in errors {
        let end = text.len();
        problems.push(Problem::error(
            error.message().to_owned(),
            error.span().unwrap_or(end..end),
        ));
    }
    // What was recovered from broken syntax is too uncertain for further complaints.
    let file = (!problems.have_errors())
        .then(|| {
            network(
                Table::new(root.get_ref(), 0..0, "a network file"),
                &mut problems,
            )
        })
        .filter(|_| !problems.have_errors());
    Reading { file, problems }
}

fn network(mut root: Table<'_>, problems: &mut Problems) -> NetworkFile {
    format_version(&mut root, problems);
    let title = root.text_if_any("title", problems).map(|text| text.value);
    let air = Air {
        density: Property::read(
            &mut root,
            "density",
            "kg/m³",
            air::STANDARD_DENSITY,
            problems,
        ),
        viscosity: Property::read(&mut root, "viscosity", "Pa·s", STANDARD_VISCOSITY, problems),
    };
    let atmosphere = root
        .quantity_if_any::<Pressure>(
            "atmospheric_pressure",
            "Pa",
            Accepted::Between(5e4, 1.1e5),
            problems,
        )
        .map_or(air::STANDARD_PRESSURE, |pressure| pressure.value);
    let mut network = Network::new();
    let mut nodes = Nodes::new();
    for table in root.tables(
        "node",
        "a node",
        "[[node]] above the keys of each",
        problems,
    ) {
        node(table, &mut network, &mut nodes, &air, atmosphere, problems);
    }
    let mut places = BTreeMap::new();
    for table in root.tables(
        "element",
        "an element",
        "[[element]] above the keys of each",
        problems,
    ) {
        elements::element(table, &mut network, &nodes, &mut places, &air, problems);
    }
    for table in root.tables(
        "injection",
        "an injection",
        "[[injection]] above the keys of each",
        problems,
    ) {
        injection(table, &mut network, &nodes, problems);
    }
    if nodes.is_empty() && !root.has("node") {
        problems.push(
            Problem::error("a network needs nodes", 0..0)
                .help("write [[node]] and its name for each place with a pressure of its own"),
        );
    }
    root.finish(problems);
    if !problems.have_errors()
        && let Err(error) = network.check()
    {
        problems.push(ill_posed(&error, &nodes, &places));
    }
    NetworkFile {
        title,
        network,
        assumed: air.assumed(),
    }
}

fn format_version(root: &mut Table<'_>, problems: &mut Problems) {
    if let Some(format) = root.number("format", "", Accepted::Finite, problems)
        && format.value != FORMAT
    {
        problems.push(
            Problem::error(format!("format {} is not known", format.value), format.span)
                .help(format!("this program reads `format = {FORMAT}`")),
        );
    }
}

fn node(
    mut table: Table<'_>,
    network: &mut Network,
    nodes: &mut Nodes,
    air: &Air,
    atmosphere: f64,
    problems: &mut Problems,
) {
    let name = table.text("name", problems);
    let pressure = table.quantity_if_any::<Pressure>("pressure", "Pa", Accepted::Finite, problems);
    let density = table.number_if_any("density", "kg/m³", Accepted::Above(0.0), problems);
    let temperature = table.quantity_if_any::<Temperature>(
        "temperature",
        "°C",
        Accepted::Between(-80.0, 200.0),
        problems,
    );
    if table.has("density") && table.has("temperature") {
        problems.push(
            Problem::error(
                "a node has either a density or a temperature",
                table.place("temperature"),
            )
            .related(table.place("density"), "the density is stated here")
            .help("leave one of them out"),
        );
    }
    let density = match (density, temperature) {
        (Some(density), _) => density.value,
        (None, Some(temperature)) => air::density(temperature.value, 0.0, atmosphere),
        (None, None) => air.density(),
    };
    if let Some(name) = name {
        if let Some(first) = nodes.get(&name.value) {
            problems.push(twice("node", &name, &first.span));
        } else {
            let id = match pressure {
                Some(pressure) => network.fixed_node(&name.value, pressure.value, density),
                None => network.node(&name.value, density),
            };
            nodes.insert(
                name.value,
                ReadNode {
                    id,
                    density,
                    span: name.span,
                },
            );
        }
    }
    table.finish(problems);
}

fn injection(mut table: Table<'_>, network: &mut Network, nodes: &Nodes, problems: &mut Problems) {
    let node = table
        .text("node", problems)
        .and_then(|name| find(&name, nodes, problems));
    let mass_flow =
        table.quantity_if_any::<MassFlow>("mass_flow", "kg/s", Accepted::Finite, problems);
    let volume_flow =
        table.quantity_if_any::<VolumeFlow>("volume_flow", "m³/s", Accepted::Finite, problems);
    if table.has("mass_flow") == table.has("volume_flow") {
        problems.push(
            Problem::error(
                "an injection needs one of `mass_flow` and `volume_flow`",
                table.span.clone(),
            )
            .help("a volume flow counts at the density of the node; what is taken out is negative"),
        );
    } else if let Some(node) = node
        && let Some(flow) = mass_flow
            .map(|flow| flow.value)
            .or(volume_flow.map(|flow| flow.value * node.density))
    {
        let already = network.nodes()[node.id.index()].injection;
        network.set_injection(node.id, already + flow);
    }
    table.finish(problems);
}

/// The node of a name, or a problem with a suggestion.
pub(crate) fn find<'n>(
    name: &At<String>,
    nodes: &'n Nodes,
    problems: &mut Problems,
) -> Option<&'n ReadNode> {
    let found = nodes.get(&name.value);
    if found.is_none() {
        let mut problem = Problem::error(
            format!("there is no node `{}`", name.value),
            name.span.clone(),
        );
        if let Some(near) = nearest(&name.value, nodes.keys().map(String::as_str)) {
            problem = problem.label(format!("did you mean `{near}`?"));
        }
        problems.push(problem.help("each node needs a [[node]] with its name"));
    }
    found
}

/// The complaint about a second node or element of the same name.
pub(crate) fn twice(what: &str, name: &At<String>, first: &Range<usize>) -> Problem {
    Problem::error(
        format!("there are two {what}s named `{}`", name.value),
        name.span.clone(),
    )
    .related(first.clone(), "the first one")
    .help("give each its own name")
}

/// What makes the network as a whole unsolvable, at the first name that it concerns.
fn ill_posed(
    error: &NetworkError,
    nodes: &Nodes,
    elements: &BTreeMap<String, Range<usize>>,
) -> Problem {
    let node = |name: &String| nodes.get(name).map(|node| node.span.clone());
    let element = |name: &String| elements.get(name).cloned();
    let span = match error {
        NetworkError::Island { nodes } | NetworkError::TrappedInjection { nodes } => {
            nodes.first().and_then(node)
        }
        NetworkError::FanLoop { fans } => fans.first().and_then(element),
        NetworkError::SelfLoop { element: name, .. }
        | NetworkError::UnknownNode { element: name, .. }
        | NetworkError::ElementValue { element: name, .. } => element(name),
        NetworkError::NodeValue { node: name, .. } => node(name),
        _ => None,
    };
    Problem::error(error.to_string(), span.unwrap_or(0..0))
}
