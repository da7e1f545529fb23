//! Changes of single values: every byte that is not meant stays as it is.

use proptest::prelude::*;
use store::Splice;
use store::edit::{EditError, Literal, Step, push, remove, set, values};

/// A way from words: numbers are places.
fn path(words: &str) -> Vec<Step> {
    words
        .split('/')
        .map(|step| match step.parse::<usize>() {
            Ok(place) => place.into(),
            Err(_) => step.into(),
        })
        .collect()
}

const EXAMPLES: [&str; 5] = [
    include_str!("../../../examples/light.toml"),
    include_str!("../../../examples/duluth-furnace.toml"),
    include_str!("../../../examples/flagstaff-crawlspace.toml"),
    include_str!("../../../examples/tallahassee-heat-pump.toml"),
    include_str!("../../../examples/catalogue.toml"),
];

#[test]
fn values_are_set_in_place() {
    // (before, way, value, after)
    let facts = [
        ("a = 1 # one\n", "a", Literal::integer(2), "a = 2 # one\n"),
        (
            "a = '70 cfm'\r\nb=1\r\n",
            "a",
            Literal::text("75 cfm"),
            "a = \"75 cfm\"\r\nb=1\r\n",
        ),
        ("a = 1\r\n", "b", Literal::integer(2), "a = 1\r\nb = 2\r\n"),
        ("a = 1", "b", Literal::integer(2), "a = 1\nb = 2\n"),
        ("", "b", Literal::flag(true), "b = true\n"),
        (
            "# top\n[t]\nx = 1\n",
            "b",
            Literal::integer(2),
            "# top\nb = 2\n[t]\nx = 1\n",
        ),
        (
            "[t]\nx = 1 # one\n\n[u]\n",
            "t/y",
            Literal::integer(2),
            "[t]\nx = 1 # one\ny = 2\n\n[u]\n",
        ),
        (
            "[t] # here\n[u]\n",
            "t/y",
            Literal::integer(2),
            "[t] # here\ny = 2\n[u]\n",
        ),
        (
            "a = 1\n",
            "t/y",
            Literal::integer(2),
            "a = 1\n\n[t]\ny = 2\n",
        ),
        (
            "[t.u]\nx = 1\n",
            "t/y",
            Literal::integer(2),
            "[t.u]\nx = 1\n\n[t]\ny = 2\n",
        ),
        (
            "[t]\nx = 1\n[t.u]\nz = 1\n",
            "t/y",
            Literal::integer(2),
            "[t]\nx = 1\ny = 2\n[t.u]\nz = 1\n",
        ),
        (
            "t = { x = 1 }\n",
            "t/y",
            Literal::integer(2),
            "t = { x = 1, y = 2 }\n",
        ),
        ("t = {}\n", "t/y", Literal::integer(2), "t = { y = 2}\n"),
        ("t.x = 1\n", "t/x", Literal::integer(2), "t.x = 2\n"),
        (
            "[[s]]\nn = 1\n[[s]]\nn = 2\n",
            "s/0/r/far end",
            Literal::text("3 m"),
            "[[s]]\nn = 1\nr.\"far end\" = \"3 m\"\n[[s]]\nn = 2\n",
        ),
        (
            "[[s]]\nn = 1\n[s.r]\na = 1\n[[s]]\n",
            "s/0/r/b",
            Literal::integer(2),
            "[[s]]\nn = 1\n[s.r]\na = 1\nb = 2\n[[s]]\n",
        ),
        (
            "p = [{ a = 1 }, { a = 2 }]\n",
            "p/1/a",
            Literal::integer(3),
            "p = [{ a = 1 }, { a = 3 }]\n",
        ),
        (
            "l = [\n  1, # one\n]\n",
            "l",
            Literal::texts(["x", "y"]),
            "l = [\"x\", \"y\"]\n",
        ),
        (
            "a = 0.65\n",
            "a",
            Literal::number("0.60").expect("a number"),
            "a = 0.60\n",
        ),
    ];
    for (before, way, value, after) in facts {
        let splice = set(before, &path(way), value).unwrap_or_else(|e| panic!("{before:?}: {e}"));
        assert_eq!(splice.apply(before).expect("it fits"), after, "{before:?}");
        assert_eq!(splice.inverse().apply(after).expect("it fits"), before);
    }
}

#[test]
fn values_and_elements_are_taken_out() {
    let facts = [
        ("a = 1 # one\nb = 2\n", "a", "b = 2\n"),
        ("# above\na = 1\n", "a", "# above\n"),
        (
            "[[s]]\nn = 1\n[s.r]\na = 1 # far\n\n[[s]]\nn = 2\n",
            "s/0",
            "\n[[s]]\nn = 2\n",
        ),
        ("[[s]]\nn = 1\n[[s]]\nn = 2", "s/1", "[[s]]\nn = 1\n"),
        ("a = '''\nlong\n'''\nb = 1\n", "a", "b = 1\n"),
    ];
    for (before, way, after) in facts {
        let splice = remove(before, &path(way)).unwrap_or_else(|e| panic!("{before:?}: {e}"));
        assert_eq!(splice.apply(before).expect("it fits"), after, "{before:?}");
    }
}

#[test]
fn elements_are_added_behind_the_last() {
    // (before, list, after)
    let facts = [
        ("a = 1\n", "tap", "a = 1\n\n[[tap]]\nname = \"far\"\n"),
        (
            "[[tap]]\nname = 1\n[tap.r]\nb = 1\n[z]\n",
            "tap",
            "[[tap]]\nname = 1\n[tap.r]\nb = 1\n\n[[tap]]\nname = \"far\"\n[z]\n",
        ),
        (
            "[h]\nx = 1\n[[h.mode]]\nm = 1\n[h.r]\ny = 1\n",
            "h/mode",
            "[h]\nx = 1\n[[h.mode]]\nm = 1\n\n[[h.mode]]\nname = \"far\"\n[h.r]\ny = 1\n",
        ),
        (
            "[[wall]]\nx = 1\n[[wall]]\nx = 2\n",
            "wall/0/object",
            "[[wall]]\nx = 1\n\n[[wall.object]]\nname = \"far\"\n[[wall]]\nx = 2\n",
        ),
    ];
    for (before, list, after) in facts {
        let splice = push(before, &path(list), "name", Literal::text("far"));
        let splice = splice.unwrap_or_else(|error| panic!("{before:?}: {error}"));
        assert_eq!(splice.apply(before).expect("it fits"), after);
    }
}

#[test]
fn lists_say_their_members() {
    let found = values("a = [\"6 in\", '5 in']\nb = \"[1]\"\nc = [1, 2]\n").expect("TOML");
    let members: Vec<_> = found.iter().map(store::edit::Found::members).collect();
    let strings = |list: [&str; 2]| Some(list.map(str::to_owned).to_vec());
    assert_eq!(members[0], strings(["6 in", "5 in"]));
    assert_eq!(members[2], strings(["1", "2"]));
}

#[test]
fn refusals() {
    let not_toml = set("a = [", &path("a"), Literal::integer(1));
    assert!(
        matches!(not_toml, Err(EditError::NotToml(_))),
        "{not_toml:?}"
    );
    let no_list = set("a = 1", &path("b/0"), Literal::integer(1));
    assert!(matches!(no_list, Err(EditError::NoWay(_))), "{no_list:?}");
    let through_a_number = set("a = 1", &path("a/b"), Literal::integer(1));
    assert_eq!(through_a_number, Err(EditError::Entangled));
    assert_eq!(
        remove("a = { b = 1 }", &path("a/b")),
        Err(EditError::Entangled)
    );
    // A table as a whole is not a single value.
    let whole = set("a = { b = 1 }", &path("a"), Literal::integer(1));
    assert_eq!(whole, Err(EditError::Entangled));
    assert!(Literal::number("three").is_none());
    assert!(Literal::number("\"3\"").is_none());
}

#[test]
fn every_value_of_the_examples_can_be_set_and_nothing_else_moves() {
    let mut changed = 0;
    for text in EXAMPLES {
        for found in values(text).expect("an example is TOML") {
            let splice = set(text, &found.path, Literal::text("other")).expect("it can be set");
            assert_eq!(splice.at, found.span.start);
            let after = splice.apply(text).expect("it fits");
            assert_eq!(after[..found.span.start], text[..found.span.start]);
            assert!(after.ends_with(&text[found.span.end..]));
            assert_eq!(&after[found.span.start..][.."\"other\"".len()], "\"other\"");
            changed += 1;
        }
    }
    assert!(changed > 500, "only {changed} values were tried");
}

proptest! {
    #[test]
    fn the_smallest_splice_leads_from_one_text_to_the_other(
        before in "[a-cé\n]{0,12}", after in "[a-cé\n]{0,12}"
    ) {
        let splice = Splice::between(&before, &after);
        prop_assert_eq!(splice.apply(&before).expect("it fits"), after.clone());
        prop_assert_eq!(splice.inverse().apply(&after).expect("it fits"), before);
    }

    #[test]
    fn any_text_and_any_way_is_answered_without_panic(
        text in "[ab.= \"'\\[\\]{},#\n\r1é]{0,40}", place in 0usize..3, key in "[ab]"
    ) {
        for way in [vec![Step::from(key.as_str())],
                    vec![key.as_str().into(), place.into()],
                    vec![key.as_str().into(), place.into(), "b".into()],
                    vec![key.as_str().into(), "b".into()]] {
            for splice in [set(&text, &way, Literal::text("é")), remove(&text, &way)]
                .into_iter().flatten() {
                let after = splice.apply(&text).expect("it fits its own text");
                prop_assert!(values(&after).is_ok());
            }
        }
        let _ = push(&text, &["a".into()], "b", Literal::integer(1));
    }
}
