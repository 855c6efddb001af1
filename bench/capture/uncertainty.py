"""Standard uncertainty of a weight on the pan, by the terms of EURAMET cg-18 that matter within one set.

Sensitivity and buoyancy are common to a set that is weighed within the hour and are left to the scale check.
"""

from __future__ import annotations

from math import exp, hypot, pi, sqrt

SHORT_LEARNING = 1.3
ZERO_SHARE = 1.2


def rounding_g(*, division_g: float, scatter_g: float) -> float:
    """Return the uncertainty that rounding leaves in a mean of many readings.

    Parameters
    ----------
    division_g : float
        Division. [g]
    scatter_g : float
        Standard deviation of the readings before rounding. [g]

    Returns
    -------
    float
        A rectangle of one division while the readings stand still, less when they flicker. [g]

    Notes
    -----
    First harmonic of the sawtooth that rounding adds, averaged over a normal scatter: amplitude
    (d / pi) exp(-2 pi^2 s^2 / d^2), whose standard deviation is 1/sqrt 2 of it.

    Examples
    --------
    >>> round(rounding_g(division_g=0.1, scatter_g=0.03), 4)
    0.0038
    """
    still = division_g / sqrt(12.0)
    flicker = division_g / (pi * sqrt(2.0)) * exp(-2.0 * (pi * scatter_g / division_g) ** 2)
    return still if flicker >= 0.9 * division_g / (pi * sqrt(2.0)) else min(still, flicker)


def standard_uncertainty_g(
    *, division_g: float, noise_of_mean_g: float, zero_g: float, drift_g: float, between_g: float = 0.0
) -> float:
    """Return the standard uncertainty of one captured weight.

    Parameters
    ----------
    division_g : float
        Division, counted at load and at zero. [g]
    noise_of_mean_g : float
        Standard deviation of the mean. [g]
    zero_g : float
        Standard uncertainty of the tracked zero. [g]
    drift_g : float
        Drift allowed for since the zero was read. [g]
    between_g : float
        Standard uncertainty from putting the part down again. [g]

    Returns
    -------
    float
        Root of the sum of squares. [g]

    Examples
    --------
    >>> round(standard_uncertainty_g(division_g=0.1, noise_of_mean_g=0.01, zero_g=0.01, drift_g=0.0), 3)
    0.044
    """
    rounding = division_g / sqrt(6.0)
    return hypot(rounding, SHORT_LEARNING * noise_of_mean_g, ZERO_SHARE * zero_g, drift_g / sqrt(3.0), between_g)
