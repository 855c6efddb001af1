"""Pull the simulated scale's plug while it is weighed with: it comes back by itself, nothing wrong, nothing twice."""

from __future__ import annotations

import queue
import time
from pathlib import Path

import pytest

from bench.command_line.demo_player import DemoPlayer
from bench.command_line.places import Places
from bench.command_line.settings import Settings
from bench.command_line.simulated_shop import SimulatedShop
from bench.command_line.wiring import connect_instruments, start_bench
from bench.models.job import cells_in_order
from bench.models.job_state import JobState
from bench.use_cases.commands import CreateJob
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.view import BenchView, Step

PACE = 20.0


def weigh_with_pulled_plugs(home: Path, pulls: int) -> tuple[JobState, dict[str, float], list[str]]:
    running = start_bench(Places(home), Settings(), pace=PACE, simulated=True)
    words: list[str] = []
    running.desk.hear(lambda notice: words.append(notice.words))
    shop = SimulatedShop(
        folder=home / "runs",
        state=home / "s.json",
        truth=home / "truth.json",
        seed=3,
        pace=PACE,
        listen="tcp:127.0.0.1:0",
    )
    try:
        running.desk.ask(CreateJob(demo_spec()))
        connect_instruments(running, Places(home), scale_url=shop.scale_url)
        views: queue.SimpleQueue[BenchView] = queue.SimpleQueue()
        running.desk.listen(views.put)
        player, pulled, until = DemoPlayer(hands_off=True), 0, time.monotonic() + 220 + 8 * pulls
        state: JobState | None = None
        while time.monotonic() < until:
            view = views.get(timeout=20.0)
            state = view.job
            if view.review is not None and view.review.step is not Step.WEIGH:
                break
            taken = len(view.job.weighed) if view.job is not None else 0
            if pulled < pulls and taken >= (pulled + 1) * 52 // (pulls + 2):
                pulled += 1
                shop.tell({"unplug": {"seconds": 2.0 * PACE}})
            moves = player.moves(view)
            for told in moves.tell:
                shop.tell(told)
            for command in moves.ask:
                running.desk.ask(command)
        assert state is not None
        assert pulled == pulls
    finally:
        running.disconnect()
        shop.close()
        running.stop()
    import json

    truth: dict[str, float] = json.loads((home / "truth.json").read_text())["parts_g"]
    return state, truth, words


def check(state: JobState, truth: dict[str, float], words: list[str], *, pulls: int) -> None:
    assert sum("not heard" in said or "lost" in said for said in words) >= pulls
    taken = [said for said in words if said.startswith("taken:")]
    assert len(taken) == len({said.split(",")[0] for said in taken}) + sum("taken back" in said for said in words)
    assert len(state.weighed) == 52
    for cell in cells_in_order(state.spec):
        weighed = state.weighed[cell]
        off = abs(float(weighed.grams) - truth[str(cell)])
        assert off < 3.5 * weighed.standard_uncertainty_g + 0.05, (cell, off)


@pytest.mark.timeout(300)
def test_two_pulled_plugs(tmp_path: Path) -> None:
    state, truth, words = weigh_with_pulled_plugs(tmp_path, 2)
    check(state, truth, words, pulls=2)


@pytest.mark.long
@pytest.mark.timeout(600)
def test_twenty_pulled_plugs(tmp_path: Path) -> None:
    state, truth, words = weigh_with_pulled_plugs(tmp_path, 20)
    check(state, truth, words, pulls=20)
