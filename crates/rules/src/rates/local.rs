//! Exhaust of kitchens, baths, toilets and utility rooms against what the house has.

use units::System;

use super::Rooms;
use crate::book::{RuleBook, Ruling};
use crate::row::{Confidence, Row, RuleSet};

/// A room in which moisture or smells arise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WetRoom {
    /// A kitchen.
    Kitchen,
    /// A room with a bath or shower.
    Bathroom,
    /// A toilet without a bath or shower.
    Toilet,
    /// A laundry or utility room.
    Utility,
}

impl WetRoom {
    /// All kinds.
    pub const ALL: [Self; 4] = [Self::Kitchen, Self::Bathroom, Self::Toilet, Self::Utility];

    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Kitchen => "kitchen",
            Self::Bathroom => "bathroom",
            Self::Toilet => "toilet",
            Self::Utility => "utility room",
        }
    }

    /// How many a dwelling has.
    fn count(self, rooms: &Rooms) -> u32 {
        match self {
            Self::Kitchen => rooms.kitchens,
            Self::Bathroom => rooms.bathrooms,
            Self::Toilet => rooms.toilets,
            Self::Utility => rooms.utility_rooms,
        }
    }
}

/// An exhaust that draws from a wet room to outdoors.
#[derive(Debug, Clone, PartialEq)]
pub struct Extract {
    /// Name.
    pub name: String,
    /// The kind of room.
    pub room: WetRoom,
    /// Flow (m³/s).
    pub flow: f64,
    /// Runs all the time.
    pub continuous: bool,
    /// A hood over the cooker, not another fan.
    pub hood: bool,
}

/// What one set of rules asks of one kind of room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// The set.
    pub set: RuleSet,
    /// The kind of room.
    pub room: WetRoom,
    /// Row for a fan on demand; of a kitchen, for a hood.
    pub on_demand: &'static Row,
    /// Row for a kitchen's fan on demand that is no hood, where it differs.
    pub other_fan: Option<&'static Row>,
    /// Row for an exhaust that runs all the time.
    pub continuous: Option<&'static Row>,
}

/// How one room fares.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomExhaust {
    /// What is asked.
    pub demand: Demand,
    /// Which room of its kind, from 1.
    pub number: u32,
    /// Flow asked on demand (m³/s).
    pub on_demand: f64,
    /// Flow asked all the time (m³/s), if the rules know it and the survey suffices.
    pub continuous: Option<f64>,
    /// The exhaust that serves it, by its place in the list; `None` if none is left for it.
    pub by: Option<usize>,
    /// Whether the exhaust is enough.
    pub met: bool,
    /// Whether it counts as one that runs all the time.
    pub as_continuous: bool,
    /// By whose number it was judged: the row, and an override with its reason.
    pub source: String,
}

const FAMILIES: &[(RuleSet, WetRoom, &str, &str, &str)] = {
    use RuleSet::*;
    use WetRoom::*;
    &[
        (
            Ashrae622,
            Kitchen,
            "62.2 kitchen hood",
            "62.2 kitchen fan",
            "62.2 kitchen continuous",
        ),
        (Ashrae622, Bathroom, "62.2 bath", "", "62.2 bath continuous"),
        (
            Irc2024,
            Kitchen,
            "IRC kitchen",
            "",
            "IRC kitchen continuous",
        ),
        (Irc2024, Bathroom, "IRC bath", "", "IRC bath continuous"),
        (Irc2024, Toilet, "IRC bath", "", "IRC bath continuous"),
        (
            Canada,
            Kitchen,
            "F326 kitchen",
            "",
            "F326 kitchen continuous",
        ),
        (Canada, Bathroom, "F326 bath", "", "F326 bath continuous"),
        (
            England,
            Kitchen,
            "England kitchen hood",
            "England kitchen fan",
            "England kitchen continuous",
        ),
        (
            England,
            Bathroom,
            "England bath",
            "",
            "England bath continuous",
        ),
        (
            England,
            Toilet,
            "England toilet",
            "",
            "England toilet continuous",
        ),
        (
            England,
            Utility,
            "England utility",
            "",
            "England utility continuous",
        ),
        (Europe, Kitchen, "Europe kitchen", "", "Europe kitchen"),
        (Europe, Bathroom, "Europe bath", "", "Europe bath"),
        (Europe, Toilet, "Europe toilet", "", "Europe toilet"),
        (
            VeryTightHouse,
            Kitchen,
            "very tight house kitchen",
            "",
            "very tight house kitchen",
        ),
        (
            VeryTightHouse,
            Bathroom,
            "very tight house bath",
            "",
            "very tight house bath",
        ),
        (
            VeryTightHouse,
            Toilet,
            "very tight house toilet",
            "",
            "very tight house toilet",
        ),
    ]
};

/// What all sets of a book ask. A book without any such rule takes ASHRAE 62.2.
pub fn demands(book: &RuleBook) -> Vec<Demand> {
    let of = |sets: &[RuleSet]| -> Vec<Demand> {
        FAMILIES
            .iter()
            .filter_map(|&(set, room, on_demand, other_fan, continuous)| {
                let on_demand = crate::row(on_demand)?;
                // A row may belong to several sets: the law of Washington has the rows of the IRC.
                sets.iter()
                    .find(|set| on_demand.sets.contains(set))
                    .map(|_| Demand {
                        set: sets
                            .iter()
                            .copied()
                            .find(|set| on_demand.sets.contains(set))
                            .unwrap_or(set),
                        room,
                        on_demand,
                        other_fan: crate::row(other_fan),
                        continuous: crate::row(continuous),
                    })
            })
            .collect()
    };
    let own = of(book.sets());
    if own.is_empty() {
        of(&[RuleSet::Ashrae622])
    } else {
        own
    }
}

/// Compares every wet room of the dwelling with the exhausts, under the rules of a book. An exhaust
/// serves one room; the strongest serve first. An exhaust on demand needs the flow on demand; one
/// that runs all the time needs the continuous flow, where the rules know one.
pub fn judge(
    book: &RuleBook,
    rooms: &Rooms,
    ceiling_height: f64,
    extracts: &[Extract],
    system: System,
) -> Vec<RoomExhaust> {
    let mut list = Vec::new();
    for demand in demands(book) {
        let ruling = |row: &'static Row| book.ruling(row);
        let asked = |row: &'static Row| ruling(row).map(|ruling| ruling.limit.value_in(system));
        let continuous = demand.continuous.and_then(|row| {
            let limit = ruling(row)?.limit;
            match limit.kind {
                // Air changes of the kitchen, which has to be closed off by doors.
                crate::row::Kind::AirChanges => rooms
                    .enclosed_kitchen_area
                    .map(|area| limit.value_in(system) * area * ceiling_height),
                _ => Some(limit.value_in(system)),
            }
        });
        let needs = |extract: &Extract| {
            let row = match demand.other_fan {
                Some(other) if !extract.hood => other,
                _ => demand.on_demand,
            };
            (row, asked(row).unwrap_or(f64::INFINITY))
        };
        let mut serving: Vec<usize> = (0..extracts.len())
            .filter(|at| extracts[*at].room == demand.room)
            .collect();
        let judged = |at: usize| -> (bool, bool, &'static Row) {
            let extract = &extracts[at];
            let enough = |flow: f64| extract.flow >= flow * (1.0 - 1e-9);
            let (row, flow) = needs(extract);
            match (extract.continuous, continuous, demand.continuous) {
                (true, Some(flow), Some(row)) => (enough(flow), true, row),
                _ => (enough(flow), false, row),
            }
        };
        // Those that are enough first, then the strongest.
        serving.sort_by(|one, other| {
            judged(*other)
                .0
                .cmp(&judged(*one).0)
                .then(extracts[*other].flow.total_cmp(&extracts[*one].flow))
        });
        for number in 1..=demand.room.count(rooms) {
            let by = serving.get(number as usize - 1).copied();
            let (met, as_continuous, row) = by.map_or((false, false, demand.on_demand), judged);
            list.push(RoomExhaust {
                demand,
                number,
                on_demand: by
                    .map(|at| needs(&extracts[at]).1)
                    .or(asked(demand.on_demand))
                    .unwrap_or(0.0),
                continuous,
                by,
                met,
                as_continuous,
                source: source(row, ruling(row)),
            });
        }
    }
    list
}

/// Whose number it is: that of an override with its reason, or of the row, and how well it is known.
fn source(row: &Row, ruling: Option<Ruling>) -> String {
    match (ruling, row.confidence) {
        (Some(ruling), _) if ruling.overridden.is_some() => ruling.source(),
        (_, Confidence::ReadInSource | Confidence::CommonPractice) => row.source(),
        (_, confidence) => format!("{} ({})", row.source(), confidence.name()),
    }
}

/// What existing houses add to the total of ASHRAE 62.2 for lacking exhausts (m³/s): of each
/// kitchen and bathroom what is lacking to 100 and 50 cfm (50 and 25 L/s) on demand, less 20 cfm
/// (10 L/s) where a window opens, and a quarter of the sum. Appendix A of the edition of 2013; the
/// principle and the figure of the bath were read on a public page on weatherization, the others
/// are from memory. For information: it decides nothing here.
pub fn existing_house_deficit(rooms: &Rooms, extracts: &[Extract], system: System) -> f64 {
    let litres = |inch_pound: f64, international: f64| match system {
        System::Ip => inch_pound * crate::row::CFM,
        System::Si => international * 1e-3,
    };
    let mut sum = 0.0;
    for (room, asked, window) in [
        (WetRoom::Kitchen, litres(100.0, 50.0), rooms.kitchen_window),
        (WetRoom::Bathroom, litres(50.0, 25.0), rooms.bathroom_window),
    ] {
        let mut flows: Vec<f64> = extracts
            .iter()
            .filter(|extract| extract.room == room)
            .map(|extract| extract.flow)
            .collect();
        flows.sort_by(|one, other| other.total_cmp(one));
        for number in 0..room.count(rooms) as usize {
            let lacking = (asked - flows.get(number).copied().unwrap_or(0.0)).max(0.0);
            let window = if window { litres(20.0, 10.0) } else { 0.0 };
            sum += (lacking - window).max(0.0);
        }
    }
    0.25 * sum
}
