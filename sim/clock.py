"""Time of the simulated world: it may run faster than the wall's, and it waits when the computer is busy."""

from __future__ import annotations

import time
from collections.abc import Callable

_MOST_AT_ONCE_S = 0.05


class PacedClock:
    """Tells how far the simulated world may go on.

    Parameters
    ----------
    pace : float
        Simulated seconds in a second of the wall clock.
    wall : Callable[[], float]
        Monotonic clock. [s]

    Raises
    ------
    ValueError
        If the pace is not a finite number above zero.
    """

    def __init__(self, pace: float, wall: Callable[[], float] = time.monotonic) -> None:
        if not 0.0 < pace < 1e6:
            raise ValueError(f"pace {pace!r}: wanted a number above 0 and below 1,000,000")
        self._pace = pace
        self._wall = wall
        self._last_s = wall()
        self._allowed_s = 0.0

    def allowed_s(self) -> float:
        """Return up to which simulated moment the world may go.

        A pause of the computer is not made up for: the world stands still in it, so that lines never bunch.

        Returns
        -------
        float
            Simulated time since the start. [s]
        """
        now_s = self._wall()
        self._allowed_s += min(now_s - self._last_s, _MOST_AT_ONCE_S) * self._pace
        self._last_s = now_s
        return self._allowed_s

    def wall_wait_s(self, until_s: float) -> float:
        """Return how long to sleep until a simulated moment may be reached.

        Parameters
        ----------
        until_s : float
            Simulated moment. [s]

        Returns
        -------
        float
            Wall time, at least 0 and at most 20 ms. [s]
        """
        return max(0.0, min(0.02, (until_s - self._allowed_s) / self._pace))
