//! The survey as forms, made from the same description of tables by which the file is read.

use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use diagnostics::{Problem, Severity};
use house::file::{Field, Shape, Table};
use maud::{Markup, html};
use store::edit::{EditError, Found, Literal, Step, push, remove as take_out, set, values};

use crate::App;
use crate::job::{Open, back, change, failed, know, nowhere, problems};
use crate::known::Known;
use crate::layout::{message, of_job};
use crate::say::{capital, counted, key_words};
use crate::steps::steps;

/// The group of the keys at the top of the file.
const TOP: &str = "job";

/// Names of the groups for people, in the order in which a survey goes.
const GROUPS: &[(&str, &str)] = &[
    (TOP, "The job"),
    ("house", "The house"),
    ("climate", "Weather and rooms"),
    ("zone", "Rooms and floors"),
    ("opening", "Doors between them"),
    ("exhaust", "Other exhausts"),
    ("appliance", "What burns"),
    ("existing", "Ventilation today"),
    ("air_handler", "The air handler"),
    ("tap", "Where ducts may be tapped"),
    ("grille", "Own grilles"),
    ("spot", "Where the unit may hang"),
    ("wall", "Walls"),
    ("terminal", "Hoods on the walls"),
    ("separation", "Distances between hoods"),
    ("unit", "Units"),
    ("ducts", "New ducts"),
    ("controls", "Controls"),
    ("costs", "Prices"),
    ("rules", "Rules"),
    ("rates", "Rates"),
    ("plan", "The chosen plan"),
];

/// What a way of the survey leads to.
enum Place {
    /// A table with known keys.
    Keys(Table),
    /// A list of tables.
    List(Table),
    /// A table whose keys are names.
    Names(Shape),
}

/// Goes a way through the tables of the file.
fn find(path: &[Step]) -> Option<Place> {
    let root = house::file::tables();
    if path == [Step::from(TOP)] {
        return Some(Place::Keys(root));
    }
    let mut place = Place::Keys(root);
    for step in path {
        place = match (place, step) {
            (Place::Keys(table), Step::Key(key)) => {
                let field = table.fields.into_iter().find(|field| field.key == key)?;
                match field.shape {
                    Shape::Table(table) => Place::Keys(table),
                    Shape::Named(shape) => Place::Names(*shape),
                    Shape::List(shape) => match *shape {
                        Shape::Table(table) => Place::List(table),
                        _ => return None,
                    },
                    _ => return None,
                }
            }
            (Place::List(table), Step::Place(_)) => Place::Keys(table),
            _ => return None,
        };
    }
    Some(place)
}

/// The steps of an address.
fn way(address: &str) -> Vec<Step> {
    let steps = address.split('/').filter(|step| !step.is_empty());
    steps
        .map(|step| match step.parse::<usize>() {
            Ok(number) => Step::Place(number.saturating_sub(1)),
            Err(_) => step.into(),
        })
        .collect()
}

/// The address of a way.
fn address(open: &Open, path: &[Step]) -> String {
    let steps = path.iter().map(|step| match step {
        Step::Key(key) => format!("/{key}"),
        Step::Place(place) => format!("/{}", place + 1),
    });
    open.address(&format!("/survey{}", steps.collect::<String>()))
}

/// The way of a key below a way; keys of the top have none above them.
fn below(path: &[Step], key: &str) -> Vec<Step> {
    let mut path = if path == [Step::from(TOP)] {
        Vec::new()
    } else {
        path.to_vec()
    };
    path.push(key.into());
    path
}

/// All groups with what is given in each.
pub async fn overview(
    State(app): State<App>,
    Path(name): Path<String>,
) -> Result<Markup, Response> {
    let open = Open::job(&app, &name).await?;
    let found = values(open.known.text()).ok();
    let root = house::file::tables();
    Ok(of_job(
        &open,
        "/survey",
        "Survey",
        &html! {
            h1 { "The survey" }
            p {
                "Some twenty numbers are enough. What is left out is assumed, with its uncertainty, and said where it is asked."
            }
            @match &found {
                None => { p { "The file is not TOML, so it cannot be shown as a form. " a href=(open.address("/file")) { "Mend the text" } "." } }
                Some(found) => {
                    ol class="ledger" {
                        @for (key, title) in GROUPS {
                            @let field = root.fields.iter().find(|field| field.key == *key);
                            @let (given, wrong) = state(&open.known, found, key);
                            li class=(if wrong > 0 { "open" } else if given == "nothing given" { "blocked" } else { "done" }) {
                                a href=(address(&open, &[(*key).into()])) { (title) }
                                span class="words" {
                                    @if wrong > 0 { (counted(wrong, "thing", "things")) " to be mended; " }
                                    (given)
                                    @if field.is_some_and(|field| field.required) && given == "nothing given" { ", but needed" }
                                }
                            }
                        }
                    }
                }
            }
            (problems(&open.known))
        },
    ))
}

/// How much is given in a group, and how many errors stand in it.
fn state(known: &Known, found: &[Found], group: &str) -> (String, usize) {
    let scalar_at_top = |found: &Found| found.path.len() == 1;
    let within = |found: &Found| match group {
        TOP => scalar_at_top(found),
        _ => found.path.len() > 1 && found.path.first() == Some(&group.into()),
    };
    let mine: Vec<&Found> = found.iter().filter(|found| within(found)).collect();
    let elements = mine.iter().filter_map(|found| match found.path.get(1) {
        Some(Step::Place(place)) => Some(place + 1),
        _ => None,
    });
    let given = match (elements.max(), mine.len()) {
        (Some(count), _) => counted(count, "entry", "entries"),
        (None, 0) => "nothing given".to_owned(),
        (None, count) => counted(count, "value given", "values given"),
    };
    let wrong = errors(known)
        .filter(|problem| mine.iter().any(|found| touches(known, problem, found)))
        .count();
    (given, wrong)
}

fn errors(known: &Known) -> impl Iterator<Item = &Problem> {
    let list = known.reading.problems.list();
    list.into_iter()
        .filter(|problem| problem.severity == Severity::Error && problem.source == 0)
}

/// Whether a problem stands at a value. The reader drops a byte-order mark, the text keeps it.
fn touches(known: &Known, problem: &Problem, found: &Found) -> bool {
    let mark = if known.text().starts_with('\u{feff}') {
        '\u{feff}'.len_utf8()
    } else {
        0
    };
    let (start, end) = (problem.span.start + mark, problem.span.end + mark);
    start < found.span.end && end > found.span.start
}

/// What was typed and is not kept.
type Typed = [(String, String)];

/// A page of the survey.
pub async fn page(
    State(app): State<App>,
    Path((name, path)): Path<(String, String)>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let path = way(&path);
    let content = form(&open, &path, &open.known, &[]).ok_or_else(nowhere)?;
    Ok(of_job(&open, "/survey", "Survey", &content).into_response())
}

/// A page of the survey: what is asked at the left, what follows from the answers at the right.
/// `after` is what is known of the text with the answers that were typed.
fn form(open: &Open, path: &[Step], after: &Known, typed: &Typed) -> Option<Markup> {
    let place = find(path)?;
    let Ok(found) = values(after.text()) else {
        return Some(html! {
            h1 { "The survey" }
            p { "The file is not TOML, so it cannot be shown as a form. " a href=(open.address("/file")) { "Mend the text" } "." }
        });
    };
    // An element that is not there has no page.
    if let Some(last) = path.iter().rposition(|step| matches!(step, Step::Place(_)))
        && !found
            .iter()
            .any(|found| found.path.starts_with(&path[..=last]))
    {
        return None;
    }
    let sheet = Sheet {
        open,
        path,
        found: &found,
        after,
        typed,
    };
    let body = match &place {
        Place::Keys(table) => sheet.keys(table),
        Place::List(table) => sheet.list(table),
        Place::Names(shape) => sheet.names(shape),
    };
    Some(html! {
        nav class="trail" aria-label="Where this stands in the survey" {
            a href=(open.address("/survey")) { "Survey" }
            @for depth in 1..path.len() {
                @if find(&path[..depth]).is_some() {
                    " › " a href=(address(open, &path[..depth])) { (sheet.title(&path[..depth])) }
                }
            }
        }
        h1 { (sheet.title(path)) }
        div class="asked" {
            div class="questions" { (body) }
            (follows(open, after))
        }
        (neighbours(open, path))
    })
}

/// What follows from the answers.
fn follows(open: &Open, after: &Known) -> Markup {
    let errors = errors(after).count();
    html! {
        aside id="follows" aria-label="What follows" aria-live="polite" {
            h2 { "What follows" }
            @match after.job() {
                None => { p { (counted(errors.max(1), "thing has", "things have")) " to be mended before anything can be said." } }
                Some(job) => {
                    @let required = plan::rate::required(job);
                    dl class="figures" {
                        div {
                            dt { "Outdoor air needed" }
                            dd { (units::both(<units::VolumeFlow as units::Quantity>::from_si(required.rate), after.system())) }
                        }
                        div { dt { "Assumed values" } dd { (after.reading.assumed.len()) } }
                    }
                    p class="hint" { (capital(&required.because)) }
                }
            }
            ul class="plainlist" {
                @for step in steps(open).iter().skip(2) { li { strong { (step.name) } ": " (step.words) } }
            }
        }
    }
}

fn neighbours(open: &Open, path: &[Step]) -> Markup {
    let Some(Step::Key(group)) = path.first() else {
        return html! {};
    };
    let Some(place) = GROUPS.iter().position(|(key, _)| key == group) else {
        return html! {};
    };
    let before = place.checked_sub(1).map(|place| GROUPS[place]);
    let next = GROUPS.get(place + 1);
    html! {
        nav class="neighbours" aria-label="Groups of the survey" {
            @if let Some((key, title)) = before { a rel="prev" href=(address(open, &[key.into()])) { "‹ " (title) } }
            @if let Some((key, title)) = next { a rel="next" href=(address(open, &[(*key).into()])) { (title) " ›" } }
        }
    }
}

/// A page of the survey with what it is made from.
struct Sheet<'a> {
    open: &'a Open,
    path: &'a [Step],
    found: &'a [Found],
    after: &'a Known,
    typed: &'a Typed,
}

impl Sheet<'_> {
    fn value(&self, path: &[Step]) -> Option<&Found> {
        self.found.iter().find(|found| found.path == path)
    }

    /// A way in words: the group, the name of an element, the key.
    fn title(&self, path: &[Step]) -> String {
        match path {
            [Step::Key(key)] => {
                let group = GROUPS.iter().find(|(group, _)| group == key);
                group.map_or_else(
                    || capital(&key_words(key)),
                    |(_, title)| (*title).to_owned(),
                )
            }
            [.., Step::Key(key)] => capital(&key_words(key)),
            [.., Step::Key(list), Step::Place(place)] => self.element(path, list, *place),
            _ => "The survey".to_owned(),
        }
    }

    /// What an element of a list is called: its name, or what tells it from the others.
    fn element(&self, path: &[Step], list: &str, place: usize) -> String {
        for key in ["name", "mode", "kind", "setting", "rule", "between"] {
            let mut path = path.to_vec();
            path.push(key.into());
            if let Some(found) = self.value(&path) {
                let words = match found.members() {
                    Some(members) => members.join(" and "),
                    None => found.value.clone(),
                };
                return capital(&words);
            }
        }
        format!("{} {}", capital(&key_words(list)), place + 1)
    }

    fn keys(&self, table: &Table) -> Markup {
        let (asked, more): (Vec<&Field>, Vec<&Field>) =
            table.fields.iter().partition(|field| plain(&field.shape));
        let top = self.path == [Step::from(TOP)];
        let asked: Vec<&Field> = asked
            .into_iter()
            .filter(|field| !(top && field.key == "format"))
            .collect();
        html! {
            @if !top { p class="lead" { (table.about) } }
            @if !asked.is_empty() {
                (self.shell(&html! {
                    @for field in &asked {
                        (self.question(&below(self.path, field.key), field.key, &field.about, field.required, &field.shape))
                    }
                }))
            }
            @if !more.is_empty() && !top {
                ul class="ledger" {
                    @for field in more {
                        @let path = below(self.path, field.key);
                        @let count = self.found.iter().filter(|found| found.path.starts_with(&path)).count();
                        li class=(if count > 0 { "done" } else { "blocked" }) {
                            a href=(address(self.open, &path)) { (capital(&key_words(field.key))) }
                            span class="words" { (field.about) " " @if count > 0 { (counted(count, "value given", "values given")) } @else { "Nothing given" } "." }
                        }
                    }
                }
            }
            @if let (Some(Step::Place(place)), true) = (self.path.last(), self.path.len() == 2) {
                form method="post" class="remove" action=(self.open.address(&format!("/survey-remove/{}/{}", self.path[0], place + 1))) {
                    input type="hidden" name="version" value=(self.open.head.version);
                    button class="quietly" { "Take this out of the survey" }
                }
            }
        }
    }

    fn list(&self, table: &Table) -> Markup {
        let depth = self.path.len();
        let elements = self
            .found
            .iter()
            .filter(|found| found.path.starts_with(self.path));
        let count = elements
            .filter_map(|found| match found.path.get(depth) {
                Some(Step::Place(place)) => Some(place + 1),
                _ => None,
            })
            .max()
            .unwrap_or(0);
        let list = match self.path.last() {
            Some(Step::Key(key)) => key.as_str(),
            _ => "",
        };
        let first = table.fields.first();
        html! {
            p class="lead" { (table.about) }
            @if count == 0 { p { "Nothing is given yet." } }
            ol class="ledger" {
                @for place in 0..count {
                    @let mut path = self.path.to_vec();
                    @let () = path.push(place.into());
                    li class="done" {
                        a href=(address(self.open, &path)) { (self.element(&path, list, place)) }
                        span class="words" { (self.summary(&path)) }
                    }
                }
            }
            @if let Some(first) = first {
                form method="post" class="add" action=(self.open.address(&format!("/survey-add/{}", join(self.path)))) {
                    input type="hidden" name="version" value=(self.open.head.version);
                    label for="add-first" { "Add one: " (key_words(first.key)) }
                    p class="hint" id="add-first-hint" { (first.about) }
                    (input("add-first", "first", "", &first.shape, "add-first-hint", false, true))
                    button { "Add" }
                }
            }
        }
    }

    /// The first few values of an element.
    fn summary(&self, path: &[Step]) -> String {
        let mine = self
            .found
            .iter()
            .filter(|found| found.path.starts_with(path) && found.path.len() == path.len() + 1);
        let mut words: Vec<String> = Vec::new();
        for found in mine.skip(1).take(3) {
            if let Some(Step::Key(key)) = found.path.last() {
                words.push(format!("{} {}", key_words(key), found.value));
            }
        }
        words.join(", ")
    }

    fn names(&self, shape: &Shape) -> Markup {
        let depth = self.path.len();
        let mut names: Vec<String> = Vec::new();
        let given = self
            .found
            .iter()
            .filter(|found| found.path.starts_with(self.path));
        for found in given {
            if let Some(Step::Key(key)) = found.path.get(depth) {
                names.push(key.clone());
            }
        }
        for name in self.known_names() {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let about = shape.accepted();
        html! {
            @if names.is_empty() { p { "There is nothing yet that could be named here." } }
            @else {
                (self.shell(&html! {
                    @for name in &names {
                        (self.question(&below(self.path, name), name, &about, false, shape))
                    }
                }))
            }
        }
    }

    /// Names that the file has elsewhere and that may be keys here.
    fn known_names(&self) -> Vec<String> {
        let lists: &[&str] = match self.path.last() {
            Some(Step::Key(key)) if key == "runs" => &["tap", "grille", "terminal"],
            _ => &[],
        };
        let named = self
            .found
            .iter()
            .filter(|found| match found.path.as_slice() {
                [Step::Key(list), Step::Place(_), Step::Key(key)] => {
                    lists.contains(&list.as_str()) && key == "name"
                }
                _ => false,
            });
        named.map(|found| found.value.clone()).collect()
    }

    fn shell(&self, questions: &Markup) -> Markup {
        let elsewhere: Vec<&Problem> = if self.typed.is_empty() {
            Vec::new()
        } else {
            let within = |problem: &&Problem| {
                let mut mine = self
                    .found
                    .iter()
                    .filter(|found| found.path.starts_with(self.path));
                !mine.any(|found| touches(self.after, problem, found))
            };
            errors(self.after).filter(within).collect()
        };
        html! {
            form method="post" class="cards" data-live action=(address(self.open, self.path)) {
                input type="hidden" name="version" value=(self.open.head.version);
                @if !elsewhere.is_empty() {
                    div class="error" role="alert" {
                        @for problem in elsewhere.iter().take(5) {
                            p { (problem.title) ". " @for help in &problem.help { (capital(help)) ". " } }
                        }
                    }
                }
                (questions)
                div class="bar" { button { "Keep the answers" } }
            }
        }
    }

    /// One question: what is asked, what is assumed without an answer, and what is wrong with it.
    fn question(
        &self,
        path: &[Step],
        key: &str,
        about: &str,
        required: bool,
        shape: &Shape,
    ) -> Markup {
        let id: String = key
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
            .collect();
        let id = format!("q-{id}");
        let found = self.value(path);
        let typed = self.typed.iter().find(|(name, _)| name == key);
        let value = typed.map_or_else(|| written(found), |(_, value)| value.clone());
        let wrong: Vec<&Problem> = match found {
            Some(found) => errors(self.after)
                .filter(|problem| touches(self.after, problem, found))
                .collect(),
            None => Vec::new(),
        };
        let hint = format!("{id}-hint");
        html! {
            div class="card" {
                label for=(id) { (capital(&key_words(key))) @if required { span class="needed" { " needed" } } }
                p class="hint" id=(hint) {
                    (about)
                    @if let Some(examples) = examples(shape) { " Like " (examples) "." }
                    @for assumed in self.assumed(path) {
                        span class="assumed" { " " @if found.is_none() { "Assumed now: " } @else { "Assumed with it: " } (assumed) }
                    }
                }
                (input(&id, key, &value, shape, &hint, !wrong.is_empty(), required))
                div class="error" data-error-for=(id) role="alert" {
                    @for problem in wrong {
                        p { (problem.title) ". " @for help in &problem.help { (capital(help)) ". " } }
                    }
                }
            }
        }
    }

    /// What is assumed where this key is absent, and how well it is taken to be known.
    fn assumed(&self, path: &[Step]) -> Vec<String> {
        let keys: Vec<String> = path
            .iter()
            .filter(|step| matches!(step, Step::Key(_)))
            .map(Step::to_string)
            .collect();
        let dotted = keys.join(".");
        let named = match path {
            [Step::Key(list), place @ Step::Place(_), Step::Key(key)] => self
                .value(&[list.as_str().into(), place.clone(), "name".into()])
                .map(|name| format!("{list} \"{}\" {key}", name.value)),
            _ => None,
        };
        let list = self.after.reading.assumed.iter();
        list.filter_map(|assumed| {
            let field = assumed.field.as_str();
            let own = field == dotted || named.as_deref() == Some(field);
            if own {
                Some(format!("{}, {}.", assumed.value, assumed.reason))
            } else {
                let of = field.strip_prefix("uncertainty of ")?;
                (of == dotted || named.as_deref() == Some(of))
                    .then(|| format!("uncertainty {}, {}.", assumed.value, assumed.reason))
            }
        })
        .collect()
    }
}

fn join(path: &[Step]) -> String {
    let steps = path.iter().map(|step| match step {
        Step::Key(key) => key.clone(),
        Step::Place(place) => (place + 1).to_string(),
    });
    steps.collect::<Vec<_>>().join("/")
}

/// Whether a key is asked for by one field of a form.
fn plain(shape: &Shape) -> bool {
    match shape {
        Shape::Table(_) | Shape::Named(_) => false,
        Shape::List(item) => !matches!(**item, Shape::Table(_)),
        _ => true,
    }
}

fn examples(shape: &Shape) -> Option<String> {
    match shape {
        Shape::Quantity { examples, .. } | Shape::Written { examples, .. } => {
            Some(examples.replace('"', ""))
        }
        Shape::List(item) => {
            let examples = examples(item).unwrap_or_else(|| item.accepted().replace('"', ""));
            Some(format!("{examples}; several are parted by a semicolon"))
        }
        _ => None,
    }
}

/// A value as it stands in a form.
fn written(found: Option<&Found>) -> String {
    match found {
        None => String::new(),
        Some(found) => match found.members() {
            Some(members) => members.join("; "),
            None => found.value.clone(),
        },
    }
}

fn input(
    id: &str,
    name: &str,
    value: &str,
    shape: &Shape,
    hint: &str,
    wrong: bool,
    required: bool,
) -> Markup {
    let invalid = wrong.then_some("true");
    let choices: Vec<(&str, &str)> = match shape {
        Shape::Flag => vec![("true", "yes"), ("false", "no")],
        Shape::Words(words) => words.iter().map(|word| (*word, *word)).collect(),
        _ => Vec::new(),
    };
    // What stands there and is none of the choices must not be lost.
    let strange = !value.is_empty() && !choices.iter().any(|(choice, _)| *choice == value);
    let mode = match shape {
        Shape::Count => "numeric",
        Shape::Number => "decimal",
        _ => "text",
    };
    html! {
        @if choices.is_empty() {
            input id=(id) name=(name) value=(value) inputmode=(mode) autocomplete="off" spellcheck="false"
                aria-describedby=(hint) aria-invalid=[invalid] aria-required=[required.then_some("true")];
        } @else {
            select id=(id) name=(name) aria-describedby=(hint) aria-invalid=[invalid] {
                option value="" { "not said" }
                @if strange { option value=(value) selected { (value) } }
                @for (choice, words) in &choices {
                    option value=(choice) selected[*choice == value] { (words) }
                }
            }
        }
    }
}

/// A typed value as it is written in the file. What does not fit the shape is written as text, so
/// that the reader of the file says what is wrong with it.
fn literal(text: &str, shape: &Shape) -> Literal {
    match shape {
        Shape::Flag if text == "true" || text == "false" => Literal::flag(text == "true"),
        Shape::Count => match text.parse() {
            Ok(count) => Literal::integer(count),
            Err(_) => Literal::text(text),
        },
        Shape::Number => Literal::number(text).unwrap_or_else(|| Literal::text(text)),
        Shape::List(_) => {
            let members = text.split(';').map(str::trim);
            Literal::texts(members.filter(|member| !member.is_empty()))
        }
        _ => Literal::text(text),
    }
}

/// The version that a form was made for.
fn sent_version(sent: &Typed) -> Option<u64> {
    let (_, version) = sent.iter().find(|(name, _)| name == "version")?;
    version.parse().ok()
}

fn no_form() -> Response {
    let page = message(
        "That was no form of this program",
        "Load the page again. Nothing was changed.",
    );
    (StatusCode::BAD_REQUEST, page).into_response()
}

fn not_kept(error: &EditError) -> Response {
    let words = format!("{}.", capital(&error.to_string()));
    let page = message("The answer was not kept", &words);
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

/// Keeps the answers of a page if none of them is wrong; says what is wrong beside them otherwise.
/// With `look` among the fields nothing is kept, and the page shows what would follow.
pub async fn save(
    State(app): State<App>,
    Path((name, path)): Path<(String, String)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let path = way(&path);
    let version = sent_version(&sent).ok_or_else(no_form)?;
    let place = find(&path).ok_or_else(nowhere)?;
    let text = open.known.text();
    let old = values(text).map_err(|error| not_kept(&error))?;
    let mut after = text.to_owned();
    let mut what: Vec<String> = Vec::new();
    let mut touched: Vec<Vec<Step>> = Vec::new();
    for (key, typed) in &sent {
        let shape = match &place {
            Place::Keys(table) => {
                let field = table.fields.iter().find(|field| field.key == key);
                match field.filter(|field| plain(&field.shape)) {
                    Some(field) => &field.shape,
                    None => continue,
                }
            }
            Place::Names(shape) if key != "version" && key != "look" => shape,
            _ => continue,
        };
        let typed = typed.trim();
        let way = below(&path, key);
        let before = old.iter().find(|found| found.path == way);
        if written(before) == typed {
            continue;
        }
        let splice = if typed.is_empty() {
            take_out(&after, &way)
        } else {
            set(&after, &way, literal(typed, shape))
        };
        after = splice
            .and_then(|splice| splice.apply(&after).map_err(|_| EditError::Entangled))
            .map_err(|error| not_kept(&error))?;
        let shown = if typed.is_empty() {
            "no longer given"
        } else {
            typed
        };
        what.push(format!(
            "{}: {shown}",
            key_words(&join(&way)).replace('/', ", ")
        ));
        touched.push(way);
    }
    let known = know(&app, &after).await;
    let new = values(&after).map_err(|error| not_kept(&error))?;
    let wrong = errors(&known).any(|problem| {
        let here = new.iter().filter(|found| touched.contains(&found.path));
        let mut here = here.filter(|found| touches(&known, problem, found));
        here.next().is_some() || !errors(&open.known).any(|before| before.title == problem.title)
    });
    let look = sent.iter().any(|(name, _)| name == "look");
    if look || wrong {
        let after = Open {
            head: open.head.clone(),
            known,
        };
        let content = form(&after, &path, &after.known, &sent).ok_or_else(nowhere)?;
        let page = of_job(&after, "/survey", "Survey", &content);
        let status = if look {
            StatusCode::OK
        } else {
            StatusCode::UNPROCESSABLE_ENTITY
        };
        return Ok((status, page).into_response());
    }
    let shown = what.len().min(3);
    let mut words = what[..shown].join("; ");
    if what.len() > shown {
        words += &format!("; and {} more", what.len() - shown);
    }
    change(&app, &open.head.key, version, words, &after)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&address(&open, &path)))
}

/// Adds an element to a list. It may lack what it needs; its page asks for it.
pub async fn add(
    State(app): State<App>,
    Path((name, list)): Path<(String, String)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let version = sent_version(&sent).ok_or_else(no_form)?;
    let path = way(&list);
    let Some(Place::List(table)) = find(&path) else {
        return Err(nowhere());
    };
    let first = table.fields.first().ok_or_else(nowhere)?;
    let typed = sent.iter().find(|(name, _)| name == "first");
    let typed = typed.map(|(_, typed)| typed.trim()).unwrap_or_default();
    if typed.is_empty() {
        return Ok(back(&address(&open, &path)));
    }
    let text = open.known.text();
    let splice = push(text, &path, first.key, literal(typed, &first.shape));
    let after = splice
        .and_then(|splice| splice.apply(text).map_err(|_| EditError::Entangled))
        .map_err(|error| not_kept(&error))?;
    let what = format!("{} added: {typed}", key_words(&list));
    change(&app, &open.head.key, version, what, &after)
        .await
        .map_err(|error| failed(&error))?;
    let count = values(&after)
        .unwrap_or_default()
        .iter()
        .filter(|found| found.path.starts_with(&path))
        .filter_map(|found| match found.path.get(path.len()) {
            Some(Step::Place(place)) => Some(*place),
            _ => None,
        })
        .max();
    let mut element = path;
    element.extend(count.map(Step::Place));
    Ok(back(&address(&open, &element)))
}

/// Takes an element out of a list.
pub async fn remove(
    State(app): State<App>,
    Path((name, list, place)): Path<(String, String, usize)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let version = sent_version(&sent).ok_or_else(no_form)?;
    let place = place.checked_sub(1).ok_or_else(nowhere)?;
    let text = open.known.text();
    let splice = take_out(text, &[list.as_str().into(), place.into()]);
    let after = splice
        .and_then(|splice| splice.apply(text).map_err(|_| EditError::Entangled))
        .map_err(|error| not_kept(&error))?;
    let what = format!("{} {} taken out", key_words(&list), place + 1);
    change(&app, &open.head.key, version, what, &after)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&address(&open, &[list.as_str().into()])))
}
