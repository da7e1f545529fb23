//! Temperature of the surfaces of a duct, and what that means for condensation.

use std::f64::consts::PI;

use air::AirState;

use crate::duct::InsulatedDuct;
use crate::error::{Error, require};
use crate::film;

/// Air that flows through a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stream {
    temperature: f64,
    mass_flow: f64,
    film_factor: f64,
}

impl Stream {
    /// Air of a temperature \[°C\] and a mass flow \[kg/s\].
    ///
    /// # Errors
    ///
    /// [`Error`] if the temperature is outside −60…80 °C or the flow outside 0…2 kg/s.
    pub fn new(temperature: f64, mass_flow: f64) -> Result<Self, Error> {
        Ok(Self {
            temperature: require(
                "temperature in the duct (°C)",
                temperature,
                -60.0..=80.0,
                "-60 to 80",
            )?,
            mass_flow: require("mass flow (kg/s)", mass_flow, 0.0..=2.0, "0 to 2")?,
            film_factor: 1.0,
        })
    }

    /// The same air along a rough wall that passes heat better by a factor, 1 to 4, than a smooth
    /// one. Corrugated flexible duct has about 2 (from memory); the jacket outweighs the film by
    /// far.
    ///
    /// # Errors
    ///
    /// [`Error`] if the factor is outside 1…4.
    pub fn with_film_factor(self, factor: f64) -> Result<Self, Error> {
        Ok(Self {
            film_factor: require("film factor", factor, 1.0..=4.0, "1 to 4")?,
            ..self
        })
    }

    /// Temperature \[°C\].
    pub fn temperature(&self) -> f64 {
        self.temperature
    }

    /// Mass flow \[kg/s\].
    pub fn mass_flow(&self) -> f64 {
        self.mass_flow
    }

    /// Coefficient of heat transfer to the wall \[W/(m²·K)\] of a duct with a diameter \[m\]; see
    /// [`film::tube_nusselt`].
    ///
    /// Re = 4 ṁ / (π D η): it depends on the mass flow, not on the pressure.
    pub fn film(&self, diameter: f64) -> f64 {
        let reynolds = 4.0 * self.mass_flow / (PI * diameter * air::viscosity(self.temperature));
        self.film_factor
            * film::tube_nusselt(reynolds, film::prandtl(self.temperature))
            * film::conductivity(self.temperature)
            / diameter
    }
}

/// What a duct and the room around it do to each other, at one place along the duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Temperature of the outer surface \[°C\].
    pub temperature: f64,
    /// Temperature of the wall that the air in the duct touches \[°C\].
    pub wall: f64,
    /// Coefficient inside \[W/(m²·K)\].
    pub inside_film: f64,
    /// Coefficient of free convection outside \[W/(m²·K)\].
    pub convection: f64,
    /// Coefficient of radiation outside \[W/(m²·K)\].
    pub radiation: f64,
    /// Heat from the room into the duct per length \[W/m\], negative when the duct is the warmer.
    pub heat_flow: f64,
    /// Thermal transmittance per length, from air to air \[W/(m·K)\].
    pub transmittance: f64,
}

/// Temperatures and heat flow of a duct in a room.
///
/// Per length: q = (T_a − T)/(1/(h_i π D_i) + ln(D_o/D_i)/(2 π k) + 1/((h_c + h_r) π D_o)), where
/// h_c and h_r depend on the temperature of the surface, T_s = T_a − q/((h_c + h_r) π D_o). The heat
/// that reaches the surface falls with T_s and the heat that leaves it rises, so there is one
/// solution; it is found to 10⁻⁹ K. The duct lies horizontally, with still air around it.
///
/// ```
/// use air::AirState;
/// use insulation::{InsulatedDuct, PLAIN, R_VALUE, Stream, surface};
///
/// let room = AirState::from_relative_humidity(21.0, 0.4, 101_325.0).unwrap();
/// let duct = InsulatedDuct::new(0.150, 6.0 * R_VALUE, PLAIN)?;
/// let outdoor_air = Stream::new(-20.0, 0.046)?;
/// let surface = surface(&duct, &outdoor_air, &room);
/// assert!((surface.temperature - 17.8).abs() < 0.1);
/// # Ok::<(), insulation::Error>(())
/// ```
pub fn surface(duct: &InsulatedDuct, stream: &Stream, room: &AirState) -> Surface {
    let balance = Balance::of(duct, stream, room);
    let temperature = falling_root(
        |surface| balance.surplus(surface),
        stream.temperature.min(room.temperature()),
        stream.temperature.max(room.temperature()),
    );
    let [convection, radiation] = balance.outside(temperature);
    let outer = 1.0 / ((convection + radiation) * balance.girth());
    let transmittance = 1.0 / (balance.within + outer);
    let heat_flow = transmittance * (room.temperature() - stream.temperature);
    Surface {
        temperature,
        wall: stream.temperature + heat_flow * balance.inner,
        inside_film: balance.inside_film,
        convection,
        radiation,
        heat_flow,
        transmittance,
    }
}

/// The heat balance of a duct's outer surface.
struct Balance<'a> {
    duct: &'a InsulatedDuct,
    room: &'a AirState,
    stream: &'a Stream,
    inside_film: f64,
    /// Resistance of the inner film per length \[m·K/W\].
    inner: f64,
    /// The same with the jacket.
    within: f64,
}

impl<'a> Balance<'a> {
    fn of(duct: &'a InsulatedDuct, stream: &'a Stream, room: &'a AirState) -> Self {
        let inside_film = stream.film(duct.inner_diameter());
        let inner = 1.0 / (inside_film * PI * duct.inner_diameter());
        Self {
            duct,
            room,
            stream,
            inside_film,
            inner,
            within: inner + duct.resistance_per_length(),
        }
    }

    /// Outer girth \[m\].
    fn girth(&self) -> f64 {
        PI * self.duct.outer_diameter()
    }

    /// Coefficients of convection and radiation outside \[W/(m²·K)\] at a surface temperature.
    fn outside(&self, surface: f64) -> [f64; 2] {
        let ambient = self.room.temperature();
        [
            film::free_convection(
                self.duct.outer_diameter(),
                surface,
                ambient,
                self.room.pressure(),
            ),
            film::radiation(self.duct.emissivity(), surface, ambient),
        ]
    }

    /// Heat that comes from the room less heat that goes on into the duct \[W/m\], if the surface had
    /// a temperature. It falls with that temperature; the surface is warmer where it is above zero.
    fn surplus(&self, surface: f64) -> f64 {
        let [convection, radiation] = self.outside(surface);
        (convection + radiation) * self.girth() * (self.room.temperature() - surface)
            - (surface - self.stream.temperature) / self.within
    }
}

/// The root of a falling function between two ends, to 10⁻⁹ of the argument: regula falsi with the
/// Illinois rule, every third step halves the interval.
fn falling_root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    const WIDTH: f64 = 1e-9;
    let (mut at_low, mut at_high) = (f(low), f(high));
    let mut side = 0;
    for step in 1..200 {
        if high - low <= WIDTH || at_low <= 0.0 {
            break;
        }
        if at_high >= 0.0 {
            return high;
        }
        let middle = if step % 3 == 0 {
            0.5 * (low + high)
        } else {
            low + (high - low) * at_low / (at_low - at_high)
        };
        let value = f(middle);
        if value == 0.0 {
            return middle;
        }
        if value > 0.0 {
            (low, at_low) = (middle, value);
            if side == 1 {
                at_high *= 0.5;
            }
            side = 1;
        } else {
            (high, at_high) = (middle, value);
            if side == -1 {
                at_low *= 0.5;
            }
            side = -1;
        }
    }
    // The end with the smaller surplus is the better of the two.
    if at_low.abs() < at_high.abs() {
        low
    } else {
        high
    }
}

/// Where the vapour of the room stands against a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condensation {
    /// Dew point of the room's air \[°C\], or frost point below freezing; −100 °C for drier air.
    pub dew_point: f64,
    /// Temperature of the outer surface above the dew point \[K\]; water condenses below zero.
    pub margin: f64,
    /// The air in the duct is colder than the dew point: vapour that gets through the jacket
    /// condenses within it, so the jacket needs a continuous, sealed vapour retarder outside.
    pub seal: bool,
}

/// Compares a duct's surface with the dew point of the room.
pub fn condensation(surface: &Surface, stream: &Stream, room: &AirState) -> Condensation {
    let dew_point = dew_point(room);
    Condensation {
        dew_point,
        margin: surface.temperature - dew_point,
        seal: stream.temperature < dew_point,
    }
}

/// Dew point of a room \[°C\]; what is drier than the formula reaches counts as −100 °C.
fn dew_point(room: &AirState) -> f64 {
    room.dew_point().unwrap_or(-100.0)
}

/// The largest nominal resistance that is tried \[m²·K/W\], about R-40.
pub const MOST_RESISTANCE: f64 = 7.0;

/// The least nominal resistance \[m²·K/W\] that keeps the surface of a duct above the room's dew point
/// by a margin \[K\]; `None` if even [`MOST_RESISTANCE`] does not, zero if the bare duct does.
///
/// # Errors
///
/// [`Error`] if the margin is outside 0…20 K, or as in [`InsulatedDuct::new`].
pub fn needed_resistance(
    inner_diameter: f64,
    emissivity: f64,
    stream: &Stream,
    room: &AirState,
    margin: f64,
) -> Result<Option<f64>, Error> {
    let margin = require("margin (K)", margin, 0.0..=20.0, "0 to 20")?;
    let wanted = dew_point(room) + margin;
    // Above zero where the surface is warmer than wanted, so no surface has to be solved for.
    let excess = |resistance: f64| -> Result<f64, Error> {
        let duct = InsulatedDuct::new(inner_diameter, resistance, emissivity)?;
        Ok(Balance::of(&duct, stream, room).surplus(wanted))
    };
    if excess(0.0)? >= 0.0 {
        return Ok(Some(0.0));
    }
    if excess(MOST_RESISTANCE)? < 0.0 {
        return Ok(None);
    }
    let (mut low, mut high) = (0.0, MOST_RESISTANCE);
    while high - low > 1e-7 {
        let middle = 0.5 * (low + high);
        if excess(middle)? < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(Some(high))
}

/// The least resistance of a *flat* jacket \[m²·K/W\] that keeps its surface at the dew point \[°C\], for
/// a duct and a room of a temperature \[°C\] and a surface resistance \[m²·K/W\]:
/// R = R_s (T_dp − T_duct)/(T_a − T_dp).
///
/// The short cut of an engineering bulletin on condensation control on air-conditioning ducts
/// (80-1, public copy), with R_s of 1.32 h·ft²·°F/Btu for a reflective jacket in still air and, from
/// memory, 0.68 for a plain one. Zero for a duct above the dew point, infinite for a saturated room.
pub fn flat_resistance(duct: f64, room: f64, dew_point: f64, surface_resistance: f64) -> f64 {
    if duct >= dew_point {
        return 0.0;
    }
    if dew_point >= room {
        return f64::INFINITY;
    }
    surface_resistance * (dew_point - duct) / (room - dew_point)
}

/// Temperature of the air \[°C\] after a length \[m\] of duct through surroundings of a temperature
/// \[°C\]: T(L) = T_a − (T_a − T_0) exp(−U′ L/(ṁ c_p)), with the transmittance U′ at the inlet.
///
/// Standing air (no mass flow) takes the temperature of its surroundings. Moisture is left out of
/// the specific heat, less than 2 % in houses; what condenses in the duct is left out too.
///
/// # Errors
///
/// [`Error`] if the length is outside 0…200 m.
pub fn temperature_after(
    surface: &Surface,
    stream: &Stream,
    ambient: f64,
    length: f64,
) -> Result<f64, Error> {
    let length = require("length (m)", length, 0.0..=200.0, "0 to 200")?;
    if length == 0.0 {
        return Ok(stream.temperature);
    }
    let exponent = surface.transmittance * length / (stream.mass_flow * air::specific_heat(0.0));
    Ok(ambient - (ambient - stream.temperature) * (-exponent).exp())
}
