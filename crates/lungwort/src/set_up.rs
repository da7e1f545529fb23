//! A set-up in words and as JSON: readings, flows, what to do next.

use std::fmt::Write as _;

use balancing::{Day, Standing};
use commission::doubt::Doubt;
use commission::estimate::StateEstimate;
use commission::{Damped, Interval, Place, Verdict};
use house::model::{Job, Setting};
use journal::{Event, Journal};
use plan::candidate::Plan;
use plan::flows::{Band, with_dampers};
use serde_json::{Value, json};
use units::{Pressure, Quantity, System, VolumeFlow, both};

use crate::command_line::Options;
use crate::commands::flows::{place, search, unsolved};
use crate::figures::{Figures, balance_in_band, fixed};
use crate::job;
use crate::outcome::Failure;
use crate::report::{Page, blower_words};
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
    let struck = journal.struck_out();
    let first = first_day(job, plan, journal, options)?;
    let revisit = journal.entries().rev().find(|entry| {
        matches!(entry.event, Event::Revisit(_)) && !struck.contains_key(&entry.number)
    });
    let Some(revisit) = revisit.map(|entry| entry.number) else {
        return Ok(first);
    };
    let entries = journal.entries().filter(|entry| entry.number >= revisit);
    let mut day = first
        .revisited(entries, |entry| struck.contains_key(&entry))
        .map_err(refused)?;
    day.set_up = day.set_up.in_system(job::system(job, options));
    Ok(day)
}

/// The day of the set-up: what stands before the first revisit.
pub fn first_day(
    job: &Job,
    plan: &Plan,
    journal: &Journal,
    options: &Options,
) -> Result<Day, Failure> {
    let struck = journal.struck_out();
    let entries = journal.entries().take_while(|entry| {
        !matches!(entry.event, Event::Revisit(_)) || struck.contains_key(&entry.number)
    });
    let mut day =
        Day::new(job, plan, entries, |entry| struck.contains_key(&entry)).map_err(refused)?;
    day.set_up = day.set_up.in_system(job::system(job, options));
    Ok(day)
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
    /// How wide it may be.
    pub width: usize,
}

impl Sheet<'_> {
    fn system(&self) -> System {
        self.page.figures.system
    }

    fn flow(&self, standard: f64) -> String {
        both(VolumeFlow::from_si(standard), self.system()).replace('-', "−")
    }

    /// What is to be reached, in a sentence.
    pub fn aim(&self) -> String {
        let goal = &self.day.goals[self.standing.goal];
        let modes: Vec<&str> = goal.modes.iter().map(|mode| mode.name()).collect();
        let blower = if self.page.job.air_handler.is_some() {
            format!(", with the blower in {}", modes.join(", "))
        } else {
            String::new()
        };
        let rate = if goal.required > 0.0 {
            format!(
                "at least {} of outdoor air to the rooms, and ",
                self.flow(goal.required)
            )
        } else {
            String::new()
        };
        format!(
            "To be reached at {}{blower}: {rate}supply and extract within {} % of each other. The work ends when this is sure by {} %.",
            goal.setting.name(),
            fixed(100.0 * goal.tolerance, 0),
            fixed(100.0 * goal.confidence, 0),
        )
    }

    /// How the dampers stand.
    pub fn dampers(&self) -> String {
        let words = |damper: Damped| match self.day.angle(damper) {
            angle if angle <= 0.5 => format!("{} damper open", damper.name()),
            angle => format!("{} damper at {}°", damper.name(), fixed(angle, 0)),
        };
        format!("{}, {}", words(Damped::Supply), words(Damped::Extract))
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
        let _ = writeln!(text, "{}", columns(["blower", unit, unit, unit, "%"]));
        for state in self.states() {
            let flow = |interval: Interval| figures.flow_in_band(interval.value, band(interval));
            let name = state.state.case.blower.name().to_owned()
                + if self.day.goals.len() > 1 {
                    match state.state.case.setting {
                        Setting::Off => ", off",
                        Setting::Low => ", low",
                        Setting::High => ", high",
                        Setting::Boost => ", boost",
                    }
                } else {
                    ""
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

    fn states(&self) -> Vec<&StateEstimate> {
        self.day
            .goals
            .iter()
            .flat_map(|goal| goal.states(&self.day.set_up, self.day.dampers))
            .filter_map(|state| self.standing.estimate.state(&state))
            .collect()
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

    /// Readings that do not fit and entries that were not understood.
    pub fn doubts(&self) -> Vec<String> {
        self.doubted().into_iter().map(|(_, text)| text).collect()
    }

    /// The same with the entry that each is about.
    pub fn doubted(&self) -> Vec<(u64, String)> {
        let misread = self
            .day
            .misread
            .iter()
            .map(|misread| (misread.entry, misread.text.clone()));
        misread
            .chain(
                self.standing
                    .estimate
                    .doubts
                    .iter()
                    .filter(|doubt| !self.day.set_up.readings()[doubt.reading].struck_out)
                    .map(|doubt| {
                        let entry = self.day.entry(doubt.reading).unwrap_or(0);
                        (entry, self.doubt(doubt))
                    }),
            )
            .collect()
    }

    /// A doubt, which names its entry in the journal instead of its place among the readings.
    fn doubt(&self, doubt: &Doubt) -> String {
        match self.day.entry(doubt.reading) {
            Some(entry) => doubt.text.replacen(
                &format!("Reading {} ", doubt.reading + 1),
                &format!("Entry {entry} "),
                1,
            ),
            None => doubt.text.clone(),
        }
    }

    /// What to do, or how it ended.
    pub fn advice(&self) -> Vec<String> {
        let advice = &self.standing.advice;
        let mut list = Vec::new();
        if self.day.goals.len() > 1 && advice.verdict != Verdict::Done {
            list.push(format!(
                "At {}:",
                self.day.goals[self.standing.goal].setting.name()
            ));
        }
        match advice.verdict {
            Verdict::Turn => {
                list.extend(advice.steps.iter().map(|step| step.text.clone()));
                list.push(format!(
                    "Then rate and balance will be met with a probability of {}, as far as is known now.",
                    sure(advice.probability_after)
                ));
            }
            _ => list.push(advice.text.clone()),
        }
        if advice.verdict == Verdict::CannotBeDone {
            if self.standing.changes.is_empty() {
                list.push(
                    "No single change of setting, interlock, ducts or layout that the job allows would do it either: look at the plan again with `lungwort plan`.".into(),
                );
            } else {
                list.push("What would do it:".into());
            }
            for change in &self.standing.changes {
                list.push(format!(
                    "{} It would then bring {} at least, with a balance within {} %.",
                    change.text,
                    self.flow(change.delivered),
                    fixed(100.0 * change.balance, 0)
                ));
            }
        }
        list
    }

    /// What the stations should show in each mode when all is done.
    pub fn expectations(&self) -> String {
        let expectations = &self.standing.advice.expectations;
        let mut text = String::new();
        for expectation in expectations {
            let place = Place::Station(expectation.station);
            let name = self.day.set_up.name(place);
            let value = |value| plain_shown(self.day, place, value, self.system());
            let _ = writeln!(
                text,
                "  {} {} {}, from {} to {}",
                left(expectation.mode.name(), 9),
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
            left("blower", 8),
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
                left(reading.blower.name(), 8),
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
        for assumed in &self.day.assumed {
            text.push_str(&item("", assumed, self.width));
        }
        if !self.day.taken.is_empty() {
            text.push('\n');
            text.push_str(&page.heading("Readings, and what the whole of them makes of each"));
            text.push_str(&self.readings());
        }
        let doubts = self.doubts();
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
        let set_up = &self.day.set_up;
        let advice = &self.standing.advice;
        let station = |station: usize| set_up.name(Place::Station(station));
        let aim = |aim: Option<commission::advice::Aim>| {
            aim.map(|aim| {
                let (key, flow) = key(set_up.shows_flow(Place::Station(aim.station)));
                json!({
                    "station": station(aim.station),
                    format!("before_{key}"): aim.before,
                    format!("after_{key}"): aim.after,
                    "shows_flow": flow,
                    "flow_m3_s": aim.flow,
                })
            })
        };
        let goals: Vec<Value> = self
            .day
            .goals
            .iter()
            .zip(&self.standing.probabilities)
            .map(|(goal, probability)| {
                json!({
                    "setting": goal.setting.name(),
                    "blower_modes": goal.modes.iter().map(|mode| mode.name()).collect::<Vec<_>>(),
                    "required_m3_s": goal.required,
                    "tolerance": goal.tolerance,
                    "certainty": goal.confidence,
                    "probability": probability,
                })
            })
            .collect();
        let readings: Vec<Value> = self
            .day
            .taken
            .iter()
            .map(|taken| {
                let reading = &set_up.readings()[taken.reading];
                let fit = &self.standing.estimate.fits[taken.reading];
                let (key, flow) = key(set_up.shows_flow(reading.place));
                json!({
                    "entry": taken.entry,
                    "at": set_up.name(reading.place),
                    "blower": reading.blower.name(),
                    "setting": reading.setting.name(),
                    "shows_flow": flow,
                    format!("value_{key}"): reading.value,
                    format!("expected_{key}"): fit.expected,
                    "deviations": fit.surprise,
                    "used": fit.used,
                    "struck_out": reading.struck_out,
                })
            })
            .collect();
        json!({
            "verdict": verdict(&advice.verdict),
            "text": advice.text,
            "probability": self.standing.probability(),
            "probability_after": advice.probability_after,
            "goals": goals,
            "dampers_deg": {
                "supply": self.day.angle(Damped::Supply),
                "extract": self.day.angle(Damped::Extract),
            },
            "states": self.states().into_iter().map(state_object).collect::<Vec<_>>(),
            "steps": advice.steps.iter().map(|step| json!({
                "damper": step.damper.name(),
                "close": step.close,
                "from_deg": step.angles[0],
                "to_deg": step.angles[1],
                "blower": step.mode.name(),
                "aim": aim(step.aim),
                "other": aim(step.other),
                "text": step.text,
            })).collect::<Vec<_>>(),
            "wanted": self.standing.wanted.map(|wanted| json!({
                "at": set_up.name(wanted.place),
                "blower": wanted.blower.name(),
                "setting": wanted.setting.name(),
            })),
            "expectations": advice.expectations.iter().map(|expectation| {
                let (key, flow) = key(set_up.shows_flow(Place::Station(expectation.station)));
                json!({
                    "station": station(expectation.station),
                    "blower": expectation.mode.name(),
                    "shows_flow": flow,
                    format!("value_{key}"): expectation.shown.value,
                    format!("interval_{key}"): [expectation.shown.low, expectation.shown.high],
                })
            }).collect::<Vec<_>>(),
            "changes": self.standing.changes.iter().map(|change| json!({
                "text": change.text,
                "delivered_m3_s": change.delivered,
                "balance": change.balance,
            })).collect::<Vec<_>>(),
            "readings": readings,
            "doubts": self.doubts(),
            "learnt": self.standing.estimate.unknowns.iter().map(|learnt| json!({
                "what": learnt.unknown.name,
                "score": learnt.score,
                "left": learnt.left,
            })).collect::<Vec<_>>(),
            "assumed": self.day.assumed,
        })
    }
}

/// Flows of a state for programs.
pub fn state_object(state: &StateEstimate) -> Value {
    let ends = |interval: Interval| [interval.low, interval.high];
    json!({
        "blower": state.state.case.blower.name(),
        "setting": state.state.case.setting.name(),
        "supply_kg_s": state.supply.value,
        "supply_interval_kg_s": ends(state.supply),
        "extract_kg_s": state.extract.value,
        "extract_interval_kg_s": ends(state.extract),
        "delivered_kg_s": state.delivered.value,
        "delivered_interval_kg_s": ends(state.delivered),
        "balance": state.balance.value,
        "balance_interval": ends(state.balance),
    })
}

/// The unit in a key for what an instrument shows, and whether it is a flow.
fn key(flow: bool) -> (&'static str, bool) {
    (if flow { "m3_s" } else { "pa" }, flow)
}

fn band(interval: Interval) -> Band {
    Band {
        low: interval.low,
        high: interval.high,
    }
}

/// A verdict in words.
pub fn verdict(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Done => "done",
        Verdict::Turn => "turn",
        Verdict::ReadMore => "read more",
        Verdict::NotProvable => "not provable",
        Verdict::CannotBeDone => "cannot be done",
    }
}

/// A probability in per cent.
pub fn sure(probability: f64) -> String {
    match 100.0 * probability {
        percent if percent > 99.5 => "more than 99 %".into(),
        percent if percent < 0.5 => "less than 1 %".into(),
        percent => format!("{} %", fixed(percent, 0)),
    }
}

/// What an instrument shows at a place, with both units.
pub fn shown(day: &Day, place: Place, value: f64, system: System) -> String {
    let text = if day.set_up.shows_flow(place) {
        both(VolumeFlow::from_si(value), system)
    } else {
        both(Pressure::from_si(value), system)
    };
    text.replace('-', "−")
}

/// The same in one unit.
pub fn plain_shown(day: &Day, place: Place, value: f64, system: System) -> String {
    let text = if day.set_up.shows_flow(place) {
        VolumeFlow::from_si(value).show(system)
    } else {
        Pressure::from_si(value).show(system)
    };
    text.replace('-', "−")
}

/// What runs, in words.
pub fn running_words(job: &Job, blower: house::model::Mode, setting: Setting) -> String {
    if job.air_handler.is_some() {
        format!("{}, ventilator at {}", blower_words(blower), setting.name())
    } else {
        format!("ventilator at {}", setting.name())
    }
}

/// Figures of a job.
pub fn figures(job: &Job, options: &Options) -> Figures {
    Figures {
        system: job::system(job, options),
    }
}
