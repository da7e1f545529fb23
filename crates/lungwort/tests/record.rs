//! Checks of the day, the record, and a later visit.
#![cfg(unix)]

mod support;

use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;

use support::{code, json, problems, result, run, workspace};
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
    folder
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
        "0.468 inWC",
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
        problems(&early).contains("power is not checked"),
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
    assert_eq!(object["record"]["set_up"]["dampers_deg"]["extract"], 54.0);
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
    fs::write(&journal, lines.replace("0.467 inWC", "0.477 inWC")).expect("changed");
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
    assert!(shown.contains("open: drain is not checked"), "{shown}");
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
        text.contains("The unit moves less supply air, 0.82 times what it was"),
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
        ("extract station", "0.466 inWC"),
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
    let same = run(path, &["revisit", JOB]);
    assert_eq!(code(&same), 0, "{}", result(&same));
    assert!(
        result(&same).contains("Nothing has changed"),
        "{}",
        result(&same)
    );
    // The record still holds.
    assert_eq!(code(&run(path, &["record", JOB])), 0);
}
