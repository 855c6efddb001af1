"""Looking on after a value was taken, until the part leaves: confirmed, amended or doubted."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from bench.capture.noise import PanNoise
from bench.capture.samples import Sample
from bench.capture.settle import Plateau, is_flat, plateau_of
from bench.capture.windows import SampleRun

BEFORE_LEAVING_S = 0.15
NEWEST_S = 0.45
LONGER = 1.3
AMENDED_DIVISIONS = 0.6
SHORTER_SD = 4.0
SLOWEST_LIFT_S = 1.3
LONG_LOOKS_S = (4.0, 3.0, 2.0, 1.4, 1.0, 0.7, NEWEST_S)


@dataclass(frozen=True, slots=True)
class Look:
    """What the second look found.

    Attributes
    ----------
    plateau : Plateau | None
        The longest flat stretch up to the lift; None when there was none.
    amends : bool
        It tells another value than the one that was taken.
    doubted : bool
        The value is not confirmed and nothing better was seen.
    off_g : float
        What was seen last less what was taken. [g]
    """

    plateau: Plateau | None = None
    amends: bool = False
    doubted: bool = False
    off_g: float = 0.0


class SecondLook:
    """Collects what is seen of a part after its value was taken.

    Parameters
    ----------
    level_g : float
        Level that was taken, zero included. [g]
    uncertainty_g : float
        Standard uncertainty of the mean that was taken. [g]
    span_s : float
        Length of the stretch it was taken from. [s]
    """

    def __init__(self, level_g: float, *, uncertainty_g: float, span_s: float) -> None:
        self.level_g = level_g
        self._span_s = span_s
        self._uncertainty_g = uncertainty_g
        self.run = SampleRun()
        self._left_s: float | None = None

    def see(self, sample: Sample) -> None:
        """Add a reading at the level.

        Parameters
        ----------
        sample : Sample
            Reading.
        """
        if self._left_s is not None:
            self.run.restart()
            self._left_s = None
        self.run.add(sample)

    def leaves(self, seconds: float) -> None:
        """Note the moment at which the reading went away from the level.

        Parameters
        ----------
        seconds : float
            Moment. [s]
        """
        if self._left_s is None:
            self._left_s = seconds

    def shift(self, grams: float) -> None:
        """Move the level with the scale's own zero, which a key has moved.

        Parameters
        ----------
        grams : float
            New level less old level. [g]
        """
        self.level_g += grams
        self.run.restart()

    def found(
        self,
        *,
        half_off_s: float | None,
        division_g: float,
        noise: PanNoise,
        load_g: float,
        lines_per_update: float,
        interval_s: float,
    ) -> Look:
        """Return what the whole time on the pan says, now that the part has left.

        Parameters
        ----------
        half_off_s : float | None
            Moment at which half of the weight was gone. [s]
        division_g : float
            Division. [g]
        noise : PanNoise
            What is learnt of the noise.
        load_g : float
            Load. [g]
        lines_per_update : float
            Lines for each change of the display.
        interval_s : float
            Usual time between lines. [s]

        Returns
        -------
        Look
            Confirmed, amended or doubted.
        """
        left = self._left_s
        if left is not None and half_off_s is not None and half_off_s - left > SLOWEST_LIFT_S + interval_s:
            return Look(doubted=True, off_g=0.0)
        if not self.run.samples:
            return Look()
        last = self.run.samples[-1].seconds if left is None else left
        end = self.run.end_before(last - BEFORE_LEAVING_S)
        for seconds in LONG_LOOKS_S:
            first = self.run.first_of(seconds, end=end)
            if first is None or end - first < 3:
                continue
            window = self.run.window(first, end=end)
            if not is_flat(
                window, division_g=division_g, noise=noise, load_g=load_g, lines_per_update=lines_per_update
            ):
                continue
            better = plateau_of(self.run, first, window, noise=noise, end=end)
            off = better.mean_g - self.level_g
            error = noise.best_mean_at(window.span_s, load_g)
            longer = window.span_s >= LONGER * self._span_s
            chance = 0.0 if longer else SHORTER_SD * hypot(error, self._uncertainty_g)
            allowed = max(AMENDED_DIVISIONS * division_g, chance)
            return Look(better, amends=not abs(off) <= allowed, off_g=off)
        return self._newest(end, division_g=division_g, noise_g=noise.single_at(load_g))

    def _newest(self, end: int, *, division_g: float, noise_g: float) -> Look:
        first = self.run.first_of(NEWEST_S, end=end)
        if first is None or end - first < 2:
            return Look()
        off = self.run.window(first, end=end).mean_g - self.level_g
        return Look(doubted=abs(off) > max(1.5 * division_g, 3.0 * noise_g), off_g=off)
