//! The checks of the day, and the worksheet of the depressurisation test.

use axum::extract::multipart::Multipart;
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use balancing::checklist::{
    COMBUSTION, Checked, WORKSHEET, burning, checked, items, nothing_to_test, tests,
};
use house::model::Job;
use journal::{CheckResult, Combustion, Entry, Event, ItemChecked};
use maud::{Markup, html};
use units::text::capital;
use units::{Pressure, Typed};

use super::entry::Again;
use super::page::{carried, certainty};
use super::photo::{self, Sent};
use super::write::{Fields, append, field, photo_of, stamp};
use super::{Today, parts, style, today};
use crate::App;
use crate::assets::script;
use crate::job::{Open, back, failed, nowhere};
use crate::layout::of_job;
use crate::say::counted;

/// How the list stands.
pub fn list(open: &Open, job: &Job, today: &Today) -> Vec<Checked> {
    let journal = &open.log.journal;
    let struck = journal.struck_out();
    let entries: Vec<&Entry> = journal.entries().collect();
    checked(job, &today.day, &entries, &|entry| {
        struck.contains_key(&entry)
    })
}

/// Whether a check is as it should be.
fn is_good(check: &Checked) -> bool {
    matches!(
        check.result,
        Some(CheckResult::Good | CheckResult::NotApplicable)
    )
}

/// The page.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    Ok(shown(&open, StatusCode::OK, &Again::default()))
}

fn shown(open: &Open, status: StatusCode, again: &Again) -> Response {
    let title = "Checks of the day";
    let content = match today(open, title) {
        Err(content) => content,
        Ok((job, today)) => {
            let list = list(open, job, &today);
            let left = list.iter().filter(|check| !is_good(check)).count();
            html! {
                (style())
                (certainty(&today))
                h1 class="unseen" { (title) }
                (parts(open, "/day/checks"))
                p class="lead" {
                    @if left == 0 { "All are as they should be. " a href=(open.address("/day/record")) { "Sign the record" } "." }
                    @else { (counted(left, "thing is", "things are")) " still to be looked at." }
                }
                ol class="checks" {
                    @for check in &list { (one(open, check, again)) }
                }
                (script("day.js"))
            }
        }
    };
    (status, of_job(open, "/day", title, &content)).into_response()
}

fn one(open: &Open, check: &Checked, again: &Again) -> Markup {
    let key = check.item.key;
    let (class, words) = match check.result {
        None => ("open", "not looked at"),
        Some(CheckResult::Good) => ("good", "good"),
        Some(CheckResult::NotGood) => ("bad", "not good"),
        Some(CheckResult::NotApplicable) => ("good", "does not concern this house"),
    };
    let asked_again = again.form == "checks" && again.typed("checks", "item") == Some(key);
    html! {
        li class=(class) id=(key) {
            h2 { span class="shape" aria-hidden="true" {} (capital(key)) span class="state" { ": " (words) } }
            p { (capital(&check.item.text)) }
            @if let Some(caution) = check.item.caution { div class="caution" { p { (caution) } } }
            @if !check.because.is_empty() { p class="quiet" { (capital(&check.because)) "." } }
            @if !check.photo.is_empty() { (photo::thumbnail(open, &check.photo, &format!("Photo: {key}"))) }
            @if key == "combustion" {
                p { a href=(open.address("/day/combustion")) { "The worksheet of the test" } }
            }
            // What readings and tests prove is not ticked by a tap.
            @if check.result.is_none() && !matches!(key, "interlock" | "combustion") {
                form method="post" enctype="multipart/form-data" class="at-once" action=(open.address("/day/checks")) {
                    (carried(open))
                    input type="hidden" name="item" value=(key);
                    button name="result" value="good" aria-label={ (capital(key)) " is good" } { "Good" }
                }
            }
            details class="by-hand" open[asked_again] {
                summary { @if check.result.is_none() { "Not good, or with a note or photo" } @else { "Enter it anew" } }
                @if asked_again { p class="error" role="alert" { (again.why) } }
                form method="post" enctype="multipart/form-data" action=(open.address("/day/checks")) {
                    (carried(open))
                    input type="hidden" name="item" value=(key);
                    label for={ (key) "-note" } { "Note" }
                    input id={ (key) "-note" } name="note" maxlength="500" autocomplete="off" value=(if asked_again { again.typed("checks", "note").unwrap_or_default() } else { "" });
                    (photo::field(key))
                    div class="answers" {
                        button name="result" value="good" { "Good" }
                        button class="quietly" name="result" value="not good" { "Not good" }
                        button class="quietly" name="result" value="not applicable" { "Not in this house" }
                    }
                }
            }
        }
    }
}

fn result(word: &str) -> Option<CheckResult> {
    CheckResult::ALL
        .into_iter()
        .find(|result| result.name() == word)
}

/// Keeps the result of a check.
pub async fn check(
    State(app): State<App>,
    Path(name): Path<String>,
    form: Multipart,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let Sent { fields, photo } = Sent::read(form).await?;
    let (job, today) = today(&open, "Checks of the day").map_err(|content| {
        let page = of_job(&open, "/day", "Checks of the day", &content);
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    })?;
    let item = field(&fields, "item");
    let known = items(job, &today.plan);
    let item = known
        .iter()
        .find(|known| known.key == item)
        .ok_or_else(nowhere)?;
    let result = result(field(&fields, "result")).ok_or_else(nowhere)?;
    let photo = match photo.transpose() {
        Ok(photo) => photo,
        Err(why) => {
            let again = Again {
                form: "checks",
                fields,
                why,
            };
            return Ok(shown(&open, StatusCode::UNPROCESSABLE_ENTITY, &again));
        }
    };
    let event = Event::Checked(ItemChecked {
        item: item.key.to_owned(),
        result,
        note: field(&fields, "note")
            .chars()
            .filter(|c| !c.is_control())
            .take(500)
            .collect(),
        photo: photo_of(&app, &open, photo).await?,
    });
    let to = format!("/day/checks#{}", item.key);
    // Two people may look at different things at once; the last word on one of them counts.
    append(&app, &name, &stamp(&app, &fields), &[event], |_| true)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&open.address(&to)))
}

/// What the worksheet asks for, besides the result.
const ASKED: [(&str, &str, &str); 8] = [
    ("tester", "Tested by, with the licence", ""),
    (
        "base_pressure",
        "Base pressure",
        "Like −1.2 Pa: the zone against outdoors, everything off.",
    ),
    ("worst_pressure", "Worst pressure", "Like −3.4 Pa."),
    ("state", "The worst state", "Which fans, doors and blower."),
    ("spillage", "What the vent did", "Like: draws after 1 min."),
    ("draft", "Draft", "Like −5 Pa: the vent against the room."),
    (
        "carbon_monoxide",
        "Carbon monoxide in the flue",
        "Like 12 ppm.",
    ),
    (
        "room_carbon_monoxide",
        "Carbon monoxide in the room",
        "Like 0 ppm.",
    ),
];

/// The worksheet.
pub async fn worksheet(
    State(app): State<App>,
    Path(name): Path<String>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    Ok(sheet(&open, StatusCode::OK, &Again::default()))
}

fn sheet(open: &Open, status: StatusCode, again: &Again) -> Response {
    let title = "Combustion test";
    let content = match today(open, title) {
        Err(content) => content,
        Ok((job, _)) => html! {
            (style())
            h1 { "Worksheet of the depressurisation test" }
            (parts(open, "/day/checks"))
            div class="caution" { p { strong { "Combustion. " } (COMBUSTION) } }
            @let appliances = burning(job);
            @if appliances.is_empty() { p { (nothing_to_test(job)) } }
            @else {
                ol class="worksheet" { @for step in WORKSHEET { li { (step) } } }
                p { "Put everything back as it was found." }
                (entered(open, job))
                @for (place, appliance) in appliances.iter().enumerate() { (test(open, place, appliance, again)) }
            }
            p { a href=(open.address("/day/checks")) { "Back to the checks" } " · " a href=(open.address("/safety")) { "Limits of each appliance" } }
            (script("day.js"))
        },
    };
    (status, of_job(open, "/day", title, &content)).into_response()
}

/// The tests that were entered, with what their values say by the rules.
fn entered(open: &Open, job: &Job) -> Markup {
    let journal = &open.log.journal;
    let struck = journal.struck_out();
    let entries: Vec<&Entry> = journal.entries().collect();
    let tests = tests(job, &entries, &|entry| struck.contains_key(&entry));
    html! {
        @if !tests.is_empty() {
            h2 { "Entered" }
            ul class="states" {
                @for tested in &tests {
                    @let remarks = tested.remarks();
                    li class=(if remarks.is_empty() { "good" } else { "doubtful" }) {
                        span class="shape" aria-hidden="true" {}
                        "Entry " (tested.entry) ": " (Event::Combustion(tested.test.clone()).words()) "."
                        @for remark in remarks { p { (remark.text) } }
                    }
                }
            }
        }
    }
}

fn test(open: &Open, place: usize, appliance: &str, again: &Again) -> Markup {
    let mine = again.typed("combustion", "appliance") == Some(appliance);
    let typed = |name| {
        let typed = again.typed("combustion", name).filter(|_| mine);
        typed.unwrap_or_default()
    };
    html! {
        section {
            h2 { "Result for the " (appliance) }
            @if mine { p class="error" role="alert" { (again.why) } }
            form method="post" action=(open.address("/day/combustion")) {
                (carried(open))
                input type="hidden" name="appliance" value=(appliance);
                @for (name, label, hint) in ASKED {
                    @let id = format!("test-{place}-{name}");
                    label for=(id) { (label) }
                    @if !hint.is_empty() { p class="hint" id={ (id) "-hint" } { (hint) } }
                    input id=(id) name=(name) value=(typed(name)) maxlength="200" autocomplete="off" aria-describedby=[(!hint.is_empty()).then(|| format!("{id}-hint"))];
                }
                label for={ "test-" (place) "-note" } { "Note" }
                input id={ "test-" (place) "-note" } name="note" value=(typed("note")) maxlength="500" autocomplete="off";
                div class="answers" {
                    button name="result" value="good" { "Good" }
                    button class="quietly" name="result" value="not good" { "Not good" }
                }
            }
        }
    }
}

/// Keeps the values of a test.
pub async fn tested(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let job = open.known.job().ok_or_else(nowhere)?;
    let appliances = burning(job);
    let appliance = field(&sent, "appliance");
    let appliance = appliances
        .iter()
        .find(|known| *known == appliance)
        .ok_or_else(nowhere)?;
    let result = result(field(&sent, "result")).ok_or_else(nowhere)?;
    let test = match test_of(&sent, appliance, result) {
        Ok(test) => test,
        Err(why) => {
            let again = Again {
                form: "combustion",
                fields: sent,
                why,
            };
            return Ok(sheet(&open, StatusCode::UNPROCESSABLE_ENTITY, &again));
        }
    };
    append(
        &app,
        &name,
        &stamp(&app, &sent),
        &[Event::Combustion(test)],
        |_| true,
    )
    .await
    .map_err(|error| failed(&error))?;
    Ok(back(&open.address("/day/combustion")))
}

fn test_of(sent: &Fields, appliance: &str, result: CheckResult) -> Result<Combustion, String> {
    let text = |name: &str| -> String {
        let plain = field(sent, name).chars().filter(|c| !c.is_control());
        plain.take(200).collect()
    };
    let pressure = |name: &str| {
        let typed = text(name);
        let bare =
            typed.parse::<f64>().is_ok() || typed.replace(['−', ','], "-").parse::<f64>().is_ok();
        let typed = if bare { format!("{typed} Pa") } else { typed };
        if typed.is_empty() || Typed::<Pressure>::parse(&typed).is_ok() {
            Ok(typed)
        } else {
            Err(format!(
                "“{typed}” is no pressure, like −2.1 Pa. What you typed is not kept yet."
            ))
        }
    };
    let tester = text("tester");
    if tester.is_empty() {
        return Err(
            "Say who did the test, with the licence. What you typed is not kept yet.".into(),
        );
    }
    Ok(Combustion {
        appliance: appliance.to_owned(),
        tester,
        base_pressure: pressure("base_pressure")?,
        worst_pressure: pressure("worst_pressure")?,
        state: text("state"),
        spillage: text("spillage"),
        draft: pressure("draft")?,
        carbon_monoxide: text("carbon_monoxide"),
        room_carbon_monoxide: text("room_carbon_monoxide"),
        result: Some(result),
        note: text("note"),
    })
}
