"""Single steps of the matching and packs of shims, each with an answer that can be seen by eye."""

from __future__ import annotations

import itertools
import math

import pytest

from bench.computation import match_search, match_sets
from bench.computation.errors import QuantityError
from bench.computation.match import MatchKind, _dealt_to_throws, best_match
from bench.computation.match_exact import exact_match
from bench.computation.match_problem import MatchProblem
from bench.computation.match_search import Column, WindowSearch
from bench.computation.match_sets import PartSets, free_kinds
from bench.computation.match_swaps import _light_to_heavy, _starts, _stride, _swaps
from bench.computation.shims import ShimPack, StockPiece, shim_pack


def alike(cylinders: int, kinds: int) -> MatchProblem:
    return MatchProblem((0.0,) * cylinders, ("k",) * kinds, ((1.0,) * cylinders,) * kinds, ())


@pytest.mark.parametrize("count", range(1, 65))
def test_a_stride_visits_every_part_once(count: int) -> None:
    strides = [_stride(count, wanted=wanted) for wanted in range(1, 2 * count + 2)]
    for stride in strides:
        assert 1 <= stride <= count
        assert sorted(index * stride % count for index in range(count)) == list(range(count))
    # every stride that can be is offered, and where the wanted one can be, it is taken: wanted 1 means a stride of 2
    assert set(strides) == {s for s in range(1, count + 1) if math.gcd(s, count) == 1}
    if count > 2 and count % 2:
        assert strides[0] == 2


def test_a_search_begins_from_the_order_given_then_light_to_heavy_then_strides() -> None:
    problem = MatchProblem(
        (1.0, 3.0, 2.0, 4.0, 5.0), ("a", "b"), ((1.0, 2.0, 3.0, 4.0, 5.0), (9.0, 7.0, 8.0, 6.0, 5.0)), ()
    )
    starts = list(_starts(problem))
    assert starts[0] == [[0, 1, 2, 3, 4]] * 2
    assert starts[1] == _light_to_heavy(problem)
    for start in starts:
        assert [sorted(order) for order in start] == [[0, 1, 2, 3, 4]] * 2
    # of the strides some move the kinds against each other, and no two of the first starts are one
    assert sum(start[0] != start[1] for start in starts[2:6]) >= 3
    assert all(one != other for one, other in itertools.combinations(starts[:6], 2))
    assert len(starts) > 5


def test_a_larger_problem_begins_from_fewer_starts_but_from_two_at_least() -> None:
    counts = [len(list(_starts(alike(cylinders, kinds)))) for cylinders, kinds in ((4, 1), (64, 1), (64, 32))]
    assert counts[0] >= counts[1] > counts[2]
    assert counts[2] >= 2


def test_light_parts_go_to_heavy_cylinders_kind_after_kind() -> None:
    # a: cylinder 1 (30) gets the lightest, 1; 0 (20) gets 5; 2 (10) gets 8: sums 25, 31, 18
    # b: cylinder 1 gets 2 (its third part), 0 gets 4, 2 gets 6
    problem = MatchProblem((20.0, 30.0, 10.0), ("a", "b"), ((8.0, 5.0, 1.0), (4.0, 6.0, 2.0)), ())
    assert _light_to_heavy(problem) == [[1, 2, 0], [0, 2, 1]]
    # c is dealt to the sums with a on them, which turn the order round: 1 + 9 and 4 + 2
    turned = MatchProblem((1.0, 4.0), ("a", "c"), ((2.0, 9.0), (1.0, 3.0)), ())
    assert _light_to_heavy(turned) == [[1, 0], [0, 1]]


def test_swaps_move_an_extreme_cylinder_or_one_of_an_extreme_throw() -> None:
    sums = [5.0, 1.0, 3.0, 9.0, 4.0, 4.0]
    plain = MatchProblem((0.0,) * 6, ("a", "b"), ((0.0,) * 6,) * 2, ())
    assert list(_swaps(plain, sums)) == [
        (kind, first, second) for kind in (0, 1) for first in (1, 3) for second in range(6) if second != first
    ]
    # throws weigh 6, 12 and 8: those of 6 and 12 move as well, cylinders 4 and 5 do not
    thrown = MatchProblem((0.0,) * 6, ("a",), ((0.0,) * 6,), ((4, 5), (0, 1), (2, 3)))
    assert {first for _, first, _ in _swaps(thrown, sums)} == {0, 1, 2, 3}


def test_whole_cylinders_are_dealt_light_with_heavy() -> None:
    problem = MatchProblem((7.0,) * 6, ("pin",), ((1.0, 2.0, 3.0, 4.0, 5.0, 6.0),), ((0, 1), (2, 3), (4, 5)))
    assert _dealt_to_throws(problem, problem.as_given()) == ((0, 5, 1, 4, 2, 3),)
    # another order of the same parts is dealt to the same throws
    assert _dealt_to_throws(problem, ((5, 4, 3, 2, 1, 0),)) == ((0, 5, 1, 4, 2, 3),)
    # a fixed part cannot go with its cylinder
    fixed = MatchProblem((7.0, 7.0, 7.0, 7.0, 7.0, 8.0), ("pin",), problem.grams, problem.throws)
    assert _dealt_to_throws(fixed, fixed.as_given()) == fixed.as_given()


def test_a_kind_is_free_while_its_sets_are_no_more_than_can_be_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(match_sets, "MOST_SETS", 4**3)
    assert free_kinds(alike(4, 3)) == (0, 1)
    monkeypatch.setattr(match_sets, "MOST_SETS", 4**3 - 1)
    assert free_kinds(alike(4, 3)) == (0,)
    # one kind is always looked at
    monkeypatch.setattr(match_sets, "MOST_SETS", 1)
    assert free_kinds(alike(4, 3)) == (0,)


def test_windows_reach_to_sums_that_are_one_with_their_ends() -> None:
    problem = MatchProblem((0.0, 0.0, 0.0), ("a",), ((1.0, 2.0, 6.0),), ())
    sets = PartSets.of(problem, start=problem.as_given(), free=(0,))
    assert sets.mean_g == 3.0
    # sums lie 2 and 1 below and 3 above the mean, each on three cylinders
    assert len(sets.between(-2.0, 3.0)) == 9
    assert len(sets.between(-2.0 + 5e-9, 3.0 - 5e-9)) == 9
    assert len(sets.between(-2.0 + 2e-8, 3.0 - 2e-8)) == 3
    assert sets.values_below_mean(2.0) == [-2.0, -1.0]
    assert sets.values_below_mean(1.5) == [-1.0]
    assert [sets.width_of(n) for n in (1, 3, 4, 6, 7, 9, 10)] == [1.0, 1.0, 2.0, 2.0, 3.0, 3.0, 3.0]
    deviations = sets.deviation_g[sets.between(-2.0, 0.0)].tolist()
    assert deviations == sorted(deviations)


def columns_of(sums: list[list[float]]) -> list[Column]:
    """Sets of one kind: sums[cylinder][part]."""
    size = len(sums)
    found = [
        Column.of(cylinder * size + part, deviation, [cylinder, part], size=size)
        for cylinder, row in enumerate(sums)
        for part, deviation in enumerate(row)
    ]
    return sorted(found, key=lambda column: column.deviation_g)


def test_the_item_with_the_fewest_sets_is_served_first() -> None:
    one, two, three = (
        Column.of(0, 0.0, [0, 0], size=2),
        Column.of(1, 1.0, [0, 1], size=2),
        Column.of(3, 2.0, [1, 1], size=2),
    )
    search = WindowSearch(items=4, worth_of=lambda _choice: 0.0, worth=1.0)
    # part 0 and cylinder 1 have one set each, and the first of them is served
    assert search._of_scarcest([one, two, three], 0b1111) == [three]
    # of cylinder 0 and part 1, two sets each
    assert search._of_scarcest([one, two, three], 0b1001) == [one, two]
    # an item that no set holds leaves nothing
    assert search._of_scarcest([one, two], 0b0010) == []


def test_a_search_counts_what_it_tries_and_leaves_out_what_cannot_be_better() -> None:
    # sums of cylinder and part; the light set 0-0 can be joined by 1-1 alone, at a spread of 2
    columns = columns_of([[0.0, 5.0], [5.0, 2.0]])

    def spread(choice: object) -> float:
        deviations = [column.deviation_g for column in choice]  # type: ignore[attr-defined]
        return max(deviations) - min(deviations)

    search = WindowSearch(items=4, worth_of=spread, worth=10.0)
    assert search.run(columns, smallest_g=0.0)
    assert (search.worth, search.nodes) == (2.0, 1)
    assert sorted(column.number for column in search.best) == [0, 3]
    # nothing is better than 2: the set is not even tried, and the choice is kept out
    seen: list[object] = []

    def recorded(choice: object) -> float:
        seen.append(choice)
        return spread(choice)

    equal = WindowSearch(items=4, worth_of=recorded, worth=2.0)
    assert equal.run(columns, smallest_g=0.0)
    assert (equal.best, seen) == ((), [])
    # nor where all sums lie below the mean
    below = WindowSearch(items=4, worth_of=recorded, worth=2.0)
    assert below.run(columns_of([[-3.0, 2.0], [2.0, -1.0]]), smallest_g=-3.0)
    assert (below.best, seen) == ((), [])
    # sums above the smallest one do not begin a choice
    nothing = WindowSearch(items=4, worth_of=recorded, worth=10.0)
    assert nothing.run(columns, smallest_g=-1.0)
    assert (nothing.nodes, nothing.best) == (0, ())


def test_a_search_ends_at_its_most_nodes_and_not_before(monkeypatch: pytest.MonkeyPatch) -> None:
    columns = columns_of([[0.0, 1.0, 2.0], [1.0, 2.0, 0.5], [2.0, 0.5, 1.0]])

    def run(most: int) -> tuple[bool, int]:
        monkeypatch.setattr(match_search, "MOST_NODES", most)
        search = WindowSearch(items=6, worth_of=lambda _choice: 5.0, worth=5.0)
        return search.run(columns, smallest_g=0.0), search.nodes

    # the only light set is cylinder 0 with part 0; then cylinder 1 takes part 1 or 2, and cylinder 2 the other: 1 + 2
    assert run(100) == (True, 3)
    assert run(3) == (True, 3)
    assert run(2)[0] is False


def test_where_some_kinds_stay_nothing_below_the_given_bound_is_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = MatchProblem((1.0, 2.0, 4.0), ("a", "b"), ((10.0, 11.0, 13.0), (5.0, 6.5, 7.0)), ())
    monkeypatch.setattr(match_sets, "MOST_SETS", 3**2)
    found = exact_match(problem, start=problem.as_given(), bound_g=0.25, seconds_left=lambda: 20.0)
    best = min(
        max(sums) - min(sums)
        for order in itertools.permutations(range(3))
        for sums in [[problem.base_g[c] + problem.grams[0][order[c]] + problem.grams[1][c] for c in range(3)]]
    )
    assert problem.objective(found.placing) == pytest.approx(best)
    assert found.bound_g == 0.25


def test_the_largest_sets_are_taken() -> None:
    kinds = {f"kind {k}": MatchKind((1e9, 1e9), loose=True) for k in range(32)}
    answer = best_match(kinds, cylinders=2, seconds_left=lambda: 5.0)
    assert (answer.spread_g, answer.sums_g) == (0.0, (32e9, 32e9))
    assert list(answer.assignment) == list(kinds)


def test_the_first_loose_kind_moves_only_where_something_is_fixed_or_throws_count() -> None:
    a, b = MatchKind((1.0, 2.0), loose=True), MatchKind((5.0, 9.0), loose=True)
    alone = best_match({"a": a, "b": b}, cylinders=2, seconds_left=lambda: 5.0)
    assert (alone.assignment, alone.sums_g) == ({"a": (0, 1), "b": (1, 0)}, (10.0, 7.0))
    # 3 g is the least: 1 + 9 and 2 + 5
    assert (alone.spread_g, alone.spread_before_g) == (3.0, 5.0)


def packed(
    stock: dict[str, StockPiece], target_g: float, *, empty_g: float = 0.0, tolerance_g: float = 0.1
) -> ShimPack:
    return shim_pack(stock, target_g=target_g, empty_g=empty_g, tolerance_g=tolerance_g)


def test_the_largest_stock_and_the_heaviest_piece_are_taken() -> None:
    many = {f"piece {k}": StockPiece(1.0 + k, 2) for k in range(200)}
    assert packed(many, 400.0).each_half == {"piece 199": 1}
    assert packed({"heavy": StockPiece(1e6, 1000)}, 1e6).each_half == {}
    assert packed({"light": StockPiece(500.0, 1000)}, 1e6).each_half == {"light": 500}
    assert packed({"none left": StockPiece(5.0, 0), "one": StockPiece(5.0, 2)}, 10.0).each_half == {"one": 1}


def test_a_pack_at_the_edge_of_the_tolerance_is_within_it() -> None:
    # 0.3 is not the sum of 0.1 and 0.2 in floating point
    assert packed({"a": StockPiece(50.15, 2)}, 100.1, tolerance_g=0.2).within
    beyond = packed({"a": StockPiece(50.151, 2)}, 100.1, tolerance_g=0.2)
    assert not beyond.within
    assert beyond.off_g == pytest.approx(0.202)
    below = packed({"a": StockPiece(49.949, 2)}, 100.1, tolerance_g=0.2)
    assert not below.within
    assert below.off_g == pytest.approx(-0.202)
    # what is missing is within the tolerance already: nothing is put on
    assert packed({"a": StockPiece(0.05, 2)}, 100.1, empty_g=100.0, tolerance_g=0.1).pieces == 0
    assert packed({"a": StockPiece(0.05, 2)}, 100.1, empty_g=99.99, tolerance_g=0.1).pieces == 2


def test_of_packs_with_the_fewest_pieces_the_nearest_is_taken() -> None:
    stock = {"a": StockPiece(9.5, 4), "b": StockPiece(10.2, 4), "c": StockPiece(10.0, 1), "d": StockPiece(5.0, 8)}
    # 2 x 5.0 twice would be exact, with four pieces; one of c cannot be laid evenly; 20.4 is nearer than 19
    found = packed(stock, 20.0, tolerance_g=1.0)
    assert (found.each_half, found.pieces) == ({"b": 1}, 2)
    assert packed(stock, 20.0, tolerance_g=0.1).each_half == {"d": 2}
    # out of reach for all: the nearest of any number of pieces
    assert packed({"a": StockPiece(7.0, 4), "b": StockPiece(3.0, 2)}, 9.5).each_half == {"b": 1}
    assert packed({"a": StockPiece(7.0, 4), "b": StockPiece(3.0, 2)}, 21.0).each_half == {"a": 1, "b": 1}


def test_an_empty_bobweight_may_be_above_its_target_by_the_tolerance() -> None:
    assert packed({"a": StockPiece(1.0, 2)}, 100.0, empty_g=100.5, tolerance_g=0.5).within
    with pytest.raises(QuantityError) as caught:
        packed({"a": StockPiece(1.0, 2)}, 100.0, empty_g=100.75, tolerance_g=0.5)
    assert str(caught.value) == "empty_g: found 100.75, wanted no more than the target, 100.0"
