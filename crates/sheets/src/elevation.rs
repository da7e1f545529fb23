//! A wall of a job as an elevation.

use drawing::{Air, Area, Cause, Elevation, Grip, Item, Mark, Note, Reach, Span, Symbol};
use house::model::{Job, Terminal};
use plan::walls::{FoundPair, StreamReport, TerminalReport, Walls, WallsReport, on_tape, opening};
use rules::clearances::{Measure, Object, Stream};
use siting::{AMPLE, Against, Contour, Judgement, Opening, Place, Region, area, union};
use units::{Length, Quantity, System};

/// The elevation of a wall; none if the report has no such wall.
pub fn elevation(
    job: &Job,
    walls: &Walls,
    report: &WallsReport,
    wall: usize,
    system: System,
) -> Option<Elevation> {
    let known = report.walls.iter().find(|known| known.wall == wall)?;
    let pencil = Pencil {
        job,
        walls,
        report,
        wall,
        system,
        why: None,
    };
    let words = walls.sentences(known, system);
    let note = |air, title: &str, text: String| Note {
        air,
        title: title.to_owned(),
        text,
    };
    let mut notes = pencil.terminal_notes();
    for (air, title, stream, words) in [
        (Air::Outdoor, "Intake", &known.intake, words.intake),
        (Air::Exhaust, "Exhaust", &known.exhaust, words.exhaust),
    ] {
        if stream.best.is_none() {
            notes.push(note(Some(air), title, words));
        }
    }
    notes.push(note(None, "Both on this wall", words.pair));
    if known.pair.is_none() {
        notes.push(note(None, "Two-in-one hood", words.two_in_one));
    }
    let proposals = Proposals::of(known);
    Some(Elevation {
        areas: [
            (Air::Outdoor, &known.intake),
            (Air::Exhaust, &known.exhaust),
        ]
        .into_iter()
        .map(|(air, stream)| Area {
            air,
            allowed: stream.region.allowed.iter().flatten().cloned().collect(),
        })
        .collect(),
        reaches: [
            (Air::Outdoor, &known.intake),
            (Air::Exhaust, &known.exhaust),
        ]
        .into_iter()
        .flat_map(|(air, stream)| pencil.reaches(air, &stream.region))
        .collect(),
        marks: pencil.marks(&proposals),
        spans: pencil.spans(&proposals),
        notes,
        ..pencil.paper()?
    })
}

/// Something on a wall that can be moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Movable {
    /// An object of the wall.
    Object(usize),
    /// A terminal of the job.
    Terminal(usize),
}

/// What a page shows of a wall whose things are moved.
#[derive(Clone, Copy)]
pub struct View<'a> {
    /// Where hoods may lie, for each stream that is shown; for a two-in-one hood the first only.
    pub regions: &'a [(Stream, Region)],
    /// What is told of.
    pub chosen: Option<Movable>,
    /// The allowed place that is nearest to the chosen terminal, where it breaks a rule.
    pub nearest: Option<Place>,
    /// How each thing is taken hold of.
    pub grip: &'a dyn Fn(Movable) -> Grip,
    /// Where the page explains what is drawn.
    pub why: &'a dyn Fn(Explained) -> String,
}

/// What a page explains of a drawn wall.
#[derive(Debug, Clone, Copy)]
pub enum Explained<'j> {
    /// What a rule says of a terminal of the job.
    Distance {
        /// The terminal.
        terminal: usize,
        /// As what.
        stream: Stream,
        /// What the rule says.
        judgement: &'j Judgement,
        /// The terminal that is the other one of its pair, where that is not the usual one.
        with: Option<usize>,
    },
    /// The number of a rule: its place in the demands of the site.
    Limit(usize),
}

/// The elevation of a wall for a page on which its things are moved; none if there is no such wall.
/// Of the report only the terminals and their pairs are needed.
pub fn board(
    job: &Job,
    walls: &Walls,
    report: &WallsReport,
    wall: usize,
    view: &View,
    system: System,
) -> Option<Elevation> {
    let pencil = Pencil {
        job,
        walls,
        report,
        wall,
        system,
        why: Some(view.why),
    };
    let mut paper = pencil.paper()?;
    for (index, item) in paper.items.iter_mut().enumerate() {
        item.grip = Some((view.grip)(Movable::Object(index)));
    }
    let proposals = Proposals {
        pair: None,
        alone: Vec::new(),
        both: None,
    };
    let mut marks = pencil.marks(&proposals);
    for (mark, known) in marks.iter_mut().zip(pencil.terminals()) {
        let this = Movable::Terminal(known.terminal);
        mark.grip = Some((view.grip)(this));
        mark.dimensions = view.chosen == Some(this);
    }
    if let (Some(Movable::Terminal(index)), Some(place)) = (view.chosen, view.nearest) {
        let terminal = &job.terminals[index];
        marks.push(Mark {
            name: "nearest allowed".to_owned(),
            state: String::new(),
            airs: airs(terminal),
            at: place.at,
            size: terminal.size,
            ground: walls.ground(wall, place.at[0]),
            proposed: true,
            dimensions: false,
            grip: None,
        });
    }
    let spans = match view.chosen {
        None => pencil.spans(&proposals),
        Some(Movable::Terminal(index)) => pencil.spans_of(index),
        Some(Movable::Object(index)) => pencil.spans_to(index),
    };
    Some(Elevation {
        areas: view
            .regions
            .iter()
            .map(|(stream, region)| Area {
                air: air(*stream),
                allowed: region.allowed.iter().flatten().cloned().collect(),
            })
            .collect(),
        reaches: view
            .regions
            .iter()
            .flat_map(|(stream, region)| pencil.reaches(air(*stream), region))
            .collect(),
        marks,
        spans,
        ..paper
    })
}

/// A word of small letters, digits and hyphens for a wall, for names of files and parts of drawings.
///
/// ```
/// assert_eq!(sheets::slug("North wall (old)", 0), "north-wall-old");
/// assert_eq!(sheets::slug("***", 2), "wall-3");
/// ```
pub fn slug(name: &str, index: usize) -> String {
    let mut slug = String::new();
    for character in name.chars() {
        if character.is_ascii_alphanumeric() {
            slug.push(character.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let slug = slug.trim_end_matches('-');
    if slug.is_empty() {
        format!("wall-{}", index + 1)
    } else if slug.starts_with(|first: char| first.is_ascii_digit()) {
        format!("wall-{slug}")
    } else {
        slug.to_owned()
    }
}

/// The nearest of eight points of the compass, with the degrees where it is not one of them.
pub(crate) fn compass(facing: f64) -> String {
    const POINTS: [&str; 8] = [
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    ];
    let eighth = facing.rem_euclid(360.0) / 45.0;
    let point = POINTS[eighth.round() as usize % 8];
    if (eighth - eighth.round()).abs() < 0.02 {
        point.to_owned()
    } else {
        format!("{point} ({facing:.0}°)")
    }
}

fn symbol(object: Object) -> Symbol {
    match object {
        Object::Window => Symbol::Window,
        Object::Door => Symbol::Door,
        Object::SoffitInlet => Symbol::Slots,
        Object::Chimney | Object::PlumbingVent | Object::RadonOutlet => Symbol::Pipe,
        Object::MechanicalDraughtVent
        | Object::SmallDirectVent
        | Object::MediumDirectVent
        | Object::LargeDirectVent
        | Object::OilFill => Symbol::Mouth,
        Object::GasRegulator | Object::GasMeter | Object::ElectricMeter => Symbol::Meter,
        Object::GravityInlet | Object::MechanicalIntake => Symbol::Grille,
        Object::AirConditioner => Symbol::Condenser,
        Object::Parking | Object::Walkway => Symbol::Ground,
        Object::Deck => Symbol::Deck,
        Object::PropertyLine => Symbol::Boundary,
        _ => Symbol::Louvre,
    }
}

fn air(stream: Stream) -> Air {
    match stream {
        Stream::Intake => Air::Outdoor,
        Stream::Exhaust => Air::Exhaust,
    }
}

/// What is proposed on a wall.
struct Proposals<'a> {
    pair: Option<&'a FoundPair>,
    /// The best of one stream alone, where there is no pair.
    alone: Vec<(Air, &'a StreamReport)>,
    /// The best two-in-one hood, where there is no pair.
    both: Option<&'a StreamReport>,
}

impl<'a> Proposals<'a> {
    fn of(known: &'a plan::walls::WallReport) -> Self {
        if known.pair.is_some() {
            return Self {
                pair: known.pair.as_ref(),
                alone: Vec::new(),
                both: None,
            };
        }
        let both = known.two_in_one.best.is_some().then_some(&known.two_in_one);
        // A hood for both says more than two places that exclude each other.
        let alone = if both.is_some() {
            Vec::new()
        } else {
            vec![
                (Air::Outdoor, &known.intake),
                (Air::Exhaust, &known.exhaust),
            ]
        };
        Self {
            pair: None,
            alone,
            both,
        }
    }
}

/// What passes a terminal.
fn airs(terminal: &Terminal) -> Vec<Air> {
    match (terminal.intake, terminal.exhaust) {
        (true, false) => vec![Air::Outdoor],
        (false, true) => vec![Air::Exhaust],
        _ => vec![Air::Outdoor, Air::Exhaust],
    }
}

struct Pencil<'a> {
    job: &'a Job,
    walls: &'a Walls,
    report: &'a WallsReport,
    wall: usize,
    system: System,
    why: Option<&'a dyn Fn(Explained) -> String>,
}

impl Pencil<'_> {
    /// Where the page explains something.
    fn address(&self, explained: Explained) -> Option<String> {
        Some(self.why?(explained))
    }

    /// A distance that the page explains.
    fn explained(
        &self,
        span: Span,
        terminal: usize,
        (stream, judgement): (Stream, &Judgement),
        with: Option<usize>,
    ) -> Span {
        let address = self.address(Explained::Distance {
            terminal,
            stream,
            judgement,
            with,
        });
        Span { address, ..span }
    }

    /// The wall with what is on it, without what the rules say.
    fn paper(&self) -> Option<Elevation> {
        let drawn = self.job.walls.get(self.wall)?;
        let items = drawn.objects.iter().map(|object| Item {
            name: object.name.clone(),
            symbol: symbol(object.kind),
            at: [object.along, object.bottom],
            size: [object.width, object.height],
            out: object.out,
            grip: None,
        });
        Some(Elevation {
            id: slug(&drawn.name, self.wall),
            job: self.job.name.clone(),
            wall: drawn.name.clone(),
            facing: format!("faces {}", compass(drawn.facing)),
            system: self.system,
            outline: drawn.outline.clone(),
            grade: drawn.grade.clone(),
            snow: self.job.climate.snow,
            items: items.collect(),
            areas: Vec::new(),
            reaches: Vec::new(),
            marks: Vec::new(),
            spans: Vec::new(),
            notes: Vec::new(),
        })
    }

    /// A measured length, first as the sentences about it have it.
    fn on_tape(&self, length: f64) -> [String; 2] {
        let [_, second] = self.both(length);
        [on_tape(length, self.system), second]
    }

    fn both(&self, length: f64) -> [String; 2] {
        let length = Length::from_si(length);
        [length.show(self.system), length.show(self.system.other())]
    }

    /// The terminals of the job on this wall.
    fn terminals(&self) -> impl Iterator<Item = &TerminalReport> {
        self.report
            .terminals
            .iter()
            .filter(|terminal| terminal.place.wall == self.wall)
    }

    /// For each thing the rule that reaches farthest, of those that decide and of those that are shown
    /// only.
    fn reaches(&self, air: Air, region: &Region) -> Vec<Reach> {
        let mut farthest: Vec<(usize, f64)> = Vec::new();
        for (index, forbidden) in region.forbidden.iter().enumerate() {
            // The line of the snow says enough where nothing more is asked.
            if self.walls.site.demands()[forbidden.demand].limit.value <= 0.0 {
                continue;
            }
            let size = area(&union(&forbidden.pieces));
            let alike = farthest.iter_mut().find(|(known, _)| {
                let known = &region.forbidden[*known];
                (known.against, known.decides) == (forbidden.against, forbidden.decides)
            });
            match alike {
                Some(known) if known.1 >= size => {}
                Some(known) => *known = (index, size),
                None => farthest.push((index, size)),
            }
        }
        // The ground's own rule is not to be seen where the snow's reaches higher, and a rule that is
        // shown only tells nothing new within the reach of one that decides about the same thing.
        let covered = |index: usize| {
            let forbidden = &region.forbidden[index];
            let thing = matches!(self.cause(forbidden.against), Cause::Item(_));
            if thing && forbidden.decides {
                return false;
            }
            let others: Vec<Contour> = region
                .forbidden
                .iter()
                .filter(|other| other.decides)
                .filter(|other| match (thing, forbidden.decides) {
                    (true, _) => other.against == forbidden.against,
                    (false, true) => other.against != forbidden.against,
                    (false, false) => true,
                })
                .flat_map(|other| other.pieces.iter().cloned())
                .collect();
            let mut together = others.clone();
            together.extend(forbidden.pieces.iter().cloned());
            area(&union(&together)) - area(&union(&others)) < 0.01 * area(&region.free)
        };
        let shown = farthest.into_iter().map(|(index, _)| index);
        shown
            .filter(|index| !covered(*index))
            .map(|index| {
                let forbidden = &region.forbidden[index];
                let demand = &self.walls.site.demands()[forbidden.demand];
                let word = match demand.clearance.measure {
                    Measure::StraightLine => "off",
                    Measure::Horizontal => "aside",
                    Measure::Above | Measure::AboveGround => "above",
                    Measure::Below => "below",
                    Measure::HighestAboveGround => "at most above",
                };
                let [first, second] = self.both(demand.limit.value);
                Reach {
                    air,
                    asked: [format!("{first} {word}"), second],
                    contours: union(&forbidden.pieces).into_iter().flatten().collect(),
                    cause: self.cause(forbidden.against),
                    decides: forbidden.decides,
                    address: self.address(Explained::Limit(forbidden.demand)),
                }
            })
            .collect()
    }

    /// The item of the drawing that a distance is measured from, or its name.
    fn cause(&self, against: Against) -> Cause {
        if let Against::Thing(index) = against
            && self.walls.owner(against) == Some(self.wall)
        {
            // Things stand in the order of the walls and of their objects.
            let before: usize = self.job.walls[..self.wall]
                .iter()
                .map(|wall| wall.objects.len())
                .sum();
            return Cause::Item(index - before);
        }
        match against {
            Against::Snow => return Cause::Snow,
            Against::Grade => return Cause::Ground,
            _ => {}
        }
        let words = self.walls.words(against, self.wall);
        Cause::Elsewhere(words.strip_prefix("the ").unwrap_or(&words).to_owned())
    }

    fn marks(&self, proposals: &Proposals) -> Vec<Mark> {
        let ground = |place: Place| self.walls.ground(self.wall, place.at[0]);
        let mut marks: Vec<Mark> = self
            .terminals()
            .map(|known| {
                let terminal = &self.job.terminals[known.terminal];
                let broken = self.broken(known);
                Mark {
                    name: terminal.name.clone(),
                    state: match broken {
                        0 if self.walls.has_rival(&self.report.pairs, known.terminal) => {
                            "alone keeps every rule".to_owned()
                        }
                        0 => "keeps every rule".to_owned(),
                        1 => "breaks a rule".to_owned(),
                        count => format!("breaks {count} rules"),
                    },
                    airs: airs(terminal),
                    at: known.place.at,
                    size: terminal.size,
                    ground: ground(known.place),
                    proposed: false,
                    dimensions: true,
                    grip: None,
                }
            })
            .collect();
        let crowded = !marks.is_empty();
        // What the job has already, and may keep, needs no proposal beside it.
        let served = |stream: Stream| {
            self.terminals().any(|known| {
                let verdict = match stream {
                    Stream::Intake => &known.intake,
                    Stream::Exhaust => &known.exhaust,
                };
                verdict.as_ref().is_some_and(siting::Verdict::holds)
            })
        };
        let (intake_served, exhaust_served) = (served(Stream::Intake), served(Stream::Exhaust));
        let mut propose = |name: &str, airs: &[Air], place: Place, margin: f64, size: Opening| {
            let needed = airs.iter().any(|air| match air {
                Air::Outdoor => !intake_served,
                Air::Exhaust => !exhaust_served,
            });
            if !needed {
                return;
            }
            let state = if margin.is_finite() {
                format!("{} to spare", on_tape(margin.max(0.0), self.system))
            } else {
                String::new()
            };
            marks.push(Mark {
                name: name.to_owned(),
                state,
                airs: airs.to_vec(),
                at: place.at,
                size: [size.width, size.height],
                ground: ground(place),
                proposed: true,
                dimensions: !crowded,
                grip: None,
            });
        };
        if let Some(pair) = proposals.pair {
            let FoundPair {
                intake,
                exhaust,
                verdict,
            } = pair;
            let hood = self.walls.hood;
            propose(
                "best intake",
                &[Air::Outdoor],
                *intake,
                verdict.intake.margin(),
                hood,
            );
            propose(
                "best exhaust",
                &[Air::Exhaust],
                *exhaust,
                verdict.exhaust.margin(),
                hood,
            );
        }
        for (air, stream) in &proposals.alone {
            if let Some(best) = &stream.best {
                let name = match air {
                    Air::Outdoor => "best intake alone",
                    Air::Exhaust => "best exhaust alone",
                };
                propose(name, &[*air], best.place, best.margin, self.walls.hood);
            }
        }
        if let Some(best) = proposals.both.and_then(|both| both.best.as_ref()) {
            propose(
                "best two-in-one hood",
                &[Air::Outdoor, Air::Exhaust],
                best.place,
                best.margin,
                self.walls.two_in_one_hood,
            );
        }
        marks
    }

    /// How many rules that decide a terminal breaks.
    fn broken(&self, known: &TerminalReport) -> usize {
        let verdicts = known.intake.iter().chain(&known.exhaust);
        let rules = verdicts.clone().flat_map(|verdict| {
            verdict
                .judgements
                .iter()
                .filter(|judgement| judgement.holds == Some(false))
                .map(|judgement| judgement.demand)
        });
        let mut rules: Vec<usize> = rules.collect();
        rules.sort_unstable();
        rules.dedup();
        rules.len() + usize::from(verdicts.clone().any(|verdict| !verdict.fit.holds()))
    }

    /// The distance from a place to a thing of this wall, if it can be drawn.
    fn span(&self, judgement: &Judgement, place: Place, size: Opening, air: Air) -> Option<Span> {
        let Against::Thing(index) = judgement.against else {
            return None;
        };
        if self.walls.owner(judgement.against) != Some(self.wall) {
            return None;
        }
        let demand = self.walls.demand(judgement);
        let straight = demand.clearance.measure == Measure::StraightLine;
        let thing = self.walls.site.things().get(index)?;
        let wall = self.walls.site.walls().get(self.wall)?;
        let along = thing.plan.iter().map(|&point| wall.local(point)[0]);
        let left = along.clone().fold(f64::INFINITY, f64::min);
        let right = along.fold(f64::NEG_INFINITY, f64::max);
        if !straight {
            return None;
        }
        let half = [size.width / 2.0, size.height / 2.0];
        let [s, z] = place.at;
        let ends = |low: f64, high: f64, from: f64, to: f64| {
            if high < from {
                (from, high)
            } else if to < low {
                (to, low)
            } else {
                let shared = (from.max(low) + to.min(high)) / 2.0;
                (shared, shared)
            }
        };
        let (from_s, to_s) = ends(left, right, s - half[0], s + half[0]);
        let (from_z, to_z) = ends(thing.bottom, thing.top, z - half[1], z + half[1]);
        Some(Span {
            from: [from_s, from_z],
            to: [to_s, to_z],
            size: self.on_tape(judgement.measured),
            air,
            broken: (judgement.holds == Some(false)).then(|| self.both(demand.limit.value)),
            address: None,
        })
    }

    fn spans(&self, proposals: &Proposals) -> Vec<Span> {
        let mut spans: Vec<Span> = Vec::new();
        let mut add = |span: Option<Span>| {
            if let Some(span) = span
                && (span.from[0] - span.to[0]).hypot(span.from[1] - span.to[1]) > 0.05
                && !spans.contains(&span)
            {
                spans.push(span);
            }
        };
        for known in self.terminals() {
            let size = opening(&self.job.terminals[known.terminal]);
            for (stream, verdict) in [
                (Stream::Intake, &known.intake),
                (Stream::Exhaust, &known.exhaust),
            ] {
                let Some(verdict) = verdict else { continue };
                let nearest = verdict
                    .judgements
                    .iter()
                    .filter(|judgement| judgement.holds.is_some() && judgement.margin < AMPLE)
                    .filter_map(|judgement| {
                        let span = self.span(judgement, known.place, size, air(stream))?;
                        let what = (stream, judgement);
                        let span = self.explained(span, known.terminal, what, None);
                        Some((judgement.margin, span))
                    })
                    .min_by(|one, other| one.0.total_cmp(&other.0));
                add(nearest.map(|(_, span)| span));
            }
        }
        // Two terminals of the job that are too near to each other.
        for pair in &self.report.pairs {
            let place = |terminal: usize| self.walls.place(&self.job.terminals[terminal]);
            if let (Some(judgement), Some(intake), Some(exhaust)) = (
                self.walls.too_near(pair),
                place(pair.intake),
                place(pair.exhaust),
            ) && pair.intake != pair.exhaust
                && intake.wall == self.wall
                && exhaust.wall == self.wall
            {
                let [a, b] = [intake, exhaust].map(|place| place.at);
                let half = |terminal: usize| self.job.terminals[terminal].size[0] / 2.0;
                let way = if b[0] > a[0] { 1.0 } else { -1.0 };
                let limit = self.walls.demand(judgement).limit.value;
                let (terminal, stream, with) = self.walls.made_for(judgement, pair);
                add(Some(Span {
                    from: [a[0] + way * half(pair.intake), a[1]],
                    to: [b[0] - way * half(pair.exhaust), b[1]],
                    size: self.on_tape(judgement.measured),
                    air: Air::Outdoor,
                    broken: Some(self.both(limit)),
                    address: self.address(Explained::Distance {
                        terminal,
                        stream,
                        judgement,
                        with: Some(with),
                    }),
                }));
            }
        }
        if self.terminals().next().is_none()
            && let Some(pair) = proposals.pair
        {
            for (verdict, place, stream) in [
                (&pair.verdict.intake, pair.intake, Stream::Intake),
                (&pair.verdict.exhaust, pair.exhaust, Stream::Exhaust),
            ] {
                let tightest = verdict.tightest();
                add(tightest
                    .and_then(|tightest| self.span(tightest, place, self.walls.hood, air(stream))));
            }
        }
        spans
    }

    /// From one terminal to what it is too near to, or else to what is tightest.
    fn spans_of(&self, terminal: usize) -> Vec<Span> {
        /// More of them are not to be told apart.
        const MOST: usize = 4;
        let Some(known) = self.walls.judged_beside(self.job, terminal) else {
            return Vec::new();
        };
        let size = opening(&self.job.terminals[terminal]);
        let partner = self.walls.partner(self.job, terminal);
        let other = partner.and_then(|other| {
            let other = &self.job.terminals[other];
            Some((self.walls.place(other)?, opening(other)))
        });
        let mut list: Vec<(f64, Span)> = Vec::new();
        for (stream, verdict) in [
            (Stream::Intake, &known.intake),
            (Stream::Exhaust, &known.exhaust),
        ] {
            for judgement in verdict.iter().flat_map(|verdict| &verdict.judgements) {
                let span = match (judgement.against, other) {
                    (Against::OwnOpening, Some((place, other))) => {
                        self.span_between(judgement, (known.place, size), (place, other), stream)
                    }
                    _ => self.span(judgement, known.place, size, air(stream)),
                };
                if judgement.holds.is_some()
                    && let Some(span) = span
                {
                    let span = self.explained(span, terminal, (stream, judgement), None);
                    list.push((judgement.margin, span));
                }
            }
        }
        // Of several rules about one thing the tightest is shown.
        list.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut ends: Vec<[f64; 2]> = Vec::new();
        list.retain(|(_, span)| {
            let first = !ends.contains(&span.to);
            ends.push(span.to);
            first
        });
        let broken = list
            .iter()
            .filter(|(_, span)| span.broken.is_some())
            .count();
        list.truncate(broken.clamp(1, MOST));
        list.into_iter().map(|(_, span)| span).collect()
    }

    /// From each terminal on this wall to one of its objects, where a rule is broken or near.
    fn spans_to(&self, object: usize) -> Vec<Span> {
        let before: usize = self.job.walls[..self.wall]
            .iter()
            .map(|wall| wall.objects.len())
            .sum();
        let thing = Against::Thing(before + object);
        self.terminals()
            .filter_map(|known| {
                let size = opening(&self.job.terminals[known.terminal]);
                let intake = known.intake.iter().map(|verdict| (Stream::Intake, verdict));
                let exhaust = known
                    .exhaust
                    .iter()
                    .map(|verdict| (Stream::Exhaust, verdict));
                let tightest = intake
                    .chain(exhaust)
                    .flat_map(|(stream, verdict)| {
                        verdict.judgements.iter().map(move |one| (stream, one))
                    })
                    .filter(|(_, one)| one.against == thing && one.holds.is_some())
                    .min_by(|one, other| one.1.margin.total_cmp(&other.1.margin));
                let (stream, judgement) = tightest?;
                let span = self.span(judgement, known.place, size, air(stream))?;
                Some(self.explained(span, known.terminal, (stream, judgement), None))
            })
            .collect()
    }

    /// The distance between the two hoods of a pair on this wall.
    fn span_between(
        &self,
        judgement: &Judgement,
        (one, size): (Place, Opening),
        (other, other_size): (Place, Opening),
        stream: Stream,
    ) -> Option<Span> {
        if other.wall != self.wall || judgement.measured <= 0.0 {
            return None;
        }
        let demand = self.walls.demand(judgement);
        let ends = |axis: usize, half: f64, other_half: f64| {
            let (from, to) = (one.at[axis], other.at[axis]);
            if from + half < to - other_half {
                (from + half, to - other_half)
            } else if to + other_half < from - half {
                (from - half, to + other_half)
            } else {
                let low = (from - half).max(to - other_half);
                let high = (from + half).min(to + other_half);
                ((low + high) / 2.0, (low + high) / 2.0)
            }
        };
        let (from_s, to_s) = ends(0, size.width / 2.0, other_size.width / 2.0);
        let (from_z, to_z) = ends(1, size.height / 2.0, other_size.height / 2.0);
        Some(Span {
            from: [from_s, from_z],
            to: [to_s, to_z],
            size: self.on_tape(judgement.measured),
            air: air(stream),
            broken: (judgement.holds == Some(false)).then(|| self.both(demand.limit.value)),
            address: None,
        })
    }

    /// What is to be said of each terminal of the job on this wall.
    fn terminal_notes(&self) -> Vec<Note> {
        self.terminals()
            .map(|known| {
                let terminal = &self.job.terminals[known.terminal];
                let place = self.walls.place_words(known.place, self.system);
                let mut text = format!("{place}.");
                // Two rows may state one demand for the two sides of a pair.
                let mut told: Vec<&str> = Vec::new();
                for verdict in known.intake.iter().chain(&known.exhaust) {
                    if !verdict.fit.on_wall {
                        text.push_str(" It does not fit on the wall.");
                    }
                    for judgement in &verdict.judgements {
                        let demand = self.walls.demand(judgement);
                        let sentence = demand.clearance.row.demand;
                        if judgement.holds == Some(false) && !told.contains(&sentence) {
                            told.push(sentence);
                            text.push_str(&format!(
                                " Not allowed: {}, {} ({}; {}).",
                                self.walls.measured(judgement, self.wall, self.system),
                                self.walls.asked(judgement, self.system),
                                demand.id(),
                                demand.source
                            ));
                        }
                    }
                }
                Note {
                    air: match (terminal.intake, terminal.exhaust) {
                        (true, false) => Some(Air::Outdoor),
                        (false, true) => Some(Air::Exhaust),
                        _ => None,
                    },
                    title: terminal.name.clone(),
                    text,
                }
            })
            .collect()
    }
}
