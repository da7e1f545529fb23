//! A whole set-up day in an invented house: a contractor who does what the advice says, with an
//! ordinary manometer, charts that are off, and one exchange of the hoses.
//!
//! The day is kept as examples/duluth-set-up-day.toml; `LUNGWORT_WRITE=1 cargo test -p balancing
//! --test day` plays it anew and writes it.

use std::fs;
use std::path::{Path, PathBuf};

use balancing::{Day, Standing};
use commission::{Damped, Place, Port, Stream, Verdict};
use diagnostics::Source;
use house::model::{Job, Mode, Season, Setting, Side};
use journal::{BlowerMode, DamperTurned, Event, Journal, Reading, Stamp, StruckOut, Visit};
use plan::inputs::{Inputs, Parameters};
use plan::installation::Installation;
use plan::{OperatingCase, Plan};

const INWC: f64 = 249.088_91;

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples")
}

fn job() -> Job {
    let folder = examples();
    let name = "duluth-set-up.toml";
    let text = fs::read_to_string(folder.join(name)).expect("the example");
    let source = Source::new(name, text);
    let reading = house::file::read(&source, &mut |name| {
        fs::read(folder.join(name)).map_err(|error| error.to_string())
    });
    assert!(
        !reading.problems.have_errors(),
        "{:?}",
        reading.problems.list()
    );
    reading.job.expect("a sound job")
}

/// The house as it really is, which nobody on the day knows: the supply duct was crushed where it
/// passes a joist, the kitchen run came out shorter than planned, the fans are not quite as certified.
fn truth(job: &Job) -> Inputs {
    let mut inputs = Parameters::new(job).best().clone();
    inputs.duct_factors = [1.6, 3.0, 0.7, 0.7];
    inputs.supply_fan_factor *= 0.95;
    inputs.extract_fan_factor *= 1.02;
    inputs
}

/// What the charts on the unit are off, supply and extract.
const CHARTS: [f64; 2] = [1.018, 0.988];
/// What the manometer is off: gain and zero (Pa).
const MANOMETER: (f64, f64) = (1.006, 0.15);
/// Standard-normal numbers for the noise of the readings, drawn once.
const NOISE: [f64; 12] = [
    0.34, -0.81, 1.12, -0.27, 0.58, -1.35, 0.09, 0.77, -0.46, -0.15, 1.48, -0.92,
];

struct True<'a> {
    installation: Installation<'a>,
    day: &'a Day,
    taken: usize,
}

impl True<'_> {
    fn flows(&mut self, blower: Mode, setting: Setting, angles: [f64; 2]) -> plan::CaseFlows {
        self.installation.set_dampers(angles[0], angles[1]);
        self.installation
            .solve(OperatingCase {
                blower,
                setting,
                season: Season::Mild,
                wind: None,
            })
            .expect("the true house can be solved")
    }

    /// What a perfect manometer shows (Pa).
    fn exact(&mut self, place: Place, blower: Mode, setting: Setting, angles: [f64; 2]) -> f64 {
        let flows = self.flows(blower, setting, angles);
        match place {
            Place::Station(at) => {
                let station = &self.day.set_up.stations()[at];
                let flow = match station.stream {
                    Stream::Supply => flows.supply,
                    Stream::Extract => flows.extract,
                    other => panic!("{other:?}"),
                };
                station.shown(flow / CHARTS[at])
            }
            Place::Port(port) => flows.ports[Port::ALL.iter().position(|it| *it == port).unwrap()],
            Place::Plenum(side) => flows.plenums.unwrap()[usize::from(side == Side::Supply)],
            Place::House => flows.house_pressure(),
        }
    }

    /// What the contractor's manometer shows, as it is written down.
    fn read(&mut self, place: Place, blower: Mode, setting: Setting, angles: [f64; 2]) -> String {
        let exact = self.exact(place, blower, setting, angles);
        let noise = f64::hypot(0.01 * exact, 0.3) * NOISE[self.taken % NOISE.len()];
        self.taken += 1;
        let shown = MANOMETER.0 * exact + MANOMETER.1 + noise;
        format!("{:.3} inWC", shown / INWC)
    }

    /// The angle at which a station shows what is aimed for.
    fn angle_for(
        &mut self,
        damper: Damped,
        station: usize,
        aim: f64,
        blower: Mode,
        setting: Setting,
        mut angles: [f64; 2],
    ) -> f64 {
        let (mut open, mut shut) = (0.0, 85.0);
        for _ in 0..40 {
            let middle = 0.5 * (open + shut);
            angles[damper as usize] = middle;
            let exact = self.exact(Place::Station(station), blower, setting, angles);
            if MANOMETER.0 * exact + MANOMETER.1 > aim {
                open = middle;
            } else {
                shut = middle;
            }
        }
        0.5 * (open + shut)
    }
}

fn blower_mode(mode: Mode) -> BlowerMode {
    match mode {
        Mode::Off => BlowerMode::Off,
        Mode::Low => BlowerMode::Low,
        Mode::Heating => BlowerMode::Heating,
        Mode::Cooling => BlowerMode::Cooling,
    }
}

/// What the day became.
struct Played {
    events: Vec<Event>,
    end: Standing,
    day: Day,
    /// Rounds in which both stations were read with the dampers as they stood.
    passes: usize,
    /// True balance and delivered air (kg/s) in each mode that has to be right.
    balances: Vec<(Mode, f64, f64, f64, f64)>,
}

fn understood(job: &Job, plan: &Plan, events: &[Event]) -> Day {
    let mut bytes = Vec::new();
    for event in events {
        let stamp = Stamp::new("2026-05-12T09:00:00-05:00", "R. Aune");
        bytes.extend(Journal::read(&bytes).next(&stamp, event.clone()).bytes);
    }
    let journal = Journal::read(&bytes);
    let struck = journal.struck_out();
    Day::new(job, plan, journal.entries(), |entry| {
        struck.contains_key(&entry)
    })
    .expect("a sound job")
}

fn play() -> Played {
    let job = job();
    let plan = Plan::from_chosen(job.chosen.as_ref().expect("a plan"));
    let mut events = vec![Event::SetUp(Visit {
        outdoor: "51 F".into(),
        indoor: "69 F".into(),
        ..Visit::default()
    })];
    let empty = understood(&job, &plan, &events);
    let inputs = truth(&job);
    let installation = Installation::new(
        empty.set_up.job(),
        Some(empty.set_up.plan()),
        &inputs,
        false,
    )
    .expect("the true house");
    let mut house = True {
        installation,
        day: &empty,
        taken: 0,
    };
    let mut angles = [0.0; 2];
    let mut passes = 1;
    for _ in 0..20 {
        let day = understood(&job, &plan, &events);
        let standing = Standing::of(&day, None).expect("solved");
        let reading = |place, value: &str, blower, setting: Setting| {
            Event::Reading(Reading {
                at: empty.set_up.name(place),
                value: value.into(),
                blower: Some(blower_mode(blower)),
                setting: setting.name().into(),
                ..Reading::default()
            })
        };
        match standing.advice.verdict {
            Verdict::ReadMore => {
                let wanted = standing.wanted.expect("a reading is wanted");
                let value = house.read(wanted.place, wanted.blower, wanted.setting, angles);
                // The second reading of the day: the hoses are on the wrong taps.
                if events.len() == 2 {
                    let wrong = format!("-{value}");
                    events.push(reading(wanted.place, &wrong, wanted.blower, wanted.setting));
                    events.push(Event::StruckOut(StruckOut {
                        entry: 3,
                        reason: "hoses exchanged".into(),
                    }));
                }
                events.push(reading(wanted.place, &value, wanted.blower, wanted.setting));
            }
            Verdict::Turn => {
                passes += 1;
                let step = &standing.advice.steps[0];
                let aim = step.aim.expect("a station");
                let setting = day.goals[standing.goal].setting;
                let angle = house.angle_for(
                    step.damper,
                    aim.station,
                    aim.after,
                    step.mode,
                    setting,
                    angles,
                );
                angles[step.damper as usize] = angle;
                events.push(Event::Damper(DamperTurned {
                    damper: match step.damper {
                        Damped::Supply => journal::Stream::Supply,
                        Damped::Extract => journal::Stream::Extract,
                    },
                    to: format!("{:.0} deg", angle),
                    note: String::new(),
                }));
                let place = Place::Station(aim.station);
                let value = house.read(place, step.mode, setting, angles);
                events.push(reading(place, &value, step.mode, setting));
            }
            _ => break,
        }
    }
    let day = understood(&job, &plan, &events);
    let end = Standing::of(&day, None).expect("solved");
    let balances = day.goals[0]
        .modes
        .iter()
        .map(|&mode| {
            let flows = house.flows(mode, day.goals[0].setting, angles);
            (
                mode,
                flows.balance(),
                flows.delivered,
                flows.supply,
                flows.extract,
            )
        })
        .collect();
    Played {
        events,
        end,
        day,
        passes,
        balances,
    }
}

/// The day as a file of readings.
fn written(events: &[Event]) -> String {
    let mut text = String::from(
        "# The set-up day of duluth-set-up.toml, as the contractor wrote it down: an ordinary manometer, an\n\
         # invented house whose supply duct resists more than the survey believed, one exchange of the hoses.\n\
         # `lungwort balance examples/duluth-set-up.toml --readings examples/duluth-set-up-day.toml`\n\
         who = \"R. Aune\"\noutdoor = \"51 F\"\nindoor = \"69 F\"\n",
    );
    for (index, event) in events.iter().enumerate().skip(1) {
        let time = format!("2026-05-12T09:{:02}:00-05:00", 4 * index);
        text +=
            &format!("\n[[step]]                                # {index}\ntime = \"{time}\"\n");
        text += &match event {
            Event::Reading(reading) => format!(
                "at = \"{}\"\nvalue = \"{}\"\nblower = \"{}\"\nsetting = \"{}\"\n",
                reading.at,
                reading.value,
                match reading.blower {
                    Some(BlowerMode::Heating) => "heating",
                    Some(BlowerMode::Low) => "low",
                    other => panic!("{other:?}"),
                },
                reading.setting
            ),
            Event::Damper(turned) => format!(
                "damper = \"{}\"\nto = \"{}\"\n",
                turned.damper.name(),
                turned.to
            ),
            Event::StruckOut(struck) => format!(
                "strike_out = {}\nreason = \"{}\"\n",
                struck.entry - 1,
                struck.reason
            ),
            other => panic!("{other:?}"),
        };
    }
    text
}

#[test]
fn the_day_ends_balanced_in_two_passes_and_its_file_is_true() {
    let played = play();
    let advice = &played.end.advice;
    assert_eq!(
        advice.verdict,
        Verdict::Done,
        "{:.3} {} {:?} {:#?}",
        advice.probability,
        advice.text,
        played.end.estimate.suspicions(),
        played.events
    );
    assert_eq!(played.passes, 2);
    // What the day does not know: it is right.
    let goal = &played.day.goals[0];
    for (mode, balance, delivered, supply, extract) in played.balances {
        assert!(balance.abs() <= goal.tolerance, "{mode:?}: {balance}");
        assert!(delivered >= goal.required * air::STANDARD_DENSITY);
        let state = played
            .day
            .set_up
            .state(mode, goal.setting, played.day.dampers);
        let known = played.end.estimate.state(&state).expect("asked for");
        assert!(
            known.supply.contains(supply),
            "{mode:?}: {supply} in {:?}",
            known.supply
        );
        assert!(
            known.extract.contains(extract),
            "{mode:?}: {extract} in {:?}",
            known.extract
        );
    }
    // The struck-out reading is there, and not used.
    let struck = played
        .day
        .set_up
        .readings()
        .iter()
        .filter(|it| it.struck_out);
    assert_eq!(struck.count(), 1);

    let path = examples().join("duluth-set-up-day.toml");
    let text = written(&played.events);
    if std::env::var_os("LUNGWORT_WRITE").is_some() {
        fs::write(&path, &text).expect("the day can be written");
    }
    let kept = fs::read_to_string(&path).expect("the day is kept");
    assert_eq!(
        kept, text,
        "the day plays otherwise now; see the head of this test"
    );
}
