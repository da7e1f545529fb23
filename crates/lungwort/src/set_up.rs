//! A set-up in words and as JSON: readings, flows, what to do next.

use std::fmt::Write as _;
use std::path::Path;
use units::text::fixed;

use balancing::words::{plain_shown, sure};
use balancing::{Day, Remark, Standing};
use commission::{Interval, Place};
use house::model::Job;
use journal::Journal;
use plan::candidate::Plan;
use plan::flows::{Band, with_dampers};
use serde_json::Value;
use units::System;

use crate::command_line::Options;
use crate::commands::flows::{place, search, unsolved};
use crate::figures::{Figures, balance_in_band};
use crate::job;
use crate::log;
use crate::outcome::Failure;
use crate::report::Page;
use crate::text::{item, left, right};

/// Width of what is printed on the set-up day: a small terminal.
pub const NARROW: usize = 78;

/// The plan that is set up: that at a place of the ranking, or that of the job file.
pub fn plan_of(job: &Job, asked: Option<usize>, options: &Options) -> Result<Plan, Failure> {
    match (asked, &job.chosen) {
        (Some(asked), _) => {
            let found = search(job, options);
            let place = place(&found, asked)?;
            Ok(found.ranked[place].plan.clone())
        }
        (None, Some(chosen)) => Ok(with_dampers(job, chosen).map_err(unsolved)?.0),
        (None, None) => Err(Failure::message(
            "the job file names no plan, so there is nothing to set up",
            "add a table [plan], or choose one of the ranking with --plan N",
        )),
    }
}

/// The day that a journal tells of last: the set-up, or a revisit with the dampers as they were left.
pub fn day(job: &Job, plan: &Plan, journal: &Journal, options: &Options) -> Result<Day, Failure> {
    Day::of_journal(job, plan, journal, job::system(job, options)).map_err(refused)
}

/// The day of the set-up: what stands before the first revisit.
pub fn first_day(
    job: &Job,
    plan: &Plan,
    journal: &Journal,
    options: &Options,
) -> Result<Day, Failure> {
    Day::first_of_journal(job, plan, journal, job::system(job, options)).map_err(refused)
}

/// What is to be said beside the numbers of a day: calibrations, and photos that are not beside the
/// job.
pub fn remarks(day: &Day, journal: &Journal, job: &Path) -> Vec<String> {
    let photos = photos(journal, job).into_iter().map(|it| it.text);
    day.calibrations(&log::now())
        .into_iter()
        .chain(photos)
        .collect()
}

/// Photos of a journal that are not beside the job.
pub fn photos(journal: &Journal, job: &Path) -> Vec<Remark> {
    let struck = journal.struck_out();
    let folder = job.parent().unwrap_or(Path::new(""));
    balancing::photos(
        journal.entries(),
        |entry| struck.contains_key(&entry),
        |name| folder.join(name).is_file(),
    )
}

/// What the physics refuses.
pub fn refused(error: commission::Error) -> Failure {
    Failure::message(error.to_string(), "")
}

/// Writes about a set-up.
pub struct Sheet<'a> {
    /// The page.
    pub page: Page<'a>,
    /// The day.
    pub day: &'a Day,
    /// How it stands.
    pub standing: &'a Standing,
    /// What is to be said beside the numbers.
    pub remarks: &'a [String],
    /// How wide it may be.
    pub width: usize,
}

impl Sheet<'_> {
    fn system(&self) -> System {
        self.page.figures.system
    }

    fn has_blower(&self) -> bool {
        self.page.job.air_handler.is_some()
    }

    fn words(&self) -> balancing::Sheet<'_> {
        balancing::Sheet {
            day: self.day,
            standing: self.standing,
            system: self.system(),
        }
    }

    /// What is to be reached, in a sentence.
    pub fn aim(&self) -> String {
        self.words().aim()
    }

    /// What the flows are, where the air is so thin that it matters.
    pub fn density(&self) -> Option<String> {
        self.words().density()
    }

    /// How the dampers stand.
    pub fn dampers(&self) -> String {
        self.words().dampers()
    }

    /// Flows in every mode that has to be right.
    pub fn table(&self) -> String {
        let figures = self.page.figures;
        let unit = figures.flow_unit();
        let mut text = String::new();
        let columns = |cells: [&str; 5]| {
            format!(
                "  {} {} {} {} {}",
                left(cells[0], 12),
                right(cells[1], 14),
                right(cells[2], 14),
                right(cells[3], 15),
                right(cells[4], 17)
            )
            .trim_end()
            .to_owned()
        };
        let _ = writeln!(
            text,
            "{}",
            columns(["", "supply", "extract", "delivered", "balance"])
        );
        let has_blower = self.has_blower();
        let first = if has_blower { "blower" } else { "ventilator" };
        let _ = writeln!(text, "{}", columns([first, unit, unit, unit, "%"]));
        for state in self.words().states() {
            let flow = |interval: Interval| figures.flow_in_band(interval.value, band(interval));
            let case = &state.state.case;
            let (blower, setting) = (case.blower.name(), case.setting.name());
            let name = match (has_blower, self.day.goals.len() > 1) {
                (true, true) => format!("{blower}, {setting}"),
                (true, false) => blower.to_owned(),
                (false, _) => setting.to_owned(),
            };
            let row = columns([
                &name,
                &flow(state.supply),
                &flow(state.extract),
                &flow(state.delivered),
                &balance_in_band(state.balance.value, band(state.balance)),
            ]);
            let _ = writeln!(text, "{row}");
        }
        text
    }

    /// A bar of the probability, with a mark at the one that is asked for.
    pub fn probability(&self) -> String {
        const CELLS: usize = 24;
        let probability = self.standing.probability();
        let asked = self.day.goals[self.standing.goal].confidence;
        let filled = (probability * CELLS as f64).round() as usize;
        let mark = ((asked * CELLS as f64).round() as usize).min(CELLS - 1);
        let bar: String = (0..CELLS)
            .map(|cell| match cell {
                cell if cell == mark => '│',
                cell if cell < filled => '═',
                _ => '·',
            })
            .collect();
        format!(
            "  Sure to be done  [{bar}] {}; {} % is asked for",
            sure(probability),
            fixed(100.0 * asked, 0)
        )
    }

    /// Readings that do not fit and entries that were not understood, each with its entry.
    pub fn doubted(&self) -> Vec<(u64, String)> {
        self.words().doubted()
    }

    /// The reading that is wanted next, as an instruction.
    pub fn read(&self) -> Option<String> {
        self.words().read()
    }

    /// What to do, or how it ended.
    pub fn advice(&self) -> Vec<String> {
        self.words().advice()
    }

    /// What the stations should show in each mode when all is done.
    pub fn expectations(&self) -> String {
        let expectations = &self.standing.advice.expectations;
        let mut text = String::new();
        for expectation in expectations {
            let place = Place::Station(expectation.station);
            let name = self.day.set_up.name(place);
            let value = |value| plain_shown(self.day, place, value, self.system());
            // Without a blower there is one mode, and nothing to tell apart.
            let mode = match self.page.job.air_handler {
                Some(_) => expectation.mode.name(),
                None => self.day.goals[self.standing.goal].setting.name(),
            };
            let _ = writeln!(
                text,
                "  {} {} {}, from {} to {}",
                left(mode, 9),
                left(&crate::text::cut(&name, 20), 20),
                value(expectation.shown.value),
                value(expectation.shown.low),
                value(expectation.shown.high),
            );
        }
        text
    }

    /// All readings with what was expected of them.
    pub fn readings(&self) -> String {
        let set_up = &self.day.set_up;
        let mut text = String::new();
        let _ = writeln!(
            text,
            "  {} {} {} {} {} apart",
            right("entry", 5),
            left(if self.has_blower() { "blower" } else { "unit" }, 8),
            left("at", 20),
            right("read", 12),
            right("fits", 12),
        );
        for taken in &self.day.taken {
            let reading = &set_up.readings()[taken.reading];
            let fit = &self.standing.estimate.fits[taken.reading];
            let apart = if reading.struck_out {
                "struck out".to_owned()
            } else if fit.used {
                format!("{} σ", fixed(fit.surprise, 1))
            } else {
                "not used".to_owned()
            };
            let value = |value| plain_shown(self.day, reading.place, value, self.system());
            let _ = writeln!(
                text,
                "  {} {} {} {} {} {apart}",
                right(&taken.entry.to_string(), 5),
                left(
                    if self.has_blower() {
                        reading.blower.name()
                    } else {
                        reading.setting.name()
                    },
                    8
                ),
                left(&crate::text::cut(&set_up.name(reading.place), 20), 20),
                right(&value(reading.value), 12),
                right(&value(fit.expected), 12),
            );
        }
        text
    }

    /// The whole sheet.
    pub fn text(&self) -> String {
        let page = self.page;
        let mut text = page.heading(&format!("Set-up of {}", page.job.name));
        text.push_str(&item("", &self.aim(), self.width));
        if let Some(words) = self.density() {
            text.push_str(&item("", &words, self.width));
        }
        for assumed in &self.day.assumed {
            text.push_str(&item("", assumed, self.width));
        }
        if !self.day.taken.is_empty() {
            text.push('\n');
            text.push_str(&page.heading("Readings, and what the whole of them makes of each"));
            text.push_str(&self.readings());
        }
        let doubts = self.doubted().into_iter().map(|(_, text)| text);
        let doubts: Vec<String> = doubts.chain(self.remarks.to_vec()).collect();
        if !doubts.is_empty() {
            text.push('\n');
            text.push_str(&page.heading("Look at"));
            for doubt in doubts {
                text.push_str(&item("  • ", &doubt, self.width));
            }
        }
        text.push('\n');
        text.push_str(&page.heading(&format!(
            "Flows with their 95 % intervals, {}",
            self.dampers()
        )));
        text.push_str(&self.table());
        text.push_str(&self.probability());
        text.push_str("\n\n");
        text.push_str(&page.heading("What to do"));
        for sentence in self.advice() {
            text.push_str(&item("  • ", &sentence, self.width));
        }
        let expectations = self.expectations();
        if !expectations.is_empty() {
            text.push('\n');
            text.push_str(&page.heading("What the stations will show when it is right"));
            text.push_str(&expectations);
        }
        text
    }

    /// The same for programs.
    pub fn object(&self) -> Value {
        let mut object = self.words().object();
        object["remarks"] = self.remarks.into();
        object
    }
}

fn band(interval: Interval) -> Band {
    Band {
        low: interval.low,
        high: interval.high,
    }
}

/// Figures of a job.
pub fn figures(job: &Job, options: &Options) -> Figures {
    Figures {
        system: job::system(job, options),
    }
}
