//! How much outdoor air the house needs, with the arithmetic, and its kitchens and baths.

use axum::extract::{Form, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use diagnostics::Severity;
use house::model::Job;
use maud::{Markup, html};
use plan::local_exhaust::LocalExhaust;
use plan::rate::{Rates, RequiredRate, authority, required};
use rules::rates::Rate;
use rules::{Row, RuleSet, Subject};
use serde::Deserialize;
use store::edit::{EditError, Literal, Step, push, remove, set, values};
use units::text::capital;
use units::{Quantity as _, System, VolumeFlow, both};

use crate::App;
use crate::assets::script;
use crate::job::{Open, back, change, failed, know};
use crate::known::Known;
use crate::layout::{message, of_job};
use crate::survey::{applied, no_form, not_kept, sent_version};

/// What an address asks for.
#[derive(Deserialize)]
pub struct Asked {
    /// The rule for which a number of the job's own is to be given.
    #[serde(default)]
    rule: String,
}

/// The page.
pub async fn page(
    State(app): State<App>,
    Path(name): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let content = match open.known.job() {
        None => blocked(&open, "How much outdoor air the house needs"),
        Some(job) => content(&open, job, &asked.rule),
    };
    Ok(of_job(&open, "/needs", "Needs", &content))
}

/// What a page says that needs a survey without errors.
pub fn blocked(open: &Open, title: &str) -> Markup {
    html! {
        h1 { (title) }
        p {
            "This can be said as soon as the survey is free of errors. "
            a href=(open.address("/survey")) { "Mend the survey" } "."
        }
        (crate::job::problems(&open.known))
    }
}

fn content(open: &Open, job: &Job, ruled: &str) -> Markup {
    let system = open.known.system();
    let required = required(job);
    html! {
        (script("why.js"))
        h1 { "How much outdoor air the house needs" }
        p class="answer" {
            a class="figure" href=(open.address("/needs/why")) { strong { (both(VolumeFlow::from_si(required.rate), system)) } }
            " of outdoor air"
            @if job.rates.running.schedule.share() < 1.0 { ", while the ventilator runs" } @else { ", all the time" }
            "."
        }
        p { (because(&required)) }
        @match open.known.rates(job) {
            None => { p { "The rates of this house cannot be computed. Look at its floor area, heights and leakage in the survey." } }
            Some(rates) => {
                (side_by_side(rates, &required, system))
                section {
                    h2 { "How " (rates.decision.rate.rule.id) " comes about" }
                    (arithmetic(&rates.decision.rate))
                }
                (inputs(open))
            }
        }
        section {
            h2 { "Kitchens and baths" }
            @match open.known.local(job) {
                Err(why) => { p { "This cannot be computed: " (why) "." } }
                Ok(local) => { (kitchens_and_baths(job, local, system))
                    p { a href=(open.address("/survey/exhaust")) { "The other exhausts of the house" } } }
            }
        }
        (sets(open, job))
        (own_numbers(open, job, ruled, system))
        p class="quiet" {
            "Figures marked as from memory are to be checked in your copy of the standard; the authority of the place decides."
        }
    }
}

/// Answers of the survey that the rates lean on: the way to each, and what it is called.
const INPUTS: [(&str, &str, &str); 9] = [
    ("house", "floor_area", "Floor area"),
    ("house", "bedrooms", "Bedrooms"),
    ("house", "occupants", "People"),
    ("house", "storeys", "Storeys"),
    ("house", "ceiling_height", "Ceiling height"),
    ("house", "blower_door", "Blower door"),
    ("rates", "weather_factor", "Weather factor"),
    ("controls", "run_share", "Running share"),
    (
        "house",
        "required_rate",
        "A rate of your own, in place of the rules'",
    ),
];

/// What goes in, with the way to each field.
fn inputs(open: &Open) -> Markup {
    let found = store::edit::values(open.known.text()).unwrap_or_default();
    let shown = |group: &str, key: &str| {
        let path = [group.into(), key.into()];
        let given = found.iter().find(|found| found.path == path);
        if let Some(given) = given {
            return (given.value.clone(), String::new());
        }
        let field = format!("{group}.{key}");
        let mut assumed = open.known.reading.assumed.iter();
        match assumed.find(|assumed| assumed.field == field) {
            Some(assumed) => (
                assumed.value.clone(),
                format!("assumed: {}", assumed.reason),
            ),
            None => ("not given".to_owned(), String::new()),
        }
    };
    html! {
        section {
            h2 { "What goes in" }
            ul class="ledger" {
                @for (group, key, title) in INPUTS {
                    @let (value, why) = shown(group, key);
                    li {
                        a href=(open.address(&format!("/survey/{group}#q-{}", key.replace('_', "-")))) { (title) }
                        span { (value) @if !why.is_empty() { span class="quiet" { " " (why) } } }
                    }
                }
            }
        }
    }
}

/// Whose rules hold, to be chosen.
fn sets(open: &Open, job: &Job) -> Markup {
    let chosen = job.rules.sets();
    html! {
        section id="sets" {
            h2 { "Whose rules hold" }
            form method="post" action=(open.address("/needs/sets")) {
                input type="hidden" name="version" value=(open.head.version);
                fieldset {
                    legend { "Beside common practice" }
                    @for set in RuleSet::ALL.into_iter().filter(|set| *set != RuleSet::CommonPractice) {
                        label class="choice" {
                            input type="checkbox" name="set" value=(set.name()) checked[chosen.contains(&set)];
                            (set.name()) @if set.national() { span class="quiet" { "the law of a place: one at most" } }
                        }
                    }
                }
                button class="quietly" { "Keep these rules" }
            }
        }
    }
}

/// Numbers of the job that take the place of those of rules, and a form for one more.
fn own_numbers(open: &Open, job: &Job, chosen: &str, system: System) -> Markup {
    let ruled: Vec<&'static Row> = job.rules.rows().filter(|row| row.limit.is_some()).collect();
    html! {
        section id="own" {
            h2 { "Numbers of your own" }
            p { "Where the authority of the place asks for another number than a rule, or you have a good reason, it is written here, and shown wherever the rule is used." }
            ul class="plainlist" {
                @for (place, (row, _)) in job.rules.overrides().enumerate() {
                    li {
                        strong { (row.id) } ". " (plan::rules::words(&job.rules, row, system)) " "
                        a href=(open.address(&format!("/survey/rules/override/{}", place + 1))) { "Change it or take it out" }
                    }
                }
            }
            form method="post" class="unprinted" action=(open.address("/needs/own")) {
                input type="hidden" name="version" value=(open.head.version);
                label for="own-rule" { "Rule" }
                select id="own-rule" name="rule" {
                    option value="" { "choose one" }
                    @for subject in Subject::ALL {
                        @let rows: Vec<_> = ruled.iter().filter(|row| row.subject == subject).collect();
                        @if !rows.is_empty() {
                            optgroup label=(capital(subject.name())) {
                                @for row in rows {
                                    option value=(row.id) selected[row.id == chosen] {
                                        (row.id)
                                        @if let Some(ruling) = job.rules.ruling(row) { ": " (ruling.limit.show(system)) }
                                    }
                                }
                            }
                        }
                    }
                }
                label for="own-limit" { "Number with its unit" }
                p class="hint" id="own-limit-hint" { "Like 12 ft, 60 cfm, 15 %: of the kind that the rule has." }
                input id="own-limit" name="limit" autocomplete="off" aria-describedby="own-limit-hint";
                label for="own-reason" { "Why" }
                input id="own-reason" name="reason" autocomplete="off" maxlength="500";
                label for="own-who" { "Who says so, for instance the building inspector" }
                input id="own-who" name="who" autocomplete="off" maxlength="200";
                button class="quietly" { "Keep this number" }
            }
        }
    }
}

/// A number of the job's own for a rule.
#[derive(Deserialize)]
pub struct Own {
    version: u64,
    rule: String,
    limit: String,
    reason: String,
    #[serde(default)]
    who: String,
}

/// Writes a number of the job's own, in the place of the one that it has for the rule.
pub async fn own(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(own): Form<Own>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let [rule, limit, reason, who] =
        [&own.rule, &own.limit, &own.reason, &own.who].map(|text| text.trim());
    if rule.is_empty() || limit.is_empty() || reason.is_empty() {
        let words = "A rule, its number and the reason are needed. Nothing was kept.";
        return Err((StatusCode::UNPROCESSABLE_ENTITY, message("Not kept", words)).into_response());
    }
    let text = open.known.text();
    let list: [Step; 2] = ["rules".into(), "override".into()];
    let written = || -> Result<String, EditError> {
        let found = values(text)?;
        let known = found.iter().find(|found| {
            found.path.len() == 4
                && found.path.starts_with(&list)
                && found.path[3] == "rule".into()
                && found.value == rule
        });
        let place = known.map(|found| found.path[2].clone());
        let places = found.iter().filter_map(|found| match found.path.get(2) {
            Some(Step::Place(place)) if found.path.starts_with(&list) => Some(place + 1),
            _ => None,
        });
        let (mut after, place) = match place {
            Some(place) => (text.to_owned(), place),
            None => {
                let added = push(text, &list, "rule", Literal::text(rule));
                let next: usize = places.max().unwrap_or(0);
                (applied(text, added)?, next.into())
            }
        };
        for (key, value) in [("limit", limit), ("reason", reason), ("who", who)] {
            let mut path = list.to_vec();
            path.extend([place.clone(), key.into()]);
            if !value.is_empty() {
                after = applied(&after, set(&after, &path, Literal::text(value)))?;
            }
        }
        Ok(after)
    };
    let after = written().map_err(|error| not_kept(&error))?;
    let what = format!("rule {rule}: {limit}, {reason}");
    keep(&app, &open, own.version, what, &after, "#own").await
}

/// Writes whose rules hold.
pub async fn choose(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let version = sent_version(&sent).ok_or_else(no_form)?;
    let named = sent.iter().filter(|(name, _)| name == "set");
    let names: Vec<&str> = named.map(|(_, set)| set.as_str()).collect();
    let path: [Step; 2] = ["rules".into(), "sets".into()];
    let text = open.known.text();
    let given = values(text).is_ok_and(|found| found.iter().any(|found| found.path == path));
    let splice = match (names.is_empty(), given) {
        (true, false) => return Ok(back(&open.address("/needs#sets"))),
        (true, true) => remove(text, &path),
        (false, _) => set(text, &path, Literal::texts(names.iter().copied())),
    };
    let after = applied(text, splice).map_err(|error| not_kept(&error))?;
    let what = if names.is_empty() {
        "common practice alone".to_owned()
    } else {
        format!("whose rules hold: {}", names.join(", "))
    };
    keep(&app, &open, version, what, &after, "#sets").await
}

/// Keeps a text unless it has an error that was not there before.
async fn keep(
    app: &App,
    open: &Open,
    version: u64,
    what: String,
    after: &str,
    at: &str,
) -> Result<Response, Response> {
    let known = know(app, after).await;
    let errors = |known: &Known| -> Vec<String> {
        let list = known.reading.problems.list().into_iter();
        list.filter(|problem| problem.severity == Severity::Error)
            .map(|problem| {
                let help = problem
                    .help
                    .iter()
                    .map(|help| format!("{}. ", capital(help)));
                format!("{}. {}", capital(&problem.title), help.collect::<String>())
            })
            .collect()
    };
    let before = errors(&open.known);
    if let Some(new) = errors(&known).into_iter().find(|new| !before.contains(new)) {
        let words = format!("{} Nothing was kept.", new.trim());
        return Err((
            StatusCode::UNPROCESSABLE_ENTITY,
            message("Not kept", &words),
        )
            .into_response());
    }
    change(app, &open.head.key, version, what, after)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&open.address(&format!("/needs{at}"))))
}

fn because(required: &RequiredRate) -> String {
    let mut words = capital(&required.because);
    if !words.contains(&required.authority) {
        words = format!("{words}. Whose rule: {}", required.authority);
    }
    format!("{}.", words.trim_end_matches('.'))
}

fn side_by_side(rates: &Rates, required: &RequiredRate, system: System) -> Markup {
    let show = |flow: f64| VolumeFlow::from_si(flow).show(system);
    html! {
        section {
            h2 { "The rules side by side" }
            div class="scroll" tabindex="0" role="region" aria-label="Rates by rule" {
                table {
                    thead { tr {
                        th scope="col" { "Rule" }
                        th scope="col" class="number" { "In all" }
                        th scope="col" class="number" { "Less leaks" }
                        th scope="col" class="number" { "Ventilator" }
                        th scope="col" { "How well known" }
                    } }
                    tbody {
                        @for rate in &rates.all {
                            @let decides = required.rule == Some(rate.rule.id);
                            @let chosen = rates.decision.chosen.contains(&rate.rule.id);
                            tr class=[decides.then_some("decides")] {
                                th scope="row" {
                                    (rate.rule.id)
                                    @if decides { span class="tag" { "decides" } }
                                    @else if chosen { span class="tag" { "chosen" } }
                                }
                                td class="number" { (show(rate.total)) }
                                td class="number" { @match rate.credit { Some(credit) => (show(credit)), None => "–" } }
                                td class="number" { (show(rate.needed)) }
                                td class="words" {
                                    (rate.rule.confidence.name())
                                    details {
                                        summary { "Arithmetic" }
                                        (arithmetic(rate))
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn arithmetic(rate: &Rate) -> Markup {
    html! {
        ol class="arithmetic" {
            @for step in &rate.steps { li { (capital(&step.what)) ": " (step.formula) } }
        }
        ul {
            @for exception in &rate.exceptions { li { (exception) } }
            @for missing in &rate.missing { li { strong { "Missing. " } (missing) } }
            @for doubt in &rate.doubts { li { strong { "In doubt. " } (doubt) } }
            li { "Whose rule: " (authority(rate)) "." }
        }
    }
}

fn kitchens_and_baths(job: &Job, local: &LocalExhaust, system: System) -> Markup {
    let mut sets: Vec<RuleSet> = Vec::new();
    for room in &local.rooms {
        if !sets.contains(&room.demand.set) {
            sets.push(room.demand.set);
        }
    }
    html! {
        @if local.rooms.is_empty() { p { "The job has no kitchen, bath or toilet." } }
        @for set in &sets {
            h3 { "By " (set.name()) }
            ul class="states" {
                @for room in local.rooms.iter().filter(|room| room.demand.set == *set) {
                    li class=(if room.met { "good" } else { "bad" }) {
                        span class="shape" aria-hidden="true" {}
                        (local.room_words(job, room, system))
                        span class="quiet" { " " (room.source) }
                    }
                }
            }
        }
        @if let Some(reason) = &local.not_counted { p { (reason) } }
    }
}
