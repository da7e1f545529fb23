//! All clauses that concern one opening on one wall, ready to be evaluated anywhere on it.

use rules::clearances::{Measure, Object, Stream, Unless};

use crate::EXACT;
use crate::profile::Profile;
use crate::site::{Against, Demand, Opening, Place, Site, Wall, length};

/// A thing as an opening on one wall sees it.
#[derive(Debug, Clone)]
pub(crate) struct Seen {
    pub profile: Profile,
    pub bottom: f64,
    pub top: f64,
}

/// Origin what a clause measures.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Origin {
    /// A thing: its place among those seen.
    Seen(usize),
    /// The ground with so much snow on it.
    Ground { snow: f64 },
    /// The other opening in the same hood.
    SameHood,
}

/// One demand against one thing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Clause {
    /// Its place in [`Site::demands`].
    pub demand: usize,
    /// The stream for which the demand is made.
    pub stream: Stream,
    pub against: Against,
    pub origin: Origin,
    /// The demand is made for the other opening, of which this one is the thing.
    pub swapped: bool,
}

/// A clause at one place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reading {
    pub measured: f64,
    /// Of the number alone.
    pub number: f64,
    /// Of the number and its exceptions.
    pub margin: f64,
    pub lifted: Option<Unless>,
}

/// All clauses for one opening on one wall.
#[derive(Debug, Clone)]
pub(crate) struct Field<'a> {
    pub site: &'a Site,
    pub index: usize,
    pub wall: &'a Wall,
    pub opening: Opening,
    pub seen: Vec<Seen>,
    pub clauses: Vec<Clause>,
}

impl<'a> Field<'a> {
    /// The clauses of these streams against everything but the ventilator's other opening; `None`
    /// if there is no such wall.
    pub fn new(site: &'a Site, opening: Opening, index: usize, streams: &[Stream]) -> Option<Self> {
        let wall = site.walls().get(index)?;
        let mut field = Self {
            site,
            index,
            wall,
            opening,
            seen: Vec::with_capacity(site.things().len()),
            clauses: Vec::new(),
        };
        for thing in site.things() {
            field.see(&thing.plan, thing.bottom, thing.top);
        }
        for &stream in streams {
            for (number, demand) in demands_of(site, stream) {
                for &object in demand.clearance.objects {
                    field.add(number, demand, stream, object);
                }
            }
        }
        Some(field)
    }

    /// The clauses of both streams for a factory-made hood that holds both openings.
    pub fn two_in_one(site: &'a Site, opening: Opening, index: usize) -> Option<Self> {
        let streams = [Stream::Intake, Stream::Exhaust];
        let mut field = Self::new(site, opening, index, &streams)?;
        for stream in streams {
            field.add_same_hood(stream);
        }
        Some(field)
    }

    fn see(&mut self, plan: &[[f64; 2]], bottom: f64, top: f64) -> usize {
        self.seen.push(Seen {
            profile: Profile::new(self.wall, self.opening.width, plan),
            bottom,
            top,
        });
        self.seen.len() - 1
    }

    fn add(&mut self, number: usize, demand: &Demand, stream: Stream, object: Object) {
        let mut push = |against, origin| {
            self.clauses.push(Clause {
                demand: number,
                stream,
                against,
                origin,
                swapped: false,
            });
        };
        let snow = self.wall.snow;
        match (object, demand.clearance.measure) {
            (Object::OwnOpening, _) => {}
            (Object::Snow, _) => push(Against::Snow, Origin::Ground { snow }),
            (Object::Grade, _) | (_, Measure::AboveGround | Measure::HighestAboveGround) => {
                push(Against::Grade, Origin::Ground { snow: 0.0 });
            }
            _ => {
                for (index, thing) in self.site.things().iter().enumerate() {
                    if thing.object == object {
                        push(Against::Thing(index), Origin::Seen(index));
                    }
                }
            }
        }
    }

    /// Adds the clauses against the ventilator's other opening, of its own size: those that the rules
    /// make for `stream`, and if `both` those that they make for the other stream.
    pub fn add_other(
        &mut self,
        (other, opening): (Place, Opening),
        stream: Stream,
        both: bool,
    ) -> Option<()> {
        let wall = self.site.walls().get(other.wall)?;
        let [s, z] = other.at;
        let Opening { width, height } = opening;
        let plan = [
            wall.plan(s - width / 2.0, 0.0),
            wall.plan(s + width / 2.0, 0.0),
        ];
        let origin = Origin::Seen(self.see(&plan, z - height / 2.0, z + height / 2.0));
        self.add_own(origin, stream, false);
        if both {
            self.add_own(origin, opposite(stream), true);
        }
        Some(())
    }

    /// Adds the clauses against the other opening in the same hood.
    pub fn add_same_hood(&mut self, stream: Stream) {
        self.add_own(Origin::SameHood, stream, false);
    }

    fn add_own(&mut self, origin: Origin, stream: Stream, swapped: bool) {
        for (demand, row) in demands_of(self.site, stream) {
            if row.keeps_own_openings_apart() {
                self.clauses.push(Clause {
                    demand,
                    stream,
                    against: Against::OwnOpening,
                    origin,
                    swapped,
                });
            }
        }
    }

    /// Leaves out the clauses that others cover, for a search that only asks for the smallest margin.
    pub fn leave_out_covered(&mut self) {
        let kept = |clause: &Clause| !self.covered(clause);
        self.clauses = self.clauses.iter().copied().filter(kept).collect();
    }

    /// Whether another clause against the same thing is never easier to keep.
    pub fn covered(&self, clause: &Clause) -> bool {
        let mine = self.demand(clause);
        let key = |clause: &Clause| (self.demand(clause).limit.value, clause.demand);
        self.clauses.iter().any(|other| {
            let theirs = self.demand(other);
            theirs.decides == mine.decides
                && other.against == clause.against
                && other.swapped == clause.swapped
                && other.stream == clause.stream
                && theirs.clearance.measure == mine.clearance.measure
                && mine.clearance.measure == Measure::StraightLine
                && (theirs.clearance.unless.is_empty()
                    || theirs.clearance.unless == mine.clearance.unless)
                && key(other) > key(clause)
        })
    }

    pub fn demand(&self, clause: &Clause) -> &'a Demand {
        &self.site.demands()[clause.demand]
    }

    /// A clause with the opening centred at [s, z].
    pub fn read(&self, clause: &Clause, [s, z]: [f64; 2]) -> Reading {
        let demand = self.demand(clause);
        let Opening { width, height } = self.opening;
        let (low, high) = (z - height / 2.0, z + height / 2.0);
        match clause.origin {
            Origin::Seen(index) => {
                let seen = &self.seen[index];
                let heights = Heights {
                    low,
                    high,
                    bottom: seen.bottom,
                    top: seen.top,
                };
                let gap = Gap {
                    plan: seen.profile.distance(s),
                    signed: seen.profile.signed(s),
                    heights: match clause.swapped {
                        false => heights,
                        true => heights.swapped(),
                    },
                };
                gap.read(demand, clause.stream)
            }
            Origin::Ground { snow } => {
                let (from, to) = (s - width / 2.0, s + width / 2.0);
                let measured = match demand.clearance.measure {
                    Measure::HighestAboveGround => high - self.wall.lowest_ground(from, to) - snow,
                    _ => low - self.wall.highest_ground(from, to) - snow,
                };
                Reading::plain(measured, demand.limit.margin(measured))
            }
            Origin::SameHood => {
                let number = demand.limit.margin(0.0);
                let lifted = demand.clearance.unless.contains(&Unless::TwoInOne);
                Reading {
                    measured: 0.0,
                    number,
                    margin: if lifted { f64::INFINITY } else { number },
                    lifted: lifted.then_some(Unless::TwoInOne),
                }
            }
        }
    }

    /// The margin of a clause with the opening centred at `at`, and the most that it can be while
    /// the centre stays within `half` of that along the wall and upward.
    pub fn bound(&self, clause: &Clause, at: [f64; 2], half: [f64; 2]) -> (f64, f64) {
        let margin = self.read(clause, at).margin;
        let Origin::Ground { snow } = clause.origin else {
            return (margin, margin + length(half[0], half[1]));
        };
        // A step in the ground makes the margin jump: take the ground under every such opening.
        let demand = self.demand(clause);
        let Opening { width, height } = self.opening;
        let shared = width / 2.0 - half[0];
        let (from, to) = (at[0] - shared, at[0] + shared);
        let (first, last) = (at[0] - width / 2.0 - half[0], at[0] + width / 2.0 + half[0]);
        let most = match demand.clearance.measure {
            Measure::HighestAboveGround => {
                let ground = if shared >= 0.0 {
                    self.wall.lowest_ground(from, to)
                } else {
                    self.wall.highest_ground(first, last)
                };
                let high = at[1] - half[1] + height / 2.0;
                demand.limit.margin(high - ground - snow)
            }
            _ => {
                let ground = if shared >= 0.0 {
                    self.wall.highest_ground(from, to)
                } else {
                    self.wall.lowest_ground(first, last)
                };
                let low = at[1] + half[1] - height / 2.0;
                demand.limit.margin(low - ground - snow)
            }
        };
        (margin, most)
    }
}

impl Reading {
    fn plain(measured: f64, margin: f64) -> Self {
        Self {
            measured,
            number: margin,
            margin,
            lifted: None,
        }
    }
}

/// Heights of an opening and of a thing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Heights {
    pub low: f64,
    pub high: f64,
    pub bottom: f64,
    pub top: f64,
}

impl Heights {
    /// With opening and thing exchanged.
    fn swapped(self) -> Self {
        Self {
            low: self.bottom,
            high: self.top,
            bottom: self.low,
            top: self.high,
        }
    }
}

/// How an opening and a thing lie to each other.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Gap {
    /// Distance in plan.
    pub plan: f64,
    /// The same, below zero where one reaches over the other.
    pub signed: f64,
    pub heights: Heights,
}

impl Gap {
    /// What a demand of this stream says.
    pub fn read(self, demand: &Demand, stream: Stream) -> Reading {
        let Heights {
            low,
            high,
            bottom,
            top,
        } = self.heights;
        let measured = match demand.clearance.measure {
            Measure::StraightLine => length(self.plan, (bottom - high).max(low - top).max(0.0)),
            Measure::Horizontal => self.plan,
            Measure::Above | Measure::AboveGround => low - top,
            Measure::Below => bottom - high,
            Measure::HighestAboveGround => high - top,
        };
        let mut reading = Reading::plain(measured, demand.limit.margin(measured));
        for &unless in demand.clearance.unless {
            let margin = match (unless, stream) {
                (Unless::Below(by), _) | (Unless::ExhaustAboveIntake(by), Stream::Intake) => {
                    bottom - high - by
                }
                (Unless::Above(by), _) | (Unless::ExhaustAboveIntake(by), Stream::Exhaust) => {
                    low - top - by
                }
                (Unless::HorizontallyBeyond(by), _) => self.signed - by,
                (Unless::TwoInOne, _) => continue,
            };
            reading.margin = reading.margin.max(margin);
            if margin >= -EXACT && reading.number < -EXACT && reading.lifted.is_none() {
                reading.lifted = Some(unless);
            }
        }
        reading
    }
}

/// The demands on a stream, with their places.
fn demands_of(site: &Site, stream: Stream) -> impl Iterator<Item = (usize, &Demand)> {
    site.demands()
        .iter()
        .enumerate()
        .filter(move |(_, demand)| demand.concerns(stream))
}

pub(crate) fn opposite(stream: Stream) -> Stream {
    match stream {
        Stream::Intake => Stream::Exhaust,
        Stream::Exhaust => Stream::Intake,
    }
}
