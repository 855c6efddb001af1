"""Lines to tokens: numbers, words and single marks, each with its place."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

TokenKind = Literal["number", "digits", "word", "mark"]
_KINDS: dict[str, TokenKind] = {"number": "number", "digits": "digits", "word": "word"}


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a line without blanks.

    Attributes
    ----------
    kind : str
        "number" (with a fraction), "digits", "word" or "mark".
    text : str
        The characters.
    start : int
        First column.
    end : int
        Column behind the last.
    """

    kind: TokenKind
    text: str
    start: int
    end: int


@lru_cache(maxsize=16)
def _pattern(decimal: str, thousands: str) -> re.Pattern[str]:
    mark = re.escape(decimal)
    grouped = rf"[0-9]{{1,3}}(?:{re.escape(thousands)}[0-9]{{3}})+{mark}[0-9]+|" if thousands else ""
    return re.compile(
        rf"(?P<number>{grouped}[0-9]+{mark}[0-9]+)|(?P<digits>[0-9]+)|(?P<word>[A-Za-z]+)"
        r"|(?P<mark>[-*?#_!])(?P=mark)+|[^ \t]"
    )


@lru_cache(maxsize=4096)
def tokenise(line: str, *, decimal: str, thousands: str = "") -> tuple[Token, ...]:
    """Cut a line into tokens.

    Parameters
    ----------
    line : str
        A whole line.
    decimal : str
        The sign that makes a fraction.
    thousands : str
        The sign between groups of three, or empty.

    Returns
    -------
    tuple[Token, ...]
        From left to right.

    Examples
    --------
    >>> [token.text for token in tokenise("ST,+ 12.3kg", decimal=".")]
    ['ST', ',', '+', '12.3', 'kg']
    """
    tokens: list[Token] = []
    for found in _pattern(decimal, thousands).finditer(line):
        kind = _KINDS.get(found.lastgroup or "", "mark")
        tokens.append(Token(kind, found.group(), found.start(), found.end()))
    return tuple(tokens)


def cut_in_two(line: str, token: Token) -> bool:
    """Tell whether digits stand on the other side of a decimal or grouping sign beside a token.

    Such a token may be half of a number.

    Parameters
    ----------
    line : str
        The line.
    token : Token
        A token of it.

    Returns
    -------
    bool
        True when it may be half of a number.
    """
    after = line[token.end : token.end + 2]
    before = line[max(0, token.start - 2) : token.start]
    return _joins(after) or _joins(before[::-1])


def _joins(two: str) -> bool:
    return len(two) == 2 and two[0] in ".,'" and two[1].isdigit()
