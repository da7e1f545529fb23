//! Time of one steady solve, to a residual of 1e-9 kg/s, of 200 random networks with 15 unknown
//! pressures and 60 elements (25 leaks, 29 quadratic elements, 6 fans): one network at a time, and
//! in batches of eight of one topology. Every number of a network is changed by up to 0.4 % or 4 %
//! between two solves, or the solver starts without any solution. Only the solves are timed.
//!
//! Run it with `cargo bench -p airflow --bench network`; `-- --json` prints the times as JSON.

#[path = "../tests/random/mod.rs"]
mod random;

use std::hint::black_box;
use std::time::{Duration, Instant};

use airflow::{BatchSolver, LANES, Network, Report, Solver};
use random::{Random, house, perturbed};

const NETWORKS: usize = 200;
/// Passes over all networks, of which the fastest counts: others use the machine, too.
const PASSES: usize = 20;
/// Solves of one network in a row.
const ROUNDS: usize = 10;

/// A network, its solution, and eight networks near it.
struct Case {
    network: Network,
    solution: Vec<f64>,
    variants: Vec<Network>,
}

struct Row {
    name: &'static str,
    key: &'static str,
    /// µs per solve.
    goal: Option<f64>,
    time: Timing,
}

/// The fastest pass.
#[derive(Clone, Copy)]
struct Timing {
    microseconds: f64,
    iterations: f64,
    evaluations: f64,
}

fn main() {
    let json = std::env::args().any(|argument| argument == "--json");
    let (near, far) = (cases(0.004), cases(0.04));
    let row = |name, key, goal, time| Row {
        name,
        key,
        goal,
        time,
    };
    let rows = [
        row(
            "one by one, cold",
            "single_cold",
            Some(9.0),
            single(&near, true),
        ),
        row(
            "one by one, within 4 %",
            "single_4",
            None,
            single(&far, false),
        ),
        row(
            "one by one, within 0.4 %",
            "single_04",
            Some(4.0),
            single(&near, false),
        ),
        row("in batches, cold", "batch_cold", None, batch(&near, true)),
        row(
            "in batches, within 4 %",
            "batch_4",
            None,
            batch(&far, false),
        ),
        row(
            "in batches, within 0.4 %",
            "batch_04",
            Some(1.5),
            batch(&near, false),
        ),
    ];
    if json {
        let field = |row: &Row| format!("\"{}\": {:.4}", row.key, row.time.microseconds);
        let fields: Vec<String> = rows.iter().map(field).collect();
        println!("{{{}}}", fields.join(", "));
        return;
    }
    println!("µs per solve                measured   goal   iterations   evaluations");
    for row in &rows {
        let goal = row.goal.map_or("-".to_owned(), |goal| goal.to_string());
        println!(
            "{:<26} {:>9.2} {goal:>6} {:>12.2} {:>13.2}",
            row.name, row.time.microseconds, row.time.iterations, row.time.evaluations
        );
    }
}

fn cases(share: f64) -> Vec<Case> {
    let mut random = Random(1);
    let mut case = || {
        let network = house(&mut random);
        let mut solver = Solver::new(&network).expect("well posed");
        solver.solve().expect("converges");
        let vary = |_| perturbed(&network, share, &mut random);
        Case {
            solution: solver.pressures().collect(),
            variants: (0..LANES).map(vary).collect(),
            network,
        }
    };
    (0..NETWORKS).map(|_| case()).collect()
}

fn single(cases: &[Case], cold: bool) -> Timing {
    let solver = |case: &Case| Solver::new(&case.network).expect("well posed");
    let mut solvers: Vec<Solver> = cases.iter().map(solver).collect();
    fastest(|count| {
        for (solver, case) in solvers.iter_mut().zip(cases) {
            for network in &case.variants {
                solver.update(network).expect("well posed");
                for _ in 0..ROUNDS {
                    if cold {
                        solver.reset()
                    } else {
                        solver.set_start(&case.solution)
                    }
                    let start = Instant::now();
                    let report = solver.solve();
                    count(start.elapsed(), &[report.expect("converges")]);
                }
            }
        }
    })
}

fn batch(cases: &[Case], cold: bool) -> Timing {
    let mut solvers: Vec<BatchSolver> = cases
        .iter()
        .map(|case| {
            let mut solver = BatchSolver::new(&case.network).expect("well posed");
            for (lane, network) in case.variants.iter().enumerate() {
                solver.update(lane, network).expect("well posed");
            }
            solver
        })
        .collect();
    fastest(|count| {
        for (solver, case) in solvers.iter_mut().zip(cases) {
            for _ in 0..ROUNDS {
                for lane in 0..LANES {
                    if cold {
                        solver.reset(lane)
                    } else {
                        solver.set_start(lane, &case.solution)
                    }
                }
                let start = Instant::now();
                let reports = solver.solve();
                let time = start.elapsed();
                count(time, &reports.map(|report| report.expect("converges")));
            }
        }
    })
}

/// Runs passes, each of which hands the time and the reports of its solves to the closure given
/// to it.
fn fastest(mut pass: impl FnMut(&mut dyn FnMut(Duration, &[Report]))) -> Timing {
    let clock = clock();
    let mut best = Timing {
        microseconds: f64::INFINITY,
        iterations: 0.0,
        evaluations: 0.0,
    };
    for _ in 0..PASSES {
        let mut total = Duration::ZERO;
        let (mut solves, mut iterations, mut evaluations) = (0, 0, 0);
        pass(&mut |time, reports| {
            total += time.saturating_sub(clock);
            for report in reports {
                assert!(report.residual <= 1e-9, "{report:?}");
                solves += 1;
                iterations += report.iterations;
                evaluations += report.evaluations;
            }
        });
        let microseconds = total.as_secs_f64() * 1e6 / f64::from(solves);
        if microseconds < best.microseconds {
            best = Timing {
                microseconds,
                iterations: iterations as f64 / f64::from(solves),
                evaluations: evaluations as f64 / f64::from(solves),
            };
        }
    }
    best
}

/// What reading the clock costs.
fn clock() -> Duration {
    let start = Instant::now();
    for _ in 0..10_000 {
        black_box(Instant::now());
    }
    start.elapsed() / 10_000
}
