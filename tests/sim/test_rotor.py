"""Forces at the supports: hand statics, published two-plane examples, and frozen finite-element answers."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from sim.rotor import PointMass, Rotor, at_angle


def _phasor(amount: float, degrees: float) -> complex:
    return cmath.rect(amount, math.radians(degrees))


def test_one_mass_in_the_middle_loads_both_supports_alike() -> None:
    # by hand: 20 g at 90 mm, 500 1/min: w = 52.3599 rad/s, m r w^2 = 0.020 * 0.090 * 2741.557 = 4.934802 N, half each
    rotor = Rotor((0.1, 0.4), [PointMass(0.020, 0.090, 0.0, 0.25)])
    front, rear = rotor.support_pulls(500 * 2 * math.pi / 60)
    assert front.x_n == pytest.approx(2.467401, rel=1e-6)
    assert rear.x_n == pytest.approx(2.467401, rel=1e-6)
    assert front.y_n == rear.y_n == 0.0


def test_a_mass_outside_the_supports_levers_the_far_one() -> None:
    # by hand: 0.1 in front of a span of 0.3: front takes 4/3, rear -1/3 of 0.01 * 0.05 * 100^2 = 5 N
    rotor = Rotor((0.1, 0.4), [PointMass(0.01, 0.0, 0.05, 0.0)])
    front, rear = rotor.support_pulls(100.0)
    assert front.y_n == pytest.approx(20 / 3)
    assert rear.y_n == pytest.approx(-5 / 3)


def test_angles_turn_counter_clockwise_from_x() -> None:
    lump = at_angle(mass_kg=1.0, radius_m=2.0, angle_rad=math.radians(90), z_m=0.0)
    assert (lump.x_m, lump.y_m) == pytest.approx((0.0, 2.0), abs=1e-12)


@pytest.mark.parametrize(
    ("masses", "planes", "balance_a", "balance_b", "rel"),
    [
        # R. L. Norton, Design of Machinery, Example 12-2, printed answers: [kg, m, deg, m]; its plane A is printed
        # to three digits of which the last is off by 0.2 %
        (
            [(1.2, 1.135, 113.4, 0.854), (1.8, 0.822, 48.8, 1.701), (2.4, 1.04, 251.4, 2.396)],
            (0.0, 3.097),
            (0.88, 278.67),
            (0.904, 75.27),
            2.2e-3,
        ),
        # R. L. Norton, Design of Machinery, Problem 12-5a, answers appendix; plane places from memory
        (
            [(0.2, 1.25, 30.0, 2.0), (0.4, 2.25, 120.0, 8.0), (1.24, 5.5, -30.0, 17.0)],
            (0.0, 20.0),
            (0.814, -175.2),
            (5.5, 152.1),
            1e-3,
        ),
        # D. Xie, lecture slides on balancing, ch. 4: a mass at 0.1 L, planes at 0.4 L and 0.6 L
        ([(1.0, 1.0, 0.0, 0.1)], (0.4, 0.6), (-2.5, 0.0), (1.5, 0.0), 1e-9),
    ],
)
def test_published_transfer_to_two_planes(
    masses: list[tuple[float, float, float, float]],
    planes: tuple[float, float],
    balance_a: tuple[float, float],
    balance_b: tuple[float, float],
    rel: float,
) -> None:
    rotor = Rotor((0.05, 0.95))
    for mass, radius, degrees, z in masses:
        rotor.add(at_angle(mass_kg=mass, radius_m=radius, angle_rad=math.radians(degrees), z_m=z))
    # what has to be added is opposite to the excess
    for excess, printed in zip(rotor.excess_at(planes, 1.0), (balance_a, balance_b), strict=True):
        wanted = _phasor(*printed)
        assert abs(-excess - wanted) <= rel * abs(wanted)


def test_published_static_balance() -> None:
    # R. L. Norton, Design of Machinery, Example 12-1: 2.402 kg m at 259.6 deg balances both masses
    rotor = Rotor((0.0, 1.0))
    rotor.add(at_angle(mass_kg=1.2, radius_m=1.135, angle_rad=math.radians(113.4), z_m=0.5))
    rotor.add(at_angle(mass_kg=1.8, radius_m=0.822, angle_rad=math.radians(48.8), z_m=0.5))
    front, rear = rotor.support_pulls(1.0)
    total = -complex(front.x_n + rear.x_n, front.y_n + rear.y_n)
    assert abs(total) == pytest.approx(2.402, rel=5e-4)
    assert math.degrees(cmath.phase(total)) % 360 == pytest.approx(259.6, abs=0.05)


_STEEL = 7850.0
_SHAFT = (0.080, 0.600)
_DISCS = ((0.150, 0.200, 0.020), (0.450, 0.200, 0.020))


def _rigid_inertia() -> tuple[float, float, float]:
    """Mass, transverse and polar inertia of the reference's steel shaft with two discs, about its middle."""
    diameter, length = _SHAFT
    mass = _STEEL * math.pi / 4 * diameter**2 * length
    polar = mass * diameter**2 / 8
    transverse = mass * (3 * (diameter / 2) ** 2 + length**2) / 12
    for z, outer, width in _DISCS:
        disc = _STEEL * math.pi / 4 * (outer**2 - diameter**2) * width
        disc_polar = disc * (outer**2 + diameter**2) / 8
        mass, polar = mass + disc, polar + disc_polar
        transverse += disc_polar / 2 + disc * width**2 / 12 + disc * (z - length / 2) ** 2
    return mass, transverse, polar


@pytest.mark.parametrize(
    ("rpm", "stiffness", "damping", "unbalance", "seen"),
    [
        # frozen answers of an open finite-element rotor program (ross-rotordynamics 2.3.0): 31.96 kg steel shaft
        # 80 x 600 mm with two discs, planes at 150 and 450 mm, bearings and sensors at 50 and 550 mm
        (
            600,
            (2e4, 2e4),
            20.0,
            ((1.5e-4, 35.0), (9e-5, 200.0)),
            ((4.1156218057523166e-05, 220.49719532520467), (3.529446547878404e-05, 37.66674350573833)),
        ),
        (
            600,
            (5e7, 8e7),
            500.0,
            ((8e-5, 72.0), (1.4e-4, 251.0)),
            ((2.843472264013437e-09, 72.74332135267012), (4.740063343980369e-09, 250.8104956034864)),
        ),
        (
            300,
            (2e4, 2e4),
            60.0,
            ((2e-5, 15.0), (3.5e-5, 290.0)),
            ((3.877368553675907e-06, 303.2366582628986), (5.1168407843741925e-06, 287.77533221739316)),
        ),
    ],
)
def test_support_pulls_drive_the_finite_element_rotors(
    rpm: float,
    stiffness: tuple[float, float],
    damping: float,
    unbalance: tuple[tuple[float, float], tuple[float, float]],
    seen: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    supports = (0.05, 0.55)
    rotor = Rotor(supports)
    for (amount, degrees), z in zip(unbalance, (0.15, 0.45), strict=True):
        rotor.add(at_angle(mass_kg=amount, radius_m=1.0, angle_rad=math.radians(degrees), z_m=z))
    omega = rpm * 2 * math.pi / 60
    pulls = np.array([complex(p.x_n, p.y_n) for p in rotor.support_pulls(omega)])
    mass, transverse, polar = _rigid_inertia()
    assert mass == pytest.approx(31.96130702056113, rel=1e-9)
    # rigid body in the two supports' displacements: middle = mean, tilt = difference over the span; a synchronous
    # forward whirl sees the transverse less the polar inertia
    span = supports[1] - supports[0]
    middle, tilt = np.array([0.5, 0.5]), np.array([-1.0, 1.0]) / span
    inertia = mass * np.outer(middle, middle) + (transverse - polar) * np.outer(tilt, tilt)
    dynamic = np.diag(stiffness) + 1j * omega * damping * np.eye(2) - omega**2 * inertia
    found = np.linalg.solve(dynamic, pulls)
    for place, (amount, degrees) in zip(found, seen, strict=True):
        wanted = _phasor(amount, degrees)
        assert abs(place - wanted) <= 2e-3 * abs(wanted)


def test_drilling_takes_away_what_it_should() -> None:
    rotor = Rotor((0.1, 0.3), [at_angle(mass_kg=0.040, radius_m=0.09, angle_rad=1.0, z_m=0.0)])
    rotor.drill(mass_kg=0.040, radius_m=0.09, angle_rad=1.0, z_m=0.0)
    assert [abs(e) for e in rotor.excess_at((0.0, 0.4), 0.09)] == pytest.approx([0.0, 0.0], abs=1e-15)


def test_a_hole_off_the_plane_counts_in_both() -> None:
    # by hand: 10 g taken 45 mm behind the front plane of a 450 mm pair: 9 g in front, 1 g behind
    rotor = Rotor((0.1, 0.3))
    rotor.drill(mass_kg=0.010, radius_m=0.09, angle_rad=0.0, z_m=0.045)
    front, rear = rotor.excess_at((0.0, 0.45), 0.09)
    assert front == pytest.approx(-0.009)
    assert rear == pytest.approx(-0.001)


def test_supports_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(ValueError, match="rear one must lie behind"):
        Rotor((0.3, 0.1))
