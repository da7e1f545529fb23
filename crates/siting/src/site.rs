//! Walls, things and demands.

use std::fmt;

use rules::clearances::{self, Clearance, Object, Stream};
use rules::{Limit, RuleBook};

/// A flat vertical wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// What the contractor calls it.
    pub name: String,
    /// Its left end in plan, as seen from outdoors (m).
    pub start: [f64; 2],
    /// Its right end in plan (m).
    pub end: [f64; 2],
    /// Its outline as [s, z] (m), in either direction, not closed: where a hood may sit at all.
    pub outline: Vec<[f64; 2]>,
    /// The ground along it as [s, z] (m), from left to right; level beyond its ends. Two points
    /// with one s are a step.
    pub grade: Vec<[f64; 2]>,
    /// The snow that is expected to lie along it (m).
    pub snow: f64,
}

impl Wall {
    /// A rectangular wall above level ground at z = 0, without snow.
    pub fn rectangle(name: &str, start: [f64; 2], end: [f64; 2], bottom: f64, top: f64) -> Self {
        let length = distance(start, end);
        Self {
            name: name.to_owned(),
            start,
            end,
            outline: vec![[0.0, bottom], [length, bottom], [length, top], [0.0, top]],
            grade: vec![[0.0, 0.0], [length, 0.0]],
            snow: 0.0,
        }
    }

    /// Its length in plan (m).
    pub fn length(&self) -> f64 {
        distance(self.start, self.end)
    }

    /// The unit vector from its start to its end.
    pub fn along(&self) -> [f64; 2] {
        let length = self.length();
        [
            (self.end[0] - self.start[0]) / length,
            (self.end[1] - self.start[1]) / length,
        ]
    }

    /// The unit vector that points outdoors.
    ///
    /// ```
    /// // The south wall runs from west to east.
    /// let south = siting::Wall::rectangle("south", [0.0, 0.0], [8.0, 0.0], 0.0, 5.0);
    /// assert_eq!(south.outward(), [0.0, -1.0]);
    /// ```
    pub fn outward(&self) -> [f64; 2] {
        let [u, v] = self.along();
        [v, -u]
    }

    /// The point in plan at s along it and `out` in front of it (m).
    pub fn plan(&self, s: f64, out: f64) -> [f64; 2] {
        let (along, outward) = (self.along(), self.outward());
        [
            self.start[0] + s * along[0] + out * outward[0],
            self.start[1] + s * along[1] + out * outward[1],
        ]
    }

    /// How far along the wall and how far in front of it a point in plan lies (m).
    pub fn local(&self, point: [f64; 2]) -> [f64; 2] {
        let offset = [point[0] - self.start[0], point[1] - self.start[1]];
        let (along, outward) = (self.along(), self.outward());
        [dot(offset, along), dot(offset, outward)]
    }

    /// The highest ground between two places along the wall (m).
    pub fn highest_ground(&self, from: f64, to: f64) -> f64 {
        self.ground(from, to).fold(f64::NEG_INFINITY, f64::max)
    }

    /// The lowest ground between two places along the wall (m).
    pub fn lowest_ground(&self, from: f64, to: f64) -> f64 {
        self.ground(from, to).fold(f64::INFINITY, f64::min)
    }

    /// The heights among which the extremes of the ground between two places are.
    fn ground(&self, from: f64, to: f64) -> impl Iterator<Item = f64> + '_ {
        let slopes = self.grade.windows(2).flat_map(move |pair| {
            let ([s0, z0], [s1, z1]) = (pair[0], pair[1]);
            let at =
                move |s: f64| (s0 < s && s < s1).then(|| z0 + (z1 - z0) * (s - s0) / (s1 - s0));
            [at(from), at(to)]
        });
        let points = self
            .grade
            .iter()
            .filter(move |point| from <= point[0] && point[0] <= to)
            .map(|point| point[1]);
        let left = self.grade.first().filter(move |point| from < point[0]);
        let right = self.grade.last().filter(move |point| point[0] < to);
        slopes
            .flatten()
            .chain(points)
            .chain(left.into_iter().chain(right).map(|point| point[1]))
    }
}

/// Something on a wall or beside the house that asks for a clearance.
#[derive(Debug, Clone, PartialEq)]
pub struct Thing {
    /// What the contractor calls it.
    pub name: String,
    /// What it is.
    pub object: Object,
    /// Its area in plan (m): one point, the two ends of a segment, or the corners of a convex area.
    pub plan: Vec<[f64; 2]>,
    /// Its lower edge (m).
    pub bottom: f64,
    /// Its upper edge (m).
    pub top: f64,
    /// The wall on whose surface it takes room, so that no hood can sit on it; none for what merely
    /// stands in front of a wall or beside the house.
    pub wall: Option<usize>,
}

impl Thing {
    /// A thing on a wall, as a rectangle: `left` is the s of its left edge, `bottom` its lower edge.
    pub fn on_wall(
        name: &str,
        object: Object,
        (index, wall): (usize, &Wall),
        [left, bottom]: [f64; 2],
        [width, height]: [f64; 2],
    ) -> Self {
        Self {
            name: name.to_owned(),
            object,
            plan: vec![wall.plan(left, 0.0), wall.plan(left + width, 0.0)],
            bottom,
            top: bottom + height,
            wall: Some(index),
        }
    }

    /// A thing in front of a wall, a box: `out` is the distance of its back from the wall, `depth`
    /// how far it reaches from there.
    pub fn in_front_of(
        name: &str,
        object: Object,
        wall: &Wall,
        [left, bottom, out]: [f64; 3],
        [width, height, depth]: [f64; 3],
    ) -> Self {
        Self {
            name: name.to_owned(),
            object,
            plan: vec![
                wall.plan(left, out),
                wall.plan(left + width, out),
                wall.plan(left + width, out + depth),
                wall.plan(left, out + depth),
            ],
            bottom,
            top: bottom + height,
            wall: None,
        }
    }
}

/// A clearance of a job's rule book.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// The clearance with its row.
    pub clearance: &'static Clearance,
    /// The number that holds, an override's if there is one.
    pub limit: Limit,
    /// The source of the number; for an override why and by whom.
    pub source: String,
    /// Whether the number was overridden.
    pub overridden: bool,
    /// Whether it may forbid a place. A row in doubt is judged and shown only.
    pub decides: bool,
}

impl Demand {
    /// The fixed name of its row.
    pub fn id(&self) -> &'static str {
        self.clearance.row.id
    }

    /// Whether it keeps the two openings of one ventilator apart.
    pub fn keeps_own_openings_apart(&self) -> bool {
        self.clearance.objects.contains(&Object::OwnOpening)
    }

    /// Whether it holds for this stream.
    pub fn concerns(&self, stream: Stream) -> bool {
        self.clearance.streams.contains(&stream)
    }
}

/// The clearances of a job's rules.
///
/// ```
/// use rules::{Override, RuleBook};
///
/// let more = Override {
///     id: "intake above grade".into(),
///     value: 0.9,
///     reason: "snow drifts here".into(),
///     who: "the installer".into(),
/// };
/// let demands = siting::demands(&RuleBook::new(&[], vec![more]).unwrap());
/// let grade = demands.iter().find(|demand| demand.id() == "intake above grade").unwrap();
/// assert_eq!(grade.limit.value, 0.9);
/// assert_eq!(grade.source, "overridden by the installer: snow drifts here");
/// assert!(grade.decides);
/// ```
pub fn demands(book: &RuleBook) -> Vec<Demand> {
    clearances::all()
        .filter(|clearance| book.contains(&clearance.row))
        .filter_map(|clearance| {
            let ruling = book.limit(clearance.row.id)?;
            let overridden = ruling.overridden.is_some();
            Some(Demand {
                clearance,
                limit: ruling.limit,
                source: ruling.source(),
                overridden,
                decides: overridden || clearance.row.decides(),
            })
        })
        .collect()
}

/// The rectangle of a hood. Nothing is allowed for one that is not larger than zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// Along the wall (m).
    pub width: f64,
    /// Upward (m).
    pub height: f64,
}

impl Opening {
    /// Whether it is a rectangle at all.
    pub(crate) fn is_real(self) -> bool {
        let real = |side: f64| side > 0.0 && side.is_finite();
        real(self.width) && real(self.height)
    }
}

/// The centre of a hood on a wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Which wall of the site.
    pub wall: usize,
    /// [s, z] on it (m).
    pub at: [f64; 2],
}

/// From what a distance is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    /// A thing of the site, corners included: its place in [`Site::things`].
    Thing(usize),
    /// The ground under the opening.
    Grade,
    /// The expected snow under the opening.
    Snow,
    /// The other opening of the ventilator.
    OwnOpening,
}

/// Walls, things and demands, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    walls: Vec<Wall>,
    things: Vec<Thing>,
    demands: Vec<Demand>,
}

impl Site {
    /// A site. The corners of the house are added to the things: each end of a wall, except where
    /// another wall carries on in the same direction.
    ///
    /// # Errors
    ///
    /// The first wall or thing that cannot be, and why.
    pub fn new(
        walls: Vec<Wall>,
        things: Vec<Thing>,
        demands: Vec<Demand>,
    ) -> Result<Self, SiteError> {
        for wall in &walls {
            check_wall(wall).map_err(|problem| SiteError {
                name: wall.name.clone(),
                problem,
            })?;
        }
        for thing in &things {
            check_thing(thing, walls.len()).map_err(|problem| SiteError {
                name: thing.name.clone(),
                problem,
            })?;
        }
        let corners = corners(&walls);
        Ok(Self {
            walls,
            things: [things, corners].concat(),
            demands,
        })
    }

    /// The walls.
    pub fn walls(&self) -> &[Wall] {
        &self.walls
    }

    /// The things, in the order in which they were given, and after them the corners of the house.
    pub fn things(&self) -> &[Thing] {
        &self.things
    }

    /// The demands.
    pub fn demands(&self) -> &[Demand] {
        &self.demands
    }

    /// The name of what a distance is measured from.
    pub fn name(&self, against: Against) -> &str {
        match against {
            Against::Thing(index) => self.things.get(index).map_or("", |thing| &thing.name),
            Against::Grade => Object::Grade.name(),
            Against::Snow => Object::Snow.name(),
            Against::OwnOpening => Object::OwnOpening.name(),
        }
    }
}

/// A wall or a thing that cannot be.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteError {
    /// Name of the wall or thing.
    pub name: String,
    /// What is wrong with it.
    pub problem: Problem,
}

/// What is wrong with a wall or a thing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Problem {
    /// A coordinate that is not a number, or is further out than 10 km (m).
    OutOfRange(f64),
    /// A wall that starts where it ends.
    NoLength,
    /// An outline of less than three points.
    OutlineTooShort,
    /// An outline two sides of which cross.
    OutlineCrosses,
    /// No ground line.
    NoGrade,
    /// A ground line that runs back.
    GradeRunsBack,
    /// Less than no snow (m).
    NegativeSnow(f64),
    /// A thing without a place in plan.
    NoPlan,
    /// A thing whose top lies below its bottom.
    UpsideDown,
    /// A thing on a wall that does not exist.
    NoSuchWall(usize),
}

impl fmt::Display for SiteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}: ", self.name)?;
        match self.problem {
            Problem::OutOfRange(value) => write!(
                f,
                "{value} m cannot be a coordinate: it has to be a number within 10 km"
            ),
            Problem::NoLength => f.write_str("the wall starts where it ends"),
            Problem::OutlineTooShort => f.write_str("an outline needs three points or more"),
            Problem::OutlineCrosses => f.write_str("two sides of the outline cross each other"),
            Problem::NoGrade => f.write_str("the ground line is missing"),
            Problem::GradeRunsBack => f.write_str("the ground line has to run from left to right"),
            Problem::NegativeSnow(depth) => {
                write!(f, "{depth} m cannot be a depth of snow: it is below zero")
            }
            Problem::NoPlan => f.write_str("it has no place in plan"),
            Problem::UpsideDown => f.write_str("its top lies below its bottom"),
            Problem::NoSuchWall(index) => write!(f, "there is no wall number {index}"),
        }
    }
}

impl std::error::Error for SiteError {}

fn in_range<'a>(values: impl IntoIterator<Item = &'a f64>) -> Result<(), Problem> {
    match values
        .into_iter()
        .find(|value| !(-1e4..=1e4).contains(*value))
    {
        Some(&value) => Err(Problem::OutOfRange(value)),
        None => Ok(()),
    }
}

fn check_wall(wall: &Wall) -> Result<(), Problem> {
    in_range(wall.start.iter().chain(&wall.end).chain([&wall.snow]))?;
    in_range(wall.outline.as_flattened())?;
    in_range(wall.grade.as_flattened())?;
    if wall.length() < 1e-3 {
        return Err(Problem::NoLength);
    }
    if wall.outline.len() < 3 {
        return Err(Problem::OutlineTooShort);
    }
    if crosses_itself(&wall.outline) {
        return Err(Problem::OutlineCrosses);
    }
    if wall.grade.is_empty() {
        return Err(Problem::NoGrade);
    }
    if wall.grade.windows(2).any(|pair| pair[1][0] < pair[0][0]) {
        return Err(Problem::GradeRunsBack);
    }
    if wall.snow < 0.0 {
        return Err(Problem::NegativeSnow(wall.snow));
    }
    Ok(())
}

fn check_thing(thing: &Thing, walls: usize) -> Result<(), Problem> {
    in_range(thing.plan.as_flattened())?;
    in_range([&thing.bottom, &thing.top])?;
    if thing.plan.is_empty() {
        return Err(Problem::NoPlan);
    }
    if thing.top < thing.bottom {
        return Err(Problem::UpsideDown);
    }
    match thing.wall {
        Some(index) if index >= walls => Err(Problem::NoSuchWall(index)),
        _ => Ok(()),
    }
}

/// Whether two sides of a closed line cross properly.
fn crosses_itself(outline: &[[f64; 2]]) -> bool {
    let side = |index: usize| (outline[index], outline[(index + 1) % outline.len()]);
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    (0..outline.len()).any(|one| {
        (0..one).any(|other| {
            let ((a, b), (c, d)) = (side(one), side(other));
            turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
        })
    })
}

/// The corners of a house: the ends of its walls, each once.
fn corners(walls: &[Wall]) -> Vec<Thing> {
    /// Ends of walls that lie no further apart are one (m).
    const SAME: f64 = 0.01;
    let mut corners: Vec<Thing> = Vec::new();
    for (index, wall) in walls.iter().enumerate() {
        for (end, mine) in [(true, wall.end), (false, wall.start)] {
            let carries_on = walls.iter().enumerate().any(|(other, next)| {
                let theirs = if end { next.start } else { next.end };
                other != index
                    && distance(mine, theirs) < SAME
                    && dot(wall.along(), next.along()) > 0.9999
            });
            if carries_on {
                continue;
            }
            let heights = || wall.outline.iter().map(|point| point[1]);
            let bottom = heights().fold(f64::INFINITY, f64::min);
            let top = heights().fold(f64::NEG_INFINITY, f64::max);
            let known = corners
                .iter_mut()
                .find(|corner| distance(corner.plan[0], mine) < SAME);
            if let Some(corner) = known {
                corner.name = format!("{} and {}", corner.name, wall.name);
                corner.bottom = corner.bottom.min(bottom);
                corner.top = corner.top.max(top);
            } else {
                corners.push(Thing {
                    name: format!("corner of {}", wall.name),
                    object: Object::Corner,
                    plan: vec![mine],
                    bottom,
                    top,
                    wall: None,
                });
            }
        }
    }
    corners
}

pub(crate) fn distance(one: [f64; 2], other: [f64; 2]) -> f64 {
    length(one[0] - other[0], one[1] - other[1])
}

/// √(x² + y²): of metres, so nothing overflows as `hypot` guards against, at a multiple of the time.
pub(crate) fn length(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

pub(crate) fn dot(one: [f64; 2], other: [f64; 2]) -> f64 {
    one[0] * other[0] + one[1] * other[1]
}
