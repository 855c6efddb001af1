"""Reach and margin against a general-purpose optimiser and a fine search."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from bench.computation.cut_reach import Reach, reach_of, shortest_margin
from bench.computation.stations import Station


@settings(max_examples=60, deadline=None)
@given(
    centre=st.floats(0, 360),
    half=st.floats(20, 85),
    least=st.tuples(*[st.floats(-5, 20)] * 3),
)
def test_the_margin_is_the_shortest_that_fits(centre: float, half: float, least: tuple[float, ...]) -> None:
    # source: scipy's SLSQP on the same half-planes
    normals = Reach(centre, half).inward
    found = shortest_margin(normals, least)
    assert all((n.conjugate() * found).real >= b - 1e-6 for n, b in zip(normals, least, strict=True))
    start = 100 * cmath.rect(1, math.radians(centre))
    best = minimize(
        lambda x: x[0] ** 2 + x[1] ** 2,
        [start.real, start.imag],
        jac=lambda x: 2 * x,
        method="SLSQP",
        constraints=[
            {"type": "ineq", "fun": lambda x, n=n, b=b: n.real * x[0] + n.imag * x[1] - b}
            for n, b in zip(normals, least, strict=True)
        ],
    )
    assert abs(found) == pytest.approx(math.sqrt(max(best.fun, 0.0)), abs=2e-3)


@settings(max_examples=60, deadline=None)
@given(centre=st.floats(0, 360), half=st.floats(5, 89), size=st.floats(0.1, 50), angle=st.floats(0, 360))
def test_the_nearest_cut_is_the_nearest_of_many(centre: float, half: float, size: float, angle: float) -> None:
    wanted = cmath.rect(size, math.radians(angle))
    found = Reach(centre, half).nearest(wanted)
    turns = np.radians(centre + np.linspace(-half, half, 2001))
    rays = np.exp(1j * turns)
    along = np.maximum(0.0, (wanted * rays.conjugate()).real)
    assert abs(wanted - found) == pytest.approx(float(np.abs(wanted - along * rays).min()), abs=2e-3 * size)


def arc(name: str, centre: float, width: float) -> Station:
    return Station(name, 0, (1 + 0j,), centre_deg=centre, arc_deg=width)


def test_arcs_join_to_one_reach() -> None:
    assert reach_of([arc("a", 350, 40), arc("b", 40, 40)]) == Reach(pytest.approx(15), pytest.approx(45))
    assert reach_of([arc("a", 0, 40), arc("b", 120, 40), arc("c", 240, 40)]).is_round
    assert reach_of([Station("a", 0, (1 + 0j,))]).is_round
    assert reach_of([arc("a", 0, 90), arc("b", 10, 20)]) == Reach(pytest.approx(0), pytest.approx(45))
