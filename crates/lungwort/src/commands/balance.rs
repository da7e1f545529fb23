//! `lungwort balance JOB`: from readings to the damper to turn, until rate and balance are proven.

use std::io;
use std::path::Path;

use balancing::Standing;
use house::model::Job;
use journal::{Finding, Journal, Trouble};
use plan::candidate::Plan;

use crate::command_line::{Balance, Options};
use crate::commands::log::findings;
use crate::dialogue::Dialogue;
use crate::job::{self, Usable};
use crate::log;
use crate::outcome::{Failure, Outcome, coloured};
use crate::readings;
use crate::report::Page;
use crate::set_up::{self, NARROW, Sheet};

/// Asks for readings, or looks at those of a file or of the journal.
pub fn run(asked: &Balance, options: &Options) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(&asked.job)?;
    let plan = set_up::plan_of(&job, asked.plan, options)?;
    let path = log::path_of(&asked.job);
    let journal = match &asked.readings {
        Some(file) => {
            let written = readings::read(file)?;
            if asked.keep {
                keep(&path, &written, asked.who.as_deref())?;
                log::read(&path)?
            } else {
                readings::as_journal(&written)
            }
        }
        None => log::read(&path)?,
    };
    if asked.readings.is_none() && !asked.status && !options.json {
        let dialogue = Dialogue {
            job: &job,
            plan: &plan,
            path: &path,
            who: asked.who.clone(),
            options,
            input: io::stdin().lock(),
            output: io::stdout().lock(),
        };
        let done = dialogue.run()?;
        return Ok(Outcome::new("", done).with_notes(notes));
    }
    let mut outcome = looked_at(&asked.job, &job, &plan, &journal, options)?;
    if options.json {
        outcome.0["name"] = job.name.clone().into();
        outcome.0["problems"] = problems;
        return Ok(Outcome::json(&outcome.0, outcome.2));
    }
    Ok(Outcome::new(outcome.1, outcome.2).with_notes(notes))
}

/// Appends what a file says to the journal of the job.
fn keep(path: &Path, written: &readings::Written, who: Option<&str>) -> Result<(), Failure> {
    let journal = log::read(path)?;
    for (stamp, event) in balancing::continued(&written.events, &journal) {
        let who = who.unwrap_or(&stamp.who);
        let time = Some(stamp.time.as_str()).filter(|time| !time.is_empty());
        log::append(path, who, time, event)?;
    }
    Ok(())
}

/// How a journal stands, as JSON and as text, and whether all is done.
fn looked_at(
    path: &Path,
    job: &Job,
    plan: &Plan,
    journal: &Journal,
    options: &Options,
) -> Result<(serde_json::Value, String, bool), Failure> {
    let day = set_up::day(job, plan, journal, options)?;
    let standing = Standing::of(&day, None).map_err(set_up::refused)?;
    let page = Page {
        job,
        figures: set_up::figures(job, options),
        coloured: coloured(),
    };
    let sheet = Sheet {
        page,
        day: &day,
        standing: &standing,
        remarks: &set_up::remarks(&day, journal, path),
        width: NARROW,
    };
    let odd = odd(journal);
    let mut object = sheet.object();
    object["journal_findings"] = findings(&odd).into();
    let mut text = sheet.text();
    if !odd.is_empty() {
        text.push('\n');
        text.push_str(&page.heading("The journal"));
        for finding in &odd {
            text.push_str(&crate::text::item("  • ", &finding.text(), NARROW));
        }
    }
    Ok((object, text, standing.is_done()))
}

/// What is odd in a journal. In a day that is written by hand a step need not have a time.
pub fn odd(journal: &Journal) -> Vec<Finding> {
    journal
        .findings()
        .iter()
        .filter(|finding| finding.trouble != Trouble::BadTime(String::new()))
        .cloned()
        .collect()
}
