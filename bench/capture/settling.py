"""What to do with something that lies on the pan and is not taken yet: wait, take, ask, advise."""

from __future__ import annotations

from dataclasses import dataclass

from bench.capture.decisions import Expected
from bench.capture.family import Family
from bench.capture.samples import Sample
from bench.capture.scale_memory import ScaleMemory
from bench.capture.settings import WeighSettings
from bench.capture.settle import Plateau, flat_windows, lasting_scatter_g
from bench.capture.valuing import good_uncertainty_g, uncertainty_of
from bench.capture.visit import Visit
from bench.capture.windows import SampleRun

SWINGS_S = 2.0
SWINGS_HIDDEN_S = 0.6
ASKED_AGAIN_SHARE = 0.01
UNBLOCKED_SHARE = 0.02
HOPELESS_S = 2.0
LIGHT_G = 5.0
RESTLESS_S = 0.7
TOLD_DIVISIONS = 3.0
LATEST_WORD_S = 7.2
RESTLESS = "it does not come to rest: take the hands off, keep the bench still"
NOT_LONG_ENOUGH = "it does not stand still for long enough"
UNSURE_ZERO = "the zero is not sure: lift it and leave the pan empty for three seconds"


@dataclass(frozen=True, slots=True)
class Finding:
    """What a reading led to.

    Attributes
    ----------
    take : Plateau | None
        Take this.
    certain : bool
        Its uncertainty is good.
    question : str
        Ask this.
    choices : tuple[str, ...]
        Answers to it.
    withdraw : bool
        An open question has answered itself.
    advice : str
        Say this.
    """

    take: Plateau | None = None
    certain: bool = False
    question: str = ""
    choices: tuple[str, ...] = ()
    withdraw: bool = False
    advice: str = ""

    @property
    def says_nothing(self) -> bool:
        """Nothing is taken, asked or said."""
        return self.take is None and not self.question and not self.advice


NOTHING = Finding()


class Settling:
    """Judges a visit until its value is taken.

    Parameters
    ----------
    scale : ScaleMemory
        The running scale.
    settings : WeighSettings
        Times and limits.
    """

    def __init__(self, scale: ScaleMemory, settings: WeighSettings) -> None:
        self._scale = scale
        self._settings = settings
        self._noisy_key = ""

    def _flat(self, run: SampleRun, seconds: float, load_g: float, visit: Visit) -> list[Plateau]:
        return flat_windows(
            run,
            shortest_s=seconds,
            division_g=self._scale.division_g,
            noise=self._scale.noise,
            load_g=load_g,
            lines_per_update=self._scale.tails.lines_per_update,
            rough_g=visit.rough_g,
            line_s=1.0 / self._rate(run),
        )

    def _uncertainty(self, plateau: Plateau, load_g: float, seconds: float, *, with_noise: bool = True) -> float:
        return uncertainty_of(plateau, load_g=load_g, seconds=seconds, scale=self._scale, with_noise=with_noise)

    def judge(self, run: SampleRun, sample: Sample, visit: Visit, due: Expected, family: Family) -> Finding:
        """Take a reading of something that is not taken yet.

        Parameters
        ----------
        run : SampleRun
            Samples since the last hole or jump.
        sample : Sample
            The newest.
        visit : Visit
            The visit.
        due : Expected
            What is due.
        family : Family
            Its kin.

        Returns
        -------
        Finding
            What it led to.
        """
        found = self._judge(run, sample, visit, due, family)
        waited = sample.seconds - visit.since_s >= LATEST_WORD_S
        if waited and found.says_nothing and not visit.advised and visit.asked_g is None:
            return self._explain(visit, sample, NOT_LONG_ENOUGH, withdraw=found.withdraw)
        return found

    def _judge(self, run: SampleRun, sample: Sample, visit: Visit, due: Expected, family: Family) -> Finding:
        settings, scale = self._settings, self._scale
        load = sample.grams - scale.zero.grams
        shortest = max(
            settings.fits_s + scale.creep.longer_s,
            SWINGS_S + SWINGS_HIDDEN_S * scale.hides_a_hand(load) if due.swings else 0.0,
            3.0 * scale.tails.settling_s,
            2.0 * scale.tails.lines_per_update / max(1e-3, self._rate(run)),
        )
        flat = self._flat(run, shortest, load, visit)
        if not flat:
            self._learn_roughness(run, visit)
            if visit.flat_s is None or sample.seconds - visit.flat_s > RESTLESS_S:
                visit.calm_s = visit.best = None
            return self._explain(visit, sample, RESTLESS)
        visit.flat_s = sample.seconds
        if visit.calm_s is None:
            visit.calm_s = sample.seconds - shortest
        value = flat[0].mean_g - scale.zero.grams - visit.base_g
        held = self._held_back(visit, due, value, sample)
        if held is not None:
            return held
        if not family.fits(value):
            return self._not_of_the_family(run, visit, family, value)
        withdraw = visit.asked_g is not None
        visit.asked_g = None
        u = self._uncertainty(flat[0], load, sample.seconds)
        hidden = scale.hides_a_hand(load)
        proof_s = family.proof_s(value, uncertainty_g=u, settings=settings, hidden=hidden)
        need = max(shortest, visit.lowest_proof_s, proof_s)
        proven = flat if need <= shortest else self._flat(run, need, load, visit)
        if not proven:
            self._learn_roughness(run, visit)
            return self._explain(visit, sample, NOT_LONG_ENOUGH, withdraw=withdraw)
        if self._vetoed(sample, visit):
            return Finding(withdraw=withdraw)
        return self._take_if_good(sample, visit, due, proven, load, withdraw=withdraw)

    def _learn_roughness(self, run: SampleRun, visit: Visit) -> None:
        lasting = lasting_scatter_g(run, since_s=visit.since_s, lines_per_update=self._scale.tails.lines_per_update)
        visit.rough_g = max(visit.rough_g, lasting)

    def _held_back(self, visit: Visit, due: Expected, value: float, sample: Sample) -> Finding | None:
        if visit.too_soon:
            visit.must_lift = True
            return self._once(visit, f"{due.label} is due again: lift this one first")
        if visit.blocked_g is None:
            return None
        if abs(value - visit.blocked_g) <= UNBLOCKED_SHARE * abs(visit.blocked_g):
            visit.must_lift = True
            return self._explain(visit, sample, "lift it and lay it again")
        visit.blocked_g = None
        visit.must_lift = False
        return None

    @staticmethod
    def _rate(run: SampleRun) -> float:
        few = run.samples[-9:]
        span = few[-1].seconds - few[0].seconds
        return (len(few) - 1) / span if span > 0 else 10.0

    def _take_if_good(
        self, sample: Sample, visit: Visit, due: Expected, proven: list[Plateau], load: float, *, withdraw: bool
    ) -> Finding:
        settings, scale = self._settings, self._scale
        good = good_uncertainty_g(due, scale, settings)
        for plateau in proven:
            u = self._uncertainty(plateau, load, sample.seconds)
            if u <= good:
                return Finding(take=plateau, certain=True)
            if visit.best is None or u < visit.best[1]:
                visit.best = (plateau, u)
        best, u = visit.best or (proven[-1], 0.0)
        refused = max(settings.refused_divisions * scale.division_g, good)
        floor = self._uncertainty(best, load, sample.seconds, with_noise=False)
        calm = sample.seconds - (visit.calm_s or sample.seconds)
        if floor > refused:
            visit.must_lift = sample.seconds - visit.since_s >= settings.advice_s
            return self._explain(visit, sample, UNSURE_ZERO, withdraw=withdraw)
        long_enough = calm >= settings.patience_s or sample.seconds - visit.since_s >= settings.advice_s
        if long_enough or (floor > good and calm >= HOPELESS_S):
            # who was told to cover the pan and lays it again did what could be done
            told = due.key == self._noisy_key and "noisy" not in visit.advised
            if u <= (max(refused, TOLD_DIVISIONS * scale.division_g) if told else refused):
                return Finding(take=proven[-1])
            return self.too_noisy(visit, due, u)
        return Finding(withdraw=withdraw)

    def too_noisy(self, visit: Visit, due: Expected, uncertainty_g: float) -> Finding:
        """Return what to say of something that flickers too much to be taken.

        Parameters
        ----------
        visit : Visit
            The visit.
        due : Expected
            What is due.
        uncertainty_g : float
            Standard uncertainty of the best that was seen. [g]

        Returns
        -------
        Finding
            Advice; a question when it was laid again after that.
        """
        expected = due.nominal_g
        light = due.light or (expected is not None and expected < LIGHT_G)
        wide = f"{2 * uncertainty_g:.{self._scale.places + 1}f} g"
        what = f"weigh the {due.kind} together" if light else "keep the bench still"
        words = f"not steady (±{wide}): cover the pan, {what}"
        if "noisy" in visit.advised:
            return NOTHING
        visit.advised.add("noisy")
        if due.key != self._noisy_key:
            self._noisy_key = due.key
            return Finding(advice=words)
        return Finding(question=words, choices=("take", "again", "skip"))

    def _not_of_the_family(self, run: SampleRun, visit: Visit, family: Family, value: float) -> Finding:
        if value < self._scale.on_threshold_g(family.expected_g):
            return NOTHING  # a light part that has just left: nothing lies there to ask about
        before = visit.asked_g
        if before is not None and abs(value - before) <= max(
            ASKED_AGAIN_SHARE * abs(before), 5.0 * self._scale.division_g
        ):
            return NOTHING
        if not self._flat(run, self._settings.question_s, value, visit):
            return NOTHING
        visit.asked_g = value
        if self._scale.zero.suspect:
            visit.must_lift = True
            return Finding(advice=UNSURE_ZERO)
        return Finding(question=family.words(value, places=self._scale.places), choices=("take", "again", "skip"))

    def _vetoed(self, sample: Sample, visit: Visit) -> bool:
        if sample.steady is not False or not self._scale.word.believed:
            return False
        if visit.veto_s is None:
            visit.veto_s = sample.seconds
        return sample.seconds - visit.veto_s < self._settings.veto_s

    @staticmethod
    def _once(visit: Visit, words: str) -> Finding:
        if words in visit.advised:
            return NOTHING
        visit.advised.add(words)
        return Finding(advice=words)

    def _explain(self, visit: Visit, sample: Sample, words: str, *, withdraw: bool = False) -> Finding:
        if sample.seconds - visit.since_s < self._settings.advice_s or words in visit.advised:
            return Finding(withdraw=withdraw)
        visit.advised.add(words)
        return Finding(withdraw=withdraw, advice=words)
