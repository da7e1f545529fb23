//! Running the program as a user does.
#![allow(dead_code, reason = "each test file uses its own part")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// The folder of the workspace.
pub fn workspace() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize()
        .expect("the workspace folder exists")
}

/// The program, to be run in a folder, without colours and without input.
pub fn program(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lungwort"));
    command
        .current_dir(folder)
        .stdin(Stdio::null())
        .env_remove("NO_COLOR")
        .env("RUST_BACKTRACE", "0");
    command
}

/// Runs the program in a folder.
pub fn run(folder: &Path, arguments: &[&str]) -> Output {
    program(folder)
        .args(arguments)
        .output()
        .expect("the program starts")
}

/// What the program printed as its result.
pub fn result(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("the result is text")
}

/// What the program printed as problems.
pub fn problems(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("problems are text")
}

/// The exit code.
pub fn code(output: &Output) -> i32 {
    output.status.code().expect("the program was not killed")
}

/// The result as JSON.
pub fn json(output: &Output) -> serde_json::Value {
    serde_json::from_slice(&output.stdout).expect("the result is JSON")
}

/// Exit code, result and problems in one text, for snapshots.
pub fn all(output: &Output) -> String {
    format!(
        "exit code {}\n--- result\n{}--- problems\n{}",
        code(output),
        result(output),
        problems(output)
    )
}

/// Every key of an object, however deep, except those of objects whose keys are names of rooms.
pub fn keys(value: &serde_json::Value, found: &mut std::collections::BTreeSet<String>) {
    match value {
        serde_json::Value::Object(object) => {
            for (key, value) in object {
                found.insert(key.clone());
                if key != "room_pressures_pa" {
                    keys(value, found);
                }
            }
        }
        serde_json::Value::Array(list) => list.iter().for_each(|value| keys(value, found)),
        _ => {}
    }
}
