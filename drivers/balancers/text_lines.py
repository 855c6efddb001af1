"""The bytes of an export to numbered lines, or to the one fault that says why not."""

from __future__ import annotations

import codecs
from dataclasses import dataclass

from drivers.contract import ExportFault
from drivers.showing import shown_bytes, shown_size

EXPORT_CAP = 25 * 1024 * 1024
"""Largest export that is read. [bytes]"""
_LINE_CAP = 4096
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


@dataclass(frozen=True, slots=True)
class TextLine:
    """A line of a text with its place.

    Attributes
    ----------
    number : int
        Counted from 1.
    text : str
        Without its end.
    """

    number: int
    text: str


def export_lines(data: bytes, encoding: str) -> list[TextLine] | ExportFault:
    """Decode a text and cut it into lines.

    Parameters
    ----------
    data : bytes
        The whole text.
    encoding : str
        Character set, unless a byte order mark tells another one.

    Returns
    -------
    list[TextLine] or ExportFault
        The lines; a fault when the text is empty, too large or not of that character set.
    """
    if not data.strip(b" \t\r\n\x00\x1a"):
        return ExportFault(0, "an empty text", "at least one run", "save the run on the machine and try again")
    if len(data) > EXPORT_CAP:
        wanted = f"at most {shown_size(EXPORT_CAP)}"
        return ExportFault(0, shown_size(len(data)), wanted, "check that this is the machine's text and no other file")
    mark, told = next(((mark, name) for mark, name in _MARKS if data.startswith(mark)), (b"", encoding))
    body = data[len(mark) :]
    try:
        text = body.decode(told)
    except UnicodeDecodeError as error:
        place = body[: error.start].count(b"\n") + 1
        found = f"byte {shown_bytes(body[error.start : error.start + 1])} is no character of {told}"
        return ExportFault(place, found, f"text in {told}", "set the profile's encoding to the machine's")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for number, line in enumerate(lines, start=1):
        fault = _unfit(number, line)
        if fault is not None:
            return fault
    return [TextLine(number, line) for number, line in enumerate(lines, start=1)]


def _unfit(number: int, line: str) -> ExportFault | None:
    """Refuse a line that no machine prints."""
    if "\x00" in line:
        do = "if the file is text for another program, set the profile's encoding (utf-16 has such characters)"
        return ExportFault(number, "a NUL character", "printable text", do)
    if len(line) > _LINE_CAP:
        wanted = f"lines of at most {_LINE_CAP} characters"
        do = "check that this is the machine's text and no other file"
        return ExportFault(number, f"a line of {len(line)} characters", wanted, do)
    return None


def as_raw(lines: list[TextLine]) -> str:
    """Return lines as one text again, as it is kept beside a run.

    Parameters
    ----------
    lines : list[TextLine]
        The lines of a run.

    Returns
    -------
    str
        The lines joined by line feeds.
    """
    return "\n".join(line.text for line in lines)
