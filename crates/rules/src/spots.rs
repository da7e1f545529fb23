//! Rows about where the unit hangs.

use crate::row::{Confidence, Kind, Limit, Row, RuleSet, Subject};

const US: &[RuleSet] = &[RuleSet::Irc2024];

/// The rows.
pub(crate) static ROWS: &[Row] = &[
    Row {
        id: "surroundings",
        subject: Subject::Spot,
        applies_to: "the air around the unit, the coldest hour of the year",
        demand: "The spot never gets colder than the unit tolerates, 50 °F unless its data say otherwise.",
        limit: Some(Limit::at_least(10.0, Kind::Temperature)),
        exception: "the unit's data give another limit",
        remedy: "Choose a warmer spot, or enclose and insulate this one.",
        ..Row::BLANK
    },
    Row {
        id: "access space",
        subject: Subject::Access,
        applies_to: "the side from which the unit is served",
        demand: "A level working space of 30 × 30 in lies before the unit.",
        limit: Some(Limit::at_least(0.762, Kind::Length)),
        measured: "each side of the floor before the unit",
        authority: "IRC M1305",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: US,
        ..Row::BLANK
    },
];
