"""What each action of the dashboard does: one method each, named as in the table of actions."""
# pyright: reportPrivateUsage=false
# the app and its doings are one thing in two files

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from bench.screens import aside_dialogs, dialogs, set_dialogs, spin_dialogs
from bench.screens.frame_lines import ORDER
from bench.screens.glyphs import GLYPH_SETS
from bench.screens.help_screen import HelpScreen
from bench.screens.list_panels import TrailPanel
from bench.screens.match_screen import MatchScreen
from bench.screens.otherwise_dialog import weigh_otherwise
from bench.screens.palette import SHADES, THEME_WORDS
from bench.screens.panel import Panel
from bench.screens.spin_panel import SpinPanel
from bench.use_cases import commands as c
from bench.use_cases.sign_off import what_is_missing
from bench.use_cases.view import Doing, Step

if TYPE_CHECKING:
    from textual.screen import Screen

    from bench.screens.app import BenchApp
    from bench.screens.form_dialog import FormDialog


class Doings:
    """Mixed into the dashboard, so that the table of actions and what they do are read side by side."""

    @property
    def _me(self) -> BenchApp:
        return self  # type: ignore[return-value]

    @property
    def _main(self) -> Screen[Any]:
        return self._me.screen_stack[0]

    def ask_desk(self, command: c.Command) -> None:
        """Hand a command over; while the record can only be looked at, say so instead.

        Parameters
        ----------
        command : Command
            What to ask.
        """
        looking = (c.ChooseJob, c.LeaveJob, c.ShowStep, c.SetInitials, c.GoTo)
        if self._me.view.read_only and not isinstance(command, looking):
            self._me.tell(f"looking only: {self._me.view.read_only}", level="bad")
            return
        if not isinstance(command, looking) and self._me.must_name():
            # the first thing to record asks who is there; left without an answer, it is recorded all the same
            self._me.ask_who(lambda: self.ask_desk(command))
            return
        self._me._desk.ask(command)  # noqa: SLF001 its own

    def ask_in(self, dialog: FormDialog) -> None:
        """Show a dialog and hand its command over.

        Parameters
        ----------
        dialog : FormDialog
            What to ask.
        """

        def answered(command: c.Command | None) -> None:
            if command is not None:
                self.ask_desk(command)

        self._me.push_screen(dialog, answered)

    # -- the pedal ----------------------------------------------------------------------------------------
    def do_due(self) -> None:
        """Say yes to what is due; a cut and the end of a job are asked for twice."""
        app, view = self._me, self._me.view
        if view.question is not None:
            self.do_number(1)
        elif view.want.doing is Doing.CUT and view.proposal is not None and view.proposal.cuts:
            if app._armed:  # noqa: SLF001 its own
                app._armed = False  # noqa: SLF001 its own
                self.do_record_cuts()
            else:
                app._armed = True  # noqa: SLF001 its own
                count = len(view.proposal.cuts)
                what = "the cut" if count == 1 else f"all {count} cuts"
                app.tell(f"{what} drilled as the card says? Once more records it; x puts it right")
        elif view.want.doing is Doing.SIGN_OFF:
            self.do_sign_off()
        elif view.shown_step is Step.DONE and view.job is not None:
            self.do_certificate()
        else:
            app.tell("nothing waits for a yes now", level="info")

    def do_take_back(self) -> None:
        """Withdraw the last thing of the step shown."""
        self.ask_desk(c.TakeBack())

    def do_number(self, number: int) -> None:
        """Answer a question by its number, or show a step.

        Parameters
        ----------
        number : int
            From 1.
        """
        view = self._me.view
        if view.question is not None:
            if number <= len(view.question.choices):
                self.ask_desk(c.Answer(view.question.choices[number - 1][0]))
            else:
                self._me.tell(f"the question has {len(view.question.choices)} answers")
        elif view.job is None:
            self._me.tell("no job is open: choose one of the list, or open a new one with n")
        else:
            self._me._trail_shown = False  # noqa: SLF001 its own
            self.ask_desk(c.ShowStep(ORDER[number - 1]))
            self._me.paint()

    # -- weigh --------------------------------------------------------------------------------------------
    def do_go_to(self) -> None:
        """Weigh another part next."""
        if self._me.view.job is not None:
            self.ask_in(dialogs.go_to(self._me.view.job))

    def do_skip(self) -> None:
        """Leave the part that is due for later."""
        self.ask_desk(c.Skip())

    def do_weigh_otherwise(self) -> None:
        """Check the scale, or a sum, or change the order of the sheet."""
        self.ask_in(weigh_otherwise())

    def do_type(self) -> None:
        """Type a weight, or a run in the spin step."""
        view = self._me.view
        if view.job is None:
            return
        if view.shown_step is Step.SPIN:
            self.ask_in(dialogs.type_run(tuple(plane.name for plane in view.job.spec.planes)))
        else:
            self.ask_in(dialogs.type_weight(view.job.spec, view.want.cell, state=view.job))

    def do_match(self) -> None:
        """Show what is heavy."""
        review = self._me.view.review
        if review is None:
            return

        def picked(command: c.Command | None) -> None:
            if command is not None:
                self.ask_desk(command)

        due = self._me.view.want.cell
        self._me.push_screen(MatchScreen(review, due.kind if due else "", self._me.glyphs, self._me.view.job), picked)

    # -- spin and sign-off --------------------------------------------------------------------------------
    def do_record_cuts(self) -> None:
        """Record the proposed cuts as made."""
        proposal = self._me.view.proposal
        if proposal is not None:
            self.ask_desk(c.RecordCuts(proposal.cuts))

    def do_edit_cut(self) -> None:
        """Record the cuts as they were really made."""
        view = self._me.view
        if view.job is not None:
            self.ask_in(spin_dialogs.cuts_as_made(view.proposal, view.job))

    def do_stations(self) -> None:
        """Enter where metal may be taken from this crank."""
        view = self._me.view
        if view.job is not None:
            self.ask_in(spin_dialogs.enter_stations(view.job, view.known_cranks))

    def do_card(self) -> None:
        """Give the cut card the pictures' room, or give it back."""
        panel = self._main.query_one(SpinPanel)
        panel.card_alone = not panel.alone
        self._me.paint()

    def do_one_plane(self) -> None:
        """Plan cuts for one plane a run, or for both at once."""
        self.ask_desk(c.CutOnePlane(not self._me.view.one_plane))

    def do_index_run(self) -> None:
        """Say that the last run was made with the bobweight set turned."""
        self.ask_in(aside_dialogs.index_run())

    def do_machine_check(self) -> None:
        """Check with a known mass what the machine's angles mean."""
        if self._me.view.job is not None:
            self.ask_in(aside_dialogs.machine_check(self._me.view.job))

    def do_mounted(self) -> None:
        """Say which parts are on the crank."""
        if self._me.view.job is not None:
            self.ask_in(set_dialogs.mounted(self._me.view.job))

    def do_parts(self) -> None:
        """Enter which parts belong on the crank and what each carries."""
        if self._me.view.job is not None:
            self.ask_in(set_dialogs.parts(self._me.view.job))

    def do_next_rotor(self) -> None:
        """Begin the next rotor of the set."""
        if self._me.view.job is not None:
            self.ask_in(set_dialogs.next_rotor(self._me.view.job))

    def do_sign_off(self) -> None:
        """Sign the job off."""
        if self._me.view.job is not None and self._me.view.review is not None:
            self.ask_in(dialogs.sign_off(what_is_missing(self._me.view.review)))

    def do_certificate(self) -> None:
        """Write the certificate."""
        self._me.tell("the certificate is being written: a moment", level="info")
        self.ask_desk(c.MakeCertificate())

    # -- jobs, notes, looks -------------------------------------------------------------------------------
    def do_show_trail(self) -> None:
        """Show or leave the timeline."""
        self._me._trail_shown = not self._me._trail_shown  # noqa: SLF001 its own
        self._me.paint()

    def do_raw(self) -> None:
        """Show the instruments' own lines in the timeline, or hide them."""
        panel = self._main.query_one(TrailPanel)
        panel.with_raw = not panel.with_raw
        self._me._trail_shown = True  # noqa: SLF001 its own
        self._me.paint()

    def do_leave_job(self) -> None:
        """Go back to the jobs."""
        self._me._trail_shown = False  # noqa: SLF001 its own
        self.ask_desk(c.LeaveJob())

    def do_note(self) -> None:
        """Write a note."""
        self.ask_in(dialogs.note())

    def do_next_theme(self) -> None:
        """Change the colours."""
        app, names = self._me, list(SHADES)
        here = names.index(app.theme) if app.theme in names else -1
        app.theme = names[(here + 1) % len(names)]
        trouble = app.shop.keep({("theme",): app.theme})
        app.tell(f"colours: {THEME_WORDS[app.theme]}" + (f" ({trouble})" if trouble else ""), level="info")

    def do_next_glyphs(self) -> None:
        """Change what pictures are drawn with."""
        names = list(GLYPH_SETS)
        name = names[(names.index(self._me.glyphs.name) + 1) % len(names)]
        self._me.glyphs = GLYPH_SETS[name]
        trouble = self._me.shop.keep({("glyphs",): name})
        self._me.tell(f"pictures are drawn with: {name}" + (f" ({trouble})" if trouble else ""), level="info")

    def do_explain(self) -> None:
        """Show help for what is in focus."""
        app = self._me
        sentence = self._main.query_one(f"#{app.panel_id}", Panel).explain()
        app.push_screen(HelpScreen(sentence, app.view, app.keys_by_id, app.glyphs))

    def do_everything(self) -> None:
        """Show the list of everything that can be done."""
        self._me.action_command_palette()

    def do_leave(self) -> None:
        """Leave the program."""
        self._me.exit(0)


Do = Callable[[], None]
