//! The forced-air system.

use diagnostics::Problem;
use units::{Fraction, Length, Power, Pressure, Quantity, Typed, Uncertainty};

use super::Places;
use super::customary::{CFM, FOOT, INCH_OF_WATER};
use super::limits::{duct_pressure, temperature};
use super::reader::Reader;
use super::tables::{AirHandlerTable, JobTable, ModeTable, PathTable};
use super::value::{Given, Slot};
use crate::model::{
    AirHandler, BlowerKind, BlowerMode, Building, Estimate, Material, Mode, Path, Section, Segment,
    Side,
};

/// Velocity for which a trunk is sized when its size is not given: 700 fpm (m/s).
const TRUNK_VELOCITY: f64 = 700.0 * FOOT / 60.0;

pub(super) fn air_handler(
    table: &JobTable,
    building: &Building,
    places: &Places,
    reader: &mut Reader,
) -> Option<AirHandler> {
    let given = table.air_handler.given()?;
    let handler = &given.value;
    let zone = places.zone(
        "air_handler.zone",
        &handler.zone,
        &given.span,
        false,
        reader,
    );
    let modes = modes(handler, building, reader);
    let largest_flow = modes.iter().map(|mode| mode.flow.value).fold(0.0, f64::max);
    let return_path = path(
        Side::Return,
        &handler.r#return,
        largest_flow,
        zone,
        places,
        reader,
    );
    let supply_path = path(
        Side::Supply,
        &handler.supply,
        largest_flow,
        zone,
        places,
        reader,
    );
    let filter_pressure_drop = filter(handler, &modes, reader);
    Some(AirHandler {
        blower: handler
            .blower
            .value()
            .copied()
            .unwrap_or(BlowerKind::AsMeasured),
        zone,
        furnace: reader.choice(
            "air_handler.furnace",
            &handler.furnace,
            false,
            "no",
            "no furnace is given",
        ),
        least_return_temperature: least_return_temperature(handler, reader),
        modes,
        filter_pressure_drop,
        return_path,
        supply_path,
    })
}

/// What the maker of the furnace asks of the air that enters it (°C).
fn least_return_temperature(handler: &AirHandlerTable, reader: &mut Reader) -> Option<f64> {
    const FIELD: &str = "air_handler.least_return_temperature";
    let slot = &handler.least_return_temperature;
    let given = slot.given()?;
    if handler.furnace.value() != Some(&true) {
        reader.error(
            &given.span,
            format!("{FIELD} belongs to a furnace"),
            "add furnace = true, or remove it",
        );
    }
    let value = temperature(
        FIELD,
        slot,
        0.0..=30.0,
        "from 32 to 86 °F (0 to 30 °C)",
        reader,
    );
    Some(value)
}

fn modes(handler: &AirHandlerTable, building: &Building, reader: &mut Reader) -> Vec<BlowerMode> {
    let members = handler.mode.each();
    let mut seen: Vec<&Given<Mode>> = Vec::new();
    for given in members {
        let Some(mode) = given.value.mode.given() else {
            continue;
        };
        match seen.iter().find(|other| other.value == mode.value) {
            Some(first) => reader.problem(
                Problem::error(
                    format!("the mode \"{}\" is given twice", mode.value.name()),
                    mode.span.clone(),
                )
                .label("again here")
                .related(first.span.clone(), "first here")
                .help("keep one reading of each mode"),
            ),
            None => seen.push(mode),
        }
    }
    let modes: Vec<BlowerMode> = members
        .iter()
        .map(|given| mode(&given.value, building, reader))
        .collect();
    // A list that was refused as a whole has been reported.
    if let Some(list) = handler.mode.given() {
        let refused = |given: &Given<ModeTable>| {
            matches!(given.value.return_pressure, Slot::Refused)
                || matches!(given.value.supply_pressure, Slot::Refused)
        };
        let read =
            |mode: &BlowerMode| mode.return_pressure.is_some() && mode.supply_pressure.is_some();
        if !modes.iter().any(read) && !members.iter().any(refused) {
            reader.error(
                &list.span,
                "no blower mode has both plenum pressures",
                "give return_pressure and supply_pressure in at least one [[air_handler.mode]]",
            );
        }
    }
    let share: f64 = modes.iter().map(|mode| mode.run_share).sum();
    if share > 1.005 {
        let span = members
            .iter()
            .filter_map(|given| given.value.run_share.given())
            .next_back()
            .map_or(0..0, |given| given.span.clone());
        reader.error(
            &span,
            format!("the blower runs {:.0} % of the year", share * 100.0),
            "the run shares of all modes must not sum to more than 100 %",
        );
    }
    modes
}

fn mode(table: &ModeTable, building: &Building, reader: &mut Reader) -> BlowerMode {
    let kind = table.mode.value().copied().unwrap_or(Mode::Heating);
    let flow = reader.within(
        "air_handler.mode.flow",
        &table.flow,
        10.0 * CFM..=6000.0 * CFM,
        "from 10 to 6000 cfm (5 to 2800 L/s)",
    );
    let flow = match table.flow.given() {
        None => Estimate::exact(f64::NAN),
        Some(given) => {
            let per_area = flow / CFM / (building.floor_area / (1000.0 * FOOT * FOOT));
            if per_area > 600.0 {
                reader.warn(
                    &given.span,
                    format!("a blower flow of {per_area:.0} cfm per 1000 ft2 of floor is unusual"),
                    "houses have about 300 to 600 cfm per 1000 ft2 (1.5 to 3 L/s per m2)",
                );
            }
            reader.estimate(
                "air_handler.mode.flow",
                &given.value,
                flow,
                Uncertainty::Relative(0.10),
                "flow plate, grid or temperature rise (from memory)",
            )
        }
    };
    let return_pressure = plenum(Side::Return, &table.return_pressure, reader);
    let supply_pressure = plenum(Side::Supply, &table.supply_pressure, reader);
    let power = power(kind, &flow, table, reader);
    let usual_share = match kind {
        Mode::Off | Mode::Low => 0.0,
        Mode::Heating => 0.20,
        Mode::Cooling => 0.12,
    };
    let run_share = reader.share("air_handler.mode.run_share", &table.run_share);
    let run_share = reader.or_default::<Fraction, _>(
        &format!("air_handler.mode \"{}\" run_share", kind.name()),
        &table.run_share,
        run_share,
        usual_share,
        "heating 20 %, cooling 12 % of the year, low not of its own accord (from memory)",
    );
    BlowerMode {
        mode: kind,
        flow,
        return_pressure,
        supply_pressure,
        power,
        run_share,
    }
}

fn power(kind: Mode, flow: &Estimate, table: &ModeTable, reader: &mut Reader) -> Estimate {
    let power = reader.within(
        "air_handler.mode.power",
        &table.power,
        1.0..=3000.0,
        "from 1 to 3000 W",
    );
    match &table.power {
        Slot::Good(given) => reader.estimate(
            "air_handler.mode.power",
            &given.value,
            power,
            Uncertainty::Relative(0.10),
            "plug meter or nameplate (from memory)",
        ),
        Slot::Refused => Estimate::exact(f64::NAN),
        Slot::Absent => {
            let power = flow.value / CFM / 2.0;
            reader.default_estimate::<Power>(
                &format!("air_handler.mode \"{}\" power", kind.name()),
                power,
                0.5 * power,
                "blowers in houses move about 2 cfm per watt (field studies, from memory)",
            )
        }
    }
}

/// A static pressure of a plenum; its sign is checked against the side.
fn plenum(side: Side, slot: &Slot<Typed<Pressure>>, reader: &mut Reader) -> Option<Estimate> {
    let given = slot.given()?;
    let (field, sign, word) = match side {
        Side::Return => ("air_handler.mode.return_pressure", -1.0, "below"),
        Side::Supply => ("air_handler.mode.supply_pressure", 1.0, "above"),
    };
    let mut value = duct_pressure(field, slot, reader);
    if value * sign <= 0.0 {
        reader.error(
            &given.span,
            format!("{field} cannot be {}", given.value.text),
            format!(
                "against the house it lies {word} zero while the blower runs; \
                 were the hoses of the manometer exchanged?"
            ),
        );
        value = f64::NAN;
    } else if value.abs() > 1.5 * INCH_OF_WATER {
        reader.warn(
            &given.span,
            format!("{field} of {} is unusual", given.value.text),
            "beyond 1.5 inWC (370 Pa) a blower of a house delivers little; check unit and hoses",
        );
    }
    Some(pressure_estimate(field, &given.value, value, reader))
}

/// A measured pressure: ± 10 % or 2.5 Pa, whichever is larger, if no uncertainty was typed.
pub(super) fn pressure_estimate(
    field: &str,
    typed: &Typed<Pressure>,
    value: f64,
    reader: &mut Reader,
) -> Estimate {
    let width = if value.abs() < 25.0 {
        Uncertainty::Absolute(2.5)
    } else {
        Uncertainty::Relative(0.10)
    };
    reader.estimate(
        field,
        typed,
        value,
        width,
        "± 10 % or 2.5 Pa, whichever is larger: place of the hole and a fluttering reading \
         (from memory)",
    )
}

fn filter(handler: &AirHandlerTable, modes: &[BlowerMode], reader: &mut Reader) -> Estimate {
    const FIELD: &str = "air_handler.filter_pressure_drop";
    let measured = modes.iter().find_map(|mode| {
        Some((
            mode.return_pressure.as_ref()?.value,
            mode.supply_pressure.as_ref()?.value,
        ))
    });
    let value = reader.within(
        FIELD,
        &handler.filter_pressure_drop,
        0.0..=400.0,
        "from 0 to 1.6 inWC (400 Pa)",
    );
    match &handler.filter_pressure_drop {
        Slot::Good(given) => {
            if let Some((returned, _)) = measured.filter(|(returned, _)| value >= -returned) {
                let plenum = Pressure::from_si(returned).show(reader.system);
                reader.error(
                    &given.span,
                    format!(
                        "{FIELD} of {} is more than the whole return side",
                        given.value.text
                    ),
                    format!("the return plenum reads {plenum}, filter included"),
                );
            }
            pressure_estimate(FIELD, &given.value, value, reader)
        }
        Slot::Refused => Estimate::exact(f64::NAN),
        Slot::Absent => {
            let Some((returned, supplied)) = measured else {
                return Estimate::exact(f64::NAN);
            };
            // Never more than most of the return side's own pressure.
            let drop = (0.2 * (supplied - returned)).min(-0.8 * returned);
            reader.default_estimate::<Pressure>(
                FIELD,
                drop,
                0.5 * drop,
                "20 % of the total external static pressure (common practice, no published source)",
            )
        }
    }
}

/// The return or the supply side.
fn path(
    side: Side,
    slot: &Slot<PathTable>,
    largest_flow: f64,
    air_handler_zone: usize,
    places: &Places,
    reader: &mut Reader,
) -> Path {
    let absent = PathTable::default();
    let table = slot.value().unwrap_or(&absent);
    let (name, usual_length, usual_share) = match side {
        Side::Return => ("return", 20.0 * FOOT, 0.4),
        Side::Supply => ("supply", 30.0 * FOOT, 0.6),
    };
    let field = |key: &str| format!("air_handler.{name}.{key}");
    let segments: Vec<Segment> = table
        .segment
        .each()
        .iter()
        .map(|given| {
            let segment = &given.value;
            let loss = reader.number(
                &field("segment.loss"),
                &segment.loss,
                0.0..=100.0,
                (0.0, 0.0),
                "no fittings are given",
            );
            Segment {
                length: reader.within(
                    &field("segment.length"),
                    &segment.length,
                    0.0..=100.0,
                    "from 0 to 328 ft (100 m)",
                ),
                section: segment
                    .section
                    .value()
                    .copied()
                    .unwrap_or(Section::Round(f64::NAN)),
                material: reader.choice(
                    &field("segment.material"),
                    &segment.material,
                    Material::Galvanised,
                    "galvanised",
                    "usual trunk (common practice, no published source)",
                ),
                loss: loss.value,
            }
        })
        .collect();
    let drawn: f64 = segments.iter().map(|segment| segment.length).sum();

    let length = reader.within(
        &field("length"),
        &table.length,
        0.3..=100.0,
        "from 1 to 328 ft (0.3 to 100 m)",
    );
    let length = match &table.length {
        Slot::Absent if !segments.is_empty() => drawn,
        slot => reader.or_default::<Length, _>(
            &field("length"),
            slot,
            length,
            usual_length,
            "usual trunk: return 20 ft, supply 30 ft (from memory)",
        ),
    };
    if let Some(given) = table.length.given()
        && !segments.is_empty()
        && (drawn - length).abs() > 0.05 * length
    {
        let drawn = Length::from_si(drawn).show(reader.system);
        reader.error(
            &given.span,
            format!(
                "{} of {} contradicts its segments",
                field("length"),
                given.value.text
            ),
            format!("the segments are {drawn} long together; leave out the length"),
        );
    }
    let section = match (&table.section, segments.first()) {
        (Slot::Good(given), _) => given.value,
        (Slot::Absent, Some(first)) => first.section,
        (Slot::Refused, _) => Section::Round(f64::NAN),
        (Slot::Absent, None) => {
            let diameter = (4.0 * largest_flow / (std::f64::consts::PI * TRUNK_VELOCITY)).sqrt();
            reader.assume(
                &field("section"),
                Length::from_si(diameter).show(reader.system),
                "round, for 700 fpm at the largest blower flow (common practice, no published source)",
            );
            Section::Round(diameter)
        }
    };
    let branch_share = fraction(
        &field("branch_share"),
        &table.branch_share,
        0.0..=1.0,
        "from 0 to 100 %",
        (usual_share, 0.15),
        "return 40 %, supply 60 % at grilles, boots and branches (from memory)",
        reader,
    );
    let leakage = fraction(
        &field("leakage"),
        &table.leakage,
        0.0..=0.6,
        "from 0 to 60 %",
        (0.05, 0.04),
        "ducts that were not tested (from memory)",
        reader,
    );
    let leakage_zone = match &table.leakage_zone {
        Slot::Good(given) if given.value.eq_ignore_ascii_case("outdoors") => None,
        Slot::Good(given) => places.names.resolve(&field("leakage_zone"), given, reader),
        Slot::Refused => None,
        Slot::Absent => {
            let zone = places.names.name(air_handler_zone).to_owned();
            reader.assume(&field("leakage_zone"), zone, "the zone of the air handler");
            Some(air_handler_zone)
        }
    };
    Path {
        length,
        section,
        branch_share,
        leakage,
        leakage_zone,
        segments,
    }
}

/// A share with a stated default and half-width.
fn fraction(
    field: &str,
    slot: &Slot<Typed<Fraction>>,
    range: std::ops::RangeInclusive<f64>,
    accepted: &str,
    default: (f64, f64),
    reason: &'static str,
    reader: &mut Reader,
) -> Estimate {
    let (usual, half_width) = default;
    let value = reader.within(field, slot, range, accepted);
    match slot {
        Slot::Good(given) => reader.estimate(
            field,
            &given.value,
            value,
            Uncertainty::Absolute(half_width.min(value.max(0.01))),
            reason,
        ),
        Slot::Refused => Estimate::exact(f64::NAN),
        Slot::Absent => reader.default_estimate::<Fraction>(field, usual, half_width, reason),
    }
}
