"""What a person does before there is work: try, tour, connect, read, open a job; and bring weights in.

Each of these screens is loaded when it is asked for: the dashboard's first picture does not wait for them.
"""
# pyright: reportPrivateUsage=false
# the app and its doings are one thing in several files

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from bench.models.rotor_set import first_spec
from bench.screens import dialogs
from bench.screens.actions import BY_ID
from bench.screens.list_panels import JobsPanel
from bench.screens.shop import Wish
from bench.use_cases import commands as c
from bench.use_cases.bring_in import PlanIn, plan_in
from bench.use_cases.errors import RefusedError
from bench.use_cases.part_code import PartCodeError, parse_part_code

if TYPE_CHECKING:
    from bench.screens.app import BenchApp
    from bench.screens.form_dialog import FormDialog
    from bench.use_cases.job_templates import JobTemplate
    from bench.use_cases.view import BenchView


class FirstSteps:
    """Mixed into the dashboard."""

    _when_open: tuple[str, Callable[[], None]] | None = None
    _asked_who = False
    _end_shown = False

    @property
    def _app(self) -> BenchApp:
        return self  # type: ignore[return-value]

    def do_simulate(self) -> None:
        """Leave for the simulated bench."""
        self._leave_for(Wish.SIMULATE)

    def do_tour(self) -> None:
        """Show the tour; on a real bench, on the simulated one."""
        from bench.screens.tour_screen import TourScreen

        if self._app.view.simulated:
            self._app.push_screen(TourScreen(self._app.glyphs))
        else:
            self._leave_for(Wish.TOUR)

    def _leave_for(self, wish: Wish) -> None:
        self._app.wish = wish
        self._app.exit(0)

    def do_connect(self) -> None:
        """Connect a scale; when one was kept, begin again with it."""
        from bench.screens.connect_screen import ConnectScreen

        def kept(done: bool | None) -> None:  # noqa: FBT001 as the screen library calls it
            if done:
                self._leave_for(Wish.AGAIN)

        self._app.push_screen(ConnectScreen(self._app.shop), kept)

    def do_guide(self) -> None:
        """Show the guide."""
        from bench.screens.guide_screen import GuideScreen

        self._app.push_screen(GuideScreen())

    def do_initials(self) -> None:
        """Say who is at the bench."""
        self.ask_who()

    def must_name(self) -> bool:
        """Tell whether nobody is named and nobody was asked yet.

        Returns
        -------
        bool
            True once a run of the program at most.
        """
        return not (self._app.view.by or self._app.view.read_only or self._asked_who)

    def ask_who(self, then: Callable[[], None] | None = None) -> None:
        """Ask who is at the bench and keep it until it is changed.

        Parameters
        ----------
        then : Callable[[], None] | None
            What waits for it.
        """
        from bench.screens.names_screen import NamesScreen

        self._asked_who = True

        def named(by: str | None) -> None:
            if by:
                self.take_name(by)
            elif not self._app.view.by:
                self._app.tell("entries name nobody: i says who is at the bench")
            if then is not None:
                then()

        self._app.push_screen(NamesScreen(self._app.shop.names, self._app.view.by), named)

    def take_name(self, by: str) -> None:
        """Name who is at the bench, and keep it; the simulated bench's people are not the shop's.

        Parameters
        ----------
        by : str
            Initials.
        """
        app = self._app
        app.ask_desk(c.SetInitials(by))
        if app.view.simulated:
            return
        names = tuple(app.shop.names)
        changes: dict[tuple[str, ...], str] = {("by",): by}
        if by not in names:
            changes["names",] = " ".join((*names, by))
        trouble = app.shop.keep(changes)
        app.tell(f"at the bench: {by}" + (f" ({trouble})" if trouble else ""), level="info")

    def pick_name(self, number: int) -> None:
        """Choose a name of the bar.

        Parameters
        ----------
        number : int
            From 1.
        """
        names = tuple(self._app.shop.names)
        if 1 <= number <= len(names):
            self.take_name(names[number - 1])
        elif names:
            self._app.tell(f"there is no name {number}: i takes one more")
        else:
            self._app.tell("no job is open: choose one of the list, or open a new one with n")

    def do_new_job(self) -> None:
        """Choose a layout, then fill in the rest."""
        from bench.screens.intake_screen import LayoutScreen, new_job
        from bench.screens.like_forms import templated_job

        def chosen(picked: str | JobTemplate | None) -> None:
            if isinstance(picked, str):
                self._ask_job(new_job(picked, self._app.shop.intake))
            elif picked is not None:
                self._ask_job(templated_job(picked))

        self._app.push_screen(LayoutScreen(self._app.glyphs, self._app.shop.templates()), chosen)

    def do_keep_template(self) -> None:
        """Keep the open job's intake under a name."""
        from bench.screens.path_dialog import PathDialog
        from bench.use_cases.job_templates import LONGEST_NAME, template_of

        app, job = self._app, self._app.view.job
        if job is None:
            return
        there = {template.name.casefold() for template in app.shop.templates()}

        def doubt(name: str) -> str:
            if len(name) > LONGEST_NAME or not name.isprintable():
                return f"a name of up to {LONGEST_NAME} letters, please"
            return "there is one of that name: Enter again replaces it" if name.casefold() in there else ""

        def named(name: str | None) -> None:
            if name and len(name) <= LONGEST_NAME and name.isprintable():
                trouble = app.shop.keep_template(template_of(name, first_spec(job)), replace=name.casefold() in there)
                app.tell(
                    trouble or f"template kept: {name}; n begins a job with it", level="bad" if trouble else "good"
                )

        words = "Keep this job's layout, parts and limits as a template: what is it called?"
        app.push_screen(PathDialog(words, value=job.spec.engine or job.spec.title, doubt=doubt), named)

    def _ask_job(self, form: FormDialog) -> None:
        from bench.screens.numbers_card import card_for

        form.confirm = lambda command: card_for(command, self._app.glyphs)
        self._app.ask_in(form)

    def do_copy_job(self) -> None:
        """Open a job like the one that is open, or like the one that is marked in the list."""
        from bench.screens.like_forms import copied_job

        job = self._app.view.job
        if job is not None:
            self._ask_job(copied_job(job))
            return
        number = self._app.screen_stack[0].query_one(JobsPanel).marked
        self._when_open = (number, self.do_copy_job)
        self._app.ask_desk(c.ChooseJob(number))

    def opened(self, view: BenchView) -> None:
        """Go on with what waited for a job to be open.

        Parameters
        ----------
        view : BenchView
            The newest.
        """
        self._show_end(view)
        waiting = self._when_open
        if waiting is not None and view.job is not None and view.job.number == waiting[0]:
            self._when_open = None
            waiting[1]()
        if view.job is not None and self.must_name() and len(self._app.screen_stack) == 1:
            # a scale may take a weight at any moment from here on
            self.ask_who()

    def _show_end(self, view: BenchView) -> None:
        """Say first that the last end was not clean; the card goes by itself when the work has gone on."""
        app = self._app
        if view.ended is not None and not self._end_shown:
            from bench.screens.end_card import EndCard

            self._end_shown = True
            pedal = app.keys_by_id.get("bench.due", BY_ID["bench.due"].key)
            card = EndCard(view.ended, pedal=pedal)
            app.push_screen(card, lambda _: app.ask_desk(c.SeeEnd()))
        elif self._end_shown:
            from bench.screens.end_card import EndCard

            if isinstance(app.screen, EndCard):
                if view.ended is None:
                    app.screen.dismiss(None)
                else:
                    app.screen.tell_due(view.instruction.headline if view.job else "")

    def scanned(self, line: str) -> None:
        """Make the part that a label names the next one; open its job first where another one is open.

        Parameters
        ----------
        line : str
            What the scanner typed.
        """
        app = self._app
        try:
            number, cell = parse_part_code(line)
        except PartCodeError as fault:
            app.tell(str(fault), level="bad")
            return
        if app.view.job is not None and app.view.job.number == number:
            app.ask_desk(c.GoTo(cell))
            return
        self._when_open = (number, lambda: app.ask_desk(c.GoTo(cell)))
        app.ask_desk(c.ChooseJob(number))

    def do_bring_in(self) -> None:
        """Ask for a file, show what it would bring, take it on a yes."""
        self._app.push_screen(dialogs.sheet_file(), self._preview)

    def _preview(self, path: str | None) -> None:
        from bench.screens.bring_in_screen import BringInScreen

        app, job = self._app, self._app.view.job
        if path is None or job is None:
            return
        try:
            plan = plan_in(job, app.shop.read_sheet(Path(path)), app.shop.columns)
        except (RefusedError, LookupError) as fault:
            app.tell(str(fault), level="bad")
            return

        def answered(taken: PlanIn | None) -> None:
            if taken is not None:
                app.ask_desk(c.BringIn(taken))

        app.push_screen(BringInScreen(plan, app.glyphs), answered)

    def do_pedal(self) -> None:
        """Learn the keys of a foot pedal and keep them."""
        from bench.screens.pedal_screen import PedalScreen

        app = self._app

        def learned(keys: dict[str, str] | None) -> None:
            if not keys:
                return
            app.use_keys(keys)
            trouble = app.shop.keep({("keys", id_): key for id_, key in keys.items()})
            app.tell(trouble or "the pedal's keys are learned and kept", level="ask" if trouble else "good")

        app.push_screen(PedalScreen(), learned)
