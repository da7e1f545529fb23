//! Readings as they should not be, in a file and in the dialogue: each is kept, told and explained,
//! and no exit code is a surprise.

mod support;

use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Output, Stdio};

use journal::{Event, Journal};
use support::{code, json, problems, program, result, run, workspace};
use tempfile::TempDir;

const JOB: &str = "duluth-set-up.toml";

fn folder() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for file in [JOB, "catalogue.toml"] {
        let text = fs::read_to_string(workspace().join("examples").join(file));
        let text = text
            .expect("the example")
            .replace("calibrated = \"2026-02-17\"\n", "");
        fs::write(folder.path().join(file), text).expect("a copy of the example");
    }
    folder
}

fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn balance(folder: &Path, day: &[u8], more: &[&str]) -> Output {
    fs::write(folder.join("day.toml"), day).expect("a day");
    let mut arguments = vec!["balance", JOB, "--readings", "day.toml"];
    arguments.extend(more);
    run(folder, &arguments)
}

/// A reading of the supply station with this value, in heating at high.
fn supply(value: &str) -> String {
    format!(
        "[[step]]\nat = \"supply station\"\nvalue = \"{value}\"\nblower = \"heating\"\nsetting = \"high\"\n"
    )
}

/// The file is read; the step is kept in the journal as it was written, told, and not used (or used,
/// where that is said). Nothing here is done, so the exit code is 1.
#[test]
fn steps_that_cannot_be_right_are_kept_and_told() {
    // (steps, what is told, how many readings are used)
    for (steps, told, used) in [
        (
            supply("0.372 psi"),
            "lies beyond what manometer can show",
            0,
        ),
        (
            supply("90 cfm"),
            "\"cfm\" is a unit of volume flow, but pressure is asked for",
            0,
        ),
        (supply("quite a lot"), "was not understood", 0),
        (supply("NaN"), "was not understood", 0),
        (
            supply("-0.372 inWC"),
            "the hoses were probably exchanged. If so it counts as 0.372 inWC",
            0,
        ),
        (supply("0.990 inWC"), "lies outside the chart", 1),
        (
            supply("92.7 inWC").replace("92.7", "7.9"),
            "does not fit",
            1,
        ),
        (
            supply("0.372 inWC").replace("supply station", "attic"),
            "there is no station \"attic\"; known: supply station, extract station",
            0,
        ),
        (
            supply("0.372 inWC").replace("heating", "cooling"),
            "with the blower in cooling, which the survey does not have",
            0,
        ),
        (
            supply("0.372 inWC").replace("\"high\"", "\"boost\""),
            "a setting that Sedge 130 H does not have",
            0,
        ),
        (
            supply("0.372 inWC").replace("\"high\"", "\"turbo\""),
            "\"turbo\" is no setting of a ventilator; known: off, low, high, boost",
            0,
        ),
        (
            supply("0.372 inWC").replace("\"high\"", "\"off\""),
            "shows air although the ventilator is said to be off",
            1,
        ),
        (
            supply("0.372 inWC") + "instrument = \"barometer\"\n",
            "there is no instrument \"barometer\" that can read supply station",
            0,
        ),
        (
            "[[step]]\ndamper = \"extract\"\nto = \"120 deg\"\n".into(),
            "is no angle from open, from 0 to 90",
            0,
        ),
        (
            "[[step]]\ndamper = \"extract\"\nto = \"half\"\n".into(),
            "\"half\" is no angle from open",
            0,
        ),
        (
            "[[step]]\nblower = \"low\"\nsetting = \"fast\"\n".into(),
            "\"fast\" is no setting of a ventilator",
            0,
        ),
        (
            "[[step]]\nstrike_out = 9\nreason = \"wrong\"\n".into(),
            "strikes out entry 10, which does not stand before it",
            0,
        ),
        (
            format!(
                "{}time = \"2026-05-12T09:00:00-05:00\"\n{}time = \"2026-05-12T08:00:00-05:00\"\n",
                supply("0.372 inWC"),
                supply("0.371 inWC")
            ),
            "lies before that of an earlier entry: look at the clock",
            2,
        ),
        (
            supply("0.372 inWC") + "time = \"noon\"\n",
            "has the time \"noon\", which is no date",
            1,
        ),
        (
            format!(
                "{0}time = \"2026-05-12T09:00:00-05:00\"\n{0}time = \"2026-05-12T09:00:00-05:00\"\n",
                supply("0.372 inWC")
            ),
            "is the same as entry 2, down to its time. It is kept, and counts once",
            1,
        ),
        (
            "outdoor = \"480 F\"\n".to_owned() + &supply("0.372 inWC"),
            "\"480 F\" cannot be the outdoor temperature of the day",
            1,
        ),
        (
            "indoor = \"warm\"\n".to_owned() + &supply("0.372 inWC"),
            "\"warm\" cannot be the indoor temperature of the day",
            1,
        ),
    ] {
        let folder = folder();
        let output = balance(folder.path(), steps.as_bytes(), &[]);
        assert_eq!(code(&output), 1, "{steps}: {}", problems(&output));
        let text = flowing(&result(&output));
        assert!(text.contains(told), "{steps}\n{told}\n{text}");
        for line in result(&output).lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
        let object = json(&balance(folder.path(), steps.as_bytes(), &["--json"]));
        let readings = object["readings"].as_array().expect("a list");
        let count = readings.iter().filter(|it| it["used"] == true).count();
        assert_eq!(count, used, "{steps}: {readings:?}");
        // Kept as it was written, and told again from the journal.
        let kept = balance(folder.path(), steps.as_bytes(), &["--keep"]);
        assert_eq!(code(&kept), 1, "{steps}");
        let again = run(folder.path(), &["balance", JOB, "--status"]);
        assert_eq!(code(&again), 1);
        if !told.contains("noon") {
            assert!(
                flowing(&result(&again)).contains(told),
                "{steps}: {}",
                result(&again)
            );
        }
        let bytes = fs::read(folder.path().join("duluth-set-up.journal")).expect("a journal");
        let written = steps.matches("[[step]]").count();
        assert_eq!(Journal::read(&bytes).entries().count(), written + 1);
    }
}

/// The file cannot be read as a day: nothing is kept of it, it is told where and why, exit code 2.
#[test]
fn files_that_are_no_day_are_refused_with_a_reason() {
    let large = "# nothing but remarks\n".repeat(500_000);
    assert!(large.len() > 10_000_000);
    let mut latin = supply("0.372 inWC").into_bytes();
    latin.extend(b"note = \"54\xB0\"\n");
    for (day, told) in [
        (Vec::new(), "there is nothing in day.toml"),
        (b" \n\n".to_vec(), "there is nothing in day.toml"),
        (large.into_bytes(), "files up to 4000000 bytes are read"),
        (latin, "day.toml:"),
        (
            supply("0.3 inWC")
                .replace("\"heating\"", "\"turbo\"")
                .into_bytes(),
            "unknown variant `turbo`",
        ),
        (
            b"[[step]]\ndamper = \"exhaust\"\nto = \"35 deg\"\n".to_vec(),
            "unknown variant `exhaust`",
        ),
        (
            b"[[step]]\nstrike_out = 0\nreason = \"wrong\"\n".to_vec(),
            "there is no step 0",
        ),
        (
            b"[[step]]\nstrike_out = -1\nreason = \"wrong\"\n".to_vec(),
            "cannot be used",
        ),
        (
            b"[[step]]\nvalue = 0.372\nat = \"supply station\"\n".to_vec(),
            "expected a string",
        ),
        (
            b"[[step]]\nblower = \"low\"\n".to_vec(),
            "only one of blower and setting",
        ),
    ] {
        let folder = folder();
        let start = String::from_utf8_lossy(&day[..day.len().min(60)]).into_owned();
        let output = balance(folder.path(), &day, &["--keep"]);
        assert_eq!(code(&output), 2, "{start}: {}", result(&output));
        let text = flowing(&problems(&output));
        assert!(text.contains(told), "{start}: {text}");
        assert!(
            !folder.path().join("duluth-set-up.journal").exists(),
            "{start}"
        );
    }
}

fn dialogue(folder: &Path, typed: &[u8]) -> Output {
    let mut child = program(folder)
        .args(["balance", JOB])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut input = child.stdin.take().expect("its input");
    input.write_all(typed).expect("it reads");
    drop(input);
    child.wait_with_output().expect("it ends")
}

/// Typed at the first question of the dialogue: what it says, and whether it is kept as a reading or
/// a note. It ends with the input, so that the exit code is 1.
#[test]
fn what_is_typed_wrongly_is_kept_and_told() {
    // (typed, told, kept in the journal)
    for (typed, told, kept) in [
        (
            "0.372 psi",
            "lies beyond what manometer can show",
            "0.372 psi",
        ),
        ("90 cfm", "is a unit of volume flow", "90 cfm"),
        ("-0.372 inWC\n", "Count it so?", "-0.372 inWC"),
        ("-0.372 inWC\nn", "not used until you say so", "-0.372 inWC"),
        // Without a unit: in that which is clear, or asked for; never guessed.
        ("0.372", "= 0.372 inWC (92.7 Pa)", "\"0.372 inWC\""),
        ("90\n", "Is it 90 Pa?", "\"90 Pa\""),
        (
            "90\nn",
            "Type it with its unit.",
            "supply station: 90, without a unit",
        ),
        (
            "90000",
            "more than the instrument can show",
            "90000, without a unit",
        ),
        (
            "supply port = 40",
            "40 inWC is more than the instrument can show. Is it 40 Pa?",
            "",
        ),
        (
            "0.372 inWC\nsupply station = 93 Pa\nextract station = 110",
            "= 110 Pa",
            "\"110 Pa\"",
        ),
        ("lots", "It was not understood", "lots"),
        ("", "Type what the instrument shows", ""),
        (
            "attic = 3 Pa",
            "There is no place \"attic\"; kept as a note",
            "attic = 3 Pa",
        ),
        ("house = 3 cfm", "is a unit of volume flow", "3 cfm"),
        ("damper exhaust 30", "Write which and to where", ""),
        ("damper extract 95", "Write which and to where", ""),
        (
            "blower turbo",
            "The blower can be off, low, heating or cooling.",
            "",
        ),
        (
            "setting fast",
            "The ventilator can be at off, low, high or boost.",
            "",
        ),
        (
            "blower cooling",
            "The survey has no blower mode cooling",
            "\"blower\":\"cooling\"",
        ),
        ("undo", "There is nothing to strike out.", ""),
    ] {
        let folder = folder();
        let answers = format!("R. Aune\n51 F\n69 F\n{typed}\n");
        let output = dialogue(folder.path(), answers.as_bytes());
        assert_eq!(code(&output), 1, "{typed}: {}", problems(&output));
        let text = flowing(&result(&output));
        assert!(text.contains(told), "{typed}: {text}");
        let journal = fs::read(folder.path().join("duluth-set-up.journal")).expect("a journal");
        assert!(Journal::read(&journal).is_whole());
        let journal = String::from_utf8(journal).expect("text");
        assert!(journal.contains(kept), "{typed}: {journal}");
    }
}

#[test]
fn an_exchange_of_the_hoses_is_counted_when_it_is_confirmed() {
    let folder = folder();
    dialogue(
        folder.path(),
        b"R. Aune\n51 F\n69 F\n\xE2\x88\x920.372 inWC\n\nquit\n",
    );
    let bytes = fs::read(folder.path().join("duluth-set-up.journal")).expect("a journal");
    let journal = Journal::read(&bytes);
    let values: Vec<(u64, &str)> = journal
        .entries()
        .filter_map(|entry| match &entry.event {
            Event::Reading(reading) => Some((entry.number, reading.value.as_str())),
            _ => None,
        })
        .collect();
    assert_eq!(values, [(2, "−0.372 inWC"), (4, "0.372 inWC")]);
    assert_eq!(journal.struck_out().get(&2), Some(&"hoses exchanged"));
}

/// Bytes that are no text end the dialogue with a message; what was kept before stays.
#[test]
fn bytes_that_are_no_text_end_the_dialogue() {
    let folder = folder();
    let output = dialogue(
        folder.path(),
        b"R. Aune\n51 F\n69 F\n0.372 inWC\n\xFF\xFE\n",
    );
    assert_eq!(code(&output), 2);
    assert!(
        problems(&output).contains("cannot read the answer"),
        "{}",
        problems(&output)
    );
    let journal = fs::read_to_string(folder.path().join("duluth-set-up.journal"));
    assert!(journal.expect("a journal").contains("0.372 inWC"));
}
