"""Drill sizes by the names they are sold under: numbers, letters, fractions of an inch."""

from __future__ import annotations

from fractions import Fraction

from bench.computation.errors import QuantityError
from bench.computation.unbalance_units import MM_PER_INCH

_NUMBERS_MILS = (
    2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935, 1910, 1890, 1850, 1820, 1800, 1770, 1730, 1695, 1660,
    1610, 1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285, 1200, 1160, 1130, 1110, 1100, 1065, 1040, 1015,
    995, 980, 960, 935, 890, 860, 820, 810, 785, 760, 730, 700, 670, 635, 595, 550, 520, 465, 430, 420, 410, 400,
)  # fmt: skip
"""Number drills 1 to 60 in ten-thousandths of an inch."""
_LETTERS_MILS = (
    234, 238, 242, 246, 250, 257, 261, 266, 272, 277, 281, 290, 295, 302, 316, 323, 332, 339, 348, 358, 368, 377, 386,
    397, 404, 413,
)  # fmt: skip
"""Letter drills A to Z in thousandths of an inch."""


def drill_names() -> tuple[str, ...]:
    """Return all names, numbers first, then letters, then fractions from 1/16 to 1 inch.

    Returns
    -------
    tuple[str, ...]
        "#1" to "#60", "A" to "Z", "1/16" to "1".

    Notes
    -----
    Source: the table of number, letter and fraction drills, as `drill_diameter_mm`.

    Examples
    --------
    >>> len(drill_names()), drill_names()[0], drill_names()[-1]
    (147, '#1', '1')
    """
    return (
        *(f"#{number}" for number in range(1, len(_NUMBERS_MILS) + 1)),
        *(chr(ord("A") + index) for index in range(len(_LETTERS_MILS))),
        *(str(Fraction(part, 64)) for part in range(4, 65)),
    )


def drill_diameter_mm(name: str) -> float:
    """Return the diameter of a drill of this name.

    Parameters
    ----------
    name : str
        One of `drill_names()`.

    Returns
    -------
    float
        Diameter. [mm]

    Raises
    ------
    QuantityError
        If no drill has this name.

    Notes
    -----
    Source: the table of number, letter and fraction drills; some of it printed in a dealer's
    table, the rest from memory.

    Examples
    --------
    >>> drill_diameter_mm("1/2"), round(drill_diameter_mm("#7"), 4), drill_diameter_mm("E")
    (12.7, 5.1054, 6.35)
    """
    if name not in drill_names():
        raise QuantityError("drill", found=name, wanted="#1 to #60, A to Z, or a fraction of an inch from 1/16 to 1")
    if name.startswith("#"):
        return _NUMBERS_MILS[int(name[1:]) - 1] * MM_PER_INCH / 10_000.0
    if name.isalpha():
        return _LETTERS_MILS[ord(name) - ord("A")] * MM_PER_INCH / 1000.0
    return float(Fraction(name)) * MM_PER_INCH
