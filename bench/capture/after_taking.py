"""What a new level means while a taken part still lies, or lay, on the pan: a table, no state."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

NEARLY_OFF = 0.6
HALF = 0.5
PUSHED = 0.2


class Change(StrEnum):
    """Verdict on a new level."""

    TOUCHED = "touched"
    SAME_AGAIN = "same again"
    ADDED = "added"
    SWAPPED = "swapped"
    SHIFTED = "shifted"
    STRANGE = "strange"


@dataclass(frozen=True, slots=True)
class Level:
    """What was seen since the taken part last stood still.

    Attributes
    ----------
    taken_g : float
        Level that was taken, less the zero. [g]
    now_g : float
        New calm level, less the zero. [g]
    lowest_g : float
        Lowest reading in between, less the zero. [g]
    highest_g : float
        Highest reading in between, less the zero. [g]
    tolerance_g : float
        Levels nearer than this are equal. [g]
    threshold_g : float
        A change above this is something laid on. [g]
    fits_next : bool
        The new level is of the family that is due.
    """

    taken_g: float
    now_g: float
    lowest_g: float
    highest_g: float
    tolerance_g: float
    threshold_g: float
    fits_next: bool


def judge_level(level: Level) -> Change:
    """Return what a new calm level means.

    Parameters
    ----------
    level : Level
        What was seen.

    Returns
    -------
    Change
        Verdict; a part does not change its weight.
    """
    w, now = level.taken_g, level.now_g
    if abs(now - w) <= level.tolerance_g:
        return Change.TOUCHED if level.lowest_g > HALF * w else Change.SAME_AGAIN
    nearly_off = level.lowest_g <= (1.0 - NEARLY_OFF) * w
    overlapped = level.highest_g > w + HALF * now and now < level.highest_g - HALF * w
    if (nearly_off or overlapped) and level.fits_next:
        return Change.SWAPPED
    if now > w + level.threshold_g and not nearly_off:
        return Change.ADDED
    pushed = max(w - level.lowest_g, level.highest_g - w) >= PUSHED * w
    return Change.STRANGE if pushed or nearly_off else Change.SHIFTED
