//! `lungwort network FILE`: a raw pressure network, solved.

use std::fmt::Write as _;
use std::io;
use std::path::Path;

use air::STANDARD_DENSITY;
use airflow::{Element, NodeId, NotConverged, Report, Solver};
use network_file::NetworkFile;
use serde_json::{Value, json};
use units::{MassFlow, Pressure, Quantity, System, Unit, VolumeFlow};

use crate::command_line::Options;
use crate::files;
use crate::outcome::{Failure, Outcome, style};
use crate::text::{WIDTH, left, right, significant, wrap};

/// Reads and solves the network. The answer is no if the solver fails.
pub fn run(path: &Path, options: &Options) -> Result<Outcome, Failure> {
    let reading = network_file::read(files::read(path)?);
    let problems = reading.problems;
    let Some(file) = reading.file else {
        return Err(Failure::Problems(Box::new(problems)));
    };
    let mut solver = Solver::new(&file.network)
        .map_err(|error| Failure::message(error.to_string(), "change the network"))?;
    let (report, failure) = match solve(&mut solver) {
        Ok(report) => (report, None),
        Err(failure) => (failure.report, Some(failure.to_string())),
    };
    let solved = failure.is_none();
    if options.json {
        let mut result = object(&file, &solver, &report);
        result["problems"] = problems.to_json();
        result["solved"] = solved.into();
        return Ok(Outcome::json(&result, solved));
    }
    let mut notes = problems.render(style(&io::stderr()));
    if let Some(failure) = failure {
        let _ = writeln!(notes, "error: {failure}");
        return Ok(Outcome::new("", false).with_notes(notes));
    }
    let system = options.units.map_or(System::Si, System::from);
    let text = text(&file, &solver, &report, system);
    Ok(Outcome::yes(text).with_notes(notes))
}

/// Solves twice: the second solve takes the imbalance from what suffices down to rounding.
fn solve(solver: &mut Solver) -> Result<Report, NotConverged> {
    let first = solver.solve()?;
    let second = solver.solve()?;
    Ok(Report {
        iterations: first.iterations + second.iterations,
        evaluations: first.evaluations + second.evaluations,
        ..second
    })
}

/// What a solution says about an element.
struct State<'n> {
    element: &'n Element,
    from: &'n str,
    to: &'n str,
    /// Including the drive (Pa).
    pressure_difference: f64,
    /// kg/s
    mass_flow: f64,
}

fn states<'n>(file: &'n NetworkFile, solver: &Solver) -> Vec<State<'n>> {
    let network = &file.network;
    let name = |node: NodeId| network.nodes()[node.index()].name.as_str();
    network
        .element_ids()
        .zip(network.elements())
        .map(|(id, element)| State {
            element,
            from: name(element.from),
            to: name(element.to),
            pressure_difference: solver.pressure(element.from) - solver.pressure(element.to)
                + element.drive,
            mass_flow: solver.mass_flow(id),
        })
        .collect()
}

fn object(file: &NetworkFile, solver: &Solver, report: &Report) -> Value {
    let network = &file.network;
    let nodes: Vec<Value> = network
        .node_ids()
        .zip(network.nodes())
        .map(|(id, node)| {
            json!({
                "name": node.name,
                "pressure_pa": solver.pressure(id),
                "fixed": node.fixed_pressure.is_some(),
                "density_kg_m3": node.density,
                "injection_kg_s": node.injection,
            })
        })
        .collect();
    let elements: Vec<Value> = states(file, solver)
        .iter()
        .map(|state| {
            json!({
                "name": state.element.name,
                "from": state.from,
                "to": state.to,
                "drive_pa": state.element.drive,
                "pressure_difference_pa": state.pressure_difference,
                "mass_flow_kg_s": state.mass_flow,
            })
        })
        .collect();
    let assumed: Vec<Value> = file
        .assumed
        .iter()
        .map(|assumed| json!({ "what": assumed.what, "value": assumed.value }))
        .collect();
    json!({
        "title": file.title,
        "iterations": report.iterations,
        "residual_kg_s": report.residual,
        "nodes": nodes,
        "elements": elements,
        "assumed": assumed,
    })
}

/// Widths of the columns, in characters.
const NUMBER: usize = 13;
const NODE: usize = WIDTH - 2 * NUMBER - 10;
const ELEMENT: usize = WIDTH - 4 * NUMBER - 4;

fn text(file: &NetworkFile, solver: &Solver, report: &Report, system: System) -> String {
    let network = &file.network;
    let (pressure, mass_flow, volume_flow) = match system {
        System::Ip => ("inWC", "lb/min", "cfm"),
        System::Si => ("Pa", "kg/s", "L/s"),
    };
    let pressure = unit::<Pressure>(pressure);
    let mass_flow = unit::<MassFlow>(mass_flow);
    let volume_flow = unit::<VolumeFlow>(volume_flow);
    let number = |unit: &Unit, si: f64| right(&significant(unit.from_si(si), 7), NUMBER);

    let mut text = String::new();
    for line in file.title.iter().flat_map(|title| wrap(title, WIDTH)) {
        let _ = writeln!(text, "{line}");
    }
    let _ = writeln!(
        text,
        "Solved in {} Newton steps; no node is out of balance by more than {} kg/s.\n",
        report.iterations,
        significant(report.residual, 2),
    );
    let _ = writeln!(
        text,
        "{} {} {}",
        left("NODE", NODE),
        right(&format!("pressure {}", pressure.symbol), NUMBER),
        right("density kg/m³", NUMBER),
    );
    for (id, node) in network.node_ids().zip(network.nodes()) {
        let mut lines = wrap(&node.name, NODE).into_iter();
        let _ = writeln!(
            text,
            "{} {} {}{}",
            left(&lines.next().unwrap_or_default(), NODE),
            number(pressure, solver.pressure(id)),
            right(&significant(node.density, 6), NUMBER),
            if node.fixed_pressure.is_some() {
                "  fixed"
            } else {
                ""
            },
        );
        for line in lines {
            let _ = writeln!(text, "{line}");
        }
    }
    let _ = writeln!(
        text,
        "\n{} {} {} {} {}",
        left("ELEMENT", ELEMENT),
        right(&format!("drive {}", pressure.symbol), NUMBER),
        right(&format!("Δp {}", pressure.symbol), NUMBER),
        right(&format!("flow {}", mass_flow.symbol), NUMBER),
        right(&format!("flow {}", volume_flow.symbol), NUMBER),
    );
    for state in states(file, solver) {
        let mut lines = wrap(&state.element.name, ELEMENT).into_iter();
        let _ = writeln!(
            text,
            "{} {} {} {} {}",
            left(&lines.next().unwrap_or_default(), ELEMENT),
            number(pressure, state.element.drive),
            number(pressure, state.pressure_difference),
            number(mass_flow, state.mass_flow),
            number(volume_flow, state.mass_flow / STANDARD_DENSITY),
        );
        for line in lines {
            let _ = writeln!(text, "{line}");
        }
        for line in wrap(&format!("{} → {}", state.from, state.to), WIDTH - 2) {
            let _ = writeln!(text, "  {line}");
        }
    }
    let _ = writeln!(
        text,
        "\nA flow is positive along the arrow. Δp includes the drive. Volume flows are at {STANDARD_DENSITY} kg/m³."
    );
    for assumed in &file.assumed {
        let _ = writeln!(text, "Assumed: {} {}.", assumed.what, assumed.value);
    }
    text
}

/// The unit with this symbol.
fn unit<Q: Quantity>(symbol: &str) -> &'static Unit {
    Q::units()
        .iter()
        .find(|unit| unit.symbol == symbol)
        .unwrap_or(&Q::units()[0])
}
