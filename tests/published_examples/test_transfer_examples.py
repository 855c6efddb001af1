"""Balancing by calculation against textbooks. Status words as in test_influence_examples."""

from __future__ import annotations

import math

import pytest

from bench.computation.index_balancing import index_parts
from bench.computation.transfer import PlacedUnbalance, transferred
from bench.computation.vectors import Vector


def added(masses: list[tuple[float, float, float, float]], planes: list[float]) -> list[Vector]:
    placed = [PlacedUnbalance(Vector(m * r, angle), z) for m, r, angle, z in masses]
    return [vector.turned(180.0) for vector in transferred(placed, planes=planes)]


def off(angle_deg: float, expected_deg: float) -> float:
    return abs((angle_deg - expected_deg + 180.0) % 360.0 - 180.0)


@pytest.mark.parametrize(
    ("masses", "mr", "angle", "rel", "deg"),
    [
        # Norton, Design of Machinery, Example 12-1, from memory: 2.402 at 259.6
        ([(1.2, 1.135, 113.4), (1.8, 0.822, 48.8)], 2.402, 259.6, 5e-4, 0.05),
        # Norton, Problem 12-1a, answers appendix, from memory
        ([(0.2, 1.25, 30), (0.4, 2.25, 120)], 0.934, -75.5, 5e-4, 0.05),
        # Norton, Problem 12-1e, from memory
        ([(0.96, 5.5, -30), (3.25, 3.55, 120)], 7.448, -80.76, 5e-4, 0.05),
        # Sarkar, Theory of Machines, ch. 8 Illustration 1: inputs and formula seen; derived
        ([(12, 40, 0), (10, 50, 60), (18, 60, 130), (15, 30, 270)], 811.1306495590426, 267.47112693674467, 1e-9, 1e-6),
    ],
)
def test_one_plane(masses: list[tuple[float, float, float]], mr: float, angle: float, rel: float, deg: float) -> None:
    (found,) = added([(*mass, 0.0) for mass in masses], [0.0])
    assert found.amount == pytest.approx(mr, rel=rel)
    assert off(found.angle_deg, angle) < deg


def test_mass_at_a_radius() -> None:
    # Norton, Example 12-1, from memory: 2.98 kg at 0.806 m
    (found,) = added([(1.2, 1.135, 113.4, 0.0), (1.8, 0.822, 48.8, 0.0)], [0.0])
    assert found.amount / 0.806 == pytest.approx(2.98, rel=5e-4)


@pytest.mark.parametrize(
    ("masses", "planes", "front", "rear", "rel", "deg"),
    [
        # Norton, Example 12-2, from memory
        (
            [(1.2, 1.135, 113.4, 0.854), (1.8, 0.822, 48.8, 1.701), (2.4, 1.04, 251.4, 2.396)],
            [0, 3.097],
            (0.88, 278.67),
            (0.904, 75.27),
            0.002,
            0.05,
        ),
        # Norton, Problem 12-5a: answer from memory, the planes' positions fitted
        (
            [(0.2, 1.25, 30, 2), (0.4, 2.25, 120, 8), (1.24, 5.5, -30, 17)],
            [0, 20],
            (0.814, -175.2),
            (5.5, 152.1),
            0.001,
            0.1,
        ),
        # Khurmi and Gupta, Theory of Machines, Example 21.2: graphical answer from memory, sense of angles fitted
        (
            [(200, 0.08, 0, 0), (300, 0.07, 45, 0.3), (400, 0.06, 115, 0.4), (200, 0.08, 235, 0.7)],
            [0.1, 0.5],
            (35.5, -145),
            (18.25, -12),
            0.015,
            2.0,
        ),
        # the same, derived
        (
            [(200, 0.08, 0, 0), (300, 0.07, 45, 0.3), (400, 0.06, 115, 0.4), (200, 0.08, 235, 0.7)],
            [0.1, 0.5],
            (35.29721186550012, 213.3713235327847),
            (18.40590238237022, 347.19772620781237),
            1e-9,
            1e-6,
        ),
        # Xie, slides on balancing flexible rotors, ch. 4, printed: -2.5 U and 1.5 U
        ([(1, 1, 0, 0.1)], [0.4, 0.6], (2.5, 180.0), (1.5, 0.0), 1e-9, 1e-6),
    ],
)
def test_two_planes(
    masses: list[tuple[float, float, float, float]],
    planes: list[float],
    front: tuple[float, float],
    rear: tuple[float, float],
    rel: float,
    deg: float,
) -> None:
    for found, (amount, angle) in zip(added(masses, planes), (front, rear), strict=True):
        assert found.amount == pytest.approx(amount, rel=rel)
        assert off(found.angle_deg, angle) < deg


def test_bearing_forces_to_rim_weights() -> None:
    # Norton, Problem 12-6, answers from memory (geometry fitted): the reactions of the bearings on the shaft are
    # already opposite to the unbalance; 3.56 lb at 44.44 and 2.13 lb at -129.4 on a 15 in rim at 100 r/min,
    # g = 386.4 in/s2.
    omega = 100.0 * math.tau / 60.0
    reactions = [PlacedUnbalance(Vector(5, 45), 0.0), PlacedUnbalance(Vector(2, -120), 10.0)]
    weights = [Vector(v.amount * 386.4 / (omega**2 * 7.5), v.angle_deg) for v in transferred(reactions, planes=[4, 11])]
    for found, (amount, angle) in zip(weights, [(3.56, 44.44), (2.13, -129.4)], strict=True):
        assert found.amount == pytest.approx(amount, rel=0.002)
        assert off(found.angle_deg, angle) < 0.05


def test_complete_balance_of_four_masses() -> None:
    # Problem after Rattan, Theory of Machines: inputs seen; m_A, its angle and the positions of A and D derived.
    masses = [
        PlacedUnbalance(Vector(20.04270526532304 * 12, 236.2590895199587), 97.66271094389724),
        PlacedUnbalance(Vector(30 * 16, 0), 0.0),
        PlacedUnbalance(Vector(50 * 8, 90), 30.0),
        PlacedUnbalance(Vector(40 * 10, 210), -37.662710943897196),
    ]
    for found in transferred(masses, planes=[-20.0, 120.0]):
        assert found.amount < 1e-9


def test_index_test_tells_rotor_from_tooling() -> None:
    # Procedure of ISO 21940-14; numbers derived: rotor 120 at 35, tooling 80 at 260 at index 0.
    parts = index_parts(
        [Vector(84.99146899082454, 353.2732349458123), Vector(185.4088730314213, 52.7642760796095)],
        index_deg=[0.0, 180.0],
    )
    assert (parts.rotor.amount, parts.rotor.angle_deg) == pytest.approx((120, 35), rel=1e-9)
    assert (parts.tooling.amount, parts.tooling.angle_deg) == pytest.approx((80, 260), rel=1e-9)
