//! Where intake and exhaust may pierce the drawn walls of a job, by its rules.
//!
//! The geometry is that of the crate `siting`; here the job's walls, objects and terminals become a
//! [`Site`], and what is known of each wall and of each terminal is put together.

mod explained;
mod judged;
mod moving;

pub use explained::Hood;
pub use judged::state;

use house::model::{Job, Terminal, WallObject};
use rules::clearances::{Measure, Object, Stream, Unless};
use siting::{
    Against, Demand, Judgement, Opening, PairVerdict, Place, Region, Site, SiteError, Thing,
    Verdict, area, best_on, best_pair, best_two_in_one, demands, judge, judge_pair,
    judge_two_in_one, region, region_two_in_one,
};
use units::text::capital;
use units::{Length, Quantity, System, both};

/// Usual hood for one stream (m), 8 in (from memory).
const HOOD: Opening = Opening {
    width: 0.2032,
    height: 0.2032,
};

/// Usual two-in-one hood (m), 16 by 8 in (from memory).
const TWO_IN_ONE_HOOD: Opening = Opening {
    width: 0.4064,
    height: 0.2032,
};

/// The walls of a job with the clearances of its rules.
#[derive(Debug, Clone, PartialEq)]
pub struct Walls {
    /// What geometry knows of them.
    pub site: Site,
    /// For each thing of the site that the job draws, the wall at which it was measured.
    owners: Vec<usize>,
    /// The hood for one stream whose place is looked for.
    pub hood: Opening,
    /// The two-in-one hood whose place is looked for.
    pub two_in_one_hood: Opening,
}

impl Walls {
    /// The walls of a job.
    ///
    /// # Errors
    ///
    /// A wall or an object that geometry cannot use; a job that was read without errors has none.
    pub fn new(job: &Job) -> Result<Self, SiteError> {
        let walls: Vec<siting::Wall> = job
            .walls
            .iter()
            .map(|wall| siting::Wall {
                name: wall.name.clone(),
                start: wall.corner,
                end: wall.end(),
                outline: wall.outline.clone(),
                grade: wall.grade.clone(),
                snow: job.climate.snow,
            })
            .collect();
        let mut things = Vec::new();
        let mut owners = Vec::new();
        for (index, wall) in walls.iter().enumerate() {
            for object in &job.walls[index].objects {
                things.push(thing(object, (index, wall)));
                owners.push(index);
            }
        }
        let size = |two_in_one: bool, usual: Opening| {
            job.terminals
                .iter()
                .filter(|terminal| terminal.place.is_some() && terminal.two_in_one == two_in_one)
                .map(opening)
                .reduce(larger)
                .unwrap_or(usual)
        };
        Ok(Self {
            site: Site::new(walls, things, demands(&job.rules))?,
            owners,
            hood: size(false, HOOD),
            two_in_one_hood: size(true, TWO_IN_ONE_HOOD),
        })
    }

    /// How many things of the site the job draws; the corners of the house follow them.
    pub fn drawn(&self) -> usize {
        self.owners.len()
    }

    /// The wall at which a thing was measured; none for corners, ground, snow and own openings.
    pub fn owner(&self, against: Against) -> Option<usize> {
        match against {
            Against::Thing(index) => self.owners.get(index).copied(),
            _ => None,
        }
    }

    /// What a distance is measured from, in words for someone who looks at a wall.
    pub fn words(&self, against: Against, wall: usize) -> String {
        match (against, self.owner(against)) {
            (Against::Snow, _) if self.snow(wall) > 0.0 => "the expected snow".to_owned(),
            (Against::Grade | Against::Snow, _) => "the ground".to_owned(),
            (Against::OwnOpening, _) => "the ventilator's other opening".to_owned(),
            (_, Some(owner)) if owner != wall => format!(
                "the {} at the {}",
                self.site.name(against),
                self.site.walls()[owner].name
            ),
            _ => format!("the {}", self.site.name(against)),
        }
    }

    /// What was measured, in words: `8 ft 4 in from the dryer outlet`.
    pub fn measured(&self, judgement: &Judgement, wall: usize, system: System) -> String {
        let thing = self.words(judgement.against, wall);
        if judgement.against == Against::OwnOpening && judgement.measured <= 0.0 {
            return "both openings in one hood".to_owned();
        }
        let size = on_tape(judgement.measured.abs(), system);
        let level = judgement.measured >= 0.0;
        match self.demand(judgement).clearance.measure {
            Measure::StraightLine => format!("{size} from {thing}"),
            Measure::Horizontal => format!("{size} sideways from {thing}"),
            Measure::Above if level => format!("lower edge {size} above {thing}"),
            Measure::Above => format!("lower edge {size} below the top of {thing}"),
            Measure::Below if level => format!("upper edge {size} below {thing}"),
            Measure::Below => format!("upper edge {size} above the bottom of {thing}"),
            Measure::AboveGround if level => format!("lower edge {size} above {thing}"),
            Measure::AboveGround => format!("lower edge {size} under {thing}"),
            Measure::HighestAboveGround => format!("upper edge {size} above {thing}"),
        }
    }

    /// What is asked, in words: `at least 6 ft asked`.
    pub fn asked(&self, judgement: &Judgement, system: System) -> String {
        let limit = &self.demand(judgement).limit;
        if limit.value == 0.0 {
            return "to stay above it is asked".to_owned();
        }
        format!(
            "{} {} asked",
            limit.sense.name(),
            Length::from_si(limit.value).show(system)
        )
    }

    /// The exception by which a rule is kept although its number is not, in words; none if its
    /// number is kept, or nothing helps.
    pub fn exception(&self, judgement: &Judgement, system: System) -> Option<String> {
        let by = |size: f64| Length::from_si(size).show(system);
        Some(match judgement.lifted? {
            Unless::Below(size) => format!("it lies {} or more below", by(size)),
            Unless::Above(size) => format!("it lies {} or more above", by(size)),
            Unless::ExhaustAboveIntake(size) => {
                format!("the exhaust lies {} or more above the intake", by(size))
            }
            Unless::HorizontallyBeyond(0.0) => "it does not stand over it".to_owned(),
            Unless::HorizontallyBeyond(size) => {
                format!("it lies {} or more away sideways", by(size))
            }
            Unless::TwoInOne => "both streams share one factory-made hood".to_owned(),
        })
    }

    /// The demand of a judgement.
    pub fn demand(&self, judgement: &Judgement) -> &Demand {
        &self.site.demands()[judgement.demand]
    }

    /// Of the rules between the two hoods of a pair that are broken, the one that asks for most.
    pub fn too_near<'a>(&self, pair: &'a PairReport) -> Option<&'a Judgement> {
        let limit = |judgement: &&Judgement| self.demand(judgement).limit.value;
        let verdict = &pair.verdict;
        let judgements = verdict.intake.judgements.iter();
        judgements
            .chain(&verdict.exhaust.judgements)
            .filter(|judgement| {
                judgement.against == Against::OwnOpening && judgement.holds == Some(false)
            })
            .max_by(|one, other| limit(one).total_cmp(&limit(other)))
    }

    /// Whether another hood of the job is too near to one for both to be used together.
    pub fn has_rival(&self, pairs: &[PairReport], terminal: usize) -> bool {
        pairs.iter().any(|pair| {
            pair.intake != pair.exhaust
                && [pair.intake, pair.exhaust].contains(&terminal)
                && self.too_near(pair).is_some()
        })
    }

    /// The expected snow at a wall (m).
    fn snow(&self, wall: usize) -> f64 {
        self.site.walls().get(wall).map_or(0.0, |wall| wall.snow)
    }

    /// The ground at a place along a wall (m).
    pub fn ground(&self, wall: usize, along: f64) -> f64 {
        self.site
            .walls()
            .get(wall)
            .map_or(0.0, |wall| wall.highest_ground(along, along))
    }

    /// Where a terminal sits; none if its wall is not drawn.
    pub fn place(&self, terminal: &Terminal) -> Option<Place> {
        let place = terminal.place?;
        Some(Place {
            wall: place.wall,
            at: [
                place.along,
                self.ground(place.wall, place.along) + terminal.height,
            ],
        })
    }

    /// The same walls without one of the things.
    fn without(&self, removed: usize) -> Option<Site> {
        let things: Vec<Thing> = self.site.things()[..self.drawn()]
            .iter()
            .enumerate()
            .filter(|(index, _)| *index != removed)
            .map(|(_, thing)| thing.clone())
            .collect();
        let site = Site::new(
            self.site.walls().to_vec(),
            things,
            self.site.demands().to_vec(),
        );
        site.ok()
    }

    /// One wall alone with everything that is there, for what has to stay on it.
    fn alone(&self, wall: usize) -> Option<Site> {
        let things: Vec<Thing> = self
            .site
            .things()
            .iter()
            .map(|thing| Thing {
                wall: (thing.wall == Some(wall)).then_some(0),
                ..thing.clone()
            })
            .collect();
        let walls = vec![self.site.walls().get(wall)?.clone()];
        Site::new(walls, things, self.site.demands().to_vec()).ok()
    }
}

/// A thing of the site from an object of a wall.
fn thing(object: &WallObject, (index, wall): (usize, &siting::Wall)) -> Thing {
    let lies_before = matches!(
        object.kind,
        Object::Parking
            | Object::Walkway
            | Object::Deck
            | Object::PropertyLine
            | Object::SoffitInlet
            | Object::AirConditioner
    );
    if lies_before || object.out > 0.0 {
        Thing::in_front_of(
            &object.name,
            object.kind,
            wall,
            [object.along, object.bottom, object.out],
            [object.width, object.height, object.depth],
        )
    } else {
        Thing::on_wall(
            &object.name,
            object.kind,
            (index, wall),
            [object.along, object.bottom],
            [object.width, object.height],
        )
    }
}

/// The opening of a terminal.
pub fn opening(terminal: &Terminal) -> Opening {
    let [width, height] = terminal.size;
    Opening { width, height }
}

/// An opening as large as both: the safe side where geometry takes one size for two hoods.
fn larger(one: Opening, other: Opening) -> Opening {
    Opening {
        width: one.width.max(other.width),
        height: one.height.max(other.height),
    }
}

/// A place that was found, on whole marks of a tape.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The centre of the hood.
    pub place: Place,
    /// The smallest margin of a deciding rule (m); infinite if no rule decides.
    pub margin: f64,
    /// The rule with this margin.
    pub tightest: Option<Judgement>,
}

/// Two places that were found together, on whole marks of a tape.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundPair {
    /// The centre of the intake.
    pub intake: Place,
    /// The centre of the exhaust.
    pub exhaust: Place,
    /// Every rule there.
    pub verdict: PairVerdict,
}

impl FoundPair {
    /// The deciding rule with the smallest margin, and for which of the two it is made.
    pub fn tightest(&self) -> Option<(Stream, &Judgement)> {
        tightest_of(&self.verdict)
    }
}

/// The deciding rule of a pair with the smallest margin, and for which of the two it is made.
pub fn tightest_of(verdict: &PairVerdict) -> Option<(Stream, &Judgement)> {
    let of = |stream, one: &'_ Verdict| one.tightest().copied().map(|tightest| (stream, tightest));
    let intake = of(Stream::Intake, &verdict.intake);
    let exhaust = of(Stream::Exhaust, &verdict.exhaust);
    let stream = match (intake, exhaust) {
        (Some((_, one)), Some((_, other))) if other.margin < one.margin => Stream::Exhaust,
        (None, Some(_)) => Stream::Exhaust,
        _ => Stream::Intake,
    };
    let verdict = match stream {
        Stream::Intake => &verdict.intake,
        Stream::Exhaust => &verdict.exhaust,
    };
    verdict.tightest().map(|tightest| (stream, tightest))
}

/// What removing one thing would change on a wall where nothing is allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Freed {
    /// The thing of the site.
    pub thing: usize,
    /// Share of the wall's free area that would be allowed.
    pub share: f64,
}

/// What is known of a wall for one stream.
#[derive(Debug, Clone, PartialEq)]
pub struct StreamReport {
    /// Where the centre of the hood may lie.
    pub region: Region,
    /// The best place.
    pub best: Option<Found>,
    /// Where no place is left: what single things would free by going away, the most first.
    pub freed: Vec<Freed>,
}

impl StreamReport {
    /// Share of the area with room for a hood that is allowed, 0 to 1.
    pub fn share(&self) -> f64 {
        share(&self.region)
    }
}

/// Share of the area with room for a hood that is allowed, 0 to 1.
pub fn share(region: &Region) -> f64 {
    let free = area(&region.free);
    if free > 0.0 {
        area(&region.allowed) / free
    } else {
        0.0
    }
}

/// What is known of one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct WallReport {
    /// Which wall of the job.
    pub wall: usize,
    /// For the intake alone.
    pub intake: StreamReport,
    /// For the exhaust alone.
    pub exhaust: StreamReport,
    /// For a two-in-one hood.
    pub two_in_one: StreamReport,
    /// The best pair of intake and exhaust on this wall.
    pub pair: Option<FoundPair>,
}

/// Every rule at the place of a terminal.
#[derive(Debug, Clone, PartialEq)]
pub struct TerminalReport {
    /// Which terminal of the job.
    pub terminal: usize,
    /// Its centre.
    pub place: Place,
    /// As an intake, if it may be one.
    pub intake: Option<Verdict>,
    /// As an exhaust, if it may be one.
    pub exhaust: Option<Verdict>,
}

impl TerminalReport {
    /// Whether it keeps every rule that decides, as everything that it may be.
    pub fn holds(&self) -> bool {
        let mut verdicts = self.intake.iter().chain(&self.exhaust);
        verdicts.all(Verdict::holds)
    }
}

/// Every rule between and around the two terminals of a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct PairReport {
    /// The intake, a terminal of the job.
    pub intake: usize,
    /// The exhaust, a terminal of the job; the same for a two-in-one hood.
    pub exhaust: usize,
    /// Every rule.
    pub verdict: PairVerdict,
}

/// What is known of all walls.
#[derive(Debug, Clone, PartialEq)]
pub struct WallsReport {
    /// Each wall.
    pub walls: Vec<WallReport>,
    /// The best pair of all walls.
    pub pair: Option<FoundPair>,
    /// Each terminal that sits on a drawn wall.
    pub terminals: Vec<TerminalReport>,
    /// Each pair of them that could be chosen.
    pub pairs: Vec<PairReport>,
}

impl Walls {
    /// Everything about the walls; places are given on whole marks of a tape in this system.
    pub fn report(&self, job: &Job, system: System) -> WallsReport {
        let step = mark(system);
        let walls = (0..job.walls.len())
            .filter_map(|wall| self.wall(wall, step))
            .collect();
        let pair = best_pair(&self.site, self.hood)
            .and_then(|pair| self.snapped_pair(&self.site, [pair.intake, pair.exhaust], step));
        WallsReport {
            walls,
            pair,
            ..self.judged(job)
        }
    }

    /// The terminals of the job and their pairs, without the walls: what is quickly told.
    pub fn judged(&self, job: &Job) -> WallsReport {
        let placed: Vec<usize> = (0..job.terminals.len())
            .filter(|&terminal| job.terminals[terminal].place.is_some())
            .collect();
        let terminals = placed
            .iter()
            .filter_map(|&terminal| self.terminal(job, terminal))
            .collect();
        let mut pairs = Vec::new();
        for &intake in &placed {
            for &exhaust in &placed {
                let verdict = self.judge_terminals(job, intake, exhaust);
                pairs.extend(verdict.map(|verdict| PairReport {
                    intake,
                    exhaust,
                    verdict,
                }));
            }
        }
        WallsReport {
            walls: Vec::new(),
            pair: None,
            terminals,
            pairs,
        }
    }

    fn wall(&self, wall: usize, step: f64) -> Option<WallReport> {
        let stream = |stream: Stream| {
            let region = region(&self.site, self.hood, wall, stream)?;
            let best = best_on(&self.site, self.hood, wall, stream)
                .and_then(|best| self.snapped(best.place, stream, step));
            let freed = self.freed(&region, |site| {
                siting::region(site, self.hood, wall, stream)
            });
            Some(StreamReport {
                region,
                best,
                freed,
            })
        };
        let alone = self.alone(wall)?;
        let on_this_wall = |place: Place| Place { wall, at: place.at };
        let two_in_one = {
            let region = region_two_in_one(&self.site, self.two_in_one_hood, wall)?;
            let best = best_two_in_one(&alone, self.two_in_one_hood)
                .and_then(|best| self.snapped_two_in_one(on_this_wall(best.place), step));
            let freed = self.freed(&region, |site| {
                region_two_in_one(site, self.two_in_one_hood, wall)
            });
            StreamReport {
                region,
                best,
                freed,
            }
        };
        let pair = best_pair(&alone, self.hood).and_then(|pair| {
            let places = [on_this_wall(pair.intake), on_this_wall(pair.exhaust)];
            self.snapped_pair(&self.site, places, step)
        });
        Some(WallReport {
            wall,
            intake: stream(Stream::Intake)?,
            exhaust: stream(Stream::Exhaust)?,
            two_in_one,
            pair,
        })
    }

    /// What each thing would free by going away, where nothing is allowed.
    fn freed(&self, region: &Region, again: impl Fn(&Site) -> Option<Region>) -> Vec<Freed> {
        if !region.allowed.is_empty() {
            return Vec::new();
        }
        /// More things are not tried; the first ones take the most.
        const MOST: usize = 40;
        let mut things: Vec<usize> = Vec::new();
        for (index, _) in region.taken() {
            if let Against::Thing(thing) = region.forbidden[index].against
                && thing < self.drawn()
                && !things.contains(&thing)
            {
                things.push(thing);
            }
        }
        let mut freed: Vec<Freed> = things
            .into_iter()
            .take(MOST)
            .filter_map(|thing| {
                let region = again(&self.without(thing)?)?;
                let share = share(&region);
                (share > 0.0).then_some(Freed { thing, share })
            })
            .collect();
        freed.sort_by(|one, other| other.share.total_cmp(&one.share));
        freed
    }

    /// Every rule for one opening at any place; none if there is no such wall.
    pub fn judge(&self, place: Place, stream: Stream) -> Option<Verdict> {
        judge(&self.site, self.hood, place, stream)
    }

    /// Every rule for a two-in-one hood at any place; none if there is no such wall.
    pub fn judge_two_in_one(&self, place: Place) -> Option<PairVerdict> {
        judge_two_in_one(&self.site, self.two_in_one_hood, place)
    }

    fn terminal(&self, job: &Job, index: usize) -> Option<TerminalReport> {
        let terminal = &job.terminals[index];
        let place = self.place(terminal)?;
        let (intake, exhaust) = if terminal.two_in_one {
            let pair = judge_two_in_one(&self.site, opening(terminal), place)?;
            (Some(pair.intake), Some(pair.exhaust))
        } else {
            let of = |may: bool, stream| {
                let verdict = may.then(|| judge(&self.site, opening(terminal), place, stream));
                verdict.flatten()
            };
            (
                of(terminal.intake, Stream::Intake),
                of(terminal.exhaust, Stream::Exhaust),
            )
        };
        Some(TerminalReport {
            terminal: index,
            place,
            intake,
            exhaust,
        })
    }

    /// Every rule for two terminals of the job as intake and exhaust, or for a two-in-one hood as
    /// both; none if one of them sits on no drawn wall or they cannot be a pair.
    pub fn judge_terminals(&self, job: &Job, intake: usize, exhaust: usize) -> Option<PairVerdict> {
        let (inlet, outlet) = (job.terminals.get(intake)?, job.terminals.get(exhaust)?);
        let (from, to) = (self.place(inlet)?, self.place(outlet)?);
        if intake == exhaust {
            return inlet
                .two_in_one
                .then(|| judge_two_in_one(&self.site, opening(inlet), from))
                .flatten();
        }
        if inlet.two_in_one || outlet.two_in_one || !inlet.intake || !outlet.exhaust {
            return None;
        }
        judge_pair(&self.site, [opening(inlet), opening(outlet)], from, to)
    }

    /// A place moved to whole marks of the tape, from the left corner and from the ground.
    fn marks(&self, place: Place, step: f64) -> [Place; 4] {
        let [along, up] = place.at;
        let whole = |value: f64, up: bool| {
            let marks = value / step;
            step * if up { marks.ceil() } else { marks.floor() }
        };
        [(false, false), (true, false), (false, true), (true, true)].map(|(right, higher)| {
            let s = whole(along, right);
            let ground = self.ground(place.wall, s);
            Place {
                wall: place.wall,
                at: [s, ground + whole(up - ground, higher)],
            }
        })
    }

    fn snapped(&self, place: Place, stream: Stream, step: f64) -> Option<Found> {
        self.snapped_by(place, step, |place| {
            judge(&self.site, self.hood, place, stream)
        })
    }

    fn snapped_two_in_one(&self, place: Place, step: f64) -> Option<Found> {
        self.snapped_by(place, step, |place| {
            let pair = self.judge_two_in_one(place)?;
            let both = pair.holds();
            let mut tighter = if pair.intake.margin() <= pair.exhaust.margin() {
                pair.intake
            } else {
                pair.exhaust
            };
            tighter.fit.on_wall &= both;
            Some(tighter)
        })
    }

    /// The best of the marks around a place, or the place itself where none of them holds.
    fn snapped_by(
        &self,
        place: Place,
        step: f64,
        judge: impl Fn(Place) -> Option<Verdict>,
    ) -> Option<Found> {
        let found = |place: Place| {
            let verdict = judge(place)?;
            verdict.holds().then(|| Found {
                place,
                margin: verdict.margin(),
                tightest: verdict.tightest().copied(),
            })
        };
        let marks = self.marks(place, step).into_iter().filter_map(found);
        marks
            .reduce(|one, other| {
                if other.margin > one.margin {
                    other
                } else {
                    one
                }
            })
            .or_else(|| found(place))
    }

    fn snapped_pair(
        &self,
        site: &Site,
        [intake, exhaust]: [Place; 2],
        step: f64,
    ) -> Option<FoundPair> {
        let found = |intake: Place, exhaust: Place| {
            let verdict = judge_pair(site, [self.hood; 2], intake, exhaust)?;
            verdict.holds().then_some(FoundPair {
                intake,
                exhaust,
                verdict,
            })
        };
        let mut best: Option<FoundPair> = None;
        for intake in self.marks(intake, step) {
            for exhaust in self.marks(exhaust, step) {
                let Some(pair) = found(intake, exhaust) else {
                    continue;
                };
                if best
                    .as_ref()
                    .is_none_or(|known| pair.verdict.margin() > known.verdict.margin())
                {
                    best = Some(pair);
                }
            }
        }
        best.or_else(|| found(intake, exhaust))
    }
}

/// What is said of a wall, in sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WallWords {
    /// Of an intake alone.
    pub intake: String,
    /// Of an exhaust alone.
    pub exhaust: String,
    /// Of both on this wall.
    pub pair: String,
    /// Of a two-in-one hood.
    pub two_in_one: String,
}

impl Walls {
    /// What is said of a wall.
    pub fn sentences(&self, report: &WallReport, system: System) -> WallWords {
        let pair = match &report.pair {
            Some(pair) => format!(
                "The best pair on this wall: intake {}; exhaust {}. {}",
                self.place_words(pair.intake, system),
                self.place_words(pair.exhaust, system),
                self.tightest_words(
                    pair.tightest().map(|(_, tightest)| tightest),
                    report.wall,
                    system
                )
            ),
            None if report.intake.best.is_none() || report.exhaust.best.is_none() => {
                "No pair fits on this wall, because one of the two has no place.".to_owned()
            }
            None if report.two_in_one.best.is_some() => {
                "Each has a place on this wall, but no two of them keep far enough from each \
                 other. One hood made for both streams may do."
                    .to_owned()
            }
            None => "Each has a place on this wall, but no two of them keep far enough from each \
                     other."
                .to_owned(),
        };
        WallWords {
            intake: self.stream_words(&report.intake, "an intake", system),
            exhaust: self.stream_words(&report.exhaust, "an exhaust", system),
            pair,
            two_in_one: self.stream_words(&report.two_in_one, "a two-in-one hood", system),
        }
    }

    /// A place as one marks it with a tape.
    pub fn place_words(&self, place: Place, system: System) -> String {
        let [along, up] = place.at;
        let show = |length: f64| both(Length::from_si(length), system);
        format!(
            "{} from the left corner and {} above the ground",
            show(along),
            show(up - self.ground(place.wall, along))
        )
    }

    fn tightest_words(&self, tightest: Option<&Judgement>, wall: usize, system: System) -> String {
        let Some(judgement) = tightest.filter(|judgement| judgement.margin.is_finite()) else {
            return "No rule that decides comes near.".to_owned();
        };
        let demand = self.demand(judgement);
        let exception = match self.exception(judgement, system) {
            Some(exception) => format!(", which is enough because {exception}"),
            None => String::new(),
        };
        format!(
            "Tightest there: {}, {}{exception} ({}{}).",
            self.measured(judgement, wall, system),
            self.asked(judgement, system),
            demand.id(),
            overridden(demand)
        )
    }

    fn stream_words(&self, report: &StreamReport, what: &str, system: System) -> String {
        let wall = report.region.wall;
        if let Some(best) = &report.best {
            return format!(
                "{:.0} % of the wall is allowed for {what}. The best place: {}. {}",
                (100.0 * report.share()).max(1.0),
                self.place_words(best.place, system),
                self.tightest_words(best.tightest.as_ref(), wall, system)
            );
        }
        let mut text = format!("No place on this wall is allowed for {what}.");
        if area(&report.region.free) <= 0.0 {
            text.push_str(" There is no room for the hood.");
            return text;
        }
        // The largest takers, one sentence for each thing.
        let mut told: Vec<Against> = Vec::new();
        for (index, share) in report.region.taken() {
            let forbidden = &report.region.forbidden[index];
            if told.len() >= 3 || share < 0.05 || told.contains(&forbidden.against) {
                continue;
            }
            told.push(forbidden.against);
            let demand = &self.site.demands()[forbidden.demand];
            let limit = if demand.limit.value > 0.0 {
                format!(", {}", demand.limit.show(system))
            } else {
                String::new()
            };
            if forbidden.against == Against::OwnOpening {
                text.push_str(&format!(
                    " The rules of this job keep intake and exhaust apart and do not except one \
                     hood for both ({}{limit}{}).",
                    demand.id(),
                    overridden(demand)
                ));
                continue;
            }
            text.push_str(&format!(
                " {} takes {} of it ({}{limit}{}).",
                capital(&self.words(forbidden.against, wall)),
                if share > 0.995 {
                    "all".to_owned()
                } else {
                    format!("{:.0} %", 100.0 * share)
                },
                demand.id(),
                overridden(demand)
            ));
        }
        match report.freed.as_slice() {
            [] if told.contains(&Against::OwnOpening) => {}
            [] => text.push_str(
                " No single thing is to blame: take another wall, or move more than one of them.",
            ),
            freed => {
                for one in freed.iter().take(2) {
                    text.push_str(&format!(
                        " Without {}, {:.0} % would be allowed.",
                        self.words(Against::Thing(one.thing), wall),
                        (100.0 * one.share).max(1.0)
                    ));
                }
            }
        }
        text
    }
}

/// Why a number is not that of its row, if it was overridden.
fn overridden(demand: &Demand) -> String {
    if demand.overridden {
        format!(", {}", demand.source)
    } else {
        String::new()
    }
}

/// A measured length down to the last whole mark of a tape, so that what falls short by a hair is not
/// shown as enough.
///
/// ```
/// use plan::walls::on_tape;
/// use units::System;
/// assert_eq!(on_tape(1.8288, System::Ip), "6 ft");
/// assert_eq!(on_tape(1.8, System::Ip), "5 ft 10 in");
/// assert_eq!(on_tape(1.826, System::Si), "1.82 m");
/// ```
pub fn on_tape(length: f64, system: System) -> String {
    let step = mark(system);
    let marks = (length / step + 1e-6).floor();
    Length::from_si(marks * step).show(system)
}

/// The marks of a tape that a person reads with ease: whole inches, or centimetres (m).
fn mark(system: System) -> f64 {
    match system {
        System::Ip => 0.0254,
        System::Si => 0.01,
    }
}
