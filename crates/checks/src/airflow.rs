//! Checks of the pressure network: reference problems, random networks, an inverse problem.

mod inverse;

use std::collections::HashMap;

use airflow::{ElementId, Law, Network, NodeId, Solver, Transport};
use ducts::{Run, Section};

use crate::{Check, Tolerance};

const SUBJECT: &str = "pressure network";
const INDEPENDENT: &str = "computed with scipy by an independent method";
const REFERENCE: &str = include_str!("../tables/networks_reference.csv");
const RANDOM: &str = include_str!("../tables/networks_random.csv");

/// The house whose ventilator joins the return duct with both ports, while the blower is off.
const SHARED_RETURN: &str = "return-to-return-blower-off";

/// All checks of the crate `airflow`.
pub(crate) fn checks() -> Vec<Check> {
    let reference = cases(REFERENCE);
    let mut checks: Vec<Check> = reference.iter().flat_map(compare).collect();
    let random = cases(RANDOM);
    let (flows, pressures) = random.iter().map(compare).map(|[a, b]| (a, b)).unzip();
    for mut check in [flows, pressures].into_iter().filter_map(most_off) {
        check.input = format!("{} of {} random networks", check.input, random.len());
        checks.push(check);
    }
    if let Some(case) = reference.iter().find(|case| case.name == SHARED_RETURN) {
        checks.push(short_circuit(case));
        checks.extend(inverse::checks(case));
    }
    checks
}

/// The check that uses up most of its tolerance.
fn most_off(checks: Vec<Check>) -> Option<Check> {
    let used = |check: &Check| match check.tolerance {
        Tolerance::Absolute(allowed) => (check.got - check.expected).abs() / allowed,
        Tolerance::Relative(allowed) => (check.got / check.expected - 1.0).abs() / allowed,
    };
    checks
        .into_iter()
        .max_by(|a, b| used(a).total_cmp(&used(b)))
}

/// With the blower off nearly all supply air runs back along the return to the extract: of what
/// arrives between the two joints, all but the part that the filter lets through.
fn short_circuit(case: &Case) -> Check {
    let expected = |name: &str| case.flows[case.element(name).index()];
    let back = -expected("return duct between the taps");
    let onwards = expected("filter");
    let got = solved(&case.network).map_or(f64::NAN, |solver| {
        Transport::new(&solver).short_circuit(
            case.node("supply-air port"),
            case.node("extract-air port"),
            &[case.node("house")],
        )
    });
    Check {
        subject: SUBJECT,
        source: INDEPENDENT.to_owned(),
        input: format!(
            "network {}: part of the supply air that comes to the extract without passing a room",
            case.name
        ),
        unit: "-",
        expected: back / (back + onwards),
        got,
        tolerance: Tolerance::Relative(1e-6),
    }
}

/// Solves to rounding: the second solve takes the imbalance down from 1e-9 kg/s.
fn solved(network: &Network) -> Option<Solver> {
    let mut solver = Solver::new(network).ok()?;
    solver.solve().and_then(|_| solver.solve()).ok()?;
    Some(solver)
}

/// A network with the pressures and flows of its solution.
struct Case {
    name: String,
    network: Network,
    pressures: Vec<f64>,
    flows: Vec<f64>,
}

impl Case {
    fn node(&self, name: &str) -> NodeId {
        let mut ids = self.network.node_ids();
        ids.find(|id| self.network.nodes()[id.index()].name == name)
            .unwrap_or_else(|| panic!("network {} has no node `{name}`", self.name))
    }

    fn element(&self, name: &str) -> ElementId {
        let mut ids = self.network.element_ids();
        ids.find(|id| self.network.elements()[id.index()].name == name)
            .unwrap_or_else(|| panic!("network {} has no element `{name}`", self.name))
    }
}

/// Reads a table of networks; its comment lines tell the columns.
fn cases(table: &str) -> Vec<Case> {
    let mut cases: Vec<Case> = Vec::new();
    let mut nodes: HashMap<String, NodeId> = HashMap::new();
    for line in table.lines().filter(|line| !line.starts_with('#')) {
        let fields: Vec<&str> = line.split(',').collect();
        if let ["network", name] = fields[..] {
            nodes.clear();
            cases.push(Case {
                name: name.to_owned(),
                network: Network::new(),
                pressures: Vec::new(),
                flows: Vec::new(),
            });
            continue;
        }
        let Some(case) = cases.last_mut() else {
            panic!("a table of networks starts with a network, not with `{line}`");
        };
        match fields[..] {
            ["node", name, density, fixed, injection, pressure] => {
                let density = number(density);
                let node = match fixed {
                    "" => case.network.node(name, density),
                    fixed => case.network.fixed_node(name, number(fixed), density),
                };
                case.network.set_injection(node, number(injection));
                case.pressures.push(number(pressure));
                nodes.insert(name.to_owned(), node);
            }
            [
                "element",
                name,
                from,
                to,
                law,
                parameters,
                density,
                drive,
                flow,
            ] => {
                let law = law_from(law, parameters, density);
                let element = case.network.element(name, nodes[from], nodes[to], law);
                case.network.set_drive(element, number(drive));
                case.flows.push(number(flow));
            }
            _ => panic!("not a line of a table of networks: `{line}`"),
        }
    }
    cases
}

fn number(text: &str) -> f64 {
    text.parse()
        .unwrap_or_else(|error| panic!("`{text}` in a table of networks: {error}"))
}

fn law_from(law: &str, parameters: &str, density: &str) -> Law {
    let parameters: Vec<f64> = parameters.split(';').map(number).collect();
    match (law, &parameters[..]) {
        ("leak", &[coefficient, exponent]) => Law::Leak {
            coefficient,
            exponent,
        },
        ("flap", &[coefficient, exponent, reverse_fraction]) => Law::LeakOneWay {
            coefficient,
            exponent,
            reverse_fraction,
        },
        ("quadratic", &[linear, quadratic]) => Law::Quadratic {
            linear,
            quadratic,
            density: number(density),
        },
        ("fan", &[p0, b, c]) => Law::QuadraticFan {
            p0,
            b,
            c,
            density: number(density),
        },
        ("duct", &[diameter, length, roughness, loss, multiplier, viscosity]) => {
            let run = Section::round(diameter)
                .and_then(|section| Run::new(section, length, roughness))
                .and_then(|run| run.with_friction_multiplier(multiplier))
                .and_then(|run| run.with_losses(loss, loss))
                .expect("a duct that can be");
            Law::Duct {
                run,
                density: number(density),
                viscosity,
            }
        }
        ("shut", &[conductance]) => Law::Shut { conductance },
        _ => panic!("a table of networks has no law `{law}` with {parameters:?}"),
    }
}

/// Solves a case; its worst flow and its worst pressure.
fn compare(case: &Case) -> [Check; 2] {
    let (flows, pressures) = match solved(&case.network) {
        Some(solver) => (
            case.network
                .element_ids()
                .map(|id| solver.mass_flow(id))
                .collect(),
            solver.pressures().collect(),
        ),
        None => (
            vec![f64::NAN; case.flows.len()],
            vec![f64::NAN; case.pressures.len()],
        ),
    };
    let elements = case
        .network
        .elements()
        .iter()
        .map(|element| &element.name[..]);
    let nodes = case.network.nodes().iter().map(|node| &node.name[..]);
    [
        worst(
            case,
            "mass flow through",
            "kg/s",
            elements,
            &case.flows,
            &flows,
        ),
        worst(
            case,
            "pressure of",
            "Pa",
            nodes,
            &case.pressures,
            &pressures,
        ),
    ]
}

/// Six digits of each value, or nine of the largest where that is less.
fn worst<'a>(
    case: &Case,
    what: &str,
    unit: &'static str,
    names: impl Iterator<Item = &'a str>,
    expected: &[f64],
    got: &[f64],
) -> Check {
    let largest = expected
        .iter()
        .fold(0.0, |largest: f64, value| largest.max(value.abs()));
    let allowed = |expected: f64| 1e-6 * expected.abs().max(1e-3 * largest);
    let (name, expected, got) = names
        .zip(expected.iter().zip(got))
        .map(|(name, (&expected, &got))| (name, expected, got))
        .max_by(|a, b| {
            let excess =
                |(_, expected, got): &(&str, f64, f64)| (got - expected).abs() / allowed(*expected);
            excess(a).total_cmp(&excess(b))
        })
        .expect("a network has nodes and elements");
    Check {
        subject: SUBJECT,
        source: INDEPENDENT.to_owned(),
        input: format!("network {}: {what} {name}, the worst", case.name),
        unit,
        expected,
        got,
        tolerance: Tolerance::Absolute(allowed(expected)),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_pass() {
        for check in super::checks() {
            assert!(check.passes(), "{check:#?}");
        }
    }
}
