"""Stations: what a hole does, where it may be, and which holes are one."""

from __future__ import annotations

import math

import pytest

from bench.computation.errors import QuantityError
from bench.computation.stations import (
    Drill,
    KeepOut,
    Station,
    angle_between_deg,
    checked_stations,
    effect_by_statics,
    stations_anywhere,
)


def test_lever_rule_by_hand() -> None:
    # planes 400 mm apart, hole 100 mm from the front at 45 mm radius, reading at 90 mm: half of 3/4 and of 1/4
    front, rear = effect_by_statics(position_mm=100, planes_mm=[0, 400], radius_mm=45, correction_radius_mm=90)
    assert (front, rear) == (pytest.approx(0.375), pytest.approx(0.125))
    # a hole in front of the front plane lifts the rear: moments about the front plane, -40 / 400
    front, rear = effect_by_statics(position_mm=-40, planes_mm=[0, 400], radius_mm=90, correction_radius_mm=90)
    assert (front, rear) == (pytest.approx(1.1), pytest.approx(-0.1))


@pytest.mark.parametrize("planes", [[0.0, 0.0], [0.0, 1.0, 2.0], []])
def test_planes_that_cannot_be_are_refused(planes: list[float]) -> None:
    with pytest.raises(QuantityError, match="planes_mm"):
        effect_by_statics(position_mm=0, planes_mm=planes, radius_mm=90, correction_radius_mm=90)


def test_arc_and_keep_outs() -> None:
    station = Station("front", 0, (1 + 0j,), centre_deg=350, arc_deg=60, keep_outs=(KeepOut(0, 8, "oil hole"),))
    assert [station.allows(a) for a in (319, 321, 349, 353, 7, 9, 19, 21)] == [
        False, True, True, False, False, True, True, False,
    ]  # fmt: skip


def test_a_cut_beside_a_hole_deepens_it() -> None:
    station = (
        Station("front", 0, (1 + 0j,), gap_deg=15).with_cut(angle_deg=10, grams=12).with_cut(angle_deg=13, grams=3)
    )
    assert [(h.angle_deg, h.grams) for h in station.holes] == [(10, 15)]
    assert len(station.with_cut(angle_deg=26, grams=1).holes) == 2


def test_limit_of_a_hole_follows_its_drill() -> None:
    station = Station("front", 0, (1 + 0j,), drills=(Drill(12, 20), Drill(16, 35)), most_g_per_hole=99)
    assert (station.most_g(16), station.most_g(12), station.most_g(None)) == (35, 20, 20)
    assert Station("rear", 0, (1 + 0j,)).most_g(None) == math.inf


def test_angles_go_the_short_way() -> None:
    assert angle_between_deg(350, from_deg=10) == -20
    assert angle_between_deg(-170, from_deg=170) == 20


def test_sets_that_cannot_be_planned_with_are_refused() -> None:
    assert len(checked_stations(stations_anywhere(["front", "rear"]))) == 2
    one = Station("a", 0, (1 + 0j, 0j))
    with pytest.raises(QuantityError, match="none in plane 1"):
        checked_stations([one])
    with pytest.raises(QuantityError, match=r"stations\[1\]\.name"):
        checked_stations([one, one])
    with pytest.raises(QuantityError, match="own plane"):
        checked_stations([Station("a", 0, (0j,))])
    with pytest.raises(QuantityError, match="at least one plane"):
        stations_anywhere([])
    with pytest.raises(QuantityError, match="a plane from 0"):
        checked_stations([Station("a", 2, (1 + 0j,))])
    with pytest.raises(QuantityError, match="1e\\+158 g a gram"):
        checked_stations([Station("a", 0, (1e158 + 0j,))])
