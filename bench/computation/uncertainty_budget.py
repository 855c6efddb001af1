"""An uncertainty budget: standard uncertainties with their sensitivities, combined as in the GUM."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, not_negative, positive, representable
from bench.computation.errors import QuantityError


@dataclass(frozen=True, slots=True)
class BudgetTerm:
    """One independent input.

    Attributes
    ----------
    name : str
        What it is.
    standard_uncertainty : float
        In the input's own unit.
    sensitivity : float
        Change of the result per unit of the input.
    degrees_of_freedom : float
        How well the uncertainty itself is known; infinite where it is taken as known.
    """

    name: str
    standard_uncertainty: float
    sensitivity: float = 1.0
    degrees_of_freedom: float = math.inf

    @property
    def contribution(self) -> float:
        """Standard uncertainty of the result from this input alone, not negative."""
        return abs(self.sensitivity) * self.standard_uncertainty


@dataclass(frozen=True, slots=True)
class Budget:
    """The combined uncertainty.

    Attributes
    ----------
    terms : tuple[BudgetTerm, ...]
        As given.
    combined : float
        Combined standard uncertainty.
    degrees_of_freedom : float
        Effective degrees of freedom; infinite where every term is taken as known.
    """

    terms: tuple[BudgetTerm, ...]
    combined: float
    degrees_of_freedom: float

    def expanded(self, *, coverage_factor: float) -> float:
        """Return the expanded uncertainty.

        Parameters
        ----------
        coverage_factor : float
            k; 2 for about 95 % where the degrees of freedom are many.

        Returns
        -------
        float
            Coverage factor times combined standard uncertainty.

        Raises
        ------
        QuantityError
            If the coverage factor is not finite and above zero.
        """
        return representable(
            positive(coverage_factor, quantity="coverage_factor") * self.combined, quantity="expanded_uncertainty"
        )


def combined_budget(terms: Sequence[BudgetTerm]) -> Budget:
    """Return the combined standard uncertainty and effective degrees of freedom of independent inputs.

    Parameters
    ----------
    terms : Sequence[BudgetTerm]
        The inputs.

    Returns
    -------
    Budget
        Combined.

    Raises
    ------
    QuantityError
        If there is no term, an uncertainty is negative or not finite, a sensitivity is not finite, or degrees of
        freedom are not above zero.

    Notes
    -----
    Source: JCGM 100 5.1.2 and the Welch-Satterthwaite formula G.4.1.

    Examples
    --------
    >>> round(combined_budget([BudgetTerm("scale", 0.03), BudgetTerm("weight", 0.04)]).combined, 9)
    0.05
    """
    if not terms:
        raise QuantityError("terms", found="none", wanted="at least one term")
    for index, term in enumerate(terms):
        not_negative(term.standard_uncertainty, quantity=f"terms[{index}].standard_uncertainty")
        finite(term.sensitivity, quantity=f"terms[{index}].sensitivity")
        if not term.degrees_of_freedom > 0.0:
            raise QuantityError(
                f"terms[{index}].degrees_of_freedom", found=term.degrees_of_freedom, wanted="a number above 0"
            )
    combined = representable(math.hypot(*(term.contribution for term in terms)), quantity="combined")
    # shares of the whole first, so that small uncertainties do not vanish in their fourth power
    spent = (
        math.fsum((term.contribution / combined) ** 4 / term.degrees_of_freedom for term in terms) if combined else 0.0
    )
    return Budget(terms=tuple(terms), combined=combined, degrees_of_freedom=1.0 / spent if spent else math.inf)


def rectangular(half_width: float, *, quantity: str) -> float:
    """Return the standard uncertainty of a quantity that lies anywhere within plus or minus half a width.

    Parameters
    ----------
    half_width : float
        Half of the whole width.
    quantity : str
        Its name, for the error.

    Returns
    -------
    float
        Half width / sqrt(3).

    Raises
    ------
    QuantityError
        If the half width is negative or not finite.

    Notes
    -----
    Source: JCGM 100 4.3.7.

    Examples
    --------
    >>> round(rectangular(0.05, quantity="division_g"), 6)
    0.028868
    """
    return not_negative(half_width, quantity=quantity) / math.sqrt(3.0)
