"""The wall clock is stepped, dead, in another zone or in another century; the order of the trail does not care."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from trail_pieces import SetClock, opening, record, weight

from bench.trail.clock import SystemClock, rfc3339
from bench.trail.events import ClockStepped
from bench.trail.fold import fold
from bench.trail.memory import MemoryTrail
from bench.trail.sqlite_store import open_record


def test_a_thousand_bumps() -> None:
    dice = random.Random(2031)
    clock = SetClock()
    trail = MemoryTrail(bench="south", clock=clock)
    trail.append([opening()])
    steps: list[float] = []
    extremes = [1.0, -1.0, 1.999, 2.001, -2.001, 3600.0, -3600.0, 86_400.0 * 3650, -86_400.0 * 3650]
    for n in range(1000):
        clock.run(dice.uniform(0.1, 300.0))
        # signs and sizes spread as a history checker does it: up to 288 s, small ones as often as large ones
        bump = dice.choice(extremes) if n % 20 == 0 else dice.choice([-1, 1]) * 2 ** dice.uniform(-8, 8.17)
        clock.step(bump)
        if abs(bump) > 2.0:
            steps.append(bump)
        trail.append([weight(place=1 + n % 2)])
    events = list(trail.events())
    assert [event.seq for event in events] == list(range(1, len(events) + 1))
    told = [event.payload.by_seconds for event in events if isinstance(event.payload, ClockStepped)]
    assert told == pytest.approx(steps, abs=0.001)
    ran = [event.monotonic_ns for event in events]
    assert ran == sorted(ran)  # durations never go back
    assert trail.verify() is None
    assert fold(trail.events(job="2031-0001")).last_seq == len(events)


@pytest.mark.parametrize(
    "moment",
    [
        datetime(1970, 1, 1, tzinfo=UTC),
        datetime(2000, 1, 1, tzinfo=UTC),
        datetime(2038, 1, 19, 3, 14, 7, tzinfo=UTC),
        datetime(2038, 1, 19, 3, 14, 8, tzinfo=UTC),
        datetime(2100, 2, 28, 23, 59, 59, 999_999, tzinfo=UTC),
        datetime(1, 1, 1, tzinfo=UTC),
        datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC),
    ],
)
def test_dates_of_a_dead_battery_and_beyond(tmp_path: Path, moment: datetime) -> None:
    trail = record(tmp_path / "r.db", SetClock(wall=moment))
    event = trail.append([opening()])[0]
    assert datetime.fromisoformat(event.utc) == moment
    assert len(event.utc) == len("2031-05-07T08:00:00.000000Z")
    assert trail.verify() is None
    trail.close()
    again = record(tmp_path / "r.db", SetClock(wall=moment))
    assert [line.opened_utc for line in again.jobs()] == [event.utc]
    again.close()


def test_a_clock_that_went_back_while_the_program_was_off(tmp_path: Path) -> None:
    clock = SetClock()
    first = record(tmp_path / "r.db", clock)
    first.append([opening()])
    first.close()
    back = record(tmp_path / "r.db", SetClock(wall=clock.wall - timedelta(days=400)))
    back.append([weight()])
    back.append([weight(place=2)])
    told = [event.payload.by_seconds for event in back.events() if isinstance(event.payload, ClockStepped)]
    assert told == [-400 * 86_400.0]
    back.close()
    later = record(tmp_path / "r.db", SetClock(wall=clock.wall + timedelta(days=400)))
    later.append([weight()])
    assert sum(isinstance(event.payload, ClockStepped) for event in later.events()) == 1  # time went by: no step
    later.close()


def test_summer_time_begins_and_the_zone_changes() -> None:
    clock = SetClock(offset=60)
    trail = MemoryTrail(bench="south", clock=clock)
    trail.append([opening()])
    for offset in (120, -210, 345, 0):
        clock.run(60.0)
        clock.offset = offset
        trail.append([weight()])
    events = list(trail.events())
    assert [event.offset_min for event in events] == [60, 120, -210, 345, 0]
    assert [event.payload.kind for event in events].count("clock-stepped") == 0
    assert [event.utc for event in events] == sorted(event.utc for event in events)


def test_a_slewed_clock_is_no_step() -> None:
    clock = SetClock()
    trail = MemoryTrail(bench="south", clock=clock)
    trail.append([opening()])
    for _ in range(300):
        clock.run(60.0)
        clock.step(0.03)  # 500 ppm
        trail.append([weight()])
    assert all(event.payload.kind != "clock-stepped" for event in trail.events())


def test_asleep_for_three_days_is_told() -> None:
    # the monotonic clock of some systems stands still in sleep: then it is told as a step
    clock = SetClock()
    trail = MemoryTrail(bench="south", clock=clock)
    trail.append([opening()])
    clock.step(3 * 86_400.0)
    trail.append([weight()])
    assert [event.payload.kind for event in trail.events()] == ["job-opened", "clock-stepped", "weight-taken"]


def test_the_computers_own_clocks(tmp_path: Path) -> None:
    clock = SystemClock()
    trail = open_record(tmp_path / "r.db", bench="south", clock=clock, app_version="0.1.0")
    events = trail.append([opening()]) + trail.append([weight()])
    trail.close()
    assert events[0].utc <= events[1].utc <= rfc3339(datetime.now(UTC))
    assert events[0].monotonic_ns <= events[1].monotonic_ns
    local = datetime.now(UTC).astimezone().utcoffset()
    assert local is not None
    assert events[0].offset_min * 60 == local.total_seconds()
