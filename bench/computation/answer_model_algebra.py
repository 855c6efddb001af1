"""The sums behind the answer model: how cuts move its state, and how several beliefs become one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]


def rows_after(taken: Complexes, planes: int, wider: float) -> Reals:
    """Return the matrix that leads from the state to what is left after cuts.

    Parameters
    ----------
    taken : numpy.ndarray
        Sum of the cuts a station, complex. [g]
    planes : int
        Number of planes.
    wider : float
        How many times less the effects are trusted.

    Returns
    -------
    numpy.ndarray
        2 planes rows, as many columns as the state is long.
    """
    import numpy as np

    size = 2 * planes
    rows = np.zeros((size, size * (1 + len(taken))))
    rows[:, :size] = np.eye(size)
    for s, gone in enumerate(taken):
        if gone == 0:
            continue
        turn = wider * np.array([[gone.real, -gone.imag], [gone.imag, gone.real]])
        for p in range(planes):
            column = size * (1 + s) + 2 * p
            rows[2 * p : 2 * p + 2, column : column + 2] = -turn
    return rows


def mixed(weights: Sequence[float], states: Sequence[Reals], covariances: Sequence[Reals]) -> tuple[Reals, Reals]:
    """Return mean and covariance of several beliefs.

    Parameters
    ----------
    weights : Sequence[float]
        Logarithms of their likelihoods.
    states : Sequence[numpy.ndarray]
        Their means.
    covariances : Sequence[numpy.ndarray]
        Their covariances.

    Returns
    -------
    tuple[numpy.ndarray, numpy.ndarray]
        First two moments of the mixture.
    """
    import numpy as np

    most = max(weights)
    shares = [math.exp(w - most) for w in weights]
    total = sum(shares)
    mean: Reals = np.zeros_like(states[0])
    for share, state in zip(shares, states, strict=True):
        mean = mean + share / total * state
    covariance: Reals = np.zeros_like(covariances[0])
    for share, state, spread in zip(shares, states, covariances, strict=True):
        off = state - mean
        covariance = covariance + share / total * (spread + np.outer(off, off))
    return mean, 0.5 * (covariance + covariance.T)


def chance_beyond(distance: float, planes: int) -> float:
    """Return how often chance alone gives at least this squared distance.

    Parameters
    ----------
    distance : float
        Squared Mahalanobis distance of a reading from its expectation.
    planes : int
        Number of planes.

    Returns
    -------
    float
        Upper tail of the chi-square distribution with two degrees of freedom a plane.

    Notes
    -----
    Source: for an even number of degrees of freedom the tail is a finite sum (Abramowitz and Stegun 26.4.21).

    Examples
    --------
    >>> round(chance_beyond(13.2767, 2), 4)
    0.01
    """
    half = distance / 2.0
    term, total = 1.0, 1.0
    for i in range(1, planes):
        term *= half / i
        total += term
    return math.exp(-half) * total
