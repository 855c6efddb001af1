"""The reading of the empty pan, tracked with its own uncertainty."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

WANDER_DIVISIONS = 0.2
WANDER_S = 60.0
SUSPECT_DIVISIONS = 4.0
SMALL_STEP_DIVISIONS = 2.0
FASTEST_DRIFT = 2.0
LONGEST_DRIFT_S = 120.0
RATE_WANDER_SHARE = 0.1
RATE_WANDER_S = 60.0
SMALLEST_SHIFT_DIVISIONS = 0.8


@dataclass(frozen=True, slots=True)
class _Drifting:
    """A level that drifts, and how well level and drift are known: a Kalman filter of two states.

    Attributes
    ----------
    level_g : float
        Level. [g]
    rate : float
        Drift. [g/s]
    variance : float
        Of the level. [g^2]
    covariance : float
        Of level and drift. [g^2/s]
    rate_variance : float
        Of the drift. [g^2/s^2]
    at_s : float
        Moment it holds for. [s]
    """

    rate_variance: float
    level_g: float = 0.0
    rate: float = 0.0
    variance: float = 0.0
    covariance: float = 0.0
    at_s: float = 0.0

    def level_at(self, seconds: float) -> float:
        return self.level_g + self.rate * min(max(0.0, seconds - self.at_s), LONGEST_DRIFT_S)

    def predicted(self, seconds: float, *, wander: float, turns: float) -> _Drifting:
        age = max(0.0, seconds - self.at_s)
        far = min(age, LONGEST_DRIFT_S)
        return _Drifting(
            level_g=self.level_at(seconds),
            rate=self.rate,
            variance=self.variance + 2.0 * far * self.covariance + age * age * self.rate_variance + wander * age,
            covariance=self.covariance + far * self.rate_variance,
            rate_variance=self.rate_variance + turns * age,
            at_s=seconds,
        )

    def corrected(self, level_g: float, *, variance: float, fastest: float) -> _Drifting:
        whole = self.variance + variance
        if whole <= 0.0:
            return self
        gain, rate_gain = self.variance / whole, self.covariance / whole
        off = level_g - self.level_g
        return _Drifting(
            level_g=self.level_g + gain * off,
            rate=min(max(self.rate + rate_gain * off, -fastest), fastest),
            variance=(1.0 - gain) * self.variance,
            covariance=(1.0 - gain) * self.covariance,
            rate_variance=self.rate_variance - rate_gain * self.covariance,
            at_s=self.at_s,
        )


class TrackedZero:
    """Where the empty pan reads, how well that is known, and since when.

    Parameters
    ----------
    division_g : float
        Division of the scale. [g]
    drift_divisions_per_min : float
        Drift that is allowed for between two looks. [division/min]
    """

    def __init__(self, *, division_g: float, drift_divisions_per_min: float) -> None:
        self._division_g = division_g
        self._drift_g_per_s = drift_divisions_per_min * division_g / 60.0
        self._now_s = 0.0
        self._suspect_g = 0.0
        self._by_key = False
        self._seen = _Drifting(rate_variance=self._drift_g_per_s**2 / 3.0)
        self._kept = self._seen

    @property
    def suspect(self) -> bool:
        """Whether a key was pressed, or the pan read otherwise, and it was not seen calm since."""
        return self._suspect_g > 0.0

    def suspect_now(self) -> None:
        """Note that it may be wrong by some divisions until the pan is seen calm."""
        self._suspect_g = SUSPECT_DIVISIONS * self._division_g
        self._by_key = True

    def differs(self, off_g: float) -> None:
        """Note that a look at the empty pan disagreed.

        Parameters
        ----------
        off_g : float
            What was seen less the zero. [g]
        """
        small = abs(off_g) <= SMALL_STEP_DIVISIONS * self._division_g
        most = abs(off_g) / sqrt(3.0) if small else SUSPECT_DIVISIONS * self._division_g
        self._suspect_g = max(self._suspect_g, most)

    def trust(self) -> None:
        """Note that the pan was seen calm for long enough."""
        self._suspect_g = 0.0
        self._by_key = False

    def agrees(self) -> None:
        """Note that a short calm look agreed: what disagreed before it was a tail, unless a key was pressed."""
        if not self._by_key:
            self._suspect_g = 0.0

    @property
    def grams(self) -> float:
        """Reading of the empty pan now, in grams, drifted on as it has drifted so far."""
        return self._seen.level_at(self._now_s)

    def go_on(self, seconds: float) -> None:
        """Let time pass.

        Parameters
        ----------
        seconds : float
            Moment. [s]
        """
        self._now_s = seconds

    def _predicted(self, state: _Drifting, seconds: float) -> _Drifting:
        wander = (WANDER_DIVISIONS * self._division_g) ** 2 / WANDER_S
        turns = (RATE_WANDER_SHARE * self._drift_g_per_s) ** 2 / RATE_WANDER_S
        return state.predicted(seconds, wander=wander, turns=turns)

    def uncertainty_g(self, seconds: float) -> float:
        """Return how well the zero is known now.

        Parameters
        ----------
        seconds : float
            Moment. [s]

        Returns
        -------
        float
            Standard uncertainty without rounding. [g]
        """
        return sqrt(self._predicted(self._seen, seconds).variance + self._suspect_g * self._suspect_g)

    def set(self, grams: float, *, uncertainty_g: float, seconds: float) -> None:
        """Take a level as the zero.

        Parameters
        ----------
        grams : float
            Reading of the empty pan. [g]
        uncertainty_g : float
            Its standard uncertainty. [g]
        seconds : float
            Moment. [s]
        """
        self._seen = replace(
            self._seen, level_g=grams, variance=uncertainty_g * uncertainty_g, covariance=0.0, at_s=seconds
        )
        self.trust()
        self.keep()

    def fits(self, mean_g: float, *, uncertainty_g: float, seconds: float) -> bool:
        """Return whether a calm look agrees with the zero so far.

        Parameters
        ----------
        mean_g : float
            Mean of the look. [g]
        uncertainty_g : float
            Its standard uncertainty. [g]
        seconds : float
            Moment. [s]

        Returns
        -------
        bool
            False for a shift.
        """
        expected = self._predicted(self._seen, seconds)
        spread = sqrt(expected.variance + uncertainty_g**2)
        return abs(mean_g - expected.level_g) <= max(SMALLEST_SHIFT_DIVISIONS * self._division_g, 4.0 * spread)

    def observe(self, mean_g: float, *, uncertainty_g: float, seconds: float) -> None:
        """Learn from a calm look at the empty pan that replaces the look before it.

        Parameters
        ----------
        mean_g : float
            Mean of the look. [g]
        uncertainty_g : float
            Its standard uncertainty. [g]
        seconds : float
            Moment of its end. [s]
        """
        most = FASTEST_DRIFT * self._drift_g_per_s
        self._seen = self._predicted(self._kept, seconds).corrected(mean_g, variance=uncertainty_g**2, fastest=most)

    def keep(self) -> None:
        """End a look: the next one adds to it."""
        self._kept = self._seen
