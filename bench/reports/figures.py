"""Figures as a person reads them: no more decimals than were measured, a true minus, dashes where nothing is."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal

NONE = "–"


def decimals_of(values: Iterable[Decimal], *, least: int = 1) -> int:
    """Return how many decimals the scale showed: the most among these values.

    Parameters
    ----------
    values : Iterable[Decimal]
        Weights as taken.
    least : int
        Answer when there are none, or all are whole.

    Returns
    -------
    int
        Between `least` and 4.

    Examples
    --------
    >>> decimals_of([Decimal("603.7"), Decimal("30.12")])
    2
    """
    exponents = (value.as_tuple().exponent for value in values)
    found = max((-e for e in exponents if isinstance(e, int)), default=least)
    return min(max(found, least), 4)


def figure(value: float | Decimal | None, decimals: int, *, signed: bool = False) -> str:
    """Return a number with fixed decimals, a dash for nothing and a question mark for what is no number.

    Parameters
    ----------
    value : float | Decimal | None
        The number.
    decimals : int
        Digits after the point.
    signed : bool
        Write a plus too.

    Returns
    -------
    str
        As printed.

    Examples
    --------
    >>> figure(-0.04, 1), figure(2317.84, 1), figure(None, 1), figure(float("nan"), 1)
    ('0.0', '2317.8', '–', '?')
    """
    if value is None:
        return NONE
    if not math.isfinite(value):
        return "?"
    words = f"{value:+.{decimals}f}" if signed else f"{value:.{decimals}f}"
    if not words.strip("+-0."):
        return words.lstrip("+-")
    return words.replace("-", "−")


def as_weighed(value: Decimal | None) -> str:
    """Return a weight exactly as taken, a dash for none.

    Parameters
    ----------
    value : Decimal | None
        The weight. [g]

    Returns
    -------
    str
        As printed.

    Examples
    --------
    >>> as_weighed(Decimal("603.70"))
    '603.70'
    """
    if value is None:
        return NONE
    return format(value, "f").replace("-", "−") if value.is_finite() else "?"


def angle(value: float | None, decimals: int = 0) -> str:
    """Return an angle in [0, 360) with its sign of degrees.

    Parameters
    ----------
    value : float | None
        Counter-clockwise positive, seen from the front. [deg]
    decimals : int
        Digits after the point.

    Returns
    -------
    str
        As printed.

    Examples
    --------
    >>> angle(-30.0), angle(359.7)
    ('330°', '0°')
    """
    if value is None:
        return NONE
    if not math.isfinite(value):
        return "?"
    return f"{round(value % 360.0, decimals) % 360.0:.{decimals}f}°"


def moment(utc: str) -> str:
    """Return an RFC 3339 moment to the minute.

    Parameters
    ----------
    utc : str
        For example "2026-03-01T09:30:12.123456Z".

    Returns
    -------
    str
        For example "2026-03-01 09:30 UTC".

    Examples
    --------
    >>> moment("2026-03-01T09:30:12.123456Z")
    '2026-03-01 09:30 UTC'
    """
    return f"{utc[:10]} {utc[11:16]} UTC" if len(utc) >= 16 and utc[10] in "Tt " else utc
