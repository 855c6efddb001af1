"""How unsteady the scale is: learnt from the empty pan, carried over to a load."""

from __future__ import annotations

from math import sqrt

BLOCKS_S = (0.5, 1.0, 2.0)
REMEMBERED = 600
PRIOR_COUNT = 8.0
PRIOR_DIVISIONS = 0.12
CLIP = 4.0
GROWTH_PER_G = 1.0 / 1000.0
FASTEST_GROWTH_PER_G = 6.0 / 1000.0
LOAD_MEMORY = 0.25
SLOPE_PER_HALVES = sqrt(3.0)


class _Variance:
    """A variance about zero that starts from a guess and forgets slowly."""

    def __init__(self, guess: float, *, weight: float, memory: float) -> None:
        self.value = guess
        self._weight = weight
        self.memory = memory

    def learn(self, residual: float) -> None:
        square = min(residual * residual, CLIP * CLIP * self.value)
        self._weight = min(self._weight + 1.0, self.memory)
        self.value += (square - self.value) / self._weight


def _between(variances: list[_Variance], lengths: tuple[float, ...], seconds: float) -> float:
    if seconds >= lengths[-1]:
        return variances[-1].value * lengths[-1] / seconds
    upper = next(k for k, t in enumerate(lengths) if seconds < t)
    lower = max(0, upper - 1)
    width = lengths[upper] - lengths[lower]
    share = (seconds - lengths[lower]) / width if width > 0 else 0.0
    return variances[lower].value + max(0.0, share) * (variances[upper].value - variances[lower].value)


class PanNoise:
    """Standard deviation of single readings and of means, from readings less the zero.

    Residuals are taken from the zero, never from nought: a shift of the zero is no noise.

    Parameters
    ----------
    division_g : float
        Division of the scale. [g]
    """

    def __init__(self, division_g: float) -> None:
        guess = (PRIOR_DIVISIONS * division_g) ** 2
        self._single = _Variance(guess, weight=PRIOR_COUNT, memory=REMEMBERED)
        self._means = [_Variance(guess / (1 + k), weight=2.0, memory=60 / (1 + k)) for k in range(len(BLOCKS_S))]
        self._swings = [_Variance(4 * v.value, weight=2.0, memory=v.memory) for v in self._means]
        self._blocks: list[tuple[float, float, int]] = [(-1.0, 0.0, 0) for _ in BLOCKS_S]
        self._before: list[float | None] = [None for _ in BLOCKS_S]
        self._growth = GROWTH_PER_G
        self._division_g = division_g
        self.learnt_s = 0.0

    @property
    def single_g(self) -> float:
        """Standard deviation of one reading of the empty pan, in grams."""
        return sqrt(self._single.value)

    def growth(self, load_g: float) -> float:
        """Return by how much noise is larger under a load.

        Parameters
        ----------
        load_g : float
            Load. [g]

        Returns
        -------
        float
            At least one.
        """
        return 1.0 + self._growth * max(0.0, load_g)

    def single_at(self, load_g: float) -> float:
        """Return the standard deviation of one reading under a load.

        Parameters
        ----------
        load_g : float
            Load. [g]

        Returns
        -------
        float
            Standard deviation. [g]
        """
        return self.single_g * self.growth(load_g)

    def mean_at(self, seconds: float, load_g: float) -> float:
        """Return the standard deviation of a mean over some time under a load.

        Parameters
        ----------
        seconds : float
            Length of the window. [s]
        load_g : float
            Load. [g]

        Returns
        -------
        float
            Standard deviation. [g]
        """
        return sqrt(_between(self._means, BLOCKS_S, seconds)) * self.growth(load_g)

    def swing_at(self, seconds: float, load_g: float) -> float:
        """Return the standard deviation of rise or fall over a window of a pan at rest.

        Parameters
        ----------
        seconds : float
            Length of the window. [s]
        load_g : float
            Load. [g]

        Returns
        -------
        float
            Standard deviation of slope times length. [g]
        """
        halves = sqrt(_between(self._swings, tuple(2 * t for t in BLOCKS_S), seconds))
        return SLOPE_PER_HALVES * halves * self.growth(load_g)

    def learn_empty(self, residual_g: float, seconds: float, interval_s: float) -> None:
        """Learn from one reading of the empty pan.

        Parameters
        ----------
        residual_g : float
            Reading less the zero. [g]
        seconds : float
            Moment. [s]
        interval_s : float
            Usual time between lines. [s]
        """
        self._single.learn(residual_g)
        self.learnt_s += interval_s
        for k, length in enumerate(BLOCKS_S):
            start, total, count = self._blocks[k]
            if count == 0 or seconds - start > 1.5 * length:
                if count:
                    self._before[k] = None
                start, total, count = seconds, 0.0, 0
            total, count = total + residual_g, count + 1
            if seconds - start >= length - 0.5 * interval_s:
                mean, before = total / count, self._before[k]
                self._means[k].learn(mean)
                if before is not None:
                    self._swings[k].learn(mean - before)
                self._before[k] = mean
                count = 0
            self._blocks[k] = (start, total, count)

    def suppose(self, single_g: float) -> None:
        """Start again from a first impression of an unsteady pan.

        Parameters
        ----------
        single_g : float
            Standard deviation of single readings. [g]
        """
        square = single_g * single_g
        self._single = _Variance(square, weight=PRIOR_COUNT, memory=REMEMBERED)
        for k, (mean, swing) in enumerate(zip(self._means, self._swings, strict=True)):
            mean.value, swing.value = square / (2 + 2 * k), square / (1 + k)

    def pause(self) -> None:
        """End the blocks that are under way: what comes next is not their continuation."""
        self._blocks = [(-1.0, 0.0, 0) for _ in BLOCKS_S]
        self._before = [None for _ in BLOCKS_S]

    def learn_load(self, load_g: float, scatter_g: float) -> None:
        """Learn from a calm stretch how noise grows with the load.

        Parameters
        ----------
        load_g : float
            Load. [g]
        scatter_g : float
            Scatter of single readings about their line. [g]
        """
        floor = 0.3 * self._division_g
        if load_g < 1000 * self._division_g or (self.single_g < floor and scatter_g < floor):
            return
        seen = (scatter_g / max(self.single_g, 0.05 * self._division_g) - 1.0) / load_g
        seen = min(max(seen, 0.0), FASTEST_GROWTH_PER_G)
        self._growth += LOAD_MEMORY * (seen - self._growth)
