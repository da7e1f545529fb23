//! `lungwort revisit JOB`: what has drifted since the set-up was signed off.

use balancing::Standing;
use balancing::words::plain_shown;
use commission::drift::compare;
use journal::{Event, Journal, Visit};
use serde_json::json;

use crate::command_line::{Options, Revisit};
use crate::commands::log::confirmation;
use crate::job::{self, Usable};
use crate::log;
use crate::outcome::{Failure, Outcome, coloured};
use crate::readings;
use crate::report::Page;
use crate::set_up::{self, NARROW};
use crate::text::{item, left, right};

/// Begins a revisit, or compares its readings with the set-up.
pub fn run(asked: &Revisit, options: &Options) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(&asked.job)?;
    let plan = set_up::plan_of(&job, asked.plan, options)?;
    let path = log::path_of(&asked.job);
    let text = |value: &Option<String>| value.clone().unwrap_or_default();
    if asked.begin {
        let visit = Event::Revisit(Visit {
            job: job.name.clone(),
            outdoor: text(&asked.outdoor),
            indoor: text(&asked.indoor),
            note: String::new(),
        });
        let entry = log::append(&path, &text(&asked.who), None, visit)?;
        return Ok(Outcome::yes(format!(
            "{}{}",
            confirmation(&entry),
            item(
                "",
                "Leave the dampers as they stand. Read both stations in each blower mode with `lungwort log JOB --at STATION --value READING --blower MODE`, then call `lungwort revisit JOB`.",
                NARROW
            )
        ))
        .with_notes(notes));
    }
    let journal = log::read(&path)?;
    let journal = match &asked.readings {
        Some(file) => with_file(&path, &journal, file, asked)?,
        None => journal,
    };
    let struck = journal.struck_out();
    let begin = journal.entries().rev().find(|entry| {
        matches!(entry.event, Event::Revisit(_)) && !struck.contains_key(&entry.number)
    });
    let Some(begin) = begin.map(|entry| entry.number) else {
        return Err(Failure::message(
            "no revisit was begun",
            "begin it with --begin, or give its readings with --readings FILE",
        ));
    };
    let first = set_up::first_day(&job, &plan, &journal, options)?;
    let record = Standing::of(&first, None)
        .map_err(set_up::refused)?
        .estimate;
    let mut day = first
        .revisited(
            journal.entries().filter(|entry| entry.number >= begin),
            |entry| struck.contains_key(&entry),
        )
        .map_err(set_up::refused)?;
    day.set_up = day.set_up.in_system(job::system(&job, options));
    let comparison = compare(&record, &day.set_up).map_err(set_up::refused)?;
    let unchanged = comparison.changes.is_empty();
    if options.json {
        let object = json!({
            "name": job.name,
            "problems": problems,
            "text": comparison.text,
            "chi_square": comparison.chi_square.0,
            "readings": comparison.chi_square.1,
            "surprises": comparison.surprises,
            "changes": comparison.changes.iter().map(|change| json!({
                "factor": change.factor.value,
                "factor_interval": [change.factor.low, change.factor.high],
                "gain": change.gain,
                "text": change.text,
            })).collect::<Vec<_>>(),
            "misread": day.misread.iter().map(|it| it.text.clone()).collect::<Vec<_>>(),
        });
        return Ok(Outcome::json(&object, unchanged));
    }
    let page = Page {
        job: &job,
        figures: set_up::figures(&job, options),
        coloured: coloured(),
    };
    let system = page.figures.system;
    let mut printed = page.heading(&format!("Revisit of {}", job.name));
    for assumed in &day.assumed {
        printed.push_str(&item("", assumed, NARROW));
    }
    for misread in &day.misread {
        printed.push_str(&item("  ! ", &misread.text, NARROW));
    }
    let usable = day
        .taken
        .iter()
        .map(|taken| {
            (
                taken.entry,
                &day.set_up.readings()[taken.reading],
                taken.reading,
            )
        })
        .filter(|(_, reading, index)| {
            !reading.struck_out
                && commission::doubt::at_sight(&day.set_up, *index).is_none_or(|it| it.used)
        });
    for ((entry, reading, _), surprise) in usable.zip(&comparison.surprises) {
        printed.push_str(&format!(
            "  {} {} {} {}  {} σ from the record\n",
            right(&entry.to_string(), 5),
            left(reading.blower.name(), 8),
            left(&crate::text::cut(&day.set_up.name(reading.place), 24), 24),
            right(&plain_shown(&day, reading.place, reading.value, system), 12),
            crate::figures::signed(*surprise, 1),
        ));
    }
    printed.push('\n');
    if unchanged {
        printed.push_str(&item("", &comparison.text, NARROW));
    }
    for change in &comparison.changes {
        printed.push_str(&item("  • ", &change.text, NARROW));
    }
    Ok(Outcome::new(printed, unchanged).with_notes(notes))
}

/// The journal with the readings of a file behind it: kept on the disk, or only here.
fn with_file(
    path: &std::path::Path,
    journal: &Journal,
    file: &std::path::Path,
    asked: &Revisit,
) -> Result<Journal, Failure> {
    let written = readings::read(file)?;
    let events = written.events.iter().map(|(stamp, event)| match event {
        Event::SetUp(visit) => (stamp, Event::Revisit(visit.clone())),
        event => (stamp, event.clone()),
    });
    if asked.keep {
        for (stamp, event) in events {
            let who = asked.who.as_ref().unwrap_or(&stamp.who);
            let time = Some(stamp.time.as_str()).filter(|time| !time.is_empty());
            log::append(path, who, time, event)?;
        }
        return log::read(path);
    }
    let mut bytes = log::bytes(path)?;
    if journal.lines().is_empty() {
        return Err(Failure::message(
            format!("{} holds no set-up to compare with", path.display()),
            "set the ventilator up with `lungwort balance` first",
        ));
    }
    for (stamp, event) in events {
        bytes.extend(Journal::read(&bytes).next(stamp, event).bytes);
    }
    Ok(Journal::read(&bytes))
}
