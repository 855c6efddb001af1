"""The first look at a pan whose noise is not known yet: how unsteady it is while nothing seems to lie there."""

from __future__ import annotations

from collections import deque
from statistics import median

from bench.capture.samples import Sample

LOOK_S = 3.0
FEWEST = 10
MOST = 80
MAD_TO_SD = 1.4826
LARGEST_DIVISIONS = 20.0
MOST_SHARE = 0.9
HALVES_SD = 1.0


class FirstImpression:
    """Judges a few seconds of readings by their middle and their spread alone."""

    def __init__(self) -> None:
        self._recent: deque[Sample] = deque(maxlen=MOST)

    def forget(self) -> None:
        """Begin again."""
        self._recent.clear()

    def noise_g(self, sample: Sample, *, reach_g: float, division_g: float) -> float | None:
        """Take a reading and return the noise of a pan that seems empty.

        Parameters
        ----------
        sample : Sample
            Reading.
        reach_g : float
            How far from nought an empty pan may read. [g]
        division_g : float
            Division. [g]

        Returns
        -------
        float or None
            Standard deviation of single readings, once three seconds look like noise about a resting level. [g]
        """
        self._recent.append(sample)
        while self._recent and self._recent[0].seconds < sample.seconds - LOOK_S - 0.5:
            self._recent.popleft()
        values = [s.grams for s in self._recent]
        if len(values) < FEWEST or sample.seconds - self._recent[0].seconds < LOOK_S:
            return None
        middle = median(values)
        sd = max(MAD_TO_SD * median(abs(v - middle) for v in values), 0.3 * division_g)
        half = len(values) // 2
        apart = abs(median(values[:half]) - median(values[half:]))
        inside = sum(abs(v - middle) <= 4.0 * sd for v in values) >= MOST_SHARE * len(values)
        quiet = abs(middle) <= reach_g and sd <= LARGEST_DIVISIONS * division_g
        return sd if quiet and inside and apart <= HALVES_SD * sd + 0.5 * division_g else None
