"""Whole sheets: an operator with mishaps fills job after job, in a closed loop with the machine and a live scale."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Literal

import numpy as np
from weighing_traces import KIND_RANGES_G

from bench.capture.decisions import (
    Advised,
    Asked,
    Decision,
    Doubted,
    Expected,
    Lifted,
    Live,
    Member,
    PanCleared,
    Taken,
)
from bench.capture.weigh_machine import WeighMachine
from drivers.contract import Condition, LinkChange, LinkState, Reading
from sim.conditions import CONDITIONS
from sim.conditions import Condition as Surroundings
from sim.scale import Scale

Mishap = Literal[
    "wrong kind",
    "two at once",
    "laid back",
    "early lift",
    "tare key",
    "unit key",
    "unplugged",
    "silence",
    "touch",
    "swap",
]
MIX: tuple[Mishap, ...] = ("wrong kind", "two at once", "laid back", "early lift", "tare key", "unit key", "unplugged")
MIX_SHARE = 0.10
TOUCH_SHARE = 0.03
PATIENCE_S = 9.0
LONGEST_JOB_S = 1500.0
TYPICAL = replace(CONDITIONS["C2"], shaking_m_per_s=(100e-6, 300e-6), rates_hz=(5.0, 8.0, 10.0, 12.5, 16.0, 20.0))
QUIET = replace(CONDITIONS["C1"], rates_hz=(5.0, 8.0, 10.0, 12.5, 16.0, 20.0))


@dataclass(frozen=True, slots=True)
class Scenario:
    """What a job is like."""

    name: str
    surroundings: Surroundings = TYPICAL
    mix: tuple[Mishap, ...] = ()
    share: float = 0.0
    touch: float = 0.0
    garbled: float = 0.0


@dataclass(slots=True)
class Kept:
    """A value that stands in the sheet."""

    key: str
    value: Taken
    truly_on: tuple[str, ...]
    truly_g: float

    @classmethod
    def read(cls, row: dict[str, Any]) -> Kept:
        """Return it from a line of a file."""
        value = row["value"]
        value |= {name: Decimal(value[name]) for name in ("shown", "grams")}
        return cls(row["key"], Taken(**value | {"raw": ()}), tuple(row["truly_on"]), row["truly_g"])


@dataclass(slots=True)
class Sheet:
    """What came out of a job."""

    cells: int = 0
    kept: dict[str, Kept] = field(default_factory=dict)
    masses: dict[str, float] = field(default_factory=dict)
    placements: int = 0
    asked: int = 0
    keys_pressed: int = 0
    advised: int = 0
    impatient: int = 0
    doubted: int = 0
    wrong_offered: int = 0
    wrong_taken: int = 0
    two_offered: int = 0
    seconds: float = 0.0
    hand_to_tone: list[float] = field(default_factory=list)
    log: list[str] = field(default_factory=list)


class JobPlay:
    """One job from the first cell to the last."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.rng = np.random.default_rng([seed, 77])
        self.scenario = scenario
        self.scale = Scale(scenario.surroundings, np.random.default_rng([seed, 78]), tracks_zero=False)
        self.machine = WeighMachine()
        self.sheet = Sheet()
        self.nominals: dict[str, float] = {}
        self.cells: list[tuple[str, int]] = []
        masses = self.sheet.masses
        for kind, span in KIND_RANGES_G.items():
            middle = float(self.rng.uniform(*span))
            self.nominals[kind] = round(middle * float(self.rng.uniform(0.98, 1.02)), 1)
            for place in range(1, 9):
                spread = 0.02 if middle < 5 else max(0.1, 0.001 * middle)
                masses[f"{kind} {place}"] = middle + spread * float(np.clip(self.rng.standard_normal(), -3, 3))
                self.cells.append((kind, place))
        self.sheet.cells = len(self.cells)
        self.values: dict[str, float] = {}
        self.on: list[str] = []
        self.linked = True
        self.muted_until = -1.0
        self.surprised: set[str] = set()
        self.due: tuple[str, int] | None = None
        self.unanswered: Asked | None = None
        self.last_key: str | None = None
        self.events: list[Decision] = []
        self.expect_next()

    # -- the station -------------------------------------------------------------------------------

    def expect_next(self) -> None:
        """Tell the machine which cell is next."""
        self.due = next(((k, p) for k, p in self.cells if f"{k} {p}" not in self.values), None)
        if self.due is None:
            self.machine.expect(None)
            return
        kind, place = self.due
        members = tuple(Member(c.split()[0], int(c.split()[1]), g) for c, g in self.values.items())
        self.machine.expect(
            Expected(
                key=f"{kind} {place}",
                kind=kind,
                label=f"{kind} {place}",
                nominal_g=self.nominals[kind],
                members=members,
                nominals=tuple(self.nominals.items()),
                light=kind == "locks",
                swings=kind == "rod_small_end",
            )
        )

    def hear(self, decision: Decision) -> None:
        """Do what the program does with a decision."""
        if isinstance(decision, Live):
            return
        self.events.append(decision)
        sheet = self.sheet
        sheet.log.append(f"{self.scale.now_s:8.2f} {_short(decision)} on={'+'.join(self.on)}")
        if isinstance(decision, Taken):
            self.unanswered = None
            mass = sum(self.sheet.masses[p] for p in self.on)
            sheet.kept[decision.key] = Kept(decision.key, decision, tuple(self.on), mass)
            self.values[decision.key] = float(decision.grams)
            self.last_key = decision.key
            self.expect_next()
        elif isinstance(decision, Lifted):
            if decision.final is not None and decision.key in sheet.kept:
                sheet.kept[decision.key].value = decision.final
                self.values[decision.key] = float(decision.final.grams)
        elif isinstance(decision, Doubted):
            sheet.doubted += 1
            sheet.kept.pop(decision.key, None)
            self.values.pop(decision.key, None)
            if not decision.next_lies:
                self.expect_next()
        elif isinstance(decision, Asked):
            sheet.asked += 1
            self.unanswered = decision
        elif isinstance(decision, PanCleared):
            self.unanswered = None
        elif isinstance(decision, Advised):
            sheet.advised += 1

    def run(self, seconds: float, *, until: tuple[type, ...] = ()) -> Decision | None:
        """Let time pass, until something is heard that the operator waits for."""
        end = self.scale.now_s + seconds
        self.events.clear()
        while self.scale.now_s < end:
            shown = self.scale.advance()
            if shown is None or not self.linked or self.scale.now_s < self.muted_until:
                continue
            value = None if shown.value is None else Decimal(f"{shown.value:.{shown.decimals}f}")
            at_ns = int(self.scale.now_s * 1e9) + 1
            condition = Condition.WEIGHT
            if value is None:
                condition = Condition.OVERLOAD if shown.over else Condition.UNDERLOAD
            raw = f"{value} {shown.unit}".encode()
            for decision in self.machine.feed(Reading(at_ns, value, shown.unit, condition, shown.steady, None, raw)):
                self.hear(decision)
            heard = next((e for e in self.events if isinstance(e, until)), None) if until else None
            if heard is not None:
                return heard
        return None

    # -- the operator ------------------------------------------------------------------------------

    def lay(self, *parts: str) -> float:
        """Lay parts; return how long the hand stays."""
        self.sheet.placements += 1
        self.on.extend(parts)
        mass = sum(self.sheet.masses[p] for p in parts)
        return self.scale.lay(mass / 1000.0, hung=parts[0].startswith("rod_small"), gently=False)

    def lift(self, *, pause: float | None = None) -> None:
        """Lift everything and turn to the next part."""
        self.scale.lift()
        self.run(0.32)
        self.on.clear()
        self.run(float(self.rng.uniform(0.7, 2.0)) if pause is None else pause)

    def mishap(self) -> Mishap | None:
        """Draw what goes wrong this time."""
        draw = self.rng.random()
        if draw < self.scenario.share:
            return self.scenario.mix[int(self.rng.integers(len(self.scenario.mix)))]
        return "touch" if draw < self.scenario.share + self.scenario.touch else None

    def play(self) -> Sheet:
        """Fill the sheet."""
        self.run(float(self.rng.uniform(10.0, 25.0)))
        while self.due is not None and self.scale.now_s < LONGEST_JOB_S:
            self.one_cell(self.mishap())
        self.run(4.0)
        self.sheet.seconds = self.scale.now_s
        return self.sheet

    def other_kind(self) -> str:
        """Return a part of a kind that is not due."""
        assert self.due is not None
        others = [f"{k} {p}" for k, p in self.cells if k != self.due[0]]
        return others[int(self.rng.integers(len(others)))]

    def one_cell(self, mishap: Mishap | None) -> None:
        """Lay what is due, perhaps after a mishap, until it is taken and lifted."""
        assert self.due is not None
        key = f"{self.due[0]} {self.due[1]}"
        if mishap:
            self.sheet.log.append(f"{self.scale.now_s:8.2f} MISHAP {mishap} at {key}")
        if mishap == "wrong kind":
            self.offer_wrong(key)
        elif mishap == "two at once":
            self.offer_two(key)
        elif mishap == "early lift":
            self.lay(key)
            self.run(float(self.rng.uniform(0.6, 1.6)))
            self.lift()
        if self.due is None or f"{self.due[0]} {self.due[1]}" != key:
            return
        hand = self.lay(key)
        laid_s = self.scale.now_s
        self.disturb(mishap)
        taken = self.wait(key)
        if taken:
            self.sheet.hand_to_tone.append(self.scale.now_s - laid_s - hand)
            self.run(float(self.rng.uniform(0.35, 1.0)))
            if mishap == "laid back" and self.due is not None:
                self.lay_back(key)
            elif mishap == "swap" and self.due is not None:
                self.swap()
        if self.on:
            self.lift()
        self.say_clear()

    def disturb(self, mishap: Mishap | None) -> None:
        """Let a mishap happen while the part settles."""
        if mishap == "tare key":
            self.run(float(self.rng.uniform(0.3, 3.0)))
            self.scale.indicator.press_tare()
        elif mishap == "unit key":
            self.run(float(self.rng.uniform(0.2, 2.0)))
            self.scale.indicator.press_unit()
            self.run(float(self.rng.uniform(1.0, 3.0)))
            self.scale.indicator.press_unit()
        elif mishap == "unplugged":
            self.run(float(self.rng.uniform(0.2, 2.0)))
            self.linked = False
            for decision in self.machine.feed(
                LinkChange(int(self.scale.now_s * 1e9), LinkState.LOST, "", "plug it in")
            ):
                self.hear(decision)
            self.run(2.0)
            self.linked = True
            for decision in self.machine.feed(LinkChange(int(self.scale.now_s * 1e9), LinkState.OPEN)):
                self.hear(decision)
        elif mishap == "silence":
            self.run(float(self.rng.uniform(0.2, 2.0)))
            self.muted_until = self.scale.now_s + 2.0
        elif mishap == "touch":
            self.run(float(self.rng.uniform(1.0, 2.5)))
            self.scale.touch(float(self.rng.uniform(0.01, 0.1)) * min(1.0, self.scale.load_kg / 0.5))

    def wait(self, key: str) -> bool:
        """Wait for the tone, answering and obeying."""
        if key in self.values:
            return True
        began, pause = self.scale.now_s, 2.6
        while self.scale.now_s - began < PATIENCE_S:
            heard = self.run(PATIENCE_S - (self.scale.now_s - began), until=(Taken, Asked, Advised))
            if isinstance(heard, Taken):
                return True
            if heard is None:
                break
            self.run(float(self.rng.uniform(0.8, 1.6)))
            if key in self.values:
                return True
            alike = isinstance(heard, Asked) and ("same weight" in heard.question or "not steady" in heard.question)
            if alike and "same weight" in heard.question:
                break  # answered by the hands: lift it, leave the pan empty, lay it again
            if isinstance(heard, Asked) and "take" in heard.choices and self.on == [key] and heard.key == key:
                if not alike and key not in self.surprised:
                    # an odd value of the right part: lay it once more before insisting
                    self.surprised.add(key)
                    break
                self.press("take")
                if key in self.values:
                    return True
            elif isinstance(heard, Asked) or any(
                w in heard.words for w in ("leave the pan", "clear the pan", "two parts", "due again", "cover the pan")
            ):
                pause = 3.4 if "three seconds" in getattr(heard, "words", "") else pause
                break
        if key in self.values:
            return True
        self.sheet.impatient += 1
        self.lift(pause=pause)
        self.say_clear()
        return False

    def press(self, choice: str) -> None:
        """Answer the question by a key."""
        self.sheet.keys_pressed += 1
        self.unanswered = None
        for decision in self.machine.answer(choice, int(self.scale.now_s * 1e9)):
            self.hear(decision)

    def say_clear(self) -> None:
        """Say that the pan is clear, when that was asked and it is."""
        asked = self.unanswered
        if asked is not None and "say that it is clear" in asked.question and not self.on:
            self.press("clear")
            self.run(0.5)

    def offer_wrong(self, key: str) -> None:
        """Lay a part of another kind."""
        self.sheet.wrong_offered += 1
        self.lay(self.other_kind())
        heard = self.run(PATIENCE_S, until=(Taken, Asked))
        if isinstance(heard, Taken) or key in self.values:
            self.sheet.wrong_taken += 1
        self.run(float(self.rng.uniform(0.6, 1.2)))
        self.lift()

    def offer_two(self, key: str) -> None:
        """Lay the due part with its neighbour."""
        self.sheet.two_offered += 1
        kind, place = key.split()
        self.lay(key, f"{kind} {int(place) % 8 + 1}")
        self.run(PATIENCE_S, until=(Taken, Asked))
        self.run(float(self.rng.uniform(0.6, 1.2)))
        self.lift()

    def lay_back(self, key: str) -> None:
        """Lift the part that was taken, and lay it back by mistake."""
        self.scale.lift()
        self.run(0.32)
        self.on.clear()
        self.run(float(self.rng.uniform(0.05, 0.6)))
        self.lay(key)
        self.run(float(self.rng.uniform(1.5, 4.0)), until=(Asked,))
        self.run(0.8)

    def swap(self) -> None:
        """Lay the next part without a pause."""
        assert self.due is not None
        following = f"{self.due[0]} {self.due[1]}"
        self.scale.lift()
        self.run(0.32)
        self.on.clear()
        self.run(float(self.rng.uniform(0.02, 0.3)))
        self.lay(following)
        self.wait(following)
        self.run(float(self.rng.uniform(0.35, 1.0)))


def _short(decision: Decision) -> str:
    if isinstance(decision, Taken):
        return f"TAKEN {decision.key} {decision.grams} u={decision.standard_uncertainty_g:.3f} {decision.doubtful}"
    if isinstance(decision, Asked):
        return f"ASKED {decision.question} {decision.choices}"
    if isinstance(decision, Advised):
        return f"ADVISED {decision.words}"
    if isinstance(decision, Lifted):
        return f"LIFTED {decision.key} {decision.final.grams if decision.final else ''}"
    return type(decision).__name__.upper()


SCENARIOS = {
    s.name: s
    for s in (
        Scenario("quiet", QUIET),
        Scenario("typical"),
        Scenario("mishaps", mix=MIX, share=MIX_SHARE, touch=TOUCH_SHARE),
        Scenario("quiet mishaps", QUIET, mix=MIX, share=MIX_SHARE, touch=TOUCH_SHARE),
        Scenario("wrong kinds", mix=("wrong kind",), share=0.15),
        Scenario("two at once", mix=("two at once",), share=0.10),
        Scenario("tare key", mix=("tare key",), share=0.08),
        Scenario("unit key", mix=("unit key",), share=0.08),
        Scenario("unplugged", mix=("unplugged",), share=0.15),
        Scenario("silence", mix=("silence",), share=0.15),
        Scenario("touch", mix=("touch",), share=0.30),
        Scenario("laid back", mix=("laid back",), share=0.15),
        Scenario("early lift", mix=("early lift",), share=0.10),
        Scenario("swap", mix=("swap",), share=0.30),
        Scenario("drift", replace(TYPICAL, drift_kg_per_s=(0.1e-3 / 60, 0.1e-3 / 60))),
        Scenario("little drift", replace(TYPICAL, drift_kg_per_s=(0.05e-3 / 60, 0.05e-3 / 60))),
    )
}


def play_jobs(name: str, *, seed: int, jobs: int) -> list[Sheet]:
    """Play jobs of a scenario."""
    return [JobPlay(SCENARIOS[name], seed * 1000 + k).play() for k in range(jobs)]
