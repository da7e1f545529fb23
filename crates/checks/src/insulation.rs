//! Insulated duct against published R-values, and against ht, CoolProp and scipy.

use crate::ducts::{rows, value, worst};
use crate::{Check, Tolerance};
use air::AirState;
use insulation::{
    InsulatedDuct, PLAIN, R_VALUE, Stream, Surface, film, flat_resistance, needed_resistance,
    surface, temperature_after,
};

use Tolerance::{Absolute, Relative};

const TUBES: &str = include_str!("../tables/insulation_tubes.csv");
const CYLINDERS: &str = include_str!("../tables/insulation_cylinders.csv");
const AIR: &str = include_str!("../tables/insulation_air.csv");
const SURFACES: &str = include_str!("../tables/insulation_surfaces.csv");
const RESISTANCES: &str = include_str!("../tables/insulation_resistances.csv");
const ALONG: &str = include_str!("../tables/insulation_along.csv");

const SUBJECT: &str = "insulated duct";
const HT: &str = "ht 1.2.0";
const COOLPROP: &str = "CoolProp 8.0.0";
const BALANCE: &str =
    "heat balance computed with ht 1.2.0, properties of CoolProp 8.0.0, roots of scipy 1.17.1";

/// Diameter of the duct in the tables (m).
const DIAMETER: f64 = 0.150;

/// The checks of the crate `insulation`.
pub(crate) fn checks() -> Vec<Check> {
    [true_resistances(), films(), surfaces(), resistances()].concat()
}

fn true_resistances() -> Vec<Check> {
    [(4.2, 3.41), (8.0, 5.62)]
        .into_iter()
        .map(|(nominal, expected)| Check {
            subject: SUBJECT,
            source: "Palmiter and Kruse, True R-values of round residential ductwork (abstract)"
                .to_owned(),
            input: format!("6 in duct, nominal R-{nominal}: true R without films"),
            unit: "h·ft²·°F/Btu",
            expected,
            got: value(
                InsulatedDuct::new(0.1524, nominal * R_VALUE, PLAIN)
                    .map(|duct| duct.true_resistance() / R_VALUE),
            ),
            tolerance: Relative(1e-3),
        })
        .collect()
}

fn films() -> Vec<Check> {
    let tubes = rows::<3>(TUBES)
        .into_iter()
        .map(|[reynolds, prandtl, nusselt]| {
            (
                format!("Re {reynolds}, Pr {prandtl}"),
                nusselt,
                film::tube_nusselt(reynolds, prandtl),
            )
        })
        .collect();
    let cylinders = rows::<3>(CYLINDERS)
        .into_iter()
        .map(|[rayleigh, prandtl, nusselt]| {
            (
                format!("Ra {rayleigh}, Pr {prandtl}"),
                nusselt,
                film::cylinder_nusselt(rayleigh, prandtl),
            )
        })
        .collect();
    let of_air = |column: usize, property: fn(f64) -> f64| {
        rows::<3>(AIR)
            .into_iter()
            .map(|row| (format!("{} °C", row[0]), row[column], property(row[0])))
            .collect()
    };
    vec![
        worst(
            SUBJECT,
            HT,
            "Nusselt number in a tube (Gnielinski)",
            "—",
            Relative(1e-9),
            tubes,
        ),
        worst(
            SUBJECT,
            HT,
            "Nusselt number at a cylinder (Churchill and Chu)",
            "—",
            // ht has the constants of the formula multiplied out, with eight digits.
            Relative(1e-6),
            cylinders,
        ),
        worst(
            SUBJECT,
            COOLPROP,
            "conductivity of dry air at 101 325 Pa",
            "W/(m·K)",
            Relative(0.0025),
            of_air(1, film::conductivity),
        ),
        worst(
            SUBJECT,
            COOLPROP,
            "Prandtl number of dry air at 101 325 Pa",
            "—",
            Relative(0.002),
            of_air(2, film::prandtl),
        ),
    ]
}

/// The duct of the tables in its room.
fn at(
    pressure: f64,
    [inside, ambient, humidity]: [f64; 3],
    nominal: f64,
    emissivity: f64,
    mass_flow: f64,
) -> Option<(Stream, AirState, Surface)> {
    let room = AirState::from_relative_humidity(ambient, humidity, pressure).ok()?;
    let stream = Stream::new(inside, mass_flow).ok()?;
    let duct = InsulatedDuct::new(DIAMETER, nominal * R_VALUE, emissivity).ok()?;
    Some((stream, room, surface(&duct, &stream, &room)))
}

fn surfaces() -> Vec<Check> {
    let compare = |what: &str, unit, tolerance, column: usize, got: fn(&Surface, f64) -> f64| {
        let points = rows::<13>(SURFACES)
            .into_iter()
            .map(|row| {
                let [pressure, inside, ambient, humidity, nominal, emissivity, flow, ..] = row;
                let found = at(
                    pressure,
                    [inside, ambient, humidity],
                    nominal,
                    emissivity,
                    flow,
                );
                let dew_point = found
                    .as_ref()
                    .and_then(|(_, room, _)| room.dew_point())
                    .unwrap_or(f64::NAN);
                (
                    format!(
                        "{inside} °C in {ambient} °C, {} %, R-{nominal}, emissivity {emissivity}, {pressure} Pa",
                        100.0 * humidity
                    ),
                    row[column],
                    found.map_or(f64::NAN, |(_, _, surface)| got(&surface, dew_point)),
                )
            })
            .collect();
        worst(SUBJECT, BALANCE, what, unit, tolerance, points)
    };
    let along = rows::<6>(ALONG)
        .into_iter()
        .map(|[inside, ambient, nominal, length, flow, expected]| {
            let got = at(
                air::STANDARD_PRESSURE,
                [inside, ambient, 0.2],
                nominal,
                0.9,
                flow,
            )
            .map_or(f64::NAN, |(stream, _, surface)| {
                value(temperature_after(&surface, &stream, ambient, length))
            });
            (
                format!("{inside} °C through {ambient} °C, R-{nominal}, {length} m"),
                expected,
                got,
            )
        })
        .collect();
    vec![
        compare(
            "temperature of the surface of a 150 mm duct",
            "°C",
            Absolute(0.03),
            8,
            |surface, _| surface.temperature,
        ),
        compare(
            "the same above the dew point of the room",
            "K",
            Absolute(0.03),
            10,
            |surface, dew_point| surface.temperature - dew_point,
        ),
        compare(
            "heat from the room into a metre of duct",
            "W/m",
            Relative(0.002),
            11,
            |surface, _| surface.heat_flow,
        ),
        worst(
            SUBJECT,
            BALANCE,
            "temperature of the air after a length of 150 mm duct",
            "°C",
            Absolute(0.01),
            along,
        ),
    ]
}

fn resistances() -> Vec<Check> {
    let points = rows::<6>(RESISTANCES)
        .into_iter()
        .map(|[inside, ambient, humidity, emissivity, flow, expected]| {
            let got = at(
                air::STANDARD_PRESSURE,
                [inside, ambient, humidity],
                0.0,
                emissivity,
                flow,
            )
            .and_then(|(stream, room, _)| {
                needed_resistance(DIAMETER, emissivity, &stream, &room, 0.5).ok()?
            })
            .map_or(f64::NAN, |resistance| resistance / R_VALUE);
            (
                format!(
                    "{inside} °C in {ambient} °C, {} %, emissivity {emissivity}",
                    100.0 * humidity
                ),
                expected,
                got,
            )
        })
        .collect();
    vec![
        worst(
            SUBJECT,
            BALANCE,
            "nominal R that keeps a 150 mm duct 0.5 K above the dew point",
            "h·ft²·°F/Btu",
            Relative(0.01),
            points,
        ),
        Check {
            subject: SUBJECT,
            source: "engineering bulletin 80-1 on condensation control on air-conditioning ducts: R_s (T_dp − T_duct)/(T_a − T_dp), by hand".to_owned(),
            input: "reflective jacket, R_s 1.32, duct −20 °C in 21 °C with dew point 6.90 °C: flat R"
                .to_owned(),
            unit: "h·ft²·°F/Btu",
            expected: 1.32 * 26.90 / 14.10,
            got: flat_resistance(-20.0, 21.0, 6.90, 1.32 * R_VALUE) / R_VALUE,
            tolerance: Relative(1e-9),
        },
    ]
}
