//! The search on an invented house: counts, rules, dampers, ranking.

mod common;

use common::{CFM, FOOT, house, plan_of};
use house::model::{End, Entry, Interlock, Layout, Mode};
use plan::candidate::candidates;
use plan::case::running_modes;
use plan::comparison;
use plan::merit;
use plan::rules::Rules;
use plan::search::{search, search_while};
use std::sync::atomic::{AtomicUsize, Ordering};

fn quietly(_: usize, _: usize) {}

#[test]
fn every_combination_is_solved_or_counted_at_a_rule() {
    let job = house();
    let found = candidates(&job);
    let fallen: usize = found.discarded.iter().map(|(_, count)| count).sum();
    assert_eq!(found.combinations, fallen + found.plans.len());
    let result = search(&job, &quietly);
    let fallen: usize = result.discarded.iter().map(|(_, count)| count).sum();
    assert_eq!(result.combinations, fallen + result.ranked.len());
    assert!(result.unsolved.is_empty(), "{:?}", result.unsolved);
    assert!(!result.ranked.is_empty());
}

#[test]
fn each_rule_of_the_survey_discards_what_breaks_it() {
    let job = house();
    let to_return =
        |extract: usize, supply: usize| (vec![End::Tap(extract)], vec![End::Tap(supply)]);
    let joint = |job: &house::model::Job, (extract, supply): (Vec<End>, Vec<End>)| {
        Rules::new(job)
            .joint(0, Layout::ReturnToReturn, &extract, &supply)
            .map(|rule| rule.id)
    };
    assert_eq!(joint(&job, to_return(0, 1)), None);
    // Supply upstream of the extract.
    assert_eq!(joint(&job, to_return(1, 0)), Some("taps together"));
    let mut near = job.clone();
    near.taps[1].from_fan = 9.9 * FOOT;
    assert_eq!(joint(&near, to_return(0, 1)), Some("near fan"));
    let mut together = job.clone();
    together.taps[0].from_fan = together.taps[1].from_fan + 2.9 * FOOT;
    assert_eq!(joint(&together, to_return(0, 1)), Some("taps together"));
    let mut unmeasured = job.clone();
    unmeasured.spots[0].runs.retain(|run| run.to != End::Tap(0));
    assert_eq!(joint(&unmeasured, to_return(0, 1)), Some("no run"));

    let spot = |job: &house::model::Job| Rules::new(job).unit_in_spot(0, 0).map(|rule| rule.id);
    assert_eq!(spot(&job), None);
    let mut cold = job.clone();
    cold.spots[0].coldest = 9.0;
    assert_eq!(spot(&cold), Some("surroundings"));
    let mut dry = job.clone();
    dry.spots[0].drain = false;
    assert_eq!(spot(&dry), Some("services"));

    let pair = |job: &house::model::Job, intake, exhaust| {
        Rules::new(job)
            .terminals(0, intake, exhaust)
            .map(|rule| rule.id)
    };
    assert_eq!(pair(&job, 0, 1), None);
    assert_eq!(pair(&job, 2, 2), None);
    let mut close = job.clone();
    close.separations[0].distance = 5.9 * FOOT;
    assert_eq!(pair(&close, 0, 1), Some("intake from other exhausts"));
    let mut unknown = job.clone();
    unknown.separations.clear();
    assert_eq!(pair(&unknown, 0, 1), Some("no distance"));
    let mut low = job.clone();
    low.terminals[0].height = 0.4;
    assert_eq!(pair(&low, 0, 1), Some("intake above grade"));

    let lock = |layout, interlock| {
        Rules::new(&job)
            .interlock(layout, interlock)
            .map(|rule| rule.id)
    };
    assert_eq!(
        lock(Layout::ReturnToReturn, Interlock::None),
        Some("blower needed")
    );
    assert_eq!(
        lock(Layout::ReturnToReturn, Interlock::VentilatorCallsBlower),
        None
    );
    assert_eq!(lock(Layout::FullyDucted, Interlock::None), None);
    let mut bare = job.clone();
    bare.air_handler = None;
    assert_eq!(
        Rules::new(&bare)
            .interlock(Layout::FullyDucted, Interlock::VentilatorCallsBlower)
            .map(|rule| rule.id),
        Some("no such mode")
    );
}

#[test]
fn a_two_in_one_hood_beyond_its_limit_is_discarded() {
    let mut job = house();
    job.terminals[2].flow_limit = Some(60.0 * CFM);
    let result = search(&job, &quietly);
    assert!(
        result
            .discarded
            .iter()
            .any(|(rule, count)| rule.id == "hood limit" && *count > 0)
    );
    assert!(result.ranked.iter().all(|plan| !plan.plan.two_in_one()));
}

#[test]
fn a_rate_that_no_unit_reaches_leaves_no_plan_and_says_which_rule_stopped_each() {
    let mut job = house();
    job.building.required_rate = Some(400.0 * CFM);
    let result = search(&job, &quietly);
    assert!(result.ranked.is_empty());
    assert!(
        result
            .discarded
            .iter()
            .any(|(rule, count)| rule.id == "rate" && *count == result.solved)
    );
}

#[test]
fn every_ranked_plan_delivers_the_rate_and_the_order_is_by_balance_then_points() {
    let job = house();
    let result = search(&job, &quietly);
    let needed = result.required.rate * 1.204;
    for plan in &result.ranked {
        assert!(plan.merits.delivered >= needed - 1e-12);
        assert!((0.0..=100.0).contains(&plan.score()));
        // Only one stream is throttled.
        assert!(plan.plan.supply_damper == 0.0 || plan.plan.extract_damper == 0.0);
    }
    for pair in result.ranked.windows(2) {
        assert!(pair[0].balanced >= pair[1].balanced);
        if pair[0].balanced == pair[1].balanced {
            assert!(pair[0].score() >= pair[1].score());
        }
    }
    let best = &result.ranked[0];
    assert!(best.balanced == (best.merits.balance <= result.balance_limit));
    assert_eq!(result.balance_limit, 0.10);
}

#[test]
fn the_pareto_set_is_what_no_plan_beats() {
    let result = search(&house(), &quietly);
    for plan in &result.ranked {
        let beaten = result
            .ranked
            .iter()
            .any(|other| merit::dominates(&other.merits, &plan.merits));
        assert_eq!(plan.pareto, !beaten);
    }
}

#[test]
fn the_search_gives_the_same_answer_twice() {
    let job = house();
    assert_eq!(search(&job, &quietly).ranked, search(&job, &quietly).ranked);
}

#[test]
fn the_modes_in_which_a_ventilator_runs_follow_its_interlock() {
    let job = house();
    assert_eq!(
        running_modes(&job, Interlock::None),
        [Mode::Off, Mode::Low, Mode::Heating]
    );
    assert_eq!(
        running_modes(&job, Interlock::VentilatorCallsBlower),
        [Mode::Low, Mode::Heating]
    );
    assert_eq!(
        running_modes(&job, Interlock::OnlyWithBlower),
        [Mode::Heating]
    );
}

#[test]
fn dampers_set_by_the_search_bring_the_extremes_of_the_balance_to_the_same_distance() {
    let job = house();
    let plan = plan_of(&job, Layout::DedicatedReturn, Entry::Flush);
    let parameters = plan::inputs::Parameters::new(&job);
    let mut installation =
        plan::installation::Installation::new(&job, Some(&plan), parameters.best(), false).unwrap();
    plan::balance::set_dampers(&mut installation, &job, plan.setting).unwrap();
    let balances: Vec<f64> = running_modes(&job, plan.interlock)
        .into_iter()
        .map(|blower| {
            let case = plan::OperatingCase {
                blower,
                setting: plan.setting,
                season: house::model::Season::Mild,
                wind: None,
            };
            installation.solve(case).unwrap().balance()
        })
        .collect();
    let highest = balances.iter().copied().fold(f64::MIN, f64::max);
    let lowest = balances.iter().copied().fold(f64::MAX, f64::min);
    assert!((highest + lowest).abs() < 2e-3, "{balances:?}");
}

/// Half of every hour by a schedule of the job: what is asked while it runs is about twice the rate,
/// once. An interlock that leaves less than the schedule asks for more.
#[test]
fn a_share_of_the_time_is_counted_once() {
    let always = house();
    let mut half = always.clone();
    half.building.required_rate = Some(40.0 * CFM);
    half.controls.run_share = 0.5;
    for job in [&always, &half] {
        assert_eq!(merit::share_left(job, Interlock::None), 1.0);
    }
    // The blower heats for a quarter of the year.
    assert_eq!(merit::share_left(&always, Interlock::OnlyWithBlower), 0.25);
    assert_eq!(merit::share_left(&half, Interlock::OnlyWithBlower), 0.5);
    let result = search(&half, &quietly);
    let needed = 40.0 * CFM * 1.204;
    let least = result
        .ranked
        .iter()
        .filter(|plan| plan.plan.interlock == Interlock::None)
        .map(|plan| plan.merits.delivered)
        .fold(f64::INFINITY, f64::min);
    assert!(least >= needed && least < 2.0 * needed, "{least} {needed}");
}

#[test]
fn a_stopped_search_ranks_what_it_had_looked_at() {
    let job = house();
    let whole = search(&job, &quietly);
    assert_eq!(whole.not_looked_at, 0);
    let asked = AtomicUsize::new(0);
    let stopped = search_while(&job, &quietly, &|| {
        asked.fetch_add(1, Ordering::Relaxed) < 40
    });
    assert_eq!(stopped.solved, 40);
    assert_eq!(stopped.not_looked_at, whole.solved - 40);
    let fallen: usize = stopped.discarded.iter().map(|(_, count)| count).sum();
    assert_eq!(
        stopped.combinations,
        fallen + stopped.ranked.len() + stopped.not_looked_at
    );
    // What is ranked was measured as in the whole search.
    for found in &stopped.ranked {
        let same = whole.ranked.iter().find(|other| other.plan == found.plan);
        assert_eq!(same.map(|same| same.merits), Some(found.merits));
    }
    let none = search_while(&job, &quietly, &|| false);
    assert!(none.ranked.is_empty());
    assert_eq!(none.not_looked_at, whole.solved);
}

#[test]
fn along_the_frontier_no_plan_is_cheaper_and_better() {
    let result = search(&house(), &quietly);
    let at = |place: usize| {
        let plan = &result.ranked[place];
        (
            comparison::price(&plan.merits),
            merit::performance(&plan.lost),
        )
    };
    let frontier = comparison::frontier(&result);
    assert!(frontier.len() > 1, "{frontier:?}");
    for pair in frontier.windows(2) {
        let ((cheap, good), (dear, better)) = (at(pair[0]), at(pair[1]));
        assert!(cheap < dear && good < better);
    }
    for place in 0..result.ranked.len() {
        let (price, performance) = at(place);
        assert!((0.0..=100.0).contains(&performance));
        let held = frontier
            .iter()
            .any(|&other| at(other).0 <= price && at(other).1 >= performance);
        assert!(held, "plan {place} lies beyond the frontier");
    }
}

#[test]
fn points_without_the_price() {
    // Nothing lost; everything but the price lost; only the price lost.
    let (none, mut all, mut only) = (
        [0.0; merit::COUNT],
        [0.0; merit::COUNT],
        [0.0; merit::COUNT],
    );
    for (index, criterion) in merit::CRITERIA.iter().enumerate() {
        if index == merit::PARTS {
            only[index] = criterion.weight;
        } else {
            all[index] = criterion.weight;
        }
    }
    for (lost, expected) in [(none, 100.0), (only, 100.0), (all, 0.0)] {
        assert!((merit::performance(&lost) - expected).abs() < 1e-9);
    }
}
