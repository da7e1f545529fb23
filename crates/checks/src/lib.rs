//! Every check of Lungwort against something outside the project, as one table.
//!
//! A check names its source (a standard, a handbook table, a worked example, a reference
//! library), its input, the expected and the computed value and the tolerance. Values that come
//! from a reference library are read from the committed tables under `tables/`, which the scripts
//! under `reference/` write; continuous integration runs the scripts again and compares.
//!
//! ```
//! let checks = checks::all();
//! assert!(checks.iter().all(checks::Check::passes));
//! ```

mod acoustics;
mod air;
mod airflow;
mod commission;
mod ducts;
mod insulation;
mod rules;
mod siting;

/// How far the computed value may lie from the expected one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tolerance {
    /// In the unit of the value.
    Absolute(f64),
    /// As a fraction of the expected value.
    Relative(f64),
}

/// One comparison with a source outside the project.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What is checked, for instance `moist air`.
    pub subject: &'static str,
    /// Where the expected value comes from: publication and place, or library and version.
    pub source: String,
    /// The case in words, with its numbers and units.
    pub input: String,
    /// Unit of `expected` and `got`.
    pub unit: &'static str,
    /// The value of the source.
    pub expected: f64,
    /// The value that Lungwort computes.
    pub got: f64,
    /// The allowed distance.
    pub tolerance: Tolerance,
}

impl Check {
    /// Whether the computed value lies within the tolerance. A value that is not a number fails.
    pub fn passes(&self) -> bool {
        let allowed = match self.tolerance {
            Tolerance::Absolute(distance) => distance,
            Tolerance::Relative(fraction) => fraction * self.expected.abs(),
        };
        (self.got - self.expected).abs() <= allowed
    }
}

/// All checks, in the order of the layers of the code.
pub fn all() -> Vec<Check> {
    [
        air::checks(),
        ducts::checks(),
        insulation::checks(),
        acoustics::checks(),
        siting::checks(),
        airflow::checks(),
        rules::checks(),
        commission::checks(),
    ]
    .concat()
}
