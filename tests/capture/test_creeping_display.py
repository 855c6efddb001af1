"""A display that averages slowly near rest goes on after the tone: such a scale is given longer."""

from __future__ import annotations

from bench.capture.creep import LONGER_S, REMEMBERED, CreepMemory
from bench.capture.decisions import Taken

SET = (450.0, 450.3, 449.8, 450.1)


def test_one_value_that_crept_on_makes_the_scale_slow_until_it_is_forgotten() -> None:
    creep = CreepMemory(0.1)
    creep.learn(0.03, single_g=0.005)
    assert creep.longer_s == 0.0
    creep.learn(0.09, single_g=0.005)
    assert creep.longer_s == LONGER_S
    for _ in range(REMEMBERED - 1):
        creep.learn(0.0, single_g=0.005)
    assert creep.longer_s == LONGER_S
    creep.learn(0.0, single_g=0.005)
    assert creep.longer_s == 0.0


def test_where_readings_scatter_nothing_is_said_of_creeping() -> None:
    creep = CreepMemory(0.1)
    creep.learn(0.2, single_g=0.06)
    assert creep.longer_s == 0.0


def _waits(shown_scale, due, *, late: float) -> list[float]:
    scale = shown_scale(*(due(f"piston {k}", members=SET) for k in (1, 2)))
    scale.show(0.0, 6.0)
    waits = []
    for _ in (1, 2):
        scale.move(0.0, 450.0)
        begun, before = scale.now_ns, len(scale.taken)
        while len(scale.taken) == before:
            scale.show(450.0, 0.1)
        waits.append((scale.of(Taken)[-1].at_ns - begun) / 1e9)
        scale.show(450.0 + late, 0.9)
        scale.lift(450.0 + late, 3.0)
    return waits


def test_the_next_tone_waits_longer_after_a_value_went_on_past_the_tone(shown_scale, due) -> None:
    first, second = _waits(shown_scale, due, late=0.0)
    crept_first, crept_second = _waits(shown_scale, due, late=0.1)
    assert crept_first == first
    assert abs(second - first) < 0.11
    assert LONGER_S - 0.11 < crept_second - second < LONGER_S + 0.11
