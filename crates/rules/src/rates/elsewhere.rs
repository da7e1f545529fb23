//! Canada, England, Europe, and very tight houses. All of it is in L/s (m³/h) and m².

use units::System;

use super::words::{Words, count};
use super::{Basement, Dwelling, Rate, Rooms, Step, own_row};
use crate::row::Limit;

const WORDS: Words = Words(System::Si);
/// Litre per second (m³/s).
const LITRE: f64 = 1e-3;
/// Cubic metre per hour (m³/s).
const HOURLY: f64 = 1.0 / 3600.0;

/// CSA F326: 10 L/s for the main bedroom and for an open basement, 5 L/s for every other room.
pub(super) fn canada(dwelling: &Dwelling) -> Rate {
    let rooms = &dwelling.rooms;
    let parts = [
        (1, 10.0, "main bedroom", "main bedrooms"),
        (
            dwelling.bedrooms.max(1) - 1,
            5.0,
            "other bedroom",
            "other bedrooms",
        ),
        (rooms.living, 5.0, "room to live in", "rooms to live in"),
        (rooms.kitchens, 5.0, "kitchen", "kitchens"),
        (
            rooms.bathrooms + rooms.toilets,
            5.0,
            "bathroom or toilet",
            "bathrooms and toilets",
        ),
        (
            rooms.utility_rooms,
            5.0,
            "laundry or utility room",
            "laundries and utility rooms",
        ),
        (
            u32::from(rooms.basement == Basement::Open),
            10.0,
            "open basement",
            "open basements",
        ),
        (
            u32::from(rooms.basement == Basement::Divided),
            5.0,
            "rest of a divided basement",
            "rests of basements",
        ),
    ];
    let mut sum = 0.0;
    let mut steps = Vec::new();
    for (number, litres, one, many) in parts {
        if number == 0 {
            continue;
        }
        let flow = f64::from(number) * litres * LITRE;
        sum += flow;
        steps.push(Step::flow(
            count(number, one, many),
            format!("{number} × {litres} L/s = {}", WORDS.flow(flow)),
            flow,
        ));
    }
    steps.push(Step::flow("sum of the rooms", WORDS.flow(sum), sum));
    let mut rate = Rate::plain(own_row("F326 rate"), steps);
    match rooms.basement {
        Basement::Open => rate.exceptions.push(
            "Basement: more than two thirds of it are no counted rooms, so it adds 10 L/s (Ontario Building Code 9.32 has the same).".into(),
        ),
        Basement::Divided => rate.exceptions.push(
            "Basement: less than two thirds of it are no counted rooms, so the rest adds 5 L/s (Ontario Building Code 9.32 has the same).".into(),
        ),
        Basement::None => {}
    }
    rate
}

/// Approved Document F: 19 L/s and 6 for each bedroom after the first, at least 0.3 L/s per m².
pub(super) fn england(dwelling: &Dwelling) -> Rate {
    let bedrooms = dwelling.bedrooms.max(1);
    let by_bedrooms = (19.0 + 6.0 * f64::from(bedrooms - 1)) * LITRE;
    let by_area = 0.3 * dwelling.floor_area * LITRE;
    let needed = by_bedrooms.max(by_area);
    let mut rate = Rate::plain(
        own_row("England rate"),
        vec![
            Step::flow(
                "by bedrooms",
                format!(
                    "19 L/s + 6 L/s × {} = {}",
                    bedrooms - 1,
                    WORDS.flow(by_bedrooms)
                ),
                by_bedrooms,
            ),
            Step::flow(
                "by floor area",
                format!(
                    "0.3 L/s × {} = {}",
                    WORDS.area(dwelling.floor_area),
                    WORDS.flow(by_area)
                ),
                by_area,
            ),
            Step::flow("the larger", WORDS.flow(needed), needed),
        ],
    );
    let extract = extract_sum(&dwelling.rooms, ENGLISH);
    rate.exceptions.push(format!(
        "At the high rate, while kitchen and baths are in use, the extract of its wet rooms adds up to {}.",
        WORDS.flow(extract)
    ));
    rate
}

/// A category of EN 16798-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Category {
    /// High expectations.
    I,
    /// Medium.
    II,
    /// Moderate.
    III,
}

impl Category {
    /// All categories.
    pub const ALL: [Self; 3] = [Self::I, Self::II, Self::III];

    /// Name of the row.
    pub fn rule(self) -> &'static str {
        match self {
            Self::I => "Europe rate I",
            Self::II => "Europe rate II",
            Self::III => "Europe rate III",
        }
    }

    /// Its number.
    pub fn name(self) -> &'static str {
        match self {
            Self::I => "I",
            Self::II => "II",
            Self::III => "III",
        }
    }

    /// L/s per m² and L/s per person.
    fn rates(self) -> (f64, f64) {
        match self {
            Self::I => (0.49, 10.0),
            Self::II => (0.42, 7.0),
            Self::III => (0.35, 4.0),
        }
    }
}

/// EN 16798-1: the larger of a rate per floor area and one per person.
pub(super) fn europe(dwelling: &Dwelling, category: Category) -> Rate {
    let (per_area, per_person) = category.rates();
    let by_area = per_area * dwelling.floor_area * LITRE;
    let by_people = per_person * f64::from(dwelling.people) * LITRE;
    let needed = by_area.max(by_people);
    let mut rate = Rate::plain(
        own_row(category.rule()),
        vec![
            Step::flow(
                "by floor area",
                format!(
                    "{per_area} L/s × {} = {}",
                    WORDS.area(dwelling.floor_area),
                    WORDS.flow(by_area)
                ),
                by_area,
            ),
            Step::flow(
                "by people",
                format!(
                    "{per_person} L/s × {} people = {}",
                    dwelling.people,
                    WORDS.flow(by_people)
                ),
                by_people,
            ),
            Step::flow("the larger", WORDS.flow(needed), needed),
        ],
    );
    if category == Category::II {
        let extract = extract_sum(&dwelling.rooms, EUROPEAN);
        rate.exceptions.push(format!(
            "The extract of its wet rooms adds up to {}: a system that extracts from all of them at once is balanced at the larger of the two.",
            WORDS.flow(extract)
        ));
    }
    rate
}

/// Very tight houses: 30 m³/h for each person, at least the extract of its wet rooms and 0.3 air
/// changes an hour of a room height of 2.5 m.
pub(super) fn very_tight(dwelling: &Dwelling) -> Rate {
    let words = |flow: f64| format!("{:.1} m³/h", flow / HOURLY);
    let by_people = 30.0 * f64::from(dwelling.people) * HOURLY;
    let extract = extract_sum(&dwelling.rooms, VERY_TIGHT);
    let by_volume = 0.3 * 2.5 * dwelling.floor_area * HOURLY;
    let needed = by_people.max(extract).max(by_volume);
    let rooms = &dwelling.rooms;
    Rate::plain(
        own_row("very tight house rate"),
        vec![
            Step::flow(
                "by people",
                format!(
                    "30 m³/h × {} people = {}",
                    dwelling.people,
                    words(by_people)
                ),
                by_people,
            ),
            Step::flow(
                "extract of the wet rooms",
                format!(
                    "60 m³/h × {} + 40 m³/h × {} + 20 m³/h × {} = {}",
                    count(rooms.kitchens, "kitchen", "kitchens"),
                    count(rooms.bathrooms, "bathroom", "bathrooms"),
                    count(
                        rooms.toilets + rooms.utility_rooms,
                        "toilet, laundry or utility room",
                        "toilets, laundries and utility rooms"
                    ),
                    words(extract)
                ),
                extract,
            ),
            Step::flow(
                "0.3 air changes an hour",
                format!(
                    "0.3 × 2.5 m × {} = {}",
                    WORDS.area(dwelling.floor_area),
                    words(by_volume)
                ),
                by_volume,
            ),
            Step::flow("the largest", words(needed), needed),
        ],
    )
}

/// Rows of the extract of kitchen, bathroom, toilet, utility room.
type WetRows = [&'static str; 4];
const ENGLISH: WetRows = [
    "England kitchen continuous",
    "England bath continuous",
    "England toilet continuous",
    "England utility continuous",
];
const EUROPEAN: WetRows = ["Europe kitchen", "Europe bath", "Europe toilet", ""];
const VERY_TIGHT: WetRows = [
    "very tight house kitchen",
    "very tight house bath",
    "very tight house toilet",
    "very tight house toilet",
];

/// Sum of the extract of the wet rooms (m³/s).
fn extract_sum(rooms: &Rooms, rows: WetRows) -> f64 {
    [
        rooms.kitchens,
        rooms.bathrooms,
        rooms.toilets,
        rooms.utility_rooms,
    ]
    .into_iter()
    .zip(rows)
    .map(|(number, id)| {
        f64::from(number) * own_row(id).limit.map_or(0.0, |limit: Limit| limit.value)
    })
    .sum()
}
