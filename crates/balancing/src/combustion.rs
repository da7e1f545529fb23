//! The values of a combustion test against the rows of the job's rules.
//!
//! Who tests and the local code decide. What is compared here is to be looked at by them, so a value
//! that breaks a row takes the tick away until they have; a row in doubt, or a number that is known
//! from memory alone, only warns.

use house::model::{Appliance, Job, Venting};
use journal::Combustion;
use plan::safety;
use units::text::{capital, true_minus};
use units::{Duration, Pressure, Quantity, Typed};

use crate::day::temperature;

/// What follows from one value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judgement {
    /// It keeps the row.
    Kept,
    /// It is to be looked at.
    Warns,
    /// It breaks a row that may decide.
    Breaks,
    /// It was not understood.
    Unreadable,
}

impl Judgement {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Warns => "warns",
            Self::Breaks => "breaks",
            Self::Unreadable => "not understood",
        }
    }
}

/// One value against its row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Compared {
    /// What follows.
    pub judgement: Judgement,
    /// The same in sentences, with whose rule it is.
    pub text: String,
}

/// Compares the values of a test, as far as they were entered. `outdoor` is the outdoor temperature
/// of the day as it was typed.
pub fn compared(job: &Job, test: &Combustion, outdoor: &str) -> Vec<Compared> {
    let appliance = job
        .appliances
        .iter()
        .find(|known| known.name.eq_ignore_ascii_case(test.appliance.trim()));
    [
        appliance.and_then(|appliance| depressurisation(job, appliance, test)),
        spillage(job, test),
        appliance.and_then(|appliance| draft(job, appliance, test, outdoor)),
        flue(test),
        room(job, test),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Worst less base against the limit of the appliance.
fn depressurisation(job: &Job, appliance: &Appliance, test: &Combustion) -> Option<Compared> {
    let read = |what: &str, typed: &str| match typed.trim() {
        "" => Ok(None),
        typed => match Typed::<Pressure>::parse(typed) {
            Ok(pressure) => Ok(Some(pressure.value.si())),
            Err(error) => Err(unreadable(what, error.to_string())),
        },
    };
    let (worst, base) = match (
        read("the worst pressure", &test.worst_pressure),
        read("the base pressure", &test.base_pressure),
    ) {
        (Err(told), _) | (_, Err(told)) => return Some(told),
        (Ok(worst), Ok(base)) => (worst?, base),
    };
    let net = worst - base.unwrap_or(0.0);
    let mut text = format!(
        "In the worst state the zone is {} Pa {} outdoors",
        shown(net.abs()),
        if net > 0.0 { "above" } else { "below" }
    );
    text.push_str(match base {
        Some(_) => ", less the base pressure. ",
        None => "; the base pressure was not entered, so that wind and chimney are still in it. ",
    });
    let (limit, authority, unverified) = safety::limit(appliance, &job.rules);
    let Some(limit) = limit else {
        text.push_str("The job file does not say how the appliance is vented, so there is no limit to compare with.");
        return Some(warns(text));
    };
    let memory = if unverified { ", from memory" } else { "" };
    text.push_str(&format!(
        "At most {} Pa below is allowed ({authority}{memory}); the appliance's own papers come first.",
        shown(limit)
    ));
    Some(if -net <= limit {
        kept(text)
    } else {
        text.push_str(
            " Stop: find make-up air, less exhaust or a sealed appliance, and test again.",
        );
        breaks(text)
    })
}

/// How long the vent spills.
fn spillage(job: &Job, test: &Combustion) -> Option<Compared> {
    let typed = test.spillage.trim();
    if typed.is_empty() {
        return None;
    }
    let row = job.rules.rows().find(|row| row.id == "spillage")?;
    let ruling = job.rules.ruling(row)?;
    let whose = format!("{}, {}", ruling.source(), row.confidence.name());
    let Some(seconds) = spills_for(typed) else {
        return Some(unreadable(
            "what the vent did",
            format!("\"{typed}\" is none of: draws at once; draws after 2 min; spills"),
        ));
    };
    if seconds == f64::INFINITY {
        return Some(breaks(
            "The vent spills. Stop: switch the appliance off, air the house, and call the licensed service.".into(),
        ));
    }
    let text = format!(
        "The vent draws {}; within {} min is asked for ({whose}).",
        if seconds == 0.0 {
            "at once".to_owned()
        } else {
            format!("after {} min", shown(seconds / 60.0))
        },
        shown(ruling.limit.value / 60.0),
    );
    Some(match ruling.holds(seconds) {
        _ if ruling.limit.holds(seconds) => kept(text),
        Some(_) => breaks(text),
        None => warns(text),
    })
}

/// Seconds for which a vent spills by the words for it; without end if it does not draw. Words that
/// could mean either are taken for the worse.
fn spills_for(typed: &str) -> Option<f64> {
    let words = typed.to_lowercase();
    let has = |some: &[&str]| some.iter().any(|word| words.contains(word));
    let spills = has(&["spill"]) && !has(&["no spill", "not spill", "spills for"]);
    if spills || has(&["no draft", "not draw", "backdraft"]) {
        return Some(f64::INFINITY);
    }
    if let Some(at) = words.find(|c: char| c.is_ascii_digit()) {
        let mut rest = words[at..].split([' ', ',', ';', ')']);
        let (number, unit) = (rest.next()?, rest.next().unwrap_or_default());
        let seconds = [format!("{number} {unit}"), number.to_owned()]
            .iter()
            .find_map(|text| Typed::<Duration>::parse(text).ok())?;
        return Some(seconds.value.si());
    }
    let at_once = has(&["at once", "immediately", "no spill", "not spill"]);
    (at_once || matches!(words.as_str(), "none" | "draws")).then_some(0.0)
}

/// Pressure of a natural-draft vent against the room (Pa) that is asked for at an outdoor temperature
/// (°C): the table of the row "draft", which goes by °F.
fn least_draft(outdoor: f64) -> f64 {
    let fahrenheit = 1.8 * outdoor + 32.0;
    match fahrenheit {
        cold if cold < 10.0 => 2.5,
        mild if mild <= 90.0 => 2.75 - mild / 40.0,
        _ => 0.5,
    }
}

/// Draft of a natural-draft vent.
fn draft(job: &Job, appliance: &Appliance, test: &Combustion, outdoor: &str) -> Option<Compared> {
    let typed = test.draft.trim();
    if typed.is_empty() {
        return None;
    }
    let value = match Typed::<Pressure>::parse(typed) {
        Ok(pressure) => pressure.value.si(),
        Err(error) => return Some(unreadable("the draft", error.to_string())),
    };
    let natural = matches!(
        appliance.venting,
        Some(
            Venting::NaturalDraft
                | Venting::NaturalDraftShared
                | Venting::NaturalDraftWaterHeaterAlone
        )
    );
    if !natural {
        return Some(kept(format!(
            "The draft, {} Pa, is kept; the table of drafts is for natural-draft appliances alone.",
            shown(value)
        )));
    }
    if value >= 0.0 {
        return Some(warns(format!(
            "The draft is entered as {} Pa, so the vent presses into the room. If it draws, write it with a minus.",
            shown(value)
        )));
    }
    let row = job.rules.rows().find(|row| row.id == "draft")?;
    let whose = format!("{}, {}", row.source(), row.confidence.name());
    let Some(outdoor) = temperature(outdoor) else {
        return Some(warns(format!(
            "The draft is {} Pa. How much is asked for goes by the outdoor temperature, which is not noted ({whose}).",
            shown(-value)
        )));
    };
    let least = least_draft(outdoor);
    let text = format!(
        "The vent draws with {} Pa; at least {} Pa is asked for at the outdoor temperature of the day ({whose}).",
        shown(-value),
        shown(least)
    );
    Some(if -value >= least {
        kept(text)
    } else {
        warns(text)
    })
}

/// Carbon monoxide in the flue (ppm) from which it is looked at: no row has it. 400 ppm air-free is
/// a usual limit for furnaces and 200 ppm for water heaters, from memory.
const FLUE: f64 = 200.0;

/// Carbon monoxide in the flue.
fn flue(test: &Combustion) -> Option<Compared> {
    let typed = test.carbon_monoxide.trim();
    if typed.is_empty() {
        return None;
    }
    let what = "carbon monoxide in the flue";
    let Some(ppm) = parts_per_million(typed) else {
        return Some(unreadable(what, no_ppm(typed)));
    };
    let whose = "no rule of this program has a limit; 400 ppm air-free for furnaces and 200 ppm for water heaters are usual, from memory. The appliance's papers decide";
    let text = format!("There are {} ppm of {what} ({whose}).", shown(ppm));
    Some(if ppm <= FLUE {
        kept(text)
    } else {
        warns(format!(
            "{text} Have the licensed service look at the burner."
        ))
    })
}

/// Carbon monoxide in the room, by the action levels of the row "ambient carbon monoxide".
fn room(job: &Job, test: &Combustion) -> Option<Compared> {
    let typed = test.room_carbon_monoxide.trim();
    if typed.is_empty() {
        return None;
    }
    let what = "carbon monoxide in the room";
    let Some(ppm) = parts_per_million(typed) else {
        return Some(unreadable(what, no_ppm(typed)));
    };
    let row = job
        .rules
        .rows()
        .find(|row| row.id == "ambient carbon monoxide")?;
    let whose = format!("{}, {}", row.source(), row.confidence.name());
    let text = format!("There are {} ppm of {what}", shown(ppm));
    let stop = if row.decides() { breaks } else { warns };
    Some(match ppm {
        high if high >= 70.0 => stop(format!("{text}: leave the house now ({whose}).")),
        high if high >= 36.0 => stop(format!("{text}: stop work and air the house ({whose}).")),
        high if high >= 9.0 => warns(format!("{text}: find the cause ({whose}).")),
        _ => kept(format!(
            "{text}, below 9 ppm, from which its cause is looked for ({whose})."
        )),
    })
}

/// Parts per million as typed: `12 ppm`, `12`, `12 ppm air-free`, `0.01 %`.
fn parts_per_million(typed: &str) -> Option<f64> {
    let typed = typed.trim().to_lowercase();
    let cut = typed
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
        .unwrap_or(typed.len());
    let (number, unit) = typed.split_at(cut);
    let number: f64 = number.replace(',', ".").parse().ok()?;
    let unit = unit.trim();
    match unit.strip_prefix("ppm").map(str::trim) {
        Some("" | "air-free" | "air free" | "airfree") => Some(number),
        None if unit.is_empty() => Some(number),
        None if unit == "%" => Some(1e4 * number),
        _ => None,
    }
}

fn no_ppm(typed: &str) -> String {
    format!("\"{typed}\" is no number of parts per million, like 12 ppm")
}

/// One decimal, none if it is zero.
fn shown(value: f64) -> String {
    let text = format!("{value:.1}");
    true_minus(text.strip_suffix(".0").unwrap_or(&text))
}

fn kept(text: String) -> Compared {
    Compared {
        judgement: Judgement::Kept,
        text,
    }
}

fn warns(text: String) -> Compared {
    Compared {
        judgement: Judgement::Warns,
        text,
    }
}

fn breaks(text: String) -> Compared {
    Compared {
        judgement: Judgement::Breaks,
        text,
    }
}

fn unreadable(what: &str, why: String) -> Compared {
    Compared {
        judgement: Judgement::Unreadable,
        text: format!(
            "{} was not understood: {why}. It is kept as typed, and compared with nothing.",
            capital(what)
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_vent_did_in_words() {
        for (typed, seconds) in [
            ("draws at once", Some(0.0)),
            ("none", Some(0.0)),
            ("no spillage", Some(0.0)),
            ("draws after 2 min", Some(120.0)),
            ("Draws after 90 s, steady", Some(90.0)),
            ("no spillage after 2 min", Some(120.0)),
            ("spills for 3 min", Some(180.0)),
            ("spills", Some(f64::INFINITY)),
            ("still spills after 5 min", Some(f64::INFINITY)),
            ("does not draw", Some(f64::INFINITY)),
            ("fine", None),
            ("after 2 lbs", None),
        ] {
            assert_eq!(spills_for(typed), seconds, "{typed}");
        }
    }

    #[test]
    fn parts_per_million_as_typed() {
        for (typed, ppm) in [
            ("12 ppm", Some(12.0)),
            ("12", Some(12.0)),
            ("35ppm", Some(35.0)),
            ("120 ppm air-free", Some(120.0)),
            ("0,01 %", Some(100.0)),
            ("-3 ppm", None),
            ("12 cfm", None),
            ("low", None),
            ("", None),
        ] {
            assert_eq!(parts_per_million(typed), ppm, "{typed}");
        }
    }

    /// The numbers here are those of the rows, whose sentences carry them.
    #[test]
    fn the_rows_say_the_same() {
        let demand = |id: &str| {
            let book = rules_of_the_trade();
            let row = book.rows().find(|row| row.id == id).expect("a row");
            row.demand
        };
        for number in [
            "2.5 Pa below 10 °F",
            "2.75 Pa less the outdoor temperature in °F over 40",
            "up to 90 °F",
            "0.5 Pa above",
        ] {
            assert!(demand("draft").contains(number), "{number}");
        }
        for number in ["At 70 ppm", "from 36 ppm", "from 9 ppm"] {
            assert!(
                demand("ambient carbon monoxide").contains(number),
                "{number}"
            );
        }
        // (outdoor temperature in °C, least draft in Pa): 0, 10, 50, 90 and 95 °F by hand.
        for (outdoor, least) in [
            (-17.8, 2.5),
            (-12.2, 2.5),
            (10.0, 1.5),
            (32.2, 0.5),
            (35.0, 0.5),
        ] {
            assert!((least_draft(outdoor) - least).abs() < 0.01, "{outdoor}");
        }
    }

    fn rules_of_the_trade() -> rules::RuleBook {
        rules::RuleBook::common_practice()
    }
}
