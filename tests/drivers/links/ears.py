"""A sink that remembers, and waits for what a test wants to see."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from drivers.contract import LinkChange, LinkState


class Ears:
    def __init__(self) -> None:
        self.data = bytearray()
        self.times: list[int] = []
        self.changes: list[LinkChange] = []
        self._news = threading.Condition()

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        with self._news:
            self.data += chunk
            self.times.append(at_ns)
            self._news.notify_all()

    def link_changed(self, change: LinkChange) -> None:
        with self._news:
            self.changes.append(change)
            self._news.notify_all()

    def wait(self, condition: Callable[[], bool], timeout_s: float = 5.0) -> bool:
        with self._news:
            return self._news.wait_for(condition, timeout_s)

    def wait_state(self, state: LinkState, timeout_s: float = 5.0) -> bool:
        return self.wait(lambda: bool(self.changes) and self.changes[-1].state is state, timeout_s)

    def wait_bytes(self, piece: bytes, timeout_s: float = 5.0) -> bool:
        return self.wait(lambda: piece in self.data, timeout_s)

    @property
    def states(self) -> list[LinkState]:
        return [change.state for change in self.changes]


def until(condition: Callable[[], bool], timeout_s: float = 5.0) -> bool:
    end = time.monotonic() + timeout_s
    while time.monotonic() < end:
        if condition():
            return True
        time.sleep(0.005)
    return condition()
