"""Which loose part goes to which cylinder, so that the sums are as equal as they can be."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from bench.computation.checks import positive
from bench.computation.errors import QuantityError
from bench.computation.match_bound import least_spread_on_grid
from bench.computation.match_exact import exact_match
from bench.computation.match_problem import MatchProblem, Placing
from bench.computation.match_swaps import best_by_swaps
from bench.computation.part_set import part_set

MOST_CYLINDERS = 64
"""Cylinders of one crank that are still taken seriously."""
MOST_KINDS = 32
"""Kinds of parts that are still taken seriously."""
PROVEN_G = 1e-7
"""An answer this near its bound counts as proven best. [g]"""


@dataclass(frozen=True, slots=True)
class MatchKind:
    """One kind of part.

    Attributes
    ----------
    grams : tuple[float, ...]
        Weights, one a cylinder; of a fixed kind in the order of the cylinders. [g]
    loose : bool
        Whether its parts may go to any cylinder.
    """

    grams: tuple[float, ...]
    loose: bool


@dataclass(frozen=True, slots=True)
class MatchAnswer:
    """The best pairing found.

    Attributes
    ----------
    assignment : dict[str, tuple[int, ...]]
        For each kind the index of the part for cylinder 1, 2, and so on.
    sums_g : tuple[float, ...]
        Sum of each cylinder. [g]
    spread_g : float
        Largest less smallest cylinder sum. [g]
    throw_sums_g : tuple[float, ...]
        Sum of each throw; empty without throws. [g]
    throw_spread_g : float | None
        Largest less smallest throw sum; None without throws. [g]
    spread_before_g : float
        Cylinder spread with the parts in the order given. [g]
    take_off_g : dict[str, tuple[float, ...]]
        For each kind what comes off each part to make it as light as the lightest, or the floor. [g]
    bound_g : float
        No pairing has a smaller spread than this (cylinders and throws added). [g]
    proven : bool
        Whether the pairing reaches its bound, so that no better one exists.
    """

    assignment: dict[str, tuple[int, ...]]
    sums_g: tuple[float, ...]
    spread_g: float
    throw_sums_g: tuple[float, ...]
    throw_spread_g: float | None
    spread_before_g: float
    take_off_g: dict[str, tuple[float, ...]]
    bound_g: float
    proven: bool


def best_match(
    kinds: Mapping[str, MatchKind],
    *,
    cylinders: int,
    throws: Sequence[Sequence[int]] = (),
    floors_g: Mapping[str, float] | None = None,
    seconds_left: Callable[[], float],
) -> MatchAnswer:
    """Return which loose part goes to which cylinder so that the sums differ least.

    Parameters
    ----------
    kinds : Mapping[str, MatchKind]
        The kinds by name.
    cylinders : int
        Number of cylinders.
    throws : Sequence[Sequence[int]]
        Cylinder numbers, from 1, of each throw; empty to look at cylinders only. With throws, the cylinders' spread
        and the throws' spread are made small together: their sum is what is minimised.
    floors_g : Mapping[str, float] | None
        Target weight a person sets for a kind; the lightest part where none is set. [g]
    seconds_left : Callable[[], float]
        Tells how long the search may still take; the best found and its bound are returned when nothing is left. [s]

    Returns
    -------
    MatchAnswer
        The pairing, its spread, and whether it is proven best.

    Raises
    ------
    QuantityError
        If there is no kind, a kind does not have one part a cylinder, a weight is not finite and
        above zero, or the throws do not hold each cylinder once.

    Notes
    -----
    Swapping pairs finds a good pairing. It is proven where it reaches the bound that the scale's grid of weights sets;
    elsewhere a mixed-integer programme (HiGHS) improves and proves it.

    Examples
    --------
    >>> pistons = MatchKind((500.0, 501.0), loose=False)
    >>> answer = best_match({"piston": pistons, "pin": MatchKind((149.0, 150.0), loose=True)}, cylinders=2,
    ...                     seconds_left=lambda: 8.0)
    >>> answer.assignment["pin"], answer.spread_g, answer.spread_before_g, answer.proven
    ((1, 0), 0.0, 2.0, True)
    """
    problem = _checked_problem(kinds, cylinders=cylinders, throws=throws)
    before = problem.as_given()
    placing = best_by_swaps(problem)
    if throws and problem.loose:
        half = seconds_left() / 2.0
        alone = best_match(kinds, cylinders=cylinders, seconds_left=lambda: seconds_left() - half).assignment
        dealt = _dealt_to_throws(problem, tuple(alone[name] for name in problem.loose))
        placing = min(placing, dealt, key=problem.objective)
    bound_g = least_spread_on_grid(problem) if problem.loose else problem.objective(placing)
    if problem.objective(placing) > bound_g + PROVEN_G:
        exact = exact_match(problem, start=placing, bound_g=bound_g, seconds_left=seconds_left)
        placing, bound_g = exact.placing, exact.bound_g
    sums_g = problem.cylinder_sums(placing)
    throw_sums_g = problem.throw_sums(sums_g)
    assignment = {name: tuple(range(cylinders)) for name in kinds}
    assignment |= dict(zip(problem.loose, placing, strict=True))
    return MatchAnswer(
        assignment={name: assignment[name] for name in kinds},
        sums_g=tuple(sums_g),
        spread_g=max(sums_g) - min(sums_g),
        throw_sums_g=tuple(throw_sums_g),
        throw_spread_g=max(throw_sums_g) - min(throw_sums_g) if throw_sums_g else None,
        spread_before_g=_spread(problem, before),
        take_off_g={
            name: part_set(kind.grams, limit_g=None, floor_g=(floors_g or {}).get(name)).take_off_g
            for name, kind in kinds.items()
        },
        bound_g=bound_g,
        proven=problem.objective(placing) <= bound_g + PROVEN_G,
    )


def _dealt_to_throws(problem: MatchProblem, placing: Placing) -> Placing:
    """Return the pairing with whole cylinders dealt to throws, light ones with heavy ones, if nothing is fixed."""
    if len(set(problem.base_g)) > 1:
        return placing
    sums_g = problem.cylinder_sums(placing)
    light_first = sorted(range(len(sums_g)), key=sums_g.__getitem__)
    order = list(light_first)
    for throw in problem.throws:
        for turn, cylinder in enumerate(throw):
            order[cylinder] = light_first.pop(-(turn % 2))
    return tuple(tuple(parts[source] for source in order) for parts in placing)


def _spread(problem: MatchProblem, placing: Placing) -> float:
    sums = problem.cylinder_sums(placing)
    return max(sums) - min(sums)


def _checked_problem(
    kinds: Mapping[str, MatchKind], *, cylinders: int, throws: Sequence[Sequence[int]]
) -> MatchProblem:
    if not 1 <= cylinders <= MOST_CYLINDERS:
        raise QuantityError("cylinders", found=cylinders, wanted=f"1 to {MOST_CYLINDERS} cylinders")
    if not 1 <= len(kinds) <= MOST_KINDS:
        raise QuantityError("kinds", found=len(kinds), wanted=f"1 to {MOST_KINDS} kinds of parts")
    for name, kind in kinds.items():
        if len(kind.grams) != cylinders:
            raise QuantityError(
                f"kinds.{name}.grams", found=len(kind.grams), wanted=f"one weight a cylinder, {cylinders}"
            )
        for index, grams in enumerate(kind.grams):
            positive(grams, quantity=f"kinds.{name}.grams[{index}]")
            if grams > 1e9:
                raise QuantityError(f"kinds.{name}.grams[{index}]", found=grams, wanted="at most 1e9 g")
    if throws and sorted(cylinder for throw in throws for cylinder in throw) != list(range(1, cylinders + 1)):
        raise QuantityError(
            "throws", found=[list(throw) for throw in throws], wanted=f"each cylinder 1 to {cylinders} on one throw"
        )
    if not all(throws):
        raise QuantityError("throws", found=[list(throw) for throw in throws], wanted="no throw without a cylinder")
    loose = {name: kind.grams for name, kind in kinds.items() if kind.loose}
    if len(loose) == len(kinds) and not throws:
        # cylinders are alike until a part is placed: the first kind may keep its order
        del loose[next(iter(loose))]
    fixed = [kind.grams for name, kind in kinds.items() if name not in loose]
    return MatchProblem(
        base_g=tuple(math.fsum(grams[cylinder] for grams in fixed) for cylinder in range(cylinders)),
        loose=tuple(loose),
        grams=tuple(loose.values()),
        throws=tuple(tuple(cylinder - 1 for cylinder in throw) for throw in throws),
    )
