"""Asks for a file on the disk."""

from __future__ import annotations

from collections.abc import Callable
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
    value : str
        What stands in the field at first.
    doubt : Callable[[str], str] or None
        What speaks against an answer; typed again unchanged, it is meant. Empty words for nothing.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave", id="path.leave")]

    def __init__(self, words: str, *, value: str = "", doubt: Callable[[str], str] | None = None) -> None:
        super().__init__(classes="card")
        self._words = words
        self._value = value
        self._doubt = doubt
        self._doubted: str | None = None

    def compose(self) -> ComposeResult:
        """Lay out words and field.

        Yields
        ------
        Widget
            From top to bottom.
        """
        with Vertical(classes="sheet-of-paper"):
            yield Static(plain(self._words, "bold"))
            yield Input(self._value, id="path", max_length=LONGEST_PATH, select_on_focus=False, compact=True)
            yield Static("", id="complaint")
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
        typed = event.value.strip()
        words = self._doubt(typed) if self._doubt is not None and typed and typed != self._doubted else ""
        if words:
            self._doubted = typed
            self.query_one("#complaint", Static).update(plain(words))
            return
        self.dismiss(typed or None)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(None)
