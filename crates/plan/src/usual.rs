//! What flows in the mode in which the ventilator runs most of the time.

use house::model::{Job, Mode, Season};

use crate::candidate::Plan;
use crate::case::{CaseFlows, OperatingCase, usual_mode};
use crate::flows::FlowsError;
use crate::inputs::Parameters;
use crate::installation::Installation;

/// What each of a plan's own extract grilles draws on a mild day (kg/s), in their order, at the
/// setting of the plan and in the usual blower mode.
///
/// # Errors
///
/// [`FlowsError`] if the network of the plan cannot be built or solved.
pub fn extract_of_grilles(job: &Job, plan: &Plan) -> Result<Vec<f64>, FlowsError> {
    let parameters = Parameters::new(job);
    let mut installation = Installation::new(job, Some(plan), parameters.best(), false)?;
    installation.solve(OperatingCase {
        blower: usual_mode(job, plan.interlock).unwrap_or(Mode::Off),
        setting: plan.setting,
        season: Season::Mild,
        wind: None,
    })?;
    Ok(installation.extract_of_grilles())
}

/// Flows of a plan at its setting in the usual blower mode, for winter, a mild day and summer.
///
/// # Errors
///
/// [`FlowsError`] if the network of the plan cannot be built or solved.
pub fn usual_flows(job: &Job, plan: &Plan) -> Result<[CaseFlows; 3], FlowsError> {
    let parameters = Parameters::new(job);
    let mut installation = Installation::new(job, Some(plan), parameters.best(), false)?;
    let blower = usual_mode(job, plan.interlock).unwrap_or(Mode::Off);
    let mut solve = |season| {
        installation.solve(OperatingCase {
            blower,
            setting: plan.setting,
            season,
            wind: None,
        })
    };
    Ok([
        solve(Season::Winter)?,
        solve(Season::Mild)?,
        solve(Season::Summer)?,
    ])
}
