"""A record made anew from rows: out of a backup, a damaged record, or a text copy. Nothing is ever overwritten."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.contract import Checkpoint
from bench.trail.disk import put_in_place, sync_folder
from bench.trail.errors import RecordBusyError, RecordDamagedError, RecordError
from bench.trail.file_look import look_at_file
from bench.trail.projections import Projections
from bench.trail.schema import kept_differences
from bench.trail.sqlite_faults import SQLITE_FAULTS, told
from bench.trail.sqlite_opening import connect, connect_to_look, make_record, settle
from bench.trail.sqlite_reading import RecordReader
from bench.trail.sqlite_rows import as_event
from bench.trail.writer_lock import WriterLock

BesideRow = tuple[str, tuple[object, ...]]
"""A table beside the trail, and the values of one row."""
BESIDE = {"attachments": "?, ?", "guests": "?, ?, ?, ?, ?"}


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore gave.

    Attributes
    ----------
    checkpoint : Checkpoint
        How far the new record goes.
    set_aside : Path or None
        Where the record that was there before lies now.
    left_out : str
        What could not be taken over, in words; "" when all was.
    """

    checkpoint: Checkpoint
    set_aside: Path | None
    left_out: str = ""


def restore(source: Path, target: Path, *, now: datetime, up_to_fault: bool = False) -> Restored:
    """Make a record out of a backup; its rows are copied one by one, its tables and triggers never adopted.

    Parameters
    ----------
    source : Path
        A backup, or a damaged record.
    target : Path
        Where the record belongs; what is there now is kept beside it.
    now : datetime
        For the name of what is set aside.
    up_to_fault : bool
        Take what comes before the first fault, instead of refusing.

    Returns
    -------
    Restored
        What it gave.

    Raises
    ------
    RecordError
        When the source is no whole record, or the target is in use; both are left untouched then.
    """
    look_at_file(source, newer_is_fine=False)
    try:
        connection, copy = connect_to_look(source)
        try:
            settle(connection, str(source), read_only=True)
            _refuse_strange(connection, source)
            reader = RecordReader(connection, source)
            return build_record(
                _whole_rows(reader, up_to_fault=up_to_fault),
                target,
                bench=reader.bench,
                now=now,
                beside=_rows_beside(connection),
            )
        finally:
            connection.close()
            if copy is not None:
                copy.cleanup()
    except SQLITE_FAULTS as fault:
        raise told(fault, str(source)) from fault


def _refuse_strange(connection: sqlite3.Connection, source: Path) -> None:
    wrong = kept_differences(connection)
    if wrong:
        raise RecordDamagedError(str(source), found="; ".join(wrong), wanted="the tables of a record", do="use another")


def _whole_rows(reader: RecordReader, *, up_to_fault: bool) -> Iterator[StoredRow]:
    walk = ChainWalk(reader.bench)
    fault = ""
    try:
        for row in reader.rows():
            wrong = walk.step(row)
            if wrong is not None:
                fault = f"event {wrong.seq}: {wrong.found}; wanted {wrong.wanted}"
                break
            as_event(row, str(reader.path))
            yield row
    except RecordError as broken:
        fault = f"event {walk.length + 1}: {broken.found}"
    if fault and not up_to_fault:
        raise RecordDamagedError(
            str(reader.path), found=fault, do="use another backup, or take over what comes before the fault"
        )


def build_record(
    rows: Iterable[StoredRow], target: Path, *, bench: str, now: datetime, beside: Iterable[BesideRow] = ()
) -> Restored:
    """Make a record out of rows that fit on each other.

    Parameters
    ----------
    rows : Iterable[StoredRow]
        From the first event on.
    target : Path
        Where the record belongs; what is there now is kept beside it.
    bench : str
        Whose chain it is.
    now : datetime
        For the name of what is set aside.
    beside : Iterable[BesideRow]
        Attachments and other benches' jobs; asked for after the last of the rows.

    Returns
    -------
    Restored
        What it gave.

    Raises
    ------
    RecordError
        When the rows do not fit, or the target is in use; nothing was changed then.
    """
    lock = WriterLock(target)
    if not lock.take():
        raise RecordBusyError(str(target), held_by=lock.holder())
    half = target.with_name(f".{target.name}.restored")
    try:
        half.unlink(missing_ok=True)
        make_record(half, bench=bench)
        checkpoint, left_out = _fill(half, rows, bench=bench, beside=beside)
        aside = _set_aside(target, now=now)
        put_in_place(half, target)
        return Restored(checkpoint, aside, left_out)
    except SQLITE_FAULTS as fault:
        raise told(fault, str(target)) from fault
    except OSError as fault:
        raise RecordError(str(target), found=f"cannot be written ({fault.strerror})", do="look at the disk") from fault
    finally:
        for rest in ("", "-wal", "-shm", "-journal"):
            half.with_name(half.name + rest).unlink(missing_ok=True)
        lock.release()


def _fill(half: Path, rows: Iterable[StoredRow], *, bench: str, beside: Iterable[BesideRow]) -> tuple[Checkpoint, str]:
    from sqlite_utils import Database

    walk = ChainWalk(bench)
    with closing(connect(half, mode="mode=rw")) as connection:
        settle(connection, str(half), read_only=False)
        connection.execute("BEGIN IMMEDIATE")
        for row in rows:
            fault = walk.step(row)
            if fault is not None:
                raise RecordDamagedError(str(half), found=f"event {fault.seq}: {fault.found}", wanted=fault.wanted)
            connection.execute("INSERT INTO trail (seq, id, job, kind, body, hash) VALUES (?, ?, ?, ?, ?, ?)", row)
        left_out = _take_beside(connection, beside)
        connection.execute("COMMIT")
        Projections(connection, str(half)).rebuild(Database(connection))
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return Checkpoint(bench, walk.length, walk.head), left_out


def _rows_beside(connection: sqlite3.Connection) -> Iterator[BesideRow]:
    for table in BESIDE:
        for row in connection.execute(f"SELECT * FROM {table}"):  # noqa: S608 our own names
            yield table, tuple(row)


def _take_beside(connection: sqlite3.Connection, beside: Iterable[BesideRow]) -> str:
    """Copy attachments and other benches' jobs; each is proved by its own hash when it is read."""
    try:
        for table, row in beside:
            connection.execute(f"INSERT OR IGNORE INTO {table} VALUES ({BESIDE[table]})", row)  # noqa: S608 our own names
    except sqlite3.DatabaseError as fault:
        return f"some attachments ({fault})"
    return ""


def _set_aside(target: Path, *, now: datetime) -> Path | None:
    """Keep what is there now under another name; it stays where it is until its copy is whole."""
    ahead = target.with_name(target.name + "-wal")
    if not target.exists():
        # entries ahead of a file that is gone belong to no one; they must not be laid over the new record
        for rest in ("-wal", "-shm"):
            _rename_aside(target.with_name(target.name + rest), now=now)
        return None
    _write_through(target)
    aside = free_name(target, now=now)
    pairs = [(target, aside)]
    if ahead.exists() and ahead.stat().st_size:
        pairs.append((ahead, aside.with_name(aside.name + "-wal")))
    for old, new in pairs:
        shutil.copyfile(old, new)
        with new.open("rb+") as file:
            os.fsync(file.fileno())
    sync_folder(target.parent)
    for rest in ("-wal", "-shm"):
        target.with_name(target.name + rest).unlink(missing_ok=True)
    return aside


def _write_through(target: Path) -> None:
    """Bring the newest entries into the file itself where it can still be opened."""
    try:
        look_at_file(target, newer_is_fine=False)
        with closing(connect(target, mode="mode=rw")) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    except (RecordError, *SQLITE_FAULTS):
        return  # damaged or foreign: it is kept as it is


def _rename_aside(path: Path, *, now: datetime) -> None:
    if path.exists():
        path.rename(free_name(path, now=now))


def free_name(path: Path, *, now: datetime) -> Path:
    """Return a name beside a file for what is set aside, one that is free.

    Parameters
    ----------
    path : Path
        The file.
    now : datetime
        Stands in the name.

    Returns
    -------
    Path
        Nothing is there.

    Raises
    ------
    RecordError
        When a thousand names of this second are taken.
    """
    stem = f"{path.name}.before-{now:%Y%m%dT%H%M%SZ}"
    for number in range(1, 1000):
        name = path.with_name(stem if number == 1 else f"{stem}-{number}")
        if not name.exists():
            return name
    raise RecordError(str(path), found="a thousand records were set aside in one second", do="try again")
