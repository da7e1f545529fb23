//! Changes of single values: every byte that is not meant stays as it is.

use std::collections::BTreeMap;

use proptest::prelude::*;
use store::Splice;
use store::edit::{EditError, Literal, Step, push, remove, set, swap_with_next, values};

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
            "[[s]]\nr.a = 1 # far\n[[s]]\n",
            "s/0/r/b",
            Literal::integer(2),
            "[[s]]\nr.a = 1 # far\nr.b = 2\n[[s]]\n",
        ),
        (
            "t = { r.a = 1, x = 3 }\n",
            "t/r/b",
            Literal::integer(2),
            "t = { r.a = 1, x = 3, r.b = 2 }\n",
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
        // Elements between brackets, on one line and on lines of their own.
        ("p = [{ a = 1 }, { a = 2 }]\n", "p/0", "p = [{ a = 2 }]\n"),
        ("p = [{ a = 1 }, { a = 2 }]\n", "p/1", "p = [{ a = 1 }]\n"),
        (
            "p = [ { a = 1 }, { a = 2 }, ]\n",
            "p/1",
            "p = [ { a = 1 }, ]\n",
        ),
        ("p = [{ a = 1 }] # all\n", "p/0", "p = [] # all\n"),
        ("p = [1, 2, 3]\n", "p/1", "p = [1, 3]\n"),
        (
            "p = [\r\n  { a = 1 }, # one\r\n  # two\r\n  { a = 2 }\r\n]\r\n",
            "p/1",
            "p = [\r\n  { a = 1 }, # one\r\n  # two\r\n]\r\n",
        ),
        (
            "p = [\n  { a = 1 }, # one, first\n  { a = 2 },\n]\n",
            "p/0",
            "p = [\n  { a = 2 },\n]\n",
        ),
        // Keys between braces, with dots and without.
        ("t = { a = 1, b = 2 }\n", "t/a", "t = { b = 2 }\n"),
        ("t = { a = 1, b = 2 }\n", "t/b", "t = { a = 1 }\n"),
        ("t = { a.x = 1, a.y = 2 }\n", "t/a/x", "t = { a.y = 2 }\n"),
        ("t = { b = 1 }\n", "t/b", "t = {  }\n"),
        // A list in a list, a table in an element, a list as a whole.
        (
            "[[w]]\nn = 1\n[[w.o]]\nk = 1\n[[w.o]]\nk = 2\n[[w]]\nn = 2\n",
            "w/0/o/0",
            "[[w]]\nn = 1\n[[w.o]]\nk = 2\n[[w]]\nn = 2\n",
        ),
        ("[[s]]\nn = 1\n[s.r]\na = 1\n", "s/0/r", "[[s]]\nn = 1\n"),
        ("[[s]]\nn = 1\n\n[[s]]\nn = 2\n[t]\n", "s", "[t]\n"),
        // What belongs together does not stand together.
        (
            "[h]\nx = 1\n[other] # kept\ny = 1\n[h.r]\nz = 1\n",
            "h",
            "[other] # kept\ny = 1\n",
        ),
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
    let inline = [
        ("p = []\n", "p", "p = [{ name = \"far\" }]\n"),
        (
            "p = [{ a = 1 }]\n",
            "p",
            "p = [{ a = 1 }, { name = \"far\" }]\n",
        ),
        (
            "p = [ { a = 1 }, ]\n",
            "p",
            "p = [ { a = 1 }, { name = \"far\" }, ]\n",
        ),
        (
            "p = [\r\n\t{ a = 1 }, # one\r\n]\r\n",
            "p",
            "p = [\r\n\t{ a = 1 }, # one\r\n\t{ name = \"far\" },\r\n]\r\n",
        ),
        (
            "p = [\n  { a = 1 }\n]\n",
            "p",
            "p = [\n  { a = 1 },\n  { name = \"far\" }\n]\n",
        ),
        (
            "[[w]]\no = [{ a = 1 }]\n[[w]]\n",
            "w/0/o",
            "[[w]]\no = [{ a = 1 }, { name = \"far\" }]\n[[w]]\n",
        ),
        (
            "w = [{ a = 1 }]\n",
            "w/0/o",
            "w = [{ a = 1, o = [{ name = \"far\" }] }]\n",
        ),
    ];
    for (before, list, after) in facts.into_iter().chain(inline) {
        let splice = push(before, &path(list), "name", Literal::text("far"));
        let splice = splice.unwrap_or_else(|error| panic!("{before:?}: {error}"));
        assert_eq!(splice.apply(before).expect("it fits"), after);
    }
}

#[test]
fn elements_change_places() {
    // (before, element, after)
    let facts = [
        (
            "p = [{ a = 1 }, { a = 2 }]\n",
            "p/0",
            "p = [{ a = 2 }, { a = 1 }]\n",
        ),
        (
            "p = [\n  { a = 1 }, # one\n  { a = 2 }\n]\n",
            "p/0",
            "p = [\n  { a = 2 },\n  { a = 1 } # one\n]\n",
        ),
        (
            "# first\n[[s]]\nn = 1 # one\n[s.r]\na = 1\n\n# second\n[[s]]\nn = 2",
            "s/0",
            "# first\n[[s]]\nn = 2\n\n# second\n[[s]]\nn = 1 # one\n[s.r]\na = 1",
        ),
        ("p = [1, 2]\r\n", "p/0", "p = [2, 1]\r\n"),
    ];
    for (before, way, after) in facts {
        let splice = swap_with_next(before, &path(way));
        let splice = splice.unwrap_or_else(|error| panic!("{before:?}: {error}"));
        assert_eq!(splice.apply(before).expect("it fits"), after);
        let back = swap_with_next(after, &path(way)).expect("it can go back");
        assert_eq!(back.apply(after).expect("it fits"), before);
    }
}

/// The ways of all lists of tables of a text with how many elements each has.
fn lists(text: &str) -> BTreeMap<Vec<Step>, usize> {
    let mut lists = BTreeMap::new();
    for found in values(text).expect("TOML") {
        for (depth, step) in found.path.iter().enumerate() {
            if let Step::Place(place) = step {
                let count = lists.entry(found.path[..depth].to_vec()).or_insert(0);
                *count = (place + 1).max(*count);
            }
        }
    }
    lists
}

fn said(text: &str) -> Vec<(Vec<Step>, String)> {
    let found = values(text).expect("TOML").into_iter();
    let mut said: Vec<_> = found.map(|found| (found.path, found.value)).collect();
    said.sort();
    said
}

#[test]
fn every_list_of_the_examples_takes_and_gives_elements() {
    let mut tried = [0; 3];
    for (at, text) in EXAMPLES.into_iter().enumerate() {
        let mut texts = vec![text.to_owned()];
        if at == 1 {
            texts.push(text.replace('\n', "\r\n"));
        }
        for text in texts {
            let before = said(&text);
            for (list, count) in lists(&text) {
                let splice = push(&text, &list, "kind", Literal::text("new")).expect("it is added");
                let more = splice.apply(&text).expect("it fits");
                assert_eq!(splice.removed, "", "{list:?}");
                let mut element = list.clone();
                element.push(count.into());
                let splice = remove(&more, &element).expect("it is taken out again");
                assert_eq!(said(&splice.apply(&more).expect("it fits")), before);
                tried[0] += 1;
                for place in 0..count {
                    *element.last_mut().expect("a way") = place.into();
                    let splice = remove(&text, &element)
                        .unwrap_or_else(|error| panic!("{element:?}: {error}"));
                    let fewer = splice.apply(&text).expect("it fits");
                    assert_eq!(splice.inserted, "", "{element:?}");
                    let left = lists(&fewer).get(&list).copied().unwrap_or_default();
                    assert_eq!(left, count - 1, "{element:?}");
                    tried[1] += 1;
                    if place + 1 < count {
                        let splice = swap_with_next(&text, &element)
                            .unwrap_or_else(|error| panic!("{element:?}: {error}"));
                        let swapped = splice.apply(&text).expect("it fits");
                        let splice = swap_with_next(&swapped, &element).expect("it goes back");
                        assert_eq!(splice.apply(&swapped).expect("it fits"), text);
                        tried[2] += 1;
                    }
                }
            }
        }
    }
    assert!(tried.into_iter().all(|count| count > 100), "{tried:?}");
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
    let not_there = remove("p = [1]", &path("p/1"));
    assert!(
        matches!(not_there, Err(EditError::NoWay(_))),
        "{not_there:?}"
    );
    let last = swap_with_next("p = [1]", &path("p/0"));
    assert!(matches!(last, Err(EditError::NoWay(_))), "{last:?}");
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
        for place in 0..2 {
            let element = [Step::from("a"), place.into()];
            if let Ok(splice) = swap_with_next(&text, &element) {
                prop_assert!(values(&splice.apply(&text).expect("it fits its own text")).is_ok());
            }
        }
    }

    /// Lists written in every way: what is added and taken out again leaves the same values, and
    /// every byte before and behind it.
    #[test]
    fn what_is_added_can_be_taken_out(
        blank in "[ \t]{0,2}", comment in "( # a, b)?", newline in "(\n|\r\n)",
        count in 0usize..4, own_lines: bool, comma: bool, headers: bool, place in 0usize..4,
    ) {
        let mut text = format!("top = 1{comment}{newline}");
        if headers {
            for element in 0..count {
                text += &format!("{newline}[[p]]{comment}{newline}{blank}a = {element}{newline}");
            }
        } else {
            text += "p = [";
            for element in 0..count {
                if own_lines { text += &format!("{newline}{blank}"); }
                text += &format!("{{ a = {element} }}");
                if comma || element + 1 < count { text += ","; }
                if own_lines { text += &comment; } else { text += &blank; }
            }
            if own_lines && count > 0 { text += &newline; }
            text += &format!("]{comment}{newline}");
        }
        text += &format!("{newline}[t]{newline}x.y = 2{comment}{newline}");
        let list = [Step::from("p")];
        let pushed = push(&text, &list, "a", Literal::integer(9));
        let more = pushed.expect("it is added").apply(&text).expect("it fits");
        prop_assert_eq!(lists(&more).get(&list[..]).copied(), Some(count + 1));
        let taken = remove(&more, &["p".into(), count.into()]);
        let again = taken.expect("it is taken out").apply(&more).expect("it fits");
        let says = |text: &str| -> Vec<_> {
            said(text).into_iter().filter(|(_, value)| value != "[]").collect()
        };
        prop_assert_eq!(says(&again), says(&text));
        if place < count {
            let taken = remove(&text, &["p".into(), place.into()]).expect("it is taken out");
            let fewer = taken.apply(&text).expect("it fits");
            prop_assert_eq!(taken.inserted, "");
            prop_assert_eq!(lists(&fewer).get(&list[..]).copied().unwrap_or_default(), count - 1);
        }
        if place + 1 < count {
            let element = [Step::from("p"), place.into()];
            let swapped = swap_with_next(&text, &element).expect("they change places");
            let swapped = swapped.apply(&text).expect("it fits");
            let back = swap_with_next(&swapped, &element).expect("they change back");
            prop_assert_eq!(back.apply(&swapped).expect("it fits"), text);
        }
    }
}
