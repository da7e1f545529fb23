//! The rules of one job: the chosen sets, with the overrides.

use std::fmt;

use crate::row::{Limit, Row, RuleSet};

/// A number that a job puts in place of that of a row, with its reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Override {
    /// Name of the row.
    pub id: String,
    /// The number in the kind of the row (SI; °C; ratio).
    pub value: f64,
    /// Why; printed wherever the row is used.
    pub reason: String,
    /// Who says so; empty if the file does not tell.
    pub who: String,
}

/// Why a book cannot be made.
#[derive(Debug, Clone, PartialEq)]
pub enum BookError {
    /// Two sets, each of which is the law of a place.
    TwoNationalSets(RuleSet, RuleSet),
    /// No row has this name.
    UnknownRow {
        /// The name.
        id: String,
        /// The most similar one.
        suggestion: Option<&'static str>,
    },
    /// The row belongs to none of the chosen sets.
    NotChosen {
        /// The row.
        row: &'static Row,
    },
    /// The row has no number.
    NoNumber {
        /// The row.
        row: &'static Row,
    },
    /// The number cannot be that of the row.
    Impossible {
        /// The row.
        row: &'static Row,
        /// The number (SI).
        value: f64,
    },
    /// The reason is missing.
    NoReason {
        /// The row.
        row: &'static Row,
    },
    /// Two overrides of one row.
    Twice {
        /// The row.
        row: &'static Row,
    },
}

impl fmt::Display for BookError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TwoNationalSets(one, other) => write!(
                f,
                "{one} and {other} are both the law of a place: choose one of them"
            ),
            Self::UnknownRow {
                id,
                suggestion: Some(near),
            } => write!(f, "there is no rule {id:?}; is {near:?} meant?"),
            Self::UnknownRow { id, .. } => write!(f, "there is no rule {id:?}"),
            Self::NotChosen { row } => {
                let sets: Vec<&str> = row.sets.iter().map(|set| set.name()).collect();
                write!(
                    f,
                    "the rule {:?} belongs to none of the chosen sets, but to {}",
                    row.id,
                    sets.join(", ")
                )
            }
            Self::NoNumber { row } => write!(
                f,
                "the rule {:?} has no number that could be replaced",
                row.id
            ),
            Self::Impossible { row, value } => {
                let kind = row.limit.map_or("number", |limit| limit.kind.name());
                write!(
                    f,
                    "{value} cannot be the {kind} of the rule {:?}: it has to be a number{}",
                    row.id,
                    match row.limit {
                        Some(limit) if limit.kind.positive() => " above zero",
                        _ => "",
                    }
                )
            }
            Self::NoReason { row } => write!(
                f,
                "the override of {:?} needs a reason, which is printed with it",
                row.id
            ),
            Self::Twice { row } => write!(f, "the rule {:?} is overridden twice", row.id),
        }
    }
}

impl std::error::Error for BookError {}

/// The rules of one job.
///
/// ```
/// use rules::{Override, RuleBook, RuleSet};
///
/// let shorter = Override {
///     id: "near fan".into(),
///     value: 2.4,
///     reason: "a mixing section lies between".into(),
///     who: "the installer".into(),
/// };
/// let book = RuleBook::new(&[RuleSet::Irc2024], vec![shorter]).unwrap();
/// let ruling = book.limit("near fan").unwrap();
/// assert_eq!(ruling.limit.value, 2.4);
/// assert_eq!(ruling.overridden.unwrap().reason, "a mixing section lies between");
/// assert!((book.limit("taps together").unwrap().limit.value - 0.9144).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RuleBook {
    sets: Vec<RuleSet>,
    overrides: Vec<(&'static Row, Override)>,
}

/// What a book says on one row with a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ruling<'a> {
    /// The row.
    pub row: &'static Row,
    /// The number that holds: that of the row, or of the override.
    pub limit: Limit,
    /// The override, if there is one.
    pub overridden: Option<&'a Override>,
}

impl Ruling<'_> {
    /// Whether a measured value (SI) keeps the rule. A row in doubt decides nothing: `None`,
    /// unless the job has overridden it.
    pub fn holds(&self, measured: f64) -> Option<bool> {
        (self.row.decides() || self.overridden.is_some()).then(|| self.limit.holds(measured))
    }

    /// The source of the number: of the row, or that it was overridden, why and by whom.
    pub fn source(&self) -> String {
        match self.overridden {
            None => self.row.source(),
            Some(own) if own.who.is_empty() => format!("overridden: {}", own.reason),
            Some(own) => format!("overridden by {}: {}", own.who, own.reason),
        }
    }
}

impl RuleBook {
    /// A book of the chosen sets. Common practice always belongs to it.
    ///
    /// # Errors
    ///
    /// [`BookError`]: more than one national set, or an override that names no row of the sets,
    /// has an impossible number or no reason.
    pub fn new(sets: &[RuleSet], overrides: Vec<Override>) -> Result<Self, BookError> {
        let mut chosen = vec![RuleSet::CommonPractice];
        for &set in sets {
            if let Some(&other) = chosen
                .iter()
                .find(|&&other| set.national() && other.national() && other != set)
            {
                return Err(BookError::TwoNationalSets(other, set));
            }
            if !chosen.contains(&set) {
                chosen.push(set);
            }
        }
        let mut book = Self {
            sets: chosen,
            overrides: Vec::new(),
        };
        for own in overrides {
            let row = book.check(&own)?;
            book.overrides.push((row, own));
        }
        Ok(book)
    }

    /// The row that an override replaces, if it can be made.
    fn check(&self, own: &Override) -> Result<&'static Row, BookError> {
        let row = crate::row(&own.id).ok_or_else(|| BookError::UnknownRow {
            id: own.id.clone(),
            suggestion: nearest(&own.id),
        })?;
        if !self.contains(row) {
            return Err(BookError::NotChosen { row });
        }
        let limit = row.limit.ok_or(BookError::NoNumber { row })?;
        if !own.value.is_finite() || (limit.kind.positive() && own.value <= 0.0) {
            return Err(BookError::Impossible {
                row,
                value: own.value,
            });
        }
        if own.reason.trim().is_empty() {
            return Err(BookError::NoReason { row });
        }
        if self.overrides.iter().any(|(known, _)| known.id == row.id) {
            return Err(BookError::Twice { row });
        }
        Ok(row)
    }

    /// Common practice alone.
    pub fn common_practice() -> Self {
        Self {
            sets: vec![RuleSet::CommonPractice],
            overrides: Vec::new(),
        }
    }

    /// The sets, common practice first.
    pub fn sets(&self) -> &[RuleSet] {
        &self.sets
    }

    /// Whether a row belongs to one of the sets.
    pub fn contains(&self, row: &Row) -> bool {
        row.sets.iter().any(|set| self.sets.contains(set))
    }

    /// All rows of the sets.
    pub fn rows(&self) -> impl Iterator<Item = &'static Row> + '_ {
        crate::rows().filter(|row| self.contains(row))
    }

    /// What the book says on a row with a number; `None` if the row does not exist, belongs to
    /// none of the sets, or has no number.
    pub fn limit(&self, id: &str) -> Option<Ruling<'_>> {
        crate::row(id)
            .filter(|row| self.contains(row))
            .and_then(|row| self.ruling(row))
    }

    /// The same for a row that is at hand, in any set; `None` if it has no number.
    pub fn ruling(&self, row: &'static Row) -> Option<Ruling<'_>> {
        let limit = row.limit?;
        let overridden = self
            .overrides
            .iter()
            .find(|(known, _)| known.id == row.id)
            .map(|(_, own)| own);
        let limit = match overridden {
            Some(own) => Limit {
                value: own.value,
                inch_pound: None,
                ..limit
            },
            None => limit,
        };
        Some(Ruling {
            row,
            limit,
            overridden,
        })
    }

    /// All overrides with their rows.
    pub fn overrides(&self) -> impl Iterator<Item = (&'static Row, &Override)> {
        self.overrides.iter().map(|(row, own)| (*row, own))
    }
}

/// The row whose name is most similar, if it is near enough to be meant.
pub fn nearest(id: &str) -> Option<&'static str> {
    let id = id.trim().to_lowercase();
    crate::rows()
        .map(|row| {
            (
                strsim::normalized_damerau_levenshtein(&id, &row.id.to_lowercase()),
                row.id,
            )
        })
        .filter(|(similarity, _)| *similarity >= 0.5)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, id)| id)
}
