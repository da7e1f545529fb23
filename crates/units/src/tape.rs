//! Lengths as somebody writes them who reads a tape.

use crate::quantity::{Length, Quantity, System};
use crate::spelling;
use crate::typed::{Typed, find, split_uncertainty};

/// An inch (m).
const INCH: f64 = 0.0254;

/// A length (m) written as another one was typed: in its units and their spelling, with its
/// uncertainty, on whole inches or centimetres. Where nothing readable was typed it is written as
/// this system shows it.
///
/// ```
/// use units::{System, written_like};
/// assert_eq!(written_like("9 ft", 2.8448, System::Ip), "9 ft 4 in");
/// assert_eq!(written_like("28 in ± 1 in", 0.762, System::Ip), "30 in ± 1 in");
/// assert_eq!(written_like("3.2 m", 3.514, System::Ip), "3.51 m");
/// assert_eq!(written_like("", 3.6576, System::Ip), "12 ft");
/// ```
pub fn written_like(typed: &str, length: f64, system: System) -> String {
    let (value, width) = split_uncertainty(typed);
    let written = Style::of(value).map_or_else(
        || {
            let mark = match system {
                System::Ip => INCH,
                System::Si => 0.01,
            };
            Length::from_si((length / mark).round() * mark).show(system)
        },
        |style| style.write(length),
    );
    match width {
        // The sign of the width, whichever was typed, with the blank before it.
        Some(_) => format!("{written}{}", &typed[value.trim_end().len()..]),
        None => written,
    }
}

/// How a length was typed.
struct Style<'a> {
    value: &'a str,
    /// The units as they are spelled.
    spelled: Vec<&'a str>,
    /// Between a number and its unit.
    gap: &'static str,
}

impl<'a> Style<'a> {
    fn of(value: &'a str) -> Option<Self> {
        let value = value.trim();
        Typed::<Length>::parse(value).ok()?;
        let is_unit =
            |c: char| c.is_alphabetic() || matches!(c, '\'' | '"' | '′' | '″' | '’' | '”');
        let spelled: Vec<&str> = value
            .split(|c: char| !is_unit(c))
            .filter(|word| !word.is_empty())
            .collect();
        let first = value.find(spelled.first()?)?;
        let gap = if value[..first].ends_with([' ', '\u{a0}', '\u{202f}']) {
            " "
        } else {
            ""
        };
        Some(Self {
            value,
            spelled,
            gap,
        })
    }

    fn write(&self, length: f64) -> String {
        let first = self.spelled[0];
        let unit = find(Length::units(), &spelling::unit(&spelling::plain(first)))
            .map_or("m", |unit| unit.symbol);
        let pairs = self.value.as_bytes().windows(2);
        let decimal = pairs
            .into_iter()
            .any(|pair| matches!(pair[0], b'.' | b',') && pair[1].is_ascii_digit());
        match unit {
            "ft" if decimal && self.spelled.len() == 1 => {
                let inches = (length / INCH).round();
                self.number(inches / 12.0, 2, first)
            }
            "ft" => self.feet(length, first),
            "in" => self.number(length / INCH, 0, first),
            "cm" => self.number(length * 100.0, 0, first),
            "mm" => self.number((length * 100.0).round() * 10.0, 0, first),
            _ => self.number(length, 2, first),
        }
    }

    fn feet(&self, length: f64, foot: &str) -> String {
        let inches = (length.abs() / INCH).round();
        let sign = if length < 0.0 && inches > 0.0 {
            "-"
        } else {
            ""
        };
        let (feet, rest) = ((inches / 12.0).floor(), inches % 12.0);
        let inch = self.spelled.get(1).copied().unwrap_or(match foot {
            "'" => "\"",
            "′" => "″",
            "’" => "”",
            _ => "in",
        });
        let gap = self.gap;
        match (feet, rest) {
            (feet, 0.0) => format!("{sign}{feet:.0}{gap}{foot}"),
            (0.0, rest) => format!("{sign}{rest:.0}{gap}{inch}"),
            (feet, rest) => {
                // `9'4"` is one word.
                let between = if foot.contains(char::is_alphabetic) || self.value.contains(' ') {
                    " "
                } else {
                    ""
                };
                format!("{sign}{feet:.0}{gap}{foot}{between}{rest:.0}{gap}{inch}")
            }
        }
    }

    /// A number with so many decimals at most.
    fn number(&self, number: f64, decimals: usize, unit: &str) -> String {
        let mut text = format!("{number:.decimals$}");
        if text.contains('.') {
            text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
        }
        if text == "-0" {
            text.remove(0);
        }
        if self.value.contains(',') && !self.value.contains('.') {
            text = text.replace('.', ",");
        }
        format!("{text}{}{unit}", self.gap)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_it_was_typed() {
        // (typed, moved to (m), written): one inch is 25.4 mm exactly.
        for (typed, length, written) in [
            ("9 ft 4 in", 2.7432, "9 ft"),
            ("9 ft", 2.7432 + 0.0254, "9 ft 1 in"),
            ("9 ft", 0.1016, "4 in"),
            ("9'4\"", 2.8194, "9'3\""),
            ("9.5 ft", 2.8448, "9.33 ft"),
            ("-18 in", -0.5, "-20 in"),
            ("-1 ft 6 in", -0.5334, "-1 ft 9 in"),
            ("28 inches", 0.72, "28 inches"),
            ("3,2 m", 3.25, "3,25 m"),
            ("3.20m", 4.0, "4m"),
            ("320 cm", 3.257, "326 cm"),
            ("3200 mm", 3.257, "3260 mm"),
            ("9 ft +/- 1 in", 3.048, "10 ft +/- 1 in"),
            ("9 ft ± 2 %", 3.048, "10 ft ± 2 %"),
            ("nine feet", 3.048, "10 ft"),
            ("0 ft", -0.001, "0 ft"),
        ] {
            assert_eq!(written_like(typed, length, System::Ip), written, "{typed}");
        }
        assert_eq!(written_like("", 0.503, System::Si), "500 mm");
    }

    #[test]
    fn what_is_written_is_read_again() {
        for typed in [
            "9 ft", "9.5 ft", "28 in", "3.2 m", "3,2 m", "320 cm", "3200 mm", "9' 4\"", "",
        ] {
            for step in -400..400 {
                let length = f64::from(step) * 0.0173;
                let text = written_like(typed, length, System::Ip);
                let read = Typed::<Length>::parse(&text).expect("a length");
                assert!(
                    (read.value.si() - length).abs() < 0.0145,
                    "{typed}: {length} {text}"
                );
            }
        }
    }
}
