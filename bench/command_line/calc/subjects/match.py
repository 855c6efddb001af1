"""`calc match`."""

from __future__ import annotations

import time
from typing import Annotated

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, Positive
from bench.computation.match import MOST_CYLINDERS, MOST_KINDS, MatchKind, best_match

LONGEST_SEARCH_S = 8.0
"""Seconds after which the best pairing found is given, with its bound."""


class Kind(CalcValue):
    """Parts of one kind, one a cylinder."""

    grams: Annotated[tuple[Positive, ...], Field(min_length=1)]
    loose: bool


class Asked(CalcValue):
    """The kinds, which of them are loose, and which cylinders share a throw."""

    cylinders: Annotated[int, Field(ge=1, le=MOST_CYLINDERS)]
    kinds: Annotated[dict[str, Kind], Field(min_length=1, max_length=MOST_KINDS)]
    limit_g: Positive
    throws: tuple[tuple[int, ...], ...] = ()
    floors_g: dict[str, Positive] = Field(default_factory=dict[str, Positive])


class Answered(CalcValue):
    """The pairing, and whether it is proven to be the best."""

    assignment: dict[str, tuple[int, ...]]
    sums_g: tuple[float, ...]
    spread_g: float
    throw_sums_g: tuple[float, ...] | None = None
    throw_spread_g: float | None = None
    spread_before_g: float
    take_off_g: dict[str, tuple[float, ...]]
    within_limit: bool
    bound_g: float
    proven: bool


def answer(asked: Asked) -> Answered:
    """Return the best pairing.

    Parameters
    ----------
    asked : Asked
        The parts.

    Returns
    -------
    Answered
        Who goes where.
    """
    until = time.monotonic() + LONGEST_SEARCH_S
    found = best_match(
        {name: MatchKind(grams=kind.grams, loose=kind.loose) for name, kind in asked.kinds.items()},
        cylinders=asked.cylinders,
        throws=asked.throws,
        floors_g=asked.floors_g,
        seconds_left=lambda: until - time.monotonic(),
    )
    return Answered(
        assignment=found.assignment,
        sums_g=found.sums_g,
        spread_g=found.spread_g,
        throw_sums_g=found.throw_sums_g or None,
        throw_spread_g=found.throw_spread_g,
        spread_before_g=found.spread_before_g,
        take_off_g=found.take_off_g,
        within_limit=found.spread_g <= asked.limit_g + 1e-9,
        bound_g=found.bound_g,
        proven=found.proven,
    )


SUBJECT = Subject(
    words="which loose part goes to which cylinder",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"cylinders": 4, "limit_g": 0.5,
 "kinds": {"piston": {"grams": [512.4, 512.9, 511.8, 512.2], "loose": false},
           "pin": {"grams": [118.6, 118.2, 118.9, 118.4], "loose": true}}}""",
    example_answer="""\
{"assignment": {"piston": [0, 1, 2, 3], "pin": [3, 1, 2, 0]}, "sums_g": [630.8, 631.1, 630.7,
 630.8000000000001], "spread_g": 0.39999999999997726, "spread_before_g": 0.5,
 "take_off_g": {"piston": [0.5999999999999659, 1.099999999999966, 0.0, 0.4000000000000341],
 "pin": [0.3999999999999915, 0.0, 0.7000000000000028, 0.20000000000000284]}, "within_limit": true,
 "bound_g": 0.39999999999997726, "proven": true}""",
    fields={"floor_g": "floors_g"},
)
