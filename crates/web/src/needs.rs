//! How much outdoor air the house needs, with the arithmetic, and its kitchens and baths.

use axum::extract::{Path, State};
use axum::response::Response;
use house::model::Job;
use maud::{Markup, html};
use plan::local_exhaust::LocalExhaust;
use plan::rate::{Rates, RequiredRate, authority, required};
use rules::rates::Rate;
use rules::rates::local::RoomExhaust;
use units::{Quantity as _, System, VolumeFlow, both};

use crate::App;
use crate::assets::script;
use crate::job::Open;
use crate::layout::of_job;
use crate::say::capital;

/// The page.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let content = match open.known.job() {
        None => blocked(&open, "How much outdoor air the house needs"),
        Some(job) => content(&open, job),
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

fn content(open: &Open, job: &Job) -> Markup {
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
            }
        }
        section {
            h2 { "Kitchens and baths" }
            @match open.known.local(job) {
                Err(why) => { p { "This cannot be computed: " (why) "." } }
                Ok(local) => { (kitchens_and_baths(local, system)) }
            }
        }
        p class="quiet" {
            "Figures marked as from memory are to be checked in your copy of the standard; the authority of the place decides."
        }
    }
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
                                td {
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

fn kitchens_and_baths(local: &LocalExhaust, system: System) -> Markup {
    html! {
        @if local.rooms.is_empty() { p { "The job has no kitchen, bath or toilet." } }
        ul class="states" {
            @for room in &local.rooms {
                li class=(if room.met { "good" } else { "bad" }) {
                    span class="shape" aria-hidden="true" {}
                    (room_words(room, local, system))
                }
            }
        }
        @if let Some(reason) = &local.not_counted { p { (reason) } }
    }
}

fn room_words(room: &RoomExhaust, local: &LocalExhaust, system: System) -> String {
    let show = |flow: f64| both(VolumeFlow::from_si(flow), system);
    let name = format!("{} {}", capital(room.demand.room.name()), room.number);
    let set = room.demand.set.name();
    let asked = match room.continuous {
        Some(continuous) => format!(
            "{set} asks for {} on demand or {} all the time",
            show(room.on_demand),
            show(continuous)
        ),
        None => format!("{set} asks for {} on demand", show(room.on_demand)),
    };
    match room.by.and_then(|at| local.extracts.get(at)) {
        None => format!("{name} has no exhaust. {asked}."),
        Some(extract) => format!(
            "{name}: {} takes {} {}, which is {}. {asked}.",
            extract.name,
            show(extract.flow),
            if extract.continuous {
                "all the time"
            } else {
                "on demand"
            },
            if room.met { "enough" } else { "too little" },
        ),
    }
}
