//! The page of the readings: what is sure, the one thing to do now, and what is known.

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use balancing::words::{blower_words, plain_shown, running_words, sure};
use balancing::{Gauge, Sheet};
use commission::advice::Step;
use commission::{Place, Verdict};
use diagnostics::Problems;
use house::model::{Job, Setting};
use journal::{Entry, Event};
use maud::{Markup, html};
use units::text::{capital, fixed, signed};
use units::{Quantity as _, System, VolumeFlow};

use super::entry::{Again, Asked};
use super::{Today, parts, photo, style, today};
use crate::App;
use crate::assets::script;
use crate::job::Open;
use crate::layout::of_job;

/// The page.
pub async fn page(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    Ok(shown(&open, StatusCode::OK, &Again::default()))
}

/// The page, with what was sent and is asked again.
pub fn shown(open: &Open, status: StatusCode, again: &Again) -> Response {
    let title = "Set-up day";
    let content = match today(open, title) {
        Err(content) => content,
        Ok((job, today)) => content(open, job, &today, again),
    };
    (status, of_job(open, "/day", title, &content)).into_response()
}

fn content(open: &Open, job: &Job, today: &Today, again: &Again) -> Markup {
    let sheet = today.sheet();
    let title = if today.first.is_some() {
        "Revisit"
    } else {
        "Set-up day"
    };
    html! {
        (style())
        (certainty(today))
        h1 class="unseen" { (title) }
        (parts(open, "/day"))
        div class="day" {
            div class="doing" {
                @if is_begun(open) {
                    (last_entry(open))
                    (exchanged(open, today))
                    (now(open, job, today, again))
                    (otherwise(open, job, today, again))
                } @else { (begin(open, again)) }
            }
            div class="known" {
                (flows(sheet))
                (doubts(sheet))
                (advice(today))
                (readings(open, today))
                @let granted: Vec<String> = today.day.assumed.iter().cloned().chain(today.day.calibrations("")).collect();
                @if !granted.is_empty() {
                    section {
                        h2 { "Taken for granted" }
                        ul { @for words in &granted { li { (words) } } }
                    }
                }
                (journal(open))
            }
        }
        (script("day.js"))
    }
}

fn is_begun(open: &Open) -> bool {
    let mut entries = open.log.journal.entries();
    entries.any(|entry| matches!(entry.event, Event::SetUp(_) | Event::Revisit(_)))
}

/// How sure it is that all is done: always in sight.
pub fn certainty(today: &Today) -> Markup {
    let sheet = today.sheet();
    let probability = today.standing.probability();
    let asked = today.day.goals[today.standing.goal].confidence;
    let done = today.standing.is_done();
    let proven = sheet.is_proven();
    let rest = match (done, proven) {
        (true, _) => "done".to_owned(),
        (false, true) => format!("{} % is asked for", fixed(100.0 * asked, 0)),
        (false, false) if today.day.taken.is_empty() => {
            "by the survey; nothing is read yet".to_owned()
        }
        (false, false) => "not proven yet as the dampers stand".to_owned(),
    };
    let words = format!("Sure by {}", sure(probability));
    let reach = fixed(400.0 * probability, 1);
    let mark = fixed(400.0 * asked, 1);
    html! {
        div class={ "certainty " (if done { "good" } else { "open" }) } {
            p { span class="shape" aria-hidden="true" {} strong { (words) } span class="quiet" { " · " (rest) } }
            svg viewBox="0 0 400 10" preserveAspectRatio="none" role="img"
                aria-label={ (words) ", " (fixed(100.0 * asked, 0)) " % is asked for" } {
                rect class="way" x="0" y="3" width="400" height="4" {}
                rect class=(if proven { "reach" } else { "reach unproven" }) x="0" y="3" width=(reach) height="4" {}
                line class="mark" x1=(mark) y1="0" x2=(mark) y2="10" vector-effect="non-scaling-stroke" {}
            }
        }
    }
}

/// Fields that every form of the day carries.
pub fn carried(open: &Open) -> Markup {
    html! {
        input type="hidden" name="seen" value=(open.log.last_of_day());
        input type="hidden" name="who" value=(open.log.who());
        input type="hidden" name="zone" value=(open.zone) data-zone="";
    }
}

fn begin(open: &Open, again: &Again) -> Markup {
    let typed = |name| again.typed("begin", name).unwrap_or_default();
    html! {
        section class="now" id="now" {
            h2 { "Before the first reading" }
            p { "Both balancing dampers stand open, the filters are in, doors and windows are shut. The ventilator has run for some minutes." }
            @if let Some(why) = again.complaint("begin") { p class="error" role="alert" { (why) } }
            form method="post" action=(open.address("/day/begin")) {
                input type="hidden" name="seen" value=(open.log.last_of_day());
                input type="hidden" name="zone" value=(open.zone) data-zone="";
                label for="who" { "Who reads" }
                input id="who" name="who" value=(typed("who")) maxlength="100" autocomplete="name" required;
                (temperatures(&typed, open.known.system()))
                div class="bar" { button { "Begin the day" } }
            }
        }
    }
}

/// Outdoor and indoor temperature of the day.
pub fn temperatures<'a>(typed: &impl Fn(&'static str) -> &'a str, system: System) -> Markup {
    let units = match system {
        System::Ip => ["°F", "°C"],
        System::Si => ["°C", "°F"],
    };
    html! {
        @for (name, label) in [("outdoor", "Temperature outdoors"), ("indoor", "Temperature indoors")] {
            label for=(name) { (label) }
            div class="number-entry" {
                label class="sign" {
                    input type="checkbox" name={ (name) "_minus" } value="1" aria-label="below zero";
                    span aria-hidden="true" { "−" }
                }
                input id=(name) name=(name) value=(typed(name)) inputmode="decimal" autocomplete="off" maxlength="40";
                select name={ (name) "_unit" } aria-label="Unit" { @for unit in units { option { (unit) } } }
            }
        }
        p class="hint" { "Left out, the mild day of the job is taken, and said." }
    }
}

/// What was written last, so that it is seen to be kept.
fn last_entry(open: &Open) -> Markup {
    let Some(entry) = open.log.journal.entries().next_back() else {
        return html! {};
    };
    let words = match &entry.event {
        Event::Reading(reading) if reading.photo.is_empty() => {
            format!("{} reads {}", reading.at, reading.value)
        }
        Event::Reading(reading) => format!("{} reads {}, with a photo", reading.at, reading.value),
        event => event.words(),
    };
    html! {
        p class="kept" role="status" { "Kept as entry " (entry.number) ": " (words) "." }
    }
}

/// Offers to turn the sign of readings whose hoses were probably exchanged.
fn exchanged(open: &Open, today: &Today) -> Markup {
    let day = &today.day;
    let struck = |entry: u64| open.log.journal.struck_out().contains_key(&entry);
    html! {
        @for taken in &day.taken {
            @if !struck(taken.entry) && let Some((place, value)) = day.exchanged(taken) {
                div class="caution" {
                    p {
                        "Entry " (taken.entry) " (" (day.set_up.name(place)) ") has the wrong sign for this place: the hoses were probably exchanged. If so it counts as "
                        (today.sheet().shown(place, value)) ". It is not used until you say so."
                    }
                    form method="post" action=(open.address("/day/exchange")) {
                        (carried(open))
                        input type="hidden" name="entry" value=(taken.entry);
                        button { "Count it so" }
                    }
                    (strike_out(open, taken.entry, "wrong sign"))
                }
            }
        }
    }
}

/// The one thing to do now.
fn now(open: &Open, job: &Job, today: &Today, again: &Again) -> Markup {
    let sheet = today.sheet();
    let advice = &today.standing.advice;
    let run_so = sheet.run_so();
    html! {
        section class="now" id="now" {
            @match advice.verdict {
                Verdict::Turn => {
                    @if let Some(step) = advice.steps.first() {
                        (turn(open, today, step, run_so.as_deref(), again))
                    }
                }
                Verdict::ReadMore if today.standing.wanted.is_some() => {
                    @if let Some(wanted) = &today.standing.wanted {
                        (read(open, today, &Wish { wanted, run_so: run_so.as_deref(), back: "/day" }, again))
                    }
                }
                _ => {
                    h2 { (ended(&advice.verdict)) }
                    @for words in sheet.advice() { p { (capital(words.strip_prefix("Done: ").unwrap_or(&words))) } }
                    @if advice.verdict == Verdict::Done {
                        p { "At a later visit the stations should show:" }
                        (expectations(today))
                        p class="onward" { a class="button" href=(open.address("/day/checks")) { "Go on with the checks" } }
                    }
                    @if job.air_handler.is_none() && advice.verdict == Verdict::CannotBeDone {
                        p { a href=(open.address("/plans")) { "Look at the plans" } }
                    }
                }
            }
        }
    }
}

fn ended(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Done => "Done",
        Verdict::CannotBeDone => "Dampers cannot do it",
        Verdict::NotProvable => "As good as these instruments can tell",
        _ => "Read more",
    }
}

/// A reading that is wanted.
pub struct Wish<'a> {
    /// What.
    pub wanted: &'a balancing::Wanted,
    /// How to run the house for it, if otherwise than before.
    pub run_so: Option<&'a str>,
    /// The page to come back to.
    pub back: &'static str,
}

/// The form of a reading that is wanted.
pub fn read(open: &Open, today: &Today, wish: &Wish<'_>, again: &Again) -> Markup {
    let day = &today.day;
    let wanted = wish.wanted;
    let name = day.set_up.name(wanted.place);
    let sheet = today.sheet();
    let runs = running_words(day.set_up.job(), wanted.blower, wanted.setting);
    html! {
        h2 class="order" {
            @if let Some(words) = wish.run_so { (words) " " }
            @if wish.back == "/day" { (sheet.read().unwrap_or_else(|| format!("Read {name}."))) }
            @else { "Read " (name) "." }
        }
        @if wish.run_so.is_none() { p class="quiet" { (capital(&runs)) ", as before." } }
        form method="post" action=(open.address("/day/read")) enctype="multipart/form-data" data-photo="" {
            (carried(open))
            input type="hidden" name="back" value=(wish.back);
            input type="hidden" name="at" value=(name);
            input type="hidden" name="blower" value=(wanted.blower.name());
            input type="hidden" name="setting" value=(wanted.setting.name());
            (Asked {
                form: "read",
                day,
                place: wanted.place,
                likely: today.standing.likely(day, *wanted),
                gauge: None,
                again,
                system: sheet.system,
            }.field(&format!("{} shows", capital(&name))))
            (photo::field("read"))
            div class="bar" { button { "Keep the reading" } }
        }
    }
}

/// The form of a damper that is turned until its station shows the aim.
fn turn(open: &Open, today: &Today, step: &Step, run_so: Option<&str>, again: &Again) -> Markup {
    let day = &today.day;
    let sheet = today.sheet();
    let setting = day.goals[today.standing.goal].setting;
    let mark = again
        .typed("turn", "mark")
        .map_or_else(|| fixed(step.angles[1].round(), 0), str::to_owned);
    let more = today.standing.advice.steps.len() > 1;
    html! {
        h2 class="order" {
            @if let Some(words) = run_so { (words) " " }
            (sheet.order(step))
        }
        @if more { p { strong { "Now, before the other damper is touched." } } }
        form method="post" action=(open.address("/day/turn")) enctype="multipart/form-data" data-photo="" {
            (carried(open))
            input type="hidden" name="damper" value=(step.damper.name());
            input type="hidden" name="blower" value=(step.mode.name());
            input type="hidden" name="setting" value=(setting.name());
            @if let Some(aim) = &step.aim {
                @let place = Place::Station(aim.station);
                @let gauge = Gauge::new(day, aim);
                @if !gauge.tells() { p { (gauge.by_the_mark(&day.set_up.name(place))) " Then read it." } }
                (Asked {
                    form: "turn",
                    day,
                    place,
                    likely: None,
                    gauge: Some(gauge),
                    again,
                    system: sheet.system,
                }.field(&format!("{} {} shows", if gauge.tells() { "While you turn," } else { "Then" }, day.set_up.name(place))))
            }
            label for="mark" { "Lock it. Its mark stands at" }
            div class="number-entry" {
                input id="mark" name="mark" value=(mark) inputmode="decimal" autocomplete="off" maxlength="20" aria-describedby="mark-hint";
                span class="unit" { "° from open" }
            }
            p class="hint" id="mark-hint" { "Roughly is enough: the station tells what it does. 0° is open, 90° shut." }
            (photo::field("turn"))
            div class="bar" { button { "It is set: keep it" } }
        }
    }
}

/// Everything else that can be written down.
fn otherwise(open: &Open, job: &Job, today: &Today, again: &Again) -> Markup {
    let day = &today.day;
    let other = again.form == "other";
    let modes = plan::case::blower_modes(job);
    let settings: Vec<Setting> = std::iter::once(Setting::Off)
        .chain(
            job.units[today.plan.unit]
                .settings
                .iter()
                .map(|tested| tested.setting),
        )
        .collect();
    let typed = |name: &'static str| again.typed("other", name).unwrap_or_default();
    let runs = html! {
        @if job.air_handler.is_some() {
            label { "Blower" select name="blower" { @for mode in &modes { option value=(mode.name()) selected[*mode == day.blower] { (mode.name()) } } } }
        } @else { input type="hidden" name="blower" value="off"; }
        label { "Ventilator" select name="setting" { @for setting in &settings { option value=(setting.name()) selected[*setting == day.setting] { (setting.name()) } } } }
    };
    html! {
        details class="otherwise" open[other || again.form == "damper" || again.form == "who"] {
            summary { "Something else was read or done" }
            section {
                h3 { "A reading of another place" }
                @if let Some(why) = again.complaint("other") { p class="error" role="alert" { (why) } }
                form method="post" action=(open.address("/day/read")) enctype="multipart/form-data" data-photo="" {
                    (carried(open))
                    input type="hidden" name="form" value="other";
                    label for="other-at" { "Where" }
                    select id="other-at" name="at" {
                        @for place in day.places() {
                            @if !matches!(place, Place::Plenum(_)) || job.air_handler.is_some() {
                                @let name = day.set_up.name(place);
                                option value=(name) selected[name == typed("at")] { (capital(&name)) }
                            }
                        }
                    }
                    label for="other-value" { "What it shows" }
                    div class="number-entry" {
                        label class="sign" {
                            input type="checkbox" name="minus" value="1" checked[typed("minus") == "1"] aria-label="below zero";
                            span aria-hidden="true" { "−" }
                        }
                        input id="other-value" name="value" value=(typed("value")) inputmode="decimal" autocomplete="off" maxlength="200";
                        select name="unit" aria-label="Unit" {
                            @for unit in [day.likely_unit(Place::Station(0)), "inWC", "Pa", "cfm", "L/s"].iter().enumerate().filter(|(place, unit)| *place == 0 || **unit != day.likely_unit(Place::Station(0))) {
                                option value=(unit.1) selected[*unit.1 == typed("unit")] { (unit.1) }
                            }
                        }
                    }
                    div class="runs" { (runs) }
                    (photo::field("other"))
                    button { "Keep this reading" }
                }
            }
            section {
                h3 { "A damper was turned" }
                @if let Some(why) = again.complaint("damper") { p class="error" role="alert" { (why) } }
                form method="post" action=(open.address("/day/turn")) enctype="multipart/form-data" {
                    (carried(open))
                    input type="hidden" name="form" value="damper";
                    div class="runs" {
                        label { "Which" select name="damper" { option value="supply" { "supply damper" } option value="extract" { "extract damper" } } }
                        label { "To, from open" input name="mark" inputmode="decimal" maxlength="20" autocomplete="off" value=(again.typed("damper", "mark").unwrap_or_default()); }
                    }
                    button { "Keep the turn" }
                }
            }
            section {
                h3 { "Blower or ventilator run otherwise" }
                form method="post" action=(open.address("/day/run")) {
                    (carried(open))
                    div class="runs" { (runs) }
                    button { "Keep what runs" }
                }
            }
            section {
                h3 { "A remark" }
                form method="post" action=(open.address("/day/remark")) {
                    (carried(open))
                    label for="remark" { "What is to be remembered" }
                    input id="remark" name="text" maxlength="1000" autocomplete="off" required;
                    button { "Keep the remark" }
                }
            }
            section {
                h3 { "Somebody else goes on" }
                form method="post" action=(open.address("/day/remark")) {
                    input type="hidden" name="seen" value=(open.log.last_of_day());
                    input type="hidden" name="zone" value=(open.zone) data-zone="";
                    label for="other-who" { "Who" }
                    input id="other-who" name="who" maxlength="100" autocomplete="name" required placeholder=(open.log.who());
                    input type="hidden" name="text" value="goes on from here";
                    button { "Go on" }
                }
            }
        }
    }
}

/// Flows in every mode that has to be right.
pub fn flows(sheet: Sheet<'_>) -> Markup {
    let several = sheet.day.goals.len() > 1;
    let has_blower = sheet.day.set_up.job().air_handler.is_some();
    let unit = html! {
        span class="band" { @match sheet.system { System::Ip => "cfm", System::Si => "L/s" } }
    };
    html! {
        section {
            h2 { "Flows, as far as is known" }
            p class="quiet" { (capital(&sheet.dampers())) ". " (sheet.aim()) @if let Some(words) = sheet.density() { " " (words) } }
            div class="scroll" tabindex="0" role="region" aria-label="Flows in each blower mode" {
                table class="tight" {
                    thead { tr {
                        th scope="col" { @if has_blower { "Blower" } @else { "At" } }
                        th scope="col" class="number supply" { "Supply" (unit) }
                        th scope="col" class="number extract" { "Extract" (unit) }
                        th scope="col" class="number outdoor" { "Delivered" (unit) }
                        th scope="col" class="number" { "Balance" span class="band" { "%" } }
                    } }
                    tbody {
                        @for state in sheet.states() {
                            tr {
                                th scope="row" {
                                    @if has_blower { (state.state.case.blower.name()) }
                                    @if has_blower && several { ", " }
                                    @if !has_blower || several { (state.state.case.setting.name()) }
                                }
                                @for interval in [state.supply, state.extract, state.delivered] {
                                    td class="number" {
                                        (bare(interval.value, sheet))
                                        span class="band" { (whole(interval.low, sheet)) "–" (whole(interval.high, sheet)) }
                                    }
                                }
                                td class="number" {
                                    (signed(100.0 * state.balance.value, 1))
                                    span class="band" { (signed(100.0 * state.balance.low, 0)) "…" (signed(100.0 * state.balance.high, 0)) }
                                }
                            }
                        }
                    }
                }
            }
            p class="hint" { "Below each number stands the interval in which it lies with 95 %. The balance is positive where more is supplied." }
        }
    }
}

fn whole(mass_flow: f64, sheet: Sheet<'_>) -> String {
    let flow = VolumeFlow::from_si(mass_flow / air::STANDARD_DENSITY);
    let unit = flow.shown_in(sheet.system);
    fixed(unit.from_si(flow.si()), 0)
}

fn bare(mass_flow: f64, sheet: Sheet<'_>) -> String {
    let text = crate::say::short_flow(mass_flow, sheet.system);
    text.split(' ').next().unwrap_or_default().to_owned()
}

/// What does not fit, and why.
fn doubts(sheet: Sheet<'_>) -> Markup {
    let doubted = sheet.doubted();
    html! {
        @if !doubted.is_empty() {
            section {
                h2 { "What does not fit" }
                ul class="states" {
                    @for (_, text) in doubted { li class="doubtful" { span class="shape" aria-hidden="true" {} (text) } }
                }
            }
        }
    }
}

/// The advice in full, where more is to be said than the one thing to do now.
fn advice(today: &Today) -> Markup {
    let sheet = today.sheet();
    let turning = today.standing.advice.verdict == Verdict::Turn;
    html! {
        @if turning {
            section {
                h2 { "The dampers, in their order" }
                ol { @for step in &today.standing.advice.steps { li { (step.text) } } }
                @if let Some(last) = sheet.advice().last() { p { (last) } }
                p { "Then the stations show:" }
                (expectations(today))
            }
        }
    }
}

/// What the stations will show when all is done.
pub fn expectations(today: &Today) -> Markup {
    let expectations = &today.standing.advice.expectations;
    let system = today.sheet().system;
    let has_blower = today.day.set_up.job().air_handler.is_some();
    html! {
        @if !expectations.is_empty() {
            ul class="plainlist" {
                @for expectation in expectations {
                    @let place = Place::Station(expectation.station);
                    @let value = |value| plain_shown(&today.day, place, value, system);
                    li {
                        @if has_blower { (capital(&blower_words(expectation.mode))) ", " (today.day.set_up.name(place)) ": " }
                        @else { (capital(&today.day.set_up.name(place))) ": " }
                        strong { (value(expectation.shown.value)) }
                        span class="quiet" { " (" (value(expectation.shown.low)) " to " (value(expectation.shown.high)) ")" }
                    }
                }
            }
        }
    }
}

/// A form that strikes an entry out.
pub fn strike_out(open: &Open, entry: u64, reason: &str) -> Markup {
    html! {
        details class="strike" {
            summary { "Strike out" span class="unseen" { " entry " (entry) } }
            form method="post" action=(open.address("/day/strike")) {
                (carried(open))
                input type="hidden" name="entry" value=(entry);
                label { "Why" input name="reason" maxlength="200" required autocomplete="off" list="reasons" value=(reason); }
                button class="quietly" { "Strike it out" }
            }
        }
    }
}

/// All readings of the day, with what was expected of them.
fn readings(open: &Open, today: &Today) -> Markup {
    let day = &today.day;
    let system = today.sheet().system;
    let struck = open.log.journal.struck_out();
    let entry = |number: u64| {
        let mut entries = open.log.journal.entries();
        entries.find(|entry| entry.number == number)
    };
    html! {
        section {
            h2 { "The readings so far" }
            datalist id="reasons" {
                @for reason in ["hoses exchanged", "wrong unit", "hose on another place", "not steady yet", "typed wrongly"] { option value=(reason) {} }
            }
            @if day.taken.is_empty() && day.misread.is_empty() { p { "Nothing is read yet. What stands above follows from the survey alone." } }
            ol class="taken" {
                @for taken in day.taken.iter().rev() {
                    @let reading = &day.set_up.readings()[taken.reading];
                    @let fit = &today.standing.estimate.fits[taken.reading];
                    @let value = |value| plain_shown(day, reading.place, value, system);
                    li class=(if reading.struck_out { "struck" } else if fit.used && fit.surprise.abs() < 3.0 { "fits" } else { "odd" }) {
                        div class="what" {
                            strong { (value(reading.value)) } " " (day.set_up.name(reading.place))
                            span class="quiet" { "entry " (taken.entry) "; " (running_words(day.set_up.job(), reading.blower, reading.setting)) }
                        }
                        p class="fit" {
                            @if let Some(reason) = struck.get(&taken.entry) { "Struck out: " (reason) "." }
                            @else if !fit.used { "Kept, and not used." }
                            @else {
                                @let explained = today.standing.estimate.doubts.iter().any(|doubt| doubt.reading == taken.reading);
                                (how_well(fit.surprise)) ": " (value(fit.expected)) " by all that is known"
                                @if explained { ", with what may explain it" }
                                span class="quiet" { ", " (fixed(fit.surprise.abs(), 1)) " times the usual scatter apart" }
                            }
                        }
                        @if let Some(Entry { event: Event::Reading(typed), .. }) = entry(taken.entry) && !typed.photo.is_empty() {
                            (photo::thumbnail(open, &typed.photo, &format!("Photo of entry {}", taken.entry)))
                        }
                        @if !reading.struck_out { (strike_out(open, taken.entry, "")) }
                    }
                }
            }
        }
    }
}

fn how_well(surprise: f64) -> &'static str {
    match surprise.abs() {
        apart if apart < 1.0 => "Fits well",
        apart if apart < 2.0 => "Fits",
        apart if apart < 3.0 => "Fits poorly",
        _ => "Does not fit",
    }
}

/// The journal: every entry, the file, and one brought in.
pub fn journal(open: &Open) -> Markup {
    let log = &open.log;
    let journal = &log.journal;
    let struck = journal.struck_out();
    let file = format!("/day/{}.journal", open.head.key.name());
    html! {
        section class="journal" {
            h2 id="journal" { "The journal" }
            @for finding in journal.findings() { p class="error" { (finding.text()) } }
            @if journal.lines().is_empty() {
                p { "Nothing stands in it yet. Everything that is kept here is written into it; nothing in it is ever changed." }
            } @else {
                details {
                    summary { (crate::say::counted(journal.entries().count(), "entry", "entries")) }
                    ol class="entries" {
                        @for entry in journal.entries().rev() {
                            li value=(entry.number) {
                                (entry.event.words())
                                span class="quiet" {
                                    " " (entry.time.chars().take(16).collect::<String>().replace('T', " "))
                                    @if !entry.who.is_empty() { ", " (entry.who) }
                                    @if let Some(reason) = struck.get(&entry.number) { "; struck out: " (reason) }
                                }
                                @if strikable(&entry.event) && !struck.contains_key(&entry.number) {
                                    (strike_out(open, entry.number, ""))
                                }
                            }
                        }
                    }
                    p class="hint hash" { "Hash of the last line: " code { (journal.last_hash()) } ". Kept elsewhere, it proves that nothing was changed since." }
                }
                p { a href=(open.address(&file)) download="" { "Fetch the journal" } " to lie beside the job file; the command line goes on from it." }
            }
            details {
                summary { "Bring a day in from a file" }
                form method="post" action=(open.address("/day/journal")) enctype="multipart/form-data" {
                    (carried(open))
                    label for="journal-file" { "A journal, or readings written down in a .toml file" }
                    p class="hint" id="journal-hint" { "What stands here has to be the beginning of a journal; then the rest is added. Readings of a .toml file are added as they are; if something in it is wrong, nothing is." }
                    input id="journal-file" name="file" type="file" required aria-describedby="journal-hint";
                    button { "Bring in" }
                }
            }
        }
    }
}

/// The page that says what is wrong in a file of readings.
pub fn not_read(open: &Open, problems: &Problems) -> Markup {
    let content = html! {
        h1 { "These readings were not brought in" }
        p { "Nothing of the file is kept. Mend what stands below in it, and bring it in again." }
        (crate::job::list_of(problems))
        p { a href=(open.address("/day#journal")) { "Back to the set-up day" } }
    };
    of_job(open, "/day", "Readings not brought in", &content)
}

/// Whether an entry can be struck out where the journal is shown.
fn strikable(event: &Event) -> bool {
    matches!(
        event,
        Event::Reading(_)
            | Event::Damper(_)
            | Event::Running(_)
            | Event::Checked(_)
            | Event::Combustion(_)
            | Event::Revisit(_)
    )
}
