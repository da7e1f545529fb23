//! The workspace without a socket: requests in, pages out, the examples as jobs.

mod support;

use std::sync::{Arc, Mutex};

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use support::{Answer, CATALOGUE, Desk, EXAMPLES};
use web::Work;

/// Every page of a job.
const PAGES: [&str; 34] = [
    "",
    "/survey",
    "/survey/job",
    "/survey/house",
    "/survey/climate",
    "/survey/zone",
    "/survey/air_handler",
    "/survey/air_handler/mode",
    "/survey/air_handler/mode/1",
    "/survey/air_handler/return",
    "/survey/walk/1",
    "/survey/walk/8",
    "/survey/walk/21",
    "/survey/walk/end",
    "/survey/station",
    "/survey/balancing",
    "/survey/tap",
    "/survey/tap/1",
    "/survey/spot/1",
    "/survey/spot/1/runs",
    "/survey/terminal/1",
    "/survey/rates",
    "/survey/plan",
    "/needs",
    "/walls",
    "/flows",
    "/safety",
    "/day",
    "/day/checks",
    "/day/combustion",
    "/day/record",
    "/day/revisit",
    "/history",
    "/file",
];

#[test]
fn every_page_of_every_example_is_there_and_light() {
    let desk = Desk::with_examples();
    assert!(desk.get("/").has("Light survey of a bungalow"));
    for (name, _) in EXAMPLES {
        for page in PAGES {
            let address = format!("/jobs/{name}{page}");
            let answer = desk.get(&address);
            assert_eq!(answer.status, StatusCode::OK, "{address}");
            let text = answer.text();
            assert_eq!(text.matches("<h1").count(), 1, "{address}");
            assert!(
                !text.contains(" style=\"") && !text.contains("<style"),
                "{address}"
            );
            assert!(
                !text.contains(" onclick") && !text.contains("<script>"),
                "{address}"
            );
            assert!(
                !text.contains("http://") && !text.contains("https://"),
                "{address}"
            );
            // Page, style, script and two weights of type stay below 100 kB on the first pages; the
            // house stands in its page twice, for a wide and for a narrow window.
            let most = if page == "/flows" { 150_000 } else { 100_000 };
            if page.len() < 8 {
                let weight = text.len() + assets(&desk, &text);
                assert!(weight < most, "{address} weighs {weight} bytes");
            }
        }
    }
}

/// Bytes of all that a page loads: what it names, and the two weights of type that the style names.
fn assets(desk: &Desk, page: &str) -> usize {
    let named = page.split("\"/assets/").skip(1);
    let named = named.filter_map(|rest| rest.split('"').next());
    let fonts = ["sans-400.woff2", "sans-600.woff2"];
    let mut names: Vec<&str> = named.chain(fonts).collect();
    names.sort_unstable();
    names.dedup();
    assert!(names.len() >= 5, "{names:?}");
    let weights = names.iter().map(|name| {
        let answer = desk.get(&format!("/assets/{name}"));
        assert_eq!(answer.status, StatusCode::OK, "{name}");
        let age = answer.headers[header::CACHE_CONTROL].to_str();
        assert!(age.expect("plain text").contains("immutable"), "{name}");
        answer.body.len()
    });
    weights.sum()
}

#[test]
fn an_asset_is_kept_only_under_the_address_of_its_bytes() {
    let desk = Desk::new();
    for address in ["/assets/style.css", "/assets/style.css?0000000000000000"] {
        let answer = desk.get(address);
        assert_eq!(answer.headers[header::CACHE_CONTROL], "no-cache");
    }
}

#[test]
fn strangers_are_refused() {
    let desk = Desk::with_examples();
    let ask = |method: &str, headers: &[(&str, &str)]| {
        let mut request = Request::builder().method(method).uri("/jobs/light/undo");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        desk.send(request.body(Body::empty()).expect("a request"))
            .status
    };
    // A name that a stranger points at this machine, and no name at all.
    assert_eq!(
        ask("GET", &[("host", "evil.example")]),
        StatusCode::MISDIRECTED_REQUEST
    );
    assert_eq!(ask("GET", &[]), StatusCode::MISDIRECTED_REQUEST);
    // A form on a page of somebody else.
    for (name, value) in [
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
        ("origin", "http://evil.example"),
        ("origin", "null"),
    ] {
        let status = ask("POST", &[("host", "localhost"), (name, value)]);
        assert_eq!(status, StatusCode::FORBIDDEN, "{name}: {value}");
    }
    let policy = &desk.get("/").headers[header::CONTENT_SECURITY_POLICY];
    let policy = policy.to_str().expect("plain text");
    assert!(policy.starts_with("default-src 'none'") && !policy.contains("unsafe"));
}

#[test]
fn an_answer_changes_its_value_and_nothing_else() {
    let desk = Desk::with_examples();
    let house = "/jobs/light/survey/house";
    let kept = desk.post(house, &[("version", "1"), ("bedrooms", "4")]);
    assert_eq!(
        (kept.status, kept.location()),
        (StatusCode::SEE_OTHER, house)
    );
    let expected = EXAMPLES[0].1.replace("bedrooms = 3 ", "bedrooms = 4 ");
    assert_eq!(desk.text("light"), expected);
    // A page that was made before cannot overwrite it.
    let late = desk.post(house, &[("version", "1"), ("bedrooms", "5")]);
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert_eq!(desk.text("light"), expected);
    // Undo and redo.
    desk.post("/jobs/light/undo", &[("version", "2")]);
    assert_eq!(desk.text("light"), EXAMPLES[0].1);
    desk.post("/jobs/light/redo", &[("version", "3")]);
    assert_eq!(desk.text("light"), expected);
    desk.post(
        "/jobs/light/name",
        &[("version", "4"), ("name", "as found")],
    );
    assert!(desk.get("/jobs/light/history").has("Named “as found”"));
    let compared = desk.get("/jobs/light/history/compare?from=1&to=5");
    assert!(compared.has("house.bedrooms"), "{}", compared.text());
}

#[test]
fn a_wrong_answer_is_said_at_its_field_and_not_kept() {
    let desk = Desk::with_examples();
    let house = "/jobs/light/survey/house";
    for (key, value, words) in [
        ("floor_area", "142", "unit"),
        ("altitude", "40 furlongs", "furlongs"),
        ("bedrooms", "three", "whole number"),
        ("floor_area", "", "floor_area is missing"),
        ("blower_door", "<script>alert(1)</script>", "&lt;script&gt;"),
    ] {
        let answer = desk.post(house, &[("version", "1"), (key, value)]);
        assert_eq!(
            answer.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{key} {value}"
        );
        assert!(answer.has(words), "{key} {value}: {}", answer.text());
        assert!(!answer.has("<script>alert"), "{key}");
        assert_eq!(desk.text("light"), EXAMPLES[0].1);
    }
    // A look keeps nothing and shows what would follow.
    let look = desk.post(house, &[("version", "1"), ("bedrooms", "6"), ("look", "1")]);
    assert_eq!(look.status, StatusCode::OK);
    assert_ne!(look.text(), desk.get(house).text());
    assert_eq!(desk.text("light"), EXAMPLES[0].1);
}

/// How many plans a page of plans ranks.
fn of(plans: &Answer) -> String {
    let text = plans.text();
    let (_, rest) = text.split_once("name=\"of\" value=\"").expect("a form");
    rest.split('"').next().expect("a value").to_owned()
}

#[test]
fn a_plan_is_adopted_only_from_the_ranking_that_was_shown() {
    let desk = Desk::with_examples();
    let plans = desk.get("/jobs/light/plans");
    let of: usize = of(&plans).parse().expect("a number");
    for (version, of, place) in [
        ("1", of + 1, "1"),
        ("1", of, "0"),
        ("1", of, "999999"),
        ("9", of, "1"),
    ] {
        let fields = [
            ("version", version),
            ("place", place),
            ("of", &of.to_string()),
        ];
        let answer = desk.post("/jobs/light/plans/adopt", &fields);
        assert!(
            answer
                .headers
                .get(header::LOCATION)
                .is_none_or(|to| to == "/jobs/light/plans")
        );
        assert_eq!(desk.text("light"), EXAMPLES[0].1, "{fields:?}");
    }
}

#[test]
fn plans_are_sorted_and_sieved() {
    let desk = Desk::with_examples();
    // The prices in the order of the rows.
    let column = |address: &str, place: usize| -> Vec<f64> {
        let text = desk.get(address).text();
        let (_, body) = text.split_once("<tbody>").expect("a table");
        let rows = body.split("<tr").skip(1);
        let cell = |row: &str| {
            let cell = row.split("<td class=\"number\">").nth(place + 1)?;
            let digits: String = cell
                .split('<')
                .next()?
                .chars()
                .filter(|c| c.is_ascii_digit() || *c == '.')
                .collect();
            digits.parse().ok()
        };
        rows.map(|row| cell(row).unwrap_or(f64::NAN)).collect()
    };
    let rising = |values: &[f64]| values.len() > 3 && values.is_sorted();
    let falling = |values: &[f64]| values.len() > 3 && values.is_sorted_by(|a, b| a >= b);
    let table = "/jobs/duluth-furnace/plans/table";
    assert!(falling(&column(&format!("{table}?by=points"), 0)));
    assert!(rising(&column(&format!("{table}?by=price"), 1)));
    assert!(rising(&column(
        &format!("{table}?by=electricity&rows=100"),
        8
    )));
    assert_eq!(column(&format!("{table}?by=price&rows=40"), 1).len(), 40);
    let sieved = desk.get(&format!("{table}?layout=return-to-return&by=balance"));
    assert!(sieved.has("Return-to-return") && !sieved.has("Fully ducted, "));
    assert!(
        sieved.has("&amp;layout=return-to-return"),
        "{}",
        sieved.text()
    );
    assert!(
        desk.get(&format!("{table}?unit=nothing"))
            .has("No plan that works is like that")
    );
    for odd in [
        "?by=%00",
        "?rows=0",
        "?rows=999999999",
        "?by=&layout=&unit=",
    ] {
        assert_eq!(
            desk.get(&format!("{table}{odd}")).status,
            StatusCode::OK,
            "{odd}"
        );
    }
    assert_eq!(
        desk.get(&format!("{table}?rows=-1")).status,
        StatusCode::BAD_REQUEST
    );
}

#[test]
fn one_plan_is_told_in_full_and_marked_in_the_chart() {
    let desk = Desk::with_examples();
    let plans = desk.get("/jobs/light/plans");
    let of: usize = of(&plans).parse().expect("a number");
    assert!(plans.has("class=\"chart wide\"") && plans.has("href=\"/jobs/light/plans/1\""));
    let first = desk.get("/jobs/light/plans/1");
    for words in [
        "What it does",
        "Points: ",
        "Altogether",
        "Rules that it keeps",
        "Adopt plan 1",
    ] {
        assert!(first.has(words), "{words}");
    }
    assert_eq!(
        desk.get(&format!("/jobs/light/plans/{of}")).status,
        StatusCode::OK
    );
    for none in [
        "0",
        "-1",
        "x",
        &(of + 1).to_string(),
        "99999999999999999999999",
    ] {
        let answer = desk.get(&format!("/jobs/light/plans/{none}"));
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{none}");
    }
}

#[test]
fn a_search_is_stopped_and_begun_anew() {
    let waiting: Arc<Mutex<Vec<Work>>> = Arc::default();
    let kept = Arc::clone(&waiting);
    let desk = Desk::working(Arc::new(move |work| {
        kept.lock().expect("no panic").push(work);
    }))
    .holding_examples();
    let do_all = || {
        let work = std::mem::take(&mut *waiting.lock().expect("no panic"));
        work.into_iter().map(|work| work(&|| ())).count()
    };
    let running = desk.get("/jobs/light/plans");
    assert!(running.headers.get(header::REFRESH).is_some());
    assert!(running.has("Stop, and show what was found so far"));
    // Asked for twice, it is begun once.
    desk.get("/jobs/light/plans");
    let stopped = desk.post("/jobs/light/plans/stop", &[]);
    assert_eq!(stopped.location(), "/jobs/light/plans");
    assert_eq!(do_all(), 1);
    let part = desk.get("/jobs/light/plans");
    assert!(part.has("The search was stopped"), "{}", part.text());
    desk.post("/jobs/light/plans/stop", &[("again", "true")]);
    assert!(
        desk.get("/jobs/light/plans")
            .headers
            .get(header::REFRESH)
            .is_some()
    );
    assert_eq!(do_all(), 1);
    let whole = desk.get("/jobs/light/plans");
    assert!(whole.has("Adopt plan 1") && !whole.has("The search was stopped"));
}

#[test]
fn an_edit_stops_the_search_for_the_earlier_text() {
    let waiting: Arc<Mutex<Vec<Work>>> = Arc::default();
    let kept = Arc::clone(&waiting);
    let desk = Desk::working(Arc::new(move |work| {
        kept.lock().expect("no panic").push(work);
    }))
    .holding_examples();
    desk.get("/jobs/light/plans");
    desk.post(
        "/jobs/light/survey/house",
        &[("version", "1"), ("bedrooms", "4")],
    );
    desk.get("/jobs/light/plans");
    desk.post("/jobs/light/undo", &[("version", "2")]);
    let work = std::mem::take(&mut *waiting.lock().expect("no panic"));
    assert_eq!(work.len(), 2);
    for work in work {
        work(&|| ());
    }
    // The first text is back; its search was stopped and what it found forgotten, so it runs anew.
    let again = desk.get("/jobs/light/plans");
    assert!(again.headers.get(header::REFRESH).is_some());
}

#[test]
fn a_plan_is_adopted_and_shown() {
    let desk = Desk::with_examples();
    let plans = desk.get("/jobs/light/plans");
    assert_eq!(plans.status, StatusCode::OK);
    // The background of this test does its work at once, so the first answer has the plans.
    assert!(plans.has("Adopt plan 1"), "{}", plans.text());
    assert!(plans.headers.get(header::REFRESH).is_none());
    let adopted = desk.post(
        "/jobs/light/plans/adopt",
        &[("version", "1"), ("place", "2"), ("of", &of(&plans))],
    );
    assert_eq!(
        adopted.location(),
        "/jobs/light/flows",
        "{}",
        adopted.text()
    );
    let text = desk.text("light");
    assert!(
        text.starts_with(EXAMPLES[0].1) && text.contains("[plan]"),
        "{text}"
    );
    assert!(desk.get("/jobs/light/flows").has("In each operating case"));
    assert!(desk.get("/jobs/light/day").has("Before the day begins"));
    let again = desk.get("/jobs/light/plans");
    assert!(again.has("class=\"chosen\""), "{}", again.text());
}

#[test]
fn elements_are_added_and_taken_out() {
    let desk = Desk::with_examples();
    let added = desk.post(
        "/jobs/light/survey-add/tap",
        &[("version", "1"), ("first", "third")],
    );
    assert_eq!(added.location(), "/jobs/light/survey/tap/3");
    // It lacks what it needs: the survey is open, the page asks for it, other pages say so.
    assert!(desk.get("/jobs/light/needs").has("Mend the survey"));
    let kept = desk.post(
        "/jobs/light/survey/tap/3",
        &[("version", "2"), ("on", "return"), ("from_fan", "2 m")],
    );
    assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.text());
    assert!(!desk.get("/jobs/light/needs").has("Mend the survey"));
    desk.post("/jobs/light/survey-remove/tap/3", &[("version", "3")]);
    assert!(!desk.text("light").contains("third"));
}

#[test]
fn files_come_back_byte_by_byte() {
    let desk = Desk::new();
    let bytes = "\u{feff}# Möbius\r\nname = \"A & B\"\r\nformat = 1\n\n\n# end".as_bytes();
    let brought = desk.import("a.toml", bytes);
    assert_eq!(brought.location(), "/jobs/a-b/file", "{}", brought.text());
    assert_eq!(desk.get("/jobs/a-b/file.toml").body, bytes);
    assert!(desk.get("/jobs/a-b/file").has("house is missing"));
    // A second one of the same name gets a number.
    assert_eq!(desk.import("a.toml", bytes).location(), "/jobs/a-b-2/file");
    let new = desk.post("/jobs", &[("name", "12 Birch Street")]);
    assert_eq!(new.location(), "/jobs/12-birch-street/survey/walk");
    assert!(desk.get("/jobs/12-birch-street").has("12 Birch Street"));
    let example = desk.post(
        "/jobs",
        &[("name", "Second"), ("with", "example"), ("units", "SI")],
    );
    assert_eq!(example.location(), "/jobs/second");
    assert!(desk.text("second").contains("units = \"SI\" "));
}

#[test]
fn hostile_files_are_shown_with_their_diagnostics() {
    let desk = Desk::new();
    let not_text = desk.import("x.toml", &[0xff, 0xfe, 0x00, 0x41]);
    assert_eq!(not_text.status, StatusCode::UNPROCESSABLE_ENTITY);
    let large = desk.import("x.toml", &vec![b'#'; 5_000_000]);
    assert_eq!(large.status, StatusCode::PAYLOAD_TOO_LARGE);
    let files = [
        "<script>alert(1)</script>".to_owned(),
        "name = \"<img src=x onerror=alert(1)>\"\n".to_owned(),
        "a = ".to_owned() + &"[".repeat(100_000),
        "a = 1\n".repeat(20_000),
        format!("name = \"{}\"", "x".repeat(300_000)),
        "[house]\nfloor_area = \"1e999 m2\"\naltitude = \"-1e308 ft\"\n".to_owned(),
        "catalogue = \"../../../etc/passwd\"\n".to_owned(),
    ];
    for (index, text) in files.iter().enumerate() {
        let brought = desk.import(&format!("hostile-{index}.toml"), text.as_bytes());
        assert_eq!(
            brought.status,
            StatusCode::SEE_OTHER,
            "{index}: {}",
            brought.text()
        );
        let file = brought.location().to_owned();
        assert_eq!(desk.get(&format!("{file}.toml")).text(), *text, "{index}");
        let job = file.trim_end_matches("/file");
        for page in PAGES {
            let answer = desk.get(&format!("{job}{page}"));
            assert!(
                matches!(answer.status, StatusCode::OK | StatusCode::NOT_FOUND),
                "{index} {page}: {}",
                answer.status
            );
            assert!(
                !answer.has("<script>alert") && !answer.has("<img src=x"),
                "{index} {page}"
            );
        }
        assert!(desk.get(job).has("To be mended"), "{index}");
    }
}

#[test]
fn what_is_not_there_is_said_in_a_page() {
    let desk = Desk::with_examples();
    for address in [
        "/nothing",
        "/jobs/none",
        "/jobs/..",
        "/jobs/light/survey/nothing",
        "/jobs/light/survey/tap/99",
        "/jobs/light/survey/tap/0/x",
        "/jobs/light/walls/99.svg",
        "/jobs/light/walls/x",
        "/assets/none",
        "/jobs/light/history/compare?from=0&to=9",
    ] {
        let answer = desk.get(address);
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{address}");
        assert!(answer.has("<h1>"), "{address} has no page");
    }
}

#[test]
fn walls_are_drawn() {
    let desk = Desk::with_examples();
    let page = desk.get("/jobs/duluth-furnace/walls");
    assert!(page.has("/jobs/duluth-furnace/walls/1.svg"));
    let drawing = desk.get("/jobs/duluth-furnace/walls/1.svg");
    assert_eq!(drawing.headers[header::CONTENT_TYPE], "image/svg+xml");
    assert!(drawing.text().starts_with("<svg"));
    let policy = drawing.headers[header::CONTENT_SECURITY_POLICY].to_str();
    assert!(policy.expect("plain text").contains("default-src 'none'"));
}

/// What stands in an answer between two texts.
fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let rest = text.split(from).nth(1).unwrap_or_default();
    rest.split(to).next().unwrap_or_default()
}

fn duluth() -> house::model::Job {
    let source = diagnostics::Source::from_bytes("job.toml", EXAMPLES[1].1.as_bytes());
    let reading = house::file::read(&source, &mut |_| Ok(CATALOGUE.as_bytes().to_vec()));
    reading.job.expect("the example is sound")
}

/// Every case of the switches, and dampers that are tried, show the numbers of `plan::flows`.
#[test]
fn the_house_shows_what_flows() {
    use plan::flows::{flows_of, one_case, with_dampers};
    let desk = Desk::with_examples();
    let job = duluth();
    let (plan, _) = with_dampers(&job, job.chosen.as_ref().expect("a plan")).expect("dampers");
    let whole = flows_of(&job, &plan, None, &|| ()).expect("flows");
    let balance = |value: f64| format!("{:.1} %", 100.0 * value.abs());
    for case in whole.cases.iter().step_by(5) {
        let flows = &case.flows;
        let weather = ["winter", "mild", "summer"][flows.case.season as usize];
        let query = format!(
            "blower={}&setting={}&weather={weather}",
            flows.case.blower.name(),
            flows.case.setting.name()
        );
        let page = desk.get(&format!("/jobs/duluth-furnace/flows/house?{query}"));
        assert_eq!(page.status, StatusCode::OK, "{query}: {}", page.text());
        // The background of this test does its work at once, so bands are there.
        assert!(!page.has("data-pending"));
        if flows.case.setting != house::model::Setting::Off {
            let text = page.text();
            let shown = between(&text, "id=\"figure-balance\"", "</div>");
            assert!(
                shown.contains(&balance(flows.balance())),
                "{query}: {shown}"
            );
        }
    }
    let usual = whole.cases[whole.worst.expect("it runs")].flows.case;
    for (supply, extract) in [(0.0, 0.0), (40.0, 0.0), (0.0, 65.0), (90.0, 90.0)] {
        let tried = plan::Plan {
            supply_damper: supply,
            extract_damper: extract,
            ..plan.clone()
        };
        let flows = one_case(&job, &tried, usual).expect("flows").flows;
        let page = desk.get(&format!(
            "/jobs/duluth-furnace/flows/house?blower={}&setting={}&weather={}&format=wide&version=1&supply_damper={supply}&extract_damper={extract}",
            usual.blower.name(),
            usual.setting.name(),
            ["winter", "mild", "summer"][usual.season as usize]
        ));
        let text = page.text();
        let shown = between(&text, "id=\"figure-balance\"", "</div>");
        assert!(
            shown.contains(&balance(flows.balance())),
            "{supply} {extract}: {shown}"
        );
        assert!(page.has("Keep these dampers") && !page.has("sheet tall"));
    }
}

#[test]
fn what_no_damper_can_do_is_refused() {
    let desk = Desk::with_examples();
    let part = "/jobs/duluth-furnace/flows/house";
    for query in [
        "supply_damper=NaN",
        "supply_damper=inf",
        "extract_damper=-1",
        "extract_damper=90.5",
        "supply_damper=open",
        "blower=reverse",
        "setting=boost",
        "weather=fog",
    ] {
        for page in [part, "/jobs/duluth-furnace/flows"] {
            let answer = desk.get(&format!("{page}?{query}"));
            assert_eq!(
                answer.status,
                StatusCode::UNPROCESSABLE_ENTITY,
                "{page}?{query}"
            );
            assert!(answer.has("<h1>"), "{page}?{query}");
        }
    }
    // A page of an older version is told so.
    assert_eq!(
        desk.get(&format!("{part}?version=9")).status,
        StatusCode::CONFLICT
    );
    assert_eq!(
        desk.get(&format!("{part}?format=round")).status,
        StatusCode::NOT_FOUND
    );
    // No plan, no drawing.
    assert_eq!(
        desk.get("/jobs/light/flows/house").status,
        StatusCode::NOT_FOUND
    );
    for angle in ["NaN", "91", "-0.5", "<b>"] {
        let kept = desk.post(
            "/jobs/duluth-furnace/flows/dampers",
            &[
                ("version", "1"),
                ("supply_damper", angle),
                ("extract_damper", "0"),
            ],
        );
        assert_eq!(kept.status, StatusCode::UNPROCESSABLE_ENTITY, "{angle}");
        assert!(!kept.has("<b>"));
    }
    assert_eq!(desk.text("duluth-furnace"), EXAMPLES[1].1);
}

#[test]
fn dampers_are_kept_and_left_to_the_program_again() {
    let desk = Desk::with_examples();
    let address = "/jobs/duluth-furnace/flows/dampers";
    let kept = desk.post(
        address,
        &[
            ("version", "1"),
            ("case", "blower=low&setting=high&weather=winter"),
            ("supply_damper", "30.25"),
            ("extract_damper", "0"),
        ],
    );
    assert_eq!(
        kept.location(),
        "/jobs/duluth-furnace/flows?blower=low&setting=high&weather=winter"
    );
    let text = desk.text("duluth-furnace");
    assert!(
        text.contains("supply_damper = \"30.25°\"") && text.contains("extract_damper = \"0°\"")
    );
    let page = desk.get("/jobs/duluth-furnace/flows");
    assert!(page.has("They stand as the job says") && page.has("Let the program set them"));
    // The second of two who start from the same page is told so.
    let late = desk.post(address, &[("version", "1"), ("supply_damper", "10")]);
    assert_eq!(late.status, StatusCode::CONFLICT);
    let freed = desk.post(address, &[("version", "2"), ("case", "x\"onload=\"y")]);
    assert_eq!(freed.location(), "/jobs/duluth-furnace/flows?");
    assert_eq!(desk.text("duluth-furnace"), EXAMPLES[1].1);
    desk.post("/jobs/duluth-furnace/undo", &[("version", "3")]);
    assert!(
        desk.text("duluth-furnace")
            .contains("supply_damper = \"30.25°\"")
    );
}

/// Every figure that the page of flows offers to explain is explained, as are those of plans and
/// needs, each with what went in.
#[test]
fn every_number_explains_itself() {
    let desk = Desk::with_examples();
    desk.get("/jobs/duluth-furnace/plans");
    for page in [
        "/flows",
        "/flows?blower=off&setting=off",
        "/plans",
        "/needs",
    ] {
        let page = desk.get(&format!("/jobs/duluth-furnace{page}")).text();
        let links = page
            .split("href=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next());
        let mut asked: Vec<String> = links
            .filter(|link| link.contains("/why"))
            .map(|link| link.replace("&amp;", "&"))
            .collect();
        asked.sort_unstable();
        asked.dedup();
        assert!(!asked.is_empty());
        for link in asked.iter().take(60) {
            let answer = desk.get(link);
            assert_eq!(answer.status, StatusCode::OK, "{link}");
            let text = answer.text();
            assert!(answer.has("<article class=\"why\">"), "{link}");
            assert!(answer.has("How it comes about"), "{link}");
            assert!(!answer.has("NaN"), "{link}: {text}");
            for address in text.split("href=\"/jobs").skip(1) {
                let address = address.split('"').next().unwrap_or_default();
                let address = format!("/jobs{}", address.replace("&amp;", "&"));
                if address.contains("/survey/") {
                    assert_eq!(
                        desk.get(&address).status,
                        StatusCode::OK,
                        "{link}: {address}"
                    );
                }
            }
        }
    }
    for nothing in [
        "flows/why/none",
        "flows/why/zone-99",
        "flows/why/end-supply-7",
        "plans/why/0/points",
        "plans/why/1/none",
    ] {
        assert_eq!(
            desk.get(&format!("/jobs/duluth-furnace/{nothing}")).status,
            StatusCode::NOT_FOUND,
            "{nothing}"
        );
    }
}
