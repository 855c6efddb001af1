"""What overhanging parts carry in the planes: against textbooks, linear algebra and the edges of what can be."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.computation.carried import Carried, carried_in_planes
from bench.computation.errors import QuantityError


def test_masses_beyond_both_planes_as_a_textbook_has_them() -> None:
    # Khurmi and Gupta, Theory of Machines, Example 21.2 (answer from memory, drawn there to about 1 %): masses at 0 and
    # 0.7 m overhang the planes X at 0.1 m and Y at 0.5 m; what must be ADDED is 355 kg at 145 and 182.5 kg at 12 degrees,
    # counted clockwise there
    masses = [(200, 80.0, 0.0, 0.0), (300, 70.0, 45.0, 300.0), (400, 60.0, 115.0, 400.0), (200, 80.0, 235.0, 700.0)]
    parts = [Carried(m * r, angle, z) for m, r, angle, z in masses]
    for found, (amount, clockwise) in zip(
        carried_in_planes(parts, positions_mm=[100.0, 500.0], radii_mm=[100.0, 100.0]),
        [(355.0, 145.0), (182.5, 12.0)],
        strict=True,
    ):
        opposite = -found.excess_g
        assert abs(opposite) == pytest.approx(amount, rel=0.015)
        off = (math.degrees(cmath.phase(opposite)) + clockwise + 180.0) % 360.0 - 180.0
        assert abs(off) < 2.0


def test_an_unbalance_a_fifth_before_close_planes() -> None:
    # D. Xie, lecture slides on rotor balancing, chapter 4: U at 0.1 L, planes at 0.4 L and 0.6 L, corrections -2.5 U, 1.5 U
    front, rear = carried_in_planes([Carried(90.0, 0.0, 100.0)], positions_mm=[400.0, 600.0], radii_mm=[90.0, 90.0])
    assert front.excess_g == pytest.approx(2.5)
    assert rear.excess_g == pytest.approx(-1.5)


amounts = st.tuples(st.floats(0.0, 5000.0), st.floats(0.0, 359.0), st.floats(-300.0, 900.0), st.floats(0.0, 500.0))


@given(st.lists(amounts, min_size=1, max_size=4), st.floats(40.0, 150.0), st.floats(40.0, 150.0))
def test_the_same_as_solving_for_force_and_moment(
    parts: list[tuple[float, float, float, float]], front_mm: float, rear_mm: float
) -> None:
    # numpy's linear algebra: the planes' unbalances have the same sum and the same moment about the front plane
    planes = [20.0, 470.0]
    found = carried_in_planes([Carried(*part) for part in parts], positions_mm=planes, radii_mm=[front_mm, rear_mm])
    vectors = np.array([cmath.rect(u, math.radians(a)) for u, a, _, _ in parts])
    places = np.array([z for _, _, z, _ in parts])
    wanted = np.linalg.solve(
        np.array([[1.0, 1.0], planes], dtype=complex), np.array([vectors.sum(), (vectors * places).sum()])
    )
    size = 1e-9 * (1.0 + float(np.abs(vectors).sum()))
    for one, u, radius in zip(found, wanted, (front_mm, rear_mm), strict=True):
        assert abs(one.excess_g * radius - u) < size
        # all pointing the same way is never less than as they point, and the uncertainty never more than their sum
        assert one.at_worst_g * radius >= abs(u) - size
    levers = np.linalg.solve(np.array([[1.0, 1.0], planes]), np.array([np.ones(len(parts)), places]))
    for one, lever, radius in zip(found, levers, (front_mm, rear_mm), strict=True):
        independent = math.hypot(*(share * u for share, (_, _, _, u) in zip(lever, parts, strict=True)))
        assert one.uncertainty_g * radius == pytest.approx(independent, abs=1e-9 * (1.0 + independent))


def test_one_plane_takes_the_whole_and_nothing_carries_nothing() -> None:
    (only,) = carried_in_planes([Carried(900.0, 30.0, 540.0, 90.0)], positions_mm=[0.0], radii_mm=[90.0])
    assert (abs(only.excess_g), only.uncertainty_g, only.at_worst_g) == (pytest.approx(10.0), 1.0, 10.0)
    empty = carried_in_planes([], positions_mm=[0.0, 450.0], radii_mm=[90.0, 90.0])
    assert [one.excess_g for one in empty] == [0j, 0j]


@pytest.mark.parametrize(
    ("parts", "positions", "radii", "words"),
    [
        ([Carried(-1.0, 0.0, 0.0)], [0.0, 450.0], [90.0, 90.0], "amount_g_mm: found -1.0, wanted"),
        ([Carried(1.0, math.nan, 0.0)], [0.0, 450.0], [90.0, 90.0], "angle_deg: found nan, wanted"),
        ([Carried(1.0, 0.0, math.inf)], [0.0, 450.0], [90.0, 90.0], "unbalances[0].position: found inf, wanted"),
        ([Carried(1.0, 0.0, 0.0, -2.0)], [0.0, 450.0], [90.0, 90.0], "uncertainty_g_mm: found -2.0, wanted"),
        ([Carried(1.7e308, 0.0, 0.0)], [0.0, 450.0], [0.01, 90.0], "amount_g_mm: found inf, wanted"),
        ([Carried(0.0, 0.0, 0.0, 1.7e308)], [0.0, 450.0], [0.01, 90.0], "uncertainty_g_mm: found inf, wanted"),
        ([Carried(1.0, 0.0, 0.0)], [0.0, 450.0], [90.0, 0.0], "radius_mm: found 0.0, wanted"),
        ([Carried(1.0, 0.0, 0.0)], [10.0, 10.0], [90.0, 90.0], "planes: found [10.0, 10.0], wanted two planes"),
        ([Carried(1.0, 0.0, 0.0)], [0.0, 1.0, 2.0], [90.0] * 3, "planes: found 3 places, 3 radii, wanted one or two"),
        ([Carried(1.0, 0.0, 0.0)], [0.0, 450.0], [90.0], "planes: found 2 places, 1 radii, wanted one or two"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    parts: list[Carried], positions: list[float], radii: list[float], words: str
) -> None:
    with pytest.raises(QuantityError) as fault:
        carried_in_planes(parts, positions_mm=positions, radii_mm=radii)
    assert str(fault.value).startswith(words)
    assert "XX" not in str(fault.value)
