//! A rule as a row of data.

use std::fmt;

use units::{
    AirChanges, Duration, Fraction, Length, Loudness, Pressure, Quantity, SoundLevel, System,
    Temperature, ThermalResistance, Velocity, VolumeFlow, both,
};

/// One rule: what it demands, how much, how that is measured, and whose rule it is.
///
/// ```
/// let row = rules::row("access space").unwrap();
/// assert_eq!(row.confidence, rules::Confidence::ReadInSource);
/// assert_eq!(row.limit.unwrap().show(units::System::Ip), "at least 2 ft 6 in (762 mm)");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Short fixed name, by which a job overrides the row.
    pub id: &'static str,
    /// Which part of the work it concerns.
    pub subject: Subject,
    /// To what it applies, for instance `a tap on the return`.
    pub applies_to: &'static str,
    /// What it demands, as a sentence. The number is that of the row, not of an override.
    pub demand: &'static str,
    /// The number, where the rule has one.
    pub limit: Option<Limit>,
    /// How the number is measured; empty where that is plain.
    pub measured: &'static str,
    /// When the rule does not hold; empty if always.
    pub exception: &'static str,
    /// What can be done when a plan breaks it; empty if nothing beyond the demand.
    pub remedy: &'static str,
    /// Whose rule it is: the document with its clause.
    pub authority: &'static str,
    /// Edition of the document; empty for common practice.
    pub edition: &'static str,
    /// How well the row is known.
    pub confidence: Confidence,
    /// The rule sets to which it belongs.
    pub sets: &'static [RuleSet],
}

impl Row {
    /// A row of common practice with nothing filled in, to write the others shortly.
    pub const BLANK: Self = Self {
        id: "",
        subject: Subject::Spot,
        applies_to: "",
        demand: "",
        limit: None,
        measured: "",
        exception: "",
        remedy: "",
        authority: COMMON_PRACTICE,
        edition: "",
        confidence: Confidence::CommonPractice,
        sets: &[RuleSet::CommonPractice],
    };

    /// Whether the row may decide between pass and fail. A row of which the number, the edition
    /// or the clause is in doubt is shown but decides nothing.
    pub fn decides(&self) -> bool {
        self.confidence != Confidence::Unsure
    }

    /// The authority with its edition: `IRC M1504.3, 2024`.
    pub fn source(&self) -> String {
        if self.edition.is_empty() {
            self.authority.to_owned()
        } else {
            format!("{}, {}", self.authority, self.edition)
        }
    }
}

/// The authority of a habit of the trade.
pub const COMMON_PRACTICE: &str = "common practice, no published source";

/// The part of the work that a rule concerns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    /// How much air.
    Rate,
    /// Exhaust of kitchens and baths.
    LocalExhaust,
    /// Where the unit hangs.
    Spot,
    /// How the ventilator joins the existing ducts.
    Layout,
    /// Supply against exhaust.
    Balance,
    /// Where intake and exhaust pierce the wall.
    Siting,
    /// Combustion and other dangers.
    Safety,
    /// Insulation of ducts.
    Insulation,
    /// Noise.
    Sound,
    /// Room to reach and serve the unit.
    Access,
    /// The ducts themselves.
    Ducts,
    /// Measuring and handing over.
    Commissioning,
}

impl Subject {
    /// All subjects, in the order in which they are listed.
    pub const ALL: [Self; 12] = [
        Self::Rate,
        Self::LocalExhaust,
        Self::Spot,
        Self::Layout,
        Self::Balance,
        Self::Siting,
        Self::Safety,
        Self::Insulation,
        Self::Sound,
        Self::Access,
        Self::Ducts,
        Self::Commissioning,
    ];

    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Rate => "rate",
            Self::LocalExhaust => "local exhaust",
            Self::Spot => "spot",
            Self::Layout => "layout",
            Self::Balance => "balance",
            Self::Siting => "siting",
            Self::Safety => "safety",
            Self::Insulation => "insulation",
            Self::Sound => "sound",
            Self::Access => "access",
            Self::Ducts => "ducts",
            Self::Commissioning => "commissioning",
        }
    }
}

/// How well a row is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Confidence {
    /// Read in the source or in a reprint of it.
    ReadInSource,
    /// From memory, a well-known value of a named standard; to be checked against one's copy.
    FromMemory,
    /// From memory, and the number, the edition or the clause is in doubt. Never decides.
    Unsure,
    /// A habit of the trade without a published source.
    CommonPractice,
}

impl Confidence {
    /// The words for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::ReadInSource => "read in the source",
            Self::FromMemory => "from memory",
            Self::Unsure => "from memory, unsure: shown only",
            Self::CommonPractice => "common practice",
        }
    }
}

/// A set of rules that a job can choose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RuleSet {
    /// Habits of the trade; always part of a job's rules.
    CommonPractice,
    /// ASHRAE 62.2, beside any national set.
    Ashrae622,
    /// The per-person rule of very tight houses, beside any national set.
    VeryTightHouse,
    /// International Residential Code 2024, the model text, with the gas codes that it refers to.
    Irc2024,
    /// International Residential Code 2021, the model text.
    Irc2021,
    /// International Residential Code 2021 as amended by Washington State.
    Washington,
    /// Canada: CSA F326 and B149.1 with the National Building Code.
    Canada,
    /// Ontario Building Code 9.32 beside the Canadian standards.
    Ontario,
    /// England: Approved Document F, volume 1, 2021.
    England,
    /// Europe: EN 16798-1 with its default annex.
    Europe,
}

impl RuleSet {
    /// All sets.
    pub const ALL: [Self; 10] = [
        Self::CommonPractice,
        Self::Ashrae622,
        Self::VeryTightHouse,
        Self::Irc2024,
        Self::Irc2021,
        Self::Washington,
        Self::Canada,
        Self::Ontario,
        Self::England,
        Self::Europe,
    ];

    /// The word by which a job chooses it.
    pub fn name(self) -> &'static str {
        match self {
            Self::CommonPractice => "common practice",
            Self::Ashrae622 => "ASHRAE 62.2",
            Self::VeryTightHouse => "very tight house",
            Self::Irc2024 => "IRC 2024",
            Self::Irc2021 => "IRC 2021",
            Self::Washington => "Washington",
            Self::Canada => "Canada",
            Self::Ontario => "Ontario",
            Self::England => "England",
            Self::Europe => "Europe",
        }
    }

    /// The set of this name, whatever its capitals.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|set| set.name().eq_ignore_ascii_case(name.trim()))
    }

    /// Whether it is the law of some place: a job chooses at most one of these.
    pub fn national(self) -> bool {
        !matches!(
            self,
            Self::CommonPractice | Self::Ashrae622 | Self::VeryTightHouse
        )
    }
}

/// The number of a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// On which side of the number the rule is kept.
    pub sense: Sense,
    /// The number in SI (temperatures in °C, shares as a ratio).
    pub value: f64,
    /// The number of the inch-pound form in SI, where a document rounds its two forms apart:
    /// 100 cfm beside 50 L/s.
    pub inch_pound: Option<f64>,
    /// What it is, so that it can be printed and read.
    pub kind: Kind,
}

impl Limit {
    /// The value must be reached.
    pub const fn at_least(value: f64, kind: Kind) -> Self {
        Self {
            sense: Sense::AtLeast,
            value,
            inch_pound: None,
            kind,
        }
    }

    /// The value must not be passed.
    pub const fn at_most(value: f64, kind: Kind) -> Self {
        Self {
            sense: Sense::AtMost,
            value,
            inch_pound: None,
            kind,
        }
    }

    /// The same limit with the number of the document's inch-pound form (SI).
    pub const fn or(self, inch_pound: f64) -> Self {
        Self {
            inch_pound: Some(inch_pound),
            ..self
        }
    }

    /// The number (SI) for a job in one system of units. The two forms of a document are not
    /// converted into each other.
    pub fn value_in(&self, system: System) -> f64 {
        match (system, self.inch_pound) {
            (System::Ip, Some(value)) => value,
            _ => self.value,
        }
    }

    /// Whether a measured value (SI) keeps it. Equality keeps it, down to rounding; a value that
    /// is not a number does not.
    pub fn holds(&self, measured: f64) -> bool {
        self.margin(measured) >= -1e-9 * self.value.abs().max(1.0)
    }

    /// How far a measured value (SI) lies on the right side, negative on the wrong one.
    pub fn margin(&self, measured: f64) -> f64 {
        match self.sense {
            Sense::AtLeast => measured - self.value,
            Sense::AtMost => self.value - measured,
        }
    }

    /// In words, with the other system in parentheses: `at least 10 ft (3.05 m)`.
    pub fn show(&self, first: System) -> String {
        format!(
            "{} {}",
            self.sense.name(),
            self.kind.both(self.value, first)
        )
    }
}

/// On which side of its number a rule is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sense {
    /// At or above.
    AtLeast,
    /// At or below.
    AtMost,
}

impl Sense {
    /// The words for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::AtLeast => "at least",
            Self::AtMost => "at most",
        }
    }
}

macro_rules! kinds {
    ($($(#[$about:meta])* $Kind:ident = $Quantity:ty;)*) => {
        /// What the number of a rule is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Kind {
            $($(#[$about])* $Kind,)*
            /// A bare number: a factor or a count.
            Number,
        }

        impl Kind {
            /// Name of the quantity.
            pub fn name(self) -> &'static str {
                match self {
                    $(Self::$Kind => <$Quantity>::NAME,)*
                    Self::Number => "number",
                }
            }

            /// What is accepted for it, for messages.
            pub fn examples(self) -> &'static str {
                match self {
                    $(Self::$Kind => <$Quantity>::EXAMPLES,)*
                    Self::Number => "1.5, 20",
                }
            }

            /// A number (SI) with its unit in one system.
            pub fn show(self, value: f64, system: System) -> String {
                match self {
                    $(Self::$Kind => <$Quantity>::from_si(value).show(system),)*
                    Self::Number => format!("{value}"),
                }
            }

            /// A number (SI) with its unit, and the other system in parentheses.
            pub fn both(self, value: f64, first: System) -> String {
                match self {
                    $(Self::$Kind => both(<$Quantity>::from_si(value), first),)*
                    Self::Number => format!("{value}"),
                }
            }

            /// Reads a number with its unit, as a person types it (SI).
            ///
            /// # Errors
            ///
            /// A sentence that says what was found and what is accepted.
            pub fn parse(self, text: &str) -> Result<f64, String> {
                match self {
                    $(Self::$Kind => units::Typed::<$Quantity>::parse(text)
                        .map(|typed| typed.value.si())
                        .map_err(|error| error.to_string()),)*
                    Self::Number => text
                        .trim()
                        .parse::<f64>()
                        .ok()
                        .filter(|value| value.is_finite())
                        .ok_or_else(|| format!("{text:?} is not a number, like 1.5")),
                }
            }
        }
    };
}

kinds! {
    /// A length (m).
    Length = Length;
    /// A volume flow (m³/s).
    Flow = VolumeFlow;
    /// A pressure difference (Pa).
    Pressure = Pressure;
    /// A temperature (°C).
    Temperature = Temperature;
    /// A share (ratio).
    Share = Fraction;
    /// A thermal resistance (m²·K/W).
    Resistance = ThermalResistance;
    /// A sound level (dB(A)).
    SoundLevel = SoundLevel;
    /// A loudness (sone).
    Loudness = Loudness;
    /// A velocity (m/s).
    Velocity = Velocity;
    /// A duration (s).
    Duration = Duration;
    /// Air changes (1/s).
    AirChanges = AirChanges;
}

impl Kind {
    /// Whether a number of this kind must be above zero.
    pub fn positive(self) -> bool {
        !matches!(self, Self::Temperature | Self::SoundLevel)
    }
}

impl fmt::Display for RuleSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The Canadian sets.
pub(crate) const CANADA: &[RuleSet] = &[RuleSet::Canada, RuleSet::Ontario];

/// Inch (m).
pub(crate) const INCH: f64 = 0.0254;
/// Foot (m).
pub(crate) const FOOT: f64 = 0.3048;
/// Cubic foot per minute (m³/s).
pub(crate) const CFM: f64 = FOOT * FOOT * FOOT / 60.0;
/// Foot per minute (m/s).
pub(crate) const FPM: f64 = FOOT / 60.0;
/// Conventional inch of water (Pa).
pub(crate) const INCH_OF_WATER: f64 = 249.088_91;
/// Inch-pound unit of thermal resistance, ft²·h·°F/Btu (m²·K/W).
pub(crate) const R_VALUE: f64 = 0.176_110_183_682_3;
