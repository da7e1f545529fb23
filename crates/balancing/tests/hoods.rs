//! A fully ducted system without an air handler, met only by a hood at every grille.

use balancing::{Day, Sheet, Standing};
use commission::{Place, Port, Verdict};
use diagnostics::Source;
use house::model::Job;
use journal::{Event, Journal, Reading, Stamp, Visit};
use plan::Plan;
use units::System;

const JOB: &str = include_str!("jobs/row-house.toml");

fn job(text: &str) -> Job {
    let source = Source::new("row-house.toml", text);
    let read = house::file::read(&source, &mut |name| Err(format!("no {name}")));
    read.job.expect("a sound job")
}

/// The day on which these were read, and how it stands.
fn look(job: &Job, readings: &[(&str, &str)]) -> (Day, Standing) {
    let plan = Plan::from_chosen(job.chosen.as_ref().expect("a plan"));
    let mut bytes = Vec::new();
    let begun = Event::SetUp(Visit {
        outdoor: "4 °C".into(),
        indoor: "21 °C".into(),
        ..Visit::default()
    });
    let readings = readings.iter().map(|(at, value)| {
        Event::Reading(Reading {
            at: (*at).into(),
            value: (*value).into(),
            setting: "high".into(),
            ..Reading::default()
        })
    });
    for event in std::iter::once(begun).chain(readings) {
        let stamp = Stamp::new("2026-05-12T09:00:00Z", "M. Keller");
        bytes.extend(Journal::read(&bytes).next(&stamp, event).bytes);
    }
    let journal = Journal::read(&bytes);
    let day = Day::new(job, &plan, journal.entries(), |_| false).expect("a day");
    let standing = Standing::of(&day, None).expect("it stands somehow");
    (day, standing)
}

const READ: [(&str, &str); 4] = [
    ("hood at bedroom", "24.8 L/s"),
    ("hood at living", "28.9 L/s"),
    ("hood at kitchen", "26.5 L/s"),
    ("hood at bath", "32.1 L/s"),
];

#[test]
fn hoods_at_all_grilles_tell_both_streams() {
    let job = job(JOB);
    for count in 0..READ.len() {
        let (day, standing) = look(&job, &READ[..count]);
        let wanted = standing.wanted.expect("a reading is wanted");
        assert_eq!(day.set_up.name(wanted.place), READ[count].0);
        assert!(!day.is_proven(&standing.estimate, 0));
    }
    let (day, standing) = look(&job, &READ);
    assert!(day.is_proven(&standing.estimate, 0));
    assert_ne!(standing.advice.verdict, Verdict::ReadMore);
    // The turn is led by a hood, and nothing speaks of a blower.
    let step = standing.advice.steps.first().expect("a turn");
    let aim = step.aim.expect("a hood that leads it");
    assert_eq!(
        day.set_up.name(Place::Station(aim.station)),
        "hood at kitchen"
    );
    let sheet = Sheet {
        day: &day,
        standing: &standing,
        system: System::Si,
    };
    let mut told = sheet.advice();
    told.extend([sheet.aim(), sheet.order(step)]);
    assert!(
        told.iter().all(|words| !words.contains("blower")),
        "{told:#?}"
    );
    // Every hood is foretold as a hood: by its own instrument, above zero and within a fifth.
    for expectation in &standing.advice.expectations {
        let shown = expectation.shown;
        assert!(shown.low > 0.8 * shown.value, "{expectation:?}");
        assert!(shown.high < 1.2 * shown.value, "{expectation:?}");
    }
    assert_eq!(standing.advice.expectations.len(), 4);
}

#[test]
fn a_port_that_was_not_read_is_foretold_by_the_manometer() {
    let job = job(JOB);
    let (day, standing) = look(&job, &READ);
    let place = Place::Port(Port::Outdoor);
    let instrument = day.instrument(place, "").expect("a manometer");
    assert_eq!(day.set_up.instruments()[instrument].name, "manometer");
    let likely = standing.likely(
        &day,
        balancing::Wanted {
            place,
            blower: day.blower,
            setting: day.setting,
        },
    );
    let likely = likely.expect("the estimate knows the state");
    assert!(
        (-120.0..-15.0).contains(&likely.low) && likely.high < 0.0,
        "{likely:?}"
    );
}

#[test]
fn a_stream_that_no_station_tells_is_named() {
    let without = JOB.replace(
        "[[station]]\nname = \"hood at bath\"\nmeets = \"bath extract\"\ndevice = \"powered hood\"\n",
        "",
    );
    assert_ne!(without, JOB);
    let (day, standing) = look(&job(&without), &READ[..3]);
    assert!(!day.is_proven(&standing.estimate, 0));
    let text = &standing.advice.text;
    let told = "No station tells all extract air";
    assert!(text.contains(told), "{text}");
    // It is said from the beginning.
    let (day, _) = look(&job(&without), &[]);
    assert!(
        day.assumed.iter().any(|words| words.contains(told)),
        "{:?}",
        day.assumed
    );
}
