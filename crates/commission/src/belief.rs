//! The house under every explanation at once: as surveyed, with one fault or two, and all of it in
//! several scales of the survey's spreads.
//!
//! All explanations are weighed in the linearisation of the readings that lies nearest. Those that
//! turn out to matter and whose house lies far from it are linearised anew, by their own most
//! probable house.

use crate::error::Error;
use crate::faults::{Faults, Suspect};
use crate::laplace::{Datum, Effort, Posterior, most_probable};
use crate::linear::{Square, dot};
use crate::mixture::{Gaussian, Linear, Mixture, standard_normal_below};
use crate::network::{Flows, Network};

/// Scores around which the house is linear.
#[derive(Debug, Clone)]
pub(crate) struct Around {
    /// The faults whose most probable house this is, by their place among the suspects.
    faults: Vec<usize>,
    pub scores: Vec<f64>,
    readings: Linear,
    /// Flows in every state of the network.
    pub flows: Vec<Flows>,
    /// Their derivatives: `[state][unknown][number]`.
    pub slopes: Vec<Vec<Vec<f64>>>,
}

/// One explanation of the readings.
#[derive(Debug, Clone)]
pub(crate) struct Explanation {
    pub weight: f64,
    /// The unknowns at fault.
    pub faults: Vec<usize>,
    /// Its linearisation.
    pub around: usize,
    /// Variances of the scores before the readings.
    pub prior: Vec<f64>,
    pub scores: Gaussian,
}

/// Everything that is believed after the readings, the likeliest explanation first.
#[derive(Debug, Clone)]
pub(crate) struct Belief {
    pub arounds: Vec<Around>,
    pub explanations: Vec<Explanation>,
}

/// Numbers at the scores of a linearisation, with their derivatives.
#[derive(Debug, Clone, Default)]
pub(crate) struct Numbers {
    pub values: Vec<f64>,
    pub rows: Vec<Vec<f64>>,
}

impl Numbers {
    pub fn add(&mut self, value: f64, slopes: Vec<f64>) {
        self.values.push(value);
        self.rows.push(slopes);
    }

    /// Supply, extract and delivered air of a state.
    pub fn add_streams(&mut self, flows: &Flows, slopes: &[Vec<f64>]) {
        for slot in 0..3 {
            self.add(flows.0[slot], slopes.iter().map(|row| row[slot]).collect());
        }
    }
}

/// Weight from which a set of faults gets its own linearisation.
const MATTERS: f64 = 0.02;
/// Most linearisations.
const MOST_AROUNDS: usize = 5;
/// Distance of scores (root of the sum of squares) up to which one linearisation serves.
const FAR: f64 = 1.0;
/// Explanations below this weight are dropped.
const LEAST: f64 = 1e-3;
/// Two faults at once are thought of if their odds come to this.
const LEAST_ODDS: f64 = 3e-4;
/// How well the house of a fault is sought: with derivatives taken once, where it is expected.
const EFFORT: Effort = Effort {
    step: 0.03,
    stale: 3.0,
    most: 1,
};

/// Variances of the scores where some are at fault.
pub(crate) fn variances(
    count: usize,
    times: f64,
    suspects: &[Suspect],
    faults: &[usize],
) -> Vec<f64> {
    let mut variances = vec![times * times; count];
    for &fault in faults {
        let suspect = &suspects[fault];
        variances[suspect.unknown] = suspect.width.max(times).powi(2);
    }
    variances
}

impl Around {
    /// The linearisation at the most probable house that the network solved last.
    pub fn of(
        network: &mut Network,
        posterior: &Posterior,
        used: &[bool],
        faults: Vec<usize>,
    ) -> Result<Self, Error> {
        let states = network.states().to_vec();
        network.flows = network.solve(&posterior.scores, &states)?;
        Ok(Self {
            faults,
            scores: posterior.scores.clone(),
            readings: Linear::around(posterior, used),
            flows: network.flows.clone(),
            slopes: network.slopes.clone(),
        })
    }
}

struct Weighed<'a> {
    faults: &'a [usize],
    times: f64,
    around: usize,
    /// Twice the logarithm.
    evidence: f64,
}

impl Belief {
    /// Weighs all explanations, beginning with the linearisation of one of them.
    pub fn of(
        network: &mut Network,
        table: &Faults,
        suspects: &[Suspect],
        data: &[Datum],
        used: &[bool],
        first: Around,
    ) -> Result<Self, Error> {
        let count = network.unknowns().len();
        let sets = sets(suspects, &first.faults);
        let mut arounds = vec![first];
        loop {
            let weighed = weigh(table, suspects, &sets, &arounds);
            let most = weighed
                .iter()
                .map(|known| known.evidence)
                .fold(f64::NEG_INFINITY, f64::max);
            let weight = |known: &Weighed| (0.5 * (known.evidence - most)).exp();
            let sum: f64 = weighed.iter().map(weight).sum();
            // The heaviest set of faults without a linearisation of its own.
            let mut heaviest: Option<(f64, &[usize], usize)> = None;
            if arounds.len() < MOST_AROUNDS {
                for scales in weighed.chunk_by(|a, b| a.faults == b.faults) {
                    let known = &scales[0];
                    let share = scales.iter().map(weight).sum::<f64>() / sum;
                    if share > MATTERS
                        && arounds.iter().all(|around| around.faults != known.faults)
                        && heaviest.is_none_or(|heaviest| share > heaviest.0)
                    {
                        let around = &arounds[known.around];
                        let prior = variances(count, 1.0, suspects, known.faults);
                        let mean = around.readings.scores(&prior).mean;
                        if distance(&mean, &around.scores) > FAR {
                            heaviest = Some((share, known.faults, known.around));
                        }
                    }
                }
            }
            if let Some((_, faults, near)) = heaviest {
                let prior = variances(count, 1.0, suspects, faults);
                let start = arounds[near].readings.scores(&prior).mean;
                let found = most_probable(network, data, used, &prior, &start, EFFORT)
                    .or_else(|_| {
                        let start = &arounds[near].scores;
                        most_probable(network, data, used, &prior, start, EFFORT)
                    })
                    .and_then(|posterior| Around::of(network, &posterior, used, faults.to_vec()));
                // A house that cannot be solved keeps the linearisation that it had.
                let around = found.unwrap_or_else(|_| Around {
                    faults: faults.to_vec(),
                    ..arounds[near].clone()
                });
                arounds.push(around);
                continue;
            }
            let mut explanations: Vec<Explanation> = weighed
                .iter()
                .filter(|known| weight(known) > LEAST * sum)
                .map(|known| {
                    let prior = variances(count, known.times, suspects, known.faults);
                    Explanation {
                        weight: weight(known),
                        faults: known
                            .faults
                            .iter()
                            .map(|&at| suspects[at].unknown)
                            .collect(),
                        around: known.around,
                        scores: arounds[known.around].readings.scores(&prior),
                        prior,
                    }
                })
                .collect();
            explanations.sort_by(|a, b| b.weight.total_cmp(&a.weight));
            let kept: f64 = explanations.iter().map(|known| known.weight).sum();
            for known in &mut explanations {
                known.weight /= kept;
            }
            return Ok(Self {
                arounds,
                explanations,
            });
        }
    }

    /// The likeliest explanation.
    pub fn lead(&self) -> &Explanation {
        &self.explanations[0]
    }

    /// Mean and covariance of the scores over all explanations.
    pub fn scores(&self) -> Gaussian {
        let count = self.lead().scores.mean.len();
        let mut all = Gaussian {
            mean: vec![0.0; count],
            covariance: Square::zero(count),
        };
        for known in &self.explanations {
            for (mean, own) in all.mean.iter_mut().zip(&known.scores.mean) {
                *mean += known.weight * own;
            }
        }
        for known in &self.explanations {
            let values = &known.scores.covariance.values;
            for (value, own) in all.covariance.values.iter_mut().zip(values) {
                *value += known.weight * own;
            }
            let off: Vec<f64> = known
                .scores
                .mean
                .iter()
                .zip(&all.mean)
                .map(|(own, mean)| own - mean)
                .collect();
            all.covariance.add_outer(&off, known.weight);
        }
        all
    }

    /// Numbers under all explanations, from what they are at every linearisation.
    pub fn numbers(&self, numbers: &[Numbers]) -> Mixture {
        let parts = self
            .explanations
            .iter()
            .map(|known| {
                let Numbers { values, rows } = &numbers[known.around];
                let base = &self.arounds[known.around].scores;
                let off: Vec<f64> = known
                    .scores
                    .mean
                    .iter()
                    .zip(base)
                    .map(|(own, base)| own - base)
                    .collect();
                let mean = values
                    .iter()
                    .zip(rows)
                    .map(|(value, row)| value + dot(row, &off))
                    .collect();
                let mut covariance = Square::zero(rows.len());
                for (i, row) in rows.iter().enumerate() {
                    let spread = known.scores.covariance.times(row);
                    for (j, other) in rows.iter().enumerate().take(i + 1) {
                        let value = dot(&spread, other);
                        covariance.values[i * rows.len() + j] = value;
                        covariance.values[j * rows.len() + i] = value;
                    }
                }
                (known.weight, Gaussian { mean, covariance })
            })
            .collect();
        Mixture { parts }
    }
}

/// The sets of faults to be weighed: none, each, two at once, and what was found before with each.
fn sets(suspects: &[Suspect], found: &[usize]) -> Vec<Vec<usize>> {
    let mut sets = vec![Vec::new()];
    for a in 0..suspects.len() {
        sets.push(vec![a]);
        for b in a + 1..suspects.len() {
            if suspects[a].odds * suspects[b].odds >= LEAST_ODDS {
                sets.push(vec![a, b]);
            }
        }
    }
    if !found.is_empty() {
        let mut add = |mut set: Vec<usize>| {
            set.sort_unstable();
            if !sets.contains(&set) {
                sets.push(set);
            }
        };
        add(found.to_vec());
        for a in 0..suspects.len() {
            if !found.contains(&a) {
                add([found, &[a]].concat());
            }
        }
    }
    sets
}

fn weigh<'a>(
    table: &Faults,
    suspects: &[Suspect],
    sets: &'a [Vec<usize>],
    arounds: &[Around],
) -> Vec<Weighed<'a>> {
    let mut weighed = Vec::with_capacity(sets.len() * table.scales.len());
    for faults in sets {
        // Its own linearisation, or that of most of its faults.
        let near = arounds
            .iter()
            .enumerate()
            .filter(|(_, around)| around.faults.iter().all(|fault| faults.contains(fault)))
            .max_by_key(|(_, around)| around.faults.len())
            .map_or(0, |(at, _)| at);
        let readings = &arounds[near].readings;
        let odds: f64 = faults.iter().map(|&at| suspects[at].odds.ln()).sum();
        for (times, chance) in table.scales {
            let wider: Vec<(usize, f64)> = faults
                .iter()
                .map(|&at| {
                    let suspect = &suspects[at];
                    (suspect.unknown, suspect.width.max(times).powi(2))
                })
                .collect();
            let (mut evidence, moved) = readings.weigh(times, &wider);
            evidence += 2.0 * (odds + chance.ln());
            for (&at, [mean, variance]) in faults.iter().zip(moved) {
                let upper = standard_normal_below(mean / variance.max(1e-12).sqrt());
                evidence += 2.0 * suspects[at].side(upper).ln();
            }
            weighed.push(Weighed {
                faults,
                times,
                around: near,
                evidence,
            });
        }
    }
    weighed
}

fn distance(a: &[f64], b: &[f64]) -> f64 {
    let square: f64 = a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum();
    square.sqrt()
}
