//! `lungwort record JOB`: signs a set-up off, and proves that a record is what was signed.

use std::fs;
use std::path::{Path, PathBuf};
use units::text::{fixed, signed};

use balancing::Standing;
use balancing::record::{self, Signature, open_points};
use balancing::words::sure;
use commission::Damped;
use house::model::Job;
use journal::{Event, Journal, SignedOff, hash};
use plan::candidate::Plan;
use serde_json::{Value, json};
use units::System;

use crate::command_line::{Options, Record};
use crate::commands::checklist;
use crate::files;
use crate::job::{self, Usable};
use crate::log;
use crate::outcome::{Failure, Outcome, coloured};
use crate::report::Page;
use crate::set_up::{self, NARROW};
use crate::text::item;

/// Shows the last record, or signs a new one off.
pub fn run(asked: &Record, options: &Options) -> Result<Outcome, Failure> {
    let Usable { job, notes, .. } = job::usable(&asked.job)?;
    let outcome = if asked.sign {
        sign(asked, &job, options)?
    } else {
        show(&asked.job, job::system(&job, options), options)?
    };
    Ok(outcome.with_notes(notes))
}

/// The record with this number: `JOB.record.json`, `JOB.record-2.json` …
fn path_of(job: &Path, number: usize) -> PathBuf {
    job.with_extension(if number == 1 {
        "record.json".to_owned()
    } else {
        format!("record-{number}.json")
    })
}

/// The records that are there, in order.
fn records(job: &Path) -> Vec<PathBuf> {
    (1..)
        .map(|number| path_of(job, number))
        .take_while(|path| path.exists())
        .collect()
}

fn sign(asked: &Record, job: &Job, options: &Options) -> Result<Outcome, Failure> {
    let who = asked.who.clone().unwrap_or_default();
    if who.trim().is_empty() {
        return Err(Failure::message(
            "a record is signed by somebody",
            "say who with --who NAME",
        ));
    }
    let plan = set_up::plan_of(job, asked.plan, options)?;
    let path = log::path_of(&asked.job);
    let journal = log::read(&path)?;
    if !journal.is_whole() {
        return Err(Failure::message(
            format!("{} is not what was written", path.display()),
            "`lungwort log JOB` names the lines; a record cannot stand on it",
        ));
    }
    let open = open(job, &plan, &journal, options)?;
    let although = asked.although.clone().unwrap_or_default();
    if !open.is_empty() && although.trim().is_empty() {
        return Err(Failure::message(
            open.iter()
                .fold("this set-up is not complete:".to_owned(), |text, point| {
                    text + "\n  • " + point
                }),
            "finish it, or sign it as it is with --although REASON",
        ));
    }
    let number = records(&asked.job).len() + 1;
    // A record that was written just before the power failed is not signed yet: sign that one.
    let unsigned = path_of(&asked.job, number.saturating_sub(1).max(1));
    let again = unsigned.exists() && !is_signed(&unsigned, &journal) && {
        let content = read_json(&unsigned)?;
        content["journal"]["last_hash"] == journal.last_hash()
    };
    let target = if again {
        unsigned
    } else {
        let target = path_of(&asked.job, number);
        let mut object = object(job, &plan, &journal, &although, &who, options)?;
        let day = set_up::day(job, &plan, &journal, options)?;
        object["set_up"]["remarks"] = set_up::remarks(&day, &journal, &asked.job).into();
        files::write(&target, &format!("{object:#}\n"), false)?;
        read_only(&target);
        target
    };
    let sha256 = hash(&read_bytes(&target)?);
    let event = Event::SignedOff(SignedOff {
        record: name(&target),
        sha256: sha256.clone(),
        although: if open.is_empty() {
            String::new()
        } else {
            although
        },
    });
    let entry = log::append(&path, &who, None, event)?;
    if options.json {
        return Ok(Outcome::json(
            &json!({ "record": name(&target), "sha256": sha256, "entry": entry.number }),
            true,
        ));
    }
    Ok(Outcome::yes(item(
        "",
        &format!(
            "Signed off by {who} as {}, entry {} of the journal. Its hash is {sha256}: print it on what you hand out, and nobody can change the record unseen.",
            target.display(),
            entry.number
        ),
        NARROW,
    )))
}

/// What is not as it should be.
fn open(
    job: &Job,
    plan: &Plan,
    journal: &Journal,
    options: &Options,
) -> Result<Vec<String>, Failure> {
    let day = set_up::day(job, plan, journal, options)?;
    let standing = Standing::of(&day, None).map_err(set_up::refused)?;
    let sheet = balancing::Sheet {
        day: &day,
        standing: &standing,
        system: job::system(job, options),
    };
    let checks = checklist::list(job, plan, journal, options)?;
    Ok(open_points(sheet, &checks))
}

fn object(
    job: &Job,
    plan: &Plan,
    journal: &Journal,
    although: &str,
    who: &str,
    options: &Options,
) -> Result<Value, Failure> {
    let day = set_up::day(job, plan, journal, options)?;
    let standing = Standing::of(&day, None).map_err(set_up::refused)?;
    let page = Page {
        job,
        figures: set_up::figures(job, options),
        coloured: false,
    };
    let as_set = Plan {
        supply_damper: day.angle(Damped::Supply),
        extract_damper: day.angle(Damped::Extract),
        ..plan.clone()
    };
    let sheet = balancing::Sheet {
        day: &day,
        standing: &standing,
        system: page.figures.system,
    };
    let signature = Signature {
        who,
        time: &log::now(),
        although,
        plan: &page.plan_words(&as_set),
    };
    let checks = checklist::list(job, plan, journal, options)?;
    Ok(record::object(sheet, journal, &checks, signature))
}

fn show(job: &Path, system: System, options: &Options) -> Result<Outcome, Failure> {
    let journal = log::read(&log::path_of(job))?;
    let records = records(job);
    let Some(path) = records.last() else {
        return Err(Failure::message(
            format!("{} has no record yet", job.display()),
            "sign one off with --sign --who NAME when the set-up is done",
        ));
    };
    let record = read_json(path)?;
    let signed = is_signed(path, &journal);
    let stands_on = journal.lines().iter().any(|line| {
        record["journal"]["last_hash"]
            .as_str()
            .is_some_and(|hash| line.hash == hash)
    });
    let whole = journal.is_whole();
    let good = signed && stands_on && whole;
    if options.json {
        let object = json!({
            "file": path.display().to_string(),
            "signed": signed,
            "journal_whole": whole,
            "journal_has_its_last_line": stands_on,
            "record": record,
        });
        return Ok(Outcome::json(&object, good));
    }
    let mut text = crate::canvas::heading(&format!("Record {}", path.display()), coloured());
    let word = |key: &str| record[key].as_str().unwrap_or_default().to_owned();
    text.push_str(&item(
        "",
        &format!("{}. {}", word("name"), word("plan")),
        NARROW,
    ));
    text.push_str(&item(
        "",
        &format!("Signed off by {} at {}.", word("signed_by"), word("time")),
        NARROW,
    ));
    for open in record["open_points"].as_array().into_iter().flatten() {
        text.push_str(&item(
            "  ! ",
            &format!("open: {}", open.as_str().unwrap_or_default()),
            NARROW,
        ));
    }
    for remark in record["set_up"]["remarks"].as_array().into_iter().flatten() {
        text.push_str(&item("  ! ", remark.as_str().unwrap_or_default(), NARROW));
    }
    if !word("although").is_empty() {
        text.push_str(&item(
            "  ! ",
            &format!("signed although: {}", word("although")),
            NARROW,
        ));
    }
    text.push_str(&flows(&record, system));
    text.push_str(&checks(&record));
    text.push('\n');
    let sentences = [
        (
            signed,
            "The record is what was signed: its hash stands in the journal.",
            "The record is NOT what was signed, or its signature is missing: its hash does not stand in the journal.",
        ),
        (
            stands_on,
            "The journal has the line on which the record stands.",
            "The journal does NOT have the line on which the record stands: it was changed or is another one.",
        ),
        (
            whole,
            "Every line of the journal is what it was when the next one was written.",
            "The journal was changed after it was written; `lungwort log` names the lines.",
        ),
    ];
    for (good, yes, no) in sentences {
        text.push_str(&item(
            if good { "  • " } else { "  ! " },
            if good { yes } else { no },
            NARROW,
        ));
    }
    Ok(Outcome::new(text, good))
}

fn flows(record: &Value, system: System) -> String {
    let figures = crate::figures::Figures { system };
    let mut text = String::new();
    for state in record["set_up"]["states"].as_array().into_iter().flatten() {
        let flow = |key: &str| figures.flow_with_unit(state[key].as_f64().unwrap_or(f64::NAN));
        text.push_str(&format!(
            "  blower {}, at {}: supply {}, extract {}, delivered {}, balance {} %\n",
            state["blower"].as_str().unwrap_or_default(),
            state["setting"].as_str().unwrap_or_default(),
            flow("supply_kg_s"),
            flow("extract_kg_s"),
            flow("delivered_kg_s"),
            signed(100.0 * state["balance"].as_f64().unwrap_or(f64::NAN), 1),
        ));
    }
    let angle = |key: &str| record["set_up"]["dampers_deg"][key].as_f64().unwrap_or(0.0);
    text.push_str(&format!(
        "  supply damper at {}°, extract damper at {}°; sure by {}\n",
        fixed(angle("supply"), 0),
        fixed(angle("extract"), 0),
        sure(record["set_up"]["probability"].as_f64().unwrap_or(0.0)),
    ));
    text
}

fn checks(record: &Value) -> String {
    let list: Vec<String> = record["checks"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|check| {
            format!(
                "{} {}",
                check["item"].as_str().unwrap_or_default(),
                check["result"].as_str().unwrap_or("not checked")
            )
        })
        .collect();
    item("  ", &format!("Checks: {}.", list.join(", ")), NARROW)
}

/// Whether a sign-off in the journal carries the hash of this file.
fn is_signed(path: &Path, journal: &Journal) -> bool {
    let Ok(bytes) = fs::read(path) else {
        return false;
    };
    let sha256 = hash(&bytes);
    journal.entries().any(|entry| {
        matches!(&entry.event, Event::SignedOff(signed)
            if signed.sha256 == sha256 && signed.record == name(path))
    })
}

fn name(path: &Path) -> String {
    path.file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

fn read_bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    files::bytes(path)
        .map_err(|why| Failure::message(format!("cannot read {}: {why}", path.display()), ""))
}

fn read_json(path: &Path) -> Result<Value, Failure> {
    serde_json::from_slice(&read_bytes(path)?).map_err(|error| {
        Failure::message(
            format!("{} is no record: {error}", path.display()),
            "restore it from what was handed out",
        )
    })
}

/// A record is not meant to be changed; where the system cannot say so the hash still tells.
fn read_only(path: &Path) {
    if let Ok(data) = fs::metadata(path) {
        let mut permissions = data.permissions();
        permissions.set_readonly(true);
        let _ = fs::set_permissions(path, permissions);
    }
}
