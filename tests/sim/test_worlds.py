"""The demo worlds: parts, cranks and the beginning they leave."""

from __future__ import annotations

import cmath
import math

import pytest

from sim.parts import KIND_PER_THROW, KINDS_PER_CYLINDER
from sim.worlds import build_world, grams_and_degrees

_SEEDS = range(12)


def test_the_same_seed_gives_the_same_world() -> None:
    one, other = build_world("v8", 4), build_world("v8", 4)
    assert one.parts.true_kg == other.parts.true_kg
    assert one.crank.rotor.masses == other.crank.rotor.masses
    assert build_world("v8", 5).parts.true_kg != one.parts.true_kg


def test_v8_has_every_part_once() -> None:
    keys = build_world("v8", 1).parts.true_kg
    wanted = {(kind, c) for kind in KINDS_PER_CYLINDER for c in range(1, 9)} | {
        (KIND_PER_THROW, t) for t in range(1, 5)
    }
    assert set(keys) == wanted
    assert set(KINDS_PER_CYLINDER) == {"piston", "pin", "rings", "locks", "rod_whole", "rod_small_end"}


@pytest.mark.parametrize("seed", _SEEDS)
def test_one_piston_and_one_big_end_stand_out(seed: int) -> None:
    parts = build_world("v8", seed).parts
    pistons = {c: parts.true_kg["piston", c] * 1000 for c in range(1, 9)}
    big_ends = {c: (parts.true_kg["rod_whole", c] - parts.true_kg["rod_small_end", c]) * 1000 for c in range(1, 9)}
    others = [m for c, m in pistons.items() if c != parts.heavy_piston]
    assert pistons[parts.heavy_piston] - sum(others) / 7 == pytest.approx(1.6, abs=0.35)
    others = [m for c, m in big_ends.items() if c != parts.heavy_rod]
    assert big_ends[parts.heavy_rod] - sum(others) / 7 == pytest.approx(2.3, abs=0.35)
    assert max(pistons, key=pistons.__getitem__) == parts.heavy_piston
    assert max(big_ends, key=big_ends.__getitem__) == parts.heavy_rod


def test_need_of_a_throw_is_the_usual_sum() -> None:
    # common practice, no source: two rods a pin, half of what goes up and down, oil 6 g
    parts = build_world("v8", 2).parts
    grams = {key: mass * 1000 for key, mass in parts.true_kg.items()}
    wanted = 6.0 + grams["rod_bearings", 3]
    for c in (5, 6):
        wanted += grams["rod_whole", c] - grams["rod_small_end", c]
        wanted += 0.5 * (grams["piston", c] + grams["pin", c] + grams["rings", c] + grams["locks", c])
        wanted += 0.5 * grams["rod_small_end", c]
    assert parts.need_kg(3) * 1000 == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("seed", _SEEDS)
def test_ideal_bobweights_leave_the_wanted_beginning(seed: int) -> None:
    world = build_world("v8", seed)
    front, rear = (grams_and_degrees(e) for e in world.crank.excess_kg(world.needs_kg()))
    assert front["amount_g"] == pytest.approx(70, abs=5)
    assert rear["amount_g"] == pytest.approx(40, abs=3)
    # the excess is where there is metal to drill: opposite the first and the last pin
    assert abs((front["angle_deg"] - 180 + 180) % 360 - 180) < 40
    assert abs((rear["angle_deg"] + 180) % 360 - 180) < 40


def test_v8_has_eight_counterweights_and_the_crossplane() -> None:
    crank = build_world("v8", 1).crank
    assert sum(m.what.startswith("counterweight") for m in crank.rotor.masses) == 8
    assert [round(math.degrees(a)) for a in crank.design.pins_rad] == [0, 90, 270, 180]


@pytest.mark.parametrize(
    ("throw", "front_share", "rear_share", "degrees"),
    [
        # by hand: 1 g at 46 mm is 46/90 g at 90 mm; pins lie 60, 170, 280, 390 mm behind the front plane of 450 mm
        (1, 390 / 450, 60 / 450, 0.0),
        (2, 280 / 450, 170 / 450, 90.0),
        (3, 170 / 450, 280 / 450, 270.0),
        (4, 60 / 450, 390 / 450, 180.0),
    ],
)
def test_a_bobweight_error_shows_up_where_it_should(
    throw: int, front_share: float, rear_share: float, degrees: float
) -> None:
    world = build_world("v8", 3)
    needs = world.needs_kg()
    before = world.crank.excess_kg(needs)
    after = world.crank.excess_kg({**needs, throw: needs[throw] + 0.001})
    for was, now, share in zip(before, after, (front_share, rear_share), strict=True):
        assert (now - was) * 1000 == pytest.approx(cmath.rect(46 / 90 * share, math.radians(degrees)), abs=1e-9)


def test_v6_begins_near_its_numbers_and_the_flywheel_needs_one_plane() -> None:
    v6 = build_world("v6", 1)
    front, rear = (abs(e) * 1000 for e in v6.crank.excess_kg(v6.needs_kg()))
    assert front == pytest.approx(46, abs=3)
    assert rear == pytest.approx(31, abs=2)
    assert len(v6.crank.design.pins_m) == 6
    wheel = build_world("flywheel", 1)
    front, rear = (abs(e) * 1000 for e in wheel.crank.excess_kg({}))
    assert front == pytest.approx(28, abs=3)
    assert rear == pytest.approx(0.0, abs=1e-9)
    assert wheel.parts.true_kg == {}


def test_an_unknown_world_is_refused() -> None:
    with pytest.raises(ValueError, match="wanted one of v8, v6, flywheel"):
        build_world("v12", 1)
