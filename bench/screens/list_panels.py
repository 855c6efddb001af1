"""The list of jobs, the timeline of one, what remains before the sign-off."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from bench.models.job_state import JobLine
from bench.screens.actions import BY_ID
from bench.screens.big_text import BigText
from bench.screens.line import Line
from bench.screens.names_screen import MOST_NAMES, names_bar
from bench.screens.paint_lists import (
    FIRST_STEPS,
    NO_JOBS,
    NO_JOBS_BELOW,
    first_step,
    job_heads,
    job_row,
    sign_off_rows,
    trail_rows,
)
from bench.screens.paint_spin import VERDICTS
from bench.screens.palette import state_style
from bench.screens.panel import Look, Panel
from bench.screens.picture import Picture
from bench.use_cases.view import BenchView, Step


class JobsPanel(Panel):
    """The list of jobs."""

    class Chosen(Message):
        """A job was chosen."""

        def __init__(self, number: str) -> None:
            super().__init__()
            self.number = number

    class Stepped(Message):
        """A first step was chosen."""

        def __init__(self, act_id: str) -> None:
            super().__init__()
            self.act_id = act_id

    class NamePicked(Message):
        """A name of the bar was chosen."""

        def __init__(self, number: int) -> None:
            super().__init__()
            self.number = number

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(str(number), f"name({number})", show=False, id=f"names.{number}") for number in range(1, MOST_NAMES + 1)
    ]

    def __init__(self) -> None:
        super().__init__(id="panel-jobs")
        self._view = BenchView()
        self._shown: tuple[object, ...] | None = None
        self._jobs: tuple[JobLine, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay out heads, the list, and words for when it is empty.

        Yields
        ------
        Widget
            From top to bottom.
        """
        yield Line(id="job-heads")
        yield OptionList(id="jobs", markup=False)
        with VerticalScroll(id="no-jobs", can_focus=False):
            yield Static(NO_JOBS, markup=False)
            yield OptionList(id="first-run", markup=False)
            yield Static(Content.styled(NO_JOBS_BELOW, "$faint"), markup=False)
        yield Line(id="names")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Tell whether a key is the bar's; while a job is shown, numbers are its steps.

        Parameters
        ----------
        action : str
            What the key would do.
        parameters : tuple[object, ...]
            Its arguments.

        Returns
        -------
        bool or None
            False to leave the key to others.
        """
        return self.display if action == "name" else super().check_action(action, parameters)

    def action_name(self, number: int) -> None:
        """Choose a name of the bar.

        Parameters
        ----------
        number : int
            From 1.
        """
        self.post_message(self.NamePicked(number))

    def show(self, view: BenchView, look: Look) -> None:
        """Show the jobs.

        Parameters
        ----------
        view : BenchView
            The bench.
        look : Look
            How the screen is.
        """
        width = look.columns - 8
        keys = look.keys
        self._show_names(view, look)
        moment = (view.jobs, width, view.read_only, view.simulated, tuple(keys.items()))
        if moment == self._shown:
            return
        self._shown, self._jobs, self._view = moment, view.jobs, view
        table, heads = self.query_one("#jobs", OptionList), self.query_one("#job-heads", Line)
        here = table.highlighted
        table.clear_options()
        table.add_options([Option(job_row(line, width)) for line in view.jobs])
        if view.jobs:
            table.highlighted = min(here or 0, len(view.jobs) - 1)
        heads.put(job_heads(width), "$faint")
        table.display = heads.display = bool(view.jobs)
        self.query_one("#no-jobs").display = not view.jobs
        if not view.jobs:
            steps = self.query_one("#first-run", OptionList)
            steps.clear_options()
            steps.add_options([Option(first_step(id_, words, keys)) for id_, words in self._first_steps(view)])
            steps.highlighted = 0

    def _show_names(self, view: BenchView, look: Look) -> None:
        names = self.query_one("#names", Line)
        names.display = bool(look.names) and not look.tiny
        parts = [Content.styled(" at the bench:", "$faint")]
        room = look.columns - parts[0].cell_length - 2
        for part in names_bar(look.names, here=view.by, action="app.pick_name"):
            room -= part.cell_length + 1
            if room >= 0:
                parts.append(part)
        names.put(Content(" ").join(parts))

    @staticmethod
    def _first_steps(view: BenchView) -> list[tuple[str, str]]:
        return [(id_, words) for id_, words in FIRST_STEPS if not BY_ID[id_].why(view)]

    @property
    def marked(self) -> str:
        """Number of the job that is marked in the list; empty when there is none."""
        here = self.query_one("#jobs", OptionList).highlighted
        return self._jobs[here].number if here is not None and here < len(self._jobs) else ""

    @property
    def list_id(self) -> str:
        """The list that is to have the focus."""
        return "#jobs" if self._jobs else "#first-run"

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Open the job of a row, or do the first step that was chosen.

        Parameters
        ----------
        event : OptionList.OptionSelected
            Which row.
        """
        event.stop()
        if event.option_list.id == "first-run":
            steps = self._first_steps(self._view)
            if event.option_index < len(steps):
                self.post_message(self.Stepped(steps[event.option_index][0]))
            return
        if event.option_index < len(self._jobs):
            self.post_message(self.Chosen(self._jobs[event.option_index].number))

    def explain(self) -> str:
        """Say what stands here.

        Returns
        -------
        str
            One sentence.
        """
        if not self._jobs:
            return (
                "Nothing is in this record yet: the list says what can be done first. b tries everything on a "
                "simulated bench, l connects a scale, n opens a job."
            )
        return "The jobs of this record: arrow keys and Enter, or a click, open one; n opens a new one."


class SignOffPanel(Panel):
    """What remains, and the verdict in large letters."""

    def __init__(self) -> None:
        super().__init__(id="panel-sign-off")

    def compose(self) -> ComposeResult:
        """Lay out the verdict and the list.

        Yields
        ------
        Widget
            From top to bottom.
        """
        yield BigText(id="whole-verdict", most=2)
        yield VerticalScroll(Picture(id="sign-off"), can_focus=False)

    def show(self, view: BenchView, look: Look) -> None:
        """Show what remains.

        Parameters
        ----------
        view : BenchView
            The bench.
        look : Look
            How the screen is.
        """
        if view.review is None or view.job is None:
            return
        word, level = VERDICTS[view.review.whole_verdict]
        if view.job.signed_off is not None and view.shown_step is Step.DONE and level == "good":
            word = "DONE"
        verdict = self.query_one("#whole-verdict", BigText)
        verdict.blocks = look.glyphs.blocks
        style = state_style(level).replace(" reverse", "").replace(" underline", "")
        verdict.put(word.lower(), style, most=2 if look.tall else 1)
        self.query_one("#sign-off", Picture).put(
            lambda width, _: Content("\n").join(sign_off_rows(view, look.glyphs, width=width)),
            key=(view.review, view.job.signed_off, view.job.certificates, view.certificate_path, look),
        )

    def explain(self) -> str:
        """Say what stands here.

        Returns
        -------
        str
            One sentence.
        """
        return "What is done and what remains; o signs the job off, c writes the certificate."


class TrailPanel(Panel):
    """Everything that happened."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "app.act('bench.trail')", "Leave", show=False, id="trail.leave")
    ]

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
        yield Input(placeholder="only lines with these letters", id="trail-filter", compact=True, max_length=80)
        yield VerticalScroll(Static("", id="trail-lines", markup=False), id="trail-scroll")

    def show(self, view: BenchView, look: Look) -> None:
        """Show the timeline.

        Parameters
        ----------
        view : BenchView
            The bench.
        look : Look
            How the screen is.
        """
        wanted = self.query_one("#trail-filter", Input).value
        moment = (view.trail[-1].seq if view.trail else 0, len(view.trail), wanted, self.with_raw, look.columns)
        if moment != self._painted:
            self._painted = moment
            rows = trail_rows(view.trail, wanted=wanted, with_raw=self.with_raw, width=look.columns - 4)
            self.query_one("#trail-lines", Static).update(Content("\n").join(rows))
            self.query_one("#trail-scroll", VerticalScroll).scroll_end(animate=False)

    def explain(self) -> str:
        """Say what stands here.

        Returns
        -------
        str
            One sentence.
        """
        return (
            "Everything that happened to this job, oldest first, also what was taken back. Type above to filter, "
            "r shows the instruments' own lines, Escape or t leaves."
        )
