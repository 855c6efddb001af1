"""Follows the pan through visits: zero unseen, empty, something on it, taken, left, changed."""

from __future__ import annotations

from math import log

from bench.capture.decisions import Advised, Decision, Expected, Lifted, Phase
from bench.capture.empty_pan import PanEvent
from bench.capture.family import Family
from bench.capture.pan_state import PanState
from bench.capture.samples import Sample
from bench.capture.scale_memory import ScaleMemory
from bench.capture.settings import WeighSettings
from bench.capture.settle import plateau_of
from bench.capture.settling import LIGHT_G
from bench.capture.still_lying import finish, while_laid
from bench.capture.unsettled import ZERO_REACH_DIVISIONS, take, while_settling
from bench.capture.visit import Visit
from bench.capture.windows import SampleRun

ZERO_CALM_S = 1.0
GONE_S = 0.45
GONE_LINES = 2
HEARD_S = 1.5
UNSEEN_S = 6.0
WAITED_S = 2.0
SWIFT_S = 0.8
SWIFT_LINES = 0.5


class PanWatch:
    """Decides what every reading means for what lies on the pan.

    Parameters
    ----------
    scale : ScaleMemory
        The running scale.
    run : SampleRun
        Samples since the last hole or jump; filled by the caller.
    settings : WeighSettings
        Times and limits.
    """

    def __init__(self, scale: ScaleMemory, run: SampleRun, settings: WeighSettings) -> None:
        self._pan = PanState(scale, run, settings)

    @property
    def phase(self) -> Phase:
        """Where the placement is; what only an empty pan helps is told as such."""
        visit = self._pan.visit
        waiting = self._pan.phase is Phase.SETTLING and visit is not None and visit.laid is None
        return Phase.CLEAR_PAN if waiting and visit is not None and visit.must_lift else self._pan.phase

    @property
    def visit(self) -> Visit | None:
        """What lies on the pan."""
        return self._pan.visit

    def calm_net_g(self, net_g: float) -> float:
        """Return what lies on the pan as a person reads it off a display that flickers.

        Parameters
        ----------
        net_g : float
            The newest reading less the zero. [g]

        Returns
        -------
        float
            The middle of the last two seconds; the newest while it moves or the pan is empty. [g]
        """
        pan = self._pan
        if pan.visit is None or pan.visit.laid is not None:
            return net_g
        level = pan.bobweight.level_g(pan.run, scale=pan.scale)
        return net_g if level is None else level - pan.scale.zero.grams

    def expect(self, due: Expected | None) -> None:
        """Set what is due.

        Parameters
        ----------
        due : Expected | None
            What is due; None when nothing is.
        """
        self._pan.due = due
        self._pan.family = None if due is None else Family(due, division_g=self._pan.scale.division_g)
        if self._pan.asked is not None and self._pan.scale.zero_seen:
            self._pan.asked = None
        if self._pan.visit is not None and self._pan.visit.laid is None:
            self._pan.visit.asked_g = None
            self._pan.visit.calm_s = self._pan.visit.best = None
            self._pan.visit.must_lift = False
            self._pan.visit.advised.clear()

    def lose(self, at_ns: int) -> list[Decision]:
        """Note that the link went: what lies there is unknown and the zero is unseen.

        Parameters
        ----------
        at_ns : int
            Moment. [ns]

        Returns
        -------
        list[Decision]
            The end of the look at what was taken.
        """
        laid = self._pan.visit.laid if self._pan.visit else None
        self._pan.visit = None
        self._pan.asked = None
        self._pan.unconfirmed.clear()
        self._pan.scale.zero_seen = False
        self._pan.told_zero = False
        self._pan.told_to_clear = False
        self._pan.first.forget()
        self._pan.scale.noise.pause()
        return [Lifted(at_ns, laid.taken.key)] if laid else []

    def interrupt(self, seconds: float) -> None:
        """Note that lines were missing: another part may lie there now.

        Parameters
        ----------
        seconds : float
            Moment of the first line after them. [s]
        """
        if self._pan.doubted_s is not None:
            self._pan.doubted_s = seconds  # what is seen next may have been laid before anyone heard of the doubt
        self._pan.scale.noise.pause()
        self._pan.keys.forget()
        if self._pan.visit is None:
            self._pan.empty.begin(seconds, after_part=False)
        elif self._pan.visit.laid is not None:
            laid = self._pan.visit.laid
            laid.look_cut = laid.look_cut or laid.half_off_s is None  # on its way off it has been seen to the end
            laid.interrupted = laid.disturbed = True
        else:
            self._pan.visit.calm_s = self._pan.visit.best = None

    def answer(self, choice: str, at_ns: int) -> list[Decision]:
        """Take a person's answer.

        Parameters
        ----------
        choice : str
            "take", "again", "skip" or "clear".
        at_ns : int
            Moment. [ns]

        Returns
        -------
        list[Decision]
            What follows.
        """
        asked, self._pan.asked = self._pan.asked, None
        if choice == "clear":
            return self._declare_clear(at_ns)
        visit = self._pan.visit
        if visit is None or asked is None:
            return []
        if choice == "take" and "take" in asked.choices and self._pan.run.samples:
            return self._take_as_told(visit, at_ns)
        if visit.laid is not None:
            visit.laid.rest()
            visit.laid.interrupted = False
        elif self._pan.run.samples:
            visit.blocked_g = self._pan.net(self._pan.run.samples[-1])
        return []

    def _declare_clear(self, at_ns: int) -> list[Decision]:
        laid = self._pan.visit.laid if self._pan.visit else None
        self._pan.visit = None
        decisions: list[Decision] = [Lifted(at_ns, laid.taken.key)] if laid else []
        self._pan.unconfirmed.clear()
        if not self._pan.run.samples:
            self._pan.scale.zero_seen = False
            self._pan.phase = Phase.CLEAR_PAN
            return decisions
        last = self._pan.run.samples[-1]
        first = self._pan.run.first_of(GONE_S)
        level = last.grams if first is None else self._pan.run.window(first).mean_g
        self._pan.scale.zero.set(level, uncertainty_g=self._pan.scale.division_g, seconds=last.seconds)
        self._pan.scale.zero.suspect_now()
        return [*decisions, *self._pan.now_empty(last, after_part=False)]

    def _take_as_told(self, visit: Visit, at_ns: int) -> list[Decision]:
        shortest = max(self._pan.settings.fits_s, 3.0 * self._pan.scale.tails.settling_s)
        first = self._pan.run.first_of(shortest)
        if first is None or self._pan.due is None:
            return [Advised(at_ns, "not taken: it is not steady yet; take the hands off and answer again")]
        window = self._pan.run.window(first)
        plateau = plateau_of(self._pan.run, first, window, noise=self._pan.scale.noise)
        flat = self._pan.flat(shortest, window.mean_g - self._pan.scale.zero.grams)
        if flat:  # a noisy value is best taken from all that was calm
            plateau = flat[-1]
            window = plateau.window
        net = window.mean_g - self._pan.scale.zero.grams
        if not net > self._pan.scale.on_threshold_g(self._pan.expected_g):
            return [Advised(at_ns, f"not taken: {net:.1f} g is no weight; lift it and leave the pan empty")]
        last = self._pan.run.samples[-1]
        decisions: list[Decision] = []
        if visit.laid is not None:
            decisions = finish(self._pan, visit.laid, at_ns)
            visit = self._pan.visit = Visit(last.seconds)
        return [*decisions, *take(self._pan, visit, self._pan.due, plateau, at_ns, certain=False)]

    def step(self, sample: Sample, interval_s: float) -> list[Decision]:
        """Take a reading that the filter let through.

        Parameters
        ----------
        sample : Sample
            The newest of the run.
        interval_s : float
            Usual time between lines. [s]

        Returns
        -------
        list[Decision]
            What follows.
        """
        self._pan.interval_s = interval_s
        self._pan.scale.zero.go_on(sample.seconds)
        self._pan.scale.tails.see(sample.seconds, sample.grams, division_g=self._pan.scale.division_g)
        if not self._pan.scale.zero_seen:
            return self._seek_zero(sample)
        if self._pan.visit is None:
            return self._while_empty(sample)
        self._follow_keys(sample, self._pan.visit)
        gone = self._gone(sample, self._pan.visit)
        if gone is not None:
            return gone
        if self._pan.visit.laid is not None:
            return while_laid(self._pan, sample, self._pan.visit.laid)
        return while_settling(self._pan, sample, self._pan.visit)

    def _follow_keys(self, sample: Sample, visit: Visit) -> None:
        scale = self._pan.scale
        load = self._pan.net(sample)
        decay = log(max(2.0, abs(load) / scale.division_g)) if load > 0 else 0.0
        decay = max(decay, log(max(2.0, visit.highest_g / scale.division_g)))
        lift_s = scale.tails.settling_s * decay if scale.tails.learnt else 0.0
        before = self._pan.keys.jumped_from(
            sample,
            division_g=scale.division_g,
            noise_g=scale.noise.single_at(visit.highest_g),
            zero_g=scale.zero.grams,
            load_g=visit.laid.weight_g if visit.laid else visit.highest_plateau_g,
            lift_s=lift_s,
            lines_per_update=scale.tails.lines_per_update,
        )
        if before is None:
            return
        if visit.laid is not None and abs(before - scale.zero.grams - visit.laid.weight_g) > visit.laid.reach_g:
            return  # it was on its way already: a lift, not a key
        self._pan.keys.forget()
        moved = sample.grams - before
        scale.zero.set(scale.zero.grams + moved, uncertainty_g=scale.division_g, seconds=sample.seconds)
        scale.zero.suspect_now()
        if visit.laid is None:
            return
        if visit.laid.left:
            # what lies there now may be the next part, still moving: neither it nor a zero that a key has moved since
            # tells anything about what was taken before
            visit.laid.look_cut = True
            self._pan.unconfirmed.clear()
            return
        visit.laid.look.shift(moved)
        visit.laid.rest()

    def _seek_zero(self, sample: Sample) -> list[Decision]:
        self._pan.phase = Phase.ASKING if self._pan.asked else Phase.CLEAR_PAN
        reach = ZERO_REACH_DIVISIONS * self._pan.scale.division_g
        if self._pan.expected_g is not None:
            reach = min(reach, max(0.45 * self._pan.expected_g, 3.0 * self._pan.scale.division_g))
        flat = self._pan.flat(ZERO_CALM_S, 0.0)
        if not flat:
            noise = self._pan.first.noise_g(sample, reach_g=reach, division_g=self._pan.scale.division_g)
            if noise is not None and noise > self._pan.scale.noise.single_g:
                self._pan.scale.noise.suppose(noise)
            return []
        level = flat[0].mean_g
        if abs(level) <= reach or (self._pan.told_zero and abs(level - self._pan.scale.zero.grams) <= reach):
            error = self._pan.scale.noise.best_mean_at(ZERO_CALM_S, 0.0)
            self._pan.scale.zero.set(level, uncertainty_g=error, seconds=sample.seconds)
            self._pan.scale.zero_seen = True
            return self._pan.now_empty(sample, after_part=False)
        words = "clear the pan: it must be seen empty once before anything is taken"
        if not self._pan.told_to_clear:
            self._pan.told_to_clear = True
            self._pan.unseen_s = sample.seconds
            return [Advised(sample.at_ns, words)]
        if self._pan.asked is None and sample.seconds - self._pan.unseen_s >= UNSEEN_S:
            words = (
                f"the scale shows {sample.shown} {self._pan.scale.unit} and has not been seen empty: "
                "clear the pan, or say that it is clear"
            )
            return self._pan.ask(sample.at_ns, words, "clear")
        return []

    def _while_empty(self, sample: Sample) -> list[Decision]:
        self._pan.phase = Phase.EMPTY
        before = self._pan.scale.zero.grams
        event = self._pan.empty.follow(
            sample, self._pan.run, expected_g=self._pan.expected_g, interval_s=self._pan.interval_s
        )
        if event is PanEvent.LAID:
            begun = self._pan.empty.laid_s
            soon = self._pan.doubted_s is not None and begun - self._pan.doubted_s < HEARD_S
            self._pan.visit = Visit(begun, too_soon=soon)
            swift = begun - self._pan.left_s < SWIFT_S + SWIFT_LINES * self._pan.interval_s
            self._pan.visit.perhaps = self._pan.left if swift else None
            self._pan.doubted_s = None
            self._pan.near_count = 0
            self._pan.tail_open = False
            return while_settling(self._pan, sample, self._pan.visit)
        if self._pan.empty.agreed:
            self._pan.unconfirmed.clear()
        news = self._hidden(sample)
        if event in {PanEvent.MOVED, PanEvent.LESS_THAN_NOTHING}:
            news += self._pan.zero_moved(self._pan.scale.zero.grams - before, sample.at_ns)
        if event is PanEvent.LESS_THAN_NOTHING:
            words = f"the empty pan now reads {sample.shown} {self._pan.scale.unit}: weighing goes on from there"
            return [*news, Advised(sample.at_ns, words)]
        return news

    def _hidden(self, sample: Sample) -> list[Decision]:
        pan, due = self._pan, self._pan.due
        if due is None or due.key == pan.told_hidden or sample.seconds - pan.empty_s < WAITED_S:
            return []
        about = pan.about_g
        if about is None or not pan.scale.hides(about):
            return []
        pan.told_hidden = due.key
        what = f"weigh the {due.kind} together" if due.light or about < LIGHT_G else "keep the bench still"
        grams = f"about {about:.{0 if about >= LIGHT_G else 1}f} g"
        words = f"not steady: {due.label} ({grams}) is hardly more than the pan shakes by"
        return [Advised(sample.at_ns, f"{words}: cover the pan, {what}")]

    def _gone(self, sample: Sample, visit: Visit) -> list[Decision] | None:
        net = self._pan.net(sample)
        laid = visit.laid
        weight = laid.weight_g if laid else max(visit.highest_g, 0.0)
        near = self._pan.scale.near_zero_g(laid.weight_g if laid else self._pan.about_g)
        if net < 0.5 * weight:
            if not self._pan.tail_open:
                self._pan.tail_open = True
                self._pan.scale.tails.begin()
            self._pan.scale.tails.follow(sample.seconds, net)
            if laid is not None and laid.half_off_s is None:
                laid.half_off_s = sample.seconds
                laid.first_half_s = laid.first_half_s or sample.seconds
        else:
            self._pan.tail_open = False
            if laid is not None and laid.half_off_s is not None:
                laid.longest_off_s = max(laid.longest_off_s, sample.seconds - laid.half_off_s)
                laid.half_off_s = None
        if abs(net) > near:
            self._pan.near_count = 0
            return None
        self._pan.near_count += 1
        calm = self._pan.run.first_of(GONE_S)
        long_off = (
            laid is not None
            and laid.half_off_s is not None
            and (sample.seconds - laid.half_off_s >= self._pan.settings.off_s)
        )
        window = self._pan.run.window(calm) if calm is not None else None
        settled = window is not None and self._pan.near_count >= window.count and window.count >= GONE_LINES
        if not settled and not (long_off and self._pan.near_count >= GONE_LINES):
            return None
        floor = max(1.2 * self._pan.scale.division_g, 4.0 * self._pan.scale.noise.single_g)
        self._pan.scale.tails.end(floor_g=floor, interval_s=self._pan.interval_s)
        self._pan.tail_open = False
        decisions = finish(self._pan, laid, sample.at_ns) if laid else []
        self._pan.left = laid
        self._pan.left_s = laid.half_off_s if laid is not None and laid.half_off_s is not None else sample.seconds
        return [*decisions, *self._pan.now_empty(sample, after_part=True)]
