"""Standard uncertainty of a weight on the pan, by the terms of EURAMET cg-18 that matter within one set.

Sensitivity and buoyancy are common to a set that is weighed within the hour and are left to the scale check.
"""

from __future__ import annotations

from math import exp, hypot, pi, sqrt

SHORT_LEARNING = 1.1
FLICKERS_DIVISIONS = 0.35


def rounding_g(*, division_g: float, scatter_g: float) -> float:
    """Return the uncertainty that rounding leaves in a mean of many readings.

    Parameters
    ----------
    division_g : float
        Division. [g]
    scatter_g : float
        Standard deviation of the readings as shown. [g]

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
    >>> round(rounding_g(division_g=0.1, scatter_g=0.06), 4)
    0.0003
    """
    still = division_g / sqrt(12.0)
    if scatter_g <= FLICKERS_DIVISIONS * division_g:
        return still
    # what the readings show includes the rounding itself: take it off before trusting the flicker
    before = sqrt(max(0.0, scatter_g**2 - division_g**2 / 12.0))
    flicker = division_g / (pi * sqrt(2.0)) * exp(-2.0 * (pi * before / division_g) ** 2)
    return min(still, flicker)


def standard_uncertainty_g(
    *, division_g: float, scatter_g: float, scatter_at_zero_g: float, noise_of_mean_g: float, zero_g: float
) -> float:
    """Return the standard uncertainty of one captured weight.

    Parameters
    ----------
    division_g : float
        Division, counted at load and at zero. [g]
    scatter_g : float
        Scatter of single readings at load: flicker lessens rounding. [g]
    scatter_at_zero_g : float
        The same at zero. [g]
    noise_of_mean_g : float
        Standard deviation of the mean. [g]
    zero_g : float
        Standard uncertainty of the tracked zero, drift since it was read included. [g]

    Returns
    -------
    float
        Root of the sum of squares. [g]

    Examples
    --------
    >>> u = standard_uncertainty_g(
    ...     division_g=0.1, scatter_g=0.01, scatter_at_zero_g=0.01, noise_of_mean_g=0.01, zero_g=0.01
    ... )
    >>> round(u, 3)
    0.044
    """
    load = rounding_g(division_g=division_g, scatter_g=scatter_g)
    zero = rounding_g(division_g=division_g, scatter_g=scatter_at_zero_g)
    return hypot(load, zero, SHORT_LEARNING * noise_of_mean_g, zero_g)
