//! Advice: followed to the letter in a house that is as believed, it ends the work.

mod common;

use commission::advice::{Obstacle, changes};
use commission::{Damped, Goal, Place, Position, Reading, SetUp, Verdict, advise, estimate};
use common::{TrueHouse, chosen, example, reading, set_up, set_up_with};
use house::model::{Entry, Interlock, Job, Mode, Setting};
use plan::Plan;
use plan::inputs::{Inputs, Parameters};

/// Reads both stations in a mode with the dampers at true angles.
fn read(
    set_up: &mut SetUp,
    empty: &SetUp,
    inputs: &Inputs,
    mode: Mode,
    dampers: [usize; 2],
    angles: [f64; 2],
) {
    let mut house = TrueHouse::new(empty, inputs);
    for station in 0..2 {
        let place = Place::Station(station);
        let value = house.shown(empty, place, mode, Setting::High, angles);
        let reading = Reading {
            dampers,
            ..reading(place, mode, Setting::High, value)
        };
        set_up.add(reading).unwrap();
    }
}

#[test]
fn without_a_reading_nothing_is_done_however_sure_the_plan_is() {
    let job = example("duluth-furnace.toml");
    let set_up = set_up(&job, &chosen(&job));
    let mut goal = Goal::of(&set_up);
    goal.required = 0.0;
    goal.tolerance = 0.5;
    let now = estimate(&set_up, &goal.states(&set_up, [0, 0])).unwrap();
    let advice = advise(&set_up, &goal, &now, [0, 0], Mode::Low).unwrap();
    assert!(advice.probability > 0.99);
    assert_eq!(advice.verdict, Verdict::ReadMore);
    assert!(advice.text.contains("Read both streams"), "{}", advice.text);
}

#[test]
fn turning_a_damper_to_its_aim_brings_the_other_station_where_it_was_foretold() {
    let job = example("duluth-furnace.toml");
    // Well calibrated stations: those of a chart would leave it unproven.
    let empty = set_up_with(&job, &chosen(&job), 0.02);
    let mut goal = Goal::of(&empty);
    goal.required *= 0.85;
    // The survey's best house with an exhaust side that resists more: the supply is the stronger.
    let mut inputs = Parameters::new(&job).best().clone();
    inputs.duct_factors = [0.8, 0.9, 1.2, 1.3];
    let mut set_up = empty.clone();
    for mode in [Mode::Low, Mode::Heating, Mode::Cooling] {
        read(&mut set_up, &empty, &inputs, mode, [0, 0], [0.0; 2]);
    }
    let now = estimate(&set_up, &goal.states(&set_up, [0, 0])).unwrap();
    let advice = advise(&set_up, &goal, &now, [0, 0], Mode::Low).unwrap();
    assert_eq!(advice.verdict, Verdict::Turn, "{}", advice.text);
    assert_eq!(advice.steps.len(), 1);
    let step = &advice.steps[0];
    assert_eq!((step.damper, step.close), (Damped::Supply, true));
    let (aim, other) = (step.aim.unwrap(), step.other.unwrap());
    assert!(aim.after < aim.before && other.after > other.before - 1.0);
    // Turn the true damper until its station shows the aim.
    let mut house = TrueHouse::new(&empty, &inputs);
    let mut shown = |station: usize, angle: f64| {
        let place = Place::Station(station);
        house.shown(&empty, place, Mode::Low, Setting::High, [angle, 0.0])
    };
    let (mut open, mut shut) = (0.0, 85.0);
    for _ in 0..40 {
        let middle = 0.5 * (open + shut);
        if shown(0, middle) > aim.after {
            open = middle;
        } else {
            shut = middle;
        }
    }
    assert!((shown(1, open) - other.after).abs() < 0.02 * other.after);
    assert!(
        (open - step.angles[1]).abs() < 8.0,
        "{open} for {:?}",
        step.angles
    );
    // Read again: done.
    let position = set_up.moved(Damped::Supply, Position::at(step.angles[1]));
    let dampers = [position, 0];
    read(
        &mut set_up,
        &empty,
        &inputs,
        Mode::Low,
        dampers,
        [open, 0.0],
    );
    let after = estimate(&set_up, &goal.states(&set_up, dampers)).unwrap();
    let end = advise(&set_up, &goal, &after, dampers, Mode::Low).unwrap();
    assert_eq!(
        end.verdict,
        Verdict::Done,
        "{} {}",
        end.probability,
        end.text
    );
    assert!((end.probability - advice.probability_after).abs() < 0.05);
    // What the stations were expected to show in the other modes is what they show.
    for expectation in &advice.expectations {
        let place = Place::Station(expectation.station);
        let truth = house.shown(&empty, place, expectation.mode, Setting::High, [open, 0.0]);
        assert!(
            expectation.shown.contains(truth),
            "{expectation:?} for {truth}"
        );
    }
}

#[test]
fn the_advice_says_which_reading_and_in_which_mode() {
    let job = example("duluth-furnace.toml");
    let empty = set_up(&job, &chosen(&job));
    let goal = Goal::of(&empty);
    let mut inputs = Parameters::new(&job).best().clone();
    inputs.duct_factors = [1.0, 1.0, 1.5, 1.6];
    let mut set_up = empty.clone();
    read(&mut set_up, &empty, &inputs, Mode::Low, [0, 0], [0.0; 2]);
    let now = estimate(&set_up, &goal.states(&set_up, [0, 0])).unwrap();
    let advice = advise(&set_up, &goal, &now, [0, 0], Mode::Low).unwrap();
    assert_eq!(advice.verdict, Verdict::Turn);
    for words in [
        "Close the supply damper to about",
        "until supply station shows",
        "inWC (",
        "with the blower in low (now",
        "Extract station will then show",
    ] {
        assert!(advice.text.contains(words), "{words:?} in {}", advice.text);
    }
    assert!(
        !advice.text.contains("before the other damper"),
        "one damper only"
    );
}

#[test]
fn where_the_weaker_stream_was_throttled_it_is_opened_first() {
    let job = example("duluth-furnace.toml");
    let empty = set_up(&job, &chosen(&job));
    let goal = Goal::of(&empty);
    let mut inputs = Parameters::new(&job).best().clone();
    inputs.duct_factors = [1.0, 1.0, 1.5, 1.6];
    let mut set_up = empty.clone();
    let extract = set_up.moved(Damped::Extract, Position::at(35.0));
    let dampers = [0, extract];
    read(
        &mut set_up,
        &empty,
        &inputs,
        Mode::Low,
        dampers,
        [0.0, 35.0],
    );
    let now = estimate(&set_up, &goal.states(&set_up, dampers)).unwrap();
    let advice = advise(&set_up, &goal, &now, dampers, Mode::Low).unwrap();
    let turns: Vec<(Damped, bool)> = advice
        .steps
        .iter()
        .map(|step| (step.damper, step.close))
        .collect();
    assert_eq!(
        turns,
        [(Damped::Extract, false), (Damped::Supply, true)],
        "{}",
        advice.text
    );
    assert!(
        advice.text.contains("Open the extract damper all the way"),
        "{}",
        advice.text
    );
    assert!(advice.text.contains("before the other damper is touched"));
    // The second turn begins where the first has ended.
    let (first, second) = (&advice.steps[0], &advice.steps[1]);
    assert!((first.other.unwrap().after - second.aim.unwrap().before).abs() < 1e-9);
}

#[test]
fn what_dampers_cannot_do_is_told_with_the_reason_and_what_would() {
    // Return-to-return without interlock: with the blower off the supply air short-circuits.
    let job = example("duluth-furnace.toml");
    let mut plan = chosen(&job);
    plan.interlock = Interlock::None;
    let empty = set_up(&job, &plan);
    let goal = Goal::of(&empty);
    let inputs = Parameters::new(&job).best().clone();
    let mut one = empty.clone();
    read(&mut one, &empty, &inputs, Mode::Low, [0, 0], [0.0; 2]);
    let now = estimate(&one, &goal.states(&one, [0, 0])).unwrap();
    let advice = advise(&one, &goal, &now, [0, 0], Mode::Low).unwrap();
    assert_eq!(advice.verdict, Verdict::CannotBeDone);
    assert!(
        advice
            .obstacles
            .iter()
            .any(|obstacle| matches!(obstacle, Obstacle::ShortCircuit(part) if *part > 0.2)),
        "{:?}",
        advice.obstacles
    );
    assert!(advice.text.contains("layout is wrong"), "{}", advice.text);
    let ways = changes(&one, &goal, &now).unwrap();
    assert!(
        ways.iter()
            .any(|change| change.text.contains("ventilator calls blower")),
        "{ways:#?}"
    );
    for change in &ways {
        assert!(
            change.delivered >= goal.required && change.balance <= goal.tolerance,
            "{change:?}"
        );
    }

    // A flush tap in the supply duct: the blower's pressure moves the balance between the modes.
    let job = example("tallahassee-heat-pump.toml");
    let mut plan = chosen(&job);
    plan.entry = Entry::Flush;
    let empty = set_up(&job, &plan);
    let mut goal = Goal::of(&empty);
    goal.required *= 0.5;
    goal.tolerance = 0.02;
    let inputs = Parameters::new(&job).best().clone();
    let mut two = empty.clone();
    read(&mut two, &empty, &inputs, Mode::Low, [0, 0], [0.0; 2]);
    let now = estimate(&two, &goal.states(&two, [0, 0])).unwrap();
    let advice = advise(&two, &goal, &now, [0, 0], Mode::Low).unwrap();
    assert_eq!(advice.verdict, Verdict::CannotBeDone, "{}", advice.text);
    assert!(
        advice
            .obstacles
            .iter()
            .any(|obstacle| matches!(obstacle, Obstacle::TapPressure(_))),
        "{:?}",
        advice.obstacles
    );
    assert!(
        advice.text.contains("pressure at the taps is too strong"),
        "{}",
        advice.text
    );

    // More air than the unit has.
    let job = example("duluth-furnace.toml");
    let empty = set_up(&job, &chosen(&job));
    let mut goal = Goal::of(&empty);
    goal.required *= 1.4;
    let inputs = Parameters::new(&job).best().clone();
    let mut three = empty.clone();
    read(&mut three, &empty, &inputs, Mode::Low, [0, 0], [0.0; 2]);
    let now = estimate(&three, &goal.states(&three, [0, 0])).unwrap();
    let advice = advise(&three, &goal, &now, [0, 0], Mode::Low).unwrap();
    assert_eq!(advice.verdict, Verdict::CannotBeDone);
    let missed = advice.obstacles.iter().find_map(|obstacle| match obstacle {
        Obstacle::TooLittleAir(part) => Some(*part),
        _ => None,
    });
    assert!(
        missed.is_some_and(|part| (0.02..0.6).contains(&part)),
        "{:?}",
        advice.obstacles
    );
}

/// One reading that does not fit decides nothing: it is read again first, and what comes then depends on
/// what it shows.
#[test]
fn one_doubtful_reading_is_read_again_before_anything_rests_on_it() {
    let job = example("duluth-furnace.toml");
    let empty = set_up(&job, &chosen(&job));
    let goal = Goal::of(&empty);
    let inputs = Parameters::new(&job).best().clone();
    let mut house = TrueHouse::new(&empty, &inputs);
    let right = [0, 1].map(|station| {
        let place = Place::Station(station);
        house.shown(&empty, place, Mode::Low, Setting::High, [0.0; 2])
    });
    let look = |readings: &[(usize, f64)]| {
        let mut set_up = empty.clone();
        for &(station, value) in readings {
            let place = Place::Station(station);
            set_up
                .add(reading(place, Mode::Low, Setting::High, value))
                .unwrap();
        }
        let now = estimate(&set_up, &goal.states(&set_up, [0, 0])).unwrap();
        let advice = advise(&set_up, &goal, &now, [0, 0], Mode::Low).unwrap();
        (now, advice)
    };
    // (what happened, station, how many times what it would show)
    for (what, station, times) in [
        ("a hose half off", 0, 0.3),
        ("a hose half off", 1, 0.25),
        ("nearly nothing", 0, 0.05),
        ("nearly nothing", 1, 0.05),
        ("a digit typed wrongly", 0, 2.5),
        ("a digit typed wrongly", 1, 3.0),
    ] {
        let other = 1 - station;
        let odd = times * right[station];
        for order in [
            [(station, odd), (other, right[other])],
            [(other, right[other]), (station, odd)],
        ] {
            let (_, advice) = look(&order);
            let asked = advice.next_reading.as_ref().map(|next| next.place);
            assert_eq!(advice.verdict, Verdict::ReadMore, "{what}: {}", advice.text);
            assert_eq!(asked, Some(Place::Station(station)), "{what}");
            // Read again and right: what did not fit is set aside, and the day goes on as if it were not.
            let (again, after) = look(&[order[0], order[1], (station, right[station])]);
            assert_ne!(
                after.verdict,
                Verdict::CannotBeDone,
                "{what}: {}",
                after.text
            );
            let first = order.iter().position(|known| known.0 == station).unwrap();
            assert!(!again.fits[first].used, "{what}: {:?}", again.doubts);
            assert!(again.fits[2].used, "{what}: {:?}", again.doubts);
        }
    }
    // The stations exchanged, hose by hose.
    let (_, advice) = look(&[(0, right[1]), (1, right[0])]);
    assert_ne!(advice.verdict, Verdict::CannotBeDone, "{}", advice.text);
    // A reading that shows the same again is believed: it is the house.
    let (_, advice) = look(&[(0, 0.3 * right[0]), (1, right[1]), (0, 0.3 * right[0])]);
    let asked = advice.next_reading.map(|next| next.place);
    assert_ne!(asked, Some(Place::Station(0)), "{}", advice.text);
}

/// A day that follows the advice to its end in a house with perfect readings: the verdict, the number
/// of readings, and whether rate and balance are truly met.
fn follow(job: &Job, plan: &Plan, inputs: &Inputs, calibration: f64) -> (Verdict, usize, bool) {
    let empty = set_up_with(job, plan, calibration);
    let goal = Goal::of(&empty);
    let mut house = TrueHouse::new(&empty, inputs);
    let mut set_up = empty.clone();
    let (mut dampers, mut angles) = ([0, 0], [0.0; 2]);
    let working = goal.modes[0];
    let mut places = vec![(Place::Station(0), working), (Place::Station(1), working)];
    let mut turned = 0;
    let verdict = loop {
        for (place, mode) in places.drain(..) {
            let value = house.shown(&empty, place, mode, goal.setting, angles);
            let reading = Reading {
                dampers,
                ..reading(place, mode, goal.setting, value)
            };
            set_up.add(reading).unwrap();
        }
        let now = estimate(&set_up, &goal.states(&set_up, dampers)).unwrap();
        let advice = advise(&set_up, &goal, &now, dampers, working).unwrap();
        match advice.verdict {
            Verdict::ReadMore => {
                let next = advice
                    .next_reading
                    .expect("a reading that was not taken yet");
                places.push((next.place, next.mode));
            }
            Verdict::Turn if turned < 6 => {
                turned += 1;
                for step in &advice.steps {
                    let (side, aim) = (step.damper as usize, step.aim.unwrap());
                    let (mut open, mut shut) = (0.0, 85.0);
                    for _ in 0..30 {
                        angles[side] = 0.5 * (open + shut);
                        let place = Place::Station(aim.station);
                        let shown = house.shown(&empty, place, working, goal.setting, angles);
                        if shown > aim.after {
                            open = angles[side];
                        } else {
                            shut = angles[side];
                        }
                    }
                    dampers[side] = set_up.moved(step.damper, Position::at(angles[side]));
                }
                places = vec![(Place::Station(0), working), (Place::Station(1), working)];
            }
            verdict => break verdict,
        }
        assert!(set_up.readings().len() < 60, "it asks without end");
    };
    let met = goal.modes.iter().all(|&mode| {
        let flows = house.flows(mode, goal.setting, angles);
        goal.met(flows.supply, flows.extract, flows.delivered)
    });
    (verdict, set_up.readings().len(), met)
}

/// Two days that once ended as "done, 98 %" at a true balance of −22 %: charts that are only good to
/// 10 %, which let a low reading be put down to the chart, and a house with one fault.
#[test]
fn charts_of_ten_per_cent_and_a_hidden_fault_never_end_as_done_in_a_house_that_is_wrong() {
    let mut done = 0;
    for name in [
        "duluth-furnace.toml",
        "tallahassee-heat-pump.toml",
        "flagstaff-crawlspace.toml",
    ] {
        let job = example(name);
        let plan = chosen(&job);
        for (what, at) in [
            ("outdoor screen blocked", 0),
            ("supply duct crushed", 1),
            ("extract duct crushed", 2),
            ("exhaust screen blocked", 3),
        ] {
            let times = 4.0;
            let mut inputs = Parameters::new(&job).best().clone();
            inputs.duct_factors[at] = times;
            let (verdict, readings, met) = follow(&job, &plan, &inputs, 0.10);
            println!("{name}, {what} {times}: {verdict:?} after {readings}, {met}");
            assert!(
                verdict != Verdict::Done || met,
                "{name}, {what}, {times} times the resistance: done after {readings} readings"
            );
            done += usize::from(verdict == Verdict::Done);
        }
    }
    println!("{done} done");
}

#[test]
fn an_impossible_goal_is_refused_by_name() {
    let job = example("duluth-furnace.toml");
    let set_up = set_up(&job, &chosen(&job));
    let good = Goal::of(&set_up);
    let now = estimate(&set_up, &good.states(&set_up, [0, 0])).unwrap();
    for (change, words) in [
        (
            Box::new(|goal: &mut Goal| goal.required = f64::NAN) as Box<dyn Fn(&mut Goal)>,
            "required rate",
        ),
        (
            Box::new(|goal: &mut Goal| goal.tolerance = 0.0),
            "tolerance of the balance",
        ),
        (
            Box::new(|goal: &mut Goal| goal.confidence = 1.0),
            "probability",
        ),
        (Box::new(|goal: &mut Goal| goal.modes.clear()), "never runs"),
    ] {
        let mut goal = good.clone();
        change(&mut goal);
        let error = advise(&set_up, &goal, &now, [0, 0], Mode::Low).unwrap_err();
        assert!(error.0.contains(words), "{error}");
    }
}
