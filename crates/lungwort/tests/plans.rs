//! `plan` and `flows` as a contractor runs them. The page docs/examples.md holds what they print for
//! every example; `LUNGWORT_WRITE=1 cargo test -p lungwort --test plans` writes it anew.

mod support;

use std::fs;

use support::{code, json, problems, result, run, workspace};

const EXAMPLES: [&str; 4] = [
    "duluth-furnace",
    "flagstaff-crawlspace",
    "tallahassee-heat-pump",
    "light",
];

/// The arguments of a shown command, without the program's name.
fn shown() -> Vec<String> {
    let mut commands = Vec::new();
    for example in EXAMPLES {
        commands.push(format!("plan examples/{example}.toml"));
        commands.push(format!("flows examples/{example}.toml"));
    }
    commands.push("plan examples/duluth-furnace.toml --explain 2".into());
    commands.push("plan examples/light.toml --explain 1 --units si".into());
    commands.push("flows examples/duluth-furnace.toml --plan 2 --wind --ascii".into());
    commands.push("flows examples/duluth-furnace.toml --plan 4 --wind --units si".into());
    commands
}

#[test]
fn the_page_of_examples_is_what_the_program_prints() {
    let mut page = String::from(
        "# What `plan` and `flows` print\n\nFor the invented houses in `examples/`. A test keeps this page true.\n",
    );
    for command in shown() {
        let arguments: Vec<&str> = command.split_whitespace().collect();
        let output = run(&workspace(), &arguments);
        assert_eq!(code(&output), 0, "{command}: {}", problems(&output));
        let printed = result(&output);
        for line in printed.lines() {
            assert!(line.chars().count() <= 100, "{command}: {line}");
        }
        page += &format!("\n## `lungwort {command}`\n\n```text\n{printed}```\n");
    }
    let path = workspace().join("docs/examples.md");
    if std::env::var_os("LUNGWORT_WRITE").is_some() {
        fs::write(&path, &page).expect("the page can be written");
    }
    let kept = fs::read_to_string(&path).expect("docs/examples.md");
    let differing = kept
        .lines()
        .zip(page.lines())
        .find(|(kept, printed)| kept != printed);
    assert!(
        kept == page,
        "docs/examples.md is not what the program prints; first difference (kept, printed): {differing:#?}"
    );
}

#[test]
fn what_the_examples_promise_to_show_is_there() {
    let told = |command: &str| {
        result(&run(
            &workspace(),
            &command.split_whitespace().collect::<Vec<_>>(),
        ))
    };
    let duluth = told("flows examples/duluth-furnace.toml");
    for sentence in [
        "With the blower off, nearly all the supply air is drawn straight back out",
        "Switching the blower from off to cooling moves supply",
        "enters backwards through its exhaust",
    ] {
        // Sentences are broken over lines.
        let flat = duluth.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(sentence), "{sentence}");
    }
    let tallahassee = told("flows examples/tallahassee-heat-pump.toml");
    assert!(
        tallahassee.contains("The pressure in the supply duct takes"),
        "{tallahassee}"
    );
    let flagstaff = told("flows examples/flagstaff-crawlspace.toml");
    assert!(flagstaff.contains("the air is thinner"), "{flagstaff}");
}

#[test]
fn a_place_beyond_the_ranking_is_refused() {
    for command in [
        "plan examples/light.toml --explain 999",
        "flows examples/light.toml --plan 999",
    ] {
        let output = run(
            &workspace(),
            &command.split_whitespace().collect::<Vec<_>>(),
        );
        assert_eq!(code(&output), 2, "{command}");
        assert!(problems(&output).contains("999"), "{}", problems(&output));
        assert!(result(&output).is_empty());
    }
}

#[test]
fn when_nothing_survives_it_says_what_stopped_each() {
    let folder = tempfile::tempdir().expect("a folder");
    let examples = workspace().join("examples");
    fs::copy(
        examples.join("catalogue.toml"),
        folder.path().join("catalogue.toml"),
    )
    .expect("the catalogue");
    let job = fs::read_to_string(examples.join("light.toml")).expect("an example");
    let job = job.replace("bedrooms = 3", "bedrooms = 3\nrequired_rate = \"400 L/s\"");
    fs::write(folder.path().join("job.toml"), job).expect("the job");
    for command in ["plan", "flows"] {
        let output = run(folder.path(), &[command, "job.toml"]);
        assert_eq!(code(&output), 1, "{command}: {}", problems(&output));
    }
    let output = run(folder.path(), &["plan", "job.toml"]);
    let told = result(&output);
    assert!(
        told.contains("The required outdoor air reaches the rooms"),
        "{told}"
    );
    let object = json(&run(folder.path(), &["plan", "job.toml", "--json"]));
    let fallen: u64 = object["discarded"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|rule| rule["combinations"].as_u64().expect("a count"))
        .sum();
    assert_eq!(Some(fallen), object["combinations"].as_u64());
}

#[test]
fn what_has_no_price_is_said_not_to_cost_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let examples = workspace().join("examples");
    let unpriced = |name: &str, kept: &str| {
        let text = fs::read_to_string(examples.join(name)).expect("an example");
        let lines = text.lines().filter(|line| !line.starts_with("price = "));
        let text = lines.collect::<Vec<_>>().join("\n") + "\n" + kept;
        fs::write(folder.path().join(name), text).expect("a file");
    };
    unpriced("catalogue.toml", "");
    unpriced("light.toml", "\n[costs]\nelectricity = \"0 per kWh\"\n");
    for arguments in [
        &["plan", "light.toml"][..],
        &["plan", "light.toml", "--explain", "1"],
    ] {
        let output = run(folder.path(), arguments);
        assert_eq!(code(&output), 0, "{}", problems(&output));
        let told = result(&output);
        assert!(told.contains("no price"), "{told}");
        assert!(!told.contains("$0"), "{told}");
    }
}

#[test]
fn every_key_of_the_json_is_described() {
    let page = fs::read_to_string(workspace().join("docs/json.md")).expect("docs/json.md");
    for command in [
        "check examples/light.toml --json",
        "plan examples/light.toml --json",
        "plan examples/light.toml --explain 1 --json",
        "flows examples/duluth-furnace.toml --wind --json",
        "rates examples/duluth-furnace.toml --json",
        "walls examples/flagstaff-crawlspace.toml --json",
        "balance examples/duluth-set-up.toml --readings examples/duluth-set-up-day.toml --json",
    ] {
        let arguments: Vec<&str> = command.split_whitespace().collect();
        let mut found = std::collections::BTreeSet::new();
        support::keys(&json(&run(&workspace(), &arguments)), &mut found);
        assert!(found.len() > 10, "{command}: {found:?}");
        let missing: Vec<&String> = found
            .iter()
            .filter(|key| !page.contains(&format!("`{key}`")))
            .collect();
        assert!(
            missing.is_empty(),
            "{command}: not in docs/json.md: {missing:?}"
        );
    }
}

#[test]
fn json_carries_the_numbers_that_are_printed() {
    let object = json(&run(
        &workspace(),
        &["flows", "examples/duluth-furnace.toml", "--json"],
    ));
    assert_eq!(object["plan"]["layout"], "return-to-return");
    let cases = object["cases"].as_array().expect("cases");
    assert_eq!(cases.len(), 36);
    for case in cases {
        assert!(case["residual_kg_s"].as_f64().expect("a residual") <= 1e-8);
    }
    let searched = json(&run(
        &workspace(),
        &["plan", "examples/light.toml", "--json"],
    ));
    let fallen: u64 = searched["discarded"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|rule| rule["combinations"].as_u64().expect("a count"))
        .sum();
    let works = searched["plans"].as_array().expect("a list").len() as u64;
    assert_eq!(searched["combinations"].as_u64(), Some(fallen + works));
}

#[test]
fn safety_says_stop_asks_and_defers() {
    let told = |command: &str| {
        let output = run(
            &workspace(),
            &command.split_whitespace().collect::<Vec<_>>(),
        );
        (
            code(&output),
            result(&output)
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" "),
        )
    };
    let (duluth, text) = told("safety examples/duluth-furnace.toml");
    assert_eq!(duluth, 1);
    assert!(
        text.contains("Water heater • Stop: its zone is drawn down by"),
        "{text}"
    );
    assert!(
        text.contains("the local code and the people licensed for such work decide"),
        "{text}"
    );
    let (flagstaff, _) = told("safety examples/flagstaff-crawlspace.toml");
    assert_eq!(flagstaff, 0);
    let (light, text) = told("safety examples/light.toml");
    assert_eq!(light, 1);
    assert!(text.contains("nothing is assumed to be safe"), "{text}");
    let object = json(&run(
        &workspace(),
        &["safety", "examples/duluth-furnace.toml", "--json"],
    ));
    assert_eq!(object["appliances"][1]["outcome"], "beyond limit");
}

#[test]
fn rules_are_listed_by_subject_and_set() {
    let list = |arguments: &[&str]| {
        json(&run(
            &workspace(),
            &[&["rules", "--json"], arguments].concat(),
        ))
    };
    let all = list(&[]).as_array().expect("a list").len();
    let ours = list(&["--set", "Canada", "--subject", "safety"]);
    let ours = ours.as_array().expect("a list");
    assert!(!ours.is_empty() && ours.len() < all);
    for row in ours {
        assert_eq!(row["subject"], "safety");
        assert!(
            row["sets"]
                .as_array()
                .expect("sets")
                .contains(&"Canada".into()),
            "{row}"
        );
    }
    assert_eq!(code(&run(&workspace(), &["rules", "--set", "Atlantis"])), 2);
}
