//! Whatever stands in a file or on the command line, the program answers: a sentence on standard
//! error, exit code 2, never a panic.

mod support;

use std::fs;
use std::path::Path;

use support::{all, code, json, problems, result, run, workspace};
use tempfile::TempDir;

/// Each command that reads a file, with a sound example of such a file.
const READERS: &[(&str, &str)] = &[
    ("check", "examples/light.toml"),
    ("plan", "examples/light.toml"),
    ("flows", "examples/light.toml"),
    ("network", EXAMPLE_NETWORK),
];

const EXAMPLE_NETWORK: &str = "examples/networks/return-to-return-blower-on.toml";

fn folder_with(name: &str, bytes: &[u8]) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join(name), bytes).expect("a file");
    folder
}

/// The answer to a file that cannot be used.
fn refused(command: &str, folder: &Path, name: &str) -> String {
    let output = run(folder, &[command, name]);
    let problems = problems(&output);
    assert_eq!(code(&output), 2, "{command} {name}: {problems}");
    assert_eq!(result(&output), "", "{command} {name}");
    assert!(
        problems.starts_with("error: ") || problems.starts_with("warning: "),
        "{problems}"
    );
    assert!(!problems.contains("panicked"), "{problems}");

    let output = run(folder, &[command, name, "--json"]);
    assert_eq!(code(&output), 2, "{command} {name} --json");
    let list = json(&output)["problems"].clone();
    assert!(!list.as_array().expect("a list").is_empty());
    problems
}

#[test]
fn files_that_are_no_text() {
    for (command, _) in READERS {
        let folder = folder_with("bad.toml", b"format = 1\nname = \"caf\xE9\"\n");
        let answer = refused(command, folder.path(), "bad.toml");
        assert!(answer.contains("not UTF-8"), "{answer}");
        assert!(answer.contains("bad.toml:2:"), "{answer}");

        let folder = folder_with("bad.toml", &[0; 1000]);
        refused(command, folder.path(), "bad.toml");

        let folder = folder_with("bad.toml", &[0xFF; 1000]);
        refused(command, folder.path(), "bad.toml");
    }
}

#[test]
fn files_without_anything() {
    for (command, _) in READERS {
        for text in ["", "\n", "# nothing\n", "\u{FEFF}"] {
            let folder = folder_with("bad.toml", text.as_bytes());
            let answer = refused(command, folder.path(), "bad.toml");
            assert!(answer.contains("format"), "{answer}");
        }
    }
}

#[test]
fn huge_files() {
    for (command, _) in READERS {
        let folder = folder_with("huge.toml", b"");
        let file = fs::File::options()
            .write(true)
            .open(folder.path().join("huge.toml"))
            .expect("the file");
        file.set_len(20_000_000_000).expect("a file with a hole");
        let answer = refused(command, folder.path(), "huge.toml");
        assert!(answer.contains("too large"), "{answer}");
    }
}

#[test]
fn deep_and_long_files() {
    for (command, _) in READERS {
        for text in [
            format!("a = {}1{}", "[".repeat(100_000), "]".repeat(100_000)),
            format!("[{}]", "a.".repeat(100_000) + "a"),
            "[[node]]\n".repeat(100_000),
            "name = \"x\"\n".repeat(100_000),
            format!("name = \"{}\"", "x".repeat(1_000_000)),
        ] {
            let folder = folder_with("bad.toml", text.as_bytes());
            let answer = refused(command, folder.path(), "bad.toml");
            assert!(answer.len() < 100_000, "{} bytes of answer", answer.len());
        }
    }
}

#[test]
fn truncated_files() {
    for (command, example) in READERS {
        let sound = fs::read(workspace().join(example)).expect("the example");
        for at in (0..sound.len() * 3 / 4).step_by(211) {
            let folder = folder_with("bad.toml", &sound[..at]);
            refused(command, folder.path(), "bad.toml");
        }
    }
}

#[test]
fn what_is_no_file() {
    for (command, _) in READERS {
        let folder = folder_with("house.toml", b"");
        fs::create_dir(folder.path().join("plans")).expect("a folder");
        let answer = refused(command, folder.path(), "plans");
        assert_eq!(
            answer,
            "error: cannot read plans: it is a folder, a file is asked for\n"
        );
        let answer = refused(command, folder.path(), "hause.toml");
        assert_eq!(
            answer,
            "error: cannot read hause.toml: there is no such file or folder\n  \
             did you mean house.toml?\n"
        );
    }
}

#[cfg(unix)]
#[test]
fn files_without_permission() {
    use std::os::unix::fs::PermissionsExt as _;

    for (command, _) in READERS {
        let folder = folder_with("secret.toml", b"format = 1");
        let path = folder.path().join("secret.toml");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o000)).expect("permissions");
        let answer = refused(command, folder.path(), "secret.toml");
        // Who may read everything gets further than others.
        if fs::File::open(&path).is_err() {
            assert!(answer.contains("no permission"), "{answer}");
        }
    }
}

#[cfg(unix)]
#[test]
fn endless_files() {
    for (command, _) in READERS {
        let answer = refused(command, Path::new("/"), "dev/zero");
        assert!(answer.contains("too large"), "{answer}");
    }
}

#[test]
fn mistakes_on_the_command_line() {
    let folder = tempfile::tempdir().expect("a folder");
    for arguments in [
        &["netwrk", "x.toml"][..],
        &["network"],
        &["network", ""],
        &["network", "a.toml", "b.toml"],
        &["network", "a.toml", "--units", "metric"],
        &["--frobnicate"],
    ] {
        let output = run(folder.path(), arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert_eq!(result(&output), "", "{arguments:?}");
        assert!(problems(&output).starts_with("error: "), "{arguments:?}");
    }
}

#[test]
fn help_tells_the_first_steps() {
    let output = run(&workspace(), &["help"]);
    insta::assert_snapshot!(all(&output));
}

#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_is_no_error() {
    use std::process::Stdio;

    let mut child = support::program(&workspace())
        .args(["network", EXAMPLE_NETWORK])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("the program ends");
    assert_eq!(problems(&output), "");
    assert_eq!(code(&output), 0);
}
