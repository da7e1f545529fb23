//! Typography: the many ways in which the same text is typed.

/// The same text with plain spaces, hyphens, quotes, degree signs, digits and fractions.
pub(crate) fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for character in text.trim().chars() {
        match character {
            '\u{2010}'..='\u{2013}' | '\u{2212}' => plain.push('-'),
            '′' | '’' | '‘' => plain.push('\''),
            '″' | '”' | '“' => plain.push('"'),
            'º' | '˚' => plain.push('°'),
            '℃' => plain.push_str("°C"),
            '℉' => plain.push_str("°F"),
            '²' => plain.push('2'),
            '³' => plain.push('3'),
            '½' => plain.push_str(" 1/2"),
            '¼' => plain.push_str(" 1/4"),
            '¾' => plain.push_str(" 3/4"),
            '⅛' => plain.push_str(" 1/8"),
            '⅜' => plain.push_str(" 3/8"),
            '⅝' => plain.push_str(" 5/8"),
            '⅞' => plain.push_str(" 7/8"),
            '⁄' => plain.push('/'),
            _ if character.is_whitespace() => plain.push(' '),
            _ => plain.push(character),
        }
    }
    plain
}

/// A unit as the tables spell it: lower case, `per` as `/`, two `'` as `"`, without spaces,
/// multiplication signs, carets, or the dots of abbreviations.
pub(crate) fn unit(text: &str) -> String {
    let words = text.split_whitespace().map(|word| {
        if word.eq_ignore_ascii_case("per") {
            "/"
        } else {
            word
        }
    });
    let mut unit = String::new();
    for character in words.flat_map(str::chars).flat_map(char::to_lowercase) {
        let abbreviates = unit.ends_with(char::is_alphabetic);
        match character {
            '·' | '*' | '^' | '⋅' => {}
            '.' if abbreviates => {}
            _ => unit.push(character),
        }
    }
    unit.replace("''", "\"")
}

/// The candidate nearest to `text`, if it is near enough to be a slip of the hand: one edit in a
/// short word, two in a word of five letters or more.
pub(crate) fn nearest<'a>(
    text: &str,
    candidates: impl Iterator<Item = &'a str>,
) -> Option<&'a str> {
    let length = text.chars().count();
    if length > 40 {
        return None;
    }
    let reach = if length < 5 { 1 } else { 2 };
    candidates
        .filter(|candidate| candidate.chars().count() > reach)
        .map(|candidate| (edits(text, candidate), candidate))
        .filter(|(distance, _)| *distance <= reach)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// Number of inserted, deleted, replaced or swapped neighbouring characters that turn `from` into
/// `to` (optimal string alignment).
fn edits(from: &str, to: &str) -> usize {
    let from: Vec<char> = from.chars().collect();
    let to: Vec<char> = to.chars().collect();
    let mut table = vec![vec![0; to.len() + 1]; from.len() + 1];
    for i in 0..=from.len() {
        for j in 0..=to.len() {
            table[i][j] = if i == 0 || j == 0 {
                i + j
            } else {
                let differs = usize::from(from[i - 1] != to[j - 1]);
                let mut least = (table[i - 1][j] + 1)
                    .min(table[i][j - 1] + 1)
                    .min(table[i - 1][j - 1] + differs);
                if i > 1 && j > 1 && from[i - 1] == to[j - 2] && from[i - 2] == to[j - 1] {
                    least = least.min(table[i - 2][j - 2] + 1);
                }
                least
            };
        }
    }
    table[from.len()][to.len()]
}
