//! Values as they were typed.

use commission::traverse;
use house::model::StationDevice;
use units::{Angle, Pressure, Quantity, Typed, VolumeFlow};

/// A value as the instrument showed it.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// Pa, or m³/s where the instrument shows a flow.
    pub value: f64,
    /// The number stood without a unit; that of the station was taken.
    pub unit_assumed: bool,
    /// How many places it is the mean of: more than one for a traverse.
    pub places: usize,
    /// What is odd about it although it can be used, in sentences.
    pub odd: Vec<String>,
}

/// Understands a value that was typed for a place: with its unit, or a bare number in the unit
/// `reads_in`. At a Pitot traverse it may be several velocity pressures, `12; 14; 13 Pa`, which are
/// averaged as velocities. There a number without a unit has that of the next one that has one, or of
/// the one before.
///
/// # Errors
/// What is wrong with it and what is accepted, in a sentence.
///
/// ```
/// use balancing::understand;
/// let pressure = understand("0.2 inWC", None, "Pa", None).unwrap();
/// assert!((pressure.value - 49.8178).abs() < 1e-3);
/// let bare = understand("-12,5", None, "Pa", None).unwrap();
/// assert_eq!((bare.value, bare.unit_assumed), (-12.5, true));
/// let wrong = understand("70 cfm", None, "Pa", None).unwrap_err();
/// assert!(wrong.contains("unit of volume flow"), "{wrong}");
/// ```
pub fn understand(
    text: &str,
    device: Option<&StationDevice>,
    reads_in: &str,
    air: Option<&air::AirState>,
) -> Result<Understood, String> {
    let text = text.trim();
    if let Some(StationDevice::PitotTraverse { area }) = device
        && let Some(air) = air
        && Typed::<VolumeFlow>::parse(text).is_err()
    {
        return traverse_flow(text, reads_in, *area, air);
    }
    let flow = device.is_some_and(StationDevice::shows_flow)
        || matches!(device, Some(StationDevice::PitotTraverse { .. }));
    let bare = is_bare(text);
    let with_unit = if bare {
        format!("{text} {reads_in}")
    } else {
        text.to_owned()
    };
    let value = if flow {
        Typed::<VolumeFlow>::parse(&with_unit).map(|typed| typed.value.si())
    } else {
        Typed::<Pressure>::parse(&with_unit).map(|typed| typed.value.si())
    };
    match value {
        Ok(value) => Ok(Understood {
            value,
            unit_assumed: bare,
            places: 1,
            odd: Vec::new(),
        }),
        Err(error) => Err(error.to_string()),
    }
}

/// Whether a text is a number and nothing else.
fn is_bare(text: &str) -> bool {
    !text.is_empty() && text.chars().all(is_of_number)
}

/// Whether a text is a number, or a list of numbers, and nothing else.
pub(crate) fn is_bare_list(text: &str) -> bool {
    text.chars().any(|c| c.is_ascii_digit())
        && text
            .chars()
            .all(|c| is_of_number(c) || c == ';' || c.is_whitespace())
}

pub(crate) fn is_of_number(c: char) -> bool {
    c.is_ascii_digit() || "+-−.,".contains(c)
}

/// The flow of a traverse from its velocity pressures.
fn traverse_flow(
    text: &str,
    reads_in: &str,
    area: f64,
    air: &air::AirState,
) -> Result<Understood, String> {
    let points = points(text);
    let unit_assumed = points.iter().all(|(_, unit)| unit.is_empty());
    let mut unit = points
        .iter()
        .rev()
        .find(|(_, unit)| !unit.is_empty())
        .map_or(reads_in, |(_, unit)| unit.as_str());
    let mut pressures = Vec::with_capacity(points.len());
    for (number, own) in points.iter().rev() {
        if !own.is_empty() {
            unit = own;
        }
        let typed = Typed::<Pressure>::parse(&format!("{number} {unit}"));
        pressures.push(typed.map_err(|error| error.to_string())?.value.si());
    }
    let traverse = traverse::average(&pressures, area, air).map_err(|error| error.to_string())?;
    Ok(Understood {
        value: traverse.flow,
        unit_assumed,
        places: pressures.len(),
        odd: odd_traverse(&pressures),
    })
}

/// The numbers of a list, each with the unit that stands behind it; may be empty. They stand apart by
/// semicolons, by blanks, or by commas with a blank behind.
fn points(text: &str) -> Vec<(String, String)> {
    let text = text.replace(", ", "; ");
    let mut points: Vec<(String, String)> = Vec::new();
    for piece in text.split(';') {
        let mut first = true;
        for word in piece.split_whitespace() {
            let cut = word.find(|c: char| !is_of_number(c)).unwrap_or(word.len());
            let (number, unit) = word.split_at(cut);
            match points.last_mut() {
                Some((_, before)) if number.is_empty() && !first => {
                    if !before.is_empty() {
                        before.push(' ');
                    }
                    before.push_str(unit);
                }
                _ => points.push((number.to_owned(), unit.to_owned())),
            }
            first = false;
        }
    }
    points
}

/// What is odd about velocity pressures that can be averaged all the same.
fn odd_traverse(pressures: &[f64]) -> Vec<String> {
    let count = pressures.len();
    let mut odd = Vec::new();
    let points = |some: usize| match some {
        1 => format!("1 of the {count} velocity pressures is"),
        _ => format!("{some} of the {count} velocity pressures are"),
    };
    let negative = pressures.iter().filter(|value| **value < 0.0).count();
    if negative > 0 && negative < count {
        odd.push(format!(
            "{} negative: the air turns back there, the hoses were exchanged for a moment, or the place is too near a fitting. It counts as air that flows back; a longer straight run reads surer.",
            points(negative)
        ));
    }
    let nothing = pressures.iter().filter(|value| **value == 0.0).count();
    if nothing > 0 {
        odd.push(format!(
            "{} zero: no air moves there, or less than the instrument can show. It counts as no air.",
            points(nothing)
        ));
    }
    if !is_a_traverse(count) {
        odd.push(format!(
            "A traverse has {}; here {}. The mean is taken all the same, and is less sure (log-Tchebycheff and log-linear rules of ISO 3966, counts from memory).",
            "6, 8 or 10 places on each of 2 or 3 diameters of a round duct, or 5 to 7 by 5 to 7 in a rectangular one",
            match count {
                1 => "it is 1 place".to_owned(),
                _ => format!("it is {count} places"),
            }
        ));
    }
    odd
}

/// Whether the rules know so many places: diameters of a round duct, or the lines of a rectangular one.
fn is_a_traverse(count: usize) -> bool {
    let round = [2, 3].into_iter().any(|diameters| {
        count.is_multiple_of(diameters)
            && traverse::round_places(traverse::Rule::LogTchebycheff, count / diameters).is_ok()
    });
    let sides = || {
        [0.5, 0.8, 1.2]
            .into_iter()
            .filter_map(|side| traverse::rectangular_places(side).ok())
    };
    round || sides().any(|across| sides().any(|up| across.len() * up.len() == count))
}

/// The same value read with the hoses the other way round: every number of it with its sign turned.
///
/// ```
/// assert_eq!(balancing::turned("-0.605 inWC"), "0.605 inWC");
/// assert_eq!(balancing::turned("−12; 3; -14 Pa"), "12; -3; 14 Pa");
/// ```
pub fn turned(text: &str) -> String {
    let mut result = String::with_capacity(text.len() + 4);
    // Whether a number could begin here, and the sign that was met.
    let mut begins = true;
    let mut sign = None;
    for character in text.chars() {
        match character {
            '-' | '−' if begins => sign = Some(true),
            '+' if begins => sign = Some(false),
            _ => {
                let number = character.is_ascii_digit() || character == '.';
                if begins && number && sign != Some(true) {
                    result.push('-');
                }
                begins = character == ';' || character.is_whitespace();
                sign = None;
                result.push(character);
            }
        }
    }
    result
}

/// An angle from open (°) as typed by the mark of a damper: `35`, `35 deg`, `35°`, `open`.
///
/// ```
/// assert_eq!(balancing::angle("35°"), Some(35.0));
/// assert_eq!(balancing::angle("open"), Some(0.0));
/// assert_eq!(balancing::angle("120"), None);
/// ```
pub fn angle(text: &str) -> Option<f64> {
    let text = text.trim();
    let degrees = if text.eq_ignore_ascii_case("open") {
        0.0
    } else if is_bare(text) {
        text.replace(',', ".").parse().ok()?
    } else {
        Typed::<Angle>::parse(text)
            .ok()
            .map(|typed| typed.value.si().to_degrees())?
    };
    // What comes back from radians is not exactly the number that was typed.
    let degrees = (degrees * 1e6).round() / 1e6;
    (0.0..=90.0).contains(&degrees).then_some(degrees)
}
