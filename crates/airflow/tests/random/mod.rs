//! Random networks, shared by tests and benchmarks.
#![allow(dead_code, reason = "each test uses a part")]

use airflow::{Law, Network, NetworkError, NodeId};

/// The generator SplitMix64: small, and the same everywhere.
#[derive(Debug, Clone)]
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Even between two bounds.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even in the logarithm between two bounds.
    pub fn logarithmic(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    pub fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }

    pub fn chance(&mut self, probability: f64) -> bool {
        self.between(0.0, 1.0) < probability
    }
}

/// The network of the benchmark: 15 unknown pressures, and between them and outdoors 25 leaks,
/// 29 quadratic elements and 6 fans.
pub fn house(random: &mut Random) -> Network {
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, 1.30);
    let nodes: Vec<NodeId> = (0..15)
        .map(|i| network.node(&format!("node {i}"), random.between(1.15, 1.25)))
        .collect();
    for i in 0..29 {
        let (from, to) = if (1..15).contains(&i) {
            (nodes[i - 1 - random.below(i.min(3))], nodes[i])
        } else {
            pair(random, outdoors, &nodes, 0.2)
        };
        let law = Law::Quadratic {
            linear: random.between(0.0, 400.0),
            quadratic: random.logarithmic(50.0, 10_000.0),
            density: 1.2,
        };
        network.element(&format!("resistance {i}"), from, to, law);
    }
    for i in 0..25 {
        let (from, to) = pair(random, outdoors, &nodes, 0.8);
        let law = Law::Leak {
            coefficient: random.logarithmic(1e-4, 0.02),
            exponent: random.between(0.5, 0.7),
        };
        let leak = network.element(&format!("leak {i}"), from, to, law);
        network.set_drive(leak, random.between(-5.0, 5.0));
    }
    for i in 0..6 {
        let a = random.below(15);
        let b = random.below(15);
        let (from, to) = match a.cmp(&b) {
            std::cmp::Ordering::Less => (nodes[a], nodes[b]),
            std::cmp::Ordering::Equal => (outdoors, nodes[a]),
            std::cmp::Ordering::Greater => (nodes[b], nodes[a]),
        };
        let law = Law::QuadraticFan {
            p0: random.between(100.0, 400.0),
            b: random.between(200.0, 1000.0),
            c: random.logarithmic(500.0, 12_000.0),
            density: 1.2,
        };
        network.element(&format!("fan {i}"), from, to, law);
    }
    network
}

/// Two different nodes, one of them outdoors with the given probability.
fn pair(random: &mut Random, outdoors: NodeId, nodes: &[NodeId], outside: f64) -> (NodeId, NodeId) {
    let from = random.below(nodes.len());
    if random.chance(outside) {
        return (outdoors, nodes[from]);
    }
    let to = (from + 1 + random.below(nodes.len() - 1)) % nodes.len();
    (nodes[from], nodes[to])
}

/// The same network with every number changed by up to the given share.
pub fn perturbed(network: &Network, share: f64, random: &mut Random) -> Network {
    let mut changed = network.clone();
    let mut vary = |value: f64| value * (1.0 + random.between(-share, share));
    for id in network.element_ids() {
        let element = &network.elements()[id.index()];
        let law = match element.law {
            Law::Leak {
                coefficient,
                exponent,
            } => Law::Leak {
                coefficient: vary(coefficient),
                exponent,
            },
            Law::Quadratic {
                linear,
                quadratic,
                density,
            } => Law::Quadratic {
                linear: vary(linear),
                quadratic: vary(quadratic),
                density,
            },
            Law::QuadraticFan { p0, b, c, density } => Law::QuadraticFan {
                p0: vary(p0),
                b: vary(b),
                c: vary(c),
                density,
            },
            ref other => other.clone(),
        };
        changed.set_law(id, law);
        changed.set_drive(id, vary(element.drive));
    }
    changed
}

/// A network of any size up to 12 unknown pressures with all laws: leaks over nine decades, fans
/// against shut dampers, open doors, elements without any drive, tiny and huge resistances.
pub fn any(random: &mut Random) -> Network {
    let mut network = Network::new();
    let mut nodes: Vec<NodeId> = (0..1 + random.below(3))
        .map(|i| {
            let pressure = if random.chance(0.5) {
                0.0
            } else {
                random.between(-30.0, 30.0)
            };
            network.fixed_node(&format!("fixed {i}"), pressure, random.between(1.0, 1.5))
        })
        .collect();
    let fixed = nodes.len();
    let unknown = 1 + random.below(12);
    let quiet = random.chance(0.3);
    for i in 0..unknown {
        let node = network.node(&format!("node {i}"), random.between(1.0, 1.5));
        let neighbour = nodes[random.below(nodes.len())];
        add(&mut network, random, neighbour, node, quiet);
        nodes.push(node);
    }
    for _ in 0..random.below(3 * unknown) {
        let from = random.below(nodes.len());
        let to = (from + 1 + random.below(nodes.len() - 1)) % nodes.len();
        add(&mut network, random, nodes[from], nodes[to], quiet);
    }
    if random.chance(0.3) {
        let node = nodes[fixed + random.below(unknown)];
        network.set_injection(node, random.between(-0.1, 0.1));
    }
    // What is left out by chance must not make the network ill-posed.
    while let Err(error) = network.check() {
        match error {
            NetworkError::FanLoop { fans } => {
                let fan = network
                    .element_ids()
                    .find(|id| network.elements()[id.index()].name == fans[0]);
                network.set_law(fan.expect("a fan of this network"), resistance(random));
            }
            NetworkError::TrappedInjection { .. } => {
                for node in network.node_ids() {
                    network.set_injection(node, 0.0);
                }
            }
            other => panic!("{other}"),
        }
    }
    network
}

fn add(network: &mut Network, random: &mut Random, from: NodeId, to: NodeId, quiet: bool) {
    let (from, to) = if random.chance(0.5) {
        (from, to)
    } else {
        (to, from)
    };
    let law = match random.below(20) {
        0..8 => Law::Leak {
            coefficient: random.logarithmic(1e-9, 1.0),
            exponent: if random.chance(0.2) {
                0.5
            } else {
                random.between(0.5, 1.0)
            },
        },
        8 => Law::LeakOneWay {
            coefficient: random.logarithmic(1e-4, 0.1),
            exponent: random.between(0.5, 1.0),
            reverse_fraction: 1e-3,
        },
        9..14 => resistance(random),
        14..16 => {
            let section = ducts::Section::round(random.between(0.05, 0.4));
            let run = section
                .and_then(|section| ducts::Run::new(section, random.logarithmic(0.1, 30.0), 0.9e-4))
                .and_then(|run| {
                    run.with_losses(random.between(0.0, 10.0), random.between(0.0, 10.0))
                })
                .expect("a duct that can be");
            Law::Duct {
                run,
                density: 1.2,
                viscosity: 1.8e-5,
            }
        }
        16..18 if !quiet => Law::QuadraticFan {
            p0: random.between(20.0, 600.0),
            b: random.logarithmic(10.0, 2000.0),
            c: random.logarithmic(100.0, 20_000.0),
            density: 1.2,
        },
        18 if !quiet && random.chance(0.5) => Law::Fan {
            curve: curve(random),
            density: 1.2,
        },
        18 if !quiet => Law::ConstantFlowFan {
            volume_flow: random.between(0.02, 0.5),
            droop: 1e-5,
            p0: random.between(100.0, 400.0),
            b: random.between(50.0, 200.0),
            c: random.logarithmic(100.0, 2000.0),
            density: 1.2,
        },
        _ => Law::Shut {
            conductance: random.logarithmic(1e-12, 1e-6),
        },
    };
    let name = format!("element {}", network.elements().len());
    let element = network.element(&name, from, to, law);
    if !quiet && random.chance(0.4) {
        network.set_drive(element, random.between(-20.0, 20.0));
    }
}

/// A curve of five points.
fn curve(random: &mut Random) -> ducts::FanCurve {
    let mut flow = random.between(0.05, 0.3);
    let mut rise = 0.0;
    let points = [(); 5].map(|()| {
        rise += random.between(20.0, 60.0);
        flow *= random.between(0.5, 0.95);
        (rise, flow)
    });
    ducts::FanCurve::new(&points).expect("a falling curve")
}

fn resistance(random: &mut Random) -> Law {
    let linear = if random.chance(0.5) {
        0.0
    } else {
        random.logarithmic(1.0, 1e5)
    };
    Law::Quadratic {
        linear,
        quadratic: random.logarithmic(0.1, 1e9),
        density: 1.2,
    }
}
