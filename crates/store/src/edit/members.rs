//! Members of what stands between brackets or braces: where each ends, and where its comma is.

use std::ops::Range;

use toml_edit::{Array, InlineTable, Value};

/// A member in its brackets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// Its bytes; with its key, if it has one.
    pub span: Range<usize>,
    /// Where its comma stands; the last one may have none.
    pub comma: Option<usize>,
}

/// The members of an array in their order; `None` if the text is not what was parsed.
pub fn of_array(text: &str, array: &Array) -> Option<Vec<Member>> {
    let spans = array.iter().map(Value::span).collect::<Option<Vec<_>>>()?;
    members(text, array.span()?, &spans)
}

/// The members of an inline table in the order in which they stand, dotted ones one by one, and the
/// bytes of their values.
pub fn of_inline_table(text: &str, table: &InlineTable) -> Option<Vec<(Range<usize>, Member)>> {
    let mut values = Vec::new();
    leaves(table, &mut values)?;
    values.sort_by_key(|span| span.start);
    let mut start = table.span()?.start + 1;
    let members = members(text, table.span()?, &values)?;
    let mut with_keys = Vec::new();
    for (value, member) in values.into_iter().zip(members) {
        // What stands before the value and behind the last comma is its key.
        let key = past_trivia(text, start);
        start = member.comma.map_or(value.end, |comma| comma + 1);
        with_keys.push((
            value.clone(),
            Member {
                span: key..value.end,
                comma: member.comma,
            },
        ));
    }
    Some(with_keys)
}

fn leaves(table: &InlineTable, spans: &mut Vec<Range<usize>>) -> Option<()> {
    for (_, value) in table {
        match value {
            Value::InlineTable(inner) if inner.is_dotted() => leaves(inner, spans)?,
            _ => spans.push(value.span()?),
        }
    }
    Some(())
}

fn members(text: &str, all: Range<usize>, spans: &[Range<usize>]) -> Option<Vec<Member>> {
    spans
        .iter()
        .map(|span| {
            let next = past_trivia(text, span.end);
            let comma = text[next..].starts_with(',').then_some(next);
            (span.start > all.start && span.end < all.end && next < all.end).then(|| Member {
                span: span.clone(),
                comma,
            })
        })
        .collect()
}

/// The first byte that is no space, no line break and no comment.
fn past_trivia(text: &str, mut at: usize) -> usize {
    loop {
        let rest = &text[at..];
        let blank = rest.len() - rest.trim_start().len();
        at += blank;
        if !text[at..].starts_with('#') {
            return at;
        }
        at += text[at..].find('\n').unwrap_or(text.len() - at);
    }
}

/// The bytes that go when a member goes: its lines if it stands in lines of its own, with the comment
/// behind it; otherwise it and one comma.
pub fn cut(text: &str, members: &[Member], place: usize) -> Option<Range<usize>> {
    let member = members.get(place)?;
    let start = super::line_start(text, member.span.start);
    let behind = member.comma.map_or(member.span.end, |comma| comma + 1);
    let end = super::line_end(text, behind);
    let rest = text[behind..end].trim();
    let own_lines = text[start..member.span.start].trim().is_empty()
        && (rest.is_empty() || rest.starts_with('#'));
    // The comma of a last member that has none is that of the member before; it may stay.
    if own_lines {
        return Some(start..end);
    }
    if member.comma.is_some() {
        let blank = text[behind..]
            .bytes()
            .take_while(|byte| b" \t".contains(byte))
            .count();
        // The last one's blank belongs to the closing bracket.
        let blank = if place + 1 < members.len() { blank } else { 0 };
        let first = place == 0 || place + 1 < members.len();
        let start = if first {
            member.span.start
        } else {
            members[place - 1].comma? + 1
        };
        return Some(start..behind + blank);
    }
    match place.checked_sub(1).and_then(|before| members.get(before)) {
        Some(before) => Some(before.comma?..member.span.end),
        None => Some(member.span.clone()),
    }
}

/// Where a member is put behind the last one, and how: what stands before it and behind it.
pub fn behind(text: &str, all: &Range<usize>, members: &[Member]) -> (usize, String, String) {
    let Some(last) = members.last() else {
        return (all.start + 1, String::new(), String::new());
    };
    let line = super::line_start(text, last.span.start);
    let indent = &text[line..last.span.start];
    if indent.trim().is_empty() && line > all.start {
        // In lines of its own, like the last one, behind the comment of that.
        let newline = super::newline(text);
        let at = last.comma.map_or(last.span.end, |comma| comma + 1);
        return match last.comma {
            Some(_) => {
                let end = super::line_end(text, at);
                let rest = text[at..end].trim();
                if rest.is_empty() || rest.starts_with('#') {
                    (end, indent.to_owned(), format!(",{newline}"))
                } else {
                    (at, " ".to_owned(), ",".to_owned())
                }
            }
            None => (at, format!(",{newline}{indent}"), String::new()),
        };
    }
    match last.comma {
        Some(comma) => (comma + 1, " ".to_owned(), ",".to_owned()),
        None => (last.span.end, ", ".to_owned(), String::new()),
    }
}

/// The comment behind a member in its line, with the blanks before it; empty if there is none.
pub fn comment(text: &str, member: &Member) -> Range<usize> {
    let at = member.comma.map_or(member.span.end, |comma| comma + 1);
    let line = text[at..super::line_end(text, at)].trim_end();
    if line.trim_start().starts_with('#') {
        at..at + line.len()
    } else {
        at..at
    }
}
