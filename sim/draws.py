"""Draws of many values at once, from a range told as a pair."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def between(rng: np.random.Generator, span: tuple[float, float], count: int) -> NDArray[np.float64]:
    """Draw values evenly from a range.

    Parameters
    ----------
    rng : np.random.Generator
        Source of chance.
    span : tuple[float, float]
        Lowest and highest value.
    count : int
        How many.

    Returns
    -------
    NDArray[np.float64]
        Shape (count,).
    """
    low, high = span
    return rng.uniform(low, high, size=count)
