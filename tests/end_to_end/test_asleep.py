"""The bench's process sleeps while the scale talks on: it wakes at the same part and takes nothing of before."""

from __future__ import annotations

import json
import os
import queue
import random
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from hands_off import command, environment

from bench.models.job import cells_in_order
from bench.models.job_state import JobState
from bench.trail.clock import SystemClock
from bench.trail.fold import fold
from bench.trail.sqlite_store import open_record

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a process is put to sleep as POSIX does it")
PACE = 20


def sleeping_run(home: Path, sleeps: int, seed: int) -> tuple[JobState, dict[str, float], list[str]]:
    """Play the job; put the bench, not the shop, to sleep between readings and in the middle of them."""
    chance = random.Random(seed)
    bench = subprocess.Popen(
        command("demo", "--hands-off", "--pace", str(PACE), "--seed", str(seed)),
        env=environment(home), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, encoding="utf-8",
    )  # fmt: skip
    said: queue.SimpleQueue[str | None] = queue.SimpleQueue()

    def read() -> None:
        assert bench.stdout is not None
        for line in bench.stdout:
            said.put(line.rstrip())
        said.put(None)

    threading.Thread(target=read, daemon=True).start()
    lines: list[str] = []
    slept = 0
    try:
        while (line := said.get(timeout=120)) is not None:
            lines.append(line)
            taken = sum(one.startswith("taken:") for one in lines)
            if slept < sleeps and line.startswith("taken:") and taken >= (slept + 1) * 50 // (sleeps + 1):
                slept += 1
                time.sleep(chance.uniform(0.0, 0.4))  # lying, lifted, or the next one being laid
                os.kill(bench.pid, signal.SIGSTOP)
                time.sleep(chance.choice([0.2, 1.5, 3.5]))  # up to 70 s of the bench's time
                os.kill(bench.pid, signal.SIGCONT)
            if line.startswith("next: ") and "weigh" not in line:
                break
    finally:
        os.kill(bench.pid, signal.SIGCONT)
        bench.send_signal(signal.SIGTERM)
        bench.wait(timeout=30)
        if bench.stdout is not None:
            bench.stdout.close()
    assert slept == sleeps
    trail = open_record(home / "demo" / "record.db", bench="t", clock=SystemClock(), app_version="t", read_only=True)
    try:
        assert trail.verify() is None
        state = fold(trail.events(job=trail.jobs()[0].number))
    finally:
        trail.close()
    (truth,) = (home / "demo").glob("shop-*/truth.json")
    return state, json.loads(truth.read_text())["parts_g"], lines


def check(state: JobState, truth: dict[str, float]) -> None:
    assert len(state.weighed) == 52
    for cell in cells_in_order(state.spec):
        weighed = state.weighed[cell]
        off = abs(float(weighed.grams) - truth[str(cell)])
        assert off < 3.5 * weighed.standard_uncertainty_g + 0.05, (cell, off)


@pytest.mark.long
@pytest.mark.timeout(200)
def test_three_sleeps(tmp_path: Path) -> None:
    state, truth, _ = sleeping_run(tmp_path, 3, seed=5)
    check(state, truth)


@pytest.mark.long
@pytest.mark.timeout(900)
def test_forty_sleeps_in_two_jobs(tmp_path: Path) -> None:
    for seed in (6, 7):
        (tmp_path / str(seed)).mkdir()
        state, truth, _ = sleeping_run(tmp_path / str(seed), 20, seed=seed)
        check(state, truth)
