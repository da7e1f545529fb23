"""Solves the networks of examples/networks with scipy, independently of Lungwort.

Reads each file with the TOML reader of Python's own library, writes the unknown pressures and flows
as one system of equations (a law for each element, a mass balance for each node) and solves it with
scipy.optimize.root (MINPACK's hybrd). Writes crates/checks/tables/networks_reference.csv: each
network with its solution.
"""

import math
import tomllib
from pathlib import Path

import numpy
import scipy
from scipy.optimize import brentq, root

HERE = Path(__file__).resolve().parent.parent
TABLE = HERE / "crates" / "checks" / "tables" / "networks_reference.csv"


def signed(value, power):
    return math.copysign(abs(value) ** power, value)


def friction(reynolds, relative_roughness):
    """Darcy friction factor by Colebrook's equation; turbulent flow only."""
    assert reynolds > 4000, f"Re = {reynolds}: not turbulent"
    return brentq(
        lambda x: x
        + 2 * math.log10(relative_roughness / 3.7 + 2.51 * x / reynolds),
        1.0,
        20.0,
        xtol=1e-15,
        rtol=1e-15,
    ) ** -2


def pressure_difference(element, flow, density_from, density_to):
    """Pressure difference [Pa] at a mass flow [kg/s]."""
    law = element["law"]
    if law == "leak":
        density = density_from if flow > 0 else density_to
        return signed(flow / (density * element["coefficient"]), 1 / element["exponent"])
    volume_flow = flow / element["density"]
    linear, quadratic = element.get("linear", 0.0), element.get("quadratic", 0.0)
    if law == "quadratic":
        return linear * volume_flow + quadratic * volume_flow * abs(volume_flow)
    if law == "fan":
        loss = linear * volume_flow + quadratic * max(volume_flow, 0.0) ** 2
        return loss - element["rise_at_rest"]
    if law == "duct":
        diameter, density = element["diameter"], element["density"]
        velocity = volume_flow / (math.pi / 4 * diameter**2)
        reynolds = density * abs(velocity) * diameter / element["viscosity"]
        factor = friction(reynolds, element["roughness"] / diameter)
        factor *= element.get("friction_multiplier", 1.0) * element["length"] / diameter
        loss = factor + element["loss"]
        return loss * density * velocity * abs(velocity) / 2
    raise ValueError(f"law {law}")


def first_guess(element):
    """A mass flow of the size that is to be expected [kg/s]."""
    return {"leak": 0.02, "quadratic": 0.05, "fan": 0.1, "duct": 0.05}[element["law"]]


def solve(path):
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    nodes, elements = data["node"], data["element"]
    density = {node["name"]: node.get("density", data.get("density", 1.204)) for node in nodes}
    fixed = {node["name"]: node["pressure"] for node in nodes if "pressure" in node}
    unknown = [node["name"] for node in nodes if node["name"] not in fixed]
    for element in elements:
        element.setdefault("density", data.get("density", 1.204))
        element.setdefault("viscosity", data.get("viscosity", 1.82e-5))
    injected = {name: 0.0 for name in unknown}
    for injection in data.get("injection", []):
        injected[injection["node"]] += injection["mass_flow"]

    def residual(values):
        pressure = dict(fixed) | dict(zip(unknown, values[: len(unknown)] * 10.0))
        balance, laws = dict(injected), []
        for element, flow in zip(elements, values[len(unknown) :] * 0.1):
            start, end = element["from"], element["to"]
            driven = pressure[start] - pressure[end] + element.get("drive", 0.0)
            lost = pressure_difference(element, flow, density[start], density[end])
            laws.append((driven - lost) / 10.0)
            for name, sign in ((start, -1), (end, 1)):
                if name in balance:
                    balance[name] += sign * flow
        return numpy.array([balance[name] * 10.0 for name in unknown] + laws)

    start = numpy.array(
        [0.0] * len(unknown) + [first_guess(element) * 10.0 for element in elements]
    )
    for _ in range(5):
        solution = root(residual, start, method="hybr", options={"xtol": 1e-15, "maxfev": 100000})
        start = solution.x
    worst = max(abs(residual(solution.x)))
    assert worst < 1e-12, f"{path.name}: residual {worst}"
    pressure = fixed | {
        name: round(float(value) * 10.0, 10)
        for name, value in zip(unknown, solution.x[: len(unknown)])
    }
    yield f"network,{path.stem}"
    for node in nodes:
        name = node["name"]
        known = fixed.get(name, "")
        yield f"node,{name},{density[name]},{known},{injected.get(name, 0)},{pressure[name]}"
    for element, value in zip(elements, solution.x[len(unknown) :]):
        own_density = "" if element["law"] == "leak" else element["density"]
        cells = [
            "element",
            element["name"],
            element["from"],
            element["to"],
            element["law"],
            ";".join(str(parameter) for parameter in parameters(element)),
            own_density,
            element.get("drive", 0),
            round(float(value) * 0.1, 13),
        ]
        yield ",".join(str(cell) for cell in cells)


def parameters(element):
    """The numbers of the law, in the order that the head of the table tells."""
    if element["law"] == "leak":
        return element["coefficient"], element["exponent"]
    if element["law"] == "quadratic":
        return element.get("linear", 0), element["quadratic"]
    if element["law"] == "fan":
        return element["rise_at_rest"], element["linear"], element.get("quadratic", 0)
    keys = "diameter", "length", "roughness", "loss"
    multiplier = element.get("friction_multiplier", 1)
    return *(element[key] for key in keys), multiplier, element["viscosity"]


HEAD = f"""\
# The networks of examples/networks, solved independently by reference/networks_reference.py with
# scipy {scipy.__version__} (root, hybr); residual below 1e-12 (kg/s, Pa).
# network,name
# node,name,density [kg/m3],fixed pressure [Pa],injection [kg/s],solution: pressure [Pa]
# element,name,from,to,law,parameters,density [kg/m3],drive [Pa],solution: mass flow [kg/s]
# laws: leak C;n  quadratic r1;r2  fan p0;b;c  duct D;L;roughness;K;multiplier;viscosity
"""


def main():
    files = sorted((HERE / "examples" / "networks").glob("*.toml"))
    lines = [line for path in files for line in solve(path)]
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    TABLE.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
