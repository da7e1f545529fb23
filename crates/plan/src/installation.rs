//! The pressure network of a house, its forced-air ducts and, if there is one, a ventilator.
//!
//! Node pressures are static gauge pressures referred to grade with the hydrostatic part of indoor
//! air removed; outdoors is zero. Stack and wind enter as drives on the elements that join air of
//! two temperatures: `Δp = p_from − p_to + (ρ_to − ρ_from) g z + C_p ½ ρ U²`.
//!
//! At a tap the velocity pressure of the main matters. The drive of a supply duct that ends in an
//! elbow facing downstream gains a part of it, and the main changes its static pressure where air
//! joins or leaves; these drives follow the flows in a few outer passes.

use crate::candidate::Plan;
use crate::case::{CaseFlows, OperatingCase, RoomAir};
use crate::duct_runs::{self, AirState};
use crate::existing_ducts::{DUCT_LEAK_EXPONENT, ExistingDucts};
use crate::inputs::Inputs;
use airflow::{ElementId, Law, Network, NodeId, Solver, Transport};
use ducts::{ButterflyDamper, FanCurve, MainTap, Run};
use house::model::{
    BlowerKind, End, Entry, Existing, Job, Mode, Season, Setting, Side, UnitPoint, ZoneKind,
};

/// Standard gravity (m/s²).
const GRAVITY: f64 = 9.80665;
/// Discharge coefficient of openings between rooms, from memory.
const OPENING_DISCHARGE: f64 = 0.6;
/// Largest number of passes for the velocity pressures at taps.
const TAP_PASSES: usize = 300;
/// Change of a tap's drive below which it counts as settled (Pa).
const TAP_SETTLED: f64 = 1e-3;
/// Flow past a standing fan with 100 Pa across the stream, over its free flow; from memory.
const IDLE_FLOW: f64 = 0.4;
/// Pressure at which a motor that holds its airflow gives up, about 1 inWC (Pa); from memory.
const CEILING: f64 = 249.0;
/// Relative loss of flow per pascal beyond that (1/Pa), as a speed tap has it; from memory.
const CEILING_FLOW_LOSS: f64 = 0.004;
/// Conductance of something shut (kg/(s·Pa)).
const SHUT: Law = Law::Shut { conductance: 1e-9 };

/// Why no network could be made of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct CannotBuild(pub String);

impl std::fmt::Display for CannotBuild {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for CannotBuild {}

fn cannot(error: impl std::fmt::Display) -> CannotBuild {
    CannotBuild(error.to_string())
}

/// The prepared network of one possible house.
pub struct Installation<'a> {
    scene: Scene<'a>,
    solver: Solver,
    elements: Vec<Element>,
    outdoors: NodeId,
    zones: Vec<NodeId>,
    return_plenum: Option<NodeId>,
    supply_plenum: Option<NodeId>,
    blower: Option<ElementId>,
    ventilator: Option<Ventilator>,
    joints: Vec<Joint>,
    /// The case whose laws are in force, and whether the dampers have been turned since.
    case: Option<OperatingCase>,
    dampers_turned: bool,
    /// Last solution of each blower mode and setting, from which the next one starts.
    starts: Vec<Start>,
}

/// All that decides the law of an element but the operating case.
struct Scene<'a> {
    job: &'a Job,
    inputs: Inputs,
    plan: Option<Plan>,
    existing: Option<ExistingDucts>,
    states: States,
    damper: ButterflyDamper,
    /// Curves per setting of the unit.
    curves: Vec<Curves>,
    /// Free flow of the strongest setting (m³/s), for the standing fans.
    free_flow: f64,
}

/// Certified curves of one setting.
struct Curves {
    setting: Setting,
    supply: FanCurve,
    extract: FanCurve,
    /// Largest certified pressure (Pa).
    certified: f64,
}

struct Start {
    blower: Mode,
    setting: Setting,
    pressures: Vec<f64>,
    drives: Vec<[f64; 2]>,
}

struct Element {
    id: ElementId,
    part: Part,
}

/// What an element is, so that its law can be set for each operating case.
enum Part {
    Envelope {
        zone: usize,
        height: f64,
        facing: Option<f64>,
        coefficient: f64,
        exponent: f64,
    },
    Vent {
        zone: usize,
        height: f64,
        coefficient: f64,
    },
    Between {
        zones: [usize; 2],
        height: f64,
        coefficient: f64,
        exponent: f64,
    },
    DuctLeak {
        coefficient: f64,
    },
    Main {
        linear: f64,
        quadratic: f64,
    },
    Blower,
    Duct {
        run: Run,
        air: Air,
        terminal: Option<usize>,
        damped: bool,
    },
    Stream {
        supply: bool,
    },
}

/// Which of the four airs fills a duct.
#[derive(Clone, Copy, PartialEq)]
enum Air {
    Outdoor,
    Supply,
    Extract,
    Exhaust,
}

struct Ventilator {
    /// Outdoor, supply, extract and exhaust port.
    ports: [NodeId; 4],
    supply_stream: ElementId,
    extract_stream: ElementId,
    /// Ducts by the port they meet, with their sections' areas.
    ducts: Vec<(usize, ElementId, f64)>,
}

/// A tap where a duct meets a moving main.
struct Joint {
    branch: ElementId,
    /// The main before and after the tap, in the direction of its usual flow.
    upstream: ElementId,
    downstream: ElementId,
    joins: bool,
    entry: Entry,
    tap: MainTap,
    main_area: f64,
    /// Drives in force (Pa): on the branch and on the main after the tap.
    drives: [f64; 2],
    /// What the flows ask for less the drives in force (Pa), now and in the pass before.
    distance: [f64; 2],
    last_distance: [f64; 2],
}

/// Densities and viscosities of one operating case.
struct States {
    outdoor: AirState,
    indoor: AirState,
    supply: AirState,
    exhaust: AirState,
    zones: Vec<AirState>,
}

impl States {
    fn of(&self, air: Air) -> AirState {
        match air {
            Air::Outdoor => self.outdoor,
            Air::Supply => self.supply,
            Air::Extract => self.indoor,
            Air::Exhaust => self.exhaust,
        }
    }
}

impl<'a> Installation<'a> {
    /// Builds the network of a job, with a plan or as the house was found.
    ///
    /// `windy` splits the walls' leakage by facing, so that cases with wind can be solved.
    pub fn new(
        job: &'a Job,
        plan: Option<&Plan>,
        inputs: &Inputs,
        windy: bool,
    ) -> Result<Self, CannotBuild> {
        Builder::new(job, plan, inputs, windy)?.finish()
    }

    /// The plan in the network.
    pub fn plan(&self) -> Option<&Plan> {
        self.scene.plan.as_ref()
    }

    /// Turns the dampers of the plan (°), 0 open.
    pub fn set_dampers(&mut self, supply: f64, extract: f64) {
        if let Some(plan) = &mut self.scene.plan {
            self.dampers_turned |= (plan.supply_damper, plan.extract_damper) != (supply, extract);
            plan.supply_damper = supply;
            plan.extract_damper = extract;
        }
    }

    /// Solves one operating case.
    pub fn solve(&mut self, case: OperatingCase) -> Result<CaseFlows, Unsolved> {
        let residual = self.settle(case)?;
        Ok(self.flows(case, residual))
    }

    /// Solves one operating case for its balance alone, which is cheaper: supply and extract (kg/s).
    pub fn solve_streams(&mut self, case: OperatingCase) -> Result<[f64; 2], Unsolved> {
        self.settle(case)?;
        Ok(self.ventilator.as_ref().map_or([0.0; 2], |ventilator| {
            [
                self.solver.mass_flow(ventilator.supply_stream),
                self.solver.mass_flow(ventilator.extract_stream),
            ]
        }))
    }

    /// Solves the network and lets the drives at the taps follow; the residual (kg/s).
    fn settle(&mut self, case: OperatingCase) -> Result<f64, Unsolved> {
        self.apply(case)?;
        self.begin(case);
        let mut residual = self.solver.solve().map_err(unsolved)?.residual;
        // The drives are a fixed point of the flows. Aitken's rule chooses which part of the
        // distance to go: less where a fast main makes them overshoot, more where they creep.
        let mut part = 1.0;
        for pass in 0.. {
            let largest = self.look_at_taps();
            if largest < TAP_SETTLED {
                break;
            }
            if pass == TAP_PASSES {
                return Err(Unsolved(format!(
                    "the velocity pressures at the taps still change by {largest:.3} Pa after {TAP_PASSES} passes"
                )));
            }
            if pass > 0 {
                let (mut along, mut square) = (0.0, 0.0);
                for (now, last) in self
                    .joints
                    .iter()
                    .flat_map(|joint| joint.distance.iter().zip(&joint.last_distance))
                {
                    along += last * (now - last);
                    square += (now - last) * (now - last);
                }
                part = match pass {
                    ..20 if square > 0.0 => f64::clamp(-part * along / square, 0.02, 2.0),
                    ..20 => part,
                    // Aitken's rule is lost between two streams: creep.
                    20..80 => 0.3,
                    _ => 0.05,
                };
            }
            for joint in &mut self.joints {
                for (element, (drive, distance)) in [joint.branch, joint.downstream]
                    .into_iter()
                    .zip(joint.drives.iter_mut().zip(joint.distance))
                {
                    *drive += part * distance;
                    self.solver.set_drive(element, *drive);
                }
            }
            residual = self.solver.solve().map_err(unsolved)?.residual;
        }
        self.keep(case);
        Ok(residual)
    }

    /// Air in each conditioned zone in the case that was solved last.
    pub fn rooms(&self) -> Vec<RoomAir> {
        let job = self.scene.job;
        let mut transport = Transport::new(&self.solver);
        let mut volumes = vec![0.0; self.solver.network().nodes().len()];
        for (zone, node) in job.zones.iter().zip(&self.zones) {
            volumes[node.index()] = zone.floor_area * zone.height;
        }
        let rooms = self.conditioned();
        let mut outdoor = transport.outdoor_arrival(&rooms);
        let inflow = |node: NodeId| -> f64 {
            let solver = &self.solver;
            solver
                .network()
                .element_ids()
                .zip(solver.network().elements())
                .map(|(id, element)| {
                    let flow = solver.mass_flow(id);
                    if (element.to == node && flow > 0.0) || (element.from == node && flow < 0.0) {
                        flow.abs()
                    } else {
                        0.0
                    }
                })
                .sum()
        };
        if let (Some(ventilator), Some(plan)) = (&self.ventilator, &self.scene.plan) {
            // What leaks across inside the unit is extract air, not outdoor air.
            let [outdoor_port, supply_port, extract_port, exhaust_port] = ventilator.ports;
            let supply = self.solver.mass_flow(ventilator.supply_stream);
            let across = supply.max(0.0) * job.units[plan.unit].cross_leakage;
            let arrival = transport.first_arrival(supply_port, &rooms);
            for room in &rooms {
                outdoor[room.index()] -= across * arrival[room.index()];
            }
            transport.divert(
                [outdoor_port, supply_port],
                [extract_port, exhaust_port],
                across,
            );
        }
        let age = transport.age(&volumes);
        job.zones
            .iter()
            .zip(&self.zones)
            .enumerate()
            .filter(|(_, (zone, _))| zone.kind.conditioned())
            .map(|(zone, (_, node))| {
                let outdoor_air = outdoor[node.index()].max(0.0);
                RoomAir {
                    zone,
                    outdoor_air,
                    outdoor_share: outdoor_air / inflow(*node).max(1e-9),
                    age: age[node.index()],
                }
            })
            .collect()
    }

    /// Nodes in which people live.
    fn conditioned(&self) -> Vec<NodeId> {
        let zones = self.scene.job.zones.iter().zip(&self.zones);
        zones
            .filter(|(zone, _)| zone.kind.conditioned())
            .map(|(_, node)| *node)
            .collect()
    }

    /// Part of the supply air that comes to the extract port without having passed a room.
    fn short_circuit(&self, ventilator: &Ventilator) -> f64 {
        if self.joints.len() < 2 || self.solver.mass_flow(ventilator.supply_stream) <= 0.0 {
            // Only taps of the same duct system can be joined without a room between them.
            return 0.0;
        }
        let [_, supply, extract, _] = ventilator.ports;
        Transport::new(&self.solver).short_circuit(supply, extract, &self.conditioned())
    }
}

fn unsolved(error: impl std::fmt::Display) -> Unsolved {
    Unsolved(error.to_string())
}

/// A case without a solution, with the reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsolved(pub String);

impl std::fmt::Display for Unsolved {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Unsolved {}

impl Installation<'_> {
    /// Brings the laws and drives up to a case: all of them where the air differs, otherwise only
    /// those of the blower, the streams and the dampers that changed.
    fn apply(&mut self, case: OperatingCase) -> Result<(), Unsolved> {
        let old = self.case;
        let air_differs = old.is_none_or(|old| (old.season, old.wind) != (case.season, case.wind));
        let blower_differs = old.is_none_or(|old| old.blower != case.blower);
        let setting_differs = old.is_none_or(|old| old.setting != case.setting);
        if air_differs {
            self.scene.states = states(self.scene.job, self.scene.plan.as_ref(), case.season);
            let states = &self.scene.states;
            self.solver
                .set_density(self.outdoors, states.outdoor.density);
            for (node, state) in self.zones.iter().zip(&states.zones) {
                self.solver.set_density(*node, state.density);
            }
        }
        for element in &self.elements {
            let due = air_differs
                || match element.part {
                    Part::Blower => blower_differs,
                    Part::Stream { .. } => setting_differs,
                    Part::Duct { damped, .. } => damped && self.dampers_turned,
                    _ => false,
                };
            if due {
                self.solver
                    .set_law(element.id, self.scene.law(&element.part, &case))
                    .map_err(unsolved)?;
            }
            if air_differs && element.part.has_drive() {
                self.solver
                    .set_drive(element.id, self.scene.drive(&element.part, &case));
            }
        }
        self.case = Some(case);
        self.dampers_turned = false;
        Ok(())
    }

    /// Starts from the last solution with this blower mode and setting.
    fn begin(&mut self, case: OperatingCase) {
        let known = self
            .starts
            .iter()
            .find(|start| (start.blower, start.setting) == (case.blower, case.setting));
        if let Some(start) = known {
            self.solver.set_start(&start.pressures);
            for (joint, drives) in self.joints.iter_mut().zip(&start.drives) {
                joint.drives = *drives;
            }
        }
        for joint in &self.joints {
            self.solver.set_drive(joint.branch, joint.drives[0]);
            self.solver.set_drive(joint.downstream, joint.drives[1]);
        }
    }

    /// Keeps the solution for the next start.
    fn keep(&mut self, case: OperatingCase) {
        let key = (case.blower, case.setting);
        let at = match self
            .starts
            .iter()
            .position(|start| (start.blower, start.setting) == key)
        {
            Some(at) => at,
            None => {
                self.starts.push(Start {
                    blower: case.blower,
                    setting: case.setting,
                    pressures: Vec::new(),
                    drives: Vec::new(),
                });
                self.starts.len() - 1
            }
        };
        let start = &mut self.starts[at];
        start.pressures.clear();
        start.pressures.extend(
            self.solver
                .network()
                .node_ids()
                .map(|node| self.solver.pressure(node)),
        );
        start.drives.clear();
        start
            .drives
            .extend(self.joints.iter().map(|joint| joint.drives));
    }

    /// Computes how far the drives at the taps lie from what the last flows ask for; the largest
    /// distance (Pa).
    fn look_at_taps(&mut self) -> f64 {
        let mut largest = 0.0_f64;
        let density = self.scene.states.indoor.density;
        for joint in &mut self.joints {
            let flows = duct_runs::TapFlows {
                main: self.solver.mass_flow(joint.upstream) / density,
                branch: self.solver.mass_flow(joint.branch) / density,
                main_area: joint.main_area,
            };
            let wanted = duct_runs::tap_drives(
                &joint.tap,
                flows,
                joint.joins,
                joint.entry,
                self.scene.inputs.wake,
                density,
            );
            joint.last_distance = joint.distance;
            for ((distance, wanted), drive) in
                joint.distance.iter_mut().zip(wanted).zip(joint.drives)
            {
                *distance = wanted - drive;
                largest = largest.max(distance.abs());
            }
        }
        largest
    }

    /// Reads the solved network.
    fn flows(&self, case: OperatingCase, residual: f64) -> CaseFlows {
        let solver = &self.solver;
        let job = self.scene.job;
        let home = job
            .air_handler
            .as_ref()
            .map_or_else(|| self.first_conditioned(), |handler| handler.zone);
        let home = solver.pressure(self.zones[home]);
        let zone_pressures = job
            .zones
            .iter()
            .enumerate()
            .filter(|(_, zone)| zone.kind.conditioned())
            .map(|(index, _)| (index, solver.pressure(self.zones[index])))
            .collect();
        let mut flows = CaseFlows {
            case,
            supply: 0.0,
            extract: 0.0,
            short_circuit: 0.0,
            delivered: 0.0,
            zone_pressures,
            blower_flow: self.blower.map_or(0.0, |id| solver.mass_flow(id)),
            plenums: self
                .return_plenum
                .zip(self.supply_plenum)
                .map(|(back, out)| [solver.pressure(back) - home, solver.pressure(out) - home]),
            ports: [0.0; 4],
            external_static_pressure: [0.0; 2],
            certified_pressure: 0.0,
            velocities: [0.0; 4],
            rooms: Vec::new(),
            residual,
        };
        if let (Some(ventilator), Some(plan)) = (&self.ventilator, &self.scene.plan) {
            let unit = &job.units[plan.unit];
            flows.supply = solver.mass_flow(ventilator.supply_stream);
            flows.extract = solver.mass_flow(ventilator.extract_stream);
            let [outdoor, supply, extract, exhaust] =
                ventilator.ports.map(|port| solver.pressure(port));
            flows.ports = [outdoor, supply, extract, exhaust].map(|pressure| pressure - home);
            flows.external_static_pressure = [supply - outdoor, exhaust - extract];
            let curves = self
                .scene
                .curves
                .iter()
                .find(|curves| curves.setting == case.setting);
            flows.certified_pressure = curves.map_or(0.0, |curves| curves.certified);
            let states = &self.scene.states;
            for &(port, id, area) in &ventilator.ducts {
                let density =
                    [states.outdoor, states.supply, states.indoor, states.exhaust][port].density;
                let velocity = solver.mass_flow(id).abs() / (density * area);
                flows.velocities[port] = flows.velocities[port].max(velocity);
            }
            flows.short_circuit = self.short_circuit(ventilator);
            flows.delivered =
                flows.supply.max(0.0) * (1.0 - unit.cross_leakage) * (1.0 - flows.short_circuit);
        }
        flows
    }

    fn first_conditioned(&self) -> usize {
        self.scene
            .job
            .zones
            .iter()
            .position(|zone| zone.kind.conditioned())
            .unwrap_or(0)
    }
}

impl Part {
    /// Whether stack or wind act on it.
    fn has_drive(&self) -> bool {
        matches!(
            self,
            Part::Envelope { .. }
                | Part::Vent { .. }
                | Part::Between { .. }
                | Part::Duct {
                    terminal: Some(_),
                    ..
                }
        )
    }
}

impl Scene<'_> {
    /// Law of an element in a case; the air states are those of the case.
    fn law(&self, part: &Part, case: &OperatingCase) -> Law {
        match part {
            Part::Envelope {
                coefficient,
                exponent,
                ..
            }
            | Part::Between {
                coefficient,
                exponent,
                ..
            } => Law::Leak {
                coefficient: *coefficient,
                exponent: *exponent,
            },
            Part::Vent { coefficient, .. } => Law::Leak {
                coefficient: *coefficient,
                exponent: 0.5,
            },
            Part::DuctLeak { coefficient } => Law::Leak {
                coefficient: *coefficient,
                exponent: DUCT_LEAK_EXPONENT,
            },
            Part::Main { linear, quadratic } => Law::Quadratic {
                linear: *linear,
                quadratic: *quadratic,
                density: self.states.indoor.density,
            },
            Part::Blower => self.blower(case.blower),
            Part::Duct {
                run, air, damped, ..
            } => {
                let state = self.states.of(*air);
                let run = if *damped {
                    self.with_damper(*run, *air)
                } else {
                    *run
                };
                Law::Duct {
                    run,
                    density: state.density,
                    viscosity: state.viscosity,
                }
            }
            Part::Stream { supply } => self.stream(case.setting, *supply),
        }
    }

    /// Stack and wind on an element (Pa).
    fn drive(&self, part: &Part, case: &OperatingCase) -> f64 {
        let states = &self.states;
        let stack = |from: AirState, to: AirState, height: f64| {
            (to.density - from.density) * GRAVITY * height
        };
        let wind = |facing: f64| {
            case.wind.map_or(0.0, |wind| {
                wall_pressure_coefficient(wind.from - facing)
                    * 0.5
                    * states.outdoor.density
                    * wind.speed
                    * wind.speed
            })
        };
        match part {
            Part::Envelope {
                zone,
                height,
                facing,
                ..
            } => stack(states.outdoor, states.zones[*zone], *height) + facing.map_or(0.0, wind),
            Part::Vent { zone, height, .. } => stack(states.outdoor, states.zones[*zone], *height),
            Part::Between { zones, height, .. } => {
                stack(states.zones[zones[0]], states.zones[zones[1]], *height)
            }
            Part::Duct {
                air,
                terminal: Some(terminal),
                ..
            } => {
                let terminal = &self.job.terminals[*terminal];
                // The exhaust duct runs outwards.
                let sign = if *air == Air::Exhaust { -1.0 } else { 1.0 };
                sign * (stack(states.outdoor, states.indoor, terminal.height)
                    + wind(terminal.facing))
            }
            _ => 0.0,
        }
    }

    /// A duct of the ventilator with its balancing damper at its angle.
    fn with_damper(&self, run: Run, air: Air) -> Run {
        let angle = self.plan.as_ref().map_or(0.0, |plan| match air {
            Air::Supply => plan.supply_damper,
            _ => plan.extract_damper,
        });
        duct_runs::with_damper(run, &self.damper, angle)
    }

    /// The blower in a mode: a falling curve through its measured point, or a standing wheel.
    fn blower(&self, mode: Mode) -> Law {
        let density = self.states.indoor.density;
        let point = self.existing.as_ref().and_then(|existing| {
            let index = self
                .inputs
                .modes
                .iter()
                .position(|readings| readings.mode == mode)?;
            Some(existing.operating_points[index])
        });
        let Some((flow, rise)) = point else {
            return Law::Quadratic {
                linear: 0.0,
                quadratic: self.inputs.idle_blower_resistance,
                density,
            };
        };
        let kind = self
            .job
            .air_handler
            .as_ref()
            .map_or(BlowerKind::AsMeasured, |handler| handler.blower);
        let loss = self.inputs.blower_flow_loss;
        // rise = p0 − b Q − c Q² through the measured point with dQ/dp = −loss Q there. The linear
        // part is small; it alone would limit reverse flow, which does not occur.
        let curve = |rise: f64, loss: f64| {
            let b = 0.02 / (loss * flow);
            let c = (1.0 / (loss * flow) - b) / (2.0 * flow);
            (rise + b * flow + c * flow * flow, b, c)
        };
        if kind == BlowerKind::ConstantAirflow {
            let (p0, b, c) = curve(CEILING.max(1.2 * rise), CEILING_FLOW_LOSS);
            Law::ConstantFlowFan {
                volume_flow: flow * (1.0 + loss * rise),
                droop: loss * flow,
                p0,
                b,
                c,
                density,
            }
        } else {
            let (p0, b, c) = curve(rise, loss);
            Law::QuadraticFan { p0, b, c, density }
        }
    }

    /// One stream of the ventilator from port to port.
    fn stream(&self, setting: Setting, supply: bool) -> Law {
        let Some(plan) = &self.plan else { return SHUT };
        let unit = &self.job.units[plan.unit];
        let states = &self.states;
        let (before, after) = if supply {
            (states.outdoor.density, states.supply.density)
        } else {
            (states.indoor.density, states.exhaust.density)
        };
        let density = if unit.fans_after_core { after } else { before };
        match self.curves.iter().find(|curves| curves.setting == setting) {
            Some(curves) => {
                let curve = if supply {
                    &curves.supply
                } else {
                    &curves.extract
                };
                // At constant speed the volume flow stays and the pressure goes with the density.
                let curve = curve
                    .at(1.0, density / air::STANDARD_DENSITY)
                    .unwrap_or(*curve);
                Law::Fan { curve, density }
            }
            None if supply && unit.shuts_when_off => SHUT,
            None => {
                let flow = IDLE_FLOW * self.free_flow;
                Law::Quadratic {
                    linear: 0.0,
                    quadratic: 100.0 / (flow * flow),
                    density,
                }
            }
        }
    }
}

/// Air states of a case. Unconditioned zones lie between indoors and outdoors: an attic three
/// kelvin above outdoors, a crawlspace or garage half-way (from memory). The unit's supply and
/// exhaust air follow from its sensible recovery.
fn states(job: &Job, plan: Option<&Plan>, season: Season) -> States {
    let weather = job
        .climate
        .weathers
        .iter()
        .find(|weather| weather.season == season)
        .copied()
        .unwrap_or(job.climate.weathers[0]);
    let pressure = air::standard_pressure(job.building.altitude);
    let state = |temperature: f64| AirState::new(temperature, pressure);
    let recovery = plan.map_or(0.0, |plan| {
        sensible_recovery(&job.units[plan.unit], weather.outdoor)
    });
    let zones = job
        .zones
        .iter()
        .map(|zone| {
            state(match zone.kind {
                ZoneKind::Living | ZoneKind::Basement => weather.indoor,
                ZoneKind::Attic => weather.outdoor + 3.0,
                ZoneKind::Crawlspace | ZoneKind::Garage => 0.5 * (weather.indoor + weather.outdoor),
            })
        })
        .collect();
    let span = weather.indoor - weather.outdoor;
    States {
        outdoor: state(weather.outdoor),
        indoor: state(weather.indoor),
        supply: state(weather.outdoor + recovery * span),
        exhaust: state(weather.indoor - recovery * span),
        zones,
    }
}

/// Sensible recovery of a unit at an outdoor temperature: linear between the tested points, held
/// constant beyond them.
fn sensible_recovery(unit: &house::model::Unit, outdoor: f64) -> f64 {
    let mut points: Vec<_> = unit
        .recovery
        .iter()
        .map(|point| (point.outdoor, point.sensible))
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return 0.0;
    };
    if outdoor <= first.0 {
        return first.1;
    }
    if outdoor >= last.0 {
        return last.1;
    }
    points
        .windows(2)
        .find(|pair| outdoor <= pair[1].0)
        .map_or(last.1, |pair| {
            let along = (outdoor - pair[0].0) / (pair[1].0 - pair[0].0).max(1e-9);
            pair[0].1 + along * (pair[1].1 - pair[0].1)
        })
}

/// Pressure coefficient of a wall of a low-rise house against the angle between the wind and the
/// wall's outward normal (°): 0.6 windward, −0.65 sides, −0.3 leeward, joined by the
/// interpolation of ASHRAE Fundamentals 2021, chapter 16, equation 26, with both sides alike.
pub fn wall_pressure_coefficient(angle: f64) -> f64 {
    const WINDWARD: f64 = 0.6;
    const LEEWARD: f64 = -0.3;
    const SIDE: f64 = -0.65;
    let (sin, cos) = angle.to_radians().sin_cos();
    let (sin2, cos2) = (sin * sin, cos * cos);
    let root = cos.abs().powf(0.75).copysign(cos);
    0.5 * ((WINDWARD + LEEWARD) * cos2.powf(0.25)
        + (WINDWARD - LEEWARD) * root
        + 2.0 * SIDE * sin2 * sin2)
}

/// Builds the network.
struct Builder<'a> {
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
}

/// The case whose laws a new network carries until it is asked for another.
const FIRST_CASE: OperatingCase = OperatingCase {
    blower: Mode::Off,
    setting: Setting::High,
    season: Season::Mild,
    wind: None,
};

impl<'a> Builder<'a> {
    fn new(
        job: &'a Job,
        plan: Option<&Plan>,
        inputs: &Inputs,
        windy: bool,
    ) -> Result<Self, CannotBuild> {
        let states = states(job, plan, FIRST_CASE.season);
        let mut network = Network::new();
        let outdoors = network.fixed_node("outdoors", 0.0, states.outdoor.density);
        let existing = job.air_handler.as_ref().map(|handler| {
            ExistingDucts::infer(
                job,
                handler,
                inputs,
                states.indoor.density,
                states.indoor.viscosity,
            )
        });
        let zones = job
            .zones
            .iter()
            .zip(&states.zones)
            .map(|(zone, state)| network.node(&zone.name, state.density))
            .collect();
        let mut curves = Vec::new();
        let mut free_flow = 1e-3_f64;
        for tested in plan.iter().flat_map(|plan| &job.units[plan.unit].settings) {
            let curve = |factor: f64, flow: fn(&UnitPoint) -> f64| {
                let points: Vec<_> = tested
                    .points
                    .iter()
                    .map(|point| (point.pressure, factor * flow(point)))
                    .collect();
                FanCurve::new(&points).map_err(cannot)
            };
            free_flow = tested
                .points
                .first()
                .map_or(free_flow, |point| free_flow.max(point.gross_supply));
            curves.push(Curves {
                setting: tested.setting,
                supply: curve(inputs.supply_fan_factor, |point| point.gross_supply)?,
                extract: curve(inputs.extract_fan_factor, |point| point.gross_extract)?,
                certified: tested.points.last().map_or(0.0, |point| point.pressure),
            });
        }
        let scene = Scene {
            job,
            inputs: inputs.clone(),
            plan: plan.cloned(),
            existing,
            states,
            damper: ButterflyDamper::new(ducts::damper::TYPICAL_SHUT_LOSS).map_err(cannot)?,
            curves,
            free_flow,
        };
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
        })
    }

    fn finish(mut self) -> Result<Installation<'a>, CannotBuild> {
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
        let solver = Solver::new(&self.network).map_err(cannot)?;
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
            case: None,
            dampers_turned: false,
            starts: Vec::new(),
        })
    }

    fn add(&mut self, name: &str, from: NodeId, to: NodeId, part: Part) -> ElementId {
        let id = self
            .network
            .element(name, from, to, self.scene.law(&part, &FIRST_CASE));
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
        let vent =
            OPENING_DISCHARGE * zone.vent_area.max(1e-4) * (2.0 / air::STANDARD_DENSITY).sqrt();
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
        for opening in &self.scene.job.openings {
            let [a, b] = opening.between;
            let (first, second) = (&self.scene.job.zones[a], &self.scene.job.zones[b]);
            let coefficient =
                OPENING_DISCHARGE * opening.area * (2.0 / air::STANDARD_DENSITY).sqrt();
            self.add(
                &format!("opening {} to {}", first.name, second.name),
                self.zones[a],
                self.zones[b],
                Part::Between {
                    zones: [a, b],
                    height: first.level.max(second.level),
                    coefficient,
                    exponent: 0.5,
                },
            );
        }
    }

    fn exhausts(&mut self) {
        let mut drawn = vec![0.0; self.zones.len()];
        for exhaust in self
            .scene
            .job
            .exhausts
            .iter()
            .filter(|exhaust| exhaust.continuous)
        {
            drawn[exhaust.zone] += exhaust.flow;
        }
        if let Existing::ExhaustOnly { zone, flow, stays } = self.scene.job.existing
            && (stays || self.scene.plan.is_none())
        {
            drawn[zone] += flow;
        }
        for (node, flow) in self.zones.iter().zip(drawn) {
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
        }
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
