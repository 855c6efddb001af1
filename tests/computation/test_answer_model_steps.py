"""The answer model step by step: against conditioning in information form, hand arithmetic and symmetry."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from scipy import stats

from bench.computation import answer_model_update as update
from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_tooling import without_tooling
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_trust import BY_GEOMETRY, Trust
from bench.computation.errors import QuantityError
from bench.computation.stations import Hole, Station, stations_anywhere

STATIONS = (
    Station("front", 0, (1.0 + 0.1j, 0.2 + 0j)),
    Station("rear", 1, (0.1 + 0j, 0.9 - 0.2j)),
    Station("middle", 1, (0.5 + 0j, 0.6 + 0j)),
)
READING = [30 + 10j, -20 + 5j]


def begun(**more: object) -> AnswerModel:
    return AnswerModel.start(STATIONS, **more).first_reading(READING)  # type: ignore[arg-type]


def parts(values: object) -> list[float]:
    return [part for value in np.ravel(np.asarray(values)) for part in (value.real, value.imag)]


def rotation(value: complex) -> np.ndarray:
    return np.array([[value.real, -value.imag], [value.imag, value.real]])


def conditioned(
    model: AnswerModel, shown: list[complex], wider: float, strayed: np.ndarray, taken: list[complex]
) -> tuple[np.ndarray, np.ndarray, float]:
    """Mean and covariance of what is left and of the effects, given a run; and the run's log likelihood.

    Source: conditioning of a joint normal distribution, written with its inverse (information form); the density is
    scipy's. The unknowns are what was there before, the effects and what the cuts strayed.
    """
    planes, count = model.planes, len(model.stations)
    size, effects = 2 * planes, 2 * planes * count
    mean = np.array([*parts(model.left), *parts(model.effects.T)])
    prior = model.covariance.copy()
    prior[size:, size:] *= wider**2
    prior[:size, size:] *= wider
    prior[size:, :size] *= wider
    # what is left = what was there - sum of effects times what was taken + strayed
    leads = np.zeros((size, size + effects))
    leads[:, :size] = np.eye(size)
    for s, gone in enumerate(taken):
        for p in range(planes):
            column = size + 2 * (planes * s + p)
            leads[2 * p : 2 * p + 2, column : column + 2] = -rotation(gone)
    noise = strayed + np.eye(size) * model.noise_g**2
    whole = leads @ prior @ leads.T + noise
    likelihood = float(stats.multivariate_normal.logpdf(parts(shown), mean=leads @ mean, cov=whole))
    # joint of (effects, left): from (before, effects, strayed) by a linear map
    lead = np.zeros((size + effects, 2 * size + effects))
    lead[:size, : size + effects], lead[:size, size + effects :] = leads, np.eye(size)
    lead[size:, size : size + effects] = np.eye(effects)
    every = np.zeros((2 * size + effects,) * 2)
    every[: size + effects, : size + effects] = prior
    every[size + effects :, size + effects :] = strayed
    before_mean = lead @ np.concatenate([mean, np.zeros(size)])
    before = lead @ every @ lead.T + 1e-13 * np.eye(size + effects)
    sees = np.hstack([np.eye(size), np.zeros((size, effects))])
    precision = np.linalg.inv(before) + sees.T @ sees / model.noise_g**2
    after = np.linalg.inv(precision)
    return (
        before_mean + after @ sees.T @ (np.array(parts(shown)) - sees @ before_mean) / model.noise_g**2,
        after,
        likelihood,
    )


def strayed_by(model: AnswerModel, cuts: list[Cut], scatter: CutScatter) -> np.ndarray:
    """A cut strays along and across its direction, and each plane feels it through the station's effect."""
    total = np.zeros((2 * model.planes,) * 2)
    for cut in cuts:
        along = (scatter.share * cut.grams) ** 2 + scatter.grams**2
        across = (math.radians(scatter.angle_deg) * cut.grams) ** 2
        turn = rotation(cmath.rect(1.0, math.radians(cut.angle_deg)))
        block = turn @ np.diag([along, across]) @ turn.T
        leads = np.vstack([rotation(complex(e)) for e in model.effects[:, model.station_index(cut.station)]])
        total += leads @ block @ leads.T
    return total


FULL = Trust(own=0.2, turned_deg=4.0, cross=0.15, cross_turned=0.05, shared=0.5)
SCATTER = CutScatter(share=0.04, grams=0.2, angle_deg=2.0)
FIRST = [Cut("front", 20.0, 12.0), Cut("rear", 160.0, 6.0), Cut("front", 50.0, 4.0)]
SECOND = [Cut("middle", 200.0, 5.0)]


def taken(cuts: list[Cut]) -> list[complex]:
    return [
        sum((cmath.rect(c.grams, math.radians(c.angle_deg)) for c in cuts if c.station == s.name), 0j) for s in STATIONS
    ]


@pytest.mark.parametrize("shown", [[19.5 + 4j, -15 + 2j], [25 + 9j, -20 + 1j]])
def test_learning_against_conditioning(shown: list[complex]) -> None:
    model = begun(trust=FULL, noise_g=0.3, scatter=SCATTER)
    for cuts, beliefs, run in (
        (FIRST, update._WIDER_AT_FIRST, shown),
        (SECOND, update._WIDER_LATER, [value - 2.0 for value in shown]),
    ):
        found = [
            (chance, *conditioned(model, run, wider, strayed_by(model, cuts, SCATTER), taken(cuts)))
            for wider, chance in beliefs
        ]
        most = max(likelihood for *_, likelihood in found)
        weights = np.array([chance * math.exp(likelihood - most) for chance, _, _, likelihood in found])
        weights /= weights.sum()
        mean = sum(w * m for w, (_, m, _, _) in zip(weights, found, strict=True))
        covariance = sum(w * (c + np.outer(m - mean, m - mean)) for w, (_, m, c, _) in zip(weights, found, strict=True))
        learnt, innovation = model.after_cuts(cuts).update(run)
        assert parts(learnt.left) == pytest.approx(list(mean[:4]), abs=1e-5)
        assert parts(learnt.effects.T) == pytest.approx(list(mean[4:]), abs=1e-5)
        assert learnt.covariance == pytest.approx(covariance, abs=1e-5)
        # the surprise is told as believed, whatever else may be
        wide = model.forecast(cuts).covariance + np.eye(4) * 0.3**2
        expected = model.left - model.effects @ np.array(taken(cuts))
        assert list(innovation.surprise) == pytest.approx(list(np.array(run) - expected))
        assert innovation.covariance == pytest.approx(wide)
        surprise = np.array(parts(np.array(run) - expected))
        assert innovation.distance == pytest.approx(float(surprise @ np.linalg.inv(wide) @ surprise))
        assert innovation.chance == pytest.approx(float(stats.chi2.sf(innovation.distance, 4)))
        assert (learnt.pending, learnt.tested, learnt.readings) == ((), True, model.readings + 1)
        assert learnt.noise_g == model.noise_g
        assert [len(s.holes) for s in learnt.stations] == [len(s.holes) for s in model.after_cuts(cuts).stations]
        model = learnt


def test_a_run_without_a_cut_is_averaged_with_what_is_known_and_tests_nothing() -> None:
    model = begun(trust=FULL, noise_g=0.3)
    learnt, innovation = model.update([value + 0.4 for value in READING])
    # two runs of one noise: the mean of both, half the variance; no cut tells nothing of the effects
    assert list(learnt.left) == pytest.approx([value + 0.2 for value in READING])
    assert learnt.covariance[:4, :4] == pytest.approx(np.eye(4) * 0.3**2 / 2.0)
    assert learnt.effects == pytest.approx(model.effects)
    assert learnt.covariance[4:, 4:] == pytest.approx(model.covariance[4:, 4:])
    assert (learnt.tested, learnt.readings, learnt.repeats) == (False, 2, 1)
    assert innovation.covariance == pytest.approx(np.eye(4) * 2.0 * 0.3**2)


def noise_after(off: float, *, repeats: int = 0, planes: int = 1) -> float:
    names = ["a", "b", "c"][:planes]
    model = AnswerModel.start(stations_anywhere(names), noise_g=0.5).first_reading([9 + 0j] * planes)
    for _ in range(repeats):
        model, _ = model.update(list(model.left))
    before = model.noise_g
    deviation = math.sqrt(model.covariance[0, 0] + before**2)
    shown = [complex(value) + off * deviation * (1 + 1j) for value in model.left]
    return model.update(shown)[0].noise_g / before


def test_noise_is_learnt_from_runs_without_a_cut() -> None:
    # as far out as believed: nothing to learn; nearer: less noise; farther: more
    assert noise_after(1.0) == pytest.approx(1.0)
    assert noise_after(0.0) < noise_after(0.5) < 1.0 < noise_after(1.5)
    # three deviations at most
    assert noise_after(2.9) < noise_after(3.1)
    assert noise_after(3.1) == pytest.approx(noise_after(300.0))
    # in squares: what 0 takes off and what sqrt 2 puts on are as much
    assert 1.0 - noise_after(0.0) ** 2 == pytest.approx(noise_after(math.sqrt(2.0)) ** 2 - 1.0)
    # the more is known the less a run changes it, and two planes tell more than one
    changes = [1.0 - noise_after(0.0, repeats=repeats) for repeats in range(5)]
    assert changes == sorted(changes, reverse=True)
    assert changes[4] < 0.7 * changes[0]
    assert noise_after(0.0, planes=2) < noise_after(0.0)
    # pooled as counts of components: n runs in one go or one after the other
    one = 1.0 / noise_after(0.0) ** 2
    assert 1.0 / noise_after(0.0, planes=3) ** 2 - 1.0 == pytest.approx(3.0 * (one - 1.0))
    assert 1.0 / noise_after(0.0, repeats=1) ** 2 == pytest.approx(1.0 + 1.0 / (1.0 / (one - 1.0) + 1.0))


def test_a_model_before_and_after_its_first_run() -> None:
    start = AnswerModel.start(STATIONS, noise_g=0.3)
    assert (start.planes, start.readings, start.repeats, start.tested, start.pending) == (2, 0, 0, False, ())
    assert (start.trust, start.noise_g, start.scatter, start.tooling) == (BY_GEOMETRY, 0.3, CutScatter(), (0j, 0j))
    assert start.left.tolist() == [0j, 0j]
    assert start.effects.tolist() == [[s.effect[p] for s in STATIONS] for p in range(2)]
    assert not start.covariance[:4, :].any()
    assert start.covariance[4:, 4:].diagonal().min() > 0.0
    assert AnswerModel.start(STATIONS).noise_g == 0.1
    assert AnswerModel.start(STATIONS, scatter=SCATTER).scatter is SCATTER
    first = start.first_reading(READING)
    assert first.left.tolist() == READING
    assert (first.readings, first.pending) == (1, ())
    assert first.covariance[:4, :4] == pytest.approx(np.eye(4) * 0.09)
    assert first.covariance[4:, 4:] == pytest.approx(start.covariance[4:, 4:])
    # a new first run forgets what was tied to the old one, and cuts that waited
    learnt, _ = first.after_cuts(FIRST).update([20 + 4j, -15 + 2j])
    assert learnt.covariance[:4, 4:].any()
    again = learnt.after_cuts(SECOND).first_reading(READING)
    assert not again.covariance[:4, 4:].any()
    assert not again.covariance[4:, :4].any()
    assert (again.readings, again.pending) == (1, ())


def test_a_station_is_found_by_its_name_and_doubted_by_its_own_variances() -> None:
    model = begun(trust=Trust(own=0.2, turned_deg=0.0, cross=0.0, cross_turned=0.0, shared=0.0))
    assert [model.station_index(s.name) for s in STATIONS] == [0, 1, 2]
    # a fifth of the size of the effect on the own plane
    assert [model.doubt_about(k) for k in range(3)] == pytest.approx([0.04 * 1.01, 0.04 * 0.85, 0.04 * 0.36])
    with pytest.raises(QuantityError) as caught:
        model.station_index("nose")
    assert str(caught.value) == "station: found nose, wanted one of front, rear, middle"


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ([1 + 0j], "reading: found 1 planes, wanted 2, one a plane"),
        ([1 + 0j] * 3, "reading: found 3 planes, wanted 2, one a plane"),
        ([1 + 0j, complex(math.inf, 0.0)], "reading[1]: found inf, wanted a finite number"),
        ([complex(0.0, math.nan), 1 + 0j], "reading[0]: found nan, wanted a finite number"),
    ],
)
def test_words_of_a_refused_reading(reading: list[complex], words: str) -> None:
    for refused in (begun().update, begun().first_reading, begun().freed):
        with pytest.raises(QuantityError) as caught:
            refused(reading)
        assert str(caught.value) == words


@pytest.mark.parametrize(
    ("cut", "words"),
    [
        (Cut("front", math.nan, 1.0), "cut.angle_deg: found nan, wanted a finite number"),
        (Cut("front", 0.0, math.inf), "cut.grams: found inf, wanted a finite number"),
        (Cut("nose", 0.0, 1.0), "station: found nose, wanted one of front, rear, middle"),
    ],
)
def test_words_of_a_refused_cut(cut: Cut, words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        begun().after_cuts([cut])
    assert str(caught.value) == words


def test_words_of_what_comes_too_early() -> None:
    with pytest.raises(QuantityError) as caught:
        AnswerModel.start(STATIONS).update(READING)
    assert str(caught.value) == "reading: found no first reading, wanted first_reading before update"
    for noise, words in ((0.0, "0.0"), (-1.0, "-1.0"), (math.nan, "nan")):
        with pytest.raises(QuantityError) as caught:
            AnswerModel.start(STATIONS, noise_g=noise)
        assert str(caught.value) == f"noise_g: found {words}, wanted a finite number above 0"
    with pytest.raises(QuantityError) as caught:
        AnswerModel.start(())
    assert str(caught.value) == "stations: found none, wanted at least one station"


def test_cuts_wait_for_their_run_and_leave_holes() -> None:
    model = begun().after_cuts([Cut("front", 10.0, 5.0, 12.0), Cut("rear", 90.0, -3.0), Cut("rear", 90.0, 0.0)])
    # heavy metal that is put in, or nothing, is no hole
    assert [s.holes for s in model.stations] == [(Hole(10.0, 5.0, 12.0),), (), ()]
    more = model.after_cuts([Cut("middle", 20.0, 4.0), Cut("front", 10.0, 2.0)])
    assert [s.holes for s in more.stations] == [(Hole(10.0, 7.0, 12.0),), (), (Hole(20.0, 4.0, None),)]
    assert [c.grams for c in more.pending] == [5.0, -3.0, 0.0, 4.0, 2.0]
    sums = more.taken_by_station(more.pending)
    assert list(sums) == pytest.approx([cmath.rect(7.0, math.radians(10.0)), -3j, cmath.rect(4.0, math.radians(20.0))])
    other = more.with_cuts([Cut("rear", 0.0, 1.0)])
    assert other.pending == (Cut("rear", 0.0, 1.0),)
    assert other.stations == more.stations
    assert more.with_cuts(list(SECOND)).pending == tuple(SECOND)


def test_a_forecast_takes_waiting_cuts_and_those_that_are_thought_of() -> None:
    model = begun(trust=FULL, scatter=SCATTER)
    waiting = model.after_cuts(FIRST)
    expected = model.left - model.effects @ np.array(taken([*FIRST, *SECOND]))
    whole = waiting.forecast(SECOND)
    assert list(whole.left) == pytest.approx(list(expected))
    assert whole.covariance == pytest.approx(model.forecast([*FIRST, *SECOND]).covariance)
    assert list(waiting.forecast().left) == pytest.approx(list(model.left - model.effects @ np.array(taken(FIRST))))
    # without a cut nothing is known less than before
    assert model.forecast().covariance == pytest.approx(model.covariance[:4, :4])
    # cuts that hit exactly leave what the effects' doubt makes of them: linear in the doubt's square
    sums = np.array(taken(FIRST))
    still = model.covariance[:4, :4]
    doubt, _ = model.moved(sums, 1.0)
    assert model.moved(sums, 3.0)[0] - still == pytest.approx(9.0 * (doubt - still))
    assert model.moved(2.0 * sums, 1.0)[0] - still == pytest.approx(4.0 * (doubt - still))
    assert waiting.forecast().covariance == pytest.approx(doubt + strayed_by(model, FIRST, SCATTER))


def test_a_planner_doubts_a_prior_that_no_answer_has_tested() -> None:
    trust = Trust(own=0.2, turned_deg=4.0, cross=0.15, cross_turned=0.05, shared=0.5, doubt=2.0)
    model = begun(trust=trust, scatter=SCATTER)
    sums = np.array(taken(FIRST))
    plain, doubting = (model.forecast(FIRST, doubting=doubting).covariance for doubting in (False, True))
    assert doubting - plain == pytest.approx(model.moved(sums, 2.0)[0] - model.moved(sums, 1.0)[0])
    assert model.forecast(FIRST).covariance == pytest.approx(plain)
    assert model.spread_after(sums) == pytest.approx(model.moved(sums, 2.0)[0])
    tested, _ = model.after_cuts(FIRST).update([20 + 4j, -15 + 2j])
    plain, doubting = (tested.forecast(SECOND, doubting=doubting).covariance for doubting in (False, True))
    assert doubting == pytest.approx(plain)
    assert tested.spread_after(sums) == pytest.approx(tested.moved(sums, 1.0)[0])


def test_cuts_whose_chips_were_weighed_stray_less() -> None:
    model = begun(scatter=SCATTER)
    asked = [Cut("front", 20.0, 12.0), Cut("middle", 90.0, 7.0)]
    assert model.scattered(asked) == pytest.approx(strayed_by(model, asked, SCATTER))
    assert model.scattered(()).tolist() == np.zeros((4, 4)).tolist()
    weighed = model.scattered([Cut("front", 20.0, 12.0, measured=True)])
    assert 0.0 < np.trace(weighed) < 0.25 * np.trace(model.scattered(asked[:1]))


def test_tooling_is_taken_from_what_is_left_and_from_every_later_run() -> None:
    rotor, tooling = [8 + 2j, -3 + 1j], [1 - 1j, 0.5j]
    runs = [[r + sign * t for r, t in zip(rotor, tooling, strict=True)] for sign in (1.0, -1.0)]
    model = AnswerModel.start(stations_anywhere(["front", "rear"])).first_reading(runs[0])
    freed = without_tooling(model, runs, index_deg=[0.0, 180.0])
    assert list(freed.left) == pytest.approx(rotor)
    assert list(freed.tooling) == pytest.approx(tooling)
    assert list(freed.freed(runs[0])) == pytest.approx(rotor)
    assert list(freed.first_reading(runs[0]).left) == pytest.approx(rotor)
    # the first model is as it was; the same runs looked at again take nothing off twice
    assert list(model.left) == pytest.approx(runs[0])
    again = without_tooling(freed, runs, index_deg=[0.0, 180.0])
    assert list(again.left) == pytest.approx(rotor)
    assert list(again.tooling) == pytest.approx(tooling)
    # a set seated anew, with other tooling in it
    anew = [[r + sign * 3j for r in rotor] for sign in (1.0, -1.0)]
    seated = without_tooling(freed.update(anew[0])[0], anew, index_deg=[0.0, 180.0])
    assert list(seated.tooling) == pytest.approx([3j, 3j])
    with pytest.raises(QuantityError) as caught:
        without_tooling(model, [runs[0], [1 + 0j]], index_deg=[0.0, 180.0])
    assert str(caught.value) == "reading: found 1 planes, wanted 2, one a plane"
