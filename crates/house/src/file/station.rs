//! Stations, instruments, and what the set-up has to reach.

use std::ops::Range;

use units::{Fraction, Pressure, Quantity, VolumeFlow};

use super::joints::Ends;
use super::reader::{Names, Reader, unknown_name};
use super::tables::{BalancingTable, InstrumentTable, JobTable, StationTable};
use super::value::{Given, Number, Slot, shortened};
use super::words::{Shown, StationKind};
use crate::model::{
    Balancing, Instrument, InstrumentKind, Meets, Mode, OrificeTaps, Section, Setting, Station,
    StationDevice, Unit,
};

/// The stations, with everything that is wrong in them.
pub(super) fn stations(table: &JobTable, ends: &Ends, reader: &mut Reader) -> Vec<Station> {
    let members = table.station.each();
    Names::collect("station", members, |station| &station.name, reader);
    members
        .iter()
        .map(|given| station(given, table, ends, reader))
        .collect()
}

fn station(
    given: &Given<StationTable>,
    job: &JobTable,
    ends: &Ends,
    reader: &mut Reader,
) -> Station {
    let table = &given.value;
    let name = table.name.value().cloned().unwrap_or_default();
    let meets = meets(table, job, ends, reader);
    let kind = table.device.value().copied();
    foreign_keys(table, kind, reader);
    let device = device(given, kind, &name, reader);
    let humidity = reader.share("station.humidity", &table.humidity);
    let temperature = table.temperature.given().map(|_| {
        super::limits::temperature(
            "station.temperature",
            &table.temperature,
            -50.0..=80.0,
            "from -58 to 176 °F (-50 to 80 °C)",
            reader,
        )
    });
    let flow = device.shows_flow();
    let reads_in = reads_in(table, &device, flow, reader);
    Station {
        calibration: calibration(table, kind, &name, reader),
        humidity: reader.or_default::<Fraction, _>(
            "station.humidity",
            &table.humidity,
            humidity,
            0.4,
            "changes the density by less than 1 % in a house",
        ),
        name,
        meets,
        device,
        temperature,
        reads_in,
    }
}

fn meets(table: &StationTable, job: &JobTable, ends: &Ends, reader: &mut Reader) -> Meets {
    let Some(given) = table.meets.given() else {
        return Meets::Supply;
    };
    match given.value.to_lowercase().as_str() {
        "supply" => Meets::Supply,
        "extract" => Meets::Extract,
        "blower" => {
            if job.air_handler.is_absent() {
                reader.error(
                    &given.span,
                    "station.meets: the job has no air handler, so there is no blower",
                    "add [air_handler], or name another air",
                );
            }
            Meets::Blower
        }
        _ => match ends.find(&given.value) {
            Some(end) => Meets::Duct(end),
            None => {
                let known = ["supply", "extract", "blower"].into_iter();
                unknown_name(
                    "station.meets",
                    "air, tap, grille or terminal",
                    given,
                    known.chain(ends.names()),
                    reader,
                );
                Meets::Supply
            }
        },
    }
}

/// Reports keys that belong to another device.
fn foreign_keys(table: &StationTable, kind: Option<StationKind>, reader: &mut Reader) {
    use StationKind::{
        AveragingProbe, Chart, ExhaustBox, FlowPlate, Orifice, PassiveHood, PitotTraverse, PowerLaw,
    };
    fn place<T>(slot: &Slot<T>) -> Option<Range<usize>> {
        slot.given().map(|given| given.span.clone())
    }
    let Some(kind) = kind else { return };
    let mut only = |key: &str, place: Option<Range<usize>>, kinds: &[StationKind], words: &str| {
        if let Some(span) = place
            && !kinds.contains(&kind)
        {
            reader.error(
                &span,
                format!("station.{key} belongs to {words}"),
                "remove it, or correct station.device",
            );
        }
    };
    only("chart", place(&table.chart), &[Chart], "a chart");
    only("passes", place(&table.passes), &[PowerLaw], "a power law");
    only(
        "exponent",
        place(&table.exponent),
        &[PowerLaw],
        "a power law",
    );
    only(
        "duct",
        place(&table.duct),
        &[Orifice, AveragingProbe, PitotTraverse],
        "an orifice, an averaging probe or a Pitot traverse",
    );
    only("opening", place(&table.opening), &[Orifice], "an orifice");
    only("taps", place(&table.taps), &[Orifice], "an orifice");
    only(
        "factor",
        place(&table.factor),
        &[AveragingProbe],
        "an averaging probe",
    );
    only(
        "held_back",
        place(&table.held_back),
        &[PassiveHood],
        "a passive hood",
    );
    only(
        "with_filter",
        place(&table.with_filter),
        &[FlowPlate],
        "a flow plate",
    );
    only(
        "with_plate",
        place(&table.with_plate),
        &[FlowPlate],
        "a flow plate",
    );
    only(
        "opening_area",
        place(&table.opening_area),
        &[ExhaustBox],
        "an exhaust box",
    );
}

fn device(
    given: &Given<StationTable>,
    kind: Option<StationKind>,
    name: &str,
    reader: &mut Reader,
) -> StationDevice {
    let table = &given.value;
    let needs = |key: &str, what: &str, absent: bool, reader: &mut Reader| {
        if absent {
            reader.error(&given.span, format!("station.{key} is missing"), what);
        }
    };
    match kind {
        Some(StationKind::Chart) => {
            needs(
                "chart",
                "copy the unit's chart, like chart = [\"0.10 inWC, 46 cfm\", \"0.20 inWC, 64 cfm\"]",
                table.chart.is_absent(),
                reader,
            );
            chart(table, reader)
        }
        Some(StationKind::PowerLaw) => {
            needs(
                "passes",
                "say what it passes at some pressure, like passes = \"12.4 cfm at 1 Pa\"",
                table.passes.is_absent(),
                reader,
            );
            let exponent = reader
                .number(
                    "station.exponent",
                    &table.exponent,
                    0.4..=1.0,
                    (0.5, 0.01),
                    "a pressure made by velocity goes with the square of the flow",
                )
                .value;
            let (flow, pressure) = match table.passes.given() {
                Some(given) if given.value.flow > 0.0 && given.value.pressure > 0.0 => {
                    (given.value.flow, given.value.pressure)
                }
                Some(given) => {
                    reader.error(
                        &given.span,
                        "station.passes has to be above zero",
                        "write a flow at a pressure, like 12.4 cfm at 1 Pa",
                    );
                    (f64::NAN, f64::NAN)
                }
                None => (f64::NAN, f64::NAN),
            };
            StationDevice::PowerLaw {
                coefficient: flow / pressure.powf(exponent),
                exponent,
            }
        }
        Some(StationKind::Orifice) => orifice(given, &needs, reader),
        Some(StationKind::AveragingProbe) => {
            needs(
                "duct",
                "give its inner size, like duct = \"6 in\"",
                table.duct.is_absent(),
                reader,
            );
            needs(
                "factor",
                "read it on the sheet of the probe, like factor = 0.81",
                table.factor.is_absent(),
                reader,
            );
            StationDevice::AveragingProbe {
                area: area(table),
                factor: plain_number("station.factor", &table.factor, [0.3, 1.2], reader),
            }
        }
        Some(StationKind::PitotTraverse) => {
            needs(
                "duct",
                "give its inner size, like duct = \"6 in\"",
                table.duct.is_absent(),
                reader,
            );
            StationDevice::PitotTraverse { area: area(table) }
        }
        Some(StationKind::PassiveHood) => {
            let held_back = reader.within(
                "station.held_back",
                &table.held_back,
                0.0..=0.5,
                "from 0 to 50 %",
            );
            StationDevice::PassiveHood {
                held_back: reader.or_default::<Fraction, _>(
                    &format!("station \"{name}\" held_back"),
                    &table.held_back,
                    held_back,
                    0.05,
                    "usual for a passive hood at the flows of a house (from memory)",
                ),
            }
        }
        Some(StationKind::FlowPlate) => {
            for (key, absent) in [
                ("with_filter", table.with_filter.is_absent()),
                ("with_plate", table.with_plate.is_absent()),
            ] {
                needs(
                    key,
                    "read the supply plenum pressure once with the filter and once with the plate",
                    absent,
                    reader,
                );
            }
            StationDevice::FlowPlate {
                with_filter: reader.positive("station.with_filter", &table.with_filter),
                with_plate: reader.positive("station.with_plate", &table.with_plate),
            }
        }
        Some(StationKind::ExhaustBox) => {
            needs(
                "opening_area",
                "measure the opening of the box, like opening_area = \"36 in2\"",
                table.opening_area.is_absent(),
                reader,
            );
            StationDevice::ExhaustBox {
                area: reader.positive("station.opening_area", &table.opening_area),
            }
        }
        Some(StationKind::PoweredHood) | None => StationDevice::PoweredHood,
    }
}

fn chart(table: &StationTable, reader: &mut Reader) -> StationDevice {
    let points = table.chart.each();
    if let Some(given) = table.chart.given()
        && points.len() < 2
    {
        reader.error(
            &given.span,
            format!("station.chart has {} points", points.len()),
            "it takes at least two, each as pressure and flow",
        );
    }
    for given in points {
        if given.value.pressure <= 0.0 || given.value.flow <= 0.0 {
            reader.error(
                &given.span,
                "station.chart has a point that is not above zero",
                "leave out the point at zero",
            );
        }
    }
    for pair in points.windows(2) {
        let (before, after) = (pair[0].value, pair[1].value);
        if after.pressure <= before.pressure || after.flow <= before.flow {
            reader.error(
                &pair[1].span,
                "station.chart does not rise here",
                "give its points from the lowest pressure to the highest; flow rises with pressure",
            );
        }
    }
    let points = points
        .iter()
        .map(|given| (given.value.pressure, given.value.flow));
    StationDevice::Chart(points.collect())
}

fn orifice(
    given: &Given<StationTable>,
    needs: &dyn Fn(&str, &str, bool, &mut Reader),
    reader: &mut Reader,
) -> StationDevice {
    let table = &given.value;
    needs(
        "duct",
        "give its inner diameter, like duct = \"6 in\"",
        table.duct.is_absent(),
        reader,
    );
    needs(
        "opening",
        "measure the opening of the plate, like opening = \"4 in\"",
        table.opening.is_absent(),
        reader,
    );
    let duct = match table.duct.given() {
        Some(given) => match given.value {
            Section::Round(diameter) => diameter,
            Section::Rectangular(..) => {
                reader.error(
                    &given.span,
                    "station.duct: an orifice plate is for a round duct",
                    "give a diameter; in a rectangular duct use a Pitot traverse",
                );
                f64::NAN
            }
        },
        None => f64::NAN,
    };
    let opening = reader.within(
        "station.opening",
        &table.opening,
        0.0125..=0.75,
        "from 1/2 in to 30 in (12.5 mm to 750 mm)",
    );
    if let Some(given) = table.opening.given()
        && !(0.1..=0.75).contains(&(opening / duct))
        && opening.is_finite()
        && duct.is_finite()
    {
        reader.error(
            &given.span,
            format!(
                "station.opening is {:.0} % of the duct's diameter",
                100.0 * opening / duct
            ),
            "ISO 5167-2 covers 10 to 75 %",
        );
    }
    StationDevice::Orifice {
        opening,
        duct,
        taps: reader.choice(
            "station.taps",
            &table.taps,
            OrificeTaps::Flange,
            "flange",
            "usual for plates in ducts (from memory)",
        ),
    }
}

fn area(table: &StationTable) -> f64 {
    table
        .duct
        .value()
        .map_or(f64::NAN, |section| section.area())
}

/// A number in a range, without an uncertainty of its own.
fn plain_number(field: &str, slot: &Slot<Number>, range: [f64; 2], reader: &mut Reader) -> f64 {
    let Some(given) = slot.given() else {
        return f64::NAN;
    };
    if !(range[0]..=range[1]).contains(&given.value.value) {
        reader.error(
            &given.span,
            format!("{field} cannot be {}", shortened(&given.value.text)),
            format!("it must be from {} to {}", range[0], range[1]),
        );
    }
    given.value.value
}

/// Relative standard deviation of the calibration.
fn calibration(
    table: &StationTable,
    kind: Option<StationKind>,
    name: &str,
    reader: &mut Reader,
) -> f64 {
    let straight = table.straight.given().map(|given| {
        plain_number("station.straight", &table.straight, [0.0, 100.0], reader);
        given.value.value
    });
    let typed = reader.within(
        "station.uncertainty",
        &table.uncertainty,
        0.001..=0.6,
        "from 0.1 to 60 %",
    );
    if !table.uncertainty.is_absent() {
        return typed / 2.0;
    }
    // Half-widths of the 95 % interval.
    let (half_width, reason) = match (kind, straight) {
        (Some(StationKind::Chart | StationKind::PowerLaw), _) => (
            0.10,
            "makers print 10 to 15 % for the chart of a unit's own stations (from memory)",
        ),
        (Some(StationKind::PoweredHood), _) => (
            0.12,
            "a powered hood with its set-up in the field (Stratton, Walker and Wray, LBNL)",
        ),
        (Some(StationKind::PassiveHood), _) => (
            0.25,
            "a passive hood in the field, half of what was found (Stratton, Walker and Wray, LBNL)",
        ),
        (Some(StationKind::FlowPlate), _) => (0.07, "usual for a flow plate (from memory)"),
        (Some(StationKind::ExhaustBox), _) => {
            (0.15, "usual for a box with an opening (from memory)")
        }
        (_, Some(straight)) if straight >= 8.0 => (
            0.06,
            "eight diameters of straight duct before it (a judgement, no published source)",
        ),
        (_, Some(straight)) if straight >= 4.0 => (
            0.12,
            "four diameters of straight duct before it (a judgement, no published source)",
        ),
        _ => (
            0.20,
            "little or unknown straight duct before it (a judgement, no published source)",
        ),
    };
    reader.assume(
        &format!("station \"{name}\" uncertainty"),
        format!("± {:.0} %", 100.0 * half_width),
        reason,
    );
    half_width / 2.0
}

fn reads_in(
    table: &StationTable,
    device: &StationDevice,
    flow: bool,
    reader: &mut Reader,
) -> &'static str {
    let usual = |flow: bool| match (reader.system, flow) {
        (units::System::Ip, false) => "inWC",
        (units::System::Ip, true) => "cfm",
        (units::System::Si, false) => "Pa",
        (units::System::Si, true) => "L/s",
    };
    let Some(given) = table.reads_in.given() else {
        return usual(flow);
    };
    let symbol = given.value.0;
    let is_flow = matches!(symbol, "cfm" | "L/s" | "m³/h");
    // A traverse may be averaged by hand and noted as a flow.
    if is_flow != flow && !matches!(device, StationDevice::PitotTraverse { .. }) {
        let help = if flow {
            "its instrument shows a flow: cfm, L/s or m3/h"
        } else {
            "its instrument shows a pressure: inWC, Pa or mmH2O"
        };
        reader.error(
            &given.span,
            format!("station.reads_in cannot be {symbol} for this device"),
            help,
        );
    }
    symbol
}

/// What an instrument of a kind has if the file does not say: half-widths of the 95 % interval, step
/// and range, in Pa or m³/s.
struct Usual {
    accuracy: f64,
    zero: f64,
    noise: f64,
    resolution: f64,
    range: [f64; 2],
    reason: &'static str,
}

fn usual(kind: InstrumentKind) -> Usual {
    match kind {
        InstrumentKind::Manometer => Usual {
            accuracy: 0.02,
            zero: 0.4,
            noise: 0.02,
            resolution: 0.25,
            range: [-2000.0, 2000.0],
            reason: "an ordinary digital manometer, zeroed in the morning, readings averaged over half a minute (typical, from memory)",
        },
        InstrumentKind::PoweredHood => Usual {
            accuracy: 0.06,
            zero: 0.0,
            noise: 0.04,
            resolution: 0.0005,
            range: [0.002, 0.3],
            reason: "an ordinary powered hood (typical, from memory)",
        },
        InstrumentKind::PassiveHood => Usual {
            accuracy: 0.16,
            zero: 0.0,
            noise: 0.08,
            resolution: 0.0005,
            range: [0.01, 0.5],
            reason: "an ordinary passive hood (typical, from memory)",
        },
        InstrumentKind::FlowPlate => Usual {
            accuracy: 0.06,
            zero: 0.0,
            noise: 0.02,
            resolution: 0.002,
            range: [0.05, 1.2],
            reason: "an ordinary flow plate (typical, from memory)",
        },
    }
}

/// The instruments: those of the file, and what the stations need besides.
pub(super) fn instruments(
    table: &JobTable,
    stations: &[Station],
    reader: &mut Reader,
) -> Vec<Instrument> {
    let members = table.instrument.each();
    Names::collect("instrument", members, |instrument| &instrument.name, reader);
    let mut instruments: Vec<Instrument> = members
        .iter()
        .map(|given| instrument(given, reader))
        .collect();
    for station in stations {
        let kind = match station.device {
            StationDevice::PoweredHood => InstrumentKind::PoweredHood,
            StationDevice::PassiveHood { .. } => InstrumentKind::PassiveHood,
            StationDevice::FlowPlate { .. } => InstrumentKind::FlowPlate,
            _ => InstrumentKind::Manometer,
        };
        if instruments.iter().any(|known| known.kind == kind) {
            continue;
        }
        let usual = usual(kind);
        reader.assume(
            &format!("instrument for \"{}\"", station.name),
            format!("a {}", kind.name()),
            usual.reason,
        );
        instruments.push(Instrument {
            name: kind.name().to_owned(),
            kind,
            accuracy: usual.accuracy / 2.0,
            zero: usual.zero / 2.0,
            noise: usual.noise / 2.0,
            resolution: usual.resolution,
            range: usual.range,
            calibrated: None,
        });
    }
    instruments
}

fn instrument(given: &Given<InstrumentTable>, reader: &mut Reader) -> Instrument {
    let table = &given.value;
    let name = table.name.value().cloned().unwrap_or_default();
    let kind = reader.choice(
        &format!("instrument \"{name}\" kind"),
        &table.kind,
        InstrumentKind::Manometer,
        "manometer",
        "the usual instrument of a set-up",
    );
    let usual = usual(kind);
    let field = |key: &str| format!("instrument \"{name}\" {key}");
    let mut share = |key: &str, slot: &Slot<units::Typed<Fraction>>, default: f64| {
        let value = reader.within(
            &format!("instrument.{key}"),
            slot,
            0.0..=0.5,
            "from 0 to 50 %",
        );
        reader.or_default::<Fraction, _>(&field(key), slot, value, default, usual.reason)
    };
    let accuracy = share("accuracy", &table.accuracy, usual.accuracy);
    let noise = share("noise", &table.noise, usual.noise);
    let mut shown = |key: &str, slot: &Slot<Shown>, default: f64| match slot.given() {
        Some(given) => shown(key, given, kind, true, reader),
        None => {
            if slot.is_absent() {
                let text = if kind.shows_flow() {
                    VolumeFlow::from_si(default).show(reader.system)
                } else {
                    Pressure::from_si(default).show(reader.system)
                };
                reader.assume(&field(key), text, usual.reason);
            }
            default
        }
    };
    let zero = shown("zero", &table.zero, usual.zero);
    let resolution = shown("resolution", &table.resolution, usual.resolution);
    Instrument {
        range: range(table, kind, usual.range, reader),
        name,
        kind,
        accuracy: accuracy / 2.0,
        zero: zero / 2.0,
        noise: noise / 2.0,
        resolution,
        calibrated: table.calibrated.value().map(|date| date.0.clone()),
    }
}

/// A number that the instrument shows, in its own quantity.
fn shown(
    key: &str,
    given: &Given<Shown>,
    kind: InstrumentKind,
    not_negative: bool,
    reader: &mut Reader,
) -> f64 {
    let (value, is_flow) = match given.value {
        Shown::Pressure(value) => (value, false),
        Shown::Flow(value) => (value, true),
    };
    if is_flow != kind.shows_flow() {
        let (found, wanted) = if is_flow {
            ("a flow", "a pressure, like 0.5 Pa")
        } else {
            ("a pressure", "a flow, like 1 cfm")
        };
        reader.error(
            &given.span,
            format!("instrument.{key} is {found}"),
            format!("a {} shows {wanted}", kind.name()),
        );
    }
    if not_negative && value < 0.0 {
        reader.error(
            &given.span,
            format!("instrument.{key} is negative"),
            "it must be zero or above",
        );
    }
    value
}

fn range(
    table: &InstrumentTable,
    kind: InstrumentKind,
    usual: [f64; 2],
    reader: &mut Reader,
) -> [f64; 2] {
    let Some(given) = table.range.given() else {
        return usual;
    };
    match given.value.as_slice() {
        [low, high] => {
            let low = shown("range", low, kind, false, reader);
            let high = shown("range", high, kind, false, reader);
            if low >= high {
                reader.error(
                    &given.span,
                    "instrument.range is empty",
                    "give the least reading first, like [\"-2000 Pa\", \"2000 Pa\"]",
                );
            }
            [low, high]
        }
        list => {
            reader.error(
                &given.span,
                format!("instrument.range has {} members", list.len()),
                "it takes two: the least and the greatest reading",
            );
            usual
        }
    }
}

/// What the set-up has to reach.
pub(super) fn balancing(
    slot: &Slot<BalancingTable>,
    units: &[Unit],
    stations: bool,
    reader: &mut Reader,
) -> Balancing {
    let absent = BalancingTable::default();
    let table = slot.value().unwrap_or(&absent);
    let usual = Balancing::default();
    let tolerance = reader.within(
        "balancing.tolerance",
        &table.tolerance,
        0.01..=0.5,
        "from 1 to 50 %",
    );
    let certainty = reader.within(
        "balancing.certainty",
        &table.certainty,
        0.5..=0.999,
        "from 50 to 99.9 %",
    );
    let settings: Vec<Setting> = table
        .settings
        .each()
        .iter()
        .map(|given| given.value)
        .collect();
    for given in table.settings.each() {
        let known = units.is_empty()
            || units.iter().any(|unit| {
                unit.settings
                    .iter()
                    .any(|known| known.setting == given.value)
            });
        if !known {
            reader.error(
                &given.span,
                format!(
                    "balancing.settings: no unit has the setting \"{}\"",
                    given.value.name()
                ),
                "name a setting that the units have",
            );
        }
    }
    let modes: Vec<Mode> = table
        .modes
        .each()
        .iter()
        .map(|given| given.value.0)
        .collect();
    // Nobody is troubled with it who does not balance.
    if !stations {
        return Balancing {
            tolerance: if table.tolerance.is_absent() {
                usual.tolerance
            } else {
                tolerance
            },
            certainty: if table.certainty.is_absent() {
                usual.certainty
            } else {
                certainty
            },
            settings,
            modes,
        };
    }
    Balancing {
        tolerance: reader.or_default::<Fraction, _>(
            "balancing.tolerance",
            &table.tolerance,
            tolerance,
            usual.tolerance,
            "common practice, no published source",
        ),
        certainty: reader.or_default::<Fraction, _>(
            "balancing.certainty",
            &table.certainty,
            certainty,
            usual.certainty,
            "one house in twenty may be off",
        ),
        settings,
        modes,
    }
}
