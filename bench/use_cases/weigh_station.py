"""Between the weigh machine and the trail: what is due, what was taken, what is looked at again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bench.capture.decisions import (
    Advised,
    Asked,
    Decision,
    Doubted,
    Expected,
    Lifted,
    Live,
    PanCleared,
    Phase,
    ScaleBack,
    ScaleLost,
    Taken,
)
from bench.models.job import Cell, cells_in_order, label_of
from bench.trail.errors import RecordError
from bench.trail.events import Event
from bench.use_cases.aside import Aside
from bench.use_cases.check_reminders import ZeroWander, check_is_due
from bench.use_cases.check_scale import KEY
from bench.use_cases.check_whole import rod_words
from bench.use_cases.due import Route, expected_for_bobweight, expected_for_cell, next_open_cell
from bench.use_cases.errors import RefusedError
from bench.use_cases.machine import Machine
from bench.use_cases.review_job import review_job
from bench.use_cases.scribe import Scribe
from bench.use_cases.shim_proposal import ShimProposal
from bench.use_cases.skip_cell import skip_cell
from bench.use_cases.take_weight import build_bobweight, refine_weight, take_weight, withdraw_weight
from bench.use_cases.view import Instruction, LiveLine, Question, Step, Tone
from bench.use_cases.weigh_rules import WeighRules
from bench.use_cases.weigh_words import CHOICE_WORDS, bobweight_words, final_words, level_words, taken_words
from drivers.contract import LineFault, LinkChange, Reading

RECENT = 24
LOOKED_EVERY_S = 60.0

Say = Callable[[str, Tone, str], None]


@dataclass(slots=True)
class _Laid:
    """What was taken and still lies on the pan."""

    key: str
    event: Event
    aim: Cell | None
    throw: int | None


class WeighStation:
    """The scale's side of an open job.

    Parameters
    ----------
    machine : Machine
        A weigh machine of `bench.capture`.
    scribe : Scribe
        Who writes.
    say : Say
        Where sentences go: words, tone, level.
    instrument : str
        Which scale.
    rules : WeighRules
        What the shop has set.
    """

    def __init__(self, machine: Machine, scribe: Scribe, say: Say, *, instrument: str, rules: WeighRules) -> None:
        self._machine = machine
        self._scribe = scribe
        self._say = say
        self.instrument = instrument
        self.step = Step.INTAKE
        self.aim: Cell | None = None
        self.throw: int | None = None
        self.phase = Phase.WAITING_FOR_SCALE
        self.live = LiveLine()
        self.question: Question | None = None
        self.lost_words = ""
        self._laid: _Laid | None = None
        self._recent: dict[str, _Laid] = {}
        self._owed: Cell | None = None
        self.rules = rules
        self.shims = ShimProposal(rules)
        self.aside: Aside | None = None
        self._target_g: float | None = None
        self._reminded = ""
        self._wander = ZeroWander()
        self._looked_ns = 0
        self._levelled: set[tuple[str, str]] = set()

    @property
    def holds(self) -> bool:
        """A part that was taken still lies on the pan, or something beside the sheet is being weighed."""
        return self._laid is not None or self.aside is not None

    @property
    def aside_words(self) -> Instruction | None:
        """What to lay beside the sheet; None when nothing is wanted or it lies there already."""
        ready = self.aside is not None and not self.lost_words and self.phase is not Phase.CLEAR_PAN
        return self.aside.instruction if ready and self.aside else None

    @property
    def _route(self) -> Route:
        state = self._scribe.state
        return Route.BY_KIND if state is None else Route(state.route)

    def check_words(self) -> str:
        """Return why the scale is to be checked, to follow another sentence; empty when it is not."""
        state = self._scribe.state
        words = "" if state is None or not state.scale_checks else check_is_due(state, self.rules)
        self._reminded = words or self._reminded
        return f"; {words}" if words else ""

    def work_at(self, step: Step, *, aim: Cell | None = None) -> None:
        """Turn to a step, and within it to a cell.

        Parameters
        ----------
        step : Step
            Weigh or bobweights; any other step lets the scale rest.
        aim : Cell | None
            A cell to weigh next; None for the next open one.
        """
        self.step = step
        self.aim = self.throw = self.aside = self._owed = None
        self.question = None
        self.shims.clear()
        state = self._scribe.state
        if state is None:
            self._expect(None)
        elif step is Step.WEIGH:
            if aim is not None and aim not in cells_in_order(state.spec):
                aim = None
            self.aim = aim or next_open_cell(state, route=self._route)
            self._expect(None if self.aim is None else expected_for_cell(state, self.aim))
            self._remind(check_is_due(state, self.rules))
            self._level(self.aim)
        elif step is Step.BOBWEIGHTS:
            review = review_job(state)
            line = next((t for t in review.throws if t.target_g is not None and not t.within), None)
            self.throw = line.throw if line else None
            target = self._target_g = line.target_g if line else None
            self._expect(
                None
                if self.throw is None or target is None
                else expected_for_bobweight(state, throw=self.throw, target_g=target)
            )
        else:
            self._expect(None)

    def weigh_aside(self, aside: Aside) -> None:
        """Weigh something beside the sheet, then go on where the work was.

        Parameters
        ----------
        aside : Aside
            What it is and what becomes of it.
        """
        self.work_at(self.step, aim=self.aim)
        self.aside = aside
        self._expect(aside.due)

    def _remind(self, words: str) -> None:
        if words and words != self._reminded:
            self._reminded = words
            self._say(words, Tone.NONE, "info")

    def _level(self, aim: Cell | None) -> None:
        """Say, once a job and kind, what to see to before rods are hung by one end."""
        state = self._scribe.state
        if state is None or aim is None:
            return
        words = level_words(state.spec.kind(aim.kind))
        if words and (state.number, aim.kind) not in self._levelled:
            self._levelled.add((state.number, aim.kind))
            self._say(words, Tone.NONE, "info")

    def _expect(self, expected: Expected | None) -> None:
        self._follow(self._machine.expect(expected))

    def feed(self, item: Reading | LineFault | LinkChange) -> None:
        """Take what the scale says.

        Parameters
        ----------
        item : Reading | LineFault | LinkChange
            A line, a line that could not be read, or a change of the link.
        """
        self._follow(self._machine.feed(item))

    def tick(self, now_ns: int) -> None:
        """Let time pass without lines.

        Parameters
        ----------
        now_ns : int
            Monotonic moment. [ns]
        """
        state = self._scribe.state
        if state is not None and self.step is Step.WEIGH and now_ns - self._looked_ns >= LOOKED_EVERY_S * 1e9:
            self._looked_ns = now_ns
            self._remind(check_is_due(state, self.rules) if state.scale_checks else "")
        self._follow(self._machine.tick(now_ns))

    def answer(self, choice: str, now_ns: int) -> None:
        """Answer the open question.

        Parameters
        ----------
        choice : str
            Key of the answer.
        now_ns : int
            Monotonic moment. [ns]
        """
        self.question = None
        if choice == "skip" and self.aside is not None:
            self.work_at(self.step, aim=self.aim)
        elif choice == "skip" and self.aim is not None:
            self.skip()
        else:
            self._follow(self._machine.answer(choice, now_ns))

    def skip(self) -> None:
        """Leave the cell that is due for later.

        Raises
        ------
        RefusedError
            When no part is due.
        """
        if self._scribe.state is None or self.aim is None:
            raise RefusedError("skip", found="no part is due")
        skip_cell(self._scribe, self.aim)
        self._say(f"{self.aim}: left for later", Tone.NONE, "info")
        self.work_at(Step.WEIGH)

    def _follow(self, decisions: list[Decision]) -> None:
        for decision in decisions:
            if isinstance(decision, Live):
                self._show(decision)
            elif isinstance(decision, Taken):
                self._take(decision)
            elif isinstance(decision, Lifted):
                self._lifted(decision)
            elif isinstance(decision, Doubted):
                self._doubt(decision)
            elif isinstance(decision, Asked):
                self._ask(decision)
            elif isinstance(decision, PanCleared):
                self.question = None
            else:
                self._tell_of_scale(decision)

    def _tell_of_scale(self, decision: Advised | ScaleLost | ScaleBack) -> None:
        weighing = self.step in {Step.WEIGH, Step.BOBWEIGHTS}  # elsewhere the scale may rest, or be switched off
        if isinstance(decision, Advised):
            if weighing:
                self._say(decision.words, Tone.ATTENTION, "info")
        elif isinstance(decision, ScaleLost):
            self.lost_words = f"{decision.words}. {decision.remedy}".strip()
            if weighing:
                self._say(f"scale: {self.lost_words}", Tone.REFUSE, "bad")
        else:
            self.lost_words = ""
            if weighing:
                self._say("scale: heard again; the pan must be seen empty once", Tone.ATTENTION, "info")

    def _show(self, live: Live) -> None:
        self.phase = live.phase
        self.lost_words = ""
        shown = "---.-" if live.shown is None else str(live.shown)
        self.live = LiveLine(shown=shown, unit=live.unit, phase=live.phase.value, difference_g=live.difference_g)
        if live.phase not in {Phase.ASKING, Phase.HELD}:
            self.question = None
        state = self._scribe.state
        if state is None:
            return
        if self.step in {Step.WEIGH, Step.BOBWEIGHTS}:
            self._remind(self._wander.see(live, self.rules))
        if self.step is Step.BOBWEIGHTS and self._target_g is not None:
            self.shims.see(live, target_g=self._target_g, band_g=state.spec.tolerance.bobweight_g)

    def _take(self, taken: Taken) -> None:
        state = self._scribe.state
        if state is None:
            return
        self.question = None
        if self.aside is not None and self.aside.due.key == taken.key:
            self._take_aside(self.aside, taken)
            return
        try:
            if self.step is Step.WEIGH and self.aim is not None and str(self.aim) == taken.key:
                event = take_weight(self._scribe, taken, self.aim, instrument=self.instrument)
                words = taken_words(label_of(state.spec, self.aim), taken, event.seq)
            elif self.step is Step.BOBWEIGHTS and self.throw is not None and taken.key == f"bobweight {self.throw}":
                target = next(t.target_g for t in review_job(state).throws if t.throw == self.throw)
                if target is None:
                    return
                event = build_bobweight(
                    self._scribe, taken, throw=self.throw, target_g=target, instrument=self.instrument
                )
                words = bobweight_words(self.throw, taken, target, event.seq)
            else:
                return
        except RecordError as fault:
            self._say(f"not taken: {fault}", Tone.REFUSE, "bad")
            return
        self._laid = _Laid(key=taken.key, event=event, aim=self.aim, throw=self.throw)
        self._recent.pop(taken.key, None)
        self._recent = dict([*self._recent.items(), (taken.key, self._laid)][-RECENT:])
        self.phase = Phase.TAKEN
        # the sentence and its tone come only now: the event is on disk
        self._say(words, Tone.ACCEPT, "ask" if taken.doubtful else "good")
        self._close(self.aim)
        self._next(after=self.aim)

    def _take_aside(self, aside: Aside, taken: Taken) -> None:
        self.phase = Phase.TAKEN
        try:
            outcome = aside.record(taken)
        except RecordError as fault:
            self._say(f"not taken: {fault}", Tone.REFUSE, "bad")
            return
        if aside.due.key == KEY:
            self._reminded = ""
            self._wander.begin()
        tone = Tone.ACCEPT if outcome.good else Tone.REFUSE
        self._say(outcome.words, tone, "good" if outcome.good else "bad")
        self.work_at(self.step, aim=self.aim)

    def _close(self, aim: Cell | None) -> None:
        state = self._scribe.state
        if state is not None and aim is not None:
            words = rod_words(state, aim)
            if words:
                self._say(words, Tone.ATTENTION, "ask")

    def _next(self, *, after: Cell | None) -> None:
        state = self._scribe.state
        owed, self._owed = self._owed, None
        if state is not None and self.step is Step.WEIGH:
            due = next_open_cell(state, after=after, route=self._route)
            self.aim = due if owed is None or owed in state.weighed else owed
            self._expect(None if self.aim is None else expected_for_cell(state, self.aim))
            self._level(self.aim)
        elif self.step is Step.BOBWEIGHTS:
            self.work_at(Step.BOBWEIGHTS)

    def _lifted(self, lifted: Lifted) -> None:
        laid, self._laid = self._laid, None
        if laid is None or lifted.final is None or laid.key != lifted.key:
            return
        event = refine_weight(self._scribe, lifted.final, laid.event, instrument=self.instrument)
        before, laid.event = laid.event, event
        words = final_words(self._named(laid), lifted.final, before=before, event=event)
        if words:
            self._say(words, Tone.NONE, "info")

    def _named(self, laid: _Laid) -> str:
        state = self._scribe.state
        return label_of(state.spec, laid.aim) if state is not None and isinstance(laid.aim, Cell) else laid.key

    def _doubt(self, doubted: Doubted) -> None:
        laid = self._recent.pop(doubted.key, None)
        if self._laid is not None and self._laid.key == doubted.key:
            self._laid = None
        if laid is None or not self._stands(laid.event):
            return
        withdraw_weight(self._scribe, laid.event.id, reason=doubted.words[:200])
        later = doubted.next_lies and self.step is Step.WEIGH and self.aim is not None
        words = f"{self._named(laid)}: taken back, {doubted.words}"
        if later:
            self._owed = laid.aim
            self._say(f"{words}; it is asked for again after this one", Tone.ATTENTION, "ask")
        else:
            self._say(f"{words}; lay it again", Tone.REFUSE, "bad")
            self.work_at(self.step, aim=laid.aim)

    def _stands(self, event: Event) -> bool:
        """Whether a weight is still what the sheet shows: not typed over, taken back or weighed again since."""
        state = self._scribe.state
        if state is None:
            return False
        weights = {one.entry.event_id for one in state.weighed.values()}
        return event.id in weights | {one.entry.event_id for one in state.bobweights.values()}

    def _ask(self, asked: Asked) -> None:
        self.phase = Phase.ASKING
        self.question = Question(
            words=asked.question, choices=tuple((key, CHOICE_WORDS.get(key, key)) for key in asked.choices)
        )
        self._say(asked.question, Tone.ATTENTION, "ask")
