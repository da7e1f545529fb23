//! The record of a set-up: what is signed off.

use commission::Verdict;
use house::model::Job;
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
    open.extend(checks.iter().filter_map(Checked::open));
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
    let job = sheet.day.set_up.job();
    json!({
        "format": 1,
        "name": job.name,
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
        "combustion_tests": test_objects(job, journal),
        "instruments": job.instruments.iter().map(|instrument| json!({
            "instrument": instrument.name,
            "kind": instrument.kind.name(),
            "calibrated": instrument.calibrated,
        })).collect::<Vec<_>>(),
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

/// The combustion tests of a journal with what they say by the rules of the job, for programs.
pub fn test_objects(job: &Job, journal: &Journal) -> Vec<Value> {
    let entries: Vec<&Entry> = journal.entries().collect();
    let struck = journal.struck_out();
    tests(job, &entries, &|entry| struck.contains_key(&entry))
        .into_iter()
        .map(|tested| {
            let mut value = serde_json::to_value(tested.test).unwrap_or_default();
            value["entry"] = tested.entry.into();
            value["compared"] = tested
                .compared
                .iter()
                .map(|it| json!({ "judgement": it.judgement.name(), "text": it.text }))
                .collect();
            value
        })
        .collect()
}
