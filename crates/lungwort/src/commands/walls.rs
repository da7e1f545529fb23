//! `lungwort walls JOB`: where intake and exhaust may pierce the drawn walls.

use std::fmt::Write as _;
use std::path::Path;
use units::text::capital;

use diagnostics::nearest;
use house::model::Job;
use plan::walls::{
    Found, FoundPair, PairReport, StreamReport, TerminalReport, WallReport, Walls, WallsReport,
    state,
};
use rules::clearances::Stream;
use serde_json::{Value, json};
use siting::{Against, Judgement, PairVerdict, Place, Verdict, area};
use units::{Length, Quantity, System, Typed};

use crate::command_line::{Options, WallsAsked};
use crate::figures::Figures;
use crate::files;
use crate::job::{self, Usable};
use crate::outcome::{Failure, Outcome, coloured};
use crate::report::Page;
use crate::text::{WIDTH, item, left};

/// Tells of each wall where the ventilator may pierce it, and judges the terminals of the job. The
/// answer is yes if what is asked about keeps every rule that decides.
pub fn run(asked: &WallsAsked, options: &Options) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(&asked.job)?;
    if job.walls.is_empty() {
        return Err(Failure::message(
            "the job draws no walls",
            "add a [[wall]] for each side of the house that could be pierced, see docs/walls.md",
        ));
    }
    let walls = Walls::new(&job).map_err(|error| {
        Failure::message(
            format!("the walls cannot be used: {error}"),
            "look for the wall or the object in the job file",
        )
    })?;
    let page = Page {
        job: &job,
        figures: Figures {
            system: job::system(&job, options),
        },
        coloured: coloured(),
    };
    let writer = Writer {
        page,
        walls: &walls,
    };
    if let Some(at) = &asked.at {
        let place = point(&job, &walls, at)?;
        let outcome = writer.point(place, options);
        return Ok(outcome.with_notes(notes));
    }
    let report = walls.report(&job, page.figures.system);
    let yes = answer(&job, &report);
    let drawings = match &asked.svg {
        Some(folder) => writer.draw(&report, folder)?,
        None => Vec::new(),
    };
    if options.json {
        let mut object = writer.object(&report);
        object["name"] = job.name.clone().into();
        object["problems"] = problems;
        object["drawings"] = drawings.into();
        return Ok(Outcome::json(&object, yes));
    }
    let mut text = writer.text(&report);
    if !drawings.is_empty() {
        text.push('\n');
        for name in drawings {
            let _ = writeln!(text, "Drawn: {name}");
        }
    }
    Ok(Outcome::new(text, yes).with_notes(notes))
}

/// Whether the plan of the job file, or else any pair of its terminals, or else any place, is
/// allowed.
fn answer(job: &Job, report: &WallsReport) -> bool {
    let chosen = job.chosen.as_ref().and_then(|plan| {
        report
            .pairs
            .iter()
            .find(|pair| pair.intake == plan.intake && pair.exhaust == plan.exhaust)
    });
    match chosen {
        Some(pair) => pair.verdict.holds(),
        None if !report.pairs.is_empty() => report.pairs.iter().any(|pair| pair.verdict.holds()),
        None => {
            report.pair.is_some()
                || report
                    .walls
                    .iter()
                    .any(|wall| wall.two_in_one.best.is_some())
        }
    }
}

/// The point that `WALL, ALONG, HEIGHT` means.
fn point(job: &Job, walls: &Walls, text: &str) -> Result<Place, Failure> {
    let wrong = |why: String| {
        Failure::message(
            format!("--at {text:?}: {why}"),
            "write a wall, the distance from its left corner and the height above the ground, \
             like --at \"north wall, 9 ft, 5 ft\"",
        )
    };
    // "4,5 m" has a comma without a space.
    let parts: Vec<&str> = if text.contains(';') {
        text.split(';').collect()
    } else {
        text.split(", ").collect()
    };
    let [name, along, height] = parts.as_slice() else {
        return Err(wrong(format!(
            "three parts are asked for, there are {}",
            parts.len()
        )));
    };
    let name = name.trim();
    let Some(wall) = job
        .walls
        .iter()
        .position(|wall| wall.name.eq_ignore_ascii_case(name))
    else {
        let names = || job.walls.iter().map(|wall| wall.name.as_str());
        let hint = match nearest(name, names()) {
            Some(near) => format!("did you mean {near:?}?"),
            None => format!("the walls are {}", names().collect::<Vec<_>>().join(", ")),
        };
        return Err(Failure::message(
            format!("--at: there is no wall {name:?}"),
            hint,
        ));
    };
    let length = |text: &str| {
        Typed::<Length>::parse(text.trim())
            .map(|typed| typed.value.si())
            .map_err(|error| wrong(error.to_string()))
    };
    let (along, height) = (length(along)?, length(height)?);
    let width = job.walls[wall].width();
    if !(0.0..=width).contains(&along) || !(0.0..=60.0).contains(&height) {
        let system = if job.inch_pound_first {
            System::Ip
        } else {
            System::Si
        };
        return Err(wrong(format!(
            "this is not on the wall, which is {} wide",
            Length::from_si(width).show(system)
        )));
    }
    Ok(Place {
        wall,
        at: [along, walls.ground(wall, along) + height],
    })
}

struct Writer<'a> {
    page: Page<'a>,
    walls: &'a Walls,
}

impl Writer<'_> {
    fn system(&self) -> System {
        self.page.figures.system
    }

    /// Writes one drawing for each wall; returns the names of the files.
    fn draw(&self, report: &WallsReport, folder: &Path) -> Result<Vec<String>, Failure> {
        std::fs::create_dir_all(folder).map_err(|error| {
            Failure::message(
                format!("cannot make the folder {}: {error}", folder.display()),
                "",
            )
        })?;
        let mut names = Vec::new();
        for (index, wall) in self.page.job.walls.iter().enumerate() {
            let Some(sheet) =
                sheets::elevation(self.page.job, self.walls, report, index, self.system())
            else {
                continue;
            };
            let mut file = folder.join(format!("{}.svg", sheets::slug(&wall.name, index)));
            if names.contains(&file.display().to_string()) {
                file = folder.join(format!(
                    "{}-{}.svg",
                    sheets::slug(&wall.name, index),
                    index + 1
                ));
            }
            files::write(&file, &sheet.draw().svg, true)?;
            names.push(file.display().to_string());
        }
        Ok(names)
    }

    fn text(&self, report: &WallsReport) -> String {
        let (job, page) = (self.page.job, self.page);
        let mut text = page.heading(&job.name);
        let sets: Vec<&str> = job.rules.sets().iter().map(|set| set.name()).collect();
        let size = |length: f64| Length::from_si(length).show(self.system());
        text.push_str(&page.paragraph(&format!(
            "Rules: {}. A place is the centre of a hood of {} by {}; distances run from its edges. \
             Heights are above the ground there.",
            sets.join(", "),
            size(self.walls.hood.width),
            size(self.walls.hood.height),
        )));
        text.push('\n');
        text.push_str(&page.heading("The best pair of all walls"));
        text.push_str(&match &report.pair {
            Some(pair) => self.pair_words(pair),
            None => item(
                "  • ",
                "No pair of intake and exhaust is allowed on any wall.",
                WIDTH,
            ),
        });
        for wall in &report.walls {
            text.push('\n');
            text.push_str(&self.wall_text(wall));
        }
        if !report.terminals.is_empty() {
            text.push('\n');
            text.push_str(&page.heading("The terminals of the job"));
            for terminal in &report.terminals {
                text.push_str(&self.terminal_text(terminal));
            }
        }
        let pairs: Vec<&PairReport> = report
            .pairs
            .iter()
            .filter(|pair| pair.intake != pair.exhaust)
            .collect();
        if !pairs.is_empty() {
            text.push('\n');
            text.push_str(&page.heading("As pairs"));
            for pair in pairs {
                text.push_str(&self.pair_text(pair));
            }
        }
        text.push('\n');
        text.push_str(&self.sources());
        text
    }

    fn pair_words(&self, pair: &FoundPair) -> String {
        let name = |place: Place| &self.page.job.walls[place.wall].name;
        let mut text = String::new();
        for (what, place) in [("Intake", pair.intake), ("Exhaust", pair.exhaust)] {
            text.push_str(&item(
                "  • ",
                &format!(
                    "{what} on the {}: {}.",
                    name(place),
                    self.walls.place_words(place, self.system())
                ),
                WIDTH,
            ));
        }
        if let Some((stream, tightest)) = pair.tightest() {
            let place = match stream {
                Stream::Intake => pair.intake,
                Stream::Exhaust => pair.exhaust,
            };
            text.push_str(&item(
                "    ",
                &format!(
                    "Tightest, for the {}: {}",
                    stream_word(stream),
                    self.judgement_words(tightest, place.wall)
                ),
                WIDTH,
            ));
        }
        text
    }

    fn wall_text(&self, report: &WallReport) -> String {
        let wall = &self.page.job.walls[report.wall];
        let width = Length::from_si(wall.width()).show(self.system());
        let mut text = self
            .page
            .heading(&format!("{}, {width} wide", capital(&wall.name)));
        let words = self.walls.sentences(report, self.system());
        for (title, words) in [
            ("Intake", &words.intake),
            ("Exhaust", &words.exhaust),
            ("Both", &words.pair),
            ("Two-in-one", &words.two_in_one),
        ] {
            text.push_str(&item(&left(&format!("  {title}"), 14), words, WIDTH));
        }
        text
    }

    /// The terminal with every rule: the nearest thing of each, and whatever breaks it.
    fn terminal_text(&self, report: &TerminalReport) -> String {
        let terminal = &self.page.job.terminals[report.terminal];
        let mut text = item(
            "  • ",
            &format!(
                "{} on the {}: {}.",
                capital(&terminal.name),
                self.page.job.walls[report.place.wall].name,
                self.walls.place_words(report.place, self.system())
            ),
            WIDTH,
        );
        for (what, verdict) in [
            ("an intake", &report.intake),
            ("an exhaust", &report.exhaust),
        ] {
            if let Some(verdict) = verdict {
                text.push_str(&self.verdict_text(what, verdict, report.place.wall));
            }
        }
        text
    }

    fn verdict_text(&self, what: &str, verdict: &Verdict, wall: usize) -> String {
        let mut text = item("    ", &self.walls.allowed_words(what, verdict), WIDTH);
        for judgement in self.walls.telling(verdict, wall) {
            let mark = format!("      {}", left(state(&judgement), 12));
            text.push_str(&item(&mark, &self.judgement_words(&judgement, wall), WIDTH));
        }
        text
    }

    fn judgement_words(&self, judgement: &Judgement, wall: usize) -> String {
        self.walls.judgement_words(judgement, wall, self.system())
    }

    /// Whose each of the rules is that were judged, once.
    fn sources(&self) -> String {
        let mut sources: Vec<(&str, Vec<&str>)> = Vec::new();
        for demand in self.walls.site.demands() {
            match sources
                .iter_mut()
                .find(|(source, _)| *source == demand.source)
            {
                Some((_, rules)) => rules.push(demand.id()),
                None => sources.push((&demand.source, vec![demand.id()])),
            }
        }
        let mut text = self.page.heading("Whose rules these are");
        for (source, rules) in sources {
            text.push_str(&item(
                "  • ",
                &format!("{}: {}.", capital(source), rules.join(", ")),
                WIDTH,
            ));
        }
        text.push_str(&item(
            "  • ",
            "Rules that are \"shown only\" are from memory and in doubt: they decide nothing here. \
             The local code and the maker's instructions decide.",
            WIDTH,
        ));
        text
    }

    fn pair_text(&self, pair: &PairReport) -> String {
        let name = |terminal: usize| &self.page.job.terminals[terminal].name;
        let list = self.walls.between(&pair.verdict);
        let words = self.walls.pair_state(&pair.verdict);
        let mut text = item(
            "  • ",
            &format!(
                "Intake {}, exhaust {}: {words}.",
                name(pair.intake),
                name(pair.exhaust)
            ),
            WIDTH,
        );
        let wall = self
            .walls
            .place(&self.page.job.terminals[pair.intake])
            .map_or(0, |place| place.wall);
        for judgement in &list {
            let mark = format!("      {}", left(state(judgement), 12));
            text.push_str(&item(&mark, &self.judgement_words(judgement, wall), WIDTH));
        }
        text
    }

    /// Every rule at one point.
    fn point(&self, place: Place, options: &Options) -> Outcome {
        let verdicts = [
            ("an intake", self.walls.judge(place, Stream::Intake)),
            ("an exhaust", self.walls.judge(place, Stream::Exhaust)),
        ];
        let hood = self.walls.judge_two_in_one(place);
        let holds = |verdict: &Option<Verdict>| verdict.as_ref().is_some_and(Verdict::holds);
        let two_in_one = hood.as_ref().is_some_and(PairVerdict::holds);
        let yes = verdicts.iter().any(|(_, verdict)| holds(verdict)) || two_in_one;
        if options.json {
            let [(_, intake), (_, exhaust)] = &verdicts;
            let value = json!({
                "name": self.page.job.name,
                "place": self.place(place),
                "intake": intake.as_ref().map(|verdict| self.verdict(verdict)),
                "exhaust": exhaust.as_ref().map(|verdict| self.verdict(verdict)),
                "two_in_one": hood.as_ref().map(|pair| json!({
                    "allowed": pair.holds(),
                    "intake": self.verdict(&pair.intake),
                    "exhaust": self.verdict(&pair.exhaust),
                })),
            });
            return Outcome::json(&value, yes);
        }
        let mut text = self.page.heading(&format!(
            "{}: {}",
            capital(&self.page.job.walls[place.wall].name),
            self.walls.place_words(place, self.system())
        ));
        for (what, verdict) in &verdicts {
            if let Some(verdict) = verdict {
                text.push_str(&self.verdict_text(what, verdict, place.wall));
            }
        }
        if let Some(pair) = &hood {
            let fit = pair.intake.fit.holds();
            text.push_str(&item(
                "    ",
                match (two_in_one, fit) {
                    (true, _) => "A two-in-one hood is allowed here.",
                    (false, true) => "A two-in-one hood is not allowed here.",
                    (false, false) => "A two-in-one hood has no room here.",
                },
                WIDTH,
            ));
        }
        text.push('\n');
        text.push_str(&self.sources());
        Outcome::new(text, yes)
    }

    fn place(&self, place: Place) -> Value {
        let [along, up] = place.at;
        json!({
            "wall": self.page.job.walls[place.wall].name,
            "along_m": along,
            "height_m": up - self.walls.ground(place.wall, along),
        })
    }

    fn judgement(&self, judgement: &Judgement) -> Value {
        let demand = self.walls.demand(judgement);
        let row = &demand.clearance.row;
        json!({
            "rule": row.id,
            "demand": row.demand,
            "from": self.walls.site.name(judgement.against),
            "on": self.walls.owner(judgement.against).map(|wall| &self.page.job.walls[wall].name),
            "measure": demand.clearance.measure.name(),
            "measured_m": judgement.measured,
            "limit_m": demand.limit.value,
            "sense": demand.limit.sense.name(),
            "margin_m": finite(judgement.margin),
            "state": state(judgement),
            "exception": self.walls.exception(judgement, self.system()),
            "authority": demand.source,
            "overridden": demand.overridden,
        })
    }

    fn verdict(&self, verdict: &Verdict) -> Value {
        json!({
            "allowed": verdict.holds(),
            "room": if verdict.fit.holds() { Value::Null } else { self.walls.no_room(verdict).into() },
            "margin_m": finite(verdict.margin()),
            "rules": verdict.judgements.iter().map(|one| self.judgement(one)).collect::<Vec<_>>(),
        })
    }

    fn found(&self, found: &Found) -> Value {
        let mut value = self.place(found.place);
        value["margin_m"] = finite(found.margin);
        value["tightest"] = found
            .tightest
            .as_ref()
            .map_or(Value::Null, |tightest| self.judgement(tightest));
        value
    }

    fn pair(&self, pair: &FoundPair) -> Value {
        json!({
            "intake": self.place(pair.intake),
            "exhaust": self.place(pair.exhaust),
            "margin_m": finite(pair.verdict.margin()),
            "tightest": pair.tightest().map(|(_, tightest)| self.judgement(tightest)),
        })
    }

    fn stream(&self, stream: &StreamReport) -> Value {
        json!({
            "allowed_share": stream.share(),
            "free_m2": area(&stream.region.free),
            "allowed_m2": area(&stream.region.allowed),
            "allowed": stream.region.allowed,
            "best": stream.best.as_ref().map(|best| self.found(best)),
            "freed_by": stream.freed.iter().map(|freed| json!({
                "object": self.walls.site.name(Against::Thing(freed.thing)),
                "share": freed.share,
            })).collect::<Vec<_>>(),
        })
    }

    fn object(&self, report: &WallsReport) -> Value {
        let job = self.page.job;
        let walls: Vec<Value> = report
            .walls
            .iter()
            .map(|wall| {
                json!({
                    "wall": job.walls[wall.wall].name,
                    "intake": self.stream(&wall.intake),
                    "exhaust": self.stream(&wall.exhaust),
                    "two_in_one": self.stream(&wall.two_in_one),
                    "pair": wall.pair.as_ref().map(|pair| self.pair(pair)),
                })
            })
            .collect();
        let terminals: Vec<Value> = report
            .terminals
            .iter()
            .map(|terminal| {
                json!({
                    "terminal": job.terminals[terminal.terminal].name,
                    "place": self.place(terminal.place),
                    "allowed": terminal.holds(),
                    "as_intake": terminal.intake.as_ref().map(|verdict| self.verdict(verdict)),
                    "as_exhaust": terminal.exhaust.as_ref().map(|verdict| self.verdict(verdict)),
                })
            })
            .collect();
        let pairs: Vec<Value> = report
            .pairs
            .iter()
            .map(|pair| {
                json!({
                    "intake": job.terminals[pair.intake].name,
                    "exhaust": job.terminals[pair.exhaust].name,
                    "allowed": pair.verdict.holds(),
                    "margin_m": finite(pair.verdict.margin()),
                    "tightest": plan::walls::tightest_of(&pair.verdict)
                        .map(|(_, tightest)| self.judgement(tightest)),
                })
            })
            .collect();
        json!({
            "rule_sets": job.rules.sets().iter().map(|set| set.name()).collect::<Vec<_>>(),
            "hood_m": [self.walls.hood.width, self.walls.hood.height],
            "best_pair": report.pair.as_ref().map(|pair| self.pair(pair)),
            "walls": walls,
            "terminals": terminals,
            "pairs": pairs,
        })
    }
}

/// Infinite where nothing limits; JSON has no word for it but null.
fn finite(value: f64) -> Value {
    if value.is_finite() {
        value.into()
    } else {
        Value::Null
    }
}

fn stream_word(stream: Stream) -> &'static str {
    match stream {
        Stream::Intake => "intake",
        Stream::Exhaust => "exhaust",
    }
}
