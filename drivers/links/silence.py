"""Notices that an instrument has gone quiet, also when the thread that reads it hangs."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

_LOOKS_A_SECOND = 8


class SilenceWatch:
    """Calls once when nothing was heard for a while, and again only after something was heard.

    Parameters
    ----------
    after_s : float | None
        Quiet time that counts as silence; None watches nothing. [s]
    went_silent : Callable[[], None]
        What to call, from the watch's own thread.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    """

    def __init__(
        self,
        after_s: float | None,
        went_silent: Callable[[], None],
        *,
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        self._after_s = after_s
        self._went_silent = went_silent
        self._clock_ns = clock_ns
        self._heard_ns: int | None = None
        self._stopping = threading.Event()

    @property
    def active(self) -> bool:
        """True when silence means something."""
        return self._after_s is not None

    def heard(self) -> None:
        """Note that the instrument spoke just now, or that listening begins."""
        self._heard_ns = self._clock_ns()

    def start(self) -> None:
        """Begin to watch."""
        if self._after_s is None:
            return
        self._stopping = threading.Event()
        self._heard_ns = None
        args = (self._stopping, self._after_s)
        threading.Thread(target=self._run, args=args, name="silence watch", daemon=True).start()

    def stop(self) -> None:
        """End the watch."""
        self._stopping.set()

    def _run(self, stopping: threading.Event, after_s: float) -> None:
        while not stopping.wait(after_s / _LOOKS_A_SECOND):
            heard_ns = self._heard_ns
            if heard_ns is not None and self._clock_ns() - heard_ns >= after_s * 1e9:
                self._heard_ns = None
                self._went_silent()
