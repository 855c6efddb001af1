"""The check of a scale with a known weight: what the scale's class and the weight's class allow, and the verdict."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from bench.computation.checks import finite, not_negative, positive
from bench.computation.errors import QuantityError


class ScaleClass(StrEnum):
    """Accuracy classes of OIML R 76."""

    I = "I"  # noqa: E741 the standard's own name
    II = "II"
    III = "III"
    IIII = "IIII"


_STEPS: dict[ScaleClass, tuple[int, int, int]] = {
    ScaleClass.I: (50_000, 200_000, 10**9),
    ScaleClass.II: (5_000, 20_000, 100_000),
    ScaleClass.III: (500, 2_000, 10_000),
    ScaleClass.IIII: (50, 200, 1_000),
}
_NOMINALS_G = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
_WEIGHT_ERRORS_MG: dict[str, tuple[float, ...]] = {
    "E1": (0.01, 0.012, 0.016, 0.02, 0.025, 0.03, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5),
    "E2": (0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.16, 0.3, 0.8, 1.6, 3.0, 8.0),
    "F1": (0.1, 0.12, 0.16, 0.2, 0.25, 0.3, 0.5, 1.0, 2.5, 5.0, 10.0, 25.0),
    "F2": (0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.6, 3.0, 8.0, 16.0, 30.0, 80.0),
    "M1": (1.0, 1.2, 1.6, 2.0, 2.5, 3.0, 5.0, 10.0, 25.0, 50.0, 100.0, 250.0),
    "M2": (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 16.0, 30.0, 80.0, 160.0, 300.0, 800.0),
    "M3": (10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 50.0, 100.0, 250.0, 500.0, 1000.0, 2500.0),
}


def scale_error_limit(load_g: float, *, division_g: float, scale_class: ScaleClass, in_service: bool) -> float:
    """Return the largest error a scale of this class may show at this load.

    Parameters
    ----------
    load_g : float
        Load on the pan. [g]
    division_g : float
        Verification division e. [g]
    scale_class : ScaleClass
        Accuracy class.
    in_service : bool
        True for a scale in use, whose limits are twice those of the first verification.

    Returns
    -------
    float
        Error limit. [g]

    Raises
    ------
    QuantityError
        If the load is negative, the division not above zero, or the load beyond the class's largest count of
        divisions.

    Notes
    -----
    Source: OIML R 76-1 Table 6; a boundary value belongs to the lower step. Twice in service: 3.5.2 (from memory).

    Examples
    --------
    >>> scale_error_limit(1000.0, division_g=0.1, scale_class=ScaleClass.II, in_service=False)
    0.1
    """
    divisions = not_negative(load_g, quantity="load_g") / positive(division_g, quantity="division_g")
    factor = 2.0 if in_service else 1.0
    for limit, most in zip((0.5, 1.0, 1.5), _STEPS[scale_class], strict=True):
        # 500 divisions of 0.1 g are 50.0 g, though 50.0 / 0.1 may not be 500 to the last digit
        if divisions <= most * (1.0 + 1e-12):
            return limit * division_g * factor
    raise QuantityError(
        "load_g",
        found=load_g,
        wanted=f"at most {_STEPS[scale_class][2]} divisions of {division_g} g in class {scale_class.value}",
    )


def weight_error_limit(nominal_g: float, *, weight_class: str) -> float:
    """Return the largest error of a weight of this class.

    Parameters
    ----------
    nominal_g : float
        Nominal value, 1 g to 5 kg as the series 1, 2, 5 has them. [g]
    weight_class : str
        E1, E2, F1, F2, M1, M2 or M3.

    Returns
    -------
    float
        Error limit. [g]

    Raises
    ------
    QuantityError
        If there is no such class or no such nominal value.

    Notes
    -----
    Source: OIML R 111-1:2004 Table 1.

    Examples
    --------
    >>> weight_error_limit(1000, weight_class="F1")
    0.005
    """
    if weight_class not in _WEIGHT_ERRORS_MG:
        raise QuantityError("weight_class", found=weight_class, wanted="one of " + ", ".join(_WEIGHT_ERRORS_MG))
    if nominal_g not in _NOMINALS_G:
        raise QuantityError(
            "nominal_g", found=nominal_g, wanted="one of " + ", ".join(str(nominal) for nominal in _NOMINALS_G)
        )
    return _WEIGHT_ERRORS_MG[weight_class][_NOMINALS_G.index(int(nominal_g))] / 1000.0


@dataclass(frozen=True, slots=True)
class ScaleCheck:
    """What a known weight on the pan says.

    Attributes
    ----------
    error_g : float
        Shown less nominal. [g]
    allowed_g : float
        Error limit of the scale in use at this load. [g]
    weight_error_g : float
        Error limit of the weight. [g]
    passed : bool
        Whether |error| is within what is allowed.
    weight_fit : bool
        Whether the weight is good enough to judge this scale: its limit no more than a third of the scale's.
    """

    error_g: float
    allowed_g: float
    weight_error_g: float
    passed: bool
    weight_fit: bool


def scale_check(
    *, shown_g: float, nominal_g: float, weight_class: str, division_g: float, scale_class: ScaleClass
) -> ScaleCheck:
    """Return the verdict of a check with a known weight.

    Parameters
    ----------
    shown_g : float
        What the display shows. [g]
    nominal_g : float
        What is written on the weight. [g]
    weight_class : str
        Its class.
    division_g : float
        The scale's verification division e. [g]
    scale_class : ScaleClass
        The scale's class.

    Returns
    -------
    ScaleCheck
        Error, limits, and verdict.

    Raises
    ------
    QuantityError
        If the reading is not finite, or as `scale_error_limit` and `weight_error_limit`.

    Notes
    -----
    Source: OIML R 76-1 (limits in service; 3.7.1, a third: from memory), R 111-1.

    Examples
    --------
    >>> check = scale_check(shown_g=1000.1, nominal_g=1000, weight_class="M1", division_g=0.1,
    ...                     scale_class=ScaleClass.II)
    >>> round(check.error_g, 6), check.allowed_g, check.passed, check.weight_fit
    (0.1, 0.2, True, True)
    """
    weight_error_g = weight_error_limit(nominal_g, weight_class=weight_class)
    allowed_g = scale_error_limit(nominal_g, division_g=division_g, scale_class=scale_class, in_service=True)
    error_g = finite(shown_g, quantity="shown_g") - nominal_g
    return ScaleCheck(
        error_g=error_g,
        allowed_g=allowed_g,
        weight_error_g=weight_error_g,
        passed=abs(error_g) <= allowed_g + math.ulp(max(abs(shown_g), nominal_g)),
        weight_fit=3.0 * weight_error_g <= allowed_g,
    )
