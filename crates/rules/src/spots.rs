//! Rows about where the unit hangs, and room to serve it.

use crate::row::{Confidence, FOOT, INCH, Kind, Limit, Row, RuleSet, Subject};

/// The rows.
pub(crate) static ROWS: &[Row] = &[
    Row {
        id: "surroundings",
        subject: Subject::Spot,
        applies_to: "the air around the unit, the coldest hour of the year",
        demand: "The spot never gets colder than the unit tolerates, 50 °F (10 °C) unless its data say otherwise.",
        limit: Some(Limit::at_least(10.0, Kind::Temperature)),
        exception: "the data of the unit give another limit",
        remedy: "Choose a warmer spot, or enclose and insulate this one.",
        ..Row::BLANK
    },
    Row {
        id: "warm surroundings",
        subject: Subject::Spot,
        applies_to: "the air around the unit, the warmest hour of the year",
        demand: "The spot never gets warmer than the unit tolerates, 104 °F (40 °C) unless its data say otherwise.",
        limit: Some(Limit::at_most(40.0, Kind::Temperature)),
        exception: "the data of the unit give another limit",
        remedy: "Choose a cooler spot.",
        ..Row::BLANK
    },
    Row {
        id: "services",
        subject: Subject::Spot,
        applies_to: "the spot",
        demand: "The spot has an outlet, something to hang the unit from and, where the unit needs one, a drain.",
        remedy: "Say in the job file how the spot gets its outlet, drain and support, or choose another.",
        ..Row::BLANK
    },
    Row {
        id: "drain pipe",
        subject: Subject::Spot,
        applies_to: "the condensate drain",
        demand: "The drain pipe is at least ¾ in wide, can be cleaned without being cut, and does not end where it is a nuisance.",
        limit: Some(Limit::at_least(0.75 * INCH, Kind::Length)),
        measured: "inner diameter",
        authority: "IRC M1411.9 (cooling coils, adopted here)",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Irc2024],
        ..Row::BLANK
    },
    Row {
        id: "drain slope",
        subject: Subject::Spot,
        applies_to: "the condensate drain",
        demand: "The drain falls by at least ⅛ in per foot (1 %).",
        limit: Some(Limit::at_least(0.01, Kind::Share)),
        remedy: "Hang the unit higher, shorten the drain, or use a condensate pump that stops the unit when it fails.",
        authority: "IRC M1411.9 (cooling coils, adopted here)",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Irc2024],
        ..Row::BLANK
    },
    Row {
        id: "drain pan",
        subject: Subject::Spot,
        applies_to: "a unit above rooms that water would damage",
        demand: "A second pan, at least 1.5 in deep and 3 in larger than the unit, or a float switch that stops the unit.",
        limit: Some(Limit::at_least(1.5 * INCH, Kind::Length)),
        measured: "depth of the pan",
        authority: "IRC M1411.9 (cooling coils, adopted here)",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Irc2024],
        ..Row::BLANK
    },
    Row {
        id: "drain trap",
        subject: Subject::Spot,
        applies_to: "the condensate drain",
        demand: "The trap has a water seal of 2 in (50 mm), and deeper than the suction of the fan (the pressure in Pa over 9.8, in mm, with a margin); it is filled at the start and kept from freezing.",
        limit: Some(Limit::at_least(2.0 * INCH, Kind::Length)),
        measured: "depth of the water seal",
        authority: "practice of the trade",
        confidence: Confidence::FromMemory,
        ..Row::BLANK
    },
    Row {
        id: "level",
        subject: Subject::Spot,
        applies_to: "the unit",
        demand: "The unit hangs level, or as its marks say toward the drain.",
        authority: "practice of the trade",
        confidence: Confidence::FromMemory,
        ..Row::BLANK
    },
    Row {
        id: "support",
        subject: Subject::Spot,
        applies_to: "the unit",
        demand: "The unit hangs on straps or springs with rubber isolators, from joists or masonry.",
        authority: "practice of the trade",
        confidence: Confidence::FromMemory,
        ..Row::BLANK
    },
    Row {
        id: "bedroom wall",
        subject: Subject::Spot,
        applies_to: "a unit beside a bedroom",
        demand: "The unit does not hang on the wall of a bedroom.",
        remedy: "Choose another wall, or hang the unit from the joists on isolators.",
        authority: "practice of the trade",
        confidence: Confidence::FromMemory,
        ..Row::BLANK
    },
    Row {
        id: "flexible connector",
        subject: Subject::Spot,
        applies_to: "each port of the unit",
        demand: "A flexible connector of 12 to 18 in parts the ducts from the unit.",
        limit: Some(Limit::at_least(FOOT, Kind::Length)),
        measured: "length of the connector",
        authority: "practice of the trade",
        confidence: Confidence::FromMemory,
        ..Row::BLANK
    },
    Row {
        id: "access space",
        subject: Subject::Access,
        applies_to: "the side from which the unit is served",
        demand: "A level working space of 30 × 30 in lies before the unit.",
        limit: Some(Limit::at_least(30.0 * INCH, Kind::Length)),
        measured: "each side of the floor before the unit",
        authority: "IRC M1305",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Irc2024],
        ..Row::BLANK
    },
    Row {
        id: "attic opening",
        subject: Subject::Access,
        applies_to: "a unit in an attic",
        demand: "The opening to the attic is at least 20 × 30 in.",
        limit: Some(Limit::at_least(20.0 * INCH, Kind::Length)),
        measured: "the shorter side, clear",
        authority: "IRC M1305",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Irc2024],
        ..Row::BLANK
    },
    Row {
        id: "attic passage",
        subject: Subject::Access,
        applies_to: "a unit in an attic",
        demand: "The passage to the unit is at most 20 ft long, 30 in high and 22 in wide, with a floor 24 in wide, a light and a receptacle.",
        limit: Some(Limit::at_most(20.0 * FOOT, Kind::Length)),
        measured: "along the passage",
        authority: "IRC M1305",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Irc2024],
        ..Row::BLANK
    },
    Row {
        id: "crawlspace opening",
        subject: Subject::Access,
        applies_to: "a unit in a crawlspace",
        demand: "The opening to the crawlspace is at least 22 × 30 in.",
        limit: Some(Limit::at_least(22.0 * INCH, Kind::Length)),
        measured: "the shorter side, clear",
        authority: "IRC M1305",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Irc2024],
        ..Row::BLANK
    },
];
