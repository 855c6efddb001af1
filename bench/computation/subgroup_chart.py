"""Charts of repeated checks: the mean and the range of each group of weighings of the known weight."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, finite_sum
from bench.computation.control_chart import Chart, chart_between
from bench.computation.errors import QuantityError

_RANGE_MEAN = (1.12838, 1.69257, 2.05875, 2.32593, 2.53441, 2.70436, 2.84720, 2.97003, 3.07751)
_RANGE_DEVIATION = (0.85250, 0.88837, 0.87981, 0.86408, 0.84804, 0.83321, 0.81983, 0.80783, 0.79705)
"""Mean and standard deviation of the range of 2 to 10 normal values with unit standard deviation."""


@dataclass(frozen=True, slots=True)
class GroupFactors:
    """Factors of the charts for groups of one size.

    Attributes
    ----------
    range_mean : float
        Mean range over standard deviation, d2.
    range_deviation : float
        Standard deviation of the range over standard deviation, d3.
    deviation_mean : float
        Mean sample standard deviation over standard deviation, c4.
    mean_limit : float
        Limit of the group mean per mean range, A2.
    range_low : float
        Lower limit of the range per mean range, D3.
    range_high : float
        Upper limit of the range per mean range, D4.
    """

    range_mean: float
    range_deviation: float
    deviation_mean: float
    mean_limit: float
    range_low: float
    range_high: float


@dataclass(frozen=True, slots=True)
class GroupCharts:
    """Both charts of groups.

    Attributes
    ----------
    means : Chart
        Group means: has the scale moved.
    ranges : Chart
        Group ranges: has it become restless.
    """

    means: Chart
    ranges: Chart


def group_factors(size: int) -> GroupFactors:
    """Return the factors for groups of this size.

    Parameters
    ----------
    size : int
        Values in a group, 2 to 10.

    Returns
    -------
    GroupFactors
        For limits three standard deviations from the centre.

    Raises
    ------
    QuantityError
        If the size is not 2 to 10.

    Notes
    -----
    Source: Shewhart's charts; d2 and d3 by integration over the normal distribution, c4 by the gamma function.

    Examples
    --------
    >>> round(group_factors(5).mean_limit, 3), round(group_factors(5).range_high, 3)
    (0.577, 2.114)
    """
    if not 2 <= size <= 10:
        raise QuantityError("size", found=size, wanted="groups of 2 to 10 values")
    mean, deviation = _RANGE_MEAN[size - 2], _RANGE_DEVIATION[size - 2]
    spread = 3.0 * deviation / mean
    return GroupFactors(
        range_mean=mean,
        range_deviation=deviation,
        deviation_mean=math.sqrt(2.0 / (size - 1)) * math.exp(math.lgamma(size / 2) - math.lgamma((size - 1) / 2)),
        mean_limit=3.0 / (mean * math.sqrt(size)),
        range_low=max(0.0, 1.0 - spread),
        range_high=1.0 + spread,
    )


def group_charts(groups: Sequence[Sequence[float]]) -> GroupCharts:
    """Return the charts of group means and ranges, limits from the groups themselves.

    Parameters
    ----------
    groups : Sequence[Sequence[float]]
        At least two groups of 2 to 10 values, all of one size.

    Returns
    -------
    GroupCharts
        Points and limits.

    Raises
    ------
    QuantityError
        If there are fewer than two groups, their sizes differ, or a value is not finite.

    Notes
    -----
    Source: Shewhart's charts of mean and range; factors as `group_factors`.

    Examples
    --------
    >>> charts = group_charts([[100.0, 100.2], [100.1, 100.3], [99.0, 99.2]])
    >>> round(charts.means.centre, 3), charts.ranges.outside
    (99.8, ())
    """
    if len(groups) < 2:
        raise QuantityError("groups", found=len(groups), wanted="at least two groups")
    factors = group_factors(len(groups[0]))
    for index, group in enumerate(groups):
        if len(group) != len(groups[0]):
            raise QuantityError(f"groups[{index}]", found=len(group), wanted=f"{len(groups[0])} values as in the first")
        for place, value in enumerate(group):
            finite(value, quantity=f"groups[{index}][{place}]")
    means = [finite_sum(group, quantity="groups") / len(group) for group in groups]
    ranges = [max(group) - min(group) for group in groups]
    centre = finite_sum(means, quantity="groups") / len(means)
    mean_range = finite_sum(ranges, quantity="groups") / len(ranges)
    half = factors.mean_limit * mean_range
    return GroupCharts(
        means=chart_between(means, centre=centre, lower=centre - half, upper=centre + half),
        ranges=chart_between(
            ranges, centre=mean_range, lower=factors.range_low * mean_range, upper=factors.range_high * mean_range
        ),
    )
