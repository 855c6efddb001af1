"""`calc drill`."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, Positive
from bench.computation.drill import Drill, depth_for_amount, depth_for_grams, hole_of_depth


class Asked(CalcValue):
    """Drill, counterweight, and one of depth, amount or grams."""

    diameter_mm: Positive
    depth_mm: Positive | None = None
    amount_g_mm: Positive | None = None
    grams: Positive | None = None
    point_deg: Annotated[float, Field(gt=0, le=180)]
    density_g_cm3: Positive
    outer_radius_mm: Positive
    slug_density_g_cm3: Positive | None = None
    depth_limit_mm: Positive | None = None

    @model_validator(mode="after")
    def _one_wish(self) -> Self:
        if sum(wish is not None for wish in (self.depth_mm, self.amount_g_mm, self.grams)) != 1:
            raise ValueError("one of depth_mm, amount_g_mm and grams")
        return self


class Answered(CalcValue):
    """The hole; with a slug, grams and amount are what it gains."""

    depth_mm: float
    volume_mm3: float
    grams: float
    centroid_radius_mm: float
    amount_g_mm: float


def answer(asked: Asked) -> Answered:
    """Return the hole.

    Parameters
    ----------
    asked : Asked
        Drill and wish.

    Returns
    -------
    Answered
        Depth and what it does.
    """
    drill = Drill(
        diameter_mm=asked.diameter_mm,
        point_deg=asked.point_deg,
        outer_radius_mm=asked.outer_radius_mm,
        density_g_cm3=asked.density_g_cm3,
        slug_density_g_cm3=asked.slug_density_g_cm3,
        depth_limit_mm=asked.depth_limit_mm,
    )
    if asked.amount_g_mm is not None:
        hole = depth_for_amount(drill, amount_g_mm=asked.amount_g_mm)
    elif asked.grams is not None:
        hole = depth_for_grams(drill, grams=asked.grams)
    else:
        hole = hole_of_depth(drill, depth_mm=asked.depth_mm or 0.0)
    return Answered(
        depth_mm=hole.depth_mm,
        volume_mm3=hole.volume_mm3,
        grams=hole.grams,
        centroid_radius_mm=hole.centroid_radius_mm,
        amount_g_mm=hole.amount_g_mm,
    )


SUBJECT = Subject(
    words="a drilled hole or a heavy metal slug, from depth to amount and back",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"diameter_mm": 12.7, "amount_g_mm": 1500, "point_deg": 118, "density_g_cm3": 7.85, "outer_radius_mm": 88}""",
    example_answer="""\
{"depth_mm": 18.053170255446297, "volume_mm3": 2440.769172408566, "grams": 19.160038003407244,
 "centroid_radius_mm": 78.28794492647948, "amount_g_mm": 1500.0}""",
)
