"""A typed weight that does not fit its set is asked about before it is taken: nobody lifts a typed part again."""

from __future__ import annotations

from decimal import Decimal

from bench.capture.family import SET_SD, SET_SHARE, kin_of
from bench.models.job import Cell, label_of
from bench.models.job_state import JobState
from bench.use_cases.review_sets import SWAPPED_DIGITS_FACTOR

FEW = 2
"""From so many others on, a set shows by itself how far its members lie apart."""
_DIVISION_G = 0.1


def doubt_of_typed(state: JobState, cell: Cell, grams: Decimal) -> str:
    """Return why a typed weight looks like a slip.

    Parameters
    ----------
    state : JobState
        The job, before it is taken.
    cell : Cell
        Which part.
    grams : Decimal
        As typed. [g]

    Returns
    -------
    str
        One sentence; empty when it fits the others of its kind, or there are none to compare with.
    """
    kind = next((one for one in state.spec.kinds if one.name == cell.kind), None)
    if kind is None or not grams.is_finite() or grams <= 0:
        return ""  # refused elsewhere, with its own words
    others = [float(one.grams) for at, one in state.weighed.items() if at.kind == cell.kind and at != cell]
    kin = kin_of(others, kind.nominal_g, division_g=_DIVISION_G)
    if kin is None:
        return ""
    told = f"{label_of(state.spec, cell)}: {grams} g typed, the others lie at {kin.middle_g:.4g} g"
    ratio = float(grams) / kin.middle_g
    if not 1 / SWAPPED_DIGITS_FACTOR < ratio < SWAPPED_DIGITS_FACTOR:
        return f"{told}, that is {ratio:.2g} times as much: a unit, a digit or the wrong part?"
    off = abs(float(grams) - kin.middle_g)
    if kin.count >= FEW and off > max(SET_SHARE * kin.middle_g, SET_SD * kin.believed_g):
        return f"{told}, {off:.4g} g away: two digits exchanged, or the wrong part?"
    return ""
