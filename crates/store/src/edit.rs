//! Changes of single values that leave every other byte of the file as it is.
//!
//! The text is parsed for the places of its values only; what is returned is the [`Splice`] that
//! changes the one that is meant. Before it is returned the changed text is parsed again, and the
//! splice is refused unless the value, and nothing else, has changed.

use std::fmt;
use std::ops::Range;

use toml_edit::{Array, Document, Item, Table, TableLike, Value};

use crate::Splice;

/// A step on the way to a value.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// Into a table, by its key.
    Key(String),
    /// Into a list, by the place in it; the first is 0.
    Place(usize),
}

impl From<&str> for Step {
    fn from(key: &str) -> Self {
        Self::Key(key.to_owned())
    }
}

impl From<usize> for Step {
    fn from(place: usize) -> Self {
        Self::Place(place)
    }
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Key(key) => f.write_str(key),
            Self::Place(place) => write!(f, "{place}"),
        }
    }
}

/// A value as it is written in the file.
#[derive(Debug, Clone)]
pub struct Literal(Value);

impl Literal {
    /// Text in quotes.
    pub fn text(text: &str) -> Self {
        Self(text.into())
    }

    /// A whole number.
    pub fn integer(number: i64) -> Self {
        Self(number.into())
    }

    /// Yes or no.
    pub fn flag(flag: bool) -> Self {
        Self(flag.into())
    }

    /// A number, as it was typed; `None` if it is none.
    pub fn number(text: &str) -> Option<Self> {
        match text.trim().parse::<Value>().ok()? {
            number @ (Value::Integer(_) | Value::Float(_)) => Some(Self(number)),
            _ => None,
        }
    }

    /// Several texts.
    pub fn texts<'a>(texts: impl IntoIterator<Item = &'a str>) -> Self {
        Self(Value::Array(texts.into_iter().collect::<Array>()))
    }

    /// How it is written.
    fn written(&self) -> String {
        self.0.clone().decorated("", "").to_string()
    }
}

/// Why a value cannot be changed in a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EditError {
    /// The text is not TOML, in the parser's words.
    NotToml(String),
    /// There is nothing at this step of the way, or something else than a table or a list.
    NoWay(String),
    /// The file is written in a way in which this value cannot be changed without touching others.
    Entangled,
}

impl fmt::Display for EditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotToml(why) => write!(f, "the file is not TOML: {why}"),
            Self::NoWay(step) => write!(f, "the file has no {step} that could be changed"),
            Self::Entangled => f.write_str(
                "the file is written in a way in which this cannot be changed by itself; change it in the text",
            ),
        }
    }
}

impl std::error::Error for EditError {}

/// A value of a file with the bytes where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The way to it.
    pub path: Vec<Step>,
    /// Its bytes.
    pub span: Range<usize>,
    /// What it says: text without its quotes, anything else as written.
    pub value: String,
}

impl Found {
    /// The members of a list of plain values, each as [`Found::value`]; `None` if it is no list.
    pub fn members(&self) -> Option<Vec<String>> {
        let value: Value = self.value.trim().parse().ok()?;
        Some(value.as_array()?.iter().map(says).collect())
    }
}

/// All values of a text in the order in which they stand in its tables; lists of plain values count
/// as one value.
///
/// # Errors
///
/// [`EditError::NotToml`].
pub fn values(text: &str) -> Result<Vec<Found>, EditError> {
    let document = parse(text)?;
    let mut found = Vec::new();
    gather(document.as_table(), text, &mut Vec::new(), &mut found);
    Ok(found)
}

/// The key `name` at the top of a text; empty if there is none.
pub fn title(text: &str) -> String {
    let document = parse(text).ok();
    let name = document
        .as_ref()
        .and_then(|document| document.get("name")?.as_str());
    name.unwrap_or_default().trim().to_owned()
}

/// The splice that sets a value; its key is added if it is not there.
///
/// A key that is added stands behind the last one of its table; a table that is added stands at the
/// end of the file.
///
/// # Errors
///
/// [`EditError`].
pub fn set(text: &str, path: &[Step], literal: Literal) -> Result<Splice, EditError> {
    let document = parse(text)?;
    let splice = match find(document.as_item(), path) {
        Some(Item::Value(old)) => {
            let span = old.span().ok_or(EditError::Entangled)?;
            splice(text, span, literal.written())
        }
        Some(_) => return Err(EditError::Entangled),
        None => add(text, &document, path, &literal)?,
    };
    let expected = says(&literal.0);
    checked(text, splice, path, Some(&expected))
}

/// The splice that takes a value out with its key and the comment behind it, or an element with its
/// tables out of a list of tables. What stands in lines of its own above it stays.
///
/// # Errors
///
/// [`EditError`].
pub fn remove(text: &str, path: &[Step]) -> Result<Splice, EditError> {
    let document = parse(text)?;
    let item = find(document.as_item(), path).ok_or_else(|| no_way(path))?;
    let cut = match (item, path.last()) {
        (Item::Value(value), Some(Step::Key(_))) => {
            let span = value.span().ok_or(EditError::Entangled)?;
            let start = line_start(text, span.start);
            let end = line_end(text, span.end);
            let before = &text[start..span.start];
            let rest = text[span.end..end].trim();
            // One key in its own lines, not a member of an inline table.
            if before.trim_start().starts_with(['[', '{'])
                || !before.trim_end().ends_with('=')
                || !(rest.is_empty() || rest.starts_with('#'))
            {
                return Err(EditError::Entangled);
            }
            start..end
        }
        (Item::Table(table), Some(Step::Place(_))) => {
            let extent = extent(table).ok_or(EditError::Entangled)?;
            line_start(text, extent.start)..line_end(text, extent.end)
        }
        _ => return Err(EditError::Entangled),
    };
    let splice = splice(text, cut, String::new());
    if matches!(path.last(), Some(Step::Place(_))) {
        element_gone(text, &splice, path)?;
        return Ok(splice);
    }
    checked(text, splice, path, None)
}

/// The splice that adds an element with one key to a list of tables like `[[tap]]`, behind its last
/// one; a list that is not there stands behind the element to which it belongs, or at the end of the
/// file.
///
/// # Errors
///
/// [`EditError`].
pub fn push(text: &str, list: &[Step], key: &str, literal: Literal) -> Result<Splice, EditError> {
    let document = parse(text)?;
    let (at, place) = match find(document.as_item(), list) {
        Some(Item::ArrayOfTables(tables)) => {
            let last = tables.iter().filter_map(extent).map(|extent| extent.end);
            let last = last.max().ok_or(EditError::Entangled)?;
            (line_end(text, last), tables.len())
        }
        Some(_) => return Err(EditError::Entangled),
        None => {
            let element = list.iter().rposition(|step| matches!(step, Step::Place(_)));
            let at = match element {
                None => text.len(),
                Some(element) => {
                    let owner = find(document.as_item(), &list[..=element]);
                    let owner = owner.ok_or_else(|| no_way(list))?;
                    let owner = owner.as_table().and_then(extent);
                    line_end(text, owner.ok_or(EditError::Entangled)?.end)
                }
            };
            (at, 0)
        }
    };
    let newline = newline(text);
    let header: Vec<String> = list
        .iter()
        .filter(|step| matches!(step, Step::Key(_)))
        .map(written_step)
        .collect();
    let mut inserted = gap(text, at, newline);
    inserted += &format!(
        "[[{}]]{newline}{} = {}{newline}",
        header.join("."),
        written_key(key),
        literal.written()
    );
    let expected = says(&literal.0);
    let mut path = list.to_vec();
    path.extend([place.into(), key.into()]);
    checked(text, splice(text, at..at, inserted), &path, Some(&expected))
}

fn parse(text: &str) -> Result<Document<&str>, EditError> {
    Document::parse(text).map_err(|error| EditError::NotToml(error.message().to_owned()))
}

fn no_way(path: &[Step]) -> EditError {
    let steps: Vec<String> = path.iter().map(Step::to_string).collect();
    EditError::NoWay(steps.join("."))
}

fn splice(text: &str, span: Range<usize>, inserted: String) -> Splice {
    Splice {
        at: span.start,
        removed: text[span].to_owned(),
        inserted,
    }
}

/// What stands at the end of the way.
fn find<'d>(root: &'d Item, path: &[Step]) -> Option<&'d Item> {
    let mut item = root;
    for step in path {
        item = match step {
            Step::Key(key) => item.get(key.as_str())?,
            Step::Place(place) => item.get(*place)?,
        };
    }
    (!item.is_none()).then_some(item)
}

/// The splice that adds a key which is not there.
fn add(
    text: &str,
    document: &Document<&str>,
    path: &[Step],
    literal: &Literal,
) -> Result<Splice, EditError> {
    let newline = newline(text);
    // The part of the way that is there.
    let known = (0..path.len())
        .rev()
        .find(|length| find(document.as_item(), &path[..*length]).is_some())
        .ok_or_else(|| no_way(path))?;
    let keys: Vec<&str> = path[known..]
        .iter()
        .map(|step| match step {
            Step::Key(key) => Ok(key.as_str()),
            Step::Place(_) => Err(no_way(path)),
        })
        .collect::<Result<_, _>>()?;
    let owner = find(document.as_item(), &path[..known]).ok_or_else(|| no_way(path))?;
    let within_a_list = path[..known]
        .iter()
        .any(|step| matches!(step, Step::Place(_)));
    match owner {
        Item::Table(table) => {
            // A table that is not there gets its own header, except in a list of tables, where a
            // header at the end of the file would belong to the last element.
            let has_lines = table.span().is_some() && !table.is_implicit() && !table.is_dotted();
            if keys.len() > 1 && !within_a_list || !(has_lines || known == 0) {
                let (key, tables) = path.split_last().ok_or_else(|| no_way(path))?;
                if within_a_list || table.is_dotted() {
                    return Err(EditError::Entangled);
                }
                let header: Vec<String> = tables.iter().map(written_step).collect();
                let at = text.len();
                let inserted = format!(
                    "{}[{}]{newline}{} = {}{newline}",
                    gap(text, at, newline),
                    header.join("."),
                    written_step(key),
                    literal.written()
                );
                return Ok(splice(text, at..at, inserted));
            }
            let at = match own_lines(table).map(|lines| lines.end) {
                Some(end) => line_end(text, end),
                None if known == 0 => {
                    first_header(document).map_or(text.len(), |start| line_start(text, start))
                }
                None => table
                    .span()
                    .map(|header| line_end(text, header.end))
                    .ok_or(EditError::Entangled)?,
            };
            let dotted: Vec<String> = keys.iter().copied().map(written_key).collect();
            let before = if text[..at].is_empty() || text[..at].ends_with('\n') {
                ""
            } else {
                newline
            };
            let inserted = format!(
                "{before}{} = {}{newline}",
                dotted.join("."),
                literal.written()
            );
            Ok(splice(text, at..at, inserted))
        }
        Item::Value(Value::InlineTable(table)) => {
            let span = table.span().ok_or(EditError::Entangled)?;
            let at = span.end.saturating_sub(1);
            let body = &text[span.start + 1..at];
            let comma = match body.trim_end().chars().last() {
                None => " ",
                Some(',') => " ",
                Some(_) => ", ",
            };
            let dotted: Vec<String> = keys.iter().copied().map(written_key).collect();
            // The comma stands right behind the last member.
            let at = at - (body.len() - body.trim_end().len());
            let inserted = format!("{comma}{} = {}", dotted.join("."), literal.written());
            Ok(splice(text, at..at, inserted))
        }
        _ => Err(EditError::Entangled),
    }
}

/// The bytes of the keys that stand in the lines of a table itself, not under headers of their own.
fn own_lines(table: &dyn TableLike) -> Option<Range<usize>> {
    table.iter().fold(None, |lines, (_, item)| {
        let part = match item {
            Item::Value(value) => value.span(),
            Item::Table(inner) if inner.is_dotted() => own_lines(inner),
            _ => None,
        };
        join(lines, part)
    })
}

/// The bytes of a table with everything in it, from its header on.
fn extent(table: &Table) -> Option<Range<usize>> {
    let header = table.span().filter(|_| !table.is_implicit());
    let lines = join(header, own_lines(table));
    table.iter().fold(lines, |lines, (_, item)| {
        let part = match item {
            Item::Table(inner) => extent(inner),
            Item::ArrayOfTables(inner) => inner
                .iter()
                .fold(None, |all, inner| join(all, extent(inner))),
            _ => None,
        };
        join(lines, part)
    })
}

/// Where the first header of a file stands.
fn first_header(document: &Document<&str>) -> Option<usize> {
    let starts = document.iter().filter_map(|(_, item)| match item {
        Item::Table(table) => extent(table),
        Item::ArrayOfTables(tables) => tables.iter().next().and_then(extent),
        _ => None,
    });
    starts.map(|extent| extent.start).min()
}

fn join(one: Option<Range<usize>>, other: Option<Range<usize>>) -> Option<Range<usize>> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.start.min(other.start)..one.end.max(other.end)),
        (one, other) => one.or(other),
    }
}

fn line_start(text: &str, place: usize) -> usize {
    text[..place].rfind('\n').map_or(0, |end| end + 1)
}

fn line_end(text: &str, place: usize) -> usize {
    text[place..]
        .find('\n')
        .map_or(text.len(), |end| place + end + 1)
}

fn newline(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// What parts a new header from what stands before it: an empty line.
fn gap(text: &str, at: usize, newline: &str) -> String {
    let before = &text[..at];
    if before.is_empty() {
        String::new()
    } else if before.ends_with('\n') {
        newline.to_owned()
    } else {
        newline.repeat(2)
    }
}

fn written_step(step: &Step) -> String {
    match step {
        Step::Key(key) => written_key(key),
        Step::Place(place) => place.to_string(),
    }
}

fn written_key(key: &str) -> String {
    toml_edit::Key::new(key).to_string()
}

/// What a value says: text without its quotes, anything else as written.
fn says(value: &Value) -> String {
    match value.as_str() {
        Some(text) => text.to_owned(),
        None => value.clone().decorated("", "").to_string(),
    }
}

fn gather(table: &dyn TableLike, text: &str, path: &mut Vec<Step>, found: &mut Vec<Found>) {
    for (key, item) in table.iter() {
        path.push(key.into());
        match item {
            Item::None => {}
            Item::Table(inner) => gather(inner, text, path, found),
            Item::ArrayOfTables(tables) => {
                for (place, inner) in tables.iter().enumerate() {
                    path.push(place.into());
                    gather(inner, text, path, found);
                    path.pop();
                }
            }
            Item::Value(value) => gather_value(value, text, path, found),
        }
        path.pop();
    }
}

fn gather_value(value: &Value, text: &str, path: &mut Vec<Step>, found: &mut Vec<Found>) {
    match value {
        Value::InlineTable(inner) => gather(inner, text, path, found),
        Value::Array(list) if list.iter().any(|value| value.is_inline_table()) => {
            for (place, inner) in list.iter().enumerate() {
                path.push(place.into());
                gather_value(inner, text, path, found);
                path.pop();
            }
        }
        _ => {
            let Some(span) = value.span() else { return };
            let value = match value.as_str() {
                Some(words) => words.to_owned(),
                None => text[span.clone()].to_owned(),
            };
            found.push(Found {
                path: path.clone(),
                span,
                value,
            });
        }
    }
}

/// Whether a splice changes this value, and nothing else, to what is expected.
fn checked(
    text: &str,
    splice: Splice,
    path: &[Step],
    expected: Option<&str>,
) -> Result<Splice, EditError> {
    let after = splice.apply(text).map_err(|_| EditError::Entangled)?;
    let plain = |found: Vec<Found>| {
        let mut plain: Vec<(Vec<Step>, String)> = found
            .into_iter()
            .map(|found| (found.path, found.value))
            .collect();
        plain.sort();
        plain
    };
    let mut wanted = plain(values(text)?);
    wanted.retain(|(other, _)| other != path);
    if let Some(expected) = expected {
        wanted.push((path.to_vec(), expected.to_owned()));
        wanted.sort();
    }
    let found = values(&after).map_err(|_| EditError::Entangled)?;
    if plain(found) == wanted {
        Ok(splice)
    } else {
        Err(EditError::Entangled)
    }
}

/// Whether a splice takes out this element of a list, and nothing else.
fn element_gone(text: &str, splice: &Splice, path: &[Step]) -> Result<(), EditError> {
    let after = splice.apply(text).map_err(|_| EditError::Entangled)?;
    let depth = path.len() - 1;
    let Some(Step::Place(gone)) = path.last() else {
        return Err(EditError::Entangled);
    };
    let mut wanted = Vec::new();
    for Found {
        path: mut other,
        value,
        ..
    } in values(text)?
    {
        if other.starts_with(&path[..depth])
            && let Some(Step::Place(place)) = other.get_mut(depth)
        {
            if *place == *gone {
                continue;
            }
            if *place > *gone {
                *place -= 1;
            }
        }
        wanted.push((other, value));
    }
    wanted.sort();
    let mut left: Vec<_> = values(&after)
        .map_err(|_| EditError::Entangled)?
        .into_iter()
        .map(|found| (found.path, found.value))
        .collect();
    left.sort();
    if left == wanted {
        Ok(())
    } else {
        Err(EditError::Entangled)
    }
}
