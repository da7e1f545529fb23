//! `lungwort checks`: the table of all checks against a source outside the project.

use std::fmt::Write as _;

use ::checks::{Check, Tolerance};
use serde_json::json;

use crate::command_line::Options;
use crate::outcome::{Failure, Outcome};
use crate::text::{WIDTH, left, right, significant, wrap};

/// Computes and prints all checks; the answer is no if one fails.
pub fn run(options: &Options) -> Result<Outcome, Failure> {
    let checks = ::checks::all();
    let hold = checks.iter().all(Check::passes);
    if options.json {
        let rows: Vec<_> = checks.iter().map(object).collect();
        return Ok(Outcome::json(&json!({ "checks": rows }), hold));
    }
    Ok(Outcome::new(table(&checks), hold))
}

fn object(check: &Check) -> serde_json::Value {
    let tolerance = match check.tolerance {
        Tolerance::Absolute(distance) => json!({ "absolute": distance }),
        Tolerance::Relative(fraction) => json!({ "relative": fraction }),
    };
    json!({
        "subject": check.subject,
        "source": check.source,
        "input": check.input,
        "unit": check.unit,
        "expected": check.expected,
        "got": check.got,
        "tolerance": tolerance,
        "ok": check.passes(),
    })
}

/// Widths of the columns after the input, in characters.
const EXPECTED: usize = 12;
const UNIT: usize = 11;
const TOLERANCE: usize = 10;
const OK: usize = 4;
const INPUT: usize = WIDTH - 2 - 2 * EXPECTED - UNIT - TOLERANCE - OK - 5;

/// The checks under their subjects and sources.
fn table(checks: &[Check]) -> String {
    let mut text = String::new();
    let mut heading = ("", "");
    for check in checks {
        if heading.0 != check.subject {
            let _ = writeln!(text, "{}", columns_under(check.subject));
            heading = (check.subject, "");
        }
        if heading.1 != check.source {
            for line in wrap(&check.source, WIDTH - 2) {
                let _ = writeln!(text, "  {line}");
            }
            heading.1 = &check.source;
        }
        text.push_str(&row(check));
    }
    let failed = checks.iter().filter(|check| !check.passes()).count();
    let _ = match failed {
        0 => writeln!(text, "\nAll {} checks hold.", checks.len()),
        _ => writeln!(text, "\n{failed} of {} checks FAIL.", checks.len()),
    };
    text
}

fn columns_under(subject: &str) -> String {
    format!(
        "\n{} {} {} {} {} ok",
        left(&subject.to_uppercase(), INPUT + 2),
        right("expected", EXPECTED),
        right("got", EXPECTED),
        left("unit", UNIT),
        right("tolerance", TOLERANCE),
    )
}

fn row(check: &Check) -> String {
    let mut lines = wrap(&check.input, INPUT - 2).into_iter();
    let mut text = format!(
        "    {} {} {} {} {} {}\n",
        left(&lines.next().unwrap_or_default(), INPUT - 2),
        right(&significant(check.expected, 6), EXPECTED),
        right(&significant(check.got, 6), EXPECTED),
        left(check.unit, UNIT),
        right(&tolerance(check.tolerance), TOLERANCE),
        if check.passes() { "ok" } else { "FAIL" },
    );
    for line in lines {
        let _ = writeln!(text, "    {line}");
    }
    text
}

fn tolerance(tolerance: Tolerance) -> String {
    match tolerance {
        Tolerance::Absolute(distance) => format!("±{}", significant(distance, 2)),
        Tolerance::Relative(fraction) => format!("±{} %", significant(fraction * 100.0, 2)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failing_check_is_seen() {
        let check = |got| Check {
            subject: "air",
            source: "a book, page 1".to_owned(),
            input: "20 °C, 50 %, at sea level and with a long explanation beside it".to_owned(),
            unit: "kg/m³",
            expected: 1.2,
            got,
            tolerance: Tolerance::Relative(0.001),
        };
        insta::assert_snapshot!(table(&[check(1.2), check(1.21)]));
    }
}
