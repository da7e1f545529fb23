//! Where on a wall a hood may lie.

use rules::clearances::Stream;

use crate::shapes::{Contour, Shape};
use crate::site::{Against, Opening, Place, Site};

/// Where the centre of a hood may lie on one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// Which wall of the site.
    pub wall: usize,
    /// Where the hood has room: within the outline and on no thing.
    pub free: Vec<Shape>,
    /// Where it may lie by every rule that decides.
    pub allowed: Vec<Shape>,
    /// What each rule takes away around each thing, where it reaches this wall; the largest share
    /// first. Rules that only inform stand here too, but take nothing from what is allowed.
    pub forbidden: Vec<Forbidden>,
}

/// What one rule takes away around one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Forbidden {
    /// The rule: its place in [`Site::demands`].
    pub demand: usize,
    /// The thing.
    pub against: Against,
    /// Whether the rule decides; otherwise it only informs.
    pub decides: bool,
    /// Where the centre of the hood must not lie: convex pieces that may overlap.
    pub pieces: Vec<Contour>,
    /// The share of the free area that they take.
    pub share: f64,
}

/// The region of one stream's opening on a wall, without regard to the ventilator's other opening.
/// `None` if there is no such wall.
pub fn region(site: &Site, opening: Opening, wall: usize, stream: Stream) -> Option<Region> {
    let _ = (site, opening, wall, stream);
    None
}

/// The region of one stream's opening on a wall when the other opening lies at `other`.
/// `None` if there is no such wall.
pub fn region_beside(
    site: &Site,
    opening: Opening,
    wall: usize,
    stream: Stream,
    other: Place,
) -> Option<Region> {
    let _ = (site, opening, wall, stream, other);
    None
}

/// The region of a factory-made hood that holds both openings. `None` if there is no such wall.
pub fn region_two_in_one(site: &Site, opening: Opening, wall: usize) -> Option<Region> {
    let _ = (site, opening, wall);
    None
}
