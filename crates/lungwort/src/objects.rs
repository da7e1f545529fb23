//! Plans and flows as JSON: SI numbers with their unit in the key, names instead of indices. The
//! keys are described in docs/json.md.

use house::model::{Entry, Job};
use plan::candidate::{Plan, end_name};
use plan::case::{CaseFlows, OperatingCase};
use plan::finding::{Finding, Weight};
use plan::flows::{Band, CaseReport, FlowsReport};
use plan::merit::{Merits, PartLine};
use plan::rate::RequiredRate;
use serde_json::{Map, Value, json};

use crate::report::season_name;

/// A plan by the names of the job file.
pub fn plan(job: &Job, plan: &Plan) -> Value {
    let names = |ends: &[house::model::End]| -> Vec<&str> {
        ends.iter().map(|&end| end_name(job, end)).collect()
    };
    json!({
        "unit": job.units[plan.unit].name,
        "setting": plan.setting.name(),
        "spot": job.spots[plan.spot].name,
        "layout": plan.layout.name(),
        "extract": names(&plan.extract),
        "supply": names(&plan.supply),
        "entry": match plan.entry {
            Entry::Flush => "flush",
            Entry::FacingDownstream => "facing downstream",
        },
        "intake": job.terminals[plan.intake].name,
        "exhaust": job.terminals[plan.exhaust].name,
        "duct_diameter_m": plan.diameter,
        "interlock": plan.interlock.name(),
        "supply_damper_deg": plan.supply_damper,
        "extract_damper_deg": plan.extract_damper,
    })
}

/// The rate to be met.
pub fn required(required: &RequiredRate) -> Value {
    json!({
        "rate_m3_s": required.rate,
        "because": required.because,
        "authority": required.authority,
        "rule": required.rule,
        "infiltration_credit_m3_s": required.credit,
    })
}

/// The merits of a plan.
pub fn merits(job: &Job, merits: &Merits) -> Value {
    json!({
        "delivered_kg_s": merits.delivered,
        "excess": merits.excess,
        "balance": merits.balance,
        "short_circuit": merits.short_circuit,
        "fan_pressure_used": merits.fan_pressure_used,
        "velocity_m_s": merits.velocity,
        "electricity_kwh_a": merits.electricity,
        "blower_electricity_kwh_a": merits.blower_electricity,
        "electricity_cost_a": merits.electricity_cost,
        "parts_cost": merits.parts_cost,
        "sound_excess_db": merits.side_effects.sound_excess,
        "dew_margin_k": merits.side_effects.dew_margin,
        "drawn_down": merits.side_effects.drawn_down.map(|drawn| json!({
            "appliance": job.appliances[drawn.appliance].name,
            "limit_pa": drawn.limit,
            "as_found_pa": drawn.as_found,
            "with_plan_pa": drawn.with_plan,
        })),
        "furnace_air": merits.side_effects.furnace_air.map(|air| json!({
            "temperature_c": air.temperature,
            "without_recovery_c": air.without_recovery,
            "least_c": air.least,
        })),
    })
}

/// The parts list.
pub fn parts(parts: &[PartLine]) -> Value {
    parts
        .iter()
        .map(|line| {
            let quantity = if line.is_length { "length_m" } else { "count" };
            json!({ "item": line.item, quantity: line.quantity, "price": line.price })
        })
        .collect()
}

/// The findings, the most serious first.
pub fn findings(findings: &[Finding]) -> Value {
    findings
        .iter()
        .map(|finding| {
            let weight = match finding.weight {
                Weight::NotAllowed => "must not stay so",
                Weight::Doubtful => "look at",
                Weight::Good => "as it should be",
            };
            json!({ "weight": weight, "text": finding.text })
        })
        .collect()
}

/// Everything about one plan.
pub fn flows(job: &Job, report: &FlowsReport, told: &[Finding]) -> Value {
    let cases: Vec<Value> = report.cases.iter().map(|one| case(job, one)).collect();
    json!({
        "plan": plan(job, &report.plan),
        "dampers_set_by": if report.dampers_set { "lungwort" } else { "the job file" },
        "required": required(&report.required),
        "merits": merits(job, &report.merits),
        "parts": parts(&report.parts),
        "findings": findings(told),
        "cases": cases,
        "worst_balance": report.worst.map(|place| of_case(report.cases[place].flows.case)),
        "measurement": report.measurement.as_ref().map(|measurement| json!({
            "what": measurement.what,
            "how": measurement.how,
            "balance_half_band_now": measurement.now,
            "balance_half_band_after": measurement.after,
        })),
        "known_on_the_day": report.known_on_the_day,
        "draws": plan::flows::DRAWS,
        "draws_lost": report.draws_lost,
    })
}

/// The name of an operating case.
pub fn of_case(case: OperatingCase) -> Value {
    json!({
        "blower": case.blower.name(),
        "setting": case.setting.name(),
        "weather": season_name(case.season),
    })
}

fn band(band: Band) -> Value {
    json!([band.low, band.high])
}

fn case(job: &Job, report: &CaseReport) -> Value {
    let CaseFlows {
        case,
        supply,
        extract,
        short_circuit,
        delivered,
        ref zone_pressures,
        blower_flow,
        plenums,
        ports,
        external_static_pressure,
        certified_pressure,
        velocities,
        ref rooms,
        residual,
    } = report.flows;
    let four = |[outdoor, supply, extract, exhaust]: [f64; 4]| {
        json!({
            "outdoor": outdoor,
            "supply": supply,
            "extract": extract,
            "exhaust": exhaust,
        })
    };
    let moving = case.setting != house::model::Setting::Off;
    let pressures: Map<String, Value> = zone_pressures
        .iter()
        .map(|&(zone, pressure)| (job.zones[zone].name.clone(), pressure.into()))
        .collect();
    let rooms: Vec<Value> = rooms
        .iter()
        .map(|room| {
            json!({
                "room": job.zones[room.zone].name,
                "outdoor_air_kg_s": room.outdoor_air,
                "outdoor_share": room.outdoor_share,
                "age_s": room.age,
            })
        })
        .collect();
    json!({
        "case": of_case(case),
        "wind": case.wind.map(|wind| json!({ "speed_m_s": wind.speed, "from_deg": wind.from })),
        "runs": report.runs,
        "supply_kg_s": supply,
        "supply_band_kg_s": band(report.supply),
        "extract_kg_s": extract,
        "extract_band_kg_s": band(report.extract),
        "delivered_kg_s": delivered,
        "delivered_band_kg_s": band(report.delivered),
        "balance": moving.then(|| report.flows.balance()),
        "balance_band": moving.then(|| band(report.balance)),
        "short_circuit": moving.then_some(short_circuit),
        "house_pressure_pa": report.flows.house_pressure(),
        "room_pressures_pa": pressures,
        "blower_flow_kg_s": blower_flow,
        "return_plenum_pa": plenums.map(|[back, _]| back),
        "supply_plenum_pa": plenums.map(|[_, out]| out),
        "port_pressures_pa": four(ports),
        "external_static_pressure_pa": {
            "supply": external_static_pressure[0],
            "extract": external_static_pressure[1],
        },
        "certified_pressure_pa": moving.then_some(certified_pressure),
        "velocities_m_s": four(velocities),
        "rooms": rooms,
        "residual_kg_s": residual,
    })
}
