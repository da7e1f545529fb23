//! An inverse problem: resistances of ducts from readings, with what was believed before.

use airflow::{Law, Solver};

use super::{Case, number};
use crate::{Check, Tolerance};

const TABLE: &str = include_str!("../../tables/networks_inverse.csv");

/// The ducts whose resistances r₂ are sought.
const SOUGHT: [&str; 4] = [
    "outdoor-air duct",
    "supply-air duct",
    "extract-air duct",
    "exhaust-air duct",
];

/// Values before the readings, with a standard deviation of 0.3 in the logarithm.
const PRIOR: [f64; 4] = [6000.0, 8000.0, 8000.0, 6000.0];
const PRIOR_DEVIATION: f64 = 0.3;

/// Readings, each with its standard deviation: pressure of the outdoor-air port against outdoors,
/// of the supply-air port and of the extract-air port against the house, of the exhaust-air port
/// against outdoors (Pa), supply flow and exhaust flow (L/s at 1.2 kg/m³).
const READINGS: [(f64, f64); 6] = [
    (-20.8, 1.0),
    (29.0, 1.0),
    (-19.6, 1.0),
    (21.5, 1.0),
    (53.9, 2.695),
    (55.3, 2.765),
];

/// Finds the four resistances in a network whose own values of them are ignored.
pub(super) fn checks(case: &Case) -> Vec<Check> {
    let (values, deviations) = most_probable(case).unwrap_or(([f64::NAN; 4], [f64::NAN; 4]));
    let check = |what: String, unit, expected, got| Check {
        subject: super::SUBJECT,
        source: "least squares with scipy, computed by an independent method".to_owned(),
        input: format!("four duct resistances from six readings: {what}"),
        unit,
        expected,
        got,
        tolerance: Tolerance::Relative(1e-6),
    };
    let rows = TABLE.lines().filter(|line| !line.starts_with('#'));
    let mut checks = Vec::new();
    for (row, (value, deviation)) in rows.zip(values.into_iter().zip(deviations)) {
        let [duct, expected_value, expected_deviation] = row.split(',').collect::<Vec<_>>()[..]
        else {
            panic!("not a line of the table of the inverse problem: `{row}`");
        };
        let what = format!("most probable r₂ of the {duct}");
        checks.push(check(what, "Pa·s²/m⁶", number(expected_value), value));
        let what = format!("standard deviation of ln r₂ of the {duct}");
        checks.push(check(what, "-", number(expected_deviation), deviation));
    }
    checks
}

/// Gauss and Newton on the logarithms of the resistances, with the sensitivities of the solved
/// network: values, and standard deviations of their logarithms.
fn most_probable(case: &Case) -> Option<([f64; 4], [f64; 4])> {
    let sought = SOUGHT.map(|name| case.element(name));
    let house = case.node("house").index();
    let ports = [
        "outdoor-air port",
        "supply-air port",
        "extract-air port",
        "exhaust-air port",
    ];
    let ports = ports.map(|name| case.node(name).index());
    // What is read, from pressures and flows or from their derivatives.
    let readings = |pressure: &[f64], flows: [f64; 2]| {
        [
            pressure[ports[0]],
            pressure[ports[1]] - pressure[house],
            pressure[ports[2]] - pressure[house],
            pressure[ports[3]],
            flows[0] / 1.2e-3,
            flows[1] / 1.2e-3,
        ]
    };
    let flows = [sought[0], sought[3]];
    let mut solver = Solver::new(&case.network).ok()?;
    let mut log = PRIOR.map(f64::ln);
    for _ in 0..30 {
        for (element, log) in sought.into_iter().zip(log) {
            let law = Law::Quadratic {
                linear: 0.0,
                quadratic: log.exp(),
                density: 1.2,
            };
            solver.set_law(element, law).ok()?;
        }
        solver.solve().and_then(|_| solver.solve()).ok()?;
        let pressure: Vec<f64> = solver.pressures().collect();
        let modelled = readings(&pressure, flows.map(|element| solver.mass_flow(element)));
        let derivatives = sought.map(|element| {
            // At a fixed pressure difference dm/d ln r₂ = −m/2.
            let own = -0.5 * solver.mass_flow(element);
            let mut change = vec![0.0; pressure.len()];
            solver.pressure_sensitivity(element, own, &mut change);
            let flows = flows.map(|other| {
                let ends = &case.network.elements()[other.index()];
                let across = change[ends.from.index()] - change[ends.to.index()];
                solver.slope(other) * across + if other == element { own } else { 0.0 }
            });
            readings(&change, flows)
        });
        let mut normal = [[0.0; 4]; 4];
        let mut right_side = [0.0; 4];
        for i in 0..4 {
            let weight = PRIOR_DEVIATION.powi(-2);
            normal[i][i] += weight;
            right_side[i] += weight * (PRIOR[i].ln() - log[i]);
            for (reading, (measured, deviation)) in READINGS.into_iter().enumerate() {
                let weighted = derivatives[i][reading] / (deviation * deviation);
                right_side[i] += weighted * (measured - modelled[reading]);
                for j in 0..4 {
                    normal[i][j] += weighted * derivatives[j][reading];
                }
            }
        }
        let covariance = inverted(normal);
        let steps = covariance.map(|row| -> f64 {
            row.iter()
                .zip(right_side)
                .map(|(value, right)| value * right)
                .sum()
        });
        for (log, step) in log.iter_mut().zip(steps) {
            *log += step;
        }
        if steps.iter().all(|step| step.abs() < 1e-10) {
            let deviations = [0, 1, 2, 3].map(|i: usize| covariance[i][i].sqrt());
            return Some((log.map(f64::exp), deviations));
        }
    }
    None
}

/// Inverse of a symmetric positive definite matrix (Gauss and Jordan).
fn inverted(mut a: [[f64; 4]; 4]) -> [[f64; 4]; 4] {
    for k in 0..4 {
        let pivot = std::mem::replace(&mut a[k][k], 1.0);
        a[k] = a[k].map(|value| value / pivot);
        let row = a[k];
        for (_, other) in a.iter_mut().enumerate().filter(|(i, _)| *i != k) {
            let factor = std::mem::replace(&mut other[k], 0.0);
            for (value, above) in other.iter_mut().zip(row) {
                *value -= factor * above;
            }
        }
    }
    a
}
