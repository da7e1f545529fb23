//! Any plausible house solves: no case without a solution, no number that is not a number.

mod common;

use common::{CFM, FOOT, INCH, house, plan_of};
use house::model::{
    BlowerKind, Entry, Estimate, Exhaust, Existing, Interlock, Job, Layout, Mode, Origin, Season,
    Setting,
};
use plan::flows::operating_cases;
use plan::inputs::Parameters;
use plan::installation::{Installation, wall_pressure_coefficient};
use plan::{OperatingCase, Wind};
use proptest::prelude::*;

fn estimate(value: f64) -> Estimate {
    Estimate {
        value,
        deviation: 0.05 * value.abs(),
        origin: Origin::Typed(String::new()),
    }
}

prop_compose! {
    fn any_house()(
        altitude in -50.0..3000.0f64,
        winter in -40.0..10.0f64,
        summer in 22.0..48.0f64,
        tightness in 0.02..3.0f64,
        exponent in 0.5..1.0f64,
        kind in prop::sample::select(vec![
            BlowerKind::FixedSpeedTap, BlowerKind::ConstantTorque, BlowerKind::ConstantAirflow, BlowerKind::AsMeasured,
        ]),
        flow in 300.0..2500.0f64,
        back in 5.0..250.0f64,
        out in 5.0..250.0f64,
        filter in 0.0..0.9f64,
        shares in (0.0..0.9f64, 0.0..0.9f64),
        leakage in (0.0..0.3f64, 0.0..0.3f64),
        door in 0.0005..2.0f64,
        diameter in 4.0..10.0f64,
        compression in 0.0..0.4f64,
        exhaust in prop::option::of(20.0..600.0f64),
        outdoor_duct in any::<bool>(),
    ) -> Job {
        let mut job = house();
        job.building.altitude = altitude;
        job.climate.weathers[0].outdoor = winter;
        job.climate.weathers[2].outdoor = summer;
        job.building.leakage_at_50_pascals = estimate(tightness);
        job.building.leakage_exponent = Estimate::default(exponent, 0.03, "test");
        let handler = job.air_handler.as_mut().unwrap();
        handler.blower = kind;
        handler.modes[0].flow = estimate(0.5 * flow * CFM);
        handler.modes[1].flow = estimate(flow * CFM);
        handler.modes[1].return_pressure = Some(estimate(-back));
        handler.modes[1].supply_pressure = Some(estimate(out));
        handler.filter_pressure_drop = estimate(filter * back);
        handler.return_path.branch_share = Estimate::default(shares.0, 0.1, "test");
        handler.supply_path.branch_share = Estimate::default(shares.1, 0.1, "test");
        handler.return_path.leakage = Estimate::default(leakage.0, 0.02, "test");
        handler.supply_path.leakage = Estimate::default(leakage.1, 0.02, "test");
        job.openings[0].area = door;
        job.ducts.diameters = vec![diameter * INCH];
        job.ducts.compression = Estimate::default(compression, 0.05, "test");
        if let Some(flow) = exhaust {
            job.exhausts.push(Exhaust { name: "fan".into(), zone: 0, flow: flow * CFM, continuous: true, serves: house::model::Serves::Nothing });
        }
        if outdoor_duct {
            job.existing = Existing::SupplyOnly { diameter: 6.0 * INCH, length: 5.0, from_fan: 12.0 * FOOT, stays: true };
        }
        job
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn every_case_of_any_house_is_solved(
        job in any_house(),
        layout in prop::sample::select(Layout::ALL.to_vec()),
        facing in any::<bool>(),
        dampers in (0.0..80.0f64, 0.0..80.0f64),
        wind in prop::option::of((0.0..15.0f64, 0.0..360.0f64)),
        scores in prop::collection::vec(-2.5..2.5f64, 40),
    ) {
        let wind = wind.map(|(speed, from)| Wind { speed, from });
        let entry = if facing { Entry::FacingDownstream } else { Entry::Flush };
        let mut plan = plan_of(&job, layout, entry);
        plan.interlock = Interlock::None;
        (plan.supply_damper, plan.extract_damper) = dampers;
        let inputs = Parameters::new(&job).draw(&scores);
        let mut installation = Installation::new(&job, Some(&plan), &inputs, wind.is_some()).unwrap();
        for case in operating_cases(&job, &plan, wind) {
            let flows = installation.solve(case).unwrap();
            // The solver stops at 1e-9 of the largest flow, which is at most a few kg/s here.
            prop_assert!(flows.residual <= 5e-9, "{case:?}: {}", flows.residual);
            prop_assert!(flows.supply.is_finite() && flows.extract.is_finite());
            prop_assert!((-1e-9..=1.0 + 1e-9).contains(&flows.short_circuit), "{}", flows.short_circuit);
            prop_assert!(flows.balance().abs() <= 2.0);
            prop_assert!(flows.zone_pressures.iter().all(|(_, pressure)| pressure.is_finite()));
            for room in installation.rooms() {
                prop_assert!(room.outdoor_air >= 0.0 && !room.age.is_nan() && !room.outdoor_share.is_nan());
            }
        }
    }

    #[test]
    fn the_order_of_the_cases_does_not_matter(job in any_house(), layout in prop::sample::select(Layout::ALL.to_vec())) {
        let plan = plan_of(&job, layout, Entry::Flush);
        let parameters = Parameters::new(&job);
        let cases = operating_cases(&job, &plan, None);
        let mut forward = Installation::new(&job, Some(&plan), parameters.best(), false).unwrap();
        let mut backward = Installation::new(&job, Some(&plan), parameters.best(), false).unwrap();
        let there: Vec<_> = cases.iter().map(|&case| forward.solve(case).unwrap()).collect();
        let back: Vec<_> = cases.iter().rev().map(|&case| backward.solve(case).unwrap()).collect();
        for (a, b) in there.iter().zip(back.iter().rev()) {
            // The drives at the taps are settled to 1e-3 Pa, the flows to about 1e-4 of themselves.
            prop_assert!((a.supply - b.supply).abs() < 2e-5, "{:?} {} {}", a.case, a.supply, b.supply);
            prop_assert!((a.extract - b.extract).abs() < 2e-5, "{:?}", a.case);
        }
    }
}

#[test]
fn a_house_without_an_air_handler_takes_a_fully_ducted_ventilator() {
    let mut job = house();
    job.air_handler = None;
    job.taps.clear();
    for zone in &mut job.zones {
        zone.supply_share = 0.0;
        zone.return_share = 0.0;
    }
    job.spots[0]
        .runs
        .retain(|run| !matches!(run.to, house::model::End::Tap(_)));
    let result = plan::search(&job, &|_, _| {});
    assert!(!result.ranked.is_empty(), "{:?}", result.discarded);
    assert!(
        result
            .ranked
            .iter()
            .all(|plan| plan.plan.layout == Layout::FullyDucted)
    );
}

#[test]
fn wind_on_the_intake_raises_the_supply() {
    let job = house();
    let plan = plan_of(&job, Layout::FullyDucted, Entry::Flush);
    let parameters = Parameters::new(&job);
    let mut installation = Installation::new(&job, Some(&plan), parameters.best(), true).unwrap();
    // Both terminals of the test house face north.
    let mut at = |wind| {
        let case = OperatingCase {
            blower: Mode::Off,
            setting: Setting::High,
            season: Season::Mild,
            wind,
        };
        let flows = installation.solve(case).unwrap();
        (flows.supply, flows.extract)
    };
    let calm = at(Some(Wind {
        speed: 0.0,
        from: 0.0,
    }));
    let windward = at(Some(Wind {
        speed: 8.0,
        from: 0.0,
    }));
    let leeward = at(Some(Wind {
        speed: 8.0,
        from: 180.0,
    }));
    assert!(
        windward.0 > calm.0 && windward.1 < calm.1,
        "{windward:?} {calm:?}"
    );
    assert!(
        leeward.0 < calm.0 && leeward.1 > calm.1,
        "{leeward:?} {calm:?}"
    );
}

#[test]
fn the_wall_pressure_coefficient_follows_the_handbook() {
    // ASHRAE Fundamentals 2021, chapter 16, equation 26 with 0.6, −0.3 and −0.65 (end values as
    // printed there; the values between computed from the equation with numpy).
    for (angle, expected) in [
        (0.0, 0.6),
        (15.0, 0.58296),
        (30.0, 0.50295),
        (45.0, 0.31063),
        (60.0, 0.00801),
        (75.0, -0.32623),
        (90.0, -0.65),
        (120.0, -0.52713),
        (150.0, -0.30501),
        (180.0, -0.3),
    ] {
        assert!(
            (wall_pressure_coefficient(angle) - expected).abs() < 1e-5,
            "at {angle}°"
        );
        assert!(
            (wall_pressure_coefficient(-angle) - expected).abs() < 1e-5,
            "at −{angle}°"
        );
    }
}
