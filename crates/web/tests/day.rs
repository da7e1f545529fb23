//! The set-up day in the browser: the day of examples/duluth-set-up-day.toml from the first reading to
//! the signed record, and what cannot be right.

mod support;

use axum::http::{StatusCode, header};
use journal::{Event, Journal};
use support::{Answer, Desk};

const JOB: &str = "/jobs/duluth-set-up";

/// Somebody on the day, with a phone.
struct Phone {
    desk: Desk,
}

impl Phone {
    fn new() -> Self {
        Self {
            desk: Desk::with_examples(),
        }
    }

    fn page(&self, below: &str) -> Answer {
        let page = self.desk.get(&format!("{JOB}{below}"));
        assert_eq!(page.status, StatusCode::OK, "{below}: {}", page.text());
        page
    }

    /// What the page knows of the journal.
    fn seen(&self) -> String {
        let text = self.page("/day").text();
        let after = text.split("name=\"seen\" value=\"").nth(1).expect("a form");
        after.split('"').next().expect("a number").to_owned()
    }

    fn journal(&self) -> Journal {
        Journal::read(&self.page("/day/duluth-set-up.journal").body)
    }

    fn begin(&self) {
        let begun = self.desk.post(
            &format!("{JOB}/day/begin"),
            &[
                ("seen", &self.seen()),
                ("who", "R. Aune"),
                ("zone", "-300"),
                ("outdoor", "51"),
                ("outdoor_unit", "°F"),
                ("indoor", "69 F"),
            ],
        );
        assert_eq!(begun.location(), format!("{JOB}/day"), "{}", begun.text());
    }

    /// Sends a reading with a photo, or without one.
    fn send(&self, at: &str, value: &str, minus: bool, seen: &str, photo: &[u8]) -> Answer {
        let form = [
            ("seen", seen),
            ("who", "R. Aune"),
            ("zone", "-300"),
            ("at", at),
            ("blower", "low"),
            ("setting", "high"),
            ("value", value),
            ("unit", "inWC"),
            ("minus", if minus { "1" } else { "" }),
        ];
        let photo = ("photo", "photo.jpg", photo);
        self.desk
            .post_file(&format!("{JOB}/day/read"), &form, photo)
    }

    fn read(&self, at: &str, value: &str, minus: bool) {
        let kept = self.send(at, value, minus, &self.seen(), b"");
        assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.text());
    }

    fn check(&self, item: &str, result: &str, note: &str, photo: &[u8]) -> Answer {
        let form = [("item", item), ("result", result), ("note", note)];
        let photo = ("photo", "photo", photo);
        self.desk
            .post_file(&format!("{JOB}/day/checks"), &form, photo)
    }

    fn turn(&self, damper: &str, mark: &str, value: &str) -> Answer {
        let form = [
            ("seen", &*self.seen()),
            ("who", "R. Aune"),
            ("damper", damper),
            ("mark", mark),
            ("blower", "low"),
            ("setting", "high"),
            ("value", value),
            ("unit", "inWC"),
        ];
        self.desk
            .post_file(&format!("{JOB}/day/turn"), &form, ("photo", "", b""))
    }

    /// From the first reading to the last damper, as the example was written down.
    fn play(&self) {
        self.begin();
        self.read("supply station", "0.372", false);
        self.read("extract station", "0.605", true);
        let exchanged = self.desk.post(
            &format!("{JOB}/day/exchange"),
            &[("seen", &self.seen()), ("who", "R. Aune"), ("entry", "3")],
        );
        assert_eq!(
            exchanged.status,
            StatusCode::SEE_OTHER,
            "{}",
            exchanged.text()
        );
        let turned = self.turn("extract", "55", "0.454");
        assert_eq!(turned.status, StatusCode::SEE_OTHER, "{}", turned.text());
        self.read("supply station", "0.369", false);
        self.read("static pressure at the supply port", "0.150", false);
    }
}

#[test]
fn the_scripted_day_is_led_to_its_end() {
    let phone = Phone::new();
    let day = || phone.page("/day");
    assert!(day().has("Both balancing dampers stand open"));
    phone.begin();
    assert!(day().has("Run it so: blower in low, ventilator at high"));
    assert!(day().has("Read supply station."));
    assert!(day().has("nothing is read yet"));
    phone.read("supply station", "0.372", false);
    assert!(
        day().has("Read extract station.")
            && day().has("Blower in low, ventilator at high, as before.")
    );
    // The hoses are exchanged: it is told, and counted with its sign turned when it is said so.
    phone.read("extract station", "0.605", true);
    assert!(
        day().has("the hoses were probably exchanged. If so it counts as 0.605 inWC (150.7 Pa)")
    );
    assert!(day().has("Read extract station."));
    let exchanged = phone.desk.post(
        &format!("{JOB}/day/exchange"),
        &[("seen", &phone.seen()), ("who", "R. Aune"), ("entry", "3")],
    );
    assert_eq!(exchanged.status, StatusCode::SEE_OTHER);
    // The aim, and the scale that leads to it.
    let turning = day();
    assert!(
        turning.has("Close the extract damper until extract station shows 0.449"),
        "{}",
        turning.text()
    );
    assert!(turning.has("data-scale") && turning.has("Struck out: hoses exchanged."));
    assert!(
        phone
            .turn("extract", "95", "0.454")
            .has("from 0 (open) to 90 (shut)")
    );
    assert_eq!(
        phone.turn("extract", "55", "0.454").status,
        StatusCode::SEE_OTHER
    );
    assert!(day().has("Read supply station.") && day().has("not proven yet as the dampers stand"));
    phone.read("supply station", "0.369", false);
    // Two stations cannot tell a crushed duct from a weak fan or a wrong chart; a port can.
    assert!(day().has("Read static pressure at the supply port."));
    phone.read("static pressure at the supply port", "0.150", false);
    let done = day();
    assert!(
        done.has("Sure by 96 %") && done.has("Go on with the checks"),
        "{}",
        done.text()
    );
    assert!(done.has("extract damper at 55°"));
    // The journal is that of the command line: nine entries, whole, by the clock of the place.
    let journal = phone.journal();
    assert!(journal.is_whole() && journal.findings().is_empty());
    assert_eq!(journal.entries().count(), 9);
    assert!(journal.entries().all(|entry| entry.who == "R. Aune"));
    let first = journal.entries().next().expect("an entry");
    assert!(first.time.ends_with("-05:00"), "{}", first.time);
    assert!(
        matches!(&first.event, Event::SetUp(visit) if visit.outdoor == "51 °F" && visit.indoor == "69 F")
    );
    let readings: Vec<String> = journal
        .entries()
        .filter_map(|entry| match &entry.event {
            Event::Reading(reading) => Some(reading.value.clone()),
            _ => None,
        })
        .collect();
    let typed = [
        "0.372 inWC",
        "-0.605 inWC",
        "0.605 inWC",
        "0.454 inWC",
        "0.369 inWC",
        "0.150 inWC",
    ];
    assert_eq!(readings, typed);
}

#[test]
fn the_day_is_signed_when_all_is_good_and_a_revisit_tells_what_drifted() {
    let phone = Phone::new();
    phone.play();
    let state = || {
        let text = phone.page("").text();
        text.split("Set-up day</a><span class=\"words\">")
            .nth(1)
            .expect("the step")
            .split('<')
            .next()
            .expect("words")
            .to_owned()
    };
    assert_eq!(state(), "5 readings; not signed off yet.");
    let sign = |although: &str| {
        let form = [
            ("seen", &*phone.seen()),
            ("signer", "R. Aune"),
            ("although", although),
        ];
        phone.desk.post(&format!("{JOB}/day/record"), &form)
    };
    let early = sign("");
    assert_eq!(early.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        early.has("The power supply is not checked."),
        "{}",
        early.text()
    );
    for item in [
        "power",
        "insulation",
        "hoods",
        "filters",
        "dampers",
        "labels",
        "sound",
        "drain",
    ] {
        let kept = phone.check(item, "good", "looked at", b"");
        assert_eq!(
            kept.location(),
            format!("{JOB}/day/checks#{item}"),
            "{}",
            kept.text()
        );
    }
    // The interlock is proven by a reading in the other mode.
    assert!(
        phone
            .page("/day/checks")
            .has("Read only with the blower in low (entry 2): read in another mode too")
    );
    let form = [
        ("seen", &*phone.seen()),
        ("at", "supply station"),
        ("blower", "heating"),
        ("setting", "high"),
        ("value", "0.384 inWC"),
    ];
    let kept = phone
        .desk
        .post_file(&format!("{JOB}/day/read"), &form, ("photo", "", b""));
    assert_eq!(kept.status, StatusCode::SEE_OTHER);
    assert!(
        phone
            .page("/day/checks")
            .has("Read with the blower in low (entry 2), in heating (entry")
    );
    // The combustion test, by who may do it.
    let test = |worst: &str, tester: &str| {
        let form = [
            ("appliance", "furnace"),
            ("tester", tester),
            ("worst_pressure", worst),
            ("result", "good"),
        ];
        phone.desk.post(&format!("{JOB}/day/combustion"), &form)
    };
    assert!(test("70 cfm", "L. Tove").has("is no pressure"));
    assert!(test("-2.1", "").has("Say who did the test"));
    assert_eq!(
        test("-2.1", "L. Tove, licence 88").status,
        StatusCode::SEE_OTHER
    );
    let sheet = phone.page("/day/combustion");
    assert!(
        sheet.has("worst pressure -2.1 Pa") && sheet.has("trained and licensed"),
        "{}",
        sheet.text()
    );
    assert!(phone.page("/day/checks").has("All are as they should be."));

    let signed = sign("");
    assert_eq!(signed.status, StatusCode::SEE_OTHER, "{}", signed.text());
    let record = phone.desk.get(signed.location());
    for words in [
        "R. Aune",
        "96 %",
        "its hash stands in the journal",
        "hoses exchanged",
        "looked at",
    ] {
        assert!(record.has(words), "{words}: {}", record.text());
    }
    let file = phone.desk.get(&format!("{}.json", signed.location()));
    assert_eq!(file.headers[header::CONTENT_TYPE], "application/json");
    assert!(signed.location().ends_with(&journal::hash(&file.body)));
    assert!(file.has("\"open_points\": []"), "{}", file.text());
    assert!(
        state().starts_with("Proven and signed off on "),
        "{}",
        state()
    );
    assert_eq!(
        phone
            .desk
            .get(&format!("{JOB}/day/record/{}", "0".repeat(64)))
            .status,
        StatusCode::NOT_FOUND
    );

    // A year later.
    assert!(
        phone
            .page("/day/revisit")
            .has("Leave the dampers as they stand")
    );
    let begun = phone.desk.post(
        &format!("{JOB}/day/revisit"),
        &[
            ("seen", &phone.seen()),
            ("who", "R. Aune"),
            ("outdoor", "46 F"),
            ("indoor", "70 F"),
        ],
    );
    assert_eq!(begun.status, StatusCode::SEE_OTHER, "{}", begun.text());
    for (at, blower, value) in [
        ("supply station", "low", "0.281"),
        ("extract station", "low", "0.457"),
        ("outdoor port", "low", "-0.212"),
        ("supply station", "heating", "0.291"),
        ("extract station", "heating", "0.459"),
        ("static pressure at the supply port", "low", "0.110"),
    ] {
        let form = [
            ("seen", &*phone.seen()),
            ("back", "/day/revisit"),
            ("at", at),
            ("blower", blower),
            ("setting", "high"),
            ("value", value),
            ("unit", "inWC"),
        ];
        let kept = phone
            .desk
            .post_file(&format!("{JOB}/day/read"), &form, ("photo", "", b""));
        assert_eq!(
            kept.location(),
            format!("{JOB}/day/revisit"),
            "{}",
            kept.text()
        );
    }
    let drifted = phone.page("/day/revisit");
    assert!(
        drifted.has("The unit moves less supply air"),
        "{}",
        drifted.text()
    );
    assert!(drifted.has("All is read again"));
    assert!(
        state().ends_with("a revisit was begun since."),
        "{}",
        state()
    );
}

#[test]
fn what_is_open_is_signed_only_with_a_reason() {
    let phone = Phone::new();
    phone.play();
    let form = [
        ("seen", &*phone.seen()),
        ("signer", "R. Aune"),
        ("although", "client moves in today"),
    ];
    let signed = phone.desk.post(&format!("{JOB}/day/record"), &form);
    assert_eq!(signed.status, StatusCode::SEE_OTHER, "{}", signed.text());
    assert!(phone.desk.get(signed.location()).has("Signed although: "));
    let overview = phone.page("");
    assert!(
        overview.has("although something is open: client moves in today."),
        "{}",
        overview.text()
    );
    // It stays what it is; what comes after it is told.
    phone.read("supply station", "0.370", false);
    assert!(phone.page("").has("gone on since: sign again"));
    assert!(
        phone
            .desk
            .get(signed.location())
            .has("its hash stands in the journal")
    );
}

#[test]
fn what_cannot_be_right_is_kept_told_and_not_used() {
    // (typed, with a minus, what is said)
    for (typed, minus, told) in [
        ("70 cfm", false, "was not understood"),
        ("a lot", false, "was not understood"),
        ("1,234", false, "was not understood"),
        ("99999", false, "lies beyond what manometer can show"),
        ("1e999", false, ""),
        ("0.4", true, "wrong sign for this place"),
        ("0.002", false, "lies outside the chart"),
        ("0.4 Pa", false, "lies outside the chart"),
    ] {
        let phone = Phone::new();
        phone.begin();
        phone.read("supply station", typed, minus);
        let day = phone.page("/day");
        assert!(day.has(told), "{typed}: {}", day.text());
        assert_eq!(phone.journal().entries().count(), 2, "{typed}");
    }
    // Nothing typed, no such place, nothing that runs: asked again, and nothing is kept.
    let phone = Phone::new();
    phone.begin();
    let seen = phone.seen();
    for (at, value) in [("supply station", " "), ("attic", "0.3")] {
        let again = phone.send(at, value, false, &seen, b"");
        assert_eq!(
            again.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{at} {value}"
        );
    }
    // Longer than anybody types, with markup in it: kept in part, and harmless.
    let long = format!("<script>alert(1)</script>{}", "9".repeat(5000));
    phone.read("supply station", &long, false);
    let day = phone.page("/day");
    assert!(!day.has("<script>alert") && day.has("&lt;script&gt;alert"));
    assert!(phone.journal().is_whole());
}

#[test]
fn a_day_begins_with_a_name_and_temperatures_that_can_be() {
    let phone = Phone::new();
    for (who, outdoor, told) in [
        ("", "51 F", "Say who reads"),
        ("R. Aune", "5100", "no temperature of a day"),
        ("R. Aune", "warm", "no temperature of a day"),
    ] {
        let form = [
            ("seen", "0"),
            ("who", who),
            ("outdoor", outdoor),
            ("outdoor_unit", "°F"),
        ];
        let again = phone.desk.post(&format!("{JOB}/day/begin"), &form);
        assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(
            again.has(told) && again.has("Begin the day"),
            "{}",
            again.text()
        );
    }
    assert!(phone.journal().lines().is_empty());
}

#[test]
fn two_phones_cannot_overwrite_each_other() {
    let phone = Phone::new();
    phone.begin();
    let seen = phone.seen();
    phone.read("supply station", "0.372", false);
    // The other phone still shows the page from before.
    let late = phone.send("supply station", "0.377", false, &seen, b"");
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert!(late.has("something else was written (entry 2: supply station reads 0.372 inWC"));
    assert!(
        late.has("value=\"0.377\""),
        "what was typed is there: {}",
        late.text()
    );
    assert_eq!(phone.journal().entries().count(), 2);
    // Checks and remarks do not stand in the way of readings.
    let seen = phone.seen();
    assert_eq!(
        phone.check("power", "good", "", b"").status,
        StatusCode::SEE_OTHER
    );
    let kept = phone.send("extract station", "0.605", false, &seen, b"");
    assert_eq!(kept.status, StatusCode::SEE_OTHER);
    let struck = |entry: &str, reason: &str| {
        let form = [
            ("seen", &*phone.seen()),
            ("entry", entry),
            ("reason", reason),
        ];
        phone.desk.post(&format!("{JOB}/day/strike"), &form).status
    };
    assert_eq!(struck("2", " "), StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(struck("77", "typed wrongly"), StatusCode::NOT_FOUND);
    assert_eq!(
        struck("1", "typed wrongly"),
        StatusCode::UNPROCESSABLE_ENTITY
    );
    assert_eq!(struck("2", "typed wrongly"), StatusCode::SEE_OTHER);
    assert!(phone.page("/day").has("Struck out: typed wrongly."));
    assert!(phone.journal().is_whole());
}

#[test]
fn a_page_of_somebody_else_writes_nothing() {
    let desk = Desk::with_examples();
    for below in [
        "begin",
        "read",
        "turn",
        "run",
        "remark",
        "strike",
        "exchange",
        "journal",
        "checks",
        "combustion",
        "record",
        "revisit",
    ] {
        let request = axum::http::Request::post(format!("{JOB}/day/{below}"))
            .header("host", "localhost")
            .header("origin", "http://evil.example")
            .header("content-type", "application/x-www-form-urlencoded")
            .body(axum::body::Body::from("seen=0&who=x&text=x"))
            .expect("a request");
        assert_eq!(desk.send(request).status, StatusCode::FORBIDDEN, "{below}");
    }
    assert!(
        desk.get(&format!("{JOB}/day/duluth-set-up.journal"))
            .body
            .is_empty()
    );
}

#[test]
fn photos_are_what_they_say_or_are_refused() {
    let phone = Phone::new();
    phone.begin();
    let seen = phone.seen();
    let jpeg = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00<script>alert(1)</script>".as_slice();
    let large = [b"\xff\xd8\xff".as_slice(), &vec![0; 12_000_000]].concat();
    for (photo, told) in [
        (b"<svg onload=\"alert(1)\"/>".as_slice(), "is no photo"),
        (b"GIF89a".as_slice(), "is no photo"),
        (&large, "larger than 12 MB"),
    ] {
        let again = phone.send("supply station", "0.372", false, &seen, photo);
        assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "{told}");
        assert!(
            again.has(told) && again.has("value=\"0.372\""),
            "{}",
            again.text()
        );
        let again = phone.check("power", "good", "the switch", photo);
        assert!(again.has(told) && again.has("value=\"the switch\""));
    }
    assert_eq!(phone.journal().entries().count(), 1);
    let kept = phone.send("supply station", "0.372", false, &seen, jpeg);
    assert_eq!(kept.status, StatusCode::SEE_OTHER, "{}", kept.text());
    let name = format!("{}.jpg", journal::hash(jpeg));
    let address = format!("{JOB}/photos/{name}");
    assert!(phone.page("/day").has(&format!("src=\"{address}\"")));
    let photo = phone.desk.get(&address);
    assert_eq!(photo.body, jpeg);
    assert_eq!(photo.headers[header::CONTENT_TYPE], "image/jpeg");
    assert_eq!(photo.headers[header::X_CONTENT_TYPE_OPTIONS], "nosniff");
    assert_eq!(
        photo.headers[header::CONTENT_SECURITY_POLICY],
        "default-src 'none'; sandbox"
    );
    // Under no other name, kind or job.
    for other in [
        format!("{JOB}/photos/{}", name.replace(".jpg", ".png")),
        format!("{JOB}/photos/{}.html", &name[..64]),
        format!("{JOB}/photos/{}.jpg", "0".repeat(64)),
        format!("/jobs/light/photos/{name}"),
    ] {
        assert_eq!(
            phone.desk.get(&other).status,
            StatusCode::NOT_FOUND,
            "{other}"
        );
    }
    // A photo with a check.
    phone.check("power", "good", "", jpeg);
    assert!(phone.page("/day/checks").has(&address));
}

#[test]
fn a_journal_goes_from_one_place_to_another() {
    let phone = Phone::new();
    phone.play();
    let file = phone.page("/day/duluth-set-up.journal").body;
    let other = Phone::new();
    let bring = |bytes: &[u8]| {
        let address = format!("{JOB}/day/journal");
        other
            .desk
            .post_file(&address, &[], ("file", "duluth-set-up.journal", bytes))
    };
    // First its beginning, then the rest of it.
    let three: Vec<u8> = file
        .split_inclusive(|&byte| byte == b'\n')
        .take(3)
        .flatten()
        .copied()
        .collect();
    assert_eq!(bring(&three).status, StatusCode::SEE_OTHER);
    assert_eq!(bring(&file).status, StatusCode::SEE_OTHER);
    assert_eq!(other.page("/day/duluth-set-up.journal").body, file);
    assert!(other.page("/day").has("Sure by 96 %"));
    // What is no journal, was changed, is known already, or parted: refused, and nothing is changed.
    let changed = String::from_utf8_lossy(&file).replace("0.372", "0.312");
    let parted = [
        three.as_slice(),
        &Journal::read(&three)
            .next(
                &journal::Stamp::new("2026-05-12T09:00:00Z", "S"),
                Event::Note {
                    text: "other".into(),
                },
            )
            .bytes,
    ]
    .concat();
    for (bytes, told) in [
        (b"".as_slice(), "not empty"),
        (b"\xff\xfe".as_slice(), "no text in UTF-8"),
        (b"format = 1\n".as_slice(), "no line of it is an entry"),
        (changed.as_bytes(), "was changed after it was written"),
        (&three, "stands here already"),
        (&file, "stands here already"),
        (&parted, "part after line 3"),
    ] {
        let refused = bring(bytes);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{told}");
        assert!(refused.has(told), "{told}: {}", refused.text());
    }
    assert_eq!(other.page("/day/duluth-set-up.journal").body, file);
}

#[test]
fn readings_that_were_written_by_hand_are_brought_in_whole_or_not_at_all() {
    const DAY: &[u8] = include_bytes!("../../../examples/duluth-set-up-day.toml");
    let phone = Phone::new();
    let bring = |seen: u64, name: &str, bytes: &[u8]| {
        let seen = seen.to_string();
        let fields = [
            ("seen", seen.as_str()),
            ("who", "S. Lind"),
            ("zone", "-300"),
        ];
        phone.desk.post_file(
            &format!("{JOB}/day/journal"),
            &fields,
            ("file", name, bytes),
        )
    };
    let text = String::from_utf8_lossy(DAY);
    let large = vec![b'#'; 4_100_000];
    // What is wrong is told with its line, and nothing is kept.
    for (bytes, told) in [
        (
            text.replace("value = \"0.454 inWC\"", "valve = \"0.454 inWC\""),
            "line 42",
        ),
        (
            text.replace("reason = \"hoses exchanged\"", ""),
            "struck out without a reason",
        ),
        (text.replace("to = \"55 deg\"", ""), "but not to where"),
        (
            text.replace("blower = \"low\"", "blower = \"slow\""),
            "unknown variant",
        ),
        ("format = 1\n".to_owned(), "no key &quot;format&quot;"),
        ("<html>".to_owned(), "line 1"),
        (String::from_utf8(large).expect("a text"), "4000000 bytes"),
    ] {
        let refused = bring(0, "day.toml", bytes.as_bytes());
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{told}");
        assert!(refused.has(told), "{told}: {}", refused.text());
        assert!(refused.has("Nothing of the file is kept"), "{told}");
        assert!(phone.journal().lines().is_empty(), "{told}");
    }
    assert_eq!(bring(0, "day.toml", DAY).status, StatusCode::SEE_OTHER);
    assert!(phone.page("/day").has("Sure by 96 %"));
    let journal = phone.journal();
    assert!(journal.is_whole() && journal.findings().is_empty());
    assert_eq!(journal.entries().count(), 9);
    // Its own times and who read, as the file says.
    assert!(journal.entries().all(|entry| entry.who == "R. Aune"));
    // The same again, and from a page that did not know of it: refused.
    for (seen, told) in [(9, "stand here already"), (0, "In the meantime")] {
        let refused = bring(seen, "day.toml", DAY);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{told}");
        assert!(refused.has(told), "{told}: {}", refused.text());
    }
    // More of the day: what it strikes out is its own second step, not that of the morning. Without
    // times it has that of now, by the clocks of the place.
    let more = "[[step]]\nat = \"supply station\"\nvalue = \"0.9 inWC\"\nblower = \"low\"\nsetting = \"high\"\n\
                [[step]]\nstrike_out = 1\nreason = \"hose off\"\n";
    assert_eq!(
        bring(9, "more.toml", more.as_bytes()).status,
        StatusCode::SEE_OTHER
    );
    let journal = phone.journal();
    let struck: Vec<u64> = journal.struck_out().into_keys().collect();
    assert_eq!(struck, [3, 10]);
    let last = journal.entries().next_back().expect("an entry");
    assert_eq!((last.number, last.who.as_str()), (11, "S. Lind"));
    assert!(last.time.ends_with("-05:00"), "{}", last.time);
}

#[test]
fn times_are_those_of_the_place_without_script() {
    let phone = Phone::new();
    let page = phone.page("/day");
    assert!(page.has("name=\"zone\" value=\"-300\""), "{}", page.text());
    // 1970-01-01 00:00 UTC, five hours behind.
    assert!(phone.desk.get("/").has("changed 1969-12-31 19:00"));
    assert!(phone.page("/history").has("1969-12-31 19:00"));
}

#[test]
fn a_job_without_stations_says_what_is_needed() {
    let desk = Desk::with_examples();
    let day = desk.get("/jobs/duluth-furnace/day");
    assert!(
        day.has("Before the day begins") && day.has("/jobs/duluth-furnace/survey/station"),
        "{}",
        day.text()
    );
    for group in ["station", "instrument", "balancing"] {
        let page = desk.get(&format!("/jobs/duluth-furnace/survey/{group}"));
        assert_eq!(page.status, StatusCode::OK, "{group}");
    }
    let written = desk.post_file(
        "/jobs/duluth-furnace/day/read",
        &[("seen", "0"), ("value", "1"), ("at", "supply station")],
        ("photo", "", b""),
    );
    assert_eq!(written.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(desk.get("/jobs/light/day").has("Choose a plan"));
}
