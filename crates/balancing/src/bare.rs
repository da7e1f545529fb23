//! Numbers that were typed without a unit.

use std::ops::RangeInclusive;

use commission::{Interval, Place};
use units::{Pressure, Quantity, Temperature, Typed, Unit, VolumeFlow};

use crate::day::Day;
use crate::value::{is_bare_list, is_of_number, understand};

/// A text with the unit that its number was meant in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Completed {
    /// It has a unit, or is no number: as it was typed.
    AsTyped(String),
    /// With the unit that is usual there.
    Meant(String),
    /// In that unit it makes no sense: it has to be asked for.
    Doubtful {
        /// With the unit in which it would make sense, if there is one.
        better: Option<String>,
        /// What is odd, in a sentence.
        why: String,
    },
}

/// Temperatures that can be those of a day (°C).
pub const OUTDOORS: RangeInclusive<f64> = -50.0..=55.0;
/// Temperatures that a house can have (°C).
pub const INDOORS: RangeInclusive<f64> = 0.0..=45.0;

/// Units that are mistaken for each other.
const PRESSURES: [&str; 3] = ["inWC", "Pa", "mmH2O"];
const FLOWS: [&str; 3] = ["cfm", "L/s", "m³/h"];

/// A temperature that was typed, with its unit if it has none: in the usual one, or a question if it
/// cannot be one in it.
///
/// ```
/// use balancing::{Completed, OUTDOORS, complete_temperature};
/// let complete = |text| complete_temperature(text, "°C", OUTDOORS);
/// assert_eq!(complete("-20"), Completed::Meant("-20 °C".into()));
/// assert_eq!(complete("48 F"), Completed::AsTyped("48 F".into()));
/// let Completed::Doubtful { better, .. } = complete("70") else { panic!() };
/// assert_eq!(better.as_deref(), Some("70 °F"));
/// ```
pub fn complete_temperature(
    text: &str,
    usual: &'static str,
    possible: RangeInclusive<f64>,
) -> Completed {
    if !is_bare_list(text) {
        return Completed::AsTyped(text.to_owned());
    }
    let within = |unit: &str| {
        let typed = Typed::<Temperature>::parse(&format!("{text} {unit}"));
        typed.is_ok_and(|typed| possible.contains(&typed.value.si()))
    };
    if within(usual) {
        return Completed::Meant(format!("{text} {usual}"));
    }
    let other = if usual == "°C" { "°F" } else { "°C" };
    Completed::Doubtful {
        better: within(other).then(|| format!("{text} {other}")),
        why: format!("{text} {usual} cannot be the temperature there."),
    }
}

/// The unit that stands behind the last number of a text, and whether it is one of flow.
pub(crate) fn unit_of(text: &str) -> Option<(&'static Unit, bool)> {
    let unit = text
        .split(';')
        .map(|piece| piece.trim_start_matches(|c: char| is_of_number(c) || c.is_whitespace()))
        .rfind(|unit| !unit.is_empty())?;
    let one = format!("1 {unit}");
    Typed::<Pressure>::parse(&one)
        .map(|typed| (typed.unit, false))
        .or_else(|_| Typed::<VolumeFlow>::parse(&one).map(|typed| (typed.unit, true)))
        .ok()
}

pub(crate) fn is_of_flow(symbol: &str) -> bool {
    VolumeFlow::units().iter().any(|unit| unit.symbol == symbol)
}

impl Day {
    /// A reading that was typed at a place, with its unit if it has none: that which was typed last
    /// for such a place, else that of the station. If it cannot be in that unit, or would be likely
    /// in another one and is far from likely in this, it has to be asked for; it is never guessed.
    pub fn complete(&self, place: Place, text: &str, likely: Option<Interval>) -> Completed {
        let text = text.trim();
        if !is_bare_list(text) {
            return Completed::AsTyped(text.to_owned());
        }
        let usual = self.likely_unit(place);
        let (device, air) = self.device(place);
        let in_unit = |unit: &str| {
            let understood = understand(&format!("{text} {unit}"), device, usual, air);
            understood.ok().map(|understood| understood.value)
        };
        let Some(value) = in_unit(usual) else {
            // What is wrong with it is told when it is read.
            return Completed::AsTyped(text.to_owned());
        };
        let range = self
            .instrument(place, "")
            .map(|at| self.set_up.instruments()[at].range);
        let is_possible =
            |value: f64| range.is_none_or(|[low, high]| (low..=high).contains(&value));
        // The hoses may be exchanged: the sign says nothing.
        let is_likely = |value: f64| {
            likely.is_some_and(|likely| likely.contains(value) || likely.contains(-value))
        };
        let is_near = |value: f64| {
            likely.is_some_and(|Interval { low, high, .. }| {
                let least = if low * high > 0.0 {
                    low.abs().min(high.abs())
                } else {
                    0.0
                };
                let most = low.abs().max(high.abs());
                (0.5 * least..=2.0 * most).contains(&value.abs())
            })
        };
        let units = if is_of_flow(usual) { FLOWS } else { PRESSURES };
        let other = |fits: &dyn Fn(f64) -> bool| {
            let others = units.into_iter().filter(|unit| *unit != usual);
            others
                .into_iter()
                .find(|unit| in_unit(unit).is_some_and(fits))
        };
        let better = match likely {
            None => other(&is_possible),
            Some(_) if is_near(value) => other(&is_likely),
            Some(_) => other(&is_likely).or_else(|| other(&is_near)),
        };
        let odd = match (is_possible(value), likely) {
            (false, _) => "is more than the instrument can show",
            (true, Some(_)) if !is_likely(value) && better.is_some() => {
                "is far from what is likely there"
            }
            _ => return Completed::Meant(format!("{text} {usual}")),
        };
        Completed::Doubtful {
            better: better.map(|unit| format!("{text} {unit}")),
            why: format!("{text} {usual} {odd}."),
        }
    }
}
