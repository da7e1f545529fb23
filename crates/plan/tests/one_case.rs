//! One operating case at a time: the same numbers as a whole report, and what dampers do to it.

mod common;

use common::{house, plan_of};
use house::model::{End, Entry, Exhaust, Layout, Mode, Season, Serves, Setting};
use plan::OperatingCase;
use plan::flows::{expected, flows_of, one_case, one_case_with_bands};
use proptest::prelude::*;

fn near(one: f64, other: f64) -> bool {
    // Solutions from different starts agree to the solver's tolerance.
    (one - other).abs() <= 1e-6
}

#[test]
fn a_case_alone_has_the_flows_and_bands_of_the_report() {
    let job = house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let report = flows_of(&job, &plan, None, &|| ()).expect("flows");
    let quick = expected(&job, &plan, None).expect("flows");
    for (whole, quick) in report.cases.iter().zip(&quick.cases) {
        assert_eq!(whole.flows, quick.flows);
        assert_eq!((whole.runs, &whole.branches), (quick.runs, &quick.branches));
        assert!(whole.balance.known() && !quick.balance.known());
    }
    assert_eq!(report.findings, quick.findings);
    assert_eq!(report.worst, quick.worst);
    for whole in report.cases.iter().step_by(4) {
        let case = whole.flows.case;
        let alone = one_case_with_bands(&job, &plan, case, &|| ()).expect("flows");
        for (one, other) in [
            (alone.flows.supply, whole.flows.supply),
            (alone.flows.extract, whole.flows.extract),
            (alone.supply.low, whole.supply.low),
            (alone.supply.high, whole.supply.high),
            (alone.extract.high, whole.extract.high),
        ] {
            assert!((one - other).abs() < 1e-5, "{case:?}: {one} {other}");
        }
        // What is left of a short circuit turns on small flows in the standing trunk, whose drives
        // are settled to a thousandth of a pascal: a tenth of a cubic foot a minute.
        let [one, other] = [alone.delivered.low, whole.delivered.low];
        assert!((one - other).abs() < 5.7e-5, "{case:?}: {one} {other}");
    }
}

/// The ducts of a stream carry what the unit moves; air that comes in through leaks goes out
/// through leaks, the unit and the exhausts.
#[test]
fn branches_add_up() {
    let mut job = house();
    job.exhausts.push(Exhaust {
        name: "bath fan".into(),
        zone: 0,
        flow: 0.02,
        continuous: true,
        serves: Serves::Bathroom,
    });
    let plan = plan_of(&job, Layout::DedicatedReturn, Entry::Flush);
    for setting in [Setting::Off, Setting::Low, Setting::High] {
        let case = OperatingCase {
            blower: Mode::Heating,
            setting,
            season: Season::Winter,
            wind: None,
        };
        let report = one_case(&job, &plan, case).expect("flows");
        let through = |ends: &[End]| -> f64 {
            let known = report.branches.ends.iter();
            known
                .filter(|(end, _)| ends.contains(end))
                .map(|(_, flow)| flow)
                .sum()
        };
        assert!(near(through(&plan.supply), report.flows.supply));
        assert!(near(through(&plan.extract), report.flows.extract));
        let leaks = report.branches.leaks.iter();
        let net: f64 = leaks.map(|leak| leak.inward - leak.outward).sum();
        let exhausted: f64 = report.branches.exhausts.iter().map(|one| one.flow).sum();
        assert!(near(exhausted, 0.02 * air::STANDARD_DENSITY));
        let lost = exhausted + report.flows.extract - report.flows.supply;
        assert!((net - lost).abs() < 1e-5, "{setting:?}: {net} {lost}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// A damper that is closed further never raises the flow of its stream.
    #[test]
    fn closing_a_damper_never_raises_its_flow(
        layout in prop::sample::select(vec![
            Layout::ReturnToReturn, Layout::ReturnToSupply, Layout::DedicatedReturn, Layout::FullyDucted,
        ]),
        mode in prop::sample::select(vec![Mode::Off, Mode::Heating]),
        setting in prop::sample::select(vec![Setting::Low, Setting::High]),
        season in prop::sample::select(vec![Season::Winter, Season::Mild, Season::Summer]),
        from in 0.0..80.0f64,
        by in 1.0..10.0f64,
        other in 0.0..80.0f64,
        supply in any::<bool>(),
    ) {
        let job = house();
        let mut plan = plan_of(&job, layout, Entry::Flush);
        let case = OperatingCase { blower: mode, setting, season, wind: None };
        let mut at = |angle: f64| {
            (plan.supply_damper, plan.extract_damper) = if supply { (angle, other) } else { (other, angle) };
            let flows = one_case(&job, &plan, case).expect("flows").flows;
            if supply { flows.supply } else { flows.extract }
        };
        let (open, closed) = (at(from), at(from + by));
        prop_assert!(closed <= open + 1e-7, "{open} {closed}");
    }
}
