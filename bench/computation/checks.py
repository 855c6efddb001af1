"""Checks of single quantities, written so that NaN fails each of them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from bench.computation.errors import QuantityError


def finite(value: float, *, quantity: str) -> float:
    """Return the value if it is a finite number.

    Parameters
    ----------
    value : float
        What was given.
    quantity : str
        Its name, for the error.

    Returns
    -------
    float
        The same value.

    Raises
    ------
    QuantityError
        If it is NaN or infinite.

    Examples
    --------
    >>> finite(-2.5, quantity="angle_deg")
    -2.5
    """
    if math.isfinite(value):
        return value
    raise QuantityError(quantity, found=value, wanted="a finite number")


def positive(value: float, *, quantity: str) -> float:
    """Return the value if it is finite and above zero.

    Parameters
    ----------
    value : float
        What was given.
    quantity : str
        Its name, for the error.

    Returns
    -------
    float
        The same value.

    Raises
    ------
    QuantityError
        If it is zero, negative, NaN or infinite.

    Examples
    --------
    >>> positive(25.0, quantity="rotor_mass_kg")
    25.0
    """
    if math.isfinite(value) and value > 0.0:
        return value
    raise QuantityError(quantity, found=value, wanted="a finite number above 0")


def not_negative(value: float, *, quantity: str) -> float:
    """Return the value if it is finite and not below zero.

    Parameters
    ----------
    value : float
        What was given.
    quantity : str
        Its name, for the error.

    Returns
    -------
    float
        The same value.

    Raises
    ------
    QuantityError
        If it is negative, NaN or infinite.

    Examples
    --------
    >>> not_negative(0.0, quantity="oil_g")
    0.0
    """
    if math.isfinite(value) and value >= 0.0:
        return value
    raise QuantityError(quantity, found=value, wanted="a finite number, 0 or above")


def share(value: float, *, quantity: str) -> float:
    """Return the value if it lies between 0 and 1, both included.

    Parameters
    ----------
    value : float
        What was given.
    quantity : str
        Its name, for the error.

    Returns
    -------
    float
        The same value.

    Raises
    ------
    QuantityError
        If it lies outside, or is NaN.

    Examples
    --------
    >>> share(0.5, quantity="reciprocating_share")
    0.5
    """
    if 0.0 <= value <= 1.0:
        return value
    raise QuantityError(quantity, found=value, wanted="a number from 0 to 1")


def representable(value: float, *, quantity: str) -> float:
    """Return a computed value if it is still a finite number.

    Inputs that are finite one by one can overflow together; such an answer is refused instead of shown.

    Parameters
    ----------
    value : float
        What was computed.
    quantity : str
        Name of the result, for the error.

    Returns
    -------
    float
        The same value.

    Raises
    ------
    QuantityError
        If it is NaN or infinite.

    Examples
    --------
    >>> representable(501.3, quantity="U_per_g_mm")
    501.3
    """
    if math.isfinite(value):
        return value
    raise QuantityError(quantity, found=value, wanted="inputs small enough that the result is a finite number")


def finite_sum(values: Iterable[float], *, quantity: str) -> float:
    """Return the exactly rounded sum, if it is a finite number.

    Parameters
    ----------
    values : Iterable[float]
        What to add.
    quantity : str
        Name of the sum, for the error.

    Returns
    -------
    float
        The sum.

    Raises
    ------
    QuantityError
        If it is NaN, infinite, or overflows on the way.

    Examples
    --------
    >>> finite_sum([0.1] * 10, quantity="bobweight_g")
    1.0
    """
    try:
        return representable(math.fsum(values), quantity=quantity)
    except (OverflowError, ValueError) as fault:
        if isinstance(fault, QuantityError):
            raise
        raise QuantityError(
            quantity, found=math.inf, wanted="inputs small enough that the result is a finite number"
        ) from fault
