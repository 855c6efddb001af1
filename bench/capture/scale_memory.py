"""What is known of the running scale: division, unit, noise, zero and tails."""

from __future__ import annotations

from decimal import Decimal

from bench.capture.creep import CreepMemory
from bench.capture.noise import PanNoise
from bench.capture.settings import WeighSettings
from bench.capture.steady_word import SteadyWord
from bench.capture.tails import TailMemory
from bench.capture.units import GRAMS, division_of
from bench.capture.zero import TrackedZero

NEAR_DIVISIONS = 3.0
NEAR_SD = 5.0
ON_DIVISIONS = 5.0
ON_SD = 6.0
LIGHT_SHARE = 0.5
JUMP_SD = 5.0
CALM_LIGHT_SHARE = 0.45
TREMOR_SEEN_DIVISIONS = 0.3
TREMOR_HIDDEN_DIVISIONS = 0.7
DEEPEST = 2.0


class ScaleMemory:
    """A scale in one unit and one resolution.

    Parameters
    ----------
    unit : str
        Unit, known in grams.
    shown : Decimal
        A value as shown; its digits are the resolution. [unit]
    settings : WeighSettings
        Limits.
    """

    def __init__(self, *, unit: str, shown: Decimal, settings: WeighSettings) -> None:
        self.unit = unit
        self.step = division_of(shown)
        self.factor = GRAMS[unit]
        self.division_g = float(self.step * self.factor)
        self.places = max(0, -int(f"{self.division_g:e}".partition("e")[2]))
        self.noise = PanNoise(self.division_g)
        self.zero = TrackedZero(division_g=self.division_g, drift_divisions_per_min=settings.drift_divisions_per_min)
        self.tails = TailMemory(settings.settling_s)
        self.creep = CreepMemory(self.division_g)
        self.word = SteadyWord()
        self.zero_seen = False

    def speaks(self, unit: str, shown: Decimal) -> bool:
        """Return whether a line is of this unit and resolution.

        Parameters
        ----------
        unit : str
            Unit of the line.
        shown : Decimal
            Its value. [unit]

        Returns
        -------
        bool
            False: it may not be mixed with the others.
        """
        return unit == self.unit and division_of(shown) == self.step

    def on_threshold_g(self, expected_g: float | None) -> float:
        """Return how much must be on the pan to count as something.

        Parameters
        ----------
        expected_g : float | None
            Weight of what is due. [g]

        Returns
        -------
        float
            At most half of what is due, at least three divisions. [g]
        """
        threshold = max(ON_DIVISIONS * self.division_g, ON_SD * self.noise.single_g)
        if expected_g is not None:
            threshold = min(threshold, LIGHT_SHARE * expected_g)
        return max(threshold, NEAR_DIVISIONS * self.division_g)

    def hides(self, expected_g: float) -> bool:
        """Return whether the empty pan is so unsteady that a part may be laid without being noticed.

        Parameters
        ----------
        expected_g : float
            Weight of what is due. [g]

        Returns
        -------
        bool
            True when half of it is less than the noise of the pan reaches.
        """
        return LIGHT_SHARE * expected_g < ON_SD * self.noise.single_g

    def hides_a_hand(self, load_g: float) -> float:
        """Return how far noise hides the tremor of a hand that rests on a part.

        Parameters
        ----------
        load_g : float
            Load. [g]

        Returns
        -------
        float
            0 on a quiet bench, 1 where readings scatter by most of a division, up to 2 where they scatter by more.
        """
        scatter = self.noise.single_at(load_g) / self.division_g
        share = (scatter - TREMOR_SEEN_DIVISIONS) / (TREMOR_HIDDEN_DIVISIONS - TREMOR_SEEN_DIVISIONS)
        return min(DEEPEST, max(0.0, share))

    def near_zero_g(self, expected_g: float | None) -> float:
        """Return how near to the zero the empty pan reads.

        Parameters
        ----------
        expected_g : float | None
            Weight of what is due or lies there. [g]

        Returns
        -------
        float
            Half width. [g]
        """
        near = max(NEAR_DIVISIONS * self.division_g, NEAR_SD * self.noise.single_g)
        return near if expected_g is None else min(near, max(CALM_LIGHT_SHARE * expected_g, 2.0 * self.division_g))

    def jump_g(self, load_g: float) -> float:
        """Return how far a reading must be off to be odd.

        Parameters
        ----------
        load_g : float
            Load. [g]

        Returns
        -------
        float
            Distance. [g]
        """
        return max(NEAR_DIVISIONS * self.division_g, JUMP_SD * self.noise.single_at(load_g))
