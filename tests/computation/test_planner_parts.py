"""Small parts of the planner, each by hand arithmetic or against scipy's distributions."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_algebra import chance_beyond, mixed, rows_after
from bench.computation.answer_model_words import in_words
from bench.computation.cut_chances import inside_with_guard, likely_cases
from bench.computation.cut_reach import Reach, reach_of, shortest_margin
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_trust import BY_GEOMETRY, MEASURED, UNKNOWN, Trust, prior_covariance
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


def test_prior_by_hand() -> None:
    # own plane: along 0.2 * 2, across 0.1 rad * 2; other plane, which it does not act on: along 0.3 * 2, across 0.05 * 2;
    # the effect points up, so that along is the imaginary part
    trust = Trust(own=0.2, turned_deg=math.degrees(0.1), cross=0.3, cross_turned=0.05, shared=0.5)
    covariance = prior_covariance([Station("front", 0, (2j, 0j))], trust, planes=2)
    assert covariance == pytest.approx(np.diag([0.04, 0.16, 0.01, 0.36]), abs=1e-12)


def test_prior_of_an_effect_that_points_aside() -> None:
    # variances 0.08 along and 0.02 across 45 degrees: their mean on the diagonal, half their difference beside it
    trust = Trust(own=0.2, turned_deg=math.degrees(0.1), cross=0.0, cross_turned=0.0, shared=0.0)
    covariance = prior_covariance([Station("disc", 0, (1 + 1j,))], trust, planes=1)
    assert covariance == pytest.approx(np.array([[0.05, 0.03], [0.03, 0.05]]), abs=1e-12)


def test_prior_of_stations_of_one_plane_and_of_two() -> None:
    trust = Trust(own=0.2, turned_deg=0.0, cross=0.0, cross_turned=0.0, shared=0.5)
    stations = [Station("a", 0, (1 + 0j, 0j)), Station("b", 0, (2 + 0j, 0j)), Station("c", 1, (0j, 1 + 0j))]
    covariance = prior_covariance(stations, trust, planes=2)
    expected = np.zeros((12, 12))
    # real parts of what a and b do to the front: 0.2, 0.4, half tied together; of what c does to the rear: 0.2
    expected[0, 0], expected[4, 4], expected[10, 10] = 0.04, 0.16, 0.04
    expected[0, 4] = expected[4, 0] = 0.04
    assert covariance == pytest.approx(expected, abs=1e-12)


def test_what_stations_of_one_plane_share_of_their_effects_elsewhere_may_differ() -> None:
    trust = Trust(own=0.2, turned_deg=0.0, cross=0.1, cross_turned=0.0, shared=0.5, cross_shared=0.75)
    stations = [Station("a", 0, (1 + 0j, 0j)), Station("b", 0, (2 + 0j, 0j)), Station("c", 1, (0j, 1 + 0j))]
    covariance = prior_covariance(stations, trust, planes=2)
    # between a and b: on the front 0.5 x 0.2 x 0.4, on the rear 0.75 x 0.1 x 0.2; nothing between stations of two planes
    assert covariance[0, 4] == covariance[4, 0] == pytest.approx(0.04)
    assert covariance[2, 6] == covariance[6, 2] == pytest.approx(0.015)
    assert not covariance[:8, 8:].any()
    # a station is one with itself
    assert [covariance[i, i] for i in (0, 2, 4, 6, 8, 10)] == pytest.approx([0.04, 0.01, 0.16, 0.04, 0.01, 0.04])
    assert prior_covariance(stations, replace(trust, cross_shared=None), planes=2)[2, 6] == pytest.approx(0.01)


def test_a_radius_known_wrongly_is_wrong_for_both_planes() -> None:
    # 2 g here take 2 off the front and 0.4 off the rear: a fifth more of the one is a fifth more of the other, and 0.1
    # rad of turning turns both; what is unsure of the place alone, 0.05 x 2, acts on the rear
    trust = Trust(own=0.2, turned_deg=math.degrees(0.1), cross=0.05, cross_turned=0.0, shared=1.0)
    stations = [Station("a", 0, (2 + 0j, 0.4 + 0j)), Station("b", 0, (1 + 0j, 0.3 + 0j))]
    covariance = prior_covariance(stations, trust, planes=2)
    expected = np.zeros((8, 8))
    expected[:4, :4] = [
        [0.16, 0.0, 0.032, 0.0], [0.0, 0.04, 0.0, 0.008], [0.032, 0.0, 0.0164, 0.0], [0.0, 0.008, 0.0, 0.0016],
    ]  # fmt: skip
    assert covariance[:4, :4] == pytest.approx(expected[:4, :4])
    # b's share in it: its own plane by 0.2 x 1, the rear by 0.2 x 0.3 and 0.05 x 1
    assert covariance[0, 4] == pytest.approx(0.4 * 0.2)
    assert covariance[0, 6] == pytest.approx(0.4 * 0.06)
    assert covariance[2, 6] == pytest.approx(0.08 * 0.06 + 0.1 * 0.05)


def test_where_no_direction_is_known_every_effect_is_unsure_by_itself() -> None:
    stations = [Station("a", 0, (1 + 0j, 0.3 + 0j)), Station("b", 1, (0.3 + 0j, 1 + 0j))]
    covariance = prior_covariance(stations, UNKNOWN, planes=2)
    assert np.count_nonzero(covariance - np.diag(covariance.diagonal())) == 0


def test_trust_grows_with_what_is_known() -> None:
    for one, other in ((MEASURED, BY_GEOMETRY), (BY_GEOMETRY, UNKNOWN)):
        assert one.own < other.own
        assert one.turned_deg < other.turned_deg
        assert one.cross < other.cross
    assert UNKNOWN.shared == 0.0


def test_rows_after_cuts_by_hand() -> None:
    # 3 g to the right and 2 g up at the second station: what is left is what was there less the effect times that
    rows = rows_after(np.array([0j, 3 + 2j]), 1, 1.0)
    assert rows == pytest.approx(np.array([[1, 0, 0, 0, -3, 2], [0, 1, 0, 0, -2, -3]]))
    state = np.array([10.0, 20.0, 9.0, 9.0, 0.9, 0.1])
    after = complex(10, 20) - complex(0.9, 0.1) * complex(3, 2)
    assert rows @ state == pytest.approx([after.real, after.imag])
    wide = rows_after(np.array([1 + 0j]), 2, 2.0)
    assert wide == pytest.approx(np.hstack([np.eye(4), -2.0 * np.eye(4)]))


def test_mixture_by_hand() -> None:
    # 1/4 at 0 with variance 1, 3/4 at 4 with variance 2: mean 3, variance 1.75 + 1/4 * 9 + 3/4 * 1
    mean, covariance = mixed(
        [math.log(1.0), math.log(3.0)],
        [np.array([0.0]), np.array([4.0])],
        [np.array([[1.0]]), np.array([[2.0]])],
    )
    assert mean == pytest.approx([3.0])
    assert covariance == pytest.approx(np.array([[4.75]]))
    # likelihoods far below what a double holds
    mean, covariance = mixed(
        [-2000.0, -2000.0], [np.array([1.0, 0.0]), np.array([0.0, 1.0])], [np.zeros((2, 2)), np.zeros((2, 2))]
    )
    assert mean == pytest.approx([0.5, 0.5])
    assert covariance == pytest.approx(np.array([[0.25, -0.25], [-0.25, 0.25]]))


@pytest.mark.parametrize("planes", [1, 2, 3, 4])
@pytest.mark.parametrize("distance", [0.0, 0.5, 4.0, 13.2767, 60.0])
def test_tail_of_chi_square(planes: int, distance: float) -> None:
    assert chance_beyond(distance, planes) == pytest.approx(float(stats.chi2.sf(distance, 2 * planes)), rel=1e-9)


def test_scatter_of_a_cut_by_hand() -> None:
    # 3 % of 10 g and 0.4 g: 0.3^2 + 0.4^2; 0.1 rad of 10 g: 1 g
    radial, tangential = CutScatter(share=0.03, grams=0.4, angle_deg=math.degrees(0.1)).variances(10.0)
    assert (radial, tangential) == pytest.approx((0.25, 1.0))
    assert Cut("front", 90.0, 2.0).direction == pytest.approx(1j)


def test_guard_by_hand() -> None:
    # worse component 0.3 g, 1.645 of it 0.4935 g: 0.6065 + 0.4935 is 1.1 times the tolerance of 1 g, and no more
    covariance = np.diag([0.04, 0.09, 0.09, 0.01])
    inside = inside_with_guard(np.array([0.6064, 0.6066]), covariance, np.array([1.0, 1.0]))
    assert inside.tolist() == [True, False]


def test_likely_cases_are_pairs_round_the_mean() -> None:
    cases = likely_cases(3 + 4j, np.diag([4.0, 1.0]))
    assert len(cases) == 12
    for one, other in zip(cases[:6], cases[6:], strict=True):
        assert one + other == pytest.approx(6 + 8j)
        assert one != other
    off = np.array(cases) - (3 + 4j)
    # twice as far across as up, in a handful of cases
    assert 1.0 < np.sqrt(np.mean(off.real**2) / np.mean(off.imag**2)) < 4.0


def test_edges_of_a_reach_by_hand() -> None:
    reach = Reach(90.0, 30.0)
    assert not reach.is_round
    # inward of the edges at 60 and 120 degrees: 150 and 30; along the middle: 90
    assert [round(math.degrees(cmath.phase(n))) for n in reach.inward] == [30, 90, 150]
    assert reach.nearest(0j) == 0j
    inside = cmath.rect(5.0, math.radians(110.0))
    assert reach.nearest(inside) == inside
    # 30 degrees beside the edge: its cosine along the edge
    beside = reach.nearest(cmath.rect(2.0, math.radians(150.0)))
    assert beside == pytest.approx(cmath.rect(2.0 * math.cos(math.radians(30.0)), math.radians(120.0)))
    beside = reach.nearest(cmath.rect(2.0, math.radians(30.0)))
    assert beside == pytest.approx(cmath.rect(2.0 * math.cos(math.radians(30.0)), math.radians(60.0)))
    assert reach.nearest(-1j) == 0j
    assert reach.nearest(cmath.rect(1.0, math.radians(210.5))) == 0j
    assert reach_of([Station("round", 0, (1 + 0j,))]) == Reach(0.0, 180.0)
    assert reach.nearest(cmath.rect(1.0, math.radians(215.0))) == 0j
    assert Reach(0.0, 180.0).is_round
    assert Reach(0.0, 180.0).inward == ()
    assert Reach(0.0, 180.0).nearest(-3j) == -3j


def arc(centre: float, width: float) -> Station:
    return Station(f"{centre}", 0, (1 + 0j,), centre_deg=centre, arc_deg=width)


@pytest.mark.parametrize(
    ("arcs", "centre", "half"),
    [
        ([(10.0, 20.0)], 10.0, 10.0),
        ([(350.0, 20.0), (30.0, 20.0)], 10.0, 30.0),
        # two of one start: the wider one counts
        ([(10.0, 20.0), (30.0, 60.0)], 30.0, 30.0),
        ([(30.0, 60.0), (10.0, 20.0)], 30.0, 30.0),
        # arcs from 355 to 5 and from 95 to 175: the gap back round is exactly 180
        ([(0.0, 10.0), (135.0, 80.0)], 0.0, 180.0),
        ([(0.0, 10.0), (134.0, 80.0)], 84.5, 89.5),
        # from 0 to 20 and from 0.5 to 20.5; from 350 to 5.5 and from 5 to 25; half a degree alone
        ([(10.0, 20.0), (10.5, 20.0)], 10.25, 10.25),
        ([(357.75, 15.5), (15.0, 20.0)], 7.5, 17.5),
        ([(10.0, 0.5)], 10.0, 0.25),
    ],
)
def test_hull_of_arcs(arcs: list[tuple[float, float]], centre: float, half: float) -> None:
    found = reach_of([arc(*one) for one in arcs])
    assert (found.centre_deg, found.half_deg) == pytest.approx((centre, half))


def test_margins_by_hand() -> None:
    assert shortest_margin([1 + 0j, 1j], [-1.0, -2.0]) == 0j
    assert shortest_margin([1 + 0j, 1j], [3.0, -2.0]) == 3 + 0j
    assert shortest_margin([1 + 0j, 1j], [-3.0, 2.0]) == 2j
    assert shortest_margin([1 + 0j, 1j], [1.0, 1.0]) == pytest.approx(1 + 1j)
    assert shortest_margin([1j], [0.5]) == 0.5j
    # x = 1 and x / 2 + y sqrt(3) / 2 = 1.2
    corner = shortest_margin([1 + 0j, cmath.rect(1.0, math.radians(60.0))], [1.0, 1.2])
    assert corner == pytest.approx(complex(1.0, 0.7 / math.sqrt(0.75)))
    # nothing lies 1 to the right and 1 to the left
    assert shortest_margin([1 + 0j, -1 + 0j], [1.0, 1.0]) == 0j


def test_words_of_an_answer() -> None:
    model = AnswerModel.start(
        (
            Station("front", 0, (1 + 0j, 0.1 + 0j)),
            Station("rear", 1, (cmath.rect(0.2, math.radians(30.0)), cmath.rect(0.9, math.radians(-20.0)))),
            Station("far", 1, (-0.25 + 0j, 1.2 + 0j)),
            Station("alone", 0, (0.5 + 0j, 0.001 + 0j)),
        )
    )
    assert in_words(model) == (
        "1 g at front takes 1.00 g off the front and 0.10 g off the rear",
        "1 g at rear takes 0.90 g off the rear, turned by -20° and 0.20 g off the front, turned by +30°",
        "1 g at far takes 1.20 g off the rear and adds 0.25 g to the front",
        "1 g at alone takes 0.50 g off the front and nothing off the rear",
    )
    assert in_words(model, plane_names=["flywheel end"])[0].endswith("0.10 g off the plane 2")


@pytest.mark.parametrize(
    ("effect", "words"),
    [
        (0j, "takes nothing off the rear"),
        (cmath.rect(0.5, math.radians(9.9)), "takes 0.50 g off the rear"),
        (cmath.rect(0.5, math.radians(10.2)), "takes 0.50 g off the rear, turned by +10°"),
        (cmath.rect(0.5, math.radians(-169.6)), "takes 0.50 g off the rear, turned by -170°"),
        (cmath.rect(0.5, math.radians(170.4)), "adds 0.50 g to the rear"),
    ],
)
def test_words_of_one_effect(effect: complex, words: str) -> None:
    model = AnswerModel.start((Station("a", 0, (1 + 0j, effect)), Station("b", 1, (0j, 1 + 0j))))
    expected = f"1 g at a takes 1.00 g off the front and {words.removeprefix('takes ')}"
    assert in_words(model)[0] == expected


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ([], "stations: found none, wanted at least one station"),
        (
            [Station("a", 0, (1 + 0j,)), Station("a", 0, (1 + 0j,))],
            "stations[1].name: found a, wanted a name no other station has",
        ),
        (
            [Station("a", 0, (1 + 0j, 0j)), Station("b", 2, (1 + 0j, 0j))],
            "stations[1]: found plane 2, effect on 2, wanted a plane from 0 and an effect on each of 2 planes",
        ),
        (
            [Station("a", -1, (1 + 0j,))],
            "stations[0]: found plane -1, effect on 1, wanted a plane from 0 and an effect on each of 1 planes",
        ),
        (
            [Station("a", 0, (1 + 0j, 0j)), Station("b", 0, (1 + 0j,))],
            "stations[1]: found plane 0, effect on 1, wanted a plane from 0 and an effect on each of 2 planes",
        ),
        ([Station("a", 0, (complex(math.nan),))], "stations[0].effect: found nan, wanted a finite number"),
        ([Station("a", 0, (0j,))], "stations[0].effect on its own plane: found 0.0, wanted a finite number above 0"),
        (
            [Station("a", 0, (1 + 0j,), centre_deg=math.inf)],
            "stations[0].centre_deg: found inf, wanted a finite number",
        ),
        (
            [Station("a", 0, (1 + 0j,), centre_deg=0.0, arc_deg=0.0)],
            "stations[0].arc_deg: found 0.0, wanted a finite number above 0",
        ),
        (
            [Station("a", 1, (0j, 1 + 0j))],
            "stations: found none in plane 0, wanted at least one station a plane",
        ),
    ],
)
def test_words_of_refused_stations(given: list[Station], words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        checked_stations(given)
    assert str(caught.value) == words


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"radius_mm": 0.0}, "radius_mm: found 0.0, wanted a finite number above 0"),
        ({"correction_radius_mm": -1.0}, "correction_radius_mm: found -1.0, wanted a finite number above 0"),
        ({"position_mm": math.nan}, "position_mm: found nan, wanted a finite number"),
        ({"planes_mm": []}, "planes_mm: found 0 planes, wanted one or two"),
        ({"planes_mm": [0.0, math.inf]}, "planes_mm: found inf, wanted a finite number"),
        ({"planes_mm": [7.0, 7.0]}, "planes_mm: found both at 7.0, wanted two places apart"),
    ],
)
def test_words_of_a_refused_lever(changed: dict[str, object], words: str) -> None:
    good = {"position_mm": 100.0, "planes_mm": [0.0, 400.0], "radius_mm": 45.0, "correction_radius_mm": 90.0}
    with pytest.raises(QuantityError) as caught:
        effect_by_statics(**{**good, **changed})
    assert str(caught.value) == words


def test_one_plane_has_no_lever() -> None:
    good = {"position_mm": 100.0, "radius_mm": 45.0, "correction_radius_mm": 90.0}
    assert effect_by_statics(planes_mm=[30.0], **good) == (0.5 + 0j,)
    # planes at 100 and 500 mm, hole at 200: three quarters and a quarter, at half the radius
    front, rear = effect_by_statics(planes_mm=[100.0, 500.0], **{**good, "position_mm": 200.0})
    assert (front, rear) == (pytest.approx(0.375), pytest.approx(0.125))


def test_holes_of_a_station() -> None:
    station = Station("front", 0, (1 + 0j,), gap_deg=15.0)
    first = station.with_cut(angle_deg=370.0, grams=5.0, diameter_mm=12.0)
    assert [(h.angle_deg, h.grams, h.diameter_mm) for h in first.holes] == [(10.0, 5.0, 12.0)]
    # a third of the gap, 5 degrees, is another hole; less is the same one, and its neighbours stay
    three = first.with_cut(angle_deg=15.0, grams=1.0).with_cut(angle_deg=90.0, grams=2.0)
    assert [h.angle_deg for h in three.holes] == [10.0, 15.0, 90.0]
    deeper = three.with_cut(angle_deg=19.9, grams=4.0)
    assert [(h.angle_deg, h.grams) for h in deeper.holes] == [(10.0, 5.0), (15.0, 5.0), (90.0, 2.0)]


def test_where_a_hole_may_be() -> None:
    station = Station("a", 0, (1 + 0j,), centre_deg=90.0, arc_deg=40.0, keep_outs=(KeepOut(80.0, 5.0),))
    assert [station.allows(a) for a in (69.9, 70.0, 75.0, 75.1, 84.9, 85.0, 110.0, 110.1)] == [
        False, True, True, False, False, True, True, False,
    ]  # fmt: skip
    assert Station("a", 0, (1 + 0j,), centre_deg=0.0, arc_deg=360.0).is_round
    assert not Station("a", 0, (1 + 0j,), centre_deg=0.0, arc_deg=359.0).is_round
    assert Station("a", 0, (1 + 0j,), centre_deg=0.0, arc_deg=360.0).allows(180.0)
    assert Station("a", 0, (1 + 0j,), most_g_per_hole=7.0).most_g(12.0) == 7.0
    drilled = Station("a", 0, (1 + 0j,), drills=(Drill(12.0, 20.0), Drill(16.0, 35.0)), most_g_per_hole=7.0)
    assert [drilled.most_g(d) for d in (12.0, 16.0, 14.0, None)] == [20.0, 35.0, 20.0, 20.0]


def test_short_way_round() -> None:
    assert [angle_between_deg(a, from_deg=b) for a, b in ((0, 180), (180, 0), (1, 359), (359, 1), (90, 90))] == [
        -180, -180, 2, -2, 0,
    ]  # fmt: skip


def test_stations_anywhere() -> None:
    front, rear, middle = stations_anywhere(["front", "rear", "middle"])
    assert (front.name, front.plane_index, front.effect) == ("front", 0, (1, 0, 0))
    assert (rear.name, rear.plane_index, rear.effect) == ("rear", 1, (0, 1, 0))
    assert (middle.plane_index, middle.effect, middle.is_round) == (2, (0, 0, 1), True)
    with pytest.raises(QuantityError) as caught:
        stations_anywhere([])
    assert str(caught.value) == "planes: found none, wanted at least one plane"
