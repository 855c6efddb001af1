"""Units of weight that a scale may show, in grams."""

from __future__ import annotations

from decimal import Decimal

GRAMS: dict[str, Decimal] = {
    "g": Decimal(1),
    "kg": Decimal(1000),
    "mg": Decimal("0.001"),
    "ct": Decimal("0.2"),
    "oz": Decimal("28.349523125"),
    "lb": Decimal("453.59237"),
    "ozt": Decimal("31.1034768"),
    "dwt": Decimal("1.55517384"),
    "gr": Decimal("0.06479891"),
}
"""Grams in one of each unit. Source: NIST SP 811, appendix B.8 (exact by definition of the pound)."""

CONFUSIONS: tuple[float, ...] = (28.349523125, 453.59237, 31.1034768, 1000.0, 5.0)
"""Ratios by which a value is off when the unit was switched without a word."""


def division_of(shown: Decimal) -> Decimal:
    """Return one step of the last digit shown.

    Parameters
    ----------
    shown : Decimal
        As the scale shows it. [unit]

    Returns
    -------
    Decimal
        One in the last place. [unit]

    Examples
    --------
    >>> division_of(Decimal("603.70"))
    Decimal('0.01')
    """
    exponent = shown.as_tuple().exponent
    return Decimal(1).scaleb(exponent) if isinstance(exponent, int) else Decimal(1)


def in_grams(shown: Decimal, factor: Decimal) -> Decimal:
    """Return a value as shown in grams.

    Parameters
    ----------
    shown : Decimal
        As the scale shows it. [unit]
    factor : Decimal
        Grams in one unit.

    Returns
    -------
    Decimal
        Exact where the unit is a power of ten of a gram, else rounded to the place two below the division's first
        digit. [g]

    Examples
    --------
    >>> in_grams(Decimal("20.7"), GRAMS["oz"])
    Decimal('586.84')
    """
    if factor == Decimal(1).scaleb(factor.adjusted()):
        return shown * factor
    place = (division_of(shown) * factor).adjusted() - 2
    return (shown * factor).quantize(Decimal(1).scaleb(place))


def nearest_step(value: Decimal, step: Decimal) -> Decimal:
    """Return a value rounded to whole steps, with the step's digits.

    Parameters
    ----------
    value : Decimal
        Any value. [unit]
    step : Decimal
        Step, above zero. [unit]

    Returns
    -------
    Decimal
        Nearest whole number of steps, ties to even. [unit]

    Examples
    --------
    >>> nearest_step(Decimal("603.6731"), Decimal("0.1"))
    Decimal('603.7')
    """
    return (value / step).quantize(Decimal(1)) * step
