"""The last sentence at the foot of the dashboard: the desk's, or the dashboard's own when it is newer."""
# pyright: reportPrivateUsage=false
# the app and what it says are one thing in two files

from __future__ import annotations

from typing import TYPE_CHECKING

from bench.use_cases.view import Notice, Tone

if TYPE_CHECKING:
    from bench.screens.app import BenchApp


class Saying:
    """Mixed into the dashboard."""

    greeting: str = ""
    """What it says first, until the desk says something."""
    _said: Notice | None = None
    _said_at = 0

    @property
    def _face(self) -> BenchApp:
        return self  # type: ignore[return-value]

    @property
    def notice(self) -> Notice | None:
        """The last sentence: the desk's, or our own when it is newer."""
        view = self._face.view
        latest = view.notice.number if view.notice is not None else 0
        return self._said if self._said is not None and latest <= self._said_at else view.notice

    def tell(self, words: str, *, level: str = "ask") -> None:
        """Say something of the dashboard's own, until the desk says something.

        Parameters
        ----------
        words : str
            One sentence.
        level : str
            "good", "bad", "ask" or "info".
        """
        view = self._face.view
        self._said_at = view.notice.number if view.notice is not None else 0
        self._said = Notice(self._said_at, words, Tone.NONE, level)
        self._face.paint()

    def greet(self) -> None:
        """Say the greeting where there is one."""
        if self.greeting:
            self.tell(self.greeting, level="info")
