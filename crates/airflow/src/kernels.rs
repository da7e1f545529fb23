//! The arithmetic of the laws, written so that the compiler turns loops over it into vector code.
//!
//! Nothing here branches and nothing contracts a product and a sum into one rounding, so every
//! instruction set gives the same bits.

/// Added to and subtracted from a number, it rounds to a whole number, which then stands in the
/// lowest bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0; // 1.5 · 2⁵²

/// `base^(exponent)` for a normal `base` above 0, by `2^(exponent · log₂ base)`; a few units in
/// the last place per unit of `log₂` of the result.
///
/// The coefficients are Chebyshev interpolations of the two functions on their reduced ranges,
/// computed with 50 digits; each polynomial is off by less than 2e-17 of its value.
#[inline(always)]
pub(crate) fn power(base: f64, exponent: f64) -> f64 {
    // log₂: base = 2^k · mantissa with the mantissa in [√½, √2).
    const SPLIT: u64 = 0x3fe6_a09e_667f_3bcd; // √½
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    let bits = base.to_bits();
    let biased = bits.wrapping_add(ONE - SPLIT) >> 52; // k + 1023
    let mantissa = f64::from_bits(bits.wrapping_sub(biased << 52).wrapping_add(ONE));
    let whole = f64::from_bits(biased | 0x4330_0000_0000_0000) - (4_503_599_627_370_496.0 + 1023.0);
    let f = (mantissa - 1.0) / (mantissa + 1.0);
    let u = f * f;
    let u2 = u * u;
    let u4 = u2 * u2;
    let series = ((2.8853900817779268 + 0.9617966939259898 * u)
        + (0.5770780163454895 + 0.41219858584787455 * u) * u2)
        + ((0.32059853416893563 + 0.2623343930169728 * u)
            + (0.2209119995397776 + 0.21367029765733125 * u) * u2)
            * u4;
    let log2 = whole + f * series;
    // 2^y = 2^k · 2^r with r in [−½, ½].
    let y = exponent * log2;
    let rounded = y + ROUNDER;
    let r = y - (rounded - ROUNDER);
    let r2 = r * r;
    let r4 = r2 * r2;
    let low =
        (1.0 + std::f64::consts::LN_2 * r) + (0.24022650695910158 + 0.055504108664821625 * r) * r2;
    let middle = (0.009618129107587256 + 0.001333355814640647 * r)
        + (0.00015403530463724353 + 1.5252733841556773e-5 * r) * r2;
    let high = (1.3215432535912375e-6 + 1.0178057087733941e-7 * r)
        + (7.074194297288521e-9 + 4.4558179083360645e-10 * r) * r2;
    let fraction = low + (middle + high * r4) * r4;
    f64::from_bits(fraction.to_bits().wrapping_add(rounded.to_bits() << 52))
}

/// The range around rest in which a law is laminar: a pressure difference, and one over it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Laminar {
    pub below: f64,
    pub inverse: f64,
}

impl Laminar {
    pub const fn below(pressure: f64) -> Self {
        Self {
            below: pressure,
            inverse: 1.0 / pressure,
        }
    }

    /// The pressure difference at which the law itself is evaluated, and what part of it the
    /// present one is.
    #[inline(always)]
    fn outer(self, size: f64) -> (f64, f64) {
        let ratio = size * self.inverse;
        (
            if size > self.below { size } else { self.below },
            if ratio < 1.0 { ratio } else { 1.0 },
        )
    }
}

/// Mass flow and slope of a leak `m = c |Δp|ⁿ sgn Δp`. See [`Law`](crate::Law).
#[inline(always)]
pub(crate) fn leak(
    dp: f64,
    forward: f64,
    reverse: f64,
    exponent: f64,
    laminar: Laminar,
) -> (f64, f64) {
    let (outer, ratio) = laminar.outer(dp.abs());
    let coefficient = if dp > 0.0 { forward } else { reverse };
    let secant = coefficient * power(outer, exponent - 1.0);
    round_off(dp, secant, exponent, ratio)
}

/// Mass flow and slope of `y = r₁ Q + r₂ Q|Q|`; `forward` and `reverse` are `4 r₂` for the two
/// signs of y.
#[inline(always)]
pub(crate) fn resistance(
    y: f64,
    linear: f64,
    forward: f64,
    reverse: f64,
    density: f64,
    laminar: Laminar,
) -> (f64, f64) {
    let (outer, ratio) = laminar.outer(y.abs());
    let quadratic = if y > 0.0 { forward } else { reverse };
    let root = (linear * linear + quadratic * outer).sqrt();
    let sum = linear + root;
    // Of Q = 2 Δp/sum the logarithmic slope is sum/(2 root).
    let inverse = 1.0 / (sum * root);
    let secant = (density + density) * (root * inverse);
    round_off(y, secant, 0.5 * (sum * sum * inverse), ratio)
}

/// Mass flow and slope of a law from its secant `m/Δp` and its logarithmic slope `n` at the outer
/// point: the law itself where `ratio`, the pressure difference over that of the outer point, is 1;
/// nearer to rest the odd cubic that has the same value and slope there.
#[inline(always)]
fn round_off(dp: f64, secant: f64, n: f64, ratio: f64) -> (f64, f64) {
    let bend = 0.5 * (n - 1.0);
    let cubic = bend * (ratio * ratio);
    (
        secant * dp * ((1.0 - bend) + cubic),
        secant * ((1.0 - bend) + 3.0 * cubic),
    )
}

/// [`leak`] over arrays of one length.
#[inline(always)]
#[allow(clippy::too_many_arguments, reason = "the columns of one table")]
pub(crate) fn leaks(
    dp: &[f64],
    forward: &[f64],
    reverse: &[f64],
    exponent: &[f64],
    laminar: [&[f64]; 2],
    flow: &mut [f64],
    slope: &mut [f64],
) {
    let count = dp.len();
    let (forward, reverse) = (&forward[..count], &reverse[..count]);
    let exponent = &exponent[..count];
    let [below, inverse] = laminar.map(|column| &column[..count]);
    let (flow, slope) = (&mut flow[..count], &mut slope[..count]);
    for i in 0..count {
        let laminar = Laminar {
            below: below[i],
            inverse: inverse[i],
        };
        (flow[i], slope[i]) = leak(dp[i], forward[i], reverse[i], exponent[i], laminar);
    }
}

/// [`resistance`] over arrays of one length.
#[inline(always)]
#[allow(clippy::too_many_arguments, reason = "the columns of one table")]
pub(crate) fn resistances(
    dp: &[f64],
    linear: &[f64],
    forward: &[f64],
    reverse: &[f64],
    density: &[f64],
    laminar: [&[f64]; 2],
    flow: &mut [f64],
    slope: &mut [f64],
) {
    let count = dp.len();
    let (linear, forward, reverse) = (&linear[..count], &forward[..count], &reverse[..count]);
    let density = &density[..count];
    let [below, inverse] = laminar.map(|column| &column[..count]);
    let (flow, slope) = (&mut flow[..count], &mut slope[..count]);
    for i in 0..count {
        let laminar = Laminar {
            below: below[i],
            inverse: inverse[i],
        };
        let (linear, forward, reverse) = (linear[i], forward[i], reverse[i]);
        (flow[i], slope[i]) = resistance(dp[i], linear, forward, reverse, density[i], laminar);
    }
}
