//! The documents say what is true: links lead somewhere, and the commands they show exist.

mod support;

use std::fs;
use std::path::PathBuf;

use support::{code, run, workspace};

fn documents() -> Vec<PathBuf> {
    let mut documents = vec![
        workspace().join("README.md"),
        workspace().join("ARCHITECTURE.md"),
    ];
    for entry in fs::read_dir(workspace().join("docs")).expect("docs/") {
        let path = entry.expect("a document").path();
        if path.extension().is_some_and(|extension| extension == "md") {
            documents.push(path);
        }
    }
    documents
}

#[test]
fn links_lead_somewhere() {
    let mut links = 0;
    for document in documents() {
        let text = fs::read_to_string(&document).expect("a document");
        for (_, rest) in text
            .match_indices("](")
            .map(|(at, _)| text.split_at(at + 2))
        {
            let target = rest.split([')', '#']).next().unwrap_or_default();
            if target.is_empty() || target.contains("://") {
                continue;
            }
            let path = document.with_file_name(target);
            assert!(path.exists(), "{}: {target}", document.display());
            links += 1;
        }
    }
    assert!(links > 0);
}

#[test]
fn the_commands_shown_exist() {
    let mut commands = 0;
    for document in documents() {
        let text = fs::read_to_string(&document).expect("a document");
        let mut in_shell = false;
        for line in text.lines() {
            if let Some(language) = line.strip_prefix("```") {
                in_shell = matches!(language, "sh" | "console");
            }
            if !in_shell {
                continue;
            }
            let line = line.trim_start_matches("$ ");
            let shown = line
                .strip_prefix("lungwort ")
                .or_else(|| line.strip_prefix("cargo run --release -- "));
            let Some(command) = shown.and_then(|shown| shown.split_whitespace().next()) else {
                continue;
            };
            let output = run(&workspace(), &[command, "--help"]);
            assert_eq!(code(&output), 0, "{}: {line}", document.display());
            commands += 1;
        }
    }
    assert!(commands >= 5, "{commands} commands");
}

#[test]
fn the_readme_marks_its_two_commands() {
    let readme = fs::read_to_string(workspace().join("README.md")).expect("the README");
    for name in ["job", "tests"] {
        let marker = format!("<!-- command: {name} -->\n```sh\n");
        let (_, rest) = readme.split_once(&marker).expect("a marked command");
        let (command, _) = rest.split_once("\n```\n").expect("the end of the command");
        assert_eq!(command.lines().count(), 1, "{command}");
        assert!(command.starts_with("cargo "), "{command}");
    }
}

/// A block after `<!-- part of: COMMAND -->` is a part of what the command prints.
#[test]
fn the_output_shown_is_what_the_program_prints() {
    let mut parts = 0;
    for document in documents() {
        let text = fs::read_to_string(&document).expect("a document");
        for (_, rest) in text
            .match_indices("<!-- part of: ")
            .map(|(at, marker)| text.split_at(at + marker.len()))
        {
            let (command, rest) = rest.split_once(" -->\n```text\n").expect("a marked block");
            let (shown, _) = rest.split_once("```").expect("the end of the block");
            let arguments: Vec<&str> = command.split_whitespace().collect();
            let printed = support::result(&run(&workspace(), &arguments));
            assert!(printed.contains(shown), "{}: {command}", document.display());
            parts += 1;
        }
    }
    assert!(parts > 0);
}
