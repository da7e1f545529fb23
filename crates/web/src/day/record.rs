//! The record of the set-up: signed off once, shown and printed as a page, proven by its hash.

use axum::extract::{Form, Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use balancing::record::{Signature, object, open_points};
use balancing::words::sure;
use commission::Damped;
use house::model::Job;
use journal::{Event, SignedOff};
use maud::{Markup, html};
use plan::Plan;
use serde_json::Value;
use store::{Key, Kind};
use units::text::{capital, fixed, signed as with_sign, true_minus};

use super::page::{carried, certainty, flows};
use super::write::{append, field, stamp};
use super::{Log, Today, checks, parts, photo, style, today};
use crate::App;
use crate::job::{Open, back, failed, nowhere};
use crate::layout::{message, of_job};
use crate::plans::plan_words;
use crate::say::short_flow;

/// The records that were signed, the last first: entry, name of the file, hash.
fn records(log: &Log) -> Vec<(u64, &SignedOff)> {
    let entries = log.journal.entries().rev();
    entries
        .filter_map(|entry| match &entry.event {
            Event::SignedOff(signed) => Some((entry.number, signed)),
            _ => None,
        })
        .collect()
}

/// Name under which a record is kept beside the journal.
fn kept_as(sha256: &str) -> String {
    format!("{sha256}.json")
}

async fn kept(app: &App, open: &Open, sha256: &str) -> Result<Option<Vec<u8>>, Response> {
    let key = Key::new(Kind::Journal, open.head.key.name()).ok_or_else(nowhere)?;
    let found = app.workspace.store.attached(&key, &kept_as(sha256)).await;
    found.map_err(|error| failed(&error))
}

/// The page: what would be signed, and what was.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let title = "Record";
    let content = match today(&open, title) {
        Err(content) => content,
        Ok((job, today)) => unsigned(&open, job, &today, &Refusal::default()),
    };
    Ok(of_job(&open, "/day", title, &content).into_response())
}

/// Why a record was not signed, with what was typed.
#[derive(Default)]
struct Refusal {
    why: String,
    who: String,
    although: String,
}

fn unsigned(open: &Open, job: &Job, today: &Today, refusal: &Refusal) -> Markup {
    let checks = checks::list(open, job, today);
    let points = open_points(today.sheet(), &checks);
    let whole = open.log.journal.is_whole();
    let who = if refusal.who.is_empty() {
        open.log.who()
    } else {
        &refusal.who
    };
    html! {
        (style())
        (certainty(today))
        h1 class="unseen" { "Record" }
        (parts(open, "/day/record"))
        (signed_list(open))
        @if !whole {
            p class="error" { "The journal is not what was written, so no record can stand on it. " a href={ (open.address("/day")) "#journal" } { "See which lines" } "." }
        } @else {
            section class="now" {
                h2 { "Sign off" }
                @if points.is_empty() { p { "Everything is as it should be: rate and balance are proven, and every check is good." } }
                @else {
                    p { "Still open:" }
                    ul class="states" { @for point in &points { li class="open" { span class="shape" aria-hidden="true" {} (capital(point)) "." } } }
                }
                @if !refusal.why.is_empty() { p class="error" role="alert" { (refusal.why) } }
                form method="post" action=(open.address("/day/record")) {
                    (carried(open))
                    label for="signer" { "Who signs" }
                    input id="signer" name="signer" value=(who) maxlength="100" required autocomplete="name";
                    @if !points.is_empty() {
                        label for="although" { "Why it is signed although this is open" }
                        p class="hint" id="although-hint" { "The reason stands in the record." }
                        input id="although" name="although" value=(refusal.although) maxlength="500" required autocomplete="off" aria-describedby="although-hint";
                    }
                    p class="hint" { "What is signed is never changed. A later one may stand beside it." }
                    div class="bar" { button { "Sign off" } }
                }
            }
            (flows(today.sheet()))
        }
    }
}

fn signed_list(open: &Open) -> Markup {
    let records = records(&open.log);
    html! {
        @if !records.is_empty() {
            section {
                h2 { "Signed" }
                ul class="plainlist" {
                    @for (entry, signed) in records {
                        li {
                            a href=(open.address(&format!("/day/record/{}", signed.sha256))) { (signed.record) }
                            span class="quiet" { " entry " (entry) @if !signed.although.is_empty() { ", although " (signed.although) } }
                        }
                    }
                }
            }
        }
    }
}

/// Signs the day off: keeps the record, then writes its hash into the journal.
pub async fn sign(
    State(app): State<App>,
    Path(name): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let title = "Record";
    let (job, today) = today(&open, title).map_err(|content| {
        let page = of_job(&open, "/day", title, &content);
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    })?;
    let refuse = |status, why: &str| {
        let refusal = Refusal {
            why: why.to_owned(),
            who: field(&sent, "signer").to_owned(),
            although: field(&sent, "although").to_owned(),
        };
        let page = of_job(
            &open,
            "/day",
            title,
            &unsigned(&open, job, &today, &refusal),
        );
        (status, page).into_response()
    };
    let mut stamp = stamp(&app, &sent);
    let plain = field(&sent, "signer").chars().filter(|c| !c.is_control());
    stamp.who = plain.take(100).collect();
    if stamp.who.is_empty() {
        return Ok(refuse(
            StatusCode::UNPROCESSABLE_ENTITY,
            "A record is signed by somebody: say who.",
        ));
    }
    let log = &open.log;
    if !log.journal.is_whole() {
        return Ok(refuse(
            StatusCode::UNPROCESSABLE_ENTITY,
            "The journal is not what was written.",
        ));
    }
    let last = |log: &Log| log.journal.entries().next_back().map(|entry| entry.number);
    if field(&sent, "seen").parse() != Ok(log.last_of_day()) {
        return Ok(refuse(
            StatusCode::CONFLICT,
            "In the meantime something else was written. Look at it, and sign again.",
        ));
    }
    let checks = checks::list(&open, job, &today);
    let points = open_points(today.sheet(), &checks);
    let although: String = match points.is_empty() {
        true => String::new(),
        false => field(&sent, "although")
            .chars()
            .filter(|c| !c.is_control())
            .take(500)
            .collect(),
    };
    if !points.is_empty() && although.is_empty() {
        return Ok(refuse(
            StatusCode::UNPROCESSABLE_ENTITY,
            "Something is open: finish it, or say why it is signed all the same.",
        ));
    }
    let day = &today.day;
    let as_set = Plan {
        supply_damper: day.angle(Damped::Supply),
        extract_damper: day.angle(Damped::Extract),
        ..today.plan.clone()
    };
    let sheet = today.sheet();
    let signature = Signature {
        who: &stamp.who,
        time: &stamp.time,
        although: &although,
        plan: &plan_words(job, &as_set, sheet.system),
    };
    let record = object(sheet, &log.journal, &checks, signature);
    let bytes = format!("{record:#}\n").into_bytes();
    let sha256 = journal::hash(&bytes);
    let key = Key::new(Kind::Journal, &name).ok_or_else(nowhere)?;
    let file = kept_as(&sha256);
    let kept = app.workspace.store.attach(&key, &file, &bytes);
    kept.await.map_err(|error| failed(&error))?;
    let number = records(log).len() + 1;
    let event = Event::SignedOff(SignedOff {
        record: match number {
            1 => format!("{name}.record.json"),
            _ => format!("{name}.record-{number}.json"),
        },
        sha256: sha256.clone(),
        although,
    });
    // The record stands on the last line that it knows; nothing may come between.
    let known = last(log);
    match append(&app, &name, &stamp, &[event], |log| last(log) == known).await {
        Ok(true) => Ok(back(&open.address(&format!("/day/record/{sha256}")))),
        Ok(false) => Ok(refuse(
            StatusCode::CONFLICT,
            "In the meantime something else was written. Look at it, and sign again.",
        )),
        Err(error) => Err(failed(&error)),
    }
}

/// A record that was signed: as a page, or as the file.
pub async fn signed(
    State(app): State<App>,
    Path((name, asked)): Path<(String, String)>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let (sha256, as_file) = match asked.strip_suffix(".json") {
        Some(hash) => (hash, true),
        None => (asked.as_str(), false),
    };
    let records = records(&open.log);
    let found = records.iter().find(|(_, signed)| signed.sha256 == sha256);
    let (entry, signed) = found.ok_or_else(nowhere)?;
    let Some(bytes) = kept(&app, &open, sha256).await? else {
        let words = format!(
            "The journal says that {} was signed off; the record itself lies elsewhere, where it was signed.",
            signed.record
        );
        return Ok((
            StatusCode::NOT_FOUND,
            message("The record is not here", &words),
        )
            .into_response());
    };
    if as_file {
        let safe: String = signed
            .record
            .chars()
            .filter(|c| c.is_ascii_alphanumeric() || "-_.".contains(*c))
            .collect();
        let headers = [
            (header::CONTENT_TYPE, "application/json".to_owned()),
            (
                header::CONTENT_DISPOSITION,
                format!("attachment; filename=\"{safe}\""),
            ),
        ];
        return Ok((headers, bytes).into_response());
    }
    let record: Value = serde_json::from_slice(&bytes).unwrap_or_default();
    let hashes = journal::hash(&bytes) == sha256;
    let stands = open.log.journal.lines().iter().any(|line| {
        let hash = record["journal"]["last_hash"].as_str();
        hash.is_some_and(|hash| line.hash == hash)
    });
    let proofs = [
        (
            hashes,
            "The record is what was signed: its hash stands in the journal.",
            "The record is NOT what was signed.",
        ),
        (
            stands,
            "The journal has the line on which the record stands.",
            "The journal does NOT have the line on which the record stands.",
        ),
        (
            open.log.journal.is_whole(),
            "Every line of the journal is what it was when the next one was written.",
            "The journal was changed after it was written.",
        ),
    ];
    let content = html! {
        (style())
        h1 { "Record of the set-up" }
        (parts(&open, "/day/record"))
        (as_page(&open, &record))
        section {
            h2 { "What proves it" }
            ul class="states" {
                @for (good, yes, no) in proofs {
                    li class=(if good { "good" } else { "bad" }) { span class="shape" aria-hidden="true" {} (if good { yes } else { no }) }
                }
            }
            p class="hash" { "Signed off in entry " (entry) ". Hash of the record: " code { (sha256) } }
            p { a href=(open.address(&format!("/day/record/{sha256}.json"))) download="" { "Fetch the record" } " (" (signed.record) ")" }
        }
    };
    Ok(of_job(&open, "/day", "Record", &content).into_response())
}

fn as_page(open: &Open, record: &Value) -> Markup {
    let word = |key: &str| record[key].as_str().unwrap_or_default().to_owned();
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let set_up = &record["set_up"];
    let system = open.known.system();
    let number = |value: &Value| value.as_f64().unwrap_or(f64::NAN);
    let angle = |key: &str| match number(&set_up["dampers_deg"][key]) {
        angle if angle <= 0.5 => "open".to_owned(),
        angle => format!("at {}°", fixed(angle, 0)),
    };
    let struck = open.log.journal.struck_out();
    let unit = html! {
        span class="band" { @match system { units::System::Ip => "cfm", units::System::Si => "L/s" } }
    };
    html! {
        p class="lead" { (word("name")) }
        p { (word("plan")) }
        p { "Signed off by " strong { (word("signed_by")) } " on " (word("time").chars().take(16).collect::<String>().replace('T', " ")) "." }
        @if !word("although").is_empty() {
            div class="caution" {
                p { strong { "Signed although: " } (word("although")) }
                ul { @for point in list(&record["open_points"]) { li { (point.as_str().unwrap_or_default()) } } }
            }
        }
        section {
            h2 { "Flows" }
            p { "Supply damper " (angle("supply")) ", extract damper " (angle("extract")) ". Rate and balance are met with a probability of " (sure(number(&set_up["probability"]))) "." }
            div class="scroll" tabindex="0" role="region" aria-label="Flows of the record" {
                table class="tight" {
                    thead { tr {
                        th scope="col" { "Blower, setting" }
                        th scope="col" class="number supply" { "Supply" (unit) }
                        th scope="col" class="number extract" { "Extract" (unit) }
                        th scope="col" class="number outdoor" { "Delivered" (unit) }
                        th scope="col" class="number" { "Balance" span class="band" { "%" } }
                    } }
                    tbody { @for state in list(&set_up["states"]) { tr {
                        th scope="row" { (state["blower"].as_str().unwrap_or_default()) ", " (state["setting"].as_str().unwrap_or_default()) }
                        @for key in ["supply", "extract", "delivered"] {
                            @let ends = &state[format!("{key}_interval_kg_s")];
                            td class="number" {
                                (bare(&short_flow(number(&state[format!("{key}_kg_s")]), system)))
                                span class="band" { (bare(&short_flow(number(&ends[0]), system))) "–" (bare(&short_flow(number(&ends[1]), system))) }
                            }
                        }
                        td class="number" { (with_sign(100.0 * number(&state["balance"]), 1))
                            span class="band" { (with_sign(100.0 * number(&state["balance_interval"][0]), 0)) "…" (with_sign(100.0 * number(&state["balance_interval"][1]), 0)) } }
                    } } }
                }
            }
        }
        section {
            h2 { "Readings" }
            ul class="plainlist" {
                @for reading in list(&set_up["readings"]) {
                    li {
                        "Entry " (number(&reading["entry"])) ": " (reading["at"].as_str().unwrap_or_default()) " "
                        (value_of(&reading, system)) ", blower " (reading["blower"].as_str().unwrap_or_default())
                        @if reading["struck_out"] == true {
                            " (struck out"
                            @if let Some(reason) = reading["entry"].as_u64().and_then(|entry| struck.get(&entry)) { ": " (reason) }
                            ")"
                        }
                        @else if reading["used"] == false { " (not used)" }
                    }
                }
            }
        }
        section {
            h2 { "Checks" }
            ul class="states" {
                @for check in list(&record["checks"]) {
                    @let result = check["result"].as_str();
                    li class=(match result { Some("good" | "not applicable") => "good", Some(_) => "bad", None => "open" }) {
                        span class="shape" aria-hidden="true" {}
                        strong { (capital(check["item"].as_str().unwrap_or_default())) ": " (result.unwrap_or("not checked")) ". " }
                        (capital(check["text"].as_str().unwrap_or_default()))
                        @let because = check["because"].as_str().unwrap_or_default();
                        @if !because.is_empty() { span class="quiet" { " " (capital(because)) "." } }
                        @let photo = check["photo"].as_str().unwrap_or_default();
                        @if !photo.is_empty() { " " (photo::thumbnail(open, photo, "Photo")) }
                    }
                }
            }
        }
        @let tests = list(&record["combustion_tests"]);
        @if !tests.is_empty() {
            section {
                h2 { "Combustion tests" }
                ul {
                    @for test in tests {
                        @let entry = test["entry"].as_u64().unwrap_or(0);
                        @let said: Vec<String> = list(&test["compared"]).iter().filter(|it| it["judgement"] != "kept").filter_map(|it| Some(it["text"].as_str()?.to_owned())).collect();
                        @if let Ok(test) = serde_json::from_value::<journal::Combustion>(test) {
                            li {
                                "Entry " (entry) ": " (Event::Combustion(test).words()) "."
                                @for words in said { " " (words) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn value_of(reading: &Value, system: units::System) -> String {
    use units::{Pressure, Quantity as _, VolumeFlow};
    let text = match (reading["value_pa"].as_f64(), reading["value_m3_s"].as_f64()) {
        (Some(pressure), _) => Pressure::from_si(pressure).show(system),
        (None, Some(flow)) => VolumeFlow::from_si(flow).show(system),
        (None, None) => String::new(),
    };
    true_minus(text)
}

fn bare(text: &str) -> String {
    text.split(' ').next().unwrap_or_default().to_owned()
}
