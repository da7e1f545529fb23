//! Rows about how the ventilator joins the ducts, and its balance.

use crate::row::{CANADA, CFM, Confidence, FOOT, Kind, Limit, Row, RuleSet, Subject};

/// The rows.
pub(crate) static ROWS: &[Row] = &[
    Row {
        id: "near fan",
        subject: Subject::Layout,
        applies_to: "a tap on the return",
        demand: "Taps on the return lie at least 10 ft along the duct from the air-handler fan.",
        limit: Some(Limit::at_least(10.0 * FOOT, Kind::Length)),
        measured: "along the duct, from the tap to the inlet of the fan",
        remedy: "Move the tap upstream, away from the air handler.",
        ..Row::BLANK
    },
    Row {
        id: "taps together",
        subject: Subject::Layout,
        applies_to: "two taps on one return",
        demand: "Return-to-return taps lie at least 3 ft apart, with the extract upstream.",
        limit: Some(Limit::at_least(3.0 * FOOT, Kind::Length)),
        measured: "along the duct, from tap to tap",
        remedy: "Move the extract tap farther from the air handler than the supply tap.",
        ..Row::BLANK
    },
    Row {
        id: "supply tap",
        subject: Subject::Layout,
        applies_to: "a tap on the supply",
        demand: "The duct ends in an elbow that faces downstream, is of metal, and has a back-draft damper.",
        ..Row::BLANK
    },
    Row {
        id: "blower needed",
        subject: Subject::Layout,
        applies_to: "return-to-return",
        demand: "Return-to-return relies on the blower running at least at low whenever the ventilator runs; a dedicated return needs it where the air must reach every room.",
        remedy: "Let the ventilator call the blower.",
        ..Row::BLANK
    },
    Row {
        id: "furnace return air",
        subject: Subject::Layout,
        applies_to: "a furnace",
        demand: "The mixed air that enters the furnace is at least 15 °C (59 °F), or warmer where its maker asks for it. Outside Canada 55 to 60 °F is usual (common practice).",
        limit: Some(Limit::at_least(15.0, Kind::Temperature)),
        measured: "by the energy balance of fresh and return air, at winter design, also with the recovery lost",
        exception: "the stricter of the two is applied; the text can be read either way",
        remedy: "Bring less fresh air into the return, or choose a layout or a unit that recovers more.",
        authority: "National Building Code of Canada 9.32.3.4.(2), intent statement",
        edition: "2005",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Canada, RuleSet::Ontario],
    },
    Row {
        id: "mixed by a blower",
        subject: Subject::Layout,
        applies_to: "fresh air warmed by mixing outside a furnace",
        demand: "Tempering by mixing alone is a design of its own, beyond the prescriptive code.",
        authority: "Ontario Building Code, appendix B-9.32.3.5",
        edition: "O.Reg. 332/12",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::Ontario],
        ..Row::BLANK
    },
    Row {
        id: "circulation switch",
        subject: Subject::Layout,
        applies_to: "a heat-recovery unit coupled to the forced-air system",
        demand: "The circulation fan has its own labelled manual switch.",
        authority: "Ontario Building Code 9.32, type II",
        edition: "O.Reg. 332/12",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::Ontario],
        ..Row::BLANK
    },
    Row {
        id: "ventilation-only speed",
        subject: Subject::Layout,
        applies_to: "an air handler that distributes the outdoor air",
        demand: "The blower has a ventilation-only speed of at most 25 % of its rated flow, a motorised outdoor damper on the ventilation controller, and is tested at its lowest and highest speed.",
        limit: Some(Limit::at_most(0.25, Kind::Share)),
        measured: "blower flow over rated flow",
        authority: "Washington amendments, M1505.4.1.5",
        edition: "2021",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::Washington],
        ..Row::BLANK
    },
    Row {
        id: "outdoor air of a blower",
        subject: Subject::Layout,
        applies_to: "an air handler that distributes the outdoor air",
        demand: "The outdoor flow stays within 10 % of the whole-house exhaust.",
        limit: Some(Limit::at_most(0.10, Kind::Share)),
        authority: "Washington amendments, M1505.4.1.5",
        edition: "2021",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::Washington],
        ..Row::BLANK
    },
    Row {
        id: "no bath air returned",
        subject: Subject::Layout,
        applies_to: "exhaust of baths and toilets",
        demand: "Air from a bath or toilet goes straight outdoors: it never goes back through an air handler or into another dwelling.",
        exception: "passing a sealed exchanger core is a question for the authority having jurisdiction",
        remedy: "Give the baths extract grilles of the ventilator, or fans of their own.",
        authority: "IRC M1505.2",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::CommonPractice, RuleSet::Irc2024],
        ..Row::BLANK
    },
    Row {
        id: "return openings",
        subject: Subject::Layout,
        applies_to: "openings of the return",
        demand: "No return opening lies in a bath, toilet, kitchen, garage, furnace room or closet, or within 10 ft of an open combustion chamber or draft hood in the same room.",
        limit: Some(Limit::at_least(10.0 * FOOT, Kind::Length)),
        authority: "IRC M1602.2",
        edition: "check your edition",
        confidence: Confidence::FromMemory,
        sets: &[
            RuleSet::CommonPractice,
            RuleSet::Irc2024,
            RuleSet::Irc2021,
            RuleSet::Washington,
        ],
        ..Row::BLANK
    },
    Row {
        id: "baths by the unit",
        subject: Subject::Layout,
        applies_to: "return-to-supply and return-to-return",
        demand: "A ventilator that draws from the return does not meet the exhaust of a bath.",
        remedy: "Give the baths extract grilles of the ventilator, or fans of their own.",
        ..Row::BLANK
    },
    Row {
        id: "leaking air handler",
        subject: Subject::Layout,
        applies_to: "an air handler in a garage or attic",
        demand: "An air handler with known leaks in a garage or attic is sealed before anything is joined to it.",
        remedy: "Seal it and measure the leakage again.",
        ..Row::BLANK
    },
    Row {
        id: "summer moisture",
        subject: Subject::Layout,
        applies_to: "a blower that runs without cooling, humid climate",
        demand: "A blower that always runs evaporates the water on the cooling coil again; ducts of its own are better for the ventilator.",
        authority: "practice of the trade",
        confidence: Confidence::FromMemory,
        ..Row::BLANK
    },
    Row {
        id: "damper when off",
        subject: Subject::Layout,
        applies_to: "outdoor ducts",
        demand: "Dampers close the outdoor ducts while the unit stands still.",
        authority: "IRC N1103.6",
        edition: "2024",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::Irc2024],
        ..Row::BLANK
    },
    Row {
        id: "hood limit",
        subject: Subject::Layout,
        applies_to: "a two-in-one hood",
        demand: "A two-in-one hood carries no more than its flow limit, about 110 cfm being usual.",
        limit: Some(Limit::at_most(110.0 * CFM, Kind::Flow)),
        exception: "the data of the hood give another limit",
        remedy: "Use two hoods.",
        ..Row::BLANK
    },
    Row {
        id: "balance",
        subject: Subject::Balance,
        applies_to: "supply and extract",
        demand: "Supply and extract differ by at most 10 % of the larger.",
        limit: Some(Limit::at_most(0.10, Kind::Share)),
        measured: "the difference over the larger of the two, as standard flows",
        remedy: "Throttle the stronger stream.",
        ..Row::BLANK
    },
    Row {
        id: "balance, Washington",
        subject: Subject::Balance,
        applies_to: "supply and extract",
        demand: "A system is balanced if supply and exhaust differ by at most 10 %, or by 5 cfm if that is more.",
        limit: Some(Limit::at_most(0.10, Kind::Share)),
        exception: "a difference of at most 5 cfm",
        authority: "Washington amendments, M1505.4.1.4",
        edition: "2021",
        confidence: Confidence::ReadInSource,
        sets: &[RuleSet::Washington],
        ..Row::BLANK
    },
    Row {
        id: "balance, Canada",
        subject: Subject::Balance,
        applies_to: "supply and extract in continuous operation",
        demand: "Supply and extract differ by at most 10 %.",
        limit: Some(Limit::at_most(0.10, Kind::Share)),
        authority: "CSA F326",
        edition: "check your edition",
        confidence: Confidence::Unsure,
        sets: CANADA,
        ..Row::BLANK
    },
    Row {
        id: "balance, Europe",
        subject: Subject::Balance,
        applies_to: "total flow against design",
        demand: "The total flow lies within 10 % of the design, that of a room within 15 to 20 %.",
        limit: Some(Limit::at_most(0.10, Kind::Share)),
        authority: "EN 14134 and national annexes",
        edition: "check your edition",
        confidence: Confidence::Unsure,
        sets: &[RuleSet::Europe],
        ..Row::BLANK
    },
    Row {
        id: "balance, England",
        subject: Subject::Balance,
        applies_to: "measured against design",
        demand: "The measured flow is at least the design flow, by an instrument known to 5 %.",
        authority: "Approved Document F, volume 1",
        edition: "2021",
        confidence: Confidence::Unsure,
        sets: &[RuleSet::England],
        ..Row::BLANK
    },
    Row {
        id: "balance, very tight house",
        subject: Subject::Balance,
        applies_to: "supply and extract",
        demand: "Supply and extract lie within 10 % of their mean.",
        limit: Some(Limit::at_most(0.10, Kind::Share)),
        measured: "the difference over the mean of the two",
        authority: "rule of very tight houses",
        edition: "check your edition",
        confidence: Confidence::FromMemory,
        sets: &[RuleSet::VeryTightHouse],
        ..Row::BLANK
    },
];
