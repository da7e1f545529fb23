//! What differs between two versions of a job.

use std::collections::BTreeMap;

use crate::edit::{EditError, Found, Step, values};

/// A value that differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The key for a person: elements of lists by their names where they have one, for instance
    /// `tap "return far".from_fan`.
    pub key: String,
    /// What it was; absent if the key was not there.
    pub before: Option<String>,
    /// What it is; absent if the key is gone.
    pub after: Option<String>,
}

/// The values that differ between two texts, in the order of the later one, then what is gone.
/// Comments, spaces and the order of keys do not count.
///
/// ```
/// use store::compare::differences;
///
/// let before = "bedrooms = 3\n[[tap]]\nname = \"return far\"\nfrom_fan = \"18 ft\"\n";
/// let after = "bedrooms = 3 # counted\n[[tap]]\nname = \"return far\"\nfrom_fan = \"21 ft\"\n";
/// let found = differences(before, after)?;
/// assert_eq!(found.len(), 1);
/// assert_eq!(found[0].key, "tap \"return far\".from_fan");
/// assert_eq!(found[0].before.as_deref(), Some("18 ft"));
/// assert_eq!(found[0].after.as_deref(), Some("21 ft"));
/// # Ok::<(), store::edit::EditError>(())
/// ```
///
/// # Errors
///
/// [`EditError::NotToml`] if one of the texts is not TOML.
pub fn differences(before: &str, after: &str) -> Result<Vec<Difference>, EditError> {
    let (before, after) = (named(values(before)?), named(values(after)?));
    let old: BTreeMap<&str, &str> = pairs(&before).collect();
    let new: BTreeMap<&str, &str> = pairs(&after).collect();
    let changed = pairs(&after).filter_map(|(key, value)| {
        let was = old.get(key).copied();
        (was != Some(value)).then(|| Difference {
            key: key.to_owned(),
            before: was.map(str::to_owned),
            after: Some(value.to_owned()),
        })
    });
    let gone = pairs(&before)
        .filter(|(key, _)| !new.contains_key(key))
        .map(|(key, value)| Difference {
            key: key.to_owned(),
            before: Some(value.to_owned()),
            after: None,
        });
    Ok(changed.chain(gone).collect())
}

fn pairs(named: &[(String, String)]) -> impl Iterator<Item = (&str, &str)> {
    named
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()))
}

/// Keys for a person, each only once.
fn named(found: Vec<Found>) -> Vec<(String, String)> {
    let names: BTreeMap<&[Step], &str> = found
        .iter()
        .filter_map(|found| match found.path.split_last() {
            Some((Step::Key(key), owner)) if key == "name" => Some((owner, found.value.as_str())),
            _ => None,
        })
        .collect();
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let keys: Vec<String> = found
        .iter()
        .map(|found| {
            let key = words(&found.path, &names);
            let count = seen.entry(key.clone()).or_default();
            *count += 1;
            if *count == 1 {
                key
            } else {
                format!("{key} ({count})")
            }
        })
        .collect();
    let values = found.into_iter().map(|found| found.value);
    keys.into_iter().zip(values).collect()
}

/// A way as a person reads it.
fn words(path: &[Step], names: &BTreeMap<&[Step], &str>) -> String {
    let mut words = String::new();
    for (depth, step) in path.iter().enumerate() {
        match step {
            Step::Key(key) => {
                if !words.is_empty() {
                    words.push('.');
                }
                words.push_str(key);
            }
            Step::Place(place) => match names.get(&path[..=depth]) {
                Some(name) => words.push_str(&format!(" \"{name}\"")),
                None => words.push_str(&format!(" {}", place + 1)),
            },
        }
    }
    words
}

/// A line of a comparison by lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Line<'t> {
    /// It stands in both.
    Kept(&'t str),
    /// Only in the earlier text.
    Removed(&'t str),
    /// Only in the later text.
    Added(&'t str),
}

/// Two texts line by line, comments and all.
///
/// The longest common subsequence is found for what is left between the equal beginnings and ends;
/// where that is more than a few thousand lines on both sides, all of it counts as replaced.
///
/// ```
/// use store::compare::{Line, lines};
/// assert_eq!(
///     lines("a\nb\nc\n", "a\nx\nc\n"),
///     [Line::Kept("a"), Line::Removed("b"), Line::Added("x"), Line::Kept("c")]
/// );
/// ```
pub fn lines<'t>(before: &'t str, after: &'t str) -> Vec<Line<'t>> {
    let (old, new): (Vec<&str>, Vec<&str>) = (before.lines().collect(), after.lines().collect());
    let start = old
        .iter()
        .zip(&new)
        .take_while(|(one, other)| one == other)
        .count();
    let end = old[start..]
        .iter()
        .rev()
        .zip(new[start..].iter().rev())
        .take_while(|(one, other)| one == other)
        .count();
    let mut lines: Vec<Line> = old[..start].iter().copied().map(Line::Kept).collect();
    middle(
        &old[start..old.len() - end],
        &new[start..new.len() - end],
        &mut lines,
    );
    lines.extend(old[old.len() - end..].iter().copied().map(Line::Kept));
    lines
}

/// Most pairs of lines that are compared.
const MOST_PAIRS: usize = 4_000_000;

fn middle<'t>(old: &[&'t str], new: &[&'t str], lines: &mut Vec<Line<'t>>) {
    let width = new.len() + 1;
    if old.len().saturating_mul(new.len()) > MOST_PAIRS {
        lines.extend(old.iter().copied().map(Line::Removed));
        lines.extend(new.iter().copied().map(Line::Added));
        return;
    }
    // common[i * width + j]: longest common subsequence of old[i..] and new[j..].
    let mut common = vec![0u32; (old.len() + 1) * width];
    for i in (0..old.len()).rev() {
        for j in (0..new.len()).rev() {
            common[i * width + j] = if old[i] == new[j] {
                common[(i + 1) * width + j + 1] + 1
            } else {
                common[(i + 1) * width + j].max(common[i * width + j + 1])
            };
        }
    }
    let (mut i, mut j) = (0, 0);
    while i < old.len() || j < new.len() {
        if i < old.len() && j < new.len() && old[i] == new[j] {
            lines.push(Line::Kept(old[i]));
            (i, j) = (i + 1, j + 1);
        } else if j == new.len()
            || i < old.len() && common[(i + 1) * width + j] >= common[i * width + j + 1]
        {
            lines.push(Line::Removed(old[i]));
            i += 1;
        } else {
            lines.push(Line::Added(new[j]));
            j += 1;
        }
    }
}
