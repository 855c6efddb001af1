"""An empty pan whose reading drifts: how fast is learnt while it is seen, and carried on while it is not."""

from __future__ import annotations

import numpy as np
import pytest

from bench.capture import zero as zero_module
from bench.capture.decisions import Advised, Lifted, Taken
from bench.capture.zero import TrackedZero

DIVISION_G = 0.1
LOOKS = ((5.0, 0.004, 0.02), (17.0, 0.021, 0.05), (29.0, 0.018, 0.02), (41.0, 0.052, 0.03), (60.0, 0.049, 0.01))


def test_a_steady_drift_is_the_least_squares_line_through_the_looks(monkeypatch) -> None:
    # without wander a Kalman filter of level and rate is regularised linear regression: numpy's least squares decides
    monkeypatch.setattr(zero_module, "WANDER_DIVISIONS", 0.0)
    monkeypatch.setattr(zero_module, "RATE_WANDER_SHARE", 0.0)
    allowed = 1.0
    zero = TrackedZero(division_g=DIVISION_G, drift_divisions_per_min=allowed)
    zero.set(0.0, uncertainty_g=0.03, seconds=0.0)
    for seconds, mean_g, error_g in LOOKS:
        zero.observe(mean_g, uncertainty_g=error_g, seconds=seconds)
        zero.keep()
    believed_rate = allowed * DIVISION_G / 60.0 / np.sqrt(3.0)  # a drift up to the allowed one, each as likely
    rows = [[1 / 0.03, 0.0], [0.0, 1 / believed_rate], *([1 / e, t / e] for t, _, e in LOOKS)]
    shown = [0.0, 0.0, *(y / e for _, y, e in LOOKS)]
    (level, rate), *_ = np.linalg.lstsq(np.array(rows), np.array(shown))
    spread = np.linalg.inv(np.array(rows).T @ np.array(rows))
    for later in (60.0, 75.0, 100.0):
        zero.go_on(later)
        assert zero.grams == pytest.approx(level + rate * later, abs=1e-9)
        where = np.array([1.0, later])
        assert zero.uncertainty_g(later) == pytest.approx(float(np.sqrt(where @ spread @ where)), rel=1e-6)


def _drifted_for(seconds: int) -> TrackedZero:
    zero = TrackedZero(division_g=DIVISION_G, drift_divisions_per_min=1.0)
    zero.set(0.0, uncertainty_g=0.01, seconds=0.0)
    for moment in range(5, seconds + 1, 5):
        zero.observe(DIVISION_G * moment / 60.0, uncertainty_g=0.01, seconds=float(moment))
        zero.keep()
    return zero


def test_a_new_zero_keeps_the_drift_but_not_the_level() -> None:
    zero = _drifted_for(120)
    zero.set(250.0, uncertainty_g=0.01, seconds=130.0)  # a tare key
    zero.go_on(160.0)
    assert zero.grams == pytest.approx(250.05, abs=0.01)


def test_a_drift_is_not_carried_on_for_ever_and_is_ever_less_sure() -> None:
    zero = _drifted_for(60)
    zero.go_on(60.0 + 8 * 3600.0)
    assert abs(zero.grams) < 0.5
    unsure = [zero.uncertainty_g(60.0 + age) for age in (1.0, 60.0, 600.0, 8 * 3600.0)]
    assert unsure == sorted(unsure)
    assert unsure[-1] > 10.0 * unsure[1]


def test_brisk_hands_on_a_drifting_scale_leave_the_values_right(shown_scale, due) -> None:
    grams_per_s = 1.8 * DIVISION_G / 60.0
    masses = [450.4, 450.1, 449.8, 450.3, 449.9, 450.2, 450.0, 450.5, 449.7, 450.1, 450.4, 449.8]
    members = (450.0, 450.3, 449.8, 450.1)
    parts = [due(f"piston {k}", members=members) for k in range(1, len(masses) + 1)]
    scale = shown_scale(*parts, rate_hz=20.0)
    rng = np.random.default_rng(7)

    def show(load: float, seconds: float) -> None:
        for _ in range(round(seconds * 1e9 / scale.gap_ns)):
            drifted = grams_per_s * (scale.now_ns / 1e9 - 1.0)
            scale.line(f"{load + drifted + 0.05 * rng.standard_normal():.1f}")

    show(0.0, 90.0)
    for mass in masses:
        for share in (0.4, 0.8, 0.97):
            show(share * mass, 0.1)
        show(mass, 5.0)
        for share in (0.6, 0.2):
            show(share * mass, 0.1)
        show(0.0, 0.6)  # too short to see the empty pan calm
    show(0.0, 3.0)
    final = {d.key: d for d in scale.of(Taken)} | {d.key: d.final for d in scale.of(Lifted) if d.final is not None}
    assert len(final) == len(masses)
    off = [final[f"piston {k}"].refined_g - mass for k, mass in enumerate(masses, start=1)]
    # 70 s at 1.8 divisions a minute, with the zero last seen before them: 0.2 g if it were not carried on
    assert max(abs(x) for x in off) < 0.1
    assert abs(float(np.mean(off[-4:]))) < 0.05
    assert not scale.of(Advised)
