"""Trailing windows over samples: mean, slope, scatter, spread and halves, each in constant time by running sums."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from math import sqrt

from bench.capture.samples import Sample

KEPT_S = 12.0
LONGEST_LIST = 1200


@dataclass(frozen=True, slots=True)
class Window:
    """What a trailing window shows.

    Attributes
    ----------
    count : int
        Readings.
    span_s : float
        From first to last. [s]
    mean_g : float
        Mean. [g]
    slope_g_per_s : float
        Slope of the least-squares line. [g/s]
    scatter_g : float
        Standard deviation about that line. [g]
    spread_g : float
        Highest less lowest. [g]
    halves_g : float
        Mean of the later half less mean of the earlier half. [g]
    """

    count: int
    span_s: float
    mean_g: float
    slope_g_per_s: float
    scatter_g: float
    spread_g: float
    halves_g: float


class SampleRun:
    """Samples without a hole or a jump between them."""

    def __init__(self) -> None:
        self.samples: list[Sample] = []
        self._times: list[float] = []
        self._grams: list[float] = []
        self._sums: list[tuple[float, float, float, float, float]] = [(0.0, 0.0, 0.0, 0.0, 0.0)]

    def __len__(self) -> int:
        return len(self.samples)

    def restart(self) -> None:
        """Begin anew: no window reaches back over this point."""
        self.samples = []
        self._times = []
        self._grams = []
        self._sums = [(0.0, 0.0, 0.0, 0.0, 0.0)]

    def add(self, sample: Sample) -> None:
        """Add the newest sample.

        Parameters
        ----------
        sample : Sample
            Later than all before.
        """
        if len(self.samples) >= LONGEST_LIST:
            kept = self.samples[bisect_left(self._times, sample.seconds - KEPT_S) :]
            self.restart()
            for one in kept[-LONGEST_LIST // 2 :]:
                self._append(one)
        self._append(sample)

    def _append(self, sample: Sample) -> None:
        origin = self.samples[0] if self.samples else sample
        t, x = sample.seconds - origin.seconds, sample.grams - origin.grams
        st, sx, stt, stx, sxx = self._sums[-1]
        self.samples.append(sample)
        self._times.append(sample.seconds)
        self._grams.append(sample.grams)
        self._sums.append((st + t, sx + x, stt + t * t, stx + t * x, sxx + x * x))

    def first_of(self, seconds: float, *, end: int | None = None) -> int | None:
        """Return the index at which a trailing window of this length begins.

        Parameters
        ----------
        seconds : float
            Length. [s]
        end : int | None
            Index after the last sample of the window; None for the newest.

        Returns
        -------
        int or None
            None when the run is shorter.
        """
        end = len(self.samples) if end is None else end
        if end < 2:
            return None
        start = self._times[end - 1] - seconds
        index = bisect_left(self._times, start + 1e-6)
        if index == 0:
            return 0 if self._times[0] <= start + 1e-3 else None
        return index - 1

    def end_before(self, seconds: float) -> int:
        """Return the index after the last sample not later than a moment.

        Parameters
        ----------
        seconds : float
            Moment. [s]

        Returns
        -------
        int
            Index; 0 when all are later.
        """
        return bisect_left(self._times, seconds + 1e-9)

    def window(self, first: int, *, end: int | None = None) -> Window:
        """Return what the samples from an index on show.

        Parameters
        ----------
        first : int
            Index of the first sample.
        end : int | None
            Index after the last; None for the newest.

        Returns
        -------
        Window
            At least two samples are needed.
        """
        end = len(self.samples) if end is None else end
        n = end - first
        m = n // 2
        t0, x0, tt0, tx0, xx0 = self._sums[first]
        t1, x1, tt1, tx1, xx1 = self._sums[end]
        xm = self._sums[first + m][1]
        st, sx = t1 - t0, x1 - x0
        vt, vtx, vx = tt1 - tt0 - st * st / n, tx1 - tx0 - st * sx / n, xx1 - xx0 - sx * sx / n
        slope = vtx / vt if vt > 0 else 0.0
        rest = max(0.0, vx - slope * vtx)
        values = self._grams[first:end]
        return Window(
            count=n,
            span_s=self._times[end - 1] - self._times[first],
            mean_g=self._grams[0] + sx / n,
            slope_g_per_s=slope,
            scatter_g=sqrt(rest / (n - 2)) if n > 2 else 0.0,
            spread_g=max(values) - min(values),
            halves_g=(x1 - xm) / (n - m) - (xm - x0) / m,
        )

    def most_frequent(self, first: int, *, end: int | None = None) -> Decimal:
        """Return the value shown most often since an index, the newest of equals.

        Parameters
        ----------
        first : int
            Index of the first sample.
        end : int | None
            Index after the last; None for the newest.

        Returns
        -------
        Decimal
            As shown. [unit]
        """
        values = [s.shown for s in self.samples[first:end]]
        counts = Counter(values)
        most = max(counts.values())
        return next(v for v in reversed(values) if counts[v] == most)
