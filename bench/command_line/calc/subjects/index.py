"""`calc index`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, Number, VectorValue
from bench.computation.index_balancing import index_parts


class Asked(CalcValue):
    """Readings, and how far the tooling was turned for each."""

    readings: Annotated[tuple[VectorValue, ...], Field(min_length=2, max_length=1000)]
    index_deg: Annotated[tuple[Number, ...], Field(min_length=2, max_length=1000)]


class Answered(CalcValue):
    """What belongs to the rotor and what to the tooling at index 0."""

    rotor: VectorValue
    tooling: VectorValue
    largest_misfit: float


def answer(asked: Asked) -> Answered:
    """Return the rotor's and the tooling's part.

    Parameters
    ----------
    asked : Asked
        The readings.

    Returns
    -------
    Answered
        Told apart.
    """
    found = index_parts([reading.vector for reading in asked.readings], index_deg=asked.index_deg)
    return Answered(
        rotor=VectorValue.of(found.rotor),
        tooling=VectorValue.of(found.tooling),
        largest_misfit=found.largest_misfit,
    )


SUBJECT = Subject(
    words="rotor and tooling told apart by turning one against the other",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"readings": [{"amount": 90, "angle_deg": 10}, {"amount": 40, "angle_deg": 60}], "index_deg": [0, 180]}""",
    example_answer="""\
{"rotor": {"amount": 59.84995987831379, "angle_deg": 24.832153836755495},
 "tooling": {"amount": 35.60873913190734, "angle_deg": 344.5161652691788}, "largest_misfit": 0.0}""",
)
