//! A small writer of SVG text.

use std::fmt::Write as _;

/// Text of an SVG document while it grows.
///
/// ```
/// let mut svg = drawing::svg::Svg::default();
/// svg.text([4.0, 12.5], "word", "Tom & \"Ann\" <3");
/// assert_eq!(
///     svg.finish(),
///     "<text x=\"4\" y=\"12.5\" class=\"word\">Tom &amp; &quot;Ann&quot; &lt;3</text>\n"
/// );
/// ```
#[derive(Debug, Clone, Default)]
pub struct Svg {
    body: String,
}

impl Svg {
    /// Adds text as it stands; it has to be sound XML.
    pub fn raw(&mut self, text: &str) {
        self.body.push_str(text);
        self.body.push('\n');
    }

    /// Opens an element; `attributes` has to be sound.
    pub fn open(&mut self, name: &str, attributes: &str) {
        let space = if attributes.is_empty() { "" } else { " " };
        let _ = writeln!(self.body, "<{name}{space}{attributes}>");
    }

    /// Closes an element.
    pub fn close(&mut self, name: &str) {
        let _ = writeln!(self.body, "</{name}>");
    }

    /// A straight line.
    pub fn line(&mut self, from: [f64; 2], to: [f64; 2], class: &str) {
        let _ = writeln!(
            self.body,
            "<path d=\"M{} {}L{} {}\" class=\"{class}\"/>",
            number(from[0]),
            number(from[1]),
            number(to[0]),
            number(to[1])
        );
    }

    /// A rectangle [left, upper, width, height].
    pub fn rectangle(&mut self, [x, y, width, height]: [f64; 4], class: &str) {
        let _ = writeln!(
            self.body,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" class=\"{class}\"/>",
            number(x),
            number(y),
            number(width),
            number(height)
        );
    }

    /// A circle.
    pub fn circle(&mut self, [x, y]: [f64; 2], radius: f64, class: &str) {
        let _ = writeln!(
            self.body,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" class=\"{class}\"/>",
            number(x),
            number(y),
            number(radius)
        );
    }

    /// Lines through points; closed ones and holes in one path. `more` are further attributes.
    pub fn path(&mut self, lines: &[Vec<[f64; 2]>], closed: bool, class: &str, more: &str) {
        let mut data = String::new();
        for line in lines {
            for (index, point) in line.iter().enumerate() {
                let command = if index == 0 { 'M' } else { 'L' };
                let _ = write!(data, "{command}{} {}", number(point[0]), number(point[1]));
            }
            if closed {
                data.push('Z');
            }
        }
        if data.is_empty() {
            return;
        }
        let space = if more.is_empty() { "" } else { " " };
        let _ = writeln!(
            self.body,
            "<path d=\"{data}\" class=\"{class}\"{space}{more}/>"
        );
    }

    /// A text that begins at a point of its base line.
    pub fn text(&mut self, [x, y]: [f64; 2], class: &str, words: &str) {
        let _ = writeln!(
            self.body,
            "<text x=\"{}\" y=\"{}\" class=\"{class}\">{}</text>",
            number(x),
            number(y),
            escape(words)
        );
    }

    /// The text of all elements.
    pub fn finish(self) -> String {
        self.body
    }
}

/// A number with at most one decimal; what is no number becomes zero.
pub fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Text that may stand between tags and in attributes. Characters that XML does not know are left
/// out.
pub fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            '\t' | '\n' | '\r' => escaped.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {}
            _ => escaped.push(character),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        for (value, text) in [
            (1.0, "1"),
            (-0.04, "0"),
            (2.25, "2.2"),
            (-3.26, "-3.3"),
            (f64::NAN, "0"),
            (f64::INFINITY, "0"),
        ] {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn nothing_breaks_out() {
        assert_eq!(
            escape("<a href='x'>\u{1}&\n"),
            "&lt;a href=&#39;x&#39;&gt;&amp; "
        );
    }
}
