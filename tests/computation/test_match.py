"""Matching and shims against trying every pairing and every pack."""

from __future__ import annotations

import itertools
import math
import random
import time
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.computation.errors import QuantityError
from bench.computation.match import MatchAnswer, MatchKind, best_match
from bench.computation.match_bound import least_spread_on_grid
from bench.computation.match_problem import MatchProblem
from bench.computation.part_set import part_set
from bench.computation.shims import StockPiece, shim_pack


def plenty() -> float:
    return 30.0


def spread(values: list[float]) -> float:
    return max(values) - min(values)


def by_trying(kinds: dict[str, MatchKind], cylinders: int, throws: list[list[int]]) -> float:
    """Try every pairing."""
    orders = [list(itertools.permutations(kind.grams)) if kind.loose else [kind.grams] for kind in kinds.values()]
    best = math.inf
    for choice in itertools.product(*orders):
        sums = [math.fsum(part[cylinder] for part in choice) for cylinder in range(cylinders)]
        worth = spread(sums)
        if throws:
            worth += spread([math.fsum(sums[c - 1] for c in throw) for throw in throws])
        best = min(best, worth)
    return best


def check(answer: MatchAnswer, kinds: dict[str, MatchKind], cylinders: int, throws: list[list[int]]) -> float:
    """Check that the answer is what it says, and return what it is worth."""
    for name, kind in kinds.items():
        assert sorted(answer.assignment[name]) == list(range(cylinders))
        if not kind.loose:
            assert answer.assignment[name] == tuple(range(cylinders))
        lightest = min(kind.grams)
        assert answer.take_off_g[name] == tuple(weight - lightest for weight in kind.grams)
    sums = [
        math.fsum(kind.grams[answer.assignment[name][cylinder]] for name, kind in kinds.items())
        for cylinder in range(cylinders)
    ]
    assert answer.sums_g == pytest.approx(sums, abs=1e-9)
    assert answer.spread_g == pytest.approx(spread(sums), abs=1e-9)
    given_sums = [math.fsum(kind.grams[cylinder] for kind in kinds.values()) for cylinder in range(cylinders)]
    assert answer.spread_before_g == pytest.approx(spread(given_sums), abs=1e-9)
    if not throws:
        assert answer.throw_sums_g == ()
        assert answer.throw_spread_g is None
        return answer.spread_g
    throw_sums = [math.fsum(sums[c - 1] for c in throw) for throw in throws]
    assert answer.throw_sums_g == pytest.approx(throw_sums, abs=1e-9)
    assert answer.throw_spread_g == pytest.approx(spread(throw_sums), abs=1e-9)
    return answer.spread_g + spread(throw_sums)


@st.composite
def sets(draw: st.DrawFn, most: int = 4) -> tuple[dict[str, MatchKind], int]:
    cylinders = draw(st.integers(1, most))
    decimals = draw(st.sampled_from([0, 1, 6]))
    weights = st.floats(100.0, 103.0).map(lambda g: round(g, decimals))
    kinds = {
        f"kind {k}": MatchKind(tuple(draw(weights) for _ in range(cylinders)), loose=draw(st.booleans()))
        for k in range(draw(st.integers(1, 3)))
    }
    return kinds, cylinders


@settings(max_examples=60, deadline=None)
@given(sets())
def test_match_against_trying_every_pairing(case: tuple[dict[str, MatchKind], int]) -> None:
    kinds, cylinders = case
    answer = best_match(kinds, cylinders=cylinders, seconds_left=plenty)
    worth = check(answer, kinds, cylinders, [])
    best = by_trying(kinds, cylinders, [])
    assert answer.proven
    assert worth == pytest.approx(best, abs=2e-7)
    assert answer.bound_g <= best + 2e-7


@settings(max_examples=40, deadline=None)
@given(sets(), st.randoms(use_true_random=False))
def test_match_with_throws_against_trying_every_pairing(
    case: tuple[dict[str, MatchKind], int], shuffled: random.Random
) -> None:
    kinds, cylinders = case
    numbers = list(range(1, cylinders + 1))
    shuffled.shuffle(numbers)
    half = (cylinders + 1) // 2
    throws = [numbers[:half], numbers[half:]] if cylinders > 1 else [numbers]
    answer = best_match(kinds, cylinders=cylinders, throws=throws, seconds_left=plenty)
    worth = check(answer, kinds, cylinders, throws)
    best = by_trying(kinds, cylinders, throws)
    assert answer.proven
    assert worth == pytest.approx(best, abs=2e-7)


@pytest.mark.parametrize("loose", [(False, True, True), (True, True, True)])
@pytest.mark.parametrize("decimals", [1, 6])
def test_five_cylinders_of_three_kinds(loose: tuple[bool, ...], decimals: int) -> None:
    chance = random.Random(5 + decimals)
    kinds = {
        f"kind {k}": MatchKind(tuple(round(chance.uniform(500, 503), decimals) for _ in range(5)), loose=is_loose)
        for k, is_loose in enumerate(loose)
    }
    answer = best_match(kinds, cylinders=5, seconds_left=plenty)
    assert check(answer, kinds, 5, []) == pytest.approx(
        # the first kind may keep its order where all are loose
        by_trying({**kinds, "kind 0": MatchKind(kinds["kind 0"].grams, loose=False)}, 5, []),
        abs=2e-7,
    )
    assert answer.proven


def timer(limit: float) -> Callable[[], float]:
    until = time.monotonic() + limit
    return lambda: until - time.monotonic()


@pytest.mark.parametrize("decimals", [1, 2, 6])
@pytest.mark.parametrize("fixed", [0, 1])
def test_eight_cylinders_with_four_kinds_are_proven(decimals: int, fixed: int) -> None:
    chance = random.Random(11)
    kinds = {
        f"kind {k}": MatchKind(tuple(round(chance.uniform(500, 503), decimals) for _ in range(8)), loose=k >= fixed)
        for k in range(4)
    }
    answer = best_match(kinds, cylinders=8, seconds_left=plenty)
    check(answer, kinds, 8, [])
    assert answer.proven


@pytest.mark.long
@pytest.mark.timeout(120)
def test_sixteen_cylinders_with_four_kinds() -> None:
    chance = random.Random(16)
    kinds = {
        f"kind {k}": MatchKind(tuple(round(chance.uniform(500, 503), 1) for _ in range(16)), loose=True)
        for k in range(4)
    }
    answer = best_match(kinds, cylinders=16, seconds_left=timer(8.0))
    check(answer, kinds, 16, [])
    assert answer.spread_g < answer.spread_before_g / 4
    assert answer.proven or answer.bound_g < answer.spread_g


def test_without_time_the_best_found_and_its_bound_are_said() -> None:
    chance = random.Random(7)
    kinds = {f"kind {k}": MatchKind(tuple(chance.uniform(500, 503) for _ in range(8)), loose=True) for k in range(4)}
    answer = best_match(kinds, cylinders=8, seconds_left=lambda: 0.0)
    check(answer, kinds, 8, [])
    assert not answer.proven
    assert answer.bound_g == 0.0
    assert answer.spread_g < answer.spread_before_g


@pytest.mark.timeout(60)
def test_many_kinds_and_cylinders_are_answered() -> None:
    chance = random.Random(64)
    kinds = {
        f"kind {k}": MatchKind(tuple(round(chance.uniform(500, 503), 1) for _ in range(64)), loose=k > 0)
        for k in range(5)
    }
    answer = best_match(kinds, cylinders=64, seconds_left=timer(1.0))
    check(answer, kinds, 64, [])
    assert answer.spread_g <= answer.spread_before_g


def test_floor_and_no_loose_kind() -> None:
    kinds = {"piston": MatchKind((600.0, 601.0, 603.0), loose=False)}
    answer = best_match(kinds, cylinders=3, floors_g={"piston": 600.5}, seconds_left=plenty)
    assert answer.take_off_g["piston"] == (0.0, 0.5, 2.5)
    assert (answer.spread_g, answer.spread_before_g) == (3.0, 3.0)
    assert answer.assignment == {"piston": (0, 1, 2)}


GOOD = MatchKind((1.0, 2.0), loose=True)


@pytest.mark.parametrize(
    ("kinds", "cylinders", "throws", "quantity"),
    [
        ({"pin": GOOD}, 0, [], "cylinders"),
        ({"pin": GOOD}, 65, [], "cylinders"),
        ({"pin": GOOD}, 10_000, [], "cylinders"),
        ({}, 2, [], "kinds"),
        ({f"kind {k}": GOOD for k in range(33)}, 2, [], "kinds"),
        ({"pin": GOOD}, 3, [], "kinds.pin.grams"),
        ({"pin": MatchKind((), loose=True)}, 1, [], "kinds.pin.grams"),
        ({"pin": MatchKind((1.0, 0.0), loose=True)}, 2, [], "kinds.pin.grams[1]"),
        ({"pin": MatchKind((math.nan, 1.0), loose=True)}, 2, [], "kinds.pin.grams[0]"),
        ({"pin": MatchKind((1.0, 1e308), loose=False)}, 2, [], "kinds.pin.grams[1]"),
        ({"pin": GOOD}, 2, [[1]], "throws"),
        ({"pin": GOOD}, 2, [[1, 2], [2]], "throws"),
        ({"pin": GOOD}, 2, [[0, 1]], "throws"),
        ({"pin": GOOD}, 2, [[1, 2], []], "throws"),
    ],
)
def test_bad_sets_are_named(
    kinds: dict[str, MatchKind], cylinders: int, throws: list[list[int]], quantity: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        best_match(kinds, cylinders=cylinders, throws=throws, seconds_left=plenty)
    assert caught.value.quantity == quantity


def test_bad_floor_is_named() -> None:
    with pytest.raises(QuantityError) as caught:
        best_match({"pin": GOOD}, cylinders=2, floors_g={"pin": 0.0}, seconds_left=plenty)
    assert caught.value.quantity == "floor_g"


@pytest.mark.parametrize(
    ("base", "grams", "throws", "bound"),
    [
        ((0.0, 0.0), ((150.1, 150.2),), (), 0.1),
        ((0.0, 0.0), ((150.1, 150.3),), (), 0.0),
        ((1.0, 0.0), ((150.0, 150.0),), (), 1.0),
        ((0.0, 0.0), ((150.12, 150.25),), (), 0.01),
        ((0.0, 0.0), ((1 / 3, 1 / 7),), (), 0.0),
        ((0.0, 0.0, 0.0, 0.0), ((1.0, 1.0, 1.0, 2.0),), ((0, 1), (2, 3)), 2.0),
        ((0.0, 0.0, 0.0, 0.0), ((1.0, 1.0, 2.0, 2.0),), ((0, 1), (2, 3)), 1.0),
        ((0.0, 0.0, 0.0), ((1.0, 1.0, 2.0),), ((0, 1), (2,)), 1.0),
    ],
)
def test_bound_of_the_grid(
    base: tuple[float, ...], grams: tuple[tuple[float, ...], ...], throws: tuple[tuple[int, ...], ...], bound: float
) -> None:
    names = tuple(f"kind {k}" for k in range(len(grams)))
    assert least_spread_on_grid(MatchProblem(base, names, grams, throws)) == bound


@given(st.lists(st.floats(100.0, 105.0), min_size=1, max_size=12), st.floats(0.1, 3.0), st.floats(99.0, 104.0))
def test_part_set(grams: list[float], limit: float, floor: float) -> None:
    found = part_set(grams, limit_g=limit)
    assert found.lightest_g == min(grams)
    assert grams[found.lightest] == found.lightest_g
    assert found.spread_g == pytest.approx(max(grams) - min(grams))
    for weight, off, out, below in zip(grams, found.take_off_g, found.out, found.below_target, strict=True):
        assert weight - off == pytest.approx(min(grams))
        assert out is (weight - min(grams) > limit + 1e-9)
        assert not below
    assert not any(part_set(grams, limit_g=None).out)
    floored = part_set(grams, limit_g=limit, floor_g=floor)
    for weight, off, below in zip(grams, floored.take_off_g, floored.below_target, strict=True):
        assert off == max(weight - floor, 0.0)
        assert below is (weight < floor)


def test_part_set_to_the_last_digit_of_its_limit() -> None:
    # a difference that is the limit and the digit it is read with is not out
    assert part_set([2e-9, 4e-9], limit_g=1e-9).out == (False, False)


def test_part_set_at_its_limit() -> None:
    assert part_set([603.1, 604.1], limit_g=1.0).out == (False, False)
    assert part_set([603.1, 604.2], limit_g=1.0).out == (False, True)


@pytest.mark.parametrize(
    ("grams", "limit", "floor", "quantity"),
    [
        ([], 1.0, None, "grams"),
        ([1.0, 0.0], 1.0, None, "grams[1]"),
        ([1.0, math.nan], 1.0, None, "grams[1]"),
        ([1.0], 0.0, None, "limit_g"),
        ([1.0], 1.0, math.nan, "floor_g"),
    ],
)
def test_bad_part_sets_are_named(grams: list[float], limit: float, floor: float | None, quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        part_set(grams, limit_g=limit, floor_g=floor)
    assert caught.value.quantity == quantity


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.5, 30.0).map(lambda g: round(g, 1)), st.integers(0, 7)), min_size=1, max_size=4),
    st.floats(0.0, 120.0),
    st.sampled_from([0.1, 0.5, 2.0]),
)
def test_shims_against_trying_every_pack(stock: list[tuple[float, int]], missing: float, tolerance: float) -> None:
    pieces = {f"piece {k}": StockPiece(grams, count) for k, (grams, count) in enumerate(stock)}
    target = 1000.0 + missing
    found = shim_pack(pieces, target_g=target, empty_g=1000.0, tolerance_g=tolerance)
    added = sum(2 * pieces[name].grams * count for name, count in found.each_half.items())
    assert found.reached_g == pytest.approx(1000.0 + added)
    assert found.off_g == pytest.approx(found.reached_g - target)
    assert found.pieces == 2 * sum(found.each_half.values())
    assert all(2 * count <= pieces[name].count for name, count in found.each_half.items())
    packs = [
        (sum(counts), abs(1000.0 + sum(2 * g * n for (g, _), n in zip(stock, counts, strict=True)) - target))
        for counts in itertools.product(*(range(count // 2 + 1) for _, count in stock))
    ]
    inside = [pack for pack in packs if pack[1] <= tolerance]
    if inside:
        assert found.within
        fewest = min(count for count, _ in inside)
        assert sum(found.each_half.values()) <= fewest
        if missing > tolerance:
            nearest = min(off for count, off in packs if count <= fewest)
            assert abs(found.off_g) == pytest.approx(nearest, abs=1e-5)
    elif all(abs(off - tolerance) > 1e-5 for _, off in packs):
        assert not found.within
        assert abs(found.off_g) == pytest.approx(min(off for _, off in packs), abs=1e-5)


STOCK = {"washer": StockPiece(20.0, 4)}


@pytest.mark.parametrize(
    ("stock", "figures", "quantity"),
    [
        ({}, {}, "stock"),
        ({f"piece {k}": StockPiece(1.0, 2) for k in range(201)}, {}, "stock"),
        ({"washer": StockPiece(0.0, 4)}, {}, "stock.washer.grams"),
        ({"washer": StockPiece(1e7, 4)}, {}, "stock.washer.grams"),
        ({"washer": StockPiece(1.0, -1)}, {}, "stock.washer.count"),
        ({"washer": StockPiece(1.0, 1001)}, {}, "stock.washer.count"),
        (STOCK, {"target_g": math.nan}, "target_g"),
        (STOCK, {"target_g": 1e7}, "target_g"),
        (STOCK, {"empty_g": -1.0}, "empty_g"),
        (STOCK, {"empty_g": 1100.0}, "empty_g"),
        (STOCK, {"tolerance_g": 0.0}, "tolerance_g"),
    ],
)
def test_bad_stocks_are_named(stock: dict[str, StockPiece], figures: dict[str, float], quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        shim_pack(stock, **{"target_g": 1042.0, "empty_g": 1000.0, "tolerance_g": 0.1, **figures})
    assert caught.value.quantity == quantity


def test_packs_at_their_ends() -> None:
    whole = shim_pack(STOCK, target_g=1080.0, empty_g=1000.0, tolerance_g=0.1)
    assert (whole.each_half, whole.pieces, whole.within) == ({"washer": 2}, 4, True)
    assert shim_pack(STOCK, target_g=1000.0, empty_g=1000.1, tolerance_g=0.1).each_half == {}
    short = shim_pack(STOCK, target_g=2000.0, empty_g=1000.0, tolerance_g=0.1)
    assert (short.each_half, short.within, short.off_g) == ({"washer": 2}, False, -920.0)
    # one left over cannot be laid evenly
    assert shim_pack({"washer": StockPiece(20.0, 1)}, target_g=1020.0, empty_g=1000.0, tolerance_g=0.1).pieces == 0
