//! Flows in every mode from all readings, and how sure they are.

use crate::doubt::{self, Cause, Doubt};
use crate::error::Error;
use crate::goal::Goal;
use crate::laplace::{Datum, Effort, Forward, Posterior, most_probable};
use crate::linear::dot;
use crate::network::{Flows, Kind, Network, Unknown};
use crate::setup::{Place, SetUp, State};
use rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

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
/// Draws from the posterior behind a probability.
const DRAWS: usize = 2000;

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
    /// Derivatives of the flows by each unknown.
    pub(crate) slopes: Vec<Vec<f64>>,
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
    /// The scores with their covariance.
    pub posterior: Posterior,
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
    let mut widened: Vec<usize> = Vec::new();
    let mut posterior = most_probable(&mut network, &data, &used, &start, Effort::USUAL)?;
    for _ in 0..=readings.len().min(8) {
        let worst = (0..readings.len())
            .filter(|&at| used[at])
            .map(|at| (at, posterior.surprise(at, true).0))
            .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        let Some((at, surprise)) = worst.filter(|worst| worst.1.abs() > GATE) else {
            break;
        };
        used[at] = false;
        let without = most_probable(&mut network, &data, &used, &posterior.scores, Effort::USUAL)?;
        let all = network.states().to_vec();
        network.flows = network.solve(&without.scores, &all)?;
        let causes = doubt::causes(&mut network, &without, &data, at, &widened)?;
        let house = causes.first().and_then(Cause::unknown);
        let kept = house.is_some() || set_aside >= most;
        doubts.push(Doubt::does_not_fit(set_up, at, surprise, causes, kept));
        if !kept {
            set_aside += 1;
            posterior = without;
            continue;
        }
        used[at] = true;
        let Some(unknown) = house else { break };
        let times = network.unknowns()[unknown].kind.wider();
        network.widen(unknown, times);
        widened.push(unknown);
        start.clone_from(&without.scores);
        start[unknown] /= times;
        posterior = most_probable(&mut network, &data, &used, &start, Effort::USUAL)?;
    }
    let scores = posterior.scores.clone();
    let all = network.states().to_vec();
    network.flows = network.solve(&scores, &all)?;
    let states: Vec<StateEstimate> = all
        .iter()
        .enumerate()
        .map(|(at, state)| {
            state_estimate(*state, &network.flows[at], &network.slopes[at], &posterior)
        })
        .collect();
    let fits = readings
        .iter()
        .enumerate()
        .map(|(at, reading)| {
            let flows = &network.flows[network.reading_state(at)];
            Fit {
                expected: network.shown(reading.place, reading.instrument, flows, &scores),
                deviation: data[at].deviation,
                surprise: posterior.surprise(at, used[at]).0,
                used: used[at],
            }
        })
        .collect();
    let unknowns = network
        .unknowns()
        .iter()
        .enumerate()
        .map(|(k, unknown)| Learnt {
            unknown: unknown.clone(),
            score: unknown.widened * posterior.scores[k],
            left: posterior.deviation(k),
        })
        .collect();
    Ok(Estimate {
        states,
        fits,
        doubts,
        unknowns,
        posterior,
        quiet: network.quiet,
        solved: network.solved,
    })
}

pub(crate) fn state_estimate(
    state: State,
    flows: &Flows,
    slopes: &[Vec<f64>],
    posterior: &Posterior,
) -> StateEstimate {
    let number = |slot: usize| -> Vec<f64> { slopes.iter().map(|row| row[slot]).collect() };
    let (supply, extract, delivered) = (number(0), number(1), number(2));
    let interval =
        |value: f64, slopes: &[f64]| Interval::around(value, posterior.variance(slopes).sqrt());
    // d((s − e)/larger): ds/s − de/e scaled by smaller over larger.
    let (s, e) = (flows.supply(), flows.extract());
    let larger = s.abs().max(e.abs()).max(1e-6);
    let balance: Vec<f64> = supply
        .iter()
        .zip(&extract)
        .map(|(ds, de)| {
            if s.abs() >= e.abs() {
                ds * e / (larger * larger) - de / larger
            } else {
                ds / larger - de * s / (larger * larger)
            }
        })
        .collect();
    StateEstimate {
        state,
        flows: flows.clone(),
        supply: interval(s, &supply),
        extract: interval(e, &extract),
        delivered: interval(flows.delivered(), &delivered),
        balance: interval(flows.balance(), &balance),
        slopes: slopes.to_vec(),
    }
}

impl Estimate {
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
        let known = self.state(state)?;
        let (value, slopes) = network.number(Place::Station(station), &known.flows, &known.slopes);
        let deviation = self.posterior.variance(&slopes).sqrt();
        Some(Interval::around(
            value / air::STANDARD_DENSITY,
            deviation / air::STANDARD_DENSITY,
        ))
    }

    /// Probability that rate and balance are met in all these states at once, from 2000 draws of
    /// the posterior with a fixed seed. Flows are taken as linear in the scores.
    pub fn probability(&self, goal: &Goal, states: &[State]) -> f64 {
        let known: Option<Vec<&StateEstimate>> =
            states.iter().map(|state| self.state(state)).collect();
        known.map_or(0.0, |known| probability(goal, &known, &self.posterior))
    }
}

/// Probability that a goal is met in all states.
pub(crate) fn probability(goal: &Goal, states: &[&StateEstimate], posterior: &Posterior) -> f64 {
    if states.is_empty() {
        return 0.0;
    }
    let size = posterior.scores.len();
    let lower = posterior.covariance.cholesky();
    // Rows of (derivatives · L): flows move by these for one standard-normal number each.
    let mut rows: Vec<Vec<f64>> = Vec::with_capacity(3 * states.len());
    for state in states {
        for slot in 0..3 {
            let slopes: Vec<f64> = state.slopes.iter().map(|row| row[slot]).collect();
            let row = (0..size)
                .map(|column| {
                    (column..size)
                        .map(|k| slopes[k] * lower.at(k, column))
                        .sum()
                })
                .collect();
            rows.push(row);
        }
    }
    // A fixed seed: the same readings always give the same probability.
    let mut random = rand_pcg::Pcg64Mcg::seed_from_u64(0x5e7_0da7);
    let mut met = 0;
    let mut normal = vec![0.0; size];
    for _ in 0..DRAWS {
        for value in &mut normal {
            *value = StandardNormal.sample(&mut random);
        }
        let all = states.iter().enumerate().all(|(at, state)| {
            let moved = |slot: usize| state.flows.0[slot] + dot(&rows[3 * at + slot], &normal);
            goal.met(moved(0), moved(1), moved(2))
        });
        met += usize::from(all);
    }
    met as f64 / DRAWS as f64
}
