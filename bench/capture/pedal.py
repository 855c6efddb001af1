"""A foot pedal's presses: bounces count once, a pedal held down asks, and nothing is confirmed by holding."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

BOUNCE_S = 0.2
"""A second press sooner than this is the switch or the foot trembling. [s]"""
CONFIRM_S = 0.7
"""A held key repeats first after a quarter to two thirds of a second; a confirmation must come later. [s]"""
REPEAT_S = 0.15
"""Repeats of a held key come closer together than this. [s]"""
HELD_S = 1.0
"""Held so long it asks. [s]"""
LEAST_REPEATS = 5


class Press(Enum):
    """What a press means."""

    ACT = "act"
    IGNORE = "ignore"
    ASK = "ask"


@dataclass(slots=True)
class PedalWatch:
    """Judges the presses of one pedal.

    Attributes
    ----------
    last_s : float or None
        When the last one came. [s]
    began_s : float
        When the present run of repeats began. [s]
    repeats : int
        How many have come in it.
    asked : bool
        It has asked in this run.
    """

    last_s: float | None = None
    began_s: float = 0.0
    repeats: int = 0
    asked: bool = False

    def pressed(self, now_s: float, *, confirming: bool = False) -> Press:
        """Judge a press.

        Parameters
        ----------
        now_s : float
            Monotonic moment. [s]
        confirming : bool
            It would confirm what the press before began.

        Returns
        -------
        Press
            A held pedal acts at its first press only, and asks once when it is held on.
        """
        gap = float("inf") if self.last_s is None else now_s - self.last_s
        self.last_s = now_s
        if gap <= REPEAT_S:
            self.repeats += 1
            if self.repeats >= LEAST_REPEATS and now_s - self.began_s >= HELD_S and not self.asked:
                self.asked = True
                return Press.ASK
            return Press.IGNORE
        if gap > CONFIRM_S or self.repeats:
            # a new press, or the end of a run
            self.began_s, self.repeats, self.asked = now_s, 0, False
        if gap <= (CONFIRM_S if confirming else BOUNCE_S):
            return Press.IGNORE
        return Press.ACT
