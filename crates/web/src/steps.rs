//! The steps of a job and how far each is.

use plan::walls::WallsReport;
use units::{Quantity as _, VolumeFlow, both};

use crate::job::Open;
use crate::say::counted;

/// A step.
pub struct Step {
    /// Its name.
    pub name: &'static str,
    /// Its address below the job's.
    pub address: &'static str,
    /// How far it is.
    pub state: State,
    /// More about that, as a sentence.
    pub words: String,
}

/// How far a step is.
pub enum State {
    /// Done.
    Done,
    /// Something is chosen, and nothing forbids it.
    Chosen,
    /// To be done.
    Open,
    /// It needs this step first.
    Blocked(&'static str),
}

impl State {
    /// The class of its mark.
    pub fn class(&self) -> &'static str {
        match self {
            Self::Done | Self::Chosen => "done",
            Self::Open => "open",
            Self::Blocked(_) => "blocked",
        }
    }
}

/// The steps in their order.
pub fn steps(open: &Open) -> Vec<Step> {
    let known = &open.known;
    let step = |name, address, state, words: String| Step {
        name,
        address,
        state,
        words,
    };
    let errors = known.reading.problems.count(diagnostics::Severity::Error);
    let Some(job) = known.job() else {
        let words = if errors == 1 {
            "One thing in the survey has to be mended first.".to_owned()
        } else {
            format!("{errors} things in the survey have to be mended first.")
        };
        let blocked = || State::Blocked("survey");
        return vec![
            step("Survey", "/survey", State::Open, words),
            step("Needs", "/needs", blocked(), "Waits for the survey.".into()),
            step("Walls", "/walls", blocked(), "Waits for the survey.".into()),
            step("Plans", "/plans", blocked(), "Waits for the survey.".into()),
            step(
                "Set-up day",
                "/day",
                blocked(),
                "Waits for the survey.".into(),
            ),
        ];
    };
    let assumed = known.reading.assumed.len();
    let required = plan::rate::required(job);
    let rate = both(VolumeFlow::from_si(required.rate), known.system());
    let walls = if job.walls.is_empty() {
        (State::Open, "No wall is drawn yet.".to_owned())
    } else {
        match known.sited(job) {
            Err(why) => (State::Open, format!("The walls cannot be used: {why}.")),
            Ok((_, report)) => walls_state(job, report),
        }
    };
    let plans = match &job.chosen {
        Some(_) => match known.forbidden(job) {
            Some(why) => (State::Open, format!("Chosen, but must not stay so: {why}")),
            None => (
                State::Chosen,
                "A plan is chosen; what flows says what it does.".to_owned(),
            ),
        },
        None => {
            let missing = plan::candidate::missing(job);
            match missing.first() {
                Some(first) => (State::Open, first.in_words().to_owned()),
                None => (State::Open, "No plan is chosen yet.".to_owned()),
            }
        }
    };
    let day = crate::day::progress(open, job);
    vec![
        step(
            "Survey",
            "/survey",
            State::Done,
            format!(
                "Complete; {} assumed.",
                counted(assumed, "value is", "values are")
            ),
        ),
        step(
            "Needs",
            "/needs",
            State::Done,
            format!("{rate} of outdoor air."),
        ),
        step("Walls", "/walls", walls.0, walls.1),
        step("Plans", "/plans", plans.0, plans.1),
        step("Set-up day", "/day", day.0, day.1),
    ]
}

fn walls_state(job: &house::model::Job, report: &WallsReport) -> (State, String) {
    let pairs: Vec<_> = report.pairs.iter().collect();
    let chosen = job.chosen.as_ref().and_then(|plan| {
        pairs
            .iter()
            .find(|pair| pair.intake == plan.intake && pair.exhaust == plan.exhaust)
    });
    match chosen {
        Some(pair) if pair.verdict.holds() => (
            State::Done,
            "Intake and exhaust of the plan keep every rule that decides.".into(),
        ),
        Some(_) => (
            State::Open,
            "Intake and exhaust of the plan break a rule.".into(),
        ),
        None if pairs.iter().any(|pair| pair.verdict.holds()) => (
            State::Done,
            "Some pair of intake and exhaust keeps every rule that decides.".into(),
        ),
        None if pairs.is_empty() => (
            State::Open,
            "No intake and exhaust is placed on a drawn wall yet.".into(),
        ),
        None => (
            State::Open,
            "No pair of intake and exhaust keeps every rule.".into(),
        ),
    }
}
