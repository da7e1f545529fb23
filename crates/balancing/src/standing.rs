//! How a day stands: what is known, and what to do next.

use commission::advice::{Change, changes};
use commission::doubt::Trouble;
use commission::{
    Advice, Damped, Error, Estimate, Place, Port, Stream, Verdict, advise, estimate_from,
};
use house::model::{Mode, Setting};

use crate::day::Day;

/// A reading that is wanted next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Of what.
    pub place: Place,
    /// With the blower in this mode.
    pub blower: Mode,
    /// With the ventilator at this setting.
    pub setting: Setting,
}

/// How a day stands.
#[derive(Debug, Clone)]
pub struct Standing {
    /// What all readings tell.
    pub estimate: Estimate,
    /// What to do next, at the first setting that is not done; at the first of all when all are.
    pub advice: Advice,
    /// That setting, by its place among the goals.
    pub goal: usize,
    /// Probability that rate and balance are met now, for each goal.
    pub probabilities: Vec<f64>,
    /// The reading that is wanted next, if one is.
    pub wanted: Option<Wanted>,
    /// What would do it where dampers cannot.
    pub changes: Vec<Change>,
}

impl Standing {
    /// Looks at a day. An earlier estimate of the same day makes it quicker.
    ///
    /// # Errors
    /// A network that cannot be built or solved.
    pub fn of(day: &Day, earlier: Option<&Estimate>) -> Result<Self, Error> {
        let set_up = &day.set_up;
        let states: Vec<_> = day
            .goals
            .iter()
            .flat_map(|goal| goal.states(set_up, day.dampers))
            .collect();
        let estimate = estimate_from(set_up, &states, earlier)?;
        let probabilities: Vec<f64> = day
            .goals
            .iter()
            .map(|goal| estimate.probability(goal, &goal.states(set_up, day.dampers)))
            .collect();
        let mut first: Option<Advice> = None;
        let mut chosen = 0;
        for (place, goal) in day.goals.iter().enumerate() {
            let working = day.working(place);
            let advice = advise(set_up, goal, &estimate, day.dampers, working)?;
            let done = advice.verdict == Verdict::Done;
            if first.is_none() || !done {
                first = Some(advice);
                chosen = place;
            }
            if !done {
                break;
            }
        }
        let mut advice = first.ok_or_else(|| Error("there is nothing to reach".into()))?;
        let wanted = if let Some(wanted) = unconfirmed(day, &estimate, &advice) {
            advice.verdict = Verdict::ReadMore;
            advice.text = format!(
                "A station does not fit the survey. Before the house or the station is blamed, and before this is called done, read {} as well: it tells which of the two it is.",
                set_up.name(wanted.place)
            );
            Some(wanted)
        } else {
            wanted(day, chosen, &estimate, &advice)
        };
        let changes = if advice.verdict == Verdict::CannotBeDone {
            changes(set_up, &day.goals[chosen], &estimate)?
        } else {
            Vec::new()
        };
        Ok(Self {
            estimate,
            advice,
            goal: chosen,
            probabilities,
            wanted,
            changes,
        })
    }

    /// Whether all settings are done.
    pub fn is_done(&self) -> bool {
        self.advice.verdict == Verdict::Done
    }

    /// Probability that everything is as it should be now: that of the worst setting.
    pub fn probability(&self) -> f64 {
        self.probabilities.iter().copied().fold(1.0, f64::min)
    }
}

impl Day {
    /// The mode in which the contractor works: that in which the blower runs, if it has to be right
    /// there.
    pub fn working(&self, goal: usize) -> Mode {
        let modes = &self.goals[goal].modes;
        if modes.contains(&self.blower) {
            self.blower
        } else {
            modes.first().copied().unwrap_or(self.blower)
        }
    }

    /// The station that tells all air of a stream.
    pub fn station_of(&self, damper: Damped) -> Option<usize> {
        let stream = match damper {
            Damped::Supply => Stream::Supply,
            Damped::Extract => Stream::Extract,
        };
        self.set_up
            .stations()
            .iter()
            .position(|station| station.stream == stream)
    }

    /// Whether a place was read, so that it counts, in a mode and setting with the dampers as they
    /// stand.
    pub fn was_read(
        &self,
        estimate: &Estimate,
        place: Place,
        blower: Mode,
        setting: Setting,
    ) -> bool {
        let readings = self.set_up.readings().iter();
        readings.zip(&estimate.fits).any(|(reading, fit)| {
            fit.used
                && reading.place == place
                && reading.blower == blower
                && reading.setting == setting
                && reading.dampers == self.dampers
        })
    }
}

/// What is still to be read before a day is called done although a station, as the dampers stand,
/// does not fit the survey: the static pressures at both ports of its stream. They tell a station
/// that is off from a duct or a fan that is not as it was believed.
fn unconfirmed(day: &Day, estimate: &Estimate, advice: &Advice) -> Option<Wanted> {
    if advice.verdict != Verdict::Done {
        return None;
    }
    let readings = day.set_up.readings();
    estimate
        .doubts
        .iter()
        .filter(|doubt| matches!(doubt.trouble, Trouble::DoesNotFit(_)))
        .map(|doubt| &readings[doubt.reading])
        .filter(|reading| reading.dampers == day.dampers)
        .find_map(|reading| {
            let Place::Station(station) = reading.place else {
                return None;
            };
            let ports = match day.set_up.stations()[station].stream {
                Stream::Supply => [Port::Supply, Port::Outdoor],
                Stream::Extract => [Port::Extract, Port::Exhaust],
                _ => return None,
            };
            ports
                .into_iter()
                .map(Place::Port)
                .find(|&place| !day.was_read(estimate, place, reading.blower, reading.setting))
                .map(|place| Wanted {
                    place,
                    blower: reading.blower,
                    setting: reading.setting,
                })
        })
}

/// Both streams first, as the dampers stand; then what the advice asks for.
fn wanted(day: &Day, goal: usize, estimate: &Estimate, advice: &Advice) -> Option<Wanted> {
    if !matches!(advice.verdict, Verdict::ReadMore) {
        return None;
    }
    let setting = day.goals[goal].setting;
    let working = day.working(goal);
    for damper in Damped::BOTH {
        if let Some(station) = day.station_of(damper) {
            let place = Place::Station(station);
            if !day.was_read(estimate, place, working, setting) {
                return Some(Wanted {
                    place,
                    blower: working,
                    setting,
                });
            }
        }
    }
    advice.next_reading.as_ref().map(|next| Wanted {
        place: next.place,
        blower: next.mode,
        setting,
    })
}
