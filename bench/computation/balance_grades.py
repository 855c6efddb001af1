"""The balance quality grades, and the grade an unbalance falls into."""

from __future__ import annotations

from bench.computation.checks import not_negative

GRADES_MM_PER_S: tuple[float, ...] = (0.4, 1.0, 2.5, 6.3, 16.0, 40.0, 100.0, 250.0, 630.0, 1600.0, 4000.0)
"""Balance quality grades of ISO 21940-11, fine to coarse. [mm/s]"""
FINEST_FOR_CRANKS_MM_PER_S = 16.0
"""Grade of an inherently balanced crankshaft drive, rigidly mounted; coarser ones are for others. [mm/s]"""


def grade_kept(grade_mm_per_s: float) -> float | None:
    """Return the finest standard grade that a computed grade keeps.

    Parameters
    ----------
    grade_mm_per_s : float
        Eccentricity times angular speed, as computed. [mm/s]

    Returns
    -------
    float or None
        The grade; None if even the coarsest is exceeded. [mm/s]

    Raises
    ------
    QuantityError
        If the computed grade is negative or not finite.

    Notes
    -----
    Source: ISO 21940-11 Table 1.

    Examples
    --------
    >>> grade_kept(3.1), grade_kept(6.3), grade_kept(5000.0)
    (6.3, 6.3, None)
    """
    not_negative(grade_mm_per_s, quantity="grade_mm_per_s")
    return next((grade for grade in GRADES_MM_PER_S if grade_mm_per_s <= grade), None)
