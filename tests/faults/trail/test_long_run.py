"""Many days in one program: memory, open files and the time of an append stay what they were."""

from __future__ import annotations

import os
import statistics
import sys
import time
from pathlib import Path

import pytest
from trail_pieces import SetClock, ids, opening, record, weight

from bench.use_cases.open_job import next_number

pytestmark = pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="asks Linux about the process")


def memory() -> int:
    """Resident memory [B]."""
    return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * os.sysconf("SC_PAGESIZE")


def handles() -> int:
    return len(list(Path("/proc/self/fd").iterdir()))


def run_for(path: Path, events: int) -> dict[str, float]:
    """A job a hundred weights, over three hundred days by the clock."""
    clock = SetClock()
    trail = record(path, clock)
    trail.connection.execute("PRAGMA synchronous = OFF")  # what is measured is the program, not the drive
    number, after_warm_up, files, times = "", 0, 0, []
    first: list[float] = []
    for n in range(events):
        clock.run(300 * 86_400 / events)
        if n % 100 == 0:
            ids.made.clear()  # what the test's own pieces remember is not the program's memory
            number = f"2031-{n // 100:05d}"
            trail.append([opening(number)])
            continue
        began = time.perf_counter()
        trail.append([weight(place=1 + n % 2, job=number)])
        if n % 20 == 1:  # a list of every append would be what grows
            (first if n < events // 10 else times).append(time.perf_counter() - began)
        if n == events // 10 + 1:
            after_warm_up, files = memory(), handles()
    grown = memory() / after_warm_up
    open_now = handles()
    began = time.perf_counter()
    assert trail.verify() is None
    verified = time.perf_counter() - began
    trail.close()
    began = time.perf_counter()
    record(path, clock).close()
    started = time.perf_counter() - began
    assert open_now == files
    return {
        "memory": grown, "append": statistics.median(times) / statistics.median(first),
        "verify s a million": verified * 1e6 / events, "start s": started,
    }  # fmt: skip


def test_a_few_thousand_events(tmp_path: Path) -> None:
    told = run_for(tmp_path / "r.db", 4000)
    assert told["memory"] <= 1.10


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_a_million_events(tmp_path: Path) -> None:
    events = int(os.environ.get("SPINLEDGER_LONG_RUN", "1000000"))
    told = run_for(tmp_path / "r.db", events)
    print(f"{events} events: {told}", file=sys.stderr)
    assert told["memory"] <= 1.10
    assert told["append"] <= 1.5
    assert told["start s"] <= 2.0


def test_numbers_over_the_turn_of_years() -> None:
    from bench.trail.memory import MemoryTrail

    trail = MemoryTrail(bench="south", clock=SetClock())
    seen: set[str] = set()
    for n in range(300):
        number = next_number(trail, year=2031 + n // 100)
        assert number not in seen
        seen.add(number)
        trail.append([opening(number)])
    assert {"2031-0001", "2031-0100", "2032-0001", "2033-0100"} <= seen
    trail.append([opening("2033-0٣"), opening("2033-9999"), opening("2033-x")])  # what looks like one is none
    assert next_number(trail, year=2033) == "2033-10000"


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_ten_thousand_numbers_on_disk(tmp_path: Path) -> None:
    trail = record(tmp_path / "r.db")
    seen = set()
    for n in range(10_000):
        number = next_number(trail, year=2031 + n // 5000)
        assert number not in seen
        seen.add(number)
        trail.append([opening(number)])
    assert len(seen) == 10_000
    trail.close()
