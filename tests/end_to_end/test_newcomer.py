"""From the first start to a certificate, following only what the screen says; a whole sheet without a key."""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

import pytest
from newcomer import Newcomer, Terminal

from bench.models.job import cells_in_order
from bench.trail.clock import SystemClock
from bench.trail.fold import fold
from bench.trail.sqlite_store import open_record

KEPT = Path(__file__).parents[1] / "golden" / "newcomer.txt"

pytestmark = [
    pytest.mark.long,
    pytest.mark.timeout(600),
    pytest.mark.skipif(shutil.which("tmux") is None, reason="needs tmux"),
]


def without_figures(transcript: list[str]) -> list[str]:
    """Numbers, times and folders change from run to run; the order of things does not."""
    lines = [re.sub(r"\d+(\.\d+)?", "#", line) for line in transcript]
    return [line for i, line in enumerate(lines) if i == 0 or line != lines[i - 1]]


def test_a_newcomer_comes_to_a_certificate_and_weighs_a_whole_sheet_without_a_key(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path)
    terminal.start()
    newcomer = Newcomer(terminal)
    try:
        arrived = newcomer.until_certificate(most_s=420.0)
        screen = terminal.screen()
    finally:
        terminal.end()
    told = "\n".join(newcomer.transcript)
    assert arrived, f"{told}\n{newcomer.screens[-1]}"
    assert "SIMULATED" in screen
    # the first key is the one the first screen names; the next is not pressed before all parts are weighed and made
    (first, second, *_rest) = newcomer.pressed
    assert first[0] == "b"
    assert "cut 1 of" in newcomer.screens[1], second
    trail = open_record(
        tmp_path / "demo" / "record.db", bench="t", clock=SystemClock(), app_version="t", read_only=True
    )
    try:
        assert trail.verify() is None
        state = fold(trail.events(job=trail.jobs()[0].number))
    finally:
        trail.close()
    cells = cells_in_order(state.spec)
    assert len(cells) >= 48
    assert set(state.weighed) == set(cells)
    assert all(weighed.entry.how == "simulated" for weighed in state.weighed.values())
    assert state.signed_off is not None
    assert state.signed_off.within_tolerance
    assert state.certificates
    if os.environ.get("KEEP_TRANSCRIPT"):
        KEPT.write_text(told + "\n", encoding="utf-8")
    # the saved transcript begins and ends alike, with the same kinds of sentences and keys between
    kept = without_figures(KEPT.read_text(encoding="utf-8").splitlines())
    now = without_figures(newcomer.transcript)
    assert now[0] == kept[0]
    keys = [[line for line in lines if line.startswith("key:")] for lines in (kept, now)]
    assert set(keys[0]) == set(keys[1])
    assert keys[0][-1] == keys[1][-1]
