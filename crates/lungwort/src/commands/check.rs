//! `lungwort check JOB`: what is wrong in a job, what was read, and what was assumed.

use std::fmt::Write as _;
use std::io;
use std::path::Path;

use house::file::Assumed;
use house::model::{AirHandler, BlowerKind, Estimate, Job, Origin};
use journal::Event;
use serde_json::{Value, json};
use units::{Area, Length, Pressure, Quantity, System, Temperature, Typed, VolumeFlow, both};

use crate::command_line::Options;
use crate::job;
use crate::log;
use crate::outcome::{Failure, Outcome, style};
use crate::text::{WIDTH, item, left, wrap};

/// Reads the job and says what it says.
pub fn run(path: &Path, options: &Options) -> Result<Outcome, Failure> {
    let reading = job::read(path)?;
    let Some(job) = reading.job else {
        return Err(Failure::Problems(Box::new(reading.problems)));
    };
    let remarks = calibrations(&job, path)?;
    if options.json {
        let mut object = object(&job, &reading.assumed, reading.problems.to_json());
        object["remarks"] = remarks.into();
        return Ok(Outcome::json(&object, true));
    }
    let own = if job.inch_pound_first {
        System::Ip
    } else {
        System::Si
    };
    let system = options.units.map_or(own, System::from);
    let text = summary(&job, &reading.assumed, system);
    let mut notes = reading.problems.render(style(&io::stderr()));
    for remark in remarks {
        notes.push_str(&item("warning: ", &remark, WIDTH));
    }
    Ok(Outcome::yes(text).with_notes(notes))
}

/// What is to be said of the calibration of the instruments on the day of the last reading; today, if
/// nothing is read.
fn calibrations(job: &Job, path: &Path) -> Result<Vec<String>, Failure> {
    let journal = log::read(&log::path_of(path))?;
    let last = journal
        .entries()
        .rev()
        .find(|entry| matches!(entry.event, Event::Reading(_)));
    let day = last.map_or_else(log::now, |entry| entry.time.clone());
    Ok(balancing::calibrations(
        job.instruments.iter(),
        &day,
        last.is_some(),
    ))
}

fn object(job: &Job, assumed: &[Assumed], problems: Value) -> Value {
    let assumed: Vec<Value> = assumed
        .iter()
        .map(|assumed| {
            json!({
                "field": assumed.field,
                "value": assumed.value,
                "reason": assumed.reason,
            })
        })
        .collect();
    let building = &job.building;
    json!({
        "name": job.name,
        "problems": problems,
        "assumed": assumed,
        "house": {
            "place": building.place,
            "altitude_m": building.altitude,
            "floor_area_m2": building.floor_area,
            "ceiling_height_m": building.ceiling_height,
            "storeys": building.storeys,
            "bedrooms": building.bedrooms,
            "occupants": building.occupants,
            "leakage_at_50_pa_m3_s": building.leakage_at_50_pascals.value,
        },
        "zones": job.zones.len(),
        "blower_modes": job.air_handler.as_ref().map_or(0, |handler| handler.modes.len()),
        "units": job.units.len(),
        "spots": job.spots.len(),
        "taps": job.taps.len(),
        "grilles": job.grilles.len(),
        "terminals": job.terminals.len(),
        "walls": job.walls.len(),
        "wall_objects": job.walls.iter().map(|wall| wall.objects.len()).sum::<usize>(),
        "duct_diameters_m": job.ducts.diameters,
        "plan_chosen": job.chosen.is_some(),
    })
}

/// Width of the words before a value, in characters.
const WORDS: usize = 22;

fn summary(job: &Job, assumed: &[Assumed], system: System) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}\n", job.name);
    house(&mut text, job, system);
    if let Some(handler) = &job.air_handler {
        air_handler(&mut text, handler, system);
    }
    candidates(&mut text, job, system);
    assumptions(&mut text, assumed);
    let _ = writeln!(text, "The job can be used.");
    text
}

fn row(text: &mut String, words: &str, value: &str) {
    let mut lines = wrap(value, WIDTH - WORDS - 3).into_iter();
    let first = lines.next().unwrap_or_default();
    let _ = writeln!(text, "  {} {first}", left(words, WORDS));
    for line in lines {
        let _ = writeln!(text, "  {} {line}", left("", WORDS));
    }
}

fn house(text: &mut String, job: &Job, system: System) {
    let building = &job.building;
    let _ = writeln!(text, "The house");
    row(text, "place", &building.place);
    row(
        text,
        "altitude",
        &both(Length::from_si(building.altitude), system),
    );
    row(
        text,
        "floor area",
        &both(Area::from_si(building.floor_area), system),
    );
    row(
        text,
        "ceiling height",
        &both(Length::from_si(building.ceiling_height), system),
    );
    row(
        text,
        "people",
        &format!(
            "{}, {}",
            count(building.occupants as usize, "occupant"),
            count(building.bedrooms as usize, "bedroom")
        ),
    );
    row(
        text,
        "leakage at 50 Pa",
        &estimate::<VolumeFlow>(&building.leakage_at_50_pascals, system),
    );
    let outdoor: Vec<String> = job
        .climate
        .weathers
        .iter()
        .map(|weather| both(Temperature::from_si(weather.outdoor), system))
        .collect();
    row(text, "winter, mild, summer", &outdoor.join(", "));
    let zones: Vec<&str> = job.zones.iter().map(|zone| zone.name.as_str()).collect();
    row(text, "zones", &zones.join(", "));
    text.push('\n');
}

fn air_handler(text: &mut String, handler: &AirHandler, system: System) {
    let blower = match handler.blower {
        BlowerKind::FixedSpeedTap => "on a fixed speed tap",
        BlowerKind::ConstantTorque => "of constant torque",
        BlowerKind::ConstantAirflow => "of constant airflow",
        BlowerKind::AsMeasured => "as measured",
    };
    let _ = writeln!(text, "The air handler, its blower {blower}");
    for mode in &handler.modes {
        let pressure = |pressure: &Option<Estimate>, words: &str| {
            pressure
                .as_ref()
                .map(|pressure| format!(", {words} {}", estimate::<Pressure>(pressure, system)))
                .unwrap_or_default()
        };
        let value = format!(
            "{}{}{}",
            estimate::<VolumeFlow>(&mode.flow, system),
            pressure(&mode.return_pressure, "return plenum"),
            pressure(&mode.supply_pressure, "supply plenum"),
        );
        row(text, mode.mode.name(), &value);
    }
    text.push('\n');
}

fn candidates(text: &mut String, job: &Job, system: System) {
    let _ = writeln!(text, "To choose from");
    let names = |names: Vec<&str>| match names.is_empty() {
        true => "none".to_owned(),
        false => names.join(", "),
    };
    let all = [
        (
            "units",
            names(job.units.iter().map(|x| x.name.as_str()).collect()),
        ),
        (
            "spots",
            names(job.spots.iter().map(|x| x.name.as_str()).collect()),
        ),
        (
            "taps",
            names(job.taps.iter().map(|x| x.name.as_str()).collect()),
        ),
        (
            "grilles",
            names(job.grilles.iter().map(|x| x.name.as_str()).collect()),
        ),
        (
            "terminals",
            names(job.terminals.iter().map(|x| x.name.as_str()).collect()),
        ),
        (
            "walls",
            names(job.walls.iter().map(|x| x.name.as_str()).collect()),
        ),
    ];
    for (words, value) in all {
        row(text, words, &value);
    }
    let diameters: Vec<String> = job
        .ducts
        .diameters
        .iter()
        .map(|diameter| both(Length::from_si(*diameter), system))
        .collect();
    row(text, "duct diameters", &diameters.join(", "));
    text.push('\n');
}

/// Width of what is assumed, in characters.
const ASSUMED: usize = 46;

fn assumptions(text: &mut String, assumed: &[Assumed]) {
    if assumed.is_empty() {
        return;
    }
    let _ = writeln!(text, "Assumed, because the file does not say");
    for assumed in assumed {
        let what = wrap(&format!("{} = {}", assumed.field, assumed.value), ASSUMED);
        let why = wrap(assumed.reason, WIDTH - ASSUMED - 4);
        for line in 0..what.len().max(why.len()) {
            let part = |lines: &[String]| lines.get(line).cloned().unwrap_or_default();
            let row = format!("  {}  {}", left(&part(&what), ASSUMED), part(&why));
            let _ = writeln!(text, "{}", row.trim_end());
        }
    }
    text.push('\n');
}

/// What was typed with the other system beside it, or what was assumed.
fn estimate<Q: Quantity>(estimate: &Estimate, system: System) -> String {
    match &estimate.origin {
        Origin::Typed(typed) => match typed.parse::<Typed<Q>>() {
            Ok(quantity) => quantity.echo(),
            // Typed as another quantity, such as air changes.
            Err(_) if !typed.is_empty() => {
                format!("{typed} ({})", both(Q::from_si(estimate.value), system))
            }
            Err(_) => both(Q::from_si(estimate.value), system),
        },
        Origin::Default(_) => format!("{}, assumed", both(Q::from_si(estimate.value), system)),
    }
}

fn count(number: usize, thing: &str) -> String {
    match number {
        1 => format!("1 {thing}"),
        _ => format!("{number} {thing}s"),
    }
}
