"""Asks for a file on the disk."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from bench.screens.safe_text import plain

LONGEST_PATH = 1000


class PathDialog(ModalScreen["str | None"]):
    """Gives what was typed, or None.

    Parameters
    ----------
    words : str
        What is asked.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave", id="path.leave")]

    def __init__(self, words: str) -> None:
        super().__init__(classes="card")
        self._words = words

    def compose(self) -> ComposeResult:
        """Lay out words and field.

        Yields
        ------
        Widget
            From top to bottom.
        """
        with Vertical(classes="sheet-of-paper"):
            yield Static(plain(self._words, "bold"))
            yield Input(id="path", max_length=LONGEST_PATH, compact=True)
            yield Static(Content.styled("Enter goes on, Escape leaves", "$faint"))

    def on_mount(self) -> None:
        """Begin in the field."""
        self.query_one("#path").focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Give the path.

        Parameters
        ----------
        event : Input.Submitted
            The field.
        """
        event.stop()
        self.dismiss(event.value.strip() or None)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(None)
