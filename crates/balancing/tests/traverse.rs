//! A Pitot traverse from the text that was typed to the flow behind it.

use balancing::{Day, understand};
use commission::traverse::{Rule, rectangular_places, round_places};
use diagnostics::Source;
use house::model::{Job, StationDevice};
use journal::{Event, Journal, Reading, Stamp};
use plan::Plan;

const INWC: f64 = 249.088_91;
/// Area of a 6 in round duct (m²).
const AREA: f64 = 0.018_241_47;

fn pitot() -> StationDevice {
    StationDevice::PitotTraverse { area: AREA }
}

/// Dry air of 1.2 kg/m³ at sea level, as the hand computations have it.
fn air() -> air::AirState {
    let temperature = air::STANDARD_PRESSURE / (287.042 * 1.2) - 273.15;
    commission::device::air_at(temperature, 0.0, 0.0).expect("ordinary air")
}

/// Flow by hand: the mean of √(2p/ρ) with the sign of p, times the area.
fn by_hand(pressures: &[f64]) -> f64 {
    let velocities = pressures
        .iter()
        .map(|p| p.signum() * (2.0 * p.abs() / 1.2_f64).sqrt());
    AREA * velocities.sum::<f64>() / pressures.len() as f64
}

/// (typed, velocity pressures in Pa, whether the station's unit was taken)
#[test]
fn lists_are_read_as_a_person_writes_them() {
    let table: &[(&str, &[f64], bool)] = &[
        ("12; 14; 13 Pa", &[12.0, 14.0, 13.0], false),
        ("12 Pa; 14 Pa; 13 Pa", &[12.0, 14.0, 13.0], false),
        ("12Pa;14Pa;13Pa", &[12.0, 14.0, 13.0], false),
        ("12 14 13 Pa", &[12.0, 14.0, 13.0], false),
        ("12, 14, 13 Pa", &[12.0, 14.0, 13.0], false),
        ("12,5; 14,0 Pa", &[12.5, 14.0], false),
        ("12; 14; 13", &[12.0, 14.0, 13.0], true),
        ("12 Pa; 14; 13", &[12.0, 14.0, 13.0], false),
        (
            "0.05; 0.06 inWC; 13 Pa",
            &[0.05 * INWC, 0.06 * INWC, 13.0],
            false,
        ),
        ("0.05 in WC; 13 Pa", &[0.05 * INWC, 13.0], false),
        ("0.05 inH2O; 0.06 inH2O", &[0.05 * INWC, 0.06 * INWC], false),
        ("16 Pa", &[16.0], false),
    ];
    for (typed, pressures, bare) in table {
        let read = understand(typed, Some(&pitot()), "Pa", Some(&air()))
            .unwrap_or_else(|why| panic!("{typed}: {why}"));
        let expected = by_hand(pressures);
        assert!(
            (read.value / expected - 1.0).abs() < 1e-5,
            "{typed}: {} for {expected}",
            read.value
        );
        assert_eq!(read.unit_assumed, *bare, "{typed}");
        assert_eq!(read.places, pressures.len(), "{typed}");
    }
    // 4 and 16 Pa in 6 in: √(2·4/1.2) = 2.582 and √(2·16/1.2) = 5.164 m/s, mean 3.873 m/s, so
    // 0.07065 m³/s. The mean of the pressures, 10 Pa, would give 4.082 m/s: 5.4 % too much.
    let read = understand("4; 16 Pa", Some(&pitot()), "Pa", Some(&air())).expect("a traverse");
    assert!((read.value - 0.070_65).abs() < 1e-5, "{}", read.value);
}

#[test]
fn what_is_no_list_of_pressures_is_refused_with_a_reason() {
    for (typed, why) in [
        ("", "velocity pressures"),
        ("12; cold; 13 Pa", "cold"),
        ("12 L; 13 Pa", "unit of volume"),
        ("12,14,13 Pa", "12,14,13"),
        ("12; 13 °F", "unit of temperature"),
    ] {
        let told = understand(typed, Some(&pitot()), "Pa", Some(&air())).expect_err(typed);
        assert!(told.contains(why), "{typed}: {told}");
    }
    // A flow that somebody has averaged already is taken as it is.
    let flow = understand("90 cfm", Some(&pitot()), "Pa", Some(&air())).expect("a flow");
    assert!((flow.value - 90.0 * 0.000_471_947_4).abs() < 1e-8);
}

/// (count, negative, zero, words that are told)
#[test]
fn odd_points_are_used_and_told() {
    let table: &[(&[f64], &[&str])] = &[
        (&[10.0; 12], &[]),
        (&[10.0; 16], &[]),
        (&[10.0; 20], &[]),
        (&[10.0; 18], &[]),
        (&[10.0; 24], &[]),
        (&[10.0; 30], &[]),
        (&[10.0; 25], &[]),
        (&[10.0; 42], &[]),
        (&[10.0; 1], &["it is 1 place"]),
        (&[10.0; 7], &["it is 7 places"]),
        (&[10.0; 14], &["it is 14 places"]),
    ];
    let odd = |pressures: &[f64]| {
        let typed: Vec<String> = pressures.iter().map(|p| format!("{p}")).collect();
        let typed = format!("{} Pa", typed.join("; "));
        understand(&typed, Some(&pitot()), "Pa", Some(&air())).expect("a traverse")
    };
    for (pressures, told) in table {
        let read = odd(pressures);
        assert_eq!(read.odd.len(), told.len(), "{:?}", read.odd);
        for (text, words) in read.odd.iter().zip(*told) {
            assert!(text.contains(words), "{text}");
        }
    }
    let mut points = [12.0; 12];
    points[3] = -3.0;
    points[7] = 0.0;
    points[8] = 0.0;
    let read = odd(&points);
    assert!(
        (read.value / by_hand(&[&points[..7], &points[9..]].concat()) - 10.0 / 12.0).abs() < 1e-5
    );
    assert!(
        read.odd[0].contains("1 of the 12 velocity pressures is negative"),
        "{:?}",
        read.odd
    );
    assert!(
        read.odd[1].contains("2 of the 12 velocity pressures are zero"),
        "{:?}",
        read.odd
    );
    // All negative: the hoses are exchanged, which the sign of the flow tells.
    let read = odd(&[-12.0; 12]);
    assert!(read.value < 0.0 && read.odd.is_empty(), "{read:?}");
}

/// Places of the two rules along a diameter and across a side, as parts of it from the wall: ISO
/// 3966, table of the log-linear and log-Tchebycheff rules; from memory.
#[test]
fn the_places_are_those_of_the_standard() {
    for (rule, count, half) in [
        (Rule::LogTchebycheff, 6, &[0.032, 0.137, 0.312][..]),
        (Rule::LogTchebycheff, 8, &[0.024, 0.100, 0.194, 0.334][..]),
        (
            Rule::LogTchebycheff,
            10,
            &[0.019, 0.076, 0.155, 0.215, 0.357][..],
        ),
        (Rule::LogLinear, 6, &[0.032, 0.135, 0.321][..]),
        (Rule::LogLinear, 8, &[0.021, 0.117, 0.184, 0.345][..]),
        (
            Rule::LogLinear,
            10,
            &[0.019, 0.077, 0.153, 0.217, 0.361][..],
        ),
    ] {
        let places = round_places(rule, count).expect("a rule");
        assert_eq!(places.len(), count);
        for (at, part) in half.iter().enumerate() {
            assert!((places[at] - part).abs() < 1e-12, "{rule:?} {count}");
            let mirrored = places[count - 1 - at];
            assert!((mirrored - (1.0 - part)).abs() < 1e-12, "{rule:?} {count}");
        }
    }
    assert!(round_places(Rule::LogLinear, 7).is_err());
    let across = rectangular_places(0.5).expect("a side");
    assert_eq!(across, [0.074, 0.288, 0.500, 0.712, 0.926]);
}

/// What a person would write down along a diameter of a power-law profile, n = 7, with 5 m/s in the
/// middle: the mean is 2n²/((n+1)(2n+1)) = 0.81667 of it, so 4.0833 m/s and 0.07449 m³/s. The rules
/// find it within 0.6 %, which is their error on this profile.
#[test]
fn a_traverse_of_a_known_profile_gives_its_flow() {
    for rule in [Rule::LogTchebycheff, Rule::LogLinear] {
        for count in [6, 8, 10] {
            let places = round_places(rule, count).expect("a rule");
            let typed: Vec<String> = places
                .iter()
                .chain(&places)
                .map(|y| {
                    let velocity = 5.0 * (2.0 * y.min(1.0 - y)).powf(1.0 / 7.0);
                    format!("{:.2}", 0.6 * velocity * velocity)
                })
                .collect();
            let typed = format!("{} Pa", typed.join("; "));
            let read = understand(&typed, Some(&pitot()), "Pa", Some(&air())).expect(&typed);
            assert!(
                (read.value / 0.074_49 - 1.0).abs() < 0.006,
                "{rule:?} {count}"
            );
            assert!(read.odd.is_empty(), "{:?}", read.odd);
        }
    }
}

fn job() -> Job {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let text = std::fs::read_to_string(folder.join("duluth-set-up.toml")).expect("the example");
    let (before, rest) = text
        .split_once("[[station]]\nname = \"extract station\"")
        .expect("it");
    let (_, after) = rest.split_once("[[instrument]]").expect("an instrument");
    let text = format!(
        "{before}[[station]]\nname = \"extract station\"\nmeets = \"extract\"\ndevice = \"Pitot traverse\"\nduct = \"6 in\"\ntemperature = \"70 F\"\n[[instrument]]{after}"
    );
    let source = Source::new("traverse.toml", text);
    let reading = house::file::read(&source, &mut |name| {
        std::fs::read(folder.join(name)).map_err(|error| error.to_string())
    });
    assert!(
        !reading.problems.have_errors(),
        "{:?}",
        reading.problems.list()
    );
    reading.job.expect("a sound job")
}

/// From the journal to the flow at the station, and the odd point told with its entry. Exchanged
/// hoses are offered to be turned, all points at once.
#[test]
fn a_traverse_in_the_journal_becomes_a_flow() {
    let job = job();
    let plan = Plan::from_chosen(job.chosen.as_ref().expect("a plan"));
    let mut bytes = Vec::new();
    for value in [
        "0.030; 0.028; 0.031; -0.004; 0.030; 0.029; 0.028; 0.031; 0.030; 0.030; 0.029; 0.028 inWC",
        "-0.030; -0.028; -0.031; -0.030; -0.029; -0.030 inWC",
    ] {
        let reading = Event::Reading(Reading {
            at: "extract station".into(),
            value: value.into(),
            setting: "high".into(),
            ..Reading::default()
        });
        let stamp = Stamp::new("2026-05-12T09:00:00-05:00", "R. Aune");
        bytes.extend(Journal::read(&bytes).next(&stamp, reading).bytes);
    }
    let journal = Journal::read(&bytes);
    let day = Day::new(&job, &plan, journal.entries(), |_| false).expect("a day");
    let density = day.set_up.stations()[1].air.density();
    // By hand: 11 places with the root of about 0.03 inWC, one that flows back.
    let roots: f64 = [
        30.0, 28.0, 31.0, -4.0, 30.0, 29.0, 28.0, 31.0, 30.0, 30.0, 29.0, 28.0_f64,
    ]
    .iter()
    .map(|p| p.signum() * (2.0 * p.abs() * 0.001 * INWC / density).sqrt())
    .sum();
    let expected = AREA * roots / 12.0;
    let value = day.set_up.readings()[0].value;
    assert!(
        (value / expected - 1.0).abs() < 1e-5,
        "{value} for {expected}"
    );
    assert_eq!(day.odd[0].entry, 1);
    assert!(day.odd[0].text.contains("1 of the 12"), "{:?}", day.odd);
    let (_, turned) = day.exchanged(&day.taken[1]).expect("a wrong sign");
    assert!(turned > 0.0);
    assert_eq!(
        balancing::turned("-0.030; -0.028 inWC"),
        "0.030; 0.028 inWC"
    );
}
