//! Each way in which a network can be ill-posed has its message, which names what is wrong.

use airflow::{Law, Network, NetworkError, Solver};

const LEAK: Law = Law::Leak {
    coefficient: 0.01,
    exponent: 0.65,
};

const FAN: Law = Law::QuadraticFan {
    p0: 200.0,
    b: 100.0,
    c: 1000.0,
    density: 1.2,
};

const SHUT: Law = Law::Shut { conductance: 1e-9 };

/// The error of a network, which must say all of `words`.
fn refused(network: &Network, words: &[&str]) -> NetworkError {
    let error = Solver::new(network).expect_err("ill-posed");
    let message = error.to_string();
    for word in words {
        assert!(message.contains(word), "`{word}` is missing: {message}");
    }
    error
}

#[test]
fn an_island_names_its_nodes() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let house = network.node("house", 1.2);
    let attic = network.node("attic", 1.2);
    let loft = network.node("loft", 1.2);
    network.element("wall", outdoors, house, LEAK);
    network.element("hatch", attic, loft, LEAK);
    let error = refused(&network, &["`attic`", "`loft`", "fixed pressure"]);
    let nodes = ["attic", "loft"].map(str::to_owned).to_vec();
    assert_eq!(error, NetworkError::Island { nodes });
}

#[test]
fn a_fan_into_closed_space_names_it() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let box_ = network.node("box", 1.2);
    network.element("lid", outdoors, box_, SHUT);
    network.set_injection(box_, 0.01);
    refused(&network, &["`box`", "shut"]);
    network.element("gap", outdoors, box_, LEAK);
    assert_eq!(network.check(), Ok(()));
}

#[test]
fn fans_in_a_loop_are_named_in_order() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let [a, b, c] = ["a", "b", "c"].map(|name| network.node(name, 1.2));
    network.element("wall", outdoors, a, LEAK);
    network.element("feeder", outdoors, a, FAN);
    network.element("first", a, b, FAN);
    network.element("second", b, c, FAN);
    network.element("tail", c, outdoors, FAN);
    // From outdoors and out again through fans alone.
    let error = refused(
        &network,
        &["`first`, `second`, `tail`, `feeder`", "nothing to limit"],
    );
    assert!(matches!(error, NetworkError::FanLoop { .. }));
    // A duct in place of one of them limits the flow.
    let tail = network.element_ids().last().expect("the tail");
    network.set_law(
        tail,
        Law::Quadratic {
            linear: 0.0,
            quadratic: 100.0,
            density: 1.2,
        },
    );
    assert_eq!(network.check(), Ok(()));
    // Fans side by side are no loop.
    network.element("beside", a, b, FAN);
    assert_eq!(network.check(), Ok(()));
    network.element("back", c, a, FAN);
    refused(&network, &["`back`", "`second`", "nothing to limit"]);
}

#[test]
fn an_element_needs_two_nodes() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    network.element("ring", outdoors, outdoors, LEAK);
    let error = refused(&network, &["`ring`", "`outdoors`", "to itself"]);
    assert!(matches!(error, NetworkError::SelfLoop { .. }));
    let mut larger = Network::new();
    let nodes: Vec<_> = (0..3)
        .map(|i| larger.fixed_node(&format!("{i}"), 0.0, 1.2))
        .collect();
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    network.element("stray", outdoors, nodes[2], LEAK);
    let error = refused(&network, &["`stray`", "node number 2"]);
    assert!(matches!(error, NetworkError::UnknownNode { .. }));
}

#[test]
fn numbers_out_of_range_are_named() {
    let run = ducts::Section::round(0.15).and_then(|section| ducts::Run::new(section, 3.0, 1e-4));
    let run = run.expect("a good duct");
    let curve = ducts::FanCurve::new(&[(0.0, 0.1), (100.0, 0.05)]).expect("a good fan");
    let (coefficient, exponent, density) = (0.01, 0.65, 1.2);
    let cases: Vec<(Law, &str, &str)> = vec![
        (
            Law::Leak {
                coefficient: 0.0,
                exponent,
            },
            "coefficient",
            "above 0",
        ),
        (
            Law::Leak {
                coefficient: -1.0,
                exponent,
            },
            "coefficient",
            "-1",
        ),
        (
            Law::Leak {
                coefficient: f64::NAN,
                exponent,
            },
            "coefficient",
            "NaN",
        ),
        (
            Law::Leak {
                coefficient,
                exponent: 0.49,
            },
            "exponent",
            "0.5 (orifice) to 1",
        ),
        (
            Law::Leak {
                coefficient,
                exponent: 1.01,
            },
            "exponent",
            "1.01",
        ),
        (
            Law::LeakOneWay {
                coefficient,
                exponent: 0.3,
                reverse_fraction: 0.1,
            },
            "exponent",
            "0.3",
        ),
        (
            Law::LeakOneWay {
                coefficient,
                exponent,
                reverse_fraction: 0.0,
            },
            "reverse",
            "above 0",
        ),
        (
            Law::LeakOneWay {
                coefficient,
                exponent,
                reverse_fraction: 2.0,
            },
            "reverse",
            "at most 1",
        ),
        (
            Law::Quadratic {
                linear: -1.0,
                quadratic: 1.0,
                density,
            },
            "linear",
            "at least 0",
        ),
        (
            Law::Quadratic {
                linear: 1.0,
                quadratic: -1.0,
                density,
            },
            "quadratic",
            "at least 0",
        ),
        (
            Law::Quadratic {
                linear: 0.0,
                quadratic: 0.0,
                density,
            },
            "coefficient",
            "above 0",
        ),
        (
            Law::Quadratic {
                linear: 1.0,
                quadratic: 1.0,
                density: 0.0,
            },
            "density",
            "above 0",
        ),
        (
            Law::Duct {
                run,
                density: -1.2,
                viscosity: 1.8e-5,
            },
            "density",
            "above 0",
        ),
        (
            Law::Duct {
                run,
                density,
                viscosity: f64::INFINITY,
            },
            "viscosity",
            "inf",
        ),
        (
            Law::Fan {
                curve,
                density: f64::NAN,
            },
            "density",
            "NaN",
        ),
        (
            Law::QuadraticFan {
                p0: f64::NAN,
                b: 1.0,
                c: 1.0,
                density,
            },
            "rise",
            "finite",
        ),
        (
            Law::QuadraticFan {
                p0: 100.0,
                b: 0.0,
                c: 1.0,
                density,
            },
            "b of the fan",
            "reverse flow",
        ),
        (
            Law::QuadraticFan {
                p0: 100.0,
                b: -9.0,
                c: 1.0,
                density,
            },
            "b of the fan",
            "must fall",
        ),
        (
            Law::QuadraticFan {
                p0: 100.0,
                b: 1.0,
                c: -1.0,
                density,
            },
            "c of the fan",
            "must fall",
        ),
        (
            Law::ConstantFlowFan {
                volume_flow: 0.0,
                droop: 1e-6,
                p0: 200.0,
                b: 1.0,
                c: 1.0,
                density,
            },
            "volume flow",
            "above 0",
        ),
        (
            Law::ConstantFlowFan {
                volume_flow: 0.1,
                droop: 0.0,
                p0: 200.0,
                b: 1.0,
                c: 1.0,
                density,
            },
            "droop",
            "above 0",
        ),
        (Law::Shut { conductance: 0.0 }, "conductance", "above 0"),
    ];
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let house = network.node("house", 1.2);
    let element = network.element("window", outdoors, house, LEAK);
    let mut solver = Solver::new(&network).expect("well posed");
    for (law, quantity, found) in cases {
        let error = solver.set_law(element, law.clone()).expect_err("a bad law");
        assert!(
            error.to_string().starts_with("element `window`: "),
            "{error}"
        );
        let mut network = network.clone();
        network.set_law(element, law);
        let same = refused(&network, &["`window`", quantity, found]);
        assert_eq!(same.to_string(), error.to_string());
    }
    assert_eq!(solver.network().elements()[element.index()].law, LEAK);
    network.set_drive(element, f64::NAN);
    refused(&network, &["`window`", "drive", "NaN"]);
    network.set_drive(element, 0.0);
    network.set_density(house, 0.0);
    refused(&network, &["`house`", "density", "above 0"]);
    network.set_density(house, 1.2);
    network.set_injection(house, f64::INFINITY);
    refused(&network, &["`house`", "injection", "inf"]);
    network.set_injection(house, 0.0);
    network.set_fixed_pressure(outdoors, f64::NAN);
    refused(&network, &["`outdoors`", "fixed pressure", "NaN"]);
}

#[test]
fn an_update_needs_the_same_topology() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let house = network.node("house", 1.2);
    network.element("window", outdoors, house, LEAK);
    let mut solver = Solver::new(&network).expect("well posed");
    network.element("door", outdoors, house, LEAK);
    assert_eq!(solver.update(&network), Err(NetworkError::OtherTopology));
}

/// What the checks cannot see does not pass for a solution.
#[test]
fn a_drive_that_is_no_number_is_reported() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let house = network.node("house", 1.2);
    let window = network.element("window", outdoors, house, LEAK);
    let mut solver = Solver::new(&network).expect("well posed");
    solver.set_drive(window, f64::NAN);
    let error = solver.solve().expect_err("no number");
    assert_eq!(error.worst_node, "house");
    assert!(error.to_string().contains("`house`"), "{error}");
    // The next solve begins afresh.
    solver.set_drive(window, 1.0);
    solver.solve().expect("converges");
    assert!((solver.pressure(house) - 1.0).abs() < 1e-6);
}

#[test]
fn a_network_without_unknowns_is_evaluated() {
    let mut network = Network::new();
    let low = network.fixed_node("low", 0.0, 1.2);
    let high = network.fixed_node("high", 16.0, 1.2);
    let orifice = Law::Leak {
        coefficient: 0.01,
        exponent: 0.5,
    };
    let orifice = network.element("orifice", high, low, orifice);
    let mut solver = Solver::new(&network).expect("well posed");
    let report = solver.solve().expect("converges");
    assert_eq!((report.residual, report.worst_node), (0.0, None));
    assert!((solver.mass_flow(orifice) - 0.048).abs() < 1e-15);
}
