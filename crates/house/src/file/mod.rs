//! The job file: reading it with all its problems at once.
//!
//! A job is one TOML file that a person can read and mail; the catalogue of units may stand in a
//! second file beside it. [`read`] turns it into a [`Job`] in SI with names resolved, a list of
//! [`Problems`] that point into the file, and a list of what was [`Assumed`] because the file does
//! not say. The format is described key by key by [`crate::schema`].
//!
//! ```
//! use diagnostics::Source;
//!
//! let source = Source::new("job.toml", house::file::starter());
//! let reading = house::file::read(&source, &mut |name| Err(format!("there is no file {name}")));
//! let job = reading.job.expect("the starter is a valid job");
//! assert!(!reading.problems.have_errors());
//! assert_eq!(job.building.bedrooms, 3);
//! assert!(reading.assumed.iter().any(|assumed| assumed.field == "house.leakage_exponent"));
//! ```

mod air_handler;
mod building;
mod customary;
mod joints;
mod limits;
mod plan;
mod rates;
mod reader;
mod rules;
mod station;
mod tables;
mod today;
mod unit;
pub(crate) mod value;
mod walls;
mod words;
mod zones;

use diagnostics::{Problem, Problems, Source};
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use units::System;

use crate::model::Job;
use reader::{Names, Reader};
pub(crate) use tables::{CatalogueTable, JobTable};
pub use value::{Field, Shape, Table};
use value::{Given, Path, Slot, Value};
pub use walls::stands_on_ground;

/// The version of the file format that is read.
pub const FORMAT: u32 = 1;

/// What a file says.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The job; absent if there is any error.
    pub job: Option<Job>,
    /// Everything that is wrong or doubtful, in the job file and in its catalogue.
    pub problems: Problems,
    /// Everything that the file does not say and that was taken for granted.
    pub assumed: Vec<Assumed>,
}

/// A stated default that was used because the file does not say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assumed {
    /// The key that is absent.
    pub field: String,
    /// What was taken, with its uncertainty (half-width of the 95 % interval).
    pub value: String,
    /// Why.
    pub reason: &'static str,
}

/// Reads a job file.
///
/// `load` fetches the bytes of the catalogue by its name beside the job file, or says why it cannot.
/// Whatever the bytes are, nothing panics: what is wrong is in [`Reading::problems`].
pub fn read(source: &Source, load: &mut dyn FnMut(&str) -> Result<Vec<u8>, String>) -> Reading {
    let mut reader = Reader::new(Problems::new(source.clone()));
    let job = table::<JobTable>(source, &mut reader).map(|table| cook(&table, load, &mut reader));
    let job = job.filter(|_| !reader.problems.have_errors());
    Reading {
        job,
        problems: reader.problems,
        assumed: reader.assumed,
    }
}

/// What a job file may say: every table with its keys, as it is read, for forms that ask for them.
///
/// ```
/// let job = house::file::tables();
/// let house = job.fields.iter().find(|field| field.key == "house").expect("a table");
/// assert!(house.required);
/// assert!(matches!(house.shape, house::file::Shape::Table(_)));
/// ```
pub fn tables() -> Table {
    match JobTable::shape() {
        Shape::Table(table) => table,
        // The macro `table!` makes nothing else.
        _ => Table {
            about: String::new(),
            fields: Vec::new(),
        },
    }
}

/// A commented job file to start from, valid as it stands.
pub fn starter() -> &'static str {
    include_str!("starter.toml")
}

/// A job file in which nothing is answered yet: its survey is still to be made.
///
/// ```
/// let source = diagnostics::Source::new("job.toml", house::file::blank());
/// let reading = house::file::read(&source, &mut |_| Err(String::new()));
/// // What it lacks is the house and its weather, nothing else.
/// assert_eq!(reading.problems.count(diagnostics::Severity::Error), 2);
/// ```
pub fn blank() -> &'static str {
    include_str!("blank.toml")
}

/// Parses a file and reads its tables; `None` if it is not TOML of this format.
fn table<T: Value>(source: &Source, reader: &mut Reader) -> Option<T> {
    if !source.defects().is_empty() {
        return None;
    }
    let (root, errors) = DeTable::parse_recoverable(source.text());
    for error in &errors {
        reader.problem(Problem::error(
            format!("this is not TOML: {}", error.message()),
            error.span().unwrap_or(0..0),
        ));
    }
    if !errors.is_empty() || !right_format(root.get_ref(), reader) {
        return None;
    }
    let end = source.text().find('\n').unwrap_or(source.text().len());
    let root = Spanned::new(0..end, DeValue::Table(root.into_inner()));
    T::read(&root, &Path::ROOT, reader)
}

/// Whether the format is the one that is read here; a missing one is reported with the other keys.
fn right_format(root: &DeTable, reader: &mut Reader) -> bool {
    let Some((_, item)) = root.iter().find(|(key, _)| key.get_ref() == "format") else {
        return true;
    };
    let right =
        matches!(item.get_ref(), DeValue::Integer(number) if number.as_str() == FORMAT.to_string());
    if !right {
        reader.error(
            &item.span(),
            "this format of file is not known",
            format!("this program reads format = {FORMAT}"),
        );
    }
    right
}

/// Turns the tables into a job. Goes on after mistakes, so that all of them are reported.
fn cook(
    table: &JobTable,
    load: &mut dyn FnMut(&str) -> Result<Vec<u8>, String>,
    reader: &mut Reader,
) -> Job {
    let system = reader.choice(
        "units",
        &table.units,
        System::Ip,
        "IP",
        "inch-pound units are printed first",
    );
    reader.system = system;

    let building = building::building(&table.house, reader);
    let climate = building::climate(&table.climate, reader);
    let (zones, zone_names) = zones::zones(table, &building, reader);
    let places = Places {
        zones: &zones,
        names: &zone_names,
    };
    let openings = zones::openings(table, &places, reader);
    let mut exhausts = today::exhausts(table, &places, reader);
    rates::served_by_exhausts(table, &mut exhausts, reader);
    let (appliances, nothing_burns) = today::appliances(table, &places, reader);
    let air_handler = air_handler::air_handler(table, &building, &places, reader);
    let existing = today::existing(table, &places, air_handler.as_ref(), reader);

    let ends = joints::Ends::collect(table, reader);
    let taps = joints::taps(table, air_handler.as_ref(), reader);
    let mut grilles = joints::grilles(table, &places, reader);
    rates::served_by_grilles(table.grille.each(), &mut grilles, reader);
    let (walls, wall_names) = walls::walls(table, reader);
    let terminals = joints::terminals(table, &walls, &wall_names, reader);
    let (spots, spot_names, incomplete) = joints::spots(table, &places, &climate, &ends, reader);
    let separations = joints::separations(table, &ends, &terminals, &walls, reader);

    let (units, unit_names) = unit::units(table, load, reader);
    let ducts = plan::ducts(&table.ducts, reader);
    let controls = plan::controls(table, air_handler.is_some(), reader);
    let costs = plan::costs(&table.costs, reader);
    let rules = rules::book(&table.rules, reader);
    let stations = station::stations(table, &ends, reader);
    let instruments = station::instruments(table, &stations, reader);
    let balancing = station::balancing(&table.balancing, &units, !stations.is_empty(), reader);
    let rates = rates::rates(table, &building, &zones, controls.run_share, reader);
    without_answer(table, reader);

    let mut job = Job {
        name: table.name.value().cloned().unwrap_or_default(),
        inch_pound_first: system == System::Ip,
        building,
        climate,
        zones,
        openings,
        exhausts,
        appliances,
        nothing_burns,
        existing,
        air_handler,
        spots,
        taps,
        grilles,
        walls,
        terminals,
        separations,
        units,
        ducts,
        controls,
        costs,
        rules,
        rates,
        chosen: None,
        stations,
        instruments,
        balancing,
    };
    if let Some(given) = table.plan.given() {
        let names = plan::PlanNames {
            units: &unit_names,
            spots: &spot_names,
            incomplete: &incomplete,
            ends: &ends,
        };
        job.chosen = plan::chosen(given, &job, &names, reader);
    }
    job
}

/// What the survey says it has no answer for is for people; only an empty name is a mistake.
fn without_answer(table: &JobTable, reader: &mut Reader) {
    let Some(survey) = table.survey.value() else {
        return;
    };
    for given in survey.without_answer.each() {
        if given.value.trim().is_empty() {
            reader.error(
                &given.span,
                "this name is empty",
                "name what has no answer, for instance \"filter\", or take it out",
            );
        }
    }
}

/// The zones with their names.
pub(crate) struct Places<'a> {
    zones: &'a [crate::model::Zone],
    names: &'a Names,
}

impl Places<'_> {
    /// The zone that is named, or the only one that is meant if none is.
    fn zone(
        &self,
        field: &str,
        slot: &Slot<String>,
        owner: &std::ops::Range<usize>,
        conditioned: bool,
        reader: &mut Reader,
    ) -> usize {
        match slot {
            Slot::Good(given) => self.names.resolve(field, given, reader).unwrap_or(0),
            Slot::Refused => 0,
            Slot::Absent => {
                let mut meant = (0..self.zones.len())
                    .filter(|zone| !conditioned || self.zones[*zone].kind.conditioned());
                match (meant.next(), meant.next()) {
                    (Some(zone), None) => zone,
                    _ => {
                        let names: Vec<&str> = self.names.iter().take(12).collect();
                        reader.error(
                            owner,
                            format!("{field} is missing"),
                            format!("the job has several zones: {}", names.join(", ")),
                        );
                        0
                    }
                }
            }
        }
    }
}

/// A list that must have exactly two members.
fn pair<'a>(
    field: &str,
    slot: &'a Slot<Vec<Given<String>>>,
    reader: &mut Reader,
) -> Option<[&'a Given<String>; 2]> {
    let given = slot.given()?;
    match given.value.as_slice() {
        [one, other] => Some([one, other]),
        list => {
            reader.error(
                &given.span,
                format!("{field} has {} names", list.len()),
                "it takes two, like [\"kitchen\", \"hall\"]",
            );
            None
        }
    }
}
