//! A day that was written down by hand: steps in TOML.

use diagnostics::{Problem, Problems, Source, nearest};
use journal::{
    BlowerMode, CheckResult, DamperTurned, Event, ItemChecked, Journal, Reading, Running, Stamp,
    Stream, StruckOut, Visit,
};
use serde::Deserialize;

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

/// The keys of a file and of its steps.
const KEYS: [&str; 18] = [
    "who",
    "outdoor",
    "indoor",
    "step",
    "time",
    "at",
    "value",
    "blower",
    "setting",
    "instrument",
    "damper",
    "to",
    "strike_out",
    "reason",
    "check",
    "result",
    "photo",
    "note",
];

/// Reads a day: what happened in its order, each with who and when (both may be empty), beginning
/// with the set-up itself.
///
/// # Errors
/// All that is wrong in the text, with its place.
pub fn written_day(source: &Source) -> Result<Vec<(Stamp, Event)>, Box<Problems>> {
    let mut problems = Problems::new(source.clone());
    if problems.have_errors() || !source.defects().is_empty() {
        return Err(Box::new(problems));
    }
    let file: DayFile = match toml::from_str(source.text()) {
        Ok(file) => file,
        Err(error) => {
            let message = error.message();
            let unknown = message
                .strip_prefix("unknown field `")
                .and_then(|rest| rest.split_once('`'));
            let span = error.span().unwrap_or(0..0);
            problems.push(match unknown {
                Some((key, _)) => {
                    let title = format!("a file of readings has no key \"{key}\" here");
                    let near = nearest(key, KEYS).map(|near| format!("did you mean {near}?"));
                    Problem::error(title, span)
                        .help(near.unwrap_or_else(|| format!("known are {}", KEYS.join(", "))))
                }
                None => Problem::error(format!("these readings cannot be used: {message}"), span)
                    .help("the keys of a file of readings stand in docs/balancing.md"),
            });
            return Err(Box::new(problems));
        }
    };
    let first = file.step.first().map_or("", |step| &step.get_ref().time);
    let begun = Event::SetUp(Visit {
        outdoor: file.outdoor.clone(),
        indoor: file.indoor.clone(),
        ..Visit::default()
    });
    let mut events = vec![(Stamp::new(first, &file.who), begun)];
    for step in &file.step {
        match event(step.get_ref()) {
            Ok(event) => events.push((Stamp::new(&step.get_ref().time, &file.who), event)),
            Err((title, help)) => {
                problems.push(Problem::error(title, step.span()).help(help));
            }
        }
    }
    if problems.have_errors() {
        return Err(Box::new(problems));
    }
    Ok(events)
}

/// The same events to be appended to a journal: entries that are struck out are counted from its end,
/// and a day that it has begun already is not begun again unless the weather is given anew.
pub fn continued(events: &[(Stamp, Event)], journal: &Journal) -> Vec<(Stamp, Event)> {
    let mut before = journal
        .entries()
        .map(|entry| entry.number)
        .max()
        .unwrap_or(0);
    let begun = journal
        .entries()
        .any(|entry| matches!(entry.event, Event::SetUp(_) | Event::Revisit(_)));
    let mut events = events.to_vec();
    if let (true, Some((_, Event::SetUp(visit)))) = (begun, events.first())
        && visit.outdoor.is_empty()
        && visit.indoor.is_empty()
    {
        events.remove(0);
        before -= 1;
    }
    for (_, event) in &mut events {
        if let Event::StruckOut(struck) = event {
            struck.entry += before;
        }
    }
    events
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
