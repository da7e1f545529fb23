//! Loss coefficients, with where they come from and how far they can be trusted.

use crate::error::{Error, require_positive};

/// How well a value is founded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Confidence {
    /// Read in the cited publication.
    Published,
    /// Known to the trade or written from memory; not read again in a publication.
    FromMemory,
}

/// Where a value comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// Publication and place, or what the value rests on.
    pub citation: &'static str,
    /// How well it is founded.
    pub confidence: Confidence,
}

impl Source {
    pub(crate) const fn published(citation: &'static str) -> Self {
        Self {
            citation,
            confidence: Confidence::Published,
        }
    }

    pub(crate) const fn from_memory(citation: &'static str) -> Self {
        Self {
            citation,
            confidence: Confidence::FromMemory,
        }
    }
}

/// Standard deviation of the logarithm of a loss coefficient read from a handbook table. Handbooks
/// differ from each other by some ±30 % on the same bend; half of that is taken as one standard
/// deviation (a judgement, no published source).
pub const HANDBOOK_SPREAD: f64 = 0.15;

/// A loss of total pressure `Δp_t = C ½ρV²` at a stated section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// The loss coefficient C (-). At a junction it may be negative for the slower stream.
    pub coefficient: f64,
    /// Standard deviation of ln C (-), a judgement of how much C varies between installations.
    pub log_standard_deviation: f64,
    /// Where C comes from.
    pub source: Source,
}

impl Loss {
    /// The same loss with C stated on the velocity in another section:
    /// `C_other = C (A_other/A_stated)²` (ASHRAE Fundamentals 2021, chapter 21, equation 33).
    /// Areas in m².
    ///
    /// # Errors
    /// Refuses an area that is not above 0.
    pub fn on_area(self, stated_area: f64, other_area: f64) -> Result<Self, Error> {
        require_positive("area of the stated section [m²]", stated_area)?;
        require_positive("area of the other section [m²]", other_area)?;
        let ratio = other_area / stated_area;
        Ok(Self {
            coefficient: self.coefficient * ratio * ratio,
            ..self
        })
    }

    /// The same loss multiplied by a factor, with its source kept.
    pub fn times(self, factor: f64) -> Self {
        Self {
            coefficient: self.coefficient * factor,
            ..self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changing_the_basis_keeps_the_pressure() {
        let loss = Loss {
            coefficient: 0.3,
            log_standard_deviation: 0.1,
            source: Source::from_memory("invented"),
        };
        let (small, large, flow) = (0.01, 0.02, 0.05);
        let moved = loss.on_area(small, large).unwrap();
        let pressure = |c: f64, area: f64| c * 0.6 * (flow / area) * (flow / area);
        let change = pressure(moved.coefficient, large) - pressure(0.3, small);
        assert!(change.abs() < 1e-14);
        assert!(loss.on_area(0.0, 1.0).is_err());
    }
}
