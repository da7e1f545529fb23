//! Reading one table of the file key by key, with a problem for everything that is not as asked.

use std::ops::Range;

use diagnostics::{Problem, Problems, nearest};
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use units::{Quantity, Typed};

/// A text or number with its place in the file.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct At<T> {
    pub value: T,
    pub span: Range<usize>,
}

/// The numbers that a key accepts.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Accepted {
    Finite,
    Above(f64),
    AtLeast(f64),
    Between(f64, f64),
    /// Above the first, at most the second.
    AboveUpTo(f64, f64),
}

impl Accepted {
    fn holds(self, number: f64) -> bool {
        number.is_finite()
            && match self {
                Self::Finite => true,
                Self::Above(least) => number > least,
                Self::AtLeast(least) => number >= least,
                Self::Between(least, most) => (least..=most).contains(&number),
                Self::AboveUpTo(least, most) => number > least && number <= most,
            }
    }

    fn words(self, unit: &str) -> String {
        let unit = if unit.is_empty() {
            String::new()
        } else {
            format!(" {unit}")
        };
        match self {
            Self::Finite => format!("any finite number{unit}"),
            Self::Above(least) => format!("above {least}{unit}"),
            Self::AtLeast(least) => format!("{least}{unit} or more"),
            Self::Between(least, most) => format!("{least} to {most}{unit}"),
            Self::AboveUpTo(least, most) => format!("above {least}, at most {most}{unit}"),
        }
    }
}

/// One table, for instance one `[[element]]`.
pub(crate) struct Table<'a> {
    entries: &'a DeTable<'a>,
    /// Where the table stands.
    pub span: Range<usize>,
    /// What the table is, for messages: `an element`.
    what: &'static str,
    /// The keys asked for so far, all of which are accepted.
    known: Vec<&'static str>,
}

impl<'a> Table<'a> {
    pub fn new(entries: &'a DeTable<'a>, span: Range<usize>, what: &'static str) -> Self {
        Self {
            entries,
            span,
            what,
            known: Vec::new(),
        }
    }

    /// The tables under a key that may stand several times, such as `[[node]]`; the shape says how
    /// they are written.
    pub fn tables(
        &mut self,
        key: &'static str,
        what: &'static str,
        shape: &str,
        problems: &mut Problems,
    ) -> Vec<Table<'a>> {
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let mut tables = Vec::new();
        let wrong = |span, problems: &mut Problems| {
            problems.push(
                Problem::error(format!("`{key}` is not a list of tables"), span)
                    .help(format!("write {shape}")),
            );
        };
        let Some(array) = value.get_ref().as_array() else {
            wrong(value.span(), problems);
            return tables;
        };
        for entry in array.iter() {
            match entry.get_ref().as_table() {
                Some(table) => tables.push(Table::new(table, entry.span(), what)),
                None => wrong(entry.span(), problems),
            }
        }
        tables
    }

    /// Whether the key is there.
    pub fn has(&self, key: &str) -> bool {
        self.entries.iter().any(|(name, _)| name.get_ref() == key)
    }

    /// The place of a key, or that of the table.
    pub fn place(&self, key: &str) -> Range<usize> {
        self.entries
            .iter()
            .find(|(name, _)| name.get_ref() == key)
            .map_or(self.span.clone(), |(name, _)| name.span())
    }

    /// A text that has to be there and may not be empty.
    pub fn text(&mut self, key: &'static str, problems: &mut Problems) -> Option<At<String>> {
        let Some(value) = self.get(key) else {
            self.missing(key, problems);
            return None;
        };
        self.string(key, value, problems)
    }

    /// A text that may be absent.
    pub fn text_if_any(
        &mut self,
        key: &'static str,
        problems: &mut Problems,
    ) -> Option<At<String>> {
        let value = self.get(key)?;
        self.string(key, value, problems)
    }

    /// A plain number in the unit named, for what has no unit of the trade.
    pub fn number(
        &mut self,
        key: &'static str,
        unit: &'static str,
        accepted: Accepted,
        problems: &mut Problems,
    ) -> Option<At<f64>> {
        if !self.has(key) {
            self.get(key);
            self.missing(key, problems);
            return None;
        }
        self.number_if_any(key, unit, accepted, problems)
    }

    /// The same, but it may be absent.
    pub fn number_if_any(
        &mut self,
        key: &'static str,
        unit: &'static str,
        accepted: Accepted,
        problems: &mut Problems,
    ) -> Option<At<f64>> {
        let value = self.get(key)?;
        let span = value.span();
        let Some(number) = plain_number(value.get_ref()) else {
            let (kind, ask) = (kind(value.get_ref()), number_in(unit));
            problems.push(
                Problem::error(format!("`{key}` is {kind}, but {ask} is asked for"), span)
                    .help(format!("accepted: {}", accepted.words(unit))),
            );
            return None;
        };
        self.in_range(
            key,
            At {
                value: number,
                span,
            },
            unit,
            accepted,
            problems,
        )
    }

    /// A quantity: a number in its SI unit, or a text with a unit.
    pub fn quantity<Q: Quantity>(
        &mut self,
        key: &'static str,
        si_unit: &'static str,
        accepted: Accepted,
        problems: &mut Problems,
    ) -> Option<At<f64>> {
        if !self.has(key) {
            self.get(key);
            self.missing(key, problems);
            return None;
        }
        self.quantity_if_any::<Q>(key, si_unit, accepted, problems)
    }

    /// The same, but it may be absent.
    pub fn quantity_if_any<Q: Quantity>(
        &mut self,
        key: &'static str,
        si_unit: &'static str,
        accepted: Accepted,
        problems: &mut Problems,
    ) -> Option<At<f64>> {
        let value = self.get(key)?;
        let span = value.span();
        let DeValue::String(text) = value.get_ref() else {
            if let Some(number) = plain_number(value.get_ref()) {
                return self.in_range(
                    key,
                    At {
                        value: number,
                        span,
                    },
                    si_unit,
                    accepted,
                    problems,
                );
            }
            problems.push(
                Problem::error(
                    format!(
                        "`{key}` is {}, but a {} is asked for",
                        kind(value.get_ref()),
                        Q::NAME
                    ),
                    span,
                )
                .help(format!(
                    "write {}, or a text with a unit, like {}",
                    number_in(si_unit),
                    Q::EXAMPLES
                )),
            );
            return None;
        };
        match Typed::<Q>::parse(text) {
            Ok(typed) => {
                if typed.uncertainty.is_some() {
                    problems.push(
                        Problem::warning(
                            format!("the uncertainty of `{key}` is not used"),
                            span.clone(),
                        )
                        .help("a raw network is solved once, with the numbers as they stand"),
                    );
                }
                let at = At {
                    value: typed.value.si(),
                    span,
                };
                self.in_range(key, at, si_unit, accepted, problems)
            }
            Err(error) => {
                problems.push(Problem::error(format!("`{key}`: {error}"), span));
                None
            }
        }
    }

    /// Notes every key that nobody asked for.
    pub fn finish(self, problems: &mut Problems) {
        for (key, _) in self.entries.iter() {
            if self.known.contains(&key.get_ref().as_ref()) {
                continue;
            }
            let mut problem = Problem::error(
                format!("`{}` is no key of {}", key.get_ref(), self.what),
                key.span(),
            );
            if let Some(near) = nearest(key.get_ref(), self.known.iter().copied()) {
                problem = problem.label(format!("did you mean `{near}`?"));
            }
            let known: Vec<String> = self.known.iter().map(|key| format!("`{key}`")).collect();
            problems.push(problem.help(format!("accepted here: {}", known.join(", "))));
        }
    }

    fn get(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        if !self.known.contains(&key) {
            self.known.push(key);
        }
        self.entries
            .iter()
            .find(|(name, _)| name.get_ref() == key)
            .map(|(_, value)| value)
    }

    fn missing(&self, key: &str, problems: &mut Problems) {
        problems.push(
            Problem::error(
                format!("{} needs the key `{key}`", self.what),
                self.span.clone(),
            )
            .label("it is missing here"),
        );
    }

    fn string(
        &self,
        key: &str,
        value: &Spanned<DeValue<'a>>,
        problems: &mut Problems,
    ) -> Option<At<String>> {
        let title = match value.get_ref() {
            DeValue::String(text) if !text.trim().is_empty() => {
                return Some(At {
                    value: text.trim().to_owned(),
                    span: value.span(),
                });
            }
            DeValue::String(_) => format!("`{key}` is empty"),
            other => format!("`{key}` is {}, but a text is asked for", kind(other)),
        };
        problems.push(Problem::error(title, value.span()));
        None
    }

    fn in_range(
        &self,
        key: &str,
        number: At<f64>,
        unit: &str,
        accepted: Accepted,
        problems: &mut Problems,
    ) -> Option<At<f64>> {
        if accepted.holds(number.value) {
            return Some(number);
        }
        problems.push(
            Problem::error(
                format!("`{key}` cannot be {}", with_unit(number.value, unit)),
                number.span,
            )
            .help(format!("accepted: {}", accepted.words(unit))),
        );
        None
    }
}

fn with_unit(number: f64, unit: &str) -> String {
    if unit.is_empty() {
        format!("{number}")
    } else {
        format!("{number} {unit}")
    }
}

fn number_in(unit: &str) -> String {
    if unit.is_empty() {
        "a plain number".to_owned()
    } else {
        format!("a number in {unit}")
    }
}

fn plain_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(number) => number.as_str().parse().ok(),
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix())
            .ok()
            .map(|number| number as f64),
        _ => None,
    }
}

fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
