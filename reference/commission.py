"""The set-up day, independently of Lungwort: an identification with scipy and orifices with fluids.

Writes crates/checks/tables/commission_identified.csv, commission_explanations.csv and commission_orifices.csv.

The house: a ventilator that draws from a return duct and delivers into it farther on, a blower, the
leaks of the house. scipy.optimize.root solves it
with the *flows* as unknowns, every element giving its pressure difference (Lungwort solves for the
pressures). Ten numbers are sought from readings at two stations and two ports in two blower modes,
with what was believed of them before, by scipy.optimize.least_squares with differences of third
order. A third mode is predicted with its deviation.
"""

import math
from pathlib import Path

import numpy
import scipy
from scipy.linalg import lstsq
from scipy.optimize import least_squares, root
from scipy.stats import multivariate_normal

import fluids

TABLES = Path(__file__).resolve().parent.parent / "crates" / "checks" / "tables"

DENSITY = 1.204
# Sought, each by the logarithm of its value over the best value before, or as it is (zero).
# name, best value before, deviation before.
UNKNOWNS = [
    ("outdoor duct", 6000.0, 0.30),
    ("supply duct", 8000.0, 0.30),
    ("extract duct", 8000.0, 0.30),
    ("exhaust duct", 6000.0, 0.30),
    ("leakage of the house", 0.030, 0.15),
    ("return between the taps", 60.0, 0.25),
    ("calibration of the supply station", 1.0, 0.05),
    ("calibration of the extract station", 1.0, 0.05),
    ("gain of the manometer", 1.0, 0.01),
    ("zero of the manometer", 0.0, 0.30),
]
# Ventilator fans: rise at rest [Pa], linear and quadratic coefficient.
SUPPLY_FAN = (190.0, 500.0, 14000.0)
EXTRACT_FAN = (180.0, 500.0, 15000.0)
# The return before and after its two taps, and the rest of the way back to the rooms.
RETURN_FAR, RETURN_NEAR, REST = 90.0, 120.0, 260.0
# Blower by mode: rise at rest, linear, quadratic; standing it is a resistance.
BLOWERS = {"off": (0.0, 5.0, 80.0), "heating": (240.0, 8.0, 560.0), "cooling": (330.0, 8.0, 560.0)}
LEAK_EXPONENT = 0.65
# Stations: Q = K sqrt(dp) at standard density.
STATION = 0.0069
# place, mode, reading [Pa], deviation [Pa]
READINGS = [
    ("supply station", "off", 105.1, 0.8),
    ("extract station", "off", 110.3, 0.8),
    ("supply station", "heating", 124.9, 0.9),
    ("extract station", "heating", 96.6, 0.7),
    ("outdoor port", "off", -41.9, 0.5),
    ("exhaust port", "off", 26.5, 0.5),
]


def square(flow):
    return flow * abs(flow)


def solve(values, mode, guess=None):
    """Flows [m3/s]: supply, extract, return at its far end; pressures follow from them."""
    outdoor, supply, extract, exhaust, leakage, between = values[:6]
    p0, b, c = BLOWERS[mode]

    def rise(fan, flow):
        return fan[0] - fan[1] * flow - fan[2] * max(flow, 0.0) ** 2

    def pressures(x):
        s, e, far, house = x
        # The air that leaks in makes up for what is exhausted beyond the supply.
        tap_a = house - RETURN_FAR * square(far)
        middle = far - e
        tap_b = tap_a - between * square(middle)
        back = middle + s
        plenum = tap_b - RETURN_NEAR * square(back)
        return tap_a, tap_b, plenum, back

    def residual(x):
        s, e, far, house = x
        tap_a, tap_b, plenum, back = pressures(x)
        blower = p0 - b * back - c * square(back) if mode == "off" else rise((p0, b, c), back)
        leak = -math.copysign(leakage * abs(house) ** LEAK_EXPONENT, house)
        return [
            rise(SUPPLY_FAN, s) - outdoor * square(s) - supply * square(s) - tap_b,
            rise(EXTRACT_FAN, e) - extract * square(e) - exhaust * square(e) + tap_a,
            plenum + blower - REST * square(back) - house,
            (leak + s - e) * 1e3,
        ]

    starts = [guess] if guess is not None else []
    starts += [[0.055, 0.055, f, h] for f in (0.0, 0.3, 0.5) for h in (0.1, -0.1, 1.0, -1.0)]
    for start in starts:
        found = root(residual, start, method="hybr", options={"xtol": 1e-14})
        if max(abs(r) for r in residual(found.x)) < 1e-9:
            return found.x
    raise RuntimeError(f"no solution in {mode}")


def expand(x):
    return [
        best * math.exp(score) if best > 0.0 else score
        for (_, best, _), score in zip(UNKNOWNS, x)
    ]


def expected(x):
    values = expand(x)
    flows = {mode: solve(values, mode) for mode in {reading[1] for reading in READINGS}}
    shown = []
    for place, mode, _, _ in READINGS:
        s, e, _, house = flows[mode]
        truth = {
            "supply station": (s / values[6] / STATION) ** 2,
            "extract station": (e / values[7] / STATION) ** 2,
            "outdoor port": -values[0] * square(s) - house,
            "exhaust port": values[3] * square(e) - house,
        }[place]
        shown.append(values[8] * truth + values[9])
    return numpy.array(shown)


def write_identified():
    deviations = numpy.array([deviation for _, _, deviation in UNKNOWNS])
    readings = numpy.array([value for _, _, value, _ in READINGS])
    spreads = numpy.array([spread for _, _, _, spread in READINGS])

    def distance(x):
        return numpy.concatenate([(expected(x) - readings) / spreads, x / deviations])

    def slopes(function, x):
        rows = []
        for k in range(len(x)):
            step = 2e-3 * deviations[k]
            at = [function(x + m * step * numpy.eye(len(x))[k]) for m in (-2, -1, 1, 2)]
            rows.append((at[0] - 8 * at[1] + 8 * at[2] - at[3]) / (12 * step))
        return numpy.array(rows).T

    found = least_squares(
        distance,
        numpy.zeros(len(UNKNOWNS)),
        jac=lambda x: slopes(distance, x),
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-10,
    )
    covariance = numpy.linalg.inv(found.jac.T @ found.jac)
    lines = [
        "# Ten numbers of a house from six readings in two blower modes, and a third mode predicted.",
        f"# Written by reference/commission.py with scipy {scipy.__version__} (least_squares, root).",
        "# what,most probable value,standard deviation (of the logarithm; of the zero [Pa], of flows [m3/s] and balance themselves)",
    ]
    values = expand(found.x)
    for (name, _, _), value, variance in zip(UNKNOWNS, values, numpy.diag(covariance)):
        lines.append(f"{name},{value:.8g},{math.sqrt(variance):.8g}")

    def predicted(x):
        s, e, _, _ = solve(expand(x), "cooling")
        return numpy.array([s, e, (s - e) / max(s, e)])

    gradient = slopes(predicted, found.x)
    names = ["supply flow in cooling", "extract flow in cooling", "balance in cooling"]
    for name, value, row in zip(names, predicted(found.x), gradient):
        lines.append(f"{name},{value:.8g},{math.sqrt(row @ covariance @ row):.8g}")
    (TABLES / "commission_identified.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def write_orifices():
    lines = [
        "# Sharp-edged orifices after ISO 5167-2: discharge coefficient, expansibility, flow.",
        f"# Written by reference/commission.py with fluids {fluids.__version__} (flow_meter).",
        "# taps,duct [m],bore [m],pressure difference [Pa],discharge coefficient,expansibility,flow [m3/s]",
    ]
    density, viscosity, absolute = 1.2041, 1.82e-5, 101325.0
    for taps, name in (("corner", "corner"), ("flange", "flange"), ("D and D/2", "D and D/2")):
        for duct in (0.06, 0.15, 0.25):
            for ratio in (0.3, 0.5, 0.7):
                for difference in (20.0, 150.0, 1500.0):
                    bore = ratio * duct
                    mass = fluids.flow_meter.differential_pressure_meter_solver(
                        D=duct, D2=bore, P1=absolute, P2=absolute - difference,
                        rho=density, mu=viscosity, k=1.4,
                        meter_type="ISO 5167 orifice", taps=taps,
                    )
                    if 4 * mass / (math.pi * duct * viscosity) < max(5000, 170e3 * ratio**2 * duct):
                        continue  # not covered by the standard; fluids goes on by another formula
                    coefficient = fluids.flow_meter.C_Reader_Harris_Gallagher(
                        D=duct, Do=bore, rho=density, mu=viscosity, m=mass, taps=taps
                    )
                    expansibility = fluids.flow_meter.orifice_expansibility(
                        D=duct, Do=bore, P1=absolute, P2=absolute - difference, k=1.4
                    )
                    lines.append(
                        f"{name},{duct:.8g},{bore:.8g},{difference:.8g},"
                        f"{coefficient:.8g},{expansibility:.8g},{mass / density:.8g}"
                    )
    (TABLES / "commission_orifices.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def write_explanations():
    """Six readings that are linear in four scores, under explanations that believe the scores less:
    how much each weighs, and what the mixture of all says of a fifth number."""
    numbers = numpy.arange(1.0, 25.0).reshape(6, 4)
    slopes = numpy.sin(numbers) + numpy.array([2.0, 0.5, -1.0, 0.3])
    shown = numpy.array([5.1, 3.9, 4.4, 6.0, 2.9, 4.6])
    row = numpy.array([0.7, -0.4, 1.1, 0.2])
    weights, means, deviations, names = [], [], [], []
    for times, chance in ((1.0, 0.6), (1.5, 0.3), (2.25, 0.1)):
        for fault in (None, 0, 1, 2, 3):
            prior = numpy.full(4, times**2)
            odds = 1.0
            if fault is not None:
                prior[fault] = 4.0**2
                odds = 0.04 / 0.96
            # The readings' own law, from scipy, and the scores by weighted least squares.
            law = multivariate_normal(numpy.zeros(6), numpy.eye(6) + slopes @ numpy.diag(prior) @ slopes.T)
            weights.append(chance * odds * law.pdf(shown))
            whole = numpy.vstack([slopes, numpy.diag(prior**-0.5)])
            right = numpy.concatenate([shown, numpy.zeros(4)])
            scores = lstsq(whole, right)[0]
            means.append(row @ scores)
            deviations.append(math.sqrt(row @ numpy.linalg.inv(whole.T @ whole) @ row))
            names.append(f"{times:g} times as wide, " + ("no fault" if fault is None else f"score {fault} at fault"))
    weights = numpy.array(weights) / sum(weights)
    lines = [
        "# Weights of fifteen explanations of six readings, and the number that follows from each.",
        f"# Written by reference/commission.py with scipy {scipy.__version__} (multivariate_normal, lstsq).",
        "# what,weight,mean of the number,its standard deviation",
    ]
    for name, weight, mean, deviation in zip(names, weights, means, deviations):
        lines.append(f"{name.replace(',', ';')},{weight:.8g},{mean:.8g},{deviation:.8g}")
    (TABLES / "commission_explanations.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write_identified()
    write_explanations()
    write_orifices()
