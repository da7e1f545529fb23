//! What a journal keeps, and what it notices.

use journal::{
    BlowerMode, CheckResult, Combustion, DamperTurned, Event, Finding, ItemChecked, Journal,
    Reading, Running, SignedOff, Stamp, Stream, StruckOut, Trouble, Visit, hash,
};
use proptest::prelude::*;

fn reading(value: &str) -> Event {
    Event::Reading(Reading {
        at: "supply station".into(),
        value: value.into(),
        blower: Some(BlowerMode::Heating),
        setting: "high".into(),
        instrument: "manometer".into(),
        note: "hose A, a bit \"shaky\"\nafter lunch — 20 °C".into(),
        ..Reading::default()
    })
}

/// One of every event.
fn events() -> Vec<Event> {
    vec![
        Event::SetUp(Visit {
            job: "House".into(),
            outdoor: "48 F".into(),
            indoor: "70 F".into(),
            note: String::new(),
        }),
        Event::Running(Running {
            blower: BlowerMode::Heating,
            setting: "high".into(),
        }),
        reading("0.214 inWC"),
        Event::Damper(DamperTurned {
            damper: Stream::Supply,
            to: "35 deg".into(),
            note: String::new(),
        }),
        reading("-0.19 inWC"),
        Event::StruckOut(StruckOut {
            entry: 5,
            reason: "hoses exchanged".into(),
        }),
        Event::Checked(ItemChecked {
            item: "drain".into(),
            result: CheckResult::Good,
            note: String::new(),
            photo: "drain.jpg".into(),
        }),
        Event::Combustion(Combustion {
            appliance: "water heater".into(),
            worst_pressure: "-1.5 Pa".into(),
            result: Some(CheckResult::Good),
            ..Combustion::default()
        }),
        Event::Note {
            text: "client at home".into(),
        },
        Event::SignedOff(SignedOff {
            record: "house.record.json".into(),
            sha256: hash(b"record"),
            although: String::new(),
        }),
        Event::Revisit(Visit::default()),
    ]
}

fn append(bytes: &mut Vec<u8>, time: &str, event: Event) {
    let next = Journal::read(bytes).next(&Stamp::new(time, "M. Arne"), event);
    bytes.extend(next.bytes);
}

/// A sound journal with one of every event.
fn day() -> Vec<u8> {
    let mut bytes = Vec::new();
    for (minute, event) in events().into_iter().enumerate() {
        append(
            &mut bytes,
            &format!("2026-05-12T09:{minute:02}:00-05:00"),
            event,
        );
    }
    bytes
}

fn lines(bytes: &[u8]) -> Vec<String> {
    String::from_utf8(bytes.to_vec())
        .expect("text")
        .lines()
        .map(str::to_owned)
        .collect()
}

fn joined(lines: &[String]) -> Vec<u8> {
    (lines.join("\n") + "\n").into_bytes()
}

fn troubles(bytes: &[u8]) -> Vec<(usize, Trouble)> {
    Journal::read(bytes)
        .findings()
        .iter()
        .map(|finding| (finding.line, finding.trouble.clone()))
        .collect()
}

#[test]
fn every_event_comes_back_as_it_was_written() {
    let journal = Journal::read(&day());
    assert_eq!(journal.findings(), []);
    let back: Vec<Event> = journal.entries().map(|entry| entry.event.clone()).collect();
    assert_eq!(back, events());
    let numbers: Vec<u64> = journal.entries().map(|entry| entry.number).collect();
    assert_eq!(numbers, (1..=11).collect::<Vec<u64>>());
    assert_eq!(journal.struck_out().get(&5), Some(&"hoses exchanged"));
    assert_eq!(journal.last_hash(), hash(lines(&day())[10].as_bytes()));
}

#[test]
fn all_names_of_events_are_listed() {
    let journal = day();
    for name in Event::NAMES {
        let written = format!("\"event\":\"{name}\"");
        let count = lines(&journal)
            .iter()
            .filter(|line| line.contains(&written))
            .count();
        assert!(count >= 1, "{name}");
    }
}

#[test]
fn a_person_can_read_it() {
    let mut bytes = Vec::new();
    append(
        &mut bytes,
        "2026-05-12T09:14:03-05:00",
        Event::Damper(DamperTurned {
            damper: Stream::Extract,
            to: "35°".into(),
            note: String::new(),
        }),
    );
    assert_eq!(
        lines(&bytes)[0],
        format!(
            "{{\"number\":1,\"time\":\"2026-05-12T09:14:03-05:00\",\"who\":\"M. Arne\",\"event\":\"damper turned\",\"damper\":\"extract\",\"to\":\"35°\",\"previous\":\"{}\"}}",
            "0".repeat(64)
        )
    );
}

#[test]
fn a_changed_line_is_named() {
    let whole = lines(&day());
    // The last line has none after it that would carry its hash.
    for at in 0..whole.len() - 1 {
        let mut changed = whole.clone();
        changed[at] = changed[at].replace("2026-05-12", "2026-05-11");
        let found = troubles(&joined(&changed));
        assert!(
            found.contains(&(at + 1, Trouble::Changed)),
            "{at}: {found:?}"
        );
        let others: Vec<_> = found
            .iter()
            .filter(|(line, trouble)| *line != at + 1 && !matches!(trouble, Trouble::ClockWentBack))
            .collect();
        assert!(others.is_empty(), "{at}: {others:?}");
        assert!(!Journal::read(&joined(&changed)).is_whole());
    }
}

#[test]
fn a_removed_line_is_missed() {
    let whole = lines(&day());
    for at in 0..whole.len() - 1 {
        let mut fewer = whole.clone();
        fewer.remove(at);
        let found = troubles(&joined(&fewer));
        let expected = Trouble::Missing {
            after: at as u64,
            before: at as u64 + 2,
        };
        assert!(found.contains(&(at + 1, expected)), "{at}: {found:?}");
        assert!(!Journal::read(&joined(&fewer)).is_whole());
    }
}

#[test]
fn a_line_that_was_put_in_or_moved_is_named() {
    let whole = lines(&day());
    let mut more = whole.clone();
    more.insert(4, whole[2].replace("0.214", "0.250"));
    let found = troubles(&joined(&more));
    assert!(found.contains(&(5, Trouble::PutIn { to: 5 })), "{found:?}");
    assert!(
        found.contains(&(5, Trouble::DuplicateNumber(3))),
        "{found:?}"
    );

    let mut moved = whole;
    moved.swap(3, 6);
    let journal = Journal::read(&joined(&moved));
    assert!(!journal.is_whole());
    assert_eq!(journal.entries().count(), 11);
}

#[test]
fn a_last_line_that_was_cut_off_is_kept_and_passed_over() {
    let whole = day();
    let start = whole.len() - lines(&whole)[10].len() - 1;
    for end in start + 1..whole.len() - 1 {
        let mut bytes = whole[..end].to_vec();
        assert_eq!(troubles(&bytes), [(11, Trouble::CutOff)], "cut at {end}");
        append(&mut bytes, "2026-05-12T10:00:00-05:00", reading("21 Pa"));
        assert!(bytes.starts_with(&whole[..end]), "nothing is rewritten");
        let journal = Journal::read(&bytes);
        assert_eq!(troubles(&bytes), [(11, Trouble::CutOff)], "cut at {end}");
        assert!(journal.is_whole());
        assert_eq!(journal.entries().count(), 11);
        assert_eq!(
            journal.entries().next_back().map(|entry| entry.number),
            Some(11)
        );
    }
    // Only the end of the line is missing: the entry is there.
    let mut bytes = whole[..whole.len() - 1].to_vec();
    append(&mut bytes, "2026-05-12T10:00:00-05:00", reading("21 Pa"));
    assert_eq!(troubles(&bytes), []);
    assert_eq!(Journal::read(&bytes).entries().count(), 12);
    // What a file system leaves after a power cut.
    let mut bytes = whole.clone();
    bytes.extend([0; 100]);
    append(&mut bytes, "2026-05-12T10:00:00-05:00", reading("21 Pa"));
    assert_eq!(troubles(&bytes), [(12, Trouble::CutOff)]);
}

#[test]
fn a_line_that_was_damaged_later_is_not_taken_for_a_power_cut() {
    let mut damaged = lines(&day());
    damaged[3].truncate(40);
    let journal = Journal::read(&joined(&damaged));
    let found: Vec<&Finding> = journal.findings().iter().collect();
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(matches!(found[0].trouble, Trouble::Damaged(_)), "{found:?}");
    assert_eq!(found[0].line, 4);
    assert!(!journal.is_whole());
    assert_eq!(journal.entries().count(), 10);
}

#[test]
fn foreign_line_endings_change_nothing() {
    let text = String::from_utf8(day()).expect("text");
    let mut bytes = format!("\u{FEFF}{}", text.replace('\n', "\r\n")).into_bytes();
    assert_eq!(troubles(&bytes), [(1, Trouble::ForeignLineEndings)]);
    append(&mut bytes, "2026-05-12T10:00:00-05:00", reading("21 Pa"));
    assert_eq!(troubles(&bytes), [(1, Trouble::ForeignLineEndings)]);
    assert_eq!(Journal::read(&bytes).entries().count(), 12);
}

#[test]
fn events_of_later_versions_are_kept_and_chained() {
    let mut bytes = day();
    let previous = Journal::read(&bytes).last_hash().to_owned();
    let line = format!(
        "{{\"number\":12,\"time\":\"2026-05-12T10:00:00-05:00\",\"event\":\"smoke seen\",\"at\":[1,2],\"previous\":\"{previous}\"}}\n"
    );
    bytes.extend(line.as_bytes());
    append(&mut bytes, "2026-05-12T10:01:00-05:00", reading("21 Pa"));
    assert_eq!(
        troubles(&bytes),
        [(12, Trouble::UnknownEvent("smoke seen".into()))]
    );
    let journal = Journal::read(&bytes);
    assert!(journal.is_whole());
    assert_eq!(
        journal.entries().next_back().map(|entry| entry.number),
        Some(13)
    );
}

#[test]
fn clocks_and_numbers_that_go_back_are_told() {
    let mut bytes = Vec::new();
    append(&mut bytes, "2026-05-12T09:14:00-05:00", reading("20 Pa"));
    // The same instant in another zone is not before.
    append(&mut bytes, "2026-05-12T14:14:00Z", reading("21 Pa"));
    append(&mut bytes, "2026-05-12T08:14:00-05:00", reading("22 Pa"));
    append(&mut bytes, "today", reading("22 Pa"));
    append(
        &mut bytes,
        "2026-05-12T09:20:00-05:00",
        Event::StruckOut(StruckOut {
            entry: 9,
            reason: "typed wrongly".into(),
        }),
    );
    assert_eq!(
        troubles(&bytes),
        [
            (3, Trouble::ClockWentBack),
            (4, Trouble::BadTime("today".into())),
            (5, Trouble::StrikesNothing(9)),
        ]
    );
    let journal = Journal::read(&bytes);
    assert!(journal.is_whole());
    assert!(journal.struck_out().is_empty());
}

#[test]
fn every_finding_is_a_sentence_that_names_its_line() {
    for trouble in [
        Trouble::CutOff,
        Trouble::Damaged("it is no text".into()),
        Trouble::Changed,
        Trouble::Missing {
            after: 0,
            before: 3,
        },
        Trouble::Missing {
            after: 2,
            before: 5,
        },
        Trouble::PutIn { to: 7 },
        Trouble::PutIn { to: 9 },
        Trouble::DuplicateNumber(2),
        Trouble::ClockWentBack,
        Trouble::BadTime("noon".into()),
        Trouble::UnknownEvent("smoke".into()),
        Trouble::StrikesNothing(3),
        Trouble::ForeignLineEndings,
    ] {
        let text = Finding { line: 7, trouble }.text();
        assert!(text.contains("ine 7") || text.contains("ines 7"), "{text}");
        assert!(text.ends_with('.'), "{text}");
    }
}

proptest! {
    /// Whatever the bytes are: nothing panics, what was there stays, and what is appended is found.
    #[test]
    fn any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let mut journal = bytes.clone();
        append(&mut journal, "2026-05-12T09:14:00-05:00", reading("20 Pa"));
        append(&mut journal, "2026-05-12T09:15:00-05:00", reading("21 Pa"));
        prop_assert!(journal.starts_with(&bytes));
        let read = Journal::read(&journal);
        prop_assert_eq!(read.entries().count(), 2);
    }

    /// Any single byte changed in any line but the last is noticed, or changes nothing that counts.
    #[test]
    fn any_changed_byte(at in 0usize..2000, to in 33u8..127) {
        let whole = day();
        let end = whole.len() - lines(&whole)[10].len() - 1;
        let at = at % end;
        prop_assume!(whole[at] != to && whole[at] != b'\n');
        let mut changed = whole;
        changed[at] = to;
        let journal = Journal::read(&changed);
        prop_assert!(!journal.is_whole(), "{:?}", journal.findings());
    }
}
