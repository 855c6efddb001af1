"""The record on disk: SQLite through sqlite-utils, one durable transaction an append."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path

from sqlite_utils import Database

from bench.models.job_state import JobLine
from bench.trail.clock import Clock
from bench.trail.codec import FIRST_PREVIOUS, unseal
from bench.trail.contract import ChainFault, Checkpoint
from bench.trail.errors import (
    RecordBusyError,
    RecordDamagedError,
    RecordError,
    RecordFullError,
    RecordMovedError,
    RecordReadOnlyError,
)
from bench.trail.events import Draft, Event
from bench.trail.job_lines import moved_on
from bench.trail.schema import look_at_file, make_tables, settle
from bench.trail.stamping import check_link, stamped, step_draft
from bench.trail.writer_lock import WriterLock


def open_record(path: Path, *, bench: str, clock: Clock, app_version: str, read_only: bool = False) -> SqliteTrail:
    """Open a record, or make it when the file is not there.

    A record that another program writes, or that cannot be written, opens read-only.

    Parameters
    ----------
    path : Path
        The file.
    bench : str
        Name of the bench for a new record; an old one keeps its own.
    clock : Clock
        Stamps.
    app_version : str
        Stamps.
    read_only : bool
        Only look.

    Returns
    -------
    SqliteTrail
        Ready.

    Raises
    ------
    RecordError
        When the file is foreign, newer, damaged or out of reach.
    """
    lock = WriterLock(path)
    held_by = ""
    if not read_only:
        if path.exists() and not os.access(path, os.W_OK):
            read_only = True
            held_by = "the file cannot be written"
        else:
            try:
                if not lock.take():
                    read_only, held_by = True, lock.holder()
            except OSError as fault:
                if not path.exists():
                    raise RecordReadOnlyError(
                        str(path), found=fault.strerror or "cannot be made", do="choose a folder that can be written"
                    ) from fault
                read_only, held_by = True, "the folder cannot be written"
    try:
        return SqliteTrail(
            path, bench=bench, clock=clock, app_version=app_version, lock=lock, held_by=held_by, read_only=read_only
        )
    except BaseException:
        lock.release()
        raise


class SqliteTrail:
    """A trail in a SQLite file; see the contract. Made by `open_record`."""

    def __init__(
        self,
        path: Path,
        *,
        bench: str,
        clock: Clock,
        app_version: str,
        lock: WriterLock,
        held_by: str,
        read_only: bool,
    ) -> None:
        self._path, self._clock, self._version, self._lock = path, clock, app_version, lock
        self.read_only = read_only
        self.held_by = held_by
        self._last: tuple[str, int] | None = None
        try:
            uri = f"{path.absolute().as_uri()}{'?mode=ro' if read_only else ''}"
            self._connection = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=2.5)
        except sqlite3.Error as fault:
            raise self._told(fault) from fault
        try:
            empty = look_at_file(self._connection, str(path))
            settle(self._connection, read_only=read_only)
            self._database = Database(self._connection)
            if empty:
                if read_only:
                    raise RecordDamagedError(str(path), found="an empty file", do="open it to write once")
                make_tables(self._database, bench=bench)
            self._bench = str(next(iter(self._database["bench"].rows))["name"])
            self._inode = path.stat().st_ino
        except BaseException as fault:
            self._connection.close()
            if isinstance(fault, sqlite3.Error):
                raise self._told(fault) from fault
            raise

    @property
    def bench(self) -> str:
        """Name of this bench."""
        return self._bench

    @property
    def path(self) -> Path:
        """The file."""
        return self._path

    def append(self, drafts: Sequence[Draft]) -> list[Event]:
        """Record drafts in one transaction; see the contract.

        Parameters
        ----------
        drafts : Sequence[Draft]
            Oldest first.

        Returns
        -------
        list[Event]
            As recorded; on disk when this returns.

        Raises
        ------
        RecordError
            When nothing could be recorded.
        """
        if self.read_only:
            raise RecordReadOnlyError(
                str(self._path), found=self.held_by or "opened to look only", do="close the other program first"
            )
        self._still_there()
        stepped = step_draft(self._clock, self._last)
        connection = self._connection
        try:
            connection.execute("BEGIN IMMEDIATE")
            recorded = self._write([*stepped, *drafts])
            connection.execute("COMMIT")
        except sqlite3.Error as fault:
            self._roll_back()
            raise self._told(fault) from fault
        except BaseException:
            self._roll_back()
            raise
        if recorded:
            self._last = (recorded[-1].utc, recorded[-1].monotonic_ns)
        return recorded[len(stepped) :]

    def _roll_back(self) -> None:
        try:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
        except sqlite3.Error:
            # a failed write leaves the writer in doubt: it is closed, never retried
            self.read_only, self.held_by = True, "a write failed; open the record again"

    def _write(self, drafts: Sequence[Draft]) -> list[Event]:
        seq, previous = self._end()
        recorded: list[Event] = []
        for draft in drafts:
            known = self._connection.execute("SELECT body FROM trail WHERE id = ?", (draft.id,)).fetchone()
            if known is not None:
                recorded.append(unseal(bytes(known[0])))
                continue
            seq += 1
            event, data = stamped(
                draft,
                seq=seq,
                bench=self._bench,
                clock=self._clock,
                app_version=self._version,
                previous_hash=previous,
            )
            self._connection.execute(
                "INSERT INTO trail (seq, id, job, kind, body, hash) VALUES (?, ?, ?, ?, ?, ?)",
                (seq, event.id, event.job, event.payload.kind, data, event.hash),
            )
            self._project(event)
            previous = event.hash
            recorded.append(event)
        return recorded

    def _project(self, event: Event) -> None:
        row = self._connection.execute("SELECT * FROM job_lines WHERE number = ?", (event.job,)).fetchone()
        line = moved_on(_line(row) if row else None, event)
        if line is not None:
            values = asdict(line)
            marks = ", ".join("?" for _ in values)
            self._connection.execute(
                f"INSERT OR REPLACE INTO job_lines ({', '.join(values)}) VALUES ({marks})",  # noqa: S608 our own names
                [int(v) if isinstance(v, bool) else v for v in values.values()],
            )

    def _end(self) -> tuple[int, str]:
        row = self._connection.execute("SELECT seq, hash FROM trail ORDER BY seq DESC LIMIT 1").fetchone()
        return (int(row[0]), str(row[1])) if row else (0, FIRST_PREVIOUS)

    def _still_there(self) -> None:
        try:
            same = self._path.stat().st_ino == self._inode
        except OSError:
            same = False
        if not same:
            self.read_only, self.held_by = True, "the file was moved or deleted"
            raise RecordMovedError(
                str(self._path),
                found="the file was moved or deleted while it was open",
                do="bring it back and start again; nothing was recorded since",
            )

    def events(self, *, job: str | None = None, after: int = 0) -> Iterator[Event]:
        """Stream events; see the contract.

        Parameters
        ----------
        job : str or None
            Only this job's.
        after : int
            Only later ones.

        Yields
        ------
        Event
            In order.

        Raises
        ------
        RecordError
            When the file cannot be read.
        """
        try:
            if job is None:
                rows = self._connection.execute("SELECT body FROM trail WHERE seq > ? ORDER BY seq", (after,))
            else:
                rows = self._connection.execute(
                    "SELECT body FROM trail WHERE job = ? AND seq > ? ORDER BY seq", (job, after)
                )
            for (body,) in rows:
                yield unseal(bytes(body))
        except sqlite3.Error as fault:
            raise self._told(fault) from fault

    def checkpoint(self) -> Checkpoint:
        """Return how far the chain has come."""
        seq, head = self._end()
        return Checkpoint(self._bench, seq, head)

    def jobs(self) -> list[JobLine]:
        """Return all jobs, the newest activity first."""
        rows = self._connection.execute("SELECT * FROM job_lines ORDER BY last_utc DESC, number DESC")
        return [_line(row) for row in rows]

    def verify(self) -> ChainFault | None:
        """Walk the whole chain in constant memory; None when it is whole."""
        previous, wanted = FIRST_PREVIOUS, 0
        try:
            for seq, job, kind, identity, body, stored in self._connection.execute(
                "SELECT seq, job, kind, id, body, hash FROM trail ORDER BY seq"
            ):
                wanted += 1
                if seq != wanted:
                    return ChainFault(wanted, f"event {seq} next", f"event {wanted}")
                fault = check_link(bytes(body), seq=wanted, previous=previous, stored_hash=str(stored))
                if fault is not None:
                    return fault
                event = unseal(bytes(body))
                if (event.job, event.payload.kind, event.id) != (job, kind, identity):
                    return ChainFault(wanted, "columns that tell another story", "those of the event's bytes")
                previous = str(stored)
        except sqlite3.Error as fault:
            return ChainFault(wanted + 1, f"the file cannot be read there ({fault})", "a readable file")
        return None

    def close(self) -> None:
        """Release the record."""
        self._connection.close()
        self._lock.release()

    def _told(self, fault: sqlite3.Error) -> RecordError:
        where, code = str(self._path), getattr(fault, "sqlite_errorcode", 0) & 0xFF
        if code == sqlite3.SQLITE_FULL:
            return RecordFullError(where, found="the disk is full", do="free some space; nothing was recorded")
        if code in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
            return RecordBusyError(where, found="another program is writing it", do="try again in a moment")
        if code in {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN}:
            return RecordReadOnlyError(where, found=f"cannot be opened to write ({fault})", do="look at its rights")
        if code in {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}:
            return RecordDamagedError(where, found=f"the file is damaged ({fault})", do="restore the newest backup")
        if code == sqlite3.SQLITE_IOERR:
            self.read_only, self.held_by = True, "the disk failed; open the record again"
        return RecordError(where, found=str(fault), do="look at the disk; nothing was recorded")


def _line(row: tuple[object, ...]) -> JobLine:
    number, title, customer, engine, opened, last, step, simulated = row
    return JobLine(
        number=str(number),
        title=str(title),
        customer=str(customer),
        engine=str(engine),
        opened_utc=str(opened),
        last_utc=str(last),
        step=str(step),
        simulated=bool(simulated),
    )
