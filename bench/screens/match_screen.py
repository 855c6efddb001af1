"""The card that shows a set part by part: what is heavy and how much comes off."""

from __future__ import annotations

import asyncio
from time import monotonic
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.models.job import Cell
from bench.models.job_state import JobState
from bench.screens.glyphs import GlyphSet
from bench.screens.paint_match import match_card, pairing_lines, queue_lines
from bench.use_cases.commands import GoTo
from bench.use_cases.pair_parts import pair_parts
from bench.use_cases.view import Review

CARD_COLUMNS = 70
LONGEST_SEARCH_S = 2.0


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
    state : JobState or None
        For the best pairing; None where it is not asked for.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,m,q", "leave", "Leave", id="match.leave"),
        Binding("right,down,tab", "turn(1)", "Next set", id="match.next"),
        Binding("left,up,shift+tab", "turn(-1)", "Set before", id="match.before"),
        Binding("enter", "heaviest", "Weigh the heaviest again", id="match.again"),
        Binding("b", "pair", "Best pairing of the loose parts", id="match.pair"),
    ]

    def __init__(self, review: Review, kind: str, glyphs: GlyphSet, state: JobState | None = None) -> None:
        super().__init__(classes="card")
        self._state = state
        self._pairing: list[Content] = []
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
        turn = f"{here}  arrows turn  Enter heaviest again  b pairs  Escape leaves"
        return Content("\n").join(
            [
                match_card(self._review, line.kind, width=width, glyphs=self._glyphs),
                *queue_lines(self._review, width=width),
                *self._pairing,
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

    async def action_pair(self) -> None:
        """Look for the best pairing of the loose parts, for a moment at most."""
        state = self._state
        if state is None:
            return
        until = monotonic() + LONGEST_SEARCH_S
        found = await asyncio.to_thread(pair_parts, state, seconds_left=lambda: until - monotonic())
        self._pairing = pairing_lines(found, self._glyphs)
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
