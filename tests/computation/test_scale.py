"""Scale metrology, statistics and charts: ends, laws, and general-purpose libraries as second opinion."""

from __future__ import annotations

import math
import statistics

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.computation.checks import finite, finite_sum, not_negative, positive, representable, share
from bench.computation.control_chart import (
    MEAN_RANGE_OF_TWO,
    deviation_from_moving_range,
    ewma_chart,
    shewhart_chart,
)
from bench.computation.errors import QuantityError
from bench.computation.rebuild import RebuiltThrow, rebuilt_crank
from bench.computation.sample_statistics import fitted_line, sample
from bench.computation.scale_check import ScaleClass, scale_check, scale_error_limit, weight_error_limit
from bench.computation.uncertainty_budget import BudgetTerm, combined_budget, rectangular
from bench.computation.weighing import ScaleTerms, weighing_budget

GOOD_SCALE = ScaleTerms(division_g=0.1, repeatability_g=0.06)


@given(
    st.lists(
        st.tuples(st.floats(0.01, 10.0), st.floats(-5.0, 5.0).filter(lambda c: abs(c) > 0.01), st.integers(2, 50)),
        min_size=1,
        max_size=6,
    )
)
def test_budget_against_a_general_library(terms: list[tuple[float, float, int]]) -> None:
    budget = combined_budget([BudgetTerm(f"term {k}", u, c, float(dof)) for k, (u, c, dof) in enumerate(terms)])
    inputs = [GTC.ureal(1.0, u, dof) for u, _, dof in terms]
    result = sum(c * x for (_, c, _), x in zip(terms, inputs, strict=True))
    assert budget.combined == pytest.approx(GTC.uncertainty(result), rel=1e-12)
    assert budget.degrees_of_freedom == pytest.approx(GTC.dof(result), rel=1e-9)
    assert budget.expanded(coverage_factor=2.0) == 2.0 * budget.combined


def test_budget_of_known_terms() -> None:
    budget = combined_budget([BudgetTerm("a", 0.3), BudgetTerm("b", 0.4, -1.0)])
    assert budget.combined == 0.5
    assert budget.degrees_of_freedom == math.inf
    assert budget.terms[1].contribution == 0.4
    nothing = combined_budget([BudgetTerm("a", 0.0, 1.0, 5)])
    assert (nothing.combined, nothing.degrees_of_freedom) == (0.0, math.inf)


@pytest.mark.parametrize(
    ("terms", "quantity"),
    [
        ([], "terms"),
        ([BudgetTerm("a", 1.0), BudgetTerm("b", -1.0)], "terms[1].standard_uncertainty"),
        ([BudgetTerm("a", math.nan)], "terms[0].standard_uncertainty"),
        ([BudgetTerm("a", 1.0, math.inf)], "terms[0].sensitivity"),
        ([BudgetTerm("a", 1.0, 1.0, 0.0)], "terms[0].degrees_of_freedom"),
        ([BudgetTerm("a", 1.0, 1.0, math.nan)], "terms[0].degrees_of_freedom"),
        ([BudgetTerm("a", 1e200, 1e200)], "combined"),
    ],
)
def test_bad_budgets_are_named(terms: list[BudgetTerm], quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        combined_budget(terms)
    assert caught.value.quantity == quantity


def test_bad_expansions_are_named() -> None:
    budget = combined_budget([BudgetTerm("a", 1e300)])
    with pytest.raises(QuantityError, match="coverage_factor"):
        budget.expanded(coverage_factor=0.0)
    with pytest.raises(QuantityError, match="expanded_uncertainty"):
        budget.expanded(coverage_factor=1e10)
    with pytest.raises(QuantityError, match="division_g"):
        rectangular(-1.0, quantity="division_g")


def test_weighing_terms() -> None:
    plain = weighing_budget(GOOD_SCALE, load_g=500.0)
    assert [term.name for term in plain.terms] == [
        "zero", "digit", "repeatability", "eccentricity", "weight", "drift"
    ]  # fmt: skip
    four = weighing_budget(GOOD_SCALE, load_g=500.0, weighings=4)
    assert four.terms[2].contribution == pytest.approx(0.03)
    untared = weighing_budget(GOOD_SCALE, load_g=500.0, tared=False)
    assert untared.terms[0].contribution == 0.0
    assert plain.terms[0].contribution == plain.terms[1].contribution == pytest.approx(0.1 / math.sqrt(12))
    drifting = ScaleTerms(division_g=0.1, repeatability_g=0.0, drift_g=0.3, eccentric_error_g=0.1)
    found = weighing_budget(drifting, load_g=2000.0)
    assert found.terms[5].contribution == pytest.approx(0.3 / math.sqrt(3))
    # 0.1 g at the default 1000 g is 0.2 g at 2000 g
    assert found.terms[3].contribution == pytest.approx(0.1 / math.sqrt(3))
    own_load = ScaleTerms(division_g=0.1, repeatability_g=0.0, eccentric_error_g=0.1, eccentric_load_g=500.0)
    assert weighing_budget(own_load, load_g=500.0).terms[3].contribution == pytest.approx(0.05 / math.sqrt(3))


@pytest.mark.parametrize(
    ("changed", "quantity"),
    [
        ({"division_g": 0.0}, "division_g"),
        ({"repeatability_g": -0.1}, "repeatability_g"),
        ({"eccentric_error_g": math.nan}, "eccentric_error_g"),
        ({"eccentric_load_g": 0.0}, "eccentric_load_g"),
        ({"weight_error_g": -1.0}, "weight_error_g"),
        ({"drift_g": math.inf}, "drift_g"),
    ],
)
def test_bad_scales_are_named(changed: dict[str, float], quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        weighing_budget(ScaleTerms(**{"division_g": 0.1, "repeatability_g": 0.06, **changed}), load_g=500.0)
    assert caught.value.quantity == quantity


def test_bad_weighings_are_named() -> None:
    with pytest.raises(QuantityError, match="load_g"):
        weighing_budget(GOOD_SCALE, load_g=0.0)
    with pytest.raises(QuantityError) as caught:
        weighing_budget(GOOD_SCALE, load_g=1.0, weighings=0)
    assert (caught.value.quantity, caught.value.found, caught.value.wanted) == ("weighings", 0, "1 or more")


@pytest.mark.parametrize(
    ("shown", "passed"), [(1000.2, True), (1000.21, False), (999.8, True), (999.79, False), (1000.0, True)]
)
def test_scale_check_at_its_limit(shown: float, *, passed: bool) -> None:
    # class II, 0.1 g: 10 000 divisions, one division at first, two tenths in use
    check = scale_check(shown_g=shown, nominal_g=1000.0, weight_class="M1", division_g=0.1, scale_class=ScaleClass.II)
    assert check.passed is passed
    assert check.error_g == pytest.approx(shown - 1000.0)
    assert check.allowed_g == pytest.approx(0.2)
    assert check.weight_error_g == 0.05
    assert check.weight_fit


@pytest.mark.parametrize(("weight_class", "fit"), [("M1", True), ("M2", False), ("F1", True)])
def test_a_weight_must_be_fit(weight_class: str, *, fit: bool) -> None:
    # a third of 0.2 g is 66.7 mg: M1 50 mg, M2 160 mg
    check = scale_check(
        shown_g=1000.0, nominal_g=1000.0, weight_class=weight_class, division_g=0.1, scale_class=ScaleClass.II
    )
    assert check.weight_fit is fit


@pytest.mark.parametrize(
    ("quantity", "call"),
    [
        (
            "load_g",
            lambda: scale_error_limit(10_001.0, division_g=1.0, scale_class=ScaleClass.III, in_service=True),
        ),
        ("load_g", lambda: scale_error_limit(-1.0, division_g=1.0, scale_class=ScaleClass.III, in_service=True)),
        ("division_g", lambda: scale_error_limit(1.0, division_g=0.0, scale_class=ScaleClass.I, in_service=True)),
        ("weight_class", lambda: weight_error_limit(1000, weight_class="M9")),
        ("nominal_g", lambda: weight_error_limit(1001, weight_class="M1")),
        ("nominal_g", lambda: weight_error_limit(math.nan, weight_class="M1")),
        (
            "shown_g",
            lambda: scale_check(
                shown_g=math.nan, nominal_g=1000, weight_class="M1", division_g=0.1, scale_class=ScaleClass.II
            ),
        ),
    ],
)
def test_bad_checks_are_named(quantity: str, call) -> None:
    with pytest.raises(QuantityError) as caught:
        call()
    assert caught.value.quantity == quantity


def test_a_weight_is_fit_up_to_a_third() -> None:
    # 12 500 divisions of 0.08 g: 0.16 g in use; a third is 53 mg, a quarter would be 40 mg
    check = scale_check(shown_g=1000.0, nominal_g=1000.0, weight_class="M1", division_g=0.08, scale_class=ScaleClass.II)
    assert check.allowed_g == pytest.approx(0.16)
    assert check.weight_fit


def test_words_of_refused_checks() -> None:
    with pytest.raises(QuantityError) as caught:
        scale_error_limit(10_001.0, division_g=1.0, scale_class=ScaleClass.III, in_service=True)
    assert caught.value.wanted == "at most 10000 divisions of 1.0 g in class III"
    with pytest.raises(QuantityError) as caught:
        weight_error_limit(1000, weight_class="M9")
    assert caught.value.wanted == "one of E1, E2, F1, F2, M1, M2, M3"
    with pytest.raises(QuantityError) as caught:
        weight_error_limit(1001, weight_class="M1")
    assert caught.value.wanted == "one of 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000"


@given(st.lists(st.floats(-100.0, 100.0), min_size=2, max_size=40))
def test_sample_against_the_standard_library(values: list[float]) -> None:
    found = sample(values)
    assert found.mean == pytest.approx(statistics.fmean(values), abs=1e-12)
    assert found.standard_deviation == pytest.approx(statistics.stdev(values), rel=1e-9, abs=1e-12)
    assert -1.0 - 1e-12 <= found.lag_1 <= 1.0 + 1e-12


@given(st.lists(st.tuples(st.floats(-100.0, 100.0), st.floats(-100.0, 100.0)), min_size=3, max_size=30))
def test_line_against_a_general_library(points: list[tuple[float, float]]) -> None:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    if max(xs) - min(xs) < 1.0:
        return
    found = fitted_line(xs, ys)
    design = np.column_stack((np.ones(len(xs)), xs))
    (intercept, slope), *_ = np.linalg.lstsq(design, np.array(ys), rcond=None)
    assert found.intercept == pytest.approx(intercept, abs=1e-6)
    assert found.slope == pytest.approx(slope, abs=1e-6)


def test_lines_without_spread() -> None:
    flat = fitted_line([0.0, 1.0, 2.0], [5.0, 5.0, 5.0])
    assert (flat.slope, flat.intercept, flat.r_squared, flat.residual_deviation) == (0.0, 5.0, 1.0, 0.0)
    same = sample([2.0, 2.0, 2.0])
    assert (same.standard_deviation, same.lag_1) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("quantity", "call"),
    [
        ("values", lambda: sample([1.0])),
        ("values[1]", lambda: sample([1.0, math.nan])),
        ("values", lambda: sample([1e200, -1e200])),
        ("xs", lambda: fitted_line([1.0, 2.0], [1.0, 2.0])),
        ("ys", lambda: fitted_line([1.0, 2.0, 3.0], [1.0, 2.0])),
        ("xs", lambda: fitted_line([1.0, 1.0, 1.0], [1.0, 2.0, 3.0])),
        ("xs[2]", lambda: fitted_line([1.0, 1.0, math.inf], [1.0, 2.0, 3.0])),
        ("ys[0]", lambda: fitted_line([1.0, 2.0, 3.0], [math.nan, 2.0, 3.0])),
        ("xs", lambda: fitted_line([1e200, 2e200, 3e201], [1.0, 2.0, 3.0])),
        ("ys", lambda: fitted_line([1.0, 2.0, 3.0], [1e200, 2e200, 3e201])),
        ("values", lambda: deviation_from_moving_range([1.0])),
        ("values[0]", lambda: deviation_from_moving_range([math.nan, 1.0])),
        ("values", lambda: shewhart_chart([], centre=0.0, deviation=1.0)),
        ("values[0]", lambda: shewhart_chart([math.inf], centre=0.0, deviation=1.0)),
        ("centre", lambda: shewhart_chart([1.0], centre=math.nan, deviation=1.0)),
        ("deviation", lambda: shewhart_chart([1.0], centre=0.0, deviation=0.0)),
        ("deviation", lambda: shewhart_chart([1.0], centre=0.0, deviation=1e308)),
        ("deviation", lambda: shewhart_chart([1.0], centre=-1e308, deviation=3e307)),
        ("width", lambda: ewma_chart([1.0], centre=0.0, deviation=1.0, weight=0.3, width=0.0)),
        ("weight", lambda: ewma_chart([1.0], centre=0.0, deviation=1.0, weight=0.0)),
        ("weight", lambda: ewma_chart([1.0], centre=0.0, deviation=1.0, weight=1.1)),
    ],
)
def test_bad_series_are_named(quantity: str, call) -> None:
    with pytest.raises(QuantityError) as caught:
        call()
    assert caught.value.quantity == quantity


def test_charts() -> None:
    # mean range of two: 1.1284 (table of control chart constants)
    assert round(MEAN_RANGE_OF_TWO, 4) == 1.1284
    assert deviation_from_moving_range([1.0, 3.0, 3.0]) == pytest.approx(1.0 / 1.1284, rel=1e-4)
    assert shewhart_chart([10.0], centre=10.0, deviation=0.5).upper == 11.5
    chart = shewhart_chart([10.0, 13.0, 13.1, 6.9, 7.0], centre=10.0, deviation=1.0)
    assert (chart.lower, chart.upper, chart.centre, chart.outside) == (7.0, 13.0, 10.0, (2, 3))
    assert chart.points == (10.0, 13.0, 13.1, 6.9, 7.0)
    wide = shewhart_chart([13.1], centre=10.0, deviation=1.0, width=4.0)
    assert wide.outside == ()
    whole = ewma_chart([13.0, 9.0], centre=10.0, deviation=1.0, weight=1.0)
    assert whole.points == (13.0, 9.0)
    assert whole.upper == 13.0
    narrow = ewma_chart([13.0], centre=10.0, deviation=1.0, weight=0.5, width=2.0)
    assert narrow.upper == pytest.approx(10.0 + 2.0 / math.sqrt(3.0))


def test_checks() -> None:
    for check, good in ((finite, -1.0), (positive, 1e-300), (not_negative, 0.0), (share, 0.0), (share, 1.0)):
        assert check(good, quantity="x") == good
    for check, bad, wanted in (
        (finite, math.nan, "a finite number"),
        (finite, math.inf, "a finite number"),
        (positive, 0.0, "a finite number above 0"),
        (positive, math.inf, "a finite number above 0"),
        (not_negative, -1e-300, "a finite number, 0 or above"),
        (not_negative, math.inf, "a finite number, 0 or above"),
        (share, 1.0001, "a number from 0 to 1"),
        (share, -0.0001, "a number from 0 to 1"),
        (representable, math.inf, "inputs small enough that the result is a finite number"),
    ):
        with pytest.raises(QuantityError) as caught:
            check(bad, quantity="x")
        assert (caught.value.quantity, caught.value.wanted) == ("x", wanted)
        assert caught.value.found is bad
    assert finite_sum([0.1] * 10, quantity="x") == 1.0
    for values in ([1e308, 1e308], [math.inf, -math.inf], [math.nan]):
        with pytest.raises(QuantityError) as caught:
            finite_sum(values, quantity="x")
        assert caught.value.quantity == "x"
        assert caught.value.wanted == "inputs small enough that the result is a finite number"


THROWS = [
    RebuiltThrow(pin_deg=90.0 * k, position_mm=110.0 * k, old_bobweight_g=2317.8, new_bobweight_g=2317.8 + k)
    for k in range(4)
]


def test_rebuild_keeps_force_and_moment() -> None:
    crank = rebuilt_crank(THROWS, crank_radius_mm=44.0, plane_positions_mm=[-40.0, 380.0], plane_radii_mm=[88.0, 80.0])
    assert crank.differences_g == pytest.approx((0.0, 1.0, 2.0, 3.0))
    force = sum(44.0 * k * 1j**k for k in range(4))
    moment = sum(44.0 * k * 1j**k * 110.0 * k for k in range(4))
    front, rear = (v.as_complex for v in crank.out_g_mm)
    assert abs(front + rear - force) < 1e-9
    assert abs(front * -40.0 + rear * 380.0 - moment) < 1e-6
    for grams, g_mm, radius in zip(crank.out_g, crank.out_g_mm, (88.0, 80.0), strict=True):
        assert grams.amount == pytest.approx(g_mm.amount / radius)
        assert grams.angle_deg == g_mm.angle_deg


def test_equal_change_on_a_cross_plane_crank_is_a_couple() -> None:
    throws = [
        RebuiltThrow(pin_deg=pin, position_mm=z, old_bobweight_g=2000.0, new_bobweight_g=2010.0)
        for pin, z in zip((0.0, 90.0, 270.0, 180.0), (0.0, 110.0, 220.0, 330.0), strict=True)
    ]
    crank = rebuilt_crank(throws, crank_radius_mm=44.0, plane_positions_mm=[0.0, 330.0], plane_radii_mm=[88.0, 88.0])
    front, rear = crank.out_g_mm
    assert abs(front.as_complex + rear.as_complex) < 1e-9
    # couple sqrt(10) spacings times 10 g times 44 mm over three spacings
    assert front.amount == pytest.approx(math.sqrt(10) * 440.0 / 3.0)


GOOD_THROW = {"pin_deg": 0.0, "position_mm": 0.0, "old_bobweight_g": 1.0, "new_bobweight_g": 1.0}


@pytest.mark.parametrize("name", list(GOOD_THROW))
def test_bad_throws_are_named(name: str) -> None:
    throws = [RebuiltThrow(**GOOD_THROW), RebuiltThrow(**{**GOOD_THROW, name: math.nan})]
    with pytest.raises(QuantityError) as caught:
        rebuilt_crank(throws, crank_radius_mm=44.0, plane_positions_mm=[0.0], plane_radii_mm=[88.0])
    assert caught.value.quantity == f"throws[1].{name}"


@pytest.mark.parametrize(
    ("count", "radius", "positions", "radii", "quantity"),
    [
        (0, 44.0, [0.0], [88.0], "throws"),
        (65, 44.0, [0.0], [88.0], "throws"),
        (1, 0.0, [0.0], [88.0], "crank_radius_mm"),
        (1, 44.0, [0.0], [88.0, 88.0], "planes"),
        (1, 44.0, [0.0, 1.0], [88.0, 0.0], "planes[1].radius_mm"),
        (1, 44.0, [1.0, 1.0], [88.0, 88.0], "planes"),
    ],
)
def test_bad_cranks_are_named(
    count: int, radius: float, positions: list[float], radii: list[float], quantity: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        rebuilt_crank(
            [RebuiltThrow(**GOOD_THROW)] * count,
            crank_radius_mm=radius,
            plane_positions_mm=positions,
            plane_radii_mm=radii,
        )
    assert caught.value.quantity == quantity
