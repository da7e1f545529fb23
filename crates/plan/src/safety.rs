//! Whether a house can be drawn down so far that an appliance spills its gases.
//!
//! The house as found, and the house with a plan, is solved in every combination of weather,
//! blower mode, state of the doors and state of the ventilator with all other exhausts running,
//! and the lowest pressure of the zone of each appliance is compared with the pressure of the same
//! zone in the same weather while nothing runs. The difference is what a technician measures as
//! the net depressurisation; it is compared with the limit of the appliance. Nothing that the
//! survey does not say is assumed to be safe: it is asked for.
//!
//! The prediction sorts houses; it replaces no test. Combustion testing before and after the work
//! is for people qualified for it, under the rules of the place.

use crate::candidate::Plan;
use crate::case::{OperatingCase, blower_modes};
use crate::flows::{Band, FlowsError};
use crate::inputs::{Inputs, Parameters};
use crate::installation::Unsolved;
use crate::installation::{Doors, Exhausts, Household, Installation};
use crate::rules::{self, row_of_venting};
use ::rules::Row;
use ::rules::{Confidence, RuleBook};
use house::model::{Appliance, Job, Mode, OpeningKind, Season, Setting, Venting, ZoneKind};
use rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// Draws of the survey behind the band of a depressurisation.
const DRAWS: usize = 100;

/// What the ventilator does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum VentilatorState {
    /// There is none.
    Absent,
    /// It stands still.
    Off,
    /// It runs as it should.
    Running(Setting),
    /// Only its extract fan runs: a defrost that exhausts, or a failed supply fan.
    ExhaustOnly(Setting),
}

/// A state of the whole house.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HouseState {
    /// Blower mode.
    pub blower: Mode,
    /// Ventilator.
    pub ventilator: VentilatorState,
    /// Weather.
    pub season: Season,
    /// Doors.
    pub doors: Doors,
}

/// How far a zone is drawn down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depressurisation {
    /// Net pressure of the zone against the same zone with nothing running (Pa), negative when
    /// drawn down.
    pub net: f64,
    /// 90 % band of it from the survey.
    pub band: Band,
    /// The state that does it.
    pub state: HouseState,
}

/// How an appliance fares.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Index into the job's appliances.
    pub appliance: usize,
    /// Largest depressurisation allowed (Pa, positive), if it is known.
    pub limit: Option<f64>,
    /// Whose limit it is, in words.
    pub authority: String,
    /// The limit comes from memory: it warns, but the appliance's own papers decide.
    pub unverified: bool,
    /// The house as found.
    pub as_found: Depressurisation,
    /// With the plan, where one was given.
    pub with_plan: Option<Depressurisation>,
    /// What follows.
    pub outcome: Outcome,
}

/// What follows for an appliance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// The limit is kept, band and all.
    Kept,
    /// The best estimate keeps the limit, the band does not.
    Doubtful,
    /// The zone is drawn down further than the limit.
    BeyondLimit,
    /// Something is missing to judge it.
    Unknown,
    /// No limit helps: it burns into the room.
    Unvented,
}

/// A caution that applies to the job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Short name.
    pub about: &'static str,
    /// What to do and who may do it.
    pub text: String,
}

/// The whole report.
#[derive(Debug, Clone, PartialEq)]
pub struct SafetyReport {
    /// One verdict per appliance.
    pub verdicts: Vec<Verdict>,
    /// What the survey must still say, as sentences.
    pub asked: Vec<String>,
    /// Cautions that apply.
    pub cautions: Vec<Caution>,
}

impl SafetyReport {
    /// Whether anything forbids the work as planned.
    pub fn forbids(&self) -> bool {
        self.verdicts
            .iter()
            .any(|verdict| matches!(verdict.outcome, Outcome::BeyondLimit | Outcome::Unvented))
    }
}

/// Judges the house as found and, if given, with a plan.
pub fn safety(job: &Job, plan: Option<&Plan>, book: &RuleBook) -> Result<SafetyReport, FlowsError> {
    let parameters = Parameters::new(job);
    let mut verdicts = Vec::new();
    for (index, appliance) in job.appliances.iter().enumerate() {
        let as_found = drawn_down(job, None, &parameters, appliance.zone)?;
        let with_plan = plan
            .map(|plan| drawn_down(job, Some(plan), &parameters, appliance.zone))
            .transpose()?;
        let (limit, authority, unverified) = limit(appliance, book);
        let worst = with_plan.as_ref().unwrap_or(&as_found);
        let outcome = match (appliance.venting, limit) {
            (Some(Venting::Unvented), _) => Outcome::Unvented,
            (_, None) => Outcome::Unknown,
            (_, Some(limit)) if -worst.net > limit => Outcome::BeyondLimit,
            (_, Some(limit)) if -worst.band.low > limit => Outcome::Doubtful,
            _ => Outcome::Kept,
        };
        verdicts.push(Verdict {
            appliance: index,
            limit,
            authority,
            unverified,
            as_found,
            with_plan,
            outcome,
        });
    }
    Ok(SafetyReport {
        verdicts,
        asked: asked(job),
        cautions: cautions(job, plan),
    })
}

/// The limit of the depressurisation of an appliance (Pa), whose it is, and whether it comes from
/// memory.
pub fn limit(appliance: &Appliance, book: &RuleBook) -> (Option<f64>, String, bool) {
    if let Some(limit) = appliance.limit {
        return (Some(limit), "the job file".into(), false);
    }
    let ruling = appliance
        .venting
        .and_then(row_of_venting)
        .and_then(|id| book.limit(id));
    ruling.map_or((None, String::new(), false), |ruling| {
        let unverified =
            ruling.overridden.is_none() && ruling.row.confidence != Confidence::ReadInSource;
        (Some(ruling.limit.value), ruling.source(), unverified)
    })
}

/// The lowest net pressure of a zone over all states of the house, with its band.
fn drawn_down(
    job: &Job,
    plan: Option<&Plan>,
    parameters: &Parameters,
    zone: usize,
) -> Result<Depressurisation, FlowsError> {
    let mut installation = Installation::new(job, plan, parameters.best(), false)?;
    let worst = lowest(&mut installation, &states(job, plan, zone), zone)?;
    let Some((net, state)) = worst else {
        return Err(FlowsError("the house has no state to solve".into()));
    };
    // A fixed seed: the same survey always gives the same band.
    let mut random = rand_pcg::Pcg64Mcg::seed_from_u64(0x5afe);
    let mut nets = Vec::with_capacity(DRAWS);
    for _ in 0..DRAWS {
        let scores: Vec<f64> = parameters
            .list()
            .iter()
            .map(|_| StandardNormal.sample(&mut random))
            .collect();
        nets.push(net_of(job, plan, &parameters.draw(&scores), state, zone)?);
    }
    Ok(Depressurisation {
        net,
        band: Band::of(&mut nets),
        state,
    })
}

/// The lowest net pressure of a zone over some states, with the state.
fn lowest(
    installation: &mut Installation,
    states: &[HouseState],
    zone: usize,
) -> Result<Option<(f64, HouseState)>, Unsolved> {
    let mut worst: Option<(f64, HouseState)> = None;
    for season in [Season::Winter, Season::Mild, Season::Summer] {
        let mut some = states
            .iter()
            .filter(|state| state.season == season)
            .peekable();
        if some.peek().is_none() {
            continue;
        }
        let calm = calm(installation, season, zone)?;
        for &state in some {
            let net = pressure(installation, state, zone)? - calm;
            if worst.is_none_or(|(known, _)| net < known) {
                worst = Some((net, state));
            }
        }
    }
    Ok(worst)
}

/// How far the appliance that fares worst is drawn down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawnDown {
    /// Index into the job's appliances.
    pub appliance: usize,
    /// Largest depressurisation allowed (Pa, positive).
    pub limit: f64,
    /// Net depressurisation in the house as found (Pa, positive when drawn down).
    pub as_found: f64,
    /// The same with the plan.
    pub with_plan: f64,
}

impl DrawnDown {
    /// Part of the limit that the plan takes beyond the house as found.
    pub fn added(&self) -> f64 {
        (self.with_plan - self.as_found) / self.limit
    }

    /// Whether the house as found keeps the limit and the plan breaks it.
    pub fn spoilt(&self) -> bool {
        self.as_found <= self.limit && self.with_plan > self.limit
    }
}

/// The worst state of the house as found for each appliance whose limit is known, found once, so
/// that many plans can be compared quickly: each is tried in that state alone, standing still and
/// with its supply fan failed at its strongest setting. [`safety`] tries every state.
pub struct AsFound {
    appliances: Vec<Found>,
}

struct Found {
    appliance: usize,
    zone: usize,
    limit: f64,
    /// The rule of the limit, if it may decide.
    row: Option<&'static Row>,
    net: f64,
    state: HouseState,
}

impl AsFound {
    /// Solves the house as found.
    ///
    /// # Errors
    ///
    /// [`FlowsError`] if its network cannot be built or solved.
    pub fn new(job: &Job, parameters: &Parameters) -> Result<Self, FlowsError> {
        let mut appliances = Vec::new();
        for (index, appliance) in job.appliances.iter().enumerate() {
            let (Some(limit), ..) = limit(appliance, &job.rules) else {
                continue;
            };
            let row = match appliance.limit {
                Some(_) => Some(&rules::APPLIANCE_LIMIT),
                None => appliance
                    .venting
                    .and_then(row_of_venting)
                    .and_then(|id| job.rules.limit(id))
                    .filter(|ruling| ruling.holds(0.0).is_some())
                    .map(|ruling| ruling.row),
            };
            let zone = appliance.zone;
            let mut installation = Installation::new(job, None, parameters.best(), false)?;
            if let Some((net, state)) = lowest(&mut installation, &states(job, None, zone), zone)? {
                appliances.push(Found {
                    appliance: index,
                    zone,
                    limit,
                    row,
                    net,
                    state,
                });
            }
        }
        Ok(Self { appliances })
    }

    /// The appliances that are beyond their limit already; nothing is added to them here.
    pub fn beyond(&self) -> Vec<DrawnDown> {
        self.appliances
            .iter()
            .map(|found| DrawnDown {
                appliance: found.appliance,
                limit: found.limit,
                as_found: -found.net,
                with_plan: -found.net,
            })
            .filter(|drawn| drawn.as_found > drawn.limit)
            .collect()
    }

    /// How the appliance fares that comes nearest to its limit with a plan, and the rule that the
    /// plan breaks: one that the house as found keeps. Leaves the household of the installation
    /// changed.
    ///
    /// # Errors
    ///
    /// [`Unsolved`] if a state has no solution.
    pub fn with_plan(
        &self,
        job: &Job,
        plan: &Plan,
        installation: &mut Installation,
    ) -> Result<(Option<DrawnDown>, Option<&'static Row>), Unsolved> {
        let strongest = job.units[plan.unit]
            .settings
            .iter()
            .map(|tested| tested.setting)
            .max()
            .unwrap_or(plan.setting);
        let mut worst: Option<DrawnDown> = None;
        let mut broken = None;
        for found in &self.appliances {
            let states = [
                VentilatorState::Off,
                VentilatorState::ExhaustOnly(strongest),
            ]
            .map(|ventilator| HouseState {
                ventilator,
                ..found.state
            });
            let Some((net, _)) = lowest(installation, &states, found.zone)? else {
                continue;
            };
            let drawn = DrawnDown {
                appliance: found.appliance,
                limit: found.limit,
                as_found: -found.net,
                with_plan: -net,
            };
            if drawn.spoilt() && broken.is_none() {
                broken = found.row;
            }
            let share = |drawn: &DrawnDown| drawn.with_plan / drawn.limit;
            if worst.is_none_or(|known| share(&drawn) > share(&known)) {
                worst = Some(drawn);
            }
        }
        Ok((worst, broken))
    }
}

fn net_of(
    job: &Job,
    plan: Option<&Plan>,
    inputs: &Inputs,
    state: HouseState,
    zone: usize,
) -> Result<f64, FlowsError> {
    let mut installation = Installation::new(job, plan, inputs, false)?;
    let calm = calm(&mut installation, state.season, zone)?;
    Ok(pressure(&mut installation, state, zone)? - calm)
}

/// Pressure of the zone while nothing runs (Pa).
fn calm(installation: &mut Installation, season: Season, zone: usize) -> Result<f64, Unsolved> {
    installation.set_household(Household {
        exhausts: Exhausts::None,
        doors: Doors::AsSurveyed,
        supply_failed: false,
    });
    let case = OperatingCase {
        blower: Mode::Off,
        setting: Setting::Off,
        season,
        wind: None,
    };
    installation.pressure_of_zone(case, zone)
}

/// Pressure of the zone in a state with all exhausts running (Pa).
fn pressure(
    installation: &mut Installation,
    state: HouseState,
    zone: usize,
) -> Result<f64, Unsolved> {
    let (setting, supply_failed) = match state.ventilator {
        VentilatorState::Absent | VentilatorState::Off => (Setting::Off, false),
        VentilatorState::Running(setting) => (setting, false),
        VentilatorState::ExhaustOnly(setting) => (setting, true),
    };
    installation.set_household(Household {
        exhausts: Exhausts::All,
        doors: state.doors,
        supply_failed,
    });
    let case = OperatingCase {
        blower: state.blower,
        setting,
        season: state.season,
        wind: None,
    };
    installation.pressure_of_zone(case, zone)
}

/// Every state to be tried.
fn states(job: &Job, plan: Option<&Plan>, zone: usize) -> Vec<HouseState> {
    let mut ventilators = vec![if plan.is_some() {
        VentilatorState::Off
    } else {
        VentilatorState::Absent
    }];
    if let Some(plan) = plan {
        for tested in &job.units[plan.unit].settings {
            ventilators.push(VentilatorState::Running(tested.setting));
            ventilators.push(VentilatorState::ExhaustOnly(tested.setting));
        }
    }
    let has_doors = job
        .openings
        .iter()
        .any(|opening| opening.kind != OpeningKind::TransferGrille);
    let doors: &[Doors] = if has_doors {
        &[
            Doors::AsSurveyed,
            Doors::Closed,
            Doors::Open,
            Doors::OnlyClosed(zone),
            Doors::OnlyOpen(zone),
        ]
    } else {
        &[Doors::AsSurveyed]
    };
    let mut states = Vec::new();
    for season in [Season::Winter, Season::Mild, Season::Summer] {
        for blower in blower_modes(job) {
            for &ventilator in &ventilators {
                for &doors in doors {
                    states.push(HouseState {
                        blower,
                        ventilator,
                        season,
                        doors,
                    });
                }
            }
        }
    }
    states
}

/// What the survey must still say.
fn asked(job: &Job) -> Vec<String> {
    let mut asked = Vec::new();
    if job.appliances.is_empty() && !job.nothing_burns {
        asked.push(
            "Name every appliance that burns something ([[appliance]] with its zone and how it is vented), or say [house] nothing_burns = true.".into(),
        );
    }
    for appliance in &job.appliances {
        if appliance.venting.is_none() {
            asked.push(format!(
                "Say how the {} is vented (venting = …).",
                appliance.name
            ));
        }
    }
    let furnace = job
        .air_handler
        .as_ref()
        .is_some_and(|handler| handler.furnace);
    if furnace
        && !job.nothing_burns
        && !job
            .appliances
            .iter()
            .any(|appliance| appliance.name.contains("furnace"))
    {
        asked.push("The air handler is a furnace, but no [[appliance]] named furnace says how it is vented.".into());
    }
    if job.exhausts.is_empty() {
        asked.push("Name the other exhausts, even those that seldom run: kitchen hood, bath fans, dryer ([[exhaust]]).".into());
    }
    asked
}

/// Cautions that apply to the job.
fn cautions(job: &Job, plan: Option<&Plan>) -> Vec<Caution> {
    let mut list = Vec::new();
    let mut say = |about, text: &str| {
        list.push(Caution {
            about,
            text: text.into(),
        })
    };
    if !job.nothing_burns {
        say(
            "combustion",
            "Have a qualified person test draft, spillage and carbon monoxide in the worst case before the work and after it. Stop if an appliance spills.",
        );
        say(
            "carbon monoxide",
            "See that a carbon-monoxide alarm hangs outside every sleeping area, as the local code has it.",
        );
    }
    if job
        .appliances
        .iter()
        .any(|appliance| appliance.venting == Some(Venting::Unvented))
    {
        say(
            "unvented appliance",
            "An unvented heater burns into the room. Ventilation is no cure for it: have it replaced before the house is ventilated.",
        );
    }
    if job.zones.iter().any(|zone| zone.kind == ZoneKind::Garage) {
        say(
            "garage",
            "Keep every duct and the unit out of the garage, and its wall and door tight: its air must not be drawn into the house.",
        );
    }
    say(
        "mains power",
        "The unit's outlet and every line-voltage wire are for a licensed electrician. Switch off before opening a unit or an air handler.",
    );
    if job
        .air_handler
        .as_ref()
        .is_some_and(|handler| handler.furnace)
    {
        say(
            "gas",
            "Work on the furnace's gas side and inside its cabinet is for a licensed trade.",
        );
    }
    say(
        "old materials",
        "Paint, tape, wrap, plaster and loose fill of old houses can hold lead or asbestos. Have them tested before you cut, and follow the rules for such work.",
    );
    say(
        "radon",
        "Test for radon before and after: a change of the house's pressure can change it.",
    );
    if let Some(plan) = plan
        && job.zones[job.spots[plan.spot].zone].kind == ZoneKind::Attic
    {
        say(
            "attic",
            "Use a ladder that stands firm and boards to kneel on, and mind the heat of an attic in summer.",
        );
    }
    list
}
