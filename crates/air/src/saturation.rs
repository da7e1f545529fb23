//! Water vapour over ice and over liquid water.

use crate::properties::ZERO_CELSIUS;
use crate::root::root;

/// The lowest temperature of the formulas \[°C\].
pub(crate) const COLDEST: f64 = -100.0;
/// The highest temperature of the formulas \[°C\].
pub(crate) const HOTTEST: f64 = 200.0;

/// Triple point of water \[°C\]: ice below, liquid above.
const TRIPLE_POINT: f64 = 0.01;

/// Saturation pressure of water vapour \[Pa\] at a temperature \[°C\]: over ice up to the triple
/// point (0.01 °C), over liquid water above.
///
/// Hyland and Wexler (1983), as in ASHRAE Fundamentals (2017), ch. 1, eq. 5 and 6; −100…200 °C.
///
/// ```
/// assert!((air::saturation_pressure(25.0) - 3169.7).abs() < 1.0);
/// assert!((air::saturation_pressure(-20.0) - 103.24).abs() < 0.03);
/// ```
pub fn saturation_pressure(temperature: f64) -> f64 {
    ln_saturation_pressure(temperature).exp()
}

/// Saturation pressure \[Pa\] over ice at a temperature \[°C\].
///
/// ln p = Σ cᵢ Tⁱ + 4.1635019 ln T (T in kelvins). ASHRAE Fundamentals (2017), ch. 1, eq. 5;
/// −100…0.01 °C.
pub fn saturation_pressure_over_ice(temperature: f64) -> f64 {
    ln_over_ice(temperature).exp()
}

/// Saturation pressure \[Pa\] over liquid water at a temperature \[°C\].
///
/// ln p = Σ cᵢ Tⁱ + 6.5459673 ln T (T in kelvins). ASHRAE Fundamentals (2017), ch. 1, eq. 6;
/// 0…200 °C. Below 0 °C it continues to supercooled water, over which weather stations state their
/// relative humidity.
pub fn saturation_pressure_over_water(temperature: f64) -> f64 {
    ln_over_water(temperature).exp()
}

/// Dew point, or frost point below 0.01 °C, \[°C\] of air with a partial pressure of vapour
/// \[Pa\]: the temperature at which this pressure saturates.
///
/// `None` if it lies outside −100…200 °C, where the saturation pressure is not known; dry air has
/// no dew point.
///
/// ```
/// assert!((air::dew_point(1169.4).unwrap() - 9.272).abs() < 0.001);
/// assert_eq!(air::dew_point(0.0), None);
/// ```
pub fn dew_point(vapour_pressure: f64) -> Option<f64> {
    let ln_pressure = vapour_pressure.ln();
    let known = ln_saturation_pressure(COLDEST)..=ln_saturation_pressure(HOTTEST);
    known.contains(&ln_pressure).then(|| {
        root(
            |t| ln_saturation_pressure(t) - ln_pressure,
            COLDEST,
            HOTTEST,
        )
    })
}

fn ln_saturation_pressure(temperature: f64) -> f64 {
    if temperature <= TRIPLE_POINT {
        ln_over_ice(temperature)
    } else {
        ln_over_water(temperature)
    }
}

fn ln_over_ice(temperature: f64) -> f64 {
    let t = temperature + ZERO_CELSIUS;
    let polynomial =
        6.3925247 + t * (-9.677843e-3 + t * (6.2215701e-7 + t * (2.0747825e-9 - t * 9.484024e-13)));
    -5.6745359e3 / t + polynomial + 4.1635019 * t.ln()
}

fn ln_over_water(temperature: f64) -> f64 {
    let t = temperature + ZERO_CELSIUS;
    let polynomial = 1.3914993 + t * (-4.8640239e-2 + t * (4.1764768e-5 - t * 1.4452093e-8));
    -5.8002206e3 / t + polynomial + 6.5459673 * t.ln()
}
