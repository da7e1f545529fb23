//! A visit a year later: new readings against the record, and what has drifted.

use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use balancing::revisit::{self as again, Compared};
use balancing::words::{blower_words, plain_shown, running_words};
use balancing::{Day, Standing};
use commission::drift::Comparison;
use journal::Event;
use maud::{Markup, html};

use super::entry::Again;
use super::page::{Wish, read, temperatures};
use super::write::{append, field, stamp, visit};
use super::{Today, parts, revisit_of, style, today};
use crate::App;
use crate::assets::script;
use crate::job::{Open, back, failed};
use crate::layout::of_job;

/// The page.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    Ok(shown(&open, StatusCode::OK, &Again::default()))
}

/// The page, with what was sent and is asked again.
pub fn shown(open: &Open, status: StatusCode, again: &Again) -> Response {
    let title = "Revisit";
    let content = match today(open, title) {
        Err(content) => content,
        Ok((_, today)) => html! {
            (style())
            h1 class="unseen" { (title) }
            (parts(open, "/day/revisit"))
            @match &today.first {
                None => (not_begun(open, again)),
                Some(first) => (begun(open, &today, first, again)),
            }
            (script("day.js"))
        },
    };
    (status, of_job(open, "/day", title, &content)).into_response()
}

fn not_begun(open: &Open, again: &Again) -> Markup {
    let signed = open.log.last(|event| matches!(event, Event::SignedOff(_))) > 0;
    html! {
        @if !signed {
            p { "A revisit compares new readings with the day of the set-up. That day is not signed off yet. " a href=(open.address("/day")) { "Go on with it" } "." }
        } @else { (begin_form(open, again)) }
    }
}

fn begin_form(open: &Open, again: &Again) -> Markup {
    let typed = |name| again.typed("begin", name).unwrap_or_default();
    html! {
        section class="now" {
            p { "Leave the dampers as they stand. Then what was read on the day of the record is read again, and compared." }
            @if let Some(why) = again.complaint("begin") { p class="error" role="alert" { (why) } }
            form method="post" action=(open.address("/day/revisit")) {
                input type="hidden" name="seen" value=(open.log.last_of_day());
                input type="hidden" name="zone" value=(open.zone) data-zone="";
                label for="who" { "Who reads" }
                input id="who" name="who" value=(open.log.who()) maxlength="100" required autocomplete="name";
                (temperatures(&typed, open.known.system()))
                div class="bar" { button { "Begin the revisit" } }
            }
        }
    }
}

/// The first reading of the record that was not taken again on this visit.
fn wanted(today: &Today, list: &[again::Again]) -> Option<again::Again> {
    let taken = today.day.set_up.readings();
    let mut left = list.iter().filter(|again| {
        let mut taken = taken.iter();
        !taken.any(|reading| again::is_of(reading, again))
    });
    left.next().copied()
}

fn begun(open: &Open, today: &Today, first: &(Day, Standing), again: &Again) -> Markup {
    let day = &today.day;
    let (then, standing) = first;
    let record = &standing.estimate;
    let list = again::again(then, record);
    let wanted = wanted(today, &list);
    let compared = today.compared();
    html! {
        div class="day" {
            div class="doing" {
                @match &wanted {
                    Some(again::Again { wanted, recorded, was_read }) => section class="now" id="now" {
                        @let changes = (wanted.blower, wanted.setting) != (day.blower, day.setting) || day.taken.is_empty();
                        @let run_so = changes.then(|| format!("Run it so: {}. Wait until it is steady.", running_words(day.set_up.job(), wanted.blower, wanted.setting)));
                        (read(open, today, &Wish { wanted, run_so: run_so.as_deref(), back: "/day/revisit" }, again))
                        p class="quiet" {
                            @if *was_read { "On the day of the record it showed " } @else { "On the day of the record it would have shown " }
                            (plain_shown(day, wanted.place, *recorded, today.sheet().system)) "."
                        }
                    },
                    None => section class="now" {
                        h2 { "All is read again" }
                        p { "What has drifted stands beside. Mend it, read again, and " a href=(open.address("/day")) { "balance anew" } " if the dampers have to be turned." }
                    },
                }
            }
            div class="known" {
                section {
                    h2 { "What has drifted" }
                    @match compared {
                        None => p { "Nothing that can be compared is read on this visit yet." },
                        Some(Err(why)) => p { (why) "." },
                        Some(Ok(compared)) => (drifted(&compared.comparison)),
                    }
                }
                @if let Some(Ok(compared)) = compared { (against(today, compared, &list)) }
                details {
                    summary { "Begin another revisit" }
                    (begin_form(open, again))
                }
            }
        }
    }
}

fn drifted(comparison: &Comparison) -> Markup {
    html! {
        @if comparison.changes.is_empty() { p { (comparison.text) } }
        @else {
            ul class="states" {
                @for change in &comparison.changes { li class="doubtful" { span class="shape" aria-hidden="true" {} (change.text) } }
            }
        }
    }
}

/// Each reading against the record.
fn against(today: &Today, compared: &Compared, list: &[again::Again]) -> Markup {
    let day = &today.day;
    let system = today.sheet().system;
    html! {
        section {
            h2 { "Readings against the record" }
            ul class="plainlist" {
                @for taken in &day.taken {
                    @let reading = &day.set_up.readings()[taken.reading];
                    @if let Some(surprise) = compared.surprise(taken.reading) {
                        @let known = list.iter().find(|again| again::is_of(reading, again));
                        @let change = known.filter(|again| again.recorded != 0.0).map(|again| reading.value / again.recorded - 1.0);
                        li {
                            strong { (plain_shown(day, reading.place, reading.value, system)) }
                            " " (day.set_up.name(reading.place)) ", " (blower_words(reading.blower))
                            span class="quiet" { " (entry " (taken.entry) ")" }
                            p { (again::words(surprise, change)) }
                        }
                    }
                }
            }
        }
    }
}

/// A revisit begins.
pub async fn begin(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let stamp = stamp(&app, &sent);
    let again = |status, why: String| {
        let again = Again {
            form: "begin",
            fields: sent.clone(),
            why,
        };
        shown(&open, status, &again)
    };
    if stamp.who.is_empty() {
        return Ok(again(
            StatusCode::UNPROCESSABLE_ENTITY,
            "Say who reads: it stands beside every entry.".into(),
        ));
    }
    if open.log.journal.entries().next().is_none() {
        return Ok(again(
            StatusCode::UNPROCESSABLE_ENTITY,
            "There is no set-up to compare with yet.".into(),
        ));
    }
    let visit = match visit(&sent, open.name()) {
        Ok(visit) => visit,
        Err(why) => return Ok(again(StatusCode::UNPROCESSABLE_ENTITY, why)),
    };
    let fresh = |log: &super::Log| {
        field(&sent, "seen").parse() == Ok(log.last_of_day())
            && revisit_of(&log.journal) == revisit_of(&open.log.journal)
    };
    match append(&app, &name, &stamp, &[Event::Revisit(visit)], fresh).await {
        Ok(true) => Ok(back(&open.address("/day/revisit"))),
        Ok(false) => Ok(again(
            StatusCode::CONFLICT,
            "In the meantime something else was written. Look at it first.".into(),
        )),
        Err(error) => Err(failed(&error)),
    }
}
