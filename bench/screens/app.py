"""The dashboard: shows the latest view, hands keys on as commands. It knows a desk, not a bench."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import ClassVar

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.events import Resize
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import ContentSwitcher, DataTable, Footer, Input, Static

from bench.screens import dialogs
from bench.screens.form_dialog import FormDialog
from bench.screens.help_screen import HelpScreen
from bench.screens.paint_steps import ORDER, notice_line, question_line, where_am_i
from bench.screens.panels import BobweightsPanel, JobsPanel, Panel, SignOffPanel, SpinPanel, TrailPanel, WeighPanel
from bench.screens.safe_text import plain
from bench.screens.themes import THEMES
from bench.use_cases import commands as c
from bench.use_cases import view as v
from bench.use_cases.sign_off import what_is_missing

PANELS = {
    v.Step.INTAKE: "panel-jobs",
    v.Step.WEIGH: "panel-weigh",
    v.Step.BOBWEIGHTS: "panel-bobweights",
    v.Step.SPIN: "panel-spin",
    v.Step.SIGN_OFF: "panel-sign-off",
    v.Step.DONE: "panel-sign-off",
}
FLASH_S = 0.4


class ViewCame(Message):
    """A new view of the desk."""

    def __init__(self, view: v.BenchView) -> None:
        super().__init__()
        self.view = view


class BenchApp(App[int]):
    """The dashboard.

    Parameters
    ----------
    desk : Desk
        What it shows and asks.
    first_job : str | None
        Job to open at once.
    tone_player : Callable[[Tone], None] | None
        Plays tones; the terminal's bell when None.
    """

    TITLE = "spinledger"
    CSS_PATH = "app.tcss"
    ENABLE_COMMAND_PALETTE = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "explain", "Help", id="bench.help", priority=True),
        Binding("pagedown", "due", "Do what is due", id="bench.due", key_display="PgDn", priority=True),
        Binding("pageup", "take_back", "Take back", id="bench.take-back", key_display="PgUp", priority=True),
        Binding("1", "number(1)", "Weigh", id="bench.weigh", show=False),
        Binding("2", "number(2)", "Bobweights", id="bench.bobweights", show=False),
        Binding("3", "number(3)", "Spin", id="bench.spin", show=False),
        Binding("4", "number(4)", "Sign-off", id="bench.sign-off", show=False),
        Binding("t", "show_trail", "Trail", id="bench.trail"),
        Binding("j", "leave_job", "Jobs", id="bench.jobs"),
        Binding("n", "new_job", "New", id="bench.new"),
        Binding("e", "enter", "Type", id="bench.type"),
        Binding("g", "go_to", "Go to", id="bench.go-to"),
        Binding("k", "skip", "Later", id="bench.skip"),
        Binding("x", "edit_cut", "Cut", id="bench.cut"),
        Binding("o", "sign_off", "Sign off", id="bench.sign"),
        Binding("c", "certificate", "Certificate", id="bench.certificate", show=False),
        Binding("w", "note", "Note", id="bench.note", show=False),
        Binding("i", "initials", "Initials", id="bench.initials", show=False),
        Binding("r", "raw", "Raw lines", id="bench.raw", show=False),
        Binding("d", "next_theme", "Colours", id="bench.colours", show=False),
        Binding("q", "quit", "Quit", id="bench.quit"),
    ]

    def __init__(
        self,
        desk: c.Desk,
        *,
        first_job: str | None = None,
        tone_player: Callable[[v.Tone], None] | None = None,
    ) -> None:
        super().__init__()
        self._desk = desk
        self._first_job = first_job
        self._play = tone_player or self._ring
        self._view = v.BenchView()
        self._trail_shown = False
        self._heard = 0
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = "bench-mono" if os.environ.get("NO_COLOR") else "bench-dark"

    def compose(self) -> ComposeResult:
        """Where am I, the instruction, the panel, the question, the notice, the keys.

        Yields
        ------
        Widget
            From top to bottom.
        """
        yield Static("", id="where")
        with Vertical(id="frame"):
            yield Static("", id="headline")
            yield Static("", id="detail")
            with ContentSwitcher(initial="panel-jobs", id="panels"):
                yield JobsPanel()
                yield WeighPanel()
                yield BobweightsPanel()
                yield SpinPanel()
                yield SignOffPanel()
                yield TrailPanel()
        yield Static("", id="question")
        yield Static("", id="notice")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """Begin to listen, open the first job."""
        self._desk.listen(self._view_came)
        if self._first_job is not None:
            self._desk.ask(c.ChooseJob(self._first_job))

    def _view_came(self, view: v.BenchView) -> None:
        self.post_message(ViewCame(view))

    def on_view_came(self, message: ViewCame) -> None:
        """Paint the newest view; older ones that still wait are passed over.

        Parameters
        ----------
        message : ViewCame
            Carries the view.
        """
        self._view = message.view
        self._sound()
        self.paint()

    def on_resize(self, _event: Resize) -> None:
        """Paint for the new room, when it is laid out."""
        self.set_timer(0.1, self.paint)

    def paint(self) -> None:
        """Show the latest view."""
        view = self._view
        columns = self.size.width
        self._put("where", where_am_i(view, columns=columns))
        self._put("headline", plain(view.instruction.headline, "bold"))
        detail = view.instruction.detail
        self._put("detail", plain(detail))
        self.query_one("#detail").display = bool(detail)
        question = question_line(view)
        self._put("question", question)
        self.query_one("#question").display = bool(question.plain)
        self._put("notice", notice_line(view))
        small = self.size.height <= 14
        self.query_one(Footer).display = not small
        panel = "panel-jobs" if view.job is None else PANELS[view.shown_step]
        if self._trail_shown and view.job is not None:
            panel = "panel-trail"
        switcher = self.query_one("#panels", ContentSwitcher)
        if switcher.current != panel:
            switcher.current = panel
            if panel == "panel-jobs":
                self.query_one("#jobs", DataTable).focus()
            else:
                self.set_focus(None)
            self.call_after_refresh(self.paint)
        self.query_one(f"#{panel}", Panel).paint(view)

    def _put(self, where: str, content: object) -> None:
        self.query_one(f"#{where}", Static).update(content)  # type: ignore[arg-type]

    def _sound(self) -> None:
        notice = self._view.notice
        if notice is None or notice.number == self._heard:
            return
        self._heard = notice.number
        if notice.tone is v.Tone.NONE:
            return
        self._play(notice.tone)
        frame = self.query_one("#frame")
        frame.set_classes(f"flash-{notice.tone.value}")
        self.set_timer(FLASH_S, lambda: frame.set_classes(""))

    def _ring(self, tone: v.Tone) -> None:
        # the bell has one pitch: one stroke for taken, two for a question, three for refused
        strokes = {v.Tone.ACCEPT: 1, v.Tone.ATTENTION: 2, v.Tone.REFUSE: 3}.get(tone, 0)
        for stroke in range(strokes):
            self.set_timer(0.01 + 0.25 * stroke, self.bell)

    def on_data_table_row_selected(self, event: DataTable.RowSelected) -> None:
        """Open the job of a row.

        Parameters
        ----------
        event : DataTable.RowSelected
            Which row.
        """
        if event.row_key.value is not None:
            self._desk.ask(c.ChooseJob(event.row_key.value))

    def on_input_changed(self, event: Input.Changed) -> None:
        """Filter the timeline.

        Parameters
        ----------
        event : Input.Changed
            What was typed.
        """
        if event.input.id == "trail-filter":
            self.paint()

    # -- actions ------------------------------------------------------------------------------------------
    def _ask_in(self, dialog: FormDialog) -> None:
        def answered(command: c.Command | None) -> None:
            if command is not None:
                self._desk.ask(command)

        self.push_screen(dialog, answered)

    def action_due(self) -> None:
        """Do what is due: answer, record the cuts as proposed, sign off."""
        view = self._view
        if isinstance(self.screen, FormDialog):
            self.screen.go_on()
        elif isinstance(self.screen, ModalScreen):
            self.screen.dismiss(None)
        elif view.question is not None:
            self._desk.ask(c.Answer(view.question.choices[0][0]))
        elif view.want.doing is v.Doing.CUT and view.proposal is not None:
            self._desk.ask(c.RecordCuts(view.proposal.cuts))
        elif view.want.doing is v.Doing.SIGN_OFF:
            self.action_sign_off()
        elif view.shown_step is v.Step.DONE:
            self.action_certificate()

    def action_number(self, number: int) -> None:
        """Answer a question by its number, or show a step.

        Parameters
        ----------
        number : int
            From 1.
        """
        view = self._view
        if view.question is not None:
            if number <= len(view.question.choices):
                self._desk.ask(c.Answer(view.question.choices[number - 1][0]))
        elif view.job is not None:
            self._trail_shown = False
            self._desk.ask(c.ShowStep(ORDER[number - 1]))

    def action_take_back(self) -> None:
        """Withdraw the last thing of the step shown; leaves a dialog first."""
        if isinstance(self.screen, ModalScreen):
            self.screen.dismiss(None)
            return
        self._desk.ask(c.TakeBack())

    def action_show_trail(self) -> None:
        """Show or leave the timeline."""
        self._trail_shown = not self._trail_shown
        self.paint()

    def action_leave_job(self) -> None:
        """Back to the jobs."""
        self._trail_shown = False
        self._desk.ask(c.LeaveJob())

    def action_new_job(self) -> None:
        """Open a new job."""
        self._ask_in(dialogs.new_job())

    def action_enter(self) -> None:
        """Type a weight, or a run in the spin step."""
        job = self._view.job
        if job is None:
            return
        if self._view.shown_step is v.Step.SPIN:
            self._ask_in(dialogs.type_run(tuple(plane.name for plane in job.spec.planes)))
        else:
            self._ask_in(dialogs.type_weight(self._view.want.cell))

    def action_go_to(self) -> None:
        """Weigh another part next."""
        if self._view.job is not None:
            self._ask_in(dialogs.go_to(self._view.job))

    def action_skip(self) -> None:
        """Leave the part that is due for later."""
        self._desk.ask(c.Skip())

    def action_edit_cut(self) -> None:
        """Record a cut as it was really made."""
        job = self._view.job
        if job is not None:
            self._ask_in(dialogs.edit_cuts(self._view.proposal, tuple(plane.name for plane in job.spec.planes)))

    def action_sign_off(self) -> None:
        """Sign the job off."""
        if self._view.job is not None and self._view.review is not None:
            self._ask_in(dialogs.sign_off(what_is_missing(self._view.review)))

    def action_certificate(self) -> None:
        """Write the certificate."""
        if self._view.job is not None:
            self._desk.ask(c.MakeCertificate())

    def action_note(self) -> None:
        """Write a note."""
        if self._view.job is not None:
            self._ask_in(dialogs.note())

    def action_initials(self) -> None:
        """Say who is at the bench."""
        self._ask_in(dialogs.initials(self._view.by))

    def action_raw(self) -> None:
        """Show the instruments' own lines in the timeline."""
        panel = self.query_one(TrailPanel)
        panel.with_raw = not panel.with_raw
        self.paint()

    def action_next_theme(self) -> None:
        """Change the colours."""
        names = [theme.name for theme in THEMES]
        here = names.index(self.theme) if self.theme in names else -1
        self.theme = names[(here + 1) % len(names)]

    def action_explain(self) -> None:
        """Help for what is shown."""
        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self._view.shown_step if self._view.job else v.Step.INTAKE, self.BINDINGS))
