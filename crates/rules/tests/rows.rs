//! What every row must have, and what a book makes of the rows.

use std::collections::HashSet;

use rules::{BookError, Confidence, Override, RuleBook, RuleSet, row, rows};

fn own(id: &str, value: f64, reason: &str) -> Override {
    Override {
        id: id.into(),
        value,
        reason: reason.into(),
        who: String::new(),
    }
}

#[test]
fn every_row_is_whole_and_has_a_name_of_its_own() {
    let mut names = HashSet::new();
    let mut count = 0;
    for row in rows() {
        assert!(names.insert(row.id), "{} stands twice", row.id);
        for (what, text) in [
            ("applies to", row.applies_to),
            ("demand", row.demand),
            ("authority", row.authority),
        ] {
            assert!(!text.is_empty(), "{}: no {what}", row.id);
        }
        assert!(row.demand.ends_with('.'), "{}: {}", row.id, row.demand);
        assert!(!row.sets.is_empty(), "{}", row.id);
        if let Some(limit) = row.limit {
            assert!(limit.value.is_finite(), "{}", row.id);
        }
        assert_eq!(row.decides(), row.confidence != Confidence::Unsure);
        count += 1;
    }
    assert!(count > 80, "{count} rows");
}

#[test]
fn limits_of_the_trade() {
    // Depressurisation limits: BPI technical standards before 2014, from memory. The others:
    // common practice, no published source.
    for (id, value) in [
        ("orphan water heater", 2.0),
        ("common vent", 3.0),
        ("natural draft", 5.0),
        ("induced draft, common vent", 5.0),
        ("induced draft", 15.0),
        ("sealed combustion", 50.0),
        ("near fan", 3.048),
        ("taps together", 0.9144),
    ] {
        let limit = row(id)
            .and_then(|row| row.limit)
            .unwrap_or_else(|| panic!("{id}"));
        assert!((limit.value - value).abs() < 1e-9, "{id}: {}", limit.value);
    }
}

#[test]
fn a_book_holds_common_practice_and_one_national_set() {
    let book = RuleBook::new(&[RuleSet::Irc2024], Vec::new()).expect("a book");
    assert!(book.contains(row("near fan").expect("a row")));
    assert!(matches!(
        RuleBook::new(&[RuleSet::Irc2024, RuleSet::Canada], Vec::new()),
        Err(BookError::TwoNationalSets(..))
    ));
    assert!(book.rows().count() > RuleBook::common_practice().rows().count());
}

#[test]
fn an_override_needs_a_row_a_number_and_a_reason() {
    let with = |own| RuleBook::new(&[], vec![own]);
    assert!(with(own("near fan", 2.0, "mixing box")).is_ok());
    assert!(matches!(
        with(own("near fan", 2.0, " ")),
        Err(BookError::NoReason { .. })
    ));
    assert!(matches!(
        with(own("near fan", -2.0, "why")),
        Err(BookError::Impossible { .. })
    ));
    let unknown = with(own("nere fan", 2.0, "why")).expect_err("no such row");
    assert!(unknown.to_string().contains("near fan"), "{unknown}");
    let twice = RuleBook::new(
        &[],
        vec![own("near fan", 2.0, "a"), own("near fan", 3.0, "b")],
    );
    assert!(matches!(twice, Err(BookError::Twice { .. })));
}
