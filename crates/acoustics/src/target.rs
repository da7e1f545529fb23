//! What is quiet enough: targets and velocities, each with its authority.

/// A room as sound sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Room {
    /// People sleep in it.
    Bedroom,
    /// People live in it.
    Living,
}

/// How well a number is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// Read in the source.
    Read,
    /// From memory.
    Memory,
}

/// The highest level that a room may have from a ventilator that runs all the time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// For which room.
    pub room: Room,
    /// Sound pressure \[dB(A)\].
    pub level: f64,
    /// Whose number it is.
    pub authority: &'static str,
    /// How well it is known.
    pub confidence: Confidence,
    /// The one that decides; the others are said beside it.
    pub decides: bool,
}

/// All targets.
pub const TARGETS: &[Target] = &[
    Target {
        room: Room::Bedroom,
        level: 30.0,
        authority: "UK Approved Document F: 30 dB LAeq in bedrooms and living rooms at the continuous rate",
        confidence: Confidence::Read,
        decides: true,
    },
    Target {
        room: Room::Bedroom,
        level: 25.0,
        authority: "good practice for bedrooms",
        confidence: Confidence::Memory,
        decides: false,
    },
    Target {
        room: Room::Living,
        level: 35.0,
        authority: "ASHRAE, residences: 35 dBA in living rooms (NC 30)",
        confidence: Confidence::Read,
        decides: true,
    },
    Target {
        room: Room::Living,
        level: 30.0,
        authority: "UK Approved Document F: 30 dB LAeq in bedrooms and living rooms at the continuous rate",
        confidence: Confidence::Read,
        decides: false,
    },
];

/// The target that decides for a room.
pub fn deciding(room: Room) -> &'static Target {
    TARGETS
        .iter()
        .find(|target| target.room == room && target.decides)
        .unwrap_or(&TARGETS[0])
}

/// Highest velocity \[m/s\] of air in a round duct in the room itself for noise criteria NC 25, 35, 45
/// (ASHRAE Fundamentals, ch. 21, table 12).
pub const ROUND_VELOCITY: [(u32, f64); 3] = [(25, 8.6), (35, 13.2), (45, 19.8)];

/// The same in a rectangular duct (ASHRAE Fundamentals, ch. 21, table 12).
pub const RECTANGULAR_VELOCITY: [(u32, f64); 3] = [(25, 4.8), (35, 7.4), (45, 10.2)];

/// Velocity \[m/s\] up to which branches of houses are quiet; from memory.
pub const BRANCH_VELOCITY: f64 = 4.0;

/// Velocity \[m/s\] up to which the duct behind the grille of a bedroom is quiet; from memory.
pub const BEDROOM_GRILLE_VELOCITY: f64 = 2.0;
