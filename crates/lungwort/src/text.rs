//! Plain text in columns.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Width of everything that is printed, in characters.
pub const WIDTH: usize = 100;

/// The text in lines of at most `width` characters, broken at spaces; a longer word is cut.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for (word, joined) in pieces(text, width) {
        let last = lines.last().map_or(0, |line| line.width());
        if last > 0 && last + usize::from(!joined) + word.width() > width {
            lines.push(String::new());
        }
        for (place, character) in word.char_indices() {
            let line = lines.last_mut().expect("there is a line");
            if place == 0 && !joined && !line.is_empty() {
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

/// The words of a text, those that are wider than a line in pieces that end with a hyphen where
/// they have one; each with whether it goes on a word.
fn pieces(text: &str, width: usize) -> impl Iterator<Item = (&str, bool)> {
    text.split_whitespace().flat_map(move |word| {
        let whole = word.width() <= width;
        word.split_inclusive(move |character| !whole && character == '-')
            .enumerate()
            .map(|(place, piece)| (piece, place > 0))
    })
}

/// The text with spaces after it, up to `width` characters.
pub fn left(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.width())))
}

/// The text with spaces before it, up to `width` characters.
pub fn right(text: &str, width: usize) -> String {
    format!("{}{text}", " ".repeat(width.saturating_sub(text.width())))
}

/// The text in paragraphs of whole words, each line indented, the first with a mark before it.
pub fn item(mark: &str, text: &str, width: usize) -> String {
    let indent = mark.width();
    let mut result = String::new();
    for (index, line) in wrap(text, width - indent).into_iter().enumerate() {
        let before = if index == 0 { mark } else { "" };
        result.push_str(&left(before, indent));
        result.push_str(&line);
        result.push('\n');
    }
    result
}

/// The text cut to at most `width` characters, with a sign that something is missing.
pub fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let mut result = String::new();
    for character in text.chars() {
        if result.width() + character.width().unwrap_or(0) + 1 > width {
            break;
        }
        result.push(character);
    }
    format!("{}…", result.trim_end())
}

/// The text for a terminal that knows only ASCII: lines of a drawing keep their place, signs become
/// what a typewriter has.
pub fn ascii(text: &str) -> String {
    let mut result = String::with_capacity(text.len());
    let mut before = ' ';
    for character in text.chars() {
        match character {
            '─' | '━' | '−' | '–' | '‐' => result.push('-'),
            '│' | '┃' => result.push('|'),
            '═' => result.push('='),
            '║' | '╫' | '╨' | '╥' => result.push('H'),
            '┈' | '·' => result.push('.'),
            '┊' => result.push(':'),
            '┌' | '┐' | '└' | '┘' | '├' | '┤' | '┬' | '┴' | '┼' | '╔' | '╗' | '╚' | '╝' | '╞'
            | '╡' => result.push('+'),
            '▶' => result.push('>'),
            '◀' => result.push('<'),
            '▲' => result.push('^'),
            '▼' => result.push('v'),
            '╲' => result.push('\\'),
            '╱' => result.push('/'),
            '╳' | '×' => result.push('x'),
            '⊘' => result.push('0'),
            '◆' | '•' => result.push('*'),
            '…' if before.is_ascii_digit() || before == '%' => result.push_str(".."),
            '…' => result.push('~'),
            '÷' => result.push('/'),
            '√' => result.push_str("sqrt"),
            '±' => result.push_str("+/-"),
            '²' => result.push('2'),
            '³' => result.push('3'),
            // The unit follows: °F, °C.
            '°' if before == ' ' => {}
            '°' => result.push_str(" deg"),
            'é' => result.push('e'),
            _ if character.is_ascii() => result.push(character),
            _ => result.push('?'),
        }
        before = character;
    }
    result
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
        assert_eq!(wrap("return-to-supply", 15), ["return-to-", "supply"]);
        assert_eq!(wrap("a return-to-supply", 15), ["a return-to-", "supply"]);
        assert_eq!(wrap("", 5), [""]);
        assert_eq!(wrap("m³/h µ°", 7), ["m³/h µ°"]);
    }

    #[test]
    fn items_hang_on_their_mark() {
        assert_eq!(item("- ", "a bc def", 6), "- a bc\n  def\n");
    }

    #[test]
    fn cutting() {
        assert_eq!(cut("whole", 5), "whole");
        assert_eq!(cut("too long", 5), "too…");
    }

    #[test]
    fn a_typewriter_suffices() {
        assert_eq!(
            ascii("┌─╲╱─┐ 116 (−7…+5) 50 °F, 35°, ±2 m³"),
            "+-\\/-+ 116 (-7..+5) 50 F, 35 deg, +/-2 m3"
        );
        assert!(ascii("Öland…◆").is_ascii());
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
