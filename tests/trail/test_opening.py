"""Opening a record: settings read back, folders that cannot be written, files that moved."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from trail_pieces import opening, record, weight

from bench.trail import sqlite_opening, writer_lock
from bench.trail.errors import (
    EventRefusedError,
    RecordBusyError,
    RecordDamagedError,
    RecordDeviceError,
    RecordError,
    RecordMovedError,
    RecordReadOnlyError,
)
from bench.trail.schema import APPLICATION_ID
from bench.trail.sqlite_faults import told
from bench.trail.sqlite_opening import durability

HERE = Path(__file__).parent


def made(tmp_path: Path) -> Path:
    trail = record(tmp_path / "r.db")
    trail.append([opening(), weight()])
    trail.close()
    return tmp_path / "r.db"


def test_the_settings_are_in_force(tmp_path: Path) -> None:
    trail = record(made(tmp_path))
    asked = {
        "journal_mode": "wal", "synchronous": 2, "trusted_schema": 0, "cell_size_check": 1, "recursive_triggers": 1,
        "application_id": APPLICATION_ID, "user_version": 1, "mmap_size": 0,
    }  # fmt: skip
    found = {name: trail.connection.execute(f"PRAGMA {name}").fetchone()[0] for name in asked}
    assert found == asked
    strict = dict(trail.connection.execute("SELECT name, strict FROM pragma_table_list WHERE type = 'table'"))
    assert all(strict[name] for name in ("trail", "bench", "attachments", "guests", "job_lines"))
    assert durability(trail.connection) == ("wal", 2)
    trail.close()


def test_a_file_system_that_does_not_keep_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = made(tmp_path)
    monkeypatch.setattr(sqlite_opening, "durability", lambda _: ("delete", 2))
    with pytest.raises(RecordReadOnlyError, match="not in a network"):
        record(path)
    monkeypatch.undo()
    record(path).close()  # the lock was given back


def test_a_record_keeps_its_own_bench(tmp_path: Path) -> None:
    path = made(tmp_path)
    trail = record(path, bench="north")
    assert trail.bench == "south"
    assert trail.append([weight()])[0].bench == "south"
    trail.close()


@pytest.mark.parametrize("name", ["a b.db", "100%.db", "what?mode=ro#x.db", "Größe ß.db", "é.db", "'quoted\".db"])
def test_odd_names(tmp_path: Path, name: str) -> None:
    trail = record(tmp_path / name)
    trail.append([opening()])
    trail.close()
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([name, f"{name}.writer"])
    looking = record(tmp_path / name, read_only=True)
    assert looking.checkpoint().length == 1
    with pytest.raises(RecordReadOnlyError, match="look only"):
        looking.append([weight()])
    looking.close()


def test_moved_deleted_or_replaced_under_our_hands(tmp_path: Path) -> None:
    path = made(tmp_path)
    for what in ("move", "delete", "replace"):
        trail = record(path)
        if what == "delete":
            copy = path.read_bytes()
            path.unlink()
        else:
            path.rename(tmp_path / "moved.db")
            if what == "replace":
                path.write_bytes((tmp_path / "moved.db").read_bytes())
        for _ in range(2):
            with pytest.raises(RecordMovedError, match="moved, deleted or replaced"):
                trail.append([weight()])
        assert trail.read_only
        assert "moved" in trail.held_by
        trail.close()
        if what == "delete":
            path.write_bytes(copy)
        elif what == "move":
            (tmp_path / "moved.db").rename(path)
        again = record(path)
        assert again.checkpoint().length == 2
        again.close()


NOBODY = """
import os, sys
sys.path[:0] = [{here!r}]
from pathlib import Path
from trail_pieces import record, weight
from bench.trail.errors import RecordError
from bench.trail.codec import unseal
os.setgid(65534); os.setuid(65534)
path = Path(sys.argv[1])
trail = record(path, read_only=sys.argv[2] == "look")
print(trail.read_only, trail.held_by)
print(trail.verify(), trail.checkpoint().length, [line.number for line in trail.jobs()])
try:
    trail.append([weight()])
except RecordError as fault:
    print(type(fault).__name__, fault)
trail.close()
"""


def as_nobody(path: Path, how: str = "write") -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", NOBODY.format(here=str(HERE)), str(path), how],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can become somebody else")
@pytest.mark.parametrize("how", ["write", "look"])
@pytest.mark.parametrize("rights", ["file", "folder", "folder with entries ahead"])
def test_what_cannot_be_written_is_looked_at(tmp_path: Path, rights: str, how: str) -> None:
    import tempfile

    with tempfile.TemporaryDirectory(prefix="spinledger-test-") as folder:
        home = Path(folder)
        path = made(home)
        if rights == "folder with entries ahead":
            # as a power cut leaves it: the newest entry lies in the file ahead, and nothing else is there
            trail = record(path)
            trail.append([weight("399.9")])
            kept = path.read_bytes(), path.with_name("r.db-wal").read_bytes()
            trail.close()
            path.write_bytes(kept[0])
            path.with_name("r.db-wal").write_bytes(kept[1])
        wanted = "3" if rights == "folder with entries ahead" else "2"
        path.with_name("r.db.writer").chmod(0o666)
        if rights == "file":
            path.chmod(0o444)
            home.chmod(0o777)
        else:
            path.with_name("r.db.writer").unlink()
            home.chmod(0o555)
            path.chmod(0o666)
        lines = as_nobody(path, how)
        home.chmod(0o700)
        assert lines[0].startswith("True ")
        if how == "write":
            assert "cannot be written" in lines[0]
        assert lines[1] == f"None {wanted} ['2031-0001']"
        assert lines[2].startswith("RecordReadOnlyError ")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can become somebody else")
def test_a_file_that_cannot_even_be_read(tmp_path: Path) -> None:
    import tempfile

    with tempfile.TemporaryDirectory(prefix="spinledger-test-") as folder:
        home = Path(folder)
        path = made(home)
        path.chmod(0)
        home.chmod(0o755)
        done = subprocess.run(
            [sys.executable, "-c", NOBODY.format(here=str(HERE)), str(path), "write"],
            capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip
        assert "RecordReadOnlyError" in done.stderr
        assert "cannot be read" in done.stderr
        empty = home / "new.db"
        done = subprocess.run(
            [sys.executable, "-c", NOBODY.format(here=str(HERE)), str(empty), "write"],
            capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip
        assert "hoose a folder that can be written" in done.stderr


def test_a_new_record_where_no_folder_is(tmp_path: Path) -> None:
    with pytest.raises(RecordReadOnlyError, match="Choose a folder"):
        record(tmp_path / "none" / "r.db")


def test_a_sharing_fault_is_waited_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = made(tmp_path)
    tries: list[int] = []
    real = writer_lock.WriterLock.take

    def take(lock: writer_lock.WriterLock) -> bool:
        tries.append(1)
        if len(tries) < 4:
            fault = PermissionError(13, "the file is in use by another process")
            fault.winerror = 32  # type: ignore[attr-defined]
            raise fault
        return real(lock)

    monkeypatch.setattr(writer_lock.WriterLock, "take", take)
    trail = record(path)
    assert not trail.read_only
    assert len(tries) == 4
    trail.close()
    monkeypatch.setattr(writer_lock, "_PATIENCE_S", 0.0)
    tries.clear()
    trail = record(path)
    assert trail.read_only
    assert "in use by another process" in trail.held_by
    trail.close()


def test_a_lock_that_the_system_refuses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import fcntl

    path = made(tmp_path)

    def refuse(*_: object) -> None:
        raise OSError(37, "no locks available")

    monkeypatch.setattr(fcntl, "flock", refuse)
    trail = record(path)
    assert trail.read_only
    assert "no locks available" in trail.held_by
    trail.close()

    def other(*_: object) -> None:
        raise PermissionError(13, "permission denied")

    monkeypatch.setattr(fcntl, "flock", other)
    trail = record(path)
    assert trail.held_by.startswith("in use by")
    trail.close()


@pytest.mark.parametrize(
    ("code", "kind"),
    [
        (sqlite3.SQLITE_FULL, "RecordFullError"),
        (sqlite3.SQLITE_BUSY, "RecordBusyError"),
        (517, "RecordBusyError"),
        (sqlite3.SQLITE_READONLY, "RecordReadOnlyError"),
        (sqlite3.SQLITE_CANTOPEN, "RecordReadOnlyError"),
        (sqlite3.SQLITE_CORRUPT, "RecordDamagedError"),
        (sqlite3.SQLITE_NOTADB, "RecordDamagedError"),
        (sqlite3.SQLITE_IOERR, "RecordDeviceError"),
        (1034, "RecordDeviceError"),
        (sqlite3.SQLITE_TOOBIG, "RecordError"),
    ],
)
def test_every_fault_of_sqlite_has_words(code: int, kind: str) -> None:
    fault = sqlite3.OperationalError("some words")
    fault.sqlite_errorcode = code  # type: ignore[misc]
    error = told(fault, "r.db")
    assert type(error).__name__ == kind
    assert error.where == "r.db"
    assert error.found
    assert error.do
    assert str(error).startswith("record r.db: ")


def test_errors_carry_their_data() -> None:
    busy = RecordBusyError("r.db", held_by="in use by process 5")
    assert (busy.what, busy.where, busy.held_by, busy.found) == ("record", "r.db", "in use by process 5", busy.held_by)
    assert str(busy) == "record r.db: in use by process 5. Close the other program, then try again"
    refused = EventRefusedError("cut-made", found="nan", wanted="a number")
    assert str(refused) == "event cut-made: nan; wanted a number"
    assert issubclass(RecordDeviceError, RecordError)
    assert issubclass(RecordDamagedError, RecordError)
    assert told(sqlite3.IntegrityError("x"), "r").found.startswith("the file is damaged")


def test_reading_needs_no_library_for_making_tables(tmp_path: Path) -> None:
    path = made(tmp_path)
    code = (
        f"import sys; sys.path[:0] = [{str(HERE)!r}]\n"
        "from pathlib import Path\nfrom trail_pieces import record\n"
        f"trail = record(Path({str(path)!r}), read_only=True)\n"
        "assert trail.jobs() and trail.find('skerry') and trail.verify() is None\n"
        "trail.close()\n"
        "print([name for name in ('sqlite_utils', 'numpy', 'textual') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.strip() == "[]"


def test_closing_twice(tmp_path: Path) -> None:
    trail = record(made(tmp_path))
    trail.close()
    trail.close()
    with pytest.raises(RecordError):
        trail.checkpoint()
    with pytest.raises(RecordError):
        list(trail.events())
