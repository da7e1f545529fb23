//! A day written down in a file: steps in TOML, or a journal.

use std::path::Path;

use diagnostics::Source;
use journal::{Event, Journal, Stamp};

use crate::files;
use crate::log;
use crate::outcome::Failure;

/// What a file of readings says.
pub struct Written {
    /// What happened, each with who and when (both may be empty).
    pub events: Vec<(Stamp, Event)>,
    /// The journal itself, if the file is one.
    pub journal: Option<Journal>,
}

/// Reads a file of readings.
pub fn read(path: &Path) -> Result<Written, Failure> {
    let bytes = files::bytes(path)
        .map_err(|why| Failure::message(format!("cannot read {}: {why}", path.display()), ""))?;
    let first = bytes.iter().find(|byte| !byte.is_ascii_whitespace());
    if first.is_none() {
        return Err(Failure::message(
            format!("there is nothing in {}", path.display()),
            "a reading is written [[step]], at = \"supply station\", value = \"0.214 inWC\"; docs/balancing.md describes the rest",
        ));
    }
    if first == Some(&b'{') || path.extension().is_some_and(|it| it == "journal") {
        // A journal may be longer than a file that is written by hand.
        let journal = log::read(path)?;
        let events = journal
            .entries()
            .map(|entry| (Stamp::new(&entry.time, &entry.who), entry.event.clone()))
            .collect();
        return Ok(Written {
            events,
            journal: Some(journal),
        });
    }
    let source = Source::from_bytes(path.display().to_string(), &bytes);
    let events = balancing::written_day(&source).map_err(Failure::Problems)?;
    Ok(Written {
        events,
        journal: None,
    })
}

/// The journal that these events would make, numbered from 1, without the disk.
pub fn as_journal(written: &Written) -> Journal {
    if let Some(journal) = &written.journal {
        return journal.clone();
    }
    let mut bytes = Vec::new();
    for (stamp, event) in &written.events {
        bytes.extend(Journal::read(&bytes).next(stamp, event.clone()).bytes);
    }
    Journal::read(&bytes)
}
