"""A weigh machine on a live simulated scale, part after part, with hands and a scale that do what goes wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from decimal import Decimal

import numpy as np

from bench.capture.decisions import Advised, Asked, Decision, Doubted, Expected, Live, Member, Taken
from bench.capture.weigh_machine import WeighMachine
from drivers.contract import Condition, LinkChange, LinkState, Reading
from sim.conditions import CONDITIONS
from sim.indicator import Shown
from sim.scale import Scale

SURROUNDINGS = replace(CONDITIONS["C1"], rates_hz=(5.0, 8.0, 10.0, 12.5, 16.0, 20.0))
KINDS_G = {"piston": 586.0, "pin": 152.0, "rings": 44.0, "rod_whole": 742.0, "rod_bearings": 48.0}
A_SET = 8

Altered = Callable[[Shown], Shown | None]
"""What the scale sends in place of what it shows; None when it says nothing."""


@dataclass(slots=True)
class Laying:
    """All that was decided from an empty pan to the next empty pan."""

    parts_g: list[float] = field(default_factory=list)
    heard: list[Decision] = field(default_factory=list)

    @property
    def taken(self) -> list[Taken]:
        """The values that were taken and not doubted again."""
        doubted = sum(isinstance(one, Doubted) for one in self.heard)
        values = [one for one in self.heard if isinstance(one, Taken)]
        return values[: len(values) - doubted] if doubted else values

    @property
    def asked(self) -> bool:
        """Whether the person was asked or told that a value does not stand."""
        return any(isinstance(one, Asked | Doubted) for one in self.heard)


class ScalePlayer:
    """One scale, one weigh machine and endless sets of parts.

    Parameters
    ----------
    seed : int
        Of everything that is drawn.
    """

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng([seed, 1])
        self.scale = Scale(SURROUNDINGS, np.random.default_rng([seed, 2]))
        self.machine = WeighMachine()
        self.altered: Altered = lambda shown: shown
        self.laying = Laying()
        self.members: list[Member] = []
        self.kind = "piston"
        self.middle_g = 0.0
        self.due_g = 0.0
        self.number = 0
        self.first_of_set = True
        self.next_part()
        self.run(12.0)

    @property
    def now_ns(self) -> int:
        """The scale's own time. [ns]"""
        return int(self.scale.now_s * 1e9) + 1

    def next_part(self) -> None:
        """Make another part due: the next of its set, or the first of another kind."""
        self.first_of_set = self.number % A_SET == 0
        if self.first_of_set:
            self.kind = str(self.rng.choice([kind for kind in KINDS_G if kind != self.kind]))
            self.members.clear()
            self.middle_g = KINDS_G[self.kind] * float(self.rng.uniform(0.9, 1.1))
        self.number += 1
        self.due_g = self.another_of_the_set()
        self.expect()

    def another_of_the_set(self) -> float:
        """Return the weight of another part of this kind. [g]"""
        return self.middle_g + max(0.1, 0.001 * self.middle_g) * float(np.clip(self.rng.standard_normal(), -3, 3))

    def expect(self) -> None:
        """Tell the machine what is due."""
        nominals = {**KINDS_G, self.kind: self.middle_g}
        expected = Expected(
            f"{self.kind} {self.number}",
            self.kind,
            f"{self.kind} {self.number}",
            nominal_g=round(self.middle_g, 1),
            limit_g=1.0,
            members=tuple(self.members),
            nominals=tuple(nominals.items()),
        )
        self.hear(self.machine.expect(expected))

    def hear(self, decisions: list[Decision]) -> None:
        """Do what the program does with a decision."""
        for decision in decisions:
            if isinstance(decision, Live):
                continue
            self.laying.heard.append(decision)
            if isinstance(decision, Taken):
                self.members.append(Member(self.kind, self.number, float(decision.grams)))
                self.next_part()
            elif isinstance(decision, Doubted):
                self.members = [one for one in self.members if f"{one.kind} {one.place}" != decision.key]

    def run(self, seconds: float, *, until: tuple[type, ...] = ()) -> Decision | None:
        """Let the scale go on; stop when something of this kind is heard."""
        end = self.scale.now_s + seconds
        known = len(self.laying.heard)
        while self.scale.now_s < end:
            shown = self.scale.advance()
            if shown is None:
                continue
            sent = self.altered(shown)
            if sent is None:
                self.hear(self.machine.tick(self.now_ns))
                continue
            self.hear(self.machine.feed(self.reading(sent)))
            for decision in self.laying.heard[known:]:
                if until and isinstance(decision, until):
                    return decision
            known = len(self.laying.heard)
        return None

    def reading(self, shown: Shown) -> Reading:
        """Return the line as a driver reads it."""
        condition = Condition.WEIGHT
        value = None if shown.value is None else Decimal(f"{shown.value:.{shown.decimals}f}")
        if value is None:
            condition = Condition.OVERLOAD if shown.over else Condition.UNDERLOAD
        return Reading(self.now_ns, value, shown.unit, condition, shown.steady, None, f"{value} {shown.unit}".encode())

    def link(self, state: LinkState) -> None:
        """Let the link change its state."""
        self.hear(self.machine.feed(LinkChange(self.now_ns, state, "", "look at the plug")))

    def lay(self, *grams: float) -> None:
        """Lay parts, all at once."""
        self.laying.parts_g += grams
        self.scale.lay(sum(grams) / 1000.0)

    def lift(self, *, pause_s: float | None = None) -> Laying:
        """Lift everything, leave the pan empty, and return what was decided since the pan was empty before."""
        self.scale.lift()
        told = any("pan empty" in one.words for one in self.laying.heard if isinstance(one, Advised))
        asked_s = 4.0 if told else float(self.rng.uniform(1.2, 2.5))
        self.run(asked_s if pause_s is None else pause_s)
        done, self.laying = self.laying, Laying()
        return done

    def weigh(self) -> Laying:
        """Weigh what is due without a mishap."""
        self.lay(self.due_g)
        self.run(9.0, until=(Taken, Asked))
        self.run(float(self.rng.uniform(0.3, 1.0)))
        return self.lift()
