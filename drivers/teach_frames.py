"""Finds out how captures are cut into lines, and whether the lines carry check characters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from drivers.checks import CheckKind, CheckWriting, check_holds
from drivers.framing import LineFramer
from drivers.scales.scale_profile import Checksum

_KINDS: tuple[CheckKind, ...] = ("crc16 modbus", "crc16 ccitt", "sum", "xor", "negative sum")
_WRITINGS: tuple[CheckWriting, ...] = ("hex", "decimal", "low byte first hex")
_FEWEST_CHECKED = 5


@dataclass(frozen=True)
class Frames:
    """How lines are cut.

    Attributes
    ----------
    end : str
        End mark; empty for either of CR and LF.
    start : str
        Start mark, or empty.
    captures : list[list[str]]
        The whole lines of each capture, without check characters.
    checksum : Checksum | None
        The check characters that were found and taken off.
    length : int
        The one length of all lines with their check characters, or 0. [bytes]
    """

    end: str
    start: str
    captures: list[list[str]]
    checksum: Checksum | None
    length: int


def find_frames(captures: Sequence[bytes]) -> Frames | None:
    """Cut captures into lines.

    Parameters
    ----------
    captures : Sequence[bytes]
        Bytes of each step.

    Returns
    -------
    Frames | None
        None when there is no mark that ends lines.
    """
    together = b"".join(captures)
    end = _end_mark(captures)
    if end is None:
        return None
    start = "\x02" if together.count(b"\x02") >= 2 * len(captures) else ""
    cut = [_cut(raw, end=end, start=start) for raw in captures]
    lines = [line for capture in cut for line in capture]
    lengths = {len(line) for line in lines}
    checksum = _find_checksum(lines, start)
    if checksum is not None:
        cut = [[line[: -checksum.length] for line in capture] for capture in cut]
    text = [[line.decode("latin-1") for line in capture] for capture in cut]
    return Frames(end, start, text, checksum, lengths.pop() if len(lengths) == 1 else 0)


def _end_mark(captures: Sequence[bytes]) -> str | None:
    """Take CR and LF before anything else, then the end-of-text mark, then any control byte that recurs."""
    if all(raw.count(b"\r") + raw.count(b"\n") >= 2 for raw in captures):
        return ""
    for code in (0x03, 0x04, 0x0C, 0x1E, 0x00):
        if all(raw.count(bytes([code])) >= 2 for raw in captures):
            return chr(code)
    return None


def _cut(raw: bytes, *, end: str, start: str) -> list[bytes]:
    framer = LineFramer(end=end.encode("latin-1"), start=start.encode("latin-1"))
    return [line for line in framer.feed(raw) if isinstance(line, bytes) and line.strip()]


def _find_checksum(lines: Sequence[bytes], start: str) -> Checksum | None:
    if len(set(lines)) < 3 or len(lines) < _FEWEST_CHECKED:
        return None
    for kind, written, skip, with_start in product(_KINDS, _WRITINGS, range(3), (False, True)):
        if (with_start and not start) or (written == "low byte first hex" and not kind.startswith("crc16")):
            continue
        checksum = Checksum(kind=kind, written=written, skip=skip, with_start=with_start)
        holding = {line for line in lines if _holds(line, checksum, start)}
        held = sum(line in holding for line in lines)
        if held >= 0.95 * len(lines) and len(holding) >= 3 and _tails_differ(holding, checksum.length):
            return checksum
    return None


def _holds(line: bytes, checksum: Checksum, start: str) -> bool:
    if len(line) <= checksum.length + checksum.skip:
        return False
    body, written = line[: -checksum.length], line[-checksum.length :]
    counted = (start.encode("latin-1") if checksum.with_start else b"") + body
    return check_holds(counted[checksum.skip :], written, kind=checksum.kind, writing=checksum.written)


def _tails_differ(lines: set[bytes], length: int) -> bool:
    return len({line[-length:] for line in lines}) >= 2
