//! Transport on solved networks: conservation, and cases that a sheet of paper solves.

mod random;

use airflow::{Law, Network, NodeId, Solver, Transport};
use random::{Random, house};

fn solved(network: &Network) -> Solver {
    let mut solver = Solver::new(network).expect("well posed");
    solver.solve().expect("converges");
    solver.solve().expect("converges");
    solver
}

const OPENING: Law = Law::Leak {
    coefficient: 0.01,
    exponent: 0.5,
};

fn close(got: f64, expected: f64, tolerance: f64) {
    assert!(
        (got - expected).abs() <= tolerance * expected.abs().max(1e-3),
        "{got} instead of {expected}"
    );
}

/// Two zones with outdoor air to both, and air exchanged between them: `Q₁ c₁ + x (c₁ − c₂) = S₁`
/// and `Q₂ c₂ + x (c₂ − c₁) = S₂`.
#[test]
fn two_zones_agree_with_the_formula() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let zones = [network.node("one", 1.2), network.node("two", 1.2)];
    let flows = [0.02, 0.05];
    for (zone, flow) in zones.into_iter().zip(flows) {
        network.element("opening", outdoors, zone, OPENING);
        network.set_injection(zone, -flow);
    }
    let mut transport = Transport::new(&solved(&network));
    let exchange = 0.03;
    transport.add_exchange(zones[0], zones[1], exchange);
    let sources = [0.0, 0.7, 0.2];
    let (a, b) = (flows[0] + exchange, flows[1] + exchange);
    let determinant = a * b - exchange * exchange;
    let expected = [
        (sources[1] * b + sources[2] * exchange) / determinant,
        (sources[2] * a + sources[1] * exchange) / determinant,
    ];
    let got = transport.concentration(&[0.0; 3], &sources);
    close(got[1], expected[0], 1e-12);
    close(got[2], expected[1], 1e-12);
    let level = transport.concentration(&[400.0, 0.0, 0.0], &sources);
    close(level[1], expected[0] + 400.0, 1e-12);
    let volumes = [0.0, 50.0, 80.0];
    let (mass_1, mass_2) = (60.0, 96.0);
    let age = transport.age(&volumes);
    close(
        age[1],
        (mass_1 * b + mass_2 * exchange) / determinant,
        1e-12,
    );
    close(
        age[2],
        (mass_2 * a + mass_1 * exchange) / determinant,
        1e-12,
    );
    assert_eq!(age[0], 0.0);
}

/// A supply port and an extract port on one plenum: of 0.06 kg/s supplied, 0.01 goes to the room
/// and the rest straight to the extract.
#[test]
fn short_circuit_of_a_shared_plenum() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let supply = network.node("supply port", 1.2);
    let plenum = network.node("plenum", 1.2);
    let extract = network.node("extract port", 1.2);
    let room = network.node("room", 1.2);
    for (from, to) in [
        (supply, plenum),
        (plenum, extract),
        (plenum, room),
        (room, outdoors),
    ] {
        network.element("duct", from, to, OPENING);
    }
    network.set_injection(supply, 0.06);
    network.set_injection(extract, -0.05);
    let transport = Transport::new(&solved(&network));
    close(
        transport.short_circuit(supply, extract, &[room]),
        5.0 / 6.0,
        1e-9,
    );
    let first = transport.first_arrival(supply, &[room]);
    close(first[room.index()], 1.0 / 6.0, 1e-9);
    close(transport.outdoor_arrival(&[room])[room.index()], 0.01, 1e-9);
}

/// A loop of a blower through plenum and room: the air passes the plenum many times, but of what
/// enters the plenum from outdoors all arrives first in the room.
#[test]
fn recirculation_is_followed_to_its_end() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let [a, b, c] = ["a", "b", "c"].map(|name| network.node(name, 1.2));
    for (from, to) in [(outdoors, a), (a, b), (b, c), (c, outdoors)] {
        network.element("opening", from, to, OPENING);
    }
    network.set_injection(a, 0.02);
    let mut transport = Transport::new(&solved(&network));
    // 1 kg/s runs back from c to a: an internal leak, in a closed loop.
    transport.add_flow(c, a, 1.0);
    transport.add_flow(a, b, 1.0);
    transport.add_flow(b, c, 1.0);
    let out = transport.first_arrival(a, &[]);
    close(out[outdoors.index()], 1.0, 1e-12);
    let rooms = transport.first_arrival(a, &[c]);
    close(rooms[c.index()], 1.0 - rooms[outdoors.index()], 1e-12);
}

/// Nothing drives anything: ages are infinite or 0, never "not a number".
#[test]
fn still_air_gives_no_nonsense() {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.2);
    let room = network.node("room", 1.2);
    let closet = network.node("closet", 1.2);
    network.element("opening", outdoors, room, OPENING);
    network.element("door", room, closet, OPENING);
    let mut transport = Transport::new(&solved(&network));
    // The room and the closet exchange air with each other only.
    transport.add_exchange(room, closet, 0.1);
    let age = transport.age(&[0.0, 30.0, 2.0]);
    assert_eq!(age, [0.0, f64::INFINITY, f64::INFINITY]);
    assert_eq!(
        transport.concentration(&[1.0, 0.0, 0.0], &[0.0, 0.5, 0.0])[1],
        f64::INFINITY
    );
    assert_eq!(
        transport.concentration(&[1.0, 0.0, 0.0], &[0.0; 3]),
        [1.0, 0.0, 0.0]
    );
    assert_eq!(transport.first_arrival(room, &[]), [0.0; 3]);
    assert_eq!(transport.short_circuit(room, closet, &[]), 1.0);
    assert_eq!(transport.outdoor_arrival(&[room, closet]), [0.0; 3]);
}

#[test]
fn what_goes_in_comes_out() {
    for seed in 0..1000 {
        let mut random = Random(seed);
        let network = house(&mut random);
        let mut transport = Transport::new(&solved(&network));
        let ids: Vec<NodeId> = network.node_ids().collect();
        let (a, b) = (1 + random.below(15), 1 + random.below(15));
        transport.add_exchange(ids[a], ids[b], random.logarithmic(1e-6, 0.1));
        let outdoors = ids[0];
        let leaves = |node: &NodeId| transport.flow(*node, outdoors);
        let enters = |node: &NodeId| transport.flow(outdoors, *node);
        let entering: f64 = ids.iter().map(enters).sum();

        // Every share of the air arrives somewhere.
        let rooms: Vec<NodeId> = ids[1..]
            .iter()
            .copied()
            .filter(|_| random.chance(0.3))
            .collect();
        for &start in &ids {
            let sum: f64 = transport.first_arrival(start, &rooms).iter().sum();
            let out: f64 = ids.iter().map(|&to| transport.flow(start, to)).sum();
            close(sum, if out > 0.0 { 1.0 } else { 0.0 }, 1e-6);
        }
        close(
            transport.outdoor_arrival(&rooms).iter().sum(),
            entering,
            1e-6,
        );

        // Dead ends take no part.
        let inflow = |to: &NodeId| {
            ids.iter()
                .map(|&from| transport.flow(from, *to))
                .sum::<f64>()
        };
        let aired: Vec<NodeId> = ids[1..]
            .iter()
            .copied()
            .filter(|id| inflow(id) > 0.0)
            .collect();
        let mut sources = vec![0.0; ids.len()];
        let mut volumes = vec![0.0; ids.len()];
        for room in &aired {
            sources[room.index()] = random.between(0.0, 1.0);
            volumes[room.index()] = random.between(0.0, 50.0);
        }
        let carried = |per_mass: &[f64]| -> f64 {
            aired
                .iter()
                .map(|room| leaves(room) * per_mass[room.index()])
                .sum()
        };

        // The sources leave with the air.
        let concentration = transport.concentration(&vec![2.0; ids.len()], &sources);
        close(
            carried(&concentration),
            sources.iter().sum::<f64>() + 2.0 * entering,
            1e-5,
        );

        // The age of the air that leaves, times its flow, is the mass of air in the house.
        let mass = volumes
            .iter()
            .zip(network.nodes())
            .map(|(volume, node)| volume * node.density);
        close(carried(&transport.age(&volumes)), mass.sum(), 1e-5);
    }
}
