//! `lungwort walls` as a contractor runs it.

mod support;

use std::fs;

use serde_json::Value;
use support::{code, json, problems, result, run, workspace};

const EXAMPLES: [&str; 3] = [
    "duluth-furnace",
    "flagstaff-crawlspace",
    "tallahassee-heat-pump",
];

fn walls(arguments: &[&str]) -> Value {
    let arguments: Vec<&str> = [&["walls"], arguments, &["--json"]].concat();
    json(&run(&workspace(), &arguments))
}

/// The entry of a list with this name.
fn named<'a>(list: &'a Value, key: &str, name: &str) -> &'a Value {
    list.as_array()
        .expect("a list")
        .iter()
        .find(|entry| entry[key] == name)
        .unwrap_or_else(|| panic!("no {key} {name}"))
}

#[test]
fn the_examples_tell_their_stories() {
    let duluth = walls(&["examples/duluth-furnace.toml"]);
    // Intake and exhaust cannot keep 10 ft from each other on 12 ft; the code excepts one hood.
    let mudroom = named(&duluth["walls"], "wall", "mudroom wall");
    for stream in ["intake", "exhaust", "two_in_one"] {
        assert!(!mudroom[stream]["best"].is_null(), "{stream}");
    }
    assert!(mudroom["pair"].is_null());
    // 4 ft are less than any set asks.
    let near = duluth["pairs"].as_array().expect("pairs").iter();
    let near: Vec<&Value> = near
        .filter(|pair| pair["exhaust"] == "north exhaust")
        .collect();
    assert_eq!(near.len(), 1);
    assert_eq!(near[0]["allowed"], false);
    let measured = near[0]["tightest"]["measured_m"].as_f64().expect("metres");
    assert!((measured - 4.0 * 0.3048).abs() < 1e-9);

    // A wall of 10 ft beside a driveway: nowhere is the intake 10 ft from it.
    let flagstaff = walls(&["examples/flagstaff-crawlspace.toml"]);
    let north = named(&flagstaff["walls"], "wall", "north wall");
    assert_eq!(north["intake"]["allowed_m2"], 0.0);
    assert!(north["intake"]["best"].is_null() && !north["exhaust"]["best"].is_null());
    assert_eq!(north["intake"]["freed_by"][0]["object"], "driveway");
    // The edition of 2021 does not except a two-in-one hood.
    let hood = named(&flagstaff["terminals"], "terminal", "south two-in-one");
    assert_eq!(hood["allowed"], false);

    // The override of the distance shows its reason.
    let tallahassee = walls(&["examples/tallahassee-heat-pump.toml"]);
    let pairs = tallahassee["pairs"].as_array().expect("pairs");
    let pair = pairs
        .iter()
        .find(|pair| pair["intake"] == "east intake" && pair["exhaust"] == "east exhaust")
        .expect("the pair of the plan");
    assert_eq!(pair["allowed"], true);
    let text = result(&run(
        &workspace(),
        &["walls", "examples/tallahassee-heat-pump.toml"],
    ));
    assert!(text.contains("solid screen wall"), "{text}");
}

/// A plan falls to a clearance of a drawn wall by the words of its row.
#[test]
fn plans_fall_to_clearances() {
    let folder = tempfile::tempdir().expect("a folder");
    let examples = workspace().join("examples");
    let text = fs::read_to_string(examples.join("tallahassee-heat-pump.toml")).expect("a job");
    let catalogue = folder.path().join("catalogue.toml");
    fs::copy(examples.join("catalogue.toml"), catalogue).expect("a catalogue");
    let fallen = |text: &str| {
        fs::write(folder.path().join("job.toml"), text).expect("a job");
        let value = json(&run(folder.path(), &["plan", "job.toml", "--json"]));
        let rules = value["discarded"].as_array().expect("rules").iter();
        rules
            .map(|rule| rule["rule"].as_str().expect("a name").to_owned())
            .collect::<Vec<String>>()
    };
    let chimney = "intake from combustion outlets".to_owned();
    assert!(!fallen(&text).contains(&chimney));
    // A furnace vent too near to the south intake.
    let right = "    { kind = \"plumbing vent\", along = \"12 ft\", bottom = \"11 ft\" },";
    let wrong = "    { kind = \"mechanical-draught vent\", along = \"36 ft\", bottom = \"9 ft\" },";
    assert!(text.contains(right));
    assert!(fallen(&text.replace(right, wrong)).contains(&chimney));
    // A hood that would sit on a window has no room.
    let text = text.replace(
        "along = \"16 ft 9 in\", bottom = \"5 ft\"",
        "along = \"14 ft\", bottom = \"5 ft\"",
    );
    assert!(fallen(&text).contains(&"no room on the wall".to_owned()));
}

/// Whatever is proposed keeps every rule that decides, on whole marks of the tape.
#[test]
fn proposals_are_allowed() {
    for example in EXAMPLES {
        let job = format!("examples/{example}.toml");
        for (system, mark) in [("ip", 0.0254), ("si", 0.01)] {
            if system == "si" && example != EXAMPLES[1] {
                continue;
            }
            let value = walls(&[&job, "--units", system]);
            let mut places = 0;
            for wall in value["walls"].as_array().expect("walls") {
                for stream in ["intake", "exhaust"] {
                    let best = &wall[stream]["best"];
                    if best.is_null() {
                        continue;
                    }
                    places += 1;
                    let length = |key: &str| best[key].as_f64().expect("metres");
                    assert!(length("margin_m") >= 0.0);
                    for key in ["along_m", "height_m"] {
                        let marks = length(key) / mark;
                        assert!((marks - marks.round()).abs() < 1e-6, "{best}");
                    }
                    let at = format!(
                        "{}; {:.4} m; {:.4} m",
                        wall["wall"].as_str().expect("a name"),
                        length("along_m"),
                        length("height_m")
                    );
                    let judged = walls(&[&job, "--at", &at]);
                    assert_eq!(judged[stream]["allowed"], true, "{at}: {judged:#}");
                }
            }
            assert!(places > 4, "{job}");
        }
    }
}

#[test]
fn the_text_of_a_wall() {
    let output = run(
        &workspace(),
        &["walls", "examples/flagstaff-crawlspace.toml"],
    );
    assert_eq!(code(&output), 0, "{}", problems(&output));
    insta::assert_snapshot!(result(&output));
}

#[test]
fn the_text_of_a_point() {
    let output = run(
        &workspace(),
        &[
            "walls",
            "examples/duluth-furnace.toml",
            "--at",
            "west wall, 8 ft, 6 ft",
        ],
    );
    insta::assert_snapshot!(result(&output));
}

#[test]
fn drawings_are_written_and_are_xml() {
    let folder = tempfile::tempdir().expect("a folder");
    for example in EXAMPLES {
        let job = format!("examples/{example}.toml");
        let into = folder.path().join(example);
        let into = into.to_str().expect("a plain name");
        let value = walls(&[&job, "--svg", into]);
        let drawings = value["drawings"].as_array().expect("drawings");
        assert_eq!(
            drawings.len(),
            value["walls"].as_array().expect("walls").len()
        );
        for file in drawings {
            let name = file.as_str().expect("a name");
            let text = fs::read_to_string(name).expect("a drawing");
            let tree = roxmltree::Document::parse(&text).expect("sound XML");
            let root = tree.root_element();
            assert_eq!(root.tag_name().name(), "svg");
            assert!(root.attribute("viewBox").is_some());
            // Self-contained: nothing is fetched, and everything that is used is there.
            assert!(!text.contains("href") && !text.contains("<script"));
            let ids: Vec<&str> = tree
                .descendants()
                .filter_map(|n| n.attribute("id"))
                .collect();
            for used in text.split("url(#").skip(1) {
                let id = used.split(')').next().expect("an id");
                assert!(ids.contains(&id), "{name}: {id}");
            }
        }
    }
}

/// The picture in docs/walls.md and in the readme is what the program draws.
/// `LUNGWORT_WRITE=1 cargo test -p lungwort --test walls` draws it anew.
#[test]
fn the_picture_is_true() {
    let folder = tempfile::tempdir().expect("a folder");
    let into = folder.path().to_str().expect("a plain name");
    let output = run(
        &workspace(),
        &["walls", "examples/duluth-furnace.toml", "--svg", into],
    );
    assert_eq!(code(&output), 0, "{}", problems(&output));
    let drawn = fs::read_to_string(folder.path().join("north-wall.svg")).expect("a drawing");
    let kept = workspace().join("docs/walls/duluth-north-wall.svg");
    if std::env::var_os("LUNGWORT_WRITE").is_some() {
        fs::write(&kept, &drawn).expect("the picture can be written");
    }
    let kept = fs::read_to_string(kept).expect("the committed picture");
    assert!(kept == drawn, "the picture is out of date; see this test");
}

#[test]
fn what_cannot_be_used_is_told() {
    let duluth = "examples/duluth-furnace.toml";
    for (arguments, message, help) in [
        (
            vec!["walls", "examples/light.toml"],
            "the job draws no walls",
            "[[wall]]",
        ),
        (
            vec!["walls", duluth, "--at", "nort wall, 9 ft, 5 ft"],
            "there is no wall \"nort wall\"",
            "did you mean \"north wall\"?",
        ),
        (
            vec!["walls", duluth, "--at", "north wall, 9 ft"],
            "three parts are asked for, there are 2",
            "north wall, 9 ft, 5 ft",
        ),
        (
            vec!["walls", duluth, "--at", "north wall, 9, 5 ft"],
            "\"9\" has no unit",
            "north wall, 9 ft, 5 ft",
        ),
        (
            vec!["walls", duluth, "--at", "north wall, 90 ft, 5 ft"],
            "which is 32 ft wide",
            "north wall, 9 ft, 5 ft",
        ),
        (
            vec!["walls", duluth, "--svg", duluth],
            "cannot make the folder",
            "",
        ),
    ] {
        let output = run(&workspace(), &arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
        let told = problems(&output);
        assert!(told.contains(message) && told.contains(help), "{told}");
    }
}
