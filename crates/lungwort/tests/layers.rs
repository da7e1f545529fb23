//! The layers of ARCHITECTURE.md, proved: arrows between our crates point only downward, and the
//! crates below the line need no operating system: no files, network, processes, clock,
//! environment, printing or threads, neither in their own source nor in what they depend on.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Each crate and the crates it may use.
const ARROWS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("diagnostics", &[]),
    ("journal", &[]),
    ("store", &[]),
    ("store_sqlite", &["store"]),
    ("air", &[]),
    ("ducts", &["air"]),
    ("insulation", &["air"]),
    ("acoustics", &[]),
    ("rules", &["units", "air"]),
    ("siting", &["rules"]),
    ("drawing", &["units"]),
    ("airflow", &["air", "ducts"]),
    ("house", &["units", "diagnostics", "rules"]),
    (
        "network_file",
        &["units", "diagnostics", "air", "ducts", "airflow"],
    ),
    (
        "plan",
        &[
            "units",
            "diagnostics",
            "air",
            "ducts",
            "insulation",
            "acoustics",
            "airflow",
            "rules",
            "siting",
            "house",
        ],
    ),
    (
        "commission",
        &[
            "units",
            "diagnostics",
            "air",
            "ducts",
            "rules",
            "house",
            "plan",
        ],
    ),
    (
        "sheets",
        &["units", "rules", "siting", "drawing", "house", "plan"],
    ),
    (
        "balancing",
        &[
            "units",
            "diagnostics",
            "air",
            "house",
            "plan",
            "journal",
            "commission",
        ],
    ),
    (
        "web",
        &[
            "units",
            "diagnostics",
            "air",
            "rules",
            "siting",
            "house",
            "plan",
            "drawing",
            "sheets",
            "store",
            "journal",
            "commission",
            "balancing",
        ],
    ),
    (
        "checks",
        &[
            "units",
            "commission",
            "air",
            "ducts",
            "insulation",
            "acoustics",
            "airflow",
            "rules",
            "siting",
        ],
    ),
    (
        "lungwort",
        &[
            "units",
            "diagnostics",
            "air",
            "ducts",
            "insulation",
            "acoustics",
            "airflow",
            "rules",
            "siting",
            "drawing",
            "house",
            "network_file",
            "plan",
            "journal",
            "commission",
            "sheets",
            "balancing",
            "store",
            "store_sqlite",
            "web",
            "checks",
        ],
    ),
];

/// The crates that must build and run without an operating system.
const BELOW_THE_LINE: &[&str] = &[
    "units",
    "air",
    "ducts",
    "insulation",
    "acoustics",
    "airflow",
    "rules",
    "siting",
    "drawing",
    "sheets",
    "diagnostics",
    "house",
    "plan",
    "commission",
    "network_file",
    "journal",
    "store",
    "balancing",
    "web",
];

/// Parts of the standard library that reach outside the program.
const DENIED_MODULES: &[&str] = &["fs", "net", "process", "thread", "env", "io", "time", "os"];

/// Macros and calls that print, or read a clock.
const DENIED_CALLS: &[&str] = &[
    "println!",
    "eprintln!",
    "print!",
    "eprint!",
    "dbg!",
    "Instant::now",
    "SystemTime::now",
    "Utc::now",
    "Local::now",
];

/// Libraries that bring files, sockets, a clock, threads or the system's randomness.
const DENIED_LIBRARIES: &[&str] = &[
    "async-std",
    "chrono",
    "crossbeam",
    "crossbeam-channel",
    "crossbeam-deque",
    "crossbeam-utils",
    "getrandom",
    "instant",
    "jiff",
    "libc",
    "memmap2",
    "mio",
    "num_cpus",
    "reqwest",
    "rayon",
    "rayon-core",
    "rustix",
    "smol",
    "socket2",
    "tempfile",
    "threadpool",
    "time",
    "tokio",
    "walkdir",
    "web-time",
    "windows-sys",
];

fn workspace() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize()
        .expect("the workspace folder exists")
}

/// Our own crates, by name, with those of our own crates that each uses outside its tests.
fn own_arrows() -> BTreeMap<String, BTreeSet<String>> {
    let mut manifests = BTreeMap::new();
    for folder in fs::read_dir(workspace().join("crates")).expect("crates/ can be read") {
        let folder = folder.expect("an entry of crates/").path();
        let text = fs::read_to_string(folder.join("Cargo.toml")).expect("a manifest");
        let manifest: toml::Table = text.parse().expect("a manifest that is TOML");
        let name = manifest["package"]["name"].as_str().expect("a name");
        manifests.insert(name.to_owned(), manifest);
    }
    manifests
        .iter()
        .map(|(name, manifest)| {
            let used = ["dependencies", "build-dependencies"]
                .iter()
                .filter_map(|table| manifest.get(*table)?.as_table())
                .flat_map(|table| table.keys())
                .filter(|used| manifests.contains_key(*used))
                .cloned()
                .collect();
            (name.clone(), used)
        })
        .collect()
}

#[test]
fn arrows_point_only_downward() {
    let allowed: BTreeMap<&str, &[&str]> = ARROWS.iter().copied().collect();
    let found = own_arrows();
    assert!(found.len() >= 9, "found only {:?}", found.keys());
    for (name, used) in found {
        let Some(allowed) = allowed.get(name.as_str()) else {
            panic!("crate {name} has no place in the layers: add it to ARROWS and ARCHITECTURE.md");
        };
        for used in used {
            assert!(
                allowed.contains(&used.as_str()),
                "{name} uses {used}, which the layers do not allow"
            );
        }
    }
}

#[test]
fn the_allowed_arrows_have_no_circle() {
    // Each crate may use only crates that stand before it in the table.
    for (place, (name, used)) in ARROWS.iter().enumerate() {
        for used in *used {
            let below = ARROWS[..place].iter().any(|(earlier, _)| earlier == used);
            assert!(
                below,
                "{name} may use {used}, which does not stand below it"
            );
        }
    }
}

#[test]
fn sources_below_the_line_reach_nothing_outside() {
    let mut offences = Vec::new();
    for name in BELOW_THE_LINE {
        let source = workspace().join("crates").join(name).join("src");
        for file in rust_files(&source) {
            let text = fs::read_to_string(&file).expect("a source file");
            for found in reaches_outside(&text) {
                offences.push(format!("{}: {found}", file.display()));
            }
        }
    }
    assert!(offences.is_empty(), "{}", offences.join("\n"));
}

#[test]
fn libraries_below_the_line_reach_nothing_outside() {
    for name in BELOW_THE_LINE {
        let libraries = libraries_of(name);
        assert!(libraries.contains(*name), "cargo tree lists {libraries:?}");
        for denied in DENIED_LIBRARIES {
            assert!(
                !libraries.contains(*denied),
                "{name} depends on {denied} without its default features"
            );
        }
    }
}

#[test]
fn the_list_of_libraries_can_fail() {
    // The binary stands above the line and uses a library that is denied below it.
    let libraries = libraries_of("lungwort");
    assert!(
        DENIED_LIBRARIES
            .iter()
            .any(|name| libraries.contains(*name))
    );
}

#[test]
fn the_scanner_of_sources_can_fail() {
    // (source, what has to be found)
    let facts: &[(&str, &[&str])] = &[
        ("use std::fs;", &["std::fs"]),
        ("let x = std::fs::read(p);", &["std::fs"]),
        ("use std::{collections::HashMap, io};", &["std::io"]),
        (
            "use std::{\n    fmt,\n    time::Instant,\n};",
            &["std::time"],
        ),
        ("fn f() { println!(\"x\") }", &["println!"]),
        ("let t = Instant::now();", &["Instant::now"]),
        ("let c = '\"'; std::thread::spawn(f);", &["std::thread"]),
        ("let c = '\\''; std::env::var(v);", &["std::env"]),
        ("let s = \"\\\"\"; std::net::lookup();", &["std::net"]),
        // What only speaks of such things, or merely resembles them, is no offence.
        (
            "// std::fs\n/// println!(\"x\")\n/* std::io */ fn f() {}",
            &[],
        ),
        ("let s = \"std::fs println!\";", &[]),
        ("let s = r#\"std::fs \" println!\"#;", &[]),
        ("use std::fmt; use std::iter; let x = my_std::fs;", &[]),
        ("use std::{fmt, iter::once, option};", &[]),
        ("fn f<'a>(x: &'a str) {} // std::fs", &[]),
        ("fn f() {}\n#[cfg(test)]\nmod tests { use std::fs; }", &[]),
    ];
    for (source, expected) in facts {
        assert_eq!(reaches_outside(source), *expected, "{source}");
    }
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("a source folder") {
        let path = entry.expect("an entry of a source folder").path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
    files
}

/// The names of all libraries that a crate is built from without its default features.
fn libraries_of(name: &str) -> BTreeSet<String> {
    let output = Command::new(env!("CARGO"))
        .current_dir(workspace())
        .args(["tree", "--locked", "--offline", "--no-default-features"])
        .args(["--edges", "normal", "--prefix", "none", "--format", "{p}"])
        .args(["--package", name])
        .output()
        .expect("cargo runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8_lossy(&output.stdout)
        .lines()
        .filter_map(|line| line.split_whitespace().next())
        .map(str::to_owned)
        .collect()
}

/// What in this source file reaches outside the program. A test module at the end does not count.
fn reaches_outside(source: &str) -> Vec<String> {
    let code = code_only(source);
    let code = code
        .split("#[cfg(test)]\nmod tests {")
        .next()
        .unwrap_or_default();
    let mut found = Vec::new();
    for (place, _) in code.match_indices("std::") {
        if code[..place].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':') {
            continue;
        }
        let rest = &code[place + "std::".len()..];
        let names: Vec<&str> = match rest.strip_prefix('{') {
            Some(group) => top_level_names(group),
            None => vec![first_name(rest)],
        };
        for name in names {
            if DENIED_MODULES.contains(&name) {
                found.push(format!("std::{name}"));
            }
        }
    }
    for call in DENIED_CALLS {
        for (place, _) in code.match_indices(call) {
            if !code[..place].ends_with(|c: char| c.is_alphanumeric() || c == '_') {
                found.push((*call).to_owned());
            }
        }
    }
    found
}

fn first_name(text: &str) -> &str {
    let text = text.trim_start();
    let end = text
        .find(|c: char| !c.is_alphanumeric() && c != '_')
        .unwrap_or(text.len());
    &text[..end]
}

/// The first names of the entries of an import group, given the text after its opening brace.
fn top_level_names(group: &str) -> Vec<&str> {
    let mut names = vec![first_name(group)];
    let mut depth = 1;
    for (place, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 1 => names.push(first_name(&group[place + 1..])),
            _ => {}
        }
        if depth == 0 {
            break;
        }
    }
    names
}

/// The source without comments and without the contents of string and character literals.
fn code_only(source: &str) -> String {
    let mut code = String::with_capacity(source.len());
    let mut rest = source;
    while let Some(c) = rest.chars().next() {
        let skipped = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("/*") {
            rest.find("*/").map_or(rest.len(), |end| end + 2)
        } else if rest.starts_with("r\"") || rest.starts_with("r#") {
            raw_string_length(rest)
        } else if c == '"' {
            quoted_length(rest, '"')
        } else if c == '\'' {
            character_length(rest)
        } else {
            0
        };
        if skipped > 0 {
            rest = &rest[skipped..];
        } else {
            code.push(c);
            rest = &rest[c.len_utf8()..];
        }
    }
    code
}

/// Length of a literal that begins and ends with the quote, with backslash escapes.
fn quoted_length(text: &str, quote: char) -> usize {
    let mut escaped = false;
    for (place, c) in text.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            c if c == quote => return place + c.len_utf8(),
            _ => {}
        }
    }
    text.len()
}

/// Length of a character literal; 1 for the apostrophe of a lifetime.
fn character_length(text: &str) -> usize {
    let mut inner = text.chars().skip(1);
    match (inner.next(), inner.next()) {
        (Some('\\'), _) => quoted_length(text, '\''),
        (Some(c), Some('\'')) => 2 + c.len_utf8(),
        _ => 1,
    }
}

/// Length of a raw string; 0 if this is none (a raw identifier).
fn raw_string_length(text: &str) -> usize {
    let hashes = text[1..].chars().take_while(|c| *c == '#').count();
    if !text[1 + hashes..].starts_with('"') {
        return 0;
    }
    let closing = format!("\"{}", "#".repeat(hashes));
    text[2 + hashes..]
        .find(&closing)
        .map_or(text.len(), |end| 2 + hashes + end + closing.len())
}
