"""Stored rows out of a record, in batches, so that no reader is in the way of the writer."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

from bench.trail.chain import StoredRow
from bench.trail.codec import CodecError, digest, unseal
from bench.trail.errors import NewerRecordError, RecordDamagedError
from bench.trail.events import Event
from bench.trail.sqlite_faults import SQLITE_FAULTS, told

BATCH = 500
_COLUMNS = "SELECT seq, id, job, kind, body, hash FROM trail"


def rows_of(
    connection: sqlite3.Connection, where: str, *, job: str | None = None, after: int = 0, batch: int = BATCH
) -> Iterator[StoredRow]:
    """Stream stored rows in order.

    Parameters
    ----------
    connection : sqlite3.Connection
        To the record.
    where : str
        The file, for messages.
    job : str | None
        Only this job's.
    after : int
        Only those with a larger seq.
    batch : int
        So many are read at a time.

    Yields
    ------
    StoredRow
        As stored; what is in it is not judged.

    Raises
    ------
    RecordError
        When the file cannot be read there.
    """
    of_job = "" if job is None else "job = ? AND "
    query = f"{_COLUMNS} WHERE {of_job}seq > ? ORDER BY seq LIMIT {batch}"
    while True:
        try:
            found = connection.execute(query, (after,) if job is None else (job, after)).fetchall()
        except SQLITE_FAULTS as fault:
            raise told(fault, where) from fault
        for values in found:
            seq = values[0]
            if not isinstance(seq, int) or seq <= after:
                raise RecordDamagedError(where, found=f"event {seq} after event {after}", do=RESTORE)
            after = seq
            yield StoredRow._make(values)
        if len(found) < batch:
            return


RESTORE = "restore the newest backup"


def as_event(row: StoredRow, where: str, *, newer: bool = False) -> Event:
    """Return the event that a stored row holds, when its bytes still have their hash.

    Parameters
    ----------
    row : StoredRow
        As stored.
    where : str
        The file, for messages.
    newer : bool
        The record is of a newer format, so an unknown event is no damage.

    Returns
    -------
    Event
        In the present version.

    Raises
    ------
    RecordDamagedError
        When it was changed since it was recorded.
    NewerRecordError
        When only a newer program knows it.
    """
    try:
        if digest(row.body) != row.hash:
            raise RecordDamagedError(where, found=f"event {row.seq} was changed since it was recorded", do=RESTORE)
        return unseal(row.body)
    except (CodecError, TypeError) as fault:
        if newer:
            raise NewerRecordError(
                where, found=f"event {row.seq} is of a kind this program does not know", do="use the newer program"
            ) from fault
        raise RecordDamagedError(where, found=f"event {row.seq}: {fault}", do=RESTORE) from fault


def end_of(connection: sqlite3.Connection) -> tuple[int, str] | None:
    """Return seq and hash of the last event, None when there is none.

    Parameters
    ----------
    connection : sqlite3.Connection
        To the record.

    Returns
    -------
    tuple[int, str] or None
        As stored.
    """
    row = connection.execute("SELECT seq, hash FROM trail ORDER BY seq DESC LIMIT 1").fetchone()
    return (int(row[0]), str(row[1])) if row else None
