//! Length of a step along which a convex function falls.

/// Search along one direction by the derivative g of the function along it, which rises.
///
/// The full step comes first. A length is accepted where g has at most half of its first size, on
/// whichever side of the minimum; the full step also where g is still more negative. In the careful
/// mode the length must certainly lower the function: at or before the minimum, g ≤ 0.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LineSearch {
    /// Half of the first size of g.
    half: f64,
    careful: bool,
    length: f64,
    /// Bracket of the minimum: lengths, and derivatives as the Illinois rule weighs them.
    low: (f64, f64),
    high: (f64, f64),
    /// Side that the last length replaced.
    last_was_low: Option<bool>,
    tries: u32,
}

impl LineSearch {
    /// With the derivative at the start, which is negative.
    #[inline(always)]
    pub fn new(start: f64, careful: bool) -> Self {
        Self {
            half: 0.5 * start.abs(),
            careful,
            length: 1.0,
            low: (0.0, start),
            high: (1.0, f64::INFINITY),
            last_was_low: None,
            tries: 0,
        }
    }

    /// The length to try, or the one accepted.
    #[inline(always)]
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Judges the derivative at the present length; if it is refused, the length is now another.
    /// After `most` lengths any is accepted.
    #[inline(always)]
    pub fn accepts(&mut self, derivative: f64, most: u32) -> bool {
        let before = derivative <= 0.0 && (self.tries == 0 || derivative >= -self.half);
        let beyond = !self.careful && derivative >= 0.0 && derivative <= self.half;
        if before || beyond || self.tries >= most {
            return true;
        }
        self.shorten(derivative);
        false
    }

    /// Next length: regula falsi with the Illinois rule; bisection now and then, and where the
    /// derivative is not a number.
    #[cold]
    fn shorten(&mut self, derivative: f64) {
        self.tries += 1;
        let is_low = derivative <= 0.0;
        let repeated = self.last_was_low == Some(is_low);
        if is_low {
            self.low = (self.length, derivative);
            self.high.1 *= if repeated { 0.5 } else { 1.0 };
        } else {
            self.high = (self.length, derivative);
            self.low.1 *= if repeated { 0.5 } else { 1.0 };
        }
        self.last_was_low = Some(is_low);
        let (low, high) = (self.low, self.high);
        let share = -low.1 / (high.1 - low.1);
        let share = if share.is_finite() && !self.tries.is_multiple_of(5) {
            share.clamp(0.01, 0.99)
        } else {
            0.5
        };
        self.length = low.0 + share * (high.0 - low.0);
    }
}
