//! Where a duct meets still air: entries, exits, wall hoods, screens, grilles.
//!
//! All coefficients are losses of *total* pressure. An exit into still air loses at least the
//! velocity pressure of the stream, so that its coefficient is about 1 or more.

use crate::error::{Error, require};
use crate::interpolate::clamped;
use crate::loss::{HANDBOOK_SPREAD, Loss, Source};

/// Sharp duct end flush with a wall: 0.5.
pub fn flush_entry() -> Loss {
    Loss {
        coefficient: 0.5,
        log_standard_deviation: HANDBOOK_SPREAD,
        source: Source::published(
            "sharp flush entry 0.50 to 0.57, Rennels and Hudson 2012, Crane TP-410",
        ),
    }
}

/// Bare duct end that projects into the room: 1.0 for a thin wall, 0.93 in some tables.
pub fn projecting_entry() -> Loss {
    Loss {
        coefficient: 1.0,
        log_standard_deviation: HANDBOOK_SPREAD,
        source: Source::from_memory("thin projecting pipe; trade tables give 0.93"),
    }
}

/// Bellmouth in a wall, by the radius of its lip by the duct diameter: from the sharp entry (0.5 at
/// 0) to 0.03 at 0.2 and above (Idelchik; 0.03 also in ASHRAE Fundamentals 2021, chapter 21).
///
/// # Errors
/// Refuses a radius below 0.
pub fn bellmouth_entry(radius_ratio: f64) -> Result<Loss, Error> {
    const TABLE: [(f64, f64); 11] = [
        (0.00, 0.50),
        (0.01, 0.44),
        (0.02, 0.37),
        (0.03, 0.31),
        (0.04, 0.26),
        (0.05, 0.22),
        (0.06, 0.20),
        (0.08, 0.15),
        (0.12, 0.09),
        (0.16, 0.06),
        (0.20, 0.03),
    ];
    require(
        "bellmouth radius by diameter [-]",
        radius_ratio,
        "0 or more",
        radius_ratio >= 0.0,
    )?;
    Ok(Loss {
        coefficient: clamped(&TABLE, radius_ratio),
        log_standard_deviation: HANDBOOK_SPREAD,
        source: Source::published(
            "Idelchik, Handbook of Hydraulic Resistance, bellmouth in a wall",
        ),
    })
}

/// Free discharge into still air: exactly the velocity pressure, 1.0 (ASHRAE Fundamentals 2021,
/// chapter 21).
pub fn free_exit() -> Loss {
    Loss {
        coefficient: 1.0,
        log_standard_deviation: 0.05,
        source: Source::published("ASHRAE Fundamentals 2021, chapter 21, stack head without cone"),
    }
}

/// Wall hoods, on the velocity in the duct behind them. The widest unknown of a short run: measure,
/// or take the maker's curve. Losses from memory, with a spread that spans the trade's range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WallHood {
    /// Intake hood with a screen of 6 mm (¼ in) mesh: 2 to 3.5.
    Intake,
    /// Exhaust hood without a flap: 1.3 to 2.5.
    Exhaust,
    /// Exhaust hood with a gravity flap: 1.5 to 3.
    ExhaustWithFlap,
    /// Intake side of a fixture that holds intake and exhaust in one opening: 2 to 4.5.
    TwoInOneIntake,
    /// Exhaust side of such a fixture: 1.5 to 4.
    TwoInOneExhaust,
}

impl WallHood {
    /// Loss when air flows the way the hood is made for.
    pub fn loss(self) -> Loss {
        let (low, high): (f64, f64) = match self {
            WallHood::Intake => (2.0, 3.5),
            WallHood::Exhaust => (1.3, 2.5),
            WallHood::ExhaustWithFlap => (1.5, 3.0),
            WallHood::TwoInOneIntake => (2.0, 4.5),
            WallHood::TwoInOneExhaust => (1.5, 4.0),
        };
        Self::prior(low, high)
    }

    /// Loss when air flows the other way, for instance when wind overcomes an idle fan. A gravity
    /// flap shuts and only leaks.
    pub fn reverse_loss(self) -> Loss {
        match self {
            WallHood::Intake | WallHood::Exhaust => Self::prior(2.0, 4.0),
            WallHood::TwoInOneIntake | WallHood::TwoInOneExhaust => Self::prior(2.0, 4.5),
            WallHood::ExhaustWithFlap => Self::prior(100.0, 1000.0),
        }
    }

    /// Geometric middle of a range, which is taken as ± 1.5 standard deviations of the logarithm.
    fn prior(low: f64, high: f64) -> Loss {
        Loss {
            coefficient: (low * high).sqrt(),
            log_standard_deviation: (high / low).ln() / 3.0,
            source: Source::from_memory("range of the trade; measure or use the maker's curve"),
        }
    }
}

/// Screen with a free area that is `free_area_ratio` of the duct's, on the velocity in the duct:
/// `C = 1.3 (1 − n) + (1/n − 1)²` (Idelchik, wire mesh).
///
/// ```
/// let screen = ducts::terminal::screen(0.6)?;
/// assert!((screen.coefficient - 0.964).abs() < 1e-3);
/// # Ok::<(), ducts::Error>(())
/// ```
///
/// # Errors
/// Refuses a ratio outside 0.05 … 1.
pub fn screen(free_area_ratio: f64) -> Result<Loss, Error> {
    require(
        "free area of a screen by the duct's area [-]",
        free_area_ratio,
        "0.05 to 1",
        (0.05..=1.0).contains(&free_area_ratio),
    )?;
    let blocked = 1.0 / free_area_ratio - 1.0;
    Ok(Loss {
        coefficient: 1.3 * (1.0 - free_area_ratio) + blocked * blocked,
        log_standard_deviation: 2.0 * HANDBOOK_SPREAD,
        source: Source::from_memory("Idelchik, Handbook of Hydraulic Resistance, wire screen"),
    })
}

/// Return grille (1.5 to 2.5) on the velocity through its core; use the maker's curve where known.
pub fn return_grille() -> Loss {
    WallHood::prior(1.5, 2.5)
}

/// Supply register with its blades open (2 to 5) on the velocity through its core; use the maker's
/// curve where known.
pub fn supply_register() -> Loss {
    WallHood::prior(2.0, 5.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::loss::Confidence;

    #[test]
    fn screens_of_the_reference_values() {
        for (free, expected) in [
            (0.5, 1.65),
            (0.6, 0.964),
            (0.7, 0.574),
            (0.8, 0.322),
            (0.9, 0.142),
        ] {
            let got = screen(free).unwrap().coefficient;
            assert!((got - expected).abs() < 1e-3, "{free}: {got}");
        }
        assert_eq!(screen(1.0).unwrap().coefficient, 0.0);
        assert!(screen(0.0).is_err());
    }

    #[test]
    fn hoods_say_that_they_are_from_memory() {
        for hood in [
            WallHood::Intake,
            WallHood::Exhaust,
            WallHood::ExhaustWithFlap,
            WallHood::TwoInOneIntake,
            WallHood::TwoInOneExhaust,
        ] {
            let loss = hood.loss();
            assert_eq!(loss.source.confidence, Confidence::FromMemory);
            assert!(loss.log_standard_deviation > HANDBOOK_SPREAD);
            assert!(hood.reverse_loss().coefficient >= loss.coefficient);
        }
    }

    #[test]
    fn a_rounder_bellmouth_costs_less() {
        for i in 0..20 {
            let radius = 0.01 * f64::from(i);
            let more = bellmouth_entry(radius).unwrap().coefficient;
            let less = bellmouth_entry(radius + 0.01).unwrap().coefficient;
            assert!(less < more);
        }
        assert!(bellmouth_entry(-0.1).is_err());
    }
}
