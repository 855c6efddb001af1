"""The card that stands first after an end that was not the usual one."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.screens.actions import key_words
from bench.screens.safe_text import plain
from bench.trail.at_work import UncleanEnd


class EndCard(ModalScreen[None]):
    """Says that the last end was not clean and what was read last; any of its keys or the pedal goes on.

    Parameters
    ----------
    end : UncleanEnd
        What is said.
    due : str
        What the bench waits for meanwhile; may be empty.
    pedal : str
        Key of the pedal.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,escape,space", "seen", "Seen", id="end.seen")]

    def __init__(self, end: UncleanEnd, *, due: str, pedal: str) -> None:
        super().__init__(classes="card")
        self._end, self._due, self._pedal = end, due, pedal

    def compose(self) -> ComposeResult:
        """Lay the sentences out.

        Yields
        ------
        Widget
            A sentence each.
        """
        first, *middle, last = self._end.lines
        with VerticalScroll(classes="sheet-of-paper", can_focus=False):
            yield Static(Content.styled(first, "bold $ask"))
            yield Static("")
            for words in middle:
                yield Static(plain(words))
            yield Static("")
            yield Static(Content.styled(last, "bold"))
            if self._due:
                yield Static("")
                yield Static(plain(f"the bench is ready: {self._due}"))
            words = f"Enter or {key_words(self._pedal)}: seen, go on   or simply lay the part: it goes when it is taken"
            yield Static(Content.styled(words, "$faint"))

    def action_seen(self) -> None:
        """Go on."""
        self.dismiss(None)
