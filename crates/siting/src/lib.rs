//! Where intake and exhaust may pierce the walls, from all clearances at once.
//!
//! A [`Site`] holds the walls of a house, the things on and around them, and the clearances
//! ([`demands`]) of a job's rule book. Of it one can ask
//!
//! - [`judge`], [`judge_pair`], [`judge_two_in_one`]: for a given place every measured distance,
//!   its limit and whether the rule is kept; [`apart`] tells of what the distance is made;
//! - [`region`], [`region_beside`], [`region_two_in_one`]: the whole part of a wall where the
//!   centre of a hood may lie, and around each thing what each rule takes away;
//! - [`best`], [`best_on`], [`best_beside`], [`best_pair`], [`best_two_in_one`]: the place with the largest margin.
//!
//! # Frame
//!
//! Metres. In plan x points east and y north. On a wall, s runs from its start to its end, left to
//! right as seen from outdoors (so the walls of a house run counterclockwise in plan), and z is the
//! height above a datum that all walls share. The outdoor side of a wall with the direction
//! (u, v) is (v, −u).
//!
//! # How distances are measured
//!
//! An opening is a rectangle on its wall. A thing is a convex area in plan (a point, a segment, a
//! polygon) between two heights. Both are products of a plan figure and a range of heights, so the
//! shortest straight line between them is √(d² + g²), with d the distance of the figures in plan
//! and g the vertical gap. It runs through the house where a corner lies between: never longer than
//! the way around, hence the safe reading.
//!
//! # How the region is found
//!
//! While the opening slides along its wall, d(s) is the distance of a point that moves on a line
//! from a fixed convex polygon (the thing's plan, widened by the opening): a convex function of a
//! few pieces (zero, from a vertex, from an edge), each in closed form. The places closer than L to
//! the thing are then a convex figure bounded by straight lines, circles and ellipses. It is replaced
//! by a polygon around it that is nowhere further out than half a millimetre ([`ROUNDING`]), so an
//! allowed place is allowed by the exact distance too. An exception cuts a half-plane off it; a rule
//! on heights is a band; the ground is a union of trapezia under the grade line. The region is where
//! the hood fits on the wall, less the union of all these, in one difference per wall.
//!
//! # How the best place is found
//!
//! The margin of a place is the smallest of (distance − limit) over all rules that decide, with
//! exceptions as alternatives. It changes by at most the distance that one moves, so a square of
//! the wall cannot hold a margin above that of its centre plus half its diagonal. The search always
//! splits the most promising square and ends when none can beat the best place found by more than
//! [`RESOLUTION`]: the global best, not a local one. More than [`AMPLE`] of margin counts no more;
//! among places that are equally good, the rules that only inform (their number is in doubt) and
//! the room around the hood decide.
//!
//! # Limits
//!
//! Walls are flat and vertical. What stands in the way of a straight line does not lengthen it.
//! Whatever a rule says about wind, roofs above or the sense of the installer is not geometry.

mod best;
mod field;
mod judge;
mod profile;
mod region;
mod shapes;
mod site;

pub use best::{Best, BestPair, best, best_beside, best_on, best_pair, best_two_in_one};
pub use judge::{
    Apart, Fit, Judgement, PairVerdict, Verdict, apart, judge, judge_pair, judge_two_in_one,
};
pub use region::{Forbidden, Region, region, region_beside, region_two_in_one};
pub use shapes::{Contour, Shape, area, contains, union};
pub use site::{Against, Demand, Opening, Place, Problem, Site, SiteError, Thing, Wall, demands};

/// How far a rounded forbidden figure may lie outside the exact one (m).
pub const ROUNDING: f64 = 0.5e-3;

/// To what the margin of the best place is found (m).
pub const RESOLUTION: f64 = 1e-3;

/// To what the margin of the best pair is found (m).
pub const PAIR_RESOLUTION: f64 = 5e-3;

/// The margin beyond which more is of no use (m): 2 ft, our own choice.
pub const AMPLE: f64 = 2.0 * 0.3048;

/// Rounding of floating-point numbers (m): a limit that is missed by less is kept.
pub(crate) const EXACT: f64 = 1e-9;

/// By how much the straight bounds of forbidden figures lie on the safe side (m), more than the
/// grid of the polygon library.
pub(crate) const SLACK: f64 = 1e-5;
