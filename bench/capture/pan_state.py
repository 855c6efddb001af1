"""What is known of the pan and of the job, shared by the parts that watch it."""

from __future__ import annotations

from bench.capture.bobweight_machine import BobweightMachine
from bench.capture.decisions import Advised, Asked, Decision, Doubted, Expected, PanCleared, Phase
from bench.capture.empty_pan import EmptyPan
from bench.capture.family import Family
from bench.capture.first_zero import FirstImpression
from bench.capture.keys import KeyWatch
from bench.capture.samples import Sample
from bench.capture.scale_memory import ScaleMemory
from bench.capture.settings import WeighSettings
from bench.capture.settle import Plateau, flat_windows
from bench.capture.settling import Settling
from bench.capture.twice import TwiceHung
from bench.capture.visit import Laid, Visit
from bench.capture.windows import SampleRun

SHIFTED_DIVISIONS = 2.5
FEW_G = 1.5


class PanState:
    """The scale, the visit, what is due and what was asked.

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
        self.scale = scale
        self.run = run
        self.settings = settings
        self.empty = EmptyPan(scale)
        self.first = FirstImpression()
        self.keys = KeyWatch()
        self.settling = Settling(scale, settings)
        self.twice = TwiceHung()
        self.bobweight = BobweightMachine(steady_s=settings.bobweight_s)
        self.due: Expected | None = None
        self.family: Family | None = None
        self.visit: Visit | None = None
        self.asked: Asked | None = None
        self.phase = Phase.CLEAR_PAN
        self.interval_s = 0.1
        self.near_count = 0
        self.tail_open = False
        self.told_zero = False
        self.told_to_clear = False
        self.unseen_s = 0.0
        self.empty_s = 0.0
        self.told_hidden = ""
        self.doubted_s: float | None = None
        self.unconfirmed: list[str] = []
        self.left: Laid | None = None
        self.left_s = 0.0

    @property
    def expected_g(self) -> float | None:
        """Weight of what is due, in grams; None when nothing is known of it."""
        return self.family.expected_g if self.family else None

    @property
    def about_g(self) -> float | None:
        """The same, and a guess for light things of which nothing is known yet, in grams."""
        return self.expected_g or (FEW_G if self.due is not None and self.due.light else None)

    def net(self, sample: Sample) -> float:
        """Return a reading less the zero.

        Parameters
        ----------
        sample : Sample
            Reading.

        Returns
        -------
        float
            Load. [g]
        """
        return sample.grams - self.scale.zero.grams

    def flat(self, seconds: float, load_g: float) -> list[Plateau]:
        """Return the trailing windows of at least some length that are flat.

        Parameters
        ----------
        seconds : float
            Shortest length. [s]
        load_g : float
            Load. [g]

        Returns
        -------
        list[Plateau]
            Shortest first.
        """
        return flat_windows(
            self.run,
            shortest_s=seconds,
            division_g=self.scale.division_g,
            noise=self.scale.noise,
            load_g=load_g,
            lines_per_update=self.scale.tails.lines_per_update,
        )

    def zero_moved(self, shift_g: float, at_ns: int) -> list[Decision]:
        """Doubt what was taken since the zero was last seen, when the pan turns out to read otherwise.

        Parameters
        ----------
        shift_g : float
            Zero now less the zero that the values rest on. [g]
        at_ns : int
            Moment. [ns]

        Returns
        -------
        list[Decision]
            A doubt for each value that may be wrong.
        """
        keys, self.unconfirmed = self.unconfirmed, []
        if abs(shift_g) <= SHIFTED_DIVISIONS * self.scale.division_g or not keys:
            return []
        self.doubted_s = at_ns / 1e9
        words = f"the empty pan reads {shift_g:+.{self.scale.places}f} g against before, so the zero was wrong"
        return [Doubted(at_ns, key, words) for key in keys]

    def now_empty(self, sample: Sample, *, after_part: bool) -> list[Decision]:
        """Note that the pan was seen empty.

        Parameters
        ----------
        sample : Sample
            Reading that showed it.
        after_part : bool
            A part has just left.

        Returns
        -------
        list[Decision]
            The news.
        """
        self.scale.zero_seen = self.told_zero = True
        self.visit = None
        self.asked = None
        self.phase = Phase.EMPTY
        self.near_count = 0
        self.empty_s = sample.seconds
        self.empty.begin(sample.seconds, after_part=after_part)
        return [PanCleared(sample.at_ns)]

    def ask(self, at_ns: int, question: str, *choices: str) -> list[Decision]:
        """Hold and ask.

        Parameters
        ----------
        at_ns : int
            Moment. [ns]
        question : str
            One sentence.
        *choices : str
            Keys of answers.

        Returns
        -------
        list[Decision]
            The question.
        """
        self.asked = Asked(at_ns, self.due.key if self.due else "", question, choices)
        self.phase = Phase.ASKING
        return [self.asked]

    def advise(self, visit: Visit | None, sample: Sample, words: str) -> list[Decision]:
        """Say something once during a visit.

        Parameters
        ----------
        visit : Visit | None
            The visit.
        sample : Sample
            Newest reading.
        words : str
            One sentence.

        Returns
        -------
        list[Decision]
            Nothing when it was said already.
        """
        if visit is None or words in visit.advised:
            return []
        visit.advised.add(words)
        return [Advised(sample.at_ns, words)]
