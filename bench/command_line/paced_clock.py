"""A monotonic clock that may run faster: a simulated bench plays an hour in minutes."""

from __future__ import annotations

import time


class PacedClock:
    """Monotonic nanoseconds, multiplied.

    Parameters
    ----------
    pace : float
        Seconds of the bench in a second of the wall; 1 on a real bench.
    """

    def __init__(self, pace: float = 1.0) -> None:
        self._pace = pace
        self._start = time.monotonic_ns()

    def __call__(self) -> int:
        """Return the bench's moment, in nanoseconds."""
        now = time.monotonic_ns()
        return self._start + int((now - self._start) * self._pace)
