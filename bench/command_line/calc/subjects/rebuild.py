"""`calc rebuild`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, Number, Positive, VectorValue, vector_values
from bench.computation.rebuild import MOST_THROWS, RebuiltThrow, rebuilt_crank


class Throw(CalcValue):
    """One throw before and after."""

    pin_deg: Number
    position_mm: Number
    old_bobweight_g: Positive
    new_bobweight_g: Positive


class Plane(CalcValue):
    """A correction plane."""

    position_mm: Number
    radius_mm: Positive


class Asked(CalcValue):
    """Throws, half the stroke, and the correction planes."""

    throws: Annotated[tuple[Throw, ...], Field(min_length=1, max_length=MOST_THROWS)]
    crank_radius_mm: Positive
    planes: Annotated[tuple[Plane, ...], Field(min_length=1, max_length=2)]


class Answered(CalcValue):
    """How far out the crank would be as it is."""

    differences_g: tuple[float, ...]
    out_g_mm: tuple[VectorValue, ...]
    out_g: tuple[VectorValue, ...]


def answer(asked: Asked) -> Answered:
    """Return what the new parts do to a balanced crank.

    Parameters
    ----------
    asked : Asked
        Old and new bobweights.

    Returns
    -------
    Answered
        Differences and unbalance.
    """
    found = rebuilt_crank(
        [
            RebuiltThrow(
                pin_deg=throw.pin_deg,
                position_mm=throw.position_mm,
                old_bobweight_g=throw.old_bobweight_g,
                new_bobweight_g=throw.new_bobweight_g,
            )
            for throw in asked.throws
        ],
        crank_radius_mm=asked.crank_radius_mm,
        plane_positions_mm=[plane.position_mm for plane in asked.planes],
        plane_radii_mm=[plane.radius_mm for plane in asked.planes],
    )
    return Answered(
        differences_g=found.differences_g, out_g_mm=vector_values(found.out_g_mm), out_g=vector_values(found.out_g)
    )


SUBJECT = Subject(
    words="a balanced crank with new parts: how far out it would be",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"throws": [{"pin_deg": 0, "position_mm": 0, "old_bobweight_g": 1843.0, "new_bobweight_g": 1829.4},
            {"pin_deg": 180, "position_mm": 100, "old_bobweight_g": 1843.0, "new_bobweight_g": 1843.0}],
 "crank_radius_mm": 42, "planes": [{"position_mm": -30, "radius_mm": 88}, {"position_mm": 130, "radius_mm": 88}]}""",
    example_answer="""\
{"differences_g": [-13.599999999999909, 0.0], "out_g_mm": [{"amount": 464.0999999999969, "angle_deg": 180.0},
 {"amount": 107.09999999999928, "angle_deg": 180.0}], "out_g": [{"amount": 5.273863636363601,
 "angle_deg": 180.0}, {"amount": 1.2170454545454463, "angle_deg": 180.0}]}""",
)
