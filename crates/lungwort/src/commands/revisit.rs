//! `lungwort revisit JOB`: what has drifted since the set-up was signed off.

use std::io;
use std::path::Path;
use units::text::signed;

use balancing::revisit::{Again, Compared, again, is_of, words};
use balancing::words::{by_entry, damper_words, plain_shown, shown};
use balancing::{Day, Standing, key};
use commission::Estimate;
use house::model::Job;
use journal::{Event, Journal, Visit};
use plan::candidate::Plan;
use serde_json::{Value, json};

use crate::command_line::{Options, Revisit};
use crate::commands::balance::odd;
use crate::commands::log::{findings, wrapped};
use crate::dialogue::Dialogue;
use crate::job::{self, Usable};
use crate::log;
use crate::outcome::{Failure, Outcome, coloured};
use crate::readings;
use crate::report::Page;
use crate::set_up::{self, NARROW};
use crate::text::{item, left, right};

/// Asks for the readings of a revisit, begins one, or compares its readings with the set-up.
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
            wrapped(&entry),
            item(
                "",
                "Leave the dampers as they stand. Read both stations in each blower mode with `lungwort log JOB --at STATION --value READING --blower MODE`, then call `lungwort revisit JOB --status`.",
                NARROW
            )
        ))
        .with_notes(notes));
    }
    let journal = log::read(&path)?;
    let record = Recorded::of(&job, &plan, &journal, options)?;
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
        let unchanged = dialogue.revisit()?;
        return Ok(Outcome::new("", unchanged).with_notes(notes));
    }
    let journal = match &asked.readings {
        Some(file) => with_file(&path, file, asked)?,
        None => journal,
    };
    let struck = journal.struck_out();
    let begun = journal.entries().any(|entry| {
        matches!(entry.event, Event::Revisit(_)) && !struck.contains_key(&entry.number)
    });
    if !begun {
        return Err(Failure::message(
            "no revisit was begun",
            "call `lungwort revisit JOB` and answer its questions, or give its readings with --readings FILE",
        ));
    }
    let day = set_up::day(&job, &plan, &journal, options)?;
    let Some(visit) = record.visit(&day)? else {
        return Err(Failure::message(
            "the revisit has no reading that can be used",
            "read both stations in one mode at least",
        ));
    };
    let unchanged = visit.comparison.changes.is_empty();
    let remarks = set_up::remarks(&day, &journal, &asked.job);
    let odd = odd(&journal);
    if options.json {
        let mut object = record.object(&day, &visit);
        object["name"] = job.name.clone().into();
        object["problems"] = problems;
        object["remarks"] = remarks.into();
        object["journal_findings"] = findings(&odd).into();
        return Ok(Outcome::json(&object, unchanged));
    }
    let page = Page {
        job: &job,
        figures: set_up::figures(&job, options),
        coloured: coloured(),
    };
    let mut printed = page.heading(&format!("Revisit of {}", job.name));
    for assumed in &day.assumed {
        printed.push_str(&item("", assumed, NARROW));
    }
    for remark in remarks.into_iter().chain(odd.iter().map(|it| it.text())) {
        printed.push_str(&item("  ! ", &remark, NARROW));
    }
    printed.push_str(&record.table(page, &day, &visit));
    printed.push_str(&record.verdict(&day, &visit));
    Ok(Outcome::new(printed, unchanged).with_notes(notes))
}

/// The day of the record, to compare with.
pub struct Recorded {
    day: Day,
    estimate: Estimate,
    /// What is read again.
    pub again: Vec<Again>,
}

impl Recorded {
    /// The day of the set-up that a journal tells of.
    pub fn of(
        job: &Job,
        plan: &Plan,
        journal: &Journal,
        options: &Options,
    ) -> Result<Self, Failure> {
        let day = set_up::first_day(job, plan, journal, options)?;
        if day.taken.is_empty() {
            return Err(Failure::message(
                "the journal holds no set-up to compare with",
                "set the ventilator up with `lungwort balance` first",
            ));
        }
        let estimate = Standing::of(&day, None).map_err(set_up::refused)?.estimate;
        Ok(Self {
            again: again(&day, &estimate),
            day,
            estimate,
        })
    }

    /// A revisit compared with it, if there is anything to compare.
    pub fn visit(&self, day: &Day) -> Result<Option<Compared>, Failure> {
        if !Compared::is_possible(day) {
            return Ok(None);
        }
        Compared::of(&self.estimate, day)
            .map(Some)
            .map_err(set_up::refused)
    }

    /// How the dampers were left, in a sentence.
    pub fn dampers(&self) -> String {
        format!(
            "Leave the dampers as they stand; on the day of the record they were left so: {}.",
            damper_words(&self.day)
        )
    }

    /// What was recorded of a reading, as the rest of a sentence that asks for it.
    pub fn recorded(&self, page: Page<'_>, day: &Day, again: &Again) -> String {
        let value = shown(day, again.wanted.place, again.recorded, page.figures.system);
        if again.was_read {
            format!(" On the day of the record it showed {value}.")
        } else {
            format!(" By the record it showed {value} in the end.")
        }
    }

    /// What each entry of a revisit says by itself, with its number.
    pub fn each(&self, day: &Day, visit: Option<&Compared>) -> Vec<(u64, String)> {
        let told = day.misread.iter().chain(&day.odd);
        let mut list: Vec<(u64, String)> = told.map(|it| (it.entry, it.text.clone())).collect();
        for taken in &day.taken {
            let reading = &day.set_up.readings()[taken.reading];
            let recorded = self.again.iter().find(|again| is_of(reading, again));
            if let Some(surprise) = visit.and_then(|visit| visit.surprise(taken.reading)) {
                let change = recorded.map(|again| reading.value / again.recorded - 1.0);
                list.push((taken.entry, words(surprise, change)));
            } else if let (false, Some(doubt)) = (
                reading.struck_out,
                commission::doubt::at_sight(&day.set_up, taken.reading),
            ) {
                list.push((taken.entry, by_entry(day, &doubt)));
            }
        }
        list
    }

    /// The readings beside what was recorded.
    pub fn table(&self, page: Page<'_>, day: &Day, visit: &Compared) -> String {
        let system = page.figures.system;
        let row = |cells: [&str; 6]| {
            format!(
                "  {} {} {} {} {} {}",
                right(cells[0], 5),
                left(cells[1], 8),
                left(&crate::text::cut(cells[2], 24), 24),
                right(cells[3], 11),
                right(cells[4], 11),
                right(cells[5], 9),
            )
            .trim_end()
            .to_owned()
                + "\n"
        };
        let mut text = row(["entry", "blower", "at", "read", "recorded", "apart"]);
        for taken in &day.taken {
            let reading = &day.set_up.readings()[taken.reading];
            let value = |value| plain_shown(day, reading.place, value, system);
            let recorded = self.again.iter().find(|again| is_of(reading, again));
            let apart = match visit.surprise(taken.reading) {
                Some(surprise) => format!("{} σ", signed(surprise, 1)),
                None if reading.struck_out => "struck out".to_owned(),
                None => "not used".to_owned(),
            };
            text.push_str(&row([
                &taken.entry.to_string(),
                reading.blower.name(),
                &day.set_up.name(reading.place),
                &value(reading.value),
                &recorded.map_or_else(String::new, |again| value(again.recorded)),
                &apart,
            ]));
        }
        for (_, told) in self.told(day) {
            text.push_str(&item("  ! ", &told, NARROW));
        }
        text.push_str("  σ: standard deviations from what the record expects.\n\n");
        text
    }

    /// What has changed.
    pub fn verdict(&self, day: &Day, visit: &Compared) -> String {
        let changes = &visit.comparison.changes;
        if changes.is_empty() {
            let mut text = visit.comparison.text.clone();
            if day.taken.len() < self.again.len() {
                text.push_str(" Not all was read again that the record has.");
            }
            return item("", &text, NARROW);
        }
        changes
            .iter()
            .map(|change| item("  • ", &change.text, NARROW))
            .collect()
    }

    /// Entries that were not understood, are odd, or are not used.
    fn told(&self, day: &Day) -> Vec<(u64, String)> {
        self.each(day, None)
    }

    /// The same for programs.
    fn object(&self, day: &Day, visit: &Compared) -> Value {
        let comparison = &visit.comparison;
        let set_up = &day.set_up;
        let readings: Vec<Value> = day
            .taken
            .iter()
            .map(|taken| {
                let reading = &set_up.readings()[taken.reading];
                let recorded = self.again.iter().find(|again| is_of(reading, again));
                let (key, flow) = key(set_up.shows_flow(reading.place));
                json!({
                    "entry": taken.entry,
                    "at": set_up.name(reading.place),
                    "blower": reading.blower.name(),
                    "setting": reading.setting.name(),
                    "shows_flow": flow,
                    format!("value_{key}"): reading.value,
                    format!("recorded_{key}"): recorded.map(|again| again.recorded),
                    "deviations": visit.surprise(taken.reading),
                    "struck_out": reading.struck_out,
                })
            })
            .collect();
        json!({
            "text": comparison.text,
            "chi_square": comparison.chi_square.0,
            "readings": comparison.chi_square.1,
            "surprises": comparison.surprises,
            "visit": readings,
            "changes": comparison.changes.iter().map(|change| json!({
                "factor": change.factor.value,
                "factor_interval": [change.factor.low, change.factor.high],
                "gain": change.gain,
                "text": change.text,
            })).collect::<Vec<_>>(),
            "doubts": self.told(day).into_iter().map(|(_, text)| text).collect::<Vec<_>>(),
        })
    }
}

/// The journal with the readings of a file behind it: kept on the disk, or only here.
fn with_file(path: &Path, file: &Path, asked: &Revisit) -> Result<Journal, Failure> {
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
    for (stamp, event) in events {
        bytes.extend(Journal::read(&bytes).next(stamp, event).bytes);
    }
    Ok(Journal::read(&bytes))
}
