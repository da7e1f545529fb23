//! Numbers without a unit: taken in the unit that is clear, asked for where it makes no sense.

use std::path::Path;

use balancing::{Completed, Day, INDOORS, OUTDOORS, complete_temperature};
use commission::{Interval, Place, Port};
use diagnostics::Source;
use house::model::Job;
use journal::{BlowerMode, Event, Journal, Reading, Stamp, Visit};
use plan::Plan;

const INWC: f64 = 249.088_91;
const CFM: f64 = 0.000_471_947_443_2;

fn job() -> Job {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let text = std::fs::read_to_string(folder.join("duluth-set-up.toml")).expect("the example");
    // A powered hood beside the charts, whose instrument shows a flow.
    let hood = "\n[[station]]\nname = \"hood\"\nmeets = \"blower\"\ndevice = \"powered hood\"\n\
                \n[[instrument]]\nname = \"flow hood\"\nkind = \"powered hood\"\n";
    let source = Source::new("job.toml", format!("{text}{hood}"));
    let read = house::file::read(&source, &mut |name| {
        std::fs::read(folder.join(name)).map_err(|error| error.to_string())
    });
    read.job.expect("a sound job")
}

/// The day on which these were read.
fn day(job: &Job, readings: &[(&str, &str)]) -> Day {
    let plan = Plan::from_chosen(job.chosen.as_ref().expect("a plan"));
    let mut bytes = Vec::new();
    let begun = Event::SetUp(Visit::default());
    let readings = readings.iter().map(|(at, value)| {
        Event::Reading(Reading {
            at: (*at).into(),
            value: (*value).into(),
            blower: Some(BlowerMode::Low),
            setting: "high".into(),
            ..Reading::default()
        })
    });
    for event in std::iter::once(begun).chain(readings) {
        let stamp = Stamp::new("2026-05-12T09:00:00-05:00", "R. Aune");
        bytes.extend(Journal::read(&bytes).next(&stamp, event).bytes);
    }
    let journal = Journal::read(&bytes);
    Day::new(job, &plan, journal.entries(), |_| false).expect("a day")
}

#[test]
fn a_bare_number_has_the_unit_that_is_clear_and_none_is_guessed() {
    let job = job();
    let in_inches = day(&job, &[]);
    let in_pascals = day(&job, &[("supply station", "93 Pa")]);
    let in_litres = day(&job, &[("hood", "210 L/s")]);
    let [supply, hood, port, house] = [
        in_inches.place("supply station").expect("a station"),
        in_inches.place("hood").expect("a station"),
        Place::Port(Port::Supply),
        Place::House,
    ];
    let between = |low: f64, high: f64, size: f64| {
        Some(Interval {
            value: 0.5 * (low + high) * size,
            low: low * size,
            high: high * size,
        })
    };
    let likely = between(0.2, 0.6, INWC);
    let meant = |text: &str| Completed::Meant(text.into());
    // (day, place, typed, what is likely, what it is taken for)
    for (day, place, typed, likely, taken) in [
        (&in_inches, supply, "0.372", likely, meant("0.372 inWC")),
        (&in_inches, supply, " -0.372 ", likely, meant("-0.372 inWC")),
        (&in_inches, supply, "0,372", likely, meant("0,372 inWC")),
        // Far from likely, and in no other unit nearer: the doubt of the reading says more.
        (&in_inches, supply, "0.01", likely, meant("0.01 inWC")),
        (&in_inches, supply, "0.372", None, meant("0.372 inWC")),
        (&in_inches, port, "0.15", None, meant("0.15 inWC")),
        (&in_inches, house, "-2", None, meant("-2 Pa")),
        (&in_inches, hood, "450", None, meant("450 cfm")),
        // The unit that was typed last for such a place.
        (&in_pascals, supply, "95", likely, meant("95 Pa")),
        (&in_pascals, port, "37", None, meant("37 Pa")),
        (&in_pascals, hood, "450", None, meant("450 cfm")),
        (&in_litres, hood, "215", None, meant("215 L/s")),
        (&in_litres, supply, "0.372", likely, meant("0.372 inWC")),
        // With a unit, or no number: as typed.
        (
            &in_inches,
            supply,
            "93 Pa",
            likely,
            Completed::AsTyped("93 Pa".into()),
        ),
        (
            &in_inches,
            supply,
            "leaks",
            likely,
            Completed::AsTyped("leaks".into()),
        ),
    ] {
        assert_eq!(day.complete(place, typed, likely), taken, "{typed}");
    }
    // (day, place, typed, what is likely, what is asked)
    for (day, place, typed, likely, asked) in [
        (&in_inches, supply, "90", likely, Some("90 Pa")),
        (&in_inches, supply, "90", None, Some("90 Pa")),
        (&in_inches, supply, "9.5", likely, Some("9.5 mmH2O")),
        (&in_pascals, supply, "0.372", likely, Some("0.372 inWC")),
        // Near what is likely is enough where the usual unit cannot be.
        (&in_inches, supply, "40", likely, Some("40 Pa")),
        (&in_inches, supply, "90000", likely, None),
        (
            &in_inches,
            hood,
            "47",
            between(90.0, 125.0, CFM),
            Some("47 L/s"),
        ),
        (
            &in_inches,
            hood,
            "210",
            between(400.0, 500.0, CFM),
            Some("210 L/s"),
        ),
    ] {
        match day.complete(place, typed, likely) {
            Completed::Doubtful { better, why } => {
                assert_eq!(better.as_deref(), asked, "{typed}");
                assert!(why.starts_with(typed), "{why}");
            }
            other => panic!("{typed}: {other:?}"),
        }
    }
}

#[test]
fn a_bare_temperature_has_the_unit_that_is_clear() {
    let meant = |text: &str| Completed::Meant(text.into());
    let ask = |text: Option<&str>| text.map(str::to_owned);
    for (typed, usual, possible, taken) in [
        ("51", "°F", OUTDOORS, Ok(meant("51 °F"))),
        ("-20", "°C", OUTDOORS, Ok(meant("-20 °C"))),
        ("−20", "°C", OUTDOORS, Ok(meant("−20 °C"))),
        ("21 C", "°F", INDOORS, Ok(Completed::AsTyped("21 C".into()))),
        ("70", "°C", INDOORS, Err(ask(Some("70 °F")))),
        ("21", "°F", INDOORS, Err(ask(Some("21 °C")))),
        ("700", "°F", INDOORS, Err(ask(None))),
    ] {
        match (complete_temperature(typed, usual, possible), taken) {
            (Completed::Doubtful { better, .. }, Err(asked)) => {
                assert_eq!(better, asked, "{typed}")
            }
            (got, taken) => assert_eq!(Ok(got), taken, "{typed}"),
        }
    }
}
