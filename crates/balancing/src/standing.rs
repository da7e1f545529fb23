//! How a day stands: what is known, and what to do next.

use commission::advice::{Change, changes};
use commission::estimate::StateEstimate;
use commission::outlook::outlook;
use commission::{
    Advice, Damped, Error, Estimate, Goal, Interval, Place, State, Verdict, advise, estimate_from,
};
use house::model::{Mode, Season, Setting};

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

/// A goal in the weather of the whole year, with the dampers as they stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Year {
    /// Probability that rate and balance are met on the day and in the job's design weather for
    /// winter and summer.
    pub probability: f64,
    /// The state in winter or summer whose balance lies farthest from zero.
    pub worst: Option<StateEstimate>,
}

impl Year {
    fn of(goal: &Goal, estimate: &Estimate, states: &[State]) -> Self {
        Self {
            probability: estimate.probability(goal, states),
            worst: states
                .iter()
                .filter(|state| state.case.season != Season::Mild)
                .filter_map(|state| estimate.state(state))
                .max_by(|a, b| a.balance.value.abs().total_cmp(&b.balance.value.abs()))
                .cloned(),
        }
    }
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
    /// The same in the weather of the whole year, for each goal. It decides nothing.
    pub year: Vec<Year>,
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
        let all_year: Vec<Goal> = day.goals.iter().map(Goal::all_year).collect();
        let states: Vec<_> = all_year
            .iter()
            .flat_map(|goal| goal.states(set_up, day.dampers))
            .collect();
        let estimate = estimate_from(set_up, &states, earlier)?;
        let year = all_year
            .iter()
            .map(|goal| Year::of(goal, &estimate, &goal.states(set_up, day.dampers)))
            .collect();
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
        let advice = first.ok_or_else(|| Error("there is nothing to reach".into()))?;
        let wanted = wanted(day, chosen, &estimate, &advice);
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
            year,
            wanted,
            changes,
        })
    }

    /// What a reading will likely show, with the dampers as they stand. Nothing for one that is taken
    /// again: what it should show must not be read from what it did.
    pub fn likely(&self, day: &Day, wanted: Wanted) -> Option<Interval> {
        let Wanted {
            place,
            blower,
            setting,
        } = wanted;
        if day.was_read(&self.estimate, place, blower, setting) {
            return None;
        }
        let instrument = day.instrument(wanted.place, "")?;
        let state = day.set_up.state(wanted.blower, wanted.setting, day.dampers);
        outlook(
            &day.set_up,
            &self.estimate,
            wanted.place,
            instrument,
            &state,
        )
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

    /// The station at which a damper is turned: the first of those that tell its stream.
    pub fn station_of(&self, damper: Damped) -> Option<usize> {
        self.set_up.stations_of(damper).first().copied()
    }

    /// Whether both streams were read, so that it counts, at the setting of a goal with the dampers
    /// as they stand.
    pub fn is_proven(&self, estimate: &Estimate, goal: usize) -> bool {
        let goal = &self.goals[goal];
        Damped::BOTH.into_iter().all(|damper| {
            let stations = self.set_up.stations_of(damper);
            let read = |&station: &usize| {
                goal.modes.iter().any(|&mode| {
                    self.was_read(estimate, Place::Station(station), mode, goal.setting)
                })
            };
            !stations.is_empty() && stations.iter().all(read)
        })
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

/// Both streams first, as the dampers stand; then what the advice asks for.
fn wanted(day: &Day, goal: usize, estimate: &Estimate, advice: &Advice) -> Option<Wanted> {
    if !matches!(advice.verdict, Verdict::ReadMore) {
        return None;
    }
    let setting = day.goals[goal].setting;
    let working = day.working(goal);
    let unproven = Damped::BOTH
        .into_iter()
        .filter(|_| !day.is_proven(estimate, goal));
    for damper in unproven {
        for station in day.set_up.stations_of(damper) {
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
