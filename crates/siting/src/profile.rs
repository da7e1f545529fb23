//! How far a thing is in plan while the opening slides along its wall.

use crate::EXACT;
use crate::site::{Wall, length};

/// What is nearest on one stretch of the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Nearest {
    /// The opening reaches over the thing: the distance is 0.
    Over,
    /// A vertex at `s`, `out` in front of the wall's plane: √((s − vertex)² + out²).
    Vertex { s: f64, out: f64 },
    /// An edge: a + b·s.
    Edge { a: f64, b: f64 },
}

impl Nearest {
    fn distance(self, at: f64) -> f64 {
        match self {
            Self::Over => 0.0,
            Self::Vertex { s, out } => length(at - s, out),
            Self::Edge { a, b } => a + b * at,
        }
    }
}

/// One stretch of the wall on which one feature is nearest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Piece {
    pub from: f64,
    pub to: f64,
    pub nearest: Nearest,
}

/// Distance in plan from an opening, centred at s on its wall, to a thing: a convex function.
///
/// The distance of the sliding segment from the thing is that of its centre from the thing
/// widened by the segment (their Minkowski sum, a convex polygon).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Profile {
    /// From left to right, without gaps, from −∞ to ∞.
    pieces: Vec<Piece>,
    /// Where the opening reaches over the thing.
    over: Option<[f64; 2]>,
}

/// No wall reaches so far (m).
const FARTHEST: f64 = 1e5;

/// Things no further from the plane of a wall lie in it (m).
const TOUCHING: f64 = 1e-6;

impl Profile {
    /// Of an opening of this width and a thing with this plan, which must have a point.
    pub fn new(wall: &Wall, width: f64, plan: &[[f64; 2]]) -> Self {
        let widened: Vec<[f64; 2]> = plan
            .iter()
            .flat_map(|&point| {
                let [s, out] = wall.local(point);
                let out = if out.abs() < TOUCHING { 0.0 } else { out };
                [[s - width / 2.0, out], [s + width / 2.0, out]]
            })
            .collect();
        Self::of_polygon(&convex_hull(widened))
    }

    fn of_polygon(hull: &[[f64; 2]]) -> Self {
        let edges = || {
            let count = if hull.len() < 2 { 0 } else { hull.len() };
            (0..count).map(|index| (hull[index], hull[(index + 1) % hull.len()]))
        };
        let on_the_line = hull
            .iter()
            .filter(|point| point[1] == 0.0)
            .map(|point| point[0]);
        let crossings = edges()
            .filter(|(p, q)| p[1] * q[1] < 0.0)
            .map(|(p, q)| p[0] + (q[0] - p[0]) * p[1] / (p[1] - q[1]));
        let over =
            on_the_line
                .chain(crossings)
                .fold(None, |range: Option<[f64; 2]>, s| match range {
                    None => Some([s, s]),
                    Some([from, to]) => Some([s.min(from), s.max(to)]),
                });
        // The nearest feature changes where the wall leaves the strip in front of an edge.
        let mut breaks: Vec<f64> = edges()
            .filter(|(p, q)| p[0] != q[0])
            .flat_map(|(p, q)| {
                let slope = (q[1] - p[1]) / (q[0] - p[0]);
                [p[0] + p[1] * slope, q[0] + q[1] * slope]
            })
            .chain(over.into_iter().flatten())
            // An edge that all but points at the wall has its strip nowhere on it.
            .filter(|s| s.abs() < FARTHEST)
            .collect();
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|one, other| (*one - *other).abs() < EXACT);
        let bounds: Vec<f64> = std::iter::once(f64::NEG_INFINITY)
            .chain(breaks)
            .chain([f64::INFINITY])
            .collect();
        let pieces = bounds
            .windows(2)
            .map(|bound| {
                let (from, to) = (bound[0], bound[1]);
                let inside = match (from.is_finite(), to.is_finite()) {
                    (true, true) => (from + to) / 2.0,
                    (true, false) => from + 1.0,
                    (false, true) => to - 1.0,
                    (false, false) => 0.0,
                };
                Piece {
                    from,
                    to,
                    nearest: nearest(hull, over, inside),
                }
            })
            .collect();
        Self { pieces, over }
    }

    /// The distance in plan (m).
    pub fn distance(&self, s: f64) -> f64 {
        let piece = self.pieces.iter().find(|piece| s <= piece.to);
        piece.map_or(f64::NAN, |piece| piece.nearest.distance(s))
    }

    /// The distance in plan; where the opening reaches over the thing, less than zero by the way
    /// that it would have to move to leave it.
    pub fn signed(&self, s: f64) -> f64 {
        match self.over {
            Some([from, to]) if from < s && s < to => -(s - from).min(to - s),
            _ => self.distance(s),
        }
    }

    /// Where the thing is no further than this in plan.
    pub fn within(&self, limit: f64) -> Option<[f64; 2]> {
        self.pieces
            .iter()
            .filter_map(|piece| piece.within(limit))
            .fold(None, |range: Option<[f64; 2]>, [from, to]| match range {
                None => Some([from, to]),
                Some([first, last]) => Some([from.min(first), to.max(last)]),
            })
    }

    /// Points [s, r] from left to right on the upper half of the curve √(distance² + r²) = limit,
    /// such that no chord between them comes nearer than `limit`·cos(`step`/2).
    pub fn arc(&self, limit: f64, step: f64) -> Vec<[f64; 2]> {
        let mut points: Vec<[f64; 2]> = Vec::new();
        let mut push = |point: [f64; 2]| {
            if points.last() != Some(&point) {
                points.push(point);
            }
        };
        for piece in &self.pieces {
            let Some([from, to]) = piece.within(limit) else {
                continue;
            };
            // On every piece the curve is an affine picture of a circle: s = middle + stretch·cos φ,
            // r = radius·sin φ.
            let (middle, stretch, radius) = match piece.nearest {
                Nearest::Over => {
                    push([from, limit]);
                    push([to, limit]);
                    continue;
                }
                Nearest::Vertex { s, out } => {
                    let radius = (limit * limit - out * out).max(0.0).sqrt();
                    (s, radius, radius)
                }
                Nearest::Edge { a, b } => (-a / b, limit / b, limit),
            };
            let angle = |s: f64| {
                let cosine = match piece.nearest {
                    Nearest::Edge { a, b } => (a + b * s) / limit,
                    _ if radius > 0.0 => (s - middle) / stretch,
                    _ => 1.0,
                };
                cosine.clamp(-1.0, 1.0).acos()
            };
            let (start, end) = (angle(from), angle(to));
            let count = ((start - end).abs() / step).ceil().max(1.0);
            push([from, radius * start.sin()]);
            // An edge parallel to the wall has no point between: its b is 0, and so is its turn.
            for index in 1..count as usize {
                let angle = start + (end - start) * index as f64 / count;
                push([middle + stretch * angle.cos(), radius * angle.sin()]);
            }
            push([to, radius * end.sin()]);
        }
        points
    }
}

impl Piece {
    /// Where on this piece the distance is no more than `limit`.
    fn within(&self, limit: f64) -> Option<[f64; 2]> {
        let [from, to] = match self.nearest {
            Nearest::Over => [self.from, self.to],
            Nearest::Vertex { s, out } => {
                let squared = limit * limit - out * out;
                if squared < 0.0 {
                    return None;
                }
                let reach = squared.sqrt();
                [s - reach, s + reach]
            }
            Nearest::Edge { a, b } => {
                let end = (limit - a) / b;
                if b > 0.0 {
                    [self.from, end]
                } else if b < 0.0 {
                    [end, self.to]
                } else if a <= limit {
                    [self.from, self.to]
                } else {
                    return None;
                }
            }
        };
        let (from, to) = (from.max(self.from), to.min(self.to));
        (from <= to).then_some([from, to])
    }
}

/// The feature of a convex polygon that is nearest to a point of the line out = 0.
fn nearest(hull: &[[f64; 2]], over: Option<[f64; 2]>, at: f64) -> Nearest {
    if over.is_some_and(|[from, to]| from <= at && at <= to) {
        return Nearest::Over;
    }
    let vertices = hull.iter().map(|&[s, out]| Nearest::Vertex { s, out });
    let edges = (0..hull.len()).filter_map(|index| {
        let (p, q) = (hull[index], hull[(index + 1) % hull.len()]);
        let edge = [q[0] - p[0], q[1] - p[1]];
        let length = length(edge[0], edge[1]);
        let foot = ((at - p[0]) * edge[0] - p[1] * edge[1]) / (length * length);
        if !(0.0 < foot && foot < 1.0) {
            return None;
        }
        // The signed distance of (s, 0) from the line through the edge.
        let (a, b) = (
            (p[0] * edge[1] - p[1] * edge[0]) / length,
            -edge[1] / length,
        );
        let sign = if a + b * at < 0.0 { -1.0 } else { 1.0 };
        Some(Nearest::Edge {
            a: sign * a,
            b: sign * b,
        })
    });
    // Edges first: of equal distances the edge is meant.
    edges
        .chain(vertices)
        .min_by(|one, other| one.distance(at).total_cmp(&other.distance(at)))
        .unwrap_or(Nearest::Over)
}

/// The corners of the convex hull, counterclockwise.
pub(crate) fn convex_hull(mut points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let chain = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for point in points {
            while let [.., a, b] = chain[..]
                && (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0]) <= 0.0
            {
                chain.pop();
            }
            chain.push(point);
        }
        chain.pop();
        chain
    };
    let lower = chain(&mut points.iter().copied());
    let upper = chain(&mut points.iter().rev().copied());
    [lower, upper].concat()
}
