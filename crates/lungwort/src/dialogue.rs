//! The set-up day as a dialogue: one question at a time, every answer in the journal before it is
//! used.

use std::io::{BufRead, Write};
use std::path::Path;

use balancing::entries::{exchange, running, turned};
use balancing::revisit::is_of;
use balancing::words::{plain_shown, running_words, shown, sure};
use balancing::{
    Completed, Day, Gauge, INDOORS, OUTDOORS, Reached, Standing, Wanted, complete_temperature,
};
use commission::advice::{Aim, Step};
use commission::{Damped, Estimate, Interval, Place, Verdict};
use house::model::{Job, Mode, Setting};
use journal::{Entry, Event, Journal, StruckOut, Visit};
use plan::candidate::Plan;
use units::{Pressure, System, Temperature, VolumeFlow};

use crate::command_line::Options;
use crate::commands::revisit::Recorded;
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

/// What is known when a question is asked.
#[derive(Clone, Copy)]
struct Known<'b> {
    day: &'b Day,
    /// How the day stands; not on a revisit.
    standing: Option<&'b Standing>,
    /// All of it in words.
    all: &'b str,
}

impl Known<'_> {
    fn likely(&self, wanted: Wanted) -> Option<Interval> {
        self.standing?.likely(self.day, wanted)
    }
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
  a number          what the instrument shows; without a unit in the one that
                    stands in brackets
  PLACE = NUMBER    a reading of another place: a station, supply port, return
                    plenum, house ...
  damper supply 35  a damper was turned to this angle from open
  blower heating    the blower runs in another mode (off, low, heating, cooling)
  setting high      the ventilator runs at another setting
  undo              strike out the last entry; it stays, with your reason
  note TEXT         a remark for the journal
  all               everything that is known now
  quit              stop here; the next call goes on from here
";

impl<'a, I: BufRead, O: Write> Dialogue<'a, I, O> {
    /// Goes on until all is done, cannot be done, or the person stops. Whether all is done.
    pub fn run(mut self) -> Result<bool, Failure> {
        let heading = self.page().heading(&format!("Set-up of {}", self.job.name));
        self.say(&heading)?;
        if !self.begin_set_up()? {
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
                remarks: &[],
                width: NARROW,
            };
            let all = sheet.text();
            let mut text = String::new();
            if first {
                text.push_str(&item("", &sheet.aim(), NARROW));
                if let Some(words) = sheet.density() {
                    text.push_str(&item("", &words, NARROW));
                }
                for assumed in &day.assumed {
                    text.push_str(&item("", assumed, NARROW));
                }
                for remark in day.calibrations(&log::now()) {
                    text.push_str(&item("  ! ", &remark, NARROW));
                }
                text.push_str("Type ? for what else may be typed.\n");
            }
            let doubted = sheet.doubted();
            for (entry, doubt) in &doubted {
                let is_news = first || !was_misread(&day, *entry);
                if is_news && !told.contains(entry) {
                    text.push_str(&item("  ! ", doubt, NARROW));
                }
            }
            told.extend(doubted.iter().map(|(entry, _)| entry));
            first = false;
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
            let known = Known {
                day: &day,
                standing: Some(&standing),
                all: &all,
            };
            let goes_on = if ends {
                let question = match verdict {
                    Verdict::Done => "Enter to end, or another reading as PLACE = NUMBER",
                    _ => "Enter to stop here, or another reading as PLACE = NUMBER",
                };
                match self.ask_for_more(question, known)? {
                    Typed::Done => true,
                    Typed::Quit => false,
                    Typed::Answer(_) => return Ok(verdict == Verdict::Done),
                }
            } else if verdict == Verdict::Turn {
                self.turn(known, &standing)?
            } else {
                self.read(known, &standing, sheet.read())?
            };
            if !goes_on {
                self.say("What was read stands in the journal.\n")?;
                return Ok(false);
            }
            earlier = Some(standing.estimate);
        }
    }

    /// Reads again what was read on the day of the record, and says what has drifted. Whether nothing
    /// has.
    pub fn revisit(mut self) -> Result<bool, Failure> {
        let heading = self
            .page()
            .heading(&format!("Revisit of {}", self.job.name));
        self.say(&heading)?;
        let journal = self.journal()?;
        let record = Recorded::of(self.job, self.plan, &journal, self.options)?;
        if !self.begin_revisit(&journal)? {
            return Ok(false);
        }
        let mut told: Vec<u64> = Vec::new();
        let mut passed_over: Vec<Wanted> = Vec::new();
        let mut first = true;
        loop {
            let day = self.day()?;
            let visit = record.visit(&day)?;
            let page = self.page();
            let all = match &visit {
                Some(visit) => record.table(page, &day, visit) + &record.verdict(&day, visit),
                None => "Nothing is read yet.\n".to_owned(),
            };
            let mut text = String::new();
            if first {
                text.push_str(&item("", &record.dampers(), NARROW));
                for assumed in &day.assumed {
                    text.push_str(&item("", assumed, NARROW));
                }
                for remark in day.calibrations(&log::now()) {
                    text.push_str(&item("  ! ", &remark, NARROW));
                }
                text.push_str("Type ? for what else may be typed.\n");
            }
            for (entry, words) in record.each(&day, visit.as_ref()) {
                // What stood there before this call is in the table.
                if !told.contains(&entry) && !first && !was_misread(&day, entry) {
                    text.push_str(&item("  ", &words, NARROW));
                }
                told.push(entry);
            }
            let next = record
                .again
                .iter()
                .find(|again| {
                    let read = day.set_up.readings().iter();
                    !passed_over.contains(&again.wanted)
                        && !read.into_iter().any(|it| is_of(it, again))
                })
                .copied();
            first = false;
            let known = Known {
                day: &day,
                standing: None,
                all: &all,
            };
            if let Some(next) = next {
                self.say(&format!("{text}\n"))?;
                let name = day.set_up.name(next.wanted.place);
                let recorded = record.recorded(page, &day, &next);
                let read = format!("Read {name}.{recorded}");
                match self.ask_for(next.wanted, read, known)? {
                    Typed::Quit => {}
                    Typed::Done => continue,
                    Typed::Answer(text) if text.is_empty() => {
                        self.say("Passed over.\n")?;
                        passed_over.push(next.wanted);
                        continue;
                    }
                    Typed::Answer(text) => {
                        self.take(&text, next.wanted, known)?;
                        continue;
                    }
                }
            } else {
                self.say(&format!("{text}\n{all}"))?;
                let question = "Enter to end, or another reading as PLACE = NUMBER";
                if matches!(self.ask_for_more(question, known)?, Typed::Done) {
                    continue;
                }
                return Ok(visit.is_some_and(|it| it.comparison.changes.is_empty()));
            }
            self.say(&format!("\n{all}"))?;
            if visit.is_some() {
                self.say("What was read stands in the journal.\n")?;
            }
            return Ok(visit.is_some_and(|it| it.comparison.changes.is_empty()));
        }
    }

    /// Begins a revisit, or goes on with one that is begun. Whether to go on.
    fn begin_revisit(&mut self, journal: &Journal) -> Result<bool, Failure> {
        let struck = journal.struck_out();
        let begun = journal.entries().rev().find(|entry| {
            matches!(entry.event, Event::Revisit(_)) && !struck.contains_key(&entry.number)
        });
        if let Some(begun) = begun {
            let day: String = begun.time.chars().take(10).collect();
            self.say(&item(
                "",
                &format!("A revisit was begun on {day} with entry {}.", begun.number),
                NARROW,
            ))?;
            let answer = self.line("Enter to go on with it, n for a new one ")?;
            if !answer.is_some_and(|answer| answer.eq_ignore_ascii_case("n")) {
                return Ok(true);
            }
        }
        self.begin(Event::Revisit)
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
        self.say(&format!("{}> ", question.trim_end()))?;
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

    /// Begins the set-up, if the journal does not hold one. Whether to go on.
    fn begin_set_up(&mut self) -> Result<bool, Failure> {
        let journal = self.journal()?;
        let begun = journal
            .entries()
            .any(|entry| matches!(entry.event, Event::SetUp(_)));
        if begun {
            let count = journal.entries().count();
            self.say(&item(
                "",
                &format!(
                    "The journal {} has {count} {}; going on from there.",
                    self.path.display(),
                    if count == 1 { "entry" } else { "entries" }
                ),
                NARROW,
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
        self.begin(Event::SetUp)
    }

    /// The journal as it stands; says what is odd in it, and takes its last writer for the one who
    /// reads.
    fn journal(&mut self) -> Result<Journal, Failure> {
        let journal = log::read(self.path)?;
        for finding in journal.findings() {
            self.say(&item("  ! ", &finding.text(), NARROW))?;
        }
        if self.who.is_none() {
            self.who = journal.entries().next_back().map(|entry| entry.who.clone());
        }
        Ok(journal)
    }

    /// Asks who reads and how warm it is, and begins a day. Whether to go on.
    fn begin(&mut self, event: fn(Visit) -> Event) -> Result<bool, Failure> {
        if self.who.as_deref().unwrap_or_default().is_empty() {
            match self.line("Who reads?")? {
                Some(who) => self.who = Some(who),
                None => return Ok(false),
            }
        }
        let (like, mut unit) = match self.page().figures.system {
            System::Ip => ("48 F", "°F"),
            System::Si => ("9 C", "°C"),
        };
        let mut temperatures = [String::new(), String::new()];
        for (index, (question, possible)) in [
            ("Temperature outdoors", OUTDOORS),
            ("Temperature indoors", INDOORS),
        ]
        .into_iter()
        .enumerate()
        {
            loop {
                let typed = match self.line(&format!("{question} [{unit}]"))? {
                    None => return Ok(false),
                    Some(typed) if typed.is_empty() => break,
                    Some(typed) => typed,
                };
                let completed = complete_temperature(&typed, unit, possible.clone());
                let Some(typed) = self.with_unit(completed, temperature_shown)? else {
                    continue;
                };
                match balancing::temperature(&typed) {
                    Some(value) if possible.contains(&value) => {
                        unit = if typed.to_uppercase().ends_with('F') { "°F" } else { "°C" };
                        temperatures[index] = typed;
                        break;
                    }
                    _ => self.say(&item(
                        "",
                        &format!(
                            "\"{typed}\" is no temperature that it can have there, like {like}; Enter leaves it out."
                        ),
                        NARROW,
                    ))?,
                }
            }
        }
        let [outdoor, indoor] = temperatures;
        self.keep(event(Visit {
            job: self.job.name.clone(),
            outdoor,
            indoor,
            note: String::new(),
        }))?;
        Ok(true)
    }

    /// Asks for anything more until something was done or the answer is empty.
    fn ask_for_more(&mut self, question: &str, known: Known<'_>) -> Result<Typed, Failure> {
        loop {
            match self.ask(question, known)? {
                Typed::Answer(text) if !text.is_empty() => {
                    self.say("Write it as PLACE = NUMBER, or press Enter to end.\n")?;
                }
                other => return Ok(other),
            }
        }
    }

    /// Asks for an answer, and does what else may be typed.
    fn ask(&mut self, question: &str, known: Known<'_>) -> Result<Typed, Failure> {
        let Known { day, all, .. } = known;
        loop {
            let Some(typed) = self.line(question)? else {
                return Ok(Typed::Quit);
            };
            let (word, rest) = typed
                .split_once(char::is_whitespace)
                .map_or((typed.as_str(), ""), |(word, rest)| (word, rest.trim()));
            if let Some((at, value)) = typed.split_once('=') {
                if self.other_reading(at.trim(), value.trim(), known)? {
                    return Ok(Typed::Done);
                }
                continue;
            }
            match word.to_lowercase().as_str() {
                "quit" | "q" | "exit" => return Ok(Typed::Quit),
                "?" | "help" => self.say(HELP)?,
                "all" => self.say(&format!("\n{all}\n"))?,
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
    fn other_reading(&mut self, at: &str, value: &str, known: Known<'_>) -> Result<bool, Failure> {
        let day = known.day;
        match day.place(at) {
            Some(place) => {
                let wanted = Wanted {
                    place,
                    blower: day.blower,
                    setting: day.setting,
                };
                self.take(value, wanted, known)
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
                if !plan::case::blower_modes(self.job).contains(&mode) {
                    let text = format!(
                        "The survey has no blower mode {}: readings there are kept, and not used until it has.",
                        mode.name()
                    );
                    self.say(&item("  ! ", &text, NARROW))?;
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
    fn read(
        &mut self,
        known: Known<'_>,
        standing: &Standing,
        read: Option<String>,
    ) -> Result<bool, Failure> {
        let Some((wanted, read)) = standing.wanted.zip(read) else {
            let text = standing.advice.text.clone();
            self.say(&item("", &text, NARROW))?;
            return match self.ask("A reading as PLACE = NUMBER, or quit", known)? {
                Typed::Quit => Ok(false),
                Typed::Done => Ok(true),
                Typed::Answer(_) => {
                    self.say("Write it as PLACE = NUMBER.\n")?;
                    Ok(true)
                }
            };
        };
        match self.ask_for(wanted, read, known)? {
            Typed::Quit => return Ok(false),
            Typed::Done => {}
            Typed::Answer(text) if text.is_empty() => {
                self.say("Type what the instrument shows, ? for help, or quit.\n")?;
            }
            Typed::Answer(text) => {
                self.take(&text, wanted, known)?;
            }
        }
        Ok(true)
    }

    /// Says what to run and where to read, and asks for it.
    fn ask_for(
        &mut self,
        wanted: Wanted,
        read: String,
        known: Known<'_>,
    ) -> Result<Typed, Failure> {
        let day = known.day;
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
        text.push_str(&read);
        self.say(&item("", &text, NARROW))?;
        let question = format!("{name} [{}]", day.likely_unit(wanted.place));
        self.ask(&question, known)
    }

    /// Keeps a reading as typed; explains and offers what can be done if something is wrong with
    /// it. Whether it was kept as a reading.
    fn take(&mut self, typed: &str, wanted: Wanted, known: Known<'_>) -> Result<bool, Failure> {
        let day = known.day;
        let place = wanted.place;
        let system = self.page().figures.system;
        let completed = day.complete(place, typed, known.likely(wanted));
        let Some(text) = self.with_unit(completed, |text| {
            let understood = day.understood(place, text).ok()?;
            // The mean of a traverse is told when it is kept.
            (understood.places == 1).then(|| echoed(text))
        })?
        else {
            // What was typed is kept all the same.
            self.keep(Event::Note {
                text: format!("{}: {typed}, without a unit", day.set_up.name(place)),
            })?;
            return Ok(false);
        };
        let understood = day.understood(place, &text);
        if (wanted.blower, wanted.setting) != (day.blower, day.setting) {
            self.keep(running(wanted.blower, wanted.setting))?;
        }
        let entry = self.keep(Event::Reading(day.reading(&text, wanted)))?;
        match understood {
            Err(why) => {
                let words = format!(
                    "It was not understood: {why}. It is kept as entry {} and not used; type it again.",
                    entry.number
                );
                self.say(&item("  ! ", &words, NARROW))?;
                return Ok(true);
            }
            Ok(it) if it.places > 1 => self.say(&format!(
                "  mean of {} places: {}\n",
                it.places,
                shown(day, place, it.value, system)
            ))?,
            Ok(_) => {}
        }
        self.look_at(&entry)?;
        Ok(true)
    }

    /// The text with its unit: echoed where the unit was taken for granted, asked for where it makes
    /// no sense. Nothing if it is to be typed again.
    fn with_unit(
        &mut self,
        completed: Completed,
        shown: impl Fn(&str) -> Option<String>,
    ) -> Result<Option<String>, Failure> {
        match completed {
            Completed::AsTyped(text) => Ok(Some(text)),
            Completed::Meant(text) => {
                if let Some(words) = shown(&text) {
                    self.say(&format!("  = {words}\n"))?;
                }
                Ok(Some(text))
            }
            Completed::Doubtful { better, why } => {
                self.say(&item("  ! ", &why, NARROW))?;
                let Some(better) = better else {
                    self.say("Look at the number, and type it with its unit.\n")?;
                    return Ok(None);
                };
                let question = format!("Is it {better}? Enter if so, n to type it again ");
                let answer = self.line(&question)?;
                let so = answer.is_some_and(|it| it.is_empty() || it.eq_ignore_ascii_case("y"));
                if !so {
                    self.say("Type it with its unit.\n")?;
                }
                Ok(so.then_some(better))
            }
        }
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
    fn turn(&mut self, known: Known<'_>, standing: &Standing) -> Result<bool, Failure> {
        let day = known.day;
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
        let scale = Gauge::new(day, &aim);
        if !scale.tells() {
            self.say(&item("", &scale.by_the_mark(&name), NARROW))?;
            return self.set_at(step, None, day, standing);
        }
        self.say(&gauge(day, &aim, aim.before, self.page()))?;
        loop {
            let question = format!(
                "Turn, and type what {name} shows [{}]",
                day.likely_unit(place)
            );
            let likely = Interval {
                value: aim.after,
                low: aim.before.min(aim.after) * 0.5,
                high: aim.before.max(aim.after) * 2.0,
            };
            let answer = match self.ask(&question, known)? {
                Typed::Answer(text) => {
                    let completed = day.complete(place, &text, Some(likely));
                    match self.with_unit(completed, |_| None)? {
                        Some(text) => Typed::Answer(text),
                        None => continue,
                    }
                }
                other => other,
            };
            match answer {
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
        let reading = now.reading(typed, wanted);
        self.keep(Event::Reading(reading))?;
        Ok(true)
    }
}

/// A pressure or a flow as typed, with the other system beside it.
fn echoed(text: &str) -> String {
    let pressure = units::Typed::<Pressure>::parse(text).map(|typed| typed.echo());
    let flow = || units::Typed::<VolumeFlow>::parse(text).map(|typed| typed.echo());
    let echo = pressure.or_else(|_| flow());
    echo.unwrap_or_else(|_| text.to_owned()).replace('-', "−")
}

/// A temperature in both systems.
fn temperature_shown(text: &str) -> Option<String> {
    let typed = units::Typed::<Temperature>::parse(text).ok()?;
    Some(typed.echo().replace('-', "−"))
}

/// Whether an entry was not understood, which is told as soon as it is typed.
fn was_misread(day: &Day, entry: u64) -> bool {
    day.misread.iter().any(|misread| misread.entry == entry)
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
