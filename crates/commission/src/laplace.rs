//! The most probable scores, and how sure they are.
//!
//! Unknowns are scores s whose prior is N(0, v_k) each, with v = 1 as the survey says; readings are
//! `y_i = h_i(s) + σ_i ε_i`. The most probable scores minimise
//! `χ²(s) = Σ ((y_i − h_i(s))/σ_i)² + Σ s_k²/v_k`; Gauss and Newton's step solves
//! `(V⁻¹ + JᵀJ) δ = Jᵀ r − V⁻¹ s` with r and J in units of σ, and is halved until χ² falls. The
//! posterior covariance is `C = (V⁻¹ + JᵀJ)⁻¹` there (Laplace's approximation).

use crate::error::Error;
use crate::linear::{Square, dot};

/// What is expected of readings if the scores were known.
pub trait Forward {
    /// The expected readings.
    ///
    /// # Errors
    /// Where the scores have no solution.
    fn expected(&mut self, scores: &[f64]) -> Result<Vec<f64>, Error>;

    /// Their derivatives by each score: one row per reading.
    ///
    /// # Errors
    /// As [`expected`](Self::expected).
    fn slopes(&mut self, scores: &[f64]) -> Result<Vec<Vec<f64>>, Error>;
}

/// A reading as a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Datum {
    /// What was read.
    pub value: f64,
    /// Its standard deviation, above 0.
    pub deviation: f64,
}

/// How exactly the minimum is sought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// The search ends when a step is expected to lower χ² by no more than the square of this.
    pub step: f64,
    /// Derivatives are taken anew when the scores have moved this far (root of the sum of
    /// squares) since the last ones.
    pub stale: f64,
    /// Most evaluations of the derivatives.
    pub most: usize,
}

impl Effort {
    /// To a small part of the uncertainty: what a set-up day needs.
    pub const USUAL: Self = Self {
        step: 3e-3,
        stale: 0.6,
        most: 20,
    };
    /// To rounding.
    pub const EXACT: Self = Self {
        step: 1e-8,
        stale: 0.0,
        most: 60,
    };
}

/// The most probable scores with their covariance.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Most probable scores.
    pub scores: Vec<f64>,
    /// Covariance of the scores.
    pub(crate) covariance: Square,
    /// Derivatives of the readings by the scores, in units of σ.
    pub(crate) slopes: Vec<Vec<f64>>,
    /// Residuals `(y − h)/σ` of the readings that were used or not.
    pub residuals: Vec<f64>,
    /// χ² at the scores, over the readings used and the prior.
    pub chi_square: f64,
    /// How often the derivatives were taken.
    pub passes: usize,
    /// The last step was below the limit.
    pub settled: bool,
}

impl Posterior {
    /// Variance of a linear combination of the scores.
    pub fn variance(&self, slopes: &[f64]) -> f64 {
        self.covariance.form(slopes).max(0.0)
    }

    /// Standard deviation of a score, 1 before any reading.
    pub fn deviation(&self, score: usize) -> f64 {
        self.covariance.at(score, score).max(0.0).sqrt()
    }

    /// Covariance of two scores.
    pub fn covariance(&self, a: usize, b: usize) -> f64 {
        self.covariance.at(a, b)
    }

    /// Covariance of a score with what a reading is expected to show, in units of σ.
    pub(crate) fn shared(&self, reading: usize, score: usize) -> f64 {
        let size = self.covariance.size;
        let row = &self.covariance.values[score * size..(score + 1) * size];
        dot(row, &self.slopes[reading])
    }

    /// The residual of a reading by what all *others* say, over its standard deviation, and that
    /// standard deviation over σ. Exact where the model is linear: with the leverage
    /// `h = j C jᵀ` it is `e/√(1 − h)` for a reading in use and `e/√(1 + h)` for one left out.
    pub fn surprise(&self, reading: usize, used: bool) -> (f64, f64) {
        let slopes = &self.slopes[reading];
        let leverage = self.covariance.form(slopes);
        let e = self.residuals[reading];
        if used {
            let free = (1.0 - leverage).max(1e-9);
            // e/(1 − h) is the residual without the reading, 1/(1 − h) its variance.
            (e / free.sqrt(), 1.0 / free.sqrt())
        } else {
            let wide = 1.0 + leverage;
            (e / wide.sqrt(), wide.sqrt())
        }
    }
}

/// Finds the most probable scores from a start. `used` says which readings count, `variances` are
/// those of the scores before any reading.
///
/// # Errors
/// Where the start itself has no solution, and lists of different lengths.
pub fn most_probable(
    model: &mut dyn Forward,
    data: &[Datum],
    used: &[bool],
    variances: &[f64],
    start: &[f64],
    effort: Effort,
) -> Result<Posterior, Error> {
    if used.len() != data.len() || variances.len() != start.len() {
        return Err(Error(
            "each reading needs to be used or not, and each score its variance".into(),
        ));
    }
    let residuals = |expected: &[f64]| -> Vec<f64> {
        data.iter()
            .zip(expected)
            .map(|(datum, expected)| (datum.value - expected) / datum.deviation)
            .collect()
    };
    let chi_square = |residuals: &[f64], scores: &[f64]| -> f64 {
        let readings: f64 = residuals
            .iter()
            .zip(used)
            .filter(|(_, used)| **used)
            .map(|(r, _)| r * r)
            .sum();
        let prior: f64 = scores.iter().zip(variances).map(|(s, v)| s * s / v).sum();
        readings + prior
    };
    let mut scores = start.to_vec();
    let mut now = residuals(&model.expected(&scores)?);
    if now.len() != data.len() {
        return Err(Error("each reading needs an expectation".into()));
    }
    let mut chi = chi_square(&now, &scores);
    let mut passes = 0;
    loop {
        let mut slopes = model.slopes(&scores)?;
        passes += 1;
        for (row, datum) in slopes.iter_mut().zip(data) {
            for value in row {
                *value /= datum.deviation;
            }
        }
        let mut normal = Square::diagonal(variances.iter().map(|variance| 1.0 / variance));
        for (row, _) in slopes.iter().zip(used).filter(|(_, used)| **used) {
            normal.add_outer(row, 1.0);
        }
        let covariance = normal.inverse();
        let base = scores.clone();
        let mut settled = false;
        let mut first = true;
        loop {
            let mut right: Vec<f64> = scores.iter().zip(variances).map(|(s, v)| -s / v).collect();
            for ((row, r), _) in slopes.iter().zip(&now).zip(used).filter(|(_, used)| **used) {
                for (right, slope) in right.iter_mut().zip(row) {
                    *right += slope * r;
                }
            }
            let step = covariance.times(&right);
            if dot(&right, &step) <= effort.step * effort.step {
                settled = first || effort.stale > 0.0;
                break;
            }
            let mut length = 1.0;
            let mut moved = false;
            // Halve until χ² falls; a house without a solution counts as too far.
            for _ in 0..12 {
                let trial: Vec<f64> = scores
                    .iter()
                    .zip(&step)
                    .map(|(score, part)| score + length * part)
                    .collect();
                if let Ok(expected) = model.expected(&trial) {
                    let there = residuals(&expected);
                    let value = chi_square(&there, &trial);
                    if value < chi {
                        (scores, now, chi) = (trial, there, value);
                        moved = true;
                        break;
                    }
                }
                length *= 0.5;
            }
            first = false;
            if !moved {
                // Rounding, or derivatives that no longer fit: fresh ones decide.
                settled = scores == base;
                break;
            }
            if distance(&scores, &base) > effort.stale {
                break;
            }
        }
        if settled || passes >= effort.most {
            return Ok(Posterior {
                scores,
                covariance,
                slopes,
                residuals: now,
                chi_square: chi,
                passes,
                settled,
            });
        }
    }
}

fn distance(a: &[f64], b: &[f64]) -> f64 {
    let square: f64 = a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum();
    square.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Readings that are linear in the scores.
    struct Linear(Vec<Vec<f64>>);

    impl Forward for Linear {
        fn expected(&mut self, scores: &[f64]) -> Result<Vec<f64>, Error> {
            Ok(self.0.iter().map(|row| dot(row, scores)).collect())
        }

        fn slopes(&mut self, _: &[f64]) -> Result<Vec<Vec<f64>>, Error> {
            Ok(self.0.clone())
        }
    }

    #[test]
    fn one_reading_of_one_score_is_the_weighted_mean() {
        // Prior 0 ± 1, reading 3 ± 0.5: mean 3·4/(1 + 4) = 2.4, variance 1/5.
        let datum = Datum {
            value: 3.0,
            deviation: 0.5,
        };
        let mut model = Linear(vec![vec![1.0]]);
        let posterior =
            most_probable(&mut model, &[datum], &[true], &[1.0], &[0.0], Effort::EXACT).unwrap();
        assert!((posterior.scores[0] - 2.4).abs() < 1e-12);
        assert!((posterior.deviation(0) - 0.2_f64.sqrt()).abs() < 1e-12);
        // Without it the reading is expected at 0 ± √(1 + 0.25).
        let (surprise, _) = posterior.surprise(0, true);
        assert!((surprise - 3.0 / 1.25_f64.sqrt()).abs() < 1e-9);
    }

    proptest! {
        /// Leaving a reading out by the formula is the same as leaving it out.
        #[test]
        fn a_surprise_is_what_the_other_readings_say(
            rows in prop::collection::vec(prop::collection::vec(-3.0..3.0f64, 3), 4),
            values in prop::collection::vec(-4.0..4.0f64, 4),
        ) {
            let data: Vec<Datum> = values
                .iter()
                .map(|&value| Datum { value, deviation: 0.7 })
                .collect();
            let mut model = Linear(rows);
            let all = most_probable(&mut model, &data, &[true; 4], &[1.0; 3], &[0.0; 3], Effort::EXACT).unwrap();
            let without = [false, true, true, true];
            let rest = most_probable(&mut model, &data, &without, &[1.0; 3], &[0.0; 3], Effort::EXACT).unwrap();
            let (by_formula, wide) = all.surprise(0, true);
            let (by_omission, wide_too) = rest.surprise(0, false);
            prop_assert!((by_formula - by_omission).abs() < 1e-6);
            prop_assert!((wide / wide_too - 1.0).abs() < 1e-6);
        }
    }
}
