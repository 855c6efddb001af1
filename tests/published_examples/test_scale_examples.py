"""Scale metrology and statistics against standards. Status words as in test_influence_examples."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from bench.computation.control_chart import ewma_chart
from bench.computation.sample_statistics import fitted_line, sample
from bench.computation.scale_check import ScaleClass, scale_error_limit, weight_error_limit
from bench.computation.uncertainty_budget import BudgetTerm, combined_budget, rectangular
from bench.computation.weighing import ScaleTerms, weighing_budget

STRD: dict[str, Any] = json.loads(Path(__file__).with_name("nist_strd.json").read_text())["sets"]


def strd_values(name: str) -> list[float]:
    case = STRD[name]
    if "data" in case:
        return [float(value) for value in case["data"]]
    middle = float(case["certified"]["mean"])
    low, high = {"NumAcc2": (1.1, 1.3), "NumAcc3": (1000000.1, 1000000.3)}[name]
    return [middle, *[value for _ in range(500) for value in (low, high)]]


@pytest.mark.parametrize(
    ("name", "rel"), [("Michelso", 1e-12), ("NumAcc1", 1e-12), ("NumAcc2", 1e-12), ("NumAcc3", 1e-9)]
)
def test_strd_univariate(name: str, rel: float) -> None:
    # NIST StRD, certified values, printed. NumAcc3 is limited by the digits a double keeps of its data.
    found = sample(strd_values(name))
    certified = STRD[name]["certified"]
    assert found.count == STRD[name]["n"]
    assert found.mean == pytest.approx(float(certified["mean"]), rel=rel)
    assert found.standard_deviation == pytest.approx(float(certified["sd"]), rel=rel)
    assert found.lag_1 == pytest.approx(float(certified["lag1"]), rel=rel)


def test_strd_norris() -> None:
    # NIST StRD Norris, certified values, printed
    found = fitted_line(STRD["Norris"]["x"], STRD["Norris"]["y"])
    certified = {key: float(value) for key, value in STRD["Norris"]["certified"].items()}
    assert found.intercept == pytest.approx(certified["b0"], rel=1e-11)
    assert found.slope == pytest.approx(certified["b1"], rel=1e-13)
    assert found.intercept_uncertainty == pytest.approx(certified["se_b0"], rel=1e-12)
    assert found.slope_uncertainty == pytest.approx(certified["se_b1"], rel=1e-12)
    assert found.residual_deviation == pytest.approx(certified["residual_sd"], rel=1e-12)
    assert found.r_squared == pytest.approx(certified["R2"], rel=1e-13)


@pytest.mark.parametrize(
    ("scale_class", "steps"),
    [
        # OIML R 76-1 Table 6, initial verification, printed
        ("I", [(50_000, 0.5), (50_001, 1.0), (200_000, 1.0), (200_001, 1.5)]),
        ("II", [(0, 0.5), (5_000, 0.5), (5_001, 1.0), (20_000, 1.0), (20_001, 1.5), (100_000, 1.5)]),
        ("III", [(500, 0.5), (501, 1.0), (2_000, 1.0), (2_001, 1.5), (10_000, 1.5)]),
        ("IIII", [(50, 0.5), (51, 1.0), (200, 1.0), (201, 1.5), (1_000, 1.5)]),
    ],
)
@pytest.mark.parametrize("division_g", [0.1, 0.01, 1.0, 0.05])
def test_scale_error_limits(scale_class: str, steps: list[tuple[int, float]], division_g: float) -> None:
    for divisions, limit in steps:
        for in_service, factor in ((False, 1.0), (True, 2.0)):
            found = scale_error_limit(
                divisions * division_g,
                division_g=division_g,
                scale_class=ScaleClass(scale_class),
                in_service=in_service,
            )
            assert found == pytest.approx(limit * division_g * factor, rel=1e-12)


@pytest.mark.parametrize(
    "row",
    [
        # OIML R 111-1:2004 Table 1, in mg, seen in two transcriptions
        (1, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10),
        (2, 0.012, 0.04, 0.12, 0.4, 1.2, 4.0, 12),
        (5, 0.016, 0.05, 0.16, 0.5, 1.6, 5.0, 16),
        (10, 0.02, 0.06, 0.2, 0.6, 2.0, 6.0, 20),
        (20, 0.025, 0.08, 0.25, 0.8, 2.5, 8.0, 25),
        (50, 0.03, 0.1, 0.3, 1.0, 3.0, 10, 30),
        (100, 0.05, 0.16, 0.5, 1.6, 5.0, 16, 50),
        (200, 0.1, 0.3, 1.0, 3.0, 10, 30, 100),
        (500, 0.25, 0.8, 2.5, 8.0, 25, 80, 250),
        (1000, 0.5, 1.6, 5.0, 16, 50, 160, 500),
        (2000, 1.0, 3.0, 10, 30, 100, 300, 1000),
        (5000, 2.5, 8.0, 25, 80, 250, 800, 2500),
    ],
)
def test_weight_error_limits(row: tuple[float, ...]) -> None:
    nominal, *limits_mg = row
    for weight_class, limit_mg in zip(("E1", "E2", "F1", "F2", "M1", "M2", "M3"), limits_mg, strict=True):
        assert weight_error_limit(nominal, weight_class=weight_class) == pytest.approx(limit_mg / 1000, rel=1e-12)


def test_weighing_of_a_ten_kilogram_weight() -> None:
    # EA-4/02 Supplement 1 example S2, printed: 10 000.025 g, u 0.0293 g, U 0.059 g
    pairs = [[0.01, 0.02, 0.025, 0.015], [0.025, 0.05, 0.055, 0.02], [0.025, 0.045, 0.04, 0.02]]
    differences = [(b1 + b2) / 2 - (a1 + a2) / 2 for a1, b1, b2, a2 in pairs]
    budget = combined_budget(
        [
            BudgetTerm("standard", 0.045 / 2),
            BudgetTerm("drift", rectangular(0.015, quantity="drift_g")),
            BudgetTerm("difference", 0.025 / math.sqrt(3)),
            BudgetTerm("eccentricity", rectangular(0.01, quantity="eccentricity_g")),
            BudgetTerm("buoyancy", rectangular(0.01, quantity="buoyancy_g")),
        ]
    )
    assert 10000.005 + sum(differences) / 3 == pytest.approx(10_000.025, abs=5e-7)
    assert budget.combined == pytest.approx(0.0293, abs=0.00005)
    assert budget.expanded(coverage_factor=2) == pytest.approx(0.059, abs=0.0005)
    assert budget.combined == pytest.approx(0.029261749776799063, rel=1e-12)


def test_end_gauge() -> None:
    # JCGM 100:2008 (GUM) H.1, printed: u 32 nm, 16 degrees of freedom, 50 000 838 nm
    terms = [
        BudgetTerm("l_s", 25, 1.0, 18),
        BudgetTerm("d0", 5.8, 1.0, 24),
        BudgetTerm("d1", 3.9, 1.0, 5),
        BudgetTerm("d2", 6.7, 1.0, 8),
        BudgetTerm("d_alpha", 2.8867873148698995, 1.0, 50),
        BudgetTerm("d_theta", 16.599027060501925, 1.0, 2),
    ]
    budget = combined_budget(terms)
    assert 50_000_623 + 215 == 50_000_838
    assert round(budget.combined) == 32
    assert math.floor(budget.degrees_of_freedom) == 16
    # t for 99 % and 16 degrees of freedom is 2.921 (Student's table): U99 93 nm, printed, 92.48 computed
    assert budget.expanded(coverage_factor=2.921) == pytest.approx(93, abs=0.6)
    assert budget.combined == pytest.approx(31.663879111008633, rel=1e-12)
    assert budget.degrees_of_freedom == pytest.approx(16.75185573762724, rel=1e-12)


def test_scale_reading() -> None:
    # Formulae of EURAMET cg-18 v4.0 section 7.1 (from memory); numbers derived
    scale = ScaleTerms(division_g=0.1, repeatability_g=0.06, eccentric_error_g=0.2, weight_error_g=0.01)
    budget = weighing_budget(scale, load_g=730.4)
    found = {term.name: term.contribution for term in budget.terms}
    assert found == pytest.approx(
        {
            "zero": 0.02886751345948129,
            "digit": 0.02886751345948129,
            "repeatability": 0.06,
            "eccentricity": 0.04216966366161027,
            "weight": 0.005773502691896258,
            "drift": 0.0,
        },
        rel=1e-12,
    )
    assert budget.combined == pytest.approx(0.08413251769282394, rel=1e-12)
    assert budget.expanded(coverage_factor=2.0) == pytest.approx(0.16826503538564788, rel=1e-12)


def test_ewma_chart_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.4 (from memory): target 50, s 2.0539, weight 0.3
    data = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5]
    data += [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    printed = [50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33]
    printed += [50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]
    chart = ewma_chart(data, centre=50.0, deviation=2.0539, weight=0.3)
    assert chart.points == pytest.approx(printed, abs=0.006)
    assert (chart.upper, chart.lower) == pytest.approx((52.5884, 47.4115), abs=0.0001)
    assert chart.outside == ()
