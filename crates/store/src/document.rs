//! A history replayed.

use std::fmt;

use crate::{Change, Event, Splice};

/// The text of a job as its history leaves it, with what can be undone and redone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    text: String,
    version: u64,
    away: bool,
    /// Changes in force, the last is undone first.
    done: Vec<Step>,
    /// Changes taken back, the last is redone first.
    undone: Vec<Step>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Step {
    version: u64,
    what: String,
    splice: Splice,
}

/// A history that contradicts itself: a line is missing, changed or out of order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Version of the event that does not fit.
    pub version: u64,
    /// Why.
    pub why: String,
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "the history breaks at version {}: {}",
            self.version, self.why
        )
    }
}

impl std::error::Error for Broken {}

impl Document {
    /// The text after these events, which begin with the first of the history.
    ///
    /// # Errors
    ///
    /// [`Broken`] if the events contradict each other.
    pub fn replay<'e>(events: impl IntoIterator<Item = &'e Event>) -> Result<Self, Broken> {
        let mut document = Self {
            text: String::new(),
            version: 0,
            away: false,
            done: Vec::new(),
            undone: Vec::new(),
        };
        for event in events {
            document.take(event)?;
        }
        if document.version == 0 {
            return Err(Broken {
                version: 0,
                why: "it has no event".into(),
            });
        }
        Ok(document)
    }

    /// Takes the next event; the document stays as it was if the event does not fit.
    ///
    /// # Errors
    ///
    /// [`Broken`] if it does not follow the last one.
    pub fn take(&mut self, event: &Event) -> Result<(), Broken> {
        let broken = |why: String| Broken {
            version: event.version,
            why,
        };
        if event.version != self.version + 1 {
            return Err(broken(format!("it should be version {}", self.version + 1)));
        }
        if (self.version == 0) != matches!(event.change, Change::Began { .. }) {
            return Err(broken("a history begins once, with its first event".into()));
        }
        match &event.change {
            Change::Began { text } => self.text.clone_from(text),
            Change::Edited { what, splice } => {
                self.text = splice
                    .apply(&self.text)
                    .map_err(|misfit| broken(misfit.to_string()))?;
                self.undone.clear();
                self.done.push(Step {
                    version: event.version,
                    what: what.clone(),
                    splice: splice.clone(),
                });
            }
            Change::Undone { of } => {
                let step = next(&self.done, *of).ok_or_else(|| broken(not_next("undo", *of)))?;
                self.text = step
                    .splice
                    .inverse()
                    .apply(&self.text)
                    .map_err(|misfit| broken(misfit.to_string()))?;
                self.undone.extend(self.done.pop());
            }
            Change::Redone { of } => {
                let step = next(&self.undone, *of).ok_or_else(|| broken(not_next("redo", *of)))?;
                self.text = step
                    .splice
                    .apply(&self.text)
                    .map_err(|misfit| broken(misfit.to_string()))?;
                self.done.extend(self.undone.pop());
            }
            Change::PutAway => self.away = true,
            Change::TakenOut => self.away = false,
            Change::Named { .. } => {}
            Change::Appended { text } => self.text.push_str(text),
        }
        self.version = event.version;
        Ok(())
    }

    /// The text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Version of the last event.
    pub fn version(&self) -> u64 {
        self.version
    }

    /// Whether it is put away.
    pub fn away(&self) -> bool {
        self.away
    }

    /// What the text calls itself: its key `name`, or nothing.
    pub fn title(&self) -> String {
        crate::edit::title(&self.text)
    }

    /// The change that takes the last one in force back, if there is any.
    pub fn undo(&self) -> Option<Change> {
        Some(Change::Undone {
            of: self.done.last()?.version,
        })
    }

    /// The change that makes the one last taken back again, if there is any and nothing was changed
    /// since.
    pub fn redo(&self) -> Option<Change> {
        Some(Change::Redone {
            of: self.undone.last()?.version,
        })
    }

    /// What [`Document::undo`] would take back, for a person.
    pub fn undoes(&self) -> Option<&str> {
        Some(&self.done.last()?.what)
    }

    /// What [`Document::redo`] would make again, for a person.
    pub fn redoes(&self) -> Option<&str> {
        Some(&self.undone.last()?.what)
    }
}

fn next(steps: &[Step], version: u64) -> Option<&Step> {
    steps.last().filter(|step| step.version == version)
}

fn not_next(verb: &str, version: u64) -> String {
    format!("there is no change of version {version} to {verb} next")
}
