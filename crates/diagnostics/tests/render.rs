//! What people see.

use diagnostics::{Problem, Problems, Source, Style};
use proptest::prelude::*;

#[test]
fn several_problems_with_excerpts() {
    let text = "format = 1\r\n\tflor_area = \"2400 ft2\"\r\nname = \"a\"\r\nname = \"b\"\r\n";
    let first = text.find("name").expect("the text has a name");
    let mut problems = Problems::new(Source::new("job.toml", text));
    problems.push(
        Problem::warning("the name is given twice", first + 12..first + 16)
            .label("again here")
            .related(first..first + 4, "first here"),
    );
    problems.push(Problem::error("unknown key flor_area", 13..22).help("did you mean floor_area?"));
    assert_eq!(
        problems.render(Style::Plain),
        "\
error: unknown key flor_area
 --> job.toml:2:2
  |
2 |     flor_area = \"2400 ft2\"
  |     ^^^^^^^^^
  |
  = help: did you mean floor_area?

warning: the name is given twice
 --> job.toml:4:1
  |
4 | name = \"b\"
  | ^^^^ again here
  |
 ::: job.toml:3:1
  |
3 | name = \"a\"
  | ---- first here
"
    );
    assert!(problems.render(Style::Coloured).contains("\u{1b}["));
}

#[test]
fn long_lines_are_cut_around_the_place() {
    let text = format!("a = [{}]\n", "1234, ".repeat(500_000));
    let mut problems = Problems::new(Source::new("job.toml", text));
    problems.push(Problem::error("not a number", 1_500_005..1_500_009).label("this one"));
    let shown = problems.render(Style::Plain);
    assert!(shown.contains("job.toml:1:1500006"), "{shown}");
    assert!(shown.contains("^^^^ this one"), "{shown}");
    assert!(
        shown.lines().all(|line| line.chars().count() < 200),
        "{shown}"
    );
}

#[test]
fn long_lists_are_counted() {
    let mut problems = Problems::new(Source::new("job.toml", "a = 1\n"));
    for number in 0..60 {
        problems.push(Problem::error(format!("problem {number}"), 0..1));
    }
    assert!(problems.render(Style::Plain).ends_with("… and 10 more\n"));
    assert_eq!(problems.to_json().as_array().map(Vec::len), Some(60));
}

proptest! {
    /// Any text, any span: nothing panics, and the title is always there.
    #[test]
    fn any_span_of_any_text(
        bytes in prop::collection::vec(any::<u8>(), 0..900),
        start in 0usize..1000,
        length in 0usize..1000,
        other in 0usize..1000,
    ) {
        let mut problems = Problems::new(Source::from_bytes("job.toml", &bytes));
        problems.push(
            Problem::error("odd", start..start + length).label("x").related(other..other + length, "y"),
        );
        prop_assert!(problems.render(Style::Plain).contains("odd"));
        prop_assert!(problems.to_json()[0]["line"].as_u64() >= Some(1));
    }
}
