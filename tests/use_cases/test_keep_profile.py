"""After a check with a known mass the desk offers to keep the profile, put right, and reads with it at once."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from a_bench import Bench
from test_spin_desk import disc

from bench.computation.angle_check import AngleCheck
from bench.use_cases import commands as c
from bench.use_cases.bench_desk import BenchDesk
from bench.use_cases.errors import RefusedError
from bench.use_cases.keep_profile import KEEP, LEAVE, KeptProfile, can_be_put_right
from bench.use_cases.view import Doing, Tone


class Folder:
    """Keeps what it is given, or refuses."""

    def __init__(self) -> None:
        self.kept: list[tuple[AngleCheck, c.CheckMachine, str, str]] = []
        self.full = False

    def next_name(self) -> str:
        return "machine-b-checked"

    def keep_checked(self, check: AngleCheck, told: c.CheckMachine, *, day: str, name: str) -> KeptProfile:
        if self.full:
            raise RefusedError(f"profile '{name}'", found="No space left on device")
        self.kept.append((check, told, day, name))
        return KeptProfile(name, f"/shop/{name}.toml", f"machine B read with {name}")


@pytest.fixture
def folder() -> Folder:
    return Folder()


@pytest.fixture
def bench(folder: Folder) -> Bench:
    bench = Bench(disc())
    settings = replace(bench.desk._settings, profiles=folder)
    bench.desk = BenchDesk(bench.scribe, bench.machine, settings)
    bench.desk.hear(bench.said.append)
    bench.desk.handle(c.CreateJob(bench.spec))
    return bench


def clockwise(bench: Bench) -> None:
    # 5 g fastened at 0 and 90 degrees show at 0 and 270: the machine counts the other way round
    bench.run(("front", "0.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "5.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "5.0", 270.0), ("rear", "1.0", 90.0))
    bench.desk.handle(c.CheckMachine("front", 5.0, (0.0, 90.0)))


def test_yes_keeps_it_says_where_and_calls_the_machine_by_it(bench: Bench, folder: Folder) -> None:
    clockwise(bench)
    view = bench.desk.view()
    assert view.want.doing is Doing.ANSWER
    assert view.question is not None
    assert "the other way round" in bench.words
    assert "machine-b-checked" in view.question.words
    assert [key for key, _ in view.question.choices] == [KEEP, LEAVE]
    bench.desk.handle(c.Answer(KEEP))
    ((check, told, day, name),) = folder.kept
    assert (check.mirrored, told.mass_g, day, name) == (True, 5.0, "2031-03-01", "machine-b-checked")
    assert "/shop/machine-b-checked.toml" in bench.words
    assert "take back the runs" in bench.words
    assert bench.desk.view().question is None
    bench.run(("front", "1.0", 0.0), ("rear", "1.0", 90.0))
    newest: Any = list(bench.trail.events())[-1].payload
    assert newest.instrument == "machine B read with machine-b-checked"


def test_no_leaves_it(bench: Bench, folder: Folder) -> None:
    clockwise(bench)
    bench.desk.handle(c.Answer(LEAVE))
    assert folder.kept == []
    assert bench.words == "the profile stays as it is"
    assert bench.desk.view().question is None
    # asked once, an answer to nothing changes nothing
    bench.desk.handle(c.Answer(KEEP))
    assert folder.kept == []


def test_a_profile_that_cannot_be_kept_is_refused_and_offered_again(bench: Bench, folder: Folder) -> None:
    clockwise(bench)
    folder.full = True
    bench.desk.handle(c.Answer(KEEP))
    assert bench.said[-1].tone is Tone.REFUSE
    assert "No space left" in bench.words
    assert bench.desk.view().question is not None
    folder.full = False
    bench.desk.handle(c.Answer(KEEP))
    assert len(folder.kept) == 1


def test_a_profile_that_is_right_and_another_job_are_not_asked_about(bench: Bench) -> None:
    bench.run(("front", "0.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "5.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "5.0", 90.0), ("rear", "1.0", 90.0))
    bench.desk.handle(c.CheckMachine("front", 5.0, (0.0, 90.0)))
    assert bench.desk.view().question is None
    clockwise(bench)
    assert bench.desk.view().question is not None
    bench.desk.handle(c.LeaveJob())
    assert bench.desk.view().question is None


@pytest.mark.parametrize(
    ("changes", "offered"),
    [
        ({}, False),
        ({"mirrored": True}, True),
        ({"planes_swapped": True}, True),
        ({"turned_by_deg": -20.0}, True),
        ({"turned_by_deg": 9.0}, False),
        # grams that are not the mass's: unit or set-up, nothing a profile of angles can hold
        ({"share_shown": 0.5}, False),
        ({"mirrored": True, "clear": False}, False),
    ],
)
def test_only_what_a_profile_can_hold_is_offered(changes: dict[str, Any], offered: bool) -> None:
    right = AngleCheck(
        mirrored=False, turned_by_deg=0.0, share_shown=1.0, far_share=0.0, misfit_g=0.0, clear=True, planes_swapped=False
    )  # fmt: skip
    assert can_be_put_right(replace(right, **changes)) is offered
