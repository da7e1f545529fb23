//! The law of every element in every operating case.

use super::{CannotBuild, cannot};
use crate::candidate::Plan;
use crate::case::OperatingCase;
use crate::duct_runs::{self, AirState};
use crate::existing_ducts::{DUCT_LEAK_EXPONENT, ExistingDucts};
use crate::inputs::Inputs;
use airflow::Law;
use ducts::{ButterflyDamper, FanCurve, Run};
use house::model::{
    BlowerKind, Existing, Job, Mode, Opening, OpeningKind, Season, Setting, UnitPoint, ZoneKind,
};

/// Discharge coefficient of openings between rooms, from memory.
const OPENING_DISCHARGE: f64 = 0.6;
/// Standard gravity (m/s²).
const GRAVITY: f64 = 9.80665;
/// Flow past a standing fan with 100 Pa across the stream, over its free flow; from memory.
const IDLE_FLOW: f64 = 0.4;
/// Pressure at which a motor that holds its airflow gives up, about 1 inWC (Pa); from memory.
const CEILING: f64 = 249.0;
/// Relative loss of flow per pascal beyond that (1/Pa), as a speed tap has it; from memory.
const CEILING_FLOW_LOSS: f64 = 0.004;
/// Conductance of something shut (kg/(s·Pa)).
const SHUT: Law = Law::Shut { conductance: 1e-9 };

/// All that decides the law of an element but the operating case.
pub(super) struct Scene<'a> {
    pub(super) job: &'a Job,
    pub(super) inputs: Inputs,
    pub(super) plan: Option<Plan>,
    pub(super) existing: Option<ExistingDucts>,
    pub(super) states: States,
    pub(super) household: Household,
    pub(super) damper: ButterflyDamper,
    /// Curves per setting of the unit.
    pub(super) curves: Vec<Curves>,
    /// Free flow of the strongest setting (m³/s), for the standing fans.
    pub(super) free_flow: f64,
}

/// Certified curves of one setting.
pub(super) struct Curves {
    pub(super) setting: Setting,
    pub(super) supply: FanCurve,
    pub(super) extract: FanCurve,
    /// Largest certified pressure (Pa).
    pub(super) certified: f64,
}

/// What an element is, so that its law can be set for each operating case.
pub(super) enum Part {
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
    /// Index into the job's openings.
    Opening {
        opening: usize,
        height: f64,
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
pub(super) enum Air {
    Outdoor,
    Supply,
    Extract,
    Exhaust,
}

/// Densities and viscosities of one operating case.
pub(super) struct States {
    pub(super) outdoor: AirState,
    pub(super) indoor: AirState,
    pub(super) supply: AirState,
    pub(super) exhaust: AirState,
    pub(super) zones: Vec<AirState>,
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

impl Part {
    /// Whether stack or wind act on it.
    pub(super) fn has_drive(&self) -> bool {
        matches!(
            self,
            Part::Envelope { .. }
                | Part::Vent { .. }
                | Part::Between { .. }
                | Part::Opening { .. }
                | Part::Duct {
                    terminal: Some(_),
                    ..
                }
        )
    }
}

/// How the people use the house while a case is solved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Household {
    /// Which exhausts run.
    pub exhausts: Exhausts,
    /// How the doors stand.
    pub doors: Doors,
    /// The supply fan of the ventilator stands still while its extract fan runs, as in a defrost
    /// that only exhausts or with a broken fan.
    pub supply_failed: bool,
}

impl Household {
    /// The continuous exhausts run, the doors stand as surveyed, the ventilator is sound.
    pub const USUAL: Household = Household {
        exhausts: Exhausts::Continuous,
        doors: Doors::AsSurveyed,
        supply_failed: false,
    };
}

/// Which exhausts other than the ventilator run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exhausts {
    /// None.
    None,
    /// Those that always run.
    Continuous,
    /// All at once.
    All,
}

/// How the doors between zones stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doors {
    /// As the survey has them.
    AsSurveyed,
    /// All closed.
    Closed,
    /// All open.
    Open,
    /// Those of one zone closed, all others open.
    OnlyClosed(usize),
    /// Those of one zone open, all others closed.
    OnlyOpen(usize),
}

/// Free area of an open door, 32 by 80 in (m²).
const OPEN_DOOR: f64 = 1.65;
/// Free area under a closed door, 32 by ½ in (m²), from memory.
const CLOSED_DOOR: f64 = 0.0103;

impl Doors {
    /// Free area of an opening (m²).
    fn area(self, opening: &Opening) -> f64 {
        let at = |zone: usize| opening.between.contains(&zone);
        let open = match self {
            Doors::AsSurveyed => return opening.area,
            _ if opening.kind == OpeningKind::TransferGrille => return opening.area,
            Doors::Closed => false,
            Doors::Open => true,
            Doors::OnlyClosed(zone) => !at(zone),
            Doors::OnlyOpen(zone) => at(zone),
        };
        match (open, opening.kind) {
            (true, OpeningKind::DoorUndercut) => opening.area.max(OPEN_DOOR),
            (false, OpeningKind::Open) => opening.area.min(CLOSED_DOOR),
            _ => opening.area,
        }
    }
}

impl<'a> Scene<'a> {
    /// The scene of a job with a plan, or as the house was found.
    pub(super) fn new(
        job: &'a Job,
        plan: Option<&Plan>,
        inputs: &Inputs,
        season: Season,
    ) -> Result<Self, CannotBuild> {
        let states = states(job, plan, season);
        let existing = job.air_handler.as_ref().map(|handler| {
            ExistingDucts::infer(
                job,
                handler,
                inputs,
                states.indoor.density,
                states.indoor.viscosity,
            )
        });
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
        Ok(Self {
            job,
            inputs: inputs.clone(),
            plan: plan.cloned(),
            existing,
            states,
            household: Household::USUAL,
            damper: ButterflyDamper::new(ducts::damper::TYPICAL_SHUT_LOSS).map_err(cannot)?,
            curves,
            free_flow,
        })
    }

    /// Takes on the air of a season.
    pub(super) fn breathe(&mut self, season: Season) {
        self.states = states(self.job, self.plan.as_ref(), season);
    }

    /// Flow that exhausts other than the ventilator draw from each zone (m³/s).
    pub(super) fn exhausted(&self) -> Vec<f64> {
        let mut drawn = vec![0.0; self.job.zones.len()];
        let exhausts = self.household.exhausts;
        for exhaust in &self.job.exhausts {
            if exhausts == Exhausts::All || (exhausts == Exhausts::Continuous && exhaust.continuous)
            {
                drawn[exhaust.zone] += exhaust.flow;
            }
        }
        if let Existing::ExhaustOnly { zone, flow, stays } = self.job.existing
            && exhausts != Exhausts::None
            && (stays || self.plan.is_none())
        {
            drawn[zone] += flow;
        }
        drawn
    }

    /// Coefficient of an opening of some free area (m³/(s·Pa^½)).
    pub(super) fn opening(area: f64) -> f64 {
        OPENING_DISCHARGE * area * (2.0 / air::STANDARD_DENSITY).sqrt()
    }
}

impl Scene<'_> {
    /// Law of an element in a case; the air states are those of the case.
    pub(super) fn law(&self, part: &Part, case: &OperatingCase) -> Law {
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
            Part::Opening { opening, .. } => Law::Leak {
                coefficient: Self::opening(self.household.doors.area(&self.job.openings[*opening])),
                exponent: 0.5,
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
    pub(super) fn drive(&self, part: &Part, case: &OperatingCase) -> f64 {
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
            Part::Opening { opening, height } => {
                let [a, b] = self.job.openings[*opening].between;
                stack(states.zones[a], states.zones[b], *height)
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
        let failed = supply && self.household.supply_failed;
        match self
            .curves
            .iter()
            .find(|curves| curves.setting == setting && !failed)
        {
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
pub(crate) fn sensible_recovery(unit: &house::model::Unit, outdoor: f64) -> f64 {
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
