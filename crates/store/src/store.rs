//! Where histories lie.

use std::fmt;
use std::future::Future;
use std::pin::Pin;

use crate::{Broken, Document, Event};

/// An answer that may take its time: a disk, a server, the database of a browser.
pub type Answer<'a, T> = Pin<Box<dyn Future<Output = Result<T, StoreError>> + Send + 'a>>;

/// What a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A job.
    Job,
    /// A catalogue of units, which jobs name.
    Catalogue,
    /// The journal of a job's set-up day, under the name of the job. It only grows.
    Journal,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Job, Self::Catalogue, Self::Journal];

    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Job => "job",
            Self::Catalogue => "catalogue",
            Self::Journal => "journal",
        }
    }
}

/// By what a text is found: what it is and its name, in the form of a file name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key {
    kind: Kind,
    name: String,
}

impl Key {
    /// Longest name (bytes).
    pub const LONGEST: usize = 80;

    /// The key of a name, if it is one: up to [`Key::LONGEST`] of the letters a to z, digits, `-`,
    /// `_` and `.`, and no `.` in front. So it can stand in an address and name a file anywhere.
    ///
    /// ```
    /// use store::{Key, Kind};
    /// assert!(Key::new(Kind::Job, "birch-street-12").is_some());
    /// assert!(Key::new(Kind::Job, "../passwords").is_none());
    /// ```
    pub fn new(kind: Kind, name: &str) -> Option<Self> {
        let good =
            |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || b"-_.".contains(&byte);
        let fits = !name.is_empty()
            && name.len() <= Self::LONGEST
            && !name.starts_with('.')
            && name.bytes().all(good);
        fits.then(|| Self {
            kind,
            name: name.to_owned(),
        })
    }

    /// A key made from any words, for instance the name of a house.
    ///
    /// ```
    /// use store::{Key, Kind};
    /// assert_eq!(Key::from_words(Kind::Job, "Smith, 12 Birch St.").name(), "smith-12-birch-st");
    /// assert_eq!(Key::from_words(Kind::Job, "…").name(), "job");
    /// ```
    pub fn from_words(kind: Kind, words: &str) -> Self {
        let mut name = String::new();
        for c in words.chars().flat_map(char::to_lowercase) {
            if name.len() >= Self::LONGEST - 8 {
                break;
            }
            if c.is_ascii_alphanumeric() {
                name.push(c);
            } else if !name.is_empty() && !name.ends_with('-') {
                name.push('-');
            }
        }
        let name = name.trim_end_matches('-');
        let name = if name.is_empty() { kind.name() } else { name };
        Self {
            kind,
            name: name.to_owned(),
        }
    }

    /// The same with a number behind, to tell it from others of its name.
    #[must_use]
    pub fn numbered(&self, number: u64) -> Self {
        let room = Self::LONGEST - 21;
        let name = self.name.get(..room).unwrap_or(&self.name);
        Self {
            kind: self.kind,
            name: format!("{name}-{number}"),
        }
    }

    /// What it is.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.kind.name(), self.name)
    }
}

/// The end of a history: what a list shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// What it is and how it is called.
    pub key: Key,
    /// Version of the last event.
    pub version: u64,
    /// When that was written (seconds since 1970-01-01T00:00:00Z).
    pub at: i64,
    /// What the text calls itself, see [`Document::title`].
    pub title: String,
    /// Whether it is put away, see [`Document::away`].
    pub away: bool,
}

/// Why a store could not do what was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoreError {
    /// There is no text of this key.
    Unknown(Key),
    /// Somebody else has written in the meantime: the history ends at another version than expected.
    Moved {
        /// Version at which it ends now; 0 if there is none.
        now: u64,
    },
    /// The events contradict each other.
    Broken(Broken),
    /// The medium failed, in its own words.
    Failed(String),
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown(key) => write!(f, "there is no {key}"),
            Self::Moved { now } => write!(
                f,
                "it was changed in the meantime, in another window or by somebody else; it is at version {now} now"
            ),
            Self::Broken(broken) => broken.fmt(f),
            Self::Failed(why) => write!(f, "the store failed: {why}"),
        }
    }
}

impl std::error::Error for StoreError {}

impl From<Broken> for StoreError {
    fn from(broken: Broken) -> Self {
        Self::Broken(broken)
    }
}

/// A place for histories.
///
/// Whoever implements it keeps three promises: what was acknowledged is found again, whatever happens
/// to the process afterwards; events and attachments are never changed or removed; of two writers
/// that expect the same version one succeeds and the other gets [`StoreError::Moved`].
pub trait Store: Send + Sync {
    /// Appends an event to the history that is expected to end at the version before it (an event of
    /// version 1 begins a history). `document` is the text after the event; the store may keep it so
    /// that it need not replay the history.
    fn append<'a>(
        &'a self,
        key: &'a Key,
        event: &'a Event,
        document: &'a Document,
    ) -> Answer<'a, ()>;

    /// The whole history of a text in the order of its versions.
    fn history<'a>(&'a self, key: &'a Key) -> Answer<'a, Vec<Event>>;

    /// The text as it stands, and where its history ends.
    fn current<'a>(&'a self, key: &'a Key) -> Answer<'a, (Head, String)>;

    /// Keeps bytes beside a text, a photo for instance, under a name that tells them from all others,
    /// as their hash does. What is kept under a name already stays.
    fn attach<'a>(&'a self, key: &'a Key, name: &'a str, bytes: &'a [u8]) -> Answer<'a, ()>;

    /// The bytes beside a text that are kept under a name, if there are any.
    fn attached<'a>(&'a self, key: &'a Key, name: &'a str) -> Answer<'a, Option<Vec<u8>>>;

    /// All texts of a kind, the one that was last written first.
    fn heads(&self, kind: Kind) -> Answer<'_, Vec<Head>>;
}
