//! The walk through the house: one question after the other on a phone, those of one place beside
//! their drawings on a wide screen.

use std::sync::Arc;
use units::text::capital;

use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use diagnostics::Problem;
use maud::{Markup, PreEscaped, html};
use store::Kind as StoreKind;
use store::edit::{Found, Literal, remove, set, values};

use super::answers::{Ask, Fields, Kind, answered, joined, parted, path, said, sent, write};
use super::cards::{Card, STOPS, cards, without_answer};
use super::change::{applied, no_form, not_kept, sent_version};
use super::follows::follows;
use super::form::assumed;
use super::{Typed, errors, touches};
use crate::App;
use crate::job::{Open, back, change, failed, know, nowhere};
use crate::known::Known;
use crate::layout::of_job;
use crate::say::counted;

/// The questions of a job, and what its file says.
struct Walk {
    found: Vec<Found>,
    cards: Vec<Card>,
    without: Vec<String>,
}

impl Walk {
    fn new(text: &str, catalogues: &[String]) -> Option<Self> {
        let found = values(text).ok()?;
        Some(Self {
            cards: cards(&found, catalogues),
            without: without_answer(&found),
            found,
        })
    }

    /// The catalogues that are at hand.
    async fn of(app: &App, text: &str) -> Result<Option<Self>, Response> {
        let heads = app.workspace.store.heads(StoreKind::Catalogue).await;
        let heads = heads.map_err(|error| failed(&error))?;
        let catalogues: Vec<String> = heads
            .iter()
            .map(|head| head.key.name().to_owned())
            .collect();
        Ok(Self::new(text, &catalogues))
    }

    fn passed(&self, card: &Card) -> bool {
        self.without.iter().any(|id| id == card.id)
    }

    fn open(&self, card: &Card) -> bool {
        !self.passed(card) && !card.answered(&self.found)
    }

    fn first_open(&self) -> Option<usize> {
        self.cards.iter().position(|card| self.open(card))
    }

    fn done(&self) -> usize {
        self.cards.iter().filter(|card| !self.open(card)).count()
    }
}

/// The questions without whose answers nothing can be computed, as far as they are open.
pub fn wanting(text: &str) -> Vec<&'static str> {
    let walk = Walk::new(text, &[]);
    let cards = walk.iter().flat_map(|walk| {
        let open = walk.cards.iter().filter(|card| card.holds_up(&walk.found));
        open.map(|card| card.question)
    });
    cards.collect()
}

/// How far the walk is, for the survey's first page.
pub async fn progress(app: &App, open: &Open) -> Result<Markup, Response> {
    let walk = Walk::of(app, open.known.text()).await?;
    Ok(match walk {
        None => html! {},
        Some(walk) => html! {
            p {
                a class="button" href=(open.address("/survey/walk")) {
                    @if walk.done() == 0 { "Walk through the house" }
                    @else if walk.first_open().is_some() { "Go on with the walk" }
                    @else { "Look at the answers of the walk" }
                }
                span class="beside" { (walk.done()) " of " (counted(walk.cards.len(), "question", "questions")) " answered" }
            }
        },
    })
}

fn not_toml(open: &Open) -> Response {
    let content = html! {
        h1 { "The survey" }
        p { "The file is not TOML, so it cannot be shown as questions. " a href=(open.address("/file")) { "Mend the text" } "." }
    };
    of_job(open, "/survey", "Survey", &content).into_response()
}

/// To the first question that is open.
pub async fn first(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let Some(walk) = Walk::of(&app, open.known.text()).await? else {
        return Ok(not_toml(&open));
    };
    Ok(back(&match walk.first_open() {
        Some(place) => address(&open, place),
        None => open.address("/survey/walk/end"),
    }))
}

fn address(open: &Open, place: usize) -> String {
    open.address(&format!("/survey/walk/{}", place + 1))
}

/// A question, or all of them at the end.
pub async fn page(
    State(app): State<App>,
    Path((name, number)): Path<(String, String)>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let Some(walk) = Walk::of(&app, open.known.text()).await? else {
        return Ok(not_toml(&open));
    };
    if number == "end" {
        let content = end(&app, &open, &walk);
        return Ok(of_job(&open, "/survey", "Survey", &content).into_response());
    }
    let place = place(&walk, &number).ok_or_else(nowhere)?;
    let content = question(&app, &open, &open.known, &walk, place, &[]);
    Ok(of_job(&open, "/survey", "Survey", &content).into_response())
}

fn place(walk: &Walk, number: &str) -> Option<usize> {
    let place = number.parse::<usize>().ok()?.checked_sub(1)?;
    // Fewer questions than before: the last one is meant.
    Some(place.min(walk.cards.len().saturating_sub(1)))
}

/// The questions of the place at which one is asked, that one first of all. `open` holds the text with
/// the answers that were typed, `before` what is known without them.
fn question(
    app: &App,
    open: &Open,
    before: &Arc<Known>,
    walk: &Walk,
    place: usize,
    typed: &Typed,
) -> Markup {
    let Some(card) = walk.cards.get(place) else {
        return html! {};
    };
    let count = walk.cards.len();
    let here = |other: &Card| other.stop == card.stop;
    let first = walk.cards.iter().position(here).unwrap_or(place);
    let last = walk.cards.iter().rposition(here).unwrap_or(place);
    let done = walk.done();
    html! {
        nav class="trail on-walk" aria-label="Where this stands in the survey" {
            a href=(open.address("/survey")) { "Survey" } " › " a href=(open.address("/survey/walk/end")) { "All questions" }
        }
        h1 { (STOPS[card.stop]) }
        p class="progress" {
            span class="narrow" { (place + 1) " of " (count) }
            span class="wide" {
                @if first == last { (first + 1) } @else { (first + 1) "–" (last + 1) }
                " of " (count)
            }
            span class="quiet" { " · " (done) " answered" }
            (ticks(walk, place))
        }
        div class="asked walk" {
            form method="post" class="cards" data-live action=(address(open, place)) {
                input type="hidden" name="version" value=(open.head.version);
                // Enter means the next question, not the first button of the form.
                button class="default" name="go" value="on" tabindex="-1" aria-hidden="true" { "Next" }
                @for at in first..=last {
                    (one(open, walk, at, at == place, typed))
                }
                div class="bar" {
                    @if place > 0 {
                        a class="button quietly narrow" href=(address(open, place - 1)) { "‹ Back" }
                    }
                    @if first > 0 {
                        a class="button quietly wide" href=(address(open, first - 1)) { "‹ " (STOPS[walk.cards[first - 1].stop]) }
                    }
                    button class="narrow" name="go" value="on" { "Next ›" }
                    button class="wide" name="go" value="stop" {
                        @match walk.cards.get(last + 1) {
                            Some(next) => { "Keep, and on: " (STOPS[next.stop]) " ›" },
                            None => "Keep, and see what follows ›",
                        }
                    }
                }
            }
            (follows(app, open, before))
        }
    }
}

/// A tick for each question along a line, as a draughtsman strings dimensions.
fn ticks(walk: &Walk, place: usize) -> Markup {
    let step = 100.0 / walk.cards.len().max(1) as f64;
    html! {
        svg class="ticks" viewBox="0 0 100 4" preserveAspectRatio="none" aria-hidden="true" {
            @for (at, card) in walk.cards.iter().enumerate() {
                rect x=(format!("{:.2}", step * at as f64 + 0.3)) y="1" width=(format!("{:.2}", step - 0.6)) height="2"
                    class=(if at == place { "here" } else if walk.open(card) { "" } else { "done" }) {}
            }
        }
    }
}

/// One question with its drawing.
fn one(open: &Open, walk: &Walk, at: usize, now: bool, typed: &Typed) -> Markup {
    let card = &walk.cards[at];
    let id = format!("q{}", at + 1);
    let passed = walk.passed(card);
    html! {
        section class={ "step" @if now { " now" } } id=(id) aria-labelledby={ (id) "-h" } {
            figure { (PreEscaped(card.sheet.draw())) }
            div {
                h2 id={ (id) "-h" } { (card.question) }
                p class="hint" { (card.how) }
                @if let Some(caution) = card.caution {
                    p class="caution" { strong { "Caution. " } (caution) }
                }
                @for (number, ask) in card.asks.iter().enumerate() {
                    @if ask.kind != Kind::Fixed { (field(open, walk, card, number, typed)) }
                }
                @if card.asks.is_empty() { p { "There is nothing yet that a duct could run to." } }
                @if let Some(without) = card.without {
                    @if passed { p class="passed" { "Answered: " (without) "." } }
                    @else { button class="quietly without" name="without" value=(card.id) { (without) } }
                }
                p class="more" {
                    a href=(open.address(&format!("/survey/{}", card.group))) { "Everything that can be said about this" }
                }
            }
        }
    }
}

fn name_of(card: &Card, number: usize) -> String {
    format!("{}.{number}", card.id)
}

fn field(open: &Open, walk: &Walk, card: &Card, number: usize, typed: &Typed) -> Markup {
    let ask = &card.asks[number];
    let name = name_of(card, number);
    let id = name.replace([' ', '.'], "-");
    let value = said(&walk.found, &ask.way);
    let given = value.as_ref().is_some_and(|value| !value.is_empty());
    let system = if said(&walk.found, &[super::answers::Part::Key("units".into())]).as_deref()
        == Some("SI")
    {
        units::System::Si
    } else {
        units::System::Ip
    };
    let fields = sent(typed, &name)
        .unwrap_or_else(|| parted(ask, value.as_deref().unwrap_or(&ask.preset), system));
    let at = path(&walk.found, &ask.way);
    let wrong: Vec<&Problem> = match &at {
        Some(path) => {
            let found = walk.found.iter().find(|found| found.path == *path);
            let known = &open.known;
            let problems = errors(known)
                .filter(|problem| found.is_some_and(|found| touches(known, problem, found)));
            problems.collect()
        }
        None => Vec::new(),
    };
    let assumed = match &at {
        Some(path) => assumed(&open.known, &walk.found, path),
        None => Vec::new(),
    };
    let hint = format!("{id}-hint");
    let unit_label = format!("Unit: {}", ask.label);
    let entry = Entry {
        id: &id,
        name: &name,
        hint: &hint,
        invalid: (!wrong.is_empty()).then_some("true"),
    };
    html! {
        div class="ask" {
            label for=(id) { (ask.label) @if ask.needed && !card.any { span class="needed" { " needed" } } }
            div class="entry" {
                (entry.control(ask, &fields))
                @if ask.kind == Kind::Section {
                    span class="between" aria-hidden="true" { "×" }
                    input name={ (name) ".second" } value=(fields.second) inputmode="decimal" autocomplete="off" aria-label={ (ask.label) ", other side; empty for a round duct" };
                }
                @if !ask.units().is_empty() {
                    select name={ (name) ".unit" } aria-label=(unit_label) {
                        @if fields.unit.is_empty() { option value="" selected { "as typed" } }
                        @for unit in ask.units() {
                            option value=(unit) selected[*unit == fields.unit] { (unit_words(unit)) }
                        }
                    }
                }
                @if ask.kind == Kind::Run {
                    input name={ (name) ".second" } value=(fields.second) inputmode="numeric" autocomplete="off" aria-label={ (ask.label) ": elbows" };
                    span class="between" { "elbows" }
                }
            }
            p class="hint" id=(hint) {
                @for assumed in &assumed {
                    @if given { "Taken with it: " } @else { "Taken if left out: " } (assumed) " "
                }
            }
            div class="error" data-error-for=(id) role="alert" {
                @for problem in wrong {
                    p { (problem.title) ". " @for help in &problem.help { (capital(help)) ". " } }
                }
            }
        }
    }
}

/// A unit as people write it.
fn unit_words(unit: &str) -> &str {
    match unit {
        "ft2" => "ft²",
        "m2" => "m²",
        "m3/h" => "m³/h",
        "F" => "°F",
        "inWC" => "in. w.c.",
        "ach50" => "changes an hour",
        other => other,
    }
}

/// Where something is typed.
struct Entry<'a> {
    id: &'a str,
    name: &'a str,
    hint: &'a str,
    invalid: Option<&'static str>,
}

impl Entry<'_> {
    fn control(&self, ask: &Ask, fields: &Fields) -> Markup {
        let choices: Vec<(&str, &str)> = match &ask.kind {
            Kind::Choice(choices) => choices.to_vec(),
            Kind::OneOf(names) => names.iter().map(|n| (n.as_str(), n.as_str())).collect(),
            _ => return self.input(ask, fields),
        };
        let known = choices.iter().any(|(choice, _)| *choice == fields.main);
        html! {
            select id=(self.id) name=(self.name) aria-describedby=(self.hint) aria-invalid=[self.invalid] {
                option value="" { @if choices.is_empty() { "none is at hand" } @else { "not said" } }
                @if !known && !fields.main.is_empty() { option value=(fields.main) selected { (fields.main) } }
                @for (choice, words) in &choices {
                    option value=(choice) selected[*choice == fields.main] { (words) }
                }
            }
        }
    }

    fn input(&self, ask: &Ask, fields: &Fields) -> Markup {
        let mode = match ask.kind {
            Kind::Count => "numeric",
            // What stands there with words needs the whole keyboard, and so does a sign.
            _ if fields.unit.is_empty() && !ask.units().is_empty() => "text",
            Kind::Number | Kind::Quantity(_) | Kind::Below(_) | Kind::Section | Kind::Run => {
                "decimal"
            }
            _ => "text",
        };
        html! {
            input id=(self.id) name=(self.name) value=(fields.main) inputmode=(mode) autocomplete="off"
                spellcheck="false" aria-describedby=(self.hint) aria-invalid=[self.invalid];
        }
    }
}

/// All questions with their answers.
fn end(app: &App, open: &Open, walk: &Walk) -> Markup {
    let left = walk.cards.len() - walk.done();
    html! {
        nav class="trail" aria-label="Where this stands in the survey" { a href=(open.address("/survey")) { "Survey" } }
        h1 { @if left == 0 { "The walk is done" } @else { (counted(left, "question is", "questions are")) " open" } }
        div class="asked" {
            div {
                @if let Some(place) = walk.first_open() {
                    p { a class="button" href=(address(open, place)) { "Go on with the first open one" } }
                } @else {
                    p { a class="button" href=(open.address("/plans")) { "Look for plans" } }
                }
                @for (stop, title) in STOPS.iter().enumerate() {
                    h2 { (title) }
                    ol class="ledger" {
                        @for (at, card) in walk.cards.iter().enumerate().filter(|(_, card)| card.stop == stop) {
                            li class=(if walk.open(card) { "open" } else { "done" }) {
                                a href=(address(open, at)) { (card.question) }
                                span class="words" { span class="shape" aria-hidden="true" {} (answer_words(walk, card)) }
                            }
                        }
                    }
                }
            }
            (follows(app, open, &open.known))
        }
    }
}

/// The answer of a card in a line.
fn answer_words(walk: &Walk, card: &Card) -> String {
    if walk.passed(card) {
        return card.without.unwrap_or_default().to_owned();
    }
    let answers = card.asks.iter().filter_map(|ask| {
        let said = said(&walk.found, &ask.way).filter(|said| !said.is_empty())?;
        let meant = match &ask.kind {
            Kind::Choice(choices) => choices.iter().find(|(choice, _)| *choice == said),
            _ => None,
        };
        let said = meant.map_or(said.as_str(), |(_, words)| words);
        Some(format!("{}: {said}", ask.label))
    });
    let answers: Vec<String> = answers.collect();
    if !answers.is_empty() {
        answers.join("; ")
    } else if card.elsewhere {
        "answered on its form".to_owned()
    } else {
        "open".to_owned()
    }
}

/// What the form changes: the text after it, what was changed, and the values that were touched.
struct Changed {
    text: String,
    what: Vec<String>,
    touched: Vec<Vec<store::edit::Step>>,
}

fn changed(text: &str, walk: &Walk, typed: &Typed) -> Result<Changed, store::edit::EditError> {
    let mut after = Changed {
        text: text.to_owned(),
        what: Vec::new(),
        touched: Vec::new(),
    };
    let passed = typed.iter().find(|(name, _)| name == "without");
    let passed = passed.and_then(|(_, id)| walk.cards.iter().find(|card| card.id == *id));
    let mut without = walk.without.clone();
    for card in &walk.cards {
        if passed.is_some_and(|passed| passed.id == card.id) {
            continue;
        }
        let typed: Vec<(&Ask, String)> = card
            .asks
            .iter()
            .enumerate()
            .filter_map(|(number, ask)| {
                if ask.kind == Kind::Fixed {
                    // What stands there already is somebody's answer.
                    let given = answered(&walk.found, ask);
                    return (!given).then(|| (ask, ask.preset.clone()));
                }
                let fields = sent(typed, &name_of(card, number))?;
                Some((ask, joined(ask, &fields)))
            })
            .collect();
        // What only stands there because nobody has typed anything else is no answer.
        let meant = typed
            .iter()
            .any(|(ask, value)| !value.is_empty() && *value != ask.preset);
        let there = card.asks.iter().any(|ask| answered(&walk.found, ask));
        if typed.iter().all(|(ask, _)| ask.kind == Kind::Fixed) || !(meant || there) {
            continue;
        }
        let mut any = false;
        // Names first: an element begins with its name.
        let (names, others): (Vec<_>, Vec<_>) = typed
            .into_iter()
            .partition(|(ask, _)| !ask.preset.is_empty());
        for (ask, value) in names.into_iter().chain(others) {
            let known = values(&after.text)?;
            let before = said(&known, &ask.way).unwrap_or_default();
            if before == value {
                continue;
            }
            after.text = write(&after.text, ask, &value)?;
            after.touched.extend(path(&values(&after.text)?, &ask.way));
            let shown = if value.is_empty() {
                "no longer given"
            } else {
                &value
            };
            after.what.push(format!("{}: {shown}", ask.label));
            any = true;
        }
        if any {
            without.retain(|id| id != card.id);
        }
    }
    if let Some(card) = passed
        && let Some(words) = card.without
        && !walk.passed(card)
    {
        without.push(card.id.to_owned());
        after.what.push(format!("{}: {words}", capital(card.id)));
    }
    if without != walk.without {
        let list = ["survey".into(), "without_answer".into()];
        let splice = if without.is_empty() {
            remove(&after.text, &list)
        } else {
            let names = without.iter().map(String::as_str);
            set(&after.text, &list, Literal::texts(names))
        };
        after.text = applied(&after.text, splice)?;
    }
    Ok(after)
}

/// Keeps the answers of a page if none of them is wrong, and goes on. With `look` among the fields
/// nothing is kept, and the page shows what would follow.
pub async fn save(
    State(app): State<App>,
    Path((name, number)): Path<(String, String)>,
    Form(typed): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let version = sent_version(&typed).ok_or_else(no_form)?;
    let text = open.known.text();
    let Some(walk) = Walk::of(&app, text).await? else {
        return Ok(not_toml(&open));
    };
    let at = place(&walk, &number).ok_or_else(nowhere)?;
    let after = changed(text, &walk, &typed).map_err(|error| not_kept(&error))?;
    let known = know(&app, &after.text).await;
    let found = values(&after.text).map_err(|error| not_kept(&error))?;
    let wrong = errors(&known).any(|problem| {
        let mut touched = found
            .iter()
            .filter(|found| after.touched.contains(&found.path));
        touched.any(|found| touches(&known, problem, found))
    });
    let look = typed.iter().any(|(name, _)| name == "look");
    if look || wrong {
        let head = open.head.clone();
        let shown = Open {
            head,
            known,
            log: open.log.clone(),
            zone: open.zone,
        };
        let Some(walk) = Walk::of(&app, &after.text).await? else {
            return Ok(not_toml(&open));
        };
        let content = question(&app, &shown, &open.known, &walk, at, &typed);
        let page = of_job(&shown, "/survey", "Survey", &content);
        let status = if look {
            StatusCode::OK
        } else {
            StatusCode::UNPROCESSABLE_ENTITY
        };
        return Ok((status, page).into_response());
    }
    let shown = after.what.len().min(3);
    let mut words = after.what[..shown].join("; ");
    if after.what.len() > shown {
        words += &format!("; and {} more", after.what.len() - shown);
    }
    change(&app, &open.head.key, version, words, &after.text)
        .await
        .map_err(|error| failed(&error))?;
    let later = Walk::of(&app, &after.text).await?;
    Ok(back(&next(&open, &walk, later.as_ref(), at, &typed)))
}

/// Where the walk goes on: behind the question that was answered, or behind its stop.
fn next(open: &Open, walk: &Walk, later: Option<&Walk>, at: usize, typed: &Typed) -> String {
    let end = open.address("/survey/walk/end");
    let Some(later) = later else { return end };
    let passed = typed.iter().find(|(name, _)| name == "without");
    let stop = typed.iter().any(|(name, go)| name == "go" && go == "stop");
    let id = match passed {
        Some((_, id)) => Some(id.as_str()),
        None => walk.cards.get(at).map(|card| card.id),
    };
    let Some(here) = later.cards.iter().position(|card| Some(card.id) == id) else {
        return end;
    };
    let next = if stop {
        let stop = later.cards[here].stop;
        later.cards.iter().position(|card| card.stop > stop)
    } else {
        Some(here + 1).filter(|next| *next < later.cards.len())
    };
    next.map_or(end, |next| address(open, next))
}
