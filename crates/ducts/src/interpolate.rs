//! Monotone interpolation of small tables.

use crate::error::{Error, require};

/// Most points that a curve can hold.
pub(crate) const MOST_POINTS: usize = 16;

/// Piecewise-cubic Hermite curve through up to 16 points, which never overshoots them: between
/// two points it rises or falls exactly as they do.
///
/// Inner slopes are the weighted harmonic mean of the neighbouring secants (zero at an extremum),
/// end slopes the shape-preserving three-point formula (Fritsch and Carlson 1980; Fritsch and
/// Butland 1984).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct MonotoneCubic {
    count: usize,
    x: [f64; MOST_POINTS],
    y: [f64; MOST_POINTS],
    slope: [f64; MOST_POINTS],
}

impl MonotoneCubic {
    /// Curve through 2 to 16 `points` with rising abscissas, which the caller has checked.
    pub(crate) fn new(points: &[(f64, f64)]) -> Self {
        let count = points.len().min(MOST_POINTS);
        let mut curve = Self {
            count,
            x: [0.0; MOST_POINTS],
            y: [0.0; MOST_POINTS],
            slope: [0.0; MOST_POINTS],
        };
        for (i, &(x, y)) in points.iter().take(count).enumerate() {
            curve.x[i] = x;
            curve.y[i] = y;
        }
        let width = |i: usize| curve.x[i + 1] - curve.x[i];
        let secant = |i: usize| (curve.y[i + 1] - curve.y[i]) / width(i);
        let mut slope = [0.0; MOST_POINTS];
        let last = count - 1;
        if count == 2 {
            slope[0] = secant(0);
            slope[1] = secant(0);
        } else {
            for (i, inner) in slope.iter_mut().enumerate().take(last).skip(1) {
                let (before, after) = (secant(i - 1), secant(i));
                if before * after > 0.0 {
                    let (left, right) = (width(i - 1), width(i));
                    let (first, second) = (2.0 * right + left, right + 2.0 * left);
                    *inner = (first + second) / (first / before + second / after);
                }
            }
            slope[0] = end_slope(width(0), width(1), secant(0), secant(1));
            slope[last] = end_slope(
                width(last - 1),
                width(last - 2),
                secant(last - 1),
                secant(last - 2),
            );
        }
        curve.slope = slope;
        curve
    }

    /// First and last point with their slopes: (abscissa, ordinate, slope).
    pub(crate) fn ends(&self) -> [(f64, f64, f64); 2] {
        [0, self.count - 1].map(|i| (self.x[i], self.y[i], self.slope[i]))
    }

    /// The points that the curve passes through.
    pub(crate) fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        (0..self.count).map(|i| (self.x[i], self.y[i]))
    }

    /// Replaces the slopes at the ends.
    pub(crate) fn with_end_slopes(mut self, first: f64, last: f64) -> Self {
        self.slope[0] = first;
        self.slope[self.count - 1] = last;
        self
    }

    /// Value and slope at `x`; past an end the end's cubic goes on.
    pub(crate) fn at(&self, x: f64) -> (f64, f64) {
        let mut i = 0;
        while i + 2 < self.count && x > self.x[i + 1] {
            i += 1;
        }
        let width = self.x[i + 1] - self.x[i];
        let position = (x - self.x[i]) / width;
        let rise = self.y[i + 1] - self.y[i];
        let first = self.slope[i] * width;
        let last = self.slope[i + 1] * width;
        let quadratic = 3.0 * rise - 2.0 * first - last;
        let cubic = first + last - 2.0 * rise;
        (
            self.y[i] + position * (first + position * (quadratic + position * cubic)),
            (first + position * (2.0 * quadratic + position * 3.0 * cubic)) / width,
        )
    }
}

/// Slope at an end from the two nearest intervals, limited so that the curve keeps its shape.
fn end_slope(near: f64, far: f64, near_secant: f64, far_secant: f64) -> f64 {
    let slope = ((2.0 * near + far) * near_secant - near * far_secant) / (near + far);
    if slope * near_secant <= 0.0 {
        0.0
    } else if near_secant * far_secant < 0.0 && slope.abs() > 3.0 * near_secant.abs() {
        3.0 * near_secant
    } else {
        slope
    }
}

/// Value of a table at `x`, held at its end values outside.
pub(crate) fn clamped(points: &[(f64, f64)], x: f64) -> f64 {
    let (first, last) = (points[0].0, points[points.len() - 1].0);
    MonotoneCubic::new(points).at(x.clamp(first, last)).0
}

/// Value of a table at `x`, refused outside.
pub(crate) fn within(
    quantity: &'static str,
    points: &[(f64, f64)],
    x: f64,
    accepted: &'static str,
) -> Result<f64, Error> {
    let (first, last) = (points[0].0, points[points.len() - 1].0);
    require(quantity, x, accepted, (first..=last).contains(&x))?;
    Ok(MonotoneCubic::new(points).at(x).0)
}

/// Value of a table at `x`, refused below its first point and held above its last.
pub(crate) fn held_above(
    quantity: &'static str,
    points: &[(f64, f64)],
    x: f64,
    accepted: &'static str,
) -> Result<f64, Error> {
    require(quantity, x, accepted, x >= points[0].0)?;
    Ok(clamped(points, x))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passes_through_its_points_without_overshoot() {
        let points = [(0.0, 0.0), (1.0, 1.0), (2.0, 1.0), (3.0, 5.0), (10.0, 4.0)];
        let curve = MonotoneCubic::new(&points);
        for (x, y) in points {
            assert!((curve.at(x).0 - y).abs() < 1e-15);
        }
        for i in 0..=1000 {
            let value = curve.at(1.0 + 0.001 * f64::from(i)).0;
            assert!((value - 1.0).abs() < 1e-15);
            assert!(curve.at(0.01 * f64::from(i)).0 <= 5.0);
        }
    }

    #[test]
    fn two_points_make_a_line() {
        let curve = MonotoneCubic::new(&[(1.0, 2.0), (3.0, 6.0)]);
        assert_eq!(curve.at(2.0), (4.0, 2.0));
    }

    #[test]
    fn tables_hold_or_refuse_outside() {
        let points = [(1.0, 2.0), (2.0, 3.0)];
        assert_eq!(clamped(&points, 5.0), 3.0);
        assert!(within("x", &points, 5.0, "1 to 2").is_err());
        assert!(within("x", &points, f64::NAN, "1 to 2").is_err());
        assert_eq!(held_above("x", &points, 5.0, "1 or more"), Ok(3.0));
        assert!(held_above("x", &points, 0.5, "1 or more").is_err());
        assert!(held_above("x", &points, f64::NAN, "1 or more").is_err());
    }
}
