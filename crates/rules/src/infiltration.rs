//! Air through the leaks of one well-mixed zone, by the two published models.
//!
//! Source of all formulas and tables: ASHRAE Handbook—Fundamentals (2021), chapter 16; of the
//! wind at a height, chapter 24.

use std::fmt;

/// Density of the reference air of a leakage area (kg/m³).
pub const DENSITY: f64 = 1.2;

/// An input that a formula does not cover.
#[derive(Debug, Clone, PartialEq)]
pub struct OutOfRange {
    /// What it is.
    pub name: &'static str,
    /// What was found (SI).
    pub found: f64,
    /// What is accepted.
    pub accepted: &'static str,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} cannot be {}: {}",
            self.name, self.found, self.accepted
        )
    }
}

impl std::error::Error for OutOfRange {}

fn check(
    holds: bool,
    name: &'static str,
    found: f64,
    accepted: &'static str,
) -> Result<(), OutOfRange> {
    if holds && found.is_finite() {
        Ok(())
    } else {
        Err(OutOfRange {
            name,
            found,
            accepted,
        })
    }
}

/// Leakage of an envelope, `Q = c Δp^n` (equation 40).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerLaw {
    /// Flow coefficient c (m³/(s·Paⁿ)).
    coefficient: f64,
    /// Exponent n.
    exponent: f64,
}

impl PowerLaw {
    /// From its two numbers.
    ///
    /// # Errors
    ///
    /// [`OutOfRange`]: a coefficient that is not above zero, an exponent outside 0.5 to 1.
    pub fn new(coefficient: f64, exponent: f64) -> Result<Self, OutOfRange> {
        check(
            coefficient > 0.0,
            "the flow coefficient",
            coefficient,
            "it is above zero",
        )?;
        check(
            (0.5..=1.0).contains(&exponent),
            "the exponent",
            exponent,
            "it is 0.5 to 1",
        )?;
        Ok(Self {
            coefficient,
            exponent,
        })
    }

    /// From one measured flow (m³/s) at a pressure difference (Pa).
    ///
    /// # Errors
    ///
    /// As [`PowerLaw::new`], and a pressure that is not above zero.
    pub fn through(flow: f64, pressure: f64, exponent: f64) -> Result<Self, OutOfRange> {
        check(pressure > 0.0, "the pressure", pressure, "it is above zero")?;
        Self::new(flow / pressure.powf(exponent), exponent)
    }

    /// From a leakage area (m²) at a reference pressure (Pa) with a discharge coefficient
    /// (equation 45). Effective areas: 4 Pa and 1; equivalent areas: 10 Pa and 0.611.
    ///
    /// # Errors
    ///
    /// As [`PowerLaw::through`].
    pub fn from_leakage_area(
        area: f64,
        pressure: f64,
        discharge: f64,
        exponent: f64,
    ) -> Result<Self, OutOfRange> {
        check(pressure > 0.0, "the pressure", pressure, "it is above zero")?;
        Self::new(
            discharge * area * (2.0 / DENSITY).sqrt() * pressure.powf(0.5 - exponent),
            exponent,
        )
    }

    /// Flow coefficient c (m³/(s·Paⁿ)).
    pub fn coefficient(&self) -> f64 {
        self.coefficient
    }

    /// Exponent n.
    pub fn exponent(&self) -> f64 {
        self.exponent
    }

    /// Flow (m³/s) at a pressure difference (Pa), with its sign.
    pub fn flow(&self, pressure: f64) -> f64 {
        (self.coefficient * pressure.abs().powf(self.exponent)).copysign(pressure)
    }

    /// Pressure difference (Pa) that a flow (m³/s) needs, with its sign: what an imbalance of
    /// that size does to a closed house.
    pub fn pressure(&self, flow: f64) -> f64 {
        (flow.abs() / self.coefficient)
            .powf(1.0 / self.exponent)
            .copysign(flow)
    }

    /// Leakage area (m²) at a reference pressure (Pa) with a discharge coefficient
    /// (equation 44).
    ///
    /// ```
    /// use rules::infiltration::PowerLaw;
    /// let house = PowerLaw::new(0.051, 0.67).unwrap();
    /// assert!((house.leakage_area(4.0, 1.0) - 0.0500).abs() < 1e-4);
    /// ```
    pub fn leakage_area(&self, pressure: f64, discharge: f64) -> f64 {
        self.coefficient / discharge * (DENSITY / 2.0).sqrt() * pressure.powf(self.exponent - 0.5)
    }
}

/// Normalised leakage, `1000 (ELA/A) (H/2.5 m)^0.4` (equation 46), of an effective leakage area
/// (m², 4 Pa), a floor area (m²) and the height from the lowest floor above grade to the highest
/// ceiling (m).
pub fn normalised_leakage(leakage_area: f64, floor_area: f64, height: f64) -> f64 {
    1000.0 * leakage_area / floor_area * (height / 2.5).powf(0.4)
}

/// Yearly effective infiltration (m³/s), `NL · wsf · A / 1.44` L/s: from memory of ASHRAE 62.2
/// (2013 on). The weather and shielding factor (1/h) is typed from one's copy of the standard.
pub fn effective_infiltration(
    normalised_leakage: f64,
    weather_factor: f64,
    floor_area: f64,
) -> f64 {
    normalised_leakage * weather_factor * floor_area / 1440.0
}

/// Superposition of balanced and unbalanced flow with infiltration (equation 51), all m³/s:
/// `Q_balanced + √(Q_unbalanced² + Q_infiltration²)`.
pub fn superposed(balanced: f64, unbalanced: f64, infiltration: f64) -> f64 {
    balanced + unbalanced.hypot(infiltration)
}

/// Storeys, 1 to 3, as an index into the tables.
fn storey_index(storeys: u32) -> Result<usize, OutOfRange> {
    check(
        (1..=3).contains(&storeys),
        "the number of storeys",
        f64::from(storeys),
        "the tables hold 1 to 3",
    )?;
    Ok(storeys as usize - 1)
}

/// Shelter class, 1 (open) to 5 (obstacles closer than one house height), as an index.
fn shelter_index(class: u32) -> Result<usize, OutOfRange> {
    check(
        (1..=5).contains(&class),
        "the shelter class",
        f64::from(class),
        "it is 1 (open) to 5 (obstacles closer than a house height)",
    )?;
    Ok(class as usize - 1)
}

/// Infiltration (m³/s) by the basic model (Sherman and Grimsrud 1980; equation 48, tables 4 to 6):
/// `A_L/1000 · √(C_s ΔT + C_w U²)` with the effective leakage area in cm².
///
/// Area in m² at 4 Pa, temperature difference in K of either sign, wind in m/s **at the weather
/// station**. Assumes rural terrain, half of the leakage in the walls, floor and ceiling alike,
/// storeys of 2.5 m.
///
/// # Errors
///
/// [`OutOfRange`] outside of 1 to 3 storeys and shelter classes 1 to 5, or for a negative area or
/// wind.
///
/// ```
/// // Example 2 of the chapter: 500 cm², two storeys, class 3, 39 K, 6.7 m/s.
/// let flow = rules::infiltration::basic(0.05, 2, 3, 39.0, 6.7).unwrap();
/// assert!((flow - 0.0736).abs() < 5e-5);
/// ```
pub fn basic(
    leakage_area: f64,
    storeys: u32,
    shelter: u32,
    temperature_difference: f64,
    wind: f64,
) -> Result<f64, OutOfRange> {
    const STACK: [f64; 3] = [0.000_145, 0.000_290, 0.000_435];
    const WIND: [[f64; 3]; 5] = [
        [0.000_319, 0.000_420, 0.000_494],
        [0.000_246, 0.000_325, 0.000_382],
        [0.000_174, 0.000_231, 0.000_271],
        [0.000_104, 0.000_137, 0.000_161],
        [0.000_032, 0.000_042, 0.000_049],
    ];
    let (storey, class) = (storey_index(storeys)?, shelter_index(shelter)?);
    weather(temperature_difference, wind)?;
    check(
        leakage_area >= 0.0,
        "the leakage area",
        leakage_area,
        "it is not below zero",
    )?;
    let square = STACK[storey] * temperature_difference.abs() + WIND[class][storey] * wind * wind;
    Ok(leakage_area * 1e4 / 1000.0 * square.sqrt())
}

fn weather(temperature_difference: f64, wind: f64) -> Result<(), OutOfRange> {
    check(
        temperature_difference.is_finite(),
        "the temperature difference",
        temperature_difference,
        "it is a number",
    )?;
    check(wind >= 0.0, "the wind speed", wind, "it is not below zero")
}

/// What the lowest floor stands on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Foundation {
    /// A slab, or a basement.
    Slab,
    /// A crawlspace.
    Crawlspace,
}

/// Parts of the enhanced model's infiltration (m³/s; the wind in m/s).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Enhanced {
    /// Wind at eaves height, unsheltered.
    pub wind_at_eaves: f64,
    /// By the stack effect alone.
    pub stack: f64,
    /// By the wind alone.
    pub wind: f64,
    /// Both together, `√(Q_s² + Q_w²)`.
    pub total: f64,
}

/// Wind at eaves height over that of the weather station, by storeys.
const SPEED: [f64; 3] = [0.48, 0.59, 0.67];
/// What the shelter classes leave of the wind: without a flue, and with one on 1, 2, 3 storeys.
const SHELTER: [[f64; 4]; 5] = [
    [1.00, 1.10, 1.07, 1.06],
    [0.90, 1.02, 0.98, 0.97],
    [0.70, 0.86, 0.81, 0.79],
    [0.50, 0.70, 0.64, 0.61],
    [0.30, 0.54, 0.47, 0.43],
];

/// Wind at eaves height over that of the weather station, factor G of the enhanced model (table 9).
///
/// # Errors
///
/// [`OutOfRange`] outside of 1 to 3 storeys.
pub fn eaves_factor(storeys: u32) -> Result<f64, OutOfRange> {
    Ok(SPEED[storey_index(storeys)?])
}

/// What a shelter class leaves of the wind at eaves height, factor s of the enhanced model for a
/// house without a flue (table 8).
///
/// # Errors
///
/// [`OutOfRange`] outside of classes 1 to 5.
pub fn shelter_factor(class: u32) -> Result<f64, OutOfRange> {
    Ok(SHELTER[shelter_index(class)?][0])
}

/// Infiltration by the enhanced model, AIM-2 (Walker and Wilson 1998; equations 47, 49, 50, tables
/// 7 to 9): `Q_s = c C_s ΔTⁿ`, `Q_w = c C_w (s G U)²ⁿ`.
///
/// Temperature difference in K of either sign, wind in m/s at the weather station. Half of the
/// leakage lies in the walls, a quarter each in floor and ceiling; storeys are 2.5 m. The
/// coefficients belong to n = 0.67; another exponent is an approximation.
///
/// # Errors
///
/// As [`basic`].
pub fn enhanced(
    leakage: PowerLaw,
    storeys: u32,
    foundation: Foundation,
    flue: bool,
    shelter: u32,
    temperature_difference: f64,
    wind: f64,
) -> Result<Enhanced, OutOfRange> {
    // Each pair: without, with a flue.
    const STACK: [[f64; 2]; 3] = [[0.054, 0.069], [0.078, 0.089], [0.098, 0.107]];
    const SLAB: [[f64; 2]; 3] = [[0.156, 0.142], [0.170, 0.156], [0.170, 0.167]];
    const CRAWLSPACE: [[f64; 2]; 3] = [[0.128, 0.128], [0.142, 0.142], [0.151, 0.154]];
    let (storey, class) = (storey_index(storeys)?, shelter_index(shelter)?);
    weather(temperature_difference, wind)?;
    let vented = usize::from(flue);
    let wind_coefficient = match foundation {
        Foundation::Slab => SLAB,
        Foundation::Crawlspace => CRAWLSPACE,
    }[storey][vented];
    let sheltered = SHELTER[class][if flue { storey + 1 } else { 0 }];
    let (c, n) = (leakage.coefficient, leakage.exponent);
    let wind_at_eaves = SPEED[storey] * wind;
    let stack = c * STACK[storey][vented] * temperature_difference.abs().powf(n);
    let wind = c * wind_coefficient * (sheltered * wind_at_eaves).powf(2.0 * n);
    Ok(Enhanced {
        wind_at_eaves,
        stack,
        wind,
        total: stack.hypot(wind),
    })
}

/// Terrain around a building or a weather station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Terrain {
    /// Centre of a large city.
    CityCentre,
    /// Town, suburb, woods.
    Suburb,
    /// Open country, an airport.
    Open,
    /// At least 1.6 km of water.
    Water,
}

impl Terrain {
    /// Exponent and thickness (m) of the boundary layer (chapter 24, table 1).
    fn layer(self) -> (f64, f64) {
        match self {
            Self::CityCentre => (0.33, 460.0),
            Self::Suburb => (0.22, 370.0),
            Self::Open => (0.14, 270.0),
            Self::Water => (0.10, 210.0),
        }
    }
}

/// Wind speed (m/s) at a height (m) in a terrain, from that of an airport station at 10 m
/// (chapter 24, equation 4). Unreliable below the average height of the obstacles.
///
/// # Errors
///
/// [`OutOfRange`] for a negative speed or a height that is not above zero.
///
/// ```
/// use rules::infiltration::{Terrain, wind_at_height};
/// // Example 1 of the chapter: 10 m/s at the airport, 15 m up in a suburb.
/// let wind = wind_at_height(10.0, Terrain::Suburb, 15.0).unwrap();
/// assert!((wind - 7.8).abs() < 0.05);
/// ```
pub fn wind_at_height(station: f64, terrain: Terrain, height: f64) -> Result<f64, OutOfRange> {
    check(
        station >= 0.0,
        "the wind speed",
        station,
        "it is not below zero",
    )?;
    check(height > 0.0, "the height", height, "it is above zero")?;
    let (station_exponent, station_layer) = Terrain::Open.layer();
    let (exponent, layer) = terrain.layer();
    Ok(station * (station_layer / 10.0).powf(station_exponent) * (height / layer).powf(exponent))
}
