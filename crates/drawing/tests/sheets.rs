//! Whatever is handed in, a drawing is sound XML and its texts do not lie on each other.

use drawing::labels::Box4;
use drawing::{Air, Area, Cause, Drawing, Elevation, Item, Mark, Note, Reach, Span, Symbol};
use proptest::prelude::*;
use units::System;

const SYMBOLS: [Symbol; 12] = [
    Symbol::Window,
    Symbol::Door,
    Symbol::Louvre,
    Symbol::Grille,
    Symbol::Slots,
    Symbol::Pipe,
    Symbol::Mouth,
    Symbol::Meter,
    Symbol::Condenser,
    Symbol::Ground,
    Symbol::Deck,
    Symbol::Boundary,
];

fn elevation(width: f64, height: f64) -> Elevation {
    Elevation {
        id: "test".into(),
        job: "A house".into(),
        wall: "north wall".into(),
        facing: "faces north".into(),
        system: System::Ip,
        outline: vec![[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]],
        grade: vec![[0.0, 0.0]],
        snow: 0.3,
        items: Vec::new(),
        areas: vec![Area {
            air: Air::Outdoor,
            allowed: vec![vec![
                [0.2, 0.5],
                [width - 0.2, 0.5],
                [width - 0.2, height - 0.2],
            ]],
        }],
        reaches: Vec::new(),
        marks: Vec::new(),
        spans: Vec::new(),
        notes: vec![Note {
            air: None,
            title: "Both".into(),
            text: "A sentence of some length that has to be broken into lines.".into(),
        }],
    }
}

/// No text lies on another one, and all lie on the sheet.
fn sound(drawing: &Drawing) -> Result<(), TestCaseError> {
    prop_assert!(roxmltree::Document::parse(&drawing.svg).is_ok());
    prop_assert!(!drawing.svg.contains("NaN") && !drawing.svg.contains("inf"));
    for (index, one) in drawing.labels.iter().enumerate() {
        for other in &drawing.labels[..index] {
            prop_assert!(!one.overlaps(other), "{one:?} {other:?}");
        }
    }
    Ok(())
}

#[test]
fn names_are_escaped_and_long_ones_cut() {
    let mut sheet = elevation(8.0, 3.0);
    sheet.wall = "<script>alert(\"1\")</script> & co".into();
    sheet.items.push(Item {
        name: "a </text> window of a name that has no end, hence has to be cut".into(),
        symbol: Symbol::Window,
        at: [2.0, 1.0],
        size: [1.0, 1.2],
        out: 0.0,
        grip: None,
    });
    let drawing = sheet.draw();
    let tree = roxmltree::Document::parse(&drawing.svg).expect("sound XML");
    assert!(
        tree.descendants()
            .all(|node| node.tag_name().name() != "script")
    );
    assert!(drawing.svg.contains("&lt;/text&gt;") && drawing.svg.contains('…'));
    assert!(
        drawing
            .labels
            .iter()
            .all(|rect: &Box4| rect.left >= 0.0 && rect.right <= 560.0)
    );
}

/// Where names have no room the things are numbered from the left, and the names stand below.
#[test]
fn things_of_a_crowded_wall_are_numbered() {
    let mut sheet = elevation(8.0, 3.0);
    for index in 0..20_usize {
        sheet.items.push(Item {
            name: format!("thing {}", char::from(b'a' + index as u8)),
            symbol: Symbol::Louvre,
            at: [7.5 - 0.35 * index as f64, 1.0],
            size: [0.2, 0.2],
            out: 0.0,
            grip: None,
        });
    }
    let drawing = sheet.draw();
    // The last one stands farthest to the left.
    let key =
        "<tspan class=\"label strong\">1</tspan><tspan class=\"label\" dx=\"4\">thing t</tspan>";
    assert!(drawing.svg.contains(key), "{}", drawing.svg);
    assert!(
        drawing
            .svg
            .contains(">20</tspan><tspan class=\"label\" dx=\"4\">thing a<")
    );
    let highest = drawing
        .labels
        .iter()
        .map(|label| label.upper)
        .fold(0.0, f64::min);
    assert!(highest > -250.0, "{highest}");
    sheet.items.truncate(6);
    assert!(sheet.draw().svg.contains(">thing a</tspan>"));
}

/// The four airs are told apart by pattern as well as by colour, in the light and in the dark.
#[test]
fn ink_and_paper() {
    let svg = elevation(8.0, 3.0).draw().svg;
    for part in [
        "prefers-color-scheme:dark",
        ".reach.outdoor{stroke:var(--outdoor);stroke-dasharray:9 3}",
        ".reach.exhaust{stroke:var(--exhaust);stroke-dasharray:6 2.5 1.5 2.5}",
        ".reach.shown{stroke:var(--quiet);stroke-width:.8;stroke-dasharray:2 5}",
        "viewBox=\"0 0 560 ",
        "<title id=\"test-title\">",
    ] {
        assert!(svg.contains(part), "{part}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn texts_have_room(
        size in (3.0..20.0f64, 2.5..9.0f64),
        items in prop::collection::vec((0..12usize, 0.0..0.9f64, 0.0..0.8f64, 0.05..2.0f64, 0.0..1.5f64), 0..24),
        marks in prop::collection::vec((0.05..0.95f64, 0.1..0.9f64, any::<bool>()), 0..4),
    ) {
        let (width, height) = size;
        let mut sheet = elevation(width, height);
        for (index, (symbol, s, z, wide, high)) in items.into_iter().enumerate() {
            sheet.items.push(Item {
                name: format!("thing number {index}"),
                symbol: SYMBOLS[symbol],
                at: [s * width, z * height],
                size: [wide, high],
                out: 0.0,
        grip: None,
            });
            sheet.reaches.push(Reach {
                air: if index % 2 == 0 { Air::Outdoor } else { Air::Exhaust },
                asked: ["10 ft off".into(), "3.05 m".into()],
                contours: vec![vec![[s * width, 0.0], [s * width + 1.0, 0.0], [s * width, 1.0]]],
                cause: if index % 3 == 0 { Cause::Elsewhere(format!("thing {index} elsewhere")) } else { Cause::Item(index) },
                decides: index % 4 != 1,
                address: (index % 5 == 2).then(|| "/why?a=1&b=2".into()),
            });
        }
        for (s, z, proposed) in marks {
            let at = [s * width, z * height];
            sheet.marks.push(Mark {
                name: "north intake".into(),
                state: "keeps every rule".into(),
                airs: vec![Air::Outdoor],
                at,
                size: [0.2, 0.2],
                ground: 0.0,
                proposed,
                dimensions: true,
                grip: None,
            });
            sheet.spans.push(Span {
                from: at,
                to: [0.5 * width, 0.5 * height],
                size: ["6 ft 6 in".into(), "1.99 m".into()],
                air: Air::Outdoor,
                broken: proposed.then(|| ["6 ft".into(), "1.83 m".into()]),
                address: (!proposed).then(|| "/why?a=1&b=2".into()),
            });
        }
        sound(&sheet.draw())?;
    }
}
