//! What the set-up has to reach.

use crate::error::Error;
use crate::setup::{SetUp, State};
use house::model::{Mode, Season, Setting};
use plan::OperatingCase;
use plan::case::running_modes;

/// Rate and balance to be met in every mode that the controls use.
#[derive(Debug, Clone, PartialEq)]
pub struct Goal {
    /// Outdoor air to the rooms, at standard density (m³/s).
    pub required: f64,
    /// Largest distance of the balance from zero, over the larger stream. 0.10 is common practice.
    pub tolerance: f64,
    /// Probability at which the work ends.
    pub confidence: f64,
    /// Blower modes in which the ventilator runs.
    pub modes: Vec<Mode>,
    /// Setting of the ventilator.
    pub setting: Setting,
    /// Weather in which it has to be right. The mild one is that of the day, which alone decides
    /// unless others are added.
    pub seasons: Vec<Season>,
}

/// Balance within which an installation counts as balanced (common practice, no published source).
const USUAL_TOLERANCE: f64 = 0.10;

impl Goal {
    /// The job's required rate over the running time, the balance limit of its rules (±10 % where
    /// they have none), 95 %, in every blower mode in which the plan's ventilator runs, at the plan's setting.
    pub fn of(set_up: &SetUp) -> Self {
        let job = set_up.job();
        let plan = set_up.plan();
        let limit = plan::rules::Rules::new(job).balance_limit();
        let left = plan::merit::share_left(job, plan.interlock);
        Self {
            required: plan::rate::required(job).rate / left,
            tolerance: if limit.is_finite() {
                limit
            } else {
                USUAL_TOLERANCE
            },
            confidence: 0.95,
            modes: running_modes(job, plan.interlock),
            setting: plan.setting,
            seasons: vec![Season::Mild],
        }
    }

    /// The same in the weather of the whole year: the day's, and the design conditions of the job for
    /// winter and summer.
    pub fn all_year(&self) -> Self {
        Self {
            seasons: vec![Season::Mild, Season::Winter, Season::Summer],
            ..self.clone()
        }
    }

    /// Checks the numbers.
    ///
    /// # Errors
    /// Refuses a rate below 0, a tolerance outside 0.01 … 0.5, a confidence outside 0.5 … 0.999,
    /// and no modes at all.
    pub fn check(&self) -> Result<(), Error> {
        if !(self.required.is_finite() && self.required >= 0.0) {
            return Err(Error::refused(
                "required rate [m³/s]",
                self.required,
                "0 or more",
            ));
        }
        if !(0.01..=0.5).contains(&self.tolerance) {
            return Err(Error::refused(
                "tolerance of the balance",
                self.tolerance,
                "0.01 to 0.5",
            ));
        }
        if !(0.5..=0.999).contains(&self.confidence) {
            return Err(Error::refused(
                "probability at which the work ends",
                self.confidence,
                "0.5 to 0.999",
            ));
        }
        if self.modes.is_empty() {
            return Err(Error(
                "under this interlock the ventilator never runs, so there is nothing to balance"
                    .into(),
            ));
        }
        if !self.seasons.contains(&Season::Mild) {
            return Err(Error(
                "the weather of the day has to be among that in which it has to be right".into(),
            ));
        }
        Ok(())
    }

    /// The cases that have to be right, in every weather.
    pub fn cases(&self) -> Vec<OperatingCase> {
        let of_season = |&season: &Season| {
            self.modes.iter().map(move |&blower| OperatingCase {
                blower,
                setting: self.setting,
                season,
                wind: None,
            })
        };
        self.seasons.iter().flat_map(of_season).collect()
    }

    /// The states that have to be right with the dampers at these positions, in every weather.
    pub fn states(&self, set_up: &SetUp, dampers: [usize; 2]) -> Vec<State> {
        self.cases()
            .into_iter()
            .map(|case| State {
                case,
                ..set_up.state(case.blower, case.setting, dampers)
            })
            .collect()
    }

    /// Whether supply, extract and delivered air (kg/s) are as they should be.
    pub fn met(&self, supply: f64, extract: f64, delivered: f64) -> bool {
        delivered >= self.required * air::STANDARD_DENSITY
            && plan::case::balance(supply, extract).abs() <= self.tolerance
    }
}
