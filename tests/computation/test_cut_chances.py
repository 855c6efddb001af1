"""Chances against plain sampling and scipy's distributions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from bench.computation.answer_model_forecast import Forecast
from bench.computation.cut_chances import chance_done, normal_points, normal_tail


def test_tail_of_the_normal_distribution() -> None:
    for deviations in (-2.0, 0.0, 1.0, 3.2, 6.0):
        assert normal_tail(deviations) == pytest.approx(float(stats.norm.sf(deviations)), rel=1e-9)


@pytest.mark.parametrize("wide", [2, 4])
def test_the_fixed_points_are_spread_like_normal_variables(wide: int) -> None:
    points = normal_points(wide)
    assert np.abs(points.mean(axis=0)).max() < 1e-12
    assert np.cov(points.T) == pytest.approx(np.eye(wide), abs=0.08)
    assert all(stats.kstest(points[:, i], "norm").pvalue > 0.05 for i in range(wide))


@pytest.mark.parametrize(
    ("left", "deviation", "noise"),
    [((0.0, 0.0), 0.3, 0.1), ((0.5, 0.2), 0.2, 0.1), ((0.9, 0.0), 0.05, 0.1), ((1.2, 0.6), 0.4, 0.2)],
)
def test_chance_to_be_done_agrees_with_sampling(left: tuple[float, float], deviation: float, noise: float) -> None:
    # the rule written out: the run is inside, and the estimate that weighs run and forecast is 1.645 deviations inside 1.1
    rng = np.random.default_rng(2)
    covariance = np.eye(4) * deviation**2
    forecast = Forecast(np.array(left, dtype=np.complex128), covariance)
    draws = 200_000
    true = np.array(left) + deviation * (rng.standard_normal((draws, 2)) + 1j * rng.standard_normal((draws, 2)))
    shown = true + noise * (rng.standard_normal((draws, 2)) + 1j * rng.standard_normal((draws, 2)))
    share = deviation**2 / (deviation**2 + noise**2)
    judged = np.array(left) + share * (shown - np.array(left))
    after = deviation * noise / np.hypot(deviation, noise)
    passed = (np.abs(shown) <= 1.0) & (np.abs(judged) + 1.645 * after <= 1.1)
    assert chance_done(forecast, noise_g=noise, tolerance_g=[1.0, 1.0]) == pytest.approx(
        float(passed.all(axis=1).mean()), abs=0.03
    )
