"""How unsteady the scale is: learnt from the empty pan, carried over to a load."""

from __future__ import annotations

from functools import cache
from math import sqrt

from bench.capture.variances import Variance, VarianceByLength

BLOCKS_S = (0.5, 1.0, 2.0, 4.0)
SWINGS_S = tuple(2 * t for t in BLOCKS_S)
REMEMBERED = 600
PRIOR_COUNT = 8.0
PRIOR_DIVISIONS = 0.12
GROWTH_PER_G = 1.0 / 1000.0
FASTEST_GROWTH_PER_G = 6.0 / 1000.0
LOAD_MEMORY = 0.25
CLEARLY_STEADIER = 0.9
SLOPE_PER_HALVES = sqrt(3.0)


@cache
def _weights(count: int) -> tuple[float, ...]:
    middle = (count - 1) / 2
    rising = [1.0 - abs(k - middle) / (middle + 1.0) for k in range(count)]
    total = sum(rising)
    return tuple(w / total for w in rising)


def tapered(values: list[float]) -> float:
    """Return a mean whose weights rise from both ends to the middle.

    Parameters
    ----------
    values : list[float]
        In the order of time, at least one.

    Returns
    -------
    float
        Weighted mean: vibration of more than two periods all but cancels.

    Examples
    --------
    >>> tapered([1.0, 4.0, 1.0])
    2.5
    """
    return sum(w * x for w, x in zip(_weights(len(values)), values, strict=True))


def _by_length(guess: float, lengths_s: tuple[float, ...]) -> VarianceByLength:
    known = [Variance(guess / (1 + k), weight=2.0, memory=60 / (1 + k)) for k in range(len(lengths_s))]
    return VarianceByLength(known, lengths_s)


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
        self._single = Variance(guess, weight=PRIOR_COUNT, memory=REMEMBERED)
        self._means = _by_length(guess, BLOCKS_S)
        self._tapers = _by_length(guess, BLOCKS_S)
        self._swings = _by_length(4.0 * guess, SWINGS_S)
        self._blocks: list[list[float]] = [[] for _ in BLOCKS_S]
        self._starts = [0.0 for _ in BLOCKS_S]
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
        return sqrt(self._means.at(seconds)) * self.growth(load_g)

    def tapers_at(self, seconds: float) -> bool:
        """Return whether a mean that fades at both ends is steadier than a plain one: so with vibration.

        Parameters
        ----------
        seconds : float
            Length of the window. [s]

        Returns
        -------
        bool
            True when the empty pan has shown it.
        """
        return self._tapers.at(seconds) < CLEARLY_STEADIER * self._means.at(seconds)

    def best_mean_at(self, seconds: float, load_g: float) -> float:
        """Return the standard deviation of the steadier of both means under a load.

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
        kind = self._tapers if self.tapers_at(seconds) else self._means
        whole = kind.cautious_at(seconds)
        # the floor shakes what lies there, air does not: only what longer means get rid of grows with the load
        shaken = min(whole, kind.at(BLOCKS_S[0]) * BLOCKS_S[0] / seconds) if seconds > 0 else whole
        return sqrt(whole + shaken * (self.growth(load_g) ** 2 - 1.0))

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
        return SLOPE_PER_HALVES * sqrt(self._swings.at(seconds)) * self.growth(load_g)

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
            block = self._blocks[k]
            if block and seconds - self._starts[k] > 1.5 * length:
                block.clear()
                self._before[k] = None
            if not block:
                self._starts[k] = seconds
            block.append(residual_g)
            if seconds - self._starts[k] >= length - 0.5 * interval_s:
                mean, before = sum(block) / len(block), self._before[k]
                self._means.learn(k, mean)
                self._tapers.learn(k, tapered(block))
                if before is not None:
                    self._swings.learn(k, mean - before)
                self._before[k] = mean
                block.clear()

    def suppose(self, single_g: float) -> None:
        """Start again from a first impression of an unsteady pan.

        Parameters
        ----------
        single_g : float
            Standard deviation of single readings. [g]
        """
        square = single_g * single_g
        self._single = Variance(square, weight=PRIOR_COUNT, memory=REMEMBERED)
        lengths = range(len(BLOCKS_S))
        for one in (self._means, self._tapers):
            one.suppose([square / (2 + 2 * k) for k in lengths])
        self._swings.suppose([square / (1 + k) for k in lengths])

    def pause(self) -> None:
        """End the blocks that are under way: what comes next is not their continuation."""
        for block in self._blocks:
            block.clear()
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
