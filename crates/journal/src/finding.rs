//! What is odd in a journal.

/// What is odd.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// The line was cut off while it was written, as by a power cut; what follows does not build on
    /// it.
    CutOff,
    /// The line cannot be read although what follows builds on a line here: it was damaged later.
    Damaged(String),
    /// The line is not what it was when the one after it was written.
    Changed,
    /// Lines between this one and the one before are missing.
    Missing {
        /// Number of the entry before the gap, 0 at the beginning.
        after: u64,
        /// Number of this entry.
        before: u64,
    },
    /// This line and those down to the given line were put in, or moved here, afterwards.
    PutIn {
        /// Last line of them.
        to: usize,
    },
    /// The number was used before.
    DuplicateNumber(u64),
    /// The clock stands before that of an earlier entry.
    ClockWentBack,
    /// The time has no zone or is none.
    BadTime(String),
    /// An event of a later version: kept, and passed over.
    UnknownEvent(String),
    /// The entry strikes out an entry that is not before it.
    StrikesNothing(u64),
    /// Lines end as on another system, or the file begins with a mark of its encoding: another
    /// program has saved it.
    ForeignLineEndings,
}

/// Something odd in a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The line, from 1.
    pub line: usize,
    /// What.
    pub trouble: Trouble,
}

impl Finding {
    /// Whether it shows that what was written is no longer what stands there.
    pub fn breaks_chain(&self) -> bool {
        matches!(
            self.trouble,
            Trouble::Changed
                | Trouble::Missing { .. }
                | Trouble::PutIn { .. }
                | Trouble::Damaged(_)
        )
    }

    /// The same in a sentence.
    pub fn text(&self) -> String {
        let line = self.line;
        match &self.trouble {
            Trouble::CutOff => format!(
                "Line {line} is no whole entry, as when the power fails while it is written. Nothing after it builds on it; it is kept and passed over."
            ),
            Trouble::Damaged(why) => format!(
                "Line {line} was damaged after it was written and cannot be read: {why}. It is passed over."
            ),
            Trouble::Changed => format!(
                "Line {line} was changed after it was written: its hash is not the one that the next line carries."
            ),
            Trouble::Missing { after: 0, before } => format!(
                "The journal begins at line {line} with entry {before}: what stood before it was removed."
            ),
            Trouble::Missing { after, before } => format!(
                "Lines are missing before line {line}: entry {before} follows entry {after}."
            ),
            Trouble::PutIn { to } if *to == line => {
                format!("Line {line} was put in, or moved there, afterwards.")
            }
            Trouble::PutIn { to } => {
                format!("Lines {line} to {to} were put in, or moved there, afterwards.")
            }
            Trouble::DuplicateNumber(number) => format!(
                "Line {line} has the number {number}, which another entry has already. Both are kept; a strike-out of {number} means the first."
            ),
            Trouble::ClockWentBack => format!(
                "The time in line {line} lies before that of an earlier entry: look at the clock. The order of the lines counts."
            ),
            Trouble::BadTime(time) => format!(
                "Line {line} has the time \"{time}\", which is no date with hour and zone like 2026-05-12T09:14:03-05:00."
            ),
            Trouble::UnknownEvent(event) => format!(
                "Line {line} has the event \"{event}\", which this version does not know. It is kept and passed over."
            ),
            Trouble::StrikesNothing(entry) => {
                format!("Line {line} strikes out entry {entry}, which does not stand before it.")
            }
            Trouble::ForeignLineEndings => format!(
                "Another program has saved the journal with other line endings (from line {line}). What the lines say is unchanged."
            ),
        }
    }
}
