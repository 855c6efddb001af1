"""A good pairing quickly: swap two parts of a kind as long as the sums come nearer to each other."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bench.computation.match_problem import MatchProblem, Placing

MOST_STARTS = 24
"""Starts from which swapping begins anew."""
WORK = 400_000
"""Sums looked at in one pass over all starts, so that large problems begin from fewer of them."""


def best_by_swaps(problem: MatchProblem) -> Placing:
    """Return a pairing that no single swap improves, the best of several starts.

    Parameters
    ----------
    problem : MatchProblem
        The weights.

    Returns
    -------
    Placing
        Never worse than the order given.

    Notes
    -----
    The starts are the order given, light parts to heavy cylinders, and orders taken in strides; no chance is involved.

    Examples
    --------
    >>> best_by_swaps(MatchProblem((500.0, 501.0), ("pin",), ((149.0, 150.0),), ()))
    ((1, 0),)
    """
    best = problem.as_given()
    worth = problem.objective(best)
    for start in _starts(problem):
        found = _swapped(problem, start)
        if problem.objective(found) < worth:
            best, worth = found, problem.objective(found)
    return best


def _starts(problem: MatchProblem) -> Iterator[list[list[int]]]:
    cylinders, kinds = len(problem.base_g), len(problem.grams)
    yield [list(range(cylinders)) for _ in range(kinds)]
    yield _light_to_heavy(problem)
    more = WORK // (max(kinds, 1) * cylinders * cylinders)
    for shift in range(1, min(more, MOST_STARTS)):
        yield [
            [(index * _stride(cylinders, wanted=shift + kind) + shift) % cylinders for index in range(cylinders)]
            for kind in range(kinds)
        ]


def _stride(count: int, *, wanted: int) -> int:
    # a stride that shares no divisor with the count visits every part once
    stride = wanted % count + 1
    while math.gcd(stride, count) != 1:
        stride = stride % count + 1
    return stride


def _light_to_heavy(problem: MatchProblem) -> list[list[int]]:
    sums = list(problem.base_g)
    orders: list[list[int]] = []
    for grams in problem.grams:
        heavy_first = sorted(range(len(sums)), key=sums.__getitem__, reverse=True)
        order = [0] * len(sums)
        for cylinder, part in zip(heavy_first, sorted(range(len(grams)), key=grams.__getitem__), strict=True):
            order[cylinder] = part
        sums = [total + grams[part] for total, part in zip(sums, order, strict=True)]
        orders.append(order)
    return orders


def _swapped(problem: MatchProblem, orders: list[list[int]]) -> Placing:
    while True:
        sums = problem.cylinder_sums(_frozen(orders))
        best_worth, best_swap = problem.worth(sums) - 1e-9, None
        for kind, first, second in _swaps(problem, sums):
            order, grams = orders[kind], problem.grams[kind]
            change = grams[order[second]] - grams[order[first]]
            tried = list(sums)
            tried[first] += change
            tried[second] -= change
            worth = problem.worth(tried)
            if worth < best_worth:
                best_worth, best_swap = worth, (kind, first, second)
        if best_swap is None:
            return _frozen(orders)
        kind, first, second = best_swap
        orders[kind][first], orders[kind][second] = orders[kind][second], orders[kind][first]


def _swaps(problem: MatchProblem, sums: list[float]) -> Iterator[tuple[int, int, int]]:
    """Yield the swaps that can help: those that move an extreme cylinder or a cylinder of an extreme throw."""
    cylinders = range(len(sums))
    moving = {min(cylinders, key=sums.__getitem__), max(cylinders, key=sums.__getitem__)}
    if problem.throws:
        throws = sorted(zip(problem.throw_sums(sums), problem.throws, strict=True))
        moving |= {*throws[0][1], *throws[-1][1]}
    for kind in range(len(problem.grams)):
        for first in sorted(moving):
            for second in cylinders:
                if second != first:
                    yield kind, first, second


def _frozen(orders: list[list[int]]) -> Placing:
    return tuple(tuple(order) for order in orders)
