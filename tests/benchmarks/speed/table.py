"""How fast: every figure beside a rival or a limit of the same run, as a table and as JSON.

python tests/benchmarks/speed/table.py                         the table
python tests/benchmarks/speed/table.py --only record --json out.json
python tests/benchmarks/speed/table.py --against tests/benchmarks/speed/baseline.json

Only ratios are kept and compared: seconds belong to the machine. Leaves with 1 when a ratio is more than 30 % worse
than the baseline's.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import platform
import sys
import tempfile
from pathlib import Path

# tests are no package; this folder leads the path when the file is run
from rows import Measured, Row, measure

HERE = Path(__file__).parent
SUBJECTS = tuple(sorted(path.stem.removeprefix("rows_") for path in HERE.glob("rows_*.py")))
WORSE = 1.3
"""How much worse than the baseline a ratio may be."""


def rows_of(subjects: tuple[str, ...]) -> list[Row]:
    """Return the rows of the subjects."""
    return [row for subject in subjects for row in importlib.import_module(f"rows_{subject}").ROWS]


def figure(value: float, unit: str) -> str:
    """Return a figure with its unit, three digits."""
    if unit != "s":
        return f"{value:.3g} {unit}"
    return f"{value:.3g} s" if value >= 1 else f"{value * 1e3:.3g} ms" if value >= 1e-3 else f"{value * 1e6:.3g} µs"


def line_of(one: Measured) -> str:
    """Return a row of the table in Markdown."""
    row = one.row
    mark = "reached" if one.reached else "**missed**"
    return (
        f"| {row.subject} | {figure(one.ours, row.unit)} | {row.against}: {figure(one.rival, row.unit)} "
        f"| {one.ratio:.2f} | {row.bound} {row.wanted:g} | {mark} |"
    )


def worse_than(baseline: dict[str, float], seen: list[Measured]) -> list[str]:
    """Return what fell behind the baseline, in words."""
    found = []
    for one in seen:
        old = baseline.get(one.row.subject)
        if old is None:
            continue
        by = one.ratio / old if one.row.bound == "at most" else old / one.ratio
        if by > WORSE:
            found.append(f"{one.row.subject}: ratio {one.ratio:.2f}, the baseline has {old:.2f}")
    return found


def main() -> int:
    """Measure, print, keep, compare."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", nargs="+", choices=SUBJECTS, default=SUBJECTS, metavar="SUBJECT")
    parser.add_argument("--json", type=Path, help="write the figures here")
    parser.add_argument("--against", type=Path, help="a file of --json to compare the ratios with")
    given = parser.parse_args()
    seen: list[Measured] = []
    print(f"Python {platform.python_version()}, {platform.system()} {platform.machine()}, {os.cpu_count()} cores\n")
    print("| what | ours | beside | ratio | to reach | |\n|---|---|---|---|---|---|", flush=True)
    for row in rows_of(tuple(given.only)):
        with tempfile.TemporaryDirectory() as folder:
            one = measure(row, Path(folder))
        seen.append(one)
        print(line_of(one), flush=True)
    if given.json:
        given.json.write_text(json.dumps({one.row.subject: round(one.ratio, 3) for one in seen}, indent=1) + "\n")
    behind = worse_than(json.loads(given.against.read_text()), seen) if given.against else []
    for words in behind:
        print(words, file=sys.stderr)
    return 1 if behind else 0


if __name__ == "__main__":
    sys.exit(main())
