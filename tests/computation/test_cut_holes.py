"""How many grams each hole takes, and which holes: hand arithmetic, and numpy's pseudo-inverse."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.computation import cut_hole_costs as costs
from bench.computation import cut_holes as holes
from bench.computation.answer_model import AnswerModel
from bench.computation.cut_holes import cuts_for
from bench.computation.cut_sites import HoleSite, PlaneTask
from bench.computation.cut_trust import Trust
from bench.computation.stations import Drill, Hole, KeepOut, Station
from tests.computation.hole_sites import DISC, at, site, task

# ---- grams

vectors = st.builds(at, st.floats(0.3, 3.0), st.floats(0.0, 360.0))


@given(st.lists(vectors, min_size=1, max_size=5), st.builds(at, st.floats(0.1, 50.0), st.floats(0.0, 360.0)))
def test_the_smallest_amounts_against_the_pseudo_inverse(units: list[complex], effect: complex) -> None:
    # source: numpy.linalg.pinv, whose solution is the shortest of those that come nearest
    matrix = np.array([[u.real for u in units], [u.imag for u in units]])
    if len(units) > 1 and np.linalg.cond(matrix @ matrix.T) > 1e3:
        return
    expected = np.linalg.pinv(matrix) @ np.array([effect.real, effect.imag])
    # a trace of damping shifts the answer by a thousand million times less than the condition
    assert holes._least_norm(units, effect) == pytest.approx(
        expected.tolist(), abs=1e-5 * float(np.linalg.norm(expected))
    )


def test_holes_in_one_line_share_what_lies_along_it() -> None:
    assert holes._least_norm([1 + 0j, 1 + 0j], 6 + 5j) == pytest.approx([3.0, 3.0], rel=1e-6)
    assert holes._least_norm([1j, 2j], 10j) == pytest.approx([2.0, 4.0], rel=1e-6)
    assert holes._least_norm([1 + 1j, 1 + 1j], 6 + 6j) == pytest.approx([3.0, 3.0], rel=1e-6)
    assert holes._least_norm([1 - 1j, 2 - 2j, 2 - 2j], 9 - 9j) == pytest.approx([1.0, 2.0, 2.0], rel=1e-6)


@pytest.mark.parametrize(
    ("units", "rooms", "effect", "grams"),
    [
        ([1 + 0j, 1j], [9.0, 9.0], 3 + 4j, [3.0, 4.0]),
        ([1 + 0j, 1j], [2.0, 9.0], 3 + 4j, [2.0, 4.0]),
        # what the first cannot take goes to the second
        ([1 + 0j, 1 + 0j], [2.0, 9.0], 6 + 0j, [2.0, 4.0]),
        ([1 + 0j, 1 + 0j], [2.0, 3.0], 9 + 0j, [2.0, 3.0]),
        ([1 + 0j, 1 + 0j, 1 + 0j], [1.0, 2.5, 9.0], 9 + 0j, [1.0, 2.5, 5.5]),
        ([1 + 0j], [3.0], 3 + 1j, [3.0]),
        ([2 + 0j], [9.0], 3 + 1j, [1.5]),
        # one would have to be filled
        ([1 + 0j, 1j], [9.0, 9.0], 3 - 4j, None),
        ([1 + 0j], [9.0], -3 + 0j, None),
        ([1 + 0j], [9.0], 2j, [0.0]),
        # the first is full at 2 g, and what is left would have to be put back by the second: 6 less 2 at 60 degrees
        ([at(1.0, 60.0), 1 + 0j], [2.0, 9.0], at(6.0, 60.0), [2.0, 2.0]),
        ([], [], 3 + 0j, []),
    ],
)
def test_amounts(units: list[complex], rooms: list[float], effect: complex, grams: list[float] | None) -> None:
    sites = [
        HoleSite("disc", 0.0, room, 1 + 0j, None, False, {}, unit) for room, unit in zip(rooms, units, strict=True)
    ]
    found = holes._amounts(sites, effect)
    assert found == (None if grams is None else pytest.approx(grams, abs=1e-6))


SLACK = holes._SLACK_G


@pytest.mark.parametrize(
    ("angle", "grams", "changes", "scale"),
    [
        # 10 g are there and 1 g of metal may be missing to the right: of 20 g asked 11 go
        (0.0, 20.0, {"inward": (1 + 0j,), "least": (-1.0,)}, (11.0 + SLACK) / 20.0),
        (0.0, 9.0, {"inward": (1 + 0j,), "least": (-1.0,)}, 1.0),
        # what will have to go later is there as well
        (0.0, 20.0, {"inward": (1 + 0j,), "least": (-1.0,), "later": 5 + 0j}, (16.0 + SLACK) / 20.0),
        # along a slanted direction half of 20 g count, and half of the 10 that are there
        (60.0, 20.0, {"inward": (1 + 0j,), "least": (2.0,)}, (10.0 + SLACK) / 10.0),
        (0.0, 20.0, {"inward": (at(1.0, 60.0),), "least": (-1.0,)}, (6.0 + SLACK) / 10.0),
        # away from the direction nothing is held back
        (180.0, 20.0, {"inward": (1 + 0j,), "least": (-1.0,)}, 1.0),
        (90.0, 20.0, {"inward": (1 + 0j,), "least": (-1.0,)}, 1.0),
        # the nearest of several limits counts, wherever it stands
        (0.0, 20.0, {"inward": (1 + 0j, 1 + 0j), "least": (-1.0, -4.0)}, (11.0 + SLACK) / 20.0),
        (0.0, 20.0, {"inward": (1 + 0j, 1 + 0j), "least": (-4.0, -1.0)}, (11.0 + SLACK) / 20.0),
        # where the aim itself goes beyond, it may
        (0.0, 20.0, {"inward": (1 + 0j,), "least": (5.0,)}, (10.0 + SLACK) / 20.0),
        # little is held back as well
        (0.0, 0.8, {"inward": (1 + 0j,), "least": (0.0,), "take": 0.2 + 0j}, (0.2 + SLACK) / 0.8),
        # nothing there: nothing goes
        (0.0, 20.0, {"inward": (1 + 0j,), "least": (5.0,), "take": -10 + 0j}, 0.0),
        (0.0, 20.0, {}, 1.0),
    ],
)
def test_what_must_stay_holds_the_amounts_back(
    angle: float, grams: float, changes: dict[str, object], scale: float
) -> None:
    wanted = task(**{"take": 10 + 0j, **changes})  # type: ignore[arg-type]
    found = holes._held_back([site(angle), site(angle)], [0.25 * grams, 0.75 * grams], wanted)
    assert found == pytest.approx([0.25 * grams * min(scale, 1.0), 0.75 * grams * min(scale, 1.0)])


# ---- the whole choice


def cuts(
    station: Station, wanted: PlaneTask, *, most: int = 4, tolerance: float = 0.5
) -> list[tuple[float, float, bool]]:
    found = cuts_for(AnswerModel.start([station]), wanted, most_holes=most, tolerance_g=tolerance)
    assert all(cut.station == station.name for cut in found)
    assert all(0.0 <= cut.angle_deg < 360.0 for cut in found)
    return [(round(cut.angle_deg, 3), round(cut.grams, 3), cut.deepens) for cut in found]


def test_one_hole_where_it_has_to_go() -> None:
    assert cuts(DISC, task(at(10.0, 30.0)), tolerance=1.0) == [(30.0, 10.0, False)]
    assert cuts(DISC, task(at(10.0, -30.0)), tolerance=1.0) == [(330.0, 10.0, False)]
    drilled = replace(DISC, drills=(Drill(8.0, 4.0), Drill(12.0, 15.0)))
    (cut,) = cuts_for(AnswerModel.start([drilled]), task(at(10.0, 30.0)), most_holes=4, tolerance_g=1.0)
    assert cut.diameter_mm == 12.0


def test_much_beside_the_tolerance_goes_into_two_holes_whose_strays_average_out() -> None:
    # 3 % and 1.5 degrees of 10 g are 0.4 g a hole: with half a gram of tolerance two holes, with more than two no more
    found = cuts(DISC, task(at(10.0, 30.0)), tolerance=0.5)
    assert [(angle, deepened) for angle, _, deepened in found] == [(25.0, False), (35.0, False)]
    assert sum(at(grams, angle) for angle, grams, _ in found) == pytest.approx(at(10.0, 30.0), abs=1e-3)
    assert len(cuts(DISC, task(at(10.0, 30.0)), tolerance=0.1)) == 2
    # and so where the effect is not known: it counts with what the holes add up to
    unsure = AnswerModel.start([DISC], trust=Trust(own=0.2, cross=0.2))
    assert unsure.doubt_about(0) > 0.04
    assert len(cuts_for(unsure, task(at(10.0, 30.0), at(10.0, 30.0)), most_holes=4, tolerance_g=0.5)) == 2


def test_a_hole_in_the_way_of_it_is_deepened() -> None:
    there = replace(DISC, holes=(Hole(30.0, 5.0), Hole(200.0, 5.0)))
    assert cuts(there, task(at(10.0, 30.0))) == [(30.0, 10.0, True)]
    # 15 g of room
    found = cuts(there, task(at(25.0, 30.0)))
    assert sum(at(grams, angle) for angle, grams, _ in found) == pytest.approx(at(25.0, 30.0), abs=1.5)
    assert all(grams <= (15.0 if deepens else 20.0) for _, grams, deepens in found)


def test_no_more_holes_than_allowed_and_none_where_nothing_helps() -> None:
    there = replace(DISC, holes=(Hole(100.0, 20.0), Hole(200.0, 20.0)))
    assert cuts(there, task(at(10.0, 30.0)), most=2) == []
    assert cuts(there, task(at(10.0, 30.0)), most=1) == []
    assert cuts(there, task(at(10.0, 30.0)), most=3) == [(30.0, 10.0, False)]
    assert cuts(DISC, task(at(10.0, 30.0)), most=0) == []
    assert cuts(DISC, task(0j)) == []
    # less than a hole is worth stays
    assert cuts(DISC, task(at(0.04, 30.0)), tolerance=0.5) == []
    blocked = replace(DISC, keep_outs=(KeepOut(30.0, 180.0),))
    assert cuts(blocked, task(at(10.0, 30.0))) == []


def test_more_than_one_hole_holds_goes_into_several() -> None:
    found = cuts(DISC, task(at(50.0, 30.0)), tolerance=3.0)
    assert len(found) == 3
    assert all(grams <= 20.0 for _, grams, _ in found)
    assert sum(at(grams, angle) for angle, grams, _ in found) == pytest.approx(at(50.0, 30.0), abs=2.5)


def test_a_tolerance_that_is_wide_is_not_worth_another_hole() -> None:
    # 24 g: one hole leaves 4 g, a second one takes them as well
    assert len(cuts(DISC, task(at(24.0, 30.0)), tolerance=0.5)) == 2
    assert len(cuts(DISC, task(at(24.0, 30.0)), tolerance=30.0)) == 1
    # 3 g beside a tolerance of 30 are not worth any hole
    assert cuts(DISC, task(at(3.0, 30.0)), tolerance=30.0) == []


def test_of_holes_that_serve_nearly_alike_the_better_one_is_deepened() -> None:
    for angles in ((28.0, 30.0), (30.0, 28.0)):
        there = replace(DISC, holes=tuple(Hole(angle, 5.0) for angle in angles))
        assert cuts(there, task(at(5.0, 30.0)), most=2) == [(30.0, 5.0, True)]
    # holes to both sides, with 8 g of room, and a tolerance so wide that one of them is enough: the one is spared
    # that will be needed more
    sides = replace(DISC, holes=(Hole(0.0, 12.0), Hole(50.0, 12.0)))
    for later, used in ((0.0, 50.0), (50.0, 0.0)):
        ((angle, grams, deepened),) = cuts(sides, task(at(5.0, 25.0), at(12.0, later)), most=2, tolerance=30.0)
        assert (angle, deepened) == (used, True)
        assert grams == pytest.approx(5.0 * math.cos(math.radians(25.0)), abs=1e-3)


def test_the_last_hole_is_kept_for_what_is_likely_to_come_beside_those_that_are_there() -> None:
    there = replace(DISC, holes=(Hole(0.0, 5.0),))
    assert any(not deepened for _, _, deepened in cuts(there, task(at(10.0, 30.0)), most=2))
    likely = (at(30.0, 120.0), at(30.0, 120.0))
    ((angle, _, deepened),) = cuts(there, task(at(10.0, 30.0), likely=likely), most=2)
    assert (angle, deepened) == (0.0, True)


def test_of_two_holes_the_one_is_filled_that_will_be_missed_less() -> None:
    # 5 g of room each; a hole so dear that one has to do; what may come lies 20 degrees beyond the first
    sides = replace(DISC, holes=(Hole(0.0, 15.0), Hole(60.0, 15.0)))
    wanted = task(at(5.0, 30.0), likely=(at(6.0, -20.0), at(6.0, -20.0)))
    for there in (sides, replace(sides, holes=sides.holes[::-1])):
        ((angle, _, _),) = cuts(there, wanted, most=2, tolerance=30.0)
        assert angle == 60.0
    # a third one that misses nothing and fills no other is found wherever it stands among them
    three = replace(sides, holes=(*sides.holes[::-1], Hole(30.0, 12.0)))
    ((angle, grams, _),) = cuts(three, wanted, most=3, tolerance=30.0)
    assert (angle, grams) == (30.0, 5.0)


def test_of_three_holes_two_are_kept_at_first_and_one_later() -> None:
    # 35 g: two holes of 20 g, or one that leaves 15; later 15 g more at another place
    wanted = task(at(22.0, 30.0), at(15.0, 90.0))
    assert len(cuts(DISC, wanted, most=3)) == 1
    # with one hole made, which is full and out of the way, one of two that are left is kept
    made = replace(DISC, holes=(Hole(200.0, 20.0),))
    assert len(cuts(made, wanted, most=3)) == 1
    assert len(cuts(made, wanted, most=4)) == 2
    # with nothing to come nothing is kept
    assert len(cuts(DISC, task(at(22.0, 30.0)), most=3)) == 2


def test_holes_are_kept_for_what_comes_later() -> None:
    # 38 g need two holes of 20; of three holes allowed, with as much to come, one goes first
    later = task(at(38.0, 30.0), at(8.0, 60.0))
    assert len(cuts(DISC, later, most=3, tolerance=2.0)) <= 2
    assert len(cuts(DISC, task(at(15.0, 30.0), at(8.0, 60.0)), most=3)) == 1


def test_weights_are_in_their_order() -> None:
    weights = costs._SPARE_WEIGHTS
    assert list(weights) == sorted(weights, reverse=True)
