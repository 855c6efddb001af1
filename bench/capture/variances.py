"""Variances learnt from residuals: of single readings, and of means over several lengths of time."""

from __future__ import annotations

CLIP = 4.0
SURE = 8
LEAST_SHRINK = 0.25
UNSURE = 2.5
BELIEVED = 24
MOST_SHRINK = 0.85


class Variance:
    """A variance about zero that starts from a guess and forgets slowly.

    Parameters
    ----------
    guess : float
        First value.
    weight : float
        Residuals the guess counts for.
    memory : float
        Residuals that are remembered.
    """

    def __init__(self, guess: float, *, weight: float, memory: float) -> None:
        self.value = guess
        self._weight = weight
        self.count = 0
        self.memory = memory

    def learn(self, residual: float) -> None:
        """Learn from one residual.

        Parameters
        ----------
        residual : float
            Distance from the middle.
        """
        square = residual * residual
        if self.count >= SURE:
            square = min(square, CLIP * CLIP * self.value)
        self.count += 1
        self._weight = min(self._weight + 1.0, self.memory)
        self.value += (square - self.value) / self._weight


class VarianceByLength:
    """Variances of something taken over stretches of several lengths.

    Parameters
    ----------
    variances : list[Variance]
        One a length.
    lengths_s : tuple[float, ...]
        Rising. [s]
    """

    def __init__(self, variances: list[Variance], lengths_s: tuple[float, ...]) -> None:
        self._variances = variances
        self._lengths = lengths_s
        self._believed: tuple[float, ...] | None = None

    def learn(self, number: int, residual: float) -> None:
        """Learn from one residual.

        Parameters
        ----------
        number : int
            Index of its length.
        residual : float
            Distance from the middle.
        """
        self._variances[number].learn(residual)
        self._believed = None

    def suppose(self, values: list[float]) -> None:
        """Replace what is believed, one value a length.

        Parameters
        ----------
        values : list[float]
            Variances.
        """
        for one, value in zip(self._variances, values, strict=True):
            one.value = value
        self._believed = None

    def at(self, seconds: float) -> float:
        """Return the variance over some length of time.

        Parameters
        ----------
        seconds : float
            Length. [s]

        Returns
        -------
        float
            Between the lengths that were learnt; beyond the longest it falls as with independent readings.
        """
        if self._believed is None:
            self._believed = self._believe()
        believed, lengths = self._believed, self._lengths
        if seconds >= lengths[-1]:
            return believed[-1] * lengths[-1] / seconds
        upper = 0
        while seconds >= lengths[upper]:
            upper += 1
        lower = max(0, upper - 1)
        width = lengths[upper] - lengths[lower]
        share = (seconds - lengths[lower]) / width if width > 0 else 0.0
        return believed[lower] + max(0.0, share) * (believed[upper] - believed[lower])

    def cautious_at(self, seconds: float) -> float:
        """Return the variance over some length of time, larger while few stretches of that length were seen.

        Parameters
        ----------
        seconds : float
            Length. [s]

        Returns
        -------
        float
            With the share that a variance from few residuals may be too small by.
        """
        number = next((k for k, length in enumerate(self._lengths) if seconds <= length), len(self._lengths) - 1)
        return self.at(seconds) * (1.0 + UNSURE / (1.0 + self._variances[number].count))

    def _believe(self) -> tuple[float, ...]:
        # long stretches are rare: until enough were seen, slow air is assumed behind what shorter ones show
        values: list[float] = []
        for k, one in enumerate(self._variances):
            if k == 0 or one.count >= BELIEVED:
                values.append(one.value)
                continue
            shrinks = values[k - 1] / values[k - 2] if k >= 2 else LEAST_SHRINK
            least = min(max(shrinks, LEAST_SHRINK), MOST_SHRINK) * values[k - 1]
            own = one.count / BELIEVED
            values.append(own * one.value + (1.0 - own) * max(one.value, least))
        return tuple(values)
