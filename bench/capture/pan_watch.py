"""Follows the pan through visits: zero unseen, empty, something on it, taken, left, changed."""

from __future__ import annotations

from bench.capture.after_taking import Change, Level, judge_level
from bench.capture.bobweight_machine import BobweightMachine
from bench.capture.decisions import Advised, Asked, Decision, Doubted, Expected, Lifted, PanCleared, Phase
from bench.capture.empty_pan import EmptyPan, PanEvent
from bench.capture.family import Family
from bench.capture.first_zero import FirstImpression
from bench.capture.samples import Sample
from bench.capture.scale_memory import ScaleMemory
from bench.capture.second_look import SecondLook
from bench.capture.settings import WeighSettings
from bench.capture.settle import Plateau, flat_windows, plateau_of
from bench.capture.settling import Settling
from bench.capture.valuing import too_uncertain, uncertainty_of, value_of
from bench.capture.visit import Laid, Visit
from bench.capture.windows import SampleRun

ZERO_CALM_S = 1.0
ZERO_REACH_DIVISIONS = 20.0
GONE_S = 0.35
GONE_LINES = 2
STRANGE_S = 1.3
TWO_S = 2.0
SWAP_S = 2.5
AFTER_HOLE_S = 6.0


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
        self._scale = scale
        self._run = run
        self._settings = settings
        self._empty = EmptyPan(scale)
        self._first = FirstImpression()
        self._settling = Settling(scale, settings)
        self._bobweight = BobweightMachine(steady_s=settings.bobweight_s)
        self.due: Expected | None = None
        self._family: Family | None = None
        self.visit: Visit | None = None
        self.asked: Asked | None = None
        self.phase = Phase.CLEAR_PAN
        self._interval_s = 0.1
        self._near_count = 0
        self._tail_open = False
        self._told_zero = False

    # -- what is due, and answers ------------------------------------------------------------------

    def expect(self, due: Expected | None) -> None:
        """Set what is due.

        Parameters
        ----------
        due : Expected or None
            What is due; None when nothing is.
        """
        self.due = due
        self._family = None if due is None else Family(due, division_g=self._scale.division_g)
        if self.asked is not None and self._scale.zero_seen:
            self.asked = None
        if self.visit is not None and self.visit.laid is None:
            self.visit.asked_g = None
            self.visit.calm_s = self.visit.best = None
            self.visit.advised.clear()

    def lose(self, at_ns: int) -> list[Decision]:
        """The link went: what lies there is unknown and the zero is unseen.

        Parameters
        ----------
        at_ns : int
            Moment. [ns]

        Returns
        -------
        list[Decision]
            The end of the look at what was taken.
        """
        laid = self.visit.laid if self.visit else None
        self.visit = None
        self.asked = None
        self._scale.zero_seen = False
        self._told_zero = False
        self._first.forget()
        self._scale.noise.pause()
        return [Lifted(at_ns, laid.taken.key)] if laid else []

    def interrupt(self) -> None:
        """Lines were missing: another part may lie there now."""
        self._scale.noise.pause()
        if self.visit is None:
            self._empty.begin(self._run.samples[-1].seconds if self._run.samples else 0.0, after_part=False)
        elif self.visit.laid is not None:
            self.visit.laid.interrupted = self.visit.laid.disturbed = True
        else:
            self.visit.calm_s = self.visit.best = None

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
        asked, self.asked = self.asked, None
        if choice == "clear":
            return self._declare_clear(at_ns)
        visit = self.visit
        if visit is None or asked is None:
            return []
        if choice == "take" and "take" in asked.choices and self._run.samples:
            return self._take_as_told(visit, at_ns)
        if visit.laid is not None:
            visit.laid.rest()
            visit.laid.interrupted = False
        elif self._run.samples:
            visit.blocked_g = self._net(self._run.samples[-1])
        return []

    def _declare_clear(self, at_ns: int) -> list[Decision]:
        laid = self.visit.laid if self.visit else None
        self.visit = None
        decisions: list[Decision] = [Lifted(at_ns, laid.taken.key)] if laid else []
        if not self._run.samples:
            self._scale.zero_seen = False
            self.phase = Phase.CLEAR_PAN
            return decisions
        last = self._run.samples[-1]
        first = self._run.first_of(GONE_S)
        level = last.grams if first is None else self._run.window(first).mean_g
        self._scale.zero.set(level, uncertainty_g=self._scale.division_g, seconds=last.seconds)
        self._scale.zero.suspect = True
        return [*decisions, *self._now_empty(last, after_part=False)]

    def _take_as_told(self, visit: Visit, at_ns: int) -> list[Decision]:
        shortest = max(self._settings.fits_s, 3.0 * self._scale.tails.settling_s)
        first = self._run.first_of(shortest)
        if first is None or self.due is None:
            return [Advised(at_ns, "not taken: it is not steady yet; take the hands off and answer again")]
        window = self._run.window(first)
        last = self._run.samples[-1]
        decisions: list[Decision] = []
        if visit.laid is not None:
            decisions = self._finish(visit.laid, at_ns)
            visit = self.visit = Visit(last.seconds)
        plateau = plateau_of(self._run, first, window, noise=self._scale.noise)
        return [*decisions, *self._take(visit, self.due, plateau, at_ns, certain=False)]

    # -- readings ----------------------------------------------------------------------------------

    def _net(self, sample: Sample) -> float:
        return sample.grams - self._scale.zero.grams

    @property
    def _expected_g(self) -> float | None:
        return self._family.expected_g if self._family else None

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
        self._interval_s = interval_s
        if not self._scale.zero_seen:
            return self._seek_zero(sample)
        if self.visit is None:
            return self._while_empty(sample)
        gone = self._gone(sample, self.visit)
        if gone is not None:
            return gone
        if self.visit.laid is not None:
            return self._while_laid(sample, self.visit, self.visit.laid)
        return self._while_settling(sample, self.visit)

    def _flat(self, seconds: float, load_g: float) -> list[Plateau]:
        return flat_windows(
            self._run,
            shortest_s=seconds,
            division_g=self._scale.division_g,
            noise=self._scale.noise,
            load_g=load_g,
            lines_per_update=self._scale.tails.lines_per_update,
        )

    def _seek_zero(self, sample: Sample) -> list[Decision]:
        self.phase = Phase.ASKING if self.asked else Phase.CLEAR_PAN
        reach = ZERO_REACH_DIVISIONS * self._scale.division_g
        if self._expected_g is not None:
            reach = min(reach, max(0.45 * self._expected_g, 3.0 * self._scale.division_g))
        flat = self._flat(ZERO_CALM_S, 0.0)
        if not flat:
            noise = self._first.noise_g(sample, reach_g=reach, division_g=self._scale.division_g)
            if noise is not None and noise > self._scale.noise.single_g:
                self._scale.noise.suppose(noise)
            return []
        level = flat[0].mean_g
        if abs(level) <= reach or (self._told_zero and abs(level - self._scale.zero.grams) <= reach):
            error = self._scale.noise.best_mean_at(ZERO_CALM_S, 0.0)
            self._scale.zero.set(level, uncertainty_g=error, seconds=sample.seconds)
            self._scale.zero_seen = True
            return self._now_empty(sample, after_part=False)
        if self.asked is None:
            words = (
                f"the scale shows {sample.shown} {self._scale.unit} and has not been seen empty: "
                "clear the pan, or say that it is clear"
            )
            return self._ask(sample.at_ns, words, "clear")
        return []

    def _now_empty(self, sample: Sample, *, after_part: bool) -> list[Decision]:
        self._scale.zero_seen = self._told_zero = True
        self.visit = None
        self.asked = None
        self.phase = Phase.EMPTY
        self._near_count = 0
        self._empty.begin(sample.seconds, after_part=after_part)
        return [PanCleared(sample.at_ns)]

    def _while_empty(self, sample: Sample) -> list[Decision]:
        self.phase = Phase.EMPTY
        event = self._empty.follow(sample, self._run, expected_g=self._expected_g, interval_s=self._interval_s)
        if event is PanEvent.LAID:
            self.visit = Visit(self._empty.laid_s)
            self._near_count = 0
            self._tail_open = False
            return self._while_settling(sample, self.visit)
        if event is PanEvent.LESS_THAN_NOTHING:
            words = f"the empty pan now reads {sample.shown} {self._scale.unit}: weighing goes on from there"
            return [Advised(sample.at_ns, words)]
        return []

    def _gone(self, sample: Sample, visit: Visit) -> list[Decision] | None:
        net = self._net(sample)
        laid = visit.laid
        weight = laid.weight_g if laid else max(visit.highest_g, 0.0)
        near = self._scale.near_zero_g(laid.weight_g if laid else self._expected_g)
        if net < 0.5 * weight:
            if not self._tail_open:
                self._tail_open = True
                self._scale.tails.begin()
            self._scale.tails.follow(sample.seconds, net)
            if laid is not None and laid.half_off_s is None:
                laid.half_off_s = sample.seconds
        else:
            self._tail_open = False
            if laid is not None:
                laid.half_off_s = None if not laid.disturbed else laid.half_off_s
        if abs(net) > near:
            self._near_count = 0
            return None
        self._near_count += 1
        calm = self._run.first_of(GONE_S)
        long_off = (
            laid is not None
            and laid.half_off_s is not None
            and (sample.seconds - laid.half_off_s >= self._settings.off_s)
        )
        window = self._run.window(calm) if calm is not None else None
        settled = window is not None and self._near_count >= window.count and window.count >= GONE_LINES
        if not settled and not (long_off and self._near_count >= GONE_LINES):
            return None
        floor = max(1.2 * self._scale.division_g, 4.0 * self._scale.noise.single_g)
        self._scale.tails.end(floor_g=floor, interval_s=self._interval_s)
        self._tail_open = False
        decisions = self._finish(laid, sample.at_ns) if laid else []
        return [*decisions, *self._now_empty(sample, after_part=True)]

    # -- settling ----------------------------------------------------------------------------------

    def _while_settling(self, sample: Sample, visit: Visit) -> list[Decision]:
        visit.highest_g = max(visit.highest_g, self._net(sample))
        self.phase = Phase.ASKING if self.asked else Phase.SETTLING
        due, family = self.due, self._family
        if due is None or family is None:
            return []
        if due.target_g is not None:
            ready = self._bobweight.ready(
                self._run, due, zero_g=self._scale.zero.grams, division_g=self._scale.division_g
            )
            if ready is None:
                return []
            plateau = plateau_of(self._run, ready[0], ready[1], noise=self._scale.noise)
            return self._take(visit, due, plateau, sample.at_ns, certain=True)
        found = self._settling.judge(self._run, sample, visit, due, family)
        if found.take is not None:
            return self._take(visit, due, found.take, sample.at_ns, certain=found.certain)
        if found.withdraw and self.asked is not None:
            self.asked = None
            self.phase = Phase.SETTLING
        if found.question:
            return self._ask(sample.at_ns, found.question, *found.choices)
        return [Advised(sample.at_ns, found.advice)] if found.advice else []

    def _take(self, visit: Visit, due: Expected, plateau: Plateau, at_ns: int, *, certain: bool) -> list[Decision]:
        base = self._scale.zero.grams + visit.base_g
        load = plateau.mean_g - self._scale.zero.grams
        seconds = at_ns / 1e9
        u = uncertainty_of(plateau, load_g=load, seconds=seconds, scale=self._scale)
        doubtful = (not certain) or too_uncertain(u, due, self._scale, self._settings)
        taken = value_of(
            self._run,
            plateau,
            at_ns=at_ns,
            key=due.key,
            base_g=base,
            scale=self._scale,
            uncertainty_g=u,
            doubtful=doubtful,
        )
        noise = self._scale.noise.single_at(load)
        error = self._scale.noise.best_mean_at(plateau.window.span_s, load)
        look = SecondLook(plateau.mean_g, uncertainty_g=error, span_s=plateau.window.span_s)
        for one in self._run.samples[plateau.first :]:
            look.see(one)
        tolerance = max(2.0 * self._scale.division_g, 3.0 * u, 4.0 * noise)
        visit.laid = Laid(taken, load, tolerance, look, load, load)
        self.asked = None
        self.phase = Phase.TAKEN
        return [taken]

    # -- after taking ------------------------------------------------------------------------------

    def _while_laid(self, sample: Sample, visit: Visit, laid: Laid) -> list[Decision]:
        self.phase = Phase.ASKING if self.asked else Phase.TAKEN
        net = self._net(sample)
        if abs(net - laid.weight_g) <= laid.tolerance_g and not laid.disturbed:
            laid.look.see(sample)
            return []
        if not laid.disturbed:
            laid.disturbed = True
            laid.lowest_g, laid.highest_g = laid.weight_g, laid.weight_g
            laid.look.leaves(sample.seconds)
        laid.lowest_g = min(laid.lowest_g, net)
        laid.highest_g = max(laid.highest_g, net)
        flat = self._flat(max(self._settings.fits_s, 3.0 * self._scale.tails.settling_s), laid.weight_g)
        if not flat:
            return []
        level = flat[0].mean_g - self._scale.zero.grams
        fits = self._family is not None and self._family.fits(level)
        lowest = -1e9 if laid.interrupted else laid.lowest_g
        change = judge_level(
            Level(
                taken_g=laid.weight_g,
                now_g=level,
                lowest_g=lowest,
                highest_g=laid.highest_g,
                tolerance_g=laid.tolerance_g,
                threshold_g=self._scale.on_threshold_g(self._expected_g),
                fits_next=fits,
            )
        )
        return self._act(change, sample, visit, laid, flat[0])

    def _act(self, change: Change, sample: Sample, visit: Visit, laid: Laid, flat: Plateau) -> list[Decision]:
        level = flat.mean_g - self._scale.zero.grams
        if change is Change.TOUCHED:
            laid.rest()
            laid.look.see(sample)
            return []
        if change is Change.SHIFTED:
            # a hand has let go: the same part, seen better; the second look decides at the end
            laid.weight_g = level
            laid.rest()
            for one in self._run.samples[flat.first :]:
                laid.look.see(one)
            return []
        if change is Change.SWAPPED and self._flat(SWAP_S, level):
            decisions = self._finish(laid, sample.at_ns)
            self.visit = Visit(sample.seconds - SWAP_S, lowest_proof_s=SWAP_S)
            return [*decisions, *self._while_settling(sample, self.visit)]
        if change is Change.ADDED and self.due is not None and self.due.stacked:
            decisions = self._finish(laid, sample.at_ns)
            base = laid.look.level_g - self._scale.zero.grams
            self.visit = Visit(sample.seconds - self._settings.fits_s, base_g=base)
            return [*decisions, *self._while_settling(sample, self.visit)]
        return self._puzzle(change, sample, visit, laid)

    def _puzzle(self, change: Change, sample: Sample, visit: Visit, laid: Laid) -> list[Decision]:
        if laid.strange_s is None:
            laid.strange_s = sample.seconds
        waited = sample.seconds - laid.strange_s
        if change is Change.ADDED:
            return self._advise(visit, sample, "two parts lie on the pan: take one off") if waited >= TWO_S else []
        if self.due is None or change is Change.SWAPPED or self.asked is not None:
            return []
        if waited < (AFTER_HOLE_S if laid.interrupted else STRANGE_S):
            return []
        name = laid.taken.key
        if change is Change.SAME_AGAIN:
            words = f"the same weight as {name} again: is it {self.due.label}, or {name} laid back?"
        else:
            words = f"what lies there is neither {name} nor like {self.due.label}: take it for {self.due.label}?"
        return self._ask(sample.at_ns, words, "take", "again")

    def _finish(self, laid: Laid, at_ns: int) -> list[Decision]:
        key = laid.taken.key
        if laid.interrupted:
            return [Lifted(at_ns, key)]
        look = laid.look.found(
            half_off_s=laid.half_off_s,
            division_g=self._scale.division_g,
            noise=self._scale.noise,
            load_g=laid.weight_g,
            lines_per_update=self._scale.tails.lines_per_update,
            interval_s=self._interval_s,
        )
        if look.doubted:
            return [Doubted(at_ns, key, f"it did not stand still at {laid.taken.grams} g while it lay there")]
        if look.plateau is not None:
            self._scale.noise.learn_load(laid.weight_g, look.plateau.window.scatter_g)
        if look.plateau is None or not look.amends:
            return [Lifted(at_ns, key)]
        base = laid.look.level_g - laid.taken.refined_g
        better = look.plateau
        u = uncertainty_of(better, load_g=laid.weight_g, seconds=at_ns / 1e9, scale=self._scale)
        final = value_of(
            laid.look.run,
            better,
            at_ns=at_ns,
            key=key,
            base_g=base,
            scale=self._scale,
            uncertainty_g=u,
            doubtful=laid.taken.doubtful,
            end=look.end,
        )
        return [Lifted(at_ns, key, final)]

    # -- words -------------------------------------------------------------------------------------

    def _ask(self, at_ns: int, question: str, *choices: str) -> list[Decision]:
        self.asked = Asked(at_ns, self.due.key if self.due else "", question, choices)
        self.phase = Phase.ASKING
        return [self.asked]

    @staticmethod
    def _advise(visit: Visit, sample: Sample, words: str) -> list[Decision]:
        if words in visit.advised:
            return []
        visit.advised.add(words)
        return [Advised(sample.at_ns, words)]
