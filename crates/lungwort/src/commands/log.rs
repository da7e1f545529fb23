//! `lungwort log JOB`: shows the journal of a job and proves its chain, or appends to it.

use std::io::{self, BufRead as _, Write as _};
use std::path::Path;

use journal::{
    BlowerMode, DamperTurned, Entry, Event, Finding, Journal, Reading, Running, Stream, StruckOut,
};
use serde_json::{Value, json};

use crate::canvas::heading;
use crate::command_line::{Blower, Log, Options};
use crate::log;
use crate::outcome::{Failure, Outcome, coloured};
use crate::set_up::NARROW;
use crate::text::{WIDTH, ascii, item};

/// Shows the journal, or appends what is asked for.
pub fn run(asked: &Log, options: &Options) -> Result<Outcome, Failure> {
    if !asked.job.is_file() {
        return Err(Failure::message(
            format!("there is no job file {}", asked.job.display()),
            "the journal lies beside the job; name the job",
        ));
    }
    let path = log::path_of(&asked.job);
    if asked.lines {
        return lines(&path, asked, options);
    }
    let events = events(asked)?;
    if events.is_empty() {
        let journal = log::read(&path)?;
        return Ok(shown(&path, &journal, options));
    }
    let who = who(asked, &log::read(&path)?);
    let mut kept = Vec::new();
    for event in events {
        kept.push(log::append(&path, &who, asked.time.as_deref(), event)?);
    }
    if options.json {
        return Ok(Outcome::json(&json!({ "kept": kept }), true));
    }
    let text: String = kept.iter().map(wrapped).collect();
    Ok(Outcome::yes(text))
}

/// Who writes: as asked for, otherwise who wrote last.
fn who(asked: &Log, journal: &Journal) -> String {
    asked.who.clone().unwrap_or_else(|| {
        let last = journal.entries().next_back();
        last.map_or_else(String::new, |entry| entry.who.clone())
    })
}

/// What is to be appended.
fn events(asked: &Log) -> Result<Vec<Event>, Failure> {
    let mut events = Vec::new();
    let note = asked.note.clone().unwrap_or_default();
    if let Some(entry) = asked.strike_out {
        let reason = asked.reason.clone().unwrap_or_default();
        if reason.trim().is_empty() {
            return Err(Failure::message(
                format!("entry {entry} is struck out without a reason"),
                "say why with --reason, for instance --reason \"hoses exchanged\"",
            ));
        }
        events.push(Event::StruckOut(StruckOut { entry, reason }));
    }
    if let (Some(damper), Some(to)) = (asked.damper, &asked.to) {
        events.push(Event::Damper(DamperTurned {
            damper: damper.into(),
            to: to.clone(),
            note: note.clone(),
        }));
    }
    match (&asked.at, &asked.value) {
        (Some(at), Some(value)) => events.push(Event::Reading(reading(asked, at, value))),
        (None, None) => match (asked.blower, &asked.setting) {
            (Some(blower), Some(setting)) => events.push(Event::Running(Running {
                blower: blower_mode(blower),
                setting: setting.clone(),
            })),
            (None, None) => {}
            _ => {
                return Err(Failure::message(
                    "only one of --blower and --setting is given",
                    "say both: what the blower does, and the setting of the ventilator",
                ));
            }
        },
        _ => {
            return Err(Failure::message(
                "only one of --at and --value is given",
                "a reading needs both, for instance --at \"supply station\" --value \"0.21 inWC\"",
            ));
        }
    }
    if events.is_empty() && !note.is_empty() {
        events.push(Event::Note { text: note });
    }
    Ok(events)
}

fn reading(asked: &Log, at: &str, value: &str) -> Reading {
    Reading {
        at: at.trim().to_owned(),
        value: value.trim().to_owned(),
        blower: asked.blower.map(blower_mode),
        setting: asked.setting.clone().unwrap_or_default(),
        supply_damper: asked.supply_damper.clone().unwrap_or_default(),
        extract_damper: asked.extract_damper.clone().unwrap_or_default(),
        instrument: asked.instrument.clone().unwrap_or_default(),
        note: asked.note.clone().unwrap_or_default(),
        photo: asked.photo.clone().unwrap_or_default(),
    }
}

fn blower_mode(blower: Blower) -> BlowerMode {
    match blower {
        Blower::Off => BlowerMode::Off,
        Blower::Low => BlowerMode::Low,
        Blower::Heating => BlowerMode::Heating,
        Blower::Cooling => BlowerMode::Cooling,
    }
}

/// Appends every line `STATION = VALUE` of the standard input as a reading, and confirms each when
/// it is safe.
fn lines(path: &Path, asked: &Log, options: &Options) -> Result<Outcome, Failure> {
    let who = who(asked, &log::read(path)?);
    let mut refused = 0;
    for line in io::stdin().lock().lines() {
        let line = line.map_err(|error| {
            Failure::message(format!("cannot read the standard input: {error}"), "")
        })?;
        if line.trim().is_empty() {
            continue;
        }
        let answer = match line.rsplit_once('=') {
            Some((at, value)) => {
                let event = Event::Reading(reading(asked, at, value));
                let entry = log::append(path, &who, asked.time.as_deref(), event)?;
                if options.json {
                    format!("{}\n", json!({ "kept": [entry] }))
                } else {
                    confirmation(&entry)
                }
            }
            None => {
                // What was typed is kept all the same.
                refused += 1;
                let entry = log::append(path, &who, None, Event::Note { text: line.clone() })?;
                format!(
                    "kept as entry {}, but only as a note: a reading is written STATION = VALUE\n",
                    entry.number
                )
            }
        };
        let answer = if options.ascii() {
            ascii(&answer)
        } else {
            answer
        };
        let mut out = io::stdout().lock();
        if out
            .write_all(answer.as_bytes())
            .and_then(|()| out.flush())
            .is_err()
        {
            break;
        }
    }
    Ok(Outcome::new("", refused == 0))
}

/// Says that an entry is safe, in lines of a small terminal.
pub fn wrapped(entry: &Entry) -> String {
    item("", confirmation(entry).trim_end(), NARROW)
}

/// Says that an entry is safe, in one line.
fn confirmation(entry: &Entry) -> String {
    format!("kept as entry {}: {}\n", entry.number, entry.event.words())
}

fn shown(path: &Path, journal: &Journal, options: &Options) -> Outcome {
    let whole = journal.is_whole();
    if options.json {
        return Outcome::json(&object(path, journal), whole);
    }
    if journal.lines().is_empty() {
        return Outcome::yes(format!(
            "There is nothing in {} yet. `lungwort balance` writes it, or `lungwort log JOB --at STATION --value READING`.\n",
            path.display()
        ));
    }
    let struck = journal.struck_out();
    let mut text = heading(&format!("Journal {}", path.display()), coloured());
    for entry in journal.entries() {
        let mark = match struck.get(&entry.number) {
            Some(reason) => format!(" [struck out: {reason}]"),
            None => String::new(),
        };
        let who = if entry.who.is_empty() {
            String::new()
        } else {
            format!(" ({})", entry.who)
        };
        let first = format!("{:>4}  {}  ", entry.number, short_time(&entry.time));
        let line = format!("{}{who}{mark}", entry.event.words());
        text.push_str(&item(&first, &line, WIDTH));
    }
    text.push('\n');
    if whole {
        text.push_str(&item(
            "",
            &format!(
                "Every line is what it was when the next one was written. The hash of the last one is {}; who has kept it elsewhere can prove that nothing was changed since.",
                journal.last_hash()
            ),
            WIDTH,
        ));
    }
    for finding in journal.findings() {
        text.push_str(&item("  • ", &finding.text(), WIDTH));
    }
    Outcome::new(text, whole)
}

/// Date and hour as they were at the place.
fn short_time(time: &str) -> String {
    let short: String = time.chars().take(16).collect();
    short.replace('T', " ")
}

fn object(path: &Path, journal: &Journal) -> Value {
    let struck = journal.struck_out();
    let entries: Vec<Value> = journal
        .entries()
        .map(|entry| {
            let mut value = serde_json::to_value(entry).unwrap_or_default();
            value["struck_out"] = struck.get(&entry.number).copied().into();
            value
        })
        .collect();
    json!({
        "journal": path.display().to_string(),
        "whole": journal.is_whole(),
        "last_hash": journal.last_hash(),
        "findings": findings(journal.findings()),
        "entries": entries,
    })
}

/// What is odd, for programs.
pub fn findings(findings: &[Finding]) -> Vec<Value> {
    findings
        .iter()
        .map(|finding| {
            json!({
                "line": finding.line,
                "breaks_chain": finding.breaks_chain(),
                "text": finding.text(),
            })
        })
        .collect()
}

impl From<crate::command_line::Damper> for Stream {
    fn from(damper: crate::command_line::Damper) -> Self {
        match damper {
            crate::command_line::Damper::Supply => Self::Supply,
            crate::command_line::Damper::Extract => Self::Extract,
        }
    }
}
