"""Units against a general-purpose units library; limits, verdicts and their ends."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.computation.errors import QuantityError
from bench.computation.unbalance import (
    PlaneVerdict,
    allocated_to_planes,
    grade_of_unbalance,
    percent_of_bobweight,
    permissible_eccentricity,
    permissible_residual_unbalance,
    plane_verdict,
    stricter_limit_g,
    whole_verdict,
)
from bench.computation.unbalance_units import (
    GRAMS_PER_OUNCE,
    MM_PER_INCH,
    UnbalanceUnit,
    amount_of_grams,
    centrifugal_force,
    converted,
    grams_at_radius,
)

UNITS = pint.UnitRegistry()
WORDS = {
    UnbalanceUnit.G_MM: "g * mm",
    UnbalanceUnit.G_CM: "g * cm",
    UnbalanceUnit.KG_M: "kg * m",
    UnbalanceUnit.OZ_IN: "oz * inch",
    UnbalanceUnit.G_IN: "g * inch",
    UnbalanceUnit.LB_IN: "lb * inch",
}
sizes = st.floats(min_value=1e-6, max_value=1e9)


@given(st.floats(-1e9, 1e9), st.sampled_from(UnbalanceUnit), st.sampled_from(UnbalanceUnit))
def test_conversion_agrees_with_a_units_library(amount: float, source: UnbalanceUnit, target: UnbalanceUnit) -> None:
    expected = UNITS.Quantity(amount, WORDS[source]).to(WORDS[target]).magnitude
    assert converted(amount, source=source, target=target) == pytest.approx(expected, rel=1e-12, abs=1e-300)


@given(st.floats(-1e9, 1e9), st.sampled_from(UnbalanceUnit), st.sampled_from(UnbalanceUnit))
def test_units_there_and_back(amount: float, source: UnbalanceUnit, target: UnbalanceUnit) -> None:
    there = converted(amount, source=source, target=target)
    assert converted(there, source=target, target=source) == pytest.approx(amount, rel=1e-12, abs=1e-300)


def test_ounce_and_inch() -> None:
    assert pytest.approx(UnbalanceUnit.OZ_IN.value, rel=1e-15) == GRAMS_PER_OUNCE * MM_PER_INCH


@given(sizes, st.floats(1.0, 1e4))
def test_grams_at_a_radius_there_and_back(grams: float, radius: float) -> None:
    assert grams_at_radius(amount_of_grams(grams, radius_mm=radius), radius_mm=radius) == pytest.approx(
        grams, rel=1e-12
    )


def test_force_against_a_units_library() -> None:
    force = UNITS.Quantity(720.0, "g * mm") * UNITS.Quantity(4600.0 * 2 * math.pi / 60, "1/s") ** 2
    assert centrifugal_force(720.0, speed_rpm=4600.0) == pytest.approx(force.to("N").magnitude, rel=1e-12)


@given(sizes, sizes, st.floats(1.0, 1e5))
def test_grade_there_and_back(grade: float, mass: float, speed: float) -> None:
    amount = permissible_residual_unbalance(grade_mm_per_s=grade, rotor_mass_kg=mass, speed_rpm=speed)
    found = grade_of_unbalance(amount_g_mm=amount, rotor_mass_kg=mass, speed_rpm=speed)
    assert found == pytest.approx(grade, rel=1e-12)


def test_permissible_unbalance_against_a_units_library() -> None:
    omega = UNITS.Quantity(4600.0 * 2 * math.pi / 60, "1/s")
    expected = (UNITS.Quantity(6.3, "mm/s") / omega * UNITS.Quantity(25.0, "kg")).to("g * mm").magnitude
    found = permissible_residual_unbalance(grade_mm_per_s=6.3, rotor_mass_kg=25.0, speed_rpm=4600.0)
    assert found == pytest.approx(expected, rel=1e-12)
    assert permissible_eccentricity(grade_mm_per_s=6.3, speed_rpm=4600.0) == pytest.approx(found / 25.0, rel=1e-12)


@given(sizes, st.floats(1.0, 1e4), st.floats(1.0, 1e4))
def test_shares_add_up_and_swap(permissible: float, a: float, b: float) -> None:
    shares = allocated_to_planes(permissible, distance_a_mm=a, distance_b_mm=b)
    swapped = allocated_to_planes(permissible, distance_a_mm=b, distance_b_mm=a)
    assert shares.a_g_mm + shares.b_g_mm == pytest.approx(permissible, rel=1e-12)
    assert (shares.a_g_mm, shares.b_g_mm) == pytest.approx((swapped.b_g_mm, swapped.a_g_mm), rel=1e-12)
    assert 0.3 * permissible * (1 - 1e-12) <= min(shares.a_g_mm, shares.b_g_mm)


@pytest.mark.parametrize(
    ("a", "b", "share_a", "limited"),
    [(1.0, 9.0, 0.7, True), (9.0, 1.0, 0.3, True), (6.0, 4.0, 0.4, False), (1e308, 1e308, 0.5, False)],
)
def test_limits_of_the_shares(a: float, b: float, share_a: float, *, limited: bool) -> None:
    # no plane of an inboard rotor above 0.7 or below 0.3: ISO 1940-1:2003 clause 7, from memory
    shares = allocated_to_planes(100.0, distance_a_mm=a, distance_b_mm=b)
    assert shares.a_g_mm == pytest.approx(100.0 * share_a, rel=1e-12)
    assert shares.b_g_mm == pytest.approx(100.0 * (1 - share_a), rel=1e-12)
    assert shares.limited is limited


@pytest.mark.parametrize(
    ("residual", "limit", "uncertainty", "verdict"),
    [
        (0.5, 1.0, 0.5, PlaneVerdict.INSIDE),
        (0.0, 1.0, 0.0, PlaneVerdict.INSIDE),
        (1.0, 1.0, 0.0, PlaneVerdict.INSIDE),
        (0.75, 1.0, 0.5, PlaneVerdict.TOO_CLOSE),
        (1.5, 1.0, 0.5, PlaneVerdict.TOO_CLOSE),
        (1.0, 1.0, 0.25, PlaneVerdict.TOO_CLOSE),
        (1.75, 1.0, 0.5, PlaneVerdict.OUTSIDE),
        (1.25, 1.0, 0.0, PlaneVerdict.OUTSIDE),
    ],
)
def test_verdict(residual: float, limit: float, uncertainty: float, verdict: PlaneVerdict) -> None:
    assert plane_verdict(residual=residual, limit=limit, uncertainty=uncertainty) is verdict


@pytest.mark.parametrize("bad", [None, math.nan, math.inf, -math.inf, -0.1])
@pytest.mark.parametrize("name", ["residual", "limit", "uncertainty"])
def test_what_is_not_known_is_never_inside(name: str, bad: float | None) -> None:
    good: dict[str, float | None] = {"residual": 0.1, "limit": 1.0, "uncertainty": 0.1}
    assert plane_verdict(**{**good, name: bad}) is PlaneVerdict.UNKNOWN


def test_a_limit_of_nothing_is_unknown() -> None:
    assert plane_verdict(residual=0.0, limit=0.0, uncertainty=0.0) is PlaneVerdict.UNKNOWN


@given(st.lists(st.sampled_from(PlaneVerdict), max_size=4))
def test_whole_verdict_is_the_worst(verdicts: list[PlaneVerdict]) -> None:
    found = whole_verdict(tuple(verdicts))
    if PlaneVerdict.OUTSIDE in verdicts:
        assert found is PlaneVerdict.OUTSIDE
    elif not verdicts or PlaneVerdict.UNKNOWN in verdicts:
        assert found is PlaneVerdict.UNKNOWN
    elif PlaneVerdict.TOO_CLOSE in verdicts:
        assert found is PlaneVerdict.TOO_CLOSE
    else:
        assert found is PlaneVerdict.INSIDE


def test_words_of_the_verdicts() -> None:
    assert [str(verdict) for verdict in PlaneVerdict] == ["inside", "too close to call", "outside", "unknown"]


@pytest.mark.parametrize(
    ("shop", "grade", "radius", "limit"),
    [(1.0, 60.0, 80.0, 0.75), (0.5, 60.0, 80.0, 0.5), (None, 60.0, 80.0, 0.75), (2.0, None, 80.0, 2.0)],
)
def test_stricter_limit(shop: float | None, grade: float | None, radius: float, limit: float) -> None:
    assert stricter_limit_g(shop_limit_g=shop, grade_limit_g_mm=grade, radius_mm=radius) == limit


def test_percent_of_a_bobweight() -> None:
    assert percent_of_bobweight(worst_plane_g=5.0, bobweight_g=2000.0) == 0.25


def test_no_limit_at_all() -> None:
    with pytest.raises(QuantityError) as caught:
        stricter_limit_g(shop_limit_g=None, grade_limit_g_mm=None, radius_mm=80.0)
    assert caught.value.quantity == "shop_limit_g"
    assert caught.value.found is None
    assert caught.value.wanted == "a shop limit or a grade's limit"


BAD = [0.0, -1.0, math.nan, math.inf]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize(
    ("function", "good"),
    [
        (permissible_eccentricity, {"grade_mm_per_s": 6.3, "speed_rpm": 4600.0}),
        (permissible_residual_unbalance, {"grade_mm_per_s": 6.3, "rotor_mass_kg": 25.0, "speed_rpm": 4600.0}),
        (grade_of_unbalance, {"rotor_mass_kg": 25.0, "speed_rpm": 4600.0, "amount_g_mm": 1.0}),
        (stricter_limit_g, {"shop_limit_g": 1.0, "grade_limit_g_mm": 60.0, "radius_mm": 80.0}),
        (percent_of_bobweight, {"worst_plane_g": 1.0, "bobweight_g": 2300.0}),
    ],
)
def test_bad_figures_are_named(function, good: dict[str, float], bad: float) -> None:
    for name in good:
        if name in {"amount_g_mm", "worst_plane_g"} and bad == 0.0:
            assert function(**{**good, name: bad}) == 0.0
            continue
        with pytest.raises(QuantityError) as caught:
            function(**{**good, name: bad})
        assert caught.value.quantity == name


@pytest.mark.parametrize("bad", BAD)
def test_bad_figures_beside_an_amount_are_named(bad: float) -> None:
    for name, call in (
        ("radius_mm", lambda: grams_at_radius(1.0, radius_mm=bad)),
        ("radius_mm", lambda: amount_of_grams(1.0, radius_mm=bad)),
        ("speed_rpm", lambda: centrifugal_force(1.0, speed_rpm=bad)),
        ("permissible_g_mm", lambda: allocated_to_planes(bad, distance_a_mm=1.0, distance_b_mm=1.0)),
        ("distance_a_mm", lambda: allocated_to_planes(1.0, distance_a_mm=bad, distance_b_mm=1.0)),
        ("distance_b_mm", lambda: allocated_to_planes(1.0, distance_a_mm=1.0, distance_b_mm=bad)),
    ):
        with pytest.raises(QuantityError) as caught:
            call()
        assert caught.value.quantity == name


@pytest.mark.parametrize(
    ("quantity", "call"),
    [
        ("amount", lambda: converted(math.nan, source=UnbalanceUnit.G_MM, target=UnbalanceUnit.G_CM)),
        ("amount", lambda: converted(1e308, source=UnbalanceUnit.KG_M, target=UnbalanceUnit.G_MM)),
        ("amount_g_mm", lambda: grams_at_radius(math.inf, radius_mm=1.0)),
        ("grams", lambda: grams_at_radius(1e308, radius_mm=1e-3)),
        ("grams", lambda: amount_of_grams(math.nan, radius_mm=1.0)),
        ("amount_g_mm", lambda: amount_of_grams(1e308, radius_mm=1e3)),
        ("amount_g_mm", lambda: centrifugal_force(math.nan, speed_rpm=1.0)),
        ("force_n", lambda: centrifugal_force(1e308, speed_rpm=1e9)),
        ("e_per_um", lambda: permissible_eccentricity(grade_mm_per_s=1e308, speed_rpm=1.0)),
        ("speed_rpm", lambda: permissible_eccentricity(grade_mm_per_s=1.0, speed_rpm=5e-324)),
        (
            "U_per_g_mm",
            lambda: permissible_residual_unbalance(grade_mm_per_s=1e300, rotor_mass_kg=1e9, speed_rpm=1.0),
        ),
        ("grade_mm_per_s", lambda: grade_of_unbalance(amount_g_mm=1e308, rotor_mass_kg=1e-3, speed_rpm=1e9)),
        ("percent", lambda: percent_of_bobweight(worst_plane_g=1e308, bobweight_g=1e-3)),
    ],
)
def test_results_too_large_are_refused(quantity: str, call) -> None:
    with pytest.raises(QuantityError) as caught:
        call()
    assert caught.value.quantity == quantity
