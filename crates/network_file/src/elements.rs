//! Elements and their laws.

use std::collections::BTreeMap;
use std::ops::Range;

use airflow::{Law, Network};
use diagnostics::{Problem, Problems, nearest};
use ducts::{FanCurve, Run, Section};
use units::{Length, Pressure, VolumeFlow};

use crate::read::{Air, Nodes, find, twice};
use crate::table::{Accepted, At, Table};

/// The laws by their names in the file.
const LAWS: [&str; 8] = [
    "leak",
    "flap",
    "quadratic",
    "duct",
    "fan",
    "fan curve",
    "constant flow",
    "shut",
];

/// Droop of a constant-flow blower where none is stated (m³/(s·Pa)).
const DROOP: f64 = 1e-6;

/// Conductance of what is shut where none is stated (kg/(s·Pa)).
const SHUT: f64 = 1e-9;

const RESISTANCE_1: &str = "Pa·s/m³";
const RESISTANCE_2: &str = "Pa·s²/m⁶";

/// Reads one element into the network.
pub(crate) fn element(
    mut table: Table<'_>,
    network: &mut Network,
    nodes: &Nodes,
    places: &mut BTreeMap<String, Range<usize>>,
    air: &Air,
    problems: &mut Problems,
) {
    let name = table.text("name", problems);
    let from = table.text("from", problems);
    let to = table.text("to", problems);
    let drive = table.quantity_if_any::<Pressure>("drive", "Pa", Accepted::Finite, problems);
    let law = table.text("law", problems);

    if let (Some(from), Some(to)) = (&from, &to)
        && from.value == to.value
    {
        problems.push(
            Problem::error(
                format!("the element joins node `{}` to itself", to.value),
                to.span.clone(),
            )
            .related(from.span.clone(), "the same node")
            .help("give it two different nodes"),
        );
    }
    let from = from.and_then(|from| find(&from, nodes, problems));
    let to = to.and_then(|to| find(&to, nodes, problems));
    // Without a known law nothing can be said about the other keys.
    let Some(law) = law else { return };
    let Some(kind) = LAWS.iter().find(|kind| **kind == law.value) else {
        problems.push(unknown_law(&law));
        return;
    };
    let law = read_law(kind, &mut table, air, problems);
    table.finish(problems);

    let Some(name) = name else { return };
    if let Some(first) = places.get(&name.value) {
        problems.push(twice("element", &name, first));
        return;
    }
    places.insert(name.value.clone(), name.span);
    if let (Some(from), Some(to), Some(law)) = (from, to, law) {
        let id = network.element(&name.value, from.id, to.id, law);
        if let Some(drive) = drive {
            network.set_drive(id, drive.value);
        }
    }
}

fn unknown_law(law: &At<String>) -> Problem {
    let mut problem = Problem::error(format!("there is no law `{}`", law.value), law.span.clone());
    if let Some(near) = nearest(&law.value, LAWS) {
        problem = problem.label(format!("did you mean `{near}`?"));
    }
    problem.help(format!("accepted: {}", LAWS.join(", ")))
}

/// The law of the name, or none if one of its numbers is missing or refused.
fn read_law(kind: &str, table: &mut Table<'_>, air: &Air, problems: &mut Problems) -> Option<Law> {
    match kind {
        "leak" => {
            let (coefficient, exponent) = power_law(table, problems);
            Some(Law::Leak {
                coefficient: coefficient?,
                exponent: exponent?,
            })
        }
        "flap" => {
            let (coefficient, exponent) = power_law(table, problems);
            let reverse = table.number(
                "reverse_fraction",
                "",
                Accepted::AboveUpTo(0.0, 1.0),
                problems,
            );
            Some(Law::LeakOneWay {
                coefficient: coefficient?,
                exponent: exponent?,
                reverse_fraction: reverse?.value,
            })
        }
        "quadratic" => {
            let linear = optional(
                table,
                "linear",
                RESISTANCE_1,
                || 0.0,
                Accepted::AtLeast(0.0),
                problems,
            );
            let quadratic =
                table.number("quadratic", RESISTANCE_2, Accepted::AtLeast(0.0), problems);
            let density = density(table, air, problems);
            let (linear, quadratic) = (linear?, quadratic?);
            if linear + quadratic.value <= 0.0 {
                problems.push(
                    Problem::error("a law without any resistance", quadratic.span)
                        .help("`linear`, `quadratic` or both must be above 0"),
                );
                return None;
            }
            Some(Law::Quadratic {
                linear,
                quadratic: quadratic.value,
                density: density?,
            })
        }
        "duct" => duct(table, air, problems),
        "fan" => {
            let rise = table.quantity::<Pressure>("rise_at_rest", "Pa", Accepted::Finite, problems);
            let (linear, quadratic) = fan_curve(table, problems);
            let density = density(table, air, problems);
            Some(Law::QuadraticFan {
                p0: rise?.value,
                b: linear?,
                c: quadratic?,
                density: density?,
            })
        }
        "fan curve" => {
            let curve = curve(table, problems);
            let density = density(table, air, problems);
            Some(Law::Fan {
                curve: curve?,
                density: density?,
            })
        }
        "constant flow" => {
            let flow =
                table.quantity::<VolumeFlow>("volume_flow", "m³/s", Accepted::Above(0.0), problems);
            let droop = optional(
                table,
                "droop",
                "m³/(s·Pa)",
                || DROOP,
                Accepted::Above(0.0),
                problems,
            );
            let rise =
                table.quantity::<Pressure>("rise_at_rest", "Pa", Accepted::Above(0.0), problems);
            let (linear, quadratic) = fan_curve(table, problems);
            let density = density(table, air, problems);
            Some(Law::ConstantFlowFan {
                volume_flow: flow?.value,
                droop: droop?,
                p0: rise?.value,
                b: linear?,
                c: quadratic?,
                density: density?,
            })
        }
        _ => Some(Law::Shut {
            conductance: optional(
                table,
                "conductance",
                "kg/(s·Pa)",
                || SHUT,
                Accepted::Above(0.0),
                problems,
            )?,
        }),
    }
}

fn power_law(table: &mut Table<'_>, problems: &mut Problems) -> (Option<f64>, Option<f64>) {
    let coefficient = table.number("coefficient", "m³/(s·Paⁿ)", Accepted::Above(0.0), problems);
    let exponent = table.number("exponent", "", Accepted::Between(0.5, 1.0), problems);
    (
        coefficient.map(|number| number.value),
        exponent.map(|number| number.value),
    )
}

/// b and c of a rise that falls with the flow.
fn fan_curve(table: &mut Table<'_>, problems: &mut Problems) -> (Option<f64>, Option<f64>) {
    let linear = table.number("linear", RESISTANCE_1, Accepted::Above(0.0), problems);
    let quadratic = optional(
        table,
        "quadratic",
        RESISTANCE_2,
        || 0.0,
        Accepted::AtLeast(0.0),
        problems,
    );
    (linear.map(|number| number.value), quadratic)
}

/// The points of a fan curve.
fn curve(table: &mut Table<'_>, problems: &mut Problems) -> Option<FanCurve> {
    const SHAPE: &str = "points = [{ rise = \"50 Pa\", volume_flow = \"30 L/s\" }, …]";
    if !table.has("points") {
        problems.push(
            Problem::error("a fan curve needs the key `points`", table.span.clone()).help(SHAPE),
        );
        return None;
    }
    let place = table.place("points");
    let mut points = Vec::new();
    for mut point in table.tables("points", "a point of a fan curve", SHAPE, problems) {
        let rise = point.quantity::<Pressure>("rise", "Pa", Accepted::Finite, problems);
        let flow =
            point.quantity::<VolumeFlow>("volume_flow", "m³/s", Accepted::AtLeast(0.0), problems);
        point.finish(problems);
        points.push(rise.zip(flow).map(|(rise, flow)| (rise.value, flow.value)));
    }
    // A point that was refused has its problem already.
    let points: Vec<(f64, f64)> = points.into_iter().collect::<Option<_>>()?;
    FanCurve::new(&points)
        .map_err(|error| problems.push(Problem::error(error.to_string(), place)))
        .ok()
}

fn density(table: &mut Table<'_>, air: &Air, problems: &mut Problems) -> Option<f64> {
    let accepted = Accepted::Above(0.0);
    optional(
        table,
        "density",
        "kg/m³",
        || air.density(),
        accepted,
        problems,
    )
}

/// A number that may be absent; none only if it is there and refused.
fn optional(
    table: &mut Table<'_>,
    key: &'static str,
    unit: &'static str,
    otherwise: impl FnOnce() -> f64,
    accepted: Accepted,
    problems: &mut Problems,
) -> Option<f64> {
    let found = table.number_if_any(key, unit, accepted, problems);
    match found {
        None if table.has(key) => None,
        found => Some(found.map_or_else(otherwise, |number| number.value)),
    }
}

fn duct(table: &mut Table<'_>, air: &Air, problems: &mut Problems) -> Option<Law> {
    let size = |table: &mut Table<'_>, key, problems: &mut Problems| {
        table.quantity_if_any::<Length>(key, "m", Accepted::Above(0.0), problems)
    };
    let diameter = size(table, "diameter", problems);
    let width = size(table, "width", problems);
    let height = size(table, "height", problems);
    let length = table.quantity::<Length>("length", "m", Accepted::Above(0.0), problems);
    let roughness = table.quantity::<Length>("roughness", "m", Accepted::AtLeast(0.0), problems);
    let more = Accepted::AtLeast(0.0);
    let multiplier = optional(
        table,
        "friction_multiplier",
        "",
        || 1.0,
        Accepted::Above(0.0),
        problems,
    );
    let loss = optional(table, "loss", "", || 0.0, more, problems);
    let reverse = table.number_if_any("loss_reverse", "", more, problems);
    let density = density(table, air, problems);
    let viscosity = optional(
        table,
        "viscosity",
        "Pa·s",
        || air.viscosity(),
        Accepted::Above(0.0),
        problems,
    );

    let sides = (table.has("width"), table.has("height"));
    let section = match (table.has("diameter"), sides) {
        (true, (false, false)) => Section::round(diameter?.value),
        (false, (true, true)) => Section::rectangular(width?.value, height?.value),
        _ => {
            problems.push(
                Problem::error("the size of the duct is not clear", table.span.clone())
                    .help("state either `diameter`, or `width` and `height`"),
            );
            return None;
        }
    };
    let (length, roughness) = (length?, roughness?);
    let (multiplier, loss) = (multiplier?, loss?);
    let reverse = match reverse {
        None if table.has("loss_reverse") => return None,
        reverse => reverse.map_or(loss, |number| number.value),
    };
    let run = section
        .and_then(|section| Run::new(section, length.value, roughness.value))
        .and_then(|run| run.with_friction_multiplier(multiplier))
        .and_then(|run| run.with_losses(loss, reverse));
    match run {
        Ok(run) => Some(Law::Duct {
            run,
            density: density?,
            viscosity: viscosity?,
        }),
        Err(error) => {
            // Sizes and losses are in range: what is left is too rough a wall for so small a duct.
            problems.push(Problem::error(error.to_string(), roughness.span));
            None
        }
    }
}
