"""The record on disk: SQLite, one durable transaction an append."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.clock import Clock
from bench.trail.codec import FIRST_PREVIOUS
from bench.trail.errors import (
    RecordBusyError,
    RecordDamagedError,
    RecordDeviceError,
    RecordError,
    RecordMovedError,
    RecordReadOnlyError,
)
from bench.trail.events import Draft, Event
from bench.trail.file_look import look_at_file, nothing_there, refuse_newer
from bench.trail.schema import SCHEMA_VERSION, kept_differences, projections_are_known
from bench.trail.sqlite_faults import SQLITE_FAULTS, SqliteFault, told
from bench.trail.sqlite_opening import connect, connect_to_look, make_record, settle
from bench.trail.sqlite_reading import RecordReader
from bench.trail.sqlite_rows import RESTORE, as_event, end_of
from bench.trail.stamping import StepWatch, stamped
from bench.trail.where_it_lies import why_not_there
from bench.trail.writer_lock import WriterLock, take_or_tell

if TYPE_CHECKING:
    from sqlite_utils import Database


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
        Only look; then a newer record opens as well.

    Returns
    -------
    SqliteTrail
        Ready.

    Raises
    ------
    RecordError
        When the file is foreign, newer, damaged or out of reach; it is left untouched.
    """
    there = path.exists()
    if there:
        look_at_file(path, newer_is_fine=read_only)
    elif read_only:
        raise nothing_there(path)
    lock = WriterLock(path)
    in_network = "" if read_only else why_not_there(path)
    if read_only:
        busy, kept_out = "", "opened to look only"
    elif in_network:
        busy, kept_out = "", f"{in_network}, where a record may only be looked at"
    else:
        busy, kept_out = take_or_tell(lock, path)
    try:
        if not there:
            _make(path, bench=bench, kept_out=busy or kept_out)
        return SqliteTrail(path, clock=clock, app_version=app_version, lock=lock, busy=busy, kept_out=kept_out)
    except BaseException:
        lock.release()
        raise


def _make(path: Path, *, bench: str, kept_out: str) -> None:
    if kept_out:
        raise RecordReadOnlyError(str(path), found=kept_out, do="choose a folder that can be written, or try again")
    make_record(path, bench=bench)


class Follower(Protocol):
    """What wants to know that something was recorded: a copy on another medium."""

    def start(self) -> None:
        """Begin."""
        ...

    def recorded(self) -> None:
        """Something was recorded; returns at once."""
        ...

    def stop(self) -> None:
        """The record is about to be released."""
        ...


class SqliteTrail(RecordReader):
    """A trail in a SQLite file; see the contract. Made by `open_record`.

    Parameters
    ----------
    path : Path
        The file.
    clock : Clock
        Stamps.
    app_version : str
        Stamps.
    lock : WriterLock
        The right to write, released with the record.
    busy : str
        Who has it since when; "" when nobody else.
    kept_out : str
        Why it cannot be written otherwise.
    """

    def __init__(
        self, path: Path, *, clock: Clock, app_version: str, lock: WriterLock, busy: str = "", kept_out: str = ""
    ) -> None:
        self._clock, self._version, self._lock = clock, app_version, lock
        self._busy, self._kept_out = busy, kept_out
        self._failed: RecordError | None = None
        self._followers: list[Follower] = []
        self._copy: tempfile.TemporaryDirectory[str] | None = None
        connection: sqlite3.Connection | None = None
        try:
            if self.read_only:
                connection, self._copy = connect_to_look(path)
            else:
                connection = connect(path, mode="mode=rw")
            settle(connection, str(path), read_only=self.read_only)
            version = int(connection.execute("PRAGMA user_version").fetchone()[0])
            refuse_newer(str(path), version, newer_is_fine=self.read_only)
            super().__init__(connection, path, newer=version > SCHEMA_VERSION)
            self._look_at_tables()
            self._inode = _identity(path)
            self._watch = StepWatch(clock, last_utc="" if self.read_only else self._newest_utc())
        except BaseException as fault:
            self._let_go(connection)
            if isinstance(fault, SQLITE_FAULTS):
                raise told(fault, str(path)) from fault
            raise

    @property
    def read_only(self) -> bool:
        """True when nothing can be recorded."""
        return bool(self._busy or self._kept_out or self._failed)

    @property
    def busy(self) -> str:
        """Who else writes it since when; "" when nobody does."""
        return self._busy

    @property
    def held_by(self) -> str:
        """Why nothing can be recorded: who writes it since when, or what is wrong; "" when all is well."""
        return (self._failed.found if self._failed else "") or self._busy or self._kept_out

    @property
    def database(self) -> Database:
        """The same connection with sqlite-utils around it, for projections and exports."""
        from sqlite_utils import Database

        return Database(self.connection)

    def _look_at_tables(self) -> None:
        if self._newer:
            return
        wrong = kept_differences(self.connection)
        if wrong:
            raise RecordDamagedError(str(self._path), found="; ".join(wrong), do=RESTORE)
        known = projections_are_known(self.connection, read_only=self.read_only)
        self._lists_are_fresh = known and self._projections.are_fresh()
        if not self.read_only:
            self._look_at_end()
            if not self._lists_are_fresh:
                self._projections.rebuild(self.database)
                self._lists_are_fresh = True

    def _look_at_end(self) -> None:
        """Refuse to write on top of an end that does not fit."""
        length, _ = end_of(self.connection) or (0, "")
        last = list(self.rows(after=max(length - 2, 0)))
        before = last[-2].hash if len(last) > 1 else FIRST_PREVIOUS
        walk = ChainWalk(self._bench, length=max(length - 1, 0), head=before)
        fault = walk.step(last[-1]) if last else None
        if fault is not None:
            raise RecordDamagedError(
                str(self._path), found=f"event {fault.seq}: {fault.found}", wanted=fault.wanted, do=RESTORE
            )

    def _newest_utc(self) -> str:
        length, _ = end_of(self.connection) or (0, "")
        return self.event_at(length).utc if length else ""

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
        """
        return self.append_with(drafts, lambda _: None)

    def append_with(self, drafts: Sequence[Draft], beside: Callable[[sqlite3.Connection], None]) -> list[Event]:
        """Record drafts, and in the same transaction what belongs beside them.

        Parameters
        ----------
        drafts : Sequence[Draft]
            Oldest first.
        beside : Callable[[sqlite3.Connection], None]
            Writes rows of another table.

        Returns
        -------
        list[Event]
            As recorded; on disk when this returns.

        Raises
        ------
        RecordError
            When nothing could be recorded.
        """
        with self._guard:
            self._refuse_when_closed()
            self._still_there()
            try:
                self.connection.execute("BEGIN IMMEDIATE")
                beside(self.connection)
                made = self._write([*self._watch.draft(), *drafts])
                self.connection.execute("COMMIT")
            except BaseException as fault:
                self._roll_back()
                if isinstance(fault, SQLITE_FAULTS):
                    raise self._failed_write(fault) from fault
                raise
            for event, is_new in made.values():
                if is_new:
                    self._watch.saw(event)
            for follower in self._followers:
                follower.recorded()
            return [made[draft.id][0] for draft in drafts]

    def _refuse_when_closed(self) -> None:
        where = str(self._path)
        if self._failed is not None:
            raise type(self._failed)(where, found=self._failed.found, do=self._failed.do)
        if self._busy:
            raise RecordBusyError(where, held_by=self._busy)
        if self._kept_out:
            raise RecordReadOnlyError(where, found=self._kept_out, do="open it where it can be written")

    def _roll_back(self) -> None:
        self._projections.forget()
        try:
            if self.connection.in_transaction:
                self.connection.execute("ROLLBACK")
        except SQLITE_FAULTS as fault:
            self._failed_write(fault)

    def _failed_write(self, fault: SqliteFault) -> RecordError:
        """Close the record for writing after the drive failed: a sync is never tried again and believed."""
        error = told(fault, str(self._path))
        if isinstance(error, RecordDeviceError | RecordDamagedError):
            self._failed = self._failed or error
        return error

    def _write(self, drafts: Sequence[Draft]) -> dict[str, tuple[Event, bool]]:
        """Insert what is not there yet; by id, with whether it is new."""
        seq, previous = end_of(self.connection) or (0, FIRST_PREVIOUS)
        made: dict[str, tuple[Event, bool]] = {}
        for draft in drafts:
            if draft.id in made:
                continue
            known = self.connection.execute(
                "SELECT seq, id, job, kind, body, hash FROM trail WHERE id = ?", (draft.id,)
            ).fetchone()
            if known is not None:
                made[draft.id] = (as_event(StoredRow(*known), str(self._path)), False)
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
            self.connection.execute(
                "INSERT INTO trail (seq, id, job, kind, body, hash) VALUES (?, ?, ?, ?, ?, ?)",
                (seq, event.id, event.job, event.payload.kind, data, event.hash),
            )
            self._projections.move(event)
            previous = event.hash
            made[draft.id] = (event, True)
        return made

    def _still_there(self) -> None:
        if _identity(self._path) != self._inode:
            self._failed = RecordMovedError(
                str(self._path),
                found="the file was moved, deleted or replaced while it was open",
                do="bring it back and start again; nothing was recorded since",
            )
            raise self._failed

    def follow(self, follower: Follower) -> None:
        """Tell a follower of everything that is recorded from now on, until the record is released.

        Parameters
        ----------
        follower : Follower
            Not yet started.
        """
        follower.start()
        self._followers.append(follower)

    def close(self) -> None:
        """Release the record."""
        for follower in self._followers:
            follower.stop()
        self._followers.clear()
        self._let_go(self.connection)

    def _let_go(self, connection: sqlite3.Connection | None) -> None:
        if connection is not None:
            try:
                connection.close()
            except SQLITE_FAULTS as fault:  # the tidying at the end failed; what is recorded stays ahead of the file
                self._failed_write(fault)
        if self._copy is not None:
            self._copy.cleanup()
            self._copy = None
        self._lock.release()


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        about = os.stat(path)  # noqa: PTH116 called before each append
    except OSError:
        return None
    return about.st_dev, about.st_ino
