"""Finding jobs by words: every word that is looked for must begin a word of the job."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable


def tokens(text: str) -> list[str]:
    """Return the words of a text as a search sees them: letters and digits, without case and accents.

    Parameters
    ----------
    text : str
        Any.

    Returns
    -------
    list[str]
        In order.

    Examples
    --------
    >>> tokens("Größe 2031-0007")
    ['große', '2031', '0007']
    """
    plain = "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))
    return "".join(c.lower() if c.isalnum() else " " for c in plain).split()


def wanted_words(words: str) -> list[list[str]]:
    """Return what is looked for: one list of tokens a word, "2031-0007" being one word of two.

    Parameters
    ----------
    words : str
        As typed.

    Returns
    -------
    list[list[str]]
        Without what holds no letter or digit.
    """
    return [found for word in words.split() if (found := tokens(word))]


def full_text_query(words: str) -> str:
    """Return the query for the full-text table.

    Parameters
    ----------
    words : str
        As typed; nothing in it is taken as an operator.

    Returns
    -------
    str
        Empty when there is nothing to look for.

    Examples
    --------
    >>> full_text_query("heron 2031-0007")
    '"heron"* AND "2031 0007"*'
    """
    return " AND ".join(f'"{" ".join(word)}"*' for word in wanted_words(words))


def fits(words: str, columns: Iterable[str]) -> bool:
    """Return whether every word begins some word of the columns.

    Parameters
    ----------
    words : str
        As typed.
    columns : Iterable[str]
        A job's texts.

    Returns
    -------
    bool
        False when nothing was asked for.
    """
    texts = [tokens(column) for column in columns]
    wanted = wanted_words(words)
    return bool(wanted) and all(any(_holds(text, word) for text in texts) for word in wanted)


def _holds(text: list[str], word: list[str]) -> bool:
    *whole, last = word
    return any(
        text[start : start + len(whole)] == whole and text[start + len(whole)].startswith(last)
        for start in range(len(text) - len(whole))
    )
