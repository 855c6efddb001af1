"""`calc bobweight`."""

from __future__ import annotations

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, NotNegative, Positive, Share
from bench.computation.bobweight import MOST_RODS, PartUncertainty, RodParts, ThrowParts, bobweight


class Grams(CalcValue):
    """Weights of one rod's parts; the oil is of the throw. 0 for what was weighed with another part."""

    piston: Positive
    rings: NotNegative
    pin: NotNegative
    locks: NotNegative
    rod_small_end: Positive
    rod_big_end: Positive | None = None
    rod_whole: Positive | None = None
    rod_bearing: NotNegative
    oil: NotNegative


class Uncertainties(CalcValue):
    """Standard uncertainty of each weighing."""

    piston: NotNegative = 0.0
    rings: NotNegative = 0.0
    pin: NotNegative = 0.0
    locks: NotNegative = 0.0
    rod_small_end: NotNegative = 0.0
    rod_big_end: NotNegative = 0.0
    rod_whole: NotNegative = 0.0
    rod_bearing: NotNegative = 0.0
    oil: NotNegative = 0.0


class Asked(CalcValue):
    """Parts of a throw whose rods are alike."""

    rods_per_throw: int = Field(ge=1, le=MOST_RODS)
    reciprocating_share: Share
    grams: Grams
    standard_uncertainty_g: Uncertainties | None = None


class Line(CalcValue):
    """One line of the sum."""

    label: str
    grams: float
    factor: float
    contribution_g: float


class Answered(CalcValue):
    """The bobweight."""

    bobweight_g: float
    rotating_g: float
    reciprocating_g: float
    lines: tuple[Line, ...]
    standard_uncertainty_g: float | None = None


def answer(asked: Asked) -> Answered:
    """Return the bobweight of the throw.

    Parameters
    ----------
    asked : Asked
        Its parts.

    Returns
    -------
    Answered
        Itemised.
    """
    grams, count, known = asked.grams, asked.rods_per_throw, asked.standard_uncertainty_g
    rod = RodParts(
        piston_g=grams.piston,
        rings_g=grams.rings,
        pin_g=grams.pin,
        locks_g=grams.locks,
        rod_small_end_g=grams.rod_small_end,
        rod_whole_g=grams.rod_whole,
        rod_big_end_g=grams.rod_big_end,
        count=count,
    )
    found = bobweight(
        ThrowParts(rods=(rod,), rod_bearings_g=count * grams.rod_bearing, oil_g=grams.oil),
        reciprocating_share=asked.reciprocating_share,
        uncertainty=None
        if known is None
        else PartUncertainty(
            piston_g=known.piston,
            rings_g=known.rings,
            pin_g=known.pin,
            locks_g=known.locks,
            rod_small_end_g=known.rod_small_end,
            rod_whole_g=known.rod_whole,
            rod_big_end_g=known.rod_big_end,
            rod_bearings_g=count * known.rod_bearing,
            oil_g=known.oil,
        ),
    )
    return Answered(
        bobweight_g=found.total_g,
        rotating_g=found.rotating_g,
        reciprocating_g=found.reciprocating_g,
        lines=tuple(
            Line(label=line.label, grams=line.grams, factor=line.factor, contribution_g=line.contribution_g)
            for line in found.lines
        ),
        standard_uncertainty_g=found.standard_uncertainty_g,
    )


SUBJECT = Subject(
    words="what a throw's bobweight must weigh",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"rods_per_throw": 2, "reciprocating_share": 0.5,
 "grams": {"piston": 512.4, "rings": 31.2, "pin": 118.6, "locks": 2.4, "rod_small_end": 172.1, "rod_whole": 601.9,
           "rod_bearing": 42.5, "oil": 4.0}}""",
    example_answer="""\
{"bobweight_g": 1785.3, "rotating_g": 948.5999999999999, "reciprocating_g": 836.6999999999999,
 "lines": [{"label": "rod big end (whole less small end)", "grams": 429.79999999999995, "factor": 2.0,
 "contribution_g": 859.5999999999999}, {"label": "rod bearings", "grams": 85.0, "factor": 1.0,
 "contribution_g": 85.0}, {"label": "oil", "grams": 4.0, "factor": 1.0, "contribution_g": 4.0},
 {"label": "piston", "grams": 512.4, "factor": 1.0, "contribution_g": 512.4}, {"label": "rings", "grams": 31.2,
 "factor": 1.0, "contribution_g": 31.2}, {"label": "pin", "grams": 118.6, "factor": 1.0,
 "contribution_g": 118.6}, {"label": "locks", "grams": 2.4, "factor": 1.0, "contribution_g": 2.4},
 {"label": "rod small end", "grams": 172.1, "factor": 1.0, "contribution_g": 172.1}]}""",
    fields={
        "piston_g": "grams.piston",
        "rings_g": "grams.rings",
        "pin_g": "grams.pin",
        "locks_g": "grams.locks",
        "rod_small_end_g": "grams.rod_small_end",
        "rod_whole_g": "grams.rod_whole",
        "rod_big_end_g": "grams.rod_big_end",
        "rod_bearings_g": "grams.rod_bearing",
        "oil_g": "grams.oil",
        "bobweight_g": "grams",
        "count": "rods_per_throw",
    },
)
