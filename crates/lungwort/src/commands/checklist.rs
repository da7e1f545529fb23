//! `lungwort checklist JOB`: what has to be looked at on the set-up day, and how it ended.

use std::path::Path;

use balancing::checklist::{
    COMBUSTION, Checked, WORKSHEET, burning, checked, items, nothing_to_test, tests,
};
use balancing::record::{check_objects, test_objects};
use house::model::Job;
use journal::{CheckResult, Combustion, Entry, Event, ItemChecked, Journal};
use serde_json::json;

use crate::command_line::{Checklist, Ended, Options};
use crate::commands::log::wrapped;
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
        let remarks = remarks_on(&job, &log::read(&path)?, &asked.job, &kept);
        if options.json {
            let object = json!({ "kept": kept, "remarks": remarks });
            return Ok(Outcome::json(&object, true));
        }
        let mut text: String = kept.iter().map(wrapped).collect();
        for remark in &remarks {
            text.push_str(&item("  ! ", remark, NARROW));
        }
        if asked.combustion.is_some() {
            text.push_str(&item("", COMBUSTION, NARROW));
        }
        return Ok(Outcome::yes(text).with_notes(notes));
    }
    let list = list(&job, &plan, &before, options)?;
    let remarks = remarks(&job, &plan, &before, &asked.job, options)?;
    let done = list.iter().all(|one| one.open().is_none());
    if options.json {
        let object = json!({
            "name": job.name,
            "problems": problems,
            "done": done,
            "checks": check_objects(&list),
            "combustion_tests": test_objects(&job, &before),
            "remarks": remarks,
        });
        return Ok(Outcome::json(&object, done));
    }
    Ok(Outcome::new(text(page, &list, &remarks), done).with_notes(notes))
}

/// What is to be said beside the list: calibrations, photos, combustion tests.
pub fn remarks(
    job: &Job,
    plan: &plan::candidate::Plan,
    journal: &Journal,
    path: &Path,
    options: &Options,
) -> Result<Vec<String>, Failure> {
    let day = set_up::day(job, plan, journal, options)?;
    let mut remarks = set_up::remarks(&day, journal, path);
    let entries: Vec<&Entry> = journal.entries().collect();
    let struck = journal.struck_out();
    remarks.extend(
        tests(job, &entries, &|entry| struck.contains_key(&entry))
            .iter()
            .flat_map(|tested| tested.remarks())
            .map(|remark| remark.text),
    );
    Ok(remarks)
}

/// What is to be said of entries that were just kept.
fn remarks_on(job: &Job, journal: &Journal, path: &Path, kept: &[Entry]) -> Vec<String> {
    let entries: Vec<&Entry> = journal.entries().collect();
    let struck = journal.struck_out();
    let tests = tests(job, &entries, &|entry| struck.contains_key(&entry));
    let of_tests = tests.iter().flat_map(|tested| tested.remarks());
    set_up::photos(journal, path)
        .into_iter()
        .chain(of_tests)
        .filter(|remark| kept.iter().any(|entry| entry.number == remark.entry))
        .map(|remark| remark.text)
        .collect()
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
        draft: text(&asked.draft),
        carbon_monoxide: text(&asked.carbon_monoxide),
        room_carbon_monoxide: text(&asked.room_carbon_monoxide),
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

fn text(page: Page<'_>, list: &[Checked], remarks: &[String]) -> String {
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
        let result = one.result.map_or("", CheckResult::name).to_owned();
        let photo = match one.photo.as_str() {
            "" => String::new(),
            photo => format!("photo {photo}"),
        };
        let told: Vec<String> = [result, one.because.clone(), photo]
            .into_iter()
            .filter(|part| !part.is_empty())
            .collect();
        if !told.is_empty() {
            text.push_str(&item("    = ", &told.join(", "), NARROW));
        }
    }
    if !remarks.is_empty() {
        text.push('\n');
        text.push_str(&page.heading("Look at"));
        for remark in remarks {
            text.push_str(&item("  • ", remark, NARROW));
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
