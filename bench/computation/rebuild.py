"""A finished job with new parts: the new bobweights, and how far out the crank would now be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, positive, representable
from bench.computation.errors import QuantityError
from bench.computation.transfer import PlacedUnbalance, transferred
from bench.computation.vectors import Vector

MOST_THROWS = 64
"""Throws of one crank that are still taken seriously."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RebuiltThrow:
    """One throw before and after.

    Attributes
    ----------
    pin_deg : float
        Pin angle. [deg]
    position_mm : float
        Along the crank. [mm]
    old_bobweight_g : float
        Bobweight the crank was balanced with. [g]
    new_bobweight_g : float
        Bobweight of the parts that will sit on it now. [g]
    """

    pin_deg: float
    position_mm: float
    old_bobweight_g: float
    new_bobweight_g: float


@dataclass(frozen=True, slots=True)
class RebuiltCrank:
    """What the new parts do.

    Attributes
    ----------
    differences_g : tuple[float, ...]
        New less old bobweight of each throw. [g]
    out_g_mm : tuple[Vector, ...]
        Unbalance in each plane if the crank were left as it is: where the excess is. [g mm]
    out_g : tuple[Vector, ...]
        The same in grams at the correction radius of each plane. [g]
    """

    differences_g: tuple[float, ...]
    out_g_mm: tuple[Vector, ...]
    out_g: tuple[Vector, ...]


def rebuilt_crank(
    throws: Sequence[RebuiltThrow],
    *,
    crank_radius_mm: float,
    plane_positions_mm: Sequence[float],
    plane_radii_mm: Sequence[float],
) -> RebuiltCrank:
    """Return how far out a balanced crank is with new parts on some or all of its throws.

    Parameters
    ----------
    throws : Sequence[RebuiltThrow]
        Every throw, changed or not.
    crank_radius_mm : float
        Half the stroke. [mm]
    plane_positions_mm : Sequence[float]
        Position of each of one or two correction planes. [mm]
    plane_radii_mm : Sequence[float]
        Correction radius of each plane. [mm]

    Returns
    -------
    RebuiltCrank
        Differences and the unbalance in each plane.

    Raises
    ------
    QuantityError
        If there is no throw or more than 64, the planes do not match, or a figure is out of range.

    Notes
    -----
    A balanced crank is in balance with its old bobweights, so the differences alone, at the pins, are what is out
    (common practice, no source); they are carried to the planes by statics.

    Examples
    --------
    >>> throws = [RebuiltThrow(pin_deg=0.0, position_mm=0.0, old_bobweight_g=2317.8, new_bobweight_g=2327.8)]
    >>> crank = rebuilt_crank(throws, crank_radius_mm=44.0, plane_positions_mm=[0.0], plane_radii_mm=[88.0])
    >>> round(crank.differences_g[0], 6), round(crank.out_g[0].amount, 6), crank.out_g[0].angle_deg
    (10.0, 5.0, 0.0)
    """
    if not 1 <= len(throws) <= MOST_THROWS:
        raise QuantityError("throws", found=len(throws), wanted=f"1 to {MOST_THROWS} throws")
    positive(crank_radius_mm, quantity="crank_radius_mm")
    if len(plane_radii_mm) != len(plane_positions_mm):
        raise QuantityError("planes", found=len(plane_radii_mm), wanted="one radius a plane")
    for index, radius in enumerate(plane_radii_mm):
        positive(radius, quantity=f"planes[{index}].radius_mm")
    for index, throw in enumerate(throws):
        finite(throw.pin_deg, quantity=f"throws[{index}].pin_deg")
        finite(throw.position_mm, quantity=f"throws[{index}].position_mm")
        positive(throw.old_bobweight_g, quantity=f"throws[{index}].old_bobweight_g")
        positive(throw.new_bobweight_g, quantity=f"throws[{index}].new_bobweight_g")
    differences_g = tuple(throw.new_bobweight_g - throw.old_bobweight_g for throw in throws)
    out_g_mm = transferred(
        [
            PlacedUnbalance(
                Vector(representable(difference * crank_radius_mm, quantity="out_g_mm"), throw.pin_deg),
                throw.position_mm,
            )
            for throw, difference in zip(throws, differences_g, strict=True)
        ],
        planes=plane_positions_mm,
    )
    return RebuiltCrank(
        differences_g=differences_g,
        out_g_mm=out_g_mm,
        out_g=tuple(
            Vector(representable(vector.amount / radius, quantity="out_g"), vector.angle_deg)
            for vector, radius in zip(out_g_mm, plane_radii_mm, strict=True)
        ),
    )
