"""Backups and restores: made under load, on media that fail, and proved before they count."""

from __future__ import annotations

import os
import shutil
import threading
from datetime import timedelta
from pathlib import Path

import pytest
from copying import NOW, failing_at, folder_in
from failing_drive import FailingDrive, drive_in_between
from fault_pieces import entries, ready
from trail_pieces import draft, record, weight

from bench.trail import backup as backup_module
from bench.trail.attachments import about_file, attach, attachment
from bench.trail.backup import back_up, back_up_to_all, backups_in, newest_backup
from bench.trail.checkpoints import against
from bench.trail.errors import ForeignFileError, RecordBusyError, RecordDamagedError, RecordError
from bench.trail.full_check import check_all
from bench.trail.restore import restore


def backups_under_load(tmp_path: Path, number: int) -> None:
    path = ready(tmp_path)
    trail = record(path)
    stop = threading.Event()
    acked: list[int] = []

    def load() -> None:
        while not stop.is_set():
            acked.extend(trail.append([one])[0].seq for one in entries(2))

    writer = threading.Thread(target=load)
    writer.start()
    try:
        media = folder_in(tmp_path, "media")
        for n in range(number):
            at_start = acked[-1] if acked else 4
            outcome = back_up(trail, media, now=NOW + timedelta(seconds=n))
            assert outcome.fault == ""
            assert outcome.checkpoint is not None
            assert outcome.made is not None
            # one may be in the file whose call has not returned yet, and one whose return is not noted yet
            assert at_start <= outcome.checkpoint.length <= (acked[-1] if acked else 4) + 2
            assert against(trail, outcome.checkpoint) is None
            assert outcome.made.length == outcome.checkpoint.length
            if n % 10:
                outcome.made.path.unlink()
            if trail.checkpoint().length > 3000:
                stop.set()
    finally:
        stop.set()
        writer.join()
    assert len(backups_in(media)) == (number + 9) // 10
    trail.close()


def test_backups_while_writing_goes_on(tmp_path: Path) -> None:
    backups_under_load(tmp_path, 12)


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_two_hundred_backups_while_writing_goes_on(tmp_path: Path) -> None:
    backups_under_load(tmp_path, 200)


def with_photo(tmp_path: Path) -> Path:
    path = ready(tmp_path, events=30)
    trail = record(path)
    content = os.urandom(20_000)
    attach(trail, content, draft(about_file("photo.jpg", content)))
    trail.close()
    return path


def test_a_restore_drill_into_an_empty_folder(tmp_path: Path) -> None:
    trail = record(with_photo(tmp_path))
    outcome = back_up(trail, folder_in(tmp_path, "media"), now=NOW)
    wanted, events, point = trail.jobs(), list(trail.events()), trail.checkpoint()
    trail.close()
    assert outcome.made is not None
    outcome.made.path.chmod(0o444)
    target = folder_in(tmp_path, "new machine") / "record.db"
    done = restore(outcome.made.path, target, now=NOW)
    assert (done.checkpoint, done.set_aside, done.left_out) == (point, None, "")
    again = record(target)
    assert list(again.events()) == events
    assert again.jobs() == wanted
    assert check_all(again) == []
    assert len(attachment(again, events[-1].payload.sha256)) == 20_000  # type: ignore[union-attr]
    assert again.append([weight()])[0].previous_hash == point.head
    again.close()
    assert sorted(p.name for p in target.parent.iterdir()) == ["record.db", "record.db.writer"]


def test_what_was_there_is_kept_beside_a_restored_record(tmp_path: Path) -> None:
    path = ready(tmp_path)
    trail = record(path)
    outcome = back_up(trail, folder_in(tmp_path, "media"), now=NOW)
    assert outcome.made is not None
    trail.append([weight("399.9")])
    later = trail.checkpoint()
    with pytest.raises(RecordBusyError, match="in use by"):
        restore(outcome.made.path, path, now=NOW)
    trail.close()
    asides = set()
    for n in range(3):
        done = restore(outcome.made.path, path, now=NOW)
        assert done.set_aside is not None
        asides.add(done.set_aside.name)
        looked = record(done.set_aside, read_only=True)
        assert looked.checkpoint() == (later if n == 0 else outcome.checkpoint)
        looked.close()
    assert len(asides) == 3
    again = record(path)
    assert again.checkpoint() == outcome.checkpoint
    again.close()


def test_entries_ahead_of_a_file_that_is_gone_are_not_laid_over_a_restored_one(tmp_path: Path) -> None:
    path = ready(tmp_path)
    trail = record(path)
    outcome = back_up(trail, folder_in(tmp_path, "media"), now=NOW)
    assert outcome.made is not None
    trail.append([weight()])
    ahead = path.with_name("r.db-wal").read_bytes()
    trail.close()
    path.unlink()
    path.with_name("r.db-wal").write_bytes(ahead)
    restore(outcome.made.path, path, now=NOW)
    again = record(path)
    assert again.checkpoint() == outcome.checkpoint
    assert check_all(again) == []
    again.close()
    kept = list(tmp_path.glob("r.db-wal.before-*"))
    assert [one.read_bytes() for one in kept] == [ahead]


def test_a_damaged_record_is_restored_up_to_the_fault(tmp_path: Path) -> None:
    import sqlite3

    path = ready(tmp_path, events=20)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("DROP TRIGGER trail_keeps_updates_out")
    connection.execute("UPDATE trail SET body = x'7b7d' WHERE seq = 13")
    connection.execute(
        "CREATE TRIGGER trail_keeps_updates_out BEFORE UPDATE ON trail "
        "BEGIN SELECT RAISE(ABORT, 'the trail table is append-only'); END"
    )
    connection.close()
    before = path.read_bytes()
    with pytest.raises(RecordDamagedError, match="event 13"):
        restore(path, tmp_path / "new.db", now=NOW)
    assert not (tmp_path / "new.db").exists()
    done = restore(path, tmp_path / "new.db", now=NOW, up_to_fault=True)
    assert done.checkpoint.length == 12
    assert path.read_bytes() == before
    trail = record(tmp_path / "new.db")
    assert check_all(trail) == []
    trail.close()


@pytest.mark.parametrize(
    "trap",
    [
        "CREATE TRIGGER trap AFTER INSERT ON trail BEGIN DELETE FROM bench; END",
        "CREATE VIEW trap AS SELECT load_extension('x')",
        "CREATE TABLE trap (a, b GENERATED ALWAYS AS (a + 1))",
        "CREATE VIRTUAL TABLE trap USING fts5(a)",
        "ALTER TABLE trail RENAME TO trail2",
    ],
)
def test_a_hostile_backup_is_refused(tmp_path: Path, trap: str) -> None:
    import sqlite3

    path = ready(tmp_path)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute(trap)
    connection.close()
    before = path.read_bytes()
    with pytest.raises(RecordDamagedError):
        restore(path, tmp_path / "new.db", now=NOW)
    assert not (tmp_path / "new.db").exists()
    assert path.read_bytes() == before


def test_no_backup_at_all(tmp_path: Path) -> None:
    (tmp_path / "text.db").write_text("not a record")
    with pytest.raises(ForeignFileError):
        restore(tmp_path / "text.db", tmp_path / "new.db", now=NOW)


# -- media that fail -----------------------------------------------------------------------------------------------


def test_a_medium_that_is_gone_or_cannot_be_written_or_is_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    trail = record(ready(tmp_path))
    good = folder_in(tmp_path, "good")
    a_file = tmp_path / "file"
    a_file.write_text("")
    outcomes = back_up_to_all(trail, [tmp_path / "gone", a_file, good], now=NOW)
    assert [bool(one.fault) for one in outcomes] == [True, True, False]
    assert all("there is no such folder" in one.fault for one in outcomes[:2])
    assert newest_backup([tmp_path / "gone", a_file, good]) == outcomes[2].made

    usage = shutil.disk_usage(good)
    monkeypatch.setattr(backup_module.shutil, "disk_usage", lambda _: usage._replace(free=10))
    small = back_up(trail, folder_in(tmp_path, "small"), now=NOW)
    assert "0 MB free" in small.fault
    trail.close()


@pytest.mark.usefixtures("needs_drive")
@pytest.mark.parametrize("full", [False, True])
def test_every_call_of_a_backup_fails(tmp_path: Path, full: bool) -> None:
    with drive_in_between(FailingDrive()) as drive:
        trail = record(ready(tmp_path))
        media = folder_in(tmp_path, "media")
        first = back_up(trail, media, now=NOW)
        assert first.made is not None
        whole = first.made.path.read_bytes()
        trail.append([weight()])
        drive.only, drive.calls = ".half", 0
        back_up(trail, folder_in(tmp_path, "count"), now=NOW)
        calls = drive.calls
        assert calls > 8
        for k in range(1, calls + 1):
            for for_ever in (False, True):
                drive.calls, drive.failed, drive.fail_from, drive.fail_for_ever, drive.full = 0, 0, k, for_ever, full
                outcome = back_up(trail, media, now=NOW + timedelta(seconds=k))
                drive.heal()
                if outcome.fault:
                    assert outcome.made is None
                    assert [one.path for one in backups_in(media)] == [first.made.path]
                else:
                    # a call whose failing does no harm (tidying up): then it must be whole
                    assert outcome.checkpoint == trail.checkpoint()
                    assert outcome.made is not None
                    outcome.made.path.unlink()
                assert first.made.path.read_bytes() == whole
                assert sorted(p.name for p in media.iterdir()) == [first.made.path.name]
        assert not trail.read_only
        trail.close()


@pytest.mark.usefixtures("needs_drive")
@pytest.mark.parametrize("real_size", [4096, 8192, 20_480, 40_960])
def test_a_stick_that_is_smaller_than_it_says(tmp_path: Path, real_size: int) -> None:
    with drive_in_between(FailingDrive()) as drive:
        trail = record(ready(tmp_path, events=60))
        media = folder_in(tmp_path, "stick")
        drive.only, drive.drop_beyond = ".half", real_size
        outcome = back_up(trail, media, now=NOW)
        assert outcome.made is None
        assert outcome.fault
        assert list(media.iterdir()) == []
        drive.drop_beyond = None
        assert back_up(trail, media, now=NOW).fault == ""
        trail.close()


@pytest.mark.parametrize("for_ever", [False, True])
def test_every_system_call_of_a_restore_fails(tmp_path: Path, for_ever: bool) -> None:
    source = record(ready(tmp_path))
    outcome = back_up(source, folder_in(tmp_path, "media"), now=NOW)
    assert outcome.made is not None
    source.append([weight()])
    old = source.checkpoint()
    source.close()
    k = 0
    while True:
        k += 1
        home = folder_in(tmp_path, f"{k}{for_ever}")
        target = Path(shutil.copy(tmp_path / "r.db", home / "r.db"))
        with pytest.MonkeyPatch.context() as patch:
            calls = failing_at(patch, k, for_ever=for_ever)
            try:
                restore(outcome.made.path, target, now=NOW)
            except RecordError as fault:
                assert fault.do  # noqa: PT017 each call is one case
            else:
                assert len(calls) < k
        trail = record(target)
        # the old or the new one, whole; and the old one is never lost
        there = trail.checkpoint()
        assert there in (old, outcome.checkpoint)
        assert check_all(trail) == []
        trail.close()
        if there != old:
            kept = record(next(home.glob("r.db.before-*")), read_only=True)
            assert kept.checkpoint() == old
            kept.close()
        assert not list(home.glob(".*"))
        if len(calls) < k:
            break
    assert k > 6
