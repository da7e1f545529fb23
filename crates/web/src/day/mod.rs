//! The set-up day: the next reading asked for, the next damper, the checks, the record, the revisit.
//!
//! All that happens is written into the journal of the job, the same text that the command line
//! keeps beside the job file. The store lets it only grow.

mod checks;
mod entry;
mod page;
mod photo;
mod record;
mod revisit;
mod write;

use std::sync::{Arc, OnceLock};

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};
use balancing::revisit::Compared;
use balancing::{Day, Sheet, Standing};
use commission::Damped;
use house::model::Job;
use journal::{Event, Journal};
use maud::{Markup, html};
use plan::Plan;
use store::{Key, Kind, StoreError};
use units::System;

use crate::App;
use crate::job::Open;
use crate::needs::blocked;

/// The routes below `/jobs/{job}`.
pub fn routes() -> Router<App> {
    let photos = || DefaultBodyLimit::max(photo::LARGEST_BODY);
    Router::new()
        .route("/jobs/{job}/day", get(page::page))
        .route("/jobs/{job}/day/begin", post(write::begin))
        .route("/jobs/{job}/day/read", post(write::read).layer(photos()))
        .route("/jobs/{job}/day/turn", post(write::turn).layer(photos()))
        .route("/jobs/{job}/day/run", post(write::run))
        .route("/jobs/{job}/day/remark", post(write::remark))
        .route("/jobs/{job}/day/strike", post(write::strike))
        .route("/jobs/{job}/day/exchange", post(write::exchange))
        .route("/jobs/{job}/day/journal", post(write::bring_in))
        .route("/jobs/{job}/day/{file}", get(write::fetch))
        .route(
            "/jobs/{job}/day/checks",
            get(checks::page).post(checks::check).layer(photos()),
        )
        .route(
            "/jobs/{job}/day/combustion",
            get(checks::worksheet).post(checks::tested),
        )
        .route(
            "/jobs/{job}/day/record",
            get(record::page).post(record::sign),
        )
        .route("/jobs/{job}/day/record/{record}", get(record::signed))
        .route(
            "/jobs/{job}/day/revisit",
            get(revisit::page).post(revisit::begin),
        )
        .route("/jobs/{job}/photos/{photo}", get(photo::photo))
}

/// The journal of a job.
#[derive(Clone)]
pub struct Log {
    /// Version of its history in the store; 0 if there is none.
    pub version: u64,
    /// Its text.
    pub text: Arc<str>,
    /// What the text says.
    pub journal: Arc<Journal>,
}

impl Log {
    /// The journal of a job as it stands.
    pub async fn of(app: &App, job: &str) -> Result<Self, StoreError> {
        let (version, text) = match Key::new(Kind::Journal, job) {
            None => (0, String::new()),
            Some(key) => match app.workspace.store.current(&key).await {
                Ok((head, text)) => (head.version, text),
                Err(StoreError::Unknown(_)) => (0, String::new()),
                Err(error) => return Err(error),
            },
        };
        let (text, journal) = app.shelf.journal(&text);
        Ok(Self {
            version,
            text,
            journal,
        })
    }

    /// Who wrote last.
    pub fn who(&self) -> &str {
        let last = self.journal.entries().next_back();
        last.map_or("", |entry| entry.who.as_str())
    }

    /// Number of the last entry that matters; 0 if none does.
    pub fn last(&self, matters: impl Fn(&Event) -> bool) -> u64 {
        let mut entries = self.journal.entries().rev();
        let last = entries.find(|entry| matters(&entry.event));
        last.map_or(0, |entry| entry.number)
    }

    /// Number of the last entry by which readings and dampers stand otherwise than before.
    pub fn last_of_day(&self) -> u64 {
        self.last(is_of_day)
    }

    /// The text as far as it alters what is known of flows and dampers.
    pub fn text_of_day(&self) -> &str {
        let lines = self.journal.lines().iter();
        let alters = |line: &&journal::Line| {
            let entry = line.entry.as_ref();
            entry.is_some_and(|entry| is_of_day(&entry.event))
        };
        let last = lines.rev().find(alters).map_or(0, |last| last.line);
        let lengths = self.text.split_inclusive('\n').take(last).map(str::len);
        &self.text[..lengths.sum()]
    }
}

/// Whether an event alters what is known of flows and dampers.
fn is_of_day(event: &Event) -> bool {
    matches!(
        event,
        Event::SetUp(_)
            | Event::Revisit(_)
            | Event::Running(_)
            | Event::Damper(_)
            | Event::Reading(_)
            | Event::StruckOut(_)
    )
}

/// A day as far as its journal tells it.
pub struct Today {
    /// The plan that is set up.
    pub plan: Plan,
    /// The day: the set-up, or the last revisit.
    pub day: Day,
    /// How it stands.
    pub standing: Standing,
    /// If it is a revisit: the day of the set-up and how that stood.
    pub first: Option<(Day, Standing)>,
    system: System,
    compared: OnceLock<Option<Result<Compared, String>>>,
}

impl Today {
    /// Looks at a journal. An earlier look at the same day makes it quicker.
    pub fn new(
        job: &Job,
        plan: &Plan,
        journal: &Journal,
        system: System,
        earlier: Option<&Self>,
    ) -> Result<Self, String> {
        let words = |error: commission::Error| error.to_string();
        let first = Day::first_of_journal(job, plan, journal, system).map_err(words)?;
        let is_revisit = revisit_of(journal).is_some();
        let before = earlier.filter(|before| before.first.is_some() == is_revisit);
        let before = before.map(|before| &before.standing.estimate);
        if !is_revisit {
            let standing = Standing::of(&first, before).map_err(words)?;
            return Ok(Self {
                plan: plan.clone(),
                day: first,
                standing,
                first: None,
                system,
                compared: OnceLock::new(),
            });
        }
        let day = Day::of_journal(job, plan, journal, system).map_err(words)?;
        let standing = Standing::of(&day, before).map_err(words)?;
        // What was read on the first day seldom changes on a revisit.
        let known = earlier.and_then(|earlier| earlier.first.as_ref());
        let known = known.filter(|(known, _)| {
            known.set_up.readings() == first.set_up.readings()
                && known.set_up.job().climate == first.set_up.job().climate
                && Damped::BOTH
                    .iter()
                    .all(|&damper| known.set_up.positions(damper) == first.set_up.positions(damper))
        });
        let then = match known {
            Some((_, then)) => then.clone(),
            None => Standing::of(&first, None).map_err(words)?,
        };
        Ok(Self {
            plan: plan.clone(),
            day,
            standing,
            first: Some((first, then)),
            system,
            compared: OnceLock::new(),
        })
    }

    /// A revisit compared with the day of the set-up, if something that can be compared was read.
    pub fn compared(&self) -> Option<&Result<Compared, String>> {
        let (_, then) = self.first.as_ref()?;
        let compared = self.compared.get_or_init(|| {
            Compared::is_possible(&self.day)
                .then(|| Compared::of(&then.estimate, &self.day).map_err(|error| error.to_string()))
        });
        compared.as_ref()
    }

    /// The same in sentences.
    pub fn sheet(&self) -> Sheet<'_> {
        Sheet {
            day: &self.day,
            standing: &self.standing,
            system: self.system,
        }
    }
}

/// The entry with which the last revisit began.
fn revisit_of(journal: &Journal) -> Option<u64> {
    let struck = journal.struck_out();
    let mut entries = journal.entries().rev();
    let begun = entries.find(|entry| {
        matches!(entry.event, Event::Revisit(_)) && !struck.contains_key(&entry.number)
    });
    begun.map(|entry| entry.number)
}

/// What is needed before a day can begin: a survey, a plan, a station; or why it cannot be computed.
fn today<'a>(open: &'a Open, title: &str) -> Result<(&'a Job, Arc<Today>), Markup> {
    let Some(job) = open.known.job() else {
        return Err(blocked(open, title));
    };
    if job.chosen.is_none() {
        return Err(html! {
            h1 { (title) }
            p { "No plan is chosen yet, so there is nothing to set up. " a href=(open.address("/plans")) { "Choose a plan" } "." }
        });
    }
    if job.stations.is_empty() {
        return Err(without_station(open, title));
    }
    match open.known.today(job, &open.log) {
        Ok(today) => Ok((job, today)),
        Err(why) => Err(html! {
            h1 { (title) }
            p { "The day cannot be looked at: " (why) "." }
            p { a href=(open.address("/survey")) { "Go to the survey" } }
            (page::journal(open))
        }),
    }
}

fn without_station(open: &Open, title: &str) -> Markup {
    html! {
        h1 { (title) }
        p class="lead" { "Before the day begins the survey has to say where pressures are read and how they become flows." }
        ol class="ledger" {
            li class="open" {
                a href=(open.address("/survey/station")) { "Stations" }
                span class="words" { "One for the supply and one for the extract stream. Usual is the chart on the label of the unit: pressures with the flows behind them." }
            }
            li class="open" {
                a href=(open.address("/survey/instrument")) { "Instruments" }
                span class="words" { "What the manometer can do. Without an entry an ordinary one is assumed, and said." }
            }
            li class="open" {
                a href=(open.address("/survey/balancing")) { "What has to be reached" }
                span class="words" { "How close the streams, and how sure. Without an entry: within 10 %, sure by 95 %." }
            }
        }
        p {
            "How sure a station is matters most: with charts of ±10 % two streams cannot be proven to lie within 10 % of each other."
        }
        (page::journal(open))
    }
}

/// How the step stands: its state's word and a sentence, from the journal alone.
pub fn progress(open: &Open, job: &Job) -> (crate::steps::State, String) {
    use crate::steps::State;
    if job.chosen.is_none() {
        return (State::Blocked("a plan"), "Waits for a plan.".to_owned());
    }
    if job.stations.is_empty() {
        return (
            State::Blocked("stations"),
            "Waits for the stations: where pressures are read.".to_owned(),
        );
    }
    let journal = &open.log.journal;
    let struck = journal.struck_out();
    let counts = |entry: &&journal::Entry| !struck.contains_key(&entry.number);
    let signed = journal.entries().rev().filter(counts).find_map(|entry| {
        let Event::SignedOff(signed) = &entry.event else {
            return None;
        };
        Some((entry, signed))
    });
    let readings = journal
        .entries()
        .filter(counts)
        .filter(|entry| matches!(entry.event, Event::Reading(_)))
        .count();
    let Some((entry, signed)) = signed else {
        return match readings {
            0 => (State::Open, "Nothing is read yet.".to_owned()),
            count => (
                State::Open,
                format!(
                    "{}; not signed off yet.",
                    crate::say::counted(count, "reading", "readings")
                ),
            ),
        };
    };
    let on = entry.time.get(..10).unwrap_or(&entry.time);
    let alters = |event: &Event| {
        is_of_day(event) || matches!(event, Event::Checked(_) | Event::Combustion(_))
    };
    let complete = signed.although.is_empty();
    if open.log.last(|event| matches!(event, Event::Revisit(_))) > entry.number {
        let state = if complete { State::Done } else { State::Open };
        let words = format!("Signed off on {on}; a revisit was begun since.");
        return (state, words);
    }
    if open.log.last(alters) > entry.number {
        return (
            State::Open,
            format!("Signed off on {on}, and gone on since: sign again."),
        );
    }
    if !complete {
        return (
            State::Open,
            format!(
                "Signed off on {on} although something is open: {}.",
                signed.although.trim_end_matches('.')
            ),
        );
    }
    let changed = journal::time::seconds(&entry.time).is_some_and(|time| open.head.at > time);
    let words = if changed {
        format!("Proven and signed off on {on}; the job was changed since.")
    } else {
        format!("Proven and signed off on {on}.")
    };
    (State::Done, words)
}

/// The style of the day's pages.
fn style() -> Markup {
    crate::assets::style("day.css")
}

/// The parts of the day.
fn parts(open: &Open, here: &str) -> Markup {
    let parts = [
        ("/day", "Readings"),
        ("/day/checks", "Checks"),
        ("/day/record", "Record"),
        ("/day/revisit", "Revisit"),
    ];
    html! {
        nav class="parts" aria-label="Parts of the set-up day" {
            @for (address, name) in parts {
                a href=(open.address(address)) aria-current=[(address == here).then_some("page")] { (name) }
            }
        }
    }
}
