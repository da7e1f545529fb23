//! Builds the network of an installation.

use super::scene::{Air, Part, Scene};
use super::{CannotBuild, Element, Installation, Joint, Ventilator, cannot};
use crate::candidate::Plan;
use crate::case::OperatingCase;
use crate::duct_runs;
use crate::existing_ducts::ExistingDucts;
use crate::inputs::Inputs;
use airflow::{ElementId, Network, NodeId, Solver};
use house::model::{End, Existing, Job, Mode, Season, Setting, Side, ZoneKind};

/// Builds the network.
pub(super) struct Builder<'a> {
    scene: Scene<'a>,
    windy: bool,
    network: Network,
    elements: Vec<Element>,
    outdoors: NodeId,
    zones: Vec<NodeId>,
    return_plenum: Option<NodeId>,
    supply_plenum: Option<NodeId>,
    blower: Option<ElementId>,
    ventilator: Option<Ventilator>,
    joints: Vec<Joint>,
    /// Ducts by the port that they meet, with the area of their section.
    port_ducts: Vec<(usize, ElementId, f64)>,
    /// The same ducts by their far ends.
    end_ducts: Vec<(End, ElementId)>,
}

/// The case whose laws a new network carries until it is asked for another.
const FIRST_CASE: OperatingCase = OperatingCase {
    blower: Mode::Off,
    setting: Setting::High,
    season: Season::Mild,
    wind: None,
};

impl<'a> Builder<'a> {
    pub(super) fn new(
        job: &'a Job,
        plan: Option<&Plan>,
        inputs: &Inputs,
        windy: bool,
    ) -> Result<Self, CannotBuild> {
        let scene = Scene::new(job, plan, inputs, FIRST_CASE.season)?;
        let mut network = Network::new();
        let outdoors = network.fixed_node("outdoors", 0.0, scene.states.outdoor.density);
        let zones = job
            .zones
            .iter()
            .zip(&scene.states.zones)
            .map(|(zone, state)| network.node(&zone.name, state.density))
            .collect();
        Ok(Self {
            scene,
            windy,
            network,
            elements: Vec::new(),
            outdoors,
            zones,
            return_plenum: None,
            supply_plenum: None,
            blower: None,
            ventilator: None,
            joints: Vec::new(),
            port_ducts: Vec::new(),
            end_ducts: Vec::new(),
        })
    }

    /// Finishes it. What was prepared for another house of the same plan is used again.
    pub(super) fn finish(
        mut self,
        other: Option<Installation<'a>>,
    ) -> Result<Installation<'a>, CannotBuild> {
        self.envelope();
        self.openings();
        self.exhausts();
        let ports = self.scene.plan.is_some().then(|| {
            let density = self.scene.states.indoor.density;
            [
                "outdoor port",
                "supply port",
                "extract port",
                "exhaust port",
            ]
            .map(|name| self.network.node(name, density))
        });
        self.forced_air(ports)?;
        self.ventilator(ports)?;
        let (solver, starts) = other.map(|other| (other.solver, other.starts)).unzip();
        let fitting = solver.and_then(|mut solver: Solver| {
            solver.update(&self.network).ok()?;
            Some(solver)
        });
        let solver = match fitting {
            Some(solver) => solver,
            None => Solver::new(&self.network).map_err(cannot)?,
        };
        Ok(Installation {
            scene: self.scene,
            solver,
            elements: self.elements,
            outdoors: self.outdoors,
            zones: self.zones,
            return_plenum: self.return_plenum,
            supply_plenum: self.supply_plenum,
            blower: self.blower,
            ventilator: self.ventilator,
            joints: self.joints,
            case: Some(FIRST_CASE),
            dampers_turned: false,
            starts: starts.unwrap_or_default(),
        })
    }

    fn add(&mut self, name: &str, from: NodeId, to: NodeId, part: Part) -> ElementId {
        let id = self
            .network
            .element(name, from, to, self.scene.law(&part, &FIRST_CASE));
        if part.has_drive() {
            let drive = self.scene.drive(&part, &FIRST_CASE);
            self.network.set_drive(id, drive);
        }
        self.elements.push(Element { id, part });
        id
    }

    /// Leaks of the envelope: a quarter of a zone's leakage each at its floor, at a quarter and at
    /// three quarters of its height and at its ceiling, as the basic infiltration model has it
    /// (half in the walls, floor and ceiling alike); floor and ceiling only where the zone is the
    /// lowest or the highest of the house, and no ceiling under an attic that is drawn.
    fn envelope(&mut self) {
        let job = self.scene.job;
        let exponent = self.scene.inputs.leakage_exponent;
        let total = self.scene.inputs.leakage_at_50_pascals / 50.0_f64.powf(exponent);
        let conditioned = || job.zones.iter().filter(|zone| zone.kind.conditioned());
        let lowest = conditioned()
            .map(|zone| zone.level)
            .fold(f64::INFINITY, f64::min);
        let highest = conditioned()
            .map(|zone| zone.level + zone.height)
            .fold(f64::NEG_INFINITY, f64::max);
        let drawn = |kind: &[ZoneKind]| job.zones.iter().any(|zone| kind.contains(&zone.kind));
        let attic = drawn(&[ZoneKind::Attic]);
        let crawlspace = drawn(&[ZoneKind::Crawlspace]);
        let facings: &[Option<f64>] = if self.windy {
            &[Some(0.0), Some(90.0), Some(180.0), Some(270.0)]
        } else {
            &[None]
        };
        for (index, zone) in job.zones.iter().enumerate() {
            let node = self.zones[index];
            if !zone.kind.conditioned() {
                self.unconditioned(index, node, total, exponent);
                continue;
            }
            let floor = zone.level <= lowest + 0.3 && !crawlspace;
            let ceiling = zone.level + zone.height >= highest - 0.3 && !attic;
            let parts = 2 + usize::from(floor) + usize::from(ceiling);
            let part = total * zone.leakage_share / parts as f64;
            if part <= 0.0 {
                continue;
            }
            let mut leak = |name: &str, height: f64, walls: bool| {
                let facings = if walls { facings } else { &[None] };
                for &facing in facings {
                    let coefficient = part / facings.len() as f64;
                    let height = zone.level + height * zone.height;
                    let name = format!("{} {name}", zone.name);
                    self.add(
                        &name,
                        self.outdoors,
                        node,
                        Part::Envelope {
                            zone: index,
                            height,
                            facing,
                            coefficient,
                            exponent,
                        },
                    );
                }
            };
            leak("low walls", 0.25, true);
            leak("high walls", 0.75, true);
            if floor {
                leak("floor", 0.0, false);
            }
            if ceiling {
                leak("ceiling", 1.0, false);
            }
        }
    }

    /// An attic, crawlspace or garage: open to outdoors by its vents and to the house by its part
    /// of the envelope's leakage.
    fn unconditioned(&mut self, index: usize, node: NodeId, total: f64, exponent: f64) {
        let zone = &self.scene.job.zones[index];
        let vent = Scene::opening(zone.vent_area.max(1e-4));
        self.add(
            &format!("{} vents", zone.name),
            self.outdoors,
            node,
            Part::Vent {
                zone: index,
                height: zone.level + 0.5 * zone.height,
                coefficient: vent,
            },
        );
        let coefficient = total * zone.leakage_share;
        if let Some(house) = zone.joins.filter(|_| coefficient > 0.0) {
            let neighbour = &self.scene.job.zones[house];
            let height = match zone.kind {
                ZoneKind::Attic => neighbour.level + neighbour.height,
                ZoneKind::Crawlspace => neighbour.level,
                _ => neighbour.level + 0.5 * neighbour.height,
            };
            self.add(
                &format!("{} to {}", zone.name, neighbour.name),
                node,
                self.zones[house],
                Part::Between {
                    zones: [index, house],
                    height,
                    coefficient,
                    exponent,
                },
            );
        }
    }

    fn openings(&mut self) {
        for (index, opening) in self.scene.job.openings.iter().enumerate() {
            let [a, b] = opening.between;
            let (first, second) = (&self.scene.job.zones[a], &self.scene.job.zones[b]);
            let height = first.level.max(second.level);
            self.add(
                &format!("opening {} to {}", first.name, second.name),
                self.zones[a],
                self.zones[b],
                Part::Opening {
                    opening: index,
                    height,
                },
            );
        }
    }

    fn exhausts(&mut self) {
        for (node, flow) in self.zones.iter().zip(self.scene.exhausted()) {
            if flow > 0.0 {
                self.network
                    .set_injection(*node, -flow * air::STANDARD_DENSITY);
            }
        }
    }

    /// The forced-air system with every tap that is in use, from the rooms through the return,
    /// the filter and the blower to the rooms again.
    fn forced_air(&mut self, ports: Option<[NodeId; 4]>) -> Result<(), CannotBuild> {
        let (Some(handler), Some(existing)) =
            (&self.scene.job.air_handler, self.scene.existing.clone())
        else {
            return Ok(());
        };
        let density = self.scene.states.indoor.density;
        let back = self.network.node("return plenum", density);
        let out = self.network.node("supply plenum", density);
        self.return_plenum = Some(back);
        self.supply_plenum = Some(out);
        self.blower = Some(self.add("blower", back, out, Part::Blower));
        for (name, path, plenum, leakage_zone) in [
            (
                "return leak",
                &existing.return_path,
                back,
                handler.return_path.leakage_zone,
            ),
            (
                "supply leak",
                &existing.supply_path,
                out,
                handler.supply_path.leakage_zone,
            ),
        ] {
            if path.leak_coefficient > 0.0 {
                let other = leakage_zone.map_or(self.outdoors, |zone| self.zones[zone]);
                self.add(
                    name,
                    other,
                    plenum,
                    Part::DuctLeak {
                        coefficient: path.leak_coefficient,
                    },
                );
            }
        }
        for side in [Side::Return, Side::Supply] {
            self.main(side, &existing, ports)?;
        }
        Ok(())
    }

    /// One side of the forced-air system. Its elements run in the usual direction of the air.
    fn main(
        &mut self,
        side: Side,
        existing: &ExistingDucts,
        ports: Option<[NodeId; 4]>,
    ) -> Result<(), CannotBuild> {
        let job = self.scene.job;
        let Some(handler) = &job.air_handler else {
            return Ok(());
        };
        let (path, survey, plenum) = match side {
            Side::Return => (
                &existing.return_path,
                &handler.return_path,
                self.return_plenum,
            ),
            Side::Supply => (
                &existing.supply_path,
                &handler.supply_path,
                self.supply_plenum,
            ),
        };
        let Some(plenum) = plenum else { return Ok(()) };
        let density = self.scene.states.indoor.density;
        let junction = self.network.node(
            match side {
                Side::Return => "end of the return",
                Side::Supply => "end of the supply",
            },
            density,
        );
        let end = path.resistance_to_rooms(survey.length);
        for (index, zone) in job.zones.iter().enumerate() {
            let share = match side {
                Side::Return => zone.return_share,
                Side::Supply => zone.supply_share,
            };
            if share > 0.0 {
                let room = self.zones[index];
                let part = Part::Main {
                    linear: 0.0,
                    quadratic: (end / (share * share)).max(1e-3),
                };
                let (name, from, to) = match side {
                    Side::Return => (format!("return of {}", zone.name), room, junction),
                    Side::Supply => (format!("supply to {}", zone.name), junction, room),
                };
                self.add(&name, from, to, part);
            }
        }
        // Taps in use, from the far end of the trunk towards the blower.
        let mut taps: Vec<(f64, UsedTap)> = Vec::new();
        if let (Some(plan), Some(ports)) = (&self.scene.plan, ports) {
            for (ends, joins) in [(&plan.extract, false), (&plan.supply, true)] {
                for &at in ends {
                    if let End::Tap(tap) = at
                        && job.taps[tap].side == side
                    {
                        let port = ports[if joins { 1 } else { 2 }];
                        taps.push((
                            job.taps[tap].from_fan,
                            UsedTap::Ventilator { tap, port, joins },
                        ));
                    }
                }
            }
        }
        if let Existing::SupplyOnly {
            diameter,
            length,
            from_fan,
            stays,
        } = job.existing
            && side == Side::Return
            && (stays || self.scene.plan.is_none())
        {
            taps.push((from_fan, UsedTap::OutdoorDuct { diameter, length }));
        }
        taps.sort_by(|a, b| b.0.total_cmp(&a.0));

        let filter = match side {
            Side::Return => existing.filter,
            Side::Supply => [0.0; 2],
        };
        // Walk along the air: on the return from the rooms to the blower, on the supply the other way.
        if side == Side::Supply {
            taps.reverse();
        }
        let resistance_at = |distance: f64| path.resistance_to_rooms(distance.min(survey.length));
        let mut node = match side {
            Side::Return => junction,
            Side::Supply => plenum,
        };
        let mut here = match side {
            Side::Return => end,
            Side::Supply => path.total(),
        };
        // A tap joins once the main after it is known.
        let mut waiting: Option<(UsedTap, NodeId, ElementId)> = None;
        for (distance, tap) in taps {
            let place = self.network.node("tap", density);
            let there = resistance_at(distance);
            let part = Part::Main {
                linear: 0.0,
                quadratic: (there - here).abs().max(1e-3),
            };
            let element = self.add("main to tap", node, place, part);
            if let Some((tap, at, before)) = waiting.replace((tap, place, element)) {
                self.tap(tap, at, before, element)?;
            }
            node = place;
            here = there;
        }
        let (last, rest) = match side {
            Side::Return => (plenum, path.total() - here),
            Side::Supply => (junction, here - end),
        };
        let part = Part::Main {
            linear: filter[0],
            quadratic: (rest.max(0.0) + filter[1]).max(1e-3),
        };
        let element = self.add("main", node, last, part);
        if let Some((tap, at, before)) = waiting {
            self.tap(tap, at, before, element)?;
        }
        Ok(())
    }

    /// A duct that meets the main at a node.
    fn tap(
        &mut self,
        tap: UsedTap,
        node: NodeId,
        upstream: ElementId,
        downstream: ElementId,
    ) -> Result<(), CannotBuild> {
        match tap {
            UsedTap::OutdoorDuct { diameter, length } => {
                let run = duct_runs::outdoor_duct(diameter, length, self.scene.inputs.compression)
                    .map_err(cannot)?;
                self.add(
                    "outdoor duct into the return",
                    self.outdoors,
                    node,
                    Part::Duct {
                        run,
                        air: Air::Outdoor,
                        terminal: None,
                        damped: false,
                    },
                );
            }
            UsedTap::Ventilator { tap, port, joins } => {
                let Some(plan) = &self.scene.plan else {
                    return Ok(());
                };
                let entry = plan.entry;
                let surveyed = &self.scene.job.taps[tap];
                let run = duct_runs::ventilator_run(
                    self.scene.job,
                    plan,
                    &self.scene.inputs,
                    End::Tap(tap),
                    if joins {
                        duct_runs::Use::Supply
                    } else {
                        duct_runs::Use::Extract
                    },
                )
                .map_err(cannot)?;
                let area = run.section().area();
                let (name, from, to, air) = if joins {
                    ("supply duct", port, node, Air::Supply)
                } else {
                    ("extract duct", node, port, Air::Extract)
                };
                let branch = self.add(
                    name,
                    from,
                    to,
                    Part::Duct {
                        run,
                        air,
                        terminal: None,
                        damped: true,
                    },
                );
                self.port_ducts
                    .push((if joins { 1 } else { 2 }, branch, area));
                self.end_ducts.push((End::Tap(tap), branch));
                self.joints.push(Joint {
                    branch,
                    upstream,
                    downstream,
                    joins,
                    entry,
                    tap: duct_runs::main_tap(surveyed.section.area(), area, entry)
                        .map_err(cannot)?,
                    main_area: surveyed.section.area(),
                    drives: [0.0; 2],
                    distance: [0.0; 2],
                    last_distance: [0.0; 2],
                });
            }
        }
        Ok(())
    }

    /// The unit with its outdoor ducts and its own grilles.
    fn ventilator(&mut self, ports: Option<[NodeId; 4]>) -> Result<(), CannotBuild> {
        let (Some(plan), Some(ports)) = (self.scene.plan.clone(), ports) else {
            return Ok(());
        };
        let job = self.scene.job;
        for (terminal, port, purpose, name) in [
            (plan.intake, 0, duct_runs::Use::Intake, "outdoor duct"),
            (plan.exhaust, 3, duct_runs::Use::Exhaust, "exhaust duct"),
        ] {
            let run = duct_runs::ventilator_run(
                job,
                &plan,
                &self.scene.inputs,
                End::Terminal(terminal),
                purpose,
            )
            .map_err(cannot)?;
            let area = run.section().area();
            let (from, to, air) = if port == 0 {
                (self.outdoors, ports[0], Air::Outdoor)
            } else {
                (ports[3], self.outdoors, Air::Exhaust)
            };
            let id = self.add(
                name,
                from,
                to,
                Part::Duct {
                    run,
                    air,
                    terminal: Some(terminal),
                    damped: false,
                },
            );
            self.port_ducts.push((port, id, area));
            self.end_ducts.push((End::Terminal(terminal), id));
        }
        let mut grilles = Vec::new();
        for (ends, joins) in [(&plan.extract, false), (&plan.supply, true)] {
            for &at in ends {
                let End::Grille(grille) = at else { continue };
                let room = self.zones[job.grilles[grille].zone];
                let purpose = if joins {
                    duct_runs::Use::Supply
                } else {
                    duct_runs::Use::Extract
                };
                let run = duct_runs::ventilator_run(job, &plan, &self.scene.inputs, at, purpose)
                    .map_err(cannot)?;
                let area = run.section().area();
                let (from, to, air, port) = if joins {
                    (ports[1], room, Air::Supply, 1)
                } else {
                    (room, ports[2], Air::Extract, 2)
                };
                let id = self.add(
                    &format!("duct of {}", job.grilles[grille].name),
                    from,
                    to,
                    Part::Duct {
                        run,
                        air,
                        terminal: None,
                        damped: true,
                    },
                );
                self.port_ducts.push((port, id, area));
                if !joins {
                    grilles.push(id);
                }
                self.end_ducts.push((at, id));
            }
        }
        let supply_stream = self.add(
            "supply stream",
            ports[0],
            ports[1],
            Part::Stream { supply: true },
        );
        let extract_stream = self.add(
            "extract stream",
            ports[2],
            ports[3],
            Part::Stream { supply: false },
        );
        self.ventilator = Some(Ventilator {
            ports,
            supply_stream,
            extract_stream,
            ducts: std::mem::take(&mut self.port_ducts),
            grilles,
            ends: std::mem::take(&mut self.end_ducts),
        });
        Ok(())
    }
}

/// A tap in use.
enum UsedTap {
    Ventilator {
        tap: usize,
        port: NodeId,
        joins: bool,
    },
    OutdoorDuct {
        diameter: f64,
        length: f64,
    },
}
