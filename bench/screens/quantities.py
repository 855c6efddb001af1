"""Numbers as people type them: with or without a unit, point or comma, never guessed where two are possible."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Final

from bench.computation.unbalance_units import GRAMS_PER_OUNCE, MM_PER_INCH, UnbalanceUnit
from bench.screens.form_dialog import FormComplaintError

LONGEST_NUMBER = 14
GRAMS_PER_POUND: Final = 453.59237
"""Avoirdupois pound, exact by definition. [g]"""

GRAMS: Final = {"g": 1.0, "kg": 1000.0, "oz": GRAMS_PER_OUNCE, "lb": GRAMS_PER_POUND}
MILLIMETRES: Final = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}
GRAM_MILLIMETRES: Final = {
    "gmm": UnbalanceUnit.G_MM.value,
    "gcm": UnbalanceUnit.G_CM.value,
    "gin": UnbalanceUnit.G_IN.value,
    "ozin": UnbalanceUnit.OZ_IN.value,
}


def number_of(field: str, text: str) -> Decimal:
    """Return a typed number; a comma is read as the decimal sign only where it can be nothing else.

    Parameters
    ----------
    field : str
        Which field, for the complaint.
    text : str
        What was typed, without a unit.

    Returns
    -------
    Decimal
        Finite.

    Raises
    ------
    FormComplaintError
        When it is no number, or could be two.
    """
    typed = text
    if text.count(",") == 1 and "." not in text:
        whole, part = text.split(",")
        if len(part) == 3 and len(whole.lstrip("+-")) <= 3:
            raise FormComplaintError(
                field, f"'{text}' can be read as {whole}{part} or as {whole}.{part}: type it with a point"
            )
        text = f"{whole}.{part}"
    try:
        value = Decimal(text) if text.isascii() and "_" not in text and len(text) <= LONGEST_NUMBER else Decimal("NaN")
    except InvalidOperation:
        value = Decimal("NaN")
    if not value.is_finite():
        raise FormComplaintError(field, f"'{typed}' is no number; wanted digits, e.g. 603.7")
    return value


def split_unit(text: str) -> tuple[str, str]:
    """Return the number and the unit of what was typed.

    Parameters
    ----------
    text : str
        For example "0.2 oz in".

    Returns
    -------
    tuple[str, str]
        "0.2", "ozin": the unit without spaces, points and hyphens, in small letters.
    """
    words = text.strip()
    at = len(words)
    while at and not (words[at - 1].isdigit() or words[at - 1] in ".,"):
        at -= 1
    return words[:at].strip(), "".join(char for char in words[at:].casefold() if char.isalpha())


def amount(
    answers: Mapping[str, str], field: str, units: Mapping[str, float], *, usual: str, optional: bool = False
) -> float | None:
    """Return an amount in the first of some units.

    Parameters
    ----------
    answers : Mapping[str, str]
        What was typed.
    field : str
        Which field.
    units : Mapping[str, float]
        Size of each unit in the first.
    usual : str
        Unit of a number without one.
    optional : bool
        Nothing typed is fine.

    Returns
    -------
    float or None
        None when nothing was typed.

    Raises
    ------
    FormComplaintError
        When it is no number, could be two, or the unit is not known.
    """
    text = answers[field].strip()
    if not text:
        if optional:
            return None
        raise FormComplaintError(field, f"wanted a number, e.g. 5 {usual}")
    digits, unit = split_unit(text)
    if unit and unit not in units:
        raise FormComplaintError(field, f"'{unit}' is no unit for this; wanted {', '.join(units)}")
    return float(number_of(field, digits)) * units[unit or usual]
