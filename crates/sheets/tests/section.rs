//! Sections of random houses, solved: they are drawn, they are sound, and they say what flows.

#[path = "../../plan/tests/common/mod.rs"]
mod common;

use common::{CFM, INCH, house, plan_of};
use drawing::section::{EndKind, Format, Place, Section};
use house::model::{
    End, Entry, Estimate, Interlock, Job, Layout, Mode, Origin, Season, Setting, ZoneKind,
};
use plan::flows::{Band, CaseReport};
use plan::inputs::Parameters;
use plan::installation::Installation;
use plan::{CaseFlows, OperatingCase, Plan};
use proptest::prelude::*;
use units::System;

fn estimate(value: f64) -> Estimate {
    Estimate {
        value,
        deviation: 0.05 * value.abs(),
        origin: Origin::Typed(String::new()),
    }
}

fn solved(job: &Job, plan: &Plan, blower: Mode, setting: Setting) -> CaseFlows {
    let parameters = Parameters::new(job);
    let mut installation =
        Installation::new(job, Some(plan), parameters.best(), false).expect("it can be built");
    let case = OperatingCase {
        blower,
        setting,
        season: Season::Winter,
        wind: None,
    };
    installation.solve(case).expect("a solution")
}

fn sheet(job: &Job, plan: &Plan, flows: CaseFlows, system: System) -> Section {
    let around = |value: f64| Band {
        low: 0.95 * value,
        high: 1.05 * value,
    };
    let report = CaseReport {
        supply: around(flows.supply),
        extract: around(flows.extract),
        delivered: around(flows.delivered),
        balance: around(flows.balance()),
        flows,
        runs: true,
        branches: plan::case::Branches::default(),
    };
    sheets::section(job, plan, &report, "blower off, ventilator at high", system)
}

fn velocities(section: &Section) -> [f64; 4] {
    [0, 1, 2, 3].map(|place| section.ducts[place].velocity)
}

/// Supply air that goes straight back is told in words that fit its share.
#[test]
fn a_short_circuit_is_told() {
    let job = house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let mut flows = solved(&job, &plan, Mode::Off, Setting::High);
    assert!(flows.short_circuit > 0.5, "{}", flows.short_circuit);
    for (share, words) in [
        (0.95, "Nearly all the supply air is drawn straight back out"),
        (0.60, "Most of the supply air is drawn straight back out"),
        (0.20, "A part of the supply air is drawn straight back out"),
        (0.09, ""),
    ] {
        flows.short_circuit = share;
        let section = sheet(&job, &plan, flows.clone(), System::Ip);
        assert!(
            section.short_circuit.starts_with(words),
            "{}",
            section.short_circuit
        );
        assert_eq!(section.short_circuit.is_empty(), words.is_empty());
    }
}

/// An idle ventilator between return and outdoors lets air in or out backwards.
#[test]
fn air_that_runs_backward_has_a_negative_velocity_and_a_sentence() {
    let job = house();
    let plan = plan_of(&job, Layout::ReturnToSupply, Entry::Flush);
    let flows = solved(&job, &plan, Mode::Heating, Setting::Off);
    // The supply duct is under pressure and pushes house air out.
    assert!(flows.supply < -1e-3);
    let section = sheet(&job, &plan, flows, System::Ip);
    let [outdoor, supply, ..] = velocities(&section);
    assert!(outdoor < 0.0 && supply < 0.0);
    assert_eq!(
        section.ducts[0].wrong,
        "Runs backward: house air leaves through the intake."
    );
    // As it should be, nothing is said.
    let flows = solved(&job, &plan, Mode::Heating, Setting::High);
    let section = sheet(&job, &plan, flows, System::Ip);
    assert!(velocities(&section).iter().all(|velocity| *velocity > 0.0));
    assert!(section.ducts.iter().all(|duct| duct.wrong.is_empty()));
}

/// The sheet shows the flows that were handed in, in both systems, with half of the band.
#[test]
fn figures() {
    let job = house();
    let plan = plan_of(&job, Layout::DedicatedReturn, Entry::Flush);
    let mut flows = solved(&job, &plan, Mode::Heating, Setting::High);
    flows.supply = 100.0 * CFM * 1.204;
    flows.ports[0] = -49.8178;
    for (system, first, spread, second, pressure) in [
        (System::Ip, "100 cfm", "± 5", "47.2 L/s", "−0.200 inWC"),
        (System::Si, "47.2 L/s", "± 2.4", "100 cfm", "−49.8 Pa"),
    ] {
        let section = sheet(&job, &plan, flows.clone(), system);
        let figure = &section.ducts[1].flow;
        assert_eq!(
            (
                figure.first.as_str(),
                figure.spread.as_str(),
                figure.second.as_str()
            ),
            (first, spread, second)
        );
        assert_eq!(section.ducts[0].port.first, pressure);
    }
    let section = sheet(&job, &plan, flows, System::Ip);
    assert!(matches!(
        section.ducts[2].ends[0].kind,
        EndKind::Grille { zone: 0 }
    ));
    assert_eq!(section.zones[1].place, Place::Below);
}

/// Velocity times area is the flow, and what a tap takes out of a trunk is missing beyond it.
#[test]
fn trunks_carry_what_the_taps_leave() {
    let job = house();
    let plan = plan_of(&job, Layout::ReturnToReturn, Entry::Flush);
    let flows = solved(&job, &plan, Mode::Heating, Setting::High);
    let section = sheet(&job, &plan, flows.clone(), System::Ip);
    let area = 8.0 * INCH * 18.0 * INCH * 1.204;
    let [near, between, far] = section.handler.expect("a furnace").trunks[0].velocities;
    for (velocity, flow) in [
        (near, flows.blower_flow),
        (between, flows.blower_flow - flows.supply),
        (far, flows.blower_flow - flows.supply + flows.extract),
    ] {
        assert!((velocity * area - flow).abs() < 1e-9, "{velocity} {flow}");
    }
}

const KINDS: [ZoneKind; 5] = [
    ZoneKind::Living,
    ZoneKind::Basement,
    ZoneKind::Attic,
    ZoneKind::Crawlspace,
    ZoneKind::Garage,
];

prop_compose! {
    fn any_house()(
        levels in (-3.0..1.0f64, -1.0..6.0f64),
        more in prop::collection::vec((2..5usize, -1.0..7.0f64, 0.4..4.0f64), 0..3),
        tightness in 0.02..3.0f64,
        flow in 300.0..2500.0f64,
        plenums in (5.0..250.0f64, 5.0..250.0f64),
        diameter in 4.0..10.0f64,
        door in 0.0005..2.0f64,
        spot in 0..5usize,
        stands in 0..5usize,
        two_in_one in any::<bool>(),
        facing in 0.0..360.0f64,
    ) -> Job {
        let mut job = house();
        job.zones[0].level = levels.1;
        job.zones[1].level = levels.0;
        for (index, (kind, level, height)) in more.into_iter().enumerate() {
            let mut zone = job.zones[0].clone();
            zone.name = format!("space {index}");
            zone.kind = KINDS[kind];
            zone.level = level;
            zone.height = height;
            zone.leakage_share = 0.05;
            zone.joins = Some(0);
            zone.vent_area = 0.1;
            zone.supply_share = 0.0;
            zone.return_share = 0.0;
            job.zones[0].leakage_share -= 0.05;
            job.zones.push(zone);
        }
        job.building.leakage_at_50_pascals = estimate(tightness);
        let zones = job.zones.len();
        let handler = job.air_handler.as_mut().expect("a furnace");
        handler.zone = stands % zones;
        handler.modes[0].flow = estimate(0.5 * flow * CFM);
        handler.modes[1].flow = estimate(flow * CFM);
        handler.modes[1].return_pressure = Some(estimate(-plenums.0));
        handler.modes[1].supply_pressure = Some(estimate(plenums.1));
        job.spots[0].zone = spot % zones;
        job.openings[0].area = door;
        job.ducts.diameters = vec![diameter * INCH];
        job.terminals[0].facing = facing;
        job.terminals[1].two_in_one = two_in_one;
        job
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 120,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_house_is_drawn(
        job in any_house(),
        layout in prop::sample::select(Layout::ALL.to_vec()),
        without in any::<bool>(),
        facing in any::<bool>(),
        same in any::<bool>(),
        dampers in (0.0..80.0f64, 0.0..80.0f64),
        mode in prop::sample::select(vec![Mode::Off, Mode::Low, Mode::Heating]),
        setting in prop::sample::select(vec![Setting::Off, Setting::Low, Setting::High]),
        system in prop::sample::select(vec![System::Ip, System::Si]),
    ) {
        let entry = if facing { Entry::FacingDownstream } else { Entry::Flush };
        let (mut job, mut layout, mut mode) = (job, layout, mode);
        if without {
            job.air_handler = None;
            job.taps.clear();
            job.spots[0].runs.retain(|run| !matches!(run.to, End::Tap(_)));
            layout = Layout::FullyDucted;
            mode = Mode::Off;
        }
        let mut plan = plan_of(&job, layout, entry);
        plan.interlock = Interlock::None;
        (plan.supply_damper, plan.extract_damper) = dampers;
        if same {
            plan.exhaust = plan.intake;
        }
        let flows = solved(&job, &plan, mode, setting);
        let section = sheet(&job, &plan, flows, system);
        for format in [Format::Wide, Format::Narrow] {
            let drawing = section.draw(format);
            let tree = roxmltree::Document::parse(&drawing.svg);
            prop_assert!(tree.is_ok());
            let tree = tree.expect("sound XML");
            let size: Vec<f64> = tree.root_element().attribute("viewBox").expect("a view box")
                .split(' ').map(|number| number.parse().expect("a number")).collect();
            for (index, one) in drawing.labels.iter().enumerate() {
                prop_assert!(one.left >= 0.0 && one.upper >= 0.0 && one.right <= size[2] && one.lower <= size[3]);
                for other in &drawing.labels[..index] {
                    prop_assert!(!one.overlaps(other), "{one:?} {other:?}");
                }
            }
        }
    }
}
