//! What is collected while a file is read: problems and assumptions.

use std::collections::HashMap;
use std::ops::{Range, RangeInclusive};

use diagnostics::{Problem, Problems, nearest};
use units::{Quantity, System, Typed, Uncertainty};

use super::Assumed;
use super::value::{Given, Number, Path, Slot, shortened};
use crate::model::{Estimate, Origin};

/// What is collected while a file is read.
///
/// A number that is missing or was refused is carried on as NaN, which no comparison below calls
/// wrong a second time; it never leaves the reader, because a job with an error is not returned.
pub(crate) struct Reader {
    pub problems: Problems,
    pub assumed: Vec<Assumed>,
    /// The file that is being read, by its number in `problems`.
    pub source: usize,
    /// In which units assumptions are shown.
    pub system: System,
    /// How many more problems are listed.
    left: usize,
}

/// More problems than this are not listed.
const MOST_PROBLEMS: usize = 500;

impl Reader {
    pub fn new(problems: Problems) -> Self {
        Self {
            problems,
            assumed: Vec::new(),
            source: 0,
            system: System::Ip,
            left: MOST_PROBLEMS,
        }
    }

    /// Adds a problem in the file that is being read; after many, only the fact that there are more.
    pub fn problem(&mut self, problem: Problem) {
        match self.left {
            0 => return,
            1 => self.problems.push(
                Problem::error("there are too many problems to list", problem.span)
                    .help("solve those above first")
                    .in_source(self.source),
            ),
            _ => self.problems.push(problem.in_source(self.source)),
        }
        self.left -= 1;
    }

    /// Whether no more problems are listed.
    pub fn is_full(&self) -> bool {
        self.left == 0
    }

    /// Adds an error.
    pub fn error(
        &mut self,
        span: &Range<usize>,
        title: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.problem(Problem::error(title, span.clone()).help(help));
    }

    /// Adds a warning.
    pub fn warn(&mut self, span: &Range<usize>, title: impl Into<String>, help: impl Into<String>) {
        self.problem(Problem::warning(title, span.clone()).help(help));
    }

    /// Reads a quantity.
    pub fn quantity<Q: Quantity>(
        &mut self,
        text: &str,
        path: &Path,
        span: Range<usize>,
    ) -> Option<Typed<Q>> {
        match Typed::parse(text) {
            Ok(typed) => Some(typed),
            Err(error) => {
                self.problem(Problem::error(format!("{path}: {error}"), span));
                None
            }
        }
    }

    /// Notes a stated default; the same field is noted once.
    pub fn assume(&mut self, field: &str, value: impl Into<String>, reason: &'static str) {
        if !self.assumed.iter().any(|other| other.field == field) {
            self.assumed.push(Assumed {
                field: field.to_owned(),
                value: value.into(),
                reason,
            });
        }
    }

    /// A typed quantity (SI), refused outside a range. `accepted` completes "it must be …".
    pub fn within<Q: Quantity>(
        &mut self,
        field: &str,
        slot: &Slot<Typed<Q>>,
        range: RangeInclusive<f64>,
        accepted: &str,
    ) -> f64 {
        let Some(given) = slot.given() else {
            return f64::NAN;
        };
        let value = given.value.value.si();
        if range.contains(&value) {
            return value;
        }
        let title = format!("{field} cannot be {}", shortened(&given.value.text));
        self.error(&given.span, title, format!("it must be {accepted}"));
        f64::NAN
    }

    /// A typed quantity (SI) above zero.
    pub fn positive<Q: Quantity>(&mut self, field: &str, slot: &Slot<Typed<Q>>) -> f64 {
        self.within(field, slot, f64::MIN_POSITIVE..=f64::INFINITY, "above zero")
    }

    /// A typed quantity (SI), zero or above.
    pub fn not_negative<Q: Quantity>(&mut self, field: &str, slot: &Slot<Typed<Q>>) -> f64 {
        self.within(field, slot, 0.0..=f64::INFINITY, "zero or above")
    }

    /// A share from 0 to 1.
    pub fn share(&mut self, field: &str, slot: &Slot<Typed<units::Fraction>>) -> f64 {
        self.within(field, slot, 0.0..=1.0, "from 0 to 100 %")
    }

    /// The value (SI), or a stated default if the key is absent.
    pub fn or_default<Q: Quantity, T>(
        &mut self,
        field: &str,
        slot: &Slot<T>,
        value: f64,
        default: f64,
        reason: &'static str,
    ) -> f64 {
        if !slot.is_absent() {
            return value;
        }
        let text = Q::from_si(default).show(self.system);
        self.assume(field, text, reason);
        default
    }

    /// The value of a key, or a stated default if the key is absent.
    pub fn choice<T: Copy>(
        &mut self,
        field: &str,
        slot: &Slot<T>,
        default: T,
        text: &str,
        reason: &'static str,
    ) -> T {
        if slot.is_absent() {
            self.assume(field, text, reason);
        }
        slot.value().copied().unwrap_or(default)
    }

    /// A typed quantity whose uncertainty, if none was typed, is a stated half-width of the 95 %
    /// interval (SI).
    pub fn estimate<Q: Quantity>(
        &mut self,
        field: &str,
        given: &Typed<Q>,
        value: f64,
        half_width: Uncertainty,
        reason: &'static str,
    ) -> Estimate {
        let deviation = given.standard_deviation().unwrap_or_else(|| {
            let (width, text) = match half_width {
                Uncertainty::Relative(share) => {
                    (share * value.abs(), format!("± {:.0} %", share * 100.0))
                }
                Uncertainty::Absolute(width) => {
                    (width, format!("± {}", Q::from_si(width).show(self.system)))
                }
            };
            self.assume(&format!("uncertainty of {field}"), text, reason);
            width / 2.0
        });
        Estimate {
            value,
            deviation,
            origin: Origin::Typed(given.text.clone()),
        }
    }

    /// A stated default with its half-width of the 95 % interval (SI).
    pub fn default_estimate<Q: Quantity>(
        &mut self,
        field: &str,
        value: f64,
        half_width: f64,
        reason: &'static str,
    ) -> Estimate {
        let show = |si: f64| Q::from_si(si).show(self.system);
        let text = format!("{} ± {}", show(value), show(half_width));
        self.assume(field, text, reason);
        Estimate::default(value, half_width / 2.0, reason)
    }

    /// A number without a unit in a range, with a stated default and half-width.
    pub fn number(
        &mut self,
        field: &str,
        slot: &Slot<Number>,
        range: RangeInclusive<f64>,
        default: (f64, f64),
        reason: &'static str,
    ) -> Estimate {
        let (value, half_width) = default;
        let Some(given) = slot.given() else {
            if slot.is_absent() {
                self.assume(field, format!("{value} ± {half_width}"), reason);
            }
            return Estimate::default(value, half_width / 2.0, reason);
        };
        let number = &given.value;
        if !range.contains(&number.value) {
            let title = format!("{field} cannot be {}", shortened(&number.text));
            let help = if range.end().is_finite() {
                format!("it must be from {} to {}", range.start(), range.end())
            } else {
                format!("it must be {} or above", range.start())
            };
            self.error(&given.span, title, help);
        }
        let deviation = number.deviation.unwrap_or_else(|| {
            self.assume(
                &format!("uncertainty of {field}"),
                format!("± {half_width}"),
                reason,
            );
            half_width / 2.0
        });
        Estimate {
            value: number.value,
            deviation,
            origin: Origin::Typed(number.text.clone()),
        }
    }
}

/// The names of one kind of thing, for looking them up.
pub(crate) struct Names {
    /// What they name: "zone", "tap".
    kind: &'static str,
    list: Vec<(String, Range<usize>)>,
    /// Names in lower case, with their place in the list.
    index: HashMap<String, usize>,
}

impl Names {
    /// Takes the names; reports empty ones, duplicates and those that differ in case only.
    pub fn collect<'a, T: 'a>(
        kind: &'static str,
        members: &'a [Given<T>],
        name: impl Fn(&'a T) -> &'a Slot<String>,
        reader: &mut Reader,
    ) -> Self {
        let mut names = Self {
            kind,
            list: Vec::with_capacity(members.len()),
            index: HashMap::new(),
        };
        for member in members {
            let (text, span) = match name(&member.value).given() {
                Some(given) => (given.value.clone(), given.span.clone()),
                // Missing or refused, and reported; the place in the list is kept.
                None => (String::new(), member.span.clone()),
            };
            if let Some(first) = names.index(&text) {
                reader.problem(
                    Problem::error(
                        format!("two {kind}s are called \"{}\"", shortened(&text)),
                        span.clone(),
                    )
                    .label("again here")
                    .related(names.span(first), "first here")
                    .help("give each a name of its own"),
                );
            }
            names.add(text, span);
        }
        names
    }

    /// A list with one name that nobody typed.
    pub fn single(kind: &'static str, name: &str) -> Self {
        let mut names = Self {
            kind,
            list: Vec::new(),
            index: HashMap::new(),
        };
        names.add(name.to_owned(), 0..0);
        names
    }

    fn add(&mut self, name: String, span: Range<usize>) {
        if !name.is_empty() {
            self.index
                .entry(name.to_lowercase())
                .or_insert(self.list.len());
        }
        self.list.push((name, span));
    }

    /// Adds the names of another list.
    pub fn append(&mut self, more: Self) {
        for (name, span) in more.list {
            self.add(name, span);
        }
    }

    pub fn kind(&self) -> &'static str {
        self.kind
    }

    pub fn len(&self) -> usize {
        self.list.len()
    }

    pub fn index(&self, name: &str) -> Option<usize> {
        self.index.get(&name.to_lowercase()).copied()
    }

    pub fn iter(&self) -> impl Iterator<Item = &str> {
        self.list
            .iter()
            .map(|(name, _)| name.as_str())
            .filter(|name| !name.is_empty())
    }

    pub fn span(&self, index: usize) -> Range<usize> {
        self.list.get(index).map_or(0..0, |(_, span)| span.clone())
    }

    pub fn name(&self, index: usize) -> &str {
        self.list.get(index).map_or("", |(name, _)| name.as_str())
    }

    /// The index of a name; reports one that is not there, with the nearest that is.
    pub fn resolve(
        &self,
        field: &str,
        given: &Given<String>,
        reader: &mut Reader,
    ) -> Option<usize> {
        let index = self.index(&given.value);
        if index.is_none() {
            unknown_name(field, self.kind, given, self.iter(), reader);
        }
        index
    }
}

/// Reports a name that is not there, with the nearest that is.
pub(crate) fn unknown_name<'a>(
    field: &str,
    kind: &str,
    given: &Given<String>,
    known: impl Iterator<Item = &'a str>,
    reader: &mut Reader,
) {
    let known: Vec<&str> = known.collect();
    let title = format!(
        "{field}: there is no {kind} \"{}\"",
        shortened(&given.value)
    );
    let help = match nearest(&given.value, known.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if known.is_empty() => format!("the job has no {kind}"),
        None => format!("known: {}", shortened_list(&known)),
    };
    reader.error(&given.span, title, help);
}

fn shortened_list(names: &[&str]) -> String {
    const MOST: usize = 12;
    let mut text: Vec<String> = names
        .iter()
        .take(MOST)
        .map(|name| format!("\"{}\"", shortened(name)))
        .collect();
    if names.len() > MOST {
        text.push(format!("and {} more", names.len() - MOST));
    }
    text.join(", ")
}
