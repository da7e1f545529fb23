//! Changes of single values and of elements of lists that leave every other byte of the file as it is.
//!
//! The text is parsed for the places of its values only; what is returned is the [`Splice`] that
//! changes the one that is meant. Before it is returned the changed text is parsed again, and the
//! splice is refused unless what was meant, and nothing else, has changed. Lists may be written with
//! headers (`[[tap]]`) or between brackets, tables with headers, dots or braces.

mod members;

use std::cmp::Ordering;
use std::fmt;
use std::ops::Range;

use toml_edit::{Array, Document, InlineTable, Item, Table, TableLike, Value};

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
    checked(text, splice, path, &expected)
}

/// The splice that takes out a value with its key and the comment behind it, an element of a list with
/// all that belongs to it, or a whole list. What stands in lines of its own above it stays.
///
/// # Errors
///
/// [`EditError`].
pub fn remove(text: &str, path: &[Step]) -> Result<Splice, EditError> {
    let document = parse(text)?;
    let (last, owner) = path.split_last().ok_or_else(|| no_way(path))?;
    let owner = find(document.as_item(), owner).ok_or_else(|| no_way(path))?;
    let item = find(document.as_item(), path);
    let cuts = match (owner, last, item) {
        (Item::Value(Value::Array(array)), Step::Place(place), _) => {
            let members = members::of_array(text, array).ok_or(EditError::Entangled)?;
            if *place >= members.len() {
                return Err(no_way(path));
            }
            vec![members::cut(text, &members, *place).ok_or(EditError::Entangled)?]
        }
        (_, _, None) => return Err(no_way(path)),
        (Item::Value(Value::InlineTable(table)), Step::Key(_), Some(Item::Value(value))) => {
            vec![cut_member(
                text,
                outermost(&document, path).unwrap_or(table),
                value,
            )?]
        }
        (_, Step::Key(_), Some(Item::Value(value))) => vec![cut_line(text, value)?],
        (_, Step::Place(_), Some(Item::Table(table))) => blocks(text, &[table]),
        (_, Step::Key(_), Some(Item::ArrayOfTables(tables))) => {
            blocks(text, &tables.iter().collect::<Vec<_>>())
        }
        (_, Step::Key(_), Some(Item::Table(table))) if !table.is_dotted() => blocks(text, &[table]),
        _ => return Err(EditError::Entangled),
    };
    if cuts.is_empty() {
        return Err(EditError::Entangled);
    }
    let mut after = String::with_capacity(text.len());
    let mut kept = 0;
    for cut in cuts {
        after.push_str(text.get(kept..cut.start).ok_or(EditError::Entangled)?);
        kept = cut.end;
    }
    after.push_str(&text[kept..]);
    let wanted = match last {
        Step::Place(gone) => placed(text, path, |place| match place.cmp(gone) {
            Ordering::Less => Some(place),
            Ordering::Equal => None,
            Ordering::Greater => Some(place - 1),
        })?,
        Step::Key(_) => {
            let mut wanted = facts(text)?;
            wanted.retain(|(other, _)| !other.starts_with(path));
            wanted
        }
    };
    proven(text, &after, wanted)
}

/// The splice that lets an element of a list and the next one change places, each with the comment
/// behind it. What stands in lines of its own above them stays.
///
/// # Errors
///
/// [`EditError`].
pub fn swap_with_next(text: &str, path: &[Step]) -> Result<Splice, EditError> {
    let document = parse(text)?;
    let Some((Step::Place(first), list)) = path.split_last() else {
        return Err(no_way(path));
    };
    let second = first + 1;
    let [one, other] = match find(document.as_item(), list) {
        Some(Item::Value(Value::Array(array))) => {
            let members = members::of_array(text, array).ok_or(EditError::Entangled)?;
            let one = members.get(*first).ok_or_else(|| no_way(path))?;
            let other = members.get(second).ok_or_else(|| no_way(path))?;
            let comments = [members::comment(text, one), members::comment(text, other)];
            [
                [one.span.clone(), comments[0].clone()],
                [other.span.clone(), comments[1].clone()],
            ]
        }
        Some(Item::ArrayOfTables(tables)) => {
            let block = |place: usize| {
                let table = tables.get(place).ok_or_else(|| no_way(path))?;
                match blocks(text, &[table]).as_slice() {
                    [block] => {
                        // The break of the last line stays where it is.
                        let end =
                            block.start + text[block.clone()].trim_end_matches(['\r', '\n']).len();
                        Ok([block.start..end, end..end])
                    }
                    _ => Err(EditError::Entangled),
                }
            };
            [block(*first)?, block(second)?]
        }
        _ => return Err(no_way(path)),
    };
    let mut pieces = [
        (one[0].clone(), other[0].clone()),
        (one[1].clone(), other[1].clone()),
        (other[0].clone(), one[0].clone()),
        (other[1].clone(), one[1].clone()),
    ];
    pieces.sort_by_key(|(place, _)| (place.start, place.end));
    let mut after = String::with_capacity(text.len());
    let mut kept = 0;
    for (place, taken) in pieces {
        after.push_str(text.get(kept..place.start).ok_or(EditError::Entangled)?);
        after.push_str(&text[taken]);
        kept = place.end;
    }
    after.push_str(&text[kept..]);
    let wanted = placed(text, path, |place| {
        Some(if place == *first {
            second
        } else if place == second {
            *first
        } else {
            place
        })
    })?;
    proven(text, &after, wanted)
}

/// The splice that adds an element with one key to a list of tables, behind its last one, in the way
/// in which the list is written; a list that is not there stands behind the element to which it
/// belongs, or at the end of the file.
///
/// # Errors
///
/// [`EditError`].
pub fn push(text: &str, list: &[Step], key: &str, literal: Literal) -> Result<Splice, EditError> {
    let document = parse(text)?;
    let element = format!("{{ {} = {} }}", written_key(key), literal.written());
    let (splice, place) = match find(document.as_item(), list) {
        Some(Item::ArrayOfTables(tables)) => {
            let last = tables.iter().filter_map(extent).map(|extent| extent.end);
            let last = last.max().ok_or(EditError::Entangled)?;
            let at = line_end(text, last);
            (with_header(text, at, list, key, &literal), tables.len())
        }
        Some(Item::Value(Value::Array(array))) => {
            let all = array.span().ok_or(EditError::Entangled)?;
            let members = members::of_array(text, array).ok_or(EditError::Entangled)?;
            let (at, before, behind) = members::behind(text, &all, &members);
            let inserted = format!("{before}{element}{behind}");
            (splice(text, at..at, inserted), members.len())
        }
        Some(_) => return Err(EditError::Entangled),
        None => {
            let owner = list.iter().rposition(|step| matches!(step, Step::Place(_)));
            let owner = owner.map(|place| &list[..=place]);
            let at = match owner.map(|owner| find(document.as_item(), owner)) {
                None => Some(text.len()),
                Some(None) => return Err(no_way(list)),
                Some(Some(Item::Table(table))) => {
                    let extent = extent(table).ok_or(EditError::Entangled)?;
                    Some(line_end(text, extent.end))
                }
                Some(Some(_)) => None,
            };
            match at {
                Some(at) => (with_header(text, at, list, key, &literal), 0),
                // The owner stands between braces, so the list has to stand between brackets.
                None => {
                    let array = format!("[{element}]").parse();
                    let array = Literal(array.map_err(|_| EditError::Entangled)?);
                    (add(text, &document, list, &array)?, 0)
                }
            }
        }
    };
    let after = splice.apply(text).map_err(|_| EditError::Entangled)?;
    let mut wanted = facts(text)?;
    let mut path = list.to_vec();
    path.extend([place.into(), key.into()]);
    wanted.push((path, says(&literal.0)));
    proven(text, &after, wanted)
}

/// An element with a header of its own.
fn with_header(text: &str, at: usize, list: &[Step], key: &str, literal: &Literal) -> Splice {
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
    splice(text, at..at, inserted)
}

/// The line of a key that stands in lines of its own.
fn cut_line(text: &str, value: &Value) -> Result<Range<usize>, EditError> {
    let span = value.span().ok_or(EditError::Entangled)?;
    let start = line_start(text, span.start);
    let end = line_end(text, span.end);
    let rest = text[span.end..end].trim();
    if text[start..span.start].trim_end().ends_with('=')
        && (rest.is_empty() || rest.starts_with('#'))
    {
        Ok(start..end)
    } else {
        Err(EditError::Entangled)
    }
}

/// A member of an inline table with its comma.
fn cut_member(text: &str, table: &InlineTable, value: &Value) -> Result<Range<usize>, EditError> {
    let span = value.span().ok_or(EditError::Entangled)?;
    let members = members::of_inline_table(text, table).ok_or(EditError::Entangled)?;
    let place = members.iter().position(|(value, _)| *value == span);
    let place = place.ok_or(EditError::Entangled)?;
    let members: Vec<_> = members.into_iter().map(|(_, member)| member).collect();
    members::cut(text, &members, place).ok_or(EditError::Entangled)
}

/// The inline table with braces of its own that holds what stands at the end of the way.
fn outermost<'d>(document: &'d Document<&str>, path: &[Step]) -> Option<&'d InlineTable> {
    let owners = (1..path.len()).rev();
    let owners = owners.map(|length| find(document.as_item(), &path[..length]));
    owners
        .map_while(|owner| match owner {
            Some(Item::Value(Value::InlineTable(table))) => Some(table),
            _ => None,
        })
        .find(|table| !table.is_dotted())
}

/// The lines of tables with everything in them. Lines of other tables in between part them.
fn blocks(text: &str, tables: &[&Table]) -> Vec<Range<usize>> {
    let mut parts = Vec::new();
    for table in tables {
        own_parts(table, &mut parts);
    }
    let mut lines: Vec<Range<usize>> = parts
        .into_iter()
        .map(|part| line_start(text, part.start)..line_end(text, part.end))
        .collect();
    lines.sort_by_key(|lines| lines.start);
    let mut blocks: Vec<Range<usize>> = Vec::new();
    for lines in lines {
        let near = blocks.last_mut().filter(|block| {
            let between = text.get(block.end..lines.start).unwrap_or_default();
            let mut between = between.lines().map(str::trim);
            between.all(|line| line.is_empty() || line.starts_with('#'))
        });
        match near {
            Some(block) => block.end = block.end.max(lines.end),
            None => blocks.push(lines),
        }
    }
    blocks
}

/// The bytes of a table and of those below it, each from its header to its last line.
fn own_parts(table: &Table, parts: &mut Vec<Range<usize>>) {
    let header = table.span().filter(|_| !table.is_implicit());
    parts.extend(join(header, own_lines(table)));
    for (_, item) in table {
        match item {
            Item::Table(inner) if !inner.is_dotted() => own_parts(inner, parts),
            Item::ArrayOfTables(inner) => inner.iter().for_each(|inner| own_parts(inner, parts)),
            _ => {}
        }
    }
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
            if table.is_dotted() {
                return add_dotted(text, document, path, known, table, literal);
            }
            if keys.len() > 1 && !within_a_list || !(has_lines || known == 0) {
                let (key, tables) = path.split_last().ok_or_else(|| no_way(path))?;
                if within_a_list {
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
            let mut dotted: Vec<String> = keys.iter().copied().map(written_key).collect();
            let mut braces = table;
            let mut length = known;
            while braces.is_dotted() {
                length -= 1;
                dotted.insert(0, path.get(length).map(written_step).unwrap_or_default());
                braces = match find(document.as_item(), &path[..length]) {
                    Some(Item::Value(Value::InlineTable(owner))) => owner,
                    _ => return Err(EditError::Entangled),
                };
            }
            let span = braces.span().ok_or(EditError::Entangled)?;
            let members = members::of_inline_table(text, braces).ok_or(EditError::Entangled)?;
            let members: Vec<_> = members.into_iter().map(|(_, member)| member).collect();
            let (at, mut before, behind) = members::behind(text, &span, &members);
            if members.is_empty() {
                before = " ".to_owned();
            }
            let inserted = format!(
                "{before}{} = {}{behind}",
                dotted.join("."),
                literal.written()
            );
            Ok(splice(text, at..at, inserted))
        }
        _ => Err(EditError::Entangled),
    }
}

/// The splice that adds a key to a table which is written with dots, behind its last line.
fn add_dotted(
    text: &str,
    document: &Document<&str>,
    path: &[Step],
    known: usize,
    table: &Table,
    literal: &Literal,
) -> Result<Splice, EditError> {
    // The dots begin behind the last table with lines of its own.
    let owner = (0..known)
        .rev()
        .find(|length| match find(document.as_item(), &path[..*length]) {
            Some(Item::Table(owner)) => !owner.is_dotted(),
            _ => false,
        })
        .ok_or(EditError::Entangled)?;
    let dotted: Vec<String> = path[owner..].iter().map(written_step).collect();
    let lines = own_lines(table).ok_or(EditError::Entangled)?;
    let at = line_end(text, lines.end);
    let newline = newline(text);
    let before = if text[..at].ends_with('\n') {
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

/// All values with their ways, sorted. A list without members says nothing.
type Facts = Vec<(Vec<Step>, String)>;

fn facts(text: &str) -> Result<Facts, EditError> {
    let found = values(text)?.into_iter();
    let mut facts: Facts = found
        .map(|found| (found.path, found.value))
        .filter(|(_, value)| !(value.starts_with('[') && is_empty_list(value)))
        .collect();
    facts.sort();
    Ok(facts)
}

fn is_empty_list(value: &str) -> bool {
    let value: Option<Value> = value.parse().ok();
    value.is_some_and(|value| value.as_array().is_some_and(Array::is_empty))
}

/// What a text has to say after the elements of a list took other places. A list of plain values is
/// one value.
fn placed(
    text: &str,
    path: &[Step],
    place: impl Fn(usize) -> Option<usize>,
) -> Result<Facts, EditError> {
    let depth = path.len().saturating_sub(1);
    let list = &path[..depth];
    let mut wanted = Facts::new();
    for (mut other, mut value) in facts(text)? {
        if other == list {
            let array: Result<Value, _> = value.parse();
            let Ok(Value::Array(array)) = array else {
                return Err(EditError::Entangled);
            };
            let mut members: Vec<(usize, String)> = Vec::new();
            for (at, member) in array.iter().enumerate() {
                members.extend(place(at).map(|at| (at, says(member))));
            }
            members.sort();
            value = members_only(members.into_iter().map(|(_, member)| member));
        } else if other.starts_with(list)
            && let Some(Step::Place(at)) = other.get_mut(depth)
        {
            match place(*at) {
                Some(moved) => *at = moved,
                None => continue,
            }
        }
        wanted.push((other, value));
    }
    Ok(wanted)
}

/// Marks a list by its members, whatever stands between them.
fn members_only(members: impl Iterator<Item = String>) -> String {
    let members: Vec<String> = members.collect();
    format!("\u{1}{}", members.join("\u{1}"))
}

/// The splice from a text to the one after it, if that says what is wanted.
fn proven(text: &str, after: &str, mut wanted: Facts) -> Result<Splice, EditError> {
    let mut found = facts(after).map_err(|_| EditError::Entangled)?;
    for facts in [&mut wanted, &mut found] {
        for (_, value) in facts.iter_mut() {
            // A list of plain values is compared by its members.
            let list: Option<Value> = value.starts_with('[').then(|| value.parse().ok()).flatten();
            if let Some(Value::Array(list)) = list {
                *value = members_only(list.iter().map(says));
            }
        }
        facts.retain(|(_, value)| value != "\u{1}");
        facts.sort();
    }
    if found == wanted {
        Ok(Splice::between(text, after))
    } else {
        Err(EditError::Entangled)
    }
}

/// Whether a splice changes this value, and nothing else, to what is expected.
fn checked(text: &str, splice: Splice, path: &[Step], expected: &str) -> Result<Splice, EditError> {
    let after = splice.apply(text).map_err(|_| EditError::Entangled)?;
    let mut wanted = facts(text)?;
    wanted.retain(|(other, _)| other != path);
    wanted.push((path.to_vec(), expected.to_owned()));
    proven(text, &after, wanted)?;
    Ok(splice)
}
