"""Compare two folders of reference tables, number by number.

Usage: python compare_tables.py COMMITTED NEW

Every table is CSV; lines that begin with `#` are comments. Cells that read as numbers may differ by
1e-9 of the larger of the two, or by 1e-12 near zero; every other cell must be equal. A table that
exists on one side only is a difference. Prints each difference; the exit code is 1 if there is any.
"""

import csv
import math
import sys
from pathlib import Path

RELATIVE = 1e-9
ABSOLUTE = 1e-12
SHOWN = 10


def rows(path):
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.reader(line for line in file if not line.startswith("#")))


def same(committed, new):
    if committed == new:
        return True
    try:
        a, b = float(committed), float(new)
    except ValueError:
        return False
    if math.isnan(a) or math.isnan(b):
        return math.isnan(a) and math.isnan(b)
    return math.isclose(a, b, rel_tol=RELATIVE, abs_tol=ABSOLUTE)


def differences(committed, new):
    """The differences between two tables, as sentences."""
    before, after = rows(committed), rows(new)
    if len(before) != len(after):
        yield f"{len(before)} rows committed, {len(after)} rows now"
        return
    for number, (left, right) in enumerate(zip(before, after), start=1):
        if len(left) != len(right):
            yield f"row {number}: {len(left)} cells committed, {len(right)} now"
            continue
        for column, (a, b) in enumerate(zip(left, right), start=1):
            if not same(a, b):
                yield f"row {number}, column {column}: {a} committed, {b} now"


def main(committed_folder, new_folder):
    committed = {path.name: path for path in Path(committed_folder).glob("*.csv")}
    new = {path.name: path for path in Path(new_folder).glob("*.csv")}
    failed = False
    for name in sorted(committed.keys() | new.keys()):
        if name not in new:
            found = ["committed, but no script writes it"]
        elif name not in committed:
            found = ["written by a script, but not committed"]
        else:
            found = list(differences(committed[name], new[name]))
        if found:
            failed = True
            print(f"DIFFERS {name}: {len(found)} difference(s)")
            for sentence in found[:SHOWN]:
                print(f"    {sentence}")
        else:
            print(f"same    {name}: {len(rows(new[name]))} rows")
    return 1 if failed else 0


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    sys.exit(main(sys.argv[1], sys.argv[2]))
