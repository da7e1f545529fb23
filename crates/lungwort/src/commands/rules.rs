//! `lungwort rules`: the rules as rows, with whose they are and how well they are known.

use std::fmt::Write as _;
use std::path::Path;
use units::text::capital;

use rules::{Row, RuleBook, RuleSet, Subject, rows};
use serde_json::{Value, json};
use units::System;

use crate::canvas::heading;
use crate::command_line::Options;
use crate::job::{self, Usable};
use crate::outcome::{Failure, Outcome, coloured};
use crate::text::item;

/// Lists the rows of a job, of a subject and of a set; all where nothing is asked for.
pub fn run(
    path: Option<&Path>,
    subject: Option<&str>,
    set: Option<&str>,
    options: &Options,
) -> Result<Outcome, Failure> {
    let subject = subject.map(known_subject).transpose()?;
    let set = set.map(known_set).transpose()?;
    let usable = path.map(job::usable).transpose()?;
    let book = usable.as_ref().map(|usable| &usable.job.rules);
    let system = match &usable {
        Some(usable) => job::system(&usable.job, options),
        None => options.units.map_or(System::Ip, System::from),
    };
    let chosen = || {
        rows().filter(move |row| {
            subject.is_none_or(|subject| row.subject == subject)
                && set.is_none_or(|set| row.sets.contains(&set))
                && book.is_none_or(|book| book.contains(row))
        })
    };
    let overridden = |row: &'static Row| book.and_then(|book| replaced(book, row, system));
    if options.json {
        let list: Vec<Value> = chosen()
            .map(|row| {
                json!({
                    "rule": row.id,
                    "subject": row.subject.name(),
                    "applies_to": row.applies_to,
                    "demand": row.demand,
                    "limit": row.limit.map(|limit| limit.show(system)),
                    "limit_si": row.limit.map(|limit| limit.value),
                    "measured": row.measured,
                    "exception": row.exception,
                    "remedy": row.remedy,
                    "authority": row.authority,
                    "edition": row.edition,
                    "confidence": row.confidence.name(),
                    "decides": row.decides(),
                    "overridden": overridden(row),
                    "sets": row.sets.iter().map(|set| set.name()).collect::<Vec<_>>(),
                })
            })
            .collect();
        return Ok(Outcome::json(&Value::Array(list), true));
    }
    let mut text = String::new();
    let mut count = 0;
    for subject in Subject::ALL {
        let mut some = chosen().filter(|row| row.subject == subject).peekable();
        if some.peek().is_none() {
            continue;
        }
        text.push_str(&heading(&capital(subject.name()), coloured()));
        for row in some {
            count += 1;
            let limit = row
                .limit
                .map_or(String::new(), |limit| format!(": {}", limit.show(system)));
            text.push_str(&item(
                "  • ",
                &format!(
                    "{}{limit}. For {}. {}",
                    capital(row.id),
                    row.applies_to,
                    row.demand
                ),
                100,
            ));
            if let Some(words) = overridden(row) {
                text.push_str(&item("    ", &format!("In this job: {words}"), 100));
            }
            for (words, more) in [
                ("Measured", row.measured),
                ("Except", row.exception),
                ("Else", row.remedy),
            ] {
                if !more.is_empty() {
                    text.push_str(&item("    ", &format!("{words}: {more}"), 100));
                }
            }
            let sets: Vec<&str> = row.sets.iter().map(|set| set.name()).collect();
            let words = row.confidence.name();
            let source = row.source();
            // Common practice says so itself.
            let known = if source.starts_with(words) {
                String::new()
            } else {
                format!(" ({words})")
            };
            text.push_str(&item(
                "    ",
                &format!("{source}{known}; sets: {}", sets.join(", ")),
                100,
            ));
        }
        text.push('\n');
    }
    let _ = writeln!(text, "{count} rules.");
    let notes = usable.map(|Usable { notes, .. }| notes);
    Ok(Outcome::yes(text).with_notes(notes.unwrap_or_default()))
}

/// The number that a job puts in place of that of a row, why and by whom.
fn replaced(book: &RuleBook, row: &'static Row, system: System) -> Option<String> {
    let ruling = book
        .ruling(row)
        .filter(|ruling| ruling.overridden.is_some())?;
    Some(format!(
        "{}, {}",
        ruling.limit.show(system),
        ruling.source()
    ))
}

fn known_subject(name: &str) -> Result<Subject, Failure> {
    let found = Subject::ALL
        .into_iter()
        .find(|subject| subject.name().eq_ignore_ascii_case(name));
    found.ok_or_else(|| {
        let names: Vec<&str> = Subject::ALL.into_iter().map(Subject::name).collect();
        Failure::message(
            format!("there is no subject {name:?}"),
            format!("the subjects are {}", names.join(", ")),
        )
    })
}

fn known_set(name: &str) -> Result<RuleSet, Failure> {
    RuleSet::named(name).ok_or_else(|| {
        let names: Vec<&str> = RuleSet::ALL.into_iter().map(RuleSet::name).collect();
        Failure::message(
            format!("there is no rule set {name:?}"),
            format!("the sets are {}", names.join(", ")),
        )
    })
}
