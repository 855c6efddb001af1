"""`calc unbalance`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, Number, Positive
from bench.computation.unbalance_units import UnbalanceUnit, centrifugal_force, converted, grams_at_radius

UnitWord = Literal["g mm", "g cm", "kg m", "oz in", "g in", "lb in"]


class Asked(CalcValue):
    """An unbalance and its unit."""

    amount: Number
    unit: UnitWord
    to: UnitWord = "g mm"
    radius_mm: Positive | None = None
    speed_rpm: Positive | None = None


class Answered(CalcValue):
    """The unbalance in another unit, as grams at a radius, and as a force."""

    amount: float
    unit: UnitWord
    grams_at_radius: Annotated[float | None, Field(description="g")] = None
    force_n: float | None = None


def answer(asked: Asked) -> Answered:
    """Return the unbalance in other words.

    Parameters
    ----------
    asked : Asked
        Amount and unit.

    Returns
    -------
    Answered
        The same unbalance.
    """
    source, target = _unit(asked.unit), _unit(asked.to)
    g_mm = converted(asked.amount, source=source, target=UnbalanceUnit.G_MM)
    return Answered(
        amount=converted(asked.amount, source=source, target=target),
        unit=asked.to,
        grams_at_radius=None if asked.radius_mm is None else grams_at_radius(g_mm, radius_mm=asked.radius_mm),
        force_n=None if asked.speed_rpm is None else centrifugal_force(g_mm, speed_rpm=asked.speed_rpm),
    )


def _unit(word: UnitWord) -> UnbalanceUnit:
    return UnbalanceUnit[word.upper().replace(" ", "_")]


SUBJECT = Subject(
    words="an unbalance in other units, as grams at a radius, and as a force",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"amount": 0.5, "unit": "oz in", "to": "g mm", "radius_mm": 88, "speed_rpm": 4600}""",
    example_answer="""\
{"amount": 360.0389436875, "unit": "g mm", "grams_at_radius": 4.091351632812501, "force_n": 83.54536835302784}""",
)
