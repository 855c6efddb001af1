"""Keys that a label scanner types: known by how they begin and how fast they come, before they act as keys."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Generic, TypeVar

from bench.use_cases.part_code import PREFIX

Event = TypeVar("Event")

LONGEST_GAP_S = 0.06
"""Scanners type a character every 1 to 30 ms; fingers need more than 80. [s]"""
LONGEST = 120


@dataclass(slots=True)
class ScanBurst(Generic[Event]):
    """Holds keys back while they may be a scan.

    Attributes
    ----------
    held : list
        Events held back, in order.
    text : str
        Their characters.
    last_s : float
        When the last one came. [s]
    """

    held: list[Event] = field(default_factory=list[Event])
    text: str = ""
    last_s: float = 0.0

    def take(self, event: Event, character: str | None, now_s: float) -> tuple[list[Event], str]:
        """Take a key.

        Parameters
        ----------
        event : Event
            The key as it came.
        character : str or None
            What it types; None for other keys, a line feed for Enter.
        now_s : float
            Monotonic moment. [s]

        Returns
        -------
        tuple[list[Event], str]
            Events to act on now, in order, and a scanned line; both may be empty.
        """
        late = [] if now_s - self.last_s <= LONGEST_GAP_S else self.release()
        self.last_s = now_s
        if self.held and character in {"\n", "\r"} and len(self.text) > len(PREFIX):
            line, self.text = self.text, ""
            self.held.clear()
            return late, line
        if character is None or not character.isprintable() or not self._may_be(self.text + character):
            return [*late, *self.release(), event], ""
        self.held.append(event)
        self.text += character
        return late, ""

    def release(self) -> list[Event]:
        """Give up what is held.

        Returns
        -------
        list
            The events, in order.
        """
        held, self.held, self.text = self.held, [], ""
        return held

    @staticmethod
    def _may_be(text: str) -> bool:
        return len(text) <= LONGEST and (PREFIX.startswith(text) or text.startswith(PREFIX))
