//! What is wrong in a file is found, all of it, at its place; and nothing makes the reader panic.

use std::fs;
use std::path::Path;

use diagnostics::{Severity, Source};
use network_file::{Reading, read};
use proptest::prelude::*;

const SOUND: &str = r#"
format = 1
density = 1.2

[[node]]
name = "outdoors"
pressure = 0
[[node]]
name = "house"

[[element]]
name = "leak"
from = "outdoors"
to = "house"
law = "leak"
coefficient = 0.016
exponent = 0.65
"#;

fn read_text(text: &str) -> Reading {
    read(Source::new("network.toml", text))
}

/// Line, severity and title of each problem.
fn problems(text: &str) -> Vec<(usize, Severity, String)> {
    let reading = read_text(text);
    let list = reading.problems.list();
    list.iter()
        .map(|problem| {
            let place = reading.problems.sources()[0].place(problem.span.start);
            (place.line, problem.severity, problem.title.clone())
        })
        .collect()
}

#[test]
fn a_sound_file_has_no_problem() {
    let reading = read_text(SOUND);
    assert!(reading.problems.is_empty(), "{:?}", reading.problems);
    let file = reading.file.expect("a network");
    assert_eq!(file.network.nodes().len(), 2);
    assert_eq!(file.assumed, []);
}

#[test]
fn each_mistake_is_found_at_its_line() {
    // (what is replaced, by what, the line, the beginning of the title)
    let facts = [
        ("format = 1", "format = 2", 2, "format 2 is not known"),
        (
            "format = 1\n",
            "\n",
            1,
            "a network file needs the key `format`",
        ),
        (
            "density = 1.2",
            "density = 0",
            3,
            "`density` cannot be 0 kg/m³",
        ),
        (
            "density = 1.2",
            "densty = 1.2",
            3,
            "`densty` is no key of a network file",
        ),
        (
            "pressure = 0",
            "pressure = \"3 cfm\"",
            7,
            "`pressure`: \"cfm\" is a unit of volume flow",
        ),
        (
            "pressure = 0",
            "pressure = true",
            7,
            "`pressure` is true or false",
        ),
        (
            "pressure = 0",
            "pressure = inf",
            7,
            "`pressure` cannot be inf Pa",
        ),
        (
            "pressure = 0",
            "",
            6,
            "nothing joins `outdoors`, `house` to a node with a fixed pressure",
        ),
        (
            "name = \"house\"",
            "name = \"outdoors\"",
            9,
            "there are two nodes named `outdoors`",
        ),
        ("name = \"house\"", "name = \"\"", 9, "`name` is empty"),
        (
            "name = \"house\"",
            "name = 7",
            9,
            "`name` is a number, but a text is asked for",
        ),
        (
            "from = \"outdoors\"",
            "from = \"outdoor\"",
            13,
            "there is no node `outdoor`",
        ),
        (
            "from = \"outdoors\"",
            "from = \"house\"",
            14,
            "the element joins node `house` to itself",
        ),
        (
            "law = \"leak\"",
            "law = \"crack\"",
            15,
            "there is no law `crack`",
        ),
        (
            "coefficient = 0.016",
            "coefficient = -1",
            16,
            "`coefficient` cannot be -1",
        ),
        (
            "coefficient = 0.016",
            "",
            11,
            "an element needs the key `coefficient`",
        ),
        (
            "exponent = 0.65",
            "exponent = 1.1",
            17,
            "`exponent` cannot be 1.1",
        ),
        (
            "exponent = 0.65",
            "exponent = 0.65\nexponent = 0.6",
            18,
            "duplicate key",
        ),
        (
            "exponent = 0.65",
            "exponent = ",
            17,
            "string values must be quoted",
        ),
        (
            "exponent = 0.65",
            "exponent = 0.65\n[[injection]]\nnode = \"house\"",
            18,
            "an injection needs one of",
        ),
        (
            "[[element]]",
            "[element]",
            11,
            "`element` is not a list of tables",
        ),
    ];
    for (from, to, line, title) in facts {
        let text = SOUND.replacen(from, to, 1);
        let found = problems(&text);
        assert!(
            found.iter().any(|(at, severity, found)| *at == line
                && *severity == Severity::Error
                && found.starts_with(title)),
            "{to}: {found:?}"
        );
        assert!(read_text(&text).file.is_none(), "{to}");
    }
}

#[test]
fn all_mistakes_are_told_at_once() {
    let text = SOUND
        .replace("density = 1.2", "densty = 1.2")
        .replace("to = \"house\"", "to = \"hose\"")
        .replace("exponent = 0.65", "exponent = 2");
    assert_eq!(problems(&text).len(), 3);
}

#[test]
fn fans_without_any_resistance_are_told() {
    let fan = |name: &str, from: &str, to: &str| {
        format!(
            "\n[[element]]\nname = \"{name}\"\nfrom = \"{from}\"\nto = \"{to}\"\nlaw = \"fan\"\n\
             rise_at_rest = 100\nlinear = 10\n"
        )
    };
    let text = SOUND.to_owned() + &fan("a", "outdoors", "house") + &fan("b", "house", "outdoors");
    let [(_, Severity::Error, title)] = &problems(&text)[..] else {
        panic!("one error is expected")
    };
    assert!(title.contains("closed loop"), "{title}");
}

#[test]
fn a_fan_curve_must_fall() {
    let fan = |points: &str| {
        format!(
            "{SOUND}\n[[element]]\nname = \"fan\"\nfrom = \"house\"\nto = \"outdoors\"\n\
             law = \"fan curve\"\n{points}\n"
        )
    };
    let falling = "points = [{ rise = \"0 inWC\", volume_flow = \"100 cfm\" },\n\
                   { rise = 100, volume_flow = 0.01 }]";
    let file = read_text(&fan(falling)).file.expect("a network");
    assert!(file.network.elements()[1].law.is_fan());
    // (points, the beginning of the title)
    let facts = [
        ("", "a fan curve needs the key `points`"),
        ("points = 3", "`points` is not a list of tables"),
        ("points = []", "0 points of a fan curve"),
        (
            "points = [{ rise = 1 }]",
            "a point of a fan curve needs the key `volume_flow`",
        ),
        (
            "points = [{ rise = 1, volume_flow = 2, power = 3 }]",
            "`power` is no key of a point of a fan curve",
        ),
        (
            "points = [{ rise = 1, volume_flow = 0.02 }, { rise = 2, volume_flow = 0.03 }]",
            "the flow of a fan must fall",
        ),
        (
            "points = [{ rise = 2, volume_flow = 0.03 }, { rise = 1, volume_flow = 0.02 }]",
            "pressure rises of a fan curve must go up",
        ),
    ];
    for (points, title) in facts {
        let found = problems(&fan(points));
        assert!(
            found.iter().any(|(_, _, found)| found.starts_with(title)),
            "{points}: {found:?}"
        );
    }
}

#[test]
fn quantities_may_carry_units() {
    // (as typed, SI)
    let facts = [
        ("\"0.2 inWC\"", 49.817782),
        ("\"50 Pa\"", 50.0),
        ("50", 50.0),
        ("50.0", 50.0),
        ("5e1", 50.0),
        ("0x32", 50.0),
    ];
    for (typed, expected) in facts {
        let text = SOUND.replace("pressure = 0", &format!("pressure = {typed}"));
        let file = read_text(&text).file.expect("a network");
        let pressure = file.network.nodes()[0].fixed_pressure.expect("it is fixed");
        assert!((pressure - expected).abs() < 1e-6, "{typed}: {pressure}");
    }
}

#[test]
fn temperatures_give_the_density_of_dry_air() {
    // CoolProp 8.0.0, dry air at 101 325 Pa: 1.20458 kg/m³ at 20 °C, 1.34239 at −10 °C. The ideal
    // gas is 0.1 % below at most.
    for (temperature, expected) in [("\"20 C\"", 1.20458), ("\"14 F\"", 1.34239)] {
        let text = SOUND.replace(
            "name = \"house\"",
            &format!("name = \"house\"\ntemperature = {temperature}"),
        );
        let file = read_text(&text).file.expect("a network");
        let density = file.network.nodes()[1].density;
        assert!((density / expected - 1.0).abs() < 1e-3, "{density}");
    }
}

#[test]
fn assumptions_are_told_only_where_they_matter() {
    let text = SOUND.replace("density = 1.2", "");
    let file = read_text(&text).file.expect("a network");
    assert_eq!(file.assumed.len(), 1);
    assert_eq!(file.assumed[0].value, "1.204 kg/m³");
}

#[test]
fn all_examples_are_sound() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/networks");
    let mut count = 0;
    for entry in fs::read_dir(folder).expect("the examples") {
        let path = entry.expect("an example").path();
        let bytes = fs::read(&path).expect("an example");
        let reading = read(Source::from_bytes(path.display().to_string(), &bytes));
        assert!(reading.problems.is_empty(), "{:?}", reading.problems);
        count += 1;
    }
    assert!(count >= 17, "{count} examples");
}

/// Every key with a value that suits some key.
fn any_line() -> impl Strategy<Value = String> {
    let key = prop::sample::select(vec![
        "format",
        "title",
        "density",
        "viscosity",
        "name",
        "pressure",
        "temperature",
        "from",
        "to",
        "law",
        "drive",
        "coefficient",
        "exponent",
        "reverse_fraction",
        "linear",
        "quadratic",
        "rise_at_rest",
        "volume_flow",
        "droop",
        "conductance",
        "diameter",
        "width",
        "height",
        "length",
        "roughness",
        "loss",
        "loss_reverse",
        "friction_multiplier",
        "node",
        "mass_flow",
    ]);
    let value = prop::sample::select(vec![
        "1",
        "0",
        "-1",
        "0.65",
        "1e300",
        "1e-300",
        "nan",
        "inf",
        "true",
        "\"leak\"",
        "\"duct\"",
        "\"fan\"",
        "\"fan curve\"",
        "\"constant flow\"",
        "\"shut\"",
        "\"quadratic\"",
        "\"flap\"",
        "\"a\"",
        "\"b\"",
        "\"6 in\"",
        "\"3 cfm\"",
        "\"20 C\"",
        "\"1 Pa\"",
        "[1]",
        "{}",
        "\"",
        "1979-05-27",
    ]);
    prop_oneof![
        4 => (key, value).prop_map(|(key, value)| format!("{key} = {value}")),
        1 => prop::sample::select(vec!["[[node]]", "[[element]]", "[[injection]]", "[node]"])
            .prop_map(str::to_owned),
    ]
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,200}") {
        let reading = read_text(&text);
        prop_assert!(reading.file.is_none());
        prop_assert!(reading.problems.have_errors());
    }

    #[test]
    fn no_lines_make_the_reader_panic(lines in prop::collection::vec(any_line(), 0..40)) {
        let reading = read_text(&lines.join("\n"));
        prop_assert_eq!(reading.file.is_none(), reading.problems.have_errors());
    }

    #[test]
    fn no_truncation_or_change_makes_the_reader_panic(
        at in 0..SOUND.len(),
        length in 0..8usize,
        by in "[ \\[\\]=\"0-9a-z.\n-]{0,3}",
    ) {
        let end = (at + length).min(SOUND.len());
        let text = format!("{}{by}{}", &SOUND[..at], &SOUND[end..]);
        let reading = read_text(&text);
        prop_assert_eq!(reading.file.is_none(), reading.problems.have_errors());
    }
}
