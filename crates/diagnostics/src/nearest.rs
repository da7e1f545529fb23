//! Suggestions for misspelt words.

/// The candidate nearest to a misspelt `word`, if it is near enough to be a slip of the hand.
///
/// Case, spaces, hyphens and underscores are ignored. A word is near when at least two thirds of
/// its letters are in place (Damerau–Levenshtein distance, normalised), or when exactly one candidate
/// begins with it or is its beginning.
///
/// ```
/// use diagnostics::nearest;
///
/// assert_eq!(nearest("flor_area", ["floor_area", "altitude"]), Some("floor_area"));
/// assert_eq!(nearest("Basment Return", ["basement return"]), Some("basement return"));
/// assert_eq!(nearest("roof", ["floor_area", "altitude"]), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const LONGEST: usize = 80;
    const NEAR: f64 = 2.0 / 3.0;
    if word.len() > LONGEST {
        return None;
    }
    let word = folded(word);
    let candidates: Vec<&str> = candidates.into_iter().collect();
    let best = candidates
        .iter()
        .map(|candidate| {
            let likeness = strsim::normalized_damerau_levenshtein(&word, &folded(candidate));
            (likeness, *candidate)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, candidate)) = best.filter(|(likeness, _)| *likeness >= NEAR) {
        return Some(candidate);
    }
    let mut begun = candidates
        .into_iter()
        .filter(|candidate| begins_alike(&word, &folded(candidate)));
    begun.next().filter(|_| begun.next().is_none())
}

fn begins_alike(word: &str, candidate: &str) -> bool {
    let enough = word.len().min(candidate.len()) >= 3;
    enough && (candidate.starts_with(word) || word.starts_with(candidate))
}

fn folded(word: &str) -> String {
    word.chars()
        .filter(|c| !matches!(c, ' ' | '-' | '_'))
        .flat_map(char::to_lowercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_hand() {
        let keys = [
            "floor_area",
            "ceiling_height",
            "bedrooms",
            "blower_door",
            "flow",
        ];
        for (typed, meant) in [
            ("floorarea", Some("floor_area")),
            ("floor-area", Some("floor_area")),
            ("Bedroom", Some("bedrooms")),
            ("blower_dor", Some("blower_door")),
            ("ceiling", Some("ceiling_height")),
            ("flow_measured", Some("flow")),
            ("flwo", Some("flow")),
            ("folw", Some("flow")),
            ("", None),
            ("a_very_different_thing", None),
        ] {
            assert_eq!(nearest(typed, keys), meant, "{typed}");
        }
        assert_eq!(nearest(&"x".repeat(1000), keys), None);
        assert_eq!(nearest("anything", []), None);
    }
}
