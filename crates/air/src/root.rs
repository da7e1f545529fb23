//! The root of a rising function.

/// A root of `f` between `low` and `high`, to 10⁻¹⁰ of the argument, where `f(low) ≤ 0 ≤ f(high)`.
///
/// Regula falsi with the Illinois rule, which converges superlinearly; every third step halves the
/// interval, so that it always ends.
pub(crate) fn root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    const WIDTH: f64 = 1e-10;
    let (mut below, mut above) = (f(low), f(high));
    if below >= 0.0 {
        return low;
    }
    if above <= 0.0 {
        return high;
    }
    let mut step = 0;
    let mut last_was_below = None;
    while high - low > WIDTH {
        step += 1;
        let middle = if step % 3 == 0 {
            0.5 * (low + high)
        } else {
            low + (high - low) * below / (below - above)
        };
        // Keep off the ends, so that the interval closes from both sides.
        let middle = middle.clamp(low + 0.5 * WIDTH, high - 0.5 * WIDTH);
        let value = f(middle);
        if value == 0.0 {
            return middle;
        }
        let is_below = value < 0.0;
        let repeated = last_was_below == Some(is_below);
        if is_below {
            (low, below) = (middle, value);
            if repeated {
                above *= 0.5;
            }
        } else {
            (high, above) = (middle, value);
            if repeated {
                below *= 0.5;
            }
        }
        last_was_below = Some(is_below);
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::root;
    use std::cell::Cell;

    #[test]
    fn finds_roots_in_few_steps() {
        for (f, low, high, expected, most) in [
            (
                (|x| x * x - 2.0) as fn(f64) -> f64,
                0.0,
                2.0,
                2f64.sqrt(),
                20,
            ),
            (|x| x.powi(9), -1.0, 3.0, 0.0, 120),
            (
                |x| (x / 3.0).exp() - 1e-6,
                -100.0,
                100.0,
                3.0 * 1e-6f64.ln(),
                60,
            ),
            (|x| if x < 1.0 { -1.0 } else { 1.0 }, 0.0, 1e3, 1.0, 150),
            (|x| x - 5.0, 0.0, 5.0, 5.0, 2),
            (|x| x - 5.0, 5.0, 9.0, 5.0, 2),
        ] {
            let calls = Cell::new(0);
            let counted = |x| {
                calls.set(calls.get() + 1);
                f(x)
            };
            let got = root(counted, low, high);
            assert!(
                (got - expected).abs() <= 1e-10,
                "{got} instead of {expected}"
            );
            assert!(calls.get() <= most, "{} calls for {expected}", calls.get());
        }
    }
}
