"""Mistakes of the bench played on a rotor whose answer is known: what is said of them.

The rotor here is plain complex arithmetic: what is left is what was there less what was really cut.
"""

from __future__ import annotations

import cmath
import math

import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_tooling import without_tooling
from bench.computation.cut_scatter import Cut
from bench.computation.cut_verdict import Standing, run_verdict
from bench.computation.sense_checks import SenseCheck, check_sense
from bench.computation.sense_checks_beliefs import Beliefs
from bench.computation.sense_checks_causes import Cause
from bench.computation.stations import Station, stations_anywhere


def at(grams: float, degrees: float) -> complex:
    return cmath.rect(grams, math.radians(degrees))


START = (at(60.0, 30.0), at(40.0, 200.0))


def checked(
    asked: list[Cut], really: tuple[complex, complex], *, factor: float = 1.0, swap: bool = False
) -> SenseCheck:
    fresh = AnswerModel.start(stations_anywhere(["front", "rear"]))
    model = fresh.first_reading(START).after_cuts(asked)
    shown = [(START[0] - really[0]) * factor, (START[1] - really[1]) * factor]
    return check_sense(model, shown[::-1] if swap else shown, Beliefs.start(fresh).first_reading(START))


def test_a_cut_as_asked_makes_sense() -> None:
    check = checked([Cut("front", 30.0, 30.0)], (at(30.3, 30.5), 0j))
    assert not check.alarm
    assert check.in_words() == "the run is where it was expected"


@pytest.mark.parametrize(
    ("really", "cause"),
    [
        ((at(30.0, -30.0), 0j), Cause.MIRRORED),
        ((at(30.0, 210.0), 0j), Cause.OPPOSITE),
        ((at(30.0, 60.0), 0j), Cause.ANGLE_OFF),
        ((at(60.0, 30.0), 0j), Cause.TWICE),
        ((0j, at(30.0, 30.0)), Cause.OTHER_PLANE),
    ],
)
def test_the_mistake_is_named(really: tuple[complex, complex], cause: Cause) -> None:
    check = checked([Cut("front", 30.0, 30.0)], really)
    assert check.alarm
    first = check.explanations[0]
    # a mirrored 30 degrees is also a hole 60 degrees off: either is true
    assert first.cause is cause or (cause is Cause.MIRRORED and first.cause is Cause.ANGLE_OFF)
    assert first.plane_index == 0
    assert "Most likely" in check.in_words()
    assert "front" in check.in_words()


def test_units_and_planes_of_the_run() -> None:
    ounces = checked([Cut("front", 30.0, 30.0)], (at(30.0, 30.0), 0j), factor=1 / 28.349523125)
    assert ounces.explanations[0].cause is Cause.OUNCES
    swapped = checked([Cut("front", 30.0, 30.0)], (at(30.0, 30.0), 0j), swap=True)
    assert swapped.explanations[0].cause is Cause.RUN_PLANES


def test_one_hole_of_two_cut_twice_and_a_hole_on_the_wrong_side() -> None:
    two = [Cut("front", 15.0, 15.0), Cut("front", 45.0, 15.0)]
    check = checked(two, (at(30.0, 15.0) + at(15.0, 45.0), 0j))
    assert check.explanations[0].cause in {Cause.TWICE_ONE_HOLE, Cause.ANGLE_OFF}
    station = Station("front", 0, (1 + 0j, 0j), centre_deg=0.0, arc_deg=120.0)
    rear = Station("rear", 1, (0j, 1 + 0j), centre_deg=180.0, arc_deg=120.0)
    model = AnswerModel.start([station, rear]).first_reading(START).after_cuts([Cut("front", 30.0, 30.0)])
    wrong = check_sense(model, [START[0] - at(30.0, -30.0), START[1]])
    assert wrong.explanations[0].cause in {Cause.MIRRORED, Cause.MIRRORED_IN_ARC, Cause.ANGLE_OFF}


def test_a_moved_bobweight_shows_on_a_run_without_a_cut() -> None:
    model = AnswerModel.start(stations_anywhere(["front", "rear"])).first_reading(START)
    check = check_sense(model, [START[0] + at(3.0, 100.0), START[1] + at(1.0, 100.0)])
    assert check.alarm
    assert check.explanations[0].cause is Cause.SLIPPED
    assert "re-seat the bobweights" in check.in_words()
    one = AnswerModel.start(stations_anywhere(["disc"])).first_reading([START[0]])
    assert check_sense(one, [START[0] + at(4.0, 10.0)]).alarm


def test_tooling_found_by_turning_the_set_is_taken_off() -> None:
    # the set turned by 180 degrees: rotor (60 at 30) stays, 2 g of tooling at 0 turn round (ISO 21940-14's idea)
    model = AnswerModel.start(stations_anywhere(["front", "rear"])).first_reading([START[0] + 2.0, START[1]])
    turned = [[START[0] + 2.0, START[1]], [START[0] - 2.0, START[1]]]
    cleaned = without_tooling(model, turned, index_deg=[0.0, 180.0])
    assert abs(complex(cleaned.left[0]) - START[0]) < 0.5
    assert not check_sense(cleaned, [START[0] + 2.0, START[1]]).alarm


def test_a_run_is_judged_with_what_is_not_known() -> None:
    model = AnswerModel.start(stations_anywhere(["front", "rear"])).first_reading([at(0.2, 10.0), at(0.3, 99.0)])
    inside = run_verdict(model, [at(0.2, 10.0), at(0.3, 99.0)], tolerance_g=[1.0, 1.0])
    assert inside.whole is Standing.INSIDE
    far = AnswerModel.start(stations_anywhere(["front", "rear"])).first_reading(START)
    assert run_verdict(far, START, tolerance_g=[1.0, 1.0]).whole is Standing.OUTSIDE
