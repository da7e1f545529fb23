//! The journal on the disk: what was confirmed is there, whatever happens to the program.
#![cfg(unix)]

mod support;

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use journal::{Event, Journal, Trouble};
use support::{code, json, problems, program, result, run};
use tempfile::TempDir;

/// A folder with something that is named like a job; the journal does not ask what is in it.
fn folder() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("house.toml"), "format = 1\n").expect("a file");
    let journal = folder.path().join("house.journal");
    (folder, journal)
}

fn read(path: &Path) -> Journal {
    Journal::read(&fs::read(path).unwrap_or_default())
}

/// Numbers that spread over 0 … 1, the same at every run.
fn spread(index: u64) -> f64 {
    (index as f64 * 0.618_033_988_75).fract()
}

fn stop(child: &mut Child, signal: &str) {
    let sent = Command::new("kill")
        .args([signal, &child.id().to_string()])
        .status()
        .expect("kill runs");
    // A process that has ended already takes no signal.
    let _ = sent;
    child.wait().expect("the program ends");
}

/// The values of the readings that a journal holds, in order.
fn values(journal: &Journal) -> Vec<String> {
    journal
        .entries()
        .filter_map(|entry| match &entry.event {
            Event::Reading(reading) => Some(reading.value.clone()),
            _ => None,
        })
        .collect()
}

/// Starts the program, feeds it readings as fast as it takes them, kills it in the middle of it, and
/// does so again and again on the same journal.
fn kill_while_writing(signal: &str, times: u64) {
    let (folder, path) = folder();
    let mut confirmed = Vec::new();
    let mut next = 0;
    let mut cut_short = 0;
    for index in 0..times {
        let mut child = program(folder.path())
            .args(["log", "house.toml", "--lines", "--who", "M. Arne"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        let mut input = child.stdin.take().expect("its input");
        let output = child.stdout.take().expect("its output");
        for _ in 0..40 {
            let _ = writeln!(input, "supply station = {next} Pa");
            next += 1;
        }
        let reader = std::thread::spawn(move || {
            let mut lines = Vec::new();
            for line in BufReader::new(output).lines() {
                lines.push(line.expect("text"));
            }
            lines
        });
        std::thread::sleep(Duration::from_micros((12_000.0 * spread(index)) as u64));
        stop(&mut child, signal);
        drop(input);
        let lines = reader.join().expect("the reader ends");
        cut_short += u64::from(lines.len() < 40);
        for line in lines {
            // "kept as entry 7: supply station reads 6 Pa". A line without its end was not printed.
            let (entry, value) = line
                .strip_prefix("kept as entry ")
                .and_then(|rest| rest.split_once(": supply station reads "))
                .expect("a confirmation");
            confirmed.push((entry.parse::<u64>().expect("a number"), value.to_owned()));
        }
    }
    let journal = read(&path);
    let odd: Vec<_> = journal
        .findings()
        .iter()
        .filter(|finding| finding.trouble != Trouble::CutOff)
        .collect();
    assert!(odd.is_empty(), "{odd:?}");
    assert!(journal.is_whole());
    assert!(
        !confirmed.is_empty(),
        "nothing was confirmed before it was killed"
    );
    assert!(
        cut_short > times / 2,
        "only {cut_short} of {times} were killed in the middle"
    );
    for (number, value) in &confirmed {
        let entry = journal
            .entries()
            .find(|entry| entry.number == *number)
            .unwrap_or_else(|| panic!("entry {number} was confirmed and is gone"));
        let Event::Reading(reading) = &entry.event else {
            panic!("entry {number} is {:?}", entry.event);
        };
        assert_eq!(&reading.value, value);
    }
    // The program itself says so too.
    let shown = run(folder.path(), &["log", "house.toml", "--json"]);
    assert_eq!(code(&shown), 0, "{}", problems(&shown));
    assert_eq!(json(&shown)["whole"], true);
}

#[test]
fn what_was_confirmed_survives_three_hundred_kills() {
    kill_while_writing("-KILL", 300);
}

#[test]
fn what_was_confirmed_survives_ctrl_c() {
    kill_while_writing("-INT", 60);
}

#[test]
fn a_torn_line_is_reported_and_the_next_starts_afresh() {
    let (folder, path) = folder();
    let log = |value: &str| {
        run(
            folder.path(),
            &[
                "log",
                "house.toml",
                "--at",
                "supply station",
                "--value",
                value,
            ],
        )
    };
    assert_eq!(
        result(&log("20 Pa")),
        "kept as entry 1: supply station reads 20 Pa\n"
    );
    assert_eq!(code(&log("21 Pa")), 0);
    // The power fails while the second line is written: at each of its bytes.
    let whole = fs::read(&path).expect("the journal");
    let second = whole
        .iter()
        .position(|byte| *byte == b'\n')
        .expect("a line")
        + 1;
    for end in (second + 1..whole.len() - 1).step_by(9) {
        fs::write(&path, &whole[..end]).expect("a torn journal");
        assert_eq!(code(&log("22 Pa")), 0);
        let journal = read(&path);
        assert_eq!(values(&journal), ["20 Pa", "22 Pa"], "torn at {end}");
        assert!(journal.is_whole());
        let shown = run(folder.path(), &["log", "house.toml"]);
        assert_eq!(code(&shown), 0);
        assert!(
            result(&shown).contains("Line 2 is no whole entry"),
            "{}",
            result(&shown)
        );
    }
}

#[test]
fn two_writers_never_give_the_same_number() {
    let (folder, path) = folder();
    let children: Vec<Child> = (0..6)
        .map(|writer| {
            let mut child = program(folder.path())
                .args(["log", "house.toml", "--lines"])
                .stdin(Stdio::piped())
                .stdout(Stdio::piped())
                .spawn()
                .expect("the program starts");
            let mut input = child.stdin.take().expect("its input");
            for line in 0..25 {
                writeln!(input, "station {writer} = {line} Pa").expect("it reads");
            }
            child
        })
        .collect();
    for mut child in children {
        let mut text = String::new();
        let mut output = child.stdout.take().expect("its output");
        output.read_to_string(&mut text).expect("text");
        assert!(child.wait().expect("it ends").success());
        assert_eq!(text.lines().count(), 25);
    }
    let journal = read(&path);
    assert!(journal.is_whole());
    let numbers: Vec<u64> = journal.entries().map(|entry| entry.number).collect();
    assert_eq!(numbers, (1..=150).collect::<Vec<u64>>());
}

#[test]
fn a_changed_line_is_told() {
    let (folder, path) = folder();
    for value in ["20 Pa", "21 Pa", "22 Pa"] {
        run(
            folder.path(),
            &[
                "log",
                "house.toml",
                "--at",
                "supply station",
                "--value",
                value,
            ],
        );
    }
    let text = fs::read_to_string(&path).expect("the journal");
    fs::write(&path, text.replace("21 Pa", "31 Pa")).expect("a changed journal");
    let shown = run(folder.path(), &["log", "house.toml"]);
    assert_eq!(code(&shown), 1);
    assert!(
        result(&shown).contains("Line 2 was changed after it was written"),
        "{}",
        result(&shown)
    );
}

#[test]
fn a_mistake_is_struck_out_with_a_reason_and_stays() {
    let (folder, path) = folder();
    let log = |arguments: &[&str]| {
        let all: Vec<&str> = ["log", "house.toml"]
            .iter()
            .chain(arguments)
            .copied()
            .collect();
        run(folder.path(), &all)
    };
    log(&[
        "--at",
        "supply station",
        "--value",
        "-20 Pa",
        "--who",
        "M. Arne",
    ]);
    let without = log(&["--strike-out", "1"]);
    assert_eq!(code(&without), 2);
    let struck = log(&["--strike-out", "1", "--reason", "hoses exchanged"]);
    assert_eq!(
        result(&struck),
        "kept as entry 2: entry 1 struck out: hoses exchanged\n"
    );
    let shown = result(&log(&[]));
    assert!(shown.contains("[struck out: hoses exchanged]"), "{shown}");
    assert!(shown.contains("-20 Pa"), "{shown}");
    let journal = read(&path);
    assert_eq!(journal.struck_out().len(), 1);
    assert!(journal.entries().all(|entry| entry.who == "M. Arne"));
}

#[test]
fn what_cannot_be_written_is_said() {
    let (folder, path) = folder();
    fs::create_dir(&path).expect("a folder in its place");
    let output = run(folder.path(), &["log", "house.toml", "--note", "x"]);
    assert_eq!(code(&output), 2);
    assert!(
        problems(&output).contains("house.journal: it is a folder"),
        "{}",
        problems(&output)
    );
    let missing = run(folder.path(), &["log", "other.toml", "--note", "x"]);
    assert_eq!(code(&missing), 2);
    assert!(
        problems(&missing).contains("no job file"),
        "{}",
        problems(&missing)
    );
    let half = run(
        folder.path(),
        &["log", "house.toml", "--at", "supply station"],
    );
    assert_eq!(code(&half), 2);
}
