"""Trial-weight balancing against handbooks and finite-element rotors.

Status words: printed (seen in a page), from memory (remembered before computing, reproduces), derived (inputs only;
the answer was computed elsewhere).
"""

from __future__ import annotations

import cmath
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from bench.computation.influence import PlanesAlikeError, TrialRun, influence_answer
from bench.computation.vectors import Vector

ROTORS: list[dict[str, Any]] = json.loads(Path(__file__).with_name("finite_element_rotors.json").read_text())["cases"]


def vectors(pairs: list[list[float]]) -> tuple[Vector, ...]:
    return tuple(Vector(amount, angle) for amount, angle in pairs)


def angle_between(one: float, other: float) -> float:
    return abs((one - other + 180.0) % 360.0 - 180.0)


def test_turbine_rotor_in_two_planes() -> None:
    # Rao, Mechanical Vibrations, 4th/5th ed., section 9.4.2, Example 9.2, from memory: left plane 10.0561 oz and
    # the angle 145.5548 of the unbalance (V0 = A U), real part of the right unbalance -2.1773 oz.
    answer = influence_answer(
        vectors([[8.5, 60], [6.5, 205]]),
        [
            TrialRun(0, Vector(10, 270), vectors([[6.0, 125], [4.5, 230]])),
            TrialRun(1, Vector(12, 180), vectors([[6.0, 35], [10.5, 160]])),
        ],
        trial_weights_left_on=False,
    )
    left, right = answer.add
    assert left.amount == pytest.approx(10.0561, abs=0.0001)
    # what is added lies opposite to the unbalance
    assert angle_between(left.angle_deg, 145.5548 + 180.0) < 0.0001
    assert -right.as_complex.real == pytest.approx(-2.1773, abs=0.0001)
    # derived: the right plane's amount, angle and the condition of the matrix
    assert (right.amount, right.angle_deg) == pytest.approx((5.877361662871798, 68.25593396952792), rel=1e-9)
    # the books' matrix: sensor by plane
    assert answer.influence[0][1].amount == pytest.approx(0.33131268507783407, rel=1e-12)
    assert angle_between(answer.influence[1][0].angle_deg, 76.85616563160146) < 1e-9
    assert max(v.amount for v in answer.predicted) < 1e-12
    assert answer.condition < 10.0


@pytest.mark.parametrize(
    ("vibration", "expected"),
    [
        # reading A: the negative amplitude is the vibration; reading B: it is the change wanted
        (
            [[-30, 230], [-70, 330]],
            [[0.33250005515111153, 208.9205377744642], [0.1884041513173061, 331.22070772474643]],
        ),
        ([[30, 230], [70, 330]], [[0.33250005515111153, 28.920537774464233], [0.1884041513173061, 151.22070772474646]]),
    ],
)
def test_symmetric_rotor_with_one_trial_mass(vibration: list[list[float]], expected: list[list[float]]) -> None:
    # Tiwari, NPTEL 112103024, module 13 lecture 2, Example 13.5: inputs seen, the printed answer is a picture; derived.
    near, far = Vector(50, 61).as_complex, Vector(42, 130).as_complex
    start = [v.as_complex for v in vectors(vibration)]
    trials = [
        TrialRun(0, Vector(0.3, 30), (Vector.of(start[0] + near), Vector.of(start[1] + far))),
        TrialRun(1, Vector(0.3, 30), (Vector.of(start[0] + far), Vector.of(start[1] + near))),
    ]
    answer = influence_answer(vectors(vibration), trials, trial_weights_left_on=False)
    for found, (amount, angle) in zip(answer.add, expected, strict=True):
        assert found.amount == pytest.approx(amount, rel=1e-6)
        assert angle_between(found.angle_deg, angle) < 1e-4
    assert answer.influence[0][0].amount == pytest.approx(166.66666666666666, rel=1e-9)
    assert angle_between(answer.influence[1][0].angle_deg, 100.0) < 1e-6


@pytest.mark.parametrize(
    ("initial", "with_trial", "trial", "expected"),
    [
        # grinding wheel, SI: examination problem after Rao ch. 9, inputs seen; derived
        ([0.2, 40], [0.5, 150], [0.2, -65], [0.06681493495600448, 346.7039195049196]),
        # grinding wheel, inch: Rao ch. 9 problem, inputs from memory; derived
        ([10, 40], [19, 150], [6, -65], [2.468137751104747, 342.2600950104935]),
        # flywheel, inch: Rao ch. 9 problem, inputs from memory; derived
        ([6.5, -15], [8.8, 35], [2, 45], [1.9135222486921288, 127.86812027212157]),
    ],
)
def test_single_plane(initial: list[float], with_trial: list[float], trial: list[float], expected: list[float]) -> None:
    answer = influence_answer(
        vectors([initial]),
        [TrialRun(0, Vector(*trial), vectors([with_trial]))],
        trial_weights_left_on=False,
    )
    assert answer.add[0].amount == pytest.approx(expected[0], rel=1e-6)
    assert angle_between(answer.add[0].angle_deg, expected[1]) < 1e-4


@pytest.mark.parametrize("rotor", ROTORS, ids=[rotor["name"] for rotor in ROTORS])
@pytest.mark.parametrize("left_on", [False, True])
def test_finite_element_rotor_is_recovered(rotor: dict[str, Any], *, left_on: bool) -> None:
    initial = vectors(rotor["V0_m_deg"])
    second = vectors(rotor["V_trial2_m_deg"])
    first = vectors(rotor["V_trial1_m_deg"])
    if left_on:
        # linear: with the first weight still on, its change is in the second run too
        second = tuple(
            Vector.of(b.as_complex + a.as_complex - v.as_complex)
            for a, b, v in zip(first, second, initial, strict=True)
        )
    trials = [
        TrialRun(plane, Vector(*added), readings)
        for plane, (added, readings) in enumerate(zip(rotor["trial_kg_m_deg"], (first, second), strict=True))
    ]
    answer = influence_answer(initial, trials, trial_weights_left_on=left_on)
    largest = max(amount for amount, _ in rotor["unbalance_kg_m_deg"])
    for found, unbalance in zip(answer.add_to_initial, rotor["unbalance_kg_m_deg"], strict=True):
        assert abs(found.as_complex + Vector(*unbalance).as_complex) <= 1e-9 * largest
    for found_row, row in zip(answer.influence, rotor["influence_m_per_kgm_deg"], strict=True):
        for found, expected in zip(found_row, row, strict=True):
            assert abs(found.as_complex - Vector(*expected).as_complex) <= 1e-9 * found.amount
    # nothing is left at the sensors
    assert max(v.amount for v in answer.predicted) <= 1e-9 * max(v.amount for v in initial)
    for found, initially, (weight, angle) in zip(
        answer.add, answer.add_to_initial, rotor["trial_kg_m_deg"], strict=True
    ):
        standing = cmath.rect(weight, math.radians(angle)) if left_on else 0.0
        assert abs(found.as_complex + standing - initially.as_complex) < 1e-18


@pytest.mark.parametrize("rotor", ROTORS, ids=[rotor["name"] for rotor in ROTORS])
def test_rigid_rotor_formula_agrees_with_finite_elements(rotor: dict[str, Any]) -> None:
    # Closed formula of a rigid rotor on two springs and dampers with its gyroscopic moment (any rotor dynamics
    # textbook): force U w^2 at the planes, two complex unknowns, response at the sensors; agrees to 5e-4.
    omega = rotor["rpm"] * math.tau / 60.0
    density = rotor["rotor_mass_kg"] / (math.pi * 0.04**2 * 0.6 + 2 * math.pi * (0.1**2 - 0.04**2) * 0.02)
    shaft = density * math.pi * 0.04**2 * 0.6
    disc = density * math.pi * (0.1**2 - 0.04**2) * 0.02
    polar = shaft * 0.04**2 / 2 + 2 * disc * (0.1**2 + 0.04**2) / 2
    across = (
        shaft * (3 * 0.04**2 + 0.6**2) / 12 + 2 * disc * (3 * (0.1**2 + 0.04**2) + 0.02**2) / 12 + 2 * disc * 0.15**2
    )
    mass = rotor["rotor_mass_kg"]
    bearings = [
        (place - 0.3, k + 1j * omega * c)
        for place, k, c in zip((0.05, 0.55), rotor["bearings"]["k"], rotor["bearings"]["c"], strict=True)
    ]
    stiffness = np.array(
        [
            [sum(s for _, s in bearings), sum(s * z for z, s in bearings)],
            [sum(s * z for z, s in bearings), sum(s * z * z for z, s in bearings)],
        ]
    )
    dynamic = stiffness - omega**2 * np.diag([mass, across - polar])
    for plane, position in enumerate(rotor["planes_m"]):
        force = omega**2 * np.array([1.0, position - 0.3])
        shift, tilt = np.linalg.solve(dynamic, force)
        for sensor, place in enumerate(rotor["sensors_m"]):
            response = shift + tilt * (place - 0.3)
            expected = Vector(*rotor["influence_m_per_kgm_deg"][sensor][plane]).as_complex
            scale = max(amount for row in rotor["influence_m_per_kgm_deg"] for amount, _ in row)
            assert abs(response - expected) <= 5e-4 * scale


def test_planes_that_look_alike_are_named() -> None:
    # three planes, of which the first and the last move both sensors alike
    readings = [
        [[11, 0], [2, 0], [1, 0]],
        [[10, 0], [1, 90], [1, 0]],
        [[12, 0], [3, 0], [1, 0]],
    ]
    trials = [TrialRun(plane, Vector(1, 0), vectors(run)) for plane, run in enumerate(readings)]
    with pytest.raises(PlanesAlikeError) as caught:
        influence_answer(vectors([[10, 0], [1, 0], [1, 0]]), trials, trial_weights_left_on=False)
    assert caught.value.planes == (0, 2)
    assert caught.value.condition > 1e6
    assert "planes 0 and 2 look alike" in str(caught.value)


def test_a_plane_that_moves_nothing_is_named() -> None:
    trials = [TrialRun(0, Vector(1, 0), vectors([[10, 0]]))]
    with pytest.raises(PlanesAlikeError) as caught:
        influence_answer(vectors([[10, 0]]), trials, trial_weights_left_on=False)
    assert caught.value.planes == (0,)
    assert caught.value.condition == math.inf
    assert "plane 0 moves no sensor" in str(caught.value)
