//! What a plan does where it balances worst, at a glance: for surfaces that show at once what an
//! answer of the survey changes.

use house::model::{Job, Mode, Season, Setting};
use rand_core::SeedableRng as _;
use rand_distr::{Distribution as _, StandardNormal};
use units::text::fixed;
use units::{Quantity as _, System, VolumeFlow};

use crate::balance::set_dampers;
use crate::candidate::Plan;
use crate::case::{CaseFlows, running_modes};
use crate::flows::{Band, DRAWS, FlowsError, SEED, operating_cases};
use crate::inputs::Parameters;
use crate::installation::Installation;

/// The running case of a plan with the largest imbalance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// Blower mode of the case.
    pub blower: Mode,
    /// Setting of the ventilator.
    pub setting: Setting,
    /// Weather of the case.
    pub season: Season,
    /// Outdoor air delivered to rooms (kg/s).
    pub delivered: f64,
    /// Balance: supply less extract, as a part of the larger.
    pub balance: f64,
    /// The 90 % bands of both, once they are computed.
    pub bands: Option<Bands>,
}

/// The 90 % bands of what an [`Effect`] says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bands {
    /// Of the outdoor air delivered (kg/s).
    pub delivered: Band,
    /// Of the balance.
    pub balance: Band,
}

/// Solves the running cases of a plan at its setting, as [`crate::flows::flows`] does for every case,
/// without bands: a few milliseconds. With `dampers` they are first set so that the running modes
/// balance on a mild day. `None` if the ventilator never runs.
///
/// # Errors
///
/// [`FlowsError`] if the network of the plan cannot be built or solved.
pub fn glance(job: &Job, plan: &Plan, dampers: bool) -> Result<Option<Effect>, FlowsError> {
    Ok(worst(job, plan, dampers)?.map(|(_, worst)| Effect {
        blower: worst.case.blower,
        setting: worst.case.setting,
        season: worst.case.season,
        delivered: worst.delivered,
        balance: worst.balance(),
        bands: None,
    }))
}

/// The running case that balances worst, and the plan with its dampers.
fn worst(job: &Job, plan: &Plan, dampers: bool) -> Result<Option<(Plan, CaseFlows)>, FlowsError> {
    let parameters = Parameters::new(job);
    let mut installation = Installation::new(job, Some(plan), parameters.best(), false)?;
    if dampers {
        set_dampers(&mut installation, job, plan.setting)?;
    }
    let plan = installation.plan().unwrap_or(plan).clone();
    let running = running_modes(job, plan.interlock);
    let mut worst: Option<CaseFlows> = None;
    for case in operating_cases(job, &plan, None) {
        if case.setting != plan.setting || !running.contains(&case.blower) {
            continue;
        }
        let flows = installation.solve(case)?;
        let size = |flows: &CaseFlows| flows.balance().abs();
        // The last of equals, as in the report on all cases.
        if worst
            .as_ref()
            .is_none_or(|worst| size(&flows) >= size(worst))
        {
            worst = Some(flows);
        }
    }
    Ok(worst.map(|worst| (plan, worst)))
}

/// The same with the bands, from houses drawn from the survey: some ten times as long. `rest` is
/// called before each of them, so that whoever asks can let something else go first.
///
/// # Errors
///
/// [`FlowsError`] if the network of the plan cannot be built or solved.
pub fn effect(
    job: &Job,
    plan: &Plan,
    dampers: bool,
    rest: &dyn Fn(),
) -> Result<Option<Effect>, FlowsError> {
    let Some((plan, worst)) = worst(job, plan, dampers)? else {
        return Ok(None);
    };
    let parameters = Parameters::new(job);
    let mut random = rand_pcg::Pcg64Mcg::seed_from_u64(SEED);
    let mut delivered = Vec::with_capacity(DRAWS);
    let mut balance = Vec::with_capacity(DRAWS);
    for _ in 0..DRAWS {
        rest();
        let scores: Vec<f64> = parameters
            .list()
            .iter()
            .map(|_| StandardNormal.sample(&mut random))
            .collect();
        let inputs = parameters.draw(&scores);
        let drawn = Installation::new(job, Some(&plan), &inputs, false)
            .map_err(FlowsError::from)
            .and_then(|mut drawn| Ok(drawn.solve(worst.case)?));
        if let Ok(drawn) = drawn {
            delivered.push(drawn.delivered);
            balance.push(drawn.balance());
        }
    }
    Ok(Some(Effect {
        blower: worst.case.blower,
        setting: worst.case.setting,
        season: worst.case.season,
        delivered: worst.delivered,
        balance: worst.balance(),
        bands: Some(Bands {
            delivered: Band::of(&mut delivered),
            balance: Band::of(&mut balance),
        }),
    }))
}

impl Effect {
    /// The balance, with its band once that is known: `−6.1 % ± 4.0 %`.
    pub fn balance_words(&self) -> String {
        let balance = fixed(100.0 * self.balance, 1);
        match self.bands {
            Some(bands) => format!(
                "{balance} % ± {} %",
                fixed(100.0 * bands.balance.half_width(), 1)
            ),
            None => format!("{balance} %"),
        }
    }

    /// The outdoor air delivered, as volume of standard air, with its band once that is known.
    pub fn delivered_words(&self, system: System) -> String {
        let show = |flow: f64| VolumeFlow::from_si(flow / air::STANDARD_DENSITY).show(system);
        let delivered = show(self.delivered);
        match self.bands {
            Some(bands) => format!("{delivered} ± {}", show(bands.delivered.half_width())),
            None => delivered,
        }
    }

    /// The case in words: `blower heating, ventilator high, in winter`.
    pub fn case_words(&self) -> String {
        let weather = match self.season {
            Season::Winter => "in winter",
            Season::Mild => "on a mild day",
            Season::Summer => "in summer",
        };
        format!(
            "blower {}, ventilator {}, {weather}",
            self.blower.name(),
            self.setting.name()
        )
    }
}

/// What an answer changes, in sentences; empty if it changes neither figure as far as it is shown.
/// Bands are compared only where both are known.
pub fn change_words(before: &Effect, after: &Effect, system: System) -> Vec<String> {
    let [mut before, mut after] = [*before, *after];
    if before.bands.is_none() || after.bands.is_none() {
        (before.bands, after.bands) = (None, None);
    }
    let mut words = Vec::new();
    let mut add = |what: &str, before: String, after: String| {
        if before != after {
            words.push(format!("{what} would go from {before} to {after}."));
        }
    };
    add(
        "The worst balance",
        before.balance_words(),
        after.balance_words(),
    );
    add(
        "The outdoor air delivered there",
        before.delivered_words(system),
        after.delivered_words(system),
    );
    add(
        "The case that balances worst",
        before.case_words(),
        after.case_words(),
    );
    words
}
