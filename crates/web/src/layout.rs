//! The frame of every page.

use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use maud::{DOCTYPE, Markup, html};

use crate::assets::{address, script};
use crate::job::Open;
use crate::steps::{State, Step, steps};

/// A page outside of any job.
pub fn plain(title: &str, content: &Markup) -> Markup {
    document(
        title,
        "plain",
        &html! {
            (masthead(None))
            main id="main" tabindex="-1" { (content) }
        },
    )
}

/// A page with a heading and one paragraph.
pub fn message(title: &str, words: &str) -> Markup {
    plain(
        title,
        &html! {
            h1 { (title) }
            p { (words) }
            p { a href="/" { "All jobs" } }
        },
    )
}

/// A page of a job, at one of its steps.
pub fn of_job(open: &Open, here: &str, title: &str, content: &Markup) -> Markup {
    let name = open.name();
    document(
        &format!("{title}: {name}"),
        "job",
        &html! {
            (masthead(Some(open)))
            (navigation(open, here))
            main id="main" tabindex="-1" { (content) }
        },
    )
}

fn document(title: &str, class: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · Lungwort" }
                link rel="stylesheet" href=(address("style.css"));
                link rel="icon" href=(address("mark.svg")) type="image/svg+xml";
                (script("live.js"))
            }
            body class=(class) {
                a class="skip" href="#main" { "To the content" }
                (body)
            }
        }
    }
}

fn masthead(open: Option<&Open>) -> Markup {
    html! {
        header class="masthead" {
            a class="home" href="/" { "Lungwort" }
            @if let Some(open) = open {
                a class="jobname" href=(open.address("")) { (open.name()) }
                ul class="tools" {
                    li { a href=(open.address("/history")) { "History" } }
                    li { a href=(open.address("/file")) { "The file" } }
                }
            }
        }
    }
}

/// The steps of the job as a chain of dimensions.
fn navigation(open: &Open, here: &str) -> Markup {
    html! {
        nav class="steps" aria-label="Steps of the job" {
            ol {
                @for step in steps(open) {
                    li class=(step.state.class()) {
                        a href=(open.address(step.address)) aria-current=[(step.address == here).then_some("page")] {
                            span class="what" { (step.name) }
                            span class="state" { (mark(&step)) }
                        }
                    }
                }
            }
        }
    }
}

fn mark(step: &Step) -> Markup {
    html! {
        span class="shape" aria-hidden="true" {}
        @match &step.state {
            State::Done => "done",
            State::Chosen => "chosen",
            State::Open => "open",
            State::Blocked(by) => { "needs " (by) },
        }
    }
}

/// A drawing carries its own style and nothing else; it is shown as an image.
const DRAWING_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; sandbox";

/// A drawing as an answer of its own.
pub fn svg(drawing: String) -> Response {
    let headers = [
        (header::CONTENT_TYPE, "image/svg+xml"),
        (header::CONTENT_SECURITY_POLICY, DRAWING_POLICY),
        (header::CACHE_CONTROL, "no-cache"),
    ];
    (headers, drawing).into_response()
}
