"""A desk that listens: it keeps what it is asked and shows the views a test gives it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from textual.pilot import Pilot

from bench.models.job import Cell, cells_in_order
from bench.models.job_state import Cut, Entry, JobLine, JobState, PlaneAmount, Spin, Weighed
from bench.screens.app import BenchApp
from bench.use_cases.cautions import BEFORE_SPIN
from bench.use_cases.commands import Command
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.instruct import instruction_for
from bench.use_cases.propose_cuts import propose_cuts
from bench.use_cases.review_job import review_job
from bench.use_cases.view import BenchView, Doing, LiveLine, Notice, Step, Tone, TrailLine, Want

GRAMS = {
    "piston": "586.4",
    "pin": "152.3",
    "rings": "43.8",
    "locks": "3.4",
    "rod_whole": "742.1",
    "rod_small_end": "214.6",
    "rod_bearings": "96.4",
}
HOSTILE = "a\x1b]0;x\x07[red]b[/red] [@click=app.quit]c \u202ed"


def entry(seq: int, how: str = "auto") -> Entry:
    return Entry(f"id-{seq}", seq, "mk", how, "2031-03-01T08:00:00.000000Z")


class ListeningDesk:
    def __init__(self, view: BenchView) -> None:
        self.asked: list[Command] = []
        self._view = view
        self._listeners: list[Callable[[BenchView], None]] = []

    def listen(self, listener: Callable[[BenchView], None]) -> None:
        self._listeners.append(listener)
        listener(self._view)

    def ask(self, command: Command) -> None:
        self.asked.append(command)

    def view(self) -> BenchView:
        return self._view

    def show(self, view: BenchView) -> None:
        self._view = view
        for listener in self._listeners:
            listener(view)


def some_state(*, cells: int = 100, runs: int = 0, title: str = "Rescue boat") -> JobState:
    spec = demo_spec().model_copy(update={"title": title})
    weighed = {
        cell: Weighed(entry(i + 2), Decimal(GRAMS[cell.kind]), Decimal(GRAMS[cell.kind]), "g", 0.05)
        for i, cell in enumerate(cells_in_order(spec)[:cells])
    }
    heavy = Cell(kind="piston", place=7)
    if heavy in weighed:
        weighed[heavy] = replace(weighed[heavy], grams=Decimal("588.0"))
    spins = tuple(
        Spin(
            entry(60 + n),
            n + 1,
            (PlaneAmount("front", 69.5 / 5**n, 201.0), PlaneAmount("rear", 39.2 / 5**n, 18.0)),
            str(n + 1),
            500.0,
            "",
            2 * n,
        )
        for n in range(runs)
    )
    # what the next run shows is a fifth of this one: so much was taken off in both planes
    cuts = tuple(
        Cut(entry(70 + 2 * n + k), plane, angle, grams * 0.8 / 5**n)
        for n in range(max(0, runs - 1))
        for k, (plane, angle, grams) in enumerate((("front", 201.0, 69.5), ("rear", 18.0, 39.2)))
    )
    return JobState(
        "2031-0001", spec, entry(1), MappingProxyType(weighed), spins=spins, cuts=cuts, last_seq=60 + 2 * runs
    )


def view_of(state: JobState, step: Step, want: Want, **changes: Any) -> BenchView:
    review = review_job(state)
    proposal = propose_cuts(state, review) if step is Step.SPIN else None
    values: dict[str, Any] = {
        "simulated": True,
        "by": "mk",
        "jobs": (JobLine("2031-0001", state.spec.title, "x", "y", "2031-03-01", "2031-03-01", "weigh", True),),
        "job": state,
        "review": review,
        "shown_step": step,
        "want": want,
        "instruction": instruction_for(want, state=state, step=step, scale_words=""),
        "live": LiveLine("586.4", "g", "settling"),
        "notice": Notice(1, "taken: piston 2, 586.4 g", Tone.ACCEPT, "good"),
        "proposal": proposal,
        "trail": (TrailLine(1, "2031-03-01T08:00:00Z", "mk", "typed", "job opened", ("raw line",)),),
        "cautions": BEFORE_SPIN if want.doing is Doing.SPIN else (),
    }
    return BenchView(**(values | changes))


def weighing(**changes: Any) -> BenchView:
    return view_of(some_state(cells=2), Step.WEIGH, Want(Doing.LAY, cell=Cell(kind="piston", place=3)), **changes)


def frame(app: BenchApp) -> list[str]:
    """What stands on the screen, a string a row."""
    strips = app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip).rstrip() for strip in strips]


async def until(pilot: Pilot[Any], condition: Callable[[], bool]) -> None:
    """Wait for what comes in its own time; a busy machine may take long."""
    for _ in range(40):
        if condition():
            return
        await settle(pilot)
    raise AssertionError("it did not come")


async def settle(pilot: Pilot[Any]) -> None:
    await pilot.pause(0.15)
    await pilot.pause()
