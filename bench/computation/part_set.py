"""A set of equal parts: how far apart they are, and how much comes off each to make them equal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import positive
from bench.computation.errors import QuantityError

SLACK_G = 1e-9
"""Far below any scale: 604.1 - 603.1 must not exceed a limit of 1.0 by its last binary digit. [g]"""


@dataclass(frozen=True, slots=True)
class PartSet:
    """A weighed set.

    Attributes
    ----------
    lightest_g : float
        Weight of the lightest part. [g]
    lightest : int
        Its index; the first of several.
    spread_g : float
        Heaviest less lightest. [g]
    take_off_g : tuple[float, ...]
        What comes off each part to bring it to the target; 0 for parts at or below it. [g]
    out : tuple[bool, ...]
        Whether a part is heavier above the lightest than the limit allows.
    below_target : tuple[bool, ...]
        Whether a part is lighter than the target, so that metal cannot bring it there.
    """

    lightest_g: float
    lightest: int
    spread_g: float
    take_off_g: tuple[float, ...]
    out: tuple[bool, ...]
    below_target: tuple[bool, ...]


def part_set(grams: Sequence[float], *, limit_g: float | None, floor_g: float | None = None) -> PartSet:
    """Return the spread of a set and what comes off each part.

    Parameters
    ----------
    grams : Sequence[float]
        Weight of each part. [g]
    limit_g : float | None
        Allowed spread; None where the set has none. [g]
    floor_g : float | None
        Target weight a person sets; None takes the lightest part as target. [g]

    Returns
    -------
    PartSet
        Spread, lightest, grams to take off.

    Raises
    ------
    QuantityError
        If there is no part, or a weight, limit or floor is not finite and above zero.

    Notes
    -----
    Common practice, no source: metal comes off the heavy parts until they weigh what the lightest weighs.

    Examples
    --------
    >>> found = part_set([603.7, 603.5, 605.1], limit_g=1.0)
    >>> round(found.spread_g, 6), found.out, [round(g, 6) for g in found.take_off_g]
    (1.6, (False, False, True), [0.2, 0.0, 1.6])
    """
    if not grams:
        raise QuantityError("grams", found="no part", wanted="at least one weight")
    for index, weight in enumerate(grams):
        positive(weight, quantity=f"grams[{index}]")
    lightest_g = min(grams)
    target_g = lightest_g if floor_g is None else positive(floor_g, quantity="floor_g")
    if limit_g is not None:
        positive(limit_g, quantity="limit_g")
    return PartSet(
        lightest_g=lightest_g,
        lightest=grams.index(lightest_g),
        spread_g=max(grams) - lightest_g,
        take_off_g=tuple(max(weight - target_g, 0.0) for weight in grams),
        out=tuple(limit_g is not None and not weight - lightest_g <= limit_g + SLACK_G for weight in grams),
        below_target=tuple(weight < target_g for weight in grams),
    )
