"""The tour: cards at the lower edge, over a bench that goes on working, read in two minutes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Final

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.screens.glyphs import GlyphSet

WORDS_A_MINUTE = 180
"""Slow, careful reading; a test adds the cards up."""


@dataclass(frozen=True, slots=True)
class TourCard:
    """One card.

    Attributes
    ----------
    title : str
        What it is about.
    words : str
        Two or three sentences.
    """

    title: str
    words: str


TOUR: Final = (
    TourCard(
        "What you see is invented",
        "An invented engine lies on a simulated bench, and somebody invented lays the parts. It is a record of its "
        "own: nothing of yours is touched. SIMULATED stands at the top all the time.",
    ),
    TourCard(
        "Where am I",
        "The top line holds the job and its four steps: weigh, bobweights, spin, sign-off. Keys 1 to 4 look at them, "
        "and so does a click. The work itself goes on by itself.",
    ),
    TourCard(
        "One thing to do",
        "The largest words say the next thing to do: lay piston 3. Lay it, wait for TAKEN and the tone, lift it off. "
        "The next part is asked for. No key is needed.",
    ),
    TourCard(
        "The number and the word",
        "The number is what the scale shows. The word beside it is always at the same place. "
        "When the program is not sure it asks, and the pedal gives the first answer.",
    ),
    TourCard(
        "The sheet",
        "Each row is a set of parts. A mark shows what was taken, typed or weighed again. The bar is the spread "
        "against its limit. Key m says how many grams come off which part.",
    ),
    TourCard(
        "Bobweights and spins",
        "When the sheet is full, each bobweight is made to its number: add, take off, hold. Then you spin. The run is "
        "read from the machine's text, and a card says where to drill and how deep.",
    ),
    TourCard(
        "Nothing is lost",
        "What was TAKEN is on the disk. Taking back, PageUp, is a new line in the trail, key t. Pull the plug: "
        "it goes on where it stood.",
    ),
    TourCard(
        "When you are lost",
        "F1 explains what is shown. F2 finds everything by its words. h is the guide. q leaves this bench; on your own "
        "record l connects your scale and n opens your first job.",
    ),
)


class TourScreen(ModalScreen[None]):
    """Shows one card after the other.

    Parameters
    ----------
    glyphs : GlyphSet
        What the console can draw.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,space,right,pagedown", "turn(1)", "Next", id="tour.next"),
        Binding("left,backspace,pageup", "turn(-1)", "Back", id="tour.before"),
        Binding("escape,q,u", "leave", "Leave", id="tour.leave"),
    ]

    def __init__(self, glyphs: GlyphSet) -> None:
        super().__init__(classes="low-card")
        self._glyphs = glyphs
        self._at = 0

    def compose(self) -> ComposeResult:
        """Lay out a card.

        Yields
        ------
        Widget
            One text.
        """
        with Vertical(classes="sheet-of-paper wide"):
            yield Static(self.card(), id="tour", markup=False)

    def card(self) -> Content:
        """Return the card that is shown.

        Returns
        -------
        Content
            Title, words, where it is in the row of cards, keys.
        """
        card = TOUR[self._at]
        dots = " ".join(self._glyphs.done if i <= self._at else self._glyphs.to_do for i in range(len(TOUR)))
        last = "Enter ends the tour" if self._at + 1 == len(TOUR) else "Enter: next"
        return Content("\n").join(
            [
                Content.assemble(Content.styled(card.title, "bold $accent"), Content.styled(f"   {dots}", "$faint")),
                Content(card.words),
                Content.styled(f"{last}   left arrow: back   Escape ends the tour", "$faint"),
            ]
        )

    def action_turn(self, by: int) -> None:
        """Show the next card or the one before; after the last the tour ends.

        Parameters
        ----------
        by : int
            Forward or back.
        """
        if self._at + by >= len(TOUR):
            self.dismiss(None)
            return
        self._at = max(0, self._at + by)
        self.query_one("#tour", Static).update(self.card())

    def on_click(self) -> None:
        """Go on by a click."""
        self.action_turn(1)

    def action_leave(self) -> None:
        """End the tour."""
        self.dismiss(None)
