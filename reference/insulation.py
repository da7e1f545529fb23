"""Insulated round duct: film coefficients, surface temperature, needed resistance, heat gain.

Writes crates/checks/tables/insulation_*.csv. Run without arguments, from anywhere:

    python reference/insulation.py

ht holds the correlations of heat transfer, CoolProp the properties of dry air (Lemmon and Jacobsen
2004) and of moist air (ASHRAE RP-1485), scipy finds the roots. The heat balance is written here.
"""

from importlib.metadata import version
from math import exp, log, pi
from pathlib import Path

import CoolProp.CoolProp as coolprop
from ht import Nu_horizontal_cylinder_Churchill_Chu
from ht.conv_internal import turbulent_Gnielinski
from scipy.optimize import brentq

TABLES = Path(__file__).resolve().parent.parent / "crates" / "checks" / "tables"
ZERO_CELSIUS = 273.15
R_VALUE = 0.1761101837  # h ft2 F/Btu in m2 K/W
CONDUCTIVITY = 0.356 * 0.144227889  # of light glass fibre, 0.356 Btu in/(h ft2 F) in W/(m K)
STEFAN_BOLTZMANN = 5.670374419e-8
GRAVITY = 9.80665
DIAMETER = 0.150
FLOW = 0.033  # m3/s of the air in the duct, as it is there
SEA_LEVEL = 101325.0


def write(name, notes, columns, rows):
    libraries = ", ".join(f"{library} {version(library)}" for library in ("ht", "CoolProp", "scipy"))
    lines = [f"# {note}" for note in (*notes, f"written by reference/insulation.py with {libraries}")]
    lines.append(",".join(columns))
    for row in rows:
        lines.append(",".join(f"{value:.10g}" for value in row))
    (TABLES / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{name}: {len(rows)} rows")


def dry_air(prop, temperature, pressure):
    return coolprop.PropsSI(prop, "T", temperature + ZERO_CELSIUS, "P", pressure, "Air")


def tube_nusselt(reynolds, prandtl):
    friction = (0.790 * log(reynolds) - 1.64) ** -2
    return turbulent_Gnielinski(Re=reynolds, Pr=prandtl, fd=friction)


class Duct:
    """A duct of the sheet's size in a room of still air."""

    def __init__(self, inside, ambient, nominal, emissivity, pressure=SEA_LEVEL):
        self.inside, self.ambient, self.emissivity, self.pressure = inside, ambient, emissivity, pressure
        self.outer = DIAMETER + 2 * nominal * R_VALUE * CONDUCTIVITY
        density = dry_air("D", inside, pressure)
        viscosity = dry_air("V", inside, pressure)
        self.mass_flow = FLOW * density
        reynolds = 4 * self.mass_flow / (pi * DIAMETER * viscosity)
        nusselt = tube_nusselt(reynolds, dry_air("Prandtl", inside, pressure))
        self.film = nusselt * dry_air("L", inside, pressure) / DIAMETER
        self.within = 1 / (self.film * pi * DIAMETER) + log(self.outer / DIAMETER) / (2 * pi * CONDUCTIVITY)
        self.specific_heat = dry_air("C", inside, pressure)
        self.surface = brentq(self.surplus, inside, ambient, xtol=1e-12)
        self.transmittance = 1 / (self.within + 1 / (self.outside(self.surface) * pi * self.outer))
        self.heat_flow = self.transmittance * (ambient - inside)

    def outside(self, surface):
        film = (surface + self.ambient) / 2
        density, viscosity = dry_air("D", film, self.pressure), dry_air("V", film, self.pressure)
        prandtl, conductivity = dry_air("Prandtl", film, self.pressure), dry_air("L", film, self.pressure)
        grashof = (
            GRAVITY * abs(surface - self.ambient) / (film + ZERO_CELSIUS)
            * self.outer**3 * (density / viscosity) ** 2
        )
        convection = Nu_horizontal_cylinder_Churchill_Chu(Pr=prandtl, Gr=grashof) * conductivity / self.outer
        a, b = surface + ZERO_CELSIUS, self.ambient + ZERO_CELSIUS
        return convection + self.emissivity * STEFAN_BOLTZMANN * (a * a + b * b) * (a + b)

    def surplus(self, surface):
        into = self.outside(surface) * pi * self.outer * (self.ambient - surface)
        return into - (surface - self.inside) / self.within


def dew_point(ambient, humidity, pressure=SEA_LEVEL):
    return coolprop.HAPropsSI("D", "T", ambient + ZERO_CELSIUS, "P", pressure, "R", humidity) - ZERO_CELSIUS


def films():
    rows = [
        (reynolds, prandtl, tube_nusselt(reynolds, prandtl))
        for reynolds in (4e3, 5e3, 8e3, 1.2e4, 2e4, 3e4, 5e4, 1e5, 3e5, 1e6)
        for prandtl in (0.68, 0.70, 0.71, 0.72, 0.75)
    ]
    write(
        "insulation_tubes.csv",
        ("Nusselt number in a smooth tube, Gnielinski with Petukhov's friction factor",),
        ("reynolds", "prandtl", "nusselt"),
        rows,
    )
    rows = [
        (rayleigh, prandtl, Nu_horizontal_cylinder_Churchill_Chu(Pr=prandtl, Gr=rayleigh / prandtl))
        for rayleigh in (1e-2, 1, 1e2, 1e4, 1e5, 1e6, 3e6, 1e7, 3e7, 1e8, 1e9, 1e11)
        for prandtl in (0.68, 0.70, 0.71, 0.72, 0.75)
    ]
    write(
        "insulation_cylinders.csv",
        ("Nusselt number of free convection at a horizontal cylinder, Churchill and Chu",),
        ("rayleigh", "prandtl", "nusselt"),
        rows,
    )
    rows = [
        (t, dry_air("L", t, SEA_LEVEL), dry_air("Prandtl", t, SEA_LEVEL)) for t in range(-40, 51, 5)
    ]
    write(
        "insulation_air.csv",
        ("dry air at 101325 Pa: conductivity [W/(m K)] and Prandtl number at temperature [degC]",),
        ("temperature", "conductivity", "prandtl"),
        rows,
    )


WEATHERS = (
    (-20, 21, 0.4),
    (-30, 21, 0.4),
    (-20, 21, 0.3),
    (-10, 21, 0.5),
    (-5, 15, 0.65),
    (13, 30, 0.75),
    (13, 26.7, 0.8),
)
GEOMETRY = "duct of 150 mm, 33 L/s as it is in the duct, jacket 0.356 Btu in/(h ft2 F), nominal R [h ft2 F/Btu]"


def surfaces():
    rows = []
    for pressure in (SEA_LEVEL, 79495.0):
        for inside, ambient, humidity in WEATHERS:
            dew = dew_point(ambient, humidity, pressure)
            for nominal in (0, 4.2, 6, 8):
                for emissivity in (0.9, 0.1):
                    duct = Duct(inside, ambient, nominal, emissivity, pressure)
                    rows.append(
                        (
                            pressure, inside, ambient, humidity, nominal, emissivity, duct.mass_flow,
                            duct.film, duct.surface, dew, duct.surface - dew, duct.heat_flow,
                            duct.transmittance,
                        )
                    )
    write(
        "insulation_surfaces.csv",
        (
            f"surface temperature, dew point [degC] and heat per length [W/m]: {GEOMETRY}",
            "pressure [Pa], temperatures [degC], mass flow [kg/s], inside film [W/(m2 K)], U' [W/(m K)]",
        ),
        (
            "pressure", "inside", "ambient", "humidity", "nominal", "emissivity", "mass_flow",
            "film", "surface", "dew_point", "margin", "heat_flow", "transmittance",
        ),
        rows,
    )


def resistances():
    cases = [
        (-20, 21, 0.3), (-20, 21, 0.4), (-20, 21, 0.5), (-30, 21, 0.4),
        (-5, 15, 0.65), (13, 30, 0.75), (13, 26.7, 0.8), (13, 26.7, 0.9),
    ]
    rows = []
    for inside, ambient, humidity in cases:
        dew = dew_point(ambient, humidity)
        for emissivity in (0.9, 0.1):
            def excess(nominal):
                return Duct(inside, ambient, nominal, emissivity).surface - dew - 0.5

            mass_flow = Duct(inside, ambient, 0, emissivity).mass_flow
            rows.append((inside, ambient, humidity, emissivity, mass_flow, brentq(excess, 0, 39, xtol=1e-9)))
    write(
        "insulation_resistances.csv",
        (f"nominal R that keeps the surface 0.5 K above the dew point: {GEOMETRY}",),
        ("inside", "ambient", "humidity", "emissivity", "mass_flow", "nominal"),
        rows,
    )


def along():
    rows = []
    for inside, ambient, nominal in ((-20, 21, 6), (-20, 21, 8), (13, 45, 8), (16, -10, 8)):
        duct = Duct(inside, ambient, nominal, 0.9)
        for length in (3, 6, 10):
            part = exp(-duct.transmittance * length / (duct.mass_flow * duct.specific_heat))
            rows.append((inside, ambient, nominal, length, duct.mass_flow, ambient - (ambient - inside) * part))
    write(
        "insulation_along.csv",
        (f"temperature [degC] of the air after a length [m], emissivity 0.9: {GEOMETRY}",),
        ("inside", "ambient", "nominal", "length", "mass_flow", "temperature"),
        rows,
    )


if __name__ == "__main__":
    TABLES.mkdir(parents=True, exist_ok=True)
    films()
    surfaces()
    resistances()
    along()
