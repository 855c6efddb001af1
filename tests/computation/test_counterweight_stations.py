"""Measured stations: statics, drilled metal by hand arithmetic, and holes that keep off each other."""

from __future__ import annotations

import math

import pytest

from bench.computation.counterweight_stations import (
    CounterweightPlace,
    MadeHole,
    PlaneGeometry,
    depth_of,
    station_from,
    stations_from,
)
from bench.computation.cut_scatter import Cut
from bench.computation.errors import QuantityError
from bench.computation.stations import KeepOut

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
