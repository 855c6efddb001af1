"""Measured stations: statics, drilled metal by hand arithmetic, and holes that keep off each other."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bench.computation.counterweight_stations import (
    CounterweightPlace,
    DrilledDepth,
    MadeHole,
    PlaneGeometry,
    depth_of,
    station_from,
    stations_from,
)
from bench.computation.cut_scatter import Cut
from bench.computation.drill import hole_of_depth
from bench.computation.errors import QuantityError
from bench.computation.stations import KeepOut, Station

PLANES = PlaneGeometry(positions_mm=(0.0, 400.0), radii_mm=(90.0, 80.0))


def place(**changes: object) -> CounterweightPlace:
    values: dict[str, object] = {
        "name": "front 1",
        "plane_index": 0,
        "position_mm": 40.0,
        "outer_radius_mm": 92.0,
        "drills_mm": (8.0, 16.0),
        "most_depth_mm": 30.0,
        "centre_deg": 180.0,
        "arc_deg": 120.0,
    }
    return CounterweightPlace(**(values | changes))  # type: ignore[arg-type]


def test_a_gram_counts_in_both_planes_by_the_lever_rule_and_by_their_radii() -> None:
    # a tenth of the way along: 9/10 in front, 1/10 in the rear, where a gram counts at 80 instead of 90 mm
    assert station_from(place(), PLANES).effect == pytest.approx((0.9, 0.1 * 90.0 / 80.0))


def test_the_most_a_drill_takes_is_that_of_the_depth_limit() -> None:
    # cylinder pi 8^2 x 30 at 92 - 15, cone of 8 / tan 59 deg height at a quarter of it, less the curved cap pi 8^4 / 8
    height = 8.0 / math.tan(math.radians(59.0))
    area = math.pi * 64.0
    moment = area * 30.0 * 77.0 + area * height / 3.0 * (62.0 - height / 4.0) - math.pi * 8.0**4 / 8.0
    station = station_from(place(), PLANES)
    assert station.most_g(16.0) == pytest.approx(0.00785 * moment / 90.0, rel=1e-9)
    assert station.most_g(8.0) < station.most_g(16.0) / 3.0


def test_arc_gap_and_keep_outs_leave_room_for_whole_holes_and_their_walls() -> None:
    station = station_from(place(keep_outs=(KeepOut(170.0, 5.0, "oil hole"),)), PLANES)
    edge = math.degrees(math.asin((8.0 + 3.0) / 92.0))
    assert station.arc_deg == pytest.approx(120.0 - 2.0 * edge)
    assert station.allows(180.0 + 60.0 - edge - 0.01)
    assert not station.allows(180.0 + 60.0 - edge + 0.01)
    assert not station.allows(170.0 + 5.0 + edge - 0.01)
    # at the limit of 30 mm two holes of 16 mm stand 62 mm from the axis, 3 mm of metal between them
    chord = 2.0 * 62.0 * math.sin(math.radians(station.gap_deg / 2.0))
    assert chord == pytest.approx(16.0 + 3.0)


def test_a_hole_that_is_deepened_ends_where_one_of_both_amounts_would() -> None:
    fresh = station_from(place(), PLANES)
    at_once = depth_of(Cut("front 1", 180.0, 21.0, 16.0), place=place(), station=fresh, correction_radius_mm=90.0)
    half = fresh.with_cut(angle_deg=180.0, grams=9.0, diameter_mm=16.0)
    later = depth_of(Cut("front 1", 181.0, 12.0, 8.0), place=place(), station=half, correction_radius_mm=90.0)
    first = depth_of(Cut("front 1", 180.0, 9.0, 16.0), place=place(), station=fresh, correction_radius_mm=90.0)
    assert later.diameter_mm == 16.0
    assert later.depth_mm == pytest.approx(at_once.depth_mm)
    assert later.from_depth_mm == pytest.approx(first.depth_mm)
    unknown = fresh.with_cut(angle_deg=180.0, grams=9.0)
    assert (
        depth_of(Cut("front 1", 180.0, 2.0), place=place(), station=unknown, correction_radius_mm=90.0).depth_mm is None
    )


def test_so_little_that_the_wide_drill_would_only_scratch_goes_to_the_narrow_one_or_to_none() -> None:
    fresh = station_from(place(), PLANES)
    little = depth_of(Cut("front 1", 180.0, 1.2, 16.0), place=place(), station=fresh, correction_radius_mm=90.0)
    assert little.diameter_mm == 8.0
    least = depth_of(Cut("front 1", 180.0, 0.05, 16.0), place=place(), station=fresh, correction_radius_mm=90.0)
    assert (least.diameter_mm, least.depth_mm) == (None, None)


def test_holes_that_are_there_take_their_room() -> None:
    made = MadeHole(angle_deg=175.0, diameter_mm=16.0, depth_mm=30.0)
    station = station_from(place(holes=(made,)), PLANES)
    assert station.holes[0].grams == pytest.approx(station.most_g(16.0))


@pytest.mark.parametrize(
    ("changes", "quantity"),
    [
        ({"plane_index": 2}, "plane"),
        ({"drills_mm": ()}, "drills_mm"),
        ({"drills_mm": (0.0,)}, "drills_mm"),
        ({"arc_deg": 12.0}, "arc_deg"),
        ({"wall_mm": -1.0}, "wall_mm"),
        ({"position_mm": math.nan}, "position_mm"),
        ({"most_depth_mm": 90.0}, "depth_mm"),
    ],
)
def test_what_cannot_be_measured_so_is_refused_by_its_name(changes: dict[str, object], quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        stations_from([place(), place(**{"name": "other", **changes})], PLANES)
    assert caught.value.quantity == f"stations[1].{quantity}"


def drilled_moment_g_mm(diameter_mm: float, depth_mm: float) -> float:
    """Cylinder and cone of a 118 degree point at 92 mm, less the curved cap, in steel of 7.85 g/cm3, by hand."""
    a = diameter_mm / 2.0
    height = a / math.tan(math.radians(59.0))
    area = math.pi * a * a
    cone = area * height / 3.0 * (92.0 - depth_mm - height / 4.0)
    return 0.00785 * (area * depth_mm * (92.0 - depth_mm / 2.0) + cone - math.pi * a**4 / 8.0)


def drilled(station: Station, cut: Cut, *, radius_mm: float = 90.0, **changes: object) -> DrilledDepth:
    return depth_of(cut, place=place(**changes), station=station, correction_radius_mm=radius_mm)


def test_a_station_keeps_what_was_measured() -> None:
    keep_outs = (KeepOut(170.0, 5.0, "oil hole"), KeepOut(200.0, 2.0, "edge"))
    holes = (MadeHole(angle_deg=160.0, diameter_mm=8.0, depth_mm=10.0),)
    station = station_from(place(name="rear 2", plane_index=1, keep_outs=keep_outs, holes=holes), PLANES)
    assert (station.name, station.plane_index, station.centre_deg) == ("rear 2", 1, 180.0)
    assert [(k.centre_deg, k.what) for k in station.keep_outs] == [(170.0, "oil hole"), (200.0, "edge")]
    ((angle, grams, diameter),) = [(h.angle_deg, h.grams, h.diameter_mm) for h in station.holes]
    assert (angle, diameter) == (160.0, 8.0)
    # grams count at the 80 mm of its own plane
    assert grams == pytest.approx(drilled_moment_g_mm(8.0, 10.0) / 80.0)
    assert [d.diameter_mm for d in station.drills] == [8.0, 16.0]


@pytest.mark.parametrize(("changes", "is_round"), [
    ({"centre_deg": None}, True),
    ({"centre_deg": None, "arc_deg": 120.0}, True),
    ({"arc_deg": 360.0}, True),
    ({"arc_deg": 359.0}, False),
])  # fmt: skip
def test_metal_all_the_way_round_has_no_edge(changes: dict[str, object], *, is_round: bool) -> None:
    station = station_from(place(**changes), PLANES)
    assert station.is_round is is_round
    assert station.centre_deg == (None if is_round else 180.0)
    assert station.arc_deg == pytest.approx(360.0 if is_round else 359.0 - 2.0 * math.degrees(math.asin(11.0 / 92.0)))
    # opposite the middle of the metal
    assert station.allows(0.0) is is_round


def test_a_slug_weighs_what_it_weighs_more_than_the_metal_it_replaces() -> None:
    empty = hole_of_depth(place().shape(16.0), depth_mm=20.0)
    filled = hole_of_depth(place().shape(16.0, slug_density_g_cm3=18.0), depth_mm=20.0)
    assert filled.grams == pytest.approx(empty.grams * (18.0 - 7.85) / 7.85)
    iron = hole_of_depth(place(density_g_cm3=7.2).shape(16.0), depth_mm=20.0)
    assert iron.grams == pytest.approx(empty.grams * 7.2 / 7.85)
    # a flat bottom leaves out the cone: a third of 8 / tan 59 deg height
    flat = hole_of_depth(place(point_deg=180.0).shape(16.0), depth_mm=20.0)
    cone = math.pi * 64.0 * 8.0 / math.tan(math.radians(59.0)) / 3.0
    assert empty.volume_mm3 - flat.volume_mm3 == pytest.approx(cone)


def test_a_cut_within_a_third_of_the_gap_deepens_and_farther_off_is_a_new_hole() -> None:
    fresh = replace(station_from(place(), PLANES), gap_deg=15.0)
    two = fresh.with_cut(angle_deg=150.0, grams=5.0, diameter_mm=8.0).with_cut(
        angle_deg=180.0, grams=9.0, diameter_mm=16.0
    )
    grams = 3.0
    deeper = drilled(two, Cut("front 1", 184.9, grams, 8.0))
    assert deeper.diameter_mm == 16.0
    assert drilled_moment_g_mm(16.0, deeper.from_depth_mm) == pytest.approx(9.0 * 90.0)
    assert deeper.depth_mm is not None
    assert drilled_moment_g_mm(16.0, deeper.depth_mm) == pytest.approx((9.0 + grams) * 90.0)
    for angle in (175.0, 185.0):
        beside = drilled(two, Cut("front 1", angle, grams, 8.0))
        assert (beside.diameter_mm, beside.from_depth_mm) == (8.0, 0.0)
        assert beside.depth_mm is not None
        assert drilled_moment_g_mm(8.0, beside.depth_mm) == pytest.approx(grams * 90.0)
    # grams count at the correction radius: half as many at twice the radius make the same hole
    same = drilled(fresh, Cut("front 1", 180.0, grams / 2.0, 8.0), radius_mm=180.0)
    assert same == drilled(fresh, Cut("front 1", 180.0, grams, 8.0))


def test_what_a_hole_cannot_take_has_no_depth() -> None:
    fresh = station_from(place(), PLANES)
    full = fresh.with_cut(angle_deg=180.0, grams=fresh.most_g(16.0) - 1.0, diameter_mm=16.0)
    beyond = drilled(full, Cut("front 1", 180.0, 2.0, 16.0))
    assert (beyond.diameter_mm, beyond.depth_mm) == (16.0, None)
    assert beyond.from_depth_mm == pytest.approx(30.0, abs=2.0)
    # a mark so small that the drill did not cut its full diameter: nothing of it counts as depth
    mark = fresh.with_cut(angle_deg=180.0, grams=0.05, diameter_mm=16.0)
    assert drilled(mark, Cut("front 1", 180.0, 9.0, 16.0)).from_depth_mm == 0.0
    unknown = fresh.with_cut(angle_deg=180.0, grams=9.0)
    assert drilled(unknown, Cut("front 1", 180.0, 2.0)) == DrilledDepth(None, None, 0.0)
    assert drilled(fresh, Cut("front 1", 180.0, 500.0, 16.0)) == DrilledDepth(None, None, 0.0)


def test_without_a_drill_that_is_wanted_or_fits_the_widest_that_does_is_taken() -> None:
    fresh = station_from(place(drills_mm=(8.0, 16.0, 12.0)), PLANES)
    three = {"drills_mm": (8.0, 16.0, 12.0)}
    assert drilled(fresh, Cut("front 1", 180.0, 9.0), **three).diameter_mm == 16.0
    # 1.6 g are less than a 16 mm drill takes at its full diameter, more than a 12 mm drill does
    assert hole_of_depth(place().shape(16.0), depth_mm=0.35).amount_g_mm > 1.6 * 90.0
    assert drilled(fresh, Cut("front 1", 180.0, 1.6), **three).diameter_mm == 12.0
    # more than an 8 mm hole holds goes to the widest
    assert drilled(fresh, Cut("front 1", 180.0, 20.0, 8.0), **three).diameter_mm == 16.0
    # the drill that was planned comes first, whether it is at hand or not
    assert drilled(fresh, Cut("front 1", 180.0, 5.0, 8.0), **three).diameter_mm == 8.0
    assert drilled(fresh, Cut("front 1", 180.0, 9.0, 14.0), **three).diameter_mm == 14.0


@pytest.mark.parametrize(
    ("planes", "changes", "words"),
    [
        (PlaneGeometry(positions_mm=(0.0, 400.0), radii_mm=(90.0,)), {}, "radii_mm: found 1, wanted 2, one a plane"),
        (PLANES, {"plane_index": 2}, "plane: found 2, wanted 0 to 1"),
        (PLANES, {"plane_index": -1}, "plane: found -1, wanted 0 to 1"),
        (PLANES, {"drills_mm": ()}, "drills_mm: found none, wanted at least one drill"),
        (PLANES, {"drills_mm": (8.0, -1.0)}, "drills_mm: found -1.0, wanted a finite number above 0"),
        (PLANES, {"wall_mm": -1.0}, "wall_mm: found -1.0, wanted a finite number, 0 or above"),
        (PLANES, {"arc_deg": math.nan}, "arc_deg: found nan, wanted a finite number"),
        # asin(11 / 92) is 6.867 degrees
        (
            PLANES,
            {"arc_deg": 12.0},
            "arc_deg: found 12.0, wanted more than 13.73 degrees, so that the 16 mm drill and its walls fit",
        ),
        # 92 - 83 mm are left, half a drill and half a wall need 9.5
        (
            PLANES,
            {"most_depth_mm": 83.0},
            "most_depth_mm: found 9 mm of radius left, wanted room for a drill at the depth limit",
        ),
        (
            PLANES,
            {"most_depth_mm": 82.5},
            "most_depth_mm: found 9.5 mm of radius left, wanted room for a drill at the depth limit",
        ),
        (
            PlaneGeometry(positions_mm=(0.0, 400.0), radii_mm=(0.0, 80.0)),
            {},
            "radii_mm: found 0.0, wanted a finite number above 0",
        ),
        (
            PlaneGeometry(positions_mm=(0.0, 400.0), radii_mm=(90.0, -80.0)),
            {},
            "radii_mm: found -80.0, wanted a finite number above 0",
        ),
    ],
)
def test_words_of_a_refused_place(planes: PlaneGeometry, changes: dict[str, object], words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        station_from(place(**changes), planes)
    assert str(caught.value) == words
    with pytest.raises(QuantityError) as caught:
        stations_from([place(**changes)], planes)
    assert str(caught.value) == f"stations[0].{words}"


def test_an_arc_as_wide_as_one_hole_and_its_walls_leaves_no_place_to_aim_at() -> None:
    edge = math.degrees(math.asin(11.0 / 92.0))
    assert station_from(place(arc_deg=2.0 * edge + 0.01), PLANES).arc_deg == pytest.approx(0.01)
    with pytest.raises(QuantityError):
        station_from(place(arc_deg=2.0 * edge), PLANES)


def test_places_come_back_in_their_order() -> None:
    found = stations_from([place(), place(name="rear 1", plane_index=1)], PLANES)
    assert [(s.name, s.plane_index) for s in found] == [("front 1", 0), ("rear 1", 1)]
