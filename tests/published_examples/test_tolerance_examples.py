"""Limits and units against standards. Status words as in test_influence_examples."""

from __future__ import annotations

import math

import pytest

from bench.computation.unbalance import (
    allocated_to_planes,
    percent_of_bobweight,
    permissible_eccentricity,
    permissible_residual_unbalance,
)
from bench.computation.unbalance_units import (
    GRAMS_PER_OUNCE,
    MM_PER_INCH,
    UnbalanceUnit,
    centrifugal_force,
    converted,
)


def test_turbine_rotor_of_the_standard() -> None:
    # ISO 1940-1:2003 (now ISO 21940-11:2016), informative annex, from memory: 8.0 um, 28 600, 10 700, 17 900 g mm
    whole = permissible_residual_unbalance(grade_mm_per_s=2.5, rotor_mass_kg=3600, speed_rpm=3000)
    shares = allocated_to_planes(whole, distance_a_mm=1500, distance_b_mm=900)
    assert permissible_eccentricity(grade_mm_per_s=2.5, speed_rpm=3000) == pytest.approx(8.0, rel=0.006)
    assert whole == pytest.approx(28_600, rel=0.006)
    assert (shares.a_g_mm, shares.b_g_mm) == pytest.approx((10_700, 17_900), rel=0.006)
    # derived
    assert whole == pytest.approx(28647.88975654116, rel=1e-12)
    assert shares.a_g_mm == pytest.approx(10742.958658702935, rel=1e-12)
    assert not shares.limited


@pytest.mark.parametrize(
    ("grade", "mass", "rpm", "a", "b", "whole", "share_a", "share_b", "ounce_inches"),
    [
        # derived allocation cases
        (2.5, 22.4, 9500, 180, 180, 56.29059039881772, 28.14529519940886, 28.14529519940886, 0.07817292),
        (1, 3.2, 24000, 40, 35, 1.2732395447351628, 0.5941784542097426, 0.6790610905254202, 0.001768197),
    ],
)
def test_allocation(
    *, grade: float, mass: float, rpm: float, a: float, b: float, whole: float, share_a: float, share_b: float,
    ounce_inches: float,
) -> None:  # fmt: skip
    found = permissible_residual_unbalance(grade_mm_per_s=grade, rotor_mass_kg=mass, speed_rpm=rpm)
    shares = allocated_to_planes(found, distance_a_mm=a, distance_b_mm=b)
    assert found == pytest.approx(whole, rel=1e-12)
    assert (shares.a_g_mm, shares.b_g_mm) == pytest.approx((share_a, share_b), rel=1e-9)
    in_ounce_inches = converted(found, source=UnbalanceUnit.G_MM, target=UnbalanceUnit.OZ_IN)
    assert in_ounce_inches == pytest.approx(ounce_inches, rel=3e-7)


def test_inch_formula() -> None:
    # Article on balance tolerances (energy-tech.com), printed: U [oz in] = 6.015 G W [lb] / N [r/min]; it also prints
    # the naval limit 4 W / N, which is grade 0.665 (derived: 0.6649704450098395).
    one_pound_kg = 0.45359237
    found = converted(
        permissible_residual_unbalance(grade_mm_per_s=1.0, rotor_mass_kg=one_pound_kg, speed_rpm=1.0),
        source=UnbalanceUnit.G_MM,
        target=UnbalanceUnit.OZ_IN,
    )
    assert found == pytest.approx(6.015, rel=1e-4)
    assert found == pytest.approx(6.015304935756675, rel=1e-12)
    assert 4.0 / found == pytest.approx(0.6649704450098395, rel=1e-12)


def test_share_of_the_standards_centre() -> None:
    # half to each plane when the mass centre is near the middle: Bloch and Geitner, Machinery Component Maintenance and
    # Repair, Fig. 6-33 note (1), printed
    shares = allocated_to_planes(100.0, distance_a_mm=50.0, distance_b_mm=50.0)
    assert (shares.a_g_mm, shares.b_g_mm) == (50.0, 50.0)


@pytest.mark.parametrize(
    ("unit", "g_mm"),
    [
        # exact by the definitions of inch (25.4 mm) and pound (453.59237 g)
        (UnbalanceUnit.OZ_IN, 720.077887375),
        (UnbalanceUnit.LB_IN, 11521.246198),
        (UnbalanceUnit.G_CM, 10.0),
        (UnbalanceUnit.KG_M, 1e6),
        (UnbalanceUnit.G_IN, 25.4),
    ],
)
def test_units(unit: UnbalanceUnit, g_mm: float) -> None:
    assert converted(1.0, source=unit, target=UnbalanceUnit.G_MM) == pytest.approx(g_mm, rel=1e-15)


def test_grade_constant() -> None:
    # 9549.297 G m / n (units table, exact: 60 000 / (2 pi))
    found = permissible_residual_unbalance(grade_mm_per_s=1.0, rotor_mass_kg=1.0, speed_rpm=1.0)
    assert found == pytest.approx(60_000.0 / math.tau, rel=1e-14)
    assert found == pytest.approx(9549.29658551372, rel=1e-13)


def test_definitions_of_ounce_inch_and_turns_a_minute() -> None:
    # exact by definition: ounce 28.349523125 g, inch 25.4 mm; 1/min is 2 pi / 60 rad/s
    assert pytest.approx(453.59237 / 16, rel=1e-15) == GRAMS_PER_OUNCE
    assert MM_PER_INCH == 25.4
    assert UnbalanceUnit.OZ_IN.value == pytest.approx(GRAMS_PER_OUNCE * MM_PER_INCH, rel=1e-15)
    assert centrifugal_force(1e6, speed_rpm=1.0) == pytest.approx(0.10471975511965977**2, rel=1e-14)


def test_percent_figure() -> None:
    # common practice, no source: worst plane 0.88 g at a bobweight of 2317.8 g is 0.038 %
    assert round(percent_of_bobweight(worst_plane_g=0.88, bobweight_g=2317.8), 3) == 0.038
