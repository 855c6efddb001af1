"""Tables: control chart factors, drill sizes, densities, grades. Status words as in test_influence_examples."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from bench.computation.balance_grades import FINEST_FOR_CRANKS_MM_PER_S, GRADES_MM_PER_S, grade_kept
from bench.computation.densities import DENSITIES, density_of
from bench.computation.drill_sizes import drill_diameter_mm, drill_names
from bench.computation.errors import QuantityError
from bench.computation.subgroup_chart import group_charts, group_factors


@pytest.mark.parametrize(
    "row",
    [
        # derived by integration; n = 2 also from the usual table, from memory: n, d2, d3, c4, A2, D3, D4
        (2, 1.1284, 0.8525, 0.7979, 1.88, 0, 3.2665),
        (3, 1.6926, 0.8884, 0.8862, 1.0233, 0, 2.5746),
        (4, 2.0588, 0.8798, 0.9213, 0.7286, 0, 2.2821),
        (5, 2.3259, 0.8641, 0.94, 0.5768, 0, 2.1145),
        (6, 2.5344, 0.848, 0.9515, 0.4832, 0, 2.0038),
        (7, 2.7044, 0.8332, 0.9594, 0.4193, 0.0757, 1.9243),
        (8, 2.8472, 0.8198, 0.965, 0.3725, 0.1362, 1.8638),
        (9, 2.97, 0.8078, 0.9693, 0.3367, 0.184, 1.816),
        (10, 3.0775, 0.7971, 0.9727, 0.3083, 0.223, 1.777),
    ],
)
def test_control_chart_factors(row: tuple[float, ...]) -> None:
    size, *expected = row
    found = group_factors(int(size))
    assert [
        found.range_mean, found.range_deviation, found.deviation_mean, found.mean_limit, found.range_low,
        found.range_high,
    ] == pytest.approx(expected, abs=6e-5)  # fmt: skip


@pytest.mark.parametrize("size", range(2, 11))
def test_range_of_normal_values_by_integration(size: int) -> None:
    # E(W) and E(W^2) of the range W as integrals over the normal distribution, by Gauss and Legendre
    nodes, weights = np.polynomial.legendre.leggauss(200)
    x, across = 8.0 * nodes, 8.0 * weights
    low, high = norm.cdf(x), norm.sf(x)
    d2 = np.sum(across * (1 - low**size - high**size))
    assert group_factors(size).range_mean == pytest.approx(d2, abs=6e-6)
    # y from x upwards
    y = x[:, None] + (8.0 - x[:, None]) * (nodes + 1) / 2
    area = across[:, None] * weights * (8.0 - x[:, None]) / 2
    between = norm.cdf(y) - low[:, None]
    square = 2 * np.sum(area * (1 - norm.cdf(y) ** size - high[:, None] ** size + between**size))
    assert group_factors(size).range_deviation == pytest.approx(math.sqrt(square - d2 * d2), abs=6e-6)


def test_group_charts() -> None:
    # hand arithmetic: means 10, 11, 12; ranges 2, 4, 0; mean range 2, A2 1.88, D4 3.2665
    charts = group_charts([[9.0, 11.0], [9.0, 13.0], [12.0, 12.0]])
    assert charts.means.points == (10.0, 11.0, 12.0)
    assert charts.means.centre == 11.0
    assert (charts.means.lower, charts.means.upper) == pytest.approx((11 - 3.76, 11 + 3.76), abs=1e-3)
    assert charts.means.outside == ()
    assert charts.ranges.points == (2.0, 4.0, 0.0)
    assert charts.ranges.centre == 2.0
    assert (charts.ranges.lower, charts.ranges.upper) == pytest.approx((0.0, 6.533), abs=1e-3)
    moved = group_charts([[10.0, 10.1], [10.0, 10.1], [11.0, 11.1], [10.0, 10.1], [10.0, 11.0]])
    assert moved.means.outside == (2,)
    assert moved.ranges.outside == (4,)


@pytest.mark.parametrize(
    ("groups", "words"),
    [
        ([[1.0, 2.0]], "groups: found 1, wanted at least two groups"),
        ([[1.0], [2.0]], "size: found 1, wanted groups of 2 to 10 values"),
        ([[1.0] * 11] * 2, "size: found 11, wanted groups of 2 to 10 values"),
        ([[1.0, 2.0], [1.0]], r"groups\[1\]: found 1, wanted 2 values as in the first"),
        ([[1.0, 2.0], [1.0, math.nan]], r"groups\[1\]\[1\]: found nan, wanted a finite number"),
        ([[1e308, 1e308], [1.0, 1.0]], "groups: found inf, wanted inputs small enough"),
        ([[1e308, -1e308], [1.0, 1.0]], "groups: found inf, wanted inputs small enough"),
    ],
)
def test_bad_groups_are_named(groups: list[list[float]], words: str) -> None:
    with pytest.raises(QuantityError, match=f"^{words}"):
        group_charts(groups)


@pytest.mark.parametrize(
    ("name", "inch"),
    [
        # printed in a dealer's table
        ("#1", 0.2280), ("#2", 0.2210), ("#7", 0.2010), ("#10", 0.1935), ("#21", 0.1590), ("#25", 0.1495),
        # printed in a public-domain table
        ("#53", 0.0595), ("#54", 0.055), ("#55", 0.052), ("#56", 0.0465), ("#57", 0.043), ("#58", 0.042),
        ("#59", 0.041), ("#60", 0.04),
        # from memory
        ("#30", 0.1285), ("#40", 0.098), ("#50", 0.07), ("A", 0.234), ("E", 0.25), ("F", 0.257), ("Q", 0.332),
        ("U", 0.368), ("X", 0.397), ("Z", 0.413),
        # exact
        ("1/16", 0.0625), ("1/4", 0.25), ("31/64", 0.484375), ("1/2", 0.5), ("63/64", 0.984375), ("1", 1.0),
    ],
)  # fmt: skip
def test_drill_sizes(name: str, inch: float) -> None:
    assert drill_diameter_mm(name) == pytest.approx(inch * 25.4, rel=1e-12)


def test_whole_table_of_drill_sizes() -> None:
    table: dict[str, list[float]] = json.loads(Path(__file__).with_name("drill_sizes.json").read_text())["sizes"]
    assert set(table) == set(drill_names())
    for name, (inch, mm) in table.items():
        # a fraction is printed to a ten-thousandth of a millimetre
        assert drill_diameter_mm(name) == pytest.approx(inch * 25.4, abs=1e-9)
        assert drill_diameter_mm(name) == pytest.approx(mm, abs=5.1e-5)


def test_drills_of_a_kind_grow_in_one_direction() -> None:
    sizes = [drill_diameter_mm(name) for name in drill_names()]
    assert len(sizes) == 60 + 26 + 61
    assert sizes[:60] == sorted(sizes[:60], reverse=True)
    assert sizes[60:86] == sorted(sizes[60:86])
    assert sizes[86:] == pytest.approx([part / 64 * 25.4 for part in range(4, 65)])
    for name in ("#0", "#61", "a", "AA", "2/64", "65/64", "", "0.5"):
        with pytest.raises(QuantityError) as caught:
            drill_diameter_mm(name)
        assert str(caught.value) == (
            f"drill: found {name}, wanted #1 to #60, A to Z, or a fraction of an inch from 1/16 to 1"
        )


@pytest.mark.parametrize(
    ("number", "low", "high"),
    # ASTM B777-15 Table 1, printed
    [(1, 16.85, 17.30), (2, 17.15, 17.85), (3, 17.75, 18.35), (4, 18.25, 18.85)],
)
def test_heavy_metal_classes(number: int, low: float, high: float) -> None:
    found = density_of(f"heavy metal class {number}")
    assert (found.low_g_cm3, found.high_g_cm3) == (low, high)
    assert 0.024 < (high - low) / found.usual_g_cm3 < 0.041


def test_densities() -> None:
    # handbook values, from memory
    for material, value in (
        ("steel", 7.85), ("grey cast iron", 7.2), ("lead", 11.34), ("aluminium", 2.7), ("tungsten", 19.25),
        # the usual middles of the heavy metal classes; the standard prints windows only
        ("heavy metal class 1", 17.0), ("heavy metal class 2", 17.5), ("heavy metal class 3", 18.0),
        ("heavy metal class 4", 18.5),
    ):  # fmt: skip
        assert density_of(material).usual_g_cm3 == value
    cast = density_of("grey cast iron")
    assert (cast.low_g_cm3, cast.high_g_cm3) == (7.05, 7.3)
    # net gain of a slug of class 1 instead of steel, derived
    assert density_of("heavy metal class 1").usual_g_cm3 - density_of("steel").usual_g_cm3 == pytest.approx(9.15)
    assert all(d.low_g_cm3 <= d.usual_g_cm3 <= d.high_g_cm3 for d in DENSITIES)
    with pytest.raises(QuantityError, match=r"^material: found cheese, wanted one of steel, grey cast iron, heavy"):
        density_of("cheese")


def test_grades() -> None:
    # Table 1 of ISO 21940-11, seen in a transcription
    assert GRADES_MM_PER_S == (0.4, 1, 2.5, 6.3, 16, 40, 100, 250, 630, 1600, 4000)
    assert FINEST_FOR_CRANKS_MM_PER_S == 16.0
    assert [grade_kept(g) for g in (0.0, 0.41, 16.0, 16.1, 4000.0, 4000.1)] == [0.4, 1.0, 16.0, 40.0, 4000.0, None]
    with pytest.raises(QuantityError, match=r"^grade_mm_per_s: found -1.0, wanted a finite number, 0 or above$"):
        grade_kept(-1.0)
