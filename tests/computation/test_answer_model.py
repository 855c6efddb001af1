"""The answer model against finite elements, sampling and closed forms."""

from __future__ import annotations

import cmath
import json
import math
import tracemalloc
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from bench.computation.answer_model import AnswerModel, in_words
from bench.computation.answer_model_algebra import chance_beyond
from bench.computation.answer_model_tooling import without_tooling
from bench.computation.cut_planner import plan_cuts
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_trust import MEASURED, UNKNOWN, Trust
from bench.computation.errors import QuantityError
from bench.computation.stations import Station, stations_anywhere

ROTORS: list[dict[str, Any]] = json.loads((Path(__file__).parent / "answer_model_rotors.json").read_text())["cases"]
NO_SCATTER = CutScatter(share=0.0, grams=0.0, angle_deg=0.0)


def vector(pair: list[float]) -> complex:
    return cmath.rect(pair[0], math.radians(pair[1]))


@pytest.mark.parametrize("rotor", ROTORS, ids=lambda r: r["name"])
def test_trial_weights_fed_as_cuts_lead_to_the_known_unbalance(rotor: dict[str, Any]) -> None:
    # source: finite-element rotors computed with the open library ROSS 2.3.0; the unbalance was put in by hand there
    v0, v1, v2 = ([vector(p) for p in rotor[k]] for k in ("V0_m_deg", "V_trial1_m_deg", "V_trial2_m_deg"))
    trials = [vector(p) * 1e6 for p in rotor["trial_kg_m_deg"]]  # g mm
    unit = max(abs(b - a) for a, b in zip(v0, v1, strict=True)) / abs(trials[0])
    v0, v1, v2 = ([value / unit for value in run] for run in (v0, v1, v2))
    size = max(abs(v) for v in (*v0, *v1, *v2))
    stations = stations_anywhere(["front", "rear"])
    wide = Trust(own=4.0, turned_deg=180.0, cross=4.0, cross_turned=4.0, shared=0.0, doubt=1.0)
    model = AnswerModel.start(stations, trust=wide, noise_g=1e-6 * size, scatter=NO_SCATTER).first_reading(v0)

    def cut(plane: int, taken: complex) -> Cut:
        return Cut(("front", "rear")[plane], math.degrees(cmath.phase(taken)), abs(taken))

    model, _ = model.after_cuts([cut(0, -trials[0])]).update(v1)
    model, _ = model.after_cuts([cut(0, trials[0]), cut(1, -trials[1])]).update(v2)
    plan = plan_cuts(model, tolerance_g=[1e-3 * size] * 2)
    taken = model.taken_by_station(plan.cuts) - np.array([0, trials[1]])
    known = np.array([vector(p) * 1e6 for p in rotor["unbalance_kg_m_deg"]])
    assert np.abs(taken - known).max() <= 2e-3 * np.abs(known).max()
    # what has to be added, as the library says it, is the same turned by half a circle
    added = np.array([vector(p) * 1e6 for p in rotor["correction_add_kg_m_deg"]])
    assert np.abs(taken + added).max() <= 2e-3 * np.abs(known).max()


def test_the_posterior_agrees_with_weighed_samples() -> None:
    # second opinion: a million draws from the prior, weighed by how well they explain the second run
    rng = np.random.default_rng(3)
    station = Station("disc", 0, (1.0 + 0j,))
    trust = Trust(own=0.15, turned_deg=3.0)
    model = AnswerModel.start([station], trust=trust, noise_g=0.1).first_reading([20.0 + 0j])
    shown = 11.3 + 0.4j
    learnt, innovation = model.after_cuts([Cut("disc", 0.0, 10.0)]).update([shown])
    draws = 1_000_000
    wider = rng.choice([1.0, 1.6, 2.5], p=[0.70, 0.22, 0.08], size=draws)
    effect = (1.0 + wider * 0.15 * rng.standard_normal(draws)) + 1j * wider * math.radians(3.0) * rng.standard_normal(
        draws
    )
    before = 20.0 + 0.1 * (rng.standard_normal(draws) + 1j * rng.standard_normal(draws))
    strayed = 10.0 + math.hypot(0.3, 0.15) * rng.standard_normal(draws)
    strayed = strayed + 1j * 10.0 * math.radians(1.5) * rng.standard_normal(draws)
    left = before - effect * strayed
    weight = np.exp(-0.5 * np.abs(shown - left) ** 2 / 0.1**2)
    weight /= weight.sum()
    assert complex(learnt.effects[0, 0]) == pytest.approx(complex((weight * effect).sum()), abs=0.01)
    assert complex(learnt.left[0]) == pytest.approx(complex((weight * left).sum()), abs=0.02)
    spread = math.sqrt(float((weight * (effect.real - (weight * effect.real).sum()) ** 2).sum()))
    assert math.sqrt(learnt.covariance[2, 2]) == pytest.approx(spread, rel=0.15)
    assert innovation.surprise[0] == pytest.approx(1.3 + 0.4j)


def test_an_unexpected_first_answer_widens_what_is_believed() -> None:
    stations = stations_anywhere(["disc"])
    start = AnswerModel.start(stations).first_reading([50.0 + 0j]).after_cuts([Cut("disc", 0.0, 30.0)])
    as_expected, _ = start.update([20.0 + 0j])
    far_off, innovation = start.update([-6.0 + 0j])
    assert innovation.distance > 9.0
    assert far_off.covariance[2, 2] >= as_expected.covariance[2, 2]
    # the answer of the second case is learnt: 56 g went for 30 g cut
    assert complex(far_off.effects[0, 0]).real == pytest.approx(56.0 / 30.0, abs=0.1)


@pytest.mark.parametrize("planes", [1, 2, 3])
@pytest.mark.parametrize("distance", [0.0, 0.5, 3.4, 13.2767, 40.0])
def test_chance_is_the_chi_square_tail(planes: int, distance: float) -> None:
    assert chance_beyond(distance, planes) == pytest.approx(float(stats.chi2.sf(distance, 2 * planes)), rel=1e-9)


def test_surprises_are_spread_as_chi_square() -> None:
    # 400 rotors drawn from the very prior that is believed; their first answers must be chi-square with 4 degrees
    rng = np.random.default_rng(8)
    stations = stations_anywhere(["front", "rear"])
    distances = []
    for _ in range(400):
        model = AnswerModel.start(stations, trust=MEASURED).first_reading([60.0 + 0j, 30j])
        effects = np.eye(2) * (1 + 0.05 * rng.standard_normal() + 1j * math.radians(1.5) * rng.standard_normal())
        effects = np.array(
            [
                [1 + 0.05 * rng.standard_normal() + 1j * math.radians(1.5) * rng.standard_normal(), 0],
                [0, 1 + 0.05 * rng.standard_normal() + 1j * math.radians(1.5) * rng.standard_normal()],
            ]
        )
        effects[0, 1] = 0.02 * rng.standard_normal() + 0.01j * rng.standard_normal()
        effects[1, 0] = 0.02 * rng.standard_normal() + 0.01j * rng.standard_normal()
        true = np.array([60.0, 30j]) + 0.1 * (rng.standard_normal(2) + 1j * rng.standard_normal(2))
        asked = [Cut("front", 0.0, 40.0), Cut("rear", 90.0, 20.0)]
        done = [
            c.direction
            * (c.grams * (1 + 0.03 * rng.standard_normal()) + 0.15 * rng.standard_normal())
            * cmath.exp(1j * math.radians(1.5) * rng.standard_normal())
            for c in asked
        ]
        shown = true - effects @ np.array(done) + 0.1 * (rng.standard_normal(2) + 1j * rng.standard_normal(2))
        distances.append(model.after_cuts(asked).update(list(shown))[1].distance)
    # the cross effect's directions are taken along the own effect, so a plain test of the whole shape holds
    assert stats.kstest(distances, stats.chi2(4).cdf).pvalue > 0.005


def test_runs_without_a_cut_teach_the_noise() -> None:
    rng = np.random.default_rng(1)
    model = AnswerModel.start(stations_anywhere(["front", "rear"]), noise_g=0.1).first_reading([5.0 + 0j, 3j])
    for _ in range(40):
        n = 0.3 * rng.standard_normal(4)
        model, _ = model.update([5.0 + complex(n[0], n[1]), 3j + complex(n[2], n[3])])
    assert 0.22 <= model.noise_g <= 0.36


def test_index_runs_take_the_tooling_out() -> None:
    # rotor 8 g at 30 deg, tooling 2 g at 100 deg: the second run has the tooling turned by half a circle
    rotor, tooling = cmath.rect(8.0, math.radians(30)), cmath.rect(2.0, math.radians(100))
    model = AnswerModel.start(stations_anywhere(["disc"]), noise_g=0.01).first_reading([rotor + tooling])
    freed = without_tooling(model, [[rotor + tooling], [rotor - tooling]], index_deg=[0.0, 180.0])
    assert complex(freed.left[0]) == pytest.approx(rotor)
    again, innovation = freed.update([rotor + tooling])
    assert abs(innovation.surprise[0]) < 1e-9
    assert complex(again.left[0]) == pytest.approx(rotor)


def test_the_answer_in_words() -> None:
    stations = [Station("front", 0, (0.97 + 0j, 0.14 + 0j)), Station("rear", 1, (-0.06 + 0j, 1.06 + 0j))]
    assert in_words(AnswerModel.start(stations)) == (
        "1 g at front takes 0.97 g off the front and 0.14 g off the rear",
        "1 g at rear takes 1.06 g off the rear and adds 0.06 g to the front",
    )


def test_memory_stays_flat_over_two_hundred_spins() -> None:
    model = AnswerModel.start(stations_anywhere(["front", "rear"])).first_reading([5.0 + 0j, 3j])

    def spin(model: AnswerModel) -> AnswerModel:
        return model.after_cuts([Cut("front", 0.0, 0.01)]).update([5.0 + 0j, 3j])[0]

    for _ in range(20):
        model = spin(model)
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    for _ in range(200):
        model = spin(model)
    grown = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    assert grown < 200_000


def test_what_cannot_be_is_refused() -> None:
    model = AnswerModel.start(stations_anywhere(["front", "rear"]))
    with pytest.raises(QuantityError, match="first_reading before update"):
        model.update([1.0, 1.0])
    with pytest.raises(QuantityError, match="2, one a plane"):
        model.first_reading([1.0])
    with pytest.raises(QuantityError, match=r"reading\[1\]"):
        model.first_reading([1.0, complex(math.nan, 0)])
    with pytest.raises(QuantityError, match="one of front, rear"):
        model.first_reading([1.0, 1.0]).after_cuts([Cut("middle", 0.0, 1.0)])
    with pytest.raises(QuantityError, match=r"cut\.grams"):
        model.first_reading([1.0, 1.0]).after_cuts([Cut("front", 0.0, math.inf)])
    with pytest.raises(QuantityError, match="noise_g"):
        AnswerModel.start(stations_anywhere(["disc"]), noise_g=0.0)
    assert UNKNOWN.own == 1.0
