//! The set-up day as a dialogue: one question at a time, every answer in the journal before it is
//! used.

use std::io::{BufRead, Write};
use std::path::Path;

use balancing::entries::{exchange, running, turned};
use balancing::words::{plain_shown, running_words, shown, sure};
use balancing::{Day, Gauge, Reached, Standing, Wanted};
use commission::advice::{Aim, Step};
use commission::{Damped, Estimate, Place, Verdict};
use house::model::{Job, Mode, Setting};
use journal::{Entry, Event, StruckOut, Visit};
use plan::candidate::Plan;

use crate::command_line::Options;
use crate::log;
use crate::outcome::{Failure, coloured};
use crate::report::Page;
use crate::set_up::{self, NARROW, Sheet};
use crate::text::{ascii, item};

/// A dialogue about one job.
pub struct Dialogue<'a, I, O> {
    /// The job.
    pub job: &'a Job,
    /// The plan that is set up.
    pub plan: &'a Plan,
    /// The journal.
    pub path: &'a Path,
    /// Who reads; asked for if not known.
    pub who: Option<String>,
    /// How to say it.
    pub options: &'a Options,
    /// Where answers come from.
    pub input: I,
    /// Where questions go.
    pub output: O,
}

/// What a person typed.
enum Typed {
    /// An answer to the question.
    Answer(String),
    /// Something was done instead; look anew.
    Done,
    /// No more.
    Quit,
}

const HELP: &str = "
  a number          what the instrument shows; without a unit in that of the
                    station
  PLACE = NUMBER    a reading of another place: a station, supply port, return
                    plenum, house ...
  damper supply 35  a damper was turned to this angle from open
  blower heating    the blower runs in another mode (off, low, heating, cooling)
  setting high      the ventilator runs at another setting
  undo              strike out the last entry; it stays, with your reason
  note TEXT         a remark for the journal
  all               everything that is known now
  quit              stop here; the next `lungwort balance` goes on from here
";

impl<'a, I: BufRead, O: Write> Dialogue<'a, I, O> {
    /// Goes on until all is done, cannot be done, or the person stops. Whether all is done.
    pub fn run(mut self) -> Result<bool, Failure> {
        let heading = self.page().heading(&format!("Set-up of {}", self.job.name));
        self.say(&heading)?;
        if !self.begin()? {
            return Ok(false);
        }
        let mut earlier: Option<Estimate> = None;
        let mut told: Vec<u64> = Vec::new();
        let mut first = true;
        loop {
            let day = self.day()?;
            let standing = Standing::of(&day, earlier.as_ref()).map_err(set_up::refused)?;
            let sheet = Sheet {
                page: self.page(),
                day: &day,
                standing: &standing,
                width: NARROW,
            };
            let mut text = String::new();
            if first {
                text.push_str(&item("", &sheet.aim(), NARROW));
                for assumed in &day.assumed {
                    text.push_str(&item("", assumed, NARROW));
                }
                text.push_str("Type ? for what else may be typed.\n");
                first = false;
            }
            for (entry, doubt) in sheet.doubted() {
                if !told.contains(&entry) {
                    text.push_str(&item("  ! ", &doubt, NARROW));
                    told.push(entry);
                }
            }
            text.push('\n');
            if day.taken.is_empty() {
                text.push_str(&item(
                    "",
                    &format!(
                        "Nothing is read yet; {}. From the survey alone:",
                        sheet.dampers()
                    ),
                    NARROW,
                ));
            } else {
                text.push_str(&item(
                    "",
                    &format!("From all readings, {}:", sheet.dampers()),
                    NARROW,
                ));
            }
            text.push_str(&sheet.table());
            text.push_str(&sheet.probability());
            text.push_str("\n\n");
            let verdict = standing.advice.verdict.clone();
            let ends = matches!(
                verdict,
                Verdict::Done | Verdict::CannotBeDone | Verdict::NotProvable
            );
            if ends {
                for sentence in sheet.advice() {
                    text.push_str(&item("", &sentence, NARROW));
                }
                let expectations = sheet.expectations();
                if !expectations.is_empty() {
                    text.push_str("At a later visit the stations should show:\n");
                    text.push_str(&expectations);
                }
            }
            self.say(&text)?;
            let goes_on = if ends {
                let question = match verdict {
                    Verdict::Done => "Enter to end, or another reading as PLACE = NUMBER",
                    _ => "Enter to stop here, or another reading as PLACE = NUMBER",
                };
                match self.ask(question, &day, &standing)? {
                    Typed::Done => true,
                    Typed::Quit => false,
                    Typed::Answer(text) if text.is_empty() => {
                        return Ok(verdict == Verdict::Done);
                    }
                    Typed::Answer(_) => {
                        self.say("Write it as PLACE = NUMBER, or press Enter to end.\n")?;
                        true
                    }
                }
            } else if verdict == Verdict::Turn {
                self.turn(&day, &standing)?
            } else {
                self.read(&day, &standing)?
            };
            if !goes_on {
                self.say("What was read stands in the journal.\n")?;
                return Ok(false);
            }
            earlier = Some(standing.estimate);
        }
    }

    fn page(&self) -> Page<'a> {
        Page {
            job: self.job,
            figures: set_up::figures(self.job, self.options),
            coloured: coloured(),
        }
    }

    fn say(&mut self, text: &str) -> Result<(), Failure> {
        let plain = if self.options.ascii() {
            ascii(text)
        } else {
            text.to_owned()
        };
        self.output
            .write_all(plain.as_bytes())
            .and_then(|()| self.output.flush())
            .map_err(|error| Failure::message(format!("cannot print: {error}"), ""))
    }

    /// One line that was typed; nothing if there is no more.
    fn line(&mut self, question: &str) -> Result<Option<String>, Failure> {
        self.say(&format!("{question}> "))?;
        let mut line = String::new();
        match self.input.read_line(&mut line) {
            Ok(0) => {
                self.say("\n")?;
                Ok(None)
            }
            Ok(_) => Ok(Some(line.trim().to_owned())),
            Err(error) => Err(Failure::message(
                format!("cannot read the answer: {error}"),
                "",
            )),
        }
    }

    /// Puts an event into the journal and says so when it is safe.
    fn keep(&mut self, event: Event) -> Result<Entry, Failure> {
        let who = self.who.clone().unwrap_or_default();
        let entry = log::append(self.path, &who, None, event)?;
        self.say(&format!("  (entry {})\n", entry.number))?;
        Ok(entry)
    }

    fn day(&self) -> Result<Day, Failure> {
        set_up::day(self.job, self.plan, &log::read(self.path)?, self.options)
    }

    /// Asks who reads and how warm it is, if the journal does not say.
    fn begin(&mut self) -> Result<bool, Failure> {
        let journal = log::read(self.path)?;
        for finding in journal.findings() {
            self.say(&item("  ! ", &finding.text(), NARROW))?;
        }
        if self.who.is_none() {
            self.who = journal.entries().next_back().map(|entry| entry.who.clone());
        }
        let begun = journal
            .entries()
            .any(|entry| matches!(entry.event, Event::SetUp(_)));
        if begun {
            self.say(&format!(
                "The journal {} has {} entries; going on from there.\n",
                self.path.display(),
                journal.entries().count()
            ))?;
            return Ok(true);
        }
        self.say(&item(
            "",
            &format!(
                "Every answer goes into {} at once. Both balancing dampers should stand open now.",
                self.path.display()
            ),
            NARROW,
        ))?;
        if self.who.as_deref().unwrap_or_default().is_empty() {
            match self.line("Who reads? ")? {
                Some(who) => self.who = Some(who),
                None => return Ok(false),
            }
        }
        let mut temperatures = [String::new(), String::new()];
        for (index, question) in ["Temperature outdoors, like 48 F", "Temperature indoors"]
            .into_iter()
            .enumerate()
        {
            loop {
                match self.line(question)? {
                    None => return Ok(false),
                    Some(typed) if typed.is_empty() => break,
                    Some(typed) if balancing::temperature(&typed).is_some() => {
                        temperatures[index] = typed;
                        break;
                    }
                    Some(typed) => self.say(&format!(
                        "\"{typed}\" is no temperature with its unit, like 48 F or 9 C; Enter leaves it out.\n"
                    ))?,
                }
            }
        }
        let [outdoor, indoor] = temperatures;
        self.keep(Event::SetUp(Visit {
            job: self.job.name.clone(),
            outdoor,
            indoor,
            note: String::new(),
        }))?;
        Ok(true)
    }

    /// Asks for an answer, and does what else may be typed.
    fn ask(&mut self, question: &str, day: &Day, standing: &Standing) -> Result<Typed, Failure> {
        loop {
            let Some(typed) = self.line(question)? else {
                return Ok(Typed::Quit);
            };
            let (word, rest) = typed
                .split_once(char::is_whitespace)
                .map_or((typed.as_str(), ""), |(word, rest)| (word, rest.trim()));
            if let Some((at, value)) = typed.split_once('=') {
                if self.other_reading(at.trim(), value.trim(), day)? {
                    return Ok(Typed::Done);
                }
                continue;
            }
            match word.to_lowercase().as_str() {
                "quit" | "q" | "exit" => return Ok(Typed::Quit),
                "?" | "help" => self.say(HELP)?,
                "all" => {
                    let text = Sheet {
                        page: self.page(),
                        day,
                        standing,
                        width: NARROW,
                    }
                    .text();
                    self.say(&format!("\n{text}\n"))?;
                }
                "note" if !rest.is_empty() => {
                    self.keep(Event::Note {
                        text: rest.to_owned(),
                    })?;
                }
                "undo" => {
                    if self.undo(rest)? {
                        return Ok(Typed::Done);
                    }
                }
                "blower" => {
                    if self.change(rest, day.setting.name(), day)? {
                        return Ok(Typed::Done);
                    }
                }
                "setting" => {
                    if self.change(day.blower.name(), rest, day)? {
                        return Ok(Typed::Done);
                    }
                }
                "damper" => {
                    if self.damper_by_hand(rest)? {
                        return Ok(Typed::Done);
                    }
                }
                _ => return Ok(Typed::Answer(typed)),
            }
        }
    }

    /// A reading of another place than the one that was asked for. Whether it was one.
    fn other_reading(&mut self, at: &str, value: &str, day: &Day) -> Result<bool, Failure> {
        match day.place(at) {
            Some(place) => {
                let wanted = Wanted {
                    place,
                    blower: day.blower,
                    setting: day.setting,
                };
                self.take(value, wanted, day)
            }
            None => {
                // What was typed is kept all the same.
                self.keep(Event::Note {
                    text: format!("{at} = {value}"),
                })?;
                let known: Vec<String> = day.places().map(|place| day.set_up.name(place)).collect();
                let text = format!(
                    "There is no place \"{at}\"; kept as a note. Known: {}.",
                    known.join(", ")
                );
                self.say(&item("  ! ", &text, NARROW))?;
                Ok(false)
            }
        }
    }

    /// Strikes out the last entry that can be. Whether it was done.
    fn undo(&mut self, reason: &str) -> Result<bool, Failure> {
        let journal = log::read(self.path)?;
        let struck = journal.struck_out();
        let last = journal.entries().rev().find(|entry| {
            matches!(
                entry.event,
                Event::Reading(_) | Event::Damper(_) | Event::Running(_)
            ) && !struck.contains_key(&entry.number)
        });
        let Some(last) = last else {
            self.say("There is nothing to strike out.\n")?;
            return Ok(false);
        };
        let words = format!("Strike out entry {}: {}.", last.number, last.event.words());
        let reason = if reason.is_empty() {
            self.say(&item("", &words, NARROW))?;
            self.line("Why? Enter leaves it ")?.unwrap_or_default()
        } else {
            reason.to_owned()
        };
        if reason.is_empty() {
            self.say("It stands as it was.\n")?;
            return Ok(false);
        }
        self.keep(Event::StruckOut(StruckOut {
            entry: last.number,
            reason,
        }))?;
        Ok(true)
    }

    /// The blower or the ventilator runs otherwise from now on. Whether that is so.
    fn change(&mut self, blower: &str, setting: &str, day: &Day) -> Result<bool, Failure> {
        let mode = Mode::ALL
            .into_iter()
            .find(|mode| mode.name().eq_ignore_ascii_case(blower));
        let known = [Setting::Off, Setting::Low, Setting::High, Setting::Boost]
            .into_iter()
            .find(|known| known.name().eq_ignore_ascii_case(setting));
        match (mode, known) {
            (Some(mode), Some(setting)) => {
                let changes = (mode, setting) != (day.blower, day.setting);
                if changes {
                    self.keep(running(mode, setting))?;
                }
                return Ok(changes);
            }
            (None, _) => self.say("The blower can be off, low, heating or cooling.\n")?,
            (_, None) => self.say("The ventilator can be at off, low, high or boost.\n")?,
        }
        Ok(false)
    }

    /// `damper supply 35`. Whether one was turned.
    fn damper_by_hand(&mut self, typed: &str) -> Result<bool, Failure> {
        let (which, to) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let damper = match which.to_lowercase().as_str() {
            "supply" => Some(Damped::Supply),
            "extract" => Some(Damped::Extract),
            _ => None,
        };
        match (damper, balancing::angle(to)) {
            (Some(damper), Some(angle)) => {
                self.keep(turned(damper, angle))?;
                Ok(true)
            }
            _ => {
                self.say("Write which and to where, like: damper supply 35\n")?;
                Ok(false)
            }
        }
    }

    /// Asks for the reading that is wanted next. Whether to go on.
    fn read(&mut self, day: &Day, standing: &Standing) -> Result<bool, Failure> {
        let Some(wanted) = standing.wanted else {
            let text = standing.advice.text.clone();
            self.say(&item("", &text, NARROW))?;
            return match self.ask("A reading as PLACE = NUMBER, or quit", day, standing)? {
                Typed::Quit => Ok(false),
                Typed::Done => Ok(true),
                Typed::Answer(_) => {
                    self.say("Write it as PLACE = NUMBER.\n")?;
                    Ok(true)
                }
            };
        };
        let name = day.set_up.name(wanted.place);
        let changes =
            (wanted.blower, wanted.setting) != (day.blower, day.setting) || day.taken.is_empty();
        let mut text = String::new();
        if changes {
            text.push_str(&format!(
                "Run it so: {}. Wait until it is steady. ",
                running_words(self.job, wanted.blower, wanted.setting)
            ));
        }
        text.push_str(&format!("Read {name}."));
        if !matches!(wanted.place, Place::Station(_)) {
            text.push_str(" It would help most now.");
        }
        self.say(&item("", &text, NARROW))?;
        let question = format!("{name} [{}]", day.unit(wanted.place));
        match self.ask(&question, day, standing)? {
            Typed::Quit => return Ok(false),
            Typed::Done => {}
            Typed::Answer(text) if text.is_empty() => {
                self.say("Type what the instrument shows, ? for help, or quit.\n")?;
            }
            Typed::Answer(text) => {
                self.take(&text, wanted, day)?;
            }
        }
        Ok(true)
    }

    /// Keeps a reading as typed; explains and offers what can be done if something is wrong with
    /// it. Whether it was kept as a reading.
    fn take(&mut self, typed: &str, wanted: Wanted, day: &Day) -> Result<bool, Failure> {
        let place = wanted.place;
        let system = self.page().figures.system;
        let mut text = typed.trim().to_owned();
        let understood = day.understand(place, &text);
        if understood.is_ok() && !text.contains(|c: char| c.is_alphabetic() || c == '"') {
            let with_unit = format!("{text} {}", day.unit(place));
            let meant = understood
                .as_ref()
                .map_or_else(|_| String::new(), |value| shown(day, place, *value, system));
            let answer = self.line(&format!("That is {meant}. Enter if so, n if not "))?;
            match answer {
                Some(answer) if answer.is_empty() || answer.eq_ignore_ascii_case("y") => {
                    text = with_unit;
                }
                _ => {
                    self.say("Type it again with its unit.\n")?;
                    return Ok(false);
                }
            }
        }
        if (wanted.blower, wanted.setting) != (day.blower, day.setting) {
            self.keep(running(wanted.blower, wanted.setting))?;
        }
        let entry = self.keep(Event::Reading(day.reading(&text, wanted)))?;
        if let Err(why) = understood {
            let words = format!(
                "It was not understood: {why}. It is kept as entry {} and not used; type it again.",
                entry.number
            );
            self.say(&item("  ! ", &words, NARROW))?;
            return Ok(true);
        }
        self.look_at(&entry)?;
        Ok(true)
    }

    /// What can be said of a new reading by itself; offers the exchange of the hoses.
    fn look_at(&mut self, entry: &Entry) -> Result<(), Failure> {
        let day = self.day()?;
        let Some(taken) = day.taken.iter().find(|taken| taken.entry == entry.number) else {
            return Ok(());
        };
        let Some((place, value)) = day.exchanged(taken) else {
            return Ok(());
        };
        let system = self.page().figures.system;
        let text = format!(
            "Entry {} ({}) has the wrong sign for this place: the hoses were probably exchanged. If so it counts as {}.",
            entry.number,
            day.set_up.name(place),
            shown(&day, place, value, system)
        );
        self.say(&item("  ! ", &text, NARROW))?;
        let answer = self.line("Count it so? Enter for yes, n to read again ")?;
        if answer.is_some_and(|answer| answer.is_empty() || answer.eq_ignore_ascii_case("y")) {
            let Event::Reading(first) = &entry.event else {
                return Ok(());
            };
            for event in exchange(entry.number, first) {
                self.keep(event)?;
            }
        }
        Ok(())
    }

    /// Leads a damper to its aim. Whether to go on.
    fn turn(&mut self, day: &Day, standing: &Standing) -> Result<bool, Failure> {
        let Some(step) = standing.advice.steps.first() else {
            return Ok(false);
        };
        for step in &standing.advice.steps {
            self.say(&item("* ", &step.text, NARROW))?;
        }
        let after = format!(
            "Then it will be done with a probability of {}, as far as is known now.\n",
            sure(standing.advice.probability_after)
        );
        self.say(&after)?;
        let setting = day.goals[standing.goal].setting;
        if (step.mode, setting) != (day.blower, day.setting) {
            let words = running_words(self.job, step.mode, setting);
            self.say(&format!("Run it so: {words}.\n"))?;
            self.keep(running(step.mode, setting))?;
        }
        let Some(aim) = step.aim else {
            return self.set_at(step, None, day, standing);
        };
        let place = Place::Station(aim.station);
        let name = day.set_up.name(place);
        self.say(&gauge(day, &aim, aim.before, self.page()))?;
        loop {
            let question = format!("Turn, and type what {name} shows [{}]", day.unit(place));
            match self.ask(&question, day, standing)? {
                Typed::Quit => return Ok(false),
                Typed::Done => return Ok(true),
                Typed::Answer(text) if text.is_empty() => {
                    self.say("Type a number, set if you leave it as it is, ? or quit.\n")?;
                }
                Typed::Answer(text) if text.eq_ignore_ascii_case("set") => {
                    return self.set_at(step, None, day, standing);
                }
                Typed::Answer(text) => match day.understand(place, &text) {
                    Err(why) => {
                        self.keep(Event::Note {
                            text: format!("while turning, {name}: {text}"),
                        })?;
                        self.say(&item(
                            "  ! ",
                            &format!("It was not understood: {why}."),
                            NARROW,
                        ))?;
                    }
                    Ok(value) => {
                        let drawn = gauge(day, &aim, value, self.page());
                        self.say(&drawn)?;
                        if Gauge::new(day, &aim).reached(value) == Reached::There {
                            return self.set_at(step, Some(&text), day, standing);
                        }
                        self.keep(Event::Note {
                            text: format!(
                                "turning the {} damper: {name} shows {text}",
                                step.damper.name()
                            ),
                        })?;
                    }
                },
            }
        }
    }

    /// The damper is where it should be: asks for its mark, and keeps it with the reading there.
    fn set_at(
        &mut self,
        step: &Step,
        shown: Option<&str>,
        day: &Day,
        standing: &Standing,
    ) -> Result<bool, Failure> {
        let about = step.angles[1].round();
        let angle = loop {
            let question = format!(
                "Lock it. At which angle from open does its mark stand? Enter for about {about:.0} "
            );
            match self.line(&question)? {
                None => return Ok(false),
                Some(typed) if typed.is_empty() => break about,
                Some(typed) => match balancing::angle(&typed) {
                    Some(angle) => break angle,
                    None => self.say("Write an angle from 0 (open) to 90 (shut).\n")?,
                },
            }
        };
        self.keep(turned(step.damper, angle))?;
        let (Some(typed), Some(aim)) = (shown, step.aim) else {
            return Ok(true);
        };
        let now = self.day()?;
        let wanted = Wanted {
            place: Place::Station(aim.station),
            blower: step.mode,
            setting: day.goals[standing.goal].setting,
        };
        let text = if typed.contains(char::is_alphabetic) {
            typed.to_owned()
        } else {
            format!("{typed} {}", day.unit(wanted.place))
        };
        let reading = now.reading(&text, wanted);
        self.keep(Event::Reading(reading))?;
        Ok(true)
    }
}

/// A gauge from where the damper was to the aim with its band, and where it is now.
fn gauge(day: &Day, aim: &Aim, now: f64, page: Page<'_>) -> String {
    const CELLS: usize = 52;
    let place = Place::Station(aim.station);
    let system = page.figures.system;
    let gauge = Gauge::new(day, aim);
    let cell = |value: f64| (gauge.part(value) * (CELLS - 1) as f64).round() as usize;
    let mut line = vec!['─'; CELLS];
    for character in &mut line[cell(aim.after - gauge.band)..=cell(aim.after + gauge.band)] {
        *character = '═';
    }
    line[cell(aim.after)] = '┼';
    let mut pointer = vec![' '; CELLS];
    pointer[cell(now)] = '▲';
    let words = gauge.words(now);
    format!(
        "  aim {}\n  {}├{}┤{}\n  {}{}\n  now {}: {words}\n",
        shown(day, place, aim.after, system),
        left_label(&plain_shown(day, place, gauge.low, system)),
        line.iter().collect::<String>(),
        plain_shown(day, place, gauge.high, system),
        " ".repeat(LABEL + 1),
        pointer.iter().collect::<String>().trim_end(),
        shown(day, place, now, system),
    )
}

/// Width of the label before a gauge.
const LABEL: usize = 11;

fn left_label(text: &str) -> String {
    crate::text::right(text, LABEL)
}
