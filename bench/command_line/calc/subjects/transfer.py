"""`calc transfer`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, Number, VectorValue, vector_values
from bench.computation.transfer import PlacedUnbalance, transferred
from bench.computation.vectors import Vector


class Placed(CalcValue):
    """An unbalance and where along the rotor it is."""

    amount: Number
    angle_deg: Number
    position: Number


class Asked(CalcValue):
    """Unbalances, and the positions of one or two planes."""

    unbalances: Annotated[tuple[Placed, ...], Field(min_length=1, max_length=10_000)]
    planes: Annotated[tuple[Number, ...], Field(min_length=1, max_length=2)]


class Answered(CalcValue):
    """What they amount to in the planes, and what must be added there."""

    unbalance: tuple[VectorValue, ...]
    add: tuple[VectorValue, ...]


def answer(asked: Asked) -> Answered:
    """Return what the unbalances amount to in the planes.

    Parameters
    ----------
    asked : Asked
        Unbalances and planes.

    Returns
    -------
    Answered
        One vector a plane.
    """
    found = transferred(
        [PlacedUnbalance(Vector(u.amount, u.angle_deg), u.position) for u in asked.unbalances], planes=asked.planes
    )
    return Answered(
        unbalance=vector_values(found),
        add=vector_values(tuple(vector.turned(180.0) if vector.amount else vector for vector in found)),
    )


SUBJECT = Subject(
    words="unbalances along a rotor as what they are in one or two planes",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"unbalances": [{"amount": 300, "angle_deg": 30, "position": 100}, {"amount": 200, "angle_deg": 200, "position": 320}],
 "planes": [0, 400]}""",
    example_answer="""\
{"unbalance": [{"amount": 185.7376118231853, "angle_deg": 32.14315842050258}, {"amount": 87.11839029566036,
 "angle_deg": 191.40243784737655}], "add": [{"amount": 185.7376118231853, "angle_deg": 212.14315842050257},
 {"amount": 87.11839029566036, "angle_deg": 11.402437847376518}]}""",
)
