"""The empty pan: its zero read with care, its noise learnt, shifts told from parts."""

from __future__ import annotations

from collections import deque
from enum import StrEnum

from bench.capture.samples import Sample
from bench.capture.scale_memory import ScaleMemory
from bench.capture.settle import is_flat, plateau_of
from bench.capture.windows import SampleRun, Window

HAND_S = 0.25
LOOK_S = 0.5
SHIFT_S = 1.0
GLIMPSE_S = 0.35
TAIL_SHARE = 0.4
TRUST_S = 0.75
SURE_SHIFT_S = 2.0
NEGATIVE_S = 0.4
SMALL_LOAD_S = 3.0
TARED_DIVISIONS = 20.0
AFTER_TAIL_S = 0.5
DEPENDENT = 1.1
LONGEST_LOOK_S = 4.0
STALE_LOOK_S = 0.75
STILL_DIVISIONS = 2.0


class PanEvent(StrEnum):
    """What a reading of the empty pan turned out to be."""

    QUIET = "quiet"
    LAID = "something was laid"
    LESS_THAN_NOTHING = "a load that was tared away has left"
    MOVED = "the zero moved"


class EmptyPan:
    """Follows the pan while nothing is on it.

    Parameters
    ----------
    scale : ScaleMemory
        The running scale; its zero and noise are learnt here.
    """

    def __init__(self, scale: ScaleMemory) -> None:
        self._scale = scale
        self.agreed = False
        self._above = 0
        self._below = 0
        self._above_since_s = 0.0
        self._from_s = 0.0
        self._looked_s = 0.0
        self._held: deque[tuple[float, float]] = deque()

    @property
    def laid_s(self) -> float:
        """Moment of the first reading above the threshold, in seconds."""
        return self._above_since_s

    def begin(self, seconds: float, *, after_part: bool) -> None:
        """Begin again: the pan has just been seen empty.

        Parameters
        ----------
        seconds : float
            Moment. [s]
        after_part : bool
            A part has just left: its tail may still be there.
        """
        self._above = 0
        self.agreed = False
        self._scale.zero.keep()
        wait = max(AFTER_TAIL_S, 4.0 * self._scale.tails.settling_s) if after_part else 0.0
        self._from_s = seconds + wait
        self._looked_s = seconds - (GLIMPSE_S if after_part else LOOK_S)
        self._held.clear()
        self._scale.noise.pause()

    def follow(self, sample: Sample, run: SampleRun, *, expected_g: float | None, interval_s: float) -> PanEvent:
        """Take a reading.

        Parameters
        ----------
        sample : Sample
            Reading.
        run : SampleRun
            It and what came before.
        expected_g : float | None
            Weight of what is due. [g]
        interval_s : float
            Usual time between lines. [s]

        Returns
        -------
        PanEvent
            What it was.
        """
        net = sample.grams - self._scale.zero.grams
        tared = net < -TARED_DIVISIONS * self._scale.division_g
        self._below = self._below + 1 if tared else 0
        if net > self._scale.on_threshold_g(expected_g):
            return self._more(sample, run)
        self._above = 0
        near = self._scale.near_zero_g(expected_g)
        if net < -near:
            return self._less(sample, run, tared=tared)
        if net > near:
            if self._still(run, SMALL_LOAD_S) is not None:
                return self._move(run, SHIFT_S, sample.seconds)
            return PanEvent.QUIET
        if sample.seconds >= self._from_s:
            self._held.append((sample.seconds, net))
            self._scale.word.at_rest(steady=sample.steady)
        while self._held and self._held[0][0] < sample.seconds - HAND_S:
            moment, residual = self._held.popleft()
            if not self._scale.zero.suspect:  # a shift of the zero is no noise
                self._scale.noise.learn_empty(residual, moment, interval_s)
        return self._look(sample, run)

    def _more(self, sample: Sample, run: SampleRun) -> PanEvent:
        scale = self._scale
        nought = 2.0 * scale.division_g
        far = abs(scale.zero.grams) > TARED_DIVISIONS * scale.division_g
        if far and abs(sample.grams) <= nought and len(run) >= 2 and abs(run.samples[-2].grams) <= nought:
            # back to nought in one line while the empty pan read otherwise: a key, nothing was laid
            scale.zero.set(sample.grams, uncertainty_g=scale.division_g, seconds=sample.seconds)
            scale.zero.suspect_now()
            self.begin(sample.seconds, after_part=False)
            return PanEvent.MOVED
        self._above += 1
        if self._above == 1:
            self._above_since_s = sample.seconds
            self._held.clear()
            scale.noise.pause()
        return PanEvent.LAID if self._above >= 2 else PanEvent.QUIET

    def _less(self, sample: Sample, run: SampleRun, *, tared: bool) -> PanEvent:
        self._held.clear()
        self._scale.noise.pause()
        if self._below >= 2 and not self._sent_twice(run):  # one line may be a damaged one
            self._scale.zero.suspect_now()
        if self._still(run, NEGATIVE_S if tared else SHIFT_S) is None:
            self.disagree(run)
            return PanEvent.QUIET
        self._move(run, NEGATIVE_S if tared else SHIFT_S, sample.seconds)
        if tared:
            self._scale.zero.suspect_now()
        return PanEvent.LESS_THAN_NOTHING if tared else PanEvent.MOVED

    def _sent_twice(self, run: SampleRun) -> bool:
        return self._below == 2 and len(run) >= 2 and run.samples[-1].grams == run.samples[-2].grams

    def disagree(self, run: SampleRun) -> None:
        """Note when the pan stands still at another level than the zero: too short for a new zero, enough for a doubt.

        Parameters
        ----------
        run : SampleRun
            Samples since the last hole or jump.
        """
        window = self._still(run, GLIMPSE_S)
        if window is None:
            return
        off = window.mean_g - self._scale.zero.grams
        if window.spread_g <= TAIL_SHARE * abs(off):  # else it may be the tail of a lift
            self._scale.zero.differs(off)

    def _still(self, run: SampleRun, seconds: float) -> Window | None:
        first = run.first_of(max(seconds, 2.0 * self._scale.tails.settling_s))
        if first is None or len(run) - first < 3:
            return None
        window = run.window(first)
        widest = max(STILL_DIVISIONS * self._scale.division_g, 5.0 * self._scale.noise.single_g)
        return window if window.spread_g <= widest else None

    def _move(self, run: SampleRun, seconds: float, now_s: float) -> PanEvent:
        window = self._still(run, seconds)
        if window is not None:
            noise = self._scale.noise.best_mean_at(seconds, 0.0)
            self._scale.zero.set(window.mean_g, uncertainty_g=DEPENDENT * noise, seconds=now_s)
            self._looked_s = now_s
        return PanEvent.MOVED

    def _look(self, sample: Sample, run: SampleRun) -> PanEvent:
        scale, zero = self._scale, self._scale.zero
        ended = sample.seconds - HAND_S
        length = ended - self._looked_s
        if length < max(LOOK_S, 2.0 * scale.tails.settling_s):
            return PanEvent.QUIET
        end = run.end_before(ended)
        first = run.first_of(length, end=end)
        if first is None or end - first < 3:
            return self._look_anew(ended, length)
        window = run.window(first, end=end)
        flat = is_flat(
            window,
            division_g=scale.division_g,
            noise=scale.noise,
            load_g=0.0,
            lines_per_update=scale.tails.lines_per_update,
        )
        if not flat:
            return self._look_anew(ended, length)
        mean = plateau_of(run, first, window, noise=scale.noise, end=end).mean_g
        error = DEPENDENT * scale.noise.best_mean_at(length, 0.0)
        if not zero.fits(mean, uncertainty_g=error, seconds=ended):
            zero.differs(mean - zero.grams)
            if window.span_s < TRUST_S:
                return PanEvent.QUIET
            off_g = mean - zero.grams
            zero.set(mean, uncertainty_g=error, seconds=ended)
            if window.span_s < SURE_SHIFT_S:
                zero.differs(off_g)  # a gust or a hand can last as long: the next look has to agree
            self._looked_s = ended
            return PanEvent.MOVED
        zero.observe(mean, uncertainty_g=error, seconds=ended)
        self.agreed = True
        if length >= TRUST_S:
            zero.trust()
        else:
            zero.agrees()
        if length >= LONGEST_LOOK_S:
            zero.keep()
            self._looked_s = ended
        return PanEvent.QUIET

    def _look_anew(self, ended: float, length: float) -> PanEvent:
        # what was seen so far is kept; a look that never became calm slides on
        if length >= STALE_LOOK_S:
            self._scale.zero.keep()
            self._looked_s = ended - LOOK_S
        return PanEvent.QUIET
