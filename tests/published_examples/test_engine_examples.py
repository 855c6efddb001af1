"""Engine inertia against handbooks. Status words as in test_influence_examples."""

from __future__ import annotations

import ast
import json
import math
from pathlib import Path
from typing import Any

import pytest

from bench.computation.bobweight import RodParts, ThrowParts, bobweight
from bench.computation.engine import Cylinder, TurningPair, engine_inertia
from bench.computation.engine_forces import RunningEngine, left_over
from bench.computation.engine_layouts import layout_named
from bench.computation.piston_motion import piston_harmonic
from bench.computation.rod_ends import centre_from_big_end, equivalent_two_masses, rod_closure

LAYOUTS: dict[str, Any] = json.loads(Path(__file__).with_name("engine_layouts.json").read_text())["layouts"]
NAMED = {
    "single": "single",
    "inline-2-together": "inline-2 360deg",
    "inline-2-opposed": "inline-2 180deg",
    "inline-2-quarter": "inline-2 270deg (90deg pins)",
    "inline-3": "inline-3 120deg",
    "inline-4": "inline-4 flat 0-180-180-0",
    "inline-4-cross-plane": "inline-4 crossplane 0-90-270-180",
    "inline-6": "inline-6 120 fire 1-5-3-6-2-4",
    "v2-60": "V-twin 60 common pin",
    "v2-90": "V-twin 90 common pin",
    "v4-90": "V4 90, pins 0-180 common",
    "v6-60-common": "V6 60, three common pins",
    "v6-90-common": "V6 90, three common pins (odd fire)",
    "v8-90-cross-plane": "V8 90 crossplane 0-90-270-180",
    "v8-90-flat-plane": "V8 90 flatplane 0-180-180-0",
    "v12-60": "V12 60 (two I6)",
}


def position(words: str, *, a: float, b: float) -> float:
    """Work out a position such as "-3*a/2 + b/2" without running it."""

    def value(node: ast.expr) -> float:
        match node:
            case ast.BinOp(left, op, right):
                x, y = value(left), value(right)
                return {"Add": x + y, "Sub": x - y, "Mult": x * y, "Div": x / y if y else 0.0}[type(op).__name__]
            case ast.UnaryOp(ast.USub(), operand):
                return -value(operand)
            case ast.Name(name):
                return {"a": a, "b": b}[name]
            case ast.Constant(int(number)):
                return float(number)
        raise AssertionError(ast.dump(node))

    return value(ast.parse(words, mode="eval").body)


def cylinders(case: dict[str, Any], *, a: float, b: float) -> list[Cylinder]:
    return [Cylinder(pin_deg=pin, bank_deg=bank, position=position(z, a=a, b=b)) for pin, bank, z in case["cylinders"]]


def amounts(pair: TurningPair) -> tuple[float, float]:
    return pair.forward.amount, pair.backward.amount


@pytest.mark.parametrize("name", LAYOUTS)
def test_layout(name: str) -> None:
    case = LAYOUTS[name]
    inertia = engine_inertia(cylinders(case, a=1.0, b=0.0))
    assert amounts(inertia.first_order.force) == pytest.approx(case["F1"], abs=1e-11)
    assert amounts(inertia.second_order.force) == pytest.approx(case["F2"], abs=1e-11)
    assert amounts(inertia.first_order.couple) == pytest.approx(case["C1"], abs=1e-11)
    assert amounts(inertia.second_order.couple) == pytest.approx(case["C2"], abs=1e-11)
    for which, pair in (
        ("F1", inertia.first_order.force),
        ("C1", inertia.first_order.couple),
        ("F2", inertia.second_order.force),
        ("C2", inertia.second_order.couple),
    ):
        forward, backward = case[which]
        assert pair.peak == pytest.approx(forward + backward, abs=1e-11)
        assert pair.least == pytest.approx(abs(forward - backward), abs=1e-11)
    alone = engine_inertia(cylinders(case, a=0.0, b=1.0))
    assert amounts(alone.first_order.couple) == pytest.approx(case["per_rod_offset"][0], abs=1e-11)
    assert amounts(alone.second_order.couple) == pytest.approx(case["per_rod_offset"][1], abs=1e-11)


@pytest.mark.parametrize(("ours", "theirs"), NAMED.items())
def test_named_layout(ours: str, theirs: str) -> None:
    inertia = engine_inertia(layout_named(ours).cylinders)
    case = LAYOUTS[theirs]
    assert amounts(inertia.first_order.force) == pytest.approx(case["F1"], abs=1e-11)
    assert amounts(inertia.first_order.couple) == pytest.approx(case["C1"], abs=1e-11)
    assert amounts(inertia.second_order.force) == pytest.approx(case["F2"], abs=1e-11)
    assert amounts(inertia.second_order.couple) == pytest.approx(case["C2"], abs=1e-11)


@pytest.mark.parametrize(
    ("ours", "force_peak", "couple_peak", "second_force_peak", "second_couple_peak"),
    [
        # table of free forces and moments, Bosch Automotive Handbook, from memory
        ("inline-3", 0.0, math.sqrt(3), 0.0, math.sqrt(3)),
        ("inline-4", 0.0, 0.0, 4.0, 0.0),
        ("inline-6", 0.0, 0.0, 0.0, 0.0),
        ("v6-90-common", 0.0, math.sqrt(3), 0.0, math.sqrt(6)),
        ("v8-90-cross-plane", 0.0, math.sqrt(10), 0.0, 0.0),
        ("v12-60", 0.0, 0.0, 0.0, 0.0),
        ("flat-2", 0.0, 1.0, 0.0, 1.0),
        # 2 b with the rods of a pair b = 0.5 apart
        ("flat-4", 0.0, 0.0, 0.0, 1.0),
    ],
)
def test_free_forces_of_the_handbook(
    ours: str, force_peak: float, couple_peak: float, second_force_peak: float, second_couple_peak: float
) -> None:
    inertia = engine_inertia(layout_named(ours).cylinders)
    assert inertia.first_order.force.peak == pytest.approx(force_peak, abs=1e-12)
    assert inertia.first_order.couple.peak == pytest.approx(couple_peak, abs=1e-12)
    assert inertia.second_order.force.peak == pytest.approx(second_force_peak, abs=1e-12)
    assert inertia.second_order.couple.peak == pytest.approx(second_couple_peak, abs=1e-12)


@pytest.mark.parametrize(
    ("name", "force", "couple", "second_force", "second_couple"),
    [
        # which of the four sums of Josephs and Huston, Dynamics of Mechanical Systems (2002), eqs 15.7.8 to 15.7.11,
        # printed, vanish: sum cos p = sum sin p = 0, sum (i - 1) cos p = sum (i - 1) sin p = 0, the same with 2 p
        ("inline-2-opposed", True, False, False, False),
        ("inline-3", True, False, True, False),
        ("inline-4", True, True, False, False),
        ("inline-5", True, False, True, False),
        ("inline-6", True, True, True, True),
    ],
)
def test_conditions_of_balance_in_line(
    name: str, *, force: bool, couple: bool, second_force: bool, second_couple: bool
) -> None:
    cylinders = layout_named(name).cylinders
    pins = [math.radians(c.pin_deg) for c in cylinders]

    def vanishes(multiple: int, *, levers: bool) -> bool:
        weights = range(len(pins)) if levers else [1] * len(pins)
        return math.hypot(
            sum(w * math.cos(multiple * p) for w, p in zip(weights, pins, strict=True)),
            sum(w * math.sin(multiple * p) for w, p in zip(weights, pins, strict=True)),
        ) < 1e-12  # fmt: skip

    inertia = engine_inertia(cylinders)
    assert vanishes(1, levers=False) is force is (inertia.first_order.force.peak < 1e-12)
    assert (vanishes(1, levers=False) and vanishes(1, levers=True)) is couple
    assert couple is (inertia.first_order.force.peak + inertia.first_order.couple.peak < 1e-12)
    assert vanishes(2, levers=False) is second_force is (inertia.second_order.force.peak < 1e-12)
    assert (vanishes(2, levers=False) and vanishes(2, levers=True)) is second_couple
    assert second_couple is (inertia.second_order.force.peak + inertia.second_order.couple.peak < 1e-12)


@pytest.mark.parametrize(("bank", "split"), [(52, -76), (90, 0), (60, -60), (180, 180)])
def test_split_pins_without_a_backward_first_order(bank: float, split: float) -> None:
    # A page of a motorcycle-dynamics research group prints 52 / -76; the rule s = 2 V - 180 gives it and the others.
    pair = [
        Cylinder(pin_deg=0, bank_deg=-bank / 2, position=0),
        Cylinder(pin_deg=split, bank_deg=bank / 2, position=0),
    ]
    assert engine_inertia(pair).first_order.force.backward.amount == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("bank", [20.0, 60.0, 72.0, 90.0, 150.0])
@pytest.mark.parametrize("split", [-60.0, -30.0, 0.0, 40.0])
def test_pair_rule(bank: float, split: float) -> None:
    # derived: |cos(s/2)|, |cos(V - s/2)|, |cos(s - V/2)|, |cos(3V/2 - s)|
    v, s = math.radians(bank), math.radians(split)
    inertia = engine_inertia(
        [Cylinder(pin_deg=0, bank_deg=-bank / 2, position=0), Cylinder(pin_deg=split, bank_deg=bank / 2, position=0)]
    )
    assert amounts(inertia.first_order.force) == pytest.approx(
        (abs(math.cos(s / 2)), abs(math.cos(v - s / 2))), abs=1e-12
    )
    assert amounts(inertia.second_order.force) == pytest.approx(
        (abs(math.cos(s - v / 2)), abs(math.cos(1.5 * v - s))), abs=1e-12
    )


def test_even_firing_v6_is_whole_with_half() -> None:
    inertia = engine_inertia(layout_named("v6-60-split").cylinders)
    assert amounts(inertia.first_order.couple) == pytest.approx((1.5, 0.0), abs=1e-12)


def test_partial_balance_of_a_single_cylinder() -> None:
    # Sarkar, Theory of Machines, ch. 12 Illustration 1, printed: balance mass 90 kg at 0.15 m, rest 3263.971 N
    # at 30 deg (its computer run takes 57.3 degrees a radian; exact 3264.065).
    running = RunningEngine(
        reciprocating_g=120_000, crank_radius_mm=90, rod_length_mm=1e9, speed_rpm=250, mm_per_position=1
    )
    single = engine_inertia([Cylinder(pin_deg=0, bank_deg=0, position=0)])
    rest = left_over(single, running, reciprocating_share=2.0 / 3.0)
    assert abs(rest.first_order.force.at(turned_deg=30)) == pytest.approx(3263.971, rel=1e-4)
    assert abs(rest.force_n(crank_deg=30)) == pytest.approx(3264.064847983877, rel=1e-6)
    parts = RodParts(piston_g=120_000, rings_g=0, pin_g=0, locks_g=0, rod_small_end_g=0, rod_big_end_g=70_000)
    weight = bobweight(ThrowParts(rods=(parts,), rod_bearings_g=0, oil_g=0), reciprocating_share=2.0 / 3.0)
    assert weight.total_g / 1000 * 0.09 / 0.15 == pytest.approx(90.0, rel=1e-12)


def test_second_order_of_a_vee_twin() -> None:
    # Khurmi and Gupta, Theory of Machines, ch. 22: inputs from memory; 2364.59 N and 836.01 N derived
    running = RunningEngine(
        reciprocating_g=11_500, crank_radius_mm=75, rod_length_mm=300, speed_rpm=500, mm_per_position=100
    )
    rest = left_over(engine_inertia(layout_named("v2-90").cylinders), running, reciprocating_share=0.0)
    assert rest.first_order.force.peak == pytest.approx(2364.592721094325, rel=1e-12)
    assert rest.second_order.force.peak == pytest.approx(836.009773915074, rel=1e-12)


@pytest.mark.parametrize(
    ("ratio", "order", "harmonic", "series"),
    [
        # derived by Fourier transform; series of Taylor vol. 2 and Biezeno and Grammel (from memory)
        (0.25, 1, 1.0, 1.0),
        (0.25, 2, 0.2540250423069754, 0.25402069091796875),
        (0.25, 4, -0.004098111172029359, -0.00408935546875),
        (0.25, 6, 7.437903279403012e-05, 6.866455078125e-05),
        (0.3, 2, 0.3070506590621659, 0.307034765625),
        (0.3, 4, -0.007237694996821944, -0.0072056249999999985),
        (0.3, 6, 0.00019193674663630224, 0.00017085937499999995),
    ],
)
def test_piston_harmonics(ratio: float, order: int, harmonic: float, series: float) -> None:
    found = piston_harmonic(order, lambda_=ratio)
    assert found == pytest.approx(harmonic, rel=1e-9, abs=1e-14)
    # the series stops at lambda^5
    assert found == pytest.approx(series, abs=ratio**7)


def test_rod_as_two_masses() -> None:
    # Norton, Design of Machinery, Problem 13-9: inputs partly seen, partly from memory; derived
    found = equivalent_two_masses(mass=0.02, inertia=0.62, centre_to_big_end=0.4 * 12)
    assert found.centre_to_other == pytest.approx(0.62 / (0.02 * 4.8), rel=1e-12)
    # the same mass, centre and moment of inertia
    assert found.at_big_end + found.at_other == pytest.approx(0.02, rel=1e-12)
    assert found.at_big_end * 4.8 == pytest.approx(found.at_other * found.centre_to_other, rel=1e-12)
    moved = found.at_big_end * 4.8**2 + found.at_other * found.centre_to_other**2
    assert moved == pytest.approx(0.62, rel=1e-12)


def test_rod_two_masses_about_the_small_end() -> None:
    # the same problem read from the other end: l_p 4.305556, masses 0.0125157 and 0.0074843 (derived)
    found = equivalent_two_masses(mass=0.02, inertia=0.62, centre_to_big_end=0.6 * 12)
    assert found.centre_to_other == pytest.approx(4.305555555555556, rel=1e-12)
    assert found.at_other == pytest.approx(0.012515692901979718, rel=1e-12)
    assert found.at_big_end == pytest.approx(0.007484307098020281, rel=1e-12)
    # two masses at the bores instead have 11.48 % more moment of inertia
    static = 0.02 * 4.8 * 7.2
    assert 100 * (static / 0.62 - 1) == pytest.approx(11.48387096774195, rel=1e-9)


def test_hung_rod() -> None:
    # derived from statics: 431.6 g and 178.9 g over 152.4 mm
    found = centre_from_big_end(big_end_g=431.6, small_end_g=178.9, centres_mm=152.4)
    assert found == pytest.approx(44.65906633906634, rel=1e-12)
    assert 152.4 - found == pytest.approx(107.74093366093368, rel=1e-12)
    # the two readings add up to the whole rod, 610.5 g
    closed = rod_closure(whole_g=610.5, big_end_g=431.6, small_end_g=178.9, standard_uncertainty_g=1e-9)
    assert abs(closed.off_g) < 1e-12
    assert closed.closes


def test_bobweight_of_a_throw() -> None:
    # common practice, no source: two rods of 818.2 g, small end 250.0 g, piston 603.7, rings 30.1, pin 188.5, locks
    # 2.9, four shells 100.2 g, oil 6.0 g, half: 2317.8 g
    rod = RodParts(piston_g=603.7, rings_g=30.1, pin_g=188.5, locks_g=2.9, rod_small_end_g=250.0, rod_whole_g=818.2)
    found = bobweight(ThrowParts(rods=(rod, rod), rod_bearings_g=100.2, oil_g=6.0), reciprocating_share=0.5)
    assert found.total_g == pytest.approx(2317.8, abs=1e-9)
