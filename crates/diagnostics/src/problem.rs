//! Problems and their list.

use std::ops::Range;

use crate::Source;

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The file cannot be used as it is.
    Error,
    /// The file can be used, but something in it is probably not meant.
    Warning,
}

impl Severity {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
        }
    }
}

/// One thing that is wrong in a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, in one line.
    pub title: String,
    /// Which file of the list, see [`Problems::add_source`].
    pub source: usize,
    /// The bytes that cause it.
    pub span: Range<usize>,
    /// A few words beside the excerpt, may be empty.
    pub label: String,
    /// Other places that have to do with it, with a few words each.
    pub related: Vec<(Range<usize>, String)>,
    /// What is accepted, or what to do next.
    pub help: Vec<String>,
}

impl Problem {
    /// An error at a span of the first file.
    pub fn error(title: impl Into<String>, span: Range<usize>) -> Self {
        Self {
            severity: Severity::Error,
            title: title.into(),
            source: 0,
            span,
            label: String::new(),
            related: Vec::new(),
            help: Vec::new(),
        }
    }

    /// A warning at a span of the first file.
    pub fn warning(title: impl Into<String>, span: Range<usize>) -> Self {
        Self {
            severity: Severity::Warning,
            ..Self::error(title, span)
        }
    }

    /// The same problem with words beside the excerpt.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// The same problem with another place of the same file that has to do with it.
    pub fn related(mut self, span: Range<usize>, label: impl Into<String>) -> Self {
        self.related.push((span, label.into()));
        self
    }

    /// The same problem with advice.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }

    /// The same problem in another file of the list.
    pub fn in_source(mut self, source: usize) -> Self {
        self.source = source;
        self
    }
}

/// All problems of a file and of the files that it names.
#[derive(Debug, Clone, PartialEq)]
pub struct Problems {
    sources: Vec<Source>,
    list: Vec<Problem>,
}

impl Problems {
    /// An empty list for a file; takes over its [`Source::defects`].
    pub fn new(source: Source) -> Self {
        let mut problems = Self {
            sources: Vec::new(),
            list: Vec::new(),
        };
        problems.add_source(source);
        problems
    }

    /// Adds a file, takes over its [`Source::defects`], and returns its number for
    /// [`Problem::source`].
    pub fn add_source(&mut self, source: Source) -> usize {
        let number = self.sources.len();
        self.list.extend(
            source
                .defects()
                .iter()
                .map(|defect| defect.clone().in_source(number)),
        );
        self.sources.push(source);
        number
    }

    /// Adds a problem. One that says the same about the same place is not added again.
    pub fn push(&mut self, problem: Problem) {
        let known = |other: &Problem| {
            other.span == problem.span
                && other.source == problem.source
                && other.title == problem.title
        };
        // Only the latest are compared, so that a file full of mistakes stays quick to read.
        if !self.list.iter().rev().take(16).any(known) {
            self.list.push(problem);
        }
    }

    /// The files.
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// The problems in the order in which they stand in the files.
    pub fn list(&self) -> Vec<&Problem> {
        let mut list: Vec<&Problem> = self.list.iter().collect();
        list.sort_by_key(|problem| (problem.source, problem.span.start, problem.severity));
        list
    }

    /// How many problems of a severity there are.
    pub fn count(&self, severity: Severity) -> usize {
        self.list
            .iter()
            .filter(|problem| problem.severity == severity)
            .count()
    }

    /// Whether there is any error.
    pub fn have_errors(&self) -> bool {
        self.count(Severity::Error) > 0
    }

    /// Whether there is no problem at all.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The list for programs: an array of objects with `file`, `line`, `column`, `end` (line and
    /// column after the last character), `severity`, `message`, `label`, `related` and `help`.
    pub fn to_json(&self) -> serde_json::Value {
        let place = |source: &Source, offset: usize| {
            let place = source.place(offset);
            serde_json::json!({ "line": place.line, "column": place.column })
        };
        let object = |problem: &Problem| {
            let source = &self.sources[problem.source];
            let start = source.place(problem.span.start);
            let related = |(span, label): &(Range<usize>, String)| {
                serde_json::json!({
                    "start": place(source, span.start),
                    "end": place(source, span.end),
                    "label": label,
                })
            };
            serde_json::json!({
                "file": source.name(),
                "line": start.line,
                "column": start.column,
                "end": place(source, problem.span.end),
                "severity": problem.severity.name(),
                "message": problem.title,
                "label": problem.label,
                "related": problem.related.iter().map(related).collect::<Vec<_>>(),
                "help": problem.help,
            })
        };
        self.list().into_iter().map(object).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn problems_of_two_files_in_order() {
        let mut problems = Problems::new(Source::new("job.toml", "a = 1\nbé = 2\n"));
        let catalogue = problems.add_source(Source::from_bytes("units.toml", b"\xFF"));
        problems.push(
            Problem::warning("later", 9..11)
                .label("here")
                .help("do this"),
        );
        problems.push(Problem::error("earlier", 0..1).related(6..7, "and here"));
        problems.push(Problem::error("earlier", 0..1));
        assert_eq!(catalogue, 1);
        assert_eq!(problems.count(Severity::Error), 2);
        assert_eq!(problems.count(Severity::Warning), 1);
        let titles: Vec<&str> = problems.list().iter().map(|p| p.title.as_str()).collect();
        assert_eq!(titles, ["earlier", "later", "the file is not UTF-8 text"]);
        assert_eq!(
            problems.to_json()[1],
            serde_json::json!({
                "file": "job.toml", "line": 2, "column": 3, "end": { "line": 2, "column": 5 },
                "severity": "warning", "message": "later", "label": "here", "related": [],
                "help": ["do this"],
            })
        );
        assert_eq!(problems.to_json()[0]["related"][0]["start"]["line"], 2);
        assert_eq!(problems.to_json()[2]["file"], "units.toml");
    }
}
