//! `lungwort flows JOB`: one plan in every operating case.

use std::path::Path;
use units::text::capital;

use drawing::section::Format;
use house::model::{Job, Mode, Setting};
use plan::candidate::Plan;
use plan::case::{blower_modes, usual_mode};
use plan::finding;
use plan::flows::{CaseReport, FlowsReport, flows_of, with_dampers, worst_wind};
use plan::search::Search;

use crate::command_line::{self, Options};
use crate::figures::Figures;
use crate::files;
use crate::job::{self, Usable};
use crate::objects;
use crate::outcome::{Failure, Outcome, coloured};
use crate::progress::Progress;
use crate::report::Page;
use crate::sketch::{case_words, sketch};

/// Predicts the flows of a plan and says what they mean.
pub fn run(asked: &command_line::Flows, options: &Options) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(&asked.job)?;
    let system = job::system(&job, options);
    let Some(chosen) = choose(&job, asked.plan, options)? else {
        return Ok(nothing_found(&asked.job, options).with_notes(notes));
    };
    let wind = if asked.wind {
        Some(worst_wind(&job, &chosen.plan).map_err(unsolved)?)
    } else {
        None
    };
    let mut report = flows_of(&job, &chosen.plan, wind, &|| ()).map_err(unsolved)?;
    report.dampers_set = chosen.dampers_set;
    let findings = finding::findings_in(
        system,
        &job,
        &report.plan,
        &report.required,
        &report.merits,
        &report.cases,
    );
    let shown = case_to_draw(&job, &report, asked)?;
    let case = case_words(&job, shown.flows.case, Figures { system });
    if let Some(file) = &asked.svg {
        let format = if asked.narrow {
            Format::Narrow
        } else {
            Format::Wide
        };
        let sheet = sheets::section(&job, &report.plan, shown, &case, system);
        files::write(file, &sheet.draw(format).svg, true)?;
    }
    if options.json {
        let mut object = objects::flows(&job, &report, &findings);
        object["name"] = job.name.clone().into();
        object["problems"] = problems;
        object["place"] = chosen.place.map(|place| place + 1).into();
        object["drawn_case"] = objects::of_case(shown.flows.case);
        return Ok(Outcome::json(&object, true));
    }
    let page = Page {
        job: &job,
        figures: Figures { system },
        coloured: coloured(),
    };
    let name = asked.job.display();
    let text = [
        page.heading(&job.name),
        page.paragraph(&chosen.words),
        page.paragraph(&page.plan_words(&report.plan)),
        if report.dampers_set {
            page.paragraph("The dampers are set here so that the modes in which it runs balance on a mild day.")
        } else {
            String::new()
        },
        "\n".to_owned(),
        page.heading(&format!("{}:", capital(&case))),
        "\n".to_owned(),
        sketch(&job, &report.plan, &shown.flows, page.figures, page.coloured),
        "\n".to_owned(),
        page.findings(&findings),
        "\n".to_owned(),
        page.cases(&report, asked.all),
        "\n".to_owned(),
        page.rooms(&shown.flows, &case),
        "\n".to_owned(),
        page.measurement(&report),
        "\n".to_owned(),
        page.density(),
        "\n".to_owned(),
        page.paragraph(&format!(
            "Draw another case: lungwort flows {name} --blower {} --weather winter",
            blower_modes(&job).last().unwrap_or(&Mode::Off).name()
        )),
    ]
    .concat();
    Ok(Outcome::yes(text).with_notes(notes))
}

/// The plan to show and where it comes from.
pub struct Chosen {
    /// The plan.
    pub plan: Plan,
    /// Its dampers were set here.
    pub dampers_set: bool,
    /// Its place in the ranking, if it was searched for.
    pub place: Option<usize>,
    /// Where it comes from, as a sentence.
    pub words: String,
}

/// The plan asked for, that of the job file, or the best one; none if no plan works.
pub fn choose(
    job: &Job,
    asked: Option<usize>,
    options: &Options,
) -> Result<Option<Chosen>, Failure> {
    if let (None, Some(chosen)) = (asked, &job.chosen) {
        let (plan, dampers_set) = with_dampers(job, chosen).map_err(unsolved)?;
        return Ok(Some(Chosen {
            plan,
            dampers_set,
            place: None,
            words: "The plan of the job file.".to_owned(),
        }));
    }
    let search = search(job, options);
    if search.ranked.is_empty() {
        return Ok(None);
    }
    let place = place(&search, asked.unwrap_or(1))?;
    let count = search.ranked.len();
    let words = match asked {
        Some(_) => format!("Plan {} of the {count} that work.", place + 1),
        None => format!(
            "The job file names no plan, so this is the best of the {count} that work; `lungwort plan` shows the others."
        ),
    };
    Ok(Some(Chosen {
        plan: search.ranked[place].plan.clone(),
        dampers_set: true,
        place: Some(place),
        words,
    }))
}

/// Searches with a progress bar.
pub fn search(job: &Job, options: &Options) -> Search {
    let progress = Progress::new(options.ascii());
    plan::search(job, &|done, total| progress.show(done, total))
}

/// The index of a place in the ranking that a person counts from one.
pub fn place(search: &Search, asked: usize) -> Result<usize, Failure> {
    let count = search.ranked.len();
    if (1..=count).contains(&asked) {
        return Ok(asked - 1);
    }
    Err(Failure::message(
        format!("there is no plan {asked}"),
        match count {
            0 => "no plan meets every rule; `lungwort plan` says what stopped each".to_owned(),
            1 => "one plan works: plan 1".to_owned(),
            _ => format!("{count} plans work: choose one from 1 to {count}"),
        },
    ))
}

/// The plan of the ranking that is asked for, or that of the job file with its dampers set.
pub fn asked_or_chosen(
    job: &Job,
    asked: Option<usize>,
    options: &Options,
) -> Result<Option<Plan>, Failure> {
    match (asked, &job.chosen) {
        (Some(asked), _) => {
            let found = search(job, options);
            let place = place(&found, asked)?;
            Ok(Some(found.ranked[place].plan.clone()))
        }
        (None, Some(chosen)) => Ok(Some(with_dampers(job, chosen).map_err(unsolved)?.0)),
        (None, None) => Ok(None),
    }
}

/// The flows of a plan could not be computed.
pub fn unsolved(error: plan::flows::FlowsError) -> Failure {
    Failure::message(
        format!("the flows of this plan cannot be computed: {error}"),
        "if the job file looks right, please send it to us",
    )
}

/// The answer when no plan works.
pub fn nothing_found(path: &Path, options: &Options) -> Outcome {
    if options.json {
        return Outcome::json(&serde_json::json!({ "plan": null }), false);
    }
    Outcome::new(
        format!(
            "No plan meets every rule, so there are no flows to show.\n\
             What stopped each: lungwort plan {}\n",
            path.display()
        ),
        false,
    )
}

/// The case that is drawn: as asked for, else the mode in which the ventilator runs most.
fn case_to_draw<'r>(
    job: &Job,
    report: &'r FlowsReport,
    asked: &command_line::Flows,
) -> Result<&'r CaseReport, Failure> {
    let plan = &report.plan;
    let blower = asked.blower.map_or_else(
        || usual_mode(job, plan.interlock).unwrap_or(Mode::Off),
        Mode::from,
    );
    let setting = asked.setting.map_or(plan.setting, Setting::from);
    let found = report.cases.iter().find(|case| {
        let known = case.flows.case;
        known.blower == blower && known.setting == setting && known.season == asked.weather.into()
    });
    found.ok_or_else(|| {
        let modes: Vec<&str> = blower_modes(job).into_iter().map(Mode::name).collect();
        let unit = &job.units[plan.unit];
        let mut settings = vec!["off"];
        settings.extend(unit.settings.iter().map(|tested| tested.setting.name()));
        Failure::message(
            format!(
                "there is no case with the blower in {} and the ventilator at {}",
                blower.name(),
                setting.name()
            ),
            format!(
                "the survey has the blower modes {}; {} has the settings {}",
                modes.join(", "),
                unit.name,
                settings.join(", ")
            ),
        )
    })
}
