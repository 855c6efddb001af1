"""Drilled holes against integration by a general-purpose library, and there and back."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from bench.computation.bracketed_root import bracketed_root
from bench.computation.drill import Drill, curved_cap_volume, depth_for_amount, depth_for_grams, hole_of_depth
from bench.computation.errors import QuantityError

STEEL = Drill(diameter_mm=12.7, point_deg=118.0, outer_radius_mm=88.0, density_g_cm3=7.85)


def integrated(drill: Drill, depth: float) -> tuple[float, float]:
    """Slice the hole across the crank's axis: volume and moment, nothing in closed form."""
    a, radius = drill.diameter_mm / 2, drill.outer_radius_mm
    slope = math.tan(math.radians(drill.point_deg / 2))

    def column(y: float, z: float) -> tuple[float, float]:
        top = math.sqrt(radius**2 - y**2)
        bottom = radius - depth - (a - math.hypot(y, z)) / slope
        return top - bottom, (top**2 - bottom**2) / 2

    def strip(y: float, which: int) -> float:
        edge = math.sqrt(max(a * a - y * y, 0.0))
        return 2 * quad(lambda z: column(y, z)[which], 0.0, edge, epsabs=1e-11, epsrel=1e-11)[0]

    def whole(which: int) -> float:
        def turned(angle: float) -> float:
            return strip(a * math.sin(angle), which) * a * math.cos(angle)

        return 2 * quad(turned, 0.0, math.pi / 2, epsabs=1e-10, epsrel=1e-11)[0]

    return whole(0), whole(1)


@pytest.mark.parametrize(
    ("diameter", "point", "radius", "depth"),
    [(12.7, 118.0, 88.0, 25.0), (6.35, 135.0, 70.0, 10.0), (25.0, 90.0, 40.0, 5.0), (19.05, 140.0, 30.0, 12.0)],
)
def test_hole_against_integration(diameter: float, point: float, radius: float, depth: float) -> None:
    drill = Drill(diameter_mm=diameter, point_deg=point, outer_radius_mm=radius, density_g_cm3=7.2)
    volume, moment = integrated(drill, depth)
    hole = hole_of_depth(drill, depth_mm=depth)
    assert hole.volume_mm3 == pytest.approx(volume, rel=1e-8)
    assert hole.amount_g_mm == pytest.approx(moment * 7.2e-3, rel=1e-8)
    assert hole.grams == pytest.approx(volume * 7.2e-3, rel=1e-8)
    assert hole.centroid_radius_mm == pytest.approx(moment / volume, rel=1e-8)
    assert hole.depth_mm == depth


@pytest.mark.parametrize(("diameter", "radius"), [(12.7, 88.0), (25.0, 40.0), (30.0, 15.2), (1.0, 500.0)])
def test_cap_against_integration(diameter: float, radius: float) -> None:
    a = diameter / 2
    expected = quad(
        lambda angle: (radius - math.sqrt(radius**2 - (a * math.sin(angle)) ** 2)) * 2 * (a * math.cos(angle)) ** 2,
        -math.pi / 2, math.pi / 2, epsabs=0.0, epsrel=1e-12,
    )[0]  # fmt: skip
    assert curved_cap_volume(diameter_mm=diameter, outer_radius_mm=radius) == pytest.approx(expected, rel=1e-9)


@st.composite
def drills(draw: st.DrawFn) -> tuple[Drill, float]:
    radius = draw(st.floats(30.0, 200.0))
    diameter = draw(st.floats(2.0, radius / 2.5))
    slug = draw(st.sampled_from([None, 17.0, 18.5]))
    drill = Drill(
        diameter_mm=diameter,
        point_deg=draw(st.floats(80.0, 180.0)),
        outer_radius_mm=radius,
        density_g_cm3=draw(st.floats(2.0, 8.0)),
        slug_density_g_cm3=slug,
    )
    return drill, draw(st.floats(diameter * diameter / 4 / radius, radius / 2))


@given(drills())
def test_depth_there_and_back(case: tuple[Drill, float]) -> None:
    drill, depth = case
    hole = hole_of_depth(drill, depth_mm=depth)
    assert depth_for_amount(drill, amount_g_mm=hole.amount_g_mm).depth_mm == pytest.approx(depth, abs=1e-9)
    assert depth_for_grams(drill, grams=hole.grams).depth_mm == pytest.approx(depth, abs=1e-9)


@given(drills(), st.floats(0.1, 2.0))
def test_each_further_millimetre_removes_less(case: tuple[Drill, float], step: float) -> None:
    drill, depth = case
    amounts = [hole_of_depth(drill, depth_mm=depth + k * step).amount_g_mm for k in range(3)]
    assert 0.0 < amounts[2] - amounts[1] < amounts[1] - amounts[0]


def test_limits_are_named() -> None:
    # the rim of the drill lies 88 - sqrt(88^2 - 6.35^2) = 0.229404 mm below the flat; the tip is 3.815465 mm long
    assert round(88 - math.sqrt(88**2 - 6.35**2), 6) == 0.229404
    for depth, words in ((0.2, "at least 0.229404 mm"), (84.2, "at most 84.1845 mm: there the drill's tip reaches")):
        with pytest.raises(QuantityError) as caught:
            hole_of_depth(STEEL, depth_mm=depth)
        assert caught.value.quantity == "depth_mm"
        assert caught.value.wanted.startswith(words)
    limited = Drill(diameter_mm=12.7, point_deg=118.0, outer_radius_mm=88.0, density_g_cm3=7.85, depth_limit_mm=30.0)
    assert hole_of_depth(limited, depth_mm=30.0).depth_mm == 30.0
    with pytest.raises(QuantityError, match="at most 30 mm: the depth limit set for this place"):
        hole_of_depth(limited, depth_mm=30.1)
    most = hole_of_depth(limited, depth_mm=30.0)
    with pytest.raises(QuantityError) as caught:
        depth_for_amount(limited, amount_g_mm=most.amount_g_mm * 1.001)
    assert caught.value.quantity == "amount_g_mm"
    assert (
        caught.value.wanted == f"at most {most.amount_g_mm:.6g} g mm at 30 mm depth: the depth limit set for this place"
    )
    with pytest.raises(QuantityError) as caught:
        depth_for_grams(limited, grams=most.grams * 1.001)
    assert caught.value.quantity == "grams"
    assert caught.value.wanted == f"at most {most.grams:.6g} g at 30 mm depth: the depth limit set for this place"
    with pytest.raises(QuantityError) as caught:
        depth_for_grams(STEEL, grams=0.5)
    assert "the least this drill takes: take a smaller drill" in caught.value.wanted
    deep = Drill(diameter_mm=12.7, point_deg=118.0, outer_radius_mm=88.0, density_g_cm3=7.85, depth_limit_mm=85.0)
    with pytest.raises(QuantityError, match="tip reaches the axis"):
        hole_of_depth(deep, depth_mm=84.5)


def test_ends_of_what_a_drill_reaches() -> None:
    rim = 12.7**2 / 4 / (88 + math.sqrt(88**2 - 6.35**2))
    tip = 88 - 6.35 / math.tan(math.radians(59))
    least, most = hole_of_depth(STEEL, depth_mm=rim * (1 + 1e-12)), hole_of_depth(STEEL, depth_mm=tip * (1 - 1e-12))
    assert depth_for_amount(STEEL, amount_g_mm=least.amount_g_mm).depth_mm == pytest.approx(rim, rel=1e-9)
    assert depth_for_grams(STEEL, grams=most.grams).depth_mm == pytest.approx(tip, rel=1e-9)


def test_ends_in_whole_numbers() -> None:
    # radius 5, drill 6, flat point: the rim lies 5 - sqrt(25 - 9) = 1 below the flat, the tip reaches the axis at 5
    flat = Drill(diameter_mm=6.0, point_deg=180.0, outer_radius_mm=5.0, density_g_cm3=7.85)
    least, most = hole_of_depth(flat, depth_mm=1.0), hole_of_depth(flat, depth_mm=5.0)
    assert depth_for_amount(flat, amount_g_mm=least.amount_g_mm).depth_mm == 1.0
    assert depth_for_grams(flat, grams=least.grams).depth_mm == 1.0
    assert depth_for_amount(flat, amount_g_mm=most.amount_g_mm).amount_g_mm == most.amount_g_mm
    assert depth_for_grams(flat, grams=most.grams).grams == most.grams
    # all of the cylinder below the curved surface: the half cylinder above the axis has the moment pi a^2 R^2 / 2
    assert most.amount_g_mm == pytest.approx(0.00785 * (math.pi * 9 * 12.5 - math.pi * 81 / 8), rel=1e-12)
    # where the tip and the person's limit agree, the tip is named
    with pytest.raises(QuantityError, match="tip reaches the axis"):
        hole_of_depth(replace(flat, depth_limit_mm=5.0), depth_mm=5.1)
    with pytest.raises(QuantityError, match="a drill small enough for this radius, point and depth"):
        hole_of_depth(replace(flat, depth_limit_mm=1.0), depth_mm=1.0)


def test_a_point_as_sharp_as_a_needle() -> None:
    # tan(0.4 deg) = 0.006981...: a cone 143.2 mm long, a third of its cylinder
    needle = Drill(diameter_mm=2.0, point_deg=0.8, outer_radius_mm=500.0, density_g_cm3=1.0)
    hole = hole_of_depth(needle, depth_mm=10.0)
    assert hole.volume_mm3 == pytest.approx(math.pi * (10.0 + 143.2394 / 3), rel=1e-4)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(
    "name", ["diameter_mm", "point_deg", "outer_radius_mm", "density_g_cm3", "slug_density_g_cm3", "depth_limit_mm"]
)
def test_bad_figures_are_named(name: str, bad: float) -> None:
    good = {"diameter_mm": 12.7, "point_deg": 118.0, "outer_radius_mm": 88.0, "density_g_cm3": 7.85}
    with pytest.raises(QuantityError) as caught:
        hole_of_depth(Drill(**{**good, name: bad}), depth_mm=20.0)
    # a depth limit of 0 leaves no room for any drill
    assert caught.value.quantity == ("diameter_mm" if name == "depth_limit_mm" and bad == 0.0 else name)


@pytest.mark.parametrize(
    ("changed", "quantity"),
    [
        ({"diameter_mm": 176.0}, "diameter_mm"),
        ({"diameter_mm": 200.0}, "diameter_mm"),
        ({"diameter_mm": 100.0, "point_deg": 30.0}, "diameter_mm"),
        ({"point_deg": 180.1}, "point_deg"),
        ({"slug_density_g_cm3": 7.85}, "slug_density_g_cm3"),
        ({"slug_density_g_cm3": 2.7}, "slug_density_g_cm3"),
        ({"diameter_mm": 1e100, "outer_radius_mm": 1e120}, "diameter_mm"),
        ({"density_g_cm3": 1e308}, "grams"),
    ],
)
def test_drills_that_do_not_fit(changed: dict[str, float], quantity: str) -> None:
    good = {"diameter_mm": 12.7, "point_deg": 118.0, "outer_radius_mm": 88.0, "density_g_cm3": 7.85}
    with pytest.raises(QuantityError) as caught:
        hole_of_depth(Drill(**{**good, **changed}), depth_mm=20.0)
    assert caught.value.quantity == quantity


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0])
def test_bad_wishes_are_named(bad: float) -> None:
    for quantity, call in (
        ("depth_mm", lambda: hole_of_depth(STEEL, depth_mm=bad)),
        ("amount_g_mm", lambda: depth_for_amount(STEEL, amount_g_mm=bad)),
        ("grams", lambda: depth_for_grams(STEEL, grams=bad)),
    ):
        with pytest.raises(QuantityError) as caught:
            call()
        assert caught.value.quantity == quantity


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan])
def test_bad_caps_are_named(bad: float) -> None:
    with pytest.raises(QuantityError, match="diameter_mm"):
        curved_cap_volume(diameter_mm=bad, outer_radius_mm=88.0)
    with pytest.raises(QuantityError, match="outer_radius_mm"):
        curved_cap_volume(diameter_mm=10.0, outer_radius_mm=bad)
    with pytest.raises(QuantityError, match="less than twice the outer radius, 176"):
        curved_cap_volume(diameter_mm=176.0, outer_radius_mm=88.0)


def test_root_to_the_last_digit() -> None:
    found = bracketed_root(lambda x: x * x - 2.0, low=0.0, high=2.0)
    assert abs(found - math.sqrt(2.0)) <= math.ulp(math.sqrt(2.0))
    assert bracketed_root(lambda x: x - 1.0, low=1.0, high=3.0) == 1.0
    assert bracketed_root(lambda x: x - 3.0, low=1.0, high=3.0) == 3.0
    assert bracketed_root(lambda x: x + 3.0, low=-4.0, high=-1.0) == -3.0
    # a step: the nearer end of the last bracket
    step = bracketed_root(lambda x: -1.0 if x < 0.3 else 0.25, low=0.0, high=1.0)
    assert step >= 0.3
    assert step == pytest.approx(0.3)
    other = bracketed_root(lambda x: -0.25 if x < 0.3 else 1.0, low=0.0, high=1.0)
    assert other < 0.3
    assert other == pytest.approx(0.3)


def test_root_by_halving() -> None:
    # from 2 down to one place of a number below 2, 2^-52: 53 halvings, and the looks at the ends
    asked: list[float] = []

    def function(x: float) -> float:
        asked.append(x)
        return x * x - 2.0

    bracketed_root(function, low=0.0, high=2.0)
    assert len(asked) <= 53 + 4
    with pytest.raises(QuantityError, match="bracket"):
        bracketed_root(lambda x: x - 1.0, low=1.0, high=1.0)


@pytest.mark.parametrize(("low", "high"), [(2.0, 0.0), (2.0, 3.0), (0.0, 1.0), (1.0, 1.0), (math.nan, 2.0)])
def test_no_bracket(low: float, high: float) -> None:
    with pytest.raises(QuantityError) as caught:
        bracketed_root(lambda x: x * x - 2.0, low=low, high=high)
    assert caught.value.quantity == "bracket"
