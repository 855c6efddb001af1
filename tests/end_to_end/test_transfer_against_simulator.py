"""The program's statics in grams and degrees against the simulator's point masses in SI: they share no code."""

from __future__ import annotations

import cmath
import math

from hypothesis import given
from hypothesis import strategies as st

from bench.computation.transfer import PlacedUnbalance, transferred
from bench.computation.vectors import Vector
from sim.rotor import Rotor, at_angle

mass = st.tuples(
    st.floats(0.5, 200.0),  # grams
    st.floats(20.0, 120.0),  # radius, millimetres
    st.floats(0.0, 359.9),  # degrees
    st.floats(-50.0, 500.0),  # position, millimetres
)


@given(st.lists(mass, min_size=1, max_size=8))
def test_excess_in_two_planes_and_pulls_at_the_supports(masses: list[tuple[float, float, float, float]]) -> None:
    rotor = Rotor((-0.1, 0.6))
    for grams, radius, degrees, z in masses:
        rotor.add(at_angle(mass_kg=grams / 1000, radius_m=radius / 1000, angle_rad=math.radians(degrees), z_m=z / 1000))
    placed = [PlacedUnbalance(Vector(g * r, d), z) for g, r, d, z in masses]
    ours = [cmath.rect(v.amount, math.radians(v.angle_deg)) for v in transferred(placed, planes=[0.0, 450.0])]
    theirs = rotor.excess_at((0.0, 0.450), 0.090)
    size = sum(g * r for g, r, _, _ in masses) * 3
    for a, b in zip(ours, theirs, strict=True):
        # kg at 90 mm, as g mm
        assert abs(a - b * 1000.0 * 90.0) < 1e-9 * size
    omega = 50.0
    pulls = rotor.support_pulls(omega)
    at_supports = transferred(placed, planes=[-100.0, 600.0])
    for pull, vector in zip(pulls, at_supports, strict=True):
        # F = U w^2: g mm is 1e-6 kg m
        force = cmath.rect(vector.amount * 1e-6 * omega**2, math.radians(vector.angle_deg))
        assert abs(complex(pull.x_n, pull.y_n) - force) < 1e-9 * size * 1e-6 * omega**2
