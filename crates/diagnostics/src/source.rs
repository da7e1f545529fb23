//! The text of a file, with its lines.

use std::ops::Range;

use crate::Problem;

/// A file as it was typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    name: String,
    text: String,
    /// Byte offset of the start of each line.
    lines: Vec<usize>,
    defects: Vec<Problem>,
}

/// A place in a file, as an editor counts it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Line, the first is 1.
    pub line: usize,
    /// Column in characters, the first is 1.
    pub column: usize,
}

impl Source {
    /// Files above this size are not read: a job is a few thousand bytes.
    pub const LARGEST: usize = 4_000_000;

    /// A file that is already text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        let text = text.into();
        let lines = std::iter::once(0)
            .chain(text.match_indices('\n').map(|(at, _)| at + 1))
            .collect();
        Self {
            name: name.into(),
            text,
            lines,
            defects: Vec::new(),
        }
    }

    /// A file as its bytes, whatever they are.
    ///
    /// A byte-order mark is dropped. Bytes that are not UTF-8, and a file beyond
    /// [`Source::LARGEST`], are noted as [`Source::defects`]; the text then holds what can be shown.
    pub fn from_bytes(name: impl Into<String>, bytes: &[u8]) -> Self {
        if bytes.len() > Self::LARGEST {
            let mut source = Self::new(name, "");
            source.defects.push(
                Problem::error("the file is too large", 0..0)
                    .label(format!("{} bytes", bytes.len()))
                    .help(format!("files up to {} bytes are read", Self::LARGEST)),
            );
            return source;
        }
        let (bytes, skipped) = match bytes.strip_prefix(b"\xEF\xBB\xBF") {
            Some(rest) => (rest, 3),
            None => (bytes, 0),
        };
        match std::str::from_utf8(bytes) {
            Ok(text) => Self::new(name, text),
            Err(error) => {
                let at = error.valid_up_to();
                let mut source = Self::new(name, String::from_utf8_lossy(bytes));
                let line = source.place(at).line;
                let byte = bytes.get(at).copied().unwrap_or_default();
                source.defects.push(
                    Problem::error("the file is not UTF-8 text", at..at + '\u{FFFD}'.len_utf8())
                        .label(format!(
                            "byte 0x{byte:02X} at offset {} (line {line})",
                            at + skipped
                        ))
                        .help("save the file as UTF-8 in the editor"),
                );
                source
            }
        }
    }

    /// The name of the file, as it is shown.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text, without byte-order mark.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What keeps the bytes from being read as text at all; empty for a sound file.
    pub fn defects(&self) -> &[Problem] {
        &self.defects
    }

    /// Line and column of a byte offset; offsets beyond the end count as the end.
    pub fn place(&self, offset: usize) -> Place {
        let offset = self.boundary(offset);
        let line = self.lines.partition_point(|start| *start <= offset);
        let start = self.lines[line - 1];
        Place {
            line,
            column: self.text[start..offset].chars().count() + 1,
        }
    }

    /// The bytes of a line (the first is 1) without its end.
    pub(crate) fn line(&self, line: usize) -> Range<usize> {
        let start = self.lines[line - 1];
        let end = self.lines.get(line).copied().unwrap_or(self.text.len());
        start..start + self.text[start..end].trim_end_matches(['\r', '\n']).len()
    }

    /// The nearest character boundary at or before an offset.
    pub(crate) fn boundary(&self, offset: usize) -> usize {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        offset
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places() {
        let source = Source::new("x", "a\r\nbé c\n");
        for (offset, line, column) in [
            (0, 1, 1),
            (1, 1, 2),
            (3, 2, 1),
            (4, 2, 2),
            (5, 2, 2),
            (6, 2, 3),
            (9, 3, 1),
            (99, 3, 1),
        ] {
            assert_eq!(
                source.place(offset),
                Place { line, column },
                "offset {offset}"
            );
        }
        assert_eq!(&source.text[source.line(1)], "a");
        assert_eq!(&source.text[source.line(3)], "");
    }

    #[test]
    fn byte_order_mark_is_dropped() {
        let source = Source::from_bytes("x", b"\xEF\xBB\xBFa = 1");
        assert_eq!(source.text(), "a = 1");
        assert!(source.defects().is_empty());
    }

    #[test]
    fn bytes_that_are_not_text_are_named_with_offset_and_line() {
        let source = Source::from_bytes("x", b"\xEF\xBB\xBFa = 1\nb = \"\xE9t\xE9\"\n");
        assert_eq!(source.text(), "a = 1\nb = \"\u{FFFD}t\u{FFFD}\"\n");
        let [defect] = source.defects() else {
            panic!("one defect is expected")
        };
        assert_eq!(defect.label, "byte 0xE9 at offset 14 (line 2)");
        assert_eq!(
            source.place(defect.span.start),
            Place { line: 2, column: 6 }
        );
    }

    #[test]
    fn huge_files_are_refused() {
        let source = Source::from_bytes("x", &vec![b'#'; 10_000_000]);
        assert_eq!(source.defects()[0].label, "10000000 bytes");
        assert_eq!(source.text(), "");
    }
}
