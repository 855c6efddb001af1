"""How costs grow: with events, with jobs, with links, and the exponent that fits each curve.

PYTHONPATH=. python tests/benchmarks/speed/growth.py                 10^3 to 10^6 events, 1 to 100,000 jobs, 1 to 64 links
PYTHONPATH=. python tests/benchmarks/speed/growth.py --events 10000000     needs 10 GB

An exponent of 0 is a cost that does not grow, 1 one that grows in step; above 1 something is wrong. Times are those of
the processor, so that what others do on the machine does not count; exponents are fitted over the upper half of each
curve, where what a call costs anyway does not hide the slope.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[2] / "trail"))

from filled_record import filled
from test_links import run_links
from trail_pieces import weight

from bench.command_line.collecting import collect_rarely
from bench.trail.fold import fold
from bench.trail.identifiers import new_id
from bench.trail.sqlite_store import SqliteTrail

EVENTS_A_JOB = 100
"""Along the curves over events."""
SHORT_JOB = 5
"""Events a job along the curves over jobs."""


def worked(what: Callable[[], object], *, times: int = 5) -> float:
    """Least time of the processor of several tries. [s]"""
    seen = []
    for _ in range(times):
        began = time.process_time()
        what()
        seen.append(time.process_time() - began)
    return min(seen)


def exponent(sizes: list[float], costs: list[float]) -> float:
    """Slope of the upper half of a curve on paper with logarithms both ways."""
    half = max(min(len(sizes) // 2, len(sizes) - 3), 0)
    return float(np.polyfit(np.log(sizes[half:]), np.log(np.maximum(costs[half:], 1e-9)), 1)[0])


def appended(trail: SqliteTrail, job: str) -> float:
    """Middle time of the processor for one durable append. [s]"""
    seen = []
    for _ in range(100):
        one = weight(job=job).model_copy(update={"id": str(new_id())})
        began = time.process_time()
        trail.append([one])
        seen.append(time.process_time() - began)
    return statistics.median(seen)


def with_events(folder: Path, most: int) -> dict[str, tuple[list[float], list[float]]]:
    """Curves over the events of a record, a hundred of them a job."""
    curves: dict[str, tuple[list[float], list[float]]] = {}
    events = 1000
    while events <= most:
        trail = filled(folder / f"{events}.db", jobs=events // EVENTS_A_JOB, events_each=EVENTS_A_JOB)
        middle = events // EVENTS_A_JOB // 2
        number = f"{2000 + middle // 3000}-{middle % 3000:04d}"
        costs = {
            "open a job": worked(lambda t=trail, n=number: fold(t.events(job=n))),
            "find a number": worked(lambda t=trail, n=number: t.find(n)),
            "find a word of every job": worked(lambda t=trail: t.find("engine")),
            "list all jobs": worked(trail.jobs, times=2),
            "append an event": appended(trail, "2000-0000"),
            "verify": worked(trail.verify, times=1),
        }
        for name, cost in costs.items():
            sizes, seen = curves.setdefault(f"{name}, by events", ([], []))
            sizes.append(events)
            seen.append(cost)
        trail.close()
        trail.path.unlink()
        events *= 10
    return curves


def with_jobs(folder: Path, most: int) -> dict[str, tuple[list[float], list[float]]]:
    """Curves over the jobs of a record, each of a few events."""
    curves: dict[str, tuple[list[float], list[float]]] = {}
    jobs = 1
    while jobs <= most:
        trail = filled(folder / f"jobs-{jobs}.db", jobs=jobs, events_each=SHORT_JOB)
        number = f"{2000 + jobs // 2 // 3000}-{jobs // 2 % 3000:04d}"
        costs = {
            "open a job": worked(lambda t=trail, n=number: fold(t.events(job=n))),
            "find a number": worked(lambda t=trail, n=number: t.find(n)),
            "find a word of every job": worked(lambda t=trail: t.find("engine")),
            "list all jobs": worked(trail.jobs, times=2),
            "append an event": appended(trail, "2000-0000"),
        }
        for name, cost in costs.items():
            sizes, seen = curves.setdefault(f"{name}, by jobs", ([], []))
            sizes.append(jobs)
            seen.append(cost)
        trail.close()
        trail.path.unlink()
        jobs *= 10
    return curves


def with_links() -> dict[str, tuple[list[float], list[float]]]:
    """Share of a core over the links that are read at once, at 56 lines a second each."""
    sizes = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0]
    costs = [min(run_links(int(count), seconds=2.0, rate=56)[0] for _ in range(2)) for count in sizes]
    return {"share of a core, by links": (sizes, costs)}


def main() -> None:
    """Measure, fit and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--events", type=int, default=1_000_000, help="the longest record")
    parser.add_argument("--jobs", type=int, default=100_000, help="the most jobs")
    args = parser.parse_args()
    collect_rarely()  # as the program does
    with tempfile.TemporaryDirectory() as folder:
        curves = with_events(Path(folder), args.events) | with_jobs(Path(folder), args.jobs) | with_links()
    print("| what | costs | exponent |\n|---|---|---|")
    for name, (sizes, costs) in curves.items():
        unit = "of a core" if "core" in name else "ms"
        scale = 1.0 if "core" in name else 1e3
        points = ", ".join(f"{size:,.0f}: {cost * scale:.3g}" for size, cost in zip(sizes, costs, strict=True))
        print(f"| {name} [{unit}] | {points} | {exponent(sizes, costs):.2f} |")


if __name__ == "__main__":
    main()
