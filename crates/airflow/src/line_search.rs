//! Length of a step along which a convex function falls.

/// Search along one direction by the derivative g of the function along it, which rises.
///
/// The full step comes first. In the ordinary mode any length is taken at which g is at most half
/// of its first size, on whichever side of the minimum. In the careful mode only a length is taken
/// that certainly lowers the function: at or before the minimum (g ≤ 0), and not so short that g
/// kept more than half of its size, except at the full step.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LineSearch {
    start: f64,
    careful: bool,
    length: f64,
    low: (f64, f64),
    high: (f64, f64),
    tries: u32,
}

/// After so many lengths the differences are below rounding and any length does.
const MAX_TRIES: u32 = 60;

impl LineSearch {
    /// With the derivative at the start, which is negative.
    #[inline(always)]
    pub fn new(start: f64, careful: bool) -> Self {
        Self {
            start,
            careful,
            length: 1.0,
            low: (0.0, start),
            high: (1.0, f64::INFINITY),
            tries: 0,
        }
    }

    /// The length to try, or the one accepted.
    #[inline(always)]
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Judges the derivative at the present length; if it is refused, the length is now another.
    #[inline(always)]
    pub fn accepts(&mut self, derivative: f64) -> bool {
        let half = 0.5 * self.start.abs();
        let accepted = if self.careful {
            derivative <= 0.0 && (self.length == 1.0 || derivative >= -half)
        } else {
            derivative <= half
        };
        if accepted || self.tries >= MAX_TRIES {
            return true;
        }
        self.shorten(derivative);
        false
    }

    #[cold]
    fn shorten(&mut self, derivative: f64) {
        self.tries += 1;
        if derivative <= 0.0 {
            self.low = (self.length, derivative);
        } else {
            self.high = (self.length, derivative);
        }
        let (low, high) = (self.low, self.high);
        // Regula falsi, within the middle of the bracket; bisection where that is slow or where
        // the derivative is not a number.
        let share = -low.1 / (high.1 - low.1);
        let share = if self.tries.is_multiple_of(4) || !share.is_finite() {
            0.5
        } else {
            share.clamp(0.1, 0.9)
        };
        self.length = low.0 + share * (high.0 - low.0);
    }
}
