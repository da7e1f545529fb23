//! Whatever house is handed in, its section is sound XML, stays on its sheet, and no text of it lies
//! on another one.

use drawing::Drawing;
use drawing::section::{
    Duct, End, EndKind, Figure, Format, Handler, Place, Section, Sign, SignKind, Trunk, Unit, Zone,
};
use proptest::prelude::*;

fn figure(first: &str, spread: &str, second: &str) -> Figure {
    Figure {
        first: first.into(),
        spread: spread.into(),
        second: second.into(),
    }
}

fn zone(name: &str, place: Place, level: f64, height: f64, served: [bool; 2]) -> Zone {
    Zone {
        name: name.into(),
        place,
        level,
        height,
        area: 80.0,
        pressure: Some(figure("−1.2 Pa", "", "")),
        served,
    }
}

fn duct(ends: Vec<End>, velocity: f64) -> Duct {
    Duct {
        flow: figure("113 cfm", "± 4", "53.5 L/s"),
        velocity,
        size: 0.15,
        flexible: true,
        damper: Some(35.0),
        port: figure("−0.135 inWC", "", "−33.7 Pa"),
        ends,
        wrong: if velocity < 0.0 {
            "Runs backward.".into()
        } else {
            String::new()
        },
    }
}

fn end(name: &str, kind: EndKind) -> End {
    End {
        name: name.into(),
        detail: "12 ft from blower".into(),
        flow: matches!(kind, EndKind::Grille { .. }).then(|| figure("56 cfm", "", "26.4 L/s")),
        kind,
    }
}

fn tap(on_supply: bool, from_fan: f64) -> EndKind {
    EndKind::Tap {
        on_supply,
        from_fan,
        facing_downstream: on_supply,
    }
}

/// Two storeys over a basement with its furnace, an attic, a garage; extract from the return, supply
/// into the return.
fn section() -> Section {
    let hood = |height| EndKind::Terminal { height };
    let trunk = Trunk {
        size: 0.2,
        velocities: [3.0, 2.6, 2.9],
    };
    Section {
        id: "test".into(),
        job: "A house".into(),
        case: "blower in heating, ventilator at high".into(),
        zones: vec![
            zone("first floor", Place::Storey, 0.6, 2.5, [true, true]),
            zone("basement", Place::Below, -2.0, 2.3, [true, true]),
            zone("second floor", Place::Storey, 3.4, 2.5, [true, true]),
            zone("attic", Place::Attic, 6.0, 1.5, [false, false]),
            zone("garage", Place::Garage, 0.0, 2.5, [false, false]),
        ],
        handler: Some(Handler {
            zone: 1,
            words: "blower in heating".into(),
            flow: Some(figure("980 cfm", "", "462 L/s")),
            runs: true,
            plenums: [
                figure("−0.200 inWC", "", "−49.8 Pa"),
                figure("+0.210 inWC", "", "+52.3 Pa"),
            ],
            trunks: [trunk, trunk],
        }),
        unit: Unit {
            zone: 1,
            name: "Unit 130".into(),
            words: "at high".into(),
            spot: "mechanical room".into(),
            fans_after_core: true,
        },
        ducts: [
            duct(vec![end("north intake", hood(1.5))], 3.0),
            duct(vec![end("return near", tap(false, 3.0))], 3.0),
            duct(vec![end("return end", tap(false, 6.0))], 3.0),
            duct(vec![end("east exhaust", hood(1.5))], 3.0),
        ],
        one_hood: false,
        two_walls: true,
        short_circuit: String::new(),
        signs: [
            (SignKind::Fan, "bath fan", 2),
            (SignKind::LeaksIn, "leaks in", 1),
            (SignKind::LeaksOut, "leaks out", 0),
            (SignKind::Appliance, "water heater", 1),
        ]
        .into_iter()
        .enumerate()
        .map(|(place, (kind, name, zone))| Sign {
            key: format!("sign-{place}"),
            zone,
            kind,
            name: name.into(),
            flow: Some(figure("12 cfm", "", "5.7 L/s")),
        })
        .collect(),
        notes: vec!["A sentence of some length that has to be broken into lines.".into()],
    }
}

/// Width and height of the view box.
fn sheet(drawing: &Drawing) -> [f64; 2] {
    let tree = roxmltree::Document::parse(&drawing.svg).expect("sound XML");
    let numbers: Vec<f64> = tree
        .root_element()
        .attribute("viewBox")
        .expect("a view box")
        .split(' ')
        .map(|number| number.parse().expect("a number"))
        .collect();
    [numbers[2], numbers[3]]
}

fn sound(drawing: &Drawing) -> Result<(), TestCaseError> {
    let tree = roxmltree::Document::parse(&drawing.svg);
    prop_assert!(tree.is_ok(), "{tree:?}");
    prop_assert!(!drawing.svg.contains("NaN") && !drawing.svg.contains("inf\""));
    let [wide, high] = sheet(drawing);
    for (index, one) in drawing.labels.iter().enumerate() {
        prop_assert!(
            one.left >= 0.0 && one.right <= wide + 0.1,
            "{one:?} on {wide}"
        );
        prop_assert!(one.upper >= 0.0 && one.lower <= high, "{one:?} on {high}");
        for other in &drawing.labels[..index] {
            prop_assert!(!one.overlaps(other), "{one:?} {other:?}");
        }
    }
    for [from, to] in &drawing.leaders {
        for [x, y] in [from, to] {
            prop_assert!(
                (0.0..=wide).contains(x) && (0.0..=high).contains(y),
                "{x} {y} on {wide} {high}"
            );
        }
    }
    Ok(())
}

#[test]
fn a_house_is_named_and_numbered() {
    for format in [Format::Wide, Format::Narrow] {
        let drawing = section().draw(format);
        sound(&drawing).expect("a sound drawing");
        for word in [
            "outdoor air",
            "supply air",
            "extract air",
            "exhaust air",
            "113 cfm",
            "± 4",
            "35°",
            "first floor",
            "blower in heating",
            "prefers-color-scheme:dark",
            "role=\"img\"",
            "<title id=\"test-title\">A house: blower in heating",
            // Each air has a pattern beside its colour.
            ".air.outdoor{stroke-dasharray:13 6}",
            ".air.extract{stroke-dasharray:.1 5",
            ".air.exhaust{stroke-dasharray:9 4 1.6 4}",
        ] {
            assert!(drawing.svg.contains(word), "{word}");
        }
        // A phone has room for the first unit, and the pressures in ducts are one tap away.
        for word in ["53.5 L/s", "−0.135 inWC", "−33.7 Pa", "12 ft from blower"] {
            assert_eq!(drawing.svg.contains(word), format == Format::Wide, "{word}");
        }
    }
}

#[test]
fn the_same_house_gives_the_same_drawing() {
    assert_eq!(section().draw(Format::Wide), section().draw(Format::Wide));
}

/// The head of an arrow lies at the other end when the air turns.
#[test]
fn air_that_runs_backward_is_drawn_backward() {
    let tip = |velocity: f64| -> [f64; 2] {
        let mut it = section();
        it.ducts[0].velocity = velocity;
        let svg = it.draw(Format::Wide).svg;
        // The arrow outside the hood is the last head of the outdoor air.
        let place = svg.rfind("class=\"head outdoor\"").expect("an arrow");
        let data = &svg[..place];
        let start = data.rfind("d=\"M").expect("a path") + 4;
        let mut numbers = data[start..]
            .split(['L', ' '])
            .map(|number| number.trim_end_matches(['Z', '"']).parse::<f64>());
        let mut next = || numbers.next().expect("a number").expect("a number");
        [next(), next()]
    };
    // Inward the head points to the wall at the right.
    assert!(tip(3.0)[0] > tip(-3.0)[0] + 20.0);
}

#[test]
fn a_faster_air_has_a_longer_arrow() {
    let long = |velocity: f64| -> f64 {
        let mut it = section();
        it.ducts[3].velocity = velocity;
        let svg = it.draw(Format::Wide).svg;
        let place = svg.rfind("class=\"shaft exhaust\"").expect("an arrow");
        let start = svg[..place].rfind("d=\"M").expect("a path") + 4;
        let numbers: Vec<f64> = svg[start..place]
            .split(|character: char| {
                !character.is_ascii_digit() && character != '.' && character != '-'
            })
            .filter_map(|number| number.parse().ok())
            .collect();
        (numbers[2] - numbers[0]).hypot(numbers[3] - numbers[1])
    };
    assert!(long(4.0) > 1.4 * long(1.5));
}

#[test]
fn names_cannot_break_out() {
    let mut it = section();
    it.job = "<script>alert(\"1\")</script> & co".into();
    it.zones[0].name = "</text><script/>".into();
    it.unit.name =
        "an <unreasonably> long name of a ventilator that never ends & never fits".into();
    for format in [Format::Wide, Format::Narrow] {
        let drawing = it.draw(format);
        sound(&drawing).expect("a sound drawing");
        let tree = roxmltree::Document::parse(&drawing.svg).expect("sound XML");
        assert!(
            tree.descendants()
                .all(|node| node.tag_name().name() != "script")
        );
    }
}

/// Air on a wrong way has a pattern and a mark of its own, which ink alone shows.
#[test]
fn wrong_ways_are_unmistakable() {
    for format in [Format::Wide, Format::Narrow] {
        let mut it = section();
        let svg = it.draw(format).svg;
        assert!(!svg.contains("class=\"loop\"") && !svg.contains("class=\"backward\""));
        it.short_circuit = "Nearly all the supply air is drawn straight back out.".into();
        let svg = it.draw(format).svg;
        for part in [
            "class=\"loop\"",
            "class=\"onloop\"",
            "class=\"mark\"",
            ">Nearly all",
        ] {
            assert!(svg.contains(part), "{part}");
        }
        it.ducts[1] = duct(it.ducts[1].ends.clone(), -2.0);
        let svg = it.draw(format).svg;
        assert!(svg.contains("class=\"backward\"") && svg.contains("Runs"));
    }
}

/// In a page both formats stand beside each other, without a style of their own; every figure leads
/// to its explanation.
#[test]
fn a_drawing_in_a_page() {
    let it = section();
    let why = |key: &str| format!("/why/{key}?a=1&b=2");
    let [wide, narrow] =
        [Format::Wide, Format::Narrow].map(|format| it.draw_in_page(format, &why).svg);
    let names = |svg: &str| -> Vec<String> {
        let tree = roxmltree::Document::parse(svg).expect("sound XML");
        let ids = tree.descendants().filter_map(|node| node.attribute("id"));
        let mut ids: Vec<String> = ids.map(str::to_owned).collect();
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), count, "an id twice");
        ids
    };
    let (one, other) = (names(&wide), names(&narrow));
    assert!(one.iter().all(|id| !other.contains(id)));
    for svg in [&wide, &narrow] {
        assert!(!svg.contains("<style") && !svg.contains("style=") && !svg.contains("http"));
        assert!(svg.contains("role=\"group\"") && svg.contains("data-damper=\"supply\""));
        assert!(svg.contains("href=\"/why/flow-supply?a=1&amp;b=2\""));
    }
    // Names stay from one case to the next, so that what stays can be moved.
    let mut later = section();
    later.ducts[0].velocity = 1.0;
    later.ducts[1].damper = Some(80.0);
    assert_eq!(names(&later.draw_in_page(Format::Wide, &why).svg), one);
}

/// Intake and exhaust on different walls are on different sides of the drawing; a phone needs no more
/// width for them.
#[test]
fn an_opening_is_on_its_side() {
    let mut it = section();
    it.zones.pop();
    let x = |it: &Section, format: Format, word: &str| -> f64 {
        let drawing = it.draw(format);
        let place = drawing
            .svg
            .find(&format!("label-flow-{word}\""))
            .expect("a label");
        let rest = &drawing.svg[place..];
        let start = rest.find("translate(").expect("a place") + 10;
        let number = rest[start..].split(' ').next().expect("a number");
        number.parse().expect("a number")
    };
    for (format, apart) in [(Format::Wide, 500.0), (Format::Narrow, 250.0)] {
        it.two_walls = true;
        assert!(x(&it, format, "exhaust") > x(&it, format, "outdoor") + apart);
        it.two_walls = false;
        assert!((x(&it, format, "exhaust") - x(&it, format, "outdoor")).abs() < 20.0);
    }
    it.two_walls = true;
    let size = |it: &Section| -> String {
        let svg = it.draw(Format::Narrow).svg;
        let from = svg.find("viewBox=").expect("a size");
        svg[from..].chars().take(28).collect()
    };
    let known = size(&it);
    assert!(known.starts_with("viewBox=\"0 0 390 "), "{known}");
    // While the spread is not known yet, everything stands where it will.
    for duct in &mut it.ducts {
        duct.flow.spread.clear();
    }
    assert_eq!(size(&it), known);
}

const PLACES: [Place; 4] = [Place::Storey, Place::Below, Place::Attic, Place::Garage];

fn any_end(zones: usize) -> impl Strategy<Value = EndKind> {
    prop_oneof![
        (0..zones).prop_map(|zone| EndKind::Grille { zone }),
        (any::<bool>(), 0.5..12.0f64, any::<bool>()).prop_map(
            |(on_supply, from_fan, facing_downstream)| {
                EndKind::Tap {
                    on_supply,
                    from_fan,
                    facing_downstream,
                }
            }
        ),
    ]
}

prop_compose! {
    fn any_zones()(zones in prop::collection::vec(
        (0..4usize, -4.0..9.0f64, 0.3..4.0f64, 1.0..300.0f64, any::<[bool; 2]>(), "[a-z]{2,9}( [a-z]{3,9})?"),
        1..7,
    )) -> Vec<Zone> {
        zones
            .into_iter()
            .map(|(place, level, height, area, served, name)| Zone {
                area,
                ..zone(&name, PLACES[place], level, height, served)
            })
            .collect()
    }
}

prop_compose! {
    fn any_section()(zones in any_zones())(
        ends in (
            prop::collection::vec(any_end(zones.len()), 1..4),
            prop::collection::vec(any_end(zones.len()), 1..4),
        ),
        places in (0..zones.len(), prop::option::of(0..zones.len())),
        zones in Just(zones),
        heights in (0.0..7.0f64, 0.0..7.0f64),
        velocities in (-6.0..9.0f64, -6.0..9.0f64),
        sizes in (0.08..0.35f64, 0.1..0.7f64, 0.1..0.7f64),
        flags in any::<[bool; 4]>(),
        damper in 0.0..90.0f64,
    ) -> Section {
        let base = section();
        let list = |kinds: Vec<EndKind>, word: &str| -> Vec<End> {
            kinds.into_iter().enumerate().map(|(index, kind)| end(&format!("{word} {index}"), kind)).collect()
        };
        let (supply, extract) = (list(ends.0, "supply"), list(ends.1, "extract"));
        let sized = |duct: Duct| Duct { size: sizes.0, damper: Some(damper), flexible: flags[0], ..duct };
        let mut handler = base.handler.clone().expect("it has one");
        handler.runs = flags[3];
        handler.trunks[0].size = sizes.1;
        handler.trunks[1].size = sizes.2;
        Section {
            handler: places.1.map(|zone| Handler { zone, ..handler }),
            unit: Unit { zone: places.0, ..base.unit.clone() },
            ducts: [
                sized(duct(vec![end("intake", EndKind::Terminal { height: heights.0 })], velocities.0)),
                sized(duct(supply, velocities.0)),
                sized(duct(extract, velocities.1)),
                sized(duct(vec![end("exhaust", EndKind::Terminal { height: heights.1 })], velocities.1)),
            ],
            one_hood: flags[1],
            two_walls: !flags[1],
            short_circuit: if flags[2] { "Nearly all the supply air is drawn straight back out.".into() } else { String::new() },
            signs: base.signs.iter().map(|sign| Sign { zone: sign.zone.min(zones.len() - 1), ..sign.clone() }).collect(),
            zones,
            ..base
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 120,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn texts_have_room_in_any_house(it in any_section()) {
        for format in [Format::Wide, Format::Narrow] {
            sound(&it.draw(format))?;
        }
    }

    /// Numbers that are none do not reach the sheet.
    #[test]
    fn odd_numbers_do_no_harm(odd in prop::sample::select(vec![f64::NAN, f64::INFINITY, -1.0, 0.0, 1e12])) {
        let mut it = section();
        it.zones[0].level = odd;
        it.zones[1].height = odd;
        it.zones[2].area = odd;
        it.ducts[1].velocity = odd;
        it.ducts[2].damper = Some(odd);
        if let Some(handler) = &mut it.handler {
            handler.trunks[0].velocities = [odd; 3];
        }
        for format in [Format::Wide, Format::Narrow] {
            let drawing = it.draw(format);
            prop_assert!(!drawing.svg.contains("NaN"));
            prop_assert!(roxmltree::Document::parse(&drawing.svg).is_ok());
        }
    }
}
