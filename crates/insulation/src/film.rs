//! Heat transfer at the two surfaces of a duct: moving air inside, still air and the room's walls
//! outside.

use air::ZERO_CELSIUS;

/// Stefan–Boltzmann constant \[W/(m²·K⁴)\] (SI since 2019).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Nusselt number of laminar flow in a long tube with a wall of constant temperature.
///
/// VDI Heat Atlas (2010), G1, equation 1.
pub const LAMINAR: f64 = 3.66;

/// Reynolds number up to which flow in a tube is laminar, and from which it is turbulent.
const TRANSITION: [f64; 2] = [2300.0, 4000.0];

/// Thermal conductivity of dry air \[W/(m·K)\] at a temperature \[°C\].
///
/// The dilute-gas part of Lemmon and Jacobsen, *Viscosity and thermal conductivity equations for
/// nitrogen, oxygen, argon, and air*, International Journal of Thermophysics 25 (2004) 21–69:
/// λ = 1.308 η + 1.405 τ^−1.1 − 1.036 τ^−0.3 mW/(m·K) with η in µPa·s and τ = 132.6312 K/T. From
/// −40 to 50 °C it lies 0.10…0.20 % below the complete equation at atmospheric pressure.
///
/// ```
/// assert!((insulation::film::conductivity(20.0) - 0.02584).abs() < 1e-5);
/// ```
pub fn conductivity(temperature: f64) -> f64 {
    let reduced = 132.6312 / (temperature + ZERO_CELSIUS);
    1e-3 * (1.308 * 1e6 * air::viscosity(temperature) + 1.405 * reduced.powf(-1.1)
        - 1.036 * reduced.powf(-0.3))
}

/// Prandtl number of dry air, c η / λ, at a temperature \[°C\]; 0.72 to 0.70 from −40 to 50 °C.
pub fn prandtl(temperature: f64) -> f64 {
    air::specific_heat(0.0) * air::viscosity(temperature) / conductivity(temperature)
}

/// Nusselt number of air that flows through a long smooth tube.
///
/// Turbulent, Re ≥ 4000: Nu = (f/8)(Re − 1000) Pr / \[1 + 12.7 √(f/8) (Pr^⅔ − 1)\] with
/// f = (0.790 ln Re − 1.64)^−2 (Gnielinski, International Chemical Engineering 16 (1976) 359–368,
/// with Petukhov's friction factor; to Re 5·10⁶). Laminar, Re ≤ 2300: 3.66. Between the two
/// linear in Re (Gnielinski, International Journal of Heat and Mass Transfer 63 (2013) 134–140).
///
/// ```
/// assert!((insulation::film::tube_nusselt(1000.0, 0.71) - 3.66).abs() < 1e-12);
/// assert!((insulation::film::tube_nusselt(24_000.0, 0.714) - 60.3).abs() < 0.5);
/// ```
pub fn tube_nusselt(reynolds: f64, prandtl: f64) -> f64 {
    let turbulent = |reynolds: f64| {
        let eighth = (0.790 * reynolds.ln() - 1.64).powi(-2) / 8.0;
        eighth * (reynolds - 1000.0) * prandtl
            / (1.0 + 12.7 * eighth.sqrt() * (prandtl.powf(2.0 / 3.0) - 1.0))
    };
    let [low, high] = TRANSITION;
    if reynolds <= low {
        LAMINAR
    } else if reynolds >= high {
        turbulent(reynolds)
    } else {
        let part = (reynolds - low) / (high - low);
        (1.0 - part) * LAMINAR + part * turbulent(high)
    }
}

/// Nusselt number of free convection around a horizontal cylinder, on its outer diameter.
///
/// Nu = {0.60 + 0.387 Ra^⅙ / \[1 + (0.559/Pr)^(9/16)\]^(8/27)}², Ra ≤ 10¹². Churchill and Chu,
/// International Journal of Heat and Mass Transfer 18 (1975) 1049–1053.
pub fn cylinder_nusselt(rayleigh: f64, prandtl: f64) -> f64 {
    let shape = (1.0 + (0.559 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.60 + 0.387 * rayleigh.powf(1.0 / 6.0) / shape).powi(2)
}

/// Coefficient of free convection \[W/(m²·K)\] at a horizontal cylinder of an outer diameter \[m\] and
/// a surface temperature \[°C\] in air of a temperature \[°C\] and pressure \[Pa\].
///
/// Properties at the mean of the two temperatures; Ra = g |ΔT| D³ / (T ν a). See
/// [`cylinder_nusselt`].
pub fn free_convection(diameter: f64, surface: f64, ambient: f64, pressure: f64) -> f64 {
    const GRAVITY: f64 = 9.806_65;
    let film = 0.5 * (surface + ambient);
    let conductivity = conductivity(film);
    let prandtl = prandtl(film);
    let kinematic = air::viscosity(film) / air::density(film, 0.0, pressure);
    let rayleigh = GRAVITY * (surface - ambient).abs() * diameter.powi(3) * prandtl
        / ((film + ZERO_CELSIUS) * kinematic * kinematic);
    cylinder_nusselt(rayleigh, prandtl) * conductivity / diameter
}

/// Coefficient of radiation \[W/(m²·K)\] between a surface of an emissivity and temperature \[°C\] and
/// a wide room whose walls have the temperature of its air \[°C\]: ε σ (T_s² + T_a²)(T_s + T_a).
///
/// ```
/// assert!((insulation::film::radiation(0.9, 16.58, 21.0) - 5.08).abs() < 0.01);
/// ```
pub fn radiation(emissivity: f64, surface: f64, ambient: f64) -> f64 {
    let (surface, ambient) = (surface + ZERO_CELSIUS, ambient + ZERO_CELSIUS);
    emissivity * STEFAN_BOLTZMANN * (surface * surface + ambient * ambient) * (surface + ambient)
}
