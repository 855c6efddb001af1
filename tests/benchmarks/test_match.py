"""What matching costs, as ratios inside one run: to the textbook programme of the same question, and to the time given."""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp

from bench.computation.match import MatchKind, best_match

# ratios of one run, no part of the quick tests: a busy machine and a coverage trace move them
pytestmark = pytest.mark.long


def by_programme(grams: np.ndarray, *, seconds: float) -> OptimizeResult:
    """Ask a general solver: which part of each kind goes to which cylinder, so that highest less lowest is least."""
    kinds, places = grams.shape
    count = kinds * places * places
    at = np.arange(count).reshape(kinds, places, places)
    once = np.zeros((2 * kinds * places, count + 2))
    for row, cells in enumerate([at[k, p, :] for k in range(kinds) for p in range(places)]):
        once[row, cells] = 1.0
    for row, cells in enumerate([at[k, :, p] for k in range(kinds) for p in range(places)], start=kinds * places):
        once[row, cells] = 1.0
    sums = np.zeros((places, count + 2))
    for place in range(places):
        for k in range(kinds):
            sums[place, at[k, :, place]] = grams[k]
    above, below = sums.copy(), sums.copy()
    above[:, count], below[:, count + 1] = -1.0, -1.0
    cost = np.zeros(count + 2)
    cost[count], cost[count + 1] = 1.0, -1.0
    return milp(
        cost,
        integrality=np.concatenate((np.ones(count), np.zeros(2))),
        bounds=Bounds(0.0, np.concatenate((np.ones(count), np.full(2, np.inf)))),
        constraints=[
            LinearConstraint(once, 1.0, 1.0),
            LinearConstraint(above, -np.inf, 0.0),
            LinearConstraint(below, 0.0, np.inf),
        ],
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )


def weights(seed: int, cylinders: int) -> list[tuple[float, ...]]:
    chance = random.Random(seed)
    return [tuple(round(chance.uniform(500, 503), 1) for _ in range(cylinders)) for _ in range(4)]


def timed(what: Callable[[], object]) -> tuple[float, object]:
    began = time.process_time()
    found = what()
    return time.process_time() - began, found


@pytest.mark.timeout(300)
def test_eight_cylinders_with_four_kinds_beside_the_textbook_programme() -> None:
    ratios = []
    for seed in range(3):
        grams = weights(seed, 8)
        kinds = {f"kind {k}": MatchKind(parts, loose=k > 0) for k, parts in enumerate(grams)}
        ours, answer = timed(lambda k=kinds: best_match(k, cylinders=8, seconds_left=lambda: 60.0))
        theirs, found = timed(lambda g=grams: by_programme(np.array(g), seconds=10.0))
        assert answer.proven
        assert answer.spread_g <= found.fun + 1e-6
        ratios.append(ours / theirs)
    assert statistics.median(ratios) < 0.5


@pytest.mark.timeout(300)
def test_sixteen_cylinders_with_four_kinds_keep_to_the_time_they_are_given() -> None:
    grams = weights(16, 16)
    kinds = {f"kind {k}": MatchKind(parts, loose=k > 0) for k, parts in enumerate(grams)}
    given = 8.0
    until = time.monotonic() + given
    began = time.monotonic()
    answer = best_match(kinds, cylinders=16, seconds_left=lambda: until - time.monotonic())
    took = time.monotonic() - began
    assert took / given < 1.25
    found = by_programme(np.array(grams), seconds=given)
    assert found.x is None or answer.spread_g <= found.fun + 1e-6
