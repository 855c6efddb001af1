"""Weighings beside the sheet: a known weight that checks the scale, all parts of a cylinder at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bench.capture.decisions import Expected, Taken
from bench.use_cases.view import Instruction


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a weighing beside the sheet showed, once it is on disk.

    Attributes
    ----------
    words : str
        One sentence.
    good : bool
        All is well.
    """

    words: str
    good: bool


@dataclass(frozen=True, slots=True)
class Aside:
    """One weighing beside the sheet.

    Attributes
    ----------
    due : Expected
        What the weigh machine is told.
    instruction : Instruction
        What the person is told.
    record : Callable[[Taken], Outcome]
        Writes it down.
    """

    due: Expected
    instruction: Instruction
    record: Callable[[Taken], Outcome]
