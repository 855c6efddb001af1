"""The one way text from outside reaches a screen: everything that acts on a terminal becomes a visible mark."""

from __future__ import annotations

import unicodedata

from textual.content import Content

HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


def safe(text: str, *, most: int = 500) -> str:
    """Return one line in which nothing acts: controls, direction marks and zero-width as codes in angle brackets.

    Parameters
    ----------
    text : str
        Anything.
    most : int
        Longer text is cut here and marked so.

    Returns
    -------
    str
        Fit to show.

    Examples
    --------
    >>> safe("a" + chr(27) + "[2J")
    'a<1B>[2J'
    """
    cut = text[:most]
    shown = "".join(f"<{ord(c):02X}>" if unicodedata.category(c) in HIDDEN else c for c in cut)
    return shown if len(text) <= most else shown + "..."


def plain(text: str, style: str = "") -> Content:
    """Return text as content that is never read as markup.

    Parameters
    ----------
    text : str
        Anything.
    style : str
        A style of the theme, e.g. "bold $success".

    Returns
    -------
    Content
        One line.
    """
    return Content.styled(safe(text), style) if style else Content(safe(text))
