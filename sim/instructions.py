"""What the operator can be told: one JSON object a line, one instruction in it."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, cast


class InstructionError(ValueError):
    """A line is no instruction.

    Parameters
    ----------
    line : str
        The line as it came.
    why : str
        What is wrong with it.
    """

    def __init__(self, line: str, why: str) -> None:
        super().__init__(f"{line.strip()[:80]!r}: {why}")
        self.line = line
        self.why = why


@dataclass(frozen=True, slots=True)
class Lay:
    """Lay a part: its kind and its cylinder or throw."""

    kind: str
    place: int


@dataclass(frozen=True, slots=True)
class LayMass:
    """Lay a piece of a known mass, in grams."""

    grams: float


@dataclass(frozen=True, slots=True)
class Taken:
    """The reading is taken: lift what is on the pan."""


@dataclass(frozen=True, slots=True)
class Lift:
    """Clear the pan, and leave it empty for a while."""

    empty_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Make:
    """Make the bobweight of a throw to a target, in grams."""

    throw: int
    target_g: float


@dataclass(frozen=True, slots=True)
class Adjust:
    """Add so many grams to the bobweight on the pan, or take them off."""

    grams: float


@dataclass(frozen=True, slots=True)
class Spin:
    """Spin the crank: number of the run."""

    run: int


@dataclass(frozen=True, slots=True)
class Cut:
    """Drill at a plane, an angle in degrees, so many grams at the correction radius, from one of the drill's places."""

    plane: str
    angle_deg: float
    grams: float
    station: int = 1
    tag: str = ""


@dataclass(frozen=True, slots=True)
class Unplug:
    """Pull the scale's cable for some seconds of the simulated time."""

    seconds: float


@dataclass(frozen=True, slots=True)
class Key:
    """Press a key of the scale: zero, tare or unit."""

    name: str


@dataclass(frozen=True, slots=True)
class End:
    """Finish what is in hand, write the truth and go home."""


Instruction = Lay | LayMass | Taken | Lift | Make | Adjust | Spin | Cut | Unplug | Key | End


def read_instruction(line: str) -> Instruction:
    """Read one line.

    Parameters
    ----------
    line : str
        A JSON object with one key.

    Returns
    -------
    Instruction
        What is to be done.

    Raises
    ------
    InstructionError
        If it cannot be read.

    Examples
    --------
    >>> read_instruction('{"lay": {"kind": "piston", "place": 3}}')
    Lay(kind='piston', place=3)
    """
    try:
        found = json.loads(line)
    except (json.JSONDecodeError, RecursionError):
        raise InstructionError(line, "not a JSON object") from None
    if not isinstance(found, dict) or len(cast("dict[str, Any]", found)) != 1:
        raise InstructionError(line, "wanted an object with exactly one key")
    ((word, body),) = cast("dict[str, Any]", found).items()
    return _Reader(line, word, body).instruction()


@dataclass(frozen=True, slots=True)
class _Reader:
    line: str
    word: str
    body: Any

    def instruction(self) -> Instruction:
        known: dict[str, Callable[[], Instruction]] = {
            "lay": self.lay,
            "taken": Taken,
            "lift": self.lift,
            "make": lambda: Make(self.whole("throw"), self.number("target_g")),
            "adjust": lambda: Adjust(self.number("grams")),
            "spin": lambda: Spin(self.whole("run")),
            "cut": self.cut,
            "unplug": lambda: Unplug(self.number("seconds", bare=True)),
            "key": self.key,
            "end": End,
        }
        if self.word not in known:
            raise InstructionError(self.line, f"nobody knows how to {self.word[:30]!r}")
        return known[self.word]()

    def lay(self) -> Instruction:
        if isinstance(self.body, int | float):
            return LayMass(self.number("lay", bare=True))
        return Lay(self.text("kind"), self.whole("place"))

    def lift(self) -> Lift:
        leaves = isinstance(self.body, dict) and "empty_s" in self.fields()
        return Lift(self.number("empty_s")) if leaves else Lift()

    def cut(self) -> Cut:
        plane, grams = self.text("plane"), self.number("grams")
        if plane not in {"front", "rear"}:
            raise InstructionError(self.line, f"plane {plane[:30]!r}: wanted front or rear")
        if not 0.0 < grams <= 500.0:
            raise InstructionError(self.line, f"grams {grams}: wanted above 0 and at most 500")
        station = self.whole("station") if "station" in self.fields() else 1
        tag = str(self.fields().get("tag", ""))
        return Cut(plane, self.number("angle_deg"), grams, station, tag)

    def key(self) -> Key:
        name = self.body if isinstance(self.body, str) else self.text("name")
        if name not in {"zero", "tare", "unit"}:
            raise InstructionError(self.line, f"key {name[:30]!r}: wanted zero, tare or unit")
        return Key(name)

    def fields(self) -> dict[str, Any]:
        body: object = self.body
        if not isinstance(body, dict):
            raise InstructionError(self.line, f"{self.word}: wanted an object")
        return cast("dict[str, Any]", body)

    def text(self, name: str) -> str:
        value = self.fields().get(name)
        if not isinstance(value, str):
            raise InstructionError(self.line, f"{self.word}.{name}: wanted a word")
        return value

    def whole(self, name: str) -> int:
        value = self.fields().get(name)
        if not isinstance(value, int) or isinstance(value, bool) or value < 1:
            raise InstructionError(self.line, f"{self.word}.{name}: wanted a whole number from 1")
        return value

    def number(self, name: str, *, bare: bool = False) -> float:
        value: object = self.body if bare and isinstance(self.body, int | float) else self.fields().get(name)
        if not isinstance(value, int | float) or isinstance(value, bool) or not math.isfinite(value):
            raise InstructionError(self.line, f"{self.word}.{name}: wanted a number")
        return float(value)
