"""Looking on after a value was taken, until the part leaves: confirmed, amended or doubted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, sqrt

from bench.capture.noise import PanNoise
from bench.capture.samples import Sample
from bench.capture.settle import FEWEST_LINES, Plateau, is_flat, plateau_of
from bench.capture.windows import SampleRun

BEFORE_LEAVING_S = 0.15
NEWEST_S = 0.45
SAME_S = 1e-4
LONGER = 1.3
AMENDED_DIVISIONS = 0.3
SHORTER_SD = 4.0
SLOWEST_LIFT_S = 1.3
USUAL_LIFT_S = 0.42
USUAL_LIFT_SETTLING = 0.7
LAST_S = 0.35
LAST_UPDATES = 2.5
SHORTEST_LAST_S = 0.12
CALM_SD = 4.0
CLEARLY_BESIDE = 3.0
STEP_SD = 3.3
STEP_DIVISIONS = 2.0
LEARNT_S = 0.5
AFTER_STEP_S = 0.7
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
    late_g : float | None
        What was seen just before the lift less what was taken; None when too little was. [g]
    """

    plateau: Plateau | None = None
    amends: bool = False
    doubted: bool = False
    late_g: float | None = None


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
        self._taken_s: float | None = None
        self._away: list[Sample] = []

    def taken(self) -> None:
        """Note that the value was taken from what was seen so far."""
        self._taken_s = self.run.samples[-1].seconds if self.run.samples else None

    def see(self, sample: Sample) -> None:
        """Add a reading at the level.

        Parameters
        ----------
        sample : Sample
            Reading.
        """
        if self._left_s is not None:
            self.run.restart()
            self._left_s = self._taken_s = None
            self._away = []
        self.run.add(sample)

    def leaves(self, sample: Sample) -> None:
        """Add a reading away from the level, or after one.

        Parameters
        ----------
        sample : Sample
            Reading.
        """
        if self._left_s is None:
            self._left_s = sample.seconds
        self._away.append(sample)

    def shift(self, grams: float) -> None:
        """Move the level with the scale's own zero, which a key has moved.

        Parameters
        ----------
        grams : float
            New level less old level. [g]
        """
        self.level_g += grams
        self.run.restart()
        self._taken_s = None

    def found(
        self,
        *,
        half_off_s: float | None,
        division_g: float,
        noise: PanNoise,
        load_g: float,
        lines_per_update: float,
        settling_s: float,
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
        settling_s : float
            Settling constant of the scale. [s]
        interval_s : float
            Usual time between lines. [s]

        Returns
        -------
        Look
            Confirmed, amended or doubted.
        """
        update_s = interval_s * lines_per_update
        stale_s = update_s - interval_s  # a display that changes seldom shows a lift that late
        if half_off_s is not None:
            slow = self._left_s is not None and half_off_s - self._left_s > SLOWEST_LIFT_S + interval_s
            begun_s = half_off_s - max(USUAL_LIFT_S, update_s) - stale_s - USUAL_LIFT_SETTLING * settling_s
            if slow or self._lay_elsewhere(
                begun_s, update_s=update_s, division_g=division_g, noise=noise, load_g=load_g
            ):
                return Look(doubted=True)
        if not self.run.samples:
            return Look()
        last_s = self.run.samples[-1].seconds if self._left_s is None else self._left_s
        end = self.run.end_before(last_s - BEFORE_LEAVING_S - stale_s)
        if end < FEWEST_LINES:
            return Look()
        look = self._after_step if self._stepped(end, division_g, noise, load_g) else self._all_of_it
        return replace(look(end, division_g, noise, load_g, lines_per_update), late_g=self._late_g(end))

    def _late_g(self, end: int) -> float | None:
        if self._taken_s is None:
            return None
        first = max(self.run.end_before(self._taken_s), self.run.first_of(NEWEST_S, end=end) or 0)
        return self.run.window(first, end=end).mean_g - self.level_g if end - first >= 2 else None

    def _after_step(self, end: int, division_g: float, noise: PanNoise, load_g: float, lines_per_update: float) -> Look:
        since_s = self.run.samples[end - 1].seconds - (self._taken_s or 0.0)
        lengths = [s for s in LONG_LOOKS_S if AFTER_STEP_S <= s < since_s]
        better = self._flat(lengths, end, division_g, noise, load_g, lines_per_update)
        return Look(doubted=True) if better is None else self._judged(better, AMENDED_DIVISIONS * division_g)

    def _all_of_it(self, end: int, division_g: float, noise: PanNoise, load_g: float, lines_per_update: float) -> Look:
        whole = self._plateau(0, end, noise)
        lengths = [whole.window.span_s, *(s for s in LONG_LOOKS_S if s < whole.window.span_s)]
        better = self._flat(lengths, end, division_g, noise, load_g, lines_per_update)
        if better is None:
            return self._newest(end, division_g=division_g, noise_g=noise.single_at(load_g))
        unbroken = self._taken_s is not None
        if better.window.span_s >= LONGER * self._span_s or (better.first == 0 and unbroken):
            return self._judged(better, AMENDED_DIVISIONS * division_g)
        error = hypot(noise.best_mean_at(better.window.span_s, load_g), self._uncertainty_g)
        clear_g = max(STEP_DIVISIONS * division_g, SHORTER_SD * error)
        if unbroken and abs(better.mean_g - self.level_g) <= clear_g:
            # no more than noise lies between both: all of it tells more than its last part
            return self._judged(whole, AMENDED_DIVISIONS * division_g)
        return self._judged(better, clear_g)

    def _judged(self, better: Plateau, allowed_g: float) -> Look:
        off = better.mean_g - self.level_g
        return Look(better, amends=not abs(off) <= allowed_g)

    def _plateau(self, first: int, end: int, noise: PanNoise) -> Plateau:
        return plateau_of(self.run, first, self.run.window(first, end=end), noise=noise, end=end)

    def _flat(
        self,
        lengths_s: list[float],
        end: int,
        division_g: float,
        noise: PanNoise,
        load_g: float,
        lines_per_update: float,
    ) -> Plateau | None:
        for seconds in lengths_s:
            first = self.run.first_of(seconds - SAME_S, end=end)
            if first is None or end - first < FEWEST_LINES:
                continue
            found = self._plateau(first, end, noise)
            if is_flat(
                found.window, division_g=division_g, noise=noise, load_g=load_g, lines_per_update=lines_per_update
            ):
                return found
        return None

    def _stepped(self, end: int, division_g: float, noise: PanNoise, load_g: float) -> bool:
        # what came after the tone lies beside what the tone was given for: a hand has let go
        if self._taken_s is None:
            return False
        first = self.run.end_before(self._taken_s)
        if end - first < 2:
            return False
        window = self.run.window(first, end=end)
        span_s = window.span_s * window.count / (window.count - 1)
        return abs(window.mean_g - self.level_g) > self._step_g(span_s, division_g, noise, load_g)

    def _step_g(self, span_s: float, division_g: float, noise: PanNoise, load_g: float) -> float:
        # the noise of means is learnt down to half a second; shorter ones scatter like fewer lines
        error = noise.best_mean_at(span_s, load_g) * sqrt(max(1.0, LEARNT_S / span_s))
        return max(STEP_DIVISIONS * division_g, STEP_SD * hypot(error, self._uncertainty_g))

    def _lay_elsewhere(
        self, until_s: float, *, update_s: float, division_g: float, noise: PanNoise, load_g: float
    ) -> bool:
        # away from the level, and calm there, before the lift can have begun: a hand has let go
        since_s = until_s - max(LAST_S, LAST_UPDATES * update_s)
        seen = [s for s in self._away if since_s <= s.seconds <= until_s]
        if len(seen) < FEWEST_LINES or seen[-1].seconds - seen[0].seconds < SHORTEST_LAST_S:
            return False
        grams = [s.grams for s in seen]
        off = abs(sum(grams) / len(grams) - self.level_g)
        widest = max(division_g, CALM_SD * noise.single_at(load_g), off / CLEARLY_BESIDE)
        return max(grams) - min(grams) <= widest and off > self._step_g(LAST_S, division_g, noise, load_g)

    def _newest(self, end: int, *, division_g: float, noise_g: float) -> Look:
        first = self.run.first_of(NEWEST_S, end=end)
        if first is None or end - first < 2:
            return Look()
        off = self.run.window(first, end=end).mean_g - self.level_g
        return Look(doubted=abs(off) > max(1.5 * division_g, 3.0 * noise_g))
