//! Rules as data.
//!
//! [`Row`] is one rule: what it demands, how much, how that is measured, whose rule it is and how
//! well it is known. [`rows`] lists all, [`RuleBook`] those of a job with its overrides. A row of
//! which the number, the edition or the clause is in doubt is shown but decides nothing.
//!
//! [`infiltration`] holds the two published models of air through the leaks of a single zone.
//!
//! [`rates`] computes the outdoor air that each rule set asks of a dwelling, side by side, with its
//! arithmetic in words.
//!
//! All numbers are SI: metres, pascals, cubic metres per second, degrees Celsius, ratios.

mod book;
pub mod clearances;
pub mod infiltration;
mod layouts;
mod rate_rows;
pub mod rates;
mod row;
mod safety_rows;
mod spots;
mod targets;

pub use book::{BookError, Override, RuleBook, Ruling, nearest};
pub use row::{COMMON_PRACTICE, Confidence, Kind, Limit, Row, RuleSet, Sense, Subject};

/// The tables of rows, in the order in which they are listed.
static TABLES: &[&[Row]] = &[
    rate_rows::ROWS,
    spots::ROWS,
    layouts::ROWS,
    safety_rows::ROWS,
    targets::ROWS,
    clearances::ROWS,
];

/// All rows of all sets.
pub fn rows() -> impl Iterator<Item = &'static Row> {
    TABLES.iter().flat_map(|table| table.iter())
}

/// The row of this name.
pub fn row(id: &str) -> Option<&'static Row> {
    rows().find(|row| row.id == id)
}
