//! Every rule at one place.

use rules::clearances::{Stream, Unless};

use crate::EXACT;
use crate::field::{Clause, Field};
use crate::profile::Profile;
use crate::site::{Against, Opening, Place, Site, Wall};

/// One rule against one thing at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judgement {
    /// The rule: its place in [`Site::demands`].
    pub demand: usize,
    /// From what the distance is measured.
    pub against: Against,
    /// The distance (m), in the way of the rule; below zero where a height is missed altogether.
    pub measured: f64,
    /// By how much the rule is kept (m), below zero by how much it is broken. Where exceptions would
    /// do instead, the best of the alternatives; infinite where one hood for both streams lifts it.
    pub margin: f64,
    /// Whether the rule is kept; `None` if it only informs.
    pub holds: Option<bool>,
    /// The exception by which it is kept although its number is not.
    pub lifted: Option<Unless>,
}

impl Judgement {
    /// Whether number or exception are kept, of a rule that only informs too.
    pub fn kept(&self) -> bool {
        self.margin >= -EXACT
    }
}

/// How a hood sits on its wall.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fit {
    /// Whether it lies within the outline.
    pub on_wall: bool,
    /// On which things of the site it would sit: places in [`Site::things`].
    pub overlaps: Vec<usize>,
    /// Whether the two hoods of a pair would sit on each other.
    pub overlaps_other: bool,
}

impl Fit {
    /// Whether there is room for the hood.
    pub fn holds(&self) -> bool {
        self.on_wall && self.overlaps.is_empty() && !self.overlaps_other
    }
}

/// All rules at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// How the hood sits on its wall.
    pub fit: Fit,
    /// Each rule against each thing that it concerns, in the order of the rules.
    pub judgements: Vec<Judgement>,
}

impl Verdict {
    /// Whether the hood has room and every rule that decides is kept.
    pub fn holds(&self) -> bool {
        self.fit.holds()
            && self
                .judgements
                .iter()
                .all(|judgement| judgement.holds != Some(false))
    }

    /// The deciding rule with the smallest margin.
    pub fn tightest(&self) -> Option<&Judgement> {
        self.judgements
            .iter()
            .filter(|judgement| judgement.holds.is_some())
            .min_by(|one, other| one.margin.total_cmp(&other.margin))
    }

    /// The smallest margin of a deciding rule (m); infinite if none decides.
    pub fn margin(&self) -> f64 {
        self.tightest()
            .map_or(f64::INFINITY, |tightest| tightest.margin)
    }
}

/// All rules for both openings of a ventilator.
#[derive(Debug, Clone, PartialEq)]
pub struct PairVerdict {
    /// Of the intake, its rules against the exhaust included.
    pub intake: Verdict,
    /// Of the exhaust, its rules against the intake included.
    pub exhaust: Verdict,
}

impl PairVerdict {
    /// Whether both have room and every rule that decides is kept.
    pub fn holds(&self) -> bool {
        self.intake.holds() && self.exhaust.holds()
    }

    /// The smallest margin of a deciding rule (m); infinite if none decides.
    pub fn margin(&self) -> f64 {
        self.intake.margin().min(self.exhaust.margin())
    }
}

/// Every rule for one opening at one place, but those against the ventilator's other opening.
/// `None` if there is no such wall.
pub fn judge(site: &Site, opening: Opening, place: Place, stream: Stream) -> Option<Verdict> {
    let field = Field::new(site, opening, place.wall, &[stream])?;
    Some(verdict(&field, place))
}

/// Every rule for both openings of a ventilator, that of the intake first. `None` if there is no such wall.
pub fn judge_pair(
    site: &Site,
    [inlet, outlet]: [Opening; 2],
    intake: Place,
    exhaust: Place,
) -> Option<PairVerdict> {
    let width = (inlet.width + outlet.width) / 2.0;
    let height = (inlet.height + outlet.height) / 2.0;
    let overlaps = intake.wall == exhaust.wall
        && (intake.at[0] - exhaust.at[0]).abs() < width - EXACT
        && (intake.at[1] - exhaust.at[1]).abs() < height - EXACT;
    let of = |(place, opening): (Place, Opening), other, stream| {
        let mut field = Field::new(site, opening, place.wall, &[stream])?;
        field.add_other(other, stream, false)?;
        let mut verdict = verdict(&field, place);
        verdict.fit.overlaps_other = overlaps;
        Some(verdict)
    };
    Some(PairVerdict {
        intake: of((intake, inlet), (exhaust, outlet), Stream::Intake)?,
        exhaust: of((exhaust, outlet), (intake, inlet), Stream::Exhaust)?,
    })
}

/// Every rule for one factory-made hood that holds both openings. `None` if there is no such wall.
pub fn judge_two_in_one(site: &Site, opening: Opening, place: Place) -> Option<PairVerdict> {
    let of = |stream| {
        let mut field = Field::new(site, opening, place.wall, &[stream])?;
        field.add_same_hood(stream);
        Some(verdict(&field, place))
    };
    Some(PairVerdict {
        intake: of(Stream::Intake)?,
        exhaust: of(Stream::Exhaust)?,
    })
}

/// How far an opening and what a distance is measured from lie apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// In plan (m), zero where they stand above each other.
    pub plan: f64,
    /// In height (m), zero where their heights overlap.
    pub height: f64,
}

/// How far an opening and a thing, or the ventilator's other opening, lie apart: the two sides of the
/// triangle whose third is their distance. `None` for the ground, and for what is not there.
pub fn apart(
    site: &Site,
    (place, opening): (Place, Opening),
    against: Against,
    other: Option<(Place, Opening)>,
) -> Option<Apart> {
    let wall = site.walls().get(place.wall)?;
    let (plan, bottom, top) = match against {
        Against::Thing(index) => {
            let thing = site.things().get(index)?;
            (thing.plan.clone(), thing.bottom, thing.top)
        }
        Against::OwnOpening => {
            let (Place { wall, at: [s, z] }, Opening { width, height }) = other?;
            let wall = site.walls().get(wall)?;
            let ends = [s - width / 2.0, s + width / 2.0].map(|s| wall.plan(s, 0.0));
            (ends.to_vec(), z - height / 2.0, z + height / 2.0)
        }
        Against::Grade | Against::Snow => return None,
    };
    let [s, z] = place.at;
    let (low, high) = (z - opening.height / 2.0, z + opening.height / 2.0);
    Some(Apart {
        plan: Profile::new(wall, opening.width, &plan).distance(s),
        height: (bottom - high).max(low - top).max(0.0),
    })
}

fn verdict(field: &Field, place: Place) -> Verdict {
    Verdict {
        fit: fit(field, place.at),
        judgements: field
            .clauses
            .iter()
            .map(|clause| judgement(field, clause, place.at))
            .collect(),
    }
}

pub(crate) fn judgement(field: &Field, clause: &Clause, at: [f64; 2]) -> Judgement {
    let reading = field.read(clause, at);
    let demand = field.demand(clause);
    Judgement {
        demand: clause.demand,
        against: clause.against,
        measured: reading.measured,
        margin: reading.margin,
        holds: demand.decides.then_some(reading.margin >= -EXACT),
        lifted: reading.lifted,
    }
}

fn fit(field: &Field, [s, z]: [f64; 2]) -> Fit {
    let Opening { width, height } = field.opening;
    let low = [s - width / 2.0, z - height / 2.0];
    let high = [s + width / 2.0, z + height / 2.0];
    let outline = &field.wall.outline;
    let crossed = (0..outline.len()).any(|index| {
        let (p, q) = (outline[index], outline[(index + 1) % outline.len()]);
        enters(p, q, low, high)
    });
    let overlaps = field
        .site
        .things()
        .iter()
        .enumerate()
        .filter(|(_, thing)| thing.wall == Some(field.index))
        .filter(|(_, thing)| {
            let [left, right] = extent(field.wall, &thing.plan);
            left < high[0] - EXACT
                && low[0] < right - EXACT
                && thing.bottom < high[1] - EXACT
                && low[1] < thing.top - EXACT
        })
        .map(|(index, _)| index)
        .collect();
    Fit {
        on_wall: field.opening.is_real() && !crossed && crate::shapes::inside(outline, [s, z]),
        overlaps,
        overlaps_other: false,
    }
}

/// From where to where a plan reaches along a wall.
pub(crate) fn extent(wall: &Wall, plan: &[[f64; 2]]) -> [f64; 2] {
    let along = || plan.iter().map(|&point| wall.local(point)[0]);
    [
        along().fold(f64::INFINITY, f64::min),
        along().fold(f64::NEG_INFINITY, f64::max),
    ]
}

/// Whether a segment runs through the interior of a rectangle.
fn enters(p: [f64; 2], q: [f64; 2], low: [f64; 2], high: [f64; 2]) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let (low, high) = (low[axis] + EXACT, high[axis] - EXACT);
        let step = q[axis] - p[axis];
        if step == 0.0 {
            if p[axis] <= low || high <= p[axis] {
                return false;
            }
        } else {
            let (one, other) = ((low - p[axis]) / step, (high - p[axis]) / step);
            from = from.max(one.min(other));
            to = to.min(one.max(other));
        }
    }
    from < to
}
