"""What is said of a run: chances against Bayes' rule with scipy's normal distribution, and the sentences word by word."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from scipy import stats

from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_tooling import without_tooling
from bench.computation.cut_scatter import Cut
from bench.computation.sense_checks import ALARM_CHANCE, Explanation, SenseCheck, check_sense
from bench.computation.sense_checks_alarm import ExpectedRuns
from bench.computation.sense_checks_beliefs import Beliefs
from bench.computation.sense_checks_causes import Cause, Suspicion, suspicions
from bench.computation.stations import Station, stations_anywhere


def at(grams: float, degrees: float) -> complex:
    return cmath.rect(grams, math.radians(degrees))


START = (at(60.0, 30.0), at(40.0, 200.0))
TWO = stations_anywhere(["front", "rear"])


def logarithms(model: AnswerModel, shown: list[complex]) -> list[tuple[Suspicion, float]]:
    """Logarithm of how likely a run is under each suspicion, where a gram takes a gram off its own plane."""
    found = []
    for suspicion in suspicions(model):
        # an ounce for a gram: everything that is expected is read in another unit
        left = [complex(v) for v in model.left]
        for cut in suspicion.cuts:
            left[model.stations[model.station_index(cut.station)].plane_index] -= at(cut.grams, cut.angle_deg)
        spread = model.with_cuts(suspicion.cuts).forecast().covariance
        if suspicion.shift is not None:
            spread = spread + suspicion.shift
        spread = spread * suspicion.factor**2 + np.eye(2 * len(left)) * model.noise_g**2
        mean = [part for value in left for part in (value.real * suspicion.factor, value.imag * suspicion.factor)]
        seen = shown[::-1] if suspicion.swapped else shown
        point = [part for value in seen for part in (value.real, value.imag)]
        found.append((suspicion, float(stats.multivariate_normal.logpdf(point, mean=mean, cov=spread))))
    return found


def posterior(model: AnswerModel, shown: list[complex]) -> dict[tuple[Cause, int | None], float]:
    """Bayes' rule over everything that is considered."""
    weights: dict[tuple[Cause, int | None], float] = {}
    for suspicion, logarithm in logarithms(model, shown):
        key = (suspicion.cause, suspicion.plane_index)
        weights[key] = weights.get(key, 0.0) + suspicion.weight * math.exp(logarithm)
    total = sum(weights.values())
    return {key: weight / total for key, weight in weights.items()}


CUTS = [Cut("front", 30.0, 30.0), Cut("rear", 200.0, 12.0)]
REALLY = {
    "turned": (at(30.0, 42.0), at(12.0, 200.0)),
    "mirrored": (at(30.0, -30.0), at(12.0, 200.0)),
    "twice": (at(60.0, 30.0), at(12.0, 200.0)),
    "other end": (0j, at(12.0, 200.0) + at(30.0, 30.0)),
    "moved": (at(30.0, 30.0) + at(7.0, 120.0), at(12.0, 200.0) + at(5.0, 110.0)),
    "between": (at(44.0, 36.0), at(7.0, 185.0)),
}


@pytest.mark.parametrize("case", REALLY)
def test_chances_against_bayes_rule(case: str) -> None:
    model = AnswerModel.start(TWO).first_reading(START).after_cuts(CUTS)
    shown = [START[0] - REALLY[case][0], START[1] - REALLY[case][1]]
    check = check_sense(model, shown)
    assert check.alarm
    expected = posterior(model, shown)
    found = {(e.cause, e.plane_index): e.chance for e in check.explanations}
    # what is less likely than one in a hundred is not told
    assert set(found) == {key for key, chance in expected.items() if chance >= 0.01}
    for key, chance in found.items():
        assert chance == pytest.approx(expected[key], rel=1e-6)
    # chance comes after the likeliest mistake, if that has a tenth of it all
    chances = [e.chance for e in check.explanations if e.cause is not Cause.CHANCE]
    assert chances == sorted(chances, reverse=True)
    assert (check.explanations[0].cause is Cause.CHANCE) == (expected[Cause.CHANCE, None] > 0.5 and chances[0] < 0.1)
    assert check.distance > 0.0
    far = float(stats.chi2.sf(check.distance, 4))
    # what is not plainly out by its distance is told by how rarely chance looks as wrong, to one in 4,096
    assert check.chance == pytest.approx(far, rel=1e-9) or (far > 1e-4 and (check.chance * 4096) % 1 == 0)
    assert check.chance < ALARM_CHANCE


def test_every_suspicion_against_the_normal_density() -> None:
    model = AnswerModel.start(TWO).first_reading(START).after_cuts(CUTS)
    shown = [START[k] - REALLY["between"][k] for k in range(2)]
    for suspicion, logarithm in logarithms(model, shown):
        # a constant of four variables is left out: it is the same for all
        expected = ExpectedRuns.of(Beliefs.alone(model), [suspicion])
        ((found,),) = expected.log_likelihoods(np.array(shown).view(np.float64)[None])
        assert found - 2.0 * math.log(2.0 * math.pi) == pytest.approx(logarithm, rel=1e-9)


@pytest.mark.parametrize("factor", [28.349523125, 1.0 / 28.349523125])
def test_units_against_bayes_rule(factor: float) -> None:
    model = AnswerModel.start(TWO).first_reading(START).after_cuts(CUTS)
    shown = [(START[k] - c.taken) * factor for k, c in enumerate(CUTS)]
    expected = posterior(model, shown)
    (first, *_) = check_sense(model, shown).explanations
    assert (first.cause, first.plane_index, first.by_deg) == (Cause.OUNCES, None, None)
    assert first.chance == pytest.approx(expected[Cause.OUNCES, None], rel=1e-6)


def test_the_most_likely_angle_is_told() -> None:
    model = (
        AnswerModel.start(stations_anywhere(["disc"])).first_reading([START[0]]).after_cuts([Cut("disc", 30.0, 50.0)])
    )
    for by in (-20.0, 20.0):
        check = check_sense(model, [START[0] - at(50.0, 30.0 + by)])
        first = check.explanations[0]
        assert (first.cause, first.plane_index, first.by_deg) == (Cause.ANGLE_OFF, 0, by)
        assert f"hole beside its mark at the front, about {abs(by):.0f}°. Now: " in check.in_words()


def test_tooling_is_taken_off_before_a_run_is_judged() -> None:
    model = AnswerModel.start(TWO).first_reading([START[0] + 6.0, START[1]])
    cleaned = without_tooling(model, [[START[0] + 6.0, START[1]], [START[0] - 6.0, START[1]]], index_deg=[0.0, 180.0])
    cut = cleaned.after_cuts([Cut("front", 30.0, 30.0)])
    shown = [START[0] - at(60.0, 30.0) + 6.0, START[1]]
    first = check_sense(cut, shown).explanations[0]
    assert (first.cause, first.plane_index) == (Cause.TWICE, 0)
    expected = posterior(cut, [value - tooling for value, tooling in zip(shown, cut.tooling, strict=True)])
    assert first.chance == pytest.approx(expected[Cause.TWICE, 0], rel=1e-6)


def test_an_alarm_begins_at_nine_in_a_thousand() -> None:
    model = AnswerModel.start(stations_anywhere(["disc"])).first_reading([10 + 0j])
    # both runs have the noise; a chi-square of two of 9.42 is passed 9 times in a thousand
    limit = math.sqrt(2.0) * model.noise_g * math.sqrt(-2.0 * math.log(ALARM_CHANCE))
    inside, outside = (check_sense(model, [10.0 + limit * scale + 0j]) for scale in (0.999, 1.001))
    assert (inside.alarm, inside.explanations, inside.spin_first) == (False, (), False)
    assert inside.chance == pytest.approx(ALARM_CHANCE, rel=0.02)
    assert inside.distance == pytest.approx(float(stats.chi2.isf(0.009, 2)), rel=0.003)
    assert outside.alarm


def test_a_run_without_a_cut_is_asked_for_only_where_it_would_tell() -> None:
    fresh = AnswerModel.start(TWO)
    model = fresh.first_reading(START).after_cuts(CUTS)
    beliefs = Beliefs.start(fresh).first_reading(START)
    clear = check_sense(model, [START[0] - at(60.0, 30.0), START[1] - at(12.0, 200.0)], beliefs)
    assert clear.explanations[0].cause is Cause.TWICE
    assert clear.explanations[0].chance > 0.8
    assert not clear.spin_first
    # two mistakes that are as likely as each other
    torn = check_sense(model, [START[k] - REALLY["moved"][k] for k in range(2)])
    assert torn.explanations[0].chance < 0.8
    assert torn.spin_first
    # a small cut cannot have moved so much, whatever way it went wrong
    little = AnswerModel.start(TWO).first_reading(START).after_cuts([Cut("front", 30.0, 1.0)])
    slipped = check_sense(little, [START[0] - at(1.0, 30.0) + at(3.0, 120.0), START[1] + at(3.0, 120.0)])
    assert slipped.explanations[0].cause is Cause.SLIPPED
    assert slipped.explanations[0].chance > 0.8
    assert slipped.spin_first
    # without a cut before it, this was that run
    waiting = AnswerModel.start(TWO).first_reading(START)
    moved = check_sense(waiting, [START[0] + at(2.5, 120.0), START[1]])
    assert moved.alarm
    assert not moved.spin_first


def told(*explanations: Explanation, chance: float = 0.0005, spin_first: bool = False) -> SenseCheck:
    return SenseCheck(True, 30.0, chance, explanations, spin_first=spin_first)


MEASURE = "measure the depths and correct the cut log before the next cut"


@pytest.mark.parametrize(
    ("check", "words"),
    [
        (SenseCheck(False, 1.0, 0.7, (), spin_first=False), "the run is where it was expected"),
        (
            told(Explanation(Cause.TWICE, 0.873, 1, None)),
            (
                "the run is not where it was expected (by chance this happens in 0.1% of runs). Most likely (87%): twice the "
                f"asked cut at the rear. Now: {MEASURE}"
            ),
        ),
        (
            told(Explanation(Cause.TWICE, 0.5, 0, None), chance=0.00049, spin_first=True),
            (
                "the run is not where it was expected (not by chance). Most likely (50%): twice the asked cut at the front. "
                f"Now: {MEASURE}; a run without a cut would tell"
            ),
        ),
        (
            told(Explanation(Cause.ANGLE_OFF, 0.9, 0, -12.5), Explanation(Cause.TWICE, 0.1, 1, None), chance=0.004),
            (
                "the run is not where it was expected (by chance this happens in 0.4% of runs). Most likely (90%): hole "
                "beside its mark at the front, about 12°. Now: measure the holes' angles from the mark and correct the cut "
                "log before the next cut"
            ),
        ),
        (
            told(Explanation(Cause.SLIPPED, 0.6, None, None), spin_first=True),
            (
                "the run is not where it was expected (by chance this happens in 0.1% of runs). Most likely (60%): bobweight "
                "moved. Now: check and re-seat the bobweights, then spin again without a cut"
            ),
        ),
        (
            told(
                Explanation(Cause.TWICE, 0.3, 1, None),
                Explanation(Cause.CHANCE, 0.6, None, None),
                chance=0.008,
                spin_first=True,
            ),
            (
                "the run is not where it was expected (by chance this happens in 0.8% of runs). It may be chance (60%); if "
                f"not, most likely: twice the asked cut at the rear. Now: {MEASURE}; a run without a cut would tell"
            ),
        ),
        (
            told(Explanation(Cause.TWICE, 0.6, 0, None), Explanation(Cause.SLIPPED, 0.23, None, None), spin_first=True),
            (
                "the run is not where it was expected (by chance this happens in 0.1% of runs). Most likely (60%): twice the "
                f"asked cut at the front, or a bobweight moved (23%). Now: {MEASURE}; a run without a cut would tell"
            ),
        ),
        (
            told(Explanation(Cause.TWICE, 0.9, 0, None), Explanation(Cause.SLIPPED, 0.09, None, None)),
            (
                "the run is not where it was expected (by chance this happens in 0.1% of runs). Most likely (90%): twice the "
                f"asked cut at the front. Now: {MEASURE}"
            ),
        ),
        (
            told(Explanation(Cause.CHANCE, 0.6, None, None), chance=0.0, spin_first=True),
            (
                "the run is not where it was expected (not by chance) and nothing considered explains it: spin again without "
                "a cut; if it stays, look at the bobweights and at the last holes"
            ),
        ),
    ],
)
def test_words_of_a_check(check: SenseCheck, words: str) -> None:
    assert check.in_words() == words


def test_planes_go_by_the_names_they_are_given() -> None:
    check = SenseCheck(True, 30.0, 0.0, (Explanation(Cause.OPPOSITE, 0.9, 1, None),), spin_first=False)
    assert "180° out at the flywheel. Now: " in check.in_words(plane_names=["pulley", "flywheel"])


def test_every_cause_says_what_to_do() -> None:
    for cause in Cause:
        words = told(Explanation(cause, 0.6, None, None)).in_words()
        if cause is not Cause.CHANCE:
            assert f"Most likely (60%): {cause.value}. Now: " in words
        assert any(word in words for word in ("measure", "check", "look"))


# ---- what is considered, in a plane of its own and on a rotor of one or three planes


def considered(stations: list[Station], cuts: list[Cut], reading: list[complex]) -> list[Suspicion]:
    return list(suspicions(AnswerModel.start(stations).first_reading(reading).after_cuts(cuts)))


def test_on_one_plane_no_other_end_and_no_planes_to_swap() -> None:
    found = considered(list(stations_anywhere(["disc"])), [Cut("disc", 30.0, 5.0)], [9 + 0j])
    causes = {s.cause for s in found}
    assert causes == {
        Cause.CHANCE, Cause.SLIPPED, Cause.OUNCES, Cause.MIRRORED, Cause.OPPOSITE, Cause.ANGLE_OFF, Cause.TWICE,
    }  # fmt: skip
    (slip,) = [s.shift for s in found if s.cause is Cause.SLIPPED]
    # 3 g, as much along as across
    assert np.asarray(slip) == pytest.approx(np.diag([4.5, 4.5]))


def test_on_three_planes_a_slip_lies_between_the_outer_ones_and_the_cut_at_either_other_end() -> None:
    planes = ["a", "b", "c"]
    found = considered(list(stations_anywhere(planes)), [Cut("b", 30.0, 5.0)], [9 + 0j] * 3)
    assert [s.cuts[0].station for s in found if s.cause is Cause.OTHER_PLANE] == ["a", "c"]
    assert all(s.plane_index in {None, 1} for s in found)
    assert Cause.RUN_PLANES not in {s.cause for s in found}
    shifts = [np.asarray(s.shift) for s in found if s.cause is Cause.SLIPPED]
    assert np.diag(shifts[0]).tolist() == [4.5, 4.5, 0, 0, 0, 0]
    assert np.diag(shifts[-1]).tolist() == [0, 0, 0, 0, 4.5, 4.5]


def test_of_cuts_in_several_planes_only_those_of_one_are_moved_to_another() -> None:
    cuts = [Cut("b", 30.0, 5.0), Cut("c", 60.0, 4.0)]
    found = considered(list(stations_anywhere(["a", "b", "c"])), cuts, [9 + 0j] * 3)
    moved = [[c.station for c in s.cuts] for s in found if s.cause is Cause.OTHER_PLANE]
    assert moved == [["a", "c"], ["c", "c"], ["b", "a"], ["b", "b"]]


def test_a_counterweight_at_the_mark_is_mirrored_about_the_mark() -> None:
    stations = [Station("front", 0, (1 + 0j,), centre_deg=0.0, arc_deg=120.0)]
    found = considered(stations, [Cut("front", 30.0, 5.0)], [9 + 0j])
    assert [s.cuts[0].angle_deg for s in found if s.cause is Cause.MIRRORED_IN_ARC] == [-30.0]


@pytest.mark.parametrize("plane", [0, 1])
def test_a_mistake_names_its_plane_and_leaves_the_others_alone(plane: int) -> None:
    cuts = [Cut("front", 60.0, 10.0), Cut("rear", 200.0, 5.0), Cut("front", 100.0, 20.0), Cut("rear", 10.0, 4.0)]
    found = [s for s in considered(list(TWO), cuts, list(START)) if s.plane_index == plane]
    mine = {0: (0, 2), 1: (1, 3)}[plane]
    assert {s.cause for s in found} == {
        Cause.MIRRORED, Cause.OPPOSITE, Cause.ANGLE_OFF, Cause.TWICE, Cause.TWICE_ONE_HOLE, Cause.OTHER_PLANE,
    }  # fmt: skip
    for suspicion in found:
        changed = {k for k, cut in enumerate(suspicion.cuts) if cut != cuts[k]}
        assert changed
        assert changed <= set(mine)
        if suspicion.cause is Cause.TWICE_ONE_HOLE:
            assert len(changed) == 1
        else:
            assert changed == set(mine)
        assert (suspicion.by_deg is None) is (suspicion.cause is not Cause.ANGLE_OFF)
        assert (suspicion.factor, suspicion.swapped, suspicion.shift) == (1.0, False, None)


def test_nothing_cut_is_nothing_cut_wrong() -> None:
    found = considered(list(TWO), [], list(START))
    assert {s.cause for s in found} == {Cause.CHANCE, Cause.SLIPPED, Cause.OUNCES, Cause.RUN_PLANES}
    only_front = considered(list(TWO), [Cut("front", 1.0, 2.0)], list(START))
    assert {s.plane_index for s in only_front} == {None, 0}


def test_the_undisturbed_case_is_by_far_the_likeliest_beforehand() -> None:
    found = considered(list(TWO), CUTS, list(START))
    assert (found[0].cause, found[0].weight) == (Cause.CHANCE, 1.0)
    assert sum(s.weight for s in found[1:]) < 0.1
    assert all(0.0 < s.weight < 0.01 for s in found[1:])
