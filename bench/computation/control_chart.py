"""Control charts of scale checks: is the scale still what it was."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from bench.computation.checks import finite, finite_sum, positive
from bench.computation.errors import QuantityError

MEAN_RANGE_OF_TWO = 2.0 / math.sqrt(math.pi)
"""d2 for two values: mean range of two values of a normal distribution with unit standard deviation."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart.

    Attributes
    ----------
    centre : float
        Centre line.
    lower, upper : float
        Control limits.
    points : tuple[float, ...]
        What is drawn, one a value.
    outside : tuple[int, ...]
        Indices of points outside the limits.
    """

    centre: float
    lower: float
    upper: float
    points: tuple[float, ...]
    outside: tuple[int, ...]


def deviation_from_moving_range(values: Sequence[float]) -> float:
    """Return the standard deviation that the differences of neighbouring values speak for.

    Parameters
    ----------
    values : Sequence[float]
        At least two single checks in order.

    Returns
    -------
    float
        Mean moving range / 1.128.

    Raises
    ------
    QuantityError
        If there are fewer than two values, or one is not finite.

    Notes
    -----
    Source: the chart of individual values, NIST/SEMATECH e-Handbook 6.3.2.2 (from memory).

    Examples
    --------
    >>> round(deviation_from_moving_range([1.0, 2.0, 1.0, 2.0]), 4)
    0.8862
    """
    if len(values) < 2:
        raise QuantityError("values", found=len(values), wanted="at least two checks")
    for index, value in enumerate(values):
        finite(value, quantity=f"values[{index}]")
    total = finite_sum((abs(b - a) for a, b in pairwise(values)), quantity="values")
    return total / (len(values) - 1) / MEAN_RANGE_OF_TWO


def shewhart_chart(values: Sequence[float], *, centre: float, deviation: float, width: float = 3.0) -> Chart:
    """Return the chart of single checks.

    Parameters
    ----------
    values : Sequence[float]
        Checks in order.
    centre : float
        Where they should lie.
    deviation : float
        Their standard deviation when all is well.
    width : float
        Standard deviations from the centre to each limit.

    Returns
    -------
    Chart
        Points are the values themselves.

    Raises
    ------
    QuantityError
        If there is no value, a figure is not finite, or deviation or width are not above zero.

    Notes
    -----
    Source: Shewhart's chart, limits three standard deviations from the centre.

    Examples
    --------
    >>> shewhart_chart([100.0, 100.4], centre=100.0, deviation=0.1).outside
    (1,)
    """
    _check(values, centre=centre, deviation=deviation, width=width)
    return _chart(values, centre=centre, half=width * deviation)


def ewma_chart(values: Sequence[float], *, centre: float, deviation: float, weight: float, width: float = 3.0) -> Chart:
    """Return the chart of exponentially weighted means, which sees a slow drift before single values do.

    Parameters
    ----------
    values : Sequence[float]
        Checks in order.
    centre : float
        Where they should lie; the mean before the first check.
    deviation : float
        Standard deviation of a check when all is well.
    weight : float
        Weight of the newest check, above 0 and up to 1.
    width : float
        Standard deviations of the weighted mean from the centre to each limit.

    Returns
    -------
    Chart
        One weighted mean a check, the check itself included; the limits are those of a long series.

    Raises
    ------
    QuantityError
        If there is no value, a figure is not finite, deviation or width are not above zero, or the weight not in
        (0, 1].

    Notes
    -----
    Source: NIST/SEMATECH e-Handbook 6.3.2.4: mean_t = weight y_t + (1 - weight) mean_{t-1}, limits
    centre +- width deviation sqrt(weight / (2 - weight)).

    Examples
    --------
    >>> [round(p, 3) for p in ewma_chart([52.0, 47.0], centre=50.0, deviation=2.0539, weight=0.3).points]
    [50.6, 49.52]
    """
    _check(values, centre=centre, deviation=deviation, width=width)
    if not 0.0 < weight <= 1.0:
        raise QuantityError("weight", found=weight, wanted="above 0 and at most 1")
    points: list[float] = []
    mean = centre
    for value in values:
        mean = weight * value + (1.0 - weight) * mean
        points.append(mean)
    return _chart(points, centre=centre, half=width * deviation * math.sqrt(weight / (2.0 - weight)))


def _check(values: Sequence[float], *, centre: float, deviation: float, width: float) -> None:
    if not values:
        raise QuantityError("values", found="none", wanted="at least one check")
    for index, value in enumerate(values):
        finite(value, quantity=f"values[{index}]")
    finite(centre, quantity="centre")
    positive(deviation, quantity="deviation")
    positive(width, quantity="width")
    finite(centre + width * deviation, quantity="deviation")
    finite(centre - width * deviation, quantity="deviation")


def _chart(points: Sequence[float], *, centre: float, half: float) -> Chart:
    return chart_between(points, centre=centre, lower=centre - half, upper=centre + half)


def chart_between(points: Sequence[float], *, centre: float, lower: float, upper: float) -> Chart:
    """Return the chart of points between two limits.

    Parameters
    ----------
    points : Sequence[float]
        What is drawn.
    centre : float
        Centre line.
    lower : float
        Lower limit.
    upper : float
        Upper limit.

    Returns
    -------
    Chart
        With the points that lie outside; a point on a limit is inside.

    Notes
    -----
    Source: any control chart; the limits are the caller's.

    Examples
    --------
    >>> chart_between([9.0, 10.5, 11.5], centre=10.0, lower=9.0, upper=11.0).outside
    (2,)
    """
    return Chart(
        centre=centre,
        lower=lower,
        upper=upper,
        points=tuple(points),
        outside=tuple(index for index, point in enumerate(points) if not lower <= point <= upper),
    )
