"""Where holes may go, and the heavy metal where none may: on stations small enough to see the answer."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_heavy_metal import HeavyMetal, heavy_metal_for
from bench.computation.cut_reach import Reach
from bench.computation.cut_sites import (
    LEAST_CUT_G,
    HoleSite,
    PlaneTask,
    _fans,
    _free_angle,
    _pushed_inside,
    _stations_for,
    choices,
    existing_sites,
    shared_doubt,
)
from bench.computation.cut_trust import Trust
from bench.computation.stations import Drill, Hole, KeepOut, Station, angle_between_deg

ROUND = Station("disc", 0, (1 + 0j,), gap_deg=10.0)
# metal from 60 to 120 degrees
ARC = Station("front", 0, (1 + 0j,), centre_deg=90.0, arc_deg=60.0, gap_deg=14.0)


def at(grams: float, angle_deg: float) -> complex:
    return cmath.rect(grams, math.radians(angle_deg))


def task(take: complex, *, effect: complex = 1 + 0j) -> PlaneTask:
    return PlaneTask(0, effect, take, 0j, (), ())


@pytest.mark.parametrize(
    ("angle", "width", "middle"),
    [
        (80.0, 0.0, 80.0),
        (200.0, 0.0, 120.0),
        (0.0, 0.0, 60.0),
        # a fan 40 degrees wide has 10 degrees to each side
        (80.0, 40.0, 80.0),
        (200.0, 40.0, 100.0),
        (0.0, 40.0, 80.0),
        # one wider than the arc stands in its middle
        (100.0, 80.0, 90.0),
        # once round more
        (460.0, 0.0, 100.0),
    ],
)
def test_a_fan_is_pushed_into_the_arc(angle: float, width: float, middle: float) -> None:
    assert _pushed_inside(ARC, angle, width) == pytest.approx(middle)


def test_a_round_station_pushes_nothing() -> None:
    assert _pushed_inside(ROUND, 300.0, 50.0) == 300.0
    assert _pushed_inside(Station("r", 0, (1 + 0j,), centre_deg=90.0, arc_deg=360.0), 300.0, 50.0) == 300.0


@pytest.mark.parametrize(
    ("holes", "keep_outs", "taken", "asked", "found"),
    [
        ((), (), (), 75.0, 75.0),
        ((), (), (), 130.0, 120.0),
        ((), (), (), 30.0, 60.0),
        ((90.0,), (), (), 92.0, 104.0),
        ((90.0,), (), (), 88.0, 76.0),
        ((90.0,), (), (), 104.0, 104.0),
        ((), (), (90.0,), 88.0, 76.0),
        # the near side has no metal, or another hole: the far side
        ((110.0,), (), (), 112.0, 96.0),
        ((90.0,), (), (110.0,), 92.0, 76.0),
        ((70.0, 90.0), (), (), 79.0, 104.0),
        ((), ((100.0, 10.0),), (), 97.0, 90.0),
        ((), ((100.0, 10.0),), (), 104.0, 110.0),
        ((), ((90.0, 40.0),), (), 90.0, None),
        ((76.0, 104.0), ((90.0, 1.0),), (), 91.0, 118.0),
    ],
)
def test_a_hole_gives_way_to_the_nearest_place(
    holes: tuple[float, ...],
    keep_outs: tuple[tuple[float, float], ...],
    taken: tuple[float, ...],
    asked: float,
    found: float | None,
) -> None:
    station = replace(
        ARC,
        holes=tuple(Hole(angle, 1.0) for angle in holes),
        keep_outs=tuple(KeepOut(middle, half) for middle, half in keep_outs),
    )
    assert _free_angle(station, asked, taken) == (None if found is None else pytest.approx(found))


def fans(station: Station, towards: float, count: int) -> list[list[float]]:
    found = [[site.angle_deg for site in fan] for fan in _fans(station, towards, count, 1 + 0j, doubt={})]
    return [[pytest.approx(angle) for angle in fan] for fan in found]


def test_fans_stand_about_their_direction() -> None:
    assert fans(ROUND, 50.0, 1) == [[50.0], [40.0], [60.0], [30.0], [70.0]]
    # one gap, two and three apart
    assert fans(ROUND, 50.0, 2) == [[45.0, 55.0], [40.0, 60.0], [35.0, 65.0]]
    assert fans(ROUND, 50.0, 3) == [[40.0, 50.0, 60.0], [30.0, 50.0, 70.0], [20.0, 50.0, 80.0]]
    # four holes 14 degrees apart need 42 of the 60; wider fans do not fit and squeeze into the same places or none
    for fan in _fans(ARC, 95.0, 4, 1 + 0j, doubt={}):
        angles = sorted(site.angle_deg for site in fan)
        assert len(angles) == 4
        assert all(ARC.allows(angle) for angle in angles)
        assert all(b - a >= 14.0 - 1e-6 for a, b in zip(angles, angles[1:], strict=False))
    assert len(list(_fans(ARC, 95.0, 4, 1 + 0j, doubt={}))) >= 1
    assert list(_fans(ARC, 95.0, 6, 1 + 0j, doubt={})) == []


def test_a_place_that_was_offered_does_not_end_the_offers() -> None:
    # at the edge: pushed back to it twice, in between and afterwards one and two gaps inward
    assert fans(ARC, 60.0, 1) == [[60.0], [74.0], [88.0]]
    # both edges of less than a degree of metal are two places
    assert fans(replace(ARC, arc_deg=0.8), 90.0, 1) == [[90.0], [89.6], [90.4]]


def test_no_fan_is_offered_twice() -> None:
    # far off the arc every single hole is pushed to the edge, to where it has its place beside a hole
    narrow = replace(ARC, arc_deg=4.0)
    assert fans(narrow, 180.0, 1) == [[92.0], [88.0]] or fans(narrow, 180.0, 1) == [[92.0]]
    keys = [tuple(round(site.angle_deg, 3) for site in fan) for fan in _fans(ARC, 118.0, 1, 1 + 0j, doubt={})]
    assert len(set(keys)) == len(keys)


def test_every_drill_is_offered_at_every_place() -> None:
    drilled = replace(ROUND, drills=(Drill(8.0, 4.0), Drill(12.0, 9.0)))
    found = list(_fans(drilled, 90.0, 2, 2 + 0j, doubt={"disc": 0.3}))
    assert [(fan[0].diameter_mm, fan[0].room_g) for fan in found] == [(8.0, 4.0), (12.0, 9.0)] * 3
    for fan in found:
        assert [site.diameter_mm for site in fan] == [fan[0].diameter_mm] * 2
        for site in fan:
            assert (site.station, site.deepens, site.doubt, site.per_gram) == ("disc", False, {"disc": 0.3}, 2 + 0j)
            assert site.unit == pytest.approx(at(2.0, site.angle_deg))
    (single, *_) = _fans(replace(ROUND, most_g_per_hole=7.0), 90.0, 1, 1j, doubt={"disc": 0.3})
    assert (single[0].room_g, single[0].diameter_mm) == (7.0, None)
    # a gram here turns by a quarter
    assert single[0].unit == pytest.approx(at(1.0, 180.0))
    # what has no limit has a room that can be reckoned with
    (endless, *_) = _fans(ROUND, 90.0, 1, 1 + 0j, doubt={"disc": 0.3})
    assert math.isfinite(endless[0].room_g)
    assert endless[0].room_g > 1e5


def test_new_holes_come_one_to_four_at_a_time_and_never_more_than_may_be_drilled() -> None:
    model = AnswerModel.start([ROUND])
    for slots in range(7):
        counts = {len(choice) for choice in choices(model, task(at(5.0, 30.0)), (), slots)}
        assert counts == set(range(1, min(slots, 4) + 1))
    # the first place tried is where metal has to go
    first = next(iter(choices(model, task(at(5.0, 30.0)), (), 1)))
    assert [site.angle_deg for site in first] == [pytest.approx(30.0)]
    # where 1 g at the station works like 2 g a quarter further on than the plane's usual gram, the hole lies back
    turned = AnswerModel.start([replace(ROUND, effect=(2j,))])
    back = next(iter(choices(turned, task(at(5.0, 30.0), effect=1 + 0j), (), 1)))
    assert [site.angle_deg for site in back] == [pytest.approx(-60.0)]
    assert back[0].unit == pytest.approx(at(2.0, 30.0))
    same = next(iter(choices(turned, task(at(5.0, 30.0), effect=2j), (), 1)))
    assert [site.angle_deg for site in same] == [pytest.approx(30.0)]


def site(angle: float, room: float = 5.0, name: str = "disc", *, deepens: bool = True) -> HoleSite:
    return HoleSite(name, angle, room, 1 + 0j, None, deepens, {}, at(1.0, angle))


def test_of_many_holes_no_more_than_four_are_deepened_at_once_and_two_beside_new_ones() -> None:
    there = [site(60.0 * k) for k in range(5)]
    model = AnswerModel.start([replace(ROUND, holes=tuple(Hole(60.0 * k, 1.0) for k in range(5)))])
    found = list(choices(model, task(at(5.0, 30.0)), there, 3))
    alone = [choice for choice in found if all(s.deepens for s in choice)]
    # 5 + 10 + 10 + 5 ways to take one to four of five
    assert [sum(len(choice) == n for choice in alone) for n in range(6)] == [0, 5, 10, 10, 5, 0]
    new = {n: [c for c in found if sum(not s.deepens for s in c) == n] for n in (1, 2, 3)}
    for n in (1, 2):
        fresh = [c for c in new[n] if len(c) == n]
        # each with none, with one of five and with two of five
        assert len(new[n]) == len(fresh) * (1 + 5 + 10)
    assert all(len(c) == 3 for c in new[3])
    assert new[3]


def test_holes_with_room_left_may_be_deepened() -> None:
    drilled = replace(
        ROUND,
        drills=(Drill(8.0, 4.0), Drill(12.0, 9.0)),
        holes=(Hole(10.0, 3.0, 8.0), Hole(50.0, 9.0, 12.0), Hole(90.0, 8.9, 12.0), Hole(130.0, 1.5)),
    )
    elsewhere = Station("rear", 1, (0j, 1 + 0j), holes=(Hole(0.0, 1.0),))
    model = AnswerModel.start([replace(drilled, effect=(1 + 0j, 0j)), elsewhere])
    found = existing_sites(model, task(5 + 0j))
    # full; of unknown make: the narrowest drill's limit
    assert [(s.angle_deg, s.diameter_mm, s.deepens) for s in found] == [
        (10.0, 8.0, True), (90.0, 12.0, True), (130.0, None, True),
    ]  # fmt: skip
    assert [s.room_g for s in found] == pytest.approx([1.0, 0.1, 2.5])
    assert all(s.doubt == shared_doubt(model, 0) for s in found)
    # room for no more than what is worth no cut
    little = replace(ROUND, most_g_per_hole=LEAST_CUT_G, holes=(Hole(10.0, 0.0),))
    assert existing_sites(AnswerModel.start([little]), task(5 + 0j)) == []


def test_stations_are_unsure_together_by_what_they_share() -> None:
    # sizes 1 and 2 known to a fifth, a quarter of the variance by each alone; turned by 0.1 rad together; the third
    # acts on another plane and shares nothing
    trust = Trust(own=0.2, turned_deg=math.degrees(0.1), cross=0.0001, cross_turned=0.0, shared=0.75, doubt=1.0)
    stations = [Station("a", 0, (1 + 0j, 0j)), Station("b", 0, (2 + 0j, 0j)), Station("c", 1, (0j, 1 + 0j))]
    found = shared_doubt(AnswerModel.start(stations, trust=trust), 1)
    assert found == pytest.approx({"a": 0.75 * 0.08 + 0.02, "b": 0.16 + 0.04, "c": 0.0}, abs=1e-6)


def test_of_stations_in_reach_those_that_are_known_best_are_used() -> None:
    # the doubt grows with the square of the effect
    stations = [Station(name, 0, (effect + 0j,)) for name, effect in (("far", 4.0), ("near", 1.0), ("mid", 2.0))]
    model = AnswerModel.start(stations)
    assert [s.name for s in _stations_for(model, task(at(5.0, 30.0)))] == ["near", "mid"]
    # out of reach counts before doubt: near and mid have metal on the other side only
    aside = [
        stations[0],
        replace(stations[1], centre_deg=210.0, arc_deg=60.0),
        replace(stations[2], centre_deg=180.0, arc_deg=60.0),
    ]
    model = AnswerModel.start(aside)
    assert [s.name for s in _stations_for(model, task(at(5.0, 30.0)))] == ["far", "mid"]
    # within the arc every place is as good
    inside = [replace(s, centre_deg=30.0 + turn, arc_deg=60.0) for s, turn in zip(stations, (0, 29, -29), strict=True)]
    model = AnswerModel.start(inside)
    assert [s.name for s in _stations_for(model, task(at(5.0, 30.0)))] == ["near", "mid"]
    # turned by a quarter by the effect: metal has to go at -60
    quarter = [
        Station("straight", 0, (1j,), centre_deg=30.0, arc_deg=60.0),
        Station("back", 0, (2j,), centre_deg=-60.0, arc_deg=60.0),
        Station("right", 0, (1j,), centre_deg=-100.0, arc_deg=60.0),
    ]
    model = AnswerModel.start(quarter)
    assert [s.name for s in _stations_for(model, task(at(5.0, 30.0)))] == ["back", "right"]
    # the same where the plane's usual gram works a quarter further on, in the same way as the stations
    usual = [s.name for s in _stations_for(model, task(at(5.0, -60.0), effect=1j))]
    assert usual == ["back", "right"]
    # metal all round is as good as an arc in reach, and half a degree beside the metal is beside it
    for effects, names in (((2.0, 1.0), ["arc", "round"]), ((1.0, 2.0), ["round", "arc"])):
        pair = [
            Station("round", 0, (effects[0] + 0j,)),
            Station("arc", 0, (effects[1] + 0j,), centre_deg=30.0, arc_deg=60.0),
        ]
        model = AnswerModel.start(pair)
        assert [s.name for s in _stations_for(model, task(at(5.0, 30.0)))] == names
        assert [s.name for s in _stations_for(model, task(at(5.0, 60.4)))] == ["round", "arc"]
    other = AnswerModel.start([Station("front", 0, (1 + 0j, 0j)), Station("rear", 1, (0j, 1 + 0j))])
    assert [s.name for s in _stations_for(other, task(at(5.0, 30.0)))] == ["front"]


def metal(left: complex, *, tolerance: float = 0.5, effect: complex = 1 + 0j) -> tuple[HeavyMetal, ...]:
    model = AnswerModel.start([replace(ARC, effect=(effect,))]).first_reading([left])
    return heavy_metal_for(model, reaches=[Reach(90.0, 30.0)], mix=np.array([[1 + 0j]]), tolerance_g=[tolerance])


def test_metal_goes_opposite_to_what_no_cut_can_take() -> None:
    (found,) = metal(at(5.0, 270.0))
    assert (found.plane_index, found.station) == (0, "front")
    assert (found.angle_deg, found.net_g) == (pytest.approx(90.0), pytest.approx(5.0))
    assert found.why == (
        "front: 5.0 g at 270° is where no metal may be taken: put in heavy metal worth 5.0 g more than the steel it "
        "replaces at 90°, then run again"
    )
    # 5 g at 270 degrees added at 90 is what 5 g taken at 270 would be
    assert metal(at(5.0, 100.0)) == ()
    assert metal(-5j, tolerance=5.0) == ()
    assert len(metal(at(5.0, 270.0), tolerance=4.99)) == 1


def test_metal_goes_to_the_edge_that_is_nearest_where_the_arc_does_not_hold_it() -> None:
    # opposite to 190 is 10 degrees, 50 before the edge at 60; cuts at the other edge take 5 cos 70 of it
    (found,) = metal(at(5.0, 190.0))
    assert (found.angle_deg, found.net_g) == (pytest.approx(60.0), pytest.approx(5.0 * math.cos(math.radians(50.0))))
    missed = abs(at(5.0, 190.0) - at(5.0 * math.cos(math.radians(70.0)), 120.0))
    assert found.why.startswith(f"front: {missed:.1f} g at 190° is where")
    # 20 degrees beside the edge at 60: a cut there leaves 5 sin 20 at -30; opposite to it is 150, 30 beside 120
    (found,) = metal(at(5.0, 40.0))
    expected = 5.0 * math.sin(math.radians(20.0)) * math.cos(math.radians(30.0))
    assert (found.angle_deg, found.net_g) == (pytest.approx(120.0), pytest.approx(expected))


def test_metal_is_reckoned_by_what_a_gram_does_there() -> None:
    # 1 g does 2 g, a quarter further on: 10 g at 0 degrees need 5 g at 270
    (found,) = metal(at(10.0, 0.0), effect=2j)
    assert (found.angle_deg, found.net_g) == (pytest.approx(90.0), pytest.approx(5.0))


def test_metal_is_told_for_each_plane_at_its_best_station() -> None:
    stations = [
        Station("front", 0, (1 + 0j, 0j), centre_deg=90.0, arc_deg=60.0),
        Station("rear a", 1, (0j, 1 + 0j), centre_deg=90.0, arc_deg=60.0),
        Station("rear b", 1, (0j, 1 + 0j), centre_deg=90.0, arc_deg=60.0),
    ]
    mix = np.array([[1 + 0j, 0j], [0j, 0.25 + 0j], [0j, 0.75j]])
    model = AnswerModel.start(stations).first_reading([at(4.0, 80.0), at(3.0, 270.0)])
    both = [Reach(90.0, 30.0)] * 2
    # what a gram of the rear's mix does: 0.25 + 0.75i
    need = at(3.0, 270.0) / (0.25 + 0.75j)
    into = Reach(90.0, 30.0).nearest(-need)
    (found,) = heavy_metal_for(model, reaches=both, mix=mix, tolerance_g=[0.5, 0.5])
    assert (found.plane_index, found.station) == (1, "rear b")
    assert found.net_g == pytest.approx(abs(into))
    assert abs(angle_between_deg(found.angle_deg, from_deg=math.degrees(cmath.phase(into)))) < 1e-6
    model = model.first_reading([at(4.0, 270.0), at(3.0, 270.0)])
    two = heavy_metal_for(model, reaches=both, mix=mix, tolerance_g=[0.5, 0.5])
    assert [(m.plane_index, m.station) for m in two] == [(0, "front"), (1, "rear b")]
    one = heavy_metal_for(model, reaches=both, mix=mix, tolerance_g=[0.5, 50.0])
    assert [m.plane_index for m in one] == [0]
