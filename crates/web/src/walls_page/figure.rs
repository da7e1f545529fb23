//! Figures of a wall that explain themselves, by their keys in addresses.

use rules::clearances::Stream;
use siting::{Against, Judgement};

/// A figure of a wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Figure {
    /// Which part of the wall is allowed, and its best place; with no stream for a two-in-one hood.
    Region(Option<Stream>),
    /// The best pair.
    Pair,
    /// The number of a rule.
    Limit(usize),
    /// What a rule says of a terminal.
    Judgement {
        /// The terminal of the job.
        terminal: usize,
        /// As what.
        stream: Stream,
        /// The rule.
        demand: usize,
        /// From what the distance is measured.
        against: Against,
    },
}

fn word(stream: Stream) -> &'static str {
    match stream {
        Stream::Intake => "intake",
        Stream::Exhaust => "exhaust",
    }
}

fn stream(word: &str) -> Option<Stream> {
    match word {
        "intake" => Some(Stream::Intake),
        "exhaust" => Some(Stream::Exhaust),
        _ => None,
    }
}

impl Figure {
    /// What a rule says of a terminal.
    pub fn of(terminal: usize, stream: Stream, judgement: &Judgement) -> Self {
        Self::Judgement {
            terminal,
            stream,
            demand: judgement.demand,
            against: judgement.against,
        }
    }

    /// Its key, like `terminal-1-intake-rule-4-thing-7`.
    pub fn key(self) -> String {
        match self {
            Self::Region(Some(stream)) => word(stream).to_owned(),
            Self::Region(None) => "two-in-one".to_owned(),
            Self::Pair => "pair".to_owned(),
            Self::Limit(demand) => format!("rule-{}", demand + 1),
            Self::Judgement {
                terminal,
                stream,
                demand,
                against,
            } => {
                let against = match against {
                    Against::Thing(thing) => format!("thing-{}", thing + 1),
                    Against::Grade => "ground".to_owned(),
                    Against::Snow => "snow".to_owned(),
                    Against::OwnOpening => "other".to_owned(),
                };
                let stream = word(stream);
                format!(
                    "terminal-{}-{stream}-rule-{}-{against}",
                    terminal + 1,
                    demand + 1
                )
            }
        }
    }

    /// The figure of a key.
    pub fn read(key: &str) -> Option<Self> {
        let place = |text: &str| text.parse::<usize>().ok()?.checked_sub(1);
        let parts: Vec<&str> = key.split('-').collect();
        Some(match parts.as_slice() {
            ["pair"] => Self::Pair,
            ["two", "in", "one"] => Self::Region(None),
            ["rule", demand] => Self::Limit(place(demand)?),
            ["terminal", terminal, as_what, "rule", demand, against @ ..] => Self::Judgement {
                terminal: place(terminal)?,
                stream: stream(as_what)?,
                demand: place(demand)?,
                against: match against {
                    ["thing", thing] => Against::Thing(place(thing)?),
                    ["ground"] => Against::Grade,
                    ["snow"] => Against::Snow,
                    ["other"] => Against::OwnOpening,
                    _ => return None,
                },
            },
            [one] => Self::Region(Some(stream(one)?)),
            _ => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_lead_back_to_their_figures() {
        for against in [
            Against::Thing(6),
            Against::Grade,
            Against::Snow,
            Against::OwnOpening,
        ] {
            let figure = Figure::Judgement {
                terminal: 0,
                stream: Stream::Exhaust,
                demand: 11,
                against,
            };
            assert_eq!(Figure::read(&figure.key()), Some(figure));
        }
        for figure in [
            Figure::Region(None),
            Figure::Region(Some(Stream::Intake)),
            Figure::Pair,
            Figure::Limit(3),
        ] {
            assert_eq!(Figure::read(&figure.key()), Some(figure));
        }
        for strange in [
            "",
            "rule-0",
            "rule--1",
            "terminal-1-intake-rule-1",
            "terminal-1-sideways-rule-1-snow",
            "terminal-1-intake-rule-1-thing-0",
            "window",
        ] {
            assert_eq!(Figure::read(strange), None, "{strange}");
        }
    }
}
