"""What a person and a scale give to the teacher, and what the teacher gives back."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from drivers.scales.scale_profile import ScaleProfile

UNIT_WORDS: dict[str, str] = {
    "g": "g", "gr": "g", "gm": "g", "gram": "g", "grams": "g",
    "kg": "kg", "kgs": "kg", "kilo": "kg",
    "mg": "mg",
    "oz": "oz", "ozs": "oz",
    "lb": "lb", "lbs": "lb",
    "ct": "ct", "dwt": "dwt", "gn": "gn",
}  # fmt: skip
"""Unit words as scales send them, in small letters, each with its plain symbol."""

_SHOWN = re.compile(r"\s*([+\-−]?)\s*([0-9]{1,7})(?:([.,])([0-9]{1,4}))?\s*([A-Za-z]{0,6})\s*")


@dataclass(frozen=True, slots=True)
class TaughtState:
    """Bytes of one step, with what the display showed.

    Attributes
    ----------
    raw : bytes
        Everything that came during the step.
    shown : str
        What the display showed, with all decimals, for instance "512.3 g"; empty for a moving pan or overload.
    role : str
        "rest" for a settled pan, "moving" for lines between two steps, "overload" for too much on the pan.
    """

    raw: bytes
    shown: str = ""
    role: Literal["rest", "moving", "overload"] = "rest"


@dataclass(frozen=True, slots=True)
class Taught:
    """A profile that reads every line given, and why it is believed.

    Attributes
    ----------
    profile : ScaleProfile
        The profile.
    why : tuple[str, ...]
        What was found, one sentence each.
    """

    profile: ScaleProfile
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NeedsMore:
    """What was given fits more than one reading of the bytes.

    Attributes
    ----------
    step : str
        What is missing: "lines", "part", "tare" or "unit".
    ask : str
        What the person is to do, one sentence.
    """

    step: Literal["lines", "part", "tare", "unit"]
    ask: str


@dataclass(frozen=True, slots=True)
class Unreadable:
    """No reading of the bytes gives what the display showed.

    Attributes
    ----------
    found : str
        What the bytes hold.
    wanted : str
        What could be read.
    do : str
        What the person can do.
    """

    found: str
    wanted: str
    do: str


@dataclass(frozen=True, slots=True)
class Shown:
    """What a person read on the display.

    Attributes
    ----------
    value : Decimal
        The number with its sign.
    places : int
        Digits behind the decimal sign.
    unit : str
        Plain symbol of the unit, or empty when it was not typed.
    """

    value: Decimal
    places: int
    unit: str


@dataclass(frozen=True)
class Rest:
    """The lines of a settled pan with what the display showed.

    Attributes
    ----------
    lines : list[str]
        Whole lines.
    shown : Shown
        What the display showed.
    """

    lines: list[str]
    shown: Shown


@dataclass(frozen=True)
class Evidence:
    """All lines of all steps.

    Attributes
    ----------
    rests : list[Rest]
        Settled steps in their order.
    moving : list[str]
        Lines of a moving pan.
    overload : list[str]
        Lines of an overloaded scale.
    """

    rests: list[Rest]
    moving: list[str] = field(default_factory=list[str])
    overload: list[str] = field(default_factory=list[str])

    @property
    def tared(self) -> bool:
        """True when one step showed a negative number, which a tare makes."""
        return any(rest.shown.value < 0 for rest in self.rests)

    @property
    def lines(self) -> list[str]:
        """Every line that can carry a weight."""
        return [line for rest in self.rests for line in rest.lines] + self.moving


def parse_shown(text: str) -> Shown | None:
    """Read what a person typed from the display.

    Parameters
    ----------
    text : str
        For instance "512.3 g", "-12,30" or "0".

    Returns
    -------
    Shown | None
        None when it is no number, or its unit is unknown.

    Examples
    --------
    >>> parse_shown("512,30 g")
    Shown(value=Decimal('512.30'), places=2, unit='g')
    """
    found = _SHOWN.fullmatch(text)
    if found is None:
        return None
    sign, whole, _, behind, word = found.groups()
    unit = UNIT_WORDS.get(word.lower(), "")
    if word and not unit:
        return None
    value = Decimal(f"{whole}.{behind}" if behind else whole)
    return Shown(-value if sign in {"-", "−"} else value, len(behind or ""), unit)
