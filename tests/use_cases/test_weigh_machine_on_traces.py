"""The weigh machine on simulated layings: what holds whatever the surroundings are."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from bench.capture.decisions import Decision, Expected, Lifted, Live, Phase, ScaleBack, ScaleLost, Taken
from bench.capture.weigh_machine import WeighMachine
from drivers.contract import Condition, LineFault, LinkChange, LinkState, Reading
from sim.placements import Placement, placements

CONDITIONS = [f"C{number}" for number in range(1, 13)]


def readings(placement: Placement) -> list[Reading | LineFault]:
    out: list[Reading | LineFault] = []
    for index, (at_s, value) in enumerate(zip(placement.line_s, placement.value_g, strict=True)):
        at_ns = int(at_s * 1e9) + 10**9
        if math.isnan(value):
            out.append(LineFault(at_ns, b"rubbish", "rubbish", "a line"))
            continue
        steady = None if placement.steady is None else bool(placement.steady[index])
        shown = Decimal(f"{value:.1f}" if placement.division_g > 0.05 else f"{value:.2f}")
        out.append(Reading(at_ns, shown, "g", Condition.WEIGHT, steady, None, str(shown).encode()))
    return out


def play(placement: Placement, *, nominal: float | None) -> list[Decision]:
    machine = WeighMachine()
    expected = Expected("part 1", "piston", "part 1", nominal, 1.0, light=placement.truth_g < 5.0)
    decided = list(machine.expect(expected))
    for item in readings(placement):
        decided += machine.feed(item)
        for decision in decided[-3:]:
            if isinstance(decision, Taken):
                machine.expect(Expected("part 2", "piston", "part 2", nominal, 1.0))
    return decided


@pytest.mark.parametrize("condition", CONDITIONS)
def test_a_laying_gives_at_most_one_value_and_it_is_near_the_truth(condition: str) -> None:
    taken_in_all, far = 0, 0
    for placement in placements(condition, 6, seed=90210):
        decided = play(placement, nominal=placement.truth_g)
        taken = [decision for decision in decided if isinstance(decision, Taken)]
        assert len(taken) <= 1
        for value in taken:
            taken_in_all += 1
            assert value.raw
            assert value.standard_uncertainty_g > 0
            far += abs(value.refined_g - placement.truth_g) > max(1.0, 5 * value.standard_uncertainty_g)
        assert all(decision.at_ns > 0 for decision in decided if isinstance(decision, Live))
    if condition == "C1":
        assert taken_in_all == 6
    # a lingering hand (C5, C12) is the one error no settling rule can see
    assert far <= (3 if condition in {"C5", "C12"} else 1)


def test_the_same_lines_give_the_same_decisions() -> None:
    for placement in placements("C2", 3, seed=5):
        assert play(placement, nominal=None) == play(placement, nominal=None)


def test_nothing_is_taken_after_the_link_was_lost_until_the_pan_was_seen_empty() -> None:
    (placement,) = placements("C1", 1, seed=3)
    items = readings(placement)
    on = next(i for i, item in enumerate(items) if item.at_ns > (placement.on_s + 1.0) * 1e9)
    machine = WeighMachine()
    machine.expect(Expected("part 1", "piston", "part 1", placement.truth_g, 1.0))
    decided: list[Decision] = []
    for item in items[: on // 2]:
        decided += machine.feed(item)
    lost = items[on // 2].at_ns
    decided += machine.feed(LinkChange(lost, LinkState.LOST, "gone", "look at the plug"))
    decided += machine.tick(lost + 10**9)
    decided += machine.feed(LinkChange(items[on].at_ns - 1, LinkState.OPEN))
    for item in items[on:]:
        decided += machine.feed(item)
    assert any(isinstance(decision, ScaleLost) for decision in decided)
    assert any(isinstance(decision, ScaleBack) for decision in decided)
    assert not any(isinstance(decision, Taken) for decision in decided)


@pytest.mark.parametrize("odd", [Condition.OVERLOAD, Condition.UNDERLOAD, Condition.NO_NUMBER])
def test_lines_without_a_weight_are_never_taken(odd: Condition) -> None:
    machine = WeighMachine()
    machine.expect(Expected("part 1", "piston", "part 1", 500.0, 1.0))
    decided: list[Decision] = []
    for tenth in range(200):
        value = Decimal("0.0") if tenth < 40 else None
        condition = Condition.WEIGHT if tenth < 40 else odd
        decided += machine.feed(Reading(tenth * 10**8 + 1, value, "g", condition, True, None, b""))
        decided += machine.tick(tenth * 10**8 + 2)
    assert not any(isinstance(decision, Taken | Lifted) for decision in decided)
    assert any(isinstance(d, Live) and d.phase is not Phase.TAKEN for d in decided)


def test_another_unit_holds_everything() -> None:
    machine = WeighMachine()
    machine.expect(Expected("part 1", "piston", "part 1", 500.0, 1.0))
    decided: list[Decision] = []
    for tenth in range(300):
        unit = "g" if tenth < 60 else "oz"
        value = Decimal("0.0") if tenth < 60 else Decimal("17.6")
        decided += machine.feed(Reading(tenth * 10**8 + 1, value, unit, Condition.WEIGHT, True, None, b""))
    assert not any(isinstance(decision, Taken) for decision in decided)
