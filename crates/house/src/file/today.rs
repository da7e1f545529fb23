//! What ventilates the house today, and its other exhausts.

use units::{Length, Typed};

use super::Places;
use super::limits::beyond_end;
use super::reader::{Names, Reader};
use super::tables::{ExistingTable, JobTable};
use super::value::Slot;
use super::words::Ventilation;
use crate::model::{AirHandler, Appliance, Exhaust, Existing, Serves};

pub(super) fn exhausts(table: &JobTable, places: &Places, reader: &mut Reader) -> Vec<Exhaust> {
    let members = table.exhaust.each();
    Names::collect("exhaust", members, |exhaust| &exhaust.name, reader);
    members
        .iter()
        .map(|given| Exhaust {
            name: given.value.name.value().cloned().unwrap_or_default(),
            zone: places.zone("exhaust.zone", &given.value.zone, &given.span, true, reader),
            flow: reader.within(
                "exhaust.flow",
                &given.value.flow,
                1e-4..=1.5,
                "above zero and at most 3000 cfm (1500 L/s)",
            ),
            continuous: given.value.continuous.value().copied().unwrap_or(false),
            serves: Serves::Nothing,
        })
        .collect()
}

pub(super) fn appliances(
    table: &JobTable,
    places: &Places,
    reader: &mut Reader,
) -> (Vec<Appliance>, bool) {
    let members = table.appliance.each();
    Names::collect("appliance", members, |appliance| &appliance.name, reader);
    let nothing_burns = table
        .house
        .given()
        .and_then(|house| house.value.nothing_burns.value().copied())
        .unwrap_or(false);
    if nothing_burns && let Some(given) = members.first() {
        reader.error(
            &given.span,
            "house.nothing_burns is true, but here is an appliance",
            "take one of the two away",
        );
    }
    let appliances = members
        .iter()
        .map(|given| {
            let limit = &given.value.limit;
            Appliance {
                name: given.value.name.value().cloned().unwrap_or_default(),
                zone: places.zone(
                    "appliance.zone",
                    &given.value.zone,
                    &given.span,
                    false,
                    reader,
                ),
                venting: given.value.venting.value().copied(),
                limit: (!limit.is_absent()).then(|| {
                    reader.within(
                        "appliance.limit",
                        limit,
                        0.5..=100.0,
                        "0.5 to 100 Pa below outdoors",
                    )
                }),
            }
        })
        .collect();
    (appliances, nothing_burns)
}

pub(super) fn existing(
    table: &JobTable,
    places: &Places,
    air_handler: Option<&AirHandler>,
    reader: &mut Reader,
) -> Existing {
    let Some(given) = table.existing.given() else {
        if table.existing.is_absent() {
            reader.assume("existing.ventilation", "none", "no ventilation is given");
        }
        return Existing::Nothing;
    };
    let existing = &given.value;
    let Some(ventilation) = existing.ventilation.value() else {
        return Existing::Nothing;
    };
    unused_keys(existing, *ventilation, reader);
    let stays = existing.stays.value().copied().unwrap_or(false);
    let missing = |key: &str, reader: &mut Reader| {
        reader.error(
            &given.span,
            format!("existing.{key} is missing"),
            "give what was measured",
        );
    };
    match ventilation {
        Ventilation::Nothing => Existing::Nothing,
        Ventilation::ExhaustOnly => {
            if existing.flow.is_absent() {
                missing("flow", reader);
            }
            Existing::ExhaustOnly {
                zone: places.zone("existing.zone", &existing.zone, &given.span, true, reader),
                flow: reader.within(
                    "existing.flow",
                    &existing.flow,
                    1e-4..=1.5,
                    "above zero and at most 3000 cfm (1500 L/s)",
                ),
                stays,
            }
        }
        Ventilation::SupplyOnly => {
            for (key, slot) in [
                ("diameter", &existing.diameter),
                ("length", &existing.length),
                ("from_fan", &existing.from_fan),
            ] {
                if slot.is_absent() {
                    missing(key, reader);
                }
            }
            let from_fan = reader.not_negative("existing.from_fan", &existing.from_fan);
            match (air_handler, existing.from_fan.given()) {
                (None, _) if table.air_handler.is_absent() => reader.error(
                    &given.span,
                    "existing: supply-only ventilation needs a return duct",
                    "describe the [air_handler], or choose another kind",
                ),
                (Some(air_handler), Some(typed)) if from_fan > air_handler.return_path.length => {
                    beyond_end(
                        "existing.from_fan",
                        typed,
                        air_handler.return_path.length,
                        reader,
                    );
                }
                _ => {}
            }
            Existing::SupplyOnly {
                diameter: reader.within(
                    "existing.diameter",
                    &existing.diameter,
                    0.05..=0.5,
                    "from 2 to 20 in (5 to 50 cm)",
                ),
                length: reader.within(
                    "existing.length",
                    &existing.length,
                    0.0..=100.0,
                    "from 0 to 328 ft (100 m)",
                ),
                from_fan,
                stays,
            }
        }
    }
}

fn unused_keys(existing: &ExistingTable, ventilation: Ventilation, reader: &mut Reader) {
    let exhaust = ventilation == Ventilation::ExhaustOnly;
    let supply = ventilation == Ventilation::SupplyOnly;
    let span = |slot: &Slot<Typed<Length>>| slot.given().map(|given| given.span.clone());
    let keys = [
        (
            "zone",
            existing.zone.given().map(|given| given.span.clone()),
            exhaust,
        ),
        (
            "flow",
            existing.flow.given().map(|given| given.span.clone()),
            exhaust,
        ),
        ("diameter", span(&existing.diameter), supply),
        ("length", span(&existing.length), supply),
        ("from_fan", span(&existing.from_fan), supply),
    ];
    for (key, span, belongs) in keys {
        if let Some(span) = span.filter(|_| !belongs) {
            reader.error(
                &span,
                format!("existing.{key} does not belong to this kind of ventilation"),
                "exhaust-only has zone and flow; supply-only has diameter, length and from_fan",
            );
        }
    }
}
