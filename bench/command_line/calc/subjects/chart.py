"""`calc chart`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, Number, Positive
from bench.computation.control_chart import Chart, deviation_from_moving_range, ewma_chart, shewhart_chart


class Asked(CalcValue):
    """Scale checks in order; without a deviation it is taken from their moving range."""

    values: Annotated[tuple[Number, ...], Field(min_length=2, max_length=100_000)]
    centre: Number
    deviation: Positive | None = None
    width: Positive = 3.0
    weight: Annotated[float, Field(gt=0, le=1)] = 0.3


class ChartValue(CalcValue):
    """One chart."""

    kind: Literal["single", "weighted"]
    lower: float
    upper: float
    points: tuple[float, ...]
    outside: tuple[int, ...]


class Answered(CalcValue):
    """Single values, and exponentially weighted means that see a slow drift."""

    centre: float
    deviation: float
    single: ChartValue
    weighted: ChartValue


def answer(asked: Asked) -> Answered:
    """Return both charts.

    Parameters
    ----------
    asked : Asked
        The checks.

    Returns
    -------
    Answered
        Points and limits.
    """
    deviation = asked.deviation
    if deviation is None:
        deviation = deviation_from_moving_range(asked.values)
    single = shewhart_chart(asked.values, centre=asked.centre, deviation=deviation, width=asked.width)
    weighted = ewma_chart(
        asked.values, centre=asked.centre, deviation=deviation, weight=asked.weight, width=asked.width
    )
    return Answered(
        centre=asked.centre,
        deviation=deviation,
        single=_value("single", single),
        weighted=_value("weighted", weighted),
    )


def _value(kind: Literal["single", "weighted"], chart: Chart) -> ChartValue:
    return ChartValue(kind=kind, lower=chart.lower, upper=chart.upper, points=chart.points, outside=chart.outside)


SUBJECT = Subject(
    words="control charts of scale checks",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"values": [1000.0, 1000.1, 1000.0, 999.9, 1000.1, 1000.6], "centre": 1000.0, "deviation": 0.08}""",
    example_answer="""\
{"centre": 1000.0, "deviation": 0.08, "single": {"kind": "single", "lower": 999.76, "upper": 1000.24,
 "points": [1000.0, 1000.1, 1000.0, 999.9, 1000.1, 1000.6], "outside": [5]}, "weighted": {"kind": "weighted",
 "lower": 999.89917983395, "upper": 1000.10082016605, "points": [1000.0, 1000.03, 1000.021, 999.9847,
 1000.01929, 1000.193503], "outside": [5]}}""",
)
