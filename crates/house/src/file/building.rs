//! The building, its zones, openings and exhausts.

use std::ops::Range;

use diagnostics::Problem;
use units::{
    Area, Fraction, Length, Pressure, Quantity, Temperature, Typed, Uncertainty, VolumeFlow,
};

use super::reader::{Names, Reader};
use super::tables::{ClimateTable, ExistingTable, HouseTable, JobTable, OpeningTable, ZoneTable};
use super::value::{Given, Slot};
use super::words::{BlowerDoor, Tightness, Ventilation};
use super::{Places, pair};
use crate::model::{
    AirHandler, Building, Climate, Estimate, Exhaust, Existing, Opening, OpeningKind, Season,
    Weather, Zone, ZoneKind,
};

const FOOT: f64 = 0.3048;
const HOUR: f64 = 3600.0;

pub(super) fn fahrenheit(degrees: f64) -> f64 {
    (degrees - 32.0) / 1.8
}

pub(super) fn building(slot: &Slot<HouseTable>, reader: &mut Reader) -> Building {
    let absent = HouseTable::default();
    let house = slot.value().unwrap_or(&absent);
    let altitude = reader.within(
        "house.altitude",
        &house.altitude,
        -430.0..=6000.0,
        "between the Dead Sea and the highest towns: -1400 to 19700 ft (-430 to 6000 m)",
    );
    let floor_area = reader.positive("house.floor_area", &house.floor_area);
    if let Some(given) = house.floor_area.given()
        && (!(20.0..=2500.0).contains(&floor_area))
    {
        reader.warn(
            &given.span,
            format!("house.floor_area of {} is unusual", given.value.text),
            "houses have about 200 to 27000 ft2 (20 to 2500 m2)",
        );
    }
    let ceiling_height = reader.within(
        "house.ceiling_height",
        &house.ceiling_height,
        1.8..=9.0,
        "from 6 to 30 ft (1.8 to 9 m)",
    );
    let ceiling_height = reader.or_default::<Length, _>(
        "house.ceiling_height",
        &house.ceiling_height,
        ceiling_height,
        8.0 * FOOT,
        "usual ceiling (common practice, no published source)",
    );
    let storeys = house.storeys.given().map_or(f64::NAN, |given| {
        if !(0.5..=5.0).contains(&given.value.value) {
            reader.error(
                &given.span,
                format!("house.storeys cannot be {}", given.value.text),
                "a house has 1 to 5 storeys above grade",
            );
        }
        given.value.value
    });
    let bedrooms = house.bedrooms.given().map_or(0, |given| {
        if given.value > 20 {
            reader.error(
                &given.span,
                format!("house.bedrooms cannot be {}", given.value),
                "a house has 0 to 20 bedrooms",
            );
        }
        given.value
    });
    let occupants = house.occupants.value().copied().unwrap_or_else(|| {
        let people = bedrooms.max(1) + 1;
        reader.assume(
            "house.occupants",
            people.to_string(),
            "bedrooms plus one (ASHRAE 62.2-2019, 4.1.1)",
        );
        people
    });
    if house.occupants.value() == Some(&0) {
        let span = house
            .occupants
            .given()
            .map_or(0..0, |given| given.span.clone());
        reader.error(
            &span,
            "house.occupants cannot be 0",
            "count the people who live there",
        );
    }
    let volume = floor_area * ceiling_height;
    let leakage_at_50_pascals = leakage(house, volume, reader);
    let leakage_exponent = reader.number(
        "house.leakage_exponent",
        &house.leakage_exponent,
        0.5..=1.0,
        (0.65, 0.05),
        "usual for houses (from memory; 0.5 is turbulent, 1 laminar)",
    );
    let required_rate = house.required_rate.given().map(|given| {
        let rate = reader.positive("house.required_rate", &house.required_rate);
        if rate > volume / 1800.0 {
            reader.warn(
                &given.span,
                format!(
                    "house.required_rate of {} is more than two air changes an hour",
                    given.value.text
                ),
                "dwellings need about 0.2 to 0.5",
            );
        }
        rate
    });
    Building {
        place: house.place.value().cloned().unwrap_or_default(),
        altitude,
        floor_area,
        ceiling_height,
        storeys,
        bedrooms,
        occupants,
        leakage_at_50_pascals,
        leakage_exponent,
        required_rate,
    }
}

/// Flow through the closed envelope at 50 Pa.
fn leakage(house: &HouseTable, volume: f64, reader: &mut Reader) -> Estimate {
    const FIELD: &str = "house.blower_door";
    const WIDTH: Uncertainty = Uncertainty::Relative(0.05);
    const REASON: &str = "one blower-door test on a calm day (from memory)";
    if let (Slot::Good(door), Slot::Good(tightness)) = (&house.blower_door, &house.tightness) {
        reader.problem(
            Problem::error(
                "blower_door and tightness contradict each other",
                tightness.span.clone(),
            )
            .label("an estimate")
            .related(door.span.clone(), "a measurement")
            .help("keep the measurement and delete tightness"),
        );
    }
    let flow = match &house.blower_door {
        Slot::Good(given) => match &given.value {
            BlowerDoor::Flow(typed) => {
                reader.estimate(FIELD, typed, typed.value.si(), WIDTH, REASON)
            }
            BlowerDoor::Changes(typed) => {
                let changes = reader.estimate(FIELD, typed, typed.value.si(), WIDTH, REASON);
                Estimate {
                    value: changes.value * volume,
                    deviation: changes.deviation * volume,
                    ..changes
                }
            }
        },
        Slot::Refused => return Estimate::exact(f64::NAN),
        Slot::Absent => {
            let class = match &house.tightness {
                Slot::Refused => return Estimate::exact(f64::NAN),
                Slot::Absent => {
                    reader.assume(
                        "house.tightness",
                        "average",
                        "no blower door and no tightness is given (from memory)",
                    );
                    Tightness::Average
                }
                Slot::Good(given) => given.value,
            };
            let changes = match class {
                Tightness::Leaky => 12.0,
                Tightness::Average => 7.0,
                Tightness::Tight => 3.0,
                Tightness::VeryTight => 1.2,
            };
            let flow = changes / HOUR * volume;
            const REASON: &str =
                "leaky 12, average 7, tight 3, very tight 1.2 air changes at 50 Pa (from memory)";
            return reader.default_estimate::<VolumeFlow>(FIELD, flow, 0.8 * flow, REASON);
        }
    };
    let Some(given) = house.blower_door.given() else {
        return flow;
    };
    let changes = flow.value * HOUR / volume;
    if flow.value <= 0.0 {
        reader.error(
            &given.span,
            "house.blower_door must be above zero",
            "every house leaks",
        );
    } else if changes.is_finite() && !(0.2..=40.0).contains(&changes) {
        reader.warn(
            &given.span,
            format!("house.blower_door gives {changes:.1} air changes an hour at 50 Pa"),
            "houses have about 0.3 to 30; check the flow, the floor area and the ceiling height",
        );
    }
    flow
}

pub(super) fn climate(slot: &Slot<ClimateTable>, reader: &mut Reader) -> Climate {
    let absent = ClimateTable::default();
    let table = slot.value().unwrap_or(&absent);
    let outdoor = |key: &str, slot: &Slot<Typed<Temperature>>, reader: &mut Reader| {
        temperature(
            &format!("climate.{key}"),
            slot,
            -60.0..=60.0,
            "from -76 to 140 °F (-60 to 60 °C)",
            reader,
        )
    };
    let indoor = |key: &str, slot: &Slot<Typed<Temperature>>, reader: &mut Reader| {
        temperature(
            &format!("climate.{key}"),
            slot,
            5.0..=40.0,
            "from 41 to 104 °F (5 to 40 °C)",
            reader,
        )
    };
    let winter = outdoor("winter", &table.winter, reader);
    let summer = outdoor("summer", &table.summer, reader);
    let mild = outdoor("mild", &table.mild, reader);
    let mild = reader.or_default::<Temperature, _>(
        "climate.mild",
        &table.mild,
        mild,
        // Not `clamp`, which panics where both temperatures were refused and are not numbers.
        fahrenheit(55.0)
            .max(winter.min(summer))
            .min(summer.max(winter)),
        "a day without heating or cooling (common practice, no published source)",
    );
    let indoor_winter = indoor("indoor_winter", &table.indoor_winter, reader);
    let indoor_winter = reader.or_default::<Temperature, _>(
        "climate.indoor_winter",
        &table.indoor_winter,
        indoor_winter,
        fahrenheit(70.0),
        "usual design room in winter (common practice, no published source)",
    );
    let indoor_summer = indoor("indoor_summer", &table.indoor_summer, reader);
    let indoor_summer = reader.or_default::<Temperature, _>(
        "climate.indoor_summer",
        &table.indoor_summer,
        indoor_summer,
        fahrenheit(75.0),
        "usual design room in summer (common practice, no published source)",
    );
    if let (Slot::Good(cold), Slot::Good(hot)) = (&table.winter, &table.summer) {
        if summer < winter {
            reader.problem(
                Problem::error("climate: summer is colder than winter", hot.span.clone())
                    .label("summer")
                    .related(cold.span.clone(), "winter")
                    .help("are the two exchanged, or is a minus sign missing?"),
            );
        } else if let Some(given) = table.mild.given()
            && (mild < winter || mild > summer)
        {
            reader.warn(
                &given.span,
                "climate.mild is not between winter and summer",
                "a mild day lies between the design days",
            );
        }
    }
    let wind = reader.within(
        "climate.wind",
        &table.wind,
        0.0..=40.0,
        "from 0 to 90 mph (0 to 40 m/s)",
    );
    let wind_speed = if table.wind.is_absent() {
        reader.assume(
            "climate.wind",
            "9 mph (4 m/s)",
            "a breezy day at eaves height (from memory)",
        );
        4.0
    } else {
        wind
    };
    let weather = |season, outdoor, indoor| Weather {
        season,
        outdoor,
        indoor,
    };
    Climate {
        weathers: [
            weather(Season::Winter, winter, indoor_winter),
            weather(Season::Mild, mild, 0.5 * (indoor_winter + indoor_summer)),
            weather(Season::Summer, summer, indoor_summer),
        ],
        wind_speed,
    }
}

/// A temperature in a range; one below absolute zero is named as such.
pub(super) fn temperature(
    field: &str,
    slot: &Slot<Typed<Temperature>>,
    range: std::ops::RangeInclusive<f64>,
    accepted: &str,
    reader: &mut Reader,
) -> f64 {
    let below_zero = slot
        .given()
        .is_some_and(|given| given.value.value.si() < -273.15);
    let accepted = if below_zero {
        format!("{accepted}; this is below absolute zero")
    } else {
        accepted.to_owned()
    };
    reader.within(field, slot, range, &accepted)
}

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

/// Shares that sum to one: those given stay, the rest is shared out by floor area.
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
    for (index, given) in members.iter().enumerate() {
        let share = match slot(&given.value) {
            Slot::Good(typed) => {
                places.push(&typed.span);
                Some(reader.share(&field, slot(&given.value)))
            }
            Slot::Refused => Some(f64::NAN),
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
            30.0 * FOOT / 12.0,
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

pub(super) fn exhausts(table: &JobTable, places: &Places, reader: &mut Reader) -> Vec<Exhaust> {
    let members = table.exhaust.each();
    Names::collect("exhaust", members, |exhaust| &exhaust.name, reader);
    members
        .iter()
        .map(|given| Exhaust {
            name: given.value.name.value().cloned().unwrap_or_default(),
            zone: places.zone("exhaust.zone", &given.value.zone, &given.span, true, reader),
            flow: reader.within(
                "exhaust.flow",
                &given.value.flow,
                1e-4..=1.5,
                "above zero and at most 3000 cfm (1500 L/s)",
            ),
            continuous: given.value.continuous.value().copied().unwrap_or(false),
        })
        .collect()
}

pub(super) fn existing(
    table: &JobTable,
    places: &Places,
    air_handler: Option<&AirHandler>,
    reader: &mut Reader,
) -> Existing {
    let Some(given) = table.existing.given() else {
        if table.existing.is_absent() {
            reader.assume("existing.ventilation", "none", "no ventilation is given");
        }
        return Existing::Nothing;
    };
    let existing = &given.value;
    let Some(ventilation) = existing.ventilation.value() else {
        return Existing::Nothing;
    };
    unused_keys(existing, *ventilation, reader);
    let stays = existing.stays.value().copied().unwrap_or(false);
    let missing = |key: &str, reader: &mut Reader| {
        reader.error(
            &given.span,
            format!("existing.{key} is missing"),
            "give what was measured",
        );
    };
    match ventilation {
        Ventilation::Nothing => Existing::Nothing,
        Ventilation::ExhaustOnly => {
            if existing.flow.is_absent() {
                missing("flow", reader);
            }
            Existing::ExhaustOnly {
                zone: places.zone("existing.zone", &existing.zone, &given.span, true, reader),
                flow: reader.within(
                    "existing.flow",
                    &existing.flow,
                    1e-4..=1.5,
                    "above zero and at most 3000 cfm (1500 L/s)",
                ),
                stays,
            }
        }
        Ventilation::SupplyOnly => {
            for (key, slot) in [
                ("diameter", &existing.diameter),
                ("length", &existing.length),
                ("from_fan", &existing.from_fan),
            ] {
                if slot.is_absent() {
                    missing(key, reader);
                }
            }
            let from_fan = reader.not_negative("existing.from_fan", &existing.from_fan);
            match (air_handler, existing.from_fan.given()) {
                (None, _) if table.air_handler.is_absent() => reader.error(
                    &given.span,
                    "existing: supply-only ventilation needs a return duct",
                    "describe the [air_handler], or choose another kind",
                ),
                (Some(air_handler), Some(typed)) if from_fan > air_handler.return_path.length => {
                    beyond_end(
                        "existing.from_fan",
                        typed,
                        air_handler.return_path.length,
                        reader,
                    );
                }
                _ => {}
            }
            Existing::SupplyOnly {
                diameter: reader.within(
                    "existing.diameter",
                    &existing.diameter,
                    0.05..=0.5,
                    "from 2 to 20 in (5 to 50 cm)",
                ),
                length: reader.within(
                    "existing.length",
                    &existing.length,
                    0.0..=100.0,
                    "from 0 to 328 ft (100 m)",
                ),
                from_fan,
                stays,
            }
        }
    }
}

/// Reports a tap beyond the end of its duct.
pub(super) fn beyond_end(field: &str, typed: &Given<Typed<Length>>, end: f64, reader: &mut Reader) {
    let end = Length::from_si(end).show(reader.system);
    reader.error(
        &typed.span,
        format!(
            "{field} of {} lies beyond the end of the duct",
            typed.value.text
        ),
        format!("the trunk is {end} long; measure along the duct, or correct its length"),
    );
}

fn unused_keys(existing: &ExistingTable, ventilation: Ventilation, reader: &mut Reader) {
    let exhaust = ventilation == Ventilation::ExhaustOnly;
    let supply = ventilation == Ventilation::SupplyOnly;
    let span = |slot: &Slot<Typed<Length>>| slot.given().map(|given| given.span.clone());
    let keys = [
        (
            "zone",
            existing.zone.given().map(|given| given.span.clone()),
            exhaust,
        ),
        (
            "flow",
            existing.flow.given().map(|given| given.span.clone()),
            exhaust,
        ),
        ("diameter", span(&existing.diameter), supply),
        ("length", span(&existing.length), supply),
        ("from_fan", span(&existing.from_fan), supply),
    ];
    for (key, span, belongs) in keys {
        if let Some(span) = span.filter(|_| !belongs) {
            reader.error(
                &span,
                format!("existing.{key} does not belong to this kind of ventilation"),
                "exhaust-only has zone and flow; supply-only has diameter, length and from_fan",
            );
        }
    }
}

/// A pressure in a range that ducts of houses can have.
pub(super) fn duct_pressure(field: &str, slot: &Slot<Typed<Pressure>>, reader: &mut Reader) -> f64 {
    reader.within(
        field,
        slot,
        -1500.0..=1500.0,
        "within 6 inWC (1500 Pa) of the house",
    )
}
