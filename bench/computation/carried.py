"""What parts beside the correction planes carry, as grams in the planes; and what rotors balanced apart add up to."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, not_negative, positive, representable
from bench.computation.errors import QuantityError
from bench.computation.transfer import PlacedUnbalance, transferred
from bench.computation.vectors import Vector


@dataclass(frozen=True, slots=True)
class Carried:
    """An unbalance somewhere along the axis, and how well it is known.

    Attributes
    ----------
    amount_g_mm : float
        What it is. [g mm]
    angle_deg : float
        Where its heavy side is. [deg]
    position_mm : float
        Along the axis; outside the planes where it overhangs. [mm]
    uncertainty_g_mm : float
        How far it may be from that, in any direction (expanded). [g mm]
    """

    amount_g_mm: float
    angle_deg: float
    position_mm: float
    uncertainty_g_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class InPlane:
    """What unbalances amount to in one plane.

    Attributes
    ----------
    excess_g : complex
        Grams at the plane's radius, the real axis at the mark. [g]
    uncertainty_g : float
        Root of the sum of squares of how far each may be off. [g]
    at_worst_g : float
        When all of them point the same way in this plane. [g]
    """

    excess_g: complex
    uncertainty_g: float
    at_worst_g: float


def carried_in_planes(
    carried: Sequence[Carried], *, positions_mm: Sequence[float], radii_mm: Sequence[float]
) -> tuple[InPlane, ...]:
    """Return what unbalances along a rotor amount to in its one or two planes, in grams at their radii.

    Parameters
    ----------
    carried : Sequence[Carried]
        Any number.
    positions_mm : Sequence[float]
        Of the planes. [mm]
    radii_mm : Sequence[float]
        Their correction radii. [mm]

    Returns
    -------
    tuple[InPlane, ...]
        One a plane. A part that overhangs beyond a plane counts more than whole there, and negative in the other.

    Raises
    ------
    QuantityError
        If there are not one or two planes, they are at one place, or a figure cannot be.

    Notes
    -----
    Source: statics, as `transferred`; uncertainties add as in JCGM 100 for independent amounts.

    Examples
    --------
    >>> flywheel = Carried(900.0, 90.0, 540.0, 90.0)
    >>> front, rear = carried_in_planes([flywheel], positions_mm=[0.0, 450.0], radii_mm=[90.0, 90.0])
    >>> round(front.excess_g.imag, 9), round(rear.excess_g.imag, 9), round(rear.uncertainty_g, 9)
    (-2.0, 12.0, 1.2)
    """
    if len(radii_mm) != len(positions_mm) or len(positions_mm) not in {1, 2}:
        raise QuantityError("planes", found=f"{len(positions_mm)} places, {len(radii_mm)} radii", wanted="one or two")
    for radius in radii_mm:
        positive(radius, quantity="radius_mm")
    for one in carried:
        not_negative(one.amount_g_mm, quantity="amount_g_mm")
        not_negative(one.uncertainty_g_mm, quantity="uncertainty_g_mm")
        finite(one.angle_deg, quantity="angle_deg")
    excess = [0j for _ in radii_mm]
    unsure = [0.0 for _ in radii_mm]
    worst = [0.0 for _ in radii_mm]
    for one in carried:
        unit = transferred([PlacedUnbalance(Vector(1.0, 0.0), one.position_mm)], planes=positions_mm)
        for index, (share, radius) in enumerate(zip(unit, radii_mm, strict=True)):
            lever = share.as_complex.real / radius
            excess[index] += lever * cmath.rect(one.amount_g_mm, math.radians(one.angle_deg))
            unsure[index] = math.hypot(unsure[index], lever * one.uncertainty_g_mm)
            worst[index] += abs(lever) * one.amount_g_mm
    return tuple(
        InPlane(e, representable(u, quantity="uncertainty_g_mm"), representable(w, quantity="amount_g_mm"))
        for e, u, w in zip(excess, unsure, worst, strict=True)
    )
