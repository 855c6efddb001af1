"""A vector in a correction plane: an amount at an angle, and the complex number it is computed as."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable
from dataclasses import dataclass

from bench.computation.checks import finite, finite_sum


def turned_into_circle(angle_deg: float) -> float:
    """Return the angle in [0, 360).

    Parameters
    ----------
    angle_deg : float
        Any finite angle. [deg]

    Returns
    -------
    float
        The same direction, at least 0 and less than 360. [deg]

    Notes
    -----
    A remainder of the division by 360, with the two ends of rounding put right.

    Examples
    --------
    >>> turned_into_circle(-90.0)
    270.0
    >>> turned_into_circle(-1e-20)
    0.0
    """
    turned = angle_deg % 360.0
    # the remainder of a tiny negative angle rounds up to the full circle, -0.0 would show its sign
    return 0.0 if turned >= 360.0 else turned + 0.0


@dataclass(frozen=True, slots=True)
class Vector:
    """An amount at an angle, counter-clockwise positive seen from the front.

    Attributes
    ----------
    amount : float
        Length; its unit is the caller's. A negative amount points the other way.
    angle_deg : float
        Direction. [deg]

    Examples
    --------
    >>> Vector(2.0, 90.0).turned(180.0)
    Vector(amount=2.0, angle_deg=270.0)
    """

    amount: float
    angle_deg: float

    @property
    def as_complex(self) -> complex:
        """The vector as a complex number, real axis at 0 degrees."""
        return cmath.rect(self.amount, math.radians(self.angle_deg))

    @classmethod
    def of(cls, value: complex) -> Vector:
        """Return the vector of a complex number, angle in [0, 360).

        Parameters
        ----------
        value : complex
            Real axis at 0 degrees.

        Returns
        -------
        Vector
            Amount not negative; the angle of nothing is 0.
        """
        amount = math.hypot(value.real, value.imag)
        if amount == 0.0:
            return cls(0.0, 0.0)
        return cls(amount, turned_into_circle(math.degrees(cmath.phase(value))))

    def turned(self, by_deg: float) -> Vector:
        """Return the vector turned counter-clockwise.

        Parameters
        ----------
        by_deg : float
            How far. [deg]

        Returns
        -------
        Vector
            Same amount, angle in [0, 360).
        """
        return Vector(self.amount, turned_into_circle(self.angle_deg + by_deg))

    def checked(self, *, quantity: str) -> Vector:
        """Return the vector itself if amount and angle are finite.

        Parameters
        ----------
        quantity : str
            Name of the vector, for the error.

        Returns
        -------
        Vector
            The same vector.

        Raises
        ------
        QuantityError
            If amount or angle is NaN or infinite.
        """
        finite(self.amount, quantity=f"{quantity}.amount")
        finite(self.angle_deg, quantity=f"{quantity}.angle_deg")
        return self


def sum_of(vectors: Iterable[Vector]) -> Vector:
    """Return the vector sum.

    Parameters
    ----------
    vectors : Iterable[Vector]
        Any number of vectors of one unit.

    Returns
    -------
    Vector
        Their sum, angle in [0, 360).

    Raises
    ------
    QuantityError
        If the sum is too large for a finite number.

    Notes
    -----
    Parts along and across are added apart, each exactly rounded.

    Examples
    --------
    >>> total = sum_of([Vector(3.0, 0.0), Vector(4.0, 90.0)])
    >>> round(total.amount, 12), round(total.angle_deg, 2)
    (5.0, 53.13)
    """
    parts = [v.as_complex for v in vectors]
    return Vector.of(
        complex(
            finite_sum((p.real for p in parts), quantity="amount"),
            finite_sum((p.imag for p in parts), quantity="amount"),
        )
    )
