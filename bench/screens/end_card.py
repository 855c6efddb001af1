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
    pedal : str
        Key of the pedal.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,escape,space", "seen", "Seen", id="end.seen")]

    def __init__(self, end: UncleanEnd, *, pedal: str) -> None:
        super().__init__(classes="card")
        self._end, self._due, self._pedal = end, "", pedal

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
            yield Static(plain(self._due), id="due")
            words = f"Enter or {key_words(self._pedal)}: seen, go on   or simply lay the part: it goes when it is taken"
            yield Static(Content.styled(words, "$faint"))

    def tell_due(self, words: str) -> None:
        """Say what the bench waits for meanwhile.

        Parameters
        ----------
        words : str
            The instruction; empty while no job is open.
        """
        told = f"the bench is ready: {words}" if words else ""
        if told != self._due and self.is_mounted:
            self._due = told
            self.query_one("#due", Static).update(plain(told))

    def action_seen(self) -> None:
        """Go on."""
        self.dismiss(None)
