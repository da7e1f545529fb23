//! A house in section: zones, ducts, air handler and ventilator in one operating case.
//!
//! The sheet is schematic. Floors stand in the order of their levels and are stretched where
//! something has to find room in them; ducts are as wide as they are, all to one scale.

mod layout;
mod pen;

use crate::elevation::Drawing;

pub use pen::STYLE;

/// The four airs of a ventilator, coloured and named as in EN 16798-3.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stream {
    /// From outdoors to the unit: green.
    Outdoor,
    /// From the unit to the rooms: blue.
    Supply,
    /// From the rooms to the unit: yellow, darkened to an ochre.
    Extract,
    /// From the unit to outdoors: brown.
    Exhaust,
}

impl Stream {
    /// All four, in the order of the ducts of a [`Section`].
    pub const ALL: [Self; 4] = [Self::Outdoor, Self::Supply, Self::Extract, Self::Exhaust];

    fn class(self) -> &'static str {
        match self {
            Self::Outdoor => "outdoor",
            Self::Supply => "supply",
            Self::Extract => "extract",
            Self::Exhaust => "exhaust",
        }
    }

    fn strong(self) -> &'static str {
        match self {
            Self::Outdoor => "strong outdoor",
            Self::Supply => "strong supply",
            Self::Extract => "strong extract",
            Self::Exhaust => "strong exhaust",
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Outdoor => "outdoor air",
            Self::Supply => "supply air",
            Self::Extract => "extract air",
            Self::Exhaust => "exhaust air",
        }
    }
}

/// How the sheet is arranged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// For a wide screen or a printed page.
    Wide,
    /// For a phone: narrow and tall, with larger letters for its width.
    Narrow,
}

/// A number with its unit, and the same in the other system of units.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// In the first system.
    pub first: String,
    /// How well it is known, as it stands behind: `± 6`; may be empty.
    pub spread: String,
    /// In the other one; may be empty.
    pub second: String,
}

/// What a zone is to the building.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A storey or a part of one.
    Storey,
    /// A basement or a crawlspace.
    Below,
    /// Under the roof.
    Attic,
    /// Beside the house.
    Garage,
}

/// A zone of the house.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Its name.
    pub name: String,
    /// What it is to the building.
    pub place: Place,
    /// Floor above grade (m).
    pub level: f64,
    /// Floor to ceiling (m).
    pub height: f64,
    /// Floor area (m²).
    pub area: f64,
    /// Its pressure against outdoors, if it belongs to the house.
    pub pressure: Option<Figure>,
    /// The air handler blows into it, and draws from it.
    pub served: [bool; 2],
}

/// A trunk of the air handler.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trunk {
    /// Height as it is seen (m).
    pub size: f64,
    /// Velocity beside the blower, between two taps on it, and beyond them (m/s); positive the usual
    /// way.
    pub velocities: [f64; 3],
}

/// The air handler in its operating case.
#[derive(Debug, Clone, PartialEq)]
pub struct Handler {
    /// Index of the zone where it stands.
    pub zone: usize,
    /// What its blower does, in words.
    pub words: String,
    /// Flow through the blower; none if it is too little to be told.
    pub flow: Option<Figure>,
    /// The blower runs.
    pub runs: bool,
    /// Static pressure in the return and in the supply plenum.
    pub plenums: [Figure; 2],
    /// Return and supply trunk.
    pub trunks: [Trunk; 2],
}

/// The ventilator.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// Index of the zone where it hangs.
    pub zone: usize,
    /// Its name.
    pub name: String,
    /// What it does, in words.
    pub words: String,
    /// Where it hangs, in words.
    pub spot: String,
    /// Its fans stand behind the core, otherwise before it.
    pub fans_after_core: bool,
}

/// The far end of a duct.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// Its name.
    pub name: String,
    /// What else is to be said, in a few words; may be empty.
    pub detail: String,
    /// How much of the air of its duct it takes; none where it has no other beside it.
    pub flow: Option<Figure>,
    /// What it is.
    pub kind: EndKind,
}

/// What the far end of a duct is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EndKind {
    /// An opening to outdoors, its centre this high above the ground (m).
    Terminal {
        /// Height (m).
        height: f64,
    },
    /// A tap in a trunk of the air handler.
    Tap {
        /// In the supply trunk, otherwise in the return.
        on_supply: bool,
        /// Distance from the blower (m).
        from_fan: f64,
        /// The duct ends in an elbow that faces downstream.
        facing_downstream: bool,
    },
    /// A grille in a zone.
    Grille {
        /// Index of the zone.
        zone: usize,
    },
}

/// A duct of the ventilator with the air in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Duct {
    /// How much air moves, with its uncertainty.
    pub flow: Figure,
    /// How fast (m/s), positive the usual way; zero when it stands still.
    pub velocity: f64,
    /// Inner diameter (m).
    pub size: f64,
    /// It has a wire helix.
    pub flexible: bool,
    /// Angle of its balancing damper (°), 0 open; none if it has none.
    pub damper: Option<f64>,
    /// Static pressure at the unit's port.
    pub port: Figure,
    /// Its far ends, at least one.
    pub ends: Vec<End>,
    /// What is to be said of its air, if it runs the wrong way; otherwise empty.
    pub wrong: String,
}

/// What else moves air, or burns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignKind {
    /// Air comes in through leaks.
    LeaksIn,
    /// Air goes out through leaks.
    LeaksOut,
    /// A fan draws air out of the house.
    Fan,
    /// An appliance that burns something.
    Appliance,
}

/// A small sign in a zone for something that is there beside the ventilator.
#[derive(Debug, Clone, PartialEq)]
pub struct Sign {
    /// A word of letters, digits and hyphens that no other sign has.
    pub key: String,
    /// Index of the zone.
    pub zone: usize,
    /// What it is.
    pub kind: SignKind,
    /// Its name.
    pub name: String,
    /// How much air it moves, if it is known.
    pub flow: Option<Figure>,
}

/// Everything that is on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// A word of letters, digits and hyphens that no other drawing of a page has.
    pub id: String,
    /// Name of the job.
    pub job: String,
    /// The operating case in words.
    pub case: String,
    /// Zones of the house, at least one.
    pub zones: Vec<Zone>,
    /// The air handler, if the house has one.
    pub handler: Option<Handler>,
    /// The ventilator.
    pub unit: Unit,
    /// Its ducts: outdoor, supply, extract, exhaust.
    pub ducts: [Duct; 4],
    /// Intake and exhaust share one hood.
    pub one_hood: bool,
    /// Intake and exhaust are on different walls.
    pub two_walls: bool,
    /// What is to be said where supply air runs straight to the extract; empty if it does not.
    pub short_circuit: String,
    /// Leaks, exhausts and appliances.
    pub signs: Vec<Sign>,
    /// Sentences under the drawing.
    pub notes: Vec<String>,
}

impl Section {
    /// Draws the sheet, a document of its own.
    pub fn draw(&self, format: Format) -> Drawing {
        pen::draw(self, format, None)
    }

    /// Draws it as a part of a page, which has [`STYLE`] among its styles and says itself whose house
    /// it is and what the notes say. `why` gives the address where the figure of a key is explained.
    pub fn draw_in_page(&self, format: Format, why: &dyn Fn(&str) -> String) -> Drawing {
        pen::draw(self, format, Some(why))
    }
}
