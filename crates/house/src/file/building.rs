//! The building and its weather.

use diagnostics::Problem;
use units::{Fraction, Length, Quantity, Temperature, Typed, Uncertainty, VolumeFlow};

use super::customary::{FOOT, HOUR, fahrenheit};
use super::limits::temperature;
use super::reader::Reader;
use super::tables::{ClimateTable, HouseTable};
use super::value::Slot;
use super::words::{BlowerDoor, Tightness};
use crate::model::{Building, Climate, Estimate, Humidity, Season, Weather};

pub(super) fn building(slot: &Slot<HouseTable>, reader: &mut Reader) -> Building {
    let absent = HouseTable::default();
    let house = slot.value().unwrap_or(&absent);
    let altitude = reader.within(
        "house.altitude",
        &house.altitude,
        -430.0..=6000.0,
        "between the Dead Sea and the highest towns: -1400 to 19700 ft (-430 to 6000 m)",
    );
    let floor_area = reader.positive("house.floor_area", &house.floor_area);
    if let Some(given) = house.floor_area.given()
        && (!(20.0..=2500.0).contains(&floor_area))
    {
        reader.warn(
            &given.span,
            format!("house.floor_area of {} is unusual", given.value.text),
            "houses have about 200 to 27000 ft2 (20 to 2500 m2)",
        );
    }
    let ceiling_height = reader.within(
        "house.ceiling_height",
        &house.ceiling_height,
        1.8..=9.0,
        "from 6 to 30 ft (1.8 to 9 m)",
    );
    let ceiling_height = reader.or_default::<Length, _>(
        "house.ceiling_height",
        &house.ceiling_height,
        ceiling_height,
        8.0 * FOOT,
        "usual ceiling (common practice, no published source)",
    );
    let storeys = house.storeys.given().map_or(f64::NAN, |given| {
        if !(0.5..=5.0).contains(&given.value.value) {
            reader.error(
                &given.span,
                format!("house.storeys cannot be {}", given.value.text),
                "a house has 1 to 5 storeys above grade",
            );
        }
        given.value.value
    });
    let bedrooms = house.bedrooms.given().map_or(0, |given| {
        if given.value > 20 {
            reader.error(
                &given.span,
                format!("house.bedrooms cannot be {}", given.value),
                "a house has 0 to 20 bedrooms",
            );
        }
        given.value
    });
    let occupants = house.occupants.value().copied().unwrap_or_else(|| {
        let people = bedrooms.max(1) + 1;
        reader.assume(
            "house.occupants",
            people.to_string(),
            "bedrooms plus one (ASHRAE 62.2-2019, 4.1.1)",
        );
        people
    });
    if house.occupants.value() == Some(&0) {
        let span = house
            .occupants
            .given()
            .map_or(0..0, |given| given.span.clone());
        reader.error(
            &span,
            "house.occupants cannot be 0",
            "count the people who live there",
        );
    }
    let volume = floor_area * ceiling_height;
    let leakage_at_50_pascals = leakage(house, volume, reader);
    let leakage_exponent = reader.number(
        "house.leakage_exponent",
        &house.leakage_exponent,
        0.5..=1.0,
        (0.65, 0.05),
        "usual for houses (from memory; 0.5 is turbulent, 1 laminar)",
    );
    let required_rate = house.required_rate.given().map(|given| {
        let rate = reader.positive("house.required_rate", &house.required_rate);
        if rate > volume / 1800.0 {
            reader.warn(
                &given.span,
                format!(
                    "house.required_rate of {} is more than two air changes an hour",
                    given.value.text
                ),
                "dwellings need about 0.2 to 0.5",
            );
        }
        rate
    });
    Building {
        place: house.place.value().cloned().unwrap_or_default(),
        altitude,
        floor_area,
        ceiling_height,
        storeys,
        bedrooms,
        occupants,
        leakage_at_50_pascals,
        leakage_exponent,
        required_rate,
    }
}

/// Flow through the closed envelope at 50 Pa.
fn leakage(house: &HouseTable, volume: f64, reader: &mut Reader) -> Estimate {
    const FIELD: &str = "house.blower_door";
    const WIDTH: Uncertainty = Uncertainty::Relative(0.05);
    const REASON: &str = "one blower-door test on a calm day (from memory)";
    if let (Slot::Good(door), Slot::Good(tightness)) = (&house.blower_door, &house.tightness) {
        reader.problem(
            Problem::error(
                "blower_door and tightness contradict each other",
                tightness.span.clone(),
            )
            .label("an estimate")
            .related(door.span.clone(), "a measurement")
            .help("keep the measurement and delete tightness"),
        );
    }
    let flow = match &house.blower_door {
        Slot::Good(given) => match &given.value {
            BlowerDoor::Flow(typed) => {
                reader.estimate(FIELD, typed, typed.value.si(), WIDTH, REASON)
            }
            BlowerDoor::Changes(typed) => {
                let changes = reader.estimate(FIELD, typed, typed.value.si(), WIDTH, REASON);
                Estimate {
                    value: changes.value * volume,
                    deviation: changes.deviation * volume,
                    ..changes
                }
            }
        },
        Slot::Refused => return Estimate::exact(f64::NAN),
        Slot::Absent => {
            let class = match &house.tightness {
                Slot::Refused => return Estimate::exact(f64::NAN),
                Slot::Absent => {
                    reader.assume(
                        "house.tightness",
                        "average",
                        "no blower door and no tightness is given (from memory)",
                    );
                    Tightness::Average
                }
                Slot::Good(given) => given.value,
            };
            let changes = match class {
                Tightness::Leaky => 12.0,
                Tightness::Average => 7.0,
                Tightness::Tight => 3.0,
                Tightness::VeryTight => 1.2,
            };
            let flow = changes / HOUR * volume;
            const REASON: &str =
                "leaky 12, average 7, tight 3, very tight 1.2 air changes at 50 Pa (from memory)";
            return reader.default_estimate::<VolumeFlow>(FIELD, flow, 0.8 * flow, REASON);
        }
    };
    let Some(given) = house.blower_door.given() else {
        return flow;
    };
    let changes = flow.value * HOUR / volume;
    if flow.value <= 0.0 {
        reader.error(
            &given.span,
            "house.blower_door must be above zero",
            "every house leaks",
        );
    } else if changes.is_finite() && !(0.2..=40.0).contains(&changes) {
        reader.warn(
            &given.span,
            format!("house.blower_door gives {changes:.1} air changes an hour at 50 Pa"),
            "houses have about 0.3 to 30; check the flow, the floor area and the ceiling height",
        );
    }
    flow
}

pub(super) fn climate(slot: &Slot<ClimateTable>, reader: &mut Reader) -> Climate {
    let absent = ClimateTable::default();
    let table = slot.value().unwrap_or(&absent);
    let outdoor = |key: &str, slot: &Slot<Typed<Temperature>>, reader: &mut Reader| {
        temperature(
            &format!("climate.{key}"),
            slot,
            -60.0..=60.0,
            "from -76 to 140 °F (-60 to 60 °C)",
            reader,
        )
    };
    let indoor = |key: &str, slot: &Slot<Typed<Temperature>>, reader: &mut Reader| {
        temperature(
            &format!("climate.{key}"),
            slot,
            5.0..=40.0,
            "from 41 to 104 °F (5 to 40 °C)",
            reader,
        )
    };
    let winter = outdoor("winter", &table.winter, reader);
    let summer = outdoor("summer", &table.summer, reader);
    let mild = outdoor("mild", &table.mild, reader);
    let mild = reader.or_default::<Temperature, _>(
        "climate.mild",
        &table.mild,
        mild,
        // Not `clamp`, which panics where both temperatures were refused and are not numbers.
        fahrenheit(55.0)
            .max(winter.min(summer))
            .min(summer.max(winter)),
        "a day without heating or cooling (common practice, no published source)",
    );
    let indoor_winter = indoor("indoor_winter", &table.indoor_winter, reader);
    let indoor_winter = reader.or_default::<Temperature, _>(
        "climate.indoor_winter",
        &table.indoor_winter,
        indoor_winter,
        fahrenheit(70.0),
        "usual design room in winter (common practice, no published source)",
    );
    let indoor_summer = indoor("indoor_summer", &table.indoor_summer, reader);
    let indoor_summer = reader.or_default::<Temperature, _>(
        "climate.indoor_summer",
        &table.indoor_summer,
        indoor_summer,
        fahrenheit(75.0),
        "usual design room in summer (common practice, no published source)",
    );
    if let (Slot::Good(cold), Slot::Good(hot)) = (&table.winter, &table.summer) {
        if summer < winter {
            reader.problem(
                Problem::error("climate: summer is colder than winter", hot.span.clone())
                    .label("summer")
                    .related(cold.span.clone(), "winter")
                    .help("are the two exchanged, or is a minus sign missing?"),
            );
        } else if let Some(given) = table.mild.given()
            && (mild < winter || mild > summer)
        {
            reader.warn(
                &given.span,
                "climate.mild is not between winter and summer",
                "a mild day lies between the design days",
            );
        }
    }
    let wind = reader.within(
        "climate.wind",
        &table.wind,
        0.0..=40.0,
        "from 0 to 90 mph (0 to 40 m/s)",
    );
    let wind_speed = if table.wind.is_absent() {
        reader.assume(
            "climate.wind",
            "9 mph (4 m/s)",
            "a breezy day at eaves height (from memory)",
        );
        4.0
    } else {
        wind
    };
    let humidity = humidity(table, summer, reader);
    let snow = reader.within(
        "climate.snow",
        &table.snow,
        0.0..=5.0,
        "from 0 to 16 ft (5 m)",
    );
    let weather = |season, outdoor, indoor| Weather {
        season,
        outdoor,
        indoor,
    };
    Climate {
        weathers: [
            weather(Season::Winter, winter, indoor_winter),
            weather(Season::Mild, mild, 0.5 * (indoor_winter + indoor_summer)),
            weather(Season::Summer, summer, indoor_summer),
        ],
        wind_speed,
        humidity,
        snow: if table.snow.is_absent() { 0.0 } else { snow },
    }
}

/// Moisture indoors and out.
fn humidity(table: &ClimateTable, summer: f64, reader: &mut Reader) -> Humidity {
    let mut indoor = |key: &str, slot: &Slot<Typed<Fraction>>, default: f64| {
        let field = format!("climate.{key}");
        let value = reader.within(&field, slot, 0.05..=0.95, "from 5 to 95 %");
        reader.or_default::<Fraction, _>(
            &field,
            slot,
            value,
            default,
            "usual room at design conditions (common practice, no published source)",
        )
    };
    let indoor_winter = indoor(
        "indoor_winter_humidity",
        &table.indoor_winter_humidity,
        0.35,
    );
    let indoor_summer = indoor(
        "indoor_summer_humidity",
        &table.indoor_summer_humidity,
        0.55,
    );
    let dew_point = temperature(
        "climate.summer_dew_point",
        &table.summer_dew_point,
        -40.0..=35.0,
        "from -40 to 95 °F (-40 to 35 °C)",
        reader,
    );
    let summer_dew_point = reader.or_default::<Temperature, _>(
        "climate.summer_dew_point",
        &table.summer_dew_point,
        dew_point,
        half_saturated(summer),
        "summer design air at 50 % relative humidity (common practice, no published source)",
    );
    if let Some(given) = table.summer_dew_point.given()
        && summer_dew_point > summer
    {
        reader.error(
            &given.span,
            format!("climate.summer_dew_point cannot be {}", given.value.text),
            "a dew point lies below the temperature of the air, here climate.summer",
        );
    }
    Humidity {
        indoor_winter,
        indoor_summer,
        summer_dew_point,
    }
}

/// Dew point (°C) of air with a relative humidity of 50 %, by the Magnus formula with the
/// coefficients of Alduchov and Eskridge (1996), 17.625 and 243.04 °C.
fn half_saturated(temperature: f64) -> f64 {
    const A: f64 = 17.625;
    const B: f64 = 243.04;
    let exponent = 0.5_f64.ln() + A * temperature / (B + temperature);
    B * exponent / (A - exponent)
}
