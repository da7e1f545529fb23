//! Setting the balancing dampers of a plan.

use crate::case::{OperatingCase, balance, running_modes};
use crate::installation::{Installation, Unsolved};
use house::model::{Job, Season, Setting};

/// Greatest angle at which a balancing damper is set (°); further it only whistles.
pub const GREATEST_DAMPER_ANGLE: f64 = 70.0;
/// Distance from even balance at which the search for the angle stops.
const EVEN_ENOUGH: f64 = 5e-4;
/// Bound on the steps of the search; bisection alone would need about 17.
const STEPS: usize = 24;

/// Sets one damper so that the balances of all blower modes in which the ventilator runs lie as
/// evenly around zero as one damper can make them, on a mild day at the given setting.
///
/// Only the stronger stream is throttled, so the least throttling that does it is found. The
/// midpoint of the extreme balances falls steadily as the supply damper closes and rises as the
/// extract damper closes; it is brought to zero by regula falsi (Illinois) on the angle.
pub fn set_dampers(
    installation: &mut Installation,
    job: &Job,
    setting: Setting,
) -> Result<(), Unsolved> {
    let Some(plan) = installation.plan() else {
        return Ok(());
    };
    let cases: Vec<OperatingCase> = running_modes(job, plan.interlock)
        .into_iter()
        .map(|blower| OperatingCase {
            blower,
            setting,
            season: Season::Mild,
            wind: None,
        })
        .collect();
    even_out(installation, &cases, 0.0)
}

/// The same for any cases, with the midpoint of the extreme balances brought to `aim` instead of
/// zero.
pub fn even_out(
    installation: &mut Installation,
    cases: &[OperatingCase],
    aim: f64,
) -> Result<(), Unsolved> {
    if cases.is_empty() {
        return Ok(());
    }
    let mut midpoint = |supply: f64, extract: f64| -> Result<f64, Unsolved> {
        installation.set_dampers(supply, extract);
        let (mut highest, mut lowest) = (f64::NEG_INFINITY, f64::INFINITY);
        for &case in cases {
            let [supply, extract] = installation.solve_streams(case)?;
            let balance = balance(supply, extract);
            highest = highest.max(balance);
            lowest = lowest.min(balance);
        }
        Ok(0.5 * (highest + lowest) - aim)
    };
    let open = midpoint(0.0, 0.0)?;
    if open.abs() <= EVEN_ENOUGH {
        return Ok(());
    }
    let mut turn = |angle: f64| {
        if open > 0.0 {
            midpoint(angle, 0.0)
        } else {
            midpoint(0.0, angle)
        }
    };
    let (mut low, mut low_value) = (0.0, open);
    // Most dampers end up in the first half of their travel.
    let mut high = 0.5 * GREATEST_DAMPER_ANGLE;
    let mut high_value = turn(high)?;
    if high_value * open > 0.0 {
        (low, low_value) = (high, high_value);
        high = GREATEST_DAMPER_ANGLE;
        high_value = turn(high)?;
        if high_value * open > 0.0 {
            return Ok(());
        }
    }
    let mut side = 0;
    for _ in 0..STEPS {
        let mut angle = (low * high_value - high * low_value) / (high_value - low_value);
        if !(angle > low && angle < high) {
            angle = 0.5 * (low + high);
        }
        let value = turn(angle)?;
        if value.abs() <= EVEN_ENOUGH || high - low < 0.02 {
            break;
        }
        if value * low_value > 0.0 {
            (low, low_value) = (angle, value);
            if side == -1 {
                high_value *= 0.5;
            }
            side = -1;
        } else {
            (high, high_value) = (angle, value);
            if side == 1 {
                low_value *= 0.5;
            }
            side = 1;
        }
    }
    Ok(())
}
