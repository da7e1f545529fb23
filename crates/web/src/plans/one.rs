//! One plan of the ranking in full: why it stands where it stands, what it does, what it is made of,
//! and how it stands to the rules.

use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Response};
use house::model::Job;
use maud::{Markup, html};
use plan::account;
use plan::comparison::why;
use plan::merit::{self, CRITERIA, PartLine};
use plan::search::{Evaluated, Search};
use plan::standing::{Standing, State as Kept, standings};
use units::text::{capital, fixed, thousands};
use units::{Length, Quantity as _, System};

use super::{adopt, chosen_place, figures, found, running};
use crate::App;
use crate::job::{Open, nowhere};
use crate::layout::of_job;
use crate::needs::blocked;

/// The page.
pub async fn page(
    State(app): State<App>,
    Path((name, place)): Path<(String, String)>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let Some(job) = open.known.job() else {
        let content = blocked(&open, "The plans that work");
        return Ok(of_job(&open, "/plans", "Plans", &content).into_response());
    };
    let Some(found) = found(&app, &open) else {
        return Ok(running(&open));
    };
    let place = place
        .parse::<usize>()
        .ok()
        .and_then(|place| place.checked_sub(1))
        .filter(|place| *place < found.ranked.len())
        .ok_or_else(nowhere)?;
    let content = content(&open, job, &found, place);
    let title = format!("Plan {}", place + 1);
    Ok(of_job(&open, "/plans", &title, &content).into_response())
}

fn content(open: &Open, job: &Job, found: &Search, place: usize) -> Markup {
    let system = open.known.system();
    let evaluated = &found.ranked[place];
    let (plan, merits) = (&evaluated.plan, &evaluated.merits);
    let parts = merit::parts(job, plan);
    let chosen = chosen_place(job, found) == Some(place);
    let standings = standings(job, plan, merits, system);
    html! {
        (crate::assets::script("why.js"))
        p class="trail" { a href=(open.address("/plans")) { "Plans" } }
        h1 {
            "Plan " (place + 1) " of " (thousands(found.ranked.len())) ": "
            (plan.layout.name()) ", " (job.units[plan.unit].name)
            @if chosen { span class="tag" { "chosen" } }
        }
        p { (account::plan_words(job, plan, system)) }
        p class="why" {
            (why(job, found, place, system))
            @if evaluated.pareto { " No other plan beats it in balance, short circuit, sound, electricity and parts at once." }
        }
        (figures(open, job, evaluated, place, system))
        @if chosen { p { a href=(open.address("/flows")) { "What flows where" } } }
        @else { (adopt::button(open, found, place)) }
        section {
            h2 { "What it does" }
            ul { @for words in account::sentences(job, plan, merits, &parts, system) { li { (words) } } }
        }
        (points(evaluated, system))
        (parts_list(job, &parts, system))
        section {
            h2 { "How it stands to the rules" }
            @for (state, class, title) in [
                (Kept::Broken, "bad", "Rules that it breaks"),
                (Kept::ToSee, "doubtful", "To be seen to on the site, because the survey does not tell"),
                (Kept::Kept, "good", "Rules that it keeps"),
            ] {
                @let some: Vec<&Standing> = standings.iter().filter(|standing| standing.state == state).collect();
                @if !some.is_empty() {
                    details open[state != Kept::Kept] {
                        summary { (title) " (" (some.len()) ")" }
                        ul class="states" {
                            @for standing in some {
                                li class=(class) {
                                    span class="shape" aria-hidden="true" {}
                                    (plan::rules::words(&job.rules, standing.row, system))
                                    @if !standing.measured.is_empty() { " Here: " (standing.measured) "." }
                                }
                            }
                        }
                    }
                }
            }
        }
        nav class="neighbours" aria-label="Neighbours in the ranking" {
            @if place > 0 { a rel="prev" href=(open.address(&format!("/plans/{place}"))) { "‹ Plan " (place) } }
            @if place + 1 < found.ranked.len() { a rel="next" href=(open.address(&format!("/plans/{}", place + 2))) { "Plan " (place + 2) " ›" } }
        }
    }
}

fn points(evaluated: &Evaluated, system: System) -> Markup {
    let value = |index, value| account::at_criterion(index, value, system);
    html! {
        section {
            h2 { "Points: " (fixed(evaluated.score(), 1)) " of 100" }
            p { "Limits and weights are our own choice: air that flows as promised outweighs the rest." }
            div class="scroll" tabindex="0" role="region" aria-label="Points at each criterion" {
                table {
                    thead { tr {
                        th scope="col" { "Criterion" }
                        th scope="col" class="number" { "Here" }
                        th scope="col" class="number" { "All points up to" }
                        th scope="col" class="number" { "None from" }
                        th scope="col" class="number" { "Worth" }
                        th scope="col" class="number" { "Lost" }
                    } }
                    tbody { @for (index, criterion) in CRITERIA.iter().enumerate() {
                        tr class=[(evaluated.lost[index] < 0.05).then_some("idle")] {
                            th scope="row" {
                                @if index == merit::PARTS { "Parts, over the cheapest plan" } @else { (capital(criterion.name)) }
                            }
                            td class="number" { (value(index, merit::at_criterion(index, &evaluated.merits, &evaluated.lost))) }
                            td class="number" { (value(index, criterion.good)) }
                            td class="number" { (value(index, criterion.bad)) }
                            td class="number" { (fixed(criterion.weight, 0)) }
                            td class="number" { (fixed(evaluated.lost[index], 1)) }
                        }
                    } }
                }
            }
        }
    }
}

fn parts_list(job: &Job, parts: &[PartLine], system: System) -> Markup {
    let money = |price: f64| {
        if account::priced(price) {
            format!(
                "{}{}",
                job.costs.currency,
                thousands(price.round() as usize)
            )
        } else {
            "no price".to_owned()
        }
    };
    let total: f64 = parts.iter().map(|line| line.price).sum();
    html! {
        section {
            h2 { "Parts" }
            div class="scroll" tabindex="0" role="region" aria-label="Parts" {
                table class="slim" {
                    thead { tr { th scope="col" class="number" { "How much" } th scope="col" { "What" } th scope="col" class="number" { "Price" } } }
                    tbody { @for line in parts {
                        tr {
                            td class="number" {
                                @if line.is_length { (Length::from_si(line.quantity).show(system)) } @else { (fixed(line.quantity, 0)) }
                            }
                            th scope="row" { (line.item) }
                            td class="number" { (money(line.price)) }
                        }
                    } }
                    tfoot { tr { td {} th scope="row" { "Altogether" } td class="number" { (money(total)) } } }
                }
            }
        }
    }
}
