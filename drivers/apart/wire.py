"""What goes over the pipe to a foreign driver and back: JSON lines, every field checked, never an object of Python's.

The bench sends bytes, the other side answers with readings. An answer that has another number, a field too many, a
number that is none, or a character that could steer a terminal is no answer.
"""

from __future__ import annotations

from decimal import Decimal
from math import isfinite
from typing import Annotated, Literal

import msgspec

from drivers.contract import (
    Condition,
    ExportFault,
    LineFault,
    PlaneReading,
    Reading,
    ReadingOrFault,
    SpinReading,
)
from drivers.showing import plain_words

ANSWER_CAP = 8 * 1024 * 1024
"""Longest answer that is read. [bytes]"""
_WORDS_CAP = 300
_TURN_DEG = 360.0

_Number = Annotated[str, msgspec.Meta(pattern=r"^[+-]?[0-9]{1,12}(\.[0-9]{1,9})?\Z")]
_Words = Annotated[str, msgspec.Meta(max_length=2000)]
_Moment = Annotated[int, msgspec.Meta(ge=0)]
_Raw = Annotated[bytes, msgspec.Meta(max_length=1024)]


class Ask(msgspec.Struct, forbid_unknown_fields=True, omit_defaults=True):
    """What the bench asks.

    Attributes
    ----------
    n : int
        Number of the question; the answer repeats it.
    do : str
        "make", "feed", "lost" or "read".
    data : bytes
        Bytes of the instrument.
    at_ns : int
        Moment of arrival. [ns]
    target : str
        Module and object, for "make".
    kind : str
        "scale" or "balancer", for "make".
    profile : str
        File of the profile, for "make"; empty when the driver brings its own.
    """

    n: int
    do: Literal["make", "feed", "lost", "read"]
    data: bytes = b""
    at_ns: int = 0
    target: str = ""
    kind: str = ""
    profile: str = ""


class WireReading(msgspec.Struct, forbid_unknown_fields=True):
    """A reading, as `Reading` holds it."""

    at_ns: _Moment
    value: _Number | None
    unit: Annotated[str, msgspec.Meta(pattern=r"^[!-~µ·²°]{1,12}\Z")]
    condition: Condition
    steady: bool | None
    net: bool | None
    raw: _Raw


class WireLineFault(msgspec.Struct, forbid_unknown_fields=True):
    """A line that could not be read, as `LineFault` holds it."""

    at_ns: _Moment
    raw: _Raw
    found: _Words
    wanted: _Words


class WirePlane(msgspec.Struct, forbid_unknown_fields=True):
    """A plane of a run, as `PlaneReading` holds it."""

    plane: Annotated[str, msgspec.Meta(min_length=1, max_length=40)]
    amount: _Number
    angle: _Number
    heavy_angle_deg: float


class WireRun(msgspec.Struct, forbid_unknown_fields=True):
    """A run, as `SpinReading` holds it."""

    label: Annotated[str, msgspec.Meta(max_length=120)]
    unit: Literal["g", "g mm", "oz in"]
    planes: Annotated[list[WirePlane], msgspec.Meta(min_length=1, max_length=8)]
    speed_rpm: Annotated[float, msgspec.Meta(ge=0, le=1_000_000)] | None
    raw: Annotated[str, msgspec.Meta(max_length=2_000_000)]


class WireExportFault(msgspec.Struct, forbid_unknown_fields=True):
    """A text that is not taken, as `ExportFault` holds it."""

    line: Annotated[int, msgspec.Meta(ge=0)]
    found: _Words
    wanted: _Words
    do: _Words


class Answer(msgspec.Struct, forbid_unknown_fields=True, omit_defaults=True):
    """What a foreign driver answers.

    Attributes
    ----------
    n : int
        Number of the question.
    name : str
        Name of its profile, after "make".
    fault : str
        Why it cannot go on; empty when it can.
    profile_fault : bool
        The profile is at fault, not the driver.
    readings : list
        What "feed" completed.
    line_faults : list
        Lines that could not be read, each with its place among all.
    runs : list
        What "read" found.
    export_fault : WireExportFault | None
        Why the text is not taken.
    """

    n: int
    name: Annotated[str, msgspec.Meta(max_length=80)] = ""
    fault: _Words = ""
    profile_fault: bool = False
    readings: Annotated[list[WireReading], msgspec.Meta(max_length=20_000)] = []
    line_faults: Annotated[list[tuple[int, WireLineFault]], msgspec.Meta(max_length=20_000)] = []
    runs: Annotated[list[WireRun], msgspec.Meta(max_length=1000)] = []
    export_fault: WireExportFault | None = None


class AnswerError(ValueError):
    """An answer that is none."""


_ASK = msgspec.json.Decoder(Ask)
_ANSWER = msgspec.json.Decoder(Answer)


def to_line(said: Ask | Answer) -> bytes:
    """Return a question or an answer as one line.

    Parameters
    ----------
    said : Ask | Answer
        What to say.

    Returns
    -------
    bytes
        JSON with a line end.
    """
    return msgspec.json.encode(said) + b"\n"


def ask_of_line(line: bytes) -> Ask:
    """Return the question in a line.

    Parameters
    ----------
    line : bytes
        One line.

    Returns
    -------
    Ask
        Checked.
    """
    return _ASK.decode(line)


def answer_of_line(line: bytes, *, number: int) -> Answer:
    """Return the answer in a line.

    Parameters
    ----------
    line : bytes
        One line.
    number : int
        Number of the question it must repeat.

    Returns
    -------
    Answer
        Checked.

    Raises
    ------
    AnswerError
        When it is none.
    """
    try:
        answer = _ANSWER.decode(line)
    except (msgspec.MsgspecError, UnicodeDecodeError) as fault:
        raise AnswerError(plain_words(str(fault))) from fault
    if answer.n != number:
        raise AnswerError(f"an answer to question {answer.n} instead of {number}")
    return answer


def lines_of(answer: Answer, *, at_ns: int) -> list[ReadingOrFault]:
    """Return what a driver read of a scale's bytes.

    Parameters
    ----------
    answer : Answer
        Checked by field.
    at_ns : int
        Newest moment it was told. [ns]

    Returns
    -------
    list[ReadingOrFault]
        In their order.

    Raises
    ------
    AnswerError
        When a moment lies ahead, a weight has no number, or what is no weight has one.
    """
    items: list[ReadingOrFault] = []
    for one in answer.readings:
        if (one.condition is Condition.WEIGHT) != (one.value is not None):
            raise AnswerError(f"a line that is '{one.condition}' with the number {one.value}")
        value = None if one.value is None else Decimal(one.value)
        items.append(Reading(one.at_ns, value, one.unit, one.condition, one.steady, one.net, one.raw))
    for place, bad in answer.line_faults:
        if not 0 <= place <= len(items):
            raise AnswerError("lines in no order")
        items.insert(place, LineFault(bad.at_ns, bad.raw, _shown(bad.found), _shown(bad.wanted)))
    if any(item.at_ns > at_ns for item in items):
        raise AnswerError("a line that came later than now")
    return items


def runs_of(answer: Answer) -> list[SpinReading | ExportFault]:
    """Return what a driver read of a balancing machine's text.

    Parameters
    ----------
    answer : Answer
        Checked by field.

    Returns
    -------
    list[SpinReading | ExportFault]
        Runs, or a single fault.

    Raises
    ------
    AnswerError
        When an angle is none, or there are runs and a fault.
    """
    if answer.export_fault is not None:
        if answer.runs:
            raise AnswerError("runs and a fault at once")
        told = answer.export_fault
        return [ExportFault(told.line, _shown(told.found), _shown(told.wanted), _shown(told.do))]
    runs: list[SpinReading | ExportFault] = []
    for run in answer.runs:
        planes: list[PlaneReading] = []
        for plane in run.planes:
            if not (isfinite(plane.heavy_angle_deg) and 0 <= plane.heavy_angle_deg < _TURN_DEG):
                raise AnswerError(f"an angle of {plane.heavy_angle_deg} degrees")
            planes.append(
                PlaneReading(
                    plain_words(plane.plane), Decimal(plane.amount), Decimal(plane.angle), plane.heavy_angle_deg
                )
            )
        runs.append(SpinReading(plain_words(run.label), run.unit, tuple(planes), run.speed_rpm, run.raw))
    return runs


def answer_of_lines(number: int, items: object) -> Answer:
    """Return what a driver's `feed` gave as an answer.

    Parameters
    ----------
    number : int
        Of the question.
    items : object
        A list of `Reading` and `LineFault`.

    Returns
    -------
    Answer
        Not yet checked: that is for the other side.

    Raises
    ------
    TypeError
        When it is something else.
    """
    answer = Answer(number)
    for place, item in enumerate(_listed(items)):
        match item:
            case Reading():
                shown = None if item.value is None else f"{item.value:f}"
                answer.readings.append(
                    WireReading(
                        item.at_ns, shown, item.unit, item.condition, item.steady, item.net, bytes(memoryview(item.raw))
                    )
                )
            case LineFault():
                fault = WireLineFault(item.at_ns, bytes(memoryview(item.raw)), item.found, item.wanted)
                answer.line_faults.append((place, fault))
            case _:
                raise TypeError(f"feed gave {type(item).__name__}, wanted Reading or LineFault")
    return answer


def answer_of_runs(number: int, items: object) -> Answer:
    """Return what a driver's `read` gave as an answer.

    Parameters
    ----------
    number : int
        Of the question.
    items : object
        A list of `SpinReading`, or of one `ExportFault`.

    Returns
    -------
    Answer
        Not yet checked: that is for the other side.

    Raises
    ------
    TypeError
        When it is something else.
    """
    answer = Answer(number)
    for item in _listed(items):
        match item:
            case SpinReading():
                planes = [WirePlane(p.plane, f"{p.amount:f}", f"{p.angle:f}", p.heavy_angle_deg) for p in item.planes]
                answer.runs.append(WireRun(item.label, item.unit, planes, item.speed_rpm, item.raw))  # type: ignore[arg-type]  # checked on the other side
            case ExportFault():
                answer.export_fault = WireExportFault(item.line, item.found, item.wanted, item.do)
            case _:
                raise TypeError(f"read gave {type(item).__name__}, wanted SpinReading or ExportFault")
    return answer


def _listed(items: object) -> list[object]:
    if not isinstance(items, (list, tuple)):
        raise TypeError(f"the driver gave {type(items).__name__}, wanted a list")
    return [*items]  # pyright: ignore[reportUnknownVariableType]


def _shown(text: str) -> str:
    return plain_words(text, cap=_WORDS_CAP)
