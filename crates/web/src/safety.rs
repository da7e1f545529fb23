//! Whether the house is safe to ventilate.

use axum::extract::{Path, State};
use axum::response::Response;
use house::model::Job;
use maud::{Markup, html};
use plan::safety::{Outcome, Verdict};
use units::text::{capital, fixed};

use crate::App;
use crate::job::Open;
use crate::layout::of_job;
use crate::needs::blocked;

/// The page.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let content = match open.known.job() {
        None => blocked(&open, "Whether the house is safe to ventilate"),
        Some(job) => content(&open, job),
    };
    Ok(of_job(&open, "/safety", "Safety", &content))
}

fn content(open: &Open, job: &Job) -> Markup {
    html! {
        h1 { "Whether the house is safe to ventilate" }
        p {
            @if job.chosen.is_some() { "The house as found, and with the chosen plan." }
            @else { "The house as found; no plan is chosen yet." }
            " Every other exhaust runs, doors and blower stand as they make it worst."
        }
        @match open.known.safety(job) {
            Err(why) => { p { "This cannot be computed: " (why) "." } }
            Ok(report) => {
                ul class="states" {
                    @for verdict in &report.verdicts {
                        @let (class, words) = words(verdict);
                        li class=(class) {
                            span class="shape" aria-hidden="true" {}
                            strong { (capital(&job.appliances[verdict.appliance].name)) ". " }
                            (words)
                            @if verdict.limit.is_some() {
                                span class="quiet" {
                                    " Limit: " (verdict.authority)
                                    @if verdict.unverified { "; from memory, the appliance's own papers and the local code decide" }
                                    "."
                                }
                            }
                        }
                    }
                }
                @if !report.asked.is_empty() {
                    section {
                        h2 { "Still to be said; nothing is assumed to be safe" }
                        ul { @for asked in &report.asked { li { (asked) } } }
                    }
                }
                section {
                    h2 { "Cautions" }
                    @for caution in &report.cautions {
                        div class="caution" { p { strong { (capital(caution.about)) ". " } (caution.text) } }
                    }
                }
            }
        }
        p class="quiet" {
            "This is a prediction from the survey. It replaces no test: the local code and the people licensed for such work decide."
        }
    }
}

fn words(verdict: &Verdict) -> (&'static str, String) {
    let worst = verdict.with_plan.as_ref().unwrap_or(&verdict.as_found);
    let drawn = fixed(-worst.net, 1);
    let limit = fixed(verdict.limit.unwrap_or_default(), 1);
    match verdict.outcome {
        Outcome::Unvented => (
            "bad",
            "It burns into the room. No limit makes that safe; ventilation is no cure for it."
                .into(),
        ),
        Outcome::BeyondLimit => (
            "bad",
            format!(
                "Stop: its zone is drawn down by {drawn} Pa in the worst case, but {limit} Pa is the limit. Find make-up air, less exhaust or a sealed appliance first."
            ),
        ),
        Outcome::Doubtful => (
            "doubtful",
            format!(
                "Doubtful: its zone is drawn down by {drawn} Pa in the worst case, and by up to {} Pa within the band of the survey; {limit} Pa is the limit. Have it measured.",
                fixed(-worst.band.low, 1)
            ),
        ),
        Outcome::Kept => (
            "good",
            format!(
                "Its zone is drawn down by {drawn} Pa in the worst case; {limit} Pa is the limit."
            ),
        ),
        Outcome::Unknown => (
            "doubtful",
            format!(
                "Its zone is drawn down by {drawn} Pa in the worst case. Whether that is safe cannot be said: how it is vented is not known."
            ),
        ),
    }
}
