"""What the checks believe of a rotor: against one least-squares sum over all runs, Bayes' rule, and runs that are drawn.

The references are written out with numpy: every run as a linear sum of what is not known, taken all at once.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_trust import BY_GEOMETRY, UNKNOWN, Trust, lever_covariance
from bench.computation.errors import QuantityError
from bench.computation.sense_checks import ALARM_CHANCE, check_sense
from bench.computation.sense_checks_alarm import ExpectedRuns
from bench.computation.sense_checks_beliefs import Beliefs
from bench.computation.sense_checks_causes import Cause, suspicions
from bench.computation.stations import Station

Reals = NDArray[np.float64]


def at(grams: float, degrees: float) -> complex:
    return cmath.rect(grams, math.radians(degrees))


FRONT = Station("front", 0, (1.0 + 0j, 0.1 + 0j), centre_deg=30.0, arc_deg=120.0)
INNER = Station("front 2", 0, (0.95 + 0j, 0.15 + 0j), centre_deg=30.0, arc_deg=120.0)
REAR = Station("rear", 1, (0.1 + 0j, 1.0 + 0j), centre_deg=100.0, arc_deg=120.0)
INNER_REAR = Station("rear 2", 1, (0.15 + 0j, 0.95 + 0j), centre_deg=100.0, arc_deg=120.0)
FOUR = (FRONT, INNER, REAR, INNER_REAR)
START = (at(70.0, 20.0), at(50.0, 110.0))
FIRST = (Cut("front", 20.0, 40.0), Cut("rear", 110.0, 25.0))
SECOND = (Cut("front", 15.0, 12.0), Cut("rear", 105.0, 8.0))
ELSEWHERE = (Cut("front 2", 15.0, 12.0), Cut("rear 2", 105.0, 8.0))
DEEPER = (Cut("front", 20.0, 12.0), Cut("rear", 110.0, 8.0))


def parts(values: Sequence[complex]) -> Reals:
    return np.array(values, dtype=np.complex128).view(np.float64)


def turned(gone: complex) -> Reals:
    """A complex factor as a real matrix."""
    return np.array([[gone.real, -gone.imag], [gone.imag, gone.real]])


@pytest.mark.parametrize("stray_deg", [0.0, 1.5])
def test_all_runs_one_after_the_other_are_all_runs_at_once(stray_deg: float) -> None:
    # drilling that strays by the hole's angle only: what is left, the answer and where the two holes really are that
    # the second cut deepens are linear, so that one Gaussian sum over all runs is exact; noise in every run
    scatter = CutScatter(share=0.0, grams=0.0, angle_deg=stray_deg)
    fresh = AnswerModel.start([FRONT, REAR], noise_g=0.2, scatter=scatter)
    shown = [START, (at(33.0, 22.0), at(24.0, 115.0)), (at(21.0, 25.0), at(15.0, 120.0))]
    cuts: list[tuple[Cut, ...]] = [(), FIRST, DEEPER]
    model, beliefs = fresh.first_reading(shown[0]), Beliefs.start(fresh).first_reading(shown[0])
    for made, run in zip(cuts[1:], shown[1:], strict=True):
        model = model.after_cuts(made)
        beliefs = beliefs.after_run(model, run)
        model, _ = model.update(run)

    gone = {"front": 0j, "rear": 0j}
    rows = []
    for made in cuts[1:]:
        for c in made:
            gone[c.station] += c.taken
        answers = [np.kron(np.eye(2), -turned(g)) for g in gone.values()]
        strays = [parts(np.array(s.effect) * -1j * gone[s.name])[:, None] for s in fresh.stations]
        rows.append(np.hstack([*answers, *strays]))
    # what was left at first is known by its run alone
    answer = np.vstack(rows)
    seen = np.concatenate([parts(run) - parts(shown[0]) for run in shown[1:]])
    noise = 0.2**2 * np.kron(np.ones((2, 2)) + np.eye(2), np.eye(4))
    told = np.concatenate([*(parts(s.effect) for s in fresh.stations), np.zeros(2)])
    logs = []
    for m, wider in zip(beliefs.models, (1.0, 1.0, 1.0, 2.0), strict=True):
        prior = np.zeros((10, 10))
        prior[:8, :8] = lever_covariance(fresh.stations, m.trust)
        prior[8:, 8:] = np.eye(2) * math.radians(wider * stray_deg) ** 2
        whole = answer @ prior @ answer.T + noise
        effects = told + prior @ answer.T @ np.linalg.solve(whole, seen - answer @ told)
        assert m.effects.T.copy().view(np.float64).ravel()[:8] == pytest.approx(effects[:8], abs=1e-9)
        after = prior - prior @ answer.T @ np.linalg.solve(whole, answer @ prior)
        assert m.covariance[4:12, 4:12] == pytest.approx(after[:8, :8], abs=1e-9)
        logs.append(stats.multivariate_normal.logpdf(seen, answer @ told, whole))
    weighed = np.exp(np.array(logs) - max(logs)) * np.exp(Beliefs.start(fresh).log_shares)
    assert np.exp(beliefs.log_shares) == pytest.approx(weighed / weighed.sum())


def test_nothing_is_widened_that_the_planner_widens() -> None:
    fresh = AnswerModel.start(FOUR)
    run = (at(33.0, 22.0), at(24.0, 115.0))
    model = fresh.first_reading(START).after_cuts(FIRST)
    planner, _ = model.update(run)
    believed = Beliefs.start(fresh).first_reading(START).after_run(model, run).models[0]
    wide, plain = (np.trace(m.with_cuts(ELSEWHERE).forecast().covariance) for m in (planner, believed))
    assert plain < 0.8 * wide


def test_a_rigid_rotor_drawn_at_random_has_the_covariance_of_the_lever() -> None:
    trust = Trust(
        own=0.1,
        turned_deg=2.0,
        cross=0.05,
        cross_turned=0.01,
        shared=0.6,
        cross_shared=1.0,
        machine=0.03,
        machine_turned_deg=2.5,
    )
    stations = (FRONT, INNER, REAR)
    rng = np.random.default_rng(11)
    drawn = []
    for _ in range(40_000):
        row: list[complex] = []
        ends = rng.standard_normal((2, 4))
        shown = [0.03 * g + 1j * math.radians(2.5) * t for g, t in rng.standard_normal((2, 2))]
        for s in stations:
            end = ends[s.plane_index]
            own = 0.1 * (math.sqrt(0.6) * end[0] + math.sqrt(0.4) * rng.standard_normal())
            alike = 1.0 + own + 1j * math.radians(2.0) * end[1]
            far = complex(0.05 * end[2], 0.01 * end[3]) * s.effect[s.plane_index]
            row += [(alike + shown[p]) * e + (0j if p == s.plane_index else far) for p, e in enumerate(s.effect)]
        drawn.append(parts(row))
    expected = np.cov(np.array(drawn).T)
    assert lever_covariance(stations, trust) == pytest.approx(expected, abs=4e-4)


def test_the_lever_is_not_believed_where_not_even_the_direction_is_known() -> None:
    near, unknown = (
        Beliefs.start(AnswerModel.start([FRONT, REAR], trust=trust)).models[0].trust for trust in (BY_GEOMETRY, UNKNOWN)
    )
    assert near.cross_turned == pytest.approx(0.35 * BY_GEOMETRY.cross_turned)
    assert unknown.cross_turned == UNKNOWN.cross_turned
    assert near.cross == BY_GEOMETRY.cross


def drawn_runs(
    count: int, *, seed: int, own: float = 0.14, off_deg: float = 0.0, slip_g: float = 0.0
) -> list[list[tuple[complex, complex]]]:
    """Three runs each of rotors drawn at random: the first, after the first cuts, after the second cuts."""
    rng = np.random.default_rng(seed)
    found = []
    for _ in range(count):
        left = np.array(START)
        answer = {}
        for places in (FOUR[:2], FOUR[2:]):
            alike = (1.0 + own * rng.standard_normal()) * cmath.exp(1j * math.radians(2.3) * rng.standard_normal())
            more = 0.12 * rng.standard_normal()
            for s in places:
                far = np.array([more * (p != s.plane_index) for p in (0, 1)])
                place = 1.0 + 0.058 * rng.standard_normal()
                answer[s.name] = alike * place * (np.array(s.effect) + far)
        runs = [tuple(left + 0.1 * (rng.standard_normal(2) + 1j * rng.standard_normal(2)))]
        for number, made in enumerate((FIRST, ELSEWHERE)):
            for p, c in enumerate(made):
                grams = c.grams * (1.0 + 0.03 * rng.standard_normal()) + 0.15 * rng.standard_normal()
                angle = c.angle_deg + 1.5 * rng.standard_normal() + (off_deg if number == 1 and p == 0 else 0.0)
                left = left - answer[c.station] * at(grams, angle)
            if number == 1 and slip_g:
                share = rng.uniform()
                left = left + at(slip_g, 360.0 * rng.uniform()) * np.array([1.0 - share, share])
            runs.append(tuple(left + 0.1 * (rng.standard_normal(2) + 1j * rng.standard_normal(2))))
        found.append(runs)
    return found


def before_the_last(runs: list[tuple[complex, complex]]) -> tuple[AnswerModel, Beliefs]:
    fresh = AnswerModel.start(FOUR)
    model, beliefs = fresh.first_reading(runs[0]), Beliefs.start(fresh).first_reading(runs[0])
    model = model.after_cuts(FIRST)
    beliefs = beliefs.after_run(model, runs[1])
    return model.update(runs[1])[0].after_cuts(ELSEWHERE), beliefs


def alarms(rotors: list[list[tuple[complex, complex]]], *, believing: bool = True) -> int:
    count = 0
    for runs in rotors:
        model, beliefs = before_the_last(runs)
        count += check_sense(model, runs[2], beliefs if believing else None).alarm
    return count


def test_false_alarms_after_a_second_cut_are_as_rare_as_promised() -> None:
    # one in a hundred; more would come by chance once in a thousand times
    assert alarms(drawn_runs(150, seed=21)) <= stats.binom.isf(1e-3, 150, ALARM_CHANCE)


def test_more_is_seen_than_with_the_planners_model_alone() -> None:
    off, slipped = drawn_runs(60, seed=22, off_deg=10.0), drawn_runs(60, seed=23, slip_g=3.0)
    assert alarms(off) >= alarms(off, believing=False) + 3
    assert alarms(slipped) >= alarms(slipped, believing=False) + 4


def test_a_geometry_that_turns_out_worse_is_believed_to_be() -> None:
    shares = []
    for own in (0.14, 0.3):
        rotors = drawn_runs(60, seed=24, own=own)
        shares.append(np.mean([math.exp(before_the_last(runs)[1].log_shares[1]) for runs in rotors]))
    assert shares[1] > 2.0 * shares[0]


def test_the_chance_among_beliefs_is_even_when_one_of_them_is_true() -> None:
    model, beliefs = before_the_last(drawn_runs(1, seed=25)[0])
    beliefs = beliefs.before_run(model)
    considered = list(suspicions(model))
    rng = np.random.default_rng(26)
    shares = np.exp(beliefs.log_shares)
    chances = []
    for _ in range(150):
        m = beliefs.models[rng.choice(len(shares), p=shares)]
        forecast = m.forecast()
        covariance = forecast.covariance + np.eye(4) * m.noise_g**2
        draw = rng.multivariate_normal(forecast.left.view(np.float64), covariance)
        chances.append(ExpectedRuns.of(beliefs, considered).chance_of_looking_wrong(list(draw.view(np.complex128))))
    assert stats.kstest(chances, "uniform").pvalue > 1e-3


def test_what_happened_is_named_whichever_belief_is_true() -> None:
    (runs,) = drawn_runs(1, seed=27)
    model, beliefs = before_the_last(runs)
    twice = (complex(runs[2][0]) - at(12.0, 15.0), complex(runs[2][1]) - 0.1 * at(12.0, 15.0))
    first = check_sense(model, twice, beliefs).explanations[0]
    assert (first.cause, first.plane_index) == (Cause.TWICE, 0)


def test_the_noise_that_repeats_taught_is_taken_over() -> None:
    fresh = AnswerModel.start([FRONT, REAR])
    model, beliefs = fresh.first_reading(START), Beliefs.start(fresh).first_reading(START)
    for by in (0.3, -0.4, 0.5):
        again = (START[0] + by, START[1] - by)
        beliefs = beliefs.after_run(model, again)
        model, _ = model.update(again)
    assert model.noise_g > 0.1
    assert [m.noise_g for m in beliefs.before_run(model).models] == [model.noise_g] * 4


def test_a_run_that_cannot_be_is_refused() -> None:
    fresh = AnswerModel.start([FRONT, REAR])
    with pytest.raises(QuantityError, match="planes"):
        Beliefs.start(fresh).first_reading([1 + 0j])
    beliefs = Beliefs.start(fresh).first_reading(START)
    with pytest.raises(QuantityError, match="finite"):
        beliefs.after_run(fresh.first_reading(START), [complex("nan"), 0j])
