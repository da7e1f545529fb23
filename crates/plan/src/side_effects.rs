//! What a plan does beside moving air: noise, sweating ducts, a house drawn down, cold air to the
//! furnace.

use crate::candidate::Plan;
use crate::case::{CaseFlows, usual_mode};
use crate::condensation;
use crate::installation::{Installation, Unsolved, sensible_recovery};
use crate::rules::Rules;
use crate::safety::{AsFound, DrawnDown};
use crate::sound::sound_in_rooms;
use ::rules::Row;
use house::model::{End, Job, Mode, Season, Side, Weather};

/// What a plan does beside moving air.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SideEffects {
    /// How far the room that fares worst lies above its target of sound \[dB\], below zero where all
    /// are kept; in the usual blower mode. `None` without a target.
    pub sound_excess: Option<f64>,
    /// The least distance of the surface of an outdoor or exhaust duct above the dew point around it
    /// \[K\], winter and summer.
    pub dew_margin: Option<f64>,
    /// The appliance that comes nearest to its limit of depressurisation.
    pub drawn_down: Option<DrawnDown>,
    /// The air that enters the furnace.
    pub furnace_air: Option<FurnaceAir>,
}

/// The air that enters a furnace while it heats on the winter design day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FurnaceAir {
    /// Temperature with the recovery as tested (°C).
    pub temperature: f64,
    /// The same with the recovery lost, as by a defrost or a failed fan (°C).
    pub without_recovery: f64,
    /// Least temperature asked for (°C).
    pub least: f64,
}

/// The side effects of a plan, from its flows in every running case, and the rule that one of them
/// breaks, if any. Leaves the household of the installation changed.
///
/// # Errors
///
/// [`Unsolved`] if a state of the house has no solution.
pub fn side_effects(
    job: &Job,
    rules: &Rules<'_>,
    as_found: &AsFound,
    plan: &Plan,
    installation: &mut Installation,
    cases: &[CaseFlows],
) -> Result<(SideEffects, Option<&'static Row>), Unsolved> {
    let usual = usual_mode(job, plan.interlock);
    let usual: Vec<&CaseFlows> = cases
        .iter()
        .filter(|case| Some(case.case.blower) == usual)
        .collect();
    // A number of the job outside the formulas leaves the effect unknown: the reports on sound and
    // insulation say which number it is.
    let sound_excess = usual
        .iter()
        .find(|case| case.case.season == Season::Mild)
        .and_then(|case| sound_in_rooms(job, plan, case, &job.rules).ok())
        .map(|report| report.worst_excess())
        .filter(|excess| excess.is_finite());
    let dew_margin = condensation::least_margin(job, plan, &usual).ok().flatten();
    let furnace_air = furnace_air(job, rules, plan, cases);
    let (drawn_down, spilling) = as_found.with_plan(job, plan, installation)?;
    let cold = furnace_air
        .filter(|air| air.temperature < air.least)
        .and_then(|_| rules.furnace_return_air());
    Ok((
        SideEffects {
            sound_excess,
            dew_margin,
            drawn_down,
            furnace_air,
        },
        spilling.or(cold),
    ))
}

/// Temperature (°C) of return air to which a part of supply air was added that an exchanger warms
/// with a sensible recovery: `T = T_r − f (1 − ε)(T_r − T_o)`, with the same specific heat, f the
/// share of the blower's mass flow (0 to 1), T_r the rooms and T_o outdoors.
///
/// ```
/// use house::model::{Season, Weather};
/// let weather = Weather { season: Season::Winter, outdoor: -25.0, indoor: 20.0 };
/// let mixed = plan::side_effects::mixed_temperature(0.12, 0.65, &weather);
/// assert!((mixed - 18.11).abs() < 0.005);
/// ```
pub fn mixed_temperature(share: f64, recovery: f64, weather: &Weather) -> f64 {
    weather.indoor - share.clamp(0.0, 1.0) * (1.0 - recovery) * (weather.indoor - weather.outdoor)
}

/// The air that enters the furnace, of fresh and return air ([`mixed_temperature`]).
///
/// The furnace burns in the blower's heating mode; where that was not measured, the coldest of the
/// running modes counts. `None` where no supply air enters the return of a furnace.
fn furnace_air(
    job: &Job,
    rules: &Rules<'_>,
    plan: &Plan,
    cases: &[CaseFlows],
) -> Option<FurnaceAir> {
    let least = rules.least_return_temperature()?;
    let into_return = plan
        .supply
        .iter()
        .any(|end| matches!(*end, End::Tap(index) if job.taps[index].side == Side::Return));
    if !into_return {
        return None;
    }
    let [weather, ..] = job.climate.weathers;
    let recovery = sensible_recovery(&job.units[plan.unit], weather.outdoor);
    let mixed = |case: &CaseFlows, recovery: f64| {
        mixed_temperature(case.supply / case.blower_flow, recovery, &weather)
    };
    let in_mode = |wanted: &dyn Fn(Mode) -> bool| {
        cases
            .iter()
            .filter(|case| case.case.season == Season::Winter && case.blower_flow > 0.0)
            .filter(|case| wanted(case.case.blower))
            .map(|case| FurnaceAir {
                temperature: mixed(case, recovery),
                without_recovery: mixed(case, 0.0),
                least,
            })
            .min_by(|a, b| a.without_recovery.total_cmp(&b.without_recovery))
    };
    in_mode(&|mode| mode == Mode::Heating).or_else(|| in_mode(&|mode| mode != Mode::Off))
}
