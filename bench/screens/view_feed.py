"""From the desk's thread to the screen's: the newest view, at most sixty times a second, and no sentence lost."""

from __future__ import annotations

import asyncio
import threading
from typing import TYPE_CHECKING

from textual.message import Message

from bench.use_cases.view import BenchView, Notice

if TYPE_CHECKING:
    from textual.app import App

LEAST_GAP_S = 1 / 60


class ViewCame(Message):
    """A new view waits in the feed."""


class ViewFeed:
    """Keeps the newest view until the screen has time for it.

    Parameters
    ----------
    app : App
        Told by a message when there is a view.
    """

    def __init__(self, app: App[int]) -> None:
        self._app = app
        self._lock = threading.Lock()
        self._view: BenchView | None = None
        self._notices: list[Notice] = []
        self._heard = 0
        self._told = False
        self._last_s = -1.0

    def came(self, view: BenchView) -> None:
        """Take a view, from any thread.

        Parameters
        ----------
        view : BenchView
            The newest.
        """
        with self._lock:
            self._view = view
            if view.notice is not None and view.notice.number > self._heard:
                self._heard = view.notice.number
                self._notices.append(view.notice)
            if self._told:
                return
            self._told = True
        self._app.post_message(ViewCame())

    def take(self) -> tuple[BenchView | None, list[Notice]]:
        """Give the newest view and the sentences since the last time, on the screen's own thread.

        Returns
        -------
        tuple[BenchView or None, list[Notice]]
            None when it is too soon: the message comes again.
        """
        loop = asyncio.get_running_loop()
        now = loop.time()
        wait = self._last_s + LEAST_GAP_S - now
        if wait > 0:
            # not the library's own timer: that one leaves a tick out when it starts late, and no view would ever come
            loop.call_later(wait, self._app.post_message, ViewCame())
            return None, []
        with self._lock:
            view, notices = self._view, self._notices
            self._view, self._notices, self._told = None, [], False
        self._last_s = now
        return view, notices
