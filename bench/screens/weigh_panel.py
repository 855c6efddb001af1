"""The weigh step: the reading, the verdict, the sheet, what is too heavy."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.content import Content
from textual.events import Click
from textual.message import Message

from bench.models.job import Cell
from bench.screens.number_band import number_band, weigh_reading
from bench.screens.paint_match import heavy_lines
from bench.screens.panel import Look, Panel
from bench.screens.picture import Picture
from bench.screens.sheet import cell_at, legend, sheet_rows
from bench.use_cases.view import BenchView, Review

LEAST_NUMBER_ROWS = 8
ABOVE_AND_BELOW = 9
"""Rows of the screen that are neither number nor sheet: where, instruction, notice, hints."""


def window(rows: list[Content], height: int, due: int) -> list[Content]:
    """Return the head and the rows around one of them.

    Parameters
    ----------
    rows : list[Content]
        Head first.
    height : int
        Rows there is room for.
    due : int
        Index of the row that must be seen.

    Returns
    -------
    list[Content]
        At most `height`.
    """
    if len(rows) <= height or height < 2:
        return rows[: max(height, 0)]
    room = height - 1
    first = min(max(1, due - room // 2), len(rows) - room)
    return [rows[0], *rows[first : first + room]]


class SheetPicture(Picture):
    """The sheet; a click on a cell makes it the next one."""

    class Picked(Message):
        """A cell was clicked."""

        def __init__(self, cell: Cell) -> None:
            super().__init__()
            self.cell = cell

    def __init__(self) -> None:
        super().__init__(id="sheet")
        self._review: Review | None = None
        self._due: Cell | None = None
        self._shift = 0

    def show(self, view: BenchView, look: Look) -> None:
        """Show the sheet of a view.

        Parameters
        ----------
        view : BenchView
            The bench.
        look : Look
            How the screen is.
        """
        review, due, glyphs = view.review, view.want.cell, look.glyphs
        if review is None:
            return
        self._review, self._due = review, due
        kinds = [line.kind for line in review.sets]
        row = kinds.index(due.kind) + 1 if due is not None and due.kind in kinds else 1
        wanted = min(len(kinds) + 1, max(2, look.rows_here - ABOVE_AND_BELOW - LEAST_NUMBER_ROWS + 1))

        def draw(width: int, height: int) -> Content:
            rows = sheet_rows(review, width=width, due=due, glyphs=glyphs)
            seen = window(rows, height, row)
            self._shift = rows.index(seen[1]) - 1 if len(seen) > 1 else 0
            return Content("\n").join(seen)

        self.put(draw, key=(review.sets, due, glyphs, look.rows_here), rows=lambda _: wanted)

    def on_click(self, event: Click) -> None:
        """Make a cell the next one.

        Parameters
        ----------
        event : Click
            Where.
        """
        if self._review is None:
            return
        row = event.y + self._shift if event.y >= 1 else 0
        cell = cell_at(self._review, width=self.content_size.width, due=self._due, x=event.x, y=row)
        if cell is not None:
            self.post_message(self.Picked(cell))


class WeighPanel(Panel):
    """What lies on the pan, and the sheet that fills itself."""

    def __init__(self) -> None:
        super().__init__(id="panel-weigh")

    def compose(self) -> ComposeResult:
        """Lay out number, sheet, what is too heavy.

        Yields
        ------
        Widget
            From top to bottom.
        """
        yield Picture(id="weigh-number")
        yield SheetPicture()
        yield Picture(id="weigh-legend")

    def show(self, view: BenchView, look: Look) -> None:
        """Show the weighing.

        Parameters
        ----------
        view : BenchView
            The bench.
        look : Look
            How the screen is.
        """
        reading, glyphs = weigh_reading(view), look.glyphs
        number = self.query_one("#weigh-number", Picture)
        number.put(lambda w, h: number_band(reading, w, h, glyphs), key=(reading, glyphs))
        sheet, below = self.query_one(SheetPicture), self.query_one("#weigh-legend", Picture)
        sheet.display = not look.tiny
        below.display = look.tall and not look.tiny
        if look.tiny or view.review is None:
            return
        sheet.show(view, look)
        review = view.review
        room = max(2, look.rows_here - len(review.sets) - ABOVE_AND_BELOW - 13)

        def draw(width: int, _height: int) -> Content:
            heavy = heavy_lines(review, glyphs, width=width)
            rows = [Content(""), legend(review, glyphs), *heavy]
            if len(rows) > room:
                more = Content.styled(f"and {len(rows) - room + 1} more: see m", "bold $bad")
                rows = [*rows[: room - 1], more]
            return Content("\n").join(rows)

        below.put(draw, key=(review.sets, glyphs, room))

    def explain(self) -> str:
        """Say what stands here.

        Returns
        -------
        str
            One sentence.
        """
        return (
            "Lay the part the top line asks for, wait for TAKEN, lift it off; the sheet fills itself and goes on "
            "to the next part. A click on a cell weighs that one next."
        )
