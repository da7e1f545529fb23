//! Reading a journal, and making its next line.

use std::collections::{BTreeMap, HashMap};

use serde_json::Value;
use sha2::{Digest, Sha256};

use crate::event::{Entry, Event, Stamp};
use crate::finding::{Finding, Trouble};
use crate::time::seconds;

/// What the first line carries in the place of a hash.
const NOTHING_BEFORE: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// SHA-256 of a text in hexadecimal digits.
///
/// ```
/// // FIPS 180-4, example of one block.
/// assert_eq!(
///     journal::hash(b"abc"),
///     "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
/// );
/// ```
pub fn hash(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

/// One line of a journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its place in the file, from 1.
    pub line: usize,
    /// SHA-256 of it, without its ending.
    pub hash: String,
    /// The entry, if it was understood.
    pub entry: Option<Entry>,
}

/// A line to be appended.
#[derive(Debug, Clone, PartialEq)]
pub struct Appended {
    /// The entry.
    pub entry: Entry,
    /// What is to be written to the end of the file, in one piece.
    pub bytes: Vec<u8>,
}

/// A journal as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Journal {
    lines: Vec<Line>,
    findings: Vec<Finding>,
    last_hash: String,
    greatest: u64,
    open_end: bool,
}

/// A line that bears a number and the hash of the one before it.
struct Linked {
    /// Place among the lines of the file, from 1.
    line: usize,
    hash: String,
    number: u64,
    previous: String,
}

impl Journal {
    /// Reads a journal. Whatever the bytes are, nothing is lost and nothing panics: what is odd is
    /// among the [`findings`](Self::findings).
    pub fn read(bytes: &[u8]) -> Self {
        let mut journal = Self {
            lines: Vec::new(),
            findings: Vec::new(),
            last_hash: NOTHING_BEFORE.to_owned(),
            greatest: 0,
            open_end: bytes.last().is_some_and(|last| *last != b'\n'),
        };
        let mut linked: Vec<Linked> = Vec::new();
        // Lines that cannot be read, with the reason and the count of linked lines before them.
        let mut unreadable: Vec<(usize, String, usize)> = Vec::new();
        let mut foreign: Option<usize> = None;
        for (index, raw) in bytes.split(|byte| *byte == b'\n').enumerate() {
            let line = index + 1;
            let mut content = raw;
            if line == 1
                && let Some(rest) = content.strip_prefix(b"\xEF\xBB\xBF")
            {
                content = rest;
                foreign.get_or_insert(line);
            }
            if let Some(rest) = content.strip_suffix(b"\r") {
                content = rest;
                foreign.get_or_insert(line);
            }
            if content.iter().all(u8::is_ascii_whitespace) {
                continue;
            }
            let hash = hash(content);
            match understand(content) {
                Ok((link, entry, unknown)) => {
                    if let Some(event) = unknown {
                        journal.find(line, Trouble::UnknownEvent(event));
                    }
                    linked.push(Linked {
                        line,
                        hash: hash.clone(),
                        number: link.0,
                        previous: link.1,
                    });
                    journal.lines.push(Line { line, hash, entry });
                }
                Err(why) => {
                    unreadable.push((line, why, linked.len()));
                    journal.lines.push(Line {
                        line,
                        hash,
                        entry: None,
                    });
                }
            }
        }
        if let Some(line) = foreign {
            journal.find(line, Trouble::ForeignLineEndings);
        }
        journal.follow_chain(&linked, &unreadable);
        journal.look_at_entries();
        journal.findings.sort_by_key(|finding| finding.line);
        if let Some(last) = linked.last() {
            journal.last_hash.clone_from(&last.hash);
        }
        journal.greatest = linked.iter().map(|link| link.number).max().unwrap_or(0);
        journal
    }

    fn find(&mut self, line: usize, trouble: Trouble) {
        self.findings.push(Finding { line, trouble });
    }

    /// Compares each hash that a line carries with the line before it.
    fn follow_chain(&mut self, linked: &[Linked], unreadable: &[(usize, String, usize)]) {
        let places: HashMap<&str, usize> = linked
            .iter()
            .enumerate()
            .map(|(place, link)| (link.hash.as_str(), place))
            .collect();
        // Places before which an unreadable line was built upon, so that it was whole once.
        let mut damaged_before: Vec<usize> = Vec::new();
        for (place, link) in linked.iter().enumerate() {
            let before = place.checked_sub(1).map(|before| &linked[before]);
            let expected = before.map_or(NOTHING_BEFORE, |before| before.hash.as_str());
            if link.previous == expected {
                continue;
            }
            let after = before.map_or(0, |before| before.number);
            let earlier = places.get(link.previous.as_str()).filter(|at| **at < place);
            if unreadable.iter().any(|(_, _, at)| *at == place) {
                // The line that it builds on is the unreadable one.
                damaged_before.push(place);
            } else if let Some(&earlier) = earlier {
                let first = linked[earlier + 1].line;
                let last = linked[place - 1].line;
                self.find(first, Trouble::PutIn { to: last });
            } else if link.previous == NOTHING_BEFORE && place > 0 {
                let last = linked[place - 1].line;
                self.find(linked[0].line, Trouble::PutIn { to: last });
            } else if link.number == after + 1 && place > 0 {
                self.find(linked[place - 1].line, Trouble::Changed);
            } else if link.number > after + 1 {
                let trouble = Trouble::Missing {
                    after,
                    before: link.number,
                };
                self.find(link.line, trouble);
            } else {
                self.find(link.line, Trouble::PutIn { to: link.line });
            }
        }
        for (line, why, place) in unreadable {
            let trouble = if damaged_before.contains(place) {
                Trouble::Damaged(why.clone())
            } else {
                Trouble::CutOff
            };
            self.find(*line, trouble);
        }
    }

    /// Numbers, clocks and strike-outs.
    fn look_at_entries(&mut self) {
        let mut seen: Vec<u64> = Vec::new();
        let mut latest: Option<i64> = None;
        let mut findings = Vec::new();
        for line in &self.lines {
            let Some(entry) = &line.entry else { continue };
            let mut find = |trouble| {
                findings.push(Finding {
                    line: line.line,
                    trouble,
                });
            };
            if let Event::StruckOut(struck) = &entry.event
                && !seen.contains(&struck.entry)
            {
                find(Trouble::StrikesNothing(struck.entry));
            }
            if seen.contains(&entry.number) {
                find(Trouble::DuplicateNumber(entry.number));
            }
            seen.push(entry.number);
            match seconds(&entry.time) {
                None => find(Trouble::BadTime(entry.time.clone())),
                Some(now) => {
                    if latest.is_some_and(|latest| now < latest) {
                        find(Trouble::ClockWentBack);
                    }
                    latest = latest.max(Some(now));
                }
            }
        }
        self.findings.extend(findings);
    }

    /// All lines that are not empty.
    pub fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// The entries that were understood, struck out or not.
    pub fn entries(&self) -> impl DoubleEndedIterator<Item = &Entry> {
        self.lines.iter().filter_map(|line| line.entry.as_ref())
    }

    /// What is odd, by lines.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// Whether every line is what it was when the next one was written.
    pub fn is_whole(&self) -> bool {
        !self.findings.iter().any(Finding::breaks_chain)
    }

    /// SHA-256 of the last line that can be read: the next one carries it.
    pub fn last_hash(&self) -> &str {
        &self.last_hash
    }

    /// The entries that are struck out, each with the reason that was given last.
    pub fn struck_out(&self) -> BTreeMap<u64, &str> {
        let mut struck = BTreeMap::new();
        for entry in self.entries() {
            if let Event::StruckOut(event) = &entry.event
                && event.entry < entry.number
            {
                struck.insert(event.entry, event.reason.as_str());
            }
        }
        struck
    }

    /// The next entry, with the bytes that are to be appended to what was read: a whole line, on a
    /// line of its own even if the last one was cut off.
    pub fn next(&self, stamp: &Stamp, event: Event) -> Appended {
        let entry = Entry {
            number: self.greatest + 1,
            time: stamp.time.clone(),
            who: stamp.who.clone(),
            event,
            previous: self.last_hash.clone(),
        };
        let mut bytes = Vec::with_capacity(256);
        if self.open_end {
            bytes.push(b'\n');
        }
        // An entry is made of texts and whole numbers only, which JSON can always hold.
        bytes.extend(serde_json::to_vec(&entry).unwrap_or_default());
        bytes.push(b'\n');
        Appended { entry, bytes }
    }
}

/// Number and hash, entry, and the name of an event that is not known.
type Understood = ((u64, String), Option<Entry>, Option<String>);

/// What a line says.
fn understand(content: &[u8]) -> Result<Understood, String> {
    let text = std::str::from_utf8(content).map_err(|_| "it is no text in UTF-8".to_owned())?;
    let value: Value =
        serde_json::from_str(text).map_err(|error| format!("it is no whole JSON: {error}"))?;
    let number = value["number"]
        .as_u64()
        .ok_or("it has no number")
        .map_err(str::to_owned)?;
    let previous = value["previous"]
        .as_str()
        .ok_or("it does not carry the hash of the line before")?
        .to_owned();
    let link = (number, previous);
    let event = value["event"]
        .as_str()
        .ok_or("it does not say what happened")?
        .to_owned();
    // An unknown event, or a known one whose content a later version has changed.
    let entry = serde_json::from_value(value).ok();
    let unknown = entry.is_none().then_some(event);
    Ok((link, entry, unknown))
}
