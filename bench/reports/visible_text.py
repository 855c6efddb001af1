"""Text from outside, made fit for paper and files: what cannot be seen is shown, never passed on."""

from __future__ import annotations

import unicodedata

_KEPT = {"\n"}
_REPLACEMENT = "\ufffd"
_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def visible(text: str, *, one_line: bool = True) -> str:
    r"""Return the text with every control, direction and half character made visible.

    Control characters can break files, direction marks can turn figures round, and half characters cannot be written
    as UTF-8 at all. Each becomes one replacement character, so that a person sees that something stood there.

    Parameters
    ----------
    text : str
        Anything a person, a file or an instrument gave.
    one_line : bool
        Turn line ends and tabs into blanks; otherwise line ends stay.

    Returns
    -------
    str
        Text that prints as it reads.

    Examples
    --------
    >>> visible("port\tengine\x1b[2J")
    'port engine�[2J'
    """
    if text.isascii() and text.isprintable():
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    if one_line:
        text = text.replace("\n", " ")
    return "".join(_shown(character) for character in text)


def _shown(character: str) -> str:
    if character in _KEPT:
        return character
    if character in _TURNING or unicodedata.category(character) in {"Cc", "Cs", "Co", "Zl", "Zp"}:
        return _REPLACEMENT
    return _REPLACEMENT if ord(character) & 0xFFFE == 0xFFFE or 0xFDD0 <= ord(character) <= 0xFDEF else character
