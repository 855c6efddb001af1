"""The alarm of a run after cuts, played on many simulated runs: false alarms as promised, mistakes seen more often.

The runs are drawn with numpy from a rotor whose answer is drawn too; nothing of the planner's draws them.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from scipy import stats

from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_forecast import Forecast
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_trust import Trust
from bench.computation.sense_checks import ALARM_CHANCE, check_sense
from bench.computation.sense_checks_alarm import ExpectedRuns, expected_run
from bench.computation.sense_checks_beliefs import Beliefs
from bench.computation.sense_checks_causes import Cause, Suspicion, suspicions
from bench.computation.stations import Station

STATIONS = (
    Station("front", 0, (1.0 + 0j, 0.1 + 0j), centre_deg=30.0, arc_deg=120.0),
    Station("rear", 1, (0.1 + 0j, 1.0 + 0j), centre_deg=100.0, arc_deg=120.0),
)
START = np.array([cmath.rect(70.0, math.radians(20.0)), cmath.rect(50.0, math.radians(110.0))])
CUTS = [Cut("front", 20.0, 40.0), Cut("rear", 110.0, 25.0)]
TRUST = Trust(own=0.1, turned_deg=2.0, cross=0.05, cross_turned=0.02, shared=0.0, doubt=1.0)
MODEL = AnswerModel.start(STATIONS, trust=TRUST, noise_g=0.1).first_reading(list(START)).after_cuts(CUTS)


def runs(count: int, *, off_deg: float = 0.0) -> list[list[complex]]:
    """Readings after the cuts, the front's hole beside its mark."""
    rng = np.random.default_rng(5)
    scatter = CutScatter()
    found: list[list[complex]] = []
    for _ in range(count):
        left = START + 0.1 * (rng.standard_normal(2) + 1j * rng.standard_normal(2))
        for end, (station, cut) in enumerate(zip(STATIONS, CUTS, strict=True)):
            own = 1.0 + TRUST.own * rng.standard_normal() + 1j * math.radians(2.0) * rng.standard_normal()
            cross = 0.1 + TRUST.cross * rng.standard_normal() + 1j * TRUST.cross_turned * rng.standard_normal()
            grams = cut.grams * (1.0 + scatter.share * rng.standard_normal()) + scatter.grams * rng.standard_normal()
            angle = cut.angle_deg + scatter.angle_deg * rng.standard_normal() + (off_deg if end == 0 else 0.0)
            gone = cmath.rect(grams, math.radians(angle))
            left[station.plane_index] -= own * gone
            left[1 - station.plane_index] -= cross * gone
        found.append([complex(z) for z in left + 0.1 * (rng.standard_normal(2) + 1j * rng.standard_normal(2))])
    return found


def test_false_alarms_are_as_rare_as_promised() -> None:
    alarms = sum(check_sense(MODEL, run).alarm for run in runs(300))
    # one in a hundred; more than 10 of 300 would come by chance once in a thousand times
    assert alarms <= stats.binom.isf(1e-3, 300, ALARM_CHANCE)


def test_a_hole_beside_its_mark_is_seen_more_often_than_by_distance() -> None:
    checks = [check_sense(MODEL, run) for run in runs(120, off_deg=10.0)]
    by_distance = sum(check.distance > stats.chi2.isf(ALARM_CHANCE, 4) for check in checks)
    seen = sum(check.alarm for check in checks)
    assert seen >= by_distance + 2


def test_the_chance_is_found_again_with_runs_drawn_from_the_forecast() -> None:
    considered = list(suspicions(MODEL))
    mean, covariance = expected_run(MODEL, considered[0])
    draws = np.random.default_rng(8).multivariate_normal(mean, covariance, size=150)
    expected = ExpectedRuns.of(Beliefs.alone(MODEL), considered)
    chances = [expected.chance_of_looking_wrong(list(draw.view(np.complex128))) for draw in draws]
    # the chance of a run without a mistake is itself even from 0 to 1
    assert stats.kstest(chances, "uniform").pvalue > 1e-3


@pytest.mark.parametrize("cause", [Cause.RUN_PLANES, Cause.OUNCES, Cause.SLIPPED])
def test_what_a_run_should_show_by_hand(cause: Cause) -> None:
    forecast: Forecast = MODEL.forecast()
    noise = np.eye(4) * 0.1**2
    suspicion: Suspicion = next(s for s in suspicions(MODEL) if s.cause is cause)
    mean, covariance = expected_run(MODEL, suspicion)
    plain = np.array([part for z in forecast.left for part in (z.real, z.imag)])
    if cause is Cause.RUN_PLANES:
        swap = np.kron(np.array([[0, 1], [1, 0]]), np.eye(2))
        assert mean == pytest.approx(swap @ plain)
        assert covariance == pytest.approx(swap @ forecast.covariance @ swap.T + noise)
    elif cause is Cause.OUNCES:
        assert mean == pytest.approx(28.349523125 * plain)
        assert covariance == pytest.approx(28.349523125**2 * forecast.covariance + noise)
    else:
        assert mean == pytest.approx(plain)
        assert covariance == pytest.approx(forecast.covariance + np.diag([4.5, 4.5, 0.0, 0.0]) + noise)
