//! Pages of the survey as forms: each table of the file is one.

use std::sync::Arc;
use units::text::capital;

use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Response};
use diagnostics::Problem;
use house::file::{Field, Shape, Table};
use maud::{Markup, html};
use store::edit::{Found, Literal, Step, values};

use super::follows::follows;
use super::way::{GROUPS, Place, TOP, address, below, find, join, way};
use super::{Typed, errors, touches};
use crate::App;
use crate::job::{Open, nowhere};
use crate::known::Known;
use crate::layout::of_job;
use crate::say::{counted, key_words};

/// A page of the survey.
pub async fn page(
    State(app): State<App>,
    Path((name, path)): Path<(String, String)>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let path = way(&path);
    let content = form(&app, &open, &path, &open.known, &[]).ok_or_else(nowhere)?;
    Ok(of_job(&open, "/survey", "Survey", &content).into_response())
}

/// A page of the survey: what is asked at the left, what follows from the answers at the right.
/// `open` holds the text with the answers that were typed, `before` what is known without them.
pub fn form(
    app: &App,
    open: &Open,
    path: &[Step],
    before: &Arc<Known>,
    typed: &Typed,
) -> Option<Markup> {
    let after: &Known = &open.known;
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
            (follows(app, open, before))
        }
        (neighbours(open, path))
    })
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
            @if self.can_go() {
                form method="post" class="remove" action=(self.open.address(&format!("/survey-remove/{}", join(self.path)))) {
                    input type="hidden" name="version" value=(self.open.head.version);
                    button class="quietly" { "Take this out of the survey" }
                }
            }
        }
    }

    /// Whether this can be taken out: an element of a list, or a table that the file can do without.
    fn can_go(&self) -> bool {
        let there = self.found.iter().any(|f| f.path.starts_with(self.path));
        there
            && match self.path {
                [.., Step::Place(_)] => true,
                [Step::Key(key)] => {
                    let root = house::file::tables();
                    let field = root.fields.iter().find(|field| field.key == key);
                    field.is_some_and(|field| !field.required)
                }
                _ => false,
            }
    }

    /// Buttons that move an element of a list.
    fn movers(&self, path: &[Step], place: usize, count: usize) -> Markup {
        let name = match path.split_last() {
            Some((_, [.., Step::Key(list)])) => self.element(path, list, place),
            _ => String::new(),
        };
        html! {
            @if count > 1 {
                form method="post" class="movers" action=(self.open.address(&format!("/survey-move/{}", join(path)))) {
                    input type="hidden" name="version" value=(self.open.head.version);
                    button class="quietly" name="way" value="up" disabled[place == 0] aria-label={ "Move " (name) " up" } { "↑" }
                    button class="quietly" name="way" value="down" disabled[place + 1 == count] aria-label={ "Move " (name) " down" } { "↓" }
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
                        div class="words" { (self.summary(&path)) (self.movers(&path, place, count)) }
                    }
                }
            }
            @if let Some(first) = first {
                form method="post" class="add" action=(self.open.address(&format!("/survey-add/{}", join(self.path)))) {
                    input type="hidden" name="version" value=(self.open.head.version);
                    label for="add-first" { "Add one: " (key_words(first.key)) }
                    @let about = more_than(first.key, &first.about);
                    @if let Some(about) = about { p class="hint" id="add-first-hint" { (about) } }
                    (input("add-first", "first", "", &first.shape, about.map(|_| "add-first-hint"), false, true))
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
        let about = more_than(key, about);
        let examples = examples(shape);
        let assumed = assumed(self.after, self.found, path);
        let hint = (about.is_some() || examples.is_some() || !assumed.is_empty())
            .then(|| format!("{id}-hint"));
        html! {
            div class="card" {
                label for=(id) { (capital(&key_words(key))) @if required { span class="needed" { " needed" } } }
                @if let Some(hint) = &hint {
                    p class="hint" id=(hint) {
                        @if let Some(about) = about { (about) " " }
                        @if let Some(examples) = examples { "Like " (examples) "." }
                        @for assumed in assumed {
                            span class="assumed" { " " @if found.is_none() { "Assumed now: " } @else { "Assumed with it: " } (assumed) }
                        }
                    }
                }
                (input(&id, key, &value, shape, hint.as_deref(), !wrong.is_empty(), required))
                div class="error" data-error-for=(id) role="alert" {
                    @for problem in wrong {
                        p { (problem.title) ". " @for help in &problem.help { (capital(help)) ". " } }
                    }
                }
            }
        }
    }
}

/// What is said of a key beside its name, which stands above it already.
fn more_than<'a>(key: &str, about: &'a str) -> Option<&'a str> {
    let words = key_words(key);
    let same = about
        .get(..words.len())
        .is_some_and(|start| start.eq_ignore_ascii_case(&words));
    let rest = match about.get(words.len()..) {
        Some(rest) if same && rest.starts_with('.') => rest[1..].trim_start(),
        _ => about,
    };
    (!rest.is_empty()).then_some(rest)
}

/// What is assumed where a key is absent, and how well it is taken to be known.
pub fn assumed(known: &Known, found: &[Found], path: &[Step]) -> Vec<String> {
    let keys: Vec<String> = path
        .iter()
        .filter(|step| matches!(step, Step::Key(_)))
        .map(Step::to_string)
        .collect();
    let dotted = keys.join(".");
    let named = match path {
        [Step::Key(list), place @ Step::Place(_), Step::Key(key)] => {
            let name = [list.as_str().into(), place.clone(), "name".into()];
            let name = found.iter().find(|found| found.path == name);
            name.map(|name| format!("{list} \"{}\" {key}", name.value))
        }
        _ => None,
    };
    let list = known.reading.assumed.iter();
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

/// Whether a key is asked for by one field of a form.
pub fn plain(shape: &Shape) -> bool {
    match shape {
        Shape::Table(_) | Shape::Named(_) => false,
        Shape::List(item) => !matches!(**item, Shape::Table(_)),
        _ => true,
    }
}

pub fn examples(shape: &Shape) -> Option<String> {
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
pub fn written(found: Option<&Found>) -> String {
    match found {
        None => String::new(),
        Some(found) => match found.members() {
            Some(members) => members.join("; "),
            None => found.value.clone(),
        },
    }
}

pub fn input(
    id: &str,
    name: &str,
    value: &str,
    shape: &Shape,
    hint: Option<&str>,
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
                aria-describedby=[hint] aria-invalid=[invalid] aria-required=[required.then_some("true")];
        } @else {
            select id=(id) name=(name) aria-describedby=[hint] aria-invalid=[invalid] {
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
pub fn literal(text: &str, shape: &Shape) -> Literal {
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
