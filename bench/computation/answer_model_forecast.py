"""What the next run should show, and how far it was from that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Innovation:
    """How far a reading was from what was expected.

    Attributes
    ----------
    surprise : tuple[complex, ...]
        Reading less expectation, one a plane. [g]
    covariance : numpy.ndarray
        Of the surprise as real and imaginary parts in turn. [g^2]
    distance : float
        Squared Mahalanobis distance; chi-square with two degrees of freedom a plane when all is well.
    chance : float
        How often chance alone would surprise at least as much.
    """

    surprise: tuple[complex, ...]
    covariance: Reals
    distance: float
    chance: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """What the next run should show.

    Attributes
    ----------
    left : numpy.ndarray
        What should be left in each plane, complex. [g]
    covariance : numpy.ndarray
        Of what is left, reading noise apart. [g^2]
    """

    left: Complexes
    covariance: Reals
