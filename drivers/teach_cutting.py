"""Cuts what was heard into the steps of teaching: the stretches at rest and the lines in between."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal

from drivers.showing import shown_text
from drivers.teach_states import Shown, TaughtState, Unreadable, parse_shown

_LINE = re.compile(rb"[^\r\n\x03]*[\r\n\x03]+")
_DECIMALS = re.compile(rb"[0-9]+(?:[.,'][0-9]{3})*[.,][0-9]+")
_DIGITS = re.compile(rb"[0-9]+")
_WORD = re.compile(rb"(?<![0-9A-Za-z])[A-Za-z*?~^=]+(?![0-9A-Za-z])")
_LEAST = 5
_MOST_LINES = 4
_ALIKE = 0.9
_SLACK = Decimal("2.5")

Numbers = tuple[Decimal, ...]
Signature = tuple[Numbers, int]
"""The numbers of a line without their signs, and how many minus signs it holds, wherever they stand."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Lines that follow each other and show the same."""

    first: int
    last: int
    numbers: Numbers
    signs: int


def lines_heard(data: bytes) -> list[bytes]:
    """Return the lines of a capture with their ends; a piece after the last end is left out.

    Parameters
    ----------
    data : bytes
        What came.

    Returns
    -------
    list[bytes]
        Oldest first; the first may have lost its head.
    """
    return [found.group() for found in _LINE.finditer(data)]


def moving_bytes(between: bytes, *, before: bytes, after: bytes) -> bytes:
    """Return what came while the pan moved, without the lines at rest on either side.

    Parameters
    ----------
    between : bytes
        Everything that came between two steps.
    before : bytes
        What came at rest before.
    after : bytes
        What came at rest after.

    Returns
    -------
    bytes
        The moving lines with one line on each side, which the teacher drops; empty when nothing moved.
    """
    resting = {_signature(line) for line in (*lines_heard(before), *lines_heard(after))}
    lines = lines_heard(between)
    numbers = [_signature(line) for line in lines]
    # A pan may come to rest on the way, for instance when tare is pressed before the part is lifted.
    still = {at for stretch in _stretches(numbers) for at in range(stretch.first, stretch.last + 1)}
    moving = [at for at, shown in enumerate(numbers) if at not in still and not _rests(shown, resting)]
    if not moving:
        return b""
    first, last = max(0, moving[0] - 1), min(len(lines) - 1, moving[-1] + 1)
    return b"".join(lines[at] for at in sorted({first, *moving, last}))


def words_of(line: bytes) -> tuple[bytes, ...]:
    r"""Return the words of a line that stand apart from numbers and check characters.

    Parameters
    ----------
    line : bytes
        A line.

    Returns
    -------
    tuple[bytes, ...]
        In their order.

    Examples
    --------
    >>> words_of(b"QA;+;   603,8;g;6B\r\n")
    (b'QA', b'g')
    """
    return tuple(_WORD.findall(line))


def steps_of_recording(data: bytes, shown: Sequence[str]) -> list[TaughtState] | Unreadable:
    """Find the steps of teaching in one recording of all of them.

    Parameters
    ----------
    data : bytes
        A recording: a pan at rest for each of the numbers, in their order, at least five lines each.
    shown : Sequence[str]
        What the display showed, step by step.

    Returns
    -------
    list[TaughtState] | Unreadable
        The steps with the moving lines between them; or which number was not found.
    """
    lines = _together(lines_heard(data))
    stretches = _stretches([_signature(line) for line in lines])
    no_sign = min((stretch.signs for stretch in stretches), default=0)
    states: list[TaughtState] = []
    behind, at = 0, 0
    for text in shown:
        typed = parse_shown(text)
        if typed is None:
            return Unreadable(shown_text(text), "a number like 512.3 g", "type what the display showed")
        while at < len(stretches) and not _shows(stretches[at], typed, no_sign=no_sign):
            at += 1
        if at == len(stretches):
            found = f"no stretch of {_LEAST} lines at rest that shows {text.strip()}" + (
                " after the step before it" if states else ""
            )
            do = "give the steps in the order they were recorded, or a file for each step"
            return Unreadable(found, "every number in the recording, in its order", do)
        stretch = stretches[at]
        # One line more on each side: the teacher drops the first and the last of each step, which may be cut.
        raw = b"".join(lines[max(0, stretch.first - 1) : stretch.last + 2])
        between = b"".join(lines[max(0, behind - 1) : stretch.first + 1])
        if states and (moved := moving_bytes(between, before=states[-1].raw, after=raw)):
            states.append(TaughtState(moved, role="moving"))
        states.append(TaughtState(raw, text))
        behind, at = stretch.last + 1, at + 1
    return states


def _together(lines: list[bytes]) -> list[bytes]:
    """Put the lines of one reading together where a scale sends several: gross, tare and net, over and over.

    The first line may have lost its head, and tells nothing.
    """
    words = [words_of(line) for line in lines]
    for period in range(2, _MOST_LINES + 1):
        again = sum(one == other for one, other in zip(words, words[period:], strict=False))
        if len(set(words[1 : 1 + period])) == period and again >= _ALIKE * max(1, len(words) - period):
            return [b"".join(lines[at : at + period]) for at in range(0, len(lines), period)]
    return lines


def _shows(stretch: _Stretch, typed: Shown, *, no_sign: int) -> bool:
    """Tell whether a stretch shows a number; a negative one needs a sign that other stretches do not have."""
    signed = stretch.signs > no_sign or typed.value >= 0
    return signed and _near(abs(typed.value), stretch.numbers, typed.places)


def _numbers(line: bytes) -> Numbers:
    """Return the numbers of a line that can be a weight: those with decimals, or all digits where there are none."""
    found = _DECIMALS.findall(line) or _DIGITS.findall(line)
    return tuple(Decimal(_plain(text.decode())) for text in found)


def _plain(text: str) -> str:
    """Take the last mark for the decimal sign and the others for groups of thousands."""
    head, mark, tail = text.replace("'", "").replace(",", ".").rpartition(".")
    return head.replace(".", "") + mark + tail


def _signature(line: bytes) -> Signature:
    return _numbers(line), line.count(b"-") + line.count(b"(")


def _division(number: Decimal) -> Decimal:
    exponent = number.as_tuple().exponent
    return Decimal(1).scaleb(exponent) if isinstance(exponent, int) else Decimal(1)


def _stretches(numbers: Sequence[Signature]) -> list[_Stretch]:
    """Return the stretches of enough lines whose numbers stay within a few divisions."""
    stretches: list[_Stretch] = []
    first = 0
    for at in range(1, len(numbers) + 1):
        if at < len(numbers) and _same(numbers[first], numbers[at]):
            continue
        if at - first >= _LEAST and numbers[first][0]:
            stretches.append(_Stretch(first, at - 1, *numbers[first]))
        first = at
    return stretches


def _same(one: Signature, other: Signature) -> bool:
    """Tell whether two lines show the same, give or take a flicker of the last digit."""
    (numbers, signs), (others, other_signs) = one, other
    if len(numbers) != len(others):
        return False
    alike = all(abs(a - b) <= _SLACK * _division(a) for a, b in zip(numbers, others, strict=True))
    # Around zero the sign flickers with the last digit.
    return alike and (signs == other_signs or all(number <= _SLACK * _division(number) for number in numbers))


def _rests(numbers: Signature, resting: Collection[Signature]) -> bool:
    """Tell whether a line shows what a pan at rest showed, give or take a flicker of the last digit."""
    return numbers in resting or any(_same(one, numbers) for one in resting)


def _near(value: Decimal, numbers: Numbers, places: int) -> bool:
    """Tell whether a number is among those of a line, its decimal sign sent or not, its digits in either order."""
    slack = _SLACK.scaleb(-places)
    for number in numbers:
        implied = number.scaleb(-places) if number == number.to_integral_value() else number
        backwards = Decimal(str(number)[::-1]) if "E" not in str(number) else number
        if any(abs(value - one) <= slack for one in (number, implied, backwards)):
            return True
    return False
