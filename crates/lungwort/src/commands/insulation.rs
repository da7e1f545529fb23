//! `lungwort insulation JOB`: whether the ventilator's ducts sweat, and what keeps them dry.

use std::fmt::Write as _;
use std::path::Path;
use units::text::{capital, fixed, true_minus};

use house::model::Job;
use plan::condensation::{DuctSurface, Jacket, MARGIN, Verdict, duct_surfaces};
use plan::duct_runs::Use;
use plan::usual::usual_flows;
use serde_json::{Value, json};
use units::{Length, Quantity, System, Temperature, ThermalResistance};

use crate::command_line::Options;
use crate::commands::flows::{choose, nothing_found, unsolved};
use crate::figures::Figures;
use crate::job::{self, Usable};
use crate::objects;
use crate::outcome::{Failure, Outcome, coloured};
use crate::report::{Page, season_name};
use crate::text::{WIDTH, item, left, right};

/// Judges the ducts of the plan asked for, of the job file, or of the best plan; the answer is no if
/// one sweats.
pub fn run(path: &Path, asked: Option<usize>, options: &Options) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(path)?;
    let Some(chosen) = choose(&job, asked, options)? else {
        return Ok(nothing_found(path, options).with_notes(notes));
    };
    let flows = usual_flows(&job, &chosen.plan).map_err(unsolved)?;
    let ducts = duct_surfaces(&job, &chosen.plan, &flows).map_err(|error| {
        Failure::message(
            format!("the ducts of this plan cannot be judged: {error}"),
            "look for the number in the job file",
        )
    })?;
    let yes = ducts.iter().all(|duct| {
        duct.verdict() != Verdict::Sweats && duct.inside_margin.is_none_or(|m| m > 0.0)
    });
    if options.json {
        let value = json!({
            "name": job.name,
            "problems": problems,
            "plan": objects::plan(&job, &chosen.plan),
            "place": chosen.place.map(|place| place + 1),
            "insulation_m2_k_w": job.ducts.insulation,
            "margin_asked_k": MARGIN,
            "ducts": ducts.iter().map(|duct| object(&job, duct)).collect::<Vec<_>>(),
        });
        return Ok(Outcome::json(&value, yes));
    }
    let system = job::system(&job, options);
    let page = Page {
        job: &job,
        figures: Figures { system },
        coloured: coloured(),
    };
    let mut text = page.heading(&job.name);
    text.push_str(&page.paragraph(&chosen.words));
    text.push_str(&page.paragraph(&page.plan_words(&chosen.plan)));
    text.push('\n');
    text.push_str(&page.heading(&format!(
        "Do the ducts sweat with {}?",
        resistance(job.ducts.insulation, system)
    )));
    for sentence in ducts.iter().map(|duct| sentence(&job, duct, system)) {
        text.push_str(&item("  • ", &sentence, WIDTH));
    }
    for sentence in rule_sentences(&job, &ducts, system) {
        text.push_str(&item("  • ", &sentence, WIDTH));
    }
    text.push('\n');
    text.push_str(&page.heading(&format!(
        "Outer surface above the dew point around it ({}), plain jacket / bright foil",
        unit(system)
    )));
    text.push_str(&table(&ducts, system));
    text.push('\n');
    text.push_str(&page.paragraph(
        "Below 0 the duct sweats. R-values are those printed on the jacket. Compressed or torn insulation and gaps are not counted: they are what fails in practice. The humidity of the rooms and the ducts' surroundings are the job file's, or assumed; `lungwort check` says which.",
    ));
    Ok(Outcome::new(text, yes).with_notes(notes))
}

/// The word for the air in a duct.
fn air_word(carries: Use) -> &'static str {
    match carries {
        Use::Intake => "outdoor air",
        Use::Supply => "supply air",
        Use::Extract => "extract air",
        Use::Exhaust => "exhaust air",
    }
}

fn resistance(resistance: f64, system: System) -> String {
    if resistance < 1e-6 {
        return "no insulation".to_owned();
    }
    ThermalResistance::from_si(resistance).show(system)
}

/// A needed resistance, rounded up to a tenth of an R.
fn needed(needed: f64, system: System) -> String {
    const TENTH: f64 = 0.1 * insulation::R_VALUE;
    if needed < TENTH {
        return "next to none".to_owned();
    }
    resistance((needed / TENTH).ceil() * TENTH, system)
}

fn temperature(temperature: f64, system: System) -> String {
    true_minus(Temperature::from_si(temperature).show(system))
}

fn unit(system: System) -> &'static str {
    match system {
        System::Ip => "°F",
        System::Si => "K",
    }
}

/// A difference of temperatures in the unit of the system.
fn difference(kelvin: f64, system: System) -> f64 {
    match system {
        System::Ip => 1.8 * kelvin,
        System::Si => kelvin,
    }
}

fn with_unit(kelvin: f64, system: System) -> String {
    format!("{} {}", fixed(difference(kelvin, system), 1), unit(system))
}

/// What is said about one duct in one season.
fn sentence(job: &Job, duct: &DuctSurface, system: System) -> String {
    let zone = &job.zones[duct.zone].name;
    let [plain, foil] = duct.own.margin;
    let head = format!(
        "{} in {} ({} in {zone} at {})",
        capital(air_word(duct.carries)),
        season_name(duct.season),
        temperature(duct.temperature, system),
        temperature(duct.around, system),
    );
    let mut text = match duct.verdict() {
        Verdict::Dry => format!(
            "{head}: dry. The surface stays {} above the dew point of {}.",
            with_unit(plain.min(foil), system),
            temperature(duct.dew_point, system)
        ),
        Verdict::DryIfPlain => format!(
            "{head}: dry with a plain jacket ({} above the dew point of {}), too cold with bright foil ({}).",
            with_unit(plain, system),
            temperature(duct.dew_point, system),
            with_unit(foil, system)
        ),
        Verdict::Sweats => format!(
            "{head}: it sweats. The surface is {} from the dew point of {}; {} is asked for.",
            with_unit(plain, system),
            temperature(duct.dew_point, system),
            with_unit(MARGIN, system)
        ),
    };
    match duct.needed {
        [Some(plain), Some(foil)] if foil > 0.0 => {
            let _ = write!(
                text,
                " Needed: {} with a plain jacket, {} with foil.",
                needed(plain, system),
                needed(foil, system)
            );
        }
        [Some(_), Some(_)] => {}
        _ => {
            text.push_str(" No usual insulation is enough with foil: dry the air or move the duct.")
        }
    }
    if duct.seal {
        text.push_str(" Its air is colder than the dew point: the jacket has to be continuous and sealed, or it gets wet inside.");
    }
    if (duct.after - duct.temperature).abs() >= 0.1 {
        let _ = write!(
            text,
            " Over {} its air changes by {} to {}.",
            Length::from_si(duct.length).show(system),
            with_unit((duct.after - duct.temperature).abs(), system),
            temperature(duct.after, system)
        );
    }
    if let Some(margin) = duct.inside_margin.filter(|&margin| margin < MARGIN) {
        let _ = write!(
            text,
            " Inside, its wall is {} from the dew point of the house air: water may run in the duct; insulate it better or let it drain.",
            with_unit(margin, system)
        );
    }
    text
}

/// Whether the insulation keeps the rules for it.
fn rule_sentences(job: &Job, ducts: &[DuctSurface], system: System) -> Vec<String> {
    let book = &job.rules;
    let inside = ducts
        .first()
        .is_none_or(|duct| job.zones[duct.zone].kind.conditioned());
    let row = if inside {
        "cold duct insulation"
    } else {
        "duct insulation"
    };
    let Some(ruling) = book.limit(row) else {
        return Vec::new();
    };
    let own = resistance(job.ducts.insulation, system);
    let limit = resistance(ruling.limit.value, system);
    let words = if ruling.limit.holds(job.ducts.insulation) {
        "keeps"
    } else {
        "is less than"
    };
    vec![format!(
        "{} {words} the {limit} of {} for {}.",
        capital(&own),
        ruling.source(),
        ruling.row.applies_to
    )]
}

const NAME: usize = 22;
const CELL: usize = 14;

fn table(ducts: &[DuctSurface], system: System) -> String {
    let mut text = left("", NAME);
    for jacket in ducts.first().map_or(&[][..], |duct| &duct.jackets[..]) {
        text.push_str(&right(
            &match jacket.resistance {
                r if r < 1e-6 => "bare".to_owned(),
                r => resistance(r, system),
            },
            CELL,
        ));
    }
    let _ = writeln!(text, "{}", right("own", CELL));
    let cell = |jacket: &Jacket| {
        let [plain, foil] = jacket
            .margin
            .map(|margin| fixed(difference(margin, system), 1));
        right(&format!("{plain} / {foil}"), CELL)
    };
    for duct in ducts {
        text.push_str(&left(
            &format!("{}, {}", air_word(duct.carries), season_name(duct.season)),
            NAME,
        ));
        for jacket in &duct.jackets {
            text.push_str(&cell(jacket));
        }
        let _ = writeln!(text, "{}", cell(&duct.own));
    }
    text
}

fn object(job: &Job, duct: &DuctSurface) -> Value {
    let jacket = |jacket: &Jacket| {
        json!({
            "resistance_m2_k_w": jacket.resistance,
            "plain": { "surface_c": jacket.surface[0], "margin_k": jacket.margin[0] },
            "foil": { "surface_c": jacket.surface[1], "margin_k": jacket.margin[1] },
        })
    };
    json!({
        "carries": air_word(duct.carries),
        "season": season_name(duct.season),
        "zone": job.zones[duct.zone].name,
        "length_m": duct.length,
        "mass_flow_kg_s": duct.mass_flow,
        "temperature_c": duct.temperature,
        "around_c": duct.around,
        "dew_point_c": duct.dew_point,
        "seal": duct.seal,
        "verdict": match duct.verdict() {
            Verdict::Dry => "dry",
            Verdict::DryIfPlain => "dry with a plain jacket",
            Verdict::Sweats => "sweats",
        },
        "own": jacket(&duct.own),
        "jackets": duct.jackets.iter().map(jacket).collect::<Vec<_>>(),
        "needed_m2_k_w": { "plain": duct.needed[0], "foil": duct.needed[1] },
        "after_c": duct.after,
        "inside_margin_k": duct.inside_margin,
    })
}
