"""Laws of trial-weight balancing, transfer and index balancing, on rotors made up in the test."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bench.computation.errors import QuantityError
from bench.computation.index_balancing import index_parts
from bench.computation.influence import WORST_CONDITION, PlanesAlikeError, TrialRun, influence_answer
from bench.computation.transfer import PlacedUnbalance, transferred
from bench.computation.vectors import Vector, sum_of, turned_into_circle

amount = st.floats(0.1, 100.0)
angle = st.floats(-360.0, 360.0)
vector = st.builds(Vector, amount, angle)


def runs_of(matrix: np.ndarray, start: np.ndarray, trials: list[complex], *, left_on: bool) -> list[TrialRun]:
    standing = np.zeros(len(trials), dtype=complex)
    runs: list[TrialRun] = []
    for plane, weight in enumerate(trials):
        added = standing.copy() if left_on else np.zeros(len(trials), dtype=complex)
        added[plane] = weight
        standing = added
        runs.append(TrialRun(plane, Vector.of(weight), tuple(Vector.of(complex(v)) for v in start + matrix @ added)))
    return runs


@st.composite
def rotors(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, list[complex]]:
    planes = draw(st.integers(1, 4))
    sensors = draw(st.integers(planes, 5))
    numbers = st.complex_numbers(min_magnitude=0.2, max_magnitude=2.0)
    matrix = np.array([[draw(numbers) for _ in range(planes)] for _ in range(sensors)])
    assume(np.linalg.cond(matrix) < 50)
    start = np.array([draw(numbers) for _ in range(sensors)])
    return matrix, start, [draw(numbers) for _ in range(planes)]


@given(rotor=rotors(), left_on=st.booleans())
def test_adding_what_it_says_gives_the_least_readings(
    rotor: tuple[np.ndarray, np.ndarray, list[complex]], *, left_on: bool
) -> None:
    matrix, start, trials = rotor
    runs = runs_of(matrix, start, trials, left_on=left_on)
    answer = influence_answer([Vector.of(complex(v)) for v in start], runs, trial_weights_left_on=left_on)
    found = np.array([[v.as_complex for v in row] for row in answer.influence])
    assert np.abs(found - matrix).max() < 1e-9
    to_initial = np.array([v.as_complex for v in answer.add_to_initial])
    left = start + matrix @ to_initial
    assert np.abs(left - np.array([v.as_complex for v in answer.predicted])).max() < 1e-8
    if len(start) == len(trials):
        assert np.abs(left).max() < 1e-8
    else:
        # least squares: what is left is at right angles to every column
        assert np.abs(matrix.conj().T @ left).max() < 1e-7
    # on the rotor as it stands after the last run
    standing = np.array(trials) if left_on else np.zeros(len(trials))
    now = start + matrix @ standing
    add = np.array([v.as_complex for v in answer.add])
    assert np.abs(now + matrix @ add - left).max() < 1e-8


@given(rotors(), angle, st.floats(0.1, 10.0))
def test_turning_and_scaling_the_readings(
    rotor: tuple[np.ndarray, np.ndarray, list[complex]], by: float, times: float
) -> None:
    matrix, start, trials = rotor
    factor = times * cmath.exp(1j * math.radians(by))
    runs = runs_of(matrix, start, trials, left_on=False)
    before = influence_answer([Vector.of(complex(v)) for v in start], runs, trial_weights_left_on=False)
    # the sensors turned and their gain changed: the correction stays
    turned = [replace(run, readings=tuple(Vector.of(v.as_complex * factor) for v in run.readings)) for run in runs]
    after = influence_answer([Vector.of(complex(v) * factor) for v in start], turned, trial_weights_left_on=False)
    # the mark on the rotor turned: the correction turns
    marked = [replace(run, added=run.added.turned(by)) for run in runs]
    with_mark = influence_answer([Vector.of(complex(v)) for v in start], marked, trial_weights_left_on=False)
    for a, b, c in zip(before.add, after.add, with_mark.add, strict=True):
        assert abs(a.as_complex - b.as_complex) < 1e-8
        assert abs(a.as_complex * cmath.exp(1j * math.radians(by)) - c.as_complex) < 1e-8


@given(rotors())
def test_swapping_planes_swaps_the_answer(rotor: tuple[np.ndarray, np.ndarray, list[complex]]) -> None:
    matrix, start, trials = rotor
    planes = len(trials)
    initial = [Vector.of(complex(v)) for v in start]
    runs = runs_of(matrix, start, trials, left_on=False)
    before = influence_answer(initial, runs, trial_weights_left_on=False)
    swapped = [replace(run, plane=planes - 1 - run.plane) for run in runs]
    after = influence_answer(initial, swapped, trial_weights_left_on=False)
    for a, b in zip(before.add, reversed(after.add), strict=True):
        assert abs(a.as_complex - b.as_complex) < 1e-9
    assert before.condition == pytest.approx(after.condition, rel=1e-6)


def trial(plane: int, readings: tuple[Vector, ...], added: Vector | None = None) -> TrialRun:
    return TrialRun(plane, added or Vector(1.0, 0.0), readings)


ONE, TWO = Vector(1.0, 0.0), Vector(2.0, 90.0)


@pytest.mark.parametrize(
    ("initial", "trials", "quantity"),
    [
        ([], [], "initial"),
        ([ONE] * 65, [trial(0, (TWO,) * 65)], "initial"),
        ([ONE], [], "trials"),
        ([ONE], [trial(0, (TWO,)), trial(1, (TWO,))], "trials"),
        ([ONE, ONE], [trial(0, (TWO, ONE)), trial(0, (ONE, TWO))], "trials[1].plane"),
        ([ONE, ONE], [trial(0, (TWO, ONE)), trial(2, (ONE, TWO))], "trials[1].plane"),
        ([ONE], [trial(-1, (TWO,))], "trials[0].plane"),
        ([ONE], [trial(0, (TWO,), Vector(0.0, 0.0))], "trials[0].added.amount"),
        ([ONE], [trial(0, (TWO,), Vector(math.nan, 0.0))], "trials[0].added.amount"),
        ([ONE], [trial(0, (TWO, TWO))], "trials[0].readings"),
        ([ONE, ONE], [trial(0, (TWO,))], "trials[0].readings"),
        ([Vector(1.0, math.inf)], [trial(0, (TWO,))], "initial[0].angle_deg"),
        ([ONE], [trial(0, (Vector(math.nan, 0.0),))], "trials[0].readings[0].amount"),
        ([ONE], [trial(0, (Vector(1e308, 0.0),), Vector(1e-9, 0.0))], "trials[0].readings"),
    ],
)
def test_bad_runs_are_named(initial: list[Vector], trials: list[TrialRun], quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        influence_answer(initial, trials, trial_weights_left_on=False)
    assert caught.value.quantity == quantity


def test_sixty_four_sensors_are_taken() -> None:
    # every sensor reads 2 and 1 more for each unit added: taking 2 away leaves nothing
    answer = influence_answer(
        [Vector(2.0, 0.0)] * 64,
        [TrialRun(0, Vector(1.0, 0.0), (Vector(3.0, 0.0),) * 64)],
        trial_weights_left_on=False,
    )
    assert abs(answer.add[0].as_complex + 2.0) < 1e-12


def test_an_answer_too_large_is_refused() -> None:
    runs = [trial(0, (Vector(1e300, 0.0),), Vector(1e300, 0.0))]
    assert influence_answer([Vector(1.0, 0.0)], runs, trial_weights_left_on=False).add[0].amount == pytest.approx(1.0)
    runs = [trial(0, (Vector(1e308 * 1.5, 0.0),), Vector(1e300, 0.0))]
    with pytest.raises(QuantityError):
        influence_answer([Vector(-1e308, 0.0)], runs, trial_weights_left_on=False)


@pytest.mark.parametrize(("apart", "refused"), [(0.0019, True), (0.0021, False), (0.0, True)])
def test_condition_at_its_limit(apart: float, *, refused: bool) -> None:
    # two columns of length 1 a small angle a apart have condition 2 / a
    runs = [
        trial(0, (Vector(1.0, 0.0), Vector(0.0, 0.0))),
        trial(1, (Vector(math.cos(apart), 0.0), Vector(math.sin(apart), 0.0))),
    ]
    nothing = [Vector(0.0, 0.0), Vector(0.0, 0.0)]
    if refused:
        with pytest.raises(PlanesAlikeError) as caught:
            influence_answer(nothing, runs, trial_weights_left_on=False)
        assert caught.value.planes == (0, 1)
        assert caught.value.quantity == "trials"
        assert caught.value.condition > WORST_CONDITION
    else:
        assert influence_answer(nothing, runs, trial_weights_left_on=False).condition == pytest.approx(
            2 / apart, rel=1e-3
        )


placed = st.builds(PlacedUnbalance, vector, st.floats(-10.0, 10.0))
planes_apart = st.tuples(st.floats(-10.0, 10.0), st.floats(-10.0, 10.0)).filter(lambda p: abs(p[0] - p[1]) > 0.1)


@given(st.lists(placed, min_size=1, max_size=8), planes_apart)
def test_transfer_keeps_force_and_moment(unbalances: list[PlacedUnbalance], planes: tuple[float, float]) -> None:
    front, rear = (v.as_complex for v in transferred(unbalances, planes=planes))
    force = sum(u.vector.as_complex for u in unbalances)
    moment = sum(u.vector.as_complex * u.position for u in unbalances)
    assert abs(front + rear - force) < 1e-7
    assert abs(front * planes[0] + rear * planes[1] - moment) < 1e-6
    (alone,) = transferred(unbalances, planes=planes[:1])
    assert abs(alone.as_complex - force) < 1e-9


@given(st.lists(placed, min_size=1, max_size=4), st.lists(placed, min_size=1, max_size=4), planes_apart)
def test_transfer_is_linear(
    some: list[PlacedUnbalance], others: list[PlacedUnbalance], planes: tuple[float, float]
) -> None:
    together = transferred(some + others, planes=planes)
    for a, b, c in zip(transferred(some, planes=planes), transferred(others, planes=planes), together, strict=True):
        assert abs(a.as_complex + b.as_complex - c.as_complex) < 1e-6


@given(st.lists(placed, min_size=1, max_size=4), planes_apart, angle)
def test_transfer_turns_and_swaps(unbalances: list[PlacedUnbalance], planes: tuple[float, float], by: float) -> None:
    found = transferred(unbalances, planes=planes)
    turned = transferred([replace(u, vector=u.vector.turned(by)) for u in unbalances], planes=planes)
    swapped = transferred(unbalances, planes=planes[::-1])
    for a, b, c in zip(found, turned, reversed(swapped), strict=True):
        assert abs(a.as_complex * cmath.exp(1j * math.radians(by)) - b.as_complex) < 1e-6
        assert abs(a.as_complex - c.as_complex) < 1e-9


UNIT = PlacedUnbalance(Vector(1.0, 0.0), 0.0)


@pytest.mark.parametrize(
    ("unbalances", "planes", "quantity"),
    [
        ([], [0.0], "unbalances"),
        ([UNIT], [], "planes"),
        ([UNIT], [0.0, 1.0, 2.0], "planes"),
        ([UNIT], [5.0, 5.0], "planes"),
        ([UNIT], [1.0, 1.0 + 1e-10], "planes"),
        ([UNIT], [0.0, 0.0], "planes"),
        ([UNIT], [-1e308, 1e308], "planes"),
        ([UNIT], [math.nan], "planes[0]"),
        ([UNIT], [0.0, math.inf], "planes[1]"),
        ([UNIT, PlacedUnbalance(Vector(math.nan, 0.0), 0.0)], [0.0], "unbalances[1].amount"),
        ([UNIT, PlacedUnbalance(Vector(1.0, math.nan), 0.0)], [0.0], "unbalances[1].angle_deg"),
        ([UNIT, PlacedUnbalance(Vector(1.0, 0.0), math.nan)], [0.0], "unbalances[1].position"),
        ([PlacedUnbalance(Vector(1.0, 0.0), 1e308)], [0.0, 1e-9], "unbalances.position"),
        ([PlacedUnbalance(Vector(1.7e308, 45.0), 0.0)] * 2, [0.0], "amount"),
        ([PlacedUnbalance(Vector(1.2e308, 45.0), 0.0)] * 2, [0.0], "unbalances.amount"),
    ],
)
def test_bad_transfers_are_named(unbalances: list[PlacedUnbalance], planes: list[float], quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        transferred(unbalances, planes=planes)
    assert caught.value.quantity == quantity


def test_planes_just_far_enough_apart() -> None:
    front, rear = transferred([UNIT], planes=[1.0, 1.001])
    assert front.amount == pytest.approx(1001.0, rel=1e-9)
    assert rear.amount == pytest.approx(1000.0, rel=1e-9)


@st.composite
def index_positions(draw: st.DrawFn) -> list[float]:
    positions = draw(st.lists(st.floats(-720.0, 720.0), min_size=2, max_size=6))
    mean = sum(cmath.exp(1j * math.radians(p)) for p in positions) / len(positions)
    assume(abs(mean) < 0.98)
    return positions


@given(vector, vector, index_positions())
def test_index_parts_are_told_apart(rotor: Vector, tooling: Vector, positions: list[float]) -> None:
    readings = [Vector.of(rotor.as_complex + tooling.as_complex * cmath.exp(1j * math.radians(p))) for p in positions]
    parts = index_parts(readings, index_deg=positions)
    assert abs(parts.rotor.as_complex - rotor.as_complex) < 1e-6
    assert abs(parts.tooling.as_complex - tooling.as_complex) < 1e-6
    assert parts.largest_misfit < 1e-6


@given(st.lists(vector, min_size=3, max_size=6), st.data())
def test_index_parts_are_least_squares(readings: list[Vector], data: st.DataObject) -> None:
    positions = data.draw(st.lists(st.floats(0.0, 360.0), min_size=len(readings), max_size=len(readings)))
    turns = np.exp(1j * np.radians(positions))
    assume(abs(turns.mean()) < 0.98)
    design = np.column_stack((np.ones(len(readings)), turns))
    values = np.array([r.as_complex for r in readings])
    solution = np.linalg.lstsq(design, values, rcond=None)[0]
    parts = index_parts(readings, index_deg=positions)
    assert abs(parts.rotor.as_complex - solution[0]) < 1e-6
    assert abs(parts.tooling.as_complex - solution[1]) < 1e-6
    assert parts.largest_misfit == pytest.approx(np.abs(values - design @ solution).max(), abs=1e-6)


def test_two_readings_leave_no_misfit() -> None:
    assert index_parts([ONE, TWO], index_deg=[0.0, 90.0]).largest_misfit == 0.0


@pytest.mark.parametrize(
    ("readings", "positions", "quantity"),
    [
        ([ONE], [0.0], "readings"),
        ([ONE, TWO], [0.0], "index_deg"),
        ([ONE, TWO], [0.0, 90.0, 180.0], "index_deg"),
        ([ONE, TWO], [0.0, 0.0], "index_deg"),
        ([ONE, TWO], [10.0, 370.0], "index_deg"),
        ([ONE, TWO], [0.0, 11.4], "index_deg"),
        ([ONE, TWO], [0.0, math.nan], "index_deg[1]"),
        ([ONE, Vector(math.inf, 0.0)], [0.0, 180.0], "readings[1].amount"),
        ([ONE, Vector(1.0, math.nan)], [0.0, 180.0], "readings[1].angle_deg"),
        ([Vector(1.2e308, 0.0), Vector(1.2e308, 0.0)], [0.0, 180.0], "amount"),
        ([Vector(1.7e308, 0.0), Vector(1.7e308, 180.0)], [0.0, 12.0], "readings.amount"),
    ],
)
def test_bad_index_readings_are_named(readings: list[Vector], positions: list[float], quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        index_parts(readings, index_deg=positions)
    assert caught.value.quantity == quantity


def test_positions_just_far_enough_apart() -> None:
    assert index_parts([ONE, ONE], index_deg=[0.0, 11.6]).rotor.amount == pytest.approx(1.0)


@given(st.floats(-1e6, 1e6))
def test_angles_stay_in_the_circle(degrees: float) -> None:
    found = turned_into_circle(degrees)
    assert 0.0 <= found < 360.0
    assert abs(cmath.exp(1j * math.radians(found)) - cmath.exp(1j * math.radians(degrees))) < 1e-9


@pytest.mark.parametrize(("degrees", "found"), [(-1e-20, 0.0), (360.0, 0.0), (-0.0, 0.0), (725.0, 5.0)])
def test_ends_of_the_circle(degrees: float, found: float) -> None:
    assert turned_into_circle(degrees) == found
    assert math.copysign(1.0, turned_into_circle(degrees)) == 1.0


@given(vector)
def test_vectors_there_and_back(one: Vector) -> None:
    back = Vector.of(one.as_complex)
    assert back.amount == pytest.approx(one.amount, rel=1e-12)
    assert abs(back.as_complex - one.as_complex) < 1e-12 * one.amount
    assert Vector.of(0j) == Vector(0.0, 0.0)
    assert sum_of([one, one.turned(180.0)]).amount < 1e-12 * one.amount
    assert sum_of([]) == Vector(0.0, 0.0)


@pytest.mark.parametrize("alike", [(0, 2), (0, 1), (1, 2)])
@pytest.mark.parametrize("strength", [1.0, 5000.0])
def test_of_three_planes_the_two_that_look_alike_are_named(alike: tuple[int, int], strength: float) -> None:
    # two planes move the same sensor, the third another one; how strongly a plane acts makes no two alike
    (other,) = {0, 1, 2} - set(alike)
    columns = {alike[0]: (1.0, 0.0, 0.0), alike[1]: (strength, 0.0, strength * 1e-5), other: (0.0, 1.0, 0.0)}
    runs = [trial(plane, tuple(Vector(part, 0.0) for part in columns[plane])) for plane in range(3)]
    with pytest.raises(PlanesAlikeError) as caught:
        influence_answer([Vector(0.0, 0.0)] * 3, runs, trial_weights_left_on=False)
    assert caught.value.planes == alike


def test_planes_of_very_different_strength_are_not_alike() -> None:
    # condition 1 once each column is taken by its own length
    runs = [
        trial(0, (Vector(3.0, 0.0), Vector(3e6, 0.0))),
        trial(1, (Vector(2.0, 0.0), Vector(4e6, 0.0))),
    ]
    answer = influence_answer([Vector(2.0, 0.0), Vector(3e6, 0.0)], runs, trial_weights_left_on=False)
    assert answer.condition == pytest.approx(1.0)
