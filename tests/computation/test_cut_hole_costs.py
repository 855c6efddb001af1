"""What a choice of holes costs, and the room that is left for what comes later: hand arithmetic."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_hole_costs import MISS_WEIGHT, cost_of, lack_of_room, out_of_line
from bench.computation.cut_scatter import CutScatter
from bench.computation.cut_sites import LEAST_CUT_G, HoleSite, PlaneTask
from bench.computation.stations import Drill, Station
from tests.computation.hole_sites import DISC, at, site, task

# ---- room for what comes later


@pytest.mark.parametrize(
    ("there", "sites", "grams", "lack"),
    [
        # 20 g will have to go at 30 degrees
        ([], [], [], 20.0),
        ([site(30.0)], [], [], 12.0),
        # of 8 g at 60 degrees to it half count, at right angles or behind nothing
        ([site(90.0)], [], [], 16.0),
        ([site(-30.0)], [], [], 16.0),
        ([site(120.0), site(250.0)], [], [], 20.0),
        ([site(30.0), site(90.0)], [], [], 8.0),
        # what is taken now is no room later, at its share
        ([site(30.0)], [site(30.0)], [3.0], 15.0),
        ([site(30.0)], [site(90.0)], [3.0], 13.5),
        ([site(30.0)], [site(250.0)], [3.0], 12.0),
        # a new hole brings its room with it; a deepened one is there already
        ([], [site(30.0, deepens=False)], [3.0], 15.0),
        ([], [site(30.0, deepens=False), site(90.0, deepens=False)], [3.0, 4.0], 13.0),
        ([site(30.0, 50.0)], [], [], 0.0),
        # 1 g there does two
        ([site(30.0, per=2.0)], [], [], 4.0),
    ],
)
def test_room_that_is_missing(there: list[HoleSite], sites: list[HoleSite], grams: list[float], lack: float) -> None:
    model = AnswerModel.start([DISC])
    assert lack_of_room(model, there, sites, grams, task(later=at(20.0, 30.0)), 0) == pytest.approx(lack)


def test_nothing_later_needs_no_room() -> None:
    assert lack_of_room(AnswerModel.start([DISC]), [], [], [], task(), 0) == 0.0


def test_holes_that_may_still_be_drilled_are_room() -> None:
    later = task(later=at(100.0, 30.0))

    def lack(
        slots: int, *, of: Station = DISC, sites: tuple[HoleSite, ...] = (), grams: tuple[float, ...] = ()
    ) -> float:
        return lack_of_room(AnswerModel.start([of]), [], sites, grams, later, slots)

    # each further hole gives one more time the most of a hole, less what it faces away
    one = 100.0 - lack(1)
    assert 0.5 * 20.0 < one <= 20.0
    assert 100.0 - lack(3) == pytest.approx(3.0 * one)
    # a new hole of the choice is one of them, a deepened one and one too small to drill are not
    new = site(120.0, deepens=False)
    assert 100.0 - lack(3, sites=(new,), grams=(5.0,)) == pytest.approx(2.0 * one)
    assert 100.0 - lack(3, sites=(new,), grams=(LEAST_CUT_G,)) == pytest.approx(2.0 * one)
    assert 100.0 - lack(3, sites=(new,), grams=(LEAST_CUT_G / 2.0,)) == pytest.approx(3.0 * one)
    assert 100.0 - lack(3, sites=(site(120.0),), grams=(5.0,)) == pytest.approx(3.0 * one)
    # more holes than allowed do not take room away
    assert lack(0, sites=(new,), grams=(5.0,)) == pytest.approx(100.0)
    # the widest drill, at what a gram does there
    drilled = replace(DISC, drills=(Drill(8.0, 4.0), Drill(12.0, 10.0)))
    assert 100.0 - lack(1, of=drilled) == pytest.approx(one * 10.0 / 20.0)
    assert 100.0 - lack(1, of=replace(DISC, effect=(2j,))) == pytest.approx(2.0 * one)
    assert lack(1, of=replace(DISC, most_g_per_hole=math.inf)) == 0.0


def test_the_station_with_the_most_room_counts_and_only_of_its_own_plane() -> None:
    stations = [
        Station("a", 0, (1 + 0j, 0j), most_g_per_hole=20.0),
        Station("b", 0, (0.5 + 0j, 0j), most_g_per_hole=50.0),
        Station("c", 1, (0j, 1 + 0j), most_g_per_hole=90.0),
    ]
    later = task(later=at(100.0, 30.0))
    one = 100.0 - lack_of_room(AnswerModel.start([DISC]), [], [], [], later, 1)
    found = 100.0 - lack_of_room(AnswerModel.start(stations), [], [], [], later, 1)
    assert found == pytest.approx(one * 25.0 / 20.0)
    # measured in grams of the plane's usual cut, of which each takes off half a gram
    half = 100.0 - lack_of_room(AnswerModel.start(stations), [], [], [], replace(later, effect=0.5j), 1)
    assert half == pytest.approx(one * 50.0 / 20.0)


# ---- what may come from where no hole is


def lost(
    likely: tuple[complex, ...],
    there: tuple[HoleSite, ...] = (),
    sites: tuple[HoleSite, ...] = (),
    grams: tuple[float, ...] = (),
    *,
    slots: int = 0,
    take: complex = 5 + 0j,
    later: complex = 10 + 0j,
) -> float:
    """The loss for one certain case of 1 g is 1 at most, whatever a loss weighs."""
    found = out_of_line(there, sites, grams, task(take, later, likely), slots)
    assert found >= 0.0
    return found / out_of_line((), (), (), task(5 + 0j, 10 + 0j, (1j,)), 0)


def test_what_comes_between_holes_is_not_lost() -> None:
    there = (site(-20.0), site(30.0))
    for angle in (-20.0, 0.0, 30.0):
        assert lost((at(4.0, angle),), there) == pytest.approx(0.0, abs=1e-9)
    # 30 degrees beyond the outer hole on either side half of it, from a right angle on all of it
    assert lost((at(4.0, 60.0),), there) == pytest.approx(4.0)
    assert lost((at(4.0, -50.0),), there) == pytest.approx(4.0)
    assert lost((at(4.0, 110.0),), there) == pytest.approx(16.0 * math.sin(math.radians(80.0)) ** 2)
    assert lost((at(4.0, 125.0),), there) == pytest.approx(16.0)
    assert lost((at(4.0, -150.0),), there) == pytest.approx(16.0)
    # squares, in the mean of all cases; nothing to go loses nothing
    assert lost((at(4.0, 60.0), at(4.0, 0.0), 0j, at(2.0, 150.0)), there) == pytest.approx((4.0 + 4.0) / 4.0)
    # without a hole all is lost
    assert lost((at(3.0, 0.0), at(1.0, 90.0))) == pytest.approx(5.0)
    assert lost((), there) == 0.0


def test_a_hole_counts_while_it_has_more_than_a_gram_of_room() -> None:
    case = (at(4.0, 60.0),)
    assert lost(case, (site(60.0, 1.01),)) == pytest.approx(0.0, abs=1e-9)
    assert lost(case, (site(60.0, 1.0),)) == pytest.approx(16.0)
    deep = site(60.0, 8.0)
    assert lost(case, (deep,), (deep,), (6.9,)) == pytest.approx(0.0, abs=1e-9)
    assert lost(case, (deep,), (deep,), (7.1,)) == pytest.approx(16.0)
    # new holes of the choice are there then
    new = site(60.0, 8.0, deepens=False)
    assert lost(case, (), (new,), (2.0,), slots=1) == pytest.approx(0.0, abs=1e-9)
    assert lost(case, (), (new,), (7.5,), slots=1) == pytest.approx(16.0)
    # a deepened one is counted among those that are there, not twice
    assert lost(case, (), (deep,), (2.0,)) == pytest.approx(16.0)


def test_directions_are_told_from_the_middle_of_what_comes_later() -> None:
    # holes at 170 and 190 degrees; what comes at 200 lies 10 degrees beyond, not 340 before
    there = (site(170.0), site(190.0))
    beyond = 16.0 * math.sin(math.radians(10.0)) ** 2
    assert lost((at(4.0, 200.0),), there, later=at(10.0, 180.0)) == pytest.approx(beyond)
    # and so on wherever the middle lies
    side = (site(40.0), site(60.0))
    assert lost((at(4.0, 70.0), at(4.0, 45.0)), side, later=at(10.0, 50.0)) == pytest.approx(beyond / 2.0)
    # without it, from what goes now
    assert lost((at(4.0, 200.0),), there, later=0j, take=at(5.0, 180.0)) == pytest.approx(beyond)


def test_each_hole_that_may_still_be_drilled_lessens_the_loss() -> None:
    case = (at(4.0, 60.0),)
    by_slots = [lost(case, slots=slots) for slots in range(7)]
    assert by_slots[0] == pytest.approx(16.0)
    assert all(a > b for a, b in zip(by_slots, by_slots[1:3], strict=False))
    assert by_slots[2:] == [0.0] * 5
    # a new hole of the choice is one of them, unless it is too small to drill
    aside = site(-170.0, 1.0, deepens=False)
    assert lost(case, (), (aside,), (LEAST_CUT_G,), slots=2) == pytest.approx(by_slots[1])
    assert lost(case, (), (aside,), (LEAST_CUT_G / 2.0,), slots=2) == pytest.approx(by_slots[2])
    assert lost(case, (), (replace(aside, deepens=True),), (0.5,), slots=2) == pytest.approx(by_slots[2])


# ---- the cost of a choice

EXACT = CutScatter(share=0.0, grams=0.0, angle_deg=0.0)


def test_a_miss_costs_its_square() -> None:
    wanted = task(take=at(10.0, 30.0))
    assert cost_of([], [], wanted, EXACT, 0.0) == pytest.approx((10.0, MISS_WEIGHT * 100.0))
    miss, cost = cost_of([site(30.0)], [4.0], wanted, EXACT, 0.0)
    assert (miss, cost) == pytest.approx((6.0, MISS_WEIGHT * 36.0))
    # 8 g at 90 degrees beside 10 g at 30: the cosine rule
    miss, _ = cost_of([site(90.0)], [8.0], wanted, EXACT, 0.0)
    assert miss**2 == pytest.approx(100.0 + 64.0 - 2.0 * 80.0 * 0.5)
    both, _ = cost_of([site(30.0), site(30.0, per=0.5)], [4.0, 4.0], wanted, EXACT, 0.0)
    assert both == pytest.approx(4.0)


def test_scatter_and_doubt_cost_their_variance() -> None:
    wanted = task(take=10 + 0j)
    # two cuts of 5 g: 3 % and 0.4 g along, 0.1 rad across, each
    scatter = CutScatter(share=0.06, grams=0.4, angle_deg=math.degrees(0.1))

    def scattered(*, deepens: bool) -> float:
        pair = [site(0.0, deepens=deepens)] * 2
        holes = cost_of(pair, [5.0, 5.0], wanted, EXACT, 1.0)[1]
        return cost_of(pair, [5.0, 5.0], wanted, scatter, 1.0)[1] - holes

    assert scattered(deepens=False) == pytest.approx(2.0 * (0.09 + 0.16 + 0.25))
    # the drill follows a hole that is there
    assert scattered(deepens=True) == pytest.approx(2.0 * (0.09 + 0.16))
    # one station's doubt works on both cuts alike, (5 x 0.2 + 5 x 0.2)^2; those of two stations that have nothing in
    # common add as squares
    unsure = [site(0.0, doubt=0.04), site(0.0, doubt=0.04)]
    assert cost_of(unsure, [5.0, 5.0], wanted, EXACT, 0.0)[1] == pytest.approx(4.0)
    apart = [unsure[0], site(0.0, doubt=0.04, name="other")]
    assert cost_of(apart, [5.0, 5.0], wanted, EXACT, 0.0)[1] == pytest.approx(2.0)


def test_stations_that_are_unsure_together_make_a_cut_no_surer() -> None:
    # standard deviations of 0.2 and 0.3 and a correlation of 0.5: 1 + 2.25 + 2 x 0.5 x 1 x 1.5, and with a right angle
    # between the holes nothing of the last
    pair = [site(0.0, doubt=0.04, with_others=0.03), site(0.0, doubt=0.09, with_others=0.03, name="other")]
    assert cost_of(pair, [5.0, 5.0], task(take=10 + 0j), EXACT, 0.0)[1] == pytest.approx(4.75)
    square = [pair[0], site(90.0, doubt=0.09, with_others=0.03, name="other")]
    assert cost_of(square, [5.0, 5.0], task(take=5 + 5j), EXACT, 0.0)[1] == pytest.approx(3.25)
    # known together to the letter, they are one station
    alike = [site(0.0, doubt=0.04, with_others=0.04), site(0.0, doubt=0.04, with_others=0.04, name="other")]
    assert cost_of(alike, [5.0, 5.0], task(take=10 + 0j), EXACT, 0.0)[1] == pytest.approx(4.0)


def test_holes_cost_more_when_new_and_by_the_tolerance() -> None:
    wanted, last = task(take=10 + 0j, later=10 + 0j), task(take=10 + 0j)

    def holes_cost(new: int, deepened: int, tolerance: float, of: PlaneTask = wanted) -> float:
        sites = [site(0.0, deepens=False)] * new + [site(0.0)] * deepened
        grams = [10.0 / len(sites)] * len(sites)
        return cost_of(sites, grams, of, EXACT, tolerance)[1]

    assert 0.0 < holes_cost(0, 1, 1.0) < holes_cost(1, 0, 1.0)
    # a further new one costs less than the first, and each as much as the other
    further = holes_cost(2, 0, 1.0) - holes_cost(1, 0, 1.0)
    assert holes_cost(0, 1, 1.0) < further < holes_cost(1, 0, 1.0)
    assert holes_cost(3, 0, 1.0) == pytest.approx(holes_cost(1, 0, 1.0) + 2.0 * further)
    assert holes_cost(1, 2, 1.0) == pytest.approx(holes_cost(1, 0, 1.0) + 2.0 * holes_cost(0, 1, 1.0))
    assert holes_cost(1, 1, 3.0) == pytest.approx(9.0 * holes_cost(1, 1, 1.0))
    # with no more to come than may stay nothing has to be kept for it
    assert holes_cost(0, 1, 1.0, last) <= holes_cost(1, 0, 1.0, last) < holes_cost(1, 0, 1.0)
    assert holes_cost(1, 0, 9.9) == pytest.approx(9.9**2 * holes_cost(1, 0, 1.0))
    assert holes_cost(1, 0, 10.0) == pytest.approx(100.0 * holes_cost(1, 0, 1.0, last))
    # what is too small to be drilled is no hole and takes nothing
    assert cost_of([site(0.0)], [LEAST_CUT_G / 2.0], wanted, EXACT, 1.0) == cost_of([], [], wanted, EXACT, 1.0)
    miss, _ = cost_of([site(0.0), site(0.0)], [LEAST_CUT_G / 2.0, 4.0], wanted, EXACT, 1.0)
    assert miss == pytest.approx(6.0)
    assert cost_of([site(0.0)], [LEAST_CUT_G], wanted, EXACT, 1.0)[0] == pytest.approx(10.0 - LEAST_CUT_G)
