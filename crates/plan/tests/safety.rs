//! Depressurisation of the zones of appliances.

mod common;

use common::{CFM, house, plan_of};
use house::model::{Appliance, Entry, Exhaust, Job, Layout, Serves, Venting};
use plan::safety::{Outcome, VentilatorState, safety};
use rules::{Override, RuleBook};

fn with_appliance(venting: Option<Venting>, exhaust: f64) -> Job {
    let mut job = house();
    job.appliances.push(Appliance {
        name: "water heater".into(),
        zone: 1,
        venting,
        limit: None,
    });
    job.exhausts.push(Exhaust {
        name: "dryer".into(),
        zone: 0,
        flow: exhaust * CFM,
        continuous: false,
        serves: Serves::Nothing,
    });
    job
}

#[test]
fn an_exhaust_draws_a_house_down_by_the_power_law() {
    // 900 cfm at 50 Pa, exponent 0.65, one zone in effect: a 150 cfm dryer draws it down by 3.18 Pa
    // (computed from the power law; the exponent and the example are common practice).
    let mut job = with_appliance(Some(Venting::NaturalDraft), 150.0);
    job.air_handler = None;
    job.building.leakage_at_50_pascals.value = 900.0 * CFM;
    job.openings[0].area = 2.0;
    for weather in &mut job.climate.weathers {
        weather.outdoor = weather.indoor;
    }
    let report = safety(&job, None, &RuleBook::common_practice()).unwrap();
    let net = report.verdicts[0].as_found.net;
    // The flow is at standard density, the house's air a little thinner.
    assert!((net + 3.18).abs() < 0.1, "{net}");
    assert_eq!(report.verdicts[0].outcome, Outcome::Kept);
}

#[test]
fn the_outcome_follows_the_limit_of_the_venting() {
    for (venting, exhaust, outcome) in [
        (
            Some(Venting::NaturalDraftWaterHeaterAlone),
            600.0,
            Outcome::BeyondLimit,
        ),
        (Some(Venting::Sealed), 300.0, Outcome::Kept),
        (None, 10.0, Outcome::Unknown),
        (Some(Venting::Unvented), 10.0, Outcome::Unvented),
    ] {
        let job = with_appliance(venting, exhaust);
        let report = safety(&job, None, &RuleBook::common_practice()).unwrap();
        assert_eq!(report.verdicts[0].outcome, outcome, "{venting:?}");
        assert_eq!(
            report.forbids(),
            matches!(outcome, Outcome::BeyondLimit | Outcome::Unvented)
        );
    }
}

#[test]
fn a_failed_supply_fan_is_the_worst_state_of_a_ventilator() {
    let job = with_appliance(Some(Venting::NaturalDraft), 100.0);
    let plan = plan_of(&job, Layout::FullyDucted, Entry::Flush);
    let report = safety(&job, Some(&plan), &RuleBook::common_practice()).unwrap();
    let verdict = &report.verdicts[0];
    let with_plan = verdict.with_plan.unwrap();
    assert!(with_plan.net < verdict.as_found.net);
    assert!(
        matches!(with_plan.state.ventilator, VentilatorState::ExhaustOnly(_)),
        "{:?}",
        with_plan.state
    );
    assert!(with_plan.band.low < with_plan.net && with_plan.net < with_plan.band.high);
}

#[test]
fn what_the_survey_does_not_say_is_asked_for() {
    let asked = |job: &Job| {
        safety(job, None, &RuleBook::common_practice())
            .unwrap()
            .asked
            .join(" ")
    };
    let mut job = house();
    assert!(asked(&job).contains("Name every appliance"));
    job.nothing_burns = true;
    assert!(!asked(&job).contains("Name every appliance"));
    assert!(asked(&job).contains("other exhausts"));
    assert!(asked(&with_appliance(None, 50.0)).contains("how the water heater is vented"));
}

#[test]
fn an_override_shows_its_reason() {
    let job = with_appliance(Some(Venting::NaturalDraft), 100.0);
    let own = Override {
        id: "natural draft".into(),
        value: 4.0,
        reason: "local inspector".into(),
        who: "the office".into(),
    };
    let report = safety(&job, None, &RuleBook::new(&[], vec![own]).unwrap()).unwrap();
    assert_eq!(report.verdicts[0].limit, Some(4.0));
    assert!(report.verdicts[0].authority.contains("local inspector"));
    assert!(!report.verdicts[0].unverified);
}
