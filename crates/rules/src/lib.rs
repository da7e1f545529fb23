//! Rules as data, required rates, and infiltration of a single zone.

mod row;
mod spots;

pub use row::{COMMON_PRACTICE, Confidence, Kind, Limit, Row, RuleSet, Sense, Subject};

/// The tables of rows, in the order in which they are listed.
static TABLES: &[&[Row]] = &[spots::ROWS];

/// All rows of all sets.
pub fn rows() -> impl Iterator<Item = &'static Row> {
    TABLES.iter().flat_map(|table| table.iter())
}

/// The row of this name.
pub fn row(id: &str) -> Option<&'static Row> {
    rows().find(|row| row.id == id)
}
