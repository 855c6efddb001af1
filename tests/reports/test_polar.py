"""The polar picture puts what it is given where the axes' words say."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.reports.figures import angle, as_weighed, decimals_of, figure, moment
from bench.reports.polar import RADIUS, place, polar_picture


# hand arithmetic: x to the right and y down, zero at the top, counter-clockwise is to the left
@pytest.mark.parametrize(("deg", "x", "y"), [(0, 0, -50), (90, -50, 0), (180, 0, 50), (270, 50, 0), (-90, 50, 0)])
def test_angles_go_round_to_the_left_from_the_top(deg: float, x: float, y: float) -> None:
    assert place(25.0, deg, full_g=100.0) == pytest.approx((x, y), abs=1e-9)


@given(st.lists(st.tuples(st.floats(0, 500), st.floats(0, 360)), max_size=20), st.floats(0.01, 50))
def test_every_run_is_inside_the_rim_and_inside_the_circle_only_if_below_the_limit(
    runs: list[tuple[float, float]], limit: float
) -> None:
    picture = polar_picture(plane="front", runs=[(n, a, d) for n, (a, d) in enumerate(runs)], limit_g=limit)
    assert len(picture.spots) == len(runs)
    for (amount, _), spot in zip(runs, picture.spots, strict=True):
        r = math.hypot(spot.x, spot.y)
        assert r < RADIUS
        if abs(amount - limit) > 1e-6 * limit:
            assert (r < picture.limit_r) == (amount < limit)
    assert sum(spot.last for spot in picture.spots) == min(len(runs), 1)
    assert all(20.0 < ring.r < RADIUS for ring in picture.rings)


def test_labels_of_two_runs_at_one_place_stand_apart() -> None:
    picture = polar_picture(plane="front", runs=[(1, 5.0, 30.0), (2, 5.0, 30.0)], limit_g=1.0)
    one, two = picture.spots
    assert math.dist((one.label_x, one.label_y), (two.label_x, two.label_y)) > 10
    assert (one.words, two.words) == ("1", "2")


def test_in_a_crowd_only_the_first_and_last_are_named() -> None:
    picture = polar_picture(plane="front", runs=[(n, 1.0, 9.0 * n) for n in range(1, 13)], limit_g=1.0)
    assert [spot.words for spot in picture.spots] == ["1", "2", "3", *[""] * 6, "10", "11", "12"]


def test_what_is_no_number_is_left_out_of_the_picture() -> None:
    runs = [(1, math.nan, 0.0), (2, 1.0, math.inf), (3, 2.0, 10.0)]
    picture = polar_picture(plane="front", runs=runs, limit_g=math.nan)
    assert [spot.words for spot in picture.spots] == ["3"]
    assert picture.limit_r == 0.0


@pytest.mark.parametrize(("arc", "large"), [(90.0, "0"), (270.0, "1")])
def test_the_arc_of_metal_ends_where_it_is_told(arc: float, large: str) -> None:
    path = polar_picture(plane="front", runs=[], limit_g=1.0, centre_deg=0.0, arc_deg=arc).arc
    start, flag = path.split()[0], path.split()[3]
    half = math.radians(arc / 2)
    assert [float(v) for v in start[1:].split(",")] == pytest.approx(
        [104 * math.sin(half), -104 * math.cos(half)], abs=0.01
    )
    assert flag == large


def test_figures_claim_no_more_than_there_is() -> None:
    assert figure(-0.04, 1, signed=True) == "0.0"
    assert figure(0.06, 1, signed=True) == "+0.1"
    assert figure(-1.25, 2) == "−1.25"
    assert figure(math.inf, 1) == "?"
    assert angle(None) == "–"
    assert angle(math.nan) == "?"
    assert angle(359.96, 1) == "0.0°"
    assert as_weighed(None) == "–"
    assert decimals_of([]) == 1
    assert moment("not a moment") == "not a moment"
