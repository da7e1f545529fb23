//! `lungwort safety JOB`: whether an appliance could spill its gases into the house.

use std::path::Path;
use units::text::{capital, fixed};

use house::model::{Job, Season};
use plan::candidate::Plan;
use plan::installation::Doors;
use plan::safety::{
    Depressurisation, HouseState, Outcome as Fare, SafetyReport, VentilatorState, Verdict, safety,
};
use serde_json::{Value, json};

use crate::command_line::Options;
use crate::commands::flows::{asked_or_chosen, unsolved};
use crate::figures::Figures;
use crate::job::{self, Usable};
use crate::outcome::{Failure, Outcome, coloured};
use crate::report::{Page, blower_words, season_name};
use crate::text::item;

/// Judges the house as found, and with the plan asked for or that of the job file.
pub fn run(path: &Path, asked: Option<usize>, options: &Options) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(path)?;
    let plan = asked_or_chosen(&job, asked, options)?;
    let report = safety(&job, plan.as_ref(), &job.rules).map_err(unsolved)?;
    // What is not known is not safe: the answer is no until it is said.
    let yes = !report.forbids() && report.asked.is_empty();
    if options.json {
        let mut object = object(&job, &report);
        object["name"] = job.name.clone().into();
        object["problems"] = problems;
        return Ok(Outcome::json(&object, yes));
    }
    let page = Page {
        job: &job,
        figures: Figures {
            system: job::system(&job, options),
        },
        coloured: coloured(),
    };
    Ok(Outcome::new(text(page, plan.as_ref(), &report), yes).with_notes(notes))
}

fn text(page: Page<'_>, plan: Option<&Plan>, report: &SafetyReport) -> String {
    let job = page.job;
    let mut text = page.heading(&job.name);
    text.push_str(&match plan {
        Some(plan) => page.paragraph(&format!(
            "The house as found, and with this plan: {}",
            page.plan_words(plan)
        )),
        None => page
            .paragraph("The house as found; the job file names no plan (give one with --plan N)."),
    });
    for verdict in &report.verdicts {
        text.push('\n');
        text.push_str(&page.heading(&capital(&job.appliances[verdict.appliance].name)));
        for sentence in sentences(job, verdict) {
            text.push_str(&item("  • ", &sentence, 100));
        }
    }
    if !report.asked.is_empty() {
        text.push('\n');
        text.push_str(
            &page.heading("Still to be said in the job file; nothing is assumed to be safe"),
        );
        for sentence in &report.asked {
            text.push_str(&item("  • ", sentence, 100));
        }
    }
    text.push('\n');
    text.push_str(&page.heading("Cautions"));
    for caution in &report.cautions {
        text.push_str(&item(
            "  • ",
            &format!("{}: {}", capital(caution.about), caution.text),
            100,
        ));
    }
    text.push('\n');
    text.push_str(&page.paragraph(
        "This is a prediction from the survey. It replaces no test: the local code and the people licensed for such work decide.",
    ));
    text
}

/// What is said about an appliance.
fn sentences(job: &Job, verdict: &Verdict) -> Vec<String> {
    let mut list = Vec::new();
    let worst = verdict.with_plan.as_ref().unwrap_or(&verdict.as_found);
    list.push(match (verdict.outcome, verdict.limit) {
        (Fare::Unvented, _) => "It burns into the room. No limit makes that safe; ventilation is no cure for it.".into(),
        (Fare::BeyondLimit, Some(limit)) => format!(
            "Stop: its zone is drawn down by {} Pa in the worst case, but {} Pa is the limit. Find make-up air, less exhaust or a sealed appliance first.",
            fixed(-worst.net, 1),
            fixed(limit, 1)
        ),
        (Fare::Doubtful, Some(limit)) => format!(
            "Doubtful: its zone is drawn down by {} Pa in the worst case, and by up to {} Pa within the band of the survey; {} Pa is the limit. Measure it.",
            fixed(-worst.net, 1),
            fixed(-worst.band.low, 1),
            fixed(limit, 1)
        ),
        (Fare::Kept, Some(limit)) => format!(
            "Its zone is drawn down by {} Pa in the worst case ({} Pa within the band of the survey); {} Pa is the limit.",
            fixed(-worst.net, 1),
            fixed(-worst.band.low, 1),
            fixed(limit, 1)
        ),
        _ => format!(
            "Its zone is drawn down by {} Pa in the worst case. Whether that is safe cannot be said: how it is vented is not known.",
            fixed(-worst.net, 1)
        ),
    });
    list.push(format!("Worst case: {}.", state_words(job, worst)));
    if verdict.with_plan.is_some() {
        list.push(format!(
            "As the house was found it is {} Pa.",
            fixed(-verdict.as_found.net, 1)
        ));
    }
    if verdict.limit.is_some() {
        let doubt = if verdict.unverified {
            "; from memory, the appliance's own papers and the local code decide"
        } else {
            ""
        };
        list.push(format!("Limit: {}{doubt}.", verdict.authority));
    }
    list
}

/// The state of the house that is worst, in words.
fn state_words(job: &Job, worst: &Depressurisation) -> String {
    let HouseState {
        blower,
        ventilator,
        season,
        doors,
    } = worst.state;
    let zone = |zone: usize| job.zones[zone].name.as_str();
    let doors = match doors {
        Doors::AsSurveyed => "doors as surveyed".to_owned(),
        Doors::Closed => "all doors closed".to_owned(),
        Doors::Open => "all doors open".to_owned(),
        Doors::OnlyClosed(at) => format!("the doors of {} closed, all others open", zone(at)),
        Doors::OnlyOpen(at) => format!("the doors of {} open, all others closed", zone(at)),
    };
    let ventilator = match ventilator {
        VentilatorState::Absent => "no ventilator".to_owned(),
        VentilatorState::Off => "the ventilator off".to_owned(),
        VentilatorState::Running(setting) => format!("the ventilator at {}", setting.name()),
        VentilatorState::ExhaustOnly(setting) => format!(
            "the ventilator at {} with its supply fan failed or in a defrost that only exhausts",
            setting.name()
        ),
    };
    let season = match season {
        Season::Winter => "in winter",
        Season::Mild => "on a mild day",
        Season::Summer => "in summer",
    };
    format!(
        "all other exhausts on, {}, {doors}, {ventilator}, {season}",
        blower_words(blower)
    )
}

fn object(job: &Job, report: &SafetyReport) -> Value {
    let drawn = |drawn: &Depressurisation| {
        json!({
            "net_pa": drawn.net,
            "band_pa": [drawn.band.low, drawn.band.high],
            "worst_case": state_words(job, drawn),
            "blower": drawn.state.blower.name(),
            "weather": season_name(drawn.state.season),
        })
    };
    let appliances: Vec<Value> = report
        .verdicts
        .iter()
        .map(|verdict| {
            json!({
                "appliance": job.appliances[verdict.appliance].name,
                "zone": job.zones[job.appliances[verdict.appliance].zone].name,
                "outcome": match verdict.outcome {
                    Fare::Kept => "kept",
                    Fare::Doubtful => "doubtful",
                    Fare::BeyondLimit => "beyond limit",
                    Fare::Unknown => "unknown",
                    Fare::Unvented => "unvented",
                },
                "limit_pa": verdict.limit,
                "authority": verdict.authority,
                "unverified": verdict.unverified,
                "as_found": drawn(&verdict.as_found),
                "with_plan": verdict.with_plan.as_ref().map(drawn),
            })
        })
        .collect();
    let cautions: Vec<Value> = report
        .cautions
        .iter()
        .map(|caution| json!({ "about": caution.about, "text": caution.text }))
        .collect();
    json!({ "appliances": appliances, "asked": report.asked, "cautions": cautions })
}
