//! The place with the largest margin.

use rules::clearances::Stream;

use crate::judge::Judgement;
use crate::site::{Opening, Place, Site};

/// The best place of one hood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Best {
    /// The centre of the hood.
    pub place: Place,
    /// The smallest margin of a deciding rule there (m); infinite if no rule decides.
    pub margin: f64,
    /// The rule with this margin.
    pub tightest: Option<Judgement>,
}

/// The best places of intake and exhaust together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BestPair {
    /// The centre of the intake.
    pub intake: Place,
    /// The centre of the exhaust.
    pub exhaust: Place,
    /// The smallest margin of a deciding rule (m).
    pub margin: f64,
    /// The rule with this margin, and the stream for which it is made.
    pub tightest: Option<(Stream, Judgement)>,
}

/// The place of one stream's opening with the largest margin on any wall, without regard to the
/// ventilator's other opening; `None` if no place is allowed.
pub fn best(site: &Site, opening: Opening, stream: Stream) -> Option<Best> {
    let _ = (site, opening, stream);
    None
}

/// The same on one wall.
pub fn best_on(site: &Site, opening: Opening, wall: usize, stream: Stream) -> Option<Best> {
    let _ = (site, opening, wall, stream);
    None
}

/// The places of intake and exhaust, on one wall or two, of which the smallest margin is largest;
/// `None` if no pair is allowed.
pub fn best_pair(site: &Site, opening: Opening) -> Option<BestPair> {
    let _ = (site, opening);
    None
}

/// The place of a factory-made hood for both streams with the largest margin on any wall; `None` if
/// no place is allowed.
pub fn best_two_in_one(site: &Site, opening: Opening) -> Option<Best> {
    let _ = (site, opening);
    None
}
