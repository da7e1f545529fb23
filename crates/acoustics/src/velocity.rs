//! Velocities at which air in ducts is heard. Levels that rooms may have are rows of the crate `rules`.

/// Highest velocity \[m/s\] of air in a round duct in the room itself for noise criteria NC 25, 35, 45
/// (ASHRAE Fundamentals, ch. 21, table 12).
pub const ROUND_VELOCITY: [(u32, f64); 3] = [(25, 8.6), (35, 13.2), (45, 19.8)];

/// The same in a rectangular duct (ASHRAE Fundamentals, ch. 21, table 12).
pub const RECTANGULAR_VELOCITY: [(u32, f64); 3] = [(25, 4.8), (35, 7.4), (45, 10.2)];

/// Velocity \[m/s\] up to which branches of houses are quiet; from memory.
pub const BRANCH_VELOCITY: f64 = 4.0;

/// Velocity \[m/s\] up to which the duct behind the grille of a bedroom is quiet; from memory.
pub const BEDROOM_GRILLE_VELOCITY: f64 = 2.0;
