//! The rules that discard a candidate: rows of the job's rule book, looked up once, and what the
//! survey and the computation themselves ask for.
//!
//! A row in doubt decides nothing, and what was not measured is not judged: both are listed for the
//! contractor to look at ([`crate::standing`]).

use crate::walls::{Walls, tightest_of};
use ::rules::clearances::{self, Clearance, Measure, Object, Stream, Unless};
use ::rules::{Confidence, Row, RuleBook, Ruling};
use house::model::{
    End, Interlock, Job, Layout, Mode, Origin, Side, Spot, Unit, Venting, ZoneKind,
};
use units::System;

macro_rules! own_rules {
    ($($(#[$about:meta])* $name:ident = $id:literal, $demand:literal, $authority:literal, $remedy:literal;)*) => {
        $($(#[$about])* pub static $name: Row = Row {
            id: $id,
            demand: $demand,
            authority: $authority,
            remedy: $remedy,
            confidence: Confidence::ReadInSource,
            sets: &[],
            ..Row::BLANK
        };)*
    };
}

own_rules! {
    /// Runs measured.
    NO_RUN = "no run",
        "The survey gives a duct run from the spot to every end of the ducts.",
        "survey", "Measure the missing runs and add them to the spot.";
    /// The distance of the terminals is not known.
    NO_DISTANCE = "no distance",
        "The survey tells how far the intake lies from the unit's own exhaust.",
        "survey", "Measure the distance between the two, or use a two-in-one hood.";
    /// No room on a drawn wall.
    NO_ROOM = "no room on the wall",
        "Each hood has room on its wall, beside windows, doors and the other hood.",
        "survey", "Move the hood on the wall.";
    /// No such mode.
    NO_MODE = "no such mode",
        "The interlock calls a blower mode that the survey has measured.",
        "survey", "Measure the blower in the mode that the interlock calls.";
    /// Rate not met.
    RATE = "rate",
        "The required outdoor air reaches the rooms in every blower mode in which the ventilator runs.",
        "the rate asked for", "Choose a stronger unit, larger ducts or another layout.";
    /// Beyond the fan.
    NO_PRESSURE_LEFT = "no pressure left",
        "The unit works within its certified curve.",
        "certified performance data", "Choose larger ducts or a stronger unit.";
    /// An appliance with a limit in the job file.
    APPLIANCE_LIMIT = "appliance limit",
        "With the ventilator no appliance is drawn down beyond the limit that the job file gives it.",
        "the job file", "Choose a sealed appliance, make-up air or less exhaust, and test again.";
    /// Solver.
    NOT_SOLVED = "not solved",
        "Every operating case has a solution with a mass imbalance below 1e-9 kg/s.",
        "solver", "Please send us the job file: this should not happen.";
}

/// The order in which rules are applied, and in which what fell to them is listed; clearances come
/// after the last of [`BEFORE_CLEARANCES`], other rows last.
const BEFORE_CLEARANCES: &[&str] = &[
    "surroundings",
    "warm surroundings",
    "services",
    "bedroom wall",
    "access space",
    "attic opening",
    "attic passage",
    "crawlspace opening",
    "drain slope",
    "no run",
    "leaking air handler",
    "near fan",
    "taps together",
    "no distance",
    "no room on the wall",
];
const AFTER_CLEARANCES: &[&str] = &[
    "blower needed",
    "no such mode",
    "rate",
    "hood limit",
    "no pressure left",
    "furnace return air",
];

/// Place of a rule in the order in which rules are applied.
pub fn order(row: &Row) -> usize {
    let of = |list: &[&str]| list.iter().position(|&id| id == row.id);
    let clearances = BEFORE_CLEARANCES.len();
    match (of(BEFORE_CLEARANCES), of(AFTER_CLEARANCES)) {
        (Some(place), _) => place,
        (_, Some(place)) => clearances + 1 + place,
        _ if clearances::clearance(row.id).is_some() => clearances,
        _ => clearances + 1 + AFTER_CLEARANCES.len(),
    }
}

/// A rule in words: what it demands, an overridden number with its reason, and whose it is.
pub fn words(book: &RuleBook, row: &'static Row, system: System) -> String {
    match book.ruling(row) {
        Some(ruling) if ruling.overridden.is_some() => format!(
            "{} For this job {} ({}).",
            row.demand,
            ruling.limit.show(system),
            ruling.source()
        ),
        _ => format!("{} ({})", row.demand, source(row)),
    }
}

/// The authority of a row, and that it comes from memory where it does.
pub fn source(row: &Row) -> String {
    match row.confidence {
        Confidence::FromMemory => format!("{}; from memory", row.source()),
        Confidence::Unsure => format!("{}; from memory, unsure", row.source()),
        _ => row.source(),
    }
}

/// The rules of a job, looked up once.
pub struct Rules<'a> {
    job: &'a Job,
    book: &'a RuleBook,
    surroundings: Option<Ruling<'a>>,
    warm_surroundings: Option<Ruling<'a>>,
    services: Option<&'static Row>,
    bedroom_wall: Option<&'static Row>,
    access_space: Option<Ruling<'a>>,
    attic_opening: Option<Ruling<'a>>,
    attic_passage: Option<Ruling<'a>>,
    crawlspace_opening: Option<Ruling<'a>>,
    drain_slope: Option<Ruling<'a>>,
    leaking_air_handler: Option<&'static Row>,
    near_fan: Option<Ruling<'a>>,
    taps_together: Option<Ruling<'a>>,
    blower_needed: Option<&'static Row>,
    hood_limit: Option<Ruling<'a>>,
    furnace_return_air: Option<Ruling<'a>>,
    balance: Vec<Ruling<'a>>,
    /// For each pair of terminals on drawn walls what is broken there first, if anything is.
    drawn: Vec<([usize; 2], Option<&'static Row>)>,
    own_opening: Vec<(&'static Clearance, Ruling<'a>)>,
    above_ground: Vec<(&'static Clearance, Ruling<'a>)>,
}

/// The row, if a measured value breaks it for certain.
fn broken(ruling: Option<&Ruling<'_>>, measured: f64) -> Option<&'static Row> {
    ruling
        .filter(|ruling| ruling.holds(measured) == Some(false))
        .map(|ruling| ruling.row)
}

impl<'a> Rules<'a> {
    /// The rules of the job's book.
    pub fn new(job: &'a Job) -> Self {
        let book = &job.rules;
        let demand = |id: &str| ::rules::row(id).filter(|row| book.contains(row) && row.decides());
        let about = |wanted: &dyn Fn(&Clearance) -> bool| {
            clearances::all()
                .filter(|clearance| wanted(clearance))
                .filter_map(|clearance| Some((clearance, book.limit(clearance.row.id)?)))
                .collect()
        };
        Self {
            job,
            book,
            surroundings: book.limit("surroundings"),
            warm_surroundings: book.limit("warm surroundings"),
            services: demand("services"),
            bedroom_wall: demand("bedroom wall"),
            access_space: book.limit("access space"),
            attic_opening: book.limit("attic opening"),
            attic_passage: book.limit("attic passage"),
            crawlspace_opening: book.limit("crawlspace opening"),
            drain_slope: book.limit("drain slope"),
            leaking_air_handler: demand("leaking air handler"),
            near_fan: book.limit("near fan"),
            taps_together: book.limit("taps together"),
            blower_needed: demand("blower needed"),
            hood_limit: book.limit("hood limit"),
            furnace_return_air: book.limit("furnace return air"),
            balance: ["balance", "balance, Washington"]
                .into_iter()
                .filter_map(|id| book.limit(id))
                .filter(|ruling| ruling.holds(0.0).is_some())
                .collect(),
            drawn: on_drawn_walls(job),
            own_opening: about(&|clearance| clearance.objects.contains(&Object::OwnOpening)),
            above_ground: about(&|clearance| {
                clearance.objects == [Object::Grade] && clearance.measure == Measure::AboveGround
            }),
        }
    }

    /// The book behind them.
    pub fn book(&self) -> &'a RuleBook {
        self.book
    }

    /// Largest share by which supply and extract may differ, over the larger of the two.
    pub fn balance_limit(&self) -> f64 {
        self.balance
            .iter()
            .map(|ruling| ruling.limit.value)
            .fold(f64::INFINITY, f64::min)
    }

    /// Rules of a unit in a spot.
    pub fn unit_in_spot(&self, unit: usize, spot: usize) -> Option<&'static Row> {
        let (unit, spot) = (&self.job.units[unit], &self.job.spots[spot]);
        self.surroundings(unit, spot)
            .or_else(|| self.services(unit, spot))
            .or_else(|| self.access(spot))
            .or_else(|| {
                let slope = spot.drain_slope.filter(|_| unit.needs_drain)?;
                broken(self.drain_slope.as_ref(), slope)
            })
    }

    fn surroundings(&self, unit: &Unit, spot: &Spot) -> Option<&'static Row> {
        let (cold, warm) = (self.surroundings.as_ref(), self.warm_surroundings.as_ref());
        match unit.ambient {
            // The data of the unit replace the usual numbers.
            Some([least, greatest]) => cold
                .filter(|_| spot.coldest < least)
                .or_else(|| warm.filter(|_| spot.warmest > greatest))
                .map(|ruling| ruling.row),
            None => broken(cold, spot.coldest).or_else(|| broken(warm, spot.warmest)),
        }
    }

    fn services(&self, unit: &Unit, spot: &Spot) -> Option<&'static Row> {
        self.services
            .filter(|_| !spot.outlet || !spot.support || (unit.needs_drain && !spot.drain))
            .or_else(|| {
                self.bedroom_wall
                    .filter(|_| spot.bedroom_wall == Some(true))
            })
    }

    fn access(&self, spot: &Spot) -> Option<&'static Row> {
        let opening = match self.job.zones[spot.zone].kind {
            ZoneKind::Attic => self.attic_opening.as_ref(),
            ZoneKind::Crawlspace => self.crawlspace_opening.as_ref(),
            _ => None,
        };
        let space = spot
            .working_space
            .and_then(|space| broken(self.access_space.as_ref(), space));
        let hatch = || spot.hatch.and_then(|[shorter, _]| broken(opening, shorter));
        let passage = || {
            spot.passage
                .and_then(|length| broken(self.attic_passage.as_ref(), length))
        };
        space.or_else(hatch).or_else(passage)
    }

    /// Rules of the taps and grilles that a layout joins.
    pub fn joint(
        &self,
        spot: usize,
        layout: Layout,
        extract: &[End],
        supply: &[End],
    ) -> Option<&'static Row> {
        let job = self.job;
        let mut ends = extract.iter().chain(supply);
        if ends.any(|&end| !reached(job, spot, end)) {
            return Some(&NO_RUN);
        }
        if layout != Layout::FullyDucted && known_leaks_outside(job) {
            return self.leaking_air_handler;
        }
        let from_fan = |end: &End| match *end {
            End::Tap(index) if job.taps[index].side == Side::Return => {
                Some(job.taps[index].from_fan)
            }
            _ => None,
        };
        let near = extract
            .iter()
            .chain(supply)
            .filter_map(from_fan)
            .find_map(|distance| broken(self.near_fan.as_ref(), distance));
        if near.is_some() || layout != Layout::ReturnToReturn {
            return near;
        }
        let upstream = extract
            .iter()
            .filter_map(from_fan)
            .fold(f64::INFINITY, f64::min);
        let downstream = supply.iter().filter_map(from_fan).fold(0.0, f64::max);
        broken(self.taps_together.as_ref(), upstream - downstream)
    }

    /// Rules of the pair of terminals: all clearances where both sit on drawn walls, else as far as
    /// heights and typed distances tell.
    pub fn terminals(&self, spot: usize, intake: usize, exhaust: usize) -> Option<&'static Row> {
        let job = self.job;
        if !reached(job, spot, End::Terminal(intake)) || !reached(job, spot, End::Terminal(exhaust))
        {
            return Some(&NO_RUN);
        }
        let drawn = self
            .drawn
            .iter()
            .find(|(pair, _)| *pair == [intake, exhaust]);
        if let Some((_, broken)) = drawn {
            return *broken;
        }
        self.separation(intake, exhaust).or_else(|| {
            let height = |stream: Stream| match stream {
                Stream::Intake => job.terminals[intake].height,
                Stream::Exhaust => job.terminals[exhaust].height,
            };
            self.above_ground.iter().find_map(|(clearance, ruling)| {
                let mut heights = clearance.streams.iter().map(|&stream| height(stream));
                heights.find_map(|height| broken(Some(ruling), height))
            })
        })
    }

    /// Rules of intake against own exhaust.
    fn separation(&self, intake: usize, exhaust: usize) -> Option<&'static Row> {
        let job = self.job;
        let two_in_one = intake == exhaust;
        let distance = distance(job, intake, exhaust);
        let above = job.terminals[exhaust].height - job.terminals[intake].height;
        for (clearance, ruling) in &self.own_opening {
            let lifted = clearance.unless.iter().any(|unless| match *unless {
                Unless::TwoInOne => two_in_one,
                Unless::ExhaustAboveIntake(least) => !two_in_one && above >= least,
                _ => false,
            });
            if lifted || ruling.holds(0.0).is_none() {
                continue;
            }
            if two_in_one {
                return Some(ruling.row);
            }
            match distance {
                // An unknown distance is not assumed to be enough.
                None => return Some(&NO_DISTANCE),
                Some(distance) => {
                    if let Some(row) = broken(Some(ruling), distance) {
                        return Some(row);
                    }
                }
            }
        }
        None
    }

    /// Rules of the interlock.
    pub fn interlock(&self, layout: Layout, interlock: Interlock) -> Option<&'static Row> {
        let measured = |mode: Mode| {
            let handler = self.job.air_handler.as_ref();
            handler.is_some_and(|handler| handler.modes.iter().any(|known| known.mode == mode))
        };
        match interlock {
            Interlock::None => self
                .blower_needed
                .filter(|_| layout == Layout::ReturnToReturn),
            Interlock::VentilatorCallsBlower => {
                (!Mode::ALL.into_iter().any(measured)).then_some(&NO_MODE)
            }
            Interlock::OnlyWithBlower => {
                (!measured(Mode::Heating) && !measured(Mode::Cooling)).then_some(&NO_MODE)
            }
        }
    }

    /// The rule of a two-in-one hood, if a flow (m³/s) is more than it carries.
    pub fn hood(&self, terminal: usize, flow: f64) -> Option<&'static Row> {
        let ruling = self.hood_limit.as_ref();
        match self.job.terminals[terminal].flow_limit {
            Some(limit) => ruling.filter(|_| flow > limit).map(|ruling| ruling.row),
            None => broken(ruling, flow),
        }
    }

    /// Least temperature of the air that enters the furnace (°C): of the rule or of the furnace's
    /// maker, the stricter of the two. `None` without a furnace.
    pub fn least_return_temperature(&self) -> Option<f64> {
        let handler = self
            .job
            .air_handler
            .as_ref()
            .filter(|handler| handler.furnace)?;
        let rule = self
            .furnace_return_air
            .as_ref()
            .filter(|ruling| ruling.holds(0.0).is_some())
            .map(|ruling| ruling.limit.value);
        match (rule, handler.least_return_temperature) {
            (Some(rule), Some(maker)) => Some(rule.max(maker)),
            (rule, maker) => rule.or(maker),
        }
    }

    /// The rule of the air that enters a furnace.
    pub fn furnace_return_air(&self) -> Option<&'static Row> {
        self.furnace_return_air.as_ref().map(|ruling| ruling.row)
    }
}

/// Distance of two terminals, edge to edge (m), if the survey tells.
pub(crate) fn distance(job: &Job, intake: usize, exhaust: usize) -> Option<f64> {
    job.separations
        .iter()
        .find(|known| known.between == [intake, exhaust] || known.between == [exhaust, intake])
        .map(|known| known.distance)
}

/// What the clearances say of each pair of terminals on drawn walls: the rule that is broken by most.
fn on_drawn_walls(job: &Job) -> Vec<([usize; 2], Option<&'static Row>)> {
    let placed: Vec<usize> = (0..job.terminals.len())
        .filter(|&terminal| job.terminals[terminal].place.is_some())
        .collect();
    if placed.is_empty() {
        return Vec::new();
    }
    let Ok(walls) = Walls::new(job) else {
        return Vec::new();
    };
    let mut known = Vec::new();
    for &intake in &placed {
        for &exhaust in &placed {
            let Some(verdict) = walls.judge_terminals(job, intake, exhaust) else {
                continue;
            };
            let broken = if verdict.intake.fit.holds() && verdict.exhaust.fit.holds() {
                tightest_of(&verdict)
                    .filter(|(_, tightest)| tightest.holds == Some(false))
                    .map(|(_, tightest)| &walls.demand(tightest).clearance.row)
            } else {
                Some(&NO_ROOM)
            };
            known.push(([intake, exhaust], broken));
        }
    }
    known
}

/// The row that limits the depressurisation of an appliance by its venting.
pub(crate) fn row_of_venting(venting: Venting) -> Option<&'static str> {
    match venting {
        Venting::NaturalDraftWaterHeaterAlone => Some("orphan water heater"),
        Venting::NaturalDraftShared => Some("common vent"),
        Venting::NaturalDraft => Some("natural draft"),
        Venting::InducedDraftShared => Some("induced draft, common vent"),
        Venting::PowerVented => Some("induced draft"),
        Venting::Sealed => Some("sealed combustion"),
        Venting::Unvented => None,
    }
}

/// Whether the air handler stands in a garage or attic and the survey tells of leaks in its ducts.
fn known_leaks_outside(job: &Job) -> bool {
    job.air_handler.as_ref().is_some_and(|handler| {
        let outside = matches!(
            job.zones[handler.zone].kind,
            ZoneKind::Garage | ZoneKind::Attic
        );
        let leaks = [&handler.return_path, &handler.supply_path]
            .into_iter()
            .any(|path| {
                path.leakage.value > 0.0 && matches!(path.leakage.origin, Origin::Typed(_))
            });
        outside && leaks
    })
}

/// Whether the survey gives a run from the spot to an end.
fn reached(job: &Job, spot: usize, end: End) -> bool {
    job.spots[spot].runs.iter().any(|run| run.to == end)
}
