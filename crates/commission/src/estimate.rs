//! Flows in every mode from all readings, and how sure they are.

use crate::belief::{Around, Belief, Numbers, variances};
use crate::doubt::{self, Cause, Doubt, Trouble};
use crate::error::Error;
use crate::goal::Goal;
use crate::laplace::{Datum, Effort, Forward, Posterior, most_probable};
use crate::mixture::Mixture;
use crate::network::{Flows, Kind, Network, Unknown};
use crate::setup::{Place, SetUp, State};

/// A value with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Most probable value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Half-width of a 95 % interval in standard deviations.
const HALF_WIDTH: f64 = 1.959_964;
/// Surprise from which a reading does not fit, in standard deviations.
pub const GATE: f64 = 3.0;
/// Most readings that may be set aside, as a part of all.
const MOST_SET_ASIDE: f64 = 1.0 / 3.0;
/// Probability from which a fault is told.
const LEAST_SUSPICION: f64 = 0.05;
/// Draws behind a probability.
pub(crate) const DRAWS: usize = 4000;

impl Interval {
    pub(crate) fn around(value: f64, deviation: f64) -> Self {
        Self {
            value,
            low: value - HALF_WIDTH * deviation,
            high: value + HALF_WIDTH * deviation,
        }
    }

    /// Standard deviation.
    pub fn deviation(&self) -> f64 {
        (self.high - self.low) / (2.0 * HALF_WIDTH)
    }

    /// Whether a value lies inside.
    pub fn contains(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// What is known about one state of the house.
#[derive(Debug, Clone, PartialEq)]
pub struct StateEstimate {
    /// The state.
    pub state: State,
    /// Most probable flows.
    pub flows: Flows,
    /// Supply air (kg/s).
    pub supply: Interval,
    /// Extract air (kg/s).
    pub extract: Interval,
    /// Outdoor air that reaches the rooms (kg/s).
    pub delivered: Interval,
    /// Balance by mass.
    pub balance: Interval,
}

/// One reading against everything else that is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// What the instrument would show by the most probable house.
    pub expected: f64,
    /// Standard deviation of the reading by itself.
    pub deviation: f64,
    /// Distance of the reading from what all others say, in standard deviations of that distance.
    pub surprise: f64,
    /// The reading takes part in the estimate.
    pub used: bool,
}

/// An unknown after the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Learnt {
    /// The unknown.
    pub unknown: Unknown,
    /// Most probable score: how many standard deviations of the survey it lies off.
    pub score: f64,
    /// Standard deviation left over that before the readings, 0 to 1: 1 means that nothing was
    /// learnt.
    pub left: f64,
}

/// Everything that the readings tell.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// Every state that was read or asked for.
    pub states: Vec<StateEstimate>,
    /// Every reading of the set-up.
    pub fits: Vec<Fit>,
    /// Readings that do not fit or make no sense, with the likeliest causes.
    pub doubts: Vec<Doubt>,
    /// Every unknown, in the order of the scores.
    pub unknowns: Vec<Learnt>,
    /// The most probable scores if the house is as surveyed, but for what some reading would not
    /// fit without.
    pub posterior: Posterior,
    /// All explanations of the readings.
    pub(crate) belief: Belief,
    /// Unknowns that move nothing that was read or asked for.
    pub(crate) quiet: Vec<Kind>,
    /// How many cases of the network were solved for it.
    pub solved: usize,
}

/// Estimates the flows of the states that were read and of those `wanted`, from all readings of a
/// set-up that are neither struck out nor impossible.
///
/// Where a reading lies more than [`GATE`] standard deviations from what all others say, the
/// likeliest cause decides: an error in reading it sets it aside, a difference in the house makes
/// the survey's number less trusted there. Both are told in `doubts`.
///
/// # Errors
/// A plan whose network cannot be built or solved.
pub fn estimate(set_up: &SetUp, wanted: &[State]) -> Result<Estimate, Error> {
    estimate_from(set_up, wanted, None)
}

/// The same from the scores of an earlier estimate of the same day, which is quicker.
///
/// # Errors
/// As [`estimate`].
pub fn estimate_from(
    set_up: &SetUp,
    wanted: &[State],
    earlier: Option<&Estimate>,
) -> Result<Estimate, Error> {
    let mut network = Network::new(set_up, wanted)?;
    if let Some(earlier) = earlier {
        network.quiet.clone_from(&earlier.quiet);
    }
    let readings = set_up.readings();
    let mut doubts: Vec<Doubt> = Vec::new();
    let mut used = Vec::with_capacity(readings.len());
    let mut data = Vec::with_capacity(readings.len());
    for (index, reading) in readings.iter().enumerate() {
        let doubt = doubt::at_sight(set_up, index);
        used.push(!reading.struck_out && doubt.as_ref().is_none_or(|doubt| doubt.used));
        doubts.extend(doubt);
        let value = if reading.value.is_finite() {
            reading.value
        } else {
            0.0
        };
        data.push(Datum {
            value,
            deviation: set_up.instruments()[reading.instrument].deviation(value),
        });
    }
    let mut start: Vec<f64> = network
        .unknowns()
        .iter()
        .map(|unknown| earlier.map_or(0.0, |earlier| earlier.score(unknown.kind)))
        .collect();
    if network.expected(&start).is_err() {
        start.fill(0.0);
    }
    let most = (MOST_SET_ASIDE * readings.len() as f64).floor() as usize;
    let mut set_aside = 0;
    let count = start.len();
    let as_surveyed = vec![1.0; count];
    let mut posterior = most_probable(
        &mut network,
        &data,
        &used,
        &as_surveyed,
        &start,
        Effort::USUAL,
    )?;
    let suspects = set_up.faults().suspects(&network);
    // Faults without which some reading would not fit.
    let mut found: Vec<usize> = Vec::new();
    for _ in 0..=readings.len().min(8) {
        let worst = (0..readings.len())
            .filter(|&at| used[at])
            .map(|at| (at, posterior.surprise(at, true).0))
            .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        let Some((mut at, mut surprise)) = worst.filter(|worst| worst.1.abs() > GATE) else {
            break;
        };
        // Where two readings of one place contradict each other, all others decide which is odd.
        let contradicted = doubt::contradicted(set_up, &data, &used, at);
        if contradicted.len() > 1 {
            for &one in &contradicted {
                used[one] = false;
            }
            let prior = variances(count, 1.0, &suspects, &found);
            let here = &posterior.scores;
            let others = most_probable(&mut network, &data, &used, &prior, here, Effort::USUAL)?;
            for &one in &contradicted {
                used[one] = true;
            }
            let odd = contradicted
                .into_iter()
                .map(|one| (one, others.surprise(one, false).0))
                .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
            (at, surprise) = odd.unwrap_or((at, surprise));
        }
        used[at] = false;
        let prior = variances(count, 1.0, &suspects, &found);
        let here = &posterior.scores;
        let without = most_probable(&mut network, &data, &used, &prior, here, Effort::USUAL)?;
        let all = network.states().to_vec();
        network.flows = network.solve(&without.scores, &all)?;
        let causes = doubt::causes(&mut network, &without, &data, at, &suspects, &found)?;
        // A house at fault that is about as likely as a mistake keeps the reading in use.
        let best = causes.first().map_or(0.0, |cause| cause.gain);
        let house = causes
            .iter()
            .take_while(|cause| best - cause.gain < doubt::CLOSE)
            .find_map(Cause::unknown);
        let kept = house.is_some() || set_aside >= most;
        // What was told of a reading once is not told again but for something new.
        let told =
            |doubt: &Doubt| doubt.reading == at && matches!(doubt.trouble, Trouble::DoesNotFit(_));
        if kept && causes.is_empty() && doubts.iter().any(told) {
            used[at] = true;
            break;
        }
        doubts.retain(|doubt| !told(doubt));
        doubts.push(Doubt::does_not_fit(set_up, at, surprise, causes, kept));
        if !kept {
            set_aside += 1;
            posterior = without;
            continue;
        }
        used[at] = true;
        let fault = suspects
            .iter()
            .position(|suspect| Some(suspect.unknown) == house);
        let Some(fault) = fault else { break };
        found.push(fault);
        let prior = variances(count, 1.0, &suspects, &found);
        let start = &without.scores;
        posterior = most_probable(&mut network, &data, &used, &prior, start, Effort::USUAL)?;
    }
    let first = Around::of(&mut network, &posterior, &used, found)?;
    let fits = readings
        .iter()
        .enumerate()
        .map(|(at, reading)| {
            let flows = &first.flows[network.reading_state(at)];
            Fit {
                expected: network.shown(reading.place, reading.instrument, flows, &first.scores),
                deviation: data[at].deviation,
                surprise: posterior.surprise(at, used[at]).0,
                used: used[at],
            }
        })
        .collect();
    let table = set_up.faults();
    let belief = Belief::of(&mut network, table, &suspects, &data, &used, first)?;
    let all = network.states().to_vec();
    let flows: Vec<StateFlows> = belief
        .arounds
        .iter()
        .map(|around| around.flows.iter().zip(&around.slopes).collect())
        .collect();
    let states = state_estimates(&belief, &all, &flows);
    let lead = belief.lead();
    let unknowns = network
        .unknowns()
        .iter()
        .enumerate()
        .map(|(k, unknown)| Learnt {
            unknown: unknown.clone(),
            score: lead.scores.mean[k],
            left: (lead.scores.variance(k) / lead.prior[k]).sqrt(),
        })
        .collect();
    Ok(Estimate {
        states,
        fits,
        doubts,
        unknowns,
        posterior,
        belief,
        quiet: network.quiet,
        solved: network.solved,
    })
}

/// Flows of states with their derivatives, in one linearisation.
pub(crate) type StateFlows<'a> = Vec<(&'a Flows, &'a Vec<Vec<f64>>)>;

/// What is known about states, from their flows in every linearisation.
pub(crate) fn state_estimates(
    belief: &Belief,
    states: &[State],
    flows: &[StateFlows],
) -> Vec<StateEstimate> {
    let numbers: Vec<Numbers> = flows
        .iter()
        .map(|flows| {
            let mut numbers = Numbers::default();
            for &(flows, slopes) in flows {
                numbers.add_streams(flows, slopes);
                numbers.add(flows.balance(), balance_slopes(flows, slopes));
            }
            numbers
        })
        .collect();
    let mixture = belief.numbers(&numbers);
    let lead = &flows[belief.lead().around];
    states
        .iter()
        .zip(lead)
        .enumerate()
        .map(|(at, (state, (flows, _)))| {
            let interval = |slot: usize| {
                let [low, high] = mixture.interval(4 * at + slot, 0.0);
                Interval {
                    value: mixture.parts[0].1.mean[4 * at + slot],
                    low,
                    high,
                }
            };
            StateEstimate {
                state: *state,
                flows: (*flows).clone(),
                supply: interval(0),
                extract: interval(1),
                delivered: interval(2),
                balance: interval(3),
            }
        })
        .collect()
}

/// Derivatives of (s − e)/larger: ds/s − de/e scaled by smaller over larger.
fn balance_slopes(flows: &Flows, slopes: &[Vec<f64>]) -> Vec<f64> {
    let (s, e) = (flows.supply(), flows.extract());
    let larger = s.abs().max(e.abs()).max(1e-6);
    slopes
        .iter()
        .map(|row| {
            let (ds, de) = (row[0], row[1]);
            if s.abs() >= e.abs() {
                ds * e / (larger * larger) - de / larger
            } else {
                ds / larger - de * s / (larger * larger)
            }
        })
        .collect()
}

impl Estimate {
    /// Faults beyond the spreads of the survey that the readings make likely, the likeliest first:
    /// in words, with their probability.
    pub fn suspicions(&self) -> Vec<(String, f64)> {
        let mut list: Vec<(String, f64)> = self
            .unknowns
            .iter()
            .enumerate()
            .map(|(k, learnt)| {
                let (mut weight, mut score) = (0.0, 0.0);
                for known in &self.belief.explanations {
                    if known.faults.contains(&k) {
                        weight += known.weight;
                        score += known.weight * known.scores.mean[k];
                    }
                }
                let unknown = &learnt.unknown;
                (
                    doubt::phrase(unknown.kind, &unknown.name, score > 0.0),
                    weight,
                )
            })
            .filter(|(_, weight)| *weight >= LEAST_SUSPICION)
            .collect();
        list.sort_by(|a, b| b.1.total_cmp(&a.1));
        list
    }

    /// Most probable score of an unknown as the survey counts it, 0 if it is not among them.
    pub fn score(&self, kind: Kind) -> f64 {
        self.unknowns
            .iter()
            .find(|learnt| learnt.unknown.kind == kind)
            .map_or(0.0, |learnt| learnt.score)
    }

    /// What is known about a state, if it was read or asked for.
    pub fn state(&self, state: &State) -> Option<&StateEstimate> {
        self.states.iter().find(|known| known.state == *state)
    }

    /// Flow at a station in a state, at standard density (m³/s).
    pub fn station(&self, set_up: &SetUp, station: usize, state: &State) -> Option<Interval> {
        let network = Network::new(set_up, &[]).ok()?;
        let at = self.states.iter().position(|known| known.state == *state)?;
        let place = Place::Station(station);
        let numbers: Vec<Numbers> = self
            .belief
            .arounds
            .iter()
            .map(|around| {
                let (value, slopes) = network.number(place, &around.flows[at], &around.slopes[at]);
                let mut numbers = Numbers::default();
                numbers.add(value, slopes);
                numbers
            })
            .collect();
        let mixture = self.belief.numbers(&numbers);
        let [low, high] = mixture.interval(0, 0.0);
        let standard = |flow: f64| flow / air::STANDARD_DENSITY;
        Some(Interval {
            value: standard(mixture.parts[0].1.mean[0]),
            low: standard(low),
            high: standard(high),
        })
    }

    /// Probability that rate and balance are met in all these states at once, from 4000 draws of
    /// all explanations with a fixed seed. Flows are taken as linear in the scores.
    pub fn probability(&self, goal: &Goal, states: &[State]) -> f64 {
        let places: Option<Vec<usize>> = states.iter().map(|state| self.place(state)).collect();
        places.map_or(0.0, |places| {
            chance(
                goal,
                &self.belief.numbers(&self.streams(&places)),
                places.len(),
                DRAWS,
            )
        })
    }

    /// Where a state stands among those estimated.
    pub(crate) fn place(&self, state: &State) -> Option<usize> {
        self.states.iter().position(|known| known.state == *state)
    }

    /// Supply, extract and delivered air of some states in every linearisation.
    pub(crate) fn streams(&self, places: &[usize]) -> Vec<Numbers> {
        let of = |around: &Around| {
            let mut numbers = Numbers::default();
            for &at in places {
                numbers.add_streams(&around.flows[at], &around.slopes[at]);
            }
            numbers
        };
        self.belief.arounds.iter().map(of).collect()
    }
}

/// Probability that a goal is met in all states, whose three streams the mixture begins with.
pub(crate) fn chance(goal: &Goal, mixture: &Mixture, states: usize, draws: usize) -> f64 {
    if states == 0 {
        return 0.0;
    }
    mixture.probability(states, 3, draws, |flows| {
        goal.met(flows[0], flows[1], flows[2])
    })
}
