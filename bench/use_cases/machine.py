"""What the weigh station needs of a weigh machine."""

from __future__ import annotations

from typing import Protocol

from bench.capture.decisions import Decision, Expected
from drivers.contract import LineFault, LinkChange, Reading


class Machine(Protocol):
    """What the station needs of a weigh machine; `bench.capture` has it."""

    def expect(self, expected: Expected | None) -> list[Decision]:
        """Say what is due."""
        ...

    def feed(self, item: Reading | LineFault | LinkChange) -> list[Decision]:
        """Give it what the scale says."""
        ...

    def tick(self, now_ns: int) -> list[Decision]:
        """Let time pass."""
        ...

    def answer(self, choice: str, now_ns: int) -> list[Decision]:
        """Answer its question."""
        ...
