//! Limits that several tables share.

use std::ops::RangeInclusive;

use units::{Length, Pressure, Quantity, Temperature, Typed};

use super::reader::Reader;
use super::value::{Given, Slot};

/// A temperature in a range; one below absolute zero is named as such.
pub(super) fn temperature(
    field: &str,
    slot: &Slot<Typed<Temperature>>,
    range: RangeInclusive<f64>,
    accepted: &str,
    reader: &mut Reader,
) -> f64 {
    let below_zero = slot
        .given()
        .is_some_and(|given| given.value.value.si() < -273.15);
    let accepted = if below_zero {
        format!("{accepted}; this is below absolute zero")
    } else {
        accepted.to_owned()
    };
    reader.within(field, slot, range, &accepted)
}

/// Reports a tap beyond the end of its duct.
pub(super) fn beyond_end(field: &str, typed: &Given<Typed<Length>>, end: f64, reader: &mut Reader) {
    let end = Length::from_si(end).show(reader.system);
    reader.error(
        &typed.span,
        format!(
            "{field} of {} lies beyond the end of the duct",
            typed.value.text
        ),
        format!("the trunk is {end} long; measure along the duct, or correct its length"),
    );
}

/// A pressure in a range that ducts of houses can have.
pub(super) fn duct_pressure(field: &str, slot: &Slot<Typed<Pressure>>, reader: &mut Reader) -> f64 {
    reader.within(
        field,
        slot,
        -1500.0..=1500.0,
        "within 6 inWC (1500 Pa) of the house",
    )
}
