"""What all panels have: they show a view in the room they have, with what the console can draw."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from textual.containers import Vertical

from bench.screens.glyphs import GlyphSet
from bench.use_cases.view import BenchView

TINY_ROWS = 15
TINY_COLUMNS = 60
WIDE_COLUMNS = 100
TALL_ROWS = 34
FOLDING_ROWS = 20


@dataclass(frozen=True, slots=True)
class Look:
    """How the screen is at the moment.

    Attributes
    ----------
    glyphs : GlyphSet
        What the console can draw.
    columns, rows : int
        Size of the whole screen.
    keys : Mapping[str, str]
        Keys that were remapped, by the action's id.
    names : tuple[str, ...]
        Initials of those who work at this bench.
    taken_rows : int
        Rows that a long last sentence takes from the panel.
    banner_rows : int
        Rows that words on what is wrong take, above the panel.
    """

    glyphs: GlyphSet
    columns: int
    rows: int
    keys: Mapping[str, str] = field(default_factory=dict[str, str], compare=False)
    names: tuple[str, ...] = field(default=(), compare=False)
    taken_rows: int = 0
    banner_rows: int = 0

    @property
    def rows_here(self) -> int:
        """Rows of a screen whose last sentence is one line long."""
        return self.rows - self.taken_rows

    @property
    def notice_rows(self) -> int:
        """Lines the last sentence may take."""
        if self.rows < FOLDING_ROWS:
            return 1
        return 3 if self.tall else 2

    @property
    def tiny(self) -> bool:
        """Only number, part and verdict fit."""
        return self.rows < TINY_ROWS or self.columns < TINY_COLUMNS

    @property
    def wide(self) -> bool:
        """Things stand side by side."""
        return self.columns >= WIDE_COLUMNS

    @property
    def tall(self) -> bool:
        """There is room for the lesser things."""
        return self.rows >= TALL_ROWS


class Panel(Vertical):
    """A part of the screen that shows one step."""

    def show(self, view: BenchView, look: Look) -> None:
        """Show a view.

        Parameters
        ----------
        view : BenchView
            The bench.
        look : Look
            How the screen is.

        Raises
        ------
        NotImplementedError
            By a panel that forgot it.
        """
        raise NotImplementedError

    def explain(self) -> str:
        """Say in one sentence what stands here.

        Returns
        -------
        str
            For help.
        """
        return ""
