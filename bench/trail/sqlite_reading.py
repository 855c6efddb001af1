"""Reading a record: the half of the SQLite store that every opener has."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager
from pathlib import Path

from bench.models.job_state import JobLine
from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.codec import FIRST_PREVIOUS
from bench.trail.contract import ChainFault, Checkpoint
from bench.trail.errors import RecordDamagedError, RecordError
from bench.trail.events import Event
from bench.trail.job_lines import line_of, words_of
from bench.trail.projections import LINE_COLUMNS, Projections, line_from
from bench.trail.search import fits, full_text_query
from bench.trail.sqlite_faults import SQLITE_FAULTS, told
from bench.trail.sqlite_rows import RESTORE, as_event, end_of, rows_of

_LINES = f"SELECT {', '.join(LINE_COLUMNS)} FROM job_lines"  # noqa: S608 our own names
# the plus keeps the planner on the order that is asked for: it ends with the first so many that fit
_THAT_FIT = "WHERE +opened_seq IN (SELECT rowid FROM job_words WHERE job_words MATCH ?) ORDER BY last_seq DESC LIMIT ?"
_FOUND = f"{_LINES} {_THAT_FIT}"
_EVERY = 5000


class RecordReader:
    """What can be asked of an open record.

    Parameters
    ----------
    connection : sqlite3.Connection
        Set up.
    path : Path
        The file.
    newer : bool
        It is of a newer format than this program's.
    """

    def __init__(self, connection: sqlite3.Connection, path: Path, *, newer: bool = False) -> None:
        self.connection, self._path, self._newer = connection, path, newer
        self._guard = threading.RLock()
        self._projections = Projections(connection, str(path))
        with self._telling():
            self._bench = str(connection.execute("SELECT name FROM bench").fetchone()[0])
        self._lists_are_fresh = True

    @property
    def bench(self) -> str:
        """Name of this bench."""
        return self._bench

    @property
    def path(self) -> Path:
        """The file."""
        return self._path

    @property
    def projections(self) -> Projections:
        """The list of jobs and the search."""
        return self._projections

    @contextmanager
    def _telling(self) -> Generator[None]:
        """Tell faults of SQLite as faults of the record, one thread at a time."""
        with self._guard:
            try:
                yield
            except (*SQLITE_FAULTS, TypeError) as fault:
                raise (
                    told(fault, str(self._path))
                    if not isinstance(fault, TypeError)
                    else RecordError(
                        str(self._path), found="a table is empty that may not be", do="restore the newest backup"
                    )
                ) from fault

    def rows(self, *, job: str | None = None, after: int = 0) -> Iterator[StoredRow]:
        """Stream stored rows, not judged.

        Parameters
        ----------
        job : str | None
            Only this job's.
        after : int
            Only later ones.

        Returns
        -------
        Iterator[StoredRow]
            In order.
        """
        return rows_of(self.connection, str(self._path), job=job, after=after)

    def events(self, *, job: str | None = None, after: int = 0) -> Iterator[Event]:
        """Stream events; see the contract.

        Parameters
        ----------
        job : str | None
            Only this job's.
        after : int
            Only later ones.

        Yields
        ------
        Event
            In order; each still has the hash it was recorded with.
        """
        for row in self.rows(job=job, after=after):
            yield as_event(row, str(self._path), newer=self._newer)

    def event_at(self, seq: int) -> Event:
        """Return one event.

        Parameters
        ----------
        seq : int
            Its place.

        Returns
        -------
        Event
            As recorded.

        Raises
        ------
        RecordDamagedError
            When there is none.
        """
        for event in self.events(after=seq - 1):
            if event.seq == seq:
                return event
            break
        raise RecordDamagedError(str(self._path), found=f"event {seq} is gone", do=RESTORE)

    def checkpoint(self) -> Checkpoint:
        """Return how far the chain has come."""
        with self._telling():
            length, head = end_of(self.connection) or (0, FIRST_PREVIOUS)
            return Checkpoint(self._bench, length, head)

    def jobs(self, *, most: int | None = None) -> list[JobLine]:
        """Return jobs, the newest activity first; see the contract.

        Parameters
        ----------
        most : int | None
            No more than so many.

        Returns
        -------
        list[JobLine]
            One row a job.
        """
        if not self._lists_are_fresh:
            return self._by_folding(None)[:most]
        with self._telling():
            query = f"{_LINES} ORDER BY last_seq DESC LIMIT ?"
            return [line_from(row) for row in self.connection.execute(query, (-1 if most is None else most,))]

    def numbers(self, prefix: str) -> list[str]:
        """Return the job numbers that begin so; see the contract.

        Parameters
        ----------
        prefix : str
            For example a year and a hyphen.

        Returns
        -------
        list[str]
            In no order.
        """
        if not self._lists_are_fresh:
            return [line.number for line in self._by_folding(None) if line.number.startswith(prefix)]
        with self._telling():
            # a range of the index, which a pattern would not use
            query = "SELECT number FROM job_lines WHERE number >= ? AND number < ?"
            return [str(row[0]) for row in self.connection.execute(query, (prefix, prefix + chr(0x10FFFF)))]

    def find(self, words: str, *, most: int = 50) -> list[JobLine]:
        """Find jobs; see the contract.

        Parameters
        ----------
        words : str
            Separated by spaces.
        most : int
            No more than so many.

        Returns
        -------
        list[JobLine]
            The newest activity first.
        """
        query = full_text_query(words)
        if not query:
            return []
        if not self._lists_are_fresh:
            return self._by_folding(words)[:most]
        with self._telling():
            return [line_from(row) for row in self.connection.execute(_FOUND, (query, most))]

    def _by_folding(self, words: str | None) -> list[JobLine]:
        """Make the list from the trail: the record can only be looked at and its list is old."""
        found = [
            (state.last_seq, line_of(state, last_utc=utc))
            for state, utc in self._projections.fold_all()
            if words is None or fits(words, words_of(state))
        ]
        return [line for _, line in sorted(found, key=lambda pair: pair[0], reverse=True)]

    def verify(self, *, progress: Callable[[int], None] | None = None) -> ChainFault | None:
        """Walk the whole chain in constant memory; None when it is whole.

        Parameters
        ----------
        progress : Callable[[int], None] | None
            Told now and then how many events were walked.

        Returns
        -------
        ChainFault or None
            The first event that does not fit.
        """
        walk = ChainWalk(self._bench)
        try:
            for row in self.rows():
                fault = walk.step(row)
                if fault is not None:
                    return fault
                if progress is not None and walk.length % _EVERY == 0:
                    progress(walk.length)
        except RecordError:
            return self._first_unreadable(walk)
        return None

    def _first_unreadable(self, walk: ChainWalk) -> ChainFault:
        """Go on one by one from where a batch could not be read, so that the event can be named."""
        try:
            for row in rows_of(self.connection, str(self._path), after=walk.length, batch=1):
                fault = walk.step(row)
                if fault is not None:
                    return fault
        except RecordError as fault:
            return ChainFault(walk.length + 1, fault.found, "a readable file")
        return ChainFault(walk.length + 1, "a file that could be read only the second time", "a readable file")

    def data_version(self) -> int:
        """Return a number that changes when another connection has written; cheap to ask often."""
        with self._telling():
            return int(self.connection.execute("PRAGMA data_version").fetchone()[0])
