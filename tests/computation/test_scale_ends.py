"""Scale, statistics, charts and sums at the ends of what a double holds, by hand arithmetic."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from bench.computation.errors import QuantityError
from bench.computation.rebuild import RebuiltThrow, rebuilt_crank
from bench.computation.sample_statistics import fitted_line, sample
from bench.computation.scale_check import ScaleClass, scale_check
from bench.computation.subgroup_chart import group_charts
from bench.computation.uncertainty_budget import BudgetTerm, combined_budget
from bench.computation.vectors import Vector, sum_of
from bench.computation.weighing import ScaleTerms, weighing_budget


def test_deviations_of_numbers_that_fill_a_double() -> None:
    # neighbours are 1 apart below 2^53 and 2 apart above it
    assert sample([6e15, 6e15 + 1, 6e15 + 2]).standard_deviation == 1.0
    # the mean 2^53 + 1.5 is no double; the squares of -1.5 and three times 0.5 add up to 3
    found = sample([2.0**53, 2.0**53 + 2, 2.0**53 + 2, 2.0**53 + 2])
    assert found.standard_deviation == 1.0
    # neighbours: -1.5 * 0.5 + 0.5 * 0.5 + 0.5 * 0.5 over 3
    assert found.lag_1 == pytest.approx(-0.25 / 3)


def test_line_through_numbers_that_fill_a_double() -> None:
    line = fitted_line([6e15, 6e15 + 1, 6e15 + 2], [1.0, 3.0, 5.0])
    assert (line.slope, line.r_squared) == (2.0, 1.0)


@pytest.mark.parametrize(
    ("quantity", "call"),
    [
        ("values", lambda: sample([1.7e308, 1.7e308])),
        ("values", lambda: sample([1e200, -1e200])),
        ("xs", lambda: fitted_line([1e200, -1e200, 0.0], [0.0, 1.0, 2.0])),
        ("ys", lambda: fitted_line([0.0, 1.0, 2.0], [1e200, -1e200, 0.0])),
        ("groups", lambda: group_charts([[0.8e308, 0.8e308]] * 3)),
        ("amount", lambda: sum_of([Vector(1.7e308, 90.0)] * 2)),
        ("amount", lambda: sum_of([Vector(1.7e308, 0.0)] * 2)),
        (
            "eccentric_error_g",
            lambda: weighing_budget(
                ScaleTerms(division_g=0.1, repeatability_g=0.1, eccentric_error_g=1e300, eccentric_load_g=1e-10),
                load_g=1e10,
            ),
        ),
    ],
)
def test_what_overflows_is_named(quantity: str, call: Callable[[], object]) -> None:
    with pytest.raises(QuantityError) as caught:
        call()
    assert caught.value.quantity == quantity
    assert not math.isfinite(float(str(caught.value.found)))


def test_a_weight_is_fit_at_a_third_exactly() -> None:
    # M3 at 1 kg: 0.5 g; class II with 667 divisions of 1.5 g: half a division, doubled in use, 1.5 g
    check = scale_check(shown_g=1000.0, nominal_g=1000.0, weight_class="M3", division_g=1.5, scale_class=ScaleClass.II)
    assert (check.weight_error_g, check.allowed_g, check.weight_fit) == (0.5, 1.5, True)


def test_limits_of_ranges_of_seven() -> None:
    # table of control chart factors for seven: D3 0.0757, D4 1.9243, A2 0.4193
    groups = [[10.0, 13.0, 11.0, 11.0, 11.0, 11.0, 10.0]] * 2
    charts = group_charts(groups)
    assert charts.ranges.centre == 3.0
    assert (charts.ranges.lower, charts.ranges.upper) == pytest.approx((3 * 0.0757, 3 * 1.9243), abs=2e-4)
    assert charts.means.upper - charts.means.centre == pytest.approx(3 * 0.4193, abs=2e-4)


def test_half_a_degree_of_freedom_is_one() -> None:
    # one term alone: its own degrees of freedom (Welch and Satterthwaite)
    assert combined_budget([BudgetTerm("a", 2.0, 1.0, 0.5)]).degrees_of_freedom == pytest.approx(0.5)


def test_words_of_an_expansion() -> None:
    budget = combined_budget([BudgetTerm("a", 1e300)])
    with pytest.raises(QuantityError) as caught:
        budget.expanded(coverage_factor=0.0)
    assert caught.value.quantity == "coverage_factor"
    with pytest.raises(QuantityError) as caught:
        budget.expanded(coverage_factor=1e10)
    assert caught.value.quantity == "expanded_uncertainty"


def test_sixty_four_throws_are_taken() -> None:
    throw = RebuiltThrow(pin_deg=0.0, position_mm=0.0, old_bobweight_g=1000.0, new_bobweight_g=1001.0)
    crank = rebuilt_crank([throw] * 64, crank_radius_mm=50.0, plane_positions_mm=[0.0], plane_radii_mm=[100.0])
    # 64 g at 50 mm is 32 g at 100 mm
    assert crank.out_g[0].amount == pytest.approx(32.0)
    with pytest.raises(QuantityError, match="1 to 64 throws"):
        rebuilt_crank([throw] * 65, crank_radius_mm=50.0, plane_positions_mm=[0.0], plane_radii_mm=[100.0])
