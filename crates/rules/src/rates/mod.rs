//! How much outdoor air a dwelling needs, by each rule set, with its arithmetic in words.
//!
//! [`side_by_side`] computes every rule for one [`Dwelling`]; [`decide`] says which of them holds
//! for the rules that a job has chosen. ASHRAE 62.2 has an inch-pound and an SI form that are
//! rounded apart: the one of the job's system of units is used and the two are never converted
//! into each other. A rule that was written in one system only is computed in that one.
//!
//! [`local`] compares the exhausts of kitchens and baths; [`exposure`] and [`running`] treat
//! ventilation that does not run all the time.

mod ashrae;
mod dwelling;
mod elsewhere;
pub mod exposure;
mod irc;
pub mod local;
pub mod running;
mod words;

use units::System;

pub use ashrae::{Edition, counted_infiltration, one_line_infiltration, total_rate};
pub use dwelling::{Basement, Dwelling, Rooms};
pub use elsewhere::Category;
pub use irc::table_rate;

use crate::book::RuleBook;
use crate::infiltration::OutOfRange;
use crate::row::{Row, RuleSet};

/// One step of an arithmetic.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What is computed, for instance `effective leakage area`.
    pub what: String,
    /// The formula with its numbers and its result: `0.03 × 1800 ft² + … = 84.0 cfm`.
    pub formula: String,
    /// The result (SI).
    pub value: f64,
    /// Unit of `value`: `m3/s`, `m2`, or empty for a bare number.
    pub unit: &'static str,
}

impl Step {
    /// A step that gives a flow (m³/s).
    fn flow(what: impl Into<String>, formula: String, value: f64) -> Self {
        Self {
            what: what.into(),
            formula,
            value,
            unit: "m3/s",
        }
    }

    /// A step that gives a bare number.
    fn number(what: impl Into<String>, formula: String, value: f64) -> Self {
        Self {
            what: what.into(),
            formula,
            value,
            unit: "",
        }
    }
}

/// What one rule asks of a dwelling.
#[derive(Debug, Clone, PartialEq)]
pub struct Rate {
    /// The rule, with its authority and how well it is known.
    pub rule: &'static Row,
    /// Outdoor air that the rule wants before any credit or factor for the system (m³/s).
    pub total: f64,
    /// Outdoor air that the ventilator has to bring all the time (m³/s).
    pub needed: f64,
    /// Infiltration that was counted (m³/s), if a credit was given.
    pub credit: Option<f64>,
    /// The arithmetic, step by step.
    pub steps: Vec<Step>,
    /// Exceptions and credits of the rule that applied, and those that did not.
    pub exceptions: Vec<String>,
    /// What the survey lacks for the whole of the rule, and what to type.
    pub missing: Vec<String>,
    /// What is in doubt and decides nothing, or was taken on the safe side.
    pub doubts: Vec<String>,
}

impl Rate {
    /// The arithmetic in one line: the whole of a single step, the part that decides where the
    /// largest of several counts, otherwise the first step and the last.
    pub fn in_short(&self) -> String {
        let (Some(first), Some(last)) = (self.steps.first(), self.steps.last()) else {
            return String::new();
        };
        let of_largest = |step: &&Step| step.value == last.value && step.formula.contains('=');
        match self.steps.len() {
            1 => first.formula.clone(),
            _ if last.what.starts_with("the larg") => self
                .steps
                .iter()
                .find(of_largest)
                .unwrap_or(last)
                .formula
                .clone(),
            _ if last.formula.contains('=') => {
                format!("{}; {}: {}", first.formula, last.what, last.formula)
            }
            _ => format!("{}: {}", last.what, last.formula),
        }
    }

    /// A rate that has no more than its steps; the last of them is what is needed.
    fn plain(rule: &'static Row, steps: Vec<Step>) -> Self {
        let needed = steps.last().map_or(0.0, |step| step.value);
        Self {
            rule,
            total: needed,
            needed,
            credit: None,
            steps,
            exceptions: Vec::new(),
            missing: Vec::new(),
            doubts: Vec::new(),
        }
    }
}

/// The row of a name that this crate itself has; tests hold every name used here against the
/// rows.
fn own_row(id: &'static str) -> &'static Row {
    static LOST: Row = Row::BLANK;
    crate::row(id).unwrap_or(&LOST)
}

/// Every rule for one dwelling, in the order of the rows. `system` chooses the form of the rules
/// that have two.
///
/// # Errors
///
/// [`OutOfRange`] if the dwelling has a number that no dwelling has.
pub fn side_by_side(dwelling: &Dwelling, system: System) -> Result<Vec<Rate>, OutOfRange> {
    dwelling.check()?;
    let mut rates: Vec<Rate> = Edition::ALL
        .into_iter()
        .map(|edition| ashrae::rate(dwelling, edition, system))
        .collect();
    rates.push(irc::by_table(dwelling));
    rates.push(irc::by_equation(dwelling));
    rates.push(irc::washington(dwelling));
    rates.push(elsewhere::canada(dwelling));
    rates.push(elsewhere::england(dwelling));
    rates.extend(Category::ALL.map(|category| elsewhere::europe(dwelling, category)));
    rates.push(elsewhere::very_tight(dwelling));
    Ok(rates)
}

/// Which of the rules that have several variants a job uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Variants {
    /// Edition of ASHRAE 62.2.
    pub edition: Edition,
    /// Category of EN 16798-1.
    pub category: Category,
}

impl Default for Variants {
    /// The newest edition, the medium category.
    fn default() -> Self {
        Self {
            edition: Edition::From2019,
            category: Category::II,
        }
    }
}

/// The rate that holds, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// The rate that decides.
    pub rate: Rate,
    /// The rules of the chosen sets, the deciding one among them.
    pub chosen: Vec<&'static str>,
    /// Why this one, in a sentence.
    pub because: String,
}

/// The rate that holds under a job's rules. Where several sets are chosen, each has to be kept, so
/// the largest decides; the two ways of the International Residential Code may be chosen freely, so
/// the smaller of them counts. A book that has no rate of its own takes ASHRAE 62.2.
///
/// # Errors
///
/// As [`side_by_side`].
pub fn decide(
    dwelling: &Dwelling,
    book: &RuleBook,
    variants: Variants,
    system: System,
) -> Result<Decision, OutOfRange> {
    let rates = side_by_side(dwelling, system)?;
    let named = |id: &str| rates.iter().find(|rate| rate.rule.id == id);
    let mut candidates: Vec<&Rate> = Vec::new();
    let mut free_choice = false;
    for set in book.sets() {
        let rate = match set {
            RuleSet::CommonPractice => None,
            RuleSet::Ashrae622 => named(variants.edition.rule()),
            RuleSet::VeryTightHouse => named("very tight house rate"),
            RuleSet::Irc2024 | RuleSet::Irc2021 => {
                free_choice = true;
                [named("IRC rate by table"), named("IRC rate by equation")]
                    .into_iter()
                    .flatten()
                    .min_by(|one, other| one.needed.total_cmp(&other.needed))
            }
            RuleSet::Washington => named("Washington rate"),
            RuleSet::Canada | RuleSet::Ontario => named("F326 rate"),
            RuleSet::England => named("England rate"),
            RuleSet::Europe => named(variants.category.rule()),
        };
        candidates.extend(rate.filter(|rate| rate.rule.decides()));
    }
    let by_default = candidates.is_empty();
    if by_default {
        candidates.extend(named(variants.edition.rule()));
    }
    let rate = candidates
        .iter()
        .copied()
        .max_by(|one, other| one.needed.total_cmp(&other.needed))
        .or(rates.first())
        .cloned()
        .unwrap_or_else(|| ashrae::rate(dwelling, variants.edition, system));
    let because = match (by_default, candidates.len()) {
        (true, _) => "the chosen rules have no rate of their own, so ASHRAE 62.2 is taken",
        (false, 1) if free_choice => {
            "the table and the equation may be used alike, so the smaller counts"
        }
        (false, 1) => "it is the rate of the chosen rules",
        _ => "every chosen rule has to be kept, so the largest decides",
    };
    Ok(Decision {
        chosen: candidates.iter().map(|rate| rate.rule.id).collect(),
        because: because.to_owned(),
        rate,
    })
}
