//! The pressure network of a house, its forced-air ducts and, if there is one, a ventilator.
//!
//! Node pressures are static gauge pressures referred to grade with the hydrostatic part of indoor
//! air removed; outdoors is zero. Stack and wind enter as drives on the elements that join air of
//! two temperatures: `Δp = p_from − p_to + (ρ_to − ρ_from) g z + C_p ½ ρ U²`.
//!
//! At a tap the velocity pressure of the main matters. The drive of a supply duct that ends in an
//! elbow facing downstream gains a part of it, and the main changes its static pressure where air
//! joins or leaves; these drives follow the flows in a few outer passes.

mod build;
mod scene;

pub(crate) use scene::sensible_recovery;
pub use scene::{Doors, Exhausts, Household, wall_pressure_coefficient};

use crate::candidate::Plan;
use crate::case::{Branches, CaseFlows, Exhausted, Leaks, OperatingCase, RoomAir};
use crate::duct_runs;
use crate::inputs::Inputs;
use airflow::{ElementId, NodeId, Solver, Transport};
use build::Builder;
use ducts::MainTap;
use house::model::{End, Entry, Existing, Job, Mode, Setting, ZoneKind};
use scene::{Part, Scene};

/// Largest number of passes for the velocity pressures at taps.
const TAP_PASSES: usize = 300;
/// Change of a tap's drive below which it counts as settled (Pa).
const TAP_SETTLED: f64 = 1e-3;

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
    starts: Vec<((Mode, Setting), Solution)>,
}

/// Pressures of the nodes and drives at the taps (Pa): what another solve can start from.
#[derive(Debug, Clone, Default)]
pub struct Solution {
    pressures: Vec<f64>,
    drives: Vec<[f64; 2]>,
}

impl Solution {
    /// The same as far on the other side of a middle: where a house that differs from that of the
    /// middle the other way will about lie.
    #[must_use]
    pub fn mirrored(&self, middle: &Self) -> Self {
        let pairs = self.pressures.iter().zip(&middle.pressures);
        let drives = self.drives.iter().zip(&middle.drives);
        Self {
            pressures: pairs.map(|(own, middle)| 2.0 * middle - own).collect(),
            drives: drives
                .map(|(own, middle)| [0, 1].map(|slot| 2.0 * middle[slot] - own[slot]))
                .collect(),
        }
    }
}

struct Element {
    id: ElementId,
    part: Part,
}

struct Ventilator {
    /// Outdoor, supply, extract and exhaust port.
    ports: [NodeId; 4],
    supply_stream: ElementId,
    extract_stream: ElementId,
    /// Ducts by the port they meet, with their sections' areas.
    ducts: Vec<(usize, ElementId, f64)>,
    /// Ducts from the ventilator's own extract grilles, in their order.
    grilles: Vec<ElementId>,
    /// All ducts by their far ends.
    ends: Vec<(End, ElementId)>,
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
        Builder::new(job, plan, inputs, windy)?.finish(None)
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

    /// The same plan in another possible house, in calm weather and used as usual. What was prepared
    /// and solved serves again, which is quicker where the two houses differ little.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn in_house(self, inputs: &Inputs) -> Result<Self, CannotBuild> {
        let job = self.scene.job;
        let plan = self.scene.plan.clone();
        Builder::new(job, plan.as_ref(), inputs, false)?.finish(Some(self))
    }

    /// The last solution with the blower mode and setting of a case.
    pub fn solution(&self, case: OperatingCase) -> Option<&Solution> {
        let known = |start: &&(_, Solution)| start.0 == (case.blower, case.setting);
        self.starts.iter().find(known).map(|(_, solution)| solution)
    }

    /// Starts the next solve of a case from this solution of another installation of the same plan.
    pub fn start_from(&mut self, case: OperatingCase, solution: &Solution) {
        if solution.pressures.len() == self.solver.network().nodes().len()
            && solution.drives.len() == self.joints.len()
        {
            self.start_of(case).clone_from(solution);
        }
    }

    fn start_of(&mut self, case: OperatingCase) -> &mut Solution {
        let key = (case.blower, case.setting);
        let at = match self.starts.iter().position(|start| start.0 == key) {
            Some(at) => at,
            None => {
                self.starts.push((key, Solution::default()));
                self.starts.len() - 1
            }
        };
        &mut self.starts[at].1
    }

    /// Says how the people use exhausts and doors, and whether the supply fan fails, in the cases
    /// solved from now on.
    pub fn set_household(&mut self, household: Household) {
        if self.scene.household != household {
            self.scene.household = household;
            for (node, flow) in self.zones.iter().zip(self.scene.exhausted()) {
                self.solver
                    .set_injection(*node, -flow * air::STANDARD_DENSITY);
            }
            self.case = None;
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

    /// Solves one operating case for the pressure of a zone alone (Pa).
    pub fn pressure_of_zone(&mut self, case: OperatingCase, zone: usize) -> Result<f64, Unsolved> {
        self.settle(case)?;
        Ok(self.solver.pressure(self.zones[zone]))
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

    /// Flow through the duct to one tap, grille or terminal in the case that was solved last, in
    /// the usual direction of its air (kg/s). A two-in-one hood has two; the intake's is given.
    pub fn duct_flow(&self, end: End) -> Option<f64> {
        let ventilator = self.ventilator.as_ref()?;
        let (_, id) = ventilator.ends.iter().find(|(known, _)| *known == end)?;
        Some(self.solver.mass_flow(*id))
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

    /// What each extract grille of the plan draws in the case that was solved last (kg/s).
    pub fn extract_of_grilles(&self) -> Vec<f64> {
        self.ventilator
            .iter()
            .flat_map(|ventilator| {
                ventilator
                    .grilles
                    .iter()
                    .map(|duct| self.solver.mass_flow(*duct))
            })
            .collect()
    }

    /// Flows beside those of the unit in the case that was solved last.
    pub fn branches(&self) -> Branches {
        let job = self.scene.job;
        let mut leaks: Vec<Leaks> = (0..job.zones.len())
            .map(|zone| Leaks {
                zone,
                inward: 0.0,
                outward: 0.0,
            })
            .collect();
        for element in &self.elements {
            if let Part::Envelope { zone, .. } | Part::Vent { zone, .. } = element.part {
                // These elements lead from outdoors to their zone.
                let flow = self.solver.mass_flow(element.id);
                leaks[zone].inward += flow.max(0.0);
                leaks[zone].outward += (-flow).max(0.0);
            }
        }
        leaks.retain(|leak| leak.inward > 0.0 || leak.outward > 0.0);
        let ends = self.ventilator.iter().flat_map(|ventilator| {
            let ends = ventilator.ends.iter();
            ends.map(|(end, id)| (*end, self.solver.mass_flow(*id)))
        });
        let runs = |continuous: bool| match self.scene.household.exhausts {
            Exhausts::None => false,
            Exhausts::Continuous => continuous,
            Exhausts::All => true,
        };
        let running = job.exhausts.iter().filter(|fan| runs(fan.continuous));
        let mut exhausts: Vec<Exhausted> = running
            .map(|fan| Exhausted {
                name: fan.name.clone(),
                zone: fan.zone,
                flow: fan.flow * air::STANDARD_DENSITY,
            })
            .collect();
        if let Existing::ExhaustOnly { zone, flow, stays } = job.existing
            && runs(true)
            && (stays || self.scene.plan.is_none())
        {
            exhausts.push(Exhausted {
                name: "exhaust of today".to_owned(),
                zone,
                flow: flow * air::STANDARD_DENSITY,
            });
        }
        Branches {
            ends: ends.collect(),
            leaks,
            exhausts,
        }
    }

    /// Part of the envelope's leakage in floor, walls and ceiling of the lived-in house; what leads
    /// to an attic counts as ceiling, to a crawlspace as floor, to a garage as wall.
    pub fn leakage_distribution(&self) -> [f64; 3] {
        let mut parts = [0.0; 3];
        for element in &self.elements {
            let (place, coefficient) = match &element.part {
                Part::Envelope {
                    zone,
                    height,
                    coefficient,
                    ..
                } => {
                    let zone = &self.scene.job.zones[*zone];
                    let place = if *height <= zone.level {
                        0
                    } else if *height >= zone.level + zone.height {
                        2
                    } else {
                        1
                    };
                    (place, *coefficient)
                }
                Part::Between {
                    zones, coefficient, ..
                } => {
                    let kind = zones
                        .iter()
                        .map(|zone| self.scene.job.zones[*zone].kind)
                        .find(|kind| !kind.conditioned());
                    let place = match kind {
                        Some(ZoneKind::Attic) => 2,
                        Some(ZoneKind::Crawlspace) => 0,
                        Some(ZoneKind::Garage) => 1,
                        _ => continue,
                    };
                    (place, *coefficient)
                }
                _ => continue,
            };
            parts[place] += coefficient;
        }
        let sum: f64 = parts.iter().sum();
        parts.map(|part| part / sum.max(f64::MIN_POSITIVE))
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
            self.scene.breathe(case.season);
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
        let key = (case.blower, case.setting);
        if let Some((_, start)) = self.starts.iter().find(|start| start.0 == key) {
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
        let mut solution = std::mem::take(self.start_of(case));
        solution.pressures.clear();
        solution.pressures.extend(self.solver.pressures());
        solution.drives.clear();
        let drives = self.joints.iter().map(|joint| joint.drives);
        solution.drives.extend(drives);
        *self.start_of(case) = solution;
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
