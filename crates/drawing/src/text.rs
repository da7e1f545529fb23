//! How much room a text takes.
//!
//! The reader's own sans serif is used, so widths are estimates on the wide side: advance widths of
//! common sans serifs, rounded up (from memory).

/// Width of a text in units of its font size.
///
/// ```
/// use drawing::text::width;
/// assert!(width("WWW") > width("iii"));
/// assert!((4.0..6.5).contains(&width("10 ft 6 in")));
/// ```
pub fn width(text: &str) -> f64 {
    text.chars()
        .map(|character| match character {
            ' ' | 'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | '’' | '\u{a0}' => {
                0.34
            }
            'f' | 't' | 'r' | '(' | ')' | '/' | '-' | '·' => 0.42,
            'm' | 'w' => 0.92,
            'M' | 'W' | '—' | '…' | '%' => 1.0,
            'A'..='Z' | '+' | '=' | '<' | '>' | '−' | '±' | '×' => 0.76,
            character if character.is_ascii() => 0.62,
            character if (character as u32) < 0x1100 => 0.72,
            _ => 1.05,
        })
        .sum()
}

/// The text in lines no wider than `limit` (in units of its font size), broken at spaces but
/// not at no-break spaces; a longer word stands alone.
pub fn wrap(text: &str, limit: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let words = text.split([' ', '\n', '\t']);
    for word in words.filter(|word| !word.is_empty()) {
        match lines.last_mut() {
            Some(line) if width(line) + width(" ") + width(word) <= limit => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// The text cut to a width (in units of its font size), with a sign that something is missing.
pub fn cut(text: &str, limit: f64) -> String {
    if width(text) <= limit {
        return text.to_owned();
    }
    let mut kept = String::new();
    for character in text.chars() {
        kept.push(character);
        if width(&kept) + 1.0 > limit {
            kept.pop();
            break;
        }
    }
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapping_keeps_all_words() {
        let text = "Tightest: 9 ft 2 in from the kitchen exhaust, at least 6 ft asked";
        let lines = wrap(text, 20.0);
        assert_eq!(lines.join(" "), text);
        assert!(lines.iter().all(|line| width(line) <= 20.0));
        assert!(wrap("", 5.0).is_empty());
        // A number keeps its unit.
        assert_eq!(
            wrap("faces north, 1.2\u{a0}m\u{a0}up", 9.0)[1],
            "1.2\u{a0}m\u{a0}up"
        );
    }

    #[test]
    fn cutting_says_so() {
        assert_eq!(cut("short", 10.0), "short");
        let long = cut("the kitchen window of the old part of the house", 10.0);
        assert!(long.ends_with('…') && width(&long) <= 10.0, "{long}");
        assert_eq!(cut("Wand", 0.5), "…");
    }
}
