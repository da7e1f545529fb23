//! Whatever the bytes of a file are, reading ends with a job or with problems, and never in a panic.

#[allow(dead_code)]
mod common;

use std::time::{Duration, Instant};

use common::{CATALOGUE, DULUTH, FLAGSTAFF, LIGHT, TALLAHASSEE, reading};
use diagnostics::Style;
use house::file::Reading;
use proptest::prelude::*;

const EXAMPLES: [&str; 5] = [DULUTH, FLAGSTAFF, TALLAHASSEE, LIGHT, CATALOGUE];

/// A job is returned exactly if there is no error, all its numbers are finite, and the problems can
/// be shown.
fn sound(reading: &Reading) -> Result<(), TestCaseError> {
    prop_assert_eq!(reading.job.is_some(), !reading.problems.have_errors());
    if let Some(job) = &reading.job {
        let text = format!("{job:?}");
        prop_assert!(!text.contains("NaN") && !text.contains(": inf"), "{}", text);
    }
    let shown = reading.problems.render(Style::Plain);
    prop_assert_eq!(shown.is_empty(), reading.problems.is_empty());
    for problem in reading.problems.list() {
        let source = &reading.problems.sources()[problem.source];
        prop_assert!(problem.span.start <= problem.span.end, "{:?}", problem);
        prop_assert!(problem.span.end <= source.text().len() + 3, "{:?}", problem);
    }
    Ok(())
}

fn read_as_both(bytes: &[u8]) -> Result<(), TestCaseError> {
    sound(&reading(bytes, CATALOGUE.as_bytes()))?;
    sound(&reading(LIGHT.as_bytes(), bytes))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn random_bytes(bytes in prop::collection::vec(any::<u8>(), 0..2000)) {
        read_as_both(&bytes)?;
    }

    #[test]
    fn random_text_of_toml(text in "([a-z_]{1,8}( = |\\.|=)|\\[+|\\]+|[\"'{}#,\n]|[0-9.eE+-]{1,5}| (ft|cfm|%|±) ){0,200}") {
        read_as_both(text.as_bytes())?;
    }

    #[test]
    fn truncated_examples(which in 0..EXAMPLES.len(), at in 0usize..20_000) {
        let bytes = EXAMPLES[which].as_bytes();
        read_as_both(&bytes[..at.min(bytes.len())])?;
    }

    /// Some bytes of an example are replaced by any others.
    #[test]
    fn damaged_examples(
        which in 0..EXAMPLES.len(),
        damage in prop::collection::vec((0usize..20_000, any::<u8>()), 1..6),
    ) {
        let mut bytes = EXAMPLES[which].as_bytes().to_vec();
        for (at, byte) in damage {
            let at = at % bytes.len();
            bytes[at] = byte;
        }
        read_as_both(&bytes)?;
    }

    /// Lines of an example are dropped, repeated or exchanged.
    #[test]
    fn shuffled_examples(
        which in 0..EXAMPLES.len(),
        moves in prop::collection::vec((0usize..1000, 0usize..1000, 0..3), 1..6),
    ) {
        let mut lines: Vec<&str> = EXAMPLES[which].lines().collect();
        for (from, to, how) in moves {
            let (from, to) = (from % lines.len(), to % lines.len());
            match how {
                0 => { lines.remove(from); }
                1 => { lines.insert(to, lines[from]); }
                _ => lines.swap(from, to),
            }
        }
        read_as_both(lines.join("\n").as_bytes())?;
    }

    /// The numbers of an example are replaced by others, typed as people never would.
    #[test]
    fn strange_numbers(
        which in 0..EXAMPLES.len(),
        changes in prop::collection::vec((0usize..1000, prop::sample::select(vec![
            "0", "-1", "1e12", "1e300", "-0", "0.0000001", "99999", "nan", "inf", "1,234", "½", "",
            "-40", "3", "1000",
        ])), 1..5),
    ) {
        let text = EXAMPLES[which];
        let mut pieces: Vec<String> = Vec::new();
        for character in text.chars() {
            let digit = character.is_ascii_digit();
            match pieces.last_mut() {
                Some(last) if last.ends_with(|c: char| c.is_ascii_digit()) == digit => {
                    last.push(character);
                }
                _ => pieces.push(character.to_string()),
            }
        }
        let numbers: Vec<usize> = (0..pieces.len())
            .filter(|piece| pieces[*piece].starts_with(|c: char| c.is_ascii_digit()))
            .collect();
        for (at, number) in changes {
            pieces[numbers[at % numbers.len()]] = number.to_owned();
        }
        read_as_both(pieces.concat().as_bytes())?;
    }
}

#[test]
fn deep_nesting_is_refused() {
    for text in [
        "a = ".to_owned() + &"[".repeat(100_000),
        "a = ".to_owned() + &"{a=".repeat(100_000),
        "[".to_owned() + &"a.".repeat(20_000) + "a]",
        "a.".repeat(20_000) + "a = 1",
    ] {
        let reading = reading(text.as_bytes(), b"");
        assert!(reading.job.is_none() && reading.problems.have_errors());
    }
}

#[test]
fn huge_files_end_quickly() {
    let start = Instant::now();
    for text in [
        "#".repeat(10_000_000),
        "x = 1\n".repeat(500_000),
        (0..200_000)
            .map(|number| format!("key{number} = 1\n"))
            .collect(),
        "[[tap]]\n".repeat(400_000),
        "=".repeat(3_900_000),
        "name = \"".to_owned() + &"é".repeat(1_900_000) + "\"",
        format!("{LIGHT}\n{}", "[[unit]]\nname = \"a\"\n".repeat(100_000)),
    ] {
        let reading = reading(text.as_bytes(), CATALOGUE.as_bytes());
        assert!(reading.job.is_none() && reading.problems.have_errors());
        assert!(!reading.problems.render(Style::Plain).is_empty());
    }
    let time = start.elapsed();
    assert!(time < Duration::from_secs(60), "{time:?}");
}

#[test]
fn windows_and_byte_order_mark() {
    let text = format!("\u{feff}{}", LIGHT.replace('\n', "\r\n"));
    let catalogue = CATALOGUE.replace('\n', "\r\n");
    let marked = reading(text.as_bytes(), catalogue.as_bytes());
    let plain = reading(LIGHT.as_bytes(), CATALOGUE.as_bytes());
    assert!(marked.problems.is_empty());
    assert_eq!(marked.job, plain.job);
}

#[test]
fn other_encodings_are_named() {
    let latin = LIGHT.replace("Nova", "Qu\u{e9}bec").into_bytes();
    let latin: Vec<u8> = latin
        .split(|byte| *byte == 0xC3)
        .map(|part| part.strip_prefix(b"\xA9").unwrap_or(part))
        .collect::<Vec<_>>()
        .join(&0xE9);
    let told = reading(&latin, CATALOGUE.as_bytes())
        .problems
        .render(Style::Plain);
    assert!(told.contains("the file is not UTF-8 text"), "{told}");
    assert!(told.contains("byte 0xE9 at offset"), "{told}");
    let wide: Vec<u8> = LIGHT.encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert!(reading(&wide, b"").problems.have_errors());
}
