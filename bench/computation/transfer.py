"""Unbalances anywhere along a rotor, as what they are in one or two correction planes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, representable
from bench.computation.errors import QuantityError
from bench.computation.vectors import Vector, sum_of

NEAREST_PLANES = 1e-9
"""Planes nearer together than this part of the distances involved cannot be told apart."""


@dataclass(frozen=True, slots=True)
class PlacedUnbalance:
    """An unbalance and where along the rotor it is.

    Attributes
    ----------
    vector : Vector
        The unbalance.
    position : float
        Along the axis, in the unit of the planes' positions.
    """

    vector: Vector
    position: float


def transferred(unbalances: Sequence[PlacedUnbalance], *, planes: Sequence[float]) -> tuple[Vector, ...]:
    """Return what unbalances along a rotor amount to in one or two planes.

    Parameters
    ----------
    unbalances : Sequence[PlacedUnbalance]
        One or more.
    planes : Sequence[float]
        Position of the one plane, or of planes A and B.

    Returns
    -------
    tuple[Vector, ...]
        One a plane; with one plane the couple is not seen. What must be added is the same turned by 180 degrees.

    Raises
    ------
    QuantityError
        If there is no unbalance, not one or two planes, the two planes are at one place, or a figure is not finite.

    Notes
    -----
    Source: statics (Norton, Design of Machinery, chapter 12): B = sum U (z - z_A) / (z_B - z_A), A = sum U - B.

    Examples
    --------
    >>> planes = transferred([PlacedUnbalance(Vector(1.0, 0.0), 0.1)], planes=[0.4, 0.6])
    >>> [(round(v.amount, 9), v.angle_deg) for v in planes]
    [(2.5, 0.0), (1.5, 180.0)]
    """
    if not unbalances:
        raise QuantityError("unbalances", found="none", wanted="at least one unbalance")
    for index, unbalance in enumerate(unbalances):
        unbalance.vector.checked(quantity=f"unbalances[{index}]")
        finite(unbalance.position, quantity=f"unbalances[{index}].position")
    for index, plane in enumerate(planes):
        finite(plane, quantity=f"planes[{index}]")
    if len(planes) == 1:
        return (_representable(sum_of(u.vector for u in unbalances)),)
    if len(planes) != 2:
        raise QuantityError("planes", found=len(planes), wanted="one or two positions")
    front, rear = planes
    apart = representable(rear - front, quantity="planes")
    reach = max(abs(front), abs(rear))
    if not abs(apart) > NEAREST_PLANES * reach:
        raise QuantityError("planes", found=list(planes), wanted="two planes at different positions")

    def share(lever: float) -> float:
        return representable(lever / apart, quantity="unbalances.position")

    return (
        _representable(_weighted(unbalances, [share(rear - u.position) for u in unbalances])),
        _representable(_weighted(unbalances, [share(u.position - front) for u in unbalances])),
    )


def _weighted(unbalances: Sequence[PlacedUnbalance], shares: Sequence[float]) -> Vector:
    return sum_of(
        Vector(unbalance.vector.amount * share, unbalance.vector.angle_deg)
        for unbalance, share in zip(unbalances, shares, strict=True)
    )


def _representable(vector: Vector) -> Vector:
    representable(vector.amount, quantity="unbalances.amount")
    return vector
