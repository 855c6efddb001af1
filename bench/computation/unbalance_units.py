"""Units of unbalance, and what an unbalance is at a radius and at a speed."""

from __future__ import annotations

import math
from enum import Enum

from bench.computation.checks import finite, positive, representable

GRAMS_PER_OUNCE = 28.349523125
"""Avoirdupois ounce, exact by definition. [g]"""
MM_PER_INCH = 25.4
"""Inch, exact by definition. [mm]"""


class UnbalanceUnit(Enum):
    """Units of unbalance, each with its size in gram millimetres (exact by the definitions of inch and pound)."""

    G_MM = 1.0
    G_CM = 10.0
    KG_M = 1_000_000.0
    OZ_IN = 720.077887375
    G_IN = 25.4
    LB_IN = 11521.246198


def converted(amount: float, *, source: UnbalanceUnit, target: UnbalanceUnit) -> float:
    """Return an unbalance in another unit.

    Parameters
    ----------
    amount : float
        Unbalance in the source unit.
    source : UnbalanceUnit
        Unit it is in.
    target : UnbalanceUnit
        Unit it is wanted in.

    Returns
    -------
    float
        Unbalance in the target unit.

    Raises
    ------
    QuantityError
        If the amount is not finite, or too large for the target unit.

    Notes
    -----
    Source: the definitions of inch (25.4 mm) and pound (453.59237 g), exact.

    Examples
    --------
    >>> converted(1.0, source=UnbalanceUnit.OZ_IN, target=UnbalanceUnit.G_MM)
    720.077887375
    """
    finite(amount, quantity="amount")
    return representable(amount * (source.value / target.value), quantity="amount")


def grams_at_radius(amount_g_mm: float, *, radius_mm: float) -> float:
    """Return the grams that make this unbalance at this radius.

    Parameters
    ----------
    amount_g_mm : float
        Unbalance. [g mm]
    radius_mm : float
        Radius at which the grams sit. [mm]

    Returns
    -------
    float
        Mass. [g]

    Raises
    ------
    QuantityError
        If the amount is not finite or the radius not above zero.

    Notes
    -----
    Source: U = m r, the definition of unbalance.

    Examples
    --------
    >>> grams_at_radius(501.0, radius_mm=50.0)
    10.02
    """
    finite(amount_g_mm, quantity="amount_g_mm")
    return representable(amount_g_mm / positive(radius_mm, quantity="radius_mm"), quantity="grams")


def amount_of_grams(grams: float, *, radius_mm: float) -> float:
    """Return the unbalance of so many grams at this radius.

    Parameters
    ----------
    grams : float
        Mass. [g]
    radius_mm : float
        Radius at which it sits. [mm]

    Returns
    -------
    float
        Unbalance. [g mm]

    Raises
    ------
    QuantityError
        If the mass is not finite or the radius not above zero.

    Notes
    -----
    Source: U = m r, the definition of unbalance.

    Examples
    --------
    >>> amount_of_grams(2.0, radius_mm=80.0)
    160.0
    """
    finite(grams, quantity="grams")
    return representable(grams * positive(radius_mm, quantity="radius_mm"), quantity="amount_g_mm")


def centrifugal_force(amount_g_mm: float, *, speed_rpm: float) -> float:
    """Return the force an unbalance makes at this speed.

    Parameters
    ----------
    amount_g_mm : float
        Unbalance. [g mm]
    speed_rpm : float
        Speed of rotation. [1/min]

    Returns
    -------
    float
        Rotating force U omega^2. [N]

    Raises
    ------
    QuantityError
        If the amount is not finite or the speed not above zero.

    Notes
    -----
    Source: F = U omega^2; 1 g mm = 1e-6 kg m.

    Examples
    --------
    >>> round(centrifugal_force(1000.0, speed_rpm=3000.0), 2)
    98.7
    """
    finite(amount_g_mm, quantity="amount_g_mm")
    omega = positive(speed_rpm, quantity="speed_rpm") * math.tau / 60.0
    return representable(amount_g_mm * 1e-6 * omega * omega, quantity="force_n")
