"""The inertia of an engine layout: how each order of force and couple turns with and against the crank."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, finite_sum, representable
from bench.computation.errors import QuantityError
from bench.computation.vectors import Vector

MOST_CYLINDERS = 64
"""Cylinders of one crank that are still taken seriously."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """Where one cylinder's piston and pin are.

    Attributes
    ----------
    pin_deg : float
        Angle of its crank pin at crank angle zero. [deg]
    bank_deg : float
        Direction in which its piston moves away from the crank. [deg]
    position : float
        Along the crank, from the point the couples are taken about; any unit of length, the couples are in it too.
    """

    pin_deg: float
    bank_deg: float
    position: float


@dataclass(frozen=True, slots=True)
class TurningPair:
    """A force or couple that is the sum of one vector turning with the crank and one turning against it.

    Attributes
    ----------
    forward : Vector
        Turns with the crank; where it points at crank angle zero.
    backward : Vector
        Turns against it; where it points at crank angle zero.
    """

    forward: Vector
    backward: Vector

    @property
    def peak(self) -> float:
        """Largest amount over a turn: half the long axis of the ellipse."""
        return self.forward.amount + self.backward.amount

    @property
    def least(self) -> float:
        """Smallest amount over a turn: half the short axis of the ellipse."""
        return abs(self.forward.amount - self.backward.amount)

    @property
    def peak_direction_deg(self) -> float:
        """Direction of the long axis in degrees, in [0, 180); 0 for a circle."""
        if self.forward.amount == 0.0 or self.backward.amount == 0.0:
            return 0.0
        return (self.forward.angle_deg + self.backward.angle_deg) / 2.0 % 180.0

    def at(self, *, turned_deg: float) -> complex:
        """Return the sum of both vectors when the pair has turned so far.

        Parameters
        ----------
        turned_deg : float
            Angle the forward vector has turned: crank angle times order. [deg]

        Returns
        -------
        complex
            Real axis at 0 degrees.
        """
        turn = cmath.rect(1.0, math.radians(turned_deg))
        return self.forward.as_complex * turn + self.backward.as_complex / turn

    def scaled(self, *, forward: float, backward: float) -> TurningPair:
        """Return the pair with each vector multiplied by a factor.

        Parameters
        ----------
        forward : float
            Factor of the forward vector; a negative one turns it round.
        backward : float
            Factor of the backward vector.

        Returns
        -------
        TurningPair
            Amounts not negative.
        """
        return TurningPair(Vector.of(self.forward.as_complex * forward), Vector.of(self.backward.as_complex * backward))


@dataclass(frozen=True, slots=True)
class Order:
    """Force and couple of one order.

    Attributes
    ----------
    force : TurningPair
        In multiples of m r omega^2.
    couple : TurningPair
        The same times the unit of the positions.
    """

    force: TurningPair
    couple: TurningPair


@dataclass(frozen=True, slots=True)
class EngineInertia:
    """What a layout does with equal masses in every cylinder, in multiples of m r omega^2.

    Attributes
    ----------
    rotating_force : Vector
        One unit mass a cylinder on its pin: force at crank angle zero.
    rotating_couple : Vector
        The same weighted with the positions.
    first_order : Order
        Of the reciprocating masses.
    second_order : Order
        Of the reciprocating masses, without the factor lambda.
    """

    rotating_force: Vector
    rotating_couple: Vector
    first_order: Order
    second_order: Order


def engine_inertia(cylinders: Sequence[Cylinder]) -> EngineInertia:
    """Return the rotating, first-order and second-order force and couple of a layout.

    Parameters
    ----------
    cylinders : Sequence[Cylinder]
        Any number, any pin angles, bank angles and positions.

    Returns
    -------
    EngineInertia
        Each order split into a vector turning with the crank and one turning against it.

    Raises
    ------
    QuantityError
        If there is no cylinder or more than 64, or an angle or position is not finite.

    Notes
    -----
    On the block each cylinder makes m r omega^2 [cos(t + p - b) + lambda cos 2(t + p - b)] along its bank (Den Hartog;
    Taylor; Norton). First order forward 1/2 sum e^{ip}, backward 1/2 sum e^{i(2b - p)}; second order forward
    1/2 sum e^{i(2p - b)}, backward 1/2 sum e^{i(3b - 2p)}; couples are the same sums weighted with the position.

    Examples
    --------
    >>> pair = [Cylinder(pin_deg=0.0, bank_deg=bank, position=0.0) for bank in (-45.0, 45.0)]
    >>> first = engine_inertia(pair).first_order.force
    >>> round(first.peak, 9), round(first.least, 9)
    (1.0, 1.0)
    """
    if not 1 <= len(cylinders) <= MOST_CYLINDERS:
        raise QuantityError("cylinders", found=len(cylinders), wanted=f"1 to {MOST_CYLINDERS} cylinders")
    for index, cylinder in enumerate(cylinders):
        for name in ("pin_deg", "bank_deg", "position"):
            finite(getattr(cylinder, name), quantity=f"cylinders[{index}].{name}")

    def force(angle_deg: Callable[[Cylinder], float], weight: float) -> Vector:
        return _weighted_sum(cylinders, angle_deg=angle_deg, weight=lambda _cylinder: weight)

    def couple(angle_deg: Callable[[Cylinder], float], weight: float) -> Vector:
        return _weighted_sum(cylinders, angle_deg=angle_deg, weight=lambda cylinder: weight * cylinder.position)

    def order(forward: Callable[[Cylinder], float], backward: Callable[[Cylinder], float]) -> Order:
        return Order(
            force=TurningPair(force(forward, 0.5), force(backward, 0.5)),
            couple=TurningPair(couple(forward, 0.5), couple(backward, 0.5)),
        )

    return EngineInertia(
        rotating_force=force(_pin, 1.0),
        rotating_couple=couple(_pin, 1.0),
        first_order=order(_pin, lambda c: 2.0 * _bank(c) - _pin(c)),
        second_order=order(lambda c: 2.0 * _pin(c) - _bank(c), lambda c: 3.0 * _bank(c) - 2.0 * _pin(c)),
    )


def _pin(cylinder: Cylinder) -> float:
    return math.fmod(cylinder.pin_deg, 360.0)


def _bank(cylinder: Cylinder) -> float:
    return math.fmod(cylinder.bank_deg, 360.0)


def _weighted_sum(
    cylinders: Sequence[Cylinder], *, angle_deg: Callable[[Cylinder], float], weight: Callable[[Cylinder], float]
) -> Vector:
    parts = [cmath.rect(weight(c), math.radians(angle_deg(c))) for c in cylinders]
    total = complex(
        finite_sum((p.real for p in parts), quantity="cylinders.position"),
        finite_sum((p.imag for p in parts), quantity="cylinders.position"),
    )
    # cosines of 90 degrees leave 6e-17: what is far below the last digit of the terms is nothing
    floor = sum(math.hypot(p.real, p.imag) * 1e-15 for p in parts)
    vector = Vector.of(total)
    representable(vector.amount, quantity="cylinders.position")
    return Vector(0.0, 0.0) if vector.amount <= floor else vector
