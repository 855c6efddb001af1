"""Mean, standard deviation, lag-1 correlation and the straight line of a series, to the last digits a double holds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from bench.computation.checks import finite, finite_sum
from bench.computation.errors import QuantityError


@dataclass(frozen=True, slots=True)
class Sample:
    """A series in short.

    Attributes
    ----------
    count : int
        Number of values.
    mean : float
        Their mean.
    standard_deviation : float
        With one less than the count in the divisor.
    lag_1 : float
        Correlation of each value with the next; 0 for a series without any spread.
    """

    count: int
    mean: float
    standard_deviation: float
    lag_1: float


@dataclass(frozen=True, slots=True)
class Line:
    """The least squares line y = intercept + slope x.

    Attributes
    ----------
    intercept, slope : float
        The line.
    intercept_uncertainty, slope_uncertainty : float
        Their standard uncertainties.
    residual_deviation : float
        Standard deviation about the line.
    r_squared : float
        Part of the spread that the line explains.
    """

    intercept: float
    slope: float
    intercept_uncertainty: float
    slope_uncertainty: float
    residual_deviation: float
    r_squared: float


def sample(values: Sequence[float]) -> Sample:
    """Return mean, standard deviation and lag-1 correlation.

    Parameters
    ----------
    values : Sequence[float]
        At least two.

    Returns
    -------
    Sample
        The series in short.

    Raises
    ------
    QuantityError
        If there are fewer than two values, or one is not finite.

    Notes
    -----
    Two passes with exactly rounded sums; the definitions are those of the NIST StRD univariate sets.

    Examples
    --------
    >>> sample([10000001.0, 10000003.0, 10000002.0])
    Sample(count=3, mean=10000002.0, standard_deviation=1.0, lag_1=-0.5)
    """
    if len(values) < 2:
        raise QuantityError("values", found=len(values), wanted="at least two values")
    for index, value in enumerate(values):
        finite(value, quantity=f"values[{index}]")
    mean, deviations = _centred(values)
    squares = finite_sum((d * d for d in deviations), quantity="values")
    neighbours = math.fsum(a * b for a, b in pairwise(deviations))
    return Sample(
        count=len(values),
        mean=mean,
        standard_deviation=math.sqrt(squares / (len(values) - 1)),
        lag_1=neighbours / squares if squares else 0.0,
    )


def fitted_line(xs: Sequence[float], ys: Sequence[float]) -> Line:
    """Return the straight line through points, with the uncertainties of its two figures.

    Parameters
    ----------
    xs : Sequence[float]
        Where.
    ys : Sequence[float]
        What.

    Returns
    -------
    Line
        Least squares.

    Raises
    ------
    QuantityError
        If there are fewer than three points, not as many xs as ys, all xs are one, or a value is not finite.

    Notes
    -----
    Source: least squares about the means; checked against the certified values of NIST StRD Norris.

    Examples
    --------
    >>> line = fitted_line([0.0, 1.0, 2.0], [1.0, 3.0, 5.0])
    >>> line.intercept, line.slope, line.r_squared
    (1.0, 2.0, 1.0)
    """
    if len(xs) < 3:
        raise QuantityError("xs", found=len(xs), wanted="at least three points")
    if len(ys) != len(xs):
        raise QuantityError("ys", found=len(ys), wanted=f"as many as xs, {len(xs)}")
    for name, values in (("xs", xs), ("ys", ys)):
        for index, value in enumerate(values):
            finite(value, quantity=f"{name}[{index}]")
    mean_x, away_x = _centred(xs)
    mean_y, away_y = _centred(ys)
    squares_x = finite_sum((d * d for d in away_x), quantity="xs")
    squares_y = finite_sum((d * d for d in away_y), quantity="ys")
    if squares_x == 0.0:
        raise QuantityError("xs", found=xs[0], wanted="points at different xs")
    slope = finite_sum((a * b for a, b in zip(away_x, away_y, strict=True)), quantity="slope") / squares_x
    rest = math.fsum((y - slope * x) ** 2 for x, y in zip(away_x, away_y, strict=True))
    deviation = math.sqrt(rest / (len(xs) - 2))
    return Line(
        intercept=mean_y - slope * mean_x,
        slope=slope,
        intercept_uncertainty=deviation * math.sqrt(1.0 / len(xs) + mean_x * mean_x / squares_x),
        slope_uncertainty=deviation / math.sqrt(squares_x),
        residual_deviation=deviation,
        r_squared=1.0 - rest / squares_y if squares_y else 1.0,
    )


def _centred(values: Sequence[float]) -> tuple[float, list[float]]:
    """Return the mean and the deviations from it, both better than a double can hold the mean."""
    mean = finite_sum(values, quantity="values") / len(values)
    deviations = [value - mean for value in values]
    # the mean is rounded: what is left of the deviations' mean is put right
    rest = math.fsum(deviations) / len(values)
    return mean, [deviation - rest for deviation in deviations]
