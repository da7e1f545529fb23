"""Relative exposure of ventilation that does not run all the time, by integrating its equation.

Writes crates/checks/tables/rates_*.csv. Run without arguments, from anywhere:

    python reference/rates.py

dR/dt = (needed - flow R) / volume is integrated by scipy (solve_ivp) step by step; the mean is
integrated beside it. Days follow each other until the start of a day no longer changes; brentq finds
the flow while running at which the mean over time is 1. Nothing here uses the closed form.
"""

from importlib.metadata import version
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

TABLES = Path(__file__).resolve().parent.parent / "crates" / "checks" / "tables"
HOUR = 3600.0
CFM = 0.3048**3 / 60.0


def write(name, notes, columns, rows):
    libraries = ", ".join(f"{library} {version(library)}" for library in ("numpy", "scipy"))
    lines = [f"# {note}" for note in (*notes, f"written by reference/rates.py with {libraries}")]
    lines.append(",".join(columns))
    for row in rows:
        lines.append(",".join(f"{value:.8g}" for value in row))
    (TABLES / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{name}: {len(rows)} rows")


def integrate(start, flow, needed, volume, duration):
    """Relative exposure at the end of a step, and its integral over the step."""

    def slope(_, state):
        return [(needed - flow * state[0]) / volume, state[0]]

    solution = solve_ivp(slope, (0.0, duration), [start, 0.0], method="DOP853", rtol=1e-11, atol=1e-12)
    return solution.y[0, -1], solution.y[1, -1]


def steps():
    rows = []
    for start in (0.2, 1.0, 3.0):
        for flow in (0.0, 1e-5, 0.01, 0.04, 0.2):
            for needed, volume, minutes in ((0.03, 250.0, 60.0), (0.05, 600.0, 20.0)):
                end, integral = integrate(start, flow, needed, volume, 60.0 * minutes)
                rows.append((start, flow, needed, volume, minutes, end, integral / (60.0 * minutes)))
    write(
        "rates_exposure_steps.csv",
        ("relative exposure after a step of constant flow, and its mean over the step",),
        ("start", "flow_m3_s", "needed_m3_s", "volume_m3", "minutes", "end", "mean"),
        rows,
    )


def day(spans, running, still, needed, volume):
    """Mean and highest relative exposure of the day that repeats itself."""
    edges = sorted({0.0, 24.0, *(edge for span in spans for edge in span)})
    parts = [
        (to - begin, any(a <= 0.5 * (begin + to) < b for a, b in spans))
        for begin, to in zip(edges, edges[1:])
    ]
    start = 1.0
    for _ in range(400):
        value, integral, highest = start, 0.0, 0.0
        for hours, runs in parts:
            value, part = integrate(value, running if runs else still, needed, volume, hours * HOUR)
            integral += part
            highest = max(highest, value)
        if abs(value - start) < 1e-10:
            break
        start = value
    return integral / (24.0 * HOUR), highest


def schedules():
    cases = [
        # spans of running in hours; still, needed, volume in cfm, cfm, ft3
        ([(0, 12)], 20, 90, 16000),
        ([(0, 8), (16, 24)], 15, 90, 16000),
        ([(6, 9), (16, 23)], 30, 110, 19200),
        ([(6.5, 8), (11, 13), (17, 22)], 25, 75, 12000),
    ]
    rows = []
    for spans, still, needed, volume in cases:
        still, needed, cubic = still * CFM, needed * CFM, volume * 60.0 * CFM

        def excess(running):
            return day(spans, running, still, needed, cubic)[0] - 1.0

        running = brentq(excess, needed, 40.0 * needed, xtol=1e-9, rtol=1e-12)
        mean, highest = day(spans, running, still, needed, cubic)
        padded = [*spans, *[(0, 0)] * (3 - len(spans))]
        rows.append((*np.ravel(padded), still, needed, cubic, running, mean, highest))
    write(
        "rates_exposure_days.csv",
        ("flow while running that brings the mean relative exposure over time to 1", "spans of running in hours, 0 to 0 if there is none"),
        (
            *(f"{end}_{number}_h" for number in (1, 2, 3) for end in ("from", "to")),
            "still_m3_s",
            "needed_m3_s",
            "volume_m3",
            "running_m3_s",
            "mean",
            "highest",
        ),
        rows,
    )


if __name__ == "__main__":
    steps()
    schedules()
