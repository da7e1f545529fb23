//! How loud a ventilator is in each room.
//!
//! Sound reaches a room from the unit's casing, directly or through a floor, a wall or an opening,
//! and from its fans through supply and extract ducts. A survey does not say all that this needs;
//! each assumption is a constant here with its reason, and its doubt is in the band of the result.
//! The sound of the air handler is not counted.

use ::rules::{Confidence, RuleBook};
use acoustics::duct::{DUCT_HALF_WIDTH, Outlet};
use acoustics::room::{self, PARTITION_HALF_WIDTH, ROOM_HALF_WIDTH};
use acoustics::{Error, FAN_POWER_HALF_WIDTH, Level, SHAPE_HALF_WIDTH, Source, Spectrum, duct};
use house::model::{End, Job, Material, Side, Zone, ZoneKind};

use crate::candidate::{Plan, end_name};
use crate::case::CaseFlows;

/// Doubt of a certified sound power \[dB\]; from memory.
const TEST_HALF_WIDTH: f64 = 3.0;
/// Pressure that core and filters take beside the ducts \[Pa\]; from memory.
const INTERNAL_PRESSURE: f64 = 100.0;
/// What a casing keeps of the fans' sound, where it was not tested \[dB\], and the doubt; from memory.
const CASING: [f64; 2] = [15.0, 10.0];
/// Doubt of the way through ducts that were not drawn \[dB\]; from memory.
const UNDRAWN_HALF_WIDTH: f64 = 7.0;
/// Largest room in a zone that stands for a whole floor \[m³\]; from memory.
const ROOM_VOLUME: f64 = 40.0;
/// Floor area of such a room \[m²\].
const ROOM_AREA: f64 = 15.0;
/// Area of a partition wall \[m²\]; from memory.
const WALL_AREA: f64 = 10.0;
/// Distance of an ear from a grille, and from the unit in its own room \[m\]; from memory.
const EAR: [f64; 2] = [1.5, 3.0];
/// Floor area that one register serves, and one return grille \[m²\]; from memory.
const AREA_PER_GRILLE: [f64; 2] = [15.0, 40.0];
/// Diameter and length of a branch to a register, and to a return grille \[m\]; from memory.
const BRANCH: [(f64, f64); 2] = [(0.15, 3.0), (0.25, 3.0)];
/// Levels of floors that differ by less belong together \[m\].
const SAME_LEVEL: f64 = 1.0;

/// A sound power with where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Power {
    /// Octave bands \[dB re 1 pW\].
    pub bands: Spectrum,
    /// Half-width of its 90 % band \[dB\].
    pub half_width: f64,
    /// It stands in the catalogue; otherwise it is estimated from flow and pressure.
    pub tested: bool,
}

/// One way on which sound reaches a room.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// In words, for instance `through the floor`.
    pub name: String,
    /// The level that it brings.
    pub path: acoustics::Path,
}

/// Where a level stands against a target.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Verdict {
    /// The whole band lies below.
    Kept,
    /// The best value lies below, the band does not.
    LikelyKept,
    /// The best value lies above, the band does not.
    LikelyBeyond,
    /// The whole band lies above.
    Beyond,
}

/// The sound in a room of a zone.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomSound {
    /// Index into the job's zones.
    pub zone: usize,
    /// A-weighted level of all ways together.
    pub level: Level,
    /// The ways, the loudest first.
    pub ways: Vec<Way>,
    /// The target \[dB(A)\], if the rules have one.
    pub target: Option<f64>,
    /// Whose target it is.
    pub authority: String,
}

impl RoomSound {
    /// Where the level stands against the target.
    pub fn verdict(&self) -> Option<Verdict> {
        self.target.map(|target| {
            if self.level.high() <= target {
                Verdict::Kept
            } else if self.level.level <= target {
                Verdict::LikelyKept
            } else if self.level.low() <= target {
                Verdict::LikelyBeyond
            } else {
                Verdict::Beyond
            }
        })
    }
}

/// The sound of a plan in one operating case.
#[derive(Debug, Clone, PartialEq)]
pub struct SoundReport {
    /// What the casing radiates.
    pub casing: Power,
    /// What goes into the louder of the supply and the extract duct; taken for both.
    pub ducts: Power,
    /// Every lived-in zone.
    pub rooms: Vec<RoomSound>,
}

impl SoundReport {
    /// How far the worst room lies above its target \[dB\]; below zero if all are kept.
    pub fn worst_excess(&self) -> f64 {
        self.rooms
            .iter()
            .filter_map(|room| Some(room.level.level - room.target?))
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// How loud a plan is in each lived-in zone, in a case as solved, against the targets of a rule book.
///
/// # Errors
///
/// [`Error`] if a number of the job lies outside the formulas.
pub fn sound_in_rooms(
    job: &Job,
    plan: &Plan,
    flows: &CaseFlows,
    book: &RuleBook,
) -> Result<SoundReport, Error> {
    let (casing, ducts) = powers(job, plan, flows)?;
    let spot = &job.zones[job.spots[plan.spot].zone];
    let mut rooms = Vec::new();
    for (index, zone) in job.zones.iter().enumerate() {
        if !zone.kind.conditioned() {
            continue;
        }
        let mut ways = Vec::new();
        if index == job.spots[plan.spot].zone {
            let room = room::schultz(EAR[1], volume(zone).min(430.0))?;
            ways.push(Way {
                name: "from the unit in the same room".into(),
                path: acoustics::Path {
                    level: casing.bands.less(&room),
                    source: Source::Casing,
                    source_half_width: casing.half_width,
                    path_half_width: ROOM_HALF_WIDTH,
                },
            });
        } else {
            casing_ways(job, plan, &casing, spot, index, &mut ways)?;
        }
        for (ends, word) in [(&plan.supply, "supply"), (&plan.extract, "extract")] {
            for &end in ends {
                let along = own_duct(job, plan, end, ends.len())?;
                if let Some((rest, half_width)) = into_room(job, end, index)? {
                    ways.push(Way {
                        name: format!("through the {word} duct and {}", end_name(job, end)),
                        path: acoustics::Path {
                            level: ducts.bands.less(&along).less(&rest),
                            source: Source::Ducts,
                            source_half_width: ducts.half_width,
                            path_half_width: half_width,
                        },
                    });
                }
            }
        }
        ways.sort_by(|a, b| {
            b.path
                .level
                .a_weighted()
                .total_cmp(&a.path.level.a_weighted())
        });
        let paths: Vec<_> = ways.iter().map(|way| way.path).collect();
        let rule = if zone.bedroom {
            "bedroom sound"
        } else {
            "living room sound"
        };
        let ruling = book.limit(rule);
        rooms.push(RoomSound {
            zone: index,
            level: acoustics::total(&paths),
            ways,
            target: ruling.as_ref().map(|ruling| ruling.limit.value),
            authority: ruling.map_or_else(String::new, |ruling| {
                let doubt = match ruling.row.confidence {
                    Confidence::FromMemory if ruling.overridden.is_none() => " (from memory)",
                    _ => "",
                };
                format!("{}{doubt}", ruling.source())
            }),
        });
    }
    Ok(SoundReport {
        casing,
        ducts,
        rooms,
    })
}

/// Sound power of casing and ducts in a case.
fn powers(job: &Job, plan: &Plan, flows: &CaseFlows) -> Result<(Power, Power), Error> {
    let setting = job.units[plan.unit]
        .settings
        .iter()
        .find(|tested| tested.setting == flows.case.setting);
    let tested = |level: f64| -> Result<Power, Error> {
        Ok(Power {
            bands: acoustics::from_a_weighted(level)?,
            half_width: TEST_HALF_WIDTH.hypot(SHAPE_HALF_WIDTH),
            tested: true,
        })
    };
    let fan = |flow: f64, external: f64| {
        let flow = (flow.abs() / air::STANDARD_DENSITY).max(1e-4);
        acoustics::fan_power(flow, external.max(0.0) + INTERNAL_PRESSURE)
    };
    let ducts = match setting.and_then(|setting| setting.duct_sound) {
        Some(level) => tested(level)?,
        None => {
            let [supply, extract] = flows.external_static_pressure;
            let supply = fan(flows.supply, supply)?;
            let extract = fan(flows.extract, extract)?;
            Power {
                bands: if supply.a_weighted() > extract.a_weighted() {
                    supply
                } else {
                    extract
                },
                half_width: FAN_POWER_HALF_WIDTH,
                tested: false,
            }
        }
    };
    let casing = match setting.and_then(|setting| setting.sound) {
        Some(level) => tested(level)?,
        None => Power {
            bands: ducts.bands.less(&Spectrum::flat(CASING[0])),
            half_width: ducts.half_width.hypot(CASING[1]),
            tested: false,
        },
    };
    Ok((casing, ducts))
}

/// Volume of a zone, within what the formulas cover \[m³\].
fn volume(zone: &Zone) -> f64 {
    (zone.floor_area * zone.height).clamp(5.0, 2000.0)
}

/// Volume of a room of a zone \[m³\].
fn room_volume(zone: &Zone) -> f64 {
    volume(zone).min(ROOM_VOLUME)
}

/// Ways of the casing's sound into another zone: the floor or wall between, and openings.
fn casing_ways(
    job: &Job,
    plan: &Plan,
    casing: &Power,
    spot: &Zone,
    index: usize,
    ways: &mut Vec<Way>,
) -> Result<(), Error> {
    let zone = &job.zones[index];
    let mut way = |name: &str, loss: Spectrum| {
        ways.push(Way {
            name: name.into(),
            path: acoustics::Path {
                level: casing.bands.less(&loss),
                source: Source::Casing,
                source_half_width: casing.half_width,
                path_half_width: PARTITION_HALF_WIDTH,
            },
        });
    };
    let near = |a: f64, b: f64| (a - b).abs() < SAME_LEVEL;
    let floor = if matches!(
        spot.kind,
        ZoneKind::Basement | ZoneKind::Crawlspace | ZoneKind::Garage
    ) {
        room::OPEN_FLOOR
    } else {
        room::FLOOR_WITH_CEILING
    };
    let area = ROOM_AREA.min(zone.floor_area).min(spot.floor_area);
    let through = |reduction: &Spectrum, area: f64| {
        room::through_partition(reduction, area, volume(spot), room_volume(zone))
    };
    if near(zone.level, spot.level + spot.height) {
        way("through the floor", through(&floor, area)?);
    } else if near(zone.level + zone.height, spot.level) {
        way(
            "through the ceiling",
            through(&room::FLOOR_WITH_CEILING, area)?,
        );
    } else if near(zone.level, spot.level) {
        way(
            "through the wall and door",
            through(&room::WALL_WITH_DOOR, WALL_AREA)?,
        );
    }
    let spot_index = job.spots[plan.spot].zone;
    for opening in &job.openings {
        if opening.between == [spot_index, index] || opening.between == [index, spot_index] {
            let area = opening.area.clamp(1e-4, 200.0);
            let loss = room::through_partition(&Spectrum::ZERO, area, volume(spot), volume(zone))?;
            way("through the opening", loss);
        }
    }
    Ok(())
}

/// What the duct between unit and end takes, one of several of its stream.
///
/// Flexible duct is taken to be the insulated kind; its bends are not counted.
fn own_duct(job: &Job, plan: &Plan, end: End, count: usize) -> Result<Spectrum, Error> {
    let run = job.spots[plan.spot].runs.iter().find(|run| run.to == end);
    let (length, elbows) = run.map_or((0.0, 0), |run| (run.length.clamp(0.0, 200.0), run.elbows));
    let split = duct::split(1.0 / count.max(1) as f64)?;
    let loss = if job.ducts.material == Material::Flexible {
        duct::flexible(plan.diameter, length)?
    } else {
        let mut loss = duct::bare_round(plan.diameter, length)?;
        if matches!(end, End::Grille(_)) {
            // Not behind flexible duct, which swallows what is thrown back.
            loss = loss.and(&duct::end_reflection(plan.diameter, Outlet::Flush)?);
        }
        let elbow = duct::round_elbow(plan.diameter)?;
        (0..elbows).fold(loss, |loss, _| loss.and(&elbow))
    };
    Ok(loss.and(&split))
}

/// What lies between the end of the ventilator's duct and the ear in a room of a zone, with its
/// doubt; `None` if that end brings nothing there.
fn into_room(job: &Job, end: End, index: usize) -> Result<Option<(Spectrum, f64)>, Error> {
    let zone = &job.zones[index];
    let ear = room::schultz(EAR[0], room_volume(zone))?;
    match end {
        End::Grille(grille) if job.grilles[grille].zone == index => {
            Ok(Some((ear, DUCT_HALF_WIDTH.hypot(ROOM_HALF_WIDTH))))
        }
        End::Tap(tap) => {
            let tap = &job.taps[tap];
            let Some(handler) = &job.air_handler else {
                return Ok(None);
            };
            let (side, path, share) = match tap.side {
                Side::Supply => (0, &handler.supply_path, zone.supply_share),
                Side::Return => (1, &handler.return_path, zone.return_share),
            };
            let grilles = (zone.floor_area / AREA_PER_GRILLE[side]).round().max(1.0);
            let part = share / grilles;
            if part < 1e-3 {
                return Ok(None);
            }
            let (diameter, length) = BRANCH[side];
            let elbow = duct::round_elbow(diameter)?;
            let main = tap.section.hydraulic_diameter().clamp(0.05, 1.0);
            let loss = duct::split(0.5)?
                .and(&duct::bare_round(
                    main,
                    (path.length - tap.from_fan).clamp(0.0, 200.0),
                )?)
                .and(&duct::split(part.min(1.0))?)
                .and(&duct::bare_round(diameter, length)?)
                .and(&elbow)
                .and(&elbow)
                .and(&duct::end_reflection(diameter, Outlet::Flush)?)
                .and(&ear);
            Ok(Some((loss, UNDRAWN_HALF_WIDTH.hypot(ROOM_HALF_WIDTH))))
        }
        _ => Ok(None),
    }
}
