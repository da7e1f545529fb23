//! What follows from the answers: at once, before they are kept.

use std::sync::Arc;
use units::text::capital;

use house::model::Job;
use maud::{Markup, html};
use plan::Plan;
use plan::effect::{Effect, change_words};
use units::{Quantity as _, System, VolumeFlow, both};

use super::errors;
use crate::App;
use crate::job::Open;
use crate::known::Known;
use crate::say::counted;
use crate::steps::steps;

/// What follows from the answers that `open` holds; where that is not what followed before, both.
pub fn follows(app: &App, open: &Open, before: &Arc<Known>) -> Markup {
    let after: &Known = &open.known;
    html! {
        aside id="follows" aria-label="What follows" aria-live="polite" {
            h2 { "What follows" }
            @match after.job() {
                None => (held_up(after)),
                Some(job) => {
                    (needed(job, after.system(), before))
                    (of_plan(app, open, job, before))
                }
            }
            ul class="plainlist" {
                @for step in steps(open).iter().skip(2) { li { strong { (step.name) } ": " (step.words) } }
            }
        }
    }
}

/// Why nothing can be said yet.
fn held_up(after: &Known) -> Markup {
    let wanting = super::walk::wanting(after.text());
    let errors = errors(after).count();
    html! {
        @if wanting.is_empty() {
            p { (counted(errors.max(1), "thing has", "things have")) " to be mended before anything can be said." }
        } @else {
            p { "How much outdoor air the house needs can be said as soon as this is answered:" }
            ul class="plainlist" { @for question in &wanting { li { (question) } } }
        }
    }
}

/// The outdoor air that the house needs.
fn needed(job: &Job, system: System, before: &Known) -> Markup {
    let required = plan::rate::required(job);
    let show = |rate: f64| both(VolumeFlow::from_si(rate), system);
    let was = before
        .job()
        .map(|job| show(plan::rate::required(job).rate))
        .filter(|was| *was != show(required.rate));
    html! {
        @if let Some(was) = was {
            p class="now" { "The outdoor air needed would go from " (was) " to " (show(required.rate)) "." }
        }
        dl class="figures" {
            div { dt { "Outdoor air needed" } dd { (show(required.rate)) } }
        }
        p class="hint" { (capital(&required.because)) "." }
    }
}

/// The plan that answers are measured by: the chosen one, or the best of the last search.
fn plan_of(app: &App, open: &Open, known: &Known) -> Option<(Plan, bool, bool)> {
    let job = known.job()?;
    if let Some(chosen) = &job.chosen {
        let dampers = chosen.supply_damper.is_none() && chosen.extract_damper.is_none();
        return Some((Plan::from_chosen(chosen), dampers, true));
    }
    let known = app.shelf.last_found(open.head.key.name())?;
    let search = known.found()?;
    let best = &search.ranked.first()?.plan;
    Some((best.carried(known.job()?, job)?, true, false))
}

fn effect(app: &App, open: &Open, known: &Arc<Known>) -> Option<Result<Effect, String>> {
    let (plan, dampers, _) = plan_of(app, open, known)?;
    known.effect(&plan, dampers, &*app.workspace.background)
}

/// What the plan does with these answers.
fn of_plan(app: &App, open: &Open, job: &Job, before: &Arc<Known>) -> Markup {
    let after = &open.known;
    let system = after.system();
    let Some((_, _, chosen)) = plan_of(app, open, after) else {
        let missing = plan::candidate::missing(job);
        return html! {
            @match missing.first() {
                Some(missing) => p { (missing.in_words()) },
                None => p { "Plans can be searched now. " a href=(open.address("/plans")) { "Look for plans" } "." },
            }
        };
    };
    match effect(app, open, after) {
        None => html! { p { "Under its interlock the ventilator never runs." } },
        Some(Err(why)) => html! { p { "The flows of the plan cannot be computed: " (why) "." } },
        Some(Ok(after)) => {
            let was = effect(app, open, before).and_then(Result::ok);
            let words = was.map_or_else(Vec::new, |was| change_words(&was, &after, system));
            html! {
                @for words in &words { p class="now" { (words) } }
                dl class="figures" {
                    div { dt { "Worst balance" } dd { (after.balance_words()) } }
                    div { dt { "Outdoor air delivered there" } dd { (after.delivered_words(system)) } }
                }
                p class="hint" {
                    "Of the " @if chosen { "chosen plan" } @else { "best plan of the last search" } ", "
                    (after.case_words()) ". "
                    @if after.bands.is_some() { "Nine of ten houses that fit the survey lie within the ±." }
                    @else { span data-again { "How sure that is, is being computed." } }
                }
            }
        }
    }
}
