//! A revisit against the record: what changed beyond its uncertainty.
//!
//! The record says what the revisit should read: `y ~ N(h(s), S)` with `S = J C Jᵀ + R` from the
//! record's covariance C and the readings' own R. One unknown that moved by d ~ N(0, τ²) adds
//! `τ² g gᵀ` to S, g being its column of J; how much more likely that makes the readings is
//! `gain = τ²b²/(1 + τ²a) − ln(1 + τ²a)` with `a = gᵀS⁻¹g`, `b = gᵀS⁻¹r` (twice the logarithm of
//! the ratio of likelihoods), and the change is `τ²b/(1 + τ²a) ± τ/√(1 + τ²a)`. The change that
//! gains most is taken, then the next beside it, as long as one gains more than [`LEAST_GAIN`].

use crate::error::Error;
use crate::estimate::{Estimate, Interval};
use crate::laplace::Forward;
use crate::linear::{Square, dot};
use crate::network::{Kind, Network};
use crate::setup::{Port, SetUp};
use plan::inputs::Slot;

/// Gain that a change must bring to be told: about seven to one.
pub const LEAST_GAIN: f64 = 4.0;
/// Most changes that are told.
const MOST: usize = 3;
/// Passes of the linearisation at the changed house.
const PASSES: usize = 4;

/// One thing that changed since the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What.
    pub kind: Kind,
    /// By how much, as a factor on the number (on the difference from its prior mean for what can
    /// be negative: standard deviations of the survey).
    pub factor: Interval,
    /// How much more likely it makes the readings, as twice a logarithm.
    pub gain: f64,
    /// The same in a sentence, with what to do.
    pub text: String,
}

/// A revisit compared with the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Distance of each reading of the revisit from what the record expects, in standard deviations.
    pub surprises: Vec<f64>,
    /// χ² of the readings by the record alone, and how many readings there are.
    pub chi_square: (f64, usize),
    /// What changed, the surest first.
    pub changes: Vec<Change>,
    /// What it means, in sentences.
    pub text: String,
}

/// Compares the readings of a revisit with the estimate of the set-up day.
///
/// # Errors
/// A revisit without usable readings, and a network that cannot be solved.
pub fn compare(record: &Estimate, revisit: &SetUp) -> Result<Comparison, Error> {
    let mut network = Network::new(revisit, &[])?;
    let size = network.unknowns().len();
    // Mean and covariance of the unknowns: those of the record, fresh ones for what belongs to the
    // day and for what the record did not know.
    let place: Vec<Option<usize>> = network
        .unknowns()
        .iter()
        .map(|unknown| {
            let of_the_day = matches!(unknown.kind, Kind::Gain(_) | Kind::Zero(_));
            record
                .unknowns
                .iter()
                .position(|known| known.unknown.kind == unknown.kind && !of_the_day)
        })
        .collect();
    let known = record.belief.scores();
    let mut covariance = Square::identity(size);
    for i in 0..size {
        for j in 0..size {
            if let (Some(a), Some(b)) = (place[i], place[j]) {
                covariance.values[i * size + j] = known.covariance.at(a, b);
            } else if i != j {
                covariance.values[i * size + j] = 0.0;
            }
        }
    }
    let base: Vec<f64> = place
        .iter()
        .map(|place| place.map_or(0.0, |at| known.mean[at]))
        .collect();
    let readings: Vec<usize> = revisit
        .readings()
        .iter()
        .enumerate()
        .filter(|(index, reading)| {
            !reading.struck_out
                && crate::doubt::at_sight(revisit, *index).is_none_or(|doubt| doubt.used)
        })
        .map(|(index, _)| index)
        .collect();
    if readings.is_empty() {
        return Err(Error(
            "the revisit has no reading that can be used; read both stations in one mode at least"
                .into(),
        ));
    }
    let own: Vec<f64> = readings
        .iter()
        .map(|&at| {
            let reading = &revisit.readings()[at];
            revisit.instruments()[reading.instrument].deviation(reading.value)
        })
        .collect();

    let mut chosen: Vec<(usize, f64)> = Vec::new();
    let mut scores = base.clone();
    let mut first: Option<(Vec<f64>, f64)> = None;
    let mut found: Vec<(usize, f64, f64, f64)> = Vec::new();
    for round in 0..=MOST {
        let mut best: Option<(usize, f64)> = None;
        for pass in 0..PASSES {
            let expected = network.expected(&scores)?;
            let slopes = network.slopes(&scores)?;
            // Residuals against the unchanged house, to first order from here.
            let mut jacobian = Vec::with_capacity(readings.len());
            let mut residual = Vec::with_capacity(readings.len());
            for (&at, own) in readings.iter().zip(&own) {
                let row: Vec<f64> = slopes[at].iter().map(|slope| slope / own).collect();
                let moved: f64 = row
                    .iter()
                    .zip(scores.iter().zip(&base))
                    .map(|(slope, (now, base))| slope * (now - base))
                    .sum();
                residual.push((revisit.readings()[at].value - expected[at]) / own + moved);
                jacobian.push(row);
            }
            let mut spread = Square::identity(readings.len());
            for (i, row) in jacobian.iter().enumerate() {
                let across = covariance.times(row);
                for (j, other) in jacobian.iter().enumerate() {
                    spread.values[i * readings.len() + j] += dot(&across, other);
                }
            }
            if first.is_none() {
                let surprises = residual
                    .iter()
                    .enumerate()
                    .map(|(i, r)| r / spread.at(i, i).sqrt())
                    .collect();
                first = Some((surprises, spread.inverse().form(&residual)));
            }
            // The changes found so far, all at once.
            found = joint(&jacobian, &residual, &spread, &chosen);
            scores.clone_from(&base);
            for &(k, change, _, _) in &found {
                scores[k] += change;
            }
            // Whether one more would help.
            if pass + 1 == PASSES || round == 0 {
                let mut wide = spread.clone();
                for &(k, width) in &chosen {
                    let column: Vec<f64> = jacobian.iter().map(|row| row[k]).collect();
                    wide.add_outer(&column, width * width);
                }
                let sharp = wide.inverse();
                for (k, unknown) in network.unknowns().iter().enumerate() {
                    let Some(width) = can_drift(unknown.kind) else {
                        continue;
                    };
                    if chosen.iter().any(|(known, _)| *known == k) {
                        continue;
                    }
                    let column: Vec<f64> = jacobian.iter().map(|row| row[k]).collect();
                    let spread_column = sharp.times(&column);
                    let a = dot(&spread_column, &column);
                    let b = dot(&spread_column, &residual);
                    let w = width * width;
                    let gain = w * b * b / (1.0 + w * a) - (w * a).ln_1p();
                    if best.is_none_or(|best| gain > best.1) {
                        best = Some((k, gain));
                    }
                }
                if round == 0 {
                    break;
                }
            }
        }
        match best {
            Some((k, gain)) if gain > LEAST_GAIN && round < MOST => {
                let width = can_drift(network.unknowns()[k].kind).unwrap_or(1.0);
                chosen.push((k, width));
            }
            _ => break,
        }
    }
    let (surprises, chi_square) = first.unwrap_or_default();
    let mut changes: Vec<Change> = found
        .iter()
        .map(|&(k, change, deviation, gain)| {
            let unknown = &network.unknowns()[k];
            let value = Interval::around(change, deviation);
            let scale = relative_scale(&network, k);
            let factor = Interval {
                value: (scale * value.value).exp(),
                low: (scale * value.low).exp(),
                high: (scale * value.high).exp(),
            };
            Change {
                kind: unknown.kind,
                factor,
                gain,
                text: words(unknown.kind, &unknown.name, factor),
            }
        })
        .collect();
    changes.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    let text = if changes.is_empty() {
        "Nothing has changed beyond what the readings can tell.".to_owned()
    } else {
        let sentences: Vec<&str> = changes.iter().map(|change| change.text.as_str()).collect();
        sentences.join(" ")
    };
    Ok(Comparison {
        surprises,
        chi_square: (chi_square, readings.len()),
        changes,
        text,
    })
}

/// The changes of some unknowns together: `(unknown, change, deviation, gain of this one beside
/// the others)`.
fn joint(
    jacobian: &[Vec<f64>],
    residual: &[f64],
    spread: &Square,
    chosen: &[(usize, f64)],
) -> Vec<(usize, f64, f64, f64)> {
    chosen
        .iter()
        .map(|&(k, width)| {
            let mut without = spread.clone();
            for &(other, width) in chosen.iter().filter(|(other, _)| *other != k) {
                let column: Vec<f64> = jacobian.iter().map(|row| row[other]).collect();
                without.add_outer(&column, width * width);
            }
            let sharp = without.inverse();
            let column: Vec<f64> = jacobian.iter().map(|row| row[k]).collect();
            let through = sharp.times(&column);
            let a = dot(&through, &column);
            let b = dot(&through, residual);
            let w = width * width;
            let gain = w * b * b / (1.0 + w * a) - (w * a).ln_1p();
            (k, w * b / (1.0 + w * a), width / (1.0 + w * a).sqrt(), gain)
        })
        .collect()
}

/// How far an unknown may move in a year, in standard deviations of the survey; absent for what
/// does not move. A judgement, no published source.
fn can_drift(kind: Kind) -> Option<f64> {
    match kind {
        // A quarter of a duct's resistance is one: doubled is 2.8.
        Kind::Duct(_) => Some(3.0),
        Kind::Damper(_, _) => Some(2.0),
        // Three per cent of a fan's flow is one: a dirty filter or core takes 10 to 20 %.
        Kind::Survey(Slot::SupplyFan | Slot::ExtractFan) => Some(5.0),
        Kind::Survey(Slot::Filter) => Some(3.0),
        _ => None,
    }
}

/// What one standard deviation of an unknown is, as a change of a logarithm.
fn relative_scale(network: &Network, k: usize) -> f64 {
    let unknown = &network.unknowns()[k];
    match unknown.kind {
        Kind::Survey(_) => network.relative_deviation(k),
        _ => unknown.scale,
    }
}

fn words(kind: Kind, name: &str, factor: Interval) -> String {
    let times = format!(
        "{:.2} times what it was ({:.2} to {:.2})",
        factor.value, factor.low, factor.high
    );
    let more = factor.value > 1.0;
    match kind {
        Kind::Duct(Port::Outdoor) if more => format!(
            "The outdoor duct resists {times}: clean the screen of the intake, and look for a crushed duct."
        ),
        Kind::Duct(Port::Exhaust) if more => format!(
            "The exhaust duct resists {times}: look at the flap and the screen of the exhaust hood, and for a crushed duct."
        ),
        Kind::Duct(port) if more => format!(
            "The {} duct resists {times}: look for a crushed duct or a damper that has moved.",
            port.name()
        ),
        Kind::Duct(port) => format!(
            "The {} duct resists {times}: look whether it has come off, or a damper has opened.",
            port.name()
        ),
        Kind::Damper(damper, _) => format!(
            "The {} damper resists {times}: it has moved; set it again and lock it.",
            damper.name()
        ),
        Kind::Survey(Slot::SupplyFan) if !more => format!(
            "The unit moves less supply air, {times}: clean or change its filter and look at the core."
        ),
        Kind::Survey(Slot::ExtractFan) if !more => format!(
            "The unit moves less extract air, {times}: clean or change its filter and look at the core."
        ),
        Kind::Survey(Slot::Filter) if more => {
            format!("The filter of the air handler takes {times}: change it.")
        }
        Kind::Survey(Slot::Filter) => {
            format!("The filter of the air handler takes {times}: it was changed, or it is out.")
        }
        _ => format!("{name} is {times}."),
    }
}
