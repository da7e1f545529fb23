//! The record of a set-up: what is signed off.

use commission::Verdict;
use journal::{CheckResult, Entry, Journal};
use serde_json::{Value, json};

use crate::checklist::{Checked, tests};
use crate::sheet::Sheet;
use crate::words::sure;

/// What is not as it should be, in words.
pub fn open_points(sheet: Sheet<'_>, checks: &[Checked]) -> Vec<String> {
    let mut open = Vec::new();
    if sheet.standing.advice.verdict != Verdict::Done {
        open.push(format!(
            "rate and balance are met with a probability of {} only",
            sure(sheet.standing.probability())
        ));
    }
    for one in checks {
        match one.result {
            Some(CheckResult::Good | CheckResult::NotApplicable) => {}
            Some(CheckResult::NotGood) => open.push(format!("{} is not good", one.item.key)),
            None => open.push(format!("{} is not checked", one.item.key)),
        }
    }
    open
}

/// Who signs what, and when.
#[derive(Debug, Clone, Copy)]
pub struct Signature<'a> {
    /// Who.
    pub who: &'a str,
    /// When, with the zone.
    pub time: &'a str,
    /// Why although something is open; empty if nothing is.
    pub although: &'a str,
    /// The plan in words, with the dampers as they stand.
    pub plan: &'a str,
}

/// The record for programs.
pub fn object(
    sheet: Sheet<'_>,
    journal: &Journal,
    checks: &[Checked],
    signature: Signature<'_>,
) -> Value {
    json!({
        "format": 1,
        "name": sheet.day.set_up.job().name,
        "plan": signature.plan,
        "signed_by": signature.who,
        "time": signature.time,
        "open_points": open_points(sheet, checks),
        "although": signature.although,
        "journal": {
            "entries": journal.entries().count(),
            "last_hash": journal.last_hash(),
        },
        "set_up": sheet.object(),
        "checks": check_objects(checks),
        "combustion_tests": test_objects(journal),
    })
}

/// The checks for programs.
pub fn check_objects(checks: &[Checked]) -> Vec<Value> {
    checks
        .iter()
        .map(|one| {
            json!({
                "item": one.item.key,
                "text": one.item.text,
                "caution": one.item.caution,
                "result": one.result.map(CheckResult::name),
                "because": one.because,
                "photo": one.photo,
            })
        })
        .collect()
}

/// The combustion tests of a journal, for programs.
pub fn test_objects(journal: &Journal) -> Vec<Value> {
    let entries: Vec<&Entry> = journal.entries().collect();
    let struck = journal.struck_out();
    tests(&entries, &|entry| struck.contains_key(&entry))
        .into_iter()
        .map(|(entry, test)| {
            let mut value = serde_json::to_value(test).unwrap_or_default();
            value["entry"] = entry.into();
            value
        })
        .collect()
}
