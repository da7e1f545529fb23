//! Values of the file: what a key accepts, and how it is read with its problems.
//!
//! A table of the file is described once, by the macro `table!`. From this one description come the
//! struct, its reading (unknown keys, missing keys and bad values are all reported in one pass), the
//! JSON schema and the reference page, so that they cannot drift apart.

use std::fmt;
use std::ops::Range;

use diagnostics::{Problem, nearest};
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use units::{Quantity, Typed};

use super::reader::Reader;

/// What a key accepts, for the schema and the reference page.
#[derive(Debug, Clone)]
pub enum Shape {
    /// Any text.
    Text,
    /// Yes or no.
    Flag,
    /// A whole number, zero or more.
    Count,
    /// A number without a unit, bare or as text with its uncertainty.
    Number,
    /// A number with its unit, as text.
    Quantity {
        /// What it is, for instance `a flow`.
        name: &'static str,
        /// How it is written.
        examples: &'static str,
        /// Whether a bare number will do.
        money: bool,
    },
    /// Text in a form of its own.
    Written {
        /// What it is.
        name: &'static str,
        /// How it is written.
        examples: &'static str,
    },
    /// One of these words.
    Words(Vec<&'static str>),
    /// Several of the same; one alone need not be put in brackets unless it is a table.
    List(Box<Shape>),
    /// A table whose keys are names chosen by the writer.
    Named(Box<Shape>),
    /// A table with known keys.
    Table(Table),
}

/// A table with known keys.
#[derive(Debug, Clone)]
pub struct Table {
    /// What it describes.
    pub about: String,
    /// Its keys.
    pub fields: Vec<Field>,
}

/// A key of a table.
#[derive(Debug, Clone)]
pub struct Field {
    /// The key.
    pub key: &'static str,
    /// What it means; of an optional key also what is taken when it is absent.
    pub about: String,
    /// Whether it must be there.
    pub required: bool,
    /// What it accepts.
    pub shape: Shape,
}

impl Shape {
    /// What is accepted, in words for a message.
    pub fn accepted(&self) -> String {
        match self {
            Self::Text => "text in quotes".into(),
            Self::Flag => "true or false".into(),
            Self::Count => "a whole number".into(),
            Self::Number => "a number, like 0.65 or \"0.65 ± 0.05\"".into(),
            Self::Quantity { name, examples, .. } | Self::Written { name, examples } => {
                format!("{name} in quotes, like {examples}")
            }
            Self::Words(words) => match words.as_slice() {
                [] => "nothing".into(),
                [only] => format!("\"{only}\""),
                [first @ .., last] => {
                    let first: Vec<String> =
                        first.iter().map(|word| format!("\"{word}\"")).collect();
                    format!("{} or \"{last}\"", first.join(", "))
                }
            },
            Self::List(item) => match item.as_ref() {
                Self::Table(_) => "tables in double brackets".into(),
                item => format!("a list in brackets; each is {}", item.accepted()),
            },
            Self::Named(item) => {
                format!("a table of names; each with {}", item.accepted())
            }
            Self::Table(_) => "a table".into(),
        }
    }
}

/// Where a value stands in the file, by its keys.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Path<'a> {
    parent: Option<&'a Path<'a>>,
    key: &'a str,
}

impl<'a> Path<'a> {
    pub const ROOT: Path<'static> = Path {
        parent: None,
        key: "",
    };

    pub fn child(&'a self, key: &'a str) -> Path<'a> {
        Path {
            parent: Some(self),
            key,
        }
    }
}

impl fmt::Display for Path<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(parent) = self.parent.filter(|parent| !parent.key.is_empty()) {
            write!(f, "{parent}.")?;
        }
        f.write_str(self.key)
    }
}

/// A value with the place where it was typed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Given<T> {
    pub value: T,
    pub span: Range<usize>,
}

/// What stands behind a key.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) enum Slot<T> {
    /// The key is not there.
    #[default]
    Absent,
    /// The key is there, and its value was refused with a problem.
    Refused,
    /// The key has a good value.
    Good(Given<T>),
}

impl<T> Slot<T> {
    /// The value with its place, if it is there and good.
    pub fn given(&self) -> Option<&Given<T>> {
        match self {
            Self::Good(given) => Some(given),
            _ => None,
        }
    }

    /// The value, if it is there and good.
    pub fn value(&self) -> Option<&T> {
        self.given().map(|given| &given.value)
    }

    pub fn is_absent(&self) -> bool {
        matches!(self, Self::Absent)
    }
}

impl<T> Slot<Vec<Given<T>>> {
    /// The elements of a list; none if it is absent.
    pub fn each(&self) -> &[Given<T>] {
        self.value().map_or(&[], Vec::as_slice)
    }
}

/// A value of the parsed file with its place.
pub(crate) type Item<'i> = Spanned<DeValue<'i>>;

/// What a key of the file may hold.
pub(crate) trait Value: Sized {
    /// What is accepted.
    fn shape() -> Shape;

    /// Reads the value; reports what is wrong with it.
    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self>;
}

pub(crate) fn slot<T: Value>(item: &Item, path: &Path, reader: &mut Reader) -> Slot<T> {
    match T::read(item, path, reader) {
        Some(value) => Slot::Good(Given {
            value,
            span: item.span(),
        }),
        None => Slot::Refused,
    }
}

/// Reports a value of the wrong kind.
fn wrong_kind<T: Value>(item: &Item, path: &Path, reader: &mut Reader) -> Option<T> {
    let found = match item.get_ref() {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a bare number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    };
    reader.problem(
        Problem::error(format!("{path} cannot be {found}"), item.span())
            .label(format!("found {found}"))
            .help(format!("{path} takes {}", T::shape().accepted())),
    );
    None
}

impl Value for String {
    fn shape() -> Shape {
        Shape::Text
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        match item.get_ref() {
            DeValue::String(text) if text.trim().is_empty() => {
                reader.problem(Problem::error(format!("{path} is empty"), item.span()));
                None
            }
            DeValue::String(text) => Some(text.trim().to_owned()),
            _ => wrong_kind(item, path, reader),
        }
    }
}

impl Value for bool {
    fn shape() -> Shape {
        Shape::Flag
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        match item.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            _ => wrong_kind(item, path, reader),
        }
    }
}

impl Value for u32 {
    fn shape() -> Shape {
        Shape::Count
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        match item.get_ref() {
            DeValue::Integer(number) => match number.as_str().replace('_', "").parse() {
                Ok(count) if number.radix() == 10 && count <= 1000 => Some(count),
                _ => {
                    reader.problem(
                        Problem::error(format!("{path} is not a sensible count"), item.span())
                            .help(format!("{path} is a whole number from 0 to 1000")),
                    );
                    None
                }
            },
            _ => wrong_kind(item, path, reader),
        }
    }
}

/// A number without a unit, with an optional uncertainty (half-width of the 95 % interval, two
/// standard deviations).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Number {
    pub value: f64,
    pub deviation: Option<f64>,
    pub text: String,
}

impl Number {
    fn parse(text: &str) -> Option<Self> {
        let number = |text: &str| {
            let number: f64 = text.trim().replace(',', ".").parse().ok()?;
            (number.abs() <= 1e12).then_some(number)
        };
        let (value, width) = ["±", "+/-", "+-"]
            .into_iter()
            .find_map(|sign| text.split_once(sign))
            .map_or((text, None), |(value, width)| (value, Some(width)));
        let value = number(value)?;
        let deviation = match width {
            None => None,
            Some(width) => {
                let width = match width.trim().strip_suffix('%') {
                    Some(percent) => number(percent)? / 100.0 * value.abs(),
                    None => number(width)?,
                };
                Some((width > 0.0).then_some(width / 2.0)?)
            }
        };
        Some(Self {
            value,
            deviation,
            text: text.trim().to_owned(),
        })
    }
}

impl Value for Number {
    fn shape() -> Shape {
        Shape::Number
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let text = match item.get_ref() {
            DeValue::String(text) => text.as_ref(),
            DeValue::Integer(number) if number.radix() == 10 => number.as_str(),
            DeValue::Float(number) => number.as_str(),
            _ => return wrong_kind(item, path, reader),
        };
        let number = Self::parse(text);
        if number.is_none() {
            reader.problem(
                Problem::error(
                    format!("{path} is not a number without a unit"),
                    item.span(),
                )
                .help(format!("{path} takes {}", Shape::Number.accepted())),
            );
        }
        number
    }
}

impl<Q: Quantity> Value for Typed<Q> {
    fn shape() -> Shape {
        Shape::Quantity {
            name: Q::NAME,
            examples: Q::EXAMPLES,
            money: Q::MONEY,
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        // A bare number is read like text, so that its message is the one for a missing unit.
        let text = match item.get_ref() {
            DeValue::String(text) => text.as_ref(),
            DeValue::Integer(number) if number.radix() == 10 => number.as_str(),
            DeValue::Float(number) => number.as_str(),
            _ => return wrong_kind(item, path, reader),
        };
        reader.quantity(text, path, item.span())
    }
}

impl<T: Value> Value for Vec<Given<T>> {
    fn shape() -> Shape {
        Shape::List(Box::new(T::shape()))
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let mut list = Vec::new();
        let mut refused = false;
        const LONGEST: usize = 500;
        if let DeValue::Array(items) = item.get_ref()
            && items.len() > LONGEST
        {
            reader.problem(
                Problem::error(format!("{path} has {} members", items.len()), item.span())
                    .help(format!("at most {LONGEST} are read")),
            );
            return None;
        }
        let mut add = |item: &Item, reader: &mut Reader| match T::read(item, path, reader) {
            Some(value) => list.push(Given {
                value,
                span: item.span(),
            }),
            None => refused = true,
        };
        match item.get_ref() {
            DeValue::Array(items) => items.iter().for_each(|item| add(item, reader)),
            DeValue::Table(_) if matches!(T::shape(), Shape::Table(_)) => {
                reader.problem(
                    Problem::error(format!("there may be several {path}"), item.span())
                        .help(format!("write [[{path}]] with double brackets")),
                );
                return None;
            }
            _ => add(item, reader),
        }
        // A list of tables keeps its good members, so that names in it are still known.
        let tables = matches!(T::shape(), Shape::Table(_));
        (!refused || tables).then_some(list)
    }
}

/// A table whose keys are names chosen by the writer, in the order in which they stand.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Named<T> {
    pub members: Vec<(Given<String>, Given<T>)>,
    /// Whether some were refused.
    pub incomplete: bool,
}

impl<T: Value> Value for Named<T> {
    fn shape() -> Shape {
        Shape::Named(Box::new(T::shape()))
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let DeValue::Table(table) = item.get_ref() else {
            return wrong_kind(item, path, reader);
        };
        let mut named = Vec::new();
        for (key, item) in table {
            if let Some(value) = T::read(item, &path.child(key.get_ref()), reader) {
                let name = Given {
                    value: key.get_ref().trim().to_owned(),
                    span: key.span(),
                };
                named.push((
                    name,
                    Given {
                        value,
                        span: item.span(),
                    },
                ));
            }
        }
        named.sort_by_key(|(name, _)| name.span.start);
        Some(Self {
            incomplete: named.len() < table.len(),
            members: named,
        })
    }
}

/// The text behind a key, for values in a form of their own.
pub(crate) fn text<'a, T: Value>(
    item: &'a Item,
    path: &Path,
    reader: &mut Reader,
) -> Option<&'a str> {
    match item.get_ref() {
        DeValue::String(text) => Some(text.as_ref()),
        _ => {
            wrong_kind::<T>(item, path, reader);
            None
        }
    }
}

/// One of several words, as written in the file, in any case.
pub(crate) fn word<T: Copy>(
    item: &Item,
    path: &Path,
    reader: &mut Reader,
    words: &[(&'static str, T)],
) -> Option<T> {
    let shape = Shape::Words(words.iter().map(|(word, _)| *word).collect());
    let DeValue::String(text) = item.get_ref() else {
        reader.problem(
            Problem::error(format!("{path} is a word"), item.span())
                .help(format!("{path} takes {}", shape.accepted())),
        );
        return None;
    };
    let text = text.trim();
    if let Some((_, meaning)) = words
        .iter()
        .find(|(word, _)| word.eq_ignore_ascii_case(text))
    {
        return Some(*meaning);
    }
    let mut problem = Problem::error(
        format!("{path} cannot be \"{}\"", shortened(text)),
        item.span(),
    );
    if let Some(near) = nearest(text, words.iter().map(|(word, _)| *word)) {
        problem = problem.help(format!("did you mean \"{near}\"?"));
    }
    reader.problem(problem.help(format!("{path} takes {}", shape.accepted())));
    None
}

/// Declares the words by which a value is written in the file.
macro_rules! words {
    ($type:ty { $($word:literal => $meaning:expr),+ $(,)? }) => {
        impl $crate::file::value::Value for $type {
            fn shape() -> $crate::file::value::Shape {
                $crate::file::value::Shape::Words(vec![$($word),+])
            }

            fn read(
                item: &$crate::file::value::Item,
                path: &$crate::file::value::Path,
                reader: &mut $crate::file::reader::Reader,
            ) -> Option<Self> {
                $crate::file::value::word(item, path, reader, &[$(($word, $meaning)),+])
            }
        }
    };
}
pub(crate) use words;

/// The keys of a table of the file.
pub(crate) fn keys<'a, T: Value>(
    item: &'a Item,
    path: &Path,
    reader: &mut Reader,
) -> Option<&'a DeTable<'a>> {
    match item.get_ref() {
        DeValue::Table(table) => Some(table),
        _ => {
            wrong_kind::<T>(item, path, reader);
            None
        }
    }
}

/// Reports a key that the table does not have; returns the key that was probably meant.
pub(crate) fn unknown_key(
    key: &Spanned<std::borrow::Cow<str>>,
    path: &Path,
    reader: &mut Reader,
    known: &[&'static str],
) -> Option<&'static str> {
    if reader.is_full() {
        return None;
    }
    let full = path.child(key.get_ref()).to_string();
    let mut problem = Problem::error(
        format!("{} is not a known key", shortened(&full)),
        key.span(),
    );
    let meant = nearest(key.get_ref(), known.iter().copied());
    problem = match meant {
        Some(near) => problem.help(format!("did you mean {near}?")),
        None => problem.help(format!("known keys here: {}", known.join(", "))),
    };
    reader.problem(problem);
    meant
}

/// Reports a key that a table must have.
pub(crate) fn missing_key(item: &Item, path: &Path, reader: &mut Reader, field: &Field) {
    let about = field
        .about
        .split_once(". ")
        .map_or(field.about.as_str(), |(first, _)| first);
    let title = format!("{} is missing", path.child(field.key));
    let help = match &field.shape {
        Shape::Table(_) => format!("add a table [{}]: {about}", path.child(field.key)),
        Shape::List(item) if matches!(item.as_ref(), Shape::Table(_)) => {
            format!("add a table [[{}]]: {about}", path.child(field.key))
        }
        shape => format!("add {} = {}: {about}", field.key, shape.accepted()),
    };
    reader.problem(Problem::error(title, item.span()).help(help));
}

/// A key as it stands in the file: Rust's own words carry a mark.
pub(crate) fn key(field: &'static str) -> &'static str {
    field.strip_prefix("r#").unwrap_or(field)
}

/// At most 60 characters, so that a message stays readable whatever was typed.
pub(crate) fn shortened(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        text.to_owned()
    } else {
        text.chars().take(LONGEST).chain("…".chars()).collect()
    }
}

/// Describes a table of the file.
macro_rules! table {
    (
        $(#[doc = $about:literal])+
        $name:ident {
            $($(#[doc = $field_about:literal])+ $need:ident $field:ident: $type:ty,)+
        }
    ) => {
        $(#[doc = $about])+
        #[derive(Debug, Clone, Default)]
        pub(crate) struct $name {
            $($(#[doc = $field_about])+ pub $field: $crate::file::value::Slot<$type>,)+
        }

        impl $crate::file::value::Value for $name {
            fn shape() -> $crate::file::value::Shape {
                use $crate::file::value::{Field, Shape, Table, key};
                Shape::Table(Table {
                    about: concat!($($about),+).trim().to_owned(),
                    fields: vec![$(Field {
                        key: key(stringify!($field)),
                        about: concat!($($field_about),+).trim().to_owned(),
                        required: stringify!($need) == "required",
                        shape: <$type>::shape(),
                    }),+],
                })
            }

            fn read(
                item: &$crate::file::value::Item,
                path: &$crate::file::value::Path,
                reader: &mut $crate::file::reader::Reader,
            ) -> Option<Self> {
                use $crate::file::value::{Field, key, keys, missing_key, slot, unknown_key};
                let table = keys::<Self>(item, path, reader)?;
                let mut read = Self::default();
                // A key that was misspelt is not missing too.
                let mut meant = Vec::new();
                for (name, item) in table {
                    match name.get_ref().as_ref() {
                        $(typed if typed == key(stringify!($field)) => {
                            read.$field = slot(item, &path.child(typed), reader);
                        })+
                        _ => meant.extend(unknown_key(
                            name,
                            path,
                            reader,
                            &[$(key(stringify!($field))),+],
                        )),
                    }
                }
                $(if stringify!($need) == "required"
                    && read.$field.is_absent()
                    && !meant.contains(&key(stringify!($field)))
                {
                    missing_key(item, path, reader, &Field {
                        key: key(stringify!($field)),
                        about: concat!($($field_about),+).trim().to_owned(),
                        required: true,
                        shape: <$type>::shape(),
                    });
                })+
                Some(read)
            }
        }
    };
}
pub(crate) use table;
