//! `lungwort checklist JOB`: what has to be looked at on the set-up day, and how it ended.

use balancing::checklist::{
    COMBUSTION, Checked, WORKSHEET, burning, checked, items, nothing_to_test,
};
use balancing::record::check_objects;
use house::model::Job;
use journal::{CheckResult, Combustion, Entry, Event, ItemChecked, Journal};
use serde_json::json;

use crate::command_line::{Checklist, Ended, Options};
use crate::commands::log::confirmation;
use crate::job::{self, Usable};
use crate::log;
use crate::outcome::{Failure, Outcome, coloured};
use crate::report::Page;
use crate::set_up::{self, NARROW};
use crate::text::item;

/// Prints the list or the worksheet, or keeps the result of an item or of a test.
pub fn run(asked: &Checklist, options: &Options) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(&asked.job)?;
    let plan = set_up::plan_of(&job, asked.plan, options)?;
    let path = log::path_of(&asked.job);
    let page = Page {
        job: &job,
        figures: set_up::figures(&job, options),
        coloured: coloured(),
    };
    if asked.worksheet {
        return Ok(Outcome::yes(worksheet(page)).with_notes(notes));
    }
    let mut kept: Vec<Entry> = Vec::new();
    let before = log::read(&path)?;
    let who = asked.who.clone().unwrap_or_else(|| {
        let last = before.entries().next_back();
        last.map_or_else(String::new, |entry| entry.who.clone())
    });
    if let Some(done) = &asked.done {
        let known = items(&job, &plan);
        if !known.iter().any(|item| item.key == done) {
            let keys: Vec<&str> = known.iter().map(|item| item.key).collect();
            return Err(Failure::message(
                format!("there is no item \"{done}\" on the list of this job"),
                format!("known: {}", keys.join(", ")),
            ));
        }
        let event = Event::Checked(ItemChecked {
            item: done.clone(),
            result: asked.result.unwrap_or(Ended::Good).into(),
            note: asked.note.clone().unwrap_or_default(),
            photo: asked.photo.clone().unwrap_or_default(),
        });
        kept.push(log::append(&path, &who, None, event)?);
    }
    if let Some(appliance) = &asked.combustion {
        kept.push(log::append(
            &path,
            &who,
            None,
            test(&job, appliance, asked)?,
        )?);
    }
    if !kept.is_empty() {
        if options.json {
            return Ok(Outcome::json(&json!({ "kept": kept }), true));
        }
        let text: Vec<String> = kept.iter().map(confirmation).collect();
        return Ok(Outcome::yes(text.concat()).with_notes(notes));
    }
    let list = list(&job, &plan, &before, options)?;
    let done = list.iter().all(|one| {
        matches!(
            one.result,
            Some(CheckResult::Good | CheckResult::NotApplicable)
        )
    });
    if options.json {
        let object = json!({
            "name": job.name,
            "problems": problems,
            "done": done,
            "checks": check_objects(&list),
        });
        return Ok(Outcome::json(&object, done));
    }
    Ok(Outcome::new(text(page, &list), done).with_notes(notes))
}

/// How the list stands by a journal.
pub fn list(
    job: &Job,
    plan: &plan::candidate::Plan,
    journal: &Journal,
    options: &Options,
) -> Result<Vec<Checked>, Failure> {
    let day = set_up::day(job, plan, journal, options)?;
    let entries: Vec<&Entry> = journal.entries().collect();
    let struck = journal.struck_out();
    Ok(checked(job, &day, &entries, &|entry| {
        struck.contains_key(&entry)
    }))
}

/// The values of a test of combustion safety.
fn test(job: &Job, appliance: &str, asked: &Checklist) -> Result<Event, Failure> {
    let known = job
        .appliances
        .iter()
        .find(|known| known.name.eq_ignore_ascii_case(appliance.trim()));
    let Some(known) = known else {
        let names: Vec<&str> = job.appliances.iter().map(|it| it.name.as_str()).collect();
        return Err(Failure::message(
            format!("the job has no appliance \"{appliance}\""),
            format!("known: {}", names.join(", ")),
        ));
    };
    let Some(result) = asked.result else {
        return Err(Failure::message(
            "a combustion test without its result",
            "add --result good or --result not-good, as the tester found",
        ));
    };
    let text = |value: &Option<String>| value.clone().unwrap_or_default();
    Ok(Event::Combustion(Combustion {
        appliance: known.name.clone(),
        tester: text(&asked.tester),
        base_pressure: text(&asked.base_pressure),
        worst_pressure: text(&asked.worst_pressure),
        state: text(&asked.state),
        spillage: text(&asked.spillage),
        carbon_monoxide: text(&asked.carbon_monoxide),
        result: Some(result.into()),
        note: text(&asked.note),
    }))
}

impl From<Ended> for CheckResult {
    fn from(ended: Ended) -> Self {
        match ended {
            Ended::Good => Self::Good,
            Ended::NotGood => Self::NotGood,
            Ended::NotApplicable => Self::NotApplicable,
        }
    }
}

fn text(page: Page<'_>, list: &[Checked]) -> String {
    let mut text = page.heading(&format!("Checks of the set-up day: {}", page.job.name));
    for one in list {
        let mark = match one.result {
            Some(CheckResult::Good) => "[x]",
            Some(CheckResult::NotGood) => "[!]",
            Some(CheckResult::NotApplicable) => "[-]",
            None => "[ ]",
        };
        let mut words = format!("{}: {}", one.item.key, one.item.text);
        if let Some(caution) = one.item.caution {
            words.push(' ');
            words.push_str(caution);
        }
        text.push_str(&item(&format!("{mark} "), &words, NARROW));
        let mut told = one.result.map_or(String::new(), |it| it.name().to_owned());
        for more in [&one.because, &one.photo] {
            if !more.is_empty() {
                if !told.is_empty() {
                    told.push_str(", ");
                }
                told.push_str(more);
            }
        }
        if !told.is_empty() {
            text.push_str(&item("    = ", &told, NARROW));
        }
    }
    text.push('\n');
    text.push_str(&item(
        "",
        "Tick one with --done ITEM, and --result, --note, --photo; a combustion test with --combustion APPLIANCE (--worksheet prints its sheet).",
        NARROW,
    ));
    text
}

/// The sheet for a depressurisation test, to be filled in by who may do it.
fn worksheet(page: Page<'_>) -> String {
    let job = page.job;
    let mut text = page.heading(&format!(
        "Worksheet of the depressurisation test: {}",
        job.name
    ));
    text.push_str(&item("", COMBUSTION, NARROW));
    let appliances = burning(job);
    if appliances.is_empty() {
        text.push_str(&item("", nothing_to_test(job), NARROW));
        return text;
    }
    for (number, step) in WORKSHEET.iter().enumerate() {
        text.push_str(&item(&format!("{:>2}. ", number + 1), step, NARROW));
    }
    text.push('\n');
    for appliance in appliances {
        text.push_str(&format!("  {appliance}\n"));
        text.push_str("    draws after ________ min   draft ________ Pa   CO ________ ppm   good / not good\n");
    }
    text.push_str(
        "\n  Tested by ________________________  licence ______________  date ____________\n\n",
    );
    text.push_str(&item(
        "",
        "Put everything back as it was found. Enter the result with `lungwort checklist JOB --combustion APPLIANCE --worst-pressure \"-2.1 Pa\" --tester NAME --result good`.",
        NARROW,
    ));
    text
}
