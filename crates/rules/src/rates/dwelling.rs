//! What the rules ask about a dwelling.

use crate::infiltration::{OutOfRange, PowerLaw};

/// A dwelling as the rate rules see it (SI).
#[derive(Debug, Clone, PartialEq)]
pub struct Dwelling {
    /// Conditioned floor area (m²).
    pub floor_area: f64,
    /// Floor to ceiling (m).
    pub ceiling_height: f64,
    /// Storeys above grade, 1.5 for a half storey.
    pub storeys: f64,
    /// From the lowest floor above grade to the highest ceiling (m).
    pub height: f64,
    /// Bedrooms.
    pub bedrooms: u32,
    /// People who live there.
    pub people: u32,
    /// Rooms by kind, the bedrooms apart.
    pub rooms: Rooms,
    /// Leakage of the closed envelope.
    pub leakage: PowerLaw,
    /// The leakage was measured by a blower door; without, no credit is given for it.
    pub leakage_measured: bool,
    /// Weather and shielding factor of ASHRAE 62.2 (1/h), if it was typed. No city's value is
    /// ever assumed.
    pub weather_factor: Option<f64>,
    /// Part of the envelope that is shared with no garage and no other dwelling, 1 for a detached
    /// house.
    pub exterior_share: f64,
    /// Newly built, not an existing house.
    pub new_construction: bool,
    /// At most two thirds of the total are credited, where the text is in doubt about it.
    pub cap_credit: bool,
    /// Supply and exhaust are substantially equal.
    pub balanced: bool,
    /// Outdoor air is supplied to every bedroom and to a living, dining or kitchen room, if known.
    pub distributed: Option<bool>,
}

/// Rooms by kind, the bedrooms apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rooms {
    /// Living, dining, family and other rooms to live in; one that is both living and dining room
    /// counts as two.
    pub living: u32,
    /// Kitchens.
    pub kitchens: u32,
    /// Floor area of a kitchen closed off by doors (m²), if known to be one.
    pub enclosed_kitchen_area: Option<f64>,
    /// Rooms with a bath or shower.
    pub bathrooms: u32,
    /// Toilets without a bath or shower.
    pub toilets: u32,
    /// Laundries and utility rooms.
    pub utility_rooms: u32,
    /// The basement.
    pub basement: Basement,
    /// A window of the kitchen opens.
    pub kitchen_window: bool,
    /// A window of each bathroom opens.
    pub bathroom_window: bool,
}

/// A basement, as the Canadian rate counts it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Basement {
    /// None, or all of it rooms that are counted on their own.
    None,
    /// Undivided, or more than two thirds of its area are no counted rooms.
    Open,
    /// Less than two thirds of its area are no counted rooms.
    Divided,
}

impl Basement {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Open => "open",
            Self::Divided => "divided",
        }
    }
}

impl Dwelling {
    /// Volume (m³): floor area times ceiling height.
    pub fn volume(&self) -> f64 {
        self.floor_area * self.ceiling_height
    }

    /// People of ASHRAE 62.2: two for the first bedroom and one for each other, or those who live
    /// there if they are more.
    pub fn counted_people(&self) -> u32 {
        (self.bedrooms.max(1) + 1).max(self.people)
    }

    /// The first number that no dwelling has.
    ///
    /// # Errors
    ///
    /// [`OutOfRange`]: an area, height or number of storeys that is not above zero, a weather
    /// factor or a share outside 0 to its largest.
    pub fn check(&self) -> Result<(), OutOfRange> {
        let refuse = |name, found, accepted| {
            Err(OutOfRange {
                name,
                found,
                accepted,
            })
        };
        for (name, found) in [
            ("the floor area", self.floor_area),
            ("the ceiling height", self.ceiling_height),
            ("the number of storeys", self.storeys),
            ("the height", self.height),
            (
                "the floor area of the kitchen",
                self.rooms.enclosed_kitchen_area.unwrap_or(1.0),
            ),
        ] {
            if !(found > 0.0 && found.is_finite()) {
                return refuse(name, found, "it is above zero");
            }
        }
        if let Some(factor) = self.weather_factor
            && !(factor > 0.0 && factor <= 3.0)
        {
            return refuse(
                "the weather factor",
                factor,
                "it is above 0, usually below 1",
            );
        }
        if !(0.0..=1.0).contains(&self.exterior_share) {
            return refuse("the exterior share", self.exterior_share, "it is 0 to 1");
        }
        Ok(())
    }
}
