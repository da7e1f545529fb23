//! The rate that a plan has to meet, and what exhausts kitchens and baths.

mod common;

use common::{CFM, house, plan_of};
use house::model::{Entry, Exhaust, Job, Layout, Running, Serves};
use plan::local_exhaust::local_exhaust;
use plan::rate::{rates, required};
use rules::rates::exposure::Schedule;
use rules::rates::local::WetRoom;
use rules::{RuleBook, RuleSet};

const SQUARE_FOOT: f64 = 0.3048 * 0.3048;

fn with_sets(sets: &[RuleSet]) -> Job {
    let mut job = house();
    job.building.required_rate = None;
    job.building.floor_area = 1800.0 * SQUARE_FOOT;
    job.building.bedrooms = 3;
    job.building.occupants = 4;
    job.inch_pound_first = true;
    job.rules = RuleBook::new(sets, Vec::new()).unwrap();
    job
}

#[test]
fn the_rule_set_of_the_job_decides() {
    // 1800 ft², three bedrooms: cfm by the sets.
    for (sets, rule, cfm) in [
        (&[][..], "62.2-2019 rate", 84.0),
        (&[RuleSet::Ashrae622], "62.2-2019 rate", 84.0),
        (&[RuleSet::Irc2024], "IRC rate by equation", 48.0),
        (
            &[RuleSet::Irc2024, RuleSet::Ashrae622],
            "62.2-2019 rate",
            84.0,
        ),
        (&[RuleSet::Washington], "Washington rate", 60.0),
    ] {
        let required = required(&with_sets(sets));
        assert_eq!(required.rule, Some(rule));
        assert!((required.rate / CFM - cfm).abs() < 1e-6, "{required:?}");
        assert_eq!(required.credit, None);
    }
}

#[test]
fn the_contractors_own_number_comes_first() {
    let mut job = with_sets(&[RuleSet::Irc2024]);
    job.building.required_rate = Some(70.0 * CFM);
    let required = required(&job);
    assert_eq!((required.rate, required.rule), (70.0 * CFM, None));
}

#[test]
fn a_weather_factor_and_a_measured_leakage_give_credit() {
    let mut job = with_sets(&[RuleSet::Ashrae622]);
    job.rates.weather_factor = Some(0.5);
    let credited = required(&job);
    let credit = credited.credit.unwrap();
    assert!(credit > 0.0);
    assert!((credited.rate + credit - 84.0 * CFM).abs() < 1e-9);
    // A tightness that was only judged by eye gives none.
    job.building.leakage_at_50_pascals.origin = house::model::Origin::Default("judged");
    assert_eq!(required(&job).credit, None);
}

#[test]
fn half_of_every_hour_asks_for_more_while_it_runs() {
    let mut job = with_sets(&[RuleSet::Irc2024]);
    job.rates.running = Running {
        schedule: Schedule::share_of_each_hour(0.5).unwrap(),
        hours: Vec::new(),
    };
    // IRC: 50 % of every four hours has factor 2.
    let required = required(&job);
    assert!((required.rate / CFM - 96.0).abs() < 1e-6, "{required:?}");
    let rates = rates(&job).unwrap();
    assert_eq!(rates.running.iter().filter(|way| way.own).count(), 1);
}

#[test]
fn the_ventilator_counts_by_its_own_grilles_only() {
    let mut job = with_sets(&[RuleSet::Irc2024]);
    job.rates.rooms.bathrooms = 1;
    job.rates.rooms.kitchens = 0;
    let bath = |job: &Job, layout| {
        let plan = plan_of(job, layout, Entry::Flush);
        let local = local_exhaust(job, Some(&plan)).unwrap();
        let room = local
            .rooms
            .iter()
            .find(|room| room.demand.room == WetRoom::Bathroom)
            .cloned()
            .unwrap();
        (room, local.not_counted)
    };
    // Its own grille in the bath draws all the time.
    let (room, not_counted) = bath(&job, Layout::DedicatedReturn);
    assert!(room.met && room.as_continuous && not_counted.is_none());
    // From the return it counts for nothing.
    let (room, not_counted) = bath(&job, Layout::ReturnToReturn);
    assert!(!room.met && not_counted.unwrap().contains("baths by the unit"));
    // Nor does it where it stands part of the time.
    job.rates.running.schedule = Schedule::share_of_each_hour(0.5).unwrap();
    let (room, not_counted) = bath(&job, Layout::DedicatedReturn);
    assert!(!room.met && not_counted.is_some());
    // A fan of its own does.
    job.exhausts.push(Exhaust {
        name: "bath fan".into(),
        zone: 0,
        flow: 55.0 * CFM,
        continuous: false,
        serves: Serves::Bathroom,
    });
    let local = local_exhaust(&job, None).unwrap();
    assert!(local.rooms.iter().any(|room| room.met));
}
