"""The reading of the empty pan, tracked with its own uncertainty."""

from __future__ import annotations

from math import sqrt

WANDER_DIVISIONS = 0.2
WANDER_S = 60.0
SUSPECT_DIVISIONS = 4.0
SMALL_STEP_DIVISIONS = 2.0
SHORTEST_AGE_S = 2.0
RATE_SHARE = 0.3
FASTEST_DRIFT = 2.0
SMALLEST_SHIFT_DIVISIONS = 0.8


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
        self.grams = 0.0
        self._variance = 0.0
        self._at_s = 0.0
        self._suspect_g = 0.0
        self._by_key = False
        self._kept = (0.0, 0.0, 0.0)
        self._rate_g_per_s = 0.0
        self._learnt: tuple[float, float] | None = None

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

    def _grown(self, seconds: float) -> float:
        age = max(0.0, seconds - self._at_s)
        wander = (WANDER_DIVISIONS * self._division_g) ** 2 * age / WANDER_S
        return self._variance + (self._drift_g_per_s * age) ** 2 / 3.0 + wander

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
        return sqrt(self._grown(seconds) + self._suspect_g * self._suspect_g)

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
        self.grams = grams
        self._variance = uncertainty_g * uncertainty_g
        self._at_s = seconds
        self.trust()
        self._learnt = None
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
        spread = sqrt(self._grown(seconds) + uncertainty_g**2)
        return abs(mean_g - self.grams) <= max(SMALLEST_SHIFT_DIVISIONS * self._division_g, 4.0 * spread)

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
        self.grams, self._variance, self._at_s = self._kept
        age = max(0.0, seconds - self._at_s)
        before, seen = self._grown(seconds), uncertainty_g**2
        gain = before / (before + seen) if before > 0 else 0.0
        expected = self.grams + self._rate_g_per_s * age
        self.grams = expected + gain * (mean_g - expected)
        self._learnt = (gain * (mean_g - expected), age)
        self._variance = (1.0 - gain) * before
        self._at_s = seconds

    def keep(self) -> None:
        """End a look: the next one adds to it."""
        if self._learnt is not None and self._learnt[1] >= SHORTEST_AGE_S:
            correction, age = self._learnt
            most = FASTEST_DRIFT * self._drift_g_per_s
            rate = self._rate_g_per_s + RATE_SHARE * correction / age
            self._rate_g_per_s = min(max(rate, -most), most)
        self._learnt = None
        self._kept = (self.grams, self._variance, self._at_s)
