//! Levels in octave bands.

/// How many octave bands are kept.
pub const COUNT: usize = 8;

/// Nominal mid-band frequencies \[Hz\] (IEC 61260-1).
pub const FREQUENCIES: [f64; COUNT] = [63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0];

/// Exact mid-band frequency \[Hz\] of a band by its place: 1000·10^(3(n − 4)/10), IEC 61260-1.
pub fn exact_frequency(band: usize) -> f64 {
    1000.0 * 10f64.powf(0.3 * (band as f64 - 4.0))
}

/// A-weighting \[dB\] at a frequency \[Hz\].
///
/// 20 lg\[f₄² f⁴ / ((f² + f₁²)(f² + f₂²)^½ (f² + f₃²)^½ (f² + f₄²))\] + 2.000 with f₁ … f₄ = 20.60,
/// 107.7, 737.9, 12194 Hz (IEC 61672-1:2013, annex E). Zero at 1000 Hz.
///
/// ```
/// assert!((acoustics::a_weighting(1000.0)).abs() < 0.001);
/// assert!((acoustics::a_weighting(125.89) + 16.1).abs() < 0.05);
/// ```
pub fn a_weighting(frequency: f64) -> f64 {
    let square = frequency * frequency;
    let pole = |frequency: f64| square + frequency * frequency;
    let last = 12_194.217_f64;
    let gain = last * last * square * square
        / (pole(20.598_997) * (pole(107.652_65) * pole(737.862_23)).sqrt() * pole(last));
    20.0 * gain.log10() + 2.000
}

/// Levels in the octave bands of [`FREQUENCIES`] \[dB\]; silence is negative infinity.
///
/// The same type holds sound power (re 1 pW), sound pressure (re 20 µPa) and, as plain differences,
/// attenuations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spectrum(pub [f64; COUNT]);

impl Spectrum {
    /// No sound in any band.
    pub const SILENCE: Self = Self([f64::NEG_INFINITY; COUNT]);

    /// No attenuation in any band.
    pub const ZERO: Self = Self([0.0; COUNT]);

    /// The same number in every band.
    pub fn flat(level: f64) -> Self {
        Self([level; COUNT])
    }

    /// The bands by a function of place and value.
    pub fn map(self, f: impl Fn(usize, f64) -> f64) -> Self {
        Self(std::array::from_fn(|band| f(band, self.0[band])))
    }

    /// A level after an attenuation.
    ///
    /// ```
    /// use acoustics::Spectrum;
    ///
    /// let left = Spectrum::flat(50.0).less(&Spectrum::flat(20.0));
    /// assert_eq!(left, Spectrum::flat(30.0));
    /// ```
    pub fn less(self, attenuation: &Self) -> Self {
        self.map(|band, level| level - attenuation.0[band])
    }

    /// Two attenuations one after the other.
    pub fn and(self, attenuation: &Self) -> Self {
        self.map(|band, own| own + attenuation.0[band])
    }

    /// Two sounds at once, which do not interfere: 10 lg(10^(a/10) + 10^(b/10)).
    ///
    /// ```
    /// use acoustics::Spectrum;
    ///
    /// let twice = Spectrum::flat(40.0).with(&Spectrum::flat(40.0));
    /// assert!((twice.0[0] - 43.0103).abs() < 1e-4);
    /// ```
    pub fn with(self, other: &Self) -> Self {
        self.map(|band, level| energy_sum([level, other.0[band]]))
    }

    /// A-weighted level of all bands \[dB(A)\], weighted at the exact mid-band frequencies.
    pub fn a_weighted(&self) -> f64 {
        energy_sum(
            self.0
                .iter()
                .enumerate()
                .map(|(band, level)| level + a_weighting(exact_frequency(band))),
        )
    }

    /// Level of all bands without a weighting \[dB\].
    pub fn unweighted(&self) -> f64 {
        energy_sum(self.0)
    }
}

/// Level of several sounds that do not interfere: 10 lg Σ 10^(L/10); negative infinity for none.
///
/// ```
/// assert!((acoustics::energy_sum([30.0, 30.0, 20.0]) - 33.222).abs() < 1e-3);
/// assert_eq!(acoustics::energy_sum([]), f64::NEG_INFINITY);
/// ```
pub fn energy_sum(levels: impl IntoIterator<Item = f64>) -> f64 {
    let energy: f64 = levels
        .into_iter()
        .map(|level| 10f64.powf(0.1 * level))
        .sum();
    10.0 * energy.log10()
}
