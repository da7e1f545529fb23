//! Checks of the day, the record, and a later visit.
#![cfg(unix)]

mod support;

use std::collections::BTreeSet;
use std::fs;
use std::io::Write as _;
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use std::process::{Output, Stdio};

use support::{code, json, keys, problems, program, result, run, workspace};
use tempfile::TempDir;

const JOB: &str = "duluth-set-up.toml";

fn folder() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for file in [
        JOB,
        "catalogue.toml",
        "duluth-set-up-day.toml",
        "duluth-set-up-revisit.toml",
    ] {
        fs::copy(
            workspace().join("examples").join(file),
            folder.path().join(file),
        )
        .expect("a copy of the example");
    }
    calibrated(folder.path(), None);
    folder
}

/// Writes the day of the calibration into the job: none, so that tests do not age.
fn calibrated(folder: &Path, day: Option<&str>) {
    let path = folder.join(JOB);
    let job = fs::read_to_string(&path).expect("the job");
    let lines = job.lines().map(|line| match day {
        Some(day) if line.starts_with("resolution = ") => {
            format!("{line}\ncalibrated = \"{day}\"\n")
        }
        _ if line.starts_with("calibrated = ") => String::new(),
        _ => format!("{line}\n"),
    });
    fs::write(&path, lines.collect::<String>()).expect("the job");
}

/// A text in one line.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Runs the program with these lines typed into it.
fn type_into(folder: &Path, arguments: &[&str], typed: &str) -> Output {
    let mut child = program(folder)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut input = child.stdin.take().expect("its input");
    input.write_all(typed.as_bytes()).expect("it reads");
    drop(input);
    child.wait_with_output().expect("it ends")
}

/// Plays the day and ticks everything.
fn complete(folder: &Path) {
    let good = |arguments: &[&str]| {
        let output = run(folder, arguments);
        assert_eq!(code(&output), 0, "{arguments:?}: {}", problems(&output));
    };
    good(&[
        "balance",
        JOB,
        "--readings",
        "duluth-set-up-day.toml",
        "--keep",
    ]);
    for item in [
        "power",
        "drain",
        "insulation",
        "hoods",
        "filters",
        "dampers",
        "labels",
        "sound",
    ] {
        good(&["checklist", JOB, "--done", item]);
    }
    good(&[
        "checklist",
        JOB,
        "--combustion",
        "furnace",
        "--worst-pressure",
        "-2.1 Pa",
        "--tester",
        "L. Brekke",
        "--result",
        "good",
    ]);
    good(&[
        "log",
        JOB,
        "--at",
        "extract station",
        "--value",
        "0.455 inWC",
        "--blower",
        "heating",
        "--setting",
        "high",
    ]);
}

fn sign(folder: &Path) {
    let signed = run(folder, &["record", JOB, "--sign", "--who", "R. Aune"]);
    assert_eq!(code(&signed), 0, "{}", problems(&signed));
}

#[test]
fn the_list_follows_from_the_plan_and_the_journal() {
    let folder = folder();
    let keys = |object: &serde_json::Value| -> Vec<(String, serde_json::Value)> {
        object["checks"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|check| {
                let item = check["item"].as_str().expect("a key").to_owned();
                (item, check["result"].clone())
            })
            .collect()
    };
    let empty = run(folder.path(), &["checklist", JOB, "--json"]);
    assert_eq!(code(&empty), 1);
    let list = keys(&json(&empty));
    assert_eq!(list.len(), 10);
    assert!(list.iter().all(|(_, result)| result.is_null()), "{list:?}");
    let printed = result(&run(folder.path(), &["checklist", JOB]));
    insta::assert_snapshot!("the_empty_list", printed);

    complete(folder.path());
    let full = run(folder.path(), &["checklist", JOB, "--json"]);
    assert_eq!(code(&full), 0);
    assert!(
        keys(&json(&full))
            .iter()
            .all(|(_, result)| result == "good")
    );
    // The latest word counts.
    run(
        folder.path(),
        &[
            "checklist",
            JOB,
            "--done",
            "drain",
            "--result",
            "not-good",
            "--note",
            "trap dry",
        ],
    );
    assert_eq!(code(&run(folder.path(), &["checklist", JOB])), 1);

    let unknown = run(folder.path(), &["checklist", JOB, "--done", "roof"]);
    assert_eq!(code(&unknown), 2);
    assert!(
        problems(&unknown).contains("known: power, drain"),
        "{}",
        problems(&unknown)
    );
    let unknown = run(
        folder.path(),
        &[
            "checklist",
            JOB,
            "--combustion",
            "stove",
            "--result",
            "good",
        ],
    );
    assert_eq!(code(&unknown), 2);
}

#[test]
fn the_worksheet_says_who_may_do_it() {
    let sheet = result(&run(
        &workspace().join("examples"),
        &["checklist", JOB, "--worksheet"],
    ));
    assert!(sheet.contains("trained and licensed"), "{sheet}");
    assert!(sheet.contains("furnace"), "{sheet}");
    // Nothing that burns: nothing to fill in.
    let none = result(&run(
        &workspace().join("examples"),
        &["checklist", "tallahassee-heat-pump.toml", "--worksheet"],
    ));
    assert!(!none.contains("ppm"), "{none}");
}

#[test]
fn a_record_is_signed_when_all_is_good_and_proves_itself() {
    let folder = folder();
    let path = folder.path();
    let early = run(path, &["record", JOB, "--sign", "--who", "R. Aune"]);
    assert_eq!(code(&early), 2);
    assert!(
        problems(&early).contains("the power supply is not checked"),
        "{}",
        problems(&early)
    );
    assert_eq!(code(&run(path, &["record", JOB])), 2);

    complete(path);
    assert_eq!(
        code(&run(path, &["record", JOB, "--sign"])),
        2,
        "nobody signs"
    );
    sign(path);
    let shown = run(path, &["record", JOB, "--json"]);
    assert_eq!(code(&shown), 0, "{}", result(&shown));
    let object = json(&shown);
    assert_eq!(object["record"]["open_points"], serde_json::json!([]));
    assert_eq!(object["record"]["set_up"]["verdict"], "done");
    assert_eq!(object["record"]["set_up"]["dampers_deg"]["extract"], 55.0);
    assert_eq!(
        object["record"]["combustion_tests"][0]["appliance"],
        "furnace"
    );

    // It is not meant to be changed, and a change is seen.
    let file = path.join("duluth-set-up.record.json");
    let mode = fs::metadata(&file)
        .expect("the record")
        .permissions()
        .mode();
    assert_eq!(mode & 0o222, 0);
    let text = fs::read_to_string(&file).expect("the record");
    let changed = text.replace("R. Aune", "R. Oune");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o644)).expect("force");
    fs::write(&file, changed).expect("a changed record");
    let seen = run(path, &["record", JOB]);
    assert_eq!(code(&seen), 1);
    assert!(
        result(&seen).contains("NOT what was signed"),
        "{}",
        result(&seen)
    );
    fs::write(&file, text).expect("the record as it was");

    // A changed journal is seen too, and nothing is signed on it.
    let journal = path.join("duluth-set-up.journal");
    let lines = fs::read_to_string(&journal).expect("the journal");
    fs::write(&journal, lines.replace("0.454 inWC", "0.464 inWC")).expect("changed");
    assert_eq!(code(&run(path, &["record", JOB])), 1);
    let refused = run(path, &["record", JOB, "--sign", "--who", "R. Aune"]);
    assert!(
        problems(&refused).contains("is not what was written"),
        "{}",
        problems(&refused)
    );
    fs::write(&journal, lines).expect("the journal as it was");

    // A second one does not touch the first.
    sign(path);
    assert!(path.join("duluth-set-up.record-2.json").exists());
    assert_eq!(code(&run(path, &["record", JOB])), 0);
}

#[test]
fn what_is_open_is_signed_only_with_a_reason() {
    let folder = folder();
    run(
        folder.path(),
        &[
            "balance",
            JOB,
            "--readings",
            "duluth-set-up-day.toml",
            "--keep",
        ],
    );
    let signed = run(
        folder.path(),
        &[
            "record",
            JOB,
            "--sign",
            "--who",
            "R. Aune",
            "--although",
            "client moves in today",
        ],
    );
    assert_eq!(code(&signed), 0, "{}", problems(&signed));
    let shown = result(&run(folder.path(), &["record", JOB]));
    assert!(
        shown.contains("signed although: client moves in today"),
        "{shown}"
    );
    assert!(shown.contains("open: the drain is not checked"), "{shown}");
}

#[test]
fn a_record_written_before_the_power_failed_is_signed_later() {
    let folder = folder();
    complete(folder.path());
    let journal = folder.path().join("duluth-set-up.journal");
    let before = fs::read(&journal).expect("the journal");
    sign(folder.path());
    // The record reached the disk, the signature did not.
    fs::write(&journal, before).expect("the journal before the signature");
    assert_eq!(code(&run(folder.path(), &["record", JOB])), 1);
    sign(folder.path());
    assert_eq!(code(&run(folder.path(), &["record", JOB])), 0);
    assert!(!folder.path().join("duluth-set-up.record-2.json").exists());
}

#[test]
fn a_revisit_names_what_has_drifted() {
    let folder = folder();
    let path = folder.path();
    let none = run(path, &["revisit", JOB]);
    assert_eq!(code(&none), 2);
    complete(path);
    sign(path);
    let drifted = run(
        path,
        &["revisit", JOB, "--readings", "duluth-set-up-revisit.toml"],
    );
    assert_eq!(code(&drifted), 1, "{}", problems(&drifted));
    let text: String = result(&drifted)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(
        text.contains("The unit moves less supply air, 0.80 times what it was"),
        "{text}"
    );
    let page = fs::read_to_string(workspace().join("docs/balancing.md")).expect("the page");
    let page: String = page.split_whitespace().collect::<Vec<_>>().join(" ");
    let (_, sentence) = text.split_once("• ").expect("a change");
    assert!(
        page.contains(sentence),
        "docs/balancing.md lacks: {sentence}"
    );

    // The same readings as on the day: nothing has changed.
    assert_eq!(
        code(&run(
            path,
            &[
                "revisit",
                JOB,
                "--begin",
                "--outdoor",
                "51 F",
                "--indoor",
                "69 F"
            ]
        )),
        0
    );
    for (at, value) in [
        ("supply station", "0.370 inWC"),
        ("extract station", "0.453 inWC"),
    ] {
        run(
            path,
            &[
                "log",
                JOB,
                "--at",
                at,
                "--value",
                value,
                "--blower",
                "low",
                "--setting",
                "high",
            ],
        );
    }
    let same = run(path, &["revisit", JOB, "--status"]);
    assert_eq!(code(&same), 0, "{}", result(&same));
    assert!(
        result(&same).contains("Nothing has changed"),
        "{}",
        result(&same)
    );
    // The record still holds.
    assert_eq!(code(&run(path, &["record", JOB])), 0);
}

#[test]
fn a_revisit_asks_for_what_was_read_on_the_day() {
    let folder = folder();
    let path = folder.path();
    assert_eq!(code(&run(path, &["revisit", JOB])), 2, "no set-up yet");
    complete(path);
    // Hoses exchanged, a wrong unit, a place that was not asked for, a slip.
    let typed = "46 F\n70 F\n-0.281 inWC\n\n0.457 cfm\n0.457 inWC\n0.459\n\n0.110 inWC\n\
                 outdoor port = -0.212 inWC\nwhat\n\n";
    let output = type_into(path, &["revisit", JOB], typed);
    assert_eq!(code(&output), 1, "{}", problems(&output));
    let text = result(&output);
    insta::assert_snapshot!("the_revisit", text);
    for line in text.lines().filter(|line| !line.contains("> ")) {
        assert!(line.chars().count() <= 80, "{line}");
    }
    let told = flowing(&text);
    for words in [
        "supply damper open, extract damper at 55°",
        "On the day of the record it showed 0.369 inWC (91.9 Pa).",
        "It has drifted: 24 % less than recorded",
        "No drift to be seen here: 1 % more than recorded",
        "is a unit of volume flow",
        "The unit moves less supply air, 0.82 times what it was",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    // Everything is in the journal, and the comparison can be had again.
    let journal = fs::read_to_string(path.join("duluth-set-up.journal")).expect("the journal");
    for kept in [
        "revisit begun",
        "-0.281 inWC",
        "0.457 cfm",
        "hoses exchanged",
        "-0.212 inWC",
    ] {
        assert!(journal.contains(kept), "{kept}");
    }
    let again = run(path, &["revisit", JOB, "--status", "--json"]);
    assert_eq!(code(&again), 1);
    let object = json(&again);
    let visit = object["visit"].as_array().expect("readings");
    assert_eq!(visit[1]["at"], "supply station");
    let recorded = visit[1]["recorded_pa"].as_f64().expect("a pressure");
    assert!((recorded - 0.369 * 249.089).abs() < 0.01, "{recorded}");

    // Going on with it: nothing is asked for that was read; a new one asks again.
    let on = result(&type_into(path, &["revisit", JOB], "\n\n"));
    assert!(on.contains("A revisit was begun on"), "{on}");
    assert!(on.contains("Enter to end"), "{on}");
    assert!(!on.contains("Read supply station"), "{on}");
    let new = flowing(&result(&type_into(
        path,
        &["revisit", JOB],
        "n\n\n\n\nquit\n",
    )));
    assert!(new.contains("Read supply station"), "{new}");
    assert!(new.contains("Read extract station"), "{new}");
}

#[test]
fn an_old_calibration_is_told_everywhere() {
    // (day of the calibration, what is told of readings on 2026-05-12)
    for (day, told) in [
        (
            "2025-05-11",
            Some(
                "last calibrated on 2025-05-11, more than a year before the readings of 2026-05-12",
            ),
        ),
        (
            "2026-06-01",
            Some("was calibrated on 2026-06-01, which is after the readings of 2026-05-12"),
        ),
        ("2025-05-12", None),
    ] {
        let folder = folder();
        let path = folder.path();
        calibrated(path, Some(day));
        run(
            path,
            &[
                "balance",
                JOB,
                "--readings",
                "duluth-set-up-day.toml",
                "--keep",
            ],
        );
        let check = run(path, &["check", JOB]);
        assert_eq!(code(&check), 0);
        let surfaces = [
            problems(&check),
            result(&run(path, &["balance", JOB, "--status"])),
            result(&run(path, &["checklist", JOB])),
        ];
        for text in surfaces {
            let text = flowing(&text);
            match told {
                Some(told) => assert!(text.contains(told), "{day}: {text}"),
                None => assert!(!text.contains("alibrated on"), "{day}: {text}"),
            }
        }
        for command in [
            &["check", JOB, "--json"][..],
            &["balance", JOB, "--json"],
            &["checklist", JOB, "--json"],
        ] {
            let remarks = json(&run(path, command))["remarks"].clone();
            assert_eq!(
                remarks.as_array().map(Vec::len),
                Some(usize::from(told.is_some())),
                "{remarks}"
            );
        }
        // The record keeps the day, and what was told of it.
        let signed = run(
            path,
            &[
                "record",
                JOB,
                "--sign",
                "--who",
                "R. Aune",
                "--although",
                "a test",
            ],
        );
        assert_eq!(code(&signed), 0, "{}", problems(&signed));
        let record = json(&run(path, &["record", JOB, "--json"]))["record"].clone();
        assert_eq!(record["instruments"][0]["calibrated"], day);
        assert_eq!(
            record["set_up"]["remarks"].as_array().map(Vec::len),
            Some(usize::from(told.is_some()))
        );
    }
    let folder = folder();
    calibrated(folder.path(), Some("2001-02-03"));
    let check = flowing(&problems(&run(folder.path(), &["check", JOB])));
    assert!(check.contains("more than a year before today"), "{check}");
}

#[test]
fn photos_are_looked_for_beside_the_job() {
    let folder = folder();
    let path = folder.path();
    fs::create_dir(path.join("photos")).expect("a folder");
    fs::write(path.join("photos/trap.jpg"), "a picture").expect("a photo");
    // (photo, what is told)
    for (photo, told) in [
        ("photos/trap.jpg", None),
        ("gone.jpg", Some("is not beside the job")),
        ("photos", Some("is not beside the job")),
        ("../trap.jpg", Some("lies outside the folder of the job")),
        ("/etc/hostname", Some("lies outside the folder of the job")),
    ] {
        let kept = run(
            path,
            &["checklist", JOB, "--done", "drain", "--photo", photo],
        );
        assert_eq!(code(&kept), 0, "never an error");
        match told {
            Some(told) => assert!(
                flowing(&result(&kept)).contains(told),
                "{photo}: {}",
                result(&kept)
            ),
            None => assert!(!result(&kept).contains('!'), "{photo}: {}", result(&kept)),
        }
    }
    let reading = [
        "log",
        JOB,
        "--at",
        "supply station",
        "--value",
        "0.372 inWC",
        "--photo",
        "display.jpg",
    ];
    assert_eq!(code(&run(path, &reading)), 0);
    let remarks = json(&run(path, &["balance", JOB, "--json"]))["remarks"].clone();
    let remarks: Vec<&str> = remarks
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|it| it.as_str())
        .collect();
    assert_eq!(remarks.len(), 5, "{remarks:?}");
    assert!(
        remarks[4].contains("\"display.jpg\" is not beside the job"),
        "{remarks:?}"
    );
    // Put there, or struck out, it is told no more.
    fs::write(path.join("display.jpg"), "a picture").expect("a photo");
    run(
        path,
        &["log", JOB, "--strike-out", "2", "--reason", "wrong photo"],
    );
    let remarks = json(&run(path, &["balance", JOB, "--json"]))["remarks"].clone();
    assert_eq!(remarks.as_array().map(Vec::len), Some(3), "{remarks}");
}

/// The example with another appliance: the values as typed, what is told, whether the item is good.
#[test]
fn combustion_values_are_compared_with_the_rules() {
    struct Case {
        venting: &'static str,
        values: &'static [&'static str],
        told: &'static str,
        good: bool,
    }
    let case = |venting, values, told, good| Case {
        venting,
        values,
        told,
        good,
    };
    for Case {
        venting,
        values,
        told,
        good,
    } in [
        // Limits of depressurisation: 2, 5 and 15 Pa, rows of the rules, from memory.
        case(
            "natural draft water heater alone",
            &["--worst-pressure", "-3.1 Pa", "--base-pressure", "-1 Pa"],
            "2.1 Pa below outdoors, less the base pressure. At most 2 Pa below is allowed (BPI technical standards, before 2014, from memory)",
            false,
        ),
        case(
            "natural draft",
            &["--worst-pressure", "-3.1 Pa", "--base-pressure", "-1 Pa"],
            "",
            true,
        ),
        case(
            "natural draft",
            &["--worst-pressure", "-0.024 inWC"],
            "the base pressure was not entered",
            false,
        ),
        case("power vented", &["--worst-pressure", "-14 Pa"], "", true),
        case(
            "power vented",
            &["--worst-pressure", "-16 Pa"],
            "At most 15 Pa below is allowed",
            false,
        ),
        case(
            "power vented",
            &["--worst-pressure", "low"],
            "the worst pressure was not understood",
            true,
        ),
        case(
            "power vented",
            &["--worst-pressure", "-2 cfm"],
            "is a unit of volume flow",
            true,
        ),
        // Spillage: 5 min, a row in doubt, so that it warns alone.
        case(
            "natural draft",
            &["--spillage", "draws after 6 min"],
            "after 6 min; within 5 min is asked for",
            true,
        ),
        case(
            "natural draft",
            &["--spillage", "draws after 90 s"],
            "",
            true,
        ),
        case(
            "natural draft",
            &["--spillage", "still spills after 5 min"],
            "The vent spills. Stop",
            false,
        ),
        case(
            "natural draft",
            &["--spillage", "fine"],
            "is none of: draws at once",
            true,
        ),
        // Draft at 51 °F: 2.75 − 51/40 = 1.475 Pa by hand; no number in the row, so that it warns alone.
        case("natural draft", &["--draft", "-1.5 Pa"], "", true),
        case(
            "natural draft",
            &["--draft", "-1.4 Pa"],
            "draws with 1.4 Pa; at least 1.5 Pa is asked for",
            true,
        ),
        case(
            "natural draft",
            &["--draft", "2 Pa"],
            "the vent presses into the room",
            true,
        ),
        case("power vented", &["--draft", "-0.2 Pa"], "", true),
        // Carbon monoxide: in the flue no row has a limit; in the room 9, 36 and 70 ppm.
        case("natural draft", &["--carbon-monoxide", "90 ppm"], "", true),
        case(
            "natural draft",
            &["--carbon-monoxide", "250 ppm air-free"],
            "no rule of this program has a limit",
            true,
        ),
        case(
            "natural draft",
            &["--carbon-monoxide", "a bit"],
            "is no number of parts per million",
            true,
        ),
        case("natural draft", &["--room-carbon-monoxide", "4"], "", true),
        case(
            "natural draft",
            &["--room-carbon-monoxide", "12 ppm"],
            "find the cause",
            true,
        ),
        case(
            "natural draft",
            &["--room-carbon-monoxide", "40 ppm"],
            "stop work and air the house",
            false,
        ),
        case(
            "natural draft",
            &["--room-carbon-monoxide", "80 ppm"],
            "leave the house now",
            false,
        ),
    ] {
        let folder = folder();
        let path = folder.path();
        let job = fs::read_to_string(path.join(JOB)).expect("the job");
        fs::write(path.join(JOB), job.replace("power vented", venting)).expect("the job");
        run(
            path,
            &[
                "balance",
                JOB,
                "--readings",
                "duluth-set-up-day.toml",
                "--keep",
            ],
        );
        let mut arguments = vec![
            "checklist",
            JOB,
            "--combustion",
            "furnace",
            "--result",
            "good",
        ];
        arguments.extend(values);
        let kept = run(path, &arguments);
        assert_eq!(code(&kept), 0, "{venting} {values:?}: {}", problems(&kept));
        let text = flowing(&result(&kept)).to_lowercase();
        assert!(text.contains("trained and licensed"), "{text}");
        assert!(
            text.contains("leave the house, let air in on the way"),
            "{text}"
        );
        if told.is_empty() {
            assert!(!text.contains(" ! "), "{venting} {values:?}: {text}");
        } else {
            assert!(
                text.contains(&told.to_lowercase()),
                "{venting} {values:?}: {text}"
            );
        }
        let list = json(&run(path, &["checklist", JOB, "--json"]));
        let checks = list["checks"].as_array().expect("checks");
        let item = checks
            .iter()
            .find(|it| it["item"] == "combustion")
            .expect("the item");
        let expected = if good { "good" } else { "not good" };
        assert_eq!(item["result"], expected, "{venting} {values:?}");
    }
}

/// Every key that these commands print stands in docs/json.md, and every command prints some.
#[test]
fn every_key_of_the_day_is_described() {
    let folder = folder();
    let path = folder.path();
    calibrated(path, Some("2024-01-31"));
    let page = fs::read_to_string(workspace().join("docs/json.md")).expect("docs/json.md");
    complete(path);
    sign(path);
    let readings = [
        "revisit",
        JOB,
        "--readings",
        "duluth-set-up-revisit.toml",
        "--json",
    ];
    let combustion = [
        "checklist",
        JOB,
        "--combustion",
        "furnace",
        "--result",
        "good",
        "--tester",
        "L. Brekke",
        "--base-pressure",
        "-1 Pa",
        "--worst-pressure",
        "-3 Pa",
        "--state",
        "all fans",
        "--spillage",
        "none",
        "--draft",
        "-3 Pa",
        "--carbon-monoxide",
        "20 ppm",
        "--room-carbon-monoxide",
        "1 ppm",
        "--note",
        "calm",
        "--json",
    ];
    let reading = [
        "log",
        JOB,
        "--at",
        "house",
        "--value",
        "-1 Pa",
        "--blower",
        "low",
        "--setting",
        "high",
        "--supply-damper",
        "0",
        "--extract-damper",
        "54",
        "--instrument",
        "manometer",
        "--note",
        "calm",
        "--photo",
        "display.jpg",
        "--json",
    ];
    let strike = [
        "log",
        JOB,
        "--strike-out",
        "3",
        "--reason",
        "slipped",
        "--json",
    ];
    let done = [
        "checklist",
        JOB,
        "--done",
        "sound",
        "--photo",
        "gone.jpg",
        "--json",
    ];
    let sign = ["record", JOB, "--sign", "--who", "R. Aune", "--json"];
    for arguments in [
        &readings[..],
        &sign,
        &combustion,
        &done,
        &reading,
        &strike,
        &[
            "log", JOB, "--damper", "extract", "--to", "54 deg", "--json",
        ],
        &["log", JOB, "--blower", "low", "--setting", "high", "--json"],
        &["log", JOB, "--json"],
        &["balance", JOB, "--json"],
        &["checklist", JOB, "--json"],
        &["record", JOB, "--json"],
        &["check", JOB, "--json"],
    ] {
        let output = run(path, arguments);
        let mut found = BTreeSet::new();
        keys(&json(&output), &mut found);
        assert!(!found.is_empty(), "{arguments:?}");
        assert_ne!(code(&output), 2, "{arguments:?}: {}", result(&output));
        let missing: Vec<&String> = found
            .iter()
            .filter(|key| !page.contains(&format!("`{key}`")))
            .collect();
        assert!(
            missing.is_empty(),
            "{arguments:?}: not in docs/json.md: {missing:?}"
        );
    }
}
