"""How far a long walk is, on a terminal's error stream; silent where nobody watches."""

from __future__ import annotations

import sys
import time

WIDTH = 28
EVERY_S = 0.1


class ProgressBar:
    """One line that is written over itself.

    Parameters
    ----------
    total : int
        Events of the record.
    """

    def __init__(self, total: int) -> None:
        self._total = total
        self._last = 0.0
        self._part = ""
        self._shown = 0
        self._live = sys.stderr.isatty()

    def __call__(self, part: str, done: int) -> None:
        """Show a part of the walk and how many events of it are done.

        Parameters
        ----------
        part : str
            Our own word of what is walked.
        done : int
            Events.
        """
        now = time.monotonic()
        if not self._live or (part == self._part and now - self._last < EVERY_S):
            return
        self._part, self._last = part, now
        line = bar_words(part, done, self._total)
        print(f"\r{line}{' ' * max(self._shown - len(line), 0)}", end="", file=sys.stderr, flush=True)
        self._shown = len(line)

    def end(self) -> None:
        """Clear the line."""
        if self._shown:
            print(f"\r{' ' * self._shown}\r", end="", file=sys.stderr, flush=True)
            self._shown = 0


def bar_words(part: str, done: int, total: int) -> str:
    """Return one state of the bar.

    Parameters
    ----------
    part : str
        What is walked.
    done : int
        Events done.
    total : int
        Events of the record.

    Returns
    -------
    str
        Plain ASCII, below 80 characters.

    Examples
    --------
    >>> bar_words("chain", 5000, 10000)
    'chain  [##############..............]  50 %  5,000 of 10,000'
    """
    share = min(done / total, 1.0) if total else 1.0
    filled = int(share * WIDTH)
    return f"{part}  [{'#' * filled}{'.' * (WIDTH - filled)}] {share * 100:3.0f} %  {done:,} of {total:,}"
