//! Where on a wall a hood may lie.

use rules::clearances::{Measure, Stream, Unless};

use crate::field::{Clause, Field, Origin, Seen};
use crate::judge::extent;
use crate::profile::convex_hull;
use crate::shapes::{Contour, Shape, area, contains, cut, sides, signed_area, without};
use crate::site::{Against, Opening, Place, Site, Wall};
use crate::{ROUNDING, SLACK};

/// Where the centre of a hood may lie on one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// Which wall of the site.
    pub wall: usize,
    /// Where the hood has room: within the outline and on no thing.
    pub free: Vec<Shape>,
    /// Where it may lie by every rule that decides.
    pub allowed: Vec<Shape>,
    /// What each rule takes away around each thing, where it reaches this wall. Rules that only
    /// inform stand here too, but take nothing from what is allowed.
    pub forbidden: Vec<Forbidden>,
}

/// What one rule takes away around one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Forbidden {
    /// The rule: its place in [`Site::demands`].
    pub demand: usize,
    /// The stream for which it is made.
    pub stream: Stream,
    /// The thing.
    pub against: Against,
    /// Whether the rule decides; otherwise it only informs.
    pub decides: bool,
    /// Where the centre of the hood must not lie: convex pieces that may overlap.
    pub pieces: Vec<Contour>,
}

impl Region {
    /// Whether the centre of the hood may lie at [s, z].
    pub fn contains(&self, at: [f64; 2]) -> bool {
        contains(&self.allowed, at)
    }

    /// The share of the free area that is taken away by each of the [`Region::forbidden`] figures
    /// that decide, whatever the others take: its place there and its share, the largest first.
    /// It tells why nothing is left.
    pub fn taken(&self) -> Vec<(usize, f64)> {
        let free = area(&self.free);
        let mut taken: Vec<(usize, f64)> = self
            .forbidden
            .iter()
            .enumerate()
            .filter(|(_, forbidden)| forbidden.decides && free > 0.0)
            .map(|(index, forbidden)| {
                let left = area(&without(&self.free, &forbidden.pieces));
                (index, 1.0 - left / free)
            })
            .filter(|(_, share)| *share > 0.0)
            .collect();
        taken.sort_by(|one, other| other.1.total_cmp(&one.1));
        taken
    }
}

/// The region of one stream's opening on a wall, without regard to the ventilator's other opening.
/// `None` if there is no such wall.
pub fn region(site: &Site, opening: Opening, wall: usize, stream: Stream) -> Option<Region> {
    Some(of_field(&Field::new(site, opening, wall, &[stream])?, None))
}

/// The region of one stream's opening on a wall when the other opening, of its own size, lies at
/// `other`.
/// `None` if there is no such wall.
pub fn region_beside(
    site: &Site,
    opening: Opening,
    wall: usize,
    stream: Stream,
    other: (Place, Opening),
) -> Option<Region> {
    let mut field = Field::new(site, opening, wall, &[stream])?;
    field.add_other(other, stream, true)?;
    Some(of_field(&field, Some(other)))
}

/// The region of a factory-made hood that holds both openings. `None` if there is no such wall.
pub fn region_two_in_one(site: &Site, opening: Opening, wall: usize) -> Option<Region> {
    Some(of_field(&Field::two_in_one(site, opening, wall)?, None))
}

pub(crate) fn of_field(field: &Field, other: Option<(Place, Opening)>) -> Region {
    let free = free(field, other);
    let bounds = Bounds::of(&field.wall.outline);
    let figures: Vec<(&Clause, Vec<Contour>)> = field
        .clauses
        .iter()
        .map(|clause| (clause, figure(field, clause, bounds)))
        .filter(|(_, pieces)| !pieces.is_empty())
        .collect();
    let all: Vec<Contour> = figures
        .iter()
        .filter(|(clause, _)| field.demand(clause).decides && !field.covered(clause))
        .flat_map(|(_, pieces)| pieces.iter().cloned())
        .collect();
    let allowed = without(&free, &all);
    let forbidden = figures
        .into_iter()
        .map(|(clause, pieces)| Forbidden {
            demand: clause.demand,
            stream: clause.stream,
            against: clause.against,
            decides: field.demand(clause).decides,
            pieces,
        })
        .collect();
    Region {
        wall: field.index,
        free,
        allowed,
        forbidden,
    }
}

/// Where the hood has room. The outline shrinks by the hood: no side of it may enter the hood.
fn free(field: &Field, other: Option<(Place, Opening)>) -> Vec<Shape> {
    let wall = field.wall;
    let reach = [
        field.opening.width / 2.0 + SLACK,
        field.opening.height / 2.0 + SLACK,
    ];
    let around = |points: &[[f64; 2]]| {
        let corners = points.iter().flat_map(|[s, z]| {
            [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                .map(|(right, up)| [s + right * reach[0], z + up * reach[1]])
        });
        convex_hull(corners.collect())
    };
    let edges = sides(&wall.outline).map(|(p, q)| around(&[p, q]));
    let things = field
        .site
        .things()
        .iter()
        .filter(|thing| thing.wall == Some(field.index))
        .map(|thing| {
            let [left, right] = extent(wall, &thing.plan);
            around(&rectangle([left, thing.bottom], [right, thing.top]))
        });
    let other = other
        .filter(|(other, _)| other.wall == field.index)
        .map(|(other, opening)| {
            let half = [opening.width / 2.0, opening.height / 2.0];
            around(&rectangle(
                [other.at[0] - half[0], other.at[1] - half[1]],
                [other.at[0] + half[0], other.at[1] + half[1]],
            ))
        });
    if !field.opening.is_real() {
        return Vec::new();
    }
    let taken = edges.chain(things).chain(other).collect();
    without(&vec![vec![wall.outline.clone()]], &taken)
}

/// The rectangle around a wall, to which figures are cut.
#[derive(Debug, Clone, Copy)]
struct Bounds {
    low: [f64; 2],
    high: [f64; 2],
}

impl Bounds {
    fn of(outline: &[[f64; 2]]) -> Self {
        let of = |axis: usize, better: fn(f64, f64) -> f64, worst: f64| {
            outline.iter().map(|point| point[axis]).fold(worst, better)
        };
        Self {
            low: [
                of(0, f64::min, f64::INFINITY),
                of(1, f64::min, f64::INFINITY),
            ],
            high: [
                of(0, f64::max, f64::NEG_INFINITY),
                of(1, f64::max, f64::NEG_INFINITY),
            ],
        }
    }

    fn rectangle(self) -> Contour {
        rectangle(self.low, self.high)
    }

    /// The part of a figure that lies within, if there is any.
    fn cut(self, mut figure: Contour) -> Option<Contour> {
        for axis in 0..2 {
            let (low, high) = (self.low[axis], self.high[axis]);
            if figure.iter().any(|point| point[axis] < low) {
                figure = cut(&figure, |point| point[axis] - low);
            }
            if figure.iter().any(|point| point[axis] > high) {
                figure = cut(&figure, |point| high - point[axis]);
            }
        }
        (signed_area(&figure) > 1e-12).then_some(figure)
    }
}

/// A condition on the height of the opening's centre.
#[derive(Debug, Clone, Copy)]
enum Height {
    AtLeast(f64),
    AtMost(f64),
}

impl Height {
    /// Above zero where the condition is broken, with slack on the safe side.
    fn broken(self, [_, z]: [f64; 2]) -> f64 {
        match self {
            Self::AtLeast(height) => height - z + SLACK,
            Self::AtMost(height) => z - height + SLACK,
        }
    }
}

/// The centre's height for which the opening (or, swapped, the thing) lies so far above the other.
fn above(by: f64, seen: &Seen, opening: Opening, swapped: bool) -> Height {
    let half = opening.height / 2.0;
    if swapped {
        Height::AtMost(seen.bottom - by - half)
    } else {
        Height::AtLeast(seen.top + by + half)
    }
}

fn below(by: f64, seen: &Seen, opening: Opening, swapped: bool) -> Height {
    above(by, seen, opening, !swapped)
}

/// Where a clause forbids the centre of the opening, as convex pieces within the bounds.
fn figure(field: &Field, clause: &Clause, bounds: Bounds) -> Vec<Contour> {
    let demand = field.demand(clause);
    let limit = demand.limit.value;
    let clearance = demand.clearance;
    match clause.origin {
        Origin::Seen(index) => {
            let seen = &field.seen[index];
            let side = |measure: fn(f64, &Seen, Opening, bool) -> Height, by: f64| {
                measure(by, seen, field.opening, clause.swapped)
            };
            let whole = match clearance.measure {
                Measure::StraightLine => rounded(seen, field.opening, limit, bounds),
                Measure::Horizontal => strip(seen, limit, bounds),
                Measure::Above | Measure::AboveGround | Measure::HighestAboveGround => {
                    let height = side(above, limit);
                    Some(cut(&bounds.rectangle(), |point| height.broken(point)))
                }
                Measure::Below => {
                    let height = side(below, limit);
                    Some(cut(&bounds.rectangle(), |point| height.broken(point)))
                }
            };
            let mut figure = whole.and_then(|figure| bounds.cut(figure));
            for &unless in clearance.unless {
                let Some(whole) = figure else {
                    break;
                };
                let height = match (unless, clause.stream) {
                    (Unless::Below(by), _) | (Unless::ExhaustAboveIntake(by), Stream::Intake) => {
                        Some(side(below, by))
                    }
                    (Unless::Above(by), _) | (Unless::ExhaustAboveIntake(by), Stream::Exhaust) => {
                        Some(side(above, by))
                    }
                    (Unless::HorizontallyBeyond(_) | Unless::TwoInOne, _) => None,
                };
                figure = match (height, unless) {
                    (Some(height), _) => Some(cut(&whole, |point| height.broken(point))),
                    (None, Unless::HorizontallyBeyond(by)) => {
                        seen.profile.within(by + SLACK).map(|[from, to]| {
                            let whole = cut(&whole, |point| point[0] - from);
                            cut(&whole, |point| to - point[0])
                        })
                    }
                    (None, _) => Some(whole),
                };
                figure = figure.filter(|figure| signed_area(figure) > 1e-12);
            }
            figure.into_iter().collect()
        }
        Origin::Ground { snow } => {
            let highest = clearance.measure == Measure::HighestAboveGround;
            let half = field.opening.height / 2.0;
            let lift = match highest {
                true => limit + snow - half - SLACK,
                false => limit + snow + half + SLACK,
            };
            // Far enough to hold every piece between the line and it.
            let end = if highest { 3e4 } else { -3e4 };
            ground_segments(field.wall, field.opening.width, bounds)
                .map(|line| {
                    let reach = field.opening.width / 2.0 + SLACK;
                    let points = line.into_iter().flat_map(|[s, z]| {
                        [
                            [s - reach, z + lift],
                            [s + reach, z + lift],
                            [s - reach, end],
                            [s + reach, end],
                        ]
                    });
                    convex_hull(points.collect())
                })
                .filter_map(|piece| bounds.cut(piece))
                .collect()
        }
        Origin::SameHood if clearance.unless.contains(&Unless::TwoInOne) => Vec::new(),
        Origin::SameHood => vec![bounds.rectangle()],
    }
}

/// The pieces of the ground line, level beyond its ends.
fn ground_segments(wall: &Wall, width: f64, bounds: Bounds) -> impl Iterator<Item = [[f64; 2]; 2]> {
    let mut line = wall.grade.clone();
    if let (Some(&[first, left]), Some(&[last, right])) = (line.first(), line.last()) {
        line.insert(0, [first.min(bounds.low[0]) - width, left]);
        line.push([last.max(bounds.high[0]) + width, right]);
    }
    line.dedup();
    // Neighbours on one level are one piece.
    let mut merged: Vec<[f64; 2]> = Vec::with_capacity(line.len());
    for point in line {
        if let [.., one, two] = merged[..]
            && one[1] == two[1]
            && two[1] == point[1]
        {
            merged.pop();
        }
        merged.push(point);
    }
    (1..merged.len()).map(move |index| [merged[index - 1], merged[index]])
}

/// Where the opening is closer to a thing than the limit, in space.
fn rounded(seen: &Seen, opening: Opening, limit: f64, bounds: Bounds) -> Option<Contour> {
    let outer = limit + ROUNDING;
    let (low, high) = (
        seen.bottom - opening.height / 2.0,
        seen.top + opening.height / 2.0,
    );
    let [from, to] = seen.profile.within(outer)?;
    if to < bounds.low[0]
        || bounds.high[0] < from
        || high + outer < bounds.low[1]
        || bounds.high[1] < low - outer
    {
        return None;
    }
    // The chords of the outer curve just do not enter the inner one.
    let step = 2.0 * ((limit + SLACK) / outer).acos();
    let arc = seen.profile.arc(outer, step);
    let lower = arc.iter().map(|[s, r]| [*s, low - r]);
    let upper = arc.iter().rev().map(|[s, r]| [*s, high + r]);
    Some(lower.chain(upper).collect())
}

/// Where the opening is closer to a thing than the limit, in plan.
fn strip(seen: &Seen, limit: f64, bounds: Bounds) -> Option<Contour> {
    let [from, to] = seen.profile.within(limit + SLACK)?;
    let (left, right) = (from.max(bounds.low[0]), to.min(bounds.high[0]));
    (left < right).then(|| rectangle([left, bounds.low[1]], [right, bounds.high[1]]))
}

fn rectangle([left, bottom]: [f64; 2], [right, top]: [f64; 2]) -> Contour {
    vec![[left, bottom], [right, bottom], [right, top], [left, top]]
}
