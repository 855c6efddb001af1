"""Engine inertia against direct summation in time, and the laws it must keep."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.computation.engine import Cylinder, TurningPair, engine_inertia
from bench.computation.engine_forces import RunningEngine, left_over
from bench.computation.engine_layouts import LAYOUTS, flat, inline, layout_named, share_advice, vee
from bench.computation.errors import QuantityError
from bench.computation.piston_motion import piston_harmonic
from bench.computation.vectors import Vector

RUNNING = RunningEngine(
    reciprocating_g=700.0, crank_radius_mm=44.0, rod_length_mm=155.0, speed_rpm=4600.0, mm_per_position=110.0
)
angles = st.floats(-360.0, 360.0)
layouts = st.lists(
    st.builds(Cylinder, pin_deg=angles, bank_deg=angles, position=st.floats(-5.0, 5.0)), min_size=1, max_size=12
)


def summed(cylinders: list[Cylinder], order: int, t: float, *, couple: bool) -> complex:
    """Add each piston's force along its own bank, as it is, at one moment."""
    total = 0j
    for c in cylinders:
        along = math.cos(order * (t + math.radians(c.pin_deg) - math.radians(c.bank_deg)))
        total += along * cmath.exp(1j * math.radians(c.bank_deg)) * (c.position if couple else 1.0)
    return total


def sampled(cylinders: list[Cylinder], order: int, *, couple: bool) -> tuple[float, float]:
    steps = 20_000
    amounts = [abs(summed(cylinders, order, math.pi * k / steps, couple=couple)) for k in range(steps)]
    return max(amounts), min(amounts)


@pytest.mark.parametrize("layout", LAYOUTS, ids=[layout.name for layout in LAYOUTS])
def test_peaks_against_summation_over_a_turn(layout) -> None:
    cylinders = list(layout.cylinders)
    inertia = engine_inertia(cylinders)
    for order, both in ((1, inertia.first_order), (2, inertia.second_order)):
        peak, least = sampled(cylinders, order, couple=False)
        assert both.force.peak == pytest.approx(peak, rel=1e-6, abs=1e-6)
        # the least of a straight line is passed quickly: compare within one step
        assert both.force.least == pytest.approx(least, abs=2e-3)
        peak, least = sampled(cylinders, order, couple=True)
        assert both.couple.peak == pytest.approx(peak, rel=1e-6, abs=1e-6)
        assert both.couple.least == pytest.approx(least, abs=2e-3)


@given(layouts, st.floats(0.0, 360.0))
def test_every_moment_against_summation(cylinders: list[Cylinder], crank: float) -> None:
    inertia = engine_inertia(cylinders)
    t = math.radians(crank)
    for order, both in ((1, inertia.first_order), (2, inertia.second_order)):
        for couple, pair in ((False, both.force), (True, both.couple)):
            expected = summed(cylinders, order, t, couple=couple)
            assert abs(pair.at(turned_deg=order * crank) - expected) < 1e-9
    rotating = sum(cmath.exp(1j * math.radians(c.pin_deg)) for c in cylinders)
    assert abs(inertia.rotating_force.as_complex - rotating) < 1e-9
    levered = sum(c.position * cmath.exp(1j * math.radians(c.pin_deg)) for c in cylinders)
    assert abs(inertia.rotating_couple.as_complex - levered) < 1e-9


@given(layouts, angles)
def test_turning_pins_and_banks_turns_the_answer(cylinders: list[Cylinder], by: float) -> None:
    before = engine_inertia(cylinders)
    after = engine_inertia([replace(c, pin_deg=c.pin_deg + by, bank_deg=c.bank_deg + by) for c in cylinders])
    turn = cmath.exp(1j * math.radians(by))
    for pair, turned in (
        (before.first_order.force, after.first_order.force),
        (before.second_order.couple, after.second_order.couple),
    ):
        assert abs(pair.forward.as_complex * turn - turned.forward.as_complex) < 1e-9
        assert abs(pair.backward.as_complex * turn - turned.backward.as_complex) < 1e-9


@given(st.floats(0.0, 3.0), angles, st.floats(0.0, 3.0), angles)
def test_peak_lies_in_its_direction(forward: float, f_deg: float, backward: float, b_deg: float) -> None:
    pair = TurningPair(Vector.of(Vector(forward, f_deg).as_complex), Vector.of(Vector(backward, b_deg).as_complex))
    at = (pair.backward.angle_deg - pair.forward.angle_deg) / 2.0
    found = pair.at(turned_deg=at)
    assert abs(found) == pytest.approx(pair.peak, abs=1e-9)
    assert abs(pair.at(turned_deg=at + 90.0)) == pytest.approx(pair.least, abs=1e-9)
    assert 0.0 <= pair.peak_direction_deg < 180.0
    if pair.forward.amount > 1e-3 and pair.backward.amount > 1e-3:
        off = (math.degrees(cmath.phase(found)) - pair.peak_direction_deg) % 180.0
        assert min(off, 180.0 - off) < 1e-6
    else:
        assert pair.peak_direction_deg == 0.0 or min(pair.forward.amount, pair.backward.amount) > 0.0


@given(layouts, st.floats(0.0, 1.0), st.floats(0.0, 360.0))
def test_bobweights_take_their_share_of_the_force(cylinders: list[Cylinder], share: float, crank: float) -> None:
    # independent: inertia of the pistons in SI less the bobweight counterweights, each a mass opposite its pin
    left = left_over(engine_inertia(cylinders), RUNNING, reciprocating_share=share)
    t, omega = math.radians(crank), 4600.0 * math.tau / 60.0
    unit = 0.7 * 0.044 * omega**2
    force = couple = 0j
    for c in cylinders:
        bank = cmath.exp(1j * math.radians(c.bank_deg))
        phase = t + math.radians(c.pin_deg) - math.radians(c.bank_deg)
        one = unit * (math.cos(phase) + 44.0 / 155.0 * math.cos(2 * phase)) * bank
        one -= share * unit * cmath.exp(1j * (t + math.radians(c.pin_deg)))
        force += one
        couple += one * c.position * 0.110
    assert abs(left.force_n(crank_deg=crank) - force) < 1e-7 * unit
    assert abs(left.couple_n_m(crank_deg=crank) - couple) < 1e-7 * unit


@given(layouts)
def test_half_leaves_only_the_backward_first_order(cylinders: list[Cylinder]) -> None:
    left = left_over(engine_inertia(cylinders), RUNNING, reciprocating_share=0.5)
    assert left.first_order.force.forward.amount == 0.0
    assert left.first_order.couple.forward.amount == 0.0


@pytest.mark.parametrize(
    ("name", "count", "needed", "force_left", "couple_left"),
    [
        ("single", 1, True, 0.5, 0.0),
        ("inline-3", 3, True, 0.0, math.sqrt(3) / 2),
        ("inline-4", 4, False, 0.0, 0.0),
        ("inline-5", 5, True, 0.0, None),
        ("inline-6", 6, False, 0.0, 0.0),
        ("flat-2", 2, True, 0.0, 0.5),
        ("flat-4", 4, False, 0.0, 0.0),
        ("flat-6", 6, False, 0.0, 0.0),
        ("v2-45", 2, True, math.cos(math.radians(45)), 0.0),
        ("v2-90", 2, True, 0.0, 0.0),
        ("v6-60-split", 6, True, 0.0, 0.0),
        ("v6-90-split", 6, True, 0.0, math.sqrt(3) * math.cos(math.radians(105)) * -1),
        ("v8-90-cross-plane", 8, True, 0.0, 0.0),
        ("v8-90-flat-plane", 8, False, 0.0, 0.0),
        ("v10-72", 10, True, 0.0, None),
        ("v10-90", 10, True, 0.0, 0.0),
        ("v12-60", 12, False, 0.0, 0.0),
    ],
)
def test_advice(name: str, count: int, *, needed: bool, force_left: float, couple_left: float | None) -> None:
    cylinders = layout_named(name).cylinders
    assert len(cylinders) == count
    advice = share_advice(cylinders)
    assert advice.bobweights_needed is needed
    assert advice.reciprocating_share == 0.5
    assert advice.force_left == pytest.approx(force_left, abs=1e-12)
    if couple_left is not None:
        assert advice.couple_left == pytest.approx(couple_left, abs=1e-12)
    inertia = engine_inertia(cylinders)
    assert advice.second_force_left == inertia.second_order.force.peak
    assert advice.second_couple_left == inertia.second_order.couple.peak


def test_layouts_have_names_and_words_of_their_own() -> None:
    assert len({layout.name for layout in LAYOUTS}) == len({layout.words for layout in LAYOUTS}) == len(LAYOUTS) == 25
    with pytest.raises(QuantityError) as caught:
        layout_named("v99")
    assert caught.value.quantity == "layout"
    assert "v8-90-cross-plane" in caught.value.wanted


def test_shapes_of_layouts() -> None:
    assert inline((10.0, 20.0, 30.0)) == (
        Cylinder(pin_deg=10.0, bank_deg=0.0, position=-1.0),
        Cylinder(pin_deg=20.0, bank_deg=0.0, position=0.0),
        Cylinder(pin_deg=30.0, bank_deg=0.0, position=1.0),
    )
    assert vee((0.0, 180.0), bank_angle_deg=60.0, pin_split_deg=-60.0) == (
        Cylinder(pin_deg=0.0, bank_deg=-30.0, position=-0.5),
        Cylinder(pin_deg=-60.0, bank_deg=30.0, position=-0.5),
        Cylinder(pin_deg=180.0, bank_deg=-30.0, position=0.5),
        Cylinder(pin_deg=120.0, bank_deg=30.0, position=0.5),
    )
    assert flat((30.0,), rod_offset=0.4) == (
        Cylinder(pin_deg=30.0, bank_deg=0.0, position=-0.2),
        Cylinder(pin_deg=210.0, bank_deg=180.0, position=0.2),
    )


@pytest.mark.parametrize(
    "name", ["crank_radius_mm", "rod_length_mm", "speed_rpm", "mm_per_position", "reciprocating_g"]
)
@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_bad_running_figures_are_named(name: str, bad: float) -> None:
    inertia = engine_inertia(inline((0.0,)))
    with pytest.raises(QuantityError) as caught:
        left_over(inertia, replace(RUNNING, **{name: bad}), reciprocating_share=0.5)
    assert caught.value.quantity == name


def test_other_running_figures() -> None:
    inertia = engine_inertia(inline((0.0,)))
    assert left_over(inertia, replace(RUNNING, reciprocating_g=0.0), reciprocating_share=0.5).force_n(crank_deg=0) == 0
    for running, quantity in (
        (replace(RUNNING, rod_length_mm=44.0), "rod_length_mm"),
        (replace(RUNNING, reciprocating_g=1e300, speed_rpm=1e9), "force_n"),
        (replace(RUNNING, reciprocating_g=1e304, mm_per_position=1e9), "force_n"),
    ):
        with pytest.raises(QuantityError) as caught:
            left_over(inertia, running, reciprocating_share=0.5)
        assert caught.value.quantity == quantity
    with pytest.raises(QuantityError, match=r"^reciprocating_share: found 1\.5, wanted a number from 0 to 1$"):
        left_over(inertia, RUNNING, reciprocating_share=1.5)
    # one piston's force is 1e307 N, the sum of 30 is not a number any more
    one, many = engine_inertia(inline((0.0,))), engine_inertia(inline((0.0,) * 30))
    assert (
        left_over(one, replace(RUNNING, reciprocating_g=1e306), reciprocating_share=0.0).first_order.force.peak > 1e306
    )
    with pytest.raises(QuantityError) as caught:
        left_over(many, replace(RUNNING, reciprocating_g=1e306), reciprocating_share=0.0)
    assert caught.value.quantity == "force_n"


@pytest.mark.parametrize("count", [0, 65, 10_000])
def test_too_few_and_too_many_cylinders(count: int) -> None:
    with pytest.raises(QuantityError) as caught:
        engine_inertia([Cylinder(pin_deg=0.0, bank_deg=0.0, position=0.0)] * count)
    assert (caught.value.quantity, caught.value.found) == ("cylinders", count)
    assert caught.value.wanted == "1 to 64 cylinders"


def test_sixty_four_cylinders_are_taken() -> None:
    inertia = engine_inertia([Cylinder(pin_deg=0.0, bank_deg=0.0, position=1.0)] * 64)
    assert inertia.rotating_force.amount == 64.0


@pytest.mark.parametrize("name", ["pin_deg", "bank_deg", "position"])
@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_bad_cylinders_are_named(name: str, bad: float) -> None:
    good = Cylinder(pin_deg=0.0, bank_deg=0.0, position=0.0)
    with pytest.raises(QuantityError) as caught:
        engine_inertia([good, replace(good, **{name: bad})])
    assert caught.value.quantity == f"cylinders[1].{name}"


# slanted by 45 degrees both parts of the sum of two are 1.7e308, which is a number; their length is none
@pytest.mark.parametrize(("pin_deg", "position"), [(0.0, 1.7e308), (90.0, 1.7e308), (45.0, 1.2e308)])
def test_positions_too_large_together(pin_deg: float, position: float) -> None:
    far = Cylinder(pin_deg=pin_deg, bank_deg=0.0, position=position)
    with pytest.raises(QuantityError) as caught:
        engine_inertia([far, far])
    assert caught.value.quantity == "cylinders.position"


def test_what_cancels_is_nothing() -> None:
    # the sine of 180 degrees leaves 1.2e-16 in floating point
    opposed = engine_inertia(inline((0.0, 180.0)))
    assert opposed.rotating_force == Vector(0.0, 0.0)
    assert opposed.first_order.force.peak == 0.0
    upright = engine_inertia(inline((90.0, 270.0)))
    assert upright.rotating_force.amount == 0.0


def test_angles_of_many_turns() -> None:
    one = engine_inertia([Cylinder(pin_deg=30.0, bank_deg=-45.0, position=1.0)])
    turned = engine_inertia([Cylinder(pin_deg=30.0 + 3600.0, bank_deg=-45.0 - 720.0, position=1.0)])
    assert abs(one.second_order.force.backward.as_complex - turned.second_order.force.backward.as_complex) < 1e-12


@pytest.mark.parametrize(
    ("order", "ratio", "quantity"),
    [(0, 0.3, "order"), (61, 0.3, "order"), (2, 0.0, "lambda"), (2, 0.995, "lambda"), (2, math.nan, "lambda")],
)
def test_bad_harmonics(order: int, ratio: float, quantity: str) -> None:
    with pytest.raises(QuantityError) as caught:
        piston_harmonic(order, lambda_=ratio)
    assert caught.value.quantity == quantity


def test_harmonics_at_their_ends() -> None:
    assert piston_harmonic(60, lambda_=0.3) == pytest.approx(0.0, abs=1e-12)
    assert piston_harmonic(1, lambda_=0.99) == pytest.approx(1.0, rel=1e-9)
    assert piston_harmonic(3, lambda_=0.4) == pytest.approx(0.0, abs=1e-13)
