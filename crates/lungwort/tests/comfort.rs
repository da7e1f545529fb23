//! `lungwort insulation` and `lungwort sound` as a contractor runs them.

mod support;

use support::{code, json, problems, result, run, workspace};

const EXAMPLES: [&str; 4] = [
    "duluth-furnace",
    "flagstaff-crawlspace",
    "tallahassee-heat-pump",
    "light",
];

#[test]
fn the_examples_are_dry_and_say_what_to_seal() {
    for example in EXAMPLES {
        let job = format!("examples/{example}.toml");
        let output = run(&workspace(), &["insulation", &job]);
        assert_eq!(code(&output), 0, "{job}: {}", problems(&output));
        let text = result(&output);
        assert!(text.contains("Outdoor air in winter"), "{text}");
        assert!(text.contains("continuous and sealed"), "{text}");
        let output = run(&workspace(), &["insulation", &job, "--json"]);
        let value = json(&output);
        for duct in value["ducts"].as_array().expect("ducts") {
            assert_eq!(duct["verdict"], "dry", "{job}");
            let margin = duct["own"]["plain"]["margin_k"].as_f64().expect("a margin");
            let surface = duct["own"]["plain"]["surface_c"]
                .as_f64()
                .expect("a surface");
            let dew_point = duct["dew_point_c"].as_f64().expect("a dew point");
            assert!((surface - dew_point - margin).abs() < 1e-9);
        }
    }
}

#[test]
fn a_job_with_bare_ducts_is_told_what_it_needs() {
    let text = std::fs::read_to_string(workspace().join("examples/duluth-furnace.toml"));
    let text = text
        .expect("the example")
        .replace("insulation = \"R-8\"", "insulation = \"R-0.5\"");
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("job.toml"), text).expect("a job");
    let catalogue = workspace().join("examples/catalogue.toml");
    std::fs::copy(catalogue, folder.path().join("catalogue.toml")).expect("a catalogue");
    let output = run(folder.path(), &["insulation", "job.toml"]);
    assert_eq!(code(&output), 1);
    let text = result(&output);
    assert!(text.contains("it sweats"), "{text}");
    assert!(text.contains("R-1.8 with a plain jacket"), "{text}");
    assert!(text.contains("R-0.5 is less than the R-6"), "{text}");
}

#[test]
fn every_room_has_a_level_with_its_band() {
    for example in EXAMPLES {
        let job = format!("examples/{example}.toml");
        let output = run(&workspace(), &["sound", &job]);
        assert_eq!(code(&output), 0, "{job}: {}", problems(&output));
        let text = result(&output);
        assert!(text.contains(" ± ") && text.contains("90 % band"), "{text}");
        let value = json(&run(&workspace(), &["sound", &job, "--json"]));
        for room in value["rooms"].as_array().expect("rooms") {
            let level = room["level_dba"].as_f64().expect("a level");
            let loudest = room["ways"][0]["level_dba"].as_f64().expect("a way");
            assert!(level >= loudest);
            assert!(room["half_width_db"].as_f64().expect("a half-width") > 0.0);
            assert!(!room["authority"].as_str().expect("an authority").is_empty());
        }
    }
}

#[test]
fn another_plan_can_be_asked_for() {
    for command in ["insulation", "sound"] {
        let arguments = [
            command,
            "examples/duluth-furnace.toml",
            "--plan",
            "2",
            "--json",
        ];
        let value = json(&run(&workspace(), &arguments));
        assert_eq!(value["place"], 2);
        let beyond = run(
            &workspace(),
            &[command, "examples/duluth-furnace.toml", "--plan", "100000"],
        );
        assert_eq!(code(&beyond), 2);
        assert!(problems(&beyond).contains("there is no plan 100000"));
    }
}
