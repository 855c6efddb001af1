"""Which loose part goes to which cylinder, so that the cylinders differ least."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from bench.models.job import Cell, PartRole
from bench.models.job_state import JobState

LOOSE: Final = frozenset({"pin", "rings", "locks"})
"""Parts that go to any cylinder; pistons and rods are fitted to theirs."""


@dataclass(frozen=True, slots=True)
class Pairing:
    """The best pairing that was found.

    Attributes
    ----------
    before_g, after_g : float
        Spread of the cylinders' sums, as the parts lie and as they are proposed. [g]
    moves : tuple[tuple[str, int, int], ...]
        Kind, number of the part, cylinder it goes to; only those that move.
    proven : bool
        No better pairing exists.
    """

    before_g: float
    after_g: float
    moves: tuple[tuple[str, int, int], ...]
    proven: bool


def pair_parts(state: JobState, *, seconds_left: Callable[[], float]) -> Pairing | str:
    """Return the best pairing of the loose parts, or why there is none.

    Parameters
    ----------
    state : JobState
        The job.
    seconds_left : Callable[[], float]
        How long the search may still take. [s]

    Returns
    -------
    Pairing | str
        A sentence where something is missing.
    """
    from bench.computation.match import MatchKind, best_match

    cylinders = state.spec.layout.cylinders
    sorts = {PartRole.RECIPROCATING, PartRole.ROD_SMALL_END}
    names = [kind.name for kind in state.spec.kinds if kind.role in sorts and kind.per == "cylinder"]
    if not LOOSE & set(names):
        return "this job weighs no loose parts"
    kinds: dict[str, MatchKind] = {}
    for name in names:
        cells = [Cell(kind=name, place=place) for place in cylinders]
        missing = [cell for cell in cells if cell not in state.weighed]
        if missing:
            return f"{missing[0]} is not weighed yet: the pairing needs every part"
        kinds[name] = MatchKind(tuple(float(state.weighed[cell].grams) for cell in cells), loose=name in LOOSE)
    answer = best_match(kinds, cylinders=len(cylinders), seconds_left=seconds_left)
    moves = tuple(
        (name, cylinders[index], cylinders[at])
        for name, order in answer.assignment.items()
        for at, index in enumerate(order)
        if index != at
    )
    return Pairing(answer.spread_before_g, answer.spread_g, moves, answer.proven)
