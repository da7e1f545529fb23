//! What an answer of the survey changes: the same figures as the report on all cases, at a glance.

mod common;

use common::{house, plan_of};
use house::model::{Entry, Interlock, Job, Layout};
use plan::candidate::{Missing, candidates, missing};
use plan::effect::{Effect, change_words, effect, glance};
use plan::flows::{expected, flows_of};
use units::System;

#[test]
fn a_glance_says_what_the_report_says_of_its_worst_case() {
    let job = house();
    for layout in [
        Layout::ReturnToReturn,
        Layout::DedicatedReturn,
        Layout::FullyDucted,
    ] {
        let mut plan = plan_of(&job, layout, Entry::Flush);
        plan.interlock = Interlock::VentilatorCallsBlower;
        let report = flows_of(&job, &plan, None, &|| ()).expect("it is solved");
        let effect = effect(&job, &plan, false, &|| ()).expect("it is solved");
        let effect = effect.expect("it runs");
        let bands = effect.bands.expect("they were computed");
        let quick = glance(&job, &plan, false).expect("it is solved");
        let quick = quick.expect("it runs");
        assert_eq!(
            quick,
            Effect {
                bands: None,
                ..effect
            }
        );
        // Before the bands are known, nothing is said of them.
        assert_eq!(
            change_words(&quick, &effect, System::Si),
            Vec::<String>::new()
        );
        let worst = &report.cases[report.worst.expect("it runs")];
        assert_eq!(effect.blower, worst.flows.case.blower);
        assert_eq!(effect.season, worst.flows.case.season);
        // The same houses are drawn; the solver starts elsewhere, so the last digits may differ.
        for (found, expected) in [
            (effect.balance, worst.flows.balance()),
            (bands.balance.low, worst.balance.low),
            (bands.balance.high, worst.balance.high),
            (effect.delivered, worst.flows.delivered),
            (bands.delivered.low, worst.delivered.low),
        ] {
            assert!(
                (found - expected).abs() < 1e-6,
                "{layout:?}: {found} against {expected}"
            );
        }
        assert_eq!(
            expected(&job, &plan, None).expect("it is solved").findings,
            report.findings
        );
    }
}

/// How far the readings in the return plenum may be off, as a part of each.
fn doubt(job: &mut Job, part: f64) {
    for mode in &mut job.air_handler.as_mut().expect("a furnace").modes {
        if let Some(pressure) = &mut mode.return_pressure {
            pressure.deviation = part * pressure.value.abs();
        }
    }
}

#[test]
fn a_better_reading_narrows_the_band_and_is_said() {
    let mut job = house();
    let plan = plan_of(&job, Layout::DedicatedReturn, Entry::Flush);
    let look = |job: &_| {
        let effect = effect(job, &plan, true, &|| ()).expect("it is solved");
        effect.expect("it runs")
    };
    doubt(&mut job, 0.3);
    let before = look(&job);
    assert_eq!(
        change_words(&before, &before, System::Si),
        Vec::<String>::new()
    );
    doubt(&mut job, 0.0);
    let after = look(&job);
    let width = |effect: &Effect| {
        let bands = effect.bands.expect("they were computed");
        bands.balance.half_width()
    };
    assert!(width(&after) < width(&before));
    let words = change_words(&before, &after, System::Si);
    assert!(
        words.iter().any(|words| words
            == &format!(
                "The worst balance would go from {} to {}.",
                before.balance_words(),
                after.balance_words()
            )),
        "{words:?}"
    );
}

#[test]
fn a_plan_is_found_again_by_the_names_of_its_parts() {
    let job = house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let mut later = job.clone();
    later.terminals.reverse();
    later.units.insert(0, later.units[0].clone());
    later.units[0].name = "another".into();
    let carried = plan.carried(&job, &later).expect("all parts are there");
    assert_eq!(later.units[carried.unit].name, job.units[plan.unit].name);
    assert_eq!(
        later.terminals[carried.intake].name,
        job.terminals[plan.intake].name
    );
    later.terminals.clear();
    assert_eq!(plan.carried(&job, &later), None);
}

#[test]
fn what_is_missing_is_said_for_the_file_and_for_people() {
    let mut job = house();
    assert!(!candidates(&job).plans.is_empty());
    assert_eq!(missing(&job), []);
    job.spots.clear();
    assert_eq!(missing(&job), [Missing::Spot]);
    assert!(Missing::Spot.in_the_file().contains("[[spot]]"));
    assert!(!Missing::Spot.in_words().contains('['));
}
