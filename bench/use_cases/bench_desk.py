"""The desk: everything that happens at one bench, one thing after the other, on one thread.

Faces (dashboard, plain lines, the demo's player) hand it commands and see views; instruments hand it readings.
It knows no port, no thread and no screen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bench.computation.unbalance import PlaneVerdict
from bench.models.job import Cell
from bench.models.job_state import JobLine
from bench.models.rotor_set import rotors_to_come
from bench.models.stations import StationSet
from bench.trail.errors import RecordError
from bench.trail.words import event_in_words
from bench.use_cases import commands as c
from bench.use_cases import view as v
from bench.use_cases.bring_in import bring_in
from bench.use_cases.cautions import cautions_for
from bench.use_cases.desk_settings import DeskSettings
from bench.use_cases.enter_stations import enter_and_keep
from bench.use_cases.errors import RefusedError
from bench.use_cases.instruct import instruction_for, what_is_wanted
from bench.use_cases.machine import Machine
from bench.use_cases.open_job import open_job
from bench.use_cases.propose_cuts import propose_cuts
from bench.use_cases.record_cuts import put_cuts_right, record_cuts
from bench.use_cases.record_run import record_text, type_run
from bench.use_cases.review_job import review_job
from bench.use_cases.scribe import Scribe
from bench.use_cases.sign_off import issue_certificate, sign_off
from bench.use_cases.spin_told import SpinCorner
from bench.use_cases.take_back import take_back
from bench.use_cases.take_weight import type_weight
from bench.use_cases.timeline import timeline
from bench.use_cases.unclean_end import EndWatch
from bench.use_cases.weigh_otherwise import weigh_otherwise
from bench.use_cases.weigh_station import WeighStation
from bench.use_cases.write_note import write_note
from drivers.contract import ExportFault, ExportText, LineFault, LinkChange, LinkState, Reading, SpinReading

__all__ = ["BenchDesk", "DeskSettings"]

TRAIL_LINES = 200
NEWEST_JOBS = 500
"""Jobs a view lists; older ones are found by words."""


class BenchDesk:
    """One bench.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    machine : Machine
        The weigh machine.
    settings : DeskSettings
        Told once.
    """

    def __init__(self, scribe: Scribe, machine: Machine, settings: DeskSettings) -> None:
        self._scribe = scribe
        self._settings = settings
        self._end = EndWatch(scribe, settings.ended)
        rules = settings.weighing
        self._station = WeighStation(machine, scribe, self._say, instrument=settings.scale_name, rules=rules)
        self._spin = SpinCorner(scribe, settings.profiles, instrument=settings.balancer_name)
        self._shown = v.Step.INTAKE
        self._notice: v.Notice | None = None
        self._hearers: list[Callable[[v.Notice], None]] = []
        self._links: dict[str, v.InstrumentLine] = {}
        self._certificate = ""
        self._now_ns = 0
        self._computed: tuple[int, str, v.Review, v.Proposal | None, tuple[v.TrailLine, ...]] | None = None
        self._jobs: tuple[JobLine, ...] | None = None
        self._one_plane = False
        self._known_cranks: tuple[StationSet, ...] = settings.templates.all()

    # -- what faces use -------------------------------------------------------------------------------------
    def hear(self, hearer: Callable[[v.Notice], None]) -> None:
        """Send every sentence to this hearer, in order, after what it tells of is on disk.

        Parameters
        ----------
        hearer : Callable[[Notice], None]
            Called on the desk's own thread.
        """
        self._hearers.append(hearer)
        for notice in self._end.notices():
            hearer(notice)

    def handle(self, command: c.Command) -> None:
        """Do what a person asked; a refusal becomes a sentence.

        Parameters
        ----------
        command : Command
            One of the commands of `view`.
        """
        try:
            self._do(command)
        except (RefusedError, RecordError) as fault:
            self._say(str(fault), v.Tone.REFUSE, "bad")

    # -- what instruments use -------------------------------------------------------------------------------
    def scale_says(self, item: Reading | LineFault | LinkChange) -> None:
        """Take what the scale says.

        Parameters
        ----------
        item : Reading | LineFault | LinkChange
            In order.
        """
        self._now_ns = item.at_ns
        if isinstance(item, LinkChange):
            self._link(self._settings.scale_name, item)
        self._guarded(lambda: self._station.feed(item))

    def tick(self, now_ns: int) -> None:
        """Let time pass.

        Parameters
        ----------
        now_ns : int
            Monotonic moment. [ns]
        """
        self._now_ns = now_ns
        self._guarded(lambda: self._station.tick(now_ns))

    def balancer_link(self, change: LinkChange) -> None:
        """Take a change of the balancer's link or folder.

        Parameters
        ----------
        change : LinkChange
            The new state.
        """
        self._link(self._settings.balancer_name, change)

    def balancer_says(self, readings: Sequence[SpinReading | ExportFault], text: ExportText) -> None:
        """Take a text of the balancing machine.

        Parameters
        ----------
        readings : Sequence[SpinReading | ExportFault]
            What the reader made of it.
        text : ExportText
            The text.
        """
        state = self._scribe.state
        if state is not None and any(spin.source_sha256 == text.sha256 for spin in state.runs_taken):
            # a folder that is looked at again after a restart holds what is recorded already
            self._say(f"{text.name}: taken before", v.Tone.NONE, "info")
            return
        try:
            events = record_text(self._scribe, readings, text, instrument=self._spin.instrument)
        except (RefusedError, RecordError) as fault:
            self._say(f"not taken: {fault}", v.Tone.REFUSE, "bad")
            return
        for event in events:
            self._run_taken(event.seq)

    # -- the view -------------------------------------------------------------------------------------------
    def view(self) -> v.BenchView:
        """Return the bench as it is now.

        Returns
        -------
        BenchView
            Complete.
        """
        state, s = self._scribe.seen(), self._station
        review, proposal, lines = self._look()
        question = s.question or self._spin.question
        want = what_is_wanted(
            state=state,
            review=review,
            step=self._shown,
            aim=None if self._station.aside else self._station.aim,
            throw=self._station.throw,
            phase=self._station.phase,
            proposal=proposal,
            question=question,
        )
        if self._jobs is None or self._scribe.trail.read_only:
            self._jobs = tuple(self._scribe.trail.jobs(most=NEWEST_JOBS))
        return v.BenchView(
            simulated=self._settings.simulated,
            by=self._scribe.by,
            read_only=self._scribe.trail.held_by if self._scribe.trail.read_only else "",
            care=self._settings.care(),
            jobs=self._jobs,
            job=state,
            review=review,
            shown_step=self._shown,
            instruction=self._station.aside_words
            or instruction_for(want, state=state, step=self._shown, scale_words=s.lost_words, shims=s.shims.words),
            aside=s.aside.due.label if s.aside else "",
            want=want,
            live=self._station.live,
            notice=self._notice,
            question=question,
            instruments=tuple(self._links.values()),
            proposal=proposal,
            trail=lines,
            cautions=cautions_for(want.doing, state),
            certificate_path=self._certificate,
            known_cranks=self._known_cranks if state is not None else (),
            one_plane=self._one_plane,
            ended=self._end.end,
        )

    def _look(self) -> tuple[v.Review | None, v.Proposal | None, tuple[v.TrailLine, ...]]:
        state = self._scribe.state
        if state is None:
            return None, None, ()
        if self._computed is None or self._computed[:2] != (state.last_seq, state.number):
            review = review_job(state)
            proposal = propose_cuts(state, review, one_plane=self._one_plane)
            lines = timeline(self._scribe.trail, state.number, most=TRAIL_LINES)
            self._computed = (state.last_seq, state.number, review, proposal, lines)
        return self._computed[2], self._computed[3], self._computed[4]

    # -- inside ---------------------------------------------------------------------------------------------
    def _say(self, words: str, tone: v.Tone, level: str) -> None:
        number = self._notice.number + 1 if self._notice else 1
        self._notice = v.Notice(number=number, words=words, tone=tone, level=level)
        self._jobs = None
        for hearer in self._hearers:
            hearer(self._notice)

    def _guarded(self, act: Callable[[], None]) -> None:
        try:
            act()
        except RecordError as fault:
            self._say(str(fault), v.Tone.REFUSE, "bad")
        if self._station.aim is None and self._station.throw is None and not self._station.holds:
            self._go_on()

    def _link(self, name: str, change: LinkChange) -> None:
        self._links[name] = v.InstrumentLine(name, change.state.value, change.detail, change.remedy)
        if name == self._settings.balancer_name and change.state not in {LinkState.OPEN, LinkState.CLOSED}:
            self._say(f"{name}: {change.state.value}. {change.remedy}".strip(), v.Tone.ATTENTION, "info")

    def _go_on(self) -> None:
        """Turn to the step where the work now stands, when the present one has nothing left to do."""
        review, _, _ = self._look()
        if review is None or self._shown not in {v.Step.WEIGH, v.Step.BOBWEIGHTS}:
            return
        if review.step is not self._shown:
            self._turn_to(review.step)
            self._say(f"next: {review.step.value}", v.Tone.NONE, "info")

    def _turn_to(self, step: v.Step, *, aim: Cell | None = None) -> None:
        self._shown = step
        self._station.work_at(step, aim=aim)

    def _run_taken(self, seq: int) -> None:
        review, proposal, _ = self._look()
        if review is None:
            return
        amounts = "; ".join(line.words for line in review.planes)
        inside = review.whole_verdict is PlaneVerdict.INSIDE
        run = self._scribe.state.spins[-1].number if self._scribe.state else 0
        self._say(f"run {run} taken: {amounts} (entry {seq})", v.Tone.ACCEPT, "good" if inside else "info")
        if self._shown in {v.Step.WEIGH, v.Step.BOBWEIGHTS} and review.step is not v.Step.SPIN:
            return
        state = self._scribe.state
        over = inside and (state is None or not rotors_to_come(state))
        self._turn_to(v.Step.SIGN_OFF if over else v.Step.SPIN)
        if proposal is not None and not inside:
            doubtful = bool(proposal.doubt)
            self._say(proposal.why, v.Tone.ATTENTION if doubtful else v.Tone.NONE, "ask" if doubtful else "info")

    def _do(self, command: c.Command) -> None:  # noqa: C901, PLR0912, PLR0915 one line a command, nothing nested
        match command:
            case c.ChooseJob(number=number):
                self._scribe.choose(number)
                self._open()
            case c.CreateJob(spec=spec):
                open_job(self._scribe, spec, year=self._settings.year())
                self._open()
            case c.LeaveJob():
                self._scribe.leave()
                self._spin.forget()
                self._turn_to(v.Step.INTAKE)
            case c.ShowStep(step=step):
                self._turn_to(step)
            case c.GoTo(cell=cell):
                self._turn_to(v.Step.WEIGH, aim=cell)
            case c.Skip():
                self._station.skip()
            case c.TakeBack(reason=reason):
                event = take_back(self._scribe, step=self._shown, reason=reason)
                self._say(f"taken back (entry {event.seq})", v.Tone.ATTENTION, "info")
                self._turn_to(self._shown if self._shown is not v.Step.SIGN_OFF else v.Step.SPIN)
            case c.TypeWeight(cell=cell, grams=grams, reason=reason):
                event = type_weight(self._scribe, cell=cell, grams=grams, reason=reason)
                self._say(f"typed: {cell}, {grams} g (entry {event.seq})", v.Tone.ACCEPT, "info")
                self._turn_to(v.Step.WEIGH)
            case c.SetRoute() | c.CheckScale() | c.NoteTemperature() | c.CheckAssembly():
                self._say(weigh_otherwise(self._station, self._scribe, command), v.Tone.NONE, "info")
            case c.Answer(choice=choice):
                if not self._spin.answered(choice, self._say):
                    self._station.answer(choice, self._now_ns)
            case c.TypeRun(planes=planes, reason=reason):
                self._run_taken(type_run(self._scribe, planes, reason=reason).seq)
            case c.RecordCuts(cuts=cuts):
                self._record_cuts(cuts)
            case c.EnterStations() | c.CutOnePlane() | c.PutCutsRight():
                self._prepare_cuts(command)
            case c.MarkIndexRun() | c.CheckMachine() | c.MountParts() | c.EnterParts() | c.BeginRotor():
                self._say(self._spin.hear(command), v.Tone.ACCEPT, "info")
                self._turn_to(v.Step.SPIN)
            case c.SignOff(deburred=deburred, cleaned=cleaned, words=words):
                event = sign_off(self._scribe, deburred=deburred, cleaned=cleaned, words=words)
                self._say(f"signed off (entry {event.seq})", v.Tone.ACCEPT, "good")
                self._turn_to(v.Step.DONE)
            case c.MakeCertificate():
                written = issue_certificate(self._scribe, self._settings.write_certificate)
                self._certificate = written.path
                self._say(
                    f"certificate written: {written.file_name} {written.unsigned_why}".strip(), v.Tone.ACCEPT, "good"
                )
            case c.WriteNote(text=text):
                event = write_note(self._scribe, text)
                self._say(f"noted (entry {event.seq})", v.Tone.NONE, "info")
            case c.BringIn(plan=plan):
                events = bring_in(self._scribe, plan)
                numbers = f"entries {events[0].seq} to {events[-1].seq}"
                self._say(f"brought in: {len(events)} weights ({numbers})", v.Tone.ACCEPT, "info")
                self._turn_to(v.Step.WEIGH)
            case c.SeeEnd():
                self._end.seen("key")
            case c.SetInitials(by=by):
                self._scribe.by = by.strip()[:12]

    def _open(self) -> None:
        state = self._scribe.state
        review, _, _ = self._look()
        if state is None or review is None:
            return
        self._certificate = ""
        self._spin.forget()
        self._say(f"job {state.number}: {state.spec.title}", v.Tone.NONE, "info")
        self._turn_to(review.step)

    def _prepare_cuts(self, command: c.EnterStations | c.CutOnePlane | c.PutCutsRight) -> None:
        if isinstance(command, c.PutCutsRight):
            for event in put_cuts_right(self._scribe, command.cuts):
                self._say(f"{event_in_words(event)} (entry {event.seq})", v.Tone.ACCEPT, "info")
            self._turn_to(v.Step.SPIN)
            return
        if isinstance(command, c.EnterStations):
            enter_and_keep(self._scribe, command.stations, self._settings.templates, self._say)
            self._known_cranks = self._settings.templates.all()
            self._turn_to(self._shown)
            return
        self._one_plane, self._computed = command.one_plane, None
        how = "one plane a run, the heavier first" if command.one_plane else "all planes at once"
        self._say(f"cuts are planned for {how}", v.Tone.NONE, "info")

    def _record_cuts(self, cuts: tuple[v.CutLine, ...]) -> None:
        _, proposal, _ = self._look()
        proposed = proposal.cuts if proposal else ()
        for event in record_cuts(self._scribe, cuts, proposed=proposed, typed=not self._settings.simulated):
            self._say(f"cut recorded: {event_in_words(event)} (entry {event.seq})", v.Tone.NONE, "info")
        self._turn_to(v.Step.SPIN)
