"""Openings on walls: distances in space, and the area where a hood may lie.

Writes crates/checks/tables/walls_*.csv. Run without arguments, from anywhere:

    python reference/walls.py

shapely measures in plan and subtracts polygons. The forbidden figure around a thing is found here by
level slices: at each height the reach that is left in plan, and how far along the wall the opening
comes within it by bisection of shapely's distance. The limits and exceptions are written down again.
"""

from importlib.metadata import version
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon, box

TABLES = Path(__file__).resolve().parent.parent / "crates" / "checks" / "tables"
FOOT, INCH = 0.3048, 0.0254
FAR = 100.0
INTAKE, EXHAUST = 0, 1

# What a thing asks of an intake or an exhaust under common practice and the model code of 2024: a
# list of (measure, limit, what lifts it). "below 3 ft": the opening lies 3 ft or more below.
THINGS = [
    ("chimney", INTAKE, [("line", 10 * FOOT, None)]),
    ("plumbing vent", INTAKE, [("line", 10 * FOOT, ("below", 3 * FOOT))]),
    ("dryer outlet", INTAKE, [("line", 6 * FOOT, None), ("line", 3 * FOOT, None)]),
    ("bath exhaust", INTAKE, [("line", 6 * FOOT, None), ("line", 10 * FOOT, ("below", 3 * FOOT))]),
    ("radon outlet", INTAKE, [("line", 10 * FOOT, ("below", 2 * FOOT))]),
    (
        "mechanical-draught vent",
        INTAKE,
        [("line", 10 * FOOT, None), ("below", 3 * FOOT, ("beyond", 10 * FOOT))],
    ),
    ("deck", INTAKE, [("above", 18 * INCH, ("beyond", 0.0))]),
    ("window", EXHAUST, [("line", 3 * FOOT, ("above", 1 * FOOT))]),
    ("mechanical intake", EXHAUST, [("line", 10 * FOOT, ("above", 3 * FOOT))]),
    ("property line", EXHAUST, [("plan", 3 * FOOT, None)]),
]
ABOVE_GROUND = {INTAKE: 18 * INCH, EXHAUST: 0.0}


def write(name, notes, columns, rows):
    libraries = ", ".join(f"{library} {version(library)}" for library in ("shapely", "numpy"))
    lines = [f"# {note}" for note in (*notes, f"written by reference/walls.py with {libraries}")]
    lines.append(",".join(columns))
    for row in rows:
        lines.append(",".join(f"{value:.10g}" for value in row))
    (TABLES / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{name}: {len(rows)} rows")


def rounded(values):
    """What the table will hold, so that both sides compute with the same numbers."""
    return [float(f"{value:.10g}") for value in values]


class Wall:
    def __init__(self, start, end, hood):
        self.start, self.end = np.array(start), np.array(end)
        self.hood = hood
        self.length = np.hypot(*(self.end - self.start))
        self.along = (self.end - self.start) / self.length

    def point(self, s, out):
        outward = np.array([self.along[1], -self.along[0]])
        return self.start + s * self.along + out * outward

    def openings(self, centres):
        """The hood in plan, with its centre at each of these."""
        half = self.hood[0] / 2
        ends = np.stack([np.asarray(centres) - half, np.asarray(centres) + half], axis=-1)
        return shapely.linestrings(self.start + ends[..., None] * self.along)

    def apart(self, centres, thing):
        return shapely.distance(self.openings(centres), thing)

    def within(self, reach, thing):
        """From where to where the hood is nearer than each reach in plan; equal where never."""
        reach = np.asarray(reach, dtype=float)
        # The nearest place: the distance is convex along the wall.
        low, high = -FAR, FAR
        for _ in range(200):
            one, two = low + (high - low) / 3, high - (high - low) / 3
            if self.apart(one, thing) <= self.apart(two, thing):
                high = two
            else:
                low = one
        nearest = (low + high) / 2
        found = []
        for side in (-1, 1):
            inside, outside = np.full_like(reach, nearest), np.full_like(reach, nearest + side * FAR)
            for _ in range(60):
                middle = (inside + outside) / 2
                near = self.apart(middle, thing) < reach
                inside, outside = np.where(near, middle, inside), np.where(near, outside, middle)
            found.append(inside)
        return found


def figure(wall, thing, bottom, top, rule):
    """Where the centre of the hood must not lie."""
    measure, limit, lifted = rule
    half = wall.hood[1] / 2
    if measure == "line":
        angle = np.linspace(0, np.pi / 2, 600)
        gap = limit * np.cos(angle)
        reach = limit * np.sin(angle)
        # Upward through the rounded bottom, then through the rounded top.
        heights = np.concatenate([bottom - half - gap, top + half + gap[::-1]])
        left, right = wall.within(np.concatenate([reach, reach[::-1]]), thing)
        left_side, right_side = zip(left, heights), zip(right[::-1], heights[::-1])
        whole = Polygon([*left_side, *right_side]).buffer(0)
    elif measure == "plan":
        left, right = wall.within([limit], thing)
        whole = box(left[0], -FAR, right[0], FAR) if right[0] > left[0] else Polygon()
    elif measure == "above":
        whole = box(-FAR, -FAR, FAR, top + limit + half)
    else:
        whole = box(-FAR, bottom - limit - half, FAR, FAR)
    if lifted is None:
        return whole
    how, by = lifted
    if how == "below":
        return whole.intersection(box(-FAR, bottom - half - by, FAR, FAR))
    if how == "above":
        return whole.intersection(box(-FAR, -FAR, FAR, top + half + by))
    # A touch counts as over: a thing drawn against the wall misses it by rounding.
    left, right = wall.within([max(by, 1e-6)], thing)
    strip = box(left[0], -FAR, right[0], FAR) if right[0] > left[0] else Polygon()
    return whole.intersection(strip)


def ground(wall, grade, more):
    """Under this line the centre of the hood must not lie; the highest ground under it counts."""
    s = np.linspace(-1, wall.length + 1, 4001)
    half = wall.hood[0] / 2
    at = [np.interp(s + offset, [0, wall.length], grade) for offset in (-half, half)]
    heights = np.maximum(*at) + more + wall.hood[1] / 2
    return Polygon([*zip(s, heights), (wall.length + 1, -FAR), (-1, -FAR)])


def plan_of(numbers):
    return MultiPoint(np.reshape(numbers, (4, 2))).convex_hull


def distances(random):
    rows = []
    for _ in range(60):
        turn = random.uniform(-np.pi, np.pi)
        start = random.uniform(-5, 5, 2)
        end = start + random.uniform(3, 15) * np.array([np.cos(turn), np.sin(turn)])
        hood = random.uniform(0.1, 0.5, 2)
        thing = (random.uniform(-8, 8, 2) + random.uniform(-2, 2, (4, 2))).ravel()
        bottom = random.uniform(-1, 6)
        row = rounded([*start, *end, *hood, random.uniform(0.5, 2.5), random.uniform(0.5, 4)])
        row += rounded([*thing, bottom, bottom + random.uniform(0, 2)])
        wall = Wall(row[0:2], row[2:4], row[4:6])
        s, z = row[6:8]
        bottom, top = row[16:18]
        half = wall.hood[1] / 2
        gap = max(0.0, bottom - (z + half), (z - half) - top)
        plan = wall.apart(s, plan_of(row[8:16]))
        rows.append([*row, np.hypot(plan, gap)])
    write(
        "walls_distances.csv",
        ["the shortest straight line from a hood on a wall to a box with a convex plan; m"],
        "start_x,start_y,end_x,end_y,width,height,s,z,x1,y1,x2,y2,x3,y3,x4,y4,bottom,top,distance".split(","),
        rows,
    )


def areas(random):
    rows = []
    for case in range(24):
        stream = case % 2
        kinds = [index for index, thing in enumerate(THINGS) if thing[1] == stream]
        turn = random.uniform(-np.pi, np.pi)
        start = random.uniform(-5, 5, 2)
        end = start + random.uniform(8, 14) * np.array([np.cos(turn), np.sin(turn)])
        row = rounded([stream, *start, *end, random.uniform(3, 7)])
        row += rounded([*random.uniform(-0.5, 0.8, 2), *random.uniform(0.1, 0.5, 2)])
        wall = Wall(row[1:3], row[3:5], row[8:10])
        height, grade = row[5], row[6:8]
        half = np.array(wall.hood) / 2
        allowed = box(half[0], half[1], wall.length - half[0], height - half[1])
        allowed = allowed.difference(ground(wall, grade, ABOVE_GROUND[stream]))
        for number in range(3):
            kind = kinds[(case // 2 + 2 * number) % len(kinds)]
            name = THINGS[kind][0]
            width, depth, tall = random.uniform(0.05, 1.2, 3)
            left = random.uniform(-1, wall.length)
            bottom = random.uniform(0.5, height)
            on_wall = number == 0 and name not in ("deck", "property line")
            if on_wall:
                out, depth = 0.0, 0.0
            elif name == "deck":
                out, depth, bottom, width = 0.0, 2.0, 0.8, 3.0
            elif name == "property line":
                out, depth, bottom, tall, width, left = random.uniform(0.3, 1.5), 0.0, 0.0, 9.0, 20.0, -4.0
            else:
                out = random.uniform(-2.5, 2.5)
            corners = [(left, out), (left + width, out), (left + width, out + depth), (left, out + depth)]
            plan = np.array([wall.point(*corner) for corner in corners])
            if not on_wall and name != "deck":
                swing = random.uniform(-1, 1)
                turned = np.array([[np.cos(swing), -np.sin(swing)], [np.sin(swing), np.cos(swing)]])
                plan = plan[0] + (plan - plan[0]) @ turned.T
            numbers = rounded([kind, on_wall, *plan.ravel(), bottom, bottom + tall])
            row += numbers
            bottom, top = numbers[10:12]
            for rule in THINGS[kind][2]:
                allowed = allowed.difference(figure(wall, plan_of(numbers[2:10]), bottom, top, rule))
            if on_wall:
                low, high = np.array([left, bottom]) - half, np.array([left + width, top]) + half
                allowed = allowed.difference(box(*low, *high))
        rows.append([*row, allowed.area])
    thing = "object,on_wall,x1,y1,x2,y2,x3,y3,x4,y4,bottom,top".split(",")
    write(
        "walls_areas.csv",
        [
            "where the centre of a hood may lie on a rectangular wall from z = 0 up, with three things; m, m2",
            "stream: 0 intake, 1 exhaust; object: " + ", ".join(f"{i} {t[0]}" for i, t in enumerate(THINGS)),
        ],
        "stream,start_x,start_y,end_x,end_y,wall_height,grade_left,grade_right,width,height".split(",")
        + [f"{column}_{number}" for number in (1, 2, 3) for column in thing]
        + ["area"],
        rows,
    )


if __name__ == "__main__":
    distances(np.random.default_rng(1))
    areas(np.random.default_rng(2))
