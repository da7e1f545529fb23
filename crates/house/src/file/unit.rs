//! Candidate units, from the job itself and from the catalogue beside it.

use diagnostics::{Problem, Source};
use units::{Fraction, Typed, VolumeFlow};

use super::limits::temperature;
use super::reader::{Names, Reader};
use super::tables::{CatalogueTable, JobTable, PointTable, SettingTable, UnitTable};
use super::value::{Given, Slot, shortened};
use super::words::{Core, Fans};
use crate::model::{Recovery, Setting, Unit, UnitPoint, UnitSetting};

pub(super) fn units(
    table: &JobTable,
    load: &mut dyn FnMut(&str) -> Result<Vec<u8>, String>,
    reader: &mut Reader,
) -> (Vec<Unit>, Names) {
    let members = table.unit.each();
    let mut names = Names::collect("unit", members, |unit| &unit.name, reader);
    let mut units: Vec<Unit> = members
        .iter()
        .map(|given| unit(&given.value, reader))
        .collect();
    if let Some(catalogue) = table.catalogue.given() {
        match load(&catalogue.value) {
            Err(reason) => reader.error(
                &catalogue.span,
                format!(
                    "the catalogue \"{}\" cannot be read",
                    shortened(&catalogue.value)
                ),
                reason,
            ),
            Ok(bytes) => read_catalogue(&catalogue.value, &bytes, &mut units, &mut names, reader),
        }
    }
    (units, names)
}

/// Adds the units of a catalogue.
fn read_catalogue(
    name: &str,
    bytes: &[u8],
    units: &mut Vec<Unit>,
    names: &mut Names,
    reader: &mut Reader,
) {
    let source = Source::from_bytes(name, bytes);
    let job = reader.source;
    reader.source = reader.problems.add_source(source.clone());
    if let Some(catalogue) = super::table::<CatalogueTable>(&source, reader) {
        let members = catalogue.unit.each();
        let more = Names::collect("unit", members, |unit| &unit.name, reader);
        for (index, given) in members.iter().enumerate() {
            if names.index(more.name(index)).is_some() {
                reader.error(
                    &more.span(index),
                    format!(
                        "the job has a unit \"{}\" of its own",
                        shortened(more.name(index))
                    ),
                    "give each a name of its own",
                );
            }
            units.push(unit(&given.value, reader));
        }
        names.append(more);
    }
    reader.source = job;
}

fn unit(table: &UnitTable, reader: &mut Reader) -> Unit {
    let name = table.name.value().cloned().unwrap_or_default();
    let field = |key: &str| format!("unit \"{name}\" {key}");
    let core = table.core.value().copied();
    let cross_leakage = reader.within(
        "unit.cross_leakage",
        &table.cross_leakage,
        0.0..=0.5,
        "from 0 to 50 %",
    );
    let cross_leakage = reader.or_default::<Fraction, _>(
        &field("cross_leakage"),
        &table.cross_leakage,
        cross_leakage,
        0.03,
        "usual leakage inside a unit (from memory)",
    );
    let price = reader.not_negative("unit.price", &table.price);
    let needs_drain = core == Some(Core::Heat);
    let drain = if needs_drain { "yes" } else { "no" };
    Unit {
        recovers_moisture: core == Some(Core::Energy),
        price: reader.or_default::<units::Money, _>(
            &field("price"),
            &table.price,
            price,
            0.0,
            "no price is given",
        ),
        port_diameter: reader.within(
            "unit.port_diameter",
            &table.port_diameter,
            0.07..=0.4,
            "from 3 to 16 in (70 to 400 mm)",
        ),
        cross_leakage,
        fans_after_core: reader.choice(
            &field("fans"),
            &table.fans,
            Fans::AfterCore,
            "after core",
            "usual place (from memory)",
        ) == Fans::AfterCore,
        shuts_when_off: reader.choice(
            &field("shuts_when_off"),
            &table.shuts_when_off,
            false,
            "no",
            "no damper is given",
        ),
        ambient: ambient(table, &field("ambient"), reader),
        needs_drain: reader.choice(
            &field("needs_drain"),
            &table.needs_drain,
            needs_drain,
            drain,
            "heat cores drip, energy cores usually do not (common practice, no published source)",
        ),
        settings: settings(table, cross_leakage, reader),
        recovery: recovery(table, core, reader),
        name,
    }
}

fn ambient(table: &UnitTable, field: &str, reader: &mut Reader) -> Option<[f64; 2]> {
    if table.ambient.is_absent() {
        reader.assume(
            field,
            "those of the rules \"surroundings\" and \"warm surroundings\"",
            "the data of the unit are not given",
        );
        return None;
    }
    let given = table.ambient.given()?;
    let limits: Vec<f64> = given
        .value
        .iter()
        .map(|limit| {
            let slot = Slot::Good(limit.clone());
            temperature(
                "unit.ambient",
                &slot,
                -60.0..=90.0,
                "from -76 to 194 °F (-60 to 90 °C)",
                reader,
            )
        })
        .collect();
    match limits[..] {
        [least, greatest] if least < greatest || least.is_nan() || greatest.is_nan() => {
            Some([least, greatest])
        }
        _ => {
            reader.error(
                &given.span,
                "unit.ambient takes the least and the greatest temperature",
                "write two temperatures in rising order, like [\"50 F\", \"104 F\"]",
            );
            None
        }
    }
}

fn settings(table: &UnitTable, cross_leakage: f64, reader: &mut Reader) -> Vec<UnitSetting> {
    let members = table.setting.each();
    if let Some(given) = table.setting.given().filter(|given| given.value.is_empty()) {
        reader.error(
            &given.span,
            "a unit needs a setting",
            "add [[unit.setting]] with its points",
        );
    }
    let mut seen: Vec<&Given<Setting>> = Vec::new();
    for given in members {
        let Some(setting) = given.value.setting.given() else {
            continue;
        };
        match seen.iter().find(|other| other.value == setting.value) {
            Some(first) => reader.problem(
                Problem::error(
                    format!("the setting \"{}\" is given twice", setting.value.name()),
                    setting.span.clone(),
                )
                .label("again here")
                .related(first.span.clone(), "first here")
                .help("settings are low, high and boost, each once"),
            ),
            None => seen.push(setting),
        }
    }
    let mut settings: Vec<UnitSetting> = members
        .iter()
        .map(|given| UnitSetting {
            setting: given
                .value
                .setting
                .value()
                .copied()
                .unwrap_or(Setting::High),
            points: points(&given.value, cross_leakage, reader),
            sound: given.value.sound.given().map(|_| {
                reader.within(
                    "unit.setting.sound",
                    &given.value.sound,
                    0.0..=100.0,
                    "from 0 to 100 dBA",
                )
            }),
            duct_sound: given.value.duct_sound.given().map(|_| {
                reader.within(
                    "unit.setting.duct_sound",
                    &given.value.duct_sound,
                    0.0..=100.0,
                    "from 0 to 100 dBA",
                )
            }),
        })
        .collect();
    settings.sort_by_key(|setting| setting.setting);
    settings
}

/// The tested points: pressure rises, flow does not.
fn points(table: &SettingTable, cross_leakage: f64, reader: &mut Reader) -> Vec<UnitPoint> {
    let members = table.points.each();
    if let Some(given) = table.points.given().filter(|given| given.value.len() < 2) {
        reader.error(
            &given.span,
            "one point is not a fan curve",
            "give at least two points at different pressures",
        );
    }
    let points: Vec<UnitPoint> = members
        .iter()
        .map(|given| point(&given.value, cross_leakage, reader))
        .collect();
    for (index, pair) in points.windows(2).enumerate() {
        let [before, after] = pair else { continue };
        let (first, second) = (&members[index], &members[index + 1]);
        let problem = |title: String, help: &str| {
            Problem::error(title, second.span.clone())
                .related(first.span.clone(), "the point before")
                .help(help)
        };
        if after.pressure <= before.pressure {
            reader.problem(problem(
                "the points are out of order".into(),
                "list them in order of rising pressure, each pressure once",
            ));
            continue;
        }
        let curves = [
            ("net supply", before.net_supply, after.net_supply),
            ("gross supply", before.gross_supply, after.gross_supply),
            ("gross extract", before.gross_extract, after.gross_extract),
        ];
        if let Some((name, ..)) = curves.iter().find(|(_, before, after)| after > before) {
            reader.problem(problem(
                format!("the fan curve rises: more {name} flow against more pressure"),
                "a fan delivers less against more pressure; are the points exchanged?",
            ));
        }
    }
    points
}

fn point(table: &PointTable, cross_leakage: f64, reader: &mut Reader) -> UnitPoint {
    const FLOW: &str = "from 1 to 1000 cfm (0.5 to 470 L/s)";
    let flow = |key: &str, slot: &Slot<Typed<VolumeFlow>>, reader: &mut Reader| {
        reader.within(
            &format!("unit.setting.points.{key}"),
            slot,
            0.0004..=0.5,
            FLOW,
        )
    };
    let net_supply = flow("net_supply", &table.net_supply, reader);
    let gross_supply = flow("gross_supply", &table.gross_supply, reader);
    let gross_extract = flow("gross_extract", &table.gross_extract, reader);
    let absent = |slot: &Slot<Typed<VolumeFlow>>| slot.is_absent();
    if absent(&table.gross_supply) {
        reader.assume(
            "unit.setting.points.gross_supply",
            "net supply flow over one less the cross-leakage",
            "follows from the meaning of the two",
        );
    }
    if absent(&table.gross_extract) {
        reader.assume(
            "unit.setting.points.gross_extract",
            "as the gross supply flow",
            "tests are run with both streams alike (common practice, no published source)",
        );
    }
    let mut gross_supply = if absent(&table.gross_supply) {
        net_supply / (1.0 - cross_leakage)
    } else {
        gross_supply
    };
    if let Some(given) = table.gross_supply.given()
        && gross_supply < net_supply
    {
        reader.error(
            &given.span,
            "the gross supply flow is below the net one",
            "gross is what the fan moves, net is the outdoor air in it",
        );
        gross_supply = f64::NAN;
    }
    let gross_extract = if absent(&table.gross_extract) {
        gross_supply
    } else {
        gross_extract
    };
    UnitPoint {
        pressure: reader.within(
            "unit.setting.points.pressure",
            &table.pressure,
            0.0..=1000.0,
            "from 0 to 4 inWC (1000 Pa)",
        ),
        net_supply,
        gross_supply,
        gross_extract,
        power: reader.within(
            "unit.setting.points.power",
            &table.power,
            0.5..=2000.0,
            "from 0.5 to 2000 W",
        ),
    }
}

fn recovery(table: &UnitTable, core: Option<Core>, reader: &mut Reader) -> Vec<Recovery> {
    table
        .recovery
        .each()
        .iter()
        .map(|given| {
            let row = &given.value;
            let moisture = reader.share("unit.recovery.moisture", &row.moisture);
            let moisture = match (&row.moisture, core) {
                (Slot::Absent, Some(Core::Energy)) => {
                    reader.error(
                        &given.span,
                        "unit.recovery.moisture is missing",
                        "an energy core recovers moisture; give how much",
                    );
                    f64::NAN
                }
                (Slot::Absent, _) => 0.0,
                (Slot::Good(typed), Some(Core::Heat)) if moisture > 0.05 => {
                    reader.error(
                        &typed.span,
                        "a heat core recovers no moisture",
                        "make it an energy core, or leave moisture out",
                    );
                    moisture
                }
                _ => moisture,
            };
            Recovery {
                outdoor: temperature(
                    "unit.recovery.outdoor",
                    &row.outdoor,
                    -60.0..=60.0,
                    "from -76 to 140 °F (-60 to 60 °C)",
                    reader,
                ),
                flow: reader.within(
                    "unit.recovery.flow",
                    &row.flow,
                    0.0004..=0.5,
                    "from 1 to 1000 cfm (0.5 to 470 L/s)",
                ),
                sensible: reader.share("unit.recovery.sensible", &row.sensible),
                moisture,
            }
        })
        .collect()
}
