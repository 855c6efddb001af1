"""The best pairing, and the proof that it is: windows of sums from narrow to wide, each searched to its end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bench.computation.match_cover import best_cover
from bench.computation.match_problem import MatchProblem, Placing
from bench.computation.match_search import Column, WindowSearch
from bench.computation.match_sets import PartSets, free_kinds

MOST_COLUMNS = 4_000
"""Sets one programme may choose from; a wider window is not searched."""
SLACK_G = 1e-7
"""What the solver's tolerances may hide. [g]"""


@dataclass(frozen=True, slots=True)
class ExactMatch:
    """The best pairing found and what is proven of it.

    Attributes
    ----------
    placing : Placing
        The pairing.
    bound_g : float
        No pairing has a smaller objective. [g]
    """

    placing: Placing
    bound_g: float


def exact_match(
    problem: MatchProblem, *, start: Placing, bound_g: float, seconds_left: Callable[[], float]
) -> ExactMatch:
    """Return the best pairing within the time, and the bound under which none can be.

    Parameters
    ----------
    problem : MatchProblem
        The weights, with at least one loose kind.
    start : Placing
        A pairing to beat.
    bound_g : float
        A bound already known. [g]
    seconds_left : Callable[[], float]
        Tells how long the search may still take. [s]

    Returns
    -------
    ExactMatch
        The better of start and found, with the better of the two bounds.

    Notes
    -----
    The mean of the sums does not depend on the pairing. A pairing whose sums differ by D has its smallest sum at some
    set's sum v, D below the mean at most, and all others between v and v + D. For a D that begins small and doubles,
    each v is asked for the best pairing in its window. When every v has answered, either the best found differs by D
    at most and nothing is better, or D is a bound.

    Examples
    --------
    >>> problem = MatchProblem((500.0, 501.0), ("pin",), ((149.0, 150.0),), ())
    >>> exact_match(problem, start=((0, 1),), bound_g=0.0, seconds_left=lambda: 1.0).placing
    ((1, 0),)
    """
    free = free_kinds(problem)
    whole = len(free) == len(problem.grams)
    sets = PartSets.of(problem, start=start, free=free)
    state = _Best(placing=start, worth=problem.objective(start))
    proven = bound_g
    width = max(bound_g, sets.width_of(len(problem.base_g)), SLACK_G)
    while state.worth > proven + SLACK_G:
        for value in sets.values_below_mean(min(width, state.worth)):
            if not _searched(problem, sets, state, smallest_g=value, width=width, seconds_left=seconds_left):
                return ExactMatch(placing=state.placing, bound_g=min(proven, state.worth))
            if state.worth <= proven + SLACK_G:
                break
        if whole:
            proven = max(proven, min(width, state.worth))
        elif state.worth <= width:
            break
        width *= 2.0
    return ExactMatch(placing=state.placing, bound_g=min(proven, state.worth))


@dataclass(slots=True)
class _Best:
    placing: Placing
    worth: float


def _searched(
    problem: MatchProblem,
    sets: PartSets,
    state: _Best,
    *,
    smallest_g: float,
    width: float,
    seconds_left: Callable[[], float],
) -> bool:
    """Search one window, keep what is better, and return whether it was searched to its end."""
    free = free_kinds(problem)
    if not seconds_left() > 0.0:
        return False
    chosen = sets.between(smallest_g, smallest_g + min(width, state.worth))

    def kept(rows: Sequence[int]) -> None:
        placing = sets.placing(state.placing, free=free, rows=rows)
        worth = problem.objective(placing)
        if worth < state.worth:
            state.placing, state.worth = placing, worth

    cylinders, *parts = (member.tolist() for member in sets.members(chosen.tolist()))
    rows = list(zip(chosen.tolist(), sets.deviation_g[chosen].tolist(), cylinders, *parts, strict=True))
    columns = [Column.of(int(number), deviation, members, size=sets.shape[0]) for number, deviation, *members in rows]

    def worth_of(choice: Sequence[Column]) -> float:
        sums = [0.0] * sets.shape[0]
        for column in choice:
            sums[column.items[0]] = sets.mean_g + column.deviation_g
        return problem.worth(sums)

    search = WindowSearch(items=sets.shape[0] * len(sets.shape), worth_of=worth_of, worth=state.worth - SLACK_G)
    finished = search.run(columns, smallest_g=smallest_g)
    if search.best:
        kept([column.number for column in search.best])
    if finished or len(chosen) > MOST_COLUMNS:
        return finished
    cover = best_cover(
        sets,
        sets.between(smallest_g, smallest_g + min(width, state.worth)),
        throws=problem.throws,
        smallest_g=smallest_g,
        seconds=max(seconds_left(), 0.01),
    )
    if cover.rows is not None:
        kept(cover.rows.tolist())
    return cover.finished
