//! Properties that hold for every network, on many random ones.

mod random;

use airflow::{Law, Network, NodeId, Report, Solver};
use random::{Random, any, house};

const NETWORKS: u64 = 20_000;

/// Agreement of flows where two networks differ in nothing but their form, as a share of the
/// largest flow.
const EXACT: f64 = 1e-10;

/// Solves to rounding: every solve takes at least one more step.
fn polished(network: &Network, seed: u64) -> Solver {
    let mut solver = solver(network, seed);
    solve(&mut solver, seed);
    solve(&mut solver, seed);
    solver
}

fn solver(network: &Network, seed: u64) -> Solver {
    Solver::new(network).unwrap_or_else(|error| panic!("network {seed}: {error}"))
}

fn solve(solver: &mut Solver, seed: u64) -> Report {
    solver
        .solve()
        .unwrap_or_else(|error| panic!("network {seed}: {error}"))
}

fn largest_flow(solver: &Solver) -> f64 {
    let flows = solver
        .network()
        .element_ids()
        .map(|id| solver.mass_flow(id).abs());
    flows.fold(0.0, f64::max)
}

/// Largest sum of flows at a node with an unknown pressure.
fn imbalance(solver: &Solver) -> f64 {
    let network = solver.network();
    let mut sums: Vec<f64> = network.nodes().iter().map(|node| -node.injection).collect();
    for id in network.element_ids() {
        let element = &network.elements()[id.index()];
        sums[element.from.index()] += solver.mass_flow(id);
        sums[element.to.index()] -= solver.mass_flow(id);
    }
    let unknown = network
        .nodes()
        .iter()
        .zip(sums)
        .filter(|(node, _)| node.fixed_pressure.is_none());
    unknown.map(|(_, sum)| sum.abs()).fold(0.0, f64::max)
}

/// Pressures agree to this share of the largest, or of 1 Pa.
const PRESSURE: f64 = 1e-5;

/// Flows agree to this share of the largest, or of 1 kg/s.
const FLOW: f64 = 1e-6;

fn highest_pressure(solver: &Solver) -> f64 {
    solver
        .pressures()
        .fold(1.0, |highest: f64, pressure| highest.max(pressure.abs()))
}

#[test]
fn every_network_converges_and_conserves_mass() {
    let mut most = 0;
    for seed in 0..NETWORKS {
        let network = any(&mut Random(seed));
        let mut solver = solver(&network, seed);
        let report = solve(&mut solver, seed);
        most = most.max(report.iterations);
        let scale = largest_flow(&solver).max(1.0);
        assert!(
            imbalance(&solver) <= 1.001e-9 * scale,
            "network {seed}: {report:?}"
        );
    }
    assert!(most <= 50, "{most} iterations");
}

#[test]
fn pressures_and_flows_obey_the_laws() {
    for seed in 0..NETWORKS {
        let network = any(&mut Random(seed));
        let mut solver = solver(&network, seed);
        solve(&mut solver, seed);
        let (flow_scale, pressure_scale) =
            (largest_flow(&solver).max(1.0), highest_pressure(&solver));
        for id in network.element_ids() {
            let element = &network.elements()[id.index()];
            let difference = solver.pressure_difference(id);
            let expected =
                solver.pressure(element.from) - solver.pressure(element.to) + element.drive;
            let off = (difference - expected).abs();
            assert!(
                off <= 1e-12 * pressure_scale,
                "network {seed}: {} {difference} {expected}",
                element.name
            );
            let density = |node: NodeId| network.nodes()[node.index()].density;
            let (flow, _) =
                element
                    .law
                    .mass_flow(difference, density(element.from), density(element.to));
            let off = (flow - solver.mass_flow(id)).abs();
            assert!(
                off <= 1e-12 * flow_scale,
                "network {seed}: {} {flow}",
                element.name
            );
        }
    }
}

#[test]
fn the_solution_does_not_depend_on_the_start() {
    for seed in 0..NETWORKS {
        let mut random = Random(seed);
        let network = any(&mut random);
        let mut cold = solver(&network, seed);
        solve(&mut cold, seed);
        let start: Vec<f64> = network
            .nodes()
            .iter()
            .map(|_| random.between(-300.0, 300.0))
            .collect();
        let mut warm = solver(&network, seed);
        warm.set_start(&start);
        solve(&mut warm, seed);
        let (flow_scale, pressure_scale) = (largest_flow(&cold).max(1.0), highest_pressure(&cold));
        for node in network.node_ids() {
            let (a, b) = (cold.pressure(node), warm.pressure(node));
            assert!(
                (a - b).abs() <= PRESSURE * pressure_scale,
                "network {seed}: {a} Pa and {b} Pa"
            );
        }
        for id in network.element_ids() {
            let (a, b) = (cold.mass_flow(id), warm.mass_flow(id));
            assert!(
                (a - b).abs() <= FLOW * flow_scale,
                "network {seed}: {a} kg/s and {b} kg/s"
            );
        }
    }
}

/// More drive on an element never lowers its flow; air put into a node never lowers its pressure.
#[test]
fn the_response_is_monotone() {
    for seed in 0..NETWORKS {
        let mut random = Random(seed);
        let network = any(&mut random);
        let mut solver = solver(&network, seed);
        solve(&mut solver, seed);
        let element = network
            .element_ids()
            .nth(random.below(network.elements().len()))
            .expect("one");
        let before = solver.mass_flow(element);
        let drive = network.elements()[element.index()].drive;
        solver.set_drive(element, drive + random.logarithmic(1e-3, 100.0));
        solve(&mut solver, seed);
        let after = solver.mass_flow(element);
        let scale = largest_flow(&solver).max(1.0);
        assert!(
            after >= before - FLOW * scale,
            "network {seed}: {before} and then {after} kg/s"
        );

        let node = network
            .node_ids()
            .nth(random.below(network.nodes().len()))
            .expect("one");
        if network.nodes()[node.index()].fixed_pressure.is_some() {
            continue;
        }
        let before = solver.pressure(node);
        solver.set_injection(
            node,
            network.nodes()[node.index()].injection + random.logarithmic(1e-6, 0.1),
        );
        solve(&mut solver, seed);
        let after = solver.pressure(node);
        let scale = highest_pressure(&solver);
        assert!(
            after >= before - PRESSURE * scale,
            "network {seed}: {before} and then {after} Pa"
        );
    }
}

/// Halves a quadratic element into two in series.
#[test]
fn an_element_cut_in_two_carries_the_same_flow() {
    for seed in 0..500 {
        let mut random = Random(seed);
        let network = house(&mut random);
        let whole = polished(&network, seed);
        let id = network
            .element_ids()
            .nth(random.below(29))
            .expect("a resistance");
        let element = network.elements()[id.index()].clone();
        let Law::Quadratic {
            linear,
            quadratic,
            density,
        } = element.law
        else {
            panic!("the first elements of a house are resistances");
        };
        let half = Law::Quadratic {
            linear: 0.5 * linear,
            quadratic: 0.5 * quadratic,
            density,
        };
        let mut cut = Network::new();
        for node in network.nodes() {
            match node.fixed_pressure {
                Some(pressure) => cut.fixed_node(&node.name, pressure, node.density),
                None => cut.node(&node.name, node.density),
            };
        }
        let middle = cut.node("middle", 1.2);
        for other in network.elements() {
            if other.name == element.name {
                cut.element("first half", element.from, middle, half.clone());
            } else {
                let added = cut.element(&other.name, other.from, other.to, other.law.clone());
                cut.set_drive(added, other.drive);
            }
        }
        cut.element("second half", middle, element.to, half.clone());
        let halves = polished(&cut, seed);
        for id in network.element_ids() {
            let (a, b) = (whole.mass_flow(id), halves.mass_flow(id));
            assert!(
                (a - b).abs() <= EXACT * largest_flow(&whole),
                "network {seed}: {a} and {b} kg/s"
            );
        }
    }
}

/// Splits a leak into two of the same exponent whose coefficients add up to it.
#[test]
fn parallel_leaks_add_their_coefficients() {
    for seed in 0..500 {
        let mut random = Random(seed);
        let network = house(&mut random);
        let whole = polished(&network, seed);
        let id = network
            .element_ids()
            .nth(29 + random.below(25))
            .expect("a leak");
        let element = &network.elements()[id.index()];
        let Law::Leak {
            coefficient,
            exponent,
        } = element.law
        else {
            panic!("the middle elements of a house are leaks");
        };
        let share = random.between(0.1, 0.9);
        let mut parted = network.clone();
        parted.set_law(
            id,
            Law::Leak {
                coefficient: share * coefficient,
                exponent,
            },
        );
        let rest = Law::Leak {
            coefficient: (1.0 - share) * coefficient,
            exponent,
        };
        let rest = parted.element("rest", element.from, element.to, rest);
        parted.set_drive(rest, element.drive);
        let parts = polished(&parted, seed);
        let (a, b) = (
            whole.mass_flow(id),
            parts.mass_flow(id) + parts.mass_flow(rest),
        );
        assert!(
            (a - b).abs() <= EXACT * largest_flow(&whole),
            "network {seed}: {a} and {b} kg/s"
        );
    }
}

/// Leaks of one exponent and resistances only, one density: reversed drives reverse all flows.
#[test]
fn reversed_drives_reverse_the_flows() {
    for seed in 0..500 {
        let mut network = house(&mut Random(seed));
        for node in network.node_ids() {
            network.set_density(node, 1.2);
        }
        for id in network.element_ids() {
            if network.elements()[id.index()].law.is_fan() {
                network.set_law(
                    id,
                    Law::Quadratic {
                        linear: 10.0,
                        quadratic: 600.0,
                        density: 1.2,
                    },
                );
                network.set_drive(id, 60.0);
            }
        }
        let forward = polished(&network, seed);
        for id in network.element_ids() {
            network.set_drive(id, -network.elements()[id.index()].drive);
        }
        let reverse = polished(&network, seed);
        for id in network.element_ids() {
            let (a, b) = (forward.mass_flow(id), reverse.mass_flow(id));
            assert!(
                (a + b).abs() <= EXACT * largest_flow(&forward),
                "network {seed}: {a} and {b} kg/s"
            );
        }
    }
}

/// Quadratic elements and fans whose pressures scale with the density: the volume flows stay.
#[test]
fn density_leaves_volume_flows_alone() {
    for seed in 0..500 {
        let mut network = house(&mut Random(seed));
        for id in network.element_ids() {
            network.set_drive(id, 0.0);
            if matches!(network.elements()[id.index()].law, Law::Leak { .. }) {
                let quadratic = 5e4 * (1 + id.index()) as f64;
                network.set_law(
                    id,
                    Law::Quadratic {
                        linear: 0.0,
                        quadratic,
                        density: 1.2,
                    },
                );
            }
        }
        let mut thin = network.clone();
        let thinner = 0.75;
        for id in network.element_ids() {
            let law = match network.elements()[id.index()].law {
                Law::Quadratic {
                    linear,
                    quadratic,
                    density,
                } => Law::Quadratic {
                    linear: thinner * linear,
                    quadratic: thinner * quadratic,
                    density: thinner * density,
                },
                Law::QuadraticFan { p0, b, c, density } => Law::QuadraticFan {
                    p0: thinner * p0,
                    b: thinner * b,
                    c: thinner * c,
                    density: thinner * density,
                },
                ref other => panic!("{other:?}"),
            };
            thin.set_law(id, law);
        }
        let (a, b) = (polished(&network, seed), polished(&thin, seed));
        for id in network.element_ids() {
            let (a, b, scale) = (a.mass_flow(id), b.mass_flow(id) / thinner, largest_flow(&a));
            assert!(
                (a - b).abs() <= EXACT * scale,
                "network {seed}: {a} and {b} kg/s"
            );
        }
    }
}

/// The derivative of all pressures against the difference of two solutions.
#[test]
fn sensitivities_are_derivatives() {
    for seed in 0..500 {
        let mut random = Random(seed);
        let network = house(&mut random);
        let mut solver = solver(&network, seed);
        solve(&mut solver, seed);
        let id = network
            .element_ids()
            .nth(random.below(60))
            .expect("an element");
        let drive = network.elements()[id.index()].drive;
        let mut sensitivity = vec![0.0; network.nodes().len()];
        let slope = solver.slope(id);
        solver.pressure_sensitivity(id, slope, &mut sensitivity);
        let step = 1e-3;
        let mut pressures = [-step, step].map(|change| {
            solver.set_drive(id, drive + change);
            solve(&mut solver, seed);
            solver.pressures().collect::<Vec<f64>>()
        });
        let [low, high] = &mut pressures;
        for (node, expected) in sensitivity.iter().enumerate() {
            let got = (high[node] - low[node]) / (2.0 * step);
            assert!(
                (got - expected).abs() <= 1e-4,
                "network {seed}: {got} and {expected}"
            );
        }
    }
}
