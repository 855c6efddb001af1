"""Holes as stations of their own: which hole a cut is in, and what is then known of it, by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_scatter import Cut
from bench.computation.sense_checks_causes import Cause, suspicions
from bench.computation.sense_checks_holes import KnownHole, by_hole, with_holes
from bench.computation.stations import Station

FRONT = Station("front", 0, (1.0 + 0j, 0.25 + 0j), centre_deg=0.0, arc_deg=120.0)
REAR = Station("rear", 1, (0.1 + 0j, 0.9 + 0j), centre_deg=180.0, arc_deg=120.0)
MODEL = AnswerModel.start([FRONT, REAR]).first_reading([60.0 + 0j, 40.0 + 0j])


def test_a_new_hole_gets_a_name_and_a_deeper_one_is_the_nearest_of_its_station() -> None:
    known = [KnownHole("front", 10.0, "a"), KnownHole("front", 359.0, "b"), KnownHole("rear", 1.0, "c")]
    cuts = [
        Cut("front", 2.0, 5.0, deepens=True),
        Cut("front", 7.0, 5.0, deepens=True),
        Cut("front", 30.0, 5.0),
        Cut("rear", 150.0, 4.0),
    ]
    named, holes = by_hole(cuts, known)
    assert [c.station for c in named] == ["b", "a", "front hole 4", "rear hole 5"]
    assert [(c.angle_deg, c.grams) for c in named] == [(c.angle_deg, c.grams) for c in cuts]
    assert holes[:3] == tuple(known)
    assert [(h.station, h.angle_deg) for h in holes[3:]] == [("front", 30.0), ("rear", 150.0)]


def test_a_hole_that_was_there_before_anything_was_logged_is_new_to_us() -> None:
    named, holes = by_hole([Cut("front", 2.0, 5.0, deepens=True)], [KnownHole("rear", 2.0, "rear hole 1")])
    assert named[0].station == holes[1].name != "front"


@pytest.mark.parametrize(("measured", "stray_deg"), [(False, 1.5), (True, 0.5)])
def test_a_new_hole_turns_by_its_stray_on_both_planes_alike(measured: bool, stray_deg: float) -> None:
    cuts, holes = by_hole([Cut("front", 0.0, 20.0, measured=measured)], [])
    model = with_holes(MODEL, holes, cuts)
    assert model.effects[:, 2].tolist() == list(FRONT.effect)
    blocks = [
        model.covariance[4 + 4 * i : 8 + 4 * i, 4 + 4 * j : 8 + 4 * j] for i, j in ((0, 0), (0, 2), (2, 0), (2, 2))
    ]
    station, tied, back, hole = blocks
    assert tied == pytest.approx(station)
    assert back == pytest.approx(station)
    # a small turn moves effects of 1 and 0.25 by that much across: the second and fourth part
    more = np.zeros((4, 4))
    more[1, 1], more[3, 3] = math.radians(stray_deg) ** 2, math.radians(stray_deg) ** 2 / 16.0
    more[1, 3] = more[3, 1] = math.radians(stray_deg) ** 2 / 4.0
    assert hole - station == pytest.approx(more, abs=1e-15)


def test_the_forecast_of_a_first_cut_is_as_unsure_as_before() -> None:
    cuts = (Cut("front", 20.0, 30.0), Cut("front", 340.0, 15.0), Cut("rear", 190.0, 25.0))
    plain = MODEL.with_cuts(cuts).forecast()
    named, holes = by_hole(cuts, [])
    apart = with_holes(MODEL, holes, named).forecast()
    assert apart.left == pytest.approx(plain.left)
    assert apart.covariance == pytest.approx(plain.covariance)


def test_a_deepened_hole_is_known_better_than_a_new_one_beside_it() -> None:
    named, holes = by_hole([Cut("front", 0.0, 40.0)], [])
    once = with_holes(MODEL, holes, named)
    # the run after it teaches the direction of this hole: 60 less 40, a little turned
    learnt, _ = once.update([20.0 - 1.5j, 30.0 - 0.4j])
    deeper, same = by_hole([Cut("front", 0.0, 10.0, deepens=True)], holes)
    new, more = by_hole([Cut("front", 30.0, 10.0)], holes)
    unsure = [with_holes(learnt, h, c).forecast().covariance for c, h in ((deeper, same), (new, more))]
    assert np.linalg.det(unsure[0]) < 0.5 * np.linalg.det(unsure[1])
    assert len(same) == 1


def test_at_the_other_end_no_hole_is_deepened() -> None:
    named, holes = by_hole([Cut("front", 0.0, 20.0)], [])
    model = with_holes(replace(MODEL), holes, named)
    (other,) = [s for s in suspicions(model) if s.cause is Cause.OTHER_PLANE]
    assert [(c.station, c.deepens) for c in other.cuts] == [("rear", False)]
