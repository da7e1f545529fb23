"""Compares the speed of Lungwort's network solver with a general hydraulic engine, in one run.

Runs `cargo bench -p airflow --bench network -- --json`, then the engine (owa-epanet) on a looped
network of the same size: 15 unknown heads and 60 links. Both solve again after every number has
changed a little: Lungwort all its laws and drives, the engine all its demands. Lungwort stops at a
residual of 1e-9 kg/s, the engine at its finest accuracy, a relative change of the flows of 1e-5.
The friction law of the engine is Hazen and Williams (one power per link, like a leak) or Darcy and
Weisbach (which evaluates a friction factor as well; Lungwort's network has none).

Takes the shortest of several runs on both sides. Writes no table: times are not reproducible.
"""

import json
import random
import subprocess
import tempfile
import time
from pathlib import Path

from epanet import toolkit

ROOT = Path(__file__).resolve().parent.parent
NODES, LINKS, STEPS, RUNS = 15, 60, 2000, 5


def lungwort():
    command = ["cargo", "bench", "--quiet", "-p", "airflow", "--bench", "network", "--", "--json"]
    output = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    return json.loads(output.strip().splitlines()[-1])


def network_file(share, friction, generator):
    """A network in the engine's own format: a reservoir with a pump, the rest pipes."""
    junctions = [f"J{i}" for i in range(NODES)]
    lines = ["[JUNCTIONS]"]
    lines += [f"{name} 0 {generator.uniform(1, 5):.3f} P{i % 5}" for i, name in enumerate(junctions)]
    lines += ["[RESERVOIRS]", "R 50", "[PIPES]"]
    pipes = [(junctions[generator.randrange(max(0, i - 3), i)], junctions[i]) for i in range(1, NODES)]
    while len(pipes) < LINKS - 1:
        pipes.append(tuple(generator.sample(junctions, 2)))
    roughness = 0.1 if friction == "D-W" else 120
    for i, (start, end) in enumerate(pipes):
        length, diameter = generator.uniform(50, 300), generator.uniform(80, 250)
        lines.append(f"L{i} {start} {end} {length:.1f} {diameter:.0f} {roughness} 0 Open")
    lines += ["[PUMPS]", "PUMP R J0 HEAD C", "[CURVES]", "C 50 40", "[PATTERNS]"]
    for i in range(5):
        for _ in range(STEPS // 10):
            values = (f"{generator.uniform(1 - share, 1 + share):.5f}" for _ in range(10))
            lines.append(f"P{i} {' '.join(values)}")
    lines += ["[TIMES]", f"Duration {STEPS}:00", "Hydraulic Timestep 1:00", "Pattern Timestep 1:00"]
    lines += ["[OPTIONS]", "Units LPS", f"Headloss {friction}", "Accuracy 0.00001", "Trials 100"]
    lines += ["[REPORT]", "Messages No", "Status No", "[END]"]
    return "\n".join(lines) + "\n"


def engine(share, friction):
    """Shortest mean time of a step (µs), and its mean number of iterations."""
    best, mean = float("inf"), 0.0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "network.inp"
        path.write_text(network_file(share, friction, random.Random(1)), encoding="utf-8")
        for _ in range(RUNS):
            project = toolkit.createproject()
            toolkit.open(project, str(path), str(path.with_suffix(".rpt")), "")
            toolkit.openH(project)
            toolkit.initH(project, 0)
            total, steps, iterations = 0.0, 0, 0.0
            while True:
                start = time.perf_counter()
                toolkit.runH(project)
                total += time.perf_counter() - start
                iterations += toolkit.getstatistic(project, toolkit.ITERATIONS)
                steps += 1
                if toolkit.nextH(project) <= 0:
                    break
            toolkit.closeH(project)
            toolkit.close(project)
            toolkit.deleteproject(project)
            if total / steps * 1e6 < best:
                best, mean = total / steps * 1e6, iterations / steps
    return best, mean


def main():
    times = lungwort()
    print(f"{NODES} unknowns, {LINKS} elements; µs per solve from a neighbouring solution")
    print(f"{'':34}{'engine':>10}{'single':>10}{'ratio':>8}{'batched':>10}{'ratio':>8}")
    for share, key in ((0.04, "4"), (0.004, "04")):
        single, batched = times[f"single_{key}"], times[f"batch_{key}"]
        for friction, name in (("H-W", "Hazen-Williams"), ("D-W", "Darcy-Weisbach")):
            taken, iterations = engine(share, friction)
            label = f"{name}, ±{100 * share:g} %, {iterations:.1f} its"
            print(
                f"{label:34}{taken:10.2f}{single:10.2f}{taken / single:8.1f}"
                f"{batched:10.2f}{taken / batched:8.1f}"
            )


if __name__ == "__main__":
    main()
