//! A sheet of characters to draw on, each with its ink.

use unicode_width::UnicodeWidthChar;

use crate::text::cut;

/// What a character is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ink {
    /// The terminal's own colour.
    #[default]
    Plain,
    /// Set back: the other system of units.
    Quiet,
    /// Set forward.
    Strong,
    /// The colour of outdoor air.
    Outdoor,
    /// The colour of supply air.
    Supply,
    /// The colour of extract air.
    Extract,
    /// The colour of exhaust air.
    Exhaust,
}

impl Ink {
    /// The codes that switch a terminal to this ink. The four airs have the colours of EN 16798-3,
    /// in shades that read on light and on dark ground.
    fn code(self) -> &'static str {
        match self {
            Self::Plain => "0",
            Self::Quiet => "0;2",
            Self::Strong => "0;1",
            Self::Outdoor => "0;38;5;35",
            Self::Supply => "0;38;5;33",
            Self::Extract => "0;38;5;178",
            Self::Exhaust => "0;38;5;137",
        }
    }

    /// The text in this ink, if colours are wanted.
    pub fn paint(self, text: &str, coloured: bool) -> String {
        if coloured && self != Self::Plain {
            format!("\x1b[{}m{text}\x1b[0m", self.code())
        } else {
            text.to_owned()
        }
    }
}

/// A sheet of a fixed width that grows downward.
#[derive(Debug, Clone)]
pub struct Canvas {
    width: usize,
    /// A wide character is followed by a cell without one.
    rows: Vec<Vec<(Option<char>, Ink)>>,
}

impl Canvas {
    /// An empty sheet.
    pub fn new(width: usize) -> Self {
        Self {
            width,
            rows: Vec::new(),
        }
    }

    /// Draws one character; what lies beside the sheet is cut off.
    pub fn put(&mut self, row: usize, column: usize, character: char, ink: Ink) {
        if column >= self.width {
            return;
        }
        if self.rows.len() <= row {
            self.rows
                .resize(row + 1, vec![(Some(' '), Ink::Plain); self.width]);
        }
        self.rows[row][column] = (Some(character), ink);
    }

    /// Writes a text that begins at a column.
    pub fn text(&mut self, row: usize, column: usize, text: &str, ink: Ink) {
        let mut column = column;
        for character in text.chars() {
            let width = character.width().unwrap_or(0);
            if width == 0 || column + width > self.width {
                continue;
            }
            self.put(row, column, character, ink);
            for behind in 1..width {
                self.rows[row][column + behind].0 = None;
            }
            column += width;
        }
    }

    /// Writes a text that ends before a column.
    pub fn text_before(&mut self, row: usize, end: usize, text: &str, ink: Ink) {
        let width: usize = text.chars().filter_map(|character| character.width()).sum();
        self.text(row, end.saturating_sub(width), text, ink);
    }

    /// Draws a horizontal line between two columns, both included; the pattern repeats along the
    /// sheet, so that pieces of one line fit together.
    pub fn across(&mut self, row: usize, columns: [usize; 2], pattern: &str, ink: Ink) {
        let pattern: Vec<char> = pattern.chars().collect();
        for column in columns[0]..=columns[1] {
            self.put(row, column, pattern[column % pattern.len()], ink);
        }
    }

    /// Draws a vertical line between two rows, both included.
    pub fn down(&mut self, rows: [usize; 2], column: usize, character: char, ink: Ink) {
        for row in rows[0]..=rows[1] {
            self.put(row, column, character, ink);
        }
    }

    /// Draws a box with its name in the upper border.
    pub fn frame(&mut self, rows: [usize; 2], columns: [usize; 2], name: &str) {
        let ([top, bottom], [west, east]) = (rows, columns);
        for row in [top, bottom] {
            self.across(row, [west, east], "─", Ink::Plain);
        }
        for column in [west, east] {
            self.down([top, bottom], column, '│', Ink::Plain);
        }
        for (row, column, corner) in [
            (top, west, '┌'),
            (top, east, '┐'),
            (bottom, west, '└'),
            (bottom, east, '┘'),
        ] {
            self.put(row, column, corner, Ink::Plain);
        }
        let room = east - west - 5;
        if !name.is_empty() {
            let name = format!(" {} ", cut(name, room));
            self.text(top, west + 2, &name, Ink::Strong);
        }
    }

    /// The sheet as text.
    pub fn print(&self, coloured: bool) -> String {
        let mut text = String::new();
        for row in &self.rows {
            let end = row
                .iter()
                .rposition(|cell| cell.0 != Some(' '))
                .map_or(0, |last| last + 1);
            let mut pieces: Vec<(String, Ink)> = Vec::new();
            for &(character, ink) in &row[..end] {
                let Some(character) = character else { continue };
                match pieces.last_mut() {
                    Some((piece, known)) if *known == ink => piece.push(character),
                    _ => pieces.push((character.to_string(), ink)),
                }
            }
            for (piece, ink) in pieces {
                text.push_str(&ink.paint(&piece, coloured));
            }
            text.push('\n');
        }
        text
    }
}

/// A heading above a part of a report.
pub fn heading(words: &str, coloured: bool) -> String {
    format!("{}\n", Ink::Strong.paint(words, coloured))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_beside_the_sheet_is_cut_off() {
        let mut canvas = Canvas::new(4);
        canvas.text(1, 2, "long", Ink::Plain);
        canvas.put(0, 9, 'x', Ink::Plain);
        assert_eq!(canvas.print(false), "\n  lo\n");
    }

    #[test]
    fn wide_characters_take_two_columns() {
        let mut canvas = Canvas::new(6);
        canvas.text_before(0, 6, "風x", Ink::Plain);
        canvas.put(0, 0, '|', Ink::Plain);
        assert_eq!(canvas.print(false), "|  風x\n");
    }

    #[test]
    fn patterns_fit_together() {
        let mut canvas = Canvas::new(9);
        canvas.across(0, [0, 3], "── ", Ink::Plain);
        canvas.across(0, [4, 8], "── ", Ink::Plain);
        assert_eq!(canvas.print(false), "── ── ──\n");
    }

    #[test]
    fn inks_are_switched_only_where_they_change_and_never_without_colours() {
        let mut canvas = Canvas::new(5);
        canvas.text(0, 0, "ab", Ink::Supply);
        canvas.text(0, 2, "cd", Ink::Plain);
        assert_eq!(canvas.print(true), "\u{1b}[0;38;5;33mab\u{1b}[0mcd\n");
        assert_eq!(canvas.print(false), "abcd\n");
    }
}
