"""The card that shows the numbers safety hangs on, large and with their units, before a job is opened with them."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.screens.big_text import BigText
from bench.screens.glyphs import GlyphSet
from bench.screens.safe_text import plain
from bench.use_cases.commands import Command, CreateJob
from bench.use_cases.safety_numbers import Numbers, numbers_of


def card_for(command: Command, glyphs: GlyphSet) -> NumbersCard | None:
    """Return the card for a command, where one is wanted.

    Parameters
    ----------
    command : Command
        What is to be asked.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    NumbersCard or None
        None where nothing that safety hangs on is in it.
    """
    return NumbersCard(numbers_of(command.spec), glyphs) if isinstance(command, CreateJob) else None


class NumbersCard(ModalScreen["bool | None"]):
    """Shows numbers large; True when they are right.

    Parameters
    ----------
    numbers : Numbers
        Words and value with unit.
    glyphs : GlyphSet
        What the console can draw.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "right", "Right", id="numbers.right"),
        Binding("escape", "wrong", "Wrong", id="numbers.wrong"),
    ]

    def __init__(self, numbers: Numbers, glyphs: GlyphSet) -> None:
        super().__init__(classes="card")
        self._numbers = numbers
        self._glyphs = glyphs

    def compose(self) -> ComposeResult:
        """Lay the numbers out.

        Yields
        ------
        Widget
            Words and a large value each.
        """
        with VerticalScroll(classes="sheet-of-paper", can_focus=False):
            yield Static(Content.styled("These numbers decide when the crank is done. Are they right?", "bold"))
            for words, value in self._numbers:
                yield Static(plain(f"{words}: {value}"))  # the large letters know no small ones
                large = BigText(most=1)
                large.blocks = self._glyphs.blocks
                large.styles.height = "auto"
                large.put(value)
                yield large
            yield Static(Content.styled("Enter: right, open the job   Escape: back to the form", "$faint"))

    def action_right(self) -> None:
        """They are right."""
        self.dismiss(True)

    def action_wrong(self) -> None:
        """Back to the form, nothing is lost."""
        self.dismiss(False)
