//! A quantity as a person typed it.

use std::fmt;
use std::str::FromStr;

use crate::error::{Expected, ParseError};
use crate::number::{self, NumberError};
use crate::quantity::{self, Quantity, System, Unit};
use crate::spelling;

/// The largest number that is accepted.
const LARGEST: f64 = 1e12;

/// Half of the width of the interval that was typed after `±`.
///
/// The interval is read as the 95 % interval of a normal distribution, with the coverage factor
/// 2 of the *Guide to the expression of uncertainty in measurement* (JCGM 100:2008, clause 6 and
/// annex G): the half-width is two standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Uncertainty {
    /// As a share of the value: 0.05 for `± 5 %`.
    Relative(f64),
    /// In SI: 0.00142 m³/s for `± 3 cfm`. For a temperature it is a difference.
    Absolute(f64),
}

/// A quantity with the text that was typed for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Typed<Q> {
    /// The quantity.
    pub value: Q,
    /// The text exactly as typed, without the blanks around it.
    pub text: String,
    /// What was typed after `±`.
    pub uncertainty: Option<Uncertainty>,
    /// The system of the unit that was typed; `None` if both systems use it.
    pub system: Option<System>,
    /// The (last) unit that was typed.
    pub unit: &'static Unit,
}

impl<Q: Quantity> Typed<Q> {
    /// Reads a quantity with its unit and an optional uncertainty.
    ///
    /// After `±` (or `+/-`, `+-`) stands a half-width with a unit, a half-width without one in
    /// the (last) unit of the value, or a percentage of the value. For a share, which is itself in
    /// per cent, the percentage is one of points: `65 % ± 5 %` is 60 to 70 %.
    ///
    /// # Errors
    ///
    /// [`ParseError`] says what was found and what is accepted.
    ///
    /// ```
    /// use units::{Length, ParseError, Quantity, Typed, Uncertainty};
    ///
    /// let length = Typed::<Length>::parse("10 ft 6-1/2 in ± 1 in").unwrap();
    /// assert!((length.value.si() - 3.2131).abs() < 1e-12);
    /// assert_eq!(length.uncertainty, Some(Uncertainty::Absolute(0.0254)));
    /// assert_eq!(length.standard_deviation(), Some(0.0127));
    ///
    /// assert!(matches!(
    ///     Typed::<Length>::parse("6"),
    ///     Err(ParseError::MissingUnit { .. })
    /// ));
    /// ```
    pub fn parse(text: &str) -> Result<Self, ParseError> {
        let reader = Reader {
            expected: Expected {
                quantity: Q::NAME,
                examples: Q::EXAMPLES,
            },
            units: Q::units(),
            compound: Q::COMPOUND,
            money: Q::MONEY,
            has_natural_zero: Q::HAS_NATURAL_ZERO,
        };
        let reading = reader.read(text)?;
        Ok(Self {
            value: Q::from_si(reading.si),
            text: text.trim().to_owned(),
            uncertainty: reading.uncertainty,
            system: reading.unit.system,
            unit: reading.unit,
        })
    }

    /// A quantity that nobody typed (a stated default), as if it had been typed in this system.
    pub fn stated(value: Q, uncertainty: Option<Uncertainty>, system: System) -> Self {
        let unit = value.shown_in(system);
        Self {
            value,
            text: value.show(system),
            uncertainty,
            system: unit.system,
            unit,
        }
    }

    /// Standard deviation in SI: half of the half-width that was typed.
    pub fn standard_deviation(&self) -> Option<f64> {
        self.uncertainty.map(|uncertainty| match uncertainty {
            Uncertainty::Relative(share) => share * self.value.si().abs() / 2.0,
            Uncertainty::Absolute(width) => width / 2.0,
        })
    }

    /// What was typed, with the other system in parentheses: `70 cfm (33.0 L/s)`. Where both
    /// systems use the same unit nothing is added.
    pub fn echo(&self) -> String {
        match self.system {
            Some(system) => format!("{} ({})", self.text, self.value.show(system.other())),
            None => self.text.clone(),
        }
    }
}

impl<Q: Quantity> FromStr for Typed<Q> {
    type Err = ParseError;

    fn from_str(text: &str) -> Result<Self, ParseError> {
        Self::parse(text)
    }
}

impl<Q> fmt::Display for Typed<Q> {
    /// The text as typed.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// What a text says.
struct Reading {
    si: f64,
    /// The last unit of the value.
    unit: &'static Unit,
    uncertainty: Option<Uncertainty>,
}

/// Reads the texts of one quantity.
struct Reader {
    expected: Expected,
    units: &'static [Unit],
    compound: bool,
    money: bool,
    has_natural_zero: bool,
}

impl Reader {
    fn read(&self, text: &str) -> Result<Reading, ParseError> {
        let text = spelling::plain(text);
        if text.trim().is_empty() {
            return Err(ParseError::Empty {
                expected: self.expected,
            });
        }
        let (value, width) = split_uncertainty(&text);
        let (si, unit) = self.amount(value)?;
        let uncertainty = width.map(|width| self.width(width, si, unit)).transpose()?;
        Ok(Reading {
            si,
            unit,
            uncertainty,
        })
    }

    /// The value and its last unit.
    fn amount(&self, text: &str) -> Result<(f64, &'static Unit), ParseError> {
        let text = text.trim();
        if let Some((unit, number)) = self.leading_unit(text) {
            let (number, rest) = self.number(number)?;
            return match rest.trim() {
                "" => Ok((self.si(unit, number, text)?, unit)),
                rest => Err(self.trailing(rest)),
            };
        }

        let text = if self.money {
            after_currency(text)
        } else {
            text
        };
        let (number, after) = self.number(text)?;
        let (typed_unit, mut rest) = split_unit(after);
        let mut unit = self.unit(typed_unit, typed_number(text, after))?;
        let mut si = self.si(unit, number, text)?;
        // The sign before the first number holds for the whole: -10 ft 6 in.
        let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
        while self.compound && !rest.is_empty() {
            let (number, after) = self.number(rest)?;
            let (typed_unit, next) = split_unit(after);
            let smaller = self.unit(typed_unit, typed_number(rest, after))?;
            if smaller.factor >= unit.factor || number < 0.0 {
                break;
            }
            si += sign * self.si(smaller, number, rest)?;
            (unit, rest) = (smaller, next);
        }
        if rest.is_empty() {
            Ok((si, unit))
        } else {
            Err(self.trailing(rest))
        }
    }

    fn width(&self, text: &str, si: f64, value_unit: &Unit) -> Result<Uncertainty, ParseError> {
        let text = text.trim();
        let (number, rest) = self.number(text)?;
        let spelled = rest.trim();
        let percent = matches!(spelling::unit(spelled).as_str(), "%" | "percent" | "pct");
        let bad = || ParseError::BadWidth {
            found: text.to_owned(),
        };
        let uncertainty = if percent && self.find("%").is_none() {
            if !self.has_natural_zero {
                return Err(ParseError::RelativeWidth {
                    found: text.to_owned(),
                    expected: self.expected,
                });
            }
            if number > 100.0 || si == 0.0 {
                return Err(bad());
            }
            Uncertainty::Relative(number / 100.0)
        } else {
            let unit = match spelled {
                "" => value_unit,
                spelled => self.unit(spelled, text)?,
            };
            Uncertainty::Absolute(number * unit.factor)
        };
        let (Uncertainty::Relative(size) | Uncertainty::Absolute(size)) = uncertainty;
        if !(size > 0.0 && number <= LARGEST) {
            return Err(bad());
        }
        Ok(uncertainty)
    }

    fn number<'a>(&self, text: &'a str) -> Result<(f64, &'a str), ParseError> {
        number::leading(text).map_err(|error| match error {
            NumberError::Malformed => ParseError::NotANumber {
                found: text.trim().to_owned(),
                expected: self.expected,
            },
            NumberError::AmbiguousComma(found) => ParseError::AmbiguousComma { found },
        })
    }

    fn si(&self, unit: &Unit, number: f64, typed: &str) -> Result<f64, ParseError> {
        let si = unit.to_si(number);
        if number.abs() <= LARGEST && si.abs() <= LARGEST {
            Ok(si)
        } else {
            Err(ParseError::TooLarge {
                found: typed.to_owned(),
                expected: self.expected,
            })
        }
    }

    /// The unit that stands before its number, with the text of the number: `R-8`, `RSI 1.4`.
    fn leading_unit<'a>(&self, text: &'a str) -> Option<(&'static Unit, &'a str)> {
        let end = text.find(|c: char| !c.is_ascii_alphabetic())?;
        let (word, rest) = text.split_at(end);
        let word = spelling::unit(word);
        let unit = self
            .units
            .iter()
            .find(|unit| unit.leads && unit.spellings.contains(&word.as_str()))?;
        let number = rest.trim_start_matches(' ');
        Some((unit, number.strip_prefix('-').unwrap_or(number)))
    }

    fn unit(&self, typed: &str, number: &str) -> Result<&'static Unit, ParseError> {
        let spelled = spelling::unit(typed);
        // `6-inch`
        let spelled = spelled.strip_prefix('-').unwrap_or(&spelled);
        if let Some(unit) = self.find(spelled) {
            return Ok(unit);
        }
        if spelled.is_empty() {
            return Err(ParseError::MissingUnit {
                found: number.to_owned(),
                expected: self.expected,
            });
        }
        let belongs_to: Vec<_> = quantity::all()
            .into_iter()
            .filter(|(_, units)| find(units, spelled).is_some())
            .map(|(name, _)| name)
            .collect();
        if belongs_to.is_empty() {
            let spellings = self.units.iter().flat_map(|unit| unit.spellings);
            Err(ParseError::UnknownUnit {
                unit: typed.trim().to_owned(),
                suggestion: spelling::nearest(spelled, spellings.copied())
                    .and_then(|near| self.find(near))
                    .map(|unit| unit.symbol.trim_matches([' ', '-'])),
                expected: self.expected,
            })
        } else {
            Err(ParseError::OtherQuantity {
                unit: typed.trim().to_owned(),
                belongs_to,
                expected: self.expected,
            })
        }
    }

    fn find(&self, spelled: &str) -> Option<&'static Unit> {
        find(self.units, spelled)
    }

    fn trailing(&self, found: &str) -> ParseError {
        ParseError::TrailingText {
            found: found.trim().to_owned(),
            expected: self.expected,
        }
    }
}

pub(crate) fn find(units: &'static [Unit], spelled: &str) -> Option<&'static Unit> {
    units.iter().find(|unit| unit.spellings.contains(&spelled))
}

/// The text before `±` and the one after it.
pub(crate) fn split_uncertainty(text: &str) -> (&str, Option<&str>) {
    for sign in ["±", "+/-", "+-"] {
        if let Some((value, width)) = text.split_once(sign) {
            return (value, Some(width));
        }
    }
    (text, None)
}

/// The text of a unit, up to where the next number begins, and that number with what follows.
fn split_unit(text: &str) -> (&str, &str) {
    let start = text.len() - text.trim_start().len();
    let next_number = text.as_bytes()[start..]
        .windows(2)
        .position(|pair| matches!(pair[0], b' ' | b'\'' | b'"') && pair[1].is_ascii_digit());
    match next_number {
        Some(place) => text.split_at(start + place + 1),
        None => (text, ""),
    }
}

/// What was typed before the text that follows the number.
fn typed_number<'a>(text: &'a str, after: &str) -> &'a str {
    text[..text.len() - after.len()].trim()
}

/// The text without the currency sign or word before the number: `$120`, `CAD 120`.
fn after_currency(text: &str) -> &str {
    let is_sign =
        |c: char| c.is_alphabetic() || ('\u{20a0}'..='\u{20cf}').contains(&c) || "$£¥".contains(c);
    let end = text.find(|c| !is_sign(c)).unwrap_or(text.len());
    if text[..end].chars().count() <= 3 {
        text[end..].trim_start()
    } else {
        text
    }
}
