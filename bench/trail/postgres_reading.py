"""Reading one bench's chain out of the shared record."""

from __future__ import annotations

import threading
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, cast

from bench.models.job_state import JobLine
from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.codec import FIRST_PREVIOUS, digest
from bench.trail.contract import ChainFault, Checkpoint
from bench.trail.errors import RecordDamagedError
from bench.trail.events import Event
from bench.trail.postgres_lines import search_query
from bench.trail.postgres_opening import told
from bench.trail.sqlite_rows import as_event

if TYPE_CHECKING:
    from psycopg import Connection

BATCH = 2000
_COLUMNS = b"SELECT seq, id, job, kind, body, hash FROM spinledger.trail WHERE bench = %s "
_OF_JOB = _COLUMNS + b"AND job = %s AND seq > %s ORDER BY seq LIMIT %s"
_OF_ALL = _COLUMNS + b"AND seq > %s ORDER BY seq LIMIT %s"
_END = b"SELECT seq, hash FROM spinledger.trail WHERE bench = %s ORDER BY seq DESC LIMIT 1"
LINE = b"number, title, customer, engine, opened_utc, last_utc, step, simulated"
_LINES = b"SELECT " + LINE + b" FROM spinledger.job_lines WHERE bench = %s "
_NEWEST = _LINES + b"ORDER BY last_seq DESC LIMIT %s"
_FIND = _LINES + b"AND words @@ %s::tsquery ORDER BY last_seq DESC LIMIT %s"
_NUMBERS = b"SELECT number FROM spinledger.job_lines WHERE bench = %s AND starts_with(number, %s)"
_FILES = b"SELECT sha256, content FROM spinledger.attachments WHERE sha256 = ANY(%s)"


class SharedReader:
    """What can be asked of one bench's chain in the shared record.

    Parameters
    ----------
    connection : Connection
        To the shared record.
    bench : str
        Whose chain.
    where : str
        The address without its password.
    """

    def __init__(self, connection: Connection, bench: str, where: str) -> None:
        self.connection, self._bench, self.where = connection, bench, where
        self._guard = threading.RLock()

    @property
    def bench(self) -> str:
        """Name of the bench."""
        return self._bench

    @contextmanager
    def telling(self) -> Generator[None]:
        """Tell faults of the database as faults of the record, one thread at a time."""
        import psycopg

        with self._guard:
            try:
                yield
            except psycopg.Error as fault:
                raise told(fault, self.where) from fault

    def attachments(self, hashes: Sequence[str]) -> dict[str, bytes]:
        """Return the bytes of kept files.

        Parameters
        ----------
        hashes : Sequence[str]
            As their events tell.

        Returns
        -------
        dict[str, bytes]
            By hash; without those that were never shipped or are not what their hash says.
        """
        rows = self.all_of(_FILES, (list(hashes),)) if hashes else []
        found = {str(name): content for name, content in rows if isinstance(content, bytes)}
        return {name: content for name, content in found.items() if digest(content) == name}

    def all_of(self, query: bytes, values: tuple[object, ...]) -> list[tuple[object, ...]]:
        """Return all rows of a query.

        Parameters
        ----------
        query : bytes
            With places for the values.
        values : tuple[object, ...]
            One a place.

        Returns
        -------
        list[tuple[object, ...]]
            As the database gives them.
        """
        with self.telling(), self.connection.cursor(binary=True) as cursor:
            return cast("list[tuple[object, ...]]", cursor.execute(query, values).fetchall())

    def rows(self, *, job: str | None = None, after: int = 0) -> Iterator[StoredRow]:
        """Stream stored rows, not judged.

        Parameters
        ----------
        job : str | None
            Only this job's.
        after : int
            Only later ones.

        Yields
        ------
        StoredRow
            In order.
        """
        while True:
            found = (
                self.all_of(_OF_ALL, (self._bench, after, BATCH))
                if job is None
                else self.all_of(_OF_JOB, (self._bench, job, after, BATCH))
            )
            for values in found:
                row = StoredRow._make(values)
                after = row.seq
                yield row
            if len(found) < BATCH:
                return

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
            yield as_event(row, self.where)

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
        found = self.all_of(_OF_ALL, (self._bench, seq - 1, 1))
        if not found or found[0][0] != seq:
            raise RecordDamagedError(self.where, found=f"event {seq} of {self._bench} is gone", do="restore a backup")
        return as_event(StoredRow._make(found[0]), self.where)

    def checkpoint(self) -> Checkpoint:
        """Return how far the chain has come."""
        found = self.all_of(_END, (self._bench,))
        length, head = (cast("int", found[0][0]), str(found[0][1])) if found else (0, FIRST_PREVIOUS)
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
        return [line_from(row) for row in self.all_of(_NEWEST, (self._bench, most))]

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
        return [str(row[0]) for row in self.all_of(_NUMBERS, (self._bench, prefix))]

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
        query = search_query(words)
        return [line_from(row) for row in self.all_of(_FIND, (self._bench, query, most))] if query else []

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
        for row in self.rows():
            fault = walk.step(row)
            if fault is not None:
                return fault
            if progress is not None and walk.length % BATCH == 0:
                progress(walk.length)
        return None

    def close(self) -> None:
        """Release the connection."""
        self.connection.close()


def line_from(row: tuple[object, ...]) -> JobLine:
    """Return a row of the list of jobs as what it tells.

    Parameters
    ----------
    row : tuple[object, ...]
        Number, title, customer, engine, opened, last, step, simulated.

    Returns
    -------
    JobLine
        One row.
    """
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
