"""Friction, junctions, transitions, elbows, entries and monotone cubics from reference libraries.

Writes crates/checks/tables/ducts*.csv. Run without arguments, from anywhere:

    python reference/ducts.py

fluids holds Colebrook's equation in closed form (Lambert's function and Clamond's iteration), the
junctions of Crane TP-410, and the transitions, elbows and entries of several handbooks. scipy holds
the monotone piecewise-cubic interpolation of Fritsch, Carlson and Butland. All numbers are SI; the
flows and the fan points are invented.
"""

from importlib.metadata import version
from math import pi
from pathlib import Path

import numpy
from fluids import fittings, friction
from scipy.interpolate import PchipInterpolator

TABLES = Path(__file__).resolve().parent.parent / "crates" / "checks" / "tables"
NUMBER, INPUT = "%.12g", "%.10g"


def write(name, notes, columns, rows):
    """Writes a table: comments, a header, one line per row."""
    libraries = ", ".join(f"{library} {version(library)}" for library in ("fluids", "scipy", "numpy"))
    lines = [f"# {note}" for note in (*notes, f"written by reference/ducts.py with {libraries}")]
    lines.append(",".join(column for column, _ in columns))
    for row in rows:
        lines.append(",".join(pattern % value for (_, pattern), value in zip(columns, row, strict=True)))
    (TABLES / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{name}: {len(rows)} rows")


def colebrook(reynolds, roughness):
    """Clamond's iteration, which the closed form confirms."""
    factor = friction.Clamond(reynolds, roughness, fast=False)
    closed = friction.Colebrook(reynolds, roughness)
    assert abs(factor / closed - 1) < 1e-9, (reynolds, roughness, factor, closed)
    return factor


def friction_factors():
    columns = [("reynolds", INPUT), ("relative_roughness", INPUT), ("factor", NUMBER)]
    rows = []
    for reynolds in (*numpy.geomspace(4000, 1e6, 25).tolist(), 3e6, 1e7):
        reynolds = float(INPUT % reynolds)
        for roughness in (0.0, 1e-6, 1e-5, 1e-4, 3e-4, 6e-4, 1e-3, 3e-3, 6e-3, 0.01, 0.02, 0.03, 0.05):
            rows.append((reynolds, roughness, colebrook(reynolds, roughness)))
    for reynolds in (1.0, 10.0, 100.0, 500.0, 1000.0, 1500.0, 2000.0):
        rows.append((reynolds, 0.0, friction.friction_laminar(reynolds)))
    write("ducts_friction.csv", ["Darcy friction factor, Colebrook from Re 4000 and laminar to 2000"], columns, rows)


def friction_chart():
    """Pa per m of round duct in standard air, in the sizes of the trade."""
    columns = [
        ("inches", INPUT),
        ("cubic_feet_per_minute", INPUT),
        ("diameter", NUMBER),
        ("volume_flow", NUMBER),
        ("roughness", INPUT),
        ("pressure_per_metre", NUMBER),
    ]
    density, kinematic_viscosity = 1.204, 1.506e-5
    points = ((4, 30), (4, 50), (5, 75), (6, 75), (6, 100), (6, 150), (7, 150), (8, 200), (8, 250), (10, 400), (12, 800), (14, 1000))
    rows = []
    for inches, flow in points:
        diameter, volume_flow = 0.0254 * inches, 0.3048**3 / 60 * flow
        velocity = volume_flow / (pi / 4 * diameter**2)
        for roughness in (0.046e-3, 0.09e-3, 0.15e-3, 0.9e-3):
            factor = colebrook(velocity * diameter / kinematic_viscosity, roughness / diameter)
            rows.append((inches, flow, diameter, volume_flow, roughness, factor / diameter * density / 2 * velocity**2))
    write("ducts_friction_chart.csv", ["friction of round ducts, density 1.204, kinematic viscosity 1.506e-5"], columns, rows)


def junctions():
    columns = [
        ("angle", INPUT),
        ("area_ratio", INPUT),
        ("flow_ratio", INPUT),
        ("converging_branch", NUMBER),
        ("converging_run", NUMBER),
        ("diverging_branch", NUMBER),
        ("diverging_run", NUMBER),
    ]
    methods = (
        fittings.K_branch_converging_Crane,
        fittings.K_run_converging_Crane,
        fittings.K_branch_diverging_Crane,
        fittings.K_run_diverging_Crane,
    )
    rows = []
    for angle in (30.0, 45.0, 60.0, 90.0):
        for area_ratio in (0.1, 0.25, 0.3, 0.42, 0.5, 0.75, 1.0):
            for flow_ratio in numpy.arange(0.05, 0.96, 0.05).round(2).tolist():
                flows = dict(D_run=1.0, D_branch=area_ratio**0.5, Q_run=1 - flow_ratio, Q_branch=flow_ratio, angle=angle)
                rows.append((angle, area_ratio, flow_ratio, *(method(**flows) for method in methods)))
    write("ducts_junctions.csv", ["loss coefficients of tees and wyes on the combined velocity, Crane TP-410"], columns, rows)


def transitions():
    columns = [
        ("area_ratio", INPUT),
        ("angle", INPUT),
        ("contraction", NUMBER),
        ("expansion", NUMBER),
    ]
    rows = []
    for diameter_ratio in (0.2, 0.4, 0.5, 0.6, 0.75, 0.9):
        for angle in (5.0, 10.0, 20.0, 30.0, 44.0, 50.0, 60.0, 90.0, 120.0, 180.0):
            if angle == 180.0:
                contraction = fittings.contraction_sharp(1.0, diameter_ratio)
            else:
                contraction = fittings.contraction_conical(1.0, diameter_ratio, angle=angle, fd=0.0, method="Rennels")
            expansion = fittings.diffuser_conical(diameter_ratio, 1.0, angle=angle, method="Crane")
            rows.append((diameter_ratio**2, angle, contraction, expansion))
    notes = ["on the smaller section: contraction by Rennels without cone friction, expansion by Crane TP-410"]
    write("ducts_transitions.csv", notes, columns, rows)


def elbows():
    columns = [("angle", INPUT), ("radius_ratio", INPUT), ("reynolds", INPUT), ("rennels", NUMBER)]
    rows = [(angle, 0.0, 1.4e5, fittings.bend_miter(angle, method="Rennels")) for angle in (20.0, 30.0, 45.0, 60.0, 75.0, 90.0)]
    diameter, roughness = 0.15, 9e-5
    for radius_ratio in (1.0, 1.5, 2.0, 2.5):
        for reynolds in (3e4, 6e4, 1.4e5):
            bend = fittings.bend_rounded(
                diameter, 90.0, rc=radius_ratio * diameter, Re=reynolds, roughness=roughness, method="Rennels"
            )
            rows.append((90.0, radius_ratio, reynolds, bend))
    notes = [
        "loss coefficients of elbows by Rennels; radius ratio 0 is a mitre",
        "rounded bends of 150 mm duct with roughness 0.09 mm, friction of the bend's own length included",
    ]
    write("ducts_elbows.csv", notes, columns, rows)


def entries():
    columns = [("radius_ratio", INPUT), ("idelchik", NUMBER)]
    rows = [
        (ratio, fittings.entrance_rounded(1.0, rc=ratio, method="Idelchik"))
        for ratio in numpy.arange(0.0, 0.251, 0.01).round(2).tolist()
    ]
    write("ducts_entries.csv", ["bellmouth in a wall, Idelchik's data smoothed by a spline"], columns, rows)


def monotone_cubics():
    columns = [("curve", INPUT), ("rise", INPUT), ("flow", NUMBER), ("slope", NUMBER)]
    curves = [
        (numpy.arange(25.0, 251.0, 25.0), [92.0, 88.0, 83.0, 78.0, 72.0, 65.0, 57.0, 47.0, 34.0, 18.0]),
        (numpy.array([0.0, 10.0, 80.0, 90.0, 200.0, 320.0]), [150.0, 149.0, 120.0, 80.0, 75.0, 5.0]),
    ]
    rows = []
    for number, (rises, flows) in enumerate(curves):
        curve = PchipInterpolator(rises, numpy.array(flows) / 1000)
        for rise in numpy.linspace(rises[0], rises[-1], 91).round(3).tolist():
            rows.append((number, rise, curve(rise), curve(rise, 1)))
    notes = [
        "scipy PchipInterpolator of volume flow (m3/s) against pressure rise (Pa), values and slopes",
        "curve 0: 25, 50 ... 250 Pa to 92, 88, 83, 78, 72, 65, 57, 47, 34, 18 L/s",
        "curve 1: 0, 10, 80, 90, 200, 320 Pa to 150, 149, 120, 80, 75, 5 L/s",
    ]
    write("ducts_fans.csv", notes, columns, rows)


friction_factors()
friction_chart()
junctions()
transitions()
elbows()
entries()
monotone_cubics()
