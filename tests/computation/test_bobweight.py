"""Bobweights: sums against their lines, uncertainty against general-purpose uncertainty libraries."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import GTC
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from bench.computation.bobweight import PartUncertainty, RodParts, ThrowParts, bobweight
from bench.computation.errors import QuantityError
from bench.computation.rod_ends import centre_from_big_end, equivalent_two_masses, rod_closure

ROD = RodParts(piston_g=603.7, rings_g=30.1, pin_g=188.5, locks_g=2.9, rod_small_end_g=250.0, rod_whole_g=818.2)
THROW = ThrowParts(rods=(ROD, ROD), rod_bearings_g=100.2, oil_g=6.0)
grams = st.floats(min_value=0.0, max_value=5000.0)


def rods() -> st.SearchStrategy[RodParts]:
    return st.builds(
        lambda piston, rings, pin, locks, small, extra, by_difference, count: RodParts(
            piston_g=piston,
            rings_g=rings,
            pin_g=pin,
            locks_g=locks,
            rod_small_end_g=small,
            rod_whole_g=small + extra if by_difference else None,
            rod_big_end_g=None if by_difference else extra,
            count=count,
        ),
        grams, grams, grams, grams, grams, grams, st.booleans(), st.integers(1, 6),
    )  # fmt: skip


def test_lines_of_a_throw() -> None:
    named = (replace(ROD, name="cylinder 1"), replace(ROD, name="cylinder 2", piston_g=605.3))
    found = bobweight(ThrowParts(rods=named, rod_bearings_g=100.2, oil_g=6.0), reciprocating_share=0.5)
    assert [line.label for line in found.lines] == [
        "rod big end (whole less small end), cylinder 1",
        "rod big end (whole less small end), cylinder 2",
        "rod bearings",
        "oil",
        *[
            f"{part}, cylinder {cylinder}"
            for cylinder in (1, 2)
            for part in ("piston", "rings", "pin", "locks", "rod small end")
        ],
    ]
    # hand arithmetic: 2 x 568.2 + 100.2 + 6.0, and half of 2 x 1075.2 + 1.6
    assert found.rotating_g == pytest.approx(1242.6, abs=1e-9)
    assert found.reciprocating_g == pytest.approx(1076.0, abs=1e-9)
    assert found.total_g == pytest.approx(2318.6, abs=1e-9)
    piston = next(line for line in found.lines if line.label == "piston, cylinder 2")
    assert (piston.grams, piston.factor, piston.contribution_g) == (605.3, 0.5, 302.65)
    assert found.lines[2].factor == found.lines[3].factor == 1.0
    assert found.standard_uncertainty_g is None


def test_big_end_hung_needs_no_difference() -> None:
    hung = replace(ROD, rod_whole_g=None, rod_big_end_g=568.2, count=2)
    found = bobweight(ThrowParts(rods=(hung,), rod_bearings_g=100.2, oil_g=6.0), reciprocating_share=0.5)
    assert found.lines[0].label == "rod big end"
    assert found.lines[0].factor == 2.0
    assert found.total_g == pytest.approx(2317.8, abs=1e-9)


@given(st.lists(rods(), min_size=1, max_size=4), grams, grams, st.floats(0.0, 1.0))
def test_sum_equals_its_lines(parts: list[RodParts], bearings: float, oil: float, share: float) -> None:
    throw = ThrowParts(rods=tuple(parts), rod_bearings_g=bearings, oil_g=oil + 1.0)
    found = bobweight(throw, reciprocating_share=share)
    assert found.total_g == math.fsum(line.contribution_g for line in found.lines)
    assert found.total_g == pytest.approx(found.rotating_g + found.reciprocating_g, rel=1e-14)
    assert all(line.contribution_g == line.grams * line.factor for line in found.lines)
    # independent sum from the parts themselves
    by_hand = bearings + oil + 1.0
    for rod in parts:
        whole, big, small = rod.rod_whole_g, rod.rod_big_end_g, rod.rod_small_end_g
        big_end = whole - small if whole is not None else (big or 0.0)
        counted = rod.piston_g + rod.rings_g + rod.pin_g + rod.locks_g + small
        by_hand += rod.count * (big_end + share * counted)
    assert found.total_g == pytest.approx(by_hand, rel=1e-12, abs=1e-9)


@given(
    st.lists(rods(), min_size=1, max_size=3),
    st.floats(0.0, 1.0),
    st.lists(st.floats(0.001, 2.0), min_size=9, max_size=9),
)
def test_uncertainty_against_general_libraries(parts: list[RodParts], share: float, u: list[float]) -> None:
    known = PartUncertainty(
        piston_g=u[0], rings_g=u[1], pin_g=u[2], locks_g=u[3], rod_small_end_g=u[4], rod_whole_g=u[5],
        rod_big_end_g=u[6], rod_bearings_g=u[7], oil_g=u[8],
    )  # fmt: skip
    throw = ThrowParts(rods=tuple(parts), rod_bearings_g=80.0, oil_g=4.0)
    found = bobweight(throw, reciprocating_share=share, uncertainty=known)

    def total(number: Any) -> Any:
        whole = number(80.0, u[7]) + number(4.0, u[8])
        for rod in parts:
            small = number(rod.rod_small_end_g, u[4])
            if rod.rod_whole_g is not None:
                big = number(rod.rod_whole_g, u[5]) - small
            else:
                big = number(rod.rod_big_end_g, u[6])
            counted = number(rod.piston_g, u[0]) + number(rod.rings_g, u[1])
            counted += number(rod.pin_g, u[2]) + number(rod.locks_g, u[3]) + small
            whole += rod.count * (big + share * counted)
        return whole

    assert found.standard_uncertainty_g == pytest.approx(total(ufloat).std_dev, rel=1e-9)
    assert found.standard_uncertainty_g == pytest.approx(GTC.uncertainty(total(GTC.ureal)), rel=1e-9)


def test_one_weighing_for_two_rods_has_sensitivities_two_and_minus_one() -> None:
    both = ThrowParts(rods=(replace(ROD, count=2),), rod_bearings_g=100.2, oil_g=6.0)

    def found(known: PartUncertainty) -> float | None:
        return bobweight(both, reciprocating_share=0.5, uncertainty=known).standard_uncertainty_g

    assert found(PartUncertainty(rod_whole_g=0.1)) == pytest.approx(0.2)
    assert found(PartUncertainty(rod_small_end_g=0.1)) == pytest.approx(0.1)
    assert found(PartUncertainty(rod_small_end_g=0.3, rod_whole_g=0.2)) == pytest.approx(0.5)
    assert found(PartUncertainty(piston_g=0.1)) == pytest.approx(0.1)
    assert found(PartUncertainty(rod_big_end_g=0.1)) == 0.0
    assert found(PartUncertainty()) == 0.0


@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("kind", ["piston_g", "rings_g", "pin_g", "locks_g", "rod_small_end_g", "rod_whole_g"])
def test_bad_weights_are_named(kind: str, bad: float) -> None:
    parts = replace(ROD, **{kind: bad})
    with pytest.raises(QuantityError) as caught:
        bobweight(replace(THROW, rods=(ROD, parts)), reciprocating_share=0.5)
    assert caught.value.quantity == kind


@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf])
@pytest.mark.parametrize("kind", ["rod_bearings_g", "oil_g", "piston_g", "rod_small_end_g", "rod_whole_g"])
def test_bad_uncertainties_are_named(kind: str, bad: float) -> None:
    known = PartUncertainty(**{kind: bad})
    with pytest.raises(QuantityError) as caught:
        bobweight(THROW, reciprocating_share=0.5, uncertainty=known)
    assert caught.value.quantity == f"standard_uncertainty.{kind}"


@pytest.mark.parametrize(
    ("throw", "quantity"),
    [
        (replace(THROW, rods=()), "rods"),
        (replace(THROW, rods=(replace(ROD, rod_whole_g=None),)), "rod_whole_g"),
        (replace(THROW, rods=(replace(ROD, rod_big_end_g=568.2),)), "rod_whole_g"),
        (replace(THROW, rods=(replace(ROD, rod_whole_g=249.9),)), "rod_small_end_g"),
        (replace(THROW, rods=(replace(ROD, rod_whole_g=None, rod_big_end_g=-1.0),)), "rod_big_end_g"),
        (replace(THROW, rods=(replace(ROD, count=0),)), "count"),
        (replace(THROW, rods=(replace(ROD, count=65),)), "count"),
        (replace(THROW, oil_g=-1.0), "oil_g"),
        (replace(THROW, rod_bearings_g=math.nan), "rod_bearings_g"),
        (replace(THROW, rods=(replace(ROD, piston_g=1e308),) * 20), "bobweight_g"),
    ],
)
def test_bad_throws_are_named(throw: ThrowParts, quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        bobweight(throw, reciprocating_share=0.5)
    assert caught.value.quantity == quantity
    assert str(caught.value).startswith(f"{quantity}: found ")


@pytest.mark.parametrize("share", [-0.01, 1.01, math.nan])
def test_bad_shares_are_refused(share: float) -> None:
    with pytest.raises(QuantityError, match="reciprocating_share"):
        bobweight(THROW, reciprocating_share=share)


@pytest.mark.parametrize(("share", "total"), [(0.0, 1242.6), (1.0, 3393.0)])
def test_shares_at_their_ends(share: float, total: float) -> None:
    assert bobweight(THROW, reciprocating_share=share).total_g == pytest.approx(total, abs=1e-9)


def test_a_bobweight_of_nothing_is_refused() -> None:
    nothing = RodParts(piston_g=0, rings_g=0, pin_g=0, locks_g=0, rod_small_end_g=0, rod_big_end_g=0)
    with pytest.raises(QuantityError, match=r"^bobweight_g: found 0.0, wanted a finite number above 0$"):
        bobweight(ThrowParts(rods=(nothing,), rod_bearings_g=0, oil_g=0), reciprocating_share=0.5)


def test_as_many_rods_as_allowed() -> None:
    many = replace(ROD, count=64)
    found = bobweight(ThrowParts(rods=(many,), rod_bearings_g=0, oil_g=0), reciprocating_share=0.5)
    assert found.total_g == pytest.approx(64 * (568.2 + 537.6), rel=1e-12)
    light = replace(ROD, rod_whole_g=ROD.rod_small_end_g)
    assert bobweight(ThrowParts(rods=(light,), rod_bearings_g=0, oil_g=0), reciprocating_share=0.0001).rotating_g == 0


def test_rod_closure() -> None:
    closure = rod_closure(whole_g=610.5, big_end_g=431.6, small_end_g=178.9, standard_uncertainty_g=0.06)
    assert closure.off_g == pytest.approx(0.0, abs=1e-9)
    # 2 sqrt(3) x 0.06
    assert closure.allowed_g == pytest.approx(0.2078, abs=5e-5)
    assert closure.closes
    for big, closes in ((431.8, True), (431.81, False), (431.4, True), (431.39, False)):
        found = rod_closure(whole_g=610.5, big_end_g=big, small_end_g=178.9, standard_uncertainty_g=0.06)
        assert found.closes is closes
        assert found.off_g == pytest.approx(big - 431.6, abs=1e-9)
    wide = rod_closure(
        whole_g=610.5, big_end_g=431.9, small_end_g=178.9, standard_uncertainty_g=0.06, coverage_factor=3.0
    )
    assert wide.closes
    exact = rod_closure(whole_g=3.0, big_end_g=2.0, small_end_g=1.0, standard_uncertainty_g=0.0)
    assert exact.closes


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("whole_g", 0.0),
        ("whole_g", math.nan),
        ("big_end_g", -1.0),
        ("small_end_g", -1.0),
        ("standard_uncertainty_g", -0.1),
        ("coverage_factor", 0.0),
    ],
)
def test_rod_closure_names_bad_input(name: str, value: float) -> None:
    good = {"whole_g": 610.5, "big_end_g": 431.6, "small_end_g": 178.9, "standard_uncertainty_g": 0.06}
    with pytest.raises(QuantityError) as caught:
        rod_closure(**{**good, name: value})
    assert caught.value.quantity == name


@pytest.mark.parametrize("name", ["big_end_g", "small_end_g", "centres_mm"])
def test_centre_names_bad_input(name: str) -> None:
    good = {"big_end_g": 431.6, "small_end_g": 178.9, "centres_mm": 152.4}
    with pytest.raises(QuantityError) as caught:
        centre_from_big_end(**{**good, name: 0.0})
    assert caught.value.quantity == name


@pytest.mark.parametrize("name", ["mass", "inertia", "centre_to_big_end"])
def test_two_masses_name_bad_input(name: str) -> None:
    good = {"mass": 0.02, "inertia": 0.62, "centre_to_big_end": 4.8}
    with pytest.raises(QuantityError) as caught:
        equivalent_two_masses(**{**good, name: 0.0})
    assert caught.value.quantity == name
