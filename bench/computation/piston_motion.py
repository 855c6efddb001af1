"""The exact motion of a piston on its rod: how much of each order is in its acceleration."""

from __future__ import annotations

import math

from bench.computation.checks import positive
from bench.computation.errors import QuantityError


def piston_harmonic(order: int, *, lambda_: float) -> float:
    """Return the part of one order in the piston's acceleration.

    Parameters
    ----------
    order : int
        1, 2, 4, 6 ...; odd orders above the first are zero.
    lambda_ : float
        Crank radius / rod length, above 0 and below 1.

    Returns
    -------
    float
        Factor of cos(order t) in acceleration / (r omega^2), towards the crank positive; t from top dead centre.

    Raises
    ------
    QuantityError
        If the order is not 1 to 60, or lambda is not between 0 and 0.99.

    Notes
    -----
    The acceleration is twice differentiated from r cos t + sqrt(l^2 - r^2 sin^2 t) and its Fourier integral taken by
    the trapezoidal rule, which converges exponentially for a smooth periodic function. The series A2 = L + L^3/4 +
    15 L^5/128, A4 = -(L^3/4 + 3 L^5/16) (Taylor; Biezeno and Grammel; from memory) is its beginning.

    Examples
    --------
    >>> round(piston_harmonic(2, lambda_=0.25), 9)
    0.254025042
    """
    positive(lambda_, quantity="lambda")
    if lambda_ > 0.99:
        raise QuantityError("lambda", found=lambda_, wanted="a rod longer than the crank radius: 0.99 at most")
    if not 1 <= order <= 60:
        raise QuantityError("order", found=order, wanted="1 to 60")
    steps = 4096
    angles = [math.tau * k / steps for k in range(steps)]
    return 2.0 / steps * math.fsum(_acceleration(t, lambda_) * math.cos(order * t) for t in angles)


def _acceleration(t: float, lambda_: float) -> float:
    root = math.sqrt(1.0 - (lambda_ * math.sin(t)) ** 2)
    swing = lambda_ * (math.cos(2.0 * t) / root + (lambda_ * math.sin(t) * math.cos(t)) ** 2 / root**3)
    return math.cos(t) + swing
