//! What several explanations of the same readings say together.
//!
//! An explanation is a prior: variances V of the scores. Around some scores readings are linear,
//! `y = J s + r + ε` in units of their σ, so that an explanation makes them as likely as
//! `−2 ln p = rᵀS⁻¹r + ln |S|` with `S = I + J V Jᵀ`, up to what is common to all, and the scores
//! become `N(V Jᵀ S⁻¹ r, V − V Jᵀ S⁻¹ J V)`. To believe one score less adds one outer product to S.
//! Weighed by how likely they make the readings, the explanations are a mixture of Gaussians.

use crate::laplace::Posterior;
use crate::linear::{Square, dot};
use rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// Readings that are linear in the scores.
#[derive(Debug, Clone)]
pub struct Linear {
    /// Derivatives by the scores, in units of σ: a row for each reading.
    rows: Vec<Vec<f64>>,
    /// What the readings lie off at scores zero, in units of σ.
    residuals: Vec<f64>,
    /// `J Jᵀ`.
    gram: Square,
}

/// A multivariate normal law.
#[derive(Debug, Clone, PartialEq)]
pub struct Gaussian {
    /// Means.
    pub mean: Vec<f64>,
    pub(crate) covariance: Square,
}

impl Linear {
    /// From derivatives and residuals at scores zero, both in units of σ.
    pub fn new(rows: Vec<Vec<f64>>, residuals: Vec<f64>) -> Self {
        let mut gram = Square::zero(rows.len());
        for (i, a) in rows.iter().enumerate() {
            for (j, b) in rows.iter().enumerate() {
                gram.values[i * rows.len() + j] = dot(a, b);
            }
        }
        Self {
            rows,
            residuals,
            gram,
        }
    }

    /// The readings in use around the most probable scores.
    pub(crate) fn around(posterior: &Posterior, used: &[bool]) -> Self {
        let (mut rows, mut residuals) = (Vec::new(), Vec::new());
        for ((row, residual), _) in posterior
            .slopes
            .iter()
            .zip(&posterior.residuals)
            .zip(used)
            .filter(|(_, used)| **used)
        {
            residuals.push(residual + dot(row, &posterior.scores));
            rows.push(row.clone());
        }
        Self::new(rows, residuals)
    }

    /// Twice the logarithm of how likely the readings are if all scores have the variance `times²`
    /// and some another one, up to what all explanations share; and mean and variance of those
    /// some after the readings.
    pub fn weigh(&self, times: f64, others: &[(usize, f64)]) -> (f64, Vec<[f64; 2]>) {
        let count = self.residuals.len();
        let common = times * times;
        let mut spread = self.gram.clone();
        for value in &mut spread.values {
            *value *= common;
        }
        for i in 0..count {
            spread.values[i * count + i] += 1.0;
        }
        for &(score, variance) in others {
            for i in 0..count {
                let a = (variance - common) * self.rows[i][score];
                for j in 0..count {
                    spread.values[i * count + j] += a * self.rows[j][score];
                }
            }
        }
        let lower = spread.cholesky();
        let solve = |right: &dyn Fn(usize) -> f64| {
            let mut solved = vec![0.0; count];
            for i in 0..count {
                let row = &lower.values[i * count..i * count + i];
                solved[i] = (right(i) - dot(row, &solved)) / lower.at(i, i);
            }
            solved
        };
        let off = solve(&|i| self.residuals[i]);
        let logarithm: f64 = (0..count).map(|i| lower.at(i, i).ln()).sum();
        let others = others.iter().map(|&(score, variance)| {
            let column = solve(&|i| self.rows[i][score]);
            [
                variance * dot(&column, &off),
                variance - variance * variance * dot(&column, &column),
            ]
        });
        (-dot(&off, &off) - 2.0 * logarithm, others.collect())
    }

    /// The scores under these variances.
    pub fn scores(&self, variances: &[f64]) -> Gaussian {
        let mut law = Gaussian {
            mean: vec![0.0; variances.len()],
            covariance: Square::diagonal(variances.iter().copied()),
        };
        for (row, residual) in self.rows.iter().zip(&self.residuals) {
            law.observe(row, *residual, 1.0);
        }
        law
    }
}

impl Gaussian {
    /// Takes in a reading of a linear combination with a standard deviation; twice the logarithm of
    /// how likely it was, up to a constant.
    pub fn observe(&mut self, row: &[f64], value: f64, deviation: f64) -> f64 {
        let spread = self.covariance.times(row);
        self.take(
            &spread,
            dot(&spread, row),
            value - dot(row, &self.mean),
            deviation,
        )
    }

    /// The same for one of the numbers themselves.
    pub(crate) fn observe_one(&mut self, at: usize, value: f64, deviation: f64) -> f64 {
        let size = self.covariance.size;
        let spread = self.covariance.values[at * size..(at + 1) * size].to_vec();
        self.take(&spread, spread[at], value - self.mean[at], deviation)
    }

    fn take(&mut self, spread: &[f64], variance: f64, distance: f64, deviation: f64) -> f64 {
        let variance = variance + deviation * deviation;
        for (mean, spread) in self.mean.iter_mut().zip(spread) {
            *mean += spread * distance / variance;
        }
        self.covariance.add_outer(spread, -1.0 / variance);
        -(distance * distance / variance + variance.ln())
    }

    /// Mean and standard deviation of a linear combination.
    pub fn combined(&self, row: &[f64]) -> (f64, f64) {
        let variance = self.covariance.form(row).max(0.0);
        (dot(row, &self.mean), variance.sqrt())
    }

    /// Variance of one number.
    pub fn variance(&self, at: usize) -> f64 {
        self.covariance.at(at, at).max(0.0)
    }
}

/// Numbers under several explanations, with the weight of each.
#[derive(Debug, Clone)]
pub(crate) struct Mixture {
    pub parts: Vec<(f64, Gaussian)>,
}

/// Half-width of a 95 % interval in standard deviations.
const HALF_WIDTH: f64 = 1.959_964;

impl Mixture {
    /// Ends of the 95 % interval of a number that was read or will be with some deviation.
    pub fn interval(&self, at: usize, own: f64) -> [f64; 2] {
        let ends = |law: &Gaussian, sign: f64| {
            law.mean[at] + sign * 6.0 * HALF_WIDTH * (law.variance(at) + own * own).sqrt()
        };
        let lowest = self.parts.iter().map(|(_, law)| ends(law, -1.0));
        let highest = self.parts.iter().map(|(_, law)| ends(law, 1.0));
        let range = [
            lowest.fold(f64::INFINITY, f64::min),
            highest.fold(f64::NEG_INFINITY, f64::max),
        ];
        // The part below a value and its derivative.
        let below = |value: f64| {
            let (mut sum, mut density) = (0.0, 0.0);
            for (weight, law) in &self.parts {
                let deviation = (law.variance(at) + own * own).sqrt().max(1e-300);
                let distance = (value - law.mean[at]) / deviation;
                sum += weight * standard_normal_below(distance);
                density += weight * (-0.5 * distance * distance).exp() / deviation;
            }
            (sum, density / std::f64::consts::TAU.sqrt())
        };
        let near = 1e-9 * (range[1] - range[0]);
        let middle: f64 = self
            .parts
            .iter()
            .map(|(weight, law)| weight * law.mean[at])
            .sum();
        [0.025, 0.975].map(|part| {
            // Newton's method kept inside a shrinking bracket.
            let [mut low, mut high] = range;
            let mut value = middle;
            for _ in 0..50 {
                let (sum, density) = below(value);
                if sum < part {
                    low = value;
                } else {
                    high = value;
                }
                let newton = value - (sum - part) / density;
                let next = if newton > low && newton < high {
                    newton
                } else {
                    0.5 * (low + high)
                };
                let step = (next - value).abs();
                value = next;
                if step <= near {
                    break;
                }
            }
            value
        })
    }

    /// The first numbers and some more.
    pub fn with(&self, first: usize, some: &[usize]) -> Self {
        let kept: Vec<usize> = (0..first).chain(some.iter().copied()).collect();
        let parts = self.parts.iter().map(|(weight, law)| {
            let mut part = Gaussian {
                mean: kept.iter().map(|&i| law.mean[i]).collect(),
                covariance: Square::zero(kept.len()),
            };
            for (row, &i) in part
                .covariance
                .values
                .chunks_exact_mut(kept.len())
                .zip(&kept)
            {
                for (value, &j) in row.iter_mut().zip(&kept) {
                    *value = law.covariance.at(i, j);
                }
            }
            (*weight, part)
        });
        Self {
            parts: parts.collect(),
        }
    }

    /// Takes in that a number was read with a standard deviation.
    pub fn observe(&mut self, at: usize, value: f64, deviation: f64) {
        let evidence: Vec<f64> = self
            .parts
            .iter_mut()
            .map(|(_, law)| law.observe_one(at, value, deviation))
            .collect();
        let most = evidence.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut sum = 0.0;
        for ((weight, _), evidence) in self.parts.iter_mut().zip(evidence) {
            *weight *= (0.5 * (evidence - most)).exp();
            sum += *weight;
        }
        for (weight, _) in &mut self.parts {
            *weight /= sum;
        }
    }

    /// Probability that groups of numbers, the first `groups` of `width` each, are all as they
    /// should be, from some draws with a fixed seed: the same readings always give the same.
    pub fn probability(
        &self,
        groups: usize,
        width: usize,
        draws: usize,
        met: impl Fn(&[f64]) -> bool,
    ) -> f64 {
        let size = groups * width;
        let mut random = rand_pcg::Pcg64Mcg::seed_from_u64(0x5e7_0da7);
        let mut normal = vec![0.0; size];
        let mut group = vec![0.0; width];
        let mut probability = 0.0;
        for (weight, law) in &self.parts {
            let lower = law.covariance.leading(size).cholesky();
            let count = (weight * draws as f64).ceil() as usize;
            let mut good = 0;
            for _ in 0..count {
                for value in &mut normal {
                    *value = StandardNormal.sample(&mut random);
                }
                let all = (0..groups).all(|at| {
                    for (slot, number) in group.iter_mut().enumerate() {
                        let i = at * width + slot;
                        let row = &lower.values[i * size..i * size + i + 1];
                        *number = law.mean[i] + dot(row, &normal);
                    }
                    met(&group)
                });
                good += usize::from(all);
            }
            probability += weight * good as f64 / count.max(1) as f64;
        }
        probability
    }
}

/// Part of a standard-normal law below a value, by Abramowitz and Stegun's equation 7.1.26
/// (to 1e-7).
pub(crate) fn standard_normal_below(value: f64) -> f64 {
    let x = value.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let series = t
        * (0.254_829_592
            + t * (-0.284_496_736
                + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let above = 0.5 * series * (-x * x).exp();
    if value > 0.0 { 1.0 - above } else { above }
}
