//! The rules of a job as a contractor meets them: the list, an override with its reason, the plan.

mod support;

use support::{code, json, problems, result, run, workspace};

const REASON: &str = "a solid screen wall stands between the two; accepted in writing";

fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_job_lists_the_rules_of_its_sets_with_its_overrides() {
    let job = "examples/tallahassee-heat-pump.toml";
    let output = run(&workspace(), &["rules", job, "--subject", "siting"]);
    assert_eq!(code(&output), 0, "{}", problems(&output));
    let text = plain(&result(&output));
    let said = format!(
        "In this job: at least 8 ft (2.44 m), overridden by the county's inspector: {REASON}"
    );
    assert!(text.contains(&said), "{text}");
    let value = json(&run(&workspace(), &["rules", job, "--json"]));
    let rows = value.as_array().expect("rows");
    let sets = ["common practice", "IRC 2024", "ASHRAE 62.2"];
    for row in rows {
        let of = row["sets"].as_array().expect("sets");
        assert!(
            of.iter()
                .any(|set| sets.contains(&set.as_str().unwrap_or(""))),
            "{row}"
        );
    }
    let replaced: Vec<&str> = rows
        .iter()
        .filter(|row| !row["overridden"].is_null())
        .map(|row| row["rule"].as_str().unwrap_or(""))
        .collect();
    assert_eq!(
        replaced,
        [
            "IRC 2024 intake from exhausts",
            "IRC 2024 exhaust from intakes",
            "62.2 intake from sources"
        ]
    );
}

#[test]
fn the_reason_of_an_override_is_printed_where_the_rule_is_used() {
    let job = "examples/tallahassee-heat-pump.toml";
    let output = run(&workspace(), &["plan", job, "--explain", "1"]);
    assert_eq!(code(&output), 0, "{}", problems(&output));
    let text = plain(&result(&output));
    assert!(
        text.contains(&format!("overridden by the county's inspector: {REASON}")),
        "{text}"
    );
    let value = json(&run(
        &workspace(),
        &["plan", job, "--explain", "1", "--json"],
    ));
    let rules = value["rules"].as_array().expect("rules");
    let state = |id: &str| {
        let found = rules.iter().find(|rule| rule["rule"] == id);
        found.map(|rule| rule["state"].clone())
    };
    assert_eq!(state("IRC 2024 intake from exhausts"), Some("kept".into()));
    assert_eq!(state("drain trap"), Some("to be seen to".into()));
    assert!(
        rules.iter().all(|rule| rule["state"] != "broken"),
        "{rules:?}"
    );
}

#[test]
fn a_house_that_is_unsafe_as_found_says_so_before_the_plans() {
    let output = run(&workspace(), &["plan", "examples/duluth-furnace.toml"]);
    assert_eq!(code(&output), 0, "{}", problems(&output));
    let text = plain(&result(&output));
    let warned = text.find(
        "Before anything else: as found, with every exhaust running, the room of the water heater",
    );
    let plans = text.find("combinations of unit");
    assert!(warned.is_some() && warned < plans, "{text}");
}
