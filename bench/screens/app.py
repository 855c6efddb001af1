"""The dashboard: shows the latest view, hands keys on as commands. It knows a desk, not a bench."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.events import Resize
from textual.screen import ModalScreen
from textual.widgets import ContentSwitcher, Input, OptionList

from bench.computation.unbalance import PlaneVerdict
from bench.screens.actions import ACTS, BY_ID, key_words
from bench.screens.big_text import BigText
from bench.screens.bobweights_panel import BobweightsPanel
from bench.screens.doings import Doings
from bench.screens.everything import Everything
from bench.screens.first_steps import FirstSteps
from bench.screens.flash import Flash
from bench.screens.form_dialog import FormDialog
from bench.screens.frame_lines import banner, hint_line, notice_lines, question_rows, where_line
from bench.screens.glyphs import GLYPH_SETS
from bench.screens.hands import Hands
from bench.screens.line import Line
from bench.screens.list_panels import JobsPanel, SignOffPanel, TrailPanel
from bench.screens.palette import SHADES, themes, variables_of
from bench.screens.panel import Look, Panel
from bench.screens.picture import Picture
from bench.screens.prompts import SpokenPrompts
from bench.screens.saying import Saying
from bench.screens.shop import BareShop, Shop, Wish
from bench.screens.spin_panel import SpinPanel
from bench.screens.view_feed import ViewCame, ViewFeed
from bench.screens.weigh_panel import SheetPicture, WeighPanel
from bench.use_cases import commands as c
from bench.use_cases import view as v

PANELS = {
    v.Step.INTAKE: "panel-weigh",
    v.Step.WEIGH: "panel-weigh",
    v.Step.BOBWEIGHTS: "panel-bobweights",
    v.Step.SPIN: "panel-spin",
    v.Step.SIGN_OFF: "panel-sign-off",
    v.Step.DONE: "panel-sign-off",
}
PRIORITY = frozenset({"bench.due", "bench.take-back", "bench.help"})
DEFAULT_THEME, COLOURLESS = "dusk", "mono"


class BenchApp(Saying, Doings, FirstSteps, Hands):
    """The dashboard.

    Parameters
    ----------
    desk : Desk
        What it shows and asks.
    first_job : str or None
        Job to open at once.
    tone_player : Callable[[Tone], bool or None] or None
        Plays tones; the terminal's bell when None or where it gives False.
    keymap : Mapping[str, str] or None
        Other keys for actions, by their id; for example a pedal's.
    glyphs : str
        "quadrant", "braille", "half" or "ascii".
    theme : str or None
        "dusk", "chalk", "stark" or "mono"; None takes the dark one, or mono where NO_COLOR is set.
    shop : Shop or None
        The computer: ports, settings, files; None where nothing can be kept.
    tour : bool
        Begin with the tour.
    """

    TITLE = "spinledger"
    CSS_PATH = "app.tcss"
    COMMANDS: ClassVar = {Everything}
    COMMAND_PALETTE_BINDING = "f2"
    ENABLE_COMMAND_PALETTE = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            act.key,
            f"act('{act.id}')",
            act.label,
            id=act.id,
            show=False,
            key_display=key_words(act.key),
            priority=act.id in PRIORITY,
        )
        for act in ACTS
        if act.id != "bench.everything"
    ]

    def __init__(
        self,
        desk: c.Desk,
        *,
        first_job: str | None = None,
        tone_player: Callable[[v.Tone], bool | None] | None = None,
        keymap: Mapping[str, str] | None = None,
        glyphs: str = "quadrant",
        theme: str | None = None,
        shop: Shop | None = None,
        tour: bool = False,
    ) -> None:
        super().__init__()
        self.shop: Shop = shop or BareShop()
        self.wish = Wish.LEAVE
        self._tour = tour
        self._desk = desk
        self._first_job = first_job
        self._feed = ViewFeed(self)
        self._flash = Flash(self, tone_player)
        self.prompts = SpokenPrompts()
        self.after_first_paint: Callable[[], None] = lambda: None
        self.view = v.BenchView()
        self.keys_by_id: dict[str, str] = {}
        self.glyphs = GLYPH_SETS[glyphs]
        self._trail_shown = False
        self._armed = False
        for each in themes():
            self.register_theme(each)
        self.theme = theme or (COLOURLESS if os.environ.get("NO_COLOR") else DEFAULT_THEME)
        if keymap:
            self.use_keys(keymap)

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Return our named colours, so that styles know them under any theme.

        Returns
        -------
        dict[str, str]
            Name to colour.
        """
        return variables_of(SHADES[DEFAULT_THEME])

    def use_keys(self, keymap: Mapping[str, str]) -> None:
        """Take other keys for actions.

        Parameters
        ----------
        keymap : Mapping[str, str]
            Key names by the action's id; ids that are not known are passed over.
        """
        self.keys_by_id.update({id_: key for id_, key in keymap.items() if id_ in BY_ID})
        self.set_keymap(dict(self.keys_by_id))

    def compose(self) -> ComposeResult:
        """Where am I, what is wrong, the instruction, the panel, the last sentence, the keys.

        Yields
        ------
        Widget
            From top to bottom.
        """
        yield Line(id="where")
        yield Line(id="banner")
        with Vertical(id="frame"):
            yield BigText(id="headline", most=1)
            yield Line(id="detail")
            yield Picture(id="question")
            with ContentSwitcher(initial="panel-jobs", id="panels"):
                yield JobsPanel()
                yield WeighPanel()
                yield BobweightsPanel()
                yield SpinPanel()
                yield SignOffPanel()
                yield TrailPanel()
        yield Line(id="notice")
        yield Line(id="hints")

    def on_mount(self) -> None:
        """Begin to listen, open the first job."""
        self._desk.listen(self._feed.came)
        self.greet()
        if self._first_job is not None:
            self._desk.ask(c.ChooseJob(self._first_job))
        if self._tour:
            from bench.screens.tour_screen import TourScreen

            self.call_after_refresh(self.push_screen, TourScreen(self.glyphs))

    def on_ready(self) -> None:
        """Do what waits for the first paint."""
        self.after_first_paint()

    def on_view_came(self, _message: ViewCame) -> None:
        """Show the newest view; older ones that still wait are passed over."""
        view, notices = self._feed.take()
        if view is None:
            return
        if view.want.doing is not self.view.want.doing:
            self._armed = False
        self.view = view
        self._flash.hear(notices)
        self.prompts.hear(view)
        self.paint()
        self.opened(view)

    def on_resize(self, _event: Resize) -> None:
        """Show the view again in its new room."""
        self.call_after_refresh(self.paint)

    # -- showing ------------------------------------------------------------------------------------------
    @property
    def look(self) -> Look:
        """How the screen is."""
        return Look(self.glyphs, self.size.width, self.size.height, self.keys_by_id, tuple(self.shop.names))

    @property
    def panel_id(self) -> str:
        """Which panel is due."""
        if self.view.job is None:
            return "panel-jobs"
        return "panel-trail" if self._trail_shown else PANELS[self.view.shown_step]

    def paint(self) -> None:
        """Show the latest view."""
        if not self.screen_stack or not self._main.is_mounted:
            return
        view, look = self.view, self.look
        main = self._main
        main.query_one("#where", Line).put(where_line(view, columns=look.columns, glyphs=look.glyphs))
        wrong = banner(view, look.glyphs)
        line = main.query_one("#banner", Line)
        line.display = bool(wrong.plain)
        line.put(wrong)
        self._paint_instruction(look)
        said = notice_lines(self.notice, look.glyphs, width=look.columns, most=look.notice_rows)
        notice = main.query_one("#notice", Line)
        notice.styles.height = said.plain.count("\n") + 1
        notice.put(said)
        hints = main.query_one("#hints", Line)
        hints.display = not look.tiny
        hints.put(hint_line(view, width=look.columns, keys=self.keys_by_id, trail=self._trail_shown))
        panel = self.panel_id
        switcher = main.query_one("#panels", ContentSwitcher)
        if switcher.current != panel:
            switcher.current = panel
            if panel == "panel-jobs":
                main.query_one(main.query_one(JobsPanel).list_id, OptionList).focus()
            elif panel == "panel-trail":
                main.query_one("#trail-scroll").focus()
            else:
                main.set_focus(None)
        # a long sentence takes its lines from the panel
        room = replace(look, taken_rows=said.plain.count("\n"), banner_rows=int(bool(wrong.plain)))
        main.query_one(f"#{panel}", Panel).show(view, room)
        if panel == "panel-jobs" and main.focused is None:
            main.query_one(main.query_one(JobsPanel).list_id, OptionList).focus()

    def _paint_instruction(self, look: Look) -> None:
        view, main = self.view, self._main
        headline, detail = main.query_one("#headline", BigText), main.query_one("#detail", Line)
        # on the drill the card itself is the instruction; on the list of jobs and the trail, the list is
        card = view.want.doing is v.Doing.CUT and view.shown_step is v.Step.SPIN
        listed = self.panel_id in {"panel-jobs", "panel-trail"}
        # DONE is said once, by the verdict
        inside = view.review is not None and view.review.whole_verdict is PlaneVerdict.INSIDE
        done = inside and view.shown_step is v.Step.DONE and self.panel_id == "panel-sign-off"
        headline.display = not (card or listed or done)
        headline.blocks = look.glyphs.blocks
        headline.put(view.instruction.headline)
        detail.display = bool(view.instruction.detail) and not (look.tiny or card or listed or view.question)
        detail.put(view.instruction.detail)
        question = main.query_one("#question", Picture)
        question.display = view.question is not None
        question.put(
            lambda width, _: _joined(question_rows(view, look.glyphs, width=width)),
            key=(view.question, look.glyphs, look.columns),
        )

    # -- events -------------------------------------------------------------------------------------------
    def on_jobs_panel_chosen(self, message: JobsPanel.Chosen) -> None:
        """Open a job.

        Parameters
        ----------
        message : JobsPanel.Chosen
            Which.
        """
        self.ask_desk(c.ChooseJob(message.number))

    def on_jobs_panel_stepped(self, message: JobsPanel.Stepped) -> None:
        """Do a first step.

        Parameters
        ----------
        message : JobsPanel.Stepped
            Which.
        """
        self.action_act(message.act_id)

    def on_jobs_panel_name_picked(self, message: JobsPanel.NamePicked) -> None:
        """Name who is at the bench.

        Parameters
        ----------
        message : JobsPanel.NamePicked
            Which of the bar.
        """
        self.pick_name(message.number)

    def on_sheet_picture_picked(self, message: SheetPicture.Picked) -> None:
        """Weigh the cell that was clicked.

        Parameters
        ----------
        message : SheetPicture.Picked
            Which.
        """
        self.ask_desk(c.GoTo(message.cell))

    def on_input_changed(self, event: Input.Changed) -> None:
        """Filter the timeline.

        Parameters
        ----------
        event : Input.Changed
            What was typed.
        """
        if event.input.id == "trail-filter":
            self.paint()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Leave the filter for the lines.

        Parameters
        ----------
        event : Input.Submitted
            Which field.
        """
        if event.input.id == "trail-filter":
            self._main.query_one("#trail-scroll").focus()

    def action_act(self, act_id: str) -> None:
        """Do one of the actions, or say why it is not possible now.

        Parameters
        ----------
        act_id : str
            Its id.
        """
        act = BY_ID[act_id]
        confirming = self._armed and not isinstance(self.screen, ModalScreen)
        if not self.counts(act_id, confirming=confirming):
            return
        if isinstance(self.screen, ModalScreen):
            self._act_on_card(act_id)
            return
        why = act.why(self.view)
        if why:
            self.tell(why)
            return
        if act.steps_number:
            self.do_number(act.steps_number)
        else:
            getattr(self, f"do_{act.method}")()

    def action_pick_name(self, number: int) -> None:
        """Name who is at the bench by a click.

        Parameters
        ----------
        number : int
            Of the bar, from 1.
        """
        self.pick_name(number)

    def action_answer(self, number: int) -> None:
        """Answer the open question by a click.

        Parameters
        ----------
        number : int
            From 1.
        """
        if self.view.question is not None:
            self.do_number(number)

    def _act_on_card(self, act_id: str) -> None:
        """While a card is open the pedal goes through it; nothing else acts behind it."""
        if act_id == "bench.due" and isinstance(self.screen, FormDialog):
            self.screen.go_on()
        elif act_id == "bench.help" and isinstance(self.screen, FormDialog):
            self.screen.explain_here()
        elif act_id in {"bench.due", "bench.take-back"} and isinstance(self.screen, ModalScreen):
            self.screen.dismiss(None)


def _joined(rows: list[Content]) -> Content:
    return Content("\n").join(rows)
