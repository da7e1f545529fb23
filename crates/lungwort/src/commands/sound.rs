//! `lungwort sound JOB`: how loud the ventilator is in each room.

use std::fmt::Write as _;
use std::path::Path;
use units::text::fixed;

use house::model::{Job, Mode, Setting};
use plan::sound::{Power, RoomSound, SoundReport, Verdict, sound_in_rooms};
use plan::usual::usual_flows;
use serde_json::{Value, json};

use crate::command_line::Options;
use crate::commands::flows::{choose, nothing_found, unsolved};
use crate::figures::Figures;
use crate::job::{self, Usable};
use crate::objects;
use crate::outcome::{Failure, Outcome, coloured};
use crate::report::{Page, blower_words};
use crate::text::{WIDTH, cut, item, left, right};

/// Predicts the sound of the plan asked for, of the job file, or of the best plan; the answer is no
/// if a room is too loud even at the lower end of its band.
pub fn run(path: &Path, asked: Option<usize>, options: &Options) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(path)?;
    let Some(chosen) = choose(&job, asked, options)? else {
        return Ok(nothing_found(path, options).with_notes(notes));
    };
    let [_, flows, _] = usual_flows(&job, &chosen.plan).map_err(unsolved)?;
    let book = &job.rules;
    let report = sound_in_rooms(&job, &chosen.plan, &flows, book).map_err(|error| {
        Failure::message(
            format!("the sound of this plan cannot be computed: {error}"),
            "look for the number in the job file",
        )
    })?;
    let yes = report
        .rooms
        .iter()
        .all(|room| room.verdict() != Some(Verdict::Beyond));
    if options.json {
        let value = json!({
            "name": job.name,
            "problems": problems,
            "plan": objects::plan(&job, &chosen.plan),
            "place": chosen.place.map(|place| place + 1),
            "case": objects::of_case(flows.case),
            "casing": power(&report.casing),
            "ducts": power(&report.ducts),
            "rooms": report.rooms.iter().map(|room| object(&job, room)).collect::<Vec<_>>(),
        });
        return Ok(Outcome::json(&value, yes));
    }
    let page = Page {
        job: &job,
        figures: Figures {
            system: job::system(&job, options),
        },
        coloured: coloured(),
    };
    let mut text = page.heading(&job.name);
    text.push_str(&page.paragraph(&chosen.words));
    text.push_str(&page.paragraph(&page.plan_words(&chosen.plan)));
    text.push('\n');
    text.push_str(&page.heading(&format!(
        "Sound in the rooms at {}, {}",
        flows.case.setting.name(),
        blower_words(flows.case.blower)
    )));
    text.push_str(&table(&job, &report));
    text.push('\n');
    for room in &report.rooms {
        text.push_str(&item("  • ", &sentence(&job, room), WIDTH));
    }
    text.push_str(&item("  • ", &sources(&report), WIDTH));
    text.push('\n');
    text.push_str(&page.paragraph(closing(flows.case.blower, flows.case.setting)));
    Ok(Outcome::new(text, yes).with_notes(notes))
}

fn closing(blower: Mode, setting: Setting) -> &'static str {
    match (blower, setting) {
        (_, Setting::Off) => "The ventilator stands still.",
        (Mode::Off, _) => {
            "Levels are A-weighted sound pressures with a 90 % band. The tables behind them are partly from memory: compare plans with them, and measure before promising a level."
        }
        _ => {
            "Levels are A-weighted sound pressures with a 90 % band, without the sound of the air handler. The tables behind them are partly from memory: compare plans with them, and measure before promising a level."
        }
    }
}

const ROOM: usize = 26;
const NUMBER: usize = 18;

/// A level with its band: `24 ± 6`.
fn level(room: &RoomSound) -> String {
    if room.level.level < 0.0 {
        return "below 0".to_owned();
    }
    format!(
        "{} ± {}",
        fixed(room.level.level, 0),
        fixed(room.level.half_width.ceil(), 0)
    )
}

fn word(room: &RoomSound) -> &'static str {
    match room.verdict() {
        None => "no target",
        Some(Verdict::Kept) => "quiet enough",
        Some(Verdict::LikelyKept) => "probably quiet enough",
        Some(Verdict::LikelyBeyond) => "probably too loud",
        Some(Verdict::Beyond) => "too loud",
    }
}

fn table(job: &Job, report: &SoundReport) -> String {
    let mut text = format!(
        "{}{}{}  {}\n",
        left("room", ROOM),
        right("level dB(A)", NUMBER),
        right("target dB(A)", NUMBER),
        "which is"
    );
    for room in &report.rooms {
        let target = room
            .target
            .map_or_else(|| "none".to_owned(), |target| fixed(target, 0));
        let _ = writeln!(
            text,
            "{}{}{}  {}",
            left(&cut(&job.zones[room.zone].name, ROOM), ROOM),
            right(&level(room), NUMBER),
            right(&target, NUMBER),
            word(room)
        );
    }
    text
}

/// What is loudest in a room, and what would help.
fn sentence(job: &Job, room: &RoomSound) -> String {
    let name = &job.zones[room.zone].name;
    let kind = if job.zones[room.zone].bedroom {
        " (bedrooms)"
    } else {
        ""
    };
    let mut text = match room.ways.first() {
        Some(way) if room.level.level > 0.0 => format!(
            "In {name}{kind} most of it comes {} ({} dB(A)).",
            way.name,
            fixed(way.path.level.a_weighted(), 0)
        ),
        _ => format!("In {name}{kind} nothing of it is heard."),
    };
    if let Some(target) = room.target {
        let _ = write!(
            text,
            " Target {} dB(A): {}.",
            fixed(target, 0),
            room.authority
        );
    }
    if matches!(
        room.verdict(),
        Some(Verdict::LikelyBeyond | Verdict::Beyond)
    ) {
        text.push_str(match room.ways.first().map(|way| way.path.source) {
            Some(acoustics::Source::Casing) => {
                " Hang the unit farther from it, or close floor and door more tightly."
            }
            _ => " A longer insulated flexible duct or a lower setting would help.",
        });
    }
    text
}

fn sources(report: &SoundReport) -> String {
    let words = |power: &Power, untested: &str| {
        format!(
            "{} dB(A) ± {} ({})",
            fixed(power.bands.a_weighted(), 0),
            fixed(power.half_width.ceil(), 0),
            if power.tested {
                "as tested, spread over the octaves as usual fans have it"
            } else {
                untested
            }
        )
    };
    format!(
        "Sound power: the casing radiates {}; {} go into each duct.",
        words(&report.casing, "estimated from the fans"),
        words(&report.ducts, "estimated from flow and pressure")
    )
}

fn power(power: &Power) -> Value {
    json!({
        "sound_power_dba": power.bands.a_weighted(),
        "bands_db": power.bands.0,
        "half_width_db": power.half_width,
        "tested": power.tested,
    })
}

fn object(job: &Job, room: &RoomSound) -> Value {
    // Silence has no level.
    let finite = |level: f64| level.is_finite().then_some(level);
    json!({
        "zone": job.zones[room.zone].name,
        "bedroom": job.zones[room.zone].bedroom,
        "level_dba": finite(room.level.level),
        "half_width_db": room.level.half_width,
        "target_dba": room.target,
        "authority": room.authority,
        "verdict": word(room),
        "ways": room.ways.iter().map(|way| json!({
            "way": way.name,
            "level_dba": finite(way.path.level.a_weighted()),
        })).collect::<Vec<_>>(),
    })
}
