"""A scale that shows what it is told to, feeding a weigh machine and doing with decisions what the program does."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal

import pytest

from bench.capture.decisions import Asked, Decision, Doubted, Expected, Lifted, Live, Member, Taken
from bench.capture.settings import WeighSettings
from bench.capture.weigh_machine import WeighMachine
from drivers.contract import Condition, LineFault, LinkChange, LinkState, Reading


class ShownScale:
    """Ten lines a second of what a test wants shown; flickers a little, as scales do."""

    def __init__(self, *due: Expected, settings: WeighSettings | None = None, rate_hz: float = 10.0) -> None:
        self.machine = WeighMachine(settings=settings) if settings else WeighMachine()
        self.queue = list(due)
        self.now_ns = 1_000_000_000
        self.gap_ns = int(1e9 / rate_hz)
        self.heard: list[Decision] = []
        self.lives: list[Live] = []
        self.members: list[Member] = []
        self.steady: bool | None = None
        self._line = 0
        self.machine.expect(self.queue[0] if self.queue else None)

    def hear(self, decisions: Iterable[Decision]) -> None:
        for decision in decisions:
            if isinstance(decision, Live):
                self.lives.append(decision)
                continue
            self.heard.append(decision)
            if isinstance(decision, Taken) and self.queue and self.queue[0].key == decision.key:
                self.queue.pop(0)
                self.machine.expect(self.queue[0] if self.queue else None)

    def line(self, shown: str, unit: str = "g", condition: Condition = Condition.WEIGHT) -> None:
        self.now_ns += self.gap_ns
        value = Decimal(shown) if condition is Condition.WEIGHT else None
        raw = f"{shown} {unit}".encode()
        self.hear(self.machine.feed(Reading(self.now_ns, value, unit, condition, self.steady, None, raw)))

    def show(self, grams: float, seconds: float, *, flicker: bool = False, unit: str = "g", places: int = 1) -> None:
        for _ in range(round(seconds * 1e9 / self.gap_ns)):
            self._line += 1
            extra = 10.0**-places * (self._line % 3 == 0) if flicker else 0.0
            self.line(f"{grams + extra:.{places}f}", unit)

    def move(self, start: float, end: float, seconds: float = 0.5) -> None:
        steps = max(2, round(seconds * 1e9 / self.gap_ns))
        for step in range(steps):
            self.line(f"{start + (end - start) * (1 - math.exp(-4 * (step + 1) / steps)):.1f}")

    def lay(self, grams: float, seconds: float = 4.0, *, zero: float = 0.0) -> None:
        self.move(zero, zero + grams)
        self.show(zero + grams, seconds)

    def lift(self, grams: float, seconds: float = 2.0, *, zero: float = 0.0) -> None:
        self.move(zero + grams, zero)
        self.show(zero, seconds)

    def garbage(self) -> None:
        self.now_ns += self.gap_ns
        self.hear(self.machine.feed(LineFault(self.now_ns, b"\xff4x", "?4x", "a line of the profile")))

    def link(self, state: LinkState) -> None:
        self.hear(self.machine.feed(LinkChange(self.now_ns, state, "", "plug it in")))

    def answer(self, choice: str) -> None:
        self.hear(self.machine.answer(choice, self.now_ns))

    def of(self, *kinds: type) -> list[Decision]:
        return [d for d in self.heard if isinstance(d, kinds)]

    @property
    def taken(self) -> list[tuple[str, str]]:
        return [(d.key, str(d.grams)) for d in self.heard if isinstance(d, Taken)]

    @property
    def asked(self) -> list[str]:
        return [d.question for d in self.heard if isinstance(d, Asked)]

    @property
    def doubted(self) -> list[str]:
        return [d.key for d in self.heard if isinstance(d, Doubted)]

    @property
    def lifted(self) -> list[Lifted]:
        return [d for d in self.heard if isinstance(d, Lifted)]


def due_for(key: str, **given: object) -> Expected:
    kind = key.rsplit(" ", 1)[0]
    members = given.pop("members", ())
    values = tuple(Member(kind, place, float(g)) for place, g in enumerate(members, start=11))  # type: ignore[arg-type,call-overload]
    return Expected(key=key, kind=kind, label=key, members=values, **given)  # type: ignore[arg-type]


@pytest.fixture
def shown_scale() -> type[ShownScale]:
    return ShownScale


@pytest.fixture
def due() -> object:
    return due_for
