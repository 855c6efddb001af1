"""Readings in order: doubles dropped, holes marked, one odd reading kept aside until the next one speaks."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from decimal import Decimal

HOLE_INTERVALS = 3.2
SHORTEST_HOLE_S = 0.45
INTERVAL_SHARE = 0.05
LAST_FEW = 5
SOON_LINES = 3.5
SWING_JUMPS = 10.0


@dataclass(frozen=True, slots=True)
class Sample:
    """One reading in grams.

    Attributes
    ----------
    at_ns : int
        Moment. [ns]
    seconds : float
        The same moment. [s]
    grams : float
        Value. [g]
    shown : Decimal
        As shown. [unit]
    raw : str
        The line.
    steady : bool | None
        The scale's own word.
    """

    at_ns: int
    seconds: float
    grams: float
    shown: Decimal
    raw: str
    steady: bool | None


@dataclass(frozen=True, slots=True)
class Passed:
    """What the filter let through for one reading.

    Attributes
    ----------
    samples : tuple[Sample, ...]
        None while a reading is kept aside; two when an odd one was confirmed.
    hole : bool
        Lines were missing before this one.
    jump : bool
        The level changed: windows start anew at the first of the samples.
    """

    samples: tuple[Sample, ...] = ()
    hole: bool = False
    jump: bool = False


class SampleFilter:
    """Lets readings through in order.

    One garbled line never moves a value; two in a row are a real change. Odd ones that come again and again are no
    garbled lines: the part rocks, and all of them count.
    """

    def __init__(self) -> None:
        self.interval_s = 0.1
        self._last: Sample | None = None
        self._aside: Sample | None = None
        self._few: deque[float] = deque(maxlen=LAST_FEW)
        self._dropped_s: float | None = None

    def forget(self) -> None:
        """Forget what came before: the next reading begins anew."""
        self._last = self._aside = None
        self._few.clear()

    @property
    def hole_s(self) -> float:
        """Silence that counts as a hole, in seconds."""
        return max(HOLE_INTERVALS * self.interval_s, SHORTEST_HOLE_S)

    def take(self, sample: Sample, *, jump_g: float) -> Passed:
        """Take a reading.

        Parameters
        ----------
        sample : Sample
            The reading.
        jump_g : float
            Distance from the last few that makes a reading odd. [g]

        Returns
        -------
        Passed
            What may be used now.
        """
        last, self._last = self._last, sample
        hole = False
        if last is not None:
            gap = sample.seconds - last.seconds
            if gap < 0.25 * self.interval_s and sample.raw == last.raw:
                self._last = last
                return Passed()
            hole = gap > self.hole_s
            if not hole:
                self.interval_s += INTERVAL_SHARE * (gap - self.interval_s)
        if hole:
            self._aside = None
            self._few.clear()
        few = self._few
        if not few or abs(sample.grams - sum(few) / len(few)) <= jump_g:
            odd, self._aside = self._aside, None
            rocks = odd is not None and self._again(odd) and abs(odd.grams - sample.grams) <= SWING_JUMPS * jump_g
            if odd is not None and rocks:
                few.append(odd.grams)
            few.append(sample.grams)
            return Passed((odd, sample) if odd is not None and rocks else (sample,), hole=hole)
        if self._aside is None:
            self._aside = sample
            return Passed(hole=hole)
        odd, self._aside = self._aside, None
        few.clear()
        if abs(sample.grams - odd.grams) <= jump_g:
            few.append(odd.grams)
        few.append(sample.grams)
        return Passed((odd, sample), jump=True)

    def _again(self, odd: Sample) -> bool:
        before, self._dropped_s = self._dropped_s, odd.seconds
        return before is not None and odd.seconds - before <= SOON_LINES * self.interval_s
