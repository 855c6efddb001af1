"""The answer model fed with trial weight runs of finite-element rotors finds the unbalance that was put in."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_planner import plan_cuts
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_trust import UNKNOWN
from bench.computation.stations import stations_anywhere

Polar = tuple[float, float]
Runs = tuple[tuple[Polar, Polar], tuple[Polar, Polar], tuple[Polar, Polar]]

# Frozen answers of an open finite-element rotor program (ross-rotordynamics 2.3.0, numpy 2.4.6): a 31.96 kg steel shaft
# 80 x 600 mm with two discs, sensors and bearings at 50 and 550 mm, planes at 150 and 450 mm (the last rotor: other
# planes). Unbalances and trial weights in kg m and degrees, displacements in m and degrees: without a trial weight,
# with the one in the first plane, with the one in the second plane only.
ROTORS: dict[str, tuple[tuple[Polar, Polar], tuple[Polar, Polar], Runs]] = {
    "soft-sym-above-res": (
        ((0.00015, 35.0), (9e-05, 200.0)),
        ((0.0001, 0.0), (0.0001, 90.0)),
        (
            ((4.1156218057523166e-05, 220.49719532520467), (3.529446547878404e-05, 37.66674350573833)),
            ((5.9562507066663306e-05, 209.7925182529049), (4.6032519460034445e-05, 31.668743723920496)),
            ((3.7267382930016236e-05, 204.5556453738135), (3.0827665610982484e-05, 2.1823155833054844)),
        ),
    ),
    "hard-below-res": (
        ((8e-05, 72.0), (0.00014, 251.0)),
        ((0.0001, 180.0), (0.0001, 0.0)),
        (
            ((2.843472264013437e-09, 72.74332135267012), (4.740063343980369e-09, 250.8104956034864)),
            ((6.117808051585018e-09, 153.6077500176835), (5.150460567288964e-09, 240.35499347578468)),
            ((3.6408770386788966e-09, 48.20689310096595), (5.077541306148389e-09, 298.11900688696954)),
        ),
    ),
    "soft-static-only": (
        ((0.0001, 10.0), (0.0001, 10.0)),
        ((0.0001, 0.0), (0.0001, 0.0)),
        (
            ((9.157464115969563e-06, 191.66993457014507), (9.157464112008752e-06, 191.66993456505946)),
            ((2.9738426356499567e-05, 189.13104846178086), (2.391579268849857e-06, 18.220738801036923)),
            ((2.3915792631923133e-06, 18.220738795606486), (2.973842635017559e-05, 189.1310484595672)),
        ),
    ),
    "soft-couple-only": (
        ((0.0001, 10.0), (0.0001, 190.0)),
        ((0.0001, 0.0), (0.0001, 0.0)),
        (
            ((3.210219620783049e-05, 199.8053992664434), (3.2102196207056894e-05, 19.80539926640369)),
            ((5.243021330885391e-05, 195.1970726179337), (4.3579456656034036e-05, 18.01436707757405)),
            ((2.069110467508123e-05, 203.57977339084812), (1.2664755554453965e-05, 39.23275102244314)),
        ),
    ),
    "near-resonance": (
        ((2e-05, 15.0), (3.5e-05, 290.0)),
        ((2e-05, 0.0), (2e-05, 0.0)),
        (
            ((3.877368553675907e-06, 303.2366582628986), (5.1168407843741925e-06, 287.77533221739316)),
            ((6.1478783825795626e-06, 317.2315100343416), (6.454844617841608e-06, 298.39565134923305)),
            ((5.4395847592412535e-06, 311.90001248364746), (7.020762629352042e-06, 304.2379108685455)),
        ),
    ),
    "planes-close-together": (
        ((0.0001, 25.0), (4e-05, 160.0)),
        ((0.0001, 0.0), (0.0001, 0.0)),
        (
            ((1.0321697836378135e-05, 210.93962919907685), (4.146514417186435e-06, 0.6034330035014657)),
            ((1.975182210233788e-05, 198.75728222537487), (4.9103347756988385e-06, 9.629897243013072)),
            ((9.33099007915974e-06, 209.03680611165618), (5.790657053411479e-06, 189.95422060086005)),
        ),
    ),
}
GRAMS = 1e5
"""A kilogram metre in grams at a correction radius of 10 mm. [g]"""
EXACT = CutScatter(share=1e-7, grams=1e-7, angle_deg=1e-6)


def whole(polar: Polar) -> complex:
    return cmath.rect(polar[0], math.radians(polar[1]))


@pytest.mark.parametrize("name", list(ROTORS))
def test_trial_weight_runs_fed_as_cuts_lead_to_the_known_unbalance(name: str) -> None:
    unbalance, trials, runs = ROTORS[name]
    # readings are scaled so that a gram moves its own sensor by about one; grams count at 10 mm
    per_gram = abs(whole(runs[1][0]) - whole(runs[0][0])) / (trials[0][0] * GRAMS)
    shown = [[whole(sensor) / per_gram for sensor in run] for run in runs]
    on = [
        Cut(plane, math.degrees(cmath.phase(whole(t))), -abs(whole(t)) * GRAMS)
        for plane, t in zip(("front", "rear"), trials, strict=True)
    ]
    off = Cut("front", on[0].angle_deg, -on[0].grams)
    model = AnswerModel.start(stations_anywhere(["front", "rear"]), trust=UNKNOWN, noise_g=1e-4, scatter=EXACT)
    model = model.first_reading(shown[0])
    model, _ = model.after_cuts([on[0]]).update(shown[1])
    model, _ = model.after_cuts([off, on[1]]).update(shown[2])
    found = np.linalg.solve(model.effects, np.array(shown[0]))
    for grams, known in zip(found, unbalance, strict=True):
        assert grams == pytest.approx(whole(known) * GRAMS, rel=2e-3, abs=2e-4 * abs(whole(unbalance[0])) * GRAMS)
    # and the plan from there takes what is on the rotor now: the unbalance and the second trial weight
    plan = plan_cuts(model, tolerance_g=[0.05, 0.05])
    taken = model.taken_by_station(plan.cuts)
    for grams, known, extra in zip(taken, unbalance, (0j, whole(trials[1])), strict=True):
        assert grams == pytest.approx((whole(known) + extra) * GRAMS, abs=0.1)
