//! The examples are sound, and what they say arrives in SI.

#[allow(dead_code)]
mod common;

use common::{CATALOGUE, DULUTH, FLAGSTAFF, LIGHT, TALLAHASSEE, reading};
use diagnostics::{Source, Style};
use house::file::{read, starter};
use house::model::{
    End, Existing, Interlock, Job, Layout, Mode, Origin, Section, Setting, Side, Zone,
};

fn job(text: &str) -> Job {
    let reading = reading(text.as_bytes(), CATALOGUE.as_bytes());
    assert!(
        reading.problems.is_empty(),
        "{}",
        reading.problems.render(Style::Plain)
    );
    reading.job.expect("a file without problems is a job")
}

#[test]
fn examples_have_no_problems() {
    for (text, name) in [
        (DULUTH, "Furnace house in Duluth"),
        (FLAGSTAFF, "Mountain house in Flagstaff"),
        (TALLAHASSEE, "Heat-pump house in Tallahassee"),
        (LIGHT, "Light survey of a bungalow"),
    ] {
        let job = job(text);
        assert_eq!(job.name, name);
        assert_eq!(job.units.len(), 7);
        let leakage: f64 = job.zones.iter().map(|zone| zone.leakage_share).sum();
        let supply: f64 = job.zones.iter().map(|zone| zone.supply_share).sum();
        let returned: f64 = job.zones.iter().map(|zone| zone.return_share).sum();
        for sum in [leakage, supply, returned] {
            assert!((sum - 1.0).abs() < 1e-9, "{name}: shares sum to {sum}");
        }
    }
}

/// Zones whose shares of supply and return nobody gives have them by floor area; a garage has none.
#[test]
fn shares_that_nobody_gives_go_by_floor_area() {
    let zone = |name: &str, kind: &str, area: &str| {
        format!("\n[[zone]]\nname = \"{name}\"\nkind = \"{kind}\"\nfloor_area = \"{area}\"\n")
    };
    let placed = ["[air_handler]\n", "[[grille]]\n", "[[spot]]\n"]
        .into_iter()
        .fold(LIGHT.to_owned(), |text, table| {
            text.replace(table, &format!("{table}zone = \"downstairs\"\n"))
        });
    let text = format!(
        "{placed}{}{}{}",
        zone("downstairs", "living", "1400 ft2"),
        zone("upstairs", "living", "500 ft2"),
        zone("shed", "garage", "300 ft2"),
    );
    let reading = reading(text.as_bytes(), CATALOGUE.as_bytes());
    let problems = reading.problems.render(Style::Plain);
    let job = reading.job.expect(&problems);
    for share in [
        |zone: &Zone| zone.supply_share,
        |zone: &Zone| zone.return_share,
    ] {
        let shares: Vec<f64> = job.zones.iter().map(share).collect();
        for (is, wanted) in shares.iter().zip([1400.0 / 1900.0, 500.0 / 1900.0, 0.0]) {
            assert!((is - wanted).abs() < 1e-9, "{shares:?}");
        }
    }
}

#[test]
fn the_starter_stands_alone() {
    let source = Source::new("job.toml", starter());
    let reading = read(&source, &mut |_| {
        Err("the starter asks for no other file".to_owned())
    });
    assert!(
        reading.problems.is_empty(),
        "{}",
        reading.problems.render(Style::Plain)
    );
    assert!(reading.job.is_some());
}

/// Conversions by the exact definitions of foot, inch and inch of water (NIST SP 811, 2008).
#[test]
fn numbers_arrive_in_si() {
    let duluth = job(DULUTH);
    let flagstaff = job(FLAGSTAFF);
    let light = job(LIGHT);
    let handler = duluth.air_handler.as_ref().expect("Duluth has a furnace");
    let heating = &handler.modes[0];
    let suction = heating.return_pressure.as_ref().expect("it was read");
    let sedge = duluth
        .units
        .iter()
        .find(|unit| unit.name == "Sedge 130 H")
        .expect("it is listed");
    let point = sedge.settings[1].points[0];
    let volume = 1760.0 * 0.3048f64.powi(2) * 8.5 * 0.3048;
    let cfm = 0.3048f64.powi(3) / 60.0;
    let rows = [
        ("altitude 1420 ft", duluth.building.altitude, 432.816),
        (
            "floor area 2400 ft2",
            duluth.building.floor_area,
            222.967_296,
        ),
        (
            "blower door 1650 cfm",
            duluth.building.leakage_at_50_pascals.value,
            1650.0 * cfm,
        ),
        (
            "± 5 %: deviation 2.5 %",
            duluth.building.leakage_at_50_pascals.deviation,
            41.25 * cfm,
        ),
        (
            "4.8 ach50",
            flagstaff.building.leakage_at_50_pascals.value,
            4.8 * volume / 3600.0,
        ),
        (
            "winter -16 F",
            duluth.climate.weathers[0].outdoor,
            -26.666_666_666_666_668,
        ),
        ("level -6 ft 6 in", duluth.zones[0].level, -1.9812),
        (
            "undercut 32 in x 3/4 in",
            duluth.openings[0].area,
            24.0 * 0.0254 * 0.0254,
        ),
        (
            "half inch under three doors",
            flagstaff.openings[0].area,
            45.0 * 0.0254 * 0.0254,
        ),
        ("flow 880 cfm", heating.flow.value, 880.0 * cfm),
        ("± 8 %: deviation 4 %", heating.flow.deviation, 35.2 * cfm),
        ("return -0.26 inWC", suction.value, -0.26 * 249.088_91),
        ("± 10 % assumed", suction.deviation, 0.013 * 249.088_91),
        (
            "filter 0.09 inWC, ± 2.5 Pa assumed",
            handler.filter_pressure_drop.deviation,
            1.25,
        ),
        ("run share 28 %", heating.run_share, 0.28),
        ("tap 22 ft from the fan", duluth.taps[0].from_fan, 6.7056),
        ("run of 34 ft", duluth.spots[0].runs[6].length, 10.3632),
        ("spot 60 F", duluth.spots[0].coldest, 15.555_555_555_555_555),
        ("north wall 32 ft", duluth.walls[0].width(), 9.7536),
        (
            "the west wall starts there",
            duluth.walls[1].corner[0],
            -9.7536,
        ),
        (
            "half of a fall of 3 ft",
            duluth.walls[1].ground(12.5 * 0.3048),
            -0.4572,
        ),
        ("kitchen window", duluth.walls[0].objects[0].bottom, 1.6764),
        ("snow 24 in", duluth.climate.snow, 0.6096),
        (
            "hood along 9 ft",
            duluth.terminals[0]
                .place
                .map_or(f64::NAN, |place| place.along),
            2.7432,
        ),
        // Hoods of 8 in: 9 ft and 11 ft from their common corner to the centres, 3 ft × 11/25 lower.
        (
            "around the corner",
            duluth.separations[0].distance,
            ((9.0f64 - 1.0 / 3.0).hypot(11.0 - 1.0 / 3.0)).hypot(3.0 * 11.0 / 25.0 - 2.0 / 3.0)
                * 0.3048,
        ),
        ("on one wall", duluth.separations[1].distance, 1.2192),
        ("facing from the wall", duluth.terminals[1].facing, 90.0),
        ("5 in duct", duluth.ducts.diameters[0], 0.127),
        ("good stretch", duluth.ducts.compression.value, 0.10),
        ("R-8", duluth.ducts.insulation, 1.408_881_469_6),
        ("0.16 /kWh", duluth.costs.electricity, 0.16),
        (
            "6 in duct, 2.90 /ft",
            duluth.costs.duct[1].1,
            9.514_435_695_538_057,
        ),
        ("point at 0.1 inWC", point.pressure, 24.908_891),
        ("net 132 cfm", point.net_supply, 132.0 * cfm),
        (
            "gross 132 cfm / 0.975",
            point.gross_supply,
            132.0 / 0.975 * cfm,
        ),
        ("660 L/s", light.building.leakage_at_50_pascals.value, 0.66),
        ("facing north-east", light.terminals[0].facing, 45.0),
        (
            "one zone as high as the house",
            light.zones[0].height,
            2.4384,
        ),
    ];
    for (what, got, expected) in rows {
        let tolerance = 1e-7 * expected.abs().max(1e-3);
        assert!(
            (got - expected).abs() <= tolerance,
            "{what}: {got}, not {expected}"
        );
    }
    assert_eq!(
        heating.flow.origin,
        Origin::Typed("880 cfm ± 8 %".to_owned())
    );
    assert_eq!(
        handler.return_path.section,
        Section::Rectangular(8.0 * 0.0254, 20.0 * 0.0254)
    );
}

#[test]
fn names_arrive_as_indices() {
    let job = job(DULUTH);
    let plan = job.chosen.as_ref().expect("a plan was chosen");
    assert_eq!(job.units[plan.unit].name, "Sedge 130 H");
    assert_eq!(
        (plan.setting, plan.layout),
        (Setting::High, Layout::ReturnToReturn)
    );
    assert_eq!(plan.interlock, Interlock::None);
    assert_eq!(
        (&plan.extract[..], &plan.supply[..]),
        (&[End::Tap(0)][..], &[End::Tap(2)][..])
    );
    assert_eq!(job.terminals[plan.intake].name, "north intake");
    assert_eq!(job.terminals[plan.exhaust].name, "east exhaust");
    assert_eq!((plan.supply_damper, plan.extract_damper), (None, None));
    assert_eq!(job.zones[3].joins, Some(2));
    assert_eq!(job.openings[1].between, [1, 2]);
    let Existing::ExhaustOnly { zone, stays, .. } = job.existing else {
        panic!("Duluth has a fan that only exhausts");
    };
    assert_eq!((zone, stays), (2, false));
    let drop = &job.taps[3];
    assert_eq!(
        (drop.side, drop.extract, drop.supply),
        (Side::Return, false, true)
    );
    assert_eq!(
        drop.pressure.as_ref().map(|(mode, _)| *mode),
        Some(Mode::Heating)
    );
}

/// The light survey types about twenty numbers; everything else is said to be assumed.
#[test]
fn what_is_not_said_is_assumed_aloud() {
    let reading = reading(LIGHT.as_bytes(), CATALOGUE.as_bytes());
    for field in [
        "house.ceiling_height",
        "house.occupants",
        "house.leakage_exponent",
        "uncertainty of house.blower_door",
        "zone",
        "uncertainty of air_handler.mode.flow",
        "air_handler.mode \"heating\" power",
        "air_handler.filter_pressure_drop",
        "air_handler.return.branch_share",
        "air_handler.supply.length",
        "air_handler.supply.section",
        "air_handler.supply.leakage",
        "terminal \"two-in-one hood\" flow_limit",
        "ducts.diameters",
        "ducts.compression",
        "controls.interlocks",
        "costs",
    ] {
        assert!(
            reading.assumed.iter().any(|assumed| assumed.field == field),
            "{field} is not said to be assumed"
        );
    }
    for assumed in &reading.assumed {
        assert!(
            !assumed.value.is_empty() && !assumed.reason.is_empty(),
            "{assumed:?}"
        );
    }
    let job = reading.job.expect("the light survey is a job");
    let handler = job.air_handler.expect("it has a furnace");
    assert!(
        (handler.filter_pressure_drop.value - 18.0).abs() < 1e-9,
        "20 % of 90 Pa"
    );
    assert!(
        (handler.filter_pressure_drop.deviation - 4.5).abs() < 1e-9,
        "half of it at 95 %"
    );
    assert_eq!(job.building.occupants, 4);
    assert_eq!(job.controls.interlocks, Interlock::ALL);
}

/// Without a blower door the class of tightness counts, and without a class the average one.
#[test]
fn tightness_classes() {
    let volume = 142.0 * 8.0 * 0.3048;
    for (line, changes) in [
        ("tightness = \"leaky\"", 12.0),
        ("tightness = \"average\"", 7.0),
        ("tightness = \"tight\"", 3.0),
        ("tightness = \"very tight\"", 1.2),
        ("", 7.0),
    ] {
        let job = job(&LIGHT.replace("blower_door = \"660 L/s\"", line));
        let leakage = job.building.leakage_at_50_pascals;
        let expected = changes * volume / 3600.0;
        assert!(
            (leakage.value / expected - 1.0).abs() < 1e-9,
            "{line}: {}",
            leakage.value
        );
        assert!(
            (leakage.deviation / expected - 0.4).abs() < 1e-9,
            "{line}: {}",
            leakage.deviation
        );
    }
}

#[test]
fn shares_that_are_not_given_go_by_floor_area() {
    // 30 % are left for the two floors of 800 ft2 each; the attic keeps its default of 20 %.
    let text = DULUTH
        .replace("leakage = \"20 %\"", "leakage = \"50 %\"")
        .replace("leakage = \"32 %\"\n", "")
        .replace("leakage = \"30 %\"\n", "")
        .replace("leakage = \"18 %\" ", "");
    let shares: Vec<f64> = job(&text)
        .zones
        .iter()
        .map(|zone| zone.leakage_share)
        .collect();
    for (share, expected) in shares.iter().zip([0.5, 0.15, 0.15, 0.2]) {
        assert!((share - expected).abs() < 1e-9, "{shares:?}");
    }
}
