"""A bound from the scale's grid: sums of whole tenths cannot be equal when the total does not divide."""

from __future__ import annotations

from bench.computation.match_problem import MatchProblem

GRIDS_PER_G = (1, 10, 100, 1000, 10_000)
"""Divisions a gram that are looked for."""


def least_spread_on_grid(problem: MatchProblem) -> float:
    """Return a spread no pairing can go below, from the grid the weights lie on.

    Parameters
    ----------
    problem : MatchProblem
        The weights.

    Returns
    -------
    float
        0 where the weights lie on no grid; else one division for the cylinders if the total
        does not divide evenly among them, and one for the throws likewise. [g]

    Examples
    --------
    >>> from bench.computation.match_problem import MatchProblem
    >>> least_spread_on_grid(MatchProblem((0.0, 0.0), ("pin",), ((150.1, 150.2),), ()))
    0.1
    """
    cylinders = len(problem.base_g)
    weights = [*problem.base_g, *(weight for grams in problem.grams for weight in grams)]
    for divisions in GRIDS_PER_G:
        counts = [round(weight * divisions) for weight in weights]
        if all(abs(weight * divisions - count) <= 1e-6 for weight, count in zip(weights, counts, strict=True)):
            total = sum(counts)
            bound = 1 if total % cylinders else 0
            sizes = {len(throw) for throw in problem.throws}
            if len(sizes) == 1 and total % len(problem.throws):
                bound += 1
            return bound / divisions
    return 0.0
