//! Moist air in a known state.

use std::fmt;
use std::ops::RangeInclusive;

use crate::properties::{self, MOLAR_MASS_RATIO};
use crate::root::root;
use crate::saturation::{self, COLDEST, HOTTEST};

/// Temperatures that are accepted \[°C\]: those of the saturation formulas.
const TEMPERATURES: RangeInclusive<f64> = COLDEST..=HOTTEST;
/// Pressures that are accepted \[Pa\]: those of the standard atmosphere from −5 to 11 km.
const PRESSURES: RangeInclusive<f64> = 20_000.0..=180_000.0;
/// How far rounding may lift air above saturation.
const ROUNDING: f64 = 1e-9;

/// Why a state of moist air is refused.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AirError {
    /// A temperature outside −100…200 °C.
    Temperature(f64),
    /// A pressure outside 20…180 kPa.
    Pressure(f64),
    /// A relative humidity outside 0…1.
    RelativeHumidity(f64),
    /// A humidity ratio below zero.
    HumidityRatio(f64),
    /// A dew point outside −100 °C … the temperature of the air.
    DewPoint {
        /// The dew point that was given \[°C\].
        dew_point: f64,
        /// The temperature of the air \[°C\].
        temperature: f64,
    },
    /// A wet bulb above the temperature of the air, or so low that even dry air would not reach it.
    WetBulb {
        /// The wet-bulb temperature that was given \[°C\].
        wet_bulb: f64,
        /// The temperature of the air \[°C\].
        temperature: f64,
    },
    /// More vapour than saturation allows.
    Supersaturated {
        /// The humidity ratio that was given.
        humidity_ratio: f64,
        /// The humidity ratio at saturation.
        saturated: f64,
    },
    /// A vapour pressure that is not below the pressure of the air: steam, not air.
    Steam {
        /// The vapour pressure that follows from the input \[Pa\].
        vapour_pressure: f64,
        /// The pressure of the air \[Pa\].
        pressure: f64,
    },
}

impl fmt::Display for AirError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Temperature(found) => {
                write!(f, "air temperature {found} °C is outside -100 to 200 °C")
            }
            Self::Pressure(found) => {
                write!(f, "air pressure {found} Pa is outside 20 000 to 180 000 Pa")
            }
            Self::RelativeHumidity(found) => write!(
                f,
                "relative humidity {found} is outside 0 to 1 (0 to 100 %)"
            ),
            Self::HumidityRatio(found) => {
                write!(f, "humidity ratio {found} kg/kg is not zero or more")
            }
            Self::DewPoint {
                dew_point,
                temperature,
            } => write!(
                f,
                "dew point {dew_point} °C is outside -100 °C to the air temperature of \
                 {temperature} °C"
            ),
            Self::WetBulb {
                wet_bulb,
                temperature,
            } => write!(
                f,
                "wet bulb {wet_bulb} °C is impossible in air of {temperature} °C: it lies between \
                 that of dry air and the air temperature"
            ),
            Self::Supersaturated {
                humidity_ratio,
                saturated,
            } => write!(
                f,
                "humidity ratio {humidity_ratio} kg/kg is above saturation ({saturated:.6} kg/kg)"
            ),
            Self::Steam {
                vapour_pressure,
                pressure,
            } => write!(
                f,
                "vapour pressure {vapour_pressure:.0} Pa is not below the air pressure of \
                 {pressure} Pa"
            ),
        }
    }
}

impl std::error::Error for AirError {}

/// Moist air with a known temperature, humidity and pressure, within the limits of the formulas:
/// −100…200 °C, 20…180 kPa, not above saturation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirState {
    temperature: f64,
    humidity_ratio: f64,
    pressure: f64,
}

impl AirState {
    /// Air with a temperature \[°C\], humidity ratio \[kg/kg\] and pressure \[Pa\].
    ///
    /// # Errors
    ///
    /// [`AirError`] if an input is outside its limits or the air would be above saturation.
    pub fn from_humidity_ratio(
        temperature: f64,
        humidity_ratio: f64,
        pressure: f64,
    ) -> Result<Self, AirError> {
        check_surroundings(temperature, pressure)?;
        if !(humidity_ratio >= 0.0 && humidity_ratio.is_finite()) {
            return Err(AirError::HumidityRatio(humidity_ratio));
        }
        let saturation_pressure = saturation::saturation_pressure(temperature);
        if properties::vapour_pressure(humidity_ratio, pressure)
            > saturation_pressure * (1.0 + ROUNDING)
        {
            return Err(AirError::Supersaturated {
                humidity_ratio,
                saturated: properties::humidity_ratio(saturation_pressure, pressure),
            });
        }
        Ok(Self {
            temperature,
            humidity_ratio,
            pressure,
        })
    }

    /// Air with a temperature \[°C\], relative humidity \[0…1, over ice up to 0.01 °C\] and
    /// pressure \[Pa\].
    ///
    /// φ = p_w / p_ws(T). ASHRAE Fundamentals (2017), ch. 1, eq. 12 and 22.
    ///
    /// # Errors
    ///
    /// [`AirError`] if an input is outside its limits, or the vapour would reach the pressure of
    /// the air.
    pub fn from_relative_humidity(
        temperature: f64,
        relative_humidity: f64,
        pressure: f64,
    ) -> Result<Self, AirError> {
        check_surroundings(temperature, pressure)?;
        if !(0.0..=1.0).contains(&relative_humidity) {
            return Err(AirError::RelativeHumidity(relative_humidity));
        }
        let vapour_pressure = relative_humidity * saturation::saturation_pressure(temperature);
        Self::from_vapour_pressure(temperature, vapour_pressure, pressure)
    }

    /// Air with a temperature \[°C\], dew (or frost) point \[°C\] and pressure \[Pa\].
    ///
    /// # Errors
    ///
    /// [`AirError`] if an input is outside its limits, or the dew point above the temperature.
    pub fn from_dew_point(
        temperature: f64,
        dew_point: f64,
        pressure: f64,
    ) -> Result<Self, AirError> {
        check_surroundings(temperature, pressure)?;
        if !(COLDEST..=temperature).contains(&dew_point) {
            return Err(AirError::DewPoint {
                dew_point,
                temperature,
            });
        }
        let vapour_pressure = saturation::saturation_pressure(dew_point);
        Self::from_vapour_pressure(temperature, vapour_pressure, pressure)
    }

    /// Air with a temperature \[°C\], thermodynamic wet-bulb temperature \[°C\] and pressure
    /// \[Pa\]. Below 0 °C the bulb is covered with ice.
    ///
    /// Energy balance of the bulb, ASHRAE Fundamentals (2017), ch. 1, eq. 33 (water) and 35 (ice).
    ///
    /// # Errors
    ///
    /// [`AirError`] if an input is outside its limits, the wet bulb above the temperature, or so
    /// low that the humidity would be negative.
    ///
    /// ```
    /// // ASHRAE Fundamentals (2017), ch. 1, example 1
    /// let air = air::AirState::from_wet_bulb(40.0, 20.0, 101325.0)?;
    /// assert!((air.relative_humidity() - 0.14).abs() < 0.005);
    /// assert!((air.enthalpy() - 56_700.0).abs() < 50.0);
    /// # Ok::<(), air::AirError>(())
    /// ```
    pub fn from_wet_bulb(temperature: f64, wet_bulb: f64, pressure: f64) -> Result<Self, AirError> {
        check_surroundings(temperature, pressure)?;
        let impossible = AirError::WetBulb {
            wet_bulb,
            temperature,
        };
        let saturation_pressure = saturation::saturation_pressure(wet_bulb);
        if !(COLDEST..=temperature).contains(&wet_bulb) || saturation_pressure >= pressure {
            return Err(impossible);
        }
        let saturated = properties::humidity_ratio(saturation_pressure, pressure);
        let bulb = Bulb::at(wet_bulb);
        let humidity_ratio = bulb.humidity_ratio(temperature, wet_bulb, saturated);
        if humidity_ratio < 0.0 {
            return Err(impossible);
        }
        Self::from_humidity_ratio(temperature, humidity_ratio, pressure)
    }

    fn from_vapour_pressure(
        temperature: f64,
        vapour_pressure: f64,
        pressure: f64,
    ) -> Result<Self, AirError> {
        if vapour_pressure >= pressure {
            return Err(AirError::Steam {
                vapour_pressure,
                pressure,
            });
        }
        Ok(Self {
            temperature,
            humidity_ratio: properties::humidity_ratio(vapour_pressure, pressure),
            pressure,
        })
    }

    /// Temperature \[°C\].
    pub fn temperature(&self) -> f64 {
        self.temperature
    }

    /// Pressure \[Pa\].
    pub fn pressure(&self) -> f64 {
        self.pressure
    }

    /// Humidity ratio \[kg of vapour per kg of dry air\].
    pub fn humidity_ratio(&self) -> f64 {
        self.humidity_ratio
    }

    /// Partial pressure of vapour \[Pa\].
    pub fn vapour_pressure(&self) -> f64 {
        properties::vapour_pressure(self.humidity_ratio, self.pressure)
    }

    /// Relative humidity \[0…1\], over ice up to 0.01 °C.
    pub fn relative_humidity(&self) -> f64 {
        self.vapour_pressure() / saturation::saturation_pressure(self.temperature)
    }

    /// Dew point, or frost point below 0.01 °C, \[°C\]; `None` if the air is so dry that it lies
    /// below −100 °C.
    pub fn dew_point(&self) -> Option<f64> {
        saturation::dew_point(self.vapour_pressure()).map(|point| point.min(self.temperature))
    }

    /// Thermodynamic wet-bulb temperature \[°C\]: to which the air cools when water (ice below
    /// 0 °C) evaporates into it.
    ///
    /// The inverse of [`AirState::from_wet_bulb`]. In a narrow band of humidity both a bulb with
    /// ice a little below 0 °C and one with water a little above are in balance; the one with ice
    /// is given.
    pub fn wet_bulb(&self) -> f64 {
        // The balance of the bulb times the pressure of the dry air at its surface, which removes
        // the pole where water boils.
        let excess = |bulb: Bulb| {
            move |wet_bulb: f64| {
                let vapour = saturation::saturation_pressure(wet_bulb);
                let from_air = Bulb::heat_of_air(self.temperature, wet_bulb)
                    + bulb.heat_of_vapour(self.temperature, wet_bulb) * self.humidity_ratio;
                bulb.heat_of_bulb(wet_bulb) * MOLAR_MASS_RATIO * vapour
                    - from_air * (self.pressure - vapour)
            }
        };
        // Even dry air cools by less than 1 K where it is as cold as the formulas go.
        let lowest = COLDEST - 1.0;
        let with_ice = excess(Bulb::Ice);
        let warmest_ice = self.temperature.min(0.0);
        if self.temperature <= 0.0 || with_ice(warmest_ice) >= 0.0 {
            root(with_ice, lowest, warmest_ice)
        } else {
            root(excess(Bulb::Water), 0.0, self.temperature)
        }
    }

    /// Enthalpy \[J per kg of dry air\]; see [`enthalpy`](crate::enthalpy).
    pub fn enthalpy(&self) -> f64 {
        properties::enthalpy(self.temperature, self.humidity_ratio)
    }

    /// Volume \[m³ per kg of dry air\]; see [`specific_volume`](crate::specific_volume).
    pub fn specific_volume(&self) -> f64 {
        properties::specific_volume(self.temperature, self.humidity_ratio, self.pressure)
    }

    /// Density \[kg/m³\], water included; see [`density`](crate::density).
    pub fn density(&self) -> f64 {
        properties::density(self.temperature, self.humidity_ratio, self.pressure)
    }

    /// Specific heat \[J/K per kg of dry air\]; see [`specific_heat`](crate::specific_heat).
    pub fn specific_heat(&self) -> f64 {
        properties::specific_heat(self.humidity_ratio)
    }

    /// Dynamic viscosity \[Pa·s\], taken as that of dry air; see [`viscosity`](crate::viscosity).
    pub fn viscosity(&self) -> f64 {
        properties::viscosity(self.temperature)
    }
}

fn check_surroundings(temperature: f64, pressure: f64) -> Result<(), AirError> {
    if !TEMPERATURES.contains(&temperature) {
        Err(AirError::Temperature(temperature))
    } else if !PRESSURES.contains(&pressure) {
        Err(AirError::Pressure(pressure))
    } else {
        Ok(())
    }
}

/// What evaporates from the wet bulb. The heats are those of ASHRAE Fundamentals (2017), ch. 1,
/// eq. 33 and 35, in kJ/kg.
#[derive(Clone, Copy)]
enum Bulb {
    Water,
    Ice,
}

impl Bulb {
    fn at(wet_bulb: f64) -> Self {
        if wet_bulb >= 0.0 {
            Self::Water
        } else {
            Self::Ice
        }
    }

    fn humidity_ratio(self, temperature: f64, wet_bulb: f64, saturated: f64) -> f64 {
        (self.heat_of_bulb(wet_bulb) * saturated - Self::heat_of_air(temperature, wet_bulb))
            / self.heat_of_vapour(temperature, wet_bulb)
    }

    /// Heat to evaporate at the bulb.
    fn heat_of_bulb(self, wet_bulb: f64) -> f64 {
        match self {
            Self::Water => 2501.0 - 2.326 * wet_bulb,
            Self::Ice => 2830.0 - 0.24 * wet_bulb,
        }
    }

    /// Heat that dry air gives off.
    fn heat_of_air(temperature: f64, wet_bulb: f64) -> f64 {
        1.006 * (temperature - wet_bulb)
    }

    /// Heat from water or ice at the bulb to vapour at the temperature of the air.
    fn heat_of_vapour(self, temperature: f64, wet_bulb: f64) -> f64 {
        match self {
            Self::Water => 2501.0 + 1.86 * temperature - 4.186 * wet_bulb,
            Self::Ice => 2830.0 + 1.86 * temperature - 2.1 * wet_bulb,
        }
    }
}
