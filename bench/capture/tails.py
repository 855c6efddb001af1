"""What the tail after a lift teaches: how long the scale takes to settle and how often its display really changes.

The tail is the only movement on a pan that no hand takes part in.
"""

from __future__ import annotations

from math import log
from statistics import median

SHORTEST_S = 0.03
LONGEST_S = 0.8
REMEMBERED = 7
DECADE = 10.0
REPEATS_REMEMBERED = 15
MOVING_DIVISIONS = 5.0
LONGEST_UPDATE_S = 1.0
UNSURE = 1.4
SLOW_SHARE = 0.75


class TailMemory:
    """Settling constant and display interval of the running scale.

    Parameters
    ----------
    guess_s : float
        Settling constant until tails were seen. [s]
    """

    def __init__(self, guess_s: float) -> None:
        self._guess_s = guess_s
        self._constants: list[float] = []
        self._repeats: list[int] = []
        self._held_g = 0.0
        self._held_s = 0.0
        self._held_lines = 0
        self._came_by_g = 0.0
        self._tail: list[tuple[float, float]] = []

    @property
    def settling_s(self) -> float:
        """Settling constant, in seconds; longer while few tails were seen."""
        if not self._constants:
            return self._guess_s
        unsure = UNSURE if len(self._constants) < 3 else 1.0
        return unsure * median(self._constants)

    @property
    def learnt(self) -> bool:
        """Whether tails were seen."""
        return bool(self._constants)

    @property
    def lines_per_update(self) -> float:
        """Lines sent for each change of the display, at least one."""
        return float(sorted(self._repeats)[int(SLOW_SHARE * (len(self._repeats) - 1))]) if self._repeats else 1.0

    def see(self, seconds: float, grams: float, *, division_g: float) -> None:
        """Take any reading: while the pan moves, equal lines are one change of the display.

        Parameters
        ----------
        seconds : float
            Moment. [s]
        grams : float
            Reading. [g]
        division_g : float
            Division of the scale. [g]
        """
        if grams == self._held_g:
            self._held_lines += 1
            return
        step, least = grams - self._held_g, MOVING_DIVISIONS * division_g
        onwards = min(abs(step), abs(self._came_by_g)) > least and (step > 0) == (self._came_by_g > 0)
        if onwards and seconds - self._held_s <= LONGEST_UPDATE_S:
            self._repeats = [*self._repeats[-REPEATS_REMEMBERED + 1 :], self._held_lines]
        self._held_g, self._held_s, self._held_lines, self._came_by_g = grams, seconds, 1, step

    def begin(self) -> None:
        """Begin a tail: a part is leaving."""
        self._tail = []

    def follow(self, seconds: float, net_g: float) -> None:
        """Take a reading of the tail.

        Parameters
        ----------
        seconds : float
            Moment. [s]
        net_g : float
            Reading less the zero. [g]
        """
        self._tail.append((seconds, net_g))

    def end(self, *, floor_g: float, interval_s: float) -> None:
        """Learn from the tail: the pan is calm again.

        Parameters
        ----------
        floor_g : float
            Level that noise and rounding do not reach. [g]
        interval_s : float
            Usual time between lines. [s]
        """
        tail, self._tail = self._tail, []
        low = self._last_above(tail, floor_g)
        high = self._last_above(tail, DECADE * floor_g)
        if low is None or high is None:
            return
        constant = max(low - high, 0.5 * interval_s) / log(DECADE)
        self._constants = [*self._constants[-REMEMBERED + 1 :], min(max(constant, SHORTEST_S), LONGEST_S)]

    @staticmethod
    def _last_above(tail: list[tuple[float, float]], level_g: float) -> float | None:
        return next((t for t, x in reversed(tail) if abs(x) > level_g), None)
