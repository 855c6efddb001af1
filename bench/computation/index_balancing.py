"""Index balancing: the rotor's unbalance and the tooling's, told apart by turning one against the other."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, representable
from bench.computation.errors import QuantityError
from bench.computation.vectors import Vector, sum_of

LEAST_SEPARATION = 0.01
"""Square of the sine of half the angle between two positions: below it (11.5 degrees) errors grow tenfold."""


@dataclass(frozen=True, slots=True)
class IndexParts:
    """What belongs to the rotor and what to the tooling.

    Attributes
    ----------
    rotor : Vector
        Stays where it is on the rotor.
    tooling : Vector
        Turns with the tooling; given for index position 0.
    largest_misfit : float
        Largest distance of a reading from what the two explain; 0 for two readings.
    """

    rotor: Vector
    tooling: Vector
    largest_misfit: float


def index_parts(readings: Sequence[Vector], *, index_deg: Sequence[float]) -> IndexParts:
    """Return the rotor's and the tooling's part of readings taken with the tooling turned.

    Parameters
    ----------
    readings : Sequence[Vector]
        One a spin, in the rotor's own directions.
    index_deg : Sequence[float]
        How far the tooling (bobweight set, fixture, mandrel) was turned against the rotor for each. [deg]

    Returns
    -------
    IndexParts
        Least squares where there are more than two readings.

    Raises
    ------
    QuantityError
        If there are fewer than two readings, not as many positions as readings, the positions are too near each
        other, or a figure is not finite.

    Notes
    -----
    Source: ISO 21940-14. reading_k = rotor + tooling e^{i index_k}; for positions evenly round the circle the rotor's
    part is the mean of the readings.

    Examples
    --------
    >>> parts = index_parts([Vector(5.0, 0.0), Vector(1.0, 0.0)], index_deg=[0.0, 180.0])
    >>> round(parts.rotor.amount, 9), round(parts.tooling.amount, 9)
    (3.0, 2.0)
    """
    if len(readings) < 2:
        raise QuantityError("readings", found=len(readings), wanted="at least two spins")
    if len(index_deg) != len(readings):
        raise QuantityError("index_deg", found=len(index_deg), wanted=f"one position a reading, {len(readings)}")
    for index, (reading, position) in enumerate(zip(readings, index_deg, strict=True)):
        reading.checked(quantity=f"readings[{index}]")
        finite(position, quantity=f"index_deg[{index}]")
    count = len(readings)
    turns = [cmath.rect(1.0, math.radians(math.fmod(position, 360.0))) for position in index_deg]
    mean_turn = sum(turns) / count
    separation = 1.0 - abs(mean_turn) ** 2
    if not separation >= LEAST_SEPARATION:
        raise QuantityError("index_deg", found=list(index_deg), wanted="positions well apart, best half a turn")
    mean_reading = sum_of(readings).as_complex / count
    mean_turned_back = (
        sum_of(
            Vector(reading.amount, reading.angle_deg - position)
            for reading, position in zip(readings, index_deg, strict=True)
        ).as_complex
        / count
    )
    tooling = (mean_turned_back - mean_turn.conjugate() * mean_reading) / separation
    rotor = mean_reading - mean_turn * tooling
    misfits = [abs(reading.as_complex - rotor - tooling * turn) for reading, turn in zip(readings, turns, strict=True)]
    largest = representable(max(misfits), quantity="readings.amount") if count > 2 else 0.0
    rotor_vector, tooling_vector = Vector.of(rotor), Vector.of(tooling)
    representable(rotor_vector.amount + tooling_vector.amount, quantity="readings.amount")
    return IndexParts(rotor=rotor_vector, tooling=tooling_vector, largest_misfit=largest)
