"""The card that shows a set part by part: what is heavy and how much comes off."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.models.job import Cell
from bench.screens.glyphs import GlyphSet
from bench.screens.paint_match import match_card
from bench.use_cases.commands import GoTo
from bench.use_cases.view import Review

CARD_COLUMNS = 70


class MatchScreen(ModalScreen[GoTo | None]):
    """Shows one set after another.

    Parameters
    ----------
    review : Review
        The job, computed.
    kind : str
        Key of the set to begin with; the first that is out of its limit when empty or not known.
    glyphs : GlyphSet
        What the console can draw.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,m,q", "leave", "Leave", id="match.leave"),
        Binding("right,down,tab", "turn(1)", "Next set", id="match.next"),
        Binding("left,up,shift+tab", "turn(-1)", "Set before", id="match.before"),
        Binding("enter", "heaviest", "Weigh the heaviest again", id="match.again"),
    ]

    def __init__(self, review: Review, kind: str, glyphs: GlyphSet) -> None:
        super().__init__(classes="card")
        self._review = review
        self._glyphs = glyphs
        kinds = [line.kind for line in review.sets]
        out = [i for i, line in enumerate(review.sets) if any(line.out)]
        self._index = kinds.index(kind) if kind in kinds and not out else (out[0] if out else 0)

    def compose(self) -> ComposeResult:
        """Lay out the card.

        Yields
        ------
        Widget
            One text.
        """
        with VerticalScroll(classes="sheet-of-paper"):
            yield Static(self.card(), id="match", markup=False)

    def card(self) -> Content:
        """Return what stands on the card.

        Returns
        -------
        Content
            The set and the keys.
        """
        line = self._review.sets[self._index]
        width = min(CARD_COLUMNS, max(self.size.width - 8, 30))
        here = f"set {self._index + 1} of {len(self._review.sets)}"
        turn = f"{here}: arrow keys turn, Enter weighs the heaviest again, Escape leaves"
        return Content("\n").join(
            [
                match_card(self._review, line.kind, width=width, glyphs=self._glyphs),
                Content(""),
                Content.styled(turn, "$faint"),
            ]
        )

    def action_turn(self, by: int) -> None:
        """Show another set.

        Parameters
        ----------
        by : int
            Forward or back.
        """
        self._index = (self._index + by) % len(self._review.sets)
        self.query_one("#match", Static).update(self.card())

    def action_heaviest(self) -> None:
        """Go to the heaviest of the set, to weigh it again after grinding."""
        line = self._review.sets[self._index]
        offs = [(off, place) for off, place in zip(line.take_off_g, line.places, strict=True) if off is not None]
        if offs:
            self.dismiss(GoTo(Cell(kind=line.kind, place=max(offs)[1])))
        else:
            self.dismiss(None)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(None)
