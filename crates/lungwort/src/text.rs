//! Plain text in columns.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Width of everything that is printed, in characters.
pub const WIDTH: usize = 100;

/// The text in lines of at most `width` characters, broken at spaces; a longer word is cut.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.last().map_or(0, |line| line.width());
        if last > 0 && last + 1 + word.width() > width {
            lines.push(String::new());
        }
        for (place, character) in word.char_indices() {
            let line = lines.last_mut().expect("there is a line");
            if place == 0 && !line.is_empty() {
                line.push(' ');
            }
            if line.width() + character.width().unwrap_or(0) > width {
                lines.push(character.to_string());
            } else {
                line.push(character);
            }
        }
    }
    lines
}

/// The text with spaces after it, up to `width` characters.
pub fn left(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.width())))
}

/// The text with spaces before it, up to `width` characters.
pub fn right(text: &str, width: usize) -> String {
    format!("{}{text}", " ".repeat(width.saturating_sub(text.width())))
}

/// A number with a given count of significant digits, without trailing zeros; very large and very
/// small ones with a power of ten.
pub fn significant(number: f64, digits: usize) -> String {
    if number == 0.0 || !number.is_finite() {
        return format!("{number}");
    }
    let scientific = format!("{number:.*e}", digits.saturating_sub(1));
    let (mantissa, exponent) = scientific
        .split_once('e')
        .expect("the format writes an exponent");
    let exponent: i32 = exponent.parse().expect("the exponent is a whole number");
    if (-4..9).contains(&exponent) {
        let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
        trimmed(&format!("{number:.decimals$}"))
    } else {
        format!("{}e{exponent}", trimmed(mantissa))
    }
}

fn trimmed(number: &str) -> String {
    if number.contains('.') {
        number
            .trim_end_matches('0')
            .trim_end_matches('.')
            .to_owned()
    } else {
        number.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapping() {
        assert_eq!(wrap("a bc def", 4), ["a bc", "def"]);
        assert_eq!(wrap("abcdefgh ij", 5), ["abcde", "fgh", "ij"]);
        assert_eq!(wrap("", 5), [""]);
        assert_eq!(wrap("m³/h µ°", 7), ["m³/h µ°"]);
    }

    #[test]
    fn padding_counts_characters_not_bytes() {
        assert_eq!(left("m³", 4), "m³  ");
        assert_eq!(right("m³", 4), "  m³");
        assert_eq!(right("long", 2), "long");
    }

    #[test]
    fn significant_digits() {
        for (number, digits, text) in [
            (0.0, 6, "0"),
            (1.0, 6, "1"),
            (1.20409734, 6, "1.2041"),
            (-0.0212969093, 6, "-0.0212969"),
            (101325.0, 6, "101325"),
            (1234567.0, 6, "1234567"),
            (1.456789e-12, 3, "1.46e-12"),
            (9.999999, 3, "10"),
            (2e12, 3, "2e12"),
            (f64::NAN, 3, "NaN"),
        ] {
            assert_eq!(significant(number, digits), text, "{number}");
        }
    }
}
