"""Solves 240 random pressure networks and an inverse problem with scipy, independently of Lungwort.

Writes crates/checks/tables/networks_random.csv, which holds the networks and their solutions, and
networks_inverse.csv, the resistances of four ducts that explain six readings best.

The equations are written the other way round than in Lungwort: unknown are the flows *and* the
pressures, every element states its pressure difference as a function of its flow, and every node
its mass balance. scipy.optimize.root (MINPACK's hybrj) solves them, from several starts where one
fails; the residuals of the result are verified.
"""

import math
import random
from pathlib import Path

import numpy
import scipy
from scipy.optimize import brentq, least_squares, root

TABLES = Path(__file__).resolve().parent.parent / "crates" / "checks" / "tables"
TURBULENT = 4000.0


class Network:
    """Nodes and elements by name; parameters as in the header of the tables."""

    def __init__(self, name):
        self.name = name
        self.nodes = {}
        self.elements = []

    def node(self, name, density, fixed=None, injection=0.0):
        self.nodes[name] = (density, fixed, injection)

    def element(self, name, start, end, law, parameters, density=None, drive=0.0):
        self.elements.append((name, start, end, law, tuple(parameters), density, drive))


def friction(reynolds, relative_roughness):
    """Darcy friction factor by Colebrook's equation."""
    return brentq(
        lambda x: x + 2 * math.log10(relative_roughness / 3.7 + 2.51 * x / reynolds),
        0.1,
        20.0,
        xtol=1e-15,
        rtol=1e-15,
    ) ** -2


def reynolds_number(parameters, density, flow):
    diameter, viscosity = parameters[0], parameters[5]
    velocity = abs(flow) / density / (math.pi * diameter**2 / 4)
    return density * velocity * diameter / viscosity


def drop(element, nodes, flow):
    """Pressure difference [Pa], with drive, that drives a mass flow [kg/s]."""
    _, start, end, law, parameters, density, _ = element
    if law in ("leak", "flap"):
        upstream = nodes[start][0] if flow > 0 else nodes[end][0]
        coefficient = parameters[0]
        if law == "flap" and flow < 0:
            coefficient *= parameters[2]
        return math.copysign((abs(flow) / (upstream * coefficient)) ** (1 / parameters[1]), flow)
    volume_flow = flow / density if density else flow
    if law == "quadratic":
        return parameters[0] * volume_flow + parameters[1] * volume_flow * abs(volume_flow)
    if law == "fan":
        shut_off, linear, quadratic = parameters
        return linear * volume_flow + quadratic * max(volume_flow, 0.0) ** 2 - shut_off
    if law == "duct":
        diameter, length, roughness, loss, multiplier, _ = parameters
        velocity = volume_flow / (math.pi * diameter**2 / 4)
        reynolds = max(reynolds_number(parameters, density, flow), 100.0)
        factor = friction(reynolds, roughness / diameter)
        coefficient = factor * length / diameter * multiplier + loss
        return coefficient * density / 2 * velocity * abs(velocity)
    if law == "shut":
        return flow / parameters[0]
    raise ValueError(law)


def slope(element, nodes, flow):
    """Derivative of the drop by the flow; near enough for Newton's method."""
    step = 1e-6 * abs(flow) + 1e-12
    return (drop(element, nodes, flow + step) - drop(element, nodes, flow - step)) / (2 * step)


def solve(network, attempts=60):
    """Pressures of all nodes and flows of all elements, or None."""
    nodes, elements = network.nodes, network.elements
    unknown = [name for name, (_, fixed, _) in nodes.items() if fixed is None]
    position = {name: i for i, name in enumerate(unknown)}
    count = len(elements)

    def pressure(x, name):
        fixed = nodes[name][1]
        return x[count + position[name]] if fixed is None else fixed

    def equations(x):
        result = numpy.zeros(count + len(unknown))
        for i, element in enumerate(elements):
            _, start, end, _, _, _, drive = element
            difference = pressure(x, start) - pressure(x, end) + drive
            result[i] = drop(element, nodes, x[i]) - difference
            for name, sign in ((start, 1.0), (end, -1.0)):
                if name in position:
                    result[count + position[name]] += sign * x[i]
        for name in unknown:
            result[count + position[name]] -= nodes[name][2]
        return result

    def jacobian(x):
        result = numpy.zeros((count + len(unknown),) * 2)
        for i, element in enumerate(elements):
            _, start, end, _, _, _, _ = element
            result[i, i] = max(slope(element, nodes, x[i]), 1e-9)
            for name, sign in ((start, 1.0), (end, -1.0)):
                if name in position:
                    result[i, count + position[name]] = -sign
                    result[count + position[name], i] = sign
        return result

    generator = random.Random(network.name)
    for attempt in range(attempts):
        scale = 10 ** generator.uniform(-4, 0)
        start = numpy.array(
            [generator.uniform(-scale, scale) for _ in elements] + [0.0] * len(unknown)
        )
        found = root(equations, start, jac=jacobian, method="hybr", options={"xtol": 1e-13})
        x = found.x
        # Newton's method takes the last digits, where it converges.
        for _ in range(60):
            x = x - numpy.linalg.solve(jacobian(x), equations(x))
        residual = equations(x)
        balance = max(abs(residual[count:]), default=0.0)
        loops = max(abs(residual[:count]))
        if balance <= 1e-14 and loops <= 1e-10:
            flows = dict(zip((element[0] for element in elements), x))
            return {name: pressure(x, name) for name in nodes}, flows
    return None


def number(value):
    return repr(float(value)).removesuffix(".0")


def rounded(value):
    return f"{value:.12g}" if abs(value) >= 1e-13 else "0"


def lines(network, pressures, flows):
    yield f"network,{network.name}"
    for name, (density, fixed, injection) in network.nodes.items():
        fixed = "" if fixed is None else number(fixed)
        yield f"node,{name},{number(density)},{fixed},{number(injection)},{rounded(pressures[name])}"
    for name, start, end, law, parameters, density, drive in network.elements:
        parameters = ";".join(number(parameter) for parameter in parameters)
        density = "" if density is None else number(density)
        values = f"{density},{number(drive)},{rounded(flows[name])}"
        yield f"element,{name},{start},{end},{law},{parameters},{values}"


def write(networks):
    header = [
        "# Random networks, solved by an independent method.",
        f"# Written by reference/networks.py with scipy {scipy.__version__} (root, hybr) and numpy "
        f"{numpy.__version__}.",
        "# Mass balance within 1e-14 kg/s, pressures round loops within 1e-10 Pa.",
        "# network,name",
        "# node,name,density [kg/m3],fixed pressure [Pa],injection [kg/s],solution: pressure [Pa]",
        "# element,name,from,to,law,parameters,density [kg/m3],drive [Pa],solution: mass flow [kg/s]",
        "# laws: leak C;n  flap C;n;reverse share  quadratic r1;r2  fan p0;b;c",
        "#       duct D;L;roughness;K;multiplier;viscosity  shut G",
    ]
    body = []
    for network in networks:
        solution = solve(network)
        assert solution, f"{network.name}: not solved"
        body.extend(lines(network, *solution))
    path = TABLES / "networks_random.csv"
    path.write_text("\n".join(header + body) + "\n", encoding="utf-8")


def logarithmic(generator, low, high):
    return math.exp(generator.uniform(math.log(low), math.log(high)))


def random_law(generator):
    """A law, its parameters to four digits and its density."""
    law, parameters, density = any_law(generator)
    return law, tuple(float(f"{parameter:.4g}") for parameter in parameters), density


def any_law(generator):
    kind = generator.random()
    if kind < 0.40:
        return "leak", (logarithmic(generator, 1e-5, 0.05), generator.uniform(0.5, 1.0)), None
    if kind < 0.45:
        exponent = generator.uniform(0.5, 0.8)
        return "flap", (logarithmic(generator, 1e-3, 0.05), exponent, 1e-3), None
    if kind < 0.75:
        linear = generator.choice([0.0, logarithmic(generator, 1.0, 1000.0)])
        return "quadratic", (linear, logarithmic(generator, 10.0, 1e5)), 1.2
    if kind < 0.85:
        diameter = generator.uniform(0.1, 0.3)
        length, loss = generator.uniform(1, 15), generator.uniform(0, 8)
        return "duct", (diameter, length, 0.09e-3, loss, 1.0, 1.82e-5), 1.2
    if kind < 0.97:
        shut_off, linear = generator.uniform(50, 400), generator.uniform(100, 1000)
        return "fan", (shut_off, linear, logarithmic(generator, 500, 12000)), 1.2
    return "shut", (logarithmic(generator, 1e-10, 1e-7),), None


def random_network(generator, name):
    network = Network(name)
    network.node("outdoors", round(generator.uniform(1.1, 1.4), 3), fixed=0.0)
    if generator.random() < 0.3:
        network.node("garage", 1.25, fixed=round(generator.uniform(-10, 10), 2))
    names = list(network.nodes)
    fixed = len(names)

    def add(start, end):
        law, parameters, density = random_law(generator)
        drive = round(generator.uniform(-8, 8), 3) if law in ("leak", "flap") else 0.0
        # Fans lead from earlier nodes to later ones: so they form no loop.
        order = sorted((start, end), key=names.index)
        start, end = order if law == "fan" else (start, end)
        name = f"e{len(network.elements)}"
        network.element(name, start, end, law, parameters, density, drive)

    for i in range(generator.randint(2, 12)):
        name = f"n{i}"
        network.node(name, round(generator.uniform(1.1, 1.4), 3))
        names.append(name)
        add(generator.choice(names[:-1]), name)
    for _ in range(generator.randint(len(names), 2 * len(names))):
        start, end = generator.sample(names, 2)
        add(start, end)
    if generator.random() < 0.3:
        name = generator.choice(names[fixed:])
        density = network.nodes[name][0]
        exhaust = round(generator.uniform(0.01, 0.1), 4)
        network.node(name, density, injection=-exhaust)
        network.element("wall", "outdoors", name, "leak", (0.02, 0.65), None, 1.0)
    return network


def turbulent(network, flows):
    """Whether all ducts lie where Colebrook's equation holds without dispute."""
    return all(
        reynolds_number(parameters, density, flows[name]) > TURBULENT
        for name, _, _, law, parameters, density, _ in network.elements
        if law == "duct"
    )


def random_networks(count):
    generator = random.Random(20240)
    found = []
    while len(found) < count:
        network = random_network(generator, f"random {len(found) + 1}")
        solution = solve(network, attempts=6)
        if solution and turbulent(network, solution[1]):
            found.append(network)
    return found


def shared_return(log_resistances):
    """A house whose ventilator joins the return duct with both ports; blower off, wind and cold."""
    inside, outside = (101325.0 / (287.055 * (t + 273.15)) for t in (21, -5))

    def shown(height, coefficient):
        stack = (inside - outside) * 9.80665 * height
        return coefficient * 0.5 * outside * 3.0**2 + stack

    network = Network("shared return")
    network.node("outdoors", outside, fixed=0.0)
    network.node("house", inside)
    for name in ("RA", "RB", "RP", "SP", "V1", "V2", "V3", "V4", "V5", "V6"):
        network.node(name, 1.2)
    for name, end, coefficient, exponent, drive in [
        ("low windward leaks", "house", 0.016, 0.65, shown(0.5, 0.6)),
        ("low leeward leaks", "house", 0.016, 0.65, shown(0.5, -0.3)),
        ("high windward leaks", "house", 0.008, 0.60, shown(4.5, 0.6)),
        ("ceiling leaks", "house", 0.014, 0.70, shown(5.2, -0.4)),
        ("return leaks", "RP", 0.0020, 0.6, 0.0),
        ("supply leaks", "SP", 0.0008, 0.6, 0.0),
    ]:
        network.element(name, "outdoors", end, "leak", (coefficient, exponent), drive=drive)
    resistances = [math.exp(log) for log in log_resistances]
    for name, start, end, linear, quadratic, drive in [
        ("return", "house", "RA", 0, 80, 0.0),
        ("between the taps", "RA", "RB", 0, 12, 0.0),
        ("filter", "RB", "RP", 40, 60, 0.0),
        ("blower", "RP", "SP", 0, 60, 0.0),
        ("supply", "SP", "house", 0, 280, 0.0),
        ("outdoor-air duct", "outdoors", "V1", 0, resistances[0], shown(1.0, 0.2)),
        ("core, supply", "V1", "V2", 800, 2000, 0.0),
        ("supply-air duct", "V3", "RB", 0, resistances[1], 0.0),
        ("extract-air duct", "RA", "V4", 0, resistances[2], 0.0),
        ("core, exhaust", "V4", "V5", 800, 2000, 0.0),
        ("exhaust-air duct", "V6", "outdoors", 0, resistances[3], -shown(1.0, -0.2)),
    ]:
        network.element(name, start, end, "quadratic", (linear, quadratic), 1.2, drive)
    network.element("supply fan", "V2", "V3", "fan", (180, 900, 12000), 1.2)
    network.element("exhaust fan", "V5", "V6", "fan", (180, 900, 12000), 1.2)
    return network


SOUGHT = ["outdoor-air duct", "supply-air duct", "extract-air duct", "exhaust-air duct"]
PRIOR = [math.log(resistance) for resistance in (6000, 8000, 8000, 6000)]
PRIOR_DEVIATION = 0.3
READINGS = [-20.8, 29.0, -19.6, 21.5, 53.9, 55.3]
DEVIATIONS = [1.0, 1.0, 1.0, 1.0, 2.695, 2.765]


def readings(log_resistances):
    """Three pressures of the ports and two flows in L/s, as they would be read."""
    pressure, flow = solve(shared_return(log_resistances))
    house = pressure["house"]
    return numpy.array(
        [
            pressure["V1"],
            pressure["V3"] - house,
            pressure["V4"] - house,
            pressure["V6"],
            flow["outdoor-air duct"] / 1.2e-3,
            flow["exhaust-air duct"] / 1.2e-3,
        ]
    )


def sensitivities(log_resistances, step=2e-3):
    """Derivatives of the readings by central differences of the fourth order."""
    columns = []
    for direction in numpy.eye(len(log_resistances)):
        at = lambda n: readings(log_resistances + n * step * direction)
        columns.append((8 * (at(1) - at(-1)) - (at(2) - at(-2))) / (12 * step))
    return numpy.array(columns).T


def write_inverse():
    """Most probable resistances, and the standard deviations of their logarithms."""
    deviations, prior = numpy.array(DEVIATIONS), numpy.array(PRIOR)
    count = len(prior)
    found = least_squares(
        lambda x: numpy.concatenate(
            [(readings(x) - READINGS) / deviations, (x - prior) / PRIOR_DEVIATION]
        ),
        prior,
        jac=lambda x: numpy.vstack(
            [sensitivities(x) / deviations[:, None], numpy.eye(count) / PRIOR_DEVIATION]
        ),
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-12,
    )
    covariance = numpy.linalg.inv(found.jac.T @ found.jac)
    header = [
        "# Resistances of four ducts from six readings and what was believed before.",
        f"# Written by reference/networks.py with scipy {scipy.__version__} (least_squares).",
        "# duct,most probable r2 [Pa s2/m6],standard deviation of its logarithm",
    ]
    body = [
        f"{name},{math.exp(log):.8g},{math.sqrt(variance):.8g}"
        for name, log, variance in zip(SOUGHT, found.x, numpy.diag(covariance))
    ]
    path = TABLES / "networks_inverse.csv"
    path.write_text("\n".join(header + body) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write_inverse()
    write(random_networks(240))
