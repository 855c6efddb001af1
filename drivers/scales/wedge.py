"""A scale that types its weight like a keyboard: bursts of characters told from a person's typing."""

from __future__ import annotations

from collections.abc import Sequence

BURST_GAP_MS = 35.0
"""Longest pause between characters of a burst. [ms]"""
_FEWEST = 4
_CAP = 128
_ENDS = {"\r", "\n"}


class BurstParser:
    r"""Collects characters that come faster than a person types.

    Parameters
    ----------
    gap_ms : float
        Longest pause between two characters of a burst. [ms]
    prefix : str
        Characters that every burst begins with; empty when there are none.

    Examples
    --------
    >>> parser = BurstParser()
    >>> [parser.key(letter, at_ns=5_000_000 * at) for at, letter in enumerate("603.8\r")][-1]
    '603.8'
    """

    def __init__(self, *, gap_ms: float = BURST_GAP_MS, prefix: str = "") -> None:
        self._gap_ns = int(gap_ms * 1e6)
        self._prefix = prefix
        self._letters: list[str] = []
        self._last_ns: int | None = None

    def key(self, letter: str, *, at_ns: int) -> str | None:
        """Take one character with the moment it was typed.

        Parameters
        ----------
        letter : str
            One character.
        at_ns : int
            Monotonic moment. [ns]

        Returns
        -------
        str | None
            The text of a burst that this character ends; None otherwise.
        """
        slow = self._last_ns is None or at_ns - self._last_ns > self._gap_ns
        self._last_ns = at_ns
        if letter in _ENDS:
            text, self._letters = "".join(self._letters), []
            whole = not slow and len(text) >= _FEWEST and len(text) <= _CAP and text.startswith(self._prefix)
            return text.removeprefix(self._prefix) if whole else None
        if slow:
            self._letters = []
        if len(self._letters) <= _CAP:
            self._letters.append(letter)
        return None

    def paste(self, text: str) -> list[str]:
        """Take a text that the terminal delivered at once.

        Parameters
        ----------
        text : str
            What was pasted.

        Returns
        -------
        list[str]
            Its whole lines that could be bursts.
        """
        self._letters = []
        lines: Sequence[str] = text.replace("\r", "\n").split("\n")[:-1]
        fits = [line for line in lines if _FEWEST <= len(line) <= _CAP and line.startswith(self._prefix)]
        return [line.removeprefix(self._prefix) for line in fits]
