//! Values as they were typed.

use commission::traverse;
use house::model::StationDevice;
use units::{Angle, Pressure, Quantity, Typed, VolumeFlow};

/// A value as the instrument showed it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Understood {
    /// Pa, or m³/s where the instrument shows a flow.
    pub value: f64,
    /// The number stood without a unit; that of the station was taken.
    pub unit_assumed: bool,
}

/// Understands a value that was typed for a place: with its unit, or a bare number in the unit
/// `reads_in`. At a Pitot traverse it may be several velocity pressures, `12; 14; 13 Pa`, which are
/// averaged as velocities.
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
        }),
        Err(error) => Err(error.to_string()),
    }
}

/// Whether a text is a number and nothing else.
fn is_bare(text: &str) -> bool {
    !text.is_empty()
        && text
            .chars()
            .all(|c| c.is_ascii_digit() || "+-−.,".contains(c))
}

/// The flow of a traverse from its velocity pressures.
fn traverse_flow(
    text: &str,
    reads_in: &str,
    area: f64,
    air: &air::AirState,
) -> Result<Understood, String> {
    let cut = text
        .rfind(|c: char| c.is_ascii_digit() || c == '.')
        .map_or(0, |at| at + 1);
    let (numbers, unit) = text.split_at(cut);
    let unit = unit.trim();
    let unit_assumed = unit.is_empty();
    let unit = if unit_assumed { reads_in } else { unit };
    let pressures: Result<Vec<f64>, String> = numbers
        .split(|c: char| c == ';' || c.is_whitespace())
        .filter(|number| !number.is_empty())
        .map(|number| {
            Typed::<Pressure>::parse(&format!("{number} {unit}"))
                .map(|typed| typed.value.si())
                .map_err(|error| error.to_string())
        })
        .collect();
    let traverse = traverse::average(&pressures?, area, air).map_err(|error| error.to_string())?;
    Ok(Understood {
        value: traverse.flow,
        unit_assumed,
    })
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
