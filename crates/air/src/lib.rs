//! Moist air: density, viscosity, psychrometrics at altitude.
//!
//! Plain functions of temperature \[°C\], pressure \[Pa\] and humidity ratio W \[kg of water vapour per
//! kg of dry air\], and [`AirState`], which checks its inputs once and then answers every question.
//!
//! ```
//! use air::{AirState, standard_pressure};
//!
//! let room = AirState::from_relative_humidity(20.0, 0.5, standard_pressure(0.0))?;
//! assert!((room.humidity_ratio() - 0.007262).abs() < 1e-6);
//! assert!((room.density() - 1.1989).abs() < 1e-4);
//! assert!((room.dew_point().unwrap() - 9.27).abs() < 0.01);
//! assert!((room.wet_bulb() - 13.78).abs() < 0.01);
//! # Ok::<(), air::AirError>(())
//! ```
//!
//! # Model and its error
//!
//! Dry air and vapour are ideal gases, as in ASHRAE Handbook—Fundamentals (2017), chapter 1. Real
//! air differs a little. Against CoolProp 8.0.0 (real gas, virial equation of ASHRAE RP-1485) over
//! −40…50 °C, 10…100 % relative humidity and 0…3000 m:
//!
//! | quantity | largest difference | because |
//! |---|---|---|
//! | humidity ratio at given relative humidity | −0.62 % | air presses water out of the liquid or ice: the vapour pressure at saturation is the enhancement factor 1.004…1.006 times that of water alone; with this factor the difference is 0.03 % |
//! | specific volume, density at given W | 0.13 % | compressibility of cold air (second virial coefficient) |
//! | enthalpy at given W | 0.33 kJ/kg; 0.14 kJ/kg up to 40 °C | pressure dependence of the enthalpy, curved heat capacity of vapour |
//! | dew point, wet bulb at given relative humidity | 0.02 K, 0.03 K | the same, nearly cancelled |
//! | viscosity of dry air | −0.11 % | density dependence left out |
//!
//! These are far below what an instrument on site can tell. The table is computed again by the
//! checks of the project.
//!
//! Relative humidity is over ice up to 0.01 °C and over liquid water above, as in ASHRAE's
//! formulas. A weather station states it over (supercooled) liquid water also below freezing, where
//! the two differ by 18 % at −20 °C; use the dew point there, or
//! [`saturation_pressure_over_water`].

mod properties;
mod root;
mod saturation;
mod state;

pub use properties::{
    DRY_AIR_GAS_CONSTANT, STANDARD_DENSITY, STANDARD_PRESSURE, ZERO_CELSIUS, density, enthalpy,
    humidity_ratio, specific_heat, specific_volume, standard_pressure, standard_temperature,
    temperature_of_enthalpy, vapour_pressure, viscosity,
};
pub use saturation::{
    dew_point, saturation_pressure, saturation_pressure_over_ice, saturation_pressure_over_water,
};
pub use state::{AirError, AirState};
