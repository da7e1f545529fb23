//! A plan of the ranking is written into the job.

use axum::extract::{Form, Path, State};
use axum::response::{IntoResponse as _, Response};
use house::model::{Entry, Job};
use maud::{Markup, html};
use plan::Plan;
use plan::candidate::end_name;
use plan::search::Search;
use serde::Deserialize;
use store::edit::{EditError, Literal, Step, remove, set};
use units::text::capital;

use crate::App;
use crate::job::{Open, back, change, failed, nowhere};
use crate::layout::message;

/// The button that adopts the plan at a place of the ranking.
pub fn button(open: &Open, found: &Search, place: usize) -> Markup {
    html! {
        form method="post" action=(open.address("/plans/adopt")) {
            input type="hidden" name="version" value=(open.head.version);
            input type="hidden" name="place" value=(place + 1);
            input type="hidden" name="of" value=(found.ranked.len());
            button { "Adopt plan " (place + 1) }
        }
    }
}

/// Which plan is adopted.
#[derive(Deserialize)]
pub struct Adopted {
    version: u64,
    place: usize,
    of: usize,
}

/// Writes a plan of the ranking into the job.
pub async fn adopt(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(adopted): Form<Adopted>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let key = &open.head.key;
    if adopted.version != open.head.version {
        return Err(failed(&store::StoreError::Moved {
            now: open.head.version,
        }));
    }
    let job = open.known.job().ok_or_else(nowhere)?;
    let found = open.known.found();
    let Some(found) = found.filter(|found| found.ranked.len() == adopted.of) else {
        // Forgotten or searched anew since the page was made: its places may mean other plans.
        return Ok(back(&open.address("/plans")));
    };
    let place = adopted.place.checked_sub(1);
    let evaluated = place
        .and_then(|place| found.ranked.get(place))
        .ok_or_else(nowhere)?;
    let text = with_plan(open.known.text(), job, &evaluated.plan).map_err(|error| {
        let words = format!("{}.", capital(&error.to_string()));
        message("The plan was not adopted", &words).into_response()
    })?;
    let what = format!("plan {} adopted", adopted.place);
    change(&app, key, adopted.version, what, &text)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&open.address("/flows")))
}

/// The text with a plan in its table `[plan]`; the dampers are left to the program.
pub fn with_plan(text: &str, job: &Job, plan: &Plan) -> Result<String, EditError> {
    let names = |ends: &[house::model::End]| {
        let names: Vec<&str> = ends.iter().map(|end| end_name(job, *end)).collect();
        Literal::texts(names)
    };
    let entry = match plan.entry {
        Entry::Flush => "flush",
        Entry::FacingDownstream => "facing downstream",
    };
    // Millimetres to the third decimal: exactly what was tried, however it was typed.
    let diameter = format!("{} mm", (plan.diameter * 1e6).round() / 1e3);
    let values = [
        ("unit", Literal::text(&job.units[plan.unit].name)),
        ("setting", Literal::text(plan.setting.name())),
        ("spot", Literal::text(&job.spots[plan.spot].name)),
        ("layout", Literal::text(plan.layout.name())),
        ("extract", names(&plan.extract)),
        ("supply", names(&plan.supply)),
        ("entry", Literal::text(entry)),
        ("intake", Literal::text(&job.terminals[plan.intake].name)),
        ("exhaust", Literal::text(&job.terminals[plan.exhaust].name)),
        ("diameter", Literal::text(&diameter)),
        ("interlock", Literal::text(plan.interlock.name())),
    ];
    let way = |key: &str| -> [Step; 2] { ["plan".into(), key.into()] };
    let mut text = text.to_owned();
    for (key, value) in values {
        let splice = set(&text, &way(key), value)?;
        text = splice.apply(&text).map_err(|_| EditError::Entangled)?;
    }
    for key in ["supply_damper", "extract_damper"] {
        match remove(&text, &way(key)) {
            Ok(splice) => text = splice.apply(&text).map_err(|_| EditError::Entangled)?,
            Err(EditError::NoWay(_)) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(text)
}
