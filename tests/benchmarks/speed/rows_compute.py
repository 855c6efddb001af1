"""Computing: matching, planning, printing, beside a general-purpose library on the same figures."""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest.mock import patch

import numpy as np
import segno
from rows import Row
from scipy.optimize import Bounds, LinearConstraint, milp

sys.path.insert(0, str(Path(__file__).parents[2] / "screens"))

from listening_desk import some_state

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_planner import plan_cuts
from bench.computation.match import MatchKind, best_match
from bench.computation.stations import Drill, Station
from bench.reports import certificate, pages
from bench.reports.checkpoint_code import checkpoint_line
from bench.trail.contract import Checkpoint
from bench.use_cases.review_job import review_job

CYLINDERS, KINDS, ROUNDS = 8, 4, 7
CHECKPOINT = Checkpoint("south", 321, "ab" * 32)
DRILLS_G = (8.0, 20.0, 40.0)
"""What a full hole of each of three drills takes. [g]"""


def timed(what: Callable[[], object]) -> float:
    """Seconds that a call takes."""
    began = time.perf_counter()
    what()
    return time.perf_counter() - began


def _matched_by_programme(grams: np.ndarray) -> float:
    """The textbook mixed-integer programme of the same question: x[kind, part, place], highest and lowest sum."""
    kinds, parts = grams.shape
    count = kinds * parts * parts
    at = np.arange(count).reshape(kinds, parts, parts)
    once = []
    for k in range(kinds):
        for p in range(parts):
            once += [at[k, p, :], at[k, :, p]]
    ones = np.zeros((len(once), count + 2))
    for row, cells in enumerate(once):
        ones[row, cells] = 1.0
    sums = np.zeros((2 * parts, count + 2))
    for place in range(parts):
        for k in range(kinds):
            sums[place, at[k, :, place]] = sums[parts + place, at[k, :, place]] = grams[k]
        sums[place, count], sums[parts + place, count + 1] = -1.0, -1.0
    top = np.full(2 * parts, np.inf)
    top[:parts] = 0.0
    low = np.full(2 * parts, -np.inf)
    low[parts:] = 0.0
    cost = np.zeros(count + 2)
    cost[count], cost[count + 1] = 1.0, -1.0
    upper = np.ones(count + 2)
    upper[count:] = np.inf
    found = milp(
        cost,
        integrality=np.r_[np.ones(count), 0, 0],
        bounds=Bounds(0, upper),
        constraints=[LinearConstraint(ones, 1, 1), LinearConstraint(sums, low, top)],
        options={"time_limit": 4.0},
    )
    return float(found.fun)


def _match(_folder: Path) -> Iterator[tuple[float, float]]:
    for seed in range(3):
        rng = random.Random(seed)
        grams = {f"kind {k}": tuple(round(500 + rng.gauss(0, 2), 1) for _ in range(CYLINDERS)) for k in range(KINDS)}
        kinds = {name: MatchKind(weights, loose=name != "kind 0") for name, weights in grams.items()}
        until = time.monotonic() + 10.0
        ours = timed(
            lambda k=kinds, u=until: best_match(k, cylinders=CYLINDERS, seconds_left=lambda: u - time.monotonic())
        )
        yield ours, timed(lambda g=grams: _matched_by_programme(np.array(list(g.values()))))


def _stations() -> list[Station]:
    share = {0: (1.0 + 0j, 0.1 + 0j), 1: (0.1 + 0j, 1.0 + 0j)}
    drills = tuple(Drill(diameter, most) for diameter, most in zip((10.0, 16.0, 22.0), DRILLS_G, strict=True))
    return [
        Station(f"{plane}{n}", plane, share[plane], centre_deg=90.0 * n, arc_deg=80.0, drills=drills)
        for plane in (0, 1)
        for n in range(4)
    ]


def _planned_by_programme(left: list[complex]) -> object:
    """Holes at the middle of 8 stations with 3 drills: the least sum of what stays, as scipy's programme."""
    stations = _stations()
    holes = [(s, most) for s in stations for most in DRILLS_G]
    n = len(holes)
    rows = np.zeros((4, n))
    for column, (station, _) in enumerate(holes):
        unit = np.exp(1j * np.radians(station.centre_deg))
        for plane in (0, 1):
            taken = station.effect[plane] * unit
            rows[2 * plane, column], rows[2 * plane + 1, column] = taken.real, taken.imag
    wanted = np.array([part for z in left for part in (z.real, z.imag)])
    # unknowns: grams, whether a hole is made, and what stays above or below in each of four components
    both = np.hstack([rows, np.zeros((4, n)), np.eye(4), -np.eye(4)])
    made = np.hstack([np.eye(n), -np.diag([most for _, most in holes]), np.zeros((n, 8))])
    cost = np.r_[np.zeros(n), np.full(n, 0.05), np.ones(8)]
    upper = np.r_[np.full(n, 40.0), np.ones(n), np.full(8, np.inf)]
    return milp(
        cost,
        integrality=np.r_[np.zeros(n), np.ones(n), np.zeros(8)],
        bounds=Bounds(0, upper),
        constraints=[LinearConstraint(both, wanted, wanted), LinearConstraint(made, -np.inf, 0)],
    ).x


def _plan(_folder: Path) -> Iterator[tuple[float, float]]:
    rng = np.random.default_rng(3)
    for _ in range(ROUNDS):
        left = [complex(*rng.normal(0, 40, 2)) for _ in (0, 1)]
        model = AnswerModel.start(_stations(), noise_g=0.1).first_reading(left)
        yield (
            timed(lambda m=model: plan_cuts(m, tolerance_g=[0.8, 0.8])),
            timed(lambda z=left: _planned_by_programme(z)),
        )


def _certificate(_folder: Path) -> Iterator[tuple[float, float]]:
    state = some_state(runs=3)
    given: list[tuple[str, dict[str, object]]] = []

    def whole() -> str:
        return certificate.certificate_html(
            state=state,
            review=review_job(state),
            checkpoint=CHECKPOINT,
            written_utc="2031-03-01T08:00:00Z",
            app_version="1",
        )

    def seen(template: str, **values: object) -> str:
        given.append((template, values))
        return pages.page(template, **values)

    with patch.object(certificate, "page", seen):
        whole()
    template, values = given[0]
    words = checkpoint_line(CHECKPOINT)

    def libraries() -> None:
        segno.make(words.encode(), error="m", micro=False).svg_inline(border=2, omitsize=True)
        pages.page(template, **values)

    for _ in range(3 * ROUNDS):
        yield timed(whole), timed(libraries)


ROWS = [
    Row("match 8 cylinders x 4 kinds", "the textbook programme in scipy, stopped at 4 s", "at most", 1.3, _match),
    Row("plan the cuts at 8 stations", "scipy's programme, 8 stations x 3 drills", "at most", 1.3, _plan),
    Row("a certificate from the job's state", "jinja2 and segno alone on the same data", "at most", 3.0, _certificate),
]
