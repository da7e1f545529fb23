"""Moist air, saturation, dry-air viscosity and the standard atmosphere from reference libraries.

Writes crates/checks/tables/psychrometrics*.csv. Run without arguments, from anywhere:

    python reference/psychrometrics.py

psychrolib holds the formulas of ASHRAE Handbook - Fundamentals (2017), chapter 1. CoolProp holds
moist air as a real gas (ASHRAE RP-1485), dry air (Lemmon et al. 2000; viscosity Lemmon and
Jacobsen 2004) and water (IAPWS). fluids holds the U.S. Standard Atmosphere 1976.
"""

from importlib.metadata import version
from pathlib import Path

import CoolProp.CoolProp as coolprop
import psychrolib
from fluids.atmosphere import ATMOSPHERE_1976

TABLES = Path(__file__).resolve().parent.parent / "crates" / "checks" / "tables"
ZERO_CELSIUS = 273.15

psychrolib.SetUnitSystem(psychrolib.SI)
# Its iterations stop at 0.001 K by default, which is too coarse for a comparison.
psychrolib.PSYCHROLIB_TOLERANCE = 1e-9


def write(name, notes, columns, rows):
    """Writes a table: comments, a header, numbers of ten digits (temperatures of six decimals)."""
    libraries = ", ".join(f"{library} {version(library)}" for library in ("psychrolib", "CoolProp", "fluids"))
    lines = [f"# {note}" for note in (*notes, f"written by reference/psychrometrics.py with {libraries}")]
    lines.append(",".join(column for column, _ in columns))
    for row in rows:
        lines.append(",".join(pattern % value for (_, pattern), value in zip(columns, row, strict=True)))
    (TABLES / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{name}: {len(rows)} rows")


NUMBER, DEGREES, INPUT = "%.10g", "%.6f", "%g"


def moist_air():
    columns = [
        ("altitude", INPUT),
        ("temperature", INPUT),
        ("relative_humidity", INPUT),
        ("pressure", "%.12g"),
        ("psychrolib_vapour_pressure", NUMBER),
        ("psychrolib_humidity_ratio", NUMBER),
        ("psychrolib_enthalpy", NUMBER),
        ("psychrolib_specific_volume", NUMBER),
        ("psychrolib_density", NUMBER),
        ("psychrolib_dew_point", DEGREES),
        ("psychrolib_wet_bulb", DEGREES),
        ("coolprop_enhancement_factor", NUMBER),
        ("coolprop_humidity_ratio", NUMBER),
        ("coolprop_dew_point", DEGREES),
        ("coolprop_wet_bulb", DEGREES),
        # At the pressure, temperature and psychrolib's humidity ratio:
        ("coolprop_enthalpy", NUMBER),
        ("coolprop_specific_volume", NUMBER),
        ("coolprop_density", NUMBER),
        ("coolprop_specific_heat", NUMBER),
    ]
    rows = []
    for altitude in (0, 1000, 2000, 3000):
        pressure = psychrolib.GetStandardAtmPressure(altitude)
        for temperature in range(-40, 51, 5):
            for relative_humidity in (0.1, 0.3, 0.5, 0.7, 0.9, 1.0):
                ratio = psychrolib.GetHumRatioFromRelHum(temperature, relative_humidity, pressure)
                kelvin = temperature + ZERO_CELSIUS
                at_humidity = ("T", kelvin, "P", pressure, "R", relative_humidity)
                at_ratio = ("T", kelvin, "P", pressure, "W", ratio)
                enhancement = coolprop.HAProps_Aux("f", kelvin, pressure, ratio)[0]
                rows.append(
                    (
                        altitude,
                        temperature,
                        relative_humidity,
                        pressure,
                        psychrolib.GetVapPresFromRelHum(temperature, relative_humidity),
                        ratio,
                        psychrolib.GetMoistAirEnthalpy(temperature, ratio),
                        psychrolib.GetMoistAirVolume(temperature, ratio, pressure),
                        psychrolib.GetMoistAirDensity(temperature, ratio, pressure),
                        psychrolib.GetTDewPointFromHumRatio(temperature, ratio, pressure),
                        psychrolib.GetTWetBulbFromHumRatio(temperature, ratio, pressure),
                        enhancement,
                        coolprop.HAPropsSI("W", *at_humidity),
                        coolprop.HAPropsSI("D", *at_humidity) - ZERO_CELSIUS,
                        coolprop.HAPropsSI("B", *at_humidity) - ZERO_CELSIUS,
                        coolprop.HAPropsSI("H", *at_ratio),
                        coolprop.HAPropsSI("V", *at_ratio),
                        1.0 / coolprop.HAPropsSI("Vha", *at_ratio),
                        coolprop.HAPropsSI("C", *at_ratio),
                    )
                )
    notes = (
        "Moist air on a grid of altitude [m], temperature [degC] and relative humidity (over ice up to 0.01 degC).",
        "pressures [Pa], humidity ratio [kg/kg], enthalpy [J/kg dry air], specific volume [m3/kg dry air],",
        "density [kg/m3 moist air], specific heat [J/(kg K) dry air], dew point and wet bulb [degC]",
    )
    write("psychrometrics.csv", notes, columns, rows)


def saturation():
    columns = [
        ("temperature", INPUT),
        ("psychrolib_saturation_pressure", NUMBER),
        ("coolprop_saturation_pressure", NUMBER),
    ]
    rows = []
    for temperature in range(-100, 201, 5):
        kelvin = temperature + ZERO_CELSIUS
        iapws = coolprop.HAProps_Aux("p_ws", kelvin, 101325.0, 0.0)[0]
        rows.append((temperature, psychrolib.GetSatVapPres(temperature), iapws))
    notes = ("Saturation pressure [Pa] of water vapour over ice (up to 0 degC) and liquid water.",)
    write("psychrometrics_saturation.csv", notes, columns, rows)


def dry_air():
    columns = [
        ("pressure", INPUT),
        ("temperature", INPUT),
        ("coolprop_viscosity", NUMBER),
        ("coolprop_density", NUMBER),
    ]
    rows = []
    for pressure in (70000, 85000, 101325):
        for temperature in range(-40, 51, 2):
            kelvin = temperature + ZERO_CELSIUS
            rows.append(
                (
                    pressure,
                    temperature,
                    coolprop.PropsSI("V", "T", kelvin, "P", pressure, "Air"),
                    coolprop.PropsSI("D", "T", kelvin, "P", pressure, "Air"),
                )
            )
    notes = ("Dry air: viscosity [Pa s] and density [kg/m3] at pressure [Pa] and temperature [degC].",)
    write("psychrometrics_dry_air.csv", notes, columns, rows)


def atmosphere():
    columns = [("altitude", INPUT), ("fluids_pressure", NUMBER), ("fluids_temperature", NUMBER)]
    earth = 6356766.0
    rows = []
    for altitude in range(-5000, 11001, 500):
        geometric = earth * altitude / (earth - altitude)
        air = ATMOSPHERE_1976(geometric)
        rows.append((altitude, air.P, air.T))
    notes = ("U.S. Standard Atmosphere 1976: pressure [Pa] and temperature [K] at geopotential altitude [m].",)
    write("psychrometrics_atmosphere.csv", notes, columns, rows)


if __name__ == "__main__":
    TABLES.mkdir(parents=True, exist_ok=True)
    moist_air()
    saturation()
    dry_air()
    atmosphere()
