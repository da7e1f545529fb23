//! The zones of the house and the openings between them.

use std::ops::Range;

use diagnostics::Problem;
use units::{Area, Fraction, Length, Quantity, Typed};

use super::customary::{FOOT, INCH};
use super::reader::{Names, Reader};
use super::tables::{JobTable, OpeningTable, ZoneTable};
use super::value::{Given, Slot};
use super::{Places, pair};
use crate::model::{Building, Opening, OpeningKind, Zone, ZoneKind};

/// The zones with their names; one zone for the whole house if the file names none.
pub(super) fn zones(
    table: &JobTable,
    building: &Building,
    reader: &mut Reader,
) -> (Vec<Zone>, Names) {
    let members = table.zone.each();
    if members.is_empty() {
        if table.zone.is_absent() {
            reader.assume("zone", "one zone called \"house\"", "no zones are given");
        }
        let zone = Zone {
            name: "house".into(),
            kind: ZoneKind::Living,
            floor_area: building.floor_area,
            height: building.ceiling_height * building.storeys.max(1.0),
            level: 0.0,
            leakage_share: 1.0,
            joins: None,
            vent_area: 0.0,
            supply_share: 1.0,
            return_share: 1.0,
            bedroom: false,
        };
        return (vec![zone], Names::single("zone", "house"));
    }
    let names = Names::collect("zone", members, |zone| &zone.name, reader);
    let mut zones: Vec<Zone> = members
        .iter()
        .map(|given| zone(given, building, reader))
        .collect();

    let lived_in: Vec<usize> = (0..zones.len())
        .filter(|index| zones[*index].kind.conditioned())
        .collect();
    let whole_list = members
        .iter()
        .map(|given| given.span.clone())
        .next()
        .unwrap_or(0..0);
    if lived_in.is_empty() {
        reader.error(
            &whole_list,
            "no zone is lived in",
            "at least one zone must be of kind \"living\" or \"basement\"",
        );
    }
    for (index, given) in members.iter().enumerate() {
        zones[index].joins = joins(given, index, &zones, &lived_in, &names, reader);
    }
    let area: f64 = lived_in.iter().map(|index| zones[*index].floor_area).sum();
    if (area / building.floor_area - 1.0).abs() > 0.15 {
        let show = |area: f64| Area::from_si(area).show(reader.system);
        let title = format!(
            "the lived-in zones have {} together, the house {}",
            show(area),
            show(building.floor_area)
        );
        reader.warn(
            &whole_list,
            title,
            "is a zone missing, or one counted twice?",
        );
    }

    let leakage = shares(
        "leakage",
        members,
        &zones,
        |zone| &zone.leakage,
        unlived_leakage,
        reader,
    );
    let supply = shares(
        "supply",
        members,
        &zones,
        |zone| &zone.supply,
        |_| Some(0.0),
        reader,
    );
    let returned = shares(
        "return",
        members,
        &zones,
        |zone| &zone.r#return,
        |_| Some(0.0),
        reader,
    );
    for (index, zone) in zones.iter_mut().enumerate() {
        zone.leakage_share = leakage[index];
        zone.supply_share = supply[index];
        zone.return_share = returned[index];
    }
    (zones, names)
}

/// Part of the house's leakage that is assumed to lead to a space outside the envelope.
fn unlived_leakage(kind: ZoneKind) -> Option<f64> {
    match kind {
        ZoneKind::Living | ZoneKind::Basement => None,
        ZoneKind::Attic => Some(0.2),
        ZoneKind::Crawlspace => Some(0.15),
        ZoneKind::Garage => Some(0.05),
    }
}

fn zone(given: &Given<ZoneTable>, building: &Building, reader: &mut Reader) -> Zone {
    let table = &given.value;
    let kind = table.kind.value().copied().unwrap_or(ZoneKind::Living);
    let name = table.name.value().cloned().unwrap_or_default();
    let field = |key: &str| format!("zone \"{name}\" {key}");
    let floor_area = reader.positive("zone.floor_area", &table.floor_area);
    let height = reader.within(
        "zone.height",
        &table.height,
        0.3..=15.0,
        "from 1 to 50 ft (0.3 to 15 m)",
    );
    let (usual_height, usual_level) = match kind {
        ZoneKind::Living => (building.ceiling_height, 0.0),
        ZoneKind::Basement => (building.ceiling_height, -building.ceiling_height),
        ZoneKind::Attic => (5.0 * FOOT, building.ceiling_height * building.storeys),
        ZoneKind::Crawlspace => (3.0 * FOOT, -3.0 * FOOT),
        ZoneKind::Garage => (9.0 * FOOT, 0.0),
    };
    let height = reader.or_default::<Length, _>(
        &field("height"),
        &table.height,
        height,
        usual_height,
        "ceiling height of the house; attic 5 ft on average, crawlspace 3 ft, garage 9 ft \
         (common practice, no published source)",
    );
    let level = reader.within(
        "zone.level",
        &table.level,
        -15.0..=30.0,
        "from -50 to 100 ft (-15 to 30 m)",
    );
    let level = reader.or_default::<Length, _>(
        &field("level"),
        &table.level,
        level,
        usual_level,
        "living space and garage at grade, basement and crawlspace below it, attic on top",
    );
    if let Some(typed) = table.level.given() {
        match kind {
            ZoneKind::Basement | ZoneKind::Crawlspace if level > 1.0 => reader.warn(
                &typed.span,
                format!("{} lies above grade", field("level")),
                "the level of a basement or crawlspace is its floor, below zero",
            ),
            ZoneKind::Attic if level < 1.5 => reader.error(
                &typed.span,
                format!("{} is too low for an attic", field("level")),
                "the level of an attic is its floor above grade",
            ),
            ZoneKind::Living if level < -height => reader.error(
                &typed.span,
                format!("{} lies wholly below grade", field("level")),
                "call it a basement, or check the sign",
            ),
            _ => {}
        }
    }
    let vent_area = reader.not_negative("zone.vent_area", &table.vent_area);
    let vent_area = if kind.conditioned() {
        if let Some(typed) = table.vent_area.given() {
            reader.error(
                &typed.span,
                format!(
                    "{} is for attics, crawlspaces and garages",
                    field("vent_area")
                ),
                "a lived-in zone leaks by its share of the house's leakage",
            );
        }
        0.0
    } else {
        reader.or_default::<Area, _>(
            &field("vent_area"),
            &table.vent_area,
            vent_area,
            floor_area / 150.0,
            "1/150 of its floor area (from memory)",
        )
    };
    if let Some(typed) = table.vent_area.given().filter(|_| vent_area > floor_area) {
        reader.error(
            &typed.span,
            format!("{} is larger than its floor", field("vent_area")),
            "give the free area of the vents only",
        );
    }
    Zone {
        name,
        kind,
        floor_area,
        height,
        level,
        leakage_share: f64::NAN,
        joins: None,
        vent_area,
        supply_share: f64::NAN,
        return_share: f64::NAN,
        bedroom: table.bedroom.value().copied().unwrap_or(false),
    }
}

/// The lived-in zone to which a space outside the envelope leaks.
fn joins(
    given: &Given<ZoneTable>,
    index: usize,
    zones: &[Zone],
    lived_in: &[usize],
    names: &Names,
    reader: &mut Reader,
) -> Option<usize> {
    let slot = &given.value.joins;
    if zones[index].kind.conditioned() {
        if let Some(typed) = slot.given() {
            reader.error(
                &typed.span,
                "zone.joins is for attics, crawlspaces and garages",
                "join lived-in zones by [[opening]]",
            );
        }
        return None;
    }
    match slot {
        Slot::Good(typed) => {
            let joined = names.resolve("zone.joins", typed, reader)?;
            if !zones[joined].kind.conditioned() {
                reader.error(
                    &typed.span,
                    format!("zone.joins: \"{}\" is not lived in", zones[joined].name),
                    "name the lived-in zone to which this space leaks",
                );
            }
            Some(joined)
        }
        Slot::Refused => None,
        Slot::Absent => {
            // The nearest floor: the one whose middle is closest in height.
            let middle = |zone: &Zone| zone.level + 0.5 * zone.height;
            let here = middle(&zones[index]);
            let nearest = lived_in.iter().copied().min_by(|a, b| {
                let gap = |zone: usize| (middle(&zones[zone]) - here).abs();
                gap(*a).total_cmp(&gap(*b))
            })?;
            reader.assume(
                &format!("zone \"{}\" joins", zones[index].name),
                zones[nearest].name.clone(),
                "the lived-in zone nearest in height",
            );
            Some(nearest)
        }
    }
}

/// Shares that sum to one: those given stay, the rest is shared out by floor area. Where none is given at
/// all, every lived-in zone has its part.
fn shares<'a>(
    key: &str,
    members: &'a [Given<ZoneTable>],
    zones: &[Zone],
    slot: impl Fn(&'a ZoneTable) -> &'a Slot<Typed<Fraction>>,
    fixed: impl Fn(ZoneKind) -> Option<f64>,
    reader: &mut Reader,
) -> Vec<f64> {
    let field = format!("zone.{key}");
    let mut list = Vec::with_capacity(zones.len());
    let mut open = Vec::new();
    let mut places: Vec<&Range<usize>> = Vec::new();
    let none_given = members.iter().all(|given| slot(&given.value).is_absent());
    for (index, given) in members.iter().enumerate() {
        let share = match slot(&given.value) {
            Slot::Good(typed) => {
                places.push(&typed.span);
                Some(reader.share(&field, slot(&given.value)))
            }
            Slot::Refused => Some(f64::NAN),
            Slot::Absent if none_given && zones[index].kind.conditioned() => None,
            Slot::Absent => fixed(zones[index].kind),
        };
        if share.is_none() {
            open.push(index);
        }
        list.push(share.unwrap_or(0.0));
    }
    let sum: f64 = list.iter().sum();
    let rest = 1.0 - sum;
    let whole = format!("{:.0} %", sum * 100.0);
    let last = places
        .last()
        .map_or_else(|| members[0].span.clone(), |span| (*span).clone());
    if rest < -0.005 {
        let mut problem = Problem::error(format!("the {key} shares sum to {whole}"), last);
        for place in places.iter().rev().skip(1).take(8) {
            problem = problem.related((*place).clone(), "");
        }
        reader.problem(problem.help("they must not sum to more than 100 %"));
    } else if open.is_empty() && rest > 0.005 && !zones.is_empty() {
        reader.error(
            &last,
            format!("the {key} shares sum to {whole}"),
            "they must sum to 100 %, or leave one zone without a share",
        );
    }
    let area: f64 = open.iter().map(|index| zones[*index].floor_area).sum();
    for index in &open {
        list[*index] = rest.max(0.0) * zones[*index].floor_area / area;
    }
    let mut typed = members.iter().map(|given| slot(&given.value));
    if list
        .iter()
        .any(|share| typed.next().is_some_and(Slot::is_absent) && *share > 0.0)
    {
        let text: Vec<String> = zones
            .iter()
            .zip(&list)
            .map(|(zone, share)| format!("{} {:.0} %", zone.name, share * 100.0))
            .collect();
        let reason = if key == "leakage" {
            "what is not given is shared out by floor area; attic 20 %, crawlspace 15 %, \
             garage 5 % (from memory)"
        } else {
            "what is not given is shared out by floor area of the lived-in zones"
        };
        reader.assume(&field, text.join(", "), reason);
    }
    list
}

pub(super) fn openings(table: &JobTable, places: &Places, reader: &mut Reader) -> Vec<Opening> {
    let mut openings = Vec::new();
    for given in table.opening.each() {
        let between = pair("opening.between", &given.value.between, reader).and_then(|names| {
            let one = places.names.resolve("opening.between", names[0], reader);
            let other = places.names.resolve("opening.between", names[1], reader);
            if one.is_some() && one == other {
                reader.error(
                    &names[1].span,
                    format!("an opening from \"{}\" to itself", names[1].value),
                    "name two different zones",
                );
            }
            Some([one?, other?])
        });
        let kind = given.value.kind.value().copied();
        let area = kind.map(|kind| opening_area(kind, given, reader));
        if let (Some(between), Some(kind), Some(area)) = (between, kind, area) {
            openings.push(Opening {
                between,
                area,
                kind,
            });
        }
    }
    if places.zones.len() > 1 {
        unreachable_zones(table, places, &openings, reader);
    }
    openings
}

/// Free area of an opening (m²).
fn opening_area(kind: OpeningKind, given: &Given<OpeningTable>, reader: &mut Reader) -> f64 {
    let table = &given.value;
    let count = table.count.value().copied().unwrap_or(1);
    if let Some(typed) = table.count.given().filter(|typed| typed.value == 0) {
        reader.error(
            &typed.span,
            "opening.count cannot be 0",
            "leave the opening out",
        );
    }
    let sized = [
        ("width", &table.width),
        ("gap", &table.gap),
        ("height", &table.height),
    ];
    if let Some(area) = table.area.given() {
        if let Some((key, slot)) = sized.iter().find(|(_, slot)| !slot.is_absent()) {
            let span = slot
                .given()
                .map_or(area.span.clone(), |given| given.span.clone());
            reader.problem(
                Problem::error(
                    format!("opening.area and opening.{key} contradict each other"),
                    span,
                )
                .related(area.span.clone(), "area")
                .help("give the area, or the sides"),
            );
        }
        let area = reader.within(
            "opening.area",
            &table.area,
            1e-4..=20.0,
            "from 0.2 in2 to 215 ft2 (1 cm2 to 20 m2)",
        );
        return area * f64::from(count);
    }
    if matches!(table.area, Slot::Refused) {
        return f64::NAN;
    }
    let width = reader.within(
        "opening.width",
        &table.width,
        0.05..=10.0,
        "from 2 in to 33 ft (5 cm to 10 m)",
    );
    let (key, other) = match kind {
        OpeningKind::DoorUndercut => ("gap", &table.gap),
        OpeningKind::Open => ("height", &table.height),
        OpeningKind::TransferGrille => {
            reader.error(
                &given.span,
                "opening.area is missing",
                "give the free area of the grille",
            );
            return f64::NAN;
        }
    };
    let width = match kind {
        OpeningKind::DoorUndercut => reader.or_default::<Length, _>(
            "opening.width",
            &table.width,
            width,
            30.0 * INCH,
            "usual inner door, 30 in (common practice, no published source)",
        ),
        _ => width,
    };
    let unused = if key == "gap" {
        ("height", &table.height)
    } else {
        ("gap", &table.gap)
    };
    if let Some(typed) = unused.1.given() {
        reader.error(
            &typed.span,
            format!("opening.{} does not belong to this kind", unused.0),
            format!("this kind has width and {key}"),
        );
    }
    let field = format!("opening.{key}");
    let other_side = reader.within(
        &field,
        other,
        0.001..=10.0,
        "from 0.04 in to 33 ft (1 mm to 10 m)",
    );
    let missing = other.is_absent() || (kind == OpeningKind::Open && table.width.is_absent());
    if missing {
        reader.error(
            &given.span,
            format!("opening: its {key} or width is missing"),
            format!("give width and {key}, or area"),
        );
    }
    if let Some(typed) = table
        .gap
        .given()
        .filter(|_| other_side > 0.15 && key == "gap")
    {
        reader.error(
            &typed.span,
            format!("opening.gap of {} is no undercut", typed.value.text),
            "the gap under a closed door is up to 6 in (15 cm); an open door is of kind \"open\"",
        );
    }
    width * other_side * f64::from(count)
}

/// Warns of lived-in zones that no opening and no duct joins to the rest.
fn unreachable_zones(table: &JobTable, places: &Places, openings: &[Opening], reader: &mut Reader) {
    let members = table.zone.each();
    for (index, zone) in places.zones.iter().enumerate() {
        let joined = openings
            .iter()
            .any(|opening| opening.between.contains(&index));
        if zone.kind.conditioned() && !joined {
            let span = members.get(index).map_or(0..0, |given| given.span.clone());
            reader.warn(
                &span,
                format!("no opening joins zone \"{}\" to another", zone.name),
                "add an [[opening]]: a door undercut, an open door or stair, a transfer grille",
            );
        }
    }
}
