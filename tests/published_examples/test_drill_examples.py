"""Drilled holes and densities against geometry and a standard's table. Status words as in test_influence_examples."""

from __future__ import annotations

import math

import pytest

from bench.computation.drill import Drill, curved_cap_volume, hole_of_depth


@pytest.mark.parametrize(
    ("d", "depth", "density", "radius", "cylinder", "cone", "flat_grams", "centroid", "flat_amount", "cap"),
    [
        (12.7, 25, 7.85, 88, 3166.9217443593607, 161.110384723604, 26.12505221330127, 74.84869692337722,
         1955.4261152207919, 7.260309434826442),
        (6.35, 10, 7.2, 70, 316.69217443593607, 20.1387980904505, 2.4251830021899834, 64.67253946583995,
         156.8427434210159, 0.5702279278344418),
    ],
)  # fmt: skip
def test_hole(
    *, d: float, depth: float, density: float, radius: float, cylinder: float, cone: float, flat_grams: float,
    centroid: float, flat_amount: float, cap: float,
) -> None:  # fmt: skip
    # derived; the cap there is an integral good to 1e-7
    hole = hole_of_depth(
        Drill(diameter_mm=d, point_deg=118, outer_radius_mm=radius, density_g_cm3=density), depth_mm=depth
    )
    lost = curved_cap_volume(diameter_mm=d, outer_radius_mm=radius)
    assert lost == pytest.approx(cap, rel=1e-6)
    assert hole.volume_mm3 == pytest.approx(cylinder + cone - cap, rel=1e-9)
    assert hole.grams + lost * density / 1000 == pytest.approx(flat_grams, rel=1e-9)
    # the cap's moment is pi a^4 / 8
    cap_moment = density / 1000 * math.pi * (d / 2) ** 4 / 8
    assert hole.amount_g_mm + cap_moment == pytest.approx(flat_amount, rel=1e-9)
    assert (hole.amount_g_mm + cap_moment) / flat_grams == pytest.approx(centroid, rel=1e-9)
    assert lost == pytest.approx(math.pi * (d / 2) ** 4 / (8 * radius), rel=1e-3)


@pytest.mark.parametrize(
    ("point", "height", "volume"),
    [
        # geometry, derived: height / D and volume / D^3 of a drill's point
        (90, 0.5000000000000001, 0.13089969389957473),
        (118, 0.30043030951378014, 0.07865247110701662),
        (120, 0.288675134594813, 0.07557497350975909),
        (130, 0.2331538290774993, 0.061039529715516835),
        (135, 0.20710678118654754, 0.054220428523690536),
        (140, 0.18198511713310123, 0.047643592254002394),
        (179.999999999, 4.363318125249306e-12, 1.1423140139632008e-12),
    ],
)
def test_point_of_a_drill(point: float, height: float, volume: float) -> None:
    def hole(point_deg: float) -> tuple[float, float]:
        found = hole_of_depth(
            Drill(diameter_mm=10, point_deg=point_deg, outer_radius_mm=100, density_g_cm3=1000), depth_mm=20
        )
        return found.volume_mm3, found.amount_g_mm

    (with_point, moment), (flat, flat_moment) = hole(point), hole(180.0)
    assert with_point - flat == pytest.approx(volume * 1000, rel=1e-9, abs=1e-9)
    if volume > 1e-3:
        # the cone's centroid lies a quarter of its height below its base, 80 mm from the axis
        assert (moment - flat_moment) / (volume * 1000) == pytest.approx(80 - height * 10 / 4, rel=1e-9)


@pytest.mark.parametrize("slug", [16.85, 17.3, 17.15, 17.85, 17.75, 18.35, 18.25, 18.85])
def test_slug_gains_the_difference_of_densities(slug: float) -> None:
    # limits of the classes of ASTM B777-15 Table 1, printed; steel 7.85 by convention
    drill = Drill(diameter_mm=12.7, point_deg=118, outer_radius_mm=88, density_g_cm3=7.85)
    filled = Drill(diameter_mm=12.7, point_deg=118, outer_radius_mm=88, density_g_cm3=7.85, slug_density_g_cm3=slug)
    empty, gained = hole_of_depth(drill, depth_mm=25), hole_of_depth(filled, depth_mm=25)
    assert gained.grams / empty.grams == pytest.approx((slug - 7.85) / 7.85, rel=1e-12)
    assert gained.amount_g_mm / empty.amount_g_mm == pytest.approx((slug - 7.85) / 7.85, rel=1e-12)
    assert gained.volume_mm3 == empty.volume_mm3
