//! The hard rules that discard a candidate, each a row with its limit and its authority.

use house::model::{End, Interlock, Job, Layout, Mode, Side};

/// A rule that discards candidates.
#[derive(Debug, PartialEq)]
pub struct Rule {
    /// Short fixed name.
    pub id: &'static str,
    /// What it demands, as a sentence.
    pub demand: &'static str,
    /// Whose rule it is.
    pub authority: &'static str,
    /// What the contractor can do when everything falls to it.
    pub remedy: &'static str,
}

const PRACTICE: &str = "common practice, no published source";

/// Least distance of a tap on the return from the air-handler fan: 10 ft (m).
pub const RETURN_TAP_FROM_FAN: f64 = 3.048;
/// Least distance of two taps on the return: 3 ft (m).
pub const RETURN_TAPS_APART: f64 = 0.9144;
/// Least distance of the intake from the unit's own exhaust: 6 ft (m).
pub const TERMINALS_APART: f64 = 1.8288;
/// Least height of an intake above grade: 18 in (m).
pub const INTAKE_ABOVE_GRADE: f64 = 0.4572;

macro_rules! rules {
    ($($(#[$doc:meta])* $name:ident = $id:literal, $demand:literal, $authority:expr, $remedy:literal;)*) => {
        $($(#[$doc])* pub static $name: Rule = Rule { id: $id, demand: $demand, authority: $authority, remedy: $remedy };)*
        /// All hard rules, in the order in which they are applied.
        pub static ALL: &[&Rule] = &[$(&$name),*];
    };
}

rules! {
    /// Surroundings of the unit.
    SURROUNDINGS = "surroundings",
        "The spot stays within the temperatures that the unit tolerates, 50 to 104 °F unless its data say otherwise.",
        PRACTICE, "Choose a warmer spot, or enclose and insulate this one.";
    /// Outlet, drain, support.
    SERVICES = "services",
        "The spot has an outlet, something to hang the unit from and, where the unit needs one, a drain.",
        PRACTICE, "Say in the job file how the spot gets its outlet, drain and support, or choose another.";
    /// Runs measured.
    NO_RUN = "no run",
        "The survey gives a duct run from the spot to every end of the ducts.",
        "survey", "Measure the missing runs and add them to the spot.";
    /// Taps near the fan.
    NEAR_FAN = "near fan",
        "Taps on the return lie at least 10 ft along the duct from the air-handler fan.",
        PRACTICE, "Move the tap upstream, away from the air handler.";
    /// Taps near each other.
    TAPS_TOGETHER = "taps together",
        "Return-to-return taps lie at least 3 ft apart, with the extract upstream.",
        PRACTICE, "Move the extract tap farther from the air handler than the supply tap.";
    /// Terminals near each other.
    TERMINALS_TOGETHER = "terminals together",
        "The intake lies at least 6 ft from the unit's own exhaust, unless one hood is made for both.",
        PRACTICE, "Measure the distance between the two, move one, or use a two-in-one hood.";
    /// Intake in the snow.
    LOW_INTAKE = "low intake",
        "The intake lies at least 18 in above grade.",
        PRACTICE, "Raise the intake.";
    /// Blower needed.
    BLOWER_NEEDED = "blower needed",
        "Return-to-return relies on the blower running at least at low whenever the ventilator runs.",
        PRACTICE, "Let the ventilator call the blower.";
    /// No such mode.
    NO_MODE = "no such mode",
        "The interlock calls a blower mode that the survey has measured.",
        "survey", "Measure the blower in the mode that the interlock calls.";
    /// Hood limit.
    HOOD_LIMIT = "hood limit",
        "A two-in-one hood carries no more than its flow limit, about 110 cfm being usual.",
        PRACTICE, "Use two hoods.";
    /// Rate not met.
    RATE = "rate",
        "The required outdoor air reaches the rooms in every blower mode in which the ventilator runs.",
        "the rate asked for", "Choose a stronger unit, larger ducts or another layout.";
    /// Beyond the fan.
    NO_PRESSURE_LEFT = "no pressure left",
        "The unit works within its certified curve.",
        "certified performance data", "Choose larger ducts or a stronger unit.";
    /// Solver.
    NOT_SOLVED = "not solved",
        "Every operating case has a solution with a mass imbalance below 1e-9 kg/s.",
        "solver", "Please send us the job file: this should not happen.";
}

/// Rules of a unit in a spot.
pub fn unit_in_spot(job: &Job, unit: usize, spot: usize) -> Option<&'static Rule> {
    let (unit, spot) = (&job.units[unit], &job.spots[spot]);
    let ambient = unit.ambient.unwrap_or([10.0, 40.0]);
    if spot.coldest < ambient[0] || spot.warmest > ambient[1] {
        return Some(&SURROUNDINGS);
    }
    if !spot.outlet || !spot.support || (unit.needs_drain && !spot.drain) {
        return Some(&SERVICES);
    }
    None
}

/// Rules of the taps and grilles that a layout joins.
pub fn joint(
    job: &Job,
    spot: usize,
    layout: Layout,
    extract: &[End],
    supply: &[End],
) -> Option<&'static Rule> {
    if extract
        .iter()
        .chain(supply)
        .any(|&end| !reached(job, spot, end))
    {
        return Some(&NO_RUN);
    }
    let return_tap = |end: &End| match *end {
        End::Tap(index) if job.taps[index].side == Side::Return => Some(job.taps[index].from_fan),
        _ => None,
    };
    if extract
        .iter()
        .chain(supply)
        .filter_map(return_tap)
        .any(|distance| distance < RETURN_TAP_FROM_FAN)
    {
        return Some(&NEAR_FAN);
    }
    if layout == Layout::ReturnToReturn {
        let upstream = extract
            .iter()
            .filter_map(return_tap)
            .fold(f64::INFINITY, f64::min);
        let downstream = supply.iter().filter_map(return_tap).fold(0.0, f64::max);
        if upstream - downstream < RETURN_TAPS_APART {
            return Some(&TAPS_TOGETHER);
        }
    }
    None
}

/// Rules of the pair of terminals.
pub fn terminals(job: &Job, spot: usize, intake: usize, exhaust: usize) -> Option<&'static Rule> {
    if !reached(job, spot, End::Terminal(intake)) || !reached(job, spot, End::Terminal(exhaust)) {
        return Some(&NO_RUN);
    }
    if intake != exhaust {
        let known = job.separations.iter().find(|separation| {
            separation.between == [intake, exhaust] || separation.between == [exhaust, intake]
        });
        // An unknown distance is not assumed to be enough.
        if known.is_none_or(|separation| separation.distance < TERMINALS_APART) {
            return Some(&TERMINALS_TOGETHER);
        }
    }
    if job.terminals[intake].height < INTAKE_ABOVE_GRADE {
        return Some(&LOW_INTAKE);
    }
    None
}

/// Rules of the interlock.
pub fn interlock(job: &Job, layout: Layout, interlock: Interlock) -> Option<&'static Rule> {
    let measured = |mode: Mode| {
        job.air_handler
            .as_ref()
            .is_some_and(|handler| handler.modes.iter().any(|known| known.mode == mode))
    };
    match interlock {
        Interlock::None if layout == Layout::ReturnToReturn => Some(&BLOWER_NEEDED),
        Interlock::None => None,
        Interlock::VentilatorCallsBlower => {
            (!Mode::ALL.into_iter().any(measured)).then_some(&NO_MODE)
        }
        Interlock::OnlyWithBlower => {
            (!measured(Mode::Heating) && !measured(Mode::Cooling)).then_some(&NO_MODE)
        }
    }
}

/// Whether the survey gives a run from the spot to an end.
fn reached(job: &Job, spot: usize, end: End) -> bool {
    job.spots[spot].runs.iter().any(|run| run.to == end)
}
