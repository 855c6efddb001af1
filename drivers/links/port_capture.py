"""Collects what a balancing machine prints over a port into whole texts, ended by a mark or by silence."""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable

from drivers.contract import ExportText, LinkChange, LinkState
from drivers.links.silence import SilenceWatch
from drivers.showing import shown_size

CAPTURE_CAP = 1024 * 1024
"""Longest text that is collected. [bytes]"""


class PortCapture:
    """The sink of a link that carries printed text.

    With an end mark, only the line that holds the mark ends a text; silence then ends nothing, because a text without
    its mark is not whole. Without a mark, silence ends it. When the link is lost in the middle of a text, the piece is
    told as trouble and not delivered.

    Parameters
    ----------
    on_text : Callable[[ExportText], None]
        Takes each whole text, from the link's thread or the silence watch's.
    name : str
        The port in words.
    end_mark : bytes
        What ends a text; empty when silence does.
    silence_s : float
        Quiet time that ends a text without a mark. [s]
    on_change : Callable[[LinkChange], None] | None
        Takes the link's changes, and a text that was cut off.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    """

    def __init__(
        self,
        on_text: Callable[[ExportText], None],
        *,
        name: str = "port",
        end_mark: bytes = b"",
        silence_s: float = 2.0,
        on_change: Callable[[LinkChange], None] | None = None,
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        self._on_text = on_text
        self._name = name
        self._end_mark = end_mark
        self._on_change = on_change
        self._clock_ns = clock_ns
        self._lock = threading.Lock()
        self._data = bytearray()
        self._watch = SilenceWatch(None if end_mark else silence_s, self._went_silent, clock_ns=clock_ns)

    def start(self) -> None:
        """Begin to watch for silence."""
        self._watch.start()

    def stop(self) -> None:
        """Stop watching; an unfinished text is dropped."""
        self._watch.stop()

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        """Take bytes and deliver the texts they complete.

        Parameters
        ----------
        chunk : bytes
            The bytes.
        at_ns : int
            Monotonic moment of arrival. [ns]
        """
        done: list[bytes] = []
        with self._lock:
            self._data += chunk
            while self._end_mark:
                text = self._cut()
                if text is None:
                    break
                done.append(text)
            too_long = len(self._data) > CAPTURE_CAP
            if too_long:
                self._data.clear()
        self._watch.heard()
        for text in done:
            self._deliver(text, at_ns)
        if too_long:
            detail = f"more than {shown_size(CAPTURE_CAP)} without an end"
            self._trouble(detail, "check the end mark in the machine's profile", at_ns)

    def link_changed(self, change: LinkChange) -> None:
        """Take a change of the link; a text that it cuts off is not delivered.

        Parameters
        ----------
        change : LinkChange
            The change.
        """
        with self._lock:
            cut_off = len(self._data.strip()) if change.state in {LinkState.LOST, LinkState.CLOSED} else 0
            if cut_off:
                self._data.clear()
        if self._on_change is not None:
            self._on_change(change)
        if cut_off:
            self._trouble(f"a text cut off after {cut_off} bytes", "print the run again", change.at_ns)

    def _cut(self) -> bytes | None:
        """Cut a text off behind the line that holds the end mark; the line must be whole."""
        at = self._data.find(self._end_mark)
        if at < 0:
            return None
        ends = [end for end in (self._data.find(b"\r", at), self._data.find(b"\n", at)) if end >= 0]
        if not ends and self._end_mark[-1:].isalnum():
            return None
        stop = min(ends) + 1 if ends else at + len(self._end_mark)
        text = bytes(self._data[:stop])
        del self._data[:stop]
        return text

    def _went_silent(self) -> None:
        with self._lock:
            text = bytes(self._data)
            self._data.clear()
        if text.strip():
            self._deliver(text, self._clock_ns())

    def _deliver(self, text: bytes, at_ns: int) -> None:
        text = text.lstrip(b"\r\n\x00")
        self._on_text(ExportText(self._name, text, hashlib.sha256(text).hexdigest(), at_ns))

    def _trouble(self, detail: str, remedy: str, at_ns: int) -> None:
        if self._on_change is not None:
            self._on_change(LinkChange(at_ns, LinkState.GARBLED, detail, remedy))
