//! A day written down in a file: steps in TOML, or a journal.

use std::path::Path;

use diagnostics::{Problem, Problems, Source};
use journal::{
    BlowerMode, CheckResult, DamperTurned, Event, ItemChecked, Journal, Reading, Running, Stamp,
    Stream, StruckOut, Visit,
};
use serde::Deserialize;

use crate::files;
use crate::log;
use crate::outcome::Failure;

/// A day as it is written by hand.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct DayFile {
    /// Who reads.
    #[serde(default)]
    who: String,
    /// Outdoor temperature.
    #[serde(default)]
    outdoor: String,
    /// Indoor temperature.
    #[serde(default)]
    indoor: String,
    /// What happened, in order.
    #[serde(default)]
    step: Vec<toml::Spanned<Step>>,
}

/// One thing that happened. Which one is told by its keys.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Step {
    #[serde(default)]
    time: String,
    #[serde(default)]
    at: String,
    #[serde(default)]
    value: String,
    blower: Option<BlowerMode>,
    #[serde(default)]
    setting: String,
    #[serde(default)]
    instrument: String,
    damper: Option<Stream>,
    #[serde(default)]
    to: String,
    strike_out: Option<u64>,
    #[serde(default)]
    reason: String,
    check: Option<String>,
    result: Option<CheckResult>,
    #[serde(default)]
    photo: String,
    #[serde(default)]
    note: String,
}

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
    let mut problems = Problems::new(source.clone());
    if problems.have_errors() || !source.defects().is_empty() {
        return Err(Failure::Problems(Box::new(problems)));
    }
    let file: DayFile = match toml::from_str(source.text()) {
        Ok(file) => file,
        Err(error) => {
            let title = format!("these readings cannot be used: {}", error.message());
            problems.push(
                Problem::error(title, error.span().unwrap_or(0..0))
                    .help("docs/balancing.md describes the keys of a file of readings"),
            );
            return Err(Failure::Problems(Box::new(problems)));
        }
    };
    let mut events = vec![(
        Stamp::new(
            file.step.first().map_or("", |step| &step.get_ref().time),
            &file.who,
        ),
        Event::SetUp(Visit {
            outdoor: file.outdoor.clone(),
            indoor: file.indoor.clone(),
            ..Visit::default()
        }),
    )];
    for step in &file.step {
        match event(step.get_ref()) {
            Ok(event) => events.push((Stamp::new(&step.get_ref().time, &file.who), event)),
            Err((title, help)) => {
                problems.push(Problem::error(title, step.span()).help(help));
            }
        }
    }
    if problems.have_errors() {
        return Err(Failure::Problems(Box::new(problems)));
    }
    Ok(Written {
        events,
        journal: None,
    })
}

/// What a step says.
fn event(step: &Step) -> Result<Event, (String, String)> {
    let empty = |text: &str| text.trim().is_empty();
    if step.strike_out == Some(0) {
        return Err((
            "there is no step 0 to be struck out".into(),
            "steps are counted from 1, in their order in the file".into(),
        ));
    }
    if let Some(entry) = step.strike_out {
        if empty(&step.reason) {
            return Err((
                format!("step {entry} is struck out without a reason"),
                "add reason = \"...\"".into(),
            ));
        }
        // The beginning of the day is entry 1, so that step n is entry n + 1.
        return Ok(Event::StruckOut(StruckOut {
            entry: entry + 1,
            reason: step.reason.clone(),
        }));
    }
    if let Some(damper) = step.damper {
        if empty(&step.to) {
            return Err((
                "a damper is turned, but not to where".into(),
                "add to = \"35 deg\", its angle from open by the mark".into(),
            ));
        }
        return Ok(Event::Damper(DamperTurned {
            damper,
            to: step.to.clone(),
            note: step.note.clone(),
        }));
    }
    if let Some(item) = &step.check {
        return Ok(Event::Checked(ItemChecked {
            item: item.clone(),
            result: step.result.unwrap_or(CheckResult::Good),
            note: step.note.clone(),
            photo: step.photo.clone(),
        }));
    }
    match (empty(&step.at), empty(&step.value)) {
        (false, false) => Ok(Event::Reading(Reading {
            at: step.at.clone(),
            value: step.value.clone(),
            blower: step.blower,
            setting: step.setting.clone(),
            instrument: step.instrument.clone(),
            photo: step.photo.clone(),
            note: step.note.clone(),
            ..Reading::default()
        })),
        (true, true) => match (step.blower, empty(&step.setting)) {
            (Some(blower), false) => Ok(Event::Running(Running {
                blower,
                setting: step.setting.clone(),
            })),
            (None, true) if !empty(&step.note) => Ok(Event::Note {
                text: step.note.clone(),
            }),
            (None, true) => Err((
                "this step says nothing".into(),
                "give at and value, damper and to, blower and setting, strike_out and reason, check and result, or a note".into(),
            )),
            _ => Err((
                "only one of blower and setting is given".into(),
                "a change of what runs says both".into(),
            )),
        },
        _ => Err((
            "a reading needs both at and value".into(),
            "like at = \"supply station\" and value = \"0.214 inWC\"".into(),
        )),
    }
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
