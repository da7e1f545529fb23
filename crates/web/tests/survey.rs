//! The survey without a socket: the walk through the house, forms of elements in elements, the list of
//! jobs, and whose rules hold.

mod support;

use axum::http::StatusCode;
use store::Kind;
use support::Desk;

/// Takes the walk as a browser does: looks which question is open, answers it by the names of its
/// fields, goes on where the answer leads.
fn walk(desk: &Desk, job: &str, answers: &[(&str, &[(&str, &str)])]) {
    for (question, answer) in answers {
        let first = desk.get(&format!("/jobs/{job}/survey/walk"));
        let address = first.location().to_owned();
        let page = desk.get(&address).text();
        let now = page.split("step now").nth(1).expect("a question");
        let asked = now
            .split("</h2>")
            .next()
            .and_then(|head| head.rsplit('>').next());
        let asked = asked.expect("a question").replace("&quot;", "\"");
        assert!(asked.contains(question), "{asked} instead of {question}");
        let version = page.split("name=\"version\" value=\"").nth(1);
        let version = version
            .and_then(|rest| rest.split('"').next())
            .expect("a version");
        let mut fields = vec![("version", version)];
        fields.extend(answer.iter().copied());
        let kept = desk.post(&address, &fields);
        let text = kept.text();
        let error = text
            .split("role=\"alert\"")
            .find(|part| part.contains("<p>"));
        assert_eq!(kept.status, StatusCode::SEE_OTHER, "{question}: {error:?}");
    }
}

#[test]
fn an_empty_survey_is_walked_through_until_plans_are_found() {
    let desk = Desk::new();
    let new = desk.post("/jobs", &[("name", "Walk"), ("units", "IP")]);
    assert_eq!(new.location(), "/jobs/walk/survey/walk");
    let start = desk.get("/jobs/walk/survey/walk/1");
    assert!(
        start.has("can be said as soon as this is answered"),
        "{}",
        start.text()
    );
    assert!(start.has("0 answered"));
    let house: [(&str, &[(&str, &str)]); 6] = [
        (
            "Where is the house",
            &[
                ("place.0", "Somewhere"),
                ("place.1", "600"),
                ("place.1.unit", "ft"),
            ],
        ),
        (
            "How much floor",
            &[("floor area.0", "1500"), ("floor area.0.unit", "ft2")],
        ),
        ("How many storeys", &[("heights.0", "1")]),
        (
            "How many bedrooms",
            &[("bedrooms.0", "3"), ("bedrooms.1", "4")],
        ),
        (
            "How cold",
            &[
                ("weather.0", "-5"),
                ("weather.0.unit", "F"),
                ("weather.1", "88"),
                ("weather.1.unit", "F"),
            ],
        ),
        (
            "leak",
            &[("blower door.0", "1500"), ("blower door.0.unit", "cfm")],
        ),
    ];
    // A number that is none is said at its field, and not kept.
    walk(&desk, "walk", &house[..1]);
    let wrong = desk.post(
        "/jobs/walk/survey/walk/2",
        &[("version", "2"), ("floor area.0", "many")],
    );
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.has("aria-invalid=\"true\""));
    walk(&desk, "walk", &house[1..]);
    let rated = desk.get("/jobs/walk/survey/walk");
    let rated = desk.get(rated.location());
    assert!(rated.has("Outdoor air needed"), "{}", rated.text());
    assert!(rated.has("before there is a unit to choose from"));
    walk(
        &desk,
        "walk",
        &[
            (
                "Does anything in the house burn",
                &[("what burns.0", "true")],
            ),
            (
                "What drives the blower",
                &[
                    ("forced air.0", "fixed-speed-tap"),
                    ("forced air.1", "true"),
                ],
            ),
        ],
    );
    // Half of the air handler is answered: that is kept, and said.
    let half = desk.get(desk.get("/jobs/walk/survey/walk").location());
    assert!(
        half.has("How much air does the blower move in heating?"),
        "{}",
        half.text()
    );
    walk(
        &desk,
        "walk",
        &[
            (
                "How much air",
                &[("blower flow.0", "850"), ("blower flow.0.unit", "cfm")],
            ),
            (
                "How far below",
                &[
                    ("return pressure.0", "0.24"),
                    ("return pressure.0.unit", "inWC"),
                ],
            ),
            (
                "How far above",
                &[
                    ("supply pressure.0", "0.2"),
                    ("supply pressure.0.unit", "inWC"),
                ],
            ),
            ("What does the filter", &[("without", "filter")]),
            ("And in cooling", &[("without", "second mode")]),
            (
                "How long is the return",
                &[
                    ("return trunk.0", "24"),
                    ("return trunk.0.unit", "ft"),
                    ("return trunk.1", "8"),
                    ("return trunk.1.second", "16"),
                    ("return trunk.1.unit", "in"),
                ],
            ),
            ("How long is the supply", &[("without", "supply trunk")]),
            (
                "Where could a duct",
                &[
                    ("first tap.0", "return end"),
                    ("first tap.1", "return"),
                    ("first tap.2", "20"),
                    ("first tap.2.unit", "ft"),
                ],
            ),
            (
                "And where else",
                &[
                    ("second tap.0", "second tap"),
                    ("second tap.1", "return"),
                    ("second tap.2", "12"),
                    ("second tap.2.unit", "ft"),
                ],
            ),
            (
                "Can a room",
                &[("grille.0", "extract"), ("grille.1", "bath grille")],
            ),
            ("Where may the unit", &[("spot.0", "utility room")]),
            ("Is there a drain", &[("without", "drain")]),
            (
                "Which wall",
                &[
                    ("wall.0", "north wall"),
                    ("wall.1", "north"),
                    ("wall.2", "38"),
                    ("wall.2.unit", "ft"),
                    ("wall.3", "9"),
                    ("wall.3.unit", "ft"),
                ],
            ),
            ("How deep does snow", &[("without", "snow")]),
            (
                "Where may a hood",
                &[
                    ("hood.0", "north hood"),
                    ("hood.1", "two-in-one"),
                    ("hood.3", "18"),
                    ("hood.3.unit", "ft"),
                    ("hood.4", "5"),
                    ("hood.4.unit", "ft"),
                ],
            ),
            (
                "How far is it",
                &[
                    ("runs.0", "8"),
                    ("runs.0.unit", "ft"),
                    ("runs.0.second", "2"),
                    ("runs.1", "6"),
                    ("runs.1.unit", "ft"),
                    ("runs.1.second", "1"),
                    ("runs.2", "18"),
                    ("runs.2.unit", "ft"),
                    ("runs.2.second", "2"),
                    ("runs.3", "7"),
                    ("runs.3.unit", "ft"),
                ],
            ),
            ("From which units", &[("units.0", "catalogue.toml")]),
        ],
    );
    assert_eq!(
        desk.get("/jobs/walk/survey/walk").location(),
        "/jobs/walk/survey/walk/end"
    );
    let end = desk.get("/jobs/walk/survey/walk/end");
    assert!(
        end.has("The walk is done") && end.has("Plans can be searched now"),
        "{}",
        end.text()
    );
    let text = desk.text("walk");
    for written in [
        "return_pressure = \"-0.24 inWC\"",
        "section = \"8 x 16 in\"",
        "wall = \"north wall\"",
        "without_answer = [\"filter\", \"second mode\", \"supply trunk\", \"drain\", \"snow\"]",
        "runs.\"north hood\" = \"7 ft\"",
    ] {
        assert!(text.contains(written), "{written} is not in\n{text}");
    }
    // An answer that comes later takes the place of "I could not measure this".
    let version = desk.get("/jobs/walk/survey/walk/11").text();
    let version = version
        .split("name=\"version\" value=\"")
        .nth(1)
        .expect("a version");
    let version = version.split('"').next().expect("a version").to_owned();
    let kept = desk.post(
        "/jobs/walk/survey/walk/12",
        &[
            ("version", &version),
            ("filter.0", "0.1"),
            ("filter.0.unit", "inWC"),
        ],
    );
    assert_eq!(kept.location(), "/jobs/walk/survey/walk/13");
    let text = desk.text("walk");
    assert!(text.contains("filter_pressure_drop = \"0.1 inWC\"") && !text.contains("[\"filter\""));
    assert!(desk.get("/jobs/walk/plans").has("Adopt plan 1"));
    // What the plans lean on changes: the best of the last search says by how much.
    let looked = desk.post(
        "/jobs/walk/survey/walk/10",
        &[
            ("version", "99"),
            ("look", "1"),
            ("return pressure.0", "0.5"),
            ("return pressure.0.unit", "inWC"),
        ],
    );
    assert!(
        looked.has("The worst balance would go from"),
        "{}",
        looked.text()
    );
    assert!(looked.has("best plan of the last search"));
    assert_eq!(desk.text("walk"), text, "a look keeps nothing");
}

#[test]
fn an_answer_shows_what_it_changes_for_the_chosen_plan() {
    let desk = Desk::with_examples();
    let page = desk.get("/jobs/duluth-furnace/survey/walk/9");
    assert!(
        page.has("Worst balance") && page.has("Of the chosen plan"),
        "{}",
        page.text()
    );
    // The same answer with less doubt; then a larger house, which needs more air.
    for (address, field, value, words) in [
        (
            "walk/9",
            "blower flow.0",
            "880 cfm ± 1 %",
            "The worst balance would go from",
        ),
        (
            "walk/2",
            "floor area.0",
            "3000 ft2",
            "The outdoor air needed would go from",
        ),
    ] {
        let looked = desk.post(
            &format!("/jobs/duluth-furnace/survey/{address}"),
            &[("version", "1"), ("look", "1"), (field, value)],
        );
        assert_eq!(looked.status, StatusCode::OK);
        assert!(looked.has(words), "{address}: {}", looked.text());
    }
    let form = desk.post(
        "/jobs/duluth-furnace/survey/house",
        &[("version", "1"), ("look", "1"), ("floor_area", "3000 ft2")],
    );
    assert!(form.has("The outdoor air needed would go from"));
    // The plan of this example draws its supply air straight back in: it is not called done.
    let steps = desk.get("/jobs/duluth-furnace");
    assert!(
        steps.has("Chosen, but must not stay so: "),
        "{}",
        steps.text()
    );
}

#[test]
fn elements_inside_elements_are_added_moved_and_taken_out() {
    let desk = Desk::with_examples();
    let before = desk.text("duluth-furnace");
    let added = desk.post(
        "/jobs/duluth-furnace/survey-add/wall/1/object",
        &[("version", "1"), ("first", "door")],
    );
    assert_eq!(
        added.location(),
        "/jobs/duluth-furnace/survey/wall/1/object/9",
        "{}",
        added.text()
    );
    let after = desk.text("duluth-furnace");
    assert!(after.contains("    { kind = \"door\" },\n"));
    assert_eq!(after.replacen("    { kind = \"door\" },\n", "", 1), before);
    let moved = desk.post(
        "/jobs/duluth-furnace/survey-move/wall/1/object/9",
        &[("version", "2"), ("way", "up")],
    );
    assert_eq!(
        moved.location(),
        "/jobs/duluth-furnace/survey/wall/1/object"
    );
    assert!(
        desk.get("/jobs/duluth-furnace/survey/wall/1/object/8")
            .has("value=\"door\" selected")
    );
    let gone = desk.post(
        "/jobs/duluth-furnace/survey-remove/wall/1/object/8",
        &[("version", "3")],
    );
    assert_eq!(gone.location(), "/jobs/duluth-furnace/survey/wall/1/object");
    assert_eq!(desk.text("duluth-furnace"), before);
    // A table that the file can do without.
    let gone = desk.post(
        "/jobs/duluth-furnace/survey-remove/existing",
        &[("version", "4")],
    );
    assert_eq!(
        gone.location(),
        "/jobs/duluth-furnace/survey",
        "{}",
        gone.text()
    );
    assert!(!desk.text("duluth-furnace").contains("[existing]"));
    let first = desk.post(
        "/jobs/duluth-furnace/survey-move/tap/1",
        &[("version", "5"), ("way", "up")],
    );
    assert_eq!(first.status, StatusCode::NOT_FOUND);
}

#[test]
fn a_thousand_jobs_are_found_put_away_and_copied() {
    let desk = Desk::new();
    for number in 0..1000 {
        let text = format!("format = 1\nname = \"House {number}\"\n");
        desk.put(Kind::Job, &format!("house-{number}"), &text);
    }
    let first = desk.get("/");
    assert!(
        first.has("1,000 jobs") && first.has("page 1 of 20"),
        "{}",
        first.text()
    );
    assert!(first.body.len() < 40_000);
    assert!(desk.get("/?page=20").has("‹ Later ones"));
    assert!(desk.get("/?page=999").has("page 20 of 20"));
    let found = desk.get("/?q=house+777");
    assert!(
        found.has("/jobs/house-777\"") && found.has("1 job,"),
        "{}",
        found.text()
    );
    assert!(desk.get("/?q=%3Cb%3E").has("No job has this name"));

    let away = desk.post("/jobs/house-777/away", &[("version", "1"), ("way", "away")]);
    assert_eq!(away.location(), "/");
    assert!(!desk.get("/?q=777").has("/jobs/house-777\""));
    assert!(desk.get("/").has("1 job is put away"));
    assert!(desk.get("/?away=true").has("/jobs/house-777\""));
    assert!(desk.get("/jobs/house-777").has("Take it out again"));
    assert!(desk.get("/jobs/house-777/history").has("Put away"));
    desk.post("/jobs/house-777/away", &[("version", "2"), ("way", "out")]);
    assert!(desk.get("/?q=777").has("/jobs/house-777\""));

    let copied = desk.post("/jobs/house-5/copy", &[("name", "Five again")]);
    assert_eq!(copied.location(), "/jobs/five-again");
    let text = desk.text("five-again");
    assert_eq!(text, "format = 1\nname = \"Five again\"\n");
    let nameless = desk.post("/jobs/house-5/copy", &[("name", " ")]);
    assert_eq!(nameless.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[test]
fn rules_are_chosen_and_overridden_with_a_reason() {
    let desk = Desk::with_examples();
    let needs = desk.get("/jobs/duluth-furnace/needs");
    assert!(
        needs.has("What goes in") && needs.has("/survey/house#q-floor-area"),
        "{}",
        needs.text()
    );
    let kept = desk.post(
        "/jobs/duluth-furnace/needs/own",
        &[
            ("version", "1"),
            ("rule", "access space"),
            ("limit", "2 ft"),
            ("reason", "the inspector saw the place"),
            ("who", "inspector"),
        ],
    );
    assert_eq!(
        kept.location(),
        "/jobs/duluth-furnace/needs#own",
        "{}",
        kept.text()
    );
    assert!(
        desk.text("duluth-furnace")
            .contains("[[rules.override]]\nrule = \"access space\"\nlimit = \"2 ft\"\n")
    );
    assert!(
        desk.get("/jobs/duluth-furnace/needs")
            .has("overridden by inspector")
    );
    // The same rule again takes its place.
    desk.post(
        "/jobs/duluth-furnace/needs/own",
        &[
            ("version", "2"),
            ("rule", "access space"),
            ("limit", "28 in"),
            ("reason", "measured again"),
        ],
    );
    let text = desk.text("duluth-furnace");
    assert!(text.contains("28 in") && !text.contains("\"2 ft\"\nreason"));
    assert_eq!(text.matches("[[rules.override]]").count(), 1);
    // A number of another kind, one without a reason, and the laws of two places are refused.
    for (address, form) in [
        (
            "own",
            &[
                ("rule", "access space"),
                ("limit", "60 cfm"),
                ("reason", "x"),
            ][..],
        ),
        (
            "own",
            &[("rule", "access space"), ("limit", "2 ft"), ("reason", " ")][..],
        ),
        ("sets", &[("set", "IRC 2024"), ("set", "Canada")][..]),
    ] {
        let mut form = form.to_vec();
        form.push(("version", "3"));
        let refused = desk.post(&format!("/jobs/duluth-furnace/needs/{address}"), &form);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{form:?}");
        assert_eq!(desk.text("duluth-furnace"), text);
    }
    let chosen = desk.post(
        "/jobs/duluth-furnace/needs/sets",
        &[("version", "3"), ("set", "IRC 2024")],
    );
    assert_eq!(chosen.location(), "/jobs/duluth-furnace/needs#sets");
    assert!(
        desk.text("duluth-furnace")
            .contains("sets = [\"IRC 2024\"]")
    );
    desk.post("/jobs/duluth-furnace/needs/sets", &[("version", "4")]);
    assert!(!desk.text("duluth-furnace").contains("sets ="));
}

#[test]
fn an_address_with_a_slash_at_its_end_leads_to_the_page() {
    let desk = Desk::with_examples();
    for (address, meant) in [
        ("/jobs/light/", "/jobs/light"),
        ("/jobs/light/survey/house/", "/jobs/light/survey/house"),
        ("/jobs/light/plans/?top=9", "/jobs/light/plans?top=9"),
        ("//elsewhere.example/", "/elsewhere.example"),
    ] {
        let led = desk.get(address);
        assert_eq!(led.status, StatusCode::PERMANENT_REDIRECT, "{address}");
        assert_eq!(led.location(), meant);
    }
}
