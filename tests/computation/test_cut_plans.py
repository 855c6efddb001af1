"""Whole plans: what is refused, what a plan says of itself, and laws that hold however the planner is tuned."""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import replace

import numpy as np
import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_chances import chance_done
from bench.computation.cut_plan import CutLimits, CutPlan
from bench.computation.cut_planner import plan_cuts
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_sketch import Sketch
from bench.computation.cut_trust import MEASURED, Trust
from bench.computation.errors import QuantityError
from bench.computation.stations import Hole, Station, angle_between_deg, stations_anywhere

EXACT = CutScatter(share=1e-4, grams=1e-3, angle_deg=0.01)
KNOWN = Trust(own=1e-3, turned_deg=0.05, cross=1e-3, cross_turned=1e-3, shared=0.0, doubt=1.0)
TWO = stations_anywhere(["front", "rear"])


def at(grams: float, angle_deg: float) -> complex:
    return cmath.rect(grams, math.radians(angle_deg))


def model_of(stations: tuple[Station, ...], reading: list[complex], **more: object) -> AnswerModel:
    return AnswerModel.start(stations, **more).first_reading(reading)  # type: ignore[arg-type]


def known(stations: tuple[Station, ...], reading: list[complex]) -> AnswerModel:
    return model_of(stations, reading, trust=KNOWN, scatter=EXACT, noise_g=0.01)


def sums(model: AnswerModel, plan: CutPlan) -> list[complex]:
    return [complex(value) for value in model.taken_by_station(plan.cuts)]


@pytest.mark.parametrize(
    ("model", "tolerance", "words"),
    [
        (AnswerModel.start(TWO), [1.0, 1.0], "model: found no reading, wanted a first reading before cuts are planned"),
        (
            model_of(TWO, [9 + 0j, 9j]).after_cuts([Cut("front", 0.0, 1.0)]),
            [1.0, 1.0],
            "model: found cuts without their run, wanted a run after the last cuts",
        ),
        (model_of(TWO, [9 + 0j, 9j]), [1.0], "tolerance_g: found 1 values, wanted 2, one a plane"),
        (model_of(TWO, [9 + 0j, 9j]), [1.0, 0.0], "tolerance_g[1]: found 0.0, wanted a finite number above 0"),
    ],
)
def test_words_of_what_cannot_be_planned(model: AnswerModel, tolerance: list[float], words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        plan_cuts(model, tolerance_g=tolerance)
    assert str(caught.value) == words


def test_a_plan_says_what_it_will_leave_and_how_surely() -> None:
    model = model_of(TWO, [at(30.0, 20.0), at(12.0, 250.0)], trust=MEASURED, noise_g=0.2)
    plan = plan_cuts(model, tolerance_g=[1.5, 1.0])
    assert {cut.station for cut in plan.cuts} == {"front", "rear"}
    forecast = model.forecast(plan.cuts, doubting=True)
    left = model.left - model.effects @ np.array(sums(model, plan))
    assert list(plan.left) == pytest.approx([complex(v) for v in left])
    # the worse component of each plane, with the noise of the run that will show it
    spread = np.diag(forecast.covariance)
    assert plan.uncertainty_g == pytest.approx(
        [math.sqrt(max(spread[2 * p], spread[2 * p + 1]) + 0.2**2) for p in range(2)]
    )
    assert plan.chance_done == chance_done(forecast, noise_g=0.2, tolerance_g=[1.5, 1.0])
    done, far = (float(figure) for figure in re.findall(r"([\d.]+) ?%", plan.why))
    assert done == pytest.approx(plan.chance_done * 100.0, abs=0.5)
    assert far == pytest.approx(plan.chance_too_far * 100.0, abs=0.06)
    assert (plan.spin_again, plan.heavy_metal) == (False, ())


def test_on_a_known_rotor_one_cut_a_plane_leaves_next_to_nothing() -> None:
    # what a gram at one end takes off the other is made up for: the two equations of two planes
    stations = (Station("front", 0, (1.0 + 0j, 0.2j)), Station("rear", 1, (-0.1 + 0j, 0.8 + 0.1j)))
    left = [at(30.0, 20.0), at(12.0, 250.0)]
    model = known(stations, left)
    plan = plan_cuts(model, tolerance_g=[0.5, 0.5])
    expected = np.linalg.solve(np.array([[1.0, -0.1], [0.2j, 0.8 + 0.1j]]), np.array(left))
    assert sums(model, plan) == pytest.approx([complex(v) for v in expected], abs=0.05)
    assert max(abs(v) for v in plan.left) < 0.1
    assert plan.chance_done > 0.95
    assert len(plan.cuts) == 2


def test_turning_the_rotor_turns_the_plan() -> None:
    for turn in (40.0, 200.0):
        first, second = (
            plan_cuts(model_of(TWO, [at(9.0, 20.0 + by), at(12.0, 250.0 + by)]), tolerance_g=[1.0, 1.0])
            for by in (0.0, turn)
        )
        assert len(first.cuts) == len(second.cuts)
        for one, other in zip(first.cuts, second.cuts, strict=True):
            assert one.station == other.station
            assert one.grams == pytest.approx(other.grams, abs=0.05)
            assert angle_between_deg(other.angle_deg, from_deg=one.angle_deg) == pytest.approx(
                angle_between_deg(turn, from_deg=0.0), abs=0.5
            )


def test_swapping_the_ends_swaps_the_plan() -> None:
    left = [at(9.0, 20.0), at(12.0, 250.0)]
    one = plan_cuts(model_of(TWO, left), tolerance_g=[1.0, 1.5])
    other = plan_cuts(model_of(TWO, left[::-1]), tolerance_g=[1.5, 1.0])
    model = model_of(TWO, left)
    assert sums(model, one) == pytest.approx(sums(model, other)[::-1], abs=0.05)


def test_with_one_plane_at_a_time_the_one_that_is_farther_out_is_cut() -> None:
    limits = CutLimits(one_plane=True)
    for tolerance, station in (([1.0, 1.0], "rear"), ([0.5, 1.0], "front")):
        plan = plan_cuts(known(TWO, [at(9.0, 20.0), at(12.0, 250.0)]), tolerance_g=tolerance, limits=limits)
        assert {cut.station for cut in plan.cuts} == {station}
    both = plan_cuts(known(TWO, [at(9.0, 20.0), at(12.0, 250.0)]), tolerance_g=[1.0, 1.0])
    assert {cut.station for cut in both.cuts} == {"front", "rear"}
    alone = plan_cuts(known(stations_anywhere(["disc"]), [9 + 0j]), tolerance_g=[1.0], limits=limits)
    assert len(alone.cuts) == 1


def test_what_the_noise_may_have_made_is_run_again() -> None:
    # a cut strays by more than there is to go
    model = model_of(TWO, [at(0.93, 20.0), at(0.1, 250.0)], noise_g=0.05, scatter=CutScatter(grams=1.5))
    plan = plan_cuts(model, tolerance_g=[1.0, 1.0])
    assert (plan.cuts, plan.spin_again, plan.heavy_metal) == ((), True, ())
    assert plan.why == (
        "what is left is within reach of the noise: run again without a cut, "
        f"it passes with a chance of {plan.chance_done:.0%}"
    )
    # nothing is cut: the run will show what is there, with its noise and that of the one before
    assert list(plan.left) == pytest.approx([complex(v) for v in model.left])
    assert plan.uncertainty_g == pytest.approx([0.05 * math.sqrt(2.0)] * 2)


ARCS = (
    Station("front", 0, (1 + 0j, 0j), centre_deg=90.0, arc_deg=100.0),
    Station("rear", 1, (0j, 1 + 0j), centre_deg=270.0, arc_deg=100.0),
)


@pytest.mark.parametrize("inside_g", [0.1, 0.4, 0.9])
def test_where_no_metal_may_be_taken_metal_is_put_in_and_a_plane_that_is_inside_is_left_alone(inside_g: float) -> None:
    plan = plan_cuts(known(ARCS, [at(20.0, 270.0), at(inside_g, 270.0)]), tolerance_g=[1.0, 1.0])
    assert (plan.cuts, plan.spin_again) == ((), False)
    (metal,) = plan.heavy_metal
    assert (metal.plane_index, metal.station) == (0, "front")
    assert metal.net_g == pytest.approx(20.0, abs=0.1)
    assert plan.why == metal.why
    both = plan_cuts(known(ARCS, [at(20.0, 270.0), at(20.0, 90.0)]), tolerance_g=[1.0, 1.0])
    assert [m.station for m in both.heavy_metal] == ["front", "rear"]
    assert both.why == "; ".join(m.why for m in both.heavy_metal)


def test_where_no_further_hole_is_allowed_that_is_said() -> None:
    full = replace(TWO[0], holes=(Hole(200.0, 20.0),), most_g_per_hole=20.0)
    plan = plan_cuts(known((full, TWO[1]), [at(9.0, 20.0), 0j]), tolerance_g=[1.0, 1.0], limits=CutLimits(most_holes=1))
    assert (plan.cuts, plan.spin_again, plan.heavy_metal) == ((), False, ())
    assert plan.why == (
        "no cut that is allowed brings it inside: the holes that are there are full or point elsewhere, and no further "
        "hole is allowed; allow one more hole or a deeper one, or put heavy metal in"
    )
    more = plan_cuts(known((full, TWO[1]), [at(9.0, 20.0), 0j]), tolerance_g=[1.0, 1.0], limits=CutLimits(most_holes=2))
    assert len(more.cuts) == 1


def test_waiting_for_luck_is_advised_down_to_one_chance_in_five() -> None:
    full = replace(TWO[0], holes=(Hole(200.0, 20.0),), most_g_per_hole=20.0)
    advised = {}
    for grams in (1.04, 1.06, 1.08):
        model = model_of((full, TWO[1]), [at(grams, 20.0), 0j], noise_g=0.05)
        plan = plan_cuts(model, tolerance_g=[1.0, 1.0], limits=CutLimits(most_holes=1))
        assert not plan.cuts
        assert 0.05 < plan.chance_done < 0.3
        advised[grams] = (plan.chance_done > 0.2, plan.spin_again)
    assert advised == {1.04: (True, True), 1.06: (False, False), 1.08: (False, False)}


@pytest.mark.parametrize(("plane_with_hole", "used_up"), [(0, True), (1, False)])
def test_holes_are_said_to_be_used_up_only_where_they_are(plane_with_hole: int, used_up: bool) -> None:
    # only the first plane is out; that the other one may have no further hole is no matter
    stations = tuple(replace(s, holes=(Hole(200.0, 1.0),)) if i == plane_with_hole else s for i, s in enumerate(TWO))
    sketch = Sketch(known(stations, [at(9.0, 20.0), 0j]), (1.0, 1.0), CutLimits(most_holes=1))
    why = sketch.without_cut(sketch.judged((), sketch.now())).why
    assert ("no further hole is allowed" in why) is used_up
    assert ("less than a cut may stray" in why) is not used_up


def test_a_plan_never_drills_where_it_must_not_or_more_than_it_may() -> None:
    chance = np.random.default_rng(4)
    for _ in range(12):
        reading = [complex(*chance.normal(0.0, 25.0, 2)), complex(*chance.normal(0.0, 25.0, 2))]
        stations = tuple(replace(s, most_g_per_hole=15.0) for s in ARCS)
        model = model_of(stations, reading)
        plan = plan_cuts(model, tolerance_g=[1.0, 1.0])
        for cut in plan.cuts:
            station = stations[model.station_index(cut.station)]
            assert station.allows(cut.angle_deg)
            assert 0.0 < cut.grams <= 15.0 + 1e-9
        for name in ("front", "rear"):
            angles = [cut.angle_deg for cut in plan.cuts if cut.station == name]
            assert len(angles) <= 4
            for k, angle in enumerate(angles):
                for other in angles[:k]:
                    assert abs(angle_between_deg(angle, from_deg=other)) >= 14.0 - 1e-6
        assert 0.0 <= plan.chance_done <= 1.0
        assert 0.0 <= plan.chance_too_far <= 1.0


def test_an_untested_answer_is_cut_short_of_and_a_tested_one_less_so() -> None:
    model = model_of(ARCS, [at(40.0, 90.0), at(0.2, 270.0)])
    first = plan_cuts(model, tolerance_g=[1.0, 1.0])
    taken = sums(model, first)[0]
    assert 1.0 < abs(taken) < 39.0
    assert first.why.startswith("short on purpose until its answer is known; chance")
    # the answer is as told: the next plan takes most of what is left
    after, _ = model.after_cuts(first.cuts).update([complex(v) for v in first.left])
    second = plan_cuts(after, tolerance_g=[1.0, 1.0])
    assert second.cuts
    assert abs(second.left[0]) / abs(first.left[0]) < abs(first.left[0]) / 40.0
    assert not second.why.startswith("short on purpose")
    # metal all the way round can be put right on either side: nothing is short
    assert plan_cuts(model_of(TWO, [at(40.0, 90.0), 0j]), tolerance_g=[1.0, 1.0]).why.startswith("chance")


def test_more_care_takes_less_where_no_cut_can_finish() -> None:
    def taken(deviations: float) -> float:
        model = replace(model_of(ARCS, [at(40.0, 90.0), at(40.0, 270.0)]), tested=True)
        plan = plan_cuts(model, tolerance_g=[0.1, 0.1], limits=CutLimits(deviations=deviations))
        assert plan.chance_done < 0.03
        return abs(sums(model, plan)[0])

    assert taken(5.0) < taken(3.0) < 40.0


def test_the_dearer_it_is_to_go_too_far_the_less_of_it_is_risked_where_a_cut_can_finish() -> None:
    def plan(price: float) -> CutPlan:
        model = replace(model_of(ARCS, [at(15.0, 90.0), at(14.0, 270.0)], trust=MEASURED), tested=True)
        return plan_cuts(model, tolerance_g=[1.0, 1.0], limits=CutLimits(price_too_far=price, worst_chance=0.2))

    cheap, usual, dear = plan(1.0), plan(10.0), plan(300.0)
    assert cheap.chance_added > usual.chance_added > dear.chance_added
    assert cheap.chance_done > usual.chance_done > dear.chance_done


def test_no_haste_goes_beyond_the_chance_that_is_allowed() -> None:
    def risked(worst: float) -> float:
        model = replace(model_of(ARCS, [at(15.0, 90.0), at(14.0, 270.0)], trust=MEASURED), tested=True)
        limits = CutLimits(price_too_far=0.0, worst_chance=worst)
        return plan_cuts(model, tolerance_g=[1.0, 1.0], limits=limits).chance_added

    assert risked(0.5) > 0.01
    assert risked(0.005) <= 0.005


def test_what_is_likely_inside_already_is_run_again_before_heavy_metal_is_put_in() -> None:
    # 0.8 g on the side where no metal is: more than a well kept tolerance of that side's mix, less than the limit
    model = replace(model_of(ARCS, [at(0.8, 270.0), 0j], noise_g=0.05), tested=True)
    plan = plan_cuts(model, tolerance_g=[1.0, 1.0])
    assert plan.spin_again
    assert not plan.heavy_metal
    assert not plan.cuts


def test_after_a_plan_the_rotor_ends_inside_in_few_runs_whatever_its_answer() -> None:
    # a rotor in plain complex arithmetic: its effects differ by up to 20 % and 4 degrees from what is believed
    chance = np.random.default_rng(11)
    for _ in range(6):
        effects = np.diag(1.0 + chance.uniform(-0.2, 0.2, 2)) * np.exp(1j * np.radians(chance.uniform(-4, 4)))
        left = np.array([complex(*chance.normal(0.0, 20.0, 2)), complex(*chance.normal(0.0, 20.0, 2))])
        model = model_of(TWO, list(left))
        for _run in range(6):
            if max(abs(left)) <= 1.0:
                break
            plan = plan_cuts(model, tolerance_g=[1.0, 1.0])
            left = left - effects @ model.taken_by_station(plan.cuts)
            model, _ = model.after_cuts(plan.cuts).update([complex(v) for v in left])
        assert max(abs(left)) <= 1.0


def test_effects_that_were_measured_stay_further_short_of_the_first_cut_than_geometry_does() -> None:
    # geometry is doubted besides and has no long tails; after an answer both are alike
    limits = CutLimits()
    by_eye, measured = (
        AnswerModel.start(stations_anywhere(["front", "rear"]), trust=trust).first_reading([40 + 0j, 30j])
        for trust in (Trust(doubt=1.08), MEASURED)
    )
    assert limits.deviations_for(by_eye) < limits.deviations_for(measured)
    after = [limits.deviations_for(replace(model, tested=True)) for model in (by_eye, measured)]
    assert after == [limits.deviations, limits.deviations]
