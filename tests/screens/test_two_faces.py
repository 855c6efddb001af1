"""Plain lines and the dashboard beside each other: one recording, one person's answers, and the same job comes of it.

Each mishap is played twice with the same lines of the scale, once answered by wishes, once by keys.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from listening_desk import frame, settle

from bench.capture.weigh_machine import WeighMachine
from bench.command_line.plain_lines import PlainLines
from bench.command_line.weigh_command import wish
from bench.screens.app import BenchApp
from bench.screens.big_text import BigText
from bench.screens.number_band import weigh_reading
from bench.trail.memory import MemoryTrail
from bench.use_cases.bench_desk import BenchDesk, DeskSettings
from bench.use_cases.commands import Answer, CheckScale, Command, CreateJob, ShowStep, Skip
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.scribe import Scribe
from bench.use_cases.sign_off import WrittenFile
from bench.use_cases.view import BenchView, Notice, Question, Step
from bench.use_cases.weigh_rules import WeighRules
from drivers.contract import Condition, LineFault, LinkChange, LinkState, Reading

MORNING = datetime(2031, 3, 1, 8, 0, tzinfo=UTC)
SIZE = (150, 44)


class RunningClock:
    """Goes with the lines of the recording."""

    def __init__(self) -> None:
        self.ns = 0

    def utc_now(self) -> datetime:
        return MORNING + timedelta(seconds=self.ns / 1e9)

    def offset_min(self) -> int:
        return 0

    def monotonic_ns(self) -> int:
        return self.ns


class OneDesk:
    """A desk without a thread: what is asked is done at once."""

    def __init__(self) -> None:
        self.clock = RunningClock()
        self.trail = MemoryTrail(bench="t", clock=self.clock, app_version="t")
        number = itertools.count(1)
        scribe = Scribe(self.trail, new_id=lambda: f"id-{next(number)}")
        rules = WeighRules(utc_now=self.clock.utc_now)
        settings = DeskSettings("scale A", "machine B", lambda: 2031, _no_certificate, weighing=rules)
        self.bench = BenchDesk(scribe, WeighMachine(), settings)
        scribe.by = "mk"
        self.said: list[Notice] = []
        self.questions: list[Question] = []
        self.answered: list[Command] = []
        self._listeners: list[Callable[[BenchView], None]] = []
        self.bench.hear(self.said.append)
        self.bench.handle(CreateJob(demo_spec()))

    def listen(self, listener: Callable[[BenchView], None]) -> None:
        self._listeners.append(listener)
        listener(self.view())

    def view(self) -> BenchView:
        return self.bench.view()

    def ask(self, command: Command) -> None:
        self.answered.append(command)
        self.bench.handle(command)
        self.show()

    def show(self) -> None:
        view = self.view()
        if view.question is not None and (not self.questions or self.questions[-1] != view.question):
            self.questions.append(view.question)
        for listener in self._listeners:
            listener(view)

    def hears(self, item: Reading | LineFault | LinkChange) -> None:
        self.bench.scale_says(item)
        self.show()

    @property
    def record(self) -> list[tuple[Any, ...]]:
        return [(e.payload, e.how, e.by, e.raw, e.utc) for e in self.trail.events(job="2031-0001")]


def _no_certificate(_scribe: object, _review: object, _checkpoint: object) -> WrittenFile:
    raise AssertionError("no certificate is wanted here")


@dataclass(frozen=True)
class Act:
    """What the person does: a wish in plain lines, keys on the dashboard."""

    words: str
    keys: tuple[str, ...]


@dataclass
class Recording:
    """Lines of the scale with their times, and between them what the person does."""

    steps: list[list[Reading | LineFault | LinkChange] | Act] = field(default_factory=list)
    at_ns: int = 1_000_000_000

    def _add(self, item: Reading | LineFault | LinkChange) -> None:
        if not self.steps or isinstance(self.steps[-1], Act):
            self.steps.append([])
        last = self.steps[-1]
        assert isinstance(last, list)
        last.append(item)

    def line(self, grams: float, unit: str = "g", condition: Condition = Condition.WEIGHT) -> Recording:
        self.at_ns += 100_000_000
        value = Decimal(f"{grams:.1f}") if condition is Condition.WEIGHT else None
        raw = f"{value} {unit}".encode()
        self._add(Reading(self.at_ns, value, unit, condition, None, None, raw))
        return self

    def show(self, grams: float, seconds: float, unit: str = "g") -> Recording:
        for _ in range(round(10 * seconds)):
            self.line(grams, unit)
        return self

    def move(self, start: float, end: float) -> Recording:
        for step in range(5):
            self.line(start + (end - start) * (1 - math.exp(-4 * (step + 1) / 5)))
        return self

    def lay(self, grams: float, seconds: float = 4.5) -> Recording:
        return self.move(0.0, grams).show(grams, seconds)

    def lift(self, grams: float) -> Recording:
        return self.move(grams, 0.0).show(0.0, 2.0)

    def garbage(self) -> Recording:
        self.at_ns += 100_000_000
        self._add(LineFault(self.at_ns, b"\xff4x", "?4x", "a line of the profile"))
        return self

    def link(self, state: LinkState) -> Recording:
        self._add(LinkChange(self.at_ns, state, "", "plug it in"))
        return self

    def does(self, words: str, *keys: str) -> Recording:
        self.steps.append(Act(words, keys))
        return self


def begun() -> Recording:
    return Recording().show(0.0, 3.0)


TAKE, SECOND = ("take", "1"), ("again", "2")
TYPED = ("6", "home", "shift+end", "delete")


def typing(words: str) -> tuple[str, ...]:
    return tuple({" ": "space", ".": "full_stop"}.get(x, x) for x in words)


MISHAPS: dict[str, Callable[[], Recording]] = {
    "none": lambda: begun().lay(586.4).lift(586.4).lay(586.2).lift(586.2),
    "a wrong kind, insisted on": lambda: begun().lay(586.4).lift(586.4).lay(742.1, 6).does(*TAKE).lift(742.1),
    "a wrong kind, laid again": lambda: (
        begun().lay(586.4).lift(586.4).lay(742.1, 6).does(*SECOND).lift(742.1).lay(586.0).lift(586.0)
    ),
    "left for later by a question": lambda: (
        begun().lay(586.4).lift(586.4).lay(742.1, 6).does("skip", "3").lift(742.1).lay(586.1).lift(586.1)
    ),
    "two at once": lambda: begun().lay(586.4).lift(586.4).lay(1172.8, 6).does(*SECOND).lift(1172.8),
    "the same laid back": lambda: begun().lay(586.4).move(586.4, 0.0).lay(586.4, 5).does(*SECOND).lift(586.4),
    "a second part by mistake": lambda: begun().lay(586.4).move(586.4, 1172.7).show(1172.7, 4).lift(1172.7),
    "the tare key with a part on": lambda: begun().lay(586.4).show(0.0, 2).move(0.0, -586.4).show(-586.4, 3),
    "the unit key": lambda: (
        begun().lay(586.4).lift(586.4).show(0.0, 1, "oz").does("clear", "1").show(0.0, 4, "oz").show(20.7, 4, "oz")
    ),
    "unplugged with a part on": lambda: (
        begun().lay(586.4).link(LinkState.LOST).link(LinkState.OPEN).show(586.4, 8).lift(586.4).lay(586.3).lift(586.3)
    ),
    "overload": lambda: (
        begun()
        .lay(586.4)
        .lift(586.4)
        .line(0, condition=Condition.OVERLOAD)
        .line(0, condition=Condition.OVERLOAD)
        .show(0.0, 2)
        .lay(586.3)
    ),
    "damaged lines": lambda: begun().lay(586.4).garbage().garbage().lift(586.4).lay(586.3),
    "taken back": lambda: begun().lay(586.4).lift(586.4).does("back", "pageup").lay(586.5).lift(586.5),
    "left for later": lambda: begun().does("skip", "k").lay(586.4).lift(586.4),
    "a known weight": lambda: (
        begun().does("check 500", *TYPED, *typing("check 500"), "enter").lay(500.0).lift(500.0).lay(586.4)
    ),
    "how warm it is": lambda: begun().does("temperature 21.5", *TYPED, *typing("temperature 21.5"), "enter").lay(586.4),
    "another order": lambda: (
        begun().does("route cylinder", *TYPED, *typing("route cylinder"), "enter").lay(586.4).lift(586.4).lay(152.0)
    ),
}


def by_plain_lines(recording: Recording) -> tuple[OneDesk, list[str]]:
    desk = OneDesk()
    plain, printed = PlainLines(), [n.words for n in desk.said]
    desk.bench.hear(lambda notice: printed.append(notice.words))
    desk.listen(lambda view: printed.extend(plain.lines(view, desk.clock.ns / 1e9)))
    for step in recording.steps:
        if isinstance(step, Act):
            command = wish(step.words.split())
            assert command is not None, step.words
            desk.ask(command)
            continue
        for item in step:
            desk.clock.ns = item.at_ns
            desk.hears(item)
    return desk, printed


async def by_dashboard(recording: Recording) -> tuple[OneDesk, list[tuple[BenchView, str]]]:
    desk = OneDesk()
    app = BenchApp(desk, tone_player=lambda _: None)
    seen: list[tuple[BenchView, str]] = []
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        for step in recording.steps:
            if isinstance(step, Act):
                for key in step.keys:
                    await pilot.press(key)
                await settle(pilot)
            else:
                for item in step:
                    desk.clock.ns = item.at_ns
                    desk.hears(item)
            await settle(pilot)
            headline = app.screen_stack[0].query_one("#headline", BigText).text
            seen.append((desk.view(), "\n".join([headline, *frame(app)])))
    return desk, seen


def _meant(command: Command) -> Command:
    return Skip() if command == Answer("skip") else command  # "skip" is a wish of its own in plain lines


def squeezed(text: str) -> str:
    return re.sub(r"[^0-9a-z]+", "", text.lower())


@pytest.mark.parametrize("mishap", MISHAPS)
async def test_both_faces_come_to_the_same_job(mishap: str) -> None:
    plain, printed = by_plain_lines(MISHAPS[mishap]())
    dashboard, seen = await by_dashboard(MISHAPS[mishap]())
    assert plain.record == dashboard.record
    assert len(plain.record) > 1
    assert [(n.words, n.tone, n.level) for n in plain.said] == [(n.words, n.tone, n.level) for n in dashboard.said]
    assert plain.questions == dashboard.questions
    assert [_meant(command) for command in plain.answered] == [_meant(command) for command in dashboard.answered]
    # plain lines say everything: every sentence, every question with its answers, all that is due
    told = "\n".join(printed)
    for notice in plain.said:
        assert notice.words in told
    for question in plain.questions:
        assert question.words in told
        for key, words in question.choices:
            assert f"{key} ({words})" in told
    # and the dashboard shows at every halt what plain lines said of that moment
    for view, text in seen:
        flat = squeezed(text)
        assert f"> {view.instruction.headline}" in told
        if view.question is not None:
            assert squeezed(view.question.words)[:60] in flat
            assert all(squeezed(words) in flat for _, words in view.question.choices)
        else:
            assert squeezed(view.instruction.headline) in flat
        assert view.notice is not None
        assert squeezed(view.notice.words)[:60] in flat
        assert squeezed(view.live.shown)[:1] in flat


ASKED = {
    "a wrong kind, insisted on": "should be about 586.4 g",
    "a wrong kind, laid again": "should be about 586.4 g",
    "left for later by a question": "should be about 586.4 g",
    "two at once": "two at once",
    "the same laid back": "same weight",
    "the unit key": "switch it back",
    "unplugged with a part on": "has not been seen empty",
}


@pytest.mark.parametrize("mishap", MISHAPS)
def test_the_recordings_bring_about_what_they_are_named_after(mishap: str) -> None:
    desk, printed = by_plain_lines(MISHAPS[mishap]())
    asked = " ".join(q.words for q in desk.questions)
    assert (ASKED[mishap] in asked) if mishap in ASKED else (not asked)
    told = "\n".join(printed)
    wanted = {
        "a second part by mistake": "two parts lie on the pan",
        "the tare key with a part on": "> Lift it off",
        "unplugged with a part on": "scale: heard again",
        "overload": "more than the scale can carry",
        "taken back": "taken back",
        "left for later": "left for later",
        "a known weight": "scale check: 500.0 g",
        "how warm it is": "21.5 °C at the scale",
        "another order": "all of one cylinder",
    }
    assert wanted.get(mishap, "taken: piston") in told


def test_while_a_known_weight_is_due_the_number_band_names_it_instead_of_idling() -> None:
    desk = OneDesk()
    for item in begun().steps[0]:  # type: ignore[union-attr]
        desk.hears(item)
    desk.ask(CheckScale(Decimal(500)))
    verdict = weigh_reading(desk.view()).verdict
    assert (verdict.word, verdict.small) == ("lay it", "known weight of 500 g")
    desk.ask(ShowStep(Step.WEIGH))
    assert weigh_reading(desk.view()).verdict.small == "the pan is empty"
