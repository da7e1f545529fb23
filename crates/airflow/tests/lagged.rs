//! Coefficients that follow the flows, updated around the solver.

use airflow::{ElementId, LaggedError, Law, Network, Solver};

/// A house with a duct whose resistance the test updates; outdoors drives it with 10 Pa.
fn duct() -> (Solver, ElementId) {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 10.0, 1.2);
    let garden = network.fixed_node("garden", 0.0, 1.2);
    let house = network.node("house", 1.2);
    let law = Law::Quadratic {
        linear: 0.0,
        quadratic: 1000.0,
        density: 1.2,
    };
    let duct = network.element("duct", outdoors, house, law.clone());
    network.element("wall", house, garden, law);
    (Solver::new(&network).expect("well posed"), duct)
}

/// r₂ = 1000 (1 + Q/0.1): a fixed point in Q, found independently by bisection.
#[test]
fn a_coefficient_that_follows_the_flow_settles() {
    let (mut solver, duct) = duct();
    let mut resistance = 1000.0;
    let report = solver.solve_lagged(50, 1e-10, |solver| {
        let volume_flow = solver.mass_flow(duct) / 1.2;
        let wanted = 1000.0 * (1.0 + volume_flow / 0.1);
        let change = (wanted - resistance).abs() / resistance;
        resistance = wanted;
        let law = Law::Quadratic {
            linear: 0.0,
            quadratic: resistance,
            density: 1.2,
        };
        solver.set_law(duct, law)?;
        Ok(change)
    });
    let report = report.expect("settles");
    assert!(report.passes < 30 && report.change <= 1e-10, "{report:?}");
    let (mut low, mut high) = (0.0f64, 1.0f64);
    for _ in 0..100 {
        let q = 0.5 * (low + high);
        let drop = q * q * (1000.0 * (1.0 + q / 0.1) + 1000.0);
        if drop < 10.0 { low = q } else { high = q }
    }
    assert!((solver.mass_flow(duct) - 1.2 * low).abs() < 1e-9);
}

#[test]
fn coefficients_that_swing_are_reported() {
    let (mut solver, duct) = duct();
    let mut high = false;
    let error = solver.solve_lagged(7, 1e-6, |solver| {
        high = !high;
        solver.set_drive(duct, if high { 5.0 } else { 0.0 });
        Ok(5.0)
    });
    match error {
        Err(LaggedError::NotSettled(report)) => {
            assert_eq!((report.passes, report.change), (7, 5.0));
            assert!(
                LaggedError::NotSettled(report)
                    .to_string()
                    .contains("after 7 passes")
            );
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_refused_value_ends_the_passes() {
    let (mut solver, duct) = duct();
    let result = solver.solve_lagged(7, 1e-6, |solver| {
        solver.set_law(duct, Law::Shut { conductance: -1.0 })?;
        Ok(0.0)
    });
    assert!(matches!(result, Err(LaggedError::Network(_))), "{result:?}");
}
