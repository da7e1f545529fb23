//! The quantities and their units.

use std::fmt::Debug;

/// A system of units, for choosing what is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum System {
    /// Inch-pound units: cfm, inWC, °F.
    Ip,
    /// The International System: L/s, Pa, °C.
    Si,
}

impl System {
    /// The system beside this one.
    pub fn other(self) -> Self {
        match self {
            Self::Ip => Self::Si,
            Self::Si => Self::Ip,
        }
    }
}

/// One unit of a quantity: `si = (number + offset) · factor`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// As printed: `ft²`.
    pub symbol: &'static str,
    /// As accepted, in lower case without spaces and dots: `ft2`, `sqft`.
    pub spellings: &'static [&'static str],
    /// Size in SI.
    pub factor: f64,
    /// Added to the number before scaling; zero but for temperatures.
    pub offset: f64,
    /// The system it belongs to; `None` if both use it (`%`, `h`, `W`).
    pub system: Option<System>,
    /// Decimals usually shown.
    pub decimals: usize,
    /// Whether trailing zeros of the decimals are left out.
    pub trimmed: bool,
    /// Whether it is written before the number: `R-8`.
    pub leads: bool,
}

impl Unit {
    const fn new(
        symbol: &'static str,
        spellings: &'static [&'static str],
        factor: f64,
        system: Option<System>,
        decimals: usize,
    ) -> Self {
        Self {
            symbol,
            spellings,
            factor,
            offset: 0.0,
            system,
            decimals,
            trimmed: false,
            leads: false,
        }
    }

    const fn offset(self, offset: f64) -> Self {
        Self { offset, ..self }
    }

    const fn trimmed(self) -> Self {
        Self {
            trimmed: true,
            ..self
        }
    }

    const fn leading(self) -> Self {
        Self {
            leads: true,
            ..self
        }
    }

    /// The SI value of a number in this unit.
    pub fn to_si(&self, number: f64) -> f64 {
        (number + self.offset) * self.factor
    }

    /// The number in this unit of an SI value.
    pub fn from_si(&self, si: f64) -> f64 {
        si / self.factor - self.offset
    }

    /// Decimals that show an SI value: the usual ones, or as many as its first digit needs.
    fn digits(&self, si: f64, has_natural_zero: bool) -> usize {
        let number = self.from_si(si).abs();
        let mut decimals = self.decimals;
        if has_natural_zero && number > 1e-9 {
            while decimals < 9 && number * 10f64.powi(decimals as i32) < 0.95 {
                decimals += 1;
            }
        }
        decimals
    }

    /// An SI value with this unit.
    fn write(&self, si: f64, decimals: usize) -> String {
        let mut number = format!("{:.decimals$}", self.from_si(si));
        if self.trimmed && number.contains('.') {
            number.truncate(number.trim_end_matches('0').trim_end_matches('.').len());
        }
        if number.starts_with('-') && !number.contains(|c: char| ('1'..='9').contains(&c)) {
            number.remove(0);
        }
        match self.symbol {
            symbol if self.leads => format!("{symbol}{number}"),
            "" => number,
            "°" => format!("{number}°"),
            symbol => format!("{number} {symbol}"),
        }
    }
}

/// A physical quantity that a person types with its unit.
pub trait Quantity: Copy + PartialEq + Debug + 'static {
    /// Its name in running text: `volume flow`.
    const NAME: &'static str;
    /// What is accepted, for messages: `70 cfm, 33 L/s, 120 m3/h`.
    const EXAMPLES: &'static str;
    /// Whether zero means none of it, so that an uncertainty may be given as a share of the value.
    const HAS_NATURAL_ZERO: bool = true;
    /// Whether it may be typed in several units: `10 ft 6 in`.
    const COMPOUND: bool = false;
    /// Whether a currency sign or word may stand before the number: `$120`.
    const MONEY: bool = false;

    /// Its units. The first of each system is the usual one.
    fn units() -> &'static [Unit];

    /// The quantity of this size in SI (temperature in °C, fraction as a ratio).
    fn from_si(value: f64) -> Self;

    /// Its size in SI (temperature in °C, fraction as a ratio).
    fn si(self) -> f64;

    /// The unit in which a quantity of this size is usually shown.
    fn shown_in(self, system: System) -> &'static Unit {
        usual(Self::units(), system)
    }

    /// The quantity with its unit and the digits usual in the trade.
    ///
    /// A quantity too small for these digits is shown with its first one: `0.0004 inWC`.
    fn show(self, system: System) -> String {
        let unit = self.shown_in(system);
        unit.write(self.si(), unit.digits(self.si(), Self::HAS_NATURAL_ZERO))
    }

    /// The quantity with its unit and this many decimals.
    fn show_with(self, system: System, decimals: usize) -> String {
        let unit = self.shown_in(system);
        unit.write(self.si(), decimals.min(15))
    }
}

/// The quantity in one system, with the other system in parentheses: `70 cfm (33.0 L/s)`. Where
/// both systems use the same unit it is written once.
///
/// ```
/// use units::{both, Pressure, Quantity, System};
/// assert_eq!(both(Pressure::from_si(50.0), System::Ip), "0.201 inWC (50.0 Pa)");
/// ```
pub fn both<Q: Quantity>(quantity: Q, first: System) -> String {
    let shown = quantity.show(first);
    let beside = quantity.show(first.other());
    if shown == beside {
        shown
    } else {
        format!("{shown} ({beside})")
    }
}

/// The first unit that a system uses.
fn usual(units: &'static [Unit], system: System) -> &'static Unit {
    units
        .iter()
        .find(|unit| unit.system.is_none_or(|its| its == system))
        .unwrap_or(&units[0])
}

/// The unit with this symbol; the first if there is none.
fn named(units: &'static [Unit], symbol: &str) -> &'static Unit {
    units
        .iter()
        .find(|unit| unit.symbol == symbol)
        .unwrap_or(&units[0])
}

const IP: Option<System> = Some(System::Ip);
const SI: Option<System> = Some(System::Si);
const BOTH: Option<System> = None;

const INCH: f64 = 0.0254;
const FOOT: f64 = 12.0 * INCH;
const POUND: f64 = 0.45359237;
const GRAVITY: f64 = 9.80665;
const BTU: f64 = 1055.05585262;
const INCH_OF_WATER: f64 = 1000.0 * GRAVITY * INCH;
const INCH_OF_MERCURY: f64 = 3386.389;
const MINUTE: f64 = 60.0;
const HOUR: f64 = 3600.0;
const DAY: f64 = 24.0 * HOUR;
const YEAR: f64 = 365.0 * DAY;
const KILOWATT_HOUR: f64 = 3.6e6;
const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// One degree Fahrenheit as a difference.
const FAHRENHEIT: f64 = 5.0 / 9.0;

macro_rules! quantities {
    ($(
        $(#[$documentation:meta])*
        $Name:ident, $name:literal, $examples:literal,
        [ $($unit:expr),+ $(,)? ]
        $({ $($item:item)* })?
    )+) => {
        $(
            $(#[$documentation])*
            #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
            pub struct $Name(f64);

            impl Quantity for $Name {
                const NAME: &'static str = $name;
                const EXAMPLES: &'static str = $examples;

                fn units() -> &'static [Unit] {
                    const UNITS: &[Unit] = &[$($unit),+];
                    UNITS
                }

                fn from_si(value: f64) -> Self {
                    Self(value)
                }

                fn si(self) -> f64 {
                    self.0
                }

                $($($item)*)?
            }
        )+

        /// Name and units of every quantity, to tell of what a misplaced unit is.
        pub(crate) fn all() -> Vec<(&'static str, &'static [Unit])> {
            vec![$(($name, $Name::units())),+]
        }
    };
}

quantities! {
    /// A length or height, in metres.
    Length, "length", "6 in, 10 ft 6 in, 150 mm, 3.2 m",
    [
        Unit::new("ft", &["ft", "foot", "feet", "'", "lf"], FOOT, IP, 0),
        Unit::new("in", &["in", "inch", "inches", "\""], INCH, IP, 2).trimmed(),
        Unit::new("m", &["m", "meter", "meters", "metre", "metres"], 1.0, SI, 2),
        Unit::new("cm", &["cm"], 0.01, SI, 1),
        Unit::new("mm", &["mm"], 0.001, SI, 0),
    ] {
        const COMPOUND: bool = true;

        fn shown_in(self, system: System) -> &'static Unit {
            let size = self.0.abs();
            named(Self::units(), match system {
                System::Ip if size < 2.0 * FOOT => "in",
                System::Ip => "ft",
                System::Si if size < 1.0 => "mm",
                System::Si => "m",
            })
        }

        fn show(self, system: System) -> String {
            let inches = (self.0.abs() / INCH).round();
            let sign = if self.0 < 0.0 { "-" } else { "" };
            match self.shown_in(system) {
                unit if unit.symbol == "ft" && inches < 1200.0 && inches % 12.0 > 0.0 => {
                    format!("{sign}{:.0} ft {:.0} in", (inches / 12.0).floor(), inches % 12.0)
                }
                unit if unit.symbol == "m" && self.0.abs() >= 100.0 => unit.write(self.0, 0),
                unit if unit.symbol == "mm" && self.0.abs() < 0.01 => unit.trimmed().write(self.0, 2),
                unit => unit.write(self.0, unit.digits(self.0, true)),
            }
        }
    }

    /// An area, in square metres.
    Area, "area", "2400 ft2, 220 m2, 60 in2, 380 cm2",
    [
        Unit::new("ft²", &["ft2", "sqft", "sf", "squarefeet", "squarefoot"], FOOT * FOOT, IP, 0),
        Unit::new("in²", &["in2", "sqin", "squareinches", "squareinch"], INCH * INCH, IP, 1),
        Unit::new("m²", &["m2", "sqm", "squaremeters", "squaremetres"], 1.0, SI, 1),
        Unit::new("cm²", &["cm2", "sqcm"], 1e-4, SI, 0),
    ] {
        fn shown_in(self, system: System) -> &'static Unit {
            named(Self::units(), match system {
                System::Ip if self.0.abs() < 10.0 * FOOT * FOOT => "in²",
                System::Ip => "ft²",
                System::Si if self.0.abs() < 1.0 => "cm²",
                System::Si => "m²",
            })
        }
    }

    /// A volume, in cubic metres.
    Volume, "volume", "19200 ft3, 540 m3",
    [
        Unit::new("ft³", &["ft3", "cuft", "cf", "cubicfeet"], FOOT * FOOT * FOOT, IP, 0),
        Unit::new("m³", &["m3", "cum", "cubicmeters", "cubicmetres"], 1.0, SI, 1),
        Unit::new("L", &["l", "liter", "liters", "litre", "litres"], 1e-3, SI, 1),
    ]

    /// A pressure or pressure difference, in pascals. Inches of water are conventional (4 °C).
    Pressure, "pressure", "0.2 inWC, 50 Pa, 84.2 kPa",
    [
        Unit::new(
            "inWC",
            &[
                "inwc", "iwc", "inwg", "iwg", "inh2o", "\"wc", "\"wg", "\"h2o", "inchwc",
                "incheswc", "inchwg", "incheswg", "inwater", "inchofwater", "inchesofwater",
                "inofwater", "inofwc", "inchesofwatercolumn", "incheswatercolumn",
            ],
            INCH_OF_WATER, IP, 3,
        ),
        Unit::new("inHg", &["inhg", "\"hg", "inchesofmercury"], INCH_OF_MERCURY, IP, 2),
        Unit::new("psi", &["psi"], POUND * GRAVITY / (INCH * INCH), IP, 3),
        Unit::new("Pa", &["pa", "pascal", "pascals"], 1.0, SI, 1),
        Unit::new("hPa", &["hpa", "mbar", "mb"], 100.0, SI, 1),
        Unit::new("kPa", &["kpa"], 1000.0, SI, 2),
        Unit::new("mmH2O", &["mmh2o", "mmwc", "mmwg"], GRAVITY, SI, 1),
    ] {
        fn shown_in(self, system: System) -> &'static Unit {
            // Nothing in a duct reaches 10 kPa: a larger pressure is that of the atmosphere.
            match (system, self.0.abs() < 1e4) {
                (_, true) => usual(Self::units(), system),
                (System::Ip, false) => named(Self::units(), "inHg"),
                (System::Si, false) => named(Self::units(), "kPa"),
            }
        }
    }

    /// A volume flow, in cubic metres per second. `cfm50` is a flow at 50 Pa, as a blower door
    /// gives it.
    VolumeFlow, "volume flow", "70 cfm, 33 L/s, 120 m3/h",
    [
        Unit::new(
            "cfm",
            &["cfm", "cfm50", "ft3/min", "cuft/min", "cubicfeet/minute"],
            FOOT * FOOT * FOOT / MINUTE, IP, 0,
        ),
        Unit::new("L/s", &["l/s", "lps", "l/s50", "liters/second", "litres/second"], 1e-3, SI, 1),
        Unit::new("m³/h", &["m3/h", "m3/hr", "cmh", "m3/h50"], 1.0 / HOUR, SI, 0),
        Unit::new("m³/s", &["m3/s"], 1.0, SI, 4),
    ]

    /// A mass flow, in kilograms per second.
    MassFlow, "mass flow", "0.04 kg/s, 140 kg/h, 5 lb/min",
    [
        Unit::new("lb/min", &["lb/min", "lbs/min", "lbm/min"], POUND / MINUTE, IP, 2),
        Unit::new("lb/h", &["lb/h", "lb/hr", "lbs/h", "lbs/hr", "lbm/h"], POUND / HOUR, IP, 1),
        Unit::new("kg/h", &["kg/h", "kg/hr"], 1.0 / HOUR, SI, 1),
        Unit::new("kg/s", &["kg/s"], 1.0, SI, 4),
        Unit::new("g/s", &["g/s"], 1e-3, SI, 2),
    ]

    /// A mass, in kilograms.
    Mass, "mass", "90 lb, 41 kg",
    [
        Unit::new("lb", &["lb", "lbs", "lbm", "pound", "pounds"], POUND, IP, 1),
        Unit::new("kg", &["kg"], 1.0, SI, 1),
        Unit::new("g", &["g", "gram", "grams"], 1e-3, SI, 0),
    ]

    /// A velocity, in metres per second.
    Velocity, "velocity", "600 fpm, 3 m/s, 15 mph, 25 km/h",
    [
        Unit::new("fpm", &["fpm", "ft/min", "feet/minute"], FOOT / MINUTE, IP, 0),
        Unit::new("mph", &["mph", "mi/h", "miles/hour"], 5280.0 * FOOT / HOUR, IP, 1),
        Unit::new("m/s", &["m/s"], 1.0, SI, 2),
        Unit::new("km/h", &["km/h", "kmh", "kph"], 1000.0 / HOUR, SI, 1),
    ]

    /// A temperature, in degrees Celsius.
    Temperature, "temperature", "72 F, 22 °C, 295 K",
    [
        Unit::new("°F", &["f", "°f", "degf", "degreesf", "fahrenheit", "degreesfahrenheit"], FAHRENHEIT, IP, 0)
            .offset(-32.0),
        Unit::new("°C", &["c", "°c", "degc", "degreesc", "celsius", "degreescelsius"], 1.0, SI, 1),
        Unit::new("K", &["k", "kelvin"], 1.0, SI, 1).offset(-273.15),
    ] {
        const HAS_NATURAL_ZERO: bool = false;
    }

    /// A difference of temperatures, in kelvins.
    TemperatureDifference, "temperature difference", "10 F, 5 K, 5 °C",
    [
        Unit::new("°F", &["f", "°f", "degf", "degreesf", "f°", "r"], FAHRENHEIT, IP, 1),
        Unit::new("K", &["k", "°c", "c", "degc", "degreesc", "c°", "kelvin"], 1.0, SI, 1),
    ]

    /// A thermal resistance, in m²·K/W.
    ThermalResistance, "thermal resistance", "R-8, RSI 1.4",
    [
        Unit::new(
            "R-",
            &["r", "h·ft2·°f/btu", "hft2°f/btu", "hft2f/btu", "ft2hf/btu", "ft2h°f/btu"],
            FOOT * FOOT * FAHRENHEIT * HOUR / BTU, IP, 1,
        ).trimmed().leading(),
        Unit::new("RSI ", &["rsi", "m2k/w"], 1.0, SI, 2).leading(),
    ]

    /// A power, in watts.
    Power, "power", "60 W, 1.5 kW, 40000 Btu/h, 3 ton",
    [
        Unit::new("W", &["w", "watt", "watts"], 1.0, BOTH, 0),
        Unit::new("kW", &["kw"], 1000.0, BOTH, 1),
        Unit::new("Btu/h", &["btu/h", "btu/hr", "btuh"], BTU / HOUR, IP, 0),
        Unit::new("kBtu/h", &["kbtu/h", "kbtu/hr", "mbh"], 1000.0 * BTU / HOUR, IP, 1),
        Unit::new("ton", &["ton", "tons"], 12000.0 * BTU / HOUR, IP, 1),
        Unit::new("hp", &["hp"], 550.0 * FOOT * POUND * GRAVITY, IP, 2),
    ] {
        fn shown_in(self, _: System) -> &'static Unit {
            named(Self::units(), if self.0.abs() < 2000.0 { "W" } else { "kW" })
        }
    }

    /// An angle, in radians.
    Angle, "angle", "30 deg, 30°",
    [
        Unit::new("°", &["°", "deg", "degree", "degrees"], DEGREE, BOTH, 1).trimmed(),
        Unit::new("rad", &["rad", "radian", "radians"], 1.0, BOTH, 3),
    ]

    /// A share, as a ratio; also a run time as a share of the hour. Written in per cent.
    Fraction, "share", "65 %, 20 min/h",
    [
        Unit::new("%", &["%", "percent", "pct"], 0.01, BOTH, 1).trimmed(),
        Unit::new("min/h", &["min/h", "min/hr", "minutes/hour"], 1.0 / 60.0, BOTH, 0),
    ]

    /// A sound level, in A-weighted decibels.
    SoundLevel, "sound level", "32 dBA",
    [
        Unit::new("dBA", &["dba", "db(a)", "db"], 1.0, BOTH, 0),
    ] {
        const HAS_NATURAL_ZERO: bool = false;
    }

    /// A loudness, in sones.
    Loudness, "loudness", "1.2 sone",
    [
        Unit::new("sone", &["sone", "sones"], 1.0, BOTH, 1),
    ]

    /// A duration, in seconds. A year has 365 days.
    Duration, "duration", "8 h, 30 min, 1 h 30 min, 15 years",
    [
        Unit::new("h", &["h", "hr", "hrs", "hour", "hours"], HOUR, BOTH, 2).trimmed(),
        Unit::new("min", &["min", "mins", "minute", "minutes"], MINUTE, BOTH, 1).trimmed(),
        Unit::new("s", &["s", "sec", "second", "seconds"], 1.0, BOTH, 1).trimmed(),
        Unit::new("d", &["d", "day", "days"], DAY, BOTH, 1).trimmed(),
        Unit::new("years", &["years", "year", "yr", "yrs", "a"], YEAR, BOTH, 1).trimmed(),
    ] {
        const COMPOUND: bool = true;

        fn shown_in(self, _: System) -> &'static Unit {
            let size = self.0.abs();
            named(Self::units(), match () {
                () if size < MINUTE => "s",
                () if size < HOUR => "min",
                () if size < 2.0 * DAY => "h",
                () if size < YEAR => "d",
                () => "years",
            })
        }
    }

    /// Air changes per unit of time, per second. `ach50` is a rate at 50 Pa, as a blower door
    /// gives it; the field in which it stands says which is meant.
    AirChanges, "air changes", "0.35 ach, 5 ach50, 0.35 1/h",
    [
        Unit::new("ach", &["ach", "ach50", "1/h", "/h", "1/hr", "/hr", "/hour", "h-1"], 1.0 / HOUR, BOTH, 2),
    ]

    /// An amount of money, in the currency that the job names once.
    Money, "amount of money", "120, 120.50, $120",
    [
        Unit::new("", &["", "/each", "each", "/ea", "ea", "/piece"], 1.0, BOTH, 2),
    ] {
        const MONEY: bool = true;
    }

    /// A price of energy, in money per joule.
    EnergyPrice, "price of energy", "0.16 per kWh, 1.20 /therm, 12 /GJ",
    [
        Unit::new("/kWh", &["/kwh"], 1.0 / KILOWATT_HOUR, BOTH, 3),
        Unit::new("/MWh", &["/mwh"], 1e-3 / KILOWATT_HOUR, BOTH, 2),
        Unit::new("/therm", &["/therm"], 1e-5 / BTU, IP, 3),
        Unit::new("/MMBtu", &["/mmbtu"], 1e-6 / BTU, IP, 2),
        Unit::new("/GJ", &["/gj"], 1e-9, SI, 2),
    ] {
        const MONEY: bool = true;
    }

    /// A price by length, in money per metre.
    LengthPrice, "price by length", "2.40 /ft, 8 /m",
    [
        Unit::new("/ft", &["/ft", "/foot", "/lf"], 1.0 / FOOT, IP, 2),
        Unit::new("/m", &["/m", "/meter", "/metre"], 1.0, SI, 2),
    ] {
        const MONEY: bool = true;
    }

    /// A price by time, in money per second.
    TimePrice, "price by time", "85 /h, 85 per hour, 640 /day",
    [
        Unit::new("/h", &["/h", "/hr", "/hour"], 1.0 / HOUR, BOTH, 2),
        Unit::new("/day", &["/day", "/d"], 1.0 / DAY, BOTH, 2),
    ] {
        const MONEY: bool = true;
    }
}
