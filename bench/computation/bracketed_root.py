"""The root of a rising function between two ends, to the last digit."""

from __future__ import annotations

from collections.abc import Callable

from bench.computation.errors import QuantityError


def bracketed_root(function: Callable[[float], float], *, low: float, high: float) -> float:
    """Return where a rising function crosses zero, by halving the bracket until no number lies between its ends.

    Parameters
    ----------
    function : Callable[[float], float]
        Rising, below or at zero at the low end, above or at zero at the high end.
    low : float
        Low end.
    high : float
        High end, above the low end.

    Returns
    -------
    float
        The end of the last bracket at which the function is nearer to zero.

    Raises
    ------
    QuantityError
        If the function does not change its sign from below to above between the ends.

    Notes
    -----
    Source: bisection, any textbook of numerical methods. Some sixty halvings of a bracket of doubles.

    Examples
    --------
    >>> round(bracketed_root(lambda x: x * x - 2.0, low=0.0, high=2.0), 12)
    1.414213562373
    """
    if not (low < high and function(low) <= 0.0 <= function(high)):
        raise QuantityError("bracket", found=[low, high], wanted="ends between which the function rises through zero")
    while True:
        middle = low + (high - low) / 2.0
        if not low < middle < high:
            return low if abs(function(low)) < abs(function(high)) else high
        if function(middle) > 0.0:
            high = middle
        else:
            low = middle
