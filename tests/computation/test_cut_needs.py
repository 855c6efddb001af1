"""How unsure a need is, and the chance that it lies where no cut reaches: by hand, and against draws of whole rotors."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_aim import aim_for
from bench.computation.cut_chances import chance_outside, chance_too_far
from bench.computation.cut_needs import complex_turns, room_through_others, spread_of_needs
from bench.computation.cut_reach import Reach
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_trust import Trust
from bench.computation.stations import Station, stations_anywhere

ONLY_CROSS = Trust(own=0.0, turned_deg=0.0, cross=0.1, cross_turned=0.0, shared=0.0, doubt=1.0)
TURN = complex_turns(np.eye(2, dtype=np.complex128))
EACH_ITS_OWN = np.eye(2, dtype=np.complex128)


def model_of(trust: Trust, left: tuple[complex, complex], **more: object) -> AnswerModel:
    start = AnswerModel.start(stations_anywhere(["front", "rear"]), trust=trust, noise_g=0.001, **more)  # type: ignore[arg-type]
    return start.first_reading(left)


def spread(model: AnswerModel, taken: tuple[float, float], needs: tuple[complex, complex]) -> tuple[np.ndarray, ...]:
    return spread_of_needs(
        model,
        taken=np.array(taken, dtype=np.complex128),
        mix=EACH_ITS_OWN,
        needs=needs,
        strayed=np.zeros((4, 4)),
        turn=TURN,
    )


def test_what_is_to_go_elsewhere_makes_a_plane_unsure() -> None:
    # a gram at the front moves the rear by 0 give or take 0.1 g: 50 g to go there leave the rear unsure by 5 g,
    # and the front by a tenth of the 8 g to go at the rear; whether it goes now or later is one
    model = model_of(ONLY_CROSS, (50 + 0j, 8 + 0j))
    for taken, needs in (((0.0, 0.0), (50 + 0j, 8 + 0j)), ((30.0, 8.0), (20 + 0j, 0j)), ((50.0, 8.0), (0j, 0j))):
        front, rear = spread(model, taken, needs)
        assert math.sqrt(front[0, 0]) == pytest.approx(0.8, rel=1e-4)
        assert math.sqrt(rear[0, 0]) == pytest.approx(5.0, rel=1e-4)
        assert math.sqrt(rear[1, 1]) == pytest.approx(0.001, rel=1e-4)


def test_an_own_effect_counts_with_what_is_taken_and_its_direction_with_all() -> None:
    # own effect 20 % unsure: 30 g taken leave 6 g, what is still to go leaves nothing on the wrong side;
    # its direction, 0.02 rad unsure, counts with the 50 g that go in all
    trust = Trust(own=0.2, turned_deg=math.degrees(0.02), cross=0.0, cross_turned=0.0, shared=0.0, doubt=1.0)
    front, rear = spread(model_of(trust, (50 + 0j, 0j)), (30.0, 0.0), (20 + 0j, 0j))
    assert math.sqrt(front[0, 0]) == pytest.approx(6.0, rel=1e-4)
    assert math.sqrt(front[1, 1]) == pytest.approx(1.0, rel=1e-4)
    assert rear == pytest.approx(np.eye(2) * 1e-6)


def test_an_untested_prior_is_doubted() -> None:
    doubted = replace(ONLY_CROSS, doubt=1.3)
    _, rear = spread(model_of(doubted, (50 + 0j, 8 + 0j)), (0.0, 0.0), (50 + 0j, 8 + 0j))
    assert math.sqrt(rear[0, 0]) == pytest.approx(6.5, rel=1e-4)
    tested = replace(model_of(doubted, (50 + 0j, 8 + 0j)), tested=True)
    _, rear = spread(tested, (0.0, 0.0), (50 + 0j, 8 + 0j))
    assert math.sqrt(rear[0, 0]) == pytest.approx(5.0, rel=1e-4)


@pytest.mark.parametrize("room", [0.3, 1.0, 2.5])
def test_outside_one_two_and_square_edges_against_the_normal_distribution(room: float) -> None:
    covariance = np.array([[4.0, 0.0], [0.0, 1.0]])
    tail = float(stats.norm.sf(room / 2.0))
    assert chance_outside([1 + 0j], [room], covariance) == pytest.approx(tail, rel=0.02)
    assert chance_outside([1 + 0j, -1 + 0j], [room, room], covariance) == pytest.approx(2 * tail, rel=0.02)
    square = 1.0 - (1.0 - tail) * (1.0 - float(stats.norm.sf(room)))
    assert chance_outside([1 + 0j, 1j], [room, room], covariance) == pytest.approx(square, rel=0.02)


def test_outside_of_what_is_known_or_gone() -> None:
    edges = [1 + 0j, 1j]
    assert chance_outside(edges, [0.1, 0.1], np.zeros((2, 2))) == 0.0
    assert chance_outside(edges, [0.1, -0.1], np.zeros((2, 2))) == 1.0
    assert chance_outside([], [], np.eye(2)) == 0.0
    # beyond one edge already: no less than its tail, no more than 1
    beyond = chance_outside(edges, [-1.0, 3.0], np.eye(2))
    assert float(stats.norm.sf(-1.0)) <= beyond <= float(stats.norm.sf(-1.0) + stats.norm.sf(3.0)) + 1e-12
    assert chance_outside(edges, [-9.0, -9.0], np.eye(2)) == 1.0


def test_outside_of_a_reach_against_draws() -> None:
    normals = Reach(0.0, 60.0).inward
    covariance = np.array([[0.04, 0.01], [0.01, 0.02]])
    drawn = np.random.default_rng(5).multivariate_normal([0.0, 0.0], covariance, 400_000)
    at = drawn[:, 0] + 1j * drawn[:, 1]
    for room in (0.1, 0.3):
        beyond = np.any([(n.conjugate() * at).real < -room for n in normals], axis=0)
        assert chance_outside(normals, [room] * 3, covariance) == pytest.approx(float(beyond.mean()), rel=0.03)


def test_too_far_against_draws_of_whole_rotors() -> None:
    # effects drawn from the prior, a cut that strays, and what the rotor then needs by solving for it: the share of
    # rotors whose need is outside a reach is what the plan says
    trust = Trust(own=0.15, turned_deg=2.0, cross=0.12, cross_turned=0.02, shared=0.0, doubt=1.0)
    reaches = [Reach(0.0, 60.0), Reach(0.0, 60.0)]
    scatter = CutScatter()
    model = AnswerModel.start(
        [Station("front", 0, (0.9 + 0j, 0.1 + 0j)), Station("rear", 1, (0.1 + 0j, 0.9 + 0j))],
        trust=trust,
        scatter=scatter,
    ).first_reading((60 + 10j, 20 - 4j))
    cuts = (Cut("front", 10.0, 42.0), Cut("rear", -10.0, 6.0))
    found = chance_too_far(model, cuts, mix=np.eye(2, dtype=np.complex128), reaches=reaches, tolerance_g=[0.5, 0.5])
    rng = np.random.default_rng(11)
    gone = 0
    draws = 20_000
    for _ in range(draws):
        n = rng.standard_normal(12)
        relative = [[1 + 0.15 * n[0] + 1j * math.radians(2.0) * n[1], 0.12 * n[2] + 0.02j * n[3]]]
        relative += [[0.12 * n[4] + 0.02j * n[5], 1 + 0.15 * n[6] + 1j * math.radians(2.0) * n[7]]]
        effects = 0.9 * np.array(relative) + np.array([[0.0, 0.1], [0.1, 0.0]])
        taken = []
        for cut, k in zip(cuts, (8, 10), strict=True):
            grams = cut.grams + math.hypot(0.03 * cut.grams, 0.15) * n[k]
            taken.append(cmath.rect(grams, math.radians(cut.angle_deg + 1.5 * n[k + 1])))
        left = np.array([60 + 10j, 20 - 4j]) + 0.1 * (rng.standard_normal(2) + 1j * rng.standard_normal(2))
        needs = np.linalg.solve(effects, left - effects @ np.array(taken))
        gone += any(
            (normal.conjugate() * complex(need)).real < -0.5 / 0.9
            for need, reach in zip(needs, reaches, strict=True)
            for normal in reach.inward
        )
    # planes are summed as if they were apart, errors taken to first order: within a quarter, on the safe side
    assert 0.95 * gone / draws <= found <= 1.3 * gone / draws
    assert gone > 500


def test_a_cut_waits_where_the_other_plane_decides() -> None:
    # the rear needs 6 g by its reading, but 100 g have still to go at the front, and what they do to the rear is unsure
    # by 10 g: no cut at the rear yet; with 5 g to go at the front it is taken
    def rear(front_g: float) -> float:
        model = AnswerModel.start(stations_anywhere(["front", "rear"]), trust=ONLY_CROSS).first_reading(
            (front_g + 0j, 6 + 0j)
        )
        aim = aim_for(
            model,
            mix=EACH_ITS_OWN,
            holes=[1, 1],
            reaches=[Reach(0.0, 60.0)] * 2,
            tolerance_g=[0.5, 0.5],
            deviations=3.0,
            shares=[1.0, 1.0],
        )
        return abs(complex(aim.take[1]))

    assert rear(100.0) < 1.5
    assert rear(5.0) > 3.5


FAR_EFFECTS = np.array([[1.0, 0.2], [0.2, 1.0]], dtype=np.complex128)


@pytest.mark.parametrize(
    ("rear_deg", "rear_need", "room"),
    [
        # opposed counterweights: half a gram too much at the rear puts a tenth back at the front, whatever is needed
        (180.0, 0j, 0.1),
        (180.0, -5 + 0j, 0.1),
        # the same way: only what the rear is spared helps the front, so nothing, a fifth of 0.2 g, a fifth of 0.5 g
        (0.0, 0j, 0.0),
        (0.0, 0.2 + 0j, 0.04),
        (0.0, 5 + 0j, 0.1),
    ],
)
def test_what_may_stay_elsewhere_is_room_here(rear_deg: float, rear_need: complex, room: float) -> None:
    reaches = [Reach(0.0, 60.0), Reach(rear_deg, 60.0)]
    inward = room_through_others(FAR_EFFECTS, [0j, rear_need], reaches, [0.5, 0.5])[0]
    assert inward[1] == pytest.approx(room, abs=1e-9)


def test_a_rear_a_quarter_turn_aside_gives_room_towards_one_edge() -> None:
    # the rear reaches from 30 to 150 degrees: half a gram more at 120 degrees puts a tenth back along -60 degrees,
    # the edge's inward normal; along the other normal, +60 degrees, more metal would have to be added
    inward = room_through_others(FAR_EFFECTS, [0j, 0j], [Reach(0.0, 30.0), Reach(90.0, 60.0)], [0.5, 0.5])[0]
    assert inward[0] == pytest.approx(0.1, abs=1e-3)
    assert inward[2] == pytest.approx(0.0, abs=1e-9)


def test_planes_without_a_far_effect_give_no_room() -> None:
    reaches = [Reach(0.0, 60.0), Reach(180.0, 60.0)]
    assert room_through_others(EACH_ITS_OWN, [3 + 0j, -3 + 0j], reaches, [0.5, 0.5]) == ((0.0,) * 3, (0.0,) * 3)


@pytest.mark.parametrize(("rear_deg", "beyond_g", "chance"), [(180.0, 0.55, 0.0), (180.0, 0.65, 1.0), (0.0, 0.55, 1.0)])
def test_a_plane_that_is_beyond_can_be_brought_back_by_an_opposed_one(
    rear_deg: float, beyond_g: float, chance: float
) -> None:
    # the front is beyond 0.5 g on the side where no metal is; half a gram more at an opposed rear, which may then have
    # half a gram itself, puts a tenth back: enough from 0.55 g, not from 0.65, and never with the rear on the same side
    sure = Trust(own=1e-6, turned_deg=1e-4, cross=1e-6, cross_turned=1e-6, shared=0.0, doubt=1.0)
    stations = [Station("front", 0, (1.0 + 0j, 0.2 + 0j)), Station("rear", 1, (0.2 + 0j, 1.0 + 0j))]
    left = (-beyond_g + 0j, -0.2 * beyond_g + 0j)
    model = AnswerModel.start(stations, trust=sure, noise_g=0.001).first_reading(left)
    reaches = [Reach(0.0, 60.0), Reach(rear_deg, 60.0)]
    found = chance_too_far(model, (), mix=EACH_ITS_OWN, reaches=reaches, tolerance_g=[0.5, 0.5])
    assert found == pytest.approx(chance, abs=1e-6)
