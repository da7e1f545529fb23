//! `lungwort network`, as a user runs it.

mod support;

use std::collections::BTreeMap;
use std::fs;

use support::{all, code, json, problems, run, workspace};

/// The solutions by scipy: file → (quantity, name) → value.
fn reference() -> BTreeMap<String, BTreeMap<(String, String), f64>> {
    let path = workspace().join("crates/checks/tables/networks_reference.csv");
    let text = fs::read_to_string(path).expect("the committed table");
    let mut files: BTreeMap<String, BTreeMap<_, _>> = BTreeMap::new();
    let mut file = String::new();
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        let cells: Vec<&str> = line.split(',').collect();
        let (quantity, name, value) = match cells[..] {
            ["network", name] => {
                file = name.to_owned();
                continue;
            }
            // Only pressures that are not fixed.
            ["node", name, _, "", _, value] => ("pressure", name, value),
            ["node", ..] => continue,
            ["element", name, .., value] => ("mass flow", name, value),
            _ => panic!("{line}"),
        };
        files.entry(file.clone()).or_default().insert(
            (quantity.to_owned(), name.to_owned()),
            value.parse().expect("a number"),
        );
    }
    files
}

/// Source: scipy.optimize.root on the same files (reference/networks_reference.py). Tolerance: half a
/// unit of the sixth digit; for what is nearly at rest, a billionth of the largest value of its kind
/// in the file.
#[test]
fn examples_agree_with_scipy_to_six_digits() {
    let reference = reference();
    assert_eq!(reference.len(), 17);
    for (file, expected) in reference {
        let path = format!("examples/networks/{file}.toml");
        let output = run(&workspace(), &["network", &path, "--json"]);
        assert_eq!(code(&output), 0, "{file}: {}", problems(&output));
        let result = json(&output);
        assert_eq!(result["solved"], true);
        let mut found = BTreeMap::new();
        for (list, quantity, key) in [
            ("nodes", "pressure", "pressure_pa"),
            ("elements", "mass flow", "mass_flow_kg_s"),
        ] {
            for entry in result[list].as_array().expect("a list") {
                if entry["fixed"] != true {
                    let name = entry["name"].as_str().expect("a name").to_owned();
                    let value = entry[key].as_f64().expect("a number");
                    found.insert((quantity.to_owned(), name), value);
                }
            }
        }
        assert!(found.keys().eq(expected.keys()), "{file}");
        for quantity in ["pressure", "mass flow"] {
            let of_this = |(key, _): &(&(String, String), &f64)| key.0 == quantity;
            let largest = expected
                .iter()
                .filter(of_this)
                .fold(0.0, |largest: f64, (_, value)| largest.max(value.abs()));
            for (key, expected) in expected.iter().filter(of_this) {
                let sixth_digit = 10f64.powf(expected.abs().log10().floor() - 5.0);
                let tolerance = (0.5 * sixth_digit).max(1e-9 * largest);
                let distance = (found[key] - expected).abs();
                assert!(
                    distance <= tolerance,
                    "{file}, {key:?}: {} instead of {expected}",
                    found[key]
                );
            }
        }
    }
}

#[test]
fn a_tree_of_ducts_reads_well() {
    let output = run(
        &workspace(),
        &["network", "examples/networks/fan-and-branches.toml"],
    );
    insta::assert_snapshot!(stable(&all(&output)));
}

#[test]
fn inch_pound_units() {
    let path = "examples/networks/four-leaks-exhaust-fan.toml";
    let output = run(&workspace(), &["--units", "ip", "network", path]);
    insta::assert_snapshot!(stable(&all(&output)));
}

#[test]
fn mistakes_in_a_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = r#"format = 1
titel = "A house"

[[node]]
name = "outdoors"
pressure = "0 cfm"

[[node]]
name = "house"

[[element]]
name = "leak"
from = "outdors"
to = "house"
law = "leak"
coefficient = 0.016
exponent = 0.35
"#;
    fs::write(folder.path().join("house.toml"), text).expect("a file");
    let output = run(folder.path(), &["network", "house.toml"]);
    insta::assert_snapshot!(all(&output));

    let output = run(folder.path(), &["network", "house.toml", "--json"]);
    assert_eq!(code(&output), 2);
    let result = json(&output);
    let list = result["problems"].as_array().expect("a list");
    assert_eq!(list.len(), 4);
    assert_eq!(list[0]["line"], 2);
    assert_eq!(list[0]["file"], "house.toml");
}

/// The text without the number of steps and the residual, which are rounding.
fn stable(text: &str) -> String {
    let lines = text
        .lines()
        .map(|line| match line.starts_with("Solved in ") {
            true => "Solved in …",
            false => line,
        });
    lines.collect::<Vec<_>>().join("\n")
}
