"""The weigh machine: what the scale says goes in, decisions come out. No clock, no port, no chance."""

from __future__ import annotations

from bench.capture.bobweight_machine import BobweightMachine
from bench.capture.decisions import Advised, Asked, Decision, Expected, Live, Phase, ScaleBack, ScaleLost
from bench.capture.pan_watch import PanWatch
from bench.capture.samples import Sample, SampleFilter
from bench.capture.scale_memory import ScaleMemory
from bench.capture.settings import WeighSettings
from bench.capture.standstill import Standstill
from bench.capture.units import GRAMS
from bench.capture.windows import SampleRun
from drivers.contract import Condition, LineFault, LinkChange, LinkState, Reading

DEFAULTS = WeighSettings()
FOREIGN_LINES = 3
BEYOND_LINES = 2
SILENT_S = 3.0


class WeighMachine:
    """Empty pan, part on, settled, taken, lifted, next; at most one value for each laying.

    Parameters
    ----------
    settings : WeighSettings
        Times and limits.
    """

    def __init__(self, *, settings: WeighSettings = DEFAULTS) -> None:
        self._settings = settings
        self._filter = SampleFilter()
        self._standstill = Standstill()
        self._run = SampleRun()
        self._scale: ScaleMemory | None = None
        self._watch: PanWatch | None = None
        self._due: Expected | None = None
        self._lost = False
        self._foreign: list[Reading] = []
        self._held: Asked | None = None
        self._beyond = 0
        self._heard_ns: int | None = None
        self._told_silent = False

    @property
    def phase(self) -> Phase:
        """Where the placement is."""
        if self._lost or self._watch is None:
            return Phase.WAITING_FOR_SCALE
        if self._held is not None or self._beyond >= BEYOND_LINES:
            return Phase.HELD
        return self._watch.phase

    def expect(self, expected: Expected | None) -> list[Decision]:
        """Say what is due; what lies on the pan stays what it is.

        Parameters
        ----------
        expected : Expected | None
            What is due; None when nothing is.

        Returns
        -------
        list[Decision]
            Nothing: decisions come with readings.
        """
        self._due = expected
        if self._watch is not None:
            self._watch.expect(expected)
        return []

    def answer(self, choice: str, now_ns: int) -> list[Decision]:
        """Answer the question.

        Parameters
        ----------
        choice : str
            "take": it is what is due; "again": it is not, or lay it again; "skip": leave it;
            "clear": the pan is empty, or the new unit is wanted.
        now_ns : int
            Moment. [ns]

        Returns
        -------
        list[Decision]
            What follows.
        """
        if self._held is not None:
            return self._go_on_in_new_unit(now_ns) if choice == "clear" else [self._held]
        if self._lost or self._watch is None:
            return []
        return self._watch.answer(choice, now_ns)

    def tick(self, now_ns: int) -> list[Decision]:
        """Let time pass without lines.

        Parameters
        ----------
        now_ns : int
            Moment. [ns]

        Returns
        -------
        list[Decision]
            A sentence when the scale has said nothing for some time.
        """
        if self._lost or self._heard_ns is None or self._told_silent:
            return []
        if now_ns - self._heard_ns < SILENT_S * 1e9:
            return []
        self._told_silent = True
        return [Advised(now_ns, "the scale sends no lines: check that it is on and set to send by itself")]

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
        self._heard_ns = item.at_ns
        self._told_silent = False
        decisions = [] if self._lost else self._read(item)
        stands = self._standstill.see(item, self.phase)
        if stands:
            decisions.append(Advised(item.at_ns, stands))
        return [self._live(item), *decisions]

    def _live(self, reading: Reading) -> Live:
        net = difference = None
        scale, watch = self._scale, self._watch
        if scale is not None and watch is not None and reading.value is not None and not self._foreign:
            base = watch.visit.base_g if watch.visit is not None else 0.0
            if scale.zero_seen:
                net = float(reading.value * scale.factor) - scale.zero.grams - base
                if self._due is not None and self._due.target_g is not None:
                    difference = BobweightMachine.difference(self._due, watch.calm_net_g(net))
        return Live(reading.at_ns, reading.value, reading.unit, net, self.phase, difference)

    def _link(self, change: LinkChange) -> list[Decision]:
        if change.state is LinkState.OPEN:
            if not self._lost:
                return []
            self._lost = False
            return [ScaleBack(change.at_ns)]
        self._filter.forget()
        self._run.restart()
        self._heard_ns = None
        decisions: list[Decision] = self._watch.lose(change.at_ns) if self._watch else []
        if not self._lost:
            self._lost = True
            words = f"the scale is not heard ({change.state.value})"
            decisions.append(ScaleLost(change.at_ns, words, change.remedy))
        return decisions

    def _read(self, reading: Reading) -> list[Decision]:
        if reading.condition is not Condition.WEIGHT or reading.value is None:
            return self._beyond_range(reading)
        self._beyond = 0
        if self._scale is None or self._watch is None:
            if reading.unit not in GRAMS:
                return []
            self._begin(reading)
        scale, watch = self._scale, self._watch
        if scale is None or watch is None:
            return []
        if not scale.speaks(reading.unit, reading.value):
            return self._other_unit(reading, scale)
        if self._held is not None:
            self._held = None
            self._run.restart()
            self._filter.forget()
            watch.interrupt(reading.at_ns / 1e9)
        self._foreign = []
        sample = Sample(
            at_ns=reading.at_ns,
            seconds=reading.at_ns / 1e9,
            grams=float(reading.value * scale.factor),
            shown=reading.value,
            raw=reading.raw.decode("ascii", "backslashreplace"),
            steady=reading.steady,
        )
        return self._pass_on(sample, scale, watch)

    def _pass_on(self, sample: Sample, scale: ScaleMemory, watch: PanWatch) -> list[Decision]:
        load = sample.grams - scale.zero.grams if scale.zero_seen else sample.grams
        passed = self._filter.take(sample, jump_g=scale.jump_g(load))
        if passed.hole or passed.jump:
            self._run.restart()
        if passed.hole:
            watch.interrupt(sample.seconds)
        decisions: list[Decision] = []
        for one in passed.samples:
            self._run.add(one)
            decisions += watch.step(one, self._filter.interval_s)
        return decisions

    def _begin(self, reading: Reading) -> None:
        if reading.value is None:
            return
        self._scale = ScaleMemory(unit=reading.unit, shown=reading.value, settings=self._settings)
        self._run.restart()
        self._watch = PanWatch(self._scale, self._run, self._settings)
        self._watch.expect(self._due)

    def _beyond_range(self, reading: Reading) -> list[Decision]:
        if reading.condition is Condition.NO_NUMBER:
            return []
        self._beyond += 1
        if self._beyond != BEYOND_LINES:
            return []
        self._run.restart()
        self._filter.forget()
        words = "more than the scale can carry" if reading.condition is Condition.OVERLOAD else "less than nothing"
        return [Advised(reading.at_ns, f"the scale shows {words}: take it off")]

    def _other_unit(self, reading: Reading, scale: ScaleMemory) -> list[Decision]:
        self._foreign.append(reading)
        if len(self._foreign) < FOREIGN_LINES or self._held is not None:
            return []
        question = (
            f"the scale now shows {reading.value} {reading.unit}, before it was {scale.unit} in steps of {scale.step}: "
            f"switch it back, or clear the pan and go on in {reading.unit}"
        )
        self._held = Asked(reading.at_ns, self._due.key if self._due else "", question, ("clear",))
        return [self._held]

    def _go_on_in_new_unit(self, now_ns: int) -> list[Decision]:
        held, last = self._held, self._foreign[-1]
        if held is None or last.unit not in GRAMS:
            return [] if held is None else [held]
        decisions: list[Decision] = self._watch.lose(now_ns) if self._watch else []
        self._held = None
        self._foreign = []
        self._filter.forget()
        self._begin(last)
        return decisions
