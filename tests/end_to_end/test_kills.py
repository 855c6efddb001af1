"""Kill the program at random moments of the hands-off job: nothing shown as taken is ever missing."""

from __future__ import annotations

import random
import re
import subprocess
import threading
import time
from pathlib import Path

import pytest
from hands_off import command, environment

from bench.models.job import label_of
from bench.models.job_state import JobState
from bench.trail.clock import SystemClock
from bench.trail.events import BobweightBuilt, Event, WeightTaken
from bench.trail.fold import fold
from bench.trail.sqlite_store import open_record
from bench.use_cases.due import next_open_cell
from bench.use_cases.review_job import review_job
from bench.use_cases.view import Step

TAKEN = re.compile(r"^taken: (?P<label>.+?), (?P<grams>[0-9.]+) g.*\bentry (?P<seq>\d+)\)")


def read_record(home: Path) -> tuple[dict[int, Event], JobState | None]:
    path = home / "demo" / "record.db"
    if not path.exists():
        return {}, None
    trail = open_record(path, bench="t", clock=SystemClock(), app_version="t")
    try:
        assert not trail.read_only
        assert trail.verify() is None
        events = {event.seq: event for event in trail.events()}
        unfinished = [line.number for line in trail.jobs() if line.step != "done"]
        return events, fold(trail.events(job=unfinished[0])) if unfinished else None
    finally:
        trail.close()


def killed_run(home: Path, after_s: float, seed: int | None) -> list[str]:
    chosen = () if seed is None else ("--seed", str(seed))
    process = subprocess.Popen(
        command("demo", "--hands-off", "--resume", "--pace", "60", *chosen),
        env=environment(home),
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
    )
    lines: list[str] = []
    assert process.stdout is not None
    reader = threading.Thread(target=lambda: lines.extend(process.stdout or []))
    reader.start()
    time.sleep(after_s)
    process.kill()
    process.wait()
    reader.join()
    process.stdout.close()
    return lines


def kill_often(home: Path, kills: int, seed: int) -> tuple[int, int]:
    chance = random.Random(seed)
    acked, resumed_right = 0, 0
    promised: dict[int, tuple[str, str]] = {}
    for number in range(kills):
        _, before = read_record(home)
        # who goes on need not remember which crank it was
        lines = killed_run(home, chance.uniform(1.0, 6.0), seed if number == 0 else None)
        first = next((m for line in lines if (m := TAKEN.match(line))), None)
        if first is not None and before is not None and review_job(before).step is Step.WEIGH:
            due = next_open_cell(before)
            assert due is not None
            assert first["label"] == label_of(before.spec, due)
            resumed_right += 1
        promised |= {int(m["seq"]): (m["label"], m["grams"]) for line in lines if (m := TAKEN.match(line))}
        events, _ = read_record(home)
        for seq, (_, grams) in promised.items():
            payload = events[seq].payload
            assert isinstance(payload, WeightTaken | BobweightBuilt)
            assert str(payload.grams) == grams
        acked = len(promised)
    return acked, resumed_right


def test_nothing_taken_is_missing_after_a_kill(tmp_path: Path) -> None:
    acked, _ = kill_often(tmp_path, 6, seed=11)
    # how much is weighed between kills depends on how busy the computer is
    assert acked >= 3


@pytest.mark.long
@pytest.mark.timeout(2400)
def test_two_hundred_kills(tmp_path: Path) -> None:
    acked, resumed = kill_often(tmp_path, 200, seed=12)
    print(f"200 kills: {acked} weights shown as taken, none missing; resumed at the right cell {resumed} times")
    # start-up and the first empty pan take most of the time between kills: how much is weighed depends on the computer
    assert acked >= 50
    assert resumed >= 20
