"""Which holes and which stations a cut may use, on stations small enough to see the answer."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_tooling import without_tooling
from bench.computation.cut_scatter import Cut
from bench.computation.cut_sites import PlaneTask, choices, existing_sites, holes_in_plane
from bench.computation.errors import QuantityError
from bench.computation.stations import Drill, Hole, Station, stations_anywhere

DRILLED = (
    Station(
        "front",
        0,
        (2j, 0j),
        drills=(Drill(10.0, 9.0), Drill(16.0, 21.0)),
        holes=(Hole(0.0, 13.5, 16.0), Hole(90.0, 9.0, 10.0)),
    ),
    Station("rear", 1, (0j, 1 + 0j), most_g_per_hole=30.0, holes=(Hole(45.0, 4.0),)),
)


def task(plane: int, take: complex, *, effect: complex = 1 + 0j) -> PlaneTask:
    return PlaneTask(plane, effect, take, 0j, (), ())


def test_holes_are_counted_in_their_own_plane() -> None:
    assert [holes_in_plane(DRILLED, plane) for plane in (0, 1, 2)] == [2, 1, 0]


def test_a_hole_is_deepened_by_what_its_drill_leaves() -> None:
    # 21 g of the 16 mm drill less 13.5 g; the 10 mm hole is full. 1 g does 2j where the plane's usual gram does j
    (site,) = existing_sites(AnswerModel.start(DRILLED), task(0, 5 + 0j, effect=1j))

    assert (site.station, site.angle_deg, site.room_g, site.diameter_mm) == ("front", 0.0, 7.5, 16.0)
    assert site.deepens is True
    assert site.per_gram == pytest.approx(2.0)
    assert site.unit == pytest.approx(2.0)


def test_a_hole_of_unknown_make_has_the_stations_limit() -> None:
    (site,) = existing_sites(AnswerModel.start(DRILLED), task(1, 5 + 0j))

    assert (site.room_g, site.diameter_mm) == (26.0, None)
    assert site.unit == pytest.approx(cmath.rect(1.0, math.radians(45.0)))


def arcs(*centres: float) -> tuple[Station, ...]:
    return tuple(Station(f"{c:g}", 0, (1 + 0j,), centre_deg=c, arc_deg=60.0) for c in centres)


@pytest.mark.parametrize(
    ("towards", "names"),
    [(0.0, {"0", "70"}), (80.0, {"70", "150"}), (140.0, {"70", "150"}), (-100.0, {"220", "0"})],
)
def test_the_two_stations_nearest_a_direction_are_used(towards: float, names: set[str]) -> None:
    # beyond the arc (half of it is 30 degrees): towards -100 lies 10 off 220's arc, 70 off 0's and 80 off 150's
    model = AnswerModel.start(arcs(150.0, 220.0, 0.0, 70.0))
    used = choices(model, task(0, cmath.rect(10.0, math.radians(towards))), (), 1)

    assert {site.station for choice in used for site in choice} == names


def test_tooling_is_not_sought_between_a_cut_and_its_run() -> None:
    model = AnswerModel.start(stations_anywhere(["disc"])).first_reading([8 + 0j]).after_cuts([Cut("disc", 0.0, 2.0)])

    with pytest.raises(QuantityError) as told:
        without_tooling(model, [[8 + 0j], [6 + 0j]], index_deg=[0.0, 180.0])
    assert str(told.value) == "model: found cuts without their run, wanted index runs without a cut between them"


def test_holes_to_deepen_are_tried_alone_together_and_beside_new_ones() -> None:
    # two holes: 3 sets of them alone; each of the fans is tried alone and with each of the 3
    (station,) = stations_anywhere(["disc"])
    model = AnswerModel.start([replace(station, holes=(Hole(0.0, 1.0), Hole(90.0, 1.0)), most_g_per_hole=9.0)])
    there = existing_sites(model, task(0, 5 + 0j))
    without = list(choices(model, task(0, cmath.rect(5.0, 0.5)), there, 0))
    tried = list(choices(model, task(0, cmath.rect(5.0, 0.5)), there, 1))

    assert [[site.angle_deg for site in choice] for choice in without] == [[0.0], [90.0], [0.0, 90.0]]
    fresh = [choice for choice in tried if not any(site.deepens for site in choice)]
    beside = [choice for choice in tried if len({site.deepens for site in choice}) == 2]
    assert fresh
    assert all(len(choice) == 1 for choice in fresh)
    assert len(beside) == 3 * len(fresh)
    assert len(tried) == 3 + 4 * len(fresh)
