"""The parts of the matching by themselves: windows, covers and swaps, each against trying everything."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.computation import match_exact, match_search, match_sets
from bench.computation.match import MatchKind, best_match
from bench.computation.match_cover import best_cover
from bench.computation.match_exact import exact_match
from bench.computation.match_problem import MatchProblem, Placing
from bench.computation.match_search import Column, WindowSearch
from bench.computation.match_sets import PartSets, free_kinds
from bench.computation.match_swaps import best_by_swaps


def problem_of(
    seed: int, *, cylinders: int, kinds: int, decimals: int = 6, throws: tuple[tuple[int, ...], ...] = ()
) -> MatchProblem:
    chance = random.Random(seed)

    def weights() -> tuple[float, ...]:
        return tuple(round(chance.uniform(100, 103), decimals) for _ in range(cylinders))

    return MatchProblem(
        base_g=weights(),
        loose=tuple(f"kind {k}" for k in range(kinds)),
        grams=tuple(weights() for _ in range(kinds)),
        throws=throws,
    )


def every_placing(problem: MatchProblem) -> list[Placing]:
    cylinders = range(len(problem.base_g))
    return list(itertools.product(itertools.permutations(cylinders), repeat=len(problem.grams)))


def worth_by_hand(problem: MatchProblem, placing: Placing) -> float:
    sums = [
        base + sum(grams[parts[c]] for grams, parts in zip(problem.grams, placing, strict=True))
        for c, base in enumerate(problem.base_g)
    ]
    worth = max(sums) - min(sums)
    if problem.throws:
        totals = [sum(sums[c] for c in throw) for throw in problem.throws]
        worth += max(totals) - min(totals)
    return worth


def test_problem_in_numbers() -> None:
    problem = MatchProblem((1.0, 2.0, 3.0), ("pin",), ((10.0, 20.0, 40.0),), ((0, 2), (1,)))
    assert problem.as_given() == ((0, 1, 2),)
    assert problem.cylinder_sums(((2, 0, 1),)) == [41.0, 12.0, 23.0]
    assert problem.throw_sums([41.0, 12.0, 23.0]) == [64.0, 12.0]
    assert problem.worth([41.0, 12.0, 23.0]) == 29.0 + 52.0
    assert problem.objective(((2, 0, 1),)) == 81.0


def test_sets_of_a_problem() -> None:
    problem = MatchProblem((1.0, 3.0), ("a", "b"), ((10.0, 14.0), (100.0, 101.0)), ())
    sets = PartSets.of(problem, start=problem.as_given(), free=(0, 1))
    assert sets.shape == (2, 2, 2)
    # cylinder slowest: sum less the mean 2 + 12 + 100.5
    expected = [base + a + b - 114.5 for base in (1.0, 3.0) for a in (10.0, 14.0) for b in (100.0, 101.0)]
    assert sets.deviation_g.tolist() == pytest.approx(expected)
    assert sets.deviation_g[sets.order].tolist() == sorted(sets.deviation_g.tolist())
    assert sets.width_of(1) == 0.5
    assert sets.width_of(4) == 1.5
    assert sets.width_of(99) == 3.5
    chosen = sets.between(-0.5, 0.5)
    assert sorted(sets.deviation_g[chosen].tolist()) == [-0.5, 0.5]
    assert sets.values_below_mean(1.5) == [-1.5, -0.5]
    cylinders, a, b = (member.tolist() for member in sets.members(chosen.tolist()))
    for where, first, second, deviation in zip(cylinders, a, b, sets.deviation_g[chosen].tolist(), strict=True):
        found = problem.base_g[where] + problem.grams[0][first] + problem.grams[1][second]
        assert found - 114.5 == pytest.approx(deviation)
    # set 3: cylinder 0 with parts 1 and 1; set 4: cylinder 1 with parts 0 and 0
    assert sets.placing(problem.as_given(), free=(0, 1), rows=[3, 4]) == ((1, 0), (1, 0))
    only_first = PartSets.of(problem, start=((0, 1), (1, 0)), free=(0,))
    assert only_first.deviation_g.tolist() == pytest.approx([-2.5, 1.5, -1.5, 2.5])
    assert only_first.placing(((0, 1), (1, 0)), free=(0,), rows=[1, 2]) == ((1, 0), (1, 0))


def test_sums_that_are_one_are_asked_once() -> None:
    problem = MatchProblem((1.0, 1.0, 1.0), ("a",), ((1.0, 1.0 + 1e-12, 4.0),), ())
    sets = PartSets.of(problem, start=problem.as_given(), free=(0,))
    assert len(sets.values_below_mean(5.0)) == 1


@pytest.mark.parametrize(
    ("cylinders", "kinds", "free"), [(8, 4, 4), (16, 4, 4), (16, 5, 4), (64, 4, 2), (2, 32, 20), (64, 1, 1)]
)
def test_kinds_that_can_all_be_looked_at(cylinders: int, kinds: int, free: int) -> None:
    problem = MatchProblem((0.0,) * cylinders, ("k",) * kinds, ((1.0,) * cylinders,) * kinds, ())
    assert free_kinds(problem) == tuple(range(free))


THROWS = [(), ((0, 1), (2, 3)), ((0, 3), (1,), (2,))]


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(THROWS), st.sampled_from([1, 6]))
def test_cover_and_search_against_trying_every_window(
    seed: int, throws: tuple[tuple[int, ...], ...], decimals: int
) -> None:
    problem = problem_of(seed, cylinders=4, kinds=2, decimals=decimals, throws=throws)
    sets = PartSets.of(problem, start=problem.as_given(), free=(0, 1))
    mean = math.fsum(problem.cylinder_sums(problem.as_given())) / 4
    width = 1.0
    for value in sets.values_below_mean(width)[:4]:
        low, high = mean + value - 1e-7, mean + value + width + 1e-7
        fitting = [
            worth_by_hand(problem, placing)
            for placing in every_placing(problem)
            if all(low <= total <= high for total in problem.cylinder_sums(placing))
            and abs(min(problem.cylinder_sums(placing)) - mean - value) < 1e-6
        ]
        chosen = sets.between(value, value + width)
        cover = best_cover(sets, chosen, throws=throws, smallest_g=value, seconds=20.0)
        assert cover.finished
        if fitting:
            assert cover.rows is not None
            placing = sets.placing(problem.as_given(), free=(0, 1), rows=cover.rows.tolist())
            assert worth_by_hand(problem, placing) == pytest.approx(min(fitting), abs=1e-6)
        else:
            assert cover.rows is None
        columns = [
            Column.of(int(number), float(sets.deviation_g[number]), members, size=4)
            for number, *members in zip(
                chosen.tolist(), *(m.tolist() for m in sets.members(chosen.tolist())), strict=True
            )
        ]

        def worth_of(choice: list[Column], problem: MatchProblem = problem, mean: float = mean) -> float:
            sums = [0.0] * 4
            for column in choice:
                sums[column.items[0]] = mean + column.deviation_g
            return problem.worth(sums)

        search = WindowSearch(items=12, worth_of=worth_of, worth=math.inf)
        assert search.run(columns, smallest_g=value)
        if fitting:
            assert search.worth == pytest.approx(min(fitting), abs=1e-6)
            assert sorted(column.items[0] for column in search.best) == [0, 1, 2, 3]
        else:
            assert search.best == ()


def test_columns() -> None:
    column = Column.of(7, 0.25, [2, 0, 1], size=3)
    assert column == Column(number=7, deviation_g=0.25, items=(2, 3, 7), mask=0b1000_1100)


def test_a_search_stops_after_its_nodes(monkeypatch: pytest.MonkeyPatch) -> None:
    columns = [Column.of(k, 0.0, [k % 3, k // 3], size=3) for k in range(9)]
    search = WindowSearch(items=6, worth_of=lambda _choice: 0.0, worth=1.0)
    assert search.run(columns, smallest_g=0.0)
    assert search.worth == 0.0
    assert search.nodes > 0
    monkeypatch.setattr(match_search, "MOST_NODES", 0)
    stopped = WindowSearch(items=6, worth_of=lambda _choice: 0.0, worth=1.0)
    assert not stopped.run(columns, smallest_g=0.0)
    assert stopped.best == ()
    # nothing worth more than what is wanted is kept
    monkeypatch.setattr(match_search, "MOST_NODES", 100)
    dear = WindowSearch(items=6, worth_of=lambda _choice: 1.0, worth=1.0)
    assert dear.run(columns, smallest_g=0.0)
    assert dear.best == ()


@pytest.mark.parametrize(
    ("seed", "throws", "decimals"),
    [
        # throws of unlike size make many windows
        pytest.param(seed, throws, decimals, marks=pytest.mark.long if len(throws) > 2 else ())
        for seed, throws, decimals in itertools.product(range(4), THROWS, [1, 6])
    ],
)
def test_the_solver_alone_finds_the_best(seed: int, throws: tuple[tuple[int, ...], ...], decimals: int) -> None:
    problem = problem_of(seed, cylinders=4, kinds=2, decimals=decimals, throws=throws)
    best = min(worth_by_hand(problem, placing) for placing in every_placing(problem))
    nodes = match_search.MOST_NODES
    match_search.MOST_NODES = 0
    try:
        found = exact_match(problem, start=problem.as_given(), bound_g=0.0, seconds_left=lambda: 20.0)
    finally:
        match_search.MOST_NODES = nodes
    assert worth_by_hand(problem, found.placing) == pytest.approx(best, abs=3e-7)
    assert found.bound_g == pytest.approx(best, abs=3e-7)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(THROWS))
def test_the_search_alone_finds_the_best(seed: int, throws: tuple[tuple[int, ...], ...]) -> None:
    problem = problem_of(seed, cylinders=4, kinds=2, throws=throws)
    best = min(worth_by_hand(problem, placing) for placing in every_placing(problem))
    found = exact_match(problem, start=problem.as_given(), bound_g=0.0, seconds_left=lambda: 20.0)
    assert worth_by_hand(problem, found.placing) == pytest.approx(best, abs=3e-7)
    assert found.bound_g == pytest.approx(best, abs=3e-7)


def test_a_known_bound_ends_the_search() -> None:
    problem = problem_of(3, cylinders=4, kinds=2)
    best = min(worth_by_hand(problem, placing) for placing in every_placing(problem))
    start = problem.as_given()
    given_worth = worth_by_hand(problem, start)
    found = exact_match(problem, start=start, bound_g=given_worth, seconds_left=lambda: 20.0)
    assert found.placing == start
    assert found.bound_g == pytest.approx(given_worth)
    reached = exact_match(problem, start=start, bound_g=best, seconds_left=lambda: 20.0)
    assert worth_by_hand(problem, reached.placing) == pytest.approx(best, abs=3e-7)


def test_windows_too_wide_are_left(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = problem_of(5, cylinders=4, kinds=2)
    monkeypatch.setattr(match_search, "MOST_NODES", 0)
    monkeypatch.setattr(match_exact, "MOST_COLUMNS", 0)
    found = exact_match(problem, start=problem.as_given(), bound_g=0.0, seconds_left=lambda: 20.0)
    assert found.placing == problem.as_given()
    assert found.bound_g == 0.0


def test_no_time_is_no_search() -> None:
    problem = problem_of(5, cylinders=4, kinds=2)
    found = exact_match(problem, start=problem.as_given(), bound_g=0.0, seconds_left=lambda: 0.0)
    assert (found.placing, found.bound_g) == (problem.as_given(), 0.0)


def test_with_some_kinds_kept_the_best_of_the_rest_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = problem_of(8, cylinders=4, kinds=2)
    monkeypatch.setattr(match_sets, "MOST_SETS", 4**2)
    found = exact_match(problem, start=problem.as_given(), bound_g=0.0, seconds_left=lambda: 20.0)
    kept = (0, 1, 2, 3)
    assert found.placing[1] == kept
    best = min(worth_by_hand(problem, (first, kept)) for first in itertools.permutations(range(4)))
    assert worth_by_hand(problem, found.placing) == pytest.approx(best, abs=3e-7)
    # nothing is proven of the pairings that were not looked at
    assert found.bound_g == 0.0


@given(st.integers(0, 10_000), st.sampled_from(THROWS), st.integers(1, 3))
@settings(max_examples=30, deadline=None)
def test_no_swap_that_moves_an_extreme_cylinder_helps(
    seed: int, throws: tuple[tuple[int, ...], ...], kinds: int
) -> None:
    problem = problem_of(seed, cylinders=4, kinds=kinds, throws=throws)
    placing = best_by_swaps(problem)
    worth = problem.objective(placing)
    assert worth <= problem.objective(problem.as_given())
    sums = problem.cylinder_sums(placing)
    extreme = {sums.index(min(sums)), sums.index(max(sums))}
    for kind, first, second in itertools.product(range(kinds), extreme, range(4)):
        order = list(placing[kind])
        order[first], order[second] = order[second], order[first]
        tried = tuple(tuple(order) if k == kind else placing[k] for k in range(kinds))
        assert worth_by_hand(problem, tried) >= worth - 2e-9


def test_swaps_find_what_is_easy() -> None:
    # light parts belong on heavy cylinders
    problem = MatchProblem((1.0, 2.0, 3.0, 4.0), ("pin",), ((11.0, 12.0, 13.0, 14.0),), ())
    assert best_by_swaps(problem) == ((3, 2, 1, 0),)
    with_throws = MatchProblem((0.0, 0.0, 0.0, 0.0), ("pin",), ((1.0, 2.0, 3.0, 4.0),), ((0, 1), (2, 3)))
    # cylinders differ by 3 whatever is done; throws can be equal
    assert with_throws.objective(best_by_swaps(with_throws)) == 3.0
    assert best_by_swaps(MatchProblem((1.0, 2.0), (), (), ())) == ()


def test_whole_cylinders_are_dealt_to_throws() -> None:
    kinds = {"pin": MatchKind((1.0, 2.0, 3.0, 4.0, 5.0, 6.0), loose=True)}
    answer = best_match(kinds, cylinders=6, throws=[[1, 2], [3, 4], [5, 6]], seconds_left=lambda: 20.0)
    assert answer.spread_g == 5.0
    assert answer.throw_spread_g == 0.0
    assert answer.proven
