"""Whatever hands, keys, cable and unit do: at most one value a laying, none without a known zero, always a way out, the same again."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.capture.decisions import (
    Asked,
    Decision,
    Doubted,
    Expected,
    Lifted,
    Live,
    Member,
    PanCleared,
    Phase,
    ScaleBack,
    ScaleLost,
    Taken,
)
from bench.capture.weigh_machine import WeighMachine
from drivers.contract import Condition, LineFault, LinkChange, LinkState, Reading

GAP_NS = 100_000_000
MEMBERS = tuple(Member("piston", k, g) for k, g in enumerate((450.0, 450.4, 449.7, 450.2), start=20))
OUNCE = Decimal("28.349523125")


def expected(number: int) -> Expected:
    return Expected(
        key=f"piston {number}",
        kind="piston",
        label=f"piston {number}",
        nominal_g=450.0,
        members=MEMBERS,
        nominals=(("piston", 450.0), ("pin", 120.0)),
    )


@dataclass
class ClumsyBench:
    """A scale with a tare key, a unit key and a plug; hands that lay and lift; all that was fed is kept."""

    machine: WeighMachine = field(default_factory=WeighMachine)
    now_ns: int = 1_000_000_000
    load_g: float = 0.0
    shown_load_g: float = 0.0
    tare_g: float = 0.0
    unit: str = "g"
    first_unit: str = ""
    linked: bool = True
    due: int = 1
    laying: int = 0
    taken_in: dict[int, int] = field(default_factory=dict)
    laying_of: dict[str, int] = field(default_factory=dict)
    zero_seen: bool = False
    question: Asked | None = None
    fed: list[tuple[str, object]] = field(default_factory=list)
    heard: list[Decision] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.expect()

    def expect(self) -> None:
        self.fed.append(("expect", expected(self.due)))
        self.hear(self.machine.expect(expected(self.due)))

    def hear(self, decisions: list[Decision]) -> None:
        for decision in decisions:
            self.heard.append(decision)
            match decision:
                case Taken(key=key, unit=unit):
                    assert self.linked, "taken while nothing was heard"
                    assert unit == self.unit == self.first_unit, "taken in another unit"
                    assert self.zero_seen, "taken before the zero was seen"
                    assert self.load_g > 0, "taken from an empty pan"
                    assert key == f"piston {self.due}"
                    self.laying_of[key] = self.laying
                    self.taken_in[self.laying] = self.taken_in.get(self.laying, 0) + 1
                    assert self.taken_in[self.laying] == 1, "one laying was taken twice"
                    self.question = None
                    self.due += 1
                    self.expect()
                case Doubted(key=key):
                    self.taken_in[self.laying_of[key]] -= 1
                    self.due = min(self.due, int(key.split()[1]))
                    self.expect()
                case Asked():
                    self.question = decision
                case PanCleared():
                    self.zero_seen, self.question = True, None
                case ScaleLost():
                    self.zero_seen, self.question = False, None
                case Live() | Lifted() | ScaleBack():
                    pass
                case _:
                    pass

    def feed(self, item: Reading | LineFault | LinkChange) -> None:
        self.fed.append(("feed", item))
        self.hear(self.machine.feed(item))

    def line(self) -> None:
        self.now_ns += GAP_NS
        self.shown_load_g += (self.load_g - self.shown_load_g) * (1 - math.exp(-0.1 / 0.08))
        if not self.linked:
            return
        grams = Decimal(repr(self.shown_load_g - self.tare_g))
        value = grams.quantize(Decimal("0.1")) if self.unit == "g" else (grams / OUNCE).quantize(Decimal("0.001"))
        raw = f"{value} {self.unit}".encode()
        self.first_unit = self.first_unit or self.unit
        self.feed(Reading(self.now_ns, value, self.unit, Condition.WEIGHT, None, None, raw))

    def wait(self, lines: int) -> None:
        for _ in range(lines):
            self.line()

    def lay(self, grams: float) -> None:
        if self.load_g == 0.0:
            self.laying += 1
        self.load_g += grams

    def lift(self) -> None:
        self.load_g = 0.0

    def do(self, act: str, amount: int) -> None:
        match act:
            case "wait":
                self.wait(amount)
            case "lay":
                self.lay(450.0 + amount % 5 * 0.1)
                self.wait(8)
            case "lay a pin":
                self.lay(120.3)
                self.wait(8)
            case "lift":
                self.lift()
                self.wait(8)
            case "tare":
                self.tare_g = self.shown_load_g
                self.wait(2)
            case "unit":
                self.unit = "oz" if self.unit == "g" else "g"
                self.wait(2)
            case "unplug":
                self.plug(LinkState.LOST)
            case "plug":
                self.plug(LinkState.OPEN)
            case "damaged":
                self.now_ns += GAP_NS
                if self.linked:
                    self.feed(LineFault(self.now_ns, b"\xff?", "?", "a line of the profile"))
            case "silence":
                self.now_ns += amount * GAP_NS
            case "answer":
                self.answer("again" if amount % 2 else "skip")
            case _:
                raise AssertionError(act)

    def plug(self, state: LinkState) -> None:
        self.linked = state is LinkState.OPEN
        self.feed(LinkChange(self.now_ns, state, "", "plug it in"))

    def answer(self, choice: str) -> None:
        self.question = None
        self.fed.append(("answer", (choice, self.now_ns)))
        self.hear(self.machine.answer(choice, self.now_ns))

    def find_out(self) -> None:
        """What a person does who is told to: plug in, switch back, clear the pan, say that it is clear, lay the part."""
        if not self.linked:
            self.plug(LinkState.OPEN)
        self.unit = self.first_unit or self.unit
        for _ in range(3):
            self.lift()
            self.wait(80)
            if self.question is not None and "clear" in self.question.choices:
                self.answer("clear")
                self.wait(30)
            before = len(self.laying_of)
            self.lay(450.1)
            self.wait(90)
            if len(self.laying_of) > before or self.taken_in.get(self.laying):
                return
        raise AssertionError(f"no way out of {self.machine.phase}: {self.heard[-1]}")


ACTS = st.lists(
    st.tuples(
        st.sampled_from(
            (
                "wait",
                "wait",
                "lay",
                "lay",
                "lift",
                "lift",
                "lay a pin",
                "tare",
                "unit",
                "unplug",
                "plug",
                "damaged",
                "silence",
                "answer",
            )
        ),
        st.integers(1, 60),
    ),
    max_size=14,
)


def play(acts: list[tuple[str, int]]) -> ClumsyBench:
    bench = ClumsyBench()
    for act, amount in acts:
        bench.do(act, amount)
    return bench


def one_story(acts: list[tuple[str, int]]) -> None:
    bench = play(acts)
    bench.find_out()
    again = WeighMachine()
    replayed: list[Decision] = []
    for what, item in bench.fed:
        match what:
            case "feed":
                replayed += again.feed(item)  # type: ignore[arg-type]
            case "expect":
                replayed += again.expect(item)  # type: ignore[arg-type]
            case _:
                choice, now_ns = item  # type: ignore[misc]
                replayed += again.answer(choice, now_ns)
    assert replayed == bench.heard
    assert again.phase is bench.machine.phase


@settings(max_examples=40, deadline=None)
@given(ACTS)
def test_whatever_happens_a_laying_counts_once_and_there_is_a_way_out(acts: list[tuple[str, int]]) -> None:
    one_story(acts)


@pytest.mark.long
@settings(max_examples=800, deadline=None)
@given(ACTS)
def test_a_great_many_clumsy_benches(acts: list[tuple[str, int]]) -> None:
    one_story(acts)


def test_nothing_is_taken_from_a_part_that_lay_there_when_the_cable_came_back() -> None:
    bench = play([("wait", 20), ("lay", 1), ("unplug", 1), ("wait", 20), ("plug", 1), ("wait", 60)])
    assert not bench.taken_in
    assert bench.machine.phase in {Phase.CLEAR_PAN, Phase.ASKING}
    bench.find_out()
    assert bench.due == 2
