"""The k-th call that changes a file fails, once or for ever, for every k."""

from __future__ import annotations

from pathlib import Path

import pytest
from failing_drive import FailingDrive, drive_in_between
from fault_pieces import Written, copied, entries, must_hold, ready, small_steps, write
from trail_pieces import record, weight

from bench.trail.errors import RecordDeviceError, RecordError, RecordFullError

pytestmark = pytest.mark.usefixtures("needs_drive")


def attempt(path: Path, drive: FailingDrive, told: Written, *, count: int = 6) -> None:
    with drive_in_between(drive):
        try:
            trail = record(path)
        except RecordError as fault:
            told.faults.append(fault)
            return
        small_steps(trail)
        write(trail, entries(count), told)
        trail.close()


def how_many_calls(ready_record: Path, folder: Path) -> int:
    drive, told = FailingDrive(), Written()
    attempt(copied(ready_record, folder), drive, told)
    assert not told.faults
    assert len(told.acked) == 6
    return drive.calls


@pytest.mark.parametrize("for_ever", [False, True], ids=["once", "for ever"])
@pytest.mark.parametrize("full", [False, True], ids=["drive fails", "disk full"])
def test_every_call_fails(tmp_path: Path, for_ever: bool, full: bool) -> None:
    source = ready(tmp_path)
    calls = how_many_calls(source, tmp_path / "count")
    assert calls > 60
    for k in range(1, calls + 1):
        path = copied(source, tmp_path / f"{k}")
        told = Written()
        drive = FailingDrive(fail_from=k, fail_for_ever=for_ever, full=full)
        attempt(path, drive, told)
        assert drive.failed, k
        for fault in told.faults:
            assert fault.where == str(path)
            assert fault.found
            assert fault.do
        device = [n for n, fault in enumerate(told.faults) if isinstance(fault, RecordDeviceError)]
        if device and told.tried:
            # after the drive failed once, nothing more is said to be taken until the record is opened again
            first = next(i for i, one in enumerate(told.tried) if one not in told.acked)
            assert told.acked == told.tried[:first]
        must_hold(path, told.acked, told.tried, before=4)


def test_a_record_that_fails_while_it_is_made_leaves_nothing_behind(tmp_path: Path) -> None:
    counted = FailingDrive()
    with drive_in_between(counted):
        record(tmp_path / "count.db").close()
    assert counted.calls > 10
    for k in range(1, counted.calls + 1):
        path = tmp_path / f"{k}" / "r.db"
        path.parent.mkdir()
        with drive_in_between(FailingDrive(fail_from=k, fail_for_ever=True)):
            try:
                record(path).close()
            except RecordError as fault:
                assert fault.do  # noqa: PT017 every k is one case
        left = sorted(p.name for p in path.parent.iterdir() if p.name != "r.db.writer")
        assert left in ([], ["r.db"], ["r.db", "r.db-wal"], ["r.db", "r.db-shm", "r.db-wal"]), k
        trail = record(path)
        assert trail.append([weight()])[0].seq == 1
        trail.close()


@pytest.mark.parametrize("pages", [0, 12])
def test_writing_goes_on_after_space_is_made_without_a_restart(tmp_path: Path, pages: int) -> None:
    path = ready(tmp_path)
    sizes = 0
    for k in range(1, 101):
        mine = copied(path, tmp_path / f"{k}")
        drive = FailingDrive()
        with drive_in_between(drive):
            trail = record(mine)
            small_steps(trail, pages)
            told = Written()
            drive.fail_from, drive.fail_for_ever, drive.full = drive.calls + k, True, True
            drive.only = ""
            syncs_fail_too = False
            while not told.faults and len(told.tried) < 40:
                write(trail, entries(1), told)
            if not told.faults:
                continue
            syncs_fail_too = isinstance(told.faults[0], RecordDeviceError)
            if not syncs_fail_too:
                assert isinstance(told.faults[0], RecordFullError)
                assert "full" in str(told.faults[0])
                assert not trail.read_only
                assert sum(1 for _ in trail.events()) >= 4  # reading goes on
                drive.heal()
                after = Written()
                write(trail, entries(3), after)
                assert len(after.acked) == 3
                told.acked += after.acked
                told.tried += after.tried
                sizes += 1
            drive.heal()
            trail.close()
        must_hold(mine, told.acked, told.tried, before=4)
    assert sizes > 60


def test_a_failed_drive_is_told_until_the_record_is_opened_again(tmp_path: Path) -> None:
    path = ready(tmp_path)
    drive = FailingDrive()
    with drive_in_between(drive):
        trail = record(path)
        drive.fail_from = drive.calls + 1
        told = Written()
        write(trail, entries(1), told)
        drive.heal()  # the drive is well again, but what it lost nobody knows
        write(trail, entries(3), told)
        assert not told.acked
        assert all(isinstance(fault, RecordDeviceError) for fault in told.faults)
        assert trail.read_only
        assert "drive failed" in trail.held_by
        assert len(list(trail.events())) == 4
        trail.close()
        again = record(path)
        write(again, entries(1), told)
        assert len(told.acked) == 1
        again.close()
