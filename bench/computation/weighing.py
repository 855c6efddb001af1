"""How well one weighing is known: the terms of a scale reading, combined."""

from __future__ import annotations

from dataclasses import dataclass

from bench.computation.checks import not_negative, positive
from bench.computation.errors import QuantityError
from bench.computation.uncertainty_budget import Budget, BudgetTerm, combined_budget, rectangular


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleTerms:
    """What is known of a scale.

    Attributes
    ----------
    division_g : float
        Step of the display. [g]
    repeatability_g : float
        Standard deviation of repeated weighings of one load. [g]
    eccentric_error_g : float
        Largest difference between the middle of the pan and its edge. [g]
    eccentric_load_g : float
        Load at which that was found. [g]
    weight_error_g : float
        Error limit of the reference weight the scale was adjusted with. [g]
    drift_g : float
        Largest drift since the last check. [g]
    """

    division_g: float
    repeatability_g: float
    eccentric_error_g: float = 0.0
    eccentric_load_g: float = 1000.0
    weight_error_g: float = 0.0
    drift_g: float = 0.0


def weighing_budget(scale: ScaleTerms, *, load_g: float, weighings: int = 1, tared: bool = True) -> Budget:
    """Return the uncertainty of a weight read from a scale.

    Parameters
    ----------
    scale : ScaleTerms
        What is known of the scale.
    load_g : float
        Weight read. [g]
    weighings : int
        How many weighings of the same part were averaged.
    tared : bool
        Whether the zero was a reading of the display as well, so that its division counts a second time.

    Returns
    -------
    Budget
        Terms zero, digit, repeatability, eccentricity, weight and drift. [g]

    Raises
    ------
    QuantityError
        If a term is negative or not finite, division or load are not above zero, or there is no weighing.

    Notes
    -----
    Source: EURAMET cg-18 section 7.1 (formulae from memory): zero and digit d / (2 sqrt 3) each, repeatability
    s / sqrt n, eccentricity |dI| I / (2 L sqrt 3), error limit and drift / sqrt 3.

    Examples
    --------
    >>> scale = ScaleTerms(division_g=0.1, repeatability_g=0.06, eccentric_error_g=0.2, weight_error_g=0.01)
    >>> round(weighing_budget(scale, load_g=730.4).combined, 6)
    0.084133
    """
    half_division_g = positive(scale.division_g, quantity="division_g") / 2.0
    not_negative(scale.repeatability_g, quantity="repeatability_g")
    not_negative(scale.eccentric_error_g, quantity="eccentric_error_g")
    positive(scale.eccentric_load_g, quantity="eccentric_load_g")
    positive(load_g, quantity="load_g")
    if weighings < 1:
        raise QuantityError("weighings", found=weighings, wanted="1 or more")
    eccentric_g = scale.eccentric_error_g / 2.0 * (load_g / scale.eccentric_load_g)
    return combined_budget(
        (
            BudgetTerm("zero", rectangular(half_division_g if tared else 0.0, quantity="division_g")),
            BudgetTerm("digit", rectangular(half_division_g, quantity="division_g")),
            BudgetTerm("repeatability", scale.repeatability_g / weighings**0.5),
            BudgetTerm("eccentricity", rectangular(eccentric_g, quantity="eccentric_error_g")),
            BudgetTerm("weight", rectangular(scale.weight_error_g, quantity="weight_error_g")),
            BudgetTerm("drift", rectangular(scale.drift_g, quantity="drift_g")),
        )
    )
