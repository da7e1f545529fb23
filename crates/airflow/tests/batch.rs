//! The batched solver gives what the single one gives.

mod random;

use airflow::{BatchSolver, ElementId, LANES, Law, Network, Solver};
use random::{Random, any, house, perturbed};

fn single(network: &Network) -> Solver {
    let mut solver = Solver::new(network).expect("well posed");
    solver.solve().expect("converges");
    solver.solve().expect("converges");
    solver
}

/// Solves all lanes to rounding and compares each with the single solver.
fn compare(batch: &mut BatchSolver, flow: f64, what: &str) {
    for _ in 0..2 {
        for report in batch.solve() {
            report.unwrap_or_else(|error| panic!("{what}: {error}"));
        }
    }
    for lane in 0..LANES {
        let network = batch.network(lane);
        let solver = single(network);
        let largest = network
            .element_ids()
            .map(|id| solver.mass_flow(id).abs())
            .fold(1.0, f64::max);
        for id in network.element_ids() {
            let (got, expected) = (batch.mass_flow(lane, id), solver.mass_flow(id));
            assert!(
                (got - expected).abs() <= flow * largest,
                "{what}, lane {lane}: {got} and {expected} kg/s"
            );
        }
    }
}

#[test]
fn lanes_agree_with_the_single_solver() {
    for seed in 0..200 {
        let mut random = Random(seed);
        let network = house(&mut random);
        let mut batch = BatchSolver::new(&network).expect("well posed");
        for lane in 0..LANES {
            let other = perturbed(&network, 0.3, &mut random);
            batch.update(lane, &other).expect("well posed");
        }
        compare(&mut batch, 1e-11, &format!("network {seed}"));
    }
}

#[test]
fn elements_may_be_shut_in_some_lanes() {
    for seed in 0..1000 {
        let mut random = Random(seed);
        let network = any(&mut random);
        let mut batch = BatchSolver::new(&network).expect("well posed");
        let ids: Vec<ElementId> = network.element_ids().collect();
        for lane in 0..LANES {
            let id = ids[random.below(ids.len())];
            let law = network.elements()[id.index()].law.clone();
            let shut = Law::Shut { conductance: 1e-9 };
            batch.set_law(lane, id, shut).expect("a good law");
            if batch.network(lane).check().is_err() {
                batch.set_law(lane, id, law).expect("a good law");
            }
            let id = ids[random.below(ids.len())];
            batch.set_drive(lane, id, random.between(-20.0, 20.0));
        }
        compare(&mut batch, 1e-6, &format!("network {seed}"));
    }
}

/// To the last bit: a lane does not know what the others do.
#[test]
fn lanes_do_not_depend_on_each_other() {
    for seed in 0..300 {
        let mut random = Random(seed);
        let network = any(&mut random);
        let mut alone = BatchSolver::new(&network).expect("well posed");
        let mut among = alone.clone();
        for lane in 1..LANES {
            let id = network
                .element_ids()
                .nth(random.below(network.elements().len()));
            among.set_drive(lane, id.expect("an element"), random.between(-300.0, 300.0));
        }
        alone.solve()[0].as_ref().expect("converges");
        among.solve()[0].as_ref().expect("converges");
        for id in network.element_ids() {
            assert_eq!(
                alone.mass_flow(0, id),
                among.mass_flow(0, id),
                "network {seed}"
            );
        }
    }
}
