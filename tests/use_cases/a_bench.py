"""A desk on a trail in memory, with a weigh machine that decides what the test tells it to."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from bench.capture.decisions import Decision, Expected, Lifted, Live, PanCleared, Phase, Taken
from bench.trail.identifiers import new_id
from bench.trail.memory import MemoryTrail
from bench.use_cases.bench_desk import BenchDesk, DeskSettings
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.scribe import Scribe
from bench.use_cases.sign_off import WrittenFile
from bench.use_cases.view import Notice
from bench.use_cases.weigh_rules import WeighRules
from drivers.contract import Condition, ExportText, PlaneReading, Reading, SpinReading


class StillClock:
    def __init__(self) -> None:
        self.moment = datetime(2031, 3, 1, 8, 0, tzinfo=UTC)
        self.ticks = 0

    def utc_now(self) -> datetime:
        return self.moment

    def offset_min(self) -> int:
        return 60

    def monotonic_ns(self) -> int:
        return self.ticks

    def step(self, seconds: float) -> None:
        self.moment += timedelta(seconds=seconds)
        self.ticks += int(seconds * 1e9)


class ToldMachine:
    """Gives the decisions it is told, in the order it is told."""

    def __init__(self) -> None:
        self.due: Expected | None = None
        self.next: list[Decision] = []
        self.answers: list[str] = []

    def expect(self, expected: Expected | None) -> list[Decision]:
        self.due = expected
        return []

    def feed(self, _item: object) -> list[Decision]:
        out, self.next = self.next, []
        return out

    def tick(self, _now_ns: int) -> list[Decision]:
        return []

    def answer(self, choice: str, _now_ns: int) -> list[Decision]:
        self.answers.append(choice)
        return []


LINE = Reading(0, Decimal("0.0"), "g", Condition.WEIGHT, None, None, b"")


class Bench:
    def __init__(self, spec: Any = None, *, simulated: bool = False, weighing: WeighRules | None = None) -> None:
        self.clock = StillClock()
        self.trail = MemoryTrail(bench="t", clock=self.clock, app_version="t")
        self.scribe = Scribe(self.trail, new_id=new_id, simulated=simulated)
        self.machine = ToldMachine()
        self.said: list[Notice] = []
        self.written: list[Any] = []
        self.desk = BenchDesk(
            self.scribe,
            self.machine,
            DeskSettings(
                "scale A",
                "machine B",
                lambda: 2031,
                self._write,
                simulated=simulated,
                weighing=weighing or WeighRules(utc_now=self.clock.utc_now),
            ),
        )
        self.desk.hear(self.said.append)
        self.spec = spec or demo_spec()
        self._runs = itertools.count(1)

    def _write(self, scribe: Scribe, review: Any, checkpoint: Any) -> WrittenFile:
        self.written.append((review, checkpoint))
        return WrittenFile(path="/x/c.html", file_name="c.html", sha256="0" * 64)

    def decide(self, *decisions: Decision) -> None:
        self.machine.next = list(decisions)
        self.desk.scale_says(LINE)

    def take(self, grams: str, *, u: float = 0.05, doubtful: bool = False, unit: str = "g") -> None:
        assert self.machine.due is not None
        key = self.machine.due.key
        value = Decimal(grams)
        taken = Taken(0, key, value, unit, value, float(value), u, doubtful, ("raw line",))
        self.decide(Live(0, value, unit, float(value), Phase.SETTLING), taken)
        self.decide(Live(0, value, unit, float(value), Phase.TAKEN))

    def lift(self, final: Taken | None = None, key: str = "") -> None:
        self.decide(Lifted(0, key, final), PanCleared(0), Live(0, Decimal("0.0"), "g", 0.0, Phase.EMPTY))

    def run(self, *planes: tuple[str, str, float], name: str = "", unit: str = "g") -> None:
        number = next(self._runs)
        reading = SpinReading(
            label=str(number),
            unit=unit,
            planes=tuple(PlaneReading(p, Decimal(a), Decimal(str(w)), w) for p, a, w in planes),
            speed_rpm=500.0,
            raw=f"RUN {number}",
        )
        self.desk.balancer_says([reading], ExportText(name or f"run-{number}.txt", b"x", f"{number:064d}"))

    @property
    def words(self) -> str:
        return self.said[-1].words if self.said else ""
