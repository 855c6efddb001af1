"""One panel a step: each paints what a view says into the room it has."""

from __future__ import annotations

from typing import ClassVar, cast

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import DataTable, Input, Static

from bench.screens.big_number import big_number
from bench.screens.paint_bobweights import difference_words, spread_words, sum_table, throw_table
from bench.screens.paint_lists import NO_JOBS, job_rows, sign_off_content, trail_content
from bench.screens.paint_sheet import sheet, take_off_words
from bench.screens.paint_spin import cut_card, plane_picture, run_table
from bench.screens.paint_steps import cautions
from bench.screens.safe_text import plain
from bench.use_cases.view import BenchView, Doing

MOST_NUMBER_ROWS = 15


class Panel(Vertical):
    """What all panels have: they paint a view."""

    def paint(self, view: BenchView) -> None:
        """Show a view.

        Parameters
        ----------
        view : BenchView
            The bench.

        Raises
        ------
        NotImplementedError
            By the panels that forget it.
        """
        raise NotImplementedError

    def put(self, where: str, content: Content) -> None:
        """Show content in a part of the panel.

        Parameters
        ----------
        where : str
            Id of the part.
        content : Content
            What to show.
        """
        self.query_one(f"#{where}", Static).update(content)


class JobsPanel(Panel):
    """The list of jobs."""

    _shown: ClassVar[tuple[tuple[str, int], ...]] = (
        ("job", 11),
        ("step", 14),
        ("title", 24),
        ("customer", 24),
        ("last", 10),
    )

    def __init__(self) -> None:
        super().__init__(id="panel-jobs")
        self._rows: list[tuple[str, str, str, str, str]] | None = None

    def compose(self) -> ComposeResult:
        """Lay out a table, and words for when it is empty.

        Yields
        ------
        Widget
            Both.
        """
        yield DataTable(id="jobs", cursor_type="row", zebra_stripes=True)
        yield Static("", id="no-jobs")

    def on_mount(self) -> None:
        """Set the columns."""
        table = cast("DataTable[Content]", self.query_one("#jobs", DataTable))
        for name, width in self._shown:
            table.add_column(name, width=width)

    def paint(self, view: BenchView) -> None:
        """Show the jobs.

        Parameters
        ----------
        view : BenchView
            The bench.
        """
        rows = job_rows(view)
        if rows == self._rows:
            return
        self._rows = rows
        table = cast("DataTable[Content]", self.query_one("#jobs", DataTable))
        table.clear()
        for row in rows:
            table.add_row(*(Content(cell) for cell in row), key=row[0])
        table.display = bool(rows)
        self.put("no-jobs", Content("") if rows else plain_lines(NO_JOBS))


def plain_lines(text: str) -> Content:
    """Return our own text of several lines as content.

    Parameters
    ----------
    text : str
        Ours.

    Returns
    -------
    Content
        Never read as markup.
    """
    return Content("\n").join(Content(line) for line in text.split("\n"))


class WeighPanel(Panel):
    """What to lay next, the reading, the sheet."""

    def __init__(self) -> None:
        super().__init__(id="panel-weigh")

    def compose(self) -> ComposeResult:
        """Lay out the big number, the sheet, what comes off.

        Yields
        ------
        Widget
            Three texts.
        """
        yield Static("", id="weigh-number", classes="number")
        yield VerticalScroll(Static("", id="weigh-sheet"), Static("", id="weigh-off"), can_focus=False)

    def paint(self, view: BenchView) -> None:
        """Show the weighing.

        Parameters
        ----------
        view : BenchView
            The bench.
        """
        lines = len(view.review.sets) + 2 if view.review is not None else 0
        words = f"{view.live.unit}  {view.live.phase}"
        self.put("weigh-number", number_content(self, view, view.live.shown, words, below=lines))
        if view.review is not None:
            width = self.size.width or 80
            self.put("weigh-sheet", sheet(view.review, due=view.want.cell, columns=width))
            off = [plain(line, "$text-warning") for line in take_off_words(view.review)]
            self.put("weigh-off", Content("\n").join(off))


def number_rows(panel: Panel, *, below: int) -> int:
    """Return how many rows the big number may take: all that what stands below it leaves.

    Parameters
    ----------
    panel : Panel
        Its room.
    below : int
        Rows that what stands below needs.

    Returns
    -------
    int
        From 5 up: digits of four rows and a line of words.
    """
    rows = panel.size.height or 20
    return max(5, min(MOST_NUMBER_ROWS, rows - below))


def number_content(panel: Panel, view: BenchView, shown: str, words: str, *, below: int) -> Content:
    """Return the big number with its words.

    Parameters
    ----------
    panel : Panel
        Its room.
    view : BenchView
        For the colour of the phase.
    shown : str
        Digits.
    words : str
        Unit and phase, one line below.
    below : int
        Rows that what stands below needs.

    Returns
    -------
    Content
        As large as fits.
    """
    columns = panel.size.width or 80
    rows = number_rows(panel, below=below)
    style = "bold $text-success" if view.want.doing is Doing.LIFT else "bold"
    lines = big_number(shown, columns=columns, rows=rows - 1)
    return Content("\n").join([plain(line, style) for line in lines] + [plain(words, style)])


class BobweightsPanel(Panel):
    """What is missing on the pan, the sum, the set."""

    def __init__(self) -> None:
        super().__init__(id="panel-bobweights")

    def compose(self) -> ComposeResult:
        """Lay out the big difference, the throws, the sum.

        Yields
        ------
        Widget
            Texts.
        """
        yield Static("", id="bob-number", classes="number")
        yield VerticalScroll(
            Static("", id="bob-throws"), Static("", id="bob-spread"), Static("", id="bob-sum"), can_focus=False
        )

    def paint(self, view: BenchView) -> None:
        """Show the bobweights.

        Parameters
        ----------
        view : BenchView
            The bench.
        """
        digits, word = difference_words(view.live.difference_g)
        throws = len(view.review.throws) if view.review is not None else 0
        below = throws + 7
        words = f"{word} g   pan {view.live.shown} {view.live.unit}"
        self.put("bob-number", number_content(self, view, digits, words, below=below))
        if view.review is None:
            return
        due = view.want.throw
        self.put("bob-throws", throw_table(view.review.throws, due=due))
        self.put("bob-spread", plain(spread_words(view), "$foreground-muted"))
        line = next((t for t in view.review.throws if t.throw == due), None)
        if line is None:
            line = next((t for t in view.review.throws if t.target_g is not None), None)
        rows = max(4, (self.size.height or 20) - number_rows(self, below=below) - len(view.review.throws) - 2)
        self.put("bob-sum", sum_table(line, rows=rows))


class SpinPanel(Panel):
    """The pictures, the runs, the card for the drill."""

    ascii_only = False

    def __init__(self) -> None:
        super().__init__(id="panel-spin")

    def compose(self) -> ComposeResult:
        """Lay out a picture a plane beside the runs, the card below.

        Yields
        ------
        Widget
            Texts.
        """
        with Horizontal(id="pictures"):
            yield Static("", id="plane-0", classes="picture")
            yield Static("", id="plane-1", classes="picture")
            yield Static("", id="runs")
        yield VerticalScroll(Static("", id="card"), Static("", id="spin-cautions"), can_focus=False)

    def paint(self, view: BenchView) -> None:
        """Show the spins.

        Parameters
        ----------
        view : BenchView
            The bench.
        """
        if view.review is None or view.job is None:
            return
        width, height = self.size.width or 80, self.size.height or 18
        wide = width >= 100
        rows = max(7, min(height - 7, 20 if wide else 13))
        columns = max(14, min(2 * (rows - 2), (width - (36 if wide else 2)) // 2 - 2))
        self.query_one("#pictures").styles.height = rows
        for index in (0, 1):
            there = index < len(view.review.planes)
            self.query_one(f"#plane-{index}").styles.width = columns + 2 if there else 0
            if there:
                plane = view.review.planes[index]
                picture = plane_picture(view, plane, columns=columns, rows=rows, ascii_only=self.ascii_only)
                self.put(f"plane-{index}", picture)
        self.put("runs", run_table(view.job))
        self.put("card", cut_card(view.proposal, columns=width))
        self.put("spin-cautions", cautions(view))


class SignOffPanel(Panel):
    """What remains."""

    def __init__(self) -> None:
        super().__init__(id="panel-sign-off")

    def compose(self) -> ComposeResult:
        """One text.

        Yields
        ------
        Widget
            The text.
        """
        yield VerticalScroll(Static("", id="sign-off"), can_focus=False)

    def paint(self, view: BenchView) -> None:
        """Show what remains.

        Parameters
        ----------
        view : BenchView
            The bench.
        """
        self.put("sign-off", sign_off_content(view))


class TrailPanel(Panel):
    """Everything that happened."""

    def __init__(self) -> None:
        super().__init__(id="panel-trail")
        self.with_raw = False
        self._painted: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay out a filter and the lines.

        Yields
        ------
        Widget
            Both.
        """
        yield Input(placeholder="only lines with ...", id="trail-filter")
        yield VerticalScroll(Static("", id="trail-lines"), id="trail-scroll")

    def paint(self, view: BenchView) -> None:
        """Show the timeline.

        Parameters
        ----------
        view : BenchView
            The bench.
        """
        wanted = self.query_one("#trail-filter", Input).value
        moment = (view.trail[-1].seq if view.trail else 0, len(view.trail), wanted, self.with_raw)
        if moment != self._painted:
            self._painted = moment
            self.put("trail-lines", trail_content(view.trail, wanted=wanted, with_raw=self.with_raw))
            self.query_one("#trail-scroll", VerticalScroll).scroll_end(animate=False)
