//! Changes of the survey by its forms.

use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use store::Splice;
use store::edit::{EditError, Step, push, remove as take_out, set, swap_with_next, values};
use units::text::capital;

use super::form::{form, literal, plain, written};
use super::way::{Place, address, below, find, join, way};
use super::{Typed, errors, touches};
use crate::App;
use crate::job::{Open, back, change, failed, know, nowhere};
use crate::layout::{message, of_job};
use crate::say::key_words;

/// The version that a form was made for.
pub fn sent_version(sent: &Typed) -> Option<u64> {
    let (_, version) = sent.iter().find(|(name, _)| name == "version")?;
    version.parse().ok()
}

/// A form that no page of this program made.
pub fn no_form() -> Response {
    let page = message(
        "That was no form of this program",
        "Load the page again. Nothing was changed.",
    );
    (StatusCode::BAD_REQUEST, page).into_response()
}

/// Why an answer could not be kept.
pub fn not_kept(error: &EditError) -> Response {
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
        after = applied(&after, splice).map_err(|error| not_kept(&error))?;
        let shown = if typed.is_empty() {
            "no longer given"
        } else {
            typed
        };
        what.push(format!("{}: {shown}", words(&way)));
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
            log: open.log.clone(),
            zone: open.zone,
        };
        let content = form(&app, &after, &path, &open.known, &sent).ok_or_else(nowhere)?;
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
    let after = applied(text, splice).map_err(|error| not_kept(&error))?;
    let what = format!("{} added: {typed}", key_words(&list).replace('/', ", "));
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

/// Takes an element out of a list, or a table with all it holds out of the file.
pub async fn remove(
    State(app): State<App>,
    Path((name, path)): Path<(String, String)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let version = sent_version(&sent).ok_or_else(no_form)?;
    let path = way(&path);
    if !matches!(find(&path), Some(Place::Keys(_) | Place::Names(_))) {
        return Err(nowhere());
    }
    let text = open.known.text();
    let after = applied(text, take_out(text, &path)).map_err(|error| not_kept(&error))?;
    let what = format!("{} taken out", words(&path));
    change(&app, &open.head.key, version, what, &after)
        .await
        .map_err(|error| failed(&error))?;
    let up = path.split_last().map_or(&path[..], |(_, up)| up);
    Ok(back(&if find(up).is_some() && !up.is_empty() {
        address(&open, up)
    } else {
        open.address("/survey")
    }))
}

/// Moves an element of a list one place up or down.
pub async fn shift(
    State(app): State<App>,
    Path((name, path)): Path<(String, String)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let version = sent_version(&sent).ok_or_else(no_form)?;
    let path = way(&path);
    let Some((Step::Place(place), list)) = path.split_last() else {
        return Err(nowhere());
    };
    let up = sent.iter().any(|(name, way)| name == "way" && way == "up");
    let first = if up {
        place.checked_sub(1)
    } else {
        Some(*place)
    };
    let mut element = list.to_vec();
    element.push(first.ok_or_else(nowhere)?.into());
    let text = open.known.text();
    let splice = swap_with_next(text, &element);
    let after = applied(text, splice).map_err(|error| not_kept(&error))?;
    let direction = if up { "up" } else { "down" };
    let what = format!("{} moved {direction}", words(&path));
    change(&app, &open.head.key, version, what, &after)
        .await
        .map_err(|error| failed(&error))?;
    Ok(back(&address(&open, list)))
}

/// A text after a change.
pub fn applied(text: &str, splice: Result<Splice, EditError>) -> Result<String, EditError> {
    splice?.apply(text).map_err(|_| EditError::Entangled)
}

/// A way for the history.
fn words(path: &[Step]) -> String {
    key_words(&join(path)).replace('/', ", ")
}
