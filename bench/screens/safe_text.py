"""The one choke point for text from data on its way to the terminal: marks instead of control characters."""

from __future__ import annotations

import unicodedata

from rich.cells import cell_len, set_cell_size
from textual.content import Content

LONGEST = 500
"""Characters shown of one text; the record keeps all of it."""

_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_ALSO_UNSEEN = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u180f\u3164\uffa0\u2800") | frozenset(
    chr(code) for code in (*range(0xFE00, 0xFE10), *range(0xE0100, 0xE01F0))
)
_MOST_MARKS_ON_ONE = 2


def _mark(char: str) -> str:
    return f"<{ord(char):02X}>"


def safe(text: object, *, most: int = LONGEST) -> str:
    r"""Return a text as it may go to a terminal: one line, every unseen character as a visible mark.

    Parameters
    ----------
    text : object
        Anything from the record, an instrument or a person.
    most : int
        Characters shown; a longer text is cut here and ends with three points.

    Returns
    -------
    str
        Printable characters only. Control characters, direction marks, zero-width and unassigned characters stand
        as their code in angle brackets, as does every accent above two on one letter.

    Examples
    --------
    >>> safe("pis\x1b]0;x\x07ton")
    'pis<1B>]0;x<07>ton'
    >>> safe("a\u202eb\u200bc")
    'a<202E>b<200B>c'
    """
    raw = str(text)
    out: list[str] = []
    stacked = 0
    for char in raw[:most]:
        category = unicodedata.category(char)
        if category in {"Mn", "Me"} and char not in _ALSO_UNSEEN:
            stacked += 1
            out.append(char if out and stacked <= _MOST_MARKS_ON_ONE else _mark(char))
            continue
        stacked = 0
        odd_space = category == "Zs" and char not in {" ", "\u00a0"}
        out.append(_mark(char) if category in _UNSEEN or char in _ALSO_UNSEEN or odd_space else char)
    if len(raw) > most:
        out.append("...")
    return "".join(out)


def clipped(text: object, width: int) -> str:
    """Return a shown text that is no longer than a width.

    Parameters
    ----------
    text : object
        Anything.
    width : int
        Cells it may take.

    Returns
    -------
    str
        Cut with an ellipsis where it is longer.
    """
    words = safe(text)
    if width <= 0:
        return ""
    if cell_len(words) <= width:
        return words
    return set_cell_size(words, width - 1) + "…"


def folded(text: object, width: int, *, indent: int = 0, most: int = 100) -> list[str]:
    """Return a shown text over as many lines as it needs.

    Parameters
    ----------
    text : object
        Anything.
    width : int
        Cells a line may take.
    indent : int
        Blanks before the second line and those after it.
    most : int
        Lines it may take; the last one is cut with an ellipsis where more would be needed.

    Returns
    -------
    list[str]
        At least one line.
    """
    words = safe(text)
    if width <= 0:
        return [""]
    lines: list[str] = []
    while cell_len(words) > width and len(lines) < most - 1:
        end = len(set_cell_size(words, width))
        start = len(words) - len(words.lstrip())
        blank = words.rfind(" ", max(start, indent) + 1, end + 1)
        cut = blank if blank > 0 else end
        lines.append(words[:cut].rstrip())
        words = " " * indent + words[cut:].lstrip()
    return [*lines, clipped(words, width)]


def padded(text: object, width: int, *, right: bool = False) -> str:
    """Return a shown text that takes exactly a width.

    Parameters
    ----------
    text : object
        Anything.
    width : int
        Cells it takes.
    right : bool
        Set against the right edge.

    Returns
    -------
    str
        Clipped or filled up with spaces.
    """
    words = clipped(text, width)
    gap = " " * (width - cell_len(words))
    return gap + words if right else words + gap


def plain(text: object, style: str = "") -> Content:
    """Return a text as content that is never parsed as markup.

    Parameters
    ----------
    text : object
        Anything.
    style : str
        A style of ours; never from data.

    Returns
    -------
    Content
        Ready for a widget.
    """
    return Content.styled(safe(text), style) if style else Content(safe(text))
