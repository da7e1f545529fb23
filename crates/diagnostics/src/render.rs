//! Problems as text for people.

use std::ops::Range;

use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::{Problem, Problems, Severity, Source};

/// How text is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Plain text.
    Plain,
    /// With the colours of a terminal.
    Coloured,
}

/// More problems than this are counted, not printed.
const MOST_PRINTED: usize = 50;

/// Width of the text [characters].
const WIDTH: usize = 100;

/// Longer lines are cut around the place that matters.
const LONGEST_LINE: usize = 400;

impl Problems {
    /// The list for people: title, file, line, column, excerpt and advice of each problem, in the
    /// order in which they stand in the files, with an empty line between them.
    pub fn render(&self, style: Style) -> String {
        let renderer = match style {
            Style::Plain => Renderer::plain(),
            Style::Coloured => Renderer::styled(),
        };
        let renderer = renderer.term_width(WIDTH);
        let list = self.list();
        let mut text = String::new();
        for problem in list.iter().take(MOST_PRINTED) {
            if !text.is_empty() {
                text.push('\n');
            }
            let source = &self.sources()[problem.source];
            text.push_str(&renderer.render(&[group(problem, source)]));
            text.push('\n');
        }
        if list.len() > MOST_PRINTED {
            text.push_str(&format!("\n… and {} more\n", list.len() - MOST_PRINTED));
        }
        text
    }
}

fn group<'a>(problem: &'a Problem, source: &'a Source) -> Group<'a> {
    let level = match problem.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let mut group = Group::with_title(level.primary_title(problem.title.as_str()));

    let place = source.place(problem.span.start);
    let window = Window::around(source, place.line, &problem.span);
    let mut excerpt = Snippet::source(window.text.clone()).line_start(place.line);
    if window.cut {
        let origin = Origin::path(source.name())
            .line(place.line)
            .char_column(place.column);
        group = group.element(origin);
    } else {
        excerpt = excerpt.path(source.name());
    }
    excerpt = excerpt.annotation(window.annotation(
        AnnotationKind::Primary,
        &problem.span,
        &problem.label,
    ));
    let mut elsewhere = Vec::new();
    for (span, label) in &problem.related {
        let line = source.place(span.start).line;
        if line == place.line && !window.cut {
            excerpt = excerpt.annotation(window.annotation(AnnotationKind::Context, span, label));
        } else {
            let window = Window::around(source, line, span);
            let annotation = window.annotation(AnnotationKind::Context, span, label);
            let path = (!window.cut).then(|| source.name());
            elsewhere.push(
                Snippet::source(window.text)
                    .line_start(line)
                    .path(path)
                    .annotation(annotation),
            );
        }
    }
    group = group.element(excerpt).elements(elsewhere);
    group.elements(
        problem
            .help
            .iter()
            .map(|help| Level::HELP.message(help.as_str())),
    )
}

/// The part of a line that is shown.
struct Window {
    text: String,
    /// Byte offset of the text in the source, without what stands for the part cut away.
    start: usize,
    /// Bytes of the text before the one at `start`.
    lead: usize,
    cut: bool,
}

impl Window {
    fn around(source: &Source, line: usize, span: &Range<usize>) -> Self {
        let line = source.line(line);
        if line.len() <= LONGEST_LINE {
            let text = source.text()[line.clone()].to_owned();
            return Self {
                text,
                start: line.start,
                lead: 0,
                cut: false,
            };
        }
        const REACH: usize = 70;
        let start = source.boundary(span.start.saturating_sub(REACH).max(line.start));
        let end = source
            .boundary((span.start + REACH).min(line.end))
            .max(start);
        let before = if start > line.start { "… " } else { "" };
        let after = if end < line.end { " …" } else { "" };
        let text = format!("{before}{}{after}", &source.text()[start..end]);
        Self {
            text,
            start,
            lead: before.len(),
            cut: true,
        }
    }

    fn annotation<'a>(
        &self,
        kind: AnnotationKind,
        span: &Range<usize>,
        label: &'a str,
    ) -> Annotation<'a> {
        let inside = |offset: usize| {
            let mut offset = (offset.saturating_sub(self.start) + self.lead).min(self.text.len());
            while !self.text.is_char_boundary(offset) {
                offset -= 1;
            }
            offset
        };
        let start = inside(span.start);
        let annotation = kind.span(start..inside(span.end).max(start));
        if label.is_empty() {
            annotation
        } else {
            annotation.label(label)
        }
    }
}
