//! Moist air against psychrolib, CoolProp, handbook tables and the standard atmosphere.

use crate::{Check, Tolerance};
use air::AirState;

const MOIST_AIR: &str = include_str!("../tables/psychrometrics.csv");
const SATURATION: &str = include_str!("../tables/psychrometrics_saturation.csv");
const DRY_AIR: &str = include_str!("../tables/psychrometrics_dry_air.csv");
const ATMOSPHERE: &str = include_str!("../tables/psychrometrics_atmosphere.csv");

const PSYCHROLIB: &str = "psychrolib 2.5.0";
const COOLPROP_MOIST: &str = "CoolProp 8.0.0, moist air as a real gas (ASHRAE RP-1485)";
const HANDBOOK: &str = "ASHRAE Handbook—Fundamentals (2017), ch. 1";

use Tolerance::{Absolute, Relative};

/// The checks of the crate `air`.
pub fn checks() -> Vec<Check> {
    let mut checks = handbook();
    checks.extend(atmosphere());
    checks.extend(saturation());
    checks.extend(moist_air());
    checks.extend(dry_air());
    checks
}

/// A table with a header; comments and blank lines are skipped.
struct Table {
    columns: Vec<&'static str>,
    rows: Vec<Vec<f64>>,
}

/// One row of a table.
#[derive(Clone, Copy)]
struct Row<'a> {
    table: &'a Table,
    values: &'a [f64],
}

impl Table {
    fn read(text: &'static str) -> Self {
        let mut lines = text
            .lines()
            .filter(|line| !line.starts_with('#') && !line.is_empty());
        let columns = lines.next().unwrap_or_default().split(',').collect();
        let rows = lines
            .map(|line| {
                line.split(',')
                    .map(|cell| cell.parse().unwrap_or(f64::NAN))
                    .collect()
            })
            .collect();
        Self { columns, rows }
    }

    fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|values| Row {
            table: self,
            values,
        })
    }

    /// The check at the row with the largest share of its tolerance; a value that is not a number
    /// is worse than any.
    fn worst(
        &self,
        source: &str,
        what: &str,
        unit: &'static str,
        tolerance: Tolerance,
        value: impl Fn(Row) -> (f64, f64),
        place: impl Fn(Row) -> String,
    ) -> Check {
        let check = |row: Row| {
            let (expected, got) = value(row);
            Check {
                subject: "moist air",
                source: source.to_owned(),
                input: format!(
                    "{what}, worst of {} points: {}",
                    self.rows.len(),
                    place(row)
                ),
                unit,
                expected,
                got,
                tolerance,
            }
        };
        let strain = |check: &Check| {
            let allowed = match tolerance {
                Absolute(distance) => distance,
                Relative(fraction) => fraction * check.expected.abs(),
            };
            let strain = (check.got - check.expected).abs() / allowed;
            if strain.is_nan() {
                f64::INFINITY
            } else {
                strain
            }
        };
        self.rows()
            .map(check)
            .max_by(|a, b| strain(a).total_cmp(&strain(b)))
            .unwrap_or(Check {
                subject: "moist air",
                source: source.to_owned(),
                input: format!("{what}: the table is empty"),
                unit,
                expected: f64::NAN,
                got: f64::NAN,
                tolerance,
            })
    }
}

impl Row<'_> {
    fn get(&self, column: &str) -> f64 {
        self.table
            .columns
            .iter()
            .position(|name| *name == column)
            .and_then(|place| self.values.get(place))
            .copied()
            .unwrap_or(f64::NAN)
    }

    /// The state of the row, from its relative humidity.
    fn state(&self) -> Option<AirState> {
        AirState::from_relative_humidity(
            self.get("temperature"),
            self.get("relative_humidity"),
            self.get("pressure"),
        )
        .ok()
    }

    fn of_state(&self, property: impl Fn(AirState) -> f64) -> f64 {
        self.state().map_or(f64::NAN, property)
    }
}

fn moist_place(row: Row) -> String {
    format!(
        "{} °C, {:.0} %, {} m ({:.0} Pa)",
        row.get("temperature"),
        100.0 * row.get("relative_humidity"),
        row.get("altitude"),
        row.get("pressure"),
    )
}

fn moist_air() -> Vec<Check> {
    let table = Table::read(MOIST_AIR);
    let dew_point = |state: AirState| state.dew_point().unwrap_or(f64::NAN);
    let against = |source: &str,
                   what: &str,
                   unit: &'static str,
                   tolerance: Tolerance,
                   column: &'static str,
                   property: &dyn Fn(AirState) -> f64| {
        let value = |row: Row| (row.get(column), row.of_state(property));
        table.worst(source, what, unit, tolerance, value, moist_place)
    };
    let mut checks = Vec::new();

    // The same formulas: equal to the digits of the table.
    let same = Relative(1e-6);
    for (what, unit, column, property) in [
        (
            "vapour pressure",
            "Pa",
            "psychrolib_vapour_pressure",
            &AirState::vapour_pressure as &dyn Fn(&AirState) -> f64,
        ),
        (
            "humidity ratio",
            "kg/kg",
            "psychrolib_humidity_ratio",
            &AirState::humidity_ratio,
        ),
        (
            "specific volume",
            "m³/kg",
            "psychrolib_specific_volume",
            &AirState::specific_volume,
        ),
        ("density", "kg/m³", "psychrolib_density", &AirState::density),
    ] {
        checks.push(against(PSYCHROLIB, what, unit, same, column, &|state| {
            property(&state)
        }));
    }
    // 1e-6 of the largest enthalpies; near 0 °C the enthalpy itself passes through zero.
    let enthalpy = AirState::enthalpy;
    checks.push(against(
        PSYCHROLIB,
        "enthalpy",
        "J/kg",
        Absolute(0.01),
        "psychrolib_enthalpy",
        &|state| enthalpy(&state),
    ));
    let fine = Absolute(1e-5);
    let library = "psychrolib 2.5.0 with its iterations tightened to 1e-9 K";
    checks.push(against(
        library,
        "dew point",
        "°C",
        fine,
        "psychrolib_dew_point",
        &dew_point,
    ));
    checks.push(against(
        library,
        "wet bulb",
        "°C",
        fine,
        "psychrolib_wet_bulb",
        &|state| state.wet_bulb(),
    ));
    checks.push(table.worst(
        library,
        "relative humidity from the wet bulb",
        "1",
        // Half a digit of the table, 5e-7 K, where a bulb of -40 °C means 4.6 % of humidity per
        // 0.01 K.
        Absolute(3e-6),
        |row| {
            let state = AirState::from_wet_bulb(
                row.get("temperature"),
                row.get("psychrolib_wet_bulb"),
                row.get("pressure"),
            );
            let got = state.map_or(f64::NAN, |state| state.relative_humidity());
            (row.get("relative_humidity"), got)
        },
        moist_place,
    ));
    checks.push(table.worst(
        library,
        "relative humidity from the dew point",
        "1",
        Absolute(2e-6),
        |row| {
            let state = AirState::from_dew_point(
                row.get("temperature"),
                row.get("psychrolib_dew_point").min(row.get("temperature")),
                row.get("pressure"),
            );
            let got = state.map_or(f64::NAN, |state| state.relative_humidity());
            (row.get("relative_humidity"), got)
        },
        moist_place,
    ));

    // Real gas. In air the vapour over ice or water is denser than over water alone, by the
    // enhancement factor f = 1.0030…1.0056. W = 0.622 f φ p_ws / (p − f φ p_ws) passes on (f − 1)
    // p / (p − p_w), at most 0.64 % here.
    checks.push(against(
        COOLPROP_MOIST,
        "humidity ratio (ideal gas, without enhancement factor)",
        "kg/kg",
        Relative(0.0065),
        "coolprop_humidity_ratio",
        &|state| state.humidity_ratio(),
    ));
    // With the factor only the saturation pressures differ, by up to 0.03 % (IAPWS).
    checks.push(table.worst(
        COOLPROP_MOIST,
        "humidity ratio with CoolProp's enhancement factor",
        "kg/kg",
        Relative(0.0004),
        |row| {
            let vapour = row.get("coolprop_enhancement_factor")
                * row.get("relative_humidity")
                * air::saturation_pressure(row.get("temperature"));
            (
                row.get("coolprop_humidity_ratio"),
                air::humidity_ratio(vapour, row.get("pressure")),
            )
        },
        moist_place,
    ));
    // Compressibility: B p/(R T) with B = −31 cm³/mol of dry air at −40 °C is −0.16 %, less 0.03 %
    // that the rounded gas constant takes off.
    for (what, unit, column, property) in [
        (
            "specific volume at this humidity ratio",
            "m³/kg",
            "coolprop_specific_volume",
            &AirState::specific_volume as &dyn Fn(&AirState) -> f64,
        ),
        (
            "density at this humidity ratio",
            "kg/m³",
            "coolprop_density",
            &AirState::density,
        ),
    ] {
        checks.push(against(
            COOLPROP_MOIST,
            what,
            unit,
            Relative(0.0014),
            column,
            &|state| property(&state),
        ));
    }
    // 0.1 % of the largest enthalpy, 335 kJ/kg at 50 °C and 3000 m.
    checks.push(against(
        COOLPROP_MOIST,
        "enthalpy at this humidity ratio",
        "J/kg",
        Absolute(350.0),
        "coolprop_enthalpy",
        &|state| state.enthalpy(),
    ));
    checks.push(against(
        COOLPROP_MOIST,
        "specific heat at this humidity ratio (ASHRAE's is one number for each gas)",
        "J/(kg K)",
        Relative(0.009),
        "coolprop_specific_heat",
        &|state| state.specific_heat(),
    ));
    // The enhancement factor nearly cancels between the air and its dew point.
    checks.push(against(
        COOLPROP_MOIST,
        "dew point",
        "°C",
        Absolute(0.02),
        "coolprop_dew_point",
        &dew_point,
    ));
    checks.push(against(
        COOLPROP_MOIST,
        "wet bulb (ASHRAE's linear heats of evaporation)",
        "°C",
        Absolute(0.03),
        "coolprop_wet_bulb",
        &|state| state.wet_bulb(),
    ));
    checks
}

fn saturation() -> Vec<Check> {
    let table = Table::read(SATURATION);
    let place = |row: Row| format!("{} °C", row.get("temperature"));
    let against = |source: &str, column: &'static str, tolerance: Tolerance| {
        let value = |row: Row| {
            (
                row.get(column),
                air::saturation_pressure(row.get("temperature")),
            )
        };
        table.worst(
            source,
            "saturation pressure, -100 to 200 °C",
            "Pa",
            tolerance,
            value,
            place,
        )
    };
    vec![
        against(PSYCHROLIB, "psychrolib_saturation_pressure", Relative(1e-9)),
        // Hyland and Wexler (1983) against the newer IAPWS equations.
        against(
            "CoolProp 8.0.0, water and ice of IAPWS",
            "coolprop_saturation_pressure",
            Relative(0.0004),
        ),
    ]
}

fn dry_air() -> Vec<Check> {
    let table = Table::read(DRY_AIR);
    let place = |row: Row| format!("{} °C, {} Pa", row.get("temperature"), row.get("pressure"));
    vec![
        table.worst(
            "CoolProp 8.0.0, viscosity of air (Lemmon and Jacobsen 2004)",
            "viscosity of dry air, without its dependence on density",
            "Pa s",
            Relative(0.0012),
            |row| {
                (
                    row.get("coolprop_viscosity"),
                    air::viscosity(row.get("temperature")),
                )
            },
            place,
        ),
        table.worst(
            "CoolProp 8.0.0, dry air (Lemmon et al. 2000)",
            "density of dry air",
            "kg/m³",
            Relative(0.0014),
            |row| {
                (
                    row.get("coolprop_density"),
                    air::density(row.get("temperature"), 0.0, row.get("pressure")),
                )
            },
            place,
        ),
    ]
}

fn atmosphere() -> Vec<Check> {
    let table = Table::read(ATMOSPHERE);
    let source = "U.S. Standard Atmosphere 1976 (fluids 1.3.1)";
    let place = |row: Row| format!("{} m", row.get("altitude"));
    vec![
        table.worst(
            source,
            "standard pressure, -5 to 11 km",
            "Pa",
            Relative(2e-5),
            |row| {
                (
                    row.get("fluids_pressure"),
                    air::standard_pressure(row.get("altitude")),
                )
            },
            place,
        ),
        table.worst(
            source,
            "standard temperature, -5 to 11 km",
            "°C",
            Absolute(1e-6),
            |row| {
                (
                    row.get("fluids_temperature") - air::ZERO_CELSIUS,
                    air::standard_temperature(row.get("altitude")),
                )
            },
            place,
        ),
    ]
}

/// Values printed in the handbook. Its table 2 is of real air, hence the tolerances of the
/// enhancement factor; its example 1 is read from a chart.
fn handbook() -> Vec<Check> {
    let sea_level = air::STANDARD_PRESSURE;
    let check = |place: &str, input: String, unit, expected, got, tolerance| Check {
        subject: "moist air",
        source: format!("{HANDBOOK}, {place}"),
        input,
        unit,
        expected,
        got,
        tolerance,
    };
    let mut checks = Vec::new();

    for (altitude, expected) in [
        (-500.0, 107_478.0),
        (0.0, 101_325.0),
        (500.0, 95_461.0),
        (1000.0, 89_875.0),
        (4000.0, 61_640.0),
    ] {
        let got = air::standard_pressure(altitude);
        let input = format!("standard pressure at {altitude} m");
        checks.push(check("table 1", input, "Pa", expected, got, Absolute(1.0)));
    }

    // Printed to 0.01 Pa when small, and to 300 ppm of these formulas.
    for (temperature, expected) in [
        (-60.0, 1.08),
        (-20.0, 103.24),
        (-5.0, 401.74),
        (5.0, 872.6),
        (25.0, 3169.7),
        (50.0, 12_351.3),
        (100.0, 101_418.0),
    ] {
        let got = air::saturation_pressure(temperature);
        let tolerance = Absolute(f64::max(3e-4 * expected, 0.01));
        let input = format!("saturation pressure at {temperature} °C");
        checks.push(check("table 3", input, "Pa", expected, got, tolerance));
    }

    for (temperature, ratio, enthalpy) in [
        (-50.0, 2.43e-5, None),
        (-20.0, 6.373e-4, Some(-18_542.0)),
        (-5.0, 2.4863e-3, Some(1164.0)),
        (5.0, 5.425e-3, Some(18_639.0)),
        (25.0, 2.0173e-2, Some(76_504.0)),
        (50.0, 8.6863e-2, Some(275_353.0)),
    ] {
        let state = AirState::from_relative_humidity(temperature, 1.0, sea_level).ok();
        let got = |property: fn(&AirState) -> f64| state.as_ref().map_or(f64::NAN, property);
        let printed = if temperature == -50.0 { 5e-8 } else { 0.0 };
        let tolerance = Absolute(0.0065 * ratio + printed);
        let input = format!("humidity ratio of saturated air at {temperature} °C, 101325 Pa");
        let ratio_got = got(AirState::humidity_ratio);
        checks.push(check(
            "table 2", input, "kg/kg", ratio, ratio_got, tolerance,
        ));
        if let Some(enthalpy) = enthalpy {
            // The missing vapour, with the heat of its evaporation, and 0.1 kJ/kg of real gas.
            let tolerance = Absolute(0.0065 * ratio * 2.6e6 + 100.0);
            let input = format!("enthalpy of saturated air at {temperature} °C, 101325 Pa");
            let got = got(AirState::enthalpy);
            checks.push(check("table 2", input, "J/kg", enthalpy, got, tolerance));
        }
    }

    let example = AirState::from_wet_bulb(40.0, 20.0, sea_level).ok();
    for (what, unit, expected, got, last_digit) in [
        (
            "humidity ratio",
            "kg/kg",
            0.0065,
            example.map(|air| air.humidity_ratio()),
            1e-4,
        ),
        (
            "dew point",
            "°C",
            7.0,
            example.and_then(|air| air.dew_point()),
            1.0,
        ),
        (
            "relative humidity",
            "%",
            14.0,
            example.map(|air| 100.0 * air.relative_humidity()),
            1.0,
        ),
        (
            "enthalpy",
            "J/kg",
            56_700.0,
            example.map(|air| air.enthalpy()),
            100.0,
        ),
        (
            "specific volume",
            "m³/kg",
            0.896,
            example.map(|air| air.specific_volume()),
            1e-3,
        ),
    ] {
        checks.push(check(
            "example 1, read from the chart to its last digit",
            format!("{what} at 40 °C, wet bulb 20 °C, 101325 Pa"),
            unit,
            expected,
            got.unwrap_or(f64::NAN),
            Absolute(last_digit),
        ));
    }

    for (temperature, wet_bulb, expected) in [(30.0, 25.0, 0.0192281), (-1.0, -5.0, 0.00120400)] {
        let got = AirState::from_wet_bulb(temperature, wet_bulb, 95_461.0)
            .map_or(f64::NAN, |air| air.humidity_ratio());
        let input = format!("humidity ratio at {temperature} °C, wet bulb {wet_bulb} °C, 95461 Pa");
        let place = "eq. 33 and 35, value of the psychrolib test file";
        checks.push(check(place, input, "kg/kg", expected, got, Relative(3e-4)));
    }
    checks
}

#[cfg(test)]
mod tests {
    #[test]
    fn moist_air_agrees_with_its_sources() {
        let checks = super::checks();
        assert!(checks.len() > 40);
        for check in checks {
            assert!(check.passes(), "{check:#?}");
        }
    }
}
