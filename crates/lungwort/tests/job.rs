//! `lungwort new`, `check` and `schema`, as a user runs them.

mod support;

use std::fs;

use support::{all, code, json, problems, result, run, workspace};

/// Replaces one text in the starter and checks it.
fn check_starter_with(from: &str, to: &str) -> std::process::Output {
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(code(&run(folder.path(), &["new"])), 0);
    let path = folder.path().join("job.toml");
    let starter = fs::read_to_string(&path).expect("the starter");
    assert!(starter.contains(from), "the starter has no {from}");
    fs::write(&path, starter.replacen(from, to, 1)).expect("a changed starter");
    run(folder.path(), &["check", "job.toml"])
}

/// A job that is begun in SI is printed so by every command, without asking again.
#[test]
fn a_new_job_keeps_the_units_that_were_asked_for() {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, units, first) in [("ip.toml", "ip", "ft² ("), ("si.toml", "si", "m² (")] {
        assert_eq!(
            code(&run(folder.path(), &["new", name, "--units", units])),
            0
        );
        let checked = result(&run(folder.path(), &["check", name]));
        let area = checked.lines().find(|line| line.contains("floor area"));
        assert!(area.is_some_and(|line| line.contains(first)), "{checked}");
    }
}

#[test]
fn new_writes_a_job_that_can_be_checked() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = run(folder.path(), &["new"]);
    assert_eq!(
        all(&output),
        "exit code 0\n--- result\n\
         Wrote job.toml. Change its numbers to those of your house, then:\n  \
         lungwort check job.toml\n--- problems\n"
    );
    let output = run(folder.path(), &["check", "job.toml"]);
    insta::assert_snapshot!(all(&output));
    let entries = fs::read_dir(folder.path()).expect("the folder").count();
    assert_eq!(entries, 1, "nothing but the file is left behind");
}

#[test]
fn new_never_replaces_a_file_unless_told_to() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("house.toml");
    fs::write(&path, "precious").expect("a file");
    let output = run(folder.path(), &["new", "house.toml"]);
    assert_eq!(
        all(&output),
        "exit code 2\n--- result\n--- problems\n\
         error: house.toml exists already\n  \
         choose another name, or replace it with --force\n"
    );
    assert_eq!(fs::read_to_string(&path).expect("the file"), "precious");

    let output = run(folder.path(), &["new", "house.toml", "--force"]);
    assert_eq!(code(&output), 0);
    let text = fs::read_to_string(&path).expect("the file");
    assert!(text.contains("format = 1"));
}

#[test]
fn new_says_where_it_cannot_write() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::create_dir(folder.path().join("jobs")).expect("a folder");
    for (name, answer) in [
        (
            "jobs",
            "error: cannot write jobs: it is a folder, a file is asked for\n",
        ),
        (
            "nowhere/job.toml",
            "error: cannot write nowhere/job.toml: there is no such file or folder\n",
        ),
    ] {
        let output = run(folder.path(), &["new", name]);
        assert_eq!(code(&output), 2);
        assert_eq!(problems(&output), answer);
    }
}

#[cfg(unix)]
#[test]
fn new_does_not_write_through_a_dangling_link() {
    let folder = tempfile::tempdir().expect("a folder");
    let target = folder.path().join("elsewhere.toml");
    std::os::unix::fs::symlink(&target, folder.path().join("job.toml")).expect("a link");
    assert_eq!(code(&run(folder.path(), &["new"])), 2);
    assert!(!target.exists());
}

#[test]
fn check_tells_every_mistake_at_its_place() {
    let output = check_starter_with(
        "floor_area = \"1900 ft2\"",
        "flor_area = \"1900 ft2\"\nceiling_hight = \"8 cfm\"",
    );
    assert_eq!(code(&output), 2);
    insta::assert_snapshot!(all(&output));
}

#[test]
fn check_echoes_both_systems() {
    let folder = tempfile::tempdir().expect("a folder");
    run(folder.path(), &["new"]);
    let ip = result(&run(folder.path(), &["check", "job.toml"]));
    let si = result(&run(folder.path(), &["check", "job.toml", "--units", "si"]));
    assert!(ip.contains("600 ft (183 m)"), "{ip}");
    assert!(si.contains("183 m (600 ft)"), "{si}");
    // What was typed is shown as it was typed in either.
    for text in [ip, si] {
        assert!(text.contains("1500 cfm ± 5 % (707.9 L/s)"), "{text}");
    }
}

#[test]
fn check_prints_json() {
    let folder = tempfile::tempdir().expect("a folder");
    run(folder.path(), &["new"]);
    let output = run(folder.path(), &["check", "job.toml", "--json"]);
    assert_eq!(code(&output), 0);
    assert_eq!(problems(&output), "");
    let result = json(&output);
    assert_eq!(result["problems"], serde_json::json!([]));
    assert_eq!(result["house"]["bedrooms"], 3);
    let leakage = result["house"]["leakage_at_50_pa_m3_s"].as_f64();
    // 1500 ft³/min; the foot is 0.3048 m by definition.
    let expected = 1500.0 * 0.3048f64.powi(3) / 60.0;
    assert!((leakage.expect("a number") - expected).abs() < 1e-12);
    let assumed = result["assumed"].as_array().expect("a list");
    assert!(assumed.iter().any(|row| row["field"] == "climate.mild"));
}

#[test]
fn a_catalogue_lies_beside_its_job() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::create_dir(folder.path().join("jobs")).expect("a folder");
    run(folder.path(), &["new", "jobs/job.toml"]);
    let path = folder.path().join("jobs/job.toml");
    let starter = fs::read_to_string(&path).expect("the starter");
    // The units of the starter move to a catalogue of their own.
    let at = starter.find("\n[[unit]]").expect("the starter has a unit") + 1;
    let (job, units) = starter.split_at(at);
    let job = job.replacen("format = 1", "format = 1\ncatalogue = \"units.toml\"", 1);
    fs::write(&path, job).expect("a job");

    let output = run(folder.path(), &["check", "jobs/job.toml"]);
    assert_eq!(code(&output), 2);
    let text = problems(&output);
    assert!(text.contains("there is no such file"), "{text}");
    assert!(text.contains("jobs/job.toml:"), "{text}");

    let catalogue = folder.path().join("jobs/units.toml");
    fs::write(&catalogue, format!("format = 1\n{units}")).expect("a catalogue");
    let output = run(folder.path(), &["check", "jobs/job.toml"]);
    assert_eq!(code(&output), 0, "{}", problems(&output));

    fs::write(&catalogue, b"format = 1\n\xFF").expect("a catalogue");
    let output = run(folder.path(), &["check", "jobs/job.toml"]);
    assert_eq!(code(&output), 2);
    let text = problems(&output);
    assert!(text.contains("units.toml:2:"), "{text}");
    assert!(text.contains("UTF-8"), "{text}");
}

#[test]
fn a_catalogue_elsewhere_is_refused() {
    for name in ["/etc/passwd", "../units.toml"] {
        let output =
            check_starter_with("format = 1", &format!("format = 1\ncatalogue = \"{name}\""));
        assert_eq!(code(&output), 2);
        let text = problems(&output);
        assert!(text.contains("has to lie beside the job"), "{text}");
    }
}

#[test]
fn schema_prints_what_is_published() {
    for file in ["job", "catalogue"] {
        let output = run(&workspace(), &["schema", file]);
        assert_eq!(code(&output), 0);
        let path = workspace().join(format!("schema/{file}-1.json"));
        let published = fs::read_to_string(path).expect("the published schema");
        let published: serde_json::Value = serde_json::from_str(&published).expect("JSON");
        assert_eq!(json(&output), published, "{file}");
    }
}

#[test]
fn every_outside_check_holds() {
    let output = run(&workspace(), &["checks", "--json"]);
    let result = json(&output);
    let checks = result["checks"].as_array().expect("a list");
    assert!(checks.len() >= 100, "{} checks", checks.len());
    let failed: Vec<_> = checks.iter().filter(|check| check["ok"] != true).collect();
    assert!(failed.is_empty(), "{failed:#?}");
    assert_eq!(code(&output), 0);

    let output = run(&workspace(), &["checks"]);
    assert_eq!(code(&output), 0);
    for line in result_lines(&output) {
        assert!(line.chars().count() <= 100, "{line}");
    }
}

fn result_lines(output: &std::process::Output) -> Vec<String> {
    result(output).lines().map(str::to_owned).collect()
}
