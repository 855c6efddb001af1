"""Numbers as instruments write them: a fixed grammar, and a decimal sign that is told, never guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

_PADDING = "(?>0{0,6}(?=[0-9]))"
_DIGITS = f"{_PADDING}[0-9]{{1,7}}+"


@dataclass(frozen=True)
class NumberStyle:
    """How an instrument writes its numbers.

    Attributes
    ----------
    decimal : str
        The decimal sign, "." or ",".
    thousands : str
        The sign between groups of three, or empty when there is none.
    implied : int
        Digits behind a decimal sign that is not written; 0 when the sign is written.
    backwards : bool
        True when the last digit is sent first.
    places : int
        Exact number of digits behind the decimal sign, or -1 when it varies from one to four or none.
    """

    decimal: str = "."
    thousands: str = ""
    implied: int = 0
    backwards: bool = False
    places: int = -1

    @property
    def text(self) -> str:
        """A pattern for one number, every part of it possessive, so that it never tries twice."""
        digits = _DIGITS
        if self.thousands:
            group = re.escape(self.thousands)
            digits = f"(?>[0-9]{{1,3}}+(?:{group}[0-9]{{3}}){{1,2}}+|{_DIGITS})"
        if self.implied:
            return rf"[+\-]?+ *+{_PADDING}[0-9]{{1,{7 + self.implied}}}+"
        mark = re.escape(self.decimal)
        behind, often = (f"[0-9]{{{self.places}}}", "") if self.places > 0 else ("[0-9]{1,4}+", "?+")
        if self.backwards:
            return rf"(?:{behind}{mark}){often}[0-9]{{1,12}}+(?: *+[+\-])?+"
        return rf"[+\-]?+ *+{digits}" + ("" if self.places == 0 else f"(?:{mark}{behind}){often}")

    @cached_property
    def whole(self) -> re.Pattern[str]:
        """The pattern for a text that is one number and nothing else."""
        return re.compile(rf" *+{self.text} *+", re.ASCII)

    def read(self, text: str) -> Decimal | None:
        """Return the number a text shows, its decimals kept.

        Parameters
        ----------
        text : str
            The text of one field; blanks around it are fine.

        Returns
        -------
        Decimal or None
            None when the text is not one number of this style.

        Examples
        --------
        >>> NumberStyle(decimal=",").read("- 12,30")
        Decimal('-12.30')
        >>> NumberStyle().read("1,234") is None
        True
        """
        if self.whole.fullmatch(text) is None:
            return None
        return self.value(text)

    def value(self, text: str) -> Decimal:
        """Return the number of a text that the pattern has already matched.

        Parameters
        ----------
        text : str
            What `text` matched, blanks around it allowed.

        Returns
        -------
        Decimal
            The number with its decimals.
        """
        if self.backwards:
            text = text[::-1]
        if " " in text:
            text = text.replace(" ", "")
        if self.thousands:
            text = text.replace(self.thousands, "")
        if self.decimal != ".":
            text = text.replace(self.decimal, ".")
        number = Decimal(text)
        return number.scaleb(-self.implied) if self.implied else number


def both_readings(text: str) -> str:
    """Say what a number with a single point or comma could mean, when a profile forbids that sign.

    Parameters
    ----------
    text : str
        A number as printed, for instance "1,234".

    Returns
    -------
    str
        Both readings in words, or an empty text when there are not two.

    Examples
    --------
    >>> both_readings("1,234")
    '1.234 if the comma is the decimal sign, 1234 if it groups thousands'
    """
    found = re.fullmatch(r" *+[+\-]?+[0-9]{1,3}([.,])[0-9]{3} *+", text)
    if found is None:
        return ""
    mark = found.group(1)
    name = "comma" if mark == "," else "point"
    plain = text.strip()
    as_decimal, as_group = plain.replace(mark, "."), plain.replace(mark, "")
    return f"{as_decimal} if the {name} is the decimal sign, {as_group} if it groups thousands"
