//! The report of one plan: cases, bands, the measurement to take, findings.

mod common;

use common::{house, plan_of};
use house::model::{Entry, Estimate, Interlock, Job, Layout, Mode, Origin, Setting};
use plan::finding::Weight;
use plan::flows::{FlowsReport, flows_of, operating_cases};

fn report(job: &Job, layout: Layout, interlock: Interlock) -> FlowsReport {
    let mut plan = plan_of(job, layout, Entry::Flush);
    plan.interlock = interlock;
    flows_of(job, &plan, None, &|| ()).unwrap()
}

fn texts(report: &FlowsReport, weight: Weight) -> String {
    report
        .findings
        .iter()
        .filter(|finding| finding.weight == weight)
        .map(|finding| finding.text.as_str())
        .collect()
}

#[test]
fn every_blower_mode_setting_and_weather_is_a_case() {
    let job = house();
    let plan = plan_of(&job, Layout::DedicatedReturn, Entry::Flush);
    // Off, low, heating × off, low, high × winter, mild, summer.
    assert_eq!(operating_cases(&job, &plan, None).len(), 27);
    let report = report(
        &job,
        Layout::DedicatedReturn,
        Interlock::VentilatorCallsBlower,
    );
    assert_eq!(report.cases.len(), 27);
    assert_eq!(report.draws_lost, 0);
    for case in &report.cases {
        assert!(case.flows.residual <= 1e-9, "{:?}", case.flows.case);
        let runs = case.flows.case.blower != Mode::Off && case.flows.case.setting != Setting::Off;
        assert_eq!(case.runs, runs);
    }
}

#[test]
fn bands_enclose_the_best_estimate_and_have_no_width_without_uncertainty() {
    let mut job = house();
    let loose = report(
        &job,
        Layout::ReturnToReturn,
        Interlock::VentilatorCallsBlower,
    );
    for case in loose.cases.iter().filter(|case| case.runs) {
        assert!(case.supply.low < case.flows.supply && case.flows.supply < case.supply.high);
        assert!(case.balance.high - case.balance.low > 0.02);
    }
    let exact = |estimate: &mut Estimate| estimate.deviation = 0.0;
    exact(&mut job.building.leakage_at_50_pascals);
    exact(&mut job.building.leakage_exponent);
    exact(&mut job.ducts.compression);
    for terminal in &mut job.terminals {
        exact(&mut terminal.loss);
    }
    let handler = job.air_handler.as_mut().unwrap();
    exact(&mut handler.filter_pressure_drop);
    exact(&mut handler.return_path.branch_share);
    exact(&mut handler.supply_path.branch_share);
    for mode in &mut handler.modes {
        exact(&mut mode.flow);
        mode.return_pressure.as_mut().map(exact);
        mode.supply_pressure.as_mut().map(exact);
    }
    let tight = report(
        &job,
        Layout::ReturnToReturn,
        Interlock::VentilatorCallsBlower,
    );
    // What is left is the unit, the blower's curve and the tap.
    for (tight, loose) in tight
        .cases
        .iter()
        .zip(&loose.cases)
        .filter(|(case, _)| case.runs)
    {
        assert!(tight.supply.high - tight.supply.low < loose.supply.high - loose.supply.low);
    }
}

#[test]
fn the_pressure_at_the_tap_is_asked_for_and_shrinks_the_band_once_known() {
    let mut job = house();
    // A return whose pressure may lie anywhere along it, and everything else known well.
    let handler = job.air_handler.as_mut().unwrap();
    handler.return_path.branch_share = Estimate::default(0.45, 0.2, "test");
    for mode in &mut handler.modes {
        mode.flow.deviation = 0.01 * mode.flow.value;
    }
    job.ducts.compression.deviation = 0.0;
    for terminal in &mut job.terminals {
        terminal.loss.deviation = 0.05;
    }
    let before = report(
        &job,
        Layout::DedicatedReturn,
        Interlock::VentilatorCallsBlower,
    );
    let asked = before.measurement.clone().unwrap();
    assert!(
        asked.what.contains("static pressure at near return"),
        "{asked:?}"
    );
    assert!(asked.after < asked.now);

    let parameters = plan::inputs::Parameters::new(&job);
    let handler = job.air_handler.as_ref().unwrap();
    let ducts =
        plan::existing_ducts::ExistingDucts::infer(&job, handler, parameters.best(), 1.204, 1.8e-5);
    let flow = ducts.operating_points[1].0;
    let pressure = -ducts.return_path.resistance_to_rooms(job.taps[1].from_fan) * flow * flow;
    let read = Estimate {
        value: pressure,
        deviation: 0.5,
        origin: Origin::Typed(String::new()),
    };
    job.taps[1].pressure = Some((Mode::Heating, read));
    let after = report(
        &job,
        Layout::DedicatedReturn,
        Interlock::VentilatorCallsBlower,
    );
    let width = |report: &FlowsReport| {
        let case = &report.cases[report.worst.unwrap()];
        0.5 * (case.balance.high - case.balance.low)
    };
    assert!(width(&after) < width(&before));
    // The promise of the advice holds within the noise of the draws.
    assert!(
        (width(&after) - asked.after).abs() < 0.25 * asked.now,
        "{} {asked:?}",
        width(&after)
    );
}

#[test]
fn findings_tell_the_short_circuit_and_whether_the_interlock_prevents_it() {
    let job = house();
    let free = report(&job, Layout::ReturnToReturn, Interlock::None);
    assert!(
        texts(&free, Weight::NotAllowed).contains("drawn straight back out"),
        "{:?}",
        free.findings
    );
    let locked = report(
        &job,
        Layout::ReturnToReturn,
        Interlock::VentilatorCallsBlower,
    );
    assert!(!texts(&locked, Weight::NotAllowed).contains("drawn straight back out"));
    assert!(
        texts(&locked, Weight::Doubtful)
            .contains("The interlock keeps the ventilator from running like this")
    );
}

#[test]
fn findings_tell_backward_flow_through_an_idle_ventilator() {
    let job = house();
    let told = report(
        &job,
        Layout::ReturnToReturn,
        Interlock::VentilatorCallsBlower,
    );
    let doubtful = texts(&told, Weight::Doubtful);
    assert!(
        doubtful.contains("With the ventilator off and the blower in heating"),
        "{doubtful}"
    );
    assert!(
        doubtful.contains("enters backwards through its exhaust"),
        "{doubtful}"
    );
}

#[test]
fn findings_tell_readings_that_contradict_each_other() {
    let mut job = house();
    let estimate = |value: f64| Estimate {
        value,
        deviation: 1.0,
        origin: Origin::Typed(String::new()),
    };
    let low = &mut job.air_handler.as_mut().unwrap().modes[0];
    // At 600 of 1100 cfm the ducts ask for some −18 Pa and 19 Pa.
    low.return_pressure = Some(estimate(-55.0));
    low.supply_pressure = Some(estimate(19.0));
    let told = report(
        &job,
        Layout::DedicatedReturn,
        Interlock::VentilatorCallsBlower,
    );
    assert!(texts(&told, Weight::Doubtful).contains("Read flow and pressure in that mode again"));
    let sound = report(
        &house(),
        Layout::DedicatedReturn,
        Interlock::VentilatorCallsBlower,
    );
    assert!(!texts(&sound, Weight::Doubtful).contains("Read flow and pressure"));
}

#[test]
fn ages_and_shares_of_the_rooms_add_up() {
    let job = house();
    let told = report(&job, Layout::FullyDucted, Interlock::None);
    let case = told
        .cases
        .iter()
        .find(|case| {
            case.flows.case.blower == Mode::Off && case.flows.case.setting == Setting::High
        })
        .unwrap();
    // All outdoor air of the ventilator reaches the main floor, with what leaks in besides.
    let main = case.flows.rooms.iter().find(|room| room.zone == 0).unwrap();
    assert!(main.outdoor_air > case.flows.delivered);
    for room in &case.flows.rooms {
        assert!((0.0..=1.0).contains(&room.outdoor_share), "{room:?}");
        assert!(room.age > 0.0 && room.age.is_finite());
    }
    // The house is no older than its volume over what enters from outdoors, counted by node.
    let volume: f64 = job
        .zones
        .iter()
        .map(|zone| zone.floor_area * zone.height)
        .sum();
    let outdoor: f64 = case.flows.rooms.iter().map(|room| room.outdoor_air).sum();
    assert!(
        main.age < volume * 1.3 / outdoor,
        "{} {}",
        main.age,
        volume * 1.2 / outdoor
    );
}

#[test]
fn the_same_survey_gives_the_same_bands() {
    let job = house();
    let first = report(&job, Layout::ReturnToSupply, Interlock::None);
    let second = report(&job, Layout::ReturnToSupply, Interlock::None);
    assert_eq!(first.cases, second.cases);
    assert_eq!(first.measurement, second.measurement);
}
