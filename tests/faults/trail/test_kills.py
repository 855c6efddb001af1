"""The writer is killed at any moment; what it had acknowledged is there afterwards."""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from pathlib import Path

import pytest
from fault_pieces import entries, small_steps
from trail_pieces import SetClock, ids, opening, record

from bench.trail.full_check import check_all

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="fork and SIGKILL are POSIX")


def write_until_killed(path: Path, told: int) -> None:
    """The child: acknowledges each entry by a line, as a screen would show it, only after it was recorded."""
    trail = record(path)
    small_steps(trail, 20)
    os.write(told, b"open\n")
    while True:
        for one in entries(3):
            os.write(told, f"try {one.id}\n".encode())
            trail.append([one])
            os.write(told, f"ack {one.id}\n".encode())


def one_kill(path: Path, after_s: float, *, from_the_start: bool) -> tuple[list[str], list[str]]:
    """Return what was acked and what was tried."""
    out, told = os.pipe()
    ids.next += 100_000  # the child's ids are not those of the next child
    child = os.fork()
    if child == 0:
        try:
            os.close(out)
            write_until_killed(path, told)
        finally:
            os._exit(1)
    os.close(told)
    text = b""
    if not from_the_start:
        while b"ack" not in text:
            piece = os.read(out, 65536)
            assert piece, "the child ended by itself"
            text += piece
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    while piece := os.read(out, 65536):
        text += piece
    os.close(out)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the child ended by itself"
    words = [line.split() for line in text.decode().splitlines()]
    return [w[1] for w in words if w[0] == "ack"], [w[1] for w in words if w[0] == "try"]


def kills(folder: Path, number: int, seed: int, *, from_the_start: bool) -> dict[str, float]:
    dice = random.Random(seed)
    totals = {"kills": 0.0, "acked": 0.0, "in doubt": 0.0, "slowest start s": 0.0}
    for n in range(number):
        if n % 40 == 0:
            path = folder / f"{n}.db"
            trail = record(path)
            trail.append([opening()])
            trail.close()
            known = 1
        acked, tried = one_kill(path, dice.uniform(0.0, 0.03), from_the_start=from_the_start)
        began = time.perf_counter()
        trail = record(path, SetClock())
        totals["slowest start s"] = max(totals["slowest start s"], time.perf_counter() - began)
        assert not trail.read_only, "the lock outlived its holder"
        new = [event.id for event in trail.events(after=known)]
        assert new[: len(acked)] == acked, "an acked entry is gone"
        assert new in (acked, tried), "something else is there"
        assert trail.verify() is None
        if n % 20 == 19:
            assert check_all(trail) == []
        totals["in doubt"] += len(new) - len(acked)
        totals["kills"] += 1
        totals["acked"] += len(acked)
        known += len(new)
        trail.close()
    assert totals["slowest start s"] <= 2.0
    return totals


@pytest.mark.filterwarnings("ignore:This process.*fork:DeprecationWarning")
def test_sixty_kills_while_appending(tmp_path: Path) -> None:
    totals = kills(tmp_path, 60, 1, from_the_start=False)
    assert totals["acked"] > 60


@pytest.mark.filterwarnings("ignore:This process.*fork:DeprecationWarning")
def test_kills_at_any_moment_of_the_start(tmp_path: Path) -> None:
    # the record left by one kill is opened by the next child, which is killed while it recovers
    kills(tmp_path, 30, 2, from_the_start=True)


@pytest.mark.long
@pytest.mark.timeout(1800)
@pytest.mark.filterwarnings("ignore:This process.*fork:DeprecationWarning")
def test_a_thousand_kills(tmp_path: Path) -> None:
    print(f"kills while appending: {kills(tmp_path, 1000, 3, from_the_start=False)}")


@pytest.mark.long
@pytest.mark.timeout(1800)
@pytest.mark.filterwarnings("ignore:This process.*fork:DeprecationWarning")
def test_five_hundred_kills_at_the_start(tmp_path: Path) -> None:
    print(f"kills at the start: {kills(tmp_path, 500, 4, from_the_start=True)}")
