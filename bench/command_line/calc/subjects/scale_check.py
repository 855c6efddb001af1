"""`calc scale-check`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, NotNegative, Number, Positive
from bench.computation.scale_check import ScaleClass, scale_check
from bench.computation.weighing import ScaleTerms, weighing_budget


class Asked(CalcValue):
    """A known weight on the pan; with repeatability also the uncertainty of a weighing at that load."""

    shown_g: Number
    nominal_g: Positive
    weight_class: Literal["E1", "E2", "F1", "F2", "M1", "M2", "M3"]
    division_g: Positive
    scale_class: Literal["I", "II", "III", "IIII"]
    repeatability_g: NotNegative | None = None
    eccentric_error_g: NotNegative = 0.0
    eccentric_load_g: Positive = 1000.0
    drift_g: NotNegative = 0.0
    weighings: Annotated[int, Field(ge=1, le=1000)] = 1


class Term(CalcValue):
    """One term of the uncertainty."""

    name: str
    standard_uncertainty_g: float


class Uncertainty(CalcValue):
    """Uncertainty of a weighing; expanded with a factor of 2."""

    terms: tuple[Term, ...]
    standard_uncertainty_g: float
    expanded_uncertainty_g: float


class Answered(CalcValue):
    """Verdict of the check."""

    error_g: float
    allowed_g: float
    weight_error_g: float
    passed: bool
    weight_fit: bool
    uncertainty: Uncertainty | None = None


def answer(asked: Asked) -> Answered:
    """Return the verdict.

    Parameters
    ----------
    asked : Asked
        What the scale showed.

    Returns
    -------
    Answered
        Error and limits.
    """
    check = scale_check(
        shown_g=asked.shown_g,
        nominal_g=asked.nominal_g,
        weight_class=asked.weight_class,
        division_g=asked.division_g,
        scale_class=ScaleClass(asked.scale_class),
    )
    uncertainty = None
    if asked.repeatability_g is not None:
        budget = weighing_budget(
            ScaleTerms(
                division_g=asked.division_g,
                repeatability_g=asked.repeatability_g,
                eccentric_error_g=asked.eccentric_error_g,
                eccentric_load_g=asked.eccentric_load_g,
                weight_error_g=check.weight_error_g,
                drift_g=asked.drift_g,
            ),
            load_g=asked.nominal_g,
            weighings=asked.weighings,
        )
        uncertainty = Uncertainty(
            terms=tuple(Term(name=term.name, standard_uncertainty_g=term.contribution) for term in budget.terms),
            standard_uncertainty_g=budget.combined,
            expanded_uncertainty_g=budget.expanded(coverage_factor=2.0),
        )
    return Answered(
        error_g=check.error_g,
        allowed_g=check.allowed_g,
        weight_error_g=check.weight_error_g,
        passed=check.passed,
        weight_fit=check.weight_fit,
        uncertainty=uncertainty,
    )


SUBJECT = Subject(
    words="a known weight on the scale: verdict, and how well a weighing is known",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"shown_g": 1000.1, "nominal_g": 1000, "weight_class": "M1", "division_g": 0.1, "scale_class": "II",
 "repeatability_g": 0.06}""",
    example_answer="""\
{"error_g": 0.10000000000002274, "allowed_g": 0.2, "weight_error_g": 0.05, "passed": true, "weight_fit": true,
 "uncertainty": {"terms": [{"name": "zero", "standard_uncertainty_g": 0.02886751345948129}, {"name": "digit",
 "standard_uncertainty_g": 0.02886751345948129}, {"name": "repeatability", "standard_uncertainty_g": 0.06},
 {"name": "eccentricity", "standard_uncertainty_g": 0.0}, {"name": "weight",
 "standard_uncertainty_g": 0.02886751345948129}, {"name": "drift", "standard_uncertainty_g": 0.0}],
 "standard_uncertainty_g": 0.07810249675906654, "expanded_uncertainty_g": 0.15620499351813308}}""",
    fields={"load_g": "nominal_g"},
)
