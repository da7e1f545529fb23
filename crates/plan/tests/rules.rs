//! Rules of the job's book: what each discards, what an override changes, what stays open.

mod common;

use common::{CFM, FOOT, INCH, house, plan_of};
use house::model::{Appliance, Entry, Exhaust, Job, Layout, Origin, Venting, ZoneKind};
use plan::rules::{Rules, words};
use plan::search::{Search, search};
use plan::standing::{State, standings};
use rules::{Override, RuleBook, RuleSet};
use units::System;

fn quietly(_: usize, _: usize) {}

fn own(id: &str, value: f64) -> Override {
    Override {
        id: id.into(),
        value,
        reason: "agreed on the site".into(),
        who: "the inspector".into(),
    }
}

fn fell(found: &Search, id: &str) -> usize {
    found
        .discarded
        .iter()
        .filter(|(row, _)| row.id == id)
        .map(|(_, count)| count)
        .sum()
}

/// Each row: what is changed in a house that is sound, and the rule to which its spot then falls.
#[test]
fn rules_of_the_spot() {
    type Row = (&'static str, fn(&mut Job), Option<&'static str>);
    let rows: &[Row] = &[
        ("sound", |_| {}, None),
        (
            "a bedroom wall",
            |job| job.spots[0].bedroom_wall = Some(true),
            Some("bedroom wall"),
        ),
        (
            "29 in to work in",
            |job| job.spots[0].working_space = Some(29.0 * INCH),
            Some("access space"),
        ),
        (
            "30 in to work in",
            |job| job.spots[0].working_space = Some(30.0 * INCH),
            None,
        ),
        (
            "a drain that falls by 0.5 %",
            |job| job.spots[0].drain_slope = Some(0.005),
            Some("drain slope"),
        ),
        (
            "a drain that nobody needs",
            |job| {
                job.spots[0].drain_slope = Some(0.005);
                job.units[0].needs_drain = false;
            },
            None,
        ),
        (
            "a crawlspace hatch of 21 in",
            |job| {
                job.zones[1].kind = ZoneKind::Crawlspace;
                job.spots[0].hatch = Some([21.0 * INCH, 30.0 * INCH]);
            },
            Some("crawlspace opening"),
        ),
        (
            "an attic hatch of 21 in",
            |job| {
                job.zones[1].kind = ZoneKind::Attic;
                job.spots[0].hatch = Some([21.0 * INCH, 30.0 * INCH]);
            },
            None,
        ),
        (
            "25 ft through the attic",
            |job| {
                job.zones[1].kind = ZoneKind::Attic;
                job.spots[0].passage = Some(25.0 * FOOT);
            },
            Some("attic passage"),
        ),
        (
            "no data of the unit, 9 °C",
            |job| {
                job.units[0].ambient = None;
                job.spots[0].coldest = 9.0;
            },
            Some("surroundings"),
        ),
        (
            "no data of the unit, 41 °C",
            |job| {
                job.units[0].ambient = None;
                job.spots[0].warmest = 41.0;
            },
            Some("warm surroundings"),
        ),
        (
            "a unit that stands 5 °C",
            |job| {
                job.units[0].ambient = Some([5.0, 40.0]);
                job.spots[0].coldest = 9.0;
            },
            None,
        ),
    ];
    for (what, change, expected) in rows {
        let mut job = house();
        change(&mut job);
        let rule = Rules::new(&job).unit_in_spot(0, 0).map(|row| row.id);
        assert_eq!(rule, *expected, "{what}");
    }
}

#[test]
fn an_override_decides_in_place_of_the_row_and_its_reason_is_said() {
    let mut job = house();
    job.taps[1].from_fan = 9.0 * FOOT;
    assert!(fell(&search(&job, &quietly), "near fan") > 0);
    job.rules = RuleBook::new(&[], vec![own("near fan", 8.0 * FOOT)]).expect("a book");
    assert_eq!(fell(&search(&job, &quietly), "near fan"), 0);
    let row = rules::row("near fan").expect("a row");
    let said = words(&job.rules, row, System::Ip);
    assert!(
        said.contains("at least 8 ft (2.44 m)")
            && said.contains("the inspector: agreed on the site"),
        "{said}"
    );
}

/// Edition and set decide about the same pair of openings: 2.5 m apart at one height, and one hood.
#[test]
fn the_pair_of_openings_follows_the_rule_set() {
    for (sets, pair, hood) in [
        (&[][..], None, None),
        (
            &[RuleSet::Irc2024][..],
            Some("IRC 2024 intake from exhausts"),
            None,
        ),
        (
            &[RuleSet::Irc2021][..],
            Some("IRC 2021 intake from exhausts"),
            Some("IRC 2021 intake from exhausts"),
        ),
        (
            &[RuleSet::Washington][..],
            Some("Washington intake from exhausts"),
            None,
        ),
        (&[RuleSet::Canada][..], None, None),
    ] {
        let mut job = house();
        job.rules = RuleBook::new(sets, Vec::new()).expect("a book");
        let rules = Rules::new(&job);
        let id = |intake, exhaust| rules.terminals(0, intake, exhaust).map(|row| row.id);
        assert_eq!(id(0, 1), pair, "{sets:?}");
        assert_eq!(id(2, 2), hood, "{sets:?}");
    }
    // An exhaust 3 ft above the intake needs no distance under the IRC, but common practice does.
    let mut job = house();
    job.rules = RuleBook::new(&[RuleSet::Irc2024], Vec::new()).expect("a book");
    job.terminals[1].height = job.terminals[0].height + 3.0 * FOOT;
    assert_eq!(Rules::new(&job).terminals(0, 0, 1).map(|row| row.id), None);
}

#[test]
fn leaks_of_an_air_handler_in_the_attic_stop_every_layout_that_joins_it() {
    let mut job = house();
    job.zones[1].kind = ZoneKind::Attic;
    assert_eq!(fell(&search(&job, &quietly), "leaking air handler"), 0);
    let handler = job.air_handler.as_mut().expect("an air handler");
    handler.return_path.leakage.value = 0.08;
    handler.return_path.leakage.origin = Origin::Typed("8 %".into());
    let found = search(&job, &quietly);
    assert!(fell(&found, "leaking air handler") > 0);
    let joined = |layout| layout != Layout::FullyDucted;
    assert!(found.ranked.iter().all(|plan| !joined(plan.plan.layout)));
}

/// Mixed air by the energy balance, from the flows of the plan itself: with the recovery of the
/// unit (0.7), and lost.
#[test]
fn cold_air_to_the_furnace_discards_a_plan() {
    let mut job = house();
    job.building.required_rate = Some(60.0 * CFM);
    let found = search(&job, &quietly);
    let plan = found
        .ranked
        .iter()
        .find(|plan| plan.plan.layout == Layout::DedicatedReturn)
        .expect("a dedicated return");
    let air = plan.merits.side_effects.furnace_air.expect("a furnace");
    assert_eq!(air.least, 15.0);
    // 36 K between the rooms and outdoors: recovery 0.7 leaves 0.3 of the drop.
    let (kept, lost) = (21.0 - air.temperature, 21.0 - air.without_recovery);
    assert!(
        lost > 0.5 && (kept / lost - 0.3).abs() < 1e-9,
        "{kept} {lost}"
    );
    assert!(
        found
            .ranked
            .iter()
            .filter(|plan| plan.plan.layout == Layout::FullyDucted)
            .all(|plan| plan.merits.side_effects.furnace_air.is_none())
    );
    // A maker that asks for more than the plan leaves.
    let handler = job.air_handler.as_mut().expect("an air handler");
    handler.least_return_temperature = Some(20.9);
    let found = search(&job, &quietly);
    assert!(fell(&found, "furnace return air") > 0);
    assert!(
        found
            .ranked
            .iter()
            .all(|plan| plan.merits.side_effects.furnace_air.is_none())
    );
}

/// A house that keeps the limit as found and loses it when the supply fan fails; and one that is
/// beyond it already, of which the plans are not blamed for it.
#[test]
fn a_plan_that_makes_an_appliance_spill_is_discarded() {
    let mut job = house();
    job.appliances.push(Appliance {
        name: "water heater".into(),
        zone: 1,
        venting: Some(Venting::NaturalDraft),
        limit: None,
    });
    job.exhausts.push(Exhaust {
        name: "dryer".into(),
        zone: 0,
        flow: 150.0 * CFM,
        continuous: false,
        serves: house::model::Serves::Nothing,
    });
    let sound = search(&job, &quietly);
    assert!(sound.unsafe_as_found.is_empty());
    let drawn = |found: &Search| {
        let effects = &found.ranked[0].merits.side_effects;
        effects.drawn_down.expect("an appliance")
    };
    let before = drawn(&sound);
    assert!(before.with_plan > before.as_found && before.with_plan < before.limit);
    // The limit between the two.
    job.appliances[0].limit = Some(0.5 * (before.as_found + before.with_plan));
    let found = search(&job, &quietly);
    assert!(fell(&found, "appliance limit") > 0);
    assert!(found.ranked.iter().all(|plan| {
        plan.merits
            .side_effects
            .drawn_down
            .is_some_and(|drawn| drawn.with_plan <= drawn.limit)
    }));
    // Beyond it as found.
    job.appliances[0].limit = Some(0.5 * before.as_found);
    let found = search(&job, &quietly);
    assert_eq!(found.unsafe_as_found.len(), 1);
    assert_eq!(fell(&found, "appliance limit"), 0);
    assert!(!found.ranked.is_empty());
}

#[test]
fn what_the_survey_does_not_tell_is_to_be_seen_to() {
    let job = house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let report = plan::flows::flows_of(&job, &plan, None, &|| ()).expect("flows");
    let list = standings(&job, &plan, &report.merits, System::Ip);
    let state = |id: &str| {
        list.iter()
            .find(|standing| standing.row.id == id)
            .map(|standing| standing.state)
    };
    assert_eq!(state("near fan"), Some(State::Kept));
    assert_eq!(state("taps together"), Some(State::Kept));
    assert_eq!(state("intake from other exhausts"), Some(State::Kept));
    assert_eq!(state("access space"), Some(State::ToSee));
    assert_eq!(state("drain trap"), Some(State::ToSee));
    assert_eq!(state("attic passage"), None);
    assert_eq!(state("baths by the unit"), Some(State::ToSee));
}
