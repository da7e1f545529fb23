//! What the physics must show, on an invented house.
//!
//! The magnitudes come from a hand-made network of the same kind that was solved independently
//! with scipy (cases c1 to c11 of the solver's reference problems); this house is another, so only
//! directions and rough sizes are asserted.

mod common;

use common::{CFM, house, plan_of, still_house};
use house::model::{Entry, Job, Layout, Mode, Season, Setting};
use plan::inputs::Parameters;
use plan::installation::Installation;
use plan::{CaseFlows, OperatingCase, Plan};

fn solve(job: &Job, plan: Option<&Plan>, blower: Mode, setting: Setting) -> CaseFlows {
    let parameters = Parameters::new(job);
    let mut installation = Installation::new(job, plan, parameters.best(), false).unwrap();
    installation
        .solve(OperatingCase {
            blower,
            setting,
            season: Season::Mild,
            wind: None,
        })
        .unwrap()
}

#[test]
fn the_house_as_found_reproduces_its_survey() {
    let job = house();
    let found = solve(&job, None, Mode::Heating, Setting::Off);
    // Survey: 1100 cfm, −60 Pa and +65 Pa; the rooms differ by a fraction of a pascal.
    assert!(
        (found.blower_flow / (1100.0 * CFM * 1.204) - 1.0).abs() < 0.002,
        "{found:?}"
    );
    let [back, out] = found.plenums.unwrap();
    assert!((back + 60.0).abs() < 0.7, "{back}");
    assert!((out - 65.0).abs() < 0.7, "{out}");
}

#[test]
fn nothing_flows_where_nothing_drives() {
    let job = still_house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let flows = solve(&job, Some(&plan), Mode::Off, Setting::Off);
    assert!(
        flows.supply.abs() < 1e-6 && flows.extract.abs() < 1e-6,
        "{flows:?}"
    );
    assert!(flows.house_pressure().abs() < 1e-6);
}

#[test]
fn return_to_return_without_the_blower_short_circuits() {
    let job = still_house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let off = solve(&job, Some(&plan), Mode::Off, Setting::High);
    // The rest finds its way through the standing blower.
    assert!(off.short_circuit > 0.75, "{}", off.short_circuit);
    let on = solve(&job, Some(&plan), Mode::Heating, Setting::High);
    assert!(on.short_circuit < 0.01, "{}", on.short_circuit);
}

#[test]
fn the_blower_helps_the_supply_and_hinders_the_exhaust_of_return_to_return() {
    let job = still_house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let off = solve(&job, Some(&plan), Mode::Off, Setting::High);
    let on = solve(&job, Some(&plan), Mode::Heating, Setting::High);
    assert!(off.balance().abs() < 0.01);
    assert!(on.supply > off.supply && on.extract < off.extract);
    assert!(
        (0.05..0.30).contains(&(on.balance() - off.balance())),
        "{}",
        on.balance() - off.balance()
    );
}

#[test]
fn a_pressurised_supply_plenum_takes_supply_and_the_elbow_wins_part_back() {
    let job = still_house();
    let flush = plan_of(&job, Layout::ReturnToSupply, Entry::Flush);
    let elbow = plan_of(&job, Layout::ReturnToSupply, Entry::FacingDownstream);
    let off = solve(&job, Some(&flush), Mode::Off, Setting::High).supply;
    let on = solve(&job, Some(&flush), Mode::Heating, Setting::High).supply;
    let with_elbow = solve(&job, Some(&elbow), Mode::Heating, Setting::High).supply;
    assert!((0.1..0.6).contains(&(1.0 - on / off)), "{}", 1.0 - on / off);
    assert!(with_elbow > on, "{with_elbow} {on}");
    assert!(with_elbow < off);
}

#[test]
fn an_idle_ventilator_lets_outdoor_air_run_backwards() {
    let job = still_house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let idle = solve(&job, Some(&plan), Mode::Heating, Setting::Off);
    assert!(idle.supply > 10.0 * CFM * 1.204, "{}", idle.supply);
    assert!(idle.extract < -10.0 * CFM * 1.204, "{}", idle.extract);
}

#[test]
fn a_fully_ducted_ventilator_hardly_feels_the_blower() {
    let job = still_house();
    let plan = plan_of(&job, Layout::FullyDucted, Entry::Flush);
    let off = solve(&job, Some(&plan), Mode::Off, Setting::High);
    let on = solve(&job, Some(&plan), Mode::Heating, Setting::High);
    assert!((on.balance() - off.balance()).abs() < 0.02);
}

#[test]
fn throttling_a_stream_lowers_it_and_shifts_the_balance_steadily() {
    let job = house();
    let mut last: Option<CaseFlows> = None;
    for angle in [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0] {
        let mut plan = plan_of(&job, Layout::DedicatedReturn, Entry::Flush);
        plan.supply_damper = angle;
        let flows = solve(&job, Some(&plan), Mode::Heating, Setting::High);
        if let Some(last) = &last {
            assert!(
                flows.supply < last.supply && flows.balance() < last.balance(),
                "at {angle}°"
            );
        }
        last = Some(flows);
    }
}

#[test]
fn cold_outdoor_air_draws_the_house_down_at_grade() {
    let job = house();
    let parameters = Parameters::new(&job);
    let mut installation = Installation::new(&job, None, parameters.best(), false).unwrap();
    let mut at = |season| {
        installation
            .solve(OperatingCase {
                blower: Mode::Off,
                setting: Setting::Off,
                season,
                wind: None,
            })
            .unwrap()
            .house_pressure()
    };
    let (winter, mild, summer) = (at(Season::Winter), at(Season::Mild), at(Season::Summer));
    assert!(winter < mild && mild < summer, "{winter} {mild} {summer}");
}

#[test]
fn at_altitude_the_same_fans_move_less_mass() {
    let low = still_house();
    let mut high = still_house();
    high.building.altitude = 2100.0;
    let flow = |job: &Job| {
        solve(
            job,
            Some(&plan_of(job, Layout::FullyDucted, Entry::Flush)),
            Mode::Off,
            Setting::High,
        )
        .supply
    };
    let ratio = flow(&high) / flow(&low);
    // Density at 2100 m is 0.775 of that at the sea; laminar friction spoils the exact ratio.
    assert!((ratio - 0.775).abs() < 0.02, "{ratio}");
}
