//! What the rules say at a place, in sentences.

use rules::clearances::{Measure, Stream};
use siting::{Against, Judgement, PairVerdict, Verdict};
use units::System;
use units::text::capital;

use super::{PairReport, Walls, on_tape, overridden};

/// Whether a rule is kept, in a word.
pub fn state(judgement: &Judgement) -> &'static str {
    match (judgement.holds, judgement.lifted) {
        (Some(false), _) => "broken",
        (Some(true), Some(_)) => "excepted",
        (Some(true), None) => "kept",
        (None, _) => "shown only",
    }
}

impl Walls {
    /// Of each rule the judgement with the smallest margin, and all that are broken; what decides
    /// first. A height above something at another wall is told only where it is broken.
    pub fn telling(&self, verdict: &Verdict, wall: usize) -> Vec<Judgement> {
        let mut list: Vec<Judgement> = Vec::new();
        for judgement in &verdict.judgements {
            if judgement.holds == Some(false) {
                list.push(*judgement);
                continue;
            }
            match list
                .iter_mut()
                .find(|known| known.demand == judgement.demand && known.holds != Some(false))
            {
                Some(known) if known.margin <= judgement.margin => {}
                Some(known) => *known = *judgement,
                None => list.push(*judgement),
            }
        }
        // A rule that is broken somewhere need not be told as kept elsewhere.
        let broken: Vec<usize> = list
            .iter()
            .filter(|judgement| judgement.holds == Some(false))
            .map(|judgement| judgement.demand)
            .collect();
        list.retain(|judgement| {
            judgement.holds == Some(false) || !broken.contains(&judgement.demand)
        });
        let rank = |judgement: &Judgement| match judgement.holds {
            Some(false) => 0,
            Some(true) => 1,
            None => 2,
        };
        list.sort_by(|one, other| {
            rank(one)
                .cmp(&rank(other))
                .then(one.margin.total_cmp(&other.margin))
        });
        list.retain(|judgement| {
            let elsewhere = self
                .owner(judgement.against)
                .is_some_and(|owner| owner != wall);
            let above = self.demand(judgement).clearance.measure == Measure::Above;
            !(above && elsewhere && judgement.kept())
        });
        list
    }

    /// Whether a hood may be here as what it is to be, like `an intake`, in a sentence.
    pub fn allowed_words(&self, what: &str, verdict: &Verdict) -> String {
        let broken = verdict
            .judgements
            .iter()
            .any(|judgement| judgement.holds == Some(false));
        match (verdict.fit.holds(), broken) {
            (true, false) => format!("As {what} it keeps every rule that decides."),
            (true, true) => format!("As {what} it is not allowed here."),
            (false, _) => format!("As {what} it has no room here: {}.", self.no_room(verdict)),
        }
    }

    /// Why a hood has no room.
    pub fn no_room(&self, verdict: &Verdict) -> String {
        let fit = &verdict.fit;
        let on: Vec<&str> = fit
            .overlaps
            .iter()
            .map(|&thing| self.site.name(Against::Thing(thing)))
            .collect();
        match (fit.on_wall, on.as_slice()) {
            (false, _) => "it reaches beyond the edge of the wall".to_owned(),
            (true, []) => "the two hoods would sit on each other".to_owned(),
            (true, on) => format!("it would sit on the {}", on.join(" and the ")),
        }
    }

    /// What was measured, what is asked and which exception helps:
    /// `8 ft 4 in from the dryer outlet, at least 10 ft asked`.
    pub fn measured_and_asked(&self, judgement: &Judgement, wall: usize, system: System) -> String {
        let exception = match self.exception(judgement, system) {
            Some(exception) => format!(", but {exception}"),
            None => String::new(),
        };
        format!(
            "{}, {}{exception}",
            self.measured(judgement, wall, system),
            self.asked(judgement, system)
        )
    }

    /// The same with the rule; an override says its reason, whose the others are is told elsewhere.
    pub fn judgement_words(&self, judgement: &Judgement, wall: usize, system: System) -> String {
        let demand = self.demand(judgement);
        format!(
            "{} ({}{})",
            self.measured_and_asked(judgement, wall, system),
            demand.id(),
            overridden(demand)
        )
    }

    /// A place in one sentence, as it is read while the hood is moved: whether it is allowed, and
    /// why not or by how much.
    pub fn verdict_words(&self, verdict: &Verdict, wall: usize, system: System) -> String {
        if !verdict.fit.holds() {
            return format!("No room here: {}.", self.no_room(verdict));
        }
        let mut broken = verdict
            .judgements
            .iter()
            .filter(|judgement| judgement.holds == Some(false))
            .collect::<Vec<_>>();
        broken.sort_by(|one, other| one.margin.total_cmp(&other.margin));
        match broken.as_slice() {
            [] => match verdict.tightest().filter(|tight| tight.margin.is_finite()) {
                Some(tightest) => format!(
                    "Allowed here, with {} to spare: {} ({}).",
                    on_tape(tightest.margin.max(0.0), system),
                    self.measured_and_asked(tightest, wall, system),
                    self.demand(tightest).source
                ),
                None => "Allowed here. No rule that decides comes near.".to_owned(),
            },
            [worst, rest @ ..] => {
                let demand = self.demand(worst);
                let more = match rest.len() {
                    0 => String::new(),
                    1 => " One more rule is broken.".to_owned(),
                    count => format!(" {count} more are broken."),
                };
                format!(
                    "Not allowed here: {} ({}, {}).{more}",
                    self.measured_and_asked(worst, wall, system),
                    demand.id(),
                    demand.source
                )
            }
        }
    }

    /// Whether two terminals may be a pair, in a few words.
    pub fn pair_state(&self, verdict: &PairVerdict) -> &'static str {
        let own = self.between(verdict);
        let too_near = own.iter().any(|judgement| judgement.holds == Some(false));
        match (verdict.holds(), too_near) {
            (true, _) => "allowed",
            (false, true) => "too near to each other",
            (false, false) => "not allowed, because one of them is not",
        }
    }

    /// The rules between the two openings of a pair; most sets say the same for both sides.
    pub fn between(&self, verdict: &PairVerdict) -> Vec<Judgement> {
        let own = |verdict: &Verdict| {
            verdict
                .judgements
                .iter()
                .filter(|judgement| judgement.against == Against::OwnOpening)
                .copied()
                .collect::<Vec<Judgement>>()
        };
        let mut list = own(&verdict.intake);
        for judgement in own(&verdict.exhaust) {
            let same = |known: &Judgement| {
                let (one, other) = (self.demand(known), self.demand(&judgement));
                one.clearance.row.demand == other.clearance.row.demand && one.source == other.source
            };
            if !list.iter().any(same) {
                list.push(judgement);
            }
        }
        list
    }

    /// For which terminal of a pair a rule between the two is made, as what, and the other one.
    pub fn made_for(&self, judgement: &Judgement, pair: &PairReport) -> (usize, Stream, usize) {
        if self.demand(judgement).concerns(Stream::Intake) {
            (pair.intake, Stream::Intake, pair.exhaust)
        } else {
            (pair.exhaust, Stream::Exhaust, pair.intake)
        }
    }

    /// What a distance is measured from, as the beginning of a sentence.
    pub fn capital_words(&self, against: Against, wall: usize) -> String {
        capital(&self.words(against, wall))
    }
}
