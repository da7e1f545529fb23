//! The rule book of the job.

use rules::{BookError, Override, RuleBook, RuleSet};

use super::reader::Reader;
use super::tables::{OverrideTable, RulesTable};
use super::value::{Given, Slot};

/// The chosen sets with the overrides; common practice alone where the file does not say.
pub(super) fn book(slot: &Slot<RulesTable>, reader: &mut Reader) -> RuleBook {
    let absent = RulesTable::default();
    let table = slot.value().unwrap_or(&absent);
    if table.sets.is_absent() {
        reader.assume(
            "rules.sets",
            RuleSet::CommonPractice.name(),
            "no rule set is chosen: common practice decides, the law of the place is not looked at",
        );
    }
    let mut sets: Vec<RuleSet> = Vec::new();
    for set in table.sets.each() {
        let with: Vec<RuleSet> = sets.iter().copied().chain([set.value]).collect();
        match RuleBook::new(&with, Vec::new()) {
            Ok(_) => sets = with,
            Err(error) => reader.error(
                &set.span,
                format!("rules.sets: {error}"),
                "leave one of them out",
            ),
        }
    }
    let mut overrides: Vec<Override> = Vec::new();
    for given in table.r#override.each() {
        let Some(own) = own_number(given, reader) else {
            continue;
        };
        let with: Vec<Override> = overrides.iter().cloned().chain([own]).collect();
        match RuleBook::new(&sets, with.clone()) {
            Ok(_) => overrides = with,
            Err(error) => refuse(&given.value, error, reader),
        }
    }
    // Each was tried above together with those before it.
    RuleBook::new(&sets, overrides).unwrap_or_else(|_| RuleBook::common_practice())
}

/// An override with its number read as the rule's kind asks; `None` if something is wrong with it.
fn own_number(given: &Given<OverrideTable>, reader: &mut Reader) -> Option<Override> {
    let table = &given.value;
    let (rule, limit, reason) = (
        table.rule.given()?,
        table.limit.given()?,
        table.reason.given()?,
    );
    let Some(row) = rules::row(&rule.value) else {
        let known = rules::rows().map(|row| row.id);
        super::reader::unknown_name("rules.override.rule", "rule", rule, known, reader);
        return None;
    };
    let Some(known) = row.limit else {
        refuse(table, BookError::NoNumber { row }, reader);
        return None;
    };
    let value = match known.kind.parse(&limit.value) {
        Ok(value) => value,
        Err(error) => {
            reader.error(
                &limit.span,
                format!("rules.override.limit: {error}"),
                format!(
                    "\"{}\" is about a {}: write it like {}",
                    row.id,
                    known.kind.name(),
                    known.kind.examples()
                ),
            );
            return None;
        }
    };
    Some(Override {
        id: row.id.to_owned(),
        value,
        reason: reason.value.clone(),
        who: table.who.value().cloned().unwrap_or_default(),
    })
}

/// Reports why an override cannot be made, at the key that is to blame.
fn refuse(table: &OverrideTable, error: BookError, reader: &mut Reader) {
    if let (BookError::Impossible { row, .. }, Some(limit)) = (&error, table.limit.given()) {
        let kind = row.limit.map_or("number", |limit| limit.kind.name());
        reader.error(
            &limit.span,
            format!("rules.override.limit cannot be {}", limit.value),
            format!("the {kind} of the rule \"{}\" is above zero", row.id),
        );
        return;
    }
    let (slot, help) = match &error {
        BookError::NotChosen { .. } => (
            &table.rule,
            "add the set to rules.sets, or remove the override",
        ),
        BookError::NoReason { .. } => (&table.reason, "say why, in a few words"),
        BookError::Twice { .. } => (&table.rule, "keep one of the two"),
        _ => (
            &table.rule,
            "remove it; `lungwort rules` lists the rules with their numbers",
        ),
    };
    if let Some(given) = slot.given() {
        reader.error(&given.span, format!("rules.override: {error}"), help);
    }
}
