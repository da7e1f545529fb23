//! Time of one steady solve, to a residual of 1e-9 kg/s, of 200 random networks with 15 unknown
//! pressures and 60 elements (25 leaks, 29 quadratic elements, 6 fans). Run it with
//! `cargo bench -p airflow`; `-- --json` prints the numbers as JSON.

#[path = "../tests/random/mod.rs"]
mod random;

use std::hint::black_box;
use std::time::{Duration, Instant};

use airflow::{Network, Solver};
use random::{Random, house, perturbed};

const NETWORKS: usize = 200;
const VARIANTS: usize = 8;
const REPETITIONS: usize = 7;

/// One row of the table.
struct Row {
    name: &'static str,
    microseconds: f64,
    iterations: f64,
    evaluations: f64,
    goal: f64,
}

fn main() {
    let json = std::env::args().any(|argument| argument == "--json");
    let mut random = Random(1);
    let houses: Vec<Network> = (0..NETWORKS).map(|_| house(&mut random)).collect();
    let mut variants = |share: f64| -> Vec<Vec<Network>> {
        let vary = |network: &Network| {
            (0..VARIANTS)
                .map(|_| perturbed(network, share, &mut random))
                .collect()
        };
        houses.iter().map(vary).collect()
    };
    let (near, far) = (variants(0.004), variants(0.04));
    let rows = [
        scalar("one by one, cold", 9.0, &houses, &near, true),
        scalar(
            "one by one, from a neighbour within 4 %",
            f64::NAN,
            &houses,
            &far,
            false,
        ),
        scalar(
            "one by one, from a neighbour within 0.4 %",
            4.0,
            &houses,
            &near,
            false,
        ),
    ];
    if json {
        let fields: Vec<String> = rows
            .iter()
            .map(|row| format!("\"{}\": {:.4}", row.name, row.microseconds))
            .collect();
        println!("{{{}}}", fields.join(", "));
        return;
    }
    println!(
        "{:<45} {:>9} {:>9} {:>11} {:>12}",
        "µs per solve", "measured", "goal", "iterations", "evaluations"
    );
    for row in &rows {
        println!(
            "{:<45} {:>9.2} {:>9} {:>11.2} {:>12.2}",
            row.name,
            row.microseconds,
            if row.goal.is_nan() {
                "-".to_owned()
            } else {
                format!("{}", row.goal)
            },
            row.iterations,
            row.evaluations
        );
    }
}

/// What reading the clock costs.
fn clock() -> Duration {
    let start = Instant::now();
    for _ in 0..10_000 {
        black_box(Instant::now());
    }
    start.elapsed() / 10_000
}

/// The best mean of all repetitions; only the solves are timed, not the change of the values.
fn scalar(
    name: &'static str,
    goal: f64,
    houses: &[Network],
    variants: &[Vec<Network>],
    cold: bool,
) -> Row {
    let mut best = Row {
        name,
        microseconds: f64::INFINITY,
        iterations: 0.0,
        evaluations: 0.0,
        goal,
    };
    let clock = clock();
    let mut solvers: Vec<Solver> = houses
        .iter()
        .map(|network| Solver::new(network).expect("well posed"))
        .collect();
    for _ in 0..REPETITIONS {
        let mut total = Duration::ZERO;
        let (mut iterations, mut evaluations, mut count) = (0, 0, 0);
        for (solver, variants) in solvers.iter_mut().zip(variants) {
            for variant in variants {
                solver.update(variant).expect("well posed");
                if cold {
                    solver.reset();
                }
                let start = Instant::now();
                let report = solver.solve().expect("converges");
                total += start.elapsed().saturating_sub(clock);
                assert!(report.residual <= 1e-9, "{report:?}");
                iterations += report.iterations;
                evaluations += report.evaluations;
                count += 1;
            }
        }
        let count = f64::from(count);
        let microseconds = total.as_secs_f64() * 1e6 / count;
        if microseconds < best.microseconds {
            best = Row {
                microseconds,
                iterations: iterations as f64 / count,
                evaluations: evaluations as f64 / count,
                ..best
            };
        }
    }
    best
}
