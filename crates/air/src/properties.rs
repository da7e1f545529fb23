//! Properties that follow from a formula.

/// Density at which volume flows are stated: dry air at 20 °C and 101 325 Pa \[kg/m³\].
pub const STANDARD_DENSITY: f64 = 1.204;

/// Standard pressure at sea level \[Pa\].
pub const STANDARD_PRESSURE: f64 = 101_325.0;

/// 0 °C on the thermodynamic scale \[K\].
pub const ZERO_CELSIUS: f64 = 273.15;

/// Gas constant of dry air \[J/(kg·K)\]. ASHRAE Fundamentals (2017), ch. 1, eq. 1.
pub const DRY_AIR_GAS_CONSTANT: f64 = 287.042;

/// Molar mass of water over that of dry air. ASHRAE Fundamentals (2017), ch. 1, eq. 20.
pub(crate) const MOLAR_MASS_RATIO: f64 = 0.621945;

/// Its inverse, with the digits of ASHRAE Fundamentals (2017), ch. 1, eq. 26.
const INVERSE_MOLAR_MASS_RATIO: f64 = 1.607858;

/// Pressure of the standard atmosphere \[Pa\] at an altitude \[m\] above the sea.
///
/// p = 101 325 (1 − 2.25577·10⁻⁵ z)^5.2559. ASHRAE Fundamentals (2017), ch. 1, eq. 3, which
/// restates the international standard atmosphere (ISO 2533); −5…11 km. The altitude is
/// geopotential: a surveyed height of 3000 m is 1.4 m less (0.02 % in pressure).
///
/// ```
/// assert!((air::standard_pressure(1600.0) - 83523.5).abs() < 0.1);
/// ```
pub fn standard_pressure(altitude: f64) -> f64 {
    STANDARD_PRESSURE * (1.0 - 2.25577e-5 * altitude).powf(5.2559)
}

/// Temperature of the standard atmosphere \[°C\] at an altitude \[m\] above the sea.
///
/// T = 15 − 0.0065 z. ASHRAE Fundamentals (2017), ch. 1, eq. 4; −5…11 km.
pub fn standard_temperature(altitude: f64) -> f64 {
    15.0 - 0.0065 * altitude
}

/// Humidity ratio of air with a partial pressure of vapour \[Pa\] at a pressure \[Pa\].
///
/// W = 0.621945 p_w / (p − p_w). ASHRAE Fundamentals (2017), ch. 1, eq. 20; p_w < p.
///
/// ```
/// assert!((air::humidity_ratio(1169.4, 101325.0) - 0.0072617).abs() < 1e-7);
/// ```
pub fn humidity_ratio(vapour_pressure: f64, pressure: f64) -> f64 {
    MOLAR_MASS_RATIO * vapour_pressure / (pressure - vapour_pressure)
}

/// Partial pressure of vapour \[Pa\] in air with a humidity ratio at a pressure \[Pa\].
///
/// p_w = p W / (0.621945 + W), the inverse of [`humidity_ratio`].
pub fn vapour_pressure(humidity_ratio: f64, pressure: f64) -> f64 {
    pressure * humidity_ratio / (MOLAR_MASS_RATIO + humidity_ratio)
}

/// Enthalpy of moist air per kilogram of dry air \[J/kg\], zero for dry air and liquid water at
/// 0 °C.
///
/// h = 1006 T + W (2 501 000 + 1860 T). ASHRAE Fundamentals (2017), ch. 1, eq. 30; within
/// 0.33 kJ/kg of real air from −40 to 50 °C.
///
/// ```
/// assert!((air::enthalpy(20.0, 0.0072617) - 38552.0).abs() < 1.0);
/// ```
pub fn enthalpy(temperature: f64, humidity_ratio: f64) -> f64 {
    1006.0 * temperature + humidity_ratio * (2_501_000.0 + 1860.0 * temperature)
}

/// Temperature \[°C\] of moist air with an enthalpy \[J/kg of dry air\] and a humidity ratio: the
/// inverse of [`enthalpy`], for instance after two streams have mixed.
///
/// ```
/// let h = air::enthalpy(35.0, 0.014);
/// assert!((air::temperature_of_enthalpy(h, 0.014) - 35.0).abs() < 1e-12);
/// ```
pub fn temperature_of_enthalpy(enthalpy: f64, humidity_ratio: f64) -> f64 {
    (enthalpy - 2_501_000.0 * humidity_ratio) / specific_heat(humidity_ratio)
}

/// Specific heat of moist air per kilogram of *dry* air \[J/(kg·K)\].
///
/// c = 1006 + 1860 W, the slope of [`enthalpy`]. Per kilogram of moist air divide by 1 + W. Within
/// 0.2 % of real air up to 30 °C, 0.9 % at 50 °C and saturation.
pub fn specific_heat(humidity_ratio: f64) -> f64 {
    1006.0 + 1860.0 * humidity_ratio
}

/// Volume of moist air per kilogram of dry air \[m³/kg\] at a temperature \[°C\] and a pressure
/// \[Pa\].
///
/// v = 287.042 (T + 273.15) (1 + 1.607858 W) / p. ASHRAE Fundamentals (2017), ch. 1, eq. 26.
///
/// ```
/// assert!((air::specific_volume(30.0, 0.02, 95461.0) - 0.940855).abs() < 1e-6);
/// ```
pub fn specific_volume(temperature: f64, humidity_ratio: f64, pressure: f64) -> f64 {
    DRY_AIR_GAS_CONSTANT
        * (temperature + ZERO_CELSIUS)
        * (1.0 + INVERSE_MOLAR_MASS_RATIO * humidity_ratio)
        / pressure
}

/// Density of moist air \[kg/m³\], water included, at a temperature \[°C\] and a pressure \[Pa\].
///
/// ρ = (1 + W) / v. ASHRAE Fundamentals (2017), ch. 1, eq. 11. Humid air is lighter than dry air.
///
/// ```
/// assert!((air::density(20.0, 0.0, 101325.0) - air::STANDARD_DENSITY).abs() < 0.001);
/// assert!((air::density(30.0, 0.02, 95461.0) - 1.084120).abs() < 1e-6);
/// ```
pub fn density(temperature: f64, humidity_ratio: f64, pressure: f64) -> f64 {
    (1.0 + humidity_ratio) / specific_volume(temperature, humidity_ratio, pressure)
}

/// Dynamic viscosity of dry air \[Pa·s\] at a temperature \[°C\].
///
/// The dilute-gas part of Lemmon and Jacobsen, *Viscosity and thermal conductivity equations for
/// nitrogen, oxygen, argon, and air*, International Journal of Thermophysics 25 (2004) 21–69:
/// η = 0.0266958 √(M T) / (σ² Ω) µPa·s with M = 28.9586 g/mol, σ = 0.360 nm,
/// ln Ω = Σ bᵢ (ln T/103.3 K)ⁱ. From −40 to 50 °C it lies 0.05…0.11 % below the complete equation
/// at atmospheric pressure; Sutherland's formula lies 0.3…0.5 % below. The authors state 1 %.
///
/// Vapour makes air less viscous, which is left out: at saturation by 0.2 % at 0 °C, 0.7 % at
/// 20 °C, 1.8 % at 35 °C (at sea level). Friction in a duct follows with about a fifth of that.
///
/// ```
/// assert!((air::viscosity(20.0) - 1.819e-5).abs() < 1e-8);
/// ```
pub fn viscosity(temperature: f64) -> f64 {
    const MOLAR_MASS: f64 = 28.9586;
    const DIAMETER: f64 = 0.360;
    const ENERGY: f64 = 103.3;
    let kelvin = temperature + ZERO_CELSIUS;
    let x = (kelvin / ENERGY).ln();
    let collision = (0.431 + x * (-0.4623 + x * (0.08406 + x * (0.005341 - x * 0.00331)))).exp();
    0.0266958e-6 * (MOLAR_MASS * kelvin).sqrt() / (DIAMETER * DIAMETER * collision)
}
