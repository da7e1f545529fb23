//! What a person is told about a mistake: one row per mistake, made in an example that is sound.

#[allow(dead_code)]
mod common;

use common::{CATALOGUE, DULUTH, FLAGSTAFF, LIGHT, TALLAHASSEE, reading};
use diagnostics::{Severity, Style};

/// A mistake: the text that is replaced, what replaces it, the title that is expected, and a part
/// of the help or label.
type Row = (&'static str, &'static str, &'static str, &'static str);

/// Makes the mistake in a sound file and compares what is told about it.
fn check(sound: &str, rows: &[Row], severity: Severity, in_catalogue: bool) {
    let mut wrong = String::new();
    for (right, mistake, title, help) in rows {
        let Some(at) = sound.find(right) else {
            wrong.push_str(&format!("\nthe example has no {right:?}\n"));
            continue;
        };
        let text = format!("{}{mistake}{}", &sound[..at], &sound[at + right.len()..]);
        let reading = if in_catalogue {
            reading(LIGHT.as_bytes(), text.as_bytes())
        } else {
            reading(text.as_bytes(), CATALOGUE.as_bytes())
        };
        let told = reading.problems.list().iter().any(|problem| {
            problem.severity == severity
                && problem.title.contains(title)
                && (problem.help.iter().any(|text| text.contains(help))
                    || problem.label.contains(help))
        });
        // One mistake is told once: no flood of follow-up errors.
        let once = reading.problems.count(severity) == 1;
        if !told || !once || reading.job.is_some() != (severity == Severity::Warning) {
            wrong.push_str(&format!(
                "\n{mistake:?} should be told as {title:?} / {help:?}, but:\n{}",
                reading.problems.render(Style::Plain)
            ));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn keys_and_names() {
    let rows: &[Row] = &[
        (
            "floor_area = \"2400",
            "flor_area = \"2400",
            "house.flor_area is not a known key",
            "did you mean floor_area?",
        ),
        (
            "[ducts]",
            "[duct]",
            "duct is not a known key",
            "did you mean ducts?",
        ),
        (
            "wind =",
            "windspeed = \"3 m/s\"\nwind =",
            "climate.windspeed is not a known key",
            "did you mean wind?",
        ),
        (
            "bedrooms = 4",
            "",
            "house.bedrooms is missing",
            "add bedrooms = a whole number",
        ),
        (
            "[climate]",
            "[[climate]]",
            "climate cannot be a list",
            "climate takes a table",
        ),
        (
            "[[spot]]\nname = \"workshop\"",
            "[[spot]]\nname = \"Mechanical Room\"",
            "two spots are called",
            "again here",
        ),
        (
            "[[grille]]\nname = \"kitchen\"",
            "[[grille]]\nname = \"return end\"\nuse = \"extract\"\nzone = \"basement\"\n[[grille]]\nname = \"kitchen\"",
            "a tap and a grille are both called \"return end\"",
            "a name of its own",
        ),
        (
            "joins = \"second floor\"",
            "joins = \"second flor\"",
            "there is no zone \"second flor\"",
            "did you mean \"second floor\"?",
        ),
        (
            "joins = \"second floor\"",
            "joins = \"roof\"",
            "there is no zone \"roof\"",
            "known: \"basement\"",
        ),
        (
            "\"return near\" = \"5 ft",
            "\"return neer\" = \"5 ft",
            "there is no tap, grille or terminal \"return neer\"",
            "did you mean \"return near\"?",
        ),
        (
            "unit = \"Sedge 130 H\"",
            "unit = \"Sedge 13 H\"",
            "there is no unit \"Sedge 13 H\"",
            "did you mean \"Sedge 130 H\"?",
        ),
        (
            "intake = \"north intake\"",
            "intake = \"return end\"",
            "there is no terminal \"return end\"",
            "known: \"north intake\"",
        ),
        (
            "blower = \"fixed-speed-tap\"",
            "blower = \"fixed speed tap\"",
            "air_handler.blower cannot be",
            "did you mean \"fixed-speed-tap\"?",
        ),
        (
            "format = 1",
            "format = 2",
            "this format of file is not known",
            "format = 1",
        ),
    ];
    check(DULUTH, rows, Severity::Error, false);
}

#[test]
fn quantities() {
    check(
        DULUTH,
        &[
            (
                "altitude = \"1420 ft\"",
                "altitude = \"1420\"",
                "house.altitude: \"1420\" has no unit; length is asked for",
                "",
            ),
            (
                "altitude = \"1420 ft\"",
                "altitude = 1420",
                "house.altitude: \"1420\" has no unit; length is asked for",
                "",
            ),
            (
                "altitude = \"1420 ft\"",
                "altitude = \"1420 cfm\"",
                "\"cfm\" is a unit of volume flow, but length is asked for",
                "",
            ),
            (
                "altitude = \"1420 ft\"",
                "altitude = \"1420 fet\"",
                "\"fet\" is not a known unit; did you mean ft?",
                "",
            ),
            (
                "altitude = \"1420 ft\"",
                "altitude = true",
                "house.altitude cannot be true or false",
                "length in quotes",
            ),
            (
                "filter_pressure_drop = \"0.09 inWC\"",
                "filter_pressure_drop = \"0.09 in\"",
                "\"in\" is a unit of length, but pressure is asked for",
                "",
            ),
            (
                "\"return near\" = \"5 ft, 2 elbows\"",
                "\"return near\" = \"5 ft, two elbows\"",
                "is not a duct run",
                "14 ft, 2 elbows",
            ),
            (
                "\"return near\" = \"5 ft, 2 elbows\"",
                "\"return near\" = \"5, 2 elbows\"",
                "spot.runs.return near: \"5\" has no unit",
                "",
            ),
            (
                "section = \"8 x 20 in\"",
                "section = \"8 x 20\"",
                "air_handler.return.section: \"8\" has no unit",
                "",
            ),
            (
                "facing = \"east\"",
                "facing = \"nort\"",
                "wall.facing cannot be \"nort\"",
                "did you mean \"north\"?",
            ),
            (
                "bedrooms = 4",
                "bedrooms = \"four\"",
                "house.bedrooms cannot be text",
                "a whole number",
            ),
            (
                "bedrooms = 4",
                "bedrooms = -4",
                "house.bedrooms is not a sensible count",
                "0 to 1000",
            ),
            (
                "storeys = 2",
                "storeys = \"two\"",
                "house.storeys is not a number",
                "like 0.65",
            ),
            (
                "leakage = \"6 % ± 4 %\"",
                "leakage = \"6 % ± 4 ft\"",
                "\"ft\" is a unit of length, but share is asked for",
                "",
            ),
        ],
        Severity::Error,
        false,
    );
}

#[test]
fn impossible_houses() {
    check(
        DULUTH,
        &[
            (
                "floor_area = \"2400 ft2\"",
                "floor_area = \"-2400 ft2\"",
                "house.floor_area cannot be -2400 ft2",
                "above zero",
            ),
            (
                "storeys = 2",
                "storeys = 2\nleakage_exponent = 0.45",
                "house.leakage_exponent cannot be 0.45",
                "from 0.5 to 1",
            ),
            (
                "storeys = 2",
                "storeys = 2\nleakage_exponent = \"1.1 ± 0.05\"",
                "house.leakage_exponent cannot be 1.1",
                "from 0.5 to 1",
            ),
            (
                "storeys = 2",
                "storeys = 2\ntightness = \"leaky\"",
                "blower_door and tightness contradict",
                "keep the measurement",
            ),
            (
                "storeys = 2",
                "storeys = 0",
                "house.storeys cannot be 0",
                "1 to 5 storeys",
            ),
            (
                "occupants = 5",
                "occupants = 0",
                "house.occupants cannot be 0",
                "count the people",
            ),
            (
                "winter = \"-16 F\"",
                "winter = \"-600 F\"",
                "climate.winter cannot be -600 F",
                "below absolute zero",
            ),
            (
                "winter = \"-16 F\"",
                "winter = \"96 F\"",
                "summer is colder than winter",
                "exchanged",
            ),
            (
                "leakage = \"20 %\"",
                "leakage = \"50 %\"",
                "the leakage shares sum to 130 %",
                "more than 100 %",
            ),
            (
                "supply = \"20 %\"",
                "supply = \"10 %\"",
                "the supply shares sum to 90 %",
                "must sum to 100 %",
            ),
            (
                "level = \"19 ft\"",
                "level = \"-19 ft\"",
                "level is too low for an attic",
                "above grade",
            ),
            (
                "vent_area = \"5.3 ft2\"",
                "vent_area = \"900 ft2\"",
                "vent_area is larger than its floor",
                "free area",
            ),
            (
                "level = \"2 ft\"",
                "level = \"2 ft\"\nvent_area = \"1 ft2\"",
                "vent_area is for attics",
                "share of the house's leakage",
            ),
            (
                "joins = \"second floor\"",
                "joins = \"attic\"",
                "\"attic\" is not lived in",
                "name the lived-in zone",
            ),
            (
                "between = [\"basement\", \"first floor\"]",
                "between = [\"basement\", \"basement\"]",
                "an opening from \"basement\" to itself",
                "two different",
            ),
            (
                "between = [\"basement\", \"first floor\"]",
                "between = [\"basement\"]",
                "opening.between has 1 names",
                "takes two",
            ),
            (
                "gap = \"3/4 in\"",
                "gap = \"3/4 ft\"",
                "is no undercut",
                "up to 6 in",
            ),
            (
                "gap = \"3/4 in\"",
                "",
                "its gap or width is missing",
                "give width and gap",
            ),
            (
                "gap = \"3/4 in\"",
                "area = \"24 in2\"",
                "opening.area and opening.width contradict",
                "give the area, or the sides",
            ),
            (
                "flow = \"180 cfm\"",
                "flow = \"0 cfm\"",
                "exhaust.flow cannot be 0 cfm",
                "above zero",
            ),
            (
                "flow = \"40 cfm\"",
                "",
                "existing.flow is missing",
                "give what was measured",
            ),
        ],
        Severity::Error,
        false,
    );
}

#[test]
fn impossible_air_handlers_and_taps() {
    check(
        DULUTH,
        &[
            (
                "return_pressure = \"-0.26 inWC\"",
                "return_pressure = \"0.26 inWC\"",
                "return_pressure cannot be 0.26 inWC",
                "hoses of the manometer exchanged",
            ),
            (
                "supply_pressure = \"0.19 inWC\"",
                "supply_pressure = \"-0.19 inWC\"",
                "supply_pressure cannot be -0.19 inWC",
                "hoses of the manometer exchanged",
            ),
            (
                "filter_pressure_drop = \"0.09 inWC\"",
                "filter_pressure_drop = \"0.3 inWC\"",
                "is more than the whole return side",
                "filter included",
            ),
            (
                "run_share = \"28 %\"",
                "run_share = \"98 %\"",
                "the blower runs 103 % of the year",
                "more than 100 %",
            ),
            (
                "mode = \"low\"\nflow",
                "mode = \"heating\"\nflow",
                "the mode \"heating\" is given twice",
                "again here",
            ),
            (
                "from_fan = \"22 ft\"",
                "from_fan = \"26 ft\"",
                "tap.from_fan of 26 ft lies beyond the end of the duct",
                "the trunk is 24 ft long",
            ),
            (
                "from_fan = \"22 ft\"",
                "from_fan = \"-2 ft\"",
                "tap.from_fan cannot be -2 ft",
                "zero or above",
            ),
            (
                "from_fan = \"15 ft\"",
                "from_fan = \"15 ft\"\nuse = \"extract\"",
                "extract air cannot be drawn from the supply side",
                "tap the return",
            ),
            (
                "pressure = \"-0.21 inWC\"\nmode = \"heating\"",
                "pressure = \"-0.21 inWC\"",
                "tap.mode is missing",
                "in which blower mode",
            ),
            (
                "pressure = \"-0.21 inWC\"\nmode = \"heating\"",
                "pressure = \"0.21 inWC\"\nmode = \"heating\"",
                "tap.pressure cannot be 0.21 inWC on this side",
                "below zero",
            ),
            (
                "leakage = \"5 % ± 3 %\"",
                "leakage = \"75 %\"",
                "air_handler.supply.leakage cannot be 75 %",
                "from 0 to 60 %",
            ),
        ],
        Severity::Error,
        false,
    );
    check(
        TALLAHASSEE,
        &[
            (
                "length = \"20 ft\"\nleakage",
                "length = \"30 ft\"\nleakage",
                "air_handler.return.length of 30 ft contradicts its segments",
                "20 ft long together",
            ),
            (
                "mode = \"cooling\"\n\n[[tap]]",
                "\n\n[[tap]]",
                "tap.mode is missing",
                "in which blower mode",
            ),
        ],
        Severity::Error,
        false,
    );
    check(
        FLAGSTAFF,
        &[(
            "from_fan = \"6 ft\"",
            "from_fan = \"60 ft\"",
            "existing.from_fan of 60 ft lies beyond",
            "13 ft long",
        )],
        Severity::Error,
        false,
    );
}

#[test]
fn impossible_joints_and_plans() {
    check(
        DULUTH,
        &[
            (
                "coldest = \"60 F\"",
                "coldest = \"90 F\"",
                "warmest is colder than its coldest",
                "exchanged",
            ),
            (
                "[[spot]]",
                "[[separation]]\nbetween = [\"north intake\", \"east exhaust\"]\ndistance = \"-4 ft\"\n[[spot]]",
                "separation.distance cannot be -4 ft",
                "from 0 to 656 ft",
            ),
            (
                "flow_limit = \"110 cfm\"",
                "use = \"intake\"",
                "a two-in-one hood serves as intake and as exhaust",
                "leave use out",
            ),
            (
                "stretch = \"good\"",
                "stretch = \"good\"\ncompression = \"10 %\"",
                "ducts.stretch and ducts.compression contradict",
                "keep one",
            ),
            (
                "material = \"flexible\"",
                "material = \"smooth plastic\"",
                "only flexible duct is pulled out",
                "leave out stretch",
            ),
            (
                "diameters = [\"5 in\", \"6 in\", \"7 in\"]",
                "diameters = [\"5 in\", \"60 in\"]",
                "ducts.diameters cannot be 60 in",
                "from 3 to 16 in",
            ),
            (
                "elbow = 14",
                "elbow = -14",
                "costs.elbow cannot be -14",
                "zero or above",
            ),
            (
                "extract = \"return end\"",
                "extract = \"kitchen\"",
                "plan.extract does not fit the layout \"return-to-return\"",
                "from a tap on the return",
            ),
            (
                "supply = \"return near\"",
                "supply = \"supply trunk start\"",
                "plan.supply does not fit the layout \"return-to-return\"",
                "on the supply side",
            ),
            (
                "extract = \"return end\"",
                "extract = \"return drop\"",
                "plan.extract does not fit",
                "not meant for extract air",
            ),
            (
                "setting = \"high\"\nspot",
                "setting = \"boost\"\nspot",
                "unit \"Sedge 130 H\" has no setting \"boost\"",
                "it has low, high",
            ),
            (
                "exhaust = \"east exhaust\"",
                "exhaust = \"north two-in-one\"",
                "a two-in-one hood serves as intake and as exhaust",
                "same hood for both",
            ),
        ],
        Severity::Error,
        false,
    );
}

#[test]
fn impossible_units() {
    check(
        CATALOGUE,
        &[
            (
                "net_supply = \"35 cfm\"",
                "net_supply = \"45 cfm\"",
                "the fan curve rises: more net supply flow",
                "points exchanged",
            ),
            (
                "pressure = \"50 Pa\"",
                "pressure = \"20 Pa\"",
                "the points are out of order",
                "rising pressure",
            ),
            (
                "sensible = \"66 %\"",
                "sensible = \"106 %\"",
                "unit.recovery.sensible cannot be 106 %",
                "from 0 to 100 %",
            ),
            (
                "sensible = \"66 %\"",
                "sensible = \"66 %\"\nmoisture = \"40 %\"",
                "a heat core recovers no moisture",
                "energy core",
            ),
            (
                "moisture = \"52 %\"",
                "",
                "unit.recovery.moisture is missing",
                "energy core",
            ),
            (
                "name = \"Sedge 130 H\"",
                "name = \"fescue 70 h\"",
                "two units are called",
                "again here",
            ),
            (
                "ambient = [\"50 F\", \"104 F\"]",
                "ambient = [\"104 F\", \"50 F\"]",
                "unit.ambient takes the least and the greatest",
                "rising order",
            ),
            (
                "ambient = [\"50 F\", \"104 F\"]",
                "ambient = \"104 F\"",
                "unit.ambient takes the least and the greatest",
                "rising order",
            ),
            (
                "port_diameter = \"5 in\"",
                "port_diameter = \"5 ft\"",
                "unit.port_diameter cannot be 5 ft",
                "from 3 to 16 in",
            ),
            (
                "cross_leakage = \"2 %\"",
                "cross_leakage = \"2\"",
                "unit.cross_leakage: \"2\" has no unit",
                "",
            ),
            (
                "setting = \"low\"",
                "setting = \"high\"",
                "the setting \"high\" is given twice",
                "again here",
            ),
            (
                "setting = \"low\"",
                "setting = \"slow\"",
                "unit.setting.setting cannot be \"slow\"",
                "did you mean \"low\"?",
            ),
            (
                "gross_extract = \"105 cfm\"",
                "gross_extract = \"115 cfm\"",
                "the fan curve rises: more gross extract flow",
                "points exchanged",
            ),
            (
                "gross_extract = \"112 cfm\"",
                "gross_supply = \"100 cfm\"",
                "the gross supply flow is below the net one",
                "outdoor air in it",
            ),
            (
                "format = 1",
                "format = \"1\"",
                "this format of file is not known",
                "format = 1",
            ),
        ],
        Severity::Error,
        true,
    );
}

/// The place in an example where the rules of a job may be written.
const BEFORE_SPOTS: &str = "[[spot]]";

#[test]
fn rules_and_overrides() {
    let with = |text: &str| -> &'static str {
        Box::leak(format!("[rules]\n{text}\n\n[[spot]]").into_boxed_str())
    };
    let own = |rule: &str, limit: &str, reason: &str| -> &'static str {
        with(&format!(
            "[[rules.override]]\nrule = \"{rule}\"\nlimit = \"{limit}\"\nreason = \"{reason}\""
        ))
    };
    let rows: Vec<Row> = vec![
        (
            BEFORE_SPOTS,
            with("sets = [\"IRC 2024\", \"Canada\"]"),
            "IRC 2024 and Canada are both the law of a place",
            "leave one of them out",
        ),
        (
            BEFORE_SPOTS,
            with("sets = [\"IRC 2023\"]"),
            "rules.sets cannot be \"IRC 2023\"",
            "did you mean \"IRC 202",
        ),
        (
            BEFORE_SPOTS,
            own("near the fan", "8 ft", "seen"),
            "there is no rule \"near the fan\"",
            "did you mean \"near fan\"?",
        ),
        (
            BEFORE_SPOTS,
            own("near fan", "8 cfm", "seen"),
            "rules.override.limit",
            "\"near fan\" is about a length",
        ),
        (
            BEFORE_SPOTS,
            own("near fan", "-8 ft", "seen"),
            "rules.override.limit cannot be -8 ft",
            "the length of the rule \"near fan\" is above zero",
        ),
        (
            BEFORE_SPOTS,
            own("services", "8 ft", "seen"),
            "the rule \"services\" has no number",
            "remove it",
        ),
        (
            BEFORE_SPOTS,
            own("make-up air", "300 cfm", "seen"),
            "belongs to none of the chosen sets, but to IRC 2024",
            "add the set",
        ),
        (
            BEFORE_SPOTS,
            own("near fan", "8 ft", " "),
            "rules.override.reason is empty",
            "",
        ),
        (
            BEFORE_SPOTS,
            with("[[rules.override]]\nrule = \"near fan\"\nlimit = \"8 ft\""),
            "rules.override.reason is missing",
            "",
        ),
    ];
    check(LIGHT, &rows, Severity::Error, false);
}

#[test]
fn suspicious_but_possible() {
    check(
        DULUTH,
        &[
            (
                "flow = \"880 cfm ± 8 %\"",
                "flow = \"1880 cfm\"",
                "a blower flow of 783 cfm per 1000 ft2",
                "300 to 600",
            ),
            (
                "return_pressure = \"-0.35 inWC\"",
                "return_pressure = \"-1.6 inWC\"",
                "return_pressure of -1.6 inWC is unusual",
                "1.5 inWC",
            ),
            (
                "blower_door = \"1650 cfm ± 5 %\"",
                "blower_door = \"45 ach50\"",
                "gives 45.0 air changes an hour at 50 Pa",
                "0.3 to 30",
            ),
            (
                "floor_area = \"2400 ft2\"",
                "floor_area = \"3400 ft2\"",
                "the lived-in zones have 2400 ft² together, the house 3400 ft²",
                "counted twice",
            ),
            (
                "mild = \"50 F\"",
                "mild = \"90 F\"",
                "climate.mild is not between",
                "between the design days",
            ),
            (
                "pressure = \"-0.21 inWC\"",
                "pressure = \"-0.4 inWC\"",
                "tap.pressure of -0.4 inWC is beyond that of the plenum",
                "fades",
            ),
            (
                "\"return drop\" = \"4 ft, 1 elbow\"",
                "",
                "no spot has a run to \"return drop\"",
                "add it to [spot.runs]",
            ),
        ],
        Severity::Warning,
        false,
    );
}

/// Every mistake of a file is told in one pass, each with its line.
#[test]
fn several_at_a_time() {
    let text = LIGHT
        .replace("altitude = \"40 m\" ", "altitude = \"40\"")
        .replace("bedrooms = 3", "bedroms = 3")
        .replace("kind = \"two-in-one\"", "kind = \"two in one\"")
        .replace("\"return near\" = ", "\"return nar\" = ");
    let reading = reading(text.as_bytes(), CATALOGUE.as_bytes());
    let told: Vec<(String, usize)> = reading
        .problems
        .list()
        .iter()
        .map(|problem| {
            let place = reading.problems.sources()[problem.source].place(problem.span.start);
            (problem.title.clone(), place.line)
        })
        .collect();
    let line = |part: &str| {
        text.lines()
            .position(|line| line.contains(part))
            .expect("the example has this line")
            + 1
    };
    let expected = [
        ("house.altitude: \"40\" has no unit", line("altitude")),
        ("house.bedroms is not a known key", line("bedroms")),
        ("terminal.kind cannot be \"two in one\"", line("two in one")),
        (
            "there is no tap, grille or terminal \"return nar\"",
            line("return nar"),
        ),
    ];
    assert_eq!(told.len(), expected.len(), "{told:#?}");
    for ((title, line), (part, at)) in told.iter().zip(expected) {
        assert!(
            title.contains(part) && *line == at,
            "{title} in line {line}, not {part} in {at}"
        );
    }
}

#[test]
fn mistakes_of_toml_itself() {
    for (text, title) in [
        (
            "format = 1\nname = \"a\nb = 2\n",
            "this is not TOML: invalid basic string",
        ),
        (
            "format = 1\nformat = 1\n",
            "this is not TOML: duplicate key",
        ),
        ("[house\n", "this is not TOML"),
        ("= 3\n[a]\n==\n", "this is not TOML"),
    ] {
        let reading = reading(text.as_bytes(), b"");
        let first = reading.problems.list()[0].title.clone();
        assert!(first.starts_with(title), "{text:?}: {first}");
        assert!(reading.job.is_none());
    }
}

#[test]
fn a_whole_file_of_mistakes_is_told_in_order() {
    let text = DULUTH
        .replace(
            "catalogue = \"catalogue.toml\"",
            "catalogue = \"units.toml\"",
        )
        .replace("ventilation = \"exhaust-only\"", "ventilation = \"none\"");
    let told = reading(text.as_bytes(), b"").problems.render(Style::Plain);
    for part in [
        "the catalogue \"units.toml\" cannot be read",
        "there is no such file",
        "existing.zone does not belong to this kind of ventilation",
        "existing.flow does not belong to this kind of ventilation",
        "there is no unit \"Sedge 130 H\"",
        "the job has no unit",
    ] {
        assert!(told.contains(part), "{part} is not in\n{told}");
    }
}

#[test]
fn walls() {
    check(
        DULUTH,
        &[
            (
                "wall = \"east wall\"",
                "wall = \"est wall\"",
                "terminal.wall: there is no wall \"est wall\"",
                "did you mean \"east wall\"?",
            ),
            (
                "along = \"9 ft\"\nheight",
                "along = \"33 ft\"\nheight",
                "the terminal north intake lies beyond the right edge of the wall \"north wall\"",
                "the wall is 32 ft wide, and it ends 33 ft 4 in from the left corner",
            ),
            (
                "along = \"9 ft\"\nheight",
                "along = \"9 ft\"\nfacing = \"east\"\nheight",
                "the facing of the terminal is not that of the wall \"north wall\"",
                "leave it out",
            ),
            (
                "along = \"9 ft\"\nheight",
                "height",
                "terminal.along is missing",
                "from the left corner",
            ),
            (
                "wall = \"north wall\"\nalong = \"9 ft\"",
                "along = \"9 ft\"\nfacing = \"north\"",
                "terminal.along is given without a wall",
                "wall = \"north wall\"",
            ),
            (
                "wall = \"north wall\"\nalong = \"9 ft\"",
                "",
                "terminal.facing is missing",
                "facing = \"north\"",
            ),
            (
                "along = \"9 ft\"\nheight = \"5 ft\"",
                "along = \"9 ft\"\nheight = \"2 in\"",
                "puts the hood into the ground",
                "4 in above it",
            ),
            (
                "kind = \"kitchen exhaust\"",
                "kind = \"kitchen exaust\"",
                "wall.object.kind cannot be \"kitchen exaust\"",
                "did you mean \"kitchen exhaust\"?",
            ),
            (
                "kind = \"kitchen exhaust\"",
                "kind = \"corner\"",
                "wall.object.kind cannot be \"corner\"",
                "wall.object.kind takes \"window\"",
            ),
            (
                "along = \"18 ft\", bottom = \"5 ft 6 in\"",
                "along = \"30 ft\", bottom = \"5 ft 6 in\"",
                "the kitchen window lies beyond the right edge of the wall",
                "it ends 33 ft from the left corner",
            ),
            (
                "along = \"18 ft\", bottom = \"5 ft 6 in\"",
                "along = \"-2 ft\", bottom = \"5 ft 6 in\"",
                "the kitchen window lies beyond the left edge of the wall",
                "2 ft left of it",
            ),
            (
                "along = \"18 ft\", bottom = \"5 ft 6 in\"",
                "along = \"18 ft\", bottom = \"16 ft 6 in\"",
                "the kitchen window lies above the upper edge of the wall",
                "it ends at 20 ft, the wall there at 19 ft",
            ),
            (
                "along = \"18 ft\", bottom = \"5 ft 6 in\", width = \"3 ft\"",
                "along = \"18 ft\", bottom = \"5 ft 6 in\"",
                "wall.object.width is missing",
                "measure the width of the window",
            ),
            (
                "along = \"22 ft 6 in\", bottom = \"8 ft 6 in\"",
                "along = \"22 ft 6 in\"",
                "wall.object.bottom is missing",
                "measure the lower edge of the kitchen exhaust",
            ),
            (
                "width = \"32 ft\"\nheight = \"19 ft\"                        # to",
                "width = \"32 ft\" # to",
                "wall.height is missing",
                "give width and height, or the outline",
            ),
            (
                "outline = [\"0 ft, -3 ft\", \"25 ft, -3 ft\"",
                "width = \"25 ft\"\noutline = [\"0 ft, -3 ft\", \"25 ft, -3 ft\"",
                "wall.width and wall.outline are both given",
                "keep one",
            ),
            (
                "outline = [\"0 ft, -3 ft\", \"25 ft, -3 ft\"",
                "outline = [\"25 ft, -3 ft\", \"0 ft, -3 ft\"",
                "wall.outline crosses itself",
                "in order",
            ),
            (
                "grade = [\"0 ft, 0 ft\", \"25 ft, -3 ft\"]",
                "grade = [\"25 ft, 0 ft\", \"0 ft, -3 ft\"]",
                "wall.grade runs backward",
                "from left to right",
            ),
            (
                "grade = [\"0 ft, 0 ft\", \"25 ft, -3 ft\"]",
                "grade = [\"0 ft, 0 ft\", \"27 ft, -3 ft\"]",
                "wall.grade has a point beyond the wall",
                "25 ft wide",
            ),
            (
                "grade = [\"0 ft, 0 ft\", \"25 ft, -3 ft\"]",
                "grade = [\"0 ft\", \"25 ft, -3 ft\"]",
                "a point of several needs its place",
                "24 ft, -3 ft",
            ),
            (
                "grade = \"-3 ft\"",
                "grade = \"30 ft\"",
                "wall.grade lies above the wall",
                "19 ft",
            ),
            (
                "grade = \"-3 ft\"",
                "grade = \"-3 ft\"\ncorner = \"-32 ft, -26 ft\"",
                "there is a hole of 12 in in the chain of walls before \"south wall\"",
                "leave corner out",
            ),
            (
                "facing = \"south\"\nwidth = \"20 ft\"",
                "facing = \"south\"\nwidth = \"24 ft\"",
                "the walls leave a hole of 4 ft between \"east wall\" and \"north wall\"",
                "check widths",
            ),
            (
                "facing = \"west\"",
                "facing = \"12 ft\"",
                "\"ft\" is a unit of length, but angle is asked for",
                "",
            ),
            (
                "outline = [\"0 ft, -3 ft\"",
                "outline = [\"0 ft\"",
                "\"0 ft\" is not a point",
                "12 ft, 8 ft 6 in",
            ),
            (
                "snow = \"24 in\"",
                "snow = \"24 ft\"",
                "climate.snow cannot be 24 ft",
                "from 0 to 16 ft",
            ),
        ],
        Severity::Error,
        false,
    );
    check(
        DULUTH,
        &[
            (
                "along = \"18 ft\", bottom = \"5 ft 6 in\"",
                "along = \"22 ft\", bottom = \"5 ft 6 in\"",
                "the kitchen exhaust lies over the kitchen window",
                "check along, bottom",
            ),
            (
                "[[spot]]",
                "[[separation]]\nbetween = [\"north intake\", \"east exhaust\"]\ndistance = \"14 ft\"\n[[spot]]",
                "the separation of \"north intake\" and \"east exhaust\" is not used",
                "computed: remove it",
            ),
        ],
        Severity::Warning,
        false,
    );
}

/// Stations and instruments of a set-up day, to stand before the tables of a job.
const STATIONS: &str = r#"
[[station]]
name = "supply station"
meets = "supply"
device = "chart"
chart = ["0.10 inWC, 46 cfm", "0.20 inWC, 64 cfm", "0.30 inWC, 78 cfm"]

[[station]]
name = "extract station"
meets = "extract"
device = "power law"
passes = "9.1 cfm at 1 Pa"

[[station]]
name = "plate"
meets = "east exhaust"
device = "orifice"
duct = "6 in"
opening = "4 in"
straight = 8

[[station]]
name = "hood"
meets = "blower"
device = "passive hood"

[[instrument]]
name = "my manometer"
zero = "0.4 Pa"
range = ["-500 Pa", "500 Pa"]
calibrated = "2026-03-01"

[balancing]
tolerance = "8 %"
settings = ["high", "low"]
modes = ["heating", "off"]
"#;

fn with_stations() -> String {
    format!("{DULUTH}{STATIONS}")
}

#[test]
fn stations_instruments_and_balancing() {
    check(
        &with_stations(),
        &[
            (
                "meets = \"supply\"",
                "meets = \"suply\"",
                "station.meets: there is no air, tap, grille or terminal \"suply\"",
                "did you mean \"supply\"?",
            ),
            (
                "device = \"chart\"",
                "device = \"graph\"",
                "station.device cannot be \"graph\"",
                "station.device takes \"chart\"",
            ),
            (
                "chart = [\"0.10 inWC, 46 cfm\", \"0.20 inWC, 64 cfm\", \"0.30 inWC, 78 cfm\"]",
                "",
                "station.chart is missing",
                "copy the unit's chart",
            ),
            (
                "\"0.20 inWC, 64 cfm\"",
                "\"0.20 inWC 64 cfm\"",
                "station.chart cannot be 0.20 inWC 64 cfm",
                "with a comma between",
            ),
            (
                "\"0.20 inWC, 64 cfm\"",
                "\"0.20 inWC, 44 cfm\"",
                "station.chart does not rise here",
                "flow rises with pressure",
            ),
            (
                "\"0.10 inWC, 46 cfm\"",
                "\"0 inWC, 0 cfm\"",
                "a point that is not above zero",
                "leave out",
            ),
            (
                "\"0.10 inWC, 46 cfm\"",
                "\"0.10 inWC, 46 Pa\"",
                "is a unit of pressure, but volume flow is asked for",
                "",
            ),
            (
                "passes = \"9.1 cfm at 1 Pa\"",
                "passes = \"9.1 cfm\"",
                "station.passes cannot be 9.1 cfm",
                "12.4 cfm at 1 Pa",
            ),
            (
                "passes = \"9.1 cfm at 1 Pa\"",
                "passes = \"9.1 cfm at 1 Pa\"\nexponent = 0.2",
                "station.exponent cannot be 0.2",
                "from 0.4 to 1",
            ),
            (
                "passes = \"9.1 cfm at 1 Pa\"",
                "passes = \"9.1 cfm at 1 Pa\"\nfactor = 0.8",
                "station.factor belongs to an averaging probe",
                "correct station.device",
            ),
            (
                "opening = \"4 in\"",
                "opening = \"5.5 in\"",
                "station.opening is 92 % of the duct's diameter",
                "10 to 75 %",
            ),
            (
                "duct = \"6 in\"\nopening",
                "duct = \"6 x 8 in\"\nopening",
                "an orifice plate is for a round duct",
                "Pitot traverse",
            ),
            (
                "name = \"hood\"",
                "name = \"Plate\"",
                "two stations are called \"Plate\"",
                "a name of its own",
            ),
            (
                "device = \"passive hood\"",
                "device = \"passive hood\"\nreads_in = \"Pa\"",
                "station.reads_in cannot be Pa for this device",
                "shows a flow",
            ),
            (
                "device = \"passive hood\"",
                "device = \"passive hood\"\nuncertainty = \"80 %\"",
                "station.uncertainty cannot be 80 %",
                "from 0.1 to 60 %",
            ),
            (
                "zero = \"0.4 Pa\"",
                "zero = \"1 cfm\"",
                "instrument.zero is a flow",
                "a manometer shows a pressure",
            ),
            (
                "range = [\"-500 Pa\", \"500 Pa\"]",
                "range = [\"500 Pa\", \"-500 Pa\"]",
                "instrument.range is empty",
                "least reading first",
            ),
            (
                "calibrated = \"2026-03-01\"",
                "calibrated = \"1 March 2026\"",
                "instrument.calibrated cannot be 1 March 2026",
                "like 2026-03-01",
            ),
            (
                "tolerance = \"8 %\"",
                "tolerance = \"80 %\"",
                "balancing.tolerance cannot be 80 %",
                "from 1 to 50 %",
            ),
            (
                "settings = [\"high\", \"low\"]",
                "settings = [\"turbo\"]",
                "balancing.settings cannot be \"turbo\"",
                "boost",
            ),
            (
                "modes = [\"heating\", \"off\"]",
                "modes = [\"heat\"]",
                "balancing.modes cannot be \"heat\"",
                "heating",
            ),
        ],
        Severity::Error,
        false,
    );
}

/// What a sound file of stations becomes, and what is assumed out loud.
#[test]
fn stations_become_si_numbers_and_their_defaults_are_told() {
    use house::model::{InstrumentKind, Meets, Mode, Setting, StationDevice};

    const CFM: f64 = 0.3048 * 0.3048 * 0.3048 / 60.0;
    let source = diagnostics::Source::new("job.toml", with_stations());
    let reading = house::file::read(&source, &mut |_| Ok(CATALOGUE.as_bytes().to_vec()));
    let job = reading.job.expect("a sound job");
    let [supply, extract, plate, hood] = job.stations.as_slice() else {
        panic!("{:?}", job.stations);
    };
    let StationDevice::Chart(points) = &supply.device else {
        panic!("{supply:?}");
    };
    assert!(
        (points[1].0 - 0.2 * 249.08891).abs() < 1e-6 && (points[1].1 - 64.0 * CFM).abs() < 1e-9
    );
    assert_eq!((supply.meets, supply.reads_in), (Meets::Supply, "inWC"));
    // ± 10 % in 95 of 100 cases is 5 % standard deviation.
    assert!((supply.calibration - 0.05).abs() < 1e-12);
    let StationDevice::PowerLaw {
        coefficient,
        exponent,
    } = extract.device
    else {
        panic!("{extract:?}");
    };
    assert!((coefficient - 9.1 * CFM).abs() < 1e-9 && (exponent - 0.5).abs() < 1e-12);
    assert!((plate.calibration - 0.03).abs() < 1e-12);
    assert!(matches!(
        plate.meets,
        Meets::Duct(house::model::End::Terminal(_))
    ));
    assert_eq!((hood.meets, hood.reads_in), (Meets::Blower, "cfm"));
    let [own, needed] = job.instruments.as_slice() else {
        panic!("{:?}", job.instruments);
    };
    assert_eq!(
        (own.kind, own.range),
        (InstrumentKind::Manometer, [-500.0, 500.0])
    );
    assert!((own.zero - 0.2).abs() < 1e-12 && (own.accuracy - 0.01).abs() < 1e-12);
    assert_eq!(own.calibrated.as_deref(), Some("2026-03-01"));
    assert_eq!(needed.kind, InstrumentKind::PassiveHood);
    assert!((job.balancing.tolerance - 0.08).abs() < 1e-12);
    assert!((job.balancing.certainty - 0.95).abs() < 1e-12);
    assert_eq!(job.balancing.settings, [Setting::High, Setting::Low]);
    assert_eq!(job.balancing.modes, [Mode::Heating, Mode::Off]);
    let assumed: Vec<&str> = reading
        .assumed
        .iter()
        .map(|one| one.field.as_str())
        .collect();
    for field in [
        "station \"supply station\" uncertainty",
        "station \"plate\" uncertainty",
        "station \"hood\" held_back",
        "station.exponent",
        "station.humidity",
        "instrument \"my manometer\" accuracy",
        "instrument for \"hood\"",
        "balancing.certainty",
    ] {
        assert!(assumed.contains(&field), "{field}: {assumed:?}");
    }
    // Who does not balance is not troubled with it.
    let source = diagnostics::Source::new("job.toml", DULUTH);
    let reading = house::file::read(&source, &mut |_| Ok(CATALOGUE.as_bytes().to_vec()));
    let told = reading.assumed.iter().any(|one| {
        ["station", "instrument", "balancing"]
            .iter()
            .any(|word| one.field.starts_with(word))
    });
    assert!(!told);
}
