"""The weigh machine: empty pan, part on, settled, taken, lifted, next."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import sqrt

from bench.capture.bobweight_machine import BobweightMachine
from bench.capture.decisions import (
    Advised,
    Asked,
    Decision,
    Expected,
    Lifted,
    Live,
    PanCleared,
    Phase,
    ScaleBack,
    ScaleLost,
    Taken,
)
from bench.capture.samples import Sample, SampleFilter
from bench.capture.settings import WeighSettings
from bench.capture.units import GRAMS, division_of, nearest_step
from bench.capture.windows import SampleRun, Window
from drivers.contract import Condition, LineFault, LinkChange, LinkState, Reading

DEFAULTS = WeighSettings()
CALM_S = 1.0
KEPT_LINES = 40


class WeighMachine:
    """Decides from readings alone; no clock, no port, no chance.

    Parameters
    ----------
    settings : WeighSettings
        Times and limits.
    """

    def __init__(self, *, settings: WeighSettings = DEFAULTS) -> None:
        self._set = settings
        self._bobweight = BobweightMachine(steady_s=settings.bobweight_s)
        self._filter = SampleFilter()
        self._run = SampleRun()
        self._due: Expected | None = None
        self._unit = ""
        self._d = Decimal("0.1")
        self._factor = Decimal(1)
        self._lost = False
        self._zero: float | None = None
        self._phase = Phase.WAITING_FOR_SCALE
        self._on_s: float | None = None
        self._laid: Taken | None = None
        self._blocked = False
        self._asked: Asked | None = None
        self._advised = False
        self._foreign = 0
        self._net: float | None = None
        self._last_s = 0.0

    @property
    def phase(self) -> Phase:
        """Where the placement is."""
        return self._phase

    def expect(self, expected: Expected | None) -> list[Decision]:
        """Say what is due; what lies on the pan stays where it is.

        Parameters
        ----------
        expected : Expected or None
            What is due; None when nothing is.

        Returns
        -------
        list[Decision]
            Nothing.
        """
        self._due = expected
        self._asked = None
        self._advised = False
        return []

    def answer(self, choice: str, now_ns: int) -> list[Decision]:
        """Answer the question.

        Parameters
        ----------
        choice : str
            "take", "again", "skip" or "clear".
        now_ns : int
            Moment. [ns]

        Returns
        -------
        list[Decision]
            What follows.
        """
        asked, self._asked = self._asked, None
        if choice == "clear":
            self._zero = None
            self._laid = None
            self._on_s = None
            if self._foreign:
                self._unit, self._foreign = "", 0
                self._run.restart()
            elif len(self._run) > 1:
                self._zero = self._run.samples[-1].grams
                self._phase = Phase.EMPTY
                return [PanCleared(now_ns)]
            self._phase = Phase.CLEAR_PAN
        elif choice == "take" and asked is not None and "take" in asked.choices:
            first = self._run.first_of(CALM_S)
            if first is not None and self._due is not None:
                return [self._taken(first, self._run.window(first), now_ns, doubtful=True)]
        else:
            self._blocked = True
        return []

    def tick(self, now_ns: int) -> list[Decision]:
        """Let time pass without lines.

        Parameters
        ----------
        now_ns : int
            Moment. [ns]

        Returns
        -------
        list[Decision]
            Nothing is decided without lines.
        """
        del now_ns
        return []

    def feed(self, item: Reading | LineFault | LinkChange) -> list[Decision]:
        """Take a line, a line that could not be read, or a change of the link.

        Parameters
        ----------
        item : Reading or LineFault or LinkChange
            What came.

        Returns
        -------
        list[Decision]
            What follows; one `Live` for each reading.
        """
        if isinstance(item, LinkChange):
            return self._link(item)
        if isinstance(item, LineFault):
            return []
        decisions = self._read(item)
        if self._zero is not None and item.value is not None and item.unit == self._unit:
            self._net = float(item.value * self._factor) - self._zero
        else:
            self._net = None
        due, difference = self._due, None
        if due is not None and self._net is not None:
            difference = self._bobweight.difference(due, self._net)
        return [Live(item.at_ns, item.value, item.unit, self._net, self._phase, difference), *decisions]

    def _link(self, change: LinkChange) -> list[Decision]:
        if change.state is LinkState.OPEN:
            if not self._lost:
                return []
            self._lost = False
            self._phase = Phase.CLEAR_PAN
            return [ScaleBack(change.at_ns)]
        self._filter.forget()
        self._run.restart()
        self._zero = None
        self._on_s = None
        self._asked = None
        self._phase = Phase.WAITING_FOR_SCALE
        decisions: list[Decision] = []
        if self._laid is not None:
            decisions.append(Lifted(change.at_ns, self._laid.key))
            self._laid = None
        if not self._lost:
            self._lost = True
            words = f"the scale is not heard ({change.state.value})"
            decisions.append(ScaleLost(change.at_ns, words, change.remedy))
        return decisions

    def _read(self, reading: Reading) -> list[Decision]:
        if self._lost:
            return []
        if reading.condition is not Condition.WEIGHT or reading.value is None:
            return []
        if not self._unit and reading.unit in GRAMS:
            self._unit, self._factor = reading.unit, GRAMS[reading.unit]
            self._d = division_of(reading.value)
        if reading.unit != self._unit or division_of(reading.value) != self._d:
            return self._other_unit(reading)
        if self._foreign and self._phase is Phase.HELD:
            self._phase = Phase.CLEAR_PAN if self._zero is None else Phase.SETTLING
            self._run.restart()
        self._foreign = 0
        seconds = reading.at_ns / 1e9
        grams = float(reading.value * self._factor)
        raw = reading.raw.decode("ascii", "backslashreplace")
        sample = Sample(reading.at_ns, seconds, grams, reading.value, raw, reading.steady)
        passed = self._filter.take(sample, jump_g=3 * self._division_g)
        if passed.hole or passed.jump:
            self._run.restart()
        decisions: list[Decision] = []
        for one in passed.samples:
            self._run.add(one)
            self._last_s = one.seconds
        if passed.samples:
            decisions = self._decide(passed.samples[-1])
        return decisions

    def _other_unit(self, reading: Reading) -> list[Decision]:
        self._foreign += 1
        if self._foreign != 3:
            return []
        self._run.restart()
        self._phase = Phase.HELD
        step = f"{self._d} {self._unit}"
        return self._ask(
            reading.at_ns,
            f"the scale shows {reading.value} {reading.unit}, before it was steps of {step}: "
            f"switch it back, or clear the pan and go on in {reading.unit}",
            "clear",
        )

    @property
    def _division_g(self) -> float:
        return float(self._d * self._factor)

    def _threshold(self) -> float:
        d = self._division_g
        due = self._due.nominal_g if self._due is not None else None
        return 5 * d if due is None else max(3 * d, min(5 * d, due / 2))

    def _calm(self, seconds: float) -> tuple[int, Window] | None:
        first = self._run.first_of(seconds)
        if first is None:
            return None
        window = self._run.window(first)
        d = self._division_g
        if window.count < 3 or window.spread_g > 1.01 * d or abs(window.halves_g) > 0.67 * d:
            return None
        return first, window

    def _decide(self, sample: Sample) -> list[Decision]:
        if self._zero is None:
            return self._look_for_zero(sample)
        net = sample.grams - self._zero
        if abs(net) < self._threshold():
            return self._near_zero(sample)
        return self._something_on(sample)

    def _look_for_zero(self, sample: Sample) -> list[Decision]:
        self._phase = Phase.ASKING if self._asked else Phase.CLEAR_PAN
        calm = self._calm(CALM_S)
        if calm is None:
            return []
        if abs(calm[1].mean_g) <= 20 * self._division_g:
            self._zero = calm[1].mean_g
            self._asked = None
            self._phase = Phase.EMPTY
            return [PanCleared(sample.at_ns)]
        return self._ask(
            sample.at_ns, f"the scale shows {sample.shown} {self._unit}: is the pan empty? Clear it, or say so", "clear"
        )

    def _near_zero(self, sample: Sample) -> list[Decision]:
        calm = self._calm(CALM_S if self._on_s is None else 0.5)
        if calm is None:
            return []
        self._zero = calm[1].mean_g
        was_on, self._on_s = self._on_s is not None, None
        laid, self._laid = self._laid, None
        self._asked = None
        self._blocked = False
        self._advised = False
        self._phase = Phase.EMPTY
        decisions: list[Decision] = [Lifted(sample.at_ns, laid.key)] if laid else []
        return [*decisions, PanCleared(sample.at_ns)] if was_on else decisions

    def _something_on(self, sample: Sample) -> list[Decision]:
        if self._on_s is None:
            self._on_s = sample.seconds
            self._phase = Phase.SETTLING
        if self._laid is not None:
            self._phase = Phase.TAKEN
            return []
        if self._asked is not None:
            self._phase = Phase.ASKING
            return []
        self._phase = Phase.SETTLING
        if self._due is None or self._blocked:
            return []
        return self._judge(sample, self._due, self._on_s)

    def _judge(self, sample: Sample, due: Expected, on_s: float) -> list[Decision]:
        if due.target_g is not None:
            ready = self._bobweight.ready(self._run, due, zero_g=self._zero or 0.0, division_g=self._division_g)
            return [] if ready is None else [self._taken(*ready, sample.at_ns)]
        calm = self._calm(self._set.question_s)
        if calm is None:
            if sample.seconds - on_s > self._set.advice_s and not self._advised:
                self._advised = True
                return [Advised(sample.at_ns, "not steady: take the hands off, cover the pan")]
            return []
        first, window = calm
        if sample.steady is False and sample.seconds - on_s < self._set.veto_s + self._set.question_s:
            return []
        net = window.mean_g - (self._zero or 0.0)
        wrong = self._wrong_kind(net)
        if wrong:
            return self._ask(sample.at_ns, wrong, "take", "again", "skip")
        return [self._taken(first, window, sample.at_ns)]

    def _wrong_kind(self, net: float) -> str:
        due = self._due
        if due is None:
            return ""
        own = [m.grams for m in due.members if m.kind == due.kind]
        middle = sorted(own)[len(own) // 2] if own else due.nominal_g
        if net > 0 and (middle is None or abs(net - middle) <= (0.06 if own else 0.2) * middle):
            return ""
        wanted = f"about {middle:.1f} g" if middle is not None else "a weight above zero"
        return f"{net:.1f} g lies on the pan, {due.label} should be {wanted}"

    def _ask(self, at_ns: int, question: str, *choices: str) -> list[Decision]:
        if self._asked is not None and self._asked.question == question:
            return []
        self._asked = Asked(at_ns, self._due.key if self._due else "", question, choices)
        if self._phase is not Phase.HELD:
            self._phase = Phase.ASKING
        return [self._asked]

    def _taken(self, first: int, window: Window, at_ns: int, *, doubtful: bool = False) -> Taken:
        zero = self._zero or 0.0
        d = self._division_g
        mode = self._run.most_frequent(first)
        shown = nearest_step(mode - Decimal(repr(zero)) / self._factor, self._d)
        u = sqrt(2 * d * d / 12 + window.scatter_g**2 / window.count)
        taken = Taken(
            at_ns=at_ns,
            key=self._due.key if self._due else "",
            shown=shown,
            unit=self._unit,
            grams=shown * self._factor,
            refined_g=window.mean_g - zero,
            standard_uncertainty_g=u,
            doubtful=doubtful,
            raw=tuple(s.raw for s in self._run.samples[first:][-KEPT_LINES:]),
        )
        self._laid = replace(taken)
        self._phase = Phase.TAKEN
        return taken
