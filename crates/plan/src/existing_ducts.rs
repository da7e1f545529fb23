//! The forced-air ducts as inferred from a survey.
//!
//! A light survey gives the blower flow and the static pressure of both plenums in one or more
//! modes. The ducts behind each plenum are a quadratic resistance `Δp = R Q²` that reproduces these
//! readings (the geometric mean of the modes' resistances), spread along the trunk: a part lies at
//! grilles, registers and branches at its far end, the rest evenly along its length, or in
//! proportion to the friction and fittings of the trunk as drawn. A static pressure read at the
//! place of a tap fixes the split there. A side whose plenum pressure was not read is computed from
//! its drawing alone.

use crate::inputs::{Inputs, ModeReadings};
use house::model::{AirHandler, Job, Path, Segment, Side};

/// One side of the forced-air system.
#[derive(Debug, Clone, PartialEq)]
pub struct PathModel {
    /// `(distance from the blower (m), resistance from there to the rooms (Pa/(m³/s)²))`, in order
    /// of rising distance and falling resistance.
    knots: Vec<(f64, f64)>,
    /// Coefficient of the duct leak, `ṁ = ρ C Δpⁿ` (m³/(s·Paⁿ)).
    pub leak_coefficient: f64,
}

/// Exponent of duct leaks, from memory (0.6).
pub const DUCT_LEAK_EXPONENT: f64 = 0.6;

/// The forced-air system of one possible house.
#[derive(Debug, Clone, PartialEq)]
pub struct ExistingDucts {
    /// Return side, without the filter.
    pub return_path: PathModel,
    /// Supply side.
    pub supply_path: PathModel,
    /// Linear and quadratic resistance of the filter [Pa/(m³/s)], (Pa/(m³/s)²).
    pub filter: [f64; 2],
    /// Per mode of the job: actual blower flow (m³/s) and pressure rise over the blower (Pa).
    pub operating_points: Vec<(f64, f64)>,
}

impl ExistingDucts {
    /// Infers the ducts from the readings. `density` is that of the air in them (kg/m³);
    /// the readings' flows are at standard density and become actual flows here.
    pub fn infer(
        job: &Job,
        handler: &AirHandler,
        inputs: &Inputs,
        density: f64,
        viscosity: f64,
    ) -> Self {
        let actual = air::STANDARD_DENSITY / density;
        let first = inputs
            .modes
            .iter()
            .find(|mode| mode.return_pressure.is_some())
            .or(inputs.modes.first());
        let reference_flow =
            first.map_or(0.3, |mode| mode.flow * actual) * (1.0 - inputs.return_leakage);
        // A pleated filter's drop is part laminar, part quadratic; half each at the reading, from memory.
        let drop = inputs.filter_pressure_drop;
        let filter = [
            0.5 * drop / reference_flow,
            0.5 * drop / (reference_flow * reference_flow),
        ];
        let side = |side: Side, path: &Path, branch_share: f64, leakage: f64| {
            let reading = |mode: &ModeReadings| match side {
                Side::Return => mode.return_pressure.map(f64::abs),
                Side::Supply => mode.supply_pressure,
            };
            let path_flow = |mode: &ModeReadings| mode.flow * actual * (1.0 - leakage);
            let mut sum = 0.0;
            let mut count = 0.0;
            for mode in &inputs.modes {
                if let Some(pressure) = reading(mode) {
                    let flow = path_flow(mode);
                    let filter_drop = match side {
                        Side::Return => filter[0] * flow + filter[1] * flow * flow,
                        Side::Supply => 0.0,
                    };
                    // The filter cannot take all of the plenum's pressure.
                    let rest = (pressure - filter_drop).max(0.1 * pressure);
                    sum += (rest / (flow * flow)).ln();
                    count += 1.0;
                }
            }
            let drawn = drawn_profile(&path.segments, reference_flow, density, viscosity);
            let trunk_drawn = drawn.last().map_or(0.0, |&(_, resistance)| resistance);
            let total = if count > 0.0 {
                f64::exp(sum / count)
            } else {
                trunk_drawn / (1.0 - branch_share)
            };
            let branch = total * branch_share;
            let trunk = total - branch;
            let mut knots = if trunk_drawn > 0.0 {
                let mut knots = vec![(0.0, total)];
                knots.extend(
                    drawn
                        .iter()
                        .map(|&(distance, part)| (distance, total - trunk * part / trunk_drawn)),
                );
                knots
            } else {
                vec![(0.0, total), (path.length, branch)]
            };
            for (tap, pressure) in job.taps.iter().zip(&inputs.tap_pressures) {
                if let (Some((mode, _)), Some(pressure)) = (&tap.pressure, pressure)
                    && tap.side == side
                    && let Some(readings) =
                        inputs.modes.iter().find(|readings| readings.mode == *mode)
                {
                    let flow = path_flow(readings);
                    pin(&mut knots, tap.from_fan, pressure.abs() / (flow * flow));
                }
            }
            let (leak_pressure, leak_flow) = inputs
                .modes
                .iter()
                .find_map(|mode| {
                    reading(mode).map(|pressure| (pressure, mode.flow * actual * leakage))
                })
                .unwrap_or_else(|| {
                    let flow = reference_flow;
                    (total * flow * flow, flow * leakage)
                });
            PathModel {
                knots,
                leak_coefficient: leak_flow / leak_pressure.max(1.0).powf(DUCT_LEAK_EXPONENT),
            }
        };
        let return_path = side(
            Side::Return,
            &handler.return_path,
            inputs.return_branch_share,
            inputs.return_leakage,
        );
        let supply_path = side(
            Side::Supply,
            &handler.supply_path,
            inputs.supply_branch_share,
            inputs.supply_leakage,
        );
        let operating_points = inputs
            .modes
            .iter()
            .map(|mode| {
                let flow = mode.flow * actual;
                let back = flow * (1.0 - inputs.return_leakage);
                let out = flow * (1.0 - inputs.supply_leakage);
                let rise = return_path.total() * back * back
                    + filter[0] * back
                    + filter[1] * back * back
                    + supply_path.total() * out * out;
                (flow, rise)
            })
            .collect();
        Self {
            return_path,
            supply_path,
            filter,
            operating_points,
        }
    }
}

impl PathModel {
    /// Resistance of the whole path (Pa/(m³/s)²).
    pub fn total(&self) -> f64 {
        self.knots[0].1
    }

    /// Resistance between a place on the trunk and the rooms (Pa/(m³/s)²); places beyond the trunk
    /// feel its branches only.
    pub fn resistance_to_rooms(&self, from_fan: f64) -> f64 {
        let last = self.knots[self.knots.len() - 1];
        if from_fan >= last.0 {
            return last.1;
        }
        for pair in self.knots.windows(2) {
            let (left, right) = (pair[0], pair[1]);
            if from_fan <= right.0 {
                let along = (from_fan - left.0) / (right.0 - left.0).max(1e-9);
                return left.1 + along.max(0.0) * (right.1 - left.1);
            }
        }
        last.1
    }
}

/// Cumulated resistance of a drawn trunk from the blower outward: `(distance, Σ R)`.
fn drawn_profile(segments: &[Segment], flow: f64, density: f64, viscosity: f64) -> Vec<(f64, f64)> {
    let mut distance = 0.0;
    let mut resistance = 0.0;
    let mut profile = Vec::with_capacity(segments.len());
    for segment in segments {
        if let Ok(run) = crate::duct_runs::segment_run(segment) {
            resistance += run.pressure_drop(flow, density, viscosity) / (flow * flow);
        }
        distance += segment.length;
        profile.push((distance, resistance));
    }
    profile
}

/// Makes the profile pass through a measured point and keeps it falling on both sides.
fn pin(knots: &mut Vec<(f64, f64)>, distance: f64, resistance: f64) {
    let end = knots[knots.len() - 1];
    let total = knots[0].1;
    let resistance = resistance.clamp(1e-3 * total, total);
    if distance >= end.0 {
        let last = knots.len() - 1;
        knots[last].1 = resistance;
    } else {
        let at = knots
            .iter()
            .position(|knot| knot.0 >= distance)
            .unwrap_or(knots.len());
        if knots.get(at).is_some_and(|knot| knot.0 == distance) {
            knots[at].1 = resistance;
        } else {
            knots.insert(at, (distance, resistance));
        }
    }
    for knot in knots.iter_mut().filter(|knot| knot.0 < distance) {
        knot.1 = knot.1.max(resistance);
    }
    for knot in knots.iter_mut().filter(|knot| knot.0 > distance) {
        knot.1 = knot.1.min(resistance);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pinned_profile_passes_through_the_reading_and_keeps_falling() {
        let mut knots = vec![(0.0, 100.0), (10.0, 40.0)];
        pin(&mut knots, 5.0, 30.0);
        let path = PathModel {
            knots,
            leak_coefficient: 0.0,
        };
        assert_eq!(path.resistance_to_rooms(5.0), 30.0);
        assert_eq!(path.resistance_to_rooms(0.0), 100.0);
        assert_eq!(path.resistance_to_rooms(10.0), 30.0);
        assert_eq!(path.resistance_to_rooms(2.5), 65.0);
    }

    #[test]
    fn an_even_trunk_loses_pressure_in_proportion_to_length() {
        let path = PathModel {
            knots: vec![(0.0, 100.0), (10.0, 40.0)],
            leak_coefficient: 0.0,
        };
        for (distance, expected) in [
            (0.0, 100.0),
            (2.5, 85.0),
            (5.0, 70.0),
            (10.0, 40.0),
            (12.0, 40.0),
        ] {
            assert_eq!(
                path.resistance_to_rooms(distance),
                expected,
                "at {distance} m"
            );
        }
    }
}
