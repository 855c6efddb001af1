"""Single placements: our machine in a loop with its operator, plain rules on the same traces."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np
from plain_rules import Capture, plain_captures
from weighing_traces import PER_SCALE, Bench, Line, Placement, bench

from bench.capture.decisions import Advised, Asked, Doubted, Expected, Lifted, Live, Member, Taken
from bench.capture.weigh_machine import WeighMachine
from drivers.contract import Condition, LineFault, Reading

WAITED_S = 14.0
REACTION_S = (0.35, 1.0)


@dataclass(slots=True)
class Outcome:
    """What became of one placement with our machine."""

    truth: Placement
    division_g: float
    taken_s: float | None = None
    at_tone_g: float = 0.0
    final_g: float = 0.0
    u_g: float = 0.0
    doubtful: bool = False
    amended: bool = False
    doubted: bool = False
    asked: int = 0
    words: list[tuple[float, str]] = field(default_factory=list)
    plain: dict[str, Capture] = field(default_factory=dict)


class _Wire:
    def __init__(self, division_g: float) -> None:
        self._step = Decimal(str(round(division_g, 6)))

    def reading(self, line: Line, base_s: float) -> Reading | LineFault:
        at_ns = int((base_s + line.at_s) * 1e9)
        if line.damaged:
            return LineFault(at_ns, b"?", "?", "a line of the profile")
        value = line.steps * self._step
        raw = str(value).encode()
        return Reading(at_ns, value, "g", Condition.WEIGHT, line.steady, None, raw)


def expected_of(truth: Placement, number: int) -> Expected:
    """Return what the machine is told about a placement."""
    return Expected(
        key=f"{truth.kind} {number}",
        kind=truth.kind,
        label=f"{truth.kind} {number}",
        members=tuple(Member(truth.kind, place, grams) for place, grams in enumerate(truth.members_g, start=10)),
        light=truth.kind == "locks",
        swings=truth.kind == "rod_small_end",
    )


def _truth_of(made: Bench, number: int) -> Placement:
    return Placement(made.kinds[number], made.mass_g[number], made.members_g[number], 0, 0, 0, lingers=False)


def play_bench(made: Bench, *, seed: int, number: int, plain: bool = True) -> list[Outcome]:
    """Lay every part of a bench once."""
    machine = WeighMachine()
    wire = _Wire(made.division_g)
    outcomes: list[Outcome] = []
    base_s = 5.0
    last: Outcome | None = None
    reactions = np.random.default_rng([seed, number, 9]).uniform(*REACTION_S, PER_SCALE)
    for place in range(PER_SCALE):
        lines, truth = made.make(place)
        outcome = Outcome(truth, made.division_g)
        if plain:
            outcome.plain = plain_captures(lines, truth, made.division_g, flag_kind=int(made.pans.flag_kind[0]))
        if place == 0:
            machine.expect(expected_of(_truth_of(made, 0), 0))
        until = truth.contact_s + WAITED_S
        fed = 0.0
        lifted = False
        index = 0
        while index < len(lines):
            line = lines[index]
            index += 1
            if not lifted and line.at_s > until:
                lifted = True
                lines, _ = made.make(place, lifted_s=until)
                index = next((k for k, x in enumerate(lines) if x.at_s > fed), len(lines))
                continue
            fed = line.at_s
            for decision in machine.feed(wire.reading(line, base_s)):
                if isinstance(decision, Live):
                    continue
                if isinstance(decision, Taken):
                    outcome.taken_s = line.at_s
                    outcome.at_tone_g = outcome.final_g = decision.refined_g
                    outcome.u_g, outcome.doubtful = decision.standard_uncertainty_g, decision.doubtful
                    until = min(until, line.at_s + float(reactions[place]))
                    following = expected_of(_truth_of(made, place + 1), place + 1) if place + 1 < PER_SCALE else None
                    machine.expect(following)
                    last = outcome
                elif isinstance(decision, Lifted) and last is not None:
                    if decision.final is not None:
                        last.final_g, last.amended = decision.final.refined_g, True
                        last.u_g = decision.final.standard_uncertainty_g
                        last.doubtful = decision.final.doubtful
                    last = None
                elif isinstance(decision, Doubted) and last is not None:
                    last.doubted = True
                    last = None
                elif isinstance(decision, Asked):
                    outcome.asked += 1
                    outcome.words.append((line.at_s - truth.contact_s, decision.question))
                elif isinstance(decision, Advised):
                    outcome.words.append((line.at_s - truth.contact_s, decision.words))
        if outcome.taken_s is None:
            machine.expect(expected_of(_truth_of(made, place + 1), place + 1) if place + 1 < PER_SCALE else None)
        base_s += fed + 0.1
        outcomes.append(outcome)
    return outcomes


def play(name: str, *, seed: int, count: int, plain: bool = True, rate_hz: float | None = None) -> list[Outcome]:
    """Play placements of a condition."""
    outcomes: list[Outcome] = []
    for number in range(-(-count // PER_SCALE)):
        made = bench(name, seed, number, rate_hz=rate_hz)
        outcomes += play_bench(made, seed=seed, number=number, plain=plain)
    return outcomes[:count]
